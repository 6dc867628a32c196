"""The schemas: what they say of the files, held against a general validator and our own reader."""

from __future__ import annotations

import datetime
import json
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any, get_args, get_origin

import pytest
import tomli
from jsonschema import Draft202012Validator

from buildlint.files.models import KINDS, Corner
from buildlint.files.names import is_ours
from buildlint.files.part_models import PART_KINDS, Parts
from buildlint.files.reader import read_file
from buildlint.files.steps import STEPS
from buildlint.files.tables import Table, fields_of
from buildlint.judging.rulebook import load_rulebook, shipped_rules
from buildlint.judging.rules_in_force import rules_in_force
from buildlint.reports.schemas import DIALECT, FILE_KINDS, SCHEMA_KINDS, schema, schema_text
from buildlint.text.errors import SettingsError
from tests.make_schemas import EXAMPLES, schema_path
from tests.making import repository

VALIDATORS = {
    kind: Draft202012Validator(schema(kind), format_checker=Draft202012Validator.FORMAT_CHECKER)
    for kind in SCHEMA_KINDS
}


#: Every TOML file of the examples.
EVERY_EXAMPLE = sorted(EXAMPLES.rglob("*.toml"))


def kind_of(path: Path) -> str:
    """The kind of an example; the misnamed one is meant to be a build."""
    if path.name == "buildlint.toml":
        return "settings"
    if "rules" in path.parent.parts and path.is_relative_to(EXAMPLES):
        return "rule"
    kind = path.name.split(".")[-2]
    return "build" if kind == "bulid" else kind


def as_json(value: Any) -> Any:
    """A TOML value as tools hand it to a schema: dates as text."""
    if isinstance(value, dict):
        return {key: as_json(each) for key, each in value.items()}
    if isinstance(value, list):
        return [as_json(each) for each in value]
    return value.isoformat() if isinstance(value, datetime.date) else value


def refused(kind: str, text: str) -> list[str]:
    """Where a file is refused, as dotted paths; none for a file that is accepted."""
    errors = VALIDATORS[kind].iter_errors(as_json(tomli.loads(text)))
    return sorted({".".join(map(str, error.absolute_path)) for error in errors})


def refused_file(path: Path) -> list[str]:
    return refused(kind_of(path), path.read_text(encoding="utf-8"))


def tables(value: Any) -> Iterator[dict[str, Any]]:
    """Every table with named keys that a schema describes."""
    if isinstance(value, list):
        for each in value:
            yield from tables(each)
    elif isinstance(value, dict):
        if "title" in value and isinstance(value.get("properties"), dict):
            yield value
        for each in value.values():
            yield from tables(each)


# --- the schemas themselves ----------------------------------------------------------------------


@pytest.mark.parametrize("kind", SCHEMA_KINDS)
def test_it_is_a_schema_of_its_dialect(kind: str) -> None:
    made = json.loads(schema_text(kind))
    assert made == schema(kind)
    assert made["$schema"] == DIALECT == Draft202012Validator.META_SCHEMA["$schema"]
    Draft202012Validator.check_schema(made)


@pytest.mark.parametrize("kind", SCHEMA_KINDS)
def test_every_table_and_key_is_told_in_words(kind: str) -> None:
    found = list(tables(schema(kind)))
    assert found
    for table in found:
        assert table["description"].endswith(".")
        for key, field in table["properties"].items():
            assert field["title"], key
            assert field["description"].endswith("."), key


@pytest.mark.parametrize("kind", SCHEMA_KINDS)
def test_every_table_refuses_unknown_keys(kind: str) -> None:
    for table in tables(schema(kind)):
        # tables by ids take any id, each with a table that is described
        assert table.get("additionalProperties", True) is not True
    wrong = {"settings": {"rule": {}}, "rule": {"levle": "must"}}.get(kind, {"holdback": "1 mm"})
    assert not VALIDATORS[kind].is_valid(wrong)


@pytest.mark.parametrize("kind", FILE_KINDS)
def test_there_is_no_null_in_toml(kind: str) -> None:
    assert "null" not in schema_text(kind)


def test_the_text_is_the_same_each_time() -> None:
    code = "from buildlint.reports.schemas import *; print(*map(schema_text, SCHEMA_KINDS))"
    texts = {
        subprocess.run(
            [sys.executable, "-c", code],
            env={"PYTHONHASHSEED": seed, "PYTHONPATH": str(EXAMPLES.parent)},
            capture_output=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(texts) == 1
    assert all(schema_text(kind).endswith("}\n") for kind in SCHEMA_KINDS)
    # whatever a terminal's encoding
    assert all(schema_text(kind).isascii() for kind in SCHEMA_KINDS)


def test_an_unknown_kind_is_refused_with_the_nearest() -> None:
    with pytest.raises(ValueError, match=r'"bild".*parts, car, event, build.*did you mean build\?'):
        schema("bild")
    with pytest.raises(ValueError, match=r"settings, rule, report$"):
        schema_text("\x1b[31m")


def test_it_has_the_keys_and_the_needs_of_the_models() -> None:
    def models(model: type[Table]) -> Iterator[type[Table]]:
        yield model
        for field in fields_of(model).values():
            inside = [field.takes, *get_args(field.takes)]
            inside += [each for one in inside for each in get_args(one)]
            for each in inside:
                # first: on Python 3.10 dict[...] passes for a class
                if get_origin(each) is None and isinstance(each, type) and issubclass(each, Table):
                    yield from models(each)

    names = set()
    for kind, root in KINDS.items():
        made = schema(kind)
        for model in models(root):
            names.add(model.__name__)
            table = made if model is root else made["$defs"][model.__name__]
            keys = [field.key for field in fields_of(model).values()]
            assert list(table["properties"]) == keys
            assert table.get("required", []) == list(model.required())
    assert len(names) == 16
    for kind in KINDS:
        for table in tables(schema(kind)):
            assert table["description"] and table["title"]
            for key, field in table["properties"].items():
                assert field.get("description") or "$ref" in str(field), key


def test_defaults_are_those_that_leaving_out_means() -> None:
    found = {
        key: field["default"]
        for kind in KINDS
        for table in tables(schema(kind))
        for key, field in table["properties"].items()
        if "default" in field
    }
    assert found == {"cap": "vented", "arrive_by": "road", "style": "bladder", "at": "25 degC"}
    assert "default" not in schema("parts")["$defs"]["Second"]["properties"]["at"]


def test_words_on_offer_are_listed() -> None:
    corner = schema("build")["$defs"]["Corner"]["properties"]
    assert corner["done"]["items"]["enum"] == list(STEPS)
    assert schema("parts")["$defs"]["Body"]["properties"]["cap"]["enum"] == ["vented", "sealed"]


def test_every_example_of_a_reading_is_one() -> None:
    count = 0
    for kind in KINDS:
        for table in tables(schema(kind)):
            for key, field in table["properties"].items():
                for example in field.get("examples", []):
                    count += 1
                    assert Draft202012Validator(field).is_valid(example), key
    assert count > 50


# --- files ---------------------------------------------------------------------------------------

GOOD = [path for path in EVERY_EXAMPLE if path.parent.name != "bad"]


@pytest.mark.parametrize("path", GOOD, ids=lambda p: p.name)
def test_a_good_file_is_accepted(path: Path) -> None:
    assert refused_file(path) == []


def test_the_sound_repository_is_accepted(tmp_path: Path) -> None:
    files = [p for p in sorted(repository(tmp_path).iterdir()) if p.name != "buildlint.toml"]
    assert len(files) == 4
    assert [refused_file(path) for path in files] == [[]] * 4


#: What a schema sees in examples/bad, and where.
SEEN = {
    "file.out-of-range.build.toml": ["front.hold_back"],
    "bottle.parts.toml": ["oil.by-the-bottle.viscosity"],
    # the end too: without its hold-back
    "file.unknown-key.build.toml": ["front"],
    "file.wrong-kind.build.toml": ["front.oil"],
    "file.not-a-reading.no-quotes.build.toml": ["front.hold_back"],
    "file.not-a-reading.build.toml": ["front.hold_back"],
    "file.missing-key.build.toml": ["rear"],
    "file.not-a-choice.build.toml": ["front.done.1"],
    "file.unknown-unit.build.toml": ["front.hold_back"],
    "file.wrong-dimension.build.toml": ["front.hold_back"],
}

#: No TOML, or no text: there is nothing to hold against a schema.
UNREADABLE = {
    "file.not-toml.key-twice.build.toml",
    "file.not-toml.not-utf-8.build.toml",
    "file.not-toml.build.toml",
}

#: What it cannot see, by the reason.
UNSEEN = {
    "sound in itself": {
        "buildlint.toml",
        "our.parts.toml",
        "heron.car.toml",
        "odd.parts.toml",
        "over-the-pass.event.toml",
        "quarry-six-hour.event.toml",
    },
    "the name of the file": {"file.misnamed.bulid.toml"},
    "the size of a number": {"file.not-a-reading.no-number.build.toml"},
    "what other files, or other parts, say": {
        "file.blend-of-itself.build.toml",
        "file.like-itself.build.toml",
        "file.no-such-id.build.toml",
        "file.bottle-weight.build.toml",
        "file.id-twice.build.toml",
        "ring.parts.toml",
        "twin-again.parts.toml",
        "twin.parts.toml",
    },
    "what does nothing beside another key": {"file.unread-key.build.toml"},
    "left against right": {
        "pair.hold-back.build.toml",
        "pair.length.build.toml",
        "pair.limiter.build.toml",
        "pair.parts.build.toml",
    },
    "physics": {
        "bladder.on-the-road.build.toml",
        "spring.coil-gap.build.toml",
        "hold-back.in-stroke.build.toml",
        "file.concession-expired.build.toml",
        "bladder.into-cap-room.build.toml",
        "bladder.into-body-room.build.toml",
        "fit.limiter-in-stroke.build.toml",
        "bladder.window.build.toml",
        "fit.bladder-in-body.build.toml",
        "fit.piston-fits.build.toml",
        "fit.piston-clearance.build.toml",
        "fit.shaft-in-bore.build.toml",
        "fit.air-takes-displacement.build.toml",
    },
}


def test_of_the_bad_files_it_sees_those_that_it_can() -> None:
    bad = [p for p in (EXAMPLES / "bad").glob("*.toml") if p.name not in UNREADABLE]
    found = {path.name: refused_file(path) for path in bad}
    assert {name: where for name, where in found.items() if where} == SEEN
    assert {name for name, where in found.items() if not where} == set().union(*UNSEEN.values())
    for name in UNREADABLE:
        with pytest.raises(ValueError, match=r"."):
            tomli.loads((EXAMPLES / "bad" / name).read_bytes().decode())


# --- what goes together --------------------------------------------------------------------------

BODY = '[body.b]\nbore = "16 mm"\nstroke = "30 mm"\nlength = "52 mm"\n'
BENCH = '\n[bench]\non = 2027-06-05\ntemperature = "20 degC"\naltitude = "5 m"\n'


def build(front: str, top: str = "") -> str:
    rear = '[rear]\npiston = "p"\noil = "o"\nhold_back = "6 mm"\nair = "1 ml"\n'
    return f'car = "heron"\n{top}{BENCH}[front]\n{front}\n{rear}'


WHOLE = 'piston = "p"\noil = "o"\n'

TOGETHER = [
    ("parts", BODY, True),
    ("parts", BODY + 'cap = "vented"', True),
    ("parts", BODY + 'cap = "sealed"', False),
    ("parts", BODY + 'cap = "sealed"\ngas = "600 mm^3"', True),
    ("parts", '[oil.o]\nlabel = "x"', False),
    ("parts", '[oil.o]\nviscosity = "450 cSt"', True),
    ("parts", '[oil.o]\nblend = { a = "60 %", b = 0.4 }', True),
    ("parts", "[oil.o]\nblend = { a = 1.5 }", False),
    ("parts", "[oil.o]\nblend = {}", False),
    ("parts", "[oil.o]\nblend = {" + ", ".join(f"o{n} = 0.125" for n in range(8)) + "}", True),
    ("parts", "[oil.o]\nblend = {" + ", ".join(f'o{n} = "11 %"' for n in range(9)) + "}", False),
    ("parts", '[oil.o]\nviscosity = "440 mPa.s"', False),
    ("parts", '[oil.o]\nviscosity = "440 mPa·s"\ndensity = "0.97 g/cm³"', True),
    ("parts", '[oil.o]\nviscosity = "2000 SUS"', False),
    ("parts", '[oil.o]\nviscosity = "2000 SUS"\nat = "100 degF"', True),
    ("parts", '[oil.o]\nviscosity = "450 cSt"\nsecond = { viscosity = "190 cSt" }', False),
    (
        "parts",
        '[oil.o]\nviscosity = "450 cSt"\nsecond = { viscosity = "190 cP", at = "60 degC" }',
        False,
    ),
    ("parts", '[spring.s]\nfree_length = "70 mm"', False),
    ("parts", '[spring.s]\nrate = "0.8 N/mm"', True),
    ("parts", '[spring.s]\nwire = "1.4 mm"\nmean_diameter = "19 mm"', False),
    ("parts", '[spring.s]\nwire = "1.4 mm"\nmean_diameter = "19 mm"\ncoils = 7', True),
    ("parts", '[bladder.b]\ncup = { radius = "6 mm" }', False),
    ("parts", "", False),
    ("event", 'name = "Quarry"\non = 2027-06-12\naltitude = "5 m"\ncoldest = "9 degC"', False),
    ("build", build(WHOLE + 'hold_back = "6 mm"'), True),
    ("build", build(WHOLE), False),
    ("build", build(WHOLE, 'style = "bladder"\n'), False),
    ("build", build(WHOLE + 'air = "1 ml"', 'style = "emulsion"\n'), True),
    ("build", build(WHOLE + 'hold_back = "6 mm"', 'style = "emulsion"\n'), False),
    ("build", build(WHOLE + 'left = { hold_back = "6 mm" }'), False),
    ("build", build(WHOLE + 'left.hold_back = "6 mm"\nright.hold_back = "6 mm"'), True),
    ("build", build(WHOLE + 'left.hold_back = "6 mm"\nright = {}'), False),
    ("build", build('piston = "p"\nhold_back = "6 mm"'), False),
    ("build", build('piston = "p"\nhold_back = "6 mm"\nleft.oil = "o"\nright.oil = "q"'), True),
]


@pytest.mark.parametrize(("kind", "text", "good"), TOGETHER)
def test_it_agrees_with_the_reader_on_what_goes_together(
    kind: str, text: str, good: bool, tmp_path: Path
) -> None:
    path = tmp_path / f"tried.{kind}.toml"
    path.write_text(text, encoding="utf-8")
    assert (read_file(path, kind, "tried").faults == []) is good
    assert (refused(kind, text) == []) is good


# --- rules and settings --------------------------------------------------------------------------


@pytest.mark.parametrize("rule", [*load_rulebook()], ids=lambda r: r.id)
def test_a_shipped_rule_is_accepted(rule: Any) -> None:
    assert refused("rule", rule.path.read_text(encoding="utf-8")) == []


def rule_text(*lines: str) -> str:
    texts = [f'{key} = "x"' for key in ("title", "source", "why", "cure")]
    return "\n".join(['level = "must"', *texts, *lines])


# whether the rulebook takes each; the schema has to agree
RULES = [
    (rule_text('measure = "hold_back"', 'at_most = "6 mm"'), True),
    (rule_text('measure = "hold_back"', 'at_most = "6 cSt"'), False),
    (rule_text('measure = "hold_back"', 'at_most = "6 mm ± 1 mm"'), False),
    (rule_text('measure = "hold_back"', "at_most = 6"), False),
    (rule_text('measure = "hold_back"'), False),
    (rule_text('measure = "hold_back"', 'at_most = "6 mm"', 'at_least = "1 mm"'), False),
    (rule_text('measure = "hold_bakc"', 'at_most = "6 mm"'), False),
    (rule_text('measure = "hold_back"', 'between = ["1 mm", "6 mm"]'), True),
    (rule_text('measure = "hold_back"', 'between = ["1 mm"]'), False),
    (rule_text('measure = "hold_back"', 'between = ["1 mm", "6 K"]'), False),
    (rule_text('measure = "hold_back"', "is = true"), False),
    (rule_text('measure = "hold_back"', 'same_within = "1 mm"'), True),
    (rule_text('measure = "hold_back"', 'same_within = "10 %"'), True),
    (rule_text('measure = "hold_back"', 'same_within = "exactly"'), False),
    (rule_text('measure = "oil"', 'same_within = "exactly"'), True),
    (rule_text('measure = "oil"', 'one_of = ["a", "b"]'), True),
    (rule_text('measure = "oil"', 'at_most = "1 mm"'), False),
    (rule_text('measure = "label_agrees"', "is = true"), True),
    (rule_text('measure = "label_agrees"', "is = false"), False),
    (rule_text('measure = "steps_missing"', 'at_most = "0"'), True),
    (rule_text('measure = "steps_missing"', 'at_most = "0 step"'), True),
    (rule_text('measure = "steps_missing"', 'at_most = "2 steps"'), True),
    (rule_text('measure = "steps_missing"', 'at_most = "2 mm"'), False),
    (rule_text('measure = "days_before_event"', 'at_least = "0 day"'), True),
    (rule_text('measure = "damping"', 'at_most = "3 N s/m"'), True),
    (rule_text('measure = "hold_back"', 'at_most = "6 mm"', 'by = "stroke"'), False),
    (
        rule_text(
            'measure = "hold_back"',
            'by = "stroke"',
            'bands = [{ up_to = "20 mm", at_most = "3 mm" }, { at_most = "6 mm" }]',
        ),
        True,
    ),
    (rule_text('measure = "hold_back"', 'bands = [{ at_most = "6 mm" }]'), False),
    (rule_text('measure = "hold_back"', 'by = "oil"', 'bands = [{ at_most = "6 mm" }]'), False),
    (rule_text('measure = "hold_back"', 'by = "stroke"', "bands = []"), False),
    (
        rule_text(
            'measure = "hold_back"',
            'by = "stroke"',
            'bands = [{ up_to = "2 K", at_most = "3 mm" }, { at_most = "6 mm" }]',
        ),
        False,
    ),
    (
        rule_text('measure = "hold_back"', 'by = "stroke"', 'bands = [{ at_most = "6 cSt" }]'),
        False,
    ),
    (rule_text('measure = "hold_back"', 'at_most = "6 mm"', 'turn = ["hold_back"]'), True),
    (rule_text('measure = "hold_back"', 'at_most = "6 mm"', 'turn = ["length"]'), False),
    (rule_text('measure = "hold_back"', 'at_most = "6 mm"', 'only = { end = "front" }'), True),
    (rule_text('measure = "hold_back"', 'at_most = "6 mm"', 'only = { end = "left" }'), False),
    (rule_text('measure = "hold_back"', 'at_most = "6 mm"', "only = { side = 'left' }"), False),
    (rule_text('measure = "hold_back"', 'at_most = "6 mm"', 'title2 = "x"'), False),
    ('level = "must"\ntitle = "x"\nmeasure = "oil"\nsame_within = "exactly"', False),
]


@pytest.mark.parametrize(("text", "good"), RULES)
def test_it_agrees_with_the_rulebook_on_rules(text: str, good: bool, tmp_path: Path) -> None:
    (tmp_path / "group").mkdir()
    (tmp_path / "group" / "tried.toml").write_text(text, encoding="utf-8")
    try:
        load_rulebook(tmp_path)
        taken = True
    except ValueError:
        taken = False
    assert taken is good
    assert (refused("rule", text) == []) is good


def test_a_rule_about_files_asks_nothing() -> None:
    text = (shipped_rules() / "file" / "id-twice.toml").read_text(encoding="utf-8")
    assert refused("rule", text) == []
    assert refused("rule", text + 'turn = ["hold_back"]\n') != []


SETTINGS = [
    ("", True),
    ('[judging]\nsure = "99.5 %"', True),
    ("[judging]\nsure = 0.99", True),
    ("[judging]\nsure = 0.5", False),
    ('[judging]\nsure = "99 mm"', False),
    ('[judging]\nsurely = "99 %"', False),
    ('[change."bladder/cap-pressure"]\nat_most = "190 kPa"', True),
    ('[change."bladder/cap-pressure"]\nat_most = "190 mm"', False),
    ('[change."bladder/cap-pressure"]\nlevel = "must"', True),
    ('[change."bladder/cap-pressure"]\nlevel = "may"', False),
    ('[change."bladder/cap-pressure"]\nleave_out = true', True),
    ('[change."bladder/cap-pressure"]\nof = true', False),
    ('[change."bladder/cap-pressure"]\nat_most = "190 kPa"\nat_least = "5 kPa"', False),
    ('[change."pair/parts"]\nat_most = "190 kPa"', False),
    ('[change."bench/label"]\nis = true', True),
    ('[change."file/id-twice"]\nlevel = "should"', False),
    ('[change."file/concession-unused"]\nlevel = "must"', True),
    ('[change."file/concession-unused"]\nat_most = "1 mm"', False),
    ('[change."pair/length"]', False),
    ('[change."pair/length"]\ntitle = "As long as each other"\nsource = "ours"', True),
    ('[change."file/id-twice"]\nat_most = "1 mm"', False),
    (
        '[change."hold-back/by-body-length"]\nby = "body_length"\n'
        'bands = [{ up_to = "45 mm", at_most = "3 mm" }, { between = ["4 mm", "8 mm"] }]',
        True,
    ),
    ('[change."hold-back/by-body-length"]\nbands = [{ at_most = "3 mm" }]', True),
    # the team's own
    ('[change."ours/one"]\nat_most = "1 mm"', False),
    ('[change."ours/one"]\nat_mots = "1 mm"', False),
    ('rule = "x"', False),
    ('[[concession]]\nrule = "pair/parts"\nreason = "a spare"\nuntil = 2027-07-01', True),
    ('[[concession]]\nrule = "pair/parts"\nuntil = 2027-07-01', False),
    ('[[concession]]\nrule = "pair/parts"\nreason = "a spare"\nuntil = "July"', False),
    (
        '[[concession]]\nrule = "oil/thins-away"\nreason = "a spare"\nuntil = 2027-07-01\n'
        'build = "heron-quarry"\nwhere = "front.left"',
        True,
    ),
    (
        '[[concession]]\nrule = "pair/parts"\nreason = "a spare"\nuntil = 2027-07-01\n'
        'where = "left"',
        False,
    ),
]


@pytest.mark.parametrize(("text", "good"), SETTINGS)
def test_settings_are_accepted_or_refused(text: str, good: bool) -> None:
    assert (refused("settings", text) == []) is good


@pytest.mark.parametrize(("text", "good"), SETTINGS)
def test_the_settings_are_followed_or_refused_alike(tmp_path: Path, text: str, good: bool) -> None:
    (tmp_path / "buildlint.toml").write_text(text, encoding="utf-8")
    if good:
        rules_in_force(tmp_path)
    else:
        with pytest.raises(SettingsError):
            rules_in_force(tmp_path)


def test_the_settings_know_every_shipped_rule() -> None:
    made = schema("settings")["properties"]["change"]["properties"]
    about_files = {"file/concession-expired", "file/concession-unused"}
    assert list(made) == [
        rule.id for rule in load_rulebook() if rule.measure is not None or rule.id in about_files
    ]


# --- the example team's --------------------------------------------------------------------------


@pytest.mark.newest
@pytest.mark.parametrize("kind", FILE_KINDS)
def test_the_example_teams_schema_is_current(kind: str) -> None:
    current = schema_path(kind).read_text(encoding="utf-8") == schema_text(kind)
    assert current, "python tests/make_schemas.py --write"


def test_schemas_are_none_of_the_teams_files() -> None:
    assert not any(is_ours(schema_path(kind).name) for kind in FILE_KINDS)


def test_inspecting_never_makes_schemas() -> None:
    code = "import buildlint.commands.cli, sys; print(*(m for m in sys.modules if 'schema' in m))"
    env = {"PYTHONPATH": str(EXAMPLES.parent)}
    run = subprocess.run(
        [sys.executable, "-c", code], env=env, capture_output=True, check=True, text=True
    )
    assert "buildlint.reports.schemas" not in run.stdout.split()
    assert "pydantic.json_schema" not in run.stdout.split()


def test_every_part_has_its_table() -> None:
    assert tuple(schema("parts")["properties"]) == PART_KINDS == tuple(fields_of(Parts))
    assert set(schema("build")["$defs"]["End"]["properties"]) == {
        *fields_of(Corner),
        "left",
        "right",
    }

"""JSON for other programs, against a schema (2020-12) of what is promised of it."""

from __future__ import annotations

import datetime
import json
from pathlib import Path
from statistics import NormalDist
from typing import Any

import pytest
from jsonschema import Draft202012Validator

import buildlint
from buildlint import inspect_team
from buildlint.judging.figures import figures
from buildlint.judging.rulebook import load_rulebook
from buildlint.reports.json import (
    figures_json,
    inspection_json,
    number,
    rules_json,
)
from tests.making import build_path, repository

# Units in JSON (g/cm^3 for the density; steps are counted)
UNITS = ["mm", "mm^3", "cSt", "N s/m", "N/mm", "Hz", "m/s", "kPa", "g", "1", "day", "h", "g/cm^3"]
UNITS += ["degC"]
NUMBER = {"type": ["number", "null"]}
SPREAD: dict[str, Any] = {**NUMBER, "minimum": 0}
TEXTS = {"type": "array", "items": {"type": "string", "minLength": 1}}
READINGS = {
    "type": "array",
    "items": {
        "type": "object",
        "required": ["reading", "share", "given"],
        "additionalProperties": False,
        "properties": {
            "reading": {"type": "string", "minLength": 1},
            "share": {"type": "number", "exclusiveMinimum": 0, "maximum": 1},
            "given": {"type": "boolean"},
        },
    },
}

FINDING = {
    "type": "object",
    "required": [
        "rule",
        "level",
        "verdict",
        "file",
        "line",
        "column",
        "end_column",
        "subject",
        "condition",
        "value",
        "chance",
        "uncertainty_up",
        "uncertainty_down",
        "readings",
        "keys",
        "subjects",
        "unit",
        "limit",
        "margin",
        "message",
        "cure_figures",
        "measure",
        "missing",
        "cure",
        "title",
        "build",
        "no_figure",
        "caution",
        "conceded",
        "sides",
    ],
    "additionalProperties": False,
    "properties": {
        "rule": {"type": "string", "pattern": "^[a-z-]+/[a-z-]+$"},
        "level": {"enum": ["must", "should"]},
        "title": {"type": "string", "minLength": 1},
        "no_figure": {"type": ["string", "null"]},
        "caution": {"type": ["string", "null"]},
        "conceded": {"type": ["object", "null"]},
        "verdict": {"enum": ["borderline", "fails", "not checked"]},
        "file": {"type": "string", "minLength": 1},
        "line": {"type": "integer", "minimum": 1},
        "column": {"type": "integer", "minimum": 1},
        "end_column": {"type": "integer", "minimum": 1},
        "build": {"type": ["string", "null"]},
        "subject": {
            "enum": [
                None,
                "car",
                "front",
                "rear",
                "front.left",
                "front.right",
                "rear.left",
                "rear.right",
            ]
        },
        "condition": {"enum": [None, "bench", "cold", "hot"]},
        "value": {"type": ["number", "string", "null"]},
        "chance": {"type": ["number", "null"], "minimum": 0, "maximum": 1},
        "uncertainty_up": SPREAD,
        "uncertainty_down": SPREAD,
        "readings": READINGS,
        "keys": TEXTS,
        "subjects": {
            "type": "array",
            "items": {"enum": ["front.left", "front.right", "rear.left", "rear.right"]},
            "uniqueItems": True,
        },
        "unit": {"enum": [None, "step", *UNITS]},
        "limit": {
            "type": "object",
            "propertyNames": {
                "enum": ["at_most", "at_least", "same_within", "as_planned_within", "one_of", "is"]
            },
        },
        "margin": NUMBER,
        "measure": {"type": ["string", "null"]},
        "sides": {
            "type": ["object", "null"],
            "required": ["left", "right", "unit"],
            "additionalProperties": False,
            "properties": {
                "left": {"type": ["number", "string", "object", "null"]},
                "right": {"type": ["number", "string", "object", "null"]},
                "unit": {"enum": [None, *UNITS]},
            },
        },
        "message": {"type": "string", "minLength": 1},
        "missing": TEXTS,
        "cure": {"type": ["string", "null"]},
        "cure_figures": {
            "type": "array",
            "items": {
                "type": "object",
                "required": ["reading", "at_least", "at_most", "unit", "text"],
                "properties": {
                    "reading": {"type": "string"},
                    "at_least": NUMBER,
                    "at_most": NUMBER,
                    "unit": {"enum": [None, "degC", *UNITS]},
                    "text": {"type": "string", "minLength": 1},
                },
            },
        },
    },
    "if": {"properties": {"verdict": {"const": "not checked"}}},
    "then": {
        "required": ["missing"],
        "properties": {"missing": {"minItems": 1}, "value": {"type": "null"}},
    },
}
COUNT = {"type": "integer", "minimum": 0}
COUNTS = ["builds", "holds", "borderline", "fails", "not_checked", "conceded"]
COUNTED = {
    "type": "object",
    "required": COUNTS,
    "additionalProperties": False,
    "properties": dict.fromkeys(COUNTS, COUNT),
}
BUILD_KEYS = ["build", "file", "car", "event", "life", "counts"]
INSPECTION = {
    "$schema": "https://json-schema.org/draft/2020-12/schema",
    "type": "object",
    "required": [
        "format",
        "buildlint",
        "on",
        "should_too",
        "passes",
        "builds",
        "past",
        "findings",
        "counts",
    ],
    "additionalProperties": False,
    "properties": {
        "format": {"const": 2},
        "buildlint": {"type": "string", "pattern": r"^\d+\.\d+\.\d+"},
        "on": {"type": "string", "pattern": r"^\d{4}-\d\d-\d\d$"},
        "should_too": {"type": "boolean"},
        "passes": {"type": "boolean"},
        "builds": {
            "type": "array",
            "items": {
                "type": "object",
                "required": BUILD_KEYS,
                "additionalProperties": False,
                "properties": {
                    "build": {"type": "string"},
                    "file": {"type": "string", "minLength": 1},
                    "car": {"type": ["string", "null"]},
                    "event": {"type": ["string", "null"]},
                    "life": {"enum": ["plan", "built", "past"]},
                    "counts": COUNTED,
                },
            },
        },
        "past": {"type": "array", "items": {"type": "string"}},
        "findings": {"type": "array", "items": FINDING},
        "counts": COUNTED,
        "rules_changed": {
            "type": "array",
            "minItems": 1,
            "items": {
                "type": "object",
                "required": ["rule", "kind", "level", "what", "file", "line"],
                "additionalProperties": False,
                "properties": {
                    "rule": {"type": "string"},
                    "kind": {"enum": ["left out", "changed", "own"]},
                    "level": {"enum": ["must", "should"]},
                    "what": {"type": "string", "minLength": 1},
                    "file": {"type": "string", "minLength": 1},
                    "line": {"type": "integer", "minimum": 1},
                },
            },
        },
    },
}
FIGURES = {
    "$schema": "https://json-schema.org/draft/2020-12/schema",
    "type": "object",
    "required": ["format", "build", "car", "event", "figures", "mistakes"],
    "additionalProperties": False,
    "properties": {
        "format": {"const": 2},
        "build": {"type": "string"},
        "car": {"type": ["string", "null"]},
        "event": {"type": ["string", "null"]},
        "mistakes": {"type": "array", "items": {"type": "string", "pattern": r"^.+:\d+:\d+: "}},
        "figures": {
            "type": "array",
            "minItems": 1,
            "items": {
                "type": "object",
                "required": ["subject", "measure", "condition", "value", "unit", "readings"],
                "properties": {
                    "subject": {"enum": FINDING["properties"]["subject"]["enum"][1:]},  # type: ignore[index]
                    "measure": {"type": "string"},
                    "condition": {"enum": [None, "bench", "cold", "hot"]},
                    "value": {"type": ["number", "string", "null"]},
                    "uncertainty_up": SPREAD,
                    "uncertainty_down": SPREAD,
                    "readings": READINGS,
                    "unit": {"enum": [None, "step", *UNITS]},
                    "missing": {**TEXTS, "minItems": 1},
                },
                # a value not checked is null with what is missing
                "if": {"required": ["missing"]},
                "then": {"properties": {"value": {"type": "null"}}},
                "else": {"properties": {"value": {"type": ["number", "string"]}}},
            },
        },
    },
}
for _schema in (INSPECTION, FIGURES):
    Draft202012Validator.check_schema(_schema)

EVERYTHING: dict[str, dict[str, Any]] = {
    "parts": {"bladder.deep.into_cap": "150 mm^3", "oil.o450.viscosity": "5000 cSt"},
    "build": {
        "front.right.length": "106 mm",
        "rear.right.collar": "9 mm",
        "front.left.rebound": None,
        "front.right.piston": "other",
        "rear.pistn": "four",
        "front.left.hold_back": "0 mm",
    },
}
SIX = {"piston.six": {"diameter": "15.9 mm", "thickness": "2.5 mm", "holes": "6 x 1.5 mm"}}
HARD = {"spring.hard": {"rate": "5 N/mm", "free_length": "70 mm", "solid_length": "24 mm"}}
CHANGES = pytest.mark.parametrize(
    "changes",
    [
        {},
        EVERYTHING,
        {"build": {"event": None}},
        {"parts": {"bladder.deep.into_cap": None}},
        {"parts": {"body.long.cap": "sealed", "body.long.gas": "1000 mm^3"}},
        {"build": {"style": "emulsion", "front.air": "1 ml", "rear.air": "1 ml"}},
    ],
    ids=["sound", "everything", "no-event", "unmeasured", "sealed", "emulsion"],
)


def strictly(text: str) -> Any:
    """Read JSON as RFC 8259 has it: no NaN, no Infinity, no key twice."""

    def refuse(constant: str) -> None:
        raise AssertionError(f"{constant} is no JSON")

    def once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        assert len({key for key, _ in pairs}) == len(pairs)
        return dict(pairs)

    assert text.endswith("}\n")
    return json.loads(text, parse_constant=refuse, object_pairs_hook=once)


def inspected(folder: Path, **changes: Any) -> Any:
    return strictly(inspection_json(inspect_team([repository(folder, **changes)])))


@CHANGES
def test_an_inspection_is_of_the_schema(tmp_path, changes):
    Draft202012Validator(INSPECTION).validate(inspected(tmp_path, **changes))


@CHANGES
def test_figures_are_of_the_schema(tmp_path, changes):
    found = figures(build_path(repository(tmp_path, **changes)))
    document = strictly(figures_json(found))
    Draft202012Validator(FIGURES).validate(document)
    assert document["build"] == "heron-quarry"


def test_the_schema_refuses_what_it_should(tmp_path):
    """So that the tests above can fail."""
    document = inspected(tmp_path, **EVERYTHING)
    for spoil in (
        lambda d: d.update(format=1),
        lambda d: d["counts"].pop("conceded"),
        lambda d: d["findings"][0].pop("margin"),
        lambda d: d["findings"][0].update(unit="inch"),
        lambda d: d["findings"][0].update(line=0),
    ):
        spoilt = json.loads(json.dumps(document))
        spoil(spoilt)
        assert not Draft202012Validator(INSPECTION).is_valid(spoilt)


def test_counts_are_those_of_the_findings(tmp_path):
    document = inspected(tmp_path, **EVERYTHING)
    verdicts = [finding["verdict"] for finding in document["findings"]]
    assert document["counts"]["builds"] == 1
    assert document["counts"]["fails"] == verdicts.count("fails") > 3
    assert document["counts"]["borderline"] == verdicts.count("borderline")
    assert document["counts"]["not_checked"] == verdicts.count("not checked") > 0


def test_a_finding_has_its_figures_in_the_measures_unit(tmp_path):
    """104.2 and 106 mm, each ± 0.1, which is u = 0.0577: 1.8 apart, u = 0.0816, at most 0.5."""
    document = inspected(tmp_path, build={"front.right.length": "106 mm"})
    (finding,) = document["findings"]
    assert finding["rule"] == "pair/length"
    assert finding["value"] == pytest.approx(1.8)
    assert finding["uncertainty_up"] == finding["uncertainty_down"]
    assert finding["uncertainty_up"] == pytest.approx(0.1 * (2 / 3) ** 0.5, rel=1e-6)
    assert finding["chance"] == pytest.approx(0.0, abs=1e-9)
    assert (finding["unit"], finding["limit"]) == ("mm", {"same_within": pytest.approx(0.5)})
    assert finding["margin"] == pytest.approx(-1.3)
    assert finding["subject"] == "front" and finding["condition"] is None


def test_both_sides_figures_stand_beside_what_they_differ_by(tmp_path):
    """104.2 and 106 mm; a share of the mean is of two figures with a unit of their own."""
    build = {"front.right.length": "106 mm", "rear.right.oil": "thin"}
    repository(tmp_path, build=build, parts={"oil.thin.viscosity": "100 cSt"})
    # a must on the same parts would stand for it
    (tmp_path / "buildlint.toml").write_text('[change."pair/parts"]\nlevel = "should"\n')
    document = strictly(inspection_json(inspect_team([tmp_path])))
    found = {(f["rule"], f["subject"]): f for f in document["findings"]}
    assert found["pair/length", "front"]["sides"] == {"left": 104.2, "right": 106.0, "unit": "mm"}
    damping = found["pair/damping", "rear"]
    assert (damping["unit"], damping["sides"]["unit"]) == ("1", "N s/m")
    left, right = damping["sides"]["left"], damping["sides"]["right"]
    assert (left - right) / ((left + right) / 2.0) == pytest.approx(damping["value"])
    parts = found["pair/parts", "rear"]["sides"]
    assert parts == {"left": {"oil": "o450"}, "right": {"oil": "thin"}, "unit": None}
    others = {f["rule"] for f in document["findings"] if f["sides"] is not None}
    assert others == {"pair/length", "pair/damping", "pair/parts"}


def test_a_team_may_compare_one_kind_of_part(tmp_path):
    own = (
        'title = "t"\nlevel = "must"\nmeasure = "piston"\nsame_within = "exactly"\nsource = "s"\n'
        'why = "w"\ncure = "c"\n'
    )
    (tmp_path / "rules").mkdir()
    (tmp_path / "rules" / "own.toml").write_text(own, encoding="utf-8")
    repository(tmp_path, build={"front.right.piston": "six"}, parts=SIX)
    document = strictly(inspection_json(inspect_team([tmp_path])))
    (finding,) = (f for f in document["findings"] if f["rule"] == "own")
    assert finding["sides"] == {"left": "four", "right": "six", "unit": None}


def test_the_builds_that_were_judged_are_listed(tmp_path):
    repository(tmp_path, build={"front.right.length": "106 mm"})
    text = build_path(tmp_path).read_text(encoding="utf-8")
    sound = text.replace("106 mm", "104.2 mm").replace('event = "quarry"\n', "")
    (tmp_path / "sound.build.toml").write_text(sound, encoding="utf-8")
    document = strictly(inspection_json(inspect_team([tmp_path])))
    assert [(b["build"], b["car"], b["event"]) for b in document["builds"]] == [
        ("heron-quarry", "heron", "quarry"),
        ("sound", "heron", None),
    ]
    assert document["builds"][0]["file"].endswith("/heron-quarry.build.toml")
    assert [b["counts"]["fails"] for b in document["builds"]] == [1, 0]
    # nothing is wrong in the files: what was counted is the builds'
    for key in COUNTS:
        assert sum(b["counts"][key] for b in document["builds"]) == document["counts"][key]


def test_the_document_says_what_was_asked_and_whether_it_passes(tmp_path):
    """A should that fails passes, but not with should_too."""
    found = inspect_team(
        [repository(tmp_path, build={"front.runtime": "11 h"})], on=datetime.date(2027, 6, 12)
    )
    lax, should_too = (strictly(inspection_json(found, should_too)) for should_too in (False, True))
    assert (lax["on"], lax["should_too"], lax["passes"]) == ("2027-06-12", False, True)
    assert (should_too["should_too"], should_too["passes"]) == (True, False)
    assert lax["buildlint"] == buildlint.__version__
    assert lax["findings"] == should_too["findings"]


def test_a_borderline_must_has_its_chance_and_what_decides_it(tmp_path):
    """104.2 and 104.6 mm, each ± 0.1: 0.4 apart, u = 0.0816, so that 0.5 is kept by 1.2247 u."""
    document = inspected(tmp_path, build={"front.right.length": "104.6 mm"})
    (finding,) = document["findings"]
    assert (finding["rule"], finding["verdict"]) == ("pair/length", "borderline")
    assert finding["chance"] == pytest.approx(NormalDist().cdf(1.2247), abs=1e-4)
    assert finding["margin"] == pytest.approx(0.1)
    shares = {r["reading"]: (r["share"], r["given"]) for r in finding["readings"]}
    assert shares == {
        "length, left": (pytest.approx(0.5), True),
        "length, right": (pytest.approx(0.5), True),
    }
    assert finding["subjects"] == ["front.left", "front.right"]
    assert finding["keys"] == ["front", "right", "length"]
    assert document["passes"]


def test_a_reading_that_was_not_given_is_said_to_be_none(tmp_path):
    """Where the oil at filling is not given, a guess stands in for it."""
    parts = {"body.long.oil": None, "bladder.deep.into_cap": "260 mm^3"}
    document = inspected(tmp_path, parts=parts)
    given = {r["reading"]: r["given"] for f in document["findings"] for r in f["readings"]}
    assert given["oil of body long"] is False
    assert given["into_cap of bladder deep"] is True


def test_a_limit_is_rounded_like_any_figure(tmp_path):
    """140 % of a share of 1 comes to 1.4000000000000001."""
    document = inspected(tmp_path, build={"front.spring": "hard"}, parts=HARD)
    finding = next(f for f in document["findings"] if f["rule"] == "spring/frequency-balance")
    assert finding["limit"] == {"at_least": 0.7, "at_most": 1.4}


def test_figures_say_what_keeps_them_from_being_worked_out(tmp_path):
    """And which car and event they are for."""
    path = build_path(repository(tmp_path, build={"rear.pistn": "four"}))
    document = strictly(figures_json(figures(path)))
    assert (document["car"], document["event"]) == ("heron", "quarry")
    (mistake,) = document["mistakes"]
    assert "heron-quarry.build.toml:" in mistake and "pistn" in mistake


def test_what_is_yes_or_no_has_no_unit_anywhere(tmp_path):
    """As an id has none."""
    path = build_path(repository(tmp_path, build={"front.label": "o500 six"}))
    lines = strictly(figures_json(figures(path)))["figures"]
    units = {f["unit"] for f in lines if f["measure"] in ("label_agrees", "rebound_read", "oil")}
    found = strictly(inspection_json(inspect_team([path])))["findings"]
    assert units | {f["unit"] for f in found if f["rule"] == "bench/label"} == {None}


def test_shares_are_fractions_of_one(tmp_path):
    """42.5 mm of a stroke of 34 mm is 1.25; at most 1, margin -0.25."""
    build = {"rear.left.hold_back": "42.5 mm", "rear.right.hold_back": "42.5 mm"}
    document = inspected(tmp_path, build=build)
    finding = next(f for f in document["findings"] if f["rule"] == "hold-back/in-stroke")
    assert finding["unit"] == "1"
    assert finding["value"] == pytest.approx(1.25)
    assert finding["limit"] == {"at_least": 0.0, "at_most": 1.0}
    assert finding["margin"] == pytest.approx(-0.25)


def test_a_mistake_in_a_file_has_no_build_no_subject_and_no_figures(tmp_path):
    document = inspected(tmp_path, build={"rear.pistn": "four"})
    (finding,) = document["findings"]
    assert finding["rule"] == "file/unknown-key"
    for key in ("build", "subject", "condition", "value", "chance", "unit", "margin"):
        assert finding[key] is None
    assert finding["limit"] == {}


def test_a_cure_is_given_as_figures(tmp_path):
    build = {"front.left.hold_back": "0 mm", "front.right.hold_back": "0 mm"}
    document = inspected(tmp_path, build=build)
    finding = next(f for f in document["findings"] if f["rule"] == "hold-back/by-body-length")
    (figure,) = finding["cure_figures"]
    # 4.5 to 8.5 mm for a body of 52 mm
    expected = {"reading": "hold_back", "at_least": 4.5, "at_most": 8.5, "unit": "mm"}
    assert expected.items() <= figure.items()
    assert finding["no_figure"] is None


def test_a_figure_without_end_is_null(tmp_path):
    found = inspected(tmp_path, parts={"bladder.deep.into_cap": "0 mm^3 ± 1 mm^3"})
    finding = next(f for f in found["findings"] if f["rule"] == "bladder/into-cap-room")
    assert (finding["value"], finding["uncertainty_up"], finding["margin"]) == (None, None, None)
    assert finding["verdict"] == "fails"


def test_a_figure_has_its_uncertainty_and_says_if_it_is_an_estimate(tmp_path):
    """u = 0.3/sqrt(3) = 0.173205 for 6.4 ± 0.3 mm."""
    found = figures(build_path(repository(tmp_path, parts={"body.long.oil": None})))
    document = strictly(figures_json(found))
    lines = {(f["subject"], f["measure"]): f for f in document["figures"]}
    hold_back = lines["front.left", "hold_back"]
    assert hold_back["uncertainty_up"] == pytest.approx(0.173205, abs=1e-6)
    assert hold_back["estimated"] is False
    assert lines["front", "oil_volume"]["estimated"] is True


def test_text_of_any_kind_is_escaped(tmp_path):
    document = inspection_json(
        inspect_team([repository(tmp_path, build={"front.oil": "a\x7f\u202e"})])
    )
    assert document.isascii()
    strictly(document)


def test_every_rule_is_given_with_its_texts():
    book = load_rulebook()
    document = strictly(rules_json(book))
    assert document["format"] == 2
    assert [entry["rule"] for entry in document["rules"]] == [rule.id for rule in book]
    for entry in document["rules"]:
        assert entry["title"] and entry["why"] and entry["source"] and entry["cure"]
        assert entry["level"] in ("must", "should")
        is_file = entry["rule"].startswith("file/")
        assert (entry["measure"] is None) == is_file
        assert bool(entry["limit"] or entry["bands"]) != is_file
        assert bool(entry["asks"] or entry["bands"]) != is_file


def test_a_rules_limit_is_given_as_figures_too():
    """As the rules write them; a share is a fraction of one."""
    rules = {e["rule"]: e for e in strictly(rules_json(load_rulebook()))["rules"]}
    asks = {name: (entry["asks"], entry["unit"]) for name, entry in rules.items()}
    assert asks["spring/frequency-balance"] == ({"at_least": 0.7, "at_most": 1.4}, "1")
    assert asks["pair/length"] == ({"same_within": 0.5}, "mm")
    assert asks["pair/damping"] == ({"same_within": 0.1}, "1")
    assert asks["pair/parts"] == ({"same_within": "exactly"}, None)
    assert asks["bench/label"] == ({"is": "true"}, None)
    assert asks["bladder/cap-pressure"] == ({"at_most": 200.0}, "kPa")
    assert asks["file/unknown-key"] == (None, None)
    banded = rules["hold-back/by-body-length"]
    assert (banded["asks"], banded["unit"], banded["by_unit"]) == (None, "mm", "mm")
    assert [(band["up_to_figure"], band["asks"]) for band in banded["bands"]] == [
        (45.0, {"at_most": 3.0}),
        (None, {"at_least": 4.5, "at_most": 8.5}),
    ]


@pytest.mark.parametrize(
    ("value", "given"),
    [
        (1 / 3, 0.333333333),
        (0.1 + 0.2, 0.3),
        (float("inf"), None),
        (float("-inf"), None),
        (None, None),
        ("o450", "o450"),
    ],
)
def test_numbers_are_rounded_past_their_meaning(value, given):
    """Nine digits; what has no end is null (RFC 8259 has no word for it)."""
    assert number(value) == given


def test_what_is_conceded_says_so_beside_its_verdict(tmp_path):
    repository(tmp_path, build={"front.right.length": "106 mm", "rear.right.length": "122 mm"})
    (tmp_path / "buildlint.toml").write_text(
        '[[concession]]\nrule = "pair/length"\nreason = "spare \\u001b[31m"\nuntil = 2027-06-30\n'
        'where = "front"\n',
        encoding="utf-8",
    )
    found = inspect_team([tmp_path], on=datetime.date(2027, 6, 12))
    text = inspection_json(found)
    assert "\x1b" not in text
    document = strictly(text)
    Draft202012Validator(INSPECTION).validate(document)
    assert [(f["subject"], f["verdict"], f["conceded"]) for f in document["findings"]] == [
        ("rear", "fails", None),
        ("front", "fails", {"reason": "spare \\x1b[31m", "until": "2027-06-30"}),
    ]
    assert (document["counts"]["fails"], document["counts"]["conceded"]) == (1, 1)


def test_every_change_of_the_rules_is_told_with_its_place(tmp_path, monkeypatch):
    repository(tmp_path)
    (tmp_path / "rules").mkdir()
    (tmp_path / "rules" / "own.toml").write_text(
        'title = "t"\nlevel = "must"\nmeasure = "collar"\nat_most = "9 mm"\nsource = "s"\n'
        'why = "w"\ncure = "c"\n',
        encoding="utf-8",
    )
    (tmp_path / "buildlint.toml").write_text(
        '[change."pair/collar"]\nleave_out = true\n[change."pair/length"]\nsame_within = "1 mm"\n',
        encoding="utf-8",
    )
    monkeypatch.chdir(tmp_path)
    document = strictly(inspection_json(inspect_team()))
    Draft202012Validator(INSPECTION).validate(document)
    keys = ("rule", "kind", "level", "what", "file", "line")
    assert [tuple(change[key] for key in keys) for change in document["rules_changed"]] == [
        ("pair/collar", "left out", "should", "left out", "buildlint.toml", 1),
        (
            "pair/length",
            "changed",
            "must",
            "length the same within 1 mm, but it came with length the same within 0.5 mm",
            "buildlint.toml",
            3,
        ),
        ("own", "own", "must", "collar at most 9 mm", "rules/own.toml", 1),
    ]

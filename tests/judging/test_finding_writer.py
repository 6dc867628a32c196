"""From judgements and mistakes to findings: each with its figures in its unit, and its place."""

from __future__ import annotations

import datetime
import os
from math import sqrt
from pathlib import Path
from typing import Any

import pytest

from buildlint.files.settings import read_settings
from buildlint.judging.asks import Ask
from buildlint.judging.finding import Finding
from buildlint.judging.finding_writer import FindingWriter, mistakes_in, seen_from_here
from buildlint.judging.judge import Judge
from buildlint.judging.rulebook import Rulebook, load_rulebook
from buildlint.team.assembly import dampers
from buildlint.team.load import load_team
from buildlint.team.repository import Team
from tests.making import build_path, repository
from tests.rules import rule_of

BOOK = load_rulebook()


def written(folder: Path, rule: str, **changes: Any) -> list[Finding]:
    """Give the findings of one rule on the sound repository with changes, what holds among them."""
    team = load_team(repository(folder, **changes))
    build = team.file(build_path(folder))
    writer = FindingWriter(team, BOOK)
    found = Judge(Rulebook({rule: BOOK[rule]})).judge(dampers(team, build))
    return [writer.placed(writer.of(judgement, build)) for judgement in found]


def marked(finding: Finding) -> str:
    """Give what the finding's place marks in its file."""
    assert finding.path is not None
    line = finding.path.read_text(encoding="utf-8").splitlines()[finding.line - 1]
    assert finding.source_line == line.strip()
    return line[finding.column - 1 : finding.end_column - 1]


def mistakes(team: Team, path: Path) -> list[Finding]:
    return FindingWriter(team, BOOK).in_file(team.file(path))


# --- a judgement, whole --------------------------------------------------------------------------


def test_figures_are_in_the_units_of_the_measure(tmp_path):
    """9.5 ± 0.3 mm against 4.5 to 8.5 mm: 1 mm over (rules/hold-back/by-body-length.toml).

    JCGM 100:2008, 4.3.7: 0.3 mm / sqrt 3 either way.
    """
    build = {"front.left.hold_back": "9.5 mm", "front.right.hold_back": "9.5 mm"}
    left, right, *_ = written(tmp_path, "hold-back/by-body-length", build=build)
    assert [left.subject, right.subject] == ["front.left", "front.right"]
    figures = (left.value, left.uncertainty_up, left.uncertainty_down)
    assert figures == pytest.approx((9.5, 0.3 / sqrt(3.0), 0.3 / sqrt(3.0)))
    assert left.unit == "mm"
    assert left.limit == {"at_least": pytest.approx(4.5), "at_most": pytest.approx(8.5)}
    assert left.margin == pytest.approx(-1.0)
    assert (left.build, left.measure, left.condition) == ("heron-quarry", "hold_back", None)
    assert (left.verdict, left.level) == ("fails", "should")


@pytest.mark.parametrize(
    ("rule", "limit", "unit"),
    [
        ("pair/parts", {"same_within": "exactly"}, None),
        ("pair/length", {"same_within": pytest.approx(0.5)}, "mm"),
        ("pair/damping", {"same_within": pytest.approx(0.1)}, "1"),  # of their mean
        ("bladder/into-cap-room", {"at_most": pytest.approx(1.0)}, "1"),
        ("fit/shaft-in-bore", {"at_least": pytest.approx(1.0)}, "mm"),
        ("bench/label", {"is": "true"}, None),
        ("bench/steps", {"at_most": 0.0}, "step"),
        ("record/after-event", {"at_least": 0.0}, "day"),
        ("damping/balance", {"at_least": 0.5, "at_most": 2.0}, "1"),
    ],
)
def test_a_limit_is_told_as_its_rule_asks_it(tmp_path, rule, limit, unit):
    """The limits as the rules write them."""
    finding = written(tmp_path, rule)[0]
    assert finding.limit == limit
    assert finding.unit == unit


def test_the_texts_are_those_of_the_rule(tmp_path):
    (finding, *_) = written(tmp_path, "spring/coil-gap")
    rule = BOOK["spring/coil-gap"]
    assert (finding.rule, finding.title, finding.cure, finding.caution) == (
        rule.id,
        rule.title,
        rule.cure,
        rule.caution,
    )


def test_what_is_not_checked_says_what_is_missing_and_has_no_figures(tmp_path):
    findings = written(tmp_path, "bench/label", build={"front.label": None})
    front = next(f for f in findings if f.subject == "front")
    assert (front.verdict, front.missing) == ("not checked", ("label",))
    figures = (front.value, front.uncertainty_up, front.uncertainty_down, front.margin)
    assert figures == (None,) * 4 and front.chance is None
    assert front.limit == {"is": "true"}  # what would be asked of it


def test_a_finding_without_a_solver_offers_nothing(tmp_path):
    finding = written(tmp_path, "spring/coil-gap")[0]
    assert (finding.cure_figures, finding.no_figure) == ((), "")


def test_what_moves_a_figure_most_is_told_unless_it_holds(tmp_path):
    """Only the lengths vary: half each."""
    build = {"front.right.length": "104.6 mm"}
    finding, rear = written(tmp_path, "pair/length", build=build)
    assert finding.verdict == "borderline"
    assert [(r.share, r.given) for r in finding.readings] == [(pytest.approx(0.5), True)] * 2
    assert (rear.verdict, rear.readings) == ("holds", ())


def test_the_three_readings_that_move_it_most_are_told_with_the_end_that_they_are_of(tmp_path):
    """Two oils, to 10 and to 5 %: four and one parts of the variance between them."""
    parts = {"oil.o450.viscosity": "450 cSt ± 10 %", "oil.other.viscosity": "450 cSt ± 5 %"}
    piston = {"piston.four.holes": "4 x 1.8 mm ± 0.01 mm"}
    team = load_team(repository(tmp_path, parts={**parts, **piston}, build={"rear.oil": "other"}))
    build = team.file(build_path(tmp_path))
    rule = rule_of("damping_balance", Ask(at_most=0.1))
    (found,) = Judge(Rulebook({rule.id: rule})).judge(dampers(team, build))
    told = FindingWriter(team, BOOK).of(found, build).readings
    assert len(told) == 3
    assert [r.reading for r in told][:2] == [
        "viscosity of oil o450 at the front",
        "viscosity of oil other at the rear",
    ]
    assert told[0].share / told[1].share == pytest.approx(4.0, rel=0.1)


@pytest.mark.parametrize(
    ("parts", "reading"),
    [
        ({"body.long.oil": None}, "oil of body long"),
        ({"oil.o450.expansion": None}, "expansion of oil o450"),
        (
            {
                "bladder.deep.into_cap": None,
                "bladder.deep.cup": {"radius": "6 mm", "depth": "4 mm"},
            },
            "into_cap of bladder deep",
        ),
    ],
)
def test_a_default_that_stands_in_for_a_reading_is_told_as_not_given(tmp_path, parts, reading):
    build = {f"front.{side}.hold_back": "30 mm ± 0.1 mm" for side in ("left", "right")}
    build["bench.temperature"] = "20 degC ± 0.1 degC"
    event = {"hottest": "38 degC ± 0.1 degC", "coldest": "14 degC ± 0.1 degC"}
    parts = {"bladder.deep.into_cap": "200 mm^3 ± 1 mm^3", **parts}
    found = written(tmp_path, "bladder/into-cap-room", parts=parts, build=build, event=event)
    given = {r.reading: r.given for r in found[0].readings}
    assert found[0].verdict == "fails"
    assert given.get(reading) is False, given
    shares = [r.share for r in found[0].readings]
    assert shares == sorted(shares, reverse=True) and sum(shares) <= 1.0 + 1e-9


# --- where it stands -----------------------------------------------------------------------------


def test_a_reading_is_pointed_at_where_it_stands(tmp_path):
    finding, *_ = written(tmp_path, "hold-back/in-stroke")
    assert finding.path == build_path(tmp_path)
    assert marked(finding) == '"6.4 mm"'


def test_of_two_sides_the_one_with_a_reading_of_its_own_is_pointed_at(tmp_path):
    """The left stands on the end's collar, the right has its own."""
    build = {"front.right.collar": "5 mm"}
    finding, *_ = written(tmp_path, "pair/collar", build=build)
    assert marked(finding) == '"5 mm"'


def test_parts_that_differ_are_pointed_at_by_their_own_key(tmp_path):
    """The piston is what the rule is about; the spring is what differs."""
    finding, *_ = written(tmp_path, "pair/parts", build={"front.left.spring": "longer"})
    assert finding.verdict == "fails"
    assert marked(finding) == '"longer"'


def test_a_reading_of_a_part_is_pointed_at_in_the_drawers(tmp_path):
    finding, *_ = written(tmp_path, "oil/viscosity-range")
    assert finding.path == tmp_path / "drawers.parts.toml"
    assert marked(finding) == '"450 cSt"'


def test_what_stands_nowhere_is_pointed_at_by_its_end(tmp_path):
    build = {"front.left.length": None, "front.right.length": None}
    finding, *_ = written(tmp_path, "pair/length", build=build)
    assert finding.verdict == "not checked"
    assert finding.path == build_path(tmp_path)
    assert finding.source_line == "[front]"


def test_every_judgement_has_a_place_within_its_file(tmp_path):
    repository(tmp_path, build={"front.label": None, "rear.right.length": None})
    team = load_team(tmp_path)
    build = team.file(build_path(tmp_path))
    writer = FindingWriter(team, BOOK)
    for judgement in Judge(BOOK).judge(dampers(team, build)):
        finding = writer.placed(writer.of(judgement, build))
        assert finding.path is not None
        lines = finding.path.read_text(encoding="utf-8").splitlines()
        assert 1 <= finding.line <= len(lines)
        assert 1 <= finding.column < finding.end_column <= len(lines[finding.line - 1]) + 1
        assert "\n" not in finding.told


# --- mistakes in files ---------------------------------------------------------------------------


def test_mistakes_come_in_the_order_of_their_lines(tmp_path):
    build = {"rear.oops": "1", "front.left.hold_back": "6.4 mn", "bench.altitude": "5 cSt"}
    team = load_team(repository(tmp_path, build=build))
    found = mistakes(team, build_path(tmp_path))
    assert [f.rule for f in found] == [
        "file/wrong-dimension",
        "file/unknown-unit",
        "file/unknown-key",
    ]
    assert [f.line for f in found] == sorted(f.line for f in found)
    assert [marked(f) for f in found] == ['"5 cSt"', '"6.4 mn"', "oops"]
    for finding in found:
        assert (finding.level, finding.verdict, finding.build) == ("must", "fails", None)
        assert (finding.title, finding.cure) == (BOOK[finding.rule].fault, BOOK[finding.rule].cure)


def test_a_file_that_breaks_is_pointed_at_where_it_does(tmp_path):
    repository(tmp_path)
    build_path(tmp_path).write_text('car = "heron"\nevent = \n', encoding="utf-8")
    found = mistakes(load_team(tmp_path), build_path(tmp_path))
    assert [f.line for f in found if f.rule == "file/not-toml"] == [2]


def test_an_empty_file_has_a_place_all_the_same(tmp_path):
    repository(tmp_path)
    build_path(tmp_path).write_bytes(b"")
    found = mistakes(load_team(tmp_path), build_path(tmp_path))
    assert {f.rule for f in found} == {"file/missing-key"}
    assert {(f.line, f.column) for f in found} == {(1, 1)}


# --- paths ---------------------------------------------------------------------------------------


def test_what_stands_in_no_file_has_no_place_to_look_up(tmp_path):
    writer = FindingWriter(load_team(repository(tmp_path)), BOOK)
    finding = Finding("a/rule", "x", "must", "fails", "x", file="")
    assert writer.placed(finding) is finding
    assert (finding.line, finding.column, finding.end_column) == (1, 1, 1)


def test_the_mistakes_behind_a_build_are_those_of_all_files_that_it_stands_on(tmp_path):
    event = {"coldest": "two"}
    team = load_team(repository(tmp_path, event=event, parts={"oil.o450.viscosity": "450 cTs"}))
    path = build_path(tmp_path)
    found = mistakes_in(team, path, BOOK)
    assert ["cTs" in found[0], "two" in found[1]] == [True, True] and len(found) == 2
    path.write_text("car = ", encoding="utf-8")
    broken = mistakes_in(load_team(tmp_path), path, BOOK)
    assert broken and all("heron-quarry.build.toml:1:" in mistake for mistake in broken)


def test_a_path_is_told_as_seen_from_here(tmp_path, monkeypatch):
    (tmp_path / "here").mkdir()
    monkeypatch.chdir(tmp_path / "here")
    assert seen_from_here(tmp_path / "here" / "a" / "b.build.toml") == "a/b.build.toml"
    assert seen_from_here(tmp_path / "there.car.toml") == "../there.car.toml"


def test_a_path_on_another_drive_is_told_whole(monkeypatch):
    """os.path.relpath refuses a path on another drive with a ValueError."""

    def other_drive(path: object) -> str:
        raise ValueError("path is on another mount")

    monkeypatch.setattr(os.path, "relpath", other_drive)
    assert seen_from_here(Path("/elsewhere/x.car.toml")) == "/elsewhere/x.car.toml"


# --- concessions ---------------------------------------------------------------------------------

SETTINGS = """\
[[concession]]
rule = "pair/length"
reason = "spare"
until = 2027-06-30
"""


def of_settings(folder: Path, more: str = "", book: Rulebook = BOOK) -> Any:
    """Give the writer, the settings and the one concession in them."""
    repository(folder)
    (folder / "buildlint.toml").write_text(SETTINGS + more, encoding="utf-8")
    settings = read_settings(folder)
    settings.refuse()
    return FindingWriter(load_team(folder), book), settings, settings.says.concessions[0]


@pytest.mark.parametrize(
    ("on", "ago"), [("2027-07-01", "1 day ago"), ("2027-08-01", "32 days ago")]
)
def test_a_concession_that_is_over_points_at_its_last_day(tmp_path, on, ago):
    """July has 31 days: 30 June to 1 August is 32."""
    writer, settings, leave = of_settings(tmp_path)
    found = writer.concession_expired(leave, settings, datetime.date.fromisoformat(on))
    rule = BOOK["file/concession-expired"]
    assert found == Finding(
        rule=rule.id,
        title=rule.fault,
        level="must",
        verdict="fails",
        message=f"the concession for pair/length ended on 2027-06-30, {ago}",
        file=seen_from_here(tmp_path / "buildlint.toml"),
        line=4,
        column=9,
        end_column=19,
        cure=rule.cure,
        source_line="until = 2027-06-30",
        path=tmp_path / "buildlint.toml",
    )


@pytest.mark.parametrize(
    ("more", "message"),
    [
        ("", "nothing needs the concession for pair/length"),
        ('where = "front"', "nothing needs the concession for pair/length at the front"),
        (
            'build = "heron-quarry"\nwhere = "car"',
            'nothing needs the concession for pair/length of "heron-quarry" at the car',
        ),
        ('build = "heron-quary"', 'there is no build "heron-quary"; did you mean "heron-quarry"?'),
        ('build = "zz"', 'there is no build "zz"'),
        ('event = "quary"', 'there is no event "quary"; did you mean "quarry"?'),
        ('build = "\\u001b[31m"', r'there is no build "\x1b[31m"'),
    ],
)
def test_a_concession_that_nothing_needs_points_at_its_rule(tmp_path, more, message):
    writer, settings, leave = of_settings(tmp_path, more)
    found = writer.concession_unused(leave, settings)
    assert found.message == message
    assert (found.rule, found.level, found.verdict) == ("file/concession-unused", "should", "fails")
    assert marked(found) == '"pair/length"'


def test_a_concession_for_a_rule_that_is_off_says_that_it_is(tmp_path):
    rules = {ident: rule for ident, rule in BOOK.rules.items() if ident != "pair/length"}
    writer, settings, leave = of_settings(tmp_path, book=Rulebook(rules))
    found = writer.concession_unused(leave, settings)
    assert found.message == "nothing needs the concession for pair/length: the rule is left out"


def test_a_concession_points_at_its_own_table_among_several(tmp_path):
    writer, settings, _ = of_settings(tmp_path, SETTINGS.replace("length", "collar"))
    found = writer.concession_unused(settings.says.concessions[1], settings)
    assert (found.line, marked(found)) == (6, '"pair/collar"')

"""The rules that ship: each is whole, and the trade's check values come out as they should."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from buildlint import inspect_team
from buildlint.judging.finding import Finding
from buildlint.judging.judge import Judge
from buildlint.judging.rule import Rule, limit_in_words
from buildlint.judging.rulebook import Rulebook, load_rulebook, shipped_rules
from buildlint.measures import MEASURES
from buildlint.measures.damper import KEY_IN_PART
from buildlint.measures.graph import stands_on
from buildlint.team.assembly import dampers
from buildlint.team.load import load_team
from tests.make_reports import DAY, builds
from tests.making import build_path, repository

BOOK = load_rulebook()
EVERY = pytest.mark.parametrize("rule", list(BOOK), ids=lambda rule: rule.id)

# The groups.
GROUPS = {
    "pair",
    "bladder",
    "hold-back",
    "oil",
    "damping",
    "spring",
    "fit",
    "bench",
    "record",
    "file",
    "like",
    "plan",
}

# What a builder loses where a rule fails.
COSTS = {"locks", "draws air", "unlike sides", "record"}
COSTS |= {"slack", "leaks", "jams", "breaks", "rattles", "damping", "feel"}


@EVERY
def test_every_rule_is_whole(rule: Rule):
    """Title, where the limit comes from, a paragraph of why, what to do."""
    assert rule.id.split("/")[0] in GROUPS
    assert rule.level in ("must", "should")
    assert 10 <= len(rule.title) <= 65 and rule.title[0].isupper() and rule.title[-1] != "."
    assert 10 <= len(rule.fault) <= 65 and rule.fault[0].isupper() and rule.fault[-1] != "."
    assert rule.fault != rule.title
    assert rule.costs in COSTS
    assert len(rule.source) >= 10
    assert len(rule.why.split()) >= 25, "why is a paragraph for someone at the bench"
    assert len(rule.cure.split()) >= 8
    for text in (rule.why, rule.cure, rule.caution):
        assert not text or text[-1] in ".!"


@EVERY
def test_every_limit_can_be_read_and_every_measure_is_known(rule: Rule):
    if rule.id.startswith("file/"):
        assert rule.measure is None and rule.ask is None
        return
    assert rule.measure in MEASURES
    asks = [rule.ask] if rule.ask is not None else [band.ask for band in rule.by_band]
    assert asks
    for ask in asks:
        assert limit_in_words(ask)
    assert all(name in MEASURES for name in (rule.by, *rule.turn) if name is not None)


@EVERY
def test_what_a_rule_has_turned_moves_its_measure(rule: Rule):
    """Turning anything else would never be a cure."""
    if rule.measure is None:
        return
    readings = stands_on(rule.measure)
    parts = {KEY_IN_PART[name][0] for name in readings if name in KEY_IN_PART}
    assert set(rule.turn) <= readings | parts, f"{rule.measure} does not stand on it"


@EVERY
def test_every_rule_file_is_where_its_id_says(rule: Rule):
    assert rule.path == shipped_rules() / f"{rule.id}.toml"
    assert rule.path.is_file()


SHIPPED = """
    pair/parts pair/length pair/hold-back pair/rebound pair/collar pair/limiter pair/damping
    bladder/into-body-room bladder/into-cap-room bladder/window bladder/cap-pressure
    hold-back/in-stroke hold-back/by-body-length oil/viscosity-range oil/thins-away
    oil/blend-agrees damping/ratio damping/balance damping/cavitates spring/coil-gap spring/slack
    spring/rate-agrees spring/frequency-balance fit/piston-clearance fit/limiter-in-stroke
    bench/steps bench/rebound-read bench/label record/after-event record/oil-hours file/not-toml
    file/unknown-key file/missing-key file/not-a-reading file/unknown-unit file/wrong-dimension
    file/bottle-weight file/out-of-range file/no-such-id file/id-twice file/too-large
    file/concession-expired file/concession-unused
"""


def test_the_rules_promised_are_shipped():
    assert set(SHIPPED.split()) <= set(BOOK.rules)


@pytest.mark.parametrize(
    ("ident", "level", "asked"),
    [
        ("bladder/into-body-room", "must", "at most 100 %"),
        ("bladder/into-cap-room", "must", "at most 100 %"),
    ],
)
def test_a_bladder_may_use_all_of_its_room(ident, level, asked):
    ask = BOOK[ident].ask
    assert ask is not None
    assert (BOOK[ident].level, limit_in_words(ask)) == (level, asked)
    assert BOOK[ident].turn == ("hold_back", "bladder")


def test_ids_are_the_same_exactly_and_bands_go_by_body_length():
    ask = BOOK["pair/parts"].ask
    assert ask is not None and ask.exactly
    assert BOOK["hold-back/by-body-length"].by == "body_length"
    assert BOOK["hold-back/by-body-length"].level == "should"


def _raised() -> set[str]:
    """The ids of file rules that stand in the source."""
    source = Path(__file__).parent.parent / "buildlint"
    found: set[str] = set()
    for path in source.rglob("*.py"):
        found.update(re.findall(r'"(file/[a-z-]+)"', path.read_text(encoding="utf-8")))
    return found


def test_every_mistake_in_a_file_has_a_rule_with_its_texts():
    assert _raised() <= {rule.id for rule in BOOK}


def test_every_rule_about_files_is_raised_somewhere():
    assert {rule.id for rule in BOOK if rule.id.startswith("file/")} <= _raised()


# --- check values: common practice, no published source; the body lengths are ours ---------------


def found(folder: Path, rule: str, **changes: Any) -> list[Finding]:
    """Give what a rule finds in the sound repository with changes; what holds is not told."""
    inspection = inspect_team([build_path(repository(folder, **changes))])
    return [finding for finding in inspection.findings if finding.rule == rule]


def hold_back(end: str, reading: str) -> dict[str, str]:
    return {f"{end}.left.hold_back": reading, f"{end}.right.hold_back": reading}


def test_6_4_mm_on_a_long_front_and_9_5_mm_on_a_rear_are_usual(tmp_path):
    """The sound repository: 6.4 mm in a body of 52 mm, 9.5 mm in one of 61 mm."""
    assert found(tmp_path / "a", "hold-back/by-body-length") == []
    assert found(tmp_path / "b", "hold-back/rear-by-length") == []


def test_none_on_a_short_front_is_usual(tmp_path):
    """0 mm in a body of 42 mm."""
    changes = {"car": {"front.body": "short"}, "build": hold_back("front", "0 mm")}
    assert found(tmp_path, "hold-back/by-body-length", **changes) == []


@pytest.mark.parametrize("end", ["front", "rear"])
def test_none_on_a_long_body_is_refused(tmp_path, end):
    rule = {"front": "hold-back/by-body-length", "rear": "hold-back/rear-by-length"}[end]
    findings = found(tmp_path, rule, build=hold_back(end, "0 mm"))
    assert [f.subject for f in findings] == [f"{end}.left", f"{end}.right"]
    assert {f.verdict for f in findings} == {"fails"}


def test_the_rears_hold_back_on_a_short_front_is_refused(tmp_path):
    """9.5 mm in a body of 42 mm: front and rear were swapped."""
    changes = {"car": {"front.body": "short"}, "build": hold_back("front", "9.5 mm")}
    findings = found(tmp_path, "hold-back/by-body-length", **changes)
    assert {f.verdict for f in findings} == {"fails"}


# A bladder that gives 310 mm^3 into the body. At the bench the shaft takes 9.6211 mm^2 times 30 mm,
# 288.6 mm^3; 6 K colder the oil takes 9000 * 8.992e-4 * 6 = 48.6 more: 337.2 with no hold-back,
# 337.2 - 61.6 = 275.6 with 6.4 mm.
_TIGHT = {
    "parts": {"bladder.tight.into_body": "310 mm^3 ± 3 %", "bladder.tight.into_cap": "500 mm^3"},
    "car": {"front.bladder": "tight"},
    "event": {"coldest": "14 degC ± 0.5 K"},
}
_BENCH = {"bench.temperature": "20 degC ± 0.5 K"}


def test_a_bladder_that_manages_with_6_4_mm_holds_there(tmp_path):
    assert found(tmp_path, "bladder/into-body-room", **_TIGHT, build=_BENCH) == []


def test_the_same_bladder_fails_with_none_for_it_must_follow_all_the_displacement(tmp_path):
    build = {**_BENCH, **hold_back("front", "0 mm")}
    findings = found(tmp_path, "bladder/into-body-room", **_TIGHT, build=build)
    assert [(f.subject, f.verdict, f.condition) for f in findings] == [
        ("front.left", "fails", "cold"),
        ("front.right", "fails", "cold"),
    ]
    for finding in findings:
        assert finding.value == pytest.approx(337.2 / 310, rel=1e-3)
        (figure,) = (c for c in finding.cure_figures if c.reading == "hold_back")
        assert figure.at_least is not None
        assert 0.0 < figure.at_least <= 6.4
        assert figure.unit == "mm"


def test_the_figure_that_is_offered_for_it_holds(tmp_path):
    build = {**_BENCH, **hold_back("front", "0 mm")}
    finding = found(tmp_path / "a", "bladder/into-body-room", **_TIGHT, build=build)[0]
    figure = next(c for c in finding.cure_figures if c.reading == "hold_back")
    build = {**_BENCH, **hold_back("front", f"{figure.at_least} mm")}
    assert found(tmp_path / "b", "bladder/into-body-room", **_TIGHT, build=build) == []


# An emulsion sealed at 6.4 mm: the shaft asks 9.6211 mm^2 times 6.4 mm, 61.6 mm^3 of the air, and
# at 38 degC the oil 9000 * 8.992e-4 * 18 = 145.7 more: 207.2.
def _emulsion(left: str, right: str) -> dict[str, dict[str, str]]:
    ends = {f"{e}.{s}.air": "1 ml" for e in ("front", "rear") for s in ("left", "right")}
    air = {"front.left.air": left, "front.right.air": right}
    return {"build": {"style": "emulsion", **ends, **air}}


def test_an_emulsion_with_more_air_on_one_side_is_told(tmp_path):
    """207.2 of 1000 and of 600 mm^3."""
    (finding,) = found(tmp_path, "pair/emulsion", **_emulsion("1 ml", "0.6 ml"))
    assert (finding.subject, finding.verdict, finding.condition) == ("front", "fails", "hot")
    assert finding.value == pytest.approx(207.2 / 600 - 207.2 / 1000, abs=1e-3)


def test_an_emulsion_with_nearly_the_same_air_on_both_sides_holds(tmp_path):
    """207.2 of 1000 and of 900 mm^3 are 2.3 parts in a hundred apart."""
    assert found(tmp_path, "pair/emulsion", **_emulsion("1 ml", "0.9 ml")) == []


# --- every rule has an example that it holds for, and one that it finds --------------------------

EXAMPLES = Path(__file__).parent.parent / "examples"

# Rules that no file in examples/ can break, and why.
NO_BAD_EXAMPLE = {
    "file/too-large": "it takes a file of a megabyte",
    "file/unreadable": "it takes a link, or a file without leave to read, which git does not keep",
}


@cache
def _found_in(folder: str) -> dict[str, set[tuple[str, str]]]:
    """Give for each build of a folder of examples the rules that find something, and as what."""
    found: dict[str, set[tuple[str, str]]] = {}
    for path in (build for build in builds() if build.parent.name == folder):
        findings = inspect_team([path], on=DAY).findings
        found[path.name] = {(f.rule, f.verdict) for f in findings if f.concession is None}
    return found


@cache
def _holding_in_saltmarsh() -> dict[str, set[str]]:
    """Give for each rule that holds on some damper of a Saltmarsh build those builds."""
    team = load_team(EXAMPLES / "saltmarsh")
    judge = Judge(BOOK)
    found: dict[str, set[str]] = {}
    for ident, path in team.by_id("build").items():
        judgements = list(judge.judge(dampers(team, team.file(path))))
        for rule in {j.rule.id for j in judgements}:
            if all(j.verdict == "holds" for j in judgements if j.rule.id == rule):
                found.setdefault(rule, set()).add(ident)
    return found


# Rules that hold on no Saltmarsh build, and why.
NO_GOOD_EXAMPLE: dict[str, str] = dict.fromkeys(
    ("like/length", "like/rebound", "like/hold-back", "like/parts"),
    "what is like another is a plan there, for another event; test_like.py has a twin",
)


@EVERY
def test_every_rule_has_a_good_example(rule: Rule):
    """A Saltmarsh build on which it holds at every corner that it speaks of, found by judging.

    For a rule about files: all of the team's files, none of which it finds anything in.
    """
    if rule.measure is None:
        found = inspect_team([EXAMPLES / "saltmarsh"], on=DAY)
        assert found.counts.builds >= 4
        assert rule.id not in {f.rule for f in found.in_files}
    elif rule.id in NO_GOOD_EXAMPLE:
        assert rule.id not in _holding_in_saltmarsh(), "it has one: take it off the list"
    else:
        assert _holding_in_saltmarsh().get(rule.id), "no Saltmarsh build on which it holds"


# Rules that no build breaks without breaking another, whose example shows both.
SHOWN_BY = {"pair/damping": "pair/parts"}


@EVERY
def test_every_rule_has_a_bad_example_of_its_name(rule: Rule):
    """GROUP.NAME.build.toml, in bad for a must, in should for a should, with its report."""
    shown_by = BOOK[SHOWN_BY.get(rule.id, rule.id)]
    folder, name = (
        {"must": "bad", "should": "should"}[shown_by.level],
        shown_by.id.replace("/", "."),
    )
    every = _found_in(folder)
    found = every.get(f"{name}.build.toml", every.get(f"{name}.bulid.toml"))
    if rule.id in NO_BAD_EXAMPLE:
        assert found is None, "it has one: take it off the list"
    else:
        assert found is not None, f"there is no examples/{folder}/{name}.build.toml"
        assert (rule.id, "fails") in found
        assert (EXAMPLES / folder / f"{name}.report.txt").is_file()


def test_every_example_has_the_name_of_a_rule():
    """One more for a rule has a third part in its name."""
    for path in (build for build in builds() if build.parent.name in ("bad", "should")):
        group, name, *more = path.name.split(".")[:-2]
        assert f"{group}/{name}" in BOOK.rules, path.name
        assert len(more) <= 1


def test_the_lists_of_exceptions_name_rules_that_there_are():
    assert {*NO_BAD_EXAMPLE, *NO_GOOD_EXAMPLE, *SHOWN_BY} <= set(BOOK.rules)
    assert all(ident.startswith("file/") for ident in NO_BAD_EXAMPLE)


_COULD_BE_BETTER = {("should", "fails"), ("must", "borderline")}


def test_every_bad_example_breaks_a_rule_of_its_level():
    """In bad a must fails; in should a should fails, or a must is borderline."""
    for name, found in _found_in("bad").items():
        assert any(BOOK[i].level == "must" and v == "fails" for i, v in found), name
    for name, found in _found_in("should").items():
        assert any((BOOK[i].level, v) in _COULD_BE_BETTER for i, v in found), name
        assert not any(BOOK[i].level == "must" and v == "fails" for i, v in found), name


def _shown(rule: Rule) -> Finding:
    """Return the figure past its limit that the rule's example shows."""
    name = SHOWN_BY.get(rule.id, rule.id)
    path = EXAMPLES / ("bad" if BOOK[name].level == "must" else "should")
    path /= f"{name.replace('/', '.')}.build.toml"
    findings = inspect_team([path], on=DAY).findings
    return next(f for f in findings if f.rule == rule.id and f.verdict == "fails")


def _has_a_limit(rule: Rule) -> bool:
    """Return whether the rule asks for a figure, not for a part or for what is so."""
    return rule.measure is not None and MEASURES[rule.measure].unit not in ("id", "yes", "step")


@pytest.mark.parametrize("rule", [*filter(_has_a_limit, BOOK)], ids=lambda rule: rule.id)
def test_every_limit_that_is_just_met_is_kept(rule: Rule):
    """Where the example's own figure is the limit it holds; a millionth further in it fails."""
    shown = _shown(rule)
    assert shown.value is not None
    key = next(iter(shown.limit)) if len(shown.limit) == 1 else "between"
    asked = {"id": rule.id, "title": "At the edge", "level": "should", "measure": rule.measure}
    asked |= dict.fromkeys(("source", "why", "cure"), "x")
    for fails in (False, True):
        texts = {}
        for name, limit in shown.limit.items():
            step = 1e-6 * max(abs(shown.value), abs(limit)) * fails
            past = shown.value < limit if name == "at_least" else abs(shown.value) > limit
            edge = shown.value + step if name == "at_least" else abs(shown.value) - step
            edge = edge if past else limit
            texts[name] = f"{edge * 100!r} %" if shown.unit == "1" else f"{edge!r} {shown.unit}"
        limits: Any = [*texts.values()] if key == "between" else texts[key]
        edge_rule = Rule.model_validate({**asked, "only": rule.only, key: limits})
        found = inspect_team([shown.path], rulebook=Rulebook({rule.id: edge_rule}), on=DAY).findings
        assert any(f.verdict == "fails" for f in found if f.subject == shown.subject) == fails

"""Cures: what is offered mends and makes nothing worse; what would mend is not missed.

Each figure that is offered is written into the files, which are then inspected again.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlint import inspect_team, load_team
from buildlint.judging.cures import _in_words, _nearest, cure
from buildlint.judging.finding import Cure, CureFigure, Finding
from buildlint.judging.inspection import Inspection
from buildlint.judging.judge import Judge
from buildlint.judging.rule import Ask, BandAsk, Rule
from buildlint.judging.rulebook import Rulebook, load_rulebook
from buildlint.measures.damper import Damper
from buildlint.measures.graph import stands_on
from tests.by_hand import bladder, by_hand
from tests.making import FEW, build_path, repository, with_reading, write
from tests.rules import rule_of

BOOK = load_rulebook()

Changes = dict[str, dict[str, Any]]


@pytest.fixture(scope="module")
def no_parts(tmp_path_factory: pytest.TempPathFactory) -> Any:
    return load_team(write(tmp_path_factory.mktemp("none"), {}))


def hold_back_of(found: Cure) -> tuple[float | None, float | None, str]:
    (figure,) = (f for f in found.figures if f.reading == "hold_back")
    assert figure.unit == "mm" and figure.end == "front"
    return figure.at_least, figure.at_most, figure.text


def test_a_must_is_mended_at_no_should_s_cost_where_that_can_be(no_parts: Any) -> None:
    """The room asks for 5.1 to 20.7 mm; a long front body is usual at 4.5 to 8.5."""
    found = cure(
        Judge(BOOK), BOOK["bladder/into-body-room"], "front", bladder(0, 240, 200), no_parts
    )
    assert hold_back_of(found)[2] == (
        "Holds with hold-back 5.1 mm to 20.7 mm, on both sides; "
        "the fewest shoulds fail with hold-back 5.1 mm to 8.5 mm."
    )


@pytest.mark.parametrize(
    ("rule", "damper", "least", "most", "words"),
    [
        # into the body 30 - 240/9.6211 = 5.055 mm at least, into the cap 200/9.6211 = 20.788
        ("bladder/into-body-room", (0.0, 240, 200), 5.1, 20.7, "5.1 mm to 20.7 mm"),
        # 100/9.6211 = 10.394
        ("bladder/into-cap-room", (15.0, 400, 100), 0.0, 10.3, "10.3 mm or less"),
        # 300/9.6211 is past the stroke of 30 mm
        ("bladder/into-body-room", (0.0, 240, 300), 5.1, 30.0, "5.1 mm or more"),
        # 49.2/9.6211 = 5.114: 5.1 and no other tenth
        ("bladder/into-body-room", (0.0, 240, 49.2), 5.1, 5.1, "5.1 mm, and no other"),
        # usual is 4.5 to 8.5 mm; the bladder lets only 67.5/9.6211 = 7.016 and less
        ("hold-back/by-body-length", (3.0, 400, 67.5), 4.5, 7.0, "4.5 mm to 7.0 mm"),
        ("hold-back/by-body-length", (12.0, 400, 67.5), 4.5, 7.0, "4.5 mm to 7.0 mm"),
        ("hold-back/in-stroke", (31.0, 400, 300), 0.0, 30.0, "any hold-back"),
    ],
)
def test_a_hold_back_is_offered_in_tenths(no_parts, rule, damper, least, most, words):
    hold_back, into_body, into_cap = damper
    pair = by_hand(
        hold_back=hold_back * 1e-3,
        bladder_into_body=into_body * 1e-9,
        bladder_into_cap=into_cap * 1e-9,
    )
    found = cure(Judge(BOOK), BOOK[rule], "front", pair, no_parts)
    assert hold_back_of(found)[:2] == (least, most)
    assert hold_back_of(found)[2].startswith(f"Holds with hold-back {words}") or (
        words == "any hold-back" and "any hold-back" in hold_back_of(found)[2]
    )
    assert "on both sides" in hold_back_of(found)[2]


def test_a_tolerance_draws_the_range_in(no_parts):
    """± 0.3 mm: u is 0.3/sqrt(3) = 0.1732 mm, 95 % is 1.6449 of it: 0.285 mm.

    From 5.055 + 0.285 = 5.340 to 20.788 - 0.285 = 20.503 mm.
    """
    pair = by_hand(hold_back=0.0, bladder_into_body=240e-9, bladder_into_cap=200e-9)
    pair = [replace(d, spread={"hold_back": (0.0, 0.3e-3)}) for d in pair]
    found = cure(Judge(BOOK), BOOK["bladder/into-body-room"], "front", pair, no_parts)
    assert hold_back_of(found)[:2] == (5.4, 20.5)


def test_the_range_ends_where_the_limiter_lets_the_shaft_go(no_parts):
    """10 mm of limiter leave 20: from 20 - 150/9.6211 = 4.409 mm up to 20."""
    pair = by_hand(hold_back=0.0, limiter=10e-3, bladder_into_body=150e-9, bladder_into_cap=3e-7)
    found = cure(Judge(BOOK), BOOK["bladder/into-body-room"], "front", pair, no_parts)
    assert hold_back_of(found)[:2] == (4.5, 20.0)


def test_a_limiter_is_solved_for_too(no_parts):
    """fit/limiter-in-stroke asks for 1 mm: 30 - 1 = 29 mm is the most."""
    rule = BOOK["fit/limiter-in-stroke"]
    (figure,) = cure(Judge(BOOK), rule, "front", by_hand(limiter=29.5e-3), no_parts).figures
    assert (figure.reading, figure.at_least, figure.at_most) == ("limiter", 0.0, 29.0)


def test_a_rule_that_turns_nothing_offers_nothing(no_parts):
    pair = by_hand(hold_back=5e-3, bladder_into_body=150e-9, bladder_into_cap=100e-9)
    rule = BOOK["bladder/into-body-room"].model_copy(update={"turn": ()})
    assert cure(Judge(BOOK), rule, "front", pair, no_parts).figures == ()


def test_where_there_is_no_window_it_is_said_what_other_parts_would_have_to_give(no_parts):
    """Smallest 30 - 150/9.6211 = 14.409, largest 100/9.6211 = 10.394 mm."""
    pair = by_hand(hold_back=5e-3, bladder_into_body=150e-9, bladder_into_cap=100e-9)
    found = cure(Judge(BOOK), BOOK["bladder/into-body-room"], "front", pair, no_parts)
    assert found.figures == ()
    assert found.reason == "Fit other parts: the shaft needs 14.4 mm, the cap takes 10.4 mm."


def test_of_two_unlike_sides_the_greater_need_and_the_smaller_cap_are_told(no_parts):
    """Right, a stroke of 32 mm: 32 - 150/9.6211 = 16.409; left, a cap of 100: 10.394 mm."""
    left, right = by_hand(hold_back=5e-3, bladder_into_body=150e-9, bladder_into_cap=100e-9)
    pair = [left, replace(right, stroke=32e-3, bladder_into_cap=120e-9)]
    found = cure(Judge(BOOK), BOOK["bladder/into-body-room"], "front", pair, no_parts)
    assert found.reason == "Fit other parts: the shaft needs 16.4 mm, the cap takes 10.4 mm."


def test_where_growth_alone_fills_the_cap_it_is_said_so(no_parts):
    """From -10 to 60 degC: no bench between has room for 100 mm^3 when hot and cold."""
    event = {"coldest": 263.15, "hottest": 333.15, "event_altitude": 0.0, "event": "e"}
    pair = by_hand(hold_back=5e-3, bladder_into_body=400e-9, bladder_into_cap=100e-9, **event)
    found = cure(Judge(BOOK), BOOK["bladder/into-cap-room"], "front", pair, no_parts)
    assert found.figures == ()
    assert found.reason.startswith("Fit another bladder: oil and air alone")


def test_where_none_is_sure_the_one_that_comes_nearest_is_told_as_that(no_parts):
    """Smallest 5.055, largest 48.7/9.6211 = 5.062 mm, read to 0.3: a coin for each end."""
    pair = by_hand(hold_back=0.0, bladder_into_body=240e-9, bladder_into_cap=55e-9)
    pair = [replace(d, spread={"hold_back": (0.0, 0.6e-3)}) for d in pair]
    found = cure(Judge(BOOK), BOOK["bladder/into-body-room"], "front", pair, no_parts)
    assert found.figures == ()
    assert re.search(
        r"Of all hold-backs 5\.[34] mm comes nearest: it holds \d+ times in 20\.", found.reason
    )


def test_both_sides_are_turned_together(no_parts):
    left, right = by_hand(hold_back=0.0, bladder_into_body=240e-9, bladder_into_cap=200e-9)
    pair = [left, with_reading(right, "hold_back", 8e-3)]
    found = cure(Judge(BOOK), BOOK["bladder/into-body-room"], "front.left", pair, no_parts)
    assert hold_back_of(found)[:2] == (5.1, 20.7)


# --- rules made for it ---------------------------------------------------------------------------


def own(ident: str, level: str, measure: str = "hold_back", **ask: float) -> Rule:
    turn = [] if measure == "rebound" else ["hold_back"]
    return rule_of(measure, Ask(**ask), id=ident, level=level, turn=turn)


def cured(no_parts: Any, pair: list[Damper], *rules: Rule) -> list[Cure]:
    judge = Judge(Rulebook({rule.id: rule for rule in rules}))
    return [cure(judge, rule, "front", pair, no_parts) for rule in rules]


@pytest.mark.parametrize(
    ("now", "words"),
    [(4.0, "hold-back 3.0 mm or less"), (7.0, "hold-back 8.1 mm or more")],
)
def test_of_two_ranges_the_nearer_is_offered(no_parts, now, words):
    """Up to 8 mm no more than 3 are let through, past that anything is."""
    bands = (BandAsk(8e-3, Ask(at_most=3e-3)), BandAsk(None, Ask(at_most=1.0)))
    rule = rule_of("hold_back", by="hold_back", bands=bands, turn=["hold_back"], level="must")
    (found,) = cured(no_parts, by_hand(hold_back=now * 1e-3), rule)
    assert hold_back_of(found)[2] == f"Holds with {words}, on both sides."


def test_where_two_musts_never_hold_together_nothing_comes_nearest(no_parts):
    """At least 6 and at most 5 mm, of a hold-back that is known exactly."""
    pair = by_hand(hold_back=5.5e-3)
    rules = (own("a/least", "must", at_least=6e-3), own("a/most", "must", at_most=5e-3))
    for found in cured(no_parts, pair, *rules):
        assert found.figures == ()
        assert found.reason == "No other hold-back lets every must hold: fit other parts."


def test_two_findings_of_one_end_never_advise_against_each_other(no_parts):
    """At most 5 mm the one, at least 8 the other: no hold-back mends one without the other."""
    pair = by_hand(hold_back=6e-3)
    most, least = own("a/most", "must", at_most=5e-3), own("b/least", "must", at_least=8e-3)
    one, two = cured(no_parts, pair, most, least)
    assert one.figures == two.figures == ()
    assert one.reason and two.reason
    # of two habits one is mended, and the other does not ask for the contrary
    most, least = own("a/most", "should", at_most=5e-3), own("b/least", "should", at_least=8e-3)
    one, two = cured(no_parts, pair, most, least)
    assert [len(each.figures) for each in (one, two)] == [1, 0]
    # what both ask is offered for both
    least = own("b/least", "should", at_least=3e-3)
    pair = by_hand(hold_back=6e-3)
    low = own("c/low", "should", measure="hold_back_share", at_most=0.1)
    found = cured(no_parts, pair, most, least, low)
    assert hold_back_of(found[0]) == hold_back_of(found[2])
    assert hold_back_of(found[0])[:2] == (0.0, 3.0)


def test_a_should_is_left_failing_by_what_mends_a_must(no_parts):
    must, habit = own("a/must", "must", at_least=5e-3), own("b/habit", "should", at_most=1e-3)
    first, _ = cured(no_parts, by_hand(hold_back=2e-3), must, habit)
    assert hold_back_of(first)[:2] == (5.0, 30.0)


def test_no_cure_leaves_a_must_unchecked_that_was_checked(no_parts):
    """Sealed anew the rebound is to be read anew: a must on it would be lost."""
    must = own("a/must", "must", at_least=5e-3)
    rebound = own("b/rebound", "must", measure="rebound", at_least=0.3)
    first, _ = cured(no_parts, by_hand(hold_back=2e-3, rebound=0.5), must, rebound)
    assert first.figures == ()
    # where it was not read, nothing is lost; a should may be
    first, _ = cured(no_parts, by_hand(hold_back=2e-3), must, rebound)
    assert hold_back_of(first)[:2] == (5.0, 30.0)
    should = rebound.model_copy(update={"level": "should"})
    first, _ = cured(no_parts, by_hand(hold_back=2e-3, rebound=0.5), must, should)
    assert hold_back_of(first)[:2] == (5.0, 30.0)


# --- written into the files ----------------------------------------------------------------------


@st.composite
def garages(draw: Any) -> Changes:
    """Small drawers, and a front end made of some of what is in them."""

    def tenths(least: float, most: float) -> float:
        return draw(st.integers(round(least * 10), round(most * 10))) / 10

    parts: dict[str, Any] = {"body.long.piston": f"{draw(st.sampled_from([15.5, 15.9]))} mm"}
    for i in range(draw(st.integers(1, 3))):
        parts[f"spring.s{i}.rate"] = f"{tenths(0.3, 2.5)} N/mm"
        parts[f"spring.s{i}.free_length"] = f"{tenths(55, 85)} mm"
        parts[f"spring.s{i}.solid_length"] = f"{tenths(15, 45)} mm"
    for i in range(draw(st.integers(1, 3))):
        count, size = draw(st.integers(2, 8)), tenths(0.9, 2.2)
        wide = draw(st.sampled_from([15.5, 15.7, 15.9, 15.99]))
        parts[f"piston.p{i}.diameter"] = f"{wide} mm"
        parts[f"piston.p{i}.thickness"] = f"{tenths(2, 3)} mm"
        parts[f"piston.p{i}.holes"] = f"{count} x {size} mm"
        if draw(st.booleans()):
            parts[f"piston.p{i}.taper_to"] = f"{tenths(0.9, 2.2)} mm"
    for i in range(draw(st.integers(1, 3))):
        parts[f"oil.o{i}.viscosity"] = f"{draw(st.integers(10, 150)) * 10} cSt"
    for i in range(draw(st.integers(1, 3))):
        parts[f"bladder.b{i}.into_body"] = f"{draw(st.integers(15, 60)) * 10} mm^3"
        parts[f"bladder.b{i}.into_cap"] = f"{draw(st.integers(15, 60)) * 10} mm^3"
    build: dict[str, Any] = {
        "front.spring": "s0",
        "front.piston": "p0",
        "front.oil": "o0",
        "front.bladder": "b0",
        "front.collar": f"{tenths(0, 12)} mm",
        "front.limiter": draw(st.sampled_from([None, "2 mm", "29.5 mm"])),
    }
    hold_back = f"{tenths(0, 20)} mm"
    build |= {"front.left.hold_back": hold_back, "front.right.hold_back": hold_back}
    return {"parts": parts, "build": build}


FITTED = {
    "front": {"spring": "s0", "piston": "p0", "oil": "o0", "bladder": "b0"},
    "rear": {"spring": "longer", "piston": "four", "oil": "o450", "bladder": "deep"},
}
SOUND = {
    "spring": {"soft", "longer"},
    "piston": {"four"},
    "oil": {"o450"},
    "bladder": {"deep"},
}


def others(changes: Changes, kind: str, end: str) -> list[str]:
    """Give the ids in the drawers besides the one that is fitted."""
    made = {key.split(".")[1] for key in changes["parts"] if key.startswith(f"{kind}.")}
    return sorted((made | SOUND[kind]) - {FITTED[end][kind]})


def inspected(folder: Path, changes: Changes, end: str = "", **keys: str) -> Inspection:
    """Inspect the garage's build with some keys of an end written anew, for both its sides."""
    build = dict(changes.get("build", {}))
    for key, text in keys.items():
        if key == "bench_temperature":
            build["bench.temperature"] = text
            continue
        build[f"{end}.{key}"] = text
        build |= {f"{end}.{side}.{key}": None for side in ("left", "right")}
        if key == "hold_back":  # sealed anew, it is to be read anew
            build |= {f"{end}{side}.rebound": None for side in ("", ".left", ".right")}
    return inspect_team([build_path(repository(folder, **{**changes, "build": build}))])


def worst(found: Inspection) -> dict[tuple[str, str], Finding]:
    """Give the finding of each rule at each end (and on the car) that is least sure."""
    by_end: dict[tuple[str, str], Finding] = {}
    for finding in found.drafts:
        key = (finding.rule, finding.subject.split(".")[0])
        was = by_end.get(key)
        if was is None or (finding.chance or 0.0) < (was.chance or 0.0):
            by_end[key] = finding
    return by_end


def checked(found: Inspection) -> set[tuple[str, str]]:
    """Give what is judged: rules at ends."""
    (judged,) = found.builds
    told = [(f.rule, f.subject) for f in found.drafts]
    return {
        (rule, end)
        for rule, subject in (*judged.held, *told)
        for end in (("front", "rear") if subject == "car" else (subject.split(".")[0],))
    }


def wrong_with(
    finding: Finding, end: str, before: Inspection, after: Inspection, moved: set[str]
) -> str:
    """Say what is wrong with a cure; nothing where it mends and no must is worse off."""
    was, now = worst(before), worst(after)
    for (ident, where), bad in now.items():
        rule = BOOK[ident]
        here = where in (end, "car")
        if ident == finding.rule and here:
            return f"{ident} {bad.verdict} at {where}"
        if rule.level != "must":
            continue
        entered = _entered(rule, moved)
        if here and entered:
            return f"{ident} {bad.verdict} at {where}"
        then = was.get((ident, where)) or was.get((ident, "car"))
        least = min(then.chance or 0.0, 0.95) if then is not None else 0.95
        if (bad.chance or 0.0) < least - 1e-9:
            return f"{ident} falls to {bad.chance} at {where}"
    lost = {
        (ident, where)
        for ident, where in checked(before) - checked(after)
        if BOOK[ident].level == "must" and where == end
    }
    return f"no longer checked: {lost}" if lost else ""


PARTS_OF = {
    "bladder": {"bladder_bore", "bladder_into_body", "bladder_into_cap"},
    "spring": {"spring_rate", "free_length", "solid_length"},
    "piston": {"piston_diameter", "piston_thickness", "holes", "taper_to"},
    "oil": {"viscosity_given", "density", "expansion"},
}


def _entered(rule: Rule, moved: set[str]) -> bool:
    readings = set().union(*(PARTS_OF.get(name, {name}) for name in moved))
    return not readings.isdisjoint(stands_on(rule.measure or ""))


STEP = {"hold_back": 0.1, "limiter": 0.1, "collar": 0.5}
_NAMED = re.compile(r'"(\w+)" with (hold-back ([\d.]+) mm|"(\w+)")')


def offered(figure: CureFigure) -> Iterator[dict[str, str]]:
    """Give the keys of the build that a cure would have written anew."""
    if figure.reading == "bench_temperature":
        held = re.search(r"hold-back ([\d.]+) mm", figure.text)
        assert held is not None and "under [bench]" in figure.text
        yield {"bench_temperature": f"{figure.at_least} degC", "hold_back": f"{held[1]} mm"}
    elif figure.choices:
        assert 1 <= len(figure.choices) <= 3
        pairs = _NAMED.findall(figure.text)
        for ident, _, hold_back, piston in pairs:
            yield {figure.reading: ident} | (
                {"hold_back": f"{hold_back} mm"} if hold_back else {"piston": piston}
            )
        for ident in figure.choices if not pairs else ():
            yield {figure.reading: ident}
    else:
        for value in {figure.at_least, figure.at_most}:
            yield {figure.reading: f"{value} {figure.unit}"}


def outside(figure: CureFigure) -> Iterator[dict[str, str]]:
    """Give the figures a step beyond either end of a range, where there are any."""
    step = STEP.get(figure.reading)
    if step is None or figure.at_least is None or figure.at_most is None:
        return
    if figure.at_least > 0.0:
        yield {figure.reading: f"{figure.at_least - step:.6g} mm"}
    if "or more" not in figure.text and "any" not in figure.text:
        yield {figure.reading: f"{figure.at_most + step:.6g} mm"}


@FEW
@given(changes=garages())
def test_what_is_offered_mends_once_it_is_written_and_a_step_outside_does_not(
    tmp_path_factory, changes
):
    folder = tmp_path_factory.mktemp("garage")
    before = inspected(folder, changes)
    assert before.in_files == []
    for finding in before.drafts:
        for figure in finding.cure_figures:
            left: set[tuple[str, str]] = set()
            for keys in offered(figure):
                after = inspected(folder, changes, figure.end, **keys)
                wrong = wrong_with(finding, figure.end, before, after, set(keys))
                assert not wrong, f"{finding.rule} with {keys}: {wrong}"
                left |= worst(after).keys()
            for keys in outside(figure):
                after = inspected(folder, changes, figure.end, **keys)
                wrong = wrong_with(finding, figure.end, before, after, set(keys))
                # what fails beside a should is mended together with it
                also = (worst(after).keys() & worst(before).keys()) - left
                assert wrong or (finding.level == "should" and also), (
                    f"{finding.rule} with {keys} holds too, {figure.text}"
                )


@FEW
@given(changes=garages())
def test_where_no_part_is_named_none_of_the_drawers_mends_it(tmp_path_factory, changes):
    """Every other id is written into the file: the rule does not hold, or a must is worse off."""
    folder = tmp_path_factory.mktemp("garage")
    before = inspected(folder, changes)
    failing = {f.rule for f in before.drafts if f.level == "should"}
    for finding in before.drafts:
        rule = BOOK[finding.rule]
        if not rule.turn:
            continue
        assert finding.cure_figures or finding.no_figure, "either a cure or why there is none"
        if rule.level == "should" and len(failing) > 1:
            continue  # what mends one may be the ruin of the other
        ends = ["front", "rear"] if finding.subject == "car" else [finding.subject.split(".")[0]]
        named = {(f.reading, f.end) for f in finding.cure_figures}
        for kind in set(rule.turn) & set(SOUND):
            for end in ends:
                for ident in others(changes, kind, end) if (kind, end) not in named else ():
                    after = inspected(folder, changes, end, **{kind: ident})
                    wrong = wrong_with(finding, end, before, after, {kind})
                    assert wrong, f"{finding.rule} would hold with {kind} {ident} at the {end}"


# --- two readings together -----------------------------------------------------------------------


def mends_when_written(folder: Path, changes: Changes, finding: Finding) -> list[set[str]]:
    """Write down each cure of a finding; give which keys each turns."""
    before = inspected(folder, changes)
    turned = []
    for figure in finding.cure_figures:
        for keys in offered(figure):
            after = inspected(folder, changes, figure.end, **keys)
            assert not wrong_with(finding, figure.end, before, after, set(keys)), (
                keys,
                figure.text,
            )
            turned.append(set(keys))
    return turned


def of_rule(folder: Path, changes: Changes, rule: str) -> Finding:
    return next(f for f in inspected(folder, changes).drafts if f.rule == rule)


def test_another_bladder_is_offered_with_a_hold_back_where_neither_does_alone(tmp_path):
    """The shaft takes 288.6 mm^3: "deep" has 260 in all, whatever is held back.

    Of "even" the 250 mm^3 into the body ask for 4.0 mm of hold-back and more, not for 0.2 mm.
    """
    parts = {
        "bladder.deep.into_body": "120 mm^3",
        "bladder.deep.into_cap": "140 mm^3",
        "bladder.even.into_body": "250 mm^3",
        "bladder.even.into_cap": "420 mm^3",
    }
    held = {f"front.{side}.hold_back": "0.2 mm" for side in ("left", "right")}
    changes = {"parts": parts, "build": held}
    finding = of_rule(tmp_path, changes, "bladder/into-body-room")
    assert mends_when_written(tmp_path, changes, finding) == [{"bladder", "hold_back"}]
    (figure,) = finding.cure_figures
    assert figure.choices == ("even",)
    assert 'another bladder at the front: "even" with hold-back ' in figure.text
    assert figure.text.endswith("(see that it fits this bore).")


def test_three_parts_are_named_at_most(tmp_path):
    parts = {"bladder.deep.into_body": "120 mm^3"}
    parts |= {f"bladder.{name}.into_cap": "500 mm^3" for name in ("a", "b", "c", "d")}
    parts |= {f"bladder.{name}.into_body": "480 mm^3" for name in ("a", "b", "c", "d")}
    finding = of_rule(tmp_path, {"parts": parts}, "bladder/into-body-room")
    (figure,) = (f for f in finding.cure_figures if f.reading == "bladder" and f.end == "front")
    assert figure.choices == ("a", "b", "c")


@pytest.mark.parametrize(
    ("bore", "choices", "text"),
    [
        ("16 mm", ("deep",), 'another bladder at the front: "deep".'),
        ("15.6 mm", ("deep",), 'another bladder at the front: "deep".'),
        ("13 mm", (), ""),
        (None, ("deep",), 'another bladder at the front: "deep" (see that it fits this bore).'),
    ],
)
def test_a_bladder_of_another_bore_is_never_offered(tmp_path, bore, choices, text):
    """The body's bore is 16 mm; the one that is fitted says that it is made for that."""
    parts = {
        "bladder.deep.bore": bore,
        "bladder.shallow.bore": "16 mm",
        "bladder.shallow.into_body": "480 mm^3",
        "bladder.shallow.into_cap": "40 mm^3",
    }
    changes = {"parts": parts, "car": {"front.bladder": "shallow"}}
    finding = of_rule(tmp_path, changes, "bladder/into-cap-room")
    offered_bladders = [c for c in finding.cure_figures if c.reading == "bladder"]
    assert tuple(i for c in offered_bladders for i in c.choices) == choices
    assert all(text in c.text for c in offered_bladders)


def test_a_bladder_for_another_bore_does_not_fit(tmp_path):
    changes = {"parts": {"bladder.deep.bore": "13 mm"}}
    finding = of_rule(tmp_path, changes, "fit/bladder-in-body")
    assert finding.verdict == "fails"
    assert finding.message == (
        "the bladder is made for a bore of 13.0 mm, the body's is 16.0 mm: 3.0 mm apart, "
        "at most 0.5 mm"
    )


def test_another_bench_is_offered_where_no_part_does(tmp_path):
    """Built at 38 degC for a day of 2 to 8 degC: the oil shrinks by more than the bladder has."""
    changes = {
        "parts": {"bladder.deep.into_body": "260 mm^3", "bladder.deep.into_cap": "190 mm^3"},
        "build": {
            "bench.temperature": "38 degC",
            **{f"front.{side}.hold_back": "6 mm" for side in ("left", "right")},
            **{f"rear.{side}.hold_back": "6 mm" for side in ("left", "right")},
        },
        "event": {"coldest": "2 degC", "hottest": "8 degC", "altitude": "0 m"},
    }
    finding = of_rule(tmp_path, changes, "bladder/into-body-room")
    assert mends_when_written(tmp_path, changes, finding) == [{"bench_temperature", "hold_back"}]
    (figure,) = finding.cure_figures
    assert "then write that temperature under [bench]" in figure.text
    # looked for with the hold-back midway: 2 degC warmer none does, in whole millimetres
    warmer = f"{(figure.at_least or 0.0) + 2.0} degC"
    for hold_back in range(30):
        build = {"bench_temperature": warmer, "hold_back": f"{hold_back} mm"}
        found = worst(inspected(tmp_path / f"{hold_back}", changes, "front", **build))
        assert any(BOOK[rule].level == "must" and end == "front" for rule, end in found)


def test_another_oil_is_offered_with_another_piston_where_neither_does_alone(tmp_path):
    """Oil 25 times too thick through holes far too small: either alone is far from enough."""
    parts = {
        "oil.tar.viscosity": "3000 cSt",
        "oil.o450.viscosity": "2500 cSt",
        "oil.thin.viscosity": "450 cSt",
        "piston.tight.diameter": "15.9 mm",
        "piston.tight.thickness": "2.5 mm",
        "piston.tight.holes": "4 x 1 mm",
    }
    build = {"front.piston": "tight", "front.oil": "tar", "rear.oil": "thin"}
    changes = {"parts": parts, "build": build}
    finding = of_rule(tmp_path, changes, "damping/ratio")
    assert {"oil", "piston"} in mends_when_written(tmp_path, changes, finding)
    assert "Then write the label on the cap again." in finding.cure_figures[0].text


@pytest.mark.parametrize("labelled", ["left", "right"])
def test_where_one_cap_alone_has_a_label_the_cure_says_to_write_it_again(tmp_path, labelled):
    parts = {"oil.tar.viscosity": "5000 cSt"}
    build = {"front.oil": "tar", "front.label": None, f"front.{labelled}.label": "tar four"}
    finding = of_rule(tmp_path, {"parts": parts, "build": build}, "damping/ratio")
    (oil,) = (c.text for c in finding.cure_figures if c.reading == "oil")
    assert oil.endswith("Then write the label on the cap again.")


@pytest.mark.parametrize(
    ("reading", "low", "high", "words"),
    [
        ("hold_back", 4.5, 8.5, "hold-back 4.5 mm to 8.5 mm"),
        ("hold_back", 4.55, 10.0, "hold-back 4.55 mm to 10.0 mm"),
        ("hold_back", 0.0, 8.5, "hold-back 8.5 mm or less"),
        ("hold_back", 4.5, 30.0, "hold-back 4.5 mm or more"),
        ("hold_back", 4.5, 4.5, "hold-back 4.5 mm, and no other"),
        ("hold_back", 0.0, 0.0, "no hold-back"),
        ("hold_back", 0.0, 30.0, "any hold-back"),
        ("collar", 0.0, 0.0, "the collar backed right off"),
    ],
)
def test_a_range_is_said_as_a_builder_would(reading, low, high, words):
    assert _in_words(reading, (low * 1e-3, high * 1e-3), (0.0, 30e-3)) == words


def test_the_nearest_range_is_that_whose_end_is_nearest():
    assert _nearest([(0.0, 5.0), (8.0, 9.0)], 6.0) == (0.0, 5.0)
    assert _nearest([(0.0, 3.0), (8.0, 20.0)], 6.0) == (8.0, 20.0)
    assert _nearest([(0.0, 3.0), (4.0, 9.0)], 6.0) == (4.0, 9.0)
    assert _nearest([], 6.0) is None

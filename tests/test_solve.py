"""Cures as figures: what is offered mends and makes nothing worse; none is missed that there is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from buildlint.plans import CONDITIONS
from buildlint.solve import cures
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from buildlint import figures, inspect
from buildlint.damper import Damper
from buildlint.finding import Cure, CureFigure, Finding
from buildlint.inspection import Inspection
from buildlint.judging.judge import Judge, Judgement
from buildlint.measures import MEASURES, plan
from buildlint.rule import Rule
from tests.making import build_path, dampers, pairs, repository, sides, with_reading
from tests.wanting import BOOK, Empty, by_hand, with_hold_back

JUDGE = Judge(BOOK)


TURNED = [rule for rule in BOOK.measured() if "hold_back" in rule.turn]


_BADNESS = {"holds": 0, "not judged": 1, "doubtful": 2, "fails": 3}


def worst(rule: Rule, pair: Sequence[Damper]) -> int:
    return max((_BADNESS[j.verdict] for j in JUDGE.one(rule, pair)), default=0)


def musts_besides(rule: Rule) -> list[Rule]:
    """The other rules that must hold and that the hold-back has a say in."""
    return [
        other
        for other in BOOK.measured()
        if other.level == "must"
        and other.id != rule.id
        and any("hold_back" in plan(other.measure or "", c).inputs for c in CONDITIONS)
    ]


def mends(rule: Rule, pair: Sequence[Damper], turned: Sequence[Damper]) -> bool:
    """Whether the rule holds after the turn, and no other must is worse off for it.

    One that is in doubt or fails already may be left in doubt, never failing.
    """
    if worst(rule, turned) > _BADNESS["not judged"]:
        return False
    for other in musts_besides(rule):
        before, after = worst(other, pair), worst(other, turned)
        allowed = _BADNESS["doubtful"] if before >= _BADNESS["doubtful"] else 1
        if after > allowed:
            return False
    return True


def findings(pair: Sequence[Damper]) -> list[Judgement]:
    found = [judgement for rule in TURNED for judgement in JUDGE.one(rule, pair)]
    return [j for j in found if j.verdict in ("fails", "doubtful")]


def solved(judgement: Judgement, pair: Sequence[Damper]) -> Cure:
    return cures(JUDGE, judgement, pair, Empty())


def offered(cure: Cure) -> CureFigure | None:
    return next((f for f in cure.figures if f.reading == "hold_back"), None)


@settings(max_examples=25, suppress_health_check=[HealthCheck.too_slow])
@given(pair=pairs(), share=st.floats(0.0, 1.0))
def test_a_figure_offered_mends_at_both_its_ends_and_between(pair, share):
    for judgement in findings(pair):
        figure = offered(solved(judgement, pair))
        if figure is None:
            continue
        assert figure.unit == "mm"
        assert figure.at_least is not None and figure.at_most is not None
        between = figure.at_least + share * (figure.at_most - figure.at_least)
        middle = (figure.at_least + figure.at_most) / 2
        for value in (figure.at_least, middle, between, figure.at_most):
            assert mends(judgement.rule, pair, with_hold_back(pair, value)), (
                judgement.rule.id,
                value,
            )


@settings(max_examples=25, suppress_health_check=[HealthCheck.too_slow])
@given(pair=pairs(), tenths=st.lists(st.integers(0, 450), min_size=25, max_size=25))
def test_where_none_is_offered_the_reason_is_said_and_a_search_finds_none_either(pair, tenths):
    """Looked for at tenths of a millimetre within the stroke, as the figures are offered in."""
    left = min(damper.stroke - damper.limiter for damper in pair) * 1e3
    for judgement in findings(pair):
        cure = solved(judgement, pair)
        if offered(cure) is not None:
            assert cure.reason == ""
            continue
        assert cure.reason
        for tenth in tenths:
            if tenth / 10 <= left:
                turned = with_hold_back(pair, tenth / 10)
                assert not mends(judgement.rule, pair, turned), (judgement.rule.id, tenth)


@settings(max_examples=25, suppress_health_check=[HealthCheck.too_slow])
@given(damper=dampers())
def test_a_figure_lies_within_the_stroke_that_the_limiter_leaves(damper):
    pair = sides(damper)
    for judgement in findings(pair):
        figure = offered(solved(judgement, pair))
        if figure is not None:
            assert figure.at_least is not None and figure.at_most is not None
            left = (damper.stroke - damper.limiter) * 1e3
            assert 0.0 <= figure.at_least <= figure.at_most <= left + 1e-9


def cured(rule: str, pair: Sequence[Damper]) -> tuple[Judgement, Cure]:
    (judgement,) = JUDGE.one(BOOK[rule], pair)
    return judgement, solved(judgement, pair)


def test_the_range_is_between_the_smallest_and_the_largest_hold_back():
    """Into the body: 30 - 240/9.6211 = 5.055 mm, offered as 5.1; into the cap 200/9.6211 = 20.788,

    offered as 20.7.
    """
    pair = by_hand(hold_back=0.0, bladder_into_body=240e-9, bladder_into_cap=200e-9)
    judgement, cure = cured("bladder/into-body-room", pair)
    assert judgement.verdict == "fails"
    figure = offered(cure)
    assert figure is not None
    assert (figure.at_least, figure.at_most) == (5.1, 20.7)
    assert "5.1 mm or more" in figure.text and "up to 20.7 mm" in figure.text


def test_tolerances_draw_the_range_in():
    """± 0.3 mm on the hold-back: 5.055 + 0.3 = 5.355, offered as 5.4; 20.788 - 0.3: 20.4."""
    pair = by_hand(hold_back=0.0, bladder_into_body=240e-9, bladder_into_cap=200e-9)
    spread = {"hold_back": (0.0, 0.3e-3)}
    figure = offered(cured("bladder/into-body-room", [replace(d, spread=spread) for d in pair])[1])
    assert figure is not None
    assert (figure.at_least, figure.at_most) == (5.4, 20.4)


def test_a_range_that_begins_at_nothing_is_said_as_so_much_or_less():
    """Into the cap 100/9.6211 = 10.394 mm; the room into the body does for any."""
    pair = by_hand(hold_back=15e-3, bladder_into_body=400e-9, bladder_into_cap=100e-9)
    figure = offered(cured("bladder/into-cap-room", pair)[1])
    assert figure is not None
    assert (figure.at_least, figure.at_most) == (0.0, 10.3)
    assert "10.3 mm or less" in figure.text


def test_where_the_rooms_leave_no_window_the_reason_names_both_ends():
    """Smallest 30 - 150/9.6211 = 14.409, largest 100/9.6211 = 10.394 mm."""
    pair = by_hand(hold_back=5e-3, bladder_into_body=150e-9, bladder_into_cap=100e-9)
    judgement, cure = cured("bladder/into-body-room", pair)
    assert judgement.verdict == "fails"
    assert offered(cure) is None
    assert "14.4 mm" in cure.reason and "10.4 mm" in cure.reason


def test_a_window_narrower_than_a_tenth_is_offered_in_hundredths():
    """Smallest 30 - 240/9.6211 = 5.055, largest 48.9/9.6211 = 5.083 mm: 5.06 up to 5.08."""
    pair = by_hand(hold_back=0.0, bladder_into_body=240e-9, bladder_into_cap=48.9e-9)
    figure = offered(cured("bladder/into-body-room", pair)[1])
    assert figure is not None
    assert (figure.at_least, figure.at_most) == (5.06, 5.08)


def test_both_sides_are_turned_together():
    """Left and right 8 mm apart: the figure for the left mends their difference too."""
    left, right = by_hand(hold_back=0.0, bladder_into_body=240e-9, bladder_into_cap=200e-9)
    right = with_reading(right, "hold_back", 8e-3)
    (bad,) = [
        j for j in JUDGE.one(BOOK["bladder/into-body-room"], (left, right)) if j.verdict == "fails"
    ]
    figure = offered(solved(bad, (left, right)))
    assert figure is not None and figure.at_least is not None
    assert "both sides" in figure.text
    turned = with_hold_back((left, right), figure.at_least)
    assert worst(BOOK["pair/hold-back"], turned) == 0


def test_a_rule_that_turns_nothing_offers_nothing():
    pair = by_hand(hold_back=5e-3, bladder_into_body=150e-9, bladder_into_cap=100e-9)
    rule = replace(BOOK["bladder/into-body-room"], turn=())
    (judgement,) = JUDGE.one(rule, pair)
    assert judgement.verdict == "fails"
    assert solved(judgement, pair) == Cure()


def test_a_limiter_is_solved_for_too():
    """fit/limiter-in-stroke asks for 1 mm: 30 - 1 = 29 mm is the most."""
    pair = by_hand(limiter=29.5e-3)
    judgement, cure = cured("fit/limiter-in-stroke", pair)
    assert judgement.verdict == "fails"
    (figure,) = cure.figures
    assert (figure.reading, figure.at_least, figure.at_most) == ("limiter", 0.0, 29.0)


@pytest.mark.parametrize("hold_back", [3e-3, 12e-3])
def test_a_habit_is_never_cured_at_the_cost_of_a_must(hold_back):
    """The band asks for 4.5 to 8.5 mm; the bladder lets only 7 mm and less: 7.0 is the most.

    67.5/9.6211 = 7.016 mm.
    """
    pair = by_hand(hold_back=hold_back, bladder_into_body=400e-9, bladder_into_cap=67.5e-9)
    figure = offered(cured("hold-back/by-body-length", pair)[1])
    assert figure is not None
    assert (figure.at_least, figure.at_most) == (4.5, 7.0)


def test_a_single_figure_is_said_to_be_the_only_one():
    """Smallest 30 - 240/9.6211 = 5.055, largest 48.7/9.6211 = 5.062 mm: 5.06 and no other."""
    pair = by_hand(hold_back=0.0, bladder_into_body=240e-9, bladder_into_cap=48.7e-9)
    figure = offered(cured("bladder/into-body-room", pair)[1])
    assert figure is not None
    assert (figure.at_least, figure.at_most, figure.unit) == (5.06, 5.06, "mm")
    assert figure.text == "Holds with hold-back 5.06 mm, and no other, on both sides."


def test_a_range_up_to_the_stroke_is_said_as_so_much_or_more():
    """Into the cap 300/9.6211 = 31.2 mm, past the stroke of 30: only the 5.055 is a limit."""
    pair = by_hand(hold_back=0.0, bladder_into_body=240e-9, bladder_into_cap=300e-9)
    figure = offered(cured("bladder/into-body-room", pair)[1])
    assert figure is not None
    assert (figure.at_least, figure.at_most) == (5.1, 30.0)
    assert figure.text == "Holds with hold-back 5.1 mm or more, on both sides."


def test_a_limiter_draws_the_end_of_the_range_in():
    """10 mm of limiter leave 20: 20 - 150/9.6211 = 4.409 mm, up to 20."""
    pair = by_hand(hold_back=0.0, limiter=10e-3, bladder_into_body=150e-9, bladder_into_cap=300e-9)
    figure = offered(cured("bladder/into-body-room", pair)[1])
    assert figure is not None
    assert (figure.at_least, figure.at_most) == (4.5, 20.0)


def test_where_growth_alone_fills_the_cap_it_is_said_so():
    """20 K warmer: 9000 * (9.6e-4 - 3 * 23.6e-6) * 20 = 160 mm^3, in a room of 100."""
    pair = by_hand(
        hold_back=5e-3,
        bladder_into_body=400e-9,
        bladder_into_cap=100e-9,
        coldest=293.15,
        hottest=313.15,
        event_altitude=0.0,
    )
    judgement, cure = cured("bladder/into-cap-room", pair)
    assert (judgement.verdict, judgement.condition) == ("fails", "hot")
    assert offered(cure) is None
    assert cure.reason.startswith(
        "No hold-back will do with these parts: with none at all, the growth of oil and air alone"
    )


def test_where_another_rule_stands_in_the_way_it_is_said_so():
    """The band asks for 4.5 mm or more, the room in the cap for 30/9.6211 = 3.1 mm or less."""
    pair = by_hand(hold_back=3e-3, bladder_into_body=400e-9, bladder_into_cap=30e-9)
    judgement, cure = cured("hold-back/by-body-length", pair)
    assert judgement.verdict == "fails"
    assert offered(cure) is None
    assert cure.reason == (
        "No hold-back lets this hold without another rule failing: change something else."
    )


Changes = dict[str, dict[str, Any]]


def _with(changes: Changes, end: str, key: str, text: str) -> Changes:
    """Write a reading or an id at an end, for both sides."""
    build = {**changes.get("build", {}), f"{end}.{key}": text}
    build |= {f"{end}.left.{key}": None, f"{end}.right.{key}": None}
    return {**changes, "build": build}


def _inspected(folder: Path, changes: Changes) -> Inspection:
    return inspect([build_path(repository(folder, **changes))])


def _by_end(found: Inspection) -> dict[tuple[str, str], int]:
    """Give how bad each rule is at each end (and on the car); what holds is not told."""
    worst: dict[tuple[str, str], int] = {}
    for finding in found.findings:
        key = (finding.rule, finding.subject.split(".")[0])
        worst[key] = max(worst.get(key, 0), _BADNESS[finding.verdict])
    return worst


def _mended(finding: Finding, end: str, before: Inspection, after: Inspection) -> str:
    """Say what is wrong with a cure; nothing where it mends and no other must is worse off."""
    was, now = _by_end(before), _by_end(after)
    ends = {end, "car"} if MEASURES[BOOK[finding.rule].measure or ""].of else {end}
    for (ident, where), bad in now.items():
        if ident == finding.rule and where in ends:
            return f"{ident} is {bad} at {where}"
        if BOOK[ident].level == "must" and ident != finding.rule:
            spread = was.get((ident, where), was.get((ident, "car"), 0))
            if bad > max(spread, _BADNESS["not judged"]):
                return f"{ident} is {bad} at {where}, was {spread}"
    return ""


def _newly_failing(before: Inspection, after: Inspection) -> set[str]:
    was, now = _by_end(before), _by_end(after)
    return {
        ident
        for (ident, end), bad in now.items()
        if bad == _BADNESS["fails"] and was.get((ident, end), was.get((ident, "car"), 0)) < bad
    }


def _end_of(finding: Finding, figure: CureFigure) -> str:
    if finding.subject != "car":
        return finding.subject.split(".")[0]
    return "front" if "at the front" in figure.text else "rear"


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


_PARTS_OF = {"spring": "s", "piston": "p", "oil": "o", "bladder": "b"}


def _others(changes: Changes, kind: str, end: str) -> list[str]:
    """Give the ids in the drawers besides the one that is fitted."""
    made = {key.split(".")[1] for key in changes["parts"] if key.startswith(f"{kind}.")}
    sound = {"spring": {"soft", "longer"}, "piston": {"four"}, "oil": {"o450"}}
    now = {"front": f"{_PARTS_OF[kind]}0", "rear": _REAR[kind]}[end]
    return sorted((made | sound.get(kind, {"deep"})) - {now})


_REAR = {"spring": "longer", "piston": "four", "oil": "o450", "bladder": "deep"}


@settings(max_examples=20, suppress_health_check=[HealthCheck.too_slow])
@given(changes=garages())
def test_every_cure_written_into_the_file_mends_it(tmp_path_factory, changes):
    """The file is written with each id or figure that is offered, and inspected again: the rule

    holds, and no other must is worse than before.
    """
    folder = tmp_path_factory.mktemp("garage")
    before = _inspected(folder, changes)
    assert before.in_files == []
    for finding in before.findings:
        for figure in finding.cure_figures:
            end = _end_of(finding, figure)
            if figure.choices:
                assert 1 <= len(figure.choices) <= 3
                assert set(figure.choices) <= set(_others(changes, figure.reading, end))
                assert all(f'"{ident}" (' in figure.text for ident in figure.choices)
                given = list(figure.choices)
            else:
                assert figure.at_least is not None and figure.at_most is not None
                given = [f"{v} {figure.unit}" for v in (figure.at_least, figure.at_most)]
            for text in given:
                cured = _inspected(folder, _with(changes, end, figure.reading, text))
                wrong = _mended(finding, end, before, cured)
                assert not wrong, f"{finding.rule} with {figure.reading} {text}: {wrong}"
                if figure.choices:
                    told = figure.text.split(f'"{text}" (')[1].split('"')[0]
                    for rule in _newly_failing(before, cured):
                        assert rule in told or BOOK[rule].measure == "label_agrees"


@settings(max_examples=15, suppress_health_check=[HealthCheck.too_slow])
@given(changes=garages())
def test_where_no_part_is_named_none_of_the_drawers_mends_it(tmp_path_factory, changes):
    """Every other id is written into the file: the rule does not hold, or a must is worse off."""
    folder = tmp_path_factory.mktemp("garage")
    before = _inspected(folder, changes)
    for finding in before.findings:
        rule = BOOK[finding.rule]
        if finding.verdict not in ("fails", "doubtful") or not rule.turn:
            continue
        assert finding.cure_figures or finding.no_figure, "either a cure or why there is none"
        named = {(f.reading, _end_of(finding, f)): len(f.choices) for f in finding.cure_figures}
        ends = ["front", "rear"] if finding.subject == "car" else [finding.subject.split(".")[0]]
        for kind in set(rule.turn) & set(_PARTS_OF):
            for end in ends:
                if (kind, end) in named:
                    continue
                for ident in _others(changes, kind, end):
                    cured = _inspected(folder, _with(changes, end, kind, ident))
                    wrong = _mended(finding, end, before, cured)
                    assert wrong, f"{finding.rule} would hold with {kind} {ident} at the {end}"
                if not finding.cure_figures:
                    assert f"No other {kind} in the drawers mends it." in finding.no_figure


def _cured(folder: Path, rule: str, **changes: Any) -> Finding:
    findings = [f for f in _inspected(folder, changes).findings if f.rule == rule]
    assert len({f.subject for f in findings}) == len(findings)
    return findings[0]


def _springs(**solid: int) -> dict[str, str]:
    keys = {}
    for ident, length in solid.items():
        keys[f"spring.{ident}.rate"] = "0.82 N/mm"
        keys[f"spring.{ident}.free_length"] = "70 mm"
        keys[f"spring.{ident}.solid_length"] = f"{length} mm"
    return keys


def test_at_most_three_parts_are_named_the_one_with_most_to_spare_first(tmp_path):
    """Seats 70 mm apart, collar 2, stroke 30 mm: 38 less the solid length, at least 0.5 mm.

    The one in it: -4 mm. Others 18, 17, 16, 15, 14 (sound "soft": 14; "longer", 28: 10 mm).
    """
    parts = _springs(touching=42, e=20, d=21, c=22, b=23, a=24)
    finding = _cured(tmp_path, "spring/coil-gap", parts=parts, build={"front.spring": "touching"})
    figure = next(f for f in finding.cure_figures if f.reading == "spring")
    assert figure.choices == ("e", "d", "c")
    assert (figure.at_least, figure.at_most, figure.unit) == (None, None, None)
    assert figure.text == 'Holds with spring: "e" (18.0 mm), "d" (17.0 mm), "c" (16.0 mm).'


def test_a_part_that_breaks_what_should_hold_comes_after_those_that_do_not(tmp_path):
    """Gaps: "a" 20 mm, but so short that it has 8 mm of play; "b" and "soft" 14; "longer" 10,

    but pressed in by 18 mm, so that the car stands on it without any sag.
    """
    parts = _springs(touching=42, a=18, b=24)
    parts["spring.a.free_length"] = "60 mm"
    build = {"front.spring": "touching"}
    finding = _cured(tmp_path, "spring/coil-gap", parts=parts, build=build)
    figure = next(f for f in finding.cure_figures if f.reading == "spring")
    assert figure.choices == ("b", "soft", "a")
    assert figure.text.endswith('"a" (20.0 mm; but then spring/slack fails).')


def test_drawers_with_nothing_better_are_said_so(tmp_path):
    """Seats 40 mm apart: less 30 of stroke, no spring of 24 or 28 mm fits between, nor any

    collar: 10 - 24 is below nothing with none at all.
    """
    finding = _cured(tmp_path, "spring/coil-gap", car={"front.seat_gap": "40 mm"})
    assert finding.cure_figures == ()
    assert "No other spring in the drawers mends it." in finding.no_figure
    assert "No collar lets this hold with these parts" in finding.no_figure


def test_another_bladder_is_named_that_has_the_room(tmp_path):
    """Into the cap when hot 9.6211 * 6.4 = 61.6 and 9000 * 8.892e-4 * 18 = 144.1: 205.6 mm^3."""
    parts = {
        "bladder.low.into_body": "480 mm^3",
        "bladder.low.into_cap": "150 mm^3",
        "bladder.lower.into_body": "480 mm^3",
        "bladder.lower.into_cap": "160 mm^3",
        "bladder.shallow.into_body": "100 mm^3",  # no room the other way
        "bladder.shallow.into_cap": "500 mm^3",
    }
    build = {"front.bladder": "low"}
    finding = _cured(tmp_path, "bladder/into-cap-room", parts=parts, build=build)
    assert finding.value == pytest.approx(205.6 / 150, rel=1e-3)
    figure = next(f for f in finding.cure_figures if f.reading == "bladder")
    assert figure.choices == ("deep",)
    assert "deep" in figure.text and "41 %" in figure.text  # 205.6/500


def test_a_part_is_tried_for_each_end_of_a_finding_on_the_car(tmp_path):
    """Front rate 4 times what it was: the balance of frequencies is twice as large."""
    parts = {
        "spring.hard.rate": "3.28 N/mm",
        "spring.hard.free_length": "70 mm",
        "spring.hard.solid_length": "24 mm",
    }
    build = {"front.spring": "hard"}
    finding = _cured(tmp_path, "spring/frequency-balance", parts=parts, build=build)
    assert finding.subject == "car"
    where = {_end_of(finding, figure) for figure in finding.cure_figures}
    assert where <= {"front", "rear"} and "front" in where
    front = next(f for f in finding.cure_figures if _end_of(finding, f) == "front")
    assert "soft" in front.choices and "hard" not in front.choices


def test_a_part_that_one_side_has_already_is_tried_for_both(tmp_path):
    """Left sound, right touching: the left one's spring mends the right."""
    parts = _springs(touching=42)
    build = {"front.right.spring": "touching"}
    finding = _cured(tmp_path, "spring/coil-gap", parts=parts, build=build)
    assert finding.subject == "front.right"
    figure = next(f for f in finding.cure_figures if f.reading == "spring")
    assert "soft" in figure.choices


def test_a_taper_goes_with_the_piston_that_has_it(tmp_path):
    """A tapered piston is taken out for one without: the ratio named is that of the plain one."""
    parts = {
        "piston.tapered.diameter": "15.9 mm",
        "piston.tapered.thickness": "2.5 mm",
        "piston.tapered.holes": "4 x 1.8 mm",
        "piston.tapered.taper_to": "0.8 mm",
    }
    build = {"front.piston": "tapered"}
    finding = _cured(tmp_path / "one", "damping/ratio", parts=parts, build=build)
    figure = next(f for f in finding.cure_figures if f.reading == "piston")
    assert figure.choices == ("four",)
    lines = figures(build_path(repository(tmp_path / "two"))).figures
    plain = [f for f in lines if (f.subject, f.measure) == ("front", "damping_ratio")]
    told = {f"({f.value * 100:.0f} % {f.condition})" for f in plain if isinstance(f.value, float)}
    assert any(text in figure.text for text in told), figure.text


def test_a_collar_is_solved_for_and_mends_when_it_is_written(tmp_path):
    """38 - 35 = 3 mm are left for collar and gap: at least 0.5 mm, all readings 0.1 mm off.

    70 - 30 - 35 - 0.5 = 4.5 mm less 4 * 0.1 for seats, stroke, coils and collar: 4.1 mm.
    """
    parts = _springs(stiff=35)
    build = {"front.spring": "stiff", "front.collar": "6 mm"}
    finding = _cured(tmp_path / "one", "spring/coil-gap", parts=parts, build=build)
    figure = next(f for f in finding.cure_figures if f.reading == "collar")
    assert (figure.at_least, figure.at_most, figure.unit) == (0.0, 4.1, "mm")
    build["front.collar"] = "4.1 mm"
    after = _inspected(tmp_path / "two", {"parts": parts, "build": build})
    assert "spring/coil-gap" not in {f.rule for f in after.findings}
    build["front.collar"] = "4.2 mm"
    after = _inspected(tmp_path / "three", {"parts": parts, "build": build})
    assert "spring/coil-gap" in {f.rule for f in after.findings}

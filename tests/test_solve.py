"""Cures as figures: what is offered mends and makes nothing worse; none is missed that there is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from buildlint.damper import Damper
from buildlint.finding import CureFigure
from buildlint.judge import Judge, Judgement
from buildlint.measures import plan
from buildlint.rulebook import Rule, load_rulebook
from buildlint.solve import Cure, cures
from buildlint.workings import CONDITIONS
from tests.making import dampers, pairs, sides, with_reading

BOOK = load_rulebook()
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


def with_hold_back(pair: Sequence[Damper], millimetres: float) -> list[Damper]:
    """Seal both dampers at a hold-back, read as closely as before."""
    return [with_reading(damper, "hold_back", millimetres * 1e-3) for damper in pair]


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


class Empty:
    """Drawers with nothing in them: parts are not what is turned here."""

    def ids(self, kind: str) -> Sequence[str]:
        return ()

    def fitted(self, damper: Damper, kind: str, ident: str) -> Damper:
        return damper


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


# --- by hand -------------------------------------------------------------------------------------

# Shaft 3.5 mm: 9.6211 mm^2 (physics.md, section 1). Nothing else varies: bench only, no tolerance.
_BY_HAND: dict[str, Any] = {
    "shaft_diameter": 3.5e-3,
    "stroke": 30e-3,
    "body_length": 52e-3,
    "bore": 16e-3,
    "cap": "vented",
    "oil_volume": 9e-6,
    "expansion": 9.6e-4,
    "bench_temperature": 293.15,
    "bench_altitude": 0.0,
}


def by_hand(**more: Any) -> tuple[Damper, Damper]:
    return sides(Damper(end="front", side="left", **{**_BY_HAND, **more}))


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

"""A should says nothing where a must has found its reading at fault."""

from __future__ import annotations

import pytest

from buildlint.judging.asks import Ask
from buildlint.judging.each_cause import each_cause_once
from buildlint.judging.finding import Verdict
from buildlint.judging.judgement import Judgement
from buildlint.measures import MEASURES
from buildlint.measures.damper import Damper
from tests.rules import rule_of

LEFT, RIGHT, REAR = "front.left", "front.right", "rear.left"
APART = Ask(same_within=1e-3)


def of(
    measure: str, level: str, verdict: Verdict, *corners: str, ask: Ask | None = None
) -> Judgement:
    dampers = tuple(
        Damper(end=end, side=side) for end, side in (corner.split(".") for corner in corners)
    )
    rule = rule_of(measure, ask or Ask(at_most=1.0), level=level)
    return Judgement(rule, MEASURES[measure], " ".join(corners), dampers, verdict)


def told(*judgements: Judgement, conceded: bool = False) -> list[str]:
    found = each_cause_once(judgements, lambda judgement: conceded)
    return [f"{each.measure.name} {each.subject}" for each in found]


SHARE = of("hold_back_share", "should", "fails", LEFT)


def test_a_should_on_a_reading_that_a_must_finds_at_fault_is_not_told() -> None:
    room = of("into_cap_use", "must", "fails", LEFT)
    assert told(room, SHARE) == told(SHARE, room) == ["into_cap_use front.left"]


@pytest.mark.parametrize(
    "other",
    [
        of("into_cap_use", "must", "borderline", LEFT),
        of("into_cap_use", "must", "not checked", LEFT),
        of("into_cap_use", "should", "fails", LEFT),
        # of another corner, or of another reading
        of("into_cap_use", "must", "fails", RIGHT),
        of("rebound_use", "must", "fails", LEFT),
        # left and right are compared: which of them is wrong, nobody knows
        of("hold_back", "must", "fails", LEFT, RIGHT, ask=APART),
    ],
)
def test_it_is_told_where_no_must_finds_that_reading_at_fault(other: Judgement) -> None:
    assert "hold_back_share front.left" in told(other, SHARE)


def test_a_must_that_is_conceded_finds_nothing_at_fault() -> None:
    room = of("into_cap_use", "must", "fails", LEFT)
    assert len(told(room, SHARE, conceded=True)) == 2


@pytest.mark.parametrize("verdict", ["borderline", "not checked"])
def test_what_does_not_fail_is_told_whatever_a_must_says(verdict: Verdict) -> None:
    room = of("into_cap_use", "must", "fails", LEFT)
    assert len(told(room, of("hold_back_share", "should", verdict, LEFT))) == 2


def test_a_must_and_what_compares_sides_are_always_told() -> None:
    room = of("into_cap_use", "must", "fails", LEFT, RIGHT)
    assert len(told(room, of("hold_back_share", "must", "fails", LEFT))) == 2
    assert len(told(room, of("hold_back", "should", "fails", LEFT, RIGHT, ask=APART))) == 2


def test_a_should_on_both_sides_is_left_out_where_both_are_at_fault() -> None:
    both = of("hold_back_share", "should", "fails", LEFT, RIGHT)
    one, other = (of("into_cap_use", "must", "fails", corner) for corner in (LEFT, RIGHT))
    assert len(told(one, both)) == 2
    assert told(one, other, both) == ["into_cap_use front.left", "into_cap_use front.right"]


@pytest.mark.parametrize("verdict", ["fails", "borderline"])
def test_what_follows_a_must_is_told_with_it(verdict: Verdict) -> None:
    """The rebound is about another reading than the room into the cap, and follows it."""
    musts = [of("into_cap_use", "must", verdict, corner) for corner in (LEFT, RIGHT, REAR)]
    rebound = of("rebound_use", "should", "fails", LEFT, RIGHT)
    found = list(each_cause_once([*musts, rebound], lambda judgement: False))
    assert [each.also for each in found] == [rebound, rebound, None]


def test_it_is_told_by_itself_where_the_must_is_of_another_corner_or_not_checked() -> None:
    rebound = of("rebound_use", "should", "fails", LEFT)
    for must in (
        of("into_cap_use", "must", "fails", RIGHT),
        of("into_cap_use", "must", "not checked", LEFT),
        of("into_cap_use", "should", "fails", LEFT),
    ):
        assert told(must, rebound)[1:] == ["rebound_use front.left"]


def test_what_is_off_plan_is_not_told_where_left_and_right_are_found_apart() -> None:
    off = of("hold_back_off_plan", "should", "fails", LEFT)
    apart = of("hold_back", "should", "fails", LEFT, RIGHT, ask=APART)
    (found,) = each_cause_once([apart, off], lambda judgement: False)
    assert found.also is None  # that is told with musts alone
    alike = of("hold_back", "should", "not checked", LEFT, RIGHT, ask=APART)
    assert len(told(alike, off)) == 2


def test_of_two_that_follow_a_must_the_first_is_told_with_it() -> None:
    both = of("into_cap_use", "must", "fails", LEFT, RIGHT)
    left, right = (of("rebound_use", "should", "fails", corner) for corner in (LEFT, RIGHT))
    for order in ([left, right], [right, left]):
        (found,) = each_cause_once([both, *order], lambda judgement: False)
        assert found.also == order[0]

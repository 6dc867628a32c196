"""Readings that are turned, searched for with rules made for it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from buildlint.damper import Damper
from buildlint.finding import Cure
from tests.wanting import Wanting, by_hand, where, with_hold_back


@pytest.mark.parametrize(
    ("now", "at_least", "at_most"),
    [(7.0, 0.0, 5.0), (18.0, 20.0, 28.0), (3.0, 0.0, 5.0), (26.0, 20.0, 28.0), (12.4, 0.0, 5.0)],
)
def test_of_two_ranges_the_nearer_one_is_offered(now, at_least, at_most):
    """Holds up to 5 mm and from 20 mm on, of a stroke of 28 mm."""
    judge = Wanting(split=("must", where(lambda h: h <= 5.0 or h >= 20.0)))
    (figure,) = judge.cure("split", with_hold_back(by_hand(stroke=28e-3), now)).figures
    assert (figure.at_least, figure.at_most) == (at_least, at_most)


def test_where_the_whole_stroke_will_do_the_sentence_still_reads():
    """A hold-back of 30 mm on a stroke of 28 mm: every one that is possible holds."""
    judge = Wanting(within=("must", where(lambda h: h <= 28.0)))
    (figure,) = judge.cure("within", with_hold_back(by_hand(stroke=28e-3), 30.0)).figures
    assert figure.text == "Holds with any hold-back, on both sides."


def test_a_range_narrower_than_the_places_tried_is_found_where_the_reading_stands_in_it():
    """28 mm in 32 steps are 0.875 mm apart; what holds here is 0.4 mm wide, round 10.1 mm."""
    judge = Wanting(
        narrow=("must", where(lambda h: 9.9 <= h <= 10.3)),
        other=("must", where(lambda h: h > 1.0)),
    )
    (figure,) = judge.cure("narrow", with_hold_back(by_hand(stroke=28e-3), 10.1)).figures
    assert (figure.at_least, figure.at_most) == (9.9, 10.3)


def test_two_rules_that_only_touch_leave_one_figure():
    """At most 14 mm the one, at least 14 mm the other: 14 mm, and a place that is tried."""
    judge = Wanting(
        most=("must", where(lambda h: h <= 14.0)),
        least=("must", where(lambda h: h >= 14.0)),
    )
    (figure,) = judge.cure("most", with_hold_back(by_hand(stroke=28e-3), 20.0)).figures
    assert figure.at_least == figure.at_most == 14.0


def test_a_rule_that_is_only_in_doubt_now_may_stay_in_doubt_but_not_fail():
    """The other rule is in doubt to 10 mm and fails from there; the cure ends where it would."""

    def other(d: Damper) -> str:
        return "doubtful" if (d.hold_back or 0.0) <= 10e-3 else "fails"

    judge = Wanting(least=("must", where(lambda h: h >= 5.0)), other=("must", other))
    (figure,) = judge.cure("least", with_hold_back(by_hand(stroke=28e-3), 2.0)).figures
    assert (figure.at_least, figure.at_most) == (5.0, 10.0)


def test_a_should_may_be_left_failing_by_a_figure():
    judge = Wanting(
        least=("must", where(lambda h: h >= 5.0)),
        habit=("should", where(lambda h: h <= 1.0)),
    )
    (figure,) = judge.cure("least", with_hold_back(by_hand(stroke=28e-3), 2.0)).figures
    assert (figure.at_least, figure.at_most) == (5.0, 28.0)


def test_the_range_ends_where_the_limiter_lets_the_shaft_go():
    """28 mm less a limiter of 4: no hold-back above 24 mm is offered."""
    judge = Wanting(least=("must", where(lambda h: h >= 5.0)))
    (figure,) = judge.cure(
        "least", with_hold_back(by_hand(stroke=28e-3, limiter=4e-3), 2.0)
    ).figures
    assert (figure.at_least, figure.at_most) == (5.0, 24.0)


def test_where_the_limiter_leaves_no_stroke_nothing_is_said():
    judge = Wanting(least=("must", where(lambda h: h >= 5.0)))
    pair = with_hold_back(by_hand(stroke=28e-3, limiter=30e-3), 2.0)
    assert judge.cure("least", pair) == Cure()


def test_no_tolerance_takes_a_turned_reading_below_nothing():
    """Read to 0.3 mm, a hold-back of 0.1 mm is tried from 0 mm on."""
    tried: list[float] = []

    def least(d: Damper) -> str:
        tried.append(d.spread["hold_back"][0])
        return "holds" if (d.hold_back or 0.0) <= 5e-3 else "fails"

    judge = Wanting(least=("must", least))
    read = {"hold_back": (8.7e-3, 9.3e-3)}
    pair = [replace(d, hold_back=9e-3, spread=read) for d in by_hand(stroke=28e-3)]
    judge.cure("least", pair)
    assert min(tried) == 0.0


def test_what_would_do_as_read_is_said_where_no_figure_does_with_the_tolerances():
    def roomy(d: Damper) -> str:
        if (d.hold_back or 0.0) < 5e-3:
            return "fails"
        return "doubtful" if "hold_back" in d.spread else "holds"

    judge = Wanting(room=("must", roomy))
    read = {"hold_back": (1.7e-3, 2.3e-3)}
    pair = [replace(d, hold_back=2e-3, spread=read) for d in by_hand(stroke=28e-3)]
    cure = judge.cure("room", pair)
    assert cure.figures == ()
    assert cure.reason == (
        "As read this would hold with hold-back 5.0 mm or more; with every tolerance at its worst, "
        "no hold-back lets this and the other rules hold. Measure more closely, or change "
        "something else."
    )

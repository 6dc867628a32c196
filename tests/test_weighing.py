"""A figure against a limit: at its edges, and with every tolerance at its worst."""

from __future__ import annotations

import pytest

from buildlint.bounds import Bounds
from buildlint.rule import Ask
from buildlint.weighing import weigh


@pytest.mark.parametrize(
    ("value", "half", "verdict"),
    [
        (9.0, 0.0, "holds"),
        (10.0, 0.0, "holds"),  # at most is met at the limit itself
        (10.0001, 0.0, "fails"),
        (9.0, 1.0, "holds"),  # the worst is at the limit
        (9.0, 1.0001, "doubtful"),
        (10.0, 0.1, "doubtful"),
        (10.0001, 5.0, "fails"),  # as read it fails, though it may hold
    ],
)
def test_an_upper_limit_is_judged_as_read_and_then_at_worst(value, half, verdict):
    """design.md, section 5: holds with every tolerance at its worst; doubtful holds as read."""
    found = Bounds(value, value - half, value + half)
    assert weigh(found, Ask(at_most=10.0))[0] == verdict
    # and mirrored for a lower limit
    found = Bounds(-value, -value - half, -value + half)
    assert weigh(found, Ask(at_least=-10.0))[0] == verdict


@pytest.mark.parametrize(
    ("value", "half", "verdict", "margin"),
    [
        (1.5, 0.0, "holds", 0.5),
        (1.0, 0.0, "holds", 0.0),
        (2.0, 0.0, "holds", 0.0),
        (1.25, 0.25, "holds", 0.25),
        (1.25, 0.26, "doubtful", 0.25),
        (1.75, 0.26, "doubtful", 0.25),
        (0.75, 0.0, "fails", -0.25),
        (2.25, 0.0, "fails", -0.25),
    ],
)
def test_between_is_judged_at_both_ends_and_the_margin_is_to_the_nearer(
    value, half, verdict, margin
):
    found = weigh(Bounds(value, value - half, value + half), Ask(at_least=1.0, at_most=2.0))
    assert found == (verdict, pytest.approx(margin))


def test_a_limit_is_met_to_the_last_bits_of_a_long_sum():
    assert weigh(Bounds(*([0.1 + 0.2] * 3)), Ask(at_most=0.3))[0] == "holds"


def test_a_figure_without_end_fails_an_upper_limit():
    inf = float("inf")
    assert weigh(Bounds(inf, inf, inf), Ask(at_most=1.0))[0] == "fails"
    assert weigh(Bounds(0.5, 0.4, inf), Ask(at_most=1.0))[0] == "doubtful"

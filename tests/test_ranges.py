"""Ranges: found from inside and outside, crossed, rounded to what can be set."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlint.ranges import both, safe, where

_EDGES = st.floats(0.0, 10.0)


@given(low=_EDGES, high=_EDGES, now=_EDGES)
def test_the_range_round_what_stands_now_is_found_to_its_edges(low: float, high: float, now: float):
    low, now, high = sorted((low, now, high))
    found = where(lambda value: low <= value <= high, (0.0, 10.0), now)
    (here,) = [r for r in found if r[0] <= now <= r[1]]
    # no edge lies outside, and none is missed by more than thirty halvings of a step leave
    assert low <= here[0] <= low + 1e-8
    assert high - 1e-8 <= here[1] <= high


def test_two_ranges_with_a_gap_are_two():
    found = where(lambda value: value <= 2.0 or value >= 7.0, (0.0, 10.0), 5.0)
    assert [(round(low, 6), round(high, 6)) for low, high in found] == [(0.0, 2.0), (7.0, 10.0)]
    assert where(lambda value: False, (0.0, 10.0), 5.0) == []


def test_what_lies_in_both_is_left():
    some, others = [(0.0, 3.0), (5.0, 9.0)], [(2.0, 6.0), (9.0, 10.0)]
    assert both(some, others) == [(2.0, 3.0), (5.0, 6.0), (9.0, 9.0)]
    assert both(some, []) == []


@pytest.mark.parametrize(
    ("low", "high", "rounded"),
    [
        (1.23, 4.56, (1.3, 4.5)),
        # no tenth lies within: hundredths do
        (1.212, 1.288, (1.22, 1.28)),
        # nor any hundredth
        (1.2121, 1.2179, None),
        (2.0, 2.0, (2.0, 2.0)),
    ],
)
def test_a_range_is_rounded_inwards(low: float, high: float, rounded: tuple[float, float] | None):
    found = safe((low * 1e-3, high * 1e-3), "mm")
    assert found == (None if rounded is None else pytest.approx([r * 1e-3 for r in rounded]))

"""Bounds: worst cases within tolerances, against points inside and outside references."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from itertools import product
from math import inf, isfinite, pi
from pathlib import Path
from typing import Any

import pytest
import uncertainties
from hypothesis import given, settings
from hypothesis import strategies as st

from buildlint.bounds import Bounds, bounds
from buildlint.build_figures import figures
from buildlint.damper import Damper
from buildlint.figure import conditions_of, figure_of, speaks
from buildlint.measures import MEASURES, Measure, plan
from buildlint.plans import CONDITIONS, Plan, make_plan, moves
from tests.making import box, build_path, dampers, repository, with_spread

# The window between the smallest and the largest hold-back is widest where the bench, the coldest
# and the hottest oil are equally warm, which may be inside the box and not at a corner of it. Its
# least decides (bladder/window asks for at least 0 mm), and that does stand at a corner.
_LEAST_ONLY = {"hold_back_window"}


# What is counted or named, and so has no tolerance.
EXACT = frozenset({"style", "cap", "arrive_by", "done", "label", "bench_on", "event_on"})


def _between(low: Any, high: Any, share: float) -> Any:
    if isinstance(low, tuple):  # holes: one size of drill for all of them
        return tuple((n, a + share * (b - a)) for (n, a), (_, b) in zip(low, high, strict=True))
    return low + share * (high - low)


def _floored(measure: str, value: float) -> float:
    floor = MEASURES[measure].floor
    return value if floor is None else max(value, floor)


def worked_out(measure: Measure, damper: Damper) -> Iterator[tuple[Plan, Bounds]]:
    """Give a measure's plan and its bounds at every condition at which there are any."""
    if speaks(measure, damper):
        for condition in conditions_of(measure, damper):
            found = figure_of(measure, damper, condition).bounds
            if found is not None:
                yield plan(measure.name, condition), found


def test_the_dampers_at_random_reach_every_measure_and_loosen_every_reading_of_it():
    """Else what is said of a reading below would be said of none."""
    figures = [m for m in MEASURES.values() if m.unit not in ("id", "yes") and not m.of]
    reached: dict[str, set[str]] = {m.name: set() for m in figures}

    @settings(max_examples=800, derandomize=True, database=None)
    @given(damper=dampers(every=True))
    def look(damper: Damper) -> None:
        for measure in figures:
            for here, _ in worked_out(measure, damper):
                reached[measure.name].update(set(here.inputs) & damper.spread.keys() | {""})

    look()
    for measure in figures:
        assert reached[measure.name], measure.name
        every = {n for c in CONDITIONS for n in plan(measure.name, c).inputs}
        assert every - reached[measure.name] <= EXACT, measure.name


@pytest.mark.parametrize(
    "measure", [m for m in MEASURES.values() if m.unit != "id"], ids=lambda m: m.name
)
@settings(max_examples=50)
@given(damper=dampers(every=True), seed=st.integers(0, 2**32))
def test_bounds_hold_every_figure_within_the_tolerances(measure, damper, seed):
    """50 points at random in the box, for any damper at every condition, lie within the bounds."""
    points = random.Random(seed)
    for here, found in worked_out(measure, damper):
        assert found.low <= found.value <= found.high
        hair = 1e-9 * max(abs(f) for f in (found.low, found.value, found.high, 0.0) if isfinite(f))
        readings = list(box(damper, here.inputs))
        for number in range(50):
            # every fifth point stands at a corner
            pick = (lambda: points.choice((0.0, 1.0))) if number % 5 == 0 else points.random
            at = [v if low == high else _between(low, high, pick()) for v, low, high in readings]
            value = _floored(measure.name, here.run(at))
            assert value >= found.low - hair
            if measure.name not in _LEAST_ONLY:
                assert value <= found.high + hair


@pytest.mark.parametrize(
    ("measure", "names"),
    [
        ("into_body_need", ("oil_volume", "coldest", "bench_temperature", "hold_back")),
        ("into_cap_use", ("oil_volume", "bench_temperature", "air", "bladder_into_cap")),
        ("smallest_hold_back", ("bench_temperature", "coldest", "oil_volume", "shaft_diameter")),
        ("viscosity_drift", ("bench_temperature", "coldest")),
        ("damping", ("bore", "shaft_diameter", "viscosity_given", "coldest", "holes")),
    ],
)
@given(damper=dampers(event=True, every=True))
def test_bounds_are_the_corners_of_a_box_of_few_readings(measure, names, damper):
    """Brute force over all corners of the box finds no worse and no better."""
    spread = {name: damper.spread[name] for name in names if name in damper.spread}
    damper = with_spread(damper, **spread)
    here = plan(measure, "cold")
    figure = figure_of(MEASURES[measure], damper, "cold")
    assert figure.bounds is not None
    corners = [
        _floored(measure, here.run(at))
        for at in product(*({low, high} for _, low, high in box(damper, here.inputs)))
    ]
    assert figure.bounds.low == pytest.approx(min(corners), rel=1e-12, abs=1e-18)
    assert figure.bounds.high == pytest.approx(max(corners), rel=1e-12, abs=1e-18)


@given(
    values=st.lists(st.floats(-10.0, 10.0), min_size=1, max_size=5),
    halves=st.lists(st.floats(0.0, 3.0), min_size=5, max_size=5),
    slopes=st.lists(st.floats(-5.0, 5.0), min_size=5, max_size=5),
)
def test_bounds_of_a_weighted_sum_are_the_sum_of_its_halves(values, halves, slopes):
    """Interval arithmetic: a weighted sum moves by the sum of |weight| times half-width."""
    terms = list(zip(values, halves, slopes, strict=False))
    found = bounds(
        lambda v: sum(s * x for x, (_, _, s) in zip(v, terms, strict=True)),
        values,
        [v - h for v, h, _ in terms],
        [v + h for v, h, _ in terms],
    )
    middle = sum(s * v for v, _, s in terms)
    half = sum(abs(s) * h for _, h, s in terms)
    assert found.value == pytest.approx(middle)
    assert found.low == pytest.approx(middle - half, abs=1e-9)
    assert found.high == pytest.approx(middle + half, abs=1e-9)


def test_bounds_see_that_the_sense_of_one_reading_depends_on_another():
    """x y with x in 1..2, y in -3..1 (oil, and how much warmer it is): corners -3, 1, -6, 2."""
    found = bounds(lambda v: v[0] * v[1], [1.5, -1.0], [1.0, -3.0], [2.0, 1.0])
    assert (found.low, found.high) == (-6.0, 2.0)


def test_a_figure_without_end_may_have_an_end_within_the_tolerances():
    """1/(x - y), without end from x <= y on: 3 ± 1 and 4 ± 1 leave at the least 1/(4 - 3)."""

    def work(v: Sequence[float]) -> float:
        return 1.0 / (v[0] - v[1]) if v[0] > v[1] else inf

    found = bounds(work, [3.0, 4.0], [2.0, 3.0], [4.0, 5.0])
    assert (found.value, found.low, found.high) == (inf, 1.0, inf)
    # it takes three readings together to leave a second one: 1/(3 * 1.5 - 4)
    found = bounds(lambda v: work([sum(v), 4.0]), [1.0] * 3, [0.5] * 3, [1.5] * 3)
    assert (found.low, found.high) == (2.0, inf)


def test_exact_readings_give_a_figure_without_width():
    found = bounds(lambda v: v[0] + v[1], [1.0, 2.0], [1.0, 2.0], [1.0, 2.0])
    assert found == Bounds(3.0, 3.0, 3.0)


def _into_cap_at_the_bench(folder: Path) -> Any:
    repository(
        folder,
        parts={"shaft.s35.diameter": "3.5 ± 0.02 mm"},
        build={"front.left.hold_back": "10 ± 0.5 mm", "front.right.hold_back": "10 ± 0.5 mm"},
    )
    found = figures(build_path(folder)).figures
    wanted = ("front.left", "into_cap_need", "bench")
    return next(f for f in found if (f.subject, f.measure, f.condition) == wanted)


def test_worst_case_and_expanded_uncertainty_of_the_displaced_volume(tmp_path):
    """physics.md, section 9: 96.211 mm^3, worst case 90.359 to 102.180, U (k = 2) 5.698."""
    line = _into_cap_at_the_bench(tmp_path)
    assert line.unit == "mm^3"
    assert line.value == pytest.approx(96.211, abs=5e-4)
    assert line.low == pytest.approx(90.359, abs=5e-4)
    assert line.high == pytest.approx(102.180, abs=5e-4)
    assert line.expanded == pytest.approx(5.698, abs=5e-4)


def test_expanded_uncertainty_agrees_with_the_uncertainties_library(tmp_path):
    """Rectangular limits a are standard uncertainties of a / sqrt(3) (JCGM 100:2008, 4.3.7)."""
    line = _into_cap_at_the_bench(tmp_path)
    shaft = uncertainties.ufloat(3.5, 0.02 / 3**0.5)
    hold_back = uncertainties.ufloat(10.0, 0.5 / 3**0.5)
    outside = pi * shaft**2 / 4 * hold_back
    assert line.value == pytest.approx(outside.nominal_value, rel=1e-9)
    assert line.expanded == pytest.approx(2 * outside.std_dev, rel=1e-4)


def test_a_corner_that_it_takes_two_rounds_to_reach_is_found():
    """Eight corners, linear between them; read in the middle of the cube.

    x falls by (-1 + 0 + 1 - 1)/4, y by (-1 + 0 - 5 - 7)/4, z by (1 + 3 - 3 - 4)/4: all down, so
    the climb begins at 000. There x and y make it less, z makes it 1; only then does x make it 2,
    the most there is. The least, -5, is where it begins to look for that: 111.
    """
    at = {
        (0, 0, 0): 0.0,
        (1, 0, 0): -1.0,
        (0, 1, 0): -1.0,
        (1, 1, 0): -1.0,
        (0, 0, 1): 1.0,
        (1, 0, 1): 2.0,
        (0, 1, 1): -4.0,
        (1, 1, 1): -5.0,
    }

    def work(v: Sequence[float]) -> float:
        weights = ((1.0 - x, x) for x in v)
        shares = dict.fromkeys(at, 1.0)
        for place, weight in enumerate(weights):
            shares = {c: share * weight[c[place]] for c, share in shares.items()}
        return sum(share * at[c] for c, share in shares.items())

    found = bounds(work, [0.5] * 3, [0.0] * 3, [1.0] * 3)
    assert found.value == pytest.approx(sum(at.values()) / 8)
    assert (found.low, found.high) == (-5.0, 2.0)


def test_a_figure_without_end_as_read_has_its_least_where_ten_readings_must_meet():
    """Finite only where all ten are at their highest together, one corner of 2^10: 1 there."""

    def work(v: Sequence[float]) -> float:
        return 1.0 if sum(v) >= len(v) else inf

    found = bounds(work, [0.5] * 10, [0.0] * 10, [1.0] * 10)
    assert (found.low, found.high) == (1.0, inf)


@pytest.mark.parametrize(
    "measure", [m for m in MEASURES.values() if m.unit != "id"], ids=lambda m: m.name
)
@settings(max_examples=100)
@given(damper=dampers(every=True), seed=st.integers(0, 2**32))
def test_a_figure_goes_the_way_that_is_said_of_each_reading(measure, damper, seed):
    """Anywhere in the box, with one reading moved: no damper for which the sign is wrong."""
    points = random.Random(seed)
    for here, _ in worked_out(measure, damper):
        readings = list(box(damper, here.inputs))
        at = [v if a == b else _between(a, b, points.random()) for v, a, b in readings]
        for i, (way, (_, low, high)) in enumerate(zip(here.ways, readings, strict=True)):
            if way == 0 or low == high:
                continue
            shares = sorted((points.random(), points.random()))
            lower, upper = (
                _floored(measure.name, here.run([*at[:i], _between(low, high, s), *at[i + 1 :]]))
                for s in shares
            )
            if lower == upper:  # both may be without end
                continue
            hair = 1e-9 * max(abs(f) for f in (lower, upper, 1e-12) if isfinite(f))
            assert (upper - lower) * way >= -hair


@pytest.mark.parametrize(
    "measure", [m for m in MEASURES.values() if m.unit != "id"], ids=lambda m: m.name
)
@settings(max_examples=50)
@given(damper=dampers(every=True))
def test_bounds_are_no_nearer_where_ways_are_known_than_where_they_are_tried(measure, damper):
    """The way that is said of a reading spares the trying, and never hides an extreme.

    Trying may miss one: it stops at a corner from which two readings would have to move together.
    """
    for here, _ in worked_out(measure, damper):
        values, lows, highs = (list(part) for part in zip(*box(damper, here.inputs), strict=True))
        known = bounds(here.run, values, lows, highs, here.ways)
        tried = bounds(here.run, values, lows, highs)
        low, least = (_floored(measure.name, b.low) for b in (known, tried))
        high, most = (_floored(measure.name, b.high) for b in (known, tried))
        assert low <= least or low == pytest.approx(least, rel=1e-9, abs=1e-15)
        assert high >= most or high == pytest.approx(most, rel=1e-9, abs=1e-15)


def test_halves_are_half_of_what_each_reading_does_by_itself():
    """x y at 3, 2: x ± 1 moves it by 2 * 2 in all, y ± 0.5 by 3 * 1."""
    found = bounds(lambda v: v[0] * v[1], [3.0, 2.0], [2.0, 1.5], [4.0, 2.5])
    assert found.halves == ((0, 2.0), (1, 1.5))


def test_what_goes_with_a_step_goes_with_what_it_is_at_the_corner_not_as_read():
    """As read it is colder than it was, at its warmest it is warmer: then more oil grows more."""

    @moves(up="warm", down="cold", away="volume")
    def growth(volume: float, warm: float, cold: float) -> float:
        return volume * (warm - cold)

    made = make_plan("growth", {"growth": growth})
    assert made.inputs == ("volume", "warm", "cold")
    found = bounds(
        made.run, [9.0, 300.0, 300.5], [8, 298.0, 300.0], [10, 302.5, 301.0], made.ways_at
    )
    # as read 9 * (300 - 300.5), least 10 * (298 - 301), most 10 * (302.5 - 300)
    assert (found.value, found.low, found.high) == (-4.5, -30.0, 25.0)

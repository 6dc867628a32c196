"""Figures of several dampers: front over rear, left against right."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import replace
from math import inf, pi
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from buildlint.bounds import Bounds
from buildlint.damper import Damper
from buildlint.figure import conditions_of
from buildlint.measures import MEASURES, plan
from buildlint.origin import Origin
from buildlint.together import car_figure, difference
from tests.making import BENCH, dampers, sides
from tests.sheet_damper import damper

CONDITIONS = ("bench", "cold", "hot")
CAR_MEASURES = ("damping_balance", "frequency_balance")


def four(front: dict[str, Any] | None = None, rear: dict[str, Any] | None = None) -> list[Damper]:
    return [
        damper(end, side, **(more or {}))
        for end, more in (("front", front), ("rear", rear))
        for side in ("left", "right")
    ]


def of_car(measure: str, dampers: Sequence[Damper], condition: str = "bench") -> Bounds:
    found = car_figure(MEASURES[measure], dampers, condition).bounds
    assert found is not None
    return found


def test_a_balance_is_front_over_rear():
    """Alike: 1. Rear with 8 x 1.3 mm: c 45.959 over 77.474 = 0.59322."""
    assert of_car("damping_balance", four()).value == pytest.approx(1.0)
    rear = {"holes": ((8, 1.3e-3),)}
    assert of_car("damping_balance", four(rear=rear)).value == pytest.approx(0.59322, abs=1e-5)
    front = {"holes": ((8, 1.3e-3),)}
    assert of_car("damping_balance", four(front)).value == pytest.approx(1.68572, abs=3e-5)


def test_frequencies_go_with_the_root_of_rate_over_mass():
    """Four times the mass at the rear: half the frequency, a balance of 2."""
    assert of_car("frequency_balance", four(rear={"corner_mass": 3.2})).value == pytest.approx(2.0)
    # k MR^2: twice the motion ratio at the front doubles it
    assert of_car("frequency_balance", four({"motion_ratio": 1.3})).value == pytest.approx(2.0)


def test_each_end_counts_with_the_mean_of_left_and_right():
    """Front 45.959 and 77.474, in the mean 61.7165: over 45.959 at the rear 1.34286."""
    dampers = four()
    dampers[1] = damper("front", "right", holes=((8, 1.3e-3),))
    assert of_car("damping_balance", dampers).value == pytest.approx(1.34286, abs=2e-5)


def test_a_balance_of_damping_is_that_of_the_condition():
    """Rear oil of another slope: at 40 degC (section 2: B 1757 K) the front has 0.7541 of its

    viscosity, the rear without a slope all of it: 0.7541.
    """
    event = {"event": "quarry", "coldest": 298.15, "hottest": 313.15, "event_altitude": 0.0}
    dampers = four(event, {**event, "slope_given": 0.0})
    assert of_car("damping_balance", dampers, "cold").value == pytest.approx(1.0)
    assert of_car("damping_balance", dampers, "hot").value == pytest.approx(0.7541, abs=3e-4)


def test_tolerances_of_readings_of_their_own_all_count_against_each_other():
    """Masses 0.8 kg ± 0.2 everywhere, each for itself: f goes with 1/sqrt(m).

    At most sqrt(1.0/0.6) = 1.29099, at the least its inverse, 0.77460.
    """
    found = of_car("frequency_balance", _four_of_mass(shared=False))
    assert (found.low, found.high) == pytest.approx((0.77460, 1.29099), abs=1e-5)


def test_a_reading_that_stands_in_one_place_for_both_ends_moves_them_together():
    found = of_car("frequency_balance", _four_of_mass(shared=True))
    assert (found.low, found.high) == pytest.approx((1.0, 1.0), rel=1e-12)


def _four_of_mass(shared: bool) -> list[Damper]:
    made = [replace(d, spread={"corner_mass": (0.6, 1.0)}) for d in four()]
    if not shared:
        return made
    one = Origin(BENCH, ("corner_mass",))
    return [replace(d, origin={**d.origin, "corner_mass": one}) for d in made]


def test_a_car_without_its_rear_has_no_balance():
    for name in CAR_MEASURES:
        found = car_figure(MEASURES[name], four()[:2], "bench")
        assert found.bounds is None and found.missing == ("both ends of the car",)


def test_what_is_missing_for_a_balance_is_said_with_its_end():
    dampers = four(rear={"spring_rate": None, "spring": "soft"})
    found = car_figure(MEASURES["frequency_balance"], dampers, "bench")
    assert found.missing == ("rate of spring soft at the rear",)


def test_readings_that_make_no_sense_are_no_balance():
    found = car_figure(MEASURES["damping_balance"], four(rear={"bore": 3e-3}), "bench")
    assert found.bounds is None
    assert found.missing and found.missing[0].startswith("readings that go together")


def test_what_moves_a_balance_most_is_named_with_its_end_where_both_have_one():
    """Front 0.8 ± 0.01 kg, rear 0.8 ± 0.2 kg."""
    dampers = [
        replace(d, spread={"corner_mass": (0.79, 0.81) if d.end == "front" else (0.6, 1.0)})
        for d in four()
    ]
    for mine in dampers:  # each end has one of its own, as in a car file
        mine.origin["corner_mass"] = Origin(BENCH, (mine.end, "corner_mass"))
    widest = of_car("frequency_balance", dampers).widest()
    assert widest is not None
    assert widest[0] == "corner_mass of the car at the rear"


@st.composite
def cars(draw: Any) -> list[Damper]:
    """Any four dampers at one event: what the ends share stands in one place."""
    front, rear = draw(dampers(event=True)), draw(dampers(end="rear", event=True))
    outside = ("bench_temperature", "bench_altitude", "coldest", "hottest", "event_altitude")
    shared = [*outside]
    if draw(st.booleans()):  # the same oil
        shared += ["viscosity_given", "viscosity_given_at", "slope_given", "density", "expansion"]
        shared += ["second_viscosity", "second_viscosity_at"]
    if draw(st.booleans()):  # the same piston
        shared += ["holes", "piston_thickness", "taper_to"]
    values = {name: getattr(front, name) for name in shared}
    spread = {n: s for n, s in rear.spread.items() if n not in shared}
    spread.update({n: s for n, s in front.spread.items() if n in shared})
    rear = replace(rear, **values, spread=spread)
    four = [*sides(front, draw(st.booleans())), *sides(rear, draw(st.booleans()))]
    one = {name: Origin(BENCH, (name,)) for name in shared}
    return [replace(d, origin={**d.origin, **one}) for d in four]


def _at_random(four: Sequence[Damper], names: Sequence[str], points: random.Random) -> list[Any]:
    """Give readings for each damper within their tolerances; one that is shared only once."""
    corners = points.random() < 0.3
    shares: dict[Any, float] = {}
    found = []
    for one in four:
        at = []
        for name in names:
            value = getattr(one, name)
            if name in one.spread:
                low, high = one.spread[name]
                share = float(points.getrandbits(1)) if corners else points.random()
                share = shares.setdefault((name, one.origin[name], one.spread[name]), share)
                value = _between(low, high, share)
            at.append(value)
        found.append(at)
    return found


def _between(low: Any, high: Any, share: float) -> Any:
    if isinstance(low, tuple):
        return tuple((n, a + share * (b - a)) for (n, a), (_, b) in zip(low, high, strict=True))
    return low + share * (high - low)


@pytest.mark.parametrize("measure", CAR_MEASURES)
@settings(max_examples=50)
@given(four=cars(), seed=st.integers(0, 2**32))
def test_bounds_of_a_car_hold_every_figure_within_the_tolerances(measure, four, seed):
    """Worked out again here: the mean of left and right of the front over that of the rear."""
    points = random.Random(seed)
    for condition in conditions_of(MEASURES[measure], four[0]):
        found = of_car(measure, four, condition)
        here = plan(MEASURES[measure].of, condition)
        assert found.low <= found.value <= found.high
        for _ in range(40):
            one, two, three, last = (here.run(at) for at in _at_random(four, here.inputs, points))
            value = (one + two) / (three + last)
            assert found.low * (1 - 1e-5) <= value <= found.high * (1 + 1e-5)


@pytest.mark.parametrize("measure", CAR_MEASURES)
@given(four=cars(), flat=st.floats(0.5, 2.0))
def test_left_and_right_swapped_leave_the_car_as_it_is(measure, four, flat):
    four[1] = replace(four[1], corner_mass=four[1].corner_mass * flat, spread=four[1].spread)
    to = {"left": "right", "right": "left"}
    other = [
        replace(
            d,
            side=to[d.side],
            origin={
                n: Origin(o.path, tuple(to.get(k, k) for k in o.keys)) for n, o in d.origin.items()
            },
        )
        for d in (four[1], four[0], four[3], four[2])
    ]
    for condition in CONDITIONS:
        one, two = of_car(measure, four, condition), of_car(measure, other, condition)
        assert (one.value, one.low, one.high) == pytest.approx(
            (two.value, two.low, two.high), rel=1e-9
        )


@pytest.mark.parametrize("measure", CAR_MEASURES)
@given(four=cars())
def test_front_and_rear_swapped_turn_a_balance_over(measure, four):
    to = {"front": "rear", "rear": "front"}
    other = [replace(d, end=to[d.end]) for d in four]
    for condition in CONDITIONS:
        one, two = of_car(measure, four, condition), of_car(measure, other, condition)
        assert one.value * two.value == pytest.approx(1.0)
        assert one.high * two.low == pytest.approx(1.0, rel=1e-4)


def test_a_difference_is_taken_without_its_sign_and_with_both_tolerances():
    """104 ± 0.1 and 106 ± 0.2 mm: 2 mm apart, 1.7 to 2.3; either way round."""
    left = damper(length=0.104, spread={"length": (0.1039, 0.1041)})
    right = damper(side="right", length=0.106, spread={"length": (0.1058, 0.1062)})
    measure = MEASURES["length"]
    for pair in ((left, right), (right, left)):
        found = difference(measure, plan("length"), *pair)
        assert (found.value, found.low, found.high) == pytest.approx((2e-3, 1.7e-3, 2.3e-3))
        assert found.widest() == ("length", pytest.approx(2 / 3))  # 0.2 of 0.1 and 0.2


def test_an_end_of_one_side_counts_as_that_side():
    """Frequencies go with the root of the rate: sqrt(850), sqrt(3400) = twice it; the rear once.

    Mean of 1 and 2 over 1 is 1.5; with the rear alone in twos, 1 over that is 2/3.
    """
    one, twice = {"spring_rate": 850.0}, {"spring_rate": 3400.0}
    three = [damper("front", "left", **one), damper("front", "right", **twice)]
    assert of_car("frequency_balance", [*three, damper("rear")]).value == pytest.approx(1.5)
    three = [damper("rear", "left", **one), damper("rear", "right", **twice)]
    assert of_car("frequency_balance", [damper("front"), *three]).value == pytest.approx(2 / 3)


def test_twins_that_share_every_reading_differ_by_nothing_whatever_its_tolerance():
    left, right = sides(damper(length=0.1, spread={"length": (0.099, 0.101)}))
    found = difference(MEASURES["length"], plan("length"), left, right)
    assert found == Bounds(0.0, 0.0, 0.0)


def test_a_reading_of_no_known_place_is_one_for_each_side():
    """Rate at the wheel k MR^2, both ± 10 %: MR stands in one place for both sides, k in none.

    850 * 0.65^2 = 359.125 N/m; k apart by at most 0.9 to 1.1 of it, at MR^2 1.21 of what it is.
    """
    spread = {"spring_rate": (765.0, 935.0), "motion_ratio": (0.585, 0.715)}
    left, right = sides(damper(spread=spread))
    for one in (left, right):
        del one.origin["spring_rate"]
    found = difference(MEASURES["wheel_rate"], plan("wheel_rate"), left, right)
    assert (found.value, found.low) == (0.0, 0.0)
    assert found.high == pytest.approx(359.125 * 0.2 * 1.21)


def test_a_reading_that_front_and_rear_share_moves_the_balance_as_both_together_make_it():
    """One shaft size for all four, read in one place, in bores of 16 mm and 13 mm.

    Damping goes with the square of bore area less shaft area, all else alike: the balance is
    ((16^2 - s^2) / (13^2 - s^2))^2, which rises with s, though the front's damping falls with it.
    """
    place = Origin(BENCH, ("shaft", "s35", "diameter"))
    spread = {"shaft_diameter": (3.4e-3, 3.6e-3)}
    dampers = four(front={"spread": spread}, rear={"bore": 13e-3, "spread": spread})
    for one in dampers:
        one.origin["shaft_diameter"] = place

    def balance(s: float) -> float:
        return ((16.0**2 - s**2) / (13.0**2 - s**2)) ** 2

    found = of_car("damping_balance", dampers)
    assert (found.low, found.value, found.high) == pytest.approx(
        (balance(3.4), balance(3.5), balance(3.6)), rel=1e-12
    )


def test_a_reading_that_both_sides_share_moves_what_they_differ_by_as_both_together_make_it():
    """One shaft in both, sealed at 6 mm and 8 mm: the needs into the cap differ by its area x 2 mm.

    At the bench nothing has grown. Each need rises with the shaft, and so does what lies between.
    """
    spread = {"shaft_diameter": (3.4e-3, 3.6e-3)}
    left, right = (
        damper(side=side, hold_back=held, spread=spread)
        for side, held in (("left", 6e-3), ("right", 8e-3))
    )
    for one in (left, right):
        one.origin["shaft_diameter"] = Origin(BENCH, ("shaft", "s35", "diameter"))
    measure = MEASURES["into_cap_need"]
    found = difference(measure, plan(measure.name, "bench"), left, right)
    expected = [pi / 4 * (s * 1e-3) ** 2 * 2e-3 for s in (3.4, 3.5, 3.6)]
    assert [found.low, found.value, found.high] == pytest.approx(expected, rel=1e-9)


def test_where_a_shared_reading_may_leave_both_sides_without_end_so_may_what_they_differ_by():
    """Air of 0 to 0.1 ml, read once for both emulsions: with none, neither has any room."""
    poured: dict[str, Any] = {
        "style": "emulsion",
        "air": 50e-9,
        "stroke": 28e-3,
        "oil_volume": 9e-6,
    }
    left, right = (
        damper(side=side, hold_back=held, spread={"air": (0.0, 100e-9)}, **poured)
        for side, held in (("left", 6e-3), ("right", 8e-3))
    )
    for one in (left, right):
        one.origin["air"] = Origin(BENCH, ("front", "air"))
    found = difference(MEASURES["emulsion_use"], plan("emulsion_use"), left, right)
    # one air for both: 0.019 ml of shaft more of 0.05 ml, and of none anything
    assert found.value == pytest.approx(pi / 4 * 3.5e-3**2 * 2e-3 / 50e-9)
    assert found.high == inf

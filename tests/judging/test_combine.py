"""Figures of several dampers: front over rear, left against right, and what their readings do."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import inf, isnan, pi, sqrt
from typing import Any

import numpy as np
import pytest

from buildlint.judging.combine import (
    Combined,
    combined,
    difference,
    front_over_rear,
    less_one,
    one,
    relative,
)
from buildlint.measures import MEASURES
from buildlint.measures.arrays import Batch
from buildlint.measures.damper import CORNERS, Damper
from buildlint.measures.evaluate import Figures
from buildlint.measures.graph import CONDITIONS
from buildlint.measures.origin import Origin
from tests.making import BENCH, sides
from tests.sheet_damper import damper

EIGHT = {"holes": ((8, 1.3e-3),)}


def four(front: dict[str, Any] | None = None, rear: dict[str, Any] | None = None) -> list[Damper]:
    return [
        damper(end, side, **((front if end == "front" else rear) or {})) for end, side in CORNERS
    ]


def of(name: str, dampers: Sequence[Damper], combine: Any, floor: float | None = None) -> Combined:
    figures = Figures(Batch([dampers]))
    members = np.arange(len(dampers))[:, None]
    return combined(figures, figures[MEASURES[name].of or name], members, combine, floor)


def balance(dampers: Sequence[Damper], name: str = "damping_balance", at: str = "bench") -> float:
    found = of(name, dampers, front_over_rear).as_read
    return float(found[CONDITIONS.index(at) if len(found) > 1 else 0, 0])


def ends(found: Combined) -> tuple[float, float, float]:
    """Give the figure as read, and with all readings moved down and up as far as they go."""
    spread = found.spread
    middle = found.middle[0, 0]
    return (
        float(found.as_read[0, 0]),
        float(middle - spread.most_down[0, 0]),
        float(middle + spread.most_up[0, 0]),
    )


def standing(dampers: Sequence[Damper], name: str, *keys: str) -> list[Damper]:
    """Say that a reading stands in one place for all of them."""
    place = Origin(BENCH, keys)
    return [replace(each, origin={**each.origin, name: place}) for each in dampers]


# --- front over rear -----------------------------------------------------------------------------


def test_a_balance_is_front_over_rear_each_the_mean_of_its_sides():
    """c of 4 x 1.8 mm 45.959, of 8 x 1.3 mm 77.474 N s/m: 0.59322 and its inverse.

    Their mean, 61.7165, is 1.34286 times the first.
    """
    assert balance(four()) == pytest.approx(1.0)
    assert balance(four(rear=EIGHT)) == pytest.approx(0.59322, abs=1e-5)
    assert balance(four(EIGHT)) == pytest.approx(1.68572, abs=3e-5)
    dampers = four()
    dampers[1] = damper("front", "right", **EIGHT)
    assert balance(dampers) == pytest.approx(1.34286, abs=2e-5)


def test_frequencies_go_with_the_root_of_rate_over_mass():
    """Four times the mass: half the frequency. k MR^2: twice the motion ratio doubles it."""
    name = "frequency_balance"
    assert balance(four(rear={"corner_mass": 3.2}), name) == pytest.approx(2.0)
    assert balance(four({"motion_ratio": 1.3}), name) == pytest.approx(2.0)


def test_a_balance_of_damping_is_that_of_the_condition():
    """Rear oil that does not thin: at 40 degC the front has 75.41 of 100 cSt (B 1757 K)."""
    event = {"event": "quarry", "coldest": 298.15, "hottest": 313.15, "event_altitude": 0.0}
    dampers = four(event, {**event, "slope_given": 0.0})
    assert balance(dampers, at="cold") == pytest.approx(1.0)
    assert balance(dampers, at="hot") == pytest.approx(0.7541, abs=3e-4)


def _of_masses(shared: bool) -> Combined:
    """Give the frequency balance of masses of 0.8 kg ± 0.2, each for itself or one for all."""
    made = [replace(each, spread={"corner_mass": (0.6, 1.0)}) for each in four()]
    if shared:
        made = standing(made, "corner_mass", "corner_mass")
    return of("frequency_balance", made, front_over_rear)


def test_readings_of_their_own_all_count_against_each_other():
    """f goes with 1/sqrt m; one side at 0.6 kg is 1.15470 of it, at 1.0 kg 0.89443.

    One front at 0.6: (1.15470 + 1)/2 = 1.07735; one rear at 1.0: 2/(1 + 0.89443) = 1.05573.
    """
    spread = _of_masses(shared=False).spread
    up = sqrt(2 * 0.07735**2 + 2 * 0.05573**2) / sqrt(3.0)
    assert spread.up[0, 0] == pytest.approx(up, abs=1e-5)


def test_a_reading_in_one_place_for_all_moves_them_together():
    found = _of_masses(shared=True)
    assert ends(found) == pytest.approx((1.0, 1.0, 1.0), rel=1e-12)


def test_one_shaft_for_all_four_is_four_pieces_and_one_oil_is_one():
    """In one line of the drawers both: shafts are cut each for itself, oil is of one bottle."""
    spread = {"shaft_diameter": (3.4e-3, 3.6e-3), "viscosity_given": (300e-6, 450e-6)}
    made = four({"spread": spread}, {"spread": spread})
    made = standing(made, "shaft_diameter", "shaft", "s35", "diameter")
    made = standing(made, "viscosity_given", "oil", "o375", "viscosity")
    found = of("damping_balance", made, front_over_rear)
    rows = list(zip(found.readings, np.abs(found.moves[..., 0, 0]).max(axis=1), strict=True))
    moving = [move for _, move in rows if move > 1e-12]
    assert len(moving) == 4
    # most of all one of the rear at 3.6 mm: damping goes with the square of the annulus, and the
    # rear is the mean of that one and the other
    less = ((16.0**2 - 3.6**2) / (16.0**2 - 3.5**2)) ** 2
    assert max(moving) == pytest.approx(2.0 / (1.0 + less) - 1.0, rel=1e-9)


def test_front_and_rear_swapped_turn_a_balance_over():
    spread = {"corner_mass": (0.7, 0.9)}
    front, rear = {"spread": spread}, {"corner_mass": 1.1}
    one, other = (
        of("frequency_balance", each, front_over_rear)
        for each in (four(front, rear), four(rear, front))
    )
    assert one.as_read[0, 0] * other.as_read[0, 0] == pytest.approx(1.0)
    assert one.spread.up[0, 0] > 0.0 and other.spread.down[0, 0] > 0.0


def test_left_and_right_swapped_leave_a_balance_as_it_is():
    spread = {"corner_mass": (0.7, 0.9)}
    left = [damper("front", "left", spread=spread), damper("front", "right", corner_mass=1.2)]
    right = [damper("front", "left", corner_mass=1.2), damper("front", "right", spread=spread)]
    rear = [damper("rear", "left"), damper("rear", "right")]
    one, other = (
        of("frequency_balance", [*each, *rear], front_over_rear) for each in (left, right)
    )
    assert ends(one) == pytest.approx(ends(other), rel=1e-12)


# --- left against right --------------------------------------------------------------------------


def test_a_difference_is_signed_with_both_tolerances():
    """104 ± 0.1 less 106 ± 0.2 mm: -2 mm, -2.3 to -1.7, u = sqrt(0.1^2 + 0.2^2)/sqrt 3."""
    left = damper(length=0.104, spread={"length": (0.1039, 0.1041)})
    right = damper(side="right", length=0.106, spread={"length": (0.1058, 0.1062)})
    found = of("length", [left, right], difference)
    assert ends(found) == pytest.approx((-2e-3, -2.3e-3, -1.7e-3))
    assert found.spread.up[0, 0] == pytest.approx(sqrt(0.05 / 3.0) * 1e-3)
    assert ends(of("length", [right, left], difference)) == pytest.approx((2e-3, 1.7e-3, 2.3e-3))
    # over the mean of both, 105 mm
    assert of("length", [left, right], relative).as_read[0, 0] == pytest.approx(-2.0 / 105.0)


def test_two_figures_of_nothing_do_not_differ_and_what_is_exact_is_not_moved():
    pair = [damper(side=side, hold_back=0.0) for side in ("left", "right")]
    found = of("hold_back", pair, relative)
    assert ends(found) == (0.0, 0.0, 0.0)
    assert found.moves.shape == (0, 2, 1, 1)


def test_twins_that_share_a_reading_differ_by_nothing_whatever_its_tolerance():
    left, right = sides(damper(length=0.1, spread={"length": (0.099, 0.101)}))
    assert ends(of("length", [left, right], difference)) == (0.0, 0.0, 0.0)


def test_a_reading_of_no_known_place_is_one_for_each_side():
    """k MR^2, both ± 10 %: MR stands in one place for both sides, k in none.

    850 * 0.65^2 = 359.125 N/m, each side's k moves it by a tenth; MR moves both alike.
    """
    spread = {"spring_rate": (765.0, 935.0), "motion_ratio": (0.585, 0.715)}
    pair = sides(damper(spread=spread))
    for each in pair:
        del each.origin["spring_rate"]
    found = of("wheel_rate", pair, difference)
    assert found.as_read[0, 0] == 0.0
    assert found.spread.up[0, 0] == pytest.approx(sqrt(2 / 3) * 35.9125)


def test_a_reading_that_both_sides_share_moves_their_difference_as_it_moves_both():
    """One oil volume in both, sealed at 6 and 8 mm: what it grows by is in both needs.

    What is left is the shafts' area times 2 mm, pi/4 3.5^2 * 2 = 19.242 mm^3, whatever the oil.
    """
    event = {"event": "quarry", "coldest": 298.15, "hottest": 328.15, "event_altitude": 0.0}
    spread = {"expansion": (8e-4, 11e-4), "hottest": (320.0, 335.0)}
    made = [
        damper(
            side=side,
            hold_back=held,
            oil_volume=9e-6,
            air=0.0,
            cap="vented",
            spread=spread,
            **event,
        )
        for side, held in (("left", 6e-3), ("right", 8e-3))
    ]
    for name in spread:
        made = standing(made, name, name)
    found = of("into_cap_need", made, difference)
    assert found.as_read[2, 0] == pytest.approx(-pi / 4 * 3.5**2 * 2 * 1e-9)
    assert np.abs(found.moves).max() < 1e-20


def _poured(air: float, spread: tuple[float, float] | None = None) -> list[Damper]:
    made = [
        damper(
            side=side,
            hold_back=held,
            style="emulsion",
            air=air,
            stroke=28e-3,
            oil_volume=9e-6,
            spread={} if spread is None else {"air": spread},
        )
        for side, held in (("left", 8e-3), ("right", 6e-3))
    ]
    return standing(made, "air", "front", "air")


def test_what_two_figures_without_end_differ_by_is_not_known():
    found = of("emulsion_use", _poured(0.0), difference)
    assert isnan(found.as_read[0, 0])
    assert (found.spread.most_up[0, 0], found.spread.most_down[0, 0]) == (0.0, 0.0)


def test_what_is_without_end_whatever_a_reading_is_is_moved_by_nothing():
    """With no air at all the stroke, known to a millimetre, makes no difference."""
    made = [replace(each, spread={"stroke": (27e-3, 29e-3)}) for each in _poured(0.0)]
    found = of("emulsion_use", made[:1], one)
    assert found.as_read[0, 0] == inf
    assert len(found.moves) and not found.moves.any()


def test_a_figure_moves_from_the_middle_of_its_tolerance():
    made = [damper(stroke=30e-3, spread={"stroke": (25e-3, 31e-3)})]
    found = of("stroke", made, one)
    assert (found.as_read[0, 0], found.middle[0, 0]) == pytest.approx((30e-3, 28e-3))


def test_of_several_dampers_one_is_the_first():
    assert one(np.array([[3.0], [2.0]])).tolist() == [3.0]


def test_one_over_the_other_less_one():
    assert less_one(np.array([[3.0, 1.0], [2.0, 4.0]])).tolist() == [0.5, -0.75]


def test_where_a_shared_reading_may_leave_both_without_end_so_may_their_difference():
    """Air of 0 to 0.1 ml, read once for both: 2 mm of shaft more of 0.05 ml, and of none any."""
    found = of("emulsion_use", _poured(50e-9, (0.0, 100e-9)), difference)
    assert found.as_read[0, 0] == pytest.approx(pi / 4 * 3.5e-3**2 * 2e-3 / 50e-9)
    assert found.spread.most_up[0, 0] == inf


def test_no_side_goes_below_a_floor():
    """Springs of 5 and 15 mm less than their seats have play; one pressed in by 5 has none."""
    made = [
        damper(side=side, seat_gap=70e-3, collar=0.0, limiter=0.0, free_length=length)
        for side, length in (("left", 65e-3), ("right", 75e-3))
    ]
    assert of("spring_slack", made, difference).as_read[0, 0] == pytest.approx(10e-3)
    assert of("spring_slack", made, difference, floor=0.0).as_read[0, 0] == pytest.approx(5e-3)


# --- two builds ----------------------------------------------------------------------------------


@pytest.mark.parametrize(("cars", "apart"), [(["heron", "heron"], 0.0), (["heron", "gull"], 2.0)])
def test_the_same_corner_of_one_car_has_the_same_pieces_in_two_builds(cars, apart):
    """A bore of 16 ± 0.02 mm from one line of the drawers: the same body, or two."""
    spread = {"bore": (15.98e-3, 16.02e-3)}
    made = standing([damper(spread=spread), damper(spread=spread)], "bore", "body", "long", "bore")
    figures = Figures(Batch([[each] for each in made], cars))
    found = combined(figures, figures["shaft_room"], np.array([[0], [1]]), difference)
    # u = 0.02 mm/sqrt 3, of two bodies sqrt 2 of it
    assert found.spread.up[0, 0] == pytest.approx(sqrt(apart / 3.0) * 0.02e-3)

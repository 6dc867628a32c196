"""Uncertainty and chance, against the standards and libraries named beside each value."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache
from math import inf, nan, sqrt
from typing import Any

import numpy as np
import pytest
import uncertainties
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from buildlint.judging.combine import (
    Combined,
    combined,
    difference,
    front_over_rear,
    one,
    relative,
)
from buildlint.measures.arrays import Batch
from buildlint.measures.damper import Damper
from buildlint.measures.evaluate import Figures
from buildlint.measures.graph import CONDITIONS, is_conditional, stands_on
from buildlint.measures.uncertainty import Spread, chance, normal, shares, spread
from tests.measures.at_random import Car

ROOT_3 = sqrt(3.0)


def moves(work: Callable[..., float], **inputs: tuple[float, float]) -> Any:
    """Move each input, (value, half), to both ends: what each does to the figure."""
    at = {name: value for name, (value, _) in inputs.items()}
    return np.array(
        [
            [work(**{**at, name: value + sign * half}) - work(**at) for sign in (-1.0, 1.0)]
            for name, (value, half) in inputs.items()
        ]
    )


def chance_of(
    middle: float, u: float, at_least: float = -inf, at_most: float = inf, certain: bool = False
) -> float:
    """Work the chance out of a figure and its standard uncertainty."""
    most = u * ROOT_3 if certain else inf  # however far it may go at most
    found = Spread(*map(np.array, (u, u, most, most)))
    return float(chance(np.array(middle), found, np.array(at_least), np.array(at_most)))


# --- the standards -------------------------------------------------------------------------------


def test_the_end_gauge_of_the_gum():
    """JCGM 100:2008, H.1, in nm and degC: prints u_c = 32 nm.

    Inputs as printed there; standard uncertainties are widened to limits. The `uncertainties`
    library gives 31.66 for them.
    """

    def length(
        ls: float, d1: float, d2: float, d3: float, da: float, dt: float, a: float, t: float
    ):
        return ls + d1 + d2 + d3 - ls * (da * t + a * dt)

    inputs = {
        "ls": (50.000623e6, 25.0 * ROOT_3),
        "d1": (215.0, 5.8 * ROOT_3),
        "d2": (0.0, 3.9 * ROOT_3),
        "d3": (0.0, 6.7 * ROOT_3),
        "da": (0.0, 1e-6),
        "dt": (0.0, 0.05),
        "a": (11.5e-6, 2e-6),
        "t": (-0.1, 0.41 * ROOT_3),
    }
    found = spread(moves(length, **inputs))
    live = length(**{n: uncertainties.ufloat(v, half / ROOT_3) for n, (v, half) in inputs.items()})
    assert (round(found.up), round(found.down)) == (32, 32)
    assert found.up == pytest.approx(31.66, abs=5e-3)
    assert found.up == pytest.approx(live.std_dev, rel=1e-6)


@pytest.mark.parametrize(
    ("figure", "u", "limits", "printed"),
    [
        # 7.3.3, example 1: breakdown of a diode at -5.47 V, at most -5.40 V
        (-5.47, 0.05, {"at_most": -5.40}, 0.92),
        # 7.3.3, example 2: a container bursts at 509.7 kPa, at least 490 kPa
        (509.7, 8.6, {"at_least": 490.0}, 0.99),
        # 7.4: a motor oil of 13.6 mm^2/s, between 12.5 and 16.3 mm^2/s
        (13.6, 1.8, {"at_least": 12.5, "at_most": 16.3}, 0.66),
    ],
)
def test_the_worked_examples_of_conformity(figure, u, limits, printed):
    """JCGM 106:2012."""
    found = chance_of(figure, u, **limits)
    assert round(found, 2) == printed
    ends = (limits.get("at_least", -inf), limits.get("at_most", inf))
    low, high = norm.cdf(ends, loc=figure, scale=u)
    assert found == pytest.approx(high - low, abs=1e-12)


@pytest.mark.parametrize(
    ("p", "z"), [(0.80, 0.84), (0.90, 1.28), (0.95, 1.64), (0.99, 2.33), (0.999, 3.09)]
)
def test_the_table_of_one_sided_tolerances(p: float, z: float):
    """JCGM 106:2012, table 1."""
    assert chance_of(10.0 - z, 1.0, at_most=10.0) == pytest.approx(p, abs=2e-3)
    assert chance_of(10.0 + z, 1.0, at_least=10.0) == pytest.approx(p, abs=2e-3)


def test_the_normal_distribution_is_that_of_scipy():
    z = np.linspace(-8.0, 8.0, 201)
    np.testing.assert_allclose(normal(z), norm.cdf(z), rtol=1e-12)


def test_a_shaft_and_a_hold_back():
    """d 3.5 ± 0.02, h 10 ± 0.5 mm as limits: pi/4 d^2 h = 96.211, u = 2.849 mm^3.

    The `uncertainties` library: 2.849.
    """
    spreads = {"shaft_diameter": (3.48e-3, 3.52e-3), "hold_back": (9.5e-3, 10.5e-3)}
    damper = Damper(
        end="front", side="left", shaft_diameter=3.5e-3, hold_back=10e-3, spread=spreads
    )
    found = together_of([damper], "into_cap_need", [0], one)
    assert found.as_read[0, 0] * 1e9 == pytest.approx(96.211, abs=5e-4)
    live = np.pi / 4 * uncertainties.ufloat(3.5, 0.02 / ROOT_3) ** 2
    live *= uncertainties.ufloat(10.0, 0.5 / ROOT_3)
    for u in (found.spread.up[0, 0], found.spread.down[0, 0]):
        assert u * 1e9 == pytest.approx(2.849, abs=7e-4)
        assert u * 1e9 == pytest.approx(live.std_dev, rel=5e-4)


# --- readings of a build, one by one and shared --------------------------------------------------


def together_of(
    dampers: Sequence[Damper], name: str, members: Sequence[int], combine: Any
) -> Combined:
    figures = Figures(Batch([dampers]))
    return combined(figures, figures[name], np.array(members)[:, None], combine)


# Which dampers a figure is of, what makes one figure of theirs, and the same worked out by itself.
Sort = tuple[Sequence[int], Any, Callable[..., Any]]
SINGLE: Sort = ([1], one, lambda figure: figure)
SIDES: Sort = ([0, 1], difference, lambda left, right: left - right)
OF_MEAN: Sort = (
    [2, 3],
    relative,
    lambda left, right: (left - right) / ((left + right) / 2.0),
)
BALANCE: Sort = ([0, 1, 2, 3], front_over_rear, lambda a, b, c, d: (a + b) / (c + d))

OF_ANY = """
    damping damping_ratio ride_frequency pack_speed cavitation_speed viscosity viscosity_spread
    coil_gap spring_slack displacement hold_back_share into_cap_need into_body_need into_cap_use
    road_use hold_back_window length wheel_rate
""".split()  # noqa: SIM905
OF_NO_ZERO = ["damping", "damping_ratio", "ride_frequency", "viscosity", "cavitation_speed"]
SMOOTH = [(name, sort) for name in OF_ANY for sort in (SINGLE, SIDES)]
SMOOTH += [(name, sort) for name in OF_NO_ZERO for sort in (OF_MEAN, BALANCE)]


@pytest.mark.parametrize(
    ("name", "sort"), SMOOTH, ids=[f"{name}-{sort[1].__name__}" for name, sort in SMOOTH]
)
def test_uncertainty_is_that_of_the_uncertainties_library(name: str, sort: Sort):
    """With tolerances a thousandth of the usual, so that every figure is as good as straight.

    The library has one variable for each reading of the build: one oil, one event, one bench for
    all; one collar for both sides; a body, shaft, piston, bladder and spring for each damper.
    """
    members, combine, by_hand = sort
    for seed in (1, 2):
        car = Car(seed, scale=1e-3)
        found = together_of(car.dampers, name, members, combine).spread
        keys = [key for key in car.value if key[-1] in stands_on(name)]
        variables = [uncertainties.ufloat(car.value[k], car.half[k] / ROOT_3) for k in keys]
        for number, condition in enumerate(CONDITIONS if is_conditional(name) else CONDITIONS[:1]):

            def work(*values: float, condition: str = condition, car: Car = car, keys: Any = keys):
                readings = {**car.value, **dict(zip(keys, values, strict=True))}
                works = [car.working(corner, readings) for corner in members]
                return float(by_hand(*(each(name, condition) for each in works)))

            live = uncertainties.wrap(work)(*variables)
            value, u = uncertainties.nominal_value(live), uncertainties.std_dev(live)
            hair = 1e-9 * abs(value)  # differentiated in steps, where a difference cancels
            assert found.up[number, 0] == pytest.approx(u, rel=0.01, abs=hair)
            assert found.down[number, 0] == pytest.approx(u, rel=0.01, abs=hair)


SAMPLES = 200_000
FIGURES = """
    damping damping_ratio cavitation_speed ride_frequency coil_gap into_cap_need into_cap_use
    into_body_need into_body_use hold_back hold_back_share hold_back_window smallest_hold_back
    largest_hold_back cap_pressure
""".split()  # noqa: SIM905
# Where a tolerance meets a physical end, or the event is as warm as the bench.
AT_NOTHING = {"hold_back": (0.0, 0.25e-3, 0.3e-3)}
AS_WARM = {"coldest": (290.0, 292.0, 2.0), "hottest": (292.0, 294.0, 2.0)}


@pytest.mark.parametrize(
    ("seed", "fixed"), [(1, {}), (4, {}), (2, AT_NOTHING), (7, AS_WARM)], ids=str
)
def test_the_chance_is_that_of_many_samples(seed: int, fixed: dict[str, Any]):
    """JCGM 101:2008: all readings drawn at once, each anywhere within its limits alike.

    To 0.02 where no reading has much more of the variance than the others and nothing is cut off;
    to 0.07 where one decides alone: a rectangle against a bell, 0.057 at most where the figure is
    straight. To 0.2 on a kink, and never more than 0.05 off where the chance is above 0.9. Limits
    are those that are kept at the middle of all tolerances: on others no verdict stands.
    """
    car = Car(seed, **fixed)
    samples = car.sampled(SAMPLES, seed)
    works = {corner: car.working(corner, samples) for corner in range(4)}
    for name in FIGURES:
        sorts = [SINGLE, SIDES, *([BALANCE] if name in OF_NO_ZERO else [])]
        for members, combine, by_hand in sorts:
            found = together_of(car.dampers, name, members, combine)
            kinked = bool(fixed) or name == "cap_pressure"
            for number in range(len(found.as_read)):
                each = [works[corner](name, CONDITIONS[number]) for corner in members]
                drawn = np.sort(np.broadcast_to(by_hand(*each), (SAMPLES,)))
                middle, moved = found.middle[number, 0], found.moves[..., number, 0]
                u = spread(moved)
                largest = max(shares(moved, way).max(initial=0.0) for way in (True, False))
                near = 0.2 if kinked else 0.02 if largest < 0.4 else 0.07
                for z in (0.0, 0.5, 1.0, 1.7, 2.0, 2.5):
                    for limits in ((-inf, middle + z * u.up), (middle - z * u.down, inf)):
                        told = float(chance(middle, u, *map(np.array, limits)))
                        below = np.searchsorted(drawn, limits[0], "left")
                        kept = np.searchsorted(drawn, limits[1], "right") - below
                        where = f"{name}, {len(members)}, {CONDITIONS[number]}, {limits}"
                        allowed = min(near, 0.05) if told > 0.9 else near
                        assert told == pytest.approx(kept / SAMPLES, abs=allowed), where


# --- at the edges --------------------------------------------------------------------------------


def test_one_reading_alone_at_the_very_end_of_its_tolerance():
    """Inside it the limit is kept; just past it the normal distribution says z = sqrt 3, 95.8 %."""
    found = spread(np.array([[-3.0, 3.0]]))
    assert found.up == pytest.approx(3.0 / ROOT_3)
    for limit, expected in ((3.0, 1.0), (3.1, 1.0), (3.0 - 1e-6, norm.cdf(ROOT_3))):
        for low, high in ((-inf, limit), (-limit, inf)):
            told = chance(np.array(0.0), found, np.array(low), np.array(high))
            assert told == pytest.approx(expected, abs=1e-6)


def test_a_hold_back_of_nothing_reaches_only_to_nothing():
    """0 ± 0.3 mm is 0 to 0.3: the middle is 0.15, and 0.15/sqrt 3 the uncertainty."""
    damper = Damper(end="front", side="left", hold_back=0.0, spread={"hold_back": (0.0, 0.3e-3)})
    found = together_of([damper], "hold_back", [0], one)
    assert (found.as_read[0, 0], found.middle[0, 0]) == (0.0, pytest.approx(0.15e-3))
    u = found.spread
    assert u.up[0, 0] == u.down[0, 0] == pytest.approx(0.15e-3 / ROOT_3)

    def told(least: float, most: float) -> float:
        limits = (np.array([[each]]) for each in (least, most))
        return float(chance(found.middle, u, *limits)[0, 0])

    assert told(0.0, inf) == 1.0
    assert told(-inf, 0.2e-3) == pytest.approx(norm.cdf(0.05 * ROOT_3 / 0.15))


def test_it_is_certain_where_even_the_sum_of_all_moves_stays_inside():
    found = spread(np.array([[-1.0, 1.0], [-2.0, 2.0], [0.0, 0.5]]))
    assert (found.most_up, found.most_down) == (3.5, 3.0)

    def told(least: float, most: float) -> float:
        return float(chance(np.array(0.0), found, np.array(least), np.array(most)))

    assert told(-3.0, 3.5) == 1.0
    assert 0.95 < told(-3.0, 3.4) < 1.0
    assert 0.95 < told(-2.9, 3.5) < 1.0


@pytest.mark.parametrize(
    ("figure", "least", "most", "expected"),
    [(1.0, -inf, 1.0, 1.0), (1.1, -inf, 1.0, 0.0), (1.0, 1.0, 2.0, 1.0), (0.9, 1.0, 2.0, 0.0)],
)
def test_where_nothing_is_uncertain_it_is_a_comparison(figure, least, most, expected):
    for moved in (np.zeros((0, 2)), np.zeros((3, 2))):
        told = chance(np.array(figure), spread(moved), np.array(least), np.array(most))
        assert told == expected


def test_what_cannot_be_worked_out_at_an_end_makes_nothing_certain():
    """A tolerance that reaches where there is no figure: a move without end, even odds at best."""
    found = spread(np.array([[nan, 0.1], [-0.1, 0.1]]))
    assert found.up == found.down == inf
    assert chance(np.array(0.0), found, np.array(-inf), np.array(100.0)) == 0.5
    assert chance(np.array(0.0), found, np.array(-100.0), np.array(100.0)) == 0.0
    # as read there is none at all
    assert chance(np.array(nan), found, np.array(-inf), np.array(100.0)) == 0.0


def test_a_chance_is_never_less_than_nothing():
    """Past the upper limit by 1 of u up, above the lower by a fifth of u down: .16 + .58 - 1."""
    found = Spread(*map(np.array, (1.0, 10.0, 9.0, 90.0)))
    assert chance(np.array(1.0), found, np.array(-1.0), np.array(0.0)) == 0.0


def test_what_all_moves_together_reach_is_not_certain_in_the_smallest_figures_either():
    """A room of 1e-12 m^3 that is moved by 2e-12 at most, u 1e-12: one u inside the limit."""
    found = Spread(*map(np.array, (1e-12, 1e-12, 2e-12, 2e-12)))
    told = chance(np.array(0.0), found, np.array(-inf), np.array(1e-12))
    assert told == pytest.approx(norm.cdf(1.0))


def test_shares_are_those_of_each_figure():
    """Two readings, two figures: 3 and 4 upwards in the first, 1 alone in the second."""
    moved = np.array([[[-3.0, 0.0], [3.0, 1.0]], [[0.0, 0.0], [4.0, 0.0]]])
    assert shares(moved, upwards=True).T.tolist() == [[0.36, 0.64], [1.0, 0.0]]


def test_a_figure_without_end_keeps_no_upper_limit_and_any_lower_one():
    none = spread(np.zeros((0, 2)))
    assert chance(np.array(inf), none, np.array(-inf), np.array(1.0)) == 0.0
    assert chance(np.array(inf), none, np.array(1.0), np.array(inf)) == 1.0


# of six decimals: a square of less underflows, which no figure does
FINITE = st.floats(-10.0, 10.0).map(lambda value: round(value, 6))
MOVES = st.lists(st.tuples(FINITE, FINITE), min_size=1, max_size=6).map(np.array)


@given(moved=MOVES)
def test_shares_of_each_side_sum_to_one(moved):
    found = spread(moved)
    for way, side in ((True, found.up), (False, found.down)):
        parts = shares(moved, way)
        that_way = np.maximum(moved if way else -moved, 0.0).max(axis=1) ** 2
        assert parts * that_way.sum() == pytest.approx(that_way)
        assert parts.sum() == pytest.approx(1.0 if (side**2 > 0.0).all() else 0.0)


@given(moved=MOVES, middle=FINITE, limit=FINITE)
def test_a_chance_is_the_same_in_any_unit(moved, middle, limit):
    """In mm^3 as in m^3: nothing in it is small or large by itself."""
    here, there = (
        chance(np.array(middle * by), spread(moved * by), np.array(-inf), np.array(limit * by))
        for by in (1.0, 2.0**-30)
    )
    assert here == pytest.approx(there, abs=1e-12)


@given(moved=MOVES, middle=FINITE, limit=FINITE, further=st.floats(0.0, 10.0), other=FINITE)
def test_a_wider_limit_is_kept_no_less(moved, middle, limit, further, other):
    found = spread(moved)

    def told(least: float, most: float) -> float:
        return float(chance(np.array(middle), found, np.array(least), np.array(most)))

    least, most = min(limit, other), max(limit, other)
    assert 0.0 <= told(least, most) <= 1.0
    assert told(least, most) <= told(least, most + further) + 1e-12
    assert told(least, most) <= told(least - further, most) + 1e-12
    assert told(least, most) <= min(told(-inf, most), told(least, inf)) + 1e-12


@given(moved=MOVES, middle=FINITE, within=st.floats(0.0, 10.0))
def test_left_less_right_is_within_a_limit_as_right_less_left_is(moved, middle, within):
    one_way, other_way = (
        chance(np.array(sign * middle), spread(sign * moved), np.array(-within), np.array(within))
        for sign in (1.0, -1.0)
    )
    assert one_way == pytest.approx(other_way, abs=1e-12)


@cache
def _twins() -> list[Damper]:
    return Car(3).dampers


def test_a_difference_is_held_signed_against_both_ends_of_its_limit():
    """Left and right alike but for their pieces: as likely apart one way as the other."""
    found = together_of(_twins(), "damping", [0, 1], difference)
    u = found.spread
    limit = np.full_like(found.middle, 1.2 * float(u.up[0, 0]))
    above, below = (
        chance(found.middle, u, *limits)[0, 0]
        for limits in ((-limit * inf, limit), (-limit, limit * inf))
    )
    assert above == pytest.approx(below, abs=0.01)
    both = chance(found.middle, u, -limit, limit)[0, 0]
    assert both == pytest.approx(above + below - 1.0)

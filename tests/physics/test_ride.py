"""Damper and spring at the wheel."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.constants import g as standard_gravity

from buildlint.physics import ride

rates = st.floats(100.0, 5000.0)
masses = st.floats(0.2, 10.0)
ratios = st.floats(0.3, 1.5)


def test_rao_example_2_14() -> None:
    # Rao, Mechanical Vibrations: 200 kg, damped period 2 s, a quarter of the swing left after half
    # a cycle. Printed: zeta 0.4037, k 2358.27, c_c 1373.54, c 554.50; the last digits are rounded.
    rate, mass, damping = 2358.27, 200.0, 554.50
    assert ride.critical_damping(rate, mass) == pytest.approx(1373.54, rel=1e-4)
    zeta = ride.damping_ratio(damping, rate, mass, 1.0)
    assert zeta == pytest.approx(0.4037, rel=1e-4)
    # What the example asks for: the damped period, and the swing left.
    damped = ride.natural_frequency(rate, mass) * math.sqrt(1 - zeta**2)
    assert 1 / damped == pytest.approx(2.0, rel=1e-4)
    decrement = 2 * math.pi * zeta / math.sqrt(1 - zeta**2)
    assert math.exp(-decrement / 2) == pytest.approx(0.25, rel=1e-4)


def test_a_car() -> None:
    # Derived: k 0.85 N/mm, motion ratio 0.65, 0.8 kg, c 45.959 N s/m.
    rate = ride.wheel_rate(850.0, 0.65)
    assert rate == pytest.approx(359.125, abs=5e-4)
    assert ride.critical_damping(359.125, 0.8) == pytest.approx(33.900, abs=5e-4)
    assert ride.natural_frequency(359.125, 0.8) == pytest.approx(3.372, abs=5e-4)
    assert ride.damping_ratio(45.959, 850.0, 0.8, 0.65) == pytest.approx(0.5728, abs=5e-5)


@given(rates, masses, ratios, st.floats(1.0, 100.0))
def test_energy_is_the_same_at_wheel_and_damper(
    rate: float, mass: float, ratio: float, damping: float
) -> None:
    # A wheel travel of 1 moves the damper by the motion ratio: same work, same power.
    assert ride.wheel_rate(rate, ratio) == pytest.approx(rate * ratio**2, rel=1e-12)
    assert ride.wheel_damping(damping, ratio) == pytest.approx(damping * ratio**2, rel=1e-12)
    # At the critical damping the two roots of m s^2 + c s + k fall together.
    critical = ride.critical_damping(rate, mass)
    assert critical**2 == pytest.approx(4 * mass * rate, rel=1e-12)
    assert ride.damping_ratio(critical / ratio, rate, mass, ratio) == pytest.approx(1.0, rel=1e-12)


def test_no_damping_is_a_ratio_of_zero() -> None:
    assert ride.damping_ratio(0.0, 850.0, 0.8, 0.65) == 0.0


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_numbers_that_must_be_above_zero_give_nan(bad: float) -> None:
    assert math.isnan(ride.wheel_rate(bad, 0.65))
    assert math.isnan(ride.wheel_rate(850.0, bad))
    assert math.isnan(ride.wheel_damping(45.959, bad))
    assert math.isnan(ride.critical_damping(850.0, bad))
    assert math.isnan(ride.damping_ratio(45.959, 850.0, bad, 0.65))
    assert math.isnan(ride.natural_frequency(bad, 0.8))
    assert math.isnan(ride.natural_frequency(850.0, bad))


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_nothing_sags_without_a_mass_a_spring_and_a_lever(bad: float) -> None:
    assert math.isnan(ride.sag(bad, 850.0, 0.65, 0.0))
    assert math.isnan(ride.sag(0.8, bad, 0.65, 0.0))
    assert math.isnan(ride.sag(0.8, 850.0, bad, 0.0))


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_a_preload_that_is_no_number_gives_nan(bad: float) -> None:
    assert math.isnan(ride.sag(0.8, 850.0, 0.65, bad))


@given(masses, rates, ratios, st.floats(-0.05, 0.05))
def test_at_its_sag_the_spring_holds_the_mass(
    mass: float, rate: float, ratio: float, preload: float
) -> None:
    # Virtual work: wheel travel 1, shaft travel `ratio`, spring force k (preload + sag).
    assert standard_gravity == ride.STANDARD_GRAVITY
    force = rate * (preload + ride.sag(mass, rate, ratio, preload))
    assert force * ratio == pytest.approx(mass * standard_gravity, rel=1e-9)


def test_negative_damping_gives_nan() -> None:
    assert math.isnan(ride.wheel_damping(-1.0, 0.65))


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_nothing_is_critical_without_a_spring(bad: float) -> None:
    assert math.isnan(ride.critical_damping(bad, 0.8))

"""Atmosphere, trapped and dissolved air."""

import math

import pytest
from ambiance import Atmosphere
from CoolProp.CoolProp import PropsSI
from fluids import ATMOSPHERE_1976
from hypothesis import given
from hypothesis import strategies as st

from buildlint.physics import gas

MM3 = 1e-9
SEA_LEVEL = 101325.0


@pytest.mark.parametrize(
    ("altitude", "pressure"),
    [
        (0, 101325.0),
        (500, 95461.3),
        (1000, 89876.3),
        (1500, 84559.7),
        (2000, 79501.4),
        (2500, 74691.8),
        (3000, 70121.2),
    ],
)
def test_standard_atmosphere(altitude: float, pressure: float) -> None:
    # US Standard Atmosphere 1976, as fluids and ambiance print it.
    value = gas.standard_pressure(altitude)
    assert value == pytest.approx(pressure, abs=0.05)
    assert value == pytest.approx(ATMOSPHERE_1976(altitude).P, rel=1e-9)
    assert value == pytest.approx(float(Atmosphere(altitude).pressure[0]), abs=0.05)


@given(st.floats(-500.0, 11000.0))
def test_standard_atmosphere_against_fluids(altitude: float) -> None:
    assert gas.standard_pressure(altitude) == pytest.approx(ATMOSPHERE_1976(altitude).P, rel=1e-9)


@given(st.floats(-500.0, 10999.0), st.floats(0.01, 1.0))
def test_pressure_falls_with_altitude(altitude: float, step: float) -> None:
    assert gas.standard_pressure(altitude + step) < gas.standard_pressure(altitude)


def test_the_highest_cabin_altitude() -> None:
    # 14 CFR 25.841(a): 8,000 ft, where the standard atmosphere has 75.3 kPa.
    assert pytest.approx(8000 * 0.3048) == gas.CABIN_ALTITUDE
    assert gas.standard_pressure(gas.CABIN_ALTITUDE) / 1e3 == pytest.approx(75.3, abs=0.05)


@pytest.mark.parametrize("altitude", [-500.1, 11000.1, math.nan, math.inf])
def test_an_altitude_outside_the_troposphere_gives_nan(altitude: float) -> None:
    assert math.isnan(gas.standard_pressure(altitude))


def test_air_left_in_the_oil_grows_with_heat_and_altitude() -> None:
    # By hand, the ideal gas law: 310/300 for heat, 100/80 for pressure.
    air = 60 * MM3
    heat = gas.air_change(air, 300.0, 1e5, 310.0, 1e5)
    height = gas.air_change(air, 300.0, 1e5, 300.0, 8e4)
    both = gas.air_change(air, 300.0, 1e5, 310.0, 8e4)
    assert heat / MM3 == pytest.approx(2.0, rel=1e-12)
    assert height / MM3 == pytest.approx(15.0, rel=1e-12)
    assert both / MM3 == pytest.approx(17.5, rel=1e-12)
    assert gas.air_change(air, 300.0, 1e5, 300.0, 1e5) == 0.0


@pytest.mark.parametrize(("exponent", "kpa"), [(1.0, 110.157), (1.4, 113.902)])
def test_pressure_over_a_bladder_with_600_mm3_of_gas(exponent: float, kpa: float) -> None:
    # Derived: 48.106 mm^3 taken.
    value = gas.sealed_pressure(SEA_LEVEL, 600 * MM3, 48.106 * MM3, 298.15, 298.15, exponent)
    assert value / 1e3 == pytest.approx(kpa, abs=5e-4)


def test_pressure_over_a_bladder_against_real_air() -> None:
    # CoolProp's real air: 110.153 and 113.915 kPa. The ideal gas is within 0.02 % of it.
    bench = ("T", 293.15, "P", SEA_LEVEL, "Air")
    density = PropsSI("D", *bench) * 600 / (600 - 48.106)
    slow = PropsSI("P", "T", 293.15, "D", density, "Air")
    quick = PropsSI("P", "S", PropsSI("S", *bench), "D", density, "Air")
    assert slow / 1e3 == pytest.approx(110.153, abs=5e-4)
    assert quick / 1e3 == pytest.approx(113.915, abs=5e-4)

    def sealed(exponent: float) -> float:
        return gas.sealed_pressure(SEA_LEVEL, 600 * MM3, 48.106 * MM3, 293.15, 293.15, exponent)

    assert sealed(1.0) == pytest.approx(slow, rel=2e-4)
    assert sealed(1.4) == pytest.approx(quick, rel=2e-4)


def test_pressure_over_a_bladder_with_1000_mm3_of_gas_in_the_heat() -> None:
    # Derived: 336.295 mm^3 taken, 30 K warmer. By hand: p0 / 0.663705 times 328.15 / 298.15.
    value = gas.sealed_pressure(SEA_LEVEL, 1000 * MM3, 336.295 * MM3, 298.15, 328.15)
    assert value == pytest.approx(SEA_LEVEL / 0.663705 * 328.15 / 298.15, rel=1e-12)


def test_pressure_of_gas_warmed_at_constant_volume() -> None:
    # Against CoolProp's real air, 30 K warmer. The ideal gas is within 0.03 % of it.
    density = PropsSI("D", "T", 293.15, "P", SEA_LEVEL, "Air")
    real = PropsSI("P", "T", 323.15, "D", density, "Air")
    value = gas.sealed_pressure(SEA_LEVEL, 600 * MM3, 0.0, 293.15, 323.15)
    assert value == pytest.approx(real, rel=3e-4)


@pytest.mark.parametrize("taken", [600 * MM3, 601 * MM3])
@pytest.mark.parametrize("exponent", [1.0, 1.4])
def test_a_damper_locks_when_all_the_gas_is_taken(taken: float, exponent: float) -> None:
    locked = gas.sealed_pressure(SEA_LEVEL, 600 * MM3, taken, 298.15, 298.15, exponent)
    assert locked == math.inf
    assert gas.push_out_force(0.0035, locked, SEA_LEVEL) == math.inf


@given(st.floats(-600.0, 590.0), st.floats(0.01, 9.0), st.floats(1.0, 1.4))
def test_pressure_rises_as_gas_is_taken(taken: float, more: float, exponent: float) -> None:
    def sealed(volume: float) -> float:
        return gas.sealed_pressure(SEA_LEVEL, 600.0, volume, 298.15, 298.15, exponent)

    assert sealed(taken + more) > sealed(taken)


def test_push_out_force() -> None:
    # By hand: a shaft of 3.5 mm has 9.6211 mm^2; 10 kPa on it is 0.096211 N.
    assert gas.push_out_force(0.0035, 110e3, 100e3) == pytest.approx(0.096211, abs=5e-7)
    assert gas.push_out_force(0.0035, 100e3, 110e3) == pytest.approx(-0.096211, abs=5e-7)


def test_air_freed_after_a_flight() -> None:
    # By hand: 9 mL with 0.19 of air, from 100 to 75 kPa: a third of 1.71 mL.
    assert gas.freed_air(9e-6, 100e3, 75e3) * 1e6 == pytest.approx(0.57, rel=1e-12)
    assert gas.freed_air(9e-6, 100e3, 75e3, ostwald=0.10) * 1e6 == pytest.approx(0.30, rel=1e-12)


def test_no_air_is_freed_when_the_pressure_does_not_drop() -> None:
    assert gas.freed_air(9e-6, 100e3, 100e3) == 0.0
    assert gas.freed_air(9e-6, 75e3, 100e3) == 0.0


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_temperatures_and_pressures_that_cannot_be_give_nan(bad: float) -> None:
    assert math.isnan(gas.air_change(MM3, bad, 1e5, 300.0, 1e5))
    assert math.isnan(gas.air_change(MM3, 300.0, bad, 300.0, 1e5))
    assert math.isnan(gas.air_change(MM3, 300.0, 1e5, bad, 1e5))
    assert math.isnan(gas.air_change(MM3, 300.0, 1e5, 300.0, bad))
    assert math.isnan(gas.sealed_pressure(bad, MM3, 0.0, 300.0, 300.0))
    assert math.isnan(gas.sealed_pressure(1e5, bad, 0.0, 300.0, 300.0))
    assert math.isnan(gas.sealed_pressure(1e5, MM3, 0.0, bad, 300.0))
    assert math.isnan(gas.sealed_pressure(1e5, MM3, 0.0, 300.0, bad))
    assert math.isnan(gas.freed_air(9e-6, 1e5, bad))


def test_other_numbers_out_of_range_give_nan() -> None:
    assert math.isnan(gas.air_change(-MM3, 300.0, 1e5, 300.0, 1e5))
    assert math.isnan(gas.sealed_pressure(1e5, MM3, math.nan, 300.0, 300.0))
    assert math.isnan(gas.sealed_pressure(1e5, MM3, 0.0, 300.0, 300.0, 0.9))
    assert math.isnan(gas.push_out_force(0.0035, -1.0, 1e5))
    assert math.isnan(gas.push_out_force(0.0035, 1e5, math.inf))
    assert math.isnan(gas.freed_air(-9e-6, 1e5, 8e4))
    assert math.isnan(gas.freed_air(9e-6, 1e5, 8e4, -0.1))


@pytest.mark.parametrize("altitude", [-500.0, 11000.0])
def test_the_atmosphere_reaches_to_both_its_ends(altitude: float) -> None:
    # fluids has the same standard; a metre past either end gives nan.
    expected = ATMOSPHERE_1976(altitude).P
    assert gas.standard_pressure(altitude) == pytest.approx(expected, rel=1e-6)
    assert math.isnan(gas.standard_pressure(altitude + math.copysign(1.0, altitude)))


def test_gas_squeezed_to_next_to_nothing_has_no_end() -> None:
    # A billion times as dense, to the power of 100: 1e900, past every float.
    left = 1e-9
    assert gas.sealed_pressure(1e5, 1.0, 1.0 - left, 300.0, 300.0, 100.0) == math.inf


def test_a_shaft_is_drawn_in_by_all_the_air_where_nothing_is_inside() -> None:
    # By hand: 101325 Pa on pi/4 3.5^2 mm^2.
    force = gas.push_out_force(0.0035, 0.0, 101325.0)
    assert force == pytest.approx(-101325.0 * math.pi / 4 * 0.0035**2)


def test_an_exponent_without_end_and_a_pressure_of_nothing_give_nan() -> None:
    assert math.isnan(gas.sealed_pressure(1e5, MM3, 0.0, 300.0, 300.0, math.inf))
    assert math.isnan(gas.freed_air(9e-6, 0.0, 8e4))

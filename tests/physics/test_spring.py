"""Coil springs."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.constants import inch, lbf, psi

from buildlint.physics import spring

PER_INCH = lbf / inch  # N/m in one lbf/in


def test_shigley_example_10_1() -> None:
    # Shigley's Mechanical Engineering Design, 10th ed., prints 4.13 lbf/in.
    rate = spring.wire_rate(0.037 * inch, 0.400 * inch, 10.5, 11.85e6 * psi)
    assert rate / PER_INCH == pytest.approx(4.13, abs=5e-3)
    assert rate / PER_INCH == pytest.approx(4.1311, abs=5e-5)
    # 1 lbf/in is 0.1751268 N/mm.
    assert rate / 1e3 == pytest.approx(4.1311 * 0.1751268, abs=1e-5)


def test_solid_length_against_shigley_example_10_1() -> None:
    # Prints 0.500 in (0.4995) for ends squared but not ground, which is one wire more than ours.
    ground = spring.solid_length(0.037 * inch, 10.5)
    assert ground / inch + 0.037 == pytest.approx(0.4995, abs=1e-9)


def test_a_published_spring_of_quarter_inch_wire() -> None:
    # A published spring-design text prints 89 lb/in; derived: 89.49.
    rate = spring.wire_rate(0.250 * inch, 1.69 * inch, 13, 11.5e6 * psi)
    assert rate / PER_INCH == pytest.approx(89.49, abs=5e-3)


def test_a_damper_spring() -> None:
    # Derived: 1.6 mm wire, 20 mm mean diameter, 6 coils, 81.5 GPa.
    assert spring.SHEAR_MODULUS == 81.5e9
    rate = spring.wire_rate(0.0016, 0.020, 6, 81.5e9)
    assert rate / 1e3 == pytest.approx(1.390933, abs=5e-7)


@given(st.floats(0.5e-3, 3e-3), st.floats(6.0, 30.0), st.floats(2.0, 20.0))
def test_a_rate_follows_its_powers(wire: float, index: float, coils: float) -> None:
    # d^4, D^-3 and 1/n, one at a time.
    mean = wire * index
    rate = spring.wire_rate(wire, mean, coils, 80e9)
    assert spring.wire_rate(2 * wire, mean, coils, 80e9) == pytest.approx(16 * rate)
    assert spring.wire_rate(wire, 2 * mean, coils, 80e9) == pytest.approx(rate / 8)
    assert spring.wire_rate(wire, mean, 2 * coils, 80e9) == pytest.approx(rate / 2)


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_numbers_that_must_be_above_zero_give_nan(bad: float) -> None:
    assert math.isnan(spring.wire_rate(bad, 0.020, 6, 81.5e9))
    assert math.isnan(spring.wire_rate(0.0016, bad, 6, 81.5e9))
    assert math.isnan(spring.wire_rate(0.0016, 0.020, bad, 81.5e9))
    assert math.isnan(spring.wire_rate(0.0016, 0.020, 6, bad))
    assert math.isnan(spring.solid_length(bad, 6))
    assert math.isnan(spring.solid_length(0.0016, bad))


def test_wire_as_thick_as_its_coil_gives_nan() -> None:
    assert math.isnan(spring.wire_rate(0.020, 0.020, 6, 81.5e9))


@pytest.mark.parametrize("modulus", [11.85e6 * psi, 81.7e9, 81.0e9, 79.3e9, 77.2e9])
def test_the_tolerance_of_the_modulus_covers_the_usual_wires(modulus: float) -> None:
    # Shigley's example 10-1, and a table of spring materials: music wire, hard drawn, oil tempered.
    usual = spring.SHEAR_MODULUS
    assert usual == 81.5e9
    assert (spring.SHEAR_MODULUS_BELOW, spring.SHEAR_MODULUS_ABOVE) == (0.06, 0.02)
    assert usual * 0.94 <= modulus <= usual * 1.02

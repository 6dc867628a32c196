"""Readings' tolerances combined."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from buildlint.physics import uncertainty
from buildlint.physics.displacement import need_into_cap

ROOT_3 = math.sqrt(3)


def test_a_shaft_and_a_hold_back() -> None:
    # d 3.5 +- 0.02, h 10 +- 0.5 mm as limits: derived, and live with uncertainties.
    worst = [
        need_into_cap(d * 1e-3, h * 1e-3, 0.0, 0.0) * 1e9
        for d, h in ((3.48, 9.5), (3.5, 10.0), (3.52, 10.5))
    ]
    assert worst == pytest.approx([90.359, 96.211, 102.180], abs=5e-4)

    diameter, hold_back = ufloat(3.5, 0.02 / ROOT_3), ufloat(10, 0.5 / ROOT_3)
    live = math.pi / 4 * diameter**2 * hold_back
    halves = (2 * 96.211 / 3.5 * 0.02, 96.211 / 10 * 0.5)
    combined = uncertainty.combined(halves)
    assert combined == pytest.approx(2.849, abs=5e-4)
    assert combined == pytest.approx(live.std_dev, rel=1e-5)
    assert uncertainty.expanded(combined) == pytest.approx(5.698, abs=5e-4)


def test_gum_example_h_1() -> None:
    # JCGM 100:2008, H.1, an end gauge of 50 mm, in nm and degC: prints u_c = 32 nm.
    standard, coefficient, off = 50.000623e6, 11.5e-6, -0.1
    comparison = (5.8, 3.9, 6.7)
    difference_of_coefficients, difference_of_temperatures = 1e-6, 0.05  # limits

    length = ufloat(standard, 25.0)
    delta_alpha = ufloat(0.0, difference_of_coefficients / ROOT_3)
    delta_theta = ufloat(0.0, difference_of_temperatures / ROOT_3)
    alpha, theta = ufloat(coefficient, 2e-6 / ROOT_3), ufloat(off, 0.41)
    difference = ufloat(215.0, comparison[0]) + sum(ufloat(0.0, u) for u in comparison[1:])
    live = length + difference - length * (delta_alpha * theta + alpha * delta_theta)
    assert live.std_dev == pytest.approx(31.66, abs=5e-3)

    halves = [
        # Standard uncertainties as printed, so widened to limits.
        *(u * ROOT_3 for u in (25.0, *comparison)),
        abs(standard * off) * difference_of_coefficients,
        standard * coefficient * difference_of_temperatures,
    ]
    combined = uncertainty.combined(halves)
    assert combined == pytest.approx(live.std_dev, rel=1e-9)
    assert round(combined) == 32


@given(st.lists(st.floats(1e-9, 1e3), min_size=1, max_size=8))
def test_combined_against_uncertainties(halves: list[float]) -> None:
    live = sum(ufloat(0.0, half / ROOT_3) for half in halves)
    assert uncertainty.combined(halves) == pytest.approx(live.std_dev, rel=1e-9)


def test_one_reading_and_none() -> None:
    # JCGM 100:2008, 4.3.7: a rectangular distribution of half-width a has a/sqrt(3).
    assert uncertainty.combined((ROOT_3,)) == pytest.approx(1.0, rel=1e-14)
    assert uncertainty.combined(()) == 0.0


def test_expanded_with_another_coverage_factor() -> None:
    assert uncertainty.expanded(2.0, k=3.0) == 6.0


@pytest.mark.parametrize("bad", [-1.0, math.nan, math.inf])
def test_numbers_out_of_range_give_nan(bad: float) -> None:
    assert math.isnan(uncertainty.combined((1.0, bad)))
    assert math.isnan(uncertainty.expanded(bad))
    assert math.isnan(uncertainty.expanded(1.0, bad))

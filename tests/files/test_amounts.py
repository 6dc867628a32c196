"""Figures as people read them."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlint.files.amounts import amount, decimals, float_of, in_unit, plain_number, told_apart


@pytest.mark.parametrize(
    ("value", "unit", "expected"),
    [
        (0.0064, "mm", 6.4),
        (3e-7, "mm^3", 300.0),
        (450e-6, "cSt", 450.0),
        (850.0, "N/mm", 0.85),
        (101325.0, "kPa", 101.325),
        (0.82, "g", 820.0),
        (968.0, "g/cm^3", 0.968),
        (172800.0, "day", 2.0),
        (5400.0, "h", 1.5),
        (1.07, "1", 1.07),
        (2.1, "Hz", 2.1),
    ],
)
def test_si_comes_into_the_unit_of_a_measure(value: float, unit: str, expected: float) -> None:
    assert in_unit(value, unit) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (0.0064, "mm", "6.4 mm"),
        (0.00644, "mm", "6.4 mm"),
        (3.004e-7, "mm^3", "300 mm^3"),
        (1.0712, "1", "107 %"),
        (850.0, "N/mm", "0.85 N/mm"),
        (0.968e3, "g/cm^3", "0.968 g/cm^3"),
        (-0.00001, "mm", "0.0 mm"),
        (-0.0064, "mm", "-6.4 mm"),
        (math.inf, "kPa", "without end"),
        (-math.inf, "1", "without end"),
        (math.nan, "mm", "without end"),
    ],
)
def test_an_amount_has_the_digits_that_count(value: float, unit: str, text: str) -> None:
    assert amount(value, unit) == text


def test_an_amount_may_have_more_digits_up_to_six() -> None:
    assert amount(0.0064, "mm", 2) == "6.400 mm"
    assert amount(0.0064, "mm", 99) == "6.400000 mm"


@pytest.mark.parametrize(
    ("value", "unit", "more", "text"),
    [
        (6.4, "mm", 0, "6.4"),
        (6.4, "mm", 1, "6.40"),
        (0.229, "1", 0, "22.9"),
        (None, "mm", 0, "-"),
        (math.inf, "mm", 0, "no end"),
        (450.4, "cSt", 0, "450"),
    ],
)
def test_decimals_in_a_table(value: float | None, unit: str, more: int, text: str) -> None:
    assert decimals(value, unit, more) == text


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (0.0005, "mm", "0.5 mm"),
        (1.0, "1", "100 %"),
        (0.9, "1", "90 %"),
        (0.001, "mm", "1 mm"),
        (1 / 3, "1", "33.3333 %"),
        (0.1 + 0.2, "1", "30 %"),  # 0.30000000000000004: the noise of floats is not shown
    ],
)
def test_a_limit_is_said_as_short_as_it_can_be(value: float, unit: str, text: str) -> None:
    assert plain_number(value, unit) == text


@pytest.mark.parametrize(
    ("value", "limit", "unit", "text"),
    [
        (1.0712, 1.0, "1", ("107 %", "100 %")),
        (1.0004, 1.0, "1", ("100.04 %", "100 %")),
        (0.99996, 1.0, "1", ("99.996 %", "100 %")),
        (1.0, 1.0, "1", ("100 %", "100 %")),
        (0.00101, 0.001, "mm", ("1.01 mm", "1 mm")),
        (math.inf, 0.001, "mm", ("without end", "1 mm")),
    ],
)
def test_a_figure_and_its_limit_are_told_apart(
    value: float, limit: float, unit: str, text: tuple[str, str]
) -> None:
    assert told_apart(value, limit, unit) == text


@given(st.floats(0.5, 1.5), st.integers(50, 150))
def test_what_is_over_a_limit_is_shown_over_it(value: float, limit: int) -> None:
    shown, said = told_apart(value, limit / 100, "1")
    # apart by more than the last of six digits behind the point of a per cent
    if abs(value * 100 - limit) > 1e-6:
        assert (float_of(shown) > float_of(said)) == (value > limit / 100)
        assert float_of(shown) != float_of(said)
    assert float_of(said) == limit


def test_the_number_at_the_front_of_a_text() -> None:
    assert float_of("6.4 mm") == 6.4
    assert float_of("without end") == math.inf

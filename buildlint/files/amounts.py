"""Figures as people read them: from SI into the unit of a measure, with the digits that count."""

from __future__ import annotations

from math import isfinite

from buildlint.files.unit_sizes import SIZES
from buildlint.files.units import dimension_of

__all__ = [
    "amount",
    "apart_in_unit",
    "decimals",
    "in_unit",
    "plain_number",
    "told_apart",
    "unit_in_words",
    "unit_of",
]

# Digits behind the point that the reading behind a figure is good for.
_DIGITS = {
    "mm": 1,
    "mm^3": 0,
    "cSt": 0,
    "N s/m": 1,
    "N/mm": 2,
    "Hz": 2,
    "m/s": 2,
    "kPa": 1,
    "g": 0,
    "g/cm^3": 3,
    "1": 0,
    "day": 0,
    "h": 1,
    "step": 0,
    "degC": 0,
}
_MOST_DIGITS = 6

# Units as people read them.
_SHOWN = {"1": "%", "step": "steps", "day": "days"}


def in_unit(value: float, unit: str) -> float:
    """Bring a figure from SI into its unit; a share stays as it is.

    >>> round(in_unit(0.0064, "mm"), 6), in_unit(289.15, "degC")
    (6.4, 16.0)
    """
    if unit in ("1", "step"):
        return value
    size, zero = SIZES[dimension_of(unit)[0]][unit]
    return (value - zero) / size


def apart_in_unit(value: float, unit: str) -> float:
    """Bring how far two figures lie apart from SI into their unit: a degree is a degree.

    >>> apart_in_unit(3.0, "degC"), round(apart_in_unit(0.001, "mm"), 6)
    (3.0, 1.0)
    """
    if unit in ("1", "step"):
        return value
    return value / SIZES[dimension_of(unit)[0]][unit][0]


def unit_of(unit: str) -> str | None:
    """Return the unit of a measure's figures; None where they are words: an id, yes or no.

    >>> unit_of("mm"), unit_of("yes")
    ('mm', None)
    """
    return None if unit in ("id", "yes") else unit


def amount(value: float, unit: str, more_digits: int = 0) -> str:
    """Return a figure in SI as text with its unit; a share in per cent.

    >>> amount(0.0064, "mm"), amount(1.0712, "1"), amount(float("inf"), "kPa")
    ('6.4 mm', '107 %', 'without end')
    >>> amount(0.25 * 0.0254, "mm")  # 6.35 mm
    '6.4 mm'
    """
    if not isfinite(value):
        return "without end"
    shown = in_unit(value, unit) * (100.0 if unit == "1" else 1.0)
    shown *= 1.0 + 1e-12  # a half goes up, whatever its last bit
    digits = min(_DIGITS[unit] + more_digits, _MOST_DIGITS)
    text = f"{shown:.{digits}f}"
    if float(text) == 0.0:
        text = text.lstrip("-")
    return f"{text} {unit_in_words(unit, text)}"


def unit_in_words(unit: str, number: str = "") -> str:
    """Return a unit as people read it, behind a number.

    >>> unit_in_words("1"), unit_in_words("mm"), unit_in_words("day", "1")
    ('%', 'mm', 'day')
    """
    one = number.lstrip("-") == "1" and unit in ("step", "day")
    return unit if one else _SHOWN.get(unit, unit)


def decimals(value: float | None, unit: str, more_digits: int = 0) -> str:
    """Return a figure that is in its unit already as text without it, in tables.

    >>> decimals(6.4, "mm"), decimals(0.229, "1"), decimals(None, "mm")
    ('6.4', '22.9', '-')
    """
    if value is None:
        return "-"
    if not isfinite(value):
        return "no end"
    if unit == "1":
        return f"{value * 100.0:.{1 + more_digits}f}"
    return f"{value:.{_DIGITS[unit] + more_digits}f}"


def told_apart(value: float, limit: float, unit: str) -> tuple[str, str]:
    """Return a figure and its limit with enough digits that the text shows which is larger.

    >>> told_apart(1.0004, 1.0, "1")
    ('100.04 %', '100 %')
    """
    shown = amount(limit, unit)
    if value == limit:
        return amount(value, unit), shown
    said = plain_number(limit, unit)
    for more in range(_MOST_DIGITS + 1):
        text = amount(value, unit, more)
        # as they are shown: 0.55 * 100 is not 55 to the last bit
        if float_of(text) != float_of(said):
            break
    return text, said


def plain_number(value: float, unit: str) -> str:
    """Return a limit as short as it can be said: 100 %, 0.5 mm.

    >>> plain_number(0.0005, "mm"), plain_number(1.0, "1")
    ('0.5 mm', '100 %')
    """
    shown = in_unit(value, unit) * (100.0 if unit == "1" else 1.0)
    text = f"{float(f'{shown:.6g}'):g}"
    return f"{text} {unit_in_words(unit, text)}"


def float_of(text: str) -> float:
    """Return the number at the front of a text that `amount` made."""
    try:
        return float(text.split(" ")[0])
    except ValueError:
        return float("inf")

"""Figures and conditions as the bench sheet writes them: as short as they can be said exactly."""

from __future__ import annotations

from math import ceil, floor

from buildlint.files.amounts import in_unit
from buildlint.files.unit_sizes import SIZES
from buildlint.text.words import clean

__all__ = ["WHEN", "caliper", "cut", "inside", "number", "quantity", "typeset", "within"]

#: The conditions in words.
WHEN = {"bench": "at the bench", "cold": "when cold", "hot": "when hot"}

_INCH = 0.0254
_ZERO_CELSIUS = 273.15
_TYPESET = {"mm^3": "mm³", "degC": "°C", "N s/m": "N s/m", "1": "%"}

# The longest note that is shown whole.
_LONGEST_NOTE = 400


def typeset(unit: str) -> str:
    """Return a unit as it is printed.

    >>> typeset("mm^3"), typeset("1"), typeset("cSt")
    ('mm³', '%', 'cSt')
    """
    return _TYPESET.get(unit, unit)


def number(value: float, digits: int = 5) -> str:
    """Return a number with so many digits that count, and none that say nothing.

    >>> number(104.2), number(34.925), number(9100.0), number(0.30000000000000004, 3)
    ('104.2', '34.925', '9100', '0.3')
    """
    text = f"{float(f'{value:.{digits}g}'):.6f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def quantity(value: float, unit: str, digits: int = 5) -> str:
    """Return a figure in SI in a unit; a share in per cent, a temperature in degrees.

    >>> quantity(0.0064, "mm"), quantity(0.62, "1"), quantity(289.15, "degC")
    ('6.4 mm', '62 %', '16 °C')
    """
    return f"{number(_shown(value, unit), digits)} {typeset(unit)}"


def caliper(value: float, unit: str) -> str:
    """Return a length in SI as a caliper shows it, in the unit that it was written in.

    >>> caliper(0.0064, "mm"), caliper(0.00635, "in"), caliper(0.0064, "m")
    ('6.40 mm', '0.250 in', '6.40 mm')
    """
    inches = SIZES["length"].get(unit, (0.0, 0.0))[0] == _INCH
    return f"{value / _INCH:.3f} in" if inches else f"{value * 1e3:.2f} mm"


def inside(least: float, most: float, unit: str) -> str:
    """Return a span of lengths as a caliper shows it, and never wider than it is.

    >>> inside(0.00341, 0.02279, "mm"), inside(0.00341, 0.02279, "in")
    ('3.5 to 22.7 mm', '0.14 to 0.89 in')
    """
    step, digits = (_INCH / 100.0, 2) if caliper(0.0, unit).endswith("in") else (1e-4, 1)
    low, high = ceil(round(least / step, 6)), floor(round(most / step, 6))
    return f"{low / 10**digits:g} to {high / 10**digits:g} {caliper(0.0, unit).split()[1]}"


def within(least: float, most: float) -> str:
    """Return a span of lengths in mm, to a tenth, and never wider than it is.

    >>> within(0.00341, 0.02279), within(0.0, 0.028)
    ('3.5 to 22.7 mm', '0 to 28 mm')
    """
    low, high = ceil(round(least * 1e4, 6)), floor(round(most * 1e4, 6))
    return f"{number(low / 10.0)} to {number(high / 10.0)} mm"


def cut(note: str) -> str:
    """Return a note that may be long: its beginning, and where the rest stands."""
    text = clean(" ".join(note.split()))
    if len(text) <= _LONGEST_NOTE:
        return text
    return f"{text[:_LONGEST_NOTE].rstrip()} … (the rest stands in the file)"


def _shown(value: float, unit: str) -> float:
    if unit == "degC":
        return value - _ZERO_CELSIUS
    return in_unit(value, unit) * (100.0 if unit == "1" else 1.0)

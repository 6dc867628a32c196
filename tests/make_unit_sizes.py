"""Make files/unit_sizes.py from pint: `python tests/make_unit_sizes.py` prints, --write writes.

Each of our names is tied to one named unit of pint; pint never reads a user's text.
"""

from __future__ import annotations

import sys
from fractions import Fraction
from pathlib import Path

import pint

TARGET = Path(__file__).parent.parent / "buildlint" / "unit_sizes.py"

# dimension: (SI unit in pint's names, {our name: pint's name})
NAMES: dict[str, tuple[str, dict[str, str]]] = {
    "length": (
        "meter",
        {
            "mm": "millimeter",
            "cm": "centimeter",
            "m": "meter",
            "um": "micrometer",
            "in": "inch",
            '"': "inch",
            "ft": "foot",
            "thou": "thou",
        },
    ),
    "volume": (
        "meter**3",
        {
            "mm^3": "millimeter**3",
            "cm^3": "centimeter**3",
            "ml": "milliliter",
            "l": "liter",
        },
    ),
    "viscosity": (
        "meter**2/second",
        {"cSt": "centistokes", "mm^2/s": "millimeter**2/second", "St": "stokes"},
    ),
    "dynamic viscosity": (
        "pascal*second",
        {"cP": "centipoise", "mPa.s": "millipascal*second", "Pa.s": "pascal*second"},
    ),
    "temperature": (
        "kelvin",
        {"degC": "degree_Celsius", "degF": "degree_Fahrenheit", "K": "kelvin"},
    ),
    "pressure": (
        "pascal",
        {
            "Pa": "pascal",
            "hPa": "hectopascal",
            "kPa": "kilopascal",
            "bar": "bar",
            "mbar": "millibar",
            "psi": "psi",
            "atm": "standard_atmosphere",
            "inHg": "inch_Hg",
        },
    ),
    "spring rate": (
        "newton/meter",
        {
            "N/mm": "newton/millimeter",
            "N/m": "newton/meter",
            "lbf/in": "force_pound/inch",
            "gf/mm": "force_gram/millimeter",
            "kgf/mm": "force_kilogram/millimeter",
            "lb/in": "force_pound/inch",
            "g/mm": "force_gram/millimeter",
        },
    ),
    "mass": ("kilogram", {"g": "gram", "kg": "kilogram", "oz": "ounce", "lb": "pound"}),
    "density": (
        "kilogram/meter**3",
        {
            "g/ml": "gram/milliliter",
            "g/cm^3": "gram/centimeter**3",
            "kg/m^3": "kilogram/meter**3",
        },
    ),
    "share": ("dimensionless", {"%": "percent"}),
    "ratio": ("dimensionless", {"%": "percent"}),
    "time": ("second", {"min": "minute", "h": "hour", "day": "day"}),
    "expansion": ("1/kelvin", {"1/K": "1/kelvin", "/K": "1/kelvin"}),
    "stiffness": (
        "pascal",
        {"GPa": "gigapascal", "MPa": "megapascal", "Pa": "pascal", "psi": "psi", "Mpsi": "megapsi"},
    ),
    # Only in rules and reports: no field of a file takes these.
    "damping": ("newton*second/meter", {"N s/m": "newton*second/meter"}),
    "speed": ("meter/second", {"m/s": "meter/second"}),
    "frequency": ("hertz", {"Hz": "hertz"}),
}


def sizes() -> dict[str, dict[str, tuple[float, float]]]:
    """Factor and offset to SI of each unit, as pint gives them."""
    # in fractions, so that only the last step rounds
    registry: pint.UnitRegistry = pint.UnitRegistry(non_int_type=Fraction)
    table: dict[str, dict[str, tuple[float, float]]] = {}
    for dimension, (base, units) in NAMES.items():
        table[dimension] = {}
        for ours, theirs in units.items():
            zero, one = (registry.Quantity(Fraction(n), theirs).to(base).magnitude for n in (0, 1))
            table[dimension][ours] = (float(one - zero), float(zero))
    return table


def text() -> str:
    """The module as it should stand."""
    lines = [
        '"""Sizes of the units in SI: made from pint by tests/make_unit_sizes.py, not by hand.',
        "",
        "SI value = number * factor + offset. A test compares every line with pint.",
        '"""',
        "",
        "SIZES: dict[str, dict[str, tuple[float, float]]] = {",
    ]
    for dimension, units in sizes().items():
        lines.append(f'    "{dimension}": {{')
        for unit, (factor, offset) in units.items():
            name = f"'{unit}'" if '"' in unit else f'"{unit}"'
            lines.append(f"        {name}: ({factor!r}, {offset!r}),")
        lines.append("    },")
    return "\n".join([*lines, "}", ""])


if __name__ == "__main__":
    if "--write" in sys.argv[1:]:
        TARGET.write_text(text(), encoding="utf-8")
    else:
        sys.stdout.write(text())

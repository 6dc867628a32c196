"""The units that a reading may be given in: a closed list, each with its size in SI.

The sizes come from the table in `unit_sizes`, which is made from pint and checked against it in the
tests; a user's text never reaches pint's expression parser.
"""

from __future__ import annotations

from buildlint.files.unit_sizes import SIZES

__all__ = [
    "BOTTLE_WEIGHT",
    "DIMENSIONS",
    "dimension_of",
    "near_unit",
    "plain_spellings",
    "size",
    "units_of",
]

#: What a unit of each dimension measures, in words for a message.
DIMENSIONS: dict[str, str] = {
    "length": "a length",
    "volume": "a volume",
    "viscosity": "a kinematic viscosity",
    "dynamic viscosity": "a dynamic viscosity",
    "temperature": "a temperature",
    "pressure": "a pressure",
    "spring rate": "a spring rate",
    "mass": "a mass",
    "density": "a density",
    "share": "a share",
    "ratio": "a ratio",
    "time": "a time",
    "expansion": "a cubic expansion",
    "stiffness": "a shear modulus",
    "damping": "a damping",
    "speed": "a speed",
    "frequency": "a frequency",
}

#: What bottles call a weight. It fixes neither a method nor a temperature: it is not a unit.
BOTTLE_WEIGHT = frozenset({"wt", "wt.", "w", "weight"})

_PLAIN = {
    "³": "^3",
    "²": "^2",
    "·": ".",
    "⋅": ".",
    "µ": "u",
    "μ": "u",
    "°": "deg",
    "″": '"',
    "−": "-",
}
_FANCY = str.maketrans(_PLAIN)

_BY_UNIT: dict[str, tuple[str, ...]] = {}
for _dimension, _units in SIZES.items():
    for _unit in _units:
        _BY_UNIT[_unit] = (*_BY_UNIT.get(_unit, ()), _dimension)
_BY_UNIT["SUS"] = ("viscosity",)


def plain(text: str) -> str:
    """Give the text with ³ ² · µ ° and their kin in their plain forms.

    >>> plain("20 °C"), plain("0.97 g/cm³")
    ('20 degC', '0.97 g/cm^3')
    """
    return text if text.isascii() else text.translate(_FANCY)


def plain_spellings() -> dict[str, list[str]]:
    """Give what `plain` makes of other characters, each with all of those characters.

    >>> plain_spellings()["^3"]
    ['³']
    """
    spelt: dict[str, list[str]] = {}
    for fancy, plainly in _PLAIN.items():
        spelt.setdefault(plainly, []).append(fancy)
    return spelt


def units_of(dimension: str) -> tuple[str, ...]:
    """Give the units that a dimension has, SUS with the viscosities.

    >>> units_of("viscosity")
    ('cSt', 'mm^2/s', 'St', 'SUS')
    """
    return (*SIZES[dimension], *(("SUS",) if dimension == "viscosity" else ()))


def size(unit: str, dimension: str) -> tuple[float, float] | None:
    """Give the factor and the offset that bring the unit to SI, or None if the dimension lacks it.

    SI value = number * factor + offset. SUS has no size: it is a time of outflow (ASTM D2161), and
    `buildlint.physics.oil` converts it.

    >>> size("in", "length")
    (0.0254, 0.0)
    >>> size("mm", "viscosity") is None
    True
    """
    return SIZES[dimension].get(unit)


def dimension_of(unit: str) -> tuple[str, ...]:
    """Give the dimensions that have this unit; none for an unknown one.

    >>> dimension_of("cSt"), dimension_of("parsec")
    (('viscosity',), ())
    """
    return _BY_UNIT.get(unit, ())


def near_unit(written: str, dimension: str) -> str | None:
    """Give the known unit that a written one is most likely meant to be.

    >>> near_unit("cst", "viscosity"), near_unit("millimetre", "length")
    ('cSt', 'mm')
    """
    known = units_of(dimension)
    folded = written.casefold()
    for unit in known:
        if unit.casefold() == folded:
            return unit
    if folded in _SPELT_OUT:
        return _SPELT_OUT[folded] if _SPELT_OUT[folded] in known else None
    # one wrong letter: mn for mm, not for m
    for unit in known:
        if (
            len(unit) == len(written)
            and sum(a != b for a, b in zip(unit, written, strict=True)) == 1
        ):
            return unit
    import difflib

    near = difflib.get_close_matches(written, known, 1, 0.6)
    return near[0] if near else None


# Spellings that a distance between letters would miss.
_SPELT_OUT = {
    "millimetre": "mm",
    "millimeter": "mm",
    "millimetres": "mm",
    "millimeters": "mm",
    "inch": "in",
    "inches": "in",
    "mil": "thou",
    "micron": "um",
    "cc": "cm^3",
    "ccm": "cm^3",
    "mm3": "mm^3",
    "cm3": "cm^3",
    "centistokes": "cSt",
    "cps": "cP",
    "mpas": "mPa.s",
    "mpa s": "mPa.s",
    "pas": "Pa.s",
    "c": "degC",
    "f": "degF",
    "celsius": "degC",
    "fahrenheit": "degF",
    "gram": "g",
    "grams": "g",
    "percent": "%",
    "hr": "h",
    "hours": "h",
    "hour": "h",
    "minutes": "min",
    "days": "day",
    "feet": "ft",
    "lbs/in": "lb/in",
    "lbs": "lb",
    "metres": "m",
    "meters": "m",
}

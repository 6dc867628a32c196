"""A reading as a builder writes it: number, unit, tolerance, such as "6.4 mm" or "450 cSt ± 5 %".

An own small grammar over the closed list of units in `units`. Forms:

    6.4 mm        1 3/8 in        6.4 ± 0.2 mm        6.4 mm ± 0.2 mm        (6.4 ± 0.2) mm
    450 cSt ± 5 % 1e-3 m          6.4 +/- 0.2 mm      60 %                   0.65 ± 0.02

A share or a ratio may stand as a bare number, everything else has a unit. A share's tolerance in
per cent is in points ("60 % ± 5 %": 55 to 65 %), any other's a share of the number ("0.65 ± 3 %").
"""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING, Any, NamedTuple

from buildlint.files.units import BOTTLE_WEIGHT, DIMENSIONS, dimension_of, near_unit, plain, size
from buildlint.text.words import shown

if TYPE_CHECKING:
    import pint
    from pint.facets.plain import PlainQuantity

__all__ = ["LONGEST", "Mistake", "Reading", "Written", "read", "written"]

#: The most characters that a reading may have.
LONGEST = 64


class Mistake(ValueError):  # noqa: N818 - the builder's, not the program's
    """What is wrong with a reading: the id of the file rule, and a message for the builder."""

    def __init__(self, rule: str, message: str, with_keys: tuple[str, ...] = ()) -> None:
        """Keep the rule's id beside the message, and other keys that cannot be used either."""
        super().__init__(message)
        self.rule = rule
        self.message = message
        self.with_keys = with_keys


class Written(NamedTuple):
    """A reading as it stands on paper, before its unit has a size.

    >>> str(written("6.4 +/- 0.2 mm"))
    '6.4 mm ± 0.2 mm'
    """

    number: float
    unit: str
    tolerance: float | None = None
    tolerance_unit: str = ""

    def __str__(self) -> str:
        """Return the canonical form, which reads back as the same."""
        text = f"{self.number!r} {self.unit}".rstrip()
        if self.tolerance is None:
            return text
        tolerance = repr(self.tolerance).removesuffix(".0")
        return f"{text} ± {tolerance} {self.tolerance_unit}".rstrip()


class Reading(NamedTuple):
    """A reading in SI units: as read, and the least and most that its tolerance allows.

    `unit` is the unit as written (plain form); a reading in SUS keeps its seconds, because only its
    `at` says what they mean. `text` is what stands in the file.
    """

    value: float
    low: float
    high: float
    unit: str
    text: str
    dimension: str = ""

    @property
    def tolerance(self) -> float:
        """How far the reading may be off, in SI units."""
        return max(self.high - self.value, self.value - self.low)

    def to(self, unit: str) -> float:
        """Return the value in a unit, such as "mm".

        Raises ValueError for what is no unit of its dimension, and for Saybolt seconds, which only
        their temperature makes a viscosity.

        >>> round(read("1/4 in", "length").to("mm"), 3)
        6.35
        """
        if self.unit == "SUS":
            raise ValueError("Saybolt seconds are a viscosity only with their temperature")
        found = size(unit, self.dimension) if unit else (1.0, 0.0)
        if found is None:
            raise ValueError(f"{shown(unit)} is no unit of {DIMENSIONS[self.dimension]}")
        factor, offset = found
        return (self.value - offset) / factor

    def quantity(self, registry: pint.UnitRegistry[Any] | None = None) -> PlainQuantity[float]:
        """Return the reading as a quantity of pint, in SI units.

        `registry` is that of the program that asks; left out, pint's own. Raises ValueError for
        Saybolt seconds.

        >>> f"{read('450 cSt', 'viscosity').quantity().to('mm^2/s').magnitude:.0f}"
        '450'
        """
        if self.unit == "SUS":
            raise ValueError("Saybolt seconds are a viscosity only with their temperature")
        import pint

        known: Any = registry if registry is not None else pint.application_registry
        made: PlainQuantity[float] = known.Quantity(self.value, _SI_UNITS[self.dimension])
        return made


#: The SI unit of each dimension, as pint writes it.
_SI_UNITS = {
    "length": "m",
    "volume": "m**3",
    "viscosity": "m**2/s",
    "dynamic viscosity": "Pa*s",
    "temperature": "K",
    "density": "kg/m**3",
    "expansion": "1/K",
    "spring rate": "N/m",
    "stiffness": "Pa",
    "mass": "kg",
    "time": "s",
    "share": "",
    "ratio": "",
}


_NUMBER = re.compile(
    r"[+-]?(?:[0-9]+ +[0-9]+/[0-9]+|[0-9]+/[0-9]+|(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?)"
)
# What a unit may look like; whether there is such a unit is looked up.
_UNIT_SHAPE = re.compile(r"(?:1?/)?[A-Za-z%\"][A-Za-z_%^/. 0-9]*|")
_COMMA = re.compile(r"[+-]?[0-9]+,[0-9]")
# It joins units; next to a figure nobody knows whether it is a point or a times.
_RAISED_DOT = re.compile(r"[0-9]\s*[·⋅]|[·⋅]\s*[0-9]")


def _number(text: str) -> float:
    """Return the value of a decimal, a fraction or a mixed number.

    >>> _number("1 3/8"), _number("-3/4"), _number("6.4e-3")
    (1.375, -0.75, 0.0064)
    """
    if "/" not in text:
        return float(text)
    sign = -1.0 if text[0] == "-" else 1.0
    whole, _, fraction = text.lstrip("+-").rpartition(" ")
    above, below = fraction.split("/")
    # as floats: a fraction of huge whole numbers is then infinite, never slow
    if float(below) == 0.0:
        return math.nan
    return sign * ((float(whole) if whole.strip() else 0.0) + float(above) / float(below))


def written(text: str) -> Written:
    """Split a reading into number, unit and tolerance, all as written.

    Raises Mistake (file/not-a-reading) where the text is not of the grammar. Units are not looked
    up here.

    >>> written("1 3/8 in")
    Written(number=1.375, unit='in', tolerance=None, tolerance_unit='')
    >>> written("450 cSt ± 5 %").tolerance_unit
    '%'
    """
    if len(text) > LONGEST:
        raise Mistake(
            "file/not-a-reading",
            f"{shown(text)} has {len(text):,} characters; a reading has at most {LONGEST}",
        )
    if not text.isascii() and _RAISED_DOT.search(text):
        raise _not_of_the_grammar(text)
    left, sign, right = plain(text).replace("+/-", "±").replace("+-", "±").partition("±")
    left = left.strip()
    outside = ""
    if left.startswith("(") and sign:
        # the form of ISO 80000: (6.4 ± 0.2) mm
        left = left[1:]
        right, closed, outside = right.partition(")")
        if not closed or not outside.strip():
            raise _not_of_the_grammar(text)
    number, before = _number_and_unit(left, text)
    if not sign:
        return Written(number, before)
    tolerance, after = _number_and_unit(right, text)
    if tolerance < 0:
        raise Mistake("file/not-a-reading", f"{shown(text)} has a tolerance below zero")
    if outside:
        if before or after:
            raise _not_of_the_grammar(text)
        before = after = outside.strip()
    elif after == "%":
        # a share's points, or a share of the number itself: its dimension says
        return Written(number, before, tolerance, after)
    # "6.4 ± 0.2 mm" and "6.4 mm ± 0.2": one unit is both's
    return Written(number, before or after, tolerance, after or before)


def _number_and_unit(text: str, whole: str) -> tuple[float, str]:
    text = text.strip()
    match = _NUMBER.match(text)
    unit = text[match.end() :].strip() if match else ""
    if match is None or _UNIT_SHAPE.fullmatch(unit) is None:
        raise _not_of_the_grammar(whole)
    number = _number(match[0])
    if not math.isfinite(number):
        raise _without_end(whole, number)
    return number, unit


def _without_end(text: str, number: float) -> Mistake:
    what = "divides by zero" if math.isnan(number) else "is too large a number"
    return Mistake("file/not-a-reading", f"{shown(text)} {what}")


def _not_of_the_grammar(text: str) -> Mistake:
    if not text.strip():
        message = "nothing is in the quotes"
    elif _COMMA.match(text.strip()):
        message = f"{shown(text)} has a comma in its number: write the decimals after a point"
    elif _RAISED_DOT.search(text):
        message = f"{shown(text)} has a raised dot in its number: write the decimals after a point"
    else:
        message = f"{shown(text)} is not a number and a unit"
    return Mistake("file/not-a-reading", message)


def read(
    text: str, dimension: str, tolerance: tuple[float, bool] = (0.0, False), example: str = ""
) -> Reading:
    """Read a reading of one dimension into SI units.

    `tolerance` is the default half-width of its field: (SI amount, False) or (share, True).
    Raises Mistake with the id of the file rule: file/not-a-reading, file/unknown-unit,
    file/wrong-dimension or file/bottle-weight. SUS comes back as its seconds.

    >>> r = read("6.4 +/- 0.2 mm", "length")
    >>> round(r.value, 6), round(r.low, 6), round(r.high, 6)
    (0.0064, 0.0062, 0.0066)
    >>> read("40 wt", "viscosity")  # doctest: +ELLIPSIS
    Traceback (most recent call last):
        ...
    buildlint.files.readings.Mistake: "40 wt": wt is not a unit, ...
    """
    try:
        parts = written(text)
    except Mistake as mistake:
        raise Mistake(mistake.rule, _with_example(mistake.message, dimension, example)) from None
    if dimension == "share" and parts.unit == "" and parts.tolerance_unit == "%":
        if abs(parts.number) <= 1.0:
            raise Mistake(
                "file/not-a-reading",
                f"{shown(text)} can be read in two ways: write both as shares (0.65 ± 0.02) or "
                "both in per cent (65 % ± 2 %); a share belongs here",
            )
        parts = parts._replace(unit="%")
    factor, offset = _size(parts.unit, text, dimension, example)
    value = parts.number * factor + offset
    half = _half_width(parts, text, dimension, factor, value, tolerance)
    if not math.isfinite(value) or not math.isfinite(half):
        raise _without_end(text, math.inf)
    return Reading(value, value - half, value + half, parts.unit, text, dimension)


def _half_width(
    parts: Written,
    text: str,
    dimension: str,
    factor: float,
    value: float,
    default: tuple[float, bool],
) -> float:
    if parts.tolerance is None:
        amount, relative = default
        return amount * abs(value) if relative else amount
    unit = parts.tolerance_unit
    if unit == parts.unit and not (dimension == "ratio" and unit == "%"):
        return parts.tolerance * factor
    if unit == "%":
        if dimension == "temperature":
            raise Mistake(
                "file/not-a-reading",
                f"{shown(text)}: a tolerance in % says nothing about a temperature; write it in K",
            )
        return parts.tolerance / 100.0 * abs(value)
    # only the size of the tolerance's unit counts: a difference has no offset
    return parts.tolerance * _size(unit, text, dimension, "")[0]


def _size(unit: str, text: str, dimension: str, example: str) -> tuple[float, float]:
    """Return the unit's factor and offset, or say what is wrong with the unit."""
    if unit == "SUS" and dimension == "viscosity":
        return 1.0, 0.0
    if unit == "" and dimension in ("share", "ratio"):
        return 1.0, 0.0
    found = size(unit, dimension)
    if found is not None:
        return found
    raise _bad_unit(unit, text, dimension, example)


def _bad_unit(unit: str, text: str, dimension: str, example: str) -> Mistake:
    if unit == "":
        return Mistake(
            "file/not-a-reading",
            _with_example(f"{shown(text)} has no unit", dimension, example),
        )
    if unit.casefold() in BOTTLE_WEIGHT:
        wrong = f"{shown(text)}: {unit} is not a unit, only a bottler's number"
        if dimension != "viscosity":
            return Mistake("file/bottle-weight", _with_example(wrong, dimension, example))
        due = "write the viscosity in cSt from the oil's data sheet"
        return Mistake("file/bottle-weight", f'{wrong}; {due}, such as "450 cSt"')
    theirs = dimension_of(unit)
    if theirs:
        wrong = f"{shown(text)} is {DIMENSIONS[theirs[0]]}"
        return Mistake("file/wrong-dimension", _with_example(wrong, dimension, example))
    near = near_unit(unit, dimension)
    message = f"{shown(text)}: {shown(unit)} is not a unit known here"
    instead = "" if near is not None else _explained(text, unit, dimension)
    if instead:
        return Mistake("file/unknown-unit", instead)
    if near is not None:
        return Mistake("file/unknown-unit", f"{message}; did you mean {near}?")
    return Mistake("file/unknown-unit", _with_example(message, dimension, example))


# A name that pint may be asked for, and a power: nothing that it would work out.
_NAME_OF_A_UNIT = re.compile(r"([A-Za-z_]{1,24})(?:\^?([23]))?")


def _explained(text: str, unit: str, dimension: str) -> str:
    """Say what a unit outside the list is, where pint knows it; nothing where it does not."""
    found = _NAME_OF_A_UNIT.fullmatch(unit)
    if found is None or dimension not in _EXPLAINED_IN:
        return ""
    import pint

    ours = _EXPLAINED_IN[dimension]
    factor, offset = size(ours, dimension) or (1.0, 0.0)
    # fl_oz is floz to pint
    for name in (found[1], found[1].replace("_", "")):
        try:
            given = pint.Quantity(written(text).number, pint.Unit(name) ** int(found[2] or 1))
            number = (given.to(_SI_UNITS[dimension]).magnitude - offset) / factor
        except (pint.errors.PintError, ValueError, TypeError, OverflowError, Mistake):
            continue
        if 1e-4 <= abs(number) < 1e6:
            shortest = f"{number:.4g}" if abs(number) < 1e4 else f"{number:.0f}"
            return f"{shown(text)} is {shortest} {ours}: write that"
    return ""


# The unit of each dimension in which a unit outside the list is explained.
_EXPLAINED_IN = {
    "length": "mm",
    "volume": "ml",
    "viscosity": "cSt",
    "dynamic viscosity": "mPa.s",
    "temperature": "degC",
    "density": "g/cm^3",
    "spring rate": "N/mm",
    "mass": "g",
    "time": "h",
    "stiffness": "GPa",
}


def _with_example(message: str, dimension: str, example: str) -> str:
    due = f"{message}; {DIMENSIONS[dimension]} belongs here"
    return f'{due}, such as "{example}"' if example else due

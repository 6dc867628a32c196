"""Patterns of readings for editors: regular expressions over the closed list of units.

An editor shows the pattern to whoever mistypes a reading, so they are short and their units stand
in them: they take every reading that the grammar of `readings` takes for the dimension, and refuse
words, missing and wrong units, `wt`, and commas in numbers. Whether a number is well formed they
leave to the reader. One thing is stricter than the grammar: where a field takes nothing below zero,
they refuse a minus, before a zero too.

They are of the part that ECMA-262 and Python's `re` share. Each repetition ends at a character that
it does not hold itself, or at the end, so that no text makes them slow.
"""

from __future__ import annotations

from buildlint.files.units import plain_spellings, units_of

__all__ = ["holes_pattern", "limit_pattern", "reading_pattern"]

# The characters of a number, of tolerances in front of the unit, and of brackets round both.
_FIGURES = r"[-+−±/.()0-9eE\s]*"
_POSITIVE = r"[\s(]*\+?[.0-9]"
_ANY = r"[\s(]*[-+−]?[.0-9]"
_PLUS_MINUS = r"(±|\+/?[-−])"

# Dimensions whose readings may be bare numbers.
_BARE = ("share", "ratio")


def _unit(unit: str) -> str:
    r"""Return the pattern of one unit, in its plain and its other spellings.

    >>> _unit("mm^3"), _unit("Pa.s")
    ('mm(\\^3|³)', 'Pa(\\.|·|⋅)s')
    """
    pattern = _escaped(unit)
    for spelt, others in plain_spellings().items():
        known = [_escaped(spelt), *others]
        pattern = pattern.replace(known[0], f"({'|'.join(known)})")
    return pattern


def _escaped(text: str) -> str:
    return text.replace(".", r"\.").replace("^", r"\^")


def _units(*dimensions: str) -> str:
    return "|".join(_unit(unit) for dimension in dimensions for unit in units_of(dimension))


def _reading(start: str, dimensions: tuple[str, ...]) -> str:
    units = _units(*dimensions)
    # a share of a temperature says nothing
    either = units if "temperature" in dimensions else f"{units}|%"
    # no slash before a unit: 1/K is no temperature
    number = rf"{start}({_FIGURES}[.)0-9\s])?"
    return rf"{number}({units})\s*({_PLUS_MINUS}{_FIGURES}(({either})\s*)?)?"


def reading_pattern(*dimensions: str, below_zero: bool = True) -> str:
    """Return the pattern of the readings of one or more dimensions.

    >>> import re
    >>> bool(re.search(reading_pattern("length"), "1 3/8 in"))
    True
    >>> re.search(reading_pattern("viscosity"), "40 wt") is None
    True
    """
    start = _ANY if below_zero else _POSITIVE
    if dimensions[0] in _BARE:
        return f"^{start}{_FIGURES[:-2]}%]*$"
    return f"^{_reading(start, dimensions)}$"


def limit_pattern(dimension: str) -> str:
    """Return the pattern of a rule's limit: a reading without a tolerance.

    >>> import re
    >>> re.search(limit_pattern("length"), "2 mm ± 1 mm") is None
    True
    """
    unit = r"(%\s*)?" if dimension in _BARE else rf"({_units(dimension)})\s*"
    return rf"^\s*[-+−]?[.0-9]([-+−/.0-9eE\s]*[.0-9\s])?{unit}$"


def holes_pattern(most_sizes: int) -> str:
    """Return the pattern of a piston's holes: numbers and sizes, joined with +.

    >>> import re
    >>> bool(re.search(holes_pattern(8), "4 x 1.4 mm + 2 x 1.1 mm"))
    True
    """
    group = rf"\s*0*[1-9][0-9]*\s*[x×]{_reading(_POSITIVE, ('length',))}"
    return rf"^{group}(\+{group}){{0,{most_sizes - 1}}}$"

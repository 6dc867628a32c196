r"""Patterns of readings for editors: what the grammar of `readings` takes, as regular expressions.

They are of the part that ECMA-262 and Python's `re` share. Every repetition ends where the next
thing begins with another character, so that no text makes them slow. What a pattern cannot say
(that a number is finite, or in its field's range) is left to the reader. One thing is stricter
than the grammar: a tolerance has no minus, not even before zero.
"""

from __future__ import annotations

from buildlint.units import plain_spellings, units_of

__all__ = ["holes_pattern", "limit_pattern", "reading_pattern"]

# A whole number, decimal, exponent, fraction or mixed number, without its sign.
_SIZE = (
    r"(?:[0-9]+(?: +[0-9]+)?/[0-9]+|(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+\-−]?[0-9]+)?)"
)
_POSITIVE = rf"\+?{_SIZE}"
_ANY = rf"[+\-−]?{_SIZE}"
_PLUS_MINUS = r"(?:±|\+/?[\-−])"

# Dimensions whose readings may be bare numbers.
_BARE = ("share", "ratio")


def _unit(unit: str) -> str:
    r"""Give the pattern of one unit, in its plain and its other spellings.

    >>> _unit("mm^3"), _unit("Pa.s")
    ('mm(?:\\^3|³)', 'Pa(?:\\.|·|⋅)s')
    """
    pattern = _escaped(unit)
    for spelt, others in plain_spellings().items():
        pattern = pattern.replace(_escaped(spelt), f"(?:{'|'.join([_escaped(spelt), *others])})")
    return pattern


def _escaped(text: str) -> str:
    return text.replace(".", r"\.").replace("^", r"\^")


def _units(dimension: str) -> str:
    known = sorted(units_of(dimension), key=lambda unit: (-len(unit), unit))
    return f"(?:{'|'.join(map(_unit, known))})"


def _reading(dimension: str, below_zero: bool) -> str:
    unit = _units(dimension)
    number = _ANY if below_zero else _POSITIVE
    after = _PLUS_MINUS + rf"\s*{_POSITIVE}"
    bracketed = rf"\(\s*{number}\s*{after}\s*\)\s*{unit}"
    if dimension in _BARE:
        return rf"(?:{bracketed}|{number}(?:\s*{unit})?(?:\s*{after}(?:\s*{unit})?)?)"
    # a share of a temperature says nothing
    either = unit if dimension == "temperature" else f"(?:{unit}|%)"
    behind = rf"{unit}(?:\s*{after}(?:\s*{either})?)?"
    return rf"(?:{bracketed}|{number}\s*(?:{behind}|{after}\s*{unit}))"


def reading_pattern(*dimensions: str, below_zero: bool = True) -> str:
    """Give the pattern of the readings of one or more dimensions.

    >>> import re
    >>> bool(re.search(reading_pattern("length"), "1 3/8 in"))
    True
    >>> re.search(reading_pattern("viscosity"), "37.5 wt") is None
    True
    """
    forms = "|".join(_reading(dimension, below_zero) for dimension in dimensions)
    return rf"^\s*(?:{forms})\s*$"


def limit_pattern(dimension: str) -> str:
    """Give the pattern of a rule's limit: a reading without a tolerance.

    >>> import re
    >>> re.search(limit_pattern("length"), "2 mm ± 1 mm") is None
    True
    """
    unit = rf"(?:\s*{_units(dimension)})?" if dimension in _BARE else rf"\s*{_units(dimension)}"
    return rf"^\s*{_ANY}{unit}\s*$"


def holes_pattern(most_sizes: int) -> str:
    """Give the pattern of a piston's holes: numbers and sizes, joined with +.

    >>> import re
    >>> bool(re.search(holes_pattern(8), "4 x 1.4 mm + 2 x 1.1 mm"))
    True
    """
    count = "(?:[1-9][0-9]{0,2}|0[1-9][0-9]?|00[1-9])"
    group = rf"{count}\s*[x×]\s*{_reading('length', below_zero=False)}\s*"
    return rf"^\s*{group}(?:\+\s*{group}){{0,{most_sizes - 1}}}$"

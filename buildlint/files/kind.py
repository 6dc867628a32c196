"""A kind of reading: its dimension, range, default tolerance, and an example for messages."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Any, Protocol

from pydantic_core import core_schema

from buildlint.files.readings import LONGEST, Mistake, Reading, Written, read, written
from buildlint.files.tables import custom_error
from buildlint.files.units import DIMENSIONS, plain, size
from buildlint.text.words import shown

__all__ = [
    "LEAST_SUS",
    "MOST_SUS",
    "Kind",
    "range_text",
    "schema_of",
    "shown_number",
]

#: Saybolt Universal seconds are defined from here up (ASTM D2161); the most is as 100000 cSt.
LEAST_SUS = 32.0
MOST_SUS = 460_000.0


@dataclass(frozen=True, slots=True)
class Kind:
    """The kind of reading that a field takes.

    `tolerance`, `least` and `most` are written as a reading is; `least_open` leaves the least out.
    `also` is a second kind that the field takes (a dynamic viscosity for a kinematic one).
    """

    dimension: str
    example: str
    tolerance: str
    least: str
    most: str
    least_open: bool = False
    also: Kind | None = None

    def read(self, given: object) -> Reading:
        """Read what stands in the file; raises Mistake with the id of the file rule."""
        if isinstance(given, str):
            return _read_text(self, given)
        if isinstance(given, (int, float)) and not isinstance(given, bool):
            if self.dimension in ("share", "ratio"):
                return _read_text(self, shown_number(given))
            number = shown_number(given)
            example = _own_example(self, number) or self.example
            raise Mistake(
                "file/not-a-reading",
                f'{number} has no unit and no quotes; write a reading such as "{example}"',
            )
        raise Mistake("file/not-a-reading", f'a reading belongs here, such as "{self.example}"')

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> core_schema.CoreSchema:
        """Let a model use this kind as the annotation of a reading."""
        return schema_of(self, Reading)

    def __get_pydantic_json_schema__(self, core: Any, handler: Any) -> dict[str, Any]:
        """Describe the field to an editor."""
        return self.json_schema()

    def json_schema(self) -> dict[str, Any]:
        """Describe the field to an editor: a reading's form and range, or a bare number."""
        from buildlint.files.patterns import reading_pattern

        limits = _limits(self)
        dimensions = (self.dimension, *((self.also.dimension,) if self.also else ()))
        # in degrees, zero is not the least
        below_zero = limits.least < 0.0 or self.dimension == "temperature"
        text = {
            "description": self.in_words(),
            "type": "string",
            "maxLength": LONGEST,
            "pattern": reading_pattern(*dimensions, below_zero=below_zero),
            "examples": [self.example],
        }
        if self.dimension not in ("share", "ratio"):
            return text
        least = "exclusiveMinimum" if self.least_open else "minimum"
        return {**text, "type": ["string", "number"], least: limits.least, "maximum": limits.most}

    def in_words(self) -> str:
        """Say what the field takes: its dimension, range and default tolerance.

        >>> Kind("length", "6.4 mm", "0.3 mm", "0 mm", "100 mm").in_words()
        'A length, 0 mm to 100 mm; ± 0.3 mm if none is stated.'
        """
        also = f" or {DIMENSIONS[self.also.dimension]}" if self.also else ""
        said = f"{DIMENSIONS[self.dimension]}{also}, {range_text(self)}"
        tolerance = f"; ± {self.tolerance} if none is stated" if _limits(self).tolerance[0] else ""
        return f"{said[:1].upper()}{said[1:]}{tolerance}."


def shown_number(given: float) -> str:
    """Give a number as text, cut where it is long (a whole number in TOML may have any length)."""
    try:
        text = repr(given)
    except ValueError:
        return "a number of very many digits"
    return text if len(text) <= LONGEST else f"{text[:12]}…"


class _Reads(Protocol):
    def read(self, given: object) -> object: ...


def schema_of(kind: _Reads, made: type[Any]) -> core_schema.CoreSchema:
    """Return what pydantic's core has to know of what reads the value of a field.

    What was read already passes; it is written out as its text.
    """

    def reading(given: object) -> object:
        if isinstance(given, made):
            return given
        try:
            return kind.read(given)
        except Mistake as mistake:
            raise custom_error(mistake) from None

    text = core_schema.plain_serializer_function_ser_schema(
        lambda read: read.text, return_schema=core_schema.str_schema()
    )
    return core_schema.no_info_plain_validator_function(reading, serialization=text)


@lru_cache(maxsize=65536)
def _read_text(kind: Kind, text: str) -> Reading:
    try:
        return _read_with(kind, text, kind.example)
    except Mistake as mistake:
        if mistake.rule not in ("file/not-a-reading", "file/unknown-unit"):
            raise
        example = _own_example(kind, text, mistake.rule == "file/unknown-unit")
        if example is None:
            raise
    # the same mistake, with an example that is nearer
    return _read_with(kind, text, example)


def _own_example(kind: Kind, text: str, other_unit: bool = False) -> str | None:
    """Give a text's own number as a reading that the field takes, for an example; None without one.

    Its own unit stays, if it has one; `other_unit` says that this is none, and is to go.
    """
    found = re.match(r"\s*([-+]?[0-9]+)(?:([.,])([0-9]+))?", text)
    if found is None or len(text) > LONGEST:
        return None
    whole, point, decimals = found.groups()
    if point == "," and len(decimals) == 3 and whole.lstrip("-+") != "0":
        return None  # it may be thousands
    number = f"{whole}.{decimals}" if point else whole
    rest = plain(text[found.end() :]).strip()
    units = ["" if other_unit else rest]
    if not re.search(r"\s|[0-9]", rest) if other_unit else not rest:
        units.append(written(kind.example).unit)
    for unit in units:
        example = f"{number} {unit}".strip()
        try:
            _read_with(kind, example, "")
        except Mistake:
            continue
        return example
    return None


def _read_with(kind: Kind, text: str, example: str) -> Reading:
    limits = _limits(kind)
    try:
        reading = read(text, kind.dimension, limits.tolerance, example)
    except Mistake as mistake:
        if kind.also is None or mistake.rule != "file/wrong-dimension":
            raise
        try:
            return _read_with(kind.also, text, kind.also.example)
        except Mistake as second:
            raise (mistake if second.rule == "file/wrong-dimension" else second) from None
    if reading.unit == "SUS":
        # its size is known only together with `at`
        return reading._replace(low=max(reading.low, min(reading.value, LEAST_SUS)))
    value = reading.value
    if not limits.least <= value <= limits.most or (kind.least_open and value == limits.least):
        hint = ""
        if reading.unit == "" and limits.least <= value / 100.0 <= limits.most:
            hint = f"; did you mean {shown(f'{text.strip()} %')}?"
        raise Mistake(
            "file/out-of-range",
            f"{shown(text)} is out of range: this takes {range_text(kind)}{hint}",
        )
    # a tolerance reaches no further than the field's range: no size is ever below zero
    return reading._replace(low=max(reading.low, limits.least), high=min(reading.high, limits.most))


def range_text(kind: Kind) -> str:
    """Say in words what range the field takes.

    >>> range_text(Kind("length", "6.4 mm", "0.3 mm", "0 mm", "100 mm"))
    '0 mm to 100 mm'
    """
    return f"{'more than ' if kind.least_open else ''}{kind.least} to {kind.most}"


@dataclass(frozen=True, slots=True)
class _Limits:
    tolerance: tuple[float, bool]
    least: float
    most: float


@cache
def _limits(kind: Kind) -> _Limits:
    tolerance = written(kind.tolerance)
    # of a share in per cent, a tolerance in per cent is in points; of any other reading, a share
    relative = tolerance.unit == "%" and written(kind.example).unit != "%"
    return _Limits(
        (tolerance.number / 100.0, True)
        if relative
        else (tolerance.number * _size(tolerance, kind)[0], False),
        _si(kind.least, kind),
        _si(kind.most, kind),
    )


def _size(number: Written, kind: Kind) -> tuple[float, float]:
    if number.unit == "":
        return 1.0, 0.0
    found = size(number.unit, kind.dimension)
    if found is None:
        raise LookupError(f"{number.unit} is not a unit of {kind.dimension}")
    return found


def _si(text: str, kind: Kind) -> float:
    number = written(text)
    factor, offset = _size(number, kind)
    return number.number * factor + offset

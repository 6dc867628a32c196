"""What a field of a file takes: dimension, range, default tolerance, and an example for messages.

Ranges are ours, not published: wide enough for any model-car damper, narrow enough to catch inches
written as millimetres. Default tolerances: what the tool at hand reads to (ours, not published).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Annotated, Any

from pydantic_core import PydanticCustomError, core_schema

from buildlint.readings import LONGEST, Mistake, Reading, Written, read, written
from buildlint.units import DIMENSIONS, size
from buildlint.words import shown

__all__ = ["Holes", "Kind", "Quantity"]

#: Saybolt Universal seconds are defined from here up (ASTM D2161); the most is as 100000 cSt.
LEAST_SUS = 32.0
MOST_SUS = 460_000.0

_HOLE = re.compile(r"([0-9]{1,3})\s*[x×]\s*(.+)")
_MOST_SIZES = 8


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
            raise Mistake(
                "file/not-a-reading",
                f"{shown_number(given)} has no unit and no quotes; write a reading such as "
                f'"{self.example}"',
            )
        raise Mistake("file/not-a-reading", f'a reading belongs here, such as "{self.example}"')

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> core_schema.CoreSchema:
        """Let a model use this kind as the annotation of a reading."""

        def reading(given: object) -> Reading:
            try:
                return self.read(given)
            except Mistake as mistake:
                raise as_pydantic(mistake) from None

        reading.__dict__["kind"] = self
        return core_schema.no_info_plain_validator_function(reading)

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


def as_pydantic(mistake: Mistake) -> PydanticCustomError:
    """Carry a mistake through pydantic: the rule is the error's type, the text its message."""
    return PydanticCustomError(
        "buildlint", "{message}", {"rule": mistake.rule, "message": mistake.message}
    )


@lru_cache(maxsize=65536)
def _read_text(kind: Kind, text: str) -> Reading:
    limits = _limits(kind)
    try:
        reading = read(text, kind.dimension, limits.tolerance, kind.example)
    except Mistake as mistake:
        if kind.also is None or mistake.rule != "file/wrong-dimension":
            raise
        try:
            return _read_text(kind.also, text)
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


class Quantity:
    """The kinds of reading that fields take, each as an annotation for a model.

    A name says what is read, not how: `Quantity.bore` is a machined size, `Quantity.hold_back` is
    read at the cap with the eye.
    """

    bore = Annotated[Reading, Kind("length", "16 mm", "0.02 mm", "4 mm", "60 mm")]
    shaft = Annotated[Reading, Kind("length", "3.5 mm", "0.02 mm", "1 mm", "20 mm")]
    piston = Annotated[Reading, Kind("length", "15.9 mm", "0.02 mm", "3 mm", "60 mm")]
    thickness = Annotated[Reading, Kind("length", "2.5 mm", "0.1 mm", "0.3 mm", "20 mm")]
    hole = Annotated[Reading, Kind("length", "1.6 mm", "0.02 mm", "0.1 mm", "10 mm")]
    stroke = Annotated[Reading, Kind("length", "30 mm", "0.1 mm", "3 mm", "150 mm")]
    body_length = Annotated[Reading, Kind("length", "52 mm", "0.1 mm", "10 mm", "250 mm")]
    volume = Annotated[Reading, Kind("volume", "9 ml", "10 %", "0 ml", "200 ml", True)]
    room = Annotated[Reading, Kind("volume", "300 mm^3", "10 %", "0 ml", "50 ml")]
    air = Annotated[Reading, Kind("volume", "0.2 ml", "10 %", "0 ml", "50 ml")]
    cup = Annotated[Reading, Kind("length", "7 mm", "0.1 mm", "0.5 mm", "60 mm")]
    viscosity = Annotated[
        Reading,
        Kind(
            "viscosity",
            "450 cSt",
            "5 %",
            "1 cSt",
            "100000 cSt",
            also=Kind("dynamic viscosity", "440 mPa.s", "5 %", "1 cP", "100000 cP"),
        ),
    ]
    stated_temperature = Annotated[
        Reading, Kind("temperature", "25 degC", "0 K", "-60 degC", "200 degC")
    ]
    temperature = Annotated[Reading, Kind("temperature", "20 degC", "2 K", "-60 degC", "200 degC")]
    altitude = Annotated[Reading, Kind("length", "1900 m", "20 m", "-430 m", "6000 m")]
    vtc = Annotated[Reading, Kind("share", "0.60", "0", "0.05", "0.99")]
    share = Annotated[Reading, Kind("share", "60 %", "0 %", "0 %", "100 %", True)]
    rebound = Annotated[Reading, Kind("share", "60 %", "3 %", "0 %", "100 %")]
    density = Annotated[Reading, Kind("density", "0.968 g/cm^3", "0.5 %", "0.5 g/ml", "2 g/ml")]
    # more than metal grows: that more warmth is more room needed is taken for granted in bounds
    expansion = Annotated[Reading, Kind("expansion", "9.6e-4 1/K", "3 %", "1e-4 1/K", "5e-3 1/K")]
    spring_rate = Annotated[
        Reading, Kind("spring rate", "0.85 N/mm", "5 %", "0.01 N/mm", "50 N/mm")
    ]
    length = Annotated[Reading, Kind("length", "104 mm", "0.1 mm", "10 mm", "400 mm")]
    wire = Annotated[Reading, Kind("length", "1.6 mm", "0.02 mm", "0.2 mm", "10 mm")]
    coils = Annotated[Reading, Kind("ratio", "6.5", "0", "1", "60")]
    stiffness = Annotated[Reading, Kind("stiffness", "81.5 GPa", "2 %", "10 GPa", "300 GPa")]
    mass = Annotated[Reading, Kind("mass", "820 g", "5 %", "20 g", "20 kg")]
    motion_ratio = Annotated[Reading, Kind("ratio", "0.65", "3 %", "0.05", "3")]
    gap = Annotated[Reading, Kind("length", "78 mm", "0.1 mm", "1 mm", "400 mm")]
    hold_back = Annotated[Reading, Kind("length", "6.4 mm", "0.3 mm", "0 mm", "150 mm")]
    small_length = Annotated[Reading, Kind("length", "2 mm", "0.1 mm", "0 mm", "150 mm")]
    runtime = Annotated[Reading, Kind("time", "5 h", "0 h", "0 h", "100000 h")]


class _HolesKind:
    """Holes through a piston: "4 x 1.8 mm", or several sizes joined with +."""

    example = "4 x 1.4 mm + 2 x 1.1 mm"
    size = Kind("length", "1.4 mm", "0.02 mm", "0.1 mm", "10 mm")

    def read(self, given: object) -> Holes:
        if not isinstance(given, str):
            raise Mistake(
                "file/not-a-reading", f'write the holes in quotes, such as "{self.example}"'
            )
        if len(given) > LONGEST * 2:
            raise Mistake(
                "file/not-a-reading",
                f"{shown(given)} has {len(given):,} characters; holes take at most {LONGEST * 2}",
            )
        groups = [part.strip() for part in re.split(r"(?<=[a-z%\"″])\s*\+(?!/|-)", given)]
        if len(groups) > _MOST_SIZES:
            raise Mistake("file/not-a-reading", f"at most {_MOST_SIZES} sizes of hole fit here")
        return Holes(given, tuple(self._group(part, given) for part in groups))

    def _group(self, part: str, given: str) -> tuple[int, Reading]:
        match = _HOLE.fullmatch(part)
        if match is None or int(match[1]) == 0:
            raise Mistake(
                "file/not-a-reading",
                f'{shown(given)} is not a number of holes and their size, such as "{self.example}"',
            )
        return int(match[1]), self.size.read(match[2])

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> core_schema.CoreSchema:
        def holes(given: object) -> Holes:
            try:
                return self.read(given)
            except Mistake as mistake:
                raise as_pydantic(mistake) from None

        holes.__dict__["kind"] = self
        return core_schema.no_info_plain_validator_function(holes)

    def json_schema(self) -> dict[str, Any]:
        from buildlint.files.patterns import holes_pattern

        return {
            "description": f"How many of each size. {self.size.in_words()}",
            "type": "string",
            "maxLength": LONGEST * 2,
            "pattern": holes_pattern(_MOST_SIZES),
            "examples": ["4 x 1.8 mm", self.example],
        }


@dataclass(frozen=True, slots=True)
class Holes:
    """The holes of a piston: how many of each size."""

    text: str
    groups: tuple[tuple[int, Reading], ...]


#: The annotation of a piston's holes.
PistonHoles = Annotated[Holes, _HolesKind()]

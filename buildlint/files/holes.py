"""The holes of a piston: "4 x 1.8 mm", or several sizes joined with +."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic_core import core_schema

from buildlint.files.kind import Kind, schema_of
from buildlint.files.readings import LONGEST, Mistake, Reading
from buildlint.text.words import shown

__all__ = ["Holes", "PistonHoles"]

_HOLE = re.compile(r"([0-9]{1,3})\s*[x×]\s*(.+)")
_MOST_SIZES = 8


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
        return schema_of(self, Holes)

    def __get_pydantic_json_schema__(self, core: Any, handler: Any) -> dict[str, Any]:
        return self.json_schema()

    def in_words(self) -> str:
        return f"How many of each size. {self.size.in_words()}"

    def json_schema(self) -> dict[str, Any]:
        from buildlint.files.patterns import holes_pattern

        return {
            "description": self.in_words(),
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

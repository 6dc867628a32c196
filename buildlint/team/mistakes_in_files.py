"""The mistakes of a file with the place of each, as `Team.mistakes` gives them."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from buildlint.files.places import START, Places
from buildlint.files.reader import FileRead

__all__ = ["MistakeInFile", "mistakes_of"]


class MistakeInFile(NamedTuple):
    """A mistake in a file: where it stands, which keys lead there, and what is wrong."""

    path: Path
    line: int
    column: int
    keys: tuple[str, ...]
    rule: str
    message: str


def mistakes_of(read: FileRead) -> Iterator[MistakeInFile]:
    """Yield the mistakes of a file as read, in their order."""
    places = Places(read.data, read.mended) if read.faults and read.data else None
    for fault in read.faults:
        place = fault.place or START
        if fault.place is None and places is not None and fault.path:
            find = places.of_key if fault.on_key else places.of_value
            place = find(fault.path)
        yield MistakeInFile(
            read.path, place.line, place.column, fault.path, fault.rule, fault.message
        )

"""What is known of one damper while it is being put together."""

from __future__ import annotations

from typing import Any

from buildlint.files.reader import FileRead
from buildlint.files.readings import Reading
from buildlint.files.tables import Table
from buildlint.measures.damper import Damper
from buildlint.measures.origin import Origin

__all__ = ["Gathering"]


class Gathering:
    """Figures of one damper, each with its ends and where it was read."""

    def __init__(self) -> None:
        self.figures: dict[str, Any] = {}
        self.spread: dict[str, tuple[Any, Any]] = {}
        self.origin: dict[str, Origin] = {}
        self.estimates: set[str] = set()
        self.refused: set[str] = set()

    def reading(self, name: str, reading: Reading | None, origin: Origin) -> None:
        """Take a reading, if there is one."""
        if reading is not None:
            self.figure(name, reading.value, reading.low, reading.high, origin)

    def figure(self, name: str, value: Any, low: Any, high: Any, origin: Origin) -> None:
        """Take a figure, its least and its most."""
        self.figures[name] = value
        self.origin[name] = origin
        if low != high:
            self.spread[name] = (low, high)
        else:
            self.spread.pop(name, None)

    def about(self, name: str, value: float, half: float, origin: Origin) -> None:
        """Take a figure, give or take so much."""
        self.figure(name, value, value - half, value + half, origin)

    def readings(self, table: Table, file: FileRead, keys: tuple[str, ...], **names: str) -> None:
        """Take readings from a table: name of the figure = key in the table."""
        for name, key in names.items():
            if (*keys, key) in file.refused:
                self.refused.add(name)
            self.reading(name, getattr(table, key), Origin(file.path, (*keys, key)))

    def take(self, other: Gathering) -> None:
        """Take all that another has gathered."""
        self.figures.update(other.figures)
        self.spread.update(other.spread)
        self.origin.update(other.origin)
        self.estimates |= other.estimates
        self.refused |= other.refused

    def put_over(self, other: Gathering) -> None:
        """Take what another says in the place of what is said here; what it refused is lost."""
        for name in (*other.refused, *(self.figures.keys() & other.figures.keys())):
            self.drop(name)
        self.refused -= other.figures.keys()
        self.take(other)

    def drop(self, name: str) -> None:
        """Let go of a figure."""
        self.figures.pop(name, None)
        self.spread.pop(name, None)
        self.origin.pop(name, None)

    def copy(self) -> Gathering:
        """Give another that has gathered the same."""
        made = Gathering()
        made.figures = self.figures.copy()
        made.spread = self.spread.copy()
        made.origin = self.origin.copy()
        made.estimates = self.estimates.copy()
        made.refused = self.refused.copy()
        return made

    def damper(self) -> Damper:
        """Give the record of what has been gathered."""
        return Damper(
            **self.figures,
            spread=self.spread,
            origin=self.origin,
            estimates=frozenset(self.estimates),
            refused=frozenset(self.refused),
        )

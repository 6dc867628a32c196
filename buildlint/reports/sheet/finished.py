"""What whoever gets a finished car is told: readings as planned and as read, steps left open."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from buildlint.files.models import Build
from buildlint.files.readings import Reading
from buildlint.files.steps import STEPS
from buildlint.measures.damper import Damper
from buildlint.reports.sheet.rows import LENGTHS, Cell, in_words, reading_as
from buildlint.reports.sheet.wording import number

__all__ = ["FinishedRow", "finished_rows", "undone"]


@dataclass(frozen=True, slots=True)
class FinishedRow:
    """A reading of an end: what was planned for both sides (none: no plan), and what was read."""

    name: str
    planned: str | None
    left: Cell
    right: Cell


def finished_rows(build: Build, pair: Sequence[Damper]) -> Iterator[FinishedRow]:
    """Return the readings of an end as read, each against what its end has planned.

    Where a side has a reading of its own, that of the end is the plan.
    """
    end: Any = getattr(build, pair[0].end)
    for name, words in LENGTHS.items():
        plan = getattr(end, name, None)
        own = any(getattr(getattr(end, d.side, None), name, None) is not None for d in pair)
        planned = None
        if own and isinstance(plan, Reading):
            planned = in_words(name, plan.value, plan.unit, pair[0])
        yield FinishedRow(words, planned, *(reading_as(build, name, d) for d in pair))
    yield FinishedRow("oil has run", None, *map(_runtime, pair))
    yield FinishedRow("label", None, *map(_cap, pair))


def _runtime(damper: Damper) -> Cell:
    if damper.runtime is None:
        return Cell("not given", known=False)
    return Cell(f"{number(damper.runtime / 3600.0, 3)} h")


def _cap(damper: Damper) -> Cell:
    return Cell(damper.label) if damper.label else Cell("not given", known=False)


def undone(dampers: Sequence[Damper]) -> tuple[str, ...]:
    """Return the bench steps that some damper does not list as done, each with whose."""
    found: dict[str, list[str]] = {}
    for damper in dampers:
        for step in STEPS:
            bled = step == "bled" and damper.style == "emulsion"
            if not bled and step not in (damper.done or ()):
                found.setdefault(step, []).append(damper.corner.replace(".", " "))
    whole = len(dampers)
    return tuple(s if len(c) == whole else f"{s} ({', '.join(c)})" for s, c in found.items())

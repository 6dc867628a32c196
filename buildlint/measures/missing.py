"""What is missing for a figure, in the words of a builder."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

import numpy as np

from buildlint.files.amounts import amount
from buildlint.measures.arrays import Batch
from buildlint.measures.damper import Damper
from buildlint.measures.evaluate import Figures
from buildlint.measures.graph import CONDITIONS, needs, needs_event, refusals_of
from buildlint.measures.lookups import LOOKUPS
from buildlint.text.words import clean

__all__ = ["missing_for", "refused_words"]


def missing_for(
    names: Sequence[str],
    dampers: Sequence[Damper],
    condition: str,
    by_end: bool = False,
    at_event: bool = False,
) -> tuple[str, ...]:
    """Say what is missing for some measures of dampers at a condition, each thing once.

    Where nothing is, say what makes no sense together. `by_end` names the end of the car too; with
    `at_event`, what is worked out at an event needs one.
    """
    found = [
        f"{damper.in_words(reading)}{_whose(damper, dampers[0], by_end)}"
        for damper in dampers
        for name in names
        for reading in _missing(name, damper, condition)
    ]
    if (
        at_event
        and any(not damper.has_event for damper in dampers)
        and any(map(needs_event, names))
    ):
        found.append(dampers[0].in_words("coldest"))
    if not found:
        words = (w for d in dampers for name in names for w in refused_words(name, d, condition))
        found = [f"readings that go together ({each})" for each in words]
    return tuple(dict.fromkeys(found)) or ("a figure that has an end",)


def _whose(damper: Damper, first: Damper, by_end: bool) -> str:
    """Say of which end, or of which other build, a reading is missing."""
    if damper.build is not None and damper.build != first.build:
        return f" in {clean(damper.build)}"
    return f" at the {damper.end}" if by_end else ""


def _missing(name: str, damper: Damper, condition: str) -> Iterator[str]:
    if name in LOOKUPS:
        look = LOOKUPS[name]
        readings: Iterable[str] = (*look.required, *look.optional)
        optional: frozenset[str] = frozenset(look.optional)
        of_event: frozenset[str] = frozenset()
    else:
        readings, optional, of_event = needs(name, condition)
    for reading in readings:
        free = reading in optional or (reading in of_event and not damper.has_event)
        if reading in damper.refused or (getattr(damper, reading) is None and not free):
            yield reading


def refused_words(name: str, damper: Damper, condition: str) -> Iterator[str]:
    """Say why the readings behind a measure make no sense together."""
    figures = Figures(Batch([[damper]]))
    for refusal in refusals_of(name):
        code = refusal.where.__code__
        names = code.co_varnames[: code.co_argcount]
        given = [figures[each].as_read for each in names]
        with np.errstate(invalid="ignore"):
            mask = np.atleast_2d(refusal.where(*given))
        if mask[min(CONDITIONS.index(condition), len(mask) - 1)].any():
            said = {n: amount(float(g[0, 0]), "mm") for n, g in zip(names, given, strict=True)}
            yield refusal.words.format(**said)

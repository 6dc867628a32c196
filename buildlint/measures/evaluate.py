"""Measures worked out for all dampers at once: as read, and with each reading moved.

The axes of a figure are variant, condition, damper. Variant 0 is as read; in variant 1 every
reading is at the middle of its tolerance; then, for each reading behind the figure that is not
exact, one variant has it at its least and one at its most, all others at their middle. An axis
along which nothing changes has length 1.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache, cached_property
from typing import Any, NamedTuple

import numpy as np

from buildlint.measures.arrays import HOLES, ROW_OF, Batch, Mask
from buildlint.measures.graph import AT, CONDITIONS, FUNCTIONS, function_of, needs, parameters
from buildlint.measures.lookups import LOOKUPS
from buildlint.measures.marks import Array
from buildlint.measures.vocabulary import Measure

__all__ = ["Figures", "Worked"]


class Worked(NamedTuple):
    """A figure of all dampers, and the rows of the readings that its variants move."""

    array: Array
    over: tuple[int, ...]

    @property
    def as_read(self) -> Array:
        """As read: (condition, damper)."""
        found: Array = self.array[0]
        return found

    def variants(self, over: Sequence[int]) -> Array:
        """Return the variants for these readings; those that it does not stand on leave it be."""
        if tuple(over) == self.over or len(self.array) == 1:
            return self.array
        at = {row: 2 + 2 * i for i, row in enumerate(self.over)}
        index = [0, 1]
        for row in over:
            first = at.get(row)
            index += [1, 1] if first is None else [first, first + 1]
        return self.array[index]


class Figures:
    """Works measures out for a batch of dampers; what one stands on is worked out once."""

    def __init__(self, batch: Batch) -> None:
        """Take the dampers."""
        self.batch = batch
        self._worked: dict[str, Any] = {}

    def __getitem__(self, name: str) -> Worked:
        """Return a measure, or a reading, of all dampers."""
        found: Worked = self._get(function_of(name))
        return found

    def _get(self, name: str) -> Any:
        if name not in self._worked:
            if name == "holes":
                self._worked[name] = self._holes()
            elif name in LOOKUPS and name not in ROW_OF:
                self._worked[name] = self._looked_up(name)
            elif name in AT:
                self._worked[name] = self._at_conditions(AT[name])
            elif name in FUNCTIONS:
                self._worked[name] = self._call(FUNCTIONS[name])
            else:
                self._worked[name] = self._reading(ROW_OF[name])
        return self._worked[name]

    def _reading(self, row: int) -> Worked:
        batch = self.batch
        value, low, high = batch.value[row], batch.low[row], batch.high[row]
        if np.array_equal(low, high, equal_nan=True):
            return Worked(value[None, None, :], ())
        return Worked(np.stack([value, batch.middle[row], low, high])[:, None, :], (row,))

    def _holes(self) -> tuple[list[Array], list[Array], tuple[int, ...]]:
        batch = self.batch
        counts = list(batch.holes[:, None, None, :])
        exact = (batch.drilled == batch.drilled[:1]).all()
        drilled = batch.drilled[:1] if exact else batch.drilled
        diameters = [drilled[:, size, None, :] for size in range(len(counts))]
        return counts, diameters, () if exact else (HOLES,)

    def _at_conditions(self, names: Sequence[str]) -> Worked:
        """Join readings along the axis of conditions."""
        readings = [self._get(name) for name in names]
        over = tuple(dict.fromkeys(row for reading in readings for row in reading.over))
        if not over:
            return Worked(np.concatenate([r.array for r in readings], axis=1), ())
        shape = (2 + 2 * len(over), 1, len(self.batch.dampers))
        parts = [np.broadcast_to(r.variants(over), shape) for r in readings]
        return Worked(np.concatenate(parts, axis=1), over)

    def _looked_up(self, name: str) -> Worked:
        lookup = LOOKUPS[name]
        found = [
            float(lookup.of(d))
            if all(getattr(d, n) is not None for n in lookup.required)
            else np.nan
            for d in self.batch.dampers
        ]
        return Worked(np.array(found)[None, None, :], ())

    def _call(self, function: Callable[..., Any]) -> Worked:
        names, _ = parameters(function)
        given = [self._get(name) for name in names]
        overs = (g[2] if name == "holes" else g.over for name, g in zip(names, given, strict=True))
        over = tuple(dict.fromkeys(row for each in overs for row in each))
        arguments = [
            _of_holes(g, over) if name == "holes" else g.variants(over)
            for name, g in zip(names, given, strict=True)
        ]
        with np.errstate(all="ignore"):
            array = np.asarray(function(*arguments), dtype=float)
        if "since_bench" in function.__dict__:
            shape = (array.shape[0], len(CONDITIONS), array.shape[2])
            array = np.broadcast_to(array, shape).copy()
            array[:, 0] = 0.0
        return Worked(array, over)

    # --- what is missing -------------------------------------------------------------------------

    def known(self, measure: Measure, conditions: Sequence[str] = CONDITIONS) -> Mask:
        """Return where all that a measure stands on is given: (condition, damper)."""
        return np.array([self._known(measure.name, c) for c in conditions])

    def _known(self, name: str, condition: str) -> Mask:
        batch = self.batch
        found = np.ones(len(batch.dampers), dtype=bool)
        if name in LOOKUPS:
            for each in LOOKUPS[name].required:
                found = found & batch.given(each)
            for each in (*LOOKUPS[name].required, *LOOKUPS[name].optional):
                found = found & ~batch.refused[ROW_OF[each]]
            return found
        required, of_event, optional = _rows(name, condition)
        lacking = np.isnan(batch.value[required]).any(axis=0)
        if of_event:
            lacking |= np.isnan(batch.value[of_event]).any(axis=0) & self.has_event
        if optional:
            lacking |= batch.refused[optional].any(axis=0)
        known: Mask = ~lacking
        return known

    @cached_property
    def has_event(self) -> Mask:
        """Which dampers have an event to be judged at."""
        return np.array([d.has_event for d in self.batch.dampers], dtype=bool)


@cache
def _rows(name: str, condition: str) -> tuple[list[int], list[int], list[int]]:
    """Return the rows of what a measure needs: always, at an event, and if it is there."""
    here = needs(name, condition)
    required, of_event, optional = here.required, here.of_event - here.optional, here.optional
    first, second, third = ([ROW_OF[n] for n in some] for some in (required, of_event, optional))
    return first, second, third


def _of_holes(
    holes: tuple[list[Array], list[Array], tuple[int, ...]], over: Sequence[int]
) -> tuple[tuple[Array, Array], ...]:
    counts, diameters, own = holes
    return tuple(
        (count, Worked(diameter, own).variants(over))
        for count, diameter in zip(counts, diameters, strict=True)
    )

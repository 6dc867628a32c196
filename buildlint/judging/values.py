"""One measure of one damper as read: at a condition, or over a range of one of its readings."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from buildlint.measures import MEASURES
from buildlint.measures.arrays import Batch, Figures
from buildlint.measures.damper import Damper
from buildlint.measures.graph import CONDITIONS, is_conditional
from buildlint.measures.missing import missing_for

__all__ = ["conditions_of", "lacking", "value_of", "values_at"]


def conditions_of(damper: Damper, name: str) -> tuple[str, ...]:
    """Return the conditions at which a measure of a damper is worked out."""
    return CONDITIONS if is_conditional(name) and damper.has_event else CONDITIONS[:1]


def lacking(damper: Damper, name: str, condition: str = "bench") -> tuple[str, ...]:
    """Return what is missing for a measure of a damper, in words; nothing where it is known."""
    figures = Figures(Batch([[damper]]))
    at = CONDITIONS.index(condition)
    known = bool(figures.known(MEASURES[name])[at, 0])
    found = figures[name].as_read
    if known and not np.isnan(found[min(at, len(found) - 1), 0]):
        return ()
    return missing_for([name], [damper], condition)


def value_of(damper: Damper, name: str, condition: str = "bench") -> float:
    """Return a measure of a damper as read, in SI; nan where it cannot be worked out."""
    return values_at(damper, name, condition)[0]


def values_at(
    damper: Damper, name: str, condition: str = "bench", **readings: Sequence[float]
) -> list[float]:
    """Return a measure of a damper as read, with a reading at each of many values.

    >>> damper = Damper(end="front", side="left", stroke=0.03, hold_back=0.006)
    >>> [round(share, 2) for share in values_at(damper, "hold_back_share", hold_back=[0.0, 0.015])]
    [0.0, 0.5]
    """
    batch = Batch([[damper]])
    for reading, values in readings.items():
        batch = batch.turned({reading: np.array(values)})
    found = Figures(batch)[name].as_read
    row = np.broadcast_to(
        found[min(CONDITIONS.index(condition), len(found) - 1)], (len(batch.dampers),)
    )
    floor = MEASURES[name].floor if name in MEASURES else None
    return [float(each) for each in (row if floor is None else np.maximum(row, floor))]

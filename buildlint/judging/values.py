"""One measure of one damper as read: at a condition, or over a range of one of its readings."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

import numpy as np

from buildlint.judging.combine import combined, difference, front_over_rear
from buildlint.measures import MEASURES
from buildlint.measures.arrays import Batch
from buildlint.measures.damper import Damper
from buildlint.measures.evaluate import Figures
from buildlint.measures.graph import CONDITIONS, is_conditional
from buildlint.measures.marks import Array
from buildlint.measures.missing import missing_for

__all__ = ["COVERAGE", "Differences", "conditions_of", "lacking", "value_of", "values_at"]


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


#: Coverage factor of an expanded uncertainty: about 95 % (JCGM 100:2008, 6.3.3).
COVERAGE = 2.0


class Differences:
    """Figures of two builds held against each other; what both share cancels."""

    def __init__(self, old: Sequence[Damper], new: Sequence[Damper], same_car: bool) -> None:
        """Take the dampers of both; the pieces of one car are the same pieces in both builds."""
        batch = Batch([old, new], cars=["one", "one" if same_car else "other"])
        self._figures = Figures(batch)
        self._at = [
            {d.corner: column for d, column in zip(dampers, columns, strict=True)}
            for dampers, columns in (
                (old, range(len(old))),
                (new, range(len(old), len(old) + len(new))),
            )
        ]

    def within_tolerance(self, measure: str, condition: str | None, corner: str) -> bool:
        """Return whether new less old is no more than its expanded uncertainty (k = 2).

        `corner` is "front.left" and the like, or "car" for a measure of the whole car.
        """
        old, new = self._at
        of_car = corner == "car"
        members = [*new.values(), *old.values()] if of_car else [new[corner], old[corner]]
        found = combined(
            self._figures,
            self._figures[measure],
            np.array(members)[:, None],
            _of_cars if of_car else difference,
            MEASURES[measure].floor,
        )
        at = min(CONDITIONS.index(condition or "bench"), len(found.middle) - 1)
        value = float(found.as_read[at, 0])
        spread = found.spread
        back = spread.down if value > 0.0 else spread.up
        room = COVERAGE * float(back[at, 0])
        return abs(value) <= room < inf


def _of_cars(figures: Array) -> Array:
    found: Array = front_over_rear(figures[..., :4, :]) - front_over_rear(figures[..., 4:, :])
    return found

"""What two builds differ by, and how much of it their tolerances leave open."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

import numpy as np

from buildlint.judging.combine import difference, front_over_rear, together
from buildlint.measures import MEASURES
from buildlint.measures.arrays import Batch, Figures
from buildlint.measures.damper import Damper
from buildlint.measures.graph import CONDITIONS
from buildlint.measures.marks import Array

__all__ = ["COVERAGE", "Differences"]

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
        """Tell whether new less old is no more than its expanded uncertainty (k = 2).

        `corner` is "front.left" and the like, or "car" for a measure of the whole car.
        """
        old, new = self._at
        of_car = corner == "car"
        members = [*new.values(), *old.values()] if of_car else [new[corner], old[corner]]
        found = together(
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

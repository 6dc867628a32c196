"""Figures that are worked out of readings before anything is judged, with their ends."""

from __future__ import annotations

from collections.abc import Callable
from math import hypot, isnan

from buildlint.physics.values import Values

__all__ = ["Three", "derived"]

#: A figure as read, and its ends.
Three = tuple[float, float, float]


def derived(work: Callable[..., Values], *readings: Three) -> Three:
    """Return what `work` makes of readings, and the ends that their tolerances give it.

    Each reading goes to both its ends by itself, and the moves are added as squares (JCGM 100:2008,
    5.1.2 and 5.1.3 note 2). What cannot be worked out at an end does not move it.

    >>> derived(lambda a, b: a + b, (1.0, 0.7, 1.3), (2.0, 1.6, 2.4))
    (3.0, 2.5, 3.5)
    """
    as_read = [reading[0] for reading in readings]
    value = float(work(*as_read))
    falls, rises = [0.0], [0.0]
    for number, reading in enumerate(readings):
        moved = [*as_read]
        for moved[number] in set(reading[1:]) - {reading[0]}:
            move = float(work(*moved)) - value
            if not isnan(move):
                (rises if move > 0.0 else falls).append(move)
    return value, value - hypot(*falls), value + hypot(*rises)

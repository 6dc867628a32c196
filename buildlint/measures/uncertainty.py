"""The uncertainty of a figure, and the chance that a limit is kept.

JCGM 100:2008 (GUM): a reading is taken as rectangular within its limits (4.3.7), so that its
standard uncertainty is its half-width over the square root of 3; what it does to a figure is worked
out directly, by moving the reading (5.1.3, note 2). A tolerance that meets a physical end is not
symmetric, so the figure starts from the middle of every tolerance (4.3.8), and each side has an
uncertainty of its own. JCGM 106:2012, 7.3 and 7.4: the probability of conformity, with the normal
distribution and no prior knowledge.
"""

from __future__ import annotations

from math import erfc, sqrt
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

__all__ = ["Spread", "chance", "normal", "shares", "spread"]

Array = NDArray[np.float64]


class Spread(NamedTuple):
    """What the readings do to a figure, upwards and downwards, from the middle of their tolerances.

    `up` and `down` are standard uncertainties; `most_up` and `most_down` the sums of all moves,
    which no combination of readings goes beyond where each moves the figure by itself.
    """

    up: Array
    down: Array
    most_up: Array
    most_down: Array


def spread(moves: Array) -> Spread:
    """Combine what each reading moves a figure by.

    `moves`, of any shape (reading, end, ...), is the figure with the reading at an end of its
    tolerance less the figure with all at their middle; not a number where it cannot be worked out
    there, which counts as a move without end. Returns arrays of shape (...).

    Two readings, one that moves the figure by 3 either way, one by 4 upwards alone:

    >>> found = spread(np.array([[-3.0, 3.0], [0.0, 4.0]]))
    >>> f"{found.up * sqrt(3.0):.3f} {found.down * sqrt(3.0):.3f}"
    '5.000 3.000'
    >>> f"{found.most_up:.0f} {found.most_down:.0f}"
    '7 3'
    """
    unknown = np.isnan(moves)
    rises = np.where(unknown, np.inf, moves).max(axis=1, initial=0.0)
    falls = -np.where(unknown, -np.inf, moves).min(axis=1, initial=0.0)
    return Spread(
        np.sqrt((rises * rises).sum(axis=0) / 3.0),
        np.sqrt((falls * falls).sum(axis=0) / 3.0),
        rises.sum(axis=0),
        falls.sum(axis=0),
    )


def shares(moves: Array, upwards: bool) -> Array:
    """Return the share of each reading in the variance of one side: shape (reading, ...).

    >>> shares(np.array([[-3.0, 3.0], [0.0, 4.0]]), upwards=True).tolist()
    [0.36, 0.64]
    """
    side = moves.max(axis=1, initial=0.0) if upwards else -moves.min(axis=1, initial=0.0)
    parts = side * side
    whole = parts.sum(axis=0)
    with np.errstate(invalid="ignore", divide="ignore"):
        found: Array = np.where(whole > 0.0, parts / whole, 0.0)
    return found


def chance(middle: Array, found: Spread, at_least: Array, at_most: Array) -> Array:
    """Return the probability that a figure lies within its limits; arrays of one shape.

    A limit that there is none of is infinite. 1 where all moves together stay inside; by comparison
    where nothing is uncertain; 0 where it cannot be worked out.

    JCGM 106, 7.3 with one limit: a standard uncertainty of 1 and 1.645 from the limit is 95 %.

    >>> one = spread(np.array([[-sqrt(3.0), sqrt(3.0)], [-1e-9, 1e-9]]))
    >>> f"{chance(np.array(8.355), one, np.array(-np.inf), np.array(10.0)):.3f}"
    '0.950'
    """
    with np.errstate(invalid="ignore", divide="ignore"):
        above = _side(at_most - middle, found.up, found.most_up)
        below = _side(middle - at_least, found.down, found.most_down)
    above = np.where(np.isposinf(at_most), 1.0, above)
    below = np.where(np.isneginf(at_least), 1.0, below)
    both = above + below - 1.0
    result: Array = np.where(np.isnan(both), 0.0, np.maximum(both, 0.0))
    return result


def _side(room: Array, uncertainty: Array, most: Array) -> Array:
    """Return the probability that a figure does not go past one limit, from the room up to it."""
    room, uncertainty, most = np.broadcast_arrays(room, uncertainty, most)
    # rounding in the last bits of long sums is no reason to doubt
    certain = np.isfinite(most) & (room - most >= -1e-12 * (np.abs(most) + 1e-300))
    found: Array = np.where(certain, 1.0, np.where(np.isnan(room), np.nan, 0.0))
    open_ = ~certain & (uncertainty > 0.0)
    found[open_] = normal(room[open_] / uncertainty[open_])
    return found


_tail = np.frompyfunc(lambda z: 0.5 * erfc(-z / sqrt(2.0)), 1, 1)


def normal(z: Array) -> Array:
    """Return the cumulative standard normal distribution.

    >>> f"{float(normal(np.array(1.6449))):.4f}"
    '0.9500'
    """
    result: Array = np.asarray(_tail(z), dtype=float)
    return result

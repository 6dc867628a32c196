"""Figures of several dampers together, with what each reading of the build moves them by.

A reading that several of them share is one reading and moves them all at once; what is shared
cancels in a difference as far as it does. Nothing is put together from the uncertainties of parts:
the figure is worked out with each reading moved in turn.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from buildlint.measures.evaluate import Figures, Worked
from buildlint.measures.marks import Array
from buildlint.measures.uncertainty import Spread, spread

__all__ = [
    "Combine",
    "Combined",
    "combined",
    "difference",
    "front_over_rear",
    "less_one",
    "one",
    "relative",
]

#: Makes one figure of those of several dampers: the last axes of the array are damper, subject.
Combine = Callable[[Array], Array]


class Combined(NamedTuple):
    """A figure of some subjects, each of one or several dampers.

    `as_read` and `middle` are (condition, subject); `moves` is (reading, end, condition, subject);
    `readings` are the row of each reading that is moved, and the number of the damper within its
    subject that it belongs to.
    """

    as_read: Array
    middle: Array
    moves: Array
    readings: tuple[tuple[int, int], ...]

    @property
    def spread(self) -> Spread:
        """The uncertainty, upwards and downwards: arrays (condition, subject)."""
        return spread(self.moves)


def combined(
    figures: Figures,
    worked: Worked,
    members: NDArray[np.intp],
    combine: Combine,
    floor: float | None = None,
) -> Combined:
    """Work a figure out for subjects of several dampers; `members` is (damper, subject).

    With a `floor`, no damper's figure goes below it.
    """
    array = worked.array if floor is None else np.maximum(worked.array, floor)
    keys = figures.batch.reading[list(worked.over)][:, members]  # (reading, damper, subject)
    with np.errstate(all="ignore"):
        as_read = combine(array[0][:, members])
        rest = array[1 if len(array) > 1 else 0][:, members]  # (condition, damper, subject)
        middle = combine(rest)
        moves: list[Array] = []
        readings: list[tuple[int, int]] = []
        if worked.over:
            ends = array[2:].reshape(len(worked.over), 2, *array.shape[1:])[..., members]
            for k in range(len(members)):
                moved = keys == keys[:, k : k + 1]
                # what an earlier damper shares was moved with that one
                moved &= ~moved[:, :k].any(axis=1, keepdims=True)
                figure = combine(np.where(moved[:, None, None], ends, rest))
                moves.append(figure - middle)
                readings += [(row, k) for row in worked.over]
        every = np.concatenate(moves) if moves else np.zeros((0, 2, *middle.shape))
        # of what is without end both ways, nothing can be told
        still = np.isnan(every) & ~np.isfinite(middle)
        return Combined(as_read, middle, np.where(still, 0.0, every), tuple(readings))


def one(figure: Array) -> Array:
    """Return the figure of one damper by itself."""
    found: Array = figure[..., 0, :]
    return found


def difference(figure: Array) -> Array:
    """Return left less right; of two that are without end, not a number."""
    found: Array = figure[..., 0, :] - figure[..., 1, :]
    return found


def less_one(figure: Array) -> Array:
    """Return the first over the second, less one."""
    found: Array = figure[..., 0, :] / figure[..., 1, :] - 1.0
    return found


def relative(figure: Array) -> Array:
    """Return left less right, as a share of the mean of both."""
    mean = np.abs(figure).sum(axis=-2) / 2.0
    apart = difference(figure)
    found: Array = np.where((mean > 0.0) & np.isfinite(mean), apart / mean, apart)
    return found


def front_over_rear(figure: Array) -> Array:
    """Return the mean of both fronts over that of both rears.

    >>> front_over_rear(np.array([[1.0], [3.0], [4.0], [4.0]])).tolist()
    [0.5]
    """
    found: Array = figure[..., :2, :].sum(axis=-2) / figure[..., 2:, :].sum(axis=-2)
    return found

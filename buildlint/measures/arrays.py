"""The readings of many dampers as arrays, and candidates made of them."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping, Sequence
from copy import copy
from dataclasses import fields
from operator import attrgetter
from typing import Any

import numpy as np
from numpy.typing import NDArray

from buildlint.measures.damper import CORNERS, KEY_IN_PART, READINGS_OF, Damper
from buildlint.measures.marks import Array

__all__ = ["HOLES", "NAMES", "ROW_OF", "Batch", "Mask"]

Mask = NDArray[np.bool_]
Index = NDArray[np.intp]

#: The readings of a damper that are numbers, in the order of their axis.
NUMBERS = tuple(f.name for f in fields(Damper) if f.type == "float | None")
_CODES = {"cap": {"vented": 0.0, "sealed": 1.0}, "style": {"bladder": 0.0, "emulsion": 1.0}}
#: Everything that dampers can be told apart by.
NAMES = (
    *NUMBERS,
    "holes",
    *(
        f.name
        for f in fields(Damper)
        if f.name not in (*NUMBERS, "holes", "spread", "origin", "estimates", "refused", "like")
        and f.name not in ("end", "side")
    ),
)
ROW_OF = {name: i for i, name in enumerate(NAMES)}
HOLES = ROW_OF["holes"]
_ANY_DIAMETER = 1e-3  # of a size of holes that a piston does not have

#: Parts of which every damper has a piece of its own; all dampers share one oil.
_IN_PIECES = np.array([KEY_IN_PART.get(name, ("oil",))[0] != "oil" for name in NAMES])


#: Readings that are turned, and are never below nothing.
_FROM_NOTHING = frozenset({"hold_back", "limiter", "collar"})


class Batch:
    """Dampers as arrays: their readings with the ends of their tolerances, and where each stands.

    `value`, `low`, `high` and `middle` have the shape (reading, damper), nan where a reading is
    missing or refused; of holes and of words they have a number that stands for them.
    """

    def __init__(
        self,
        builds: Sequence[Sequence[Damper]],
        cars: Sequence[Hashable] | None = None,
        with_like: bool = False,
    ) -> None:
        """Take the dampers of builds; builds for which `cars` is equal have the same pieces.

        `with_like`, those that they are like stand behind them: no build of the batch has these.
        `like` is then where each damper's stands; -1 where there is none.
        """
        self.dampers = [damper for dampers in builds for damper in dampers]
        self.corner = np.full((len(builds), len(CORNERS)), -1, dtype=np.intp)
        piece: list[int] = []
        owners: dict[Hashable, int] = {}
        at = {corner: i for i, corner in enumerate(CORNERS)}
        for b, dampers in enumerate(builds):
            owner = owners.setdefault(cars[b] if cars is not None else b, len(owners))
            for damper in dampers:
                here = at[damper.end, damper.side]
                self.corner[b, here] = len(piece)
                piece.append(owner * len(CORNERS) + here)
        like = [-1] * len(self.dampers)
        for column, damper in enumerate(list(self.dampers) if with_like else ()):
            if damper.like is not None:
                like[column] = len(self.dampers)
                self.dampers.append(damper.like)
                like.append(-1)
                # of one car, the same corner has the same pieces
                same_car = damper.car is not None and damper.car == damper.like.car
                piece.append(piece[column] if same_car else len(CORNERS) * len(owners) + len(piece))
        self.like = np.array(like, dtype=np.intp)
        self.piece = np.array(piece, dtype=np.intp)
        self._read_numbers()
        self._read_holes()
        self._read_words()
        self._read_places()
        self._tell_readings_apart()
        self.middle = _middle(self.value, self.low, self.high)

    # --- readings --------------------------------------------------------------------------------

    def _read_numbers(self) -> None:
        dampers = self.dampers
        self.value = np.full((len(NAMES), len(dampers)), np.nan)
        if dampers:
            get = attrgetter(*NUMBERS)
            self.value[: len(NUMBERS)] = np.array([get(d) for d in dampers], dtype=float).T
        self.low, self.high = self.value.copy(), self.value.copy()
        self.refused = np.zeros(self.value.shape, dtype=bool)
        rows: list[int] = []
        columns: list[int] = []
        lows: list[float] = []
        highs: list[float] = []
        for column, damper in enumerate(dampers):
            for name, (low, high) in damper.spread.items():
                if name != "holes":
                    rows.append(ROW_OF[name])
                    columns.append(column)
                    lows.append(low)
                    highs.append(high)
            for name in damper.refused:
                self.refused[ROW_OF[name], column] = True
                for each in (self.value, self.low, self.high):
                    each[ROW_OF[name], column] = np.nan
        known = ~np.isnan(self.value[rows, columns])
        self.low[rows, columns] = np.where(known, lows, np.nan)
        self.high[rows, columns] = np.where(known, highs, np.nan)

    def _read_holes(self) -> None:
        every = [d.holes if "holes" not in d.refused else None for d in self.dampers]
        sizes = max((len(holes or ()) for holes in every), default=0)
        #: How many holes of each size (size, damper); their diameters as read, middle, least, most.
        self.holes = np.zeros((sizes, len(every)))
        self.drilled = np.full((4, sizes, len(every)), _ANY_DIAMETER)
        for column, holes in enumerate(every):
            if holes is None:
                self.holes[:, column] = np.nan
                continue
            low, high = self.dampers[column].spread.get("holes", (holes, holes))
            for size, ((count, diameter), (_, least), (_, most)) in enumerate(
                zip(holes, low, high, strict=True)
            ):
                middle = (least + most) / 2.0
                middle = diameter if abs(middle - diameter) < 1e-12 * middle else middle
                self.holes[size, column] = count
                self.drilled[:, size, column] = diameter, middle, least, most
            if low != high:
                self.low[HOLES, column], self.high[HOLES, column] = -1.0, 1.0
            else:
                self.low[HOLES, column] = self.high[HOLES, column] = 0.0

    def _read_words(self) -> None:
        """Number what is not a number: the same number is the same word."""
        for name in NAMES[len(NUMBERS) :]:
            codes: dict[Any, float] = dict(_CODES.get(name, {}))
            row = ROW_OF[name]
            given = attrgetter(name)
            self.value[row] = [
                np.nan if (word := given(d)) is None else codes.setdefault(word, float(len(codes)))
                for d in self.dampers
            ]
            if name != "holes":
                self.low[row] = self.high[row] = self.value[row]
        # a default stands where what was given is refused
        self.value[self.refused] = self.low[self.refused] = self.high[self.refused] = np.nan

    def _read_places(self) -> None:
        """Number the places where readings stand; 0 where that is not known."""
        self.place = np.zeros(self.value.shape, dtype=np.intp)
        known: dict[tuple[str, int], int] = {}
        numbers: dict[Any, int] = {}
        rows: list[int] = []
        columns: list[int] = []
        found: list[int] = []
        for column, damper in enumerate(self.dampers):
            for name, origin in damper.origin.items():
                key = (name, id(origin))
                number = known.get(key)
                if number is None:
                    # of another revision, what stands in one place may be another reading
                    reading = (name, origin, getattr(damper, name), damper.spread.get(name))
                    number = known[key] = numbers.setdefault(reading, len(numbers) + 1)
                rows.append(ROW_OF[name])
                columns.append(column)
                found.append(number)
        self.place[rows, columns] = found

    def _tell_readings_apart(self) -> None:
        """Number the readings: what has one number in two dampers of a build is one reading."""
        owned = self.place * (1 + self.piece.max(initial=0)) + self.piece
        reading = np.where(_IN_PIECES[:, None], owned, self.place)
        self.reading = np.where(self.place > 0, reading, -1 - np.arange(len(self.piece)))

    # --- candidates ------------------------------------------------------------------------------

    def repeated(self, times: int) -> Batch:
        """Return the same builds so many times over, to be turned into candidates."""
        made = self._times(times)
        for name in ("value", "low", "high", "middle", "place", "holes", "refused"):
            setattr(made, name, np.tile(getattr(self, name), (1, times)))
        made.drilled = np.tile(self.drilled, (1, 1, times))
        made._tell_readings_apart()
        return made

    def _times(self, times: int) -> Batch:
        """Return a copy with the dampers of the same builds so many times over, readings as yet."""
        made = copy(self)
        made.dampers = self.dampers * times
        steps = np.repeat(np.arange(times) * len(self.dampers), len(self.corner))
        corner = np.tile(self.corner, (times, 1))
        made.corner = np.where(corner >= 0, corner + steps[:, None], -1)
        made.piece = np.tile(self.piece, times)
        return made

    def fitted(
        self, builds: Sequence[Sequence[Damper]], parts: Mapping[str, Sequence[Damper]], end: str
    ) -> Batch:
        """Return candidates that are this one build but for some kinds of part at one end.

        `builds` are their dampers; `parts` are, for each kind, dampers of which nothing but the
        part is known, one for each candidate: so that nothing is read that all have in common.
        """
        count, size = len(builds), len(self.dampers)
        every = Batch([self.dampers, *([bare] for each in parts.values() for bare in each)])
        made = self._times(count)
        made.dampers = [damper for dampers in builds for damper in dampers]
        turned = np.tile([damper.end == end for damper in self.dampers], count)
        column = np.tile(np.arange(size), (len(NAMES), count))
        for number, kind in enumerate(parts):
            rows = [ROW_OF[name] for name in (kind, *READINGS_OF[kind])]
            first = size + number * count
            other = np.repeat(np.arange(first, first + count), size)
            column[rows] = np.where(turned, other, column[rows])
        for name in ("value", "low", "high", "middle", "place", "refused"):
            setattr(made, name, np.take_along_axis(getattr(every, name), column, axis=1))
        made.holes = every.holes[:, column[HOLES]]
        made.drilled = every.drilled[:, :, column[HOLES]]
        made._tell_readings_apart()
        return made

    def of_end(self, end: str) -> Batch:
        """Return the dampers of one end alone."""
        columns = [c for c, damper in enumerate(self.dampers) if damper.end == end]
        made = copy(self)
        made.dampers = [self.dampers[c] for c in columns]
        at = np.full(len(self.dampers) + 1, -1, dtype=np.intp)  # the last is of no damper
        at[columns] = np.arange(len(columns))
        made.corner, made.piece = at[self.corner], self.piece[columns]
        for name in ("value", "low", "high", "middle", "place", "reading", "holes", "refused"):
            setattr(made, name, getattr(self, name)[:, columns])
        made.drilled = self.drilled[:, :, columns]
        return made

    def turned(self, readings: Mapping[str, Array], ends: Sequence[str] = ()) -> Batch:
        """Return a candidate for each value of some readings, with all of them in step.

        Each is read as closely as before, and no lower than nothing; where it was not given,
        exactly. `ends` are those whose dampers are turned; left out: all.
        """
        count = len(next(iter(readings.values())))
        made = self.repeated(count)
        for name, values in readings.items():
            made._set(name, np.repeat(values, len(self.dampers)), ends)
        return made

    def set(self, reading: str, values: Array, *ends: str) -> Batch:
        """Return the same builds with a reading at a value of its own in each, at some ends."""
        made = self.repeated(1)
        made._set(reading, np.repeat(values, (self.corner >= 0).sum(axis=1)), ends)
        return made

    def without(self, reading: str, *ends: str) -> Batch:
        """Return the same builds without a reading, at some ends."""
        return self.set(reading, np.full(len(self.corner), np.nan), *ends)

    def _set(self, name: str, values: Array, ends: Sequence[str]) -> None:
        columns = [c for c, d in enumerate(self.dampers) if not ends or d.end in ends]
        turned = values[columns]
        row = ROW_OF[name]
        half = np.nan_to_num(self.high[row, columns] - self.value[row, columns])
        least = turned - half
        if name in _FROM_NOTHING:
            least = np.maximum(least, np.minimum(turned, 0.0))
        self.value[row, columns] = turned
        self.low[row, columns], self.high[row, columns] = least, turned + half
        self.middle = _middle(self.value, self.low, self.high)

    # --- asked of it -----------------------------------------------------------------------------

    def same_readings(self, names: Iterable[str], one: Index, other: Index) -> Mask:
        """Return where two dampers are the same reading by reading, from the same places."""
        rows = np.array([ROW_OF[name] for name in names if name in ROW_OF], dtype=np.intp)[:, None]
        a, b = self.value[rows, one], self.value[rows, other]
        same_value = (a == b) | (np.isnan(a) & np.isnan(b))
        place = self.place[rows, one]
        found: Mask = ((place == self.place[rows, other]) & same_value).all(axis=0)
        return found

    def given(self, name: str) -> Mask:
        """Return which dampers have a reading."""
        found: Mask = ~np.isnan(self.value[ROW_OF[name]])
        return found

    def where(self, attribute: str, wanted: Any) -> Mask:
        """Tell of which dampers a word, or a property, is as wanted."""
        get = attrgetter(attribute)
        found: Mask = np.array([get(d) == wanted for d in self.dampers], dtype=bool)
        return found


def _middle(value: Array, low: Array, high: Array) -> Array:
    """Return the middle of each tolerance: exactly as read where it is symmetric."""
    middle = (low + high) / 2.0
    symmetric = np.abs(middle - value) <= 1e-12 * np.abs(middle)
    return np.where(symmetric | np.isnan(middle), value, middle)

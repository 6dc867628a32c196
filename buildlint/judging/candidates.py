"""What could be turned or fitted at one end of a car, and how the rules judge each try.

Nothing is worked out here. Candidates are builds like this one with a reading at another value, or
with another part, as one more axis of the same evaluation; the rules judge all of them at once.
Both sides of the end are turned alike.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import product
from typing import Any, Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from buildlint.judging.judge import Judge
from buildlint.judging.rule import Rule
from buildlint.judging.subjects import SUBJECTS
from buildlint.judging.weigh import Weighed
from buildlint.measures import MEASURES
from buildlint.measures.arrays import Batch
from buildlint.measures.damper import KEY_IN_PART, Damper
from buildlint.measures.evaluate import Figures
from buildlint.measures.graph import stands_on
from buildlint.measures.marks import Array
from buildlint.team.assembly import fitted, with_nothing_but
from buildlint.team.repository import Team

__all__ = [
    "BENCH_TEMPERATURES",
    "Candidates",
    "Level",
    "Mask",
    "least_chance",
    "offered",
    "ranges",
    "window",
]

Mask = NDArray[np.bool_]

#: The steps in which a builder can set a reading, in m; of the bench temperature in K.
STEPS = {"hold_back": 1e-4, "limiter": 1e-4, "collar": 5e-4, "bench_temperature": 1.0}

#: The temperatures at which dampers are built (K): a bench is no oven.
BENCH_TEMPERATURES = np.arange(278.15, 313.15 + 0.5, STEPS["bench_temperature"])

# How many pairs of parts are tried.
_MOST_PAIRS = 2_500


def window(
    judge: Judge, dampers: Sequence[Damper], end: str, reading: str = "hold_back"
) -> tuple[float, float] | None:
    """Return the values of a reading of an end between which every must that it enters holds (SI).

    The reading is one that a builder sets: hold_back, limiter or collar.
    """
    candidates = Candidates(judge, list(dampers), end, None)
    values = candidates.values(reading)
    if values is None:
        return None
    found = ranges(values, candidates.good(reading, values))
    return found[0] if len(found) == 1 else None


class Level(NamedTuple):
    """How one rule comes out for each candidate at the end that is turned.

    `bad` is whether it fails or is borderline, `chance` the least that its limit is kept; `holds`
    is whether it is neither, with all checked that is checked of the build as it is, and nothing
    worse elsewhere. `was_bad` is whether the build as it is fails, or is borderline.
    """

    rule: Rule
    bad: Mask
    chance: Array
    holds: Mask
    was_bad: bool


@dataclass(frozen=True)
class Candidates:
    """The builds that differ from one build at one end."""

    judge: Judge
    dampers: list[Damper]
    end: str
    team: Team | None
    #: The rule whose finding is to be mended; without one, the musts alone are asked for.
    asked: Rule | None = None

    @cached_property
    def base(self) -> Figures:
        """The build as it is."""
        return Figures(Batch([self.dampers]))

    @cached_property
    def base_here(self) -> Figures:
        """The dampers of this end as they are."""
        return Figures(self.base.batch.of_end(self.end))

    @property
    def pair(self) -> list[Damper]:
        """The dampers of the end."""
        return [d for d in self.dampers if d.end == self.end]

    def values(self, reading: str) -> Array | None:
        """Return the values of a reading that a builder can set; None where it cannot be turned."""
        pair = self.pair
        now = [getattr(d, reading) for d in pair]
        if reading == "collar":
            gaps = [d.seat_gap for d in pair if d.seat_gap is not None]
            most = min(gaps, default=None)
        else:
            strokes = [d.stroke for d in pair if d.stroke is not None]
            taken = [d.limiter or 0.0 for d in pair] if reading == "hold_back" else [0.0]
            most = min(strokes) - max(taken) if strokes else None
        if most is None or most <= 0.0 or not all(isinstance(each, float) for each in now):
            return None
        step = STEPS[reading]
        values = np.arange(int(most / step + 1e-6) + 1) * step
        return np.unique(np.append(values, most))

    def good(self, reading: str, values: Array) -> Mask:
        """Return which values of a reading mend the end and make nothing else worse."""
        return self.mended(self._turned(reading, values), {reading})

    def shoulds_failing(self, reading: str, values: Array) -> NDArray[np.intp]:
        """Return how many of the shoulds that a reading enters fail with each of its values."""
        shoulds = _shoulds(self.levels(self._turned(reading, values), {reading}, "should"))
        none = np.zeros(len(values), dtype=np.intp)
        found: NDArray[np.intp] = np.sum([none, *(x.bad for x in shoulds)], axis=0)
        return found

    def _turned(self, reading: str, values: Array) -> Batch:
        turned = self.base.batch.turned({reading: values}, (self.end,))
        # once it is sealed anew, the rebound is read anew
        return turned.without("rebound", self.end) if reading == "hold_back" else turned

    def other_parts(self, kinds: Sequence[str]) -> list[tuple[str, ...]]:
        """Return the ids of every other part of some kinds; nothing where they are too many."""
        if self.team is None:
            return []
        now = {_parts_of(d, kinds) for d in self.pair}
        every = product(*(offered(self.team, kind) for kind in kinds))
        idents = [each for each in every if {each} != now]
        return idents if len(kinds) == 1 or len(idents) <= _MOST_PAIRS else []

    def with_parts(self, kinds: Sequence[str], idents: Sequence[tuple[str, ...]]) -> Batch:
        """Return the build with each of these parts at this end: one id for each of the kinds."""
        team = self.team
        assert team is not None
        builds = [
            [
                fitted(team, d, dict(zip(kinds, each, strict=True))) if d.end == self.end else d
                for d in self.dampers
            ]
            for each in idents
        ]
        bare: dict[tuple[str, str], Damper] = {}
        for each in idents:
            for part in zip(kinds, each, strict=True):
                if part not in bare:
                    bare[part] = with_nothing_but(team, *part)
        parts = {kind: [bare[kind, each[at]] for each in idents] for at, kind in enumerate(kinds)}
        return self.base.batch.fitted(builds, parts, self.end)

    def bore_is_known(self, bladder: str) -> bool:
        """Return whether the bore is given both of a bladder and of the bodies at this end."""
        assert self.team is not None
        bore = with_nothing_but(self.team, "bladder", bladder).bladder_bore
        return bore is not None and all(damper.bore is not None for damper in self.pair)

    def middles(self, batch: Batch) -> Array:
        """Return the hold-back midway in the window of each candidate, to a builder's step.

        Not a number where there is none: then nothing is known of it.
        """
        figures = Figures(batch)
        at_end = np.array([damper.end == self.end for damper in self.dampers])

        def every(name: str) -> Array:
            found = np.broadcast_to(figures[name].as_read, (1, len(batch.dampers)))
            return found.reshape(-1, len(at_end))[:, at_end]

        small = np.maximum(every("smallest_hold_back").max(axis=1), 0.0)
        large = np.minimum(every("largest_hold_back"), every("stroke_left")).min(axis=1)
        step = STEPS["hold_back"]
        middle: Array = np.round((small + large) / 2.0 / step) * step
        return np.where(small <= large, middle, np.nan)

    def windows(self, batch: Batch) -> tuple[Array, Array]:
        """Return the least and the most hold-back of each candidate that every must allows (m).

        Looked for by halves, from the middle of each window as read outwards; where even the middle
        does not hold, not a number.
        """
        values, middle = self.values("hold_back"), self.middles(batch)
        if values is None:
            return middle * np.nan, middle * np.nan
        known = ~np.isnan(middle)
        at = np.minimum(np.searchsorted(values, np.where(known, middle, 0.0)), len(values) - 1)

        def hold(numbers: NDArray[np.intp]) -> Mask:
            tried = batch.repeated(numbers.size // len(at))
            sealed = self.sealed(tried, values[numbers].ravel())
            return self.mended(sealed, {"hold_back"}).reshape(numbers.shape)

        good = known & hold(at)
        inside = np.array([at, at])
        outside = np.where(good, np.array([[-1], [len(values)]]), inside)
        while (np.abs(outside - inside) > 1).any():
            apart = np.abs(outside - inside) > 1
            between = np.where(apart, (inside + outside) // 2, inside)
            held = hold(between)
            inside, outside = np.where(held, between, inside), np.where(held, outside, between)
        least, most = (np.where(good, values[edge], np.nan) for edge in inside)
        return least, most

    def sealed(self, batch: Batch, hold_backs: Array) -> Batch:
        """Return candidates sealed at other hold-backs: their rebound is to be read anew."""
        return batch.set("hold_back", hold_backs, self.end).without("rebound", self.end)

    def best(self, batch: Batch, moved: set[str]) -> tuple[list[int], dict[int, list[str]]]:
        """Return the candidates that mend, best first, and the shoulds that each newly fails.

        Those that leave the fewest shoulds failing come first, of these the one that has the
        greatest least chance.
        """
        levels = self.levels(batch, moved)
        good = np.flatnonzero(self.mend(levels, len(batch.corner))).tolist()
        least = least_chance(levels, len(batch.corner))
        shoulds = _shoulds(levels)
        breaks = {n: [x.rule.id for x in shoulds if x.bad[n] and not x.was_bad] for n in good}
        failing = np.sum([np.zeros(len(batch.corner)), *(x.bad for x in shoulds)], axis=0)
        best = sorted(good, key=lambda number: (failing[number], -least[number], number))
        return best, breaks

    def mended(self, batch: Batch, moved: set[str]) -> Mask:
        """Return which candidates mend this end and make nothing worse elsewhere."""
        alone: Literal["must"] | None = None
        if self.asked is None or self.asked.level == "must":
            alone = "must"
        return self.mend(self.levels(batch, moved, alone), len(batch.corner))

    def mend(self, levels: Sequence[Level], count: int) -> Mask:
        """Return which candidates mend this end, from how each rule comes out for them.

        Every must at this end that what is turned enters then holds. Of the shoulds that fail
        here, as many hold as can together: what mends one of them at the cost of another is no
        cure. A should never narrows what mends a must.
        """
        good: Mask = np.ones(count, dtype=bool)
        for level in levels:
            if level.rule.level == "must":
                good &= level.holds
        if self.asked is None or self.asked.level == "must":
            return good
        for level in levels:
            if level.rule.level == "should" and level.was_bad and (good & level.holds).any():
                good = good & level.holds
        (asked,) = (level for level in levels if level.rule.id == self.asked.id)
        return good & asked.holds

    def _no_worse_elsewhere(self, now: Weighed, was: Weighed, count: int) -> Mask:
        """Return which candidates leave what a rule asks of the other end as sure as it was."""
        other = ~self._is_here(was)
        if not other.any():
            return np.ones(count, dtype=bool)

        def of_other(array: NDArray[Any], times: int) -> NDArray[Any]:
            return array.reshape(len(array), times, -1)[:, :, other]

        bad = of_other(now.verdicts >= 2, count)
        lost = of_other(~now.known, count) & of_other(was.known, 1)
        if now.figure is not None:
            chances = of_other(now.chance, count), of_other(was.chance, 1)
            bad &= chances[0] < np.minimum(chances[1], self.judge.sure) - 1e-9
        found: Mask = ~(bad | lost).any(axis=(0, 2))
        return found

    def entered_by(self, moved: Collection[str]) -> list[Rule]:
        """Return the rules that what is turned enters: readings, or kinds of part."""

        def enters(rule: Rule) -> bool:
            names = [n for n in (rule.measure, rule.by) if n is not None]
            readings = {r for name in names for r in stands_on(name)}
            parts = {KEY_IN_PART[r][0] for r in readings if r in KEY_IN_PART}
            return not (readings | parts).isdisjoint(moved)

        if "hold_back" in moved:
            moved = {*moved, "rebound"}  # it is no longer known
        # what is turned is planned anew, and the build that it is like is not in the batch
        rules = (r for r in self.judge.rules if r.group != "plan" and enters(r))
        return [r for r in rules if not MEASURES[r.measure or ""].against]

    def _is_here(self, weighed: Weighed) -> Mask:
        """Return which subjects are of this end, or of the whole car."""
        here = np.array([s == "car" or s.split(".")[0] == self.end for s in SUBJECTS])
        found: Mask = here[weighed.subjects]
        return found

    def levels(
        self,
        batch: Batch,
        moved: Collection[str],
        alone: Literal["must", "should"] | None = None,
    ) -> list[Level]:
        """Judge candidates by every rule that what is turned enters, or by those of one level."""
        count = len(batch.corner)
        # the other end counts where the whole car does, and where it is turned too
        whole, own = (Figures(batch), self.base), (Figures(batch.of_end(self.end)), self.base_here)
        found = []
        for rule in self.entered_by(moved):
            if alone is not None and rule.level != alone:
                continue
            both = MEASURES[rule.measure or ""].of or "bench_temperature" in moved
            now, was = (self.judge.weigh(each, rule) for each in (whole if both else own))
            bad, checked, chance = self._here(now, count)
            was_bad, was_checked, _ = self._here(was, 1)
            # of a bladder whose bore is not given, the cure says that it may not fit
            holds = ~bad & ((checked >= was_checked) | (rule.measure == "bladder_bore_off"))
            # a should is of no other end, and nothing else is turned for both
            if rule.level == "must" and "bench_temperature" in moved:
                holds &= self._no_worse_elsewhere(now, was, count)
            found.append(Level(rule, bad, chance, holds, bool(was_bad[0])))
        return found

    def _here(self, weighed: Weighed, count: int) -> tuple[Mask, NDArray[np.intp], Array]:
        """Sum up one rule at this end, for each candidate.

        Returns whether it fails or is borderline, how many figures were checked, and the least
        chance that the limit is kept.
        """
        here = self._is_here(weighed)
        bad, checked, chance = np.zeros(count, bool), np.zeros(count, np.intp), np.ones(count)
        if here.any():
            builds, verdicts = weighed.builds[here], weighed.verdicts[:, here]
            # what is sound at the bench counts as checked, with no event to be checked at
            known = weighed.known[:, here] & (verdicts >= 0)
            np.logical_or.at(bad, builds, (verdicts >= 2).any(axis=0))
            np.add.at(checked, builds, known.sum(axis=0))
            if weighed.figure is not None and weighed.rule.level == "must":
                every = np.where(known, weighed.chance[:, here], 1.0)
                np.minimum.at(chance, builds, every.min(axis=0))
        return bad, checked, chance


def _shoulds(levels: Sequence[Level]) -> list[Level]:
    """Return the shoulds, without those on what stands on the cap: that is written anew."""
    return [
        x
        for x in levels
        if x.rule.level == "should" and MEASURES[x.rule.measure or ""].about != "label"
    ]


def least_chance(levels: Sequence[Level], count: int) -> Array:
    """Return the least chance, over all musts, that each candidate keeps its limits."""
    musts = [level.chance for level in levels if level.rule.level == "must"]
    found: Array = np.min([np.ones(count), *musts], axis=0)
    return found


def ranges(values: Array, good: Mask) -> list[tuple[float, float]]:
    """Return the stretches of values that are good.

    >>> ranges(np.array([0.0, 1.0, 2.0, 3.0]), np.array([True, True, False, True]))
    [(0.0, 1.0), (3.0, 3.0)]
    """
    edges = np.flatnonzero(np.diff(np.concatenate([[False], good, [False]]).astype(int)))
    return [(float(values[a]), float(values[b - 1])) for a, b in edges.reshape(-1, 2).tolist()]


def _parts_of(damper: Damper, kinds: Sequence[str]) -> tuple[str | None, ...]:
    return tuple(getattr(damper, kind) for kind in kinds)


def offered(team: Team, kind: str) -> list[str]:
    """Return the ids of the parts of a kind that the team has, and has not parted with."""
    return sorted(i for i, part in team.parts()[kind].items() if not part.table.gone)

"""Weigh a rule: figures held against its limit, for every subject of a batch at every condition."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from buildlint.judging.combine import (
    Combined,
    combined,
    difference,
    front_over_rear,
    less_one,
    one,
    relative,
)
from buildlint.judging.rule import Ask, Rule
from buildlint.measures import MEASURES, Measure
from buildlint.measures.arrays import Batch
from buildlint.measures.damper import Damper
from buildlint.measures.evaluate import Figures
from buildlint.measures.graph import CONDITIONS, is_conditional, needs_event, stands_on
from buildlint.measures.lookups import LOOKUPS
from buildlint.measures.marks import Array
from buildlint.measures.uncertainty import Spread, chance

__all__ = [
    "BORDERLINE",
    "FAILS",
    "HOLDS",
    "NOT_CHECKED",
    "READ_WHEN_FINISHED",
    "Weighed",
    "speaks",
    "speaks_of",
]

#: Verdicts as numbers, each worse than the one before.
HOLDS, NOT_CHECKED, BORDERLINE, FAILS = range(4)

# Groups of rules about what a damper does where it is driven.
_ON_THE_TRACK = frozenset({"damping", "oil", "like"})

# Groups of rules about a finished damper.
_OF_A_FINISHED = frozenset({"bench", "record", "plan"})

#: What is only read on a finished damper: in a plan it may be missing.
READ_WHEN_FINISHED = ("rebound", "length", "label", "done", "runtime", "bench_on")

# Figures come out of long sums: a limit is met to the last few bits.
_LAST_BITS = 1e-9


@dataclass(frozen=True)
class Weighed:
    """One rule, weighed for subjects: `members` are the dampers of each, (damper, subject).

    Arrays are (condition, subject); a measure that no condition matters for has one.
    """

    sure: float
    figures: Figures
    rule: Rule
    measure: Measure
    builds: NDArray[np.intp]
    subjects: NDArray[np.intp]
    members: NDArray[np.intp]

    @cached_property
    def conditions(self) -> tuple[str, ...]:
        """The conditions along the first axis."""
        return CONDITIONS if is_conditional(self.measure.name) else CONDITIONS[:1]

    @cached_property
    def figure(self) -> Combined | None:
        """The figure that is weighed; none of an id, or of what is so or not."""
        measure, rule = self.measure, self.rule
        if measure.unit in ("id", "yes"):
            return None
        compares = rule.ask is not None and rule.compares_sides
        relates = rule.ask is not None and rule.ask.relative
        combine = one
        if measure.of:
            combine = front_over_rear
        elif measure.against:
            # what has another unit than what it compares is a ratio
            same_unit = measure.unit == MEASURES[measure.against].unit
            combine = difference if same_unit else less_one
        elif compares:
            combine = relative if relates else difference
        floor = measure.floor if compares else None
        return combined(self.figures, self.figures[measure.name], self.members, combine, floor)

    @cached_property
    def spread(self) -> Spread:
        """The uncertainty of the figure."""
        assert self.figure is not None
        return self.figure.spread

    @cached_property
    def value(self) -> Array:
        """The figure as read, no lower than its floor; how far apart, where sides are compared."""
        figure = self.figure
        assert figure is not None
        found = np.broadcast_to(figure.as_read, (len(self.conditions), len(self.builds)))
        if self.rule.compares_sides:
            return np.abs(found)
        floor = self.measure.floor
        return found if floor is None else np.maximum(found, floor)

    @cached_property
    def known(self) -> NDArray[np.bool_]:
        """Where all that is needed is given and makes sense."""
        given = [self._given(self.measure)]
        if self.rule.by is not None:
            given += [self._given(MEASURES[self.rule.by]), ~np.isnan(self.by[0])]
        if self.figure is not None:
            given.append(~np.isnan(self.value))
        found: NDArray[np.bool_] = np.logical_and.reduce(given)
        return found

    def _given(self, measure: Measure) -> NDArray[np.bool_]:
        every = self.figures.known(measure, self.conditions)
        found: NDArray[np.bool_] = np.logical_and.reduce(every[:, self.members], axis=1)
        return found

    @cached_property
    def met(self) -> NDArray[np.bool_]:
        """At which conditions each subject is judged.

        What a damper does on the track is judged there, and at the bench only with no event.
        """
        found = np.ones((len(self.conditions), len(self.builds)), dtype=bool)
        if len(self.conditions) > 1:
            found[1:] = self.has_event
            if self.measure.after_journey or self.rule.group in _ON_THE_TRACK:
                found[0] = ~self.has_event
        return found

    # --- limits ----------------------------------------------------------------------------------

    @cached_property
    def by(self) -> tuple[Array, Array, Array]:
        """The measure that chooses a band: as read, its least and its most."""
        worked = self.figures[self.rule.by or ""]
        found = combined(self.figures, worked, self.members, one)
        moved = found.spread
        shape = (len(self.conditions), len(self.builds))
        as_read, low, high = (
            np.broadcast_to(each[: len(self.conditions)], shape)
            for each in (
                found.as_read,
                found.middle - moved.most_down,
                found.middle + moved.most_up,
            )
        )
        return as_read, low, high

    @cached_property
    def band(self) -> NDArray[np.intp]:
        """The number of the band that each subject is in."""
        edges = [b.up_to for b in self.rule.by_band[:-1] if b.up_to is not None]
        as_read = self.by[0]
        found = np.zeros(as_read.shape, dtype=np.intp)
        for edge in edges:
            found += as_read > edge + _LAST_BITS
        return found

    def ask_at(self, condition: int, subject: int) -> Ask | None:
        """Return the limit that a subject is judged by."""
        if self.rule.by is None:
            return self.rule.ask
        return self.rule.by_band[int(self.band[condition, subject])].ask

    @cached_property
    def limits(self) -> tuple[Array, Array]:
        """The least and the most that is asked for; infinite where there is none."""
        if self.rule.by is None:
            ask = self.rule.ask or Ask()
            least, most = _limits(ask)
            shape = (len(self.conditions), len(self.builds))
            return np.full(shape, least), np.full(shape, most)
        limits = np.array([_limits(band.ask) for band in self.rule.by_band])
        return limits[self.band, 0], limits[self.band, 1]

    # --- verdicts --------------------------------------------------------------------------------

    @cached_property
    def margin(self) -> Array:
        """What is left to the nearer limit; below zero: past it."""
        least, most = self.limits
        with np.errstate(invalid="ignore"):
            return np.minimum(most - self.value, self.value - least)

    @cached_property
    def chance(self) -> Array:
        """The chance that the limit is kept; where bands lie close, that of all it may be in."""
        assert self.figure is not None
        shape = self.value.shape
        middle, *rest = (
            np.broadcast_to(each, shape) for each in (self.figure.middle, *self.spread)
        )
        moves = Spread(*rest)
        found = chance(middle, moves, *_widened(*self.limits))
        if self.rule.by is not None:
            _, low, high = self.by
            edge = -np.inf
            for band in self.rule.by_band:
                upper = np.inf if band.up_to is None else band.up_to
                touched = (low <= upper) & (high > edge)
                limits = (np.full(shape, limit) for limit in _limits(band.ask))
                here = chance(middle, moves, *_widened(*limits))
                found = np.where(touched, np.minimum(found, here), found)
                edge = upper
        return found

    @cached_property
    def verdicts(self) -> NDArray[np.intp]:
        """The verdict at each condition, as its number; -1 where it is not judged at it."""
        if self.figure is None:
            found = self._of_words()
        else:
            least, most = _widened(*self.limits)
            kept = (least <= self.value) & (self.value <= most)
            found = np.where(kept, HOLDS, FAILS)
            if self.rule.level == "must":
                unsure = (found == HOLDS) & self.known & (self.chance < self.sure)
                found = np.where(unsure, BORDERLINE, found)
        found = np.where(self.known, found, NOT_CHECKED)
        # with no event, what is sound at the bench is no more than that; but what a damper does
        # where it is driven is judged at one place, and that is then the bench
        on_the_track = self.rule.group in _ON_THE_TRACK and (
            is_conditional(self.measure.name) or bool(self.measure.against)
        )
        if self.rule.limits and needs_event(self.measure.name) and not on_the_track:
            found = np.where(~self.has_event & (found == HOLDS), NOT_CHECKED, found)
        if "class" in self.rule.only.words:
            found = np.where(self.of_no_class, NOT_CHECKED, found)
        return np.where(self.met, found, -1)

    @cached_property
    def has_event(self) -> NDArray[np.bool_]:
        """Which subjects have an event to be judged at."""
        found: NDArray[np.bool_] = self.figures.has_event[self.members[0]]
        return found

    @cached_property
    def of_no_class(self) -> NDArray[np.bool_]:
        """Which subjects are of a car that says no class."""
        found: NDArray[np.bool_] = self.figures.batch.where("car_class", None)[self.members[0]]
        return found

    def _of_words(self) -> NDArray[np.intp]:
        words = self.words
        ask = self.rule.ask or Ask()
        sound = [(each[0] == each[1] if ask.exactly else _is_sound(each[0], ask)) for each in words]
        return np.where(np.array(sound, dtype=bool), HOLDS, FAILS)[None, :]

    @cached_property
    def words(self) -> list[tuple[Any, ...]]:
        """What was looked up, for each damper of each subject; None where something is missing."""
        look = LOOKUPS[self.measure.name]
        dampers = self.figures.batch.dampers
        needed = look.required

        def of(number: int) -> Any:
            damper = dampers[number]
            if any(getattr(damper, name) is None for name in needed):
                return None
            return look.of(damper)

        return [tuple(of(n) for n in each) for each in self.members.T.tolist()]

    def told(self, subject: int) -> list[Any]:
        """Return what each damper of a subject lacks, or, where it is wrong, all that it has."""
        look, dampers = LOOKUPS[self.measure.name], self.figures.batch.dampers

        def of(damper: Damper, word: Any) -> Any:
            if word is None:
                return [getattr(damper, name) is None for name in look.required]
            every = (*look.required, *look.optional)
            return word is True or [getattr(damper, name) for name in every]

        members = self.members[:, subject].tolist()
        return [of(dampers[n], word) for n, word in zip(members, self.words[subject], strict=True)]

    @cached_property
    def worst(self) -> NDArray[np.intp]:
        """The condition at which each subject comes out worst."""
        verdicts = self.verdicts
        if len(verdicts) == 1:
            return np.zeros(verdicts.shape[1], dtype=np.intp)
        near = np.where(np.isnan(self.margin), np.inf, self.margin)
        if self.rule.level == "must":
            near = np.where(verdicts == BORDERLINE, self.chance, near)
        found = np.zeros(verdicts.shape[1], dtype=np.intp)
        subjects = np.arange(verdicts.shape[1])
        for condition in range(1, len(verdicts)):
            here, best = verdicts[condition], verdicts[found, subjects]
            worse = (here > best) | ((here == best) & (near[condition] < near[found, subjects]))
            found = np.where(worse, condition, found)
        return found


def speaks(measure: Measure, batch: Batch) -> NDArray[np.bool_]:
    """Tell of which dampers a measure speaks; what is not known counts as if it did."""
    if measure.given:
        return batch.given(measure.given)
    if measure.only is None:
        return np.ones(len(batch.dampers), dtype=bool)
    attribute, wanted = measure.only
    if measure.against:
        # in a batch without what it is compared with, nothing is said of it
        return batch.where(attribute, wanted) & (batch.like >= 0)
    return batch.where(attribute, wanted) | batch.where(attribute, None)


def speaks_of(rule: Rule, measure: Measure, batch: Batch) -> NDArray[np.bool_]:
    """Tell of which dampers a rule speaks; a cap that is not known counts as if it did."""
    found = speaks(measure, batch) & ~_waits_to_be_built(rule, batch)
    for key, word in rule.only.words.items():
        if key == "class":
            classes = [d.car_class for d in batch.dampers]
            has = np.array([c is None or _folded(c) == _folded(word) for c in classes], dtype=bool)
        else:
            has = batch.where(key, word)
            if key == "cap":
                has |= batch.where(key, None)
        found = found & has
    return found


def _waits_to_be_built(rule: Rule, batch: Batch) -> NDArray[np.bool_]:
    """Tell which dampers are planned where a rule speaks of a finished one, or of its readings."""
    plans = batch.where("plan", True)
    if rule.group in _OF_A_FINISHED or not plans.any():
        return plans
    behind = {name for measure in (rule.weighed, rule.by) if measure for name in stands_on(measure)}
    unread = [~batch.given(name) for name in READ_WHEN_FINISHED if name in behind]
    found: NDArray[np.bool_] = plans & np.any([np.zeros_like(plans), *unread], axis=0)
    if MEASURES[rule.weighed or ""].against:
        found = found | (found[batch.like] & (batch.like >= 0))
    return found


def _folded(car_class: str) -> str:
    return car_class.strip().casefold()


def _widened(least: Array, most: Array) -> tuple[Array, Array]:
    """Return limits that are met to the last bits of long sums."""
    ends = [np.where(np.isfinite(limit), np.abs(limit), 0.0) for limit in (least, most)]
    hair = _LAST_BITS * np.maximum(np.maximum(*ends), 1e-6)
    return least - hair, most + hair


def _limits(ask: Ask) -> tuple[float, float]:
    if ask.same_within is not None:
        return -ask.same_within, ask.same_within
    least = ask.at_least if ask.at_least is not None else -np.inf
    return least, ask.at_most if ask.at_most is not None else np.inf


def _is_sound(word: Any, ask: Ask) -> bool:
    """Return whether an id, or whether something is so, is what is asked for."""
    return word in ask.one_of if ask.one_of else word is True

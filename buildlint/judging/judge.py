"""Judge dampers: each rule, on each subject that it speaks of, at each condition."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property, partial
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from buildlint.damper import CORNERS, Damper
from buildlint.finding import Verdict
from buildlint.judging.combine import (
    Together,
    difference,
    front_over_rear,
    one,
    relative,
    together,
)
from buildlint.measures import MEASURES, Measure
from buildlint.measures.arrays import NAMES, Batch, Figures
from buildlint.measures.graph import CONDITIONS, is_conditional, needs_event, stands_on
from buildlint.measures.lookups import LOOKUPS
from buildlint.measures.marks import Array
from buildlint.measures.missing import missing_for
from buildlint.measures.uncertainty import Spread, chance, shares, spread
from buildlint.rule import Ask, Rule
from buildlint.rulebook import Rulebook
from buildlint.settings import SURE
from buildlint.subjects import SUBJECTS

__all__ = ["AT_A_TIME", "Figure", "Judge", "Judgement", "Outcome", "Weighed", "measured"]

#: So many builds are judged at a time: memory stays flat.
AT_A_TIME = 200

# Figures come out of long sums: a limit is met to the last few bits.
_LAST_BITS = 1e-9

_VERDICTS: tuple[Verdict, ...] = ("holds", "not checked", "borderline", "fails")
_HOLDS, _NOT_CHECKED, _BORDERLINE, _FAILS = range(4)

_CAR = SUBJECTS.index("car")
_ENDS = (SUBJECTS.index("front"), SUBJECTS.index("rear"))
_CORNERS = tuple(SUBJECTS.index(f"{end}.{side}") for end, side in CORNERS)


class Weight(NamedTuple):
    """A reading behind a figure: its name, whose it is, and its share of the variance."""

    name: str
    damper: Damper
    share: float


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure of one subject at one condition, with its standard uncertainty each way. In SI.

    `moves` is what each of `readings` moves it by, at the two ends of its tolerance.
    """

    value: float
    middle: float
    up: float
    down: float
    moves: Array = field(repr=False, compare=False)
    readings: tuple[tuple[str, Damper], ...] = field(repr=False, compare=False)

    def weights(self, upwards: bool) -> list[Weight]:
        """Return what moves it that way, the greatest share of the variance first."""
        found = [
            Weight(name, damper, float(share))
            for (name, damper), share in zip(
                self.readings, shares(self.moves, upwards), strict=True
            )
            if share > 0.0
        ]
        return sorted(found, key=lambda weight: -weight.share)


@dataclass(frozen=True, slots=True)
class Judgement:
    """One rule on one subject, at its worst condition. Figures are in SI.

    `dampers` are those it speaks of (left and right where they are compared or alike); `ask` is the
    limit that was judged (the band's, where there are bands); `sides` are the figures of left and
    right where those are compared; `chance` is that the limit is kept.
    """

    rule: Rule
    measure: Measure
    subject: str
    dampers: tuple[Damper, ...]
    verdict: Verdict
    condition: str | None = None
    figure: Figure | None = None
    words: Any = None
    ask: Ask | None = None
    margin: float | None = None
    chance: float | None = None
    sides: tuple[float, float] | None = None

    @property
    def unit(self) -> str:
        """The unit of the figures: a share where the limit is a share of the mean of both sides."""
        return "1" if self.ask is not None and self.ask.relative else self.measure.unit

    @property
    def upwards(self) -> bool:
        """Whether the upper limit is the nearer one, or the one that is not kept."""
        ask, figure = self.ask, self.figure
        if ask is None or figure is None or ask.same_within is not None or ask.at_least is None:
            return True
        if ask.at_most is None:
            return False
        return ask.at_most - figure.value <= figure.value - ask.at_least

    @property
    def weights(self) -> list[Weight]:
        """What decides whether the limit is kept, the greatest share of the variance first."""
        figure = self.figure
        if figure is None:
            return []
        if self.ask is not None and self.ask.same_within is not None:
            return figure.weights(figure.middle >= 0.0)
        return figure.weights(self.upwards)

    @property
    def missing(self) -> tuple[str, ...]:
        """What is missing for it, or makes no sense together, in words."""
        if self.verdict != "not checked":
            return ()
        if "class" in self.rule.only and self.dampers[0].car_class is None:
            return (self.dampers[0].in_words("car_class"),)
        return missing_for(
            [name for name in (self.measure.name, self.rule.by) if name is not None],
            self.dampers if self.rule.compares_sides or self.measure.of else self.dampers[:1],
            self.condition or "bench",
            by_end=bool(self.measure.of),
            at_event=self.rule.limits,
        )


class Outcome(NamedTuple):
    """What came of one build: the rules that hold with their subjects, and all other judgements."""

    held: list[tuple[str, str]]
    others: list[Judgement]


class Judge:
    """Judges the dampers of builds by a rulebook."""

    def __init__(self, rulebook: Rulebook, sure: float = SURE) -> None:
        """Take the rules to judge by, and the chance from which a must holds."""
        self.rules = tuple(rulebook.measured())
        self.sure = sure

    def outcomes(self, builds: Sequence[Sequence[Damper]]) -> Iterator[Outcome]:
        """Judge builds, so many at a time; gives what came of each, in their order."""
        for start in range(0, len(builds), AT_A_TIME):
            here = builds[start : start + AT_A_TIME]
            found = [Outcome([], []) for _ in here]
            figures = Figures(Batch(here))
            for rule in self.rules:
                self.weigh(figures, rule).tell(found)
            yield from found

    def judge(self, dampers: Sequence[Damper], at_each: bool = False) -> list[Judgement]:
        """Judge the dampers of one build by every rule that speaks of them.

        Gives each subject at its worst condition, or `at_each` condition.
        """
        figures = Figures(Batch([dampers]))
        return [j for rule in self.rules for j in self.weigh(figures, rule).judgements(at_each)]

    def weigh(self, figures: Figures, rule: Rule) -> Weighed:
        """Weigh one rule for every subject of a batch, at every condition."""
        measure = MEASURES[rule.measure or ""]
        batch = figures.batch
        meant = speaks_of(rule, measure, batch)
        corner = np.where((batch.corner >= 0) & _at(meant, batch.corner), batch.corner, -1)
        if measure.of:
            builds = np.flatnonzero((corner >= 0).all(axis=1))
            subjects = np.full(len(builds), _CAR)
            members = corner[builds].T
        elif rule.compares_sides:
            pairs = corner.reshape(-1, 2)
            here = np.flatnonzero((pairs >= 0).all(axis=1))
            builds, subjects = here // 2, np.array(_ENDS)[here % 2]
            members = pairs[here].T
        else:
            flat = corner.reshape(-1)
            here = np.flatnonzero(flat >= 0)
            builds, subjects = here // len(CORNERS), np.array(_CORNERS)[here % len(CORNERS)]
            members = flat[here][None, :]
        return Weighed(self, figures, rule, measure, builds, subjects, members)


def _at(mask: NDArray[np.bool_], corner: NDArray[np.intp]) -> NDArray[np.bool_]:
    return mask[corner] if len(mask) else np.zeros(corner.shape, dtype=bool)


def speaks(measure: Measure, batch: Batch) -> NDArray[np.bool_]:
    """Tell of which dampers a measure speaks; what is not known counts as if it did."""
    if measure.only is None:
        return np.ones(len(batch.dampers), dtype=bool)
    attribute, wanted = measure.only
    return batch.where(attribute, wanted) | batch.where(attribute, None)


def speaks_of(rule: Rule, measure: Measure, batch: Batch) -> NDArray[np.bool_]:
    """Tell of which dampers a rule speaks; a cap that is not known counts as if it did."""
    found = speaks(measure, batch)
    for key, word in rule.only.items():
        if key == "class":
            classes = [d.car_class for d in batch.dampers]
            has = np.array([c is None or _folded(c) == _folded(word) for c in classes], dtype=bool)
        else:
            has = batch.where(key, word)
            if key == "cap":
                has |= batch.where(key, None)
        found = found & has
    return found


def _folded(car_class: str) -> str:
    return car_class.strip().casefold()


def measured(dampers: Sequence[Damper]) -> list[Judgement]:
    """Give every measure of the dampers of one build, at each condition, held against no limit."""
    judge = Judge(Rulebook({}))
    figures = Figures(Batch([dampers]))
    rules = (Rule(name, "", "should", "", "", "", Path(), measure=name) for name in MEASURES)
    return [j for rule in rules for j in judge.weigh(figures, rule).judgements(at_each=True)]


@dataclass(frozen=True)
class Weighed:
    """One rule, weighed for subjects: `members` are the dampers of each, (damper, subject).

    Arrays are (condition, subject); a measure that no condition matters for has one.
    """

    judge: Judge
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
    def figure(self) -> Together | None:
        """The figure that is weighed; none of an id, or of what is so or not."""
        measure, rule = self.measure, self.rule
        if measure.unit in ("id", "yes"):
            return None
        compares = rule.ask is not None and rule.compares_sides
        relates = rule.ask is not None and rule.ask.relative
        combine = one
        if measure.of:
            combine = front_over_rear
        elif compares:
            combine = relative if relates else difference
        floor = measure.floor if compares else None
        return together(self.figures, self.figures[measure.name], self.members, combine, floor)

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
        every = self.figures.known(measure)[: len(self.conditions)]
        found: NDArray[np.bool_] = np.logical_and.reduce(every[:, self.members], axis=1)
        return found

    @cached_property
    def met(self) -> NDArray[np.bool_]:
        """At which conditions each subject is judged."""
        found = np.ones((len(self.conditions), len(self.builds)), dtype=bool)
        if len(self.conditions) > 1:
            found[1:] = self.has_event
            if self.measure.after_journey:
                found[0] = ~self.has_event
        return found

    # --- limits ----------------------------------------------------------------------------------

    @cached_property
    def by(self) -> tuple[Array, Array, Array]:
        """The measure that chooses a band: as read, its least and its most."""
        worked = self.figures[self.rule.by or ""]
        found = together(self.figures, worked, self.members, one)
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
        edges = [b.up_to for b in self.rule.bands[:-1] if b.up_to is not None]
        as_read = self.by[0]
        found = np.zeros(as_read.shape, dtype=np.intp)
        for edge in edges:
            found += as_read > edge + _LAST_BITS
        return found

    def ask_at(self, condition: int, subject: int) -> Ask | None:
        """Return the limit that a subject is judged by."""
        if self.rule.by is None:
            return self.rule.ask
        return self.rule.bands[int(self.band[condition, subject])].ask

    @cached_property
    def limits(self) -> tuple[Array, Array]:
        """The least and the most that is asked for; infinite where there is none."""
        if self.rule.by is None:
            ask = self.rule.ask or Ask()
            least, most = _limits(ask)
            shape = (len(self.conditions), len(self.builds))
            return np.full(shape, least), np.full(shape, most)
        limits = np.array([_limits(band.ask) for band in self.rule.bands])
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
            for band in self.rule.bands:
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
            found = np.where(kept, _HOLDS, _FAILS)
            if self.rule.level == "must":
                unsure = (found == _HOLDS) & self.known & (self.chance < self.judge.sure)
                found = np.where(unsure, _BORDERLINE, found)
        found = np.where(self.known, found, _NOT_CHECKED)
        # with no event, what is sound at the bench is no more than that
        if self.rule.limits and needs_event(self.measure.name):
            found = np.where(~self.has_event & (found == _HOLDS), _NOT_CHECKED, found)
        if "class" in self.rule.only:
            found = np.where(self.of_no_class, _NOT_CHECKED, found)
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
        return np.where(np.array(sound, dtype=bool), _HOLDS, _FAILS)[None, :]

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

    @cached_property
    def worst(self) -> NDArray[np.intp]:
        """The condition at which each subject comes out worst."""
        verdicts = self.verdicts
        if len(verdicts) == 1:
            return np.zeros(verdicts.shape[1], dtype=np.intp)
        near = np.where(np.isnan(self.margin), np.inf, self.margin)
        if self.rule.level == "must":
            near = np.where(verdicts == _BORDERLINE, self.chance, near)
        found = np.zeros(verdicts.shape[1], dtype=np.intp)
        subjects = np.arange(verdicts.shape[1])
        for condition in range(1, len(verdicts)):
            here, best = verdicts[condition], verdicts[found, subjects]
            worse = (here > best) | ((here == best) & (near[condition] < near[found, subjects]))
            found = np.where(worse, condition, found)
        return found

    # --- told ------------------------------------------------------------------------------------

    def tell(self, outcomes: Sequence[Outcome]) -> None:
        """Add what came of each build; what holds by rule and subject alone."""
        if not len(self.builds):
            return
        first, subjects, groups = self._grouped
        at = (self.worst[first], first)
        verdicts = self.verdicts[at]
        held = [(self.rule.id, subject) for subject in SUBJECTS]
        holds = verdicts == _HOLDS
        for build, subject in zip(
            self.builds[first[holds]].tolist(), subjects[holds].tolist(), strict=True
        ):
            outcomes[build].held.append(held[subject])
        for number in np.flatnonzero(~holds).tolist():
            at_first = int(first[number])
            judgement = self._judgement(
                at_first, int(self.worst[at_first]), int(subjects[number]), groups(number)
            )
            outcomes[int(self.builds[at_first])].others.append(judgement)

    def judgements(self, at_each: bool = False) -> Iterator[Judgement]:
        """Give the judgement of each subject at its worst condition, or at each."""
        if not len(self.builds):
            return
        first, subjects, groups = self._grouped
        for number, at_first in enumerate(first.tolist()):
            met = np.flatnonzero(self.verdicts[:, at_first] >= 0).tolist()
            for condition in met if at_each else [int(self.worst[at_first])]:
                yield self._judgement(at_first, condition, int(subjects[number]), groups(number))

    @cached_property
    def _grouped(self) -> tuple[NDArray[np.intp], NDArray[np.intp], Any]:
        """Tell what is alike on both sides once for its end, what is alike on all once for the car.

        Returns the first column of each group, its subject, and what gives its dampers.
        """
        if len(self.members) > 1:
            every = np.arange(len(self.builds))
            return every, self.subjects, lambda number: self.members[:, number].tolist()
        batch = self.figures.batch
        at = np.full((len(batch.corner), len(CORNERS)), -1, dtype=np.intp)
        number_of = {subject: i for i, subject in enumerate(_CORNERS)}
        where = np.array([number_of[int(s)] for s in self.subjects], dtype=np.intp)
        at[self.builds, where] = np.arange(len(self.builds))
        alike = [self._alike(at[:, a], at[:, b]) for a, b in ((0, 1), (2, 3), (0, 2))]
        whole = alike[0] & alike[1] & alike[2]
        groups: list[tuple[int, int, list[int]]] = []
        for build in range(len(at)):
            here = at[build].tolist()
            if whole[build]:
                groups.append((here[0], _CAR, here))
                continue
            for end in (0, 1):
                left, right = here[2 * end], here[2 * end + 1]
                if alike[end][build]:
                    groups.append((left, _ENDS[end], [left, right]))
                    continue
                for side, column in enumerate((left, right)):
                    if column >= 0:
                        groups.append((column, _CORNERS[2 * end + side], [column]))
        first = np.array([g[0] for g in groups], dtype=np.intp)
        subjects = np.array([g[1] for g in groups], dtype=np.intp)
        members = self.members[0]
        return first, subjects, lambda number: [int(members[c]) for c in groups[number][2]]

    def _alike(self, one: NDArray[np.intp], other: NDArray[np.intp]) -> NDArray[np.bool_]:
        both = (one >= 0) & (other >= 0)
        found = both.copy()
        names = set(stands_on(self.measure.name))
        if self.rule.by is not None:
            names |= stands_on(self.rule.by)
        members = self.members[0]
        found[both] = self.figures.batch.alike(names, members[one[both]], members[other[both]])
        return found

    def _judgement(
        self, column: int, condition: int, subject: int, members: Sequence[int]
    ) -> Judgement:
        dampers = tuple(self.figures.batch.dampers[n] for n in members)
        verdict = _VERDICTS[int(self.verdicts[condition, column])]
        told = partial(
            Judgement,
            self.rule,
            self.measure,
            SUBJECTS[subject],
            dampers,
            verdict,
            self.conditions[condition] if len(self.conditions) > 1 else None,
        )
        if verdict == "not checked":
            return told(ask=self.rule.ask)
        ask = self.ask_at(condition, column)
        if self.figure is None:
            words = self.words[column]
            return told(words=words if self.rule.compares_sides else words[0], ask=ask)
        return told(
            figure=self.figure_at(column, condition),
            ask=ask,
            margin=float(self.margin[condition, column]),
            chance=float(self.chance[condition, column]),
            sides=self._sides(column, condition),
        )

    def figure_at(self, column: int, condition: int) -> Figure:
        """Return the figure of one subject at a condition."""
        found = self.figure
        assert found is not None
        return figure_of(self.figures, found, self.value, self.members, column, condition)

    def _sides(self, column: int, condition: int) -> tuple[float, float] | None:
        if not self.rule.compares_sides:
            return None
        as_read = self.figures[self.measure.name].as_read
        left, right = (
            float(as_read[min(condition, len(as_read) - 1), n]) for n in self.members[:, column]
        )
        floor = self.measure.floor
        return (left, right) if floor is None else (max(left, floor), max(right, floor))


def figure_of(
    figures: Figures,
    found: Together,
    value: Array,
    members: NDArray[np.intp],
    column: int,
    condition: int,
) -> Figure:
    """Return the figure of one subject at a condition, out of those of many."""
    at = min(condition, len(found.middle) - 1)
    moves = found.moves[:, :, at, column]
    moved = spread(moves)
    dampers = figures.batch.dampers
    return Figure(
        float(value[min(condition, len(value) - 1), column]),
        float(found.middle[at, column]),
        float(moved.up),
        float(moved.down),
        moves,
        tuple((NAMES[row], dampers[int(members[k, column])]) for row, k in found.readings),
    )


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
    """Tell whether an id, or whether something is so, is what is asked for."""
    return word in ask.one_of if ask.one_of else word is True

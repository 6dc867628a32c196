"""Settle in brief which rules surely hold, so that only the others are judged at length.

Most builds are right, and most figures far from their limits: enclosures, which are wider than
bounds, are enough to see that. What they leave open is judged at length, so that no report differs.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from math import inf
from operator import attrgetter, ge, le
from typing import Any

from buildlint.bounds import Bounds
from buildlint.damper import CORNERS, KEY_IN_PART, Damper
from buildlint.derived import FUNCTIONS
from buildlint.enclosures import OWN, Enclosing, Ends, Target, enclosing
from buildlint.figure import conditions_of, lacks, stands_on
from buildlint.finding import HeldOn
from buildlint.measures import MEASURES, Measure, plan
from buildlint.reach import speaks_of, subjects
from buildlint.rule import Ask, Rule
from buildlint.together import front_over_rear
from buildlint.weighing import bands_touched, is_sound

__all__ = ["Brief"]

_RECORD = ("spread", "origin", "estimates", "refused")
_FIGURES = tuple(f.name for f in fields(Damper) if f.name not in _RECORD)
_figures = attrgetter(*_FIGURES)
# With what is known of a damper, these say which rules and measures speak of it.
_words = attrgetter("end", "style", "cap", "car_class", "arrive_by")

# Where figures come from, as far as they come again in other builds; from the car, where unsaid.
_HOMES = {
    **{name: kind for name, (kind, _) in KEY_IN_PART.items()},
    **dict.fromkeys(("bench_temperature", "bench_altitude", "bench_on"), "bench"),
    **dict.fromkeys(("coldest", "hottest", "event_altitude", "event_on", "highest"), "event"),
    # what a build says of one corner is seldom alike on the next
    **dict.fromkeys(("side", "hold_back", "collar", "length", "rebound", "runtime", "label"), OWN),
}

_EXACT: dict[str, tuple[Any, Any]] = {}

# Kinds of dampers, and of builds, that are kept.
_MOST_KINDS = 500


@dataclass(frozen=True, slots=True)
class _Found:
    """What is found of one damper: the rules left open, and the ends of the figures asked for."""

    open: frozenset[int]
    lows: Ends
    highs: Ends


class _Kind:
    """Dampers of which the same rules speak, and that know the same figures as exactly."""

    def __init__(self, rules: Sequence[Rule], like: Damper) -> None:
        """Make ready to settle the rules for dampers of the kind of this one."""
        self.rules = rules
        self.targets: dict[Target, int] = {}
        self.limits: list[list[tuple[int, Ask]]] = []
        self.banded: list[tuple[int, int, int]] = []
        self.both: set[int] = set()  # targets of which both ends are asked for
        self.words: dict[Target, list[tuple[int, Ask]]] = {}
        #: The figures to hold against another damper's, by rule: one at each condition.
        self.beside: dict[int, tuple[int, ...]] = {}
        left: set[int] = set()
        for number, rule in enumerate(rules):
            measure = MEASURES[rule.measure or ""]
            if speaks_of(rule, measure, like) and not self._take(number, rule, measure, like):
                left.add(number)
        self.open = frozenset(left)
        self.leasts = [max((_least(a) for _, a in asked), default=-inf) for asked in self.limits]
        self.mosts = [min((_most(a) for _, a in asked), default=inf) for asked in self.limits]
        loose = frozenset(like.spread)
        exact = frozenset(_FIGURES) - loose
        asked = [
            (target, place in self.both or least > -inf, place in self.both or most < inf)
            for (target, place), least, most in zip(
                self.targets.items(), self.leasts, self.mosts, strict=True
            )
        ]
        self.enclose: Enclosing = enclosing(asked, _FIGURES, FUNCTIONS, exact, _HOMES)
        said = [(target, True, True) for target in self.words]
        self.say: Enclosing = enclosing(said, _FIGURES, FUNCTIONS, frozenset(_FIGURES))

    def _take(self, number: int, rule: Rule, measure: Measure, like: Damper) -> bool:
        """Take a rule, unless something is missing for it."""
        of = MEASURES[measure.of] if measure.of else measure
        at = [
            (c if plan(of.name, c).conditional else "bench") for c in conditions_of(measure, like)
        ]
        by = MEASURES[rule.by] if rule.by is not None else None
        for each in (of, by):
            if each is not None and any(lacks(each, like, condition) for condition in at):
                return False
        wanted = [Target(of.name, condition, of.floor) for condition in at]
        if of.unit in ("id", "yes"):
            if rule.ask is None:
                return False
            if not rule.ask.exactly:
                self.words.setdefault(wanted[0], []).append((number, rule.ask))
            return True
        places = [self._place(target) for target in wanted]
        if measure.of or rule.compares_sides:
            self.beside[number] = tuple(places)
            self.both.update(places)
        elif by is not None:
            for place, condition in zip(places, at, strict=True):
                here = condition if plan(by.name, condition).conditional else "bench"
                other = self._place(Target(by.name, here, by.floor))
                self.banded.append((number, place, other))
                self.both |= {place, other}
        elif rule.ask is None:
            return False
        else:
            for place in places:
                self.limits[place].append((number, rule.ask))
        return True

    def _place(self, target: Target) -> int:
        if target not in self.targets:
            self.targets[target] = len(self.targets)
            self.limits.append([])
        return self.targets[target]

    def settle(self, damper: Damper, values: tuple[Any, ...]) -> _Found:
        """Give the rules left open for a damper of this kind, whose figures these are.

        Raises ValueError where readings make no sense together.
        """
        lows, highs = self.enclose(values, damper.spread)
        left = self.open
        if not (all(map(ge, lows, self.leasts)) and all(map(le, highs, self.mosts))):
            left = left.union(
                number
                for place, asked in enumerate(self.limits)
                for number, ask in asked
                if not _within(lows[place], highs[place], ask)
            )
        for number, place, by in self.banded:
            within = Bounds(lows[by], lows[by], highs[by])
            for ask in bands_touched(self.rules[number], within):
                if not _within(lows[place], highs[place], ask):
                    left = left.union((number,))
        for found, asked in zip(self.say(values, _EXACT)[0], self.words.values(), strict=True):
            for number, ask in asked:
                if not is_sound(found, ask):
                    left = left.union((number,))
        return _Found(left, lows, highs)


class _Layout:
    """Builds whose four dampers are of the same kinds, and alike in the same figures."""

    def __init__(
        self,
        rules: Sequence[Rule],
        dampers: Sequence[Damper],
        kinds: Sequence[_Kind],
        apart: Sequence[Sequence[frozenset[str]]],
    ) -> None:
        """Find out on which subjects each rule would hold, and what is to be held against what.

        `apart` gives for each two dampers the figures in which they are not alike.
        """
        number_of = {id(damper): number for number, damper in enumerate(dampers)}

        def alike(measure: Measure) -> Any:
            names = stands_on(measure.name)
            here = plan(measure.name)
            without = {measure.about, *here.inputs} - here.optional

            def same(one: Damper, other: Damper) -> bool:
                # where it holds, it has no words for why it is not so
                few = without if measure.why_not and one.end == other.end else names
                return apart[number_of[id(one)]][number_of[id(other)]].isdisjoint(few)

            return same

        self.held: list[tuple[HeldOn, ...]] = []
        self.sides: list[tuple[int, int, int]] = []
        self.cars: list[int] = []
        left: set[int] = set().union(*(kind.open for kind in kinds))
        for number, rule in enumerate(rules):
            measure = MEASURES[rule.measure or ""]
            told = list(subjects(rule, measure, dampers, alike(measure)))
            self.held.append(tuple((rule.id, subject) for subject, _ in told))
            if measure.of and told and number not in left:
                self.cars.append(number)
            if not rule.compares_sides:
                continue
            for _, (one, other) in told:
                numbers = number_of[id(one)], number_of[id(other)]
                every = conditions_of(measure, one)
                names = {name for c in every for name in plan(measure.name, c).inputs}
                if apart[numbers[0]][numbers[1]].isdisjoint(names) or number in left:
                    continue
                if number not in kinds[numbers[0]].beside:
                    left.add(number)  # ids that differ
                else:
                    self.sides.append((number, *numbers))
        self.open = frozenset(left)
        self.flat: tuple[HeldOn, ...] = tuple(held for each in self.held for held in each)


class Brief:
    """Settles which rules surely hold for the four dampers of a build."""

    def __init__(self, rules: Sequence[Rule]) -> None:
        """Take the rules, each of a measure."""
        self.rules = rules
        self._kinds: dict[Any, _Kind] = {}
        self._layouts: dict[Any, _Layout] = {}

    def settle(self, dampers: Sequence[Damper]) -> tuple[_Layout, frozenset[int]] | None:
        """Give on which subjects rules would hold, and the numbers of those left open.

        None where nothing can be said in brief: not four dampers, or refused readings.
        """
        if len(dampers) != len(CORNERS):
            return None
        kinds: list[_Kind] = []
        found: list[_Found] = []
        values = []
        marks = []
        for damper in dampers:
            if damper.refused or not damper.spread.keys() <= damper.origin.keys():
                return None
            figures = _figures(damper)
            mark = (
                _words(damper),
                tuple([figure is None for figure in figures]),
                frozenset(damper.spread),
            )
            kind = self._kinds.get(mark)
            if kind is None:
                if len(self._kinds) >= _MOST_KINDS:
                    self._kinds.clear()
                    self._layouts.clear()
                kind = self._kinds[mark] = _Kind(self.rules, damper)
            try:
                found.append(kind.settle(damper, figures))
            except (ValueError, ArithmeticError):
                return None
            kinds.append(kind)
            values.append(figures)
            marks.append(mark)
        layout = self._layout(dampers, kinds, values, marks)
        left = layout.open.union(*(one.open for one in found))
        sides = [n for n, one, other in layout.sides if not self._near(n, found, kinds, one, other)]
        cars = [number for number in layout.cars if not self._balanced(number, found, kinds)]
        return layout, left.union(sides, cars)

    def _layout(
        self,
        dampers: Sequence[Damper],
        kinds: Sequence[_Kind],
        values: Sequence[tuple[Any, ...]],
        marks: Sequence[Any],
    ) -> _Layout:
        front, across, rear = (
            _apart(dampers, values, one, other) for one, other in ((0, 1), (0, 2), (2, 3))
        )
        key = (*marks, front, across, rear)
        layout = self._layouts.get(key)
        if layout is None:
            if len(self._layouts) >= _MOST_KINDS:
                self._layouts.clear()
            nothing: frozenset[str] = frozenset()
            every = frozenset(_FIGURES)
            # who is like the third damper is like the fourth where these two are alike
            first = [nothing, front, across, across | rear]
            apart = [first, [every] * 4, [every, every, nothing, rear], [every] * 4]
            layout = self._layouts[key] = _Layout(self.rules, dampers, kinds, apart)
        return layout

    def _near(
        self, number: int, found: Sequence[_Found], kinds: Sequence[_Kind], one: int, other: int
    ) -> bool:
        """Say whether left and right are surely near enough."""
        ask = self.rules[number].ask
        if ask is None or ask.same_within is None:
            return False
        for p, q in zip(kinds[one].beside[number], kinds[other].beside[number], strict=True):
            low, high = found[one].lows[p], found[one].highs[p]
            low_there, high_there = found[other].lows[q], found[other].highs[q]
            most = max(high - low_there, high_there - low)
            if ask.relative:
                if not (low > 0.0 and low_there > 0.0):
                    return False
                most /= (low + low_there) / 2.0
            if not most <= ask.same_within:
                return False
        return True

    def _balanced(self, number: int, found: Sequence[_Found], kinds: Sequence[_Kind]) -> bool:
        """Say whether front over rear is surely within the limit."""
        ask = self.rules[number].ask
        if ask is None:
            return False
        for places in zip(*(kind.beside[number] for kind in kinds), strict=True):
            lows = [one.lows[place] for one, place in zip(found, places, strict=True)]
            highs = [one.highs[place] for one, place in zip(found, places, strict=True)]
            if not min(lows) > 0.0:
                return False
            least = front_over_rear(lows[:2], highs[2:])
            most = front_over_rear(highs[:2], lows[2:])
            if not _within(least, most, ask):
                return False
        return True


def _least(ask: Ask) -> float:
    return ask.at_least if ask.at_least is not None else -inf


def _most(ask: Ask) -> float:
    return ask.at_most if ask.at_most is not None else inf


def _within(low: float, high: float, ask: Ask) -> bool:
    """Say whether all that lies between two ends is within a limit; not where an end is none."""
    return low >= _least(ask) and high <= _most(ask)


def _apart(
    dampers: Sequence[Damper], values: Sequence[tuple[Any, ...]], one: int, other: int
) -> frozenset[str]:
    """Give the figures in which two dampers are not alike: value, spread or place."""
    pairs = zip(_FIGURES, values[one], values[other], strict=True)
    found = {name for name, x, y in pairs if x is not y and x != y}
    for mine, theirs in (
        (dampers[one].origin, dampers[other].origin),
        (dampers[one].spread, dampers[other].spread),
    ):
        there = theirs.get
        found |= {n for n, x in mine.items() if (y := there(n)) is not x and y != x}
        found |= theirs.keys() - mine.keys()
    return frozenset(found)

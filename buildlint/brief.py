"""Settle in brief which rules surely hold, so that only the others are judged at length.

Most builds are right, and most figures far from their limits: enclosures, which are wider than
bounds, are enough to see that. What they leave open is judged at length, so that no report differs.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from buildlint.damper import CORNERS, Damper
from buildlint.damper_kind import FIGURES, DamperKind, Settled, figures, within, words
from buildlint.figure import conditions_of, stands_on
from buildlint.finding import HeldOn
from buildlint.measures import MEASURES, Measure, plan
from buildlint.reach import subjects
from buildlint.rule import Rule
from buildlint.together import front_over_rear

__all__ = ["Brief"]

# Kinds of dampers, and of builds, that are kept.
_MOST_KINDS = 500


class _Layout:
    """Builds whose four dampers are of the same kinds, and alike in the same figures."""

    def __init__(
        self,
        rules: Sequence[Rule],
        dampers: Sequence[Damper],
        kinds: Sequence[DamperKind],
        apart: Sequence[Sequence[frozenset[str]]],
    ) -> None:
        """Find out on which subjects each rule would hold, and what is to be held against what.

        `apart` gives for each two dampers the figures in which they are not alike.
        """
        number_of = {id(damper): number for number, damper in enumerate(dampers)}

        def alike(measure: Measure, by: str | None) -> Any:
            bands: frozenset[str] = stands_on(by) if by is not None else frozenset()
            names = stands_on(measure.name) | bands
            here = plan(measure.name)
            without = ({measure.about, *here.inputs} - here.optional) | bands

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
            told = list(subjects(rule, measure, dampers, alike(measure, rule.by)))
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
        self._kinds: dict[Any, DamperKind] = {}
        self._layouts: dict[Any, _Layout] = {}

    def settle(self, dampers: Sequence[Damper]) -> tuple[_Layout, frozenset[int]] | None:
        """Give on which subjects rules would hold, and the numbers of those left open.

        None where nothing can be said in brief: not four dampers, or refused readings.
        """
        if len(dampers) != len(CORNERS):
            return None
        kinds: list[DamperKind] = []
        found: list[Settled] = []
        values = []
        marks = []
        for damper in dampers:
            if damper.refused or not damper.spread.keys() <= damper.origin.keys():
                return None
            known = figures(damper)
            mark = (
                words(damper),
                tuple([figure is None for figure in known]),
                frozenset(damper.spread),
            )
            kind = self._kinds.get(mark)
            if kind is None:
                if len(self._kinds) >= _MOST_KINDS:
                    self._kinds.clear()
                    self._layouts.clear()
                kind = self._kinds[mark] = DamperKind(self.rules, damper)
            try:
                found.append(kind.settle(damper, known))
            except (ValueError, ArithmeticError):
                return None
            kinds.append(kind)
            values.append(known)
            marks.append(mark)
        layout = self._layout(dampers, kinds, values, marks)
        left = layout.open.union(*(one.open for one in found))
        sides = [n for n, one, other in layout.sides if not self._near(n, found, kinds, one, other)]
        cars = [number for number in layout.cars if not self._balanced(number, found, kinds)]
        return layout, left.union(sides, cars)

    def _layout(
        self,
        dampers: Sequence[Damper],
        kinds: Sequence[DamperKind],
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
            every = frozenset(FIGURES)
            # who is like the third damper is like the fourth where these two are alike
            first = [nothing, front, across, across | rear]
            apart = [first, [every] * 4, [every, every, nothing, rear], [every] * 4]
            layout = self._layouts[key] = _Layout(self.rules, dampers, kinds, apart)
        return layout

    def _near(
        self,
        number: int,
        found: Sequence[Settled],
        kinds: Sequence[DamperKind],
        one: int,
        other: int,
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

    def _balanced(self, number: int, found: Sequence[Settled], kinds: Sequence[DamperKind]) -> bool:
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
            if not within(least, most, ask):
                return False
        return True


def _apart(
    dampers: Sequence[Damper], values: Sequence[tuple[Any, ...]], one: int, other: int
) -> frozenset[str]:
    """Give the figures in which two dampers are not alike: value, spread or place."""
    pairs = zip(FIGURES, values[one], values[other], strict=True)
    found = {name for name, x, y in pairs if x is not y and x != y}
    for mine, theirs in (
        (dampers[one].origin, dampers[other].origin),
        (dampers[one].spread, dampers[other].spread),
    ):
        both = zip(mine.items(), map(theirs.get, mine), strict=True)
        found.update([n for (n, x), y in both if x is not y and x != y])
        found |= theirs.keys() - mine.keys()
    return frozenset(found)

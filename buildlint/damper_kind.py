"""Dampers of one kind: which rules surely hold for one of them, from ends of figures alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from math import inf
from operator import attrgetter, ge, le
from typing import Any

from buildlint.bounds import Bounds
from buildlint.damper import KEY_IN_PART, Damper
from buildlint.derived import FUNCTIONS
from buildlint.enclosures import OWN, Enclosing, Ends, Target, enclosing
from buildlint.figure import conditions_of, lacks, needs_event
from buildlint.measures import MEASURES, Measure, plan
from buildlint.reach import needs_class, speaks_of
from buildlint.rule import Ask, Rule
from buildlint.weighing import bands_touched, is_sound

__all__ = ["FIGURES", "DamperKind", "Settled", "figures", "within", "words"]

_RECORD = ("spread", "origin", "estimates", "refused")
#: The names of what is known of a damper, in order.
FIGURES = tuple(f.name for f in fields(Damper) if f.name not in _RECORD)
#: Gives what is known of a damper, by those names.
figures = attrgetter(*FIGURES)
#: With what is known of a damper, these say which rules and measures speak of it.
words = attrgetter("end", "style", "cap", "car_class", "arrive_by")

# Where figures come from, as far as they come again in other builds; from the car, where unsaid.
_HOMES = {
    **{name: kind for name, (kind, _) in KEY_IN_PART.items()},
    **dict.fromkeys(("bench_temperature", "bench_altitude", "bench_on"), "bench"),
    **dict.fromkeys(("coldest", "hottest", "event_altitude", "event_on", "highest"), "event"),
    # what a build says of one corner is seldom alike on the next
    **dict.fromkeys(("side", "hold_back", "collar", "length", "rebound", "runtime", "label"), OWN),
}

_EXACT: dict[str, tuple[Any, Any]] = {}


@dataclass(frozen=True, slots=True)
class Settled:
    """What is found of one damper: the rules left open, and the ends of the figures asked for."""

    open: frozenset[int]
    lows: Ends
    highs: Ends


class DamperKind:
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
        self.enclose, self.say = self._functions(frozenset(like.spread))

    def _functions(self, loose: frozenset[str]) -> tuple[Enclosing, Enclosing]:
        """Give what works out both ends of the figures asked for, and what their words are."""
        asked = [
            (target, place in self.both or least > -inf, place in self.both or most < inf)
            for (target, place), least, most in zip(
                self.targets.items(), self.leasts, self.mosts, strict=True
            )
        ]
        said = [(target, True, True) for target in self.words]
        every = frozenset(FIGURES)
        return (
            enclosing(asked, FIGURES, FUNCTIONS, every - loose, _HOMES),
            enclosing(said, FIGURES, FUNCTIONS, every),
        )

    def _take(self, number: int, rule: Rule, measure: Measure, like: Damper) -> bool:
        """Take a rule, unless something is missing for it."""
        if needs_class(rule, like) or needs_event(measure, like):
            return False
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

    def settle(self, damper: Damper, values: tuple[Any, ...]) -> Settled:
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
                if not within(lows[place], highs[place], ask)
            )
        for number, place, by in self.banded:
            here = Bounds(lows[by], lows[by], highs[by])
            for ask in bands_touched(self.rules[number], here):
                if not within(lows[place], highs[place], ask):
                    left = left.union((number,))
        for found, asked in zip(self.say(values, _EXACT)[0], self.words.values(), strict=True):
            for number, ask in asked:
                if not is_sound(found, ask):
                    left = left.union((number,))
        return Settled(left, lows, highs)


def _least(ask: Ask) -> float:
    return ask.at_least if ask.at_least is not None else -inf


def _most(ask: Ask) -> float:
    return ask.at_most if ask.at_most is not None else inf


def within(low: float, high: float, ask: Ask) -> bool:
    """Say whether all that lies between two ends is within a limit; not where an end is none."""
    return low >= _least(ask) and high <= _most(ask)

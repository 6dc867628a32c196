"""Judge dampers: each rule, on each subject it speaks of, at each condition."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from math import inf
from typing import Any

from buildlint.bounds import Bounds
from buildlint.damper import Damper
from buildlint.figure import (
    Figure,
    alike,
    all_alike,
    car_figure,
    conditions_of,
    difference,
    figure_of,
    named,
    share_of,
    speaks,
)
from buildlint.finding import Verdict
from buildlint.measures import MEASURES, Measure, plan
from buildlint.rule import Ask, Rule
from buildlint.rulebook import Rulebook

__all__ = ["Judge", "Judgement", "weigh"]

_ORDER: dict[Verdict, int] = {"holds": 0, "not judged": 1, "doubtful": 2, "fails": 3}


# Figures that are kept in case another damper has the same readings.
_MOST_KNOWN = 4_000

# Figures come out of long sums: a limit is met to the last few bits.
_LAST_BITS = 1e-9


@dataclass(frozen=True, slots=True)
class Judgement:
    """One rule on one subject, at its worst condition. Figures are in SI.

    `dampers` are those it speaks of (left and right where they are compared or alike); `ask` is
    the limit that was judged (the band's, where there are bands); `sides` are the figures of left
    and right where those are compared.
    """

    rule: Rule
    measure: Measure
    subject: str
    dampers: tuple[Damper, ...]
    verdict: Verdict
    condition: str | None = None
    bounds: Bounds | None = None
    words: Any = None
    ask: Ask | None = None
    margin: float | None = None
    missing: tuple[str, ...] = ()
    sides: tuple[float, float] | None = None

    @property
    def unit(self) -> str:
        """The unit of the figures: a share where the limit is a share of the mean of both sides."""
        return "1" if self.ask is not None and self.ask.relative else self.measure.unit


class Judge:
    """Judges the dampers of builds by a rulebook. The same figure is worked out only once."""

    def __init__(self, rulebook: Rulebook) -> None:
        """Take the rules to judge by."""
        self.rules = tuple(rulebook.measured())
        self._known: dict[Any, Bounds | str] = {}

    def judge(self, dampers: Sequence[Damper]) -> Iterator[Judgement]:
        """Judge the dampers of one build by every rule that speaks of them."""
        if len(self._known) > _MOST_KNOWN:
            self._known.clear()
        for rule in self.rules:
            yield from self.one(rule, dampers)

    def at_each(self, dampers: Sequence[Damper]) -> Iterator[Judgement]:
        """Judge as `judge` does, but give every condition's judgement, not the worst alone."""
        for rule in self.rules:
            for conditions in self._by_subject(rule, dampers):
                yield from conditions

    def one(self, rule: Rule, dampers: Sequence[Damper]) -> Iterator[Judgement]:
        """Judge the dampers by one rule, wherever it speaks of them."""
        for conditions in self._by_subject(rule, dampers):
            yield max(conditions, key=_badness)

    def _by_subject(self, rule: Rule, dampers: Sequence[Damper]) -> Iterator[Iterator[Judgement]]:
        """Give, for each subject that a rule speaks of, the judgement at each condition."""
        measure = MEASURES[rule.measure or ""]
        meant = [d for d in dampers if _speaks_of(rule, measure, d)]
        if measure.of:
            if len(meant) == 4:
                yield self._each(measure, meant[0], lambda c: self._car(rule, measure, meant, c))
            return
        if len(meant) == 4 and not rule.compares_sides and all_alike(measure, meant):
            yield self._judge(rule, measure, "car", tuple(meant))
            return
        for end in ("front", "rear"):
            pair = [d for d in meant if d.end == end]
            if rule.compares_sides:
                if len(pair) == 2:
                    yield self._compare(rule, measure, pair[0], pair[1])
            elif len(pair) == 2 and alike(measure, pair[0], pair[1]):
                yield self._judge(rule, measure, end, (pair[0], pair[1]))
            else:
                for damper in pair:
                    yield self._judge(rule, measure, damper.corner, (damper,))

    def figure(self, measure: Measure, damper: Damper, condition: str) -> Figure:
        """Work a measure out for a damper at a condition, with its bounds."""
        return figure_of(measure, damper, condition, self._known)

    # --- one subject -----------------------------------------------------------------------------

    def _judge(
        self, rule: Rule, measure: Measure, subject: str, dampers: tuple[Damper, ...]
    ) -> Iterator[Judgement]:
        return self._each(
            measure, dampers[0], lambda c: self._at(rule, measure, subject, dampers, c)
        )

    def _each(
        self, measure: Measure, damper: Damper, at: Callable[[str], Judgement]
    ) -> Iterator[Judgement]:
        """Judge at each condition that the build has."""
        return (at(c) for c in conditions_of(measure, damper))

    def _at(
        self,
        rule: Rule,
        measure: Measure,
        subject: str,
        dampers: tuple[Damper, ...],
        condition: str,
    ) -> Judgement:
        damper = dampers[0]
        shown_condition = condition if plan(measure.name, condition).conditional else None
        figure = self.figure(measure, damper, condition)

        def judgement(verdict: Verdict, **more: Any) -> Judgement:
            return Judgement(
                rule, measure, subject, dampers, verdict, condition=shown_condition, **more
            )

        if figure.missing:
            return judgement("not judged", missing=figure.missing)
        ask = rule.ask
        asks = [ask] if ask is not None else []
        if rule.by is not None:
            by = self.figure(MEASURES[rule.by], damper, condition)
            if by.bounds is None:
                return judgement("not judged", missing=by.missing)
            asks = list(_bands_touched(rule, by.bounds))
            ask = asks[0]
        if ask is None:
            return judgement("not judged", missing=("a limit",))
        if figure.bounds is None:
            sound = (figure.words in ask.one_of) if ask.one_of else figure.words is True
            return judgement("holds" if sound else "fails", words=figure.words, ask=ask)
        verdict, margin = weigh(figure.bounds, ask)
        if verdict == "fails" and measure.at_worst:
            verdict = "doubtful"
        if verdict == "holds" and any(weigh(figure.bounds, a)[0] != "holds" for a in asks[1:]):
            verdict = "doubtful"
        found = figure.bounds
        if verdict != "holds" and figure.plan is not None:
            found = named(found, figure.plan, damper)
        return judgement(verdict, bounds=found, ask=ask, margin=margin)

    # --- left against right ----------------------------------------------------------------------

    def _compare(
        self, rule: Rule, measure: Measure, left: Damper, right: Damper
    ) -> Iterator[Judgement]:
        return self._each(measure, left, lambda c: self._compare_at(rule, measure, left, right, c))

    def _compare_at(
        self, rule: Rule, measure: Measure, left: Damper, right: Damper, condition: str
    ) -> Judgement:
        ask = rule.ask
        assert ask is not None
        here = plan(measure.name, condition)

        def judgement(verdict: Verdict, **more: Any) -> Judgement:
            return Judgement(
                rule,
                measure,
                left.end,
                (left, right),
                verdict,
                condition=condition if here.conditional else None,
                ask=ask,
                **more,
            )

        figures = [self.figure(measure, d, condition) for d in (left, right)]
        missing = tuple(dict.fromkeys(m for figure in figures for m in figure.missing))
        if missing:
            return judgement("not judged", missing=missing)
        if ask.exactly:
            words = (figures[0].words, figures[1].words)
            return judgement("holds" if words[0] == words[1] else "fails", words=words)
        found = difference(measure, here, left, right)
        sides = tuple(f.bounds.value for f in figures if f.bounds is not None)
        if ask.relative:
            found = share_of(found, sum(map(abs, sides)) / 2.0)
        verdict, margin = weigh(found, Ask(at_most=ask.same_within))
        return judgement(verdict, bounds=found, margin=margin, sides=sides)

    # --- front against rear ----------------------------------------------------------------------

    def _car(
        self, rule: Rule, measure: Measure, dampers: Sequence[Damper], condition: str
    ) -> Judgement:
        figure = self._car_in_brief(rule, measure, dampers, condition)
        if figure is None:
            figure = car_figure(measure, dampers, condition)
        shown_condition = condition if plan(measure.name, condition).conditional else None

        def judgement(verdict: Verdict, **more: Any) -> Judgement:
            found = tuple(dampers)
            return Judgement(
                rule, measure, "car", found, verdict, condition=shown_condition, **more
            )

        if figure.bounds is None or rule.ask is None:
            return judgement("not judged", missing=figure.missing or ("a limit",))
        verdict, margin = weigh(figure.bounds, rule.ask)
        return judgement(verdict, bounds=figure.bounds, ask=rule.ask, margin=margin)

    def _car_in_brief(
        self, rule: Rule, measure: Measure, dampers: Sequence[Damper], condition: str
    ) -> Figure | None:
        """Give bounds that are no narrower than the car's, where the rule holds even with those.

        They come of the bounds of each damper by itself, which are known: as if no reading were
        shared by front and rear. None where that does not settle it.
        """
        if rule.ask is None or rule.compares_sides:
            return None
        of = MEASURES[measure.of]
        ends: dict[str, list[Bounds]] = {"front": [], "rear": []}
        for damper in dampers:
            found = self.figure(of, damper, condition).bounds
            if found is None or found.low <= 0.0:
                return None
            ends[damper.end].append(found)
        front, rear = ends.values()
        value, low, high = (
            sum(f) / len(f) / (sum(r) / len(r))
            for f, r in (
                ([b.value for b in front], [b.value for b in rear]),
                ([b.low for b in front], [b.high for b in rear]),
                ([b.high for b in front], [b.low for b in rear]),
            )
        )
        wide = Bounds(value, low, high)
        return Figure(bounds=wide) if weigh(wide, rule.ask)[0] == "holds" else None


def _badness(judgement: Judgement) -> tuple[int, float]:
    margin = judgement.margin
    return _ORDER[judgement.verdict], -margin if margin is not None else -inf


def _speaks_of(rule: Rule, measure: Measure, damper: Damper) -> bool:
    if not speaks(measure, damper):
        return False
    for key, word in rule.only.items():
        has = damper.car_class if key == "class" else getattr(damper, key)
        if has != word and not (has is None and key == "cap"):
            return False
    return True


def _bands_touched(rule: Rule, by: Bounds) -> Iterator[Ask]:
    """Give the limit of the band that the value is in, then those within its tolerance."""

    def band(value: float) -> Ask:
        for candidate in rule.bands:
            if candidate.up_to is None or value <= candidate.up_to + _LAST_BITS:
                return candidate.ask
        return rule.bands[-1].ask

    first = band(by.value)
    yield first
    # bands narrower than the tolerance are crossed too
    between = (b.up_to for b in rule.bands if b.up_to is not None and by.low < b.up_to < by.high)
    for other in map(band, (by.low, *between, by.high)):
        if other is not first:
            yield other


def weigh(found: Bounds, ask: Ask) -> tuple[Verdict, float]:
    """Weigh a figure against a limit: the verdict, and what is left to the nearer limit.

    >>> from buildlint.bounds import Bounds
    >>> weigh(Bounds(0.95, 0.9, 1.02), Ask(at_most=1.0))[0]
    'doubtful'
    """
    margin = min(
        ask.at_most - found.value if ask.at_most is not None else inf,
        found.value - ask.at_least if ask.at_least is not None else inf,
    )
    worst = min(
        ask.at_most - found.high if ask.at_most is not None else inf,
        found.low - ask.at_least if ask.at_least is not None else inf,
    )
    hair = _LAST_BITS * max(abs(ask.at_most or 0.0), abs(ask.at_least or 0.0), 1e-6)
    if margin < -hair:
        return "fails", margin
    return ("holds" if worst >= -hair else "doubtful"), margin

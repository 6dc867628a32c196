"""Judge dampers: each rule, on each subject it speaks of, at each condition."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from math import inf, isfinite
from typing import TYPE_CHECKING, Any

from buildlint.alike import alike
from buildlint.bounds import Bounds
from buildlint.damper import Damper
from buildlint.figure import Figure, conditions_of, figure_of, named, needs_event, share_of
from buildlint.finding import BADNESS, HeldOn, Verdict
from buildlint.measures import MEASURES, Measure, plan
from buildlint.reach import needs_class, subjects
from buildlint.rule import Ask, Rule
from buildlint.rulebook import Rulebook
from buildlint.subjects import corners_of
from buildlint.together import car_figure, difference, front_over_rear
from buildlint.weighing import bands_touched, is_sound, weigh

if TYPE_CHECKING:
    from buildlint.brief import Brief

__all__ = ["Judge", "Judgement", "worst_by_corner"]

# Figures that are kept in case another damper has the same readings.
_MOST_KNOWN = 4_000


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

    def __init__(self, rulebook: Rulebook, many: bool = False) -> None:
        """Take the rules to judge by; ready to `settle` quickly where there are many builds."""
        self.rules = tuple(rulebook.measured())
        self._known: dict[Any, Bounds | str] = {}
        self._brief: Brief | None = None
        if many:
            # a hook that judges one build need not load it
            from buildlint.brief import Brief

            self._brief = Brief(self.rules)

    def judge(self, dampers: Sequence[Damper]) -> Iterator[Judgement]:
        """Judge the dampers of one build by every rule that speaks of them."""
        for rule in self.rules:
            yield from self._worst_of(rule, dampers)

    def settle(self, dampers: Sequence[Damper]) -> tuple[Sequence[HeldOn], list[Judgement]]:
        """Judge as `judge` does, but tell what holds by rule and subject alone.

        Where there are many builds, what surely holds is settled in brief; what that leaves open
        is judged at length.
        """
        brief = self._brief.settle(dampers) if self._brief is not None else None
        if brief is not None and not brief[1]:
            return brief[0].flat, []
        held: list[HeldOn] = []
        others: list[Judgement] = []
        for number, rule in enumerate(self.rules):
            if brief is not None and number not in brief[1]:
                held += brief[0].held[number]
                continue
            for judgement in self._worst_of(rule, dampers):
                if judgement.verdict == "holds":
                    held.append((rule.id, judgement.subject))
                else:
                    others.append(judgement)
        return tuple(held), others

    def at_each(self, dampers: Sequence[Damper]) -> Iterator[Judgement]:
        """Judge as `judge` does, but give every condition's judgement, not the worst alone."""
        for rule in self.rules:
            for conditions in self._by_subject(rule, dampers):
                yield from _with_event(conditions)

    def _worst_of(self, rule: Rule, dampers: Sequence[Damper]) -> Iterator[Judgement]:
        for conditions in self._by_subject(rule, dampers):
            yield max(_with_event(conditions), key=_badness)

    def one(self, rule: Rule, dampers: Sequence[Damper]) -> Iterator[Judgement]:
        """Judge the dampers by one rule, wherever it speaks of them; with no event, at the bench.

        So are cures looked for: what would mend a build at the bench is told without an event too.
        """
        for conditions in self._by_subject(rule, dampers):
            yield max(conditions, key=_badness)

    def worst(self, rule: Rule, dampers: Sequence[Damper]) -> int:
        """Give how bad the worst judgement of a rule is, in BADNESS; holding where it has none."""
        return max((BADNESS[j.verdict] for j in self.one(rule, dampers)), default=0)

    def _by_subject(self, rule: Rule, dampers: Sequence[Damper]) -> Iterator[list[Judgement]]:
        """Give, for each subject that a rule speaks of, the judgement at each condition."""
        if len(self._known) > _MOST_KNOWN:
            self._known.clear()
        measure = MEASURES[rule.measure or ""]
        for subject, meant in subjects(rule, measure, dampers, partial(alike, measure, by=rule.by)):
            if needs_class(rule, meant[0]):
                missing = (meant[0].in_words("car_class"),)
                yield [Judgement(rule, measure, subject, meant, "not judged", missing=missing)]
                continue
            judged = self._car if measure.of else self._compare if rule.compares_sides else self._at
            yield [
                judged(rule, measure, subject, meant, condition)
                for condition in conditions_of(measure, meant[0])
            ]

    def figure(self, measure: Measure, damper: Damper, condition: str) -> Figure:
        """Work a measure out for a damper at a condition, with its bounds."""
        return figure_of(measure, damper, condition, self._known)

    # --- one subject -----------------------------------------------------------------------------

    def _at(
        self,
        rule: Rule,
        measure: Measure,
        subject: str,
        dampers: tuple[Damper, ...],
        condition: str,
    ) -> Judgement:
        damper = dampers[0]
        judgement = _begun(rule, measure, subject, dampers, condition)
        figure = self.figure(measure, damper, condition)

        if figure.missing:
            return judgement("not judged", missing=figure.missing)
        ask = rule.ask
        asks = [ask] if ask is not None else []
        if rule.by is not None:
            by = self.figure(MEASURES[rule.by], damper, condition)
            if by.bounds is None:
                return judgement("not judged", missing=by.missing)
            asks = list(bands_touched(rule, by.bounds))
            ask = asks[0]
        if ask is None:
            return judgement("not judged", missing=("a limit",))
        if figure.bounds is None:
            sound = is_sound(figure.words, ask)
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
        self,
        rule: Rule,
        measure: Measure,
        subject: str,
        dampers: tuple[Damper, ...],
        condition: str,
    ) -> Judgement:
        left, right = dampers
        ask = rule.ask
        assert ask is not None
        judgement = partial(_begun(rule, measure, subject, dampers, condition), ask=ask)
        figures = [self.figure(measure, d, condition) for d in (left, right)]
        missing = tuple(dict.fromkeys(m for figure in figures for m in figure.missing))
        if missing:
            return judgement("not judged", missing=missing)
        if ask.exactly:
            words = (figures[0].words, figures[1].words)
            return judgement("holds" if words[0] == words[1] else "fails", words=words)
        sides = tuple(f.bounds.value for f in figures if f.bounds is not None)
        found = difference(measure, plan(measure.name, condition), left, right)
        if not isfinite(found.value) and not any(map(isfinite, sides)):
            return judgement("not judged", missing=("a figure that has an end, on either side",))
        if ask.relative:
            found = share_of(found, sum(map(abs, sides)) / 2.0)
        verdict, margin = weigh(found, Ask(at_most=ask.same_within))
        return judgement(verdict, bounds=found, margin=margin, sides=sides)

    # --- front against rear ----------------------------------------------------------------------

    def _car(
        self,
        rule: Rule,
        measure: Measure,
        subject: str,
        dampers: tuple[Damper, ...],
        condition: str,
    ) -> Judgement:
        figure = self._car_in_brief(rule, measure, dampers, condition)
        if figure is None:
            figure = car_figure(measure, dampers, condition)
        judgement = _begun(rule, measure, subject, dampers, condition)

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
        front, rear = ends["front"], ends["rear"]
        value, low, high = (
            front_over_rear(f, r)
            for f, r in (
                ([b.value for b in front], [b.value for b in rear]),
                ([b.low for b in front], [b.high for b in rear]),
                ([b.high for b in front], [b.low for b in rear]),
            )
        )
        wide = Bounds(value, low, high)
        return Figure(bounds=wide) if weigh(wide, rule.ask)[0] == "holds" else None


def _with_event(conditions: list[Judgement]) -> list[Judgement]:
    """Give the judgements of a rule on a subject; that it needs an event, where there is none."""
    first = conditions[0]
    rule, measure, dampers = first.rule, first.measure, first.dampers
    if not needs_event(measure, dampers[0]):
        return conditions
    judged = [j for j in conditions if j.verdict != "not judged"]
    missing = [*(m for j in conditions for m in j.missing), dampers[0].in_words("coldest")]
    later = Judgement(rule, measure, first.subject, dampers, "not judged", missing=tuple(missing))
    return [*judged, later]


def worst_by_corner(judgements: Iterable[Judgement]) -> dict[tuple[str, str], Verdict]:
    """Give the worst verdict of each rule on each corner, on each end where sides are compared."""
    worst: dict[tuple[str, str], Verdict] = {}
    for judgement in judgements:
        rule, verdict = judgement.rule, judgement.verdict
        whole = rule.compares_sides or judgement.measure.of
        for subject in (judgement.subject,) if whole else corners_of(judgement.subject):
            key = (rule.id, subject)
            worst[key] = max(worst.get(key, verdict), verdict, key=BADNESS.__getitem__)
    return worst


def _begun(
    rule: Rule, measure: Measure, subject: str, dampers: tuple[Damper, ...], condition: str
) -> Callable[..., Judgement]:
    """Give what makes the judgement of a subject at a condition, once its verdict is known."""
    shown = condition if plan(measure.name, condition).conditional else None
    return partial(Judgement, rule, measure, subject, dampers, condition=shown)


def _badness(judgement: Judgement) -> tuple[int, float]:
    margin = judgement.margin
    return BADNESS[judgement.verdict], -margin if margin is not None else -inf

"""Judge dampers: each rule, on each subject it speaks of, at each condition."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from math import inf
from typing import Any

from buildlint.damper import Damper
from buildlint.finding import Verdict
from buildlint.measures import MEASURES, Measure, plan
from buildlint.rulebook import Ask, Rule, Rulebook
from buildlint.workings import CONDITIONS, Bounds, Plan, bounds

__all__ = [
    "Figure",
    "Judge",
    "Judgement",
    "alike",
    "car_figure",
    "conditions_of",
    "figure_of",
    "speaks",
]

_ORDER: dict[Verdict, int] = {"holds": 0, "not judged": 1, "doubtful": 2, "fails": 3}

# What a figure over all conditions can do without only where there is no event.
_AT_EVENT = frozenset(CONDITIONS["cold"].values()) | frozenset(CONDITIONS["hot"].values())

# Figures come out of long sums: a limit is met to the last few bits.
_LAST_BITS = 1e-9


@dataclass(frozen=True, slots=True)
class Figure:
    """A measure worked out for a damper: its bounds, or its id, or what is missing for it."""

    bounds: Bounds | None = None
    words: Any = None
    missing: tuple[str, ...] = ()
    plan: Plan | None = None


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
        for rule in self.rules:
            yield from self.one(rule, dampers)

    def one(self, rule: Rule, dampers: Sequence[Damper]) -> Iterator[Judgement]:
        """Judge the dampers by one rule, wherever it speaks of them."""
        measure = MEASURES[rule.measure or ""]
        meant = [d for d in dampers if _speaks_of(rule, measure, d)]
        if measure.of:
            if len(meant) == 4:
                yield self._worst(measure, meant[0], lambda c: self._car(rule, measure, meant, c))
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
    ) -> Judgement:
        return self._worst(
            measure, dampers[0], lambda c: self._at(rule, measure, subject, dampers, c)
        )

    def _worst(self, measure: Measure, damper: Damper, at: Callable[[str], Judgement]) -> Judgement:
        """Judge at each condition that the build has, and give the worst."""
        return max((at(c) for c in conditions_of(measure, damper)), key=_badness)

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
        return judgement(verdict, bounds=figure.bounds, ask=ask, margin=margin)

    # --- left against right ----------------------------------------------------------------------

    def _compare(self, rule: Rule, measure: Measure, left: Damper, right: Damper) -> Judgement:
        return self._worst(measure, left, lambda c: self._compare_at(rule, measure, left, right, c))

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
        found = _difference(here, left, right)
        sides = tuple(f.bounds.value for f in figures if f.bounds is not None)
        if ask.relative:
            found = _over(found, sum(map(abs, sides)) / 2.0)
        verdict, margin = weigh(found, Ask(at_most=ask.same_within))
        return judgement(verdict, bounds=found, margin=margin, sides=sides)

    # --- front against rear ----------------------------------------------------------------------

    def _car(
        self, rule: Rule, measure: Measure, dampers: Sequence[Damper], condition: str
    ) -> Judgement:
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


def _badness(judgement: Judgement) -> tuple[int, float]:
    margin = judgement.margin
    return _ORDER[judgement.verdict], -margin if margin is not None else -inf


def speaks(measure: Measure, damper: Damper) -> bool:
    """Say whether a measure means anything for a damper (a bladder's use has no sense without one).

    What is not known yet (the cap of a body that is not found) counts as if it did.
    """
    if measure.only is None:
        return True
    has = getattr(damper, measure.only[0])
    return has is None or has == measure.only[1]


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

    >>> from buildlint.workings import Bounds
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


# --- figures -------------------------------------------------------------------------------------


def conditions_of(measure: Measure, damper: Damper) -> tuple[str, ...]:
    """Give the conditions that a measure is judged at: those that the build has."""
    if not plan(measure.name).conditional:
        return ("bench",)
    return tuple(CONDITIONS) if damper.has_event else ("bench",)


def figure_of(
    measure: Measure, damper: Damper, condition: str, known: dict[Any, Bounds | str] | None = None
) -> Figure:
    """Work out a measure of a damper at a condition, with its bounds within all tolerances.

    `known` keeps what has been worked out: the same readings give the same figure.
    """
    here = plan(measure.name, condition)
    values = [getattr(damper, name) for name in here.inputs]
    missing = [
        name
        for name, value in zip(here.inputs, values, strict=True)
        if value is None and (name not in here.optional or (name in _AT_EVENT and damper.has_event))
    ]
    if missing:
        return Figure(missing=tuple(dict.fromkeys(damper.in_words(name) for name in missing)))
    if measure.unit in ("id", "yes"):
        return Figure(words=here.run(values), plan=here)
    spread = damper.spread
    ends = [
        spread.get(name, (value, value)) for name, value in zip(here.inputs, values, strict=True)
    ]
    key = (measure.name, condition, tuple(values), tuple(ends)) if known is not None else None
    found = known.get(key) if known is not None else None
    if found is None:
        try:
            found = bounds(here.run, values, [e[0] for e in ends], [e[1] for e in ends])
            found = replace(found, names=tuple(damper.in_words(name) for name in here.inputs))
            if measure.floor is not None:
                found = _floored(found, measure.floor)
        except ValueError as error:
            found = f"readings that go together ({error})"
        if known is not None:
            known[key] = found
    if isinstance(found, str):
        return Figure(missing=(found,))
    return Figure(bounds=found, plan=here)


def _floored(found: Bounds, floor: float) -> Bounds:
    return replace(
        found,
        value=max(found.value, floor),
        low=max(found.low, floor),
        high=max(found.high, floor),
    )


def alike(measure: Measure, left: Damper, right: Damper) -> bool:
    """Say whether a measure is the same reading by reading, from the same places, on both sides."""
    names: set[str] = {measure.about}
    for condition in CONDITIONS:
        names.update(plan(measure.name, condition).inputs)
    return all(
        getattr(left, name, None) == getattr(right, name, None)
        and left.spread.get(name) == right.spread.get(name)
        and left.origin.get(name) == right.origin.get(name)
        for name in names
    )


def all_alike(measure: Measure, dampers: Sequence[Damper]) -> bool:
    """Say whether a measure is the same reading by reading on all of some dampers."""
    return all(alike(measure, dampers[0], other) for other in dampers[1:])


def _over(found: Bounds, whole: float) -> Bounds:
    """Give a figure as a share of a whole; one of nothing stays nothing."""
    if whole == 0.0:
        return found
    halves = tuple((i, half / whole) for i, half in found.halves)
    return Bounds(found.value / whole, found.low / whole, found.high / whole, halves, found.names)


def car_figure(measure: Measure, dampers: Sequence[Damper], condition: str) -> Figure:
    """Work out a measure of the whole car: the mean of the front sides over that of the rear."""
    ends = [[d for d in dampers if d.end == end] for end in ("front", "rear")]
    if not all(ends):
        return Figure(missing=("both ends of the car",))
    here = plan(measure.name, condition)
    missing = [
        f"{damper.in_words(name)} at the {damper.end}"
        for damper in dampers
        for name in here.inputs
        if getattr(damper, name) is None and name not in here.optional
    ]
    if missing:
        return Figure(missing=tuple(dict.fromkeys(missing)))
    count = len(ends[0])

    def over(figures: Sequence[float]) -> float:
        front, rear = figures[:count], figures[count:]
        return (sum(front) / len(front)) / (sum(rear) / len(rear))

    try:
        return Figure(bounds=_together(here, [*ends[0], *ends[1]], over), plan=here)
    except (ValueError, ZeroDivisionError) as error:
        return Figure(missing=(f"readings that go together ({error})",))


def _difference(here: Plan, left: Damper, right: Damper) -> Bounds:
    """Give how far left and right are apart, as read, at least and at most."""
    found = _together(here, (left, right), lambda figures: figures[0] - figures[1])
    most = max(abs(found.low), abs(found.high))
    least = 0.0 if found.low <= 0.0 <= found.high else min(abs(found.low), abs(found.high))
    return Bounds(abs(found.value), least, most, found.halves, found.names)


def _together(
    here: Plan, dampers: Sequence[Damper], combine: Callable[[Sequence[float]], float]
) -> Bounds:
    """Bound a figure of several dampers, each worked out by the same plan.

    A reading that stands in one place for some of them is one reading: it moves them together.
    """
    values: list[Any] = []
    ends: list[tuple[Any, Any]] = []
    seen: dict[Any, int] = {}
    places: list[list[int]] = []
    names: list[str] = []
    for damper in dampers:
        slots = []
        for name in here.inputs:
            value = getattr(damper, name)
            spread = damper.spread.get(name, (value, value))
            # readings of no known place are as many as there are dampers
            key = (name, damper.origin.get(name, damper.corner), value, spread)
            if key not in seen:
                seen[key] = len(values)
                values.append(value)
                ends.append(spread)
                names.append(damper.in_words(name))
            slots.append(seen[key])
        places.append(slots)

    def work(at: Sequence[Any]) -> float:
        return combine([here.run([at[i] for i in slots]) for slots in places])

    found = bounds(work, values, [e[0] for e in ends], [e[1] for e in ends])
    return replace(found, names=tuple(names))

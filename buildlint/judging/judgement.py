"""One rule judged on one subject, with the figure that it stands on."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, NamedTuple

from buildlint.judging.finding import Verdict
from buildlint.judging.rule import Ask, Rule
from buildlint.measures import Measure
from buildlint.measures.damper import Damper
from buildlint.measures.marks import Array
from buildlint.measures.missing import missing_for
from buildlint.measures.uncertainty import shares

__all__ = ["Figure", "Judgement", "Outcome", "Weight"]


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
    right where those are compared; `chance` is that the limit is kept. `also` is a should that
    fails with it, and is told with it.
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
    also: Judgement | None = None

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
    def _asked_of(self) -> tuple[Damper, ...]:
        """The dampers whose readings it needs; of those that are alike, one."""
        if self.rule.compares_sides or self.measure.of:
            return self.dampers
        like = self.dampers[0].like if self.measure.against else None
        return (self.dampers[0], like) if like is not None else self.dampers[:1]

    @property
    def missing(self) -> tuple[str, ...]:
        """What is missing for it, or makes no sense together, in words."""
        if self.verdict != "not checked":
            return ()
        if "class" in self.rule.only.words and self.dampers[0].car_class is None:
            return (self.dampers[0].in_words("car_class"),)
        return missing_for(
            [name for name in (self.measure.name, self.rule.by) if name is not None],
            self._asked_of,
            self.condition or "bench",
            by_end=bool(self.measure.of),
            at_event=self.rule.limits,
        )


class Outcome(NamedTuple):
    """What came of one build: the rules that hold with their subjects, and all other judgements.

    Of rules that are only counted, `unchecked` are those that were not checked, with their levels.
    """

    held: list[tuple[str, str]]
    others: list[Judgement]
    unchecked: list[str]

"""A part from the drawers that mends a finding."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple, Protocol

from buildlint.amounts import amount
from buildlint.damper import Damper
from buildlint.finding import BADNESS, CureFigure, Verdict
from buildlint.judge import Judge, Judgement, worst_by_corner
from buildlint.measures import MEASURES
from buildlint.rule import Rule
from buildlint.words import shown

__all__ = ["Drawers", "chosen_to_mend"]

# Of how many parts that mend a finding as read the tolerances are weighed, and of how many of those
# the other rules are asked.
_MOST_WEIGHED = 48
_MOST_ASKED = 24

# How many parts are named at most.
_MOST_CHOICES = 3

_SOUND = BADNESS["not judged"]


class Drawers(Protocol):
    """The parts that there are to choose from."""

    def ids(self, kind: str) -> Sequence[str]:
        """Give the ids of the parts of a kind."""

    def fitted(self, damper: Damper, kind: str, ident: str) -> Damper:
        """Give the damper with another part in it."""


class _Mend(NamedTuple):
    """A part that mends the finding: by how much, and the dampers with it in."""

    short: float  # the less, the further from the limit
    ident: str
    figure: str
    dampers: list[Damper]


class _Choice(NamedTuple):
    """A part that may be named, and the rules that should hold and would newly fail with it."""

    mend: _Mend
    breaks: list[str]
    label: bool  # what stands on the cap is then another part's


def chosen_to_mend(
    judge: Judge,
    judgement: Judgement,
    dampers: Sequence[Damper],
    end: str,
    kind: str,
    drawers: Drawers,
) -> CureFigure | str:
    """Try the parts in the drawers at one end, and name the best that mend the finding, or none.

    Best is what breaks the fewest rules that should hold, then what stays furthest from the limit.
    """
    choosing = _Choosing(judge, judgement, dampers, end, kind)
    choices = choosing.choices(choosing.mending(drawers))
    if not choices:
        return f"No other {kind} in the drawers mends it."
    best = sorted(choices, key=lambda c: (len(c.breaks), c.mend[:3]))[:_MOST_CHOICES]
    where = f" at the {end}" if judgement.subject == "car" else ""
    named = ", ".join(f"{shown(c.mend.ident)} ({c.mend.figure}{_then(c.breaks)})" for c in best)
    label = " Then write the label on the cap again." if any(c.label for c in best) else ""
    text = f"Holds with {kind}{where}: {named}.{label}"
    return CureFigure(kind, None, None, None, text, end, tuple(c.mend.ident for c in best))


def _then(breaks: Sequence[str]) -> str:
    if not breaks:
        return ""
    return f"; but then {' and '.join(breaks)} fail{'s' if len(breaks) == 1 else ''}"


@dataclass(frozen=True, slots=True)
class _Choosing:
    """Tries parts of a kind at one end of a car for one finding."""

    judge: Judge
    judgement: Judgement
    dampers: Sequence[Damper]
    end: str
    kind: str

    def mending(self, drawers: Drawers) -> list[_Mend]:
        """Give the parts that mend the finding with every tolerance at its worst."""
        # first as read, which is quick; of the best of those, with tolerances
        as_read: list[tuple[float, str, list[Damper]]] = []
        for ident, tried in self._tried(drawers):
            worst = self._mended([replace(d, spread={}) for d in tried])
            if worst is not None:
                as_read.append((-_spare(worst), ident, tried))
        as_read.sort(key=lambda a: a[:2])
        found: list[_Mend] = []
        for short, ident, tried in as_read[:_MOST_WEIGHED]:
            worst = self._mended(tried)
            if worst is not None:
                found.append(_Mend(short, ident, _figure_of(worst), tried))
        return found

    def choices(self, mending: Sequence[_Mend]) -> list[_Choice]:
        """Give, of the parts that mend, those that leave no other must worse than it is."""
        if not mending:
            return []
        others = {r.id: r for r in self.judge.rules if r.id != self.judgement.rule.id}
        before = self._verdicts(others.values(), self.dampers)
        found: list[_Choice] = []
        for mend in mending[:_MOST_ASKED]:
            after = self._verdicts(others.values(), mend.dampers)
            worse = {
                key: verdict
                for key, verdict in after.items()
                if BADNESS[verdict] > max(BADNESS[before.get(key, "holds")], _SOUND)
            }
            if any(others[rule].level == "must" for rule, _ in worse):
                continue
            failing = dict.fromkeys(rule for (rule, _), v in worse.items() if v == "fails")
            breaks = [rule for rule in failing if not _reads_label(others[rule])]
            found.append(_Choice(mend, breaks, len(breaks) < len(failing)))
        return found

    def _verdicts(
        self, rules: Iterable[Rule], dampers: Sequence[Damper]
    ) -> dict[tuple[str, str], Verdict]:
        here = self._here(dampers)
        # only a rule on the whole car looks at the other end too
        return worst_by_corner(
            judgement
            for rule in rules
            for judgement in self.judge.one(
                rule, dampers if MEASURES[rule.measure or ""].of else here
            )
        )

    def _here(self, dampers: Sequence[Damper]) -> list[Damper]:
        return [d for d in dampers if d.end == self.end]

    def _tried(self, drawers: Drawers) -> Iterator[tuple[str, list[Damper]]]:
        """Give the dampers with each other part in them."""
        here = self._here(self.dampers)
        for ident in drawers.ids(self.kind):
            if all(getattr(d, self.kind) == ident for d in here):
                continue
            yield (
                ident,
                [
                    drawers.fitted(d, self.kind, ident) if d.end == self.end else d
                    for d in self.dampers
                ],
            )

    def _mended(self, tried: Sequence[Damper]) -> Judgement | None:
        """Give the worst judgement of the end, if all of them hold."""
        found = [
            j
            for j in self.judge.one(self.judgement.rule, tried)
            if j.subject == "car" or j.subject.split(".")[0] == self.end
        ]
        holds = found and all(j.verdict == "holds" for j in found)
        return min(found, key=_spare) if holds else None


def _reads_label(rule: Rule) -> bool:
    return MEASURES[rule.measure or ""].about == "label"


def _spare(judgement: Judgement) -> float:
    return judgement.margin if judgement.margin is not None else 0.0


def _figure_of(judgement: Judgement) -> str:
    if judgement.bounds is None:
        return "agrees"
    # a clearance of tenths of a millimetre says more with one digit more
    small = judgement.unit == "mm" and abs(judgement.bounds.value) < 0.95e-3
    figure = amount(judgement.bounds.value, judgement.unit, 1 if small else 0)
    return f"{figure} {judgement.condition}" if judgement.condition else figure

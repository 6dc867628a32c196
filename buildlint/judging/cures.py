"""What would mend what fails at one end of a car: a reading turned, or a part from the parts files.

Nothing is worked out here. Candidates are builds like this one with a reading at another value, or
with another part, as one more axis of the same evaluation; the rules judge all of them at once.
Both sides of the end are turned alike.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import product
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from buildlint.files.amounts import amount, in_unit
from buildlint.files.part_models import PART_KINDS
from buildlint.judging.finding import Cure, CureFigure
from buildlint.judging.judge import Judge
from buildlint.judging.messages import odds
from buildlint.judging.rule import Rule
from buildlint.judging.subjects import SUBJECTS
from buildlint.judging.values import value_of
from buildlint.judging.weigh import Weighed
from buildlint.measures import MEASURES, OF_THE_BLADDER
from buildlint.measures.arrays import Batch
from buildlint.measures.damper import KEY_IN_PART, Damper
from buildlint.measures.evaluate import Figures
from buildlint.measures.graph import stands_on
from buildlint.measures.marks import Array
from buildlint.team.assembly import fitted, with_nothing_but
from buildlint.team.repository import Team
from buildlint.text.words import listed, shown

__all__ = ["cure", "window"]

Mask = NDArray[np.bool_]

#: The steps in which a builder can set a reading, in m; of the bench temperature in K.
STEPS = {"hold_back": 1e-4, "limiter": 1e-4, "collar": 5e-4, "bench_temperature": 1.0}

#: The temperatures at which dampers are built (K): a bench is no oven.
_BENCH = (278.15, 313.15)
_ZERO_CELSIUS = 273.15

# How many parts are named at most, and how many pairs of parts are tried.
_MOST_CHOICES = 3
_MOST_PAIRS = 2_500


def cure(judge: Judge, rule: Rule, subject: str, dampers: Sequence[Damper], team: Team) -> Cure:
    """Look for what mends a finding together with all that fails at that end.

    Tried in this order: each reading and each part that the rule names by itself, then the
    hold-back with the bladder, the hold-back with the temperature of the bench, the oil with the
    piston.
    """
    ends = ("front", "rear") if subject == "car" else (subject.split(".")[0],)
    figures: list[CureFigure] = []
    reasons: list[str] = []
    for end in ends:
        search = _Search(judge, rule, list(dampers), end, team)
        found = [c for reading in rule.turn if (c := search.alone(reading)) is not None]
        if not found:
            together = search.combined()
            found = [together] if together is not None else []
        if not found:
            reasons.append(search.why_none())
        figures += found
    return Cure(tuple(figures), " ".join(dict.fromkeys(reasons)) if not figures else "")


def window(judge: Judge, dampers: Sequence[Damper], end: str) -> tuple[float, float] | None:
    """Return the hold-backs of an end between which every must that they enter holds (m)."""
    search = _Search(judge, None, list(dampers), end, None)
    values = search.values("hold_back")
    if values is None:
        return None
    good = search.good("hold_back", values)
    ranges = _ranges(values, good)
    return ranges[0] if len(ranges) == 1 else None


class _Level(NamedTuple):
    """How one rule comes out for each candidate at the end that is turned.

    `bad` is whether it fails or is borderline, `chance` the least that its limit is kept; `holds`
    is whether it is neither, with all checked that is checked of the build as it is, and nothing
    worse elsewhere. `was_bad` is whether the build as it is fails, or is borderline.
    """

    rule: Rule
    bad: Mask
    chance: Array
    holds: Mask
    was_bad: bool


@dataclass(frozen=True)
class _Search:
    judge: Judge
    rule: Rule | None
    dampers: list[Damper]
    end: str
    team: Team | None

    @cached_property
    def base(self) -> Figures:
        """The build as it is."""
        return Figures(Batch([self.dampers]))

    @cached_property
    def base_here(self) -> Figures:
        """The dampers of this end as they are."""
        return Figures(self.base.batch.of_end(self.end))

    @property
    def pair(self) -> list[Damper]:
        """The dampers of the end."""
        return [d for d in self.dampers if d.end == self.end]

    # --- candidates ------------------------------------------------------------------------------

    def alone(self, reading: str) -> CureFigure | None:
        """Try one reading at every step, or every other part of a kind."""
        if reading in PART_KINDS:
            return self._part(reading)
        values = self.values(reading)
        if values is None:
            return None
        good = self.good(reading, values)
        ranges = _ranges(values, good)
        if not ranges:
            return None
        now = float(getattr(self.pair[0], reading) or 0.0)
        nearest = min(ranges, key=lambda r: max(r[0] - now, now - r[1], 0.0))
        span = (float(values[0]), float(values[-1]))
        text = f"Holds with {_in_words(reading, nearest, span)}, on both sides."
        unit = MEASURES[reading].unit
        least, most = (round(in_unit(value, unit), 6) for value in nearest)
        return CureFigure(reading, least, most, unit, text, self.end)

    def values(self, reading: str) -> Array | None:
        """Return the values of a reading that a builder can set; None where it cannot be turned."""
        pair = self.pair
        now = [getattr(d, reading) for d in pair]
        if reading == "collar":
            gaps = [d.seat_gap for d in pair if d.seat_gap is not None]
            most = min(gaps, default=None)
        else:
            strokes = [d.stroke for d in pair if d.stroke is not None]
            taken = [d.limiter or 0.0 for d in pair] if reading == "hold_back" else [0.0]
            most = min(strokes) - max(taken) if strokes else None
        if most is None or most <= 0.0 or not all(isinstance(each, float) for each in now):
            return None
        step = STEPS[reading]
        values = np.arange(int(most / step + 1e-6) + 1) * step
        return np.unique(np.append(values, most))

    def good(self, reading: str, values: Array) -> Mask:
        """Return which values of a reading mend the end and make nothing else worse."""
        turned = self.base.batch.turned({reading: values}, (self.end,))
        if reading == "hold_back":
            turned = turned.without("rebound", self.end)  # it is read anew once it is sealed anew
        return self._mended(turned, {reading})

    def _part(self, kind: str) -> CureFigure | None:
        idents, batch = self._candidates((kind,))
        if batch is None:
            return None
        best, breaks = self._best(batch, {kind})
        return self._chosen(kind, [(idents[i][0], breaks[i]) for i in best])

    def _chosen(self, kind: str, best: Sequence[tuple[str, list[str]]]) -> CureFigure | None:
        if not best:
            return None
        named = ", ".join(
            f"{shown(ident)}{self._unsure(kind, ident)}{_then(broken)}" for ident, broken in best
        )
        where = f" at the {self.end}"
        text = f"Holds with {kind}{where}: {named}.{self._label(kind)}"
        return CureFigure(kind, None, None, None, text, self.end, tuple(i for i, _ in best))

    def _unsure(self, kind: str, ident: str) -> str:
        """Say that it is not known whether a bladder fits, where either bore is not given."""
        if kind != "bladder" or self.team is None:
            return ""
        bore = with_nothing_but(self.team, kind, ident).bladder_bore
        if bore is not None and all(d.bore is not None for d in self.pair):
            return ""
        return " (see that it fits this bore)"

    def _label(self, *kinds: str) -> str:
        labelled = any(d.label is not None for d in self.pair)
        named = any(kind in ("oil", "piston") for kind in kinds)
        return " Then write the label on the cap again." if labelled and named else ""

    def _candidates(self, kinds: Sequence[str]) -> tuple[list[tuple[str, ...]], Batch | None]:
        """Return the ids of every other part of some kinds, and the build with each at this end."""
        team = self.team
        drawers = [sorted(team.parts()[kind]) for kind in kinds] if team is not None else [[]]
        now = {_parts_of(d, kinds) for d in self.pair}
        idents = [each for each in product(*drawers) if {each} != now]
        if team is None or not idents or (len(kinds) > 1 and len(idents) > _MOST_PAIRS):
            return [], None
        bare = {
            (k, i): with_nothing_but(team, k, i)
            for k, d in zip(kinds, drawers, strict=True)
            for i in d
        }
        builds = []
        for each in idents:
            build = list(self.dampers)
            for number, damper in enumerate(build):
                if damper.end == self.end:
                    for kind, ident in zip(kinds, each, strict=True):
                        build[number] = fitted(team, build[number], kind, ident)
            builds.append(build)
        parts = {kind: [bare[kind, each[at]] for each in idents] for at, kind in enumerate(kinds)}
        return idents, self.base.batch.fitted(builds, parts, self.end)

    def combined(self) -> CureFigure | None:
        """Try two readings that are turned together."""
        assert self.rule is not None
        turn = self.rule.turn
        if "hold_back" in turn:
            found = self._with_bladder() if "bladder" in turn else None
            return found or self._with_bench()
        if "oil" in turn and "piston" in turn:
            return self._with_piston()
        return None

    def _with_bladder(self) -> CureFigure | None:
        """Try every bladder, each with the hold-back in the middle of its window."""
        idents, batch = self._candidates(("bladder",))
        if batch is None:
            return None
        held = self._middles(batch)
        best, breaks = self._best(self._sealed(batch, held), {"bladder", "hold_back"})
        if not best:
            return None
        named = ", ".join(
            f"{shown(idents[i][0])} with hold-back {amount(float(held[i]), 'mm')}"
            f"{self._unsure('bladder', idents[i][0])}{_then(breaks[i])}"
            for i in best
        )
        text = f"Holds with another bladder at the {self.end}: {named}."
        choices = tuple(idents[i][0] for i in best)
        return CureFigure("bladder", None, None, None, text, self.end, choices)

    def _with_bench(self) -> CureFigure | None:
        """Try every temperature of the bench, each with the middle of its window as hold-back."""
        now = self.pair[0].bench_temperature
        if now is None:
            return None
        temperatures = np.arange(_BENCH[0], _BENCH[1] + 0.5, STEPS["bench_temperature"])
        batch = self.base.batch.turned({"bench_temperature": temperatures})
        held = self._middles(batch)
        good = self._mended(self._sealed(batch, held), {"bench_temperature", "hold_back"})
        if not good.any():
            return None
        best = min(np.flatnonzero(good).tolist(), key=lambda i: abs(float(temperatures[i]) - now))
        value = round(float(temperatures[best]) - _ZERO_CELSIUS, 6)
        hold_back = float(held[best])
        text = (
            f"Holds when sealed at {value:g} degC with hold-back {amount(hold_back, 'mm')} "
            f"at the {self.end}; write that temperature under [bench] then."
        )
        return CureFigure("bench_temperature", value, value, "degC", text, self.end)

    def _middles(self, batch: Batch) -> Array:
        """Return the hold-back midway in the window of each candidate, to a builder's step.

        Not a number where there is none: then nothing is known of it.
        """
        figures = Figures(batch)
        at_end = np.array([damper.end == self.end for damper in self.dampers])

        def every(name: str) -> Array:
            found = np.broadcast_to(figures[name].as_read, (1, len(batch.dampers)))
            return found.reshape(-1, len(at_end))[:, at_end]

        small = np.maximum(every("smallest_hold_back").max(axis=1), 0.0)
        large = np.minimum(every("largest_hold_back"), every("stroke_left")).min(axis=1)
        step = STEPS["hold_back"]
        middle: Array = np.round((small + large) / 2.0 / step) * step
        return np.where(small <= large, middle, np.nan)

    def _sealed(self, batch: Batch, hold_backs: Array) -> Batch:
        """Return candidates sealed at other hold-backs: their rebound is to be read anew."""
        return batch.set("hold_back", hold_backs, self.end).without("rebound", self.end)

    def _with_piston(self) -> CureFigure | None:
        """Try every oil with every piston."""
        idents, batch = self._candidates(("oil", "piston"))
        if batch is None:
            return None
        best, breaks = self._best(batch, {"oil", "piston"})
        if not best:
            return None
        named = ", ".join(
            f"{shown(oil)} with {shown(piston)}{_then(breaks[i])}"
            for i in best
            for oil, piston in [idents[i]]
        )
        text = f"Holds with another oil and piston at the {self.end}: {named}.{self._label('oil')}"
        choices = tuple(idents[i][0] for i in best)
        return CureFigure("oil", None, None, None, text, self.end, choices)

    # --- judged ----------------------------------------------------------------------------------

    def _best(self, batch: Batch, moved: set[str]) -> tuple[list[int], dict[int, list[str]]]:
        """Return the candidates that mend, best first, and the shoulds that each newly fails.

        Those that leave the fewest shoulds failing come first, of these the one that has the
        greatest least chance.
        """
        levels = self._levels(batch, moved)
        good = np.flatnonzero(self._mend(levels, len(batch.corner))).tolist()
        musts = [x.chance for x in levels if x.rule.level == "must"]
        least = np.min([np.ones(len(batch.corner)), *musts], axis=0)
        shoulds = [
            x
            for x in levels
            if x.rule.level == "should" and MEASURES[x.rule.measure or ""].about != "label"
        ]
        breaks = {n: [x.rule.id for x in shoulds if x.bad[n] and not x.was_bad] for n in good}
        failing = np.sum([np.zeros(len(batch.corner)), *(x.bad for x in shoulds)], axis=0)
        best = sorted(good, key=lambda number: (failing[number], -least[number], number))
        return best[:_MOST_CHOICES], breaks

    def _mended(self, batch: Batch, moved: set[str]) -> Mask:
        """Return which candidates mend this end and make nothing worse elsewhere."""
        return self._mend(self._levels(batch, moved), len(batch.corner))

    def _mend(self, levels: Sequence[_Level], count: int) -> Mask:
        """Return which candidates mend this end, from how each rule comes out for them.

        Every must at this end that what is turned enters then holds. Of the shoulds that fail
        here, as many hold as can together: what mends one of them at the cost of another is no
        cure. A should never narrows what mends a must.
        """
        good: Mask = np.ones(count, dtype=bool)
        for level in levels:
            if level.rule.level == "must":
                good &= level.holds
        if self.rule is None or self.rule.level == "must":
            return good
        for level in levels:
            if level.rule.level == "should" and level.was_bad and (good & level.holds).any():
                good = good & level.holds
        (asked,) = (level for level in levels if level.rule.id == self.rule.id)
        return good & asked.holds

    def _no_worse_elsewhere(self, now: Weighed, was: Weighed, count: int) -> Mask:
        """Return which candidates leave what a rule asks of the other end as sure as it was."""
        other = ~self._is_here(was)
        if not other.any():
            return np.ones(count, dtype=bool)

        def of_other(array: NDArray[Any], times: int) -> NDArray[Any]:
            return array.reshape(len(array), times, -1)[:, :, other]

        bad = of_other(now.verdicts >= 2, count)
        lost = of_other(~now.known, count) & of_other(was.known, 1)
        if now.figure is not None:
            chances = of_other(now.chance, count), of_other(was.chance, 1)
            bad &= chances[0] < np.minimum(chances[1], self.judge.sure) - 1e-9
        found: Mask = ~(bad | lost).any(axis=(0, 2))
        return found

    def _moved_rules(self, moved: set[str]) -> list[Rule]:
        """Return the rules that what is turned enters."""

        def enters(rule: Rule) -> bool:
            names = [n for n in (rule.measure, rule.by) if n is not None]
            readings = {r for name in names for r in stands_on(name)}
            parts = {KEY_IN_PART[r][0] for r in readings if r in KEY_IN_PART}
            return not moved.isdisjoint(readings | parts)

        if "hold_back" in moved:
            moved = {*moved, "rebound"}  # it is no longer known
        return [r for r in self.judge.rules if enters(r)]

    def _is_here(self, weighed: Weighed) -> Mask:
        """Return which subjects are of this end, or of the whole car."""
        here = np.array([s == "car" or s.split(".")[0] == self.end for s in SUBJECTS])
        found: Mask = here[weighed.subjects]
        return found

    def _levels(self, batch: Batch, moved: set[str]) -> list[_Level]:
        """Judge candidates by every rule that what is turned enters."""
        count = len(batch.corner)
        # the other end counts where the whole car does, and where it is turned too
        whole, own = (Figures(batch), self.base), (Figures(batch.of_end(self.end)), self.base_here)
        found = []
        for rule in self._moved_rules(moved):
            both = MEASURES[rule.measure or ""].of or "bench_temperature" in moved
            now, was = (self.judge.weigh(each, rule) for each in (whole if both else own))
            bad, checked, chance = self._here(now, count)
            was_bad, was_checked, _ = self._here(was, 1)
            # of a bladder whose bore is not given, the cure says that it may not fit
            holds = ~bad & ((checked >= was_checked) | (rule.measure == "bladder_bore_off"))
            # a should is of no other end, and nothing else is turned for both
            if rule.level == "must" and "bench_temperature" in moved:
                holds &= self._no_worse_elsewhere(now, was, count)
            found.append(_Level(rule, bad, chance, holds, bool(was_bad[0])))
        return found

    def _here(self, weighed: Weighed, count: int) -> tuple[Mask, NDArray[np.intp], Array]:
        """Sum up one rule at this end, for each candidate.

        Returns whether it fails or is borderline, how many figures were checked, and the least
        chance that the limit is kept.
        """
        here = self._is_here(weighed)
        bad, checked, chance = np.zeros(count, bool), np.zeros(count, np.intp), np.ones(count)
        if here.any():
            builds, verdicts = weighed.builds[here], weighed.verdicts[:, here]
            # what is sound at the bench counts as checked, with no event to be checked at
            known = weighed.known[:, here] & (verdicts >= 0)
            np.logical_or.at(bad, builds, (verdicts >= 2).any(axis=0))
            np.add.at(checked, builds, known.sum(axis=0))
            if weighed.figure is not None and weighed.rule.level == "must":
                every = np.where(known, weighed.chance[:, here], 1.0)
                np.minimum.at(chance, builds, every.min(axis=0))
        return bad, checked, chance

    def why_none(self) -> str:
        """Say why nothing is offered, and what comes nearest."""
        assert self.rule is not None
        reason = _no_window(self.pair) if self.rule.measure in OF_THE_BLADDER else ""
        nearest = self._nearest() if not reason and "hold_back" in self.rule.turn else ""
        turned = [r for r in self.rule.turn if r in PART_KINDS or self.values(r) is not None]
        if not turned:
            return reason
        tried = [r.replace("_", "-") for r in turned]
        none = f"No other {' or '.join(tried)} lets this hold: other parts are needed."
        return " ".join(filter(None, (reason or none, nearest)))

    def _nearest(self) -> str:
        """Say which hold-back has the greatest least chance."""
        values = self.values("hold_back")
        if values is None:
            return ""
        turned = self.base.batch.turned({"hold_back": values}, (self.end,))
        musts = [x for x in self._levels(turned, {"hold_back"}) if x.rule.level == "must"]
        least = np.min([np.ones(len(values)), *(x.chance for x in musts)], axis=0)
        best = int(np.argmax(least))
        if not 0.05 <= least[best] < self.judge.sure:
            return ""
        held = amount(float(values[best]), "mm")
        return f"Of all hold-backs {held} comes nearest: it holds {odds(float(least[best]))}."


def _ranges(values: Array, good: Mask) -> list[tuple[float, float]]:
    """Return the stretches of values that are good.

    >>> _ranges(np.array([0.0, 1.0, 2.0, 3.0]), np.array([True, True, False, True]))
    [(0.0, 1.0), (3.0, 3.0)]
    """
    edges = np.flatnonzero(np.diff(np.concatenate([[False], good, [False]]).astype(int)))
    return [(float(values[a]), float(values[b - 1])) for a, b in edges.reshape(-1, 2).tolist()]


def _parts_of(damper: Damper, kinds: Sequence[str]) -> tuple[str | None, ...]:
    return tuple(getattr(damper, kind) for kind in kinds)


def _then(breaks: Sequence[str]) -> str:
    if not breaks:
        return ""
    return f" (but then {listed(breaks)} fail{'s' if len(breaks) == 1 else ''})"


def _in_words(reading: str, found: tuple[float, float], span: tuple[float, float]) -> str:
    unit = MEASURES[reading].unit
    low, high = found
    name = reading.replace("_", "-")
    from_end, to_end = low <= span[0], high >= span[1] - 1e-9
    if from_end and to_end:
        return f"any {name}"
    if from_end:
        return f"{name} {_text(high, unit)} or less"
    if to_end:
        return f"{name} {_text(low, unit)} or more"
    if high - low < 1e-9:
        return f"{name} {_text(low, unit)}, and no other"
    return f"{name} {_text(low, unit)} to {_text(high, unit)}"


def _text(value: float, unit: str) -> str:
    short = amount(value, unit)
    in_tenths = round(in_unit(value, unit), 1)
    return short if abs(in_tenths - in_unit(value, unit)) < 1e-9 else amount(value, unit, 1)


def _no_window(pair: Sequence[Damper]) -> str:
    """Say so where the bladder leaves no hold-back to choose."""
    small = max(value_of(d, "smallest_hold_back") for d in pair)
    large = min(value_of(d, "largest_hold_back") for d in pair)
    if large < 0.0:
        return (
            "No hold-back works with these parts: with none at all, the growth of oil and air "
            "alone fills the room in the cap. Another bladder is needed, or another temperature."
        )
    if small > large:
        return (
            "No hold-back works with these parts: to follow the shaft, the bladder needs at least "
            f"{amount(small, 'mm')}; to have room in the cap, at most {amount(large, 'mm')}. Other "
            "parts are needed."
        )
    return ""

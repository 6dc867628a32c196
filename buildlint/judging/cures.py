"""What would mend what fails at one end of a car: a reading turned, or a part from the parts files.

Nothing is worked out here. Candidates are builds like this one with a reading at another value, or
with another part, as one more axis of the same evaluation; the rules judge all of them at once.
Both sides of the end are turned alike.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from buildlint.amounts import amount, in_unit
from buildlint.assembly import fitted
from buildlint.damper import KEY_IN_PART, Damper
from buildlint.files.part_models import PART_KINDS
from buildlint.finding import Cure, CureFigure
from buildlint.judging.judge import Judge
from buildlint.judging.values import value_of
from buildlint.judging.weigh import Weighed
from buildlint.measures import MEASURES, OF_THE_BLADDER
from buildlint.measures.arrays import Batch, Figures
from buildlint.measures.graph import stands_on
from buildlint.measures.marks import Array
from buildlint.messages import odds
from buildlint.rule import Rule
from buildlint.subjects import SUBJECTS
from buildlint.team import Team
from buildlint.words import listed, shown

__all__ = ["cure", "window"]

Mask = NDArray[np.bool_]

#: The steps in which a builder can set a reading, in m; of the bench temperature in K.
STEPS = {"hold_back": 1e-4, "limiter": 1e-4, "collar": 5e-4, "bench_temperature": 1.0}

#: The temperatures at which dampers are built (K): a bench is no oven.
_BENCH = (278.15, 313.15)

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
            together = search.together()
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
    good = search.good({"hold_back": values})
    ranges = _ranges(values, good)
    return ranges[0] if len(ranges) == 1 else None


class _Level(NamedTuple):
    """How one rule comes out for each candidate: at the end that is turned, and elsewhere.

    `bad` is whether it fails or is borderline, `checked` how many verdicts were reached; `chance`
    is the least that its limit is kept.
    """

    bad: Mask
    checked: NDArray[np.intp]
    chance: Array


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
        good = self.good({reading: values})
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

    def good(self, readings: dict[str, Array]) -> Mask:
        """Tell which values of readings, in step, mend the end and make nothing else worse."""
        ends = () if "bench_temperature" in readings else (self.end,)
        turned = self.base.batch.turned(readings, ends)
        if "hold_back" in readings:
            turned = turned.without("rebound", self.end)  # it is read anew once it is sealed anew
        return self._mended(turned, set(readings))

    def _part(self, kind: str) -> CureFigure | None:
        found = self._candidates((kind,))
        if not found:
            return None
        idents = [idents[0] for idents, _ in found]
        good, breaks, spare = self._judged([made for _, made in found], {kind})
        best = sorted(
            np.flatnonzero(good).tolist(), key=lambda i: (len(breaks[i]), -spare[i], idents[i])
        )
        return self._chosen(kind, [(idents[i], breaks[i]) for i in best[:_MOST_CHOICES]])

    def _chosen(self, kind: str, best: Sequence[tuple[str, list[str]]]) -> CureFigure | None:
        if not best:
            return None
        named = ", ".join(f"{shown(ident)}{_then(broken)}" for ident, broken in best)
        where = f" at the {self.end}"
        text = f"Holds with {kind}{where}: {named}.{self._label(kind)}"
        return CureFigure(kind, None, None, None, text, self.end, tuple(i for i, _ in best))

    def _label(self, *kinds: str) -> str:
        labelled = any(d.label is not None for d in self.pair)
        named = any(kind in ("oil", "piston") for kind in kinds)
        return " Then write the label on the cap again." if labelled and named else ""

    def _candidates(
        self, kinds: Sequence[str], readings: Sequence[dict[str, float]] = ()
    ) -> list[tuple[tuple[str, ...], list[Damper]]]:
        """Return the build with every other part of some kinds at this end, each with its ids."""
        team = self.team
        if team is None:
            return []
        drawers = [sorted(team.parts()[kind]) for kind in kinds]
        if len(kinds) == 2 and len(drawers[0]) * len(drawers[1]) > _MOST_PAIRS:
            return []
        found: list[tuple[tuple[str, ...], list[Damper]]] = []
        pair = self.pair
        for idents in _products(drawers):
            if all(_parts_of(d, kinds) == idents for d in pair):
                continue
            made = list(self.dampers)
            for number, damper in enumerate(made):
                if damper.end == self.end:
                    for kind, ident in zip(kinds, idents, strict=True):
                        made[number] = fitted(team, made[number], kind, ident)
            found.append((idents, made))
        return found

    def together(self) -> CureFigure | None:
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
        made = [
            (ident, [_held(d, value) if d.end == self.end else d for d in dampers], value)
            for (ident,), dampers in self._candidates(("bladder",))
            if (value := _middle_of_window([d for d in dampers if d.end == self.end])) is not None
        ]
        if not made:
            return None
        good, breaks, spare = self._judged([m for _, m, _ in made], {"bladder", "hold_back"})
        best = sorted(np.flatnonzero(good).tolist(), key=lambda i: (len(breaks[i]), -spare[i]))
        if not best:
            return None
        named = ", ".join(
            f"{shown(made[i][0])} with hold-back {amount(made[i][2], 'mm')}{_then(breaks[i])}"
            for i in best[:_MOST_CHOICES]
        )
        text = f"Holds with another bladder at the {self.end}: {named}."
        idents = tuple(made[i][0] for i in best[:_MOST_CHOICES])
        return CureFigure("bladder", None, None, None, text, self.end, idents)

    def _with_bench(self) -> CureFigure | None:
        """Try every temperature of the bench, each with the middle of its window as hold-back."""
        now = self.pair[0].bench_temperature
        if now is None:
            return None
        temperatures = np.arange(_BENCH[0], _BENCH[1] + 0.5, STEPS["bench_temperature"])
        held = [
            _middle_of_window([replace(d, bench_temperature=float(t)) for d in self.pair])
            for t in temperatures
        ]
        tried = np.array([h if h is not None else np.nan for h in held])
        usable = ~np.isnan(tried)
        if not usable.any():
            return None
        readings = {"bench_temperature": temperatures[usable], "hold_back": tried[usable]}
        turned = self.base.batch.turned({"bench_temperature": readings["bench_temperature"]})
        turned = turned.set("hold_back", readings["hold_back"], self.end)
        good = self._mended(turned.without("rebound", self.end), set(readings))
        if not good.any():
            return None
        best = min(
            np.flatnonzero(good).tolist(),
            key=lambda i: abs(float(readings["bench_temperature"][i]) - now),
        )
        at, hold_back = (float(readings[name][best]) for name in readings)
        text = (
            f"Holds when sealed at {amount(at, 'degC')} with hold-back {amount(hold_back, 'mm')} "
            f"at the {self.end}; write that temperature under [bench] then."
        )
        value = round(in_unit(at, "degC"), 6)
        return CureFigure("bench_temperature", value, value, "degC", text, self.end)

    def _with_piston(self) -> CureFigure | None:
        """Try every oil with every piston."""
        found = self._candidates(("oil", "piston"))
        if not found:
            return None
        good, breaks, spare = self._judged([made for _, made in found], {"oil", "piston"})
        best = sorted(np.flatnonzero(good).tolist(), key=lambda i: (len(breaks[i]), -spare[i]))
        if not best:
            return None
        idents = [found[i][0] for i in best[:_MOST_CHOICES]]
        named = ", ".join(
            f"{shown(oil)} with {shown(piston)}{_then(breaks[i])}"
            for (oil, piston), i in zip(idents, best, strict=False)
        )
        text = f"Holds with another oil and piston at the {self.end}: {named}.{self._label('oil')}"
        return CureFigure("oil", None, None, None, text, self.end, tuple(o for o, _ in idents))

    # --- judged ----------------------------------------------------------------------------------

    def _judged(
        self, builds: Sequence[Sequence[Damper]], moved: set[str]
    ) -> tuple[Mask, list[list[str]], Array]:
        """Judge candidates: which mend, the shoulds that each newly fails, and its least chance."""
        batch = Batch(builds)
        figures = Figures(batch)
        good = self._mended(batch, moved, figures)
        breaks: list[list[str]] = [[] for _ in builds]
        spare = np.ones(len(builds))
        for rule in self._moved_rules(moved):
            if MEASURES[rule.measure or ""].about == "label":
                continue
            here, _ = self._levels(figures, rule, len(builds))
            if rule.level == "must":
                spare = np.minimum(spare, here.chance)
            elif good.any():
                was, _ = self._levels(self.base, rule, 1)
                for number in np.flatnonzero(good & here.bad & ~was.bad[0]).tolist():
                    breaks[number].append(rule.id)
        return good, breaks, spare

    def _mended(self, batch: Batch, moved: set[str], figures: Figures | None = None) -> Mask:
        """Tell which candidates mend this end and make nothing worse elsewhere.

        Every must at this end that what is turned enters then holds, and so does the rule in
        question; elsewhere no must falls below what is sure, nor further below it.
        """
        figures = figures or Figures(batch)
        count = len(batch.corner)
        good = np.ones(count, dtype=bool)
        for rule in self._moved_rules(moved):
            asked = self.rule is not None and rule.id == self.rule.id
            if rule.level != "must" and not asked:
                continue
            here, elsewhere = self._levels(figures, rule, count)
            was_here, was_elsewhere = self._levels(self.base, rule, 1)
            good &= ~here.bad & (here.checked >= was_here.checked)
            fell = elsewhere.chance < np.minimum(was_elsewhere.chance, self.judge.sure) - 1e-9
            good &= ~(elsewhere.bad & (fell | ~was_elsewhere.bad))
            if not good.any():
                break
        return good

    def _moved_rules(self, moved: set[str]) -> Iterable[Rule]:
        """Give the rules that what is turned enters, the one in question first."""

        def enters(rule: Rule) -> bool:
            names = [n for n in (rule.measure, rule.by) if n is not None]
            readings = {r for name in names for r in stands_on(name)}
            parts = {KEY_IN_PART[r][0] for r in readings if r in KEY_IN_PART}
            return not moved.isdisjoint(readings | parts)

        if "hold_back" in moved:
            moved = {*moved, "rebound"}  # it is no longer known
        rules = [r for r in self.judge.rules if enters(r)]
        return sorted(rules, key=lambda r: self.rule is None or r.id != self.rule.id)

    def _levels(self, figures: Figures, rule: Rule, count: int) -> tuple[_Level, _Level]:
        weighed = self.judge.weigh(figures, rule)
        own = np.array([s == "car" or s.split(".")[0] == self.end for s in SUBJECTS])
        at_end = own[weighed.subjects] if len(weighed.subjects) else np.zeros(0, dtype=bool)
        return _level(weighed, at_end, count), _level(weighed, ~at_end, count)

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
        figures = Figures(turned)
        least = np.ones(len(values))
        for rule in self._moved_rules({"hold_back"}):
            if rule.level == "must":
                here, _ = self._levels(figures, rule, len(values))
                least = np.minimum(least, here.chance)
        best = int(np.argmax(least))
        if not 0.05 <= least[best] < self.judge.sure:
            return ""
        held = amount(float(values[best]), "mm")
        return f"Of all hold-backs {held} comes nearest: it holds {odds(float(least[best]))}."


def _level(weighed: Weighed, mine: Mask, count: int) -> _Level:
    """Sum up one rule for each candidate, over the subjects that are meant."""
    bad = np.zeros(count, dtype=bool)
    checked = np.zeros(count, dtype=np.intp)
    chance = np.ones(count)
    if mine.any():
        builds = weighed.builds[mine]
        verdicts = weighed.verdicts[:, mine]
        np.logical_or.at(bad, builds, (verdicts >= 2).any(axis=0))
        # what is sound at the bench counts as checked, with no event to be checked at
        known = weighed.known[:, mine] & (verdicts >= 0)
        np.add.at(checked, builds, known.sum(axis=0))
        if weighed.figure is not None:
            judged = np.where(verdicts == 0, 1.0, 0.0) if weighed.rule.level == "should" else None
            every = weighed.chance[:, mine] if judged is None else judged
            np.minimum.at(chance, builds, np.where(known, every, 1.0).min(axis=0))
    return _Level(bad, checked, chance)


def _ranges(values: Array, good: Mask) -> list[tuple[float, float]]:
    """Return the stretches of values that are good.

    >>> _ranges(np.array([0.0, 1.0, 2.0, 3.0]), np.array([True, True, False, True]))
    [(0.0, 1.0), (3.0, 3.0)]
    """
    edges = np.flatnonzero(np.diff(np.concatenate([[False], good, [False]]).astype(int)))
    return [(float(values[a]), float(values[b - 1])) for a, b in edges.reshape(-1, 2).tolist()]


def _parts_of(damper: Damper, kinds: Sequence[str]) -> tuple[str | None, ...]:
    return tuple(getattr(damper, kind) for kind in kinds)


def _products(drawers: Sequence[Sequence[str]]) -> Iterable[tuple[str, ...]]:
    if len(drawers) == 1:
        return ((ident,) for ident in drawers[0])
    return ((one, other) for one in drawers[0] for other in drawers[1])


def _held(damper: Damper, hold_back: float) -> Damper:
    """Return a damper sealed at another hold-back: its rebound is to be read anew."""
    spread = dict(damper.spread)
    if "hold_back" in spread:
        half = spread["hold_back"][1] - (damper.hold_back or 0.0)
        spread["hold_back"] = (max(hold_back - half, 0.0), hold_back + half)
    spread.pop("rebound", None)
    return replace(damper, hold_back=hold_back, rebound=None, spread=spread)


def _middle_of_window(pair: Sequence[Damper]) -> float | None:
    """Return the hold-back midway between the smallest and the largest, to a builder's step."""
    small = max(value_of(d, "smallest_hold_back") for d in pair)
    large = min(value_of(d, "largest_hold_back") for d in pair)
    small = max(small, 0.0)
    if not small <= large:
        return None
    return round((small + large) / 2.0 / STEPS["hold_back"]) * STEPS["hold_back"]


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

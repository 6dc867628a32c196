"""Cures as figures: the range of a reading in which a rule holds and nothing else gets worse.

Nothing is worked out here: a reading is given other values, and the same rules are judged again.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from math import ceil, floor
from typing import Any, Protocol, get_args

from buildlint.amounts import amount, in_unit
from buildlint.damper import Damper
from buildlint.files.fields import Quantity
from buildlint.files.part_models import PART_KINDS
from buildlint.finding import Cure, CureFigure
from buildlint.judge import Judge, Judgement
from buildlint.measures import MEASURES, plan
from buildlint.plans import CONDITIONS
from buildlint.rule import Rule
from buildlint.words import shown

__all__ = ["Cure", "Drawers", "cures"]

# A rule's own range is looked for at so many places, then closed in on.
_PLACES = 32
_HALVINGS = 30

# Figures are offered to a tenth of their unit, on the safe side; where that leaves none, finer.
_STEPS = (0.1, 0.01)

# A limiter is none where the file does not give it; written in, it is read as closely as this.
_LIMITER_READ_TO: float = get_args(Quantity.small_length)[1].read("0 mm").high

# Of how many parts that mend a finding as read the tolerances are weighed, and of how many of those
# the other rules are asked.
_MOST_WEIGHED = 48
_MOST_ASKED = 24

# How many parts are named at most.
_MOST_CHOICES = 3

_Range = tuple[float, float]
_WORSE = {"holds": 0, "not judged": 1, "doubtful": 2, "fails": 3}
_SOUND = _WORSE["not judged"]


class Drawers(Protocol):
    """The parts that there are to choose from."""

    def ids(self, kind: str) -> Sequence[str]:
        """Give the ids of the parts of a kind."""

    def fitted(self, damper: Damper, kind: str, ident: str) -> Damper:
        """Give the damper with another part in it."""


def cures(judge: Judge, judgement: Judgement, dampers: Sequence[Damper], drawers: Drawers) -> Cure:
    """Solve for the readings that the rule offers to turn, on both sides of the end together.

    A figure is the range nearest to what stands now in which the rule holds with every tolerance
    at its worst, at every condition, and every other `must` that the reading enters holds too; one
    that is in doubt or fails now may be left in doubt where there is no better, never failing.
    """
    ends = ("front", "rear") if judgement.subject == "car" else (judgement.dampers[0].end,)
    figures: list[CureFigure] = []
    reasons: dict[str, str] = {}
    for reading in judgement.rule.turn:
        for end in ends:
            found: CureFigure | str | None
            if reading in PART_KINDS:
                found = _choose(judge, judgement, dampers, end, reading, drawers)
            else:
                pair = [d for d in dampers if d.end == end]
                found = _turn(judge, judgement, pair, reading)
            if isinstance(found, CureFigure):
                figures.append(found)
            elif found:
                reasons[found] = reading
    # that no other part would do is worth saying only where nothing else would
    told = [r for r, reading in reasons.items() if not figures or reading not in PART_KINDS]
    return Cure(tuple(figures), " ".join(told))


def _choose(
    judge: Judge,
    judgement: Judgement,
    dampers: Sequence[Damper],
    end: str,
    kind: str,
    drawers: Drawers,
) -> CureFigure | str:
    """Try the parts in the drawers at one end, and name the best that mend the finding.

    Best is what breaks the fewest rules that should hold, then what stays furthest from the limit.
    """
    others = [r for r in judge.rules if r.id != judgement.rule.id]
    musts = [r for r in others if r.level == "must"]
    shoulds = [r for r in others if r.level == "should"]
    here = [d for d in dampers if d.end == end]

    def mended(tried: Sequence[Damper]) -> Judgement | None:
        """The worst judgement of the end, if all of them hold."""
        found = [
            j
            for j in judge.one(judgement.rule, tried)
            if j.subject == "car" or j.subject.split(".")[0] == end
        ]
        holds = found and all(j.verdict == "holds" for j in found)
        return min(found, key=_spare) if holds else None

    # first as read, which is quick; then, of the best, with tolerances; then by every other rule
    as_read: list[tuple[float, str, list[Damper]]] = []
    for ident in drawers.ids(kind):
        if all(getattr(d, kind) == ident for d in here):
            continue
        tried = [drawers.fitted(d, kind, ident) if d.end == end else d for d in dampers]
        worst = mended([replace(d, spread={}) for d in tried])
        if worst is not None:
            as_read.append((-_spare(worst), ident, tried))
    as_read.sort(key=lambda a: a[:2])
    mending: list[tuple[float, str, str, list[Damper]]] = []
    for spare, ident, tried in as_read[:_MOST_WEIGHED]:
        worst = mended(tried)
        if worst is not None:
            mending.append((spare, ident, _figure_of(worst), tried))
    before = {rule.id: _worst(judge, rule, here) for rule in musts} if mending else {}
    failing = {r.id for r in shoulds if mending and _worst(judge, r, dampers) == _WORSE["fails"]}
    fitting: list[tuple[int, float, str, str, list[str]]] = []
    for spare, ident, figure, tried in mending[:_MOST_ASKED]:
        changed = [d for d in tried if d.end == end]
        if any(_worst(judge, rule, changed) > max(before[rule.id], _SOUND) for rule in musts):
            continue
        broken = [
            r.id
            for r in shoulds
            if _worst(judge, r, tried) == _WORSE["fails"] and r.id not in failing
        ]
        fitting.append((len(broken), spare, ident, figure, broken))
    if not fitting:
        return f"No other {kind} in the drawers mends it."
    best = sorted(fitting, key=lambda f: f[:3])[:_MOST_CHOICES]
    where = f" at the {end}" if judgement.subject == "car" else ""
    named = ", ".join(
        f"{shown(ident)} ({figure}{f'; but fails {broken[0]}' if broken else ''})"
        for _, _, ident, figure, broken in best
    )
    text = f"Holds with {kind}{where}: {named}."
    return CureFigure(kind, None, None, None, text, end, tuple(f[2] for f in best))


def _worst(judge: Judge, rule: Rule, dampers: Sequence[Damper]) -> int:
    return max((_WORSE[j.verdict] for j in judge.one(rule, dampers)), default=0)


def _spare(judgement: Judgement) -> float:
    return judgement.margin if judgement.margin is not None else 0.0


def _figure_of(judgement: Judgement) -> str:
    if judgement.bounds is None:
        return "agrees"
    # a clearance of tenths of a millimetre says more with one digit more
    small = judgement.unit == "mm" and abs(judgement.bounds.value) < 0.95e-3
    figure = amount(judgement.bounds.value, judgement.unit, 1 if small else 0)
    return f"{figure} {judgement.condition}" if judgement.condition else figure


def _turn(
    judge: Judge, judgement: Judgement, pair: Sequence[Damper], reading: str
) -> CureFigure | str | None:
    now = getattr(judgement.dampers[0], reading, None)
    span = _span(reading, pair)
    if not isinstance(now, float) or span is None:
        return None
    musts = [rule for rule in judge.rules if rule.level == "must" and _stands_on(rule, reading)]
    others = [rule for rule in musts if rule.id != judgement.rule.id]

    def verdict(rule: Rule, value: float) -> int:
        turned = [_turned(d, reading, value) for d in pair]
        return _worst(judge, rule, turned)

    def no_worse_than(rule: Rule, most: int) -> Callable[[float], bool]:
        return lambda value: verdict(rule, value) <= most

    def offered(others_at_most: Callable[[Rule], int]) -> list[_Range]:
        ranges = _where(no_worse_than(judgement.rule, _SOUND), span, now)
        for rule in others:
            ranges = _both(ranges, _where(no_worse_than(rule, others_at_most(rule)), span, now))
        safe = (_safe(one, MEASURES[reading].unit) for one in ranges)
        return [r for r in safe if r is not None]

    def doubtful_may_stay(rule: Rule) -> int:
        before = _worst(judge, rule, pair)
        return _WORSE["doubtful"] if before > _SOUND else _SOUND

    # a figure that leaves another rule failing is no cure: all that turn with it are to hold
    found = offered(lambda rule: _SOUND) or offered(doubtful_may_stay)
    if not found:
        alone = _where(no_worse_than(judgement.rule, _SOUND), span, now)
        return _why_none(judge, judgement.rule, pair[0], reading, bool(alone))
    nearest = min(found, key=lambda r: max(r[0] - now, now - r[1], 0.0))
    return _figure(reading, nearest, span, pair[0].end)


def _span(reading: str, pair: Sequence[Damper]) -> _Range | None:
    """Give the range that a reading can be turned in: a hold-back or limiter within the stroke."""
    strokes = [d.stroke for d in pair if d.stroke is not None]
    if reading == "collar":
        gaps = [d.seat_gap for d in pair if d.seat_gap is not None]
        return (0.0, min(gaps)) if gaps else None
    if reading not in ("hold_back", "limiter") or not strokes:
        return None
    if reading == "limiter":
        return 0.0, min(strokes)
    left = min(d.stroke - (d.limiter or 0.0) for d in pair if d.stroke is not None)
    return (0.0, left) if left > 0 else None


def _stands_on(rule: Rule, reading: str) -> bool:
    names = [name for name in (rule.measure, rule.by) if name is not None]
    return any(reading in plan(n, c).inputs for n in names for c in CONDITIONS)


def _turned(damper: Damper, reading: str, value: float) -> Damper:
    """Give the damper with another value of a reading, read as closely as the one it has.

    A limiter that is not there yet will be read as closely as any.
    """
    spread = dict(damper.spread)
    was = getattr(damper, reading)
    half = spread[reading][1] - was if reading in spread and was is not None else 0.0
    if reading == "limiter" and not was and reading not in damper.origin:
        half = _LIMITER_READ_TO
    if half:
        spread[reading] = (max(value - half, 0.0), value + half)
    changes: Any = {reading: value, "spread": spread}
    return replace(damper, **changes)


def _where(holds: Callable[[float], bool], span: _Range, now: float) -> list[_Range]:
    """Give the ranges of a span in which something holds: places tried, edges closed in on."""
    low, high = span
    places = sorted(
        {low + (high - low) * i / _PLACES for i in range(_PLACES + 1)}
        | ({now} if low <= now <= high else set())
    )
    sound = [holds(place) for place in places]
    ranges: list[_Range] = []
    start: float | None = places[0] if sound[0] else None
    for i in range(1, len(places)):
        if sound[i] and start is None:
            start = _edge(holds, places[i - 1], places[i])
        elif not sound[i] and start is not None:
            ranges.append((start, _edge(holds, places[i], places[i - 1])))
            start = None
    if start is not None:
        ranges.append((start, places[-1]))
    return ranges


def _edge(holds: Callable[[float], bool], outside: float, inside: float) -> float:
    for _ in range(_HALVINGS):
        middle = (outside + inside) / 2.0
        if holds(middle):
            inside = middle
        else:
            outside = middle
    return inside


def _both(some: list[_Range], others: list[_Range]) -> list[_Range]:
    crossed = ((max(a[0], b[0]), min(a[1], b[1])) for a in some for b in others)
    return [r for r in crossed if r[0] <= r[1]]


def _safe(one: _Range, unit: str) -> _Range | None:
    """Round a range inwards to figures that can be set and read."""
    size = 1.0 / in_unit(1.0, unit)
    for step in _STEPS:
        low = ceil(round(one[0] / size / step, 6)) * step * size
        high = floor(round(one[1] / size / step, 6)) * step * size
        if low <= high:
            return low, high
    return None


def _figure(reading: str, found: _Range, span: _Range, end: str) -> CureFigure:
    unit = MEASURES[reading].unit
    low, high = found
    name = reading.replace("_", "-")
    from_end, to_end = low <= span[0], high >= span[1] - 1e-9
    if from_end and to_end:
        text = f"any {name} will do"
    elif from_end:
        text = f"{name} {_text(high, unit)} or less"
    elif to_end:
        text = f"{name} {_text(low, unit)} or more"
    elif high - low < 1e-9:
        text = f"{name} {_text(low, unit)}, and no other"
    else:
        text = f"{name} {_text(low, unit)} or more, up to {_text(high, unit)}"
    return CureFigure(
        reading,
        round(in_unit(low, unit), 6),
        round(in_unit(high, unit), 6),
        unit,
        f"Holds with {text}, on both sides.",
        end,
    )


def _text(value: float, unit: str) -> str:
    short = amount(value, unit)
    in_tenths = round(in_unit(value, unit), 1)
    return short if abs(in_tenths - in_unit(value, unit)) < 1e-9 else amount(value, unit, 1)


def _why_none(judge: Judge, rule: Rule, damper: Damper, reading: str, alone: bool) -> str:
    """Say why no figure is offered; `alone` says that the rule by itself could be met."""
    if reading == "hold_back" and rule.id.startswith("bladder/"):
        small, large = (
            judge.figure(MEASURES[name], damper, "bench").bounds
            for name in ("smallest_hold_back", "largest_hold_back")
        )
        if large is not None and large.low < 0.0:
            return (
                "No hold-back will do with these parts: with none at all, the growth of oil and "
                "air alone may fill the room in the cap (tolerances at their worst). Change "
                "parts or temperature."
            )
        if small is not None and large is not None and small.high > large.low:
            return (
                "No hold-back will do with these parts: the smallest that the bladder can follow, "
                f"{amount(small.high, 'mm')}, is above the largest that leaves it room, "
                f"{amount(large.low, 'mm')} (both with the tolerances at their worst). "
                "Change parts or temperature."
            )
    name = reading.replace("_", "-")
    if alone:
        return f"No {name} lets this hold without another rule failing: change something else."
    return f"No {name} lets this hold with these parts: change something else."

"""A reading turned to mend a finding: in which range would its rule hold, and nothing get worse?"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any, get_args

from buildlint.amounts import amount, in_unit
from buildlint.damper import Damper
from buildlint.files.fields import Quantity
from buildlint.finding import BADNESS, CureFigure
from buildlint.judge import Judge, Judgement
from buildlint.measures import MEASURES, OF_THE_BLADDER, plan
from buildlint.plans import CONDITIONS
from buildlint.ranges import Range, both, safe, where
from buildlint.rule import Rule

__all__ = ["turned_to_mend"]

# A limiter is none where the file does not give it; written in, it is read as closely as this.
_LIMITER_READ_TO: float = get_args(Quantity.small_length)[1].read("0 mm").high

_SOUND = BADNESS["not judged"]


def turned_to_mend(
    judge: Judge, judgement: Judgement, pair: Sequence[Damper], reading: str
) -> CureFigure | str | None:
    """Give the range nearest to what stands now, or why there is none.

    In it the rule holds with every tolerance at its worst, at every condition, and every other
    `must` that the reading enters holds too; one that is in doubt or fails now may be left in
    doubt where there is no better, never failing. None where the reading cannot be turned.
    """
    now = getattr(judgement.dampers[0], reading, None)
    span = _span(reading, pair)
    if not isinstance(now, float) or span is None:
        return None
    musts = [rule for rule in judge.rules if rule.level == "must" and _stands_on(rule, reading)]
    others = [rule for rule in musts if rule.id != judgement.rule.id]

    def verdict(rule: Rule, value: float) -> int:
        turned = [_turned(d, reading, value) for d in pair]
        return judge.worst(rule, turned)

    def no_worse_than(rule: Rule, most: int) -> Callable[[float], bool]:
        return lambda value: verdict(rule, value) <= most

    def offered(others_at_most: Callable[[Rule], int]) -> list[Range]:
        ranges = where(no_worse_than(judgement.rule, _SOUND), span, now)
        for rule in others:
            ranges = both(ranges, where(no_worse_than(rule, others_at_most(rule)), span, now))
        rounded = (safe(one, MEASURES[reading].unit) for one in ranges)
        return [r for r in rounded if r is not None]

    def doubtful_may_stay(rule: Rule) -> int:
        before = judge.worst(rule, pair)
        return BADNESS["doubtful"] if before > _SOUND else _SOUND

    # a figure that leaves another rule failing is no cure: all that turn with it are to hold
    found = offered(lambda rule: _SOUND) or offered(doubtful_may_stay)
    if not found:
        alone = where(no_worse_than(judgement.rule, _SOUND), span, now)
        return _why_none(judge, judgement.rule, pair[0], reading, bool(alone))
    nearest = min(found, key=lambda r: max(r[0] - now, now - r[1], 0.0))
    return _figure(reading, nearest, span, pair[0].end)


def _span(reading: str, pair: Sequence[Damper]) -> Range | None:
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


def _figure(reading: str, found: Range, span: Range, end: str) -> CureFigure:
    unit = MEASURES[reading].unit
    low, high = found
    name = reading.replace("_", "-")
    from_end, to_end = low <= span[0], high >= span[1] - 1e-9
    if from_end and to_end:
        text = f"any {name}"
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
    if reading == "hold_back" and rule.measure in OF_THE_BLADDER:
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

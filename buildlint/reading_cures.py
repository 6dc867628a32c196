"""A reading turned to mend a finding: in which range would its rule hold, and nothing get worse?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
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
    turning = _Turning(judge, judgement.rule, reading, span, now)
    # a figure that leaves another rule failing is no cure: all that turn with it are to hold
    alone = turning.alone(pair)
    found = turning.offered(pair, alone) or turning.offered(pair, alone, doubts_may_stay=True)
    if found:
        return _figure(reading, turning.nearest(found), span, pair[0].end)
    return _no_window(judge, judgement.rule, pair[0], reading) or turning.why_none(pair, alone)


@dataclass(frozen=True, slots=True)
class _Turning:
    """A reading of both sides of an end, turned for one rule."""

    judge: Judge
    rule: Rule
    reading: str
    span: Range
    now: float

    def alone(self, pair: Sequence[Damper]) -> list[Range]:
        """Give where the rule by itself holds."""
        return self._where(self.rule, pair, _SOUND)

    def offered(
        self, pair: Sequence[Damper], alone: Sequence[Range], doubts_may_stay: bool = False
    ) -> list[Range]:
        """Give where, of that, every other must that the reading enters holds too."""
        ranges = list(alone)
        for rule in self.judge.rules:
            if rule.level != "must" or rule.id == self.rule.id:
                continue
            if not ranges or not _stands_on(rule, self.reading):
                continue
            stays = doubts_may_stay and self.judge.worst(rule, pair) > _SOUND
            most = BADNESS["doubtful"] if stays else _SOUND
            ranges = both(ranges, self._where(rule, pair, most))
        rounded = (safe(one, MEASURES[self.reading].unit) for one in ranges)
        return [r for r in rounded if r is not None]

    def why_none(self, pair: Sequence[Damper], alone: Sequence[Range]) -> str:
        """Say why no figure is offered."""
        name = self.reading.replace("_", "-")
        exact = [replace(d, spread={}) for d in pair]
        as_read = self.offered(exact, self.alone(exact))
        if as_read:
            words = _range_in_words(self.reading, self.nearest(as_read), self.span)
            return (
                f"As read this would hold with {words}; with every tolerance at its worst, no "
                f"{name} lets this and the other rules hold. Measure more closely, or change "
                "something else."
            )
        if alone:
            return f"No {name} lets this hold without another rule failing: change something else."
        return f"No {name} lets this hold with these parts: change something else."

    def nearest(self, found: Sequence[Range]) -> Range:
        """Give the range nearest to what stands now."""
        return min(found, key=lambda r: max(r[0] - self.now, self.now - r[1], 0.0))

    def _where(self, rule: Rule, pair: Sequence[Damper], most: int) -> list[Range]:
        def holds(value: float) -> bool:
            turned = [_turned(d, self.reading, value) for d in pair]
            return self.judge.worst(rule, turned) <= most

        return where(holds, self.span, self.now)


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
    least, most = (round(in_unit(value, unit), 6) for value in found)
    text = f"Holds with {_range_in_words(reading, found, span)}, on both sides."
    return CureFigure(reading, least, most, unit, text, end)


def _range_in_words(reading: str, found: Range, span: Range) -> str:
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
    return f"{name} {_text(low, unit)} or more, up to {_text(high, unit)}"


def _text(value: float, unit: str) -> str:
    short = amount(value, unit)
    in_tenths = round(in_unit(value, unit), 1)
    return short if abs(in_tenths - in_unit(value, unit)) < 1e-9 else amount(value, unit, 1)


def _no_window(judge: Judge, rule: Rule, damper: Damper, reading: str) -> str:
    """Say so where the bladder leaves no hold-back to choose."""
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
    return ""

"""The bladder's gauge: how much of its room is used each way, drawn in plain characters.

The bladder rests in the middle; it is drawn into the body to the left and pushed into the cap to
the right. The bars | are the ends of its room.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil, isfinite, isnan, nan

from buildlint.files.amounts import amount
from buildlint.judging.inspection import Judged
from buildlint.measures import MEASURES, OF_THE_BLADDER
from buildlint.measures.arrays import Batch
from buildlint.measures.evaluate import Figures
from buildlint.measures.graph import CONDITIONS

__all__ = ["LEGEND", "draw", "gauges"]

#: Characters for the room on each side, and for what lies past it.
ROOM = 16
PAST = 2

#: What the signs mean.
LEGEND = f"{'into the body ':>{ROOM + PAST + 1}}: into the cap  # used, | end, ! past it"

# On a narrower page only the figures are told.
_DRAWN = 80


def draw(body: float, cap: float) -> str:
    """Draw both sides on one line, with the figures as read behind it.

    >>> print(draw(0.5, 1.2))
      |........########:################|!!  body  50 %  cap 120 %
    """
    left = _side(body)[::-1]
    return f"{left}:{_side(cap)}  {_figures(body, cap)}"


def _figures(body: float, cap: float) -> str:
    return f"body {amount(body, '1'):>5}  cap {amount(cap, '1'):>5}"


def _side(use: float) -> str:
    """Return one side from the middle outwards: its room, the bar, what lies past the bar."""
    used = _cells(use)
    cells = "".join("#" if i < used else "." for i in range(ROOM))
    past = "".join("!" if i < used else " " for i in range(ROOM, ROOM + PAST))
    return f"{cells}|{past}"


def _cells(use: float) -> int:
    """Count the characters that a use fills: full only when the room is, past it when over it."""
    if not isfinite(use):
        return ROOM + PAST
    # the last of the room is drawn as used only when it is, to the last few bits
    cells = ceil(round(use * ROOM, 6))
    return min(cells, ROOM + PAST if round(use, 9) >= 1.0 else ROOM - 1)


def gauges(judged: Judged, width: int) -> list[str]:
    """Draw the bladders of a build, with what the signs mean beside it.

    Every condition where a bladder fails, else the worst; body and cap of one and the same
    condition on a line.
    """
    rows = [row for end in ("front", "rear") for row in _of_end(judged, end)]
    if not rows:
        return []
    if width < _DRAWN:
        return [f"{label}: {_figures(*use)}" for label, use in rows]
    lines = [f"{label:<17} {draw(*use)}" for label, use in rows]
    return [f"{'bladder':<17} {LEGEND}", *lines]


def _of_end(judged: Judged, end: str) -> Iterator[tuple[str, tuple[float, float]]]:
    """Return what is drawn of an end: a label, and the use of the room in body and cap."""
    found = [d for d in judged.dampers if d.end == end and d.style == "bladder"]
    if not found:
        return
    figures = Figures(Batch([found]))
    here = (f for f in judged.drafts if f.subject.partition(".")[0] == end)
    every = any(f.measure in OF_THE_BLADDER and f.verdict == "fails" for f in here)
    drawn: dict[str, list[tuple[str, tuple[float, float]]]] = {}
    for number, damper in enumerate(found):
        conditions = CONDITIONS if damper.has_event else CONDITIONS[:1]
        uses: dict[str, tuple[float, float]] = {}
        for condition in conditions:
            body, cap = (_use(figures, name, condition, number) for name in _USES)
            if not isnan(body) and not isnan(cap):
                uses[condition] = (body, cap)
        # the worst of some conditions is not the worst
        if not uses or (not every and len(uses) < len(conditions)):
            continue
        worst = max(uses, key=lambda c: max(uses[c]))
        drawn[damper.side] = [*uses.items()] if every else [(worst, uses[worst])]
    if len(drawn) == 2 and drawn["left"] == drawn["right"]:
        drawn = {"": drawn["left"]}
    for side, rows in drawn.items():
        for condition, use in rows:
            yield " ".join(filter(None, (end, side, condition))), use


_USES = ("into_body_use", "into_cap_use")


def _use(figures: Figures, name: str, condition: str, number: int) -> float:
    """Return the use of a bladder's room as read; nan where it is not known."""
    at = CONDITIONS.index(condition)
    if not figures.known(MEASURES[name])[at, number]:
        return nan
    found = figures[name].as_read
    use = float(found[min(at, len(found) - 1), number])
    return use if isnan(use) else max(0.0, use)

"""The bladder's gauge: how much of its room is used each way, drawn in plain characters.

The bladder rests in the middle; it is drawn into the body to the left and pushed into the cap to
the right. The bars | are the ends of its room.
"""

from __future__ import annotations

from math import ceil, isfinite

from buildlint.amounts import amount
from buildlint.bounds import Bounds

__all__ = ["LEGEND", "draw"]

#: Characters for the room on each side, and for what lies past it.
ROOM = 16
PAST = 3

LEGEND = (
    "The bladder rests at the colon: body to the left, cap to the right. # is room",
    "that it uses, + what the tolerances may add, | the end of its room, ! past it.",
)


def draw(body: Bounds, cap: Bounds) -> str:
    """Draw both sides on one line, with the figures as read behind it.

    >>> print(draw(Bounds(0.5, 0.45, 0.56), Bounds(1.2, 1.1, 1.3)))
       |.......+########:################|!!!  body  50 %  cap 120 %
    """
    left = _side(body)[::-1]
    figures = f"body {amount(body.value, '1'):>5}  cap {amount(cap.value, '1'):>5}"
    return f"{left}:{_side(cap)}  {figures}"


def _side(use: Bounds) -> str:
    """Give one side from the middle outwards: its room, the bar, what lies past the bar."""
    used = _cells(use.value)
    reached = max(used, _cells(use.high))
    cells = "".join("#" if i < used else "+" if i < reached else "." for i in range(ROOM))
    past = "".join(
        "!" if i < used else "+" if i < reached else " " for i in range(ROOM, ROOM + PAST)
    )
    return f"{cells}|{past}"


def _cells(use: float) -> int:
    """Count the characters that a use fills: full only when the room is, past it when over it."""
    if not isfinite(use):
        return ROOM + PAST
    # the last of the room is drawn as used only when it is, to the last few bits
    cells = ceil(round(use * ROOM, 6))
    return min(cells, ROOM + PAST if round(use, 9) >= 1.0 else ROOM - 1)

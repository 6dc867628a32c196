"""The bench steps that a damper goes through, in their order."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

__all__ = ["STEPS", "Step", "missing_steps"]

Step = Literal["deburred", "greased", "threadlocked", "bled", "rod end free", "leak checked"]

#: In the order in which they are done.
STEPS: tuple[Step, ...] = (
    "deburred",
    "greased",
    "threadlocked",
    "bled",
    "rod end free",
    "leak checked",
)


def missing_steps(done: Sequence[str], style: str) -> tuple[str, ...]:
    """Give the steps that are due for a style and not done; an emulsion keeps its air.

    >>> missing_steps(["deburred", "greased", "threadlocked", "leak checked"], "emulsion")
    ('rod end free',)
    """
    due = (step for step in STEPS if style != "emulsion" or step != "bled")
    return tuple(step for step in due if step not in done)

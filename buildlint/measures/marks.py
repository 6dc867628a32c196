"""What the functions of the measures are marked with."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple, TypeVar

import numpy as np
from numpy.typing import NDArray

from buildlint.physics.values import Values

__all__ = [
    "EMULSION",
    "SEALED",
    "Array",
    "Holes",
    "Refusal",
    "at_every_condition",
    "refuses",
    "since_bench",
]

Array = NDArray[np.float64]

#: The holes of a piston: how many and what diameter, for each size.
Holes = tuple[tuple[Values, Values], ...]

Function = TypeVar("Function", bound=Callable[..., Any])

#: What `cap` and `style` are in arrays; 0.0 is a vented cap, a bladder.
SEALED = EMULSION = 1.0


class Refusal(NamedTuple):
    """Where readings make no sense together: a mask over arrays by name, and why in words."""

    where: Callable[..., Any]
    words: str


def refuses(where: Callable[..., Any], words: str) -> Callable[[Function], Function]:
    """Mark a measure with a case in which its readings make no sense together.

    `where` takes arrays by the names of its parameters, as the measure does, and returns a mask.
    In `words`, the name of a length in braces stands for its figure. The measure itself is nan
    there.
    """

    def marked(function: Function) -> Function:
        function.__dict__.setdefault("refusals", []).append(Refusal(where, words))
        return function

    return marked


def since_bench(function: Function) -> Function:
    """Mark a measure of what has changed since the bench: it is zero at the bench."""
    function.__dict__["since_bench"] = True
    return function


def at_every_condition(function: Function) -> Function:
    """Mark a measure that is taken over all conditions of a build: it has one value for them."""
    function.__dict__["at_every_condition"] = True
    return function

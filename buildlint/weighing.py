"""Hold a figure against the limit that a rule sets."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf
from typing import Any

from buildlint.bounds import Bounds
from buildlint.finding import Verdict
from buildlint.rule import Ask, Rule

__all__ = ["bands_touched", "is_sound", "weigh"]

# Figures come out of long sums: a limit is met to the last few bits.
_LAST_BITS = 1e-9


def weigh(found: Bounds, ask: Ask) -> tuple[Verdict, float]:
    """Weigh a figure against a limit: the verdict, and what is left to the nearer limit.

    >>> from buildlint.bounds import Bounds
    >>> weigh(Bounds(0.95, 0.9, 1.02), Ask(at_most=1.0))[0]
    'doubtful'
    """
    margin = min(
        ask.at_most - found.value if ask.at_most is not None else inf,
        found.value - ask.at_least if ask.at_least is not None else inf,
    )
    worst = min(
        ask.at_most - found.high if ask.at_most is not None else inf,
        found.low - ask.at_least if ask.at_least is not None else inf,
    )
    hair = _LAST_BITS * max(abs(ask.at_most or 0.0), abs(ask.at_least or 0.0), 1e-6)
    if margin < -hair:
        return "fails", margin
    return ("holds" if worst >= -hair else "doubtful"), margin


def is_sound(words: Any, ask: Ask) -> bool:
    """Say whether an id, or whether something is so, is what is asked for."""
    return words in ask.one_of if ask.one_of else words is True


def bands_touched(rule: Rule, by: Bounds) -> Iterator[Ask]:
    """Give the limit of the band that the value is in, then those within its tolerance."""

    def band(value: float) -> Ask:
        for candidate in rule.bands:
            if candidate.up_to is None or value <= candidate.up_to + _LAST_BITS:
                return candidate.ask
        return rule.bands[-1].ask

    first = band(by.value)
    yield first
    # bands narrower than the tolerance are crossed too
    between = (b.up_to for b in rule.bands if b.up_to is not None and by.low < b.up_to < by.high)
    for other in map(band, (by.low, *between, by.high)):
        if other is not first:
            yield other

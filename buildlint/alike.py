"""Whether dampers are alike in what a measure stands on."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from buildlint.damper import Damper
from buildlint.figure import figure_of, stands_on, why_not
from buildlint.measures import Measure, plan

__all__ = ["alike", "all_alike", "same_readings"]


def alike(measure: Measure, left: Damper, right: Damper, by: str | None = None) -> bool:
    """Say whether a measure is the same reading by reading, from the same places, on both sides.

    One that has words for why it is not so is alike too where these are the same, and so is what
    it cannot do without. `by` is the measure that picks the band, where there are bands.
    """
    if by is not None and not same_readings(stands_on(by), left, right):
        return False
    names = stands_on(measure.name)
    if measure.why_not and left.end == right.end:
        here = plan(measure.name)
        missing, other = (figure_of(measure, damper, "bench").missing for damper in (left, right))
        return (
            missing == other
            and same_readings({measure.about, *here.inputs} - here.optional, left, right)
            and (bool(missing) or why_not(measure, left) == why_not(measure, right))
        )
    return same_readings(names, left, right)


def all_alike(measure: Measure, dampers: Sequence[Damper]) -> bool:
    """Say whether a measure is the same reading by reading on all of some dampers."""
    return all(alike(measure, dampers[0], other) for other in dampers[1:])


def same_readings(names: Iterable[str], left: Damper, right: Damper) -> bool:
    """Say whether some readings are the same on both: value, tolerance and place."""
    return all(
        getattr(left, name, None) == getattr(right, name, None)
        and left.spread.get(name) == right.spread.get(name)
        and left.origin.get(name) == right.origin.get(name)
        for name in names
    )

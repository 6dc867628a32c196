"""Which figures of two builds differ, by how much, and whether that is within tolerance."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from math import isfinite

from buildlint.judging.figures import FigureLine
from buildlint.judging.reading_changes import lies_within
from buildlint.judging.subjects import SUBJECTS, corners_of, told_together
from buildlint.measures import MEASURES
from buildlint.measures.graph import CONDITIONS

__all__ = ["FigureChange", "Lines", "by_corner", "figure_changes"]

#: The figures of a build, by measure and condition, then by corner (or "car").
Lines = dict[tuple[str, str | None], dict[str, FigureLine]]


@dataclass(frozen=True, slots=True)
class FigureChange:
    """A figure that is not the same in both builds, in the measure's unit.

    `old` and `new` are as `figures` gives them, but with the verdict at this very condition. Either
    is None where the measure says nothing of the damper (a sealed cap's pressure, of a vented one)
    or the build has no such condition; one that could not be worked out has no value, and says what
    is missing. `difference` is new less old. It is within tolerance where it is no more than the
    expanded uncertainty (k = 2) of that difference, in which what both builds share cancels.
    """

    subject: str
    measure: str
    condition: str | None
    unit: str | None
    old: FigureLine | None
    new: FigureLine | None
    difference: float | None
    within_tolerance: bool

    @property
    def verdict_changed(self) -> bool:
        """Whether the rules say another thing of it now."""
        verdicts = [line.verdict if line is not None else None for line in (self.old, self.new)]
        return verdicts[0] != verdicts[1]


_Pair = tuple[FigureLine | None, FigureLine | None]

#: Tells of a measure, a condition and a corner (or "car") whether a difference is within tolerance.
Within = Callable[[str, str | None, str], bool]

# What matters most at the event: room used, damping ratio, balances, then what the rules say.
_FIRST = {
    "into_body_use": 0,
    "into_cap_use": 0,
    "emulsion_use": 0,
    "road_use": 0,
    "after_flight_use": 0,
    "damping_ratio": 1,
    "damping_balance": 2,
    "frequency_balance": 2,
}
_VERDICT, _REST = 3, 4

_CONDITIONS = [*(c for c in CONDITIONS if c != "bench"), "bench", None]
_MEASURES = list(MEASURES)


def by_corner(lines: Iterable[FigureLine]) -> Lines:
    """Give the lines of a build for each corner, however they are told; those of the car as such.

    So that they can be held against another's, where left and right are alike or are not.
    """
    found: Lines = {}
    for line in lines:
        of_car = bool(MEASURES[line.measure].of)
        here = found.setdefault((line.measure, line.condition), {})
        for corner in ("car",) if of_car else corners_of(line.subject):
            here[corner] = replace(line, subject="")
    return found


def figure_changes(
    was: Lines, now: Lines, within: Within
) -> tuple[tuple[FigureChange, ...], int, int]:
    """Give the figures that differ, and count those that do not and those that nobody knows."""
    found: list[FigureChange] = []
    same = not_known = 0
    for key in {**was, **now}:
        old, new = was.get(key, {}), now.get(key, {})
        pairs: dict[str, _Pair] = {
            corner: (old.get(corner), new.get(corner)) for corner in {**old, **new}
        }
        car = [("car", pairs.pop("car"))] if "car" in pairs else []
        for subject, pair in (*car, *told_together(pairs)):
            if all(line is None or line.missing for line in pair):
                not_known += 1
            elif _same(*pair):
                same += 1
            else:
                found.append(_figure_change(subject, *key, pair, within))

    told = {(f.within_tolerance, f.measure) for f in found if f.verdict_changed}

    def order(change: FigureChange) -> tuple[bool, int, int, int, int]:
        what = (change.within_tolerance, change.measure)
        rank = _FIRST.get(change.measure, _VERDICT if what in told else _REST)
        return (
            change.within_tolerance,
            rank,
            _MEASURES.index(change.measure),
            SUBJECTS.index(change.subject),
            _CONDITIONS.index(change.condition),
        )

    return tuple(sorted(found, key=order)), same, not_known


def _same(old: FigureLine | None, new: FigureLine | None) -> bool:
    if old is None or new is None or (old.verdict, old.missing) != (new.verdict, new.missing):
        return False
    for one, other in (
        (old.value, new.value),
        (old.uncertainty_up, new.uncertainty_up),
        (old.uncertainty_down, new.uncertainty_down),
    ):
        if isinstance(one, float) and isinstance(other, float):
            if not lies_within(one, other, other):
                return False
        elif one != other:
            return False
    return True


def _figure_change(
    subject: str, measure: str, condition: str | None, pair: _Pair, within_tolerance: Within
) -> FigureChange:
    old, new = (replace(line, subject=subject) if line is not None else None for line in pair)
    unit = next((line.unit for line in (new, old) if line is not None), None)
    difference = None
    within = False
    if old is not None and new is not None:
        if isinstance(old.value, float) and isinstance(new.value, float):
            if isfinite(old.value) and isfinite(new.value):
                difference = new.value - old.value
            at = "car" if MEASURES[measure].of else corners_of(subject)[0]
            within = within_tolerance(measure, condition, at)
        else:
            within = old.value == new.value  # words; of what is missing in one they differ
    return FigureChange(subject, measure, condition, unit, old, new, difference, within)

"""Judge dampers: each rule, on each subject that it speaks of, at each condition."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from buildlint.files.settings import SURE
from buildlint.judging.finding import Verdict
from buildlint.judging.judgement import Figure, Judgement, Outcome
from buildlint.judging.rule import Rule
from buildlint.judging.rulebook import Rulebook
from buildlint.judging.subjects import SUBJECTS, corners_of
from buildlint.judging.weigh import HOLDS, NOT_CHECKED, Weighed, speaks_of
from buildlint.measures import MEASURES
from buildlint.measures.arrays import NAMES, Batch
from buildlint.measures.damper import CORNERS, Damper
from buildlint.measures.evaluate import Figures
from buildlint.measures.graph import stands_on
from buildlint.measures.uncertainty import spread

__all__ = ["AT_A_TIME", "Judge", "measured"]

#: So many builds are judged at a time: memory stays flat.
AT_A_TIME = 200

_VERDICTS: tuple[Verdict, ...] = ("holds", "not checked", "borderline", "fails")

_CAR = SUBJECTS.index("car")
_ENDS = (SUBJECTS.index("front"), SUBJECTS.index("rear"))
_CORNERS = tuple(SUBJECTS.index(f"{end}.{side}") for end, side in CORNERS)
#: The corners that each subject stands for, by their numbers.
_SLOTS = [[_CORNERS.index(SUBJECTS.index(c)) for c in corners_of(s)] for s in SUBJECTS]


class Judge:
    """Judges the dampers of builds by a rulebook."""

    def __init__(self, rulebook: Rulebook, sure: float = SURE) -> None:
        """Take the rules to judge by, and the chance from which a must holds."""
        self.rules = tuple(rulebook.measured())
        self.sure = sure

    def outcomes(
        self, builds: Sequence[Sequence[Damper]], in_full: Callable[[str], bool] = lambda rule: True
    ) -> Iterator[Outcome]:
        """Judge builds, so many at a time; gives what came of each, in their order.

        Of rules that are not told `in_full`, what was not checked is only counted.
        """
        for start in range(0, len(builds), AT_A_TIME):
            here = builds[start : start + AT_A_TIME]
            found = [Outcome([], [], []) for _ in here]
            figures = Figures(Batch(here, with_like=True))
            for rule in self.rules:
                _tell(self.weigh(figures, rule), found, in_full(rule.id))
            yield from found

    def judge(self, dampers: Sequence[Damper], at_each: bool = False) -> list[Judgement]:
        """Judge the dampers of one build by every rule that speaks of them.

        Gives each subject at its worst condition, or `at_each` condition.
        """
        figures = Figures(Batch([dampers], with_like=True))
        return [j for rule in self.rules for j in _judgements(self.weigh(figures, rule), at_each)]

    def weigh(self, figures: Figures, rule: Rule) -> Weighed:
        """Weigh one rule for every subject of a batch, at every condition."""
        measure = MEASURES[rule.weighed or ""]
        batch = figures.batch
        meant = speaks_of(rule, measure, batch)
        corner = np.where((batch.corner >= 0) & _at(meant, batch.corner), batch.corner, -1)
        if measure.of:
            builds = np.flatnonzero((corner >= 0).all(axis=1))
            subjects = np.full(len(builds), _CAR)
            members = corner[builds].T
        elif rule.compares_sides:
            pairs = corner.reshape(-1, 2)
            here = np.flatnonzero((pairs >= 0).all(axis=1))
            builds, subjects = here // 2, np.array(_ENDS)[here % 2]
            members = pairs[here].T
        else:
            flat = corner.reshape(-1)
            here = np.flatnonzero(flat >= 0)
            builds, subjects = here // len(CORNERS), np.array(_CORNERS)[here % len(CORNERS)]
            members = flat[here][None, :]
            if measure.against:
                members = np.stack([flat[here], batch.like[flat[here]]])
        return Weighed(self.sure, figures, rule, measure, builds, subjects, members)


def _at(mask: NDArray[np.bool_], corner: NDArray[np.intp]) -> NDArray[np.bool_]:
    return mask[corner] if len(mask) else np.zeros(corner.shape, dtype=bool)


def measured(dampers: Sequence[Damper], measures: Collection[str] | None = None) -> list[Judgement]:
    """Return measures of the dampers of one build, at each condition, held against no limit."""
    judge = Judge(Rulebook({}))
    figures = Figures(Batch([dampers], with_like=True))
    names = [n for n in (MEASURES if measures is None else measures) if n != "parts"]
    # rules that ask nothing, which no file could be
    rules = (
        Rule.model_construct(id=name, title="", level="should", measure=name) for name in names
    )
    return [j for rule in rules for j in _judgements(judge.weigh(figures, rule), at_each=True)]


def _tell(weighed: Weighed, outcomes: Sequence[Outcome], in_full: bool) -> None:
    """Add what came of each build; what holds by rule and subject alone."""
    if not len(weighed.builds):
        return
    first, subjects, groups = _grouped(weighed)
    at = (weighed.worst[first], first)
    verdicts = weighed.verdicts[at]
    held = [(weighed.rule.id, subject) for subject in SUBJECTS]
    holds = verdicts == HOLDS
    for build, subject in zip(
        weighed.builds[first[holds]].tolist(), subjects[holds].tolist(), strict=True
    ):
        outcomes[build].held.append(held[subject])
    told = ~holds
    if not in_full:
        told &= verdicts != NOT_CHECKED
        for build in weighed.builds[first[verdicts == NOT_CHECKED]].tolist():
            outcomes[build].unchecked.append(weighed.rule.level)
    for number in np.flatnonzero(told).tolist():
        at_first = int(first[number])
        judgement = _judgement(
            weighed, at_first, int(weighed.worst[at_first]), int(subjects[number]), groups(number)
        )
        outcomes[int(weighed.builds[at_first])].others.append(judgement)


def _judgements(weighed: Weighed, at_each: bool) -> Iterator[Judgement]:
    """Return the judgement of each subject at its worst condition, or at each."""
    if not len(weighed.builds):
        return
    first, subjects, groups = _grouped(weighed)
    for number, at_first in enumerate(first.tolist()):
        met = np.flatnonzero(weighed.verdicts[:, at_first] >= 0).tolist()
        for condition in met if at_each else [int(weighed.worst[at_first])]:
            yield _judgement(weighed, at_first, condition, int(subjects[number]), groups(number))


def _grouped(weighed: Weighed) -> tuple[NDArray[np.intp], NDArray[np.intp], Any]:
    """Tell what is alike on both sides once for its end, what is alike on all once for the car.

    Returns the first column of each group, its subject, and what gives its dampers.
    """
    if weighed.measure.of or weighed.rule.compares_sides:
        every = np.arange(len(weighed.builds))
        return every, weighed.subjects, lambda number: weighed.members[:, number].tolist()
    corner = np.array([_CORNERS.index(s) for s in weighed.subjects.tolist()], dtype=np.intp)
    at = np.full((len(weighed.figures.batch.corner), len(CORNERS)), -1, dtype=np.intp)
    at[weighed.builds, corner] = np.arange(len(weighed.builds))
    fronts, rears, lefts = (
        _alike(weighed, at[:, a], at[:, b]) for a, b in ((0, 1), (2, 3), (0, 2))
    )
    told = np.where(at >= 0, np.array(_CORNERS), -1)
    told[fronts, :2] = _ENDS[0], -1
    told[rears, 2:] = _ENDS[1], -1
    told[fronts & rears & lefts] = _CAR, -1, -1, -1
    builds, corners = np.nonzero(told >= 0)
    subjects = told[builds, corners]

    rows, every = at.tolist(), weighed.members[0].tolist()

    def members(number: int) -> list[int]:
        row = rows[builds[number]]
        return [every[row[slot]] for slot in _SLOTS[subjects[number]]]

    return at[builds, corners], subjects, members


def _alike(weighed: Weighed, one: NDArray[np.intp], other: NDArray[np.intp]) -> NDArray[np.bool_]:
    both = (one >= 0) & (other >= 0)
    found = both.copy()
    names = set(stands_on(weighed.measure.name))
    if weighed.rule.by is not None:
        names |= stands_on(weighed.rule.by)
    same = weighed.figures.batch.same_readings
    found[both] = np.all(
        [same(names, members[one[both]], members[other[both]]) for members in weighed.members],
        axis=0,
    )
    if weighed.figure is None:
        # one label may be right on one side and wrong on the other, or wrong in another way
        for build in np.flatnonzero(found).tolist():
            found[build] = weighed.told(int(one[build])) == weighed.told(int(other[build]))
    return found


def _judgement(
    weighed: Weighed, column: int, condition: int, subject: int, members: Sequence[int]
) -> Judgement:
    dampers = tuple(weighed.figures.batch.dampers[n] for n in members)
    verdict = _VERDICTS[int(weighed.verdicts[condition, column])]
    told = partial(
        Judgement,
        weighed.rule,
        weighed.measure,
        SUBJECTS[subject],
        dampers,
        verdict,
        weighed.conditions[condition] if len(weighed.conditions) > 1 else None,
    )
    if verdict == "not checked":
        return told(ask=weighed.rule.ask)
    ask = weighed.ask_at(condition, column)
    if weighed.figure is None:
        words = weighed.words[column]
        return told(words=words if weighed.rule.compares_sides else words[0], ask=ask)
    return told(
        figure=_figure_at(weighed, column, condition),
        ask=ask,
        margin=float(weighed.margin[condition, column]),
        chance=float(weighed.chance[condition, column]),
        sides=_sides(weighed, column, condition),
    )


def _figure_at(weighed: Weighed, column: int, condition: int) -> Figure:
    """Return the figure of one subject at a condition, out of those of many."""
    found = weighed.figure
    assert found is not None
    at = min(condition, len(found.middle) - 1)
    moves = found.moves[:, :, at, column]
    moved = spread(moves)
    dampers, members = weighed.figures.batch.dampers, weighed.members
    return Figure(
        float(weighed.value[min(condition, len(weighed.value) - 1), column]),
        float(found.middle[at, column]),
        float(moved.up),
        float(moved.down),
        moves,
        tuple((NAMES[row], dampers[int(members[k, column])]) for row, k in found.readings),
    )


def _sides(weighed: Weighed, column: int, condition: int) -> tuple[float, float] | None:
    if not weighed.rule.compares_sides:
        return None
    as_read = weighed.figures[weighed.measure.name].as_read
    left, right = (
        float(as_read[min(condition, len(as_read) - 1), n]) for n in weighed.members[:, column]
    )
    floor = weighed.measure.floor
    return (left, right) if floor is None else (max(left, floor), max(right, floor))

"""Every measure of one build at every condition, with its uncertainty, failing or not."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from math import isfinite

from buildlint.files.amounts import apart_in_unit, in_unit, unit_of
from buildlint.files.models import Build
from buildlint.judging.finding import BADNESS, ReadingShare, Verdict
from buildlint.judging.finding_writer import mistakes_in, readings_of
from buildlint.judging.judge import Judge, measured
from buildlint.judging.judgement import Judgement
from buildlint.judging.rulebook import Rulebook, check_rulebook
from buildlint.judging.rules_in_force import rules_of
from buildlint.judging.subjects import SUBJECTS, corners_of
from buildlint.measures import MEASURES
from buildlint.measures.damper import Damper
from buildlint.measures.graph import CONDITIONS, stands_on
from buildlint.team.assembly import dampers
from buildlint.team.repository import Team
from buildlint.team.selection import BuildLike, build_of
from buildlint.text.words import clean, counted, nearest, shown

__all__ = ["BuildFigures", "FigureLine", "figure_lines", "figures"]


@dataclass(frozen=True, slots=True)
class FigureLine:
    """One measure of one subject at one condition, in the measure's unit.

    `uncertainty_up` and `uncertainty_down` are the standard uncertainty each way (JCGM 100:2008).
    `verdict` is the worst that the rules say of it, `readings` those that decide it most where it
    is not sound. `estimated` says that a reading behind it was not given and is only estimated.
    """

    subject: str
    measure: str
    condition: str | None
    value: float | str | None
    uncertainty_up: float | None = None
    uncertainty_down: float | None = None
    unit: str | None = None
    missing: tuple[str, ...] = ()
    estimated: bool = False
    verdict: Verdict | None = None
    readings: tuple[ReadingShare, ...] = ()


@dataclass(frozen=True, slots=True, repr=False)
class BuildFigures:
    """The figures of a build, and the mistakes in its files that keep some from being worked out.

    A mistake is one line: FILE:LINE:COL: what is wrong.
    """

    build: str
    car: str | None
    event: str | None
    figures: tuple[FigureLine, ...]
    mistakes: tuple[str, ...] = ()

    def get(
        self, measure: str, subject: str = "car", condition: str | None = None
    ) -> FigureLine | None:
        """Return the line of a measure; None where there is none.

        `subject` is a corner ("front.left"), an end, or "car"; a line for both sides, or for all
        four, is that of each of its corners. `condition` may be left out where none matters. Raises
        ValueError for what is no measure, subject or condition.
        """
        _check_measure(measure)
        if not corners_of(subject):
            raise ValueError(f"{shown(str(subject))} is no end or corner of a car, nor the car")
        if condition not in (None, *CONDITIONS):
            raise ValueError(f"{shown(str(condition))} is none of {', '.join(CONDITIONS)}")
        for line in self.figures:
            here = line.subject == subject or subject in corners_of(line.subject)
            if here and (line.measure, line.condition) == (measure, condition):
                return line
        return None

    def __repr__(self) -> str:
        return f"<BuildFigures of {clean(self.build)}: {counted(len(self.figures), 'figure')}>"


def figures(
    build: BuildLike,
    team: Team | None = None,
    *,
    measures: Collection[str] | None = None,
    rulebook: Rulebook | None = None,
    name: str = "in-memory",
) -> BuildFigures:
    """Work out the measures of a build, at every condition.

    `build`, `team`, `rulebook`, `name` and errors as of `inspect_build`. With `measures`, only
    those are worked out, and no rule is judged; raises ValueError for one that there is not.
    Mistakes in the files stand beside the figures that can be worked out all the same.

    >>> found = figures("examples/saltmarsh/builds/heron-quarry.build.toml")
    >>> round(found.get("hold_back_share", "front.left").value, 3)
    0.229
    """
    check_rulebook(rulebook)
    for each in measures or ():
        _check_measure(each)
    with_it, path = build_of(build, team, name)
    force = rules_of(with_it if team is None else team, rulebook)
    found = with_it.file(path)
    model = found.model
    car, event = (model.car, model.event) if isinstance(model, Build) else (None, None)
    made = dampers(with_it, found)
    judge = Judge(force.book, force.sure)
    judgements = judge.judge(made, at_each=True) if measures is None else []
    lines = tuple(figure_lines(made, judgements, measures))
    mistakes = mistakes_in(with_it, path, force.book)
    return BuildFigures(found.id, car, event, lines, mistakes)


def _check_measure(name: str) -> None:
    if name not in MEASURES:
        near = nearest(str(name), MEASURES)
        hint = f"; did you mean {near}?" if near else ""
        raise ValueError(f"{shown(str(name))} is not a measure{hint}")


def figure_lines(
    found: list[Damper],
    judgements: Iterable[Judgement],
    measures: Collection[str] | None = None,
) -> Iterator[FigureLine]:
    """Return every measure of the dampers of one build, with what the judgements say of it.

    What is alike on both sides, reading by reading, is one line for its end, or for the car.
    """
    worst: dict[tuple[str, str, str | None], Judgement] = {}
    for judgement in judgements:
        # a limit on what left and right differ by says nothing of the figure on either side
        if not judgement.rule.compares_sides:
            for subject in _subjects(judgement):
                key = (subject, judgement.measure.name, judgement.condition)
                worst[key] = max(judgement, worst.get(key, judgement), key=_badness)
    names = list(MEASURES)

    def order(line: FigureLine) -> tuple[int, int, int, int]:
        of_car = bool(MEASURES[line.measure].of)
        end = 0 if line.subject == "car" else 1 if line.subject.startswith("front") else 2
        when = CONDITIONS.index(line.condition) if line.condition is not None else 0
        return end, not of_car, names.index(line.measure), 10 * SUBJECTS.index(line.subject) + when

    lines = [_line(each, worst) for each in measured(found, measures)]
    yield from sorted(lines, key=order)


def _badness(judgement: Judgement) -> int:
    # what could not be checked says least of a figure
    return -1 if judgement.verdict == "not checked" else BADNESS[judgement.verdict]


def _subjects(judgement: Judgement) -> set[str]:
    ends = {d.end for d in judgement.dampers}
    return {judgement.subject, *ends, *corners_of(judgement.subject)}


def _line(found: Judgement, worst: Mapping[tuple[str, str, str | None], Judgement]) -> FigureLine:
    measure, subject, condition = found.measure, found.subject, found.condition
    judged = worst.get((subject, measure.name, condition))
    verdict = judged.verdict if judged is not None else None
    unit = unit_of(measure.unit)
    figure = found.figure
    if figure is None:
        words = found.words
        if isinstance(words, bool):
            words = "yes" if words else "no"
        return FigureLine(
            subject,
            measure.name,
            condition,
            words,
            unit=unit,
            missing=found.missing,
            verdict=verdict,
        )
    value = in_unit(figure.value, measure.unit)
    up, down = (apart_in_unit(u, measure.unit) for u in (figure.up, figure.down))
    return FigureLine(
        subject,
        measure.name,
        condition,
        value,
        up if isfinite(up) else None,
        down if isfinite(down) else None,
        unit,
        estimated=any(not stands_on(measure.name).isdisjoint(d.estimates) for d in found.dampers),
        verdict=verdict,
        readings=readings_of(judged) if judged is not None else (),
    )

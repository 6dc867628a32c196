"""Every measure of one build at every condition, with its uncertainty, failing or not."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from math import isfinite
from pathlib import Path
from typing import Any

from buildlint.amounts import in_unit, unit_of
from buildlint.assembly import dampers
from buildlint.damper import Damper
from buildlint.files.models import Build
from buildlint.finding import BADNESS, ReadingShare, Verdict
from buildlint.finding_writer import mistakes_in, readings_of
from buildlint.judging.judge import Judge, Judgement, measured
from buildlint.measures import MEASURES
from buildlint.measures.graph import CONDITIONS, stands_on
from buildlint.rulebook import Rulebook
from buildlint.rules_in_force import rules_in_force
from buildlint.selection import find_build, made_up
from buildlint.subjects import SUBJECTS, corners_of
from buildlint.team import Team

__all__ = ["BuildFigures", "FigureLine", "figure_lines", "figures", "figures_of"]


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


@dataclass(frozen=True, slots=True)
class BuildFigures:
    """The figures of a build, and the mistakes in its files that keep some from being worked out.

    A mistake is one line: FILE:LINE:COL: what is wrong.
    """

    build: str
    car: str | None
    event: str | None
    figures: tuple[FigureLine, ...]
    mistakes: tuple[str, ...] = ()


def figures(build: str | os.PathLike[str]) -> BuildFigures:
    """Work out every measure of a build, given by the path of its file or by its id.

    An id is looked for in the repository of the working directory. Raises PathError where there is
    no such build, RulebookError and SettingsError where rules or settings cannot be used. Mistakes
    in the files stand beside the figures that can be worked out all the same.

    >>> found = figures("examples/saltmarsh/builds/heron-quarry.build.toml")
    >>> line = next(f for f in found.figures if f.measure == "hold_back_share")
    >>> line.subject, round(line.value, 3)
    ('front.left', 0.229)
    """
    return _figures(*find_build(build))


def figures_of(
    build: Mapping[str, Any] | str,
    team: Team,
    *,
    rulebook: Rulebook | None = None,
    name: str = "in-memory",
) -> BuildFigures:
    """Work out every measure of a build that stands in no file, as `figures` does.

    Arguments and errors as of `inspect_build`.

    >>> import datetime
    >>> from buildlint import load_team
    >>> half = {"piston": "four-18", "oil": "o450", "hold_back": "6.4 mm"}
    >>> bench = {"on": datetime.date(2027, 6, 5), "temperature": "16 degC", "altitude": "5 m"}
    >>> build = {"car": "heron", "bench": bench, "front": half, "rear": half}
    >>> found = figures_of(build, load_team("examples/saltmarsh"))
    >>> [(f.subject, f.value) for f in found.figures if f.measure == "oil"]
    [('front', 'o450'), ('rear', 'o450')]
    """
    return _figures(*made_up(build, team, name), rulebook)


def _figures(team: Team, path: Path, rulebook: Rulebook | None = None) -> BuildFigures:
    force = rules_in_force(team.root, rulebook)
    found = team.file(path)
    model = found.model
    car, event = (model.car, model.event) if isinstance(model, Build) else (None, None)
    made = dampers(team, found)
    lines = tuple(figure_lines(made, Judge(force.book, force.sure).judge(made, at_each=True)))
    mistakes = mistakes_in(team, path, force.book)
    return BuildFigures(found.id, car, event, lines, mistakes)


def figure_lines(found: list[Damper], judgements: Iterable[Judgement]) -> Iterator[FigureLine]:
    """Give every measure of the dampers of one build, with what the judgements say of it.

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

    lines = [_line(each, worst) for each in measured(found) if each.measure.name != "parts"]
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
    value, up, down = (in_unit(v, measure.unit) for v in (figure.value, figure.up, figure.down))
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

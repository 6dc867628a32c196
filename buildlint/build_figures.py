"""Every measure of one build at every condition, with tolerances, failing or not."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from math import isfinite
from pathlib import Path
from typing import Any

from buildlint.alike import alike, all_alike
from buildlint.amounts import in_unit, unit_of
from buildlint.assembly import dampers
from buildlint.damper import Damper
from buildlint.figure import Figure, conditions_of, figure_of, speaks
from buildlint.files.models import Build
from buildlint.finding import Verdict
from buildlint.finding_writer import mistakes_in
from buildlint.judge import Judge, Judgement
from buildlint.measures import MEASURES, Measure, plan
from buildlint.messages import widest
from buildlint.physics.uncertainty import combined, expanded
from buildlint.rulebook import Rulebook, check_rulebook
from buildlint.rules_in_force import rules_in_force
from buildlint.selection import find_build, made_up
from buildlint.team import Team
from buildlint.together import car_figure

__all__ = ["BuildFigures", "FigureLine", "figure_lines", "figures", "figures_of"]


@dataclass(frozen=True, slots=True)
class FigureLine:
    """One measure of one subject at one condition, in the measure's unit.

    `low` and `high` are the worst case within all tolerances; `expanded` is the expanded
    uncertainty, k = 2, of the same tolerances as rectangular (JCGM 100:2008), shown beside it.
    `verdict` is the worst that the rules say of it, and `widest` the reading whose tolerance moves
    it most. `estimated` says that a room was not measured but worked out from the cup.
    """

    subject: str
    measure: str
    condition: str | None
    value: float | str | None
    low: float | None = None
    high: float | None = None
    unit: str | None = None
    expanded: float | None = None
    missing: tuple[str, ...] = ()
    estimated: bool = False
    verdict: Verdict | None = None
    widest: str = ""


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
    check_rulebook(rulebook)
    return _figures(*made_up(build, team, name), rulebook)


def _figures(team: Team, path: Path, rulebook: Rulebook | None = None) -> BuildFigures:
    book = rules_in_force(team.root, rulebook).book
    found = team.file(path)
    model = found.model
    car, event = (model.car, model.event) if isinstance(model, Build) else (None, None)
    made = dampers(team, found)
    lines = tuple(figure_lines(made, Judge(book).judge(made)))
    mistakes = mistakes_in(team, path, book)
    return BuildFigures(found.id, car, event, lines, mistakes)


_ORDER: tuple[Verdict, ...] = ("not judged", "holds", "doubtful", "fails")


def figure_lines(found: list[Damper], judgements: Iterable[Judgement]) -> Iterator[FigureLine]:
    """Give every measure of the dampers of one build, with what the judgements say of it.

    What is alike on both sides, reading by reading, is one line for its end, or for the car.
    """
    verdicts: dict[tuple[str, str, str | None], Verdict] = {}
    for judgement in judgements:
        # a limit on what left and right differ by says nothing of the figure on either side
        if not judgement.rule.compares_sides:
            for subject in _subjects(judgement):
                key = (subject, judgement.measure.name, judgement.condition)
                worst = max(judgement.verdict, verdicts.get(key, "not judged"), key=_ORDER.index)
                verdicts[key] = worst
    for measure in MEASURES.values():
        if measure.of and all(speaks(measure, d) for d in found):
            for condition in conditions_of(measure, found[0]) if found else ():
                figure = car_figure(measure, found, condition)
                yield _line(measure, "car", condition, figure, verdicts)
    whole = [
        measure.name
        for measure in MEASURES.values()
        if len(found) == 4 and not measure.of and all_alike(measure, found)
    ]
    for name in whole:
        yield from _of(MEASURES[name], found[0], "car", verdicts)
    for end in ("front", "rear"):
        pair = [d for d in found if d.end == end]
        for measure in MEASURES.values():
            if measure.of or measure.name in ("parts", *whole):
                continue
            if len(pair) == 2 and alike(measure, pair[0], pair[1]):
                yield from _of(measure, pair[0], end, verdicts)
            else:
                for damper in pair:
                    yield from _of(measure, damper, damper.corner, verdicts)


def _subjects(judgement: Judgement) -> set[str]:
    ends = {d.end for d in judgement.dampers}
    corners = {d.corner for d in judgement.dampers}
    return {judgement.subject} | ends | corners


_Verdicts = dict[tuple[str, str, str | None], Verdict]


def _of(
    measure: Measure, damper: Damper, subject: str, verdicts: _Verdicts
) -> Iterator[FigureLine]:
    if not speaks(measure, damper) or measure.name == "parts":
        return
    for condition in conditions_of(measure, damper):
        figure = figure_of(measure, damper, condition)
        line = _line(measure, subject, condition, figure, verdicts)
        names = plan(measure.name, condition).inputs
        if figure.bounds is not None and damper.estimates.intersection(names):
            line = replace(line, estimated=True)
        yield line


def _line(
    measure: Measure, subject: str, condition: str, figure: Figure, verdicts: _Verdicts
) -> FigureLine:
    unit = unit_of(measure.unit)
    when = condition if plan(measure.name, condition).conditional else None
    found = figure.bounds
    if found is None:
        words = figure.words if isinstance(figure.words, str) else None
        if isinstance(figure.words, bool):
            words = "yes" if figure.words else "no"
        return FigureLine(
            subject,
            measure.name,
            when,
            words,
            unit=unit,
            missing=figure.missing,
            verdict=verdicts.get((subject, measure.name, when)),
        )
    value, low, high = (in_unit(v, measure.unit) for v in (found.value, found.low, found.high))
    halves = [in_unit(half, measure.unit) for _, half in found.halves]
    verdict = verdicts.get((subject, measure.name, when))
    return FigureLine(
        subject,
        measure.name,
        when,
        value,
        low,
        high,
        unit,
        expanded(combined(halves)) if all(isfinite(h) for h in halves) else None,
        verdict=verdict,
        widest=widest(found) if verdict in ("doubtful", "fails") else "",
    )

"""Every measure of one build at every condition, with tolerances, failing or not."""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from buildlint.amounts import in_unit
from buildlint.commit import PathError
from buildlint.damper import Damper, dampers
from buildlint.files.models import Build
from buildlint.files.reader import Fault, kind_and_id
from buildlint.judge import alike, conditions_of, figure_of, speaks
from buildlint.measures import MEASURES, Measure, plan
from buildlint.physics.uncertainty import combined, expanded
from buildlint.settings import check_settings
from buildlint.team import Team, files_below, find_root

__all__ = ["BuildFigures", "FigureLine", "figures"]


@dataclass(frozen=True, slots=True)
class FigureLine:
    """One measure of one subject at one condition, in the measure's unit.

    `low` and `high` are the worst case within all tolerances; `expanded` is the expanded
    uncertainty, k = 2, of the same tolerances as rectangular (JCGM 100:2008), shown beside it.
    `estimated` says that a room was not measured but worked out from the cup.
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


@dataclass(frozen=True, slots=True)
class BuildFigures:
    """The figures of a build, and the mistakes in its file that keep some from being worked out."""

    build: str
    car: str | None
    event: str | None
    figures: tuple[FigureLine, ...]
    faults: tuple[Fault, ...] = field(default=())


def figures(build: str | os.PathLike[str]) -> BuildFigures:
    """Work out every measure of a build, given by the path of its file or by its id.

    An id is looked for in the repository of the working directory. Raises PathError where there is
    no such build.

    >>> found = figures("examples/saltmarsh/builds/heron-quarry.build.toml")
    >>> line = next(f for f in found.figures if f.measure == "hold_back_share")
    >>> line.subject, round(line.value, 3)
    ('front.left', 0.229)
    """
    path = Path(os.path.abspath(build))  # noqa: PTH100 - resolve() would follow links
    named = kind_and_id(path.name)
    if os.path.lexists(path) and named is not None and named[0] == "build":
        root = find_root(path)
        team = Team(root, {*files_below(root), path})
    else:
        root = find_root(Path.cwd())
        team = Team(root, files_below(root))
        if str(build) not in team.builds:
            from buildlint.words import nearest, shown

            near = nearest(str(build), team.builds)
            hint = f"; did you mean {shown(near)}?" if near else ""
            raise PathError(f"there is no build {shown(str(build))} here{hint}")
        path = team.builds[str(build)]
    check_settings(root)
    found = team.file(path)
    model = found.model
    car, event = (model.car, model.event) if isinstance(model, Build) else (None, None)
    lines = tuple(_lines(dampers(team, found)))
    return BuildFigures(found.id, car, event, lines, tuple(found.faults))


def _lines(found: list[Damper]) -> Iterator[FigureLine]:
    for end in ("front", "rear"):
        pair = [d for d in found if d.end == end]
        for measure in MEASURES.values():
            if len(pair) == 2 and alike(measure, pair[0], pair[1]):
                yield from _of(measure, pair[0], end)
            else:
                for damper in pair:
                    yield from _of(measure, damper, damper.corner)


def _of(measure: Measure, damper: Damper, subject: str) -> Iterator[FigureLine]:
    if not speaks(measure, damper) or measure.name == "parts":
        return
    unit = None if measure.unit == "id" else measure.unit
    for condition in conditions_of(measure, damper):
        figure = figure_of(measure, damper, condition)
        here = plan(measure.name, condition)
        when = condition if here.conditional else None
        bounds = figure.bounds
        if bounds is None:
            words = figure.words if isinstance(figure.words, str) else None
            yield FigureLine(subject, measure.name, when, words, unit=unit, missing=figure.missing)
            continue
        value, low, high = (
            in_unit(v, measure.unit) for v in (bounds.value, bounds.low, bounds.high)
        )
        halves = [in_unit(half, measure.unit) for _, half in bounds.halves]
        yield FigureLine(
            subject,
            measure.name,
            when,
            value,
            low,
            high,
            unit,
            expanded(combined(halves)) if halves and all(h < 1e300 for h in halves) else 0.0,
            estimated=any(name in damper.estimates for name in here.inputs),
        )

"""The bench sheet of a build: one HTML page that stands by itself, two of A4 when it is printed.

Nothing in it is fetched from anywhere, and no script is needed to read it. The same build gives the
same bytes.
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import partial
from importlib.resources import files
from pathlib import Path
from typing import Any, NamedTuple

from buildlint.files.concession import day_of
from buildlint.files.models import Build
from buildlint.files.reader import FileRead
from buildlint.judging.candidates import window
from buildlint.judging.concessions import Concessions
from buildlint.judging.finding_writer import mistakes_behind, mistakes_told
from buildlint.judging.inspector import Inspector
from buildlint.judging.judge import Judge
from buildlint.judging.labels import CapLabel, caps_of
from buildlint.judging.rulebook import Rulebook
from buildlint.judging.rules_in_force import rules_of
from buildlint.measures.damper import Damper
from buildlint.reports.sheet.bench_steps import CAUTIONS, bench_steps
from buildlint.reports.sheet.figures import car_figures, end_figures
from buildlint.reports.sheet.finished import finished_rows, undone
from buildlint.reports.sheet.rows import Row, part_rows, target_rows
from buildlint.reports.sheet.standing import Standing, grouped, standing
from buildlint.reports.sheet.wording import cut, quantity
from buildlint.team.assembly import dampers
from buildlint.team.life import event_id, is_plan
from buildlint.team.repository import Team
from buildlint.team.selection import find_build
from buildlint.text.errors import MissingExtraError, PathError
from buildlint.text.words import clean

__all__ = ["sheet_and_mistakes", "sheet_html"]

ENDS = ("front", "rear")

# As many as stand on a page beside the plots.
_MOST_ADVICE = 6

# The readings that a builder sets, so that each has a window.
_SET = ("hold_back", "limiter", "collar")


@dataclass(frozen=True, slots=True)
class _End:
    """One end of the car as the sheet shows it; without parts where the file lacks the end."""

    name: str
    parts: tuple[Row, ...] = ()
    targets: tuple[Row, ...] = ()
    notes: tuple[str, ...] = ()


class SheetContent(NamedTuple):
    """A build with all that a sheet of it says."""

    team: Team
    file: FileRead
    dampers: Sequence[Damper]
    standing: Standing
    mistakes: tuple[str, ...]
    changes: tuple[str, ...]
    windows: Mapping[str, Mapping[str, tuple[float, float] | None]]
    alike: Mapping[str, str]
    caps: Mapping[str, CapLabel]
    advice: tuple[str, ...] = ()


def sheet_html(
    build: str | os.PathLike[str], on: date | None = None, finished: bool = False
) -> str:
    """Return the bench sheet of a build, given by the path of its file or by its id.

    `finished` gives the page for whoever gets the car in its place. Concessions count as on the day
    `on` (left out: today); nothing else depends on the day. A build with mistakes in its files
    gives a sheet of what is sound, with the mistakes on it.
    Raises PathError where there is no such build, or a finished one is asked for that is not built,
    SettingsError or RulebookError where settings or rules cannot be used, MissingExtraError where
    what draws the sheet is not installed.
    """
    return sheet_and_mistakes(build, on, finished)[0]


def sheet_and_mistakes(
    build: str | os.PathLike[str], on: date | None = None, finished: bool = False
) -> tuple[str, tuple[str, ...]]:
    """Return the bench sheet as `sheet_html` does, and the mistakes as FILE:LINE:COL: what."""
    _check_extra()
    team, path = find_build(build)
    found = team.file(path)
    if finished and is_plan(found):
        raise PathError(f"{clean(found.id)} is not built yet: bench has no date (on)")
    force = rules_of(team)
    made = dampers(team, found)
    concessions = Concessions(force.concessions, day_of(on), partial(event_id, team))
    judge = Judge(force.book, force.sure)
    judgements = [part for j in judge.judge(made) for part in concessions.parts(j, found.id)]
    mistakes = mistakes_behind(team, path, force.book)
    judged = SheetContent(
        team,
        found,
        made,
        standing(judgements, len(mistakes), lambda judgement: concessions.of(judgement, found.id)),
        # as seen from the repository's root, so that the sheet is the same from any folder
        tuple(f"{team.relative(f.path or path)}, line {f.line}: {f.message}" for f in mistakes),
        tuple(
            f"{c.rule}: {c.what} ({team.relative(c.path)}, line {c.line})"
            for c in force.changes
            if c.level == "must" and c.kind != "own"
        ),
        {} if finished else {end: _windows(judge, made, end) for end in ENDS},
        _alike(force.book),
        {cap.corner: cap for cap in caps_of(team, path)},
        () if finished else _advice(Inspector(team, force, day_of(on)), path),
    )
    return (finished_of if finished else sheet_of)(judged), mistakes_told(mistakes)


def _advice(inspector: Inspector, path: Path) -> tuple[str, ...]:
    """Return what would mend the musts that fail or are borderline, and the shoulds that fail."""
    told: dict[str, None] = {}
    for build in inspector.builds([path], set()):
        for finding in sorted(build.serious, key=lambda f: f.level):
            figures = finding.cure_figures if finding.concession is None else ()
            told |= dict.fromkeys(f"{finding.subject}: {figure.text}" for figure in figures)
    return tuple(told)[:_MOST_ADVICE]


def _windows(
    judge: Judge, made: Sequence[Damper], end: str
) -> dict[str, tuple[float, float] | None]:
    """Return the window of each reading that a builder sets; of no limiter, none."""
    fitted = any(d.limiter for d in made if d.end == end)
    readings = [name for name in _SET if name != "limiter" or fitted]
    return {name: window(judge, made, end, name) for name in readings}


def _alike(book: Rulebook) -> dict[str, str]:
    """Return by how much left and right may differ in a reading, by the rules that must hold."""
    return {
        rule.measure: rule.ask.texts["same_within"]
        for rule in book.rules.values()
        if rule.level == "must" and rule.measure and rule.ask and rule.ask.same_within is not None
    }


def sheet_of(judged: SheetContent) -> str:
    """Return the bench sheet of a build that has been judged already."""
    ends = tuple(_end(judged, end) for end in ENDS)
    plots = [
        figure
        for end in ENDS
        for pair in [[d for d in judged.dampers if d.end == end]]
        if len(pair) == len(ENDS)
        for figure in end_figures(pair, judged.windows.get(end, {}).get("hold_back"))
    ]
    return _page(
        "sheet.html.jinja",
        judged,
        cautions=CAUTIONS,
        steps=bench_steps(judged.dampers) if judged.dampers else (),
        ends=ends,
        plots=plots,
        advice=judged.advice,
        oils=tuple(car_figures(judged.dampers)),
    )


def finished_of(judged: SheetContent) -> str:
    """Return the page for whoever gets a finished car: what is in it, as read, against the plan."""
    build = judged.file.model
    if not isinstance(build, Build):
        raise PathError(f"{clean(judged.file.id)} cannot be read: {judged.mistakes[0]}")
    ends = tuple(
        (end, tuple(part_rows(judged.team, pair)), tuple(finished_rows(build, pair)))
        for end in ENDS
        for pair in [[d for d in judged.dampers if d.end == end]]
        if len(pair) == len(ENDS)
    )
    return _page(
        "finished.html.jinja",
        judged,
        cautions=CAUTIONS[:4],
        ends=ends,
        undone=undone(judged.dampers),
        notes=tuple(f"{end}: {note}" for end in ENDS for note in _notes(judged.file, end)),
    )


def _page(template: str, judged: SheetContent, **more: Any) -> str:
    """Return a page from its template. Raises MissingExtraError where jinja2 is not installed."""
    import jinja2

    from buildlint import __version__

    here = files("buildlint.reports.sheet")
    environment = jinja2.Environment(
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        loader=jinja2.FunctionLoader(lambda name: here.joinpath(name).read_text("utf-8")),
        # whatever stands in a file: one line, with nothing in it that steers what shows it
        finalize=lambda value: clean(value) if type(value) is str else value,
    )
    return environment.get_template(template).render(
        style=_markup(here.joinpath("sheet.css").read_text("utf-8")),
        markup=_markup,
        grouped=grouped,
        version=__version__,
        id=judged.file.id,
        file=judged.team.relative(judged.file.path),
        about=tuple(_about(judged)),
        standing=judged.standing,
        mistakes=judged.mistakes,
        changes=judged.changes,
        **more,
    )


def _markup(text: str) -> Any:
    """Mark a text of our own as markup, not to be escaped."""
    import markupsafe

    return markupsafe.Markup(text)


def _check_extra() -> None:
    """Raise MissingExtraError where what draws the sheet is not installed."""
    import importlib
    import logging

    lacking = []
    # that it finds no folder to keep fonts in is nothing to whoever wants a sheet
    log = logging.getLogger("matplotlib")
    level = log.level
    log.setLevel(max(level, logging.ERROR))
    with _without_settings_here():
        for name in ("matplotlib", "jinja2"):
            try:
                importlib.import_module(name)
            except ModuleNotFoundError:
                lacking.append(name)
        if not lacking:
            importlib.import_module("matplotlib.figure")
    log.setLevel(level)
    if lacking:
        raise MissingExtraError(
            f"a bench sheet needs {' and '.join(lacking)}: install what it needs with "
            'pip install "buildlint[sheet]"'
        )


@contextlib.contextmanager
def _without_settings_here() -> Iterator[None]:
    """Keep matplotlib from settings in the working directory, which may be a stranger's.

    It reads a file of this name there before any other when it is loaded, wherever a link leads,
    says what stands in it where that is no setting, and fails where it is no text.
    """
    if not os.path.lexists("matplotlibrc"):
        yield
        return
    here = os.getcwd()  # noqa: PTH109
    os.chdir(os.path.dirname(__file__))  # noqa: PTH120
    try:
        yield
    finally:
        os.chdir(here)


# --- what is shown -------------------------------------------------------------------------------


def _about(judged: SheetContent) -> Iterator[tuple[str, str]]:
    """Say which car, which event, where and when it is built."""
    team, model = judged.team, judged.file.model
    if not isinstance(model, Build):
        return
    car, _ = team.car_of(model)
    event, _ = team.event_of(model)
    if model.car is not None:
        named = f"{car.name} ({model.car})" if car is not None and car.name else model.car
        yield "Car", f"{named}, {car.car_class}" if car is not None and car.car_class else named
    if model.event is None:
        yield "Event", "none: judged at the bench only"
    else:
        said = [f"{event.name} ({model.event})" if event and event.name else model.event]
        if event is not None:
            said += [event.on.isoformat()] if event.on else []
            said += [f"{quantity(event.altitude.value, 'm')} up"] if event.altitude else []
            if event.coldest and event.hottest:
                cold, hot = (quantity(t.value, "degC") for t in (event.coldest, event.hottest))
                said.append(f"oil from {cold} to {hot}")
            said.append(f"there by {event.arrive_by}")
            if event.highest:
                said.append(f"over {quantity(event.highest.value, 'm')}")
        yield "Event", ", ".join(said)
    bench = model.bench
    if bench is not None:
        said = [bench.on.isoformat()] if bench.on else ["not built yet"]
        said += [f"oil at {quantity(bench.temperature.value, 'degC')}"] if bench.temperature else []
        said += [f"{quantity(bench.altitude.value, 'm')} up"] if bench.altitude else []
        said += [f"by {bench.by}"] if bench.by else []
        yield "Bench", ", ".join(said) or "not given"
    if model.style == "emulsion":
        yield "Style", "emulsion: no bladder, air in the oil"
    if model.note:
        yield "Note", cut(model.note)


def _end(judged: SheetContent, end: str) -> _End:
    pair = [damper for damper in judged.dampers if damper.end == end]
    build = judged.file.model
    if len(pair) != len(ENDS) or not isinstance(build, Build):
        return _End(end)
    targets = target_rows(build, pair, judged.windows.get(end, {}), judged.alike, judged.caps)
    return _End(
        end, tuple(part_rows(judged.team, pair)), tuple(targets), tuple(_notes(judged.file, end))
    )


def _notes(found: FileRead, end: str) -> Iterator[str]:
    table = getattr(found.model, end, None)
    if table is None:
        return
    for words, corner in (("", table), ("left: ", table.left), ("right: ", table.right)):
        if corner is not None and corner.note:
            yield f"{words}{cut(corner.note)}"

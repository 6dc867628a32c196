"""The bench sheet of a build: one HTML page that stands by itself, for paper and for a phone.

Nothing in it is fetched from anywhere, and no script is needed to read it. The same build gives the
same bytes.
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from importlib.resources import files
from typing import Any

from buildlint.files.concession import Concession, day_of
from buildlint.files.models import Build
from buildlint.files.reader import FileRead
from buildlint.judging.candidates import window
from buildlint.judging.concessions import Concessions
from buildlint.judging.finding_writer import mistakes_behind, mistakes_told
from buildlint.judging.judge import Judge
from buildlint.judging.judgement import Judgement
from buildlint.judging.rules_in_force import rules_in_force
from buildlint.measures.damper import Damper
from buildlint.reports.sheet.bench_steps import CAUTIONS, BenchStep, bench_steps
from buildlint.reports.sheet.figures import SheetFigure, car_figures, end_figures
from buildlint.reports.sheet.rows import Row, part_rows, target_rows
from buildlint.reports.sheet.standing import grouped, standing
from buildlint.reports.sheet.wording import cut, quantity
from buildlint.team.assembly import dampers
from buildlint.team.repository import Team
from buildlint.team.selection import find_build
from buildlint.text.errors import MissingExtraError
from buildlint.text.words import clean

__all__ = ["SheetEnd", "sheet_and_mistakes", "sheet_html", "sheet_of"]

ENDS = ("front", "rear")

#: What is written in by hand beside the readings that are planned.
BY_HAND = ("oil temperature", "date", "by whom", "notes")


@dataclass(frozen=True, slots=True)
class SheetEnd:
    """One end of the car as the sheet shows it; without parts where the file lacks the end."""

    name: str
    parts: tuple[Row, ...] = ()
    targets: tuple[Row, ...] = ()
    steps: tuple[BenchStep, ...] = ()
    figures: tuple[SheetFigure, ...] = ()
    notes: tuple[str, ...] = ()
    by_hand: tuple[str, ...] = BY_HAND


def sheet_html(build: str | os.PathLike[str], on: date | None = None) -> str:
    """Return the bench sheet of a build, given by the path of its file or by its id.

    Concessions count as on the day `on` (left out: today); nothing else depends on the day.
    A build with mistakes in its files gives a sheet of what is sound, with the mistakes at its top.
    Raises PathError where there is no such build, SettingsError or RulebookError where settings or
    rules cannot be used, MissingExtraError where what draws the sheet is not installed.
    """
    return sheet_and_mistakes(build, on)[0]


def sheet_and_mistakes(
    build: str | os.PathLike[str], on: date | None = None
) -> tuple[str, tuple[str, ...]]:
    """Return the bench sheet as `sheet_html` does, and the mistakes as FILE:LINE:COL: what."""
    _check_extra()
    team, path = find_build(build)
    found = team.file(path)
    force = rules_in_force(team.root)
    made = dampers(team, found)
    leaves = Concessions(force.concessions, day_of(on))
    judge = Judge(force.book, force.sure)
    judgements = tuple(
        part for judged in judge.judge(made) for part in leaves.parts(judged, found.id)
    )
    mistakes = mistakes_behind(team, path, force.book)
    # as seen from the repository's root, so that the sheet is the same from any folder
    shown = [f"{team.relative(f.path or path)}, line {f.line}: {f.message}" for f in mistakes]
    eased = [
        f"{c.rule}: {c.what} ({team.relative(c.path)}, line {c.line})"
        for c in force.changes
        if c.level == "must" and c.kind != "own"
    ]
    windows = {end: window(judge, made, end) for end in ENDS}
    html = sheet_of(
        team, found, made, judgements, shown, lambda j: leaves.of(j, found.id), eased, windows
    )
    return html, mistakes_told(mistakes)


def sheet_of(
    team: Team,
    found: FileRead,
    made: Sequence[Damper],
    judgements: Sequence[Judgement],
    mistakes: Sequence[str] = (),
    leave: Callable[[Judgement], Concession | None] = lambda judgement: None,
    changes: Sequence[str] = (),
    windows: Mapping[str, tuple[float, float] | None] | None = None,
) -> str:
    """Return the bench sheet of a build that has been read, put together and judged already.

    `changes` are what the team's own settings change of the rules that must hold, in words;
    `windows` the hold-backs of each end between which every must that they enter holds.
    Raises MissingExtraError where what draws the sheet is not installed.
    """
    _check_extra()
    import jinja2

    from buildlint import __version__

    here = files("buildlint.reports.sheet")
    environment = jinja2.Environment(
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        # whatever stands in a file: one line, with nothing in it that steers what shows it
        finalize=lambda value: clean(value) if type(value) is str else value,
    )
    template = environment.from_string(here.joinpath("sheet.html.jinja").read_text("utf-8"))
    return template.render(
        style=_markup(here.joinpath("sheet.css").read_text("utf-8")),
        markup=_markup,
        grouped=grouped,
        version=__version__,
        id=found.id,
        file=team.relative(found.path),
        about=tuple(_about(team, found, made)),
        emulsion=isinstance(found.model, Build) and found.model.style == "emulsion",
        standing=standing(judgements, len(mistakes), leave),
        mistakes=tuple(mistakes),
        changes=tuple(changes),
        cautions=CAUTIONS,
        ends=tuple(_end(team, found, made, end, (windows or {}).get(end)) for end in ENDS),
        oils=tuple(car_figures(made)),
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
            f"a bench sheet needs {' and '.join(lacking)}: install them with "
            "pip install matplotlib jinja2"
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


def _about(team: Team, found: FileRead, made: Sequence[Damper]) -> Iterator[tuple[str, str]]:
    """Say which car, which event, where and when it is built."""
    model = found.model
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
        said = [bench.on.isoformat()] if bench.on else []
        said += [f"oil at {quantity(bench.temperature.value, 'degC')}"] if bench.temperature else []
        said += [f"{quantity(bench.altitude.value, 'm')} up"] if bench.altitude else []
        said += [f"by {bench.by}"] if bench.by else []
        yield "Bench", ", ".join(said) or "not given"
    yield (
        "Style",
        "emulsion: no bladder, air in the oil" if model.style == "emulsion" else "bladder",
    )
    if model.note:
        yield "Note", cut(model.note)


def _end(
    team: Team,
    found: FileRead,
    made: Sequence[Damper],
    end: str,
    window: tuple[float, float] | None,
) -> SheetEnd:
    pair = [damper for damper in made if damper.end == end]
    if len(pair) != 2:
        return SheetEnd(end)
    return SheetEnd(
        end,
        tuple(part_rows(team, pair)),
        tuple(target_rows(pair, window)),
        bench_steps(pair),
        tuple(end_figures(pair)),
        tuple(_notes(found, end)),
    )


def _notes(found: FileRead, end: str) -> Iterator[str]:
    table = getattr(found.model, end, None)
    if table is None:
        return
    for words, corner in (("", table), ("left: ", table.left), ("right: ", table.right)):
        if corner is not None and corner.note:
            yield f"{words}{cut(corner.note)}"

"""Judge builds, and say what was found: `buildlint inspect`."""

from __future__ import annotations

import os
import shutil
import sys
from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from buildlint.commands.outcome import FAILED, Outcome
from buildlint.text.words import clean

if TYPE_CHECKING:
    from buildlint.commands.progress import Progress
    from buildlint.judging.inspection import Inspection

__all__ = ["run"]

# So many files are named where more may be meant.
_SOME = 3

_MEND = "Mend and save, `git add` the files, and commit again: a commit is judged as it was added."


def run(chosen: Namespace) -> Outcome:
    """Judge builds."""
    from buildlint.commands.progress import Progress

    progress = Progress()
    try:
        found, notes = (_of_a_hook if chosen.named else _of_paths)(chosen, progress)
    finally:
        progress.close()
    code = 0 if found.passes(chosen.should_too) else FAILED
    if chosen.form == "json":
        from buildlint.reports.json import inspection_json

        return Outcome(inspection_json(found, chosen.should_too, chosen.all), code, notes)
    if chosen.form == "lines":
        from buildlint.reports.lines import inspection_lines

        return Outcome(inspection_lines(found, chosen.all), code, notes)
    if chosen.form == "sarif":
        from buildlint.reports.sarif import inspection_sarif

        return Outcome(inspection_sarif(found, chosen.should_too, chosen.all), code, notes)
    if chosen.form == "junit":
        from buildlint.reports.junit import inspection_junit

        return Outcome(inspection_junit(found, chosen.should_too, chosen.all), code, notes)
    if chosen.named and not (found.builds or found.in_files or found.looked_at or found.past):
        return Outcome("")
    from buildlint.reports.text import inspection_text

    text = inspection_text(found, _colour(chosen), chosen.should_too, _width(chosen), chosen.all)
    if chosen.named and code:
        from buildlint.text.wrapping import wrapped

        text += "\n".join(["", *wrapped(_MEND, 0), ""])
    return Outcome(text, code, notes)


def _of_paths(chosen: Namespace, progress: Progress) -> tuple[Inspection, tuple[str, ...]]:
    from buildlint.judging.inspector import inspect_team

    found = inspect_team(chosen.paths or ["."], past=chosen.past, on=chosen.on, progress=progress)
    return found, _unseen(chosen)


def _of_a_hook(chosen: Namespace, progress: Progress) -> tuple[Inspection, tuple[str, ...]]:
    from buildlint.judging.named import inspect_named

    named = inspect_named(chosen.paths, on=chosen.on, progress=progress)
    notes: list[str] = []
    if any(finding.rule == "file/no-such-id" for finding in named.inspection.in_files):
        notes += _some(named.deleted, "deleted")
    if named.elsewhere is not None and named.inspection.builds:
        what = "is not what is checked out: files are judged as they are on the disk"
        notes.append(f"{clean(named.elsewhere)} {what}")
    return named.inspection, tuple(notes)


def _unseen(chosen: Namespace) -> tuple[str, ...]:
    """Return notes on files that git tracks and that are not judged as one would think.

    Nothing where there is no git to ask.
    """
    from buildlint.team.index import unseen
    from buildlint.text.errors import PathError

    notes: list[str] = []
    try:
        for folder in filter(Path.is_dir, map(Path, chosen.paths or ["."])):
            found = unseen(folder.absolute())
            what = "in git, but not judged, for a name that begins with a dot is passed over"
            notes += _some(found.hidden, what)
            notes += _some(found.left_out, "in git, but not checked out here, so not judged")
            what = "git was told not to look at what is changed there; judged as it is on the disk"
            notes += _some(found.changed, what)
    except (PathError, OSError):
        return ()
    return tuple(dict.fromkeys(notes))


def _some(files: list[Path], what: str) -> list[str]:
    """Return one line about some files, or none."""
    from buildlint.text.words import seen_from_here

    names = [clean(seen_from_here(path)) for path in files]
    more = f" and {len(names) - _SOME} more" if len(names) > _SOME else ""
    return [f"{', '.join(names[:_SOME])}{more}: {what}"] if names else []


def _width(chosen: Namespace) -> int:
    """Return how wide a report is: as the terminal, or as COLUMNS says."""
    from buildlint.text.wrapping import WIDTH, width_of

    if chosen.output is not None:
        return WIDTH
    return width_of(shutil.get_terminal_size((WIDTH, 24)).columns)


def _colour(chosen: Namespace) -> bool:
    return (
        chosen.output is None
        and sys.stdout.isatty()
        and not os.environ.get("NO_COLOR")
        and os.environ.get("TERM") != "dumb"
    )

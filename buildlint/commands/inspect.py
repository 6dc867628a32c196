"""Judge builds, and say what was found: `buildlint inspect`."""

from __future__ import annotations

import os
import sys
from argparse import Namespace
from pathlib import Path

from buildlint.commands.outcome import FAILED, Outcome
from buildlint.text.words import clean

__all__ = ["run"]

# So many files are named where more may be meant.
_SOME = 3

_MEND = "Nothing was committed. Mend and save, then `git add` the files, then commit again"


def run(chosen: Namespace) -> Outcome:
    """Judge builds."""
    from buildlint.commands.progress import Progress
    from buildlint.judging.inspector import inspect_team

    notes: tuple[str, ...] = ()
    if chosen.commit:
        from buildlint.team.commit import changed_in_commit, in_range
        from buildlint.text.errors import PathError

        if chosen.paths:
            raise PathError("--commit takes no paths: git says what the commit changes")
        notes = _not_as_added()
    progress = Progress()
    try:
        found = inspect_team(
            changed_in_commit(Path.cwd()) if chosen.commit else chosen.paths or ["."],
            tracked=chosen.commit,
            on=chosen.on,
            progress=progress,
        )
    finally:
        progress.close()
    differ, notes = bool(notes), (*notes, *_unseen(chosen))
    code = 0 if found.passes(chosen.should_too) else FAILED
    if chosen.form == "json":
        from buildlint.reports.json import inspection_json

        return Outcome(inspection_json(found, chosen.should_too), code, notes)
    if chosen.form == "lines":
        from buildlint.reports.lines import inspection_lines

        return Outcome(inspection_lines(found), code, notes)
    if chosen.form == "sarif":
        from buildlint.reports.sarif import inspection_sarif

        return Outcome(inspection_sarif(found, chosen.should_too), code, notes)
    if chosen.form == "junit":
        from buildlint.reports.junit import inspection_junit

        return Outcome(inspection_junit(found, chosen.should_too), code, notes)
    from buildlint.reports.text import inspection_text

    if chosen.commit and not found.builds and not found.in_files:
        return Outcome("this commit changes no build\n", code, notes)
    text = inspection_text(found, _colour(chosen), chosen.should_too)
    if chosen.commit and code and not in_range():
        from buildlint.text.wrapping import wrapped

        what = "" if differ else ": what is judged is what was added"
        text += "\n".join(["", *wrapped(f"{_MEND}{what}.", 0), ""])
    return Outcome(text, code, notes)


def _not_as_added() -> tuple[str, ...]:
    """Return what is to be said of files that stand otherwise on the disk than they were added."""
    from buildlint.team.commit import differs_from_staged

    what = "is not on the disk as it was added: it is judged as it is on the disk"
    return tuple(f"{clean(name)} {what}" for name in differs_from_staged(Path.cwd()))


def _unseen(chosen: Namespace) -> tuple[str, ...]:
    """Return notes on files that git tracks and that are not judged as one would think.

    Nothing where there is no git to ask.
    """
    from buildlint.team.commit import unseen
    from buildlint.team.git import top_of
    from buildlint.text.errors import PathError

    notes: list[str] = []
    try:
        given = [top_of(Path.cwd())] if chosen.commit else map(Path, chosen.paths or ["."])
        for folder in (path for path in given if path.is_dir()):
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


def _colour(chosen: Namespace) -> bool:
    return (
        chosen.output is None
        and sys.stdout.isatty()
        and not os.environ.get("NO_COLOR")
        and os.environ.get("TERM") != "dumb"
    )

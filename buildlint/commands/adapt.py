"""Carry a build to another event: `buildlint adapt`."""

from __future__ import annotations

import os
from argparse import Namespace
from pathlib import Path

from buildlint.commands.outcome import FAILED, Outcome
from buildlint.commands.output import write_new
from buildlint.files.disk import inside
from buildlint.files.names import kind_and_id
from buildlint.team.folders import find_root
from buildlint.team.repository import Team
from buildlint.text.errors import PathError
from buildlint.text.words import clean, seen_from_here, shown

__all__ = ["run"]


def run(chosen: Namespace) -> Outcome:
    """Show what a build needs for another event; with -o, write the first as a plan."""
    from buildlint.judging.adapt import adapt
    from buildlint.team.selection import build_of

    team, path = build_of(chosen.build, None)
    target = _target(chosen.plan, team) if chosen.plan is not None else None
    found = adapt(path, chosen.event, team)
    if chosen.form == "json":
        from buildlint.reports.adaptation_json import adaptation_json

        report = adaptation_json(found)
    else:
        from buildlint.reports.adaptation_text import adaptation_text

        report = adaptation_text(found)
    notes = list(found.mistakes)
    if target is not None:
        write_new(found.plan(target), target)
        notes.append(f"written: {clean(seen_from_here(target))}")
    return Outcome(report, 0 if found.holds and not found.mistakes else FAILED, tuple(notes))


def _target(given: str, team: Team) -> Path:
    """Return where a plan goes; raises PathError where it would be none of the team's builds."""
    target = Path(os.path.abspath(given))  # noqa: PTH100 - resolve() would follow links
    asked = f"-o {clean(given)}"
    named = kind_and_id(target.name)
    if named is None or named[0] != "build" or target.name.startswith("."):
        raise PathError(f"{asked}: a plan is a file named NAME.build.toml")
    if os.path.lexists(target):
        raise PathError(f"{asked} is there already, and nothing is written over")
    if not target.parent.is_dir():
        raise PathError(f"{asked}: there is no folder {clean(seen_from_here(target.parent))}")
    hidden = any(part.startswith(".") for part in target.parent.parts[len(team.root.parts) :])
    if hidden or find_root(target) != team.root or not inside(target, team.root):
        here = clean(seen_from_here(team.root))
        raise PathError(f"{asked}: that is not in the repository of the build, {here}")
    if named[1] in team.by_id("build"):
        where = clean(seen_from_here(team.by_id("build")[named[1]]))
        raise PathError(f"{asked}: there is a build {shown(named[1])} already, {where}")
    return target

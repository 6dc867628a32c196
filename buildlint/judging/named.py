"""What a hook asks: whether the files that a commit touches leave every build sound."""

from __future__ import annotations

import datetime
import os
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

from buildlint.files.concession import day_of
from buildlint.files.names import is_ours, meant_rule
from buildlint.files.settings import OWN, SETTINGS
from buildlint.judging.inspection import MANY, Inspection
from buildlint.judging.inspector import Inspector, Progress
from buildlint.judging.rules_in_force import rules_in_force
from buildlint.team.commit import deleted_files, in_merge, judged_elsewhere, tracked_files
from buildlint.team.folders import files_below, find_root
from buildlint.team.git import top_of
from buildlint.team.life import lives, only_mistakes
from buildlint.team.repository import Team
from buildlint.team.selection import touched

__all__ = ["Named", "inspect_named"]


@dataclass
class Named:
    """What was found, and what to say beside it.

    `deleted` are the files of teams that the commit deletes, `elsewhere` the end of a range of
    commits where that is not checked out.
    """

    inspection: Inspection
    elsewhere: str | None
    deleted: list[Path] = field(default_factory=list)


def inspect_named(
    names: Iterable[str | os.PathLike[str]],
    *,
    on: datetime.date | None = None,
    progress: Progress | None = None,
) -> Named:
    """Judge what named files, and those that the commit deletes, leave of every build.

    That is the builds among them, those that use one of them, and those that refer to what is not
    there; in a merge by hand, the last of every team. Past builds are not judged, and of these only
    the files among the named are looked at. What is no team's, or not tracked by git, is passed
    over. Raises PathError where git cannot say, RulebookError and SettingsError where rules
    or settings cannot be used.
    """
    top = top_of(Path.cwd())
    tracked = tracked_files(top)
    # a link among the files stays one; the way there may lead over others
    named = [Path(os.path.realpath(path.parent), path.name) for path in map(Path, names)]
    deleted = deleted_files(top)
    by_root: dict[Path, set[Path]] = {}
    for path in [*filter(tracked.__contains__, named), *deleted]:
        root = find_root(path.parent)
        if _is_of_team(path, root):
            by_root.setdefault(root, set()).add(path)
        if path.name == SETTINGS and path.parent != top:
            # new settings take what is below them away from the team around
            by_root.setdefault(find_root(path.parent.parent), set())
    if in_merge(top):
        settings = (path.parent for path in tracked if path.name == SETTINGS)
        for root in (find_root(top), *settings):
            by_root.setdefault(root, set())
    found = Named(Inspection(on=day_of(on)), judged_elsewhere(top))

    def counts(path: Path) -> bool:
        # of a team that reaches out of the repository, the rest is as it lies there
        return path in tracked or not path.is_relative_to(top)

    for root, given in sorted(by_root.items()):
        every = list(files_below(root))
        team = Team(root, filter(counts, every))
        team.not_added = sorted(path for path in every if not counts(path))
        builds, files = touched(team, given)
        found.deleted += sorted(given.intersection(deleted))
        if not (builds or files):
            continue
        life, force = lives(team), rules_in_force(root, counts=counts)
        passed_over = force.passed_over(root, builds)
        past = {path for path in builds if life[path] == "past"} - passed_over
        builds = [path for path in builds if path not in past | passed_over]
        files -= passed_over | (past - given)
        found.inspection.past += only_mistakes(team, sorted(past & given), files)
        inspector = Inspector(team, force, found.inspection.on, len(builds) > MANY, life, False)
        inspector.inspect(builds, files, found.inspection, progress)
        found.inspection.looked_at += len(files)
    return found


def _is_of_team(path: Path, root: Path) -> bool:
    """Return whether a file is one of the team's; not every folder rules/ is."""
    below = path.relative_to(root)
    own = below.parts[0] == OWN or meant_rule(below) is not None
    return is_ours(path.name) or path.name == SETTINGS or own

"""A team's repository, by any path in it."""

from __future__ import annotations

import os

from buildlint.files.paths import path_of
from buildlint.team.folders import files_below, find_root
from buildlint.team.repository import Team
from buildlint.text.errors import PathError
from buildlint.text.words import clean

__all__ = ["load_team"]


def load_team(path: str | os.PathLike[str] = ".") -> Team:
    """Return the team whose repository a path is in; nothing is judged, no file is read yet.

    A team keeps what it has read: a file that is changed later is not read again. Load the team
    again to see it (or let it `forget` a build's file). Raises PathError where there is no such
    path.

    >>> team = load_team("examples/saltmarsh")
    >>> team.cars["heron"].name
    'Heron'
    >>> sorted(team.springs)[:2]
    ['front-soft', 'rear-soft']
    >>> team.pistons["four-18"].thickness.to("mm")
    2.5
    """
    start = path_of(path)
    if not start.exists():
        raise PathError(f"there is no file or folder {clean(str(start))}")
    root = find_root(start)
    return Team(root, files_below(root))

"""The folders of a repository: its root, and the team's files below it."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from pathlib import Path, PurePath

from buildlint.files.names import is_ours, like_toml, meant_rule
from buildlint.files.settings import SETTINGS
from buildlint.text.errors import PathError
from buildlint.text.words import clean

__all__ = ["DEEPEST", "MOST_FILES", "files_below", "find_root", "folders_below", "passed_over"]

#: The most files that a repository may hold: many teams' seasons.
MOST_FILES = 200_000

#: How many folders within folders are looked into.
DEEPEST = 64


def find_root(start: Path) -> Path:
    """Return the root of the repository that a path is in.

    It is the nearest folder upwards with `buildlint.toml`, else with `.git`, else the folder given
    (or the folder of the file given).
    """
    start = Path(os.path.abspath(start))  # noqa: PTH100 - resolve() would follow links
    folder = start if start.is_dir() else start.parent
    above = (folder, *folder.parents)
    for mark in (SETTINGS, ".git"):
        for candidate in above:
            if os.path.lexists(candidate / mark):
                return candidate
    return folder


def files_below(root: Path) -> Iterator[Path]:
    """Return the files of a team below its root, by name alone; misnamed ones and rules too.

    Folders whose name begins with a dot are passed over, and so is a folder that is a team's root
    of its own. Links to folders are not followed. A folder that may not be looked into, or is too
    deep to be, is given itself: nobody knows what it holds. Raises PathError for more files than
    MOST_FILES.
    """
    closed: list[Path] = []
    count = 0
    for here, inside in folders_below(root, own_roots=False, closed=closed):
        for entry in inside:
            if entry.name.startswith(".") or not like_toml(entry.name):
                continue
            if is_ours(entry.name):
                count += 1
                if count > MOST_FILES:
                    what = f"more than {MOST_FILES:,} files are too many for one repository"
                    raise PathError(f"{clean(str(root))}: {what}; nothing was judged")
                yield here / entry.name
            elif meant_rule((here / entry.name).relative_to(root)) is not None and entry.is_file(
                follow_symlinks=False
            ):
                yield here / entry.name
    yield from (path for path in closed if path != root)


def folders_below(
    folder: Path, own_roots: bool = True, closed: list[Path] | None = None
) -> Iterator[tuple[Path, list[os.DirEntry[str]]]]:
    """Return a folder and every one below it, with what is in it; hidden ones and links left out.

    Without `own_roots`, folders that are roots of their own are passed over. Those that cannot be
    looked into, or are deeper than DEEPEST, are put into `closed`.
    """
    ways = [(folder, 0)]
    while ways:
        here, depth = ways.pop()
        try:
            if depth > DEEPEST:
                raise PermissionError
            with os.scandir(here) as entries:
                inside = list(entries)
        except OSError as error:
            # one that is gone by now holds nothing
            if closed is not None and not isinstance(error, FileNotFoundError):
                closed.append(here)
            continue
        if not own_roots and here != folder and any(e.name == SETTINGS for e in inside):
            continue
        yield here, inside
        ways += [
            (here / entry.name, depth + 1)
            for entry in inside
            if not entry.name.startswith(".")
            and not is_ours(entry.name)
            and entry.is_dir(follow_symlinks=False)
        ]


def passed_over(name: PurePath, is_root: Callable[[PurePath], bool]) -> bool:
    """Return whether a file that git names, from the root, is one that `files_below` leaves out.

    `is_root` says whether a folder, named likewise, is a team's root of its own.

    >>> passed_over(PurePath("old/.kept/heron.build.toml"), lambda folder: False)
    True
    >>> passed_over(PurePath("guests/heron.build.toml"), lambda folder: folder.name == "guests")
    True
    """
    *folders, _top = name.parents
    return name.name.startswith(".") or any(
        folder.name.startswith(".") or is_ours(folder.name) or is_root(folder) for folder in folders
    )

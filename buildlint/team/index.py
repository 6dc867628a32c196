"""What git has in its index, and whether the disk has the same.

That is found by reading the files: asked for it, git would run the filters that a repository's
settings name.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path, PurePath
from typing import NamedTuple

from buildlint.files.disk import bytes_of
from buildlint.files.fault import Fault
from buildlint.files.names import is_ours, kind_and_id
from buildlint.files.part_models import PART_KINDS
from buildlint.files.settings import SETTINGS
from buildlint.team.folders import passed_over
from buildlint.team.git import git, stays_below
from buildlint.text.errors import PathError
from buildlint.text.words import clean, listed, shown

__all__ = ["Entry", "as_staged", "entries", "not_checked_out", "where_git_has"]


class Entry(NamedTuple):
    """A file in git's index: its path, git's id of its content, how git looks at it."""

    name: str
    path: Path
    mode: str
    blob: str
    merged: bool
    #: Git does not look at the disk: it is told to leave the file out, or to take it as unchanged.
    flagged: bool
    left_out: bool


def entries(folder: Path) -> Iterator[Entry]:
    """Return what git has in its index below a folder, with names as seen from there."""
    for line in git(folder, "ls-files", "-s", "-v", "-z"):
        about, _, name = line.partition("\t")
        # S: left out of the disk; a small letter: taken as unchanged
        tag, mode, blob, stage = about.split()
        if not stays_below(name):
            continue
        flagged, left_out = tag.islower() or tag == "S", tag in "sS"
        yield Entry(name, folder / name, mode, blob, stage == "0", flagged, left_out)


def as_staged(entry: Entry, root: Path) -> bool:
    """Return whether a file stands on the disk, below a root, as it was added.

    Ends of lines are no matter: git may write them in another way than it keeps them.
    """
    if entry.mode == "160000":
        return True  # another repository
    link = entry.mode == "120000"
    if not entry.merged or entry.path.is_symlink() != link:
        return False
    try:
        path = entry.path
        data = os.fsencode(path.readlink()) if link else bytes_of(path, "", root, {})
    except OSError:
        return False
    if isinstance(data, Fault):
        return data.rule == "file/too-large"  # told anyway
    return entry.blob in (_id(data, entry), _id(data.replace(b"\r\n", b"\n"), entry))


def _id(data: bytes, entry: Entry) -> str:
    kind = "sha256" if len(entry.blob) == 64 else "sha1"
    return hashlib.new(kind, b"blob %d\0" % len(data) + data, usedforsecurity=False).hexdigest()


def not_checked_out(root: Path) -> list[Path]:
    """Return the files of the team that git tracks and was told not to put on the disk.

    As in a sparse checkout. None where git cannot say.
    """
    try:
        every = list(entries(root))
    except PathError:
        return []
    names = map(PurePath, (entry.name for entry in every))
    roots = {name.parent for name in names if name.name == SETTINGS}
    return [
        entry.path
        for entry in every
        if entry.left_out
        and is_ours(entry.path.name)
        and not passed_over(PurePath(entry.name), roots.__contains__)
        and not os.path.lexists(entry.path)
    ]


def where_git_has(
    kind: str, ident: str, files: Sequence[Path], relative: Callable[[Path], str]
) -> str | None:
    """Say which of some files that are not checked out has what an id means, or may have it."""
    of_parts = kind in PART_KINDS
    wanted = "parts" if of_parts else kind
    found = []
    for path in files:
        named = kind_and_id(path.name)
        if named is not None and named[0] == wanted and (of_parts or named[1] == ident):
            found.append(clean(relative(path)))
    if not found:
        return None
    if not of_parts:
        return f"the {kind} {shown(ident)} is not checked out here: git has it in {found[0]}"
    some = listed(found) if len(found) < 4 else f"{', '.join(found[:3])}, …"
    return f"no {kind} {shown(ident)} is checked out here; git has more parts in {some}"

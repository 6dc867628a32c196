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
from buildlint.files.names import is_ours, kind_and_id, like_toml
from buildlint.files.part_models import PART_KINDS
from buildlint.files.settings import OWN, SETTINGS
from buildlint.team.folders import passed_over
from buildlint.team.git import git, stays_below
from buildlint.text.errors import PathError
from buildlint.text.words import clean, listed, shown

__all__ = ["Unseen", "elsewhere", "not_checked_out", "unseen"]


class Unseen(NamedTuple):
    """Files that git tracks and that are judged otherwise than one would think, or not at all."""

    #: Below a name that begins with a dot: not judged.
    hidden: list[Path]
    #: Not on the disk, and git was told not to put them there.
    left_out: list[Path]
    #: Not on the disk as they were added, and git was told not to look.
    changed: list[Path]


class _Entry(NamedTuple):
    """A file in git's index: its path, git's id of its content, how git looks at it."""

    name: str
    path: Path
    mode: str
    blob: str
    merged: bool
    #: Git does not look at the disk: it is told to leave the file out, or to take it as unchanged.
    flagged: bool
    left_out: bool


def _entries(folder: Path) -> Iterator[_Entry]:
    """Return what git has in its index below a folder, with names as seen from there."""
    for line in git(folder, "ls-files", "-s", "-v", "-z"):
        about, _, name = line.partition("\t")
        # S: left out of the disk; a small letter: taken as unchanged
        tag, mode, blob, stage = about.split()
        if not stays_below(name):
            continue
        flagged, left_out = tag.islower() or tag == "S", tag in "sS"
        yield _Entry(name, folder / name, mode, blob, stage == "0", flagged, left_out)


def _as_staged(entry: _Entry, root: Path) -> bool:
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


def _id(data: bytes, entry: _Entry) -> str:
    kind = "sha256" if len(entry.blob) == 64 else "sha1"
    return hashlib.new(kind, b"blob %d\0" % len(data) + data, usedforsecurity=False).hexdigest()


def not_checked_out(root: Path) -> list[Path]:
    """Return the files of the team that git tracks and was told not to put on the disk.

    As in a sparse checkout. None where git cannot say.
    """
    try:
        every = list(_entries(root))
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


def elsewhere(
    kind: str,
    ident: str,
    left_out: Sequence[Path],
    not_added: Sequence[Path],
    relative: Callable[[Path], str],
) -> str | None:
    """Say which file has what an id means, or may have it, that is not checked out or not added."""
    one = kind not in PART_KINDS
    if found := _may_have(kind, ident, left_out, relative):
        if one:
            return f"the {kind} {shown(ident)} is not checked out here: git has it in {found}"
        return f"no {kind} {shown(ident)} is checked out here; git has more parts in {found}"
    if found := _may_have(kind, ident, not_added, relative):
        if one:
            return f"the {kind} {shown(ident)} is not added to git: git add {found}"
        return f"no {kind} {shown(ident)} is added to git; more parts are in {found}: add them"
    return None


def _may_have(kind: str, ident: str, files: Sequence[Path], relative: Callable[[Path], str]) -> str:
    of_parts = kind in PART_KINDS
    wanted = "parts" if of_parts else kind
    found = []
    for path in files:
        named = kind_and_id(path.name)
        if named is not None and named[0] == wanted and (of_parts or named[1] == ident):
            found.append(clean(relative(path)))
    if not of_parts:
        del found[1:]
    return listed(found) if len(found) < 4 else f"{', '.join(found[:3])}, …"


def unseen(folder: Path) -> Unseen:
    """Return what git tracks below a folder and a reader of a report would not know of.

    Raises PathError where git cannot say.
    """
    found = Unseen([], [], [])
    for entry in _entries(folder):
        parts = PurePath(entry.name).parts
        if any(part.startswith(".") for part in parts):
            if is_ours(parts[-1]):
                found.hidden.append(entry.path)
        elif entry.flagged and _matters(entry.name):
            if not os.path.lexists(entry.path):
                found.left_out.append(entry.path)
            elif not _as_staged(entry, folder):
                found.changed.append(entry.path)
    return found


def _matters(name: str) -> bool:
    path = Path(name)
    own_rule = OWN in map(str.casefold, path.parts[:-1]) and like_toml(path.name)
    return is_ours(path.name) or path.name == SETTINGS or own_rule

"""A team's files as they were in a git revision: read from git, nothing on the disk is touched."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from pathlib import Path, PurePosixPath
from typing import NamedTuple

from buildlint.files.disk import LARGEST
from buildlint.files.names import is_ours
from buildlint.files.settings import SETTINGS
from buildlint.team.folders import passed_over
from buildlint.team.git import RefusedError, git, git_bytes, top_of
from buildlint.team.repository import Team
from buildlint.text.errors import PathError
from buildlint.text.words import shown

__all__ = ["NoCommitError", "commit_of", "team_at"]

_COMMIT = re.compile(r"[0-9a-f]{40,64}")

# What is no file of its own in a revision: a link, another repository.
_REGULAR = ("100644", "100755", "100664")


class NoCommitError(PathError):
    """A revision names no commit; the message says what git has to say of it."""


class _Entry(NamedTuple):
    """A file in a revision: its name from the team's root, git's id of its content, its size."""

    name: PurePosixPath
    mode: str
    blob: str
    size: int


def commit_of(root: Path, revision: str) -> str:
    """Return the id of the commit that a revision names in the repository that a root is in.

    Raises NoCommitError where it names none, another PathError where there is no repository.
    """
    top = _top(root)
    if not revision or revision.startswith("-") or "\0" in revision:
        raise NoCommitError("no commit is written so")
    named = f"{revision}^{{commit}}"
    try:
        found = git(top, "rev-parse", "--verify", "--end-of-options", named)
    except RefusedError as error:
        raise NoCommitError(error.said) from None
    except PathError:
        raise NoCommitError("no commit is written so") from None
    # an older git repeats --end-of-options; ^REV is not a commit but all that it does not lead to
    last = found[0].split("\n")[-2] if found and found[0].endswith("\n") else ""
    if not _COMMIT.fullmatch(last):
        raise NoCommitError("it is not one commit")
    return last


def team_at(root: Path, commit: str) -> Team:
    """Give the team whose root this is, with its files as they were in a commit.

    As on the disk, hidden folders and roots of other teams below this one are passed over. Links
    are left out. Raises PathError where git cannot say.
    """
    top = _top(root)
    try:
        below = PurePosixPath(root.resolve().relative_to(top.resolve()).as_posix())
    except ValueError:
        raise PathError(f"{shown(str(root))} is not in the repository that git is at") from None
    every = list(_entries(top, commit, below))
    other_roots = {e.name.parent for e in every if e.name.name == SETTINGS}
    ours = [
        entry
        for entry in every
        if entry.mode in _REGULAR
        and is_ours(entry.name.name)
        and not entry.name.name.startswith(".")
        and not passed_over(entry.name, other_roots.__contains__)
    ]
    contents = _contents(top, sorted({e.blob for e in ours if e.size <= LARGEST}))
    held = {
        # one that is too large is not read: that it is so long is all there is to say of it
        root / entry.name: contents.get(entry.blob) or bytes(min(entry.size, 100 * LARGEST))
        for entry in ours
    }
    return Team(root, held, held, on_disk=False)


def _top(root: Path) -> Path:
    # inside a hook git takes the folder that it is called in for the top
    return top_of(Path.cwd() if "GIT_DIR" in os.environ else root)


def _entries(top: Path, commit: str, below: PurePosixPath) -> Iterator[_Entry]:
    for line in git(top, "ls-tree", "-r", "-l", "-z", "--full-tree", commit):
        about, _, name = line.partition("\t")
        mode, _, blob, size = about.split()
        path = PurePosixPath(name)
        if path.is_relative_to(below):
            # - of what is no file, BAD of one that this clone lacks
            yield _Entry(path.relative_to(below), mode, blob, int(size) if size.isdigit() else 0)


def _contents(top: Path, blobs: list[str]) -> dict[str, bytes]:
    """Give the content of each blob, from one process."""
    if not blobs:
        return {}
    answer = git_bytes(top, "cat-file", "--batch", told="".join(f"{b}\n" for b in blobs).encode())
    contents: dict[str, bytes] = {}
    here = 0
    for blob in blobs:
        # ID blob SIZE, a newline, the content, a newline
        end = answer.find(b"\n", here)
        head = answer[here:end].split()
        if len(head) != 3 or head[1] != b"blob":
            raise PathError("git does not hold every file of that revision here")
        start, size = end + 1, int(head[2])
        contents[blob] = answer[start : start + size]
        here = start + size + 1
    return contents

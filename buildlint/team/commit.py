"""What git says of the commit being made, or of a range of commits that a hook runner names."""

from __future__ import annotations

import os
from pathlib import Path

from buildlint.team.git import RefusedError, git_bytes, names_below, without_history
from buildlint.team.revision import NoCommitError, commit_of
from buildlint.text.errors import PathError
from buildlint.text.words import clean

__all__ = ["deleted_files", "in_merge", "judged_elsewhere", "tracked_files"]


def tracked_files(top: Path) -> set[Path]:
    """Return the files that git tracks in a repository, given by its top, submodules included.

    Raises PathError where git cannot say, as the functions below do.
    """
    return {top / name for name in names_below(top, "ls-files", "--recurse-submodules", "-z")}


def deleted_files(top: Path) -> list[Path]:
    """Return the files that the commit being made deletes; of a range of commits, what it deletes.

    A renamed file counts as one deleted and one new.
    """
    ends = _range()
    try:
        if ends:
            since, until = (_known(top, end) for end in ends)
            asked = ["diff-tree", "-r", _merge_base(top, since, until), until]
        else:
            asked = ["diff-index", "--cached", commit_of(top, "HEAD")]
    except NoCommitError:
        return []  # the first commit deletes nothing
    plain = ("--name-only", "--no-ext-diff", "--no-textconv")
    deleted = ("--diff-filter=D", "--no-renames", "-z")
    return [top / name for name in names_below(top, asked[0], *plain, *deleted, *asked[1:], "--")]


def in_merge(top: Path) -> bool:
    """Return whether a merge is being committed by hand: a hook runner then names few files."""
    try:
        commit_of(top, "MERGE_HEAD")
    except NoCommitError:
        return False
    return True


def judged_elsewhere(top: Path) -> str | None:
    """Return the end of the range where that is not what is checked out, so not on the disk."""
    ends = _range()
    return ends[1] if ends and _known(top, ends[1]) != _known(top, "HEAD") else None


def _range() -> tuple[str, str] | None:
    since, until = (os.environ.get(f"PRE_COMMIT_{end}_REF", "") for end in ("FROM", "TO"))
    return (since, until) if since and until else None


def _known(top: Path, end: str) -> str:
    try:
        return commit_of(top, end)
    except NoCommitError as error:
        what = f"git does not know {clean(end)} here ({error})"
        raise PathError(f"{what}{without_history(top)}") from None


def _merge_base(top: Path, since: str, until: str) -> str:
    """Return where a branch left the other; the other itself where they have nothing in common."""
    try:
        return git_bytes(top, "merge-base", since, until).decode("ascii").split()[0]
    except RefusedError:
        return since

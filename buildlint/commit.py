"""What git knows: which files it tracks, and which of them a commit changes."""

from __future__ import annotations

import os
from functools import cache
from pathlib import Path, PurePath

from buildlint.errors import PathError
from buildlint.files.names import is_ours, like_toml
from buildlint.files.unnamed import kind_held, may_hold
from buildlint.folders import find_root, passed_over
from buildlint.git import git, top_of, without_history
from buildlint.settings import OWN, SETTINGS
from buildlint.words import clean

__all__ = ["changed_in_commit", "differs_from_staged", "in_range", "tracked_files"]


def tracked_files(root: Path, others: bool = False) -> list[Path]:
    """Give the files of the team that git tracks; raises PathError where git cannot say.

    As on the disk, what is hidden and roots of other teams below this one are passed over. With
    `others`, also those that may hold what is ours though no name says so.
    """
    # asked from the top: inside a hook git takes the folder that it is called in for the top
    top = top_of(Path.cwd())
    if not root.is_relative_to(top):
        top = top_of(root)
    names = git(top, "ls-files", "-z")
    last = ((name, name.rpartition("/")[2]) for name in names)
    found = (top / name for name, end in last if is_ours(end) or (others and may_hold(end)))

    @cache
    def is_root(folder: PurePath) -> bool:
        return (root / folder / SETTINGS).exists()

    return [
        path
        for path in found
        if path.is_relative_to(root)
        and not passed_over(path.relative_to(root), is_root)
        and os.path.lexists(path)
    ]


def changed_in_commit(folder: Path) -> list[Path]:
    """Give the files that the commit being made changes or deletes, or the whole repository.

    In a run over a range of commits, as a hook runner makes it, those of the range. Where nothing
    is staged, as in a run over all files, the repository's own folder. Only files that matter here
    are given; with settings that are new also those of the team around, which may have lost what
    is below them. Raises PathError where the folder is in no git repository.
    """
    top = top_of(folder)
    since, until = _range()
    # a renamed file counts as one deleted and one new
    listing = ("diff", "--name-only", "--no-renames", "-z")
    if since and until:
        from buildlint.revision import commit_of

        if not since.strip("0"):
            return [top]  # a branch that is new: all of it
        if since.startswith("-") or until.startswith("-"):
            raise PathError("the range of commits to judge is not written as git names commits")
        for end in (since, until):
            if commit_of(top, end) is None:
                raise PathError(f"git does not know {clean(end)} here{without_history(top)}")
        which: tuple[str, ...] = (since, until, "--")
    else:
        which = ("--cached",)
    names = git(top, *listing, *which)
    if not names and which == ("--cached",):
        return [top]
    found = [top / name for name in names if _matters(name) or _holds_ours(top / name, top)]
    for name in git(top, *listing, "--diff-filter=A", *which):
        path = top / name
        if path.name == SETTINGS and path.parent != top:
            found.append(find_root(path.parent.parent) / SETTINGS)
    return list(dict.fromkeys(found))


def in_range() -> bool:
    """Say whether a hook runner judges commits that are made already: a range of them."""
    return all(_range())


def _range() -> tuple[str, str]:
    since, until = (os.environ.get(f"PRE_COMMIT_{end}_REF", "") for end in ("FROM", "TO"))
    return since, until


def differs_from_staged(folder: Path) -> list[str]:
    """Give the files that matter here and stand otherwise on disk than what is staged of them."""
    # "git diff" would write into the index; a renamed file counts as one deleted and one new
    status = ("status", "--porcelain", "-z", "--untracked-files=no", "--ignore-submodules=all")
    found = git(top_of(folder), "-c", "status.renames=false", "-c", "diff.renames=false", *status)
    # XY NAME: X is how what is staged differs from what was committed, Y the file from that
    return [entry[3:] for entry in found if entry[1] != " " and _matters(entry[3:])]


def _holds_ours(path: Path, top: Path) -> bool:
    return may_hold(path.name) and kind_held(path, top) is not None


def _matters(name: str) -> bool:
    path = Path(name)
    own_rule = OWN in map(str.casefold, path.parts[:-1]) and like_toml(path.name)
    return is_ours(path.name) or path.name == SETTINGS or own_rule

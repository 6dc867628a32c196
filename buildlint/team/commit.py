"""What git knows: which files it tracks, and which of them a commit changes."""

from __future__ import annotations

import os
from functools import cache
from pathlib import Path, PurePath
from typing import NamedTuple

from buildlint.files.names import is_ours, like_toml, meant_rule
from buildlint.files.settings import OWN, SETTINGS
from buildlint.team.folders import find_root, passed_over
from buildlint.team.git import git_bytes, names_below, top_of, without_history
from buildlint.team.index import as_staged, entries
from buildlint.text.errors import PathError
from buildlint.text.words import clean

__all__ = [
    "Unseen",
    "changed_in_commit",
    "differs_from_staged",
    "in_range",
    "tracked_files",
    "unseen",
]


class Unseen(NamedTuple):
    """Files that git tracks and that are judged otherwise than one would think, or not at all."""

    #: Below a name that begins with a dot: not judged.
    hidden: list[Path]
    #: Not on the disk, and git was told not to put them there.
    left_out: list[Path]
    #: Not on the disk as they were added, and git was told not to look.
    changed: list[Path]


def tracked_files(root: Path) -> list[Path]:
    """Return the files of the team that git tracks; raises PathError where git cannot say.

    As on the disk, what is hidden and roots of other teams below this one are passed over.
    """
    # asked from the top: inside a hook git takes the folder that it is called in for the top
    top = top_of(Path.cwd())
    if not root.is_relative_to(top):
        top = top_of(root)
    names = names_below(top, "ls-files", "-z")
    found = (top / name for name in names if like_toml(name))

    @cache
    def is_root(folder: PurePath) -> bool:
        return (root / folder / SETTINGS).exists()

    return [
        path
        for path in found
        if path.is_relative_to(root)
        and (is_ours(path.name) or meant_rule(path.relative_to(root)) is not None)
        and not passed_over(path.relative_to(root), is_root)
        and os.path.lexists(path)
    ]


def changed_in_commit(folder: Path) -> list[Path]:
    """Return the files that the commit being made changes or deletes, or the whole repository.

    In a run over a range of commits, as a hook runner makes it, those of the range. Where nothing
    is staged, as in a run over all files, the repository's own folder. Only files that matter here
    are given; with settings that are new also those of the team around, which may have lost what
    is below them. Raises PathError where the folder is in no git repository.
    """
    top = top_of(folder)
    since, until = _range()
    if since and until:
        from buildlint.team.revision import NoCommitError, commit_of

        if not since.strip("0"):
            return [top]  # a branch that is new: all of it
        if since.startswith("-") or until.startswith("-"):
            raise PathError("the range of commits to judge is not written as git names commits")
        for end in (since, until):
            try:
                commit_of(top, end)
            except NoCommitError as error:
                what = f"git does not know {clean(end)} here ({error})"
                raise PathError(f"{what}{without_history(top)}") from None
        which: tuple[str, ...] = ("diff-tree", "-r", since, until)
    else:
        which = ("diff-index", "--cached", "--ita-invisible-in-index", _base(top))
    names = _changed(top, which)
    if not names and which[0] == "diff-index":
        return [top]
    found = [top / name for name in names if _matters(name)]
    for name in _changed(top, which, "--diff-filter=A"):
        path = top / name
        if path.name == SETTINGS and path.parent != top:
            found.append(find_root(path.parent.parent) / SETTINGS)
    return list(dict.fromkeys(found))


def in_range() -> bool:
    """Return whether a hook runner judges commits that are made already: a range of them."""
    return all(_range())


def _range() -> tuple[str, str]:
    since, until = (os.environ.get(f"PRE_COMMIT_{end}_REF", "") for end in ("FROM", "TO"))
    return since, until


def _base(top: Path) -> str:
    """Return what a commit being made is compared with: the last one, or nothing at all."""
    from buildlint.team.revision import NoCommitError, commit_of

    try:
        return commit_of(top, "HEAD")
    except NoCommitError:
        return git_bytes(top, "hash-object", "-t", "tree", "--stdin").decode("ascii").strip()


def _changed(top: Path, which: tuple[str, ...], *more: str) -> list[str]:
    # a renamed file counts as one deleted and one new
    plain = ("--name-only", "--no-renames", "--no-ext-diff", "--no-textconv", "-z", *more)
    return names_below(top, which[0], *plain, *which[1:], "--")


def differs_from_staged(folder: Path) -> list[str]:
    """Return the files that matter here and stand otherwise on disk than what is staged of them.

    Those that git was told not to look at are not among them: `unseen` has them.
    """
    top = top_of(folder)
    looked_at = (e for e in entries(top) if not e.flagged and _matters(e.name))
    return list(dict.fromkeys(e.name for e in looked_at if not as_staged(e, top)))


def unseen(folder: Path) -> Unseen:
    """Return what git tracks below a folder and a reader of a report would not know of.

    Raises PathError where git cannot say.
    """
    found = Unseen([], [], [])
    for entry in entries(folder):
        parts = PurePath(entry.name).parts
        if any(part.startswith(".") for part in parts):
            if is_ours(parts[-1]):
                found.hidden.append(entry.path)
        elif entry.flagged and _matters(entry.name):
            if not os.path.lexists(entry.path):
                found.left_out.append(entry.path)
            elif not as_staged(entry, folder):
                found.changed.append(entry.path)
    return found


def _matters(name: str) -> bool:
    path = Path(name)
    own_rule = OWN in map(str.casefold, path.parts[:-1]) and like_toml(path.name)
    return is_ours(path.name) or path.name == SETTINGS or own_rule

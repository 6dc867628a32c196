"""Ask git: one command after another, in no way that lets anyone's settings run something.

A repository's settings, which a stranger may have written, name programs for many occasions. Only
commands that have no such occasion are used: none that compares with the files on the disk, for it
would run filters over them, none that shows what differs, none that writes.
"""

from __future__ import annotations

import os
from pathlib import Path, PurePath

from buildlint.text.errors import PathError
from buildlint.text.words import clean

__all__ = [
    "RefusedError",
    "git",
    "git_bytes",
    "names_below",
    "stays_below",
    "top_of",
    "without_history",
]

# No hook, no pager, no helper that watches files; and no folder of files is taken for a repository
# because it looks like the inside of one.
_PLAIN = (
    "--no-pager",
    *("-c", "core.fsmonitor=false"),
    *("-c", f"core.hooksPath={os.devnull}"),
    *("-c", "safe.bareRepository=explicit"),
)
# Nothing is fetched for what is not there: an older git knows only the second of the two. And
# nothing is written: not even into the index what was found out about files.
_ALONE = {
    "GIT_NO_LAZY_FETCH": "1",
    "GIT_ALLOW_PROTOCOL": "none",
    "GIT_TERMINAL_PROMPT": "0",
    "GIT_OPTIONAL_LOCKS": "0",
}
# What a hook, a build server or a user tells git of where a repository is, whom to trust and who
# commits. Every other variable of git's is left out: many name a program, or a file to write to.
_PASSED_ON = (
    *("GIT_DIR", "GIT_WORK_TREE", "GIT_INDEX_FILE", "GIT_COMMON_DIR", "GIT_OBJECT_DIRECTORY"),
    *("GIT_ALTERNATE_OBJECT_DIRECTORIES", "GIT_NAMESPACE", "GIT_SHALLOW_FILE", "GIT_EXEC_PATH"),
    *("GIT_CEILING_DIRECTORIES", "GIT_DISCOVERY_ACROSS_FILESYSTEM", "GIT_DEFAULT_HASH"),
    *("GIT_CONFIG", "GIT_AUTHOR", "GIT_COMMITTER", "GIT_TEST_ASSUME_DIFFERENT_OWNER"),
)
# More of what git says is no help.
_LONGEST = 500


class RefusedError(PathError):
    """Git is there and refuses; what it says of it is in `said`, fit to be shown."""

    def __init__(self, what: str, said: str) -> None:
        """Take what to tell a user, and git's own words."""
        self.said = f"git says: {said}" if said else "git refuses"
        super().__init__(f"{what}: {self.said}")


def git(folder: Path, *words: str) -> list[str]:
    """Return what git answers, as a list of the names that it ends with a NUL each.

    Raises PathError where git is not there or does not know.
    """
    return [name for name in os.fsdecode(git_bytes(folder, *words)).split("\0") if name]


def names_below(folder: Path, *words: str) -> list[str]:
    """Return the names of files that git answers, without those that lead out of the folder."""
    return [name for name in git(folder, *words) if stays_below(name)]


def stays_below(name: str) -> bool:
    """Say whether a name that git gives leads to no other folder than it is seen from.

    Git itself writes no other, but whoever makes an index or a commit by hand can.
    """
    path = PurePath(name)
    return not path.anchor and ".." not in path.parts


def git_bytes(folder: Path, *words: str, told: bytes = b"") -> bytes:
    """Return what git answers as it stands; `told` is what it reads from its standard input.

    Raises PathError where git is not there or does not know, with git's own words.
    """
    import subprocess

    nowhere = f"{clean(str(folder))} is in no git repository that can be read"
    try:
        done = subprocess.run(
            [_program(), *_PLAIN, *words],
            cwd=folder,
            env=_environment(folder),
            input=told,
            capture_output=True,
            check=True,
        )
    except FileNotFoundError:
        raise PathError("git is not installed, or the folder is gone") from None
    except subprocess.CalledProcessError as error:
        raise RefusedError(nowhere, _said(error.stderr)) from None
    except (OSError, ValueError):
        raise PathError(nowhere) from None
    return done.stdout


def _program() -> str:
    """Return the path of git; one that lies in the working folder is not taken.

    Left to itself, Windows looks there first; others do where PATH says so.
    """
    for folder in filter(os.path.isabs, os.get_exec_path()):
        for name in ("git.exe", "git") if os.name == "nt" else ("git",):
            path = Path(folder, name)
            if path.is_file() and os.access(path, os.X_OK):
                return str(path)
    raise FileNotFoundError


def _environment(folder: Path) -> dict[str, str]:
    kept = {
        name: value
        for name, value in os.environ.items()
        if not name.startswith("GIT_") or name.startswith(_PASSED_ON)
    }
    return {**kept, **_ALONE, **_of_hook(folder)}


def _of_hook(folder: Path) -> dict[str, str]:
    """Return where the repository is, where a hook's variables say it for the top folder only.

    There git sets GIT_DIR, often as seen from the top, and without GIT_WORK_TREE it would take any
    folder below for the top.
    """
    given = os.environ.get("GIT_DIR")
    if not given or "GIT_WORK_TREE" in os.environ:
        return {}
    folder = Path(os.path.abspath(folder))  # noqa: PTH100 - resolve() would follow links
    top = next((here for here in (folder, *folder.parents) if os.path.lexists(here / ".git")), None)
    if top is None or not _same(top / given, _git_folder(top / ".git")):
        return {}
    at = {"GIT_DIR": str(top / given), "GIT_WORK_TREE": str(top)}
    if index := os.environ.get("GIT_INDEX_FILE"):
        at["GIT_INDEX_FILE"] = str(top / index)
    return at


def _git_folder(mark: Path) -> Path:
    """Return the folder that a `.git` stands for: itself, or the one that the file names."""
    try:
        named = mark.read_text(encoding="utf-8") if mark.is_file() else ""
    except (OSError, ValueError):
        return mark
    return mark.parent / named.removeprefix("gitdir:").strip() if named else mark


def _same(one: Path, other: Path) -> bool:
    try:
        return one.samefile(other)
    except (OSError, ValueError):
        return False


def _said(told: bytes) -> str:
    """Return what git said when it refused, on one line, fit to be shown."""
    lines = told.decode("utf-8", "replace").splitlines()
    words = " ".join(line.strip().removeprefix("fatal: ") for line in lines if line.strip())
    return clean(words if len(words) <= _LONGEST else f"{words[: _LONGEST - 1]}…")


def top_of(folder: Path) -> Path:
    """Return the top folder of the git repository that a folder is in."""
    top = Path(git(folder, "rev-parse", "--show-toplevel")[0].removesuffix("\n"))
    if not {"GIT_DIR", "GIT_WORK_TREE"} & set(os.environ) and not os.path.lexists(top / ".git"):
        # by its settings a repository may say that its files are anywhere
        what = "is not where its git repository is"
        raise PathError(f"{clean(str(top))} {what}: its settings say core.worktree")
    return top


def without_history(folder: Path) -> str:
    """Return the hint at why git does not know a commit: in a clone made without its history."""
    try:
        shallow = git(folder, "rev-parse", "--is-shallow-repository") == ["true\n"]
    except PathError:
        shallow = False
    return ": was this clone made without its history?" if shallow else ""

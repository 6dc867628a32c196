"""Ask git: one command after another, in no way that lets anyone's settings run something."""

from __future__ import annotations

import os
from pathlib import Path

from buildlint.errors import PathError
from buildlint.words import clean

__all__ = ["git", "git_bytes", "top_of", "without_history"]

# No pager, no helper that watches files, nothing fetched from elsewhere for what is not there, and
# nothing written on the way: not even into the index what was found out about files.
_PLAIN = ("--no-pager", "-c", "core.fsmonitor=false")
_ALONE = {"GIT_NO_LAZY_FETCH": "1", "GIT_TERMINAL_PROMPT": "0", "GIT_OPTIONAL_LOCKS": "0"}


def git(folder: Path, *words: str) -> list[str]:
    """Give what git answers, as a list of the names that it ends with a NUL each.

    Raises PathError where git is not there or does not know.
    """
    return [name for name in os.fsdecode(git_bytes(folder, *words)).split("\0") if name]


def git_bytes(folder: Path, *words: str, told: bytes = b"") -> bytes:
    """Give what git answers as it stands; `told` is what it reads from its standard input.

    Raises PathError where git is not there or does not know.
    """
    import subprocess

    try:
        done = subprocess.run(
            ["git", *_PLAIN, *words],
            cwd=folder,
            env={**os.environ, **_ALONE},
            input=told,
            capture_output=True,
            check=True,
        )
    except FileNotFoundError:
        raise PathError("git is not installed, or the folder is gone") from None
    except (OSError, ValueError, subprocess.CalledProcessError):
        what = f"{clean(str(folder))} is in no git repository that can be read"
        raise PathError(what) from None
    return done.stdout


def top_of(folder: Path) -> Path:
    """Give the top folder of the git repository that a folder is in."""
    return Path(git(folder, "rev-parse", "--show-toplevel")[0].removesuffix("\n"))


def without_history(folder: Path) -> str:
    """Give the hint at why git does not know a commit: in a clone made without its history only."""
    try:
        shallow = git(folder, "rev-parse", "--is-shallow-repository") == ["true\n"]
    except PathError:
        shallow = False
    return ": was this clone made without its history?" if shallow else ""

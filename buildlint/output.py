"""Where a report goes: to whoever called, or into a file, whole or not at all."""

from __future__ import annotations

import os
import sys
from pathlib import Path

from buildlint.errors import PathError
from buildlint.files.reader import is_ours
from buildlint.settings import OWN, SETTINGS
from buildlint.words import clean

__all__ = ["deliver"]


def deliver(report: str, output: str | None) -> None:
    """Print the report, or write it to a file whole or not at all.

    Raises PathError for a file of the team's, which no report may write over; OSError where it
    cannot be written.
    """
    if output is None:
        sys.stdout.write(report)
        return
    import tempfile

    target = Path(os.path.realpath(output))
    if any(_is_of_a_team(path) for path in (target, Path(os.path.abspath(output)))):  # noqa: PTH100
        raise PathError(f"-o {clean(output)} would write over a file of the team's")
    if target.exists() and not target.is_file():
        # a pipe or a device has nothing to keep, and is not to be replaced by a file
        with target.open("w", encoding="utf-8") as stream:
            stream.write(report)
        return
    try:
        handle, name = tempfile.mkstemp(dir=target.parent, prefix=".buildlint-")
    except OSError as error:
        raise OSError(error.errno, error.strerror, output) from None
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(report)
            file.flush()
            os.fsync(file.fileno())
        Path(name).chmod(_mode_for(target))
        os.replace(name, target)  # noqa: PTH105
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def _is_of_a_team(path: Path) -> bool:
    # on many disks, capitals make no other file
    *folders, name = (part.casefold() for part in path.parts)
    own_rule = OWN in folders and name.endswith(".toml")
    return is_ours(name) or name == SETTINGS or own_rule


def _mode_for(target: Path) -> int:
    """Give the rights that a file has, or those that a new one gets."""
    if target.exists():
        return target.stat().st_mode & 0o777
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask

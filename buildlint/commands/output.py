"""Where a report goes: to whoever called, or into a file, whole or not at all."""

from __future__ import annotations

import os
import sys
from pathlib import Path

from buildlint.commands.signals import undisturbed
from buildlint.files.names import is_ours
from buildlint.files.settings import OWN, SETTINGS
from buildlint.text.errors import PathError
from buildlint.text.words import clean, seen_from_here

__all__ = ["deliver", "write_new"]


def deliver(report: str, output: str | None) -> None:
    """Print the report, or write it to a file whole or not at all.

    Raises PathError for a file of the team's, which no report may write over; OSError with the
    name of the file where it cannot be written, BrokenPipeError where nobody reads what is printed.
    """
    if output is None:
        _print(report)
        return
    target = Path(os.path.realpath(output))
    if any(_is_of_a_team(path) for path in (target, Path(os.path.abspath(output)))):  # noqa: PTH100
        raise PathError(f"-o {clean(output)} would write over a file of the team's")
    try:
        if target.exists() and not target.is_file():
            # a pipe or a device has nothing to keep, and is not to be replaced by a file
            with target.open("w", encoding="utf-8") as stream:
                stream.write(report)
        else:
            with undisturbed():
                _write(report, target)
    except OSError as error:
        # the name that was asked for, not that of something in between
        raise OSError(error.errno, error.strerror, output) from None


def write_new(text: str, target: Path) -> None:
    """Write a file that is not there yet, whole or not at all; a text keeps its line endings.

    Raises PathError where it is there, OSError with its name where it cannot be written.
    """
    try:
        with undisturbed(), target.open("x", encoding="utf-8", newline="") as file:
            try:
                file.write(text)
                file.flush()
            except BaseException:
                target.unlink()
                raise
    except FileExistsError:
        said = f"{clean(seen_from_here(target))} is there already, and nothing is written over"
        raise PathError(said) from None
    except OSError as error:
        # a full disk does not say which file
        raise OSError(error.errno, error.strerror, str(target)) from None


def _print(report: str) -> None:
    if not report:
        return  # so nothing is lost where it cannot be written
    try:
        sys.stdout.write(report)
        sys.stdout.flush()
    except BrokenPipeError:
        raise
    except OSError as error:
        raise OSError(error.errno, error.strerror, "standard output") from None


def _write(report: str, target: Path) -> None:
    """Write a file beside the target, which takes its place once it is whole."""
    import tempfile

    if target.exists():
        # what nobody may write to is not to be replaced either
        os.close(os.open(target, os.O_WRONLY))
    handle, name = tempfile.mkstemp(dir=target.parent, prefix=".buildlint-")
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
    """Return the rights that a file has, or those that a new one gets."""
    if target.exists():
        return target.stat().st_mode & 0o777
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask

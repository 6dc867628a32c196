"""A team's own settings and rules: buildlint.toml, and rules/ beside it."""

from __future__ import annotations

import os
from pathlib import Path

import tomli

from buildlint.errors import SettingsError
from buildlint.words import clean

__all__ = ["SETTINGS", "check_settings"]

#: The file of a team's own settings; where it stands is the root.
SETTINGS = "buildlint.toml"

_LARGEST = 1_000_000


def check_settings(root: Path) -> None:
    """Refuse settings that this version cannot follow, rather than judge as if they were not there.

    A team's own limits, concessions and rules are not supported yet. Raises SettingsError.
    """
    path = root / SETTINGS
    if not os.path.lexists(path):
        return
    if not path.is_file():
        raise SettingsError(f"{path}:1:1: is not a file that can be read")
    if path.is_symlink() and not path.resolve().is_relative_to(root.resolve()):
        raise SettingsError(f"{path}:1:1: is a link that leads out of the repository")
    try:
        too_large = path.stat().st_size > _LARGEST
        raw = {} if too_large else tomli.loads(path.read_bytes().decode("utf-8-sig"))
    except OSError as error:
        raise SettingsError(f"{path}:1:1: cannot be read: {error.strerror}") from None
    except tomli.TOMLDecodeError as error:
        raise SettingsError(f"{path}:{error.lineno}:{error.colno}: {error.msg}") from None
    except UnicodeDecodeError:
        raise SettingsError(f"{path}:1:1: is not UTF-8 text that can be read") from None
    except (ValueError, RecursionError):
        what = "is nested too deeply, or holds a number too long to be one"
        raise SettingsError(f"{path}:1:1: {what}") from None
    if too_large:
        raise SettingsError(f"{path}:1:1: is larger than {_LARGEST:,} bytes")
    own = root / "rules"
    if raw:
        keys = ", ".join(map(clean, raw))
        raise SettingsError(f"{path}:1:1: {keys}: a team's own settings cannot be followed yet")
    if own.is_dir() and any(own.rglob("*.toml")):
        raise SettingsError(f"{own}: a team's own rules cannot be followed yet")

"""A TOML file that has to be read whole, such as settings or a rule: one mistake refuses it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import tomli

from buildlint.errors import RulebookError, SettingsError
from buildlint.words import stands_at

__all__ = ["read_toml"]


def read_toml(
    path: Path, largest: int, error: type[SettingsError | RulebookError]
) -> tuple[bytes, dict[str, Any]]:
    """Give the bytes of a file and the table that it holds.

    Raises `error` with the place and what is wrong, where it cannot be read or has more bytes than
    `largest`.
    """

    def refused(what: str, line: int = 1, column: int = 1) -> SettingsError | RulebookError:
        return error([f"{stands_at(path, line, column)}: {what}"])

    try:
        if not path.is_file():
            raise refused("is not a file that can be read")
        if path.stat().st_size > largest:
            raise refused(f"is larger than {largest:,} bytes")
        data = path.read_bytes()
        return data, tomli.loads(data.decode("utf-8-sig"))
    except (SettingsError, RulebookError):
        raise
    except OSError as fault:
        raise refused(f"cannot be read: {fault.strerror}") from None
    except tomli.TOMLDecodeError as fault:
        raise refused(fault.msg, fault.lineno, fault.colno) from None
    except UnicodeDecodeError as fault:
        from buildlint.files.places import line_and_column

        place = line_and_column(fault.object, fault.start)
        raise refused("is not text in UTF-8: save the file as UTF-8", *place) from None
    except (ValueError, RecursionError):
        what = "has brackets inside brackets too deep, or a number with too many digits"
        raise refused(what) from None

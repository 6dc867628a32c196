"""A TOML file that has to be read whole, such as settings or a rule: one mistake refuses it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import tomli

from buildlint.text.errors import RulebookError, SettingsError
from buildlint.text.words import stands_at

__all__ = ["read_toml"]


def read_toml(
    path: Path, largest: int, error: type[SettingsError | RulebookError]
) -> tuple[bytes, dict[str, Any]]:
    """Return the bytes of a file and the table that it holds.

    Raises `error` with the place and what is wrong, where it cannot be read or has more bytes than
    `largest`; every broken line is told.
    """

    def refused(what: str, line: int = 1, column: int = 1) -> SettingsError | RulebookError:
        return error([f"{stands_at(path, line, column)}: {what}"])

    try:
        if not path.is_file():
            raise refused("is not a file that can be read")
        if path.stat().st_size > largest:
            raise refused(f"is larger than {largest:,} bytes")
        data = path.read_bytes()
        text = data.decode("utf-8-sig")
        return data, tomli.loads(text)
    except (SettingsError, RulebookError):
        raise
    except OSError as fault:
        raise refused(f"cannot be read: {fault.strerror}") from None
    except tomli.TOMLDecodeError:
        raise error(_broken_lines(path, text)) from None
    except UnicodeDecodeError as fault:
        from buildlint.files.places import line_and_column

        place = line_and_column(fault.object, fault.start)
        raise refused("is not text in UTF-8: save the file as UTF-8", *place) from None
    except (ValueError, RecursionError):
        what = "has brackets inside brackets too deep, or a number with too many digits"
        raise refused(what) from None


def _broken_lines(path: Path, text: str) -> list[str]:
    """Return what is wrong with each broken line, in the words that a team's files have for it."""
    from buildlint.files.broken import past_broken_lines
    from buildlint.files.fault import Fault
    from buildlint.files.places import START

    faults: list[Fault] = []
    past_broken_lines(text, faults)
    places = [fault.place or START for fault in faults]
    return [
        f"{stands_at(path, place.line, place.column)}: {fault.message}"
        for place, fault in zip(places, faults, strict=True)
    ]

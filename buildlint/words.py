"""A user's text made fit to be shown: short, on one line, with nothing that a terminal obeys."""

from __future__ import annotations

import difflib
import os
from collections.abc import Iterable
from functools import lru_cache
from pathlib import Path

__all__ = ["clean", "nearest", "seen_from_here", "short", "shown", "stands_at"]

_LONGEST_SHOWN = 40


def clean(text: str) -> str:
    r"""Replace what is not printable by its escape, so that no text can steer a terminal.

    >>> clean("a\x1b[31mb")
    'a\\x1b[31mb'
    """
    if text.isprintable():
        return text
    return "".join(
        c if c.isprintable() else c.encode("unicode_escape").decode("ascii") for c in text
    )


def short(text: str) -> str:
    """Give the text fit to be shown, cut where it is long.

    >>> short("hold_back"), len(short("x" * 100_000))
    ('hold_back', 40)
    """
    return clean(text if len(text) <= _LONGEST_SHOWN else f"{text[: _LONGEST_SHOWN - 1]}…")


def shown(text: str) -> str:
    """Give the text in double quotes, cut where it is long.

    >>> shown("6.4 mn")
    '"6.4 mn"'
    >>> len(shown("x" * 100_000))
    42
    """
    return f'"{short(text)}"'


def nearest(word: str, known: Iterable[str], alike: float = 0.6) -> str | None:
    """Give the known word that is nearest to a misspelt one, or None where none is near.

    >>> nearest("holdback", ["hold_back", "rebound"])
    'hold_back'
    """
    if len(word) > _LONGEST_SHOWN:
        return None
    near = difflib.get_close_matches(word, list(known), 1, alike)
    return near[0] if near else None


def seen_from_here(path: Path) -> str:
    """Give a path as seen from the working directory, with forward slashes."""
    here = os.getcwd()  # noqa: PTH109 - as text
    if path.name in ("", "..") or here.startswith(str(path)):
        return _from(str(path), here)
    return f"{_from(str(path.parent), here)}/{path.name}".removeprefix("./")


@lru_cache(maxsize=1024)
def _from(path: str, here: str) -> str:
    """Give a path as seen from the working directory, which is `here`."""
    try:
        return Path(os.path.relpath(path)).as_posix()
    except ValueError:  # another drive
        return Path(path).as_posix()


def stands_at(path: Path, line: int = 1, column: int = 1) -> str:
    """Give a place as FILE:LINE:COL, fit to be shown."""
    return f"{clean(seen_from_here(path))}:{line}:{column}"

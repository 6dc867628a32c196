"""A user's text made fit to be shown: short, on one line, with nothing that a terminal obeys."""

from __future__ import annotations

import difflib
import os
import re
from collections.abc import Callable, Iterable, Sequence
from functools import lru_cache
from pathlib import Path

__all__ = [
    "MOST_LOOKED_THROUGH",
    "clean",
    "counted",
    "fit",
    "in_toml",
    "listed",
    "meant_for",
    "nearest",
    "s_of",
    "seen_from_here",
    "short",
    "shown",
    "stands_at",
]

#: Where many files may each ask which id was meant, it is looked among so many ids at most:
#: beyond that it would take minutes.
MOST_LOOKED_THROUGH = 500

_LONGEST_SHOWN = 40

_IN_TOML = {"\\": "\\\\", '"': '\\"', "\n": "\\n", "\t": "\\t", "\r": "\\r"}

# What prints, and yet is not to be shown as it is. A build server that shows a report obeys a line
# that begins with :: and ##word[ anywhere; a text may be broken into lines at any blank. And signs
# that take no room, so that two ids would look the same.
_STEERS = re.compile(
    r"(?<!\S)::|##(?=\w*\[)"
    "|[\u034f\u115f\u1160\u17b4\u17b5\u180b-\u180f\u3164\ufe00-\ufe0f\uffa0\U000e0100-\U000e01ef]"
)


def clean(text: str) -> str:
    r"""Replace by its escape what could steer a terminal or a build server, or does not show.

    >>> clean("a\x1b[31mb")
    'a\\x1b[31mb'
    >>> print(clean("::error::a ##[b]"))
    \x3a:error::a \x23#[b]
    """
    if text.isprintable():
        # nearly every text: none of what is looked for can be in it
        if text.isascii() and "::" not in text and "##" not in text:
            return text
        if not _STEERS.search(text):
            return text
    return fit(text, _escape)


def fit(text: str, escape: Callable[[str], str]) -> str:
    """Return a text with the escape of every character that is not to be shown as it is."""
    text = _STEERS.sub(lambda found: escape(found[0][0]) + found[0][1:], text)
    return "".join(c if c.isprintable() else escape(c) for c in text)


def in_toml(text: str) -> str:
    r"""Return a text as a basic string of TOML, with an escape for all that does not print.

    >>> print(in_toml('6" \x1b'))
    "6\" \u001b"
    """

    def written(c: str) -> str:
        return f"\\u{ord(c):04x}" if ord(c) < 0x10000 else f"\\U{ord(c):08x}"

    for plain, escaped in _IN_TOML.items():
        text = text.replace(plain, escaped)
    return f'"{fit(text, written)}"'


def _escape(c: str) -> str:
    return f"\\x{ord(c):02x}" if c in ":#" else c.encode("unicode_escape").decode("ascii")


def short(text: str) -> str:
    """Return the text fit to be shown, cut where it is long.

    >>> short("hold_back"), len(short("x" * 100_000))
    ('hold_back', 40)
    """
    return clean(text if len(text) <= _LONGEST_SHOWN else f"{text[: _LONGEST_SHOWN - 1]}…")


def shown(text: str) -> str:
    """Return the text in double quotes, cut where it is long.

    >>> shown("6.4 mn")
    '"6.4 mn"'
    >>> len(shown("x" * 100_000))
    42
    """
    return f'"{short(text)}"'


def listed(words: Sequence[str]) -> str:
    """Put words into a row.

    >>> listed(["cold", "bench", "hot"]), listed(["cold"])
    ('cold, bench and hot', 'cold')
    """
    return " and ".join([", ".join(words[:-1]), words[-1]]) if len(words) > 1 else "".join(words)


def counted(number: int, what: str, form: str = "") -> str:
    """Count things in words; `form` is how the number is written.

    >>> counted(1, "build"), counted(2000, "more mistake", ",")
    ('1 build', '2,000 more mistakes')
    """
    return f"{number:{form}} {what}{'' if number == 1 else 's'}"


def s_of(number: int) -> str:
    """Return the end of a verb of which so many are the subject.

    >>> f"1 must fail{s_of(1)}, 2 musts fail{s_of(2)}"
    '1 must fails, 2 musts fail'
    """
    return "s" if number == 1 else ""


def meant_for(car: str | None, event: str | None) -> str:
    """Say for which car and event a build is.

    >>> meant_for("heron", None)
    'car heron, no event'
    """
    of_car = f"car {clean(car)}" if car else "no car"
    return f"{of_car}, event {clean(event)}" if event else f"{of_car}, no event"


def nearest(word: str, known: Iterable[str], alike: float = 0.6) -> str | None:
    """Return the known word that is nearest to a misspelt one, or None where none is near.

    >>> nearest("holdback", ["hold_back", "rebound"])
    'hold_back'
    """
    if len(word) > _LONGEST_SHOWN:
        return None
    near = difflib.get_close_matches(word, list(known), 1, alike)
    return near[0] if near else None


def seen_from_here(path: Path) -> str:
    """Return a path as seen from the working directory, with forward slashes."""
    try:
        here = os.getcwd()  # noqa: PTH109 - as text
    except OSError:  # it is gone, or may not be looked into
        return path.as_posix()
    if path.name in ("", "..") or here.startswith(str(path)):
        return _from(str(path), here)
    return f"{_from(str(path.parent), here)}/{path.name}".removeprefix("./")


@lru_cache(maxsize=1024)
def _from(path: str, here: str) -> str:
    """Return a path as seen from the working directory, which is `here`."""
    try:
        return Path(os.path.relpath(path)).as_posix()
    except ValueError:  # another drive
        return Path(path).as_posix()


def stands_at(path: Path, line: int = 1, column: int = 1) -> str:
    """Return a place as FILE:LINE:COL, fit to be shown."""
    return f"{clean(seen_from_here(path))}:{line}:{column}"

"""A file whose TOML is broken: each broken line told, what can be read of the rest.

Loaded only for such a file.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

import tomli

from buildlint.files.broken_words import (
    OPEN_HEADER,
    TWICE,
    UNCLOSED_TEXT,
    explained,
    spaced_heading,
    spaced_key,
)
from buildlint.files.fault import Fault
from buildlint.files.places import KeyPath, Place
from buildlint.files.tables import Table, fields_of, table_in

__all__ = ["keys_within", "past_broken_lines"]

# How many broken lines of one file are looked for: fewer in a large one, for it is read again
# for each of them.
_MOST_BROKEN_LINES = 20
_MOST_READ_AGAIN = 4_000_000

# Over so many lines it is looked where a list or text is closed.
_MOST_OVER_LINES = 30

# Patterns stand as text: only a broken file has them compiled.
# A statement that may go on over lines: a key, then a list, a table or long text.
_OPENS = r"""\s*[\w.'"-]+(?:[ \t]+[\w-]+)*\s*=\s*(\[|\{|\"{3}|'{3})"""
# A text in single quotes that its line does not close.
_OPEN_LITERAL = r"""\s*[\w.'"-]+\s*=\s*'[^']*$"""

# A key and its value, where the = is forgotten.
_KEY_AND_VALUE = r"""[A-Za-z_]+\s+["'0-9]"""


@dataclass(frozen=True, slots=True)
class _Break:
    """Where a text breaks: what the parser says, from which line to which, and what stands open.

    `opener` is the line of a list, table or long text that the break stands in. `twice` is a key
    given a second time, `unclosed` a list whose next line is a key of its own.
    """

    what: str
    start: int
    line: int
    column: int
    opener: int | None
    twice: bool
    unclosed: bool


def keys_within(table: type[Table]) -> set[str]:
    """Return every key that a kind of table takes, and those of the tables within it.

    >>> from buildlint.files.models import Car
    >>> {"rear", "seat_gap"} <= keys_within(Car)
    True
    """
    keys: set[str] = set()
    for field in fields_of(table).values():
        keys.add(field.key)
        inside = table_in(field.takes)
        inside = inside["each"] if isinstance(inside, dict) else inside
        if isinstance(inside, type) and issubclass(inside, Table):
            keys |= keys_within(inside)
    return keys


def past_broken_lines(
    text: str, faults: list[Fault], keys: Collection[str] = ()
) -> tuple[dict[str, Any] | None, set[KeyPath], str]:
    """Read a text that breaks: what is wrong goes to `faults`, broken lines are left out.

    Gives the table, the keys that were left out, and the text as it was read in the end, line for
    line; no table where it is not sure what to leave out. `keys` are those that the file may have.
    """
    # newlines as tomli counts them, so that a line left out keeps the count
    lines = text.replace("\r\n", "\n").split("\n")
    lost: set[KeyPath] = set()
    for _ in range(min(_MOST_BROKEN_LINES, 1 + _MOST_READ_AGAIN // len(text))):
        try:
            mended = "\n".join(lines)
            return tomli.loads(mended), lost, mended
        except tomli.TOMLDecodeError as error:
            found = _break_at(error, lines)
        except (RecursionError, ValueError, OverflowError):
            message = "has brackets inside brackets too deep, or a number with too many digits"
            faults.append(Fault("file/not-toml", message))
            break
        faults.append(_fault_of(found, lines, keys))
        if not _leave_out(found, lines, lost, keys):
            break
    return None, lost, ""


def _break_at(error: tomli.TOMLDecodeError, lines: list[str]) -> _Break:
    line = min(max(error.lineno, 1), len(lines))
    column = error.colno
    opener = _opener(lines, line)
    if opener is not None and re.match(_OPEN_LITERAL, lines[opener - 1]):
        # the parser looks for its end as far as the file goes
        column = lines[opener - 1].rindex("'") + 1
        line, opener = opener, None
    what, start, unclosed = error.msg, line, False
    twice = what == TWICE
    if opener is not None:
        opened = lines[opener - 1].partition("=")[2].lstrip()[0]
        # a key and a value inside a list: the list was never closed
        unclosed = opened == "[" and not twice and _key_alone(lines, line) is not None
        what = "Unclosed array" if unclosed else what
        if twice or what in ("Unclosed array", *UNCLOSED_TEXT):
            start = opener
    return _Break(what, start, line, column, opener, twice, unclosed)


def _fault_of(found: _Break, lines: list[str], keys: Collection[str]) -> Fault:
    place, message = explained(found.what, lines, found.start, found.column, keys)
    if found.start != found.line and not found.twice:
        stands = lines[found.start - 1]
        place = Place(found.start, len(stands) - len(stands.lstrip()) + 1, len(stands) + 1)
    return Fault("file/not-toml", message, place=place)


def _leave_out(found: _Break, lines: list[str], lost: set[KeyPath], keys: Collection[str]) -> bool:
    """Take what is broken out of the lines; say whether the rest can be read without it."""
    stands = lines[found.line - 1]
    heading = spaced_heading(found.what, stands, keys) if found.opener is None else None
    if heading is not None:
        # what follows is in the table that is meant
        lines[found.line - 1] = heading[1]
        return True
    before = stands.partition("#")[0].rstrip()
    if found.what == OPEN_HEADER and found.opener is None and not before.endswith("]"):
        # what follows is in that table, whoever left its bracket out
        lines[found.line - 1] = before + "]"
        return True
    key: str | None = None
    if found.twice or found.unclosed:
        key = _key(lines[found.start - 1])
    elif found.opener is None:
        key = _key_alone(lines, found.line)
        spaced = spaced_key(found.what, stands, found.column)
        if spaced is not None and not stands[: spaced[0] - 1].strip():
            key = None if re.match(_OPENS, stands) else spaced[2]
    if key is None:
        return False
    if not found.twice:
        lost.add((*_table_of(lines, found.start), key))
    # the line behind an unclosed list is sound
    last = found.line - 1 if found.unclosed else found.line
    lines[found.start - 1 : last] = [""] * (last - found.start + 1)
    return True


def _opener(lines: list[str], line: int) -> int | None:
    """Return the line that opens the list, table or text that a line is in; None outside one."""
    try:
        tomli.loads("\n".join(lines[: line - 1]))
    except (tomli.TOMLDecodeError, RecursionError, ValueError):
        pass
    else:
        return None
    for above in range(line - 1, 0, -1):
        stands = lines[above - 1]
        opens = re.match(_OPENS, stands) or re.match(_OPEN_LITERAL, stands)
        if opens and not _is_closed(lines, above, line):
            return above
    return None


def _is_closed(lines: list[str], opener: int, line: int) -> bool:
    """Return whether what a line opens is closed before another line."""
    for last in range(opener, min(line, opener + _MOST_OVER_LINES)):
        try:
            tomli.loads("\n".join(lines[opener - 1 : last]))
        except (tomli.TOMLDecodeError, RecursionError, ValueError):
            continue
        return True
    return False


def _table_of(lines: list[str], line: int) -> KeyPath:
    """Return the names of the table that a line stands in; none at the top."""
    for stands in reversed(lines[: line - 1]):
        if stands.lstrip().startswith("["):
            names = stands.partition("#")[0].strip(" \t[]").split(".")
            return tuple(name.strip(" \t\"'") for name in names)
    return ()


def _key_alone(lines: list[str], line: int) -> str | None:
    """Return the key of a line that can be left out by itself: one key, nothing open behind it."""
    stands = lines[line - 1]
    return None if re.match(_OPENS, stands) else _key(stands)


def _key(stands: str) -> str | None:
    key, equals, _ = stands.partition("=")
    key = key.strip()
    if not equals:
        # a key and a value with nothing between them
        key = key.split(None, 1)[0] if re.match(_KEY_AND_VALUE, key) else ""
    return key if key.replace("_", "").replace("-", "").isalnum() else None

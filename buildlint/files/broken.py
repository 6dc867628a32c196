"""A file whose TOML is broken: each broken line told, what can be read of the rest.

Loaded only for such a file.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

import tomli

from buildlint.files.fault import Fault
from buildlint.files.places import KeyPath, Place
from buildlint.files.tables import Table, fields_of, table_in
from buildlint.words import clean, short, shown

__all__ = ["keys_within", "past_broken_lines"]

# How many broken lines of one file are looked for: fewer in a large one, for it is read again
# for each of them.
_MOST_BROKEN_LINES = 20
_MOST_READ_AGAIN = 4_000_000

# Patterns stand as text: only a broken file has them compiled.
# A statement that may go on over lines: a key, then a list, a table or long text.
_OPENS = r"""\s*[\w.'"-]+(?:[ \t]+[\w-]+)*\s*=\s*(\[|\{|\"{3}|'{3})"""
# A text in single quotes that its line does not close.
_OPEN_LITERAL = r"""\s*[\w.'"-]+\s*=\s*'[^']*$"""

# A key and its value, where the = is forgotten.
_KEY_AND_VALUE = r"""[A-Za-z_]+\s+["'0-9]"""


# What a heading with spaces in its name begins with; its bracket may be missing too.
_SPACED_HEADING = r"\s*\[[ \t]*([A-Za-z0-9_.-]+(?:[ \t]+[A-Za-z0-9_-]+)+)[ \t]*(?:\]|$)"

# One with other signs in its name, such as those of a rule's id.
_NAMED_HEADING = r"""\s*\[[ \t]*([A-Za-z0-9_-]+)\.([^\]"']+)\]"""

# So many characters on each side of a place are looked at for the rest of a key.
_LONGEST_KEY = 80


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
    """Give every key that a kind of table takes, and those of the tables within it.

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
            message = "is nested too deeply, or holds a number too long to be one"
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
    twice = what == _TWICE
    if opener is not None:
        opened = lines[opener - 1].partition("=")[2].lstrip()[0]
        # a key and a value inside a list: the list was never closed
        unclosed = opened == "[" and not twice and _key_alone(lines, line) is not None
        what = "Unclosed array" if unclosed else what
        if twice or what in ("Unclosed array", *_UNCLOSED_TEXT):
            start = opener
    return _Break(what, start, line, column, opener, twice, unclosed)


def _fault_of(found: _Break, lines: list[str], keys: Collection[str]) -> Fault:
    place, message = _explain(found.what, lines, found.start, found.column, keys)
    if found.start != found.line and not found.twice:
        stands = lines[found.start - 1]
        place = Place(found.start, len(stands) - len(stands.lstrip()) + 1, len(stands) + 1)
    return Fault("file/not-toml", message, place=place)


def _leave_out(found: _Break, lines: list[str], lost: set[KeyPath], keys: Collection[str]) -> bool:
    """Take what is broken out of the lines; say whether the rest can be read without it."""
    stands = lines[found.line - 1]
    heading = _spaced_heading(found.what, stands, keys) if found.opener is None else None
    if heading is not None:
        # what follows is in the table that is meant
        lines[found.line - 1] = heading[1]
        return True
    before = stands.partition("#")[0].rstrip()
    if found.what == _OPEN_HEADER and found.opener is None and not before.endswith("]"):
        # what follows is in that table, whoever left its bracket out
        lines[found.line - 1] = before + "]"
        return True
    key: str | None = None
    if found.twice or found.unclosed:
        key = _key(lines[found.start - 1])
    elif found.opener is None:
        key = _key_alone(lines, found.line)
        spaced = _spaced_key(found.what, stands, found.column)
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


def _explain(
    what: str, lines: list[str], line: int, column: int, keys: Collection[str]
) -> tuple[Place, str]:
    what = clean(what).removesuffix(".")
    line = min(max(line, 1), len(lines))
    stands = lines[line - 1]
    if what == _TWICE:
        # tomli stops behind the value
        indent = len(stands) - len(stands.lstrip())
        key = stands.partition("=")[0].strip()
        return (
            Place(line, indent + 1, indent + 1 + len(key)),
            f"{short(key)} is given twice in the same table",
        )
    heading = _spaced_heading(what, stands, keys)
    if heading is not None:
        return Place(line, 1, len(stands) + 1), f"a heading has no spaces: {heading[0]}"
    spaced = _spaced_key(what, stands, column)
    if spaced is not None:
        start, end, key = spaced
        advice = f": write {short(key)}" if key in keys else ""
        return Place(line, start, end), f"a key has no spaces{advice}"
    if what.startswith("Cannot declare"):
        return Place(line, 1, len(stands) + 1), f"{short(stands.strip())} is opened twice"
    unquoted = _unquoted(stands) if what in _AT_A_VALUE else None
    if unquoted is not None:
        start, end, advice = unquoted
        return Place(line, start, end), advice
    column = min(column, len(stands) + 1)
    words = _PLAIN_WORDS.get(what, what[:1].lower() + what[1:])
    named = re.match(_NAMED_HEADING, stands) if what == _OPEN_HEADER else None
    if named is not None:
        quoted = f"[{short(named[1])}.{shown(named[2].strip())}]"
        return Place(line, 1, len(stands) + 1), f"put the name in quotes: {quoted}"
    return Place(line, column, min(column + 1, len(stands) + 1)), f"cannot be read: {words}"


def _spaced_key(what: str, stands: str, column: int) -> tuple[int, int, str] | None:
    """Give the place of a key with a space at a column, and the key without; None for others."""
    if what != _NO_EQUALS:
        return None
    before = stands[max(column - 1 - _LONGEST_KEY, 0) : column - 1]
    first = re.search(r"[\w-]+[ \t]+\Z", before)
    rest = re.match(
        r"[\w-]+(?:[ \t]+[\w-]+)*(?=[ \t]*=)", stands[column - 1 : column + _LONGEST_KEY]
    )
    if first is None or rest is None:
        return None
    key = "_".join((first[0] + rest[0]).split()).lower()
    return column - len(first[0]), column + len(rest[0]), key


def _spaced_heading(what: str, stands: str, keys: Collection[str]) -> tuple[str, str] | None:
    """Give how to write a heading with spaces, and a heading that is read as it is meant."""
    if what != _OPEN_HEADER and not what.startswith("Cannot declare"):
        return None
    found = re.match(_SPACED_HEADING, stands)
    if found is None or found[1].count(".") > 1:
        return None  # a figure in a name has a point of its own
    words = re.split(r"([ \t]+)", found[1])
    if len(words) == 3 and words[2] in _ENDS:
        words.reverse()
    first, gap, *rest = words
    if first in keys:
        advice = f"write [{short(f'{first}.' + '-'.join(rest[::2]))}], with a point"
        gap = ".".ljust(len(gap))
    else:
        advice = f"write [{short('-'.join(words[::2]))}]"
        gap = "-" * len(gap)
    name = first + gap + "".join(re.sub(r"[ \t]", "-", word) for word in rest)
    # as long as what stands there, so that every place stays
    return advice, f"{stands[: found.start(1)]}{name}]"


# The ends of a car, which a heading names before the side.
_ENDS = ("front", "rear")

# What the parser says where a key is followed by another word.
_NO_EQUALS = "Expected '=' after a key in a key/value pair"

# What the parser says of a key that has a value already.
_TWICE = "Cannot overwrite a value"

# What the parser says where a value is no text, number or date.
_AT_A_VALUE = (
    "Invalid value",
    "Invalid date or datetime",
    "Expected newline or end of document after a statement",
)

_YEAR_FIRST = r"(?P<year>[0-9]{4})[-/.](?P<month>[0-9]{1,2})[-/.](?P<day>[0-9]{1,2})"
_DAY_FIRST = r"(?P<day>[0-9]{1,2})[-/.](?P<month>[0-9]{1,2})[-/.](?P<year>[0-9]{4})"
_CURLY = str.maketrans("", "", "“”„‟‘’")


def _unquoted(stands: str) -> tuple[int, int, str] | None:
    """Give the place of a value without quotes, and how to write it; None for any other line."""
    key, equals, rest = stands.partition("=")
    value = rest.partition("#")[0].strip()
    if not equals or not value or value[0] in "\"'[{":
        return None
    start = len(key) + 1 + len(rest) - len(rest.lstrip()) + 1
    end = start + len(value)
    key = short(key.strip())
    date = re.fullmatch(_YEAR_FIRST, value) or re.fullmatch(_DAY_FIRST, value)
    if date is not None:
        year, month, day = date["year"], f"{date['month']:>02}", f"{date['day']:>02}"
        if int(month) > 12 >= int(day):
            month, day = day, month
        written = f"{year}-{month}-{day}"
        if value == written:
            return start, end, f"{key}: there is no such date as {value}"
        # which comes first, day or month, only the builder knows
        other = (
            f" or {year}-{day}-{month}"
            if date.re.pattern == _DAY_FIRST and day != month and int(day) <= 12
            else ""
        )
        return start, end, f"{key}: write the date as year-month-day: {written}{other}"
    plain = clean(value.translate(_CURLY))
    plain = plain if len(plain) <= 64 else f"{plain[:40]}…"
    what = "put the reading in quotes" if value[0].isdigit() else "put text in straight quotes"
    return start, end, f'{what}: {key} = "{plain}"'


# What the parser says at the end of the file, inside a text over several lines.
_UNCLOSED_TEXT = ("Unterminated string", "Expected \"'''\"")

# What the parser says of a table's name that is not closed.
_OPEN_HEADER = "Expected ']' at the end of a table declaration"

# What the parser says, for someone who has never heard of it.
_PLAIN_WORDS = {
    **dict.fromkeys(_UNCLOSED_TEXT, "a quote is opened and never closed"),
    'Expected "\'"': "a quote is opened and not closed on the line",
    "Illegal character '\\n'": "a quote is opened and not closed on the line",
    "Invalid value": "this value is neither text in quotes, nor a number, date, list or table",
    _NO_EQUALS: "a key is followed by =, then its value",
    "Expected newline or end of document after a statement": "only one key and value fit on a line",
    _OPEN_HEADER: "a table's name is closed with ]",
    "Unclosed array": "a list is opened with [ and never closed",
    "Unclosed inline table": "a table is opened with { and never closed",
    "Invalid statement": "a line is a key, =, and a value; or a table's name in [ ]",
}


def _opener(lines: list[str], line: int) -> int | None:
    """Give the line that opens the list, table or text in which a line stands; None outside one."""
    try:
        tomli.loads("\n".join(lines[: line - 1]))
    except (tomli.TOMLDecodeError, RecursionError, ValueError):
        pass
    else:
        return None
    for above in range(line - 1, 0, -1):
        if re.match(_OPENS, lines[above - 1]) or re.match(_OPEN_LITERAL, lines[above - 1]):
            return above
    return None


def _table_of(lines: list[str], line: int) -> KeyPath:
    """Give the names of the table that a line stands in; none at the top."""
    for stands in reversed(lines[: line - 1]):
        if stands.lstrip().startswith("["):
            names = stands.partition("#")[0].strip(" \t[]").split(".")
            return tuple(name.strip(" \t\"'") for name in names)
    return ()


def _key_alone(lines: list[str], line: int) -> str | None:
    """Give the key of a line that can be left out by itself: one key, nothing open behind it."""
    stands = lines[line - 1]
    return None if re.match(_OPENS, stands) else _key(stands)


def _key(stands: str) -> str | None:
    key, equals, _ = stands.partition("=")
    key = key.strip()
    if not equals:
        # a key and a value with nothing between them
        key = key.split(None, 1)[0] if re.match(_KEY_AND_VALUE, key) else ""
    return key if key.replace("_", "").replace("-", "").isalnum() else None

"""What is wrong with a broken line, for someone who has never heard of the parser, and its place.

Loaded only for a broken file.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Collection

from buildlint.files.places import Place
from buildlint.text.words import clean, short, shown

__all__ = ["OPEN_HEADER", "TWICE", "UNCLOSED_TEXT", "explained", "spaced_heading", "spaced_key"]

# What a heading with spaces in its name begins with; its bracket may be missing too.
_SPACED_HEADING = r"\s*\[[ \t]*([A-Za-z0-9_.-]+(?:[ \t]+[A-Za-z0-9_-]+)+)[ \t]*(?:\]|$)"

# One with other signs in its name, such as those of a rule's id.
_NAMED_HEADING = r"""\s*\[[ \t]*([A-Za-z0-9_-]+)\.([^\]"']+)\]"""

# So many characters on each side of a place are looked at for the rest of a key.
_LONGEST_KEY = 80

# The ends of a car, which a heading names before the side.
_ENDS = ("front", "rear")

# What the parser says where a key is followed by another word.
_NO_EQUALS = "Expected '=' after a key in a key/value pair"

# What the parser says of a key that has a value already.
TWICE = "Cannot overwrite a value"

# What the parser says where a value is no text, number or date.
_AT_A_VALUE = (
    "Invalid value",
    "Invalid date or datetime",
    "Expected newline or end of document after a statement",
)

_YEAR_FIRST = r"(?P<year>[0-9]{4})[-/.](?P<month>[0-9]{1,2})[-/.](?P<day>[0-9]{1,2})(?![0-9])"

# Text in quotes, and what stands behind a #.
_QUOTED = r"""\"[^"]*"|'[^']*'|#.*"""

_DAY_FIRST = r"(?P<day>[0-9]{1,2})[-/.](?P<month>[0-9]{1,2})[-/.](?P<year>[0-9]{4})(?![0-9])"

# What the parser says where a date in brackets is none.
_IN_BRACKETS = ("Unclosed inline table", "Unclosed array", "Invalid date or datetime")

# The keys that take a date.
_DATES = ("on", "until")

# Of three digits behind it nobody knows whether they are thousands.
_DECIMAL_COMMA = r"-?[0-9]+,(?![0-9]{3}(?![0-9]))[0-9]"

_CURLY = str.maketrans("", "", "“”„‟‘’")

# What the parser says at the end of the file, inside a text over several lines.
UNCLOSED_TEXT = ("Unterminated string", "Expected \"'''\"")

# What the parser says of a table's name that is not closed.
OPEN_HEADER = "Expected ']' at the end of a table declaration"

# What the parser says, for someone who has never heard of it.
_PLAIN_WORDS = {
    **dict.fromkeys(UNCLOSED_TEXT, "a quote is opened and never closed"),
    'Expected "\'"': "a quote is opened and not closed on the line",
    "Illegal character '\\n'": "a quote is opened and not closed on the line",
    "Invalid value": "a reading or text in quotes, a date, a number or a list belongs here",
    _NO_EQUALS: "a key is one word, then =, then its value",
    "Expected newline or end of document after a statement": "only one key and value fit on a line",
    OPEN_HEADER: "a heading opened with [ ends with ]",
    "Expected ']]' at the end of an array declaration": "a heading opened with [[ ends with ]]",
    "Unclosed array": "a list is opened with [ and not closed, or lacks a comma",
    "Unclosed inline table": "a { is opened and not closed, or a comma is missing in it",
    "Invalid statement": "a line is a key, =, and its value; or a heading in [ ]",
    "Invalid initial character for a key part": "a key or a heading lacks its name",
    **dict.fromkeys(
        (
            "Unescaped '\\' in a string",
            "Invalid hex value",
            "Escaped character is not a Unicode scalar value",
        ),
        r"\ has a meaning of its own in double quotes: use single quotes",
    ),
}

# The same, where it goes on with what stands in the file.
_BEGINS = {
    "Illegal character": "a character that does not show stands here: delete it",
    "Found invalid character": "a character that does not show stands here: delete it",
    "Duplicate inline table key": "a key is given twice in the same brackets",
    "Cannot mutate immutable namespace": "this adds to something that is complete above",
    "Cannot redefine namespace": "this adds to something that is complete above",
    TWICE: "a key is given twice in the same place",
    "Cannot declare": "a heading stands twice",
    "Invalid date or datetime": "a date is written year-month-day, such as 2027-06-12",
}


def explained(
    what: str, lines: list[str], line: int, column: int, keys: Collection[str]
) -> tuple[Place, str]:
    """Say what is wrong with a line, and where; `what` is what the parser says of it.

    `keys` are those that the file may have.
    """
    what = clean(what).removesuffix(".")
    line = min(max(line, 1), len(lines))
    stands = lines[line - 1]
    if what == TWICE:
        # tomli stops behind the value
        indent = len(stands) - len(stands.lstrip())
        key = stands.partition("#")[0].partition("=")[0].strip()
        return (
            Place(line, indent + 1, indent + 1 + len(key)),
            f"{short(key)} is given twice in the same place",
        )
    heading = spaced_heading(what, stands, keys)
    if heading is not None:
        return Place(line, 1, len(stands) + 1), f"a heading has no spaces: {heading[0]}"
    spaced = spaced_key(what, stands, column)
    if spaced is not None:
        start, end, key = spaced
        advice = f": write {short(key)}" if key in keys else ""
        return Place(line, start, end), f"a key has no spaces{advice}"
    if what.startswith("Cannot declare"):
        twice = short(stands.partition("#")[0].strip())
        return Place(line, 1, len(stands) + 1), f"the heading {twice} stands twice"
    unquoted = _unquoted(stands) if what in _AT_A_VALUE else None
    if unquoted is not None:
        start, end, advice = unquoted
        return Place(line, start, end), advice
    inner = _no_day_in_brackets(stands) if what in _IN_BRACKETS else None
    if inner is not None:
        return Place(line, inner.start() + 1, inner.end() + 1), _date_advice(inner)
    column = min(column, len(stands) + 1)
    named = re.match(_NAMED_HEADING, stands) if what == OPEN_HEADER else None
    if named is not None:
        quoted = f"[{short(named[1])}.{shown(named[2].strip())}]"
        return Place(line, 1, len(stands) + 1), f"put the name in quotes: {quoted}"
    words = _in_plain_words(what)
    return Place(line, column, min(column + 1, len(stands) + 1)), f"cannot be read: {words}"


def _in_plain_words(what: str) -> str:
    """Give what the parser says of a text for someone who has never heard of the parser."""
    if what in _PLAIN_WORDS:
        return _PLAIN_WORDS[what]
    begins = (words for start, words in _BEGINS.items() if what.startswith(start))
    return next(begins, what[:1].lower() + what[1:])


def spaced_key(what: str, stands: str, column: int) -> tuple[int, int, str] | None:
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


def spaced_heading(what: str, stands: str, keys: Collection[str]) -> tuple[str, str] | None:
    """Give how to write a heading with spaces, and a heading that is read as it is meant."""
    if what != OPEN_HEADER and not what.startswith("Cannot declare"):
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


def _unquoted(stands: str) -> tuple[int, int, str] | None:
    """Give the place of a value without quotes, and how to write it; None for any other line."""
    key, equals, rest = stands.partition("=")
    value = rest.partition("#")[0].strip()
    if not equals or not value or value[0] in "\"'[{":
        return None
    start = len(key) + 1 + len(rest) - len(rest.lstrip()) + 1
    end = start + len(value)
    key = short(key.strip())
    date = re.match(_YEAR_FIRST, value) or re.match(_DAY_FIRST, value)
    if date is not None:
        return start, end, f"{key}: {_date_advice(date)}"
    if key.rpartition(".")[2] in _DATES:
        return start, end, f"{key}: a date belongs here as year-month-day, such as 2027-06-12"
    plain = clean(value.translate(_CURLY))
    if re.match(_DECIMAL_COMMA, plain):
        plain = plain.replace(",", ".", 1)
    plain = plain if len(plain) <= 64 else f"{plain[:40]}…"
    what = "put the reading in quotes" if value[0].isdigit() else "put text in straight quotes"
    return start, end, f'{what}: {key} = "{plain}"'


def _date_advice(date: re.Match[str]) -> str:
    """Say how to write a date, or that there is none such; what stands behind it is a time."""
    year, month, day = (int(date[name]) for name in ("year", "month", "day"))
    meant = [found for found in (_day(year, month, day), _day(year, day, month)) if found]
    if not meant:
        return f"there is no such date as {date[0]}"
    if date.re.pattern == _YEAR_FIRST:
        meant = meant[:1]
    # which comes first, day or month, only the builder knows
    written = " or ".join(dict.fromkeys(meant))
    alone = "without a time, " if date.string[date.end() :].startswith(("T", "t", " ")) else ""
    return f"write the date {alone}as year-month-day: {written}"


def _no_day_in_brackets(stands: str) -> re.Match[str] | None:
    """Find the first date in a line that no calendar has, or that is not written year-month-day."""
    for found in re.finditer(_YEAR_FIRST, re.sub(_QUOTED, _blanks, stands)):
        if _day(*(int(found[name]) for name in ("year", "month", "day"))) != found[0]:
            return found
    return None


def _blanks(found: re.Match[str]) -> str:
    return " " * len(found[0])


def _day(year: int, month: int, day: int) -> str | None:
    """Give a day as it is written; None where there is no such day."""
    try:
        return datetime.date(year, month, day).isoformat()
    except ValueError:
        return None

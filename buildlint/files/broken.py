"""A file whose TOML is broken: each broken line told in plain words, and the rest read.

Loaded only for such a file.
"""

from __future__ import annotations

import re
from typing import Any

import tomli

from buildlint.files.fault import Fault
from buildlint.files.places import KeyPath, Place
from buildlint.text.words import clean, short

__all__ = ["past_broken_lines"]

# So many broken lines are looked for: fewer in a large file, which is read again for each.
_MOST_BROKEN_LINES = 20
_MOST_READ_AGAIN = 4_000_000

# What the parser says, where more hangs on it than words.
_NO_EQUALS = "Expected '=' after a key in a key/value pair"
_OPEN_HEADING = "Expected ']' at the end of a table declaration"
_OPEN_LITERAL = 'Expected "\'"'
_OPEN_TEXT = ("Unterminated string", "Expected \"'''\"")
_OPEN_LIST = ("Unclosed array", "Unclosed inline table")
_TWICE = "Cannot overwrite a value"
_NO_VALUE = "Invalid value"

# How what the parser says begins, and what it means.
_QUOTE = "a quote is opened and not closed on the line"
_PLAIN_WORDS = {
    **dict.fromkeys(_OPEN_TEXT, "a quote is opened and never closed"),
    **dict.fromkeys((_OPEN_LITERAL, r"Illegal character '\n'", r"Found invalid char"), _QUOTE),
    _NO_VALUE: "a reading or text in quotes, a date, a number or a list belongs here",
    "Invalid date": "there is no such date: it is written year-month-day, such as 2027-06-12",
    _NO_EQUALS: "a key is one word, then =, then its value",
    "Expected newline": "only one key and value fit on a line",
    "Expected ']": "a heading opened with [ ends with ]",
    "Unclosed array": "a list is opened with [ and not closed, or lacks a comma",
    "Unclosed inline table": "a { is opened and not closed, or a comma is missing in it",
    "Invalid statement": "a line is a key, =, and its value; or a heading in [ ]",
    "Invalid initial character": "a key or a heading lacks its name",
    "Unescaped": r"\ has a meaning of its own in double quotes: use single quotes",
    "Illegal character": "a character that does not show stands here: delete it",
}
_TOO_DEEP = "has brackets inside brackets too deep, or a number with too many digits"
_ODD_HEADING = 'a heading has no spaces, and other signs only in quotes: [front.right], [oil."a/b"]'

_HALF_HEADING = r"""\s*\[[ \t]*[\w."'-]+[ \t]*(?:#|$)"""
_WORDS = r"[A-Za-z0-9_-]+(?:(?:\.|[ \t]+)[A-Za-z0-9_-]+)*"
_BEGINS = r"""\s*[\w.'"-]+(?:[ \t]+[\w-]+)*\s*="""
# What a line that a break goes back to holds behind its =.
_OPENS = {
    _OPEN_LITERAL: r"[^']*'[^']*$",
    **dict.fromkeys(_OPEN_TEXT, r"""\s*(?:\"{3}|'{3})"""),
    **dict.fromkeys(_OPEN_LIST, r"\s*[\[{]"),
    _TWICE: "",
}
_A_DATE = r"[0-9]{4}[-/.][0-9]{1,2}[-/.]|[0-9]{1,2}[-/.][0-9]{1,2}[-/.][0-9]{4}"
# Of three digits behind it nobody knows whether they are thousands.
_DECIMAL_COMMA = r"-?[0-9]+,(?![0-9]{3}(?![0-9]))[0-9]"
_CURLY = str.maketrans("", "", "“”„‟‘’")


# What the parser says, from the line where the key stands to where it stopped, and the column.
_Break = tuple[str, int, int, int]


def past_broken_lines(
    text: str, faults: list[Fault]
) -> tuple[dict[str, Any] | None, set[KeyPath], str]:
    """Read a text that breaks: what is wrong goes to `faults`, broken lines are left out.

    Gives the table, the keys that were left out, and the text as it was read in the end, line for
    line; no table where more than whole lines would have to be left out.
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
            faults.append(Fault("file/not-toml", _TOO_DEEP))
            break
        place, message = _told(found, lines[found[1] - 1])
        faults.append(Fault("file/not-toml", message, place=place))
        if not _leave_out(found, lines, lost):
            break
    return None, lost, ""


def _break_at(error: tomli.TOMLDecodeError, lines: list[str]) -> _Break:
    last = min(max(error.lineno, 1), len(lines))
    what, line_text, column = clean(error.msg).removesuffix("."), lines[last - 1], error.colno
    at_start = not line_text[: column - 1].strip(" \t[")
    at_words = what.startswith("Cannot declare") and line_text[column - 1 : column] != "]"
    if (at_words or what == _OPEN_HEADING) and not re.match(_HALF_HEADING, line_text):
        what = _ODD_HEADING
    if what == _NO_VALUE and at_start and (not line_text.strip() or {"=", "["} & set(line_text)):
        what = "Unclosed array"  # a line of its own inside a list
    above = range(last - (what in _OPEN_LIST and at_start), 0, -1)
    if what not in _OPENS or (what == _TWICE and line_text.lstrip().startswith("[")):
        above = range(0)
    first = next((n for n in above if re.match(_BEGINS + _OPENS[what], lines[n - 1])), last)
    if what == _OPEN_LITERAL and "'" in lines[first - 1]:
        # the parser looks for its end as far as the file goes
        return what, first, first, lines[first - 1].rindex("'") + 1
    return what, first, last, column


def _told(found: _Break, line_text: str) -> tuple[Place, str]:
    """Return the place of what is wrong, and say what it is."""
    what, line, last, column = found
    indent = len(line_text) - len(line_text.lstrip())
    before = line_text.partition("#")[0].partition("=")[0].strip()
    its_key = Place(line, indent + 1, indent + 1 + len(before))
    if what == _TWICE:
        return its_key, f"{short(before)} is given twice in the same place"
    if what.startswith("Cannot declare"):
        return Place(line, 1, len(line_text) + 1), f"the heading {short(before)} stands twice"
    if what == _ODD_HEADING:
        return Place(line, 1, len(line_text) + 1), what
    key = _key(what, line_text)
    if what == _NO_EQUALS and "=" in line_text and key is not None:
        return its_key, f"a key has no spaces: write {short(key)}"
    at_a_value = what.startswith((_NO_VALUE, "Invalid date", "Expected newline"))
    if at_a_value and (unquoted := _unquoted(line, line_text)) is not None:
        return unquoted
    begins = (words for start, words in _PLAIN_WORDS.items() if what.startswith(start))
    message = f"cannot be read: {next(begins, what[:1].lower() + what[1:])}"
    if line != last:
        return Place(line, indent + 1, len(line_text) + 1), message
    column = min(column, len(line_text) + 1)
    return Place(line, column, min(column + 1, len(line_text) + 1)), message


def _unquoted(line: int, line_text: str) -> tuple[Place, str] | None:
    """Return the place of a value without quotes, and how to write it; None for any other line."""
    key, equals, rest = line_text.partition("=")
    value = rest.partition("#")[0].strip()
    if not equals or not value or value[0] in "\"'[{":
        return None
    start = len(key) + 1 + len(rest) - len(rest.lstrip()) + 1
    place = Place(line, start, start + len(value))
    key = short(key.strip())
    if re.fullmatch("[0-9]{4}-[0-9]{2}-[0-9]{2}", value):
        return place, f"{key}: there is no such date as {value}"
    if key.rpartition(".")[2] in ("on", "until") or re.match(_A_DATE, value):
        return place, f"{key}: a date belongs here as year-month-day, such as 2027-06-12"
    plain = short(value.translate(_CURLY))
    if re.match(_DECIMAL_COMMA, plain):
        plain = plain.replace(",", ".", 1)
    what = "put the reading in quotes" if value[0].isdigit() else "put text in straight quotes"
    return place, f'{what}: {key} = "{plain}"'


def _leave_out(found: _Break, lines: list[str], lost: set[KeyPath]) -> bool:
    """Blank what is broken; say whether the rest can be read without it."""
    what, first, last, _ = found
    before = lines[last - 1].partition("#")[0].rstrip()
    if what == _OPEN_HEADING:
        # what follows is in that table, whoever left its bracket out
        lines[last - 1] = before + "]"
        return True
    if what == _TWICE and not before.lstrip().startswith("["):
        lines[first - 1 : last] = [""] * (last - first + 1)
        return True
    key = _key(what, lines[last - 1]) if first == last else None
    if key is not None:
        lost.add((*_table_of(lines, last), *key.split(".")))
        lines[last - 1] = ""
    return key is not None


def _key(what: str, line_text: str) -> str | None:
    """Return the key of a line that is a whole statement; None for any other."""
    before, equals, value = line_text.partition("=")
    if value.lstrip().startswith(("[", "{", '"""', "'''")):
        return None
    if not equals:
        word = re.match(r"\s*([A-Za-z0-9_-]+)", line_text) if what == _NO_EQUALS else None
        return word[1] if word is not None else None
    key = before.strip()
    if len(key) > 80 or not re.fullmatch(_WORDS, key):
        return None
    return re.sub(r"[ \t]+", "_", key).lower() if what == _NO_EQUALS else key


def _table_of(lines: list[str], line: int) -> KeyPath:
    """Return the names of the table that a line stands in; none at the top."""
    above = (each for each in reversed(lines[: line - 1]) if each.lstrip().startswith("["))
    names = next(above, "").partition("#")[0].strip(" \t[]").split(".")
    return tuple(name.strip(" \t\"'") for name in names if name)

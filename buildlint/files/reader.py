"""Read one file: its table as a model, and every mistake in it at once."""

from __future__ import annotations

import os
import re
import stat
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any, get_args, get_origin

import tomli
from pydantic_core import ValidationError

from buildlint.files.held import plain
from buildlint.files.models import KINDS, Table
from buildlint.files.places import Place
from buildlint.files.tables import fields_of, validated
from buildlint.readings import Mistake
from buildlint.words import clean, nearest, short, shown

__all__ = [
    "ENDINGS",
    "LARGEST",
    "Fault",
    "FileRead",
    "Held",
    "inside",
    "is_ours",
    "kind_and_id",
    "line_and_column",
    "meant_name",
    "read_file",
]

#: The most bytes that a file may have: a season's drawers fill a tenth of it.
LARGEST = 1_000_000

#: The kinds of file by the end of their name.
ENDINGS = {f".{kind}.toml": kind for kind in KINDS}

# Each dot in a key may be a table more, of 2 kB: a season's drawers have a twentieth of so many.
_MOST_DOTS = 100_000

# How many broken lines of one file are looked for: fewer in a large one, for it is read again
# for each of them.
_MOST_BROKEN_LINES = 20
_MOST_READ_AGAIN = 4_000_000

# A file in which more is refused is another kind of file: it is told, and nothing in it is used.
_MOST_REFUSED = 1_000

# Patterns stand as text: only a broken file has them compiled.
# A statement that may go on over lines: a key, then a list, a table or long text.
_OPENS = r"""\s*[\w.'"-]+\s*=\s*(\[|\{|\"{3}|'{3})"""
# A text in single quotes that its line does not close.
_OPEN_LITERAL = r"""\s*[\w.'"-]+\s*=\s*'[^']*$"""

# A key and its value, where the = is forgotten.
_KEY_AND_VALUE = r"""[A-Za-z_]+\s+["'0-9]"""

KeyPath = tuple[str, ...]

#: A file in memory: its bytes, or the table that it would hold.
Held = bytes | Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Fault:
    """A mistake in a file: which rule, what, and where (a key's path, or a place known already)."""

    rule: str
    message: str
    path: KeyPath = ()
    on_key: bool = False
    place: Place | None = None


@dataclass(slots=True)
class FileRead:
    """A file as read: what is sound of it as a model, and its faults.

    `refused` are the keys whose value is not in the model because it was refused: they were given,
    so that nothing may be judged as if they had been left out. `mended` is the text of a broken
    file as it was read in the end, line for line.
    """

    path: Path
    kind: str
    id: str
    model: Table | None = None
    faults: list[Fault] = field(default_factory=list)
    data: bytes = b""
    mended: str = ""
    refused: set[KeyPath] = field(default_factory=set)


def kind_and_id(name: str) -> tuple[str, str] | None:
    """Give the kind and the id that a file's name says, or None for any other file.

    >>> kind_and_id("heron.car.toml"), kind_and_id("pyproject.toml"), kind_and_id(".car.toml")
    (('car', 'heron'), None, None)
    """
    stem, dot, ending = name.rpartition(".")
    if ending != "toml":
        return None
    ident, dot, kind = stem.rpartition(".")
    return (kind, ident) if dot and ident and kind in KINDS else None


def meant_name(name: str) -> str | None:
    """Give the name that a file nearly has; None for a file that is named well, or of no kind.

    >>> meant_name("heron.bulid.toml"), meant_name("Heron.Car.toml"), meant_name("x.car.toml.txt")
    ('heron.build.toml', 'Heron.car.toml', 'x.car.toml')
    >>> meant_name("heron.car.toml"), meant_name("pyproject.toml"), meant_name("x.lock.toml")
    (None, None, None)
    """
    if kind_and_id(name) is not None:
        return None
    plain = name[: -len(".txt")] if name.casefold().endswith(".toml.txt") else name
    ident, _, kind = plain[: -len(".toml")].rpartition(".")
    if not plain.casefold().endswith(".toml") or not ident or ident.startswith("."):
        return None
    near = kind.casefold() if kind.casefold() in KINDS else nearest(kind.casefold(), KINDS, 0.78)
    return f"{ident}.{near}.toml" if near is not None else None


def is_ours(name: str) -> bool:
    """Say whether a file's name is of one of the kinds, or nearly so."""
    return kind_and_id(name) is not None or meant_name(name) is not None


def read_file(
    path: Path,
    kind: str,
    ident: str,
    root: Path | None = None,
    held: Held | None = None,
    links: dict[str, bool] | None = None,
) -> FileRead:
    """Read one file of a known kind; what is wrong with it is in `faults`, nothing is raised.

    With a root, a link that leads outside it is not followed; `links` keeps which folders stand
    behind one, where many files are read. What is held in memory, as the bytes of a file or as the
    table that one would hold, is taken in the place of the file.
    """
    found = FileRead(path, kind, ident)
    if held is not None:
        if not isinstance(held, bytes):
            # what is refused is taken out of the table: the caller keeps hers
            _validate(found, plain(held), set())
        elif len(held) > LARGEST:
            found.faults.append(_too_large(len(held)))
        else:
            found.data = held
            _understand(found)
        return found
    try:
        data = _bytes_of(path, kind, root, links if links is not None else {})
    except OSError as error:
        if path.is_symlink() and not path.exists():
            message = "is a link to nothing"
        else:
            message = f"cannot be read: {error.strerror or 'no reason given'}"
        data = Fault("file/unreadable", message)
    if isinstance(data, Fault):
        found.faults.append(data)
        return found
    found.data = data
    _understand(found)
    return found


# A file that was put in the place of a checked one cannot hold the run up.
_FLAGS = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)


def _bytes_of(path: Path, kind: str, root: Path | None, links: dict[str, bool]) -> bytes | Fault:
    """Give what stands in a file, or why it is not read; raises OSError where it cannot be."""
    status = os.lstat(path)
    link = stat.S_ISLNK(status.st_mode)
    folder = str(path.parent)
    if folder not in links:
        links[folder] = root is not None and _through_link(path, root)
    if root is not None and (link or links[folder]) and not inside(path, root):
        what = "is" if link else "stands behind"
        return Fault("file/unreadable", f"{what} a link that leads out of the repository")
    if link:
        status = path.stat()
    if not stat.S_ISREG(status.st_mode):
        what = "a folder" if stat.S_ISDIR(status.st_mode) else "not a file"
        return Fault("file/unreadable", f"is {what}, though named like a {kind} file")
    if status.st_size > LARGEST:
        return _too_large(status.st_size)
    opened = os.open(path, _FLAGS)
    try:
        if not stat.S_ISREG(os.fstat(opened).st_mode):
            return Fault("file/unreadable", f"is not a file, though named like a {kind} file")
        # one byte more than it had: most files are read whole by this
        data = os.read(opened, status.st_size + 1)
        while len(data) != status.st_size and len(data) <= LARGEST:
            more = os.read(opened, LARGEST + 1 - len(data))
            if not more:
                break
            data += more
    finally:
        os.close(opened)
    # grown since its size was asked
    return data if len(data) <= LARGEST else _too_large(len(data))


def _through_link(path: Path, root: Path) -> bool:
    """Say whether a folder on the way from the root to a file is a link."""
    folder, top = os.path.dirname(path), len(str(root))  # noqa: PTH120
    while len(folder) > top:
        if os.path.islink(folder):  # noqa: PTH114
            return True
        folder = os.path.dirname(folder)  # noqa: PTH120
    return False


def inside(path: Path, root: Path) -> bool:
    """Say whether a path stays below a root once every link on the way is followed."""
    try:
        return path.resolve().is_relative_to(root.resolve())
    except (OSError, RuntimeError):
        return True  # a loop of links: reading it says so


def _too_large(size: int) -> Fault:
    return Fault("file/too-large", f"has {size:,} bytes; a file has at most {LARGEST:,}")


def _understand(found: FileRead) -> None:
    data = found.data.removeprefix(b"\xef\xbb\xbf")
    try:
        text = data.decode()
    except UnicodeDecodeError as error:
        line, column = line_and_column(data, error.start)
        message = f"is not UTF-8 text: byte {data[error.start]:#04x}; save the file as UTF-8"
        fault = Fault("file/not-toml", message, place=Place(line, column, column + 1))
        found.faults.append(fault)
        return
    unfit = _unfit(text)
    if unfit is not None:
        found.faults.append(unfit)
        return
    raw, lost, found.mended = _toml(text, found.faults)
    if raw is None:
        return
    if not raw and not found.faults:
        message = f"is empty: a {found.kind} file has " + _what_belongs(KINDS[found.kind])
        found.faults.append(Fault("file/missing-key", message))
        return
    _validate(found, raw, lost)


def line_and_column(data: bytes, at: int) -> tuple[int, int]:
    """Give the line and the column of a byte, in bytes that are UTF-8 text up to there."""
    before = data[:at]
    line_start = before.rfind(b"\n") + 1
    return before.count(b"\n") + 1, len(before[line_start:].decode("utf-8", "replace")) + 1


def _unfit(text: str) -> Fault | None:
    """Give what makes it useless to look for mistakes line by line, or None."""
    dots = text.count(".")
    if dots > _MOST_DOTS:
        return Fault("file/too-large", f"has {dots:,} dots; a file has at most {_MOST_DOTS:,}")
    if "\0" in text[:2]:
        message = "is not UTF-8 text: it begins with a byte of nothing; save the file as UTF-8"
        return Fault("file/not-toml", message, place=Place(1, 1, 2))
    alone = re.search("\r(?!\n)", text) if "\r" in text else None
    if alone is None:
        return None
    # what follows would pass for the rest of the line, and be told as missing
    line, column = line_and_column(text.encode(), len(text[: alone.start()].encode()))
    message = "a line is ended by a carriage return alone; save the file with line feeds"
    return Fault("file/not-toml", message, place=Place(line, column, column + 1))


def _what_belongs(model: type[Table]) -> str:
    keys = model.required or tuple(fields_of(model))
    return ", ".join(keys[:-1]) + " and " + keys[-1]


# --- TOML, past its broken lines -----------------------------------------------------------------


def _toml(text: str, faults: list[Fault]) -> tuple[dict[str, Any] | None, set[KeyPath], str]:
    """Parse the text; a broken line that holds one key is noted, left out, and the rest read.

    Gives the table, the keys that were left out, and the text without them where there are any.
    """
    try:
        return tomli.loads(text), set(), ""
    except (tomli.TOMLDecodeError, RecursionError, ValueError, OverflowError):
        pass  # what is wrong is found line by line
    # newlines as tomli counts them, so that a line left out keeps the count
    lines = text.replace("\r\n", "\n").split("\n")
    lost: set[KeyPath] = set()
    for _ in range(min(_MOST_BROKEN_LINES, 1 + _MOST_READ_AGAIN // len(text))):
        try:
            mended = "\n".join(lines)
            return tomli.loads(mended), lost, mended
        except tomli.TOMLDecodeError as error:
            line = min(max(error.lineno, 1), len(lines))
            opener = _opener(lines, line)
            column = error.colno
            if opener is not None and re.match(_OPEN_LITERAL, lines[opener - 1]):
                # the parser looks for its end as far as the file goes
                column = lines[opener - 1].rindex("'") + 1
                line, opener = opener, None
            twice = error.msg.startswith("Cannot overwrite a value")
            what, start, unclosed = error.msg, line, False
            if opener is not None:
                opened = lines[opener - 1].partition("=")[2].lstrip()[0]
                # a key and a value inside a list: the list was never closed
                unclosed = opened == "[" and not twice and _key_alone(lines, line) is not None
                what = "Unclosed array" if unclosed else what
                if twice or what in ("Unclosed array", *_UNCLOSED_TEXT):
                    start = opener
            place, message = _explain(what, lines, start, column)
            if start != line and not twice:
                stands = lines[start - 1]
                place = Place(start, len(stands) - len(stands.lstrip()) + 1, len(stands) + 1)
            faults.append(Fault("file/not-toml", message, place=place))
            if what == _OPEN_HEADER and opener is None and not lines[line - 1].endswith("]"):
                # what follows is in that table, whoever left its bracket out
                lines[line - 1] = lines[line - 1].partition("#")[0].rstrip() + "]"
                continue
            key = _key(lines[start - 1]) if twice or unclosed else None
            if opener is None and not twice:
                key = _key_alone(lines, line)
            if key is None:
                return None, lost, ""
            if not twice:
                lost.add((*_table_of(lines, start), key))
            last = line - 1 if unclosed else line
            lines[start - 1 : last] = [""] * (last - start + 1)
        except (RecursionError, ValueError, OverflowError):
            message = "is nested too deeply, or holds a number too long to be one"
            faults.append(Fault("file/not-toml", message))
            return None, lost, ""
    return None, lost, ""


def _explain(what: str, lines: list[str], line: int, column: int) -> tuple[Place, str]:
    what = clean(what).removesuffix(".")
    line = min(max(line, 1), len(lines))
    stands = lines[line - 1]
    if what == "Cannot overwrite a value":
        # tomli stops behind the value
        indent = len(stands) - len(stands.lstrip())
        key = stands.partition("=")[0].strip()
        return (
            Place(line, indent + 1, indent + 1 + len(key)),
            f"{short(key)} is given twice in the same table",
        )
    if what.startswith("Cannot declare"):
        return Place(line, 1, len(stands) + 1), f"{short(stands.strip())} is opened twice"
    unquoted = _unquoted(stands) if what in _AT_A_VALUE else None
    if unquoted is not None:
        start, end, advice = unquoted
        return Place(line, start, end), advice
    column = min(column, len(stands) + 1)
    words = _PLAIN_WORDS.get(what, what[:1].lower() + what[1:])
    return Place(line, column, min(column + 1, len(stands) + 1)), f"cannot be read: {words}"


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
    "Expected '=' after a key in a key/value pair": "a key is followed by =, then its value",
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


# --- the model, past its faults ------------------------------------------------------------------


def _validate(found: FileRead, raw: dict[str, Any], lost: set[KeyPath]) -> None:
    model = KINDS[found.kind]
    faults: list[Fault] = []
    # keys whose mistake is already told: their absence is no second mistake
    excused = {_told(found.kind, path) for path in lost}
    found.refused.update(lost)
    try:
        found.model = validated(model, raw)
    except ValidationError as error:
        details = error.errors(include_url=False, include_input=True)
        if len(details) > _MOST_REFUSED:
            for number, detail in enumerate(details):
                path = tuple(str(part) for part in detail["loc"])
                # what was meant takes longest to find out
                found.faults.append(_fault(model, path, detail, number < _MOST_REFUSED)[0])
            return
        for detail in details:
            path = tuple(str(part) for part in detail["loc"])
            fault, meant = _fault(model, path, detail)
            faults.append(fault)
            excused.add(_told(found.kind, (*path[:-1], meant or path[-1])))
            named = tuple(part for part in path if not part.isdigit()) or path
            meant_path = (*named[:-1], meant or named[-1])
            # a misspelt key beside the right one says nothing of the right one
            if meant is None or not _stands(raw, meant_path):
                found.refused.add(meant_path)
        # from the last to the first: what leaves a list moves nothing that is still to go
        for detail in reversed(details):
            _prune(raw, detail["loc"])
        try:
            found.model = validated(model, raw)
        except ValidationError:  # pragma: no cover - pruning leaves nothing to refuse
            found.model = None
    if found.model is not None:
        faults += _between_keys(found, found.model, raw, excused, faults)
    found.faults.extend(faults)


def _between_keys(
    found: FileRead, model: Table, raw: dict[str, Any], excused: set[KeyPath], told: list[Fault]
) -> list[Fault]:
    """Give what is missing and what does not go together; the latter leaves the model too."""
    faults: list[Fault] = []
    for path, mistake in _complaints(model, ()):
        missing = mistake.rule == "file/missing-key"
        if missing and _told(found.kind, path) in excused:
            continue
        if any(fault.path[: len(path)] == path for fault in told):
            continue  # it follows from a mistake that is told already
        faults.append(Fault(mistake.rule, mistake.message, path, on_key=missing))
        if not missing:
            for refused in (path, *((*path[:-1], key) for key in mistake.with_keys)):
                found.refused.add(refused)
                _prune(raw, refused)
    if any(fault.rule != "file/missing-key" for fault in faults):
        found.model = validated(KINDS[found.kind], raw)
    return faults


def _stands(raw: Any, path: KeyPath) -> bool:
    for part in path:
        if not isinstance(raw, dict) or part not in raw:
            return False
        raw = raw[part]
    return True


def _told(kind: str, path: KeyPath) -> KeyPath:
    """Give what a told mistake excuses: the key, in the part or at the end of the car."""
    return (*path[: min(2 if kind == "parts" else 1, len(path) - 1)], path[-1])


def _fault(
    model: type[Table], path: KeyPath, detail: Any, with_hint: bool = True
) -> tuple[Fault, str | None]:
    """Give the fault that a refusal of the model stands for, and the key that was meant."""
    kind: str = detail["type"]
    context = detail.get("ctx", {})
    # an item of a list goes by the list's name
    key = short(next((part for part in reversed(path) if not part.isdigit()), ""))
    if kind == "buildlint":
        return Fault(context["rule"], f"{key}: {context['message']}", path), None
    if kind == "extra_forbidden":
        table = _table_at(model, path[:-1])
        known = _keys(table) if table is not None else []
        meant = nearest(path[-1], known) if with_hint else None
        where = f"in {'.'.join(map(short, path[:-1]))}" if len(path) > 1 else "here"
        hint = f"did you mean {meant}?" if meant else f"known are {', '.join(known)}"
        message = f"{shown(path[-1])} is not a key known {where}; {hint}"
        return Fault("file/unknown-key", message, path, on_key=True), meant
    if kind == "literal_error":
        given = detail["input"]
        word = shown(given) if isinstance(given, str) else "what stands here"
        message = f"{key}: {word} is none of the words on offer: {context['expected']}"
        return Fault("file/not-a-choice", message.replace("'", '"'), path), None
    return Fault(*_wrong_kind(kind, key, context), path), None


def _wrong_kind(kind: str, key: str, context: dict[str, Any]) -> tuple[str, str]:
    if kind == "string_too_short":
        return "file/out-of-range", f"{key} is empty: text belongs here"
    if kind == "string_too_long":
        most = context.get("max_length")
        return "file/out-of-range", f"{key} is too long: at most {most:,} characters fit here"
    due = {
        "string_type": 'text in quotes, such as "heron"',
        "string_unicode": 'text in quotes, such as "heron"',
        "list_type": 'a list in brackets, such as ["bled", "greased"]',
    }.get(kind, f"a table of keys, such as [{key}]")
    return "file/wrong-kind", f"{key}: {due}, belongs here"


def _keys(table: type[Table]) -> list[str]:
    return [field.key for field in fields_of(table).values()]


def _table_at(model: type[Table], path: KeyPath) -> type[Table] | None:
    """Give the model of the table that stands at a path."""
    here: Any = model
    for part in path:
        if isinstance(here, type) and issubclass(here, Table):
            field = fields_of(here).get(part)
            here = _inner(field.takes) if field is not None else None
        elif isinstance(here, dict):
            here = here["each"]
        if here is None:
            return None
    return here if isinstance(here, type) and issubclass(here, Table) else None


def _inner(annotation: Any) -> Any:
    """Give the model inside an annotation; a mapping of ids to tables as {"each": model}."""
    arguments = get_args(annotation)
    # first: on Python 3.10 dict[...] passes for a class
    if get_origin(annotation) is dict:
        return {"each": arguments[1]}
    if isinstance(annotation, type) and issubclass(annotation, Table):
        return annotation
    return next((found for a in arguments if (found := _inner(a)) is not None), None)


def _prune(raw: Any, location: tuple[int | str, ...]) -> None:
    """Take what was refused out of the raw table, so that the rest can be read."""
    *above, last = location
    here = raw
    for part in above:
        try:
            here = here[part]
        except (KeyError, IndexError, TypeError):
            return
    if isinstance(here, dict):
        here.pop(last, None)
    elif isinstance(here, list) and isinstance(last, int) and last < len(here):
        del here[last]


def _complaints(table: Table, above: KeyPath) -> Iterator[tuple[KeyPath, Mistake]]:
    for key in table.required:
        if getattr(table, key) is None:
            where = f" in {clean('.'.join(above))}" if above else ""
            message = f"{key} is missing{where}"
            yield (*above, key), Mistake("file/missing-key", message)
    for path, mistake in table.complaints():
        yield above + path, mistake
    kind: Any = type(table)
    for key in _with_tables(kind):
        value = getattr(table, key)
        if isinstance(value, Table):
            yield from _complaints(value, (*above, key))
        elif isinstance(value, dict):
            for ident, part in value.items():
                if isinstance(part, Table):
                    yield from _complaints(part, (*above, key, ident))


@cache
def _with_tables(table: Any) -> tuple[str, ...]:
    """Give the names of the fields that hold a table, or a mapping of ids to tables."""
    return tuple(
        name for name, field in fields_of(table).items() if _inner(field.takes) is not None
    )

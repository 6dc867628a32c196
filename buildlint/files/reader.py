"""Read one file: its table as a model, and every mistake in it at once."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

import tomli
from pydantic_core import ValidationError

from buildlint.files.disk import LARGEST, bytes_of, too_large
from buildlint.files.fault import Fault, with_keys
from buildlint.files.in_memory import TooMuchError, plain
from buildlint.files.models import KINDS
from buildlint.files.places import KeyPath, Place, line_and_column
from buildlint.files.readings import Mistake
from buildlint.files.tables import (
    BETWEEN_KEYS,
    IN_A_FILE,
    Table,
    fields_of,
    partial_of,
    table_in,
)
from buildlint.text.words import clean

__all__ = ["FileRead", "Held", "read_file", "unfit"]

# Each dot in a key may be a table more, of 2 kB: a season's parts file has a twentieth of so many.
_MOST_DOTS = 100_000

# A file in which more is refused is another kind of file: it is told, and nothing in it is used.
_MOST_REFUSED = 1_000

#: A file in memory: its bytes, or the table that it would hold.
Held = bytes | Mapping[str, Any]


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
            try:
                # what is refused is taken out of the table: the caller keeps hers
                _validate(found, plain(held), set())
            except TooMuchError as much:
                found.faults.append(Fault("file/too-large", str(much)))
            found.faults = [with_keys(fault) for fault in found.faults]
        elif len(held) > LARGEST:
            found.faults.append(too_large(len(held)))
        else:
            found.data = held
            _understand(found)
        return found
    try:
        data = bytes_of(path, kind, root, links if links is not None else {})
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


def _understand(found: FileRead) -> None:
    data = found.data.removeprefix(b"\xef\xbb\xbf")
    try:
        text = data.decode()
    except UnicodeDecodeError as error:
        line, column = line_and_column(data, error.start)
        message = "has a character here that is not UTF-8: save the file as UTF-8"
        fault = Fault("file/not-toml", message, place=Place(line, column, column + 1))
        found.faults.append(fault)
        return
    useless = unfit(text)
    if useless is not None:
        found.faults.append(useless)
        return
    raw, lost, found.mended = _table_in_text(text, found.faults)
    if raw is None:
        return
    if not raw and not found.faults:
        message = f"is empty: {_what_belongs(KINDS[found.kind])} belong in it"
        found.faults.append(Fault("file/missing-key", message))
        return
    _validate(found, raw, lost)


def unfit(text: str) -> Fault | None:
    """Return what makes it useless to look for mistakes line by line, or None."""
    dots = text.count(".")
    if dots > _MOST_DOTS:
        return Fault("file/too-large", f"has {dots:,} dots; a file has at most {_MOST_DOTS:,}")
    if "\0" in text[:2]:
        message = "is not text in UTF-8: save the file as UTF-8"
        return Fault("file/not-toml", message, place=Place(1, 1, 2))
    alone = re.search("\r(?!\n)", text) if "\r" in text else None
    if alone is None:
        return None
    # what follows would pass for the rest of the line, and be told as missing
    line, column = line_and_column(text.encode(), len(text[: alone.start()].encode()))
    message = "a line ends in an old way (CR alone): save the file with line ends LF or CRLF"
    return Fault("file/not-toml", message, place=Place(line, column, column + 1))


def _what_belongs(model: type[Table]) -> str:
    keys = model.required() or tuple(fields_of(model))
    return ", ".join(keys[:-1]) + " and " + keys[-1]


def _table_in_text(
    text: str, faults: list[Fault]
) -> tuple[dict[str, Any] | None, set[KeyPath], str]:
    """Parse the text: gives its table, the keys left out of it, and what was mended of it."""
    try:
        return tomli.loads(text), set(), ""
    except (tomli.TOMLDecodeError, RecursionError, ValueError, OverflowError):
        from buildlint.files.broken import past_broken_lines

        return past_broken_lines(text, faults)


# --- the model, past its faults ------------------------------------------------------------------


def _validate(found: FileRead, raw: dict[str, Any], lost: set[KeyPath]) -> None:
    model = KINDS[found.kind]
    faults: list[Fault] = []
    # keys whose mistake is already told: their absence is no second mistake
    excused = {_told(found.kind, path) for path in lost}
    found.refused.update(lost)
    try:
        found.model = model.model_validate(raw, context=_context(found))
    except ValidationError as error:
        # what is missing, or does not go together, is looked for in what is left
        details = [d for d in error.errors(include_url=False) if not _waits(d)]
        faults = _refusals(found, raw, details, excused)
        if len(details) <= _MOST_REFUSED:
            found.model = _rest(model, raw, details, _context(found))
            if found.model is not None:
                faults += _between_keys(found, found.model, raw, excused, faults)
    found.faults.extend(faults)


def _waits(detail: Any) -> bool:
    about = detail.get("ctx", {}).get("about")
    return bool(detail["type"] == "missing" or about == BETWEEN_KEYS)


def _refusals(
    found: FileRead, raw: dict[str, Any], details: Sequence[Any], excused: set[KeyPath]
) -> list[Fault]:
    """Return the fault of each refusal; what was refused, and what that excuses, is noted."""
    from buildlint.files.refusals import fault_of

    faults: list[Fault] = []
    for detail in details:
        path = tuple(str(part) for part in detail["loc"])
        # what was meant takes longest to find out
        with_hint = len(faults) < _MOST_REFUSED
        fault, meant = fault_of(KINDS[found.kind], path, detail, with_hint)
        faults.append(fault)
        excused.add(_told(found.kind, (*path[:-1], meant or path[-1])))
        named = tuple(part for part in path if not part.isdigit()) or path
        meant_path = (*named[:-1], meant or named[-1])
        # a misspelt key beside the right one says nothing of the right one
        if meant is None or not _stands(raw, meant_path):
            found.refused.add(meant_path)
    return faults


def _context(found: FileRead) -> dict[str, bool] | None:
    """Return what a table may hold: one of a program, dates in quotes too."""
    return IN_A_FILE if found.data else None


def _rest(
    model: type[Table], raw: dict[str, Any], details: Sequence[Any], context: Any
) -> Table | None:
    """Return the model of what is left of a table without what was refused."""
    # from the last to the first: what leaves a list moves nothing that is still to go
    for detail in reversed(details):
        _prune(raw, detail["loc"])
    try:
        rest: Table = partial_of(model).model_validate(raw, context=context)
        return rest
    except ValidationError:  # pragma: no cover - pruning leaves nothing to refuse
        return None


def _between_keys(
    found: FileRead, model: Table, raw: dict[str, Any], excused: set[KeyPath], told: list[Fault]
) -> list[Fault]:
    """Return what is missing and what does not go together; the latter leaves the model too."""
    faults: list[Fault] = []
    refused_before = set(found.refused)
    for path, mistake in _complaints(model, ()):
        missing = mistake.rule == "file/missing-key"
        together = (path, *((*path[:-1], key) for key in mistake.with_keys))
        # missing: each would do
        if missing and any(_told(found.kind, each) in excused for each in together):
            continue
        # else what was given and refused passes for what is left out
        if not missing and not refused_before.isdisjoint(together):
            continue
        if any(fault.path[: len(path)] == path for fault in told):
            continue  # it follows from a mistake that is told already
        faults.append(Fault(mistake.rule, mistake.message, path, on_key=missing))
        if not missing:
            for refused in together:
                found.refused.add(refused)
                _prune(raw, refused)
    if any(fault.rule != "file/missing-key" for fault in faults):
        found.model = partial_of(KINDS[found.kind]).model_validate(raw, context=_context(found))
    return faults


def _stands(raw: Any, path: KeyPath) -> bool:
    for part in path:
        if not isinstance(raw, dict) or part not in raw:
            return False
        raw = raw[part]
    return True


def _told(kind: str, path: KeyPath) -> KeyPath:
    """Return what a told mistake excuses: the key, in the part or at the end of the car."""
    return (*path[: min(2 if kind == "parts" else 1, len(path) - 1)], path[-1])


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
    for key in table.required():
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
    """Return the names of the fields that hold a table, or a mapping of ids to tables."""
    return tuple(
        name for name, field in fields_of(table).items() if table_in(field.takes) is not None
    )

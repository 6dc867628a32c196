"""What a model refuses, in words: the fault that each refusal stands for.

Loaded only for a file of which something is refused.
"""

from __future__ import annotations

import datetime
from typing import Any

from buildlint.files.fault import Fault
from buildlint.files.kind import shown_number
from buildlint.files.models import KINDS
from buildlint.files.part_models import PART_KINDS
from buildlint.files.places import KeyPath
from buildlint.files.tables import Table, fields_of, table_in
from buildlint.text.words import nearest, short, shown

__all__ = ["fault_of"]

# Longer, a number is no id.
_LONGEST_NUMBER = 20
# In more places a key says nothing of where it belongs.
_MOST_HOMES = 2


def fault_of(
    model: type[Table], path: KeyPath, detail: Any, with_hint: bool = True
) -> tuple[Fault, str | None]:
    """Return the fault that a refusal of the model stands for, and the key that was meant."""
    kind: str = detail["type"]
    context = detail.get("ctx", {})
    # an item of a list goes by the list's name
    key = short(next((part for part in reversed(path) if not part.isdigit()), ""))
    if kind == "buildlint":
        return Fault(context["rule"], f"{key}: {context['message']}", path), None
    if kind == "extra_forbidden":
        table = _table_at(model, path[:-1])
        known = _keys(table) if table is not None else []
        home = _home(path[-1]) if with_hint else ""
        meant = nearest(path[-1], known) if with_hint and not home else None
        where = f"in {'.'.join(map(short, path[:-1]))}" if len(path) > 1 else "here"
        hint = f"did you mean {meant}?" if meant else f"the keys are {', '.join(known)}"
        hint = f"it belongs in {home}" if home else hint
        message = f"{shown(path[-1])} is not a key known {where}; {hint}"
        return Fault("file/unknown-key", message, path, on_key=True), meant
    if kind == "literal_error":
        given = detail["input"]
        word = shown(given) if isinstance(given, str) else "what stands here"
        message = f"{key}: {word} is not one of the words that it takes: {context['expected']}"
        return Fault("file/not-a-choice", message.replace("'", '"'), path), None
    return Fault(*_wrong_kind(kind, path, key, context, detail["input"]), path), None


def _home(key: str) -> str:
    """Say which files have a key, and under which heading; nothing for none and for too many."""
    ends = ("front",), "[front] or [rear]"
    tables: list[tuple[str, KeyPath, str]] = [
        *(("build", *each) for each in (((), ""), ends, (("bench",), "[bench]"))),
        *(("car", *each) for each in (((), ""), ends)),
        ("event", (), ""),
        *(("parts", (kind, "ID"), f"[{kind}.ID]") for kind in PART_KINDS),
    ]
    found: dict[str, list[str]] = {}
    for kind, path, heading in tables:
        table = _table_at(KINDS[kind], path) if path else KINDS[kind]
        if table is not None and key in _keys(table):
            found.setdefault(kind, []).append(heading)
    if sum(map(len, found.values())) > _MOST_HOMES:
        return ""
    return " or ".join(
        f"a NAME.{kind}.toml{', under ' if all(under) else ''}{' or '.join(under)}"
        for kind, under in found.items()
    )


def _wrong_kind(
    kind: str, path: KeyPath, key: str, context: dict[str, Any], given: Any
) -> tuple[str, str]:
    if kind == "string_too_short":
        return "file/out-of-range", f"{key} is empty: text belongs here"
    if kind == "string_too_long":
        most = context.get("max_length")
        return "file/out-of-range", f"{key} is too long: at most {most:,} characters fit here"
    if kind == "string_type" and (number := _as_text(given)) is not None:
        return "file/wrong-kind", f'put text in quotes: {key} = "{number}"'
    due = {
        "string_type": 'text in quotes, such as "heron"',
        "string_unicode": 'text in quotes, such as "heron"',
        "bool_type": "true or false, without quotes",
        "list_type": 'a list in brackets, such as ["bled", "greased"]',
    }.get(kind)
    if due is None:
        heading = ".".join(map(short, path))
        return "file/wrong-kind", f"{key}: keys of its own belong here, under a heading [{heading}]"
    return "file/wrong-kind", f"{key}: {due}, belongs here"


def _as_text(given: Any) -> str | None:
    """Return a number or a date as the text that was meant; None for others and long ones."""
    if isinstance(given, datetime.date) and not isinstance(given, datetime.datetime):
        return given.isoformat()
    if not isinstance(given, (int, float)) or isinstance(given, bool):
        return None
    number = shown_number(given)
    return number if len(number) <= _LONGEST_NUMBER and number.isascii() else None


def _keys(table: type[Table]) -> list[str]:
    return [field.key for field in fields_of(table).values()]


def _table_at(model: type[Table], path: KeyPath) -> type[Table] | None:
    """Return the model of the table that stands at a path."""
    here: Any = model
    for part in path:
        if isinstance(here, type) and issubclass(here, Table):
            field = fields_of(here).get(part)
            here = table_in(field.takes) if field is not None else None
        elif isinstance(here, dict):
            here = here["each"]
        if here is None:
            return None
    return here if isinstance(here, type) and issubclass(here, Table) else None

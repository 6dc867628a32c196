"""A table that a program hands over, made into one that a TOML file could hold."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import Any

__all__ = ["MOST_VALUES", "NoToml", "TooMuchError", "plain"]

# No file of ours is nested as deep, and none holds as much.
_DEEPEST = 16
MOST_VALUES = 50_000


class TooMuchError(ValueError):
    """A table holds more than any file of ours could."""


class NoToml:
    """Stands for what no TOML file can hold; every field refuses it."""


def plain(table: Mapping[Any, Any]) -> dict[str, Any]:
    """Return a copy of the table, of plain tables, lists, texts, numbers and dates throughout.

    What is of no such kind is replaced by something that every field refuses; so is a table that
    holds itself. A key that is no text goes by its text. Raises TooMuchError for a table of more
    than MOST_VALUES values.

    >>> plain({"front": {1: "a", "done": ("bled",)}})
    {'front': {'1': 'a', 'done': ['bled']}}
    """
    made: dict[int, Any] = {}

    left = MOST_VALUES

    def copied(value: Any, depth: int) -> Any:
        nonlocal left
        left -= 1
        if left < 0:
            raise TooMuchError(f"holds more than {MOST_VALUES:,} values: no file of ours does")
        if isinstance(value, str):
            return str.__str__(value)
        if isinstance(value, float):
            return float(value)
        if isinstance(value, (bool, int, datetime.date, datetime.time)) or value is None:
            return value
        if depth > _DEEPEST or not isinstance(value, (Mapping, list, tuple)):
            return NoToml()
        # each is copied once: what holds itself is refused, what is shared stays shared
        if id(value) not in made:
            made[id(value)] = NoToml()
            made[id(value)] = (
                {_key(key): copied(item, depth + 1) for key, item in value.items()}
                if isinstance(value, Mapping)
                else [copied(item, depth + 1) for item in value]
            )
        return made[id(value)]

    return {_key(key): copied(value, 1) for key, value in table.items()}


def _key(key: Any) -> str:
    """Return the text of a key; half of a character, which no file can hold, as its escape."""
    return str(key).encode("utf-8", "backslashreplace").decode("utf-8")

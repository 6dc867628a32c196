"""Read one rule from its TOML: the rule, or every mistake in it."""

from __future__ import annotations

from pathlib import Path

from buildlint.files.mistakes import Told, checked
from buildlint.files.places import Places
from buildlint.files.toml_file import read_toml
from buildlint.judging.rule import Rule
from buildlint.text.errors import RulebookError
from buildlint.text.words import stands_at

__all__ = ["read_rule"]

# A rule of many paragraphs has a twentieth of it.
_LARGEST = 100_000


def read_rule(ident: str, path: Path) -> Rule:
    """Read a rule from its file; raises RulebookError with every mistake in it."""
    data, raw = read_toml(path, _LARGEST, RulebookError)
    told: list[Told] = []
    for key in ("id", "path"):
        if raw.pop(key, None) is not None:
            what = f"{key} is not a key of a rule: the name of its file says which it is"
            told.append(((key,), what))
    rule, mistakes, _ = checked(Rule, {**raw, "id": ident, "path": path})
    told += mistakes
    if told:
        places = Places(data)
        lines = []
        for keys, message in told:
            place = places.of_key(keys)
            lines.append(f"{stands_at(path, place.line, place.column)}: {message}")
        raise RulebookError(lines)
    return rule

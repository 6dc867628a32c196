"""A team's own settings, as its buildlint.toml writes them: changed rules, and concessions."""

from __future__ import annotations

import datetime
import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from buildlint.concession import Concession
from buildlint.errors import SettingsError
from buildlint.files.kind import Kind
from buildlint.files.places import Places
from buildlint.readings import Mistake
from buildlint.toml_file import read_toml
from buildlint.words import counted, listed, nearest, short, shown, stands_at

__all__ = ["CHANCE", "OWN", "SETTINGS", "SURE", "WHERE", "Settings", "read_settings"]

#: The file of a team's own settings; where it stands is the root.
SETTINGS = "buildlint.toml"

#: The folder of a team's own rules, beside its settings.
OWN = "rules"

#: The chance from which a must holds, where a team sets no other (JCGM 106:2012, 7.4).
SURE = 0.95

#: What such a chance may be.
CHANCE = Kind("share", "95 %", "0 %", "80 %", "99.9 %")
_SURE_EXAMPLE = '[judging] sure = "95 %"'

#: What a concession may be narrowed to.
WHERE = ("front", "front.left", "front.right", "rear", "rear.left", "rear.right", "car")

_LARGEST = 1_000_000
_MOST_CONCESSIONS = 1_000
_MOST_CHANGES = 500
_MOST_TOLD = 100
_KEYS = ("rules", "judging", "concession")
_TEXTS = {"rule": 200, "reason": 2_000, "build": 200, "where": 20}
_NEEDED = ("rule", "reason", "until")


@dataclass(slots=True)
class Settings:
    """What a team's settings say.

    `rules` are the changes as written, by the id of the rule; whether they can be made,
    `rules_in_force` says. `mistakes` are what is wrong, each with the keys where it stands.
    """

    root: Path
    data: bytes = b""
    there: bool = False
    rules: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    sure: float = SURE
    concessions: tuple[Concession, ...] = ()
    mistakes: list[tuple[tuple[str, ...], str]] = field(default_factory=list)

    @property
    def path(self) -> Path:
        """Where the settings stand, or would."""
        return self.root / SETTINGS

    def refuse(self) -> None:
        """Raise SettingsError with every mistake, each with its line; nothing where all is well."""
        if not self.mistakes:
            return
        places = Places(self.data)
        found = sorted((places.of_key(keys), message) for keys, message in self.mistakes)
        lines = [f"{stands_at(self.path, p.line, p.column)}: {what}" for p, what in found]
        lines = list(dict.fromkeys(lines))
        more = len(lines) - _MOST_TOLD
        if more > 0:
            what = f"{counted(more, 'more mistake', ',')}: mend these first"
            lines[_MOST_TOLD:] = [f"{stands_at(self.path)}: {what}"]
        raise SettingsError(lines)


def read_settings(root: Path) -> Settings:
    """Read the settings of the team whose root this is; without a file, they say nothing.

    Raises SettingsError where the file cannot be read at all; what is wrong in it is in `mistakes`.
    """
    settings = Settings(root)
    path = settings.path
    if not os.path.lexists(path):
        return settings
    settings.there = True
    raw = _raw(path, root, settings)
    for key in raw:
        if key not in _KEYS:
            near = nearest(key, _KEYS)
            hint = f"did you mean {near}?" if near else f"the keys are {listed(_KEYS)}"
            settings.mistakes.append(((key,), f"{shown(key)} is not a key of the settings; {hint}"))
    settings.rules = _changes(raw.get("rules", {}), settings)
    settings.sure = _sure(raw.get("judging", {}), settings)
    settings.concessions = tuple(_concessions(raw.get("concession", []), settings))
    return settings


def _raw(path: Path, root: Path, settings: Settings) -> dict[str, Any]:
    try:
        there = path.is_file()
    except OSError:
        there = False
    if not there:
        raise SettingsError([f"{stands_at(path)}: is not a file that can be read"])
    if path.is_symlink() and not path.resolve().is_relative_to(root.resolve()):
        raise SettingsError([f"{stands_at(path)}: is a link that leads out of the repository"])
    settings.data, raw = read_toml(path, _LARGEST, SettingsError)
    return raw


def _changes(given: Any, settings: Settings) -> dict[str, dict[str, Any]]:
    wrong = settings.mistakes
    if not isinstance(given, dict):
        wrong.append((("rules",), 'rules takes a heading for each rule: [rules."pair/length"]'))
        return {}
    if len(given) > _MOST_CHANGES:
        wrong.append((("rules",), f"at most {_MOST_CHANGES} rules can be changed here"))
        return {}
    found = {}
    for ident, table in given.items():
        if not isinstance(table, dict):
            what = f'a heading for each rule belongs here, such as [rules."{short(ident)}"]'
            wrong.append((("rules", ident), what))
        elif (
            "/" not in ident and table and all(isinstance(value, dict) for value in table.values())
        ):
            # [rules.pair.length], which means another thing than it looks
            inner = short(next(iter(table)))
            what = f'write the id of the rule in quotes: [rules."{short(ident)}/{inner}"]'
            wrong.append((("rules", ident), what))
        else:
            found[ident] = table
    return found


def _sure(given: Any, settings: Settings) -> float:
    """Read the chance from which a must holds."""
    wrong = settings.mistakes
    if not isinstance(given, dict):
        wrong.append((("judging",), f"judging is a heading with the key sure: {_SURE_EXAMPLE}"))
        return SURE
    for key in given:
        if key != "sure":
            near = nearest(key, ("sure",))
            hint = "did you mean sure?" if near else "its only key is sure"
            wrong.append((("judging", key), f"{shown(key)} is not a key of judging; {hint}"))
    try:
        return round(CHANCE.read(given.get("sure", f"{SURE:.0%}")).value, 9)
    except Mistake as mistake:
        wrong.append((("judging", "sure"), mistake.message))
        return SURE


def _concessions(given: Any, settings: Settings) -> list[Concession]:
    wrong = settings.mistakes
    if not isinstance(given, list) or not all(isinstance(table, dict) for table in given):
        wrong.append((("concession",), "each concession has a heading of its own: [[concession]]"))
        return []
    if len(given) > _MOST_CONCESSIONS:
        wrong.append((("concession",), f"at most {_MOST_CONCESSIONS:,} concessions fit here"))
        return []
    found = []
    for number, table in enumerate(given):
        before = len(wrong)
        _check_concession(table, ("concession", str(number)), settings)
        if len(wrong) == before:
            texts = {key: " ".join(table[key].split()) for key in _TEXTS if key in table}
            found.append(Concession(**{**table, **texts}, number=number))
    return found


def _check_concession(table: dict[str, Any], above: tuple[str, ...], settings: Settings) -> None:
    wrong = settings.mistakes
    known = (*_TEXTS, "until")
    for key in table:
        if key not in known:
            near = nearest(key, known)
            hint = f"did you mean {near}?" if near else f"the keys are {', '.join(known)}"
            wrong.append(((*above, key), f"{shown(key)} is not a key of a concession; {hint}"))
    for key in _NEEDED:
        if key not in table:
            wrong.append((above, f"{key} is missing: every concession needs it"))
    for key, longest in _TEXTS.items():
        value = table.get(key, "-")
        if not isinstance(value, str) or not value.strip():
            wrong.append(((*above, key), f"{key} is text in quotes"))
        elif len(value) > longest:
            wrong.append(((*above, key), f"{key} is too long: at most {longest:,} characters"))
        elif key == "where" and key in table and value not in WHERE:
            wrong.append(((*above, key), f"where is one of {', '.join(WHERE)}"))
    until = table.get("until", datetime.date.min)
    if type(until) is not datetime.date:
        what = "until is a date without quotes, such as 2027-06-30"
        wrong.append(((*above, "until"), what))

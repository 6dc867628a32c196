"""A team's own settings, as its buildlint.toml writes them: changed rules, and concessions."""

from __future__ import annotations

import os
from dataclasses import dataclass, field
from fnmatch import fnmatchcase
from pathlib import Path
from typing import Annotated, Any, ClassVar

from pydantic import AfterValidator, BeforeValidator, ConfigDict, Field, ValidationError
from pydantic_core import InitErrorDetails

from buildlint.files.concession import Concession
from buildlint.files.kind import Kind
from buildlint.files.mistakes import Checked, KeyPath, Told, checked, due, line, wrong
from buildlint.files.places import Places
from buildlint.files.readings import Reading
from buildlint.files.rule_keys import Asks, Level
from buildlint.files.toml_file import read_toml
from buildlint.text.errors import SettingsError
from buildlint.text.words import counted, short, stands_at

__all__ = [
    "OWN",
    "SETTINGS",
    "SURE",
    "Change",
    "Inspect",
    "Judging",
    "Settings",
    "SettingsFile",
    "read_settings",
]

#: The file of a team's own settings; where it stands is the root.
SETTINGS = "buildlint.toml"

#: The folder of a team's own rules, beside its settings.
OWN = "rules"

#: The chance from which a must holds, where a team sets no other (JCGM 106:2012, 7.4).
SURE = 0.95
_CHANCE = Kind("share", "95 %", "0 %", "80 %", "99.9 %")

_LARGEST = 1_000_000
_MOST_CONCESSIONS = 1_000
_MOST_CHANGES = 500
_MOST_TOLD = 100
_MOST_NAMES = 100
_LONGEST_NAME = 200


class Change(Asks):
    """Another limit, another level, or leave_out = true."""

    model_config = ConfigDict(title="A rule's change")
    called: ClassVar[str] = "rule"
    no_key: ClassVar[tuple[str, str]] = ("cannot be changed in a {}", "these can:")
    gone: ClassVar[dict[str, str]] = {"off": "write leave_out = true in the place of off = true"}

    level: Level | None = Field(default=None, description="Whether it must hold or should.")
    title: Annotated[str, line(200)] | None = Field(
        default=None, description="What holds, in a line."
    )
    source: Annotated[str, line(2_000)] | None = Field(
        default=None, description="Where the limit comes from."
    )
    leave_out: Annotated[bool, due(bool, "leave_out takes true")] = Field(
        default=False, description="True: builds are not judged by this rule."
    )


class Judging(Checked):
    """How builds are judged."""

    model_config = ConfigDict(title="Judging")
    called: ClassVar[str] = "table judging"
    no_key: ClassVar[tuple[str, str]] = ("is not a key of judging", "its only key is")

    sure: Annotated[Reading, _CHANCE] = Field(
        default=_CHANCE.read(f"{SURE:.0%}"),
        description="The chance from which a must that keeps its limit as read holds; below it, it "
        "is borderline. Left out, 95 %.",
    )


def _names(given: Any) -> tuple[str, ...]:
    listed = isinstance(given, (list, tuple))
    if not listed or not all(isinstance(each, str) and each.strip() for each in given):
        raise wrong('pass_over is a list of files in quotes, such as ["builds/old/**"]')
    if len(given) > _MOST_NAMES or any(len(each) > _LONGEST_NAME for each in given):
        raise wrong(f"at most {_MOST_NAMES} files fit here, each of {_LONGEST_NAME} characters")
    return tuple(given)


class Inspect(Checked):
    """Which builds are judged."""

    model_config = ConfigDict(title="Inspect")
    called: ClassVar[str] = "table inspect"
    no_key: ClassVar[tuple[str, str]] = ("is not a key of inspect", "its only key is")

    pass_over: Annotated[tuple[str, ...], BeforeValidator(_names)] = Field(
        default=(),
        description="Builds that are not judged unless somebody names their file: files as seen "
        "from this one, where * stands for anything, folders included.",
    )

    def passes_over(self, name: str) -> bool:
        """Return whether a build is passed over, by its file's name as seen from the root.

        >>> Inspect(pass_over=("builds/old/**",)).passes_over("builds/old/2026/heron.build.toml")
        True
        """
        return any(fnmatchcase(name, pattern) for pattern in self.pass_over)


def _changes(given: Any) -> Any:
    """Refuse what is no table of changes by the ids of rules."""
    if not isinstance(given, dict):
        raise wrong('change takes a heading for each rule: [change."pair/length"]')
    if len(given) > _MOST_CHANGES:
        raise wrong(f"at most {_MOST_CHANGES} rules can be changed here")
    errors = []
    for ident, table in given.items():
        what = ""
        if not isinstance(table, (dict, Change)):
            what = f'a heading for each rule belongs here, such as [change."{short(str(ident))}"]'
        elif _has_tables_alone(table) and "/" not in str(ident):
            # [change.pair.length], which means another thing than it looks
            inner = f"{short(str(ident))}/{short(str(next(iter(table))))}"
            what = f'write the id of the rule in quotes: [change."{inner}"]'
        if what:
            errors.append(InitErrorDetails(type=wrong(what), loc=(str(ident),), input=None))
    if errors:
        raise ValidationError.from_exception_data("change", errors)
    return given


def _has_tables_alone(table: Any) -> bool:
    if not isinstance(table, dict) or not table:
        return False
    return all(isinstance(each, dict) for each in table.values())


def _concessions(given: Any) -> Any:
    listed = isinstance(given, (list, tuple))
    if not listed or not all(isinstance(each, (dict, Concession)) for each in given):
        raise wrong("each concession has a heading of its own: [[concession]]")
    if len(given) > _MOST_CONCESSIONS:
        raise wrong(f"at most {_MOST_CONCESSIONS:,} concessions fit here")
    return given


def _numbered(given: tuple[Concession, ...]) -> tuple[Concession, ...]:
    return tuple(concession.numbered(number) for number, concession in enumerate(given))


_A_HEADING_TOO = (
    'inspect is a heading with the key pass_over: [inspect] pass_over = ["builds/old/**"]'
)
_A_HEADING = 'judging is a heading with the key sure: [judging] sure = "95 %"'


class Settings(Checked):
    """The team's own limits, how it judges, and its concessions; the file marks the root.

    Whether the rules can be changed so, only `rules_in_force` can say.

    >>> given = {"change": {"pair/length": {"leave_out": True}}}
    >>> Settings.model_validate(given).changes["pair/length"].leave_out
    True
    """

    model_config = ConfigDict(title=SETTINGS)
    called: ClassVar[str] = "settings"
    no_key: ClassVar[tuple[str, str]] = ("is not a key of the settings", "the keys are")
    gone: ClassVar[dict[str, str]] = {
        "rules": 'write [change."GROUP/NAME"] in the place of [rules."GROUP/NAME"], and '
        "leave_out = true in the place of off = true"
    }

    changes: Annotated[dict[str, Change], BeforeValidator(_changes)] = Field(
        default_factory=dict,
        alias="change",
        description="What the team changes of the rules, each in a table by its id.",
    )
    judging: Annotated[Judging, due((dict, Judging), _A_HEADING)] = Field(
        default_factory=Judging, description="How surely what must hold has to hold."
    )
    inspect: Annotated[Inspect, due((dict, Inspect), _A_HEADING_TOO)] = Field(
        default_factory=Inspect, description="Which builds are left out where nobody names them."
    )
    concessions: Annotated[
        tuple[Concession, ...], BeforeValidator(_concessions), AfterValidator(_numbered)
    ] = Field(
        default=(),
        alias="concession",
        description="Leave to use builds that a rule refuses, each with its reason.",
    )


@dataclass(slots=True)
class SettingsFile:
    """The settings of the team whose root this is, with what is wrong in them.

    With a mistake, `says` is of what could be read; `refused` are the keys that could not.
    """

    root: Path
    data: bytes = b""
    there: bool = False
    says: Settings = field(default_factory=Settings)
    mistakes: list[Told] = field(default_factory=list)
    refused: set[KeyPath] = field(default_factory=set)

    @property
    def sure(self) -> float:
        """The chance from which a must holds."""
        return round(self.says.judging.sure.value, 9)

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


def read_settings(root: Path) -> SettingsFile:
    """Read the settings of the team whose root this is; without a file, they say nothing.

    Raises SettingsError where the file cannot be read at all; what is wrong in it is in `mistakes`.
    """
    path = root / SETTINGS
    if not os.path.lexists(path):
        return SettingsFile(root)
    try:
        there = path.is_file()
    except OSError:
        there = False
    if not there:
        raise SettingsError([f"{stands_at(path)}: is not a file that can be read"])
    if path.is_symlink() and not path.resolve().is_relative_to(root.resolve()):
        raise SettingsError([f"{stands_at(path)}: is a link that leads out of the repository"])
    data, raw = read_toml(path, _LARGEST, SettingsError)
    return SettingsFile(root, data, True, *checked(Settings, raw))

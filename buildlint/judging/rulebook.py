"""The rules as data: one TOML file a rule, its path the id; those that ship, and a team's own."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

import tomli

from buildlint.files.disk import inside
from buildlint.files.mistakes import Told, checked
from buildlint.files.paths import path_of
from buildlint.files.places import Places
from buildlint.files.settings import OWN, SETTINGS
from buildlint.files.toml_file import read_toml
from buildlint.judging.rule import KEYS, LONGEST_ID, Rule
from buildlint.team.folders import DEEPEST, folders_below
from buildlint.text.errors import RulebookError
from buildlint.text.words import clean, stands_at

__all__ = ["Rulebook", "check_rulebook", "load_rulebook", "own_rules", "read_rule", "shipped_rules"]


@dataclass(frozen=True, slots=True)
class Rulebook:
    """The rules in force, by id, in the order of their ids.

    >>> book = load_rulebook()
    >>> book["bladder/into-body-room"].level
    'must'
    """

    rules: Mapping[str, Rule]

    def __getitem__(self, ident: str) -> Rule:
        """Return a rule by its id; raises KeyError."""
        return self.rules[ident]

    def __iter__(self) -> Iterator[Rule]:
        """Go through the rules in the order of their ids."""
        return iter(self.rules.values())

    def __len__(self) -> int:
        """Count the rules."""
        return len(self.rules)

    def measured(self) -> Iterator[Rule]:
        """Return the rules that ask something of a measure."""
        return (rule for rule in self if rule.measure is not None)


def shipped_rules() -> Path:
    """Return the folder of the rules that come with buildlint: in the wheel, or in a checkout.

    Raises RulebookError where there is neither.
    """
    here = Path(__file__).parent.parent
    for folder in (here / "rules", here.parent / "rules"):
        if folder.is_dir():
            return folder
    raise RulebookError([f"the rules are missing: neither {here / 'rules'} nor beside it"])


def check_rulebook(given: object) -> None:
    """Raise TypeError for what is neither None nor a rulebook of rules."""
    if given is None:
        return
    rules = given.rules if isinstance(given, Rulebook) else None
    if not isinstance(rules, Mapping) or not all(isinstance(r, Rule) for r in rules.values()):
        raise TypeError("a rulebook is what load_rulebook gives")


def load_rulebook(folder: str | os.PathLike[str] | None = None) -> Rulebook:
    """Read the rules below a folder (left out: the ones that come with buildlint).

    What a team's own settings and rules make of them is not in it. Raises RulebookError with every
    mistake in every rule, each with file and line.

    >>> rule = load_rulebook()["pair/length"]
    >>> rule.title, rule.ask.texts
    ('Left and right are equally long, fully out', {'same_within': '0.5 mm'})
    """
    root = shipped_rules() if folder is None else path_of(folder)
    rules: dict[str, Rule] = {}
    mistakes: list[str] = []
    for path in sorted(root.rglob("*.toml")):
        ident = path.relative_to(root).as_posix().removesuffix(".toml")
        try:
            rules[ident] = read_rule(ident, path)
        except RulebookError as error:
            mistakes.extend(error.mistakes)
    if not rules and not mistakes:
        mistakes.append(f"{root}: holds no rules")
    if mistakes:
        raise RulebookError(mistakes)
    return Rulebook(rules)


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


_MOST_RULES = 500
# All of them together: what the rules that come with buildlint have, twenty times.
_LARGEST_TOGETHER = 1_000_000
_OUTSIDE = "is a link that leads out of the repository"


def own_rules(
    root: Path,
    shipped: Rulebook,
    sure: bool = True,
    counts: Callable[[Path], bool] | None = None,
) -> dict[str, Rule]:
    """Read the rules of the team whose root this is, by their ids; those that are hidden are none.

    Where it is not `sure` that the folder is the team's, for no settings stand beside it, files of
    other tools are passed over: those that have not even two keys of a rule. So are those of
    which `counts` says no. Raises RulebookError with every mistake: in a rule, or in where
    its file stands.
    """
    folder = root / OWN
    if not folder.is_dir():
        if folder.is_symlink():
            raise RulebookError([f"{stands_at(folder)}: is a link to nothing that can be read"])
        return {}
    if _are_shipped(folder):
        return {}  # a checkout of buildlint itself
    if not inside(folder, root):
        raise RulebookError([f"{stands_at(folder)}: {_OUTSIDE}"])
    closed: list[Path] = []
    paths = sorted(
        here / entry.name
        for here, entries in folders_below(folder, closed=closed)
        for entry in entries
        if entry.name.endswith(".toml") and not entry.name.startswith(".")
        if counts is None or counts(here / entry.name)
    )
    if closed:
        # a rule that is not read is a rule that nobody is told of
        what = f"may not be looked into, or is more than {DEEPEST} folders deep"
        raise RulebookError([f"{stands_at(path)}: {what}" for path in closed])
    if len(paths) > _MOST_RULES:
        what = f"holds {len(paths):,} rules; at most {_MOST_RULES} fit"
        raise RulebookError([f"{stands_at(folder)}: {what}"])
    found: dict[str, Rule] = {}
    mistakes: list[str] = []
    room = _LARGEST_TOGETHER
    for path in paths:
        ident = path.relative_to(folder).as_posix().removesuffix(".toml")
        if not sure and _is_anothers(path):
            continue
        wrong = _misplaced(ident, path, root, shipped)
        if wrong is not None:
            mistakes.append(f"{stands_at(path)}: {wrong}")
            continue
        room -= path.stat().st_size if path.is_file() else 0
        if room < 0:
            what = f"its rules are larger than {_LARGEST_TOGETHER:,} bytes together"
            raise RulebookError([f"{stands_at(folder)}: {what}"])
        try:
            found[ident] = read_rule(ident, path)
        except RulebookError as error:
            mistakes += error.mistakes
    if mistakes:
        raise RulebookError(mistakes)
    return found


def _are_shipped(folder: Path) -> bool:
    """Return whether a folder is that of the rules that come with buildlint, or has the very same.

    In a checkout of buildlint that is installed elsewhere the rules stand in both places.
    """
    shipped = shipped_rules()
    if folder.samefile(shipped):
        return True
    if not (folder / "file").is_dir():
        return False  # no team has rules of that group
    names = {path.relative_to(shipped) for path in shipped.rglob("*.toml")}
    if {path.relative_to(folder) for path in folder.rglob("*.toml")} != names:
        return False
    return all(_same_file(folder / name, shipped / name) for name in names)


def _same_file(path: Path, other: Path) -> bool:
    if path.is_symlink() or not path.is_file() or path.stat().st_size != other.stat().st_size:
        return False
    try:
        return path.read_bytes() == other.read_bytes()
    except OSError:
        return False


def _is_anothers(path: Path) -> bool:
    """Return whether a file can be read and has not even two keys of a rule."""
    try:
        if not path.is_file() or path.stat().st_size > _LARGEST_TOGETHER:
            return False
        found = tomli.loads(path.read_text(encoding="utf-8-sig"))
    except (OSError, ValueError, RecursionError):
        return False  # what it was meant to be, nobody knows
    return len(found.keys() & set(KEYS)) < 2


def _misplaced(ident: str, path: Path, root: Path, shipped: Rulebook) -> str | None:
    """Say what is wrong with where a rule's file stands, and so with its id."""
    if not inside(path, root):
        return _OUTSIDE
    if len(ident) > LONGEST_ID or clean(ident) != ident:
        return f"a rule's name has at most {LONGEST_ID} characters, all of them plain"
    if ident.startswith("file/"):
        return "the group file/ is for how files are written: give this rule another folder"
    if ident in shipped.rules:
        return f"{ident} comes with buildlint: change it in {SETTINGS}, or rename this file"
    return None

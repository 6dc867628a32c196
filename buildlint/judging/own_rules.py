"""A team's own rules: TOML files below rules/, beside its settings."""

from __future__ import annotations

from pathlib import Path

import tomli

from buildlint.files.disk import inside
from buildlint.files.settings import OWN, SETTINGS
from buildlint.judging.rule import KEYS, LONGEST_ID, Rule
from buildlint.judging.rule_reader import read_rule
from buildlint.judging.rulebook import Rulebook, shipped_rules
from buildlint.team.folders import DEEPEST, folders_below
from buildlint.text.errors import RulebookError
from buildlint.text.words import clean, stands_at

__all__ = ["own_rules"]

_MOST = 500
# All of them together: what the rules that come with buildlint have, twenty times.
_LARGEST = 1_000_000
_OUTSIDE = "is a link that leads out of the repository"


def own_rules(root: Path, shipped: Rulebook, sure: bool = True) -> dict[str, Rule]:
    """Read the rules of the team whose root this is, by their ids; those that are hidden are none.

    Where it is not `sure` that the folder is the team's, for no settings stand beside it, files of
    other tools are passed over: those that have not even two keys of a rule. Raises RulebookError
    with every mistake: in a rule, or in where its file stands.
    """
    folder = root / OWN
    if not folder.is_dir():
        if folder.is_symlink():
            raise RulebookError([f"{stands_at(folder)}: is a link to nothing that can be read"])
        return {}
    if folder.samefile(shipped_rules()):
        return {}  # a checkout of buildlint itself
    if not inside(folder, root):
        raise RulebookError([f"{stands_at(folder)}: {_OUTSIDE}"])
    closed: list[Path] = []
    paths = sorted(
        here / entry.name
        for here, entries in folders_below(folder, closed=closed)
        for entry in entries
        if entry.name.endswith(".toml") and not entry.name.startswith(".")
    )
    if closed:
        # a rule that is not read is a rule that nobody is told of
        what = f"may not be looked into, or is more than {DEEPEST} folders deep"
        raise RulebookError([f"{stands_at(path)}: {what}" for path in closed])
    if len(paths) > _MOST:
        what = f"holds {len(paths):,} rules; at most {_MOST} fit"
        raise RulebookError([f"{stands_at(folder)}: {what}"])
    found: dict[str, Rule] = {}
    mistakes: list[str] = []
    room = _LARGEST
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
            what = f"its rules are larger than {_LARGEST:,} bytes together"
            raise RulebookError([f"{stands_at(folder)}: {what}"])
        try:
            found[ident] = read_rule(ident, path)
        except RulebookError as error:
            mistakes += error.mistakes
    if mistakes:
        raise RulebookError(mistakes)
    return found


def _is_anothers(path: Path) -> bool:
    """Say whether a file can be read and has not even two keys of a rule."""
    try:
        if not path.is_file() or path.stat().st_size > _LARGEST:
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

"""The rules as data: one TOML file a rule, its path the rule's id."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from buildlint.files.paths import path_of
from buildlint.judging.rule import Rule
from buildlint.judging.rule_reader import read_rule
from buildlint.text.errors import RulebookError

__all__ = ["Rulebook", "check_rulebook", "load_rulebook", "shipped_rules"]


@dataclass(frozen=True, slots=True)
class Rulebook:
    """The rules in force, by id, in the order of their ids.

    >>> book = load_rulebook()
    >>> book["bladder/into-body-room"].level
    'must'
    """

    rules: Mapping[str, Rule]

    def __getitem__(self, ident: str) -> Rule:
        """Give a rule by its id; raises KeyError."""
        return self.rules[ident]

    def __iter__(self) -> Iterator[Rule]:
        """Go through the rules in the order of their ids."""
        return iter(self.rules.values())

    def __len__(self) -> int:
        """Count the rules."""
        return len(self.rules)

    def measured(self) -> Iterator[Rule]:
        """Give the rules that ask something of a measure."""
        return (rule for rule in self if rule.measure is not None)


def shipped_rules() -> Path:
    """Give the folder of the rules that come with buildlint: in the wheel, or in a checkout.

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

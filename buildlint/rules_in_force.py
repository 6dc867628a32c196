"""The rules in force for a team: those that come with buildlint as it changed them, and its own."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Literal

from buildlint.concession import Concession
from buildlint.errors import RulebookError
from buildlint.measures import MEASURES
from buildlint.rule import ASKS, Rule, asked
from buildlint.rule_reader import RuleReader
from buildlint.rulebook import Rulebook, load_rulebook
from buildlint.settings import SETTINGS, Settings, read_settings
from buildlint.words import nearest, shown, stands_at

__all__ = ["CHANGEABLE_ABOUT_FILES", "InForce", "RuleChange", "rules_in_force"]

#: The folder of a team's own rules, beside its settings.
OWN = "rules"

_CHANGE_KEYS = ("off", "level", "title", "source", "by", *ASKS)
_MOST_OWN = 500
_LONGEST_ID = 100
_OUTSIDE = "is a link that leads out of the repository"

#: These two are about the settings themselves; the other rules about files cannot be changed.
CHANGEABLE_ABOUT_FILES = ("file/concession-expired", "file/concession-unused")


@dataclass(frozen=True, slots=True)
class RuleChange:
    """One way in which a team's rules differ from those that come with buildlint.

    `what` is what was done to the rule, in words; `level` is the level that it came with (of a
    rule of the team's own, the one that it has).
    """

    rule: str
    kind: Literal["off", "changed", "own"]
    level: Literal["must", "should"]
    what: str
    path: Path
    line: int = 1
    column: int = 1


@dataclass(frozen=True, slots=True)
class InForce:
    """The rules that a team's builds are judged by, how they came about, and its concessions."""

    book: Rulebook
    changes: tuple[RuleChange, ...] = ()
    concessions: tuple[Concession, ...] = ()
    settings: Settings | None = None


def rules_in_force(root: Path, base: Rulebook | None = None) -> InForce:
    """Give the rules in force for the team whose root this is.

    `base` stands in for the rules that come with buildlint: it is taken as it is, and of the team's
    settings only the concessions are followed. Raises SettingsError and RulebookError with every
    mistake, each with its file and line.
    """
    settings = read_settings(root)
    book = base if base is not None else load_rulebook()
    if not settings.there:
        return InForce(book)
    changes: list[RuleChange] = []
    if base is None:
        # own rules first: a concession may name one
        own = _own_rules(root, book)
        changed = _changed(settings, book)
        rules = {**book.rules, **changed, **{rule.id: rule for rule in own}}
        off = {ident for ident, table in settings.rules.items() if table.get("off") is True}
        book = Rulebook({ident: rules[ident] for ident in sorted(rules) if ident not in off})
        changes = _told(settings, load_rulebook(), rules, off, own)
        known = set(rules)
    else:
        known = set(book.rules)
    for leave in settings.concessions:
        keys = ("concession", str(leave.number), "rule")
        if leave.rule.startswith("file/"):
            what = "a mistake in a file can only be mended: it takes no concession"
            settings.mistakes.append((keys, what))
        elif leave.rule not in known:
            settings.mistakes.append((keys, _no_rule(leave.rule, known)))
    settings.refuse()
    return InForce(book, tuple(changes), settings.concessions, settings)


def _no_rule(ident: str, known: set[str]) -> str:
    near = nearest(ident, known)
    return f"there is no rule {shown(ident)}" + (f"; did you mean {near}?" if near else "")


# --- rules of the team's own ---------------------------------------------------------------------


def _own_rules(root: Path, book: Rulebook) -> list[Rule]:
    folder = root / OWN
    if not folder.is_dir():
        return []
    if not folder.resolve().is_relative_to(root.resolve()):
        raise RulebookError([f"{stands_at(folder)}: {_OUTSIDE}"])
    paths = [path for path in folder.rglob("*.toml") if not _hidden(path, folder)]
    if not paths:
        return []
    if len(paths) > _MOST_OWN:
        what = f"holds {len(paths):,} rules; at most {_MOST_OWN} fit"
        raise RulebookError([f"{stands_at(folder)}: {what}"])
    mistakes = []
    for path in sorted(paths):
        ident = path.relative_to(folder).as_posix().removesuffix(".toml")
        if not path.resolve().is_relative_to(root.resolve()):
            mistakes.append(f"{stands_at(path)}: {_OUTSIDE}")
        elif len(ident) > _LONGEST_ID or not ident.isprintable():
            what = f"a rule's name has at most {_LONGEST_ID} characters, all of them plain"
            mistakes.append(f"{stands_at(path)}: {what}")
        elif ident.startswith("file/"):
            what = "the group file/ is for how files are written: give this rule another folder"
            mistakes.append(f"{stands_at(path)}: {what}")
        elif ident in book.rules:
            what = f"{ident} comes with buildlint: change it in {SETTINGS}, or rename this file"
            mistakes.append(f"{stands_at(path)}: {what}")
    if mistakes:
        raise RulebookError(mistakes)
    return list(load_rulebook(folder))


def _hidden(path: Path, folder: Path) -> bool:
    return any(part.startswith(".") for part in path.relative_to(folder).parts)


# --- rules that the team changes -----------------------------------------------------------------


def _changed(settings: Settings, book: Rulebook) -> dict[str, Rule]:
    found = {}
    for ident, table in settings.rules.items():
        above = ("rules", ident)
        if ident not in book.rules:
            settings.mistakes.append((above, _no_rule(ident, set(book.rules))))
            continue
        rule = _change(settings, book[ident], table, above)
        if rule is not None:
            found[ident] = rule
    return found


def _change(
    settings: Settings, rule: Rule, table: Mapping[str, Any], above: tuple[str, ...]
) -> Rule | None:
    wrong = settings.mistakes
    before = len(wrong)
    for key in table:
        if key not in _CHANGE_KEYS:
            near = nearest(key, _CHANGE_KEYS)
            hint = f"did you mean {near}?" if near else f"known are {', '.join(_CHANGE_KEYS)}"
            wrong.append(((*above, key), f"{shown(key)} is not what a rule can change; {hint}"))
    if rule.id.startswith("file/") and rule.id not in CHANGEABLE_ABOUT_FILES:
        wrong.append((above, f"{rule.id} is about how files are written: it cannot be changed"))
    if not table:
        wrong.append((above, "nothing is changed: give a limit, a level, or off = true"))
    if not isinstance(table.get("off", True), bool):
        wrong.append(((*above, "off"), "off takes true"))
    if table.get("level", "must") not in ("must", "should"):
        wrong.append(((*above, "level"), 'level is "must" or "should"'))
    for key in ("title", "source"):
        text = table.get(key, "-")
        if not isinstance(text, str) or not text.strip():
            wrong.append(((*above, key), f"{key} is text in quotes"))
    asks = {key: table[key] for key in ("by", *ASKS) if key in table}
    if rule.measure is None:
        wrong += [((*above, key), f"{key}: a rule about files has no measure") for key in asks]
    elif asks:
        rule = _with_ask(settings, rule, asks, above)
    if len(wrong) > before:
        return None
    return replace(
        rule,
        level=table.get("level", rule.level),
        title=" ".join(table.get("title", rule.title).split()),
        source=" ".join(table.get("source", rule.source).split()),
    )


def _with_ask(
    settings: Settings, rule: Rule, asks: Mapping[str, Any], above: tuple[str, ...]
) -> Rule:
    """Give the rule with another limit, read as a rule's own is; its title says the new one."""
    raw: dict[str, Any] = {"measure": rule.measure, **asks}
    if "bands" in raw and rule.by is not None:
        raw.setdefault("by", rule.by)
    reader = RuleReader(rule.id, settings.path, raw)
    _, ask, by, bands = reader.measured()
    settings.mistakes += [((*above, *keys), message) for keys, message in reader.mistakes]
    if reader.mistakes:
        return rule
    changed = replace(
        rule,
        ask=ask,
        by=by,
        bands=bands,
        source=f"the team's own limit, {SETTINGS}; it came with {asked(rule)} ({rule.source})",
    )
    words = MEASURES[rule.measure or ""].in_words
    limit = asked(changed).removeprefix(f"{rule.measure} ")
    title = f"{words} {limit}"
    return replace(changed, title=f"{title[:1].upper()}{title[1:]}")


# --- what is told of it --------------------------------------------------------------------------


def _told(
    settings: Settings, shipped: Rulebook, rules: Mapping[str, Rule], off: set[str], own: list[Rule]
) -> list[RuleChange]:
    changes = []
    if settings.rules:
        from buildlint.files.places import Places

        places = Places(settings.data)
        for ident in sorted(settings.rules):
            if ident not in shipped.rules:
                continue
            was, rule = shipped[ident], rules[ident]
            place = places.of_key(("rules", ident))
            what = "off" if ident in off else "; ".join(_differences(was, rule))
            changes.append(
                RuleChange(
                    ident,
                    "off" if ident in off else "changed",
                    was.level,
                    what or "as it came",
                    settings.path,
                    place.line,
                    place.column,
                )
            )
    changes += [RuleChange(rule.id, "own", rule.level, asked(rule), rule.path) for rule in own]
    return changes


def _differences(was: Rule, rule: Rule) -> list[str]:
    found = []
    if (was.ask, was.by, was.bands) != (rule.ask, rule.by, rule.bands):
        found.append(f"{asked(rule)}, where it came with {asked(was)}")
    if was.level != rule.level:
        found.append(f"a {rule.level}, where it came as a {was.level}")
    if not found and was.title != rule.title:
        found.append("another title")
    if not found and was.source != rule.source:
        found.append("another source")
    return found

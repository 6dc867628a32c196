"""Show the rules in force, or one in full: `buildlint rulebook`."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Iterable
from pathlib import Path

from buildlint.commands.outcome import Outcome

__all__ = ["run"]


def run(chosen: Namespace) -> Outcome:
    """Show the rules in force here, or one in full."""
    from buildlint.judging.rulebook import Rulebook
    from buildlint.judging.rules_in_force import rules_in_force
    from buildlint.team.folders import find_root
    from buildlint.text.errors import RulebookError

    force = rules_in_force(find_root(Path.cwd()))
    book, changes = force.book, list(force.changes)
    rules = list(book)
    name = (chosen.rule or "").rstrip("/")
    group = [rule for rule in book if rule.id.split("/")[0] == name]
    if group:
        book, rules = Rulebook({rule.id: rule for rule in group}), group
        changes = [change for change in changes if change.rule.split("/")[0] == name]
    elif chosen.rule is not None:
        if chosen.rule not in book.rules:
            from buildlint.text.words import shown

            near = _rule_meant(name, book.rules)
            hint = f"; did you mean {near}?" if near else ""
            off = any(change.rule == chosen.rule for change in changes)
            name = shown(chosen.rule)
            turned_off = f"the rule {name} is off here: the team's settings say so"
            raise RulebookError([turned_off if off else f"there is no rule {name}{hint}"])
        rules = [book[chosen.rule]]
        changes = [change for change in changes if change.rule == chosen.rule]
    if chosen.form == "json":
        from buildlint.reports.json import rules_json

        return Outcome(rules_json(rules, changes))
    from buildlint.reports.tables import rule_text, rulebook_text

    if chosen.rule is not None and not group:
        return Outcome(rule_text(rules[0], changes))
    return Outcome(rulebook_text(book, changes))


def _rule_meant(name: str, rules: Iterable[str]) -> str | None:
    """Give the rule, or the group of rules, that a name may have meant."""
    from buildlint.text.words import nearest

    rules = list(rules)
    # by the whole id, by its group or by what comes behind
    known = {rule.partition("/")[2]: rule for rule in reversed(rules)}
    known |= {rule: rule for rule in rules}
    known |= {group: group for group in (rule.partition("/")[0] for rule in rules)}
    begun = (word for word in known if name and word.startswith(name))
    near = name if name in known else next(begun, None) or nearest(name, known)
    return known[near] if near is not None else None

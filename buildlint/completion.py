"""Completion of commands, options, paths and rules in a shell."""

from __future__ import annotations

import argparse

from buildlint.arguments import parser

__all__ = ["completion"]

_FILES = ("paths", "build", "old", "new", "output")


def completion(shell: str) -> str:
    """Give the script that a shell reads to complete the words of a `buildlint` command.

    The rules are those that come with buildlint. Raises KeyError for a shell that is not known.

    >>> "rulebook" in completion("bash")
    True
    """
    import shtab

    from buildlint.rulebook import load_rulebook
    from buildlint.schemas import SCHEMA_KINDS

    found = parser()
    for action in _actions(found):
        if action.dest in _FILES:
            action.complete = shtab.FILE  # type: ignore[attr-defined]
        elif action.dest == "folder":
            action.complete = shtab.DIRECTORY  # type: ignore[attr-defined]
        elif action.dest == "rule":
            action.choices = [rule.id for rule in load_rulebook()]
        elif action.dest == "kind":
            action.choices = SCHEMA_KINDS
    return str(shtab.complete(found, shell))


def _actions(found: argparse.ArgumentParser) -> list[argparse.Action]:
    actions = list(found._actions)
    for action in found._actions:
        if isinstance(action, argparse._SubParsersAction):
            for inner in action.choices.values():
                actions += _actions(inner)
    return actions

"""Completion of commands, options, paths, rules, and ids of builds and events in a shell."""

from __future__ import annotations

import argparse
from argparse import Namespace

from buildlint.commands.arguments import parser
from buildlint.commands.outcome import Outcome

__all__ = ["completion", "run"]

_BUILDS = ("paths", "build", "old", "new")

# Ids of a kind of file in the team's folders that begin so; what is no plain id is left out, so
# that nothing in the name of a stranger's file is ever read by the shell.
_IDS = r"""
_buildlint_ids() {
  local root=.
  local up
  for up in . .. ../.. ../../..; do
    if [ -e "$up/buildlint.toml" ]; then root=$up; break; fi
  done
  find "$root" -maxdepth 6 -name '.?*' ! -name '..' -prune -o \
      -type f -name "*.$1.toml" -print 2>/dev/null |
    sed -n "s|^.*/\([A-Za-z0-9][A-Za-z0-9._-]*\)\.$1\.toml\$|\1|p" | sort -u
}
"""
_PREAMBLE = {
    "bash": _IDS
    + r"""
_buildlint_begin_so() {
  _buildlint_ids "$1" | grep -e "^$2" 2> /dev/null
  _shtab_compgen_files "$2"
}
_buildlint_builds() { _buildlint_begin_so build "$1"; }
_buildlint_events() { _buildlint_begin_so event "$1"; }
""",
    "zsh": _IDS
    + r"""
_buildlint_builds() { compadd -- ${(f)"$(_buildlint_ids build)"}; _files }
_buildlint_events() { compadd -- ${(f)"$(_buildlint_ids event)"}; _files }
""",
}


def completion(shell: str) -> str:
    """Return the script that a shell reads to complete the words of a `buildlint` command.

    The rules are those that come with buildlint. Raises KeyError for a shell that is not known.

    >>> "rulebook" in completion("bash")
    True
    """
    import shtab

    from buildlint.judging.rulebook import load_rulebook
    from buildlint.reports.schemas import SCHEMA_KINDS

    found = parser()
    for action in _actions(found):
        if action.dest == "output":
            action.complete = shtab.FILE  # type: ignore[attr-defined]
        elif action.dest in (*_BUILDS, "event"):
            names = "_buildlint_events" if action.dest == "event" else "_buildlint_builds"
            action.complete = dict.fromkeys(_PREAMBLE, names)  # type: ignore[attr-defined]
        elif action.dest == "folder":
            action.complete = shtab.DIRECTORY  # type: ignore[attr-defined]
        elif action.dest == "rule":
            action.choices = [rule.id for rule in load_rulebook()]
        elif action.dest == "kind":
            action.choices = SCHEMA_KINDS
    script = str(shtab.complete(found, shell, preamble=_PREAMBLE[shell]))
    # what stands before its first line says how it is installed, but not how it is made
    first, *lines = script.splitlines()
    named = [first] if first.startswith("#compdef") else []
    lines = lines if named else [first, *lines]
    code = next(n for n, line in enumerate(lines) if line and not line.startswith("#"))
    return "\n".join([*named, *_head(shell), *lines[code:]]) + "\n"


def _head(shell: str) -> list[str]:
    kept = {"bash": "in ~/.bash_completion", "zsh": "as _buildlint in a folder of its fpath"}[shell]
    return [
        f"# Completes the words of a buildlint command: {shell} reads this {kept}.",
        f"# Made by `buildlint complete {shell}`: make it again when buildlint is a newer one.",
        "",
    ]


def _actions(found: argparse.ArgumentParser) -> list[argparse.Action]:
    actions = list(found._actions)
    for action in found._actions:
        if isinstance(action, argparse._SubParsersAction):
            for inner in action.choices.values():
                actions += _actions(inner)
    return actions


def run(chosen: Namespace) -> Outcome:
    """Print what a shell needs to complete commands, options and paths."""
    return Outcome(completion(chosen.shell))

"""The arguments that the command takes, and what its help says."""

from __future__ import annotations

import argparse
import datetime
from collections.abc import Sequence
from typing import NoReturn

from buildlint.words import clean, shown

__all__ = ["parser"]

_ABOUT = "Judges written-down builds of oil-filled model-car dampers by a rulebook."
_EXITS = "exit code: 0 nothing fails that must hold; 1 something does; 2 nothing could be judged"


class _Parser(argparse.ArgumentParser):
    """Tells of wrong arguments without obeying what is in them."""

    def error(self, message: str) -> NoReturn:
        super().error(clean(message))


def parser() -> argparse.ArgumentParser:
    """Give the parser; what it gives names a function of `commands`, or None for no command."""
    from buildlint import __version__

    found = _Parser(
        prog="buildlint",
        description=_ABOUT,
        epilog=f"buildlint COMMAND --help says more of one. {_EXITS}",
    )
    found.add_argument("--version", action="version", version=f"buildlint {__version__}")
    found.set_defaults(command=None, output=None)
    commands = found.add_subparsers(title="commands", metavar="COMMAND")

    inspect = _command(
        commands,
        "inspect",
        "judge builds",
        "Judge builds. A path is a file of any kind or a folder; a changed car, part or event "
        "judges every build that uses it.",
        "buildlint inspect builds/heron-quarry.build.toml",
        ("text", "lines", "json"),
    )
    inspect.add_argument("paths", nargs="*", metavar="PATH", help="default: this folder")
    inspect.add_argument(
        "--strict", action="store_true", help="a should that fails, or a doubt, fails too"
    )
    inspect.add_argument(
        "--commit",
        action="store_true",
        help="judge what the commit being made changes, and every build that uses it",
    )
    inspect.add_argument(
        "--on",
        type=_date,
        metavar="DATE",
        help="the day for which concessions count, such as 2027-06-12; default: today",
    )

    figures = _command(
        commands,
        "figures",
        "every measure of a build, with tolerance",
        "Show every measure of a build at every condition, with tolerance, failing or not.",
        "buildlint figures heron-quarry",
        ("text", "json"),
    )
    figures.add_argument("build", metavar="BUILD", help="the file of a build, or its id")

    rulebook = _command(
        commands,
        "rulebook",
        "the rules in force; one rule in full",
        "Show the rules in force and where each limit comes from, or one rule in full.",
        "buildlint rulebook bladder/into-cap-room",
        ("text", "json"),
    )
    rulebook.add_argument("rule", nargs="?", metavar="RULE", help="the id of a rule, or a group")
    return found


def _command(
    commands: argparse._SubParsersAction[_Parser],
    name: str,
    brief: str,
    description: str,
    example: str,
    forms: Sequence[str],
) -> argparse.ArgumentParser:
    found = commands.add_parser(
        name, help=brief, description=description, epilog=f"example: {example}"
    )
    if forms:
        found.add_argument(
            "--as", dest="form", choices=forms, default=forms[0], help="form of the report"
        )
    found.add_argument("-o", dest="output", metavar="FILE", help="write there, whole or not at all")
    found.set_defaults(command=name)
    return found


def _date(text: str) -> datetime.date:
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        due = "a date is written year-month-day, such as 2027-06-12"
        raise argparse.ArgumentTypeError(f"{shown(text)}: {due}") from None

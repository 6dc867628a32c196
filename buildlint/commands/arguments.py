"""The arguments that the command takes, and what its help says."""

from __future__ import annotations

import argparse
import contextlib
import datetime
import sys
import textwrap
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any, NoReturn

from buildlint.text.words import clean, shown

if TYPE_CHECKING:
    _Commands = argparse._SubParsersAction["_Parser"]

__all__ = ["SHELLS", "parser"]

#: The shells for which there is completion.
SHELLS = ("bash", "zsh")

_WIDTH = 78

_ABOUT = "Judges written-down builds of oil-filled model-car dampers by a rulebook."
_EXITS = """\
example: buildlint inspect       (buildlint COMMAND --help says more about it)
exit code: 0 no must fails; 1 one does; 2 nothing could be judged"""


class _Help(argparse.RawDescriptionHelpFormatter):
    """Lines of text stay as they are written; options and their help stand side by side."""

    def __init__(self, prog: str) -> None:
        super().__init__(prog, max_help_position=28)


class _Parser(argparse.ArgumentParser):
    """Tells of wrong arguments without obeying what is in them."""

    def __init__(self, **more: Any) -> None:
        # half an option is a mistake: a newer version may have two that begin so
        super().__init__(formatter_class=_Help, allow_abbrev=False, **more)
        self._positionals.title = "arguments"

    def error(self, message: str) -> NoReturn:
        super().error(clean(message))

    def _print_message(self, message: str, file: Any = None) -> None:
        # newer versions of Python say nothing of a help that cannot be written
        if file is sys.stdout:
            file.write(message)
            file.flush()
        else:
            with contextlib.suppress(OSError):
                super()._print_message(message, file)


def parser(only: str | None = None) -> argparse.ArgumentParser:
    """Return the parser; what it gives names a function of `commands`, or None for no command.

    With the name of a command, a parser of that command alone: a commit hook needs no other.
    """
    from buildlint import __version__

    found = _Parser(
        prog="buildlint",
        description=_ABOUT,
        epilog=_EXITS,
    )
    found.add_argument("--version", action="version", version=f"buildlint {__version__}")
    found.set_defaults(command=None, output=None)
    commands = found.add_subparsers(title="commands", metavar="COMMAND")
    for name, add in _COMMANDS.items():
        if only not in _COMMANDS or only == name:
            add(commands)
    return found


def _inspect(commands: _Commands) -> None:
    found = _command(
        commands,
        "inspect",
        "judge builds",
        "Judge builds. A path is a file of any kind, a folder, or a build's id; a changed car, "
        "part or event judges every build that uses it.",
        "buildlint inspect heron-quarry",
        ("text", "lines", "json", "sarif", "junit"),
    )
    found.add_argument(
        "paths",
        nargs="*",
        metavar="PATH",
        help="a file, a folder or an id; default: here",
    )
    found.add_argument(
        "--all",
        action="store_true",
        help="list every rule everywhere, what holds included",
    )
    found.add_argument(
        "--should-too",
        action="store_true",
        help="fail also for a should, or a borderline must",
    )
    which = found.add_mutually_exclusive_group()
    which.add_argument("--past", action="store_true", help="judge past builds too")
    which.add_argument(
        "--named",
        action="store_true",
        help="for commit hooks: the paths are the files of a commit, git says what it deletes",
    )
    _on(found)


def _figures(commands: _Commands) -> None:
    found = _command(
        commands,
        "figures",
        "every measure of a build, with its uncertainty",
        "Show every measure of a build at every condition, with its uncertainty.",
        "buildlint figures heron-quarry",
        ("text", "json"),
    )
    _build(found)


def _rulebook(commands: _Commands) -> None:
    found = _command(
        commands,
        "rulebook",
        "the rules in force; one rule in full",
        "Show the rules in force and where each limit comes from, or one rule in full.",
        "buildlint rulebook bladder/into-cap-room",
        ("text", "json"),
    )
    found.add_argument("rule", nargs="?", metavar="RULE", help="the id of a rule, or a group")


def _compare(commands: _Commands) -> None:
    found = _command(
        commands,
        "compare",
        "two builds side by side: what was changed, and what it does",
        "Show what was changed between two builds, and what that does to each figure. OLD may "
        "also be a git revision: then NEW is compared with itself as it was then.",
        "buildlint compare HEAD~3 builds/heron-quarry.build.toml",
        ("text", "json"),
    )
    found.add_argument("old", metavar="OLD", help="the file of a build, its id, or a git revision")
    found.add_argument("new", metavar="NEW", help="the file of a build, or its id")


def _adapt(commands: _Commands) -> None:
    found = _command(
        commands,
        "adapt",
        "what a build needs for another event, to feel as it does now",
        "Show with which oil, piston, bladder and hold-back a build feels most like itself at "
        "another event, end by end.",
        "buildlint adapt heron-estuary quarry-six-hour -o heron-2.build.toml",
        ("text", "json"),
        output=False,
    )
    _build(found)
    found.add_argument("event", metavar="EVENT", help="the file of an event, or its id")
    found.add_argument(
        "-o",
        dest="plan",
        type=_file,
        metavar="FILE",
        help="write the first as a plan, NAME.build.toml; overwrites nothing",
    )


def _labels(commands: _Commands) -> None:
    found = _command(
        commands,
        "labels",
        "what to write on the caps",
        "Show what to write on the cap of each damper of a build, and whether what is written "
        "there agrees with what is inside.",
        "buildlint labels heron-quarry",
        ("text", "json"),
    )
    _build(found)


def _sheet(commands: _Commands) -> None:
    found = _command(
        commands,
        "sheet",
        "a bench sheet to build by, for paper and phone",
        "Make a bench sheet of a build as one HTML page: parts, planned readings, steps with boxes "
        "to tick and cautions on the first page of A4, plots and advice on the second. Needs: pip "
        'install "buildlint[sheet]".',
        "buildlint sheet heron-quarry -o heron-quarry.html",
    )
    _build(found)
    found.add_argument(
        "--finished",
        action="store_true",
        help="one page for whoever gets the car: what is in it, as read",
    )
    _on(found)


def _prepare(commands: _Commands) -> None:
    found = _command(
        commands,
        "prepare",
        "before an event: what is ready, what is due, what to pack",
        "Show which cars are ready for an event, what is due before it, and what to pack. As html "
        "it is a page to print.",
        "buildlint prepare quarry-six-hour",
        ("text", "json", "html"),
    )
    found.add_argument("event", metavar="EVENT", help="the file of an event, or its id")
    _on(found)


def _schema(commands: _Commands) -> None:
    found = _command(
        commands,
        "schema",
        "JSON Schema of a kind of file, or of a report",
        "Print the JSON Schema (2020-12) of a kind of file, by which an editor knows its keys, or "
        "of what `inspect --as json` prints (report).",
        "buildlint schema build -o schemas/build.schema.json",
    )
    found.add_argument(
        "kind", metavar="KIND", help="parts, car, event, build, settings, rule or report"
    )


def _begin(commands: _Commands) -> None:
    found = _command(
        commands,
        "begin",
        "a small starting repository, with comments and the hook",
        "Make a starting repository in a folder: files of every kind with comments, settings, "
        "schemas and the hook. Overwrites nothing.",
        "buildlint begin our-team",
        output=False,
    )
    found.add_argument("folder", metavar="DIR", help="the folder; made if it is not there")


def _complete(commands: _Commands) -> None:
    found = _command(
        commands,
        "complete",
        "completion of commands and options for a shell",
        "Print what a shell needs to complete commands, options and paths of buildlint.",
        "buildlint complete bash >> ~/.bash_completion",
    )
    found.add_argument("shell", metavar="SHELL", choices=SHELLS, help=" or ".join(SHELLS))


#: Each command, in the order of the help.
_COMMANDS: dict[str, Callable[[_Commands], None]] = {
    "inspect": _inspect,
    "figures": _figures,
    "rulebook": _rulebook,
    "compare": _compare,
    "adapt": _adapt,
    "labels": _labels,
    "sheet": _sheet,
    "prepare": _prepare,
    "schema": _schema,
    "begin": _begin,
    "complete": _complete,
}


def _command(
    commands: _Commands,
    name: str,
    summary: str,
    description: str,
    example: str,
    forms: Sequence[str] = (),
    output: bool = True,
) -> argparse.ArgumentParser:
    found = commands.add_parser(
        name,
        help=summary,
        description=textwrap.fill(description, _WIDTH),
        epilog=f"example: {example}",
    )
    if forms:
        found.add_argument(
            "--as", dest="form", choices=forms, default=forms[0], help="form of the report"
        )
    if output:
        found.add_argument(
            "-o",
            dest="output",
            type=_file,
            metavar="FILE",
            help="write to FILE, all of it or nothing",
        )
    found.set_defaults(command=name)
    return found


def _build(command: argparse.ArgumentParser) -> None:
    command.add_argument("build", metavar="BUILD", help="the file of a build, or its id")


def _on(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--on",
        type=_date,
        metavar="DATE",
        help="day for concessions, as 2027-06-12; default: today",
    )


def _file(text: str) -> str:
    if text == "-":
        said = '"-" is no file: without -o the report is printed (a file of that name is ./-)'
        raise argparse.ArgumentTypeError(said)
    return text


def _date(text: str) -> datetime.date:
    with contextlib.suppress(ValueError):
        day = datetime.date.fromisoformat(text)
        # from Python 3.11 on it reads weeks, and dates without hyphens, too
        if day.isoformat() == text:
            return day
    due = "a date is written year-month-day, such as 2027-06-12, and is a real day"
    raise argparse.ArgumentTypeError(f"{shown(text)}: {due}")

"""The command `buildlint`: arguments in, a report out, an exit code."""

from __future__ import annotations

import argparse
import contextlib
import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import NoReturn

from buildlint.words import clean

__all__ = ["main", "run"]

_FAILED, _UNUSABLE = 1, 2


def run() -> NoReturn:
    """Run the command on this process's arguments, and exit."""
    # whoever starts a program may have closed its streams
    sys.stdout = sys.stdout or open(os.devnull, "w")  # noqa: PTH123, SIM115
    sys.stderr = sys.stderr or open(os.devnull, "w")  # noqa: PTH123, SIM115
    for stream in (sys.stdout, sys.stderr):
        # a terminal that lacks a letter gets its escape, never a traceback
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")
    try:
        code = main(sys.argv[1:])
        sys.stdout.flush()
    except BrokenPipeError:
        # whoever read the report has closed it: nothing is left to say, and to nobody
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        code = _UNUSABLE
    except KeyboardInterrupt:
        _say("interrupted")
        code = _UNUSABLE
    except OSError as error:
        _say(f"the report cannot be written: {error.strerror}")
        code = _UNUSABLE
    sys.exit(code)


def _say(line: str) -> None:
    """Say something beside the report, if there is anyone to hear it."""
    with contextlib.suppress(OSError):
        sys.stderr.write(f"buildlint: {line}\n")
        sys.stderr.flush()


def main(arguments: Sequence[str]) -> int:
    """Run the command and give its exit code: 0, 1 where a `must` fails, 2 where nothing is judged.

    Raises SystemExit with 2 for arguments that make no sense, with 0 after --help.
    """
    parser = _parser()
    chosen = parser.parse_args(arguments)
    command: Callable[[argparse.Namespace], tuple[str, int]] | None = chosen.command
    if command is None:
        parser.print_help()
        return _UNUSABLE
    from buildlint.errors import PathError, RulebookError, SettingsError

    try:
        report, code = command(chosen)
        _deliver(report, chosen.output)
    except (PathError, SettingsError, RulebookError) as error:
        for line in str(error).splitlines():
            _say(line)
        return _UNUSABLE
    except BrokenPipeError:
        raise
    except OSError as error:
        where = f"{clean(os.fsdecode(error.filename))}: " if error.filename else ""
        _say(f"{where}{error.strerror}")
        return _UNUSABLE
    return code


def _deliver(report: str, output: str | None) -> None:
    """Print the report, or write it to a file whole or not at all."""
    if output is None:
        sys.stdout.write(report)
        return
    import tempfile

    from buildlint.errors import PathError
    from buildlint.files.reader import is_ours

    if is_ours(Path(output).name):
        raise PathError(f"-o {clean(output)} would write over a file of the team's")
    target = Path(os.path.realpath(output))
    if target.exists() and not target.is_file():
        # a pipe or a device has nothing to keep, and is not to be replaced by a file
        with target.open("w", encoding="utf-8") as stream:
            stream.write(report)
        return
    try:
        handle, name = tempfile.mkstemp(dir=target.parent, prefix=".buildlint-")
    except OSError as error:
        raise OSError(error.errno, error.strerror, output) from None
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(report)
            file.flush()
            os.fsync(file.fileno())
        Path(name).chmod(_mode_for(target))
        os.replace(name, target)  # noqa: PTH105
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def _mode_for(target: Path) -> int:
    """Give the rights that a file has, or those that a new one gets."""
    if target.exists():
        return target.stat().st_mode & 0o777
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask


# --- commands ------------------------------------------------------------------------------------


def _inspect(chosen: argparse.Namespace) -> tuple[str, int]:
    from buildlint.inspection import inspect

    if chosen.commit:
        from buildlint.commit import changed_in_commit, differs_from_staged
        from buildlint.errors import PathError

        if chosen.paths:
            raise PathError("--commit takes no paths: git says what the commit changes")
        for name in differs_from_staged(Path.cwd()):
            _say(f"{clean(name)} is not as it is staged: it is judged as it stands on the disk")
        found = inspect(changed_in_commit(Path.cwd()), tracked=True)
    else:
        found = inspect(chosen.paths or ["."])
    code = 0 if found.passes(chosen.strict) else _FAILED
    if chosen.form == "json":
        from buildlint.reports.as_json import inspection_json

        return inspection_json(found), code
    if chosen.form == "lines":
        from buildlint.reports.lines import inspection_lines

        return inspection_lines(found), code
    from buildlint.reports.text import inspection_text

    if chosen.commit and not found.builds and not found.in_files:
        return "no build is changed by this commit\n", code
    return inspection_text(found, _colour(chosen), chosen.strict), code


def _figures(chosen: argparse.Namespace) -> tuple[str, int]:
    from buildlint.build_figures import figures

    found = figures(chosen.build)
    for line in found.mistakes:
        _say(line)
    code = _FAILED if found.mistakes else 0
    if chosen.form == "json":
        from buildlint.reports.as_json import figures_json

        return figures_json(found), code
    from buildlint.reports.tables import figures_text

    return figures_text(found), code


def _rulebook(chosen: argparse.Namespace) -> tuple[str, int]:
    from buildlint.errors import RulebookError
    from buildlint.reports.tables import rule_text, rulebook_text
    from buildlint.rulebook import Rulebook, load_rulebook

    book = load_rulebook()
    rules = list(book)
    group = [rule for rule in book if rule.id.split("/")[0] == (chosen.rule or "").rstrip("/")]
    if group:
        book, rules, chosen.rule = Rulebook({rule.id: rule for rule in group}), group, None
    if chosen.rule is not None:
        if chosen.rule not in book.rules:
            from buildlint.words import nearest, shown

            near = nearest(chosen.rule, book.rules)
            hint = f"; did you mean {near}?" if near else ""
            raise RulebookError([f"there is no rule {shown(chosen.rule)}{hint}"])
        rules = [book[chosen.rule]]
    if chosen.form == "json":
        from buildlint.reports.as_json import rules_json

        return rules_json(rules), 0
    return (rule_text(rules[0]) if chosen.rule is not None else rulebook_text(book)), 0


def _colour(chosen: argparse.Namespace) -> bool:
    return (
        chosen.output is None
        and sys.stdout.isatty()
        and not os.environ.get("NO_COLOR")
        and os.environ.get("TERM") != "dumb"
    )


# --- arguments -----------------------------------------------------------------------------------


class _Parser(argparse.ArgumentParser):
    """Tells of wrong arguments without obeying what is in them."""

    def error(self, message: str) -> NoReturn:
        super().error(clean(message))


def _parser() -> argparse.ArgumentParser:
    from buildlint import __version__

    parser = _Parser(
        prog="buildlint",
        description="Judges written-down builds of oil-filled model-car dampers by a rulebook.",
        epilog="exit: 0 nothing fails that must hold, 1 something does, 2 nothing could be judged",
    )
    parser.add_argument("--version", action="version", version=f"buildlint {__version__}")
    parser.set_defaults(command=None, output=None)
    commands = parser.add_subparsers(title="commands", metavar="COMMAND")

    inspect = _command(
        commands,
        "inspect",
        "judge builds",
        "Judge builds. A path is a file of any kind or a folder; a changed car, part or event "
        "judges every build that uses it.",
        "example: buildlint inspect builds/heron-quarry.build.toml",
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
    inspect.set_defaults(command=_inspect)

    figures = _command(
        commands,
        "figures",
        "every measure of a build, with tolerance",
        "Show every measure of a build at every condition, with tolerance, failing or not.",
        "example: buildlint figures heron-quarry",
        ("text", "json"),
    )
    figures.add_argument("build", metavar="BUILD", help="the file of a build, or its id")
    figures.set_defaults(command=_figures)

    rulebook = _command(
        commands,
        "rulebook",
        "the rules in force; one rule in full",
        "Show the rules in force and where each limit comes from, or one rule in full.",
        "example: buildlint rulebook bladder/into-cap-room",
        ("text", "json"),
    )
    rulebook.add_argument("rule", nargs="?", metavar="RULE", help="the id of a rule, or a group")
    rulebook.set_defaults(command=_rulebook)
    return parser


def _command(
    commands: argparse._SubParsersAction[_Parser],
    name: str,
    brief: str,
    description: str,
    example: str,
    forms: Sequence[str],
) -> argparse.ArgumentParser:
    parser = commands.add_parser(name, help=brief, description=description, epilog=example)
    parser.add_argument(
        "--as", dest="form", choices=forms, default="text", help="form of the report"
    )
    parser.add_argument(
        "-o", dest="output", metavar="FILE", help="write there, whole or not at all"
    )
    return parser

"""The command `buildlint`: arguments in, a report out, an exit code."""

from __future__ import annotations

import contextlib
import gc
import os
import sys
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, NoReturn

from buildlint.words import clean

if TYPE_CHECKING:
    from argparse import Namespace

__all__ = ["main", "run"]

_UNUSABLE = 2
_SELDOM = 200_000


def run() -> NoReturn:
    """Run the command on this process's arguments, and exit."""
    # whoever starts a program may have closed its streams
    sys.stdout = sys.stdout or open(os.devnull, "w")  # noqa: PTH123, SIM115
    sys.stderr = sys.stderr or open(os.devnull, "w")  # noqa: PTH123, SIM115
    for stream in (sys.stdout, sys.stderr):
        # a terminal that lacks a letter gets its escape, never a traceback
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")
    # nearly all that is made here is let go without the collector; it need not look so often
    gc.set_threshold(_SELDOM)
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
    with contextlib.suppress(OSError):
        sys.stderr.flush()
    # all is written: to free what is kept would take longer than to judge a build
    os._exit(code)


def _say(line: str) -> None:
    """Say something beside the report, if there is anyone to hear it."""
    with contextlib.suppress(OSError):
        sys.stderr.write(f"buildlint: {clean(line)}\n")
        sys.stderr.flush()


def main(arguments: Sequence[str]) -> int:
    """Run the command and give its exit code: 0, 1 where a `must` fails, 2 where nothing is judged.

    Raises SystemExit with 2 for arguments that make no sense, with 0 after --help.
    """
    from buildlint.arguments import parser

    parsing = parser(arguments[0] if arguments else None)
    chosen = parsing.parse_args(arguments)
    if chosen.command is None:
        parsing.print_help()
        return _UNUSABLE
    from buildlint import commands
    from buildlint.errors import BuildlintError
    from buildlint.output import deliver

    command: Callable[[Namespace], commands.Outcome] = getattr(commands, chosen.command)
    try:
        outcome = command(chosen)
        for line in outcome.notes:
            _say(line)
        deliver(outcome.report, chosen.output)
    except BuildlintError as error:
        for line in str(error).splitlines():
            _say(line)
        return _UNUSABLE
    except BrokenPipeError:
        raise
    except OSError as error:
        where = f"{os.fsdecode(error.filename)}: " if error.filename else ""
        _say(f"{where}{error.strerror}")
        return _UNUSABLE
    return outcome.code

"""The command `buildlint`: arguments in, a report out, an exit code."""

from __future__ import annotations

import atexit
import contextlib
import errno
import gc
import importlib
import io
import os
import signal
import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING, NoReturn

if TYPE_CHECKING:
    from buildlint.commands.outcome import Outcome

__all__ = ["main", "run"]

_UNUSABLE = 2
_SELDOM = 200_000
_NO_ROOM = b"buildlint: there is too little memory: name fewer builds, or end other programs\n"


def run() -> NoReturn:
    """Run the command on this process's arguments, and exit."""
    if signal.getsignal(signal.SIGINT) == signal.default_int_handler:
        signal.signal(signal.SIGINT, _interrupted)
    _take_the_places_of_closed_streams()
    for stream in (sys.stdout, sys.stderr):
        # a terminal that lacks a letter gets its escape, never a traceback
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")
    # nearly all that is made here is let go without the collector; it need not look so often
    gc.set_threshold(_SELDOM)
    # no matrix is multiplied here: numpy need not start a thread for each processor
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    try:
        code = _code()
    except (MemoryError, ImportError, SystemError):
        # there is no room even to say what is wrong with a library
        code = _too_little_memory()
    with contextlib.suppress(OSError):
        sys.stderr.flush()
    if "matplotlib" in sys.modules:
        # without a home it keeps a folder of its own, which it takes away at the very end
        atexit._run_exitfuncs()
    # all is written: to free what is kept would take longer than to judge a build
    os._exit(code)


def _code() -> int:
    """Return the exit code of the command, whatever ends it."""
    try:
        return main(sys.argv[1:])
    except SystemExit as asked:
        return asked.code if isinstance(asked.code, int) else _UNUSABLE
    except BrokenPipeError:
        # whoever read the report has closed it: nothing is left to say, and to nobody
        return _UNUSABLE
    except (ImportError, SystemError) as error:
        # with too little memory a library may end so
        _say(f"a library cannot be used: {error}")
        return _UNUSABLE
    except OSError as error:
        # the help: it is written by whoever reads the arguments
        _say(f"standard output: {error.strerror}")
        return _UNUSABLE


def _interrupted(*_: object) -> NoReturn:
    """End at once: an exception raised anywhere would be taken for something else in places.

    Nothing of the user's is being written: that waits (see `undisturbed`).
    """
    with contextlib.suppress(OSError):
        # how far the run is may stand on the line; streams may be in the middle of something
        wiped = b"\r\x1b[K" if os.isatty(2) and os.environ.get("TERM") != "dumb" else b""
        os.write(2, wiped + b"buildlint: interrupted\n")
    os._exit(_UNUSABLE)


class _Closed(io.TextIOBase):
    """Stands for a standard output that is closed: what is written there is refused, not lost."""

    def write(self, text: str) -> int:
        raise OSError(errno.EBADF, "is closed")


def _take_the_places_of_closed_streams() -> None:
    """See to it that whoever closed our streams breaks nothing but what would be written there."""
    for number in range(3):
        try:
            os.fstat(number)
        except OSError:
            # no file opened later may pass for a stream; this takes the lowest number that is free
            os.open(os.devnull, os.O_RDWR)
    sys.stdout = sys.stdout or _Closed()
    sys.stderr = sys.stderr or open(os.devnull, "w")  # noqa: PTH123, SIM115


def _say(line: str) -> None:
    """Say something beside the report, if there is anyone to hear it."""
    from buildlint.text.words import clean

    with contextlib.suppress(OSError, ValueError, AttributeError):  # it may be closed, or none
        sys.stderr.write(f"buildlint: {clean(line)}\n")
        sys.stderr.flush()


def _too_little_memory() -> int:
    with contextlib.suppress(OSError):
        # nothing is loaded or put together for this: there may be no room even for that
        os.write(2, _NO_ROOM)
    return _UNUSABLE


def main(arguments: Sequence[str]) -> int:
    """Run the command and give its exit code: 0, 1 where a `must` fails, 2 where nothing is judged.

    Raises SystemExit with 2 for arguments that make no sense, with 0 after --help.
    """
    if sys.stdout is None or sys.stdout.closed:
        # a program that calls this may have none
        with contextlib.redirect_stdout(_Closed()):
            return main(arguments)
    from buildlint.commands.arguments import parser

    if "--named" in arguments:
        # git may name a file like an option
        dashed = (word.startswith("-") and word.endswith(".toml") for word in arguments)
        arguments = [f"./{w}" if d else w for w, d in zip(arguments, dashed, strict=True)]
    parsing = parser(arguments[0] if arguments else None)
    chosen = parsing.parse_args(arguments)
    if chosen.command is None:
        parsing.print_help()
        return _UNUSABLE
    from buildlint.commands.output import deliver
    from buildlint.text.errors import BuildlintError

    try:
        command = importlib.import_module(f"buildlint.commands.{chosen.command}")
        outcome: Outcome = command.run(chosen)
        for line in outcome.notes:
            _say(line)
        deliver(outcome.report, chosen.output)
    except BuildlintError as error:
        for line in str(error).splitlines():
            _say(line)
        return _UNUSABLE
    except MemoryError:
        return _too_little_memory()
    except OSError as error:
        if isinstance(error, BrokenPipeError) and not error.filename:
            raise
        where = f"{os.fsdecode(error.filename)}: " if error.filename else ""
        # nothing but the question where we are is answered so, and names no file
        gone = isinstance(error, FileNotFoundError) and not where
        _say("the working directory is gone" if gone else f"{where}{error.strerror}")
        return _UNUSABLE
    return outcome.code

"""Judge the builds of a season in several processes; what is told is what one process tells."""

from __future__ import annotations

import contextlib
import os
import signal
import sys
import threading
from collections.abc import Iterator, Sequence
from multiprocessing import get_context, resource_tracker
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Literal, NamedTuple

from buildlint.finding import HeldOn
from buildlint.inspected import Judged
from buildlint.inspector import Inspector, Told, Work

__all__ = ["cores", "tell_together"]

# Builds that are told at a time: little beside a season, much beside what a message costs.
_AT_A_TIME = 50


def cores() -> int:
    """Give how many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def tell_together(
    work: Work,
    own: Inspector,
    builds: Sequence[Path],
    at_once: int,
    start: Literal["fork", "spawn"] | None = None,
) -> Iterator[Told]:
    """Judge builds in so many processes `at_once`, and tell of them in their order, some at a time.

    What a process does not tell, because it was stopped, `own` judges here. Whatever ends this
    process ends the others: one that has nobody to tell stops. `start` says how they are started
    (left out: as is safe here).
    """
    parts = [builds[i : i + _AT_A_TIME] for i in range(0, len(builds), _AT_A_TIME)]
    if start is None:
        # elsewhere, or beside threads, a forked process may not use all of the system
        alone = sys.platform == "linux" and threading.active_count() == 1
        start = "fork" if alone else "spawn"
    own.team.parts()  # a forked process has what is read here
    started: list[tuple[BaseProcess, Connection]] = []
    ready: dict[int, Told] = {}
    kept: dict[Sequence[HeldOn], Sequence[HeldOn]] = {}
    due = 0
    try:
        _start(started, work, own, parts, at_once, start)
        alive = [connection for _, connection in started]
        while due < len(parts):
            if due in ready:
                yield ready.pop(due)
                due += 1
            elif alive:
                for connection in wait(alive):
                    assert isinstance(connection, Connection)
                    try:
                        number, message = connection.recv()
                        ready[number] = message.told(parts[number], kept)
                    except (EOFError, OSError):
                        alive.remove(connection)
            else:
                yield own.tell(parts[due])
                due += 1
    finally:
        for process, connection in started:
            connection.close()
            process.terminate()
            process.join()


def _start(
    started: list[tuple[BaseProcess, Connection]],
    work: Work,
    own: Inspector,
    parts: Sequence[Sequence[Path]],
    at_once: int,
    start: Literal["fork", "spawn"],
) -> None:
    """Start the processes, each with its share of the parts; fewer where no more can be started."""
    context = get_context("fork") if start == "fork" else get_context("spawn")
    for number in range(min(at_once, len(parts))):
        mine = [(n, parts[n]) for n in range(number, len(parts), at_once)]
        try:
            ours, theirs = context.Pipe(duplex=False)
        except OSError:
            return  # what nobody else can be asked for is judged here
        # a forked process has all our ends too: while it does, nobody misses this one
        others = (*(connection for _, connection in started), ours)
        args = (own, mine, theirs, others) if start == "fork" else (work, mine, theirs)
        process = context.Process(target=_tell, args=args, daemon=True)
        try:
            with _no_interruption(start):
                process.start()
                started.append((process, ours))
        except OSError:
            ours.close()
            return
        finally:
            theirs.close()


class _Message(NamedTuple):
    """What was told of some builds, in few bytes: of a sound one hardly more than its car."""

    sound: dict[int, tuple[str | None, str | None, Sequence[HeldOn], bool]]
    other: dict[int, Judged]
    files: set[Path]
    leaves: set[int]

    @classmethod
    def of(cls, told: Told, paths: Sequence[Path]) -> _Message:
        """Take what was told of the builds in these files."""
        number_of = {path: number for number, path in enumerate(paths)}
        sound, other = {}, {}
        for judged in told.builds:
            number = number_of[judged.path]
            if judged.findings:
                other[number] = judged
            else:
                sound[number] = judged.car, judged.event, judged.held, judged.waits
        return cls(sound, other, told.files, told.leaves)

    def told(self, paths: Sequence[Path], kept: dict[Sequence[HeldOn], Sequence[HeldOn]]) -> Told:
        """Give what was told, of the builds in these files; what holds in many is `kept` once."""
        told = Told(files=self.files, leaves=self.leaves)
        for number, path in enumerate(paths):
            if number in self.other:
                told.builds.append(self.other[number])
            elif number in self.sound:
                car, event, held, waits = self.sound[number]
                # the same in most builds: kept once
                held = kept.setdefault(held, held)
                told.builds.append(Judged.of(path, car, event, held, waits))
        return told


@contextlib.contextmanager
def _no_interruption(start: str) -> Iterator[None]:
    """Start a process that is never interrupted: who is asked to stop is the one who starts it."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    if start == "spawn":
        # what the first of them starts too would let interruptions through again
        resource_tracker.ensure_running()
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _tell(
    own: Inspector | Work,
    parts: Sequence[tuple[int, Sequence[Path]]],
    to: Connection,
    others: Sequence[Connection] = (),
) -> None:
    """Judge some builds and tell of them, in a process of its own, which closes what is others'."""
    for connection in others:
        connection.close()
    # where none can be started without
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    # what goes wrong here goes wrong again, and is told, where it is judged in its place
    with contextlib.suppress(Exception):
        if isinstance(own, Work):
            own = Inspector(own.team(), own.force(), own.on, many=True)
        for number, paths in parts:
            to.send((number, _Message.of(own.tell(paths), paths)))
    to.close()

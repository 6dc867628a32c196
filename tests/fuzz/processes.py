"""Cases tried in processes of their own: one that dies or hangs is found out, and told."""

from __future__ import annotations

import multiprocessing
import os
import tempfile
import time
from collections.abc import Callable
from multiprocessing.connection import Connection, wait
from typing import Any

__all__ = ["blind", "shared_out"]

_TOO_LONG = 120.0
_MOST_DEATHS = 20


def shared_out(
    name: str,
    how_many: int,
    seed: int,
    processes: int,
    led: bool,
    seconds: float,
    work: Callable[..., None] | None = None,
) -> Any:
    """Try so many cases in so many processes, for so many seconds at most; give the tally."""
    with tempfile.TemporaryDirectory() as folder:
        # a process that is ended cannot clear up behind itself
        before = os.environ.get("TMPDIR")
        os.environ["TMPDIR"] = folder
        try:
            work = work or (_led if led else blind)
            return _shared_out(name, how_many, seed, processes, led, seconds, work)
        finally:
            os.environ.pop("TMPDIR")
            if before is not None:
                os.environ["TMPDIR"] = before


def _shared_out(
    name: str,
    how_many: int,
    seed: int,
    processes: int,
    led: bool,
    seconds: float,
    work: Callable[..., None],
) -> Any:
    from tests.fuzz.run import Crash, Tally, case_of
    from tests.fuzz.targets import TARGETS

    context = multiprocessing.get_context("spawn")
    tally, deaths = Tally(), 0
    waiting = [(n, how_many) for n in range(processes)]
    running: dict[Connection, list[Any]] = {}
    until = time.monotonic() + seconds
    while waiting or running:
        if time.monotonic() > until:
            for child, *_ in running.values():
                child.terminate()
                child.join()
            break
        for start, end in waiting:
            ours, theirs = context.Pipe()
            now = context.Value("q", start, lock=False)
            child = context.Process(
                target=work, args=(theirs, now, name, start, end, processes, seed), daemon=True
            )
            child.start()
            theirs.close()
            running[ours] = [child, now, time.monotonic()]
        waiting = []
        ready = wait(list(running), timeout=5)
        for pipe in list(running):
            child, now, since = running[pipe]
            said = None
            try:
                while pipe in ready and pipe.poll():
                    said = pipe.recv()
                    running[pipe][2] = time.monotonic()
                    tally.add(said[0])
                    if said[1]:
                        running.pop(pipe)
                        child.join()
                        break
                gone = False
            except EOFError:
                gone = True
            hangs = said is None and time.monotonic() - since > _TOO_LONG
            if not gone and not hangs:
                continue
            running.pop(pipe, None)
            child.kill()
            child.join()
            what = f"hangs for {_TOO_LONG:.0f} s" if hangs else f"dies with {child.exitcode}"
            at, target = now.value, TARGETS[name]()
            case = {} if led else case_of(target, f"{seed}/{at}")
            target.close()
            tally.add(Tally(1, crashes={f"{what} {at}": Crash(f"{seed}/{at}", what, "", case)}))
            deaths += 1
            if not led and deaths < _MOST_DEATHS:
                waiting.append((at + processes, how_many))
    return tally


def blind(
    pipe: Connection, now: Any, name: str, start: int, end: int, step: int, seed: int
) -> None:
    """Try every `step`th case from the seed alone; `now` is the number of the one being tried."""
    from tests.fuzz.run import Tally, case_of, one
    from tests.fuzz.targets import TARGETS

    target = TARGETS[name]()
    tally, told = Tally(), time.monotonic()
    for number in range(start, end, step):
        now.value = number
        one(target, f"{seed}/{number}", case_of(target, f"{seed}/{number}"), tally)
        if time.monotonic() - told > 0.2:
            pipe.send((tally, False))
            tally, told = Tally(), time.monotonic()
    target.close()
    pipe.send((tally, True))


def _led(pipe: Connection, now: Any, name: str, start: int, end: int, step: int, seed: int) -> None:
    from tests.fuzz.led import led

    led(pipe, name, len(range(start, end, step)), seed * 1000 + start)

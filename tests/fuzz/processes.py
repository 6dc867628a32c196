"""Cases tried in processes of their own: one that dies or hangs is found out, and told."""

from __future__ import annotations

import multiprocessing
import time
from multiprocessing.connection import Connection, wait
from typing import Any

__all__ = ["shared_out"]

_TOO_LONG = 120.0
_MOST_DEATHS = 20


def shared_out(
    name: str, how_many: int, seed: int, processes: int, led: bool, seconds: float
) -> Any:
    """Try so many cases in so many processes, for so many seconds at most; give the tally."""
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
            work = _led if led else _blind
            child = context.Process(
                target=work, args=(theirs, name, start, end, processes, seed), daemon=True
            )
            child.start()
            theirs.close()
            running[ours] = [child, start, time.monotonic()]
        waiting = []
        ready = wait(list(running), timeout=5)
        for pipe in list(running):
            child, at, since = running[pipe]
            said = None
            try:
                while pipe in ready and pipe.poll():
                    said = pipe.recv()
                    running[pipe][1:] = [said[0], time.monotonic()]
                    if said[1] is not None:
                        tally.add(said[1])
                    if said[2]:
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
            target = TARGETS[name]()
            case = {} if led else case_of(target, f"{seed}/{at}")
            target.close()
            tally.add(Tally(1, crashes={f"{what} {at}": Crash(f"{seed}/{at}", what, "", case)}))
            deaths += 1
            if not led and deaths < _MOST_DEATHS:
                waiting.append((at + processes, how_many))
    return tally


def _blind(pipe: Connection, name: str, start: int, end: int, step: int, seed: int) -> None:
    from tests.fuzz.run import Tally, case_of, one
    from tests.fuzz.targets import TARGETS

    target = TARGETS[name]()
    tally, told = Tally(), 0.0
    for number in range(start, end, step):
        # a case that takes its time has its number told before it is begun
        if time.monotonic() - told > 0.2:
            pipe.send((number, tally, False))
            tally, told = Tally(), time.monotonic()
        one(target, f"{seed}/{number}", case_of(target, f"{seed}/{number}"), tally)
    target.close()
    pipe.send((end, tally, True))


def _led(pipe: Connection, name: str, start: int, end: int, step: int, seed: int) -> None:
    from tests.fuzz.led import led

    led(pipe, name, len(range(start, end, step)), seed * 1000 + start)

"""Tries case after case from a seed: how many, the slowest, the peak of memory, each crash."""

from __future__ import annotations

import random
import sys
import time
import traceback
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

from tests.fuzz.targets import Case, Target, packed

__all__ = ["Crash", "Tally", "attempt", "case_of", "run", "smallest"]

_HERE = Path(__file__).resolve().parents[2]
_SLOW = 1.0
_MUCH = 200.0


@dataclass
class Crash:
    """One way in which something went wrong: where, how often, and the first case that did it."""

    seed: str
    what: str
    trace: str
    case: Case
    times: int = 1


@dataclass
class Tally:
    """What a run came to. Seconds and megabytes are told; only crashes are faults."""

    tried: int = 0
    slowest: float = 0.0
    slowest_seed: str = ""
    slow: int = 0
    peak: float = 0.0
    hungriest: float = 0.0
    hungriest_seed: str = ""
    crashes: dict[str, Crash] = field(default_factory=dict)

    def add(self, other: Tally) -> None:
        """Take another run's figures in."""
        self.tried += other.tried
        self.slow += other.slow
        self.peak = max(self.peak, other.peak)
        if other.slowest > self.slowest:
            self.slowest, self.slowest_seed = other.slowest, other.slowest_seed
        if other.hungriest > self.hungriest:
            self.hungriest, self.hungriest_seed = other.hungriest, other.hungriest_seed
        for signature, crash in other.crashes.items():
            mine = self.crashes.setdefault(signature, crash)
            if mine is not crash:
                mine.times += crash.times


def memory() -> float:
    """Give the most memory that this process has had, in MB; 0 where the system does not say."""
    try:
        import resource
    except ImportError:
        return 0.0
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return most / (1 << 20 if sys.platform == "darwin" else 1 << 10)


def case_of(target: Target, seed: str) -> Case:
    """Make the case that a seed stands for."""
    return target.make(random.Random(f"{target.name} {seed}"))


def attempt(target: Target, case: Case) -> tuple[str, str, str] | None:
    """Try a case: None where all is well, else the crash's signature, what it is, and its trace."""
    try:
        target.attempt(case)
    except KeyboardInterrupt:
        raise
    except BaseException as fault:
        frames = traceback.extract_tb(fault.__traceback__)
        ours = [f for f in frames if Path(f.filename).is_relative_to(_HERE)][-1:] or frames[-1:]
        where = f"{Path(ours[0].filename).name}:{ours[0].lineno}"
        kind = type(fault).__name__
        start = str(fault).split(":")[0][:60] if kind == "Broken" else ""
        trace = "".join(traceback.format_exception(fault))
        return f"{kind} {where} {start}", f"{kind} at {where}: {str(fault)[:1000]}", trace[-6000:]
    return None


def run(
    target: Target, seeds: Iterable[str], tally: Tally, told: Callable[[str], None] | None = None
) -> Tally:
    """Try the cases that seeds stand for."""
    for seed in seeds:
        if told is not None:
            told(seed)
        one(target, seed, case_of(target, seed), tally)
    return tally


def one(target: Target, seed: str, case: Case, tally: Tally) -> None:
    """Try one case and note what it came to."""
    before, start = memory(), time.perf_counter()
    fault = attempt(target, case)
    took = time.perf_counter() - start
    tally.peak = memory()
    tally.tried += 1
    tally.slow += took > _SLOW
    if took > tally.slowest:
        tally.slowest, tally.slowest_seed = took, seed
    more = tally.peak - before
    if more > tally.hungriest:
        tally.hungriest, tally.hungriest_seed = more, seed
    if fault is None and more > _MUCH:
        fault = ("memory", f"{more:.0f} MB more than ever before", "")
    if fault is None:
        return
    signature, what, trace = fault
    crash = tally.crashes.get(signature)
    if crash is not None:
        crash.times += 1
        return
    small = smallest(target, case, signature)
    tally.crashes[signature] = Crash(seed, what, trace, small)


def smallest(target: Target, case: Case, signature: str, most: int = 1500) -> Case:
    """Give the smallest case found that fails in the same way."""
    left = most
    best = dict(case)

    def fails(tried: Case) -> bool:
        nonlocal left
        left -= 1
        found = attempt(target, tried)
        return found is not None and found[0] == signature

    for name in list(best):
        without = {n: d for n, d in best.items() if n != name}
        if name not in target.needs and len(best) > 1 and fails(without):
            best = without
    for name in list(best):
        if name in target.needs:
            continue
        for cut in (_lines, _bytes):
            pieces = cut(best[name])
            size = max(len(pieces) // 2, 1)
            while left > 0 and pieces:
                shorter = None
                for start in range(0, len(pieces), size):
                    tried = pieces[:start] + pieces[start + size :]
                    if left > 0 and fails({**best, name: b"".join(tried)}):
                        shorter = tried
                        break
                if shorter is not None:
                    pieces = shorter
                    best[name] = b"".join(pieces)
                elif size == 1:
                    break
                else:
                    size //= 2
    return best


def _lines(data: bytes) -> list[bytes]:
    return data.splitlines(keepends=True)


def _bytes(data: bytes) -> list[bytes]:
    return [data[at : at + 1] for at in range(len(data))]


def told(tally: Tally) -> Iterator[str]:
    """Tell a run in lines."""
    yield f"{tally.tried:,} tried, {tally.slow:,} of them took more than {_SLOW:g} s"
    yield f"slowest {tally.slowest:.3f} s, seed {tally.slowest_seed}"
    yield f"peak of memory {tally.peak:.0f} MB"
    if tally.hungriest >= 1.0:
        yield f"most more memory at once {tally.hungriest:.0f} MB, seed {tally.hungriest_seed}"
    yield f"{len(tally.crashes)} kinds of crash" if tally.crashes else "no crash"
    for crash in tally.crashes.values():
        yield ""
        yield f"{crash.what!r}, {crash.times:,} times, first with seed {crash.seed}"
        yield from crash.trace.splitlines()[-12:]
        yield f"smallest input: {packed(crash.case)[:3000]!r}"

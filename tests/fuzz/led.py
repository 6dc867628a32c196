"""Led by what a case reaches: atheris keeps those that reach new code, and changes them further.

atheris is no part of the test extra: it does not install everywhere. `pip install atheris`.
"""

from __future__ import annotations

import random
import sys
import tempfile
import time
from multiprocessing.connection import Connection
from pathlib import Path

__all__ = ["led"]

_LONGEST = 20_000


def led(pipe: Connection, name: str, how_many: int, seed: int) -> None:
    """Try so many cases of a target, each grown from one that reached something; never returns."""
    import atheris

    # whatever is watched has to be loaded here first
    with atheris.instrument_imports(include=["buildlint", "tomli"]):
        from tests.fuzz.run import Tally, one
        from tests.fuzz.targets import TARGETS, packed, unpacked
    target = TARGETS[name]()
    tally, tried, told = Tally(), 0, time.monotonic()

    def attempt(data: bytes) -> None:
        nonlocal tally, tried, told
        if tried < how_many:
            one(target, f"{seed} (led)", unpacked(data), tally)
            tried += 1
        last = tried == how_many
        if last or time.monotonic() - told > 0.5:
            pipe.send((tally, last))
            tally, told = Tally(), time.monotonic()
        if last:
            tried += 1
            target.close()
            folder.cleanup()

    def changed(data: bytes, most: int, number: int) -> bytes:
        chance = random.Random(number)
        if chance.random() < 0.3:
            return packed(target.make(chance))[:most]
        case = dict(unpacked(data))
        if chance.random() < 0.5 or not case:
            return bytes(atheris.Mutate(data, most))
        return packed(target.changed(chance, case))[:most]

    folder = tempfile.TemporaryDirectory()
    for number, case in enumerate(target.corpus()):
        Path(folder.name, f"{number:03}").write_bytes(packed(case))
    atheris.Setup(
        [
            sys.argv[0],
            f"-runs={how_many + 500}",
            f"-seed={seed or 1}",
            f"-max_len={_LONGEST}",
            "-timeout=100",
            "-verbosity=0",
            folder.name,
        ],
        attempt,
        custom_mutator=changed,
    )
    atheris.Fuzz()

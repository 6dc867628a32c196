"""`python -m tests.fuzz TARGET HOW_MANY --seed 1`: odd input by the thousand.

Each case is made from the target, the seed and its number, so that it can be made again:
`python -m tests.fuzz files --again 1/4711` tries that one, and shows it.
"""

from __future__ import annotations

import argparse
import sys

_NAMES = ("readings", "files", "rules", "repositories")


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    parser.add_argument("target", choices=_NAMES)
    parser.add_argument("how_many", type=int, nargs="?", default=1000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument(
        "--seconds", type=float, default=86_400.0, help="stop then, and tell what was reached"
    )
    parser.add_argument("--again", metavar="SEED/NUMBER", help="try this one, and show it")
    parser.add_argument(
        "--blind", action="store_true", help="from the seed alone, though atheris is installed"
    )
    chosen = parser.parse_args()
    if chosen.again:
        return _again(chosen.target, chosen.again)
    led = not chosen.blind and _has_atheris()
    if not led:
        print("from the seed alone", end="")
        print(": with atheris it goes where code was not yet reached (pip install atheris)")
    from tests.fuzz.processes import shared_out

    tally = shared_out(
        chosen.target, chosen.how_many, chosen.seed, chosen.processes, led, chosen.seconds
    )
    from tests.fuzz.run import told

    print("\n".join([f"{chosen.target}, seed {chosen.seed}:", *told(tally)]))
    return 1 if tally.crashes else 0


def _has_atheris() -> bool:
    try:
        import atheris  # noqa: F401
    except ImportError:
        return False
    return True


def _again(name: str, seed: str) -> int:
    from tests.fuzz.run import Tally, case_of, run, told
    from tests.fuzz.targets import TARGETS, packed

    target = TARGETS[name]()
    try:
        sys.stdout.buffer.write(packed(case_of(target, seed)) + b"\n")
        sys.stdout.flush()
        tally = run(target, [seed], Tally())
    finally:
        target.close()
    print("\n".join(told(tally)))
    return 1 if tally.crashes else 0


if __name__ == "__main__":
    sys.exit(main())

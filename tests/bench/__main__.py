"""Measure whole processes side by side: `python -m tests.bench [--runs 10] [BUILDS ...]`.

For each size and kind of season (see season.py) it prints one row a command: ours; what only parses
the same files with tomli, the floor; a general validator that checks the same builds against our
own schema, which is far less; for one build, what it takes to import pydantic and numpy. The last
column is CPU time over tomli's. Needs check-jsonschema beside the test extra. No test looks at
these figures.

This process stays small, and leaves all else to others: the system counts its memory as theirs.
"""

from __future__ import annotations

import argparse
import itertools
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

SEASON = Path(__file__).with_name("season.py")
FLOOR = """
import sys, tomli
from pathlib import Path
for path in Path(sys.argv[1]).rglob("*.toml"):
    with path.open("rb") as file:
        tomli.load(file)
"""
BASE = "import numpy\nfrom pydantic import BaseModel"
# The kinds of season, and how season.py is asked for each.
KINDS = {"tidy": [], "as-people-write": ["--as-people-write"], "failing": ["--failing"]}


def measured(command: Sequence[str], runs: int) -> tuple[float, float, float]:
    """Give the medians of wall time and CPU time in seconds, and of the peak memory in MiB."""
    # an installed package has its bytecode beside it: the first run, not counted, writes it
    environment = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    figures = []
    for _ in range(runs + 1):
        start = time.perf_counter()
        process = subprocess.Popen(
            command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=environment
        )
        _, _, used = os.wait4(process.pid, 0)
        wall = time.perf_counter() - start
        process.returncode = 0
        figures.append((wall, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024))
    wall, cpu, memory = (statistics.median(column) for column in zip(*figures[1:], strict=True))
    return wall, cpu, memory


def commands(folder: Path, builds: int) -> dict[str, list[str]]:
    """Give the commands that are measured on one season."""
    schema = folder.parent / "build.schema.json"
    told = subprocess.run(
        [sys.executable, "-m", "buildlint", "schema", "build"], check=True, capture_output=True
    )
    schema.write_bytes(told.stdout)
    files = sorted(map(str, (folder / "builds").rglob("*.toml")))
    target = files[0] if builds == 1 else str(folder)
    inspect = [sys.executable, "-m", "buildlint", "inspect", "--past"]
    found = {
        "tomli only": [sys.executable, "-c", FLOOR, str(folder)],
        "ours": [*inspect, "--as", "lines", target],
    }
    if builds == 1:
        found["import pydantic, numpy"] = [sys.executable, "-c", BASE]
    general = shutil.which("check-jsonschema", path=str(Path(sys.executable).parent))
    if general is not None and len(files) <= 1000:  # more do not fit on a command line everywhere
        found["check-jsonschema"] = [general, "--schemafile", str(schema), *files]
    return found


def main() -> int:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("builds", type=int, nargs="*", default=[1, 100, 1000, 10000])
    parser.add_argument("--runs", type=int, default=10)
    parser.add_argument("--kinds", nargs="+", choices=KINDS, default=list(KINDS))
    chosen = parser.parse_args()
    sys.stdout.write(
        f"{'builds':>7}  {'season':<16}{'command':<24}"
        f"{'wall s':>9}{'cpu s':>9}{'MiB':>8}{'/tomli':>8}\n"
    )
    for builds, kind in itertools.product(chosen.builds, chosen.kinds):
        with tempfile.TemporaryDirectory() as away:
            folder = Path(away) / "team"
            subprocess.run([sys.executable, SEASON, folder, str(builds), *KINDS[kind]], check=True)
            floor = None
            for name, command in commands(folder, builds).items():
                wall, cpu, memory = measured(command, chosen.runs)
                floor = floor or cpu  # tomli comes first
                sys.stdout.write(
                    f"{builds:>7}  {kind:<16}{name:<24}{wall:>9.3f}{cpu:>9.3f}{memory:>8.1f}"
                    f"{cpu / floor:>8.1f}\n"
                )
                sys.stdout.flush()
    return 0


if __name__ == "__main__":
    sys.exit(main())

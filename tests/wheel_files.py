"""Hold a wheel's files against those that git knows: `python tests/wheel_files.py dist/x.whl`.

It has the package and the rules, whole, and nothing else but what says so of itself. Prints what
differs, and then ends with 1.
"""

from __future__ import annotations

import subprocess
import sys
import zipfile
from pathlib import Path

PROJECT = Path(__file__).parent.parent


def due() -> set[str]:
    """Give the files that a wheel should have."""
    told = subprocess.run(
        ["git", "ls-files", "-z", "buildlint", "rules"],
        cwd=PROJECT,
        check=True,
        capture_output=True,
    )
    names = told.stdout.decode().split("\0")[:-1]
    return {f"buildlint/{name}" if name.startswith("rules/") else name for name in names}


def differences(wheel: Path) -> list[str]:
    """Say what a wheel has too many or too few."""
    with zipfile.ZipFile(wheel) as archive:
        names = set(archive.namelist())
    own = {name for name in names if name.split("/")[0].endswith(".dist-info")}
    wanted = due()
    more = sorted(names - own - wanted)
    return [f"more: {n}" for n in more] + [f"missing: {n}" for n in sorted(wanted - names)]


if __name__ == "__main__":
    found = differences(Path(sys.argv[1]))
    sys.stdout.writelines(f"{line}\n" for line in found)
    sys.exit(1 if found else 0)

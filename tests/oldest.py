"""Print the lowest version of everything that buildlint needs, for pip: `-c` takes the lines.

`python tests/oldest.py > oldest.txt; pip install -c oldest.txt ".[test]"`: .ci/run tests on these.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import tomli

PROJECT = Path(__file__).parent.parent / "pyproject.toml"


def oldest(project: dict[str, Any]) -> Iterator[str]:
    """Give each dependency of the project and of its sheet, pinned to its lowest version."""
    for needed in (*project["dependencies"], *project["optional-dependencies"]["sheet"]):
        found = re.fullmatch(r"([A-Za-z0-9-]+)>=([0-9.]+)", needed)
        if found is None:
            raise ValueError(f"{needed}: has no lowest version, or more than that")
        # 2.7 is the lowest of its series: 2.7.0
        yield f"{found[1]}=={found[2]}"


if __name__ == "__main__":
    with PROJECT.open("rb") as file:
        sys.stdout.writelines(f"{line}\n" for line in oldest(tomli.load(file)["project"]))

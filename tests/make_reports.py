"""Make the reports beside the builds in examples/bad and examples/should.

`python tests/make_reports.py` says which are out of date, --write writes them. A report that is
written is to be read, figure by figure, before it is committed: the tests compare it whole.
"""

from __future__ import annotations

import datetime
import os
import sys
from pathlib import Path

from buildlint.judging.inspector import inspect_team
from buildlint.reports.text import inspection_text

EXAMPLES = Path(__file__).parent.parent / "examples"
FOLDERS = ("bad", "should")

#: The day for which concessions count: that of the builds' bench.
DAY = datetime.date(2027, 6, 5)


def builds() -> list[Path]:
    """Every build that has a report beside it, the misnamed one too."""
    names = ("*.build.toml", "*.bulid.toml")
    return sorted(p for f in FOLDERS for name in names for p in (EXAMPLES / f).glob(name))


def report_beside(build: Path) -> Path:
    """Where the report of a build stands."""
    return build.with_name(f"{build.name.rsplit('.', 2)[0]}.report.txt")


def report(build: Path) -> str:
    """The report of a build as printed in its own folder."""
    before = Path.cwd()
    os.chdir(build.parent)
    try:
        return inspection_text(inspect_team([build.name], on=DAY))
    finally:
        os.chdir(before)


def main() -> int:
    """Write the reports, or say which are out of date."""
    stale = 0
    for build in builds():
        target, text = report_beside(build), report(build)
        if target.exists() and target.read_text(encoding="utf-8") == text:
            continue
        stale += 1
        sys.stdout.write(f"{target.name}\n")
        if "--write" in sys.argv[1:]:
            target.write_text(text, encoding="utf-8")
    return 1 if stale and "--write" not in sys.argv[1:] else 0


if __name__ == "__main__":
    sys.exit(main())

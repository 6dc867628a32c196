"""Make the parts of README.md that the tool prints: `python tests/make_readme.py` says if they are
out of date, --write writes them.

A part stands between `<!-- made: NAME -->` and `<!-- end -->`.
"""

from __future__ import annotations

import contextlib
import io
import os
import re
import sys
from collections.abc import Callable
from pathlib import Path

from buildlint.measures import MEASURES
from buildlint.rule import asked
from buildlint.rulebook import load_rulebook
from tests.make_reports import EXAMPLES, report

README = Path(__file__).parent.parent / "README.md"
PART = re.compile(r"(<!-- made: (\w+) -->\n).*?(<!-- end -->)", re.DOTALL)
SHOWN = "bladder.into-body-room.build.toml"


def _report() -> str:
    text = report(EXAMPLES / "bad" / SHOWN)
    return f"```\n$ buildlint inspect {SHOWN}\n{text}```\n"


def _rules() -> str:
    rows = ["| rule | level | what holds | limit | where it comes from |", "|" + " --- |" * 5]
    for rule in load_rulebook():
        cells = (f"`{rule.id}`", rule.level, rule.title, asked(rule), rule.source)
        rows.append("| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |")
    return "\n".join(rows) + "\n"


def _python(number: int) -> str:
    code = re.findall(r"```python\n(.*?)```", README.read_text(encoding="utf-8"), re.DOTALL)[number]
    before = Path.cwd()
    os.chdir(README.parent)
    try:
        with contextlib.redirect_stdout(io.StringIO()) as printed:
            exec(compile(code, "README.md", "exec"), {})
    finally:
        os.chdir(before)
    return f"```\n{printed.getvalue()}```\n"


def _measures() -> str:
    rows = ["| figure | unit | what it is |", "|" + " --- |" * 3]
    for measure in MEASURES.values():
        unit = {"1": "share", "id": "id", "yes": "yes or no"}.get(measure.unit, measure.unit)
        rows.append(f"| `{measure.name}` | {unit} | {measure.means} |")
    return "\n".join(rows) + "\n"


PARTS: dict[str, Callable[[], str]] = {
    "report": _report,
    "rules": _rules,
    "measures": _measures,
    "python": lambda: _python(0),
    "memory": lambda: _python(1),
}


def made(text: str) -> str:
    """The README with its made parts as they should stand."""
    return PART.sub(lambda m: m[1] + PARTS[m[2]]() + m[3], text)


if __name__ == "__main__":
    stands = README.read_text(encoding="utf-8")
    if "--write" in sys.argv[1:]:
        README.write_text(made(stands), encoding="utf-8")
    elif made(stands) != stands:
        sys.exit("README.md is out of date: python tests/make_readme.py --write")

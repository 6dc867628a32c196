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
from typing import Any, get_args

from buildlint.judging.rule import asked
from buildlint.judging.rulebook import load_rulebook
from buildlint.measures import MEASURES
from buildlint.reports.build_models import (
    ComparisonReport,
    FiguresReport,
    LabelsReport,
    RulebookReport,
)
from buildlint.reports.models import InspectionReport, Report, RuleChangeReport
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


# What each command prints --as json.
_REPORTS: dict[str, type[Report]] = {
    "inspect": InspectionReport,
    "figures BUILD": FiguresReport,
    "rulebook [RULE]": RulebookReport,
    "compare OLD NEW": ComparisonReport,
    "labels BUILD": LabelsReport,
}


def _json() -> str:
    tables = []
    for command, root in _REPORTS.items():
        rows = ["| in | key | what it is |", "|" + " --- |" * 3]
        for model, homes in _tables(root).items():
            if model is RuleChangeReport and root is not InspectionReport:
                continue  # told there
            where = " ".join(f"`{home}`" for home in homes if home)
            for key, field in model.model_fields.items():
                rows.append(f"| {where} | `{key}` | {field.description} |".replace("|  |", "| |"))
                where = ""
        tables.append(f"`buildlint {command} --as json`:\n\n" + "\n".join(rows) + "\n")
    return "\n".join(tables)


def _tables(model: type[Report], home: str = "") -> dict[type[Report], list[str]]:
    """Give the models of a report, each with the keys that lead to it: one may stand in several."""
    found = {model: [home]}
    for key, field in model.model_fields.items():
        for inside in _models(field.annotation):
            for each, homes in _tables(inside, f"{home}.{key}".lstrip(".")).items():
                found.setdefault(each, []).extend(homes)
    return found


def _models(annotation: Any) -> list[type[Report]]:
    if isinstance(annotation, type) and not get_args(annotation):
        return [annotation] if issubclass(annotation, Report) else []
    return [model for each in get_args(annotation) for model in _models(each)]


PARTS: dict[str, Callable[[], str]] = {
    "report": _report,
    "rules": _rules,
    "measures": _measures,
    "json": _json,
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

"""Make the parts of the pages that the tool prints: `python tests/make_readme.py` says if they are
out of date, --write writes them.

A part stands between `<!-- made: NAME -->` and `<!-- end -->`.
"""

from __future__ import annotations

import contextlib
import io
import json
import os
import re
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, get_args

from buildlint.files.models import KINDS
from buildlint.files.part_models import PART_KINDS
from buildlint.judging.rule import asked
from buildlint.judging.rulebook import load_rulebook
from buildlint.measures import MEASURES
from buildlint.reports.adaptation_json import AdaptationReport
from buildlint.reports.build_models import (
    ComparisonReport,
    FiguresReport,
    LabelsReport,
    PreparationReport,
    RulebookReport,
)
from buildlint.reports.models import InspectionReport, Report, RuleChangeReport
from buildlint.reports.schemas import schema
from tests.make_reports import EXAMPLES, report

ROOT = Path(__file__).parent.parent
README = ROOT / "README.md"
PAGES = (README, *(ROOT / room / "README.md" for room in ("buildlint", "examples", "rules")))
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


def _python() -> str:
    (code,) = re.findall(r"```python\n(.*?)```", README.read_text(encoding="utf-8"), re.DOTALL)
    before = Path.cwd()
    os.chdir(ROOT)
    try:
        with contextlib.redirect_stdout(io.StringIO()) as printed:
            exec(compile(code, "README.md", "exec"), {})
    finally:
        os.chdir(before)
    return f"```\n{printed.getvalue()}```\n"


def _keys() -> str:
    """The keys of every file, and of the tables in it, as its schema describes them."""
    return "\n".join(
        f"### {title}\n\n{_key_table(table)}"
        for kind in KINDS
        for made in [schema(kind)]
        for title, table in [
            (f"`NAME.{kind}.toml`", made),
            *_tables_in(kind, made.get("$defs", {})),
        ]
        if kind != "parts" or table is not made
    )


def _tables_in(kind: str, made: dict[str, Any]) -> list[tuple[str, Any]]:
    homes = {"Bench": "`[bench]`", "End": "`[front]` and `[rear]`", "CarEnd": "`[front]`, `[rear]`"}
    homes |= {"Corner": "`[front.left]` and its like: what is read on one side"}
    homes |= {name: f"`[{name.lower()}.ID]`" for name in map(str.capitalize, PART_KINDS)}
    of = "`NAME.parts.toml`" if kind == "parts" else f"`NAME.{kind}.toml`"
    return [
        (f"{homes.get(name, f'`{name.lower()} = {{ ... }}`')}, in a {of}", table)
        for name, table in made.items()
    ]


def _key_table(table: dict[str, Any]) -> str:
    rows = ["| key (* needed) | what it is | such as |", "|" + " --- |" * 3]
    for key, told in table["properties"].items():
        needed = "\\*" if key in table.get("required", ()) else ""
        as_toml = str if told.get("format") == "date" else json.dumps
        examples = [f"`{as_toml(each)}`" for each in told.get("examples", told.get("enum", ()))]
        cells = (f"`{key}`{needed}", told["description"], " ".join(examples))
        rows.append("| " + " | ".join(cells).rstrip() + " |")
    return "\n".join(rows) + "\n"


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
    "adapt BUILD EVENT": AdaptationReport,
    "labels BUILD": LabelsReport,
    "prepare EVENT": PreparationReport,
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
    "python": _python,
    "keys": _keys,
}


def made(text: str) -> str:
    """A page with its made parts as they should stand."""
    return PART.sub(lambda m: m[1] + PARTS[m[2]]() + m[3], text)


if __name__ == "__main__":
    old = [page for page in PAGES if made(page.read_text("utf-8")) != page.read_text("utf-8")]
    if "--write" in sys.argv[1:]:
        for page in old:
            page.write_text(made(page.read_text("utf-8")), encoding="utf-8")
    elif old:
        names = ", ".join(str(page.relative_to(ROOT)) for page in old)
        sys.exit(f"out of date: {names}: python tests/make_readme.py --write")

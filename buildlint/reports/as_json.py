"""Reports for other programs: JSON, with "format": 2."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import asdict
from itertools import islice
from math import isfinite
from typing import Any

from buildlint.amounts import in_unit, unit_of
from buildlint.build_figures import BuildFigures
from buildlint.finding import CureFigure, Finding, ReadingShare
from buildlint.finding_writer import limit_figures
from buildlint.inspection import Inspection, Judged
from buildlint.measures import MEASURES
from buildlint.rule import Ask, Rule, limit_in_words
from buildlint.rules_in_force import RuleChange
from buildlint.words import seen_from_here

__all__ = [
    "FORMAT",
    "change_json",
    "figures_json",
    "finding_json",
    "inspection_json",
    "json_text",
    "number",
    "rules_json",
]

#: Raised when a key is renamed or its meaning changes; new keys may come at any time.
FORMAT = 2

_AT_A_TIME = 10_000


def inspection_json(inspection: Inspection, strict: bool = False) -> str:
    """Give findings and counts; figures in the measure's unit, shares as fractions of one.

    `passes` is as `strict` asks. `rules_changed` is there where the team's own settings or rules
    change those that ship.

    >>> from buildlint import inspect_team
    >>> json.loads(inspection_json(inspect_team(["examples/saltmarsh"])))["passes"]
    True
    """
    from buildlint import __version__

    document: dict[str, Any] = {
        "format": FORMAT,
        "buildlint": __version__,
        "on": inspection.on.isoformat(),
        "strict": strict,
        "passes": inspection.passes(strict),
        "builds": [_build(judged) for judged in inspection.builds],
        "findings": [finding_json(finding) for finding in inspection.findings],
        "counts": asdict(inspection.counts),
    }
    if inspection.changes:
        document["rules_changed"] = [change_json(change) for change in inspection.changes]
    return json_text(document)


def _build(judged: Judged) -> dict[str, Any]:
    return {
        "build": judged.id,
        "file": judged.file,
        "car": judged.car,
        "event": judged.event,
        "counts": asdict(judged.counts),
    }


def change_json(change: RuleChange) -> dict[str, Any]:
    """Give one way in which the team's own settings or rules differ from those that ship."""
    return {
        "rule": change.rule,
        "kind": change.kind,
        "level": change.level,
        "what": change.what,
        "file": seen_from_here(change.path),
        "line": change.line,
    }


def finding_json(finding: Finding) -> dict[str, Any]:
    """Give one finding; a figure without end is null."""
    return {
        "rule": finding.rule,
        "title": finding.title,
        "level": finding.level,
        "verdict": finding.verdict,
        "file": finding.file,
        "line": finding.line,
        "column": finding.column,
        "end_column": finding.end_column,
        "build": finding.build,
        "subject": finding.subject or None,
        "subjects": list(finding.subjects),
        "keys": list(finding.keys),
        "measure": finding.measure or None,
        "condition": finding.condition,
        "value": number(finding.value),
        "chance": number(finding.chance),
        "uncertainty_up": number(finding.uncertainty_up),
        "uncertainty_down": number(finding.uncertainty_down),
        "unit": finding.unit,
        "limit": _rounded(finding.limit),
        "margin": number(finding.margin),
        "sides": {
            "left": _rounded(finding.sides.left),
            "right": _rounded(finding.sides.right),
            "unit": finding.sides.unit,
        }
        if finding.sides is not None
        else None,
        "message": finding.message,
        "missing": list(finding.missing),
        "readings": [_share(each) for each in finding.readings],
        "cure": finding.cure or None,
        "cure_figures": [_cure_figure(figure) for figure in finding.cure_figures],
        "no_figure": finding.no_figure or None,
        "caution": finding.caution or None,
        "conceded": {
            "reason": finding.concession.reason,
            "until": finding.concession.until.isoformat(),
        }
        if finding.concession is not None
        else None,
    }


def _share(given: ReadingShare) -> dict[str, Any]:
    return {"reading": given.reading, "share": number(given.share), "given": given.given}


def _cure_figure(figure: CureFigure) -> dict[str, Any]:
    return {key: _rounded(value) for key, value in asdict(figure).items()}


def figures_json(found: BuildFigures) -> str:
    """Give every figure of a build; one that cannot be worked out has null and what is missing."""
    lines = []
    for line in found.figures:
        entry: dict[str, Any] = {
            "subject": line.subject,
            "measure": line.measure,
            "condition": line.condition,
            "value": number(line.value),
            "uncertainty_up": number(line.uncertainty_up),
            "uncertainty_down": number(line.uncertainty_down),
            "unit": line.unit,
            "estimated": line.estimated,
            "verdict": line.verdict,
            "readings": [_share(each) for each in line.readings],
        }
        if line.missing:
            entry["missing"] = list(line.missing)
        lines.append(entry)
    document = {
        "format": FORMAT,
        "build": found.build,
        "car": found.car,
        "event": found.event,
        "figures": lines,
        "mistakes": list(found.mistakes),
    }
    return json_text(document)


def rules_json(rules: Iterable[Rule], changes: Iterable[RuleChange] = ()) -> str:
    """Give rules with their texts, and under `rules_changed` what the team changes, if anything."""
    entries = [
        {
            "rule": rule.id,
            "title": rule.title,
            "level": rule.level,
            "measure": rule.measure,
            "limit": limit_in_words(rule.ask) if rule.ask is not None else None,
            "asks": _asks(rule, rule.ask) if rule.ask is not None else None,
            "unit": _unit(rule),
            "by": rule.by,
            "by_unit": MEASURES[rule.by].unit if rule.by is not None else None,
            "bands": _bands(rule),
            "source": rule.source,
            "why": rule.why,
            "cure": rule.cure,
            "turn": list(rule.turn),
            "caution": rule.caution or None,
            "only": dict(rule.only),
        }
        for rule in rules
    ]
    document: dict[str, Any] = {"format": FORMAT, "rules": entries}
    changed = [change_json(change) for change in changes]
    if changed:
        document["rules_changed"] = changed
    return json_text(document)


def _unit(rule: Rule) -> str | None:
    """Give the unit of what a rule asks: a share where left and right may differ by one."""
    if rule.measure is None:
        return None
    relative = rule.ask is not None and rule.ask.relative
    return "1" if relative else unit_of(MEASURES[rule.measure].unit)


def _asks(rule: Rule, ask: Ask) -> Any:
    return _rounded(limit_figures(ask, _unit(rule) or ""))


def _bands(rule: Rule) -> list[dict[str, Any]]:
    by = MEASURES[rule.by].unit if rule.by is not None else ""
    return [
        {
            "up_to": band.up_to_text or None,
            "up_to_figure": number(in_unit(band.up_to, by)) if band.up_to is not None else None,
            "limit": limit_in_words(band.ask),
            "asks": _asks(rule, band.ask),
        }
        for band in rule.bands
    ]


def _rounded(value: Any) -> Any:
    """Give what stands in JSON with every figure in it rounded as `number` does."""
    if isinstance(value, dict):
        return {key: _rounded(each) for key, each in value.items()}
    if isinstance(value, (list, tuple)):
        return [_rounded(each) for each in value]
    return number(value)


def number(value: float | str | None) -> float | str | None:
    """Give a figure that JSON can hold: rounded past its meaning, null where it has no end."""
    if isinstance(value, float):
        return float(f"{value:.9g}") if isfinite(value) else None
    return value


def json_text(document: Any) -> str:
    r"""Give a document as JSON in ASCII; a number without end is an error.

    A build server that shows it obeys ##word[ even inside of a text, so two of these signs are
    never side by side.

    >>> json_text("##[group]")
    '"#\\u0023[group]"\n'
    """
    pieces = json.JSONEncoder(indent=2, allow_nan=False).iterencode(document)
    # put together as they come: of a season there are millions
    blocks = iter(lambda: "".join(islice(pieces, _AT_A_TIME)), "")
    return "".join([*blocks, "\n"]).replace("##", r"#\u0023")

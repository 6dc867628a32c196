"""A comparison for other programs: JSON, with "format": 2."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from buildlint.build_figures import FigureLine
from buildlint.comparison import Comparison
from buildlint.figure_changes import FigureChange
from buildlint.reports.as_json import FORMAT, change_json, json_text, number

__all__ = ["comparison_json"]


def comparison_json(found: Comparison) -> str:
    """Give everything that changed; figures in the measure's unit, shares as fractions of one."""
    document: dict[str, Any] = {
        "format": FORMAT,
        "old": asdict(found.old),
        "new": asdict(found.new),
        "changed": found.changed,
        "changes": [
            {"where": c.where, **asdict(c), "subject": c.subject or None} for c in found.changes
        ],
        "verdicts": [
            {**asdict(change), "caution": change.caution or None} for change in found.verdicts
        ],
        "figures": [_figure(change) for change in found.figures],
        "counts": {
            "changes": len(found.changes),
            "figures_changed": len(found.figures),
            "figures_within_tolerance": sum(f.within_tolerance for f in found.figures),
            "figures_same": found.same,
            "figures_not_known": found.not_known,
        },
        "mistakes": list(found.mistakes),
    }
    if found.rules_changed:
        document["rules_changed"] = [change_json(change) for change in found.rules_changed]
    return json_text(document)


def _figure(change: FigureChange) -> dict[str, Any]:
    return {
        "subject": change.subject,
        "measure": change.measure,
        "condition": change.condition,
        "unit": change.unit,
        "old": _side(change.old),
        "new": _side(change.new),
        "difference": number(change.difference),
        "within_tolerance": change.within_tolerance,
        "verdict_changed": change.verdict_changed,
    }


def _side(line: FigureLine | None) -> dict[str, Any] | None:
    """Give a figure of one build; null where the measure says nothing of it."""
    if line is None:
        return None
    side: dict[str, Any] = {
        "value": number(line.value),
        "uncertainty_up": number(line.uncertainty_up),
        "uncertainty_down": number(line.uncertainty_down),
        "estimated": line.estimated,
        "verdict": line.verdict,
    }
    if line.missing:
        side["missing"] = list(line.missing)
    return side

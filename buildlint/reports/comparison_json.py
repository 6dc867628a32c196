"""A comparison for other programs: JSON, with "format": 2."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING

from buildlint.reports.build_models import ComparisonReport
from buildlint.reports.json import FORMAT, changes_told, report_text

if TYPE_CHECKING:
    from buildlint.judging.compare import Comparison

__all__ = ["comparison_json", "comparison_report"]


def comparison_json(found: Comparison) -> str:
    """Return a comparison as `--as json` prints it."""
    return report_text(comparison_report(found))


def comparison_report(found: Comparison) -> ComparisonReport:
    """Return everything that changed; figures in the measure's unit, shares as fractions of one."""
    return ComparisonReport.model_validate(
        {
            "format": FORMAT,
            "old": found.old,
            "new": found.new,
            "changed": found.changed,
            "driver": found.driver,
            "changes": [
                {**asdict(c), "where": c.where, "subject": c.subject or None} for c in found.changes
            ],
            "verdicts": [{**asdict(v), "caution": v.caution or None} for v in found.verdicts],
            "figures": found.figures,
            "counts": {
                "changes": len(found.changes),
                "figures_changed": len(found.figures),
                "figures_within_tolerance": sum(f.within_tolerance for f in found.figures),
                "figures_same": found.same,
                "figures_not_known": found.not_known,
            },
            "mistakes": found.mistakes,
            "rules_changed": changes_told(found.rules_changed),
        }
    )

"""What is to be done before an event, for other programs: JSON, with "format": 2."""

from __future__ import annotations

from dataclasses import asdict

from buildlint.judging.prepare import Preparation
from buildlint.reports.build_models import PreparationReport
from buildlint.reports.json import FORMAT, report_text

__all__ = ["prepare_json", "prepare_report"]


def prepare_json(found: Preparation) -> str:
    """Return it as `--as json` prints it."""
    return report_text(prepare_report(found))


def prepare_report(found: Preparation) -> PreparationReport:
    """Return every car, what is due and what to pack."""
    return PreparationReport.model_validate(
        {"format": FORMAT, "ready": found.ready, **asdict(found)}
    )

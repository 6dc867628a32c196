"""What to write on the caps, for other programs: JSON, with "format": 2."""

from __future__ import annotations

from dataclasses import asdict

from buildlint.judging.labels import BuildLabels
from buildlint.reports.build_models import LabelsReport
from buildlint.reports.json import FORMAT, report_text

__all__ = ["labels_json", "labels_report"]


def labels_json(found: BuildLabels) -> str:
    """Return the caps of a build as `--as json` prints them."""
    return report_text(labels_report(found))


def labels_report(found: BuildLabels) -> LabelsReport:
    """Return every cap of a build; what is not known is None."""
    return LabelsReport.model_validate(
        {
            "format": FORMAT,
            "build": found.build,
            "car": found.car,
            "event": found.event,
            # by the name that other reports have for it, too
            "caps": [{"subject": cap.corner, **asdict(cap)} for cap in found.caps],
            "mistakes": found.mistakes,
        }
    )

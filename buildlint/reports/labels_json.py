"""What to write on the caps, for other programs: JSON, with "format": 1."""

from __future__ import annotations

from dataclasses import asdict

from buildlint.build_labels import MOST_ON_A_LINE, BuildLabels
from buildlint.reports.as_json import FORMAT, json_text

__all__ = ["labels_json"]


def labels_json(found: BuildLabels) -> str:
    """Give every cap of a build; what is not known is null."""
    document = {
        "format": FORMAT,
        "build": found.build,
        "car": found.car,
        "event": found.event,
        "most_on_a_line": MOST_ON_A_LINE,
        # by the name that other documents have for it, too
        "caps": [{"subject": cap.corner, **asdict(cap)} for cap in found.caps],
        "mistakes": list(found.mistakes),
    }
    return json_text(document)

"""One line a finding, in the GNU form FILE:LINE:COL: message."""

from __future__ import annotations

from buildlint.finding import Finding
from buildlint.inspection import Inspection
from buildlint.words import clean

__all__ = ["inspection_lines"]


def inspection_lines(inspection: Inspection) -> str:
    """Give every finding but what is not judged, each on one line."""
    found = [f for f in inspection.findings if f.verdict != "not judged"]
    return "".join(f"{line(finding)}\n" for finding in found)


def line(finding: Finding) -> str:
    """Give one finding as one line."""
    about = " ".join(filter(None, (finding.subject, finding.condition)))
    what = finding.verdict if finding.level == "must" else f"{finding.verdict} ({finding.level})"
    subject = f"{about}: " if about else ""
    return (
        f"{clean(finding.file)}:{finding.line}:{finding.column}: "
        f"{what}: {finding.rule}: {subject}{finding.message}"
    )

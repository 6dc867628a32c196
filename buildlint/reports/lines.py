"""One line a finding, in the GNU form FILE:LINE:COL: message."""

from __future__ import annotations

from buildlint.judging.finding import Finding
from buildlint.judging.inspection import Inspection
from buildlint.text.words import clean, stands_at

__all__ = ["inspection_lines"]


def inspection_lines(inspection: Inspection, everything: bool = False) -> str:
    """Return every finding on a line, what fails first; then what the team changes of its musts.

    What is not checked and what holds is only listed with `everything`.
    """
    lines = [line(f) for f in (inspection.every if everything else inspection.serious)]
    lines += [
        f"{stands_at(change.path, change.line, change.column)}: rule changed: "
        f"{change.rule}: {change.what}"
        for change in inspection.changes
        if change.level == "must" and change.kind != "own"
    ]
    return "".join(f"{line}\n" for line in lines)


def line(finding: Finding) -> str:
    """Return one finding as one line."""
    what = finding.verdict if finding.level == "must" else f"{finding.verdict} ({finding.level})"
    reason = ""
    if finding.concession is not None:
        what = f"conceded until {finding.concession.until}"
        reason = f"; conceded: {clean(finding.concession.reason)}"
    subject = f"{finding.subject}: " if finding.subject else ""
    return (
        f"{clean(finding.file)}:{finding.line}:{finding.column}: "
        f"{what}: {subject}{finding.told}; rule {finding.rule}{reason}"
    )

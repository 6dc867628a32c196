"""What was found as a report: a pydantic model, the same that `--as json` prints."""

from __future__ import annotations

from typing import Any, overload

from buildlint.judging.adapt import Adaptation
from buildlint.judging.compare import Comparison
from buildlint.judging.figures import BuildFigures
from buildlint.judging.inspection import Inspection
from buildlint.judging.labels import BuildLabels
from buildlint.judging.prepare import Preparation
from buildlint.judging.rulebook import Rulebook
from buildlint.reports.adaptation_json import AdaptationReport, adaptation_report
from buildlint.reports.build_models import (
    ComparisonReport,
    FiguresReport,
    LabelsReport,
    PreparationReport,
    RulebookReport,
)
from buildlint.reports.comparison_json import comparison_report
from buildlint.reports.json import figures_report, inspection_report, rulebook_report
from buildlint.reports.labels_json import labels_report
from buildlint.reports.models import InspectionReport
from buildlint.reports.prepare_json import prepare_report

__all__ = ["report"]


@overload
def report(found: Inspection, *, should_too: bool = False) -> InspectionReport: ...
@overload
def report(found: BuildFigures) -> FiguresReport: ...
@overload
def report(found: Comparison) -> ComparisonReport: ...
@overload
def report(found: Adaptation) -> AdaptationReport: ...
@overload
def report(found: BuildLabels) -> LabelsReport: ...
@overload
def report(found: Preparation) -> PreparationReport: ...
@overload
def report(found: Rulebook) -> RulebookReport: ...
def report(found: Any, *, should_too: bool = False) -> Any:
    """Return what was found as a pydantic model, whose `model_dump_json()` is what `--as json` has.

    The command only indents it, in ASCII, with no two # side by side, which a build server that
    shows it could obey. `should_too`, of an inspection, as of `Inspection.passes`. Raises TypeError
    for what has no report.

    >>> from buildlint import inspect_team
    >>> found = report(inspect_team(["examples/saltmarsh"]))
    >>> found.counts.builds, found.passes
    (4, True)
    """
    if isinstance(found, Inspection):
        return inspection_report(found, should_too)
    if isinstance(found, BuildFigures):
        return figures_report(found)
    if isinstance(found, Comparison):
        return comparison_report(found)
    if isinstance(found, Adaptation):
        return adaptation_report(found)
    if isinstance(found, BuildLabels):
        return labels_report(found)
    if isinstance(found, Preparation):
        return prepare_report(found)
    if isinstance(found, Rulebook):
        return rulebook_report(found)
    raise TypeError(
        "there is a report of what inspect, figures, compare, adapt, labels, prepare and rulebook "
        "find"
    )

"""buildlint: judges written-down builds of oil-filled model-car dampers by a rulebook.

>>> from buildlint import inspect_team
>>> inspect_team(["examples/saltmarsh"]).passes()
True
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

__version__ = "0.2.0"

__all__ = [
    "Adaptation",
    "AdaptationReport",
    "AdaptedEnd",
    "Bladder",
    "Body",
    "Build",
    "BuildFigures",
    "BuildlintError",
    "Candidate",
    "Car",
    "Comparison",
    "ComparisonReport",
    "Counts",
    "Cure",
    "CureFigure",
    "Event",
    "FigureLine",
    "FiguresReport",
    "Finding",
    "FindingReport",
    "Inspection",
    "InspectionReport",
    "Judged",
    "LabelsReport",
    "Oil",
    "PathError",
    "Piston",
    "Preparation",
    "PreparationReport",
    "Reading",
    "Rule",
    "Rulebook",
    "RulebookError",
    "RulebookReport",
    "SettingsError",
    "Shaft",
    "Spring",
    "Team",
    "__version__",
    "adapt",
    "compare",
    "figures",
    "inspect_build",
    "inspect_team",
    "labels",
    "load_rulebook",
    "load_team",
    "prepare",
    "report",
]

if TYPE_CHECKING:
    from buildlint.files.models import Build, Car, Event
    from buildlint.files.oil_model import Oil
    from buildlint.files.part_models import Bladder, Body, Piston, Shaft, Spring
    from buildlint.files.readings import Reading
    from buildlint.judging.adapt import Adaptation, AdaptedEnd, adapt
    from buildlint.judging.adapt_end import Candidate
    from buildlint.judging.compare import Comparison, compare
    from buildlint.judging.figures import BuildFigures, FigureLine, figures
    from buildlint.judging.finding import Counts, Cure, CureFigure, Finding
    from buildlint.judging.inspection import Inspection, Judged
    from buildlint.judging.inspector import inspect_build, inspect_team
    from buildlint.judging.labels import labels
    from buildlint.judging.prepare import Preparation, prepare
    from buildlint.judging.rule import Rule
    from buildlint.judging.rulebook import Rulebook, load_rulebook
    from buildlint.reports.adaptation_json import AdaptationReport
    from buildlint.reports.build_models import (
        ComparisonReport,
        FiguresReport,
        LabelsReport,
        PreparationReport,
        RulebookReport,
    )
    from buildlint.reports.models import FindingReport, InspectionReport
    from buildlint.reports.report import report
    from buildlint.team.load import load_team
    from buildlint.team.repository import Team
    from buildlint.text.errors import BuildlintError, PathError, RulebookError, SettingsError

# No module may go by a name of these: once loaded, it would stand in the place of what is meant.
_HOMES = {
    **dict.fromkeys(("Build", "Car", "Event"), "buildlint.files.models"),
    **dict.fromkeys(
        ("Bladder", "Body", "Piston", "Shaft", "Spring"), "buildlint.files.part_models"
    ),
    "Oil": "buildlint.files.oil_model",
    **dict.fromkeys(
        (
            "ComparisonReport",
            "FiguresReport",
            "LabelsReport",
            "PreparationReport",
            "RulebookReport",
        ),
        "buildlint.reports.build_models",
    ),
    **dict.fromkeys(("FindingReport", "InspectionReport"), "buildlint.reports.models"),
    "Reading": "buildlint.files.readings",
    "Adaptation": "buildlint.judging.adapt",
    "AdaptationReport": "buildlint.reports.adaptation_json",
    "AdaptedEnd": "buildlint.judging.adapt",
    "adapt": "buildlint.judging.adapt",
    "Candidate": "buildlint.judging.adapt_end",
    "BuildFigures": "buildlint.judging.figures",
    "BuildlintError": "buildlint.text.errors",
    "Comparison": "buildlint.judging.compare",
    "Counts": "buildlint.judging.finding",
    "Cure": "buildlint.judging.finding",
    "CureFigure": "buildlint.judging.finding",
    "FigureLine": "buildlint.judging.figures",
    "Finding": "buildlint.judging.finding",
    "Inspection": "buildlint.judging.inspection",
    "Judged": "buildlint.judging.inspection",
    "PathError": "buildlint.text.errors",
    "Preparation": "buildlint.judging.prepare",
    "Rule": "buildlint.judging.rule",
    "Rulebook": "buildlint.judging.rulebook",
    "RulebookError": "buildlint.text.errors",
    "SettingsError": "buildlint.text.errors",
    "Team": "buildlint.team.repository",
    "compare": "buildlint.judging.compare",
    "figures": "buildlint.judging.figures",
    "inspect_team": "buildlint.judging.inspector",
    "inspect_build": "buildlint.judging.inspector",
    "labels": "buildlint.judging.labels",
    "load_rulebook": "buildlint.judging.rulebook",
    "load_team": "buildlint.team.load",
    "prepare": "buildlint.judging.prepare",
    "report": "buildlint.reports.report",
}


if not TYPE_CHECKING:  # a type checker would take any name for one that is there

    def __getattr__(name: str) -> Any:
        # each loads only what it needs: `import buildlint.physics` stays light
        if name in _HOMES:
            import importlib

            return getattr(importlib.import_module(_HOMES[name]), name)
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    return __all__

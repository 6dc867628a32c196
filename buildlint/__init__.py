"""buildlint: judges written-down builds of oil-filled model-car dampers by a rulebook.

>>> from buildlint import inspect_team
>>> inspect_team(["examples/saltmarsh"]).passes()
True
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

__version__ = "0.1.0"

__all__ = [
    "Bladder",
    "Body",
    "Build",
    "BuildFigures",
    "BuildlintError",
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
    "compare",
    "figures",
    "inspect_build",
    "inspect_team",
    "labels",
    "load_rulebook",
    "load_team",
]

if TYPE_CHECKING:
    from buildlint.build_figures import BuildFigures, FigureLine, figures
    from buildlint.build_labels import labels
    from buildlint.comparison import Comparison, compare
    from buildlint.errors import BuildlintError, PathError, RulebookError, SettingsError
    from buildlint.files.models import Build, Car, Event
    from buildlint.files.oil_model import Oil
    from buildlint.files.part_models import Bladder, Body, Piston, Shaft, Spring
    from buildlint.finding import Counts, Cure, CureFigure, Finding
    from buildlint.inspected import Inspection, Judged
    from buildlint.inspection import inspect_build, inspect_team
    from buildlint.readings import Reading
    from buildlint.reports.build_models import (
        ComparisonReport,
        FiguresReport,
        LabelsReport,
        RulebookReport,
    )
    from buildlint.reports.models import FindingReport, InspectionReport
    from buildlint.rule import Rule
    from buildlint.rulebook import Rulebook, load_rulebook
    from buildlint.team import Team, load_team

# No module may go by a name of these: once loaded, it would stand in the place of what is meant.
_HOMES = {
    **dict.fromkeys(("Build", "Car", "Event"), "buildlint.files.models"),
    **dict.fromkeys(
        ("Bladder", "Body", "Piston", "Shaft", "Spring"), "buildlint.files.part_models"
    ),
    "Oil": "buildlint.files.oil_model",
    **dict.fromkeys(
        ("ComparisonReport", "FiguresReport", "LabelsReport", "RulebookReport"),
        "buildlint.reports.build_models",
    ),
    **dict.fromkeys(("FindingReport", "InspectionReport"), "buildlint.reports.models"),
    "Reading": "buildlint.readings",
    "BuildFigures": "buildlint.build_figures",
    "BuildlintError": "buildlint.errors",
    "Comparison": "buildlint.comparison",
    "Counts": "buildlint.finding",
    "Cure": "buildlint.finding",
    "CureFigure": "buildlint.finding",
    "FigureLine": "buildlint.build_figures",
    "Finding": "buildlint.finding",
    "Inspection": "buildlint.inspected",
    "Judged": "buildlint.inspected",
    "PathError": "buildlint.errors",
    "Rule": "buildlint.rule",
    "Rulebook": "buildlint.rulebook",
    "RulebookError": "buildlint.errors",
    "SettingsError": "buildlint.errors",
    "Team": "buildlint.team",
    "compare": "buildlint.comparison",
    "figures": "buildlint.build_figures",
    "inspect_team": "buildlint.inspection",
    "inspect_build": "buildlint.inspection",
    "labels": "buildlint.build_labels",
    "load_rulebook": "buildlint.rulebook",
    "load_team": "buildlint.team",
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

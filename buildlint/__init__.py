"""buildlint: judges written-down builds of oil-filled model-car dampers by a rulebook.

>>> from buildlint import inspect
>>> inspect(["examples/saltmarsh"]).passes()
True
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

__version__ = "0.1.0"

__all__ = [
    "BuildlintError",
    "PathError",
    "RulebookError",
    "SettingsError",
    "__version__",
    "figures",
    "inspect",
    "inspect_build",
    "load_rulebook",
    "load_team",
]

if TYPE_CHECKING:
    from buildlint.build_figures import figures
    from buildlint.errors import BuildlintError, PathError, RulebookError, SettingsError
    from buildlint.inspection import inspect, inspect_build
    from buildlint.rulebook import load_rulebook
    from buildlint.team import load_team

_HOMES = {
    "BuildlintError": "buildlint.errors",
    "PathError": "buildlint.errors",
    "RulebookError": "buildlint.errors",
    "SettingsError": "buildlint.errors",
    "figures": "buildlint.build_figures",
    "inspect": "buildlint.inspection",
    "inspect_build": "buildlint.inspection",
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

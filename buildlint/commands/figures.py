"""Show every measure of a build: `buildlint figures`."""

from __future__ import annotations

from argparse import Namespace

from buildlint.commands.outcome import FAILED, Outcome

__all__ = ["run"]


def run(chosen: Namespace) -> Outcome:
    """Show every measure of a build."""
    from buildlint.judging.figures import figures

    found = figures(chosen.build)
    code = FAILED if found.mistakes else 0
    if chosen.form == "json":
        from buildlint.reports.json import figures_json

        return Outcome(figures_json(found), code, found.mistakes)
    from buildlint.reports.tables import figures_text

    return Outcome(figures_text(found), code, found.mistakes)

"""Show what was changed between two builds: `buildlint compare`."""

from __future__ import annotations

from argparse import Namespace

from buildlint.commands.outcome import FAILED, Outcome

__all__ = ["run"]


def run(chosen: Namespace) -> Outcome:
    """Show what was changed between two builds."""
    from buildlint.judging.compare import compare

    found = compare(chosen.old, chosen.new)
    code = FAILED if found.mistakes else 0
    if chosen.form == "json":
        from buildlint.reports.comparison_json import comparison_json

        return Outcome(comparison_json(found), code, found.mistakes)
    from buildlint.reports.comparison_text import comparison_text

    return Outcome(comparison_text(found), code, found.mistakes)

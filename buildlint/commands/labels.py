"""Show what to write on the caps: `buildlint labels`."""

from __future__ import annotations

from argparse import Namespace

from buildlint.commands.outcome import FAILED, Outcome

__all__ = ["run"]


def run(chosen: Namespace) -> Outcome:
    """Show what to write on the caps."""
    from buildlint.judging.labels import labels

    found = labels(chosen.build)
    code = FAILED if found.mistakes else 0
    if chosen.form == "json":
        from buildlint.reports.labels_json import labels_json

        return Outcome(labels_json(found), code, found.mistakes)
    from buildlint.reports.labels_text import labels_text

    return Outcome(labels_text(found), code, found.mistakes)

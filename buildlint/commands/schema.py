"""Print the JSON Schema of a kind of file: `buildlint schema`."""

from __future__ import annotations

from argparse import Namespace

from buildlint.commands.outcome import Outcome

__all__ = ["run"]


def run(chosen: Namespace) -> Outcome:
    """Print the JSON Schema of a kind of file."""
    from buildlint.reports.schemas import schema_text

    return Outcome(schema_text(chosen.kind))

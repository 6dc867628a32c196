"""Say what is to be done before an event: `buildlint prepare`."""

from __future__ import annotations

from argparse import Namespace

from buildlint.commands.outcome import FAILED, Outcome

__all__ = ["run"]


def run(chosen: Namespace) -> Outcome:
    """Say what is to be done before an event."""
    from buildlint.judging.prepare import prepare

    found = prepare(chosen.event, chosen.on)
    code = FAILED if found.mistakes or any(car.fails for car in found.cars) else 0
    if chosen.form == "json":
        from buildlint.reports.prepare_json import prepare_json

        return Outcome(prepare_json(found), code, found.mistakes)
    from buildlint.reports.prepare_text import prepare_html, prepare_text

    report = prepare_html(found) if chosen.form == "html" else prepare_text(found)
    return Outcome(report, code, found.mistakes)

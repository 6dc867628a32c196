"""Reports for other programs: JSON, with "format": 2."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from itertools import islice
from typing import TYPE_CHECKING, Any

from buildlint.files.amounts import in_unit, unit_of
from buildlint.judging.rule import Ask, Rule, limit_figures, limit_in_words
from buildlint.measures import MEASURES
from buildlint.reports.build_models import FiguresReport, RulebookReport
from buildlint.reports.models import InspectionReport, Report, number
from buildlint.text.words import seen_from_here

if TYPE_CHECKING:
    from buildlint.judging.figures import BuildFigures
    from buildlint.judging.finding import Finding
    from buildlint.judging.inspection import Inspection
    from buildlint.judging.rules_in_force import RuleChange

__all__ = [
    "FORMAT",
    "changes_told",
    "figures_json",
    "figures_report",
    "inspection_json",
    "inspection_report",
    "json_text",
    "number",
    "report_text",
    "rulebook_report",
    "rules_json",
]

#: What stands under `format`.
FORMAT = 2

_AT_A_TIME = 10_000


# --- an inspection -------------------------------------------------------------------------------


def inspection_json(
    inspection: Inspection, should_too: bool = False, everything: bool = False
) -> str:
    """Return the report of an inspection as `--as json` prints it.

    >>> from buildlint import inspect_team
    >>> json.loads(inspection_json(inspect_team(["examples/saltmarsh"])))["passes"]
    True
    """
    return report_text(inspection_report(inspection, should_too, everything))


def inspection_report(
    inspection: Inspection, should_too: bool = False, everything: bool = False
) -> InspectionReport:
    """Return findings and counts; figures in the measure's unit, shares as fractions of one.

    `passes` is as `should_too` asks; with `everything`, what holds is among the findings too.
    """
    from buildlint import __version__

    return InspectionReport.model_validate(
        {
            "format": FORMAT,
            "buildlint": __version__,
            "on": inspection.on,
            "should_too": should_too,
            "passes": inspection.passes(should_too),
            "builds": [
                {
                    "build": judged.id,
                    "file": judged.file,
                    "car": judged.car,
                    "event": judged.event,
                    "life": judged.life,
                    "counts": judged.counts,
                }
                for judged in inspection.builds
            ],
            "past": inspection.past,
            "findings": [
                _finding(finding)
                for finding in (inspection.every if everything else inspection.findings)
            ],
            "counts": inspection.counts,
            "rules_changed": changes_told(inspection.changes),
        }
    )


def changes_told(changes: Iterable[RuleChange]) -> list[dict[str, Any]]:
    """Return how the team's own settings and rules differ from those that come with buildlint."""
    return [
        {
            "rule": change.rule,
            "kind": change.kind,
            "level": change.level,
            "what": change.what,
            "file": seen_from_here(change.path),
            "line": change.line,
        }
        for change in changes
    ]


def _finding(finding: Finding) -> dict[str, Any]:
    return {
        "rule": finding.rule,
        "title": finding.title,
        "level": finding.level,
        "verdict": finding.verdict,
        "file": finding.file,
        "line": finding.line,
        "column": finding.column,
        "end_column": finding.end_column,
        "build": finding.build,
        "subject": finding.subject or None,
        "subjects": finding.subjects,
        "keys": finding.keys,
        "measure": finding.measure or None,
        "condition": finding.condition,
        "value": finding.value,
        "chance": finding.chance,
        "uncertainty_up": finding.uncertainty_up,
        "uncertainty_down": finding.uncertainty_down,
        "unit": finding.unit,
        "limit": finding.limit,
        "margin": finding.margin,
        "sides": finding.sides,
        "message": finding.message,
        "missing": finding.missing,
        "readings": finding.readings,
        "cure": finding.cure or None,
        "cure_figures": finding.cure_figures,
        "no_figure": finding.no_figure or None,
        "caution": finding.caution or None,
        "conceded": finding.concession,
    }


# --- the figures of a build ----------------------------------------------------------------------


def figures_json(found: BuildFigures) -> str:
    """Return the figures of a build as `--as json` prints them."""
    return report_text(figures_report(found))


def figures_report(found: BuildFigures) -> FiguresReport:
    """Return every figure of a build; one that cannot be worked out says what is missing."""
    return FiguresReport.model_validate(
        {
            "format": FORMAT,
            "build": found.build,
            "car": found.car,
            "event": found.event,
            "figures": found.figures,
            "mistakes": found.mistakes,
        }
    )


# --- rules ---------------------------------------------------------------------------------------


def rules_json(rules: Iterable[Rule], changes: Iterable[RuleChange] = ()) -> str:
    """Return rules as `--as json` prints them."""
    return report_text(rulebook_report(rules, changes))


def rulebook_report(rules: Iterable[Rule], changes: Iterable[RuleChange] = ()) -> RulebookReport:
    """Return rules with their texts, and under `rules_changed` what the team changes."""
    return RulebookReport.model_validate(
        {
            "format": FORMAT,
            "rules": [_rule(rule) for rule in rules],
            "rules_changed": changes_told(changes),
        }
    )


def _rule(rule: Rule) -> dict[str, Any]:
    return {
        "rule": rule.id,
        "title": rule.title,
        "fault": rule.fault or None,
        "costs": rule.costs or None,
        "level": rule.level,
        "measure": rule.measure,
        "limit": limit_in_words(rule.ask) if rule.ask is not None else None,
        "asks": _asks(rule, rule.ask) if rule.ask is not None else None,
        "unit": _unit(rule),
        "by": rule.by,
        "by_unit": MEASURES[rule.by].unit if rule.by is not None else None,
        "bands": _bands(rule),
        "source": rule.source,
        "why": rule.why,
        "cure": rule.cure,
        "turn": rule.turn,
        "caution": rule.caution or None,
        "only": rule.only.words,
    }


def _unit(rule: Rule) -> str | None:
    """Return the unit of what a rule asks: a share where left and right may differ by one."""
    if rule.measure is None:
        return None
    relative = rule.ask is not None and rule.ask.relative
    return "1" if relative else unit_of(MEASURES[rule.measure].unit)


def _asks(rule: Rule, ask: Ask) -> dict[str, Any]:
    return limit_figures(ask, _unit(rule) or "")


def _bands(rule: Rule) -> list[dict[str, Any]]:
    by = MEASURES[rule.by].unit if rule.by is not None else ""
    return [
        {
            "up_to": band.up_to_text or None,
            "up_to_figure": in_unit(band.up_to, by) if band.up_to is not None else None,
            "limit": limit_in_words(band.ask),
            "asks": _asks(rule, band.ask),
        }
        for band in rule.by_band
    ]


# --- as text -------------------------------------------------------------------------------------

# What ASCII has no sign for, and the sign that does not print.
_NOT_PLAIN = re.compile(r"[^\n -~]")


def report_text(report: Report) -> str:
    """Return a report as JSON in ASCII, fit for what shows it as `json_text` is."""
    text = report.model_dump_json(indent=2)
    return _shown(_NOT_PLAIN.sub(lambda sign: json.dumps(sign[0])[1:-1], text))


def json_text(document: Any) -> str:
    r"""Return a document as JSON in ASCII; a number without end is an error.

    A build server that shows it obeys ##word[ even inside of a text, so two of these signs are
    never side by side.

    >>> json_text("##[group]")
    '"#\\u0023[group]"\n'
    """
    pieces = json.JSONEncoder(indent=2, allow_nan=False).iterencode(document)
    # put together as they come: of a season there are millions
    blocks = iter(lambda: "".join(islice(pieces, _AT_A_TIME)), "")
    return _shown("".join(blocks))


def _shown(text: str) -> str:
    return f"{text}\n".replace("##", r"#\u0023")

"""SARIF, the form of findings that code-review and build servers read.

Static Analysis Results Interchange Format 2.1.0, an OASIS Standard
(docs.oasis-open.org/sarif/sarif/v2.1.0); section numbers below are that standard's.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
from collections import Counter
from collections.abc import Iterable
from pathlib import Path
from typing import Any
from urllib.parse import quote

from buildlint.judging.finding import Finding
from buildlint.judging.inspection import Inspection
from buildlint.judging.rule import Rule, asked
from buildlint.judging.rules_in_force import PASS_OVER_SETTING, SURE_SETTING, RuleChange
from buildlint.reports.advice import about, advice, sentence
from buildlint.reports.json import json_text
from buildlint.text.words import clean, seen_from_here

__all__ = ["inspection_sarif"]

_SCHEMA = (
    "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
)
_VERSION = "2.1.0"

# What files are relative to, by the name that the standard uses in its own examples (3.4.4).
_BASE = "%SRCROOT%"

_LEVELS = {"must": "error", "should": "warning"}

# 3.27.9: "review" is for what a person must decide. What is borderline is that: the figure keeps
# its limit as read, but not surely. "open" is for want of information: a reading is missing.
_KINDS = {"fails": "fail", "borderline": "review", "not checked": "open", "holds": "pass"}

# How the team's rules differ from those that come with buildlint.
_NOTIFICATIONS = {
    "changed": "The team's settings change this rule.",
    "left out": "The team's settings leave this rule out.",
    "own": "This rule is the team's own.",
}


def inspection_sarif(
    inspection: Inspection, should_too: bool = False, everything: bool = False
) -> str:
    """Return what fails as one run of a SARIF log, the same for the same findings.

    A must that fails is an error, a should a warning. With `should_too` a should is an error too,
    and a borderline must a warning. With `everything`, all else is a result that is no failure:
    borderline for review, not checked open, holding a pass; conceded ones are suppressed, with the
    reason. Columns count code points.
    """
    from buildlint import __version__

    rules = list(inspection.rules.values())
    index = {rule.id: number for number, rule in enumerate(rules)}
    came_as = {c.rule: c.level for c in inspection.changes if c.kind == "changed"}
    driver: dict[str, Any] = {
        "name": "buildlint",
        "semanticVersion": __version__,
        "rules": [_rule(rule, came_as.get(rule.id, rule.level)) for rule in rules],
    }
    if inspection.changes:
        driver["notifications"] = [
            {"id": kind, "shortDescription": _message(text)}
            for kind, text in _NOTIFICATIONS.items()
        ]
    run = {
        "tool": {"driver": driver},
        "language": "en",
        "columnKind": "unicodeCodePoints",
        "defaultEncoding": "utf-8",
        # its address is left out, as 3.14.14 allows: it differs from machine to machine
        "originalUriBaseIds": {
            _BASE: {"description": _message("The folder in which buildlint was run.")}
        },
        "invocations": [_invocation(inspection, index)],
        "results": list(_results(inspection, index, should_too, everything)),
    }
    log = {"$schema": _SCHEMA, "version": _VERSION, "runs": [run]}
    text = json_text(log)
    # markup in a user's text stays text even where a log is pasted into a page
    for character in "<>&":
        text = text.replace(character, f"\\u{ord(character):04x}")
    return text


# --- rules ---------------------------------------------------------------------------------------


def _rule(rule: Rule, came_as: str) -> dict[str, Any]:
    texts = {"Why": rule.why, "Fix": rule.cure, "Caution": rule.caution, "Source": rule.source}
    told = {head: sentence(text) for head, text in texts.items() if text}
    plain = " ".join(f"{head}: {text}" for head, text in told.items())
    markdown = "\n\n".join(f"**{head}.** {_no_markup(text)}" for head, text in told.items())
    properties = {"source": clean(rule.source)}
    if rule.measure is not None:
        properties["limit"] = clean(asked(rule))
    return {
        "id": clean(rule.id),
        "shortDescription": _message(sentence(rule.heading("fails"))),
        "fullDescription": _message(sentence(rule.why)),
        "help": _message(plain) | {"markdown": markdown},
        "defaultConfiguration": {"level": _LEVELS[came_as]},
        "properties": properties,
    }


def _invocation(inspection: Inspection, index: dict[str, int]) -> dict[str, Any]:
    found: dict[str, Any] = {"executionSuccessful": True}
    overrides: dict[str, dict[str, Any]] = {}
    for change in inspection.changes:
        rule = inspection.rules.get(change.rule)
        if change.kind == "changed" and rule is not None and rule.level != change.level:
            overrides[rule.id] = {
                "descriptor": _reference(rule.id, index),
                "configuration": {"level": _LEVELS[rule.level]},
            }
    if overrides:
        found["ruleConfigurationOverrides"] = list(overrides.values())
    if inspection.changes:
        found["toolConfigurationNotifications"] = [
            _notification(change, index) for change in inspection.changes
        ]
    return found


def _notification(change: RuleChange, index: dict[str, int]) -> dict[str, Any]:
    kinds = list(_NOTIFICATIONS)
    place = _place(seen_from_here(change.path), change.path, change.line, change.column)
    found: dict[str, Any] = {}
    if change.rule == SURE_SETTING:
        words = "The team's settings change from which chance a must holds."
    elif change.rule == PASS_OVER_SETTING:
        words = "The team's settings leave builds out."
    else:
        words = _NOTIFICATIONS[change.kind]
        found["associatedRule"] = _reference(change.rule, index)
    return found | {
        "descriptor": {"id": change.kind, "index": kinds.index(change.kind)},
        # 3.58.6: "warning" where something may be left out, "note" where nothing need be done
        "level": "warning" if change.level == "must" and change.kind != "own" else "note",
        "message": _message(f"{words} {sentence(change.in_words)}"),
        "locations": [{"physicalLocation": place}],
    }


def _reference(rule: str, index: dict[str, int]) -> dict[str, Any]:
    """Name a rule; one that is left out is not among the rules, and then has no index."""
    found: dict[str, Any] = {"id": clean(rule)}
    if rule in index:
        found["index"] = index[rule]
    return found


# --- results -------------------------------------------------------------------------------------


def _results(
    inspection: Inspection, index: dict[str, int], should_too: bool, everything: bool
) -> Iterable[dict[str, Any]]:
    seen: Counter[tuple[str, ...]] = Counter()
    for finding in inspection.every if everything else inspection.serious:
        kind, level = _kind_and_level(finding, should_too)
        if not everything and (kind != "fail" or finding.concession is not None):
            continue
        place = _place(finding.file, finding.path, finding.line, finding.column, finding.end_column)
        location: dict[str, Any] = {"physicalLocation": place}
        if finding.build is not None:
            name = clean(finding.subject)
            whole = f"{clean(finding.build)}/{name}"
            location["logicalLocations"] = [{"name": name, "fullyQualifiedName": whole}]
        result: dict[str, Any] = {"ruleId": clean(finding.rule)}
        if finding.rule in index:
            result["ruleIndex"] = index[finding.rule]
        identity = _identity(finding)
        seen[identity] += 1
        result |= {
            "kind": kind,
            "level": level,
            "message": _message(_told(finding)),
            "locations": [location],
            "partialFingerprints": {
                "ruleAndSubject/v1": _hash(identity, seen[identity]),
                # the name by which code hosts know a finding again
                "primaryLocationLineHash": _hash((*identity, finding.source_line), seen[identity]),
            },
            "properties": {"verdict": finding.verdict, "level": finding.level},
        }
        if everything:
            # 3.27.23: where one result has these, each has
            result["suppressions"] = list(_suppressions(finding))
        yield result


def _kind_and_level(finding: Finding, should_too: bool) -> tuple[str, str]:
    if should_too and finding.concession is None:
        if finding.verdict == "fails":
            return "fail", "error"
        if finding.verdict == "borderline":
            return "fail", "warning"
    kind = _KINDS[finding.verdict]
    # 3.27.10: nothing but a failure has a level
    return kind, _LEVELS[finding.level] if kind == "fail" else "none"


def _told(finding: Finding) -> str:
    subject = about(finding)
    build = f"{clean(finding.build)} " if finding.build is not None else ""
    where = f"{build}{subject}: ".lstrip() if subject else ""
    said = finding.told
    if finding.verdict == "not checked":
        said = f"not checked: {finding.message}"
    return " ".join([f"{where}{sentence(said)}", *advice(finding)])


def _suppressions(finding: Finding) -> Iterable[dict[str, Any]]:
    concession = finding.concession
    if concession is not None:
        # 3.35.2: "external" is for a store beside the file that the result is in
        yield {
            "kind": "external",
            "status": "accepted",
            "justification": f"Until {concession.until}: {clean(concession.reason)}",
        }


def _identity(finding: Finding) -> tuple[str, ...]:
    """Return what makes a finding the same one after lines were moved, at whatever condition."""
    if finding.build is None:
        return (finding.rule, finding.file, finding.message)
    return (finding.rule, finding.file, finding.build, finding.subject)


def _hash(identity: tuple[str, ...], number: int) -> str:
    whole = json.dumps([*identity, number]).encode("ascii")
    return hashlib.sha256(whole).hexdigest()[:32]


# --- places and texts ----------------------------------------------------------------------------


def _place(
    file: str, path: Path | None, line: int, column: int, end_column: int | None = None
) -> dict[str, Any]:
    region = {"startLine": line, "startColumn": column, "endLine": line}
    if end_column is not None:
        region["endColumn"] = max(end_column, column)
    return {"artifactLocation": _location(file, path), "region": region}


def _location(file: str, path: Path | None) -> dict[str, str]:
    """Return a file as RFC 3986 has it: relative, or whole where it lies outside this folder.

    Whatever a base is resolved to, ".." after it would lead a viewer astray.
    """
    seen = Path(file)
    outside = seen.is_absolute() or ".." in seen.parts
    if outside and path is not None and path.is_absolute():
        seen = path
    if seen.is_absolute():
        return {"uri": seen.as_uri()}
    # by the bytes of the name, which need be no UTF-8
    return {"uri": quote(os.fsencode(seen.as_posix()), safe="/"), "uriBaseId": _BASE}


def _no_markup(text: str) -> str:
    """Return a text in which markdown sees nothing but text."""
    return re.sub(r"([\\`*_\[\]<>#|])", r"\\\1", text)


def _message(text: str) -> dict[str, str]:
    """Return a plain text message in which nothing is a placeholder or a link (3.11.5, 3.11.6)."""
    return {"text": text.replace("{", "{{").replace("}", "}}").replace("](", "] (")}

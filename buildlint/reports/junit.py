"""JUnit XML, the form of test results that build servers read: each rule on each subject a test."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable
from xml.etree import ElementTree

from buildlint.judging.finding import Finding, gravity
from buildlint.judging.inspection import Inspection, Judged
from buildlint.judging.rule import Rule
from buildlint.judging.rules_in_force import RuleChange
from buildlint.judging.subjects import corners_of
from buildlint.measures import MEASURES
from buildlint.reports.advice import about, advice
from buildlint.text.words import clean, seen_from_here, stands_at

__all__ = ["inspection_junit"]

_RULES = "the team's rules"
_FILES = "files"


def inspection_junit(
    inspection: Inspection, should_too: bool = False, everything: bool = False
) -> str:
    """Return a test suite for each build, one for the files, one for rules that the team changes.

    A test is one rule on a corner of a build, on an end where it compares both sides, or on the
    car, so that it goes by one name from run to run. A must that fails is a failure; a should that
    fails and a borderline must pass and say so in their output, unless `should_too`. What is
    conceded or left out is skipped, with the reason; so is what is not checked, with `everything`.
    """
    root = ElementTree.Element("testsuites", name="buildlint")
    if inspection.changes:
        _rules(root, inspection.changes)
    if inspection.in_files or inspection.builds or inspection.looked_at:
        _files(root, inspection.in_files, should_too)
    whole = {rule.id for rule in inspection.rules.values() if _is_of_more(rule)}
    for judged in inspection.builds:
        _build(root, judged, whole, should_too, everything)
    totals = {
        key: str(sum(int(suite.get(key, "0")) for suite in root))
        for key in ("tests", "failures", "errors")
    }
    root.attrib.update(totals)
    ElementTree.indent(root)
    # in ASCII with character references, it is what it says whatever a console makes of it
    text = ElementTree.tostring(root, encoding="us-ascii", xml_declaration=False).decode("ascii")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{text}\n'


# --- suites --------------------------------------------------------------------------------------


def _is_of_more(rule: Rule) -> bool:
    """Return whether a rule is about more than one damper: both sides, or the car."""
    return rule.compares_sides or bool(rule.measure and MEASURES[rule.measure].of)


def _build(
    root: ElementTree.Element,
    judged: Judged,
    whole: Collection[str],
    should_too: bool,
    everything: bool,
) -> None:
    """Add the suite of a build: what fails first, what holds last."""
    # builds of several teams may go by one id, but not by one file
    name = judged.file.removesuffix(".build.toml")
    suite = _suite(root, name, judged.file)
    found = judged.findings if everything else sorted(judged.serious, key=gravity)
    tests: list[tuple[str, str, Finding | None]] = [(f.rule, f.subject, f) for f in found]
    tests += [(rule, subject, None) for rule, subject in judged.held]
    for rule, subject, finding in tests:
        for each in (subject,) if rule in whole else corners_of(subject) or (subject,):
            test = _test(suite, name, f"{rule} {each}")
            if finding is not None:
                _came_out(test, finding, should_too)
    _count(suite)


def _files(root: ElementTree.Element, findings: Iterable[Finding], should_too: bool) -> None:
    suite = _suite(root, _FILES)
    named: Counter[tuple[str, str]] = Counter()
    for finding in findings:
        name = finding.rule
        named[finding.file, name] += 1
        number = named[finding.file, name]
        test = _test(suite, finding.file, name if number == 1 else f"{name} ({number})")
        _came_out(test, finding, should_too)
    if not len(suite):
        _test(suite, _FILES, "no mistake in how files are written")
    _count(suite)


def _rules(root: ElementTree.Element, changes: Iterable[RuleChange]) -> None:
    """Show what the team changes; a rule that is left out is a test that is skipped."""
    suite = _suite(root, _RULES)
    lines = []
    for change in changes:
        place = stands_at(change.path, change.line, change.column)
        told = f"{place}: {clean(change.in_words)}"
        if change.kind == "left out":
            test = _test(suite, _RULES, f"{change.rule} ({seen_from_here(change.path)})")
            skipped = ElementTree.SubElement(test, "skipped", message="left out by the team")
            skipped.text = told
        lines.append(told)
    ElementTree.SubElement(suite, "system-out").text = "\n".join(lines)
    _count(suite)


def _suite(root: ElementTree.Element, name: str, file: str | None = None) -> ElementTree.Element:
    suite = ElementTree.SubElement(root, "testsuite", name=clean(name))
    if file is not None:
        suite.set("file", clean(file))
    return suite


def _test(suite: ElementTree.Element, classname: str, name: str) -> ElementTree.Element:
    return ElementTree.SubElement(suite, "testcase", classname=clean(classname), name=clean(name))


def _count(suite: ElementTree.Element) -> None:
    suite.set("tests", str(len(suite.findall("testcase"))))
    suite.set("failures", str(len(suite.findall("testcase/failure"))))
    suite.set("errors", "0")
    suite.set("skipped", str(len(suite.findall("testcase/skipped"))))


# --- how a test came out -------------------------------------------------------------------------


def _came_out(test: ElementTree.Element, finding: Finding, should_too: bool) -> None:
    concession = finding.concession
    told = _told(finding)
    if concession is not None:
        reason = f"conceded until {concession.until}: {clean(concession.reason)}"
        ElementTree.SubElement(test, "skipped", message=reason).text = told
    elif finding.verdict == "not checked":
        reason = f"not checked: {clean(finding.message)}"
        ElementTree.SubElement(test, "skipped", message=reason).text = told
    elif should_too or (finding.verdict == "fails" and finding.level == "must"):
        rule, message = clean(finding.rule), clean(finding.told)
        ElementTree.SubElement(test, "failure", type=rule, message=message).text = told
    else:
        ElementTree.SubElement(test, "system-out").text = told


def _told(finding: Finding) -> str:
    """Return a finding in full: what, where, what stands there, and what would mend it."""
    verdict = f"{finding.verdict} ({finding.level})"
    place = f"{clean(finding.file)}:{finding.line}:{finding.column}"
    if finding.source_line:
        place += f"   {clean(finding.source_line)}"
    said = finding.message if finding.verdict == "not checked" else finding.told
    lines = [
        ": ".join(filter(None, (verdict, about(finding), clean(said)))),
        place,
        f"rule {clean(finding.rule)}",
        *advice(finding),
    ]
    return "\n".join(lines)

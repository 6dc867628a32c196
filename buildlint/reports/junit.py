"""JUnit XML, the form of test results that build servers read: each rule on each subject a test."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from xml.etree import ElementTree

from buildlint.judging.finding import Finding
from buildlint.judging.inspection import Inspection, Judged
from buildlint.judging.rules_in_force import RuleChange
from buildlint.reports.advice import about, advice, sentence
from buildlint.text.words import clean, seen_from_here, stands_at

__all__ = ["inspection_junit"]

_RULES = "the team's rules"
_FILES = "files"


def inspection_junit(inspection: Inspection, should_too: bool = False) -> str:
    """Return a test suite for each build, one for the files, one for rules that the team changes.

    A test is one rule on one subject of a build. A must that fails is a failure; a should that
    fails and a borderline must pass and say so in their output, unless `should_too`. What is not
    checked, is conceded or is left out is skipped, with the reason. Tests of a build are as many as
    its counts.
    """
    root = ElementTree.Element("testsuites", name="buildlint")
    twice = Counter(judged.id for judged in inspection.builds)
    if inspection.changes:
        _rules(root, inspection.changes)
    if inspection.in_files or inspection.builds or inspection.looked_at:
        _files(root, inspection.in_files, should_too)
    for judged in inspection.builds:
        # builds of several teams may go by one name
        name = judged.id if twice[judged.id] == 1 else judged.file
        _build(root, judged, name, should_too)
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


def _build(root: ElementTree.Element, judged: Judged, name: str, should_too: bool) -> None:
    suite = _suite(root, name, judged.file)
    tests: list[tuple[str, str, Finding | None]] = []
    tests += [(rule, subject, None) for rule, subject in judged.held]
    tests += [(finding.rule, finding.subject, finding) for finding in judged.findings]
    for rule, subject, finding in sorted(tests, key=lambda test: test[:2]):
        test = _test(suite, name, f"{rule} {subject}")
        if finding is not None:
            _came_out(test, finding, should_too)
    _count(suite)


def _files(root: ElementTree.Element, findings: Iterable[Finding], should_too: bool) -> None:
    suite = _suite(root, _FILES)
    named: Counter[tuple[str, str]] = Counter()
    for finding in findings:
        # by its message, so that it goes by the same name after lines were moved
        name = f"{finding.rule}: {finding.message}"
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
    leave = finding.concession
    told = _told(finding)
    if leave is not None:
        reason = f"conceded until {leave.until}: {clean(leave.reason)}"
        ElementTree.SubElement(test, "skipped", message=reason).text = told
    elif finding.verdict == "not checked":
        reason = f"not checked: {clean(finding.message)}"
        ElementTree.SubElement(test, "skipped", message=reason).text = told
    elif should_too or (finding.verdict == "fails" and finding.level == "must"):
        rule, message = clean(finding.rule), clean(finding.message)
        ElementTree.SubElement(test, "failure", type=rule, message=message).text = told
    else:
        ElementTree.SubElement(test, "system-out").text = told


def _told(finding: Finding) -> str:
    """Return a finding in full: what, where, what stands there, and what would mend it."""
    verdict = f"{finding.verdict} ({finding.level})"
    place = f"{clean(finding.file)}:{finding.line}:{finding.column}"
    if finding.stands:
        place += f"   {clean(finding.stands)}"
    lines = [
        f"{clean(finding.rule)}: {sentence(finding.title)}",
        ": ".join(filter(None, (verdict, about(finding), clean(finding.message)))),
        place,
        *advice(finding),
    ]
    return "\n".join(lines)

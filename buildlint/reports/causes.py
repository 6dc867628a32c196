"""Findings put together for a reader: one cause is told once, what fails comes first."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from buildlint.judging.finding import Finding, gravity
from buildlint.text.words import clean, listed

__all__ = ["Cause", "causes"]

# So many builds are named that fail alike.
_MOST_BUILDS = 3

# What is not there is told once, however many files refer to it.
_OF_ANY_FILE = "file/no-such-id"

_MARKS = {"fails": "{level} fails", "holds": "holds", "not checked": "not checked"}


@dataclass
class Cause:
    """Findings that say the same, on both sides of an end or on several builds.

    `also` are the findings of other rules that come of the same reading.
    """

    findings: list[Finding]
    also: list[Cause] = field(default_factory=list)

    @property
    def lead(self) -> Finding:
        """The finding that is told."""
        return self.findings[0]

    @property
    def mark(self) -> str:
        """The words that it begins with."""
        if self.lead.concession is not None:
            return "conceded"
        return _MARKS.get(self.lead.verdict, self.lead.verdict).format(level=self.lead.level)

    def where(self, named: bool) -> str:
        """Say where it is: the builds, if they are to be `named`, and the part of the car."""
        found = list(dict.fromkeys(clean(f.build) for f in self.findings if f.build is not None))
        if len(found) > _MOST_BUILDS:
            found = [*found[: _MOST_BUILDS - 1], f"{len(found) - _MOST_BUILDS + 1} more"]
        subjects = dict.fromkeys(f.subject for f in self.findings if f.subject)
        ends = dict.fromkeys(subject.partition(".")[0] for subject in subjects)
        part = next(iter(subjects), "").replace(".", " ") if len(subjects) == 1 else ""
        part = next(iter(ends)) if len(subjects) > 1 and len(ends) == 1 else part
        return " ".join(filter(None, [listed(found) if named else "", part]))

    @property
    def places(self) -> list[str]:
        """Where in files it stands, the first of each file."""
        files: dict[str, str] = {}
        for finding in self.findings:
            file = clean(finding.file)
            files.setdefault(file, f"{file}:{finding.line}:{finding.column}")
        return list(files.values())

    @property
    def first_place(self) -> str:
        """The first place in a file, and how many more there are."""
        more = len(self.findings) - 1
        return f"{self.places[0]}{f' and {more} more' if more else ''}"


def causes(findings: Iterable[Finding], by_end: bool = True) -> list[Cause]:
    """Put findings together, what fails first: musts, then shoulds, borderline, conceded.

    Of many builds, what is alike on both ends is one, too.
    """
    groups: dict[tuple[str, ...], Cause] = {}
    for finding in sorted(findings, key=gravity):
        concession = "" if finding.concession is None else str(finding.concession.number)
        end = _end(finding) if by_end else ""
        if not finding.subject and finding.rule != _OF_ANY_FILE:
            end = f"{finding.file}:{finding.line}"
        key = (finding.rule, end, finding.told, finding.verdict, concession)
        groups.setdefault(key, Cause([])).findings.append(finding)
    found: list[Cause] = []
    here: dict[tuple[str | None, str], list[Cause]] = {}
    for cause in groups.values():
        beside = here.setdefault((cause.lead.build, _end(cause.lead)), [])
        first = next((c for c in beside if _is_of(cause.lead, c.lead)), None)
        if first is not None:
            first.also.append(cause)
            continue
        found.append(cause)
        if cause.lead.subject:
            beside.append(cause)
    return found


def _is_of(finding: Finding, lead: Finding) -> bool:
    """Return whether it comes of the same reading as a graver one of that end, on either side."""
    if lead.concession or finding.concession or not lead.verdict == finding.verdict == "fails":
        return False
    # with other parts on one side, all else that is unlike there comes of that
    of_parts = lead.measure == "parts" and "same_within" in finding.limit
    return of_parts or (finding.file, finding.keys[-1:]) == (lead.file, lead.keys[-1:])


def _end(finding: Finding) -> str:
    return finding.subject.partition(".")[0]

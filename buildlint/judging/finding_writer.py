"""Turn judgements and mistakes in files into findings, each with its place."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from pathlib import Path

from buildlint.files.amounts import apart_in_unit, in_unit, unit_of
from buildlint.files.concession import Concession
from buildlint.files.fault import Fault, with_keys
from buildlint.files.models import Build
from buildlint.files.names import meant_name
from buildlint.files.part_models import PART_KINDS
from buildlint.files.places import START, Place, Places
from buildlint.files.reader import FileRead
from buildlint.files.settings import SettingsFile
from buildlint.judging.finding import Finding, ReadingShare, Sides
from buildlint.judging.judgement import Judgement
from buildlint.judging.messages import message
from buildlint.judging.rule import limit_figures
from buildlint.judging.rulebook import Rulebook
from buildlint.judging.subjects import corners_of
from buildlint.measures.damper import Damper
from buildlint.measures.origin import Origin
from buildlint.team.folders import DEEPEST
from buildlint.team.repository import Team
from buildlint.team.selection import used_by
from buildlint.text.words import (
    MOST_LOOKED_THROUGH,
    clean,
    counted,
    nearest,
    seen_from_here,
    shown,
)

__all__ = [
    "FindingWriter",
    "mistakes_behind",
    "mistakes_in",
    "mistakes_told",
]


# A file with more mistakes than this is another kind of file.
_MOST_IN_A_FILE = 100

# So many of the readings behind a finding are told.
_MOST_READINGS = 3


class FindingWriter:
    """Turns judgements and faults into findings, with their places."""

    def __init__(self, team: Team, book: Rulebook) -> None:
        self.team = team
        self.book = book
        self._places: dict[Path, Places] = {}

    def misnamed(self, path: Path) -> Finding:
        """Return the finding about a name that is not of the kind, or a folder that is closed."""
        rule = self.team.meant_rule(path)
        if rule is not None:
            message = f"is not read as a rule, because of its name; did you mean {clean(rule)}?"
            return self._fault(FileRead(path, "", ""), Fault("file/misnamed", message))
        name = meant_name(path.name)
        if name is None:
            closed = (
                f"is a folder that may not be looked into, or is more than {DEEPEST} folders deep: "
                "nothing in it was judged"
            )
            return self._fault(FileRead(path, "", ""), Fault("file/unreadable", closed))
        message = f"is not read, because of its name; did you mean {shown(name)}?"
        return self._fault(FileRead(path, "", ""), Fault("file/misnamed", message))

    def concession_expired(
        self, concession: Concession, settings: SettingsFile, on: date
    ) -> Finding:
        """Return the finding about a concession whose last day is past."""
        days = (on - concession.until).days
        ago = f"{counted(days, 'day')} ago"
        message = f"the concession for {_named(concession)} ended on {concession.until}, {ago}"
        return self._of_settings(settings, concession, "until", "file/concession-expired", message)

    def concession_unused(self, concession: Concession, settings: SettingsFile) -> Finding:
        """Return the finding about a concession that nothing needs."""
        message = f"nothing needs the concession for {_named(concession)}"
        if concession.rule not in self.book.rules:
            message += ": the rule is left out"
        for kind, ident in (("event", concession.event), ("build", concession.build)):
            known = self.team.by_id(kind)
            if ident is not None and ident not in known:
                near = nearest(ident, known) if len(known) <= MOST_LOOKED_THROUGH else None
                hint = f"; did you mean {shown(near)}?" if near else ""
                message = f"there is no {kind} {shown(ident)}{hint}"
        return self._of_settings(settings, concession, "rule", "file/concession-unused", message)

    def _of_settings(
        self, settings: SettingsFile, concession: Concession, key: str, rule: str, message: str
    ) -> Finding:
        found = FileRead(settings.path, "", "", data=settings.data)
        return self._fault(found, Fault(rule, message, ("concession", str(concession.number), key)))

    def in_file(self, found: FileRead) -> list[Finding]:
        """Return the findings about how a file is written, in the order of its lines."""
        findings = [self._fault(found, fault) for fault in found.faults[:_MOST_IN_A_FILE]]
        findings.sort(key=lambda f: (f.line, f.column, f.rule, f.message))
        more = len(found.faults) - len(findings)
        if more > 0:
            message = f"{counted(more, 'more mistake', ',')} in this file: mend these first"
            findings.append(self._fault(found, Fault(found.faults[-1].rule, message)))
        return findings

    def of(self, judgement: Judgement, build: FileRead) -> Finding:
        """Return the finding that a judgement stands for, but for where in its file that is."""
        rule, unit, found = judgement.rule, judgement.unit, judgement.figure
        origin = _origin(judgement) or Origin(build.path, (judgement.dampers[0].end,))
        value = up = down = None
        if found is not None:
            value = in_unit(found.value, unit)
            up, down = (apart_in_unit(u, unit) for u in (found.up, found.down))
        margin = judgement.margin
        return Finding(
            rule=rule.id,
            title=rule.heading(judgement.verdict),
            level=rule.level,
            verdict=judgement.verdict,
            message=message(judgement),
            file=seen_from_here(origin.path),
            keys=origin.keys,
            build=build.id,
            subject=judgement.subject,
            subjects=corners_of(judgement.subject),
            measure=judgement.measure.name,
            condition=judgement.condition,
            value=value,
            chance=judgement.chance,
            uncertainty_up=up,
            uncertainty_down=down,
            unit=unit_of(unit),
            limit=limit_figures(judgement.ask, unit) if judgement.ask is not None else {},
            margin=apart_in_unit(margin, unit) if margin is not None else None,
            sides=_sides(judgement),
            readings=readings_of(judgement),
            cure=rule.cure,
            caution=rule.caution,
            missing=judgement.missing,
            path=origin.path,
        )

    def placed(self, finding: Finding) -> Finding:
        """Return a finding with its line and columns, and what stands there."""
        if finding.path is None or finding.source_line:
            return finding
        place, source_line = self._at(Origin(finding.path, finding.keys))
        return replace(
            finding,
            line=place.line,
            column=place.column,
            end_column=place.end_column,
            source_line=source_line,
        )

    def _fault(self, found: FileRead, fault: Fault) -> Finding:
        rule = self.book.rules.get(fault.rule)
        place, source_line = fault.place or START, ""
        if found.data:
            places = self._places_of(found)
            if fault.place is None and fault.path:
                place = places.of_key(fault.path) if fault.on_key else places.of_value(fault.path)
            if place is not START:
                source_line = places.line(place.line).strip()
        elif fault.path:
            # a table held in memory
            fault = with_keys(fault)
        return Finding(
            rule=fault.rule,
            title=rule.heading("fails") if rule is not None else fault.rule,
            level=rule.level if rule is not None else "must",
            verdict="fails",
            message=fault.message,
            file=seen_from_here(found.path),
            line=place.line,
            column=place.column,
            end_column=place.end_column,
            cure=rule.cure if rule is not None else "",
            source_line=source_line,
            path=found.path,
        )

    def _at(self, origin: Origin) -> tuple[Place, str]:
        """Return the place of a reading, and the line that stands there."""
        found = self.team.file(origin.path)
        if not found.data:
            return START, ""
        places = self._places_of(found)
        place = places.of_value(origin.keys)
        return place, places.line(place.line).strip() if place is not START else ""

    def forget(self, path: Path) -> None:
        """Let go of where things stand in a file."""
        self._places.pop(path, None)

    def _places_of(self, found: FileRead) -> Places:
        if found.path not in self._places:
            self._places[found.path] = Places(found.data, found.mended)
        return self._places[found.path]


def readings_of(judgement: Judgement) -> tuple[ReadingShare, ...]:
    """Return the readings that decide a finding most: those behind most of the variance."""
    if judgement.verdict not in ("fails", "borderline"):
        return ()
    return tuple(
        ReadingShare(
            f"{w.damper.read_as(w.name)}{_whose(judgement, w.name, w.damper)}",
            w.share,
            w.damper.is_given(w.name),
        )
        for w in judgement.weights[:_MOST_READINGS]
    )


def _whose(judgement: Judgement, name: str, damper: Damper) -> str:
    """Say which damper a reading belongs to, where several were judged together."""
    if judgement.measure.against:
        own = damper.build == judgement.dampers[0].build
        return "" if own else f" in {clean(damper.build or '')}"
    if not (judgement.measure.of or judgement.rule.compares_sides):
        return ""
    if judgement.measure.of:
        return f" at the {damper.end}"
    one, other = judgement.dampers
    same = one.origin.get(name) == other.origin.get(name)
    return f", {damper.side}" if same or one.read_as(name) == other.read_as(name) else ""


def mistakes_behind(team: Team, path: Path, book: Rulebook) -> tuple[Finding, ...]:
    """Return every mistake in a build's file and in all files that it stands on."""
    writer = FindingWriter(team, book)
    model = team.file(path).model
    files = {path} | (used_by(team, model) if isinstance(model, Build) else set())
    return tuple(f for here in sorted(files) for f in writer.in_file(team.file(here)))


def mistakes_told(mistakes: Iterable[Finding]) -> tuple[str, ...]:
    """Return mistakes as FILE:LINE:COL: what."""
    return tuple(f"{f.file}:{f.line}:{f.column}: {f.message}" for f in mistakes)


def mistakes_in(team: Team, path: Path, book: Rulebook) -> tuple[str, ...]:
    """Return every mistake behind a build as FILE:LINE:COL: what."""
    return mistakes_told(mistakes_behind(team, path, book))


def _named(concession: Concession) -> str:
    of = f" of {shown(concession.build)}" if concession.build is not None else ""
    where = f" at the {concession.where.replace('.', ' ')}" if concession.where is not None else ""
    event = f" for {shown(concession.event)}" if concession.event is not None else ""
    return f"{concession.rule}{of}{where}{event}"


def _origin(judgement: Judgement) -> Origin | None:
    """Return where the reading stands that a judgement is about: the one read on a side first."""
    about = judgement.measure.about
    if judgement.ask is not None and judgement.ask.exactly and isinstance(judgement.words, tuple):
        left, right = judgement.words
        if isinstance(left, tuple):
            about = next((a[0] for a, b in zip(left, right, strict=True) if a != b), about)
    like = judgement.dampers[0].like
    if judgement.measure.name == "parts_against" and like is not None:
        other = (k for k in PART_KINDS if getattr(judgement.dampers[0], k) != getattr(like, k))
        about = next(other, about)
    found = [d.origin[about] for d in judgement.dampers if about in d.origin]
    if not found:
        return None
    return max(found, key=lambda o: (len(o.keys), o.keys))


def _sides(judgement: Judgement) -> Sides | None:
    """Return what left and right are, where they are compared and both are known."""
    unit = judgement.measure.unit
    if judgement.sides is not None:
        left, right = (in_unit(value, unit) for value in judgement.sides)
        return Sides(left, right, unit)
    if judgement.ask is None or not judgement.ask.exactly or judgement.words is None:
        return None
    one, other = judgement.words
    if not isinstance(one, tuple):
        return Sides(one, other)
    differ = [(a, b) for a, b in zip(one, other, strict=True) if a != b]
    return Sides(dict(a for a, _ in differ), dict(b for _, b in differ))

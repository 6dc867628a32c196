"""The report as people read it: by build, then by end of the car, what fails first."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

from buildlint.judging.finding import Counts, Finding
from buildlint.judging.inspection import MANY, Inspection, Judged
from buildlint.judging.rules_in_force import PASS_OVER_SETTING, SURE_SETTING, RuleChange
from buildlint.reports.advice import what_decides
from buildlint.reports.gauge import LEGEND, gauges
from buildlint.text.words import clean, counted, listed, meant_for, seen_from_here, stands_at
from buildlint.text.wrapping import WIDTH, wrapped

__all__ = ["inspection_text", "rule_changes"]

_BOLD, _RED, _OFF = "\x1b[1m", "\x1b[31m", "\x1b[0m"

# A finding is told in this column, behind its word.
_TOLD_AT = 15


def inspection_text(inspection: Inspection, colour: bool = False, should_too: bool = False) -> str:
    """Return the whole report, ending in a line that sums it up."""
    writer = _Writer(colour)
    many = len(inspection.builds) > MANY
    blocks = [*writer.files(inspection.in_files)]
    cautions: dict[str, None] = {}
    drawn = False
    for judged in inspection.builds:
        block, has_gauge = writer.build(judged, brief=many)
        drawn = drawn or has_gauge
        blocks.append(block)
        serious = (f for f in judged.drafts if f.verdict == "fails")
        cautions.update((f.caution, None) for f in serious if f.caution)
    # one of many builds is told in a line or two: blanks would double that
    lines = [line for block in blocks for line in (block if many else (*block, ""))]
    lines += [""] if many else []
    for caution in cautions:
        lines += [*wrapped(f"Caution: {caution}", 0), ""]
    if drawn:
        lines += [*LEGEND, ""]
    lines += rule_changes(inspection.changes)
    if inspection.past:
        lines.append(f"{counted(len(inspection.past), 'past build')}, not judged (--past)")
    lines += writer.sum(inspection, should_too)
    return "\n".join(lines) + "\n"


class _Writer:
    def __init__(self, colour: bool) -> None:
        self.colour = colour

    def bold(self, text: str) -> str:
        return f"{_BOLD}{text}{_OFF}" if self.colour else text

    def mark(self, finding: Finding) -> str:
        """Return the word that a finding begins with, and blanks up to what is told of it."""
        word = "FAILS"
        if finding.concession is not None:
            word = "conceded"
        elif finding.verdict == "borderline":
            word = "borderline"
        elif finding.level == "should":
            word = "should"
        blanks = " " * (_TOLD_AT - 4 - len(word))
        coloured = word == "FAILS" and self.colour
        return f"    {_BOLD}{_RED}{word}{_OFF}{blanks}" if coloured else f"    {word}{blanks}"

    def head(self, finding: Finding) -> Iterator[str]:
        """Return the first lines of a finding in full: its word, and the title of its rule."""
        first, *more = wrapped(finding.title, _TOLD_AT)
        yield f"{self.mark(finding)}{first.strip()}"
        yield from more

    # --- mistakes in files -----------------------------------------------------------------------

    def files(self, findings: Iterable[Finding]) -> Iterator[list[str]]:
        """Return a block for each file that has a mistake."""
        by_file: dict[str, list[Finding]] = {}
        for finding in findings:
            by_file.setdefault(finding.file, []).append(finding)
        for file, found in by_file.items():
            lines = [self.bold(clean(file))]
            said: set[str] = set()
            for finding in found:
                lines += ["", *self.head(finding)]
                lines += wrapped(finding.message, _TOLD_AT)
                lines += [f"{' ' * _TOLD_AT}rule {finding.rule}", *self.place(finding)]
                if finding.rule not in said:
                    lines += wrapped(finding.cure, _TOLD_AT)
                    said.add(finding.rule)
            yield lines

    # --- builds ----------------------------------------------------------------------------------

    def build(self, judged: Judged, brief: bool) -> tuple[list[str], bool]:
        """Return the block of a build, and whether a gauge is drawn in it."""
        life = f", {judged.life}" if judged.life != "built" else ""
        lines = [f"{self.bold(clean(judged.id))}  {meant_for(judged.car, judged.event)}{life}"]
        if brief:
            return list(self.in_brief(lines[0], judged)), False
        bad = judged.serious
        lines.append(clean(judged.file))
        drawn = False
        for subject in ("front", "rear", "car"):
            here = [f for f in bad if f.subject.split(".")[0] == subject]
            gauge = list(gauges(judged, subject, here))
            drawn = drawn or bool(gauge)
            if here or gauge:
                lines += ["", f"  {self.bold(subject)}", *gauge, *self.findings(here)]
        lines += ["", *wrapped(_tally(judged.counts, bad), 2), *_not_checked(judged)]
        return lines, drawn

    def in_brief(self, head: str, judged: Judged) -> Iterator[str]:
        """Return one of many builds: how it stands, and in a line each what must hold and fails."""
        counts = judged.counts
        standing = [f for f in judged.drafts if f.concession is None]
        fails = [f for f in standing if f.level == "must" and f.verdict == "fails"]
        musts = [judged.place(f) for f in fails]
        should = counts.fails - len(musts)
        said = [f"{counted(len(musts), 'must')} fail{_s(len(musts))}"] if musts else []
        said += [f"{counted(should, 'should')} fail{_s(should)}"] if should else []
        said += [f"{counts.borderline} borderline"] if counts.borderline else []
        said += [f"{counts.conceded} conceded"] if counts.conceded else []
        unchecked = judged.musts_not_checked
        said += [f"{counted(unchecked, 'must')} not checked"] if unchecked else []
        yield from wrapped(f"{head}: {', '.join(said) or 'sound'}", 4, first="")
        for group in _sides_together(_gravest_first(musts)):
            one = group[0]
            where = " and ".join(dict.fromkeys(f"{clean(f.file)}:{f.line}" for f in group))
            subject = one.subject.split(".")[0]
            text = f"{one.rule}  {subject} {_sides(group)}{one.brief}  {where}"
            yield from wrapped(text, 8, first=f"{self.mark(one).rstrip()} ")

    def findings(self, findings: list[Finding]) -> Iterator[str]:
        """Return what fails or is borderline in full; in brief what follows from it or is conceded.

        Of one figure of one subject only the gravest is told in full, and each must.
        """
        full: list[list[Finding]] = []
        short: list[list[Finding]] = []
        told: set[tuple[str, str]] = set()
        for group in _sides_together(_gravest_first(findings)):
            what = (group[0].measure, group[0].subject)
            again = what in told and group[0].verdict == "fails"
            if group[0].concession is None:
                told.update((f.measure, f.subject) for f in group)
            if again or group[0].concession is not None:
                short.append(group)
            else:
                full.append(group)
        for group in full:
            yield from self.in_full(group)
        if full and short:
            yield ""
        for group in short:
            where = " and ".join(dict.fromkeys(_at(f) for f in group))
            text = f"{group[0].rule}  {_sides(group)}{group[0].brief} {where}"
            yield from wrapped(text, _TOLD_AT, first=self.mark(group[0]))
            leave = group[0].concession
            if leave is not None:
                yield from wrapped(f"until {leave.until}: {clean(leave.reason)}", _TOLD_AT)

    def in_full(self, group: list[Finding]) -> Iterator[str]:
        """Return a finding in full: what, by how much, where, and what would mend it."""
        finding = group[0]
        yield ""
        yield from self.head(finding)
        yield from wrapped(f"{_sides(group)}{finding.message}", _TOLD_AT)
        if finding.verdict == "borderline":
            yield from wrapped(what_decides(finding), _TOLD_AT)
        yield f"{' ' * _TOLD_AT}rule {finding.rule}"
        for one in group:
            yield from self.place(one)
        yield from self.cures(finding)
        yield from wrapped(finding.cure, _TOLD_AT)

    def cures(self, finding: Finding) -> Iterator[str]:
        """Return what was solved for, or why nothing was."""
        if finding.no_figure:
            yield from wrapped(finding.no_figure, _TOLD_AT)
        for figure in finding.cure_figures:
            yield from wrapped(figure.text, _TOLD_AT)

    def place(self, finding: Finding) -> Iterator[str]:
        """Return the place, and what stands there, on a line of its own where both are long."""
        where = f"{' ' * _TOLD_AT}{clean(finding.file)}:{finding.line}:{finding.column}"
        stands = clean(finding.stands)
        if stands and len(where) + 3 + len(stands) <= WIDTH:
            where, stands = f"{where}   {stands}", ""
        yield where
        if stands:
            room = WIDTH - _TOLD_AT - 2
            told = stands if len(stands) <= room else f"{stands[: room - 1]}…"
            yield f"{' ' * (_TOLD_AT + 2)}{told}"

    def sum(self, inspection: Inspection, should_too: bool) -> list[str]:
        """Return the last lines: how many builds, and whether they may go out."""
        counts = inspection.counts
        conceded = [f for f in inspection.drafts if f.concession is not None]
        standing = [f for f in inspection.drafts if f.concession is None]
        musts = [f for f in standing if f.verdict == "fails" and f.level == "must"]
        builds = len({f.build for f in musts if f.build is not None})
        files = len({f.file for f in musts if f.build is None})
        parts = [counted(builds, "build")] if builds else []
        parts += [counted(files, "file")] if files else []
        verdict = (
            f"{' and '.join(parts)} must be mended" if musts else "nothing fails that must hold"
        )
        in_files = dict.fromkeys((f.file, f.line) for f in musts if f.build is None)
        if in_files:
            (file, line), *more = in_files
            verdict += f": {clean(file)}:{line}"
            verdict += f" and {counted(len(more), 'more place')}" if more else ""
        if not musts and any(f.level == "must" and f.verdict == "fails" for f in conceded):
            verdict += ", except what is conceded"
        # what one build's own block says already is not said again
        alone = len(inspection.builds) == 1 and not inspection.in_files
        tally = "" if alone or not inspection.builds else _tally(counts, inspection.drafts)
        lines = wrapped(f"{counted(counts.builds, 'build')} judged: {verdict}. {tally}", 0)
        if len(inspection.builds) > MANY and any(f.build is not None for f in musts):
            lines += wrapped(
                "To see what would mend a build, inspect it by itself: buildlint inspect "
                f"{clean(next(f.build for f in musts if f.build is not None))}",
                0,
            )
        if should_too and not musts and not inspection.passes(should_too=True):
            should = sum(f.verdict == "fails" for f in standing)
            also = [f"{should} that should hold"] if should else []
            also += [f"{counts.borderline} borderline"] if counts.borderline else []
            verb = "fails" if counts.borderline + should == 1 else "fail"
            lines += wrapped(f"With --should-too: {' and '.join(also)} {verb} too.", 0)
        return lines


def rule_changes(changes: Sequence[RuleChange]) -> list[str]:
    """Say how the team's rules differ: whatever touches a must by name, the rest in brief.

    Of several teams, each with its file.
    """
    lines: list[str] = []
    brief: dict[tuple[str, Path], list[str]] = {}
    several = len({_home(change).parent for change in changes}) > 1
    for change in changes:
        if change.level == "must" and change.kind != "own":
            at = stands_at(change.path, change.line, change.column)
            name = (
                ""
                if change.rule in (SURE_SETTING, PASS_OVER_SETTING)
                else f"the must {change.rule}: "
            )
            lines += wrapped(f"{name}{change.what} ({at})", 4, first="  ")
        else:
            brief.setdefault((change.kind, _home(change)), []).append(change.rule)
    for (kind, home), rules in brief.items():
        where = f" ({clean(seen_from_here(home))})" if several else ""
        lines += wrapped(f"{kind}: {', '.join(rules)}{where}", 4, first="  ")
    whose = "The teams' own settings change" if several else "The team's own settings change"
    return [f"{whose} the rules:", *lines, ""] if lines else []


def _home(change: RuleChange) -> Path:
    """Return the settings that a change stands in; of rules of the team's own, their folder."""
    return change.path.parents[change.rule.count("/")] if change.kind == "own" else change.path


def _at(finding: Finding) -> str:
    """Return the line at its shortest: that of the build's own file, which heads its block."""
    here = finding.file.endswith(".build.toml")
    return f":{finding.line}" if here else f"{clean(finding.file)}:{finding.line}"


def _sides(group: list[Finding]) -> str:
    sides = [side for _, dot, side in (f.subject.partition(".") for f in group) if dot]
    return f"{' and '.join(sides)}: " if sides else ""


def _sides_together(findings: list[Finding]) -> Iterator[list[Finding]]:
    """Put left and right together where they say the same."""
    groups: dict[tuple[str, str, str, str], list[Finding]] = {}
    for finding in findings:
        leave = "" if finding.concession is None else str(finding.concession.number)
        key = (finding.rule, finding.subject.split(".")[0], finding.message, leave)
        groups.setdefault(key, []).append(finding)
    yield from groups.values()


def _gravest_first(findings: list[Finding]) -> list[Finding]:
    def badness(finding: Finding) -> tuple[int, str, str]:
        if finding.concession is not None:
            order = 4
        elif finding.verdict == "borderline":
            order = 2 if finding.level == "must" else 3
        else:
            order = 0 if finding.level == "must" else 1
        return order, finding.rule, finding.subject

    return sorted(findings, key=badness)


def _s(number: int) -> str:
    """Return the end of a verb of which so many are the subject."""
    return "s" if number == 1 else ""


def _tally(counts: Counts, findings: Iterable[Finding]) -> str:
    musts = sum(
        f.verdict == "fails" and f.level == "must" and f.concession is None for f in findings
    )
    parts = [f"{counts.holds} hold"]
    if musts:
        parts.append(f"{musts} that must hold fail{_s(musts)}")
    if counts.fails > musts:
        should = counts.fails - musts
        parts.append(f"{should} that should hold fail{_s(should)}")
    if counts.borderline:
        parts.append(f"{counts.borderline} borderline")
    if counts.not_checked:
        parts.append(f"{counts.not_checked} not checked")
    if counts.conceded:
        parts.append(f"{counts.conceded} conceded")
    return ", ".join(parts) + "."


def _not_checked(judged: Judged) -> Iterator[str]:
    """Say what was not checked, by what is missing for it; briefly where mistakes come first."""
    # the same lack goes by one line, in whatever order a rule has it
    rules: dict[tuple[str, ...], tuple[str, dict[str, None]]] = {}
    for finding in judged.unchecked:
        if finding.missing:
            rest = len(finding.missing) - 2
            more = [f"{rest} more"] if rest > 0 else []
            words = [*finding.missing[:2], *more]
            rules.setdefault(tuple(sorted(words)), (listed(words), {}))[1][finding.rule] = None
    if judged.waits and rules:
        yield "  What is not checked may be judged once the mistakes in the files are mended."
        return
    for missing, names in rules.values():
        yield from wrapped(f"not checked, needs {missing}: {', '.join(names)}", 4, first="  ")

"""The report as people read it: what fails first, of many builds a table before it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from buildlint.judging.finding import Counts, Finding
from buildlint.judging.inspection import MANY, Inspection, Judged
from buildlint.judging.rules_in_force import PASS_OVER_SETTING, SURE_SETTING, RuleChange
from buildlint.reports.advice import cautions
from buildlint.reports.builds_table import builds_table
from buildlint.reports.causes import causes
from buildlint.reports.finding_text import Page, in_full, in_one_line
from buildlint.reports.gauge import gauges
from buildlint.text.words import clean, counted, listed, meant_for, s_of, seen_from_here, stands_at
from buildlint.text.wrapping import WIDTH, wrapped

__all__ = ["inspection_text", "rule_changes"]

# Beyond so many findings each is told in a line.
_MOST_IN_FULL = 30


def inspection_text(
    inspection: Inspection,
    colour: bool = False,
    should_too: bool = False,
    width: int = WIDTH,
    everything: bool = False,
) -> str:
    """Return the whole report, ending in a line that sums it up.

    With `everything`, every rule on every subject is listed, and no text is cut short.
    """
    page = Page(width, colour, everything)
    alone = inspection.builds[0] if len(inspection.builds) == 1 else None
    blocks: list[list[str]] = []
    if alone is not None:
        blocks.append(_head(alone, page))
    elif inspection.builds:
        blocks.append(builds_table(inspection, page))
    blocks += _findings(inspection, page, alone)
    blocks.append([line for each in _cautions(inspection) for line in page.lines(each)])
    if alone is not None:
        blocks.append(gauges(alone, page.width))
        blocks.append(_not_checked(alone, page))
    blocks.append(rule_changes(inspection.changes, width))
    if inspection.past:
        blocks.append([f"{counted(len(inspection.past), 'past build')}, not judged (--past)"])
    blocks.append(
        [line for each in _sum(inspection, should_too) for line in page.lines(each) if line]
    )
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def _head(judged: Judged, page: Page) -> list[str]:
    life = f", {judged.life}" if judged.life != "built" else ""
    first = f"{clean(judged.id)}  {meant_for(judged.car, judged.event)}{life}"
    lines = page.lines(first, 2, "")
    lines[0] = lines[0].replace(clean(judged.id), page.bold(clean(judged.id)), 1)
    return [*lines, clean(judged.file)]


# --- findings ------------------------------------------------------------------------------------


def _findings(inspection: Inspection, page: Page, alone: Judged | None) -> Iterator[list[str]]:
    """Return what is told of findings, in blocks; of many builds only what fails."""
    if page.everything:
        told = inspection.every
    else:
        told = inspection.failing if alone is None else inspection.serious
    found = causes(told, by_end=alone is not None)
    in_short = len(found) > _MOST_IN_FULL
    short: list[str] = []
    advised: set[str] = set()
    for cause in found:
        plain = cause.lead.verdict in ("fails", "borderline") and cause.lead.concession is None
        if plain and (not in_short or page.everything):
            yield in_full(cause, page, alone is None, cause.lead.rule in advised)
            advised.add(cause.lead.rule)
        else:
            short += in_one_line(cause, page, named=alone is None)
            for other in cause.also:
                short += in_one_line(other, page, named=alone is None)
    yield short


def _cautions(inspection: Inspection) -> list[str]:
    fails = (f for f in inspection.drafts if f.verdict == "fails" and f.concession is None)
    return cautions(f.caution for f in fails)


def _not_checked(judged: Judged, page: Page) -> list[str]:
    """Say in a line what was not checked, and for want of what: musts by name."""
    if not judged.counts.not_checked or page.everything:
        return []
    if judged.waits:
        return page.lines("not checked: the rest, until the mistakes in the files are mended.")
    musts: dict[str, dict[str, None]] = {}
    lacks: dict[str, None] = {}
    for finding in judged.unchecked:
        words = dict.fromkeys(_plain(each) for each in finding.missing)
        if finding.level == "must":
            musts.setdefault(listed([*words]), {})[finding.rule] = None
        else:
            lacks.update(words)
    told = [
        f"{', '.join(rules)} (must{'s' if len(rules) > 1 else ''}): missing {words}"
        for words, rules in musts.items()
    ]
    shoulds = judged.counts.not_checked - judged.musts_not_checked
    if shoulds:
        told.append(f"{counted(shoulds, 'should')}: missing {listed([*lacks])}")
    return page.lines(f"not checked: {'; '.join(told)}.", 2, "")


def _plain(missing: str) -> str:
    """Return what is missing, at whichever end."""
    return missing.removesuffix(" at the front").removesuffix(" at the rear")


# --- the sum -------------------------------------------------------------------------------------


def _sum(inspection: Inspection, should_too: bool) -> Iterator[str]:
    """Return the last lines: which builds fail, and the counts."""
    counts = inspection.counts
    standing = [f for f in inspection.drafts if f.concession is None and f.verdict == "fails"]
    musts = [f for f in standing if f.level == "must"]
    tally = f" {_tally(counts, len(musts), len(standing))}" if inspection.builds else ""
    yield f"{counted(counts.builds, 'build')} judged: {_verdict(inspection, musts)}.{tally}"
    if counts.builds > MANY and musts:
        one = next((f.build for f in musts if f.build is not None), None)
        yield f"What would mend a build: buildlint inspect {clean(one)}" if one else ""
    elif counts.builds > 1 and counts.borderline:
        unsure = next(b.id for b in inspection.builds if b.counts.borderline)
        yield f"What makes one borderline: buildlint inspect {clean(unsure)}"
    if should_too and not musts and not inspection.passes(should_too=True):
        also = [counted(len(standing), "should")] if standing else []
        also += [f"{counts.borderline} borderline"] if counts.borderline else []
        verb = "fails" if counts.borderline + len(standing) == 1 else "fail"
        yield f"With --should-too: {' and '.join(also)} {verb} too."


def _verdict(inspection: Inspection, musts: Sequence[Finding]) -> str:
    """Say which builds and which files fail; sound is only what was checked and holds."""
    builds = [clean(b) for b in dict.fromkeys(f.build for f in musts if f.build is not None)]
    said = [f"{listed(builds)} fail{s_of(len(builds))}"] if builds else []
    in_files = list(dict.fromkeys((f.file, f.line) for f in musts if f.build is None))
    if in_files:
        file, line = in_files[0]
        more = f" and {counted(len(in_files) - 1, 'more place')}" if len(in_files) > 1 else ""
        said.append(f"{clean(file)}:{line}{more} must be mended")
    if said:
        return "; ".join(said)
    unchecked = [clean(b.id) for b in inspection.builds if b.musts_not_checked]
    counts = inspection.counts
    if not inspection.builds and not counts.fails:
        return "no mistake found"
    if not (unchecked or counts.fails or counts.borderline or counts.conceded):
        return "sound" if len(inspection.builds) == 1 else "all sound"
    conceded = any(f.level == "must" and f.verdict == "fails" for f in inspection.drafts)
    text = "no must fails" + (", except what is conceded" if conceded else "")
    if unchecked:
        number = sum(b.musts_not_checked for b in inspection.builds)
        where = f" of {_some(unchecked)}" if len(inspection.builds) > 1 else ""
        verb = "was" if number == 1 else "were"
        text += f", but {counted(number, 'must')}{where} {verb} not checked"
    return text


def _some(names: list[str]) -> str:
    return listed(names) if len(names) < 4 else listed([*names[:2], f"{len(names) - 2} more"])


def _tally(counts: Counts, musts: int, fails: int) -> str:
    shoulds = fails - musts
    parts = [f"{counted(musts, 'must')} fail{s_of(musts)}"] if musts else []
    parts += [f"{counted(shoulds, 'should')} fail{s_of(shoulds)}"] if shoulds else []
    parts += [f"{counts.borderline} borderline"] if counts.borderline else []
    parts += [f"{counts.not_checked} not checked"] if counts.not_checked else []
    parts += [f"{counts.conceded} conceded"] if counts.conceded else []
    return ", ".join([*parts, f"{counts.holds} hold"]) + "."


# --- what the team changes -----------------------------------------------------------------------


def rule_changes(changes: Sequence[RuleChange], width: int = WIDTH) -> list[str]:
    """Say how the team's rules differ: whatever touches a must by name, the rest in brief.

    Of several teams, each with its file.
    """
    lines: list[str] = []
    in_short: dict[tuple[str, Path], list[str]] = {}
    several = len({_home(change).parent for change in changes}) > 1
    for change in changes:
        if change.level == "must" and change.kind != "own":
            at = stands_at(change.path, change.line, change.column)
            of_all = change.rule in (PASS_OVER_SETTING, SURE_SETTING)
            name = "" if of_all else f"the must {change.rule}: "
            lines += wrapped(f"{name}{change.what} ({at})", 4, "  ", width)
        else:
            in_short.setdefault((change.kind, _home(change)), []).append(change.rule)
    for (kind, home), rules in in_short.items():
        where = f" ({clean(seen_from_here(home))})" if several else ""
        lines += wrapped(f"{kind}: {', '.join(rules)}{where}", 4, "  ", width)
    whose = "The teams' own settings change" if several else "The team's own settings change"
    return [*wrapped(f"{whose} the rules:", 0, width=width), *lines] if lines else []


def _home(change: RuleChange) -> Path:
    """Return the settings that a change stands in; of rules of the team's own, their folder."""
    return change.path.parents[change.rule.count("/")] if change.kind == "own" else change.path

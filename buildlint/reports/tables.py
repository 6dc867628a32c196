"""Tables for people: the figures of a build, the rules in force, one rule in full."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from buildlint.files.amounts import decimals, float_of, unit_in_words
from buildlint.judging.figures import BuildFigures, FigureLine
from buildlint.judging.rule import Rule, asked
from buildlint.judging.rulebook import Rulebook
from buildlint.judging.rules_in_force import RuleChange
from buildlint.judging.values import COVERAGE
from buildlint.text.words import clean, listed, meant_for, stands_at
from buildlint.text.wrapping import wrapped

__all__ = ["figures_text", "rule_text", "rulebook_text", "spread_text"]


def figures_text(found: BuildFigures) -> str:
    """Return every figure of a build, by subject, with its uncertainty."""
    lines = [f"{clean(found.build)}  {meant_for(found.car, found.event)}"]
    for subject in sorted({line.subject for line in found.figures}):
        lines += ["", f"  {subject.replace('.', ' '):<30}{'as read':>12}  uncertainty"]
        here = [line for line in found.figures if line.subject == subject]
        for line in here:
            if not line.missing:
                lines.append(f"    {_figure(line)}")
                if line.readings:
                    most = line.readings[0]
                    share = f"{most.share:.0%}".replace("%", " %")
                    given = "" if most.given else ", which was not given"
                    text = f"{line.verdict}: mainly from {clean(most.reading)} ({share}){given}"
                    lines += wrapped(text, 26)
        lines += _missing(here)
    if any(line.estimated for line in found.figures):
        lines += ["", "~ rests on an estimate: the oil at filling, or the bladder's room, as no"]
        lines += ["  measured volume is given."]
    lines += ["", *wrapped(_LEGEND, 0)]
    return "\n".join(lines) + "\n"


_LEGEND = (
    "Uncertainty: expanded, k = 2, about 95 %, of the tolerances of all readings together "
    "(JCGM 100:2008)."
)


def _figure(line: FigureLine) -> str:
    name = f"{line.measure:<20}{line.condition or '':<6}"
    if isinstance(line.value, str) or line.value is None:
        return f"{name}{clean(line.value or '-'):>14}"
    unit = line.unit or "1"
    more = 0
    # as many digits as show that there is an uncertainty at all
    while more < 4 and spread_text(line, unit, more) == "" and line.uncertainty_up:
        more += 1
    value = decimals(line.value, unit, more)
    shown = f"{name}{value:>9} {unit_in_words(line.unit or '', value):<6}"
    text = f"{shown}{'~' if line.estimated else ' '} {spread_text(line, unit, more)}"
    return text.rstrip()


def spread_text(line: FigureLine, unit: str, more: int = 0) -> str:
    """Return the expanded uncertainty each way; one figure where both are the same."""
    if line.uncertainty_up is None or line.uncertainty_down is None:
        return "without end" if isinstance(line.value, float) else ""
    up, down = (
        decimals(COVERAGE * each, unit, more)
        for each in (line.uncertainty_up, line.uncertainty_down)
    )
    if float_of(up) == float_of(down) == 0.0:
        return ""
    return f"± {up}" if up == down else f"+ {up} - {down}"


def _missing(lines: list[FigureLine]) -> Iterator[str]:
    names: dict[str, dict[str, None]] = {}
    for line in lines:
        if line.missing:
            names.setdefault(listed(line.missing), {})[line.measure] = None
    for missing, measures in names.items():
        text = f"not known, needs {missing}: {', '.join(measures)}"
        yield from wrapped(text, 6, first="    ")


def rulebook_text(book: Rulebook, changes: Sequence[RuleChange] = ()) -> str:
    """Return every rule in two or three lines: what is asked, and where the limit comes from.

    Then what the team's own settings change of the rules that come with buildlint.
    """
    lines: list[str] = []
    group = ""
    for rule in book:
        if rule.id.split("/")[0] != group:
            group = rule.id.split("/")[0]
            lines += ["", f"{group}/"] if lines else [f"{group}/"]
        lines += wrapped(f"{rule.id}  {rule.level}: {rule.title}", 6, first="  ")
        ask = asked(rule)
        lines += wrapped(f"{ask}; {rule.source}" if ask else rule.source, 6)
    must = sum(rule.level == "must" for rule in book)
    if changes:
        lines += ["", "The team's own settings:"]
        for change in changes:
            lines += wrapped(f"{change.rule}  {change.kind} ({change.level})", 6, first="  ")
            if change.kind != "left out":
                lines += wrapped(change.what, 6)
    lines += ["", f"{len(book)} rules: {must} musts, {len(book) - must} shoulds."]
    return "\n".join(lines) + "\n"


def rule_text(rule: Rule, changes: Sequence[RuleChange] = ()) -> str:
    """Return one rule in full, and what the team's own settings change of it."""
    lines = [rule.id, *wrapped(f"{rule.title} ({rule.level})", 0), ""]
    ask = asked(rule)
    if ask:
        lines += wrapped(f"Asked: {ask}", 7, first="")
    if rule.only.words:
        only = ", ".join(f"{key} {clean(word)}" for key, word in rule.only.words.items())
        lines += wrapped(f"Only:  {only}", 7, first="")
    lines += wrapped(f"From:  {rule.source}", 7, first="")
    if rule.costs:
        lines += wrapped(f"Costs: {rule.costs}", 7, first="")
    for change in changes:
        what = "a rule of the team's own" if change.kind == "own" else change.what
        at = stands_at(change.path, change.line, change.column)
        lines += wrapped(f"Team:  {what} ({at})", 7, first="")
    lines.append("")
    lines += [*wrapped(f"Why:   {rule.why}", 7, first=""), ""]
    lines += wrapped(f"Fix:   {rule.cure}", 7, first="")
    if rule.turn:
        lines += wrapped(f"Adjusted to mend it: {', '.join(rule.turn)}", 7)
    if rule.caution:
        lines += ["", *wrapped(f"Caution: {rule.caution}", 7, first="")]
    return "\n".join(lines) + "\n"

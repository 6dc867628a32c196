"""A comparison as people read it: what a driver feels, what was written otherwise, the figures."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby
from math import isfinite

from buildlint.files.amounts import decimals, unit_in_words
from buildlint.judging.compare import Compared, Comparison, FigureChange, VerdictChange
from buildlint.judging.figures import FigureLine
from buildlint.judging.reading_changes import Change
from buildlint.judging.subjects import corners_of
from buildlint.measures import MEASURES
from buildlint.reports.advice import cautions
from buildlint.reports.text import rule_changes
from buildlint.text.words import clean, counted
from buildlint.text.wrapping import WIDTH, wrapped

__all__ = ["comparison_text"]

# A text of a user's is cut here: a note may be as long as a page.
_LONGEST_TEXT = 60

# Digits beyond the usual, for two figures that the usual ones do not tell apart.
_MOST_MORE = 4

_WITHIN = "within tolerance"


def comparison_text(found: Comparison) -> str:
    """Return what changed between two builds: what a driver feels, readings, rules, figures.

    Figures that are readings themselves, told among the readings, are not told again; those within
    tolerance are only counted.
    """
    lines = [*_build("old", found.old), *_build("new", found.new), ""]
    if found.changed:
        lines += [*(folded for line in found.driver for folded in wrapped(line, 2, first="")), ""]
    told = {(c.key, corner) for c in found.changes for corner in corners_of(c.subject)}
    figures = [f for f in found.figures if not _told(f, told)]
    beyond = [f for f in figures if not f.within_tolerance and _in_both(f)]
    in_one = [f for f in figures if not _in_both(f)]
    if found.changes:
        lines += ["Readings", *_changes(found.changes), ""]
    verdicts = [v for v in found.verdicts if not _only_sound(v)]
    if verdicts:
        lines += ["Rules", *_verdicts(verdicts), ""]
    if beyond:
        lines += ["Figures, changed beyond tolerance", *_figures(beyond), ""]
    if in_one:
        names = ", ".join(dict.fromkeys(f.measure for f in in_one))
        lines += [*wrapped(f"Figures, known in one of them only: {names}", 2, first=""), ""]
    for caution in cautions(v.caution for v in found.verdicts):
        lines += [*wrapped(caution, 0), ""]
    if found.figures:
        lines += [*wrapped(_LEGEND, 0), ""]
    lines += rule_changes(found.rules_changed)
    lines += wrapped(_sum(found), 0)
    return "\n".join(lines) + "\n"


_LEGEND = (
    "Within tolerance: no more than the expanded uncertainty (k = 2) of the difference; what both "
    "builds share, such as the same piece or the same bottle of oil, cancels in it. Both builds "
    "are judged by the rules and settings as they are now."
)


def _build(which: str, side: Compared) -> Iterator[str]:
    named = f"{which}  {clean(side.build)}  {clean(side.file)}"
    if side.revision is not None and side.commit is not None:
        named += f", as it was in {_cut(side.revision)} ({side.commit[:10]})"
    return _folded(named, 5)


def _told(figure: FigureChange, told: set[tuple[str, str]]) -> bool:
    corners = corners_of(figure.subject)
    return all((figure.measure, corner) in told for corner in corners)


def _in_both(figure: FigureChange) -> bool:
    return all(line is not None and not line.missing for line in (figure.old, figure.new))


def _sum(found: Comparison) -> str:
    mistakes = len(found.mistakes)
    waits = (
        f" {counted(mistakes, 'mistake')} in the files may keep some from being worked out."
        if mistakes
        else ""
    )
    known = f"{counted(found.same, 'figure')} {'is' if found.same == 1 else 'are'} the same"
    unknown = f", {found.not_known} not known in either" if found.not_known else ""
    if not found.changed:
        return f"Nothing changed: {known}{unknown}.{waits}"
    within = sum(c.within_tolerance for c in found.changes)
    here = f", {within} of them {_WITHIN}" if within else ""
    near = sum(f.within_tolerance for f in found.figures)
    in_one = sum(not _in_both(f) for f in found.figures)
    far = len(found.figures) - near - in_one
    half = f", {in_one} known in one of them only" if in_one else ""
    return (
        f"{counted(len(found.changes), 'reading')} changed{here}. {counted(far, 'figure')} changed "
        f"beyond tolerance, {near} within; {known}{half}{unknown}.{waits}"
    )


# --- readings ------------------------------------------------------------------------------------


def _changes(changes: Iterable[Change]) -> Iterator[str]:
    for change in changes:
        mark = f", {_WITHIN}" if change.within_tolerance else ""
        old, new = (_cut(t) if t is not None else "not given" for t in (change.old, change.new))
        text = f"{old} -> {new}{_per_cent(change.ratio)}{mark}"
        where = clean(change.where)
        if len(where) < 30 and len(text) <= WIDTH - 32:
            yield f"  {where:<30}{text}"
        else:
            yield from _folded(f"  {where}", 4)
            yield from _folded(f"    {text}", 4)


def _per_cent(ratio: float | None) -> str:
    """Return a change in per cent, with a digit behind the point where it is small.

    >>> _per_cent(0.25), _per_cent(-0.016), _per_cent(None)
    (' (+25 %)', ' (-1.6 %)', '')
    """
    if ratio is None:
        return ""
    return f" ({100.0 * ratio:+.{0 if abs(ratio) >= 0.1 else 1}f} %)"


def _cut(text: str) -> str:
    text = clean(text)
    return text if len(text) <= _LONGEST_TEXT else f"{text[: _LONGEST_TEXT - 1]}…"


def _folded(text: str, indent: int) -> Iterator[str]:
    """Wrap a text, and cut what has no blank to wrap at."""
    start = len(text) - len(text.lstrip())
    for line in wrapped(text.strip(), indent, first=" " * start):
        yield line if len(line) <= WIDTH else f"{line[: WIDTH - 1]}…"


# --- rules ---------------------------------------------------------------------------------------


def _only_sound(change: VerdictChange) -> bool:
    """Return whether all that there is to say is that a rule holds that did not apply before."""
    return {change.old, change.new} <= {"holds", "not checked", None} and change.new == "holds"


def _verdicts(changes: Iterable[VerdictChange]) -> Iterator[str]:
    for change in changes:
        old, new = (verdict or "does not apply" for verdict in (change.old, change.new))
        head = f"{clean(change.rule)}  {change.level}, {_subject(change.subject)}:"
        text = f"{head} {old} -> {new.upper() if new == 'fails' else new}"
        yield from wrapped(text, 4, first="  ")


def _subject(subject: str) -> str:
    return subject.replace(".", " ")


# --- figures -------------------------------------------------------------------------------------


def _figures(figures: Sequence[FigureChange]) -> Iterator[str]:
    for name, group in groupby(figures, key=lambda figure: figure.measure):
        yield from wrapped(f"{name}  {MEASURES[name].means}", 4, first="  ")
        for figure in group:
            about = f"    {_subject(figure.subject):<12}{figure.condition or '':<6}"
            text = _row(figure)
            if len(about) + len(text) <= WIDTH:
                yield f"{about}{text}"
            else:
                yield from wrapped(text, len(about), first=about)


def _row(figure: FigureChange) -> str:
    """Return one figure then and now, by how much it differs, and what the rules say where new."""
    old, new, unit = figure.old, figure.new, figure.unit or "1"
    more = 0
    while more < _MOST_MORE and _side(old, unit, more) == _side(new, unit, more):
        more += 1
    text = f"{_side(old, unit, more)} -> {_side(new, unit, more)}"
    if figure.difference is not None:
        by = decimals(figure.difference, unit, more)
        sign = "" if by.startswith("-") else "+"
        text += f" {unit_in_words(unit)}, {sign}{by}{' points' if unit == '1' else ''}"
        text += _per_cent(figure.ratio)
    if figure.verdict_changed:
        verdicts = (line.verdict if line is not None else None for line in (old, new))
        text += ", " + " -> ".join(verdict or "does not apply" for verdict in verdicts)
    return text


def _side(line: FigureLine | None, unit: str, more: int) -> str:
    value = line.value if line is not None else None
    if line is None or not isinstance(value, float):
        return clean(value if isinstance(value, str) else "-")
    return f"{'~' if line.estimated else ''}{_number(value, unit, more)}"


def _number(value: float | None, unit: str, more: int) -> str:
    text = decimals(value, unit, more)
    # no figure is a negative nothing
    return text.lstrip("-") if value is not None and isfinite(value) and not float(text) else text

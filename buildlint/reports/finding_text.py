"""One finding as text: fault, amount and place, then the fix, in at most six lines."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from buildlint.judging.finding import Finding
from buildlint.reports.advice import sentences, what_decides
from buildlint.reports.causes import Cause
from buildlint.text.words import clean
from buildlint.text.wrapping import WIDTH, wrapped

__all__ = ["MOST_LINES", "Page", "in_full", "in_one_line"]

#: The most lines of a finding, on a page of the usual width.
MOST_LINES = 6

_BOLD, _RED, _OFF = "\x1b[1m", "\x1b[31m", "\x1b[0m"

# Where there is room, what is told stands in this column, behind its mark.
_TOLD_AT = 14
_ROOMY = 60


@dataclass(frozen=True)
class Page:
    """How wide a report is, and whether it has colour; `everything` has each text in full."""

    width: int = WIDTH
    colour: bool = False
    everything: bool = False

    @property
    def indent(self) -> int:
        """The column of what is told of a finding."""
        return _TOLD_AT if self.width >= _ROOMY else 2

    def bold(self, text: str) -> str:
        """Return a text as it stands out."""
        return f"{_BOLD}{text}{_OFF}" if self.colour else text

    def lines(self, text: str, indent: int = 0, first: str | None = None) -> list[str]:
        """Return a text in lines of this width."""
        return wrapped(text, indent, first, self.width)

    def marked(self, mark: str, text: str) -> list[str]:
        """Return a text behind the mark of a finding; that of a must that fails is in colour."""
        before = f"{mark:<{_TOLD_AT}}" if self.width >= _ROOMY else f"{mark}: "
        lines = self.lines(text, self.indent, before)
        if self.colour and mark == "must fails":
            lines[0] = f"{_BOLD}{_RED}{mark}{_OFF}{lines[0][len(mark) :]}"
        return lines


def in_full(cause: Cause, page: Page, named: bool, again: bool = False) -> list[str]:
    """Return a finding with its place, its rule and its fix.

    Told `again`, the advice of its rule stands above already.
    """
    where = cause.where(named)
    told = page.marked(cause.mark, f"{where}: {_small(cause.lead.told)}" if where else _told(cause))
    if page.everything:
        for other in cause.also:
            told += page.lines(f"also: {_small(other.lead.told)} ({other.lead.rule})", page.indent)
    place = list(_place(cause, page, with_text=True))
    if page.everything:
        return told + place + _fix(cause.lead, page, None)
    fix = _fix(cause.lead, page, MOST_LINES - len(told) - len(place), again)
    if len(told) + len(place) + len(fix) > MOST_LINES:
        # what stands in the file can be seen there
        place = list(_place(cause, page, with_text=False))
        fix = _fix(cause.lead, page, MOST_LINES - len(told) - len(place), again)
    return told + place + fix


def in_one_line(cause: Cause, page: Page, named: bool) -> list[str]:
    """Return a finding at its shortest."""
    lead = cause.lead
    where = cause.where(named)
    said = lead.message if lead.verdict == "not checked" else _small(lead.told)
    told = f"{where}: {said}" if where else clean(lead.message)
    behind = [lead.rule, cause.places[0]] if lead.subject else [lead.rule]
    lines = page.marked(cause.mark, f"{told} ({', '.join(behind)})")
    if not lead.subject:
        lines = page.marked(cause.mark, f"{cause.first_place}: {told} ({lead.rule})")
    if lead.concession is not None:
        reason = f"until {lead.concession.until}: {clean(lead.concession.reason)}"
        lines += page.lines(reason, page.indent)
    return lines


def _told(cause: Cause) -> str:
    return f"{cause.first_place}: {clean(cause.lead.message)}"


def _small(text: str) -> str:
    """Return a sentence as it goes on after a colon."""
    return text[:1].lower() + text[1:] if text[1:2].islower() or text[1:2] == " " else text


def _place(cause: Cause, page: Page, with_text: bool) -> Iterator[str]:
    """Return where it is, what stands there (if asked) and the rule: on one line where they fit."""
    lead = cause.lead
    pieces = list(cause.places) if lead.subject else []
    if len(pieces) > 1:
        pieces = [f"{pieces[0]} and {len(pieces) - 1} more"]
    also = dict.fromkeys(other.lead.rule for other in cause.also)
    rule = f"rule {lead.rule}{''.join(f', also {each}' for each in also)}"
    text = clean(lead.source_line) if with_text else ""
    room = page.width - page.indent
    if len(text) > room:
        text = f"{text[: room - 1]}…"
    for more in filter(None, (text, rule)):
        if pieces and len(pieces[-1]) + 3 + len(more) <= room:
            pieces[-1] += f"   {more}"
        else:
            pieces.append(more)
    for piece in pieces:
        if piece == rule:
            yield from page.lines(rule, page.indent)
        else:
            yield f"{' ' * page.indent}{piece}"


def _fix(finding: Finding, page: Page, room: int | None, again: bool = False) -> list[str]:
    """Return what would mend it in so many lines: figures first, else what to do.

    A rule's advice is not told `again`.
    """
    pieces = [what_decides(finding)] if finding.verdict == "borderline" else []
    words = ("fix:", "or:")
    figures = [f.text.removeprefix("Holds ").removeprefix("with ") for f in finding.cure_figures]
    pieces += [f"{words[min(n, 1)]} {text}" for n, text in enumerate(figures)]
    if not figures:
        pieces += [finding.no_figure] if finding.no_figure else []
    if page.everything and finding.cure:
        pieces.append(finding.cure)
    lines: list[str] = []
    for piece in filter(None, pieces):
        more = page.lines(piece, page.indent)
        if room is not None and lines and len(lines) + len(more) > room:
            break
        lines += more
    if not (figures or page.everything or again) and finding.cure:
        lines += _advice(finding.cure, page, None if room is None else room - len(lines))
    return lines


def _advice(cure: str, page: Page, room: int | None) -> list[str]:
    """Return as many sentences of a rule's advice as fit in so many lines, at least one in any."""
    told: list[str] = []
    text = "fix:"
    for sentence in sentences(cure):
        text = f"{text} {sentence}"
        lines = page.lines(text, page.indent)
        if room is not None and len(lines) > room and told:
            break
        told = lines
    return told

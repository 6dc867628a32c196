"""Many builds as a table: how each came out, alike ones folded."""

from __future__ import annotations

from typing import NamedTuple

from buildlint.judging.finding import gravity
from buildlint.judging.inspection import Inspection, Judged
from buildlint.reports.finding_text import Page
from buildlint.text.words import clean, counted, s_of

__all__ = ["builds_table"]

# The narrowest page that has room for columns, and the least room for the last of them.
_COLUMNS = 76
_REMARK = 14

_FIRST, *_HEADS, _LAST = "what fails", "musts", "shoulds", "borderline", "not checked", "costs"


class _Row(NamedTuple):
    """How builds came out alike."""

    musts: int
    shoulds: int
    borderline: int
    unchecked_musts: int
    unchecked: bool
    conceded: int
    waits: bool
    costs: tuple[str, ...]

    @property
    def cells(self) -> tuple[str, ...]:
        unchecked = "shoulds" if self.unchecked else "-"
        if self.unchecked_musts:
            unchecked = counted(self.unchecked_musts, "must")
        return (*(str(n or "-") for n in self[:3]), unchecked)

    @property
    def in_words(self) -> str:
        """The row as a sentence, for a narrow page."""
        parts = [f"{counted(self.musts, 'must')} fail{s_of(self.musts)}"] if self.musts else []
        parts += (
            [f"{counted(self.shoulds, 'should')} fail{s_of(self.shoulds)}"] if self.shoulds else []
        )
        parts += [f"{self.borderline} borderline"] if self.borderline else []
        if self.unchecked_musts:
            parts.append(f"{counted(self.unchecked_musts, 'must')} not checked")
        parts += [self.remark] if self.remark else []
        return ", ".join(parts) or "sound"

    @property
    def remark(self) -> str:
        """What it costs, what is conceded, and whether there is a mistake in its files."""
        more = [f"{self.conceded} conceded"] if self.conceded else []
        more += ["file mistakes"] if self.waits else []
        return ", ".join([*self.costs, *more])


def builds_table(inspection: Inspection, page: Page) -> list[str]:
    """Return a line for each build, what fails first; alike ones share one, but of `everything`."""
    rows: dict[tuple[_Row, str], list[str]] = {}
    for judged in inspection.builds:
        row = _row(judged, inspection)
        apart = judged.file if page.everything else ""
        life = f" ({judged.life})" if judged.life != "built" else ""
        rows.setdefault((row, apart), []).append(f"{clean(judged.id)}{life}")
    ordered = sorted(rows.items(), key=lambda each: tuple(-n for n in each[0][0][:4]))
    narrow = page.width < _COLUMNS
    most = page.width if narrow else page.width - _line_width(0) - 2 - _REMARK
    named = [(_names(names, most), row) for (row, _), names in ordered]
    if narrow:
        return [
            line for name, row in named for line in page.lines(f"{name}: {row.in_words}", 2, "")
        ]
    width = max(len(_FIRST), *(len(name) for name, _ in named if len(name) <= most), 0)
    lines = [_line(_FIRST, tuple(_HEADS), _LAST, width)]
    for name, row in named:
        if len(name) > width:
            lines.append(name)
            name = ""
        before = _line(name, row.cells, "", width)
        room = f"{before:<{_line_width(width)}}  "
        lines += page.lines(row.remark, len(room), room) if row.remark else [before.rstrip()]
    return [page.bold(lines[0]), *lines[1:]]


def _line(name: str, cells: tuple[str, ...], remark: str, width: int) -> str:
    found = [f"{name:<{width}}", *(f"{c:>{len(h)}}" for c, h in zip(cells, _HEADS, strict=True))]
    return "  ".join([*found, remark]).rstrip() if remark else "  ".join(found)


def _line_width(width: int) -> int:
    return width + sum(len(head) + 2 for head in _HEADS)


def _row(judged: Judged, inspection: Inspection) -> _Row:
    standing = [f for f in judged.drafts if f.concession is None]
    fails = sorted((f for f in standing if f.verdict == "fails"), key=gravity)
    musts = sum(f.level == "must" for f in fails)
    # beside a must that fails, what the shoulds cost is no news
    rules = (inspection.rules.get(f.rule) for f in (fails[:musts] or fails))
    costs = dict.fromkeys(rule.costs for rule in rules if rule is not None)
    counts = judged.counts
    return _Row(
        musts,
        len(fails) - musts,
        counts.borderline,
        judged.musts_not_checked,
        counts.not_checked > 0,
        counts.conceded,
        judged.waits,
        tuple(filter(None, costs)),
    )


def _names(names: list[str], most: int) -> str:
    every = ", ".join(names)
    if len(names) == 1 or len(every) <= most:
        return every
    return f"{names[0]} and {len(names) - 1} alike"

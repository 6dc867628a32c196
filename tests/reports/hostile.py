"""Inspections with any text in them, for tests of reports that other programs read."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Any

from hypothesis import strategies as st

from buildlint.files.concession import Concession
from buildlint.judging.finding import Counts, Cure, CureFigure, Finding, ReadingShare
from buildlint.judging.inspection import Inspection, Judged
from buildlint.judging.rule import Rule
from buildlint.judging.rules_in_force import RuleChange

__all__ = ["NASTY", "inspections"]

#: What has broken reports of others: ends of markup, escapes, bidirectional marks, no characters.
NASTY = (
    "]]>",
    "<script>alert(1)</script>",
    "\x1b[31m",
    "\x00",
    "\"'&amp;",
    "\udcff",
    "\ud800",
    "\ufffe\uffff",
    "\u202e",
    "[go](http://example.org)",
    "{0}",
    "a\r\nb\tc",
    "<!--",
    "../%41 b?c#d",
    "\\",
    "C:",
)
_any = st.characters(exclude_categories=())
# most of all that is nasty, some of it in between any text
texts = st.lists(
    st.one_of(st.sampled_from(NASTY), st.text(_any, max_size=4)), min_size=1, max_size=4
).map(lambda parts: "".join(parts) or "x")


def _path(text: str) -> str:
    """Give the text as a system gives a file's name: what is no UTF-8 in it as lone surrogates."""
    name = text.replace("\x00", "").strip("/").encode("utf-8", "surrogatepass")
    return name.decode("utf-8", "surrogateescape") or "x"


_paths = texts.map(_path)
_levels = st.sampled_from(["must", "should"])


@st.composite
def _findings(draw: Any, rules: list[str], build: str | None) -> Finding:
    figure = CureFigure("hold_back", 1.0, None, "mm", draw(texts), "front")
    leave = Concession.model_construct(
        rule="a/b", reason=draw(texts), until=datetime.date(2027, 6, 30)
    )
    conceded = build is not None and draw(st.booleans())
    verdicts = ["fails", "borderline", "not checked"][: 2 if conceded else 3 if build else 1]
    line, column = draw(st.integers(1, 9)), draw(st.integers(1, 9))
    return Finding(
        rule=draw(st.sampled_from(rules)),
        title=draw(texts),
        level=draw(_levels),
        verdict=draw(st.sampled_from(verdicts)),  # type: ignore[arg-type]
        message=draw(texts),
        file=draw(_paths),
        line=line,
        column=column,
        end_column=column + draw(st.integers(0, 3)),
        build=build,
        subject=draw(texts) if build is not None else "",
        condition=draw(st.none() | texts),
        cure=draw(texts),
        caution=draw(texts),
        source_line=draw(texts),
        readings=(ReadingShare(draw(texts), 0.5, draw(st.booleans())),),
        solve=draw(st.sampled_from([None, lambda: Cure((figure,), figure.text)])),
        concession=leave if conceded else None,
    )


@st.composite
def inspections(draw: Any) -> Inspection:
    """Any inspection whatever is written in the files, with its counts as they should be."""
    rules = {}
    for ident in draw(st.lists(texts, min_size=1, max_size=3, unique=True)):
        words = {key: draw(texts) for key in ("title", "source", "why", "cure", "caution")}
        rules[ident] = Rule.model_construct(id=ident, level=draw(_levels), path=Path("x"), **words)
    ids = [*rules, "no such rule"]
    inspection = Inspection(rules=rules)
    inspection.in_files = draw(st.lists(_findings(ids, None), max_size=3))
    for _ in range(draw(st.integers(0, 2))):
        name = draw(texts)
        found = draw(st.lists(_findings(ids, name), max_size=3))
        held = draw(st.lists(st.tuples(st.sampled_from(ids), texts), max_size=2))
        counts = Counts(builds=1, holds=len(held))
        for finding in found:
            counts.add("conceded" if finding.concession else finding.verdict)
        judged = Judged(
            name, Path("x"), draw(_paths), None, None, "built", found, counts, held=held
        )
        inspection.builds.append(judged)
    kinds = st.sampled_from(["left out", "changed", "own"])
    for ident in draw(st.lists(st.sampled_from(ids), max_size=3, unique=True)):
        path = Path(draw(_paths))
        inspection.changes.append(
            RuleChange(ident, draw(kinds), draw(_levels), draw(texts), path, 3, 2)
        )
    return inspection

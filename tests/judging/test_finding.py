"""A finding: which is told first, and what two of them share."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

from buildlint.files.concession import Concession
from buildlint.judging.finding import BADNESS, Counts, Finding, Sides, gravity

FINDING = Finding("pair/length", "Both are as long", "must", "fails", "2 mm apart", "b.build.toml")


def test_each_verdict_is_worse_than_the_one_before() -> None:
    order = sorted(BADNESS, key=BADNESS.__getitem__)
    assert order == ["holds", "not checked", "borderline", "fails"]
    assert len(set(BADNESS.values())) == 4


def test_what_fails_is_told_first_and_of_each_verdict_musts_before_shoulds() -> None:
    conceded = Concession.model_construct()
    order = [
        replace(FINDING, verdict=verdict, level=level, concession=concession)
        for verdict, concession in (
            ("fails", None),
            ("borderline", None),
            ("fails", conceded),
            ("not checked", None),
            ("holds", None),
        )
        for level in ("must", "should")
    ]
    assert all(gravity(one) < gravity(other) for one, other in pairwise(order))


def test_equal_findings_are_one_in_a_set_whatever_they_hold() -> None:
    limit: dict[str, float | str | list[float] | list[str]] = {"at_most": 1.0}
    found = replace(FINDING, limit=limit, sides=Sides(1.0, 3.0, "mm"), path=Path("b.build.toml"))
    assert len({found, replace(found, limit=dict(limit))}) == 1
    assert len({found, replace(found, limit={"at_most": 2.0})}) == 2


def test_the_title_is_told_once() -> None:
    whole = replace(FINDING, subject="front")
    assert whole.told == "Both are as long: 2 mm apart"
    assert replace(whole, message=whole.title).told == "Both are as long"
    # of a mistake in a file, what the mistake is
    assert FINDING.told == "2 mm apart"


def test_a_finding_without_a_place_stands_at_the_head_of_its_file() -> None:
    assert (FINDING.line, FINDING.column, FINDING.end_column) == (1, 1, 1)


def test_a_verdict_counts_once() -> None:
    counts = Counts()
    for verdict in ("fails", "not checked", "not checked", "conceded"):
        counts.add(verdict)
    assert counts == Counts(fails=1, not_checked=2, conceded=1)


def test_counts_start_at_nothing_and_add_up() -> None:
    counts = Counts()
    assert counts == Counts(builds=0, holds=0, borderline=0, fails=0, not_checked=0, conceded=0)
    one = Counts(builds=1, holds=2, borderline=3, fails=4, not_checked=5, conceded=6)
    counts.take(one)
    counts.take(one)
    assert counts == Counts(builds=2, holds=4, borderline=6, fails=8, not_checked=10, conceded=12)


def test_each_verdict_is_worse_than_the_one_before_and_what_holds_is_not_bad_at_all() -> None:
    verdicts = ["holds", "not checked", "borderline", "fails"]
    assert (sorted(BADNESS, key=BADNESS.__getitem__), BADNESS["holds"]) == (verdicts, 0)

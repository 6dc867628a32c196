"""Tables for people: the figures of a build, the rules in force, one rule in full."""

from __future__ import annotations

from typing import Any

import pytest

from buildlint.judging.figures import figures
from buildlint.judging.rulebook import load_rulebook
from buildlint.measures import MEASURES
from buildlint.reports.tables import figures_text, rule_text, rulebook_text
from tests.making import build_path, repository

BOOK = load_rulebook()


def table(folder: Any, **changes: Any) -> str:
    return figures_text(figures(build_path(repository(folder, **changes))))


def rows(text: str, measure: str) -> list[list[str]]:
    return [row.split() for row in text.splitlines() if row.split()[:1] == [measure]]


def test_a_row_has_figure_unit_and_uncertainty(tmp_path):
    """6.4 ± 0.3 mm: U = 2 * 0.3/sqrt(3) = 0.346 (JCGM 100:2008, 6.2), shown as 0.3."""
    row = rows(table(tmp_path), "hold_back")[0]
    assert row == ["hold_back", "6.4", "mm", "±", "0.3"]


def test_shares_are_shown_in_per_cent(tmp_path):
    """6.4/30 = 21.3 %."""
    row = rows(table(tmp_path), "hold_back_share")[0]
    assert row[1:3] == ["21.3", "%"]


def test_an_exact_figure_has_no_tolerance(tmp_path):
    """12 June less 5 June."""
    assert rows(table(tmp_path), "days_before_event")[0] == ["days_before_event", "7", "days"]


def test_ids_are_in_the_table(tmp_path):
    assert ["oil", "o450"] in rows(table(tmp_path), "oil")


def test_every_measure_that_the_build_has_is_in_the_table(tmp_path):
    text = table(tmp_path)
    found = figures(build_path(tmp_path)).figures
    for measure in {line.measure for line in found if not line.missing}:
        assert rows(text, measure), measure
    assert {line.measure for line in found} <= set(MEASURES)


def test_what_cannot_be_worked_out_is_listed_by_what_is_missing(tmp_path):
    text = table(tmp_path, parts={"bladder.deep.into_cap": None})
    flat = " ".join(text.split())
    assert "not known, needs into_cap of bladder deep: largest_hold_back" in flat
    assert not rows(text, "into_cap_use")


def test_an_estimate_is_marked_and_explained(tmp_path):
    text = table(tmp_path, parts={"body.long.oil": None})
    assert "~" in " ".join(rows(text, "oil_volume")[0])
    assert "rests on an estimate" in text
    assert "~" not in table(tmp_path / "b")


def test_a_figure_without_end_is_said_in_words(tmp_path):
    text = table(tmp_path, parts={"bladder.deep.into_cap": "0 mm^3 ± 1 mm^3"})
    assert "no end" in text
    assert "inf" not in text.split() and "nan" not in text.split()


@pytest.mark.parametrize(
    "changes", [{}, {"parts": {"body.long.oil": None}}, {"parts": {"bladder.deep.into_cap": None}}]
)
def test_no_line_of_figures_is_wider_than_80_columns(tmp_path, changes):
    for line in table(tmp_path, **changes).splitlines():
        assert len(line) <= 80, line
        assert line == line.rstrip()


def test_a_builds_names_cannot_steer_a_terminal(tmp_path):
    text = table(tmp_path, build={"event": "a\x7fb", "front.piston": "p\x9b31m"})
    assert all(c.isprintable() or c == "\n" for c in text)


def test_the_rulebook_lists_every_rule_with_its_level_limit_and_source():
    flat = " ".join(rulebook_text(BOOK).split())
    for rule in BOOK:
        assert f"{rule.id} {rule.level}: {rule.title}" in flat
        assert rule.source in flat
    assert "into_body_use at most 100 %" in flat
    assert "hold_back by body_length, up to 45 mm: at most 3 mm" in flat
    must = sum(rule.level == "must" for rule in BOOK)
    assert f"{len(BOOK)} rules: {must} musts, {len(BOOK) - must} shoulds." in flat


def test_no_line_of_the_rulebook_is_wider_than_80_columns():
    assert all(len(line) <= 80 for line in rulebook_text(BOOK).splitlines())


@pytest.mark.parametrize("rule", list(BOOK), ids=lambda rule: rule.id)
def test_a_rule_in_full_has_all_its_texts(rule):
    text = rule_text(rule)
    flat = " ".join(text.split())
    for part in (rule.title, rule.source, rule.why, rule.cure, rule.caution, *rule.turn):
        assert part in flat
    assert text.splitlines()[0] == rule.id
    assert all(len(line) <= 80 for line in text.splitlines())
    assert ("Caution:" in text) == bool(rule.caution)

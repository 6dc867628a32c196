"""Lines of a report: how long, and what stays together."""

from __future__ import annotations

from buildlint.text.wrapping import wrapped


def test_a_figure_stays_on_one_line_with_its_unit():
    text = "the hold-back of this damper is very much too long for its body at 12345.6 mm exactly"
    lines = wrapped(text, 0)
    assert len(lines) == 2
    assert "12345.6 mm" in lines[0] or "12345.6 mm" in lines[1]


def test_wrapping_loses_no_word():
    text = " ".join(f"word{n}" for n in range(100))
    lines = wrapped(text, 6, first="  ")
    assert " ".join(" ".join(lines).split()) == text
    assert lines[0].startswith("  word0") and all(line.startswith("      ") for line in lines[1:])


def test_a_figure_stays_with_its_unit_wherever_a_line_would_end():
    """At every length of the words before it, the two are on one line."""
    for unit in ("mm", "h", "%", "N/mm", "mm^3", "cSt"):
        for before in range(50, 90):
            text = f"{'x' * (before - 10)} at most 104.2 {unit}: too much, by far, of it"
            assert any(f"104.2 {unit}" in line for line in wrapped(text, 0)), (unit, before)

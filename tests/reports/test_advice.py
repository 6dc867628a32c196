"""What a finding asks to be done, as sentences."""

from __future__ import annotations

import datetime

from buildlint.concession import Concession
from buildlint.finding import Cure, CureFigure, Finding
from buildlint.reports.advice import about, advice, sentence

FIGURE = CureFigure("hold_back", 6.9, 8.1, "mm", "hold back 6.9 mm or more", "front")


def finding(**more: object) -> Finding:
    fields = {"level": "must", "verdict": "fails", "message": "m", "file": "f", "cure": "turn it"}
    return Finding("a/b", "title", **{**fields, **more})  # type: ignore[arg-type]


def test_the_caution_comes_before_what_is_to_be_done():
    found = finding(caution="mind the\neyes.", solve=lambda: Cure((FIGURE,)))
    assert advice(found) == ["Caution: mind the eyes.", "Hold back 6.9 mm or more.", "Turn it."]


def test_it_says_why_nothing_could_be_solved_for():
    found = finding(cure="", solve=lambda: Cure(reason="no hold-back will do"))
    assert advice(found) == ["No hold-back will do."]


def test_a_doubt_says_what_to_measure_better():
    found = finding(verdict="doubtful", widest="bore (60 %)")
    assert (
        advice(found)[0]
        == "The largest part of this doubt is bore (60 %): measure it more closely."
    )
    assert "doubt" not in " ".join(advice(finding(widest="bore (60 %)")))


def test_nothing_is_to_be_done_where_nothing_is_judged_or_leave_is_given():
    def never() -> Cure:
        raise AssertionError("solved for nothing")

    leave = Concession(rule="a/b", reason="spare", until=datetime.date(2027, 6, 30))
    assert advice(finding(verdict="not judged", solve=never)) == []
    assert advice(finding(concession=leave, solve=never)) == []


def test_nothing_in_it_steers_a_terminal():
    assert advice(finding(cure="\x1b[31m\udcff")) == ["\\x1b[31m\\udcff."]
    assert about(finding(subject="front.left", condition="hot\x07")) == "front.left hot\\x07"
    assert about(finding()) == ""
    assert sentence("a\u2028b {0} ]]>") == "a b {0} ]]>."

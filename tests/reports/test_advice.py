"""What a finding asks to be done, as sentences."""

from __future__ import annotations

import datetime

from buildlint.files.concession import Concession
from buildlint.judging.finding import Cure, CureFigure, Finding, ReadingShare
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


def test_what_is_borderline_says_what_to_measure_better():
    bore = (ReadingShare("bore", 0.6, True), ReadingShare("stroke", 0.4, True))
    (said, _) = advice(finding(verdict="borderline", readings=bore))
    assert said == "Measure bore: 60 % of the uncertainty."
    guessed = (ReadingShare("oil of body b", 0.64, False),)
    (said, _) = advice(finding(verdict="borderline", readings=guessed))
    assert said == ("Measure oil of body b, which was not given: 64 % of the uncertainty.")
    many = (ReadingShare("bore", 0.4, True), ReadingShare("stroke", 0.3, True))
    (said, _) = advice(finding(verdict="borderline", readings=many))
    assert said == "Measure bore: 40 % of the uncertainty."
    assert advice(finding(readings=bore)) == ["Turn it."]


def test_nothing_is_to_be_done_where_nothing_is_checked_or_leave_is_given():
    def never() -> Cure:
        raise AssertionError("solved for nothing")

    leave = Concession(rule="a/b", reason="spare", until=datetime.date(2027, 6, 30))
    assert advice(finding(verdict="not checked", solve=never)) == []
    assert advice(finding(concession=leave, solve=never)) == []


def test_nothing_in_it_steers_a_terminal():
    assert advice(finding(cure="\x1b[31m\udcff")) == ["\\x1b[31m\\udcff."]
    assert about(finding(subject="front.left", condition="hot\x07")) == "front.left hot\\x07"
    assert about(finding()) == ""
    assert sentence("a\u2028b {0} ]]>") == "a b {0} ]]>."

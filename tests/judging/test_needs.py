"""What a rule needs is told: the class of the car that it is for, an event to judge at."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from buildlint import inspect_team
from buildlint.commands.cli import main
from buildlint.judging.finding import Finding
from tests.making import build_path, repository, write

RULE = """\
title = "The hold-back is little in this class"
level = "must"
measure = "{measure}"
at_most = "{most}"
source = "ours, not published"
why = "So it is raced here."
cure = "Seal it again."
only = {{ {only} }}
"""
# Of many builds less is kept and told than of few.
many = pytest.mark.parametrize("builds", [1, 14], ids=["alone", "many"])


def found(
    folder: Path, builds: int, rule: str | None = None, only: str = "own/narrow", **changes: Any
) -> list[tuple[str, str, str]]:
    """Give what is told of a rule: subject, verdict and message, the same of every build."""
    repository(folder, **changes)
    text = build_path(folder).read_text(encoding="utf-8")
    write(folder, {f"run{n:02}.build.toml": text for n in range(builds - 1)})
    if rule is not None:
        write(folder, {"rules/own/narrow.toml": rule})
    inspection = inspect_team([folder])
    first, *others = (
        [(str(f.subject), str(f.verdict), f.message) for f in each.findings if f.rule == only]
        for each in inspection.builds
    )
    assert len(others) == builds - 1 and all(other == first for other in others)
    return first


# --- the class of the car ------------------------------------------------------------------------


def for_class(name: str, measure: str = "hold_back", most: str = "5 mm", more: str = "") -> str:
    return RULE.format(measure=measure, most=most, only=f'class = "{name}"{more}')


@many
def test_a_rule_for_a_class_says_of_a_car_without_one_that_it_needs_it(tmp_path, builds):
    """Hold-backs of 6.4 and 9.5 mm would fail; they are read on each side by itself."""
    told = found(tmp_path, builds, for_class("short-course truck"), car={"class": None})
    corners = ["front.left", "front.right", "rear.left", "rear.right"]
    assert told == [(c, "not checked", "needs class of car heron") for c in corners]


@many
@pytest.mark.parametrize("measure", ["viscosity_given", "damping_balance"])
def test_what_is_one_for_the_car_needs_the_class_once(tmp_path, builds, measure):
    most = {"viscosity_given": "1 cSt", "damping_balance": "1 %"}[measure]
    rule = for_class("short-course truck", measure, most)
    told = found(tmp_path, builds, rule, car={"class": None})
    assert told == [("car", "not checked", "needs class of car heron")]


@many
def test_of_what_the_rule_does_not_speak_it_does_not_need_the_class(tmp_path, builds):
    rule = for_class("short-course truck", more=', style = "emulsion"')
    assert found(tmp_path, builds, rule, car={"class": None}) == []


@many
@pytest.mark.parametrize(
    "written", ["eighth-scale buggy", "Eighth-Scale BUGGY", "  eighth-scale buggy "]
)
def test_a_class_is_the_same_whatever_its_capitals_and_surrounding_blanks(
    tmp_path, builds, written
):
    told = found(tmp_path, builds, for_class("Eighth-scale Buggy"), car={"class": written})
    assert {verdict for _, verdict, _ in told} == {"fails"}


@many
def test_a_rule_for_another_class_does_not_speak_of_the_car(tmp_path, builds):
    assert found(tmp_path, builds, for_class("short-course truck")) == []


# --- an event ------------------------------------------------------------------------------------


def not_checked(folder: Path, **changes: Any) -> list[Finding]:
    repository(folder, **changes)
    return [f for f in inspect_team([folder]).findings if f.verdict == "not checked"]


def at_the_event(folder: Path) -> set[tuple[str, str]]:
    """Give rule and subject of all that is told of cold or hot, once no tolerance is met there."""
    # oil that grows past every room, and is thick in the cold
    event = {"coldest": "-30 degC", "hottest": "120 degC"}
    repository(folder, event=event)
    found = inspect_team([folder]).findings
    return {(f.rule, str(f.subject)) for f in found if f.condition in ("cold", "hot")}


def test_without_an_event_each_rule_that_fails_at_one_needs_it(tmp_path):
    """What a cold and a hot event would have found is not lost: it is not checked."""
    would = at_the_event(tmp_path / "extreme")
    needs = {
        (f.rule, str(f.subject)): f.message
        for f in not_checked(tmp_path / "none", build={"event": None})
    }
    # what a damper does where it is driven is judged at the bench then
    would = {what for what in would if not what[0].startswith(("damping/", "oil/"))}
    assert len(would) > 5
    assert {needs.get(what) for what in would} == {"needs an event"}


def test_it_is_told_once_for_each_rule_and_subject(tmp_path):
    found = not_checked(tmp_path, build={"event": None})
    told = [(f.rule, f.subject) for f in found]
    assert len(told) == len(set(told)) > 5
    held = inspect_team([tmp_path]).builds[0].held
    assert not set(told) & set(held)
    assert {f.message for f in found} == {"needs an event"}


def test_what_the_event_does_not_move_is_judged_without_one(tmp_path):
    repository(tmp_path, build={"event": None, "front.right.length": "106 mm"})
    inspection = inspect_team([tmp_path])
    assert {f.rule for f in inspection.findings if f.verdict == "fails"} == {"pair/length"}
    held = {rule for rule, _ in inspection.builds[0].held}
    assert {"hold-back/by-body-length", "pair/hold-back", "fit/piston-clearance"} <= held


def test_what_fails_at_the_bench_fails_without_an_event_and_is_mended(tmp_path):
    """Sealed fully in, the bladder would have to give all that the shaft takes at the bench."""
    repository(
        tmp_path,
        parts={"bladder.deep.into_body": "200 mm^3"},
        build={"event": None, "front.left.hold_back": "0 mm", "front.right.hold_back": "0 mm"},
    )
    found = [f for f in inspect_team([tmp_path]).findings if f.rule == "bladder/into-body-room"]
    front = [f for f in found if f.subject != "rear" and str(f.subject).startswith("front")]
    assert {(f.verdict, f.condition) for f in front} == {("fails", "bench")}
    assert all(f.cure_figures for f in front)


def test_what_else_is_missing_is_told_beside_the_event(tmp_path):
    found = not_checked(tmp_path, build={"event": None}, parts={"bladder.deep.into_cap": None})
    room = {f.message for f in found if f.rule == "bladder/into-cap-room"}
    assert room == {"needs into_cap of bladder deep and an event"}


@many
def test_many_builds_without_an_event_say_the_same_as_one(tmp_path, builds):
    told = found(tmp_path, builds, only="bladder/window", build={"event": None})
    assert told and {t[1:] for t in told} == {("not checked", "needs an event")}


def test_an_event_that_is_not_there_is_told_as_that(tmp_path):
    repository(tmp_path, build={"event": "qarry"})
    inspection = inspect_team([tmp_path])
    assert [f.rule for f in inspection.in_files] == ["file/no-such-id"]
    missing = {m for f in inspection.findings for m in f.missing}
    assert "an event" not in missing
    assert {"coldest of event qarry", "hottest of event qarry"} <= missing


def test_the_text_says_so_in_few_words(tmp_path, monkeypatch, capsys):
    repository(tmp_path, build={"event": None})
    monkeypatch.chdir(tmp_path)
    assert main(["inspect"]) == 0
    shown = capsys.readouterr().out
    assert "car heron, no event" in shown
    assert "not checked: bladder/" in shown
    assert "(musts): missing an event; " in " ".join(shown.split())


def test_among_many_a_build_without_an_event_is_not_called_sound(tmp_path, monkeypatch, capsys):
    repository(tmp_path)
    text = build_path(tmp_path).read_text(encoding="utf-8")
    without = text.replace('event = "quarry"\n', "")
    assert without != text
    write(tmp_path, {f"run{n:02}.build.toml": text for n in range(13)})
    write(tmp_path, {"spare.build.toml": without})
    monkeypatch.chdir(tmp_path)
    assert main(["inspect"]) == 0
    shown = capsys.readouterr().out
    (spare,) = (line for line in shown.splitlines() if line.startswith("spare "))
    assert spare.endswith(" musts")
    assert " musts of spare were not checked" in " ".join(shown.split())
    assert "sound" not in shown


def test_the_bench_sheet_says_that_what_must_hold_was_not_checked(tmp_path):
    pytest.importorskip("jinja2")
    pytest.importorskip("matplotlib")
    from buildlint.reports.sheet.page import sheet_html

    repository(tmp_path, build={"event": None})
    page = sheet_html(build_path(tmp_path))
    assert "Every must was checked and holds." not in page
    assert "an event" in page

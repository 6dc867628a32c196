"""One team inspected: what is told of builds and files, and what is let go among many."""

from __future__ import annotations

import datetime
import re
from pathlib import Path

import pytest

from buildlint import load_team
from buildlint.judging.inspector import Inspector, inspect_build, inspect_team
from buildlint.judging.rules_in_force import rules_in_force
from buildlint.team.folders import files_below
from buildlint.team.repository import Team
from tests.bench.season import season
from tests.making import build_path, repository

DAY = datetime.date(2027, 6, 5)
LEAVE = """
[[concession]]
rule = "pair/{}"
reason = "tried on purpose"
until = 2027-06-30
"""


def _season(folder: Path, builds: int, settings: str = "") -> list[Path]:
    season(folder, builds)
    (folder / "buildlint.toml").write_text(settings, "utf-8")
    return sorted((folder / "builds").rglob("*.toml"))


def _inspector(folder: Path, many: bool) -> Inspector:
    return Inspector(Team(folder, files_below(folder)), rules_in_force(folder), DAY, many)


def _hold_back_of_both(path: Path, value: str) -> None:
    """More than is usual for a body of this length, on both sides of the front."""
    head, front, rear = re.split(r"(?=^\[front\]|^\[rear\])", path.read_text("utf-8"), flags=re.M)
    front = re.sub(r'hold_back = ".*"', f'hold_back = "{value}"', front)
    path.write_text(head + front + rear, "utf-8")


def _spoil(path: Path) -> None:
    path.write_text(path.read_text("utf-8").replace(" mm", " mn", 1), "utf-8")


@pytest.mark.parametrize("builds", [3, 30])
def test_a_mistake_in_one_of_few_and_of_many_builds_is_told(tmp_path, builds):
    files = _season(tmp_path, builds)
    _spoil(files[1])
    found = inspect_team(tmp_path, past=True, on=DAY)
    assert [(f.path, f.rule) for f in found.in_files] == [(files[1], "file/unknown-unit")]
    assert [b.waits for b in found.builds] == [n == 1 for n in range(builds)]


@pytest.mark.parametrize("builds", [1, 13])
def test_a_should_on_the_reading_of_a_must_is_told_where_that_is_conceded(tmp_path, builds):
    """29 mm held back: the cap has no room for it, and it is more than is usual."""
    parts = {"bladder.deep.into_cap": "200 mm^3"}
    held = {f"front.{side}.hold_back": "29 mm" for side in ("left", "right")}
    text = build_path(repository(tmp_path, parts=parts, build=held)).read_text("utf-8")
    for number in range(1, builds):
        (tmp_path / f"b{number}.build.toml").write_text(text, "utf-8")
    leave = LEAVE.format("x").replace("pair/x", "bladder/into-cap-room")
    for settings, told in (("", False), (leave, True)):
        (tmp_path / "buildlint.toml").write_text(settings, "utf-8")
        for build in inspect_team(tmp_path, on=DAY).builds:
            rules = {f.rule for f in build.findings if f.subject.startswith("front")}
            assert "bladder/into-cap-room" in rules
            assert ("hold-back/by-body-length" in rules) is told


@pytest.mark.parametrize("builds", [1, 13])
def test_a_concession_of_what_could_not_be_checked_is_of_use(tmp_path, builds):
    """Of many builds too; one for a rule that holds everywhere is not."""
    text = build_path(repository(tmp_path, build={"front.left.length": None})).read_text("utf-8")
    for number in range(1, builds):
        (tmp_path / f"b{number}.build.toml").write_text(text, "utf-8")
    (tmp_path / "buildlint.toml").write_text(
        LEAVE.format("length") + LEAVE.format("parts"), "utf-8"
    )
    (unused,) = inspect_team(tmp_path, on=DAY).in_files
    assert unused.rule == "file/concession-unused"
    assert "pair/parts" in unused.message


def test_a_mistake_in_a_file_that_no_one_asked_for_is_not_told(tmp_path):
    files = _season(tmp_path, 3)
    _spoil(files[1])
    assert inspect_team(files[0], on=DAY).in_files == []


def test_of_many_what_was_read_of_a_build_is_let_go_but_for_one_with_a_mistake(tmp_path):
    files = _season(tmp_path, 20)
    _spoil(files[1])
    told = {}
    for many in (False, True):
        made = _inspector(tmp_path, many)
        behind: set[Path] = set()
        told[many] = list(made.builds(files, behind)), behind
        read = {found.path for found in made.team._read.values()} & set(files)
        assert read == ({files[1]} if many else set(files))
        assert set(made.writer._places) & set(files) <= ({files[1]} if many else set(files))
    few, many_ = told[False], told[True]
    assert many_[1] == few[1] - (set(files) - {files[1]})
    assert [b.counts for b in many_[0]] == [b.counts for b in few[0]]
    assert [list(b.held) for b in many_[0]] == [list(b.held) for b in few[0]]


@pytest.mark.parametrize("builds", [13, 30])
def test_the_findings_of_one_of_many_are_those_of_the_build_alone(tmp_path, builds):
    """But for what would mend it: what was not checked is judged again when it is asked for."""
    _season(tmp_path, builds)
    for path in sorted((tmp_path / "builds").rglob("*.toml"))[::3]:
        text = "".join(
            line for line in path.read_text("utf-8").splitlines(True) if "runtime" not in line
        )
        path.write_text(text, "utf-8")
    found = inspect_team(tmp_path, on=DAY)
    assert any(f.verdict == "not checked" for f in found.findings)
    for judged in reversed(found.builds):
        (alone,) = inspect_team(judged.path, on=DAY).builds
        assert judged.findings == alone.findings


def test_the_concessions_that_were_of_use_are_noted(tmp_path):
    leaves = "".join(map(LEAVE.format, ("length", "hold-back", "rebound", "parts")))
    _season(tmp_path, 40, leaves)
    found = inspect_team(tmp_path, on=DAY)
    conceded = {f.rule for f in found.findings if f.concession}
    unused = [f for f in found.in_files if f.rule == "file/concession-unused"]
    assert conceded and len(unused) == 4 - len(conceded)


def test_the_dampers_of_one_of_many_are_made_again(tmp_path):
    _season(tmp_path, 20)
    builds = inspect_team(tmp_path, on=DAY).builds[:3]
    assert len({judged.dampers[0].build for judged in builds}) == 3
    for judged in builds:
        (alone,) = inspect_team(judged.path, on=DAY).builds
        assert judged.dampers == alone.dampers and len(judged.dampers) == 4


def test_a_cure_is_looked_for_when_a_build_is_one_of_few(tmp_path):
    files = _season(tmp_path, 20)
    _hold_back_of_both(files[3], "10 mm")
    assert not any(f.cure_figures or f.no_figure for f in inspect_team(tmp_path, on=DAY).findings)
    (alone,) = inspect_team(files[3], on=DAY).builds
    assert any(f.cure_figures for f in alone.findings)


def test_a_cure_is_looked_for_when_a_build_is_judged_alone(tmp_path):
    repository(tmp_path, build={"front.right.hold_back": "12 mm"})
    found = inspect_build("heron-quarry", load_team(tmp_path), on=DAY)
    assert any(f.cure_figures for f in found.findings)


def test_a_build_that_is_named_is_judged_where_none_is_looked_for(tmp_path):
    repository(tmp_path)
    hidden = tmp_path / ".drafts" / "tried.build.toml"
    hidden.parent.mkdir()
    hidden.write_text(build_path(tmp_path).read_text("utf-8"), "utf-8")
    assert [build.id for build in inspect_team(tmp_path, on=DAY).builds] == ["heron-quarry"]
    assert [build.id for build in inspect_team(hidden, on=DAY).builds] == ["tried"]


def test_leave_for_a_rule_that_the_team_leaves_out_is_of_no_use(tmp_path):
    repository(tmp_path)
    settings = '[change."pair/length"]\nleave_out = true\n' + LEAVE.format("length")
    (tmp_path / "buildlint.toml").write_text(settings, "utf-8")
    found = inspect_team(tmp_path, on=DAY)
    assert [f.rule for f in found.in_files] == ["file/concession-unused"]


def test_what_is_not_checked_is_told_of_each_end_where_leave_is_given_for_one(tmp_path):
    repository(tmp_path, parts={"oil.o450.viscosity": None})
    for where, told in (("", ["car"]), ('where = "front"\n', ["front", "rear"])):
        leave = LEAVE.format("length").replace("pair/length", "oil/viscosity-range") + where
        (tmp_path / "buildlint.toml").write_text(leave, "utf-8")
        found = inspect_team(tmp_path, on=DAY)
        assert [f.subject for f in found.findings if f.rule == "oil/viscosity-range"] == told

"""One line a finding, in the form of the GNU Coding Standards: FILE:LINE:COLUMN: message."""

from __future__ import annotations

import datetime
import re
from pathlib import Path
from typing import Any

import pytest

from buildlint import inspect_team
from buildlint.reports.lines import inspection_lines
from tests.making import build_path, repository

# GNU Coding Standards, 4.4 Formatting Error Messages
GNU = re.compile(
    r"(?P<file>[^:\n]+):(?P<line>[1-9][0-9]*):(?P<column>[1-9][0-9]*): (?P<message>\S.*)"
)


def lines(folder: Path, monkeypatch: pytest.MonkeyPatch, **changes: Any) -> list[str]:
    monkeypatch.chdir(repository(folder, **changes))
    text = inspection_lines(inspect_team())
    assert text == "" or text.endswith("\n")
    return text.splitlines()


def test_a_sound_build_says_nothing(tmp_path, monkeypatch):
    assert lines(tmp_path, monkeypatch) == []


def test_every_finding_is_a_line_of_the_gnu_form(tmp_path, monkeypatch):
    build = {"front.right.length": "106 mm", "front.left.hold_back": "0 mm", "rear.pistn": "four"}
    found = lines(tmp_path, monkeypatch, build=build)
    judged = [f for f in inspect_team().findings if f.verdict != "not checked"]
    assert len(found) == len(judged) >= 3
    for line in found:
        match = GNU.fullmatch(line)
        assert match is not None, line
        stands = (tmp_path / match["file"]).read_text(encoding="utf-8").splitlines()
        assert int(match["column"]) <= len(stands[int(match["line"]) - 1]) + 1


def test_a_line_says_verdict_rule_subject_and_message(tmp_path, monkeypatch):
    (line,) = lines(tmp_path, monkeypatch, build={"front.right.length": "106 mm"})
    number = build_path(tmp_path).read_text(encoding="utf-8").split('"106 mm"')[0].count("\n") + 1
    assert line == (
        f"heron-quarry.build.toml:{number}:10: fails: front: Left and right are not equally long, "
        "fully out: length left 104.2 mm, right 106.0 mm, 1.8 mm apart, at most 0.5 mm; "
        "rule pair/length"
    )


def test_a_should_is_marked_as_one_and_the_condition_is_named(tmp_path, monkeypatch):
    (line,) = lines(tmp_path, monkeypatch, build={"front.left.collar": "4 mm"})
    assert "fails (should): front: " in line and line.endswith("; rule pair/collar")
    found = lines(tmp_path / "b", monkeypatch, parts={"bladder.deep.into_cap": "150 mm^3"})
    assert any("fails: front.left: " in line and " when hot, " in line for line in found)


def test_what_is_not_checked_is_left_out(tmp_path, monkeypatch):
    lost = {"front.left.length": None, "front.right.length": None}
    assert lines(tmp_path, monkeypatch, build=lost) == []
    found = inspection_lines(inspect_team(), everything=True).splitlines()
    assert sum(": not checked: " in line for line in found) == 1
    assert sum(": holds" in line for line in found) == inspect_team().counts.holds


def test_no_name_of_a_file_breaks_a_line_or_steers_a_terminal(tmp_path, monkeypatch):
    repository(tmp_path)
    text = build_path(tmp_path).read_text(encoding="utf-8").replace("104.2", "107", 1)
    try:
        (tmp_path / "a\x1b[31m\nb.build.toml").write_text(text, encoding="utf-8")
    except OSError:
        pytest.skip("this file system takes no such name")
    monkeypatch.chdir(tmp_path)
    (line,) = inspection_lines(inspect_team()).splitlines()
    assert line.isprintable()
    assert GNU.fullmatch(line)


def test_what_is_conceded_says_until_when_and_why(tmp_path, monkeypatch):
    repository(tmp_path, build={"front.right.length": "106 mm"})
    (tmp_path / "buildlint.toml").write_text(
        '[[concession]]\nrule = "pair/length"\nreason = "spare \\u001b[31m"\nuntil = 2027-06-30\n',
        encoding="utf-8",
    )
    monkeypatch.chdir(tmp_path)
    (line,) = inspection_lines(inspect_team(on=datetime.date(2027, 6, 12))).splitlines()
    assert GNU.fullmatch(line)
    assert line.partition(": ")[2] == (
        "conceded until 2027-06-30: front: Left and right are not equally long, fully out: length "
        "left 104.2 mm, right 106.0 mm, 1.8 mm apart, at most 0.5 mm; rule pair/length; "
        "conceded: spare \\x1b[31m"
    )


def test_what_the_team_changes_of_a_must_is_a_line_with_its_place(tmp_path, monkeypatch):
    """Changes of a should, and rules of its own, are in nobody's way."""
    repository(tmp_path)
    (tmp_path / "rules").mkdir()
    (tmp_path / "rules" / "own.toml").write_text(
        'title = "t"\nlevel = "must"\nmeasure = "collar"\nat_most = "9 mm"\nsource = "s"\n'
        'why = "w"\ncure = "c"\n',
        encoding="utf-8",
    )
    (tmp_path / "buildlint.toml").write_text(
        '[change."pair/collar"]\nleave_out = true\n[change."pair/length"]\nsame_within = "1 mm"\n'
        '[change."pair/limiter"]\nleave_out = true\n[change."pair/parts"]\nlevel = "should"\n',
        encoding="utf-8",
    )
    monkeypatch.chdir(tmp_path)
    assert inspection_lines(inspect_team()).splitlines() == [
        "buildlint.toml:3:2: rule changed: pair/length: length the same within 1 mm, "
        "but it came with length the same within 0.5 mm",
        "buildlint.toml:5:2: rule changed: pair/limiter: left out",
        "buildlint.toml:7:2: rule changed: pair/parts: a should, but it came as a must",
    ]

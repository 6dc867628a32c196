"""`buildlint adapt`: what it prints, what it writes, and where it writes nothing."""

from __future__ import annotations

import errno
import json
import os
from pathlib import Path
from typing import Any

import pytest

from buildlint.commands.cli import main
from buildlint.text.wrapping import WIDTH
from tests.judging.test_adapt import team_of


@pytest.fixture
def team(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    root = team_of(tmp_path / "team").root
    monkeypatch.chdir(root)
    return root


def said(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    code = main(("adapt", *words))
    captured = capsys.readouterr()
    return code, captured.out, captured.err


def test_the_report_is_a_screen_with_the_first_in_front(
    team: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, err = said(capsys, "heron-quarry", "alps")
    lines = out.splitlines()
    assert (code, err) == (0, "")
    assert len(lines) <= 40 and max(map(len, lines)) <= WIDTH
    assert lines[0].startswith("heron-quarry for alps (2 to 25 degC), to feel as at quarry")
    front = lines[lines.index("front   o450, four and deep") :]
    # damping 1.32 times as cold, 1.10 with 375 cSt in the place of 450
    assert " ".join(front[3].split()) == "nothing changed +32 +30 +24 +19 6.4 0.8 - 29.6 100"
    assert front[4].split()[:5] == ["1", "oil", "o375", "+10", "+8"]
    assert "every must holds, and no should newly fails" in " ".join(lines)


def test_the_json_has_what_the_text_has(team: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = said(capsys, "heron-quarry.build.toml", "alps.event.toml", "--as", "json")
    found = json.loads(out)
    assert (code, found["format"], found["holds"]) == (0, 2, True)
    assert (found["build"], found["event"], found["from_event"]) == (
        "heron-quarry",
        "alps",
        "quarry",
    )
    first = found["front"]["candidates"][0]
    assert (first["oil"], first["changed"], first["hold_back"]) == ("o375", ["oil"], 6.4)
    assert found["front"]["blend"]["tenths"] == [8, 2]


def test_none_that_holds_is_exit_1_and_the_plan_is_written_all_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    parts = {"bladder.deep.into_cap": "50 mm^3", "bladder.shallow.into_cap": "50 mm^3"}
    monkeypatch.chdir(team_of(tmp_path, parts, None, {"hottest": "60 degC"}).root)
    code, out, err = said(capsys, "heron-quarry", "alps", "-o", "x.build.toml")
    assert code == 1
    assert "none holds; this comes nearest:" in out
    assert "FAILS  front  The bladder cannot make way" in out and "Caution:" in out
    assert err == "buildlint: written: x.build.toml\n"
    assert 'event = "alps"\nlike = "heron-quarry"\n' in Path("x.build.toml").read_text("utf-8")


def test_a_plan_is_written_whole_and_inspected(
    team: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert said(capsys, "heron-quarry", "alps", "-o", "heron-alps.build.toml")[0] == 0
    assert main(["inspect", "heron-alps.build.toml"]) == 0
    assert "event alps, plan" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("target", "words"),
    [
        ("heron-alps.toml", "a plan is a file named NAME.build.toml"),
        ("heron.car.toml", "a plan is a file named NAME.build.toml"),
        (".x.build.toml", "a plan is a file named NAME.build.toml"),
        ("heron-quarry.build.toml", "is there already, and nothing is written over"),
        ("nowhere/x.build.toml", "there is no folder nowhere"),
        ("../x.build.toml", "that is not in the repository of the build"),
        (".hidden/x.build.toml", "that is not in the repository of the build"),
        ("other/x.build.toml", "that is not in the repository of the build"),
        ("out/x.build.toml", "that is not in the repository of the build"),
        ("more/heron-quarry.build.toml", 'there is a build "heron-quarry" already'),
        ("link.build.toml", "is there already, and nothing is written over"),
    ],
)
def test_what_is_no_place_for_a_plan_is_told_and_nothing_is_written(
    team: Path, capsys: pytest.CaptureFixture[str], target: str, words: str
) -> None:
    for folder in (".hidden", "other", "more"):
        (team / folder).mkdir()
    (team / "other" / "buildlint.toml").touch()
    (team / "out").symlink_to(team.parent)
    (team / "link.build.toml").symlink_to(team.parent / "nothing")
    before = sorted(os.walk(team.parent))
    old = (team / "heron-quarry.build.toml").read_bytes()
    code, out, err = said(capsys, "heron-quarry", "alps", "-o", target)
    assert (code, out) == (2, "")
    assert err.startswith(f"buildlint: -o {target}") and words in err and err.count("\n") == 1
    assert sorted(os.walk(team.parent)) == before
    assert (team / "heron-quarry.build.toml").read_bytes() == old


def test_a_disk_that_is_full_leaves_nothing(
    team: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    opened = Path.open

    def full(path: Path, *words: Any, **more: Any) -> Any:
        file = opened(path, *words, **more)
        if path.name == "x.build.toml":

            def write(text: str) -> int:
                raise OSError(errno.ENOSPC, "No space left on device")

            monkeypatch.setattr(file, "write", write)
        return file

    monkeypatch.setattr(Path, "open", full)
    code, out, err = said(capsys, "heron-quarry", "alps", "-o", "x.build.toml")
    assert (code, out) == (2, "")
    assert "x.build.toml: No space left on device" in err
    assert not (team / "x.build.toml").exists()


def test_mistakes_in_the_files_are_told_beside_the_report(
    team: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    build = team / "heron-quarry.build.toml"
    build.write_text(build.read_text("utf-8").replace("2 mm", "2 mn", 1), encoding="utf-8")
    code, out, err = said(capsys, "heron-quarry", "alps")
    assert code == 1 and out
    assert "heron-quarry.build.toml:" in err and '"mn"' in err

"""The command: exit codes, where the report goes, help, colour."""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

import buildlint.judging.rulebook as rulebook
from buildlint import __version__
from buildlint.commands.cli import main
from tests.making import build_path, repository

MUST = {"build": {"front.right.length": "106 mm"}}
SHOULD = {"build": {"front.right.collar": "4 mm"}}
BORDERLINE = {"build": {"front.right.length": "104.6 mm"}}
COMMANDS = (
    "inspect",
    "figures",
    "rulebook",
    "compare",
    "labels",
    "sheet",
    "prepare",
    "schema",
    "begin",
    "complete",
)


@pytest.fixture
def team(tmp_path, monkeypatch):
    """Make the repository with changes, and stand in it."""

    def make(**changes: Any) -> Path:
        root = repository(tmp_path / "team", **changes)
        monkeypatch.chdir(root)
        return root

    return make


def left_behind(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


# --- exit codes-----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "code", "should_too"),
    [({}, 0, 0), (MUST, 1, 1), (SHOULD, 0, 1), (BORDERLINE, 0, 1)],
    ids=["sound", "must", "should", "borderline"],
)
def test_the_code_says_whether_a_must_or_anything_fails(team, changes, code, should_too):
    team(**changes)
    assert main(["inspect"]) == code
    assert main(["inspect", "--should-too"]) == should_too


@pytest.mark.parametrize("form", ["text", "lines", "json", "sarif", "junit"])
def test_the_form_of_the_report_does_not_change_the_code(team, form):
    team(**MUST)
    assert main(["inspect", "--as", form]) == 1


def test_a_mistake_in_a_file_fails(team):
    team(build={"front.pistn": "four"})
    assert main(["inspect"]) == 1


@pytest.mark.parametrize(
    "arguments",
    [
        ["inspect", "--as", "poem"],
        ["inspect", "--no-such-option"],
        ["no-such-command"],
        ["figures"],
        ["figures", "a", "b"],
        ["rulebook", "--as", "lines"],
    ],
)
def test_bad_arguments_are_2(team, arguments, capsys):
    team()
    with pytest.raises(SystemExit) as caught:
        main(arguments)
    assert caught.value.code == 2
    assert capsys.readouterr().err


def test_no_command_is_2_and_shows_the_help(team, capsys):
    team()
    assert main([]) == 2
    assert "usage: buildlint" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["inspect", "nowhere"], "there is no file or folder nowhere"),
        (["inspect", "notes.txt"], "notes.txt"),
        (["inspect", "empty"], "no builds here"),
        (["figures", "heron-qarry"], "heron-quarry"),
        (["rulebook", "pair/lenght"], "did you mean pair/length?"),
    ],
)
def test_what_cannot_be_judged_is_2_with_one_line_of_why(team, arguments, said, capsys):
    root = team()
    (root / "notes.txt").write_text("", encoding="utf-8")
    (root / "empty").mkdir()
    (root / "empty" / "buildlint.toml").write_text("", encoding="utf-8")
    assert main(arguments) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert said in err and err.startswith("buildlint: ")
    assert len(err.splitlines()) == 1


def test_a_broken_rulebook_is_2_with_every_mistake(team, tmp_path, monkeypatch, capsys):
    team()
    rules = tmp_path / "installed" / "buildlint" / "rules"
    rules.mkdir(parents=True)
    (rules / "one.toml").write_text('level = "must"\n', encoding="utf-8")
    monkeypatch.setattr(rulebook, "__file__", str(rules.parent / "judging" / "rulebook.py"))
    assert main(["inspect"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert len(err.splitlines()) > 1
    assert all("installed/buildlint/rules/one.toml:1:1: " in line for line in err.splitlines())


@pytest.mark.parametrize("settings", ["own = 1\n", "= broken\n"])
@pytest.mark.parametrize("arguments", [["inspect"], ["figures", "heron-quarry"]])
def test_settings_that_cannot_be_followed_are_2(team, settings, arguments, capsys):
    (team() / "buildlint.toml").write_text(settings, encoding="utf-8")
    assert main(arguments) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "buildlint.toml:1:" in err


# --- where the report goes -----------------------------------------------------------------------


def test_the_report_goes_to_standard_output_and_nothing_else_does(team, capsys):
    team()
    assert main(["inspect"]) == 0
    out, err = capsys.readouterr()
    assert out.startswith("heron-quarry") and err == ""


@pytest.mark.parametrize(
    "arguments",
    [["inspect"], ["inspect", "--as", "json"], ["figures", "heron-quarry"], ["rulebook"]],
)
def test_the_file_holds_what_would_have_been_printed(team, tmp_path, arguments, capsys):
    team(**MUST)
    code = main(arguments)
    printed = capsys.readouterr().out
    target = tmp_path / "report"
    assert main([*arguments, "-o", str(target)]) == code
    assert capsys.readouterr() == ("", "")
    assert target.read_text(encoding="utf-8") == printed
    assert left_behind(tmp_path) == ["report", "team"]


def test_an_inspection_that_cannot_be_made_keeps_the_old_file(team, tmp_path):
    team()
    target = tmp_path / "report"
    target.write_text("old", encoding="utf-8")
    assert main(["inspect", "nowhere", "-o", str(target)]) == 2
    assert target.read_text(encoding="utf-8") == "old"


# --- help ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("command", COMMANDS)
def test_the_help_of_a_command_fits_on_a_screen(command, capsys, monkeypatch):
    """Under 24 lines of 80 columns, with an example."""
    monkeypatch.setenv("COLUMNS", "80")
    with pytest.raises(SystemExit) as caught:
        main([command, "--help"])
    assert caught.value.code == 0
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) < 24
    assert all(len(line) <= 80 for line in lines)
    assert any(line.startswith("example: buildlint ") for line in lines)


def test_the_help_names_every_command_and_the_codes(capsys, monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")
    with pytest.raises(SystemExit) as caught:
        main(["--help"])
    assert caught.value.code == 0
    text = capsys.readouterr().out
    assert len(text.splitlines()) < 26
    assert all(command in text for command in COMMANDS)
    flat = " ".join(text.split())
    assert "0 no must fails; 1 one does; 2 nothing could be judged" in flat


def test_the_version_is_told(capsys):
    with pytest.raises(SystemExit) as caught:
        main(["--version"])
    assert caught.value.code == 0
    assert capsys.readouterr().out.strip() == f"buildlint {__version__}"


# --- forms ---------------------------------------------------------------------------------------


def test_the_forms_of_an_inspection(team, capsys):
    team(**MUST)
    main(["inspect", "--as", "json"])
    assert json.loads(capsys.readouterr().out)["format"] == 2
    main(["inspect", "--as", "lines"])
    assert capsys.readouterr().out.startswith("heron-quarry.build.toml:")


def test_figures_in_both_forms(team, capsys):
    team()
    assert main(["figures", "heron-quarry"]) == 0
    assert "hold_back" in capsys.readouterr().out
    assert main(["figures", "heron-quarry.build.toml", "--as", "json"]) == 0
    assert json.loads(capsys.readouterr().out)["build"] == "heron-quarry"


def test_figures_of_a_build_with_mistakes_say_them_beside_the_report(team, capsys):
    team(build={"front.pistn": "four"})
    assert main(["figures", "heron-quarry", "--as", "json"]) == 1
    out, err = capsys.readouterr()
    json.loads(out)
    assert "pistn" in err


def test_one_rule_in_full_and_the_whole_rulebook(capsys):
    assert main(["rulebook", "bladder/into-cap-room"]) == 0
    assert capsys.readouterr().out.startswith("bladder/into-cap-room\n")
    assert main(["rulebook"]) == 0
    assert "rules: " in capsys.readouterr().out
    assert main(["rulebook", "bladder/into-cap-room", "--as", "json"]) == 0
    (rule,) = json.loads(capsys.readouterr().out)["rules"]
    assert rule["rule"] == "bladder/into-cap-room"


# --- colour --------------------------------------------------------------------------------------


class Terminal(io.StringIO):
    """A standard output that says that it is a terminal."""

    def isatty(self) -> bool:
        return True


def shown(monkeypatch: pytest.MonkeyPatch, terminal: bool = True, *more: str, **env: str) -> str:
    for name in ("NO_COLOR", "TERM"):
        monkeypatch.delenv(name, raising=False)
    for name, value in {"TERM": "xterm", **env}.items():
        monkeypatch.setenv(name, value)
    out = Terminal() if terminal else io.StringIO()
    monkeypatch.setattr(sys, "stdout", out)
    main(["inspect", *more])
    return out.getvalue()


def test_a_terminal_gets_colour(team, monkeypatch):
    team(**MUST)
    assert "\x1b[31m" in shown(monkeypatch)


def test_colour_is_off_where_it_is_not_wanted(team, monkeypatch):
    """no-color.org: any value of NO_COLOR but an empty one; a dumb terminal; no terminal."""
    team(**MUST)
    assert "\x1b" not in shown(monkeypatch, NO_COLOR="1")
    assert "\x1b" not in shown(monkeypatch, NO_COLOR="0")
    assert "\x1b[31m" in shown(monkeypatch, NO_COLOR="")
    assert "\x1b" not in shown(monkeypatch, TERM="dumb")
    assert "\x1b" not in shown(monkeypatch, False)
    assert "\x1b" not in shown(monkeypatch, True, "--as", "lines")
    assert "\x1b" not in shown(monkeypatch, True, "--as", "json")


def test_a_file_never_gets_colour(team, tmp_path, monkeypatch):
    team(**MUST)
    shown(monkeypatch, True, "-o", str(tmp_path / "report"))
    assert "\x1b" not in (tmp_path / "report").read_text(encoding="utf-8")


# --- as a process --------------------------------------------------------------------------------


def run(folder: Path, *arguments: str, **env: str) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [sys.executable, "-m", "buildlint", *arguments],
        cwd=folder,
        env={**os.environ, **env},
        capture_output=True,
    )


def test_the_package_runs_as_a_module(team):
    root = team(**MUST)
    done = run(root, "inspect", PYTHONIOENCODING="utf-8")
    assert done.returncode == 1
    assert done.stderr == b""
    assert done.stdout.decode("utf-8").startswith("heron-quarry")


def test_a_terminal_that_lacks_a_letter_gets_its_escape(team):
    """± is not in ASCII."""
    done = run(team(), "figures", "heron-quarry", PYTHONIOENCODING="ascii")
    assert done.returncode == 0
    assert rb"\xb1" in done.stdout


@pytest.mark.skipif(os.name == "nt", reason="needs a shell's pipe")
def test_a_reader_that_goes_away_is_no_traceback(team):
    root = team()
    command = [sys.executable, "-m", "buildlint", "rulebook"]
    with subprocess.Popen(
        command, cwd=root, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as process:
        assert process.stdout is not None and process.stderr is not None
        process.stdout.close()
        assert b"Traceback" not in process.stderr.read()


def test_a_folder_given_by_hand_is_judged_from_anywhere(team, tmp_path, monkeypatch, capsys):
    team(**MUST)
    monkeypatch.chdir(tmp_path)
    assert main(["inspect", "team"]) == 1
    assert "team/heron-quarry.build.toml:" in capsys.readouterr().out


def test_a_build_of_its_own_means_nothing_else(team):
    root = team()
    (root / "other.build.toml").write_text("= broken", encoding="utf-8")
    assert main(["inspect", str(build_path(root))]) == 0
    assert main(["inspect"]) == 1

"""Rules and settings that stand nearly where they are read: told, so that no must is escaped."""

from __future__ import annotations

import os
import subprocess
from pathlib import Path

import pytest

from buildlint.commands.cli import main
from tests.making import repository

RULE = """\
title = "Hold-back stays small"
level = "must"
measure = "hold_back"
at_most = "1 mm"
source = "ours, not published"
why = "A test needs a rule that does not hold."
cure = "Less of it."
"""


def put(root: Path, name: str, text: str = RULE) -> Path:
    path = root / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return path


def told(capsys: pytest.CaptureFixture[str], *arguments: str | Path) -> tuple[int, list[str]]:
    """Judge, and give the exit code with one line a finding."""
    code = main(["inspect", "--as", "lines", *map(str, arguments)])
    return code, capsys.readouterr().out.splitlines()


def without_settings(folder: Path) -> Path:
    (repository(folder) / "buildlint.toml").unlink()
    return folder


@pytest.fixture
def root(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Path:
    assert told(capsys, repository(tmp_path)) == (0, [])
    return tmp_path


@pytest.mark.parametrize("name", ["rules/small.toml", "rules/ours/small.toml"])
@pytest.mark.parametrize("settings", [True, False])
def test_own_rules_count_with_settings_and_without(tmp_path, capsys, name, settings):
    root = repository(tmp_path) if settings else without_settings(tmp_path)
    put(root, name)
    code, lines = told(capsys, root)
    assert code == 1
    assert len(lines) == 4  # of each damper
    ident = name.removeprefix("rules/").removesuffix(".toml")
    assert all(ident in line for line in lines)


def test_own_rules_count_from_a_folder_within_and_for_one_file(tmp_path, capsys):
    root = without_settings(tmp_path)
    (root / ".git").mkdir()
    put(root, "rules/ours/small.toml")
    (root / "builds").mkdir()
    build = (root / "heron-quarry.build.toml").rename(root / "builds" / "heron-quarry.build.toml")
    assert told(capsys, build) == told(capsys, build.parent) == told(capsys, root)
    assert told(capsys, build)[0] == 1


def test_a_broken_rule_is_told_without_settings(tmp_path, capsys):
    root = without_settings(tmp_path)
    put(root, "rules/ours/small.toml", "= broken")
    put(root, "rules/ours/half.toml", RULE.replace('level = "must"\n', ""))
    assert main(["inspect", str(root)]) == 2
    said = capsys.readouterr().err
    assert "rules/ours/small.toml:1:1: " in said
    assert "rules/ours/half.toml:1:1: level" in said


def test_files_of_other_tools_are_passed_over_without_settings(tmp_path, capsys):
    root = without_settings(tmp_path)
    put(root, "rules/other.toml", 'title = "another tool\'s"\n[[rules]]\nid = "x"\n')
    assert told(capsys, root) == (0, [])


def test_a_team_inside_does_not_escape_the_rules_around_it_without_a_word(tmp_path, capsys):
    (tmp_path / ".git").mkdir()
    put(tmp_path, "rules/ours/small.toml")
    team = repository(tmp_path / "guests")
    assert main(["inspect", str(team)]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "ours/small" in said
    assert "this folder is a team of its own, inside another one" in said


@pytest.mark.parametrize(
    "name",
    [
        "rules/ours/small.TOML",
        "rules/ours/small.toml.txt",
        "rules/ours/small.Toml.TXT",
        "rules/ours/small.tml",
        "Rules/ours/small.toml",
        "RULES/ours/small.toml",
    ],
)
@pytest.mark.parametrize("text", [RULE, "= broken"])
def test_a_rule_that_is_nearly_named_right_is_told(root, capsys, name, text):
    path = put(root, name, text)
    if (root / "rules" / "ours" / "small.toml").exists():
        pytest.skip("here capitals make no other file")
    for given in (root, path):
        code, (line,) = told(capsys, given)
        assert code == 1
        assert f"{name}:1:1: " in line
        assert (
            "is not read as a rule, because of its name; did you mean rules/ours/small.toml?"
            in line
        )


@pytest.mark.parametrize("settings", [True, False])
@pytest.mark.parametrize(
    "name", ["Buildlint.toml", "buildlint.TOML", "buildlint.toml.txt", "buildlint.tml"]
)
def test_settings_that_are_nearly_named_right_are_told(tmp_path, capsys, name, settings):
    root = repository(tmp_path) if settings else without_settings(tmp_path)
    path = put(root, name, '[change."pair/length"]\nsame_within = "0.1 mm"\n')
    if not settings and (root / "buildlint.toml").exists():
        pytest.skip("here capitals make no other file")
    for given in (root, path):
        code, (line,) = told(capsys, given)
        assert code == 1
        assert f"{name}:1:1: " in line
        assert 'is not read, because of its name; did you mean "buildlint.toml"?' in line


@pytest.mark.skipif(os.name == "nt", reason="needs links")
def test_where_capitals_make_no_other_file_nothing_is_told(root, capsys):
    """On such a disk both names are one file, as here by a link: it is read."""
    (root / "Buildlint.toml").symlink_to("buildlint.toml")
    (root / "rules" / "ours").mkdir(parents=True)
    put(root, "rules/ours/small.toml", RULE.replace("1 mm", "100 mm"))
    (root / "rules" / "ours" / "small.TOML").symlink_to("small.toml")
    assert told(capsys, root) == (0, [])


@pytest.mark.parametrize("name", ["rules/notes.md", "rules/ours/small.toml.bak", "Rules.toml"])
def test_what_nobody_would_take_for_a_rule_is_not_told(root, capsys, name):
    put(root, name)
    assert told(capsys, root) == (0, [])


@pytest.mark.parametrize(
    ("name", "meant"),
    [
        ("teal.build.tml", "teal.build.toml"),
        ("deep/teal.Car.TOML", "teal.car.toml"),
        ("teal.evnet.toml", "teal.event.toml"),
        ("teal.parts.toml.txt", "teal.parts.toml"),
        ("a\x1b[31m::error::.bulid.toml", "a\\x1b[31m"),
    ],
)
def test_a_file_whose_name_is_near_a_kind_is_told(root, capsys, name, meant):
    put(root, name, "x = 1")
    for given in (root, root / name):
        code, (line,) = told(capsys, given)
        assert code == 1
        assert f'is not read, because of its name; did you mean "{meant}' in line
        assert line.isprintable()


@pytest.mark.parametrize(
    "name",
    ["teal.toml", "teal.may.toml", "build.toml", ".teal.bulid.toml", ".old/teal.bulid.toml"],
)
def test_a_file_whose_name_is_near_none_is_not_opened(root, capsys, name):
    build = (root / "heron-quarry.build.toml").read_text(encoding="utf-8")
    path = put(root, name, build)
    path.chmod(0)
    assert told(capsys, root) == (0, [])


def test_one_that_is_named_all_the_same_is_refused_with_the_names_that_are_read(root, capsys):
    assert main(["inspect", str(put(root, "teal.toml"))]) == 2
    assert "is not read: a file's name ends in" in capsys.readouterr().err


@pytest.mark.parametrize("name", ["Rules/ours/small.toml", "rules/small.TOML", "Buildlint.toml"])
def test_a_commit_of_one_is_told(root, capsys, monkeypatch, name):
    def git(*words: str) -> None:
        who = ("-c", "user.name=a", "-c", "user.email=a@b", "-c", "commit.gpgsign=false")
        subprocess.run(["git", *who, *words], cwd=root, check=True, capture_output=True)

    monkeypatch.chdir(root)
    git("init", "--quiet")
    git("add", ".")
    git("commit", "--quiet", "--message", "as it was")
    put(root, name)
    if len(list(root.glob("?uildlint.toml"))) == 1 and name == "Buildlint.toml":
        pytest.skip("here capitals make no other file")
    git("add", ".")
    code, (line,) = told(capsys, "--named", name)
    assert code == 1
    assert line.startswith(f"{name}:1:1: ")
    git("commit", "--quiet", "--message", "with it")
    git("rm", "--quiet", name)
    assert told(capsys, "--named") == (0, [])

"""What git keeps and the disk does not show as it is kept: it is told, never passed by."""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
from pathlib import Path

import pytest

from buildlint import inspect_team
from buildlint.commands.cli import main
from tests.in_git import git, own_git  # noqa: F401 - every test here has it
from tests.making import build_path, repository

pytestmark = pytest.mark.skipif(shutil.which("git") is None, reason="git is not installed")

COMMANDS = [["inspect"], ["inspect", "--named", "heron-quarry.build.toml"]]


@pytest.fixture
def root(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A sound team in a git repository of its own, in which one stands."""
    folder = repository(tmp_path.resolve() / "team")
    git(folder, "init", "-q")
    git(folder, "add", ".")
    git(folder, "commit", "-q", "-m", "a start")
    monkeypatch.chdir(folder)
    return folder


def told(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str]:
    """Run a command; give its exit code and what it says beside the report."""
    capsys.readouterr()
    code = main(words)
    return code, capsys.readouterr().err


def test_hidden_files_of_a_teams_kinds_that_git_tracks_are_told(
    root: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert told(capsys, "inspect") == (0, "")
    for name in (".old/teal.build.toml", "deep/.kept.parts.toml", ".tools/settings.toml"):
        (root / name).parent.mkdir(exist_ok=True)
        (root / name).write_text("x = 1\n", encoding="utf-8")
    assert told(capsys, "inspect") == (0, "")  # nobody's but the disk's
    git(root, "add", ".")
    code, said = told(capsys, "inspect")
    assert code == 0
    assert said == (
        "buildlint: .old/teal.build.toml, deep/.kept.parts.toml: in git, but not judged, for a "
        "name that begins with a dot is passed over\n"
    )


@pytest.mark.parametrize("flag", ["--assume-unchanged", "--skip-worktree"])
def test_files_that_git_was_told_not_to_look_at_are_told_where_they_differ(
    root: Path, capsys: pytest.CaptureFixture[str], flag: str
) -> None:
    build = build_path(root)
    git(root, "update-index", flag, build.name)
    assert told(capsys, "inspect") == (0, "")
    build.write_bytes(build.read_bytes() + b"# later\n")
    code, said = told(capsys, "inspect")
    assert (code, said.count("\n")) == (0, 1)
    assert said.startswith(f"buildlint: {build.name}: git was told not to look")
    build.rename("another.build.toml")
    code, said = told(capsys, "inspect")
    assert said == f"buildlint: {build.name}: in git, but not checked out here, so not judged\n"


def test_what_a_sparse_checkout_leaves_out_is_not_said_to_be_missing(root: Path) -> None:
    git(root, "update-index", "--skip-worktree", "heron.car.toml", "drawers.parts.toml")
    (root / "heron.car.toml").unlink()
    (root / "drawers.parts.toml").unlink()
    messages = {f.message for f in inspect_team(root).in_files if f.rule == "file/no-such-id"}
    assert 'the car "heron" is not checked out here: git has it in heron.car.toml' in messages
    assert 'no oil "o450" is checked out here; git has more parts in drawers.parts.toml' in messages
    # one that git has nowhere is missing
    build = build_path(root)
    text = build.read_text(encoding="utf-8")
    build.write_text(text.replace('event = "quarry"', 'event = "quary"'), encoding="utf-8")
    messages = {f.message for f in inspect_team(root).in_files if f.rule == "file/no-such-id"}
    assert 'there is no event "quary"; did you mean "quarry"?' in messages


def test_a_file_that_is_gone_though_git_looks_at_it_is_missing(root: Path) -> None:
    (root / "heron.car.toml").unlink()
    messages = [f.message for f in inspect_team(root).in_files if f.rule == "file/no-such-id"]
    assert 'there is no car "heron", nor any other car' in messages


def test_a_file_differs_by_what_it_holds_whatever_git_may_convert(
    root: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Neither other ends of lines nor a later time are a change; a link in its place is one."""
    car, drawers = root / "heron.car.toml", root / "drawers.parts.toml"
    git(root, "update-index", "--assume-unchanged", car.name, drawers.name)
    car.write_bytes(car.read_bytes().replace(b"\n", b"\r\n"))
    os.utime(drawers, (1e9, 1e9))
    assert told(capsys, "inspect") == (0, "")
    (root / "drawers.txt").write_bytes(drawers.read_bytes())
    drawers.unlink()
    drawers.symlink_to("drawers.txt")
    assert told(capsys, "inspect")[1].startswith("buildlint: drawers.parts.toml: git was told not")
    car.write_bytes(car.read_bytes() + b"# later\r\n")
    assert told(capsys, "inspect")[1].startswith("buildlint: drawers.parts.toml, heron.car.toml: ")


def test_a_repository_of_long_ids(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    root = repository(tmp_path.resolve() / "long")
    try:
        git(root, "init", "-q", "--object-format=sha256")
    except subprocess.CalledProcessError:
        pytest.skip("this git knows no other ids")
    git(root, "add", ".")
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(root)
        assert told(capsys, *COMMANDS[1]) == (0, "")  # the first commit
        git(root, "commit", "-q", "-m", "a start")
        git(root, "update-index", "--assume-unchanged", build_path(root).name)
        assert told(capsys, "inspect") == (0, "")
        build_path(root).write_bytes(build_path(root).read_bytes() + b"# later\n")
        assert told(capsys, "inspect")[1].count("git was told not to look") == 1
        assert told(capsys, "compare", "HEAD", "heron-quarry") == (0, "")


# --- where git refuses ---------------------------------------------------------------------------


def test_git_s_own_words_are_shown_where_it_refuses(
    root: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("LC_ALL", "C")
    code, said = told(capsys, "compare", "no-such-branch", "heron-quarry")
    assert code == 2
    assert "(git says: Needed a single revision)" in said
    index = (root / ".git" / "index").read_bytes()
    (root / ".git" / "index").write_bytes(b"broken")
    code, said = told(capsys, *COMMANDS[1])
    assert (code, said.count("\n")) == (2, 1)
    assert "git says: " in said
    assert "index file" in said
    (root / ".git" / "index").write_bytes(index)
    with (root / ".git" / "config").open("a", encoding="utf-8") as config:
        config.write("[core]\n\tbare = \x1b[31m::error::x\n")
    code, said = told(capsys, *COMMANDS[1])
    assert (code, said.isascii()) == (2, True)
    assert "git says: " in said
    assert "\x1b" not in said


def test_a_repository_of_someone_else_s_is_named_as_git_does(
    root: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    # git's own way to try it without a second user
    monkeypatch.setenv("GIT_TEST_ASSUME_DIFFERENT_OWNER", "1")
    code, said = told(capsys, *COMMANDS[1])
    assert (code, said.count("\n")) == (2, 1)
    assert "git config --global --add safe.directory" in said
    assert told(capsys, "inspect") == (0, "")  # which needs no git


def test_files_that_a_repository_says_are_elsewhere_are_not_read(
    root: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """By core.worktree, which a stranger may have set, git takes a folder above for the top."""
    (root.parent / "secret.build.toml").write_text("secret = 1\n", encoding="utf-8")
    git(root, "config", "core.worktree", str(root.parent))
    git(root.parent, "--git-dir=team/.git", "--work-tree=.", "add", "secret.build.toml")
    code, said = told(capsys, *COMMANDS[1])
    assert code == 2
    assert "core.worktree" in said
    assert "secret" not in said


@pytest.mark.parametrize("name", ["../secret.build.toml", "/tmp/secrets.build.toml"])
def test_a_name_in_the_index_that_leads_out_is_passed_by(
    root: Path, capsys: pytest.CaptureFixture[str], name: str
) -> None:
    """Git adds no such name; an index that was made by hand can have it."""
    (root.parent / "secret.build.toml").write_text("secret = 1\n", encoding="utf-8")
    stand_in = "z" * len(name)
    (root / stand_in).write_text("secret = 2\n", encoding="utf-8")
    git(root, "add", ".")
    index = root / ".git" / "index"
    content = index.read_bytes()[:-20].replace(stand_in.encode(), name.encode())
    index.write_bytes(content + hashlib.sha1(content, usedforsecurity=False).digest())
    assert name in git(root, "ls-files")
    for command in COMMANDS:
        code = main(command)
        printed = capsys.readouterr()
        assert code == 0
        assert "secret" not in printed.out + printed.err


def test_a_git_in_the_folder_itself_is_not_the_one_that_is_asked(
    root: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("git", "git.exe"):
        (root / name).write_text("#!/bin/sh\ntouch ran\n", encoding="utf-8")
        (root / name).chmod(0o755)
    monkeypatch.setenv("PATH", os.pathsep.join([".", "", os.environ["PATH"]]))
    assert told(capsys, *COMMANDS[1])[0] == 0
    assert told(capsys, "compare", "HEAD", "heron-quarry")[0] == 0
    assert not (root / "ran").exists()

"""Asking git: what it answers, and that it runs nothing else."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

from buildlint.team.git import git, git_bytes, top_of, without_history
from buildlint.text.errors import PathError
from tests.in_git import own_git  # noqa: F401 - every test here has it

pytestmark = pytest.mark.skipif(shutil.which("git") is None, reason="git is not installed")


@pytest.fixture
def root(tmp_path: Path) -> Path:
    """A repository with one file that git knows."""
    folder = tmp_path.resolve() / "saltmarsh"
    folder.mkdir()
    (folder / "é b.txt").write_text("x\n", encoding="utf-8")
    for words in (("init", "-q"), ("add", "-A")):
        subprocess.run(["git", *words], cwd=folder, check=True)
    return folder


def test_names_come_one_by_one_and_the_top_is_found_from_below(root: Path) -> None:
    assert git(root, "ls-files", "-z") == ["é b.txt"]
    (root / "deep").mkdir()
    assert top_of(root / "deep") == root


def test_what_is_told_is_read_and_the_answer_stands_as_it_is(root: Path) -> None:
    """The id of "hello\\n" as a blob, as git's own book prints it for `echo hello`."""
    found = git_bytes(root, "hash-object", "--stdin", told=b"hello\n")
    assert found == b"ce013625030ba8dba906f756967f9e9ca394464a\n"


def test_nothing_is_read_from_the_terminal(root: Path) -> None:
    """The empty blob."""
    found = git_bytes(root, "hash-object", "--stdin")
    assert found == b"e69de29bb2d1d6434b8b29ae775ad8c2e48c5391\n"


@pytest.mark.parametrize("word", ["no-such-command", "a\0b", "\ud800"])
def test_what_git_cannot_do_is_one_message(root: Path, word: str) -> None:
    with pytest.raises(PathError, match="is in no git repository that can be read"):
        git(root, word)


def test_a_helper_that_watches_files_is_not_run(root: Path) -> None:
    ran = root.parent / "ran"
    script = root.parent / "script"
    script.write_text(f"#!/bin/sh\ntouch {ran}\n", encoding="utf-8")
    script.chmod(0o755)
    subprocess.run(["git", "config", "core.fsmonitor", str(script)], cwd=root, check=True)
    assert git(root, "diff", "--name-only", "-z") == []
    assert not ran.exists()
    # it would be: git itself runs it
    subprocess.run(["git", "status"], cwd=root, check=True, capture_output=True)
    assert ran.exists()


def test_a_folder_in_no_repository_lacks_no_history(root: Path) -> None:
    assert without_history(root) == ""
    assert without_history(root.parent) == ""

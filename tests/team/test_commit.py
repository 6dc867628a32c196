"""What git tracks, and what a commit or a range of commits deletes."""

import shutil
from pathlib import Path

import pytest

from buildlint.team.commit import deleted_files, in_merge, judged_elsewhere, tracked_files
from buildlint.text.errors import PathError
from tests.in_git import git, own_git  # noqa: F401 - every test here has it

pytestmark = pytest.mark.skipif(shutil.which("git") is None, reason="git is not installed")


def write(root: Path, *names: str, text: str = "x = 1\n") -> None:
    for name in names:
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        (root / name).write_text(text, encoding="utf-8")


def commit(root: Path) -> str:
    git(root, "add", "-A")
    git(root, "commit", "-qm", "one more", "--allow-empty")
    return git(root, "rev-parse", "HEAD")


@pytest.fixture
def root(tmp_path: Path) -> Path:
    """A repository with one commit; as git names it, with no link in its path."""
    folder = tmp_path.resolve() / "saltmarsh"
    folder.mkdir()
    git(folder, "init", "-q", "-b", "main")
    write(folder, "a.build.toml", "cars/heron.car.toml", 'odd "é\n".parts.toml')
    commit(folder)
    return folder


def names(root: Path, paths: "set[Path] | list[Path]") -> list[str]:
    return sorted(path.relative_to(root).as_posix() for path in paths)


def test_what_is_tracked_is_what_was_added_whatever_its_name(root: Path) -> None:
    write(root, "new.build.toml", "- b.car.toml")
    git(root, "add", "--", "- b.car.toml")
    found = tracked_files(root)
    assert names(root, found) == [
        *("- b.car.toml", "a.build.toml", "cars/heron.car.toml", 'odd "é\n".parts.toml')
    ]


def test_the_files_of_a_submodule_are_tracked(root: Path, tmp_path: Path) -> None:
    git(tmp_path, "clone", "-q", str(root), "season")
    season = tmp_path.resolve() / "season"
    always = ("-c", "protocol.file.allow=always")
    git(season, *always, "submodule", "add", "-q", str(root), "shared")
    assert season / "shared/cars/heron.car.toml" in tracked_files(season)


def test_a_commit_deletes_what_is_no_longer_staged_and_a_rename_deletes_the_old_name(
    root: Path,
) -> None:
    (root / "a.build.toml").unlink()
    assert deleted_files(root) == []  # not staged
    git(root, "rm", "-q", "--cached", "cars/heron.car.toml")  # still on the disk
    git(root, "mv", 'odd "é\n".parts.toml', "even.parts.toml")
    assert names(root, deleted_files(root)) == ["cars/heron.car.toml", 'odd "é\n".parts.toml']


def test_a_first_commit_deletes_nothing(tmp_path: Path) -> None:
    git(tmp_path, "init", "-q")
    write(tmp_path, "a.build.toml")
    git(tmp_path, "add", "-A")
    assert deleted_files(tmp_path.resolve()) == []


@pytest.fixture
def branch(root: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A branch that deletes a.build.toml, while main deletes the car; the range of both is set."""
    git(root, "switch", "-qc", "branch")
    (root / "a.build.toml").unlink()
    commit(root)
    git(root, "switch", "-q", "main")
    (root / "cars" / "heron.car.toml").unlink()
    commit(root)
    git(root, "switch", "-q", "branch")
    monkeypatch.setenv("PRE_COMMIT_FROM_REF", "main")
    monkeypatch.setenv("PRE_COMMIT_TO_REF", "branch")
    return root


def test_a_branch_deletes_what_it_deletes_since_it_left(branch: Path) -> None:
    git(branch, "rm", "-q", 'odd "é\n".parts.toml')  # staged, and in no range
    assert names(branch, deleted_files(branch)) == ["a.build.toml"]
    assert judged_elsewhere(branch) is None


def test_one_end_alone_is_no_range(branch: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PRE_COMMIT_FROM_REF", "")
    assert deleted_files(branch) == []


def test_branches_with_nothing_in_common_are_compared_as_they_are(
    branch: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    git(branch, "switch", "-q", "--orphan", "other")
    write(branch, "a.build.toml")
    commit(branch)
    monkeypatch.setenv("PRE_COMMIT_TO_REF", "other")
    assert names(branch, deleted_files(branch)) == ['odd "é\n".parts.toml']


def test_the_end_of_a_range_that_is_not_checked_out_is_named(branch: Path) -> None:
    git(branch, "switch", "-q", "--detach", "main")
    assert judged_elsewhere(branch) == "branch"


def test_a_merge_by_hand_is_known(branch: Path) -> None:
    assert not in_merge(branch)
    git(branch, "merge", "-q", "--no-commit", "main")
    assert in_merge(branch)


def test_where_git_cannot_say(root: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "plain").mkdir()
    for ask in (tracked_files, deleted_files):
        with pytest.raises(PathError, match="is in no git repository that can be read"):
            ask(tmp_path / "plain")
    monkeypatch.setenv("PATH", str(root / "nowhere"))
    with pytest.raises(PathError, match="git is not installed, or the folder is gone"):
        tracked_files(root)


def test_an_end_of_a_range_that_git_does_not_know_is_named(
    root: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """A server that builds often clones the last commit alone."""
    commit(root)
    monkeypatch.setenv("PRE_COMMIT_FROM_REF", "HEAD~1")
    monkeypatch.setenv("PRE_COMMIT_TO_REF", "HEAD")
    assert deleted_files(root) == []
    shallow = tmp_path.resolve() / "shallow"
    git(tmp_path, "clone", "-q", "--depth", "1", root.as_uri(), str(shallow))
    with pytest.raises(PathError) as caught:
        deleted_files(shallow)
    assert str(caught.value) == (
        "git does not know HEAD~1 here (git says: Needed a single revision)"
        ": was this clone made without its history?"
    )
    # where all of it is there, that is not the question
    monkeypatch.setenv("PRE_COMMIT_FROM_REF", "HEAD")
    monkeypatch.setenv("PRE_COMMIT_TO_REF", "HEAD~99\x1b[31m")
    with pytest.raises(PathError) as caught:
        deleted_files(root)
    said = str(caught.value)
    assert said.startswith(r"git does not know HEAD~99\x1b[31m here (git says: ")
    assert "history" not in said


def test_a_range_that_reads_like_an_option_is_refused(
    root: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("PRE_COMMIT_FROM_REF", f"--output={tmp_path / 'written'}")
    monkeypatch.setenv("PRE_COMMIT_TO_REF", "HEAD")
    with pytest.raises(PathError, match="no commit is written so"):
        deleted_files(root)
    assert not (tmp_path / "written").exists()

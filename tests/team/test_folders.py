"""A repository's root, and which files below it are the team's."""

from pathlib import Path

import pytest

from buildlint.team.folders import files_below, find_root
from buildlint.team.load import load_team
from tests.small_team import CAR, FILES, OILS, told, write


@pytest.fixture
def root(tmp_path: Path) -> Path:
    return write(tmp_path / "saltmarsh", FILES)


def test_the_root_is_the_nearest_folder_with_settings(tmp_path: Path) -> None:
    deep = tmp_path / "a" / "b" / "c"
    deep.mkdir(parents=True)
    (tmp_path / "a" / "buildlint.toml").touch()
    (tmp_path / "buildlint.toml").touch()
    assert find_root(deep) == tmp_path / "a"
    assert find_root(tmp_path / "a") == tmp_path / "a"
    assert find_root(tmp_path) == tmp_path


def test_settings_further_up_win_over_a_git_folder_nearer_by(tmp_path: Path) -> None:
    deep = tmp_path / "a" / "b"
    (deep / ".git").mkdir(parents=True)
    assert find_root(deep) == deep
    (tmp_path / "buildlint.toml").touch()
    assert find_root(deep) == tmp_path


def test_a_git_folder_or_the_file_that_stands_for_one_marks_the_root(tmp_path: Path) -> None:
    (tmp_path / "a" / "b").mkdir(parents=True)
    (tmp_path / "a" / ".git").write_text("gitdir: elsewhere\n")
    assert find_root(tmp_path / "a" / "b") == tmp_path / "a"


def test_without_a_mark_the_root_is_the_folder_given_or_the_files(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "a"
    folder.mkdir()
    file = folder / "x.build.toml"
    file.touch()
    # marks above the test's own folder are none of its matter
    real = Path.exists
    monkeypatch.setattr(
        Path, "exists", lambda self, **k: self.is_relative_to(tmp_path) and real(self, **k)
    )
    assert find_root(folder) == folder
    assert find_root(file) == folder
    assert find_root(folder / "gone.build.toml") == folder
    monkeypatch.chdir(folder)
    assert find_root(Path("x.build.toml")) == folder


def test_hidden_folders_and_nested_roots_are_passed_over(root: Path) -> None:
    write(
        root,
        {
            ".venv/oils.parts.toml": OILS,
            "cars/.old/heron.car.toml": CAR,
            ".hidden.parts.toml": OILS,
            "guests/buildlint.toml": "",
            "guests/oils.parts.toml": OILS,
            "guests/deep/down/heron.car.toml": CAR,
        },
    )
    team = load_team(root)
    assert told(team) == []
    assert sorted(files_below(root)) == sorted(
        root / name for name in FILES if name != "buildlint.toml"
    )
    guests = load_team(root / "guests" / "deep")
    assert guests.root == root / "guests"
    assert sorted(files_below(guests.root)) == [
        root / "guests/deep/down/heron.car.toml",
        root / "guests/oils.parts.toml",
    ]


def test_a_folder_named_like_a_file_is_given_and_not_entered(root: Path) -> None:
    write(root, {"odd.parts.toml/oils.parts.toml": OILS})
    team = load_team(root)
    assert told(team) == [
        (
            "odd.parts.toml",
            "file/unreadable",
            1,
            1,
            1,
            "is a folder, though named like a parts file",
        )
    ]


def test_links_to_folders_are_not_followed(root: Path, tmp_path: Path) -> None:
    write(tmp_path / "outside", {"oils.parts.toml": OILS})
    (root / "link").symlink_to(tmp_path / "outside", target_is_directory=True)
    (root / "ring").symlink_to(root, target_is_directory=True)
    assert sorted(files_below(root)) == sorted(
        root / name for name in FILES if name != "buildlint.toml"
    )


def test_a_folder_that_cannot_be_opened_is_passed_over(root: Path) -> None:
    assert list(files_below(root / "gone")) == []

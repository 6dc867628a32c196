"""What git knows: the files it tracks, and those that a commit changes."""

import shutil
from pathlib import Path

import pytest

from buildlint import inspect_team
from buildlint.team import commit
from buildlint.team.commit import changed_in_commit, differs_from_staged, tracked_files
from buildlint.team.folders import files_below
from buildlint.text.errors import PathError
from tests.files.reading import BUILD
from tests.in_git import git, own_git  # noqa: F401 - every test here has it

pytestmark = pytest.mark.skipif(shutil.which("git") is None, reason="git is not installed")


def write(root: Path, *names: str, text: str = "x = 1\n") -> None:
    for name in names:
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        (root / name).write_text(text, encoding="utf-8")


@pytest.fixture
def root(tmp_path: Path) -> Path:
    """A repository with one commit; as git names it, with no link in its path."""
    folder = tmp_path.resolve() / "saltmarsh"
    folder.mkdir()
    git(folder, "init", "-q")
    write(folder, "buildlint.toml", text="")
    write(
        folder,
        "a.build.toml",
        "cars/heron.car.toml",
        "notes.toml",
        "é.parts.toml",
    )
    git(folder, "add", "-A")
    git(folder, "commit", "-qm", "first")
    return folder


def changed(root: Path) -> list[str]:
    return sorted(path.relative_to(root).as_posix() for path in changed_in_commit(root))


# --- files that git tracks -----------------------------------------------------------------------


def test_only_files_of_a_known_kind_that_git_tracks_are_given(root: Path) -> None:
    write(root, "new.build.toml", "cars/new.car.toml")
    assert sorted(tracked_files(root)) == [
        root / "a.build.toml",
        root / "cars/heron.car.toml",
        root / "é.parts.toml",
    ]
    git(root, "add", "new.build.toml")
    assert root / "new.build.toml" in tracked_files(root)


def test_a_tracked_file_that_is_gone_is_not_given(root: Path) -> None:
    (root / "a.build.toml").unlink()
    assert root / "a.build.toml" not in tracked_files(root)
    (root / "a.build.toml").symlink_to("nowhere")
    assert root / "a.build.toml" in tracked_files(root)


def test_hidden_folders_and_roots_of_other_teams_are_passed_over(root: Path) -> None:
    write(
        root,
        "guests/buildlint.toml",
        "guests/a.build.toml",
        "guests/deep/down/b.build.toml",
        ".old/c.build.toml",
        "cars/.old/heron.car.toml",
        "deep/down/d.build.toml",
    )
    git(root, "add", "-A")
    assert sorted(tracked_files(root)) == [
        root / "a.build.toml",
        root / "cars/heron.car.toml",
        root / "deep/down/d.build.toml",
        root / "é.parts.toml",
    ]
    assert sorted(tracked_files(root / "guests")) == [
        root / "guests/a.build.toml",
        root / "guests/deep/down/b.build.toml",
    ]


# --- files that a commit changes -----------------------------------------------------------------


def test_what_git_tracks_is_what_the_disk_has_below_a_root(root: Path) -> None:
    """However odd its names: a commit is judged by the same files as the whole is."""
    write(
        root,
        *(".hidden.build.toml", "odd.car.toml/inner.build.toml", "deep/.old/e.build.toml"),
        *("guests/buildlint.toml", "guests/deep/f.build.toml", "deep/down/b.car.toml"),
    )
    git(root, "add", "-A", "-f")
    on_disk = sorted(path for path in files_below(root) if path.is_file())
    assert sorted(tracked_files(root)) == on_disk
    assert [path.name for path in on_disk] == [
        *("a.build.toml", "heron.car.toml", "b.car.toml", "é.parts.toml")
    ]
    guests = root / "guests"
    assert sorted(tracked_files(guests)) == sorted(files_below(guests))


def test_what_is_staged_is_given_and_what_is_not_is_not(root: Path) -> None:
    write(root, "a.build.toml", "cars/heron.car.toml", text="x = 2\n")
    write(root, "new.build.toml")
    git(root, "add", "a.build.toml", "new.build.toml")
    assert changed(root) == ["a.build.toml", "new.build.toml"]


def test_a_deleted_file_is_given(root: Path) -> None:
    git(root, "rm", "-q", "é.parts.toml")
    assert changed(root) == ["é.parts.toml"]


def test_a_renamed_file_is_given_under_both_names(root: Path) -> None:
    git(root, "mv", "cars/heron.car.toml", "cars/curlew.car.toml")
    assert changed(root) == ["cars/curlew.car.toml", "cars/heron.car.toml"]


def test_settings_and_own_rules_matter_and_other_files_do_not(root: Path) -> None:
    write(
        root,
        "buildlint.toml",
        "rules/bladder/own.toml",
        "sub/rules/x.toml",
        "rules.toml",
        "notes.toml",
        "rules/readme.md",
        "read.me",
        text="x = 2\n",
    )
    git(root, "add", "-A")
    assert changed(root) == ["buildlint.toml", "rules/bladder/own.toml", "sub/rules/x.toml"]


def test_where_only_other_files_are_staged_nothing_is_given(root: Path) -> None:
    write(root, "notes.toml", text="x = 2\n")
    git(root, "add", "-A")
    assert changed(root) == []


def test_where_nothing_is_staged_the_whole_repository_is_meant(root: Path) -> None:
    assert changed_in_commit(root / "cars") == [root]


def test_a_first_commit_has_all_its_files(tmp_path: Path) -> None:
    folder = tmp_path.resolve() / "new"
    folder.mkdir()
    git(folder, "init", "-q")
    write(folder, "a.build.toml")
    git(folder, "add", "-A")
    assert changed(folder) == ["a.build.toml"]


def test_a_folder_below_gives_paths_of_the_whole_repository(root: Path) -> None:
    write(root, "a.build.toml", text="x = 2\n")
    git(root, "add", "-A")
    assert changed_in_commit(root / "cars") == [root / "a.build.toml"]


def test_names_with_blanks_quotes_and_newlines(root: Path) -> None:
    names = ['a b "c".build.toml', "d\ne.build.toml", "ü.build.toml"]
    write(root, *names)
    git(root, "add", "-A")
    assert changed(root) == sorted(names)


def test_a_range_of_commits_is_what_a_hook_runner_says(
    root: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = git(root, "rev-parse", "HEAD")
    write(root, "b.build.toml")
    git(root, "add", "-A")
    git(root, "commit", "-qm", "second")
    write(root, "staged.build.toml")
    git(root, "add", "-A")
    monkeypatch.setenv("PRE_COMMIT_FROM_REF", first)
    assert changed(root) == ["staged.build.toml"]  # one end alone is no range
    monkeypatch.setenv("PRE_COMMIT_TO_REF", "HEAD")
    assert changed(root) == ["b.build.toml"]
    monkeypatch.setenv("PRE_COMMIT_TO_REF", first)
    assert changed(root) == []


# --- where git cannot say ------------------------------------------------------------------------


def test_a_folder_in_no_repository(tmp_path: Path) -> None:
    folder = tmp_path / "plain"
    folder.mkdir()
    for ask in (tracked_files, changed_in_commit):
        with pytest.raises(PathError, match="is in no git repository that can be read"):
            ask(folder)


def test_a_range_that_git_does_not_know(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PRE_COMMIT_FROM_REF", "no-such-commit")
    monkeypatch.setenv("PRE_COMMIT_TO_REF", "HEAD")
    with pytest.raises(PathError):
        changed_in_commit(root)


def test_an_end_of_a_range_that_git_does_not_know_is_named(
    root: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """A server that builds often clones the last commit alone."""
    write(root, "b.build.toml")
    git(root, "add", "-A")
    git(root, "commit", "-qm", "second")
    monkeypatch.setenv("PRE_COMMIT_FROM_REF", "HEAD~1")
    monkeypatch.setenv("PRE_COMMIT_TO_REF", "HEAD")
    assert changed(root) == ["b.build.toml"]
    shallow = tmp_path.resolve() / "shallow"
    git(tmp_path, "clone", "-q", "--depth", "1", root.as_uri(), str(shallow))
    with pytest.raises(PathError) as caught:
        changed_in_commit(shallow)
    assert str(caught.value) == (
        "git does not know HEAD~1 here (git says: Needed a single revision)"
        ": was this clone made without its history?"
    )
    # where all of it is there, that is not the question
    monkeypatch.setenv("PRE_COMMIT_FROM_REF", "HEAD")
    monkeypatch.setenv("PRE_COMMIT_TO_REF", "HEAD~99\x1b[31m")
    with pytest.raises(PathError) as caught:
        changed_in_commit(root)
    said = str(caught.value)
    assert said.startswith(r"git does not know HEAD~99\x1b[31m here (git says: ")
    assert "history" not in said


def test_without_git_it_is_said_so(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", str(root / "nowhere"))
    with pytest.raises(PathError, match="git is not installed, or the folder is gone"):
        tracked_files(root)


def test_a_path_error_is_no_program_error() -> None:
    assert issubclass(commit.PathError, ValueError)


# --- as a hook -----------------------------------------------------------------------------------


def team_in_a_subfolder(root: Path) -> Path:
    """A repository with the Saltmarsh team in a folder of it, committed."""
    saltmarsh = Path(__file__).parent.parent.parent / "examples" / "saltmarsh"
    shutil.copytree(saltmarsh, root / "team")
    git(root, "add", "-A")
    git(root, "commit", "-qm", "the team")
    return root / "team"


def test_in_a_linked_worktree_the_team_in_a_subfolder_is_found(
    root: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """git runs a hook there at the top, with GIT_DIR set and GIT_WORK_TREE not."""
    team_in_a_subfolder(root)
    linked = root.parent / "linked"
    git(root, "worktree", "add", "-q", str(linked))
    monkeypatch.setenv("GIT_DIR", git(linked, "rev-parse", "--absolute-git-dir"))
    monkeypatch.chdir(linked)
    assert len(tracked_files(linked / "team")) == 11
    git(linked, "rm", "-q", "team/cars/heron.car.toml")
    found = inspect_team(changed_in_commit(linked), tracked=True)
    assert {f.rule for f in found.in_files} == {"file/no-such-id"}
    assert not found.passes()


def test_a_staged_deletion_counts_though_the_file_still_lies_on_the_disk(
    root: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    team = team_in_a_subfolder(root)
    monkeypatch.chdir(root)
    git(root, "rm", "-q", "--cached", "team/cars/heron.car.toml")
    assert (team / "cars" / "heron.car.toml").exists()
    found = inspect_team(changed_in_commit(root), tracked=True)
    assert {f.rule for f in found.in_files} == {"file/no-such-id"}


def test_a_range_that_reads_like_an_option_is_refused(
    root: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("PRE_COMMIT_FROM_REF", f"--output={tmp_path / 'written'}")
    monkeypatch.setenv("PRE_COMMIT_TO_REF", "HEAD")
    with pytest.raises(PathError, match="range of commits"):
        changed_in_commit(root)
    assert not (tmp_path / "written").exists()


def test_a_branch_that_is_new_is_judged_whole(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PRE_COMMIT_FROM_REF", "0" * 40)
    monkeypatch.setenv("PRE_COMMIT_TO_REF", "HEAD")
    assert changed_in_commit(root) == [root]


def test_what_stands_otherwise_on_disk_than_staged_is_named(root: Path) -> None:
    assert differs_from_staged(root) == []
    write(root, "a.build.toml", "notes.toml", text="x = 2\n")
    assert differs_from_staged(root) == ["a.build.toml"]


RULE = """\
title = "The hold-back is nothing"
level = "must"
measure = "hold_back"
at_most = "0 mm"
source = "ours"
why = "w"
cure = "c"
"""


def test_a_commit_of_settings_or_rules_alone_judges_every_build_of_the_team(
    root: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Added, and then deleted with their folder: what a rule of the team's own refuses is told."""
    team = team_in_a_subfolder(root)
    monkeypatch.chdir(root)
    builds = len(list(team.glob("builds/*.build.toml")))
    write(team, "rules/pair/mine.toml", text=RULE)
    git(root, "add", "-A")
    found = inspect_team(changed_in_commit(root), tracked=True)
    assert found.counts.builds == builds == 5
    assert not found.passes()
    git(root, "commit", "-qm", "a rule")
    git(root, "rm", "-rq", "team/rules")
    assert not (team / "rules").exists()
    found = inspect_team(changed_in_commit(root), tracked=True)
    assert (found.counts.builds, found.passes()) == (builds, True)
    git(root, "commit", "-qm", "no rules")
    write(team, "buildlint.toml", text='[change."pair/length"]\nleave_out = true\n')
    git(root, "add", "-A")
    found = inspect_team(changed_in_commit(root), tracked=True)
    # settings that are new also bring the team around, which may have lost what is below them
    assert found.counts.builds == builds + 1
    assert [(change.rule, change.kind) for change in found.changes] == [("pair/length", "left out")]


def test_a_folder_rules_that_is_not_the_teams_is_passed_over(
    root: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Another program may keep its rules in the same repository: no commit is refused for that."""
    team_in_a_subfolder(root)
    monkeypatch.chdir(root)
    write(root, "tools/rules/mine.toml", text="= not ours\n")
    git(root, "add", "-A")
    assert changed(root) == ["tools/rules/mine.toml"]
    found = inspect_team(changed_in_commit(root), tracked=True)
    assert (found.findings, found.counts.builds, found.passes()) == ([], 0, True)


def test_a_file_that_is_nearly_named_right_is_told_in_its_commit(
    root: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Files whose name is not near one of ours are nobody's matter, whatever they hold."""
    monkeypatch.chdir(root)
    write(root, "teal-hill.toml", "teal.build.tml", text=BUILD)
    write(root, "pyproject.toml", "deep/Cargo.toml", text='[package]\nname = "x"\n')
    git(root, "add", "-A")
    assert changed(root) == ["teal.build.tml"]
    found = inspect_team(changed_in_commit(root), tracked=True)
    told = [(f.rule, f.path.name) for f in found.in_files if f.path is not None]
    assert told == [("file/misnamed", "teal.build.tml")]
    git(root, "commit", "-qm", "second")
    # all of it
    found = inspect_team(changed_in_commit(root), tracked=True)
    assert [f.path.name for f in found.in_files if f.rule == "file/misnamed" and f.path] == [
        "teal.build.tml",
    ]
    git(root, "mv", "teal-hill.toml", "teal-hill.build.toml")
    git(root, "rm", "-q", "teal.build.tml")
    found = inspect_team(changed_in_commit(root), tracked=True)
    assert "file/misnamed" not in {f.rule for f in found.in_files}
    assert found.counts.builds == 1


@pytest.mark.parametrize("name", ["x.bulid.toml", ".old/x.bulid.toml", "x.build.tml"])
def test_a_misnamed_file_that_goes_or_is_hidden_refuses_no_commit(
    root: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    monkeypatch.chdir(root)
    write(root, name, text=BUILD)
    git(root, "add", "-A")
    if name.startswith("."):
        assert inspect_team(changed_in_commit(root), tracked=True).findings == []
    git(root, "commit", "-qm", "second")
    git(root, "rm", "-q", name)
    assert inspect_team(changed_in_commit(root), tracked=True).findings == []

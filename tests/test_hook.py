"""The habits of those who use pre-commit, each through real pre-commit and git.

The hook is that of this project's manifest, run by the command that is installed here: nothing is
fetched. `.ci/run` has pre-commit clone and install the project as a team would.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
import yaml

pytestmark = [
    pytest.mark.whole,
    pytest.mark.skipif(shutil.which("git") is None, reason="git is not installed"),
]

PROJECT = Path(__file__).parent.parent
BUILD = "builds/heron-quarry.build.toml"
EVERY_HOOK = [
    *("pre-commit", "pre-merge-commit", "pre-push", "prepare-commit-msg", "commit-msg"),
    *("post-commit", "post-checkout", "post-merge", "post-rewrite", "pre-rebase"),
]


class Team:
    """A team's repository, in which git and pre-commit are run as in a terminal of theirs."""

    def __init__(self, folder: Path, home: Path) -> None:
        self.folder = folder
        kept = {k: v for k, v in os.environ.items() if not k.startswith(("GIT_", "PRE_COMMIT"))}
        path = os.pathsep.join([str(Path(sys.executable).parent), kept.get("PATH", "")])
        nobody = {"GIT_CONFIG_GLOBAL": os.devnull, "GIT_CONFIG_NOSYSTEM": "1"}
        self.env = kept | nobody | {"PATH": path, "PRE_COMMIT_HOME": str(home)}

    def run(self, *words: str) -> tuple[int, str]:
        done = subprocess.run(
            words, cwd=self.folder, env=self.env, capture_output=True, text=True, check=False
        )
        return done.returncode, done.stdout + done.stderr

    def git(self, *words: str) -> str:
        code, said = self.ask(*words)
        assert code == 0, said
        return said

    def ask(self, *words: str) -> tuple[int, str]:
        who = ("-c", "user.name=bench", "-c", "user.email=bench@example.invalid")
        return self.run("git", *who, *words)

    def commit(self, *more: str) -> tuple[int, str]:
        self.git("add", "-A")
        return self.ask("commit", "-qm", "a change", *more)

    def install(self, *kinds: str) -> None:
        code, said = self.run("pre-commit", "install", *(w for kind in kinds for w in ("-t", kind)))
        assert code == 0, said

    def hook(self, *words: str) -> tuple[int, str]:
        return self.run("pre-commit", "run", *words)

    def write(self, name: str, text: str) -> None:
        (self.folder / name).parent.mkdir(parents=True, exist_ok=True)
        (self.folder / name).write_text(text, encoding="utf-8")

    def edit(self, name: str, old: str, new: str) -> None:
        text = (self.folder / name).read_text(encoding="utf-8")
        assert old in text
        self.write(name, text.replace(old, new))

    def spoil(self, name: str = BUILD) -> None:
        self.edit(name, 'hold_back = "6.5 mm"', 'hold_back = "9.5 mm"')

    def configure(self, hooks: list[dict[str, Any]]) -> None:
        config = {"repos": [{"repo": "local", "hooks": hooks}]}
        self.write(".pre-commit-config.yaml", yaml.safe_dump(config))


def manifest() -> dict[str, Any]:
    (hook,) = yaml.safe_load((PROJECT / ".pre-commit-hooks.yaml").read_text(encoding="utf-8"))
    return {**hook, "language": "system"}


@pytest.fixture(scope="module")
def prepared(tmp_path_factory: pytest.TempPathFactory) -> Team:
    """The Saltmarsh team, committed, with the hook in place."""
    team = Team(tmp_path_factory.mktemp("prepared") / "team", tmp_path_factory.mktemp("home"))
    shutil.copytree(PROJECT / "examples" / "saltmarsh", team.folder)
    team.configure([manifest()])
    team.git("init", "-q", "-b", "main")
    team.install("pre-commit", "pre-merge-commit", "pre-push")
    code, said = team.commit()
    assert code == 0, said
    return team


@pytest.fixture
def team(prepared: Team, tmp_path: Path) -> Team:
    shutil.copytree(prepared.folder, tmp_path / "team", symlinks=True)
    return Team(tmp_path / "team", Path(prepared.env["PRE_COMMIT_HOME"]))


def test_a_bad_build_is_refused_and_let_through_once_mended(team: Team) -> None:
    team.spoil()
    code, said = team.commit()
    assert code == 1
    assert "rule pair/hold-back" in said
    assert f"{BUILD}:32:13" in said
    assert "curlew-quarry" not in said  # only what the commit touches
    assert team.git("rev-list", "--count", "HEAD").strip() == "1"
    team.git("restore", "--source=HEAD", "--worktree", BUILD)
    team.edit(BUILD, "# Heron", "# The Heron")
    # what is not added yet does not count
    code, said = team.ask("commit", "-qm", "a change")
    assert code == 1, said
    code, said = team.commit()
    assert code == 0, said


def test_a_run_over_all_files_judges_all_whatever_is_staged(team: Team) -> None:
    assert " builds judged" in team.hook("--all-files", "--verbose")[1]
    team.spoil()
    team.commit("--no-verify")
    team.write("notes.txt", "bring the small syringe\n")
    team.git("add", "notes.txt")
    code, said = team.hook("--all-files")
    assert code == 1
    assert BUILD in said


def test_a_commit_is_judged_once_and_a_checkout_a_change_of_message_and_no_change_not(
    team: Team,
) -> None:
    """With every kind of hook installed: the hook's name stands in the output once a run."""
    team.install(*EVERY_HOOK)
    team.edit(BUILD, 'hold_back = "6.5 mm"', 'hold_back = "6.4 mm"')
    code, said = team.commit()
    assert (code, said.count("buildlint..")) == (0, 1)
    assert "buildlint.." not in team.git("switch", "-qc", "other")
    for words in (["--amend"], ["--allow-empty"]):
        code, said = team.ask("commit", "-qm", "in other words", *words)
        assert (code, said.count("buildlint..")) == (0, 1), said
    team.git("switch", "-q", "main")
    team.git("commit", "-qm", "beside it", "--allow-empty", "--no-verify")
    assert team.git("merge", "--no-edit", "other").count("buildlint..") == 1


def test_what_a_team_leaves_out_or_names_is_followed(team: Team) -> None:
    guest = f"guests/{BUILD}"
    shutil.copytree(PROJECT / "examples" / "saltmarsh", team.folder / "guests")
    team.configure([{**manifest(), "exclude": "^guests/"}])
    team.spoil(guest)
    code, said = team.commit()
    assert code == 0, said
    # a hook for each of two teams
    hooks = [
        {**manifest(), "id": "ours", "exclude": "^guests/"},
        {**manifest(), "id": "guests", "files": r"^guests/.*\.toml$"},
    ]
    team.configure(hooks)
    team.git("add", "-A")
    assert team.hook("ours", "--all-files")[0] == 0
    code, said = team.hook("guests", "--all-files")
    assert code == 1
    assert guest in said
    assert f"\n{BUILD}" not in said
    assert team.hook("--files", BUILD, "cars/heron.car.toml")[0] == 0
    assert team.hook("--files", BUILD, guest)[0] == 1


def test_a_branch_is_not_blamed_for_what_was_done_since_on_main(team: Team) -> None:
    team.spoil()
    team.commit("--no-verify")
    team.git("switch", "-qc", "branch")
    team.write("notes.txt", "bring the small syringe\n")
    team.commit("--no-verify")
    team.git("switch", "-q", "main")
    team.git("rm", "-q", BUILD)
    team.commit("--no-verify")
    team.git("switch", "-q", "branch")
    code, said = team.hook("--from-ref", "main", "--to-ref", "HEAD")
    assert code == 0, said
    # what the branch itself does is judged
    team.git("rm", "-q", "events/quarry-six-hour.event.toml")
    team.commit("--no-verify")
    code, said = team.hook("--from-ref", "main", "--to-ref", "HEAD")
    assert code == 1
    assert 'there is no event "quarry-six-hour"' in " ".join(said.split())


def test_a_deleted_parts_file_is_told(team: Team) -> None:
    team.git("rm", "-q", "our.parts.toml")
    code, said = team.commit()
    assert code == 1
    assert "buildlint: our.parts.toml: deleted" in said
    assert 'there is no oil "o450"' in " ".join(said.split())


def _diverge(team: Team, conflict: bool) -> None:
    """Have a branch drop an oil, while main has a build with it; both may write into the notes."""
    team.edit(BUILD, 'oil = "o450"', 'oil = "o350"')
    team.commit("--no-verify")
    team.write("spare.parts.toml", '[oil.spare]\nviscosity = "450 cSt"\n')
    team.commit("--no-verify")
    team.git("switch", "-qc", "tidy")
    team.write("spare.parts.toml", '[oil.other]\nviscosity = "700 cSt"\n')
    if conflict:
        team.write("notes.txt", "tidied\n")
    team.commit("--no-verify")
    team.git("switch", "-q", "main")
    team.edit(BUILD, 'oil = "o350"', 'oil = "spare"')
    if conflict:
        team.write("notes.txt", "with the spare oil\n")
    team.commit("--no-verify")


def test_a_merge_that_breaks_a_reference_is_refused(team: Team) -> None:
    _diverge(team, conflict=False)
    code, said = team.ask("merge", "--no-edit", "tidy")
    assert code != 0
    assert 'there is no oil "spare"' in said


def test_a_merge_by_hand_whose_other_side_dropped_an_oil_is_refused(team: Team) -> None:
    """pre-commit names only what was in conflict."""
    _diverge(team, conflict=True)
    assert "CONFLICT" in team.ask("merge", "--no-edit", "tidy")[1]
    team.write("notes.txt", "both\n")
    code, said = team.commit()
    assert code == 1
    assert 'there is no oil "spare"' in said
    team.edit(BUILD, 'oil = "spare"', 'oil = "o350"')
    code, said = team.commit()
    assert code == 0, said


def test_a_first_push_to_an_empty_remote_is_judged(team: Team, tmp_path: Path) -> None:
    team.git("init", "-q", "--bare", str(tmp_path / "remote"))
    team.git("remote", "add", "origin", str(tmp_path / "remote"))
    team.spoil()
    team.commit("--no-verify")
    code, said = team.ask("push", "-q", "origin", "main")
    assert code == 1
    assert BUILD in said
    team.git("reset", "-q", "--hard", "HEAD~1")
    code, said = team.ask("push", "-q", "origin", "main")
    assert code == 0, said
    assert "buildlint.." in said
    team.git("rm", "-q", "events/quarry-six-hour.event.toml")
    team.commit("--no-verify")
    assert "quarry-six-hour.event.toml: deleted" in team.ask("push", "-q", "origin", "main")[1]


def test_names_of_every_sort(team: Team) -> None:
    names = ["builds/a b.build.toml", "ü\n.build.toml", "-o x.build.toml"]
    team.configure([{**manifest(), "args": ["--as", "lines"]}])
    for name in names:
        shutil.copyfile(team.folder / BUILD, team.folder / name)
        team.spoil(name)
    code, said = team.commit()
    assert code == 1
    for name in names:
        assert name.replace("\n", "\\n") in said


@pytest.mark.parametrize("above", [False, True], ids=["below the top", "above the top"])
def test_a_team_whose_root_is_not_the_top(team: Team, tmp_path: Path, above: bool) -> None:
    """Of a team around the repository, what git does not have is taken as it lies there."""
    ours = Team(tmp_path / "other", Path(team.env["PRE_COMMIT_HOME"]))
    shutil.copytree(PROJECT / "examples" / "saltmarsh", ours.folder / "team")
    if above:
        ours.folder /= "team/builds"
    build = "heron-quarry.build.toml" if above else f"team/{BUILD}"
    ours.configure([manifest()])
    ours.git("init", "-q")
    ours.install("pre-commit")
    code, said = ours.commit()
    assert code == 0, said
    ours.spoil(build)
    code, said = ours.commit()
    assert code == 1
    assert build in said

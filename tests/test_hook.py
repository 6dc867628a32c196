"""The hook, as a team uses it: pre-commit clones this project, refuses a bad build, lets a good by.

Nothing is stood in for: a repository of this project's own files is made, pre-commit clones and
installs it, and git commits run it. Installing needs the package registry.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = pytest.mark.whole

PROJECT = Path(__file__).parent.parent
GIT = ("git", "-c", "user.name=bench", "-c", "user.email=bench@example.invalid")


def git(folder: Path, *words: str, env: dict[str, str]) -> subprocess.CompletedProcess[str]:
    return subprocess.run([*GIT, *words], cwd=folder, env=env, capture_output=True, text=True)


def project_files() -> list[str]:
    listing = ["git", "ls-files", "--cached", "--others", "--exclude-standard", "-z"]
    done = subprocess.run(listing, cwd=PROJECT, capture_output=True, check=False)
    names = [os.fsdecode(name) for name in done.stdout.split(b"\0") if name]
    if not names:  # unpacked from an archive: no git here
        names = [p.relative_to(PROJECT).as_posix() for p in PROJECT.rglob("*") if p.is_file()]
    return [name for name in names if (PROJECT / name).is_file()]


@pytest.fixture(scope="module")
def environment(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """The environment of git and pre-commit, away from any settings of whoever runs the test."""
    kept = {k: v for k, v in os.environ.items() if not k.startswith(("GIT_", "PRE_COMMIT"))}
    kept["PRE_COMMIT_HOME"] = str(tmp_path_factory.mktemp("pre-commit-home"))
    kept["GIT_CONFIG_GLOBAL"] = os.devnull
    return kept


@pytest.fixture(scope="module")
def hook_repository(
    tmp_path_factory: pytest.TempPathFactory, environment: dict[str, str]
) -> tuple[Path, str]:
    """This project as it stands in the working tree, as a repository with one commit."""
    folder = tmp_path_factory.mktemp("hook")
    for name in project_files():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(PROJECT / name, folder / name)
    git(folder, "init", "-q", env=environment)
    git(folder, "add", "-A", "-f", env=environment)
    assert git(folder, "commit", "-qm", "as it stands", env=environment).returncode == 0
    return folder, git(folder, "rev-parse", "HEAD", env=environment).stdout.strip()


@pytest.fixture(scope="module")
def team(
    tmp_path_factory: pytest.TempPathFactory,
    environment: dict[str, str],
    hook_repository: tuple[Path, str],
) -> Path:
    """The Saltmarsh team's repository, with the hook in place and everything committed."""
    folder = tmp_path_factory.mktemp("team")
    shutil.copytree(PROJECT / "examples" / "saltmarsh", folder, dirs_exist_ok=True)
    repository, revision = hook_repository
    (folder / ".pre-commit-config.yaml").write_text(
        f"repos:\n- repo: {repository.as_posix()}\n  rev: {revision}\n  hooks:\n  - id: buildlint\n"
    )
    git(folder, "init", "-q", env=environment)
    installed = subprocess.run(
        [sys.executable, "-m", "pre_commit", "install"],
        cwd=folder,
        env=environment,
        capture_output=True,
        text=True,
    )
    assert installed.returncode == 0, installed.stderr
    git(folder, "add", "-A", env=environment)
    first = git(folder, "commit", "-qm", "the season so far", env=environment)
    assert first.returncode == 0, first.stdout + first.stderr
    return folder


def edit(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")


def commit(team: Path, environment: dict[str, str]) -> tuple[int, str]:
    git(team, "add", "-A", env=environment)
    done = git(team, "commit", "-qm", "a change", env=environment)
    return done.returncode, done.stdout + done.stderr


def head(team: Path, environment: dict[str, str]) -> str:
    return git(team, "rev-parse", "HEAD", env=environment).stdout


def test_a_bad_build_is_refused_and_let_through_once_mended(
    team: Path, environment: dict[str, str]
) -> None:
    build = team / "builds" / "heron-quarry.build.toml"
    before = head(team, environment)
    edit(build, 'hold_back = "6.5 mm"', 'hold_back = "9.5 mm"')
    code, report = commit(team, environment)
    assert code != 0
    assert "rule pair/hold-back" in report
    assert "builds/heron-quarry.build.toml:27:13" in report
    # only what the commit changes is judged
    assert "curlew-quarry" not in report
    assert head(team, environment) == before

    edit(build, 'hold_back = "9.5 mm"\nlength = "104.3', 'hold_back = "6.3 mm"\nlength = "104.3')
    code, report = commit(team, environment)
    assert code == 0, report
    assert head(team, environment) != before


def test_a_changed_part_judges_every_build_that_uses_it(
    team: Path, environment: dict[str, str]
) -> None:
    drawers = team / "our.parts.toml"
    edit(drawers, 'into_cap = "460 mm^3 ± 3 %"', 'into_cap = "150 mm^3 ± 3 %"')
    code, report = commit(team, environment)
    assert code != 0
    for build in ("curlew-quarry", "heron-quarry"):
        assert f"builds/{build}.build.toml" in report
    edit(drawers, 'into_cap = "150 mm^3 ± 3 %"', 'into_cap = "460 mm^3 ± 3 %"')
    git(team, "reset", "-q", "--hard", env=environment)


def test_a_deleted_event_is_noticed(team: Path, environment: dict[str, str]) -> None:
    (team / "events" / "estuary-sprint.event.toml").unlink()
    code, report = commit(team, environment)
    assert code != 0
    assert 'there is no event "estuary-sprint"' in report
    assert "builds/heron-estuary.build.toml:4:9" in report
    git(team, "reset", "-q", "--hard", env=environment)


def test_a_part_that_git_does_not_know_does_not_count(
    team: Path, environment: dict[str, str]
) -> None:
    (team / "new.parts.toml").write_text('[oil.o475]\nviscosity = "475 cSt"\n')
    edit(team / "builds" / "heron-estuary.build.toml", 'oil = "o350"', 'oil = "o475"')
    git(team, "add", "builds", env=environment)
    done = git(team, "commit", "-qm", "a change", env=environment)
    assert done.returncode != 0
    assert 'there is no oil "o475"' in done.stdout + done.stderr
    code, report = commit(team, environment)
    assert code == 0, report


def test_a_commit_of_other_files_passes(team: Path, environment: dict[str, str]) -> None:
    (team / "notes.txt").write_text("bring the small syringe\n")
    code, report = commit(team, environment)
    assert code == 0, report


def test_a_run_over_all_files_judges_the_whole_team(
    team: Path, environment: dict[str, str]
) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "pre_commit", "run", "--all-files", "--verbose"],
        cwd=team,
        env=environment,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stdout
    assert "5 builds judged" in done.stdout

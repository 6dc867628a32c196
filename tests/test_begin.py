"""A starting repository: it passes at once, its first commit too, and it writes over nothing."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

import buildlint.begin as module
from buildlint import inspect
from buildlint.begin import begin, starting_files
from buildlint.errors import PathError
from buildlint.files.models import KINDS
from buildlint.files.names import kind_and_id


def test_it_has_a_file_of_every_kind_settings_schemas_and_the_hook(tmp_path: Path) -> None:
    made = begin(tmp_path / "team")
    names = {path.relative_to(tmp_path / "team").as_posix() for path in made}
    kinds = {named[0] for path in made if (named := kind_and_id(path.name))}
    assert kinds == set(KINDS)
    assert {"buildlint.toml", ".pre-commit-config.yaml"} < names
    assert {f"schemas/{kind}.schema.json" for kind in (*KINDS, "settings", "rule")} < names
    assert names == set(starting_files())


def test_everything_holds_in_it(tmp_path: Path) -> None:
    begin(tmp_path)
    found = inspect([tmp_path])
    assert found.counts.builds == 1
    assert found.findings == []
    assert found.counts.holds > 50


def test_every_file_of_ours_has_comments_and_names_its_schema(tmp_path: Path) -> None:
    for path in begin(tmp_path):
        if path.suffix != ".toml":
            continue
        first, *rest = path.read_text(encoding="utf-8").splitlines()
        assert first.startswith("#:schema ")
        assert (path.parent / first.removeprefix("#:schema ")).is_file()
        assert sum("#" in line for line in rest) >= 2
        if path.name != "buildlint.toml":
            assert "nvented" in "".join(rest)


def test_a_folder_that_holds_something_else_keeps_it(tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_text("mine")
    begin(tmp_path)
    assert (tmp_path / "notes.txt").read_text() == "mine"


@pytest.mark.parametrize("name", ["buildlint.toml", "cars/first.car.toml", "builds", "schemas"])
def test_nothing_is_written_over(tmp_path: Path, name: str) -> None:
    path = tmp_path / name
    path.parent.mkdir(exist_ok=True)
    path.write_text("mine")
    before = set(tmp_path.rglob("*"))
    with pytest.raises(PathError, match="already; nothing was made"):
        begin(tmp_path)
    assert set(tmp_path.rglob("*")) == before
    assert path.read_text() == "mine"


def test_nothing_is_written_through_a_link(tmp_path: Path) -> None:
    (tmp_path / "elsewhere").mkdir()
    team = tmp_path / "team"
    team.mkdir()
    (team / "cars").symlink_to("../elsewhere", target_is_directory=True)
    with pytest.raises(PathError):
        begin(team)
    (team / "cars").unlink()
    (team / "buildlint.toml").symlink_to("../elsewhere/nothing")
    with pytest.raises(PathError):
        begin(team)
    assert list((tmp_path / "elsewhere").iterdir()) == []


def test_a_file_for_a_folder_is_told(tmp_path: Path) -> None:
    (tmp_path / "team").write_text("mine")
    with pytest.raises(PathError):
        begin(tmp_path / "team")
    with pytest.raises(PathError, match="empty"):
        begin("")


def test_what_was_made_is_taken_back_when_the_rest_cannot_be(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "kept").mkdir()
    files = {**starting_files(), "last/one.txt": None}  # writing None raises TypeError
    monkeypatch.setattr(module, "starting_files", lambda: files)
    with pytest.raises(TypeError):
        begin(tmp_path / "deep" / "team")
    assert [p.name for p in tmp_path.rglob("*")] == ["kept"]


def _git(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    # the hook has to find this environment's programs, and nobody's own settings of git
    env = {k: v for k, v in os.environ.items() if not k.startswith(("GIT_", "PRE_COMMIT"))}
    env["PATH"] = os.pathsep.join([str(Path(sys.executable).parent), env.get("PATH", "")])
    env |= {"GIT_CONFIG_GLOBAL": os.devnull, "GIT_CONFIG_NOSYSTEM": "1", "HOME": str(folder.parent)}
    who = ("-c", "user.name=bench", "-c", "user.email=bench@example.org")
    return subprocess.run(
        [words[0], *(who if words[0] == "git" else ()), *words[1:]],
        cwd=folder,
        env=env,
        capture_output=True,
        text=True,
        check=False,
    )


def test_its_first_commit_through_the_hook_passes_and_a_bad_one_does_not(tmp_path: Path) -> None:
    """With git and pre-commit as a team would use them."""
    team = tmp_path / "team"
    begin(team)
    assert _git(team, "git", "init", "-q").returncode == 0
    assert _git(team, "pre-commit", "install").returncode == 0
    assert _git(team, "git", "add", "-A").returncode == 0
    done = _git(team, "git", "commit", "-m", "the first builds")
    assert done.returncode == 0, done.stdout + done.stderr
    assert "Passed" in done.stdout + done.stderr

    build = team / "builds" / "first-club-day.build.toml"
    text = build.read_text(encoding="utf-8")
    build.write_text(text.replace('length = "104.3 mm"', 'length = "106 mm"'), encoding="utf-8")
    done = _git(team, "git", "commit", "-am", "one is longer")
    assert done.returncode != 0
    assert "pair/length" in done.stdout + done.stderr
    assert _git(team, "git", "rev-list", "--count", "HEAD").stdout.strip() == "1"


def test_what_is_in_the_way_is_named_as_it_is(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("mine")
    with pytest.raises(PathError, match=r"file is there already and is not a folder$"):
        begin(tmp_path / "file")
    (tmp_path / "dangling").symlink_to("nowhere")
    with pytest.raises(PathError, match=r"dangling is there already and is not a folder$"):
        begin(tmp_path / "dangling")
    (tmp_path / "team").mkdir()
    (tmp_path / "team" / "schemas").write_text("mine")
    with pytest.raises(PathError, match=r"team: schemas is there already; nothing was made$"):
        begin(tmp_path / "team")
    assert sorted(p.name for p in tmp_path.rglob("*")) == ["dangling", "file", "schemas", "team"]

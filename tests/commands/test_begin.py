"""A starting repository: it passes at once, its first commit too, and it writes over nothing."""

from __future__ import annotations

import os
import shlex
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
import yaml

import buildlint.commands.begin as module
from buildlint import inspect_team
from buildlint.commands.begin import begin, lines_for_hook, next_steps, starting_files
from buildlint.commands.cli import main
from buildlint.files.models import KINDS
from buildlint.files.names import kind_and_id
from buildlint.text.errors import PathError

pytestmark = pytest.mark.whole


def test_it_has_a_file_of_every_kind_settings_schemas_and_the_hook(tmp_path: Path) -> None:
    made = begin(tmp_path / "team")
    names = {path.relative_to(tmp_path / "team").as_posix() for path in made}
    kinds = {named[0] for path in made if (named := kind_and_id(path.name))}
    assert kinds == set(KINDS)
    assert {"buildlint.toml", ".pre-commit-config.yaml", ".gitignore"} < names
    assert {f"schemas/{kind}.schema.json" for kind in (*KINDS, "settings", "rule")} < names
    assert names == set(starting_files())


def test_everything_holds_in_it(tmp_path: Path) -> None:
    begin(tmp_path)
    found = inspect_team([tmp_path])
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


@pytest.mark.parametrize("where", ["alone", "beside other hooks", "in a folder"])
def test_its_first_commit_through_the_hook_passes_and_a_bad_one_does_not(
    tmp_path: Path, where: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """With git and pre-commit as a team would use them."""
    top = tmp_path / "team"
    team = top / "cars of ours" if where == "in a folder" else top
    top.mkdir()
    assert _git(top, "git", "init", "-q").returncode == 0
    settings = top / ".pre-commit-config.yaml"
    other = {"id": "other", "name": "other", "entry": "true", "language": "system"}
    if where == "beside other hooks":
        settings.write_text(yaml.safe_dump({"repos": [{"repo": "local", "hooks": [other]}]}))
    before = settings.read_bytes() if settings.exists() else None
    assert main(["begin", str(team)]) == 0
    said = capsys.readouterr().out
    if where == "alone":
        assert "for the hook" not in said
    else:
        # nothing of what is there, or outside the folder, is written; a user adds what is said
        assert (settings.read_bytes() if settings.exists() else None) == before
        assert not (team / ".pre-commit-config.yaml").exists() or team == top
        told = said.partition("for the hook, add to ")[2].partition("\n\nnext:")[0].splitlines()
        added = yaml.safe_load("\n".join(told[2:]))
        added["repos"] += yaml.safe_load(before)["repos"] if before else []
        settings.write_text(yaml.safe_dump(added))
        assert lines_for_hook(team) == []

    steps = next_steps(team)
    assert _git(team, *shlex.split(steps[steps.index("pre-commit install")])).returncode == 0
    assert {"pre-commit", "pre-merge-commit"} <= {p.name for p in (top / ".git/hooks").iterdir()}
    done = _git(team, *shlex.split(next(step for step in steps if step.startswith("git add"))))
    assert done.returncode == 0, done.stderr
    done = _git(team, *shlex.split(steps[-1]))
    assert done.returncode == 0, done.stdout + done.stderr
    assert "Passed" in done.stdout + done.stderr
    assert settings.name in _git(top, "git", "ls-files").stdout

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


# --- what it says in its files -------------------------------------------------------------------


def test_its_own_files_say_that_they_may_go_and_what_the_datum_is() -> None:
    files = {name: " ".join(text.split()) for name, text in starting_files().items()}
    own = [name for name in files if name.split("/")[0] in ("cars", "builds", "events")]
    assert len(own) == 3
    for name in own:
        assert "may be deleted once yours stand beside it" in files[name]
    datum = "any fixed height # that you choose, such as fully backed off"
    assert datum in files["builds/first-club-day.build.toml"]
    assert "collar at its # datum: any fixed height that you choose" in files["cars/first.car.toml"]
    assert '"Executable `buildlint` not found"' in files[".pre-commit-config.yaml"]


def test_without_its_own_car_event_and_build_a_team_still_passes(tmp_path: Path) -> None:
    begin(tmp_path)
    build = tmp_path / "builds" / "first-club-day.build.toml"
    text = build.read_text(encoding="utf-8")
    changed = text.replace('"first"', '"ours"').replace('"club-day"', '"away"')
    (tmp_path / "ours.build.toml").write_text(changed, encoding="utf-8")
    for old, new in (("cars/first.car", "ours.car"), ("events/club-day.event", "away.event")):
        (tmp_path / f"{old}.toml").rename(tmp_path / f"{new}.toml")
    build.unlink()
    assert inspect_team([tmp_path]).findings == []


def test_git_keeps_no_sheet_and_a_list_that_is_there_stays(tmp_path: Path) -> None:
    team = tmp_path / "team"
    begin(team)
    _git(team, "git", "init", "-q")
    (team / "heron-quarry.html").touch()
    (team / ".venv").mkdir()
    (team / ".venv" / "x.py").touch()
    ignored = _git(team, "git", "status", "--porcelain", "--ignored").stdout.splitlines()
    assert {line for line in ignored if line.startswith("!!")} == {
        "!! .venv/",
        "!! heron-quarry.html",
    }
    other = tmp_path / "other"
    other.mkdir()
    (other / ".gitignore").write_text("*.tmp\n", encoding="utf-8")
    made = {path.relative_to(other).as_posix() for path in begin(other)}
    assert made == set(starting_files()) - {".gitignore"}
    assert (other / ".gitignore").read_text(encoding="utf-8") == "*.tmp\n"


# --- what to do next -----------------------------------------------------------------------------


@pytest.fixture
def placed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., Path]:
    """Put programs on the PATH, and nobody's own settings of git."""
    for name in list(os.environ):
        if name.startswith("GIT_"):
            monkeypatch.delenv(name)
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", str(tmp_path / "settings"))
    monkeypatch.setenv("GIT_CONFIG_NOSYSTEM", "1")
    monkeypatch.setenv("GIT_CEILING_DIRECTORIES", str(tmp_path.resolve().parent))
    (tmp_path / "settings").write_text("[user]\nname = bench\nemail = bench@example.org\n")
    monkeypatch.chdir(tmp_path)

    def with_programs(*names: str) -> Path:
        folder = tmp_path / "programs"
        folder.mkdir()
        for name in names:
            there = shutil.which(name)
            if there is None:
                (folder / name).write_text("#!/bin/sh\n", encoding="utf-8")
                (folder / name).chmod(0o755)
            else:
                (folder / name).symlink_to(there)
        monkeypatch.setenv("PATH", str(folder))
        return tmp_path

    return with_programs


needs_git = pytest.mark.skipif(
    shutil.which("git") is None or os.name == "nt", reason="needs git, and links"
)


@needs_git
def test_with_all_in_place_the_steps_are_few(placed: Callable[..., Path]) -> None:
    begin(placed("git", "buildlint") / "team")
    assert next_steps("team") == [
        "cd team",
        "buildlint inspect",
        "git init",
        "pip install pre-commit",
        "pre-commit install",
        "git add .",
        'git commit -m "a start"',
    ]


@needs_git
@pytest.mark.parametrize("name", ["plain", "it's a lap; rm -rf $HOME"])
def test_an_environment_that_is_not_switched_on_is_so_first(
    placed: Callable[..., Path], monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    """The line is given to a shell, which then finds what the environment holds."""
    sh = shutil.which("sh")
    here = placed("git")
    environment = here / name
    (environment / "bin").mkdir(parents=True)
    (environment / "bin" / "activate").write_text("echo switched on\n", encoding="utf-8")
    monkeypatch.setattr(sys, "prefix", str(environment))
    first = next_steps("team")[0]
    assert shlex.split(first) == [".", str(environment / "bin" / "activate")]
    assert sh is not None
    told = subprocess.run([sh, "-c", first], check=True, capture_output=True, text=True).stdout
    assert told == "switched on\n"
    # one that has no such file is none
    monkeypatch.setattr(sys, "prefix", str(here / "nowhere"))
    assert next_steps("team")[0] == "cd team"


def test_on_windows_it_is_the_other_file_as_its_shell_quotes_it(tmp_path: Path) -> None:
    environment = tmp_path / "it's"
    (environment / "Scripts").mkdir(parents=True)
    (environment / "Scripts" / "Activate.ps1").touch()
    (line,) = module._switched_on(environment, windows=True)
    # a quote stands twice within quotes there
    assert line == f"& '{tmp_path}/it''s/Scripts/Activate.ps1'".replace("/", os.sep)
    assert module._switched_on(environment, windows=False) == []


@needs_git
@pytest.mark.parametrize("where", [".", "team", "deep/team"])
def test_inside_a_git_repository_none_is_made(placed: Callable[..., Path], where: str) -> None:
    here = placed("git", "buildlint")
    subprocess.run(["git", "init", "-q"], cwd=here, check=True)
    begin(here / where)
    assert "git init" not in next_steps(where)


@needs_git
def test_who_commits_is_asked_for_only_where_git_does_not_know(
    placed: Callable[..., Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    begin(placed("git", "buildlint") / "team")
    asked = [step for step in next_steps("team") if step.startswith("git config --global user.")]
    assert asked == []
    # nor may git make a name up from that of the machine
    Path("settings").write_text("[user]\nuseConfigOnly = true\n", encoding="utf-8")
    steps = next_steps("team")
    asked = [step for step in steps if step.startswith("git config --global user.")]
    assert [shlex.split(step)[3] for step in asked] == ["user.name", "user.email"]
    assert steps.index(asked[1]) < steps.index('git commit -m "a start"')
    for step in asked:
        subprocess.run(shlex.split(step), check=True)
    assert not [step for step in next_steps("team") if "user." in step]


def test_where_there_is_no_git_nothing_fails(placed: Callable[..., Path]) -> None:
    begin(placed("buildlint") / "team")
    steps = next_steps("team")
    assert "git init" in steps
    assert not [step for step in steps if "user." in step]

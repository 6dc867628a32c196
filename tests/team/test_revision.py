"""A team's files as they were in a git revision, and a build compared with itself as it was."""

from __future__ import annotations

import shutil
from math import pi
from pathlib import Path

import pytest

from buildlint.files.disk import LARGEST
from buildlint.judging.compare import Comparison, compare
from buildlint.team import revision
from buildlint.team.revision import commit_of, team_at
from buildlint.text.errors import PathError
from tests.in_git import git, own_git  # noqa: F401 - every test here has it
from tests.making import build_path, repository

pytestmark = pytest.mark.skipif(shutil.which("git") is None, reason="git is not installed")

AREA = pi / 4.0 * 3.5**2  # of the shaft, mm^2


def committed(folder: Path, tag: str) -> None:
    git(folder, "add", "-A")
    git(folder, "commit", "-qm", tag)
    git(folder, "tag", tag)


def edited(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


@pytest.fixture
def top(tmp_path: Path) -> Path:
    """A git repository with nothing in it."""
    folder = tmp_path.resolve() / "saltmarsh"
    folder.mkdir()
    git(folder, "init", "-q")
    return folder


@pytest.fixture
def team(top: Path) -> Path:
    """The sound repository, committed and tagged `first`."""
    repository(top)
    committed(top, "first")
    return top


def told(found: Comparison) -> dict[str, tuple[str | None, str | None]]:
    return {change.where: (change.old, change.new) for change in found.changes}


# --- as a build was ------------------------------------------------------------------------------


def test_a_build_is_compared_with_itself_as_it_was(team: Path) -> None:
    assert not compare("first", build_path(team)).changed
    edited(build_path(team), 'hold_back = "6.4 mm"', 'hold_back = "7.4 mm"')
    found = compare("first", build_path(team))
    assert told(found) == {"front.left hold_back": ("6.4 mm", "7.4 mm")}
    (need,) = (f for f in found.figures if (f.measure, f.condition) == ("into_cap_need", "bench"))
    assert need.difference == pytest.approx(AREA)  # a millimetre more
    assert found.old.revision == "first"
    assert found.old.commit == git(team, "rev-parse", "HEAD")
    assert (found.new.revision, found.new.commit) == (None, None)
    # the disk is as it was: compared with what is committed there is one change yet
    committed(team, "second")
    assert not compare("second", build_path(team)).changed
    assert told(compare("HEAD~1", build_path(team))) == told(found)


def test_the_drawers_the_car_and_the_event_are_as_they_were_then(team: Path) -> None:
    """The build's own file is not touched at all."""
    edited(team / "drawers.parts.toml", '"450 cSt"', '"420 cSt"')
    edited(team / "heron.car.toml", '"760 g"', '"800 g"')
    edited(team / "quarry.event.toml", '"38 degC"', '"44 degC"')
    found = compare("first", build_path(team))
    assert told(found) == {
        "oil o450 viscosity": ("450 cSt", "420 cSt"),
        "car heron front corner_mass": ("760 g", "800 g"),
        "event quarry hottest": ("38 degC", "44 degC"),
    }
    (ratio,) = (
        f
        for f in found.figures
        if (f.subject, f.measure, f.condition) == ("front", "damping_ratio", "cold")
    )
    assert ratio.old is not None and isinstance(ratio.old.value, float)
    assert ratio.new is not None and isinstance(ratio.new.value, float)
    # the ratio goes with the viscosity, and with one over the root of the mass
    expected = 420.0 / 450.0 * (760.0 / 800.0) ** 0.5
    assert ratio.new.value / ratio.old.value == pytest.approx(expected)


def test_files_that_are_gone_since_are_found_and_new_ones_are_not(team: Path) -> None:
    (team / "drawers.parts.toml").rename(team / "shed.parts.toml")
    (team / "heron.car.toml").rename(team / "cars.txt")
    found = compare("first", build_path(team))
    assert found.old.car == "heron"
    assert [m for m in found.mistakes if "there is no car" in m]
    assert not [m for m in found.mistakes if "first" in m]
    assert not told(found).get("oil o450 viscosity")


def test_mistakes_as_they_were_then_say_so(team: Path) -> None:
    edited(build_path(team), 'collar = "2 mm"', 'colar = "2 mm"')
    committed(team, "broken")
    edited(build_path(team), 'colar = "2 mm"', 'collar = "2 mm"')
    (mistake,) = compare("broken", build_path(team)).mistakes
    assert mistake.startswith('as it was in "broken": ')
    assert "did you mean collar?" in mistake


def test_a_build_that_was_not_there_then_is_refused(team: Path) -> None:
    build_path(team).rename(team / "other.build.toml")
    with pytest.raises(PathError, match=r'no file other\.build\.toml in the revision "first"'):
        compare("first", team / "other.build.toml")


def test_the_rules_in_force_today_judge_both(team: Path) -> None:
    edited(build_path(team), 'hold_back = "6.4 mm"', 'hold_back = "7.4 mm"')
    own = '[change."hold-back/by-body-length"]\nat_most = "7 mm"\n'
    (team / "buildlint.toml").write_text(own, encoding="utf-8")
    found = compare("first", build_path(team))
    verdicts = {(v.rule, v.subject): (v.old, v.new) for v in found.verdicts}
    assert verdicts["hold-back/by-body-length", "front.left"] == ("holds", "fails")
    # the rear, at 9.5 mm, fails by today's limit then as now
    assert ("hold-back/by-body-length", "rear") not in verdicts


def test_a_team_in_a_folder_of_the_repository(top: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    inside = repository(top / "teams" / "ours")
    repository(top / "teams" / "theirs", build={"front.left.hold_back": "1 mm"})
    committed(top, "first")
    edited(build_path(inside), 'hold_back = "6.4 mm"', 'hold_back = "7.4 mm"')
    expected = {"front.left hold_back": ("6.4 mm", "7.4 mm")}
    assert told(compare("first", build_path(inside))) == expected
    monkeypatch.chdir(inside)
    assert told(compare("first", "heron-quarry")) == expected
    assert told(compare("HEAD", "heron-quarry.build.toml")) == expected


def test_a_linked_worktree_and_a_hook_that_runs_in_it(
    top: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """git runs a hook there at the top, with GIT_DIR set and GIT_WORK_TREE not."""
    repository(top / "team")
    committed(top, "first")
    linked = top.parent / "linked"
    git(top, "worktree", "add", "-q", str(linked))
    build = build_path(linked / "team")
    edited(build, 'hold_back = "6.4 mm"', 'hold_back = "7.4 mm"')
    expected = {"front.left hold_back": ("6.4 mm", "7.4 mm")}
    assert told(compare("first", build)) == expected
    monkeypatch.setenv("GIT_DIR", git(linked, "rev-parse", "--absolute-git-dir"))
    monkeypatch.chdir(linked)
    assert told(compare("first", build)) == expected


def test_a_root_reached_through_a_link(team: Path) -> None:
    way = team.parent / "way"
    way.symlink_to(team)
    edited(build_path(team), 'hold_back = "6.4 mm"', 'hold_back = "7.4 mm"')
    assert len(compare("first", build_path(way)).changes) == 1


# --- what OLD means ------------------------------------------------------------------------------


def test_a_file_or_an_id_wins_over_a_revision_of_the_same_name(
    team: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    edited(build_path(team), 'hold_back = "6.4 mm"', 'hold_back = "7.4 mm"')
    git(team, "tag", "heron-quarry")
    git(team, "tag", "heron-quarry.build.toml")
    monkeypatch.chdir(team)
    for name in ("heron-quarry", "heron-quarry.build.toml"):
        assert not compare(name, "heron-quarry").changed
        assert compare(f"tags/{name}", "heron-quarry").changed


@pytest.mark.parametrize(
    "old",
    [
        "nowhere",
        "",
        "-x",
        "--all",
        "--output=written",
        "HEAD~9",
        "first..HEAD",
        "^HEAD",
        "HEAD^{tree}",
        "HEAD:heron.car.toml",
        "HEAD:",
        "a\0b",
        "\udcff",
        "heron.car.toml",
        ".",
    ],
)
def test_what_is_neither_a_build_nor_a_commit_is_refused(
    team: Path, monkeypatch: pytest.MonkeyPatch, old: str
) -> None:
    monkeypatch.chdir(team)
    said = r"there is no build .* nor is it a git revision|path is empty|the name of a file"
    with pytest.raises(PathError, match=said):
        compare(old, "heron-quarry")
    assert not (team / "written").exists()


def test_a_control_character_in_a_revision_reaches_no_terminal(team: Path) -> None:
    with pytest.raises(PathError) as caught:
        compare("\x1b[31mred", build_path(team))
    assert str(caught.value).isprintable()


def test_outside_a_git_repository_and_without_git_it_is_said_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    plain = repository(tmp_path / "plain")
    with pytest.raises(PathError, match="is in no git repository that can be read"):
        compare("HEAD", build_path(plain))
    monkeypatch.setenv("PATH", str(plain))
    with pytest.raises(PathError, match="git is not installed"):
        compare("HEAD", build_path(plain))


def test_a_tag_with_a_message_names_its_commit(team: Path) -> None:
    git(team, "tag", "-am", "for the quarry", "told")
    assert commit_of(team, "told") == git(team, "rev-parse", "HEAD")
    assert commit_of(team, git(team, "rev-parse", "--short", "HEAD")) == commit_of(team, "told")


# --- which files a revision has ------------------------------------------------------------------


def paths(root: Path, commit: str = "HEAD") -> list[str]:
    found = team_at(root, commit)
    every = [p for kind in ("parts", "car", "event", "build") for p in found.paths(kind)]
    return sorted(p.relative_to(root).as_posix() for p in [*every, *found.misnamed])


def test_the_same_files_count_as_on_the_disk(top: Path) -> None:
    names = [
        "a.build.toml",
        "deep/down/b.car.toml",
        "ü b\n.parts.toml",
        "c.bulid.toml",
        ".hidden.car.toml",
        ".old/d.build.toml",
        "deep/.old/e.build.toml",
        "guests/buildlint.toml",
        "guests/f.build.toml",
        "guests/deep/g.build.toml",
        "folder.build.toml/h.build.toml",
        "notes.toml",
        "rules/x.toml",
    ]
    for name in ("buildlint.toml", *names):
        (top / name).parent.mkdir(parents=True, exist_ok=True)
        (top / name).write_text("x = 1\n", encoding="utf-8")
    committed(top, "first")
    from buildlint.team.folders import files_below

    on_disk = sorted(p.relative_to(top).as_posix() for p in files_below(top) if p.is_file())
    assert paths(top) == on_disk
    assert on_disk == ["a.build.toml", "c.bulid.toml", "deep/down/b.car.toml", "ü b\n.parts.toml"]
    assert paths(top / "guests") == ["deep/g.build.toml", "f.build.toml"]


def test_links_and_other_repositories_are_left_out(team: Path) -> None:
    (team / "far.build.toml").symlink_to("/etc/passwd")
    inner = team / "inner.car.toml"
    inner.mkdir()
    git(inner, "init", "-q")
    git(inner, "commit", "-q", "--allow-empty", "-m", "inner")
    committed(team, "second")
    assert "160000" in git(team, "ls-tree", "-r", "HEAD")
    assert "120000" in git(team, "ls-tree", "-r", "HEAD")
    assert paths(team) == paths(team, "first")


def test_contents_are_those_of_the_revision_to_the_byte(top: Path) -> None:
    contents = {
        "empty.car.toml": b"",
        "crlf.car.toml": b'name = "A"\r\n',
        "blob.car.toml": b"0123 blob 4\nabc\n\n",
        "bytes.car.toml": b"\xff\x00\n",
        "twin.car.toml": b"",
    }
    for name, content in contents.items():
        (top / name).write_bytes(content)
    committed(top, "first")
    for name in contents:
        (top / name).write_bytes(b"now")
    found = team_at(top, "HEAD")
    for name, content in contents.items():
        assert found.file(top / name).data == content
    read = [f.rule for f in found.file(top / "bytes.car.toml").faults]
    assert read == ["file/not-toml"]


def test_a_file_that_was_too_large_is_refused_and_never_read(top: Path) -> None:
    (top / "large.parts.toml").write_bytes(b"#" * (LARGEST + 7))
    committed(top, "first")
    (top / "large.parts.toml").unlink()
    (fault,) = team_at(top, "HEAD").file(top / "large.parts.toml").faults
    assert fault.rule == "file/too-large"
    assert f"{LARGEST + 7:,} bytes" in fault.message


def test_all_contents_come_from_one_process(team: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[tuple[str, ...]] = []
    ask = revision.git_bytes

    def counted(folder: Path, *words: str, told: bytes = b"") -> bytes:
        asked.append(words)
        return ask(folder, *words, told=told)

    monkeypatch.setattr(revision, "git_bytes", counted)
    assert len(paths(team)) == 4
    assert asked == [("cat-file", "--batch")]


def test_a_blob_that_git_has_lost_is_told(team: Path) -> None:
    blob = git(team, "rev-parse", "HEAD:heron.car.toml")
    lost = team / ".git" / "objects" / blob[:2] / blob[2:]
    lost.chmod(0o644)
    lost.unlink()
    with pytest.raises(PathError, match="git does not hold every file of that revision"):
        team_at(team, "HEAD")


def test_no_setting_of_git_runs_anything(team: Path) -> None:
    """A pager, a helper that watches files, converters of text: none is run."""
    ran = team.parent / "ran"
    script = team.parent / "script"
    script.write_text(f"#!/bin/sh\ntouch {ran}\ncat\n", encoding="utf-8")
    script.chmod(0o755)
    for key in (
        "core.pager",
        "pager.ls-tree",
        "pager.cat-file",
        "core.fsmonitor",
        "diff.own.textconv",
        "diff.external",
        "filter.own.smudge",
        "filter.own.clean",
        "alias.ls-tree",
    ):
        value = f"!{script}" if key.startswith("alias") else str(script)
        git(team, "config", key, value)
    attributes = team / ".git" / "info" / "attributes"
    attributes.parent.mkdir(exist_ok=True)
    attributes.write_text("*.toml diff=own filter=own\n", encoding="utf-8")
    edited(build_path(team), 'hold_back = "6.4 mm"', 'hold_back = "7.4 mm"')
    assert len(compare("first", build_path(team)).changes) == 1
    assert not ran.exists()


def test_nothing_in_the_repository_is_touched(team: Path) -> None:
    def state() -> dict[str, tuple[int, bytes]]:
        files = (p for p in team.rglob("*") if p.is_file())
        return {str(p): (p.stat().st_mtime_ns, p.read_bytes()) for p in files}

    before = state()
    compare("first", build_path(team))
    assert state() == before

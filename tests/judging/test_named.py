"""Which builds a hook judges, of the files that it is given and those that a commit deletes."""

import os
import shutil
from pathlib import Path

import pytest

from buildlint.judging.inspection import Inspection
from buildlint.judging.named import _is_of_team, inspect_named
from buildlint.text.errors import RulebookError
from tests.files.reading import BUILD
from tests.in_git import git, own_git  # noqa: F401 - every test here has it

pytestmark = pytest.mark.skipif(shutil.which("git") is None, reason="git is not installed")

SALTMARSH = Path(__file__).parent.parent.parent / "examples" / "saltmarsh"
RULE = """\
title = "The hold-back is nothing"
level = "must"
measure = "hold_back"
at_most = "0 mm"
source = "ours"
why = "w"
cure = "c"
"""


def team_in(folder: Path) -> None:
    """Copy the Saltmarsh team without its plan; no event is over, so that no build is past."""
    shutil.copytree(SALTMARSH, folder, ignore=shutil.ignore_patterns("*-finale.*"))
    event = folder / "events" / "estuary-sprint.event.toml"
    event.write_text(event.read_text("utf-8").replace("2027-04-24", "2027-06-20"), "utf-8")


@pytest.fixture
def top(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A repository with the Saltmarsh team in a folder of it, all committed; one stands there."""
    folder = tmp_path.resolve() / "top"
    team_in(folder / "team")
    git(folder, "init", "-q", "-b", "main")
    commit(folder)
    monkeypatch.chdir(folder)
    return folder


def write(root: Path, name: str, text: str) -> str:
    (root / name).parent.mkdir(parents=True, exist_ok=True)
    (root / name).write_text(text, encoding="utf-8")
    git(root, "add", "--", name)
    return name


def edit(root: Path, name: str, old: str, new: str) -> str:
    text = (root / name).read_text(encoding="utf-8")
    assert old in text
    return write(root, name, text.replace(old, new))


def commit(root: Path) -> None:
    git(root, "add", "-A")
    git(root, "commit", "-qm", "one more")


def judged(*names: str) -> tuple[list[str], set[str]]:
    found = inspect_named(names).inspection
    return [build.id for build in found.builds], {f.rule for f in found.in_files}


# --- what is judged ------------------------------------------------------------------------------


def test_a_build_is_judged_alone_and_a_car_with_its_builds(top: Path) -> None:
    assert judged("team/builds/heron-quarry.build.toml") == (["heron-quarry"], set())
    assert judged("team/cars/heron.car.toml") == (["heron-estuary", "heron-quarry"], set())


def test_settings_and_own_rules_judge_every_build_of_their_team(top: Path) -> None:
    every = sorted(p.name.split(".")[0] for p in top.glob("team/builds/*.toml"))
    assert judged("team/buildlint.toml") == (every, set())
    rule = write(top, "team/rules/pair/mine.toml", RULE)
    assert judged(rule)[0] == every
    assert not inspect_named([rule]).inspection.passes()
    commit(top)
    git(top, "rm", "-q", rule)  # one that is deleted too
    assert judged()[0] == every


def test_what_is_no_team_s_or_not_tracked_or_not_there_is_passed_over(top: Path) -> None:
    names = [
        *("team", "nowhere.build.toml", "/etc/passwd", "../out.build.toml", ""),
        write(top, "pyproject.toml", "not toml"),
        # another program's
        write(top, "tools/rules/mine.toml", "= not ours\n"),
        write(top, ".old/heron.build.toml", "x = 1\n"),
    ]
    (top / "team" / "teal.build.toml").write_text("not toml")
    assert judged(*names, "team/teal.build.toml") == ([], set())
    assert judged() == ([], set())


def test_parts_that_git_does_not_know_do_not_count(top: Path) -> None:
    (top / "team" / "new.parts.toml").write_text('[oil.o475]\nviscosity = "475 cSt"\n')
    build = edit(top, "team/builds/heron-estuary.build.toml", 'oil = "o350"', 'oil = "o475"')
    assert judged(build) == (["heron-estuary"], {"file/no-such-id"})
    git(top, "add", "-A")
    assert judged(build) == (["heron-estuary"], set())


def test_what_lies_there_and_is_not_added_is_named(top: Path) -> None:
    at = "team/events/quarry-six-hour.event.toml"
    git(top, "rm", "-q", "--cached", at)
    found = inspect_named(["team/builds/heron-quarry.build.toml"]).inspection
    told = {f.message for f in found.findings if f.rule == "file/no-such-id"}
    assert told == {
        'the event "quarry-six-hour" is not added to git: git add events/quarry-six-hour.event.toml'
    }


def test_a_rule_that_git_does_not_know_does_not_count(top: Path) -> None:
    build = "team/builds/heron-quarry.build.toml"
    (top / "team/rules/pair").mkdir()
    for text in (RULE, "half written"):
        (top / "team/rules/pair/mine.toml").write_text(text)
        assert inspect_named([build]).inspection.passes()
    git(top, "add", "-A")
    with pytest.raises(RulebookError):
        inspect_named([build])


def test_files_are_judged_as_they_are_on_the_disk(top: Path) -> None:
    build = edit(top, "team/builds/heron-quarry.build.toml", "6.5 mm", "not a length")
    assert judged(build) == (["heron-quarry"], {"file/not-a-reading"})
    git(top, "restore", "--source=HEAD", "--worktree", build)
    assert judged(build) == (["heron-quarry"], set())


def test_a_file_that_is_nearly_named_right_is_told(top: Path) -> None:
    name = write(top, "teal.bulid.toml", BUILD)
    assert judged(name) == ([], {"file/misnamed"})
    commit(top)
    git(top, "rm", "-q", name)
    assert judged() == ([], set())


def test_a_past_build_holds_no_commit_up(top: Path) -> None:
    """Neither where it is named, nor for a part of its own that is gone; its file must be sound."""
    edit(top, "team/events/estuary-sprint.event.toml", "2027-06-20", "2027-04-24")
    build = edit(top, "team/builds/heron-estuary.build.toml", '"6.4 mm"', '"0 mm"')
    assert judged(build) == ([], set())
    assert inspect_named([build]).inspection.looked_at == 0  # so nothing is said
    parts = edit(top, "team/our.parts.toml", "[oil.o350]", "[oil.o351]")
    found = inspect_named([parts]).inspection
    assert not [f for f in found.findings if "estuary" in f.file]
    found = inspect_named(["team/buildlint.toml"]).inspection
    assert found.counts.builds
    assert not [f for f in found.findings if "estuary" in f.file]
    assert judged(build)[1] == {"file/no-such-id"}


def test_what_the_team_passes_over_is_not_reached_through_its_car_either(top: Path) -> None:
    write(top, "team/buildlint.toml", '[inspect]\npass_over = ["builds/*-quarry.*"]\n')
    build = edit(top, "team/builds/heron-quarry.build.toml", "6.5 mm", "not a length")
    assert judged("team/cars/heron.car.toml", build) == (["heron-estuary"], set())


# --- what is deleted -----------------------------------------------------------------------------


@pytest.mark.parametrize("still_there", [False, True])
def test_what_refers_to_a_deleted_file_is_judged_and_the_file_told(
    top: Path, still_there: bool
) -> None:
    event = "team/events/quarry-six-hour.event.toml"
    git(top, "rm", "-q", *(["--cached"] if still_there else []), event)
    builds = ["curlew-quarry", "dunlin-quarry", "heron-quarry"]
    assert judged() == (builds, {"file/no-such-id"})
    assert inspect_named([]).deleted == [top / event]


def test_of_a_past_build_that_one_is_like_nothing_is_told(top: Path) -> None:
    """Both are for one car; the older one's oil is deleted, the newer one has another."""
    edit(top, "team/events/estuary-sprint.event.toml", "2027-06-20", "2027-04-24")
    edit(
        top,
        "team/builds/heron-quarry.build.toml",
        'car = "heron"',
        'car = "heron"\nlike = "heron-estuary"',
    )
    edit(top, "team/builds/heron-estuary.build.toml", 'oil = "o350"', 'oil = "spare"')
    parts = write(top, "team/spare.parts.toml", '[oil.spare]\nviscosity = "350 cSt"\n')
    commit(top)
    git(top, "rm", "-q", parts)
    assert judged() == (["heron-quarry"], set())


def test_an_event_of_past_builds_alone_may_be_deleted(top: Path) -> None:
    edit(top, "team/events/estuary-sprint.event.toml", "2027-06-20", "2027-04-24")
    commit(top)
    git(top, "rm", "-q", "team/events/estuary-sprint.event.toml")
    assert judged() == ([], set())


def test_a_part_that_only_a_car_refers_to_is_missed_too(top: Path) -> None:
    bodies = write(top, "team/bodies.parts.toml", '[body.spare]\nbore = "16 mm"\n')
    car = edit(top, "team/cars/curlew.car.toml", 'body = "', 'body = "spare" # "')
    commit(top)
    git(top, "rm", "-q", bodies)
    assert judged() == (["curlew-quarry"], {"file/no-such-id"})
    assert car


def test_one_who_deletes_a_part_and_all_that_use_it_is_not_held_up(top: Path) -> None:
    gone = [str(p.relative_to(top)) for p in top.glob("team/*/*estuary*")]
    git(top, "rm", "-q", *gone)
    assert judged() == ([], set())


# --- several teams -------------------------------------------------------------------------------


def test_two_teams_in_one_repository_are_judged_each_by_itself(top: Path) -> None:
    team_in(top / "guests")
    commit(top)
    git(top, "rm", "-q", "guests/cars/dunlin.car.toml")
    found = inspect_named(["team/cars/curlew.car.toml"]).inspection
    assert {(b.path.relative_to(top).parts[0], b.id) for b in found.builds} == {
        *(("guests", "dunlin-estuary"), ("guests", "dunlin-quarry"), ("team", "curlew-quarry"))
    }


def test_a_folder_that_becomes_a_team_is_missed_by_the_team_around_it(top: Path) -> None:
    git(top, "mv", "team/our.parts.toml", "team/builds/drawers.parts.toml")
    commit(top)
    name = write(top, "team/builds/buildlint.toml", "")
    commit(top)
    # what is below is judged with what it lost, what is around has no build left
    assert judged(name)[1] == {"file/no-such-id"}
    git(top, "mv", "team/builds/curlew-quarry.build.toml", "team/curlew-quarry.build.toml")
    git(top, "add", "-A")
    found = inspect_named([name]).inspection
    assert top / "team/curlew-quarry.build.toml" in [build.path for build in found.builds]


def test_a_team_is_not_held_up_by_the_one_around_it(top: Path) -> None:
    write(top, "around.build.toml", BUILD)  # its car is not there
    assert "around" not in judged("team/our.parts.toml")[0]
    assert "around" in judged("team/buildlint.toml")[0]  # which may take something away from it


def test_a_file_that_no_build_uses_is_looked_at(top: Path) -> None:
    found = inspect_named([write(top, "team/spare.parts.toml", "")]).inspection
    assert (found.looked_at, found.builds) == (1, [])


def test_a_team_around_the_repository_is_judged_with_what_lies_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    team = tmp_path.resolve() / "team"
    shutil.copytree(SALTMARSH, team)
    git(team / "builds", "init", "-q")
    git(team / "builds", "add", "-A")
    monkeypatch.chdir(team / "builds")
    assert judged("heron-quarry.build.toml") == (
        ["heron-finale", "heron-quarry"],
        set(),
    )  # the one is like the other
    git(team / "builds", "rm", "-q", "--cached", "heron-quarry.build.toml")
    assert judged("heron-quarry.build.toml") == ([], set())


# --- a merge by hand -----------------------------------------------------------------------------


def test_a_merge_by_hand_is_judged_by_the_references_of_every_team(top: Path) -> None:
    """A hook runner names only the files that were in conflict, or none."""
    git(top, "switch", "-qc", "fewer")
    git(top, "rm", "-q", "team/events/estuary-sprint.event.toml")
    commit(top)
    git(top, "switch", "-q", "main")
    write(top, "notes.txt", "x\n")
    commit(top)
    git(top, "merge", "-q", "--no-commit", "fewer")
    # brought back from our side: for the index nothing is deleted
    git(top, "restore", "--source=HEAD", "--staged", "--worktree", "team")
    assert judged() == ([], set())
    edit(top, "team/our.parts.toml", "[oil.o450]", "[oil.o451]")
    builds, rules = judged()
    assert rules == {"file/no-such-id"}
    assert "heron-quarry" in builds


# --- where git runs it ---------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ["as hooks have it", "of a linked worktree"])
@pytest.mark.parametrize("folder", [".", "team", "team/cars"])
def test_the_variables_of_a_hook_hold_in_any_folder_below(
    top: Path, monkeypatch: pytest.MonkeyPatch, kind: str, folder: str
) -> None:
    """git sets GIT_DIR as seen from the top, and no GIT_WORK_TREE."""
    if kind == "of a linked worktree":
        git(top, "worktree", "add", "-q", str(top.parent / "linked"))
        top = top.parent / "linked"
    git(top, "rm", "-q", "team/cars/heron.car.toml")
    git_folder = git(top, "rev-parse", "--git-dir")
    # a partial commit has an index of its own: by the other, nothing is deleted
    other = Path(git_folder) / "other-index"
    shutil.copyfile(top / git_folder / "index", top / other)
    git(top, "reset", "-q")
    monkeypatch.setenv("GIT_DIR", git_folder)
    monkeypatch.setenv("GIT_INDEX_FILE", str(other))
    monkeypatch.chdir(top / folder)
    assert judged() == (["heron-estuary", "heron-quarry"], {"file/no-such-id"})


def test_names_with_blanks_quotes_and_newlines(top: Path) -> None:
    builds = ['a b "c"', "d\ne", "ü", "-x", os.fsdecode(b"\xff")]
    names = [write(top, f"team/{name}.build.toml", BUILD) for name in builds]
    assert sorted(judged(*names)[0]) == sorted(builds)


def test_nothing_is_left_to_judge(top: Path) -> None:
    assert inspect_named([]).inspection == Inspection()


@pytest.mark.parametrize(
    ("name", "of_team"),
    [
        ("teal.build.toml", True),
        ("teal.bulid.toml", True),
        ("buildlint.toml", True),
        ("rules/pair/ours.toml", True),
        ("Rules/ours.TOML", True),
        ("ours.toml", False),
        ("README.md", False),
        ("docs/rules/notes.toml", False),
    ],
)
def test_which_files_are_a_team_s(name: str, of_team: bool) -> None:
    assert _is_of_team(Path("/team", name), Path("/team")) is of_team

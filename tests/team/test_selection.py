"""Which builds a path means, and which files a build stands on."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from buildlint.files.models import Build
from buildlint.team.load import load_team
from buildlint.team.repository import Team
from buildlint.team.selection import find_build, meant, roots_of, used_by
from buildlint.text.errors import PathError
from tests.making import build_path, repository, toml, write

DRAWERS, CAR, EVENT = "drawers.parts.toml", "heron.car.toml", "quarry.event.toml"
OURS, OTHER = "heron-quarry.build.toml", "other.build.toml"


def team(folder: Path, **changes: Any) -> Team:
    """The sound repository, and a second build of the same car for no event."""
    repository(folder, **changes)
    text = build_path(folder).read_text(encoding="utf-8")
    (folder / OTHER).write_text(text.replace('event = "quarry"\n', ""), encoding="utf-8")
    return load_team(folder)


def names(found: Team, *given: str) -> tuple[list[str], set[str]]:
    builds, files = meant(found, [found.root / name for name in given])
    return [path.name for path in builds], {path.name for path in files}


def used(found: Team, build: str) -> set[str]:
    model = found.file(found.root / build).model
    assert isinstance(model, Build)
    return {path.name for path in used_by(found, model)}


# --- roots ---------------------------------------------------------------------------------------


def test_a_file_means_the_root_that_it_is_in(tmp_path):
    repository(tmp_path)
    assert roots_of(build_path(tmp_path)) == [tmp_path]


def test_a_folder_means_its_own_root_and_every_one_below_it(tmp_path):
    for name in ("one", "two", "deep/three", ".hidden/four"):
        repository(tmp_path / name)
    found = roots_of(tmp_path)
    assert found[0] == tmp_path
    assert set(found[1:]) == {tmp_path / "one", tmp_path / "two", tmp_path / "deep/three"}
    assert len(found) == len(set(found))


def test_a_folder_within_a_root_means_that_root(tmp_path):
    repository(tmp_path)
    (tmp_path / "builds").mkdir()
    assert roots_of(tmp_path / "builds") == [tmp_path]


# --- what paths mean -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("given", "builds"),
    [
        ([OURS], [OURS]),
        ([OTHER], [OTHER]),
        ([OURS, OTHER, OURS], [OURS, OTHER]),
        ([CAR], [OURS, OTHER]),
        ([DRAWERS], [OURS, OTHER]),
        ([EVENT], [OURS]),
        ([EVENT, OTHER], [OURS, OTHER]),
        (["."], [OURS, OTHER]),
        (["buildlint.toml"], [OURS, OTHER]),
        (["rules/own.toml"], [OURS, OTHER]),
        (["rules/deep/er/own.toml"], [OURS, OTHER]),
        (["rules/own.toml", OURS], [OURS, OTHER]),
    ],
)
def test_a_changed_file_means_every_build_that_uses_it(tmp_path, given, builds):
    """Of a car, an event, drawers, settings, rules: whatever builds stand on it."""
    assert names(team(tmp_path), *given)[0] == builds


def test_the_files_to_be_looked_at_are_those_given(tmp_path):
    assert names(team(tmp_path), CAR)[1] == {CAR}
    assert names(team(tmp_path), ".")[1] == {DRAWERS, CAR, EVENT, OURS, OTHER}


def test_a_folder_means_only_what_lies_below_it(tmp_path):
    found = team(tmp_path)
    text = build_path(tmp_path).read_text(encoding="utf-8")
    write(tmp_path, {"builds/third.build.toml": text})
    found = load_team(tmp_path)
    assert names(found, "builds") == (["third.build.toml"], {"third.build.toml"})


def test_a_file_that_is_none_of_ours_is_refused_by_name(tmp_path):
    with pytest.raises(PathError, match=r"notes\.txt is not read: a file"):
        names(team(tmp_path), "notes.txt")


@pytest.mark.parametrize("name", ["tools/rules/own.toml", "rules.toml", "other-rules/own.toml"])
def test_only_the_folder_rules_at_the_root_holds_rules(tmp_path, name):
    with pytest.raises(PathError, match="is not read: a file"):
        names(team(tmp_path), name)


def test_settings_and_rules_that_are_gone_mean_every_build(tmp_path):
    """A hook sees that they were deleted: what they changed is as it came."""
    found = team(tmp_path)
    (tmp_path / "buildlint.toml").unlink()
    for name in ("buildlint.toml", "rules/own.toml"):
        assert names(found, name) == ([OURS, OTHER], {DRAWERS, CAR, EVENT, OURS, OTHER})


def test_settings_mean_the_builds_of_their_own_root_only(tmp_path):
    repository(tmp_path / "below")
    found = team(tmp_path)
    assert names(found, "buildlint.toml")[0] == [OURS, OTHER]
    assert roots_of(tmp_path / "below" / "buildlint.toml") == [tmp_path / "below"]


def test_a_parts_file_that_is_gone_means_the_builds_that_now_refer_to_nothing(tmp_path):
    """A hook sees that a file was deleted: what named its parts is judged again."""
    found = team(tmp_path, build={"front.oil": "lost"})
    text = build_path(tmp_path).read_text(encoding="utf-8")
    (tmp_path / OTHER).write_text(text.replace('"lost"', '"o450"'), encoding="utf-8")
    found = load_team(tmp_path)
    assert names(found, "bottles.parts.toml")[0] == [OURS]


# --- what a build stands on ----------------------------------------------------------------------


def test_a_build_stands_on_its_car_its_event_and_the_drawers(tmp_path):
    found = team(tmp_path)
    assert used(found, OURS) == {CAR, EVENT, DRAWERS}
    assert used(found, OTHER) == {CAR, DRAWERS}


def test_only_parts_files_with_a_part_that_is_fitted_are_used(tmp_path):
    found = team(tmp_path, build={"front.right.spring": "hard"})
    write(tmp_path, {"hard.parts.toml": toml({"spring.hard": {"rate": "2 N/mm"}})})
    write(tmp_path, {"spare.parts.toml": toml({"spring.spare": {"rate": "1 N/mm"}})})
    found = load_team(tmp_path)
    assert used(found, OURS) == {CAR, EVENT, DRAWERS, "hard.parts.toml"}


def test_every_oil_down_a_chain_of_blends_is_used_and_a_ring_ends(tmp_path):
    blends = {
        "one": {"oil.one": {"blend": {"two": "50 %", "o450": "50 %"}}},
        "two": {"oil.two": {"blend": {"three": "50 %", "o450": "50 %"}}},
        "three": {"oil.three": {"blend": {"one": "50 %", "o450": "50 %"}}},
        "four": {"oil.four": {"viscosity": "300 cSt"}},
    }
    team(tmp_path, build={"front.oil": "one"})
    write(tmp_path, {f"{name}.parts.toml": toml(table) for name, table in blends.items()})
    found = used(load_team(tmp_path), OURS)
    assert found == {CAR, EVENT, DRAWERS, "one.parts.toml", "two.parts.toml", "three.parts.toml"}


def test_an_id_used_twice_stands_on_both_files(tmp_path):
    team(tmp_path, build={"front.oil": "twin"})
    twin = toml({"oil.twin": {"viscosity": "400 cSt"}})
    write(tmp_path, {"one.parts.toml": twin, "two.parts.toml": twin})
    assert {"one.parts.toml", "two.parts.toml"} <= used(load_team(tmp_path), OURS)


def test_a_part_that_is_not_there_may_stand_in_a_file_that_cannot_be_read(tmp_path):
    team(tmp_path, build={"front.oil": "lost"})
    sound = toml({"oil.other": {"viscosity": "300 cSt"}})
    write(tmp_path, {"broken.parts.toml": "[oil.lost\n", "sound.parts.toml": sound})
    found = used(load_team(tmp_path), OURS)
    assert "broken.parts.toml" in found and "sound.parts.toml" not in found


# --- one build -----------------------------------------------------------------------------------


def test_a_build_is_found_by_its_path_or_by_its_id_in_the_working_folder(tmp_path, monkeypatch):
    repository(tmp_path / "team")
    found, path = find_build(build_path(tmp_path / "team"))
    assert (found.root, path) == (tmp_path / "team", build_path(tmp_path / "team"))
    monkeypatch.chdir(tmp_path / "team")
    assert find_build("heron-quarry")[1] == path


@pytest.mark.parametrize("build", ["nowhere", "", "nowhere.build.toml", "heron.car.toml", "."])
def test_what_is_no_build_is_refused(tmp_path, monkeypatch, build):
    monkeypatch.chdir(repository(tmp_path))
    with pytest.raises(PathError, match=r"there is no build|a path is empty"):
        find_build(build)


def refused(build: str) -> str:
    with pytest.raises(PathError) as caught:
        find_build(build)
    return str(caught.value)


def test_where_was_looked_is_said_and_what_to_do(tmp_path, monkeypatch):
    monkeypatch.chdir(repository(tmp_path / "team"))
    (tmp_path / "team" / "builds").mkdir()
    monkeypatch.chdir(tmp_path / "team" / "builds")
    assert refused("wren-cup") == (
        f'there is no build "wren-cup" under {tmp_path / "team"}: '
        "go to the team's folder, or name the file"
    )
    assert refused("heron-quary") == (
        f'there is no build "heron-quary" under {tmp_path / "team"}; did you mean "heron-quarry"?'
    )


def test_builds_of_teams_below_are_named(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    repository(tmp_path / "one")
    there = f'there is no build "heron-quarry" in {tmp_path} itself; did you mean '
    assert refused("heron-quarry") == f"{there}one/heron-quarry.build.toml?"
    repository(tmp_path / "two")
    files = [f"{name}/heron-quarry.build.toml" for name in ("one", "two")]
    assert refused("heron-quarry") == f"{there}{files[0]} or {files[1]}?"
    for name in ("five", "four", "three", ".hidden"):
        repository(tmp_path / name)
    # in the order of their names
    first = ", ".join(f"{name}/heron-quarry.build.toml" for name in ("five", "four", "one"))
    assert refused("heron-quarry") == f"{there}{first}, or one of 2 more?"


def test_a_path_that_is_wrong_is_answered_with_the_file_that_was_meant(tmp_path, monkeypatch):
    repository(tmp_path)
    (tmp_path / "builds").mkdir()
    build_path(tmp_path).rename(tmp_path / "builds" / OURS)
    monkeypatch.chdir(tmp_path)
    meant_one = f"; did you mean builds/{OURS}?"
    assert refused(f"bulds/{OURS}") == f"there is no build bulds/{OURS}{meant_one}"
    assert refused(OURS) == f"there is no build {OURS}{meant_one}"
    assert refused(CAR) == f"there is no build in {CAR}: a build is a file named NAME.build.toml"
    assert "\x1b" not in refused("a/\x1b[31m") + refused("\x1b[31m")


def test_the_folder_of_own_rules_means_every_build(tmp_path):
    repository(tmp_path)
    (tmp_path / "rules" / "pair").mkdir(parents=True)
    team = load_team(tmp_path)
    for given in ("rules", "rules/pair", "rules/pair/own.toml", "buildlint.toml"):
        builds, _ = meant(team, [tmp_path / given])
        assert builds == [build_path(tmp_path)]

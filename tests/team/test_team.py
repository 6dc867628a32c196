"""A team's repository: its root, what its ids stand for, and the faults between files."""

import os
from itertools import permutations
from pathlib import Path

import pytest

from buildlint.files.models import Build, Event
from buildlint.team.folders import files_below
from buildlint.team.load import load_team
from buildlint.team.repository import Team
from buildlint.text.errors import PathError
from tests.making import repository
from tests.small_team import BUILD, CAR, FILES, OILS, told, write


@pytest.fixture
def root(tmp_path: Path) -> Path:
    return write(tmp_path / "saltmarsh", FILES)


def test_a_path_that_is_not_there_is_no_team(tmp_path: Path) -> None:
    with pytest.raises(PathError, match="there is no"):
        load_team(tmp_path / "nowhere")


def test_ids_are_joined_across_folders(root: Path) -> None:
    team = load_team(root / "builds")
    assert team.root == root
    assert told(team) == []
    build = team.file(team.by_id("build")["heron-quarry"]).model
    assert isinstance(build, Build)
    car, car_file = team.car_of(build)
    event, event_file = team.event_of(build)
    assert car is not None
    assert car.name == "Heron"
    assert car_file is not None
    assert car_file.path == root / "cars/heron.car.toml"
    assert event is not None
    assert event.name == "Quarry Six-Hour"
    assert event_file is not None
    assert event_file.path == root / "events/quarry.event.toml"
    thin = team.part("oil", "thin")
    assert thin is not None
    assert thin.file.path == root / "shelf/deep/oils.parts.toml"
    assert team.homes("oil", "thin") == [root / "shelf/deep/oils.parts.toml"]
    assert team.part("oil", "none") is None
    assert team.part("oil", None) is None
    assert team.homes("oil", "none") == []
    assert list(team.cars) == ["heron"]
    assert list(team.events) == ["quarry"]


def test_a_build_without_an_event_has_none(root: Path) -> None:
    write(root, {"builds/heron-quarry.build.toml": BUILD.replace('event = "quarry"\n', "")})
    team = load_team(root)
    build = team.file(team.by_id("build")["heron-quarry"]).model
    assert isinstance(build, Build)
    assert team.event_of(build) == (None, None)
    assert told(team) == []


def test_a_link_to_a_file_outside_is_not_read(root: Path, tmp_path: Path) -> None:
    write(tmp_path / "outside", {"secret.parts.toml": "[oil.secret]\nviscosity = '9 cSt'\n"})
    (root / "secret.parts.toml").symlink_to(tmp_path / "outside" / "secret.parts.toml")
    team = load_team(root)
    assert told(team) == [
        (
            "secret.parts.toml",
            "file/unreadable",
            1,
            1,
            1,
            "is a link that leads out of the repository",
        )
    ]
    assert team.part("oil", "secret") is None


def test_an_id_used_twice_is_told_in_both_files(root: Path) -> None:
    write(root, {"a.parts.toml": '# more\n[oil.thin]\nviscosity = "300 cSt"\n'})
    assert told(load_team(root)) == [
        (
            "a.parts.toml",
            "file/id-twice",
            2,
            2,
            10,
            'the oil "thin" is also in shelf/deep/oils.parts.toml: give one of the two another id',
        ),
        (
            "shelf/deep/oils.parts.toml",
            "file/id-twice",
            1,
            2,
            10,
            'the oil "thin" is also in a.parts.toml: give one of the two another id',
        ),
    ]


def test_a_file_name_in_a_message_is_fit_to_be_shown(root: Path) -> None:
    try:
        write(root, {"\x1b[2J.parts.toml": '[oil.thin]\nviscosity = "300 cSt"\n'})
        write(root, {"\x1b[2J/heron.car.toml": CAR})
    except OSError:
        pytest.skip("this system takes no such name")
    messages = [message for *_, message in told(load_team(root))]
    assert (
        'the oil "thin" is also in \\x1b[2J.parts.toml: give one of the two another id' in messages
    )
    named = "\\x1b[2J/heron.car.toml"
    assert f'the car "heron" is also {named}: give one file another name' in messages


def test_the_same_id_for_two_kinds_of_part_is_no_fault(root: Path) -> None:
    write(root, {"a.parts.toml": '[spring.thin]\nrate = "0.8 N/mm"\n'})
    assert told(load_team(root)) == []


def test_two_files_of_one_name_are_told_in_both(root: Path) -> None:
    write(root, {"old/heron.car.toml": CAR})
    assert told(load_team(root)) == [
        (
            "cars/heron.car.toml",
            "file/id-twice",
            1,
            1,
            1,
            'the car "heron" is also old/heron.car.toml: give one file another name',
        ),
        (
            "old/heron.car.toml",
            "file/id-twice",
            1,
            1,
            1,
            'the car "heron" is also cars/heron.car.toml: give one file another name',
        ),
    ]


def test_two_parts_files_may_have_one_name(root: Path) -> None:
    write(root, {"oils.parts.toml": '[oil.third]\nviscosity = "300 cSt"\n'})
    assert told(load_team(root)) == []


def test_the_order_of_files_does_not_matter(root: Path) -> None:
    write(
        root,
        {
            "a.parts.toml": '[oil.thin]\nviscosity = "300 cSt"\n[oil.a]\nblend = {b = "100 %"}\n',
            "b.parts.toml": '[oil.b]\nblend = {a = "100 %"}\n',
            "old/heron.car.toml": CAR,
        },
    )
    paths = [p for p in files_below(root) if not p.name.endswith("event.toml")]
    answers = {
        repr((told(team := Team(root, order)), team.cars, team.part("oil", "thin")))
        for order in list(permutations(paths))[::97]
    }
    assert len(answers) == 1


@pytest.mark.parametrize("broken", ["[oil.thin]\nviscosity", b"\xff", "x = " + "[" * 9999, ""])
def test_a_parts_file_that_cannot_be_read_is_told_once(root: Path, broken: str | bytes) -> None:
    path = root / "shelf/deep/oils.parts.toml"
    path.write_bytes(broken if isinstance(broken, bytes) else broken.encode())
    got = told(load_team(root))
    assert {t[0] for t in got} == {"shelf/deep/oils.parts.toml"}
    assert len(got) == 1


def test_a_part_with_a_mistake_in_it_is_still_there(root: Path) -> None:
    write(root, {"shelf/deep/oils.parts.toml": OILS.replace("350 cSt", "350 wt")})
    assert [t[:3] for t in told(load_team(root))] == [
        ("shelf/deep/oils.parts.toml", "file/bottle-weight", 2)
    ]


def test_a_car_that_cannot_be_read_is_told_once(root: Path) -> None:
    write(root, {"cars/heron.car.toml": "= ="})
    team = load_team(root)
    assert [t[:2] for t in told(team)] == [("cars/heron.car.toml", "file/not-toml")]
    build = team.file(team.by_id("build")["heron-quarry"]).model
    assert isinstance(build, Build)
    car, found = team.car_of(build)
    assert car is None
    assert found is not None


def test_a_file_is_read_once(root: Path) -> None:
    team = load_team(root)
    assert not team._read
    path = team.by_id("build")["heron-quarry"]
    assert team.file(path) is team.file(path)
    before = told(team)
    assert told(team) == before


def test_a_path_is_said_as_seen_from_the_root(root: Path, tmp_path: Path) -> None:
    team = load_team(root)
    assert team.relative(root / "cars" / "heron.car.toml") == "cars/heron.car.toml"
    assert team.relative(tmp_path / "x.car.toml") == (tmp_path / "x.car.toml").as_posix()


def test_a_held_file_stands_beside_the_others_and_the_team_stays_as_it_was(tmp_path: Path) -> None:
    (tmp_path / "heron.car.toml").write_text(CAR, encoding="utf-8")
    team = load_team(tmp_path)
    more = team.with_files({"tried.build.toml": BUILD.encode()})
    assert list(more.builds) == ["tried"]
    assert list(more.cars) == ["heron"]
    found = more.file(tmp_path / "tried.build.toml")
    assert isinstance(found.model, Build)
    assert found.model.car == "heron"
    assert list(team.builds) == []
    assert not (tmp_path / "tried.build.toml").exists()


def test_a_held_file_is_taken_in_the_place_of_the_one_on_the_disk(tmp_path: Path) -> None:
    path = tmp_path / "all.parts.toml"
    path.write_text('[oil.thin]\nviscosity = "100 cSt"\n', encoding="utf-8")
    team = load_team(tmp_path)
    more = team.with_files({"./all.parts.toml": {"oil": {"thick": {"viscosity": "900 cSt"}}}})
    assert list(team.parts()["oil"]) == ["thin"]
    assert list(more.parts()["oil"]) == ["thick"]
    # and one on top of the other
    again = more.with_files({"all.parts.toml": b""}).with_files({"x.car.toml": CAR.encode()})
    assert list(again.parts()["oil"]) == []
    assert list(again.cars) == ["x"]


def test_files_are_misnamed_with_held_ones_too(tmp_path: Path) -> None:
    (tmp_path / "x.bulid.toml").write_text(BUILD, encoding="utf-8")
    team = load_team(tmp_path).with_files({"tried.build.toml": b""})
    assert team.misnamed == [tmp_path / "x.bulid.toml"]


def test_a_held_id_is_used_twice_as_any_other(tmp_path: Path) -> None:
    (tmp_path / "heron.car.toml").write_text(CAR, encoding="utf-8")
    team = load_team(tmp_path).with_files({"deep/heron.car.toml": CAR.encode()})
    faults = team.file(tmp_path / "heron.car.toml").faults
    assert [fault.rule for fault in faults if fault.rule == "file/id-twice"] == ["file/id-twice"]


@pytest.mark.parametrize(
    "name",
    ["../x.build.toml", "a/../../x.build.toml", "/x.build.toml", "x.toml", "", ".", "rules/x.toml",
     "x.build.toml/y", "\x1b[31m"],
)  # fmt: skip
def test_a_name_outside_or_of_no_kind_is_refused(tmp_path: Path, name: str) -> None:
    said = "cannot be a file of this team" if name else "a path is empty"
    with pytest.raises(PathError, match=said) as caught:
        load_team(tmp_path).with_files({name: b""})
    assert str(caught.value).isprintable()


@pytest.mark.skipif(os.name == "nt", reason="needs links")
def test_nothing_on_the_disk_is_read_for_a_held_file(tmp_path: Path) -> None:
    """Not even where its path leads out of the repository."""
    root = tmp_path / "root"
    root.mkdir()
    outside = tmp_path / "outside.car.toml"
    outside.write_text(CAR.replace("Heron", "Other"), encoding="utf-8")
    (root / "heron.car.toml").symlink_to(outside)
    team = load_team(root).with_files({"heron.car.toml": CAR.encode()})
    found = team.file(root / "heron.car.toml")
    assert found.data == CAR.encode()
    assert all(fault.rule != "file/unreadable" for fault in found.faults)


def test_a_file_in_memory_may_be_text(tmp_path):
    team = load_team(repository(tmp_path)).with_files({"fen.event.toml": 'name = "Fen"\n'})
    model = team.file(tmp_path / "fen.event.toml").model
    assert isinstance(model, Event) and model.name == "Fen"

"""A team's repository: its root, what its ids stand for, and the faults between files."""

import os
from collections.abc import Collection
from itertools import pairwise, permutations
from pathlib import Path

import pytest

from buildlint import team as team_module
from buildlint.errors import PathError
from buildlint.files.models import Build, Event
from buildlint.files.part_models import Parts
from buildlint.files.places import START, Places
from buildlint.files.reader import FileRead
from buildlint.team import Team, files_below, find_root, load_team
from tests.making import repository

BUILD = """\
car = "heron"
event = "quarry"
[bench]
on = 2027-06-05
temperature = "16 degC"
altitude = "5 m"
[front]
piston = "four"
oil = "thin"
hold_back = "6 mm"
[rear]
piston = "four"
oil = "thin"
hold_back = "6 mm"
"""
CAR = """\
name = "Heron"
[front]
body = "long"
shaft = "slim"
[rear]
body = "long"
shaft = "slim"
"""
EVENT = """\
name = "Quarry Six-Hour"
on = 2027-06-12
altitude = "1900 m"
coldest = "14 degC"
hottest = "38 degC"
"""
METAL = """\
[body.long]
bore = "16 mm"
stroke = "28 mm"
length = "52 mm"
[shaft.slim]
diameter = "3.5 mm"
[piston.four]
diameter = "15.9 mm"
thickness = "2.5 mm"
holes = "4 x 1.8 mm"
"""
OILS = """\
[oil.thin]
viscosity = "350 cSt"
[oil.thick]
viscosity = "600 cSt"
"""
FILES = {
    "buildlint.toml": "",
    "builds/heron-quarry.build.toml": BUILD,
    "cars/heron.car.toml": CAR,
    "events/quarry.event.toml": EVENT,
    "drawers/metal.parts.toml": METAL,
    "shelf/deep/oils.parts.toml": OILS,
}

Told = tuple[str, str, int, int, int, str]


def write(root: Path, files: dict[str, str]) -> Path:
    for name, text in files.items():
        path = root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return root


@pytest.fixture
def root(tmp_path: Path) -> Path:
    return write(tmp_path / "saltmarsh", FILES)


def read_all(team: Team) -> list[FileRead]:
    for kind in ("parts", "car", "event", "build"):
        for path in team.paths(kind):
            team.file(path)
    team.parts()
    return team.files_read()


def told(team: Team) -> list[Told]:
    """Every fault of every file with its place, sorted by file."""
    out = []
    for found in read_all(team):
        places = Places(found.data)
        for fault in found.faults:
            at = fault.place or START
            if fault.place is None and fault.path:
                at = places.of_key(fault.path) if fault.on_key else places.of_value(fault.path)
            out.append((team.relative(found.path), fault.rule, *at, fault.message))
    return sorted(out)


# --- the root ------------------------------------------------------------------------------------


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


def test_a_path_that_is_not_there_is_no_team(tmp_path: Path) -> None:
    with pytest.raises(PathError, match="there is no"):
        load_team(tmp_path / "nowhere")


# --- files and ids -------------------------------------------------------------------------------


def test_ids_are_joined_across_folders(root: Path) -> None:
    team = load_team(root / "builds")
    assert team.root == root
    assert told(team) == []
    build = team.file(team.builds["heron-quarry"]).model
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
    build = team.file(team.builds["heron-quarry"]).model
    assert isinstance(build, Build)
    assert team.event_of(build) == (None, None)
    assert told(team) == []


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


def test_a_folder_that_cannot_be_opened_is_passed_over(root: Path) -> None:
    assert list(files_below(root / "gone")) == []


@pytest.mark.parametrize(
    ("oils", "looked_up"),
    [
        # each is of two that are not there: no more than a file's first hundred are looked up
        (300, 100),
        # among so many ids, none: it would take minutes
        (2500, 0),
    ],
)
def test_thousands_of_dead_references_are_told_without_looking_for_each(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, oils: int, looked_up: int
) -> None:
    blends = (f'[oil.o{n}]\nblend = {{ x{n} = "50 %", y{n} = "50 %" }}\n' for n in range(oils))
    write(tmp_path, {"buildlint.toml": "", "a.parts.toml": "".join(blends)})
    looked: list[str] = []

    def nearest(word: str, known: Collection[str]) -> None:
        looked.append(word)

    monkeypatch.setattr(team_module, "nearest", nearest)
    team = load_team(tmp_path)
    team.parts()
    faults = team.file(tmp_path / "a.parts.toml").faults
    assert [fault.rule for fault in faults] == ["file/no-such-id"] * 2 * oils
    assert faults[-1].message.startswith(f'there is no oil "y{oils - 1}"')
    assert len(looked) == looked_up


# --- an id used twice ----------------------------------------------------------------------------


def test_an_id_used_twice_is_told_in_both_files(root: Path) -> None:
    write(root, {"a.parts.toml": '# more\n[oil.thin]\nviscosity = "300 cSt"\n'})
    assert told(load_team(root)) == [
        (
            "a.parts.toml",
            "file/id-twice",
            2,
            2,
            10,
            'the oil "thin" stands in shelf/deep/oils.parts.toml too: give one another id',
        ),
        (
            "shelf/deep/oils.parts.toml",
            "file/id-twice",
            1,
            2,
            10,
            'the oil "thin" stands in a.parts.toml too: give one another id',
        ),
    ]


def test_a_file_name_in_a_message_is_fit_to_be_shown(root: Path) -> None:
    try:
        write(root, {"\x1b[2J.parts.toml": '[oil.thin]\nviscosity = "300 cSt"\n'})
        write(root, {"\x1b[2J/heron.car.toml": CAR})
    except OSError:
        pytest.skip("this system takes no such name")
    messages = [message for *_, message in told(load_team(root))]
    assert 'the oil "thin" stands in \\x1b[2J.parts.toml too: give one another id' in messages
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


# --- references ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("file", "old", "new", "place", "message"),
    [
        (
            "builds/heron-quarry.build.toml",
            'car = "heron"',
            'car = "hern"',
            (1, 7, 13),
            'there is no car "hern"; did you mean "heron"?',
        ),
        (
            "builds/heron-quarry.build.toml",
            '"quarry"',
            '"estuary-sprint"',
            (2, 9, 25),
            'there is no event "estuary-sprint"; known are "quarry"',
        ),
        (
            "builds/heron-quarry.build.toml",
            'oil = "thin"',
            'oil = "thn"',
            (9, 7, 12),
            'there is no oil "thn"; did you mean "thin"?',
        ),
        (
            "builds/heron-quarry.build.toml",
            "[rear]",
            'left.piston = "five"\n[rear]',
            (11, 15, 21),
            'there is no piston "five"; known are "four"',
        ),
        (
            "builds/heron-quarry.build.toml",
            "[rear]",
            'right = { spring = "soft" }\n[rear]',
            (11, 20, 26),
            'there is no spring "soft", nor any other spring',
        ),
        (
            "cars/heron.car.toml",
            'shaft = "slim"',
            'shaft = "slim"\nbladder = "\\u001b"',
            (5, 11, 19),
            'there is no bladder "\\x1b", nor any other bladder',
        ),
        (
            "cars/heron.car.toml",
            'body = "long"',
            'body = "lonng"',
            (3, 8, 15),
            'there is no body "lonng"; did you mean "long"?',
        ),
        (
            "shelf/deep/oils.parts.toml",
            'viscosity = "600 cSt"',
            'blend = { thin = "50 %", thicc = "50 %" }',
            (4, 34, 40),
            'there is no oil "thicc"; did you mean "thick"?',
        ),
    ],
)
def test_a_reference_to_nothing_is_told_with_the_nearest_id(
    root: Path, file: str, old: str, new: str, place: tuple[int, int, int], message: str
) -> None:
    assert old in FILES[file]
    write(root, {file: FILES[file].replace(old, new, 1)})
    assert told(load_team(root)) == [(file, "file/no-such-id", *place, message)]


def test_of_many_ids_six_are_named(root: Path) -> None:
    write(root, {"cars/heron.car.toml": "", **{f"cars/c{i}.car.toml": CAR for i in range(8)}})
    os.remove(root / "cars/heron.car.toml")  # noqa: PTH107
    ((_, rule, *_, message),) = told(load_team(root))
    assert rule == "file/no-such-id"
    assert message == ('there is no car "heron"; known are "c0", "c1", "c2", "c3", "c4", "c5", …')


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
    build = team.file(team.builds["heron-quarry"]).model
    assert isinstance(build, Build)
    car, found = team.car_of(build)
    assert car is None
    assert found is not None


# --- blends --------------------------------------------------------------------------------------


def blends(root: Path, **of: str) -> list[Told]:
    text = "".join(f"[oil.{name}]\nblend = {{ {parts} }}\n" for name, parts in of.items())
    write(root, {"mixed.parts.toml": text})
    return told(load_team(root))


def test_an_oil_blended_of_itself(root: Path) -> None:
    assert blends(root, a='thin = "40 %", a = "60 %"') == [
        (
            "mixed.parts.toml",
            "file/blend-of-itself",
            2,
            30,
            36,
            'an oil cannot be blended of itself: "a" of "a"',
        )
    ]


def test_a_ring_of_three_is_one_fault_that_names_the_way(root: Path) -> None:
    got = blends(
        root, a='b = "100 %"', b='thin = "50 %", c = "50 %"', c='a = "100 %"', d='a = "100 %"'
    )
    assert got == [
        (
            "mixed.parts.toml",
            "file/blend-of-itself",
            2,
            15,
            22,
            'an oil cannot be blended of itself: "a" of "b" of "c" of "a"',
        )
    ]


def test_a_ring_leaves_its_oils_unsound_and_others_sound(root: Path) -> None:
    blends(root, a='b = "100 %"', b='a = "100 %"', c='thin = "50 %", thick = "50 %"')
    team = load_team(root)
    assert not team.blend_is_sound("a")
    assert not team.blend_is_sound("b")
    assert team.blend_is_sound("c")
    assert team.blend_is_sound("thin")


def test_a_blend_of_blends_that_come_together_is_sound(root: Path) -> None:
    assert (
        blends(
            root,
            a='thin = "50 %", thick = "50 %"',
            b='a = "50 %", thin = "50 %"',
            c='a = "50 %", b = "50 %"',
        )
        == []
    )


def test_a_long_chain_of_blends_is_followed(root: Path) -> None:
    names = [f"o{i}" for i in range(2000)]
    chain = {a: f'{b} = "100 %"' for a, b in pairwise(names)}
    assert blends(root, o1999='thin = "100 %"', **chain) == []


def test_a_ring_of_many_is_one_fault_in_few_words(root: Path) -> None:
    names = [f"o{i:03}" for i in range(500)]
    ring = {a: f'{b} = "100 %"' for a, b in pairwise([*names, names[0]])}
    (fault,) = blends(root, **ring, p='o007 = "100 %"')
    assert fault[1] == "file/blend-of-itself"
    assert fault[5] == (
        "an oil cannot be blended of itself: "
        '"o000" of "o001" of "o002" of "o003" of "o004" of "o005" of "o006" of …'
    )


def test_two_rings_are_two_faults(root: Path) -> None:
    got = blends(
        root,
        a='b = "50 %", c = "50 %"',
        b='a = "100 %"',
        c='d = "100 %"',
        d='c = "100 %"',
    )
    assert [t[5] for t in got] == [
        'an oil cannot be blended of itself: "a" of "b" of "a"',
        'an oil cannot be blended of itself: "c" of "d" of "c"',
    ]


def test_a_blend_of_itself_is_found_where_one_parts_file_is_asked_for(root: Path) -> None:
    path = root / "mixed.parts.toml"
    path.write_text('[oil.a]\nblend = { a = "100 %" }\n')
    found = load_team(root).file(path)
    assert isinstance(found.model, Parts)
    assert [fault.rule for fault in found.faults] == ["file/blend-of-itself"]


def test_a_file_is_read_once(root: Path) -> None:
    team = load_team(root)
    assert team.files_read() == []
    path = team.builds["heron-quarry"]
    assert team.file(path) is team.file(path)
    before = told(team)
    assert told(team) == before


def test_a_path_is_said_as_seen_from_the_root(root: Path, tmp_path: Path) -> None:
    team = load_team(root)
    assert team.relative(root / "cars" / "heron.car.toml") == "cars/heron.car.toml"
    assert team.relative(tmp_path / "x.car.toml") == (tmp_path / "x.car.toml").as_posix()


# --- files that stand only in memory -------------------------------------------------------------


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
    with pytest.raises(PathError, match="cannot be a file of this team") as caught:
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

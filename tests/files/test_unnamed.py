"""Files that are ours by what they hold, though no name says so; other tools' are left alone."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import pytest

from buildlint.files import disk, unnamed
from buildlint.files.unnamed import kind_held, kind_of_table, may_hold, name_for
from buildlint.judging.inspection import inspect_team
from tests.files.reading import BUILD, SOUND
from tests.making import build_path, repository

PROJECT = Path(__file__).parents[2]


def misnamed(root: Path) -> list[tuple[str, str]]:
    """Give the file and the message of each finding about a name."""
    found = [f for f in inspect_team(root).in_files if f.rule == "file/misnamed"]
    return [(f.path.name, f.message) for f in found if f.path is not None]


def held(folder: Path, text: str | bytes, name: str = "x.toml") -> str | None:
    (folder / name).write_bytes(text if isinstance(text, bytes) else text.encode())
    return kind_held(folder / name, folder)


@pytest.mark.parametrize(
    ("kind", "name", "told"),
    [
        ("build", "teal.toml", "teal.toml holds a build: name it teal.build.toml"),
        ("build", "teal.build.tml", "teal.build.tml holds a build: name it teal.build.toml"),
        ("build", "teal.TOML", "teal.TOML holds a build: name it teal.build.toml"),
        ("build", "teal.may.toml", "teal.may.toml holds a build: name it teal.may.build.toml"),
        ("car", "teal.toml", "teal.toml holds a car: name it teal.car.toml"),
        ("event", "teal.tml", "teal.tml holds an event: name it teal.event.toml"),
        ("parts", "teal.toml", "teal.toml holds drawers: name it teal.parts.toml"),
    ],
)
def test_what_is_ours_by_its_keys_is_told_with_its_name(
    tmp_path: Path, kind: str, name: str, told: str
) -> None:
    root = repository(tmp_path)
    (root / "deep").mkdir()
    (root / "deep" / name).write_text(SOUND[kind], encoding="utf-8")
    assert misnamed(root) == [(name, told)]
    assert not inspect_team(root).passes()


def test_a_build_alone_in_a_folder_is_told_and_so_is_one_that_is_named(tmp_path: Path) -> None:
    path = tmp_path / "teal-hill.toml"
    path.write_text(BUILD, encoding="utf-8")
    for given in (tmp_path, path):
        assert [(f.rule, f.path) for f in inspect_team(given).findings] == [("file/misnamed", path)]


@pytest.mark.parametrize(
    "name",
    [".hidden.toml", ".old/teal.toml", "rules/ours/teal.toml", "guests/teal.toml", "teal.txt"],
)
def test_elsewhere_nobody_is_told(tmp_path: Path, name: str) -> None:
    """Hidden ones, the team's own rules, other teams' folders, other endings."""
    root = repository(tmp_path)
    (root / "guests").mkdir()
    (root / "guests" / "buildlint.toml").touch()
    path = root / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(BUILD, encoding="utf-8")
    if name.startswith("rules/"):
        # it is a rule, and no good one
        assert path not in set(inspect_team_files(root))
    elif name.startswith("guests"):
        assert [f.path for f in inspect_team(root).in_files] == [path]
        assert all(f.file.endswith("guests/teal.toml") for f in inspect_team(root).in_files)
    else:
        assert inspect_team(root).in_files == []


def inspect_team_files(root: Path) -> list[Path]:
    from buildlint.team.folders import files_below
    from buildlint.team.repository import Team

    team = Team(root, files_below(root, others=True))
    return team.misnamed


@pytest.mark.parametrize(
    "text",
    [
        '[project]\nname = "heron"\nversion = "1"\n[tool.x]\nfront = 1\n',
        '[package]\nname = "heron"\n[dependencies]\nspring = "1"\noil = { version = "2" }\n',
        'name = "rig"\n[front]\nwidth = 640\n[rear]\nwidth = 320\n',
        'name = "site"\n[front]\nbody = "x"\n',
        'name = "Oslo"\ncountry = "x"\nrain = 1\nwind = 1\nsun = 1\ncoldest = "a"\nhottest = "b"\n',
        'name = "Oslo"\naltitude = 23\ncoldest = -27.1\nhottest = 35\n',
        '[spring.datasource]\nurl = "x"\nusername = "y"\n',
        "[spring.front]\nrate = 30.0\n",
        '[oil.crude]\ndensity = 850\nprice = 70\nviscosity = "x"\norigin = "x"\napi = "x"\n',
        '[body.properties]\ntype = "string"\nlength = "5"\n',
        '[body]\nbore = "5"\n',
        'body = "text"\nfront = "matter"\ncar = "x"\n',
        "[[piston]]\ndiameter = 5\n",
        "car = 1\n[front]\n",
        "",
        "x = 1",
    ],
)
def test_what_other_tools_write_is_never_told(tmp_path: Path, text: str) -> None:
    assert held(tmp_path, text) is None


def test_none_of_this_project_s_other_files_is_told() -> None:
    others = [p for p in PROJECT.rglob("*.toml") if may_hold(p.name)]
    assert len(others) > 20  # its rules, and what tells how it is built
    assert [p for p in others if kind_held(p, PROJECT)] == []


@pytest.mark.parametrize(
    "data",
    [
        BUILD.encode() + b"\nbroken",
        BUILD.encode() + b"\xff",
        b"[front]\nx = " + b"[" * 100_000,
        b'car = "x"\n[front]\n' + b"a.a." * 30_000 + b"a = 1",
        b'car = "x"\n[front]\n' + b"#" * 1_000_000,
        b" " * 900_000 + b"x",
    ],
    ids=["broken", "not text", "nested", "dots", "large", "blank"],
)
def test_what_cannot_be_read_is_nobody_s_mistake(tmp_path: Path, data: bytes) -> None:
    assert held(tmp_path, data) is None


def test_a_byte_order_mark_and_windows_lines_make_no_other_file(tmp_path: Path) -> None:
    text = b"\xef\xbb\xbf" + BUILD.replace("\n", "\r\n").encode()
    assert held(tmp_path, text) == "build"
    assert held(tmp_path, "\t" + BUILD.replace("car =", '"car"=')) == "build"


def test_nothing_outside_the_root_and_no_link_is_opened(tmp_path: Path) -> None:
    outside = tmp_path / "outside"
    outside.mkdir()
    (outside / "teal.toml").write_text(BUILD, encoding="utf-8")
    root = repository(tmp_path / "team")
    (root / "link.toml").symlink_to(outside / "teal.toml")
    (root / "own.toml").symlink_to(build_path(root))
    (root / "folder").symlink_to(outside, target_is_directory=True)
    assert misnamed(root) == []
    for name in ("link.toml", "own.toml", "folder/teal.toml"):
        assert kind_held(root / name, root) is None


def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    if not hasattr(os, "mkfifo"):
        pytest.skip("no pipes here")
    os.mkfifo(tmp_path / "pipe.toml")
    assert kind_held(tmp_path / "pipe.toml", tmp_path) is None


def test_only_other_files_are_opened_and_each_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    root = repository(tmp_path)
    (root / "teal.toml").write_text(BUILD, encoding="utf-8")
    (root / "other.toml").write_text("x = 1\n", encoding="utf-8")
    looked: list[str] = []

    def counted(path: Path, *rest: Any) -> Any:
        looked.append(path.name)
        return disk.bytes_of(path, *rest)

    monkeypatch.setattr(unnamed, "bytes_of", counted)
    inspect_team(root)
    assert sorted(looked) == ["other.toml", "teal.toml"]
    looked.clear()
    inspect_team(build_path(root))
    assert looked == []


def test_most_files_are_not_even_parsed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    parsed: list[str] = []
    monkeypatch.setattr(unnamed.tomli, "loads", lambda text: parsed.append(text) or {})
    held(tmp_path, '[package]\nname = "x"\n# car = "heron"\nother.car = 1\ncars = 1\n')
    assert parsed == []
    for text in SOUND.values():
        held(tmp_path, text)
    assert len(parsed) == 4


@pytest.mark.parametrize(
    ("table", "kind"),
    [
        ({"car": "heron", "bench": {}}, "build"),
        ({"car": "heron", "rear": {}}, "build"),
        ({"car": "heron", "rear": 1}, None),
        ({"name": "x", "front": {"body": "a", "shaft": "b"}}, "car"),
        ({"name": "x", "front": {"body": "a"}, "rear": {"bladder": "a"}}, "car"),
        ({"name": 1, "front": {"body": "a", "shaft": "b"}}, None),
        ({"coldest": "1 degC", "hottest": "2 degC"}, "event"),
        ({"coldest": "1 degC", "name": "x"}, None),
        ({"oil": {"thin": {"viscosity": "350 cSt"}}}, "parts"),
        ({"oil": {"mixed": {"blend": {}}}}, "parts"),
        ({"bladder": {"flat": {"cup": {}}}, "other": 1}, "parts"),
        ({"shaft": {"s35": {"coating": "hard"}}}, None),
        ({"shaft": {"s35": {"coating": "hard", "diamter": "1", "x": 1, "diameter": "1"}}}, None),
    ],
)
def test_a_kind_is_known_by_its_keys(table: dict[str, Any], kind: str | None) -> None:
    assert kind_of_table(table) == kind


@pytest.mark.parametrize(
    ("name", "kind", "expected"),
    [
        ("teal.car.tml", "build", "teal.build.toml"),
        ("teal.bulid.tml", "build", "teal.build.toml"),
        ("build.toml", "build", "NAME.build.toml"),
        ("cars.toml", "car", "cars.car.toml"),
        ("Teal Hill.Toml", "build", "Teal Hill.build.toml"),
    ],
)
def test_the_name_that_a_file_should_have(name: str, kind: str, expected: str) -> None:
    assert name_for(name, kind) == expected


def test_a_hostile_name_steers_no_terminal(tmp_path: Path) -> None:
    root = repository(tmp_path)
    (root / "a\x1b[31m\n::error::.toml").write_text(BUILD, encoding="utf-8")
    ((_, message),) = misnamed(root)
    assert message.isprintable() and "::error" not in message.replace("\\x3a:error", "")

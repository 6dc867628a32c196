"""What a builder can get wrong, through the command: a finding in its place, never a traceback."""

import os
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from buildlint.commands.cli import main
from tests.files.reading import EVENT

PARTS = """\
# What the drawers hold. Invented.
[body.long]
bore = "16 mm"
stroke = "28 mm"
length = "52 mm"
oil = "9.1 ml ± 0.3 ml"

[shaft.slim]
diameter = "3.5 mm"

[piston.four]
diameter = "15.9 mm"
thickness = "2.5 mm"
holes = "4 x 1.8 mm"

[bladder.deep]
into_body = "370 mm^3 ± 3 %"
into_cap = "460 mm^3 ± 3 %"

[oil.middle]
viscosity = "450 cSt"

[oil.thick]
viscosity = "600 cSt"

[oil.between]
blend = { middle = "50 %", thick = "50 %" }
"""
CAR = """\
name = "Heron"

[front]
body = "long"
shaft = "slim"
bladder = "deep"

[rear]
body = "long"
shaft = "slim"
bladder = "deep"
"""
BUILD = """\
car = "heron"
event = "quarry"

[bench]
on = 2027-06-05
temperature = "16 degC"
altitude = "5 m"

[front]
piston = "four"
oil = "middle"
hold_back = "6.4 mm"

[rear]
piston = "four"
oil = "middle"
hold_back = "6.4 mm"
"""
SOUND = {
    "buildlint.toml": "",
    "drawers.parts.toml": PARTS,
    "heron.car.toml": CAR,
    "quarry.event.toml": EVENT,
    "heron-quarry.build.toml": BUILD,
}
BUILD_FILE, PARTS_FILE = "heron-quarry.build.toml", "drawers.parts.toml"
LINE = re.compile(r"(?P<place>[^ ]+:\d+:\d+): fails: (?P<message>.+); rule (?P<rule>[a-z/-]+)")


class Repository:
    """A sound little repository, to be spoilt, and what the command says of it."""

    def __init__(self, root: Path, capsys: pytest.CaptureFixture[str]) -> None:
        self.root = root
        self.capsys = capsys
        for name, text in SOUND.items():
            (root / name).write_text(text, encoding="utf-8")

    def spoil(self, name: str, old: str, new: str) -> None:
        text = (self.root / name).read_text(encoding="utf-8")
        assert old in text
        (self.root / name).write_text(text.replace(old, new, 1), encoding="utf-8")

    def inspect(self, *more: str) -> tuple[int, str]:
        code = main(["inspect", ".", *more])
        out, err = self.capsys.readouterr()
        assert err == ""
        assert "Traceback" not in out
        assert "\x1b" not in out
        return code, out

    def fails(self) -> list[tuple[str, str, str]]:
        """Every `must` that fails: place, rule and message; the run has to fail with it."""
        code, out = self.inspect("--as", "lines")
        assert code == 1
        found = [LINE.fullmatch(line) for line in out.splitlines() if ": fails: " in line]
        assert None not in found
        # the other forms of the report come through as well, and say as much
        for form in ("text", "json"):
            code, report = self.inspect("--as", form)
            assert code == 1
            for match in found:
                assert match is not None
                assert match["rule"] in report
            assert len(report) < 80_000
        return [(m["place"], m["rule"], m["message"]) for m in found if m is not None]

    def places(self) -> list[tuple[str, str]]:
        return [(place, rule) for place, rule, _ in self.fails()]


@pytest.fixture
def repository(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Repository:
    monkeypatch.chdir(tmp_path)
    return Repository(tmp_path, capsys)


def test_the_repository_is_sound_before_it_is_spoilt(repository: Repository) -> None:
    code, out = repository.inspect("--as", "lines")
    assert code == 0
    assert "fails: " not in out
    assert "file/" not in out


# --- files ---------------------------------------------------------------------------------------


def test_broken_toml(repository: Repository) -> None:
    repository.spoil(BUILD_FILE, 'hold_back = "6.4 mm"', 'hold_back = "6.4 mm')
    assert repository.places() == [(f"{BUILD_FILE}:12:20", "file/not-toml")]


def test_broken_toml_in_the_drawers_is_told_once(repository: Repository) -> None:
    repository.spoil(PARTS_FILE, "[shaft.slim]", "[shaft.slim")
    assert repository.places() == [(f"{PARTS_FILE}:8:12", "file/not-toml")]


def test_not_utf_8(repository: Repository) -> None:
    path = repository.root / BUILD_FILE
    path.write_bytes(BUILD.replace("16 degC", "16 °C").encode("latin-1"))
    # temperature = "16 °C": the sign is the 19th character
    assert repository.places() == [(f"{BUILD_FILE}:6:19", "file/not-toml")]


@pytest.mark.parametrize("name", [name for name in SOUND if name != "buildlint.toml"])
def test_an_empty_file(repository: Repository, name: str) -> None:
    (repository.root / name).write_text("")
    assert repository.places() == [(f"{name}:1:1", "file/missing-key")]


def test_a_misspelt_key(repository: Repository) -> None:
    repository.spoil(BUILD_FILE, "hold_back", "holdback")
    assert repository.fails() == [
        (
            f"{BUILD_FILE}:12:1",
            "file/unknown-key",
            '"holdback" is not a key known in front; did you mean hold_back?',
        )
    ]


def test_a_key_given_twice(repository: Repository) -> None:
    repository.spoil(BUILD_FILE, 'oil = "middle"', 'oil = "middle"\noil = "thick"')
    assert repository.fails() == [
        (f"{BUILD_FILE}:12:1", "file/not-toml", "oil is given twice in the same place")
    ]


def test_a_file_of_50_megabytes_is_refused_by_its_size_and_never_opened(
    repository: Repository, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = repository.root / "huge.parts.toml"
    with path.open("wb") as file:
        file.truncate(50_000_000)
    real = os.open

    def watched(path: Path, flags: int) -> int:
        assert path.name != "huge.parts.toml", "it was opened"
        return real(path, flags)

    monkeypatch.setattr(os, "open", watched)
    assert repository.fails() == [
        (
            "huge.parts.toml:1:1",
            "file/too-large",
            "has 50,000,000 bytes; a file has at most 1,000,000",
        )
    ]
    # the watch itself works
    path.write_bytes(b"")
    with pytest.raises(AssertionError, match="it was opened"):
        repository.fails()


def test_a_folder_named_like_a_build(repository: Repository) -> None:
    (repository.root / "odd.build.toml").mkdir()
    assert repository.fails() == [
        ("odd.build.toml:1:1", "file/unreadable", "is a folder, though named like a build file")
    ]


def test_a_dangling_link(repository: Repository) -> None:
    (repository.root / "gone.build.toml").symlink_to("nowhere.build.toml")
    assert repository.fails() == [
        ("gone.build.toml:1:1", "file/unreadable", "is a link to nothing")
    ]


def test_a_dangling_link_given_by_name(repository: Repository) -> None:
    (repository.root / "gone.build.toml").symlink_to("nowhere.build.toml")
    assert main(["inspect", "gone.build.toml", "--as", "lines"]) == 1
    out, err = repository.capsys.readouterr()
    assert err == ""
    assert out == "gone.build.toml:1:1: fails: is a link to nothing; rule file/unreadable\n"


# --- readings ------------------------------------------------------------------------------------

LONG = "x" * 100_000


@pytest.mark.parametrize(
    ("value", "rule"),
    [
        ('"375"', "file/not-a-reading"),
        ("375", "file/not-a-reading"),
        ('"375 mm"', "file/wrong-dimension"),
        ('"40 wt"', "file/bottle-weight"),
        ('"375cst"', "file/unknown-unit"),
        ('"-3 mm"', "file/wrong-dimension"),
        ('"-3 cSt"', "file/out-of-range"),
        ('"nan mm"', "file/not-a-reading"),
        ('"1e400 mm"', "file/not-a-reading"),
        ('"9**9**9 mm"', "file/not-a-reading"),
        pytest.param(f'"{LONG}"', "file/not-a-reading", id="100,000 characters"),
        ('"2000 SUS"', "file/not-a-reading"),
        ('"440 mPa.s"', "file/wrong-dimension"),
        ('"450,5 cSt"', "file/not-a-reading"),
        ("nan", "file/not-a-reading"),
        ("[450]", "file/not-a-reading"),
        ("2027-06-05", "file/not-a-reading"),
    ],
)
def test_where_a_viscosity_is_due(repository: Repository, value: str, rule: str) -> None:
    repository.spoil(PARTS_FILE, 'viscosity = "450 cSt"', f"viscosity = {value}")
    ((place, got, message),) = repository.fails()
    assert (place, got) == (f"{PARTS_FILE}:21:13", rule)
    assert len(message) < 300


@pytest.mark.parametrize(
    ("value", "rule"),
    [
        ('"375"', "file/not-a-reading"),
        ("375", "file/not-a-reading"),
        ('"375 cSt"', "file/wrong-dimension"),
        ('"40 wt"', "file/bottle-weight"),
        ('"375cst"', "file/unknown-unit"),
        ('"-3 mm"', "file/out-of-range"),
        ('"nan mm"', "file/not-a-reading"),
        ('"1e400 mm"', "file/not-a-reading"),
        ('"9**9**9 mm"', "file/not-a-reading"),
        pytest.param(f'"{LONG}"', "file/not-a-reading", id="100,000 characters"),
        ('"6,4 mm"', "file/not-a-reading"),
        ("true", "file/not-a-reading"),
        ("{}", "file/not-a-reading"),
    ],
)
def test_where_a_length_is_due(repository: Repository, value: str, rule: str) -> None:
    repository.spoil(BUILD_FILE, 'hold_back = "6.4 mm"', f"hold_back = {value}")
    ((place, got, message),) = repository.fails()
    assert (place, got) == (f"{BUILD_FILE}:12:13", rule)
    assert len(message) < 300


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('"450 cSt"', '"450 cSt ± 500 cSt"'),
        ('"450 cSt"', '"450 cSt ± 1e300 cSt"'),
        ('"16 mm"', '"16 mm ± 20 mm"'),
        ('"3.5 mm"', '"3.5 mm ± 1e300 mm"'),
        ('"4 x 1.8 mm"', '"4 x 1.8 mm ± 5 mm"'),
        ('"370 mm^3 ± 3 %"', '"370 mm^3 ± 300 %"'),
        ('middle = "50 %"', 'middle = "50 % ± 90 %"'),
        ('"600 cSt"', '"600 cSt"\nvtc = "0.6 ± 0.9"'),
    ],
)
def test_a_tolerance_larger_than_the_reading_is_judged(
    repository: Repository, old: str, new: str
) -> None:
    repository.spoil(PARTS_FILE, old, new)
    repository.spoil(BUILD_FILE, 'oil = "middle"', 'oil = "between"')
    code, out = repository.inspect("--as", "lines")
    assert code in (0, 1)
    assert all(len(line) < 300 for line in out.splitlines())


@pytest.mark.parametrize(
    ("second", "place"),
    [
        ('{ viscosity = "900 cSt", at = "60 degC" }', "22:24"),
        ('{ viscosity = "190 cSt", at = "25 degC" }', "22:40"),
    ],
)
def test_a_second_viscosity_that_does_not_go_with_the_first(
    repository: Repository, second: str, place: str
) -> None:
    repository.spoil(PARTS_FILE, '"450 cSt"', f'"450 cSt"\nsecond = {second}')
    repository.spoil(BUILD_FILE, 'oil = "middle"', 'oil = "between"')
    assert repository.places() == [(f"{PARTS_FILE}:{place}", "file/out-of-range")]


# --- ids -----------------------------------------------------------------------------------------


def test_a_reference_to_nothing(repository: Repository) -> None:
    repository.spoil(BUILD_FILE, 'oil = "middle"', 'oil = "midle"')
    assert repository.fails() == [
        (
            f"{BUILD_FILE}:11:7",
            "file/no-such-id",
            'there is no oil "midle"; did you mean "middle"?',
        )
    ]


@pytest.mark.parametrize("key", ["car", "event"])
def test_a_reference_to_no_car_or_event(repository: Repository, key: str) -> None:
    name = {"car": "heron", "event": "quarry"}[key]
    repository.spoil(BUILD_FILE, f'{key} = "{name}"', f'{key} = "{name}s"')
    place, rule, message = repository.fails()[0]
    assert rule == "file/no-such-id"
    assert place == f"{BUILD_FILE}:" + {"car": "1:7", "event": "2:9"}[key]
    assert message == f'there is no {key} "{name}s"; did you mean "{name}"?'


def test_the_same_id_in_two_files(repository: Repository) -> None:
    (repository.root / "more.parts.toml").write_text('[oil.middle]\nviscosity = "400 cSt"\n')
    assert repository.fails() == [
        (
            f"{PARTS_FILE}:20:2",
            "file/id-twice",
            'the oil "middle" is also in more.parts.toml: give one of the two another id',
        ),
        (
            "more.parts.toml:1:2",
            "file/id-twice",
            f'the oil "middle" is also in {PARTS_FILE}: give one of the two another id',
        ),
    ]


def test_a_blend_of_itself(repository: Repository) -> None:
    repository.spoil(PARTS_FILE, 'thick = "50 %" }', 'between = "50 %" }')
    repository.spoil(BUILD_FILE, 'oil = "middle"', 'oil = "between"')
    assert repository.fails() == [
        (
            f"{PARTS_FILE}:27:38",
            "file/blend-of-itself",
            'an oil cannot be blended from itself: "between" has "between"',
        )
    ]


# --- sizes that cannot be ------------------------------------------------------------------------


def test_a_hold_back_longer_than_the_stroke(repository: Repository) -> None:
    repository.spoil(BUILD_FILE, 'hold_back = "6.4 mm"', 'hold_back = "29 mm"')
    got = repository.places()
    assert (f"{BUILD_FILE}:12:13", "hold-back/in-stroke") in got
    # what follows from it is about the same reading; the rear is as sound as it was
    assert {place for place, _ in got} == {f"{BUILD_FILE}:12:13"}


def test_a_bore_smaller_than_the_shaft(repository: Repository) -> None:
    repository.spoil(PARTS_FILE, 'diameter = "3.5 mm"', 'diameter = "17 mm"')
    assert "fit/shaft-in-bore" in {rule for _, rule in repository.places()}


# --- anything else -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "text", "rule"),
    [
        ("deep.parts.toml", "x = " + "[" * 100_000, "file/not-toml"),
        ("dots.parts.toml", ".".join("a" * 50_000) + " = 1", "file/not-toml"),
        ("list.event.toml", "note = " + "[" * 900 + "]" * 900, None),
        ("nul.car.toml", "\x00" * 100, "file/not-toml"),
        ("escape.build.toml", '"\\u001b[31m" = 1', "file/unknown-key"),
    ],
    ids=["deep", "dots", "list", "nul", "escape"],
)
def test_files_made_to_break_a_reader(
    repository: Repository, name: str, text: str, rule: str | None
) -> None:
    (repository.root / name).write_text(text)
    got = repository.fails()
    assert {place.split(":")[0] for place, _, _ in got} == {name}
    assert all(len(message) < 400 for _, _, message in got)
    if rule is not None and name != "dots.parts.toml":
        assert rule in {r for _, r, _ in got}


@pytest.mark.parametrize(
    "spoil",
    [
        lambda r: r.spoil(BUILD_FILE, "on = 2027-06-05", 'on = "2027-06-05"'),
        lambda r: r.spoil(BUILD_FILE, 'piston = "four"', 'piston = ["four"]'),
        lambda r: r.spoil(BUILD_FILE, "[rear]", "[raer]"),
        lambda r: r.spoil(BUILD_FILE, "[front]", 'style = "bladdr"\n[front]'),
        lambda r: r.spoil(PARTS_FILE, 'holes = "4 x 1.8 mm"', 'holes = "1.8 mm"'),
        lambda r: r.spoil(PARTS_FILE, 'thick = "50 %"', 'thick = "40 %"'),
        lambda r: r.spoil("heron.car.toml", '"slim"', "3.5"),
        lambda r: r.spoil("quarry.event.toml", '"14 degC"', '"14 °"'),
        lambda r: r.spoil("quarry.event.toml", "2027-06-12", "2027-13-12"),
    ],
)
def test_one_mistake_is_one_finding(
    repository: Repository, spoil: Callable[[Repository], None]
) -> None:
    spoil(repository)
    assert len([rule for _, rule in repository.places() if rule.startswith("file/")]) == 1

"""Reading one file: every mistake at once, each once, in its place; nothing is ever raised."""

import datetime
import os
import re
import sys
from pathlib import Path
from typing import Any

import pytest
import tomli
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from buildlint.files import reader
from buildlint.files.models import KINDS, Event
from buildlint.files.places import START, Places
from buildlint.files.reader import ENDINGS, LARGEST, FileRead, kind_and_id, read_file

BUILD = """\
car = "heron"
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

Told = tuple[str, int, int, int, str]


def read_bytes(folder: Path, data: bytes, kind: str = "build") -> FileRead:
    path = folder / f"x.{kind}.toml"
    path.write_bytes(data)
    return read_file(path, kind, "x", folder)


def placed(found: FileRead) -> list[Told]:
    places = Places(found.data, found.mended)
    out = []
    for fault in found.faults:
        at = fault.place or START
        if fault.place is None and fault.path:
            at = places.of_key(fault.path) if fault.on_key else places.of_value(fault.path)
        out.append((fault.rule, *at, fault.message))
    return sorted(out, key=lambda t: t[1:])


def told(folder: Path, text: str, kind: str = "build") -> list[Told]:
    return placed(read_bytes(folder, text.encode(), kind))


def swapped(old: str, new: str) -> str:
    assert old in BUILD
    return BUILD.replace(old, new, 1)


# --- names  --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("heron.car.toml", ("car", "heron")),
        ("drawers.parts.toml", ("parts", "drawers")),
        ("quarry-six-hour.event.toml", ("event", "quarry-six-hour")),
        ("heron.quarry.build.toml", ("build", "heron.quarry")),
        (".build.toml", None),
        ("build.toml", None),
        ("heron.build.tom", None),
        ("heron.build.toml.bak", None),
        ("heron.Build.toml", None),
        ("heron.rule.toml", None),
        ("buildlint.toml", None),
        ("", None),
    ],
)
def test_the_end_of_a_name_says_the_kind(name: str, expected: tuple[str, str] | None) -> None:
    assert kind_and_id(name) == expected


def test_there_are_four_endings() -> None:
    assert sorted(ENDINGS) == [".build.toml", ".car.toml", ".event.toml", ".parts.toml"]


# --- bytes  --------------------------------------------------------------------------------------


def test_a_byte_order_mark_is_accepted_and_moves_no_column(tmp_path: Path) -> None:
    assert read_bytes(tmp_path, b"\xef\xbb\xbf" + BUILD.encode()).faults == []
    assert placed(read_bytes(tmp_path, b"\xef\xbb\xbfcra" + BUILD.encode()[3:])) == [
        ("file/unknown-key", 1, 1, 4, '"cra" is not a key known here; did you mean car?')
    ]


def test_line_endings_of_windows_are_read_alike(tmp_path: Path) -> None:
    assert told(tmp_path, BUILD.replace("\n", "\r\n")) == []
    broken = swapped('oil = "thin"', 'oil = "thin').replace('"5 m"', "5")
    both = [told(tmp_path, text) for text in (broken, broken.replace("\n", "\r\n"))]
    assert both[0] == both[1]
    assert [t[:3] for t in both[0]] == [("file/not-a-reading", 5, 12), ("file/not-toml", 8, 12)]


@pytest.mark.parametrize(
    ("data", "place", "byte"),
    [
        (b"\xff\xfec\x00a\x00r\x00", (1, 1, 2), "0xff"),  # UTF-16
        (b'car = "\xe9"\n', (1, 8, 9), "0xe9"),  # Latin-1
        (b'# a\nnote = "20 \xb0C"\n', (2, 12, 13), "0xb0"),
        ('# ±±\nnote = "±'.encode() + b'\xb1"\n', (2, 10, 11), "0xb1"),
        (b'\xef\xbb\xbfcar = "\xe9"\n', (1, 8, 9), "0xe9"),
    ],
)
def test_what_is_not_utf_8_is_told_with_its_place(
    tmp_path: Path, data: bytes, place: tuple[int, int, int], byte: str
) -> None:
    found = read_bytes(tmp_path, data)
    assert found.model is None
    assert placed(found) == [
        ("file/not-toml", *place, f"is not UTF-8 text: byte {byte}; save the file as UTF-8")
    ]


@pytest.mark.parametrize("text", ["", "\n", "# only a comment\n", "\ufeff", "  \r\n\t\n"])
@pytest.mark.parametrize(
    ("kind", "keys"),
    [
        ("build", "car, bench, front and rear"),
        ("car", "name, front and rear"),
        ("event", "name, on, altitude, coldest and hottest"),
        ("parts", "body, shaft, piston, bladder, oil and spring"),
    ],
)
def test_an_empty_file_is_one_fault_that_says_what_belongs(
    tmp_path: Path, kind: str, keys: str, text: str
) -> None:
    assert told(tmp_path, text, kind) == [
        ("file/missing-key", 1, 1, 1, f"is empty: a {kind} file has {keys}")
    ]


# --- TOML  ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("old", "new", "place", "message"),
    [
        (
            'oil = "thin"',
            'oil = "thin',
            (8, 12),
            "cannot be read: a quote is opened and not closed on the line",
        ),
        (
            'oil = "thin"',
            "oil = 'thin",
            (8, 7),
            "cannot be read: a quote is opened and not closed on the line",
        ),
        (
            'oil = "thin"',
            "oil = thin",
            (8, 7),
            'put text in straight quotes: oil = "thin"',
        ),
        (
            'oil = "thin"',
            "oil = 6 mm",
            (8, 7),
            'put the reading in quotes: oil = "6 mm"',
        ),
    ],
)
def test_a_broken_line_is_told_and_the_rest_of_the_file_read(
    tmp_path: Path, old: str, new: str, place: tuple[int, int], message: str
) -> None:
    text = swapped(old, new).replace('altitude = "5 m"', 'altitude = "5"')
    text = text.replace('"6 mm"\n[rear]', '"6 mm"\nrebuond = "60 %"\n[rear]')
    got = told(tmp_path, text)
    assert [t[0] for t in got] == ["file/not-a-reading", "file/not-toml", "file/unknown-key"]
    assert got[0][1:] == (
        5,
        12,
        15,
        'altitude: "5" has no unit; a length belongs here, such as "1900 m"',
    )
    assert got[1][1:3] == place
    assert got[1][4] == message
    assert got[2][1:] == (
        10,
        1,
        8,
        '"rebuond" is not a key known in front; did you mean rebound?',
    )


def test_several_broken_lines_are_told_at_once(tmp_path: Path) -> None:
    text = BUILD.replace('"four"', "four").replace('"16 degC"', "16 degC")
    assert [t[:3] for t in told(tmp_path, text)] == [
        ("file/not-toml", 4, 15),
        ("file/not-toml", 7, 10),
        ("file/not-toml", 11, 10),
    ]


@pytest.mark.parametrize(
    ("lines", "place"),
    [
        ('done = ["bled"', (7, 1, 15)),
        ('done = ["bled",', (7, 1, 16)),
        ('  done = [\n  "bled",\n  "greased",', (7, 3, 11)),
    ],
)
def test_a_list_that_is_never_closed_is_one_fault_where_it_opens(
    tmp_path: Path, lines: str, place: tuple[int, int, int]
) -> None:
    text = swapped("[front]\n", f"[front]\n{lines}\n").replace('car = "heron"', 'cra = "heron"')
    assert told(tmp_path, text) == [
        ("file/unknown-key", 1, 1, 4, '"cra" is not a key known here; did you mean car?'),
        (
            "file/not-toml",
            *place,
            "cannot be read: a list is opened with [ and never closed",
        ),
    ]


@pytest.mark.parametrize("quotes", ['"""', "'''"])
@pytest.mark.parametrize("end", ["", "\n"])
def test_text_that_is_never_closed_is_one_fault_where_it_opens(
    tmp_path: Path, quotes: str, end: str
) -> None:
    text = swapped("[front]\n", f"[front]\nnote = {quotes}one\n").rstrip() + end
    got = told(tmp_path, text)
    assert [t[:4] for t in got] == [("file/not-toml", 7, 1, 14)]


def test_a_broken_item_of_a_list_over_lines_is_one_fault(tmp_path: Path) -> None:
    text = swapped("[front]\n", '[front]\ndone = [\n  "bled",\n  greased,\n]\n')
    got = told(tmp_path, text)
    assert [t[:3] for t in got] == [("file/not-toml", 9, 3)]


@pytest.mark.parametrize(
    ("lines", "place", "key"),
    [
        ('oil = "a"\noil = "b"', (8, 1, 4), "oil"),
        ('oil = "a"\n  oil="b" # again', (8, 3, 6), "oil"),
        ('done = ["bled"]\ndone = [\n  "greased",\n]', (8, 1, 5), "done"),
    ],
)
def test_a_key_given_twice_is_one_fault_at_the_second(
    tmp_path: Path, lines: str, place: tuple[int, int, int], key: str
) -> None:
    base = BUILD.replace('oil = "thin"\n', "", 1) if key == "oil" else BUILD
    text = base.replace("[front]\n", f"[front]\n{lines}\n")
    assert told(tmp_path, text) == [
        ("file/not-toml", *place, f"{key} is given twice in the same table")
    ]


def test_a_table_opened_twice_is_told_at_the_second(tmp_path: Path) -> None:
    assert told(tmp_path, swapped("[rear]", "[front]")) == [
        ("file/not-toml", 10, 1, 8, "[front] is opened twice")
    ]


@pytest.mark.parametrize(
    "text",
    [
        "x = " + "[" * 100_000,
        "x = " + "{a=" * 100_000,
        "x = " + "[" * 5000 + "]" * 5000,
        "x = " + "9" * 5000,
        ".".join("a" * 100_000) + " = 1",
        "[" + ".".join("a" * 100_000) + "]",
        "[" * 100_000,
    ],
    ids=["lists", "tables", "closed", "digits", "dotted", "heading", "brackets"],
)
def test_deep_nesting_and_huge_numbers_are_told_not_raised(tmp_path: Path, text: str) -> None:
    got = told(tmp_path, text)
    assert got
    assert {t[0] for t in got} <= {"file/not-toml", "file/unknown-key", "file/missing-key"}
    assert all(len(t[4]) < 300 for t in got)


@pytest.mark.skipif(not hasattr(sys, "set_int_max_str_digits"), reason="numbers have no limit here")
def test_a_number_of_5000_digits_is_told_once(tmp_path: Path) -> None:
    assert told(tmp_path, swapped('"6 mm"', "9" * 5000)) == [
        (
            "file/not-toml",
            1,
            1,
            1,
            "is nested too deeply, or holds a number too long to be one",
        )
    ]


def test_a_huge_number_in_base_sixteen_is_refused_in_few_words(tmp_path: Path) -> None:
    huge = "0x" + "f" * 5000
    for line in (f"hold_back = {huge}", f'hold_back = "6 mm"\nrebound = {huge}'):
        got = told(tmp_path, swapped('hold_back = "6 mm"', line))
        assert [t[0] for t in got] == ["file/not-a-reading"]
        assert len(got[0][4]) < 200


# --- keys  ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("old", "new", "place", "message"),
    [
        ("car =", "cra =", (1, 1, 4), '"cra" is not a key known here; did you mean car?'),
        ("[front]", "[fornt]", (6, 2, 7), '"fornt" is not a key known here; did you mean front?'),
        ("[bench]", "[bnech]", (2, 2, 7), '"bnech" is not a key known here; did you mean bench?'),
        (
            "hold_back",
            "holdback",
            (9, 1, 9),
            '"holdback" is not a key known in front; did you mean hold_back?',
        ),
        (
            "temperature",
            "temprature",
            (4, 1, 11),
            '"temprature" is not a key known in bench; did you mean temperature?',
        ),
        (
            "[rear]",
            '[rear]\nlfet = { length = "84 mm" }',
            (11, 1, 5),
            '"lfet" is not a key known in rear; did you mean left?',
        ),
        (
            "[bench]",
            "[bench]\nzzzz = 1",
            (3, 1, 5),
            '"zzzz" is not a key known in bench; known are on, temperature, altitude, by',
        ),
        (
            "[rear]",
            '[rear]\n"\\u001b[31m" = 1',
            (11, 1, 13),
            '"\\x1b[31m" is not a key known in rear; known are piston, oil, hold_back, spring, '
            "limiter, collar, length, rebound, air, label, body, shaft, bladder, done, runtime, "
            "note, left, right",
        ),
    ],
)
def test_a_misspelt_key_is_one_fault_that_names_the_nearest(
    tmp_path: Path, old: str, new: str, place: tuple[int, int, int], message: str
) -> None:
    assert told(tmp_path, swapped(old, new)) == [("file/unknown-key", *place, message)]


def test_a_misspelt_key_of_one_part_hides_nothing_that_another_lacks(tmp_path: Path) -> None:
    text = '[shaft.a]\ndaimeter = "3 mm"\n[shaft.b]\ncoating = "hard"\n'
    assert told(tmp_path, text, "parts") == [
        (
            "file/unknown-key",
            2,
            1,
            9,
            '"daimeter" is not a key known in shaft.a; did you mean diameter?',
        ),
        ("file/missing-key", 3, 2, 9, "diameter is missing in shaft.b"),
    ]


def test_a_broken_line_of_one_part_hides_nothing_that_another_lacks(tmp_path: Path) -> None:
    text = '[shaft.a]\ndiameter = 3 mm\n[shaft.b]\ncoating = "hard"\n'
    assert [t[:3] for t in told(tmp_path, text, "parts")] == [
        ("file/not-toml", 2, 12),
        ("file/missing-key", 3, 2),
    ]


def test_a_kind_of_part_that_is_not_known(tmp_path: Path) -> None:
    assert told(tmp_path, '[sahft.a]\ndiameter = "3 mm"\n', "parts") == [
        ("file/unknown-key", 1, 2, 9, '"sahft" is not a key known here; did you mean shaft?')
    ]


def test_every_mistake_of_a_file_is_told_at_once(tmp_path: Path) -> None:
    text = """\
car = 7
event = ""
style = "bladdr"
[bench]
on = "2027-06-05"
temperature = 16
altitude = "5 cSt"
[front]
piston = ["four"]
oil = "thin"
hold_bak = "6 mm"
limiter = "-2 mm"
length = "104 mn"
done = ["bled", "greasd", 3]
left = "x"
[front.right]
rebound = "160 %"
[rear]
piston = "four"
oil = "37.5 wt"
air = "37.5 wt"
"""
    assert told(tmp_path, text) == [
        ("file/wrong-kind", 1, 7, 8, 'car: text in quotes, such as "heron", belongs here'),
        ("file/out-of-range", 2, 9, 11, "event is empty: text belongs here"),
        (
            "file/not-a-choice",
            3,
            9,
            17,
            'style: "bladdr" is none of the words on offer: "bladder" or "emulsion"',
        ),
        (
            "file/wrong-kind",
            5,
            6,
            18,
            "on: a date without quotes belongs here, such as 2027-03-14",
        ),
        (
            "file/not-a-reading",
            6,
            15,
            17,
            'temperature: 16 has no unit and no quotes; write a reading such as "20 degC"',
        ),
        (
            "file/wrong-dimension",
            7,
            12,
            19,
            'altitude: "5 cSt" is a kinematic viscosity; a length belongs here, such as "1900 m"',
        ),
        ("file/wrong-kind", 9, 10, 18, 'piston: text in quotes, such as "heron", belongs here'),
        (
            "file/unknown-key",
            11,
            1,
            9,
            '"hold_bak" is not a key known in front; did you mean hold_back?',
        ),
        (
            "file/out-of-range",
            12,
            11,
            18,
            'limiter: "-2 mm" is out of range: this takes 0 mm to 150 mm',
        ),
        (
            "file/unknown-unit",
            13,
            10,
            18,
            'length: "104 mn": "mn" is not a unit known here; did you mean mm?',
        ),
        (
            "file/not-a-choice",
            14,
            17,
            25,
            'done: "greasd" is none of the words on offer: "deburred", "greased", "threadlocked", '
            '"bled", "rod end free" or "leak checked"',
        ),
        (
            "file/not-a-choice",
            14,
            27,
            28,
            'done: what stands here is none of the words on offer: "deburred", "greased", '
            '"threadlocked", "bled", "rod end free" or "leak checked"',
        ),
        ("file/wrong-kind", 15, 8, 11, "left: a table of keys, such as [left], belongs here"),
        (
            "file/out-of-range",
            17,
            11,
            18,
            'rebound: "160 %" is out of range: this takes 0 % to 100 %',
        ),
        ("file/missing-key", 18, 2, 6, "hold_back is missing for the rear"),
        (
            "file/bottle-weight",
            21,
            7,
            16,
            'air: "37.5 wt": wt is not a unit, only a bottler\'s number; a volume belongs here, '
            'such as "0.2 ml"',
        ),
    ]


@pytest.mark.parametrize(
    ("old", "new", "place", "message"),
    [
        ('car = "heron"', "car = true", (1, 7, 11), 'car: text in quotes, such as "heron", '),
        ('oil = "thin"', "oil = {}", (8, 7, 9), 'oil: text in quotes, such as "heron", '),
        ("2027-06-05", "2027-06-05T10:00:00", (3, 6, 25), "on: a date without quotes "),
        ("2027-06-05", "10:00:00", (3, 6, 14), "on: a date without quotes "),
        ("2027-06-05", "20270605", (3, 6, 14), "on: a date without quotes "),
        ("[rear]", 'done = "bled"\n[rear]', (10, 8, 14), 'done: a list in brackets, such as ["b'),
        ("[rear]", "left = 3\n[rear]", (10, 8, 9), "left: a table of keys, such as [left], "),
        ("[rear]", "note = 3\n[rear]", (10, 8, 9), 'note: text in quotes, such as "heron", '),
    ],
)
def test_a_value_of_another_kind_is_told_with_what_belongs(
    tmp_path: Path, old: str, new: str, place: tuple[int, int, int], message: str
) -> None:
    got = told(tmp_path, swapped(old, new))
    assert [t[:4] for t in got] == [("file/wrong-kind", *place)]
    assert got[0][4].startswith(message)
    assert got[0][4].endswith("belongs here" if "date" not in message else "2027-03-14")


def test_text_where_a_table_of_parts_is_due(tmp_path: Path) -> None:
    assert told(tmp_path, 'shaft = "3 mm"\n', "parts") == [
        ("file/wrong-kind", 1, 9, 15, "shaft: a table of keys, such as [shaft], belongs here")
    ]
    assert told(tmp_path, '[shaft]\na = "3 mm"\n', "parts") == [
        ("file/wrong-kind", 2, 5, 11, "a: a table of keys, such as [a], belongs here")
    ]
    assert [t[:4] for t in told(tmp_path, '[[shaft]]\ndiameter = "3 mm"\n', "parts")] == [
        ("file/wrong-kind", 1, 3, 8)
    ]


def test_text_has_a_longest(tmp_path: Path) -> None:
    assert told(tmp_path, swapped('"heron"', f'"{"x" * 200}"')) == []
    assert told(tmp_path, swapped('"heron"', f'"{"x" * 201}"')) == [
        ("file/out-of-range", 1, 7, 210, "car is too long: at most 200 characters fit here")
    ]


def test_what_is_sound_of_a_file_is_kept(tmp_path: Path) -> None:
    text = swapped('hold_back = "6 mm"', 'hold_back = "6 cSt"').replace('"16 degC"', "16")
    model: Any = read_bytes(tmp_path, text.encode()).model
    assert model.front.hold_back is None
    assert model.front.oil == "thin"
    assert model.rear.hold_back.value == pytest.approx(0.006)
    assert model.bench.on == datetime.date(2027, 6, 5)
    assert model.bench.temperature is None


# --- what is no file to read  --------------------------------------------------------------------


def unreadable(path: Path, root: Path | None = None) -> list[tuple[str, str]]:
    found = read_file(path, "build", "x", root)
    assert found.model is None
    assert found.data == b""
    return [(fault.rule, fault.message) for fault in found.faults]


def test_a_folder_a_missing_file_and_a_dangling_link(tmp_path: Path) -> None:
    folder = tmp_path / "x.build.toml"
    folder.mkdir()
    assert unreadable(folder) == [
        ("file/unreadable", "is a folder, though named like a build file")
    ]
    ((rule, message),) = unreadable(tmp_path / "y.build.toml")
    assert rule == "file/unreadable"
    assert message.startswith("cannot be read: ")
    link = tmp_path / "z.build.toml"
    link.symlink_to(tmp_path / "nothing")
    assert unreadable(link) == [("file/unreadable", "is a link to nothing")]
    loop = tmp_path / "l.build.toml"
    loop.symlink_to(loop)
    assert [rule for rule, _ in unreadable(loop, tmp_path)] == ["file/unreadable"]


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes here")
def test_a_named_pipe_is_not_waited_for(tmp_path: Path) -> None:
    pipe = tmp_path / "x.build.toml"
    os.mkfifo(pipe)
    assert unreadable(pipe) == [
        ("file/unreadable", "is not a file, though named like a build file")
    ]


def test_a_link_out_of_the_root_is_not_read(tmp_path: Path) -> None:
    outside = tmp_path / "outside.build.toml"
    outside.write_text(BUILD)
    root = tmp_path / "root"
    root.mkdir()
    inside = root / "x.build.toml"
    inside.symlink_to(outside)
    assert unreadable(inside, root) == [
        ("file/unreadable", "is a link that leads out of the repository")
    ]
    assert read_file(inside, "build", "x").model is not None
    (root / "y.build.toml").write_text(BUILD)
    (root / "z.build.toml").symlink_to("y.build.toml")
    assert read_file(root / "z.build.toml", "build", "z", root).model is not None


def test_a_file_of_a_million_bytes_is_read_and_a_larger_one_is_not(tmp_path: Path) -> None:
    filled = BUILD.encode() + b"#" * (LARGEST - len(BUILD))
    assert len(filled) == LARGEST == 1_000_000
    assert read_bytes(tmp_path, filled).faults == []
    found = read_bytes(tmp_path, filled + b"#")
    assert found.data == b""
    assert placed(found) == [
        ("file/too-large", 1, 1, 1, "has 1,000,001 bytes; a file has at most 1,000,000")
    ]


# --- anything at all  ----------------------------------------------------------------------------

KEYS = """
front rear left right bench second cup blend at x a.b é bore stroke length oil viscosity diameter
holes rate vtc hold_back done rebound on temperature altitude piston shaft body motion_ratio
corner_mass into_body name class car event style note label spring bladder density coldest hottest
""".split()  # noqa: SIM905
READINGS = [
    "6 mm",
    "375 cSt",
    "60 %",
    "0.6",
    "375",
    "37.5 wt",
    "nan",
    "1e400 mm",
    "x" * 70,
    "",
    "é",
]
READINGS += ["4 x 1.8 mm", "heron", "2000 SUS", "440 cP", "20 degC", "bled", "sealed", "6 mm ± 9 m"]
VALUES: st.SearchStrategy[Any] = st.one_of(
    st.sampled_from(READINGS),
    st.text(st.characters(exclude_categories=("Cs",)), max_size=5),
    st.integers(),
    st.floats(),
    st.booleans(),
    st.dates(),
    st.datetimes(),
    st.times(),
)
DOCUMENTS = st.dictionaries(
    st.sampled_from(KEYS),
    st.recursive(
        VALUES,
        lambda inner: (
            st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(KEYS), inner, max_size=4)
        ),
        max_leaves=8,
    ),
    max_size=6,
)


def as_toml(value: Any) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        escaped = "".join(
            f"\\U{ord(c):08x}" if ord(c) < 32 or ord(c) == 127 or c in '"\\' else c for c in value
        )
        return f'"{escaped}"'
    if isinstance(value, dict):
        return "{" + ", ".join(f'"{k}" = {as_toml(v)}' for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(as_toml, value)) + "]"
    if isinstance(value, (datetime.date, datetime.time)):
        return value.isoformat()
    return str(value)


LOOSE = settings(
    max_examples=200,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)


@LOOSE
@given(st.sampled_from(sorted(KINDS)), DOCUMENTS)
def test_any_document_is_read_without_an_exception(
    tmp_path: Path, kind: str, document: dict[str, Any]
) -> None:
    text = "".join(f'"{key}" = {as_toml(value)}\n' for key, value in document.items())
    tomli.loads(text)  # the test's own writer is sound
    for _, line, column, end, message in told(tmp_path, text, kind):
        assert 1 <= line <= max(1, len(document))
        assert 1 <= column <= end
        assert message.isprintable()
        assert len(message) < 800


@LOOSE
@given(st.sampled_from(sorted(KINDS)), st.binary(max_size=300))
def test_any_bytes_are_read_without_an_exception(tmp_path: Path, kind: str, data: bytes) -> None:
    for *_, message in placed(read_bytes(tmp_path, data, kind)):
        assert message.isprintable()


@LOOSE
@given(st.data())
def test_a_build_with_a_few_letters_changed_is_read_without_an_exception(
    tmp_path: Path, data: st.DataObject
) -> None:
    text = BUILD
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(text)))
        gone = data.draw(st.integers(0, 3))
        new = data.draw(st.text("\"'[]{}=.,#\n\r\t \\aé0-", max_size=3))
        text = text[:at] + new + text[at + gone :]
    last = text.count("\n") + 1
    for _, line, column, end, message in told(tmp_path, text):
        assert 1 <= line <= last
        assert 1 <= column <= end
        assert message.isprintable()


# --- dates and values without quotes  ------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "message"),
    [
        ("12/06/2027", "on: write the date as year-month-day: 2027-06-12 or 2027-12-06"),
        ("25.06.2027", "on: write the date as year-month-day: 2027-06-25"),
        ("06/25/2027", "on: write the date as year-month-day: 2027-06-25"),
        ("2027/6/5", "on: write the date as year-month-day: 2027-06-05"),
        ("2027-06-31", "on: there is no such date as 2027-06-31"),
        ("next week", 'put text in straight quotes: on = "next week"'),
    ],
)
def test_a_date_is_told_how_to_be_written(tmp_path: Path, value: str, message: str) -> None:
    text = re.sub(r"(?m)^on = .*$", f"on = {value}", BUILD)
    (fault,) = [t for t in told(tmp_path, text) if t[0] == "file/not-toml"]
    assert fault[2] == 6
    assert fault[4] == message


def test_curly_quotes_are_told_apart_from_straight_ones(tmp_path: Path) -> None:
    (fault,) = told(tmp_path, swapped('oil = "thin"', "oil = “thin”"))
    assert fault[4] == 'put text in straight quotes: oil = "thin"'


# --- what is refused is not used  ----------------------------------------------------------------


def test_what_was_refused_is_known_to_have_been_given(tmp_path: Path) -> None:
    path = tmp_path / "x.event.toml"
    path.write_text(
        'name = "x"\non = 2027-06-12\naltitude = "5 m"\ncoldest = "40 degC"\nhottest = "5 degC"\n'
    )
    found = read_file(path, "event", "x")
    assert [fault.rule for fault in found.faults] == ["file/out-of-range"]
    assert isinstance(found.model, Event)
    assert found.model.coldest is None and found.model.hottest is None
    assert found.refused == {("coldest",), ("hottest",)}


# --- what is held in memory ----------------------------------------------------------------------


def test_a_table_that_is_held_is_read_as_its_file_is(tmp_path: Path) -> None:
    text = '[oil.thin]\nviscosity = "100 cSt"\nvicosity = 1\n'
    path = tmp_path / "all.parts.toml"
    table = {"oil": {"thin": {"viscosity": "100 cSt", "vicosity": 1}}}
    of_table = read_file(path, "parts", "all", tmp_path, table)
    of_text = read_file(path, "parts", "all", tmp_path, text.encode())
    assert of_table.model == of_text.model is not None
    assert of_table.faults == of_text.faults
    assert (of_table.data, of_text.data) == (b"", text.encode())


def test_what_no_file_could_hold_is_refused_field_by_field(tmp_path: Path) -> None:
    table = {"oil": {"thin": {"viscosity": object(), "label": "\ud800", "note": [1]}}}
    found = read_file(tmp_path / "all.parts.toml", "parts", "all", tmp_path, table)
    assert sorted((fault.rule, fault.message) for fault in found.faults) == [
        ("file/not-a-reading", 'viscosity: a reading belongs here, such as "450 cSt"'),
        ("file/wrong-kind", 'label: text in quotes, such as "heron", belongs here'),
        ("file/wrong-kind", 'note: text in quotes, such as "heron", belongs here'),
    ]


def test_bytes_that_are_held_have_the_same_room_as_a_file(tmp_path: Path) -> None:
    path = tmp_path / "all.parts.toml"
    (fault,) = read_file(path, "parts", "all", tmp_path, b"#" * 1_000_001).faults
    assert fault.rule == "file/too-large"


def test_a_table_whose_name_is_not_closed_is_read_as_if_it_were(tmp_path: Path) -> None:
    """What stands in it is told too, where it stands."""
    text = '[shaft.thin # the old ones\ndiameter = "3.5 mn"\n[shaft.thick\ndiameter = "4 mn"\n'
    near = "is not a unit known here; did you mean mm?"
    assert told(tmp_path, text, "parts") == [
        ("file/not-toml", 1, 13, 14, "cannot be read: a table's name is closed with ]"),
        ("file/unknown-unit", 2, 12, 20, f'diameter: "3.5 mn": "mn" {near}'),
        ("file/not-toml", 3, 13, 13, "cannot be read: a table's name is closed with ]"),
        ("file/unknown-unit", 4, 12, 18, f'diameter: "4 mn": "mn" {near}'),
    ]


@pytest.mark.parametrize("value", ['"heron"', "'heron'", "5"])
def test_a_key_without_its_equals_sign_is_left_out_and_the_rest_read(
    tmp_path: Path, value: str
) -> None:
    text = swapped('temperature = "16 degC"', 'temperature = "16 mm"')
    first, _, rest = text.partition("\n")
    assert first.startswith("car = ")
    found = told(tmp_path, f"car {value}\n{rest}")
    assert [(rule, line, column) for rule, line, column, _, _ in found] == [
        ("file/not-toml", 1, 5),
        ("file/wrong-dimension", 4, 15),
    ]


LONG = "k" * 3000


@pytest.mark.parametrize(
    ("kind", "text"),
    [
        ("build", f"{LONG} = 1\n{LONG} = 2"),
        ("build", f"[{LONG}]\n[{LONG}]"),
        ("build", f"{LONG} = 2027-13-05"),
        ("build", f"{LONG} = abc"),
        ("build", f"front.{LONG}.a = 1"),
        ("parts", f"[oil]\n{LONG} = 1"),
        ("parts", f'[oil.x]\nblend = {{ {LONG} = "1 wt" }}'),
        ("parts", f"[oil.x]\nblend = {{ {LONG} = [] }}"),
    ],
)
def test_a_message_is_short_however_long_a_key_is(kind: str, text: str) -> None:
    found = read_file(Path("x"), kind, "x", held=text.encode())
    assert found.faults
    assert all(len(fault.message) < 300 for fault in found.faults)
    # cut, not left out: the builder sees which key it is
    assert any("kkkkkk" in fault.message for fault in found.faults)


@pytest.mark.parametrize(("keys", "read"), [(900, True), (1100, False)])
def test_a_file_with_a_thousand_mistakes_is_another_kind_of_file(
    monkeypatch: pytest.MonkeyPatch, keys: int, read: bool
) -> None:
    looked: list[str] = []

    def nearest(word: str, known: Any) -> None:
        looked.append(word)

    monkeypatch.setattr(reader, "nearest", nearest)
    text = "".join(f"key-{n} = 1\n" for n in range(keys)) + 'car = "heron"\n'
    found = read_file(Path("x"), "build", "x", held=text.encode())
    refused = [fault for fault in found.faults if fault.rule == "file/unknown-key"]
    # every one is a mistake, but what was meant takes long: nobody is told of so many
    assert [fault.path for fault in refused] == [(f"key-{n}",) for n in range(keys)]
    assert len(looked) == min(keys, 1000)
    # nothing of it is used: a key that was misspelt would pass for one that was left out
    assert (found.model is not None) is read


@pytest.mark.parametrize(
    ("dots", "rule"), [(99_900, "file/unknown-key"), (100_200, "file/too-large")]
)
def test_a_file_of_nothing_but_dots_is_too_large(dots: int, rule: str) -> None:
    # each dot is a table more: a file of 1 MB took 850 MB to read
    text = "".join(f"a{n}" + ".a" * 100 + " = 1\n" for n in range(dots // 100))
    found = read_file(Path("x"), "build", "x", held=text.encode())
    assert {fault.rule for fault in found.faults if fault.rule != "file/missing-key"} == {rule}


@pytest.mark.parametrize(("lines", "told"), [(10, 20), (60_000, 5)])
def test_in_a_large_file_fewer_broken_lines_are_looked_for(
    monkeypatch: pytest.MonkeyPatch, lines: int, told: int
) -> None:
    # the file is read again for each: 60,000 lines of 16 characters are 960,000
    text = "".join(f"key-{n:05} = 1    \n"[-16:] for n in range(lines)) + "b = = 1\n" * 30
    read: list[int] = []
    loads = tomli.loads

    def counted(given: str) -> dict[str, Any]:
        read.append(len(given))
        return loads(given)

    monkeypatch.setattr(tomli, "loads", counted)
    found = read_file(Path("x"), "build", "x", held=text.encode())
    broken = [fault for fault in found.faults if fault.rule == "file/not-toml"]
    # 1 and 4,000,000 // 960,240
    assert len(broken) == told
    assert len(read) <= 2 * told + 1

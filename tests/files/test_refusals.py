"""What a model refuses, told in words with its place."""

from pathlib import Path
from typing import Any

import pytest

from buildlint.files import refusals
from buildlint.files.reader import read_file
from tests.files.reading import swapped, told


def test_a_huge_number_in_base_sixteen_is_refused_in_few_words(tmp_path: Path) -> None:
    huge = "0x" + "f" * 5000
    for line in (f"hold_back = {huge}", f'hold_back = "6 mm"\nrebound = {huge}'):
        got = told(tmp_path, swapped('hold_back = "6 mm"', line))
        assert [t[0] for t in got] == ["file/not-a-reading"]
        assert len(got[0][4]) < 200


@pytest.mark.parametrize(
    ("key", "home"),
    [
        ("corner_mass", "a NAME.car.toml, under [front] or [rear]"),
        ("hottest", "a NAME.event.toml"),
        ("diameter", "a NAME.parts.toml, under [shaft.ID] or [piston.ID]"),
        ("temperature", "a NAME.build.toml, under [bench]"),
    ],
)
def test_a_key_that_belongs_elsewhere_says_where(tmp_path: Path, key: str, home: str) -> None:
    (fault,) = told(tmp_path, swapped("[rear]", f'[rear]\n{key} = "1"'))
    assert fault[4] == f'"{key}" is not a key known in rear; it belongs in {home}'


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
            '"zzzz" is not a key known in bench; the keys are on, temperature, altitude, by',
        ),
        (
            "[rear]",
            '[rear]\n"\\u001b[31m" = 1',
            (11, 1, 13),
            '"\\x1b[31m" is not a key known in rear; the keys are piston, oil, hold_back, spring, '
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


def test_a_kind_of_part_that_is_not_known(tmp_path: Path) -> None:
    assert told(tmp_path, '[sahft.a]\ndiameter = "3 mm"\n', "parts") == [
        ("file/unknown-key", 1, 2, 9, '"sahft" is not a key known here; did you mean shaft?')
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
        ("[rear]", "note = []\n[rear]", (10, 8, 10), 'note: text in quotes, such as "heron", '),
    ],
)
def test_a_value_of_another_kind_is_told_with_what_belongs(
    tmp_path: Path, old: str, new: str, place: tuple[int, int, int], message: str
) -> None:
    got = told(tmp_path, swapped(old, new))
    assert [t[:4] for t in got] == [("file/wrong-kind", *place)]
    assert got[0][4].startswith(message)
    assert got[0][4].endswith("belongs here" if "date" not in message else "2027-03-14")


@pytest.mark.parametrize(
    ("value", "message"),
    [
        ("350", 'put text in quotes: oil = "350"'),
        ("37.5", 'put text in quotes: oil = "37.5"'),
        ("-3", 'put text in quotes: oil = "-3"'),
        ("2027-06-05", 'put text in quotes: oil = "2027-06-05"'),
        ("9" * 80, 'oil: text in quotes, such as "heron", belongs here'),
        ("true", 'oil: text in quotes, such as "heron", belongs here'),
        ("2027-06-05T10:00:00", 'oil: text in quotes, such as "heron", belongs here'),
    ],
)
def test_a_number_where_text_is_due_is_told_with_its_quotes(
    tmp_path: Path, value: str, message: str
) -> None:
    got = told(tmp_path, swapped('oil = "thin"', f"oil = {value}"))
    assert [(t[0], t[4]) for t in got] == [("file/wrong-kind", message)]


def test_a_value_where_keys_of_its_own_are_due_is_told_with_their_heading(tmp_path: Path) -> None:
    message = "left: keys of its own belong here, under a heading [front.left]"
    assert told(tmp_path, swapped("[rear]", "left = 3\n[rear]")) == [
        ("file/wrong-kind", 10, 8, 9, message)
    ]


def test_text_where_a_table_of_parts_is_due(tmp_path: Path) -> None:
    assert told(tmp_path, 'shaft = "3 mm"\n', "parts") == [
        ("file/wrong-kind", 1, 9, 15, "shaft: keys of its own belong here, under a heading [shaft]")
    ]
    assert told(tmp_path, '[shaft]\na = "3 mm"\n', "parts") == [
        ("file/wrong-kind", 2, 5, 11, "a: keys of its own belong here, under a heading [shaft.a]")
    ]
    assert [t[:4] for t in told(tmp_path, '[[shaft]]\ndiameter = "3 mm"\n', "parts")] == [
        ("file/wrong-kind", 1, 3, 8)
    ]


def test_text_has_a_longest(tmp_path: Path) -> None:
    assert told(tmp_path, swapped('"heron"', f'"{"x" * 200}"')) == []
    assert told(tmp_path, swapped('"heron"', f'"{"x" * 201}"')) == [
        ("file/out-of-range", 1, 7, 210, "car is too long: at most 200 characters fit here")
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

    monkeypatch.setattr(refusals, "nearest", nearest)
    text = "".join(f"key-{n} = 1\n" for n in range(keys)) + 'car = "heron"\n'
    found = read_file(Path("x"), "build", "x", held=text.encode())
    refused = [fault for fault in found.faults if fault.rule == "file/unknown-key"]
    # every one is a mistake, but what was meant takes long: nobody is told of so many
    assert [fault.path for fault in refused] == [(f"key-{n}",) for n in range(keys)]
    assert len(looked) == min(keys, 1000)
    # nothing of it is used: a key that was misspelt would pass for one that was left out
    assert (found.model is not None) is read

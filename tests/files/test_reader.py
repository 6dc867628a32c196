"""Reading one file: every mistake at once, each once, in its place; nothing is ever raised."""

import datetime
from pathlib import Path
from typing import Any

import pytest
import tomli
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from buildlint.files.models import KINDS, Event
from buildlint.files.reader import read_file
from tests.files.reading import BUILD, placed, read_bytes, swapped, told


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
    ("data", "place"),
    [
        (b"\xff\xfec\x00a\x00r\x00", (1, 1, 2)),  # UTF-16
        (b'car = "\xe9"\n', (1, 8, 9)),  # Latin-1
        (b'# a\nnote = "20 \xb0C"\n', (2, 12, 13)),
        ('# ±±\nnote = "±'.encode() + b'\xb1"\n', (2, 10, 11)),
        (b'\xef\xbb\xbfcar = "\xe9"\n', (1, 8, 9)),
    ],
)
def test_what_is_not_utf_8_is_told_with_its_place(
    tmp_path: Path, data: bytes, place: tuple[int, int, int]
) -> None:
    found = read_bytes(tmp_path, data)
    assert found.model is None
    assert placed(found) == [
        ("file/not-toml", *place, "has a character here that is not UTF-8: save the file as UTF-8")
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
        ("file/missing-key", 1, 1, 1, f"is empty: {keys} belong in it")
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
oil = "40 wt"
air = "40 wt"
"""
    assert told(tmp_path, text) == [
        ("file/wrong-kind", 1, 7, 8, 'put text in quotes: car = "7"'),
        ("file/out-of-range", 2, 9, 11, "event is empty: text belongs here"),
        (
            "file/not-a-choice",
            3,
            9,
            17,
            'style: "bladdr" is not one of the words that it takes: "bladder" or "emulsion"',
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
            'temperature: 16 has no unit and no quotes; write a reading such as "16 degC"',
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
            'done: "greasd" is not one of the words that it takes: "deburred", "greased", '
            '"threadlocked", "bled", "rod end free" or "leak checked"',
        ),
        (
            "file/not-a-choice",
            14,
            27,
            28,
            'done: what stands here is not one of the words that it takes: "deburred", "greased", '
            '"threadlocked", "bled", "rod end free" or "leak checked"',
        ),
        (
            "file/wrong-kind",
            15,
            8,
            11,
            "left: keys of its own belong here, under a heading [front.left]",
        ),
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
            14,
            'air: "40 wt": wt is not a unit, only a bottler\'s number; a volume belongs here, '
            'such as "0.2 ml"',
        ),
    ]


def test_what_is_sound_of_a_file_is_kept(tmp_path: Path) -> None:
    text = swapped('hold_back = "6 mm"', 'hold_back = "6 cSt"').replace('"16 degC"', "16")
    model: Any = read_bytes(tmp_path, text.encode()).model
    assert model.front.hold_back is None
    assert model.front.oil == "thin"
    assert model.rear.hold_back.value == pytest.approx(0.006)
    assert model.bench.on == datetime.date(2027, 6, 5)
    assert model.bench.temperature is None


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
    "40 wt",
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
        ("file/not-a-reading", 'oil.thin.viscosity: a reading belongs here, such as "450 cSt"'),
        ("file/wrong-kind", 'oil.thin.label: text in quotes, such as "heron", belongs here'),
        ("file/wrong-kind", 'oil.thin.note: text in quotes, such as "heron", belongs here'),
    ]


def test_bytes_that_are_held_have_the_same_room_as_a_file(tmp_path: Path) -> None:
    path = tmp_path / "all.parts.toml"
    (fault,) = read_file(path, "parts", "all", tmp_path, b"#" * 1_000_001).faults
    assert fault.rule == "file/too-large"


@pytest.mark.parametrize(
    ("dots", "rule"), [(99_900, "file/unknown-key"), (100_200, "file/too-large")]
)
def test_a_file_of_nothing_but_dots_is_too_large(dots: int, rule: str) -> None:
    # each dot is a table more: a file of 1 MB took 850 MB to read
    text = "".join(f"a{n}" + ".a" * 100 + " = 1\n" for n in range(dots // 100))
    found = read_file(Path("x"), "build", "x", held=text.encode())
    assert {fault.rule for fault in found.faults if fault.rule != "file/missing-key"} == {rule}

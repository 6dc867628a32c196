"""Files whose TOML is broken: every broken line once, in its place, and the rest read."""

import re
import sys
from pathlib import Path
from typing import Any

import pytest
import tomli

from buildlint.files.reader import read_file
from tests.files.reading import BUILD, PARTS, swapped, told


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
        'altitude: "5" has no unit; a length belongs here, such as "5 m"',
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
    """What else the file holds is not read: nobody knows where the list ends."""
    text = swapped("[front]\n", f"[front]\n{lines}\n").replace('car = "heron"', 'cra = "heron"')
    assert told(tmp_path, text) == [
        (
            "file/not-toml",
            *place,
            "cannot be read: a list is opened with [ and not closed, or lacks a comma",
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
        ("file/not-toml", *place, f"{key} is given twice in the same place")
    ]


def test_a_table_opened_twice_is_told_at_the_second(tmp_path: Path) -> None:
    assert told(tmp_path, swapped("[rear]", "[front]")) == [
        ("file/not-toml", 10, 1, 8, "the heading [front] stands twice")
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
            "has brackets inside brackets too deep, or a number with too many digits",
        )
    ]


def test_a_broken_line_of_one_part_hides_nothing_that_another_lacks(tmp_path: Path) -> None:
    text = '[shaft.a]\ndiameter = 3 mm\n[shaft.b]\ncoating = "hard"\n'
    assert [t[:3] for t in told(tmp_path, text, "parts")] == [
        ("file/not-toml", 2, 12),
        ("file/missing-key", 3, 2),
    ]


@pytest.mark.parametrize(
    "value",
    [
        *("12/06/2027", "25.06.2027", "2027/6/5", "2027-6-5", "27-06-05", "next week"),
        *("2027-06-05T25:00:00", "2027-06-05T10:00:00+99:00"),
    ],
)
def test_a_date_is_told_how_to_be_written(tmp_path: Path, value: str) -> None:
    text = re.sub(r"(?m)^on = .*$", f"on = {value}", BUILD)
    assert told(tmp_path, text) == [
        (
            "file/not-toml",
            3,
            6,
            6 + len(value),
            "on: a date belongs here as year-month-day, such as 2027-06-12",
        )
    ]


@pytest.mark.parametrize("value", ["2027-06-31", "2027-13-05", "0000-00-00", "0000-13-45"])
def test_a_date_that_no_calendar_has_is_told(tmp_path: Path, value: str) -> None:
    (fault,) = told(tmp_path, re.sub(r"(?m)^on = .*$", f"on = {value}", BUILD))
    assert fault[4] == f"on: there is no such date as {value}"
    line = f'bench = {{ temperature = "2027-01-99", on = {value}, altitude = "5 m" }}'
    (fault,) = told(tmp_path, f'car = "heron"\n{line}\n')
    assert fault[1] == 2


@pytest.mark.parametrize("opened", ['done = ["bled"', 'done = ["bled",', "x = { a = 1"])
@pytest.mark.parametrize("after", ["\n[rear]\n", "\n", "\n\n", '\noil = ["a"]\n', "\noil = 5"])
def test_what_is_left_open_is_told_where_it_opens(tmp_path: Path, opened: str, after: str) -> None:
    (fault,) = told(tmp_path, f'car = "heron"\n[front]\n{opened}{after}')
    assert fault[1] == 3


@pytest.mark.parametrize(
    "line",
    [
        *('rebound "60 %"', "rebound: 60 %", "rebound 60 %", "rebound = 60 %", 'rebound = "60 %'),
        *(
            "rebound = '60 %",
            "rebound",
            "rebound =",
            "rebound == 5",
            'left.rebound = "5',
            'oil = "x"',
        ),
        *("my rebound = 60 %", 'note = "\\q"', 'rebound = "60 %" "61 %"', "rebound = 60 % # x = 5"),
    ],
)
def test_a_line_broken_whole_is_told_once_and_all_the_rest_read(tmp_path: Path, line: str) -> None:
    """Wherever it stands; each of two."""
    text = BUILD.replace("hold_back", f"{line}\nhold_back").replace('"6 mm"\n[', '"6 mn"\n[')
    found = told(tmp_path, text)
    assert [(t[0], t[1]) for t in found] == [
        ("file/not-toml", 9),
        ("file/unknown-unit", 10),
        ("file/not-toml", 14),
    ]


def test_curly_quotes_are_told_apart_from_straight_ones(tmp_path: Path) -> None:
    (fault,) = told(tmp_path, swapped('oil = "thin"', "oil = “thin”"))
    assert fault[4] == 'put text in straight quotes: oil = "thin"'


def test_a_table_whose_name_is_not_closed_is_read_as_if_it_were(tmp_path: Path) -> None:
    """What stands in it is told too, where it stands."""
    text = '[shaft.thin # the old ones\ndiameter = "3.5 mn"\n[shaft.thick\ndiameter = "4 mn"\n'
    near = "is not a unit known here; did you mean mm?"
    assert told(tmp_path, text, "parts") == [
        ("file/not-toml", 1, 13, 14, "cannot be read: a heading opened with [ ends with ]"),
        ("file/unknown-unit", 2, 12, 20, f'diameter: "3.5 mn": "mn" {near}'),
        ("file/not-toml", 3, 13, 13, "cannot be read: a heading opened with [ ends with ]"),
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


# --- spaces in keys and headings -----------------------------------------------------------------


@pytest.mark.parametrize(
    ("old", "new", "place", "message"),
    [
        ("hold_back", "hold back", (9, 1, 10), "a key has no spaces: write hold_back"),
        ("hold_back", "Hold \t Back", (9, 1, 12), "a key has no spaces: write hold_back"),
        ("hold_back", "  hold back ", (9, 3, 12), "a key has no spaces: write hold_back"),
        ("note", "my own note", (7, 1, 12), "a key has no spaces: write my_own_note"),
        ("note", "spring\u00a0x", (7, 1, 9), "a key has no spaces"),
    ],
)
def test_a_key_with_a_space_is_told_whole_and_the_rest_read(
    tmp_path: Path, old: str, new: str, place: tuple[int, int, int], message: str
) -> None:
    """What stands behind is told too, and the key is not missing besides."""
    text = BUILD if old == "hold_back" else swapped("[front]\n", '[front]\nnote = "x"\n')
    text = text.replace(old, new, 1) + 'rebuond = "60 %"\n'
    if "\u00a0" in new:
        # no space of TOML's: nothing is guessed
        assert [t[0] for t in told(tmp_path, text)] == ["file/not-toml"]
        return
    first, second = told(tmp_path, text)
    assert first == ("file/not-toml", *place, message)
    assert second[0] == "file/unknown-key"


@pytest.mark.parametrize(
    ("line", "place"),
    [
        ('left = { hold back = "6 mm" }', (10, 15, 16)),
        ('done so = [\n"bled",\n]', (10, 6, 7)),
    ],
)
def test_a_key_with_a_space_in_more_than_its_line_ends_what_is_read(
    tmp_path: Path, line: str, place: tuple[int, int, int]
) -> None:
    (fault,) = told(tmp_path, swapped("[rear]", f"{line}\n[rear]"))
    assert fault[:4] == ("file/not-toml", *place)
    assert fault[4] == "cannot be read: a key is one word, then =, then its value"


def test_a_key_of_a_part_with_a_space_is_known_too(tmp_path: Path) -> None:
    text = PARTS.replace("thickness =", 'taper to = "1.2 mm"\nthickness =')
    assert told(tmp_path, text, "parts") == [
        ("file/not-toml", 9, 1, 9, "a key has no spaces: write taper_to")
    ]


@pytest.mark.parametrize(
    "heading",
    [
        *("[front right]", "  [ front   right ]", "[front right", "[front right] # worn"),
        *("[oil.a/b]", "[oil.dünn]", "  [spring.4.5 lb]", '[change.pair/length] # "x"'),
    ],
)
def test_a_heading_that_needs_a_point_or_quotes_is_told_and_ends_what_is_read(
    tmp_path: Path, heading: str
) -> None:
    """What stands in it would be taken for the table above."""
    assert told(tmp_path, BUILD.replace("[rear]", f'{heading}\nlength = "84 mn"\n[rear]')) == [
        (
            "file/not-toml",
            10,
            1,
            len(heading) + 1,
            'a heading has no spaces, and other signs only in quotes: [front.right], [oil."a/b"]',
        )
    ]


def test_a_line_of_many_words_or_spaces_takes_no_time(tmp_path: Path) -> None:
    for text in ("a " * 400_000 + "= 1", "a" + " " * 900_000 + "= = 1", "[" + "a " * 400_000):
        found = told(tmp_path, text)
        assert all(len(t[4]) < 300 for t in found)


@pytest.mark.parametrize("listed", ['done = ["bled"]', 'done = [\n  "bled",\n]'])
@pytest.mark.parametrize(
    ("broken", "place"), [("hold_back = '6 mm", (9, 13)), ('note = """one', (9, 1))]
)
def test_a_quote_left_open_is_told_where_it_opens_whatever_list_comes_after(
    tmp_path: Path, listed: str, broken: str, place: tuple[int, int]
) -> None:
    text = swapped('hold_back = "6 mm"', broken).replace("[rear]", f"[rear]\n{listed}")
    (fault,) = [t for t in told(tmp_path, text) if t[0] == "file/not-toml"]
    assert fault[1:3] == place


def test_a_heading_in_double_brackets_is_named_without_its_remark(tmp_path: Path) -> None:
    text = swapped("[rear]", '[front.left]\nlength = "84 mm"\n[[front.left]] # twice\n[rear]')
    (fault,) = [t for t in told(tmp_path, text) if t[0] == "file/not-toml"]
    assert "[[front.left]]" in fault[4]
    assert "#" not in fault[4]


@pytest.mark.parametrize(
    ("value", "advice"),
    [("6,4 mm", '"6.4 mm"'), ("1,850 m", '"1,850 m"'), ("6,45 mm", '"6.45 mm"')],
)
def test_the_advice_for_a_reading_without_quotes_can_be_taken(
    tmp_path: Path, value: str, advice: str
) -> None:
    (fault,) = [t for t in told(tmp_path, swapped('"6 mm"', value)) if t[0] == "file/not-toml"]
    assert fault[4] == f"put the reading in quotes: hold_back = {advice}"

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
    text = swapped("[front]\n", f"[front]\n{lines}\n").replace('car = "heron"', 'cra = "heron"')
    assert told(tmp_path, text) == [
        ("file/unknown-key", 1, 1, 4, '"cra" is not a key known here; did you mean car?'),
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
    ("value", "message"),
    [
        ("12/06/2027", "on: write the date as year-month-day: 2027-06-12 or 2027-12-06"),
        ("25.06.2027", "on: write the date as year-month-day: 2027-06-25"),
        ("06/25/2027", "on: write the date as year-month-day: 2027-06-25"),
        ("2027/6/5", "on: write the date as year-month-day: 2027-06-05"),
        ("2027-06-31", "on: there is no such date as 2027-06-31"),
        ("2027-13-05", "on: write the date as year-month-day: 2027-05-13"),
        ("0000-13-05", "on: there is no such date as 0000-13-05"),
        ("0000-01-01", "on: there is no such date as 0000-01-01"),
        ("99/98/2027", "on: there is no such date as 99/98/2027"),
        ("30.02.2027", "on: there is no such date as 30.02.2027"),
        (
            "2027-06-05T25:00:00",
            "on: write the date without a time, as year-month-day: 2027-06-05",
        ),
        ("27-06-05", "on: a date belongs here as year-month-day, such as 2027-06-12"),
        ("next week", "on: a date belongs here as year-month-day, such as 2027-06-12"),
    ],
)
def test_a_date_is_told_how_to_be_written(tmp_path: Path, value: str, message: str) -> None:
    text = re.sub(r"(?m)^on = .*$", f"on = {value}", BUILD)
    (fault,) = [t for t in told(tmp_path, text) if t[0] == "file/not-toml"]
    assert fault[2] == 6
    assert fault[4] == message


@pytest.mark.parametrize(
    "value",
    [
        *("0000-13-45", "0000-00-00", "2027-02-30", "99.99.2027", "24:00", "today"),
        *("2027-6-5", "2027-13-05", "12/06/2027", '"2027-06-05"'),
        *("2027-06-05 10:00:00", "2027-06-05T10:00:00+99:00"),
    ],
)
def test_advice_on_a_date_is_accepted_where_it_is_followed(tmp_path: Path, value: str) -> None:
    text = re.sub(r"(?m)^on = .*$", f"on = {value}", BUILD)
    (fault,) = told(tmp_path, text)
    advised = re.findall("[0-9]{4}-[0-9]{2}-[0-9]{2}", fault[4])
    if "there is no such date" in fault[4]:
        assert advised in ([], [value])
        return
    assert advised
    for date in advised:
        assert told(tmp_path, re.sub(r"(?m)^on = .*$", f"on = {date}", BUILD)) == []


@pytest.mark.parametrize(
    ("value", "message"),
    [
        ("0000-13-45", "there is no such date as 0000-13-45"),
        ("2027-02-30", "there is no such date as 2027-02-30"),
        ("2027-6-5", "write the date as year-month-day: 2027-06-05"),
    ],
)
def test_a_date_in_brackets_is_told_at_its_place(tmp_path: Path, value: str, message: str) -> None:
    line = f'bench = {{ temperature = "2027-01-99", on = {value}, altitude = "5 m" }}'
    (fault,) = told(tmp_path, f'car = "heron"\n{line}\n')
    assert fault[1:3] == (2, 1 + line.index(value))
    assert fault[4] == message


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
        ("note", "my own note", (7, 1, 12), "a key has no spaces"),
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
        ('left = { hold back = "6 mm" }', (10, 10, 19)),
        ('done so = [\n"bled",\n]', (10, 1, 8)),
        ('left.hold back = "6 mm"', (10, 6, 15)),
    ],
)
def test_a_key_with_a_space_in_more_than_its_line_ends_what_is_read(
    tmp_path: Path, line: str, place: tuple[int, int, int]
) -> None:
    (fault,) = told(tmp_path, swapped("[rear]", f"{line}\n[rear]"))
    assert fault[:4] == ("file/not-toml", *place)
    assert fault[4].startswith("a key has no spaces")


def test_a_key_of_a_part_with_a_space_is_known_too(tmp_path: Path) -> None:
    text = PARTS.replace("thickness =", 'taper to = "1.2 mm"\nthickness =')
    assert told(tmp_path, text, "parts") == [
        ("file/not-toml", 9, 1, 9, "a key has no spaces: write taper_to")
    ]


@pytest.mark.parametrize(
    ("heading", "written"),
    [
        ("[front right]", "[front.right], with a point"),
        ("  [ front   right ]", "[front.right], with a point"),
        ("[right front]", "[front.right], with a point"),
        ("[front right", "[front.right], with a point"),
        ("[front right] # worn", "[front.right], with a point"),
    ],
)
@pytest.mark.parametrize("before", [True, False])
def test_a_heading_with_a_space_is_told_and_read_as_it_is_meant(
    tmp_path: Path, heading: str, written: str, before: bool
) -> None:
    """Whether [front] stands above it or not; what stands in it is told where it stands."""
    text = BUILD.replace("[rear]", f'{heading}\nlength = "84 mn"\n[rear]')
    if not before:
        text = text.replace("[front]\n", "").replace("[bench]", "[front]\n[bench]", 1)
        text = f"{heading}\n" + 'length = "84 mn"\n[front]\n' + BUILD.split("[front]\n")[1]
        text = f'car = "heron"\n[bench]\n{BENCH}{text}'
    first, second = told(tmp_path, text)
    line = 10 if before else 6
    assert first == (
        "file/not-toml",
        line,
        1,
        len(heading) + 1,
        f"a heading has no spaces: write {written}",
    )
    assert second[:4] == ("file/unknown-unit", line + 1, 10, 17)


BENCH = 'on = 2027-06-05\ntemperature = "16 degC"\naltitude = "5 m"\n'


@pytest.mark.parametrize(
    ("heading", "written"),
    [
        ("[oil thin]", "[oil.thin], with a point"),
        ("[oil thin silicone]", "[oil.thin-silicone], with a point"),
        ("[oil.thin silicone]", "[oil.thin-silicone]"),
    ],
)
def test_a_heading_of_a_part_with_a_space(tmp_path: Path, heading: str, written: str) -> None:
    text = f'{heading}\nviscosity = "350 cTs"\n'
    assert [(t[1], t[4].partition("; ")[0]) for t in told(tmp_path, text, "parts")] == [
        (1, f"a heading has no spaces: write {written}"),
        (2, 'viscosity: "350 cTs": "cTs" is not a unit known here'),
    ]


@pytest.mark.parametrize(
    ("heading", "written"),
    [
        ("[oil.a/b]", '[oil."a/b"]'),
        ("[oil.dünn]", '[oil."dünn"]'),
        ("  [spring.4.5 lb]", '[spring."4.5 lb"]'),
        ('[rules.pair/length] # "x"', '[rules."pair/length"]'),
    ],
)
def test_a_name_in_a_heading_that_needs_quotes_is_told_with_them(
    tmp_path: Path, heading: str, written: str
) -> None:
    assert told(tmp_path, f"{heading}\n", "parts") == [
        ("file/not-toml", 1, 1, len(heading) + 1, f"put the name in quotes: {written}")
    ]
    assert tomli.loads(written)


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

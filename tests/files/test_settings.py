"""A team's own settings: what is wrong in them is refused with its place, all of it at once."""

import datetime
import os
import re
import time
from pathlib import Path
from typing import Any

import pytest
from pydantic import ValidationError

from buildlint.commands.cli import main
from buildlint.files.concession import Concession
from buildlint.files.settings import SETTINGS, Change, Settings, SettingsFile, read_settings
from buildlint.text.errors import SettingsError


def written(root: Path, text: str) -> SettingsFile:
    (root / SETTINGS).write_text(text, encoding="utf-8")
    return read_settings(root)


def refusals(root: Path) -> list[str]:
    """Give what is said of the settings, each line without the folder's path."""
    with pytest.raises(SettingsError) as caught:
        read_settings(root).refuse()
    assert all(line.isprintable() for line in caught.value.mistakes)
    here = Path(os.path.relpath(root)).as_posix()
    return [line.removeprefix(here).lstrip("/\\") for line in caught.value.mistakes]


@pytest.mark.parametrize("data", [b"", b"# a comment\n", b"\xef\xbb\xbf# marked\r\n"])
def test_settings_that_ask_for_nothing_change_nothing(tmp_path: Path, data: bytes) -> None:
    (tmp_path / SETTINGS).write_bytes(data)
    found = read_settings(tmp_path)
    assert found.there
    assert (found.says.changes, found.says.concessions, found.mistakes) == ({}, (), [])


def test_no_settings_are_needed(tmp_path: Path) -> None:
    assert not read_settings(tmp_path).there


def test_a_change_and_a_concession_are_read(tmp_path: Path) -> None:
    found = written(
        tmp_path,
        '[change."pair/length"]\nsame_within = "1 mm"\n'
        '[[concession]]\nrule = "pair/parts"\nreason = "spare"\nuntil = 2027-06-30\n'
        '[[concession]]\nrule = "pair/collar"\nreason = "bent"\nuntil = 2027-07-01\n'
        'build = "heron-quarry"\nwhere = "front.left"\n',
    )
    found.refuse()
    assert found.says.changes == {"pair/length": Change(same_within="1 mm")}
    first, second = found.says.concessions
    day = datetime.date
    assert first == Concession(rule="pair/parts", reason="spare", until=day(2027, 6, 30))
    given = {"rule": "pair/collar", "reason": "bent", "until": day(2027, 7, 1)}
    narrowed = Concession(**given, build="heron-quarry", where="front.left")
    assert second == narrowed.numbered(1)


def test_settings_that_are_no_plain_file_are_refused(tmp_path: Path) -> None:
    (tmp_path / SETTINGS).mkdir()
    assert refusals(tmp_path) == [f"{SETTINGS}:1:1: is not a file that can be read"]


@pytest.mark.parametrize("target", ["nothing", "buildlint.toml", "/dev/null"])
def test_settings_behind_a_link_to_no_file_are_refused(tmp_path: Path, target: str) -> None:
    (tmp_path / SETTINGS).symlink_to(target)
    assert refusals(tmp_path) == [f"{SETTINGS}:1:1: is not a file that can be read"]


def test_settings_outside_the_repository_are_not_read(tmp_path: Path) -> None:
    (tmp_path / "outside.toml").write_text("secret = = 1\n")
    root = tmp_path / "team"
    root.mkdir()
    (root / SETTINGS).symlink_to("../outside.toml")
    assert refusals(root) == [f"{SETTINGS}:1:1: is a link that leads out of the repository"]


LONG = "k" * 3000


@pytest.mark.parametrize(
    "text", [f"[change]\n{LONG} = 1", f"[change.{LONG}.{LONG}]\nleave_out = true"]
)
def test_a_message_is_short_however_long_an_id_is(tmp_path: Path, text: str) -> None:
    (tmp_path / SETTINGS).write_text(text)
    (line,) = refusals(tmp_path)
    assert len(line) < 300
    assert "kkkkkk" in line


GRANTED = 'rule = "pair/parts"\nreason = "spare"\nuntil = 2027-06-30\n'


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("chang = 1\n", '1:1: "chang" is not a key of the settings; did you mean change?'),
        (
            '"\\u001b[31m" = 1\n',
            '1:1: "\\x1b[31m" is not a key of the settings; '
            "the keys are change, judging, inspect and concession",
        ),
        ("change = 4\n", '1:1: change takes a heading for each rule: [change."pair/length"]'),
        ("[change.pair.length]\nleave_out = true\n", "1:2: write the id of the rule in quotes"),
        ("[change]\nx = 4\n", '2:1: a heading for each rule belongs here, such as [change."x"]'),
        (
            '\n[rules."pair/length"]\noff = true\n[rules."pair/parts"]\noff = true\n',
            '2:2: write [change."GROUP/NAME"] in the place of [rules."GROUP/NAME"], and '
            "leave_out = true in the place of off = true",
        ),
        (
            '[change."pair/length"]\noff = true\n',
            "2:1: write leave_out = true in the place of off = true",
        ),
        ("concession = 4\n", "1:1: each concession has a heading of its own: [[concession]]"),
        ("[[concession]]\n" + GRANTED + "whre = 1\n", '5:1: "whre" is not a key of a concession'),
        (
            "[[concession]]\n" + GRANTED + 'where = "boot"\n',
            '5:1: where is "front", "front.left", ',
        ),
        ("[[concession]]\n" + GRANTED + "build = 3\n", "5:1: build is text in quotes"),
        ("[[concession]]\n" + GRANTED + 'build = " "\n', "5:1: build is empty: text belongs here"),
        (
            "[[concession]]\n" + GRANTED.replace('"spare"', f'"{"x" * 2001}"'),
            "3:1: reason is too long: at most 2,000 characters",
        ),
        (
            "[[concession]]\n" + GRANTED.replace("2027-06-30", '"2027-06-30"'),
            "4:1: until is a date without quotes, such as 2027-06-30",
        ),
        (
            "[[concession]]\n" + GRANTED.replace("2027-06-30", "2027-06-30T12:00:00"),
            "4:1: until is a date without quotes",
        ),
    ],
)
def test_what_is_wrong_is_told_where_it_stands(tmp_path: Path, text: str, said: str) -> None:
    (tmp_path / SETTINGS).write_text(text)
    (refusal,) = refusals(tmp_path)
    assert refusal.startswith(f"{SETTINGS}:{said}")


@pytest.mark.parametrize("key", ["rule", "reason", "until"])
def test_a_concession_says_what_why_and_until_when(tmp_path: Path, key: str) -> None:
    lines = [line for line in GRANTED.splitlines() if not line.startswith(key)]
    (tmp_path / SETTINGS).write_text("\n".join(["[[concession]]", *lines]))
    assert refusals(tmp_path) == [f"{SETTINGS}:1:3: {key} is missing: every concession needs it"]


def test_all_mistakes_are_told_at_once_in_the_order_of_their_lines(tmp_path: Path) -> None:
    (tmp_path / SETTINGS).write_text("one = 1\n[[concession]]\n[[concession]]\nwhre = 1\n")
    places = [re.match(r"\D*(\d+):", line) for line in refusals(tmp_path)]
    lines = [int(place[1]) for place in places if place]
    assert lines == [1, 2, 2, 2, 3, 3, 3, 4]


def test_more_concessions_than_anyone_would_grant_are_refused(tmp_path: Path) -> None:
    (tmp_path / SETTINGS).write_text(("[[concession]]\n" + GRANTED) * 1_000)
    assert len(read_settings(tmp_path).says.concessions) == 1_000
    (tmp_path / SETTINGS).write_text(("[[concession]]\n" + GRANTED) * 1_001)
    (refusal,) = refusals(tmp_path)
    assert refusal.endswith("at most 1,000 concessions fit here")


def test_broken_settings_are_refused_with_their_place(tmp_path: Path) -> None:
    (tmp_path / SETTINGS).write_text("# one\nx = = 1\n")
    (refusal,) = refusals(tmp_path)
    assert re.fullmatch(r"buildlint\.toml:2:5: .+", refusal)


@pytest.mark.parametrize(
    ("data", "column"), [(b"\xff\xfe", 1), (b"x = '\xe9'", 6)], ids=["utf16", "latin"]
)
def test_settings_that_are_no_text_are_refused(tmp_path: Path, data: bytes, column: int) -> None:
    (tmp_path / SETTINGS).write_bytes(data)
    assert refusals(tmp_path) == [
        f"{SETTINGS}:1:{column}: is not text in UTF-8: save the file as UTF-8"
    ]


@pytest.mark.parametrize("data", [b"x = " + b"[" * 100_000, b"x = " + b"9" * 9_000])
def test_settings_that_no_one_would_write_are_refused(tmp_path: Path, data: bytes) -> None:
    (tmp_path / SETTINGS).write_bytes(data)
    (refusal,) = refusals(tmp_path)
    assert "has brackets inside brackets too deep, or a number with too many digits" in refusal


def test_large_settings_are_refused_by_their_size(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / SETTINGS
    path.write_bytes(b"#" * 1_000_000)
    read_settings(tmp_path).refuse()
    path.write_bytes(b"#" * 1_000_001)

    def never(self: Path) -> bytes:
        raise AssertionError(f"{self.name} was read")

    monkeypatch.setattr(Path, "read_bytes", never)
    assert refusals(tmp_path) == [f"{SETTINGS}:1:1: is larger than 1,000,000 bytes"]


def test_a_run_with_settings_that_cannot_be_followed_judges_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / SETTINGS).write_text('[change."pair/lenght"]\nleave_out = true\n')
    (tmp_path / "x.build.toml").write_text("")
    assert main(["inspect", str(tmp_path)]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1
    assert 'there is no rule "pair/lenght"; did you mean pair/length?' in err


# --- no more than anyone would write -------------------------------------------------------------


def test_mistakes_beyond_a_hundred_are_counted(tmp_path: Path) -> None:
    (tmp_path / SETTINGS).write_text("".join(f"zz{n} = 1\n" for n in range(100)))
    assert len(refusals(tmp_path)) == 100
    (tmp_path / SETTINGS).write_text("".join(f"zz{n} = 1\n" for n in range(102)))
    lines = refusals(tmp_path)
    assert len(lines) == 101
    assert lines[-1] == f"{SETTINGS}:1:1: 2 more mistakes: mend these first"


def test_more_changes_than_anyone_would_make_are_refused(tmp_path: Path) -> None:
    changes = [f'[change."x/{n}"]\nleave_out = true\n' for n in range(501)]
    (tmp_path / SETTINGS).write_text("".join(changes[:500]))
    assert len(read_settings(tmp_path).says.changes) == 500
    (tmp_path / SETTINGS).write_text("".join(changes))
    assert read_settings(tmp_path).says.changes == {}
    assert refusals(tmp_path) == [f"{SETTINGS}:1:2: at most 500 rules can be changed here"]


@pytest.mark.parametrize(("key", "longest"), [("rule", 200), ("build", 200), ("reason", 2_000)])
def test_a_text_of_a_concession_has_a_longest(tmp_path: Path, key: str, longest: int) -> None:
    texts = {"rule": "pair/parts", "reason": "spare"}
    for length, fits in ((longest, True), (longest + 1, False)):
        lines = {**texts, key: "x" * length}.items()
        text = "".join(f'{name} = "{value}"\n' for name, value in lines)
        (tmp_path / SETTINGS).write_text(f"[[concession]]\n{text}until = 2027-06-30\n")
        assert (not read_settings(tmp_path).mistakes) is fits


def test_a_reason_over_several_lines_is_one_line(tmp_path: Path) -> None:
    reason = '"""\nthe spare;\n  its twin is on order"""'
    (tmp_path / SETTINGS).write_text("[[concession]]\n" + GRANTED.replace('"spare"', reason))
    (leave,) = read_settings(tmp_path).says.concessions
    assert leave.reason == "the spare; its twin is on order"


def test_a_table_within_a_change_is_no_id_in_two_parts(tmp_path: Path) -> None:
    """It is a limit in a wrong form."""
    (tmp_path / SETTINGS).write_text('[change."pair/length"]\nbetween = {}\n')
    assert refusals(tmp_path) == [
        f'{SETTINGS}:2:1: between takes two limits, such as ["1 mm", "2 mm"]'
    ]


# --- how surely ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "sure"), [("", 0.95), ('sure = "99 %"', 0.99), ("sure = 0.9", 0.9)]
)
def test_the_chance_from_which_a_must_holds(tmp_path: Path, text: str, sure: float) -> None:
    found = written(tmp_path, f"[judging]\n{text}\n")
    found.refuse()
    assert found.says.judging.sure.value == pytest.approx(sure)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("judging = 4", '1:1: judging is a heading with the key sure: [judging] sure = "95 %"'),
        (
            '[judging]\nsuer = "99 %"',
            '2:1: "suer" is not a key of judging; did you mean sure?',
        ),
        ("[judging]\nx = 1", '2:1: "x" is not a key of judging; its only key is sure'),
        ('[judging]\nsure = "99 mm"', '2:1: "99 mm" is a length; a share belongs here'),
        ('[judging]\nsure = "50 %"', '2:1: "50 %" is out of range: this takes 80 % to 99.9 %'),
    ],
)
def test_what_is_no_such_chance_is_refused(tmp_path: Path, text: str, said: str) -> None:
    (tmp_path / SETTINGS).write_text(text)
    (refusal,) = refusals(tmp_path)
    assert refusal.startswith(f"{SETTINGS}:{said}")


# --- what is judged ------------------------------------------------------------------------------


def test_the_builds_that_are_passed_over(tmp_path: Path) -> None:
    found = written(tmp_path, '[inspect]\npass_over = ["builds/old/**", "*-test.build.toml"]\n')
    found.refuse()
    over = found.says.inspect.passes_over
    assert over("builds/old/2026/a.build.toml")
    assert over("deep/a-test.build.toml")
    assert not over("builds/older.build.toml")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("inspect = 4", "1:1: inspect is a heading with the key pass_over: "),
        (
            "[inspect]\npast = true",
            '2:1: "past" is not a key of inspect; its only key is pass_over',
        ),
        ('[inspect]\npass_over = "x"', "2:1: pass_over is a list of files in quotes, such as "),
        ('[inspect]\npass_over = ["", 4]', "2:1: pass_over is a list of files in quotes, such as "),
        (f"[inspect]\npass_over = {['x' * 201]}", "2:1: at most 100 files fit here, each of 200 "),
        (f"[inspect]\npass_over = {['x'] * 101}", "2:1: at most 100 files fit here, each of 200 "),
    ],
)
def test_what_is_no_such_list_is_refused(tmp_path: Path, text: str, said: str) -> None:
    (tmp_path / SETTINGS).write_text(text)
    (refusal,) = refusals(tmp_path)
    assert refusal.startswith(f"{SETTINGS}:{said}")


# --- made in Python ------------------------------------------------------------------------------


def test_settings_made_in_python_are_checked_as_the_file_would_be() -> None:
    leave = {"rule": "pair/parts", "reason": "a\nspare", "until": "2027-06-30"}
    made = Settings.model_validate({"concession": [leave, leave]})
    # without a file a date may have quotes, as in JSON
    assert [given.until for given in made.concessions] == [datetime.date(2027, 6, 30)] * 2
    assert [given.number for given in made.concessions] == [0, 1]
    assert made.concessions[0].reason == "a spare"
    assert Settings.model_validate_json(made.model_dump_json(by_alias=True)) == made
    with pytest.raises(ValidationError, match="until is a date without quotes"):
        Settings.model_validate({"concession": [{**leave, "until": "June"}]})
    with pytest.raises(ValidationError, match="frozen"):
        made.concessions = ()  # type: ignore[misc]


def nested(depth: int) -> Any:
    found: Any = {}
    for _ in range(depth):
        found = {"a": found}
    return found


@pytest.mark.parametrize(
    "given",
    [float("nan"), 7, None, b"x", object(), [], {}, [[]], [None], nested(100_000)],
    ids=["nan", "int", "none", "bytes", "object", "list", "dict", "lists", "nones", "deep"],
)
@pytest.mark.parametrize(
    "path",
    [
        (),
        ("rules",),
        ("rules", "pair/length"),
        ("change", "pair/length", "leave_out"),
        ("rules", "pair/length", "bands"),
        ("judging",),
        ("judging", "sure"),
        ("concession",),
    ],
    ids=".".join,
)
def test_whatever_stands_in_settings_is_taken_or_refused_and_no_more(
    path: tuple[str, ...], given: Any
) -> None:
    for key in reversed(path):
        given = {key: given}
    try:
        Settings.model_validate(given)
    except ValidationError as error:
        assert len(str(error)) < 5_000


@pytest.mark.whole
@pytest.mark.parametrize("line", ["zz{} = 1", '[change."x/{}"]', "[change.x.{}]\nleave_out = 1"])
def test_as_many_mistakes_as_fit_are_told_in_good_time(tmp_path: Path, line: str) -> None:
    text = "\n".join(line.format(number) for number in range(1_000_000 // (len(line) + 4)))
    (tmp_path / SETTINGS).write_text(text)
    began = time.monotonic()
    assert 1 <= len(refusals(tmp_path)) <= 101
    assert time.monotonic() - began < 30.0

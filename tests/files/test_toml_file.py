"""Settings and rules whose TOML is broken: told in the words that a team's files have for it."""

from __future__ import annotations

from pathlib import Path

import pytest

from buildlint.files.settings import read_settings
from buildlint.files.toml_file import read_toml
from buildlint.judging.rulebook import read_rule
from buildlint.text.errors import RulebookError, SettingsError


def refused(folder: Path, text: str | bytes) -> list[str]:
    """Give what is told of settings, each from its line on."""
    path = folder / "buildlint.toml"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    with pytest.raises(SettingsError) as caught:
        read_settings(folder)
    assert all(line.isprintable() for line in caught.value.mistakes)
    return [line.partition("buildlint.toml:")[2] for line in caught.value.mistakes]


@pytest.mark.parametrize(
    ("line", "told"),
    [
        (
            "until = 31.07.2027",
            "2:9: until: a date belongs here as year-month-day, such as 2027-06-12",
        ),
        ("until = 2027-06-31", "2:9: until: there is no such date as 2027-06-31"),
        ("reason = old shafts", '2:10: put text in straight quotes: reason = "old shafts"'),
        ("reason = “old shafts”", '2:10: put text in straight quotes: reason = "old shafts"'),
        ("at_most = 59 %", '2:11: put the reading in quotes: at_most = "59 %"'),
        ("at most = 5", "2:1: a key has no spaces: write at_most"),
        ('rule = "x', "2:10: cannot be read: a quote is opened and not closed on the line"),
        ('rule "x"', "2:6: cannot be read: a key is one word, then =, then its value"),
    ],
)
def test_broken_settings_are_told_in_plain_words(tmp_path: Path, line: str, told: str) -> None:
    assert refused(tmp_path, f"[[concession]]\n{line}\n") == [told]
    assert refused(tmp_path, f"\ufeff[[concession]]\r\n{line}\r\n") == [told]


def test_every_broken_line_is_told(tmp_path: Path) -> None:
    text = '[[concession]]\nreason = worn\nrule = "pair/length"\nuntil = 31.07.2027\n'
    assert [line.split(":")[:2] for line in refused(tmp_path, text)] == [["2", "10"], ["4", "9"]]


def test_a_broken_rule_is_told_in_the_same_words(tmp_path: Path) -> None:
    path = tmp_path / "short.toml"
    path.write_text('level = "must"\nat_most = 59 %\nat least = 3\n', encoding="utf-8")
    with pytest.raises(RulebookError) as caught:
        read_rule("own/short", path)
    assert [line.partition("short.toml:")[2] for line in caught.value.mistakes] == [
        '2:11: put the reading in quotes: at_most = "59 %"',
        "3:1: a key has no spaces: write at_least",
    ]


@pytest.mark.parametrize(
    "text",
    [
        "x = " + "[" * 50_000,
        "x = " + "9" * 5_000 + "\n= 1",
        "\x1b[31m = 1",
        "a = \x1b[31m",
        "x = '''",
        "\r",
        "a = 1\ra = 1",
    ],
)
def test_whatever_is_broken_is_told_shortly_and_steers_no_terminal(
    tmp_path: Path, text: str
) -> None:
    told = refused(tmp_path, text)
    assert 0 < len(told) <= 20
    assert all(len(line) < 300 for line in told)


def test_a_sound_file_is_given_with_its_bytes(tmp_path: Path) -> None:
    path = tmp_path / "x.toml"
    path.write_bytes(b"\xef\xbb\xbfa = 1\n")
    assert read_toml(path, 100, SettingsError) == (path.read_bytes(), {"a": 1})

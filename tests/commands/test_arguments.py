"""The arguments: help that fits a screen, with an example that works."""

from __future__ import annotations

import argparse
import importlib
import re
import shlex

import pytest

from buildlint.commands.arguments import SHELLS, parser
from buildlint.reports.schemas import SCHEMA_KINDS

SUB = next(a for a in parser()._actions if isinstance(a, argparse._SubParsersAction))
COMMANDS = dict(SUB.choices)


@pytest.fixture(autouse=True)
def _screen(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setenv("LINES", "24")
    monkeypatch.setenv("NO_COLOR", "1")


@pytest.mark.parametrize("name", ["", *COMMANDS])
def test_help_fits_a_screen(name: str) -> None:
    text = (COMMANDS[name] if name else parser()).format_help()
    lines = text.splitlines()
    assert len(lines) <= 24
    assert max(map(len, lines)) <= 80
    assert "example: buildlint " in text


@pytest.mark.parametrize("name", COMMANDS)
def test_every_example_can_be_read(name: str) -> None:
    """What the shell does with > and what follows is its own matter."""
    example = re.search(r"example: buildlint (.*)", COMMANDS[name].format_help())
    assert example is not None
    words = shlex.split(example[1].split(" >")[0])
    assert words[0] == name
    assert parser().parse_args(words).command == name


def test_every_command_is_a_function_that_is_offered() -> None:
    for name in COMMANDS:
        assert callable(importlib.import_module(f"buildlint.commands.{name}").run)


def test_the_help_names_what_there_is() -> None:
    kinds = re.findall(r"[a-z]+", COMMANDS["schema"].format_help())
    assert set(SCHEMA_KINDS) <= set(kinds)
    assert set(SHELLS) <= set(re.findall(r"[a-z]+", COMMANDS["complete"].format_help()))


@pytest.mark.parametrize(
    "given", ["yesterday", "2027-02-30", "12.6.2027", "20270612", "2027-W23-6", ""]
)
def test_a_day_that_is_none_is_told(given: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as caught:
        parser().parse_args(["inspect", "--on", given])
    assert caught.value.code == 2
    assert "a date is written year-month-day, such as 2027-06-12" in capsys.readouterr().err


@pytest.mark.parametrize("words", [["inspect", "--str"], ["inspect", "--at", "1"], ["--vers"]])
def test_half_an_option_is_none(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as caught:
        parser().parse_args(words)
    assert caught.value.code == 2
    assert capsys.readouterr().out == ""


def test_a_dash_is_no_file_to_write_to(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as caught:
        parser().parse_args(["inspect", "-o", "-"])
    assert caught.value.code == 2
    assert '"-" is no file: without -o the report is printed' in capsys.readouterr().err
    assert parser().parse_args(["inspect", "-o", "./-"]).output == "./-"

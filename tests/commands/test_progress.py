"""How far a long run is: told at a terminal only, not too soon, and wiped away at the end."""

from __future__ import annotations

import io

import pytest

from buildlint.commands import progress
from buildlint.commands.progress import Progress


class Stream(io.StringIO):
    def __init__(self, terminal: bool) -> None:
        super().__init__()
        self.terminal = terminal

    def isatty(self) -> bool:
        return self.terminal


class Clock:
    now = 100.0

    def monotonic(self) -> float:
        return self.now


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    monkeypatch.setenv("TERM", "xterm")
    found = Clock()
    monkeypatch.setattr(progress, "time", found)
    return found


def test_nothing_is_told_in_the_first_second(clock):
    stream = Stream(terminal=True)
    told = Progress(stream)
    clock.now = 100.99
    told(1, 2_000)
    told.close()
    assert stream.getvalue() == ""


def test_from_then_on_it_is_told_ten_times_a_second_at_most(clock):
    stream = Stream(terminal=True)
    told = Progress(stream)
    for clock.now, done in ((101.0, 1_000), (101.05, 1_050), (101.11, 1_100), (101.2, 1_150)):
        told(done, 2_000)
    assert stream.getvalue() == (
        "\r1,000 of 2,000 builds judged\x1b[K\r1,100 of 2,000 builds judged\x1b[K"
    )


def test_the_line_is_wiped_away_once(clock):
    stream = Stream(terminal=True)
    told = Progress(stream)
    clock.now = 102.0
    told(3, 4)
    told.close()
    told.close()
    assert stream.getvalue() == "\r3 of 4 builds judged\x1b[K\r\x1b[K"


def test_a_shorter_line_leaves_nothing_of_a_longer_one(clock):
    """A second repository counts anew: what is behind the shorter line is wiped away."""
    stream = Stream(terminal=True)
    told = Progress(stream)
    clock.now = 102.0
    told(1_999, 2_000)
    clock.now = 103.0
    told(0, 5)
    assert stream.getvalue().split("\r")[-1] == "0 of 5 builds judged\x1b[K"


@pytest.mark.parametrize(("terminal", "term"), [(False, "xterm"), (True, "dumb")])
def test_a_file_or_a_dumb_terminal_is_told_nothing(clock, monkeypatch, terminal, term):
    monkeypatch.setenv("TERM", term)
    stream = Stream(terminal)
    told = Progress(stream)
    clock.now = 200.0
    told(1, 2)
    told.close()
    assert stream.getvalue() == ""


def test_it_is_told_beside_the_report(clock, monkeypatch):
    stream = Stream(terminal=True)
    monkeypatch.setattr("sys.stderr", stream)
    told = Progress()
    clock.now = 102.0
    told(1, 2)
    assert stream.getvalue() == "\r1 of 2 builds judged\x1b[K"

"""One team inspected: what is told of builds and files, and what is let go among many."""

from __future__ import annotations

import datetime
import re
from pathlib import Path

import pytest

from buildlint.inspection import inspect
from tests.bench.season import season

DAY = datetime.date(2027, 6, 5)
LEAVE = """
[[concession]]
rule = "pair/{}"
reason = "tried on purpose"
until = 2027-06-30
"""


def _season(folder: Path, builds: int, settings: str = "") -> list[Path]:
    season(folder, builds)
    (folder / "buildlint.toml").write_text(settings, "utf-8")
    return sorted((folder / "builds").rglob("*.toml"))


def _hold_back_of_both(path: Path, value: str) -> None:
    """More than is usual for a body of this length, on both sides of the front."""
    head, front, rear = re.split(r"(?=^\[front\]|^\[rear\])", path.read_text("utf-8"), flags=re.M)
    front = re.sub(r'hold_back = ".*"', f'hold_back = "{value}"', front)
    path.write_text(head + front + rear, "utf-8")


def _spoil(path: Path) -> None:
    path.write_text(path.read_text("utf-8").replace(" mm", " mn", 1), "utf-8")


@pytest.mark.parametrize("builds", [3, 30])
def test_a_mistake_in_one_of_few_and_of_many_builds_is_told(tmp_path, builds):
    files = _season(tmp_path, builds)
    _spoil(files[1])
    found = inspect(tmp_path, on=DAY)
    assert [(f.path, f.rule) for f in found.in_files] == [(files[1], "file/unknown-unit")]
    assert [b.waits for b in found.builds] == [n == 1 for n in range(builds)]


def test_a_mistake_in_a_file_that_no_one_asked_for_is_not_told(tmp_path):
    files = _season(tmp_path, 3)
    _spoil(files[1])
    assert inspect(files[0], on=DAY).in_files == []


def test_the_dampers_of_one_of_many_are_made_again(tmp_path):
    _season(tmp_path, 20)
    found = inspect(tmp_path, on=DAY)
    wrong = [b for b in found.builds if any(f.verdict == "fails" for f in b.findings)]
    assert wrong
    for judged in wrong:
        (alone,) = inspect(judged.path, on=DAY).builds
        assert judged.dampers == alone.dampers and len(judged.dampers) == 4


def test_concessions_are_of_use_to_many_builds_as_to_each(tmp_path):
    rules = ("length", "hold-back", "rebound", "parts")
    _season(tmp_path, 40, "".join(map(LEAVE.format, rules)))
    found = inspect(tmp_path, on=DAY)
    conceded = {f.rule for b in found.builds for f in b.findings if f.concession}
    unused = [f for f in found.in_files if f.rule == "file/concession-unused"]
    assert conceded and len(unused) == len(rules) - len(conceded)


def test_progress_is_told_and_changes_nothing(tmp_path):
    _season(tmp_path, 20)
    seen: list[tuple[int, int]] = []
    told = inspect(tmp_path, on=DAY, progress=lambda done, of: seen.append((done, of)))
    assert seen and all(of == 20 for _, of in seen)
    assert told.findings == inspect(tmp_path, on=DAY).findings


def test_what_is_found_of_many_is_what_is_found_of_each_but_for_cures(tmp_path):
    """Of many builds no cure is looked for: a report of one build by itself has them."""
    files = _season(tmp_path, 20)
    _hold_back_of_both(files[3], "10 mm")
    found = inspect(tmp_path, on=DAY)
    assert not any(f.cure_figures for f in found.findings)
    cured = 0
    for judged in found.builds:
        (alone,) = inspect(judged.path, on=DAY).builds
        assert alone.findings == judged.findings
        assert sorted(alone.held) == sorted(judged.held)
        assert alone.counts == judged.counts
        cured += any(f.cure_figures for f in alone.findings)
    assert cured

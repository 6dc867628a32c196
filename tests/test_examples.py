"""The examples: the Saltmarsh team passes, each bad build fails with the report beside it."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from buildlint.commands.cli import main
from buildlint.reports.finding_text import MOST_LINES
from tests.make_reports import DAY, EXAMPLES, builds, report_beside


def run(build: Path, capsys: pytest.CaptureFixture[str], *more: str) -> tuple[int, str]:
    before = Path.cwd()
    os.chdir(build.parent)
    try:
        code = main(["inspect", build.name, "--on", DAY.isoformat(), *more])
    finally:
        os.chdir(before)
    return code, capsys.readouterr().out


def test_the_saltmarsh_team_passes(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["inspect", str(EXAMPLES / "saltmarsh"), "--should-too"]) == 0
    report = capsys.readouterr().out
    assert "4 builds judged: all sound." in report


def test_the_team_has_what_the_design_asks() -> None:
    team = EXAMPLES / "saltmarsh"
    assert len(list(team.rglob("*.car.toml"))) == 3
    assert len(list(team.rglob("*.parts.toml"))) == 1
    assert len(list(team.rglob("*.event.toml"))) == 3
    assert len(list(team.rglob("*.build.toml"))) >= 4


@pytest.mark.parametrize("build", builds(), ids=lambda p: f"{p.parent.name}/{p.name}")
def test_report_is_the_one_beside_it(build: Path, capsys: pytest.CaptureFixture[str]) -> None:
    _, report = run(build, capsys)
    beside = report_beside(build)
    told = "python tests/make_reports.py --write, and read what it changed"
    assert beside.exists(), told
    assert report == beside.read_text(encoding="utf-8"), told


@pytest.mark.parametrize("report", sorted(EXAMPLES.rglob("*.report.txt")), ids=lambda p: p.name)
def test_a_finding_has_at_most_six_lines(report: Path) -> None:
    blocks = report.read_text(encoding="utf-8").split("\n\n")
    found = [b for b in blocks if b.startswith(("must fails", "should fails", "borderline"))]
    assert all(len(block.splitlines()) <= MOST_LINES for block in found)


@pytest.mark.parametrize(
    "build", [b for b in builds() if b.parent.name == "bad"], ids=lambda p: p.name
)
def test_bad_build_is_refused(build: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, _ = run(build, capsys)
    assert code == 1


@pytest.mark.parametrize(
    "build", [b for b in builds() if b.parent.name == "should"], ids=lambda p: p.name
)
def test_build_that_should_be_better_is_refused_only_with_should_too(
    build: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(build, capsys)[0] == 0
    assert run(build, capsys, "--should-too")[0] == 1


def test_every_report_belongs_to_a_build() -> None:
    reports = set(EXAMPLES.rglob("*.report.txt"))
    assert reports == {report_beside(build) for build in builds()}

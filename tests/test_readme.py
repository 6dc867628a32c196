"""The README: what it shows is what the tool prints, and its commands are those that CI runs."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from datetime import date
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import pytest

from buildlint import inspect_team
from buildlint.commands.cli import main
from buildlint.files.models import KINDS
from buildlint.reports.schemas import schema
from tests.make_readme import PAGES, README, made
from tests.making import build_path, repository
from tests.test_layers import ROOMS

TEXT = README.read_text(encoding="utf-8")
PYTHON_PAGE = (README.parent / "buildlint" / "README.md").read_text(encoding="utf-8")
PYTHON = re.findall(r"```python\n(.*?)```", TEXT, re.DOTALL)

# What each command is tried on, so that between them all that it can print is printed.
_BUILDS = "examples/saltmarsh/builds"
JSON_COMMANDS = {
    "inspect": [
        ["examples/bad", "examples/should", "examples/saltmarsh", "--on", "2027-06-05"],
        # what would mend it is told of few builds only
        ["examples/bad/bladder.into-body-room.build.toml"],
    ],
    "figures": [
        ["examples/should/pair.rebound.conceded.build.toml"],
        ["examples/bad/bladder.into-body-room.build.toml"],
    ],
    "rulebook": [[]],
    "compare": [
        [f"{_BUILDS}/heron-estuary.build.toml", f"{_BUILDS}/heron-quarry.build.toml"],
        [f"{_BUILDS}/heron-quarry.build.toml", "examples/bad/file.unknown-unit.build.toml"],
        ["examples/bad/file.unknown-unit.build.toml", f"{_BUILDS}/heron-quarry.build.toml"],
    ],
    "labels": [[f"{_BUILDS}/heron-quarry.build.toml"]],
    "prepare": [
        ["examples/saltmarsh/events/estuary-finale.event.toml"],
        ["examples/should/flown.event.toml"],
    ],
}
# What holds no fixed keys, or is told in words in its row.
_OPEN = {
    "findings.limit",
    "findings.sides.left",
    "findings.sides.right",
    "rules.asks",
    "rules.bands.asks",
    "rules.only",
}
_SHAPES = {"at_least", "at_most", "same_within", "as_planned_within", "one_of", "is"}


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.parent.name)
def test_what_a_page_shows_is_what_the_tool_prints(page: Path) -> None:
    text = page.read_text(encoding="utf-8")
    assert made(text) == text, "python tests/make_readme.py --write, and read what it changed"


def test_it_is_short_and_its_links_lead_somewhere() -> None:
    assert TEXT.count("\n") < 300
    for page in PAGES:
        for link in re.findall(r"\]\((?!https:)([^)#]+)", page.read_text(encoding="utf-8")):
            assert (page.parent / link).exists(), f"{page}: {link}"


def test_its_test_command_is_what_ci_runs() -> None:
    command = re.findall(r"```sh\n(.*?)\n```", TEXT, re.DOTALL)[1]
    ci = (Path(README).parent / ".ci" / "run").read_text(encoding="utf-8")
    assert "pytest" in command
    assert command in ci.splitlines()


def test_the_top_level_is_what_it_should_be() -> None:
    allowed = {"README.md", "DEVELOPERS.md", "pyproject.toml", "buildlint", "rules", "tests"}
    allowed |= {"examples"}
    passing = {"build", "dist"}
    there = {p.name for p in README.parent.iterdir() if not p.name.startswith(".")}
    assert {n for n in there if not n.endswith(".egg-info")} - passing == allowed


def test_its_small_team_can_be_copied_and_passes(tmp_path: Path) -> None:
    files = re.findall(
        r"`([a-z0-9-]+\.(?:parts|car|event|build)\.toml)`:\n\n```toml\n(.*?)```", TEXT, re.DOTALL
    )
    assert len(files) == 4
    for name, text in files:
        (tmp_path / name).write_text(text, encoding="utf-8")
    found = inspect_team([tmp_path])
    assert found.counts.builds == 1
    assert [f for f in found.findings if f.verdict == "fails"] == []


def test_the_developers_page_is_short_and_has_every_room_and_no_path_that_is_gone() -> None:
    root = README.parent
    page = (root / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert page.count("\n") <= 150
    assert all(f"| `{room}/` |" in page for room in ROOMS)
    folders = "|".join((*ROOMS, "tests", "rules"))
    named = re.findall(rf"`((?:{folders})/[\w/-]+\.(?:py|toml))`", page)
    assert len(named) > 15
    for name in named:
        assert (root / name).is_file() or (root / "buildlint" / name).is_file(), name


# --- the JSON ------------------------------------------------------------------------------------


def _printed(node: Any, path: str = "") -> set[tuple[str, str]]:
    """Give every key that stands in a document, with what it stands in."""
    if isinstance(node, list):
        return {pair for each in node for pair in _printed(each, path)}
    if not isinstance(node, dict) or path in _OPEN:
        return set()
    found = {(path, key) for key in node}
    for key, value in node.items():
        found |= _printed(value, f"{path}.{key}".lstrip("."))
    return found


def _told(command: str) -> list[tuple[str, str]]:
    """Give every key of the table of a command, with what it is said to stand in."""
    table = re.search(rf"`buildlint {command}\b[^`]* --as json`:\n\n((?:\|.*\n)+)", PYTHON_PAGE)
    assert table is not None
    found, homes = [], [""]
    for row in table[1].splitlines()[2:]:
        cells = row.strip("|").split("|")
        homes = re.findall(r"`([^`]+)`", cells[0]) or homes
        found += [(home, key) for home in homes for key in re.findall(r"`([^`]+)`", cells[1])]
    if command != "inspect" and ("", "rules_changed") in found:
        # "as of `inspect`"
        found += [pair for pair in _told("inspect") if pair[0] == "rules_changed"]
    return found


@pytest.mark.parametrize("command", JSON_COMMANDS)
def test_its_table_has_every_key_that_is_printed_and_no_other(
    command: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(README.parent)
    printed: set[tuple[str, str]] = set()
    for words in JSON_COMMANDS[command]:
        if command == "rulebook":
            monkeypatch.chdir(README.parent / "examples/saltmarsh")
        assert main([command, *words, "--as", "json"]) < 2
        printed |= _printed(json.loads(capsys.readouterr().out))
    told = _told(command)
    assert len(told) == len(set(told))
    assert set(told) == printed


def test_the_shapes_of_a_limit_are_told() -> None:
    row = next(
        row for row in PYTHON_PAGE.splitlines() if row.startswith("| | `limit` | What is asked")
    )
    assert set(re.findall(r"`([a-z_]+)`", row)) >= _SHAPES
    found = inspect_team([README.parent / "examples"], on=date(2027, 6, 5)).findings
    assert {key for finding in found for key in finding.limit} <= _SHAPES


def test_lines_are_of_the_form_that_it_gives(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert "`FILE:LINE:COL: WHAT: [SUBJECT: ]MESSAGE; rule RULE`" in PYTHON_PAGE
    monkeypatch.chdir(README.parent)
    main(["inspect", "examples", "--as", "lines", "--on", "2027-06-05"])
    form = re.compile(
        r"[^:]+:\d+:\d+: "
        r"(fails(?: \(should\))?|borderline|conceded until [\d-]{10}|rule changed): "
        r"(?:(?:(?:front|rear)(?:\.(?:left|right))?|car): )?.+?; rule [a-z/-]+(; conceded: .*)?"
    )
    lines = capsys.readouterr().out.splitlines()
    whats = set()
    for line in lines:
        found = form.fullmatch(line)
        assert found is not None, line
        whats.add(found[1].split(" until ")[0])
    assert whats >= {"fails", "fails (should)", "borderline", "conceded"}


# --- Python --------------------------------------------------------------------------------------


@pytest.mark.newest
@pytest.mark.whole
@pytest.mark.parametrize("number", range(len(PYTHON)))
def test_its_python_examples_are_soundly_typed(number: int, tmp_path: Path) -> None:
    if find_spec("mypy") is None:
        pytest.skip("mypy is not installed: it is in the test extra")
    script = tmp_path / "example.py"
    script.write_text(PYTHON[number], encoding="utf-8")
    ran = subprocess.run(
        [sys.executable, "-m", "mypy", "--strict", "--cache-dir", tmp_path / "cache", script],
        cwd=README.parent,
        env={**os.environ, "MYPYPATH": str(README.parent)},
        capture_output=True,
        text=True,
    )
    assert ran.returncode == 0, ran.stdout + ran.stderr


# --- exit codes ----------------------------------------------------------------------------------

OTHERS = pytest.mark.parametrize("command", ["figures", "labels", "compare", "sheet"])


def _code(command: str, build: Path, *words: str) -> int:
    other = [str(build)] if command == "compare" else []
    return main([command, *other, str(build), *words])


@OTHERS
@pytest.mark.parametrize(
    ("build", "code"),
    [("bladder.into-body-room", 0), ("file.unknown-unit", 1), ("file.not-toml", 1)],
)
def test_other_commands_fail_no_build_but_tell_of_mistakes(
    command: str, build: str, code: int, capsys: pytest.CaptureFixture[str]
) -> None:
    path = README.parent / "examples/bad" / f"{build}.build.toml"
    assert _code(command, path) == code
    captured = capsys.readouterr()
    assert captured.out
    assert bool(captured.err) == bool(code)


@OTHERS
def test_a_mistake_beside_what_is_used_is_told_too(
    command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    root = repository(tmp_path, parts={"spring.spare.rate": "5 mm"})
    assert _code(command, build_path(root)) == 1
    assert "drawers.parts.toml" in capsys.readouterr().err


@OTHERS
def test_at_2_an_older_report_stays_as_it_was(
    command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    root, report = repository(tmp_path / "team"), tmp_path / "report"
    report.write_text("older", encoding="utf-8")
    assert _code(command, root / "none.build.toml", "-o", str(report)) == 2
    (root / "buildlint.toml").write_text('[change."none"]\nleave_out = true\n', encoding="utf-8")
    assert _code(command, build_path(root), "-o", str(report)) == 2
    assert capsys.readouterr().out == ""
    assert report.read_text(encoding="utf-8") == "older"
    assert set(tmp_path.iterdir()) == {root, report}


def test_the_page_of_the_examples_has_every_key_of_every_file() -> None:
    page = (README.parent / "examples" / "README.md").read_text(encoding="utf-8")
    for kind in KINDS:
        of_file = schema(kind)
        tables = list(of_file.get("$defs", {}).values())
        tables += [of_file] if kind != "parts" else []
        keys = {key for table in tables for key in table["properties"]}
        assert keys and all(f"| `{key}`" in page for key in keys), kind

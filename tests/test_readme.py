"""The README: what it shows is what the tool prints, and its commands are those that CI runs."""

from __future__ import annotations

import re
from pathlib import Path
from typing import get_args

from buildlint import inspect
from buildlint.files.models import KINDS, PART_KINDS, Bench, CarEnd, Corner, Parts
from buildlint.files.tables import fields_of
from tests.make_readme import README, made

TEXT = README.read_text(encoding="utf-8")


def test_what_it_shows_is_what_the_tool_prints() -> None:
    assert made(TEXT) == TEXT, "python tests/make_readme.py --write, and read what it changed"


def test_its_test_command_is_what_ci_runs() -> None:
    command = re.findall(r"```sh\n(.*?)\n```", TEXT, re.DOTALL)[1]
    ci = (Path(README).parent / ".ci" / "run").read_text(encoding="utf-8")
    assert "pytest" in command
    assert command in ci.splitlines()


def test_it_names_every_key_of_every_file() -> None:
    parts = [get_args(fields_of(Parts)[kind].takes)[1] for kind in PART_KINDS]
    files = [model for kind, model in KINDS.items() if kind != "parts"]
    names = {
        field.key
        for model in [*files, *parts, Bench, Corner, CarEnd]
        for field in fields_of(model).values()
    }
    assert len(names) > 50
    tables = {"front", "rear", "bench", "second", "cup", "blend"}
    missing = {n for n in names - tables if f"`{n}`" not in TEXT}
    assert not missing
    for table in tables:
        assert f"[{table}]" in TEXT or f"`{table} = {{" in TEXT


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
    found = inspect([tmp_path])
    assert found.counts.builds == 1
    assert [f for f in found.findings if f.verdict == "fails"] == []


def test_every_module_stands_on_the_developers_map() -> None:
    root = README.parent
    page = (root / "DEVELOPERS.md").read_text(encoding="utf-8")
    modules = {
        path.name
        for path in (root / "buildlint").rglob("*.py")
        if not path.name.startswith("_") and not {"physics", "sheet"} & set(path.parts)
    }
    assert len(modules) > 50
    assert {name for name in modules if name not in page} == set()

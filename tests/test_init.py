"""The package as a script imports it: every name that is offered, and none that is not."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

import buildlint

pytestmark = pytest.mark.whole

OFFERED = [name for name in buildlint.__all__ if not name.startswith("_")]
FOLDER = Path(buildlint.__file__).parent


@pytest.mark.parametrize("name", buildlint.__all__)
def test_every_name_that_is_offered_is_there(name: str) -> None:
    assert getattr(buildlint, name) is not None
    assert name in dir(buildlint)


def test_a_name_that_is_not_there_is_told() -> None:
    with pytest.raises(AttributeError, match="has no attribute 'inspekt'"):
        buildlint.inspekt  # noqa: B018


def _checked(folder: Path, *names: str) -> tuple[int, str]:
    """Give the exit code and the words of a strict type checker on a script of two lines."""
    script = f"from buildlint import {', '.join(names)}\nprint({', '.join(names)})\n"
    (folder / "script.py").write_text(script, encoding="utf-8")
    words = ["--strict", "--config-file=", "--no-incremental", "script.py"]
    done = subprocess.run(
        [sys.executable, "-m", "mypy", *words],
        cwd=folder,
        env={**os.environ, "MYPYPATH": str(Path(buildlint.__file__).parent.parent)},
        capture_output=True,
        text=True,
        check=False,
    )
    return done.returncode, done.stdout + done.stderr


@pytest.mark.newest
def test_a_type_checker_knows_which_names_there_are(tmp_path: Path) -> None:
    pytest.importorskip("mypy")
    code, said = _checked(tmp_path, "inspekt")
    assert 'script.py:1: error: Module "buildlint" has no attribute "inspekt"' in said
    assert code == 1
    code, said = _checked(tmp_path, *buildlint.__all__)
    assert code == 0, said


@pytest.mark.parametrize("name", OFFERED)
def test_what_is_offered_is_there(name: str) -> None:
    found = getattr(buildlint, name)
    assert found.__name__ == name
    assert found.__module__.startswith("buildlint.")
    assert found.__doc__


def test_it_says_what_it_offers() -> None:
    assert set(OFFERED) <= set(dir(buildlint))
    types = {
        "BuildFigures Comparison Counts Cure CureFigure FigureLine Finding Inspection Judged Rule",
        "Rulebook Team compare figures inspect_build inspect_team labels",
    }
    assert {name for names in types for name in names.split()} <= set(OFFERED)


@pytest.mark.parametrize("name", OFFERED)
def test_no_module_goes_by_the_same_name(name: str) -> None:
    """It would stand in the place of what is meant, once it is loaded."""
    assert not (FOLDER / f"{name}.py").exists()
    assert not (FOLDER / name).exists()


def test_what_is_offered_stays_so_whatever_is_loaded() -> None:
    code = (
        "import importlib, pkgutil, buildlint\n"
        "for m in pkgutil.walk_packages(buildlint.__path__, 'buildlint.'):\n"
        "    if m.name != 'buildlint.__main__' and '.sheet' not in m.name:\n"
        "        importlib.import_module(m.name)\n"
        "for name in buildlint.__all__:\n"
        "    assert not hasattr(getattr(buildlint, name), '__path__'), name\n"
        "    assert type(getattr(buildlint, name)).__name__ != 'module', name\n"
    )
    subprocess.run([sys.executable, "-c", code], check=True, cwd=FOLDER.parent)


def test_importing_it_loads_nothing_else_of_it() -> None:
    code = (
        "import sys, buildlint\n"
        "print(*(m for m in sys.modules if m.startswith(('buildlint.', 'pydantic', 'tomli'))))"
    )
    ran = subprocess.run(
        [sys.executable, "-c", code], check=True, cwd=FOLDER.parent, capture_output=True, text=True
    )
    assert ran.stdout.strip() == ""

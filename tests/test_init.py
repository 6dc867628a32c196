"""The package as a script imports it: every name that is offered, and none that is not."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

import buildlint


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


def test_a_type_checker_knows_which_names_there_are(tmp_path: Path) -> None:
    pytest.importorskip("mypy")
    code, said = _checked(tmp_path, "inspekt")
    assert 'script.py:1: error: Module "buildlint" has no attribute "inspekt"' in said
    assert code == 1
    code, said = _checked(tmp_path, *buildlint.__all__)
    assert code == 0, said

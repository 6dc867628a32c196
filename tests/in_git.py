"""A git of the tests' own: no settings of whoever runs them, nothing above their folders."""

import os
import subprocess
from pathlib import Path

import pytest

__all__ = ["git", "own_git"]


@pytest.fixture(autouse=True)
def own_git(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """No settings of whoever runs the tests, no repository above the test's own folder."""
    for name in list(os.environ):
        if name.startswith(("GIT_", "PRE_COMMIT_")):
            monkeypatch.delenv(name)
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", os.devnull)
    monkeypatch.setenv("GIT_CONFIG_NOSYSTEM", "1")
    monkeypatch.setenv("GIT_CEILING_DIRECTORIES", str(tmp_path.resolve()))


def git(folder: Path, *words: str) -> str:
    who = ("-c", "user.name=bench", "-c", "user.email=bench@example.invalid")
    done = subprocess.run(
        ["git", *who, *words], cwd=folder, check=True, capture_output=True, text=True
    )
    return done.stdout.strip()

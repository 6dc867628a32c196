"""The page about Python: its examples run, and type checkers have nothing against them."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = [pytest.mark.whole, pytest.mark.newest]

ROOT = Path(__file__).resolve().parents[1]
BLOCKS = re.findall(r"```python\n(.*?)```", (ROOT / "buildlint" / "README.md").read_text(), re.S)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with the examples, where what an example writes does no harm."""
    (tmp_path / "examples").symlink_to(ROOT / "examples")
    for number, block in enumerate(BLOCKS):
        (tmp_path / f"example_{number}.py").write_text(block)
    return tmp_path


def run(*command: str, cwd: Path) -> str:
    done = subprocess.run(command, cwd=cwd, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


@pytest.mark.parametrize("number", range(len(BLOCKS)))
def test_each_example_runs(folder: Path, number: int) -> None:
    run(sys.executable, "-W", "error", f"example_{number}.py", cwd=folder)


def test_the_build_in_memory_is_told_by_its_keys(folder: Path) -> None:
    assert "front.hold_back" in run(sys.executable, "example_1.py", cwd=folder)


def test_a_web_service_names_the_key(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    fastapi = pytest.importorskip("fastapi.testclient")
    monkeypatch.chdir(folder)
    scope: dict[str, object] = {}
    exec(BLOCKS[-1], scope)
    client = fastapi.TestClient(scope["app"])
    team = scope["team"]
    build = team.builds["heron-quarry"].as_table()  # type: ignore[attr-defined]
    assert client.post("/builds", json=build).json()["passes"] is True
    build["front"]["left"]["hold_back"] = "6.4"
    (error,) = client.post("/builds", json=build).json()["detail"]
    assert error["loc"] == ["body", "front", "left", "hold_back"]
    assert "has no unit" in error["msg"]


def test_type_checkers_have_nothing_against_them(folder: Path) -> None:
    examples = [f"example_{number}.py" for number in range(len(BLOCKS))]
    run(sys.executable, "-m", "mypy", "--strict", *examples, cwd=folder)


def test_pyright_in_its_strict_mode_has_nothing_against_them(folder: Path) -> None:
    pytest.importorskip("pyright")
    (folder / "pyrightconfig.json").write_text('{"typeCheckingMode": "strict"}')
    run(sys.executable, "-m", "pyright", "--pythonpath", sys.executable, cwd=folder)

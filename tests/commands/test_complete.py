"""Completion in a shell, tried in a real one."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

from buildlint.commands.arguments import SHELLS
from buildlint.commands.complete import completion

BASH = shutil.which("bash")


def completed(folder: Path, *words: str) -> set[str]:
    """Give what bash offers for the last of these words."""
    script = folder / "completion"
    script.write_text(completion("bash"), encoding="utf-8")
    line = " ".join(words)
    asked = f"""
        source {script}
        handler=$(complete -p buildlint | sed 's/.*-F \\([^ ]*\\).*/\\1/')
        COMP_WORDS=({" ".join(f"'{word}'" for word in words)})
        COMP_CWORD={len(words) - 1}
        COMP_LINE='{line}'
        COMP_POINT={len(line)}
        $handler
        printf '%s\\n' "${{COMPREPLY[@]}}"
    """
    assert BASH is not None
    done = subprocess.run(
        [BASH, "--norc", "-c", asked], cwd=folder, capture_output=True, text=True, check=False
    )
    assert done.stderr == ""
    return set(done.stdout.split())


@pytest.mark.skipif(BASH is None, reason="there is no bash")
@pytest.mark.parametrize(
    ("words", "offered"),
    [
        (("buildlint", "insp"), {"inspect"}),
        (("buildlint", "inspect", "--sh"), {"--should-too"}),
        (("buildlint", "schema", "ev"), {"event"}),
        (("buildlint", "rulebook", "hold-back/i"), {"hold-back/in-stroke"}),
        (("buildlint", "inspect", "heron-q"), {"heron-quarry", "heron-quarry.build.toml"}),
        (("buildlint", "labels", "wren"), {"wren-hill"}),
        (("buildlint", "prepare", "hi"), {"hill"}),
        (("buildlint", "adapt", "wren-hill", "hi"), {"hill"}),
        (("buildlint", "begin", "so"), {"somewhere"}),
    ],
)
def test_bash_offers(tmp_path: Path, words: tuple[str, ...], offered: set[str]) -> None:
    (tmp_path / "heron-quarry.build.toml").touch()
    (tmp_path / "somewhere").mkdir()
    for name in ("wren-hill.build.toml", "hill.event.toml", "$(touch gone).event.toml"):
        (tmp_path / "somewhere" / name).touch()
    assert completed(tmp_path, *words) == offered
    assert not (tmp_path / "gone").exists()


@pytest.mark.parametrize("shell", SHELLS)
def test_every_shell_that_is_offered_has_one(shell: str) -> None:
    text = completion(shell)
    assert all(word in text for word in ("inspect", "--should-too", "begin", "pair/length"))


@pytest.mark.parametrize("shell", SHELLS)
def test_it_says_in_two_lines_what_it_is_and_how_to_make_it_anew(shell: str) -> None:
    lines = completion(shell).splitlines()
    if shell == "zsh":
        assert lines.pop(0) == "#compdef buildlint"  # by this line zsh knows whose it is
    code = next(n for n, line in enumerate(lines) if not line.startswith("#"))
    assert code == 2
    assert f"`buildlint complete {shell}`" in lines[1]
    assert "AUTOMATICALLY" not in completion(shell)

"""The rules as data: which files are rules, in what order, and where they lie."""

from __future__ import annotations

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

import buildlint.judging.rulebook as rulebook
from buildlint.judging.rulebook import (
    Rulebook,
    check_rulebook,
    load_rulebook,
    read_rule,
    shipped_rules,
)
from buildlint.text.errors import RulebookError

SOUND = """\
title = "The hold-back is a little"
level = "should"
measure = "hold_back"
at_most = "10 mm"
source = "ours, not published"
why = "Because."
cure = "Less of it."
"""


def one(folder: Path, text: str, ident: str = "team/one"):
    """Load a folder that holds one rule, and give it."""
    path = folder / f"{ident}.toml"
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return load_rulebook(folder)[ident]


def test_rules_come_in_the_order_of_their_ids(tmp_path):
    for ident in ("pair/b", "pair/a", "bench/z"):
        one(tmp_path, SOUND, ident)
    book = load_rulebook(tmp_path)
    assert [rule.id for rule in book] == ["bench/z", "pair/a", "pair/b"]
    assert len(book) == 3
    assert [rule.id for rule in book.measured()] == ["bench/z", "pair/a", "pair/b"]
    with pytest.raises(KeyError):
        book["pair/c"]


def test_every_mistake_of_every_rule_is_told_at_once(tmp_path):
    (tmp_path / "a").mkdir()
    (tmp_path / "a" / "one.toml").write_text('level = "x"\nmeasure = "y"\n', encoding="utf-8")
    (tmp_path / "a" / "two.toml").write_text("= broken\n", encoding="utf-8")
    with pytest.raises(RulebookError) as caught:
        load_rulebook(tmp_path)
    said = caught.value.mistakes
    # title, source, why, cure, level, measure, no ask; and the broken file
    assert sum("one.toml:" in line for line in said) == 7
    assert sum("two.toml:1:" in line for line in said) == 1


def test_a_folder_without_rules_is_no_rulebook(tmp_path):
    with pytest.raises(RulebookError, match="holds no rules"):
        load_rulebook(tmp_path)
    with pytest.raises(RulebookError, match="holds no rules"):
        load_rulebook(tmp_path / "nowhere")


def test_in_a_checkout_the_rules_stand_beside_the_package():
    root = Path(rulebook.__file__).parent.parent.parent
    assert shipped_rules() == root / "rules"
    assert len(load_rulebook()) >= 35


def test_in_a_wheel_the_rules_lie_inside_the_package(tmp_path, monkeypatch):
    """The folder inside wins over one beside it."""
    inside = tmp_path / "buildlint" / "rules"
    (inside / "team").mkdir(parents=True)
    (inside / "team" / "one.toml").write_text(SOUND, encoding="utf-8")
    (tmp_path / "rules").mkdir()
    monkeypatch.setattr(
        rulebook, "__file__", str(tmp_path / "buildlint" / "judging" / "rulebook.py")
    )
    assert shipped_rules() == inside
    assert [rule.id for rule in load_rulebook()] == ["team/one"]


def test_where_there_are_none_that_is_said(tmp_path, monkeypatch):
    monkeypatch.setattr(
        rulebook, "__file__", str(tmp_path / "buildlint" / "judging" / "rulebook.py")
    )
    with pytest.raises(RulebookError, match="the rules are missing"):
        load_rulebook()


def test_a_package_laid_out_as_a_wheel_finds_its_rules(tmp_path):
    """A copy of the package with rules/ inside, from a zip as an installer unpacks it."""
    root = Path(rulebook.__file__).parent.parent.parent
    archive = tmp_path / "wheel.zip"
    with zipfile.ZipFile(archive, "w") as wheel:
        for path in (root / "buildlint").rglob("*.py"):
            wheel.write(path, path.relative_to(root))
        for path in (root / "rules").rglob("*.toml"):
            wheel.write(path, Path("buildlint") / path.relative_to(root))
    installed = tmp_path / "installed"
    zipfile.ZipFile(archive).extractall(installed)
    code = "from buildlint.judging.rulebook import *; print(len(load_rulebook()), shipped_rules())"
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=installed,
        env={**os.environ, "PYTHONPATH": str(installed)},
        capture_output=True,
        text=True,
        check=True,
    )
    count, folder = done.stdout.split(maxsplit=1)
    assert int(count) == len(load_rulebook())
    assert Path(folder.strip()) == installed / "buildlint" / "rules"


@pytest.mark.parametrize("key", ["id", "path"])
def test_which_rule_it_is_the_name_of_its_file_says(tmp_path, key):
    file = tmp_path / "short.toml"
    file.write_text(f'{key} = "pair/other"\nnonsense = 1\n', encoding="utf-8")
    with pytest.raises(RulebookError) as told:
        read_rule("short", file)
    assert told.value.mistakes[0].endswith(
        f"short.toml:1:1: {key} is not a key of a rule: the name of its file says which it is"
    )
    assert "nonsense" in told.value.mistakes[1]


def test_a_rulebook_has_rules_and_nothing_else():
    rule = load_rulebook()["pair/length"]
    for rules in ({}, {"pair/length": rule}):
        check_rulebook(Rulebook(rules))
    with pytest.raises(TypeError, match="a rulebook is what load_rulebook gives"):
        check_rulebook(Rulebook({"pair/length": rule, "other": "a rule"}))  # type: ignore[dict-item]

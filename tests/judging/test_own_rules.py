"""A team's own rules: which files are, and which are refused, with nothing read from outside."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest

from buildlint.judging.rulebook import load_rulebook, own_rules, shipped_rules
from buildlint.text.errors import RulebookError
from tests.making import close

BOOK = load_rulebook()
SOUND = """\
title = "The hold-back is a little"
level = "must"
measure = "hold_back"
at_most = "10 mm"
source = "ours"
why = "Because."
cure = "Less of it."
"""
links = pytest.mark.skipif(os.name == "nt", reason="needs links")


def write(root: Path, *names: str, text: str = SOUND) -> None:
    for name in names:
        path = root / "rules" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")


def refused(root: Path) -> list[str]:
    with pytest.raises(RulebookError) as caught:
        own_rules(root, BOOK)
    here = f"{Path(os.path.relpath(root)).as_posix()}/"
    assert all(line.startswith(here) and line.isprintable() for line in caught.value.mistakes)
    return [line.removeprefix(here) for line in caught.value.mistakes]


def test_without_the_folder_there_are_none(tmp_path):
    assert own_rules(tmp_path, BOOK) == {}
    (tmp_path / "rules").write_text("a note, and no folder", encoding="utf-8")
    assert own_rules(tmp_path, BOOK) == {}


def test_a_rule_goes_by_its_place_below_the_folder(tmp_path):
    write(tmp_path, "one.toml", "pair/two.toml", "deep/er/three.toml")
    (tmp_path / "rules" / "notes.md").write_text("not a rule", encoding="utf-8")
    found = own_rules(tmp_path, BOOK)
    assert sorted(found) == ["deep/er/three", "one", "pair/two"]
    assert found["pair/two"].path == tmp_path / "rules" / "pair" / "two.toml"
    assert all(ident == rule.id for ident, rule in found.items())


@links
def test_what_is_hidden_is_no_rule_and_is_not_read(tmp_path):
    write(tmp_path, ".draft.toml", ".drafts/x.toml", text="= broken")
    (tmp_path / "rules" / ".out.toml").symlink_to(Path(__file__))
    assert own_rules(tmp_path, BOOK) == {}


def test_a_rule_that_comes_with_buildlint_is_not_replaced(tmp_path):
    write(tmp_path, "pair/length.toml")
    said = "pair/length comes with buildlint: change it in buildlint.toml, or rename this file"
    assert refused(tmp_path) == [f"rules/pair/length.toml:1:1: {said}"]


def test_the_rules_about_files_are_no_teams(tmp_path):
    write(tmp_path, "file/mine.toml")
    said = "the group file/ is for how files are written: give this rule another folder"
    assert refused(tmp_path) == [f"rules/file/mine.toml:1:1: {said}"]


def test_every_mistake_is_told_at_once(tmp_path):
    write(tmp_path, "pair/length.toml", "file/mine.toml")
    write(tmp_path, "x/broken.toml", text="= broken")
    write(tmp_path, "x/half.toml", text=SOUND.replace('level = "must"\n', ""))
    assert [line.split(":")[0] for line in refused(tmp_path)] == [
        "rules/file/mine.toml",
        "rules/pair/length.toml",
        "rules/x/broken.toml",
        "rules/x/half.toml",
    ]


@pytest.mark.skipif(os.name == "nt", reason="needs names that it refuses")
@pytest.mark.parametrize("name", ["a\nb", "a\x1b[31m", "x" * 101, "\udcff", "a\u202eb"])
def test_a_name_that_could_steer_a_terminal_is_refused(tmp_path, name):
    write(tmp_path, "one.toml")
    (tmp_path / "rules" / "one.toml").rename(tmp_path / "rules" / f"{name}.toml")
    (line,) = refused(tmp_path)
    assert line.endswith(":1:1: a rule's name has at most 100 characters, all of them plain")


def test_a_name_of_a_hundred_characters_is_one(tmp_path):
    write(tmp_path, f"{'x' * 100}.toml")
    assert list(own_rules(tmp_path, BOOK)) == ["x" * 100]


# --- nothing from outside, nothing without end ---------------------------------------------------


@links
@pytest.mark.parametrize(
    ("text", "is_rule"),
    [("", False), ("title = 1", False), ("title = 1\nwhy = 2", True), ("= 1", True)],
)
def test_beside_no_settings_what_has_two_keys_of_a_rule_is_one(tmp_path, text, is_rule):
    """So is what is broken: what it was meant to be, nobody knows."""
    (tmp_path / "rules").mkdir()
    (tmp_path / "rules" / "one.toml").write_text(text, encoding="utf-8")
    if is_rule:
        with pytest.raises(RulebookError):
            own_rules(tmp_path, BOOK, sure=False)
    else:
        assert own_rules(tmp_path, BOOK, sure=False) == {}
    with pytest.raises(RulebookError):
        own_rules(tmp_path, BOOK)


def test_beside_no_settings_a_rule_behind_another_file_is_read(tmp_path):
    write(tmp_path, "a.toml", text="title = 1")
    write(tmp_path, "b.toml")
    assert list(own_rules(tmp_path, BOOK, sure=False)) == ["b"]


def test_beside_no_settings_a_file_too_large_to_look_into_is_told(tmp_path):
    write(tmp_path, "a.toml", text="#" * 1_000_001)
    with pytest.raises(RulebookError, match="larger than 1,000,000 bytes"):
        own_rules(tmp_path, BOOK, sure=False)


def test_no_link_leads_out_of_the_repository(tmp_path):
    root, outside = tmp_path / "root", tmp_path / "outside.toml"
    outside.write_text(SOUND, encoding="utf-8")
    write(root, "inside.toml")
    (root / "rules" / "out.toml").symlink_to(outside)
    assert refused(root) == ["rules/out.toml:1:1: is a link that leads out of the repository"]


@links
def test_a_link_within_the_repository_is_followed(tmp_path):
    (tmp_path / "kept.toml").write_text(SOUND, encoding="utf-8")
    (tmp_path / "rules").mkdir()
    (tmp_path / "rules" / "one.toml").symlink_to(tmp_path / "kept.toml")
    assert list(own_rules(tmp_path, BOOK)) == ["one"]


@links
def test_the_folder_itself_stands_in_the_repository(tmp_path):
    root, outside = tmp_path / "root", tmp_path / "outside"
    write(outside, "one.toml")
    root.mkdir()
    (root / "rules").symlink_to(outside / "rules")
    assert refused(root) == ["rules:1:1: is a link that leads out of the repository"]


@links
@pytest.mark.parametrize("target", ["rules", "nowhere"])
def test_a_folder_that_is_a_link_to_nothing_is_told(tmp_path, target):
    (tmp_path / "rules").symlink_to(target)
    assert refused(tmp_path) == ["rules:1:1: is a link to nothing that can be read"]


@links
@pytest.mark.parametrize("target", ["one.toml", "nowhere.toml"])
def test_a_rule_that_is_a_link_to_nothing_is_told(tmp_path, target):
    (tmp_path / "rules").mkdir()
    (tmp_path / "rules" / "one.toml").symlink_to(target)
    assert refused(tmp_path) == ["rules/one.toml:1:1: is not a file that can be read"]


@links
def test_folders_that_are_links_are_not_gone_into(tmp_path):
    """Nor is one that leads back to where it stands, which would have no end."""
    write(tmp_path, "one.toml")
    (tmp_path / "rules" / "again").symlink_to(tmp_path / "rules")
    assert list(own_rules(tmp_path, BOOK)) == ["one"]


def test_more_rules_than_anyone_would_write_are_refused(tmp_path):
    write(tmp_path, *(f"r{number}.toml" for number in range(501)))
    assert refused(tmp_path) == ["rules:1:1: holds 501 rules; at most 500 fit"]
    (tmp_path / "rules" / "r0.toml").unlink()
    assert len(own_rules(tmp_path, BOOK)) == 500


def test_rules_too_large_together_are_refused(tmp_path):
    full = SOUND + "#" * (100_000 - len(SOUND))
    write(tmp_path, *(f"r{number}.toml" for number in range(10)), text=full)
    assert len(own_rules(tmp_path, BOOK)) == 10
    write(tmp_path, "more.toml")
    assert refused(tmp_path) == ["rules:1:1: its rules are larger than 1,000,000 bytes together"]


def test_folders_of_very_many_levels_are_refused(tmp_path):
    """What is not read would be a rule that nobody is told of."""
    here = tmp_path / "rules"
    here.mkdir()
    for _ in range(300):
        here = here / "d"
        here.mkdir()
    write(tmp_path, "one.toml")
    (told,) = refused(tmp_path)
    assert told.endswith(":1:1: may not be looked into, or is more than 64 folders deep")


@pytest.mark.parametrize("name", ["rules", "rules/pair"])
def test_a_folder_of_rules_that_may_not_be_looked_into_is_refused(tmp_path, monkeypatch, name):
    write(tmp_path, "one.toml", "pair/two.toml")
    close(monkeypatch, tmp_path / name)
    assert refused(tmp_path) == [
        f"{name}:1:1: may not be looked into, or is more than 64 folders deep"
    ]


def test_what_is_turned_has_to_move_the_figure(tmp_path):
    """Else no cure would ever be found, and nobody told why."""
    write(tmp_path, "a.toml", text=SOUND + 'turn = ["collar", "hold_back"]\n')
    said = "collar does not move hold_back; hold_back would"
    assert refused(tmp_path) == [f"rules/a.toml:8:1: {said}"]
    bands = 'by = "body_length"\nbands = [{ at_most = "3 mm" }]\nturn = ["body"]\n'
    write(tmp_path, "a.toml", text=SOUND.replace('at_most = "10 mm"\n', bands))
    assert own_rules(tmp_path, BOOK)["a"].turn == ("body",)
    write(
        tmp_path,
        "a.toml",
        text=SOUND.replace("hold_back", "rebound").replace("10 mm", "60 %") + 'turn = ["oil"]\n',
    )
    said = "oil does not move rebound; nothing that can be turned would"
    assert refused(tmp_path) == [f"rules/a.toml:8:1: {said}"]


@pytest.mark.parametrize("limit", ["5.0 mm", "10.5 mm"])
def test_a_checkout_of_buildlint_that_is_installed_elsewhere_has_no_rules_of_its_own(
    tmp_path, limit
):
    """The README's first command; one rule that is another is the team's, and is told."""
    shutil.copytree(shipped_rules(), tmp_path / "rules")
    assert own_rules(tmp_path, BOOK) == {}
    rule = tmp_path / "rules" / "pair" / "length.toml"
    rule.write_text(rule.read_text("utf-8").replace("0.5 mm", limit), "utf-8")
    with pytest.raises(RulebookError, match="pair/length comes with buildlint"):
        own_rules(tmp_path, BOOK)


def test_a_checkout_whose_rules_may_not_be_read_is_not_passed_over(tmp_path, monkeypatch):
    shutil.copytree(shipped_rules(), tmp_path / "rules")
    read = Path.read_bytes

    def refuse(path: Path) -> bytes:
        if path == tmp_path / "rules" / "pair" / "length.toml":
            raise PermissionError(path)
        return read(path)

    monkeypatch.setattr(Path, "read_bytes", refuse)
    with pytest.raises(RulebookError, match="pair/length comes with buildlint"):
        own_rules(tmp_path, BOOK)

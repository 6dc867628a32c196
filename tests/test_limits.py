"""Every limit: what is just within it is read, what is past it is told."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest

from buildlint.files import disk, holes, oil_model, reader, rule_keys, settings
from buildlint.files.readings import LONGEST
from buildlint.judging import finding_writer, inspection, rulebook
from buildlint.judging.inspector import inspect_team
from buildlint.team import folders
from buildlint.team.load import load_team
from buildlint.text.errors import PathError, RulebookError, SettingsError
from tests.making import repository

RULE = (Path(__file__).parent.parent / "rules/fit/shaft-in-bore.toml").read_text("utf-8")
PAGE = Path(__file__).parent.parent / "buildlint" / "README.md"


def _fails(root: Path) -> list[tuple[str, str]]:
    found = inspect_team(root)
    return [(f.rule, f.message) for f in found.findings if f.verdict == "fails"]


def test_the_page_tells_every_limit():
    text = " ".join(PAGE.read_text("utf-8").split("## Limits\n")[1].split("\n## ")[0].split())
    for said in (
        f"a file has at most {disk.LARGEST:,} bytes and {reader._MOST_DOTS:,} dots",
        f"a rule's file {rulebook._LARGEST:,} bytes",
        f"{rulebook._MOST_RULES} rules of its own",
        f"{settings._MOST_CHANGES} changed ones",
        f"{settings._MOST_CONCESSIONS:,} concessions",
        f"a reading has at most {LONGEST} characters",
        f"a blend {oil_model.MOST_IN_A_BLEND} oils",
        f"a piston {holes._MOST_SIZES} sizes of hole",
        f"a repository {folders.MOST_FILES:,} files",
        f"folders are looked into {folders.DEEPEST} deep",
        f"{rule_keys.MOST_BANDS} bands",
        f"Of one file {finding_writer._MOST_IN_A_FILE} mistakes are told",
        f"more than {reader._MOST_REFUSED:,} keys are refused",
        f"looked for where at most {inspection.MANY} builds are judged",
    ):
        assert said in text, said


@pytest.mark.parametrize("over", [0, 1])
def test_the_size_of_a_file(tmp_path, over):
    root = repository(tmp_path)
    path = root / "more.parts.toml"
    start = '[shaft.thin]\ndiameter = "3 mm"\n# '
    path.write_text(start + "x" * (disk.LARGEST - len(start) + over), "utf-8")
    told = [("file/too-large", "has 1,000,001 bytes; a file has at most 1,000,000")]
    assert _fails(root) == (told if over else [])


@pytest.mark.parametrize("over", [0, 1])
def test_the_length_of_a_reading(tmp_path, over):
    written = "6.4" + "0" * (LONGEST - len("6.4 mm") + over) + " mm"
    root = repository(tmp_path, build={"front.left.hold_back": written})
    assert [rule for rule, _ in _fails(root)] == (["file/not-a-reading"] if over else [])


@pytest.mark.parametrize("over", [0, 1])
def test_the_oils_of_a_blend(tmp_path, over):
    count = oil_model.MOST_IN_A_BLEND + over
    root = repository(tmp_path)
    lines = [f'[oil.b{n}]\nviscosity = "{400 + n} cSt"\n' for n in range(count)]
    shares = ", ".join(f"b{n} = {1 / count!r}" for n in range(count))
    lines.append(f"[oil.mixed]\nblend = {{ {shares} }}\n")
    (root / "more.parts.toml").write_text("\n".join(lines), "utf-8")
    told = [("file/out-of-range", f"{count} oils in one blend; at most {count - 1} fit here")]
    assert _fails(root) == (told if over else [])


@pytest.mark.parametrize("over", [0, 1])
def test_the_sizes_of_hole_in_a_piston(tmp_path, over):
    sizes = " + ".join(f"1 x 1.{n} mm" for n in range(holes._MOST_SIZES + over))
    root = repository(tmp_path)
    text = f'[piston.odd]\ndiameter = "15.9 mm"\nthickness = "2.5 mm"\nholes = "{sizes}"\n'
    (root / "more.parts.toml").write_text(text, "utf-8")
    assert [rule for rule, _ in _fails(root)] == (["file/not-a-reading"] if over else [])


@pytest.mark.parametrize(
    "nested",
    [
        "x = " + "[" * 200_000,
        "x = " + "[" * 5_000 + "]" * 5_000,
        "x = " + "{a = " * 5_000 + "1" + "}" * 5_000,
        ".".join("a" * 50_000) + " = 1",
        "[" + ".".join("a" * 50_000) + "]",
        "[[" + ".".join("a" * 5_000) + "]]\n" * 20,
    ],
    ids=["open", "lists", "tables", "dots", "headers", "arrays"],
)
@pytest.mark.parametrize("kind", ["parts", "car", "event", "build"])
def test_what_is_nested_deeper_than_anything_has_a_place_is_told(tmp_path, kind, nested):
    root = repository(tmp_path)
    (root / f"deep.{kind}.toml").write_text(nested, "utf-8")
    found = [f for f in inspect_team(root).in_files if f.path == root / f"deep.{kind}.toml"]
    assert {f.rule for f in found} <= {"file/not-toml", "file/unknown-key", "file/missing-key"}
    assert found


@pytest.mark.parametrize("over", [0, 1])
def test_the_files_of_a_repository(tmp_path, monkeypatch, over):
    root = repository(tmp_path)
    count = sum(1 for _ in folders.files_below(root))
    monkeypatch.setattr(folders, "MOST_FILES", count - over)
    if not over:
        assert inspect_team(root).passes()
        return
    with pytest.raises(PathError, match="are too many for one repository; nothing was judged"):
        inspect_team(root)
    with pytest.raises(PathError, match="too many"):
        load_team(root)


@pytest.mark.parametrize("over", [0, 1])
def test_how_deep_folders_are_looked_into(tmp_path, over):
    root = repository(tmp_path)
    deep = root.joinpath(*["d"] * (folders.DEEPEST + over))
    deep.mkdir(parents=True)
    (deep / "more.parts.toml").write_text("x = 1\n", "utf-8")
    rules = [rule for rule, _ in _fails(root)]
    assert rules == (["file/unreadable"] if over else ["file/unknown-key"])


@pytest.mark.skipif(os.mkdir not in os.supports_dir_fd, reason="needs folders made step by step")
def test_a_folder_deeper_than_a_path_can_say_is_told(tmp_path):
    """Beyond some 4,000 characters the system itself looks no further by name."""
    root = repository(tmp_path)
    name = "f" * 100
    here = os.open(root, os.O_RDONLY)
    for _ in range(50):
        os.mkdir(name, dir_fd=here)
        below = os.open(name, os.O_RDONLY, dir_fd=here)
        os.close(here)
        here = below
    os.close(here)
    try:
        assert [rule for rule, _ in _fails(root)] == ["file/unreadable"]
    finally:
        shutil.rmtree(root / name)


@pytest.mark.parametrize("over", [0, 1])
def test_the_rules_of_a_teams_own(tmp_path, monkeypatch, over):
    root = repository(tmp_path)
    folder = root / "rules" / "ours"
    folder.mkdir(parents=True)
    for n in range(3):
        (folder / f"rule-{n}.toml").write_text(RULE, "utf-8")
    (root / "buildlint.toml").write_text("", "utf-8")
    monkeypatch.setattr(rulebook, "_MOST_RULES", 3 - over)
    if not over:
        assert inspect_team(root).passes()
        return
    with pytest.raises(RulebookError, match="holds 3 rules; at most 2 fit"):
        inspect_team(root)


@pytest.mark.parametrize("over", [0, 1])
def test_the_bytes_of_a_rule(tmp_path, over):
    root = repository(tmp_path)
    folder = root / "rules" / "ours"
    folder.mkdir(parents=True)
    text = RULE + "# "
    text += "x" * (rulebook._LARGEST - len(text.encode()) + over)
    (folder / "large.toml").write_text(text, "utf-8")
    (root / "buildlint.toml").write_text("", "utf-8")
    if not over:
        assert inspect_team(root).passes()
        return
    with pytest.raises(RulebookError, match="is larger than 100,000 bytes"):
        inspect_team(root)


@pytest.mark.parametrize(
    ("table", "most", "told"),
    [
        ('[change."a/r{}"]\nleave_out = true\n', settings._MOST_CHANGES, "at most 500 rules"),
        (
            '[[concession]]\nrule = "pair/length"\nreason = "r{}"\nuntil = 2999-01-01\n',
            settings._MOST_CONCESSIONS,
            "at most 1,000 concessions",
        ),
    ],
)
def test_the_changes_and_concessions_of_settings(tmp_path, table, most, told):
    root = repository(tmp_path)
    text = "".join(table.format(n) for n in range(most + 1))
    (root / "buildlint.toml").write_text(text, "utf-8")
    with pytest.raises(SettingsError, match=told):
        inspect_team(root)

"""Each command as it is called: what it prints, where it writes, what it refuses, its exit code."""

from __future__ import annotations

import io
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

import pytest

from buildlint.commands.cli import main
from buildlint.reports.schemas import SCHEMA_KINDS, schema_text
from tests.making import repository


@pytest.fixture
def team(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    root = repository(tmp_path / "team")
    monkeypatch.chdir(root)
    return root


def said(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    """Run a command; give its exit code, and what it says on both streams."""
    code = main(words)
    captured = capsys.readouterr()
    return code, captured.out, captured.err


def test_sarif_and_junit_are_such(team: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = said(capsys, "inspect", "--as", "sarif")
    assert (code, json.loads(out)["version"]) == (0, "2.1.0")
    code, out, _ = said(capsys, "inspect", "--as", "junit")
    assert (code, ElementTree.fromstring(out).tag) == (0, "testsuites")


def test_should_too_reaches_every_form_of_report(
    team: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """11 h on both sides of an oil that should run 10 at most."""
    build = team / "heron-quarry.build.toml"
    text = build.read_text(encoding="utf-8").replace('runtime = "0 h"', 'runtime = "11 h"')
    build.write_text(text, encoding="utf-8")
    for words, failed in ((("inspect",), 0), (("inspect", "--should-too"), 1)):
        code, out, _ = said(capsys, *words, "--as", "json")
        assert (code, json.loads(out)["passes"]) == (failed, not failed)
        code, out, _ = said(capsys, *words, "--as", "sarif")
        errors = [r for r in json.loads(out)["runs"][0]["results"] if r["level"] == "error"]
        assert (code, bool(errors)) == (failed, bool(failed))
        code, out, _ = said(capsys, *words, "--as", "junit")
        assert (code, ElementTree.fromstring(out).get("failures") != "0") == (failed, bool(failed))


def test_all_reaches_every_form_of_report(team: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A rule that holds is listed only then."""
    for form in ("text", "lines", "json", "sarif"):
        assert ("pair/limiter" in said(capsys, "inspect", "--as", form)[1]) == (form == "sarif")
        assert "pair/limiter" in said(capsys, "inspect", "--all", "--as", form)[1]
    plain, every = (
        json.loads(said(capsys, "inspect", *words, "--as", "json")[1]) for words in ((), ("--all",))
    )
    held = [f for f in every["findings"] if f["verdict"] == "holds"]
    assert len(held) == every["counts"]["holds"] == plain["counts"]["holds"]
    assert plain["counts"] == every["counts"]


def test_text_is_as_wide_as_the_terminal_and_a_file_as_ever(
    team: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def longest(text: str) -> int:
        return max(len(line) for line in text.splitlines())

    for columns, most in (("20", 40), ("50", 50), ("120", 120), ("900", 200)):
        monkeypatch.setenv("COLUMNS", columns)
        assert most - 40 < longest(said(capsys, "inspect", "--all")[1]) <= most
    said(capsys, "inspect", "--all", "-o", "report.txt")
    assert longest((team / "report.txt").read_text(encoding="utf-8")) <= 80


def test_the_day_of_concessions_can_be_given(
    team: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    leave = '[[concession]]\nrule = "pair/length"\nreason = "spare"\nuntil = 2027-06-30\n'
    (team / "buildlint.toml").write_text(leave, encoding="utf-8")
    build = team / "heron-quarry.build.toml"
    text = build.read_text(encoding="utf-8").replace("104.2 mm", "106 mm", 1)
    build.write_text(text, encoding="utf-8")
    code, out, _ = said(capsys, "inspect", "--on", "2027-06-30")
    assert code == 0
    assert "conceded      front: " in out
    code, out, _ = said(capsys, "inspect", "--on", "2027-07-01")
    assert code == 1
    assert "file/concession-expired" in out


def test_a_build_is_compared_with_another(team: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = (team / "heron-quarry.build.toml").read_text(encoding="utf-8")
    other = text.replace('hold_back = "6.4 mm"', 'hold_back = "8 mm"')
    (team / "heron-other.build.toml").write_text(other, encoding="utf-8")
    code, out, err = said(capsys, "compare", "heron-quarry", "heron-other.build.toml")
    assert (code, err) == (0, "")
    assert "6.4 mm -> 8 mm" in out
    code, out, _ = said(capsys, "compare", "heron-quarry", "heron-other", "--as", "json")
    assert (code, json.loads(out)["format"]) == (0, 2)
    code, out, err = said(capsys, "compare", "nothing", "heron-other")
    assert (code, out) == (2, "")
    assert "nothing" in err


def test_labels_are_shown(team: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = said(capsys, "labels", "heron-quarry")
    assert (code, err) == (0, "")
    assert "All caps agree." in out
    code, out, _ = said(capsys, "labels", "heron-quarry", "--as", "json")
    assert (code, json.loads(out)["format"]) == (0, 2)


def test_mistakes_in_the_files_are_told_beside_and_are_1(
    team: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    build = team / "heron-quarry.build.toml"
    build.write_text(build.read_text(encoding="utf-8") + "odd = 1\n", encoding="utf-8")
    for words in (("labels", "heron-quarry"), ("compare", "heron-quarry", "heron-quarry")):
        code, out, err = said(capsys, *words)
        assert code == 1
        assert out
        assert '"odd" is not a key known' in err


def test_a_sheet_is_written(team: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = said(capsys, "sheet", "heron-quarry", "-o", "sheet.html")
    assert (code, out) == (0, "")
    assert (team / "sheet.html").read_text(encoding="utf-8").startswith("<!DOCTYPE html>")


class _Terminal(io.StringIO):
    """A standard output that says that it is a terminal."""

    def isatty(self) -> bool:
        return True


def test_a_page_is_not_poured_into_a_terminal(
    team: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    code, out, err = said(capsys, "sheet", "heron-quarry")
    assert (code, err) == (0, "")
    assert out.startswith("<!DOCTYPE html>")
    terminal = _Terminal()
    monkeypatch.setattr(sys, "stdout", terminal)
    path = "./heron-quarry.build.toml"
    for given in ("heron-quarry", path):
        assert main(["sheet", given]) == 2
        assert capsys.readouterr().err == (
            f"buildlint: name a file for the page: buildlint sheet {given} -o heron-quarry.html\n"
        )
    assert main(["sheet", "the other"]) == 2
    assert "buildlint sheet 'the other' -o 'the other.html'\n" in capsys.readouterr().err
    assert terminal.getvalue() == ""
    # what is said there can be typed
    assert main(["sheet", path, "-o", "heron-quarry.html"]) == 0
    assert (team / "heron-quarry.html").read_text(encoding="utf-8") == out


# --- a commit that is refused --------------------------------------------------------------------


@pytest.fixture
def staged(team: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The team in a git repository, a sound commit made, and one that fails about to be."""
    if shutil.which("git") is None:
        pytest.skip("git is not installed")
    for name in list(os.environ):
        if name.startswith(("GIT_", "PRE_COMMIT_")):
            monkeypatch.delenv(name)
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", os.devnull)
    monkeypatch.setenv("GIT_CONFIG_NOSYSTEM", "1")
    for key, value in (("NAME", "bench"), ("EMAIL", "bench@example.invalid")):
        monkeypatch.setenv(f"GIT_AUTHOR_{key}", value)
        monkeypatch.setenv(f"GIT_COMMITTER_{key}", value)
    git("init", "-q")
    git("add", ".")
    git("commit", "-qm", "sound")
    build = team / "heron-quarry.build.toml"
    text = build.read_text(encoding="utf-8")
    build.write_text(text.replace("104.2 mm", "106 mm", 1), encoding="utf-8")
    git("add", ".")
    return build


def git(*words: str) -> None:
    subprocess.run(["git", *words], check=True, capture_output=True)


def test_a_refused_commit_says_at_its_end_what_to_do(
    staged: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out, err = said(capsys, "inspect", "--named", staged.name)
    assert (code, err) == (1, "")
    assert " ".join(out.rpartition("\n\n")[2].split()) == (
        "Mend and save, `git add` the files, and commit again: a commit is judged as it was added."
    )
    assert "pair/length" in out
    assert max(map(len, out.splitlines())) <= 80
    for words in (["inspect"], ["inspect", "--as", "lines", "--named", staged.name]):
        code, out, _ = said(capsys, *words)
        assert code == 1
        assert "commit" not in out


def test_a_sound_commit_is_told_nothing_of_that_and_one_of_other_files_nothing_at_all(
    staged: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = staged.read_text(encoding="utf-8")
    staged.write_text(text.replace("106 mm", "104.2 mm", 1) + "\n", encoding="utf-8")
    code, out, _ = said(capsys, "inspect", "--named", staged.name)
    assert code == 0
    assert "commit" not in out
    assert said(capsys, "inspect", "--named", "pyproject.toml") == (0, "", "")
    assert said(capsys, "inspect", "--named") == (0, "", "")


def test_a_deleted_file_that_is_missed_is_named(
    staged: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    git("rm", "-q", "heron.car.toml")
    code, out, err = said(capsys, "inspect", "--named")
    assert code == 1
    assert 'there is no car "heron"' in out
    assert err == "buildlint: heron.car.toml: deleted\n"


def test_a_range_that_is_not_checked_out_is_said_to_be_judged_as_on_the_disk(
    staged: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    git("commit", "-qm", "not sound")
    monkeypatch.setenv("PRE_COMMIT_FROM_REF", "HEAD")
    monkeypatch.setenv("PRE_COMMIT_TO_REF", "HEAD~1")
    _, _, err = said(capsys, "inspect", "--named", staged.name)
    assert err == (
        "buildlint: HEAD~1 is not what is checked out: files are judged as they are on the disk\n"
    )


@pytest.mark.parametrize("name", ["-ofound.build.toml", "--as.build.toml"])
def test_a_file_that_is_named_like_an_option_is_a_file(
    staged: Path, capsys: pytest.CaptureFixture[str], name: str
) -> None:
    staged.rename(name)
    git("add", "-A")
    code, out, _ = said(capsys, "inspect", "--named", name)
    assert code == 1
    assert f"{name}:" in out
    assert not Path("found.build.toml").exists()


# --- more of the commands ------------------------------------------------------------------------


def test_a_sheet_without_what_draws_it_says_what_to_install(
    team: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "matplotlib", None)
    code, out, err = said(capsys, "sheet", "heron-quarry", "-o", "sheet.html")
    assert (code, out) == (2, "")
    assert 'pip install "buildlint[sheet]"' in err
    assert not (team / "sheet.html").exists()


@pytest.mark.parametrize("kind", SCHEMA_KINDS)
def test_a_schema_is_printed(kind: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert said(capsys, "schema", kind) == (0, schema_text(kind), "")


def test_a_kind_that_is_none_is_told_with_the_nearest(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = said(capsys, "schema", "evnt")
    assert (code, out) == (2, "")
    assert "did you mean event?" in err


def test_a_team_is_begun_and_what_to_do_next_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    code, out, _ = said(capsys, "begin", "our team")
    assert code == 0
    assert "  our team/our.parts.toml\n" in out
    assert "  cd 'our team'\n" in out
    code, out, err = said(capsys, "begin", "our team")
    assert (code, out) == (2, "")
    assert "nothing was made" in err
    assert said(capsys, "inspect", "our team")[0] == 0


def test_completion_is_printed(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = said(capsys, "complete", "bash")
    assert (code, err) == (0, "")
    assert "complete " in out


def test_the_rulebook_shows_what_a_team_changes(
    team: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = (
        '[change."pair/length"]\nleave_out = true\n[change."pair/collar"]\nsame_within = "1 mm"\n'
    )
    (team / "buildlint.toml").write_text(text, encoding="utf-8")
    code, out, _ = said(capsys, "rulebook")
    assert code == 0
    assert "The team's own settings:" in out
    assert "pair/length  left out (must)" in out
    code, out, _ = said(capsys, "rulebook", "pair/collar")
    assert "collar the same within 1 mm" in out
    assert "it came with collar the same within 0.5 mm" in " ".join(out.split())
    assert "Team:  collar the same within 1 mm, but it came with collar the same" in out
    for group in ("pair", "pair/"):
        assert "pair/length  left out (must)" in said(capsys, "rulebook", group)[1]
    changed = json.loads(said(capsys, "rulebook", "--as", "json")[1])["rules_changed"]
    assert {change["rule"] for change in changed} == {"pair/length", "pair/collar"}
    code, out, err = said(capsys, "rulebook", "pair/length")
    assert (code, out) == (2, "")
    assert "is off here" in err


@pytest.mark.parametrize(
    ("given", "meant"),
    [
        ("hold", "hold-back"),
        ("bladdr", "bladder"),
        ("lenght", "like/length"),
        ("into-cap-room", "bladder/into-cap-room"),
        ("pair/lenght", "pair/length"),
        ("zz", None),
    ],
)
def test_a_rule_that_is_none_is_told_with_the_nearest_rule_or_group(
    team: Path, capsys: pytest.CaptureFixture[str], given: str, meant: str | None
) -> None:
    hint = f"; did you mean {meant}?" if meant is not None else ""
    assert said(capsys, "rulebook", given) == (
        2,
        "",
        f'buildlint: there is no rule "{given}"{hint}\n',
    )
    if meant is not None:
        assert said(capsys, "rulebook", meant)[0] == 0


def test_a_sheet_of_a_build_with_mistakes_is_written_and_says_them(
    team: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = team / "heron-quarry.build.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace('car = "heron"', 'car = "heorn"'), encoding="utf-8")
    code, out, err = said(capsys, "sheet", "heron-quarry", "-o", "sheet.html")
    assert (code, out) == (1, "")
    assert 'there is no car "heorn"; did you mean "heron"?' in err
    assert err.startswith("buildlint: heron-quarry.build.toml:")
    page = (team / "sheet.html").read_text(encoding="utf-8")
    assert "Do not build from this sheet yet" in page


def test_what_to_do_next_opens_no_editor(team: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """git commit without a message waits in an editor."""
    code, out, _ = said(capsys, "begin", "new")
    steps = [line.strip() for line in out.partition("next:")[2].splitlines()]
    assert code == 0
    assert [step for step in steps if step.startswith("git commit")] == ['git commit -m "a start"']

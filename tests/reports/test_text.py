"""The report that people read: narrow, plain, what fails first, with limit, place and cure."""

from __future__ import annotations

import datetime
import re
from pathlib import Path
from typing import Any

import pytest

from buildlint import inspect_team
from buildlint.judging.rulebook import load_rulebook
from buildlint.reports.finding_text import MOST_LINES
from buildlint.reports.gauge import LEGEND
from buildlint.reports.text import inspection_text
from tests.making import build_path, repository, write

BAD: dict[str, dict[str, Any]] = {
    "parts": {"bladder.deep.into_body": "150 mm^3", "bladder.deep.into_cap": "150 mm^3"},
    "build": {
        "front.right.length": "106 mm",
        "rear.right.collar": "9 mm",
        "front.left.rebound": None,
        "front.right.rebound": None,
        "rear.pistn": "four",
    },
}


def report(
    folder: Path, monkeypatch: pytest.MonkeyPatch, colour: bool = False, **changes: Any
) -> str:
    """Inspect the repository from its own folder, as a builder does."""
    monkeypatch.chdir(repository(folder, **changes))
    return inspection_text(inspect_team(), colour)


@pytest.mark.parametrize("width", [40, 60, 80, 200])
@pytest.mark.parametrize("changes", [{}, BAD], ids=["sound", "bad"])
def test_no_line_is_wider_than_the_page(tmp_path, monkeypatch, changes, width):
    monkeypatch.chdir(repository(tmp_path, **changes))
    text = inspection_text(inspect_team(), width=width)
    # a place is never broken
    assert all(len(line) <= width or ".toml:" in line for line in text.splitlines())
    # the sum is the same
    wide = inspection_text(inspect_team(), width=80)
    assert text.split("judged:")[1].split() == wide.split("judged:")[1].split()


@pytest.mark.parametrize("changes", [{}, BAD], ids=["sound", "bad"])
def test_without_colour_there_is_no_escape(tmp_path, monkeypatch, changes):
    text = report(tmp_path, monkeypatch, **changes)
    assert "\x1b" not in text
    assert all(c.isprintable() or c == "\n" for c in text)


def test_colour_only_helps(tmp_path, monkeypatch):
    """The words are the same with and without it."""
    plain = report(tmp_path, monkeypatch, **BAD)
    coloured = inspection_text(inspect_team(), colour=True)
    assert "\x1b[31m" in coloured
    for code in ("\x1b[1m", "\x1b[31m", "\x1b[0m"):
        coloured = coloured.replace(code, "")
    assert coloured == plain


def test_a_sound_build_is_short_and_says_so(tmp_path, monkeypatch):
    text = report(tmp_path, monkeypatch)
    assert "fails" not in text and "should" not in text and "borderline" not in text
    assert text.splitlines()[-1].startswith("1 build judged: sound. ")
    assert len(text.splitlines()) <= 10


def test_a_build_of_which_a_must_was_not_checked_is_not_called_sound(tmp_path, monkeypatch):
    lost = {f"{end}.{side}.length": None for end in ("front", "rear") for side in ("left", "right")}
    text = " ".join(report(tmp_path, monkeypatch, build=lost).split())
    assert "not checked: pair/length (must): missing length." in text
    assert "1 build judged: no must fails, but 2 musts were not checked. 2 not checked, " in text
    write(tmp_path, {"twin.build.toml": build_path(tmp_path).read_text(encoding="utf-8")})
    text = inspection_text(inspect_team())
    assert "sound" not in text and "2 musts" in text


def test_a_finding_says_fault_amount_and_place_before_its_rule_then_the_fix(tmp_path, monkeypatch):
    text = report(tmp_path, monkeypatch, build={"front.right.length": "106 mm"})
    rule = load_rulebook()["pair/length"]
    number = build_path(tmp_path).read_text(encoding="utf-8").split('"106 mm"')[0].count("\n") + 1
    said = [
        "must fails",
        "front: left and right are not equally long, fully out: ",
        "length left 104.2 mm, right 106.0 mm, 1.8 mm apart, at most 0.5 mm",
        f'heron-quarry.build.toml:{number}:10 length = "106 mm"',
        "rule pair/length",
        f"fix: {rule.cure.split('. ')[0]}",
        "1 build judged: heron-quarry fails. 1 must fails, ",
    ]
    flat = " ".join(text.split())
    places = [flat.index(each) for each in said]
    assert places == sorted(places)
    # the rest of the advice is told where it is asked for
    assert rule.cure not in flat
    every = inspection_text(inspect_team(), everything=True)
    assert rule.cure in " ".join(every.split())


def test_a_cure_is_said_as_a_figure_and_a_finding_has_six_lines(tmp_path, monkeypatch):
    build = {"front.left.hold_back": "0 mm", "front.right.hold_back": "0 mm"}
    text = report(tmp_path, monkeypatch, build=build)
    # the band for 52 mm asks for 4.5 to 8.5 mm
    assert "fix: hold-back 4.5 mm to 8.5 mm, on both sides." in " ".join(text.split())
    blocks = [block for block in text.split("\n\n") if " fails " in block.splitlines()[0]]
    assert blocks and all(len(block.splitlines()) <= MOST_LINES for block in blocks[:-1])
    # both sides are told together
    assert text.count(load_rulebook()["hold-back/by-body-length"].fault[4:20]) == 1


def test_what_comes_of_one_reading_is_one_finding(tmp_path, monkeypatch):
    """No hold-back suits a bladder with so little room: three musts, one cause."""
    text = report(tmp_path, monkeypatch, parts=BAD["parts"])
    assert inspect_team().counts.fails > 4
    heads = [line for line in text.splitlines() if line.startswith("must fails")]
    assert len(heads) == 2  # front and rear
    assert "rule bladder/into-body-room, also bladder/into-cap-room, also" in text


def test_a_borderline_must_says_how_often_it_holds_then_what_to_measure(tmp_path, monkeypatch):
    """0.4 mm apart, each ± 0.1, at most 0.5: 1.2247 u inside, which is 88.97 %, 17 in 20."""
    text = report(tmp_path, monkeypatch, build={"front.right.length": "104.6 mm"})
    flat = " ".join(text.split())
    said = ["borderline", "holds 17 times in 20", "rule pair/length", "Measure length"]
    places = [flat.index(each) for each in said]
    assert places == sorted(places)
    assert "no must fails. 1 borderline, " in flat


def test_a_reading_that_was_not_given_is_not_to_be_measured_more_closely(tmp_path, monkeypatch):
    parts = {"body.longer.oil": None, "bladder.deep.into_cap": "290 mm^3 ± 1 %"}
    event = {"hottest": "38 degC ± 0.1 K"}
    build = {"bench.temperature": "20 degC ± 0.1 K"}
    text = report(tmp_path, monkeypatch, parts=parts, event=event, build=build)
    flat = " ".join(text.split())
    assert "Measure oil of body longer, which was not given: " in flat


def test_what_fails_comes_first_musts_before_shoulds(tmp_path, monkeypatch):
    build = {
        "front.right.length": "106 mm",  # must
        "front.left.collar": "4 mm",  # should: 2 mm apart
        "front.left.hold_back": "5.7 mm",  # 0.7 mm apart, each ± 0.3: borderline
    }
    text = report(tmp_path, monkeypatch, build=build)
    places = [text.index(mark) for mark in ("pair/length", "pair/collar", "pair/hold-back")]
    assert places == sorted(places)
    marks = [text.index(mark) for mark in ("must fails ", "should fails ", "borderline ")]
    assert marks == sorted(marks)


def test_all_lists_every_rule_on_every_subject(tmp_path, monkeypatch):
    monkeypatch.chdir(repository(tmp_path, build={"rear.left.length": None}))
    found = inspect_team()
    text = inspection_text(found, everything=True)
    counts = found.counts
    heads = [line.split("  ")[0] for line in text.splitlines()]
    assert heads.count("not checked") == counts.not_checked
    # left and right that say the same are told once
    assert 0 < heads.count("holds") <= counts.holds
    assert {f.rule for f in found.every} <= set(re.findall(r"[a-z-]+/[a-z-]+", text))


def test_a_mistake_in_a_file_is_told_with_its_place_first(tmp_path, monkeypatch):
    text = report(tmp_path, monkeypatch, build={"front.pistn": "four"})
    assert "must fails    heron-quarry.build.toml:" in text
    assert 'pistn = "four"' in text
    assert "rule file/unknown-key" in text


def test_a_gauge_is_drawn_for_each_end_with_its_legend(tmp_path, monkeypatch):
    text = report(tmp_path, monkeypatch)
    assert LEGEND in text
    assert sum(line.startswith(("front ", "rear ")) for line in text.splitlines()) == 2
    emulsion = {"style": "emulsion", "front.air": "1 ml", "rear.air": "1 ml"}
    assert LEGEND not in report(tmp_path / "b", monkeypatch, build=emulsion)


def test_where_a_bladder_fails_every_condition_is_drawn(tmp_path, monkeypatch):
    text = report(tmp_path, monkeypatch, parts=BAD["parts"])
    for condition in ("bench", "cold", "hot"):
        rows = [r for r in text.splitlines() if "|" in r and r.split()[1] == condition]
        assert len(rows) == 2, condition  # front and rear
    assert "!" in text


def test_a_caution_is_said_once_however_many_rules_carry_it(tmp_path, monkeypatch):
    text = report(tmp_path, monkeypatch, parts=BAD["parts"])
    assert " ".join(text.split()).count("Caution: A damper that is hot or locked") == 1


@pytest.mark.parametrize(
    "line", ['car = "\\u001b[31mred"', 'event = "a\\u0007b"', 'car = "x\\u202ey"']
)
def test_text_in_a_file_cannot_steer_a_terminal(tmp_path, monkeypatch, line):
    repository(tmp_path)
    path = build_path(tmp_path)
    text = path.read_text(encoding="utf-8")
    key = line.split()[0]
    old = next(old for old in text.splitlines() if old.startswith(f"{key} ="))
    path.write_text(text.replace(old, line), encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    shown = inspection_text(inspect_team())
    assert all(c.isprintable() or c == "\n" for c in shown)


def test_a_broken_line_cannot_steer_a_terminal(tmp_path, monkeypatch):
    repository(tmp_path)
    (tmp_path / "x.build.toml").write_bytes(b'car = "\x1b[31mred"\n')
    monkeypatch.chdir(tmp_path)
    shown = inspection_text(inspect_team())
    assert "not-toml" in shown
    assert all(c.isprintable() or c == "\n" for c in shown)


def test_the_name_of_a_file_cannot_steer_a_terminal(tmp_path, monkeypatch):
    repository(tmp_path)
    text = build_path(tmp_path).read_text(encoding="utf-8").replace("104.2", "107", 1)
    try:
        (tmp_path / "a\x1b[31m\nb.build.toml").write_text(text, encoding="utf-8")
    except OSError:
        pytest.skip("this file system takes no such name")
    monkeypatch.chdir(tmp_path)
    shown = inspection_text(inspect_team())
    assert all(c.isprintable() or c == "\n" for c in shown)
    assert "\nb.build" not in shown


# --- many builds ---------------------------------------------------------------------------------


def season(folder: Path, builds: int, **changes: Any) -> None:
    """Write builds that are alike, and one more with changes."""
    text = build_path(repository(folder)).read_text(encoding="utf-8")
    write(folder, {f"run{n:02}.build.toml": text for n in range(builds)})
    repository(folder, build=changes)


@pytest.mark.parametrize("builds", [12, 40])
def test_builds_that_are_alike_share_a_line_of_a_table(tmp_path, monkeypatch, builds):
    season(tmp_path, builds - 1)
    monkeypatch.chdir(tmp_path)
    lines = inspection_text(inspect_team()).splitlines()
    assert lines[-1].startswith(f"{builds} builds judged: all sound. ")
    assert f"heron-quarry and {builds - 1} alike" in lines[1]
    assert len(lines) <= 6
    each = inspection_text(inspect_team(), everything=True)
    assert all(f"run{n:02} " in each for n in range(builds - 1))


def test_of_many_builds_a_table_comes_first_then_what_fails_and_the_sum_names_it(
    tmp_path, monkeypatch
):
    season(tmp_path, 3, **{"front.right.length": "106 mm", "rear.right.collar": "9 mm"})
    monkeypatch.chdir(tmp_path)
    text = inspection_text(inspect_team())
    head, row, alike, *_ = text.splitlines()
    assert head.split()[:4] == ["what", "fails", "musts", "shoulds"]
    assert row.split()[:5] == ["heron-quarry", "1", "1", "-", "-"]
    assert row.endswith(load_rulebook()["pair/length"].costs)
    assert alike.split()[:3] == ["run00,", "run01,", "run02"]
    told = [line for line in text.splitlines() if " fails  " in line and "heron-quarry" in line]
    assert [line.split()[:4] for line in told] == [
        ["must", "fails", "heron-quarry", "front:"],
        ["should", "fails", "heron-quarry", "rear:"],
    ]
    flat = " ".join(text.split())
    assert "4 builds judged: heron-quarry fails. 1 must fails, 1 should fails, " in flat


def test_what_fails_alike_in_many_builds_is_told_once(tmp_path, monkeypatch):
    text = build_path(repository(tmp_path, build={"front.right.length": "106 mm"}))
    write(tmp_path, {f"run{n}.build.toml": text.read_text(encoding="utf-8") for n in range(4)})
    monkeypatch.chdir(tmp_path)
    found = " ".join(inspection_text(inspect_team()).split())
    assert found.count("left and right are not equally long") == 1
    assert "heron-quarry, run0 and 3 more front: " in found
    assert "5 builds judged: heron-quarry, run0, run1, run2 and run3 fail." in found


def test_beyond_thirty_findings_each_is_told_in_brief(tmp_path, monkeypatch):
    repository(tmp_path)
    text = build_path(tmp_path).read_text(encoding="utf-8")
    each = {f"run{n:02}.build.toml": text.replace("104.2", f"{106 + n}", 1) for n in range(31)}
    write(tmp_path, each)
    monkeypatch.chdir(tmp_path)
    lines = inspection_text(inspect_team()).splitlines()
    heads = [n for n, line in enumerate(lines) if line.startswith("must fails ")]
    assert len(heads) == 31 and not any(line.strip().startswith("fix:") for line in lines)
    assert heads[-1] - heads[0] <= 30 * 4


def test_the_last_line_names_the_first_place_in_files(tmp_path, monkeypatch):
    repository(tmp_path, build={"front.right.length": "106 mm"})
    write(tmp_path, {"broken.car.toml": "= x", "spare.parts.toml": "[shaft.x]\nodd = 1\n"})
    monkeypatch.chdir(tmp_path)
    last = " ".join(inspection_text(inspect_team()).split("\n\n")[-1].split())
    assert last.startswith(
        "1 build judged: heron-quarry fails; broken.car.toml:1 and 2 more places must be mended. "
    )


# --- what the team changes, and what it concedes -------------------------------------------------

LEAVE = """\
[[concession]]
rule = "pair/length"
reason = "the spare; \\u001b[31m its twin\\nis on order"
until = 2027-06-30
"""
CHANGED = """\
[change."pair/limiter"]
leave_out = true
[change."pair/hold-back"]
level = "should"
[change."pair/parts"]
title = "Ours"
[change."pair/rebound"]
same_within = "20 %"
[change."pair/collar"]
leave_out = true
"""
OWN = """\
title = "A title of a rule of the team's own which is so long that one line has no room for it"
level = "must"
measure = "collar"
at_most = "1 mm"
source = "ours"
why = "w"
cure = "c"
"""
DAY = datetime.date(2027, 6, 12)
UNLIKE = {"front.right.length": "106 mm"}


def reported(folder: Path, monkeypatch: pytest.MonkeyPatch, settings: str, **changes: Any) -> str:
    repository(folder, **changes)
    (folder / "buildlint.toml").write_text(settings, encoding="utf-8")
    monkeypatch.chdir(folder)
    return inspection_text(inspect_team(on=DAY))


def test_what_is_conceded_is_told_with_its_reason_and_last_day(tmp_path, monkeypatch):
    text = reported(tmp_path, monkeypatch, LEAVE, build=UNLIKE)
    line = build_path(tmp_path).read_text(encoding="utf-8").split('"106 mm"')[0].count("\n") + 1
    assert "conceded      front: left and right are not equally long" in text
    flat = " ".join(text.split())
    assert f"at most 0.5 mm (pair/length, heron-quarry.build.toml:{line}:10) " in flat
    assert "until 2027-06-30: the spare; \\x1b[31m its twin is on order" in flat
    assert "\x1b" not in text and "must fails " not in text
    assert "1 build judged: no must fails, except what is conceded. 1 conceded, " in flat


def test_what_is_conceded_hides_nothing_that_fails_beside_it(tmp_path, monkeypatch):
    build = {**UNLIKE, "rear.right.length": "122 mm"}
    text = reported(tmp_path, monkeypatch, LEAVE + 'where = "front"\n', build=build)
    assert "must fails    rear: left and right are not equally long" in text
    assert "conceded      front: left and right" in text
    assert "heron-quarry fails. 1 must fails, 1 conceded, " in " ".join(text.split())


def test_should_too_says_nothing_of_what_is_conceded(tmp_path, monkeypatch):
    reported(tmp_path, monkeypatch, LEAVE, build=UNLIKE)
    assert "--should-too" not in inspection_text(inspect_team(on=DAY), should_too=True)


def test_whatever_touches_a_must_is_told_by_name_with_its_place(tmp_path, monkeypatch):
    text = reported(tmp_path, monkeypatch, CHANGED)
    assert (
        "The team's own settings change the rules:\n"
        "  the must pair/hold-back: a should, but it came as a must (buildlint.toml:3:2)\n"
        "  the must pair/limiter: left out (buildlint.toml:1:2)\n"
        "  the must pair/parts: another title (buildlint.toml:5:2)\n"
        "  left out: pair/collar\n"
        "  changed: pair/rebound\n\n"
        "1 build judged: "
    ) in text


def test_nothing_is_told_of_settings_that_change_nothing(tmp_path, monkeypatch):
    text = reported(tmp_path, monkeypatch, '[change."pair/limiter"]\nleave_out = false\n')
    assert "settings" not in text


def test_of_several_teams_it_is_told_whose_settings_change_what(tmp_path, monkeypatch):
    left_out, changed = (
        '[change."pair/collar"]\nleave_out = true\n',
        '[change."pair/rebound"]\nlevel = "must"\n',
    )
    for name, text in {"a": left_out + changed, "b": changed, "c": ""}.items():
        write(repository(tmp_path / name), {"buildlint.toml": text})
    write(tmp_path / "c", {"rules/spring/low.toml": OWN})
    monkeypatch.chdir(tmp_path)
    text = inspection_text(inspect_team(["a", "b", "c"], on=DAY))
    assert (
        "The teams' own settings change the rules:\n"
        "  left out: pair/collar (a/buildlint.toml)\n"
        "  changed: pair/rebound (a/buildlint.toml)\n"
        "  changed: pair/rebound (b/buildlint.toml)\n"
        "  own: spring/low (c/rules)\n\n"
    ) in text


def test_a_rule_of_the_teams_own_is_told_and_its_long_title_wrapped(tmp_path, monkeypatch):
    (tmp_path / "rules").mkdir()
    (tmp_path / "rules" / "low.toml").write_text(OWN, encoding="utf-8")
    text = reported(tmp_path, monkeypatch, "")
    assert (
        "must fails    front: a title of a rule of the team's own which is so long that\n"
        "              one line has no room for it: "
    ) in text
    assert "The team's own settings change the rules:\n  own: low\n" in text
    assert all(len(line) <= 80 for line in text.splitlines())

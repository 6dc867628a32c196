"""The report that people read: narrow, plain, what fails first, with limit, place and cure."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Any

import pytest

from buildlint import inspect_team
from buildlint.judging.rulebook import load_rulebook
from buildlint.reports.text import inspection_text
from buildlint.text.wrapping import WIDTH
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


@pytest.mark.parametrize("changes", [{}, BAD], ids=["sound", "bad"])
def test_no_line_is_wider_than_80_columns(tmp_path, monkeypatch, changes):
    assert WIDTH == 80
    for line in report(tmp_path, monkeypatch, **changes).splitlines():
        assert len(line) <= 80, line


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
    assert "FAILS" not in text and "should" not in text and "borderline" not in text
    assert (
        text.rstrip().splitlines()[-1].startswith("1 build judged: nothing fails that must hold.")
    )
    assert len(text.splitlines()) <= 20


def test_a_borderline_must_says_how_often_it_holds_then_what_to_measure_then_the_cure(
    tmp_path, monkeypatch
):
    """0.4 mm apart, each ± 0.1, at most 0.5: 1.2247 u inside, which is 88.97 %, 17 in 20."""
    text = report(tmp_path, monkeypatch, build={"front.right.length": "104.6 mm"})
    rule = load_rulebook()["pair/length"]
    assert f"    borderline {rule.title}\n" in text
    flat = " ".join(text.split())
    said = [
        "left 104.2 mm, right 104.6 mm, 0.4 mm apart, at most 0.5 mm: holds 17 times in 20",
        "of the uncertainty comes from length",
        "rule pair/length",
        rule.cure,
    ]
    places = [flat.index(each) for each in said]
    assert places == sorted(places)
    assert "1 borderline" in text and text.endswith(": nothing fails that must hold.\n")


def test_a_reading_that_was_not_given_is_not_to_be_measured_more_closely(tmp_path, monkeypatch):
    parts = {"body.longer.oil": None, "bladder.deep.into_cap": "290 mm^3 ± 1 %"}
    event = {"hottest": "38 degC ± 0.1 K"}
    build = {"bench.temperature": "20 degC ± 0.1 K"}
    text = report(tmp_path, monkeypatch, parts=parts, event=event, build=build)
    flat = " ".join(text.split())
    assert "comes from oil of body longer (" in flat and "which was not given: measure it." in flat


def test_a_failure_has_title_figures_rule_place_and_cure(tmp_path, monkeypatch):
    text = report(tmp_path, monkeypatch, build={"front.right.length": "106 mm"})
    rule = load_rulebook()["pair/length"]
    lines = text.splitlines()
    assert any(line.split() == ["FAILS", *rule.fault.split()] for line in lines)
    flat = " ".join(text.split())
    assert "left 104.2 mm, right 106.0 mm, 1.8 mm apart, at most 0.5 mm: 1.3 mm too much" in flat
    assert "rule pair/length" in flat
    assert rule.cure in flat
    number = build_path(tmp_path).read_text(encoding="utf-8").split('"106 mm"')[0].count("\n") + 1
    assert f'heron-quarry.build.toml:{number}:10 length = "106 mm"' in flat
    assert "1 build must be mended" in flat


def test_a_cure_is_said_as_a_figure(tmp_path, monkeypatch):
    text = report(
        tmp_path,
        monkeypatch,
        build={"front.left.hold_back": "0 mm", "front.right.hold_back": "0 mm"},
    )
    flat = " ".join(text.split())
    # the band for 52 mm asks for 4.5 to 8.5 mm
    assert "Holds with hold-back 4.5 mm to 8.5 mm, on both sides." in flat


def test_what_fails_comes_first(tmp_path, monkeypatch):
    """Of one end: what must hold and fails, then what should, then what is borderline."""
    build = {
        "front.right.length": "106 mm",  # must
        "front.left.collar": "4 mm",  # should: 2 mm apart
        "front.left.hold_back": "5.7 mm",  # 0.7 mm apart, each ± 0.3: borderline
    }
    text = report(tmp_path, monkeypatch, build=build)
    places = [text.index(mark) for mark in ("pair/length", "pair/collar", "pair/hold-back")]
    assert places == sorted(places)
    marks = [text.index(mark) for mark in ("    FAILS ", "    should ", "    borderline ")]
    assert marks == sorted(marks)


def test_front_comes_before_rear_and_builds_in_the_order_of_their_files(tmp_path, monkeypatch):
    repository(tmp_path, build={"front.right.length": "106 mm", "rear.right.length": "130 mm"})
    text = build_path(tmp_path).read_text(encoding="utf-8")
    write(tmp_path, {"another.build.toml": text})
    monkeypatch.chdir(tmp_path)
    lines = inspection_text(inspect_team()).splitlines()
    heads = [line.split()[0] for line in lines if line[:1].isalpha() and "car heron" in line]
    assert heads == ["another", "heron-quarry"]
    ends = [line.strip() for line in lines if line.strip() in ("front", "rear")]
    assert ends == ["front", "rear", "front", "rear"]


def test_left_and_right_that_say_the_same_are_told_once(tmp_path, monkeypatch):
    build = {"front.left.hold_back": "0 mm", "front.right.hold_back": "0 mm"}
    text = report(tmp_path, monkeypatch, build=build)
    assert text.count(load_rulebook()["hold-back/by-body-length"].fault) == 1
    assert "left and right: " in " ".join(text.split())


def test_what_is_not_checked_is_said_with_what_is_missing(tmp_path, monkeypatch):
    lost = {f"{end}.{side}.length": None for end in ("front", "rear") for side in ("left", "right")}
    text = report(tmp_path, monkeypatch, build=lost)
    assert "not checked, needs length: pair/length" in " ".join(text.split())
    assert "2 not checked" in text


def test_a_mistake_in_a_file_stands_under_the_files_name(tmp_path, monkeypatch):
    text = report(tmp_path, monkeypatch, build={"front.pistn": "four"})
    assert text.startswith("heron-quarry.build.toml\n")
    assert 'pistn = "four"' in text
    assert "rule file/unknown-key" in text


def test_a_gauge_is_drawn_for_each_end_with_its_legend(tmp_path, monkeypatch):
    text = report(tmp_path, monkeypatch)
    assert sum(":" in line and "|" in line and "cap" in line for line in text.splitlines()) == 2
    assert "The bladder rests at the colon" in text
    emulsion = {"style": "emulsion", "front.air": "1 ml", "rear.air": "1 ml"}
    without = report(tmp_path / "b", monkeypatch, build=emulsion)
    assert "colon" not in without


def test_where_a_bladder_fails_every_condition_is_drawn(tmp_path, monkeypatch):
    text = report(tmp_path, monkeypatch, parts=BAD["parts"])
    for condition in ("bench", "cold", "hot"):
        rows = [r for r in text.splitlines() if r.strip().startswith(condition) and "|" in r]
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


def test_many_sound_builds_take_one_line_each(tmp_path, monkeypatch):
    """A folder of a season: those that are sound say so and no more."""
    repository(tmp_path)
    text = build_path(tmp_path).read_text(encoding="utf-8")
    write(tmp_path, {f"run{n:02}.build.toml": text for n in range(20)})
    monkeypatch.chdir(tmp_path)
    lines = inspection_text(inspect_team()).splitlines()
    assert sum(line.endswith(": sound") for line in lines) == 21
    assert len(lines) <= 21 * 2 + 4


def test_the_last_line_counts_builds_and_files(tmp_path, monkeypatch):
    repository(tmp_path, build={"front.right.length": "106 mm"})
    write(tmp_path, {"broken.car.toml": "= x", "spare.parts.toml": "[shaft.x]\nodd = 1\n"})
    monkeypatch.chdir(tmp_path)
    last = " ".join(inspection_text(inspect_team()).split("\n\n")[-1].split())
    assert last.startswith(
        "1 build judged: 1 build and 2 files must be mended: broken.car.toml:1 and 2 more places."
    )


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            "\n\n[shaft.x]\ndiameter = '3 mm'\nodd = 1\n",
            "spare.parts.toml:5.",
        ),
        ("[shaft.x]\ndiameter = '3'\n", "spare.parts.toml:2."),
        (
            "[shaft.x]\ndiameter = '3'\n[shaft.y]\nodder = 1\nodd = 1\ndiameter = '3 mm'\n",
            "spare.parts.toml:2 and 2 more places.",
        ),
    ],
)
def test_the_last_line_names_the_first_place_in_files(tmp_path, monkeypatch, text, said):
    write(tmp_path, {"spare.parts.toml": text})
    repository(tmp_path)
    monkeypatch.chdir(tmp_path)
    last = " ".join(inspection_text(inspect_team()).split("\n\n")[-1].split())
    assert last.startswith(f"1 build judged: 1 file must be mended: {said} ")
    # builds stand in blocks of their own
    (tmp_path / "spare.parts.toml").unlink()
    repository(tmp_path, build={"front.right.length": "106 mm"})
    assert "1 build judged: 1 build must be mended.\n" in inspection_text(inspect_team())


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


def test_what_is_conceded_takes_two_lines_with_its_reason_and_last_day(tmp_path, monkeypatch):
    text = reported(tmp_path, monkeypatch, LEAVE, build=UNLIKE)
    line = build_path(tmp_path).read_text(encoding="utf-8").split('"106 mm"')[0].count("\n") + 1
    assert (
        f"    conceded   pair/length  1.8 mm apart, at most 0.5 mm :{line}\n"
        "               until 2027-06-30: the spare; \\x1b[31m its twin is on order\n"
    ) in text
    assert "FAILS" not in text and "\x1b" not in text
    assert " 1 conceded.\n" in text
    assert text.endswith("1 build judged: nothing fails that must hold, except what is conceded.\n")


def test_what_is_conceded_hides_nothing_that_fails_beside_it(tmp_path, monkeypatch):
    build = {**UNLIKE, "rear.right.length": "122 mm"}
    text = reported(tmp_path, monkeypatch, LEAVE + 'where = "front"\n', build=build)
    assert "    FAILS      Left and right are not equally long, fully out\n" in text
    assert "conceded   pair/length" in text
    assert " 1 that must hold fails, 1 conceded.\n" in text
    assert text.endswith("1 build judged: 1 build must be mended.\n")


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
        "    FAILS      A title of a rule of the team's own which is so long that one\n"
        "               line has no room for it\n"
    ) in text
    assert "The team's own settings change the rules:\n  own: low\n" in text
    assert all(len(line) <= 80 for line in text.splitlines())

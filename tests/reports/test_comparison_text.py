"""A comparison as text."""

from __future__ import annotations

from dataclasses import replace
from math import pi
from pathlib import Path
from typing import Any

import pytest

from buildlint.judging.compare import Comparison, compare
from buildlint.reports.comparison_text import comparison_text
from tests.making import build_path, repository

AREA = pi / 4.0 * 3.5**2  # of the shaft, mm^2
EXAMPLES = Path(__file__).parent.parent.parent / "examples" / "saltmarsh" / "builds"


def of(folder: Path, old: dict[str, Any] | None = None, **new: Any) -> Comparison:
    was = repository(folder / "old", **(old or {}))
    now = repository(folder / "new", **new)
    return compare(build_path(was), build_path(now))


def block(text: str, head: str) -> list[str]:
    """Give the lines below a heading, to the next blank line."""
    lines = text.splitlines()
    start = lines.index(head) + 1
    return lines[start : lines.index("", start)]


# --- text ----------------------------------------------------------------------------------------


def test_where_nothing_changed_it_says_so_and_no_more(tmp_path, monkeypatch):
    root = repository(tmp_path)
    monkeypatch.chdir(root)
    found = compare("heron-quarry", "heron-quarry.build.toml")
    assert comparison_text(found).splitlines() == [
        "old  heron-quarry  heron-quarry.build.toml",
        "new  heron-quarry  heron-quarry.build.toml",
        "",
        f"Nothing changed: {found.same} figures are the same.",
    ]


def test_a_reading_and_what_it_does_stand_with_both_figures(tmp_path):
    """A h is 61.6 mm^3 at 6.4 mm and 71.2 at 7.4: 7.4/6.4 is 15.6 % more."""
    text = comparison_text(of(tmp_path, build={"front.left.hold_back": "7.4 mm"}))
    assert block(text, "Readings") == ["  front.left hold_back          6.4 mm -> 7.4 mm (+16 %)"]
    beyond = block(text, "Figures, changed beyond tolerance")
    # the bladder's room is read to a tenth: 12.3 -> 14.2 % is within tolerance
    assert "    front left  bench 62 -> 71 mm^3, +10 (+16 %)" in beyond
    assert "    front left        21.3 -> 24.7 %, +3.3 points (+16 %)" in beyond  # 6.4/30, 7.4/30
    assert text.replace("\n", " ").endswith(" figures are the same. ")
    # told among the readings, it is not told again
    assert "  hold_back  " not in text


def test_what_is_within_tolerance_is_marked_as_such(tmp_path):
    found = of(tmp_path, build={"front.left.hold_back": "6.5 mm"})
    text = comparison_text(found)
    assert block(text, "Readings") == [
        "  front.left hold_back          6.4 mm -> 6.5 mm (+1.6 %), within tolerance"
    ]
    assert "Figures, changed beyond tolerance" not in text
    tally = " ".join(text.splitlines()[-2:])
    assert tally.startswith("1 reading changed, 1 of them within tolerance. 0 figures changed")


def test_figures_that_the_usual_digits_do_not_tell_apart_get_more(tmp_path):
    """A h: 62.0563 mm^3 at 6.45 mm, 62.1525 at 6.46, of one shaft: one digit more."""
    exact = {f"front.{side}.hold_back": "6.45 mm ± 0 mm" for side in ("left", "right")}
    was = build_path(repository(tmp_path, build=exact))
    now = was.with_name("later.build.toml")
    now.write_text(was.read_text("utf-8").replace('"6.45', '"6.46'), encoding="utf-8")
    assert "    front       bench 62.1 -> 62.2 mm^3, +0.1 (+0.2 %)" in comparison_text(
        compare(was, now)
    )


def test_it_begins_with_what_a_driver_feels_at_each_builds_own_event(tmp_path):
    """630 cSt for 450 are 40 % more at every temperature; the rear has the oil that it had."""
    thick = {"oil.o630": {"viscosity": "630 cSt"}}
    found = of(tmp_path, parts=thick, build={"front.oil": "o630"})
    assert comparison_text(found).split("\n\n")[1].splitlines() == [
        "Front damps 40 % more when cold, 40 % more when hot.",
        "Rear damps the same when cold and when hot.",
        "Against the rear, the front damps 40 % more when cold, 40 % more when hot.",
    ]
    near = of(tmp_path / "b", parts={"oil.o450.viscosity": "460 cSt"})
    assert near.driver[0] == (
        "Front damps 2 % more when cold, 2 % more when hot: within tolerance."
    )
    home = of(tmp_path / "c", build={"event": None, "front.oil": None})
    assert home.driver == (
        "Front: the damping cannot be compared (needs oil).",
        "Rear damps the same at the bench.",
        "Front against rear: the damping cannot be compared.",
    )


def test_a_rule_that_fails_now_is_told_with_its_caution(tmp_path):
    """Hot, the cap needs A 29 = 279 mm^3 for the shaft and 9000 * 8.892e-4 * 18 = 144 for heat."""
    room = {"bladder.deep.into_cap": "400 mm^3"}
    found = of(tmp_path, {"parts": room}, parts=room, build={"front.left.hold_back": "29 mm"})
    text = comparison_text(found)
    rules = block(text, "Rules")
    assert "  bladder/into-cap-room  must, front left: holds -> FAILS" in rules
    assert "  pair/hold-back  must, front: holds -> FAILS" in rules
    cautions = {v.caution for v in found.verdicts if v.rule == "bladder/into-cap-room"}
    assert cautions != {""}
    assert text.count("Caution: ") == len({v.caution for v in found.verdicts if v.caution})
    # what held and is borderline now needs none
    assert all(not v.caution for v in found.verdicts if v.new != "fails")


def test_what_is_known_in_one_of_them_only_is_named(tmp_path):
    found = of(tmp_path, build={"front.left.length": None, "rear.spring": None})
    text = comparison_text(found)
    assert "  front.left length             104.2 mm -> not given" in text
    (only,) = (p for p in text.split("\n\n") if p.startswith("Figures, known in one of them only:"))
    assert {"spring_rate", "damping_ratio"} <= set(only.replace("\n", "").replace(",", "").split())


def test_mistakes_are_counted(tmp_path):
    found = of(tmp_path, build={"front.left.hold_back": "7.4 mn"})
    assert "1 mistake in the files may keep some" in comparison_text(found).replace("\n", " ")


@pytest.mark.parametrize(
    ("old", "new"), [("heron-estuary", "heron-quarry"), ("dunlin-estuary",) * 2]
)
def test_no_line_is_wider_than_the_report(old, new):
    found = compare(EXAMPLES / f"{old}.build.toml", EXAMPLES / f"{new}.build.toml")
    assert all(len(line) <= 80 for line in comparison_text(found).splitlines())


def test_no_line_is_wider_with_long_words_and_long_notes(tmp_path):
    build = {"front.note": "x" * 9000, "rear.note": "y " * 4000, "front.label": "z" * 150}
    found = of(tmp_path, build=build)
    found = replace(found, old=replace(found.old, revision="r" * 300, commit="a" * 40))
    lines = comparison_text(found).splitlines()
    assert all(len(line) <= 80 for line in lines)
    assert len(lines) < 60


HOSTILE = "\x1b[31m\u202e<script>\x07"


def test_hostile_text_steers_no_terminal(tmp_path):
    found = of(
        tmp_path,
        build={"front.note": HOSTILE, "bench.by": HOSTILE, "front.oil": HOSTILE, "car": HOSTILE},
    )
    found = replace(
        found,
        old=replace(found.old, build=HOSTILE, file=HOSTILE, revision=HOSTILE, commit="a" * 40),
        changes=(*found.changes, replace(found.changes[0], subject=HOSTILE, key=HOSTILE)),
    )
    text = comparison_text(found)
    assert all(line.isprintable() for line in text.splitlines())


def test_what_is_known_in_one_build_only_is_not_said_to_be_beyond_tolerance(tmp_path):
    """A build that is all mistakes has no figures: those of the other did not change."""
    was = repository(tmp_path)
    empty = build_path(was).with_name("empty.build.toml")
    empty.write_text("", encoding="utf-8")
    found = compare(build_path(was), empty)
    text = comparison_text(found)
    assert len(found.figures) > 50
    assert "Figures, changed" not in text
    tally = " ".join(text.split("\n\n")[-1].split())
    assert tally == (
        "0 readings changed. 0 figures changed beyond tolerance, 0 within; 0 figures are the same, "
        f"{len(found.figures)} known in one of them only. "
        "1 mistake in the files may keep some from being worked out."
    )

"""Two builds held against each other: readings, figures, verdicts."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from dataclasses import replace
from math import pi
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlint.judging.compare import Comparison, FigureChange, compare
from buildlint.judging.reading_changes import Change
from buildlint.text.errors import PathError, SettingsError
from tests.making import FEW, Raw, build_path, repository

AREA = pi / 4.0 * 3.5**2  # of the shaft, mm^2
EXAMPLES = Path(__file__).parent.parent.parent / "examples" / "saltmarsh" / "builds"


def of(folder: Path, old: dict[str, Any] | None = None, **new: Any) -> Comparison:
    """Compare the sound repository, with changes or none, with another that has other changes."""
    was = repository(folder / "old", **(old or {}))
    now = repository(folder / "new", **new)
    return compare(build_path(was), build_path(now))


def told(found: Comparison) -> dict[str, tuple[str | None, str | None]]:
    return {change.where: (change.old, change.new) for change in found.changes}


def change(found: Comparison, where: str) -> Change:
    (one,) = (c for c in found.changes if c.where == where)
    return one


def figure(
    found: Comparison, subject: str, measure: str, condition: str | None = None
) -> FigureChange:
    (one,) = (
        f
        for f in found.figures
        if (f.subject, f.measure, f.condition) == (subject, measure, condition)
    )
    return one


def values(one: FigureChange) -> tuple[Any, Any]:
    assert one.old is not None and one.new is not None
    return one.old.value, one.new.value


# --- readings ------------------------------------------------------------------------------------


def test_a_hold_back_that_is_changed_shows_on_its_corner_with_both_texts(tmp_path):
    found = of(tmp_path, build={"front.left.hold_back": "7.4 mm"})
    one = change(found, "front.left hold_back")
    assert told(found) == {"front.left hold_back": ("6.4 mm", "7.4 mm")}
    assert (one.subject, one.key, one.kind) == ("front.left", "hold_back", "build")
    assert one.old_file is not None and one.old_file.endswith("old/heron-quarry.build.toml")
    assert one.new_file is not None and one.new_file.endswith("new/heron-quarry.build.toml")


def test_a_part_that_the_build_stands_on_is_looked_into_and_others_are_not(tmp_path):
    parts = {"oil.o450.viscosity": "420 cSt", "body.short.bore": "14 mm"}
    found = of(tmp_path, parts=parts)
    assert told(found) == {"oil o450 viscosity": ("450 cSt", "420 cSt")}
    assert found.changes[0].kind == "parts"


def test_an_oil_of_which_another_is_blended_is_looked_into(tmp_path):
    blend = {"oil.mixed.blend": Raw('{ o450 = "50 %", thick = "50 %" }')}
    thick = {"oil.thick.viscosity": "600 cSt"}
    build = {"front.oil": "mixed"}
    old = {"parts": {**blend, **thick}, "build": build}
    found = of(
        tmp_path,
        old,
        parts={**blend, "oil.thick.viscosity": "700 cSt"},
        build=build,
    )
    assert told(found) == {"oil thick viscosity": ("600 cSt", "700 cSt")}
    shares = of(
        tmp_path / "b",
        old,
        parts={"oil.mixed.blend": Raw('{ o450 = "40 %", thick = "60 %" }'), **thick},
        build=build,
    )
    assert told(shares) == {
        "oil mixed blend o450": ("50 %", "40 %"),
        "oil mixed blend thick": ("50 %", "60 %"),
    }


def test_car_event_and_bench_are_looked_into(tmp_path):
    found = of(
        tmp_path,
        car={"front.corner_mass": "800 g", "rear.body": "long"},
        event={"hottest": "44 degC", "arrive_by": "air"},
        build={"bench.temperature": "26 degC"},
    )
    assert told(found) == {
        "bench temperature": ("20 degC", "26 degC"),
        "rear body": ("longer", "long"),
        "car heron front corner_mass": ("760 g", "800 g"),
        "event quarry hottest": ("38 degC", "44 degC"),
        "event quarry arrive_by": (None, "air"),
    }
    kinds = {c.where: c.kind for c in found.changes}
    assert kinds["rear body"] == "car" and kinds["event quarry hottest"] == "event"


def test_another_event_is_told_with_its_readings_and_without_its_id(tmp_path):
    was = EXAMPLES / "heron-estuary.build.toml"
    found = compare(was, EXAMPLES / "heron-quarry.build.toml")
    assert told(found)["event"] == ("estuary-sprint", "quarry-six-hour")
    assert told(found)["event altitude"] == ("3 m", "1900 m")
    assert told(found)["event highest"] == (None, "2150 m")


def test_a_part_swapped_for_another_is_told_by_its_id_alone(tmp_path):
    other = {"oil.thick.viscosity": "600 cSt"}
    found = of(tmp_path, {"parts": other}, parts=other, build={"front.oil": "thick"})
    assert told(found) == {"front oil": ("o450", "thick")}
    assert values(figure(found, "front", "viscosity_given")) == pytest.approx((450.0, 600.0))


def test_what_is_moved_from_the_end_to_both_sides_is_no_change(tmp_path):
    moved = {
        "front.collar": None,
        "front.left.collar": "2 mm",
        "front.right.collar": "2 mm",
        "rear.left.hold_back": None,
        "rear.right.hold_back": None,
        "rear.hold_back": "9.5 mm",
        "rear.body": "longer",  # as the car has it
    }
    found = of(tmp_path, build=moved)
    assert not found.changes and not found.figures and not found.verdicts


def test_one_side_moved_away_from_what_the_end_says_is_told_for_that_side_alone(tmp_path):
    found = of(tmp_path, build={"front.right.collar": "4 mm"})
    assert told(found) == {"front.right collar": ("2 mm", "4 mm")}
    assert values(figure(found, "front.right", "collar")) == pytest.approx((2.0, 4.0))


def test_what_is_written_otherwise_and_means_the_same_is_no_change(tmp_path):
    found = of(
        tmp_path,
        parts={
            "oil.o450.at": "25 degC",
            "oil.o450.viscosity": "450 mm^2/s",
            "body.long.cap": "vented",
        },
        build={
            "front.left.hold_back": "0.64 cm",
            "front.right.hold_back": "6.4 mm ± 0.3 mm",  # the field's own tolerance
            "style": "bladder",
            "front.done": Raw(
                '["leak checked", "rod end free", "bled", "threadlocked", "greased", "deburred"]'
            ),
        },
    )
    assert not found.changed


@pytest.mark.parametrize(
    ("old", "new", "reading", "difference"),
    [
        ("6.4 mm ± 0.3 mm", "6.7 mm ± 0.3 mm", True, True),
        # U of the difference is 2 * 0.3 * sqrt(2/3) = 0.49 mm
        ("6.4 mm ± 0.3 mm", "6.71 mm ± 0.3 mm", False, True),
        ("6.4 mm ± 0.3 mm", "6.9 mm ± 0.3 mm", False, False),
        # 6.4 does not lie between 6.5 and 6.7; U is 2 * sqrt((0.3^2 + 0.1^2)/3) = 0.365 mm
        ("6.4 mm ± 0.3 mm", "6.6 mm ± 0.1 mm", False, True),
        ("6.4 mm ± 0.3 mm", "6.77 mm ± 0.1 mm", False, False),
        ("6.4 mm ± 0.3 mm", "6.4 mm ± 0.1 mm", True, True),
    ],
)
def test_a_reading_is_within_the_others_tolerance_a_figure_within_the_uncertainty_of_both(
    tmp_path, old, new, reading, difference
):
    """JCGM 100:2008, 6.2.1: U = 2 u, of the difference of two readings by themselves."""
    key = "front.left.hold_back"
    found = of(tmp_path, {"build": {key: old}}, build={key: new})
    assert change(found, "front.left hold_back").within_tolerance is reading
    assert figure(found, "front.left", "hold_back").within_tolerance is difference


@pytest.mark.parametrize(("other", "within"), [("", False), ("wren", True), ("team", True)])
def test_pieces_of_one_car_are_the_same_pieces_in_both_builds(tmp_path, other, within):
    """A stroke of 30 mm to 1 mm and 0.2 mm of hold-back more: 0.7 % of the stroke.

    Of one car the stroke is off by the same in both. Of two, in one team or another, the share of
    21 % is known to 2 * sqrt(2/3) * 21 %/30 = 1.2 % against the other (JCGM 100:2008, 6.2.1).
    """
    parts = {"body.long.stroke": "30 mm ± 1 mm"}
    was, now = (
        {f"front.{side}.hold_back": f"{held} mm ± 0.01 mm" for side in ("left", "right")}
        for held in (6.4, 6.6)
    )
    old = build_path(repository(tmp_path / "old", parts=parts, build=was))
    new = build_path(repository(tmp_path / "new", parts=parts, build=now))
    if other != "team":
        text = new.read_text("utf-8")
        new = old.with_name("new.build.toml")
        new.write_text(text.replace('car = "heron"', f'car = "{other or "heron"}"'), "utf-8")
        car = old.with_name("heron.car.toml").read_text("utf-8")
        old.with_name("wren.car.toml").write_text(car, "utf-8")
    share = figure(compare(old, new), "front", "hold_back_share")
    assert share.within_tolerance is within


def test_holes_are_within_tolerance_hole_by_hole(tmp_path):
    """A hole's own tolerance is 0.02 mm."""
    key = "piston.four.holes"
    near = of(tmp_path, parts={key: "4 x 1.81 mm"})
    assert change(near, "piston four holes").within_tolerance
    for far in ("4 x 1.85 mm", "5 x 1.8 mm", "4 x 1.8 mm + 1 x 1 mm"):
        found = of(tmp_path / far[:5] / far[-6:], parts={key: far})
        assert not change(found, "piston four holes").within_tolerance


def test_no_limiter_and_one_of_nothing_are_within_tolerance(tmp_path):
    found = of(tmp_path, build={"front.limiter": "0 mm"})
    assert change(found, "front limiter").within_tolerance
    assert not of(tmp_path / "b", build={"front.limiter": "2 mm"}).changes[0].within_tolerance


def test_no_air_and_air_of_nothing_are_within_tolerance_in_a_bladder_build_alone(tmp_path):
    """What an emulsion's air is, nobody knows where it is not given."""
    found = of(tmp_path, build={"front.air": "0 ml ± 0.1 ml"})
    assert change(found, "front air").within_tolerance
    poured = {"style": "emulsion", "rear.air": "1 ml"}
    found = of(tmp_path / "b", {"build": poured}, build={**poured, "front.air": "0 ml ± 0.1 ml"})
    assert not change(found, "front air").within_tolerance


def test_a_step_more_or_less_is_a_change(tmp_path):
    found = of(tmp_path, build={"front.done": ["bled", "greased"]})
    old = "deburred, greased, threadlocked, bled, rod end free, leak checked"
    assert told(found) == {"front done": (old, "bled, greased")}


def test_readings_are_found_where_the_car_cannot_be(tmp_path):
    found = of(tmp_path, build={"car": "nowhere", "front.left.hold_back": "7.4 mm"})
    assert told(found)["front.left hold_back"] == ("6.4 mm", "7.4 mm")
    assert told(found)["car"] == ("heron", "nowhere")
    assert len(found.mistakes) == 1


def test_viscosities_that_cannot_be_held_against_each_other_are_not_within_tolerance(tmp_path):
    """450 mPa s and 450 cSt are two things."""
    density = {"oil.o450.density": "0.968 g/cm^3"}
    old = {"parts": density}
    found = of(tmp_path, old, parts={**density, "oil.o450.viscosity": "450 mPa.s"})
    assert not change(found, "oil o450 viscosity").within_tolerance


def test_the_share_by_which_a_reading_changed_is_told_where_it_has_one(tmp_path):
    """Not of a height, a temperature or a share, whose nothing is a choice, nor from nothing."""
    shares: list[tuple[str, str, str, float | None]] = [
        ("build", "front.left.hold_back", "7.36 mm", 0.15),
        ("parts", "oil.o450.viscosity", "360 cSt", -0.2),
        ("parts", "oil.o450.viscosity", "450 mPa.s", None),
        ("build", "bench.altitude", "10 m", None),
        ("event", "altitude", "950 m", None),
        ("build", "bench.temperature", "22 degC", None),
        ("build", "front.left.rebound", "66 %", None),
        ("build", "rear.limiter", "1 mm", None),
    ]
    density = {"oil.o450.density": "0.968 g/cm^3"}
    for n, (kind, key, text, share) in enumerate(shares):
        old: dict[str, Any] = {"parts": density, "build": {"rear.limiter": "0 mm"}}
        new = {**old, kind: {**old.get(kind, {}), key: text}}
        found = of(tmp_path / str(n), old, **new)
        (one,) = found.changes
        assert one.ratio == (pytest.approx(share) if share is not None else None), key


def test_what_was_not_given_before_is_beyond_any_tolerance(tmp_path):
    found = of(tmp_path, {"build": {"front.left.length": None}})
    (one,) = found.changes
    assert (one.old, one.new, one.within_tolerance, one.ratio) == (None, "104.2 mm", False, None)


def test_changes_within_tolerance_come_last(tmp_path):
    build = {"front.left.hold_back": "6.5 mm", "rear.left.hold_back": "12 mm", "front.note": "new"}
    found = of(tmp_path, build=build)
    assert [c.where for c in found.changes] == [
        "rear.left hold_back",
        "front note",
        "front.left hold_back",
    ]


# --- figures -------------------------------------------------------------------------------------


def test_a_millimetre_of_hold_back_moves_the_needs_by_the_shafts_area(tmp_path):
    """At the bench the cap needs A h, the body A (S - h): S is 30 mm, h goes from 6.4 to 7.4 mm."""
    found = of(tmp_path, build={"front.left.hold_back": "7.4 mm"})
    cap = figure(found, "front.left", "into_cap_need", "bench")
    assert values(cap) == pytest.approx((AREA * 6.4, AREA * 7.4))
    assert cap.difference == pytest.approx(AREA)
    assert cap.ratio == pytest.approx(1.0 / 6.4)
    body = figure(found, "front.left", "into_body_need", "bench")
    assert values(body) == pytest.approx((AREA * 23.6, AREA * 22.6))
    assert body.difference == pytest.approx(-AREA)
    use = figure(found, "front.left", "into_cap_use", "bench")
    assert values(use) == pytest.approx((AREA * 6.4 / 500.0, AREA * 7.4 / 500.0))
    assert use.unit == "1"
    share = figure(found, "front.left", "hold_back_share")
    assert values(share) == pytest.approx((6.4 / 30.0, 7.4 / 30.0))
    # the other side is as it was
    assert {f.subject for f in found.figures} == {"front.left"}


@pytest.mark.parametrize(
    ("unit", "old", "ratio"),
    [
        ("mm", 4.0, 0.25),
        ("1", 4.0, 0.25),
        ("day", 4.0, None),
        ("mm", 0.0, None),
        ("mm", -4.0, None),
    ],
)
def test_a_share_is_said_of_what_can_be_shared(tmp_path, unit, old, ratio):
    sealed = of(tmp_path, build={"front.left.hold_back": "7.4 mm"})
    one = figure(sealed, "front.left", "into_cap_need", "bench")
    assert one.old is not None
    changed = replace(one, unit=unit, old=replace(one.old, value=old), difference=1.0)
    assert changed.ratio == ratio
    assert replace(changed, difference=None).ratio is replace(changed, old=None).ratio is None


def test_thinner_oil_damps_by_as_much_less_all_round(tmp_path):
    """c goes with the viscosity (SOURCES.md, 5), and the ratio with c: 420/450 of it."""
    found = of(tmp_path, parts={"oil.o450.viscosity": "420 cSt"})
    for condition in ("bench", "cold", "hot"):
        # one oil, one bore and one piston in all four; masses and springs differ by end
        for subject, measure in (
            ("car", "viscosity"),
            ("car", "damping"),
            ("front", "damping_ratio"),
            ("rear", "damping_ratio"),
        ):
            old, new = values(figure(found, subject, measure, condition))
            assert new / old == pytest.approx(420.0 / 450.0)
    # front over rear: both are as much less
    assert not [f for f in found.figures if f.measure == "damping_balance"]


def test_a_hotter_event_changes_nothing_at_the_bench_nor_in_the_cold(tmp_path):
    found = of(tmp_path, event={"hottest": "44 degC"})
    assert {f.condition for f in found.figures} <= {"hot", None}
    whole = {f.measure for f in found.figures if f.condition is None}
    assert whole == {
        "largest_hold_back",
        "hold_back_window",
        "viscosity_spread",
        "mean_damping",
    }  # over all conditions
    old, new = values(figure(found, "front", "into_cap_need", "hot"))
    # 9 ml of oil grow by beta less three alpha, over 6 K more
    assert new - old == pytest.approx(9000.0 * (9.7e-4 - 3.0 * 23.6e-6) * 6.0)
    # 30 K more are beyond what is not known of either, when hot
    hotter = of(tmp_path / "hotter", event={"hottest": "68 degC"})
    assert not figure(hotter, "front", "into_cap_need", "hot").within_tolerance


def test_sides_that_are_alike_in_one_build_and_apart_in_the_other_are_told_once(tmp_path):
    found = of(
        tmp_path,
        {
            "build": {
                "front.left.hold_back": None,
                "front.right.hold_back": None,
                "front.hold_back": "6.4 mm",
            }
        },
        build={"front.right.hold_back": "8.4 mm"},
    )
    assert told(found) == {"front.right hold_back": ("6.4 mm", "8.4 mm")}
    assert {f.subject for f in found.figures} == {"front.right"}
    subjects = [(f.measure, f.condition, f.subject) for f in found.figures]
    assert len(subjects) == len(set(subjects))


def test_both_sides_changed_alike_are_told_for_the_end(tmp_path):
    both = {"front.left.hold_back": "8.4 mm", "front.right.hold_back": "8.4 mm"}
    found = of(tmp_path, build=both)
    assert told(found) == {"front hold_back": ("6.4 mm", "8.4 mm")}
    assert {f.subject for f in found.figures} == {"front"}


def test_what_cannot_be_worked_out_in_one_says_what_is_missing(tmp_path):
    found = of(tmp_path, parts={"bladder.deep.into_cap": None})
    one = figure(found, "front", "into_cap_use", "hot")
    assert one.old is not None and one.new is not None
    assert isinstance(one.old.value, float) and one.new.value is None
    assert one.new.missing == ("into_cap of bladder deep",)
    assert one.difference is None and not one.within_tolerance
    assert (one.old.verdict, one.new.verdict) == ("holds", "not checked")
    both = of(
        tmp_path / "b",
        {"parts": {"bladder.deep.into_cap": None}},
        parts={"bladder.deep.into_cap": None},
    )
    assert not both.changed
    assert both.not_known > 0


def test_what_a_measure_says_nothing_of_is_none_on_that_side(tmp_path):
    found = of(tmp_path, parts={"body.long.cap": "sealed", "body.long.gas": "900 mm^3"})
    one = figure(found, "front", "cap_pressure", "bench")
    assert one.old is None
    assert one.new is not None and isinstance(one.new.value, float)
    without = of(tmp_path / "b", build={"event": None})
    assert figure(without, "car", "viscosity", "hot").new is None
    # what the event says is not told reading by reading where there is none any more
    assert told(without) == {"event": ("quarry", None)}


def test_a_tolerance_alone_that_changed_is_a_change_within_tolerance(tmp_path):
    found = of(tmp_path, build={"front.left.hold_back": "6.4 mm ± 0.1 mm"})
    one = figure(found, "front.left", "hold_back")
    assert one.old is not None and one.new is not None
    assert one.difference == pytest.approx(0.0)
    spread = (one.old.uncertainty_up, one.new.uncertainty_up)
    assert spread == pytest.approx((0.3 / 3**0.5, 0.1 / 3**0.5))
    assert all(f.within_tolerance for f in found.figures)


def test_the_figures_that_matter_most_at_the_event_come_first(tmp_path):
    found = of(
        tmp_path,
        parts={"oil.o450.viscosity": "900 cSt"},
        build={"front.left.hold_back": "20 mm", "rear.left.hold_back": "9.6 mm"},
    )
    first = [f.measure for f in found.figures if not f.within_tolerance]
    uses = [i for i, m in enumerate(first) if m in ("into_body_use", "into_cap_use")]
    ratios = [i for i, m in enumerate(first) if m == "damping_ratio"]
    rest = [i for i, m in enumerate(first) if m in ("viscosity", "into_cap_need")]
    assert uses and ratios and rest
    assert max(uses) < min(ratios) <= max(ratios) < min(rest)
    flags = [f.within_tolerance for f in found.figures]
    assert flags == sorted(flags) and set(flags) == {False, True}


def test_the_same_figures_are_counted_as_they_are_told(tmp_path):
    """What is alike on both sides counts once; what changed is told, and counted no more."""
    nothing = of(tmp_path)
    assert not nothing.changed and nothing.same > 100
    one = of(tmp_path / "b", build={"rear.label": None, "front.label": None})
    # label_agrees of all four cannot be worked out any more
    assert [f.measure for f in one.figures] == ["label_agrees"]
    assert one.same == nothing.same - 1


# --- what the rules say --------------------------------------------------------------------------


def test_a_rule_that_fails_now_is_told_with_its_verdict_then(tmp_path):
    """29 mm held back of 30: A * 29 = 279 mm^3, more than the 250 that this bladder has."""
    room = {"bladder.deep.into_cap": "250 mm^3"}
    found = of(tmp_path, {"parts": room}, parts=room, build={"front.left.hold_back": "29 mm"})
    use = figure(found, "front.left", "into_cap_use", "bench")
    assert use.new is not None and use.new.value == pytest.approx(AREA * 29.0 / 250.0)
    assert use.old is not None and use.verdict_changed
    assert (use.old.verdict, use.new.verdict) == ("holds", "fails")
    verdicts = {(v.rule, v.subject): (v.old, v.new) for v in found.verdicts}
    assert verdicts["bladder/into-cap-room", "front.left"][1] == "fails"
    # of both sides: 22.6 mm apart, where 1 mm is allowed
    assert verdicts["pair/hold-back", "front"] == ("holds", "fails")
    assert found.verdicts[0].new == "fails" and found.verdicts[0].level == "must"
    # how to go about it is told where it fails now, not where it did then
    held = {"front.left.hold_back": "29 mm"}
    back = of(tmp_path / "back", {"parts": room, "build": held}, parts=room)
    for each in (found, back):
        cautions = {v.new: v.caution for v in each.verdicts if v.rule == "bladder/into-cap-room"}
        assert bool(cautions.get("fails")) is (each is found)
        assert not cautions.get("holds")


def test_left_against_right_is_told_of_each_end(tmp_path):
    apart = {"front.right.length": "109 mm", "rear.right.length": "126 mm"}
    found = of(tmp_path, build=apart)
    told = [v.subject for v in found.verdicts if v.rule == "pair/length" and v.new == "fails"]
    assert told == ["front", "rear"]


def test_a_condition_has_its_own_verdict_not_that_of_the_worst_alone(tmp_path):
    found = of(tmp_path, event={"hottest": "44 degC"})
    lines = [f for f in found.figures if f.measure == "into_cap_use"]
    assert lines
    for one in lines:
        assert one.old is not None and one.old.verdict is not None


def test_each_build_is_judged_by_the_settings_of_its_own_repository(tmp_path):
    was, now = repository(tmp_path / "old"), repository(tmp_path / "new")
    own = '[change."hold-back/by-body-length"]\nbetween = ["1 mm", "2 mm"]\n'
    (now / "buildlint.toml").write_text(own, encoding="utf-8")
    found = compare(build_path(was), build_path(now))
    assert not found.changes
    (one,) = found.verdicts
    assert (one.rule, one.old, one.new) == ("hold-back/by-body-length", "holds", "fails")
    assert {f.measure for f in found.figures} == {"hold_back"}
    (was / "buildlint.toml").write_text("own = 1\n", encoding="utf-8")
    with pytest.raises(SettingsError):
        compare(build_path(was), build_path(now))


# --- mistakes ------------------------------------------------------------------------------------


def test_a_reading_that_is_refused_stands_as_it_was_given_and_its_mistake_goes_along(tmp_path):
    found = of(tmp_path, build={"front.left.hold_back": "7.4 mn"})
    one = change(found, "front.left hold_back")
    assert (one.old, one.new, one.within_tolerance) == ("6.4 mm", "7.4 mn", False)
    (mistake,) = found.mistakes
    assert "new/heron-quarry.build.toml" in mistake and "did you mean mm?" in mistake
    gone = figure(found, "front.left", "hold_back")
    assert gone.new is not None and gone.new.missing == ("hold_back",)


def test_a_line_that_cannot_be_read_is_told_as_such(tmp_path):
    found = of(tmp_path, build={"front.collar": Raw("2 mm")})
    assert told(found) == {"front collar": ("2 mm", "what cannot be read")}
    assert len(found.mistakes) == 1


def test_a_misspelt_key_is_no_reading_that_was_left_out(tmp_path):
    found = of(tmp_path, build={"front.collar": None, "front.colar": "2 mm"})
    assert told(found) == {"front collar": ("2 mm", "what cannot be read")}


def test_a_file_that_cannot_be_read_at_all_has_mistakes_and_no_changes(tmp_path):
    was, now = repository(tmp_path / "old"), repository(tmp_path / "new")
    (now / "drawers.parts.toml").write_bytes(b"\xff")
    found = compare(build_path(was), build_path(now))
    assert not found.changes and found.mistakes
    build_path(now).write_bytes(b"\xff")
    found = compare(build_path(was), build_path(now))
    assert not found.changes and found.mistakes


def test_an_end_that_is_gone_is_told_reading_by_reading(tmp_path):
    was, now = repository(tmp_path / "old"), repository(tmp_path / "new")
    text = build_path(now).read_text(encoding="utf-8")
    build_path(now).write_text(text[: text.index("[rear]")], encoding="utf-8")
    found = compare(build_path(was), build_path(now))
    assert told(found)["rear hold_back"] == ("9.5 mm", None)
    # no limiter then is none now
    assert all(c.old is not None and c.kind for c in found.changes)
    assert figure(found, "rear", "hold_back").new is None


def test_an_emulsion_has_not_the_bladder_of_the_car(tmp_path):
    found = of(tmp_path, build={"style": "emulsion", "front.air": "1 ml", "rear.air": "1 ml"})
    assert told(found)["front bladder"] == ("deep", None)


def test_a_car_in_which_all_is_refused_has_no_readings(tmp_path):
    was, now = repository(tmp_path / "old"), repository(tmp_path / "new")
    nonsense = "".join(f"x{i} = 1\n" for i in range(1_100))
    (now / "heron.car.toml").write_text(f"{nonsense}[front]\nbody = 3\n", encoding="utf-8")
    found = compare(build_path(was), build_path(now))
    assert told(found)["front body"][0] == "long"
    assert found.mistakes


# --- which builds --------------------------------------------------------------------------------


def test_builds_are_named_by_path_or_by_id(tmp_path, monkeypatch):
    here = repository(tmp_path / "here")
    there = repository(tmp_path / "there", build={"front.left.hold_back": "7.4 mm"})
    monkeypatch.chdir(here)
    found = compare(build_path(there), "heron-quarry")
    assert told(found) == {"front.left hold_back": ("7.4 mm", "6.4 mm")}
    assert (found.new.build, found.new.car, found.new.event) == ("heron-quarry", "heron", "quarry")
    assert found.new.file == "heron-quarry.build.toml"
    assert found.old.revision is None


def test_a_new_that_is_no_build_is_refused(tmp_path, monkeypatch):
    monkeypatch.chdir(repository(tmp_path))
    with pytest.raises(PathError, match='did you mean "heron-quarry"'):
        compare("heron-quarry", "heron-qarry")


# --- properties ----------------------------------------------------------------------------------

_CHANGES = {
    "build": {
        "front.left.hold_back": ["0 mm", "6.6 mm", "8 mm", "40 mm", "6.4 mn", None],
        "front.limiter": ["0 mm", "3 mm"],
        "rear.oil": ["o450", "nowhere"],
        "style": ["emulsion", "bladder"],
        "front.air": ["0.2 ml"],
        "event": [None, "quarry"],
        "rear.label": [None, "o450"],
    },
    "parts": {
        "oil.o450.viscosity": ["300 cSt", "455 cSt", None],
        "body.long.oil": [None, "9.2 ml"],
        "bladder.deep.into_cap": [None, "0 mm^3", "300 mm^3"],
        "spring.soft.rate": ["0.82 N/mm ± 1 %", "1.2 N/mm"],
    },
    "event": {"hottest": ["60 degC", "39 degC"], "arrive_by": ["air"]},
    "car": {"front.corner_mass": [None, "800 g"], "rear.shaft": ["s35", "nowhere"]},
}


@st.composite
def repositories(draw: Any) -> dict[str, dict[str, Any]]:
    return {
        kind: {
            key: draw(st.sampled_from(some))
            for key, some in keys.items()
            if draw(st.integers(0, 2)) == 0
        }
        for kind, keys in _CHANGES.items()
    }


def _of_both(change: Change) -> Change:
    return replace(change, kind="", ratio=None)


@given(repositories(), repositories())
@FEW
def test_swapping_old_and_new_swaps_the_sides_and_a_build_is_as_it_is(old, new):
    with tempfile.TemporaryDirectory() as folder:
        was = build_path(repository(Path(folder) / "old", **old))
        now = build_path(repository(Path(folder) / "new", **new))
        there, back, none = compare(was, now), compare(now, was), compare(was, was)
    assert not none.changed and not none.changes and not none.figures and not none.verdicts
    swapped_changes = {
        replace(
            c, old=c.new, new=c.old, old_file=c.new_file, new_file=c.old_file, kind="", ratio=None
        )
        for c in back.changes
    }
    assert swapped_changes == {replace(c, kind="", ratio=None) for c in there.changes}
    swapped_verdicts = {(v.rule, v.subject, v.new, v.old) for v in back.verdicts}
    assert swapped_verdicts == {(v.rule, v.subject, v.old, v.new) for v in there.verdicts}
    assert [replace(f, old=f.new, new=f.old, difference=None) for f in back.figures] == [
        replace(f, difference=None) for f in there.figures
    ]
    for one, other in zip(there.figures, back.figures, strict=True):
        if one.difference is None:
            assert other.difference is None
        else:
            assert other.difference == pytest.approx(-one.difference)
    assert (there.same, there.not_known) == (back.same, back.not_known)


@pytest.mark.skipif(shutil.which("git") is None, reason="git is not installed")
def test_a_revision_that_a_clone_without_its_history_lacks_is_told_so(tmp_path, monkeypatch):
    for name in list(os.environ):
        if name.startswith("GIT_"):
            monkeypatch.delenv(name)
    whole = repository(tmp_path / "whole")
    who = ("-c", "user.name=bench", "-c", "user.email=bench@example.invalid")
    for words in (["init", "-q"], ["add", "."], ["commit", "-qm", "1"]):
        subprocess.run(["git", *who, *words], cwd=whole, check=True)
    (whole / "notes.txt").touch()
    for words in (["add", "."], ["commit", "-qm", "2"]):
        subprocess.run(["git", *who, *words], cwd=whole, check=True)
    words = ["clone", "-q", "--depth", "1", whole.as_uri(), str(tmp_path / "shallow")]
    subprocess.run(["git", *words], check=True)
    assert compare("HEAD~1", build_path(whole)).changed is False
    with pytest.raises(PathError, match=r"was this clone made without its history\?$"):
        compare("HEAD~1", build_path(tmp_path / "shallow"))
    with pytest.raises(PathError) as caught:
        compare("HEAD~2", build_path(whole))
    assert "without its history" not in str(caught.value)

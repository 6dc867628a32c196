"""A measure of one damper: bounds, what is missing, what moves it most."""

from __future__ import annotations

from dataclasses import replace
from math import inf, isfinite
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from buildlint.amounts import in_unit
from buildlint.bounds import Bounds, Swings
from buildlint.damper import Damper
from buildlint.figure import conditions_of, figure_of, share_of, speaks
from buildlint.measures import MEASURES, plan
from tests.making import dampers
from tests.sheet_damper import damper

CONDITIONS = ("bench", "cold", "hot")


def test_a_measure_speaks_of_the_dampers_that_it_has_sense_for():
    sealed, vented, unknown = (damper(cap=cap) for cap in ("sealed", "vented", None))
    pressure = MEASURES["cap_pressure"]
    assert [speaks(pressure, d) for d in (sealed, vented, unknown)] == [True, False, True]
    bladder, poured = damper(), damper(style="emulsion")
    for name in ("into_cap_use", "hold_back_window", "bladder"):
        assert speaks(MEASURES[name], bladder) and not speaks(MEASURES[name], poured)
    assert speaks(MEASURES["emulsion_use"], poured)
    assert not speaks(MEASURES["emulsion_use"], bladder)


@pytest.mark.parametrize(
    ("readings", "flown", "driven"),
    [
        ({}, False, False),
        ({"arrive_by": "air"}, True, False),
        ({"arrive_by": "air", "highest": 2000.0}, True, False),
        ({"arrive_by": "road"}, False, False),
        ({"arrive_by": "road", "highest": 2000.0}, False, True),
        # no bladder, no room in the cap that could be used up
        ({"arrive_by": "air", "style": "emulsion"}, False, False),
        ({"arrive_by": "road", "highest": 2000.0, "style": "emulsion"}, False, False),
    ],
)
def test_the_way_to_the_event_settles_what_is_worked_out_of_it(readings, flown, driven):
    made = damper(**readings)
    assert speaks(MEASURES["after_flight_use"], made) is flown
    assert speaks(MEASURES["road_use"], made) is driven


def test_only_what_depends_on_the_condition_has_more_than_one():
    raced = damper(event="quarry")
    assert conditions_of(MEASURES["viscosity"], raced) == CONDITIONS
    assert conditions_of(MEASURES["viscosity"], damper()) == ("bench",)
    assert conditions_of(MEASURES["wheel_rate"], raced) == ("bench",)


def test_what_is_missing_is_all_said_and_each_once():
    bare = Damper(end="front", side="left", spring="soft", piston="four")
    missing = figure_of(MEASURES["damping_ratio"], bare, "bench").missing
    assert {"rate of spring soft", "corner_mass of the car", "holes of piston four"} <= set(missing)
    assert len(missing) == len(set(missing))
    assert "taper_to of piston four" not in missing  # a piston may be without


def test_a_figure_without_bounds_has_its_words():
    found = figure_of(MEASURES["oil"], damper(oil="o450"), "bench")
    assert (found.bounds, found.words, found.missing) == (None, "o450", ())


def test_a_floor_holds_for_the_figure_and_both_bounds():
    """Free 68.1 ± 0.2 mm between seats 68 mm apart: play of -0.1 ± 0.2, which is 0 to 0.1 mm."""
    made = damper(
        seat_gap=68e-3, collar=0.0, free_length=68.1e-3, spread={"free_length": (67.9e-3, 68.3e-3)}
    )
    found = figure_of(MEASURES["spring_slack"], made, "bench").bounds
    assert found is not None
    assert (found.value, found.low, found.high) == (0.0, 0.0, pytest.approx(0.1e-3))


def test_what_was_worked_out_is_remembered_by_its_readings():
    known: dict[Any, Bounds | str] = {}
    one, other = damper(), damper(side="right")
    first = figure_of(MEASURES["damping"], one, "bench", known)
    assert len(known) == 1
    assert figure_of(MEASURES["damping"], other, "bench", known).bounds == first.bounds
    assert len(known) == 1
    figure_of(MEASURES["damping"], damper(bore=17e-3), "bench", known)
    assert len(known) == 2


def test_a_share_of_nothing_stays_nothing():
    assert share_of(Bounds(0.0, 0.0, 0.0), 0.0) == Bounds(0.0, 0.0, 0.0)
    swings = Swings(((0, 1.0),), ((0, 2.0),))
    found = share_of(Bounds(2.0, 1.0, 3.0, lambda: ("a",), lambda: swings), 4.0)
    assert found == Bounds(0.5, 0.25, 0.75)
    assert found.ask is not None
    assert found.ask() == Swings(((0, 0.25),), ((0, 0.5),))


# Figures nowhere cut off (at nothing, or where a cap locks), each of one condition: the
# shares are taken at the figure as read, where those that are cut off may lie flat.
_SMOOTH = [
    m
    for m in MEASURES.values()
    if not m.of
    and m.unit not in ("id", "yes", "step")
    and m.floor is None
    and m.name
    not in ("cap_pressure", "smallest_hold_back", "largest_hold_back", "hold_back_window")
]


@settings(max_examples=60)
@given(made=dampers(event=True), condition=st.sampled_from(CONDITIONS))
def test_tightening_the_reading_that_is_named_narrows_the_bounds_most(made, condition):
    """Each reading in turn is made exact. Within a fifth: the bounds of a figure that is not

    straight lie elsewhere than where the shares are taken.
    """
    made = replace(made, event="quarry")  # so that each reading has words of its own
    for measure in _SMOOTH:
        if not speaks(measure, made) or condition not in conditions_of(measure, made):
            continue
        found = figure_of(measure, made, condition).bounds
        if found is None or not isfinite(found.high) or found.high == found.low:
            continue
        widest = found.widest()
        if widest is None:
            continue
        narrowed: dict[str, float] = {}
        for name in plan(measure.name, condition).inputs:
            if name in made.spread:
                spread = {n: s for n, s in made.spread.items() if n != name}
                tight = figure_of(measure, replace(made, spread=spread), condition).bounds
                assert tight is not None
                gain = (found.high - found.low) - (tight.high - tight.low)
                narrowed[made.in_words(name)] = gain
        assert narrowed[widest[0]] >= 0.8 * max(narrowed.values()), measure.name


def test_the_widest_of_a_product_is_the_one_with_the_largest_share_of_itself():
    """k_w = k MR^2: k ± 5 % moves it by 5 %, MR ± 3 % by 6 %: 6 of 11 parts."""
    made = damper(spread={"spring_rate": (807.5, 892.5), "motion_ratio": (0.6305, 0.6695)})
    found = figure_of(MEASURES["wheel_rate"], made, "bench").bounds
    assert found is not None
    assert found.widest() == ("motion_ratio of the car", pytest.approx(6 / 11, abs=1e-3))
    assert in_unit(found.high, "N/mm") == pytest.approx(0.359125 * 1.05 * 1.03**2)


def test_nothing_is_named_where_nothing_varies_or_the_figure_has_no_end():
    exact = figure_of(MEASURES["wheel_rate"], damper(), "bench").bounds
    assert exact is not None and exact.widest() is None
    no_end = Bounds(1.0, 0.0, inf, lambda: ("a",), lambda: Swings(((0, inf),), ((0, inf),)))
    assert no_end.widest() is None


def test_readings_that_cannot_be_together_are_no_figure_and_it_is_said_why():
    known: dict[Any, Bounds | str] = {}
    for _ in range(2):  # worked out, then remembered
        found = figure_of(MEASURES["damping"], damper(shaft_diameter=17e-3), "bench", known)
        assert found.bounds is None
        assert len(found.missing) == 1
        assert found.missing[0].startswith("readings that go together (the shaft, ")

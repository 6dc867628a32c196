"""Points of the plots: against the formulas of physics, and arithmetic by hand."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import ceil, pi

import pytest
from hypothesis import given

from buildlint.judging.curves import Forces, Missing, Room, Thinning, forces, room, thinning
from buildlint.judging.values import value_of
from buildlint.measures.damper import Damper
from buildlint.physics import flow, gas, oil
from buildlint.team.assembly import dampers
from buildlint.team.selection import find_build
from tests.making import dampers as random_dampers


def heron(end=0):
    team, path = find_build("examples/saltmarsh/builds/heron-quarry.build.toml")
    return dampers(team, team.file(path))[end]


# Shaft 3.5 mm, stroke 30 mm, bore 16 mm, 4 x 1.8 mm, 375 cSt, 968 kg/m^3.
SHEET = Damper(
    end="front",
    side="left",
    bore=16e-3,
    stroke=30e-3,
    shaft_diameter=3.5e-3,
    cap="vented",
    oil_volume=9e-6,
    expansion=9.6e-4,
    bladder_into_body=300e-9,
    bladder_into_cap=200e-9,
    holes=((4, 1.8e-3),),
    piston_thickness=2.5e-3,
    viscosity_given=375e-6,
    viscosity_given_at=298.15,
    slope_given=1757.0,
    density=968.0,
    bench_temperature=298.15,
    bench_altitude=0.0,
)


def test_room_at_the_bench_is_the_shaft_over_the_room():
    found = room(SHEET)
    assert isinstance(found, Room)
    (body,), (cap,) = found.into_body, found.into_cap
    area = pi * 3.5e-3**2 / 4
    for (h, into_body), (same, into_cap) in zip(body.points, cap.points, strict=True):
        assert h == same
        assert into_body == pytest.approx(area * (30e-3 - h) / 300e-9)
        assert into_cap == pytest.approx(area * h / 200e-9)
    assert (body.points[0][0], body.points[-1][0]) == (0.0, pytest.approx(30e-3))
    # by hand: 288.634 mm^3 over the stroke fits 300 mm^3; 200 mm^3 over 9.621 mm^2 is 20.788 mm
    assert found.window == pytest.approx((0.0, 20.788e-3), abs=1e-6)


def test_room_needs_no_planned_hold_back_and_is_the_same_whatever_is_planned():
    planned = replace(SHEET, hold_back=6.4e-3)
    refused = replace(SHEET, refused=frozenset({"hold_back"}))
    assert room(planned) == room(SHEET) == room(refused)


def test_room_at_each_condition_agrees_with_the_measures_at_the_planned_hold_back():
    damper = heron()
    found = room(damper)
    assert isinstance(found, Room)
    assert [c.condition for c in found.into_body] == ["bench", "cold", "hot"]
    for name, curves in (("into_body_use", found.into_body), ("into_cap_use", found.into_cap)):
        for curve in curves:
            for h, use in curve.points[::20]:
                there = replace(damper, hold_back=h, spread={})
                assert use == pytest.approx(value_of(there, name, curve.condition))


def test_the_window_is_within_the_stroke_and_may_be_a_single_hold_back():
    for smallest, largest, window in (
        (-5e-3, 40e-3, (0.0, 30e-3)),
        (5e-3, 8e-3, (5e-3, 8e-3)),
        (5e-3, 5e-3, (5e-3, 5e-3)),
        (5e-3, 4.9e-3, None),
    ):
        assert Room((), (), 30e-3, smallest, largest).window == window


def test_what_is_used_is_never_less_than_nothing():
    """Filled at 40 degC, the oil shrinks at 0: with no shaft held back the cap takes none."""
    found = room(
        replace(
            SHEET,
            bench_temperature=313.15,
            event="e",
            event_altitude=0.0,
            coldest=273.15,
            hottest=283.15,
        )
    )
    assert isinstance(found, Room)
    assert [curve.points[0] for curve in found.into_cap] == [(0.0, 0.0)] * 3


def test_no_window_where_both_rooms_together_are_less_than_the_shaft():
    # 288.634 mm^3 into 140 + 140
    found = room(replace(SHEET, bladder_into_body=140e-9, bladder_into_cap=140e-9))
    assert isinstance(found, Room)
    assert found.window is None


def test_what_is_missing_for_the_room_is_named():
    assert room(replace(SHEET, bladder_into_cap=None, bladder="b")) == Missing(
        ("into_cap of bladder b",)
    )
    assert room(replace(SHEET, bladder_into_cap=0.0)) == Missing(("a bladder that gives any room",))


def test_a_condition_that_lacks_its_temperature_is_left_out_and_said():
    # the window is that of all conditions together
    assert room(replace(SHEET, event="e", event_altitude=0.0, coldest=290.0)) == Missing(
        ("hottest of event e",)
    )
    cold = thinning(replace(SHEET, event="e", event_altitude=0.0, coldest=290.0))
    assert isinstance(cold, Thinning)
    assert [name for name, _ in cold.marks] == ["bench", "cold"]
    pushed = forces(replace(SHEET, event="e", event_altitude=0.0, coldest=290.0))
    assert isinstance(pushed, Forces)
    assert [c.condition for c in pushed.curves] == ["bench", "cold"]
    assert pushed.missing == ("hottest of event e",)


def test_viscosity_follows_the_law_of_one_point():
    found = thinning(replace(SHEET, coldest=283.15, hottest=313.15, event="e"))
    assert isinstance(found, Thinning)
    assert found.points[0][0] == pytest.approx(279.15)
    assert found.points[-1][0] == pytest.approx(317.15)
    for temperature, viscosity in found.points:
        law = oil.viscosity_at(375e-6, 298.15, temperature, 1757.0)
        assert viscosity == pytest.approx(law)
    assert all(b[1] < a[1] for a, b in pairwise(found.points))


def test_viscosity_needs_no_bench_temperature():
    found = thinning(replace(SHEET, bench_temperature=None))
    assert isinstance(found, Thinning) and found.marks == ()
    assert thinning(replace(SHEET, viscosity_given=None, oil="o")) == Missing(
        ("viscosity of oil o",)
    )


def test_force_is_that_of_the_flow_until_it_cavitates_going_in():
    found = forces(SHEET)
    assert isinstance(found, Forces)
    (curve,) = found.curves
    # 101325 Pa on pi/4 (16^2 - 3.5^2) mm^2 are 19.398 N; c v + q v^2 = 19.398 N, with c 45.959
    # N s/m and 288.58 N at 2 m/s, so q 49.166, has the root 0.316 m/s
    assert curve.speed == pytest.approx(0.316, abs=5e-4)
    assert curve.ceiling == pytest.approx(19.398, abs=5e-4)
    density = oil.density_at(968.0, 298.15, 9.6e-4)
    viscosity = oil.dynamic(375e-6, density)
    for speed, force in curve.points:
        free = flow.force(speed, 16e-3, 3.5e-3, ((4, 1.8e-3),), 2.5e-3, viscosity, density)
        assert force == pytest.approx(min(free, curve.ceiling))
    assert curve.points[0][0] == -found.fastest and curve.points[-1][0] == found.fastest
    assert curve.points[-1][1] == pytest.approx(19.398, abs=5e-4)
    assert curve.points[0][1] < -19.398  # going out has no such ceiling
    assert any(speed == curve.speed for speed, _ in curve.points)


def test_the_ceiling_is_lower_up_the_mountain():
    there = replace(SHEET, event="e", event_altitude=2000.0, coldest=298.15, hottest=298.15)
    found = forces(there)
    assert isinstance(found, Forces)
    ceilings = {c.condition: c.ceiling for c in found.curves}
    ratio = gas.standard_pressure(2000.0) / 101325.0
    assert ceilings["hot"] == pytest.approx(ceilings["bench"] * ratio, rel=1e-6)


@pytest.mark.parametrize(
    ("changes", "fastest"),
    [
        ({}, 0.6),  # 1.6 times 0.316 m/s, up to the next tenth
        ({"holes": ((8, 3e-3),), "viscosity_given": 20e-6}, 3.0),  # it never cavitates below
        ({"viscosity_given": 5e-3}, 0.2),
    ],
)
def test_force_is_drawn_well_past_the_speed_at_which_the_oil_cavitates(changes, fastest):
    found = forces(replace(SHEET, **changes))
    assert isinstance(found, Forces) and found.fastest == fastest


def test_force_is_drawn_past_the_greatest_speed_of_all_conditions():
    """The oil is thinner when hot, so that it cavitates at a greater speed there."""
    there = replace(SHEET, event="e", event_altitude=0.0, coldest=278.15, hottest=328.15)
    found = forces(there)
    assert isinstance(found, Forces)
    speeds = [curve.speed for curve in found.curves]
    assert max(speeds) > 1.5 * min(speeds)
    assert found.fastest == ceil(16.0 * max(speeds)) / 10.0


def test_force_is_rough_past_the_lowest_speed_of_a_reynolds_number_of_5():
    """Re = V d / nu, with V the speed in the holes: 5 * 375 / 1.8 mm/s over the areas' ratio."""
    there = replace(SHEET, event="e", event_altitude=0.0, coldest=288.15, hottest=308.15)
    found, hot = forces(there), value_of(there, "viscosity", "hot")
    assert isinstance(found, Forces)
    ratio = 4 * 1.8**2 / (16.0**2 - 3.5**2)
    assert found.rough == pytest.approx(5.0 * hot / 1.8e-3 * ratio)


def test_what_is_missing_for_the_force_is_named():
    assert forces(replace(SHEET, holes=None, piston="p")) == Missing(("holes of piston p",))


@given(random_dampers())
def test_any_damper_gives_points_that_keep_their_order(damper):
    found = forces(damper)
    assert isinstance(found, Forces)
    for curve in found.curves:
        assert all(a[0] < b[0] and a[1] <= b[1] + 1e-9 for a, b in pairwise(curve.points))
    rooms = room(damper)
    assert isinstance(rooms, Room)
    for body, cap in zip(rooms.into_body, rooms.into_cap, strict=True):
        assert all(a[1] >= b[1] - 1e-12 for a, b in pairwise(body.points))
        assert all(a[1] <= b[1] + 1e-12 for a, b in pairwise(cap.points))

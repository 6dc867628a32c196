"""Areas, displacement, hold-back and bladder room."""

import math

import pytest
from fluids.geometry import V_partial_sphere
from hypothesis import given
from hypothesis import strategies as st

from buildlint.physics import displacement

MM = 1e-3
MM3 = 1e-9
SHAFT = 3.5 * MM

shafts = st.floats(1e-3, 6e-3)
strokes = st.floats(5e-3, 60e-3)
shares = st.floats(0.0, 1.0)
volumes = st.floats(-500e-9, 500e-9)


@pytest.mark.parametrize(
    ("hold_back", "into_cap", "into_body"),
    [(0, 0, 288.634), (5, 48.106, 240.528), (10, 96.211, 192.423), (30, 288.634, 0)],
)
def test_needs_with_a_shaft_of_3_5_mm_and_a_stroke_of_30_mm(
    hold_back: float, into_cap: float, into_body: float
) -> None:
    # Areas times lengths (SOURCES.md, 2).
    cap = displacement.need_into_cap(SHAFT, hold_back * MM, 0.0, 0.0)
    body = displacement.need_into_body(SHAFT, 30 * MM, hold_back * MM, 0.0, 0.0)
    assert cap / MM3 == pytest.approx(into_cap, abs=5e-4)
    assert body / MM3 == pytest.approx(into_body, abs=5e-4)


def test_need_into_cap_when_the_oil_has_grown() -> None:
    # Derived: 10 mm of a 3.5 mm shaft and 240.084 mm^3 of growth.
    need = displacement.need_into_cap(SHAFT, 10 * MM, 240.084 * MM3, 0.0)
    assert need / MM3 == pytest.approx(336.295, abs=5e-4)


@given(shafts, strokes, shares)
def test_needs_add_up_to_the_shaft_when_nothing_grows(
    shaft: float, stroke: float, share: float
) -> None:
    hold_back = share * stroke
    cap = displacement.need_into_cap(shaft, hold_back, 0.0, 0.0)
    body = displacement.need_into_body(shaft, stroke, hold_back, 0.0, 0.0)
    assert cap + body == pytest.approx(math.pi / 4 * shaft**2 * stroke, rel=1e-12)


def test_growth_and_air_move_need_from_the_body_to_the_cap() -> None:
    grown = 30 * MM3
    air = 12 * MM3
    cap = displacement.need_into_cap(SHAFT, 10 * MM, grown, air)
    body = displacement.need_into_body(SHAFT, 30 * MM, 10 * MM, grown, air)
    assert cap / MM3 == pytest.approx(96.211 + 42, abs=5e-4)
    assert body / MM3 == pytest.approx(192.423 - 42, abs=5e-4)


def test_a_need_is_never_below_zero() -> None:
    assert displacement.need_into_cap(SHAFT, 1 * MM, -100 * MM3, 0.0) == 0.0
    assert displacement.need_into_body(SHAFT, 30 * MM, 29 * MM, 50 * MM3, 50 * MM3) == 0.0


@given(shafts, strokes, st.floats(0.0, 1e-6), volumes, volumes)
def test_room_into_the_body_is_just_used_at_the_smallest_hold_back(
    shaft: float, stroke: float, room: float, growth: float, air: float
) -> None:
    hold_back = displacement.smallest_hold_back(shaft, stroke, room, growth, air)
    need = displacement.need_into_body(shaft, stroke, hold_back, growth, air)
    assert need == pytest.approx(room, abs=1e-18)


@given(shafts, st.floats(0.0, 1e-6), volumes, volumes)
def test_room_into_the_cap_is_just_used_at_the_largest_hold_back(
    shaft: float, room: float, growth: float, air: float
) -> None:
    hold_back = displacement.largest_hold_back(shaft, room, growth, air)
    need = displacement.need_into_cap(shaft, hold_back, growth, air)
    assert need == pytest.approx(room, abs=1e-18)


def test_hold_backs_are_not_clipped_to_the_stroke() -> None:
    # By hand: a whole stroke is 288.634 mm^3, so each of these is one stroke over.
    stroke = 30 * MM
    whole = 288.634 * MM3
    assert displacement.smallest_hold_back(SHAFT, stroke, 2 * whole, 0.0, 0.0) == pytest.approx(
        -stroke, rel=1e-5
    )
    assert displacement.largest_hold_back(SHAFT, 2 * whole, 0.0, 0.0) == pytest.approx(
        2 * stroke, rel=1e-5
    )
    assert displacement.largest_hold_back(SHAFT, 0.0, whole, 0.0) == pytest.approx(
        -stroke, rel=1e-5
    )


def test_the_annulus_is_the_bore_less_the_shaft() -> None:
    # By hand: pi/4 (16^2 - 3.5^2) mm^2.
    area = displacement.annulus_area(16 * MM, SHAFT)
    assert area == pytest.approx(math.pi / 4 * (256 - 12.25) * 1e-6, rel=1e-14)


def test_a_spherical_cap() -> None:
    # fluids prints 245.0442 mm^3 for a rim of radius 7 mm and a depth of 3 mm.
    volume = displacement.spherical_cap_volume(7 * MM, 3 * MM)
    assert volume / MM3 == pytest.approx(245.0442, abs=5e-5)


@given(st.floats(1e-3, 20e-3), st.floats(1e-4, 20e-3))
def test_a_spherical_cap_against_fluids(rim: float, depth: float) -> None:
    sphere = (rim * rim + depth * depth) / (2 * depth)
    expected = V_partial_sphere(2 * sphere, depth)
    # The library subtracts near-equal parts of a wide sphere, which costs it digits.
    slack = 1e-14 * sphere**3
    volume = displacement.spherical_cap_volume(rim, depth)
    assert volume == pytest.approx(expected, rel=1e-9, abs=slack)


def test_a_frustum() -> None:
    # Derived: radii 7 and 5 mm, depth 4 mm.
    volume = displacement.frustum_volume(7 * MM, 5 * MM, 4 * MM)
    assert volume / MM3 == pytest.approx(456.578, abs=5e-4)


def test_a_frustum_between_equal_and_vanishing_faces() -> None:
    # Geometry: a cylinder, and a third of it.
    cylinder = math.pi * 49 * 4 * MM3
    assert displacement.frustum_volume(7 * MM, 7 * MM, 4 * MM) == pytest.approx(cylinder)
    assert displacement.frustum_volume(7 * MM, 0.0, 4 * MM) == pytest.approx(cylinder / 3)


def test_room_of_a_cup_is_estimated_at_0_8_of_its_cap() -> None:
    assert displacement.CUP_SHARE == 0.8
    assert displacement.cup_room(7 * MM, 3 * MM) / MM3 == pytest.approx(0.8 * 245.0442, abs=5e-5)


@pytest.mark.parametrize("bore", [3.5 * MM, 3.0 * MM, 0.0, math.nan, math.inf])
def test_a_bore_no_larger_than_its_shaft_gives_nan(bore: float) -> None:
    assert math.isnan(displacement.annulus_area(bore, SHAFT))


@pytest.mark.parametrize("bad", [0.0, -1e-3, math.nan, math.inf])
def test_a_diameter_that_cannot_be_gives_nan(bad: float) -> None:
    assert math.isnan(displacement.circle_area(bad))
    assert math.isnan(displacement.need_into_cap(bad, 0.0, 0.0, 0.0))
    assert math.isnan(displacement.annulus_area(16 * MM, bad))
    assert math.isnan(displacement.cup_room(bad, 3 * MM))


def test_numbers_out_of_range_give_nan() -> None:
    assert math.isnan(displacement.need_into_cap(SHAFT, 0.0, math.nan, 0.0))
    assert math.isnan(displacement.need_into_body(SHAFT, 30 * MM, 0.0, 0.0, math.inf))
    assert math.isnan(displacement.need_into_cap(SHAFT, math.nan, 0.0, 0.0))
    assert math.isnan(displacement.need_into_body(SHAFT, -30 * MM, 0.0, 0.0, 0.0))
    assert math.isnan(displacement.smallest_hold_back(SHAFT, 30 * MM, -1e-9, 0.0, 0.0))
    assert math.isnan(displacement.largest_hold_back(SHAFT, -1e-9, 0.0, 0.0))
    assert math.isnan(displacement.spherical_cap_volume(7 * MM, -3 * MM))
    assert math.isnan(displacement.frustum_volume(7 * MM, -5 * MM, 4 * MM))


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_growth_and_air_that_are_no_number_give_nan_everywhere(bad: float) -> None:
    for growth, air in ((bad, 0.0), (0.0, bad)):
        assert math.isnan(displacement.need_into_cap(SHAFT, 0.0, growth, air))
        assert math.isnan(displacement.need_into_body(SHAFT, 30 * MM, 0.0, growth, air))
        assert math.isnan(displacement.smallest_hold_back(SHAFT, 30 * MM, 1e-7, growth, air))
        assert math.isnan(displacement.largest_hold_back(SHAFT, 1e-7, growth, air))


def test_shapes_and_strokes_that_cannot_be_give_nan() -> None:
    assert math.isnan(displacement.smallest_hold_back(SHAFT, -30 * MM, 1e-7, 0.0, 0.0))
    assert math.isnan(displacement.frustum_volume(0.0, 5 * MM, 4 * MM))
    assert math.isnan(displacement.frustum_volume(7 * MM, 5 * MM, -4 * MM))


@pytest.mark.parametrize(("room", "need", "expected"), [(250, 40, 1.1), (460, 60, 2.1)])
def test_the_slack_after_cavitation_is_what_is_left_of_the_room(
    room: float, need: float, expected: float
) -> None:
    # Derived: 1.1 to 2.1 mm for rooms of 250 and 460 mm^3 less a need of 40 and 60.
    slack = displacement.void_stroke(0.016, 0.0035, room * 1e-9, need * 1e-9)
    assert slack * 1e3 == pytest.approx(expected, abs=0.05)
    # signed: a bladder that has used more than its room leaves less than none
    short = displacement.void_stroke(0.016, 0.0035, need * 1e-9, room * 1e-9)
    assert short == pytest.approx(-slack)


def test_slack_of_no_room_or_no_bore_gives_nan() -> None:
    assert math.isnan(displacement.void_stroke(0.016, 0.0035, -1e-9, 0.0))
    assert math.isnan(displacement.void_stroke(0.016, 0.0035, 1e-9, -1e-9))
    assert math.isnan(displacement.void_stroke(0.0035, 0.016, 1e-9, 0.0))


def test_the_rebound_says_where_the_bladder_rests() -> None:
    # Derived: max(h, r S), and the shaft's area times r S - h; a cap that goes on 0.5 mm after a
    # rim of 14 mm seals pushes in 77 mm^3, 8 mm of a 3.5 mm shaft.
    pushed = math.pi * 14**2 / 4 * 0.5
    assert pushed == pytest.approx(77, abs=0.5)
    rebound = (6.4 + pushed / (math.pi * 3.5**2 / 4)) / 30
    assert displacement.neutral_point(rebound, 30 * MM, 6.4 * MM) == pytest.approx(
        14.4 * MM, rel=1e-3
    )
    assert displacement.sealed_in(SHAFT, rebound, 30 * MM, 6.4 * MM) == pytest.approx(pushed * MM3)
    assert displacement.neutral_point(0.1, 30 * MM, 6.4 * MM) == 6.4 * MM
    assert displacement.sealed_in(SHAFT, 0.1, 30 * MM, 6.4 * MM) < 0.0


@pytest.mark.parametrize(("rebound", "stroke"), [(-0.1, 0.03), (1.1, 0.03), (0.5, -0.01)])
def test_a_rebound_that_cannot_be_gives_nan(rebound: float, stroke: float) -> None:
    assert math.isnan(displacement.neutral_point(rebound, stroke, 0.005))
    assert math.isnan(displacement.sealed_in(SHAFT, rebound, stroke, 0.005))


def test_a_shaft_that_comes_back_all_the_way_or_not_at_all_is_read() -> None:
    # 30 mm, or nothing, of a shaft of 3.5 mm, less the 5 mm held back: 9.6211 mm^2 times 25 or -5
    assert displacement.neutral_point(1.0, 30 * MM, 5 * MM) == pytest.approx(30 * MM)
    assert displacement.neutral_point(0.0, 30 * MM, 5 * MM) == pytest.approx(5 * MM)
    area = math.pi * 3.5**2 / 4
    assert displacement.sealed_in(SHAFT, 1.0, 30 * MM, 5 * MM) == pytest.approx(area * 25 * MM3)
    assert displacement.sealed_in(SHAFT, 0.0, 30 * MM, 5 * MM) == pytest.approx(-area * 5 * MM3)

"""What must hold of measures whatever the damper."""

from __future__ import annotations

from dataclasses import replace
from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlint.judging.values import value_of
from buildlint.measures.graph import CONDITIONS
from tests.making import dampers, with_reading

AT_ANY = st.sampled_from(CONDITIONS)


@given(dampers())
def test_needs_both_ways_add_up_to_the_displacement_at_the_bench(damper):
    """Geometry: A_s h + A_s (S - h) = A_s S, for 0 <= h <= S."""
    together = value_of(damper, "into_cap_need") + value_of(damper, "into_body_need")
    assert together == pytest.approx(value_of(damper, "displacement"), rel=1e-9)


# reading, so much more of it, the condition; what then never falls, what never rises
GOES = [
    ("hold_back", 3e-3, None, "into_cap_need into_cap_use", "into_body_need into_body_use"),
    ("hottest", 40.0, "hot", "into_cap_need", "into_body_need viscosity damping"),
    ("event_altitude", 2000.0, "cold", "into_cap_use after_flight_use", "cavitation_speed"),
    ("event_altitude", 2000.0, "hot", "into_cap_use after_flight_use", "cavitation_speed"),
    ("bench_altitude", 2000.0, "bench", "", "cavitation_speed"),
    ("highest", 2000.0, None, "road_use", ""),
    ("viscosity_given", 1e-3, None, "damping damping_ratio pack_speed", "cavitation_speed"),
    ("spring_rate", 300.0, None, "ride_frequency wheel_rate", "damping_ratio sag"),
    ("corner_mass", 0.4, None, "sag", "ride_frequency damping_ratio"),
    ("limiter", 2e-3, None, "hold_back_share", "displacement into_body_use spring_slack"),
]


@pytest.mark.parametrize(("reading", "most", "only_at", "rises", "falls"), GOES)
@given(damper=dampers(event=True), share=st.floats(0.0, 1.0), condition=AT_ANY)
def test_more_of_a_reading_moves_a_figure_one_way_alone(
    reading, most, only_at, rises, falls, damper, share, condition
):
    """Each follows from its formula; where two points give the slope, both viscosities rise."""
    at = only_at or condition
    one = replace(damper, event="quarry", stroke=damper.stroke + 8e-3, spread={})
    before = getattr(one, reading)
    more = replace(one, **{reading: before + most * share})
    if reading == "viscosity_given" and one.second_viscosity is not None:
        factor = more.viscosity_given / before
        more = replace(more, second_viscosity=one.second_viscosity * factor)
    for names, sign in ((rises, 1.0), (falls, -1.0)):
        for name in names.split():
            was, now = value_of(one, name, at), value_of(more, name, at)
            assert was == now or sign * (now - was) >= -1e-12 * abs(was), name


@given(damper=dampers(event=True), higher=st.floats(10.0, 2000.0))
def test_behind_a_sealed_cap_the_height_of_the_event_has_no_say(damper, higher):
    up = with_reading(damper, "event_altitude", damper.event_altitude + higher)
    was, now = (value_of(d, "cavitation_speed", "hot") for d in (damper, up))
    assert now == was if damper.cap == "sealed" else now < was


@given(damper=dampers(), volume=st.floats(1e-6, 20e-6))
def test_the_oil_volume_has_no_say_at_the_bench(damper, volume):
    other = with_reading(damper, "oil_volume", volume)
    for name in ("into_cap_need", "into_body_need"):
        assert value_of(damper, name) == value_of(other, name)


@given(damper=dampers(event=True), less=st.floats(0.0, 1.0), hotter=st.floats(0.0, 40.0))
def test_an_emulsion_needs_no_less_with_more_hold_back_or_more_heat(damper, less, hotter):
    made = replace(damper, style="emulsion", air=500e-9)
    shorter = replace(made, hold_back=made.hold_back * less)
    warmer = replace(made, hottest=made.hottest + hotter)
    low, middle, high = (value_of(d, "emulsion_use", "hot") for d in (shorter, made, warmer))
    assert low <= middle + 1e-12 and middle <= high + 1e-12


@given(damper=dampers(every=True))
def test_needs_uses_play_and_sag_are_never_below_nothing(damper):
    for name in ("into_cap_need", "into_body_need", "into_cap_use", "into_body_use"):
        for condition in CONDITIONS if damper.coldest is not None else CONDITIONS[:1]:
            assert 0.0 <= value_of(damper, name, condition) <= inf
    for name in ("emulsion_use", "spring_slack", "sag", "sag_share"):
        assert 0.0 <= value_of(damper, name) <= inf


@given(damper=dampers(event=True))
def test_the_window_is_where_both_needs_meet_their_rooms(damper):
    """At the smallest hold-back some condition uses all the room into the body, none more;

    at the largest, all the room into the cap.
    """
    for edge, use in (
        ("smallest_hold_back", "into_body_use"),
        ("largest_hold_back", "into_cap_use"),
    ):
        there = replace(damper, hold_back=value_of(damper, edge))
        used = [value_of(there, use, condition) for condition in CONDITIONS]
        assert max(used) == pytest.approx(1.0, rel=1e-6)

"""What a measure stands on, told from the names of parameters; the vocabulary as a whole."""

from __future__ import annotations

import importlib
import pkgutil
from collections import Counter
from dataclasses import fields, replace
from itertools import permutations
from typing import Any

import numpy as np
import pytest

from buildlint import measures
from buildlint.judging.values import conditions_of, lacking
from buildlint.judging.weigh import speaks
from buildlint.measures import MEASURES, graph, vocabulary
from buildlint.measures.arrays import Batch
from buildlint.measures.damper import Damper
from buildlint.measures.evaluate import Figures
from buildlint.measures.graph import (
    CONDITIONS,
    FUNCTIONS,
    is_conditional,
    needs,
    needs_event,
    parameters,
    refusals_of,
    stands_on,
)
from buildlint.measures.lookups import LOOKUPS
from buildlint.measures.missing import missing_for
from tests.measures.test_figures import CAR, GAPS, PLAIN, WIRE

READINGS = {field.name for field in fields(Damper)}
MODULES = [
    importlib.import_module(f"{measures.__name__}.{name}")
    for name in ("bladder", "damping", "heat_and_air", "record", "springs")
]

# --- the vocabulary ------------------------------------------------------------------------------

PROMISED = """
    hold_back length rebound limiter collar body_length stroke oil_volume viscosity_given density
    runtime body shaft piston bladder oil spring displacement hold_back_share smallest_hold_back
    largest_hold_back piston_clearance spring_rate wheel_rate ride_frequency coil_gap spring_slack
    days_before_event steps_missing label_agrees into_body_need into_cap_need into_body_use
    into_cap_use cap_pressure viscosity damping damping_ratio cavitation_speed pack_speed
    viscosity_spread damping_balance frequency_balance hold_back_window void_stroke
"""
OF_A_CONDITION = """
    into_body_need into_cap_need into_body_use into_cap_use cap_pressure viscosity damping
    damping_ratio cavitation_speed pack_speed void_stroke damping_balance
"""


@pytest.mark.parametrize("name", PROMISED.split())
def test_what_is_promised_is_there_and_depends_on_the_condition_where_that_is_said(name: str):
    assert name in MEASURES
    assert is_conditional(name) is (name in OF_A_CONDITION.split())


@pytest.mark.parametrize("measure", MEASURES.values(), ids=lambda m: m.name)
def test_every_measure_is_worked_out_looked_up_or_read(measure):
    worked_out_by = measure.of or measure.against or measure.name
    assert worked_out_by in FUNCTIONS or worked_out_by in LOOKUPS or worked_out_by in READINGS
    assert measure.about in READINGS, "`about` is the reading that a finding points at"
    assert measure.means and measure.in_words
    assert not measure.of or measure.of in MEASURES
    listed = {
        "mm",
        "mm^3",
        "cSt",
        "N s/m",
        "N/mm",
        "Hz",
        "m/s",
        "kPa",
        "g/cm^3",
        "1",
        "day",
        "h",
    } | {"degC"}
    assert measure.unit in listed | {"id", "yes", "step"}
    for condition in CONDITIONS:
        assert set(needs(measure.name, condition).readings) <= READINGS | LOOKUPS.keys()


@pytest.mark.parametrize("name", FUNCTIONS)
def test_every_parameter_is_a_reading_a_function_or_of_the_condition(name: str):
    wanted, free = parameters(FUNCTIONS[name])
    assert set(wanted) <= READINGS | FUNCTIONS.keys() | graph.AT.keys()
    assert free <= READINGS, "only a reading may be left out"
    for refusal in refusals_of(name):
        code = refusal.where.__code__
        assert set(code.co_varnames[: code.co_argcount]) <= (
            READINGS | FUNCTIONS.keys() | graph.AT.keys()
        )


def test_no_name_stands_for_two_things():
    """A later line of the vocabulary, or a later function, would take the earlier one's place."""
    lines = Counter(measure.name for measure in vocabulary._LINES)
    functions = Counter(name for module in MODULES for name in graph._functions(module))
    assert [name for name, count in lines.items() if count > 1] == []
    assert [name for name, count in functions.items() if count > 1 or name in READINGS] == []
    assert not FUNCTIONS.keys() & LOOKUPS.keys()


def test_every_module_of_measures_is_looked_into():
    others = {
        "arrays",
        "evaluate",
        "graph",
        "lookups",
        "marks",
        "missing",
        "uncertainty",
        "vocabulary",
    }
    others |= {"cap_label", "damper", "origin"}
    here = {found.name for found in pkgutil.iter_modules(measures.__path__)} - others
    looked_into = {function.__module__.rpartition(".")[2] for function in FUNCTIONS.values()}
    assert here == looked_into, "list it in measures/graph.py"


# --- what a measure stands on --------------------------------------------------------------------


def test_readings_come_in_the_order_of_need_and_each_only_once():
    assert needs("hold_back_share").readings == ("hold_back", "stroke", "limiter")
    assert needs("sag_share").readings == (
        *("seat_gap", "collar", "limiter", "free_length"),
        *("spring_rate", "motion_ratio", "corner_mass", "stroke"),
    )


def test_temperature_and_altitude_are_those_of_the_condition():
    here = {c: set(needs("cavitation_speed", c).readings) for c in CONDITIONS}
    assert {"bench_temperature", "bench_altitude"} <= here["bench"]
    assert not here["bench"] & {"coldest", "hottest", "event_altitude"}
    assert {"coldest", "event_altitude"} <= here["cold"] and "hottest" not in here["cold"]
    assert {"hottest", "event_altitude"} <= here["hot"] and "coldest" not in here["hot"]


def test_what_has_changed_since_the_bench_is_nothing_there_and_asks_for_nothing():
    assert needs("into_cap_need", "bench").readings == ("shaft_diameter", "hold_back")
    hot = set(needs("into_cap_need", "hot").readings)
    assert {"oil_volume", "expansion", "hottest", "bench_temperature", "air", "cap"} <= hot


def test_what_is_taken_over_all_conditions_needs_the_event_only_where_there_is_one():
    here = needs("smallest_hold_back")
    assert {"coldest", "hottest", "event_altitude", "oil_volume"} <= here.of_event
    assert set(here.required) == {"shaft_diameter", "stroke", "limiter", "bladder_into_body"}
    alone = Damper(
        end="front", side="left", **{**PLAIN, "coldest": None, "hottest": None}, event=None
    )
    assert lacking(alone, "smallest_hold_back") == ()
    assert lacking(replace(alone, event="quarry"), "smallest_hold_back") == (
        "coldest of event quarry",
        "hottest of event quarry",
    )


def test_a_reading_that_one_step_needs_is_not_optional_because_another_can_do_without():
    """A cap's gas only limits the room that a bladder has, but is what presses on it."""
    assert "gas_volume" in needs("into_cap_use").optional
    assert "gas_volume" in needs("cap_pressure").required
    assert needs("damping").optional >= {"taper_to", "slope_given", "second_viscosity"}
    assert "hold_back" in needs("emulsion_use").optional


def test_what_a_measure_is_about_counts_among_what_it_stands_on():
    assert stands_on("displacement") == {"shaft_diameter", "stroke", "limiter", "shaft"}
    assert {"coldest", "hottest", "oil"} <= stands_on("viscosity")


@pytest.mark.parametrize(
    ("name", "wanted"),
    [("viscosity", True), ("smallest_hold_back", True), ("wheel_rate", False), ("length", False)],
)
def test_an_event_is_needed_by_what_heat_and_height_move(name: str, wanted: bool):
    assert needs_event(name) is wanted


def test_only_what_depends_on_the_condition_has_more_than_one():
    damper = Damper(end="front", side="left")
    raced = replace(damper, event="quarry")
    assert conditions_of(raced, "viscosity") == CONDITIONS
    assert conditions_of(damper, "viscosity") == ("bench",)
    assert conditions_of(raced, "wheel_rate") == ("bench",)


def test_what_is_missing_of_several_dampers_is_said_once_or_with_its_end():
    pair = [
        Damper(end=end, side="left", spring="soft", corner_mass=0.8) for end in ("front", "rear")
    ]
    assert missing_for(["wheel_rate"], pair, "bench") == (
        "rate of spring soft",
        "motion_ratio of the car",
    )
    assert missing_for(["spring_rate"], pair, "bench", by_end=True) == (
        "rate of spring soft at the front",
        "rate of spring soft at the rear",
    )
    alone = {**PLAIN, "coldest": None, "hottest": None}
    one = Damper(end="front", side="left", spring="soft", **alone)
    assert missing_for(["spring_rate", "viscosity"], [one], "bench", at_event=True) == (
        "rate of spring soft",
        "an event",
    )


# --- of which dampers a measure speaks -----------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "readings", "spoken"),
    [
        ("collar", {}, False),
        ("collar", {"spring": "soft"}, True),
        ("collar", {"collar": 1e-3}, True),
        ("piston_to_spare", {}, False),
        ("bladder_bore_off", {}, False),
        ("bladder_bore_off", {"bladder_bore": 16e-3}, True),
        ("bladder_bore_off", {"bladder_bore": 16e-3, "style": "emulsion"}, False),
        ("piston_to_spare", {"largest_piston": 15.95e-3}, True),
        ("rate_disagreement", {"rate_given": 850.0}, False),
        ("rate_disagreement", {"rate_given": 850.0, **WIRE}, True),
        ("days_before_event", {}, False),
        ("days_before_event", {"event": "quarry"}, True),
        ("blend_disagreement", {}, False),
        ("blend_disagreement", {"blend_viscosity": 400e-6}, True),
        ("cap_pressure", {"cap": "sealed"}, True),
        ("cap_pressure", {"cap": "vented"}, False),
        ("cap_pressure", {"cap": "sealed", "style": "emulsion"}, False),
        ("void_stroke", {"style": "emulsion"}, False),
        ("cap_pressure", {"cap": None}, True),  # it may be sealed
        *((name, {}, True) for name in ("into_cap_use", "hold_back_window", "bladder")),
        *(
            (name, {"style": "emulsion"}, False)
            for name in ("into_cap_use", "hold_back_window", "bladder")
        ),
        ("emulsion_use", {}, False),
        ("emulsion_use", {"style": "emulsion"}, True),
        # the way to the event settles what is worked out of it
        ("after_flight_use", {}, False),
        ("after_flight_use", {"arrive_by": "air", "highest": 2000.0}, True),
        ("after_flight_use", {"arrive_by": "air", "style": "emulsion"}, False),
        ("road_use", {"arrive_by": "road"}, False),
        ("road_use", {"arrive_by": "air", "highest": 2000.0}, False),
        ("road_use", {"arrive_by": "road", "highest": 2000.0}, True),
        ("road_use", {"arrive_by": "road", "highest": 2000.0, "style": "emulsion"}, False),
    ],
)
def test_a_measure_speaks_only_of_dampers_that_have_what_it_is_about(name, readings, spoken):
    given: dict[str, Any] = {"cap": "vented", **readings}
    damper = Damper(end="front", side="left", **given)
    assert speaks(MEASURES[name], Batch([[damper]])).tolist() == [spoken]


# --- readings that make no sense together --------------------------------------------------------

# What a team may give alike, whatever a rule says of it then.
ALIKE = [
    "bore stroke body_length shaft_diameter piston_diameter largest_piston piston_thickness "
    "hold_back limiter collar length free_length solid_length seat_gap wire mean_diameter taper_to "
    "chamfer",
    "viscosity_given_at second_viscosity_at bench_temperature coldest hottest",
    "oil_volume gas_volume bladder_into_body bladder_into_cap air",
    "bench_altitude event_altitude highest",
]
FULL: dict[str, Any] = {
    **PLAIN,
    **CAR,
    **GAPS,
    **WIRE,
    "second_viscosity": 200e-6,
    "second_viscosity_at": 320.0,
    "taper_to": 1.5e-3,
    "chamfer": 0.2e-3,
    "largest_piston": 16e-3,
    "body_length": 50e-3,
    "length": 0.1,
    "rebound": 0.5,
    "rate_given": 850.0,
    "limiter": 1e-3,
    "gas_volume": 1000e-9,
    "air": 100e-9,
    "runtime": 3600.0,
    "event": "quarry",
    "event_on": 739007.0,
    "bench_on": 739000.0,
    "highest": 2000.0,
    "blend_viscosity": 380e-6,
    "blend_slope": 1740.0,
}


@pytest.mark.parametrize("style", ["bladder", "emulsion"])
@pytest.mark.parametrize("cap", ["vented", "sealed"])
def test_readings_that_are_alike_give_a_figure_or_are_refused_in_words(style: str, cap: str):
    """A limiter as long as the stroke, a shaft as thick as the bore: no figure without a word."""
    given = {**FULL, "style": style, "cap": cap}
    pairs = [pair for names in ALIKE for pair in permutations(names.split(), 2)]
    dampers = [
        Damper(end="front", side="left", **{**given, one: given[other]}) for one, other in pairs
    ]
    figures = Figures(Batch([[damper] for damper in dampers]))
    seen: set[str] = set()
    for measure in MEASURES.values():
        if measure.unit in ("id", "yes", "step") or measure.of:
            continue
        found = np.broadcast_to(figures[measure.name].as_read, (len(CONDITIONS), len(dampers)))
        silent = np.isnan(found) & figures.known(measure)
        for condition, number in np.argwhere(silent):
            words = missing_for([measure.name], [dampers[number]], CONDITIONS[condition])
            where = f"{measure.name}, {CONDITIONS[condition]}, {pairs[number]}: {words}"
            assert all(each.startswith("readings that go together") for each in words), where
            seen.update(words)
    assert len(seen) >= 2

"""Every measure against hand arithmetic; the physics sheet's check values where it has them."""

from __future__ import annotations

import ast
import dataclasses
import importlib
import pkgutil
from collections import Counter
from dataclasses import replace
from functools import cache
from itertools import permutations
from math import inf, pi, sqrt
from pathlib import Path
from typing import Any

import pytest
from fluids import ATMOSPHERE_1976
from hypothesis import given
from hypothesis import strategies as st
from scipy.constants import g as standard_gravity

from buildlint import derived, measures
from buildlint.amounts import in_unit
from buildlint.damper import Damper
from buildlint.derived import FUNCTIONS
from buildlint.figure import conditions_of, figure_of, speaks
from buildlint.measures import MEASURES, plan
from buildlint.plans import ways_of
from tests.making import dampers, with_reading

# physics.md, section 1: shaft 3.5 mm, stroke 30 mm; section 2: oil of 9 ml at 25 degC.
SHEET = {
    "bore": 16e-3,
    "shaft_diameter": 3.5e-3,
    "stroke": 30e-3,
    "hold_back": 10e-3,
    "oil_volume": 9e-6,
    "expansion": 9.6e-4,
    "cap": "vented",
    "bladder_into_body": 400e-9,
    "bladder_into_cap": 500e-9,
    "viscosity_given": 375e-6,
    "viscosity_given_at": 298.15,
    "slope_given": 1757.0,
    "density": 968.0,
    "holes": ((4, 1.8e-3),),
    "piston_diameter": 15.9e-3,
    "piston_thickness": 2.5e-3,
    "bench_temperature": 298.15,
    "bench_altitude": 0.0,
    "coldest": 268.15,
    "hottest": 328.15,
    "event_altitude": 0.0,
}
MODULES = [
    importlib.import_module(f"{derived.__name__}.{found.name}")
    for found in pkgutil.iter_modules(derived.__path__)
]
A_S = pi * 3.5**2 / 4  # mm^2: 9.6211


def work(measure: str, condition: str = "bench", **readings: Any) -> Any:
    """Work a measure out for the sheet's damper with other readings, in the measure's unit."""
    damper = Damper(end="front", side="left", **{**SHEET, **readings})
    figure = figure_of(MEASURES[measure], damper, condition)
    if figure.bounds is None:
        return figure.missing or figure.words
    return in_unit(figure.bounds.value, MEASURES[measure].unit)


# --- the vocabulary ------------------------------------------------------------------------------

# design.md, section 3
PROMISED = """
    hold_back length rebound limiter collar body_length stroke oil_volume viscosity_given density
    runtime body shaft piston bladder oil spring displacement hold_back_share smallest_hold_back
    largest_hold_back piston_clearance spring_rate wheel_rate ride_frequency coil_gap spring_slack
    days_before_event steps_missing label_agrees into_body_need into_cap_need into_body_use
    into_cap_use cap_pressure viscosity damping damping_ratio cavitation_speed pack_speed
    viscosity_drift damping_balance frequency_balance
"""


def test_the_vocabulary_has_every_measure_promised():
    assert set(PROMISED.split()) <= set(MEASURES)


@pytest.mark.parametrize("measure", MEASURES.values(), ids=lambda m: m.name)
def test_every_measure_stands_on_readings_that_a_damper_has(measure):
    fields = {field.name for field in dataclasses.fields(Damper)}
    for condition in ("bench", "cold", "hot"):
        unknown = set(plan(measure.name, condition).inputs) - fields
        assert not unknown, "no reading of Damper, and no function in a module of derived/"
    assert measure.about in fields, "`about` is the reading that a finding points at"
    assert measure.means and measure.in_words


def test_no_name_stands_for_two_things():
    """A later line of the vocabulary, or a later function, would take the earlier one's place."""
    lines = Counter(measure.name for measure in measures._LINES)
    functions = Counter(name for module in MODULES for name in derived._functions(module))
    readings = {field.name for field in dataclasses.fields(Damper)}
    assert [name for name, count in lines.items() if count > 1] == []
    assert [name for name, count in functions.items() if count > 1 or name in readings] == []


def test_every_module_of_derived_is_looked_into():
    looked_into = {function.__module__ for function in FUNCTIONS.values()}
    assert {module.__name__ for module in MODULES} == looked_into, "list it in derived/__init__.py"


# What is no figure, or counts words: nothing that tolerances could move.
NO_WAYS = {"parts", "steps_missing", "rebound_read", "label_agrees", "label_disagreements"}


def test_every_function_says_which_way_it_goes():
    """Else its bounds take longer, and may be too near where two readings must move together."""
    silent = {name for name, function in FUNCTIONS.items() if not ways_of(function)}
    assert silent == NO_WAYS, "say it with @moves"


@cache
def _worked_out_here() -> set[str]:
    """Give every text in a test of this module that works a measure out."""
    tests = ast.parse(Path(__file__).read_text(encoding="utf-8")).body
    found: set[str] = set()
    for test in tests:
        inside = list(ast.walk(test))
        if any(isinstance(n, ast.Call) and ast.unparse(n.func) == "work" for n in inside):
            given = {id(key) for n in inside if isinstance(n, ast.Dict) for key in n.keys}
            texts = [n for n in inside if isinstance(n, ast.Constant) and id(n) not in given]
            found |= {n.value for n in texts if isinstance(n.value, str)}
    return found


@pytest.mark.parametrize(
    "measure", [m for m in MEASURES.values() if not m.of], ids=lambda m: m.name
)
def test_every_measure_is_held_against_a_value_from_outside(measure):
    """What a measure's unit and formula are, nothing else can tell; of the car: test_figure.py."""
    assert measure.name in _worked_out_here(), "work it out in a test here"


@pytest.mark.parametrize("measure", MEASURES.values(), ids=lambda m: m.name)
def test_every_unit_is_one_that_the_design_lists(measure):
    """design.md, section 6 (g/cm^3 for the density); ids, yes and no, and steps have none."""
    listed = {"mm", "mm^3", "cSt", "N s/m", "N/mm", "Hz", "m/s", "kPa", "g", "1", "day", "h"}
    assert measure.unit in listed | {"g/cm^3", "id", "yes", "step"}


CONDITIONAL = (
    "into_body_need",
    "into_cap_need",
    "into_body_use",
    "into_cap_use",
    "cap_pressure",
    "viscosity",
    "damping",
    "damping_ratio",
    "cavitation_speed",
    "pack_speed",
    "viscosity_drift",
    "damping_balance",  # of damping ratios
)


def test_every_measure_worked_out_is_in_the_vocabulary_or_leads_to_one_that_is():
    """No function stands unused: each is a measure or a step on the way to one."""
    used = {
        function.__name__
        for measure in MEASURES
        for condition in ("bench", "cold", "hot")
        for function, _ in plan(measure, condition).steps
    }
    of_the_car = {measure.name for measure in MEASURES.values() if measure.of}
    unused = set(FUNCTIONS) - used - of_the_car
    assert not unused, "give it a line in measures.py, or begin its name with _"
    for measure in MEASURES.values():
        assert not measure.of or measure.of in MEASURES


@pytest.mark.parametrize("measure", PROMISED.split())
def test_only_the_measures_that_the_design_lists_by_condition_depend_on_it(measure):
    """design.md, section 3, third list."""
    assert plan(measure).conditional is (measure in CONDITIONAL)


# --- as read -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("measure", "si", "shown"),
    [
        ("hold_back", 6.4e-3, 6.4),
        ("length", 0.1042, 104.2),
        ("rebound", 0.6, 0.6),
        ("limiter", 2e-3, 2.0),
        ("collar", 3e-3, 3.0),
        ("body_length", 52e-3, 52.0),
        ("stroke", 28e-3, 28.0),
        ("oil_volume", 9.1e-6, 9100.0),
        ("viscosity_given", 450e-6, 450.0),
        ("density", 968.0, 0.968),
        ("runtime", 5400.0, 1.5),
        ("spring_rate", 850.0, 0.85),
    ],
)
def test_a_reading_is_its_own_measure_in_its_unit(measure, si, shown):
    """Units by definition: mm, mm^3, 1 cSt = 1e-6 m^2/s, g/cm^3 = 1000 kg/m^3, h = 3600 s.

    N/mm = 1000 N/m.
    """
    assert work(measure, **{measure: si}) == pytest.approx(shown, rel=1e-12)


@pytest.mark.parametrize("kind", ["body", "shaft", "piston", "bladder", "oil", "spring"])
def test_an_id_is_its_own_measure(kind):
    assert work(kind, **{kind: "one"}) == "one"


def test_parts_are_all_ids_together():
    ids = {"body": "b", "shaft": "s", "piston": "p", "bladder": "d", "oil": "o", "spring": "c"}
    assert work("parts", **ids) == tuple(ids.items())


# --- the bladder (physics.md, section 1) ---------------------------------------------------------

TABLE = [(0, 0.0, 288.634), (5, 48.106, 240.528), (10, 96.211, 192.423), (30, 288.634, 0.0)]


@pytest.mark.parametrize(("hold_back", "into_cap", "into_body"), TABLE)
def test_needs_at_the_bench_are_those_of_the_sheet(hold_back, into_cap, into_body):
    """physics.md, section 1, table for d_s 3.5, S 30."""
    h = hold_back * 1e-3
    assert work("into_cap_need", hold_back=h) == pytest.approx(into_cap, abs=5e-4)
    assert work("into_body_need", hold_back=h) == pytest.approx(into_body, abs=5e-4)


def test_warm_oil_adds_its_growth_to_the_need_into_the_cap():
    """physics.md, sections 1 and 4: 9 ml and +30 K grow by 240.084; h 10 mm: 336.295 in all."""
    assert work("into_cap_need", "hot") == pytest.approx(336.295, abs=5e-4)
    # and takes it off the other way: 192.423 - 240.084 is below nothing
    assert work("into_body_need", "hot") == 0.0


def test_cold_oil_adds_its_shrinking_to_the_need_into_the_body():
    """192.423 + 240.084 = 432.507 mm^3; into the cap 96.211 - 240.084 is below nothing."""
    assert work("into_body_need", "cold") == pytest.approx(432.507, abs=1e-3)
    assert work("into_cap_need", "cold") == 0.0


def test_a_limiter_shortens_the_stroke_and_leaves_the_hold_back():
    """Section 10: S is what the limiter leaves; 30 - 2 - 10 = 18 mm of shaft to follow."""
    assert work("stroke_left", limiter=2e-3) == pytest.approx(28.0)
    assert work("into_body_need", limiter=2e-3) == pytest.approx(A_S * 18)
    assert work("into_cap_need", limiter=2e-3) == pytest.approx(A_S * 10)
    assert work("displacement", limiter=2e-3) == pytest.approx(A_S * 28)
    assert work("hold_back_share", limiter=2e-3) == pytest.approx(10 / 28)


def test_displacement_and_hold_back_share_of_the_sheet():
    """Section 1: A_s S = 288.634 mm^3; section 10: h/S = 10/30."""
    assert work("displacement") == pytest.approx(288.634, abs=5e-4)
    assert work("hold_back_share") == pytest.approx(1 / 3)


def test_air_left_in_the_oil_grows_with_heat_and_height():
    """v (T/T0)(p0/p) - v: 100 mm^3, sea level to 2000 m (79501.4 Pa), +30 K; by hand:

    100 * (328.15/298.15 * 101325/79501.4 - 1) = 100 * (1.100621 * 1.274506 - 1) = 40.275 mm^3,
    on top of 336.295.
    """
    found = work("into_cap_need", "hot", air=100e-9, event_altitude=2000.0)
    assert found == pytest.approx(336.295 + 40.275, abs=2e-3)


def test_behind_a_sealed_cap_height_moves_no_air():
    """Section 10: the trapped air's pressure term is 1. 100 * (328.15/298.15 - 1) = 10.062."""
    more = {"cap": "sealed", "gas_volume": 1000e-9, "air": 100e-9, "event_altitude": 2000.0}
    assert work("into_cap_need", "hot", **more) == pytest.approx(336.295 + 10.062, abs=2e-3)


def test_use_is_need_over_room():
    """Section 10: 336.295/500 into the cap when hot; 432.507/400 into the body when cold."""
    assert work("into_cap_use", "hot") == pytest.approx(336.295 / 500, rel=1e-5)
    assert work("into_body_use", "cold") == pytest.approx(432.507 / 400, rel=1e-5)


def test_room_under_a_sealed_cap_is_the_lesser_of_bladder_and_gas():
    """Section 10."""
    sealed = {"cap": "sealed", "gas_volume": 400e-9}
    assert work("into_cap_use", "hot", **sealed) == pytest.approx(336.295 / 400, rel=1e-5)
    sealed = {"cap": "sealed", "gas_volume": 600e-9}
    assert work("into_cap_use", "hot", **sealed) == pytest.approx(336.295 / 500, rel=1e-5)


def test_a_bladder_without_room_is_used_without_end_or_not_at_all():
    assert work("into_cap_use", "hot", bladder_into_cap=0.0) == inf
    assert work("into_cap_use", "cold", bladder_into_cap=0.0) == 0.0


def test_smallest_hold_back_at_the_bench_alone():
    """S - room/A_s: with room for the 240.528 mm^3 of h = 5, it is 5 mm (table of section 1)."""
    found = work(
        "smallest_hold_back",
        bladder_into_body=240.528e-9,
        coldest=None,
        hottest=None,
        event_altitude=None,
    )
    assert found == pytest.approx(5.0, abs=1e-4)


def test_smallest_hold_back_is_that_of_the_coldest():
    """At -30 K the same needs 240.084 mm^3 more room; without it 240.084/9.6211 = 24.954 mm."""
    assert work("smallest_hold_back", bladder_into_body=480.612e-9) == pytest.approx(5.0, abs=1e-4)
    found = work("smallest_hold_back", bladder_into_body=240.528e-9)
    assert found == pytest.approx(29.954, abs=1e-3)


def test_largest_hold_back_is_that_of_the_hottest():
    """(room - g)/A_s: 336.295 is just enough for 10 mm at +30 K (section 4)."""
    assert work("largest_hold_back", bladder_into_cap=336.295e-9) == pytest.approx(10.0, abs=1e-4)


def test_window_is_largest_less_smallest():
    """10 - 5 mm, with the rooms of the two tests above; and 10 - 29.954 where there is none."""
    rooms = {"bladder_into_body": 480.612e-9, "bladder_into_cap": 336.295e-9}
    assert work("hold_back_window", **rooms) == pytest.approx(5.0, abs=2e-4)
    rooms["bladder_into_body"] = 240.528e-9
    assert work("hold_back_window", **rooms) == pytest.approx(-19.954, abs=2e-3)


def test_gas_under_a_sealed_cap_at_the_bench():
    """Section 4: V0 600, dV 48.106 mm^3: 110.157 kPa (n = 1)."""
    found = work("cap_pressure", cap="sealed", gas_volume=600e-9, hold_back=5e-3)
    assert found == pytest.approx(110.157, abs=5e-4)


def test_gas_under_a_sealed_cap_when_hot():
    """Section 4: V0 1000, h 10 mm, 9 ml, +30 K: dV 336.295. By hand:

    101.325 * 1000/(1000 - 336.295) * 328.15/298.15 = 101.325 * 1.506694 * 1.100621 = 168.027 kPa.
    """
    found = work("cap_pressure", "hot", cap="sealed", gas_volume=1000e-9)
    assert found == pytest.approx(168.027, abs=2e-3)


def test_a_full_sealed_cap_is_locked():
    """Section 4: locked where dV >= V0; 336.295 is more than 300."""
    assert work("cap_pressure", "hot", cap="sealed", gas_volume=300e-9) == inf


# --- oil (physics.md, section 2) -----------------------------------------------------------------


@pytest.mark.parametrize(
    ("grade", "temperature", "expected"),
    [
        (100, -20, 285.01),
        (350, 0, 600.16),
        (500, 10, 683.17),
        (1000, 20, 1105.7),
        (350, 40, 263.94),
        (1000, 60, 538.48),
    ],
)
def test_one_point_viscosity_is_that_of_the_sheet(grade, temperature, expected):
    """Section 2, table (made with B 1756.7; ours is 1757: 3e-4 apart at most)."""
    found = work("viscosity", "hot", viscosity_given=grade * 1e-6, hottest=temperature + 273.15)
    assert found == pytest.approx(expected, rel=3e-4)


def test_two_points_are_met_exactly_and_the_slope_lies_between_them():
    """Section 2: ln nu linear in 1/T through both, here 450 at 25 and 190 at 60 degC.

    Half-way in 1/T the viscosity is the geometric mean: sqrt(450 * 190) = 292.404 at
    1/T = (1/298.15 + 1/333.15)/2, T = 314.680 K.
    """
    two = {"viscosity_given": 450e-6, "second_viscosity": 190e-6, "second_viscosity_at": 333.15}
    assert work("viscosity", "hot", **two, hottest=298.15) == pytest.approx(450.0)
    assert work("viscosity", "hot", **two, hottest=333.15) == pytest.approx(190.0)
    middle = 2 / (1 / 298.15 + 1 / 333.15)
    assert middle == pytest.approx(314.680, abs=1e-3)
    assert work("viscosity", "hot", **two, hottest=middle) == pytest.approx(sqrt(450 * 190))


def test_a_slope_of_the_oils_own_counts():
    """VTC 0.60 is 1734 K (section 2): 100 cSt at 100 degF leaves 40 cSt at 210 degF."""
    hundred, two_ten = (100 + 459.67) / 1.8, (210 + 459.67) / 1.8
    found = work(
        "viscosity",
        "hot",
        viscosity_given=100e-6,
        viscosity_given_at=hundred,
        slope_given=1734.0,
        hottest=two_ten,
    )
    assert found == pytest.approx(40.0, rel=1e-3)


def test_viscosity_drift_is_against_the_bench():
    """Section 2, table: from 25 degC to 0 degC 100 becomes 171.47, +71.47 %."""
    assert work("viscosity_drift", "cold", coldest=273.15) == pytest.approx(0.7147, abs=5e-4)
    # from a bench at 40 degC (75.41) to 10 degC (136.63): 136.63/75.41 - 1 = 0.8118
    found = work("viscosity_drift", "cold", coldest=283.15, bench_temperature=313.15)
    assert found == pytest.approx(0.8118, abs=5e-4)
    assert work("viscosity_drift", "bench") == 0.0


def test_blend_disagreement_is_stated_over_worked_out():
    """Half of 450 and half of 600 make sqrt(450 * 600) = 519.615; stated 550: + 5.848 %."""
    found = work(
        "blend_disagreement",
        viscosity_given=550e-6,
        blend_viscosity=sqrt(450 * 600) * 1e-6,
        blend_slope=1757.0,
    )
    assert found == pytest.approx(0.05848, abs=1e-5)


def test_blend_disagreement_is_taken_at_the_temperature_of_the_stated_viscosity():
    """Section 2: what has 100 cSt at 25 degC has 75.41 at 40 degC, which then agrees."""
    found = work(
        "blend_disagreement",
        viscosity_given=75.41e-6,
        viscosity_given_at=313.15,
        blend_viscosity=100e-6,
        blend_slope=1756.7,
    )
    assert found == pytest.approx(0.0, abs=1e-4)


# --- damping (physics.md, section 5) -------------------------------------------------------------


@pytest.mark.parametrize(("holes", "c"), [((4, 1.8e-3), 45.959), ((8, 1.3e-3), 77.474)])
def test_damping_is_that_of_the_sheet(holes, c):
    """Section 5, table: D_b 16, d_s 3.5, L 2.5 mm, nu 375 cSt, rho 968."""
    assert work("damping", holes=(holes,)) == pytest.approx(c, abs=5e-4)


def test_holes_of_two_sizes_share_the_pressure():
    """At low speed their conductances add: 1/(1/45.959 + 1/77.474) = 28.8466."""
    found = work("damping", holes=((4, 1.8e-3), (8, 1.3e-3)))
    assert found == pytest.approx(28.8466, abs=5e-4)


def test_a_taper_counts_along_the_hole_and_not_at_its_ends():
    """1.8 to 1.6 mm: L times 1.271484 (section 5), ends 3 pi 1.8/16 = 1.060288 mm as they are:

    45.959 * (2.5 * 1.271484 + 1.060288)/(2.5 + 1.060288) = 45.959 * 1.190633 = 54.720.
    """
    assert work("damping", taper_to=1.6e-3) == pytest.approx(54.720, abs=1e-3)


def test_damping_goes_with_dynamic_viscosity_at_the_condition():
    """Sections 5 and 10: mu = nu(T) rho(T); at 0 degC nu is 1.7147 times that at 25 degC, and

    rho is 1/(1 - 9.6e-4 * 25) = 1.024590 times: 45.959 * 1.7147 * 1.024590 = 80.745.
    """
    assert work("damping", "cold", coldest=273.15) == pytest.approx(80.745, rel=5e-4)


@pytest.mark.parametrize(("holes", "speed"), [((4, 1.8e-3), 0.93), ((8, 1.3e-3), 1.71)])
def test_the_oil_packs_at_the_speed_of_the_sheet(holes, speed):
    """Section 5, table: kinetic = viscous at 0.93 and 1.71 m/s."""
    assert work("pack_speed", holes=(holes,)) == pytest.approx(speed, abs=5e-3)


def test_packing_goes_with_the_kinematic_viscosity():
    """c/q: c goes with nu rho, q with rho. At 0 degC nu is 1.7147 times (section 2, table):

    0.93 * 1.7147 = 1.595 m/s, whatever the density.
    """
    cold = {"coldest": 273.15}
    assert work("pack_speed", "cold", **cold) == pytest.approx(1.595, abs=0.009)
    assert work("pack_speed", "cold", **cold, density=700.0) == pytest.approx(
        work("pack_speed", "cold", **cold), rel=1e-12
    )


@pytest.mark.parametrize(
    ("holes", "sea_level", "high"),
    [((4, 1.8e-3), 0.316, 0.259), ((8, 1.3e-3), 0.222, 0.178)],
)
def test_the_damper_cavitates_at_the_speed_of_the_sheet(holes, sea_level, high):
    """Section 5: at sea level and at 2000 m, with the oil as warm as in the table."""
    event = {"event_altitude": 2000.0, "hottest": 298.15, "holes": (holes,)}
    assert work("cavitation_speed", **event) == pytest.approx(sea_level, abs=5e-4)
    assert work("cavitation_speed", "hot", **event) == pytest.approx(high, abs=5e-4)


def test_behind_a_sealed_cap_height_has_no_say_in_cavitation():
    """Section 10: the pressure over the bladder at the sealed position, p0 T/T0."""
    event = {"event_altitude": 2000.0, "hottest": 298.15, "cap": "sealed", "gas_volume": 1e-6}
    assert work("cavitation_speed", "hot", **event) == pytest.approx(0.316, abs=5e-4)


def test_behind_a_sealed_cap_warmth_raises_the_pressure_that_drives_the_oil():
    """Sealed at 298.15/1.1 = 271.045 K: 1.1 times as much, 1.1 * 19.398 = 21.338 N (section 5).

    q = (288.58 - 2 * 45.959)/4 = 49.166; c v + q v^2 = 21.338 has the root 0.3403 m/s.
    """
    sealed = {"cap": "sealed", "gas_volume": 1e-6, "bench_temperature": 298.15 / 1.1}
    found = work("cavitation_speed", "hot", **sealed, hottest=298.15)
    assert found == pytest.approx(0.3403, abs=2e-4)


def test_an_emulsion_keeps_the_pressure_that_it_was_closed_at():
    """Without a bladder no vent lets air in behind one: 0.316 m/s at 2000 m too (section 5)."""
    event = {"event_altitude": 2000.0, "hottest": 298.15, "style": "emulsion"}
    assert work("cavitation_speed", "hot", **event) == pytest.approx(0.316, abs=5e-4)


# --- springs and ride (physics.md, sections 6, 7 and 10) -----------------------------------------

# Section 7: k 0.85 N/mm, MR 0.65, m 0.8 kg.
CAR = {"spring_rate": 850.0, "motion_ratio": 0.65, "corner_mass": 0.8}


def test_rate_at_the_wheel_frequency_and_ratio_are_those_of_the_sheet():
    """Section 7: k_w 359.125 N/m, f 3.372 Hz; with c 45.959 (section 5) zeta 0.5728."""
    assert work("wheel_rate", **CAR) == pytest.approx(0.359125, abs=5e-7)
    assert work("ride_frequency", **CAR) == pytest.approx(3.372, abs=5e-4)
    assert work("damping_ratio", **CAR) == pytest.approx(0.5728, abs=5e-5)


def test_the_ratio_goes_with_the_damping_at_the_condition():
    """At 0 degC c is 80.745 (see above): 0.5728 * 80.745/45.959 = 1.00635."""
    found = work("damping_ratio", "cold", coldest=273.15, **CAR)
    assert found == pytest.approx(1.00635, rel=6e-4)
    # and goes with the motion ratio: c MR^2 over 2 sqrt(k MR^2 m)
    half = work("damping_ratio", **{**CAR, "motion_ratio": 0.325})
    assert half == pytest.approx(0.5728 / 2, abs=5e-5)


def test_a_given_rate_is_held_against_that_of_the_wire():
    """Section 6: d 1.6, D 20 mm, n 6, G 81.5 GPa give 1.390933 N/mm; 1.5/1.390933 = 1.078413."""
    wire = {"wire": 1.6e-3, "mean_diameter": 20e-3, "coils": 6.0, "shear_modulus": 81.5e9}
    assert work("rate_disagreement", rate_given=1500.0, **wire) == pytest.approx(0.078413, abs=5e-7)
    assert work("rate_disagreement", rate_given=1390.933, **wire) == pytest.approx(0.0, abs=1e-6)


GAPS = {"seat_gap": 70e-3, "collar": 2e-3, "solid_length": 24e-3, "free_length": 60e-3}


def test_the_coil_gap_is_what_stroke_collar_and_coils_leave():
    """Section 10: 70 - 2 - 30 - 24 = 14 mm; of the body's whole stroke, whatever the limiter."""
    assert work("coil_gap", **GAPS) == pytest.approx(14.0)
    assert work("coil_gap", **GAPS, limiter=5e-3) == pytest.approx(14.0)
    assert work("coil_gap", **{**GAPS, "solid_length": 39e-3}) == pytest.approx(-1.0)


def test_slack_is_what_collar_and_limiter_leave_and_never_below_nothing():
    """Section 10: 70 - 2 - 60 = 8 mm, with a limiter of 5 mm 3; 70 - 2 - 80 is none."""
    assert work("spring_slack", **GAPS) == pytest.approx(8.0)
    assert work("spring_slack", **GAPS, limiter=5e-3) == pytest.approx(3.0)
    assert work("spring_slack", **{**GAPS, "free_length": 80e-3}) == 0.0


STANDS = {**CAR, **GAPS, "free_length": 68e-3}  # 70 - 2 mm: neither pressed in nor with play


def test_sag_is_the_deflection_that_goes_with_the_frequency():
    """Rao, Mechanical Vibrations: f = sqrt(g / deflection) / (2 pi), of any mass on a spring.

    The sheet's 3.372 Hz: 9.80665/(2 pi 3.372)^2 = 21.846 mm at the wheel, by 0.65 14.200 mm.
    """
    assert work("sag", **STANDS) == pytest.approx(14.200, rel=1e-3)
    at_wheel = standard_gravity / (2 * pi * work("ride_frequency", **STANDS)) ** 2
    assert work("sag", **STANDS) == pytest.approx(0.65 * at_wheel * 1e3, rel=1e-12)


def test_sag_is_less_by_the_preload_and_more_by_the_play():
    """0.8 * 9.80665/(850 * 0.65) = 14.1997 mm; each mm of length, collar or limiter takes one."""
    for change, taken in [
        ({"free_length": 73e-3}, 5.0),
        ({"collar": 5e-3}, 3.0),
        ({"limiter": 4e-3}, 4.0),
        ({"seat_gap": 75e-3}, -5.0),
        ({"free_length": 90e-3}, 14.1997),  # pressed in by 22: the car does not move it
    ]:
        assert work("sag", **{**STANDS, **change}) == pytest.approx(14.1997 - taken, abs=5e-5)


def test_sag_share_is_over_the_stroke_that_the_limiter_leaves():
    """14.1997/30; with 4 mm of limiter 10.1997/26; all of the stroke is used up at 100 %."""
    assert work("sag_share", **STANDS) == pytest.approx(0.473327, abs=5e-6)
    assert work("sag_share", **STANDS, limiter=4e-3) == pytest.approx(0.392296, abs=5e-6)
    weak = {**STANDS, "spring_rate": 400.0}
    assert work("sag_share", **weak) == pytest.approx(1.005810, abs=5e-6)  # 30.1743/30
    missing = work("sag_share", **STANDS, limiter=30e-3)
    assert missing == ("readings that go together (the limiter leaves no stroke)",)


# --- the way to the event (physics.md, sections 4 and 10) ----------------------------------------

CABIN = ATMOSPHERE_1976(8000 * 0.3048).P  # 8,000 ft, 14 CFR 25.841(a)


def test_a_flight_frees_at_most_all_the_air_that_the_oil_can_hold():
    """Section 4: V_o 0.19 (p0 - p)/p measured at p, at sea level p/p0 of that.

    9000 * 0.19 * (101325 - 75271)/101325 = 439.7 mm^3, on top of the 96.211 of h = 10 mm.
    """
    freed = 9000 * 0.19 * (101325 - CABIN) / 101325
    assert freed == pytest.approx(439.7, abs=0.1)
    air = {"arrive_by": "air"}
    assert work("after_flight_use", **air) == pytest.approx((96.211 + freed) / 500, rel=1e-5)
    # at +30 K the growth of 240.084 (section 4) comes on top, and the air is 328.15/298.15 of it
    found = work("after_flight_use", "hot", **air)
    assert found == pytest.approx((336.295 + 1.100621 * freed) / 500, rel=1e-5)


def test_freed_air_grows_with_the_height_of_the_event_unless_the_cap_is_sealed():
    """At 2000 m 101325/79501.4 = 1.274506 times what it is at sea level (section 4)."""
    freed = 9000 * 0.19 * (101325 - CABIN) / 101325 * 1.100621
    high = {"arrive_by": "air", "event_altitude": 2000.0}
    found = work("after_flight_use", "hot", **high)
    assert found == pytest.approx((336.295 + 1.274506 * freed) / 500, rel=1e-5)
    found = work("after_flight_use", "hot", **high, cap="sealed", gas_volume=1e-6)
    assert found == pytest.approx((336.295 + freed) / 500, rel=1e-5)


def test_no_air_is_freed_from_a_bench_as_high_as_the_cabin():
    """The oil holds only what it took up at the bench: at 2500 m no more than in the cabin."""
    found = work("after_flight_use", arrive_by="air", bench_altitude=2500.0)
    assert found == pytest.approx(96.211 / 500, rel=1e-5)


def test_on_the_road_only_the_trapped_air_grows():
    """100 mm^3 at 2000 m are 127.451 (section 4: 101325/79501.4): 96.211 + 27.451 over 500."""
    road = {"arrive_by": "road", "highest": 2000.0, "air": 100e-9}
    assert work("road_use", **road) == pytest.approx(123.662 / 500, rel=1e-5)
    # sealed, its pressure stays what it was
    sealed = {**road, "cap": "sealed", "gas_volume": 1e-6}
    assert work("road_use", **sealed) == pytest.approx(96.211 / 500, rel=1e-5)


# --- emulsion (physics.md, section 4) ------------------------------------------------------------


def test_the_air_poured_in_takes_the_shaft_and_the_heat():
    """Section 4: A_s h + g; 96.211 at the bench, 336.295 at +30 K, of 1 ml of air."""
    poured = {"style": "emulsion", "air": 1e-6}
    assert work("emulsion_use", **poured) == pytest.approx(0.096211, abs=5e-7)
    assert work("emulsion_use", "hot", **poured) == pytest.approx(0.336295, abs=5e-7)
    # colder, the oil makes room of its own: 96.211 - 240.084 is below nothing
    assert work("emulsion_use", "cold", **poured) == 0.0


def test_an_emulsion_without_a_hold_back_is_closed_fully_out():
    """All of A_s S, 288.634 (section 1), less with a limiter: 9.6211 * 28 = 269.391."""
    poured = {"style": "emulsion", "air": 1e-6, "hold_back": None}
    assert work("emulsion_use", **poured) == pytest.approx(0.288634, abs=5e-7)
    assert work("emulsion_use", **poured, limiter=2e-3) == pytest.approx(0.269391, abs=1e-6)
    assert work("emulsion_use", "hot", **poured) == pytest.approx(0.528718, abs=1e-6)


def test_an_emulsion_without_air_is_used_without_end():
    assert work("emulsion_use", style="emulsion", air=0.0) == inf
    assert work("emulsion_use", style="emulsion", air=None) == ("air",)


# --- fit and record ------------------------------------------------------------------------------


def test_clearances_are_bore_less_part():
    assert work("piston_clearance") == pytest.approx(0.1)
    assert work("shaft_room") == pytest.approx(12.5)


def test_a_piston_is_held_against_the_largest_that_the_body_takes():
    """15.5 - 15.9 mm: 0.4 mm too large."""
    assert work("piston_to_spare", largest_piston=15.5e-3) == pytest.approx(-0.4)
    assert work("piston_to_spare", largest_piston=16e-3) == pytest.approx(0.1)


def test_bench_steps_are_counted_that_are_not_listed():
    """design.md, section 1: six steps; an emulsion is not bled, so five are due."""
    assert work("steps_missing", done=()) == 6.0
    assert work("steps_missing", done=("bled", "deburred")) == 4.0
    assert work("steps_missing", done=(), style="emulsion") == 5.0
    assert work("steps_missing", done=None) == ("bench steps listed under done",)


def test_a_rebound_is_read_or_it_is_not():
    assert work("rebound_read", rebound=0.0) is True  # nothing is a reading too
    assert work("rebound_read", rebound=None) is False


@pytest.mark.parametrize(
    ("label", "agrees"),
    [
        ("o450 four-18", True),
        ("FOUR-18 / O450", True),
        ("front: o450, four 18, built in June", True),
        ("rear: o450, four 18, built in June", False),  # it is a front one
        ("o450", False),  # the piston is not named
        ("o45 four-18", False),
        ("o4500 four-18", False),  # another id that begins the same
        ("xo450 four-18", False),
        ("", False),
    ],
)
def test_a_label_agrees_with_what_is_inside(label, agrees):
    """rules/bench/label.toml, title."""
    assert work("label_agrees", label=label, oil="o450", piston="four-18") is agrees


def test_days_are_counted_from_bench_to_event():
    """Section 10: 12 June less 5 June is 7 days; a build after its event is below nothing."""
    assert work("days_before_event", bench_on=739772.0, event_on=739779.0) == 7.0
    assert work("days_before_event", bench_on=739779.0, event_on=739772.0) == -7.0


# --- what must hold whatever the damper ----------------------------------------------------------


def _bench(damper: Damper, measure: str) -> float:
    found = figure_of(MEASURES[measure], damper, "bench").bounds
    assert found is not None
    return found.value


@given(dampers())
def test_needs_both_ways_add_up_to_the_displacement_at_the_bench(damper):
    """Section 1: the two always add up to A_s S, for 0 <= h <= S."""
    together = _bench(damper, "into_cap_need") + _bench(damper, "into_body_need")
    assert together == pytest.approx(_bench(damper, "displacement"), rel=1e-9)


@given(damper=dampers(event=True), less=st.floats(0.0, 1.0), condition=st.sampled_from("bch"))
def test_more_hold_back_never_needs_more_into_the_body_nor_less_into_the_cap(
    damper, less, condition
):
    when = {"b": "bench", "c": "cold", "h": "hot"}[condition]
    assert damper.hold_back is not None
    other = with_reading(damper, "hold_back", damper.hold_back * less)
    for measure, sign in (("into_cap_need", 1), ("into_body_need", -1)):
        more_of_it, less_of_it = (
            figure_of(MEASURES[measure], d, when).bounds for d in (damper, other)
        )
        assert more_of_it is not None and less_of_it is not None
        assert sign * (more_of_it.value - less_of_it.value) >= -1e-18


@given(damper=dampers(event=True), hotter=st.floats(0.0, 40.0))
def test_hotter_oil_never_needs_less_into_the_cap_nor_more_into_the_body(damper, hotter):
    assert damper.hottest is not None
    other = with_reading(damper, "hottest", damper.hottest + hotter)
    for measure, sign in (("into_cap_need", 1), ("into_body_need", -1)):
        cool, hot = (figure_of(MEASURES[measure], d, "hot").bounds for d in (damper, other))
        assert cool is not None and hot is not None
        assert sign * (hot.value - cool.value) >= -1e-18


@given(damper=dampers(event=True), factor=st.floats(1.0, 5.0))
def test_thicker_oil_never_damps_less_nor_cavitates_later_nor_packs_sooner(damper, factor):
    thicker = with_reading(damper, "viscosity_given", damper.viscosity_given * factor)
    if damper.second_viscosity is not None:
        thicker = with_reading(thicker, "second_viscosity", damper.second_viscosity * factor)
    for condition in ("bench", "cold", "hot"):
        for measure, sign in (
            ("damping", 1),
            ("damping_ratio", 1),
            ("pack_speed", 1),
            ("cavitation_speed", -1),
        ):
            before, after = (
                figure_of(MEASURES[measure], d, condition).bounds for d in (damper, thicker)
            )
            assert before is not None and after is not None
            assert sign * (after.value - before.value) >= -1e-12 * abs(before.value)


@given(damper=dampers(event=True), higher=st.floats(0.0, 2000.0))
def test_higher_up_a_damper_never_cavitates_later(damper, higher):
    """Outside air only falls with height; a sealed cap keeps its own."""
    for name, condition in (
        ("event_altitude", "cold"),
        ("event_altitude", "hot"),
        ("bench_altitude", "bench"),
    ):
        up = with_reading(damper, name, getattr(damper, name) + higher)
        low, high = (
            figure_of(MEASURES["cavitation_speed"], d, condition).bounds for d in (damper, up)
        )
        assert low is not None and high is not None
        assert high.value <= low.value * (1 + 1e-12)
        assert high.low <= low.low * (1 + 1e-12)
        if damper.cap == "sealed" and name == "event_altitude":
            assert (high.value, high.low, high.high) == (low.value, low.low, low.high)
        elif higher > 1.0:
            assert high.value < low.value or damper.cap == "sealed"


@given(damper=dampers(event=True), higher=st.floats(0.0, 2000.0))
def test_higher_up_the_cap_is_never_used_less(damper, higher):
    """Trapped and freed air only grow with height, on the road and at the event."""
    for name, measure in (
        ("event_altitude", "into_cap_use"),
        ("event_altitude", "after_flight_use"),
        ("highest", "road_use"),
    ):
        up = with_reading(damper, name, getattr(damper, name) + higher)
        low, high = (figure_of(MEASURES[measure], d, "hot").bounds for d in (damper, up))
        assert low is not None and high is not None
        assert high.value >= low.value * (1 - 1e-12)


@given(damper=dampers(event=True), less=st.floats(0.0, 1.0), hotter=st.floats(0.0, 40.0))
def test_an_emulsion_needs_no_less_with_more_hold_back_or_more_heat(damper, less, hotter):
    made = replace(damper, style="emulsion", air=500e-9)
    assert made.hold_back is not None and made.hottest is not None
    shorter = with_reading(made, "hold_back", made.hold_back * less)
    warmer = with_reading(made, "hottest", made.hottest + hotter)
    uses = [figure_of(MEASURES["emulsion_use"], d, "hot").bounds for d in (shorter, made, warmer)]
    low, middle, high = (use.value for use in uses if use is not None)
    assert low <= middle + 1e-12 and middle <= high + 1e-12


@given(damper=dampers(), volume=st.floats(1e-6, 20e-6))
def test_the_oil_volume_has_no_say_at_the_bench(damper, volume):
    """T is T0 exactly there, also while the bench's temperature is moved within its tolerance."""
    other = with_reading(damper, "oil_volume", volume)
    for measure in ("into_cap_need", "into_body_need"):
        one, two = (figure_of(MEASURES[measure], d, "bench").bounds for d in (damper, other))
        assert one is not None and two is not None
        assert (one.value, one.low, one.high) == (two.value, two.low, two.high)


@given(damper=dampers())
def test_needs_and_uses_are_never_below_nothing_within_any_tolerance(damper):
    for measure in ("into_cap_need", "into_body_need", "into_cap_use", "into_body_use"):
        for condition in ("bench", "cold", "hot"):
            found = figure_of(MEASURES[measure], damper, condition).bounds
            if found is not None:
                assert found.low >= 0.0


@given(damper=dampers(event=True))
def test_the_window_is_where_both_needs_meet_their_rooms(damper):
    """At the smallest hold-back some condition uses all the room into the body, none more;

    at the largest, all the room into the cap (section 10: over all conditions).
    """
    for measure, use in (
        ("smallest_hold_back", "into_body_use"),
        ("largest_hold_back", "into_cap_use"),
    ):
        edge = figure_of(MEASURES[measure], damper, "bench").bounds
        assert edge is not None
        there = with_reading(damper, "hold_back", edge.value)
        used = [figure_of(MEASURES[use], there, c).bounds for c in ("bench", "cold", "hot")]
        assert max(u.value for u in used if u is not None) == pytest.approx(1.0, rel=1e-6)


def test_what_is_missing_is_named_once_and_in_a_builders_words():
    missing = work("into_cap_use", bladder_into_cap=None, bladder="b1")
    assert missing == ("into_cap of bladder b1",)


def test_readings_that_make_no_sense_together_are_no_figure():
    missing = work("into_body_need", limiter=31e-3)
    assert len(missing) == 1 and "stroke" in missing[0]


# Readings that a team may give alike, whatever a rule says of it then: by kind, all of SHEET's
# damper with a spring, a limiter and an oil of two points.
ALIKE = [
    "bore stroke body_length shaft_diameter piston_diameter largest_piston piston_thickness "
    "hold_back limiter collar length free_length solid_length seat_gap wire mean_diameter taper_to",
    "viscosity_given_at second_viscosity_at bench_temperature coldest hottest",
    "oil_volume gas_volume bladder_into_body bladder_into_cap air",
    "bench_altitude event_altitude highest",
]
FULL = {
    **SHEET,
    "second_viscosity": 200e-6,
    "second_viscosity_at": 320.0,
    "taper_to": 1.5e-3,
    "largest_piston": 16e-3,
    "body_length": 50e-3,
    "length": 0.1,
    "rebound": 0.5,
    "spring_rate": 850.0,
    "motion_ratio": 0.65,
    "corner_mass": 0.8,
    "rate_given": 850.0,
    "wire": 1.6e-3,
    "mean_diameter": 20e-3,
    "coils": 6.0,
    "shear_modulus": 81.5e9,
    "seat_gap": 70e-3,
    "collar": 2e-3,
    "solid_length": 24e-3,
    "free_length": 68e-3,
    "limiter": 1e-3,
    "gas_volume": 1000e-9,
    "air": 100e-9,
    "runtime": 3600.0,
    "event": "quarry",
    "event_on": 739007.0,
    "bench_on": 739000.0,
    "highest": 2000.0,
}


@pytest.mark.parametrize("style", ["bladder", "emulsion"])
@pytest.mark.parametrize("cap", ["vented", "sealed"])
@pytest.mark.parametrize("arrive_by", ["road", "air"])
def test_readings_that_are_alike_give_a_figure_or_are_refused(style, cap, arrive_by):
    """A limiter as long as the stroke: no division by nothing, and no figure that is no number."""
    given = {**FULL, "style": style, "cap": cap, "arrive_by": arrive_by}
    for one, other in (pair for names in ALIKE for pair in permutations(names.split(), 2)):
        damper = Damper(end="front", side="left", **{**given, one: given[other]})
        for measure in MEASURES.values():
            if measure.of or not speaks(measure, damper):
                continue
            for condition in conditions_of(measure, damper):
                where = f"{measure.name}, {condition}, {one} as {other}"
                try:
                    bounds = figure_of(measure, damper, condition).bounds
                except Exception as error:
                    pytest.fail(f"{where}: {error!r}; refuse it with ValueError")
                assert bounds is None or bounds.value == bounds.value, where


# --- steps on the way, at their edges ------------------------------------------------------------


@pytest.mark.parametrize("limiter", [30e-3, 30.5e-3])
def test_a_limiter_that_leaves_no_stroke_leaves_no_figure(limiter):
    missing = work("hold_back_share", limiter=limiter)
    assert missing == ("readings that go together (the limiter leaves no stroke)",)


def test_gas_under_a_vented_cap_is_no_limit_and_under_a_sealed_one_may_be_unknown():
    room = FUNCTIONS["room_into_cap"]
    assert room(500e-9, "vented", 10e-9) == 500e-9
    assert room(500e-9, "sealed", None) == 500e-9
    assert room(500e-9, "sealed", 10e-9) == 10e-9


def test_no_room_is_not_used_where_none_is_needed():
    use = FUNCTIONS["into_cap_use"]
    assert [use(need, 0.0) for need in (-1e-9, 0.0, 1e-9)] == [0.0, 0.0, inf]


def test_a_bladder_that_stays_on_the_bodys_side_takes_none_of_the_caps_gas():
    """Sealed fully in, then 30 K colder: V0 as at the bench, p0 T/T0 = 101.325 * 268.15/298.15."""
    made = {"cap": "sealed", "gas_volume": 1000e-9, "hold_back": 0.0}
    assert work("cap_pressure", "cold", **made) == pytest.approx(101.325 * 268.15 / 298.15)


@pytest.mark.parametrize(
    ("given", "slope"),
    [
        # one half of a second point gives no slope: the oil's own, else 1757 K of the sheet
        ((100e-6, 298.15, 1700.0, 50e-6, None), 1700.0),
        ((100e-6, 298.15, 1700.0, None, 313.15), 1700.0),
        ((100e-6, 298.15), 1757.0),
        # two points that do not thin within their tolerances: no thinning at the least
        ((100e-6, 298.15, None, 100e-6, 313.15), 0.0),
        ((100e-6, 298.15, None, 110e-6, 313.15), 0.0),
        ((100e-6, 313.15, None, 90e-6, 298.15), 0.0),
        # physics.md, section 2: 100 cSt at 25 degC is 75.41 at 40, with B = 1756.7 K
        ((100e-6, 298.15, None, 75.41e-6, 313.15), 1756.7),
    ],
)
def test_a_slope_is_that_of_two_points_where_both_are_whole(given, slope):
    assert FUNCTIONS["viscosity_slope"](*given) == pytest.approx(slope, rel=1e-4)


# --- of which dampers a measure speaks, and from where on ----------------------------------------


@pytest.mark.parametrize(
    ("name", "readings"),
    [
        ("collar", {"spring": "soft"}),
        ("collar", {"collar": 1e-3}),
        ("piston_to_spare", {"largest_piston": 15.95e-3}),
        (
            "rate_disagreement",
            {"rate_given": 850.0, "wire": 1.6e-3, "mean_diameter": 0.02, "coils": 6.0},
        ),
        ("days_before_event", {"event": "quarry"}),
        ("blend_disagreement", {"blend_viscosity": 400e-6}),
        ("after_flight_use", {"arrive_by": "air"}),
        ("road_use", {"arrive_by": "road", "highest": 2000.0}),
        ("emulsion_use", {"style": "emulsion"}),
        ("cap_pressure", {"cap": "sealed"}),
    ],
)
def test_a_measure_speaks_only_of_dampers_that_have_what_it_is_about(name, readings):
    plain = Damper(end="front", side="left", cap="vented")
    assert not speaks(MEASURES[name], plain)
    assert speaks(MEASURES[name], replace(plain, **readings))


def test_only_the_flight_is_a_bound_that_no_reading_confirms():
    """An upper bound is never a prediction (physics.md, section 4): it raises a doubt."""
    assert [m.name for m in MEASURES.values() if m.at_worst] == ["after_flight_use"]
    assert [m.name for m in MEASURES.values() if m.after_journey] == ["after_flight_use"]


# Besides needs and uses.
FROM_NOTHING = {"spring_slack", "sag", "sag_share"}


@pytest.mark.parametrize("measure", MEASURES.values(), ids=lambda m: m.name)
def test_a_need_or_a_play_begins_at_nothing(measure):
    """What cannot be negative: rooms needed, their uses, the play and the sag of a spring."""
    never = measure.name.endswith(("_need", "_use")) or measure.name in FROM_NOTHING
    assert measure.floor == (0.0 if never else None), "list it here, with a test of it at nothing"


def test_a_measure_gives_its_own_plan():
    assert plan("hold_back_share").inputs == ("hold_back", "stroke", "limiter")
    assert "coldest" in plan("viscosity", "cold").inputs

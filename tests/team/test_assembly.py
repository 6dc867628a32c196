"""A finished damper: what the corner says, else its end, else the car; and where each was read."""

from __future__ import annotations

import dataclasses
from math import hypot, pi, sqrt
from pathlib import Path
from typing import Any

import pytest

from buildlint.files.part_models import PART_KINDS
from buildlint.measures.damper import CORNERS, Damper
from buildlint.measures.origin import Origin
from buildlint.team.assembly import dampers, fitted
from buildlint.team.load import load_team
from tests.making import Raw, build_path, repository


def made(folder: Path, **changes: Any) -> dict[str, Damper]:
    """Give the dampers of the sound repository with changes, by corner."""
    team = load_team(repository(folder, **changes))
    found = dampers(team, team.file(build_path(folder)))
    return {damper.corner: damper for damper in found}


def one(folder: Path, **changes: Any) -> Damper:
    return made(folder, **changes)["front.left"]


def test_a_build_has_four_dampers_in_the_order_of_the_corners(tmp_path):
    assert list(made(tmp_path)) == [f"{end}.{side}" for end, side in CORNERS]


def test_figures_are_in_si(tmp_path):
    """By definition of the units: mm, ml, mm^3, cSt (1e-6 m^2/s), degC (+ 273.15)."""
    damper = one(tmp_path, build={"front.runtime": "2 h"}, parts={"oil.o450.density": "0.97 g/ml"})
    expected = {
        "bore": 16e-3,
        "stroke": 30e-3,
        "body_length": 52e-3,
        "oil_volume": 9e-6,
        "shaft_diameter": 3.5e-3,
        "piston_thickness": 2.5e-3,
        "bladder_into_body": 480e-9,
        "bladder_into_cap": 500e-9,
        "viscosity_given": 450e-6,
        "viscosity_given_at": 298.15,
        "density": 970.0,
        "hold_back": 6.4e-3,
        "collar": 2e-3,
        "length": 104.2e-3,
        "rebound": 0.6,
        "runtime": 7200.0,
        "bench_temperature": 293.15,
        "bench_altitude": 5.0,
        "coldest": 287.15,
        "hottest": 311.15,
        "event_altitude": 1900.0,
        "corner_mass": 0.76,
        "motion_ratio": 0.66,
        "seat_gap": 70e-3,
        "free_length": 70e-3,
    }
    assert {n: getattr(damper, n) for n in expected} == pytest.approx(expected, rel=1e-12)
    assert damper.holes is not None and damper.holes[0] == (4, pytest.approx(1.8e-3))
    assert (damper.style, damper.cap, damper.car_class) == (
        "bladder",
        "vented",
        "eighth-scale buggy",
    )


# What users are promised of a reading without a tolerance: README.md, under "The files".
DEFAULTS = [
    ("bore", 0.02e-3),
    ("shaft_diameter", 0.02e-3),
    ("piston_diameter", 0.02e-3),
    ("stroke", 0.1e-3),
    ("body_length", 0.1e-3),
    ("length", 0.1e-3),
    ("collar", 0.1e-3),
    ("hold_back", 0.3e-3),
    ("oil_volume", 0.9e-6),  # 10 % of 9 ml
    ("bladder_into_body", 48e-9),  # 10 %
    ("bladder_into_cap", 50e-9),
    ("viscosity_given", 22.5e-6),  # 5 %
    ("bench_temperature", 2.0),
    ("coldest", 2.0),
    ("bench_altitude", 20.0),
    ("corner_mass", 0.038),  # 5 %
    ("motion_ratio", 0.0198),  # 3 %
]


@pytest.mark.parametrize(("name", "half"), DEFAULTS)
def test_a_reading_without_a_tolerance_has_its_fields_default(tmp_path, name, half):
    damper = one(tmp_path)
    value, (low, high) = getattr(damper, name), damper.spread[name]
    assert (value - low, high - value) == pytest.approx((half, half), rel=1e-9)


def test_the_holes_have_their_default_too(tmp_path):
    low, high = one(tmp_path).spread["holes"]
    assert (low[0][1], high[0][1]) == pytest.approx((1.78e-3, 1.82e-3))


def test_a_stated_tolerance_wins_over_the_default(tmp_path):
    damper = one(tmp_path, build={"front.left.hold_back": "6.4 ± 0.1 mm"})
    assert damper.spread["hold_back"] == pytest.approx((6.3e-3, 6.5e-3))


def test_an_exact_reading_has_no_spread(tmp_path):
    damper = one(tmp_path, build={"front.left.hold_back": "6.4 ± 0 mm"})
    assert "hold_back" not in damper.spread


def test_the_corner_wins_over_its_end_and_the_end_over_the_car(tmp_path):
    found = made(
        tmp_path,
        parts={"shaft.s30.diameter": "3 mm", "shaft.s32.diameter": "3.2 mm"},
        build={"front.shaft": "s32", "front.right.shaft": "s30", "front.left.collar": "5 mm"},
    )
    assert found["front.left"].shaft_diameter == pytest.approx(3.2e-3)
    assert found["front.right"].shaft_diameter == pytest.approx(3e-3)
    assert found["rear.left"].shaft_diameter == pytest.approx(3.5e-3)
    assert found["front.left"].collar == pytest.approx(5e-3)
    assert found["front.right"].collar == pytest.approx(2e-3)


def test_each_figure_knows_where_it_was_read(tmp_path):
    damper = one(tmp_path)
    build, parts = build_path(tmp_path), tmp_path / "drawers.parts.toml"
    assert damper.origin["hold_back"] == Origin(build, ("front", "left", "hold_back"))
    assert damper.origin["collar"] == Origin(build, ("front", "collar"))
    assert damper.origin["stroke"] == Origin(parts, ("body", "long", "stroke"))
    assert damper.origin["body"] == Origin(tmp_path / "heron.car.toml", ("front", "body"))
    assert damper.origin["coldest"] == Origin(tmp_path / "quarry.event.toml", ("coldest",))
    assert damper.origin["bench_on"] == Origin(build, ("bench", "on"))


def test_every_spread_has_an_origin(tmp_path):
    for damper in made(tmp_path).values():
        assert set(damper.spread) <= set(damper.origin)


def test_no_limiter_and_no_air_are_nothing_and_exact(tmp_path):
    damper = one(tmp_path)
    assert (damper.limiter, damper.air) == (0.0, 0.0)
    assert not {"limiter", "air"} & set(damper.spread)


def test_a_collar_that_is_not_written_is_not_known(tmp_path):
    assert one(tmp_path, build={"front.collar": None}).collar is None


def test_an_emulsion_has_no_air_until_it_is_said(tmp_path):
    """Air is poured in with the oil: a build has to say how much."""
    without = one(tmp_path, build={"style": "emulsion"})
    assert (without.style, without.air) == ("emulsion", None)
    poured = one(tmp_path, build={"style": "emulsion", "front.air": "0.5 ml"})
    assert poured.air == pytest.approx(0.5e-6)


def test_oil_at_filling_is_guessed_from_the_bore_and_marked_as_an_estimate(tmp_path):
    """The bore's area times length, ± 15 % (SOURCES.md, 8); pi 16^2/4 * 52 = 10455.2 mm^3.

    Bore ± 0.02 and length ± 0.1 mm beside the 15 %, added as squares (JCGM 100:2008, 5.1.2).
    """
    damper = one(tmp_path, parts={"body.long.oil": None})
    assert damper.oil_volume == pytest.approx(10455.2e-9, rel=1e-5)
    volume = pi * 16.0**2 / 4 * 52.0
    fall = hypot(0.15, 1.0 - (15.98 / 16.0) ** 2, 0.1 / 52.0)
    rise = hypot(0.15, (16.02 / 16.0) ** 2 - 1.0, 0.1 / 52.0)
    ends = (volume * (1.0 - fall) * 1e-9, volume * (1.0 + rise) * 1e-9)
    assert damper.spread["oil_volume"] == pytest.approx(ends, rel=1e-9)
    assert damper.estimates == {"oil_volume"}


def test_a_bladders_room_is_estimated_from_its_cup(tmp_path):
    """A spherical cap of a 7, h 3 mm is 245.0442 mm^3, of which 0.8 (SOURCES.md, 2): 196.035."""
    damper = one(
        tmp_path,
        parts={
            "bladder.deep.into_cap": None,
            "bladder.deep.cup": {"radius": "7 mm", "depth": "3 mm"},
        },
    )
    assert damper.bladder_into_cap == pytest.approx(196.035e-9, rel=1e-5)
    assert damper.bladder_into_body == pytest.approx(480e-9)  # measured: the cup has no say
    assert damper.estimates == {"bladder_into_cap"}
    low, high = damper.spread["bladder_into_cap"]
    assert low < damper.bladder_into_cap < high


def test_a_blend_is_mixed_by_the_logarithms(tmp_path):
    """Arrhenius 1887: sqrt(450 * 600) = 519.615 cSt; each 5 % off moves it by half of that in the
    logarithm, the law itself by 2 %; added as squares.
    """
    damper = one(
        tmp_path,
        parts={
            "oil.o600.viscosity": "600 cSt",
            "oil.half.blend": {"o450": "50 %", "o600": "50 %"},
        },
        build={"front.oil": "half"},
    )
    assert damper.viscosity_given == pytest.approx(sqrt(450 * 600) * 1e-6)
    fall = hypot(1.0 - sqrt(0.95), 1.0 - sqrt(0.95), 0.02)
    rise = hypot(sqrt(1.05) - 1.0, sqrt(1.05) - 1.0, 0.02)
    ends = (519.615e-6 * (1.0 - fall), 519.615e-6 * (1.0 + rise))
    assert damper.spread["viscosity_given"] == pytest.approx(ends, rel=1e-5)
    assert damper.has_blend is False  # nothing to hold it against


def test_the_parts_of_a_blend_are_first_brought_to_25_degc(tmp_path):
    """SOURCES.md, 3, table: 75.41 cSt at 40 degC is 100 at 25; with 400: sqrt -> 200."""
    damper = one(
        tmp_path,
        parts={
            "oil.a.viscosity": "75.41 cSt",
            "oil.a.at": "40 degC",
            "oil.b.viscosity": "400 cSt",
            "oil.half.blend": {"a": "50 %", "b": "50 %"},
        },
        build={"front.oil": "half"},
    )
    assert damper.viscosity_given == pytest.approx(200e-6, rel=1e-4)


def test_the_slope_of_a_blend_is_the_mean_of_its_parts_by_share(tmp_path):
    """SOURCES.md, 3: VTC 0.59 is 1688 K, 0.62 is 1832: 3/4 and 1/4 make 1724."""
    damper = one(
        tmp_path,
        parts={
            "oil.a.viscosity": "400 cSt",
            "oil.a.vtc": "0.59",
            "oil.b.viscosity": "600 cSt",
            "oil.b.vtc": "0.62",
            "oil.mix.blend": {"a": "75 %", "b": "25 %"},
        },
        build={"front.oil": "mix"},
    )
    assert damper.slope_given == pytest.approx(1724.0, abs=1.0)


def test_a_blend_with_a_viscosity_keeps_both(tmp_path):
    damper = one(
        tmp_path,
        parts={
            "oil.o600.viscosity": "600 cSt",
            "oil.half.blend": {"o450": "50 %", "o600": "50 %"},
            "oil.half.viscosity": "550 cSt",
        },
        build={"front.oil": "half"},
    )
    assert damper.viscosity_given == pytest.approx(550e-6)
    assert damper.blend_viscosity == pytest.approx(519.615e-6, rel=1e-5)
    assert damper.has_blend is True


@pytest.mark.parametrize(("vtc", "slope"), [("0.59", 1688), ("0.60", 1734), ("0.62", 1832)])
def test_a_viscosity_temperature_coefficient_gives_the_slope(tmp_path, vtc, slope):
    """-ln(1 - VTC)/(1/310.928 - 1/372.039), by what the coefficient is (SOURCES.md, 3)."""
    damper = one(tmp_path, parts={"oil.o450.vtc": vtc})
    assert damper.slope_given == pytest.approx(slope, abs=0.6)


def test_an_oil_with_one_point_has_the_slope_of_silicone(tmp_path):
    """Of two published forms: 763.1 ln 10 and 5.892 * 298.15 (SOURCES.md, 3)."""
    assert one(tmp_path).slope_given == 1757.0


def test_a_second_point_goes_along_as_read(tmp_path):
    damper = one(tmp_path, parts={"oil.o450.second": {"viscosity": "190 cSt", "at": "60 degC"}})
    assert damper.second_viscosity == pytest.approx(190e-6)
    assert damper.second_viscosity_at == pytest.approx(333.15)
    assert damper.slope_given is None


@pytest.mark.parametrize(("sus", "cst"), [("2316.21 SUS", 500.0), ("463.463 SUS", 100.0)])
def test_saybolt_seconds_at_100_degf_are_brought_to_cst(tmp_path, sus, cst):
    """ASTM D2161."""
    damper = one(
        tmp_path, parts={"oil.o450": None, "oil.o450.viscosity": sus, "oil.o450.at": "100 degF"}
    )
    assert damper.viscosity_given == pytest.approx(cst * 1e-6, rel=1e-4)
    assert damper.viscosity_given_at == pytest.approx((100 + 459.67) / 1.8)


def test_a_dynamic_viscosity_is_divided_by_the_density(tmp_path):
    """By definition mu[mPa s] = nu[cSt] rho[g/cm^3]; 363 / 0.968 = 375."""
    damper = one(
        tmp_path,
        parts={"oil.o450.viscosity": "363 mPa.s", "oil.o450.density": "0.968 g/cm^3"},
    )
    assert damper.viscosity_given == pytest.approx(375e-6)
    # 5 % of the one and 0.5 % of the other, as squares
    fall = hypot(0.05, 1.0 - 1.0 / 1.005)
    assert damper.spread["viscosity_given"][0] == pytest.approx(375e-6 * (1.0 - fall))


def test_a_dynamic_viscosity_without_a_density_is_no_kinematic_one(tmp_path):
    assert one(tmp_path, parts={"oil.o450.viscosity": "363 mPa.s"}).viscosity_given is None


def test_oil_without_data_of_its_own_has_the_sheets(tmp_path):
    """Danner & High, Handbook of Polymer Solution Thermodynamics: 9.7e-4 ± 0.6e-4 /K, 968 ± 5."""
    damper = one(tmp_path)
    assert (damper.expansion, damper.density) == (9.7e-4, 968.0)
    assert damper.spread["expansion"] == pytest.approx((9.1e-4, 10.3e-4))
    assert damper.spread["density"] == pytest.approx((963.0, 973.0))


def test_holes_of_several_sizes_and_a_taper_are_taken(tmp_path):
    damper = one(
        tmp_path,
        parts={
            "piston.four.holes": "4 x 1.4 mm + 2 x 1.1 mm",
            "piston.four.taper_to": "1.2 mm",
        },
    )
    assert damper.holes is not None
    assert [count for count, _ in damper.holes] == [4, 2]
    assert [size for _, size in damper.holes] == pytest.approx([1.4e-3, 1.1e-3])
    assert damper.taper_to == pytest.approx(1.2e-3)


def test_a_part_that_is_not_there_leaves_its_figures_out_and_keeps_its_id(tmp_path):
    damper = one(tmp_path, build={"front.piston": "fuor"})
    assert (damper.piston, damper.holes, damper.piston_diameter) == ("fuor", None, None)
    assert damper.in_words("holes") == "holes of piston fuor"


def test_an_end_that_is_not_there_has_no_dampers(tmp_path):
    repository(tmp_path)
    path = build_path(tmp_path)
    text = path.read_text(encoding="utf-8")
    path.write_text(text[: text.index("[rear]")], encoding="utf-8")
    team = load_team(tmp_path)
    assert [d.corner for d in dampers(team, team.file(path))] == ["front.left", "front.right"]


def test_a_file_that_cannot_be_read_has_no_dampers(tmp_path):
    repository(tmp_path)
    build_path(tmp_path).write_text("= nothing", encoding="utf-8")
    team = load_team(tmp_path)
    assert dampers(team, team.file(build_path(tmp_path))) == []


def test_without_an_event_there_is_nothing_to_be_judged_at(tmp_path):
    damper = one(tmp_path, build={"event": None})
    assert (damper.coldest, damper.hottest, damper.event_altitude) == (None, None, None)
    assert damper.has_event is False
    assert one(tmp_path).has_event is True


@pytest.mark.parametrize("lost", [{"event.coldest": None}, {"build.event": "qarry"}])
def test_an_event_that_is_named_counts_though_its_figures_are_not_known(tmp_path, lost):
    """Cold and hot are then not judged, never passed over."""
    changes: dict[str, dict[str, Any]] = {}
    for dotted, value in lost.items():
        kind, _, key = dotted.partition(".")
        changes[kind] = {key: value}
    damper = one(tmp_path, **changes)
    assert damper.has_event is True
    assert damper.coldest is None
    assert "event" in damper.in_words("coldest")


def test_steps_and_labels_are_taken_from_the_end_or_the_corner(tmp_path):
    found = made(
        tmp_path,
        build={"front.done": ["bled", "greased"], "front.label": "one", "front.right.label": "two"},
    )
    assert found["front.left"].done == ("bled", "greased")
    assert (found["front.left"].label, found["front.right"].label) == ("one", "two")
    assert found["rear.left"].label == "o450 four"


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("bladder_into_cap", "into_cap of bladder b1"),
        ("oil_volume", "oil of body"),
        ("bench_temperature", "bench temperature"),
        ("corner_mass", "corner_mass of the car"),
        ("length", "length"),
    ],
)
def test_what_is_missing_is_said_in_a_builders_words(name, words):
    damper = Damper(end="front", side="left", bladder="b1")
    expected = "body" if name == "oil_volume" else words  # no body named at all
    assert damper.in_words(name) == expected


def test_an_id_that_steers_a_terminal_is_shown_by_its_escape():
    damper = Damper(end="front", side="left", bladder="b\x1b[31m")
    assert "\x1b" not in damper.in_words("bladder_into_cap")


def test_a_damper_is_frozen():
    damper = Damper(end="front", side="left")
    with pytest.raises(dataclasses.FrozenInstanceError):
        damper.hold_back = 1.0  # type: ignore[misc]


def test_every_kind_of_length_may_be_given_in_inches(tmp_path):
    """1 in = 25.4 mm: 1/4 in is 6.35 mm."""
    damper = one(tmp_path, build={"front.left.hold_back": "1/4 in"})
    assert damper.hold_back == pytest.approx(6.35e-3)


def test_a_bare_share_and_one_in_per_cent_are_the_same(tmp_path):
    found = made(tmp_path, build={"front.left.rebound": "60 %", "front.right.rebound": Raw("0.6")})
    assert found["front.left"].rebound == pytest.approx(found["front.right"].rebound)


# --- springs -------------------------------------------------------------------------------------


def wound(**more: str) -> dict[str, Any]:
    """A spring by its wire alone: d 1.6, D 20 mm, n 6."""
    keys = {"rate": None, "solid_length": None, "wire": "1.6 mm ± 0 mm", "coils": "6", **more}
    keys.setdefault("mean_diameter", "20 mm ± 0 mm")
    return {f"spring.soft.{key}": value for key, value in keys.items()}


def test_a_spring_rate_is_worked_out_from_the_wire(tmp_path):
    """k = G d^4/(8 D^3 n) with 81.5 GPa: 1.390933 N/mm; that -6/+2 % is all that varies here."""
    damper = one(tmp_path, parts=wound())
    assert damper.spring_rate == pytest.approx(1390.933, abs=5e-4)
    assert damper.rate_given is None and damper.rate_stands_twice is False
    assert damper.spread["spring_rate"] == pytest.approx((1390.933 * 0.94, 1390.933 * 1.02))
    keys = ("spring", "soft", "wire")
    assert damper.origin["spring_rate"] == Origin(tmp_path / "drawers.parts.toml", keys)


def test_a_spring_rate_of_the_wire_is_that_of_a_published_example(tmp_path):
    """Shigley's Mechanical Engineering Design, example 10-1: d 0.037, D 0.400 in, n 10.5,

    G 11.85 Mpsi give 4.13 lbf/in, times 0.1751268 N/mm. 11.85 Mpsi is 81.7029 GPa (1 psi =
    6894.757 Pa).
    """
    shigley = wound(
        wire="0.037 in", mean_diameter="0.400 in", coils="10.5", shear_modulus="81.7029 GPa"
    )
    damper = one(tmp_path, parts=shigley)
    assert damper.spring_rate == pytest.approx(4.1311 * 175.1268, rel=2e-5)
    low, high = damper.spread["spring_rate"]
    assert low < damper.spring_rate < high


def test_the_tolerances_of_a_wire_are_added_as_squares(tmp_path):
    """k = G d^4/(8 D^3 n), d ± 0.02, D ± 0.1 mm, G -6/+2 %, the coils exact:

    + 2 %, (1.62/1.6)^4 - 1 = 5.095 % and (20/19.9)^3 - 1 = 1.515 % as squares (JCGM 100:2008,
    5.1.2); - 6 %, 1 - (1.58/1.6)^4 = 4.907 % and 1 - (20/20.1)^3 = 1.485 %.
    """
    parts = wound(wire="1.6 mm ± 0.02 mm", mean_diameter="20 mm ± 0.1 mm")
    low, high = one(tmp_path, parts=parts).spread["spring_rate"]
    ends = (1.0 - hypot(0.06, 0.04907, 0.01485), 1.0 + hypot(0.02, 0.05095, 0.01515))
    assert (low / 1390.933, high / 1390.933) == pytest.approx(ends, abs=2e-5)


def test_a_rate_that_is_given_wins_over_that_of_the_wire(tmp_path):
    damper = one(tmp_path, parts=wound(rate="1.5 N/mm"))
    assert damper.spring_rate == damper.rate_given == pytest.approx(1500.0)
    assert damper.spread["spring_rate"] == pytest.approx((1425.0, 1575.0))  # 5 %
    assert damper.rate_stands_twice is True


def test_a_solid_length_is_estimated_from_wire_and_coils(tmp_path):
    """Shigley (SOURCES.md, 6): (n + 2) d, 12.8 mm; one wire more where the ends are not ground."""
    damper = one(tmp_path, parts=wound())
    assert damper.solid_length == pytest.approx(12.8e-3)
    assert damper.spread["solid_length"] == pytest.approx((12.8e-3, 14.4e-3))
    assert "solid_length" in damper.estimates
    measured = one(tmp_path / "b", parts=wound(solid_length="13 mm"))
    assert measured.solid_length == pytest.approx(13e-3)
    assert "solid_length" not in measured.estimates


# --- another part in the place of one ------------------------------------------------------------

_DRAWERS = {
    "body.tall": {"bore": "15 mm", "stroke": "27 mm", "length": "50 mm"},
    "body.closed": {
        "bore": "16 mm",
        "stroke": "30 mm",
        "length": "52 mm",
        "oil": "8 ml",
        "cap": "sealed",
        "gas": "900 mm^3",
        "piston": "15.9 mm",
    },
    "shaft.s30": {"diameter": "3 mm"},
    "piston.tapered": {
        "diameter": "15.8 mm",
        "thickness": "2.2 mm",
        "holes": "4 x 1.7 mm",
        "taper_to": "1.5 mm",
    },
    "bladder.cupped": {"cup": {"radius": "7 mm", "depth": "3 mm"}},
    "oil.two-points": {
        "viscosity": "350 cSt",
        "second": {"viscosity": "150 cSt", "at": "60 degC"},
        "density": "0.97 g/ml",
    },
    "oil.by-vtc": {"viscosity": "500 cSt", "vtc": "0.6", "expansion": "9e-4 1/K"},
    "oil.mixed": {"blend": {"o450": "40 %", "by-vtc": "60 %"}, "viscosity": "480 cSt"},
    "spring.wound": {
        "wire": "1.5 mm",
        "mean_diameter": "20 mm",
        "coils": "7",
        "free_length": "68 mm",
    },
}
_ALL_DRAWERS = {
    f"{part}.{key}": value for part, table in _DRAWERS.items() for key, value in table.items()
}


@pytest.mark.parametrize("kind", PART_KINDS)
def test_a_damper_with_another_part_is_as_if_the_file_named_it(tmp_path, kind):
    """Whatever part there is before and after: nothing of the old one stays behind."""
    team = load_team(repository(tmp_path / "all", parts=_ALL_DRAWERS))
    idents = sorted(team.parts()[kind])
    assert idents == sorted(idents) and len(idents) >= 2
    named = {
        ident: one(tmp_path / ident, parts=_ALL_DRAWERS, build={f"front.{kind}": ident})
        for ident in idents
    }
    for before in idents:
        for after in idents:
            found, expected = fitted(team, named[before], {kind: after}), named[after]
            for item in dataclasses.fields(Damper):
                if item.name != "origin":
                    got, due = getattr(found, item.name), getattr(expected, item.name)
                    assert got == due, (before, after, item.name)
            assert set(found.origin) == set(expected.origin)
            keys = {name: place.keys for name, place in found.origin.items()}
            assert keys == {name: place.keys for name, place in expected.origin.items()}


def test_a_part_that_is_not_in_the_drawers_cannot_be_fitted(tmp_path):
    team = load_team(repository(tmp_path))
    damper = dampers(team, team.file(build_path(tmp_path)))[0]
    with pytest.raises(KeyError):
        fitted(team, damper, {"oil": "nowhere"})

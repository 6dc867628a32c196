"""Viscosities in SI and blends at 25 degC: long chains, shared parts, rings, shares that vary."""

from __future__ import annotations

import time
from math import hypot, sqrt
from pathlib import Path
from typing import Any

import pytest

from buildlint import figures, inspect_team
from buildlint.judging.figures import BuildFigures, FigureLine
from buildlint.physics import oil
from buildlint.team.assembly import dampers
from buildlint.team.load import load_team
from buildlint.team.oils import Point, blend_of
from buildlint.team.repository import Team
from tests.making import build_path, repository, toml, write

Oils = dict[str, dict[str, Any]]


def team_of(folder: Path, oils: Oils) -> Team:
    tables = {f"oil.{name}": table for name, table in oils.items()}
    return load_team(write(folder, {"bottles.parts.toml": toml(tables)}))


def blend(folder: Path, oils: Oils, ident: str = "mix") -> Point:
    found = blend_of(team_of(folder, oils), ident)
    assert found is not None
    return found


def cst(point: Point) -> tuple[float, float, float]:
    value, low, high = point[0]
    return value * 1e6, low * 1e6, high * 1e6


EXACT = {"viscosity": "100 cSt ± 0 %"}, {"viscosity": "400 cSt ± 0 %"}


#: How far the mixing law may be off for 100 with 400 cSt: 0.1 ln(4)^2 (SOURCES.md, 3).
LAW = 0.192181


def ends(value: float, falls: list[float], rises: list[float]) -> tuple[float, float, float]:
    """Return a figure and its ends: moves, as shares, added as squares (JCGM 100:2008, 5.1.2)."""
    return value, value * (1.0 - hypot(*falls)), value * (1.0 + hypot(*rises))


# --- the mixing law ------------------------------------------------------------------------------


def test_parts_are_mixed_by_their_logarithms_at_their_shares(tmp_path):
    """Arrhenius 1887: ln nu = sum of share * ln nu; 100^0.75 * 400^0.25 = 141.421 cSt."""
    oils = {"a": EXACT[0], "b": EXACT[1], "mix": {"blend": {"a": "75 %", "b": "25 %"}}}
    found = blend(tmp_path, oils)
    assert cst(found) == pytest.approx(ends(141.421, [LAW], [LAW]), abs=1e-3)
    assert found[1][0] == pytest.approx(1757.0)  # that of silicone, SOURCES.md, 3


def test_tolerances_of_the_parts_are_added_as_squares(tmp_path):
    """Each ± 5 %, half of the blend: the root of 1.05 and of 0.95."""
    oils = {
        "a": {"viscosity": "100 cSt ± 5 %"},
        "b": {"viscosity": "400 cSt ± 5 %"},
        "mix": {"blend": {"a": "50 %", "b": "50 %"}},
    }
    fall, rise = 1.0 - sqrt(0.95), sqrt(1.05) - 1.0
    expected = ends(200.0, [fall, fall, LAW], [rise, rise, LAW])
    assert cst(blend(tmp_path, oils)) == pytest.approx(expected, abs=1e-3)


def test_a_share_that_varies_counts_over_the_sum(tmp_path):
    """50 ± 10 points of 400 to 50 exactly of 100: 40/90 and 60/110 of it.

    4^(40/90 - 1/2) = 0.92587, 4^(60/110 - 1/2) = 1.06504.
    """
    shares = {"a": "50 %", "b": "50 % ± 10 %"}
    found = blend(tmp_path, {"a": EXACT[0], "b": EXACT[1], "mix": {"blend": shares}})
    expected = ends(200.0, [1.0 - 0.92587, LAW], [0.06504, LAW])
    assert cst(found) == pytest.approx(expected, abs=2e-3)


def test_shares_that_may_all_be_nothing_are_no_blend_of_nothing(tmp_path):
    """60 ± 60 and 40 ± 40: each alone may be nothing, and then it is all of the other."""
    shares = {"a": "60 % ± 60 %", "b": "40 % ± 40 %"}
    value, low, high = cst(
        blend(tmp_path, {"a": EXACT[0], "b": EXACT[1], "mix": {"blend": shares}})
    )
    assert 0.0 < low < 100.0 < value < 400.0 < high


# --- chains, shared parts, rings -----------------------------------------------------------------

LONG = 600


def chain() -> Oils:
    """c0 of 100 cSt; each next one half of the one before and half of 400 cSt."""
    oils: Oils = {"thick": EXACT[1], "c0": EXACT[0]}
    for i in range(1, LONG + 1):
        oils[f"c{i}"] = {"blend": {f"c{i - 1}": "50 %", "thick": "50 %"}}
    return oils


def test_a_chain_of_600_blends_is_worked_out(tmp_path):
    """Each halves what is left of the thin: the first is 200, the 600th 400 but for 2^-600.

    The third: 100^(1/8) * 400^(7/8) = 336.359 cSt.
    """
    team = team_of(tmp_path, chain())
    last, third, first = (blend_of(team, name) for name in (f"c{LONG}", "c3", "c1"))
    assert last is not None and third is not None and first is not None
    assert cst(first)[0] == pytest.approx(200.0)
    assert cst(third)[0] == pytest.approx(336.359, abs=1e-3)
    assert cst(last)[0] == pytest.approx(400.0)


def test_a_build_on_a_chain_of_600_blends_is_inspected(tmp_path):
    """One call in another for each would be more than Python allows (1000 in all)."""
    repository(tmp_path, build={"front.oil": f"c{LONG}"})
    bottles = toml({f"oil.{name}": table for name, table in chain().items()})
    write(tmp_path, {"bottles.parts.toml": bottles})
    found = inspect_team([tmp_path / "bottles.parts.toml"])
    assert found.in_files == []
    assert [judged.id for judged in found.builds] == ["heron-quarry"]
    # 400 cSt lie within 100 to 1500
    assert [f for f in found.findings if f.rule == "oil/viscosity-range"] == []


def test_parts_that_blends_share_are_worked_out_once(tmp_path, monkeypatch):
    """60 storeys, each of both oils of the storey below: 2^60 ways down, 120 oils."""
    oils: Oils = {"a0": EXACT[0], "b0": EXACT[1]}
    for i in range(1, 61):
        below = f"a{i - 1}", f"b{i - 1}"
        oils[f"a{i}"] = {"blend": {below[0]: "60 %", below[1]: "40 %"}}
        oils[f"b{i}"] = {"blend": {below[0]: "40 %", below[1]: "60 %"}}
    calls = []
    mixing = oil.blend_viscosity

    def counted(*given: Any) -> float:
        calls.append(given)
        return mixing(*given)

    monkeypatch.setattr(oil, "blend_viscosity", counted)
    start = time.monotonic()
    team = team_of(tmp_path, oils)
    found = blend_of(team, "a60")
    assert time.monotonic() - start < 20.0
    assert found is not None
    # 0.6 and 0.4 leave a fifth of the difference at each storey: both ends meet at the mean
    assert cst(found)[0] == pytest.approx(sqrt(100 * 400))
    assert len(calls) <= 10 * 120
    calls.clear()
    assert blend_of(team, "a60") == found
    assert len(calls) <= 10  # its parts are remembered


def test_the_members_of_a_ring_have_no_viscosity_and_others_are_left_alone(tmp_path):
    oils: Oils = {
        "a": EXACT[0],
        "b": EXACT[1],
        "this": {"blend": {"that": "50 %", "a": "50 %"}},
        "that": {"blend": {"this": "50 %", "b": "50 %"}},
        "on-top": {"blend": {"this": "50 %", "a": "50 %"}},
        "sound": {"blend": {"a": "50 %", "b": "50 %"}},
    }
    team = team_of(tmp_path, oils)
    for name in ("this", "that", "on-top"):
        assert blend_of(team, name) is None
    sound = blend_of(team, "sound")
    assert sound is not None and cst(sound)[0] == pytest.approx(200.0)


def test_a_ring_member_with_a_viscosity_of_its_own_stands_on_that(tmp_path):
    """What is stated needs no blend to be worked out: half of 400 and half of 100 make 200."""
    oils: Oils = {
        "a": EXACT[0],
        "this": {"blend": {"that": "50 %", "a": "50 %"}, "viscosity": "400 cSt ± 0 %"},
        "that": {"blend": {"this": "50 %", "a": "50 %"}},
        "on-top": {"blend": {"this": "50 %", "a": "50 %"}},
    }
    team = team_of(tmp_path, oils)
    assert blend_of(team, "this") is None
    found = blend_of(team, "on-top")
    assert found is not None and cst(found)[0] == pytest.approx(200.0)


def test_an_oil_that_is_no_blend_or_has_a_part_that_is_not_there_is_none(tmp_path):
    oils: Oils = {"a": EXACT[0], "mix": {"blend": {"a": "50 %", "lost": "50 %"}}}
    team = team_of(tmp_path, oils)
    assert blend_of(team, "a") is None
    assert blend_of(team, "mix") is None
    assert blend_of(team, "nowhere") is None


def test_a_part_of_a_blend_counts_as_it_is_stated_not_as_it_is_blended(tmp_path):
    """A blend with a viscosity of its own is what was measured: 100."""
    oils: Oils = {
        "a": EXACT[0],
        "b": EXACT[1],
        "measured": {"blend": {"a": "50 %", "b": "50 %"}, "viscosity": "100 cSt ± 0 %"},
        "mix": {"blend": {"measured": "50 %", "b": "50 %"}},
    }
    assert cst(blend(tmp_path, oils))[0] == pytest.approx(200.0)


def test_parts_come_to_25_degc_by_their_own_law_first(tmp_path):
    """SOURCES.md, 3, table: 263.94 cSt at 40 degC are 350 at 25; with 100: sqrt 35000.

    Two points: 450 at 25, 190 at 60 degC; as read at 60 with the other as second, it is 450 again.
    """
    oils: Oils = {
        "warm": {"viscosity": "263.94 cSt ± 0 %", "at": "40 degC"},
        "a": EXACT[0],
        "mix": {"blend": {"warm": "50 %", "a": "50 %"}},
    }
    assert cst(blend(tmp_path / "one", oils))[0] == pytest.approx(sqrt(35000), rel=1e-4)
    oils["warm"] = {
        "viscosity": "190 cSt ± 0 %",
        "at": "60 degC",
        "second": {"viscosity": "450 cSt", "at": "25 degC"},
    }
    assert cst(blend(tmp_path / "two", oils))[0] == pytest.approx(sqrt(45000))


def test_a_blends_slope_is_the_mean_of_its_parts_by_share(tmp_path):
    """VTC 0.59 and 0.62 are 1688 and 1832 K (SOURCES.md, 3); a quarter and three quarters: 1796."""
    oils: Oils = {
        "a": {"viscosity": "100 cSt", "vtc": "0.59"},
        "b": {"viscosity": "400 cSt", "vtc": "0.62"},
        "mix": {"blend": {"a": "25 %", "b": "75 %"}},
    }
    assert blend(tmp_path, oils)[1] == pytest.approx((1796.0,) * 3, abs=1.0)


def test_tolerances_of_slopes_are_carried_into_the_blend(tmp_path):
    """VTC 0.59 to 0.61 is 1688 to 1782 K (SOURCES.md, 3), and half of it with 1757:

    1722.5 to 1769.5 K.
    """
    oils: Oils = {
        "a": {"viscosity": "100 cSt ± 0 %", "vtc": "0.60 ± 0.01"},
        "b": EXACT[1],
        "mix": {"blend": {"a": "50 %", "b": "50 %"}},
    }
    slope = blend(tmp_path, oils)[1]
    assert slope == pytest.approx((1745.5, 1722.5, 1769.5), abs=1.0)


# --- density and expansion -----------------------------------------------------------------------


def with_oil(folder: Path, oils: Oils, ident: str = "mix") -> BuildFigures:
    """Give the figures of the sound build with one of some oils in front, all of 450 cSt."""
    tables = {
        f"oil.{name}": table if "blend" in table else {"viscosity": "450 cSt", **table}
        for name, table in oils.items()
    }
    write(folder, {"bottles.parts.toml": toml(tables)})
    return figures(build_path(repository(folder, build={"front.oil": ident})))


def figure(found: BuildFigures, measure: str, condition: str | None = None) -> FigureLine:
    (line,) = (
        f
        for f in found.figures
        if (f.measure, f.condition) == (measure, condition) and f.subject in ("front", "front.left")
    )
    return line


def density(folder: Path, oils: Oils, ident: str = "mix") -> tuple[Any, Any, Any]:
    """As read, least and most, in g/cm^3."""
    with_oil(folder, oils, ident)
    team = load_team(folder)
    damper = dampers(team, team.file(build_path(folder)))[0]
    assert damper.density is not None
    ends = damper.spread.get("density", (damper.density, damper.density))
    return damper.density / 1e3, ends[0] / 1e3, ends[1] / 1e3


def heat(folder: Path, oils: Oils) -> Any:
    """What 9 ml grow by from 20 to 38 degC, mm^3.

    The room needed into the cap is that and what the shaft takes over 6.4 mm of hold-back,
    pi/4 * 3.5^2 * 6.4 = 61.575 mm^3.
    """
    line = figure(with_oil(folder, oils), "into_cap_need", "hot")
    assert isinstance(line.value, float)
    return line.value - 61.575


HALVES = {"a": "50 %", "b": "50 %"}
PETROLEUM: Oils = {
    "a": {"density": "0.87 g/cm^3 ± 0.01 g/cm^3", "expansion": "7.5e-4 1/K"},
    "b": {"density": "0.88 g/cm^3 ± 0.02 g/cm^3", "expansion": "7.5e-4 1/K"},
}


def test_a_blend_has_the_mean_density_of_its_parts_by_share(tmp_path):
    """A quarter of 0.87 ± 0.01, three quarters of 0.88 ± 0.02: 0.8775 ± hypot(0.0025, 0.015)."""
    oils = {**PETROLEUM, "mix": {"blend": {"a": "25 %", "b": "75 %"}}}
    assert density(tmp_path, oils) == pytest.approx(
        (0.8775, 0.8775 - 0.0152069, 0.8775 + 0.0152069)
    )


def test_a_blend_grows_with_heat_as_its_parts_do(tmp_path):
    """9000 mm^3 * (beta - 3 * 23.6e-6) * 18 K: 110.03 for 7.5e-4, 142.43 for 9.5e-4 /K.

    A blend of a third and two thirds of oils of 7.5e-4 and 10.5e-4 has 9.5e-4.
    """
    assert heat(tmp_path / "one", {**PETROLEUM, "mix": {"blend": HALVES}}) == pytest.approx(
        110.03, abs=0.01
    )
    oils: Oils = {
        "a": {"expansion": "7.5e-4 1/K"},
        "b": {"expansion": "10.5e-4 1/K"},
        "mix": {"blend": {"a": "1/3", "b": "2/3"}},
    }
    assert heat(tmp_path / "two", oils) == pytest.approx(142.43, abs=0.01)


def test_a_part_that_gives_none_counts_as_silicone_with_its_tolerance(tmp_path):
    """Half of 0.87 exactly and half of 0.968 ± 0.005: 0.919 ± 0.0025."""
    oils: Oils = {"a": {"density": "0.87 g/cm^3 ± 0 %"}, "b": {}, "mix": {"blend": HALVES}}
    assert density(tmp_path, oils) == pytest.approx((0.919, 0.9165, 0.9215))


def test_of_parts_that_give_none_the_blend_is_silicone(tmp_path):
    oils: Oils = {"a": {}, "b": {}, "mix": {"blend": HALVES}}
    assert density(tmp_path, oils) == pytest.approx((0.968, 0.963, 0.973))


def test_stated_tolerances_of_shares_move_the_mean(tmp_path):
    """50 ± 10 points of 0.80 to 50 of 0.90: 0.6 in 1.1 and 0.4 in 0.9 are 0.84545 and 0.85556."""
    oils: Oils = {
        "a": {"density": "0.80 g/cm^3 ± 0 %"},
        "b": {"density": "0.90 g/cm^3 ± 0 %"},
        "mix": {"blend": {"a": "50 % ± 10 %", "b": "50 %"}},
    }
    assert density(tmp_path, oils) == pytest.approx((0.85, 0.845454545, 0.855555556))


def test_what_the_blend_itself_gives_wins(tmp_path):
    """Its density is its own, and what it does not give, the expansion, that of its parts."""
    mix = {"blend": HALVES, "density": "0.91 g/cm^3 ± 0 %"}
    oils = {**PETROLEUM, "mix": mix}
    assert density(tmp_path / "one", oils) == pytest.approx((0.91, 0.91, 0.91))
    assert heat(tmp_path / "two", oils) == pytest.approx(110.03, abs=0.01)


def test_a_blend_of_a_blend_has_the_mean_of_means(tmp_path):
    """Half of 0.80 and half of 0.90 are 0.85; half of that and half of 0.95 are 0.90.

    Where the first blend was weighed, 0.86 in its place: 0.905.
    """
    oils: Oils = {
        "a": {"density": "0.80 g/cm^3 ± 0 %"},
        "b": {"density": "0.90 g/cm^3 ± 0 %"},
        "c": {"density": "0.95 g/cm^3 ± 0 %"},
        "first": {"blend": HALVES},
        "mix": {"blend": {"first": "50 %", "c": "50 %"}},
    }
    assert density(tmp_path / "one", oils)[0] == pytest.approx(0.90)
    oils["first"] = {"blend": HALVES, "density": "0.86 g/cm^3"}
    assert density(tmp_path / "two", oils)[0] == pytest.approx(0.905)


def test_a_long_chain_of_blends_keeps_its_density(tmp_path):
    """Each of 600 halves what is left of the thin oil: the last is the thick one's, 0.9."""
    oils = chain()
    oils["thick"] = {**oils["thick"], "density": "0.9 g/cm^3 ± 0 %"}
    assert density(tmp_path, oils, f"c{LONG}")[0] == pytest.approx(0.9)


@pytest.mark.parametrize(
    "oils",
    [
        {"a": {}, "mix": {"blend": {"a": "50 %", "lost": "50 %"}}},
        {"a": {}, "mix": {"blend": {"a": "50 %", "mix": "50 %"}}},
        {"a": {}, "b": {"expansion": "7.5e-4 1/F"}, "mix": {"blend": HALVES}},
        {"a": {}, "b": {}, "mix": {"blend": {"a": "50 %", "b": "60 %"}}},
    ],
    ids=["not there", "of itself", "refused in a part", "more than the whole"],
)
def test_what_a_part_that_is_not_known_would_do_is_not_guessed(tmp_path, oils):
    """The heat of an oil that nobody knows is not that of silicone."""
    line = figure(with_oil(tmp_path, oils), "into_cap_need", "hot")
    assert line.value is None
    assert "expansion of oil mix" in line.missing


def test_an_oil_that_is_no_blend_is_silicone_where_it_says_nothing(tmp_path):
    assert density(tmp_path, {"a": {}}, "a") == pytest.approx((0.968, 0.963, 0.973))

"""Verdicts and chances: against the normal distribution of the standard library.

A reading v, known to a half-width h, has the standard uncertainty h / sqrt(3) (JCGM 100:2008,
4.3.7); the chance that a limit L is kept is the normal probability of (L - v) / u (JCGM 106:2012,
7.4), and 1 where h does not reach the limit.
"""

from __future__ import annotations

from dataclasses import replace
from math import inf, pi, sqrt
from statistics import NormalDist
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from buildlint.judging.judge import Judge, Judgement
from buildlint.judging.rule import Ask, BandAsk
from buildlint.judging.rulebook import Rulebook
from buildlint.measures.damper import Damper
from buildlint.measures.origin import Origin
from tests.making import BENCH, dampers, sides
from tests.rules import rule_of

NORMAL = NormalDist().cdf


def judged(
    measure: str, *given: Damper, level: str = "must", sure: float = 0.95, **asked: Any
) -> Judgement:
    if "bands" not in asked:
        asked = {"ask": Ask(**asked)}
    rule = rule_of(measure, level=level, **asked)
    (found,) = Judge(Rulebook({rule.id: rule}), sure).judge(given)
    return found


def one(value: float, half: float = 0.0, name: str = "length", **more: Any) -> Damper:
    return read(half={name: half}, **{name: value}, **more)


def read(half: dict[str, float], side: str = "left", end: str = "front", **figures: Any) -> Damper:
    """Give a damper of these figures alone, each read on its own side to within a half-width."""
    spread = {n: (figures[n] - h, figures[n] + h) for n, h in half.items() if h}
    origin = {name: Origin(BENCH, (end, side, name)) for name in figures}
    return Damper(end=end, side=side, **figures, spread=spread, origin=origin)


# --- one limit, one reading ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "half", "must", "should"),
    [
        (9.0, 0.0, "holds", "holds"),
        (10.0, 0.0, "holds", "holds"),  # met at the limit itself
        (10.0001, 0.0, "fails", "fails"),
        (9.0, 1.0, "holds", "holds"),  # the very end of the tolerance lies at the limit
        (9.0, 1.05, "holds", "holds"),  # z = sqrt(3) / 1.05 = 1.650: 95.05 %
        (9.0, 1.06, "borderline", "holds"),  # z = sqrt(3) / 1.06 = 1.634: 94.9 %
        (10.0, 0.1, "borderline", "holds"),
        (10.0001, 5.0, "fails", "fails"),  # as read it fails, however likely it holds
    ],
)
def test_a_must_holds_from_sure_on_and_a_should_as_read(value, half, must, should):
    for sign, way in ((1.0, "at_most"), (-1.0, "at_least")):
        damper = one(sign * value, half)
        for level, verdict in (("must", must), ("should", should)):
            found = judged("length", damper, level=level, **{way: sign * 10.0})
            assert found.verdict == verdict


@given(value=st.floats(-20.0, 20.0), half=st.floats(0.01, 10.0), least=st.floats(-15.0, 5.0))
def test_the_chance_is_the_normal_probability_between_the_limits(value, half, least):
    most = least + 10.0
    for end in (value - half - least, value + half - most):
        assume(abs(end) > 1e-6)  # where the tolerance just reaches the limit, the chance jumps
    found = judged("length", one(value, half), at_least=least, at_most=most)
    u = half / sqrt(3.0)
    above = 1.0 if value + half <= most else NORMAL((most - value) / u)
    below = 1.0 if value - half >= least else NORMAL((value - least) / u)
    assert found.chance == pytest.approx(max(above + below - 1.0, 0.0), abs=1e-5)
    assert found.figure is not None
    assert (found.figure.up, found.figure.down) == pytest.approx((u, u))
    kept = least - 1e-9 <= value <= most + 1e-9
    assert (found.verdict == "fails") is not kept
    if kept:
        assert found.verdict == ("holds" if found.chance >= 0.95 else "borderline")


@pytest.mark.parametrize(
    ("sure", "verdict"), [(0.80, "holds"), (0.94, "holds"), (0.95, "borderline")]
)
def test_what_is_sure_is_as_the_team_sets_it(sure, verdict):
    assert judged("length", one(9.0, 1.06), at_most=10.0, sure=sure).verdict == verdict


def test_where_nothing_is_uncertain_the_chance_is_one_or_none():
    assert judged("length", one(10.0), at_most=10.0).chance == 1.0
    assert judged("length", one(10.1), at_most=10.0).chance == 0.0


@pytest.mark.parametrize(
    ("value", "ask", "verdict"),
    [
        # limits of 100 mm^3 in SI: half a mm^3 past one is past it
        (100.5e-9, {"at_most": 100e-9}, "fails"),
        (99.5e-9, {"at_least": 100e-9}, "fails"),
        (99.5e-9, {"at_most": 100e-9}, "holds"),
        (100.5e-9, {"at_least": 50e-9, "at_most": 100e-9}, "fails"),
        # a limit of nothing is met to the last bits too
        (1e-16, {"at_most": 0.0}, "holds"),
        (-1e-16, {"at_least": 0.0}, "holds"),
        (1e-9, {"at_most": 0.0}, "fails"),
        (0.1 + 0.2, {"at_most": 0.3}, "holds"),
    ],
)
def test_small_figures_are_judged_as_closely_as_large_ones(value, ask, verdict):
    assert judged("oil_volume", one(value, name="oil_volume"), **ask).verdict == verdict


@pytest.mark.parametrize("value", [0.75, 1.0, 1.25, 1.75, 2.0, 2.25])
def test_the_margin_is_to_the_nearer_limit(value):
    found = judged("length", one(value), at_least=1.0, at_most=2.0)
    assert found.margin == pytest.approx(min(2.0 - value, value - 1.0))


# --- ends that are not symmetric, floors ---------------------------------------------------------


def test_a_tolerance_that_meets_nothing_starts_from_its_middle():
    """0 mm, at most 0.3 over: read as 0, the middle is 0.15 with 0.15 / sqrt(3) about it."""
    damper = replace(one(0.0, name="hold_back"), spread={"hold_back": (0.0, 0.3e-3)})
    found = judged("hold_back", damper, at_most=0.2e-3)
    assert found.figure is not None
    assert (found.figure.value, found.figure.middle) == (0.0, pytest.approx(0.15e-3))
    assert found.chance == pytest.approx(NORMAL(0.05 / (0.15 / sqrt(3.0))))


def test_the_chance_is_of_the_need_below_nothing():
    """At the bench the bladder has to give area x (stroke - hold-back) into the body.

    Sealed 1 mm further out than the stroke it is less than nothing: told as 0, and yet the chance
    that it is at most 0 is of 1 mm within 2 mm.
    """
    figures = {"shaft_diameter": 3.5e-3, "stroke": 30e-3, "hold_back": 31e-3}
    bench = {"bench_temperature": 293.15, "bench_altitude": 0.0, "oil_volume": 9e-6}
    damper = read({"hold_back": 2e-3}, **figures, **bench, expansion=9.6e-4, cap="vented")
    rule = rule_of("into_body_need", Ask(at_most=0.0), level="must")
    damper = replace(damper, event="e", coldest=293.15, hottest=293.15, event_altitude=0.0)
    found = Judge(Rulebook({rule.id: rule})).judge([damper], at_each=True)[0]
    assert found.figure is not None
    assert found.figure.value == 0.0
    assert found.figure.middle == pytest.approx(-pi / 4 * 3.5e-3**2 * 1e-3)
    assert found.chance == pytest.approx(NORMAL(sqrt(3.0) / 2.0))
    assert found.verdict == "borderline"


# --- left against right --------------------------------------------------------------------------


@pytest.mark.parametrize("right", [100.0, 100.3, 99.7, 100.5, 99.4, 100.6])
@pytest.mark.parametrize("half", [0.0, 0.1, 0.3, 1.0])
def test_a_pair_is_held_against_both_ends_signed(right, half):
    """Each side read to ± h: left less right has u = sqrt(2) h / sqrt(3), within ± 0.5 mm."""
    pair = [read({"length": half}, s, length=v) for s, v in (("left", 100.0), ("right", right))]
    found = judged("length", *pair, same_within=0.5)
    apart = 100.0 - right
    expected = 1.0 if abs(apart) <= 0.5 + 1e-9 else 0.0
    if half:
        u = sqrt(2.0) * half / sqrt(3.0)
        sides = [
            1.0 if end - sign * apart >= 2 * half - 1e-12 else NORMAL((end - sign * apart) / u)
            for sign, end in ((1, 0.5), (-1, 0.5))
        ]
        expected = max(sum(sides) - 1.0, 0.0)
    assert found.chance == pytest.approx(expected, abs=1e-7)
    assert found.figure is not None and found.figure.value == pytest.approx(abs(apart))
    holds = "holds" if expected >= 0.95 else "borderline"
    assert found.verdict == (holds if abs(apart) <= 0.5 + 1e-9 else "fails")


def test_a_pair_that_reads_the_same_is_borderline_where_it_is_read_loosely():
    """Both 100 mm, each ± 1: within 0.5 mm the chance is 2 phi(0.5 / 0.816) - 1 = 46 %."""
    pair = [read({"length": 1.0}, side, length=100.0) for side in ("left", "right")]
    found = judged("length", *pair, same_within=0.5)
    assert (found.verdict, round(found.chance or 0.0, 2)) == ("borderline", 0.46)


# --- bands ---------------------------------------------------------------------------------------

BANDS = (
    BandAsk(45.0, Ask(at_most=3.0), "45 mm"),
    BandAsk(56.0, Ask(at_least=4.5, at_most=8.5), "56 mm"),
    BandAsk(None, Ask(at_least=7.5, at_most=12.0)),
)


@pytest.mark.parametrize(
    ("hold_back", "length", "half", "verdict"),
    [
        # 2 suits 44.95 (at most 3) and not 45.05 (at least 4.5): which it is is not known
        (2.0, 44.95, 0.1, "borderline"),
        (2.0, 44.85, 0.1, "holds"),
        (8.0, 55.95, 0.1, "holds"),  # 8 suits both bands about 56
        (6.4, 44.95, 0.1, "fails"),  # as read, though another band may let it through
    ],
)
def test_a_must_is_sure_only_where_every_band_that_it_may_lie_in_lets_it_through(
    hold_back, length, half, verdict
):
    damper = read({"body_length": half}, hold_back=hold_back, body_length=length)
    assert judged("hold_back", damper, by="body_length", bands=BANDS).verdict == verdict
    level = judged("hold_back", damper, by="body_length", bands=BANDS, level="should")
    assert level.verdict == ("fails" if verdict == "fails" else "holds")


# --- the car -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("mass", "half", "verdict"),
    # rear mass over front: f front over rear is its root; 1.96 is 1.4, the limit
    [(1.96, 0.0, "holds"), (1.97, 0.0, "fails"), (1.9, 0.0, "holds"), (1.9, 0.1, "borderline")],
)
def test_a_rule_of_the_car_is_judged_alike(mass, half, verdict):
    four = [
        read(
            {"corner_mass": half if end == "rear" else 0.0},
            side,
            end,
            spring_rate=850.0,
            motion_ratio=0.65,
            corner_mass=weight,
        )
        for end, weight in (("front", 1.0), ("rear", mass))
        for side in ("left", "right")
    ]
    for d in four:  # one mass for both sides, as in a car's file
        d.origin["corner_mass"] = Origin(BENCH, (d.end, "corner_mass"))
    assert judged("frequency_balance", *four, at_most=1.4).verdict == verdict


# --- what is shared ------------------------------------------------------------------------------


@given(damper=dampers())
def test_one_bottle_cancels_between_the_sides_and_two_do_not(damper):
    half = 0.1 * damper.viscosity_given
    wide = {"viscosity_given": (damper.viscosity_given - half, damper.viscosity_given + half)}
    both = sides(replace(damper, spread=wide))
    found = judged("viscosity_given", *both, same_within=1e-9)
    assert (found.verdict, found.chance) == ("holds", 1.0)
    apart = judged("viscosity_given", *sides(both[0], shared=False), same_within=1e-9)
    assert apart.verdict == "borderline"


def test_of_a_body_each_damper_has_a_piece_of_its_own():
    """One file says 30 mm ± 0.1 of both bodies; the two may still differ by 0.2 mm."""
    pair = [read({"stroke": 0.1}, side, stroke=30.0) for side in ("left", "right")]
    for d in pair:
        d.origin["stroke"] = Origin(BENCH, ("body", "long", "stroke"))
    found = judged("stroke", *pair, same_within=0.1)
    u = sqrt(2.0) * 0.1 / sqrt(3.0)
    assert found.chance == pytest.approx(2.0 * NORMAL(0.1 / u) - 1.0)


# --- what is not checked -------------------------------------------------------------------------


def test_what_is_missing_at_one_condition_is_never_told_to_hold():
    warm = {"viscosity_given": 100e-6, "viscosity_given_at": 298.15, "slope_given": 1757.0}
    damper = read({}, **warm, bench_temperature=293.15, coldest=283.15)
    assert judged("viscosity", replace(damper, event="e"), at_most=1.0).verdict == "not checked"
    # but what fails where it is known fails
    found = judged("viscosity", replace(damper, event="e"), at_most=1e-6)
    assert (found.verdict, found.condition) == ("fails", "cold")


def test_a_figure_without_end_keeps_a_limit_from_below():
    """A bladder with room into the cap and none into the body."""
    rooms = {"bladder_into_cap": 500e-9, "bladder_into_body": 0.0}
    found = judged("cap_over_body", read({}, **rooms), at_least=0.5)
    assert (found.verdict, found.figure is not None and found.figure.value) == ("holds", inf)

"""A measure as read, and the figures of two builds held against each other."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from buildlint import load_team
from buildlint.judging.values import Differences, conditions_of, lacking, value_of, values_at
from buildlint.measures import MEASURES
from buildlint.measures.damper import Damper
from buildlint.measures.origin import Origin
from buildlint.team.assembly import dampers
from tests.making import build_path, repository

OLD, NEW = Path("/nowhere/old.build.toml"), Path("/nowhere/new.build.toml")


def damper(file: Path, stroke: tuple[float, float, float], hold_back: float) -> Damper:
    """A damper of a build, with a stroke as read, at the least and at the most (m)."""
    origin = {name: Origin(file, ("front", name)) for name in ("stroke", "hold_back")}
    spread = {"stroke": stroke[1:]}
    read = {"stroke": stroke[0], "hold_back": hold_back}
    return Damper(end="front", side="left", **read, spread=spread, origin=origin)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("apart", "within"),
    [(0.05, True), (0.12, False), (-0.12, True), (-0.25, False)],
)
def test_a_difference_is_held_against_the_uncertainty_back_to_nothing(
    apart: float, within: bool
) -> None:
    """10 mm of 30 mm, which are 20 to 40: 0.333, up to 0.5 and down to 0.25.

    Twice those over sqrt(3) is 0.192 up and 0.096 down (JCGM 100:2008, 4.3.7 and 6.3.3). What came
    up may be less by 0.096, what went down more by 0.192.
    """
    new = damper(NEW, (0.03, 0.02, 0.04), 0.01)
    old = damper(OLD, (0.03, 0.03, 0.03), 0.03 * (1 / 3 - apart))
    held = Differences([old], [new], same_car=False)
    assert held.within_tolerance("hold_back_share", None, "front.left") is within


def test_what_is_the_same_to_the_last_bit_is_within_no_tolerance_at_all() -> None:
    new, old = (damper(file, (0.03, 0.03, 0.03), 0.01) for file in (NEW, OLD))
    held = Differences([old], [new], same_car=False)
    assert held.within_tolerance("hold_back_share", None, "front.left")


def test_what_reads_the_same_and_may_be_without_end_is_not_within() -> None:
    """Air of 50 mm^3, exactly then and from none to 100 now."""
    shaft = {"shaft_diameter": 3.5e-3, "air": 50e-9, "bench_temperature": 293.15}
    old = replace(damper(OLD, (0.03, 0.03, 0.03), 0.006), style="emulsion", **shaft)
    new = replace(old, spread={"air": (0.0, 100e-9)}, origin={})
    held = Differences([old], [new], same_car=False)
    assert not held.within_tolerance("emulsion_use", "bench", "front.left")


@pytest.mark.parametrize(
    ("viscosity", "within"), [(450, True), (460, True), (440, True), (600, False), (337.5, False)]
)
def test_a_balance_is_held_against_that_of_the_other_build(
    tmp_path: Path, viscosity: float, within: bool
) -> None:
    """Two bottles of oil, each to 5 %: twice sqrt(2) of 5 % over sqrt(3) is 8 %."""
    parts = {"oil.o450.viscosity": "450 cSt ± 5 %", "oil.other.viscosity": f"{viscosity} cSt ± 5 %"}
    made = []
    for n, oil in enumerate(("o450", "other")):
        folder = repository(tmp_path / str(n), parts=parts, build={"front.oil": oil})
        team = load_team(folder)
        made.append(dampers(team, team.file(build_path(folder))))
    held = Differences(*made, same_car=True)
    for condition in ("bench", "cold", "hot"):
        assert held.within_tolerance("damping_balance", condition, "car") is within


def test_what_is_one_at_all_conditions_is_that_at_each() -> None:
    one = damper(NEW, (0.03, 0.03, 0.03), 0.006)
    for condition in ("bench", "cold", "hot"):
        assert value_of(one, "hold_back_share", condition) == pytest.approx(0.2)
        assert lacking(one, "hold_back_share", condition) == ()
        assert lacking(one, "length", condition) == ("length",)
    assert values_at(one, "hold_back_share", "hot", stroke=[0.06, 0.012]) == pytest.approx(
        [0.1, 0.5]
    )


def test_a_measure_is_worked_out_at_each_condition_where_it_has_some_and_an_event() -> None:
    bare = damper(NEW, (0.03, 0.03, 0.03), 0.006)
    there = replace(bare, event="quarry")
    assert conditions_of(there, "into_cap_use") == ("bench", "cold", "hot")
    for one, name in ((bare, "into_cap_use"), (there, "hold_back_share"), (bare, "hold_back")):
        assert conditions_of(one, name) == ("bench",)


def test_what_cannot_be_below_nothing_is_nothing() -> None:
    """A spring that is pressed together by more than the car's weight: no sag."""
    readings = {"corner_mass": 1.0, "spring_rate": 800.0, "motion_ratio": 0.6}
    readings |= {"seat_gap": 0.07, "free_length": 0.2, "collar": 0.0}
    pressed = replace(damper(NEW, (0.03, 0.03, 0.03), 0.006), **readings)
    assert MEASURES["sag"].floor == 0.0
    assert value_of(pressed, "sag") == 0.0


@pytest.mark.parametrize(("same_car", "within"), [(True, False), (False, True)])
def test_what_both_builds_share_cancels(same_car: bool, within: bool) -> None:
    """A stroke of 30 mm to 1 mm: of one car it is off by the same in both, of two it is not."""
    stroke = Origin(Path("drawers.parts.toml"), ("body", "long", "stroke"))
    new, old = (
        replace(made, origin=made.origin | {"stroke": stroke})
        for made in (
            damper(NEW, (0.03, 0.029, 0.031), 0.0101),
            damper(OLD, (0.03, 0.029, 0.031), 0.01),
        )
    )
    held = Differences([old], [new], same_car=same_car)
    assert held.within_tolerance("hold_back_share", None, "front.left") is within

"""Enclosures: never narrower than the bounds that they stand for."""

from __future__ import annotations

from math import isfinite
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from buildlint.derived import FUNCTIONS
from buildlint.enclosures import OWN, Target, enclosing
from buildlint.figure import conditions_of, figure_of, speaks
from buildlint.measures import MEASURES
from buildlint.plans import moves, parameters, since_bench
from tests.making import dampers


def _inputs(name: str) -> set[str]:
    """Every reading and condition that a function may stand on, however far below."""
    if name not in FUNCTIONS:
        return {name}
    return set().union(*(_inputs(n) for n in parameters(FUNCTIONS[name])[0]))


def _figure_names(name: str) -> list[str]:
    here = {"coldest", "hottest", "event_altitude", "bench_temperature", "bench_altitude"}
    return sorted((_inputs(name) | here) - {"temperature", "altitude"})


@pytest.mark.parametrize(
    "measure",
    [m for m in MEASURES.values() if m.unit not in ("id", "yes") and not m.of],
    ids=lambda m: m.name,
)
@settings(max_examples=80)
@given(damper=dampers(every=True), one_end=st.booleans())
def test_an_enclosure_is_no_narrower_than_the_bounds(measure, damper, one_end):
    """Any damper, every measure, each condition: it holds what `bounds` finds."""
    if not speaks(measure, damper):
        return
    names = _figure_names(measure.name)
    values = [getattr(damper, n) for n in names]
    exact = frozenset(names) - damper.spread.keys()
    for condition in conditions_of(measure, damper):
        found = figure_of(measure, damper, condition).bounds
        if found is None:
            continue
        target = Target(measure.name, condition, measure.floor)
        asked = [(target, True, not one_end), (target, not one_end, True)]
        homes = {"hold_back": OWN, "viscosity_given": "oil", "density": "oil"}
        made = enclosing(asked, names, FUNCTIONS, exact, homes)
        (least, _), (_, most) = made(values, damper.spread)
        sizes = [abs(f) for f in (found.low, found.value, found.high) if isfinite(f)]
        hair = 1e-12 * max(sizes, default=0.0)
        assert least <= found.low + hair
        assert most >= found.high - hair
        # kept from the first time
        assert made(values, damper.spread) == made(values, damper.spread)


def _made(
    functions: dict[str, Any], name: str, low: dict[str, Any], high: dict[str, Any], at: str
) -> tuple[Any, Any]:
    exact = frozenset(n for n in low if low[n] == high[n])
    made = enclosing([(Target(name, at), True, True)], list(low), functions, exact)
    spread = {n: (low[n], high[n]) for n in low if n not in exact}
    (least,), (most,) = made(list(low.values()), spread)
    return least, most


def test_what_rises_and_what_falls_stand_at_opposite_ends():
    @moves(up="width", down="parts")
    def share(width: float, parts: float) -> float:
        return width / parts

    low, high = {"width": 2.0, "parts": 4.0}, {"width": 3.0, "parts": 5.0}
    assert _made({"share": share}, "share", low, high, "bench") == (0.4, 0.75)


def test_what_goes_either_way_is_tried_at_each_of_its_corners():
    """x y with x in 1..2 and y in -3..1: corners -3, 1, -6, 2."""

    def product(x: float, y: float) -> float:
        return x * y

    low, high = {"x": 1.0, "y": -3.0}, {"x": 2.0, "y": 1.0}
    assert _made({"product": product}, "product", low, high, "bench") == (-6.0, 2.0)


def test_what_goes_away_from_nothing_is_tried_at_both_its_ends():
    """Warmth in -3..1 of a volume in 1..2: -6 to 2."""

    @moves(up="warmth", away="volume")
    def growth(warmth: float, volume: float) -> float:
        return warmth * volume

    low, high = {"warmth": -3.0, "volume": 1.0}, {"warmth": 1.0, "volume": 2.0}
    assert _made({"growth": growth}, "growth", low, high, "bench") == (-6.0, 2.0)


def test_a_tuple_has_its_ends_place_by_place():
    """A volume in 1..2 that one place multiplies by 3 and the other by -3."""

    @moves(each="volume")
    def changes(volume: float) -> tuple[tuple[float, float], ...]:
        return ((3.0 * volume, -3.0 * volume),)

    found = _made({"changes": changes}, "changes", {"volume": 1.0}, {"volume": 2.0}, "bench")
    assert found == (((3.0, -6.0),), ((6.0, -3.0),))


def test_at_the_bench_nothing_has_changed_since():
    @since_bench
    @moves(up="temperature", down="bench_temperature")
    def growth(temperature: float, bench_temperature: float) -> float:
        return temperature - bench_temperature

    low = {"bench_temperature": 290.0, "hottest": 300.0, "event_altitude": 0.0}
    high = {"bench_temperature": 292.0, "hottest": 310.0, "event_altitude": 0.0}
    assert _made({"growth": growth}, "growth", low, high, "bench") == (0.0, 0.0)
    assert _made({"growth": growth}, "growth", low, high, "hot") == (8.0, 20.0)


def test_a_figure_is_never_below_its_floor():
    made = enclosing([(Target("gap", "bench", 0.0), True, True)], ["gap"], {}, frozenset())
    assert made([-1.5], {"gap": (-2.0, -1.0)}) == ((0.0,), (0.0,))
    assert made([1.0], {"gap": (-2.0, 3.0)}) == ((0.0,), (3.0,))


def test_what_is_kept_belongs_to_the_figures_that_it_was_worked_out_from():
    """Groups are kept by all that they take: another figure of one home is another key."""
    worked: list[tuple[float, float]] = []

    @moves(up="viscosity density")
    def dynamic(viscosity: float, density: float) -> float:
        worked.append((viscosity, density))
        return viscosity * density

    @moves(up="dynamic length")
    def force(dynamic: float, length: float) -> float:
        return dynamic * length

    names = ["viscosity", "density", "length"]
    homes = {"viscosity": "oil", "density": "oil", "length": OWN}
    made = enclosing(
        [(Target("force", "bench"), True, True)],
        names,
        {"dynamic": dynamic, "force": force},
        frozenset(["density", "length"]),
        homes,
        most_kept=2,
    )
    for _ in range(2):
        for viscosity in (1.0, 2.0, 3.0):
            for density in (1.0, 5.0):
                for length in (1.0, 7.0):
                    spread = {"viscosity": (viscosity, viscosity + 1.0)}
                    found = made([viscosity, density, length], spread)
                    least, most = viscosity * density * length, (viscosity + 1) * density * length
                    assert found == ((least,), (most,))
    # the same oil on the other side is not worked out again
    assert len(worked) < 2 * 3 * 2 * 2 * 2


def test_readings_that_make_no_sense_together_are_said_to():
    def left(stroke: float, limiter: float) -> float:
        if limiter >= stroke:
            raise ValueError("the limiter leaves no stroke")
        return stroke - limiter

    asked = [(Target("left", "bench"), True, True)]
    made = enclosing(asked, ["stroke", "limiter"], {"left": left}, frozenset())
    with pytest.raises(ValueError, match="leaves no stroke"):
        made([1.2, 2.2], {"stroke": (1.0, 1.5), "limiter": (2.0, 2.5)})

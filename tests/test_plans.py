"""Plans: a measure's functions in the order of need, at a condition; and which way it goes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import product
from typing import Any

import pytest
from hypothesis import given, settings

from buildlint.damper import Damper
from buildlint.derived import FUNCTIONS
from buildlint.figure import conditions_of, figure_of, speaks
from buildlint.measures import MEASURES, plan
from buildlint.plans import CONDITIONS, make_plan, moves, parameters, since_bench, ways_of
from tests.making import dampers


def test_a_plan_takes_readings_in_the_order_of_need_and_each_only_once():
    def both(first: float, again: float) -> float:
        return first + again

    def again(first: float, other: float = 1.0) -> float:
        return first * other

    made = make_plan("both", {"both": both, "again": again})
    assert made.inputs == ("first", "other")
    assert made.optional == {"other"}
    assert made.conditional is False
    assert made.run([2.0, 3.0]) == 8.0  # 2 + 2 * 3


def test_a_reading_that_one_step_needs_is_not_optional_because_another_can_do_without():
    def both(first: float, again: float) -> float:
        return first + again

    def again(first: float = 1.0) -> float:
        return first

    assert make_plan("both", {"both": both, "again": again}).optional == frozenset()


def test_temperature_and_altitude_are_those_of_the_condition():
    def drop(temperature: float, bench_temperature: float, altitude: float) -> float:
        return bench_temperature - temperature - altitude

    functions = {"drop": drop}
    assert make_plan("drop", functions, "cold").inputs == (
        "coldest",
        "bench_temperature",
        "event_altitude",
    )
    at_bench = make_plan("drop", functions, "bench")
    # one reading for both: at the bench T is T0 exactly
    assert at_bench.inputs == ("bench_temperature", "bench_altitude")
    assert at_bench.conditional is True
    assert at_bench.run([290.0, 0.0]) == 0.0


def test_what_has_changed_since_the_bench_is_nothing_there_and_asks_for_nothing():
    @since_bench
    def growth(volume: float, temperature: float, bench_temperature: float) -> float:
        return volume * (temperature - bench_temperature)

    def need(hold_back: float, growth: float) -> float:
        return hold_back + growth

    functions = {"growth": growth, "need": need}
    at_bench = make_plan("need", functions, "bench")
    assert (at_bench.inputs, at_bench.conditional) == (("hold_back",), True)
    assert at_bench.run([2.0]) == 2.0
    hot = make_plan("need", functions, "hot")
    assert hot.inputs == ("hold_back", "volume", "hottest", "bench_temperature")
    assert hot.run([2.0, 3.0, 310.0, 300.0]) == 32.0


def test_ways_are_followed_through_every_function_and_a_disagreement_is_either_way():
    @moves(up="width", down="gap")
    def open_width(width: float, gap: float) -> float:
        return width - gap

    @moves(down="open_width", up="gap depth")
    def closed(open_width: float, gap: float, depth: float, other: float) -> float:
        return gap * depth * other / open_width

    @moves(up="open_width width", down="closed")
    def both(open_width: float, closed: float, width: float) -> float:
        return open_width + width - closed

    functions = {"open_width": open_width, "closed": closed, "both": both}
    made = make_plan("both", functions)
    # closed falls with width, and both falls with closed: up. A wider gap: down, both ways to it
    assert dict(zip(made.inputs, made.ways, strict=True)) == {
        "width": 1,
        "gap": -1,
        "depth": -1,
        "other": 0,
    }
    ways = make_plan("closed", {**functions, "width": moves(up="gap")(lambda gap: gap)}).ways
    assert ways == (0, 1, 0)  # gap opens it here and closes it there


def test_what_goes_away_from_nothing_goes_with_the_step_that_it_is_in():
    @moves(up="warm", down="cold", away="volume")
    def growth(volume: float, warm: float, cold: float) -> float:
        return volume * (warm - cold)

    @moves(up="hold_back", down="growth")
    def need(hold_back: float, growth: float) -> float:
        return hold_back - growth

    made = make_plan("need", {"growth": growth, "need": need})
    assert made.inputs == ("hold_back", "volume", "warm", "cold")
    assert list(made.ways_at([1.0, 9.0, 310.0, 300.0])) == [1, -1, -1, 1]
    assert list(made.ways_at([1.0, 9.0, 290.0, 300.0])) == [1, 1, -1, 1]
    assert made.ways == (1, 0, -1, 1)


def test_a_way_can_only_be_said_of_a_parameter():
    with pytest.raises(AssertionError):
        moves(up="widht")(lambda width: width)


@pytest.mark.parametrize("measure", list(MEASURES.values()), ids=lambda m: m.name)
@settings(max_examples=20)
@given(damper=dampers(every=True))
def test_a_plan_in_one_piece_gives_the_same_to_the_last_bit(measure, damper):
    if not speaks(measure, damper):
        return
    for condition in conditions_of(measure, damper):
        if figure_of(measure, damper, condition).missing:
            continue
        here = make_plan(measure.of or measure.name, FUNCTIONS, condition)
        values = [getattr(damper, name) for name in here.inputs]
        assert here.often() == here.run  # asked for the first time
        for _ in range(50):
            piece = here.often()
        assert piece != here.run
        assert piece(values) == plan(measure.name, condition).run(values)


def _more(value: Any) -> Any:
    """Give a figure that is a little more: of holes, of every size."""
    if isinstance(value, tuple):
        return tuple((count, _more(size)) for count, size in value)
    return value + 0.03 * abs(value) + 1e-9


def test_each_function_goes_the_way_that_is_said_of_each_parameter_by_itself():
    """What is composed of them in a measure may hide a word that is wrong."""
    said = {
        (name, parameter): way
        for name, function in FUNCTIONS.items()
        for parameter, way in ways_of(function).items()
        if way in (1, -1)
    }
    seen: set[tuple[str, str]] = set()

    @settings(max_examples=150, derandomize=True, database=None)
    @given(damper=dampers(event=True, every=True))
    def look(damper: Damper) -> None:
        # an emulsion may state no hold-back
        stated = (damper, replace(damper, hold_back=None))
        for one_stated, condition in product(stated, CONDITIONS):
            known: dict[str, Any] = {}
            for (name, parameter), way in said.items():
                function = FUNCTIONS[name]
                arguments = [_at(one_stated, n, condition, known) for n in parameters(function)[0]]
                number = parameters(function)[0].index(parameter)
                if arguments[number] is None:
                    continue
                more = [*arguments]
                more[number] = _more(arguments[number])
                try:
                    lower, upper = function(*arguments), function(*more)
                except (TypeError, ValueError):
                    continue  # something is not there, or makes no sense together
                if lower is None or upper is None or lower == upper:
                    continue
                # below its floor a figure may go any way: nobody is told it
                least = MEASURES[name].floor if name in MEASURES else None
                pairs = zip(_numbers(lower), _numbers(upper), strict=True)
                for pair in pairs:
                    one, other = (f if least is None else max(f, least) for f in pair)
                    if one != other:
                        assert (other - one) * way > -1e-9 * abs(one), (name, parameter)
                        seen.add((name, parameter))

    look()
    assert said.keys() - seen == set()


def _numbers(result: Any) -> Iterator[float]:
    if isinstance(result, tuple):
        for each in result:
            yield from _numbers(each)
    else:
        yield result


def _at(damper: Damper, name: str, condition: str, known: dict[str, Any]) -> Any:
    """Give a reading or a function's result at a condition; None where there is none."""
    if name not in known:
        here = make_plan(name, FUNCTIONS, condition)
        try:
            known[name] = here.run([getattr(damper, n) for n in here.inputs])
        except (TypeError, ValueError):
            known[name] = None
    return known[name]

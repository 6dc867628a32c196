"""A judgement: which limit is the nearer one, and which readings decide whether it is kept."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from buildlint.judging.asks import Ask
from buildlint.judging.judgement import Figure, Judgement
from buildlint.measures import MEASURES
from buildlint.measures.damper import Damper
from tests.rules import rule_of

DAMPER = Damper(end="front", side="left")


def figure(value: float, *moves: tuple[float, float]) -> Figure:
    """A figure that the first reading moves by the first pair, down and up, and so on."""
    readings = tuple((f"reading {n}", DAMPER) for n in range(len(moves)))
    return Figure(value, value, 1.0, 1.0, np.array(moves), readings)


def judgement(ask: Ask | None, found: Figure | None) -> Judgement:
    rule = rule_of("length", ask or Ask(at_most=1.0))
    one = Judgement(rule, MEASURES["length"], "front.left", (DAMPER,), "fails")
    return replace(one, ask=ask, figure=found)


def weights(found: Judgement) -> list[tuple[str, float]]:
    return [(weight.name, pytest.approx(weight.share)) for weight in found.weights]


def test_a_reading_has_its_share_of_the_variance_that_way_and_none_where_it_does_not_move_it():
    """3 and 4 upwards are 9 and 16 of 25; 3 and 1 downwards 9 and 1 of 10."""
    found = figure(0.0, (-3.0, 3.0), (0.0, 4.0), (-1.0, 0.0))
    shares = [(w.name, w.damper, w.share) for w in found.weights(True)]
    assert shares == [("reading 1", DAMPER, 0.64), ("reading 0", DAMPER, 0.36)]
    assert [(w.name, w.share) for w in found.weights(False)] == [
        ("reading 0", 0.9),
        ("reading 2", 0.1),
    ]


@pytest.mark.parametrize(
    ("ask", "value", "upwards"),
    [
        (Ask(at_most=10.0), 0.0, True),
        (Ask(at_least=-10.0), 0.0, False),
        (Ask(at_least=0.0, at_most=10.0), 6.0, True),
        (Ask(at_least=0.0, at_most=10.0), 4.0, False),
        (Ask(at_least=0.0, at_most=10.0), 11.0, True),
        (Ask(at_least=0.0, at_most=10.0), -1.0, False),
    ],
)
def test_what_moves_it_to_the_nearer_limit_decides(ask: Ask, value: float, upwards: bool) -> None:
    found = judgement(ask, figure(value, (0.0, 1.0), (-1.0, 0.0)))
    assert found.upwards is upwards
    assert weights(found) == [("reading 0" if upwards else "reading 1", 1.0)]


@pytest.mark.parametrize(("apart", "reading"), [(0.5, "reading 0"), (-0.5, "reading 1")])
def test_of_two_sides_what_moves_them_further_apart_decides(apart: float, reading: str) -> None:
    found = judgement(Ask(same_within=1.0), figure(apart, (0.0, 1.0), (-1.0, 0.0)))
    assert weights(found) == [(reading, 1.0)]


def test_without_a_limit_or_a_figure_nothing_decides_downwards() -> None:
    assert judgement(None, figure(0.0, (-1.0, 1.0))).upwards
    assert judgement(Ask(at_least=1.0), None).upwards
    assert judgement(Ask(at_most=1.0), None).weights == []


def test_a_share_of_the_mean_has_no_unit_and_all_else_that_of_its_measure() -> None:
    assert judgement(Ask(same_within=0.1, relative=True), None).unit == "1"
    assert judgement(Ask(same_within=0.1), None).unit == judgement(None, None).unit == "mm"


def test_what_is_missing_here_and_in_the_build_that_it_is_like_is_named_once() -> None:
    old = Damper(end="front", side="left", build="old")
    read = Damper(end="front", side="left", build="new", length=0.1, like=old)
    rule, measure = rule_of("length_against", Ask(at_most=1.0)), MEASURES["length_against"]
    for dampers, missing in (
        ((read,), ("length in old",)),
        ((read, replace(read, side="right")), ("length in old",)),
        ((replace(read, length=None),), ("length", "length in old")),
    ):
        one = Judgement(rule, measure, "front", dampers, "not checked")
        assert one.missing == missing
        assert replace(one, verdict="fails").missing == ()


def test_where_the_class_of_the_car_is_not_known_it_is_that_which_is_missing() -> None:
    buggies = rule_of("length", Ask(at_most=1.0), only={"class": "eighth-scale buggy"})
    one = Judgement(buggies, MEASURES["length"], "front.left", (DAMPER,), "not checked")
    assert one.missing == ("class of the car",)
    known = replace(one, dampers=(replace(DAMPER, car_class="eighth-scale buggy"),))
    assert known.missing == ("length",)

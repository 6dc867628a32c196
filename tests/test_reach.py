"""Which dampers a rule speaks of, and on which subjects it is judged."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from buildlint.damper import CORNERS, Damper
from buildlint.measures import MEASURES
from buildlint.reach import speaks_of, subjects
from buildlint.rule import Ask, Rule

FOUR = [Damper(end=end, side=side, hold_back=6e-3) for end, side in CORNERS]


def _rule(measure: str = "hold_back", ask: Ask | None = None, **only: str) -> Rule:
    texts = {"title": "t", "source": "s", "why": "w", "cure": "c"}
    ask = ask if ask is not None else Ask(at_most=1.0)
    return Rule(
        "a/rule", level="must", path=Path("r"), measure=measure, ask=ask, only=only, **texts
    )


def _told(rule: Rule, dampers: list[Damper], alike: Any) -> list[str]:
    return [s for s, _ in subjects(rule, MEASURES[rule.measure or ""], dampers, alike)]


@pytest.mark.parametrize(
    ("alike", "told"),
    [
        (lambda one, other: True, ["car"]),
        (lambda one, other: one.end == other.end, ["front", "rear"]),
        (lambda one, other: one.end == other.end == "rear", ["front.left", "front.right", "rear"]),
        (lambda one, other: False, ["front.left", "front.right", "rear.left", "rear.right"]),
    ],
)
def test_what_is_alike_is_one_subject(alike, told):
    assert _told(_rule(), FOUR, alike) == told


def test_sides_are_compared_at_each_end_that_has_both():
    rule = _rule(ask=Ask(same_within=1.0))
    assert _told(rule, FOUR, lambda one, other: True) == ["front", "rear"]
    assert _told(rule, FOUR[:3], lambda one, other: True) == ["front"]
    assert _told(rule, [FOUR[0], FOUR[2]], lambda one, other: True) == []


def test_the_car_is_judged_where_all_four_are_known():
    rule = _rule("damping_balance")
    assert _told(rule, FOUR, lambda one, other: False) == ["car"]
    assert _told(rule, FOUR[:3], lambda one, other: False) == []


def test_a_rule_narrowed_to_an_end_speaks_of_that_alone():
    assert _told(_rule(end="rear"), FOUR, lambda one, other: True) == ["rear"]


@pytest.mark.parametrize(
    ("only", "figures", "spoken"),
    [
        ({"cap": "sealed"}, {"cap": "vented"}, False),
        ({"cap": "sealed"}, {}, True),  # a cap that is not known may be sealed
        ({"class": "truggy"}, {"car_class": "truggy"}, True),
        ({"class": "truggy"}, {"car_class": "Truggy "}, True),
        ({"class": "truggy"}, {"car_class": "buggy"}, False),
        ({"class": "truggy"}, {}, True),  # and then needs the class
        ({"style": "emulsion"}, {}, False),
    ],
)
def test_a_rule_speaks_of_what_it_is_narrowed_to(only, figures, spoken):
    damper = Damper(end="front", side="left", **figures)
    assert speaks_of(_rule(**only), MEASURES["hold_back"], damper) is spoken


def test_a_measure_without_sense_for_a_damper_is_not_spoken_of():
    damper = Damper(end="front", side="left", style="emulsion")
    assert not speaks_of(_rule("into_cap_use"), MEASURES["into_cap_use"], damper)

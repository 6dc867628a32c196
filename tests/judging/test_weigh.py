"""Rules weighed: of which dampers they speak, by which band, and where the worst is told."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from buildlint.judging.asks import Ask, BandAsk
from buildlint.judging.judge import Judge
from buildlint.judging.messages import message
from buildlint.judging.rulebook import Rulebook
from buildlint.judging.weigh import speaks, speaks_of
from buildlint.measures import MEASURES
from buildlint.measures.arrays import Batch
from buildlint.measures.damper import Damper
from tests.making import sides
from tests.rules import rule_of

BUILT = Damper(end="front", side="left", build="built", hold_back=6e-3)
PLAN = replace(BUILT, build="plan", plan=True)
READ = replace(PLAN, length=0.1)


@pytest.mark.parametrize(
    ("ident", "measure", "spoken"),
    [
        ("pair/ours", "hold_back", [True, True, True]),
        # of a finished damper: never of a plan, whatever is read of it
        ("bench/ours", "hold_back", [True, False, False]),
        ("record/ours", "length", [True, False, False]),
        # of what is read once it is finished: of a plan where that is there
        ("pair/ours", "length", [True, False, True]),
        ("pair/ours", "rebound", [True, False, False]),
    ],
)
def test_a_rule_speaks_of_a_plan_where_what_it_stands_on_is_there(ident, measure, spoken):
    rule = rule_of(measure, Ask(at_most=1.0), id=ident)
    batch = Batch([[BUILT], [PLAN], [READ]])
    assert speaks_of(rule, MEASURES[measure], batch).tolist() == spoken
    # with no plan beside it too
    assert speaks_of(rule, MEASURES[measure], Batch([[BUILT]])).tolist() == [True]


@pytest.mark.parametrize(
    ("here", "like", "spoken"),
    [
        (BUILT, BUILT, True),
        (BUILT, PLAN, False),  # nothing has been read of what it is like
        (PLAN, BUILT, False),
        (READ, BUILT, True),
        (BUILT, READ, True),
        (BUILT, None, False),
    ],
)
def test_against_a_plan_a_reading_is_held_where_both_are_there(here, like, spoken):
    rule, measure = rule_of("length_against", Ask(at_most=1.0)), MEASURES["length_against"]
    batch = Batch([[replace(BUILT, side="right")], [replace(here, like=like)]], with_like=True)
    assert speaks_of(rule, measure, batch)[:2].tolist() == [False, spoken]


def test_in_a_batch_without_what_it_is_like_nothing_is_held_against_it():
    measure = MEASURES["length_against"]
    assert speaks(measure, Batch([[replace(BUILT, like=BUILT)]])).tolist() == [False]


def judged(*dampers: Damper, **rule: Any) -> list[tuple[str, str | None, str]]:
    made = rule_of(**rule, level="must")
    judgements = Judge(Rulebook({made.id: made})).judge(dampers)
    return [(j.verdict, j.condition, message(j)) for j in judgements]


def test_a_figure_is_told_with_the_limit_of_its_band():
    bands = [
        BandAsk(45e-3, Ask(at_most=3e-3, texts={"at_most": "3 mm"}), "45 mm"),
        BandAsk(None, Ask(at_most=8e-3, texts={"at_most": "8 mm"})),
    ]
    front = replace(BUILT, hold_back=9e-3)
    for length, limit in ((45e-3, 3), (46e-3, 8)):
        (found,) = judged(
            replace(front, body_length=length), measure="hold_back", by="body_length", bands=bands
        )
        assert found == ("fails", None, f"hold-back is 9.0 mm, at most {limit} mm")


def test_what_is_not_known_at_any_condition_is_told_at_the_bench():
    there = {"event": "quarry", "coldest": 287.15, "hottest": 311.15, "event_altitude": 0.0}
    known = {"bench_temperature": 293.15, "bench_altitude": 0.0}
    found = judged(
        *sides(Damper(end="front", side="left", style="bladder", **known, **there)),
        measure="into_cap_use",
        ask=Ask(at_most=1.0, texts={"at_most": "100 %"}),
    )
    assert {(verdict, condition) for verdict, condition, _ in found} == {("not checked", "bench")}

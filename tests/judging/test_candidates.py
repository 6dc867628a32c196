"""The builds that differ from one at one end: which of them hold."""

from __future__ import annotations

from dataclasses import replace
from math import isnan
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from buildlint import load_team
from buildlint.judging.asks import Ask
from buildlint.judging.candidates import BENCH_TEMPERATURES, Candidates, window
from buildlint.judging.judge import Judge
from buildlint.judging.rulebook import Rulebook, load_rulebook
from buildlint.measures.damper import Damper
from buildlint.team.assembly import dampers
from tests.by_hand import bladder, by_hand
from tests.making import build_path, repository
from tests.rules import rule_of

BOOK = load_rulebook()


def of_team(folder: Path, judge: Judge, **changes: Any) -> Candidates:
    team = load_team(repository(folder, **changes))
    return Candidates(judge, dampers(team, team.file(build_path(folder))), "front", team)


def test_the_window_is_where_every_must_holds_and_none_where_none_does() -> None:
    """30 - 240/9.6211 = 5.055 mm at least, 200/9.6211 = 20.788 at most; 19.6 and 5.1: none."""
    found = window(Judge(BOOK), bladder(0.0, 240, 200), "front")
    assert found == pytest.approx((5.1e-3, 20.7e-3))
    assert window(Judge(BOOK), bladder(0.0, 100, 49.2), "front") is None


@pytest.mark.parametrize(
    ("rooms", "off", "expected"),
    [
        ((240, 200), 0.0, (5.1e-3, 20.7e-3)),
        ((400, 300), 0.0, (0.0, 30e-3)),
        ((240, 49.2), 0.0, (5.1e-3, 5.1e-3)),
        # the hold-back itself is known to 0.3 mm, of which 95 % ask for 0.285 each way
        ((240, 200), 0.3e-3, (5.4e-3, 20.5e-3)),
        # 5.055 to 5.145 mm: its middle is there, and is not sure enough
        ((240, 49.5), 0.3e-3, (float("nan"), float("nan"))),
        # 19.6 to 5.1 mm
        ((100, 49.2), 0.0, (float("nan"), float("nan"))),
    ],
)
def test_the_window_of_each_candidate_is_looked_for_from_its_middle(rooms, off, expected) -> None:
    pair = [replace(d, spread={"hold_back": (0.0, off)}) for d in bladder(0.0, *rooms)]
    tries = Candidates(Judge(BOOK), pair, "front", None)
    # two of them: each has its own
    found = tries.windows(tries.base.batch.repeated(2))
    assert [edge[0] for edge in found] == pytest.approx(expected, nan_ok=True)
    assert [edge[1] for edge in found] == pytest.approx(expected, nan_ok=True)


def test_where_no_hold_back_can_be_tried_there_is_no_window() -> None:
    """Neither where the stroke is not known nor where nothing is left of it."""
    both = ({"stroke": None}, {"limiter": 30e-3}, {"hold_back": None})
    for lost in (*((each, each) for each in both), ({}, {"hold_back": None})):
        sides = zip(bladder(6.0, 400, 300), lost, strict=True)
        pair = [replace(damper, **changes) for damper, changes in sides]
        tries = Candidates(Judge(BOOK), pair, "front", None)
        assert tries.values("hold_back") is None
        least, most = tries.windows(tries.base.batch)
        assert isnan(least[0]) and isnan(most[0])
        assert window(Judge(BOOK), pair, "front") is None


@pytest.mark.parametrize(
    ("changes", "reading", "last", "step"),
    [
        ({}, "hold_back", 30.0, 0.1),
        # of both sides, as far as the shorter stroke and the longer limiter let
        ({"limiter": 4.55e-3}, "hold_back", 25.45, 0.1),
        ({"limiter": 4.55e-3}, "limiter", 30.0, 0.1),
        ({}, "collar", 40.0, 0.5),
    ],
)
def test_a_reading_is_tried_from_nothing_to_all_that_there_is(changes, reading, last, step):
    readings = {"hold_back": 6e-3, "limiter": 0.0, "collar": 0.0, "seat_gap": 40e-3}
    left, right = by_hand(**readings | changes)
    pair = [left, replace(right, stroke=31e-3, limiter=0.0, seat_gap=45e-3)]
    values = Candidates(Judge(BOOK), pair, "front", None).values(reading)
    assert values is not None
    assert (values[0], values[-1]) == (0.0, pytest.approx(last * 1e-3))
    steps = np.diff(values)
    assert steps[:-2] == pytest.approx(step * 1e-3)
    assert np.all(steps > 0.0) and np.all(steps < step * 1.001e-3)


def test_another_part_is_any_that_is_not_on_both_sides_and_is_not_gone(tmp_path) -> None:
    parts = {"oil.o600.viscosity": "600 cSt", "oil.o300.viscosity": "300 cSt"}
    tries = of_team(tmp_path, Judge(BOOK), parts=parts)
    assert tries.other_parts(("oil",)) == [("o300",), ("o600",)]
    assert tries.other_parts(("oil", "piston")) == [("o300", "four"), ("o600", "four")]
    unlike = of_team(tmp_path / "b", Judge(BOOK), parts=parts, build={"front.left.oil": "o300"})
    assert unlike.other_parts(("oil",)) == [("o300",), ("o450",), ("o600",)]
    assert Candidates(Judge(BOOK), by_hand(), "front", None).other_parts(("oil",)) == []


@pytest.mark.parametrize(("pistons", "pairs"), [(50, 2500), (51, 0)])
def test_so_many_pairs_of_parts_are_tried_and_any_number_of_one_kind(
    tmp_path, pistons: int, pairs: int
) -> None:
    """50 oils with as many pistons, and the pair that is fitted not among them."""
    given = {f"oil.o{n}.viscosity": "450 cSt" for n in range(50)}
    given |= {f"piston.p{n}.diameter": "15.9 mm" for n in range(pistons)}
    given |= {"oil.o450.gone": True, "piston.four.gone": True}
    tries = of_team(tmp_path, Judge(BOOK), parts=given)
    assert len(tries.other_parts(("oil", "piston"))) == pairs
    assert len(tries.other_parts(("piston",))) == pistons


def test_what_the_whole_car_is_asked_is_judged_with_the_other_end_as_it_is(tmp_path) -> None:
    """Front over rear goes with the oil in front: 300/450 and 600/450 of what it is."""
    rule = rule_of("damping_balance", Ask(at_most=10.0), level="must")
    judge = Judge(Rulebook({rule.id: rule}))
    parts = {"oil.o600.viscosity": "600 cSt", "oil.o300.viscosity": "300 cSt"}
    tries = of_team(tmp_path, judge, parts=parts)
    (now,) = (j for j in judge.judge(tries.dampers) if j.condition is not None)
    assert now.figure is not None
    asked = rule_of("damping_balance", Ask(at_most=1.1 * now.figure.value), level="must")
    tries = replace(tries, judge=Judge(Rulebook({asked.id: asked})))
    (level,) = tries.levels(tries.with_parts(("oil",), [("o300",), ("o600",)]), {"oil"})
    assert level.holds.tolist() == [True, False]
    assert level.bad.tolist() == [False, True]
    assert not level.was_bad


@pytest.mark.parametrize(
    ("rear", "half", "holds"),
    [
        # 9 ml grow by 8.6 mm^3 a K, the body by 0.6: by 240 mm^3 from 10 to 40 degC, 160 from 20
        (300.0, 0.0, [True, True, True]),
        (200.0, 0.0, [False, True, True]),
        # as read it holds, but not surely
        (243.0, 10.0, [False, True, True]),
        # when hot it fails as it is, and is no worse; when cold it comes to fail too
        (90.0, 0.0, [True, True, True]),
        (50.0, 0.0, [False, True, True]),
    ],
)
def test_another_bench_makes_no_must_of_the_other_end_worse(rear, half, holds) -> None:
    event = {"event": "e", "coldest": 293.15, "hottest": 313.15, "event_altitude": 0.0}
    rooms = {"hold_back": 0.0, "bladder_into_body": 400e-9}
    front = by_hand(**event, **rooms, bladder_into_cap=400e-9)
    spread = {"bladder_into_cap": ((rear - half) * 1e-9, (rear + half) * 1e-9)} if half else {}
    made = [replace(d, end="rear", bladder_into_cap=rear * 1e-9, spread=spread) for d in front]
    rule = rule_of("into_cap_use", Ask(at_most=1.0), level="must")
    tries = Candidates(Judge(Rulebook({rule.id: rule})), [*front, *made], "front", None)
    benches = np.array([283.15, 293.15, 303.15])
    batch = tries.base.batch.turned({"bench_temperature": benches})
    (level,) = tries.levels(batch, {"bench_temperature"})
    assert level.holds.tolist() == holds
    assert not level.bad.any()


def test_no_rule_on_what_a_build_is_like_is_asked_of_candidates() -> None:
    """Not even one of the team's own, in any group: the other build is none of the candidates."""
    other = Damper(end="front", side="left", build="old", hold_back=1e-3)
    pair = [replace(damper, like=other, build="new") for damper in bladder(6.0, 400, 300)]
    rule = rule_of("hold_back_against", Ask(at_most=1e-3), level="must", turn=["hold_back"])
    judge = Judge(Rulebook({rule.id: rule}))
    assert {found.verdict for found in judge.judge(pair)} == {"fails"}
    tries = Candidates(judge, pair, "front", None)
    assert tries.entered_by({"hold_back"}) == []
    values = tries.values("hold_back")
    assert values is not None and tries.good("hold_back", values).all()


def test_benches_are_from_5_to_40_degc() -> None:
    ends = BENCH_TEMPERATURES[0] - 273.15, BENCH_TEMPERATURES[-1] - 273.15
    assert ends == pytest.approx((5.0, 40.0))

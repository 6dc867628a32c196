"""One end carried to another event: each candidate is as its plan would be, and which are told."""

from __future__ import annotations

from math import isnan, log
from pathlib import Path
from typing import Any

import pytest

from buildlint.judging.adapt_end import MOVED, Candidate, EndSearch
from buildlint.judging.candidates import BENCH_TEMPERATURES, window
from buildlint.judging.judge import Judge
from buildlint.judging.rulebook import load_rulebook
from buildlint.judging.values import value_of
from buildlint.measures.damper import Damper
from buildlint.team.assembly import dampers
from tests.carrying import HOT, NO_SHALLOW, no_oils_but, plan_with, search_of, team_of
from tests.making import Raw

JUDGE = Judge(load_rulebook())


def search(folder: Path, end: str = "front", **changes: dict[str, Any]) -> EndSearch:
    return search_of(team_of(folder, **changes), end)


def told(found: EndSearch) -> list[tuple[str | None, str | None, bool]]:
    return [(c.oil, c.piston, c.as_good) for c in found.candidates()]


def planned(found: EndSearch, candidate: Candidate) -> list[Damper]:
    """Give the dampers of the plan with a candidate at its end, read from a file of it."""
    parts = {kind: getattr(candidate, kind) for kind in ("oil", "piston", "bladder")}
    table = plan_with(found.team, found.end, **parts, hold_back=f"{candidate.hold_back} mm")
    team = found.team.with_files({"tried.build.toml": table})
    return dampers(team, team.file(team.root / "tried.build.toml"))


CHANGES: list[dict[str, dict[str, Any]]] = [
    {},
    {"parts": no_oils_but(0.0, 0.02, -0.1)},
    {"event": HOT},
    {"parts": {"bladder.deep.into_cap": "50 mm^3", **NO_SHALLOW}, "event": HOT},
    {"parts": {"bladder.deep.into_body": "410 mm^3"}},
]


@pytest.mark.parametrize("end", ["front", "rear"])
@pytest.mark.parametrize("changes", CHANGES, ids=["as is", "oils", "hot", "none holds", "sealed"])
def test_each_candidate_is_as_its_plan_would_be(tmp_path, end, changes):
    found = search(tmp_path, end, **changes)
    was = next(d for d in found.here if d.end == end)
    musts = {rule.id for rule in found.tries.entered_by(MOVED) if rule.level == "must"}
    assert found.candidates()
    for each in found.candidates():
        plan = planned(found, each)
        now = next(d for d in plan if d.end == end)
        for name, cold, hot in (
            ("damping", each.cold, each.hot),
            ("quick_force", each.force_cold, each.force_hot),
        ):
            for condition, ratio in (("cold", cold), ("hot", hot)):
                there, here = (value_of(d, name, condition) for d in (now, was))
                assert 1.0 + ratio == pytest.approx(there / here, rel=1e-6)
        assert each.error == pytest.approx(max(abs(log(1 + each.cold)), abs(log(1 + each.hot))))
        judged = [
            j
            for j in JUDGE.judge(plan)
            if j.rule.id in musts and any(d.end == end for d in j.dampers)
        ]
        wrong = {j.rule.id for j in judged if j.verdict in ("fails", "borderline")}
        assert set(each.fails) == wrong
        chances = [j.chance for j in judged if j.chance is not None]
        assert each.chance == pytest.approx(min(chances), abs=1e-9)
        span = window(JUDGE, plan, end)
        assert (each.least is None) == (span is None)
        if span is not None:
            assert (each.least, each.most) == pytest.approx([edge * 1e3 for edge in span])


def test_with_nothing_changed_it_is_as_its_plan_would_be(tmp_path):
    found = search(tmp_path).unchanged
    assert (found.oil, found.piston, found.bladder) == ("o450", "four", "deep")
    assert (found.hold_back, found.changed, found.fails) == (6.4, (), ())
    assert found.chance == pytest.approx(1.0)  # all musts hold, surely
    span = window(JUDGE, search(tmp_path / "b").there, "front")
    assert span is not None
    assert (found.least, found.most) == pytest.approx([edge * 1e3 for edge in span])


def test_a_part_that_left_and_right_have_two_of_is_none(tmp_path):
    unlike = {"front.left.oil": "o600", "front.left.piston": "six", "front.left.bladder": "shallow"}
    found = search(tmp_path, build=unlike)
    assert (found.unchanged.oil, found.unchanged.piston, found.unchanged.bladder) == (None,) * 3
    best = found.candidates()[0]
    assert best.oil and best.piston and best.bladder
    assert best.changed == ("oil", "piston", "bladder")
    assert best.fails == ()  # it is built alike on both sides


# --- which are told ------------------------------------------------------------------------------


def test_two_that_are_as_good_are_told_at_most(tmp_path):
    parts = no_oils_but(0.0, 0.002, 0.004, 0.006, 0.008, 0.03)
    found = search(tmp_path, parts=parts)
    assert told(found) == [("a", "four", False), ("b", "four", True), ("c", "four", True)]


@pytest.mark.parametrize(("off", "good"), [(0.009, True), (0.011, False)])
def test_what_comes_a_hundredth_less_near_is_as_good(tmp_path, off, good):
    found = search(tmp_path, parts=no_oils_but(0.02, 0.02 + off))
    assert told(found) == [("a", "four", False), *([("b", "four", True)] if good else [])]


def test_the_nearest_of_all_and_the_nearest_with_less_changed_are_told_too(tmp_path):
    """With six holes for four an oil half as thick again does the same.

    The first has one part changed, and is 4 points off; with the piston another is at none.
    """
    parts = no_oils_but(0.04, log(1.5)) | {"piston.six.holes": "6 x 1.8 mm"}
    found = search(tmp_path, parts=parts)
    assert told(found) == [("a", "four", False), ("b", "six", False)]
    # where that is as near, it is not worth telling
    parts = no_oils_but(0.005, log(1.5)) | {"piston.six.holes": "6 x 1.8 mm"}
    found = search(tmp_path / "near", parts=parts)
    assert told(found) == [("a", "four", False)]
    # where the nearest is worth the piston, what does without it is told
    parts = no_oils_but(0.2, log(1.5)) | {"piston.six.holes": "6 x 1.8 mm"}
    found = search(tmp_path / "b", parts=parts)
    assert told(found) == [("b", "six", False), ("a", "four", False)]


# --- the bladder ---------------------------------------------------------------------------------


def test_where_no_bladder_holds_the_one_that_is_fitted_stays(tmp_path):
    """Neither has half of what the oil grows by."""
    rooms = {f"bladder.{b}.into_cap": "50 mm^3" for b in ("deep", "shallow")}
    rooms |= {f"bladder.{b}.into_body": "480 mm^3" for b in ("deep", "shallow")}
    for now in ("deep", "shallow"):
        build = {"front.bladder": now}
        found = search(tmp_path / now, parts=rooms, build=build, event=HOT).candidates()
        assert found and all((c.bladder, "bladder" in c.changed) == (now, False) for c in found)
        assert all(c.fails for c in found)


def test_where_no_bladder_holds_the_one_that_comes_nearest_is_taken(tmp_path):
    rooms = {"bladder.deep.into_cap": "50 mm^3", "bladder.shallow.into_cap": "400 mm^3 ± 40 %"}
    rooms |= {f"bladder.{b}.into_body": "480 mm^3" for b in ("deep", "shallow")}
    first, *_ = search(tmp_path, parts=rooms, event=HOT).candidates()
    assert first.fails and 0.0 < first.chance < 0.95
    assert (first.bladder, first.changed[-1]) == ("shallow", "bladder")


def test_another_bladder_is_taken_where_the_one_that_is_fitted_does_not_hold(tmp_path):
    first, *_ = search(tmp_path, event=HOT).candidates()
    assert (first.bladder, first.fails) == ("shallow", ())


def test_of_two_bladders_the_one_whose_hold_back_is_nearer_is_taken(tmp_path):
    """One holds below what it is now, the other, with less room into the body, above."""
    parts = {
        "bladder.deep.gone": Raw("true"),
        "bladder.shallow.into_body": "480 mm^3",
        "bladder.shallow.into_cap": "115 mm^3",
        "bladder.other.into_body": "412 mm^3",
        "bladder.other.into_cap": "200 mm^3",
    }
    found = search(tmp_path, parts=parts)
    (_, below), (_, above) = found._sealed_with([("o375", "shallow"), ("o375", "other")])
    assert below.hold_back == below.most < 0.0064 < above.hold_back == above.least
    assert 0.0064 - below.hold_back > above.hold_back - 0.0064
    assert below.judged.badness == above.judged.badness
    assert {choice.made.bladder for choice in found.choices} == {"other"}


def test_where_no_bladder_is_known_no_other_bench_is_looked_for(tmp_path):
    assert search(tmp_path).benches(BENCH_TEMPERATURES).any()
    for side in ("front.bladder", "front.left.bladder", "front.right.bladder"):
        unknown = search(tmp_path / side, build={side: "deeep"})
        assert isnan(unknown.hold_back)
        assert not unknown.benches(BENCH_TEMPERATURES).any()


@pytest.mark.parametrize(
    ("parts", "known"),
    [
        ({"bladder.deep.gone": Raw("true")}, False),
        ({"bladder.deep.gone": Raw("true"), "bladder.shallow.bore": "16 mm"}, True),
        ({}, True),  # the one that is fitted fits, whatever is known of it
    ],
)
def test_of_another_bladder_it_is_said_whether_its_bore_is_known(tmp_path, parts, known):
    (first, *_) = search(tmp_path, parts=parts).candidates()
    assert first.bore_known is known
    assert (first.bladder == "shallow") is bool(parts)

"""A build carried to another event: what is chosen is what trying everything would choose."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product
from math import exp, log
from typing import Any

import pytest

from buildlint import (
    AdaptedEnd,
    Team,
    adapt,
    figures,
    inspect_build,
    load_team,
)
from buildlint.reports.adaptation_text import adaptation_text
from buildlint.text.errors import PathError
from tests.carrying import HOT, NO_SHALLOW, STEEP, THIN, no_oils_but, plan_with, team_of, thickness
from tests.making import Raw


def first(found: AdaptedEnd) -> tuple[Any, ...]:
    chosen = found.candidates[0]
    return chosen.oil, chosen.piston, chosen.bladder, chosen.hold_back


# --- against brute force -------------------------------------------------------------------------


def damping(team: Team, table: Any, end: str) -> list[float]:
    found = figures(table, team, measures={"damping"})
    lines = [found.get("damping", f"{end}.left", condition) for condition in ("cold", "hot")]
    return [line.value for line in lines if line is not None and isinstance(line.value, float)]


def fails(team: Team, table: Any, end: str, level: str) -> set[str]:
    """Give the rules that fail, or are borderline, at one end."""
    return {
        f.rule
        for f in inspect_build(table, team).findings
        if f.level == level and f.verdict in ("fails", "borderline")
        if f.subject is not None and f.subject.split(".")[0] in (end, "car")
    }


def hold_backs(now: float) -> Iterator[float]:
    """Give the hold-backs in tenths of a mm, the nearest first."""
    yield now
    for tenths in range(1, 40):
        yield from (round(now + tenths / 10, 1), round(now - tenths / 10, 1))


def by_hand(team: Team, end: str, bladders: list[str]) -> tuple[Any, ...]:
    """Try every oil, piston, bladder and hold-back; choose as the design says."""
    was = damping(team, "heron-quarry", end)
    build = team.builds["heron-quarry"].damper(f"{end}.left")
    assert build.hold_back is not None
    now = ("o450", "four", "deep")
    before = fails(team, "heron-quarry", end, "should")
    every: list[tuple[int, int, float, tuple[Any, ...]]] = []
    for oil, bladder in product(sorted(team.oils), bladders):
        for held in hold_backs(build.hold_back.to("mm")):
            parts = {"oil": oil, "bladder": bladder, "hold_back": f"{held} mm"}
            if held < 0 or fails(team, plan_with(team, end, **parts), end, "must"):
                continue
            for piston in sorted(team.pistons):
                table = plan_with(team, end, piston=piston, **parts)
                ratios = zip(damping(team, table, end), was, strict=True)
                error = max(abs(log(there / here)) for there, here in ratios)
                new = len(fails(team, table, end, "should") - before)
                ids = (oil, piston, bladder)
                changed = sum(a != b for a, b in zip(ids, now, strict=True))
                every.append((new, changed, error, (*ids, held)))
            break
    fewest = min(new for new, *_ in every)
    pool = [each for new, *each in every if new == fewest]
    near = [each for each in pool if each[1] <= min(error for _, error, _ in pool) + 0.05]
    return min(near, key=lambda each: (each[0], each[1]))[2]


@pytest.mark.whole
@pytest.mark.parametrize(
    ("ends", "bladders", "changes"),
    [
        (("front", "rear"), ["deep"], {}),
        (("front",), ["deep"], {"event": {"coldest": "12 degC", "hottest": "40 degC"}}),
        # 70 mm^3 less, which is 7.3 mm of shaft: the hold-back has to give way
        (("front",), ["deep"], {"parts": {"bladder.deep.into_body": "410 mm^3"}}),
        # the cap is full when hot: another bladder
        (("front", "rear"), ["deep", "shallow"], {"event": HOT}),
        # no oil is near: a piston with it
        (("rear",), ["deep"], {"parts": dict.fromkeys(THIN, "600 cSt")}),
    ],
    ids=["cold", "alike", "hold-back", "bladder", "piston"],
)
def test_it_chooses_what_trying_everything_would(tmp_path, ends, bladders, changes):
    team = team_of(tmp_path, **changes)
    found = adapt("heron-quarry", "alps", team)
    for end in ends:
        assert first(getattr(found, end)) == by_hand(team, end, bladders)


# --- by hand -------------------------------------------------------------------------------------


def test_with_nothing_changed_the_damping_goes_with_the_viscosity(tmp_path):
    """From 14 and 38 degC to 2 and 25: the span is another, and half of that no oil can help."""
    found = adapt("heron-quarry", "alps", team_of(tmp_path)).front
    cold, hot = thickness(2) - thickness(14), thickness(25) - thickness(38)
    assert found.unchanged.changed == ()
    assert found.unchanged.cold == pytest.approx(exp(cold) - 1, abs=2e-3)
    assert found.unchanged.hot == pytest.approx(exp(hot) - 1, abs=2e-3)
    assert found.least_error == pytest.approx((cold - hot) / 2, abs=5e-4)
    # an oil that thins faster is further off, and takes nothing from that
    other = adapt("heron-quarry", "alps", team_of(tmp_path / "steep", STEEP)).front
    assert other.least_error == pytest.approx(found.least_error)
    # the kinetic loss does not go with the viscosity: on a bump less of it is felt
    assert 0 < found.unchanged.force_cold < found.unchanged.cold


def test_another_oil_goes_with_its_viscosity(tmp_path):
    found = adapt("heron-quarry", "alps", team_of(tmp_path)).front
    (best,) = found.candidates
    assert (best.oil, best.changed, best.fails, best.newly_fails) == ("o375", ("oil",), (), ())
    assert 1 + best.cold == pytest.approx((1 + found.unchanged.cold) * 375 / 450)
    assert best.error == pytest.approx(log(1 + best.cold))


def test_where_no_oil_is_near_a_blend_in_tenths_is_told(tmp_path):
    """8 parts of 300 and 2 of 600 cSt: 300^0.8 600^0.2 = 344.6 cSt (Arrhenius 1887)."""
    found = adapt("heron-quarry", "alps", team_of(tmp_path)).front
    assert found.blend is not None
    assert (found.blend.oils, found.blend.tenths) == (("o300", "o600"), (8, 2))
    mixed = 300**0.8 * 600**0.2
    assert 1 + found.blend.cold == pytest.approx((1 + found.unchanged.cold) * mixed / 450, rel=1e-3)


def test_a_blend_is_not_told_where_an_oil_is_near(tmp_path):
    parts = {"oil.o345.viscosity": "345 cSt"}
    found = adapt("heron-quarry", "alps", team_of(tmp_path, parts)).front
    assert (found.candidates[0].oil, found.blend) == ("o345", None)


def test_what_is_as_near_is_told_as_that(tmp_path):
    """340 and 345 cSt are 1.5 % apart, either side of the nearest; 380 is not as near."""
    parts = {f"oil.o{v}.viscosity": f"{v} cSt" for v in (340, 345, 380)}
    found = adapt("heron-quarry", "alps", team_of(tmp_path, parts)).front
    assert [(c.oil, c.as_good) for c in found.candidates] == [("o345", False), ("o340", True)]


@pytest.mark.parametrize(
    ("worth", "changed"), [(0.049, ("oil",)), (0.051, ("oil", "piston"))], ids=["4.9", "5.1"]
)
def test_a_part_more_has_to_be_worth_5_points(tmp_path, worth, changed):
    """An oil alone comes within 10 points of the middle; another, with six holes for four, nearer.

    Of one size and thickness, the damping goes with one over the number of holes.
    """
    off = (thickness(2) - thickness(14) + thickness(25) - thickness(38)) / 2
    alone, with_piston = 450 * exp(0.10 - off), 450 * exp(0.10 - worth - off) * 6 / 4
    parts = {
        "oil.o300.viscosity": f"{alone} cSt",
        "oil.o375.viscosity": f"{with_piston} cSt",
        "oil.o600.viscosity": "1400 cSt",
        "piston.six.holes": "6 x 1.8 mm",
    }
    found = adapt("heron-quarry", "alps", team_of(tmp_path, parts)).front
    assert found.candidates[0].changed == changed
    # the other way is told all the same
    assert {c.changed for c in found.candidates} == {("oil",), ("oil", "piston")}


# --- the bench, and where none holds -------------------------------------------------------------


def test_the_bench_is_moved_only_where_nothing_else_holds(tmp_path):
    """Oil that grows by 9 ml * 9e-4 * 40 K = 324 mm^3 from 20 to 60 degC, and a cap for less."""
    parts = {"bladder.deep.into_body": "600 mm^3", "bladder.deep.into_cap": "330 mm^3"}
    team = team_of(tmp_path, {**parts, **NO_SHALLOW}, None, {**HOT, "hottest": "60 degC"})
    found = adapt("heron-quarry", "alps", team)
    assert found.bench_temperature is not None and found.bench_temperature > 20
    assert found.holds and found.chance >= 0.95
    assert f'temperature = "{found.bench_temperature:g} degC"' in found.plan()
    # a degree less does not hold
    again = team.builds["heron-quarry"].as_table()
    again["bench"]["temperature"] = f"{found.bench_temperature - 1:g} degC"
    colder = adapt("colder", "alps", team.with_files({"colder.build.toml": again}))
    assert colder.bench_temperature == found.bench_temperature


@pytest.mark.parametrize("bench", ["20 degC", "20.4 degC"])
@pytest.mark.parametrize("event", [{}, HOT], ids=["cold", "hot"])
def test_the_bench_is_not_moved_for_what_it_cannot_mend(tmp_path, event, bench):
    """Both pistons are wider than the bore, at whatever temperature the cap is sealed."""
    wide = {f"piston.{piston}.diameter": "16.5 mm" for piston in ("four", "six")}
    team = team_of(tmp_path, wide, {"bench.temperature": bench}, event)
    found = adapt("heron-quarry", "alps", team)
    for end in (found.front, found.rear):
        assert end.candidates[0].fails == ("fit/piston-clearance",)
    assert not found.holds and found.bench_temperature is None


@pytest.mark.parametrize("bench", ["20 degC", "20.4 degC"])
def test_the_bench_is_not_moved_where_another_oil_would_hold_at_it(tmp_path, bench):
    """As no piston fits, all oils are as bad; what feels nearest in the rear grows too much."""
    wide = {f"piston.{piston}.diameter": "16.5 mm" for piston in ("four", "six")}
    parts = {**wide, "oil.o375.expansion": "30e-4 /K"}
    found = adapt("heron-quarry", "alps", team_of(tmp_path, parts, {"bench.temperature": bench}))
    assert "bladder/window" in found.rear.candidates[0].fails
    assert found.bench_temperature is None


def test_the_bench_is_moved_where_only_a_bladder_that_may_not_fit_would_hold(tmp_path):
    parts = {
        "bladder.deep.into_body": "600 mm^3",
        "bladder.deep.into_cap": "330 mm^3",
        "bladder.wide.into_body": "600 mm^3",
        "bladder.wide.into_cap": "800 mm^3",
        "bladder.wide.bore": "16.4 mm ± 0.2 mm",
        **NO_SHALLOW,
    }
    team = team_of(tmp_path, parts, None, {**HOT, "hottest": "60 degC"})
    found = adapt("heron-quarry", "alps", team)
    assert found.holds and found.bench_temperature is not None and found.bench_temperature > 20
    assert [end.candidates[0].bladder for end in (found.front, found.rear)] == ["deep", "deep"]


def test_where_none_holds_it_is_told_what_stays(tmp_path):
    parts = {"bladder.deep.into_cap": "50 mm^3"}
    team = team_of(tmp_path, {**parts, **NO_SHALLOW}, None, HOT)
    found = adapt("heron-quarry", "alps", team)
    assert not found.holds and found.bench_temperature is None
    assert all("bladder/into-cap-room" in c.fails for c in found.front.candidates)
    stays = {each.rule for each in found.remaining if each.level == "must"}
    assert "bladder/into-cap-room" in stays
    assert all(each.caution for each in found.remaining if each.rule == "bladder/into-cap-room")
    # the oil is chosen all the same
    assert found.front.candidates[0].oil == "o600"


def test_what_stays_is_told_worst_first(tmp_path):
    parts = {"bladder.deep.into_cap": "420 mm^3 ± 40 %", **NO_SHALLOW}
    found = adapt("heron-quarry", "alps", team_of(tmp_path, parts, None, HOT)).remaining
    musts = [each.verdict for each in found if each.level == "must"]
    assert {*musts} == {"fails", "borderline"}
    verdicts = [each.verdict for each in found]
    assert verdicts == sorted(verdicts, key=["fails", "borderline"].index)
    assert all(bool(each.caution) <= (each.verdict == "fails") for each in found)


def test_where_all_holds_nothing_stays(tmp_path):
    found = adapt("heron-quarry", "alps", team_of(tmp_path))
    assert (found.remaining, found.holds, found.bench_temperature) == ((), True, None)
    assert found.temperatures == (2.0, 25.0) and found.from_temperatures == (14.0, 38.0)
    assert (found.build, found.event, found.from_event) == ("heron-quarry", "alps", "quarry")
    assert found.front.tried == 4 * 2  # oils and pistons


def test_a_should_that_fails_at_home_too_is_not_told_of_that_end(tmp_path):
    """The oil in front thins away at the quarry; in the heat any oil does."""
    gone = {f"oil.{oil}.gone": Raw("true") for oil in ("o300", "o375", "o600")}
    team = team_of(tmp_path, gone | STEEP, {"front.oil": "steep"}, HOT)
    found = adapt("heron-quarry", "alps", team)
    assert [r.subject for r in found.remaining if r.rule == "oil/thins-away"] == ["rear"]
    assert "oil/thins-away" not in found.front.candidates[0].newly_fails
    assert "oil/thins-away" in found.rear.candidates[0].newly_fails


def test_a_should_that_newly_fails_at_one_end_is_told_of_both_where_they_are_alike(tmp_path):
    """At home only the front has oil that is too thin for a damper; there, no other is left."""
    gone = {f"oil.{oil}.gone": Raw("true") for oil in ("o300", "o375", "o450", "o600")}
    team = team_of(tmp_path, {**gone, "oil.odd.viscosity": "40 cSt"}, {"front.oil": "odd"})
    found = adapt("heron-quarry", "alps", team)
    assert [r.subject for r in found.remaining if r.rule == "oil/viscosity-range"] == ["car"]


def with_balance(team: Team, least: float, most: float) -> Team:
    """Ask for a balance of damping between these times what it is at home."""
    found = figures("heron-quarry", team, measures={"damping_balance"})
    home = found.get("damping_balance", "car", "cold")
    assert home is not None and isinstance(home.value, float)
    band = [f"{home.value * share:.5f}" for share in (least, most)]
    settings = f'[change."damping/balance"]\nbetween = {band}\n'
    (team.root / "buildlint.toml").write_text(settings, encoding="utf-8")
    return load_team(team.root)


def test_where_the_ends_never_go_together_each_is_as_near_as_can_be(tmp_path):
    """At home the front has half as much oil again as the rear; there both have the same."""
    team = team_of(tmp_path, no_oils_but(0.0, 0.005), {"rear.oil": "o300"})
    plan = adapt("heron-quarry", "alps", with_balance(team, 0.98, 1.02))
    for end in (plan.front, plan.rear):
        assert [c.as_good for c in end.candidates] == [False, True]
    assert [r.subject for r in plan.remaining if r.rule == "damping/balance"] == ["car"]


def test_what_is_as_good_is_taken_where_the_ends_go_together_with_it(tmp_path):
    """In front "a" is 2 thousandths off and "b" 3; with "a" at both ends the front has too little.

    At home its oil is 5 thousandths thicker than the rear's, as "b" is than "a".
    """
    home = {"oil.home.viscosity": f"{450 * exp(0.005)} cSt", "oil.home.gone": Raw("true")}
    team = team_of(tmp_path, no_oils_but(0.003, 0.008) | home, {"front.oil": "home"})
    plan = adapt("heron-quarry", "alps", with_balance(team, 0.998, 1.003))
    assert [c.oil for c in plan.front.candidates] == ["b", "a"]
    assert [c.oil for c in plan.rear.candidates] == ["a", "b"]
    assert not [r for r in plan.remaining if r.rule == "damping/balance"]
    # where it need not be so near, what comes nearest is taken at both ends
    plan = adapt("heron-quarry", "alps", with_balance(team, 0.5, 2.0))
    assert [c.oil for c in plan.front.candidates] == ["a", "b"]


def test_a_part_that_is_gone_is_not_offered(tmp_path):
    parts = {"oil.o375.gone": Raw("true"), "oil.o450.gone": Raw("true")}
    found = adapt("heron-quarry", "alps", team_of(tmp_path, parts)).front
    assert found.candidates[0].oil == "o300"
    assert found.unchanged.oil == "o450"


def test_a_bladder_that_is_gone_is_changed_and_two_unlike_become_one(tmp_path):
    gone = {"bladder.deep.gone": Raw("true")}
    found = adapt("heron-quarry", "alps", team_of(tmp_path / "gone", gone)).front
    assert found.candidates[0].changed == ("oil", "bladder")
    assert (found.unchanged.bore_known, found.candidates[0].bore_known) == (True, False)
    gone |= {"bladder.shallow.bore": "16 mm"}
    found = adapt("heron-quarry", "alps", team_of(tmp_path / "of 16", gone)).front
    assert found.candidates[0].bore_known
    unlike = team_of(tmp_path / "unlike", None, {"front.left.bladder": "shallow"})
    found = adapt("heron-quarry", "alps", unlike).front
    assert "pair/parts" in found.unchanged.fails
    assert (found.candidates[0].bladder, found.candidates[0].fails) == ("deep", ())


def test_a_bladder_that_nobody_knows_is_left_as_it_is(tmp_path):
    team = team_of(tmp_path, None, {"front.bladder": "deeep"})
    found = adapt("heron-quarry", "alps", team)
    assert (found.front.candidates[0].changed, found.front.candidates[0].least) == (("oil",), None)
    assert 'did you mean "deep"?' in found.mistakes[0]


def test_a_part_that_does_not_fit_is_not_chosen(tmp_path):
    """A piston 2 mm too small, with the holes that would suit best."""
    parts = {"piston.small.diameter": "13.9 mm", "piston.small.thickness": "2.5 mm"}
    parts |= {"piston.small.holes": "5 x 1.85 mm"}
    found = adapt("heron-quarry", "alps", team_of(tmp_path, parts))
    assert all(c.piston != "small" for c in (*found.front.candidates, *found.rear.candidates))


# --- the plan ------------------------------------------------------------------------------------

_BY_PERSON = """\
#:schema ./schemas/build.schema.json
# The heron as it won.
car = "heron"  # the yellow one
event = "quarry"

[bench]
on = 2027-06-05  # in the rain
temperature = "20 degC"
altitude = "5 m"

# --- front ---
[front]
piston = "four"
oil = "o450"  # third bottle
spring = "soft"
collar = "2 mm"
label = "o450 four"
left = { hold_back = "6.4 mm ± 0.2 mm", length = "104.2 mm" }
right = { hold_back = "6.6 mm ± 0.2 mm", length = "104.2 mm", limiter = "0 mm" }

[rear]
piston = "four"
oil = "o450"
spring = "longer"
collar = "3 mm"
hold_back = "9.5 mm"

[rear.left]
# read twice
rebound = "55 %"

[rear.right]
rebound = "54 %"
# that is all
"""

_PLAN = """\
#:schema ../schemas/build.schema.json
# The heron as it won.
car = "heron"  # the yellow one
event = "alps"
like = "heron-quarry"

[bench]
# in the rain
temperature = "20 degC"
altitude = "5 m"

# --- front ---
[front]
piston = "four"
oil = "o375"  # third bottle
spring = "soft"
collar = "2 mm"
right = { limiter = "0 mm" }
hold_back = "6.5 mm ± 0.2 mm"

[rear]
piston = "four"
oil = "o375"
spring = "longer"
collar = "3 mm"
hold_back = "9.5 mm"

# read twice

# that is all
"""


def test_the_plan_keeps_what_a_person_wrote_and_leaves_out_what_is_read_later(tmp_path):
    team_of(tmp_path)
    (tmp_path / "heron-quarry.build.toml").write_text(_BY_PERSON, encoding="utf-8")
    (tmp_path / "plans").mkdir()
    target = tmp_path / "plans" / "heron-alps.build.toml"
    found = adapt(tmp_path / "heron-quarry.build.toml", tmp_path / "alps.event.toml")
    assert found.plan(target) == _PLAN
    assert found.plan().splitlines()[0] == _BY_PERSON.splitlines()[0]
    target.write_text(found.plan(target), encoding="utf-8")
    judged = inspect_build(target)
    assert judged.passes() and not judged.in_files
    assert judged.builds[0].life == "plan"


def test_a_build_in_memory_has_no_text_to_make_a_plan_of(tmp_path):
    team = team_of(tmp_path)
    table = team.builds["heron-quarry"].as_table()
    found = adapt("colder", "alps", team.with_files({"colder.build.toml": table}))
    assert found.front.candidates[0].oil == "o375"
    with pytest.raises(PathError, match="no file"):
        found.plan()


def test_a_build_whose_name_no_file_can_hold_has_no_plan(tmp_path):
    text = toml_of(team_of(tmp_path))
    team = load_team(tmp_path).with_files({"b-\udce9.build.toml": text})
    with pytest.raises(PathError, match="not UTF-8"):
        adapt("b-\udce9", "alps", team).plan()


def toml_of(team: Team) -> str:
    return (team.root / "heron-quarry.build.toml").read_text(encoding="utf-8")


# --- what cannot be adapted ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "event", "words"),
    [
        ({}, "quarry", "heron-quarry is built for quarry already: name another event"),
        ({}, "alp", 'did you mean "alps"?'),
        ({"build": {"event": None}}, "alps", "heron-quarry names no event"),
        ({"build": {"bench.on": None}}, "alps", "heron-quarry is a plan, which nobody has driven"),
        ({"build": {"front.piston": None}}, "alps", "at quarry is not known: it needs piston"),
        ({"parts": {"oil.o450.viscosity": None}}, "alps", "needs viscosity of oil o450"),
        ({"event": {"coldest": None}}, "alps", "at alps is not known: it needs coldest of event"),
        ({"event": {"coldest": "two"}}, "alps", "alps.event.toml:4:11: "),
        (
            {"parts": {f"bladder.{b}.gone": Raw("true") for b in ("deep", "shallow")}},
            "alps",
            "there is no bladder in the parts files to choose from",
        ),
        (
            {
                "parts": {f"bladder.{b}.gone": Raw("true") for b in ("deep", "shallow")},
                "car": {"rear.bladder": None},
            },
            "alps",
            "there is no bladder in the parts files to choose from",
        ),
        (
            {"parts": {f"oil.{o}.gone": Raw("true") for o in ("o300", "o375", "o450", "o600")}},
            "alps",
            "there is no oil in the parts files to choose from",
        ),
        (
            {
                "parts": {
                    **{f"oil.{o}.gone": Raw("true") for o in ("o300", "o375", "o600")},
                    "piston.six.gone": Raw("true"),
                }
            },
            "alps",
            "there is no other oil and no other piston in the parts files",
        ),
    ],
)
def test_what_cannot_be_adapted_is_told_in_a_sentence(tmp_path, changes, event, words):
    with pytest.raises(PathError) as told:
        adapt("heron-quarry", event, team_of(tmp_path, **changes))
    assert words in str(told.value)


def test_what_comes_out_unlike_is_told_as_inspect_tells_it_of_the_plan(tmp_path):
    thick = {f"oil.{oil}.gone": Raw("true") for oil in ("o300", "o375")}
    team = team_of(tmp_path, parts=thick, event={"coldest": "-5 degC", "hottest": "0 degC"})
    found = adapt("heron-quarry", "alps", team)
    (tmp_path / "plan.build.toml").write_text(found.plan(), encoding="utf-8")
    plan = inspect_build("plan", load_team(tmp_path))
    unlike = {f.subject for f in plan.findings if f.rule == "like/damping" and f.verdict == "fails"}
    told = [each for each in found.remaining if each.rule == "like/damping"]
    assert {each.subject for each in told} == unlike != set()
    assert all(each.short in " ".join(adaptation_text(found).split()) for each in told)


def test_what_is_told_of_both_ends_is_so_of_the_plan(tmp_path):
    """Front over rear of what `figures` says of both builds; the least chance that one is held."""
    found = adapt("heron-quarry", "alps", team_of(tmp_path))
    (tmp_path / "plan.build.toml").write_text(found.plan(), encoding="utf-8")
    team = load_team(tmp_path)
    plan = inspect_build("plan", team).builds[0]
    ends = {
        b: [damping(team, b, end) for end in ("front", "rear")] for b in ("plan", "heron-quarry")
    }
    for n, balance in enumerate((found.balance_cold, found.balance_hot)):
        now, was = (front[n] / rear[n] for front, rear in ends.values())
        assert balance == pytest.approx(now / was - 1.0)
    musts = [
        f for f in (*plan.findings, *plan.holding) if f.level == "must" and f.chance is not None
    ]
    assert found.chance == pytest.approx(min(f.chance for f in musts))


def test_an_unknown_build_is_told_with_the_nearest(tmp_path):
    with pytest.raises(PathError, match="did you mean"):
        adapt("heron-quary", "alps", team_of(tmp_path))


def test_where_no_damping_is_known_it_is_said_so(tmp_path):
    oils = ("o300", "o375", "o450", "o600")
    gone = {f"oil.{each}.gone": Raw("true") for each in oils}
    team = team_of(tmp_path, parts={**gone, "oil.unknown.note": "nobody measured it"})
    with pytest.raises(PathError, match="give a known damping"):
        adapt("heron-quarry", "alps", team)


def test_a_must_that_is_not_checked_does_not_hold(tmp_path):
    gone = {**NO_SHALLOW, "bladder.deep.gone": Raw("true"), "bladder.new.bore": "16 mm"}
    found = adapt("heron-quarry", "alps", team_of(tmp_path, parts=gone))
    assert found.not_checked
    assert not found.holds
    assert "not every must could be checked" in " ".join(adaptation_text(found).split())


def test_a_must_that_was_not_checked_before_either_does_not_hold(tmp_path):
    found = adapt("heron-quarry", "alps", team_of(tmp_path, parts={"bladder.deep.into_cap": None}))
    assert found.not_checked == ("into_cap of bladder deep",)
    assert not found.holds
    assert "not every must could be checked" in " ".join(adaptation_text(found).split())

"""Verdicts: what is checked, at the worst condition, left against right, whatever the order."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from itertools import permutations
from math import inf
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlint import load_team
from buildlint.judging.judge import Judge, Judgement
from buildlint.judging.messages import message
from buildlint.judging.rule import Ask, BandAsk, Rule
from buildlint.judging.rulebook import Rulebook, load_rulebook
from buildlint.measures import MEASURES
from buildlint.measures.damper import Damper
from buildlint.measures.graph import needs
from buildlint.measures.lookups import LOOKUPS
from buildlint.measures.origin import Origin
from buildlint.team.assembly import dampers
from buildlint.team.folders import files_below
from buildlint.team.repository import Team
from tests.making import BENCH, build_path, pairs, repository, sides
from tests.making import dampers as any_damper
from tests.rules import rule_of

BOOK = load_rulebook()
BOOK_JUDGE = Judge(BOOK)


def rule(measure: str, ident: str = "a/rule", level: str = "must", **more: Any) -> Rule:
    return rule_of(measure, id=ident, level=level, **more)


def judged(found: Rule, dampers: Iterable[Damper], at_each: bool = False) -> list[Judgement]:
    return Judge(Rulebook({found.id: found})).judge(list(dampers), at_each)


def bare(side: str = "left", end: str = "front", **figures: Any) -> Damper:
    """A damper of which only these figures are known, exact, each read on its own side."""
    spread = figures.pop("spread", {})
    origin = {name: Origin(BENCH, (end, side, name)) for name in figures}
    return Damper(end=end, side=side, **figures, spread=spread, origin=origin)


# --- what is missing -----------------------------------------------------------------------------


def test_a_missing_reading_is_not_checked_and_named():
    (found,) = judged(rule("length", ask=Ask(at_most=1.0)), [bare()])
    assert (found.verdict, found.missing) == ("not checked", ("length",))


def test_a_missing_reading_beats_holding_at_another_condition():
    """A measure by condition that cannot be judged when hot does not hold because it does cold."""
    ask = Ask(at_most=1.0)
    whole = {
        "viscosity_given": 100e-6,
        "viscosity_given_at": 298.15,
        "slope_given": 1757.0,
        "bench_temperature": 293.15,
        "coldest": 283.15,
    }
    (found,) = judged(rule("viscosity", ask=ask), [bare(**whole, event="quarry")])
    assert (found.verdict, found.condition) == ("not checked", "hot")
    assert found.missing == ("hottest of event quarry",)


@pytest.mark.parametrize("lost", ["coldest", "hottest", "event_altitude"])
@given(damper=any_damper(event=True))
def test_a_window_is_not_checked_where_a_condition_of_its_event_is_not_known(lost, damper):
    """The window is over all conditions: one that is unknown is no reason to leave it out."""
    damper = replace(damper, event="quarry", **{lost: None})
    (found,) = judged(rule("hold_back_window", ask=Ask(at_least=-1.0)), [damper])
    assert found.verdict == "not checked"


@given(damper=any_damper())
def test_no_rule_holds_on_a_reading_that_it_needs_and_that_is_missing(damper):
    """Each reading in turn is taken away: what stands on it never holds then.

    It is not judged, unless another condition, which can do without it, fails or is in doubt.
    """
    for found in BOOK.measured():
        measure = MEASURES[found.measure or ""]
        if measure.name in LOOKUPS:
            needed: tuple[str, ...] = LOOKUPS[measure.name].required
        else:
            # on the track, what was read at the bench alone may be missing
            there = found.group in ("damping", "oil") and damper.has_event
            needed = needs(measure.name, "cold" if there else "bench").required
        for name in needed:
            without = replace(damper, **{name: None})
            for judgement in judged(found, [without]):
                assert judgement.verdict != "holds"


# --- conditions ----------------------------------------------------------------------------------


def _viscous(**more: float | None) -> Damper:
    """Oil of 100 cSt at 25 degC, bench at 20, event from 10 to 40 degC.

    It goes with exp(1756.7 K / T): 110.57 at the bench, 136.63 when cold, 75.41 when hot.
    """
    figures: dict[str, Any] = {
        "viscosity_given": 100e-6,
        "viscosity_given_at": 298.15,
        "slope_given": 1756.7,
        "bench_temperature": 293.15,
        "coldest": 283.15,
        "hottest": 313.15,
    }
    return bare(**{**figures, **more})


@pytest.mark.parametrize(
    ("ask", "condition", "value"),
    [
        (Ask(at_most=120e-6), "cold", 136.63e-6),
        (Ask(at_least=80e-6), "hot", 75.41e-6),
        (Ask(at_most=200e-6), "cold", 136.63e-6),  # holds: the nearest to its limit is told
        (Ask(at_least=76e-6, at_most=120e-6), "cold", 136.63e-6),  # both fail: cold by more
    ],
)
def test_the_worst_condition_is_named(ask, condition, value):
    (found,) = judged(rule("viscosity", ask=ask), [_viscous()])
    assert found.condition == condition
    assert found.figure is not None
    assert found.figure.value == pytest.approx(value, rel=1e-4)


@pytest.mark.parametrize("group", ["damping", "oil", "like"])
def test_what_a_damper_does_on_the_track_is_judged_there(group):
    """A shed of 5 degC, where the oil is thickest, says nothing of it; with no event all does."""
    thick = rule("viscosity", f"{group}/thick", ask=Ask(at_most=140e-6))
    (found,) = judged(thick, [_viscous(bench_temperature=278.15)])
    assert (found.verdict, found.condition) == ("holds", "cold")
    every = judged(thick, [_viscous(bench_temperature=278.15)], at_each=True)
    assert [each.condition for each in every] == ["cold", "hot"]
    at_bench = {"bench_temperature": 278.15, "coldest": None, "hottest": None}
    (found,) = judged(thick, [_viscous(**at_bench)])
    assert (found.verdict, found.condition) == ("fails", "bench")
    elsewhere = rule("viscosity", "pair/thick", ask=Ask(at_most=140e-6))
    (found,) = judged(elsewhere, [_viscous(bench_temperature=278.15)])
    assert (found.verdict, found.condition) == ("fails", "bench")


def test_without_an_event_only_the_bench_is_judged():
    damper = _viscous(coldest=None, hottest=None)  # type: ignore[arg-type]
    one = rule("viscosity", ask=Ask(at_most=120e-6))
    (found,) = judged(one, [damper])
    assert (found.verdict, found.missing) == ("not checked", ("an event",))


def test_a_measure_without_conditions_names_none():
    (found,) = judged(rule("hold_back", ask=Ask(at_most=1.0)), [bare(hold_back=6e-3)])
    assert found.condition is None


# --- subjects ------------------------------------------------------------------------------------


def test_sides_that_share_every_reading_are_judged_once():
    left, right = sides(bare(hold_back=6e-3))
    (found,) = judged(rule("hold_back", ask=Ask(at_most=1.0)), [left, right])
    assert found.subject == "front"
    assert found.dampers == (left, right)


def test_sides_with_readings_of_their_own_are_judged_each():
    both = [bare("left", hold_back=6e-3), bare("right", hold_back=6e-3)]
    found = judged(rule("hold_back", ask=Ask(at_most=1.0)), both)
    assert [j.subject for j in found] == ["front.left", "front.right"]


def test_a_comparison_says_nothing_of_a_damper_alone():
    found = judged(rule("length", ask=Ask(same_within=1.0)), [bare(length=0.1)])
    assert found == []


# --- left against right --------------------------------------------------------------------------


def _lengths(left: float, right: float, half: float = 0.0) -> list[Damper]:
    return [
        bare(side, length=v, spread={"length": (v - half, v + half)} if half else {})
        for side, v in (("left", left), ("right", right))
    ]


@pytest.mark.parametrize(
    ("right", "verdict"),
    [
        (110.5e-6, "holds"),  # 10.5 apart; the mean 105.25, a tenth of it 10.525
        (110.6e-6, "fails"),  # 10.6 apart; a tenth of the mean is 10.53
        (90.5e-6, "holds"),  # 9.5 apart; a tenth of the mean is 9.525
        (90.4e-6, "fails"),  # 9.6 apart; 9.52
    ],
)
def test_same_within_a_share_is_a_share_of_their_mean(right, verdict):
    """rules/pair/damping.toml, source: a tenth of the mean of both sides."""
    both = [bare("left", viscosity_given=100e-6), bare("right", viscosity_given=right)]
    ask = Ask(same_within=0.1, relative=True)
    (found,) = judged(rule("viscosity_given", ask=ask), both)
    assert found.verdict == verdict


def test_a_share_of_a_share_is_in_points():
    """rules/pair/rebound.toml, source: a tenth of the stroke. 60 and 70 % are 10 points apart."""
    ask = BOOK["pair/rebound"].ask
    assert ask is not None and not ask.relative
    for right, verdict in ((0.70, "holds"), (0.71, "fails")):
        both = [bare("left", rebound=0.60), bare("right", rebound=right)]
        (found,) = judged(BOOK["pair/rebound"], both)
        assert found.verdict == verdict


def test_ids_are_compared_exactly():
    ask = Ask(exactly=True)
    both = [bare("left", oil="o450"), bare("right", oil="o450")]
    assert judged(rule("oil", ask=ask), both)[0].verdict == "holds"
    both[1] = bare("right", oil="O450")
    assert judged(rule("oil", ask=ask), both)[0].verdict == "fails"


def test_a_comparison_with_a_side_that_was_not_read_is_not_checked():
    both = [bare("left", length=0.1), bare("right")]
    (found,) = judged(rule("length", ask=Ask(same_within=1.0)), both)
    assert (found.verdict, found.missing) == ("not checked", ("length",))


@pytest.mark.parametrize("measure", ["hold_back", "viscosity", "collar", "density"])
@given(damper=any_damper())
def test_what_both_sides_share_never_comes_between_them(measure, damper):
    """One oil, one event, one reading for both: it moves both sides together."""
    found = judged(rule(measure, ask=Ask(same_within=1e-12)), sides(damper, shared=True))
    for judgement in found:
        assert judgement.verdict in ("holds", "not checked")


def _turned_round(left: Damper, right: Damper) -> list[Damper]:
    """Give what was read on the left as the right, and the other way round."""
    to = {"left": "right", "right": "left"}

    def other(damper: Damper) -> Damper:
        origin = {
            name: Origin(o.path, tuple(to.get(key, key) for key in o.keys))
            for name, o in damper.origin.items()
        }
        return replace(damper, side=to[damper.side], origin=origin)

    return [other(right), other(left)]


@given(pair=pairs())
def test_left_and_right_swapped_give_the_same_findings(pair):
    """Apart from the names of the sides."""
    swap = {"front.left": "front.right", "front.right": "front.left"}
    told = {(j.rule.id, swap.get(j.subject, j.subject)): _told(j) for j in BOOK_JUDGE.judge(pair)}
    other = {(j.rule.id, j.subject): _told(j) for j in BOOK_JUDGE.judge(_turned_round(*pair))}
    assert told == other


def _told(found: Judgement) -> tuple[str | None, ...]:
    figure = found.figure
    figures = (figure.value, figure.up, figure.down) if figure is not None else ()
    return found.verdict, found.condition, *(f"{each + 0.0:.9g}" for each in figures)


# --- bands ---------------------------------------------------------------------------------------

BANDS = (
    BandAsk(45e-3, Ask(at_most=3e-3), "45 mm"),
    BandAsk(56e-3, Ask(at_least=4.5e-3, at_most=8.5e-3), "56 mm"),
    BandAsk(None, Ask(at_least=7.5e-3, at_most=12e-3)),
)


def _by_length(hold_back: float, length: float, half: float = 0.0) -> str:
    spread = {"body_length": (length - half, length + half)} if half else {}
    damper = bare(hold_back=hold_back * 1e-3, body_length=length * 1e-3)
    damper = replace(damper, spread={k: (a * 1e-3, b * 1e-3) for k, (a, b) in spread.items()})
    (found,) = judged(rule("hold_back", by="body_length", bands=BANDS), [damper])
    return found.verdict


@pytest.mark.parametrize(
    ("hold_back", "length", "verdict"),
    [
        (0.0, 42.0, "holds"),
        (0.0, 45.0, "holds"),  # up to includes its end
        (0.0, 45.1, "fails"),
        (6.4, 52.0, "holds"),
        (6.4, 45.0, "fails"),
        (6.4, 56.0, "holds"),
        (6.4, 56.1, "fails"),
        (9.5, 61.0, "holds"),
        (9.5, 500.0, "holds"),
        (12.1, 61.0, "fails"),
    ],
)
def test_the_band_of_the_other_measure_sets_the_limit(hold_back, length, verdict):
    assert _by_length(hold_back, length) == verdict


def test_a_band_narrower_than_the_tolerance_counts_though_no_end_lies_in_it():
    """From 44 to 58 mm lies the whole middle band, which refuses 2 mm; the last refuses it too.

    With the last letting everything through, only the middle one is left to refuse.
    """
    bands = (*BANDS[:2], BandAsk(None, Ask(at_most=1.0)))
    damper = bare(hold_back=2e-3, body_length=44e-3)
    damper = replace(damper, spread={"body_length": (43e-3, 58e-3)})
    (found,) = judged(rule("hold_back", by="body_length", bands=bands), [damper])
    assert found.verdict == "borderline"


@pytest.mark.parametrize(("least", "verdict"), [(56e-3, "borderline"), (56.1e-3, "holds")])
def test_a_band_that_a_reading_may_just_lie_in_counts(least, verdict):
    """Up to 56 mm 2 mm is refused; from there on it is not, but for what may be 56 mm."""
    bands = (BandAsk(56e-3, Ask(at_most=1e-3)), BandAsk(None, Ask(at_most=1.0)))
    damper = replace(
        bare(hold_back=2e-3, body_length=58e-3), spread={"body_length": (least, 60e-3)}
    )
    (found,) = judged(rule("hold_back", by="body_length", bands=bands), [damper])
    assert found.verdict == verdict


def test_without_the_other_measure_bands_are_not_checked():
    (found,) = judged(rule("hold_back", by="body_length", bands=BANDS), [bare(hold_back=1e-3)])
    assert (found.verdict, found.missing) == ("not checked", ("body",))


# --- only, and what a measure speaks of ----------------------------------------------------------


@pytest.mark.parametrize(
    ("only", "spoken"),
    [
        ({}, 1),
        ({"end": "front"}, 1),
        ({"end": "rear"}, 0),
        ({"style": "bladder"}, 1),
        ({"style": "emulsion"}, 0),
        ({"cap": "vented"}, 1),
        ({"cap": "sealed"}, 0),
        ({"class": "eighth-scale buggy"}, 1),
        ({"class": "short-course truck"}, 0),
        ({"end": "front", "style": "emulsion"}, 0),
    ],
)
def test_only_narrows_a_rule(only, spoken):
    damper = bare(hold_back=1e-3, cap="vented", car_class="eighth-scale buggy")
    found = judged(rule("hold_back", ask=Ask(at_most=1.0), only=only), [damper])
    assert len(found) == spoken


def test_only_a_sealed_cap_has_a_pressure_and_only_a_bladder_a_need():
    pressure = rule("cap_pressure", ask=Ask(at_most=1.0))
    assert judged(pressure, [bare(cap="vented")]) == []
    # a cap that is not known counts as if it were: it is not judged
    assert [j.verdict for j in judged(pressure, [bare()])] == ["not checked"]
    need = rule("into_cap_use", ask=Ask(at_most=1.0))
    assert judged(need, [bare(style="emulsion")]) == []


def test_one_of_asks_for_an_id():
    ask = Ask(one_of=("o350", "o450"))
    assert judged(rule("oil", ask=ask), [bare(oil="o450")])[0].verdict == "holds"
    assert judged(rule("oil", ask=ask), [bare(oil="o600")])[0].verdict == "fails"
    assert judged(rule("oil", ask=ask), [bare()])[0].verdict == "not checked"


# --- what is remembered, and order ---------------------------------------------------------------


def _same_findings(root: Path, order: Iterable[Path]) -> list[tuple[Any, ...]]:
    team = Team(root, order)
    build = team.file(build_path(root))
    found = BOOK_JUDGE.judge(dampers(team, build))
    return [(j.rule.id, j.subject, j.verdict, j.condition, j.margin) for j in found]


def test_whatever_the_order_of_the_files_the_judgements_are_the_same(tmp_path):
    """All 24 orders of the four files."""
    root = repository(tmp_path, build={"front.left.hold_back": "0 mm"})
    paths = list(files_below(root))
    first = _same_findings(root, paths)
    assert any(verdict == "fails" for _, _, verdict, *_ in first)
    assert all(_same_findings(root, order) == first for order in permutations(paths))


@given(order=st.randoms(use_true_random=False))
def test_whatever_the_order_of_the_dampers_each_gets_the_same_verdicts(order):
    left, right = _lengths(0.1, 0.1006, 0.1e-3)
    rear = [replace(d, end="rear") for d in (left, right)]
    found = rule("length", ask=Ask(at_most=0.1005))
    four = [left, right, *rear]
    expected = sorted((j.subject, j.verdict) for j in judged(found, four))
    order.shuffle(four)
    assert sorted((j.subject, j.verdict) for j in judged(found, four)) == expected


# --- to the event by air, by road, and without a bladder -----------------------------------------

ROAD = BOOK["bladder/on-the-road"]


def any_flown(**more: Any) -> Damper:
    return bare(
        **{
            "shaft_diameter": 3.5e-3,
            "stroke": 30e-3,
            "hold_back": 10e-3,
            "oil_volume": 9e-6,
            "expansion": 9.6e-4,
            "cap": "vented",
            "bladder_into_cap": 500e-9,
            "bench_temperature": 298.15,
            "bench_altitude": 0.0,
            "event": "quarry",
            "coldest": 298.15,
            "hottest": 298.15,
            "event_altitude": 0.0,
            "arrive_by": "air",
            **more,
        }
    )


@pytest.mark.parametrize(
    ("readings", "rules"),
    [
        ({}, set()),
        ({"arrive_by": "air", "highest": 2000.0}, set()),
        ({"arrive_by": "road"}, set()),
        ({"arrive_by": "road", "highest": 2000.0}, {"bladder/on-the-road"}),
        ({"style": "emulsion"}, set()),
        ({"style": "emulsion", "arrive_by": "road", "highest": 2000.0}, set()),
    ],
)
def test_a_journey_is_judged_by_the_rule_for_it(readings, rules):
    made = any_flown(**readings)
    spoken = {f.rule.id for f in judged(ROAD, [made])}
    assert spoken == rules


@pytest.mark.parametrize(
    ("cap", "verdict"),
    # 200 mm^3 at 2000 m are 254.901, 54.901 more (standard atmosphere): 96.211 + 54.901 = 151.112
    [("vented", "fails"), ("sealed", "holds")],
)
def test_on_the_road_a_vented_cap_lets_trapped_air_grow_and_a_sealed_one_does_not(cap, verdict):
    made = any_flown(
        arrive_by="road",
        highest=2000.0,
        air=200e-9,
        cap=cap,
        gas_volume=1e-6,
        bladder_into_cap=150e-9,
    )
    (found,) = judged(ROAD, [made])
    assert found.verdict == verdict
    assert found.condition is None


@given(damper=any_damper(event=True))
def test_no_rule_for_bladders_speaks_of_an_emulsion(damper):
    poured = replace(damper, style="emulsion", event="quarry")
    spoken = {j.rule.id for j in BOOK_JUDGE.judge([poured])}
    assert not [ident for ident in spoken if ident.startswith(("bladder/", "hold-back/"))]
    assert "fit/air-takes-displacement" in spoken
    assert "bench/rebound-usual" not in spoken
    # and none for emulsions of a bladder
    spoken = {j.rule.id for j in BOOK_JUDGE.judge([damper])}
    assert "fit/air-takes-displacement" not in spoken


def test_a_rule_of_the_car_needs_all_four_corners():
    ask = Ask(at_most=1.5)
    found = rule("frequency_balance", ask=ask)
    figures = {"spring_rate": 850.0, "corner_mass": 0.8, "motion_ratio": 0.65}
    four = [bare(side, end, **figures) for end in ("front", "rear") for side in ("left", "right")]
    (judgement,) = judged(found, four)
    assert (judgement.subject, judgement.verdict, len(judgement.dampers)) == ("car", "holds", 4)
    assert judged(found, four[:2]) == []
    del figures["spring_rate"]
    four[3] = bare("right", "rear", **figures, spring="soft")
    (judgement,) = judged(found, four)
    assert (judgement.verdict, judgement.missing) == (
        "not checked",
        ("rate of spring soft at the rear",),
    )


@pytest.mark.parametrize(
    ("done", "verdict", "missing"),
    [
        (("deburred", "greased", "threadlocked", "rod end free", "leak checked"), "holds", 0.0),
        (("deburred", "greased", "threadlocked", "bled", "leak checked"), "fails", 1.0),
    ],
)
def test_an_emulsion_is_not_asked_whether_it_was_bled(done, verdict, missing):
    (found,) = judged(BOOK["bench/steps"], [bare(style="emulsion", done=done)])
    assert found.verdict == verdict
    assert found.figure is not None and found.figure.value == missing


# --- more edges ----------------------------------------------------------------------------------


def test_four_alike_are_judged_as_the_car_and_three_are_not():
    four = [
        replace(d, end=end, origin={"oil_volume": Origin(BENCH, ("oil_volume",))})
        for end in ("front", "rear")
        for d in sides(bare(oil_volume=9e-6))
    ]
    asked = rule("oil_volume", ask=Ask(at_most=1.0))
    (found,) = judged(asked, four)
    assert (found.subject, found.dampers) == ("car", tuple(four))
    assert [j.subject for j in judged(asked, four[:3])] == ["front", "rear.left"]
    # left against right is asked at each end, even of four that are alike
    compared = judged(rule("oil_volume", ask=Ask(same_within=1.0)), four)
    assert [j.subject for j in compared] == ["front", "rear"]


def test_a_comparison_names_its_condition_where_there_are_several():
    """Two oils, 100 and 150 cSt at 25 degC, thin alike: at 10 degC 1.366 of that.

    That is exp(1756.7 K (1/283.15 - 1/298.15)). They are furthest apart cold, 68.3 cSt.
    """
    both = [_viscous(), _viscous(viscosity_given=150e-6)]
    both[1] = replace(both[1], side="right")
    (found,) = judged(rule("viscosity", ask=Ask(same_within=10e-6)), both)
    assert (found.verdict, found.condition) == ("fails", "cold")
    assert found.figure is not None
    assert found.figure.value == pytest.approx(68.315e-6, rel=1e-4)
    assert found.sides == pytest.approx((136.6e-6, 204.9e-6), rel=1e-3)
    (found,) = judged(rule("length", ask=Ask(same_within=1.0)), _lengths(0.1, 0.1))
    assert found.condition is None
    assert found.sides == (0.1, 0.1)


def test_of_what_is_unsure_the_least_sure_condition_is_the_worst():
    """At least what it is at 10 degC, less a hair: cold may be 10 K colder, hot hardly warmer.

    exp(1756.7 K / T): 75.41 at 40 degC, and 1.8 % a K there.
    """
    loose = {"coldest": (298.15, 328.15), "hottest": (312.65, 313.65)}
    damper = replace(_viscous(coldest=312.15), spread=loose)
    asked = rule("viscosity", ask=Ask(at_least=75.0e-6))
    each = {j.condition: j for j in judged(asked, [damper], at_each=True)}
    cold, hot = each["cold"], each["hot"]
    assert (cold.verdict, hot.verdict) == ("borderline", "borderline")
    assert cold.chance is not None and hot.chance is not None and cold.chance < hot.chance
    assert cold.margin is not None and hot.margin is not None and cold.margin > hot.margin
    (found,) = judged(asked, [damper])
    assert found.condition == "cold"


def test_a_cap_or_a_class_that_is_not_known_may_be_meant():
    for only, verdict in (
        ({"cap": "sealed"}, "holds"),
        ({"class": "eighth-scale buggy"}, "not checked"),
    ):
        (found,) = judged(rule("length", ask=Ask(at_most=1.0), only=only), [bare(length=0.1)])
        assert found.verdict == verdict


# --- at each condition ---------------------------------------------------------------------------


def test_each_condition_has_its_judgement_and_the_worst_of_them_is_the_rules(tmp_path):
    root = repository(tmp_path, build={"front.left.hold_back": "20 mm"})
    team = Team(root, files_below(root))
    found = dampers(team, team.file(build_path(root)))
    by_subject: dict[tuple[str, str], list[Judgement]] = {}
    for judgement in BOOK_JUDGE.judge(found, at_each=True):
        by_subject.setdefault((judgement.rule.id, judgement.subject), []).append(judgement)
    worst = {(j.rule.id, j.subject): j for j in BOOK_JUDGE.judge(found)}
    assert by_subject.keys() == worst.keys()
    for key, judgements in by_subject.items():
        assert worst[key] in judgements
        order = ("holds", "not checked", "borderline", "fails")
        verdicts = [order.index(j.verdict) for j in judgements]
        assert order.index(worst[key].verdict) == max(verdicts)
    uses = by_subject["bladder/into-cap-room", "front.left"]
    assert [j.condition for j in uses] == ["bench", "cold", "hot"]
    # sides compared are judged at each condition too, what the car does on the track only there
    assert len(by_subject["pair/damping", "front"]) == 3
    assert len(by_subject["damping/balance", "car"]) == 2
    assert [j.condition for j in by_subject["pair/hold-back", "front"]] == [None]


def test_two_figures_without_end_are_not_held_against_each_other():
    """No air in either emulsion: nothing makes way for the shaft, nobody knows by how much."""
    poured = {
        "style": "emulsion",
        "air": 0.0,
        "bore": 16e-3,
        "stroke": 28e-3,
        "oil_volume": 9e-6,
        "shaft_diameter": 3.5e-3,
        "expansion": 9.6e-4,
        "body_length": 52e-3,
        "bench_temperature": 293.15,
        "bench_altitude": 0.0,
        "coldest": 293.15,
        "hottest": 293.15,
        "event_altitude": 0.0,
        "spread": {"oil_volume": (8e-6, 10e-6)},
    }
    pair = [bare(side, **poured) for side in ("left", "right")]
    (found,) = judged(BOOK["pair/emulsion"], pair)
    assert (found.verdict, found.missing) == (
        "not checked",
        ("a figure that has an end",),
    )
    # one that has an end is apart from one that has none, by whatever part of their mean
    pair[1] = replace(pair[1], air=400e-9)
    (found,) = judged(BOOK["pair/emulsion"], pair)
    assert found.verdict == "fails"
    assert found.figure is not None and found.figure.value == inf


def test_without_an_event_the_damping_is_judged_at_the_bench_and_the_rest_is_not(tmp_path):
    team = load_team(repository(tmp_path, build={"event": None}))
    judged = Judge(load_rulebook()).judge(dampers(team, team.file(build_path(tmp_path))))
    verdicts = {j.rule.id: j.verdict for j in judged}
    assert (verdicts["damping/ratio"], verdicts["damping/balance"]) == ("holds", "holds")
    assert verdicts["bladder/into-body-room"] == "not checked"


def test_what_a_flight_frees_is_judged_at_the_event_alone(tmp_path):
    team = load_team(repository(tmp_path, event={"arrive_by": "air"}))
    there = dampers(team, team.file(build_path(tmp_path)))
    made = rule("after_flight_use", ask=Ask(at_most=1.0))
    judged = Judge(Rulebook({made.id: made})).judge(there, at_each=True)
    assert {j.condition for j in judged} == {"cold", "hot"}


def test_one_label_that_is_wrong_in_another_way_on_each_side_is_told_of_each(tmp_path):
    build = {"front.label": "o450 four", "front.left.oil": "o500", "front.right.oil": "o600"}
    parts = {f"oil.o{viscosity}.viscosity": f"{viscosity} cSt" for viscosity in (500, 600)}
    team = load_team(repository(tmp_path, build=build, parts=parts))
    made = {"bench/label": load_rulebook()["bench/label"]}
    judged = Judge(Rulebook(made)).judge(dampers(team, team.file(build_path(tmp_path))))
    told = {j.subject: message(j) for j in judged if j.verdict == "fails"}
    assert "o500" in told["front.left"] and "o600" in told["front.right"]


def test_what_is_missing_for_one_label_is_told_of_each_side(tmp_path):
    build = {"front.oil": None, "front.right.oil": "o450", "front.piston": None}
    build |= {"front.left.piston": "four"}
    team = load_team(repository(tmp_path, build=build))
    made = {"bench/label": load_rulebook()["bench/label"]}
    judged = Judge(Rulebook(made)).judge(dampers(team, team.file(build_path(tmp_path))))
    missing = {j.subject: j.missing for j in judged if j.verdict == "not checked"}
    assert missing == {"front.left": ("oil",), "front.right": ("piston",)}

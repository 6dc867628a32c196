"""In brief and at length: what is settled in brief is what is found at length."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from buildlint.assembly import dampers
from buildlint.brief import Brief
from buildlint.damper import CORNERS, Damper
from buildlint.figure import conditions_of, figure_of
from buildlint.folders import files_below
from buildlint.judge import Judge, Judgement
from buildlint.measures import MEASURES
from buildlint.origin import Origin
from buildlint.rule import Ask, Band, Rule
from buildlint.rulebook import Rulebook, load_rulebook
from buildlint.team import Team
from buildlint.together import car_figure
from tests.making import build_path, pairs, repository
from tests.making import dampers as dampers_at_random

BOOK = load_rulebook()
_NUMBERS = [m for m in MEASURES.values() if m.unit not in ("id", "yes")]


@st.composite
def fours(draw: Any) -> list[Damper]:
    """Any four dampers: the rear of its own, or in part or wholly the front's, read once."""
    front = draw(pairs(every=True))
    whole = draw(st.sampled_from(["own", "oil", "all"]))
    rear = front if whole == "all" else draw(pairs(every=True))
    oil = ("oil", "viscosity_given", "viscosity_given_at", "second_viscosity", "slope_given")
    found = list(front)
    for damper, like in zip(rear, front, strict=True):
        origin = {n: Origin(o.path, ("rear", *o.keys[1:])) for n, o in damper.origin.items()}
        figures: dict[str, Any] = {}
        spread = dict(damper.spread)
        if whole == "all":
            origin = dict(like.origin)
            # equal, though not the same object
            for name in damper.origin:
                value = getattr(damper, name, None)
                figures[name] = value + 0.0 if isinstance(value, float) else value
        elif whole == "oil":
            for name in (*oil, "second_viscosity_at"):
                figures[name] = getattr(like, name)
                spread.pop(name, None)
                origin.pop(name, None)
                if name in like.spread:
                    spread[name] = like.spread[name]
                if name in like.origin:
                    origin[name] = like.origin[name]
        # the car goes to one event
        for name in ("coldest", "hottest", "event_altitude", "highest", "arrive_by", "event_on"):
            figures[name] = getattr(like, name)
            spread.pop(name, None)
            if name in like.spread:
                spread[name] = like.spread[name]
            if name in like.origin:
                origin[name] = like.origin[name]
        found.append(replace(damper, end="rear", **figures, spread=spread, origin=origin))
    return found


def _told(found: Judgement) -> Any:
    b = found.bounds
    figures = (b.value, b.low, b.high) if b is not None else ()
    return found.rule.id, found.subject, found.verdict, found.condition, figures, found.margin


def _same_in_brief(book: Rulebook, four: list[Damper], judge: Judge | None = None) -> int:
    """Assert that both ways tell the same; give how many rules hold."""
    judge = judge if judge is not None else Judge(book, many=True)
    held, others = judge.settle(four)
    at_length = list(Judge(book).judge(four))
    assert list(held) == [(j.rule.id, j.subject) for j in at_length if j.verdict == "holds"]
    wanted = [j for j in at_length if j.verdict != "holds"]
    assert list(map(_told, others)) == list(map(_told, wanted))
    return len(held)


@settings(max_examples=150)
@given(four=fours())
def test_the_rulebook_in_brief_is_the_rulebook_at_length(four):
    _same_in_brief(BOOK, four)


_ONE = Judge(BOOK, many=True)


@settings(max_examples=60)
@given(four=fours())
def test_what_was_judged_before_changes_nothing(four):
    """One judge for many builds, which keeps what it worked out, against a new one for each."""
    _same_in_brief(BOOK, four, _ONE)


def _rule(measure: str, **more: Any) -> Rule:
    texts = {"title": "t", "source": "s", "why": "w", "cure": "c"}
    return Rule("a/rule", level="must", path=Path("rule.toml"), measure=measure, **texts, **more)


@settings(max_examples=200)
@given(
    four=fours(),
    measure=st.sampled_from(_NUMBERS),
    way=st.sampled_from(["at_most", "at_least", "same_within", "bands"]),
    which=st.sampled_from(["low", "value", "high"]),
    off=st.sampled_from([-0.3, -1e-6, -1e-10, 0.0, 1e-10, 1e-6, 0.3]),
    relative=st.booleans(),
    beside=st.sampled_from([None, -0.5, -1e-3, 1e-3, 0.5]),
)
def test_a_limit_near_the_figure_is_judged_alike(four, measure, way, which, off, relative, beside):
    """Any measure, its limit at, just within or just beyond what the readings allow.

    Beside it stands another rule with a limit of its own, a laxer or a stricter one.
    """
    of = MEASURES[measure.of] if measure.of else measure
    figures = [figure_of(of, four[0], c).bounds for c in conditions_of(measure, four[0])]
    found = next((f for f in figures if f is not None), None)
    limit = getattr(found, which) * (1.0 + off) if found is not None else 1.0
    if way == "same_within":
        if measure.of:
            return
        ask = Ask(same_within=abs(limit) * 0.1, relative=relative)
    elif way == "bands":
        bands = (Band(limit, Ask(at_most=limit)), Band(None, Ask(at_least=limit)))
        rule = _rule(measure.name, by=of.name, bands=bands)
        if not measure.of:
            _same_in_brief(Rulebook({rule.id: rule}), four)
        return
    else:
        ask = Ask(**{way: limit})
    rule = _rule(measure.name, ask=ask)
    rules = {rule.id: rule}
    if beside is not None and way != "same_within":
        other = Ask(**{way: limit * (1.0 + beside)})
        rules["b/rule"] = replace(rule, id="b/rule", ask=other)
    _same_in_brief(Rulebook(rules), four)


@st.composite
def unlike_fours(draw: Any) -> list[Damper]:
    """Four dampers of nothing in common but the event, read closely, so that little is doubtful."""
    event = draw(dampers_at_random(event=True))
    shared = ("coldest", "hottest", "event_altitude", "bench_temperature", "bench_altitude")
    found = []
    for end, side in CORNERS:
        damper = draw(dampers_at_random(end=end, side=side, event=True))
        figures = {name: getattr(event, name) for name in shared}
        spread = {n: e for n, e in damper.spread.items() if n not in shared and draw(st.booleans())}
        found.append(replace(damper, **figures, spread=spread))
    return found


_OFF = st.sampled_from([-0.5, -1e-3, -1e-6, 1e-6, 1e-3, 0.5])


@settings(max_examples=150)
@given(
    four=unlike_fours(),
    measure=st.sampled_from(["damping_balance", "frequency_balance"]),
    low=st.booleans(),
    off=_OFF,
)
def test_a_balance_of_unlike_dampers_is_judged_alike(four, measure, low, off):
    """Front over rear, each side with a figure of its own, the limit near what can be."""
    found = [car_figure(MEASURES[measure], four, c).bounds for c in ("bench", "cold", "hot")]
    ends = [(b.low if low else b.high) for b in found if b is not None]
    limit = (min(ends) if low else max(ends)) * (1.0 + off)
    rule = _rule(measure, ask=Ask(at_least=limit) if low else Ask(at_most=limit))
    _same_in_brief(Rulebook({rule.id: rule}), four)


@settings(max_examples=150)
@given(
    four=unlike_fours(),
    measure=st.sampled_from(["damping", "ride_frequency", "hold_back", "coil_gap"]),
    relative=st.booleans(),
    off=_OFF,
)
def test_sides_that_are_unlike_are_compared_alike(four, measure, relative, off):
    """Left and right as far apart as may be, or nearly so; also where a figure is below nothing."""
    wide = Rulebook({"a/rule": _rule(measure, ask=Ask(same_within=1e9, relative=relative))})
    most = [j.bounds.high for j in Judge(wide).judge(four) if j.bounds is not None]
    limit = max(most, default=1.0) * (1.0 + off)
    rule = _rule(measure, ask=Ask(same_within=limit, relative=relative))
    _same_in_brief(Rulebook({rule.id: rule}), four)


def _four_of(folder: Path, **changes: Any) -> list[Damper]:
    root = repository(folder, **changes)
    team = Team(root, files_below(root))
    return dampers(team, team.file(build_path(root)))


def test_a_sound_build_is_settled_without_being_judged_at_length(tmp_path, monkeypatch):
    four = _four_of(tmp_path)
    judge = Judge(BOOK, many=True)
    wanted = [(j.rule.id, j.subject) for j in judge.judge(four)]
    monkeypatch.setattr(Judge, "one", None)
    held, others = judge.settle(four)
    assert (list(held), others) == (wanted, [])
    # kept once for all builds that are alike in this
    assert judge.settle(four)[0] is held


@pytest.mark.parametrize(
    "changes",
    [
        {"build": {"front.right.hold_back": "9 mm"}},
        {"build": {"rear.left.rebound": "20 %"}},
        {"build": {"front.left.piston": "p2"}, "parts": {"piston.p2.diameter": "15.9 mm"}},
        {"build": {"front.left.hold_back": "6.4 cm mm"}},
        {"build": {"style": "emulsion", "front.air": "1 ml"}},
        {"build": {"rear": None}},
        {"build": {"front.left.label": "o999 four-18"}},
        {"parts": {"oil.o450.viscosity": "5000 cSt"}},
        {"build": {"front.left.limiter": "200 mm"}},
    ],
    ids=lambda c: " ".join(f"{k}.{n}" for k, v in c.items() for n in v),
)
def test_a_build_that_is_not_right_is_told_alike(tmp_path, changes):
    four = _four_of(tmp_path, **changes)
    _same_in_brief(BOOK, four)


def test_refused_readings_and_half_a_car_are_left_to_be_judged_at_length(tmp_path):
    brief = Brief(tuple(BOOK.measured()))
    four = _four_of(tmp_path)
    assert brief.settle(four) is not None
    assert brief.settle(four[:2]) is None
    refused = replace(four[0], refused=frozenset(["hold_back"]))
    assert brief.settle([refused, *four[1:]]) is None
    # a tolerance of no known place may be shared or not
    no_place = replace(four[0], origin={})
    assert brief.settle([no_place, *four[1:]]) is None

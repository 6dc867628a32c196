"""What a judgement says: the figure, its limit, by how much, when, and how sure it is.

The figures are made up; every number expected is their difference or share, worked out by hand.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from buildlint.judging.judge import Judge
from buildlint.judging.judgement import Judgement
from buildlint.judging.messages import in_short, limit_in_words, message, odds, when
from buildlint.judging.rule import Ask
from buildlint.judging.rulebook import Rulebook, load_rulebook
from buildlint.measures import MEASURES
from buildlint.measures.damper import Damper
from tests.by_hand import by_hand
from tests.rules import rule_of


def judged(measure: str, ask: Ask, *dampers: Damper) -> Judgement:
    rule = rule_of(measure, ask, level="must")
    (found,) = Judge(Rulebook({rule.id: rule})).judge(dampers)
    return found


def one(spread: tuple[float, float] | None = None, **figures: Any) -> Damper:
    name = next(iter(figures))
    wide = {name: spread} if spread is not None else {}
    return Damper(end="front", side="left", **figures, spread=wide)


def two(name: str, left: Any, right: Any, half: float = 0.0) -> tuple[Damper, Damper]:
    made = []
    for side, value in (("left", left), ("right", right)):
        spread = {name: (value - half, value + half)} if half else {}
        figures: dict[str, Any] = {name: value}
        made.append(Damper(end="front", side=side, **figures, spread=spread))
    return made[0], made[1]


AT_MOST = Ask(at_most=8.5e-3, texts={"at_most": "8.5 mm"})
BETWEEN = Ask(at_least=4.5e-3, at_most=8.5e-3, texts={"between": "4.5 mm and 8.5 mm"})


def test_a_failure_says_figure_and_limit_whatever_the_tolerance():
    for spread in ((9.2e-3, 9.8e-3), None):
        found = judged("hold_back", AT_MOST, one(spread, hold_back=9.5e-3))
        assert message(found) == "hold-back is 9.5 mm, at most 8.5 mm"


@pytest.mark.parametrize(("hold_back", "figure"), [(3e-3, "3.0 mm"), (10e-3, "10.0 mm")])
def test_a_figure_that_is_not_between_its_limits_says_so(hold_back, figure):
    text = message(judged("hold_back", BETWEEN, one(hold_back=hold_back)))
    assert text == f"hold-back is {figure}, not between 4.5 mm and 8.5 mm"


@pytest.mark.parametrize(
    ("value", "spread"),
    [(8.4e-3, (8.1e-3, 8.7e-3)), (4.6e-3, (4.3e-3, 4.9e-3))],
)
def test_a_borderline_must_says_how_often_its_limit_is_kept(value, spread):
    """0.1 mm from the limit, 0.3 mm / sqrt 3 uncertain: 0.577 of it, 71.8 % (normal table)."""
    text = message(judged("hold_back", BETWEEN, one(spread, hold_back=value)))
    assert text.endswith("between 4.5 mm and 8.5 mm: holds 14 times in 20")


def test_a_share_is_said_in_per_cent():
    ask = Ask(at_most=0.5, texts={"at_most": "50 %"})
    assert message(judged("rebound", ask, one(rebound=0.62))).startswith(
        "rebound is 62 %, at most 50 %"
    )


def test_a_figure_that_rounds_to_its_limit_is_told_apart():
    """8.504 mm against 8.5 mm: never "8.5 mm, at most 8.5 mm"."""
    text = message(judged("hold_back", AT_MOST, one(hold_back=8.504e-3)))
    assert "hold-back is 8.504 mm" in text or "hold-back is 8.50" in text
    assert "is 8.5 mm, at most 8.5 mm" not in text


def test_a_figure_without_end_is_said_so():
    room = {"shaft_diameter": 3.5e-3, "hold_back": 1e-2, "oil_volume": 1e-6, "expansion": 1e-3}
    bench = {"bench_temperature": 293.0, "bench_altitude": 0.0, "cap": "vented"}
    damper = Damper(end="front", side="left", **room, **bench, bladder_into_cap=0.0)  # type: ignore[arg-type]
    text = message(judged("into_cap_use", Ask(at_most=1.0, texts={"at_most": "100 %"}), damper))
    assert "without end at the bench" in text
    assert "inf" not in text and "nan" not in text


@pytest.mark.parametrize(
    ("condition", "words"),
    [("bench", " at the bench"), ("cold", " when cold"), ("hot", " when hot"), (None, "")],
)
def test_a_condition_is_said_in_words(condition, words):
    assert when(condition) == words


def test_the_condition_of_a_finding_is_told():
    figures = {"viscosity_given": 100e-6, "viscosity_given_at": 298.15, "slope_given": 1757.0}
    damper = Damper(
        end="front",
        side="left",
        **figures,  # type: ignore[arg-type]
        bench_temperature=298.15,
        coldest=273.15,
        hottest=313.15,
    )
    ask = Ask(at_most=120e-6, texts={"at_most": "120 cSt"})
    text = message(judged("viscosity", ask, damper))
    # SOURCES.md, 3, table: 171.47 cSt at 0 degC, with a slope of 0.3 K less
    assert "171 cSt when cold" in text or "172 cSt when cold" in text


def test_left_and_right_are_both_told_and_how_far_they_are_apart():
    """104.2 and 105 mm are 0.8 mm apart."""
    ask = Ask(same_within=0.5e-3, texts={"same_within": "0.5 mm"})
    text = message(judged("length", ask, *two("length", 0.1042, 0.105)))
    assert text == "length left 104.2 mm, right 105.0 mm, 0.8 mm apart, at most 0.5 mm"


def test_a_borderline_pair_counts_both_tolerances():
    """0.1 mm from the limit; 0.1 mm / sqrt 3 each, together 0.0816: 1.22 of it, 88.9 %."""
    ask = Ask(same_within=0.5e-3, texts={"same_within": "0.5 mm"})
    text = message(judged("length", ask, *two("length", 0.1042, 0.1046, 0.1e-3)))
    assert text.endswith("0.4 mm apart, at most 0.5 mm: holds 17 times in 20")


def test_a_limit_of_nothing_is_said_as_that():
    ask = Ask(same_within=0.0, texts={"same_within": "0 mm"})
    found = message(judged("length", ask, *two("length", 0.104, 0.106)))
    assert found.endswith("2.0 mm apart, at most 0 mm")


@pytest.mark.parametrize(
    ("chance", "words"),
    [
        (0.0499, "less than once in 20 times"),
        (0.05, "once in 20"),
        (0.9, "18 times in 20"),
        (0.8999, "17 times in 20"),
        (0.985, "197 times in 200"),
    ],
)
def test_a_chance_is_said_in_words_and_never_better_than_it_is(chance, words):
    assert odds(chance) == words


def test_ids_that_differ_are_named_by_kind():
    dampers = (
        Damper(end="front", side="left", piston="four", oil="o450", spring="soft"),
        Damper(end="front", side="right", piston="four", oil="o600"),
    )
    text = message(judged("parts", Ask(exactly=True), *dampers))
    assert text == (
        'oil is "o450" on the left, "o600" on the right; '
        'spring is "soft" on the left, none on the right'
    )


def test_one_id_alone_is_named_too():
    text = message(judged("oil", Ask(exactly=True), *two("oil", "o450", "o600")))
    assert text == 'oil is "o450" on the left, "o600" on the right'


def test_an_id_that_is_not_one_of_those_asked_is_named_with_them():
    ask = Ask(one_of=("o350", "o450"), texts={"one_of": "o350, o450"})
    text = message(judged("oil", ask, one(oil="o600")))
    assert "o600" in text and "o350, o450" in text


def test_what_is_missing_is_named():
    found = judged("length", AT_MOST, Damper(end="front", side="left"))
    assert message(found) == "needs length"


def test_an_id_cannot_steer_a_terminal():
    text = message(judged("oil", Ask(exactly=True), *two("oil", "a\x1b[31m", "b")))
    assert "\x1b" not in text


@pytest.mark.parametrize(
    ("ask", "words"),
    [
        (Ask(texts={"at_most": "100 %"}), "at most 100 %"),
        (Ask(texts={"at_least": "1 mm"}), "at least 1 mm"),
        (Ask(texts={"between": "1 mm and 2 mm"}), "between 1 mm and 2 mm"),
        (Ask(texts={"same_within": "0.5 mm"}), "the same within 0.5 mm"),
        (Ask(texts={"same_within": "exactly"}), "the same"),
        (Ask(texts={"one_of": "a, b"}), "one of a, b"),
        (Ask(texts={"at_most": "1 day"}), "at most 1 day"),
        (Ask(texts={"at_most": "7 day"}), "at most 7 days"),
        (Ask(texts={"between": "-2 day and 1 day"}), "between -2 days and 1 day"),
        (Ask(texts={"is": "true"}), "true"),
    ],
)
def test_a_limit_is_said_as_the_rule_writes_it(ask, words):
    assert limit_in_words(ask) == words


def test_the_brief_form_has_figure_and_limit():
    assert in_short(judged("hold_back", AT_MOST, one(hold_back=9.5e-3))) == "9.5 mm, at most 8.5 mm"
    low = judged("hold_back", BETWEEN, one(hold_back=3e-3))
    assert in_short(low) == "3.0 mm, at least 4.5 mm"
    doubt = judged("hold_back", AT_MOST, one((8.1e-3, 8.7e-3), hold_back=8.4e-3))
    assert in_short(doubt) == "8.4 mm, at most 8.5 mm: holds 14 times in 20"
    ask = Ask(same_within=0.5e-3, texts={"same_within": "0.5 mm"})
    apart = judged("length", ask, *two("length", 0.1042, 0.105))
    assert in_short(apart) == "0.8 mm apart, at most 0.5 mm"


def test_every_shipped_rule_can_speak_in_every_verdict():
    """Whatever a rule's judgement is, it has a message on one line without a number gone wrong."""
    judge = Judge(load_rulebook())
    figures: dict[str, Any] = {"hold_back": 50e-3, "stroke": 30e-3, "shaft_diameter": 3.5e-3}
    bare = [Damper(end="front", side=side) for side in ("left", "right")]
    some = [
        Damper(end="front", side=side, **figures, rebound=r)
        for side, r in (("left", 0.1), ("right", 0.9))
    ]
    for dampers in (bare, some):
        for found in judge.judge(dampers):
            for text in (message(found), in_short(found)):
                assert text and "\n" not in text
                assert "nan" not in text.split() and "inf" not in text.split()


# --- sentences of their own, and limits that they do not fit -------------------------------------


def days(number: float, ask: Ask) -> str:
    """The build stands at a day, its event so many days later."""
    dates: dict[str, Any] = {"bench_on": 739_000.0, "event_on": 739_000.0 + number}
    corners = [(end, side) for end in ("front", "rear") for side in ("left", "right")]
    car = [Damper(end=end, side=side, event="quarry", **dates) for end, side in corners]
    return message(judged("days_before_event", ask, *car))


def day_limit(number: float, way: str) -> Ask:
    return Ask(**{way: number * 86_400.0}, texts={way: f"{number:g} day"})


def test_a_build_after_its_event_is_said_so_and_one_too_early_or_late_is_not():
    assert days(-2, day_limit(0, "at_least")) == "built 2 days after the event"
    assert days(1, day_limit(3, "at_least")) == (
        "days from bench to event is 1 day, at least 3 days"
    )
    assert days(1, day_limit(0.5, "at_most")) == ("built 1 day before the event, at most 0.5 days")
    assert days(1, day_limit(0, "at_most")) == "days from bench to event is 1 day, at most 0 days"
    assert days(9, day_limit(7, "at_most")) == ("built 9 days before the event, at most 7 days")


@pytest.mark.parametrize(
    ("ask", "words"),
    [
        (
            Ask(at_least=0.0, texts={"at_least": "0 mm"}),
            "the piston is 16.00 mm, the largest that the body takes is 15.90 mm",
        ),
        (
            Ask(at_least=0.1e-3, texts={"at_least": "0.1 mm"}),
            "what the largest piston that fits has over this one is -0.1 mm, at least 0.1 mm",
        ),
    ],
)
def test_a_piston_is_told_with_the_largest_that_fits(ask, words):
    damper = Damper(end="front", side="left", piston_diameter=16e-3, largest_piston=15.9e-3)
    assert message(judged("piston_to_spare", ask, damper)) == words


def test_a_bladder_for_another_bore_is_told_with_the_bodys():
    damper = Damper(end="front", side="left", bladder_bore=16.2e-3, bore=16e-3)
    found = judged("bladder_bore_off", Ask(at_most=0.0, texts={"at_most": "0 mm"}), damper)
    assert message(found) == (
        "the bladder is made for a bore of 16.2 mm, the body's is 16.0 mm: 0.2 mm apart, "
        "at most 0 mm"
    )


def test_a_limit_below_nothing_is_told_as_a_figure():
    damper = Damper(end="front", side="left", bladder_bore=16.2e-3, bore=16e-3)
    found = judged("bladder_bore_off", Ask(at_most=-1e-3, texts={"at_most": "-1 mm"}), damper)
    assert message(found).endswith(" is 0.2 mm, at most -1 mm")


def test_steps_that_are_left_out_are_named():
    done = ("bled", "leak checked")
    damper = Damper(end="front", side="left", style="bladder", done=done)
    found = judged("steps_missing", Ask(at_most=0.0, texts={"at_most": "0 steps"}), damper)
    what, named = message(found).split(": ")
    assert what == "bench steps not listed as done"
    assert "threadlocked" in named.split(", ") and not {*done} & {*named.split(", ")}


def test_a_reading_of_nothing_is_told_with_its_plan():
    """`as_planned_within` holds what a reading is off its plan."""
    damper = Damper(end="front", side="left", hold_back=0.0, planned_hold_back=4e-3)
    made = rule_of("hold_back", level="must", as_planned_within="1 mm")
    (found,) = Judge(Rulebook({made.id: made})).judge([damper])
    assert message(found) == "0.0 mm read, 4.0 mm planned: 4.0 mm apart, at most 1 mm"


def test_no_other_figures_are_yes_or_no():
    """Each of these has a sentence of its own."""
    yes_or_no = {name for name, measure in MEASURES.items() if measure.unit == "yes"}
    assert yes_or_no == {"rebound_read", "label_agrees", "parts_against"}


def like(here: dict[str, Any], there: dict[str, Any]) -> Damper:
    old = Damper(end="front", side="left", build="old", **there)
    return Damper(end="front", side="left", build="new", **here, like=old)


def test_what_is_unlike_another_build_is_told_with_it():
    ask = Ask(at_most=0.0, at_least=0.0, texts={"between": "0 mm and 0 mm"})
    found = judged("hold_back_against", ask, like({"hold_back": 6e-3}, {"hold_back": 4e-3}))
    assert message(found) == "6.0 mm here, 4.0 mm in old: 2.0 mm apart, at most 0 mm"
    parts = like({"oil": "o450", "piston": "four"}, {"oil": "o300", "piston": "four"})
    other = judged("parts_against", Ask(is_true=True, texts={"is": "true"}), parts)
    assert message(other) == 'oil "o450" here, "o300" in old'


def test_a_figure_that_fails_with_another_is_told_behind_it():
    found = judged("hold_back", AT_MOST, one(hold_back=9.5e-3))
    other = judged("length", Ask(at_most=0.1, texts={"at_most": "100 mm"}), one(length=0.104))
    first = "hold-back is 9.5 mm, at most 8.5 mm"
    assert message(replace(found, also=other)) == (
        f"{first}. The length of front left shows more: 104.0 mm"
    )
    both = replace(other, dampers=(*other.dampers, *other.dampers), condition="hot")
    assert message(replace(found, also=both)) == (
        f"{first}. The length shows more: 104.0 mm when hot"
    )
    assert message(replace(found, also=replace(other, figure=None))) == first


def test_without_a_limit_the_title_is_all_there_is_to_say():
    found = judged("hold_back", AT_MOST, one(hold_back=9.5e-3))
    assert message(replace(found, ask=None)) == found.rule.title


def test_a_limit_of_nothing_is_said_in_short_too():
    none = judged("hold_back", Ask(at_most=0.0, texts={"at_most": "0 mm"}), one(hold_back=1e-3))
    assert in_short(none) == "1.0 mm, at most 0 mm"


ROOM = Ask(at_least=0.0, texts={"at_least": "0 mm"})


@pytest.mark.parametrize(
    ("into_cap", "hottest", "most"),
    [
        (5e-9, 293.15, "at most 0.5 mm"),
        (0.0, 293.15, "at most 0.0 mm"),
        (5e-9, 343.15, "even no hold-back is too much"),
    ],
)
def test_both_ends_of_a_window_without_room_are_told(into_cap, hottest, most):
    """30 mm of shaft less 48 mm^3 are 25.0 mm, 5 mm^3 are 0.5; 50 K more are 430 mm^3 of oil."""
    event = {"event": "quarry", "event_altitude": 0.0, "coldest": 293.15, "hottest": hottest}
    damper, _ = by_hand(bladder_into_body=48e-9, bladder_into_cap=into_cap, **event)
    assert message(judged("hold_back_window", ROOM, damper)) == (
        f"to follow the shaft out, the bladder needs at least 25.0 mm held back; "
        f"to have room in the cap, {most}"
    )


@pytest.mark.parametrize("ask", [{"at_least": (5e-3, "5 mm")}, {"at_most": (-9.0, "-9 m")}])
def test_a_window_of_the_teams_own_is_told_as_a_figure(ask):
    ((key, (limit, text)),) = ask.items()
    damper, _ = by_hand(bladder_into_body=48e-9, bladder_into_cap=50e-9)
    found = judged("hold_back_window", Ask(**{key: limit}, texts={key: text}), damper)
    assert message(found).endswith(f", {key.replace('_', ' ')} {text}")


TENTH = Ask(at_least=-0.1, at_most=0.1, texts={"between": "-10 % and 10 %"})


def test_a_blend_that_does_not_agree_is_told_with_what_its_parts_give():
    """At 25 degC as given: 600 cSt where the parts give 500 are a fifth more."""
    damper = Damper(
        end="front",
        side="left",
        viscosity_given=600e-6,
        viscosity_given_at=298.15,
        blend_viscosity=500e-6,
        blend_slope=1757.0,
    )
    assert message(judged("blend_disagreement", TENTH, damper)) == (
        "the viscosity given is 600 cSt, its parts give 500 cSt: 20 % apart, at most 10 %"
    )


def test_a_rate_that_does_not_agree_is_told_with_what_its_wire_gives():
    """G d^4/(8 D^3 n): 78.5 GPa, 1.6 mm, 20 mm, 8 coils: 1.005 N/mm; a fifth more is 1.206."""
    rate = 78.5e9 * 1.6e-3**4 / (8 * 20e-3**3 * 8)
    wire = {"shear_modulus": 78.5e9, "wire": 1.6e-3, "mean_diameter": 20e-3, "coils": 8.0}
    damper = Damper(end="front", side="left", rate_given=1.2 * rate, **wire)
    assert message(judged("rate_disagreement", TENTH, damper)) == (
        "the rate given is 1.21 N/mm, its wire and coils give 1.00 N/mm: 20 % apart, at most 10 %"
    )

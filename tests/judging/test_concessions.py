"""What concessions do to findings: only what they cover, only while they last."""

from __future__ import annotations

import datetime
from dataclasses import replace
from pathlib import Path
from typing import Any

from buildlint.files.concession import Concession
from buildlint.judging.concessions import Concessions
from buildlint.judging.finding import Finding
from buildlint.judging.judge import Judge
from buildlint.judging.judgement import Judgement
from buildlint.judging.rulebook import Rulebook, load_rulebook
from buildlint.team.assembly import dampers
from buildlint.team.life import Life
from buildlint.team.load import load_team
from tests.making import build_path, repository

BOOK = load_rulebook()
TODAY = datetime.date(2027, 6, 12)
LAST = datetime.date(2027, 6, 30)
OVER = datetime.date(2027, 6, 11)
EVENTS = {"some": "quarry", "other": "estuary", "b": "quarry"}.get


TWO: dict[str, Life] = {"some": "built", "other": "plan"}


def leave(
    rule: str,
    where: str | None = None,
    until: datetime.date = LAST,
    number: int = 0,
    build: str | None = None,
    event: str | None = None,
) -> Concession:
    given = Concession(
        rule=rule, reason="spare", until=until, build=build, event=event, where=where
    )
    return given.numbered(number)


def judged(folder: Path, rule: str, build: dict[str, Any]) -> Judgement:
    """Give the one judgement of a rule that does not hold."""
    team = load_team(repository(folder, build=build))
    found = Judge(Rulebook({rule: BOOK[rule]})).judge(dampers(team, team.file(build_path(folder))))
    (one,) = (judgement for judgement in found if judgement.verdict != "holds")
    return one


def parts(judgement: Judgement, *given: Concession) -> list[tuple[str, list[str]]]:
    found = Concessions(given, TODAY, EVENTS).parts(judgement, "heron-quarry")
    return [(part.subject, [d.corner for d in part.dampers]) for part in found]


def finding(subject: str = "front", verdict: Any = "fails", rule: str = "pair/length") -> Finding:
    return Finding(rule, "A title", "must", verdict, "a message", "x", build="b", subject=subject)


# --- a part of what does not hold ----------------------------------------------------------------

OLD_OIL = {"front.runtime": "20 h"}
FRONT, REAR = ["front.left", "front.right"], ["rear.left", "rear.right"]


def test_leave_for_one_side_parts_what_is_alike_on_both(tmp_path):
    rule = "record/oil-hours"
    one = judged(tmp_path, rule, OLD_OIL)
    assert parts(one) == [("front", FRONT)]
    assert parts(one, leave(rule, "front.left")) == [
        ("front.left", ["front.left"]),
        ("front.right", ["front.right"]),
    ]


def test_leave_for_all_of_it_or_for_none_of_it_parts_nothing(tmp_path):
    rule = "record/oil-hours"
    one = judged(tmp_path, rule, OLD_OIL)
    for where in (None, "car", "front", "rear", "rear.left"):
        assert parts(one, leave(rule, where)) == [("front", FRONT)]
    assert parts(one, leave("pair/length", "front.left")) == [("front", FRONT)]


def test_leave_that_is_over_parts_nothing(tmp_path):
    one = judged(tmp_path, "record/oil-hours", OLD_OIL)
    assert parts(one, leave("record/oil-hours", "front.left", OVER)) == [("front", FRONT)]


def test_what_is_alike_on_the_whole_car_is_parted_as_far_as_needed(tmp_path):
    """All four hold the same oil; leave for one end parts the ends, for one side that end too."""
    rule = "oil/viscosity-range"
    repository(tmp_path, parts={"oil.o450.viscosity": "20 cSt"})
    team = load_team(tmp_path)
    found = Judge(Rulebook({rule: BOOK[rule]})).judge(
        dampers(team, team.file(build_path(tmp_path)))
    )
    (one,) = found
    assert (one.subject, one.verdict) == ("car", "fails")
    assert parts(one, leave(rule, "rear")) == [("front", FRONT), ("rear", REAR)]
    assert parts(one, leave(rule, "rear.right")) == [
        ("front", FRONT),
        ("rear.left", ["rear.left"]),
        ("rear.right", ["rear.right"]),
    ]


def test_what_compares_sides_or_ends_is_never_parted(tmp_path):
    one = judged(tmp_path, "pair/length", {"front.right.length": "106 mm"})
    assert parts(one, leave("pair/length", "front.left")) == [("front", FRONT)]
    one = judged(tmp_path / "b", "damping/balance", {"front.spring": None, "rear.spring": None})
    assert len(parts(one, leave("damping/balance", "front"))) == 1


# --- what is conceded ----------------------------------------------------------------------------


def test_a_finding_gets_the_leave_that_covers_it_and_nothing_else_of_it_changes():
    given = leave("pair/length", "front")
    leaves = Concessions([given], TODAY, EVENTS)
    conceded = leaves.conceded(finding())
    assert conceded.concession is given
    assert (conceded.verdict, conceded.message) == ("fails", "a message")
    for other in (finding("rear"), finding("car"), finding(rule="pair/collar")):
        assert leaves.conceded(other) is other


def test_a_doubt_is_conceded_as_well():
    assert (
        Concessions([leave("pair/length")], TODAY, EVENTS)
        .conceded(finding(verdict="borderline"))
        .concession
    )


def test_what_is_not_checked_may_need_its_leave(tmp_path):
    one = judged(tmp_path, "pair/length", {"front.right.length": None})
    assert one.verdict == "not checked"
    leaves = Concessions([leave("pair/length")], TODAY, EVENTS)
    leaves.note(one, "b")
    assert list(leaves.unused({"b"}, {"b": "built"}, ())) == []


def test_of_two_the_one_that_lasts_longer_stands_and_both_are_of_use():
    short, long, over = (
        leave("pair/length", until=until, number=number)
        for number, until in enumerate((TODAY, LAST, OVER))
    )
    leaves = Concessions([short, long, over], TODAY, EVENTS)
    assert leaves.conceded(finding()).concession is long
    assert list(leaves.unused({"b"}, {"b": "built"}, ())) == []
    assert list(leaves.over({"b"}, {"b": "built"})) == [over]


def test_leave_that_is_over_concedes_nothing():
    leaves = Concessions([leave("pair/length", until=OVER)], TODAY, EVENTS)
    assert leaves.conceded(finding()).concession is None


def test_the_leave_for_what_was_judged_is_the_one_of_its_finding(tmp_path):
    """What holds or is not judged has none; another rule's or another end's is none of its own."""
    given = leave("pair/length", "front")
    others = (leave("pair/collar"), leave("pair/length", "rear"), leave("pair/length", until=OVER))
    one = judged(tmp_path, "pair/length", {"front.right.length": "106 mm"})
    assert Concessions([*others, given], TODAY, EVENTS).of(one, "heron-quarry") is given
    assert Concessions(others, TODAY, EVENTS).of(one, "heron-quarry") is None
    for verdict, conceded in (
        ("borderline", given),
        ("holds", None),
        ("not checked", None),
    ):
        changed: Any = verdict
        found = Concessions([given], TODAY, EVENTS).of(
            replace(one, verdict=changed), "heron-quarry"
        )
        assert found is conceded


# --- what nothing needs --------------------------------------------------------------------------


def test_what_nothing_needs_is_told_where_every_build_that_it_is_for_was_judged():
    some = leave("pair/length", build="some")
    every = leave("pair/length", number=1)
    leaves = Concessions([some, every], TODAY, EVENTS)
    assert list(leaves.unused({"some", "other"}, TWO, ())) == [some, every]
    assert list(leaves.unused({"some"}, TWO, ())) == [some]
    assert list(leaves.unused({"other"}, TWO, ())) == []


def test_of_a_build_with_a_mistake_in_its_files_it_is_not_said():
    some = leave("pair/length", build="some")
    every = leave("pair/length", number=1)
    leaves = Concessions([some, every], TODAY, EVENTS)
    assert list(leaves.unused({"some", "other"}, TWO, {"other"})) == [some]
    assert list(leaves.unused({"some", "other"}, TWO, {"some"})) == []


def test_what_is_over_is_told_as_that_and_not_as_unused():
    over = leave("pair/length", until=OVER, build="some")
    found = Concessions([over], TODAY, EVENTS)
    assert list(found.unused({"some"}, TWO, ())) == []
    assert list(found.over({"some"}, TWO)) == [over]
    assert list(found.over({"other"}, TWO)) == []
    assert list(found.over({"other"}, {"other": "built"})) == [over]


def test_what_is_for_past_builds_alone_is_passed_over():
    some, every = leave("pair/length", build="some"), leave("pair/length", number=1)
    lives: dict[str, Life] = {"some": "past", "other": "built"}
    assert list(Concessions([some, every], TODAY, EVENTS).unused({"other"}, lives, ())) == [every]
    of_quarry = leave("pair/length", until=OVER, event="quarry")
    assert list(Concessions([of_quarry], TODAY, EVENTS).over({"other"}, lives)) == []


def test_one_for_no_build_is_of_no_use_once_all_that_are_not_past_were_judged():
    """Behind one that is of use; a past build need not be judged for that."""
    used, missing = leave("pair/length"), leave("pair/collar", build="gone", number=1)
    lives: dict[str, Life] = {"some": "past", "b": "built", "other": "built"}
    found = Concessions([used, missing], TODAY, EVENTS)
    found.conceded(finding())
    assert list(found.unused({"b"}, lives, ())) == []
    assert list(found.unused({"b", "other"}, lives, ())) == [missing]


def test_one_for_an_event_covers_the_builds_for_it_and_no_other():
    given = leave("pair/length", event="quarry")
    found = Concessions([given], TODAY, EVENTS)
    assert found.conceded(finding()).concession is given
    assert found.conceded(replace(finding(), build="other")).concession is None
    for judged_now, unused in (({"some"}, [given]), ({"other"}, [])):
        again = Concessions([given], TODAY, EVENTS)
        assert list(again.unused(judged_now, TWO, ())) == unused

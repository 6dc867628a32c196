"""A concession: what it covers, and until when."""

from __future__ import annotations

import datetime
from typing import Any

import pytest

from buildlint.files.concession import Concession, day_of

WHERE = ("front", "front.left", "front.right", "rear", "rear.left", "rear.right", "car")
DAY = datetime.date(2027, 6, 30)
ENDS = {"front", "rear"}


def leave(where: str | None = None, build: str | None = None) -> Concession:
    return Concession(rule="pair/length", reason="spare", until=DAY, build=build, where=where)


@pytest.mark.parametrize(
    ("where", "covered", "in_part"),
    [
        (None, set(WHERE), set()),
        ("car", set(WHERE), set()),
        ("front", {"front", "front.left", "front.right"}, {"car"}),
        ("rear", {"rear", "rear.left", "rear.right"}, {"car"}),
        ("front.left", {"front.left"}, {"front", "car"}),
        ("rear.right", {"rear.right"}, {"rear", "car"}),
    ],
)
def test_the_whole_covers_its_parts_and_a_part_only_a_part_of_the_whole(where, covered, in_part):
    given = leave(where)
    assert {at for at in WHERE if given.covers("pair/length", at)} == covered
    assert {at for at in WHERE if given.covers_part("pair/length", at)} == in_part


def test_it_is_for_one_rule_only():
    assert leave().covers("pair/length", "front")
    assert not leave().covers("pair/lengths", "front")
    assert not leave().covers("pair", "front")
    assert not leave("front.left").covers_part("pair/collar", "front")


def test_it_is_for_one_build_where_it_names_one():
    given = leave(build="heron")
    assert given.is_for("heron", None) and given.is_for("heron", "quarry")
    assert not given.is_for("heron-quarry", "quarry") and not given.is_for(None, None)
    assert leave().is_for("heron", None) and leave().is_for(None, "quarry")


def test_it_is_for_one_event_where_it_names_one():
    given = Concession(rule="pair/length", reason="spare", until=DAY, event="quarry")
    assert given.is_for("heron", "quarry") and given.is_for("curlew", "quarry")
    assert not given.is_for("heron", "estuary") and not given.is_for("heron", None)


@pytest.mark.parametrize(
    ("on", "over"),
    [
        (datetime.date(2027, 6, 29), False),
        (datetime.date(2027, 6, 30), False),
        (datetime.date(2027, 7, 1), True),
    ],
)
def test_its_last_day_still_counts(on, over):
    assert leave().expired(on) is over


@pytest.mark.parametrize("on", ["2027-06-05", 20270605, datetime.datetime(2027, 6, 5, 12)])
def test_only_a_day_is_one(on: Any) -> None:
    with pytest.raises(TypeError, match="on is a day without a time"):
        day_of(on)
    assert day_of(datetime.date(2027, 6, 5)) == datetime.date(2027, 6, 5)

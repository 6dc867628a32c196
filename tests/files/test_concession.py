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
    assert {at for at in WHERE if given.covers("pair/length", "heron", at)} == covered
    assert {at for at in WHERE if given.covers_part("pair/length", "heron", at)} == in_part


def test_it_is_for_one_rule_only():
    assert leave().covers("pair/length", "heron", "front")
    assert not leave().covers("pair/lengths", "heron", "front")
    assert not leave().covers("pair", "heron", "front")
    assert not leave("front.left").covers_part("pair/collar", "heron", "front")


def test_it_is_for_one_build_where_it_names_one():
    given = leave(build="heron")
    assert given.covers("pair/length", "heron", "front")
    assert not given.covers("pair/length", "heron-quarry", "front")
    assert not given.covers("pair/length", None, "front")
    assert leave().covers("pair/length", None, "front")
    assert not leave("front.left", "heron").covers_part("pair/length", "curlew", "front")


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

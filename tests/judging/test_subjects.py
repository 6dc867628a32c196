"""What a report speaks of: corners, ends, the car."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlint.judging.subjects import SUBJECTS, by_subject, corners_of

CORNERS = ("front.left", "front.right", "rear.left", "rear.right")


@pytest.mark.parametrize(
    ("subject", "corners"),
    [
        ("car", CORNERS),
        ("front", CORNERS[:2]),
        ("rear", CORNERS[2:]),
        ("rear.right", CORNERS[3:]),
        ("bench", ()),
        ("", ()),
        ("front.", ()),
    ],
)
def test_a_subject_stands_for_its_corners(subject, corners):
    assert corners_of(subject) == corners


@given(st.dictionaries(st.sampled_from(CORNERS), st.integers(0, 2)))
def test_nothing_is_lost_or_told_twice(by_corner):
    told = list(by_subject(by_corner))
    back = [(corner, value) for subject, value in told for corner in corners_of(subject)]
    assert len(back) == len(dict(back))
    assert dict(back) == by_corner
    assert {subject for subject, _ in told} <= set(SUBJECTS)


def test_one_side_alone_is_no_end_and_two_corners_are_no_car():
    assert list(by_subject({"front.left": 1})) == [("front.left", 1)]
    assert list(by_subject({"front.left": 1, "rear.left": 1})) == [
        ("front.left", 1),
        ("rear.left", 1),
    ]
    assert list(by_subject(dict.fromkeys(CORNERS, 1))) == [("car", 1)]
    assert list(by_subject(dict(zip(CORNERS, (1, 1, 2, 2), strict=True)))) == [
        ("front", 1),
        ("rear", 2),
    ]

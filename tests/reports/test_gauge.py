"""The gauge: full only when the room is full, past its bar exactly when it is over."""

from __future__ import annotations

from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlint.reports.gauge import LEGEND, PAST, ROOM, draw

NONE = 0.0


def sides(body: float, cap: float) -> tuple[str, str, str, str]:
    """Give both sides from the middle outwards: the room, and what lies past it."""
    drawing = draw(body, cap)
    left, right = drawing[: 2 * (ROOM + PAST + 1) + 1].split(":")
    past_left, room_left = left.split("|")
    room_right, past_right = right.split("|")
    return room_left[::-1], past_left[::-1], room_right, past_right


@given(st.floats(0.0, 3.0))
def test_a_side_is_full_only_when_the_room_is_and_past_the_bar_exactly_when_over(use):
    """As the rules judge it: over means over by more than the last bits."""
    for room, past in (sides(use, NONE)[:2], sides(NONE, use)[2:]):
        assert len(room) == ROOM and len(past) == PAST
        if use >= 1.0:
            assert room == "#" * ROOM
        if use < 1.0 - 1e-8:
            assert room.endswith(".")
        if use > 1.0 + 1e-6:
            assert past.startswith("!")
        if use <= 1.0:
            assert past.strip() == ""


@given(st.floats(0.0, 3.0), st.floats(0.0, 3.0))
def test_more_use_is_never_drawn_shorter(one, other):
    less, more = sorted((one, other))
    shorter, longer = (sides(NONE, use)[2:] for use in (less, more))
    assert (shorter[0] + shorter[1]).count("#") <= (longer[0] + longer[1]).count("#")


@pytest.mark.parametrize(
    ("use", "cells"),
    [(0.0, 0), (0.001, 1), (0.25, 4), (0.5, 8), (0.51, 9), (0.9, 15), (0.99, 15), (1.0, 16)],
)
def test_each_character_is_a_sixteenth_of_the_room(use, cells):
    """16 characters: 0.25 is 4, 0.5 is 8; what has begun is drawn; 0.99 leaves one free."""
    assert sides(NONE, use)[2].count("#") == cells


def test_body_is_drawn_to_the_left_and_cap_to_the_right():
    drawing = draw(0.5, 0.25)
    middle = drawing.index(":")
    assert drawing[middle - 8 : middle] == "########"
    assert drawing[middle + 1 : middle + 6] == "####."


def test_use_without_end_fills_everything():
    _, _, room, past = sides(NONE, inf)
    assert (room, past) == ("#" * ROOM, "!" * PAST)
    assert "without end" in draw(NONE, inf)


def test_the_figures_stand_behind():
    assert draw(0.5, 1.2).endswith("body  50 %  cap 120 %")


@given(st.floats(0.0, 5.0), st.floats(0.0, 5.0))
def test_the_drawing_has_one_width_and_plain_characters(body, cap):
    """With the eighteen columns that stand before it, a line has at most 80."""
    drawing = draw(body, cap)
    assert drawing.isascii() and drawing.isprintable()
    assert drawing.index(":") == ROOM + PAST + 1
    assert len(drawing) + 18 <= 80


def test_the_legend_explains_every_character():
    assert all(sign in LEGEND for sign in ("#", "|", "!"))
    # its colon stands over that of the drawing
    assert LEGEND.index(":") == draw(0.5, 0.5).index(":")
    assert len(LEGEND) + 18 <= 80

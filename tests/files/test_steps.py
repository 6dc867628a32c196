"""The bench steps: their order, and which are due."""

from __future__ import annotations

from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlint.files.steps import STEPS, Step, missing_steps

# design.md, section 1: what `done` lists
PROMISED = ("deburred", "greased", "threadlocked", "bled", "rod end free", "leak checked")


def test_the_steps_are_those_promised_in_the_order_of_the_bench():
    assert STEPS == PROMISED
    assert get_args(Step) == PROMISED  # what a build file takes


@pytest.mark.parametrize(
    ("done", "style", "missing"),
    [
        ([], "bladder", PROMISED),
        ([], "emulsion", tuple(s for s in PROMISED if s != "bled")),
        (PROMISED, "bladder", ()),
        (PROMISED, "emulsion", ()),  # one that was bled all the same lacks nothing
        (["leak checked", "deburred"], "bladder", PROMISED[1:5]),
        (
            ["bled"],
            "emulsion",
            ("deburred", "greased", "threadlocked", "rod end free", *PROMISED[5:]),
        ),
    ],
)
def test_what_is_missing_is_what_is_due_and_not_done(done, style, missing):
    assert missing_steps(done, style) == missing


@given(done=st.lists(st.sampled_from(PROMISED)), style=st.sampled_from(["bladder", "emulsion"]))
def test_done_and_missing_make_up_what_is_due_whatever_the_order(done, style):
    missing = missing_steps(done, style)
    assert set(missing).isdisjoint(done)
    due = set(PROMISED) - ({"bled"} if style == "emulsion" else set())
    assert due <= set(missing) | set(done)
    assert list(missing) == [step for step in PROMISED if step in missing]
    assert missing_steps([*done, *missing], style) == ()

"""A rule as a record: whether it compares sides, and what it asks, in words."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from buildlint.rule import Ask, Band, Rule, asked, limit_in_words

LITTLE = Ask(at_most=0.003, texts={"at_most": "3 mm"})
USUAL = Ask(at_least=0.0045, at_most=0.0085, texts={"between": "4.5 mm and 8.5 mm"})


def rule(**more: Any) -> Rule:
    return Rule("team/one", "A title", "should", "ours", "Why.", "Cure.", Path("one.toml"), **more)


@pytest.mark.parametrize(
    ("ask", "words"),
    [
        (LITTLE, "at most 3 mm"),
        (Ask(at_least=0.003, texts={"at_least": "3 mm"}), "at least 3 mm"),
        (USUAL, "between 4.5 mm and 8.5 mm"),
        (Ask(same_within=0.001, texts={"same_within": "1 mm"}), "the same within 1 mm"),
        (Ask(exactly=True, texts={"same_within": "exactly"}), "the same"),
        (Ask(is_true=True, texts={"is": "true"}), "true"),
        (Ask(one_of=("a", "b"), texts={"one_of": "a, b"}), "one of a, b"),
        (Ask(), ""),
    ],
)
def test_a_limit_is_said_as_the_rule_writes_it(ask, words):
    assert limit_in_words(ask) == words


@pytest.mark.parametrize(
    ("ask", "compares"),
    [
        (None, False),
        (LITTLE, False),
        (Ask(same_within=0.0), True),
        (Ask(exactly=True), True),
        (Ask(one_of=("a",)), False),
    ],
)
def test_only_what_is_to_be_the_same_compares_left_with_right(ask, compares):
    assert rule(measure="hold_back", ask=ask).compares_sides is compares


def test_a_rule_about_files_asks_nothing():
    assert asked(rule()) == ""


def test_what_is_asked_names_the_measure():
    assert asked(rule(measure="hold_back", ask=LITTLE)) == "hold_back at most 3 mm"
    assert asked(rule(measure="hold_back")) == "hold_back"


def test_bands_are_said_one_by_one_with_what_they_go_by():
    bands = (Band(0.045, LITTLE, "45 mm"), Band(None, USUAL))
    assert asked(rule(measure="hold_back", by="body_length", bands=bands)) == (
        "hold_back by body_length, up to 45 mm: at most 3 mm; "
        "from there on: between 4.5 mm and 8.5 mm"
    )

"""A rule: made in Python or of what a file says, what it asks, in words and in SI."""

from __future__ import annotations

import copy
import pickle
import time
from typing import Any

import pytest
from pydantic import BaseModel, ValidationError

from buildlint.judging.asks import Ask, limit_in_words
from buildlint.judging.rule import Only, Rule, asked
from buildlint.judging.rulebook import load_rulebook

LITTLE = Ask(at_most=0.003, texts={"at_most": "3 mm"})
USUAL = Ask(at_least=0.0045, at_most=0.0085, texts={"between": "4.5 mm and 8.5 mm"})

TEXTS = {"title": "A title", "level": "should", "source": "ours", "why": "Why.", "cure": "Cure."}


def rule(**more: Any) -> Rule:
    return Rule.model_validate({"id": "team/one", **TEXTS, **more})


def wrong(**more: Any) -> list[tuple[tuple[int | str, ...], str]]:
    """Return where a rule is refused, and with which words."""
    with pytest.raises(ValidationError) as caught:
        rule(**more)
    return [(error["loc"], error["msg"]) for error in caught.value.errors()]


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
        ({"at_most": "3 mm"}, False),
        ({"between": ["1 mm", "2 mm"]}, False),
        ({"same_within": "0 mm"}, True),
        ({"same_within": "5 %"}, True),
        ({"measure": "oil", "same_within": "exactly"}, True),
        ({"measure": "oil", "one_of": ["o350"]}, False),
    ],
)
def test_only_what_is_to_be_the_same_compares_left_with_right(ask, compares):
    assert rule(**{"measure": "hold_back", **ask}).compares_sides is compares


def test_a_rule_about_files_asks_nothing():
    about_files = rule(id="file/mistake")
    assert (asked(about_files), about_files.ask, about_files.limits) == ("", None, False)


def test_a_rule_with_a_limit_or_with_bands_asks_something():
    bands = [{"up_to": "45 mm", "at_most": "3 mm"}, {"at_most": "8 mm"}]
    assert rule(measure="hold_back", at_most="3 mm").limits
    assert rule(measure="hold_back", by="body_length", bands=bands).limits


@pytest.mark.parametrize(
    ("ident", "group"), [("pair/ours", "pair"), ("ours", ""), ("deep/er/ours", "deep/er")]
)
def test_a_rule_is_of_the_group_that_its_id_begins_with(ident, group):
    assert rule(id=ident, measure="hold_back", at_most="3 mm").group == group


def test_of_three_limits_the_second_is_one_too_many():
    limits = {"at_most": "3 mm", "at_least": "1 mm", "same_within": "1 mm"}
    ((place, _),) = wrong(measure="hold_back", **limits)
    assert place == ("at_least",)


def test_what_is_asked_names_the_measure():
    assert asked(rule(measure="hold_back", at_most="3 mm")) == "hold_back at most 3 mm"


def test_bands_are_said_one_by_one_with_what_they_go_by():
    bands = [{"up_to": "45 mm", "at_most": "3 mm"}, {"between": ["4.5 mm", "8.5 mm"]}]
    assert asked(rule(measure="hold_back", by="body_length", bands=bands)) == (
        "hold_back by body_length, up to 45 mm: at most 3 mm; "
        "from there on: between 4.5 mm and 8.5 mm"
    )


# --- made in Python ------------------------------------------------------------------------------


def test_a_rule_made_in_python_is_checked_as_its_file_would_be():
    assert wrong(measure="hold_back", at_most="3 cSt", turn=["collar"]) == [
        (("at_most",), '"3 cSt" is a kinematic viscosity; a length belongs here'),
        (("turn",), "collar does not move hold_back; hold_back would"),
    ]
    assert wrong(measure="hold_back", at_least=3, levle="must") == [
        (("at_least",), 'a limit is a reading in quotes, such as "6.4 mm"'),
        (("levle",), "Extra inputs are not permitted"),
    ]
    assert wrong(id="a\x1b[31m") == [
        (("id",), "a rule's id has at most 100 characters, all of them plain")
    ]


def test_every_rule_that_ships_can_be_written_out_and_read_again():
    for one in load_rulebook():
        said = one.model_dump(by_alias=True, exclude_unset=True, mode="json")
        again = Rule.model_validate(said)
        assert again == one
        assert (again.ask, again.by_band) == (one.ask, one.by_band)


def test_a_rule_is_copied_pickled_and_nested_as_any_model():
    one = load_rulebook()["hold-back/by-body-length"]
    assert copy.deepcopy(one) == one == pickle.loads(pickle.dumps(one))
    assert pickle.loads(pickle.dumps(one)).by_band == one.by_band

    class Chosen(BaseModel):
        rule: Rule

    assert Chosen(rule=one).rule is one
    assert len(repr(one)) < 80


def test_a_rule_is_not_changed_and_a_copy_with_changes_is_checked():
    one = rule(measure="hold_back", at_most="3 mm")
    with pytest.raises(ValidationError, match="frozen"):
        one.level = "must"  # type: ignore[misc]
    assert one.ask == LITTLE
    other = one.model_copy(update={"at_most": "5 mm"})
    assert other.ask is not None and other.ask.at_most == pytest.approx(0.005)
    with pytest.raises(ValidationError, match="no unit"):
        one.model_copy(update={"at_most": "5"})


def test_what_a_rule_is_narrowed_to_goes_by_the_keys_of_the_file():
    only = Only.model_validate({"class": "1/8 buggy", "end": "rear"})
    assert only.words == {"end": "rear", "class": "1/8 buggy"}
    assert Only().words == {}


class Odd(str):
    """A text of another kind."""


def nested(depth: int) -> Any:
    found: Any = []
    for _ in range(depth):
        found = [found]
    return found


@pytest.mark.parametrize(
    "given",
    [float("nan"), 7, None, True, b"x", object(), [], {}, nested(100_000), {"a": nested(100_000)}],
    ids=["nan", "int", "none", "true", "bytes", "object", "list", "dict", "deep", "deep in a dict"],
)
@pytest.mark.parametrize("key", [name for name in Rule.known_keys() if name != "caution"])
def test_whatever_stands_in_a_key_is_taken_or_refused_and_no_more(key, given):
    sound = {"measure": "hold_back", "at_most": "3 mm", key: given}
    try:
        rule(**sound)
    except ValidationError as error:
        assert len(str(error)) < 5_000


def test_a_text_of_another_class_is_taken_as_plain_text():
    texts = {key: Odd(text) for key, text in TEXTS.items() if key != "level"}
    made = rule(measure=Odd("oil"), one_of=[Odd("a")], **{**texts, "level": "must"})
    texts = made.model_dump(exclude={"one_of", "only"}, exclude_unset=True)
    assert {type(text) for text in texts.values()} == {str}


def test_keys_by_the_hundred_thousand_are_refused_in_good_time():
    began = time.monotonic()
    with pytest.raises(ValidationError):
        rule(**{f"key{number}": 1 for number in range(100_000)})
    with pytest.raises(ValidationError, match="at most 100 bands fit"):
        rule(measure="hold_back", by="stroke", bands=[{"at_most": "1 mm"}] * 100_000)
    assert time.monotonic() - began < 20.0


def test_what_stands_over_a_finding_is_the_fault_where_it_fails_else_what_should_hold():
    plain = Rule.model_validate({"id": "a/b", "measure": "collar", "at_most": "6 mm", **TEXTS})
    told = plain.model_copy(update={"fault": "A fault"})
    assert [plain.heading(verdict) for verdict in ("fails", "borderline")] == ["A title"] * 2
    verdicts = ("fails", "borderline", "not checked", "holds")
    assert [told.heading(v) for v in verdicts] == ["A fault", "A title", "A title", "A title"]

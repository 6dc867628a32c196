"""Tables: what an annotation makes of a key, and what is refused, as pydantic's core says it."""

from __future__ import annotations

import datetime
import subprocess
import sys
from pathlib import Path
from typing import Annotated, Any, Literal

import pytest
from pydantic_core import ValidationError

from buildlint.files.tables import PlainDate, Table, Text, fields_of, keyed, validated

Word = Annotated[str, Text(1, 5)]
Day = Annotated[datetime.date, PlainDate(lambda: ValueError("no plain date"))]


class Inner(Table):
    word: Word | None = None


class Outer(Table):
    required = ("way",)

    way: Literal["in", "out"] = "out"
    day: Day | None = None
    kept: Word | None = keyed("class")
    inner: Inner | None = None
    many: dict[str, Inner]
    steps: list[Literal["a", "b"]] | None = None


class More(Outer):
    note: Word | None = None


def refusals(raw: dict[str, Any]) -> list[tuple[str, tuple[Any, ...]]]:
    with pytest.raises(ValidationError) as caught:
        validated(More, raw)
    return [(error["type"], error["loc"]) for error in caught.value.errors()]


def test_what_is_given_is_read_and_what_is_left_out_has_its_default():
    made = validated(More, {"class": "buggy", "inner": {"word": "x"}, "steps": ["a"]})
    assert (made.way, made.day, made.kept, made.many, made.steps) == (
        "out",
        None,
        "buggy",
        {},
        ["a"],
    )
    assert isinstance(made.inner, Inner) and made.inner.word == "x"
    assert made.given == {"kept", "inner", "steps"}
    assert made.many is not validated(More, {}).many


def test_fields_are_in_the_order_of_the_class_those_of_its_base_first():
    assert list(fields_of(More)) == ["way", "day", "kept", "inner", "many", "steps", "note"]
    assert fields_of(More)["kept"].key == "class"
    assert fields_of(Inner)["word"].optional


def test_every_mistake_is_told_at_once_where_it_is():
    raw = {
        "way": "up",
        "day": datetime.datetime(2027, 6, 5, 12),
        "class": "longer than five",
        "inner": {"word": "", "odd": 1},
        "many": {"one": 4},
        "steps": ["a", "c"],
        "kept": "x",
    }
    assert sorted(refusals(raw)) == sorted(
        [
            ("literal_error", ("way",)),
            ("value_error", ("day",)),
            ("string_too_long", ("class",)),
            ("string_too_short", ("inner", "word")),
            ("extra_forbidden", ("inner", "odd")),
            ("model_type", ("many", "one")),
            ("literal_error", ("steps", 1)),
            ("extra_forbidden", ("kept",)),
        ]
    )


@pytest.mark.parametrize("given", [4, True, b"x", ["x"], {"x": 1}])
def test_text_is_text_and_nothing_that_could_be_made_so(given: object):
    assert refusals({"note": given}) == [("string_type", ("note",))]


def test_a_table_is_not_changed_once_read_and_equals_one_that_says_the_same():
    one, same, other = (validated(Inner, {"word": word}) for word in ("a", "a", "b"))
    assert one == same != other
    assert one != validated(Outer, {})
    with pytest.raises(AttributeError, match="not changed once read"):
        one.word = "b"
    assert dict(one) == {"word": "a"}
    assert repr(one) == "Inner(word='a')"


def test_an_annotation_of_another_form_is_refused_when_the_table_is_made():
    class Odd(Table):
        what: float

    with pytest.raises(TypeError, match="no field takes <class 'float'>"):
        validated(Odd, {})


def test_the_whole_of_pydantic_is_not_loaded_to_inspect():
    """It takes longer to load than all else that a commit hook does."""
    team = Path(__file__).parent.parent.parent / "examples" / "saltmarsh"
    code = (
        "import sys; from buildlint.cli import main; main(['inspect', sys.argv[1]]); "
        "sys.exit('pydantic' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code, str(team)], capture_output=True, check=False)
    assert done.returncode == 0, done.stderr

"""The models of the files as a user of pydantic expects them."""

from __future__ import annotations

import copy
import datetime
import pickle
from typing import Any

import pytest
from pydantic import BaseModel, ValidationError

from buildlint.files.models import KINDS, Build, Car, Event
from buildlint.files.oil_model import Oil
from buildlint.files.part_models import Body, Parts
from buildlint.files.readings import Reading
from buildlint.files.tables import IN_A_FILE, partial_of, whole_of

EVENT: dict[str, Any] = {
    "name": "Fen",
    "on": datetime.date(2027, 6, 5),
    "altitude": "5 m",
    "coldest": "10 degC",
    "hottest": "25 degC",
}


def test_a_model_is_complete() -> None:
    event = Event.model_validate(EVENT)
    assert isinstance(event.coldest, Reading)
    assert event.coldest.to("degF") == pytest.approx(50.0)  # 10 * 9/5 + 32
    with pytest.raises(ValidationError, match="hottest\n  Field required"):
        Event.model_validate({key: EVENT[key] for key in EVENT if key != "hottest"})


def test_keys_that_do_not_agree_are_refused_where_they_stand() -> None:
    class Season(BaseModel):
        events: list[Event]

    with pytest.raises(ValidationError) as refused:
        Season.model_validate({"events": [EVENT, {**EVENT, "coldest": "30 degC"}]})
    (error,) = refused.value.errors()
    assert error["loc"] == ("events", 1, "coldest")
    assert "is hotter than the hottest" in error["msg"]


def test_every_mistake_comes_at_once() -> None:
    with pytest.raises(ValidationError) as refused:
        Event.model_validate({"name": "Fen", "altitude": "5", "wind": "much", "coldest": "3 mm"})
    found = {error["loc"]: error["type"] for error in refused.value.errors()}
    assert found == {
        ("on",): "missing",
        ("altitude",): "buildlint",
        ("coldest",): "buildlint",
        ("hottest",): "missing",
        ("wind",): "extra_forbidden",
    }


@pytest.mark.parametrize(
    "make", [copy.copy, copy.deepcopy, lambda e: pickle.loads(pickle.dumps(e))]
)
def test_a_copy_is_equal(make: Any) -> None:
    event = Event.model_validate(EVENT)
    parts = Parts.model_validate({"oil": {"a": {"blend": {"b": "40 %", "c": "60 %"}}}})
    assert make(event) == event
    assert make(parts) == parts


def test_what_is_dumped_is_read_again() -> None:
    event = Event.model_validate(EVENT)
    assert Event.model_validate_json(event.model_dump_json(exclude_none=True)) == event
    end = {"body": "b", "shaft": "s"}
    car = Car.model_validate({"name": "Heron", "class": "buggy", "front": end, "rear": end})
    assert Car.model_validate(car.as_table()) == car
    assert car.as_table()["class"] == "buggy"


def test_nothing_is_changed_once_read() -> None:
    event = Event.model_validate(EVENT)
    with pytest.raises(ValidationError, match="frozen"):
        event.name = "Moor"
    oil = Oil.model_validate({"blend": {"b": "40 %", "c": "60 %"}})
    assert oil.blend is not None
    with pytest.raises(TypeError, match="not changed"):
        oil.blend["d"] = oil.blend["b"]
    with pytest.raises(TypeError, match="not changed"):
        oil.blend.clear()


def test_a_changed_copy_is_checked() -> None:
    event = Event.model_validate(EVENT)
    assert event.model_copy(update={"name": "Moor"}).name == "Moor"
    assert event.model_copy(update={"coldest": "12 degC"}).coldest.text == "12 degC"
    with pytest.raises(ValidationError, match="hotter"):
        event.model_copy(update={"coldest": "30 degC"})
    with pytest.raises(ValidationError, match="Extra inputs"):
        event.model_copy(update={"wind": "much"})


def test_a_date_in_quotes_is_one_in_json_and_none_in_a_file() -> None:
    quoted = {**EVENT, "on": "2027-06-05"}
    assert Event.model_validate(quoted) == Event.model_validate(EVENT)
    with pytest.raises(ValidationError, match="a date without quotes"):
        Event.model_validate(quoted, context=IN_A_FILE)
    for wrong in ("2027-02-30", "today", 20270605, datetime.datetime(2027, 6, 5)):
        with pytest.raises(ValidationError, match="a date without quotes"):
            Event.model_validate({**EVENT, "on": wrong})


@pytest.mark.parametrize("kind", KINDS)
def test_of_a_partial_twin_every_key_may_be_missing(kind: str) -> None:
    partial = partial_of(KINDS[kind])
    assert isinstance(partial.model_validate({}), KINDS[kind])
    with pytest.raises(ValidationError, match="Extra inputs"):
        partial.model_validate({"no such key": 1})


def test_what_a_partial_twin_has_in_full_is_whole() -> None:
    twin = partial_of(Parts).model_validate(
        {
            "body": {
                "a": {"bore": "16 mm"},
                "b": {"bore": "16 mm", "stroke": "28 mm", "length": "52 mm"},
            }
        }
    )
    assert whole_of(Body, twin.body["a"]) is None
    whole = whole_of(Body, twin.body["b"])
    assert type(whole) is Body
    assert whole.stroke.to("mm") == pytest.approx(28.0)


def test_a_damper_of_a_build_has_a_place() -> None:
    end = {"piston": "p", "oil": "o", "hold_back": "5 mm"}
    build = {"car": "heron", "front": end, "rear": {**end, "left": {"hold_back": "6"}}}
    build["bench"] = {"on": "2027-06-05", "temperature": "20 degC", "altitude": "0 m"}
    with pytest.raises(ValidationError) as refused:
        Build.model_validate(build)
    (error,) = refused.value.errors()
    assert error["loc"] == ("rear", "left", "hold_back")
    build["rear"]["left"]["hold_back"] = "6 mm"
    left, right = (Build.model_validate(build).damper(f"rear.{s}") for s in ("left", "right"))
    assert left.hold_back is not None and right.hold_back is not None
    assert (left.hold_back.text, right.hold_back.text, left.oil) == ("6 mm", "5 mm", "o")
    with pytest.raises(KeyError):
        Build.model_validate(build).damper("left")

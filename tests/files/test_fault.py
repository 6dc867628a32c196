"""A mistake that says of itself where it is."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Any

import pytest

from buildlint.files.fault import Fault, with_keys
from buildlint.files.reader import read_file


def messages(kind: str, table: dict[str, Any]) -> list[str]:
    found = read_file(Path("x"), kind, "x", held=table)
    return [fault.message for fault in found.faults]


BENCH = {"temperature": "16 degC", "altitude": "5 m"}
END = {"piston": "four", "oil": "thin", "hold_back": "6 mm"}


@pytest.mark.parametrize(
    ("end", "start"),
    [
        ({"hold_back": "6"}, 'rear.hold_back: "6" has no unit'),
        ({"left": {"length": "84"}}, 'rear.left.length: "84" has no unit'),
        ({"oil": 350}, 'rear.oil: put text in quotes: oil = "350"'),
        ({"done": ["bleed"]}, 'rear.done.0: "bleed" is not one of '),
        ({"left": 3}, "rear.left: keys of its own belong here"),
        # what names its table already
        ({"rebuond": "60 %"}, '"rebuond" is not a key known in rear; '),
        ({"oil": None}, "oil is missing for the rear"),
    ],
)
def test_a_mistake_in_a_table_that_is_held_has_its_keys_first(
    end: dict[str, Any], start: str
) -> None:
    bench = {**BENCH, "on": datetime.date(2027, 6, 5)}
    rear = {key: value for key, value in {**END, **end}.items() if value is not None}
    (message,) = messages("build", {"car": "heron", "bench": bench, "front": END, "rear": rear})
    assert message.startswith(start)


def test_of_two_parts_it_is_said_which() -> None:
    thin = {"viscosity": "350 cSt"}
    assert messages("parts", {"oil": {"thin": thin, "other": {"label": "x"}}}) == [
        "oil.other: viscosity is missing (or blend, which gives it)"
    ]
    body = {"bore": "16 mm", "stroke": "60 mm", "length": "52 mm"}
    (message,) = messages("parts", {"body": {"long": body}})
    assert message.startswith('body.long.stroke: the stroke, "60 mm", is more than ')


def test_keys_stand_in_front_once_and_steer_no_terminal() -> None:
    fault = Fault("file/not-a-reading", "oil: x", ("front", "a\x1b[31m", "oil"))
    once = with_keys(fault)
    assert once.message == "front.a\\x1b[31m.oil: x"
    assert with_keys(once) == once
    assert (once.rule, once.path) == (fault.rule, fault.path)


def test_a_key_at_the_top_needs_no_more() -> None:
    fault = Fault("file/no-such-id", 'there is no car "x"', ("car",))
    assert with_keys(fault) == fault

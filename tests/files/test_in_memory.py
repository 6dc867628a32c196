"""A table handed over by a program, whatever is in it, as one that a file could hold."""

from __future__ import annotations

import copy
import datetime
import threading
from collections import OrderedDict
from types import MappingProxyType
from typing import Any

import pytest

from buildlint.files.in_memory import NoToml, plain


def test_what_a_file_could_hold_stays_as_it_is():
    day, clock = datetime.date(2027, 6, 5), datetime.time(12)
    table = {"a": "x", "b": 1, "c": 1.5, "d": True, "e": day, "f": clock, "g": {"h": ["x", {}]}}
    found = plain(table)
    assert found == table
    assert [type(v) for v in found.values()] == [type(v) for v in table.values()]


def test_the_callers_table_is_left_alone():
    table = {"front": {"done": ["bled"]}}
    before = copy.deepcopy(table)
    found = plain(table)
    found["front"]["done"].append("greased")
    del found["front"]
    assert table == before


def test_other_tables_lists_and_texts_become_plain_ones():
    class Text(str):
        __slots__ = ()

    found = plain(MappingProxyType({"a": OrderedDict(b=("x", Text("y")))}))
    assert found == {"a": {"b": ["x", "y"]}}
    assert [type(found["a"]), type(found["a"]["b"])] == [dict, list]
    assert type(found["a"]["b"][1]) is str


def test_a_key_that_is_no_text_goes_by_its_text():
    assert plain({1: {None: "x"}}) == {"1": {"None": "x"}}


@pytest.mark.parametrize("value", [object(), {1, 2}, b"6.4 mm", 1j, threading.Lock(), len])
def test_what_no_file_could_hold_is_replaced(value):
    found = plain({"a": value, "b": [value]})
    assert isinstance(found["a"], NoToml)
    assert isinstance(found["b"][0], NoToml)


def test_nothing_given_stays_nothing():
    assert plain({"a": None}) == {"a": None}


def test_a_table_that_holds_itself_ends_there():
    table: dict[str, Any] = {"a": "x"}
    table["b"] = {"c": table}
    found = plain(table)
    assert found["a"] == found["b"]["c"]["a"] == "x"
    assert isinstance(found["b"]["c"]["b"], NoToml)


def test_a_list_that_holds_itself_many_times_takes_no_time():
    here: Any = "x"
    for _ in range(60):
        here = [here] * 10
    found = plain({"a": here})
    levels = 0
    inner = found["a"]
    while isinstance(inner, list):
        inner, levels = inner[0], levels + 1
    assert isinstance(inner, NoToml)
    assert levels <= 20


def test_a_table_of_very_many_levels_is_cut_off():
    here: Any = {}
    for _ in range(100_000):
        here = {"a": here}
    inner, levels = plain(here), 0
    while isinstance(inner, dict):
        inner, levels = inner["a"], levels + 1
    assert isinstance(inner, NoToml)
    assert levels <= 20


def test_half_of_a_character_in_a_key_goes_by_its_escape() -> None:
    """No UTF-8 holds U+D800 by itself (RFC 3629, 3): what reads the table could not name it."""
    assert plain({"\ud800": 1, "a": {"\udfffb": "é"}}) == {"\\ud800": 1, "a": {"\\udfffb": "é"}}

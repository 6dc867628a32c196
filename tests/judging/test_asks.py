"""What a rule asks, read from its text: as figures in a unit, and what a measure does not take."""

from __future__ import annotations

import pytest

from buildlint.files.readings import Mistake
from buildlint.judging.asks import limit_figures, read_ask


@pytest.mark.parametrize(
    ("kind", "given", "measure", "unit", "figures"),
    [
        ("at_most", "10 mm", "hold_back", "mm", {"at_most": 10.0}),
        ("at_least", "1 cm", "hold_back", "mm", {"at_least": 10.0}),
        ("between", ["4.5 mm", "8.5 mm"], "hold_back", "mm", {"at_least": 4.5, "at_most": 8.5}),
        ("between", ["5 mm", "5 mm"], "hold_back", "mm", {"at_least": 5.0, "at_most": 5.0}),
        ("same_within", "1 mm", "hold_back", "mm", {"same_within": 1.0}),
        ("same_within", "5 %", "hold_back", "1", {"same_within": 0.05}),
        ("same_within", "0 mm", "hold_back", "mm", {"same_within": 0.0}),
        ("same_within", "exactly", "oil", "id", {"same_within": "exactly"}),
        ("as_planned_within", "1 mm", "hold_back", "mm", {"as_planned_within": 1.0}),
        ("as_planned_within", "0 mm", "hold_back", "mm", {"as_planned_within": 0.0}),
        ("one_of", ["o300", "o450"], "oil", "id", {"one_of": ["o300", "o450"]}),
        ("is", True, "label_agrees", "yes", {"is": "true"}),
        ("at_most", "2 steps", "steps_missing", "step", {"at_most": 2.0}),
    ],
)
def test_a_limit_as_figures(kind, given, measure, unit, figures):
    assert limit_figures(read_ask(kind, given, measure), unit) == figures


@pytest.mark.parametrize(
    ("kind", "given", "measure", "said"),
    [
        ("is", True, "hold_back", "hold_back is not a yes or no: it does not take is = true"),
        ("one_of", ["o300"], "hold_back", "hold_back is not an id: it does not take one_of"),
        ("one_of", ["o300"], "parts", "parts is not an id: it does not take one_of"),
        ("between", ["5 mm", "4 mm"], "hold_back", "the first limit is above the second"),
        ("same_within", "-1 mm", "hold_back", "same_within cannot be below zero"),
        ("as_planned_within", "-1 mm", "hold_back", "as_planned_within cannot be below zero"),
        ("at_most", "5 mm ± 1 mm", "hold_back", '"5 mm ± 1 mm": a limit has no tolerance'),
    ],
)
def test_what_a_measure_does_not_take(kind, given, measure, said):
    with pytest.raises(Mistake) as told:
        read_ask(kind, given, measure)
    assert told.value.message == said


def test_what_has_no_plan_is_told_with_what_has_one():
    with pytest.raises(Mistake) as told:
        read_ask("as_planned_within", "1 kPa", "cap_pressure")
    said, named = told.value.message.split("these have: ")
    assert said == "cap_pressure has no plan of its own; "
    assert set(named.split(", ")) == {"collar", "hold_back", "length", "rebound"}

"""What the file of a build becomes for another event."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from buildlint.files.models import Build, Car
from buildlint.judging.adapt_end import Candidate
from buildlint.judging.carried import Changes, carried, changes_for, schema_seen_from, text_of
from buildlint.text.errors import PathError

CANDIDATE = Candidate("o450", "four", "deep", 6.4, (), 0.0, 0.0, 0.0, 0.0, 0.0, 5.0, 8.0, 1.0)
_INSIDE = {"body": "long", "shaft": "s35"}
CAR = Car.model_validate(
    {
        "name": "Heron",
        "front": {**_INSIDE, "bladder": "deep"},
        "rear": {**_INSIDE, "bladder": "shallow"},
    }
)
SIDES = ("left", "right")


def changes(
    front: dict[str, Any],
    found: Candidate | None = None,
    bench: float | None = None,
    **more: str,
) -> Changes:
    parts = {"piston": "four", "oil": "o450"}
    sides = {side: {"hold_back": "6.4 mm"} for side in SIDES}
    rear = {**parts, "hold_back": "9.5 mm", "air": "0 ml"}
    table = {
        "car": "heron",
        "event": "quarry",
        "bench": {"temperature": "20 degC", "altitude": "5 m"},
        "front": {**parts, **({} if "hold_back" in front else sides), **front},
        "rear": rear,
        **more,
    }
    build = Build.model_validate(table)
    ends = None if found is None else {"front": found, "rear": found}
    return changes_for(build, CAR, "alps", "heron-quarry", ends, bench)


def test_a_plan_is_for_its_event_like_the_build_and_neither_past_nor_built():
    found = changes({})
    assert {key: found[key] for key in found if key[0] not in ("front", "rear")} == {
        ("event",): "alps",
        ("like",): "heron-quarry",
        ("past",): None,
        ("bench", "on"): None,
    }
    assert changes({}, bench=37.5)["bench", "temperature"] == "37.5 degC"


def test_what_is_read_on_a_finished_damper_is_left_out_at_both_ends_and_on_every_side():
    found = changes({})
    for end in ("front", "rear"):
        for key in ("length", "rebound", "label", "runtime", "done"):
            for place in ((end, key), (end, "left", key), (end, "right", key)):
                assert place in found and found[place] is None
    # planned, or alike in all builds
    kept = {key[-1] for key in found} & {"oil", "piston", "spring", "collar", "limiter", "air"}
    assert not kept


def test_a_part_is_written_where_it_is_another_than_that_of_the_build_or_the_car():
    """The oil of the build is as found; the bladder is the car's in front, and not behind."""
    found = changes({"piston": "six"}, CANDIDATE)
    assert ("front", "oil") not in found and ("front", "bladder") not in found
    assert (found["front", "piston"], found["rear", "bladder"]) == ("four", "deep")
    # both sides are alike
    for kind in ("oil", "piston", "bladder"):
        assert all(found["front", side, kind] is None for side in SIDES)
    own = changes({"bladder": "shallow"}, CANDIDATE)
    assert own["front", "bladder"] == "deep"


def test_a_part_that_the_end_is_left_without_stays_as_it_is_written():
    side = {"bladder": "deep", "hold_back": "6 mm"}
    found = changes({"left": side, "right": side}, replace(CANDIDATE, bladder=None))
    assert not [key for key in found if key[-1] == "bladder"]


@pytest.mark.parametrize(
    ("front", "new", "planned"),
    [
        ({"hold_back": "6.4 mm ± 0.2 mm"}, 6.4, "6.4 mm ± 0.2 mm"),
        ({"hold_back": "1/4 in"}, 6.35, "1/4 in"),
        ({"hold_back": "1/4 in"}, 7.1, "7.1 mm"),
        ({"hold_back": "6.4 mm ± 0.2 mm"}, 7.123456, "7.1235 mm ± 0.2 mm"),
        ({"hold_back": "6.4 mm ± 5 %"}, 7.1, "7.1 mm ± 5 %"),
        ({"hold_back": "1/4 in ± 0.01"}, 7.1, "7.1 mm ± 0.01 in"),
        ({"left": {"hold_back": "6.4 mm"}, "right": {"hold_back": "6.6 mm"}}, 6.5, "6.5 mm"),
        # of two sides the wider tolerance
        (
            {"left": {"hold_back": "6.4 mm ± 1 mm"}, "right": {"hold_back": "6.6 mm ± 2 mm"}},
            6.5,
            "6.5 mm ± 2 mm",
        ),
        (
            {"left": {"hold_back": "6.4 mm ± 2 mm"}, "right": {"hold_back": "6.6 mm ± 1 mm"}},
            6.5,
            "6.5 mm ± 2 mm",
        ),
    ],
)
def test_the_hold_back_that_is_found_is_for_both_sides_with_the_tolerance_as_written(
    front, new, planned
):
    found = changes(front, replace(CANDIDATE, hold_back=new))
    assert found["front", "hold_back"] == planned
    assert all(found["front", side, "hold_back"] is None for side in SIDES)


def test_where_no_hold_back_was_read_none_is_planned():
    """An emulsion has none."""
    found = changes({"left": {}, "right": {}, "air": "1 ml"}, CANDIDATE, style="emulsion")
    assert [key for key in found if key[-1] == "hold_back"] == [
        ("rear", "hold_back"),
        *(("rear", side, "hold_back") for side in SIDES),
    ]


def test_the_table_that_is_carried_over_stays_itself():
    table = {"front": {"oil": "o450", "left": {"length": "9 mm"}, "right": {"air": "0 ml"}}}
    given = {("front", "left", "length"): None, ("rear", "oil"): "o600", ("rear", "label"): None}
    made = carried(table, given)
    assert made == {
        "front": {"oil": "o450", "right": {"air": "0 ml"}},
        "rear": {"oil": "o600"},
    }
    assert table["front"]["left"] == {"length": "9 mm"}  # type: ignore[index]
    assert carried({}, {("bench", "on"): None}) == {}


def test_a_text_that_would_say_another_thing_is_refused():
    text = 'car = "heron"  # the yellow one\nevent = "quarry"\n'
    assert text_of(text, {("event",): "alps"}) == text.replace("quarry", "alps")
    with pytest.raises(PathError, match="write it by hand"):
        text_of("[front]\nleft.hold_back = '6 mm'\n", {("front", "left"): "9 mm"})


@pytest.mark.parametrize(
    ("line", "then"),
    [
        ("#:schema ../schemas/b.json", "#:schema ../../schemas/b.json"),
        ("#:schema ./b.json", "#:schema ../b.json"),
        ("#:schema https://b.json", "#:schema https://b.json"),
        ("# as it won\n#:schema ./b.json", "# as it won\n#:schema ./b.json"),
    ],
)
def test_the_schema_beside_a_file_is_named_from_where_it_goes(line, then):
    old, new = Path("builds/x.build.toml"), Path("builds/plans/x.build.toml")
    assert schema_seen_from(f"{line}\n", old, new) == f"{then}\n"
    assert schema_seen_from("#:schema ./b.json\n", new, new) == "#:schema ./b.json\n"


@pytest.mark.parametrize(
    ("front", "planned"),
    [
        ({"hold_back": "6.4 mm ± 0.2 mm"}, "6.4 mm ± 0.2 mm"),
        ({"hold_back": "1/4 in"}, "1/4 in"),
        ({"left": {"hold_back": "6.2 mm"}, "right": {"hold_back": "6.6 mm"}}, "6.4 mm"),
        (
            {"left": {"hold_back": "1/4 in ± 0.01"}, "right": {"hold_back": "0.26 in"}},
            "6.5 mm ± 0.01 in",  # 6.35 and 6.604 mm
        ),
        ({"left": {"hold_back": "6 mm ± 5 %"}, "right": {"hold_back": "7 mm"}}, "6.5 mm ± 5 %"),
    ],
)
def test_a_plan_begins_with_the_hold_back_of_both_sides_as_it_is_written(front, planned):
    assert changes(front)["front", "hold_back"] == planned

"""Rules with bands: each damper is judged by its own band, alone and among many builds."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from buildlint import inspect_team
from tests.making import build_path, repository, write

# By the tube of the body: a short one takes what a long one may not, and the other way round.
RULE = """\
title = "The oil suits the length of the body"
level = "must"
measure = "{measure}"
by = "{by}"
bands = [{bands}]
source = "ours, not published"
why = "A longer body holds more oil."
cure = "Fill with another."
"""
THIN_IN_LONG = '{ up_to = "55 mm", at_most = "1000 cSt" }, { at_most = "400 cSt" }'
RIGHT_SHORTER = {"front.right.body": "short"}
# Of many builds less is kept and told than of few.
ALONE, MANY = 1, 14


def found(
    folder: Path,
    bands: str,
    builds: int,
    measure: str = "viscosity_given",
    by: str = "body_length",
    **changes: Any,
) -> dict[str, str]:
    """Give the verdict of the banded rule on each subject that is not told to hold."""
    repository(folder, **changes)
    rule = RULE.format(measure=measure, by=by, bands=bands)
    text = build_path(folder).read_text(encoding="utf-8")
    more = {f"run{n:02}.build.toml": text for n in range(builds - 1)}
    write(folder, {"rules/own/banded.toml": rule, **more})
    inspection = inspect_team([folder])
    assert len(inspection.builds) == builds
    first, *others = (
        {str(f.subject): str(f.verdict) for f in judged.findings if f.rule == "own/banded"}
        for judged in inspection.builds
    )
    assert all(other == first for other in others)
    assert inspection.passes() is ("fails" not in first.values())
    return first


many = pytest.mark.parametrize("builds", [ALONE, MANY], ids=["alone", "many"])


@many
def test_front_and_rear_of_one_oil_are_each_held_to_their_own_band(tmp_path, builds):
    """450 cSt: in the 52 mm tubes in front up to 1000 will do, in the 61 mm ones behind 400."""
    assert found(tmp_path, THIN_IN_LONG, builds) == {"rear": "fails"}


@many
def test_the_same_where_the_front_is_in_the_band_that_it_misses(tmp_path, builds):
    thick_in_long = '{ up_to = "55 mm", at_most = "400 cSt" }, { at_most = "1000 cSt" }'
    assert found(tmp_path, thick_in_long, builds) == {"front": "fails"}


@many
def test_left_and_right_of_one_oil_are_each_held_to_their_own_band(tmp_path, builds):
    """The right one in front has a 42 mm tube, the left one 52 mm; behind both have 61 mm."""
    bands = '{ up_to = "45 mm", at_most = "400 cSt" }, { at_most = "1000 cSt" }'
    verdicts = found(tmp_path, bands, builds, build=RIGHT_SHORTER)
    assert verdicts == {"front.right": "fails"}


@many
def test_a_band_that_its_reading_may_lie_in_makes_that_damper_alone_borderline(tmp_path, builds):
    """60.95 to 61.05 mm and 51.95 to 52.05: the edge at 61.02 mm is within the rear's alone."""
    bands = '{ up_to = "61.02 mm", at_most = "1000 cSt" }, { at_most = "400 cSt" }'
    parts = {"body.longer.length": "61 mm ± 0.05 mm", "body.long.length": "52 mm ± 0.05 mm"}
    assert found(tmp_path, bands, builds, parts=parts) == {"rear": "borderline"}


@many
def test_where_all_are_in_their_bands_the_rule_holds(tmp_path, builds):
    bands = '{ up_to = "55 mm", at_least = "400 cSt" }, { at_most = "500 cSt" }'
    assert found(tmp_path, bands, builds) == {}


@many
def test_a_reading_that_is_missing_on_one_side_leaves_that_one_not_checked(tmp_path, builds):
    """Of the front's right damper nobody wrote down the hold-back, by which the bands go."""
    bands = '{ up_to = "8 mm", at_most = "1000 cSt" }, { at_most = "400 cSt" }'
    verdicts = found(tmp_path, bands, builds, by="hold_back", build={"front.right.hold_back": None})
    assert verdicts == {"front.right": "not checked", "rear.left": "fails", "rear.right": "fails"}


@many
def test_what_is_one_for_all_in_measure_and_band_is_told_once_for_the_car(tmp_path, builds):
    bands = '{ up_to = "1000 cSt", at_least = "10 mm" }, { at_least = "20 mm" }'
    verdicts = found(tmp_path, bands, builds, measure="limiter", by="viscosity_given")
    assert verdicts == {"car": "fails"}


@many
def test_each_side_goes_by_its_own_reading_where_the_measure_is_one_for_all(tmp_path, builds):
    """9.5 mm behind, 6.4 mm in front on the left and 3 mm on the right: three bands."""
    bands = (
        '{ up_to = "5 mm", at_most = "500 cSt" }, { up_to = "8 mm", at_most = "400 cSt" }, '
        '{ at_most = "500 cSt" }'
    )
    changes = {"front.right.hold_back": "3 mm"}
    verdicts = found(tmp_path, bands, builds, by="hold_back", build=changes)
    assert verdicts == {"front.left": "fails"}

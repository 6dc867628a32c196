"""Every measure of one build at every condition."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from buildlint.build_figures import BuildFigures, FigureLine, figures
from buildlint.commit import PathError
from buildlint.settings import SettingsError
from tests.making import build_path, repository


def of(folder: Path, **changes: Any) -> BuildFigures:
    return figures(build_path(repository(folder, **changes)))


def line(
    found: BuildFigures, subject: str, measure: str, condition: str | None = None
) -> FigureLine:
    (one,) = (
        f
        for f in found.figures
        if (f.subject, f.measure, f.condition) == (subject, measure, condition)
    )
    return one


def test_the_build_is_named_with_its_car_and_event(tmp_path):
    found = of(tmp_path)
    assert (found.build, found.car, found.event) == ("heron-quarry", "heron", "quarry")
    assert found.faults == ()


def test_a_reading_stands_with_its_tolerance_in_its_unit(tmp_path):
    """6.4 ± 0.3 mm (the field's default); U = 2 * 0.3/sqrt(3) = 0.3464 (JCGM 100:2008)."""
    one = line(of(tmp_path), "front.left", "hold_back")
    assert (one.value, one.low, one.high) == pytest.approx((6.4, 6.1, 6.7))
    assert one.unit == "mm"
    assert one.expanded == pytest.approx(0.3464, abs=1e-4)


def test_a_conditional_measure_stands_once_for_each_condition(tmp_path):
    found = of(tmp_path)
    conditions = [f.condition for f in found.figures if f.measure == "viscosity"]
    assert conditions == ["bench", "cold", "hot"] * 2  # front and rear
    without = of(tmp_path / "b", build={"event": None})
    assert {f.condition for f in without.figures if f.measure == "viscosity"} == {"bench"}


def test_what_both_sides_share_stands_once_for_the_end(tmp_path):
    found = of(tmp_path)
    assert {f.subject for f in found.figures if f.measure == "stroke"} == {"front", "rear"}
    assert {f.subject for f in found.figures if f.measure == "length"} == {
        "front.left",
        "front.right",
        "rear.left",
        "rear.right",
    }


def test_a_figure_that_cannot_be_worked_out_says_what_is_missing(tmp_path):
    found = of(tmp_path, parts={"bladder.deep.into_cap": None})
    one = line(found, "front.left", "into_cap_use", "hot")
    assert (one.value, one.low, one.high) == (None, None, None)
    assert one.missing == ("into_cap of bladder deep",)
    # and all else is worked out
    assert line(found, "front.left", "into_cap_need", "hot").value is not None


def test_ids_stand_as_text_without_a_unit(tmp_path):
    one = line(of(tmp_path), "front", "oil")
    assert (one.value, one.unit, one.low) == ("o450", None, None)


def test_what_rests_on_an_estimate_is_marked(tmp_path):
    found = of(tmp_path, parts={"body.long.oil": None})
    assert line(found, "front", "oil_volume").estimated
    assert line(found, "front.left", "into_cap_use", "hot").estimated
    assert not line(found, "rear", "oil_volume").estimated
    assert not line(found, "front", "viscosity", "hot").estimated


def test_what_has_no_sense_for_a_damper_is_left_out(tmp_path):
    found = of(tmp_path)
    assert not [f for f in found.figures if f.measure == "cap_pressure"]  # the cap is vented
    assert not [f for f in found.figures if f.measure == "blend_disagreement"]
    poured = of(
        tmp_path / "b", build={"style": "emulsion", "front.air": "1 ml", "rear.air": "1 ml"}
    )
    assert not [f for f in poured.figures if f.measure == "into_cap_use"]


def test_failing_or_not_every_figure_is_there(tmp_path):
    """A hold-back past the stroke fails, and its figures stand all the same: 40/30 of it."""
    found = of(tmp_path, build={"front.left.hold_back": "40 mm"})
    assert line(found, "front.left", "hold_back_share").value == pytest.approx(40 / 30)


def test_a_figure_without_end_has_no_uncertainty_of_nothing(tmp_path):
    """Room for nothing, needed: without end. No ± 0 may stand beside it."""
    parts = {"bladder.deep.into_cap": "0 mm^3 ± 1 mm^3"}
    one = line(of(tmp_path, parts=parts), "front.left", "into_cap_use", "hot")
    assert one.value == float("inf")
    assert one.expanded is None


def test_a_build_is_found_by_its_id_in_the_working_folder(tmp_path, monkeypatch):
    monkeypatch.chdir(repository(tmp_path))
    assert figures("heron-quarry").figures == figures(build_path(tmp_path)).figures


def test_an_id_that_is_not_there_is_refused_with_the_nearest(tmp_path, monkeypatch):
    monkeypatch.chdir(repository(tmp_path))
    with pytest.raises(PathError, match='did you mean "heron-quarry"'):
        figures("heron-qarry")


def test_mistakes_in_the_file_go_along(tmp_path):
    found = of(tmp_path, build={"front.pistn": "four"})
    assert [fault.rule for fault in found.faults] == ["file/unknown-key"]


def test_settings_that_cannot_be_followed_are_refused_here_too(tmp_path):
    root = repository(tmp_path)
    (root / "buildlint.toml").write_text("own = 1\n", encoding="utf-8")
    with pytest.raises(SettingsError):
        figures(build_path(root))


def test_bounds_hold_their_figure(tmp_path):
    for one in of(tmp_path, parts={"body.long.oil": None}).figures:
        if isinstance(one.value, float):
            assert one.low is not None and one.high is not None
            assert one.low <= one.value <= one.high
            assert one.expanded is not None and one.expanded >= 0.0

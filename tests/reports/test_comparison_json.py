"""A comparison as JSON."""

from __future__ import annotations

import json
from math import pi
from pathlib import Path
from typing import Any

import pytest

from buildlint.judging.compare import Comparison, compare
from buildlint.reports.comparison_json import comparison_json
from tests.making import build_path, repository

AREA = pi / 4.0 * 3.5**2  # of the shaft, mm^2


def of(folder: Path, old: dict[str, Any] | None = None, **new: Any) -> Comparison:
    was = repository(folder / "old", **(old or {}))
    now = repository(folder / "new", **new)
    return compare(build_path(was), build_path(now))


def test_json_has_every_change_with_its_figures(tmp_path):
    found = of(tmp_path, build={"front.left.hold_back": "7.4 mm"})
    document = json.loads(comparison_json(found))
    assert document["format"] == 2
    assert document["changed"] is True
    assert document["old"]["build"] == document["new"]["build"] == "heron-quarry"
    assert document["old"]["revision"] is None
    (one,) = document["changes"]
    assert (one["where"], one["old"], one["new"]) == ("front.left hold_back", "6.4 mm", "7.4 mm")
    assert one["within_tolerance"] is False
    assert len(document["figures"]) == len(found.figures)
    (use,) = (
        f
        for f in document["figures"]
        if (f["measure"], f["condition"]) == ("into_cap_use", "bench")
    )
    assert use["old"]["value"] == pytest.approx(AREA * 6.4 / 500.0)
    assert use["new"]["value"] == pytest.approx(AREA * 7.4 / 500.0)
    assert use["difference"] == pytest.approx(AREA / 500.0)
    assert (use["subject"], use["unit"]) == ("front.left", "1")
    assert use["old"]["uncertainty_up"] > 0.0 and use["old"]["uncertainty_down"] > 0.0
    assert document["counts"]["figures_same"] == found.same
    assert document["counts"]["figures_changed"] == len(found.figures)
    assert document["mistakes"] == []


def test_json_of_no_change_is_empty_and_says_so(tmp_path):
    document = json.loads(comparison_json(of(tmp_path)))
    assert document["changed"] is False
    assert (document["changes"], document["figures"], document["verdicts"]) == ([], [], [])


def test_json_says_what_is_missing_and_what_is_without_end(tmp_path):
    none = of(tmp_path, parts={"bladder.deep.into_cap": None}, build={"event": None})
    document = json.loads(comparison_json(none))
    gone = [f for f in document["figures"] if f["measure"] == "into_cap_use"]
    assert {f["condition"]: f["new"] for f in gone}["hot"] is None
    at_bench = {f["condition"]: f["new"] for f in gone}["bench"]
    assert at_bench["value"] is None
    assert at_bench["missing"] == ["into_cap of bladder deep"]
    nothing = of(tmp_path / "b", parts={"bladder.deep.into_cap": "0 mm^3 ± 1 mm^3"})
    document = json.loads(comparison_json(nothing))
    use = [f for f in document["figures"] if f["measure"] == "into_cap_use"]
    assert any(f["new"]["value"] is None and "missing" not in f["new"] for f in use)
    assert all(f["difference"] is None for f in use if f["new"]["value"] is None)


def test_no_subject_is_null(tmp_path):
    """As in other documents: what stands at the top of a build's file is of no part of the car."""
    document = json.loads(comparison_json(of(tmp_path, build={"note": "second try"})))
    (change,) = document["changes"]
    assert (change["subject"], change["where"]) == (None, "note")


def test_hostile_text_stays_text(tmp_path):
    hostile = "\x1b[31m\u202e</script>\x07"
    document = comparison_json(of(tmp_path, build={"front.note": hostile, "front.oil": hostile}))
    assert document.isascii()
    assert all(line.isprintable() for line in document.splitlines())
    assert hostile in {change["new"] for change in json.loads(document)["changes"]}

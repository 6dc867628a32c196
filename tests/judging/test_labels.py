"""What to write on the caps of a build."""

from __future__ import annotations

import json
import tempfile
from pathlib import Path
from typing import Any

import pytest
import tomli
from hypothesis import given
from hypothesis import strategies as st

from buildlint.judging.figures import figures
from buildlint.judging.inspector import inspect_team
from buildlint.judging.labels import BuildLabels, CapLabel, labels
from buildlint.reports.labels_json import labels_json
from buildlint.reports.labels_text import labels_text
from buildlint.text.errors import PathError, RulebookError, SettingsError
from tests.making import FEW, build_path, repository


def of(folder: Path, **changes: Any) -> BuildLabels:
    return labels(build_path(repository(folder, **changes)))


def cap(found: BuildLabels, code: str) -> CapLabel:
    (one,) = (c for c in found.caps if c.code == code)
    return one


# --- what to write -------------------------------------------------------------------------------


def test_a_cap_says_holes_viscosity_and_hold_back(tmp_path):
    found = of(tmp_path)
    assert (found.build, found.car, found.event) == ("heron-quarry", "heron", "quarry")
    assert [(c.corner, c.code) for c in found.caps] == [
        ("front.left", "FL"),
        ("front.right", "FR"),
        ("rear.left", "RL"),
        ("rear.right", "RR"),
    ]
    assert cap(found, "RL") == CapLabel(
        corner="rear.left",
        code="RL",
        lines=("4x1.8  450", "9.5 mm"),
        label="4x1.8  450  9.5 mm",
        toml='label = "4x1.8  450  9.5 mm"',
        missing=(),
        written="o450 four",
        agrees=True,
        disagreements=(),
        not_checked=(),
        table="rear",
    )
    assert found.mistakes == ()


def test_an_emulsion_says_the_air_poured_in(tmp_path):
    build = {"style": "emulsion", "front.air": "1.25 ml", "rear.air": "1 ml"}
    found = of(tmp_path, build=build)
    assert cap(found, "FL").lines == ("4x1.8  450", "air 1.25 ml")


@pytest.mark.parametrize(
    ("key", "lines", "label"),
    [
        ("hold_back", ("4x1.8  450",), "4x1.8  450"),
        ("oil", ("4x1.8", "6.4 mm"), None),
        ("piston", ("450", "6.4 mm"), None),
    ],
)
def test_what_was_not_given_is_said_and_not_invented(tmp_path, key, lines, label):
    build = {"front.left.hold_back": None} if key == "hold_back" else {f"front.{key}": None}
    found = of(tmp_path, build=build)
    one = cap(found, "FL")
    assert (one.lines, one.label, one.missing) == (lines, label, (key,))
    assert (one.toml is None) is (label is None)
    assert f"not given, so not written: {key}" in labels_text(found)
    assert any(f"{key} is missing" in mistake for mistake in found.mistakes)


def test_an_end_that_is_not_there_has_no_caps(tmp_path):
    path = build_path(repository(tmp_path))
    text = path.read_text(encoding="utf-8")
    path.write_text(text[: text.index("[front]")] + text[text.index("[rear]") :], encoding="utf-8")
    assert [c.code for c in labels(path).caps] == ["RL", "RR"]
    path.write_text("car = ", encoding="utf-8")
    assert labels(path).caps == ()
    assert "No caps: the build file says nothing about its dampers." in labels_text(labels(path))


def test_an_id_stands_in_for_what_is_not_known_of_the_part(tmp_path):
    """One that is longer than the file takes is not proposed for it."""
    found = of(tmp_path, parts={"piston.four.holes": None})
    assert cap(found, "FL").label == "four  450  6.4 mm"
    found = of(tmp_path / "b", parts={"oil.o450.viscosity": "450 cTs"})
    assert cap(found, "FL").label == "4x1.8  o450  6.4 mm"
    found = of(tmp_path / "c", build={"front.piston": "p" * 190, "front.oil": "o" * 190})
    assert (cap(found, "FL").label, cap(found, "FL").toml) == (None, None)
    assert "the ids are too long for a label in the build file" in labels_text(found)


@pytest.mark.parametrize("longest", [200, 201])
def test_a_label_as_long_as_the_build_file_takes_is_proposed_for_it(tmp_path, longest):
    oil = "o" * (longest - len("4x1.8    6.4 mm"))
    build = {"front.oil": oil, "front.label": f"4x1.8  {oil}  6.4 mm"}
    one = cap(of(tmp_path, build=build), "FL")
    assert (one.label is not None) == (one.written is not None) == (longest == 200)


def test_car_and_date_stand_only_on_caps_that_would_else_be_like_another_builds(tmp_path):
    root = repository(tmp_path)
    path = build_path(root)
    other = path.with_name("wren.build.toml")
    text = path.read_text(encoding="utf-8")
    other.write_text(text.replace('"9.5 mm"', '"9.7 mm"'), encoding="utf-8")
    assert cap(labels(path), "FL").lines == ("4x1.8  450", "6.4 mm", "heron", "2027-06-05")
    assert cap(labels(path), "FL").label == "4x1.8  450  6.4 mm  heron  2027-06-05"
    assert cap(labels(path), "RL").lines == ("4x1.8  450", "9.5 mm")
    other.write_text(f"past = true\n{text}", encoding="utf-8")
    assert cap(labels(path), "FL").lines == ("4x1.8  450", "6.4 mm")


# --- where it goes -------------------------------------------------------------------------------


def test_sides_that_differ_have_a_label_each(tmp_path):
    found = of(tmp_path, build={"front.right.hold_back": "6.6 mm"})
    assert [c.table for c in found.caps] == ["front.left", "front.right", "rear", "rear"]


def test_a_side_that_has_a_label_of_its_own_keeps_it(tmp_path):
    found = of(tmp_path, build={"front.right.label": "o450 four FR"})
    assert [c.table for c in found.caps] == ["front.left", "front.right", "rear", "rear"]


def test_pasted_lines_make_a_build_whose_labels_agree(tmp_path):
    """Each line stands once in its table, as TOML asks."""
    changes = {"front.right.hold_back": "7.9 mm", "rear.label": "o500 four", "front.label": None}
    found = of(tmp_path, build=changes)
    assert {c.agrees for c in found.caps} == {None, False}
    lines = {c.table: c.toml for c in found.caps if c.toml is not None}
    pasted = {f"{table}.label": tomli.loads(line)["label"] for table, line in lines.items()}
    assert len(pasted) == 3
    again = of(tmp_path / "again", build={**changes, **pasted})
    assert [c.agrees for c in again.caps] == [True] * 4
    assert again.mistakes == ()


# --- what it says now ----------------------------------------------------------------------------


def test_a_label_that_disagrees_says_how(tmp_path):
    found = of(tmp_path, build={"front.label": "FL o500 six 9.5"})
    assert cap(found, "FL").disagreements == (
        "names neither the oil o450 nor its viscosity, 450 cSt",
        "names neither the piston four nor its holes, 4 x 1.8 mm",
    )
    assert (cap(found, "FL").agrees, cap(found, "RL").agrees) == (False, True)
    text = labels_text(found)
    assert "2 of 4 caps disagree: FL, FR." in text
    which = (
        'DISAGREES: the label is "FL o500 six 9.5", which names neither the oil o450 nor its '
        "viscosity, 450 cSt; names neither the piston four nor its holes, 4 x 1.8 mm"
    )
    assert which in " ".join(text.split())


def test_without_a_label_nothing_agrees_or_disagrees(tmp_path):
    found = of(tmp_path, build={"front.label": None})
    assert (cap(found, "FL").written, cap(found, "FL").agrees) == (None, None)
    assert "No label in the build file: FL, FR." in labels_text(found)
    assert "All caps agree" not in labels_text(found)


def test_a_label_over_a_refused_reading_is_not_checked(tmp_path):
    found = of(tmp_path, parts={"oil.o450.viscosity": "450 cTs"})
    one = cap(found, "FL")
    assert (one.agrees, one.not_checked) == (None, ("viscosity of oil o450",))
    assert "not checked, needs viscosity of oil o450" in labels_text(found)
    assert "Not checked: FL, FR, RL, RR." in labels_text(found)
    found = of(tmp_path / "b", build={"front.left.hold_back": "6.4 mn"})
    assert (cap(found, "FL").agrees, cap(found, "FL").missing) == (True, ("hold_back",))


def test_the_rule_says_the_same_in_words(tmp_path):
    """One label for both sides, and a finding for each that it disagrees with."""
    build = {"front.left.label": "450 4x1.8", "front.right.label": "450 3x1.8"}
    path = build_path(repository(tmp_path, build=build))
    (finding,) = (f for f in inspect_team(path).findings if f.rule == "bench/label")
    assert (finding.subject, finding.verdict) == ("front.right", "fails")
    assert finding.message == (
        'the label "450 3x1.8" names neither the piston four nor its holes, 4 x 1.8 mm'
    )
    path = build_path(repository(tmp_path / "b", build={"front.label": "o500 four"}))
    (finding,) = (f for f in inspect_team(path).findings if f.rule == "bench/label")
    assert (finding.subject, finding.message) == (
        "front",
        'the label "o500 four" names neither the oil o450 nor its viscosity, 450 cSt',
    )
    path = build_path(repository(tmp_path / "c", build={"front.label": None}))
    (finding,) = (f for f in inspect_team(path).findings if f.rule == "bench/label")
    assert (finding.verdict, finding.missing) == ("not checked", ("label",))


def test_the_figure_stands_for_each_side_where_they_differ(tmp_path):
    build = {"front.right.label": "o500 four"}
    found = figures(build_path(repository(tmp_path, build=build)))
    values = {f.subject: f.value for f in found.figures if f.measure == "label_agrees"}
    assert values == {"front.left": "yes", "front.right": "no", "rear": "yes"}


# --- builds that are not there -------------------------------------------------------------------


def test_a_build_is_found_by_its_id_and_refused_with_the_nearest(tmp_path, monkeypatch):
    monkeypatch.chdir(repository(tmp_path))
    assert labels("heron-quarry") == labels(build_path(tmp_path))
    with pytest.raises(PathError, match='did you mean "heron-quarry"'):
        labels("heron-qarry")


# --- reports -------------------------------------------------------------------------------------


def test_the_report_is_read_at_the_bench(tmp_path):
    build = {"front.label": "o500 four", "rear.right.hold_back": "9.8 mm"}
    assert labels_text(of(tmp_path, build=build)) == (
        """heron-quarry  car heron, event quarry

  FL and FR   front left and right
      | 4x1.8  450
      | 6.4 mm
      DISAGREES: the label is "o500 four", which names neither the oil o450 nor
      its viscosity, 450 cSt
      for the build file, in front:
      label = "4x1.8  450  6.4 mm"

  RL   rear left
      | 4x1.8  450
      | 9.5 mm
      the label is "o450 four": agrees
      for the build file, in rear.left:
      label = "4x1.8  450  9.5 mm"

  RR   rear right
      | 4x1.8  450
      | 9.8 mm
      the label is "o450 four": agrees
      for the build file, in rear.right:
      label = "4x1.8  450  9.8 mm"

2 of 4 caps disagree: FL, FR. Find out which is right before you write a label
again or paste a line: the damper, or the build file (buildlint rulebook
bench/label).
Holes and their size in mm, cSt at 25 degC, then the hold-back. The corner
stands apart.
"""
    )


def test_a_report_fits_its_width_but_for_the_line_to_paste(tmp_path):
    build = {"front.label": "o500 " * 30, "front.piston": "p" * 60, "event": None}
    text = labels_text(of(tmp_path, build=build))
    assert "no event" in text
    long = [line for line in text.splitlines() if len(line) > 80]
    assert all(line.startswith("      label = ") or "p" * 60 in line for line in long)


def test_json_has_every_cap_whole(tmp_path):
    found = of(tmp_path, build={"front.label": None})
    document = json.loads(labels_json(found))
    assert (document["format"], document["build"]) == (2, "heron-quarry")
    assert [c["code"] for c in document["caps"]] == ["FL", "FR", "RL", "RR"]
    first = document["caps"][0]
    assert first["lines"] == ["4x1.8  450", "6.4 mm"]
    assert (first["written"], first["agrees"], first["disagreements"]) == (None, None, [])
    assert document["mistakes"] == []
    # a corner is what every other document calls a subject
    assert [c["subject"] for c in document["caps"]] == [c["corner"] for c in document["caps"]]


def test_json_says_what_keeps_a_cap_from_being_known(tmp_path):
    document = json.loads(labels_json(of(tmp_path, build={"front.oil": "o45"})))
    (mistake,) = document["mistakes"]
    assert "heron-quarry.build.toml:" in mistake and "o45" in mistake


def test_hostile_text_steers_no_terminal(tmp_path):
    # as TOML and JSON write them alike
    evil = '\u001b[2J"\\ \u202e<b>\u2028'
    build = {"front.oil": evil, "front.piston": evil[::-1], "rear.label": evil}
    found = of(tmp_path, build=build)
    for line in labels_text(found).split("\n"):
        assert line.isprintable()
    assert all(line.isprintable() for c in found.caps for line in c.lines)
    line = cap(found, "FL").toml
    assert line is not None and line.isprintable()
    assert tomli.loads(line)["label"] == f"{evil[::-1]}  {evil}  6.4 mm"
    assert json.loads(labels_json(found))["caps"][2]["written"] == evil


# --- whatever is inside --------------------------------------------------------------------------


@FEW
@given(
    st.integers(1, 8), st.integers(100, 300), st.integers(50, 20_000), st.sampled_from([15, 25, 40])
)
def test_the_label_proposed_agrees_whatever_is_inside(count, size, cst, at):
    with tempfile.TemporaryDirectory() as folder:
        parts = {
            "piston.four.holes": f"{count} x {size / 100} mm",
            "oil.o450.viscosity": f"{cst} cSt",
            "oil.o450.at": f"{at} degC",
        }
        one = cap(of(Path(folder), parts=parts), "FL")
        assert one.label is not None
        again = of(Path(folder) / "again", parts=parts, build={"front.label": one.label})
        assert cap(again, "FL").agrees


@pytest.mark.parametrize(
    ("name", "text", "error"),
    [
        ("buildlint.toml", "= broken", SettingsError),
        ("buildlint.toml", '[change."pair/lenght"]\nleave_out = true\n', SettingsError),
        ("rules/own/short.toml", 'level = "must"\n', RulebookError),
    ],
)
def test_settings_and_rules_that_cannot_be_used_are_refused_as_elsewhere(
    tmp_path, name, text, error
):
    root = repository(tmp_path)
    (root / name).parent.mkdir(parents=True, exist_ok=True)
    (root / name).write_text(text, encoding="utf-8")
    with pytest.raises(error) as caught:
        labels(build_path(root))
    with pytest.raises(error) as elsewhere:
        figures(build_path(root))
    assert str(caught.value) == str(elsewhere.value)

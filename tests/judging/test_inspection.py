"""The main job: which builds paths mean, where findings stand, and what is counted."""

from __future__ import annotations

import copy
import datetime
import os
import pickle
from itertools import permutations
from math import pi, sqrt
from pathlib import Path
from typing import Any

import pytest
import tomli

from buildlint import figures, inspect_team
from buildlint.files.models import Build
from buildlint.judging.inspection import Inspection
from buildlint.judging.inspector import inspect_build
from buildlint.judging.rulebook import Rulebook, load_rulebook
from buildlint.team.load import load_team
from buildlint.text.errors import PathError, RulebookError, SettingsError
from tests.making import build_path, close, repository, toml, write

SECOND = "second.build.toml"


def two_builds(folder: Path, **changes: Any) -> Path:
    """The sound repository with a second build, for the same car but with no event."""
    repository(folder, **changes)
    text = build_path(folder).read_text(encoding="utf-8")
    (folder / SECOND).write_text(text.replace('event = "quarry"\n', ""), encoding="utf-8")
    return folder


def ids(inspection: Inspection) -> list[str]:
    return [judged.id for judged in inspection.builds]


def told(inspection: Inspection) -> list[tuple[Any, ...]]:
    return [
        (f.rule, f.build, f.subject, f.verdict, f.condition, f.file, f.line, f.column, f.message)
        for f in inspection.findings
    ]


# --- a sound build -------------------------------------------------------------------------------


def test_a_sound_build_passes_and_everything_that_holds_is_counted(tmp_path):
    found = inspect_team([repository(tmp_path)])
    assert [f.rule for f in found.findings if f.verdict != "not checked"] == []
    assert found.passes() and found.passes(should_too=True)
    assert found.counts.builds == 1
    assert found.counts.holds > 20
    assert (found.counts.borderline, found.counts.fails, found.counts.conceded) == (0, 0, 0)


def test_counts_are_those_of_the_findings(tmp_path):
    found = inspect_team([repository(tmp_path, build={"front.left.hold_back": "0 mm"})])
    verdicts = [f.verdict for f in found.findings]
    assert found.counts.fails == verdicts.count("fails") > 0
    assert found.counts.borderline == verdicts.count("borderline")
    assert found.counts.not_checked == verdicts.count("not checked")


def test_what_holds_is_named_and_is_no_finding(tmp_path):
    """106 and 104.2 mm are 1.8 apart in front; behind, both are 121 mm long."""
    changes = {"front.right.length": "106 mm", "rear.left.rebound": None}
    (judged,) = inspect_team([repository(tmp_path, build=changes)]).builds
    assert len(set(judged.held)) == len(judged.held) == judged.counts.holds
    assert ("pair/length", "rear") in judged.held and ("pair/rebound", "front") in judged.held
    found = {(finding.rule, finding.subject) for finding in judged.findings}
    assert {("pair/length", "front"), ("pair/rebound", "rear")} <= found
    assert not found & set(judged.held)


def test_what_does_not_pass(tmp_path):
    """A must that fails; with should_too also a should that fails, or a borderline."""
    must = {"front.left.length": "104.2 mm", "front.right.length": "106 mm"}
    assert not inspect_team([repository(tmp_path / "must", build=must)]).passes()
    should = {"front.left.collar": "2 mm", "front.right.collar": "4 mm"}
    found = inspect_team([repository(tmp_path / "should", build=should)])
    assert [f.rule for f in found.findings if f.verdict == "fails"] == ["pair/collar"]
    assert found.passes() and not found.passes(should_too=True)
    # 0.4 mm apart, twice 0.1 mm of tolerance: up to 0.6, at most 0.5
    doubt = {"front.left.length": "104.2 mm", "front.right.length": "104.6 mm"}
    found = inspect_team([repository(tmp_path / "doubt", build=doubt)])
    assert [(f.rule, f.verdict) for f in found.findings] == [("pair/length", "borderline")]
    assert found.passes() and not found.passes(should_too=True)


# --- a finding, whole ----------------------------------------------------------------------------


def test_a_finding_says_all_that_the_design_lists(tmp_path, monkeypatch):
    """Front lengths 104.2 and 106 mm, each ± 0.1, are 1.8 mm apart, at most 0.5: margin -1.3.

    Uncertainty by JCGM 100:2008, 4.3.7: 0.1 mm / sqrt 3 each, independent. The place is the right
    one's, as it stands in the file.
    """
    monkeypatch.chdir(tmp_path)
    repository(tmp_path, build={"front.right.length": "106 mm"})
    (finding,) = inspect_team().findings
    assert (finding.rule, finding.level, finding.verdict) == ("pair/length", "must", "fails")
    assert (finding.build, finding.subject) == ("heron-quarry", "front")
    assert (finding.measure, finding.condition, finding.unit) == ("length", None, "mm")
    assert (finding.value, finding.margin) == pytest.approx((1.8, -1.3))
    standard = 0.1 * sqrt(2.0 / 3.0)
    found = (finding.uncertainty_up, finding.uncertainty_down)
    assert found == pytest.approx((standard, standard))
    assert [r.share for r in finding.readings] == pytest.approx([0.5, 0.5])
    assert finding.subjects == ("front.left", "front.right")
    assert finding.keys == ("front", "right", "length")
    assert finding.limit == {"same_within": pytest.approx(0.5)}
    rule = load_rulebook()["pair/length"]
    assert (finding.title, finding.cure, finding.caution) == (rule.fault, rule.cure, rule.caution)
    assert finding.file == "heron-quarry.build.toml"
    line = build_path(tmp_path).read_text(encoding="utf-8").splitlines()[finding.line - 1]
    assert line[finding.column - 1 : finding.end_column - 1] == '"106 mm"'
    assert finding.source_line == line
    assert finding.path == build_path(tmp_path)


def test_a_reading_of_a_part_is_pointed_at_in_the_drawers(tmp_path):
    found = inspect_team([repository(tmp_path, parts={"oil.o450.viscosity": "5000 cSt"})])
    findings = [f for f in found.findings if f.rule == "oil/viscosity-range"]
    assert findings
    for finding in findings:
        assert finding.path == tmp_path / "drawers.parts.toml"
        assert finding.source_line == 'viscosity = "5000 cSt"'


def test_columns_are_characters(tmp_path):
    """A column is a character, counted from 1."""
    root = repository(tmp_path)
    path = build_path(root)
    text = path.read_text(encoding="utf-8").replace('"9.5 mm"', '"95 mm"')
    path.write_text(text.replace("hold_back", '"hold_back"'), encoding="utf-8")
    finding = next(f for f in inspect_team([root]).findings if f.rule == "hold-back/in-stroke")
    line = path.read_text(encoding="utf-8").splitlines()[finding.line - 1]
    assert line[finding.column - 1 : finding.end_column - 1] == '"95 mm"'


def test_every_finding_of_a_measure_lies_in_its_file(tmp_path):
    build = {"front.left.hold_back": "0 mm", "rear.right.length": "130 mm", "front.oil": "none"}
    for finding in inspect_team([repository(tmp_path, build=build)]).findings:
        assert finding.path is not None
        lines = finding.path.read_text(encoding="utf-8").splitlines()
        assert 1 <= finding.line <= len(lines)
        assert 1 <= finding.column <= finding.end_column <= len(lines[finding.line - 1]) + 1


# --- which builds --------------------------------------------------------------------------------


def test_a_folder_means_every_build_below_it(tmp_path):
    assert ids(inspect_team([two_builds(tmp_path)])) == ["heron-quarry", "second"]


def test_a_build_means_itself_alone(tmp_path):
    two_builds(tmp_path)
    assert ids(inspect_team([tmp_path / SECOND])) == ["second"]


@pytest.mark.parametrize(
    ("changed", "judged"),
    [
        ("heron.car.toml", ["heron-quarry", "second"]),
        ("quarry.event.toml", ["heron-quarry"]),
        ("drawers.parts.toml", ["heron-quarry", "second"]),
        ("buildlint.toml", ["heron-quarry", "second"]),
    ],
)
def test_a_changed_file_judges_every_build_that_uses_it(tmp_path, changed, judged):
    """Of a car, an event, drawers, settings: whatever builds stand on it."""
    two_builds(tmp_path)
    assert ids(inspect_team([tmp_path / changed])) == judged


def test_a_changed_parts_file_judges_only_builds_that_use_a_part_of_it(tmp_path):
    two_builds(tmp_path, build={"front.spring": "other"})
    extra = toml({"spring.other": {"rate": "1 N/mm"}})
    (tmp_path / "more.parts.toml").write_text(extra, encoding="utf-8")
    text = (tmp_path / SECOND).read_text(encoding="utf-8")
    (tmp_path / SECOND).write_text(text.replace('"other"', '"soft"'), encoding="utf-8")
    assert ids(inspect_team([tmp_path / "more.parts.toml"])) == ["heron-quarry"]


def test_an_oil_that_is_only_part_of_a_blend_counts_as_used(tmp_path):
    parts = {"oil.half.blend": {"o450": "50 %", "o600": "50 %"}}
    repository(tmp_path, parts=parts, build={"front.oil": "half"})
    extra = toml({"oil.o600": {"viscosity": "600 cSt"}})
    (tmp_path / "bottles.parts.toml").write_text(extra, encoding="utf-8")
    assert ids(inspect_team([tmp_path / "bottles.parts.toml"])) == ["heron-quarry"]


def test_what_a_changed_car_does_to_a_build_is_found(tmp_path):
    """The build's own file is as sound as before: only the car's shaft does not fit the bore."""
    repository(tmp_path, parts={"shaft.thick.diameter": "15.5 mm"}, car={"front.shaft": "thick"})
    found = inspect_team([tmp_path / "heron.car.toml"])
    assert "fit/shaft-in-bore" in {f.rule for f in found.findings if f.verdict == "fails"}


@pytest.mark.parametrize("order", list(permutations(["a", "b", "c"])))
def test_paths_in_any_order_give_the_same_inspection(tmp_path, order):
    two_builds(tmp_path, build={"front.left.hold_back": "0 mm"})
    paths = {
        "a": build_path(tmp_path),
        "b": tmp_path / SECOND,
        "c": tmp_path / "heron.car.toml",
    }
    found = inspect_team([paths[key] for key in order])
    assert told(found) == told(inspect_team([tmp_path]))
    assert ids(found) == ["heron-quarry", "second"]


def test_a_path_given_twice_counts_once(tmp_path):
    repository(tmp_path)
    assert ids(inspect_team([tmp_path, build_path(tmp_path), tmp_path])) == ["heron-quarry"]


def test_two_teams_below_one_folder_are_each_judged_by_their_own_files(tmp_path):
    repository(tmp_path / "one")
    repository(tmp_path / "two", parts={"shaft.s35.diameter": "15.5 mm"})
    found = inspect_team([tmp_path])
    assert found.counts.builds == 2
    failed = {f.file.split("/")[-2] for f in found.findings if f.rule == "fit/shaft-in-bore"}
    assert failed == {"two"}


def test_a_build_that_cannot_be_read_leaves_the_counts_of_other_teams_alone(tmp_path):
    """Two teams of one sound build each; the second has a broken one besides."""
    repository(tmp_path / "one")
    repository(tmp_path / "two")
    alone = inspect_team([tmp_path]).counts
    (tmp_path / "two" / "zz.build.toml").write_text("= broken", encoding="utf-8")
    counts = inspect_team([tmp_path]).counts
    assert (counts.builds, counts.holds) == (2, alone.holds)
    assert counts.fails == 1


def test_the_working_folder_is_the_default(tmp_path, monkeypatch):
    monkeypatch.chdir(repository(tmp_path))
    found = inspect_team()
    assert ids(found) == ["heron-quarry"]
    assert found.builds[0].file == "heron-quarry.build.toml"


def test_files_are_told_as_seen_from_the_working_folder(tmp_path, monkeypatch):
    repository(tmp_path / "team", build={"front.right.length": "106 mm"})
    (tmp_path / "elsewhere").mkdir()
    monkeypatch.chdir(tmp_path / "elsewhere")
    (finding,) = inspect_team([tmp_path / "team"]).findings
    assert finding.file == "../team/heron-quarry.build.toml"


# --- what cannot be inspected --------------------------------------------------------------------


def test_a_path_that_is_not_there_is_refused(tmp_path):
    with pytest.raises(PathError, match="there is no"):
        inspect_team([tmp_path / "nowhere"])


def test_a_build_is_named_by_its_id_too(tmp_path, monkeypatch):
    monkeypatch.chdir(repository(tmp_path))
    assert [build.id for build in inspect_team(["heron-quarry"]).builds] == ["heron-quarry"]


@pytest.mark.parametrize(
    ("given", "hint"),
    [
        ("heron-quary", "; did you mean builds/heron-quarry.build.toml?"),
        ("builds/heron-quary", "; did you mean builds/heron-quarry.build.toml?"),
        ("heron-quarry.build.toml", "; did you mean builds/heron-quarry.build.toml?"),
        ("cars/heron.car.toml", "; did you mean heron.car.toml?"),
        ("zz", ""),
    ],
)
def test_what_a_path_that_is_not_there_may_have_meant_is_named(tmp_path, monkeypatch, given, hint):
    repository(tmp_path)
    (tmp_path / "builds").mkdir()
    build_path(tmp_path).rename(build_path(tmp_path / "builds"))
    monkeypatch.chdir(tmp_path)
    with pytest.raises(PathError) as caught:
        inspect_team([given])
    assert str(caught.value) == f"there is no file or folder {given}{hint}"


def test_a_file_that_is_none_of_ours_is_refused(tmp_path):
    repository(tmp_path)
    (tmp_path / "notes.txt").write_text("", encoding="utf-8")
    with pytest.raises(PathError, match=r"notes\.txt"):
        inspect_team([tmp_path / "notes.txt"])


def test_a_folder_without_builds_is_refused(tmp_path):
    with pytest.raises(PathError, match="no builds here"):
        inspect_team([tmp_path])


def test_settings_that_cannot_be_followed_are_refused(tmp_path):
    root = repository(tmp_path)
    (root / "buildlint.toml").write_text("[rules.x]\nleave_out = true\n", encoding="utf-8")
    # until a team's own settings are followed, anything in them is refused
    with pytest.raises((SettingsError, RulebookError)):
        inspect_team([root])


def test_a_path_cannot_steer_a_terminal(tmp_path):
    with pytest.raises(PathError) as caught:
        inspect_team([tmp_path / "a\x1b[31m"])
    assert "\x1b" not in str(caught.value)


# --- mistakes in files ---------------------------------------------------------------------------


def test_a_mistake_in_a_file_is_a_finding_of_no_build(tmp_path):
    found = inspect_team([repository(tmp_path, build={"front.pistn": "four"})])
    (finding,) = found.in_files
    assert (finding.rule, finding.level, finding.verdict) == ("file/unknown-key", "must", "fails")
    assert finding.build is None
    assert finding.source_line == 'pistn = "four"'
    assert not found.passes()
    # and the rest of the build is judged all the same
    assert ids(found) == ["heron-quarry"]


def test_an_event_that_is_not_there_leaves_cold_and_hot_not_checked(tmp_path):
    """Nothing that depends on the event is counted as holding on the strength of the bench."""
    found = inspect_team([repository(tmp_path, build={"event": "qarry"})])
    assert "file/no-such-id" in {f.rule for f in found.in_files}
    for rule in ("bladder/into-body-room", "bladder/into-cap-room", "bladder/window"):
        verdicts = {f.verdict for f in found.findings if f.rule == rule}
        assert verdicts == {"not checked"}, rule


@pytest.mark.parametrize("lost", ["coldest", "hottest", "altitude"])
def test_an_event_without_one_of_its_figures_leaves_the_window_not_checked(tmp_path, lost):
    found = inspect_team([repository(tmp_path, event={lost: None})])
    assert "file/missing-key" in {f.rule for f in found.in_files}
    window = [f for f in found.findings if f.rule == "bladder/window"]
    assert {f.verdict for f in window} == {"not checked"}
    assert all(lost in " ".join(f.missing) for f in window)


def test_without_an_event_nothing_fails_but_the_bladder_is_not_checked(tmp_path):
    found = inspect_team([repository(tmp_path, build={"event": None})])
    assert found.passes(should_too=True)
    names = {f.rule for f in found.findings if f.verdict == "not checked"}
    assert "bladder/into-body-room" in names


def test_a_part_that_is_used_and_cannot_be_read_is_told_with_the_build(tmp_path):
    repository(tmp_path)
    (tmp_path / "drawers.parts.toml").write_text("[body.long\n", encoding="utf-8")
    found = inspect_team([build_path(tmp_path)])
    assert "drawers.parts.toml" in {Path(f.file).name for f in found.in_files}
    assert not found.passes()
    assert not any(f.verdict == "fails" for f in found.builds[0].findings)


def test_an_id_used_twice_is_told_in_both_files_whatever_is_inspected(tmp_path):
    repository(tmp_path)
    again = toml({"oil.o450": {"viscosity": "400 cSt"}})
    write(tmp_path, {"more/again.parts.toml": again})
    for path in (tmp_path, build_path(tmp_path), tmp_path / "more" / "again.parts.toml"):
        found = inspect_team([path])
        twice = [Path(f.file).name for f in found.in_files if f.rule == "file/id-twice"]
        assert sorted(twice) == ["again.parts.toml", "drawers.parts.toml"]


def test_findings_in_files_come_in_the_order_of_files_and_lines(tmp_path):
    build = {"front.pistn": "four", "rear.left.hold_back": "9.5 mn", "oops": "1"}
    found = inspect_team([repository(tmp_path, build=build, car={"colour": "red"})])
    places = [(f.file, f.line, f.column) for f in found.in_files]
    assert len(places) == 4
    assert places == sorted(places)


def test_nothing_is_printed(tmp_path, capsys):
    inspect_team([repository(tmp_path, build={"front.left.hold_back": "0 mm"})])
    assert capsys.readouterr() == ("", "")


def test_nothing_outside_the_root_is_read(tmp_path):
    """The root is where buildlint.toml stands: parts above it are none of the team's."""
    repository(tmp_path / "team", build={"front.oil": "outside"})
    extra = toml({"oil.outside": {"viscosity": "400 cSt"}})
    (tmp_path / "above.parts.toml").write_text(extra, encoding="utf-8")
    found = inspect_team([tmp_path / "team"])
    assert "file/no-such-id" in {f.rule for f in found.in_files}


@pytest.mark.skipif(not hasattr(os, "symlink") or os.name == "nt", reason="needs links")
def test_a_link_out_of_the_root_is_not_followed(tmp_path):
    repository(tmp_path / "team")
    outside = tmp_path / "outside.parts.toml"
    outside.write_text(toml({"oil.o": {"viscosity": "4 cSt"}}), encoding="utf-8")
    (tmp_path / "team" / "in.parts.toml").symlink_to(outside)
    found = inspect_team([tmp_path / "team"])
    assert "file/unreadable" in {f.rule for f in found.in_files}


# --- to the event by air, and emulsions ----------------------------------------------------------

# At 1900 m the 9 ml of oil can free 440 mm^3 and more: past the bladder's 500 with the rest.
_FLOWN: dict[str, Any] = {"event": {"arrive_by": "air"}}


@pytest.mark.parametrize("builds", [1, 12, 13])
def test_what_was_found_can_be_handed_to_another_process(tmp_path, builds):
    """With its cures, and with the dampers of a build in which something was found.

    Of more than a dozen builds nothing is solved (buildlint/README.md).
    """
    repository(tmp_path, build={"front.left.hold_back": "0 mm", "front.right.hold_back": "0 mm"})
    text = build_path(tmp_path).read_text(encoding="utf-8")
    for number in range(1, builds):
        (tmp_path / f"b{number}.build.toml").write_text(text, encoding="utf-8")
    found = inspect_team([tmp_path])
    copy = pickle.loads(pickle.dumps(found))
    assert copy == found
    cures = [finding.cure_figures for finding in found.findings]
    assert any(cures) == (builds <= 12)
    assert [finding.cure_figures for finding in copy.findings] == cures
    assert [judged.dampers for judged in copy.builds] == [judged.dampers for judged in found.builds]
    assert found.builds[0].dampers


def test_equal_findings_are_one_in_a_set(tmp_path):
    repository(tmp_path, build={"front.right.length": "106 mm"})
    findings = [*inspect_team([tmp_path]).findings, *inspect_team([tmp_path]).findings]
    assert len(findings) == 2 and len(set(findings)) == 1


def test_a_builds_own_counts_are_of_one_build(tmp_path):
    found = inspect_team([repository(tmp_path)])
    assert [judged.counts.builds for judged in found.builds] == [found.counts.builds] == [1]


def test_a_flight_is_no_verdict(tmp_path):
    """Every car that flies could be told the same: its figure stays, to be asked for."""
    root = repository(tmp_path, **_FLOWN)
    assert inspect_team([root]).passes(should_too=True)
    line = next(f for f in figures(build_path(root)).figures if f.measure == "after_flight_use")
    assert line.value > 1.0


_POURED: dict[str, Any] = {
    "build": {
        "style": "emulsion",
        "front.air": "1.4 ml ± 3 %",
        "rear.air": "1.6 ml ± 3 %",
        "front.done": ["deburred", "greased", "threadlocked", "rod end free", "leak checked"],
        "rear.done": ["deburred", "greased", "threadlocked", "rod end free", "leak checked"],
    }
}


def test_a_sound_emulsion_passes_and_was_not_bled(tmp_path):
    found = inspect_team([repository(tmp_path, **_POURED)])
    assert found.findings == []
    assert found.passes(should_too=True)


def test_an_emulsion_without_its_air_is_a_finding_and_is_not_checked_by_it(tmp_path):
    """How much air was poured in has to be said."""
    build = {**_POURED["build"], "front.air": None}
    found = inspect_team([repository(tmp_path, build=build)])
    (missing,) = found.in_files
    assert (missing.rule, missing.message) == ("file/missing-key", "air is missing for the front")
    judged = [f for f in found.findings if f.rule == "fit/air-takes-displacement"]
    assert {(f.subject.split(".")[0], f.verdict, f.missing) for f in judged} == {
        ("front", "not checked", ("air",))
    }
    assert not found.passes()


def test_an_emulsion_with_too_little_air_fails(tmp_path):
    """The shaft takes 9.6211 * 6.4 = 61.6 mm^3 at the bench, and 18 K more 9000 * 8.992e-4 * 18 =

    145.7: 207.2 of 0.2 ml when hot (SOURCES.md, 2 and 8).
    """
    build = {**_POURED["build"], "front.air": "0.2 ml"}
    findings = inspect_team([repository(tmp_path, build=build)]).findings
    assert {f.rule for f in findings} == {"fit/air-takes-displacement"}
    for finding in findings:
        assert (finding.verdict, finding.condition) == ("fails", "hot")
        assert finding.value == pytest.approx(207.2 / 200, rel=1e-3)


def test_the_road_over_a_height_is_judged_with_the_trapped_air(tmp_path):
    """400 mm^3 at 4000 m (61640 Pa, US Standard Atmosphere 1976) are 657.2, with the rest past 250.

    Behind a sealed cap nothing grows.
    """
    changes: dict[str, Any] = {
        "event": {"highest": "4000 m", "altitude": "5 m", "hottest": "20 degC"},
        "build": {"front.air": "0.4 ml"},
        "parts": {"bladder.flat.into_body": "480 mm^3", "bladder.flat.into_cap": "250 mm^3"},
        "car": {"front.bladder": "flat"},
    }
    findings = inspect_team([repository(tmp_path / "vented", **changes)]).findings
    road = [f for f in findings if f.rule == "bladder/on-the-road"]
    assert road and {f.verdict for f in road} == {"fails"}
    # 9.6211 * 6.4 = 61.6, and 400 * (101265/61640 - 1) = 257.1 from a bench at 5 m: 318.7 of 250
    assert road[0].value == pytest.approx(318.7 / 250, rel=2e-3)
    changes["parts"] |= {"body.long.cap": "sealed", "body.long.gas": "1 ml"}
    findings = inspect_team([repository(tmp_path / "sealed", **changes)]).findings
    assert [f for f in findings if f.rule == "bladder/on-the-road"] == []


def test_what_stands_on_a_cap_that_is_in_question_is_not_checked(tmp_path):
    """Gas under a vented cap: either the gas or the cap is wrong, and nobody can tell which."""
    found = inspect_team([repository(tmp_path, parts={"body.long.gas": "900 mm^3"})])
    assert [(f.rule, f.level, f.verdict) for f in found.in_files] == [
        ("file/unread-key", "must", "fails")
    ]
    (build,) = found.builds
    room = [f for f in build.findings if f.rule == "bladder/into-cap-room"]
    assert {(f.verdict, f.missing) for f in room} == {
        ("not checked", ("cap of body long", "gas of body long"))
    }


@pytest.mark.parametrize("cap", ["vented", "sealed"])
def test_a_change_of_height_counts_for_a_vented_cap_only(tmp_path, cap):
    """Oil that is as warm at the event: only trapped air could grow, and only behind a vent.

    100 mm^3 at 3000 m (70121.2 Pa, US Standard Atmosphere 1976) are 144.5 from sea level.
    """
    uses = {}
    for height in ("0 m", "3000 m"):
        changes: dict[str, Any] = {
            "event": {"altitude": height, "coldest": "20 degC", "hottest": "20 degC"},
            "build": {"front.air": "100 mm^3", "bench.altitude": "0 m"},
            "parts": {"body.long.cap": cap},
        }
        if cap == "sealed":
            changes["parts"]["body.long.gas"] = "900 mm^3"
        root = repository(tmp_path / height, **changes)
        lines = figures(build_path(root)).figures
        wanted = ("front.left", "into_cap_need", "hot")
        (line,) = (f for f in lines if (f.subject, f.measure, f.condition) == wanted)
        assert isinstance(line.value, float)
        uses[height] = line.value
    grown = 100 * (101325 / 70121.2 - 1) if cap == "vented" else 0.0
    assert uses["3000 m"] - uses["0 m"] == pytest.approx(grown, abs=1e-3)


# --- what is refused is not judged by ------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "rules"),
    [
        ({"build": {"front.air": "2 quux"}}, {"bladder/into-cap-room", "bladder/window"}),
        ({"parts": {"oil.o450.expansion": "9 quux"}}, {"bladder/into-cap-room"}),
        ({"parts": {"piston.four.taper_to": "1 quux"}}, {"damping/cavitates"}),
        ({"build": {"front.limiter": "2 quux"}}, {"fit/limiter-in-stroke", "hold-back/in-stroke"}),
    ],
    ids=["air", "expansion", "taper", "limiter"],
)
def test_what_stands_on_a_refused_reading_is_not_checked(tmp_path, changes, rules):
    """It was given, so that it may not be taken as left out: no default stands in for it."""
    repository(tmp_path, **changes)
    found = inspect_team([tmp_path])
    verdicts = {
        (f.rule, f.subject.split(".")[0]): f.verdict for f in found.findings if f.build is not None
    }
    for rule in rules:
        assert verdicts[rule, "front"] == "not checked"


def test_a_folder_of_very_many_levels_is_walked(tmp_path):
    repository(tmp_path)
    here = tmp_path
    for _ in range(300):
        here = here / "d"
        here.mkdir()
    assert inspect_team([tmp_path]).counts.builds == 1


def test_a_file_of_very_many_mistakes_is_told_in_part(tmp_path):
    repository(tmp_path)
    build = build_path(tmp_path)
    keys = "".join(f"zz{i} = 1\n" for i in range(500))
    build.write_text(keys + build.read_text(encoding="utf-8"), encoding="utf-8")
    found = inspect_team([tmp_path]).in_files
    assert len(found) == 101
    assert found[-1].message == "400 more mistakes in this file: mend these first"


# --- concessions ---------------------------------------------------------------------------------

LAST = datetime.date(2027, 6, 30)
UNLIKE = {"front.right.length": "106 mm"}


def leave(rule: str, more: str = "", until: datetime.date = LAST) -> str:
    return f'[[concession]]\nrule = "{rule}"\nreason = "spare"\nuntil = {until}\n{more}\n'


def conceding(folder: Path, settings: str, **changes: Any) -> Path:
    repository(folder, **changes)
    (folder / "buildlint.toml").write_text(settings, encoding="utf-8")
    return folder


def brought(inspection: Inspection) -> list[tuple[Any, ...]]:
    """Give each finding but what is not judged: its rule, subject, verdict, whether conceded."""
    return [
        (f.rule, f.subject, f.verdict, f.concession is not None)
        for f in inspection.findings
        if f.verdict != "not checked"
    ]


@pytest.mark.parametrize(("on", "counts"), [(LAST, True), (LAST + datetime.timedelta(1), False)])
def test_a_concession_counts_to_the_end_of_its_last_day(tmp_path, on, counts):
    root = conceding(tmp_path, leave("pair/length"), build=UNLIKE)
    found = inspect_team([root], on=on)
    assert found.passes() is counts
    if counts:
        assert brought(found) == [("pair/length", "front", "fails", True)]
        assert (found.counts.fails, found.counts.conceded) == (0, 1)
        assert found.passes(should_too=True)
    else:
        assert brought(found) == [
            ("file/concession-expired", "", "fails", False),
            ("pair/length", "front", "fails", False),
        ]
        assert (found.counts.fails, found.counts.conceded) == (2, 0)


def test_without_a_day_it_is_today(tmp_path):
    today = datetime.date.today()
    root = conceding(tmp_path, leave("pair/length", until=today), build=UNLIKE)
    assert inspect_team([root]).counts.conceded == 1
    yesterday = today - datetime.timedelta(1)
    root = conceding(tmp_path, leave("pair/length", until=yesterday), build=UNLIKE)
    assert inspect_team([root]).counts.conceded == 0


def test_a_concession_hides_nothing_else(tmp_path):
    """1.8 mm at the front is conceded; 1 mm at the rear and another rule are not."""
    build = {**UNLIKE, "rear.right.length": "122 mm", "front.right.collar": "4 mm"}
    root = conceding(tmp_path, leave("pair/length", 'where = "front"'), build=build)
    found = inspect_team([root], on=LAST)
    assert brought(found) == [
        ("pair/length", "rear", "fails", False),
        ("pair/collar", "front", "fails", False),
        ("pair/length", "front", "fails", True),
    ]
    assert not found.passes()
    assert (found.counts.fails, found.counts.conceded) == (2, 1)


def test_a_concession_for_one_side_leaves_the_other_standing(tmp_path):
    """The runtime is shared by both sides of the front, and is told of both at once otherwise."""
    where = 'where = "front.left"'
    old = {"front.runtime": "20 h"}
    root = conceding(tmp_path, leave("record/oil-hours", where), build=old)
    found = inspect_team([root], on=LAST)
    assert brought(found) == [
        ("record/oil-hours", "front.right", "fails", False),
        ("record/oil-hours", "front.left", "fails", True),
    ]
    assert (found.counts.fails, found.counts.conceded) == (1, 1)
    assert not found.passes(should_too=True)
    whole = inspect_team([conceding(tmp_path / "b", "", build=old)], on=LAST)
    assert brought(whole) == [("record/oil-hours", "front", "fails", False)]


def test_no_mistake_in_a_file_is_conceded(tmp_path):
    root = conceding(tmp_path, leave("pair/length"), build={**UNLIKE, "front.pistn": "four"})
    found = inspect_team([root], on=LAST)
    assert [f.rule for f in found.in_files] == ["file/unknown-key"]
    assert not found.passes()


def test_a_concession_that_nothing_needs_is_a_finding_with_its_place(tmp_path, monkeypatch):
    monkeypatch.chdir(conceding(tmp_path, leave("pair/length", 'build = "heron-quarry"')))
    (found,) = inspect_team(on=LAST).in_files
    assert (found.rule, found.level, found.verdict) == ("file/concession-unused", "should", "fails")
    assert found.message == 'nothing needs the concession for pair/length of "heron-quarry"'
    assert (found.file, found.line, found.column, found.end_column) == ("buildlint.toml", 2, 8, 21)
    assert found.source_line == 'rule = "pair/length"'
    assert (found.build, found.subject) == (None, "")


def test_one_for_a_build_that_does_not_exist_is_told(tmp_path):
    root = conceding(tmp_path, leave("pair/length", 'build = "heron-quary"'), build=UNLIKE)
    found = inspect_team([root], on=LAST)
    (told_of,) = found.in_files
    assert told_of.message == 'there is no build "heron-quary"; did you mean "heron-quarry"?'
    assert not found.passes()


def test_where_only_some_builds_are_judged_nothing_is_said_of_the_others(tmp_path):
    settings = (
        leave("pair/length", 'build = "heron-quarry"')
        + leave("pair/collar")
        + leave("pair/parts", 'build = "second"')
        + leave("pair/limiter", 'build = "nowhere"')
    )
    two_builds(tmp_path)
    (tmp_path / "buildlint.toml").write_text(settings, encoding="utf-8")
    lines = {
        path: [f.line for f in inspect_team([tmp_path / path], on=LAST).in_files]
        for path in ("heron-quarry.build.toml", SECOND, "drawers.parts.toml", "quarry.event.toml")
    }
    # each concession has five lines, its rule on the second
    assert lines == {
        "heron-quarry.build.toml": [2],
        SECOND: [12],
        "drawers.parts.toml": [2, 7, 12, 17],
        "quarry.event.toml": [2],
    }


def test_one_that_may_yet_be_needed_is_not_called_unused(tmp_path):
    """The length was not read, or was refused: whether it is the same on both sides, who knows."""
    lost = {"front.right.length": None}
    root = conceding(tmp_path / "lost", leave("pair/length", 'where = "front"'), build=lost)
    assert inspect_team([root], on=LAST).in_files == []
    refused = {"front.right.length": "106 mn"}
    root = conceding(tmp_path / "refused", leave("pair/collar"), build=refused)
    assert [f.rule for f in inspect_team([root], on=LAST).in_files] == ["file/unknown-unit"]


def test_the_rules_about_concessions_can_be_off(tmp_path):
    settings = (
        '[change."file/concession-unused"]\nleave_out = true\n'
        '[change."file/concession-expired"]\nleave_out = true\n'
        + leave("pair/collar")
        + leave("pair/parts", until=datetime.date(2026, 1, 1))
    )
    found = inspect_team([conceding(tmp_path, settings)], on=LAST)
    assert found.in_files == []
    assert found.passes(should_too=True)
    assert [(c.rule, c.level) for c in found.changes] == [
        ("file/concession-expired", "must"),
        ("file/concession-unused", "should"),
    ]


def test_the_rules_about_concessions_have_the_level_that_the_team_gives_them(tmp_path):
    settings = '[change."file/concession-unused"]\nlevel = "must"\n' + leave("pair/collar")
    found = inspect_team([conceding(tmp_path, settings)], on=LAST)
    assert [(f.rule, f.level) for f in found.in_files] == [("file/concession-unused", "must")]
    assert not found.passes()


def test_each_repository_has_concessions_and_rules_of_its_own(tmp_path):
    """The team below a folder is judged by its own settings, wherever the folder's are."""
    conceding(tmp_path, leave("pair/length"), build=UNLIKE)
    conceding(tmp_path / "other", '[change."pair/length"]\nleave_out = true\n', build=UNLIKE)
    conceding(tmp_path / "third", "", build=UNLIKE)
    found = inspect_team([tmp_path], on=LAST)
    assert brought(found) == [
        ("pair/length", "front", "fails", False),
        ("pair/length", "front", "fails", True),
    ]
    assert [f.path.parent.name for f in found.findings if f.path][:1] == ["third"]
    assert [(c.rule, c.kind, c.path.parent.name) for c in found.changes] == [
        ("pair/length", "left out", "other")
    ]


def test_given_rules_take_the_place_of_the_teams_but_its_concessions_stand(tmp_path):
    settings = (
        '[change."pair/length"]\nleave_out = true\n' + leave("pair/length") + leave("pair/collar")
    )
    root = conceding(tmp_path, settings, build=UNLIKE)
    book = load_rulebook()
    found = inspect_team([root], rulebook=book, on=LAST)
    assert ("pair/length", "front", "fails", True) in brought(found)
    assert found.changes == []
    # a concession for a rule that is not among those given is passed over
    some = Rulebook({i: book[i] for i in ("pair/length", "file/concession-unused")})
    found = inspect_team([root], rulebook=some, on=LAST)
    assert brought(found) == [("pair/length", "front", "fails", True)]
    assert found.rules == some.rules


# --- rules of the team's own ---------------------------------------------------------------------


def test_a_rule_of_the_teams_own_is_judged_and_solved_for(tmp_path):
    """A collar of 2 mm at the front and 3 mm at the rear, each ± 0.1, at most 2.5 mm: 2.4 holds."""
    repository(tmp_path)
    (tmp_path / "rules").mkdir()
    (tmp_path / "rules" / "low.toml").write_text(
        'title = "Low"\nlevel = "must"\nmeasure = "collar"\nat_most = "2.5 mm"\nsource = "ours"\n'
        'why = "w"\ncure = "c"\nturn = ["collar"]\n',
        encoding="utf-8",
    )
    found = inspect_team([tmp_path])
    (finding,) = (f for f in found.findings if f.verdict != "not checked")
    assert (finding.rule, finding.subject, finding.verdict) == ("low", "rear", "fails")
    (figure,) = finding.cure_figures
    # a builder sets it by halves of a millimetre; 2.5 ± 0.1 is kept in half of all cases
    assert (figure.reading, figure.at_most) == ("collar", pytest.approx(2.0))
    assert found.rules["low"].title == "Low"


def test_a_changed_limit_is_judged_by_and_solved_for(tmp_path):
    """106 against 104.2 mm, each ± 0.1, is 1.8 mm apart: 1.9 is 1.2 standard uncertainties off."""
    for limit, verdict in (("1.5 mm", "fails"), ("1.9 mm", "borderline"), ("2.1 mm", None)):
        root = conceding(
            tmp_path, f'[change."pair/length"]\nsame_within = "{limit}"\n', build=UNLIKE
        )
        verdicts = [f.verdict for f in inspect_team([root]).findings if f.rule == "pair/length"]
        assert verdicts == ([verdict] if verdict else [])


# --- progress ------------------------------------------------------------------------------------


def test_progress_is_told_before_builds_are_judged(tmp_path):
    told_of: list[tuple[int, int]] = []
    inspect_team([two_builds(tmp_path)], progress=lambda done, of: told_of.append((done, of)))
    assert told_of == [(0, 2)]


# --- a build in memory ---------------------------------------------------------------------------


def table(folder: Path) -> dict[str, Any]:
    """Give the sound build as a table."""
    return tomli.loads(build_path(folder).read_text(encoding="utf-8"))


@pytest.fixture
def team(tmp_path):
    return load_team(repository(tmp_path))


def test_a_table_and_a_model_are_judged_as_a_file_is(team):
    build_path(team.root).write_text(
        build_path(team.root).read_text(encoding="utf-8").replace("104.2 mm", "106 mm", 1),
        encoding="utf-8",
    )
    of_file = inspect_team([build_path(team.root)])
    given = table(team.root)
    for build in (given, Build.model_validate(given)):
        found = inspect_build(build, team, name="another")
        assert found.counts == of_file.counts
        assert [(f.rule, f.subject, f.message) for f in found.findings] == [
            (f.rule, f.subject, f.message) for f in of_file.findings
        ]
        assert next((f.build, f.file) for f in found.findings) == (
            "another",
            Path(os.path.relpath(team.root / "another.build.toml")).as_posix(),
        )
    assert not (team.root / "another.build.toml").exists()


def test_a_table_has_no_lines_but_keys(team):
    build = table(team.root)
    build["front"]["left"]["length"] = "106 mm"
    (found,) = inspect_build(build, team).findings
    assert (found.line, found.column, found.end_column, found.source_line) == (1, 1, 1, "")
    assert found.keys == ("front", "right", "length")


def test_mistakes_in_the_build_are_findings(team):
    build = table(team.root)
    build["hold"] = 1
    build["front"]["hold_back"] = object()
    build["bench"]["on"] = datetime.datetime(2027, 6, 5, 12)
    build["car"] = "hern"
    found = inspect_build(build, team)
    assert [(f.rule, f.message) for f in found.in_files] == [
        ("file/no-such-id", 'there is no car "hern"; did you mean "heron"?'),
        ("file/not-a-reading", 'front.hold_back: a reading belongs here, such as "6.4 mm"'),
        (
            "file/unknown-key",
            '"hold" is not a key known here; the keys are car, event, like, past, style, bench, '
            "front, rear, note",
        ),
        ("file/wrong-kind", "bench.on: a date without quotes belongs here, such as 2027-03-14"),
    ]
    assert not found.passes()


def test_a_mistake_in_a_table_says_by_its_keys_where_it_is(team):
    """A table has no lines."""
    build = table(team.root)
    build["rear"]["left"]["hold_back"] = "9.5"
    build["front"]["right"]["oil"] = "none"
    found = inspect_build(build, team).in_files
    assert [f.message.partition(":")[0] for f in found] == [
        "front.right.oil",
        "rear.left.hold_back",
    ]
    assert [(f.line, f.column) for f in found] == [(1, 1), (1, 1)]


def test_the_callers_table_and_team_are_left_as_they_were(team):
    build = table(team.root)
    build["pistn"] = 1
    before = copy.deepcopy(build)
    inspect_build(build, team, name="another")
    assert build == before
    assert list(team.builds) == ["heron-quarry"]


def test_the_name_of_a_build_of_the_team_stands_in_its_place(tmp_path):
    """Wherever its file lies: it is no second build of that name."""
    repository(tmp_path)
    (tmp_path / "builds").mkdir()
    home = build_path(tmp_path).rename(tmp_path / "builds" / "heron-quarry.build.toml")
    build = tomli.loads(home.read_text(encoding="utf-8"))
    build["front"]["left"]["length"] = "106 mm"
    found = inspect_build(build, load_team(tmp_path), name="heron-quarry")
    assert [(f.rule, f.path) for f in found.findings] == [("pair/length", home)]


def test_settings_of_the_team_count_and_only_for_this_build(tmp_path):
    settings = (
        leave("pair/length", 'build = "tried"')
        + leave("pair/collar", 'build = "heron-quarry"')
        + leave("pair/parts", 'build = "tried"')
        + '[change."pair/limiter"]\nleave_out = true\n'
    )
    root = conceding(tmp_path, settings)
    build = table(root)
    build["front"]["left"]["length"] = "106 mm"
    found = inspect_build(build, load_team(root), name="tried", on=LAST)
    assert brought(found) == [
        ("file/concession-unused", "", "fails", False),
        ("pair/length", "front", "fails", True),
    ]
    assert found.in_files[0].message == 'nothing needs the concession for pair/parts of "tried"'
    assert [c.rule for c in found.changes] == ["pair/limiter"]


@pytest.mark.parametrize("name", ["", ".x", "a/b", "../x", "a\nb", "\x1b[31m", "\ud800"])
def test_a_name_that_cannot_be_an_id_is_refused(team, name):
    with pytest.raises(PathError, match="cannot be the name of a build") as caught:
        inspect_build({}, team, name=name)
    assert str(caught.value).isprintable()


@pytest.mark.parametrize("build", [b"car = 1", ["car"], 4, None])
def test_what_is_neither_path_nor_table_is_no_build(team, build):
    with pytest.raises(TypeError, match="a build is a path, an id, a Build, or a table"):
        inspect_build(build, team)


def test_a_folder_that_may_not_be_looked_into_is_found(tmp_path, monkeypatch):
    """What it holds is not known: a build in it would go unjudged, and nobody would be told."""
    repository(tmp_path)
    write(tmp_path, {"old/builds/x.build.toml": "car = 1"})
    close(monkeypatch, tmp_path / "old" / "builds")
    found = inspect_team([tmp_path])
    assert [(f.rule, f.file, f.message) for f in found.findings if f.verdict == "fails"] == [
        (
            "file/unreadable",
            Path(os.path.relpath(tmp_path / "old" / "builds")).as_posix(),
            "is a folder that may not be looked into, or is more than 64 folders deep: "
            "nothing in it was judged",
        )
    ]
    assert ids(found) == ["heron-quarry"]
    assert not found.passes()


@pytest.mark.parametrize("above", [(), ("front",), ("front", "left")])
def test_half_of_a_character_as_a_key_is_a_key_not_known(team, above):
    build: dict[str, Any] = {"\ud800": 1}
    for key in reversed(above):
        build = {key: build}
    found = [f for f in inspect_build(build, team).findings if f.rule == "file/unknown-key"]
    assert len(found) == 1
    assert found[0].message.startswith('"\\ud800" is not a key known ')


def test_of_many_builds_the_sound_ones_are_counted_and_let_go(tmp_path):
    """Fourteen builds, one of them wrong; what would mend it is looked for when it is alone."""
    repository(tmp_path)
    text = build_path(tmp_path).read_text(encoding="utf-8")
    for number in range(12):
        (tmp_path / f"b{number}.build.toml").write_text(text, encoding="utf-8")
    wrong = text.replace('hold_back = "6.4 mm"', 'hold_back = "0 mm"')
    (tmp_path / "wrong.build.toml").write_text(wrong, encoding="utf-8")
    found = inspect_team([tmp_path])
    assert found.counts.builds == 14
    few = inspect_team([build_path(tmp_path), tmp_path / "b0.build.toml"])
    assert all(len(judged.dampers) == 4 for judged in few.builds)
    # each is judged as it is by itself
    for judged in few.builds:
        assert judged.counts == next(b.counts for b in found.builds if b.id == judged.id)
    assert not any(f.cure_figures or f.no_figure for f in found.findings)
    (alone,) = inspect_team([tmp_path / "wrong.build.toml"]).builds
    assert any(f.cure_figures for f in alone.findings)


# --- what no script should give ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("given", "error", "said"),
    [
        ({"on": "2027-06-05"}, TypeError, "on is a day without a time, such as"),
        ({"on": datetime.datetime(2027, 6, 5)}, TypeError, "on is a day without a time, such as"),
        ({"rulebook": "rules"}, TypeError, "a rulebook is what load_rulebook gives"),
        ({"rulebook": {}}, TypeError, "a rulebook is what load_rulebook gives"),
    ],
)
def test_an_argument_of_another_kind_is_told_in_our_words(tmp_path, given, error, said):
    root = repository(tmp_path)
    with pytest.raises(error, match=f"^{said}"):
        inspect_team(root, **given)
    with pytest.raises(error, match=f"^{said}"):
        inspect_build(table(root), load_team(root), **given)


def test_a_team_is_no_path(tmp_path):
    root = repository(tmp_path)
    with pytest.raises(TypeError, match=r"^a team is what load_team gives$"):
        inspect_build(table(root), root)


@pytest.mark.parametrize(
    "build", ["bad/bladder.into-cap-room", "should/bladder.into-cap-room.borderline"]
)
def test_what_the_rebound_shows_is_no_second_finding_on_a_full_cap(build: str):
    examples = Path(__file__).parent.parent.parent / "examples"
    found = inspect_team([examples / f"{build}.build.toml"])
    rebound = [f for f in found.findings if f.measure == "rebound_use"]
    assert "bladder/into-cap-room" in {f.rule for f in found.findings}
    assert [f.verdict for f in rebound] == []


def test_what_the_rebound_shows_is_told_with_the_full_cap():
    """Area times 60 % of 28 mm, and 9.1 ml that grow by beta less three alpha, in 190 mm^3."""
    examples = Path(__file__).parent.parent.parent / "examples"
    found = inspect_team([examples / "bad/bladder.into-cap-room.build.toml"])
    (finding,) = (f for f in found.findings if f.rule == "bladder/into-cap-room")
    need = pi / 4 * 3.5**2 * 0.6 * 28 + 9_100 * (9.7e-4 - 3 * 23.6e-6) * 20
    assert f"The rebound shows more: {need / 190 * 100:.0f} % when hot" in finding.message


def test_what_the_rebound_shows_is_a_finding_where_the_cap_would_hold():
    """Area times 72 % of 34 mm, and 10.7 ml that grow by beta less three alpha, in 460 mm^3."""
    examples = Path(__file__).parent.parent.parent / "examples"
    found = inspect_team([examples / "should/bladder.rebound-room.build.toml"])
    (finding,) = (f for f in found.findings if f.measure == "rebound_use")
    need = pi / 4 * 3.5**2 * 0.72 * 34 + 10_700 * (9.7e-4 - 3 * 23.6e-6) * 26
    assert (finding.subject, finding.verdict, finding.condition) == ("rear", "fails", "hot")
    assert finding.value == pytest.approx(need / 460, abs=1e-3)

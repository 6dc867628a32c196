"""JUnit XML against the schema of a build server's plug-in, the strictest of its readers.

The form has no standard. `junit-10.xsd` is what that plugin checks results against before it takes
them (MIT licence, at its head); the source package of pytest 9.2 on PyPI carries it, to check its
own results. What it leaves open, that the counts are those of the tests, is checked here.
"""

from __future__ import annotations

import copy
import datetime
import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

import pytest
import xmlschema
from hypothesis import given

from buildlint import inspect_team
from buildlint.judging.finding import Finding
from buildlint.judging.inspection import Inspection
from buildlint.reports.junit import inspection_junit
from buildlint.text.words import clean
from tests.making import FEW, build_path, repository, write
from tests.reports.hostile import inspections

ROOT = Path(__file__).parents[2]
ON = datetime.date(2027, 6, 5)
SCHEMA = xmlschema.XMLSchema(Path(__file__).with_name("junit-10.xsd"))
FORMS = ("failure", "skipped", "system-out")


def read(inspection: Inspection, should_too: bool = False, everything: bool = False) -> Element:
    """Give the report as read again, checked by the schema and for its counts."""
    text = inspection_junit(inspection, should_too, everything)
    assert text.startswith('<?xml version="1.0" encoding="UTF-8"?>\n') and text.isascii()
    root = ElementTree.fromstring(text)
    SCHEMA.validate(root)
    check(root)
    return root


def check(root: Element) -> None:
    """Check what the schema leaves open: counts, and that each test is one of its own."""
    named = [(test.get("classname"), test.get("name")) for test in root.iter("testcase")]
    assert all(classname and name for classname, name in named)
    assert len(root.findall("testsuite")) == len(root)
    for suite in root:
        tests = suite.findall("testcase")
        outcomes = [[child.tag for child in test] for test in tests]
        # one outcome each, or none
        assert all(len(tags) <= 1 and set(tags) <= set(FORMS) for tags in outcomes)
        assert int(suite.attrib["tests"]) == len(tests)
        assert int(suite.attrib["failures"]) == outcomes.count(["failure"])
        assert int(suite.attrib["skipped"]) == outcomes.count(["skipped"])
        assert suite.attrib["errors"] == "0"
    for key in ("tests", "failures", "errors"):
        assert int(root.attrib[key]) == sum(int(suite.attrib[key]) for suite in root)


def suite_of(root: Element, name: str) -> Element:
    (found,) = (suite for suite in root if suite.get("name") == name)
    return found


def case_of(suite: Element, name: str) -> Element:
    (found,) = (test for test in suite.iter("testcase") if test.get("name") == name)
    return found


def numbers(suite: Element) -> tuple[int, int, int]:
    """Give how many tests there are, how many fail and how many are skipped."""
    tests, failures, skipped = (int(suite.attrib[k]) for k in ("tests", "failures", "skipped"))
    return tests, failures, skipped


# --- the form ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"build": {"event": None, "front.right.length": "106 mm", "rear.pistn": "four"}},
        {"parts": {"bladder.deep.into_cap": None}},
    ],
    ids=["sound", "mistakes", "unmeasured"],
)
@pytest.mark.parametrize("should_too", [False, True])
def test_every_judgement_is_a_test_of_its_corners(tmp_path, monkeypatch, changes, should_too):
    monkeypatch.chdir(repository(tmp_path, **changes))
    inspection = inspect_team(["."])
    suite = suite_of(read(inspection, should_too, everything=True), "heron-quarry")
    names = {test.attrib["name"] for test in suite}
    assert len(names) == len(suite) > 30
    judged = {(f.rule, f.subject) for f in inspection.every if f.build is not None}
    assert {name.split()[0] for name in names} == {rule for rule, _ in judged}
    if not changes:
        assert "pair/length front" in names and "fit/shaft-in-bore rear.left" in names


def test_a_test_goes_by_one_name_whatever_is_read(tmp_path, monkeypatch):
    """With readings that are alike on both sides, and with others."""
    monkeypatch.chdir(tmp_path)
    found = []
    for build in ({}, {"front.left.hold_back": "6.0 mm", "rear.right.rebound": "55 %"}):
        repository(tmp_path, build=build)
        suite = suite_of(read(inspect_team(["."]), everything=True), "heron-quarry")
        found.append({test.attrib["name"] for test in suite})
    assert found[0] == found[1]


@pytest.mark.parametrize("folder", ["bad", "should", "saltmarsh"])
def test_the_examples_are_of_the_form(folder):
    inspection = inspect_team([ROOT / "examples" / folder], on=ON)
    root = read(inspection)
    assert (int(root.attrib["failures"]) > 0) == (folder == "bad")
    assert (int(root.attrib["failures"]) == 0) == inspection.passes()
    should_too = int(read(inspection, should_too=True).attrib["failures"])
    assert (should_too == 0) == inspection.passes(should_too=True)


@pytest.mark.parametrize(
    "spoil",
    [
        lambda root: root[0].attrib.pop("tests"),
        lambda root: root[1][0].attrib.pop("name"),
        lambda root: root[1][0].set("line", "4"),
        lambda root: root[1][0].append(Element("passed")),
        lambda root: root.append(Element("testcase", name="astray")),
    ],
)
def test_the_schema_refuses_what_it_should(tmp_path, spoil: Callable[[Any], Any]):
    """So that the other tests can fail."""
    root = copy.deepcopy(read(inspect_team([repository(tmp_path)])))
    assert SCHEMA.is_valid(root)
    spoil(root)
    assert not SCHEMA.is_valid(root)


@pytest.mark.parametrize("key", ["tests", "failures", "skipped"])
def test_a_wrong_count_is_noticed(tmp_path, key):
    root = read(inspect_team([repository(tmp_path)]))
    root[1].set(key, "99")
    with pytest.raises(AssertionError):
        check(root)


# --- what it says --------------------------------------------------------------------------------


def test_a_must_that_fails_is_a_failure_with_its_place_and_its_cure(tmp_path, monkeypatch):
    """106 and 104.2 mm are 1.8 mm apart."""
    folder = repository(tmp_path, build={"front.right.length": "106 mm"})
    line = next(
        number
        for number, text in enumerate(build_path(folder).read_text("utf-8").splitlines(), 1)
        if "106 mm" in text
    )
    monkeypatch.chdir(folder)
    inspection = inspect_team(["."])
    suite = suite_of(read(inspection), "heron-quarry")
    assert suite.get("file") == "heron-quarry.build.toml"
    test = case_of(suite, "pair/length front")
    assert test.get("classname") == "heron-quarry"
    (failure,) = test
    assert (failure.tag, failure.get("type")) == ("failure", "pair/length")
    assert "1.8 mm apart" in failure.attrib["message"]
    text = failure.text or ""
    assert f'heron-quarry.build.toml:{line}:10   length = "106 mm"' in text.splitlines()
    assert inspection.findings[0].cure in text
    assert not list(case_of(suite, "pair/length rear"))


def test_a_should_that_fails_or_a_borderline_must_passes_and_is_told_unless_asked(
    tmp_path, monkeypatch
):
    """75 and 60 % are 15 apart, at most 10; 104.65 and 104.2 mm are 0.45 apart, at most 0.5,
    each read to 0.1.
    """
    build = {"front.right.rebound": "75 %", "front.right.length": "104.65 mm"}
    monkeypatch.chdir(repository(tmp_path, build=build))
    inspection = inspect_team(["."])
    for should_too, tag in ((False, "system-out"), (True, "failure")):
        suite = suite_of(read(inspection, should_too), "heron-quarry")
        (should,) = case_of(suite, "pair/rebound front")
        (borderline,) = case_of(suite, "pair/length front")
        assert (should.tag, borderline.tag) == (tag, tag)
        assert "fails (should): front" in (should.text or "")
        assert "borderline (must): front" in (borderline.text or "")


def test_what_is_not_checked_is_skipped_for_what_is_missing_where_all_is_asked_for(
    tmp_path, monkeypatch
):
    monkeypatch.chdir(repository(tmp_path, build={"rear.left.rebound": None}))
    inspection = inspect_team(["."])
    unasked = suite_of(read(inspection), "heron-quarry")
    assert "pair/rebound rear" not in {test.get("name") for test in unasked}
    suite = suite_of(read(inspection, should_too=True, everything=True), "heron-quarry")
    (skipped,) = case_of(suite, "pair/rebound rear")
    assert skipped.tag == "skipped"
    assert skipped.get("message") == "not checked: needs rebound"
    assert not list(case_of(suite, "pair/rebound front"))


def test_what_is_conceded_is_skipped_with_its_reason_and_its_last_day(monkeypatch):
    """A should fails beside it."""
    monkeypatch.chdir(ROOT / "examples/should")
    inspection = inspect_team(["pair.rebound.conceded.build.toml"], on=ON)
    suite = suite_of(read(inspection), "pair.rebound.conceded")
    assert numbers(suite)[1:] == (0, 1)
    suite_if_asked = suite_of(read(inspection, should_too=True), "pair.rebound.conceded")
    assert numbers(suite_if_asked)[1:] == (1, 1)
    (skipped,) = case_of(suite, "pair/length front")
    reason = "conceded until 2027-06-30: the right one is the spare; its twin is on order"
    assert (skipped.tag, skipped.get("message")) == ("skipped", reason)


def test_leave_that_is_over_is_a_failure_again(monkeypatch):
    monkeypatch.chdir(ROOT / "examples/should")
    build = "pair.rebound.conceded.build.toml"
    root = read(inspect_team([build], on=datetime.date(2027, 7, 1)))
    (failure,) = case_of(suite_of(root, "pair.rebound.conceded"), "pair/length front")
    assert failure.tag == "failure"


def test_a_mistake_in_a_file_is_a_failure_of_the_files(tmp_path, monkeypatch):
    path = build_path(repository(tmp_path, build={"rear.pistn": "four"}))
    monkeypatch.chdir(tmp_path)
    root = read(inspect_team(["."]))
    assert root[0].get("name") == "files"
    (test,) = root[0]
    assert test.get("classname") == "heron-quarry.build.toml"
    assert test.attrib["name"] == "file/unknown-key"
    assert [child.tag for child in test] == ["failure"]
    # it goes by the same name after lines were moved
    path.write_text("# moved\n" + path.read_text("utf-8"), "utf-8")
    (moved,) = read(inspect_team(["."]))[0]
    assert moved.attrib == test.attrib


def test_files_without_a_mistake_are_one_test_that_passes(tmp_path):
    root = read(inspect_team([repository(tmp_path)]))
    assert numbers(root[0]) == (1, 0, 0)
    assert root[0][0].get("name") == "no mistake in how files are written"


def test_files_alone_are_told_of_without_builds(tmp_path):
    write(tmp_path, {"a.parts.toml": "[oil.x]\nviscosity = 5\n"})
    root = read(inspect_team([tmp_path]))
    assert [suite.get("name") for suite in root] == ["files"]
    assert numbers(root[0]) == (1, 1, 0)


def test_a_sound_file_that_no_build_uses_is_one_test_that_passes(tmp_path):
    write(tmp_path, {"a.parts.toml": '[oil.x]\nviscosity = "450 cSt"\n'})
    inspection = inspect_team([tmp_path / "a.parts.toml"])
    assert inspection.looked_at == 1 and not inspection.in_files
    assert numbers(suite_of(read(inspection), "files")) == (1, 0, 0)


def test_two_mistakes_that_read_the_same_are_two_tests():
    mistake = Finding("file/no-unit", "t", "must", "fails", "no unit", "a.parts.toml")
    names = [test.get("name") for test in read(Inspection(in_files=[mistake, mistake]))[0]]
    assert names == ["file/no-unit", "file/no-unit (2)"]


def test_nothing_looked_at_is_no_test():
    assert len(read(Inspection())) == 0


def test_builds_go_by_their_files(tmp_path, monkeypatch):
    for name in ("a", "b"):
        repository(tmp_path / name, build={"front.right.length": "106 mm"})
    monkeypatch.chdir(tmp_path)
    root = read(inspect_team(["."]))
    assert [suite.get("name") for suite in root] == [
        "files",
        "a/heron-quarry",
        "b/heron-quarry",
    ]
    named = [(test.get("classname"), test.get("name")) for test in root.iter("testcase")]
    assert len(set(named)) == len(named)


def test_a_rule_that_is_left_out_is_skipped_and_every_change_is_told(tmp_path, monkeypatch):
    settings = '[change."pair/length"]\nleave_out = true\n[change."pair/rebound"]\nlevel = "must"\n'
    write(repository(tmp_path), {"buildlint.toml": settings})
    monkeypatch.chdir(tmp_path)
    root = read(inspect_team(["."]))
    suite = suite_of(root, "the team's rules")
    assert numbers(suite) == (1, 0, 1)
    (skipped,) = case_of(suite, "pair/length (buildlint.toml)")
    assert skipped.get("message") == "left out by the team"
    assert (suite.findtext("system-out") or "").splitlines() == [
        "buildlint.toml:1:2: pair/length, which came as a must: left out",
        "buildlint.toml:3:2: pair/rebound, which came as a should: a must, but it came as a should",
    ]
    names = {test.attrib["name"] for test in suite_of(root, "heron-quarry")}
    assert "pair/rebound front" in names and "pair/length front" not in names


def test_a_rule_that_does_not_speak_of_a_build_is_no_test_of_it(tmp_path, monkeypatch):
    """An emulsion damper has no bladder: none of the group bladder/ is passed."""
    monkeypatch.chdir(tmp_path)
    build = {"style": "emulsion", "front.air": "1 ml", "rear.air": "1 ml"}
    repository(tmp_path, build=build)
    root = read(inspect_team(["heron-quarry.build.toml"]))
    names = [test.attrib["name"] for test in suite_of(root, "heron-quarry")]
    assert not any(name.startswith("bladder/into-body-room") for name in names)
    repository(tmp_path / "other")
    sound = read(inspect_team(["other"]))
    names = [test.attrib["name"] for test in suite_of(sound, "other/heron-quarry")]
    assert any(name.startswith("bladder/into-body-room") for name in names)


def test_the_same_findings_give_the_same_report(tmp_path):
    folder = repository(tmp_path, build={"front.right.length": "106 mm"})
    assert inspection_junit(inspect_team([folder])) == inspection_junit(inspect_team([folder]))


# --- hostile text --------------------------------------------------------------------------------


def test_what_is_fit_to_show_is_fit_for_xml():
    """Every code point: XML 1.0, production 2, allows only these (and tab and line ends)."""
    for number in range(sys.maxunicode + 1):
        for left in map(ord, clean(chr(number))):
            assert 0x20 <= left <= 0xD7FF or 0xE000 <= left <= 0xFFFD or left >= 0x10000


def test_a_name_that_is_no_utf_8_is_shown_by_its_escape(tmp_path, monkeypatch):
    folder = repository(tmp_path, build={"rear.pistn": "four"})
    name = b"caf\xe9.build.toml"
    try:
        os.rename(os.fsencode(build_path(folder)), os.path.join(os.fsencode(folder), name))  # noqa: PTH104, PTH118
    except (OSError, UnicodeDecodeError):
        pytest.skip("names that this system does not allow")
    monkeypatch.chdir(tmp_path)
    root = read(inspect_team(["."]))
    assert [s.get("file") for s in root] == [None, "caf\\udce9.build.toml"]


@FEW
@given(inspections())
def test_no_text_breaks_a_report(inspection: Inspection):
    for should_too in (False, True):
        root = read(inspection, should_too)
        suites = root[len(root) - len(inspection.builds) :]
        for suite, judged in zip(suites, inspection.builds, strict=True):
            assert len(suite) >= len(judged.held) + len(judged.serious)
            assert [t for t in suite if not len(t)] != [] or not judged.held
        for element in root.iter():
            for text in (*element.attrib.values(), element.text or ""):
                # whatever a test says is on lines of its own, with nothing that steers
                assert all(line.isprintable() for line in text.split("\n"))

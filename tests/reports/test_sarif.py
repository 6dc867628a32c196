"""SARIF against the schema of OASIS, and against what the standard's text asks beyond it.

`sarif-schema-2.1.0.json` is OASIS Open's own, of its repository sarif-spec, as the source package
of sarif-pydantic 0.6.2 on PyPI carries it. It is unchanged; `schema` says where the standard's
text overrules it.
"""

from __future__ import annotations

import copy
import datetime
import json
import os
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any
from urllib.parse import unquote, unquote_to_bytes, urljoin, urlsplit

import pytest
from hypothesis import given
from jsonschema import Draft7Validator

import buildlint
from buildlint import inspect_team
from buildlint.judging.inspection import Inspection
from buildlint.judging.rulebook import load_rulebook
from buildlint.reports.sarif import inspection_sarif
from tests.making import FEW, build_path, repository, write
from tests.reports.hostile import inspections

ROOT = Path(__file__).parents[2]
ON = datetime.date(2027, 6, 5)
OFF_AND_CHANGED = """
[change."pair/length"]
leave_out = true

[change."pair/rebound"]
level = "must"

[change."pair/collar"]
same_within = "1 mm"
"""
OWN = """
title = "The collar is near its datum"
level = "must"
measure = "collar"
at_most = "20 mm"
source = "a test"
why = "Far from it the spring is wrong."
cure = "Fit another spring."
"""
EVERYTHING: dict[str, dict[str, Any]] = {
    "parts": {"bladder.deep.into_cap": "150 mm^3", "oil.o450.viscosity": "5000 cSt"},
    "build": {
        "front.right.length": "106 mm",
        "rear.right.collar": "9 mm",
        "front.left.rebound": None,
        "front.right.piston": "other",
        "rear.pistn": "four",
        "front.left.hold_back": "0 mm",
    },
}


def schema() -> dict[str, Any]:
    """Give the schema with the one name put right that it has otherwise than the standard.

    3.35.3 names the property `status`; this edition of the schema still had `state`, as a draft
    did. Later editions follow the text.
    """
    found: dict[str, Any] = json.loads(
        Path(__file__).with_name("sarif-schema-2.1.0.json").read_text(encoding="utf-8")
    )
    properties = found["definitions"]["suppression"]["properties"]
    properties["status"] = properties.pop("state")
    return found


VALIDATOR = Draft7Validator(schema())


def log(
    inspection: Inspection, should_too: bool = False, everything: bool = False
) -> dict[str, Any]:
    """Give the log as read again, checked by the schema and by the standard's text."""
    text = inspection_sarif(inspection, should_too, everything)
    assert text.isascii() and text.endswith("}\n") and "<" not in text and "\\u001b" not in text
    found: dict[str, Any] = json.loads(text)
    VALIDATOR.validate(found)
    check(found)
    return found


def run_of(
    inspection: Inspection, should_too: bool = False, everything: bool = False
) -> dict[str, Any]:
    found: dict[str, Any] = log(inspection, should_too, everything)["runs"][0]
    return found


def check(found: dict[str, Any]) -> None:
    """Check what the standard asks and no schema can."""
    (run,) = found["runs"]
    driver = run["tool"]["driver"]
    rules = [rule["id"] for rule in driver["rules"]]
    # 3.27.23: all or none
    assert len({"suppressions" in result for result in run["results"]}) < 2
    for result in run["results"]:
        # 3.27.5, 3.27.6
        if "ruleIndex" in result:
            assert rules[result["ruleIndex"]] == result["ruleId"]
        else:
            assert result["ruleId"] not in rules
        # 3.27.10
        assert (result["level"] == "none") == (result["kind"] != "fail")
        # 3.27.17: our own name is versioned; the other is the one that code hosts look for
        assert set(result["partialFingerprints"]) == {
            "ruleAndSubject/v1",
            "primaryLocationLineHash",
        }
    for invocation in run["invocations"]:
        for override in invocation.get("ruleConfigurationOverrides", ()):
            assert rules[override["descriptor"]["index"]] == override["descriptor"]["id"]
        for told in invocation.get("toolConfigurationNotifications", ()):
            descriptor, rule = told["descriptor"], told["associatedRule"]
            assert driver["notifications"][descriptor["index"]]["id"] == descriptor["id"]
            assert ("index" in rule) == (rule["id"] in rules)
            if "index" in rule:
                assert rules[rule["index"]] == rule["id"]
    for region in every(found, "region"):
        # 3.30.2: lines and columns count from 1, the end is one past the last
        assert min(region.values()) >= 1
        assert region["endLine"] == region["startLine"]
        assert region.get("endColumn", region["startColumn"]) >= region["startColumn"]
    for place in every(found, "artifactLocation"):
        check_uri(place, run["originalUriBaseIds"])
    for text in every(found, "text"):
        # 3.11.5: no placeholder; 3.11.6: no link; 3.11.3: nothing but plain text
        assert not re.search(r"[{}]", text.replace("{{", "").replace("}}", ""))
        assert not re.search(r"\[[^]]*\]\(", text)
    for text in strings(found):
        # paragraphs of markdown
        assert text.replace("\n\n", "").isprintable()


def check_uri(place: dict[str, str], bases: dict[str, Any]) -> None:
    """Check an address by RFC 3986: its characters (section 2), its parts (sections 3 and 4.2)."""
    uri = place["uri"]
    assert re.fullmatch(r"(?:[A-Za-z0-9\-._~!$&'()*+,;=:@/]|%[0-9A-Fa-f]{2})+", uri)
    parts = urlsplit(uri)
    assert not parts.query and not parts.fragment
    if parts.scheme:
        assert parts.scheme == "file" and parts.path.startswith("/")
        assert "uriBaseId" not in place
        assert ".." not in parts.path.split("/")
    else:
        # 3.4.3: a relative reference begins with no slash; a colon would make it a scheme
        assert not uri.startswith("/") and ":" not in uri.split("/")[0]
        assert place["uriBaseId"] in bases
        assert urljoin("file:///base/", uri).startswith("file:///")


def every(node: Any, key: str) -> Iterator[Any]:
    if isinstance(node, dict):
        for name, value in node.items():
            if name == key:
                yield value
            yield from every(value, key)
    elif isinstance(node, list):
        for value in node:
            yield from every(value, key)


def strings(node: Any) -> Iterator[str]:
    if isinstance(node, str):
        yield node
    elif isinstance(node, dict):
        for name, value in node.items():
            yield name
            yield from strings(value)
    elif isinstance(node, list):
        for value in node:
            yield from strings(value)


def result_of(run: dict[str, Any], rule: str) -> dict[str, Any]:
    found: dict[str, Any] = next(r for r in run["results"] if r["ruleId"] == rule)
    return found


# --- the schema ----------------------------------------------------------------------------------


def test_the_schema_is_that_of_2_1_0():
    found = schema()
    Draft7Validator.check_schema(found)
    assert found["$schema"] == Draft7Validator.META_SCHEMA["$schema"]
    assert found["$id"].endswith("/oasis-tcs/sarif-spec/master/Schemata/sarif-schema-2.1.0.json")
    assert "(SARIF) Version 2.1.0" in found["title"]
    assert found["properties"]["version"]["enum"] == ["2.1.0"]


@pytest.mark.parametrize(
    "spoil",
    [
        lambda d: d.update(version="2.0.0"),
        lambda d: d["runs"][0]["tool"].pop("driver"),
        lambda d: d["runs"][0]["results"][0].pop("message"),
        lambda d: d["runs"][0]["results"][0].update(kind="borderline"),
        lambda d: d["runs"][0]["results"][0].update(level="must"),
        lambda d: next(every(d, "region")).update(startColumn=0),
        lambda d: d["runs"][0]["invocations"][0].pop("executionSuccessful"),
        lambda d: d["runs"][0].update(columnKind="characters"),
        lambda d: d["runs"][0]["results"][0].update(cure="none"),
    ],
)
def test_the_schema_refuses_what_it_should(tmp_path, spoil: Callable[[Any], Any]):
    """So that the other tests can fail."""
    found = log(inspect_team([repository(tmp_path, **EVERYTHING)]))
    spoilt = copy.deepcopy(found)
    spoil(spoilt)
    assert not VALIDATOR.is_valid(spoilt)


@pytest.mark.parametrize(
    "spoil",
    [
        lambda d: d["runs"][0]["results"][0].update(ruleIndex=3),
        lambda d: d["runs"][0]["results"][0].update(kind="review"),
        lambda d: d["runs"][0]["results"][0].update(suppressions=[]),
        lambda d: next(every(d, "region")).update(endColumn=1, startColumn=2),
        lambda d: next(every(d, "artifactLocation")).update(uri="a b"),
        lambda d: next(every(d, "artifactLocation")).update(uri="a\\b"),
        lambda d: next(every(d, "artifactLocation")).update(uri="a?b"),
        lambda d: next(every(d, "artifactLocation")).update(uri="/etc/passwd"),
        lambda d: next(every(d, "artifactLocation")).update(uri="x:y"),
        lambda d: d["runs"][0]["results"][0]["message"].update(text="{0}"),
        lambda d: d["runs"][0]["results"][0]["message"].update(text="[a](http://b)"),
    ],
)
def test_the_checks_refuse_what_they_should(tmp_path, spoil: Callable[[Any], Any]):
    found = log(inspect_team([repository(tmp_path, **EVERYTHING)]))
    assert found["runs"][0]["results"][0]["kind"] == "fail"
    spoil(found)
    with pytest.raises((AssertionError, KeyError)):
        check(found)


# --- what a log says -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    "changes",
    [{}, EVERYTHING, {"build": {"event": None}}, {"parts": {"bladder.deep.into_cap": None}}],
    ids=["sound", "everything", "no-event", "unmeasured"],
)
def test_each_finding_is_a_result(tmp_path, changes):
    inspection = inspect_team([repository(tmp_path, **changes)])
    run = run_of(inspection, everything=True)
    assert [r["ruleId"] for r in run["results"]] == [f.rule for f in inspection.every]
    kinds = [r["kind"] for r in run["results"]]
    assert kinds.count("fail") == inspection.counts.fails
    assert kinds.count("review") == inspection.counts.borderline
    assert kinds.count("open") == inspection.counts.not_checked
    assert kinds.count("pass") == inspection.counts.holds
    # unasked, only what fails, musts first
    levels = [r["level"] for r in run_of(inspection)["results"]]
    assert len(levels) == inspection.counts.fails and levels == sorted(levels)


@pytest.mark.parametrize("folder", ["bad", "should", "saltmarsh"])
def test_the_examples_are_of_the_schema(folder):
    run = run_of(inspect_team([ROOT / "examples" / folder], on=ON))
    levels = {result["level"] for result in run["results"]}
    # no must fails outside examples/bad, and a team that passes raises nothing
    assert ("error" in levels) == (folder == "bad")
    assert ("warning" in levels) == (folder != "saltmarsh")


def test_the_tool_says_what_it_is(tmp_path):
    run = run_of(inspect_team([repository(tmp_path)]))
    driver = run["tool"]["driver"]
    assert driver["name"] == "buildlint"
    assert driver["semanticVersion"] == buildlint.__version__
    # the form of semver.org, without pre-release and build
    assert re.fullmatch(r"(0|[1-9]\d*)\.(0|[1-9]\d*)\.(0|[1-9]\d*)", driver["semanticVersion"])
    assert "informationUri" not in driver
    assert run["columnKind"] == "unicodeCodePoints"
    assert run["invocations"] == [{"executionSuccessful": True}]


def test_every_rule_in_force_is_there_with_its_texts(tmp_path):
    book = load_rulebook()
    rules = run_of(inspect_team([repository(tmp_path)]))["tool"]["driver"]["rules"]
    assert [rule["id"] for rule in rules] == [rule.id for rule in book]
    for entry, rule in zip(rules, book, strict=True):
        level = {"must": "error", "should": "warning"}[rule.level]
        assert entry["defaultConfiguration"] == {"level": level}
        assert entry["shortDescription"]["text"] == f"{rule.fault}."
        assert entry["fullDescription"]["text"] == rule.why
        help_text = entry["help"]["text"]
        assert rule.cure in help_text and rule.caution in help_text and rule.source in help_text
        why, fix, *_ = entry["help"]["markdown"].split("\n\n")
        assert why.startswith("**Why.** ") and fix.startswith("**Fix.** ")
        assert entry["properties"]["source"] == rule.source
        assert ("limit" in entry["properties"]) == (rule.measure is not None)
    by_id = {rule["id"]: rule for rule in rules}
    assert by_id["bladder/into-body-room"]["properties"]["limit"] == "into_body_use at most 100 %"


def test_a_must_is_an_error_and_a_should_a_warning(tmp_path):
    """106 and 104.2 mm are 1.8 apart, at most 0.5; 75 and 60 % are 15 apart, at most 10."""
    build = {"front.right.length": "106 mm", "front.right.rebound": "75 %"}
    run = run_of(inspect_team([repository(tmp_path, build=build)]))
    length, rebound = result_of(run, "pair/length"), result_of(run, "pair/rebound")
    assert (length["kind"], length["level"]) == ("fail", "error")
    assert (rebound["kind"], rebound["level"]) == ("fail", "warning")
    assert length["message"]["text"].startswith("heron-quarry front: ")
    assert "1.8 mm apart" in length["message"]["text"]
    (location,) = length["locations"]
    assert location["logicalLocations"] == [
        {"name": "front", "fullyQualifiedName": "heron-quarry/front"}
    ]


def test_a_region_is_the_value_in_code_points(tmp_path, monkeypatch):
    """Columns 10 to 18 of `length = "106 mm"`, whatever stands behind it."""
    folder = repository(tmp_path, build={"front.right.length": "106 mm"})
    path = build_path(folder)
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace('"106 mm"', '"106 mm" # \U0001f3c1'), encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    (result,) = run_of(inspect_team(["."]))["results"]
    line = next(n for n, s in enumerate(text.splitlines(), 1) if "106 mm" in s)
    assert result["locations"][0]["physicalLocation"] == {
        "artifactLocation": {"uri": "heron-quarry.build.toml", "uriBaseId": "%SRCROOT%"},
        # length = " is ten characters, the value with its quotes eight
        "region": {"startLine": line, "startColumn": 10, "endLine": line, "endColumn": 18},
    }


def test_a_borderline_must_is_for_review_and_a_missing_reading_leaves_it_open(tmp_path):
    """104.2 and 104.65 mm, each ± 0.1: 0.45 apart, at most 0.5."""
    build = {"front.right.length": "104.65 mm", "rear.left.rebound": None}
    inspection = inspect_team([repository(tmp_path, build=build)])
    assert "pair/length" not in {r["ruleId"] for r in run_of(inspection)["results"]}
    run = run_of(inspection, everything=True)
    borderline, missing = result_of(run, "pair/length"), result_of(run, "pair/rebound")
    assert (borderline["kind"], borderline["level"]) == ("review", "none")
    assert (missing["kind"], missing["level"]) == ("open", "none")
    text = missing["message"]["text"]
    assert text == "heron-quarry rear: not checked: needs rebound."


def test_with_should_too_a_should_that_fails_and_a_borderline_must_fail_too(tmp_path):
    """Each a step graver, as each then ends the run with 1; what is not checked never fails."""
    build = {
        "front.right.length": "104.65 mm",  # 0.45 mm apart, at most 0.5: borderline
        "front.right.rebound": "75 %",  # 15 % apart, at most 10: a should
        "rear.right.length": "130 mm",  # a must
        "rear.left.rebound": None,
    }
    inspection = inspect_team([repository(tmp_path, build=build)])
    run = run_of(inspection, should_too=True, everything=True)
    told = [(r["ruleId"], r["kind"], r["level"]) for r in run["results"]]
    assert ("pair/length", "fail", "warning") in told
    assert ("pair/rebound", "fail", "error") in told
    assert ("pair/length", "fail", "error") in told
    assert ("pair/rebound", "open", "none") in told
    failing = [f for f in inspection.findings if f.verdict in ("fails", "borderline")]
    assert sum(kind == "fail" for _, kind, _ in told) == len(failing)
    # the verdict and the rule's own level are told beside it as they are
    assert [r["properties"]["verdict"] for r in run["results"]] == [
        f.verdict for f in inspection.every
    ]


def test_what_is_conceded_is_no_graver_with_should_too(tmp_path):
    repository(tmp_path, build={"front.runtime": "11 h"})
    leave = '[[concession]]\nrule = "record/oil-hours"\nreason = "spare"\nuntil = 2027-06-30\n'
    (tmp_path / "buildlint.toml").write_text(leave, encoding="utf-8")
    found = inspect_team([tmp_path], on=datetime.date(2027, 6, 12))
    assert found.passes(should_too=True)
    assert run_of(found, should_too=True)["results"] == []
    run = run_of(found, should_too=True, everything=True)
    assert result_of(run, "record/oil-hours")["level"] == "warning"


def test_a_cure_is_told_with_its_figures(tmp_path):
    build = {"front.left.hold_back": "0 mm", "front.right.hold_back": "0 mm"}
    run = run_of(inspect_team([repository(tmp_path, build=build)]))
    text = result_of(run, "hold-back/by-body-length")["message"]["text"]
    # 4.5 to 8.5 mm for a body of 52 mm, each hold-back read to 0.3 mm
    assert "4.5 mm" in text and "8.5 mm" in text


def test_what_is_conceded_is_suppressed_with_its_reason():
    build = ROOT / "examples/should/pair.rebound.conceded.build.toml"
    run = run_of(inspect_team([build], on=ON), everything=True)
    conceded = [r for r in run["results"] if r["suppressions"]]
    assert [r["suppressions"] for r in conceded] == [
        [
            {
                "kind": "external",
                "status": "accepted",
                "justification": "Until 2027-06-30: "
                "the right one is the spare; its twin is on order",
            }
        ]
    ]
    assert (conceded[0]["ruleId"], conceded[0]["level"]) == ("pair/length", "error")
    over = run_of(inspect_team([build], on=datetime.date(2027, 7, 1)), everything=True)
    assert not any(r["suppressions"] for r in over["results"])
    assert result_of(over, "file/concession-expired")["kind"] == "fail"


def test_rules_that_the_team_changed_are_told(tmp_path):
    files = {"buildlint.toml": OFF_AND_CHANGED, "rules/ours/collar.toml": OWN}
    write(repository(tmp_path), files)
    run = run_of(inspect_team([tmp_path]))
    driver = run["tool"]["driver"]
    rules = {rule["id"]: rule for rule in driver["rules"]}
    assert "pair/length" not in rules and rules["ours/collar"]
    # what it came as is the default, what it is now the override (3.51)
    assert rules["pair/rebound"]["defaultConfiguration"] == {"level": "warning"}
    (invocation,) = run["invocations"]
    assert invocation["executionSuccessful"] is True
    (override,) = invocation["ruleConfigurationOverrides"]
    assert override["descriptor"]["id"] == "pair/rebound"
    assert override["configuration"] == {"level": "error"}
    told = {
        n["associatedRule"]["id"]: (n["descriptor"]["id"], n["level"])
        for n in invocation["toolConfigurationNotifications"]
    }
    # a must that is left out or changed may leave something out; the rest is only told
    assert told == {
        "pair/length": ("left out", "warning"),
        "pair/rebound": ("changed", "note"),
        "pair/collar": ("changed", "note"),
        "ours/collar": ("own", "note"),
    }
    off = invocation["toolConfigurationNotifications"][1]
    assert "pair/length, which came as a must: left out." in off["message"]["text"]
    assert off["locations"][0]["physicalLocation"]["region"]["startLine"] == 2


def test_fingerprints_stay_when_lines_move_and_differ_between_findings(tmp_path, monkeypatch):
    folder = repository(tmp_path, **EVERYTHING)
    monkeypatch.chdir(folder)
    before = run_of(inspect_team(["."]), everything=True)["results"]
    for path in folder.glob("*.toml"):
        text = path.read_text(encoding="utf-8")
        path.write_text(f"# moved\n\n{text}", encoding="utf-8")
    after = run_of(inspect_team(["."]), everything=True)["results"]
    for name in ("ruleAndSubject/v1", "primaryLocationLineHash"):
        prints = [r["partialFingerprints"][name] for r in before]
        assert prints == [r["partialFingerprints"][name] for r in after]
        assert len(set(prints)) == len(prints) > 5
    lines = [
        [r["locations"][0]["physicalLocation"]["region"]["startLine"] for r in found]
        for found in (before, after)
    ]
    assert [line + 2 for line in lines[0]] == lines[1]


def test_fingerprints_stay_when_another_condition_is_the_worst(tmp_path, monkeypatch):
    monkeypatch.chdir(repository(tmp_path, parts={"bladder.deep.into_body": "150 mm^3"}))
    found = inspect_team(["."])
    before = run_of(found)["results"]
    drafts = [replace(draft, condition="hot") for draft in found.builds[0].drafts]
    found.builds[0] = replace(found.builds[0], drafts=drafts)
    after = run_of(found)["results"]
    assert before != after
    for name in ("ruleAndSubject/v1", "primaryLocationLineHash"):
        prints = [[r["partialFingerprints"][name] for r in results] for results in (before, after)]
        assert prints[0] == prints[1]


def test_two_mistakes_that_read_the_same_are_two(tmp_path):
    path = build_path(repository(tmp_path, build={"front.pistn": "x"}))
    text = path.read_text(encoding="utf-8")
    path.write_text(text + '[rear.axle]\na = "1"\n[front.axle]\na = "1"\n', encoding="utf-8")
    results = run_of(inspect_team([tmp_path]))["results"]
    prints = [r["partialFingerprints"]["ruleAndSubject/v1"] for r in results]
    assert len(set(prints)) == len(prints) >= 3


@pytest.mark.whole
def test_the_same_findings_give_the_same_log_in_another_process(tmp_path, monkeypatch):
    """With other hash seeds, so that no order hangs on them."""
    repository(tmp_path, **EVERYTHING)
    monkeypatch.chdir(tmp_path)
    code = (
        "from buildlint import inspect_team;"
        "from buildlint.reports.sarif import inspection_sarif;"
        "print(inspection_sarif(inspect_team(['.'])), end='')"
    )
    outputs = {
        subprocess.run(
            [sys.executable, "-c", code],
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(ROOT)},
            check=True,
            capture_output=True,
            text=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert outputs == {inspection_sarif(inspect_team(["."]))}


# --- places --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "uri"),
    [
        ("a b", "a%20b"),
        ("a#b?c", "a%23b%3Fc"),
        ("100%25", "100%2525"),
        ("möwe", "m%C3%B6we"),  # RFC 3986, section 2.5: UTF-8, then percent-encoded
        ("c:x", "c%3Ax"),
        ("back\\slash", "back%5Cslash"),
    ],
)
@pytest.mark.skipif(os.name == "nt", reason="names that this system does not allow")
def test_a_name_is_percent_encoded(tmp_path, monkeypatch, name, uri):
    repository(tmp_path / name, build={"rear.pistn": "four"})
    monkeypatch.chdir(tmp_path)
    (result,) = run_of(inspect_team(["."]))["results"]
    location = result["locations"][0]["physicalLocation"]["artifactLocation"]
    assert location["uri"] == f"{uri}/heron-quarry.build.toml"
    assert unquote(location["uri"]) == f"{name}/heron-quarry.build.toml"


def test_a_name_that_is_no_utf_8_is_given_by_its_bytes(tmp_path, monkeypatch):
    folder = repository(tmp_path, build={"rear.pistn": "four"})
    name = b"caf\xe9.build.toml"
    try:
        os.rename(os.fsencode(build_path(folder)), os.path.join(os.fsencode(folder), name))  # noqa: PTH104, PTH118
    except (OSError, UnicodeDecodeError):
        pytest.skip("names that this system does not allow")
    monkeypatch.chdir(tmp_path)
    (result,) = run_of(inspect_team(["."]))["results"]
    uri = result["locations"][0]["physicalLocation"]["artifactLocation"]["uri"]
    assert uri == "caf%E9.build.toml"
    assert unquote_to_bytes(uri) == name


def test_a_file_outside_this_folder_has_its_whole_address(tmp_path, monkeypatch):
    repository(tmp_path / "a b", build={"rear.pistn": "four"})
    (tmp_path / "here").mkdir()
    monkeypatch.chdir(tmp_path / "here")
    (result,) = run_of(inspect_team([tmp_path]))["results"]
    expected = build_path(tmp_path / "a b").as_uri()
    location = result["locations"][0]["physicalLocation"]["artifactLocation"]
    assert location == {"uri": expected} and expected.startswith("file:///")


def test_builds_of_several_teams_stand_in_one_run(tmp_path, monkeypatch):
    for name in ("a", "b"):
        repository(tmp_path / name, build={"front.right.length": "106 mm"})
    monkeypatch.chdir(tmp_path)
    run = run_of(inspect_team(["."]))
    uris = [p["uri"] for p in every(run["results"], "artifactLocation")]
    assert uris == ["a/heron-quarry.build.toml", "b/heron-quarry.build.toml"]
    prints = {r["partialFingerprints"]["ruleAndSubject/v1"] for r in run["results"]}
    assert len(prints) == 2


def test_a_log_without_builds_has_only_what_is_wrong_in_files(tmp_path):
    write(tmp_path, {"a.parts.toml": "[oil.x]\nviscosity = 5\n"})
    inspection = inspect_team([tmp_path])
    assert not inspection.builds
    (result,) = run_of(inspection)["results"]
    assert result["ruleId"].startswith("file/") and result["level"] == "error"
    assert "logicalLocations" not in result["locations"][0]


def test_an_inspection_of_nothing_is_of_the_schema():
    run = run_of(Inspection())
    assert run["results"] == [] and run["tool"]["driver"]["rules"] == []


# --- hostile text --------------------------------------------------------------------------------


@FEW
@given(inspections())
def test_no_text_breaks_a_log(inspection: Inspection):
    results = run_of(inspection, everything=True)["results"]
    assert len(results) == len(inspection.every)
    for result, finding in zip(results, inspection.every, strict=True):
        uri = result["locations"][0]["physicalLocation"]["artifactLocation"]["uri"]
        if not uri.startswith("file:"):
            assert unquote_to_bytes(uri) == os.fsencode(Path(finding.file).as_posix())

"""The reports as pydantic models: what the commands print, and the schema that it is held to."""

from __future__ import annotations

import json
import os
import pickle
import sys
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator, FormatChecker
from pydantic import BaseModel, ValidationError

import buildlint
from buildlint import (
    FindingReport,
    InspectionReport,
    compare,
    figures,
    inspect_team,
    labels,
    load_rulebook,
    report,
)
from buildlint.commands.cli import main
from buildlint.reports.schemas import schema
from tests.making import build_path, repository

EXAMPLES = Path(__file__).parent.parent.parent / "examples"
BUILDS = EXAMPLES / "saltmarsh" / "builds"
HERON = BUILDS / "heron-quarry.build.toml"
ESTUARY = BUILDS / "heron-estuary.build.toml"

VALIDATOR = Draft202012Validator(schema("report"), format_checker=FormatChecker())

TEAMS = pytest.mark.parametrize("team", ["saltmarsh", "should", "bad"])


@pytest.fixture
def printed(capsys: pytest.CaptureFixture[str]) -> Any:
    def run(*words: object) -> str:
        assert main([str(word) for word in words] + ["--as", "json"]) < 2
        out = capsys.readouterr().out
        assert out.isascii()
        return out

    return run


# --- the same JSON from Python -------------------------------------------------------------------


@TEAMS
@pytest.mark.parametrize("should_too", [False, True])
def test_an_inspections_report_is_the_one_printed(
    team: str, should_too: bool, printed: Any
) -> None:
    made = report(inspect_team([EXAMPLES / team]), should_too=should_too)
    words = ["--should-too"] if should_too else []
    assert json.loads(made.model_dump_json()) == json.loads(
        printed("inspect", EXAMPLES / team, *words)
    )
    assert made.passes is inspect_team([EXAMPLES / team]).passes(should_too)


def test_so_is_that_of_figures_labels_and_a_comparison(printed: Any) -> None:
    for made, words in (
        (report(figures(HERON)), ("figures", HERON)),
        (report(labels(HERON)), ("labels", HERON)),
        (report(compare(ESTUARY, HERON)), ("compare", ESTUARY, HERON)),
    ):
        assert json.loads(made.model_dump_json()) == json.loads(printed(*words))


def test_and_that_of_the_rules_that_ship(
    printed: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    made = report(load_rulebook())
    assert json.loads(made.model_dump_json()) == json.loads(printed("rulebook"))


REPORTS: list[BaseModel] = [
    report(inspect_team([EXAMPLES / "should"])),
    report(figures(HERON)),
    report(labels(HERON)),
    report(compare(ESTUARY, HERON)),
    report(load_rulebook()),
]


@pytest.mark.parametrize("one", REPORTS, ids=lambda r: type(r).__name__)
def test_a_report_is_read_again_as_it_was_written(one: BaseModel) -> None:
    assert type(one).model_validate_json(one.model_dump_json()) == one
    assert type(one).model_validate(one.model_dump()) == one
    assert pickle.loads(pickle.dumps(one)) == one


@pytest.mark.parametrize("one", REPORTS, ids=lambda r: type(r).__name__)
def test_a_report_is_frozen_and_takes_no_other_key(one: BaseModel) -> None:
    assert getattr(buildlint, type(one).__name__) is type(one)
    with pytest.raises(ValidationError, match="frozen"):
        one.format = 3  # type: ignore[attr-defined]
    with pytest.raises(ValidationError, match="holdback"):
        type(one).model_validate({**one.model_dump(), "holdback": 1})


def test_a_limit_in_a_report_is_not_changed() -> None:
    finding = report(inspect_team([EXAMPLES / "bad"])).findings[-1]
    assert isinstance(finding, FindingReport)
    with pytest.raises(TypeError):
        finding.limit["at_most"] = 1.0


def test_a_figure_without_end_is_null_and_others_are_rounded() -> None:
    found = report(inspect_team([EXAMPLES / "bad" / "bladder.into-cap-room.build.toml"]))
    one = next(f for f in found.findings if f.value is not None)
    values = {**one.model_dump(), "value": 0.1 + 0.2, "margin": float("-inf"), "chance": 1e-9}
    made = json.loads(FindingReport.model_validate(values).model_dump_json())
    assert (made["value"], made["margin"], made["chance"]) == (0.3, None, 1e-9)


@pytest.mark.skipif(sys.platform != "linux", reason="names of files are text elsewhere")
def test_a_name_that_is_no_utf_8_has_escapes(tmp_path: Path, printed: Any) -> None:
    root = repository(tmp_path, build={"front.right.length": "106 mm"})
    build_path(root).rename(root / os.fsdecode(b"b-\xe9.build.toml"))
    made = report(inspect_team([root]))
    assert [build.build for build in made.builds] == [r"b-\udce9"]
    assert json.loads(made.model_dump_json()) == json.loads(printed("inspect", root))


def test_what_a_build_server_obeys_is_escaped_where_it_is_printed(
    tmp_path: Path, printed: Any
) -> None:
    note = "##[group] \u2028 \x7f caf\u00e9 \U0001f527"
    root = repository(tmp_path, build={"front.left.label": "NOTE"})
    path = build_path(root)
    # TOML takes the sign that does not print by its escape only
    text = path.read_text(encoding="utf-8").replace("NOTE", note.replace("\x7f", "\\u007f"))
    path.write_text(text, encoding="utf-8")
    text = printed("labels", build_path(root))
    assert "##" not in text
    assert "\x7f" not in text
    assert json.loads(text)["caps"][0]["written"] == note
    assert report(labels(build_path(root))).caps[0].written == note


# --- the schema ----------------------------------------------------------------------------------


@TEAMS
def test_the_schema_holds_for_every_example(team: str, printed: Any) -> None:
    VALIDATOR.validate(json.loads(printed("inspect", EXAMPLES / team, "--on", "2027-06-05")))
    for path in sorted((EXAMPLES / team).rglob("*.build.toml")):
        # what would mend it is told of few builds only
        VALIDATOR.validate(json.loads(printed("inspect", path)))


def test_the_schema_is_of_all_that_is_printed_and_refuses_what_is_not() -> None:
    sound = json.loads(report(inspect_team([EXAMPLES / "should"])).model_dump_json())
    assert set(sound) <= set(VALIDATOR.schema["properties"])
    for spoil in (
        lambda d: d.update(format=3),
        lambda d: d["counts"].pop("conceded"),
        lambda d: d["counts"].update(holds=-1),
        lambda d: d["findings"][0].pop("margin"),
        lambda d: d["findings"][0].update(line=0),
        lambda d: d["findings"][0].update(verdict="doubtful"),
        lambda d: d["findings"][0].update(subject="left"),
        lambda d: d["findings"][0].update(limit={"about": 1.0}),
        lambda d: d["findings"][0].update(holdback="1 mm"),
        lambda d: d.update(on="5 June"),
    ):
        spoilt = json.loads(json.dumps(sound))
        spoil(spoilt)
        assert not VALIDATOR.is_valid(spoilt)
        with pytest.raises(ValidationError):
            InspectionReport.model_validate_json(json.dumps(spoilt))


def test_the_command_prints_the_schema(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["schema", "report"]) == 0
    made = json.loads(capsys.readouterr().out)
    assert made == schema("report")
    assert made["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert made["title"] == "Report of buildlint inspect"
    Draft202012Validator.check_schema(made)
    for mode in ("validation", "serialization"):
        assert set(InspectionReport.model_json_schema(mode=mode)["$defs"]) == set(made["$defs"])


def test_every_key_of_the_schema_is_told_in_words() -> None:
    made = schema("report")
    for table in (made, *made["$defs"].values()):
        assert table["additionalProperties"] is False
        assert table["description"].endswith(".")
        for key, told in table["properties"].items():
            assert told["title"], key
            assert told["description"].endswith("."), key

"""The life of a build: when it is a plan, built or past, and what it is then judged by."""

from __future__ import annotations

import datetime
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from buildlint import inspect_build, inspect_team, load_team
from buildlint.commands.cli import main
from buildlint.team.life import lives
from tests.making import build_path, repository


def team_of(folder: Path, **builds: Mapping[str, str]) -> Path:
    """Make builds of the sound repository's car: of each the lines that are other ones, by key."""
    repository(folder)
    sound = build_path(folder).read_text("utf-8")
    build_path(folder).unlink()
    event = (folder / "quarry.event.toml").read_text("utf-8")
    later = event.replace("2027-06-12", "2027-07-10")
    (folder / "later.event.toml").write_text(later, "utf-8")
    for name, lines in builds.items():
        text = sound
        for key, line in lines.items():
            text = re.sub(rf"^{key} = .*\n", f"{line}\n" if line else "", text, flags=re.M)
        (folder / f"{name}.build.toml").write_text(text, "utf-8")
    return folder


def told(folder: Path) -> dict[str, str]:
    return {path.name.split(".")[0]: life for path, life in lives(load_team(folder)).items()}


OLD = {"on": "on = 2027-06-05"}
NEXT = {"on": "on = 2027-07-01", "event": 'event = "later"'}
PLAN = {"on": "", "event": 'event = "later"'}
NO_EVENT = {"event": ""}


@pytest.mark.parametrize(
    ("builds", "past"),
    [
        ({"a": OLD, "b": NEXT}, {"a"}),
        ({"a": OLD, "b": {**NEXT, "on": "on = 2027-06-05"}}, set()),  # the same day at the bench
        ({"a": OLD, "b": {"on": "on = 2027-06-08"}}, set()),  # built again for the same event
        ({"a": OLD, "b": {**NEXT, "car": 'car = "other"'}}, set()),
        ({"a": OLD, "b": PLAN}, set()),  # a plan overtakes nothing
        ({"a": {**OLD, "event": ""}, "b": {**NO_EVENT, "on": "on = 2027-06-06"}}, {"a"}),
        ({"a": OLD, "b": {**NO_EVENT, "on": "on = 2027-06-10"}}, set()),  # before a's event
        ({"a": OLD, "b": {**NO_EVENT, "on": "on = 2027-06-20"}}, {"a"}),
        ({"a": {**OLD, "car": 'car = "heron"\npast = true'}}, {"a"}),
        ({"a": {**PLAN, "car": 'car = "heron"\npast = true'}}, {"a"}),
        ({"a": {"event": 'event = "gone"'}, "b": NEXT}, {"a"}),  # deleted: the bench date counts
        ({"a": NEXT, "b": OLD, "c": {**NEXT, "on": "on = 2027-07-02"}}, {"b"}),
    ],
)
def test_past_is_what_its_car_has_gone_beyond(
    tmp_path: Path, builds: dict[str, dict[str, str]], past: set[str]
) -> None:
    assert {n for n, life in told(team_of(tmp_path, **builds)).items() if life == "past"} == past


def test_without_a_bench_date_it_is_a_plan_but_not_with_one_that_cannot_be_read(
    tmp_path: Path,
) -> None:
    team_of(tmp_path, a=PLAN, b=OLD, c={"on": 'on = "soon"'}, d={"car": "car ="})
    assert told(tmp_path) == {"a": "plan", "b": "built", "c": "built", "d": "built"}


# --- a plan --------------------------------------------------------------------------------------

READ_LATER = ("length", "rebound", "label", "done", "runtime")


def test_a_plan_is_not_asked_for_what_is_read_on_a_finished_damper(tmp_path: Path) -> None:
    team_of(tmp_path, a={**PLAN, **dict.fromkeys(READ_LATER, "")})
    found = inspect_team(tmp_path)
    assert [judged.life for judged in found.builds] == ["plan"]
    assert found.findings == []
    assert not {rule.split("/")[0] for rule, _ in found.builds[0].held} & {"bench", "record"}


def test_what_a_plan_says_all_the_same_is_judged(tmp_path: Path) -> None:
    team_of(tmp_path, a={**PLAN, "hold_back": 'hold_back = "40 mm"'})
    rules = {f.rule for f in inspect_team(tmp_path).findings if f.verdict == "fails"}
    assert "hold-back/in-stroke" in rules
    build = load_team(tmp_path).builds["a"].as_table()
    build["front"]["left"]["length"] = "108 mm"
    assert "pair/length" in {f.rule for f in inspect_build(build, load_team(tmp_path)).findings}


# --- a past build --------------------------------------------------------------------------------


def test_a_past_build_is_judged_only_where_it_is_named_or_all_are(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    team_of(tmp_path, a={**OLD, "hold_back": 'hold_back = "40 mm"'}, b=NEXT)
    assert main(["inspect", str(tmp_path)]) == 0
    assert "1 past build, not judged (--past)\n" in capsys.readouterr().out
    assert main(["inspect", str(tmp_path), "--past"]) == 1
    assert main(["inspect", str(tmp_path / "a.build.toml")]) == 1
    assert "heron, event quarry, past" in capsys.readouterr().out
    found = inspect_team(tmp_path)
    assert (found.past, [b.id for b in found.builds]) == (["a"], ["b"])


def test_where_all_are_past_nothing_fails(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    team_of(tmp_path, a={"car": 'car = "heron"\npast = true', "hold_back": 'hold_back = "40 mm"'})
    assert main(["inspect", str(tmp_path)]) == 0
    assert "1 past build, not judged" in capsys.readouterr().out


def test_a_part_measured_better_brings_no_past_build_back(tmp_path: Path) -> None:
    team_of(tmp_path, a=OLD, b={**NEXT, "bladder": ""})
    drawers = tmp_path / "drawers.parts.toml"
    text = drawers.read_text("utf-8")
    drawers.write_text(text.replace('"480 mm^3"', '"150 mm^3"'), "utf-8")
    found = inspect_team(drawers)
    assert {f.build for f in found.findings} <= {"b"}


def test_a_past_build_must_stay_readable_and_its_references_whole(tmp_path: Path) -> None:
    team_of(tmp_path, a={**OLD, "oil": 'oil = "sold"', "length": "length = 3"}, b=NEXT)
    for paths in (tmp_path, tmp_path / "drawers.parts.toml"):
        found = inspect_team(paths)
        assert found.past == ["a"]
        assert {f.rule for f in found.in_files} == {"file/no-such-id", "file/not-a-reading"}


# --- what else stands in the files ---------------------------------------------------------------


def test_the_cars_of_an_event_and_a_build_that_one_is_like_are_there(tmp_path: Path) -> None:
    team_of(tmp_path, a={**OLD, "car": 'car = "heron"\nlike = "b"'})
    event = tmp_path / "quarry.event.toml"
    event.write_text(f'cars = ["heron", "hern"]\n{event.read_text("utf-8")}', "utf-8")
    found = inspect_team(tmp_path)
    assert [(f.rule, f.line, f.column) for f in found.in_files] == [
        ("file/no-such-id", 2, 8),
        ("file/no-such-id", 1, 18),
    ]
    assert 'did you mean "heron"?' in found.in_files[1].message


def test_a_part_that_is_gone_is_named_and_never_offered(tmp_path: Path) -> None:
    more = {"bladder.shallow": {"into_body": "150 mm^3", "into_cap": "500 mm^3"}}
    gone: dict[str, Any] = {"bladder.deep.gone": True}
    for changes, offered in (({}, True), (gone, False)):
        folder = tmp_path / str(offered)
        folder.mkdir()
        parts = {f"{name}.{key}": v for name, keys in more.items() for key, v in keys.items()}
        repository(folder, parts={**parts, **changes})
        build = load_team(folder).builds["heron-quarry"].as_table()
        build["front"]["bladder"] = "shallow"
        build["rear"]["bladder"] = "deep"
        found = inspect_build(build, load_team(folder))
        assert found.in_files == []
        choices = [c for f in found.findings for figure in f.cure_figures for c in figure.choices]
        assert ("deep" in choices) is offered


def test_a_flag_is_true_or_false_without_quotes(tmp_path: Path) -> None:
    repository(tmp_path, parts={"oil.o450.gone": "yes"})
    (found,) = inspect_team(tmp_path).in_files
    assert (found.rule, found.message) == (
        "file/wrong-kind",
        "gone: true or false, without quotes, belongs here",
    )


def test_no_day_is_asked(tmp_path: Path) -> None:
    team_of(tmp_path, a=OLD, b=NEXT)
    for on in (datetime.date(2020, 1, 1), datetime.date(2040, 1, 1)):
        assert inspect_team(tmp_path, on=on).past == ["a"]

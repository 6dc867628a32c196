"""A build held against the one that it is like, and a reading against what was planned for it."""

from __future__ import annotations

from math import sqrt
from pathlib import Path
from typing import Any

import pytest

from buildlint import figures, inspect_build, inspect_team, load_team
from buildlint.team.repository import Team
from tests.making import build_path, repository

DRAWERS = {"oil.o600.viscosity": "600 cSt", "oil.o470.viscosity": "470 cSt"}


def team_of(folder: Path, **parts: Any) -> Team:
    return load_team(repository(folder, parts={**DRAWERS, **parts}))


def twin(team: Team, **changes: Any) -> dict[str, Any]:
    """Give the sound build as like itself, with changes: front__oil="o600"."""
    made = team.builds["heron-quarry"].as_table()
    made["like"] = "heron-quarry"
    for key, value in changes.items():
        *above, last = key.split("__")
        table = made
        for part in above:
            table = table[part]
        table[last] = value
    return made


def told(team: Team, build: dict[str, Any]) -> list[tuple[str, str]]:
    found = inspect_build(build, team)
    return [(f.rule, f.subject) for f in found.findings if f.verdict == "fails"]


def test_a_twin_holds_and_is_told_nowhere(tmp_path: Path) -> None:
    team = team_of(tmp_path)
    found = inspect_build(twin(team), team)
    assert found.findings == []
    like = {rule for rule, _ in found.builds[0].held if rule.startswith("like/")}
    assert like == {f"like/{n}" for n in ("damping", "length", "hold-back", "rebound", "parts")}
    told = {f.message for f in found.builds[0].holding if f.rule == "like/parts"}
    assert len(told) == 1 and told.pop().endswith(": yes")


@pytest.mark.parametrize(("viscosity", "way"), [("380.7 cSt", "less"), ("519.3 cSt", "more")])
def test_a_hair_beyond_the_limit_is_told_with_the_digits_that_show_it(
    tmp_path: Path, viscosity: str, way: str
) -> None:
    """Damping goes as the oil's viscosity: 450 cSt and 15.4 % more are 519.3, less 380.7."""
    team = team_of(tmp_path, **{"oil.other.viscosity": viscosity})
    found = inspect_build(twin(team, front__oil="other"), team)
    (one,) = [f for f in found.findings if f.rule == "like/damping"]
    assert f"damps 15.4 % {way} than heron-quarry, at most 15 %" in one.message


def test_damping_is_the_mean_of_cold_and_hot_each_at_its_own_event(tmp_path: Path) -> None:
    """Worked out here of the damping that `figures` gives of both."""
    team = team_of(tmp_path)
    (tmp_path / "warm.event.toml").write_text(
        'name = "W"\non = 2027-06-12\naltitude = "5 m"\ncoldest = "20 degC"\nhottest = "45 degC"\n'
    )
    team = load_team(tmp_path)
    build = twin(team, event="warm", front__oil="o600")

    def mean(found: Any) -> float:
        cold, hot = (found.get("damping", "front.left", when).value for when in ("cold", "hot"))
        return sqrt(cold * hot)

    old, new = figures("heron-quarry", team), figures(build, team)
    (line,) = (f for f in new.figures if (f.measure, f.subject) == ("damping_against", "front"))
    assert line.value == pytest.approx(mean(new) / mean(old) - 1.0)
    assert line.condition is None


def test_what_is_one_thing_cancels(tmp_path: Path) -> None:
    """One oil in both: nothing is uncertain. Two of 5 % each: 5 % / sqrt 3 twice, as squares."""
    team = team_of(tmp_path)
    for oil, uncertain in (("o450", 0.0), ("o600", 600 / 450 * 0.05 / sqrt(3) * sqrt(2))):
        found = figures(twin(team, front__oil=oil), team)
        line = found.get("damping_against", "front.left")
        assert line is not None
        assert line.value == pytest.approx({"o450": 0.0, "o600": 600 / 450 - 1}[oil], abs=1e-12)
        assert line.uncertainty_up == pytest.approx(uncertain, rel=0.04, abs=1e-12)


def test_front_and_rear_swapped_show(tmp_path: Path) -> None:
    team = team_of(tmp_path)
    sound = team.builds["heron-quarry"].as_table()
    sound["rear"]["oil"] = "o600"
    with_it = team.with_files({"old.build.toml": sound})
    build = {**twin(team), "like": "old"}
    build["front"]["oil"], build["rear"]["oil"] = "o600", "o450"
    assert [each for each in told(with_it, build) if each[0] != "bench/label"] == [
        *(("like/damping", "front"), ("like/damping", "rear")),
        *(("like/parts", "front"), ("like/parts", "rear")),
    ]


def test_at_another_event_other_parts_and_another_hold_back_are_no_finding(tmp_path: Path) -> None:
    """An oil 4 % thicker at an event as warm: damping is compared, and nothing is said of ids."""
    team = team_of(tmp_path)
    event = (tmp_path / "quarry.event.toml").read_text("utf-8")
    (tmp_path / "next.event.toml").write_text(event, "utf-8")
    team = load_team(tmp_path)
    sealed = {"front__left__hold_back": "7.4 mm", "front__left__rebound": "80 %"}
    build = twin(team, event="next", front__oil="o470", **sealed)
    found = inspect_build(build, team)
    assert {f.rule for f in found.findings if f.rule.startswith("like/")} == set()
    assert ("like/damping", "front") in {(r, s.split(".")[0]) for r, s in found.builds[0].held}


@pytest.mark.parametrize(
    ("change", "rule"),
    [
        ({"front__left__length": "104.8 mm", "front__right__length": "104.8 mm"}, "like/length"),
        ({"rear__left__rebound": "68 %", "rear__right__rebound": "68 %"}, "like/rebound"),
        (
            {"front__left__hold_back": "7.0 mm", "front__right__hold_back": "7.0 mm"},
            "like/hold-back",
        ),
    ],
)
def test_a_twin_that_is_none(tmp_path: Path, change: dict[str, str], rule: str) -> None:
    team = team_of(tmp_path)
    assert {name for name, _ in told(team, twin(team, **change))} == {rule}


def test_a_reading_of_nothing_is_said_as_that(tmp_path: Path) -> None:
    team = team_of(tmp_path)
    here = twin(team, front__left__hold_back="0 mm", front__right__hold_back="0 mm")
    with_it = team.with_files({"flush.build.toml": here | {"like": "heron-quarry"}})
    there = {**twin(team), "like": "flush"}
    for build, words in (
        (here, "0.0 mm here, 6.4 mm in heron-quarry: 6.4 mm apart"),
        (there, "6.4 mm here, 0.0 mm in flush: 6.4 mm apart"),
    ):
        found = inspect_build(build, with_it)
        messages = [f.message for f in found.findings if f.rule == "like/hold-back"]
        assert messages and all(words in message for message in messages)


def test_readings_that_the_other_build_lacks_are_said_to_be_missing_there(tmp_path: Path) -> None:
    team = team_of(tmp_path)
    sound = team.builds["heron-quarry"].as_table()
    for side in ("left", "right"):
        del sound["front"][side]["length"]
    del sound["rear"]
    with_it = team.with_files({"old.build.toml": sound})
    found = inspect_build({**twin(team), "like": "old"}, with_it)
    unchecked = [(f.rule, f.missing) for f in found.findings if f.verdict == "not checked"]
    assert unchecked == [("like/length", ("length in old",))] * 2
    del sound["bench"]["on"]  # a plan: there is nothing to be missed
    with_it = team.with_files({"old.build.toml": sound})
    found = inspect_build({**twin(team), "like": "old"}, with_it)
    assert [f for f in found.findings if f.verdict == "not checked"] == []


@pytest.mark.parametrize(
    ("ring", "words"),
    [
        ({"a": "a"}, '"a" like "a"'),
        ({"a": "b", "b": "c", "c": "a"}, '"a" like "b" like "c" like "a"'),
    ],
)
def test_a_ring_is_one_plain_finding(tmp_path: Path, ring: dict[str, str], words: str) -> None:
    text = build_path(repository(tmp_path)).read_text("utf-8")
    for name, like in ring.items():
        (tmp_path / f"{name}.build.toml").write_text(f'like = "{like}"\n{text}', "utf-8")
    (found,) = inspect_team(tmp_path).in_files
    assert (found.rule, found.message) == (
        "file/like-itself",
        f"like leads back to the same build: {words}",
    )
    assert (found.file.endswith("a.build.toml"), found.line, found.column) == (True, 1, 8)


def test_like_a_build_that_cannot_be_read(tmp_path: Path) -> None:
    text = build_path(repository(tmp_path)).read_text("utf-8")
    (tmp_path / "a.build.toml").write_text(f'like = "b"\n{text}', "utf-8")
    (tmp_path / "b.build.toml").write_bytes(b"\xff")
    found = inspect_team(tmp_path / "a.build.toml")
    assert [f.rule for f in found.in_files] == ["file/not-toml"]


# --- planned and read ----------------------------------------------------------------------------

PLANNED = [
    ("hold_back", "6.4 mm", "7.0 mm", "plan/hold-back"),
    ("length", "104.2 mm", "104.8 mm", "plan/length"),
    ("rebound", "60 %", "49 %", "plan/rebound"),
    ("collar", "2 mm", "2.6 mm", "plan/collar"),
]


@pytest.mark.parametrize(("key", "plan", "read", "rule"), PLANNED)
def test_what_a_side_reads_is_held_against_what_its_end_says(
    tmp_path: Path, key: str, plan: str, read: str, rule: str
) -> None:
    sides = {f"front.{side}.{key}": read for side in ("left", "right")}
    repository(tmp_path, build={f"front.{key}": plan, **sides})
    team = load_team(tmp_path)
    plans = [f for f in inspect_team(tmp_path).findings if f.rule.startswith("plan/")]
    assert [(f.rule, f.subject, f.keys) for f in plans] == [
        (rule, f"front.{side}", ("front", side, key)) for side in ("left", "right")
    ]
    assert " planned: " in plans[0].message and plans[0].message.startswith(read)
    assert set(plans[0].limit) == {"as_planned_within"}
    build = team.builds["heron-quarry"].as_table()
    del build["bench"]["on"]  # in a plan, nothing was read yet
    assert not [f for f in inspect_build(build, team).findings if f.rule.startswith("plan/")]


def test_without_a_value_of_the_end_nothing_was_planned(tmp_path: Path) -> None:
    found = inspect_team(repository(tmp_path))
    held = {rule for rule, _ in found.builds[0].held}
    assert not {rule for rule in held if rule.startswith("plan/")}


def test_of_what_is_no_reading_no_plan_is_kept(tmp_path: Path) -> None:
    repository(tmp_path)
    rule = (Path(__file__).parents[2] / "rules/plan/length.toml").read_text("utf-8")
    (tmp_path / "buildlint.toml").write_text("")
    own = tmp_path / "rules" / "ours" / "oil.toml"
    own.parent.mkdir(parents=True)
    own.write_text(rule.replace('"length"', '"oil_volume"'), "utf-8")
    with pytest.raises(ValueError, match="oil_volume has no plan of its own; these have"):
        inspect_team(tmp_path)

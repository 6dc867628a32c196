"""What a program hands over by mistake or in bad faith: findings, or errors that say why."""

from __future__ import annotations

import datetime
import math
import traceback
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import buildlint
from buildlint import (
    BuildlintError,
    Rulebook,
    compare,
    figures,
    inspect_build,
    inspect_team,
    labels,
    load_rulebook,
    load_team,
)
from tests.making import build_path, repository

Anything = Any

NO_PATHS: list[Anything] = [1, 1.5, True, b"x", b"\xff", [], {}, object(), math.nan, 10**400]
NO_FILES = ["", "\0", "a\0b", "x" * 5000, "\ud800", Path("a\0b"), "no/such/place"]
NO_RULEBOOKS: list[Anything] = [1, "x", b"x", {}, object(), math.nan, Rulebook, Rulebook({"a": 1})]

ODD_VALUES: list[Anything] = [
    *(None, True, 1, 10**5000, math.nan, math.inf, -1e308, b"x", "", "\0", "\ud800", "x" * 100_000),
    *([], [None], [object()], {}, {1: 2}, {"a": {}}, (), set(), object(), int),
    *(datetime.datetime(2027, 1, 1), datetime.time(1), "2027-01-01", "9" * 4000 + " mm"),
]


def within(depth: int) -> dict[str, Any]:
    made: dict[str, Any] = {}
    for _ in range(depth):
        made = {"front": made}
    return made


RING: dict[str, Any] = {}
RING["front"] = RING

ODD_BUILDS: list[Anything] = [
    *({1: 2}, {None: None}, {b"car": 1}, {("a",): 1}, {"x" * 10_000: 1}, RING, within(5000)),
    {f"key{n}": n for n in range(5000)},
    {f"key{n}": n for n in range(60_000)},
]


@pytest.fixture(scope="module")
def root(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return repository(tmp_path_factory.mktemp("sound"))


def refused(call: Callable[[], object], kind: type[Exception]) -> str:
    """Give what is said of a call that is refused: by us, not by something within."""
    with pytest.raises(kind) as caught:
        call()
    where = traceback.extract_tb(caught.value.__traceback__)[-1]
    assert Path(where.filename).is_relative_to(Path(buildlint.__file__).parent)
    assert (where.line or "").startswith("raise ")
    return str(caught.value)


def each_that_takes_a_path(root: Path) -> list[Callable[[Anything], object]]:
    build = build_path(root)
    return [
        inspect_team,
        lambda given: inspect_team([given]),
        lambda given: compare(given, build),
        lambda given: compare(build, given),
        figures,
        labels,
        load_team,
        load_rulebook,
    ]


@pytest.mark.parametrize("given", NO_PATHS, ids=lambda given: type(given).__name__)
def test_what_is_no_path_is_a_type_error(root: Path, given: Anything) -> None:
    for call in each_that_takes_a_path(root):
        if call is inspect_team and given in ([], {}):
            refused(lambda: inspect_team(given), BuildlintError)  # several paths, and none of them
        else:
            said = refused(lambda call=call: call(given), TypeError)
            assert said.startswith(("a path is text", "a build is a path", "a build that stands"))


@pytest.mark.parametrize("given", NO_FILES, ids=range(len(NO_FILES)))
def test_a_path_of_no_file_is_an_error_of_ours(root: Path, given: Anything) -> None:
    for call in each_that_takes_a_path(root):
        said = refused(lambda call=call: call(given), BuildlintError)
        assert said.isprintable()
        assert len(said) < 6000


@pytest.mark.parametrize("given", NO_RULEBOOKS, ids=range(len(NO_RULEBOOKS)))
def test_what_is_no_rulebook_is_a_type_error(root: Path, given: Anything) -> None:
    team = load_team(root)
    calls: list[Callable[[], object]] = [
        lambda: inspect_team(root, rulebook=given),
        lambda: inspect_build({}, team, rulebook=given),
        lambda: figures({}, team, rulebook=given),
    ]
    for call in calls:
        assert refused(call, TypeError) == "a rulebook is what load_rulebook gives"


@pytest.mark.parametrize(
    "given", [1, 1.5, b"x", [], object(), math.nan, "\0"], ids=lambda given: type(given).__name__
)
def test_other_arguments_of_another_kind_are_refused(root: Path, given: Anything) -> None:
    team = load_team(root)
    calls: list[Callable[[], object]] = [
        lambda: inspect_team(root, on=given),
        lambda: inspect_team(root, progress=given),
        lambda: inspect_build({}, given),
        lambda: inspect_build({}, team, on=given),
        lambda: figures({}, given),
        lambda: team.with_files(given),
        lambda: team.with_files({"a.build.toml": 1}),
    ]
    for call in calls:
        refused(call, TypeError)
    for name in (inspect_build, figures):
        refused(
            lambda name=name: name({}, team, name=given),
            BuildlintError if isinstance(given, str) else TypeError,
        )


@pytest.mark.parametrize("key", ["car", "front", "bench", "hold_back", "done", "on", "none"])
@pytest.mark.parametrize("value", ODD_VALUES, ids=range(len(ODD_VALUES)))
def test_odd_values_in_a_build_are_findings(root: Path, key: str, value: Anything) -> None:
    inner = {"hold_back": "front", "done": "front", "on": "bench"}.get(key)
    build = {inner: {key: value}} if inner else {key: value}
    team = load_team(root)
    found = inspect_build(build, team)
    assert all(f.message.isprintable() for f in found.in_files)
    assert found.in_files or (key, value) == ("front", {}) or value is None or value == []
    figures(build, team)


@pytest.mark.parametrize("build", ODD_BUILDS, ids=range(len(ODD_BUILDS)))
def test_odd_builds_are_findings(root: Path, build: Anything) -> None:
    team = load_team(root)
    found = inspect_build(build, team)
    assert found.in_files
    assert all(f.message.isprintable() and len(f.message) < 1000 for f in found.in_files)
    assert figures(build, team).mistakes

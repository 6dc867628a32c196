"""Several processes: they tell what one tells, byte for byte, whatever becomes of them."""

from __future__ import annotations

import datetime
import errno
import multiprocessing
import os
import random
import signal
from collections.abc import Callable, Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any, Literal

import pint
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from buildlint import inspection, readings, workers
from buildlint.files import kind
from buildlint.folders import files_below
from buildlint.inspected import Inspection
from buildlint.inspection import inspect
from buildlint.inspector import Inspector, Told, Work
from buildlint.reports.as_json import inspection_json
from buildlint.reports.as_junit import inspection_junit
from buildlint.reports.as_sarif import inspection_sarif
from buildlint.reports.lines import inspection_lines
from buildlint.reports.text import inspection_text
from tests.bench.season import season
from tests.make_unit_sizes import NAMES

BY_SEASON = settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
DAY = datetime.date(2027, 6, 5)
pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="needs a system that forks")

_SPOILT: tuple[Callable[[str], str], ...] = (
    lambda text: text.replace(" mm", " mn", 1),
    lambda text: text.replace("oil =", "oill =", 1),
    lambda text: text.replace('"', "", 1),
    lambda text: text.replace("[bench]", "[bench", 1),
    lambda text: text.replace('car = "car-', 'car = "kart-', 1),
    lambda text: text.replace("four-", "five-", 1),
    lambda text: text.replace("%", "wt", 1),
    lambda text: text.replace("[rear]", "[tail]", 1),
    lambda text: "",
    lambda text: "\x1b[2J\n" + text,
    lambda text: text.replace('hold_back = "', 'hold_back = "9', 1),
    lambda text: text.replace("[front.left]", '[front.left]\nair = "0.1 ml"', 1),
    lambda text: text.replace("car =", 'style = "emulsion"\ncar =', 1),
)
_SETTINGS = """
[rules."pair/rebound"]
level = "must"

[[concession]]
rule = "pair/length"
reason = "the long rod end"
until = 2027-06-30

[[concession]]
rule = "pair/hold-back"
build = "set-00003"
where = "front"
reason = "tried on purpose"
until = 2027-06-30

[[concession]]
rule = "bench/steps"
reason = "nothing needs this"
until = 2027-06-30
"""


def _spoilt_season(folder: Path, builds: int, seed: int) -> None:
    """A season in which some builds have a mistake, and the team has rules and leave of its own."""
    season(folder, builds, seed)
    chance = random.Random(seed)
    files = sorted((folder / "builds").rglob("*.toml"))
    for path in chance.sample(files, len(files) // 5):
        spoil = chance.choice(_SPOILT)
        path.write_text(spoil(path.read_text("utf-8")), "utf-8")
    if chance.random() < 0.5:
        (folder / "buildlint.toml").write_text(_SETTINGS, "utf-8")
    if chance.random() < 0.3:
        (folder / "cars" / "car-00.car.toml").write_text("name = 'Cut off\n", "utf-8")


def _reports(found: Inspection) -> list[str]:
    return [
        inspection_text(found, False, True),
        inspection_lines(found),
        inspection_json(found),
        inspection_sarif(found),
        inspection_junit(found, True),
    ]


@pytest.fixture
def shared_out(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Small seasons are shared out too; in how many processes, is noted."""
    monkeypatch.setattr(inspection, "_WORTH_A_PROCESS", 5)
    monkeypatch.setattr(workers, "_AT_A_TIME", 3)
    noted: list[int] = []
    real = workers.tell_together

    def told(*args: Any, at_once: int) -> Iterator[Told]:
        noted.append(at_once)
        return real(*args, at_once=at_once)

    monkeypatch.setattr(workers, "tell_together", told)
    return noted


@settings(BY_SEASON, max_examples=8)
@given(seed=st.integers(0, 2**32), builds=st.integers(15, 50))
def test_two_processes_tell_what_one_tells(tmp_path_factory, shared_out, seed, builds):
    folder = tmp_path_factory.mktemp("season")
    _spoilt_season(folder, builds, seed)
    one, two = (_reports(inspect(folder, on=DAY, at_once=n)) for n in (1, 2))
    assert one == two
    assert shared_out.pop() == 2 and not shared_out


@settings(BY_SEASON, max_examples=6)
@given(seed=st.integers(0, 2**32))
def test_one_build_at_a_time_is_told_as_among_many(tmp_path_factory, seed):
    """At length, as a hook judges it, or in brief, as CI does."""
    folder = tmp_path_factory.mktemp("season")
    season(folder, 20, seed)
    together = inspect(folder, on=DAY)
    for judged in together.builds:
        (alone,) = inspect(judged.path, on=DAY).builds
        assert list(alone.held) == list(judged.held)
        assert alone.findings == judged.findings
        assert [f.cure_figures for f in alone.findings] == [f.cure_figures for f in judged.findings]


def _size_by_pint(unit: str, dimension: str) -> tuple[float, float] | None:
    base, units = NAMES[dimension]
    if unit not in units:
        return None
    zero, one = (REGISTRY.Quantity(Fraction(n), units[unit]).to(base).magnitude for n in (0, 1))
    return float(one - zero), float(zero)


REGISTRY: pint.UnitRegistry[Any] = pint.UnitRegistry(non_int_type=Fraction)


@settings(BY_SEASON, max_examples=5)
@given(seed=st.integers(0, 2**32))
def test_the_table_of_units_tells_what_pint_tells(tmp_path_factory, seed):
    folder = tmp_path_factory.mktemp("season")
    _spoilt_season(folder, 20, seed)
    by_table = _reports(inspect(folder, on=DAY))
    asked: list[str] = []

    def by_pint(unit: str, dimension: str) -> tuple[float, float] | None:
        asked.append(unit)
        return _size_by_pint(unit, dimension)

    with pytest.MonkeyPatch.context() as patch:
        kind._read_text.cache_clear()
        patch.setattr(readings, "size", by_pint)
        assert _reports(inspect(folder, on=DAY)) == by_table
    kind._read_text.cache_clear()
    assert len(asked) > 100


# --- what becomes of a process -------------------------------------------------------------------


@pytest.fixture
def work(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Work:
    season(tmp_path, 60)
    monkeypatch.setattr(workers, "_AT_A_TIME", 4)
    return Work(tmp_path, frozenset(files_below(tmp_path)), None, DAY)


def _told(work: Work, start: Literal["fork", "spawn"] | None = "fork") -> Iterator[Told]:
    team = work.team()
    own = Inspector(team, work.force(), work.on, many=True)
    return workers.tell_together(work, own, team.paths("build"), 2, start)


def _in_one(work: Work) -> list[Any]:
    team = work.team()
    told = Inspector(team, work.force(), work.on, many=True).tell(team.paths("build"))
    return [(b.id, list(b.held), b.findings, b.counts) for b in told.builds]


def _in_order(told: list[Told]) -> list[Any]:
    return [(b.id, list(b.held), b.findings, b.counts) for t in told for b in t.builds]


@pytest.mark.parametrize("start", ["fork", "spawn", None])
def test_builds_are_told_in_their_order(work, start):
    assert _in_order(list(_told(work, start))) == _in_one(work)
    assert multiprocessing.active_children() == []


def test_other_processes_judge_and_this_one_waits(work, monkeypatch):
    here = os.getpid()
    real = Inspector.tell

    def tell(self: Inspector, paths: Any) -> Told:
        assert os.getpid() != here
        return real(self, paths)

    wanted = _in_one(work)
    monkeypatch.setattr(Inspector, "tell", tell)
    assert _in_order(list(_told(work))) == wanted


def test_what_a_killed_process_left_is_judged_here(work):
    told = _told(work)
    first = next(told)
    for child in multiprocessing.active_children():
        os.kill(child.pid or 0, signal.SIGKILL)
        break
    assert _in_order([first, *told]) == _in_one(work)


def test_all_killed_at_once(work):
    told = _told(work)
    first = next(told)
    for child in multiprocessing.active_children():
        os.kill(child.pid or 0, signal.SIGKILL)
    assert _in_order([first, *told]) == _in_one(work)


def test_a_process_in_which_something_goes_wrong_leaves_it_to_this_one(work, monkeypatch):
    """So that what goes wrong shows where it is seen."""
    here = os.getpid()
    real = Inspector.tell

    def tell(self: Inspector, paths: Any) -> Told:
        if os.getpid() != here:
            raise MemoryError
        return real(self, paths)

    monkeypatch.setattr(Inspector, "tell", tell)
    assert _in_order(list(_told(work))) == _in_one(work)


def test_a_run_that_ends_early_leaves_no_process_behind(work):
    told = _told(work)
    next(told)
    assert multiprocessing.active_children()
    told.close()  # type: ignore[attr-defined]
    assert multiprocessing.active_children() == []


def test_a_process_that_has_nobody_to_tell_stops(work):
    ours, theirs = multiprocessing.get_context("fork").Pipe(duplex=False)
    paths = work.team().paths("build")
    ours.close()
    before = signal.getsignal(signal.SIGINT)
    try:
        workers._tell(work, [(0, paths)], theirs)  # a broken pipe ends it, and nothing is raised
        # it let go of its end: nobody waits for more
        assert theirs.closed
    finally:
        signal.signal(signal.SIGINT, before)


def test_as_many_processes_as_there_are_cores():
    assert 1 <= workers.cores() <= (os.cpu_count() or 1)


def test_few_builds_start_no_process(tmp_path, monkeypatch):
    season(tmp_path, 60)
    monkeypatch.setattr(workers, "tell_together", None)
    assert len(inspect(tmp_path, on=DAY, at_once=None).builds) == 60


@pytest.mark.parametrize("start", ["fork", "spawn"])
def test_a_process_is_started_so_that_none_interrupts_it(work, start, monkeypatch):
    """An interruption that came before it says so itself would show where it was."""
    asked = []
    for process in (multiprocessing.context.ForkProcess, multiprocessing.context.SpawnProcess):
        real = process._Popen

        def popen(process: Any, real: Any = real) -> Any:
            started = real(process)
            asked.append(signal.SIGINT in signal.pthread_sigmask(signal.SIG_BLOCK, []))
            return started

        monkeypatch.setattr(process, "_Popen", staticmethod(popen))
    assert _in_order(list(_told(work, start))) == _in_one(work)
    assert asked == [True, True]
    assert signal.SIGINT not in signal.pthread_sigmask(signal.SIG_BLOCK, [])


@pytest.mark.parametrize("fails", ["_Popen", "Pipe"])
@pytest.mark.parametrize("first", [0, 1])
def test_where_no_more_processes_can_be_started_the_rest_is_judged_here(
    work, monkeypatch, fails, first
):
    where: Any = multiprocessing.context.ForkProcess
    if fails == "Pipe":
        where = multiprocessing.context.BaseContext
    real = getattr(where, fails)
    count = []

    def scarce(*words: Any, **more: Any) -> Any:
        count.append(1)
        if len(count) > first:
            raise BlockingIOError(errno.EAGAIN, "Resource temporarily unavailable")
        return real(*words, **more)

    monkeypatch.setattr(where, fails, staticmethod(scarce) if fails == "_Popen" else scarce)
    assert _in_order(list(_told(work))) == _in_one(work)
    assert len(count) == first + 1
    assert multiprocessing.active_children() == []

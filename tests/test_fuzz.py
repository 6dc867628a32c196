"""A little odd input of each kind, and that the search for more finds what it should."""

from __future__ import annotations

import os
import random
from collections.abc import Iterator
from typing import Any

import pytest
import tomli

from tests.fuzz.mutations import mutated, quoted
from tests.fuzz.processes import blind, shared_out
from tests.fuzz.run import Tally, case_of, run, told
from tests.fuzz.targets import TARGETS, Case, Target, packed, unpacked

pytestmark = pytest.mark.whole


@pytest.fixture
def target(request: pytest.FixtureRequest) -> Iterator[Target]:
    made = TARGETS[request.param]()
    yield made
    made.close()


@pytest.mark.parametrize(
    ("target", "how_many"),
    [("readings", 15_000), ("files", 400), ("rules", 30), ("repositories", 12)],
    indirect=["target"],
)
def test_no_odd_input_brings_it_down(target: Target, how_many: int) -> None:
    tally = run(target, (f"7/{number}" for number in range(how_many)), Tally())
    assert tally.tried == how_many
    assert not tally.crashes, "\n".join(told(tally))


@pytest.mark.parametrize("target", list(TARGETS), indirect=True)
def test_a_seed_stands_for_one_case(target: Target) -> None:
    cases = [packed(case_of(target, f"3/{number}")) for number in range(20)]
    assert cases == [packed(case_of(target, f"3/{number}")) for number in range(20)]
    assert len(set(cases)) > 15


@pytest.mark.parametrize("target", ["repositories", "rules"], indirect=True)
def test_a_case_leaves_the_next_one_its_files_as_they_were(target: Any) -> None:
    root = target.folder if target.name == "repositories" else target.root

    def files() -> dict[str, bytes]:
        paths = (path for path in root.rglob("*") if path.is_file())
        return {str(path): path.read_bytes() for path in paths}

    before = files()
    run(target, (f"5/{number}" for number in range(5)), Tally())
    assert files() == before


class _Fragile(Target):
    """Fails on a 7 in the file called b, in two ways."""

    name = "fragile"

    def make(self, chance: random.Random) -> Case:
        letters = "".join(chance.choices("0123456789abc\n", k=40))
        return {"a": b"nothing of interest", "b": letters.encode()}

    def attempt(self, case: Case) -> None:
        if b"77" in case["b"]:
            raise LookupError("two of them")
        if b"7" in case["b"]:
            raise ZeroDivisionError("one of them")


def test_a_crash_is_told_with_its_seed_and_its_smallest_input() -> None:
    target = _Fragile()
    tally = run(target, map(str, range(200)), Tally())
    assert tally.tried == 200
    crashes = {crash.what.split(" ")[0]: crash for crash in tally.crashes.values()}
    assert {kind: crash.case for kind, crash in crashes.items()} == {
        "LookupError": {"b": b"77"},
        "ZeroDivisionError": {"b": b"7"},
    }
    failing = [n for n in range(200) if b"7" in case_of(target, str(n))["b"]]
    assert sum(crash.times for crash in crashes.values()) == len(failing)
    first = next(n for n in failing if b"77" not in case_of(target, str(n))["b"])
    assert crashes["ZeroDivisionError"].seed == str(first)
    text = "\n".join(told(tally))
    assert f"first with seed {first}" in text
    assert "#### b\\n77\\n" in text


def test_tallies_are_added() -> None:
    target = _Fragile()
    whole = run(target, map(str, range(60)), Tally())
    halves = run(target, map(str, range(30)), Tally())
    halves.add(run(target, map(str, range(30, 60)), Tally()))
    assert halves.tried == 60
    assert {s: c.times for s, c in halves.crashes.items()} == {
        s: c.times for s, c in whole.crashes.items()
    }


def test_cases_are_shared_out_among_processes() -> None:
    tally = shared_out("readings", 301, seed=1, processes=2, led=False, seconds=300)
    assert tally.tried == 301
    assert not tally.crashes


def _dies_at_five(
    pipe: Any, now: Any, name: str, start: int, end: int, step: int, seed: int
) -> None:
    if start <= 5:
        now.value = 5
        os._exit(3)
    blind(pipe, now, name, start, end, step, seed)


def test_a_process_that_dies_is_told_with_its_case_and_the_rest_is_tried() -> None:
    tally = shared_out("readings", 12, 1, 1, False, 300, work=_dies_at_five)
    (crash,) = tally.crashes.values()
    assert (crash.what, crash.seed) == ("dies with 3", "1/5")
    assert crash.case == case_of(TARGETS["readings"](), "1/5")
    # the one that died, and six behind it
    assert tally.tried == 7


def test_any_bytes_are_a_case_and_a_case_comes_back() -> None:
    chance = random.Random(1)
    for _ in range(300):
        unpacked(chance.randbytes(60))
    case = {"repository": b"saltmarsh", "a/\udcff.car.toml": b"\n\xff\n#\n", "- gone": b""}
    assert unpacked(packed(case)) == case


def test_quoted_text_is_read_back() -> None:
    text = 'a"\\\x00\n\x7f\u202e±'
    assert tomli.loads(f"a = {quoted(text)}") == {"a": text}


def test_mutations_are_now_right_now_wrong() -> None:
    good = 'car = "heron"\n[front]\noil = "o450"\nhold_back = "6.4 mm"\n[rear]\noil = "o450"\n'
    chance = random.Random(2)
    read = 0
    for _ in range(300):
        try:
            tomli.loads(mutated(chance, good).decode())
            read += 1
        except (ValueError, RecursionError):
            pass
    # most are still TOML: what reads the tables behind it is tried as much as the parser
    assert 100 < read < 290

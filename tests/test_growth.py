"""What many files cost: what is done for each file does not grow with how many there are.

Calls of functions are counted, and not seconds: a loaded machine makes no difference.
"""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from buildlint import inspect_team
from buildlint.commands.cli import main
from tests.making import write

Files = dict[str, str]

SPRING = '[spring.soft]\nrate = "0.82 N/mm"\n'
CAR = 'name = "C"\n'


def on_each_letter(number: int) -> str:
    """Write a name with capitals where the number, in binary, has a one."""
    return "".join(c.upper() if number >> k & 1 else c for k, c in enumerate("heronswift"))


def concession(number: int) -> str:
    return (
        f'[[concession]]\nrule = "pair/length"\nbuild = "none-{number}"\n'
        'reason = "r"\nuntil = 2999-01-01\n'
    )


def of_each(name: str, text: str) -> Callable[[int], Files]:
    """Make one file for each number, which stands for # in its name and in its text."""
    return lambda many: {name.replace("#", str(n)): text.replace("#", str(n)) for n in range(many)}


#: What many files may have in common, by the number of them.
ALIKE: dict[str, Callable[[int], Files]] = {
    "cars of one id": of_each("f#/heron.car.toml", CAR),
    "cars of one name": of_each("c#.car.toml", CAR),
    "events of one id": of_each("f#/quarry.event.toml", 'name = "Q"\n'),
    "builds of one id": of_each("f#/heron.build.toml", 'car = "none"\n'),
    "drawers with one id": of_each("d#.parts.toml", SPRING),
    "names alike but for capitals": lambda many: {
        f"{n}/{on_each_letter(n)}.car.toml": CAR for n in range(many)
    },
    "ids in two drawers": lambda many: {
        f"{name}.parts.toml": "".join(SPRING.replace("soft", f"s{n}") for n in range(10 * many))
        for name in "ab"
    },
    "builds of a missing car": lambda many: {
        **of_each("b#.build.toml", 'car = "none"\n')(many),
        **of_each("c#.car.toml", CAR)(min(many, 40)),
    },
    "blends of a missing oil": of_each(
        "d#.parts.toml", '[oil.o#]\nblend = { none = "50 %", other = "50 %" }\n'
    ),
    "unknown keys": of_each("c#.car.toml", f"{CAR}colour = 3\nwings = 4\n"),
    "concessions for missing builds": lambda many: {
        "buildlint.toml": "".join(map(concession, range(many))),
        **of_each("b#.build.toml", 'car = "none"\n')(40),
    },
    "broken drawers": lambda many: {
        **of_each("d#.parts.toml", "= broken")(many),
        **of_each("b#.build.toml", '[front]\noil = "o#"\npiston = "p#"\n')(many),
    },
    "headings twice": lambda many: {
        "a.parts.toml": "".join(SPRING.replace("soft", f"s{n}") * 2 for n in range(many))
    },
}


def calls_of(work: Callable[[], Any]) -> int:
    """Count the calls that some work makes, of functions in Python and in C."""
    count = 0

    def tally(_frame: Any, event: str, _of: Any) -> None:
        nonlocal count
        count += event in ("call", "c_call")

    before = sys.getprofile()
    sys.setprofile(tally)
    try:
        work()
    finally:
        sys.setprofile(before)
    return count


def judge(*folders: Path) -> None:
    assert main(["inspect", *map(str, folders)]) == 1


@pytest.mark.parametrize("what", ALIKE)
def test_twice_the_files_take_twice_the_work(tmp_path: Path, what: str) -> None:
    few, many = (write(tmp_path / str(n), ALIKE[what](n)) for n in (100, 200))
    judge(few)  # what is loaded once is loaded now
    assert calls_of(lambda: judge(many)) < 2.2 * calls_of(lambda: judge(few))


def test_twice_the_folders_named_take_twice_the_work(tmp_path: Path) -> None:
    few, many = (
        sorted(
            path
            for path in write(
                tmp_path / str(n), of_each("f#/b#.build.toml", 'car = "none"\n')(n)
            ).iterdir()
            if path.is_dir()
        )
        for n in (100, 200)
    )
    judge(*few)
    assert calls_of(lambda: judge(*many)) < 2.2 * calls_of(lambda: judge(*few))


def test_files_of_one_id_are_told_in_one_finding_each(tmp_path: Path) -> None:
    write(tmp_path, ALIKE["cars of one id"](6))
    write(tmp_path, ALIKE["drawers with one id"](4))
    found = [f for f in inspect_team(tmp_path).in_files if f.rule == "file/id-twice"]
    assert len(found) == 10
    messages = {f.file.rpartition("/")[2]: f.message for f in found}
    assert messages["d0.parts.toml"] == (
        'the spring "soft" is also in d1.parts.toml, d2.parts.toml and d3.parts.toml: '
        "give each an id of its own"
    )
    assert messages["heron.car.toml"] == (
        'the car "heron" is also f0/heron.car.toml, f1/heron.car.toml, f2/heron.car.toml and '
        "2 more files: give each file a name of its own"
    )


# Starts a command from a small process: room counts from that of the one that started it.
MEASURED = """
import resource, subprocess, sys
code = subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL).returncode
used = resource.getrusage(resource.RUSAGE_CHILDREN)
print(code, used.ru_utime + used.ru_stime, used.ru_maxrss)
"""


@pytest.mark.skipif(sys.platform != "linux", reason="room is counted in other units elsewhere")
@pytest.mark.parametrize("what", ["cars of one id", "builds of one id", "drawers with one id"])
def test_two_thousand_files_of_one_id_take_seconds_and_no_room(tmp_path: Path, what: str) -> None:
    write(tmp_path, ALIKE[what](2000))
    command = [sys.executable, "-m", "buildlint", "inspect", str(tmp_path)]
    measured = [sys.executable, "-c", MEASURED, *command]
    done = subprocess.run(measured, capture_output=True, text=True, check=True)
    code, seconds, kilobytes = map(float, done.stdout.split())
    assert code == 1
    assert seconds < 8
    assert kilobytes < 100_000

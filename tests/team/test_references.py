"""Ids that stand for nothing: told where they stand, with what was meant."""

import os
from collections.abc import Collection
from pathlib import Path

import pytest

from buildlint.team import references
from buildlint.team.load import load_team
from tests.small_team import CAR, FILES, told, write


@pytest.fixture
def root(tmp_path: Path) -> Path:
    return write(tmp_path / "saltmarsh", FILES)


@pytest.mark.parametrize(
    ("oils", "looked_up"),
    [
        # each is of two that are not there: no more than a file's first hundred are looked up
        (300, 100),
        # among so many ids, none: it would take minutes
        (2500, 0),
    ],
)
def test_thousands_of_dead_references_are_told_without_looking_for_each(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, oils: int, looked_up: int
) -> None:
    blends = (f'[oil.o{n}]\nblend = {{ x{n} = "50 %", y{n} = "50 %" }}\n' for n in range(oils))
    write(tmp_path, {"buildlint.toml": "", "a.parts.toml": "".join(blends)})
    looked: list[str] = []

    def nearest(word: str, known: Collection[str]) -> None:
        looked.append(word)

    monkeypatch.setattr(references, "nearest", nearest)
    team = load_team(tmp_path)
    team.parts()
    faults = team.file(tmp_path / "a.parts.toml").faults
    assert [fault.rule for fault in faults] == ["file/no-such-id"] * 2 * oils
    assert faults[-1].message.startswith(f'there is no oil "y{oils - 1}"')
    assert len(looked) == looked_up


@pytest.mark.parametrize(
    ("file", "old", "new", "place", "message"),
    [
        (
            "builds/heron-quarry.build.toml",
            'car = "heron"',
            'car = "hern"',
            (1, 7, 13),
            'there is no car "hern"; did you mean "heron"?',
        ),
        (
            "builds/heron-quarry.build.toml",
            '"quarry"',
            '"estuary-sprint"',
            (2, 9, 25),
            'there is no event "estuary-sprint"; to choose from: "quarry"',
        ),
        (
            "builds/heron-quarry.build.toml",
            'oil = "thin"',
            'oil = "thn"',
            (9, 7, 12),
            'there is no oil "thn"; did you mean "thin"?',
        ),
        (
            "builds/heron-quarry.build.toml",
            "[rear]",
            'left.piston = "five"\n[rear]',
            (11, 15, 21),
            'there is no piston "five"; to choose from: "four"',
        ),
        (
            "builds/heron-quarry.build.toml",
            "[rear]",
            'right = { spring = "soft" }\n[rear]',
            (11, 20, 26),
            'there is no spring "soft", nor any other spring',
        ),
        (
            "cars/heron.car.toml",
            'shaft = "slim"',
            'shaft = "slim"\nbladder = "\\u001b"',
            (5, 11, 19),
            'there is no bladder "\\x1b", nor any other bladder',
        ),
        (
            "cars/heron.car.toml",
            'body = "long"',
            'body = "lonng"',
            (3, 8, 15),
            'there is no body "lonng"; did you mean "long"?',
        ),
        (
            "shelf/deep/oils.parts.toml",
            'viscosity = "600 cSt"',
            'blend = { thin = "50 %", thicc = "50 %" }',
            (4, 34, 40),
            'there is no oil "thicc"; did you mean "thick"?',
        ),
    ],
)
def test_a_reference_to_nothing_is_told_with_the_nearest_id(
    root: Path, file: str, old: str, new: str, place: tuple[int, int, int], message: str
) -> None:
    assert old in FILES[file]
    write(root, {file: FILES[file].replace(old, new, 1)})
    assert told(load_team(root)) == [(file, "file/no-such-id", *place, message)]


def test_of_many_ids_six_are_named(root: Path) -> None:
    write(root, {"cars/heron.car.toml": "", **{f"cars/c{i}.car.toml": CAR for i in range(8)}})
    os.remove(root / "cars/heron.car.toml")  # noqa: PTH107
    ((_, rule, *_, message),) = told(load_team(root))
    assert rule == "file/no-such-id"
    assert message == (
        'there is no car "heron"; to choose from: "c0", "c1", "c2", "c3", "c4", "c5", …'
    )

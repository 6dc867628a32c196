"""Holes of a piston, of one size or several."""

from typing import Any, get_args

import pytest

from buildlint.files.holes import Holes, PistonHoles
from buildlint.files.readings import Mistake


def holes(given_: object) -> Holes:
    found = get_args(PistonHoles)[1].read(given_)
    assert isinstance(found, Holes)
    return found


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("4 x 1.8 mm", [(4, 1.8, 0.02)]),
        ("4x1.8mm", [(4, 1.8, 0.02)]),
        ("4 × 1.8 mm", [(4, 1.8, 0.02)]),
        ("  4 x 1.8 mm  ", [(4, 1.8, 0.02)]),
        ("4 x 1.4 mm + 2 x 1.1 mm", [(4, 1.4, 0.02), (2, 1.1, 0.02)]),
        ("4x1.4mm+2x1.1mm", [(4, 1.4, 0.02), (2, 1.1, 0.02)]),
        ("4 x 1.4 mm ± 0.05 mm + 2 x 1.1 mm", [(4, 1.4, 0.05), (2, 1.1, 0.02)]),
        ("4 x 1.4 mm +/- 0.05 mm + 2 x 1.1 mm", [(4, 1.4, 0.05), (2, 1.1, 0.02)]),
        ("4 x 1.4 +/- 0.05 mm + 2 x 1.1 +- 0.1 mm", [(4, 1.4, 0.05), (2, 1.1, 0.1)]),
        ("1 x 1 mm + 1 x 1.1 mm + 1 x 1.2 mm", [(1, 1.0, 0.02), (1, 1.1, 0.02), (1, 1.2, 0.02)]),
        # 1/16 in = 1.5875 mm
        ("6 x 1/16 in", [(6, 1.5875, 0.02)]),
        ('6 x 1/16" + 1 x 1 mm', [(6, 1.5875, 0.02), (1, 1.0, 0.02)]),
        # 5 % of 2 mm
        ("999 x 2 mm ± 5 %", [(999, 2.0, 0.1)]),
        ("2 x 2 mm ± 5 % + 2 x 1 mm", [(2, 2.0, 0.1), (2, 1.0, 0.02)]),
    ],
)
def test_holes_of_one_size_or_several(text: str, expected: list[tuple[int, float, float]]) -> None:
    got = holes(text)
    assert got.text == text
    assert [n for n, _ in got.groups] == [n for n, _, _ in expected]
    for (_, reading), (_, size, half) in zip(got.groups, expected, strict=True):
        assert reading.value == pytest.approx(size * 1e-3)
        assert reading.high - reading.value == pytest.approx(half * 1e-3)


@pytest.mark.parametrize(
    ("given_", "rule", "message"),
    [
        ("", "file/not-a-reading", "is not a number of holes and their size, such as"),
        ("1.8 mm", "file/not-a-reading", '"1.8 mm" is not a number of holes and their size'),
        ("0 x 1.8 mm", "file/not-a-reading", "is not a number of holes and their size"),
        ("-4 x 1.8 mm", "file/not-a-reading", "is not a number of holes and their size"),
        ("4.5 x 1.8 mm", "file/not-a-reading", "is not a number of holes and their size"),
        ("1000 x 1.8 mm", "file/not-a-reading", "is not a number of holes and their size"),
        ("٤ x 1.8 mm", "file/not-a-reading", "is not a number of holes and their size"),
        ("4 x 1.8 mm +", "file/not-a-reading", "is not a number of holes and their size"),
        ("4 x 1.8", "file/not-a-reading", '"1.8" has no unit; a length belongs here'),
        ("4 x 1.8 cSt", "file/wrong-dimension", '"1.8 cSt" is a kinematic viscosity'),
        ("4 x 1.8 mn", "file/unknown-unit", "did you mean mm?"),
        ("4 x 18 mm", "file/out-of-range", '"18 mm" is out of range: this takes 0.1 mm to 10 mm'),
        ("4 x -1 mm", "file/out-of-range", '"-1 mm" is out of range'),
        ("4 x nan mm", "file/not-a-reading", '"nan mm" is not a number and a unit'),
        (4, "file/not-a-reading", "write the holes in quotes"),
        (None, "file/not-a-reading", "write the holes in quotes"),
        (["4 x 1.8 mm"], "file/not-a-reading", "write the holes in quotes"),
        (" + ".join(["1 x 1 mm"] * 9), "file/not-a-reading", "at most 8 sizes of hole fit here"),
        pytest.param(
            "4 x " + "1" * 100_000,
            "file/not-a-reading",
            "has 100,004 characters; holes take at most 128",
            id="100,004 characters",
        ),
    ],
)
def test_what_are_no_holes_is_refused(given_: Any, rule: str, message: str) -> None:
    with pytest.raises(Mistake) as caught:
        holes(given_)
    assert caught.value.rule == rule
    assert message in caught.value.message
    assert len(caught.value.message) < 250


def test_eight_sizes_of_hole_fit() -> None:
    assert len(holes(" + ".join(["1 x 1 mm"] * 8)).groups) == 8

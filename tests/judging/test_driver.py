"""What a driver feels of a change: three lines, made of the damping of both builds."""

from __future__ import annotations

import pytest

from buildlint.judging.driver import driver_lines
from buildlint.judging.figures import FigureLine

_Lines = dict[tuple[str, str | None], dict[str, FigureLine]]


def build(**damping: tuple[float | None, float | None]) -> _Lines:
    """Front and rear at each condition, alike on both sides."""
    found: _Lines = {}
    for condition, ends in damping.items():
        corners = found.setdefault(("damping", condition), {})
        for end, value in zip(("front", "rear"), ends, strict=True):
            missing = ("oil",) if value is None else ()
            for side in ("left", "right"):
                line = FigureLine(f"{end}.{side}", "damping", condition, value, missing=missing)
                corners[line.subject] = line
    return found


def told(old: _Lines, new: _Lines, *within: tuple[str, str]) -> tuple[str, str, str]:
    def is_within(measure: str, condition: str | None, corner: str) -> bool:
        return (condition, corner.partition(".")[0]) in within

    return driver_lines(old, new, is_within)


OLD = build(cold=(100.0, 200.0), hot=(50.0, 100.0))


def test_each_end_against_itself_and_front_against_rear() -> None:
    """160/100, 50.5/50; 100/200, 100/100; (160/100)/(100/200) = 3.2, 1.01/1."""
    new = build(cold=(160.0, 100.0), hot=(50.5, 100.0))
    assert told(OLD, new) == (
        "Front damps 60 % more when cold, 1 % more when hot.",
        "Rear damps 50 % less when cold, the same when hot.",
        "Against the rear, the front damps 220 % more when cold, 1 % more when hot.",
    )


@pytest.mark.parametrize(
    ("within", "ends"),
    [
        ([], []),
        ([("cold", "front")], []),
        ([("cold", "front"), ("hot", "front")], ["Front"]),
        ([("cold", "rear"), ("hot", "rear")], ["Rear"]),
        (
            [(condition, end) for condition in ("cold", "hot") for end in ("front", "rear")],
            ["Front", "Rear", "Against"],
        ),
    ],
)
def test_within_tolerance_is_what_is_so_when_cold_and_when_hot_and_at_both_ends(
    within: list[tuple[str, str]], ends: list[str]
) -> None:
    new = build(cold=(102.0, 206.0), hot=(51.0, 103.0))
    lines = told(OLD, new, *within)
    assert [line.split()[0] for line in lines if "within tolerance" in line] == ends


def test_the_sides_of_an_end_are_taken_together() -> None:
    """100 and 100 before, 100 and 120 now: 220 for 200."""
    new = build(cold=(100.0, 200.0), hot=(50.0, 100.0))
    corner = "front.right"
    new["damping", "cold"][corner] = FigureLine(corner, "damping", "cold", 120.0)
    assert told(OLD, new)[0] == "Front damps 10 % more when cold, the same when hot."


def test_at_the_bench_where_one_of_both_has_no_event() -> None:
    old = build(bench=(100.0, 100.0), cold=(1.0, 1.0), hot=(1.0, 1.0))
    new = build(bench=(100.0, 80.0))
    for was, now, rear in ((old, new, "20 % less"), (new, old, "25 % more")):
        lines = told(was, now)
        assert lines[:2] == (
            "Front damps the same at the bench.",
            f"Rear damps {rear} at the bench.",
        )


def test_what_is_not_known_on_either_side_cannot_be_compared() -> None:
    unknown = build(cold=(None, 200.0), hot=(50.0, 100.0))
    for old, new in ((OLD, unknown), (unknown, OLD)):
        assert told(old, new) == (
            "Front: the damping cannot be compared (needs oil).",
            "Rear damps the same when cold and when hot.",
            "Front against rear: the damping cannot be compared.",
        )
    nothing: _Lines = {key: {} for key in OLD}
    assert told(OLD, nothing)[0] == "Front: the damping cannot be compared."

"""Figures of two builds side by side: which differ, in which order they are told."""

from __future__ import annotations

from itertools import permutations
from math import inf

from buildlint.judging.compare import FigureChange, by_corner, figure_changes
from buildlint.judging.figures import FigureLine


def line(
    measure: str,
    value: float | str | None,
    subject: str = "front",
    condition: str | None = None,
    **more: object,
) -> FigureLine:
    return FigureLine(subject, measure, condition, value, unit="mm", **more)  # type: ignore[arg-type]


def within(measure: str, condition: str | None, corner: str) -> bool:
    """Only what the stroke differs by is within tolerance."""
    return measure == "stroke"


def changes(old: list[FigureLine], new: list[FigureLine]) -> tuple[FigureChange, ...]:
    return figure_changes(by_corner(old), by_corner(new), within)[0]


def test_room_then_ratio_then_balances_then_verdicts_then_the_rest_then_what_is_within() -> None:
    measures = [
        ("into_body_use", "front"),
        ("into_cap_use", "front"),
        ("emulsion_use", "front"),
        ("after_flight_use", "front"),
        ("road_use", "front"),
        ("damping_ratio", "front"),
        ("damping_balance", "car"),
        ("frequency_balance", "car"),
        ("coil_gap", "front"),  # the rules say another thing of these two
        ("pack_speed", "front"),
        ("hold_back", "front"),
        ("length", "front"),
    ]
    judged = ("coil_gap", "pack_speed")
    old = [line(m, 1.0, s, verdict="holds" if m in judged else None) for m, s in measures]
    new = [line(m, 2.0, s, verdict="fails" if m in judged else None) for m, s in measures]
    old.append(line("stroke", 1.0))
    new.append(line("stroke", 2.0))
    told = [change.measure for change in changes(old[::-1], new[::-1])]
    room = {m for m, _ in measures[:5]}
    assert set(told[:5]) == room
    assert told[5] == "damping_ratio"
    assert set(told[6:8]) == {"damping_balance", "frequency_balance"}
    assert told[8:] == ["coil_gap", "pack_speed", "hold_back", "length", "stroke"]


def test_conditions_of_the_event_come_before_the_bench_whatever_the_order() -> None:
    for order in permutations(("bench", "cold", "hot")):
        old = [line("damping_ratio", 1.0, condition=c) for c in order]
        new = [line("damping_ratio", 2.0, condition=c) for c in order]
        assert [c.condition for c in changes(old, new)] == ["cold", "hot", "bench"]


def test_an_end_in_one_and_its_corners_in_the_other_are_held_corner_by_corner() -> None:
    old = [line("length", 1.0, "front")]
    new = [line("length", 1.0, "front.left"), line("length", 3.0, "front.right")]
    found, same, not_known = figure_changes(by_corner(old), by_corner(new), within)
    (one,) = found
    assert (one.subject, one.difference, one.unit) == ("front.right", 2.0, "mm")
    assert one.old is not None and one.old.subject == "front.right"
    assert (same, not_known) == (1, 0)


def test_what_is_known_in_neither_is_counted_apart() -> None:
    missing = line("length", None, missing=("length",))
    other = line("length", None, missing=("another",))
    assert figure_changes(by_corner([missing]), by_corner([other]), within) == ((), 0, 1)
    assert figure_changes(by_corner([missing, line("stroke", 1.0)]), {}, within)[1:] == (0, 1)
    (one,) = changes([missing], [line("length", 1.0)])
    assert (one.difference, one.within_tolerance) == (None, False)


def test_words_differ_or_only_what_the_rules_say_of_them() -> None:
    (one,) = changes([line("oil", "o450")], [line("oil", "o600")])
    assert (one.difference, one.within_tolerance, one.verdict_changed) == (None, False, False)
    (one,) = changes([line("oil", "o450", verdict="holds")], [line("oil", "o450", verdict="fails")])
    assert one.within_tolerance and one.verdict_changed


def test_what_has_no_end_is_the_same_as_itself_and_has_no_difference() -> None:
    endless = line("into_cap_use", inf)
    assert changes([endless], [endless]) == ()
    (one,) = changes([line("into_cap_use", 1.0)], [endless])
    assert (one.difference, one.within_tolerance) == (None, False)

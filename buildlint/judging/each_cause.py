"""Tell each cause once: a should says nothing where a must has found its reading at fault."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from buildlint.judging.judgement import Judgement

__all__ = ["each_cause_once"]


def each_cause_once(
    judgements: Sequence[Judgement], is_conceded: Callable[[Judgement], bool]
) -> Iterator[Judgement]:
    """Yield the judgements but the shoulds whose reading a must has already found at fault.

    A should whose figure follows that of a must goes with the must's judgement; one that follows a
    reading is not told where both sides of it are found apart. A must that is conceded finds
    nothing at fault.
    """
    at_fault = {
        (judgement.measure.about, damper.corner)
        for judgement in judgements
        if judgement.rule.level == "must" and judgement.verdict == "fails"
        if not judgement.rule.compares_sides and not is_conceded(judgement)
        for damper in judgement.dampers
    }
    followed = {
        (judgement.measure.name, damper.corner)
        for judgement in judgements
        if (judgement.rule.level == "must" and judgement.verdict in ("fails", "borderline"))
        or (judgement.rule.compares_sides and judgement.verdict == "fails")
        for damper in judgement.dampers
    }
    kept: list[Judgement] = []
    with_others: list[Judgement] = []
    for judgement in judgements:
        measure, rule = judgement.measure, judgement.rule
        follows = all(
            (measure.about, d.corner) in at_fault or (measure.follows, d.corner) in followed
            for d in judgement.dampers
        )
        fails = rule.level == "should" and judgement.verdict == "fails"
        left_out = fails and follows and not rule.compares_sides
        (with_others if left_out else kept).append(judgement)
    for judgement in kept:
        must, own = judgement.rule.level == "must", {d.corner for d in judgement.dampers}
        also = [
            other
            for other in with_others
            if must and other.measure.follows == judgement.measure.name
            if not own.isdisjoint(d.corner for d in other.dampers)
        ]
        yield replace(judgement, also=also[0]) if also else judgement

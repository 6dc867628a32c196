"""Which dampers of a build a rule speaks of, and by which subjects it tells of them."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from buildlint.damper import Damper
from buildlint.figure import speaks
from buildlint.measures import Measure
from buildlint.rule import Rule

__all__ = ["needs_class", "speaks_of", "subjects"]

#: Says whether two dampers are alike in all that a rule's measure stands on.
Alike = Callable[[Damper, Damper], bool]


def speaks_of(rule: Rule, measure: Measure, damper: Damper) -> bool:
    """Say whether a rule speaks of a damper; what is not known yet counts as if it did."""
    if not speaks(measure, damper):
        return False
    for key, word in rule.only.items():
        if key == "class":
            has = damper.car_class
            if has is not None and _class(has) != _class(word):
                return False
            continue
        has = getattr(damper, key)
        if has != word and not (has is None and key == "cap"):
            return False
    return True


def needs_class(rule: Rule, damper: Damper) -> bool:
    """Say whether a rule is for cars of one class, and that of the car is not known."""
    return "class" in rule.only and damper.car_class is None


def _class(name: str) -> str:
    return name.strip().casefold()


def subjects(
    rule: Rule, measure: Measure, dampers: Sequence[Damper], alike: Alike
) -> Iterator[tuple[str, tuple[Damper, ...]]]:
    """Give the subjects that a rule is judged on, each with the dampers that it stands for.

    What is alike on both sides is judged once for its end, what is alike on all four once for the
    car. A rule that compares left with right speaks of each end that has both.
    """
    meant = [d for d in dampers if speaks_of(rule, measure, d)]
    first = meant[0] if meant else None
    if measure.of:
        if len(meant) == 4:
            yield "car", tuple(meant)
        return
    if (
        len(meant) == 4
        and first is not None
        and not rule.compares_sides
        and all(alike(first, other) for other in meant[1:])
    ):
        yield "car", tuple(meant)
        return
    for end in ("front", "rear"):
        pair = [d for d in meant if d.end == end]
        if rule.compares_sides:
            if len(pair) == 2:
                yield end, (pair[0], pair[1])
        elif len(pair) == 2 and alike(pair[0], pair[1]):
            yield end, (pair[0], pair[1])
        else:
            for damper in pair:
                yield damper.corner, (damper,)

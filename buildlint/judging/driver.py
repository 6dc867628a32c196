"""What a driver feels of a change from one build to another, in three lines."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from buildlint.judging.figures import FigureLine
from buildlint.text.words import clean, listed

__all__ = ["driver_lines"]

# The figures of a build, by measure and condition, then by corner.
_Lines = Mapping[tuple[str, str | None], Mapping[str, FigureLine]]

_WHEN = {"cold": "when cold", "hot": "when hot", "bench": "at the bench"}


def driver_lines(
    old: _Lines, new: _Lines, within: Callable[[str, str | None, str], bool]
) -> tuple[str, str, str]:
    """Say how front, rear, and front against rear damp in the new build, against the old one.

    Each at its own event; at the bench where one of the two has none. `within` tells of a measure,
    a condition and a corner whether the difference is within tolerance.
    """
    at_events = all(("damping", "cold") in build for build in (old, new))
    conditions = ("cold", "hot") if at_events else ("bench",)
    ratios: dict[str, dict[str, float]] = {}
    told, near = [], True
    for end in ("front", "rear"):
        corners = [f"{end}.{side}" for side in ("left", "right")]
        lines = {
            condition: [
                [build.get(("damping", condition), {}).get(corner) for corner in corners]
                for build in (old, new)
            ]
            for condition in conditions
        }
        every = [line for both in lines.values() for pair in both for line in pair]
        if not all(map(_value, every)):
            needs = tuple(dict.fromkeys(m for line in every if line for m in line.missing))
            why = f" (needs {clean(listed(needs))})" if needs else ""
            told.append(f"{end.title()}: the damping cannot be compared{why}.")
            continue
        ratios[end] = {
            condition: sum(map(_value, now)) / sum(map(_value, was))
            for condition, (was, now) in lines.items()
        }
        near_here = all(within("damping", c, corner) for c in conditions for corner in corners)
        near &= near_here
        told.append(f"{end.title()} damps {_by(ratios[end], near_here)}.")
    if len(ratios) < len(told):
        return told[0], told[1], "Front against rear: the damping cannot be compared."
    balance = {c: ratios["front"][c] / ratios["rear"][c] for c in conditions}
    return told[0], told[1], f"Against the rear, the front damps {_by(balance, near)}."


def _value(line: FigureLine | None) -> float:
    """Return a figure; 0 where it is not known."""
    value = line.value if line is not None else None
    return value if isinstance(value, float) else 0.0


def _by(ratios: Mapping[str, float], near: bool) -> str:
    """Say by how much a build damps more or less than another.

    >>> _by({"cold": 1.12, "hot": 0.91}, near=False)
    '12 % more when cold, 9 % less when hot'
    >>> _by({"cold": 1.001, "hot": 1.02}, near=True)
    'the same when cold, 2 % more when hot: within tolerance'
    """
    said = []
    for condition, ratio in ratios.items():
        percent = round(100.0 * (ratio - 1.0))
        way = "more" if percent > 0 else "less"
        said.append(f"{f'{abs(percent)} % {way}' if percent else 'the same'} {_WHEN[condition]}")
    text = ", ".join(said)
    same = all(part.startswith("the same") for part in said)
    if same and len(said) > 1:
        return "the same when cold and when hot"
    return f"{text}: within tolerance" if near and not same else text

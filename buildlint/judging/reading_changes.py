"""What was written otherwise: the readings that two builds stand on, held against each other."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from buildlint.files.models import Build
from buildlint.files.names import kind_and_id
from buildlint.files.reader import FileRead
from buildlint.files.readings import Reading
from buildlint.files.unit_sizes import SIZES
from buildlint.judging.build_readings import BuildReadings, Found, Stands
from buildlint.judging.subjects import told_together
from buildlint.team.repository import Team
from buildlint.text.words import seen_from_here

__all__ = ["Change", "lies_within", "reading_changes"]

# Figures come out of sums: they meet to the last few bits.
_LAST_BITS = 1e-9

_DYNAMIC = SIZES["dynamic viscosity"].keys()


@dataclass(frozen=True, slots=True)
class Change:
    """A reading that is not the same in both builds: where it stands, and both texts as written.

    `subject` is "front.left" and the like ("front" where both sides changed alike), "bench", "" for
    the top of the build's file, "car heron front", "event quarry-six-hour", "oil o450"; an event or
    a car that is another one in each build goes without its id. `key` is the key there. A text is
    None where the reading was not given. `kind` is the kind of file that it stands in: "build",
    "car", "event" or "parts".

    A change is within tolerance where both are readings, and the value of each lies between the
    least and the most of the other.
    """

    subject: str
    key: str
    old: str | None
    new: str | None
    within_tolerance: bool
    kind: str
    old_file: str | None = None
    new_file: str | None = None

    @property
    def where(self) -> str:
        """Where the reading stands, in words: "front.left hold_back"."""
        return f"{self.subject} {self.key}".lstrip()


def reading_changes(old: tuple[Team, FileRead], new: tuple[Team, FileRead]) -> tuple[Change, ...]:
    """Give every reading of two builds that differs, in their cars, events and parts too.

    What counts is what a damper comes to have: a reading that is moved from the end's table to
    both sides with the same value is no change, nor is one that is written otherwise and means the
    same, tolerance included. A car or an event is looked into where both builds name one, a part
    where both use it: one that is swapped for another shows where the build or the car names it.
    Changes beyond tolerance come first.
    """
    if not all(isinstance(file.model, Build) for _, file in (old, new)):
        return ()  # the mistakes in the files say so
    sides = [BuildReadings(*old), BuildReadings(*new)]
    found = [*_of_build(sides[0], sides[1])]
    for kind in ("car", "event"):
        found += _of_named(kind, sides[0], sides[1])
    fitted_now = set(sides[1].parts())
    for part in sides[0].parts():
        if part in fitted_now:
            was, now = (side.part(*part) for side in sides)
            found += _differences(was, now, " ".join(part))
    return tuple(sorted(found, key=lambda change: change.within_tolerance))


def lies_within(value: float, low: float, high: float) -> bool:
    """Say whether a value lies between two others, to the last few bits.

    >>> lies_within(0.1 + 0.2, 0.0, 0.3), lies_within(0.31, 0.0, 0.3)
    (True, False)
    """
    hair = _LAST_BITS * max(abs(low), abs(high))
    return low <= value <= high or (low - hair <= value <= high + hair)


# --- what differs --------------------------------------------------------------------------------


def _of_build(old: BuildReadings, new: BuildReadings) -> Iterator[Change]:
    yield from _differences(old.top(), new.top())
    changed: dict[str, dict[str, Change]] = {}
    for change in _differences(old.corners(), new.corners()):
        changed.setdefault(change.key, {})[change.subject] = replace(change, subject="")
    for of_key in changed.values():
        for end in ("front", "rear"):
            here = {corner: c for corner, c in of_key.items() if corner.startswith(end)}
            for subject, change in told_together(here):
                yield replace(change, subject=subject)
    yield from _differences(old.notes(), new.notes())


def _of_named(kind: str, old: BuildReadings, new: BuildReadings) -> Iterator[Change]:
    idents = [getattr(side.build, kind) for side in (old, new)]
    if None in idents:
        return
    head = f"{kind} {idents[0]}" if idents[0] == idents[1] else kind
    yield from _differences(old.named(kind), new.named(kind), head)


def _differences(old: Found | None, new: Found | None, head: str = "") -> Iterator[Change]:
    if old is None or new is None:
        return  # the mistakes in the files say what cannot be found or read
    for subject, key in {**old, **new}:
        was, now = old.get((subject, key)), new.get((subject, key))
        if _same(was, now):
            continue
        old_text, new_text = (s.text if s is not None else None for s in (was, now))
        paths = [s.path for s in (was, now) if s is not None and s.text is not None]
        files = [seen_from_here(path) for path in paths]
        yield Change(
            f"{head} {subject}".strip(),
            key,
            old_text,
            new_text,
            _within(was, now),
            (kind_and_id(paths[-1].name) or ("", ""))[0] if paths else "",
            files[0] if old_text is not None else None,
            files[-1] if new_text is not None else None,
        )


def _same(was: Stands | None, now: Stands | None) -> bool:
    if was is None or now is None:
        return was is now
    pairs = _pairs(was.means, now.means)
    if pairs is None:
        return bool(was.means == now.means)
    return all(
        lies_within(a, b, b)
        for one, other in pairs
        for a, b in zip(one[:3], other[:3], strict=True)
    )


def _within(was: Stands | None, now: Stands | None) -> bool:
    pairs = _pairs(was.means, now.means) if was is not None and now is not None else None
    return pairs is not None and all(
        lies_within(one.value, other.low, other.high)
        and lies_within(other.value, one.low, one.high)
        for one, other in pairs
    )


def _pairs(was: Any, now: Any) -> list[tuple[Reading, Reading]] | None:
    """Give the readings that can be held against each other; None where these are none."""
    if not (isinstance(was, tuple) and isinstance(now, tuple)):
        return None
    if [count for count, _ in was] != [count for count, _ in now]:
        return None
    pairs = [(one, other) for (_, one), (_, other) in zip(was, now, strict=True)]
    return pairs if all(_sort(a) == _sort(b) for a, b in pairs) else None


def _sort(reading: Reading) -> str:
    """Say which of an oil's viscosities a reading is: they are told apart by their unit alone."""
    if reading.unit == "SUS":
        return "seconds"
    return "dynamic" if reading.unit in _DYNAMIC else ""

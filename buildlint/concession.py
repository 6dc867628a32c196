"""Concessions: leave, for a time and with a reason, to use what does not hold (ISO 9000:2015)."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import dataclass

__all__ = ["Concession", "leave_for"]


@dataclass(frozen=True, slots=True)
class Concession:
    """Leave given in a team's settings: for one rule, until a day that it includes.

    Left out, `build` is any build and `where` anywhere on the car; "front" covers both of its
    sides. `number` counts from 0 in the order of the file.

    >>> leave = Concession("pair/length", "spare", datetime.date(2027, 6, 30), where="front")
    >>> leave.covers("pair/length", "heron-quarry", "front.left"), leave.covers("x", "y", "rear")
    (True, False)
    >>> leave.expired(datetime.date(2027, 6, 30)), leave.expired(datetime.date(2027, 7, 1))
    (False, True)
    """

    rule: str
    reason: str
    until: datetime.date
    build: str | None = None
    where: str | None = None
    number: int = 0

    def covers(self, rule: str, build: str | None, subject: str) -> bool:
        """Say whether it is for this rule, of this build, at this part of the car."""
        return (
            self.rule == rule
            and self.build in (None, build)
            and (self.where in (None, subject) or subject.startswith(f"{self.where}."))
        )

    def expired(self, on: datetime.date) -> bool:
        """Say whether its last day is past."""
        return on > self.until


def leave_for(
    concessions: Iterable[Concession], rule: str, build: str | None, subject: str, on: datetime.date
) -> Concession | None:
    """Give the first concession that covers what a rule finds there and is not over; or None."""
    return next(
        (c for c in concessions if c.covers(rule, build, subject) and not c.expired(on)), None
    )

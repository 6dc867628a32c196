"""Concessions: leave, for a time and with a reason, to use what does not hold (ISO 9000:2015)."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

__all__ = ["Concession", "day_of"]


@dataclass(frozen=True, slots=True)
class Concession:
    """Leave given in a team's settings: for one rule, until a day that it includes.

    Left out, `build` is any build and `where` anywhere on the car; "front" covers both of its
    sides, "car" all of it. `number` counts from 0 in the order of the file.

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
        here = self.where in (None, "car", subject) or subject.startswith(f"{self.where}.")
        return here and self._for(rule, build)

    def covers_part(self, rule: str, build: str | None, subject: str) -> bool:
        """Say whether it is for this rule, of this build, but at a part of the subject only.

        >>> leave = Concession("pair/length", "spare", datetime.date.max, where="front.left")
        >>> leave.covers_part("pair/length", None, "front")
        True
        """
        inside = subject == "car" or (self.where or "").startswith(f"{subject}.")
        return inside and self.where not in (None, "car") and self._for(rule, build)

    def _for(self, rule: str, build: str | None) -> bool:
        return self.rule == rule and self.build in (None, build)

    def expired(self, on: datetime.date) -> bool:
        """Say whether its last day is past."""
        return on > self.until


def day_of(on: datetime.date | None) -> datetime.date:
    """Give the day as on which concessions count: today where none is given.

    Raises TypeError for anything else, a day with a time too: neither comes before nor after a day.
    """
    if on is None:
        return datetime.date.today()
    if not isinstance(on, datetime.date) or isinstance(on, datetime.datetime):
        raise TypeError("on is a day without a time, such as datetime.date(2027, 6, 12)")
    return on

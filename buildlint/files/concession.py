"""Concessions: leave, for a time and with a reason, to use what does not hold (ISO 9000:2015)."""

from __future__ import annotations

import datetime
from typing import Annotated, ClassVar, Literal

from pydantic import ConfigDict, Field, PrivateAttr

from buildlint.files.mistakes import Checked, line
from buildlint.files.readings import Mistake
from buildlint.files.tables import PlainDate

__all__ = ["Concession", "day_of"]

_A_DATE = Mistake("", "until is a date without quotes, such as 2027-06-30")

Ident = Annotated[str, line(200)]


class Concession(Checked):
    """Leave given in a team's settings: for one rule, until a day that it includes.

    Left out, `build` is any build, `event` any event or none, and `where` anywhere on the car;
    "front" covers both of its sides, "car" all of it.

    >>> leave = Concession(
    ...     rule="pair/length", reason="spare", until=datetime.date(2027, 6, 30), where="front"
    ... )
    >>> leave.covers("pair/length", "front.left"), leave.covers("pair/length", "rear")
    (True, False)
    >>> leave.is_for("heron-quarry", None)
    True
    >>> leave.expired(datetime.date(2027, 6, 30)), leave.expired(datetime.date(2027, 7, 1))
    (False, True)
    """

    model_config = ConfigDict(title="Concession")
    called: ClassVar[str] = "concession"

    rule: Ident = Field(description="Id of the rule that is conceded.", examples=["pair/length"])
    reason: Annotated[str, line(2_000)] = Field(description="Why the team lets it pass.")
    until: Annotated[datetime.date, PlainDate(_A_DATE)] = Field(
        description="Last day that it holds, without quotes."
    )
    build: Ident | None = Field(
        default=None, description="Id of the build it is for; left out, every build."
    )
    event: Ident | None = Field(
        default=None, description="Id of the event it is for; left out, all, and builds for none."
    )
    where: (
        Literal["front", "front.left", "front.right", "rear", "rear.left", "rear.right", "car"]
        | None
    ) = Field(default=None, description="Which damper or end it is for; left out, all.")

    _number: int = PrivateAttr(default=0)

    @property
    def number(self) -> int:
        """Which of the concessions of its settings it is, from 0."""
        return self._number

    def numbered(self, number: int) -> Concession:
        """Return the concession as one of several, in the order of the file."""
        found = self.model_copy()
        found._number = number
        return found

    def is_for(self, build: str | None, event: str | None) -> bool:
        """Return whether it is for a build, by its id and that of its event."""
        return self.build in (None, build) and self.event in (None, event)

    def covers(self, rule: str, subject: str) -> bool:
        """Return whether it is for this rule, at this part of the car."""
        here = self.where in (None, "car", subject) or subject.startswith(f"{self.where}.")
        return here and self.rule == rule

    def covers_part(self, rule: str, subject: str) -> bool:
        """Return whether it is for this rule, but at a part of the subject only.

        >>> leave = Concession(
        ...     rule="pair/length", reason="spare", until=datetime.date.max, where="front.left"
        ... )
        >>> leave.covers_part("pair/length", "front")
        True
        """
        inside = subject == "car" or (self.where or "").startswith(f"{subject}.")
        return inside and self.where not in (None, "car") and self.rule == rule

    def expired(self, on: datetime.date) -> bool:
        """Return whether its last day is past."""
        return on > self.until


def day_of(on: datetime.date | None) -> datetime.date:
    """Return the day as on which concessions count: today where none is given.

    Raises TypeError for anything else, a day with a time too: neither comes before nor after a day.
    """
    if on is None:
        return datetime.date.today()
    if not isinstance(on, datetime.date) or isinstance(on, datetime.datetime):
        raise TypeError("on is a day without a time, such as datetime.date(2027, 6, 12)")
    return on

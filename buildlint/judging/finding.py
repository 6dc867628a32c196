"""What a report is made of: findings, with the figures and the place that each is about."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, fields
from functools import partial
from pathlib import Path
from typing import Any, Literal, TypeVar

from buildlint.files.concession import Concession

__all__ = [
    "BADNESS",
    "Counts",
    "Cure",
    "CureFigure",
    "Finding",
    "HeldOn",
    "ReadingShare",
    "Sides",
    "Verdict",
    "gravity",
    "handed",
    "made_again",
]

Verdict = Literal["holds", "borderline", "fails", "not checked"]

#: The verdicts, each worse than the one before.
BADNESS: dict[Verdict, int] = {"holds": 0, "not checked": 1, "borderline": 2, "fails": 3}

_Value = TypeVar("_Value")

#: A rule that holds, and the subject that it holds on.
HeldOn = tuple[str, str]


@dataclass(frozen=True, slots=True)
class CureFigure:
    """A figure that would mend a finding: the reading to change, from where to where, in a unit.

    `end` is the end of the car that it is for. Where the reading is an id, `choices` are the parts
    of the team that would do, best first.
    """

    reading: str
    at_least: float | None
    at_most: float | None
    unit: str | None
    text: str
    end: str
    choices: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Cure:
    """What can be turned to mend a finding, or why nothing can."""

    figures: tuple[CureFigure, ...] = ()
    reason: str = ""


@dataclass(frozen=True, slots=True)
class ReadingShare:
    """A reading behind a figure: its share of the variance, and whether anybody gave it.

    A default stands in for one that was not given.
    """

    reading: str
    share: float
    given: bool


@dataclass(frozen=True, slots=True)
class Sides:
    """What left and right are where they are compared: figures in `unit`, or the ids of parts.

    Of `pair/parts`, the kinds of part that differ, each with its id.
    """

    left: float | str | dict[str, str | None] | None
    right: float | str | dict[str, str | None] | None
    unit: str | None = None


@dataclass(frozen=True, slots=True)
class Finding:
    """One rule judged on one subject, at the worst of its conditions.

    `subject` is "front.left" and the like, "front" for both sides alike or compared, "car", or ""
    for a mistake in a file. `margin` is what is left to the limit (below zero: over it), in `unit`.
    `sides` are left and right where those are compared: `value` is then how far they are apart.
    `cure` is the rule's advice; `solve` solves for figures when it is first asked.
    `chance` is that the limit is kept, `uncertainty_up` and `uncertainty_down` the standard
    uncertainty each way, in `unit`; `readings` are those that decide it most. `keys` lead to the
    reading in the file; `subjects` are the corners that `subject` stands for. `source_line` is the
    line of the file. `concession` is the team's leave to use it as it is: it then counts as
    conceded. `file` is as seen from the working directory; line and column count from 1, in
    characters, and `end_column` is one past the last.

    Findings can be compared, kept in sets, and pickled: what can be solved for is solved then.
    """

    rule: str
    title: str
    level: Literal["must", "should"]
    verdict: Verdict
    message: str
    file: str
    line: int = 1
    column: int = 1
    end_column: int = 1
    build: str | None = None
    subject: str = ""
    measure: str = ""
    condition: str | None = None
    value: float | str | None = None
    chance: float | None = None
    uncertainty_up: float | None = None
    uncertainty_down: float | None = None
    unit: str | None = None
    limit: dict[str, float | str | list[float] | list[str]] = field(
        default_factory=dict, hash=False
    )
    margin: float | None = None
    sides: Sides | None = field(default=None, hash=False)
    cure: str = ""
    solve: Callable[[], Cure] | None = field(default=None, compare=False, repr=False)
    caution: str = ""
    missing: tuple[str, ...] = ()
    source_line: str = ""
    readings: tuple[ReadingShare, ...] = ()
    keys: tuple[str, ...] = ()
    subjects: tuple[str, ...] = ()
    path: Path | None = None
    concession: Concession | None = None

    @property
    def told(self) -> str:
        """The fault, then the amount; of a mistake in a file, what the mistake is."""
        if not self.subject:
            return self.message
        return f"{self.title}: {self.message}" if self.message != self.title else self.title

    @property
    def cure_figures(self) -> tuple[CureFigure, ...]:
        """What was solved for; solved when it is first asked for."""
        return self.solve().figures if self.solve is not None else ()

    @property
    def no_figure(self) -> str:
        """Why nothing could be solved for; empty where something was, or nothing was tried."""
        return self.solve().reason if self.solve is not None else ""

    def __reduce__(self) -> tuple[Any, ...]:
        """Return what a copy is made of: with the cure, in the place of what solves for it."""
        return made_again(self, solve=self.solve and partial(handed, self.solve()))


def gravity(finding: Finding) -> int:
    """Return how early a finding is told, least first: what fails, musts before shoulds.

    What is borderline comes next, then what is conceded, not checked, and holds.
    """
    order = ("fails", "borderline", "conceded", "not checked", "holds")
    verdict = finding.verdict if finding.concession is None else "conceded"
    return 2 * order.index(verdict) + (finding.level == "should")


def made_again(record: Any, **instead: Any) -> tuple[Any, ...]:
    """Return what a copy of a record is made of, as `__reduce__` does; some fields with others."""
    values = {each.name: getattr(record, each.name) for each in fields(record)}
    return type(record), tuple((values | instead).values())


def handed(value: _Value) -> _Value:
    """Return what was given: in the place of a function that cannot be told to another process."""
    return value


@dataclass(slots=True)
class Counts:
    """How many builds were judged, and how each rule came out on each subject."""

    builds: int = 0
    holds: int = 0
    borderline: int = 0
    fails: int = 0
    not_checked: int = 0
    conceded: int = 0

    def take(self, other: Counts) -> None:
        """Count other builds, and the verdicts on them, too."""
        self.builds += other.builds
        self.holds += other.holds
        self.borderline += other.borderline
        self.fails += other.fails
        self.not_checked += other.not_checked
        self.conceded += other.conceded

    def add(self, verdict: Verdict | Literal["conceded"]) -> None:
        """Count a verdict."""
        name = verdict.replace(" ", "_")
        setattr(self, name, getattr(self, name) + 1)

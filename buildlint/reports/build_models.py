"""What `figures`, `compare`, `labels`, `prepare`, `rulebook` print `--as json`, as models."""

from __future__ import annotations

import datetime
from typing import Annotated, Literal

from pydantic import AfterValidator, ConfigDict, Field

from buildlint.files.rule_keys import Level
from buildlint.files.tables import Frozen
from buildlint.judging.finding import Verdict
from buildlint.reports.models import (
    Condition,
    Figure,
    FigureOrText,
    Format,
    LeavesOut,
    Limit,
    ReadingReport,
    Report,
    RuleChangeReport,
    Subject,
    Text,
)

__all__ = [
    "BandReport",
    "CapReport",
    "CarReadyReport",
    "ChangeReport",
    "ComparedReport",
    "ComparisonCountsReport",
    "ComparisonReport",
    "DueReport",
    "FigureChangeReport",
    "FigureReport",
    "FigureSideReport",
    "FiguresReport",
    "LabelsReport",
    "PreparationReport",
    "RuleReport",
    "RulebookReport",
    "ToPackReport",
    "VerdictChangeReport",
]

_MISTAKES = "The mistakes in the build's files, each as `FILE:LINE:COL: MESSAGE`."
_CHANGED = "As of `inspect`: how the team's rules differ; left out where they do not."

# --- figures -------------------------------------------------------------------------------------


class FigureReport(LeavesOut):
    """One measure of one subject at one condition."""

    subject: Subject = Field(
        description="As in findings; what is alike on both sides is told once for its end, or for "
        "the car."
    )
    measure: str = Field(description="The figure, by its name.")
    condition: Condition | None = Field(
        description="`bench`, `cold` or `hot`; null where the figure is the same at each."
    )
    value: FigureOrText = Field(
        description="The figure as read; of an id the id, of what is yes or no `yes` or `no`; null "
        "where it cannot be worked out or has no end."
    )
    uncertainty_up: Figure = Field(
        description="How much more it may be: the standard uncertainty (JCGM 100:2008), in `unit`."
    )
    uncertainty_down: Figure = Field(description="How much less it may be, in the same way.")
    unit: str | None = Field(description="The unit of the figures.")
    estimated: bool = Field(
        description="True where it rests on a room or a volume of oil that was not measured."
    )
    verdict: Verdict | None = Field(
        description="The worst that the rules say of it at this condition, `holds` included; null "
        "where none asks of it."
    )
    readings: tuple[ReadingReport, ...] = Field(
        description="Of what fails or is borderline, the readings that matter most."
    )
    missing: tuple[Text, ...] = Field(
        default=(), description="What is missing; left out where it was worked out."
    )


class FiguresReport(Report):
    """What `buildlint figures BUILD --as json` prints."""

    model_config = ConfigDict(title="Report of buildlint figures")

    format: Format
    build: Text = Field(description="The build's id.")
    car: Text | None = Field(description="The id of its car.")
    event: Text | None = Field(description="The id of its event.")
    figures: tuple[FigureReport, ...] = Field(description="Each measure at each condition.")
    mistakes: tuple[Text, ...] = Field(description=_MISTAKES)


# --- rules ---------------------------------------------------------------------------------------


class BandReport(Report):
    """A limit that holds up to a value of another measure."""

    up_to: Text | None = Field(
        description="Where the band ends, in words; null: it holds from there on."
    )
    up_to_figure: Figure = Field(description="The same as a figure, in `by_unit`.")
    limit: Text = Field(description="Its limit in words.")
    asks: Limit = Field(description="Its limit as figures.")


class RuleReport(Report):
    """One rule in force."""

    rule: Text = Field(description="The rule's id.")
    title: Text = Field(description="What should hold.")
    fault: Text | None = Field(description="What a finding says in its place where it fails.")
    costs: Text | None = Field(description="What a builder loses where it fails, in a word or two.")
    level: Level = Field(description="`must` or `should`.")
    measure: str | None = Field(
        description="The figure that it asks of; null for a rule about files."
    )
    limit: Text | None = Field(
        description="The limit in words; null for bands and for a rule about files."
    )
    asks: Limit | None = Field(
        description="The limit as figures in `unit`, in the shapes of a finding's `limit`."
    )
    unit: str | None = Field(description="The unit of the limit.")
    by: str | None = Field(description="The figure that the bands go by.")
    by_unit: str | None = Field(description="The unit of that figure.")
    bands: tuple[BandReport, ...] = Field(description="The limit of each band.")
    source: Text = Field(description="Where it comes from, the limit too.")
    why: Text = Field(description="Why it is there.")
    cure: Text = Field(description="What to do.")
    turn: tuple[str, ...] = Field(description="What is solved for where it does not hold.")
    caution: Text | None = Field(description="Where someone can be hurt.")
    only: Annotated[dict[str, Text], AfterValidator(Frozen)] = Field(
        description="What the rule is narrowed to."
    )


class RulebookReport(LeavesOut):
    """What `buildlint rulebook --as json` prints."""

    model_config = ConfigDict(title="Report of buildlint rulebook")

    format: Format
    rules: tuple[RuleReport, ...] = Field(description="The rules in force.")
    rules_changed: tuple[RuleChangeReport, ...] = Field(default=(), description=_CHANGED)


# --- a comparison --------------------------------------------------------------------------------


class ComparedReport(Report):
    """One of the two builds."""

    build: Text = Field(description="The build's id.")
    file: Text = Field(description="Its file.")
    car: Text | None = Field(description="The id of its car.")
    event: Text | None = Field(description="The id of its event.")
    revision: Text | None = Field(
        description="The git revision that it was read from; null for what is on the disk."
    )
    commit: str | None = Field(description="The commit of that revision.")


class ChangeReport(Report):
    """A reading that is not the same in both builds."""

    where: Text = Field(description="Where it stands, in words.")
    subject: Text | None = Field(
        description="The table that it stands in: `front.left`, `bench`, `oil o450`; null: the top "
        "of the build's file."
    )
    key: Text = Field(description="The key there.")
    old: Text | None = Field(description="What is written in the old build; null: nothing.")
    new: Text | None = Field(description="What is written in the new build; null: nothing.")
    within_tolerance: bool = Field(
        description="True where each value lies within the tolerance of the other."
    )
    kind: Literal["build", "car", "event", "parts"] = Field(description="The kind of file.")
    old_file: Text | None = Field(description="The file of the old text.")
    new_file: Text | None = Field(description="The file of the new text.")
    ratio: Figure = Field(description="By what share of the old reading; null: none can be said.")


class VerdictChangeReport(Report):
    """A rule that comes out otherwise."""

    rule: Text = Field(description="The rule's id.")
    level: Level = Field(description="`must` or `should`.")
    title: Text = Field(description="What should hold.")
    subject: Subject = Field(description="As in findings.")
    old: Verdict | None = Field(
        description="Its verdict on the old build; null: it does not speak of it."
    )
    new: Verdict | None = Field(description="Its verdict on the new build, in the same way.")
    caution: Text | None = Field(description="Where someone can be hurt, if it fails now.")


class FigureSideReport(LeavesOut):
    """A figure of one of the two builds."""

    value: FigureOrText = Field(description="As of `figures`.")
    uncertainty_up: Figure = Field(description="As of `figures`.")
    uncertainty_down: Figure = Field(description="As of `figures`.")
    estimated: bool = Field(description="As of `figures`.")
    verdict: Verdict | None = Field(description="As of `figures`.")
    missing: tuple[Text, ...] = Field(default=(), description="As of `figures`.")


class FigureChangeReport(Report):
    """A figure that is not the same for both builds."""

    subject: Subject = Field(description="As of `figures`.")
    measure: str = Field(description="The figure, by its name.")
    condition: Condition | None = Field(description="As of `figures`.")
    unit: str | None = Field(description="The unit of the figures.")
    old: FigureSideReport | None = Field(
        description="The figure of the old build; null where the measure says nothing of it."
    )
    new: FigureSideReport | None = Field(
        description="The figure of the new build, in the same way."
    )
    difference: Figure = Field(description="New less old.")
    ratio: Figure = Field(description="By what share of the old figure; null: none can be said.")
    within_tolerance: bool = Field(
        description="True where the difference is no more than its expanded uncertainty (k = 2), "
        "in which what both builds share cancels."
    )
    verdict_changed: bool = Field(description="Whether the rules say another thing of it now.")


class ComparisonCountsReport(Report):
    """How much differs."""

    changes: int = Field(ge=0, description="How many readings differ.")
    figures_changed: int = Field(ge=0, description="How many figures differ.")
    figures_within_tolerance: int = Field(ge=0, description="How many of those within tolerance.")
    figures_same: int = Field(ge=0, description="How many figures are the same.")
    figures_not_known: int = Field(ge=0, description="How many are known of neither.")


class ComparisonReport(LeavesOut):
    """What `buildlint compare OLD NEW --as json` prints."""

    model_config = ConfigDict(title="Report of buildlint compare")

    format: Format
    old: ComparedReport = Field(description="The old build.")
    new: ComparedReport = Field(description="The new build.")
    changed: bool = Field(description="Whether anything is not the same.")
    driver: tuple[Text, ...] = Field(description="What a driver feels of it, in three lines.")
    changes: tuple[ChangeReport, ...] = Field(description="The readings that differ.")
    verdicts: tuple[VerdictChangeReport, ...] = Field(
        description="The rules that come out otherwise."
    )
    figures: tuple[FigureChangeReport, ...] = Field(description="The figures that differ.")
    counts: ComparisonCountsReport = Field(description="How much differs.")
    mistakes: tuple[Text, ...] = Field(description="As of `figures`, of both builds.")
    rules_changed: tuple[RuleChangeReport, ...] = Field(default=(), description=_CHANGED)


# --- labels --------------------------------------------------------------------------------------


class CapReport(Report):
    """The cap of one corner."""

    subject: Subject = Field(description="`front.left` and the like.")
    corner: Subject = Field(description="The same as `subject`.")
    code: str = Field(description="Its name on caps, `FL`.")
    lines: tuple[Text, ...] = Field(description="What to write, line by line.")
    label: Text | None = Field(
        description="The same as it would stand in the build's file; null where too little is "
        "known."
    )
    toml: Text | None = Field(description="The line to paste there.")
    missing: tuple[Text, ...] = Field(description="What was not given, so that it is not written.")
    written: Text | None = Field(description="The label in the file now.")
    agrees: bool | None = Field(
        description="Whether that agrees with what is inside; null: no label, or not checked."
    )
    disagreements: tuple[Text, ...] = Field(description="How it does not.")
    not_checked: tuple[Text, ...] = Field(description="What is missing to check that.")
    table: str = Field(description="The table of the build's file to paste into.")


class LabelsReport(Report):
    """What `buildlint labels BUILD --as json` prints."""

    model_config = ConfigDict(title="Report of buildlint labels")

    format: Format
    build: Text = Field(description="The build's id.")
    car: Text | None = Field(description="The id of its car.")
    event: Text | None = Field(description="The id of its event.")
    caps: tuple[CapReport, ...] = Field(description="The cap of each corner.")
    mistakes: tuple[Text, ...] = Field(description=_MISTAKES)


# --- an event ------------------------------------------------------------------------------------


class CarReadyReport(Report):
    """A car that goes to an event."""

    car: Text = Field(description="The car's id.")
    build: Text | None = Field(description="The id of its build for the event; null: it has none.")
    life: Literal["plan", "built", "past"] | None = Field(description="How far that has come.")
    ready: bool = Field(description="Whether it is built, and no must fails.")
    fails: bool = Field(description="Whether a must fails, or a file has a mistake.")
    why: tuple[Text, ...] = Field(description="Why it is not ready.")
    borderline: tuple[Text, ...] = Field(description="The musts that hold, but not surely.")
    not_checked: tuple[Text, ...] = Field(description="The musts of which something is missing.")


class DueReport(Report):
    """What is to be done to a build."""

    build: Text = Field(description="The build's id.")
    what: Literal["oil", "flight", "rebound"] = Field(
        description="Oil to change, dampers to bleed again after a flight, a rebound to read."
    )
    text: Text = Field(description="The same in words.")


class ToPackReport(Report):
    """An oil, or a part of which one spare is packed."""

    kind: Literal["oil", "piston", "bladder", "spring"] = Field(description="The kind of part.")
    id: Text = Field(description="Its id.")
    cars: tuple[Text, ...] = Field(description="The cars that it is for.")
    ml: int | None = Field(description="Of an oil, one refill of every damper; of a part null.")
    estimated: bool = Field(description="Whether that rests on an estimate.")
    not_known: bool = Field(description="Whether of some damper it is not known.")


class PreparationReport(Report):
    """What `buildlint prepare EVENT --as json` prints."""

    model_config = ConfigDict(title="Report of buildlint prepare")

    format: Format
    event: Text = Field(description="The event's id.")
    name: Text | None = Field(description="Its name.")
    on: datetime.date | None = Field(description="Its date.")
    ready: bool = Field(description="Whether every car is ready.")
    cars: tuple[CarReadyReport, ...] = Field(description="The cars that go.")
    due: tuple[DueReport, ...] = Field(description="What is to be done.")
    pack: tuple[ToPackReport, ...] = Field(description="What to pack.")
    mistakes: tuple[Text, ...] = Field(description=_MISTAKES)

"""What `--as json` prints, as pydantic models: of `inspect`, and what all reports share."""

from __future__ import annotations

import datetime
from math import isfinite
from typing import Annotated, Any, Literal, get_args

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    GetJsonSchemaHandler,
    SerializerFunctionWrapHandler,
    model_serializer,
)
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema

from buildlint.files.rule_keys import Level
from buildlint.files.tables import Frozen, title_of
from buildlint.judging.finding import Verdict
from buildlint.team.life import Life

__all__ = [
    "BuildReport",
    "ConcessionReport",
    "Condition",
    "CountsReport",
    "CureFigureReport",
    "Figure",
    "FigureOrText",
    "FindingReport",
    "Format",
    "InspectionReport",
    "LeavesOut",
    "Limit",
    "ReadingReport",
    "Report",
    "RuleChangeReport",
    "SidesReport",
    "Subject",
    "Text",
    "number",
]


def number(value: Any) -> Any:
    """Return a figure that JSON can hold: rounded past its meaning, None where it has no end.

    Anything else is returned as it is.

    >>> number(0.1 + 0.2), number(float("inf")), number("four-18")
    (0.3, None, 'four-18')
    """
    if isinstance(value, float):
        return float(f"{value:.9g}") if isfinite(value) else None
    return value


def _text(value: Any) -> Any:
    """Return the name of a file that is not UTF-8 with escapes, as texts show it."""
    if isinstance(value, str) and not value.isascii():
        return value.encode("utf-8", "backslashreplace").decode("utf-8")
    return value


#: A text; a name that is not UTF-8 has escapes.
Text = Annotated[str, BeforeValidator(_text)]
#: A figure, or None where it is not known or has no end.
Figure = Annotated[float | None, BeforeValidator(number)]
#: A figure, an id or a word.
FigureOrText = Annotated[float | Text | None, BeforeValidator(number)]
#: What one side is: a figure, an id, or the ids of its parts.
OneSide = Annotated[float | Text | dict[str, Text | None] | None, BeforeValidator(number)]

Condition = Literal["bench", "cold", "hot"]
Subject = Literal["car", "front", "front.left", "front.right", "rear", "rear.left", "rear.right"]

_Asked = Literal["at_least", "at_most", "same_within", "as_planned_within", "one_of", "is"]

#: What a rule asks, as figures, by how it asks it.
Limit = Annotated[
    dict[_Asked, Annotated[float | Text | tuple[Text, ...], BeforeValidator(number)]],
    AfterValidator(Frozen),
    # older releases of pydantic leave it out
    Field(json_schema_extra={"propertyNames": {"enum": [*get_args(_Asked)]}}),
]

#: Raised when a key is renamed or its meaning changes; new keys may come at any time.
Format = Annotated[
    Literal[2],
    Field(description="2; raised when a key is renamed or its meaning changes."),
]


class Report(BaseModel):
    """A part of a report: frozen, unknown keys refused."""

    model_config = ConfigDict(frozen=True, extra="forbid", from_attributes=True)

    @classmethod
    def __get_pydantic_json_schema__(
        cls, core: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        made = handler.resolve_ref_schema(handler(core))
        for key, told in made["properties"].items():
            told["title"] = title_of(key)
        return made


class LeavesOut(Report):
    """A part of a report of which a key that has a default is left out where it says no more."""

    @model_serializer(mode="wrap")
    def _left_out(self, handler: SerializerFunctionWrapHandler):  # type: ignore[no-untyped-def]
        # without a type, so that the schema stays that of the fields
        fields = type(self).model_fields
        return {
            key: value
            for key, value in handler(self).items()
            if fields[key].is_required() or getattr(self, key) != fields[key].default
        }


class CountsReport(Report):
    """How many builds were judged, and how often a rule came out how."""

    builds: int = Field(ge=0, description="How many builds.")
    holds: int = Field(
        ge=0, description="How often a rule holds, on each subject that it speaks of."
    )
    borderline: int = Field(ge=0, description="How often a rule is borderline.")
    fails: int = Field(
        ge=0,
        description="How often a rule fails; over all builds a mistake in a file counts here too.",
    )
    not_checked: int = Field(ge=0, description="How often something is missing for it.")
    conceded: int = Field(
        ge=0,
        description="How often what fails or is borderline is conceded: it counts only here.",
    )


class BuildReport(Report):
    """One build that was judged."""

    build: Text = Field(description="The build's id.")
    file: Text = Field(description="Its file, as seen from the working directory.")
    car: Text | None = Field(description="The id of its car; null where it is not known.")
    event: Text | None = Field(description="The id of its event; null where it has none.")
    life: Life = Field(
        description="`plan` (no bench date), `built`, or `past`: its car has one built later for a "
        "later event, or it says so."
    )
    counts: CountsReport = Field(description="The counts of this build alone.")


class SidesReport(Report):
    """Left and right, where they are compared."""

    left: OneSide = Field(
        description="What left is: a figure, an id, or each kind of part that differs with its id."
    )
    right: OneSide = Field(description="What right is, in the same way.")
    unit: str | None = Field(
        description="The unit of both: their own where the limit is a share of their mean; "
        "null for ids."
    )


class ReadingReport(Report):
    """A reading behind a figure."""

    reading: Text = Field(description="The reading, in words.")
    share: Figure = Field(description="Its share of the figure's variance, of one.")
    given: bool = Field(description="False where nobody gave it and a default stands in for it.")


class CureFigureReport(Report):
    """What would mend a finding."""

    reading: Text = Field(description="What to change.")
    at_least: Figure = Field(description="It holds from here on; null: no lower end, or a part.")
    at_most: Figure = Field(description="It holds up to here; null: no upper end, or a part.")
    unit: str | None = Field(description="The unit of these two; null for parts.")
    text: Text = Field(description="The same in words.")
    end: str = Field(description="At which end of the car, on both sides.")
    choices: tuple[Text, ...] = Field(
        description="The parts of the team that would do, best first."
    )


class ConcessionReport(Report):
    """The team's leave to use what does not hold."""

    reason: Text = Field(description="The team's reason.")
    until: datetime.date = Field(description="The last day.")


class FindingReport(Report):
    """One rule on one subject, at the worst of its conditions."""

    rule: Text = Field(description="The rule's id.")
    title: Text = Field(description="What does not hold where it fails, else what should hold.")
    level: Level = Field(description="`must` or `should`.")
    verdict: Verdict = Field(
        description="`fails`; `borderline`: it must hold, and does as read, but not surely enough; "
        "`not checked`: something is missing, which never fails a run. A conceded finding keeps "
        "its verdict."
    )
    file: Text = Field(description="The file in which the reading stands that it is about.")
    line: int = Field(ge=1, description="The line there, counted from 1.")
    column: int = Field(ge=1, description="The column there, counted from 1, in characters.")
    end_column: int = Field(ge=1, description="One past the last column.")
    build: Text | None = Field(description="The build's id; null for a mistake in a file.")
    subject: Subject | None = Field(
        description="`front.left` and the like; `front` or `rear`: both sides alike, or compared; "
        "`car`; null for a mistake in a file."
    )
    subjects: tuple[Subject, ...] = Field(description="The corners that `subject` stands for.")
    keys: tuple[Text, ...] = Field(
        description="The keys that lead to the reading in its file, from the outermost on."
    )
    measure: str | None = Field(
        description="The figure that is judged, by its name; null for a mistake in a file."
    )
    condition: Condition | None = Field(
        description="Whichever of `bench`, `cold` and `hot` is worst; null where the figure is the "
        "same at each."
    )
    value: FigureOrText = Field(
        description="The figure as read; where left and right are compared, how far they are "
        "apart. null for ids and for what is yes or no."
    )
    chance: Figure = Field(description="The chance that the limit is kept (JCGM 106:2012), of one.")
    uncertainty_up: Figure = Field(
        description="How much more it may be: the standard uncertainty (JCGM 100:2008), in `unit`."
    )
    uncertainty_down: Figure = Field(description="How much less it may be, in the same way.")
    unit: str | None = Field(description='The unit of the figures; `"1"`: shares of one.')
    limit: Limit = Field(
        description="What is asked, in `unit`: `at_least`, `at_most` or both; `same_within` (a "
        'figure, or `"exactly"`); `as_planned_within`; `one_of` (words); `is` (`"true"`). Empty '
        "for a mistake in a file, and where a missing reading leaves it open."
    )
    margin: Figure = Field(
        description="What the figure as read has left to the nearer limit, in `unit`; below zero "
        "it is so much past it."
    )
    sides: SidesReport | None = Field(
        description="Left and right, where those are compared; else null."
    )
    message: Text = Field(description="What was found, in words.")
    missing: tuple[Text, ...] = Field(description="What is missing where it is not checked.")
    readings: tuple[ReadingReport, ...] = Field(
        description="Of what fails or is borderline, the readings that matter most to the figure, "
        "the greatest share first."
    )
    cure: Text | None = Field(description="The rule's advice.")
    cure_figures: tuple[CureFigureReport, ...] = Field(
        description="Readings and parts with which it would hold; not looked for where more than "
        "12 builds are judged."
    )
    no_figure: Text | None = Field(description="Why there are no `cure_figures`.")
    caution: Text | None = Field(description="Where someone can be hurt.")
    conceded: ConcessionReport | None = Field(description="The team's concession, or null.")


class RuleChangeReport(Report):
    """One way in which the team's own settings and rules differ from those of buildlint."""

    rule: Text = Field(
        description="The rule's id; `judging/sure` is the chance from which a must holds, "
        "`inspect/pass_over` says which builds are not judged."
    )
    kind: Literal["left out", "changed", "own"] = Field(
        description="`left out`, `changed` or `own`."
    )
    level: Level = Field(description="The level that it came with.")
    what: Text = Field(description="What was done to it, in words.")
    file: Text = Field(description="The file that does it.")
    line: int = Field(ge=1, description="The line there.")


class InspectionReport(LeavesOut):
    """What `buildlint inspect --as json` prints."""

    model_config = ConfigDict(title="Report of buildlint inspect")

    format: Format
    buildlint: str = Field(description="The version of buildlint.")
    on: datetime.date = Field(description="The day for which concessions count.")
    should_too: bool = Field(description="Whether `--should-too` was given.")
    passes: bool = Field(description="Whether the exit code is 0.")
    builds: tuple[BuildReport, ...] = Field(description="The builds that were judged.")
    past: tuple[Text, ...] = Field(
        description="The ids of past builds that were not judged; of these only the files were."
    )
    findings: tuple[FindingReport, ...] = Field(
        description="What fails first, musts before shoulds; then what is borderline, conceded or "
        "not checked. What holds is only counted, but with `--all`."
    )
    counts: CountsReport = Field(description="The counts over all.")
    rules_changed: tuple[RuleChangeReport, ...] = Field(
        default=(),
        description="How the team's own settings and rules differ from those that come with "
        "buildlint; left out where they do not.",
    )

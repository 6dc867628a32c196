"""A build carried to another event, for other programs: JSON, with "format": 2."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING

from pydantic import ConfigDict, Field

from buildlint.files.rule_keys import Level
from buildlint.judging.finding import Verdict
from buildlint.reports.json import FORMAT, report_text
from buildlint.reports.models import Figure, Format, Report, Subject, Text

if TYPE_CHECKING:
    from buildlint.judging.adapt import Adaptation

__all__ = ["AdaptationReport", "adaptation_json", "adaptation_report"]


class CandidateReport(Report):
    """What one end could be built with, alike on both sides."""

    oil: Text | None = Field(description="The id of the oil; null where left and right have two.")
    piston: Text | None = Field(description="The id of the piston, in the same way.")
    bladder: Text | None = Field(description="The id of the bladder; null also where it has none.")
    hold_back: Figure = Field(description="The hold-back, in mm.")
    changed: tuple[str, ...] = Field(description="The kinds of part that are not as now.")
    cold: Figure = Field(
        description="The damping at the event's coldest over that at the event that it was built "
        "for, less one."
    )
    hot: Figure = Field(description="The same at the hottest.")
    force_cold: Figure = Field(description="As `cold`, of the force at a shaft speed of 0.5 m/s.")
    force_hot: Figure = Field(description="The same at the hottest.")
    error: Figure = Field(description="The greater |ln| of both dampings.")
    least: Figure = Field(description="The least hold-back with which every must holds, in mm.")
    most: Figure = Field(description="The most, in the same way.")
    chance: Figure = Field(description="The least chance that a must is kept, of one.")
    fails: tuple[Text, ...] = Field(description="The musts that fail or are borderline.")
    newly_fails: tuple[Text, ...] = Field(description="The shoulds that fail there alone.")
    as_good: bool = Field(description="Whether it is as near as the first of the end.")
    bore_known: bool = Field(
        description="False where nobody knows whether another bladder is of this bore."
    )


class BlendReport(Report):
    """Two oils mixed, with the piston as it is now."""

    oils: tuple[Text, Text] = Field(description="The ids of both oils.")
    tenths: tuple[int, int] = Field(description="How many tenths of the volume each is.")
    cold: Figure = Field(description="As of a candidate.")
    hot: Figure = Field(description="As of a candidate.")
    error: Figure = Field(description="As of a candidate.")


class AdaptedEndReport(Report):
    """One end of the car."""

    end: Subject = Field(description="`front` or `rear`.")
    unchanged: CandidateReport = Field(description="How it would be with nothing changed.")
    least_error: Figure = Field(
        description="The least error that an oil of any thickness could reach."
    )
    tried: int = Field(description="How many pairs of oil and piston were tried.")
    candidates: tuple[CandidateReport, ...] = Field(
        description="What it could be built with, the best first."
    )
    blend: BlendReport | None = Field(
        description="A blend that comes nearer, where no oil comes near; null where one does."
    )


class RemainingReport(Report):
    """What does not hold with the first candidate of both ends."""

    rule: Text = Field(description="The rule's id.")
    level: Level = Field(description="`must` or `should`.")
    verdict: Verdict = Field(description="`fails` or `borderline`.")
    subject: Subject = Field(description="As in findings.")
    message: Text = Field(description="What was found, in words.")
    short: Text = Field(description="The same at its shortest.")
    caution: Text | None = Field(description="The rule's caution, where a must fails.")


class AdaptationReport(Report):
    """What `buildlint adapt BUILD EVENT --as json` prints."""

    model_config = ConfigDict(title="Report of buildlint adapt")

    format: Format
    build: Text = Field(description="The id of the build.")
    event: Text = Field(description="The id of the event that it is carried to.")
    from_event: Text = Field(description="The id of the event that it was built for.")
    temperatures: tuple[Figure, Figure] = Field(
        description="The coldest and the hottest oil there, in degC."
    )
    from_temperatures: tuple[Figure, Figure] = Field(
        description="Those of the event that it was built for."
    )
    bench_temperature: Figure = Field(
        description="The bench temperature (degC) at which alone both ends hold; null: as it was."
    )
    holds: bool = Field(description="Whether every must holds with the first of both ends.")
    chance: Figure = Field(description="The least chance that one is then kept, of one.")
    balance_cold: Figure = Field(
        description="The damping of the front over that of the rear, against what it was, less one."
    )
    balance_hot: Figure = Field(description="The same at the hottest.")
    front: AdaptedEndReport = Field(description="The front.")
    rear: AdaptedEndReport = Field(description="The rear.")
    remaining: tuple[RemainingReport, ...] = Field(
        description="What does not hold with the first of both ends."
    )
    not_checked: tuple[Text, ...] = Field(description="What is missing for musts.")
    mistakes: tuple[Text, ...] = Field(description="As of `figures`.")


def adaptation_json(found: Adaptation) -> str:
    """Return what a build needs for another event as `--as json` prints it."""
    return report_text(adaptation_report(found))


def adaptation_report(found: Adaptation) -> AdaptationReport:
    """Return what a build needs for another event, everything that the text says and more."""
    return AdaptationReport.model_validate(
        {
            "format": FORMAT,
            **{
                key: getattr(found, key) for key in AdaptationReport.model_fields if key != "format"
            },
            "remaining": [{**asdict(r), "caution": r.caution or None} for r in found.remaining],
        }
    )

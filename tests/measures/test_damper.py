"""The record of a damper: where each figure comes from, and how it is called."""

from dataclasses import fields
from pathlib import Path

import pytest

from buildlint.files.part_models import PART_KINDS, Parts
from buildlint.files.tables import fields_of, table_in
from buildlint.measures.damper import KEY_IN_PART, KEYS_OF_PART, Damper
from buildlint.measures.origin import Origin

# What comes from no part: from the build, the car, the event.
ELSEWHERE = {
    *("end", "side", "plan", "build", "style", "car", "car_class", "event", *PART_KINDS),
    *("corner_mass", "motion_ratio", "seat_gap"),
    *("hold_back", "limiter", "collar", "length", "rebound", "air", "runtime", "label", "done"),
    *(f"planned_{name}" for name in ("hold_back", "length", "rebound", "collar")),
    *("bench_temperature", "bench_altitude", "bench_on"),
    *("event_on", "coldest", "hottest", "event_altitude", "arrive_by", "highest"),
}


def test_every_figure_comes_from_a_part_or_from_elsewhere():
    """One of a part that is not in the table would stay behind when another part is fitted."""
    record = {"like", "spread", "origin", "estimates", "refused"}
    figures = {f.name for f in fields(Damper)} - record
    assert figures == KEY_IN_PART.keys() | ELSEWHERE
    assert not KEY_IN_PART.keys() & ELSEWHERE


@pytest.mark.parametrize("kind", PART_KINDS)
def test_the_keys_of_a_part_are_those_that_its_file_takes(kind: str):
    part = table_in(fields_of(Parts)[kind].takes)["each"]
    keys = {field.key for field in fields_of(part).values()}
    assert set(KEYS_OF_PART[kind].values()) <= keys


def test_what_a_figure_stands_on_is_called_by_what_was_read():
    damper = Damper(end="front", side="left", oil="o450", event="quarry")
    assert damper.read_as("viscosity_given_at") == "at of oil o450"
    assert damper.read_as("second_viscosity_at") == "second.at of oil o450"
    assert damper.read_as("blend_viscosity") == "viscosity of the blend of oil o450"
    # what would have to be given for it is one key
    assert damper.in_words("viscosity_given_at") == "viscosity of oil o450"
    assert damper.read_as("coldest") == damper.in_words("coldest") == "coldest of event quarry"
    assert Damper(end="front", side="left").read_as("second_viscosity") == "oil"


def test_what_a_default_stands_in_for_was_not_given():
    """A default of a part stands at the part; a reading stands at its key."""
    file = Path("drawers.parts.toml")
    damper = Damper(
        end="front",
        side="left",
        estimates=frozenset({"oil_volume"}),
        origin={
            "oil_volume": Origin(file, ("body", "long", "oil")),
            "expansion": Origin(file, ("oil", "o450")),
            "viscosity_given": Origin(file, ("oil", "o450", "viscosity")),
            "hold_back": Origin(file, ("front", "hold_back")),
        },
    )
    given = ("viscosity_given", "hold_back", "length")
    assert [name for name in (*given, "oil_volume", "expansion") if damper.is_given(name)] == [
        *given
    ]

"""What the fields of files take: readings with their ranges and default tolerances, text, dates.

Ranges are ours, not published: wide enough for any model-car damper, narrow enough to catch inches
written as millimetres. Default tolerances: what the tool at hand reads to (ours, not published).
"""

from __future__ import annotations

import datetime
from typing import Annotated

from pydantic import Field

from buildlint.files.kind import Kind
from buildlint.files.readings import Mistake, Reading
from buildlint.files.tables import PlainDate, Table, Text

__all__ = ["Date", "Flag", "Name", "Note", "Part", "Quantity"]


_NO_DATE = Mistake("file/wrong-kind", "a date without quotes belongs here, such as 2027-03-14")

Date = Annotated[datetime.date, PlainDate(_NO_DATE)]
Flag = Annotated[bool, Field(strict=True)]
Name = Annotated[str, Text(1, 200)]
Note = Annotated[str, Text(0, 10_000)]


class Quantity:
    """The kinds of reading that fields take, each as an annotation for a model.

    A name says what is read, not how: `Quantity.bore` is a machined size, `Quantity.hold_back` is
    read at the cap with the eye.
    """

    bore = Annotated[Reading, Kind("length", "16 mm", "0.02 mm", "4 mm", "60 mm")]
    shaft = Annotated[Reading, Kind("length", "3.5 mm", "0.02 mm", "1 mm", "20 mm")]
    piston = Annotated[Reading, Kind("length", "15.9 mm", "0.02 mm", "3 mm", "60 mm")]
    thickness = Annotated[Reading, Kind("length", "2.5 mm", "0.1 mm", "0.3 mm", "20 mm")]
    hole = Annotated[Reading, Kind("length", "1.6 mm", "0.02 mm", "0.1 mm", "10 mm")]
    chamfer = Annotated[Reading, Kind("length", "0.2 mm", "0.05 mm", "0 mm", "5 mm")]
    stroke = Annotated[Reading, Kind("length", "30 mm", "0.1 mm", "3 mm", "150 mm")]
    body_length = Annotated[Reading, Kind("length", "52 mm", "0.1 mm", "10 mm", "250 mm")]
    volume = Annotated[Reading, Kind("volume", "9 ml", "10 %", "0 ml", "200 ml", True)]
    room = Annotated[Reading, Kind("volume", "300 mm^3", "10 %", "0 ml", "50 ml")]
    air = Annotated[Reading, Kind("volume", "0.2 ml", "10 %", "0 ml", "50 ml")]
    cup = Annotated[Reading, Kind("length", "7 mm", "0.1 mm", "0.5 mm", "60 mm")]
    viscosity = Annotated[
        Reading,
        Kind(
            "viscosity",
            "450 cSt",
            "5 %",
            "1 cSt",
            "100000 cSt",
            also=Kind("dynamic viscosity", "440 mPa.s", "5 %", "1 cP", "100000 cP"),
        ),
    ]
    stated_temperature = Annotated[
        Reading, Kind("temperature", "25 degC", "0 K", "-60 degC", "200 degC")
    ]
    temperature = Annotated[Reading, Kind("temperature", "20 degC", "2 K", "-60 degC", "200 degC")]
    altitude = Annotated[Reading, Kind("length", "1900 m", "20 m", "-430 m", "6000 m")]
    vtc = Annotated[Reading, Kind("share", "0.60", "0", "0.05", "0.99")]
    share = Annotated[Reading, Kind("share", "60 %", "0 %", "0 %", "100 %", True)]
    rebound = Annotated[Reading, Kind("share", "60 %", "3 %", "0 %", "100 %")]
    density = Annotated[Reading, Kind("density", "0.968 g/cm^3", "0.5 %", "0.5 g/ml", "2 g/ml")]
    # more than metal grows: that more warmth is more room needed is taken for granted in bounds
    expansion = Annotated[Reading, Kind("expansion", "9.7e-4 1/K", "3 %", "1e-4 1/K", "5e-3 1/K")]
    spring_rate = Annotated[
        Reading, Kind("spring rate", "0.85 N/mm", "5 %", "0.01 N/mm", "50 N/mm")
    ]
    length = Annotated[Reading, Kind("length", "104 mm", "0.1 mm", "10 mm", "400 mm")]
    wire = Annotated[Reading, Kind("length", "1.6 mm", "0.02 mm", "0.2 mm", "10 mm")]
    coils = Annotated[Reading, Kind("ratio", "6.5", "0", "1", "60")]
    stiffness = Annotated[Reading, Kind("stiffness", "81.5 GPa", "2 %", "10 GPa", "300 GPa")]
    mass = Annotated[Reading, Kind("mass", "820 g", "5 %", "20 g", "20 kg")]
    motion_ratio = Annotated[Reading, Kind("ratio", "0.65", "3 %", "0.05", "3")]
    gap = Annotated[Reading, Kind("length", "78 mm", "0.1 mm", "1 mm", "400 mm")]
    hold_back = Annotated[Reading, Kind("length", "6.4 mm", "0.3 mm", "0 mm", "150 mm")]
    small_length = Annotated[Reading, Kind("length", "2 mm", "0.1 mm", "0 mm", "150 mm")]
    runtime = Annotated[Reading, Kind("time", "5 h", "0 h", "0 h", "100000 h")]


class Part(Table):
    """What every part has."""

    gone: Flag = Field(
        default=False,
        description="True: the team has it no more, so it is never offered; what names it stays "
        "whole.",
    )
    note: Note | None = Field(default=None, description="Anything worth keeping about this part.")

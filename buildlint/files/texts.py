"""What each table and each key of a file is, in a sentence for someone at the bench.

Only the schemas load this. Units, range and default tolerance are not said here: each field's kind
of reading says them (`fields.Kind.in_words`). A test finds a key without its sentence.
"""

from __future__ import annotations

from typing import NamedTuple

__all__ = ["TEXTS", "TableText", "title_of"]


class TableText(NamedTuple):
    """A table's title, what it is, and what each of its keys is."""

    title: str
    about: str
    keys: dict[str, str]


def title_of(key: str) -> str:
    """Give a key as a title.

    >>> title_of("hold_back")
    'Hold back'
    """
    return key.replace("_", " ").capitalize()


_PART = {"note": "Anything worth keeping about this part."}

_CORNER = {
    "piston": "Id of the piston in it.",
    "oil": "Id of the oil in it.",
    "hold_back": "How much of the shaft still shows when the cap is sealed.",
    "spring": "Id of the spring on it.",
    "limiter": "What the limiter takes off the stroke; left out, none is fitted.",
    "collar": "How far the preload collar stands from its datum.",
    "length": "Eye to eye, with the shaft fully out.",
    "rebound": "Share of the stroke that the shaft comes back by itself, with no spring on.",
    "air": "Air left in the oil (left out: none); in an emulsion, the air poured in.",
    "label": "What is written on the cap.",
    "body": "Id of the body, where it is not the car's.",
    "shaft": "Id of the shaft, where it is not the car's.",
    "bladder": "Id of the bladder, where it is not the car's.",
    "done": "The bench steps that are done.",
    "runtime": "How long it has run since the last oil change.",
    "note": "Anything worth keeping about this damper.",
}

#: By the name of the table's model in `models`.
TEXTS: dict[str, TableText] = {
    "Parts": TableText(
        "NAME.parts.toml",
        "What the drawers hold; each part in a table of its kind and id, such as [body.b14].",
        {
            "body": "Bodies with their caps, by id.",
            "shaft": "Shafts, by id.",
            "piston": "Pistons, by id.",
            "bladder": "Bladders, by id.",
            "oil": "Oils, by id.",
            "spring": "Springs, by id.",
        },
    ),
    "Body": TableText(
        "Body",
        "A damper's body with its cap.",
        {
            "bore": "Inside diameter of the tube.",
            "stroke": "How far the shaft travels with no limiter.",
            "length": "Length of the tube.",
            "oil": "Oil at filling; left out, it is worked out of bore and length.",
            "cap": "Whether the cap has a vent hole or is sealed.",
            "gas": "Gas over the bladder; needed under a sealed cap, and read only there.",
            "piston": "Diameter of the largest piston that fits.",
            **_PART,
        },
    ),
    "Shaft": TableText(
        "Shaft",
        "A damper's shaft.",
        {
            "diameter": "Diameter where it passes the seal.",
            "coating": "What the shaft is coated with.",
            **_PART,
        },
    ),
    "Piston": TableText(
        "Piston",
        "A piston with its holes.",
        {
            "diameter": "Outside diameter.",
            "thickness": "Thickness, which is how long its holes are.",
            "holes": "Number and size of its holes; several sizes are joined with +.",
            "taper_to": "Size of the holes at the other face, where they taper.",
            **_PART,
        },
    ),
    "Bladder": TableText(
        "Bladder",
        "A bladder: the volumes that it can give each way, or its cup for an estimate.",
        {
            "into_body": "Volume that it can give down into the body, measured with a syringe.",
            "into_cap": "Volume that it can give up into the cap, measured with a syringe.",
            "cup": "Its cup, for an estimate where the volumes are not measured.",
            **_PART,
        },
    ),
    "Cup": TableText(
        "Cup",
        "A bladder's cup, for an estimate of its room.",
        {"radius": "Radius of the cup's mouth.", "depth": "Depth of the cup."},
    ),
    "Oil": TableText(
        "Oil",
        "An oil: its viscosity, or the blend that it is mixed of.",
        {
            "viscosity": "Viscosity by the data sheet, never the weight number on the bottle.",
            "at": "Temperature at which the viscosity is stated.",
            "second": "A second point of the viscosity, at another temperature.",
            "vtc": "Viscosity-temperature coefficient; read where there is no second point.",
            "density": "Density at 25 degC; needed where the viscosity is a dynamic one.",
            "expansion": "Cubic expansion: share of its volume that it grows by for each degree.",
            "label": "What the bottle calls it.",
            "blend": "The oils that it is mixed of, each by its id with its share of the volume.",
            **_PART,
        },
    ),
    "Second": TableText(
        "Second viscosity",
        "A second point of an oil's viscosity.",
        {
            "viscosity": "Viscosity at the second temperature.",
            "at": "The second temperature, another than that of the first point.",
        },
    ),
    "Spring": TableText(
        "Spring",
        "A spring: its rate, or the wire, mean diameter and coils that give it.",
        {
            "rate": "Spring rate as measured or marked.",
            "free_length": "Length with no load.",
            "solid_length": "Length with all coils touching.",
            "wire": "Diameter of the wire.",
            "mean_diameter": "Diameter of the coils, from middle to middle of the wire.",
            "coils": "Number of coils that work.",
            "shear_modulus": "Shear modulus of the wire; left out, that of music wire.",
            **_PART,
        },
    ),
    "Car": TableText(
        "NAME.car.toml",
        "A car: what is fitted at each end.",
        {
            "name": "What the team calls the car.",
            "class": "The class that it races in.",
            "front": "What is fitted at the front.",
            "rear": "What is fitted at the rear.",
            "note": "Anything worth keeping about the car.",
        },
    ),
    "CarEnd": TableText(
        "End of a car",
        "What is fitted at one end of a car, alike on both sides.",
        {
            "body": "Id of the body.",
            "shaft": "Id of the shaft.",
            "bladder": "Id of the bladder.",
            "corner_mass": "Sprung mass on one wheel.",
            "motion_ratio": "Damper travel over wheel travel.",
            "seat_gap": "Spring seat to seat, damper fully out, collar at its datum.",
        },
    ),
    "Event": TableText(
        "NAME.event.toml",
        "Where and when: how high, how cold and hot the oil gets, how the cars get there.",
        {
            "name": "What the event is called.",
            "on": "Date of the event, without quotes.",
            "altitude": "Altitude of the track above the sea.",
            "coldest": "The oil at its coldest.",
            "hottest": "The oil at its hottest, no colder than the coldest.",
            "arrive_by": "Whether the cars go there by road or by air.",
            "highest": "Highest altitude on the road there, no lower than the event.",
            "note": "Anything worth keeping about the event.",
        },
    ),
    "Build": TableText(
        "NAME.build.toml",
        "One set of four finished dampers: for which car and event, and what is in each.",
        {
            "car": "Id of the car: the part of its file's name before .car.toml.",
            "event": "Id of the event: the part of its file's name before .event.toml.",
            "style": "With a bladder, or an emulsion of oil and air without one.",
            "bench": "Where and when the dampers were built.",
            "front": "Both dampers at the front.",
            "rear": "Both dampers at the rear.",
            "note": "Anything worth keeping about the build.",
        },
    ),
    "Bench": TableText(
        "Bench",
        "Where and when the dampers were built.",
        {
            "on": "Date of the build, without quotes.",
            "temperature": "Temperature of the oil when the caps were sealed.",
            "altitude": "Altitude of the bench above the sea.",
            "by": "Who built them, or at which bench.",
        },
    ),
    "End": TableText(
        "End of a build",
        "Both dampers of one end: what they share, and what was read on each.",
        {
            **_CORNER,
            "left": "What was read on the left one; it wins over what both share.",
            "right": "What was read on the right one; it wins over what both share.",
        },
    ),
    "Corner": TableText(
        "One damper",
        "One damper: what was read on it, where it is not what both sides share.",
        _CORNER,
    ),
}

"""Which keys each kind of file takes, which it needs, and what must fit together."""

import datetime
from pathlib import Path

import pytest

from buildlint.files.models import KINDS
from buildlint.files.part_models import PART_KINDS
from tests.files.reading import BUILD, EVENT, PARTS, SOUND, read_text, told


@pytest.mark.parametrize("kind", SOUND)
def test_a_file_with_all_that_is_needed_has_no_fault(tmp_path: Path, kind: str) -> None:
    found = read_text(tmp_path, SOUND[kind], kind)
    assert found.faults == []
    assert isinstance(found.model, KINDS[kind])


NEEDED = [
    ("parts", "body.long", "bore", (1, 2, 11), "bore is missing in body.long"),
    ("parts", "body.long", "stroke", (1, 2, 11), "stroke is missing in body.long"),
    ("parts", "body.long", "length", (1, 2, 11), "length is missing in body.long"),
    ("parts", "shaft.slim", "diameter", (5, 2, 12), "diameter is missing in shaft.slim"),
    ("parts", "piston.four", "diameter", (7, 2, 13), "diameter is missing in piston.four"),
    ("parts", "piston.four", "thickness", (7, 2, 13), "thickness is missing in piston.four"),
    ("parts", "piston.four", "holes", (7, 2, 13), "holes is missing in piston.four"),
    ("parts", "bladder.flat", "cup.radius", (16, 1, 10), "radius is missing in bladder.flat.cup"),
    ("parts", "bladder.flat", "cup.depth", (15, 1, 11), "depth is missing in bladder.flat.cup"),
    (
        "parts",
        "oil.thin",
        "viscosity",
        (17, 2, 10),
        "viscosity is missing (or blend, which gives it)",
    ),
    ("parts", "oil.two", "second.at", (23, 1, 17), "at is missing in oil.two.second"),
    (
        "parts",
        "oil.two",
        "second.viscosity",
        (24, 1, 10),
        "viscosity is missing in oil.two.second",
    ),
    (
        "parts",
        "spring.soft",
        "rate",
        (25, 2, 13),
        "rate is missing (or wire, mean_diameter and coils, which give it)",
    ),
    (
        "parts",
        "spring.counted",
        "coils",
        (27, 2, 16),
        "rate is missing (or wire, mean_diameter and coils, which give it)",
    ),
    ("car", "", "name", (1, 1, 1), "name is missing"),
    ("car", "front", "body", (2, 2, 7), "body is missing in front"),
    ("car", "front", "shaft", (2, 2, 7), "shaft is missing in front"),
    ("car", "rear", "body", (5, 2, 6), "body is missing in rear"),
    ("car", "rear", "shaft", (5, 2, 6), "shaft is missing in rear"),
    ("event", "", "name", (1, 1, 1), "name is missing"),
    ("event", "", "on", (1, 1, 1), "on is missing"),
    ("event", "", "altitude", (1, 1, 1), "altitude is missing"),
    ("event", "", "coldest", (1, 1, 1), "coldest is missing"),
    ("event", "", "hottest", (1, 1, 1), "hottest is missing"),
    ("build", "", "car", (1, 1, 1), "car is missing"),
    ("build", "bench", "temperature", (2, 2, 7), "temperature is missing in bench"),
    ("build", "bench", "altitude", (2, 2, 7), "altitude is missing in bench"),
    ("build", "front", "piston", (6, 2, 7), "piston is missing for the front"),
    ("build", "front", "oil", (6, 2, 7), "oil is missing for the front"),
    ("build", "front", "hold_back", (6, 2, 7), "hold_back is missing for the front"),
    ("build", "rear", "piston", (10, 2, 6), "piston is missing for the rear"),
    ("build", "rear", "oil", (10, 2, 6), "oil is missing for the rear"),
    ("build", "rear", "hold_back", (10, 2, 6), "hold_back is missing for the rear"),
]


@pytest.mark.parametrize(
    ("kind", "table", "key", "place", "message"),
    NEEDED,
    ids=[f"{kind}-{table}-{key}" for kind, table, key, _, _ in NEEDED],
)
def test_a_key_that_is_needed_is_missed(
    tmp_path: Path, kind: str, table: str, key: str, place: tuple[int, int, int], message: str
) -> None:
    lines = SOUND[kind].splitlines()
    start = lines.index(f"[{table}]") if table else 0
    gone = next(i for i in range(start, len(lines)) if lines[i].startswith(f"{key} ="))
    lines[gone] = "# gone"  # so that no line moves
    assert told(tmp_path, "\n".join(lines) + "\n", kind) == [("file/missing-key", *place, message)]


@pytest.mark.parametrize(
    ("kind", "table", "lines"),
    [
        ("car", "front", (1, 4)),
        ("car", "rear", (4, 7)),
        ("build", "bench", (1, 5)),
        ("build", "front", (5, 9)),
        ("build", "rear", (9, 13)),
    ],
)
def test_a_table_that_is_needed_is_missed_once(
    tmp_path: Path, kind: str, table: str, lines: tuple[int, int]
) -> None:
    rest = SOUND[kind].splitlines()
    del rest[slice(*lines)]
    assert told(tmp_path, "\n".join(rest), kind) == [
        ("file/missing-key", 1, 1, 1, f"{table} is missing")
    ]


def test_what_is_needed_may_stand_on_each_side(tmp_path: Path) -> None:
    sides = BUILD.replace(
        '[front]\npiston = "four"\noil = "thin"\nhold_back = "6 mm"\n',
        '[front]\npiston = "four"\n[front.left]\noil = "thin"\nhold_back = "6 mm"\n'
        '[front.right]\noil = "thin"\nhold_back = "6 mm"\n',
    )
    assert told(tmp_path, sides, "build") == []
    one_sided = sides.replace('[front.right]\noil = "thin"\nhold_back = "6 mm"\n', "")
    assert told(tmp_path, one_sided, "build") == [
        ("file/missing-key", 6, 2, 7, "hold_back is missing for the front right"),
        ("file/missing-key", 6, 2, 7, "oil is missing for the front right"),
    ]
    empty = sides.replace('[front.right]\noil = "thin"\n', "[front.right]\n")
    assert told(tmp_path, empty, "build") == [
        ("file/missing-key", 11, 2, 13, "oil is missing for the front right"),
    ]


def test_an_emulsion_needs_its_air_and_no_hold_back(tmp_path: Path) -> None:
    emulsion = 'style = "emulsion"\n' + BUILD.replace("hold_back", "air").replace("6 mm", "0.2 ml")
    assert told(tmp_path, emulsion, "build") == []
    assert told(tmp_path, 'style = "emulsion"\n' + BUILD, "build") == [
        ("file/missing-key", 7, 2, 7, "air is missing for the front"),
        ("file/missing-key", 11, 2, 6, "air is missing for the rear"),
    ]


def test_every_key_of_the_design_is_known(tmp_path: Path) -> None:
    parts = """\
[body.b]
bore = "16 mm"
stroke = "28 mm"
length = "52 mm"
oil = "9.1 ml"
cap = "sealed"
gas = "600 mm^3"
piston = "15.9 mm"
note = "n"
[shaft.s]
diameter = "3.5 mm"
coating = "hard chrome"
note = "n"
[piston.p]
diameter = "15.9 mm"
thickness = "2.5 mm"
holes = "4 x 1.4 mm + 2 x 1.1 mm"
taper_to = "1.6 mm"
note = "n"
[bladder.b]
into_body = "370 mm^3"
into_cap = "460 mm^3"
cup = { radius = "6.5 mm", depth = "4 mm" }
note = "n"
[oil.o]
viscosity = "350 cSt"
at = "25 degC"
second = { viscosity = "190 cSt", at = "60 degC" }
density = "0.968 g/cm^3"
expansion = "9.6e-4 1/K"
label = "blue cap"
note = "n"
[oil.m]
blend = { o = "60 %", other = "40 %" }
viscosity = "400 cSt"
vtc = "0.60"
[spring.s]
rate = "0.82 N/mm"
free_length = "70 mm"
solid_length = "24 mm"
wire = "1.5 mm"
mean_diameter = "20.5 mm"
coils = "7"
shear_modulus = "81.5 GPa"
note = "n"
"""
    car = """\
name = "Heron"
class = "eighth-scale buggy"
[front]
body = "b"
shaft = "s"
bladder = "b"
corner_mass = "760 g"
motion_ratio = "0.66"
seat_gap = "70 mm"
[rear]
body = "b"
shaft = "s"
"""
    event = EVENT + 'arrive_by = "road"\nhighest = "2150 m"\n'
    build = BUILD.replace('altitude = "5 m"\n', 'altitude = "5 m"\nby = "first bench"\n').replace(
        "[rear]\n",
        """\
spring = "soft"
limiter = "2 mm"
collar = "3 mm"
length = "104 mm"
rebound = "60 %"
air = "0.2 ml"
label = "thin four"
body = "long"
shaft = "slim"
bladder = "deep"
done = ["deburred", "greased", "threadlocked", "bled", "rod end free", "leak checked"]
runtime = "5 h"
[rear]
""",
    )
    build = f'event = "quarry"\nstyle = "bladder"\n{build}'
    for kind, text in (("parts", parts), ("car", car), ("event", event), ("build", build)):
        assert told(tmp_path, text, kind) == [], kind


def test_what_is_left_out_has_the_value_of_the_design(tmp_path: Path) -> None:
    build = read_text(tmp_path, BUILD, "build").model
    event = read_text(tmp_path, EVENT, "event").model
    parts = read_text(tmp_path, PARTS, "parts").model
    assert getattr(build, "style") == "bladder"  # noqa: B009 - the model's type is not known here
    assert getattr(event, "arrive_by") == "road"  # noqa: B009
    assert getattr(event, "on") == datetime.date(2027, 6, 12)  # noqa: B009
    assert getattr(parts, "body")["long"].cap == "vented"  # noqa: B009
    assert PART_KINDS == ("body", "shaft", "piston", "bladder", "oil", "spring")


def test_the_coldest_is_not_hotter_than_the_hottest(tmp_path: Path) -> None:
    message = 'the coldest oil, "39 degC", is hotter than the hottest, "38 degC"'
    assert told(tmp_path, EVENT.replace("14 degC", "39 degC"), "event") == [
        ("file/out-of-range", 4, 11, 20, message)
    ]
    # 38 degC is 100.4 degF
    assert told(tmp_path, EVENT.replace("14 degC", "100.4 degF"), "event") == []


def test_the_road_to_an_event_climbs_to_it(tmp_path: Path) -> None:
    # the event is at 1900 m; each altitude is known to 20 m where no tolerance is given
    message = (
        'the highest altitude on the road there, "1850 m", is below the event itself, "1900 m"'
    )
    assert told(tmp_path, EVENT + 'highest = "1850 m"\n', "event") == [
        ("file/out-of-range", 6, 11, 19, message)
    ]
    for within in ("1900 m", "1870 m", "1850 m ± 30 m"):
        assert told(tmp_path, EVENT + f'highest = "{within}"\n', "event") == []


def test_the_highest_altitude_on_the_road_is_not_read_of_cars_that_fly(tmp_path: Path) -> None:
    flown = EVENT + 'arrive_by = "{}"\nhighest = "2150 m"\n'
    assert told(tmp_path, flown.format("air"), "event") == [
        (
            "file/unread-key",
            7,
            11,
            19,
            'highest is not read with arrive_by = "air": it is of the road there',
        )
    ]
    assert told(tmp_path, flown.format("road"), "event") == []
    assert [t[:2] for t in told(tmp_path, flown.format("sea"), "event")] == [
        ("file/not-a-choice", 6)
    ]


def test_an_emulsion_has_no_bladder(tmp_path: Path) -> None:
    text = f'style = "emulsion"\n{BUILD.replace("hold_back", "air").replace("6 mm", "1 ml")}'
    assert told(tmp_path, text) == []
    text = text.replace("[rear]", 'bladder = "deep"\n[front.left]\nbladder = "deep"\n[rear]')
    message = 'bladder is not read with style = "emulsion": such a damper has none'
    assert told(tmp_path, text) == [
        ("file/unread-key", 11, 11, 17, message),
        ("file/unread-key", 13, 11, 17, message),
    ]


def test_no_escape_in_a_reading_gets_into_a_message(tmp_path: Path) -> None:
    # a newline counts as a space before the unit
    for text in ('coldest = "39\\ndegC"', 'coldest = "39\\u001cdegC"'):
        found = read_text(tmp_path, EVENT.replace('coldest = "14 degC"', text), "event")
        assert [fault.rule for fault in found.faults] == ["file/out-of-range"]
        assert found.faults[0].message.isprintable()

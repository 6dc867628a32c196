"""Which keys each kind of file takes, which it needs, and what must fit together."""

import datetime
from pathlib import Path

import pytest

from buildlint.files.models import KINDS, PART_KINDS
from buildlint.files.places import START, Places
from buildlint.files.reader import FileRead, read_file

BUILD = """\
car = "heron"
[bench]
on = 2027-06-05
temperature = "16 degC"
altitude = "5 m"
[front]
piston = "four"
oil = "thin"
hold_back = "6 mm"
[rear]
piston = "four"
oil = "thin"
hold_back = "6 mm"
"""
CAR = """\
name = "Heron"
[front]
body = "long"
shaft = "slim"
[rear]
body = "long"
shaft = "slim"
"""
EVENT = """\
name = "Quarry Six-Hour"
on = 2027-06-12
altitude = "1900 m"
coldest = "14 degC"
hottest = "38 degC"
"""
PARTS = """\
[body.long]
bore = "16 mm"
stroke = "28 mm"
length = "52 mm"
[shaft.slim]
diameter = "3.5 mm"
[piston.four]
diameter = "15.9 mm"
thickness = "2.5 mm"
holes = "4 x 1.8 mm"
[bladder.deep]
into_body = "370 mm^3"
into_cap = "460 mm^3"
[bladder.flat]
cup.radius = "6.5 mm"
cup.depth = "4 mm"
[oil.thin]
viscosity = "350 cSt"
[oil.mixed]
blend = { thin = "60 %", other = "40 %" }
[oil.two]
viscosity = "450 cSt"
second.viscosity = "190 cSt"
second.at = "60 degC"
[spring.soft]
rate = "0.82 N/mm"
[spring.counted]
wire = "1.5 mm"
mean_diameter = "20.5 mm"
coils = "7"
"""
SOUND = {"build": BUILD, "car": CAR, "event": EVENT, "parts": PARTS}

Told = tuple[str, int, int, int, str]


def read_text(folder: Path, kind: str, text: str) -> FileRead:
    path = folder / f"x.{kind}.toml"
    path.write_text(text, encoding="utf-8", newline="")
    return read_file(path, kind, "x", folder)


def told(folder: Path, kind: str, text: str) -> list[Told]:
    """Every fault with its place, in the order of the file."""
    found = read_text(folder, kind, text)
    places = Places(found.data)
    out = []
    for fault in found.faults:
        at = fault.place or START
        if fault.place is None and fault.path:
            at = places.of_key(fault.path) if fault.on_key else places.of_value(fault.path)
        out.append((fault.rule, *at, fault.message))
    return sorted(out)


def oil(folder: Path, text: str) -> list[Told]:
    return told(folder, "parts", f"[oil.a]\n{text}\n")


@pytest.mark.parametrize("kind", SOUND)
def test_a_file_with_all_that_is_needed_has_no_fault(tmp_path: Path, kind: str) -> None:
    found = read_text(tmp_path, kind, SOUND[kind])
    assert found.faults == []
    assert isinstance(found.model, KINDS[kind])


# --- keys that are needed, as the design lists them ----------------------------------------------

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
    ("build", "bench", "on", (2, 2, 7), "on is missing in bench"),
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
    assert told(tmp_path, kind, "\n".join(lines) + "\n") == [("file/missing-key", *place, message)]


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
    assert told(tmp_path, kind, "\n".join(rest)) == [
        ("file/missing-key", 1, 1, 1, f"{table} is missing")
    ]


def test_what_is_needed_may_stand_on_each_side(tmp_path: Path) -> None:
    sides = BUILD.replace(
        '[front]\npiston = "four"\noil = "thin"\nhold_back = "6 mm"\n',
        '[front]\npiston = "four"\n[front.left]\noil = "thin"\nhold_back = "6 mm"\n'
        '[front.right]\noil = "thin"\nhold_back = "6 mm"\n',
    )
    assert told(tmp_path, "build", sides) == []
    one_sided = sides.replace('[front.right]\noil = "thin"\nhold_back = "6 mm"\n', "")
    assert told(tmp_path, "build", one_sided) == [
        ("file/missing-key", 6, 2, 7, "hold_back is missing for the front right"),
        ("file/missing-key", 6, 2, 7, "oil is missing for the front right"),
    ]
    empty = sides.replace('[front.right]\noil = "thin"\n', "[front.right]\n")
    assert told(tmp_path, "build", empty) == [
        ("file/missing-key", 11, 2, 13, "oil is missing for the front right"),
    ]


def test_an_emulsion_needs_its_air_and_no_hold_back(tmp_path: Path) -> None:
    emulsion = 'style = "emulsion"\n' + BUILD.replace("hold_back", "air").replace("6 mm", "0.2 ml")
    assert told(tmp_path, "build", emulsion) == []
    assert told(tmp_path, "build", 'style = "emulsion"\n' + BUILD) == [
        ("file/missing-key", 7, 2, 7, "air is missing for the front"),
        ("file/missing-key", 11, 2, 6, "air is missing for the rear"),
    ]


def test_a_sealed_cap_needs_its_gas(tmp_path: Path) -> None:
    sealed = PARTS.replace('length = "52 mm"\n', 'length = "52 mm"\ncap = "sealed"\n', 1)
    assert told(tmp_path, "parts", sealed) == [
        (
            "file/missing-key",
            1,
            2,
            11,
            "gas is missing: with a sealed cap, the volume of gas over the bladder, such as "
            '"600 mm^3"',
        )
    ]
    assert told(tmp_path, "parts", sealed.replace("[shaft", 'gas = "600 mm^3"\n[shaft', 1)) == []


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
vtc = "0.60"
density = "0.968 g/cm^3"
expansion = "9.6e-4 1/K"
label = "blue cap"
note = "n"
[oil.m]
blend = { o = "60 %", other = "40 %" }
viscosity = "400 cSt"
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
    event = EVENT + 'arrive_by = "air"\nhighest = "2150 m"\n'
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
        assert told(tmp_path, kind, text) == [], kind


def test_what_is_left_out_has_the_value_of_the_design(tmp_path: Path) -> None:
    build = read_text(tmp_path, "build", BUILD).model
    event = read_text(tmp_path, "event", EVENT).model
    parts = read_text(tmp_path, "parts", PARTS).model
    assert getattr(build, "style") == "bladder"  # noqa: B009 - the model's type is not known here
    assert getattr(event, "arrive_by") == "road"  # noqa: B009
    assert getattr(event, "on") == datetime.date(2027, 6, 12)  # noqa: B009
    assert getattr(parts, "body")["long"].cap == "vented"  # noqa: B009
    assert PART_KINDS == ("body", "shaft", "piston", "bladder", "oil", "spring")


# --- what must fit together ----------------------------------------------------------------------


@pytest.mark.parametrize("at", ["100 degF", "210 degF", "310.928 K", "37.778 degC"])
def test_saybolt_seconds_stand_with_one_of_their_temperatures(tmp_path: Path, at: str) -> None:
    assert oil(tmp_path, f'viscosity = "2000 SUS"\nat = "{at}"') == []


@pytest.mark.parametrize("at", ["", 'at = "25 degC"', 'at = "100 degC"'])
def test_saybolt_seconds_without_their_temperature_are_refused(tmp_path: Path, at: str) -> None:
    assert oil(tmp_path, f'viscosity = "2000 SUS"\n{at}') == [
        (
            "file/not-a-reading",
            2,
            13,
            23,
            '"2000 SUS" needs its temperature: at = "100 degF" or "210 degF"',
        )
    ]


@pytest.mark.parametrize(
    ("seconds", "message"),
    [
        ("31.9", '"31.9 SUS": below 32 SUS there is no viscosity (ASTM D2161)'),
        ("-5", '"-5 SUS": below 32 SUS there is no viscosity (ASTM D2161)'),
        ("1e300", '"1e300 SUS" is out of range: this takes up to 460000 SUS'),
    ],
)
def test_saybolt_seconds_out_of_range_are_refused(
    tmp_path: Path, seconds: str, message: str
) -> None:
    assert oil(tmp_path, f'viscosity = "{seconds} SUS"\nat = "100 degF"') == [
        ("file/out-of-range", 2, 13, 19 + len(seconds), message)
    ]


def test_saybolt_seconds_of_the_second_point_need_its_own_temperature(tmp_path: Path) -> None:
    first = 'viscosity = "2000 SUS"\nat = "100 degF"\n'
    assert oil(tmp_path, first + 'second = { viscosity = "300 SUS", at = "210 degF" }') == []
    assert oil(tmp_path, first + 'second = { viscosity = "300 SUS", at = "60 degC" }') == [
        (
            "file/not-a-reading",
            4,
            24,
            33,
            '"300 SUS" needs its temperature: at = "100 degF" or "210 degF"',
        )
    ]


def test_a_dynamic_viscosity_needs_the_density(tmp_path: Path) -> None:
    assert oil(tmp_path, 'viscosity = "440 mPa.s"\ndensity = "0.968 g/ml"') == []
    assert oil(tmp_path, 'viscosity = "440 mPa.s"') == [
        (
            "file/wrong-dimension",
            2,
            13,
            24,
            '"440 mPa.s" is a dynamic viscosity: give the oil\'s density too, such as '
            'density = "0.968 g/cm^3", or its viscosity in cSt',
        )
    ]


@pytest.mark.parametrize(
    ("shares", "total"),
    [
        ('b = "60 %", c = "50 %"', "110 %"),
        ('b = "60 %", c = "30 %"', "90 %"),
        ('b = "100 %", c = "1 %"', "101 %"),
        ('b = "99 %"', "99 %"),
        ("", "0 %"),
    ],
)
def test_the_shares_of_a_blend_add_up(tmp_path: Path, shares: str, total: str) -> None:
    blend = f"{{ {shares} }}"
    assert oil(tmp_path, f"blend = {blend}") == [
        (
            "file/out-of-range",
            2,
            9,
            9 + len(blend),
            f"the shares add up to {total}; a blend's add up to 100 %",
        )
    ]


@pytest.mark.parametrize(
    "shares",
    [
        'b = "60 %", c = "40 %"',
        'b = "100 %"',
        "b = 0.6, c = 0.4",
        'b = "0.6", c = "40 %"',
        'b = "1/3", c = "1/3", d = "1/3"',
        'b = "33.3 %", c = "33.3 %", d = "33.3 %"',
    ],
)
def test_shares_that_add_up_to_the_whole(tmp_path: Path, shares: str) -> None:
    assert oil(tmp_path, f"blend = {{ {shares} }}") == []


def test_eight_oils_fit_in_a_blend_and_nine_do_not(tmp_path: Path) -> None:
    eight = ", ".join(f'o{i} = "12.5 %"' for i in range(8))
    assert oil(tmp_path, f"blend = {{ {eight} }}") == []
    nine = ", ".join(f'o{i} = "1 %"' for i in range(9))
    assert oil(tmp_path, f"blend = {{ {nine} }}") == [
        (
            "file/out-of-range",
            2,
            9,
            13 + len(nine),
            "9 oils in one blend; at most 8 fit here",
        )
    ]


def test_no_oil_is_thicker_when_warmer(tmp_path: Path) -> None:
    text = 'viscosity = "190 cSt"\nsecond = {{ viscosity = "450 cSt", at = "{}" }}'
    # 25 degC where none is stated
    assert oil(tmp_path, text.format("0 degC")) == []
    assert oil(tmp_path, text.format("60 degC")) == [
        (
            "file/out-of-range",
            3,
            24,
            33,
            '"190 cSt" at "25 degC", but "450 cSt" at "60 degC": no oil is thicker when warmer',
        )
    ]
    assert oil(tmp_path, text.format("77 degF")) == [
        (
            "file/out-of-range",
            3,
            40,
            49,
            'both viscosities are at the same temperature, "77 degF"',
        )
    ]
    # a dynamic viscosity beside a kinematic one is not compared as it stands
    dynamic = text.format("60 degC").replace("450 cSt", "185 mPa.s")
    assert oil(tmp_path, dynamic + '\ndensity = "0.97 g/ml"') == []


def test_the_coldest_is_not_hotter_than_the_hottest(tmp_path: Path) -> None:
    assert told(tmp_path, "event", EVENT.replace("14 degC", "39 degC")) == [
        (
            "file/out-of-range",
            4,
            11,
            20,
            'the coldest oil, "39 degC", is hotter than the hottest, "38 degC"',
        )
    ]
    # 38 degC is 100.4 degF
    assert told(tmp_path, "event", EVENT.replace("14 degC", "100.4 degF")) == []


def test_no_escape_in_a_reading_gets_into_a_message(tmp_path: Path) -> None:
    # a newline counts as a space before the unit
    for text in ('coldest = "39\\ndegC"', 'coldest = "39\\u001cdegC"'):
        found = read_text(tmp_path, "event", EVENT.replace('coldest = "14 degC"', text))
        assert [fault.rule for fault in found.faults] == ["file/out-of-range"]
        assert found.faults[0].message.isprintable()

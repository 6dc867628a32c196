"""What each field takes: default tolerances, ranges, holes, a dynamic viscosity beside."""

import math
from typing import Any, get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlint.files.fields import Holes, Kind, PistonHoles, Quantity, range_text, shown_number
from buildlint.readings import Mistake

NAMES = [name for name in vars(Quantity) if not name.startswith("_")]


def kind(name: str) -> Kind:
    found = get_args(getattr(Quantity, name))[1]
    assert isinstance(found, Kind)
    return found


def holes(given_: object) -> Holes:
    found = get_args(PistonHoles)[1].read(given_)
    assert isinstance(found, Holes)
    return found


def refusal(name: str, given_: object) -> tuple[str, str]:
    with pytest.raises(Mistake) as caught:
        kind(name).read(given_)
    return caught.value.rule, caught.value.message


# --- default tolerances, as the design promises them ---------------------------------------------


@pytest.mark.parametrize(
    ("name", "text", "half"),
    [
        # machined sizes: 0.02 mm
        ("bore", "16 mm", 0.02e-3),
        ("shaft", "3.5 mm", 0.02e-3),
        ("piston", "15.9 mm", 0.02e-3),
        ("hole", "1.6 mm", 0.02e-3),
        ("wire", "1.6 mm", 0.02e-3),
        # lengths read with a caliper: 0.1 mm
        ("stroke", "30 mm", 0.1e-3),
        ("body_length", "52 mm", 0.1e-3),
        ("thickness", "2.5 mm", 0.1e-3),
        ("length", "104 mm", 0.1e-3),
        ("gap", "78 mm", 0.1e-3),
        ("small_length", "2 mm", 0.1e-3),
        ("cup", "7 mm", 0.1e-3),
        ("hold_back", "6.4 mm", 0.3e-3),
        # volumes: 10 %, of 9 ml, 300 mm^3, 0.2 ml
        ("volume", "9 ml", 0.9e-6),
        ("room", "300 mm^3", 30e-9),
        ("air", "0.2 ml", 0.02e-6),
        # viscosity: 5 %, of 450 cSt
        ("viscosity", "450 cSt", 22.5e-6),
        ("temperature", "20 degC", 2.0),
        ("temperature", "68 degF", 2.0),
        ("altitude", "1900 m", 20.0),
        ("altitude", "-100 m", 20.0),
        # spring rate: 5 % of 800 N/m; mass: 5 % of 0.8 kg; motion ratio: 3 % of 0.65
        ("spring_rate", "0.8 N/mm", 40.0),
        ("mass", "800 g", 0.040),
        ("motion_ratio", "0.65", 0.0195),
        ("motion_ratio", "2", 0.06),
        # points of the stroke, not a share of the reading
        ("rebound", "60 %", 0.03),
        # counted or given by the maker: no tolerance of its own
        ("coils", "6.5", 0.0),
        ("vtc", "0.60", 0.0),
        ("share", "60 %", 0.0),
        ("runtime", "5 h", 0.0),
    ],
)
def test_a_field_without_a_tolerance_has_its_default(name: str, text: str, half: float) -> None:
    got = kind(name).read(text)
    assert got.value - got.low == pytest.approx(half, rel=1e-9, abs=1e-12)
    assert got.high - got.value == pytest.approx(half, rel=1e-9, abs=1e-12)


@pytest.mark.parametrize("name", NAMES)
def test_every_field_reads_its_own_example_and_both_ends_of_its_range(name: str) -> None:
    field = kind(name)
    example = field.read(field.example)
    assert example.low <= example.value <= example.high
    most = field.read(field.most)
    assert most.high == most.value
    if field.least_open:
        assert refusal(name, field.least)[0] == "file/out-of-range"
    else:
        least = field.read(field.least)
        assert least.low == least.value
        assert least.value < most.value


# A bare number that would be in range in per cent is most likely meant so.
HINTS = {("rebound", "60"): '; did you mean "60 %"?'}


@pytest.mark.parametrize(
    ("name", "text", "range_"),
    [
        ("bore", "3.99 mm", "4 mm to 60 mm"),
        ("bore", "61 mm", "4 mm to 60 mm"),
        ("bore", "16 in", "4 mm to 60 mm"),
        ("hold_back", "-3 mm", "0 mm to 150 mm"),
        ("hold_back", "151 mm", "0 mm to 150 mm"),
        ("volume", "0 ml", "more than 0 ml to 200 ml"),
        ("volume", "-1 ml", "more than 0 ml to 200 ml"),
        ("rebound", "101 %", "0 % to 100 %"),
        ("rebound", "60", "0 % to 100 %"),
        ("motion_ratio", "0.04", "0.05 to 3"),
        ("viscosity", "0.9 cSt", "1 cSt to 100000 cSt"),
        ("viscosity", "0.9 cP", "1 cP to 100000 cP"),
        ("temperature", "-61 degC", "-60 degC to 200 degC"),
        ("temperature", "-1 K", "-60 degC to 200 degC"),
        ("altitude", "6001 m", "-430 m to 6000 m"),
        ("runtime", "-1 h", "0 h to 100000 h"),
    ],
)
def test_what_is_out_of_range_is_told_with_the_range(name: str, text: str, range_: str) -> None:
    assert refusal(name, text) == (
        "file/out-of-range",
        f'"{text}" is out of range: this takes {range_}' + HINTS.get((name, text), ""),
    )


def test_a_range_in_words() -> None:
    assert range_text(kind("bore")) == "4 mm to 60 mm"
    assert range_text(kind("volume")) == "more than 0 ml to 200 ml"


def test_a_hold_back_is_never_below_zero() -> None:
    assert kind("hold_back").read("0.1 mm")[:3] == pytest.approx((0.0001, 0.0, 0.0004))
    assert kind("hold_back").read("0 mm")[:3] == pytest.approx((0.0, 0.0, 0.0003))
    assert kind("hold_back").read("1 mm ± 5 mm").low == 0.0


@pytest.mark.parametrize(
    ("name", "text", "low", "high"),
    [
        ("viscosity", "450 cSt ± 500 cSt", 1e-6, 950e-6),
        ("viscosity", "450 cSt ± 200 %", 1e-6, 1350e-6),
        ("bore", "16 mm ± 20 mm", 0.004, 0.036),
        ("bore", "16 mm ± 1e300 mm", 0.004, 0.060),
        ("vtc", "0.6 ± 0.7", 0.05, 0.99),
        ("rebound", "99 % ± 3 %", 0.96, 1.0),
        ("temperature", "20 degC ± 400 K", 213.15, 473.15),
    ],
)
def test_a_tolerance_reaches_no_further_than_the_range(
    name: str, text: str, low: float, high: float
) -> None:
    got = kind(name).read(text)
    assert (got.low, got.high) == pytest.approx((low, high), rel=1e-9)


@given(st.sampled_from(NAMES), st.floats(0.0, 1.0), st.floats(0.0, 1e6))
def test_no_tolerance_takes_a_reading_out_of_its_range(
    name: str, where: float, percent: float
) -> None:
    field = kind(name)
    least, most = field.read(field.most).value, 0.0
    if not field.least_open:
        most = field.read(field.least).value
    unit = {"length": "m", "volume": "l", "mass": "kg", "spring rate": "N/m"}.get(field.dimension)
    if unit is None:
        return
    size = 1e-3 if unit == "l" else 1.0
    value = most + (least - most) * where
    try:
        got = field.read(f"{value / size!r} {unit} ± {percent!r} %")
    except Mistake as mistake:
        # the last bit of an end of the range
        assert mistake.rule == "file/out-of-range"
        assert where in (0.0, 1.0) or value == pytest.approx(most) or value == pytest.approx(least)
        return
    assert most <= got.low <= got.value <= got.high <= least


# --- kinds of value ------------------------------------------------------------------------------


@pytest.mark.parametrize("given_", [375, 6.4, 0, -1, math.nan, math.inf])
def test_a_number_without_quotes_is_refused_with_an_example(given_: float) -> None:
    assert refusal("hold_back", given_) == (
        "file/not-a-reading",
        f'{given_!r} has no unit and no quotes; write a reading such as "6.4 mm"',
    )


@pytest.mark.parametrize("given_", [True, False, None, [], ["6.4 mm"], {}, {"mm": 6.4}, object()])
@pytest.mark.parametrize("name", ["hold_back", "motion_ratio"])
def test_what_is_neither_text_nor_number_is_refused(name: str, given_: object) -> None:
    example = {"hold_back": "6.4 mm", "motion_ratio": "0.65"}[name]
    assert refusal(name, given_) == (
        "file/not-a-reading",
        f'a reading belongs here, such as "{example}"',
    )


def test_a_share_may_stand_as_a_bare_number() -> None:
    assert kind("motion_ratio").read(0.65)[:3] == pytest.approx((0.65, 0.6305, 0.6695))
    assert kind("motion_ratio").read(1).value == 1.0
    assert kind("rebound").read(0.6)[:3] == pytest.approx((0.6, 0.57, 0.63))
    assert kind("rebound").read("0.6")[:3] == pytest.approx((0.6, 0.57, 0.63))


@pytest.mark.parametrize(
    "given_",
    [math.nan, math.inf, -math.inf, 10**80, pytest.param(16**5000, id="6,021 digits")],
)
def test_a_share_that_is_no_number_to_count_with_is_refused(given_: float) -> None:
    rule, message = refusal("rebound", given_)
    assert rule == "file/not-a-reading"
    assert len(message) < 200


def test_a_whole_number_of_any_length_is_named_shortly() -> None:
    assert shown_number(375) == "375"
    assert shown_number(10**80) == "100000000000…"
    assert shown_number(16**5000) == "a number of very many digits"
    assert len(refusal("hold_back", 16**5000)[1]) < 200


def test_a_viscosity_may_be_dynamic() -> None:
    # 440 mPa.s = 0.44 Pa.s, 5 % of it is 0.022
    got = kind("viscosity").read("440 mPa.s")
    assert got[:3] == pytest.approx((0.44, 0.418, 0.462))
    assert got.unit == "mPa.s"
    assert kind("viscosity").read("440 mPa·s")[:4] == got[:4]


def test_a_viscosity_of_another_dimension_is_told_what_belongs_there() -> None:
    assert refusal("viscosity", "375 mm") == (
        "file/wrong-dimension",
        '"375 mm" is a length; a kinematic viscosity belongs here, such as "450 cSt"',
    )
    assert refusal("viscosity", "440 cP ± 1 mm")[0] == "file/wrong-dimension"
    assert refusal("viscosity", "1e9 cP")[0] == "file/out-of-range"


def test_saybolt_seconds_keep_their_seconds_and_begin_at_32() -> None:
    assert kind("viscosity").read("3000 SUS")[:4] == (3000.0, 2850.0, 3150.0, "SUS")
    # 5 % of 33 is 1.65: there is nothing below 32 (ASTM D2161)
    assert kind("viscosity").read("33 SUS")[:3] == pytest.approx((33.0, 32.0, 34.65))


# --- holes ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("4 x 1.8 mm", [(4, 1.8, 0.02)]),
        ("4x1.8mm", [(4, 1.8, 0.02)]),
        ("4 × 1.8 mm", [(4, 1.8, 0.02)]),
        ("  4 x 1.8 mm  ", [(4, 1.8, 0.02)]),
        ("4 x 1.4 mm + 2 x 1.1 mm", [(4, 1.4, 0.02), (2, 1.1, 0.02)]),
        ("4x1.4mm+2x1.1mm", [(4, 1.4, 0.02), (2, 1.1, 0.02)]),
        ("4 x 1.4 mm ± 0.05 mm + 2 x 1.1 mm", [(4, 1.4, 0.05), (2, 1.1, 0.02)]),
        ("4 x 1.4 mm +/- 0.05 mm + 2 x 1.1 mm", [(4, 1.4, 0.05), (2, 1.1, 0.02)]),
        ("4 x 1.4 +/- 0.05 mm + 2 x 1.1 +- 0.1 mm", [(4, 1.4, 0.05), (2, 1.1, 0.1)]),
        ("1 x 1 mm + 1 x 1.1 mm + 1 x 1.2 mm", [(1, 1.0, 0.02), (1, 1.1, 0.02), (1, 1.2, 0.02)]),
        # 1/16 in = 1.5875 mm
        ("6 x 1/16 in", [(6, 1.5875, 0.02)]),
        ('6 x 1/16" + 1 x 1 mm', [(6, 1.5875, 0.02), (1, 1.0, 0.02)]),
        # 5 % of 2 mm
        ("999 x 2 mm ± 5 %", [(999, 2.0, 0.1)]),
        ("2 x 2 mm ± 5 % + 2 x 1 mm", [(2, 2.0, 0.1), (2, 1.0, 0.02)]),
    ],
)
def test_holes_of_one_size_or_several(text: str, expected: list[tuple[int, float, float]]) -> None:
    got = holes(text)
    assert got.text == text
    assert [n for n, _ in got.groups] == [n for n, _, _ in expected]
    for (_, reading), (_, size, half) in zip(got.groups, expected, strict=True):
        assert reading.value == pytest.approx(size * 1e-3)
        assert reading.high - reading.value == pytest.approx(half * 1e-3)


@pytest.mark.parametrize(
    ("given_", "rule", "message"),
    [
        ("", "file/not-a-reading", "is not a number of holes and their size, such as"),
        ("1.8 mm", "file/not-a-reading", '"1.8 mm" is not a number of holes and their size'),
        ("0 x 1.8 mm", "file/not-a-reading", "is not a number of holes and their size"),
        ("-4 x 1.8 mm", "file/not-a-reading", "is not a number of holes and their size"),
        ("4.5 x 1.8 mm", "file/not-a-reading", "is not a number of holes and their size"),
        ("1000 x 1.8 mm", "file/not-a-reading", "is not a number of holes and their size"),
        ("٤ x 1.8 mm", "file/not-a-reading", "is not a number of holes and their size"),
        ("4 x 1.8 mm +", "file/not-a-reading", "is not a number of holes and their size"),
        ("4 x 1.8", "file/not-a-reading", '"1.8" has no unit; a length belongs here'),
        ("4 x 1.8 cSt", "file/wrong-dimension", '"1.8 cSt" is a kinematic viscosity'),
        ("4 x 1.8 mn", "file/unknown-unit", "did you mean mm?"),
        ("4 x 18 mm", "file/out-of-range", '"18 mm" is out of range: this takes 0.1 mm to 10 mm'),
        ("4 x -1 mm", "file/out-of-range", '"-1 mm" is out of range'),
        ("4 x nan mm", "file/not-a-reading", '"nan mm" is not a number and a unit'),
        (4, "file/not-a-reading", "write the holes in quotes"),
        (None, "file/not-a-reading", "write the holes in quotes"),
        (["4 x 1.8 mm"], "file/not-a-reading", "write the holes in quotes"),
        (" + ".join(["1 x 1 mm"] * 9), "file/not-a-reading", "at most 8 sizes of hole fit here"),
        pytest.param(
            "4 x " + "1" * 100_000,
            "file/not-a-reading",
            "has 100,004 characters; holes take at most 128",
            id="100,004 characters",
        ),
    ],
)
def test_what_are_no_holes_is_refused(given_: Any, rule: str, message: str) -> None:
    with pytest.raises(Mistake) as caught:
        holes(given_)
    assert caught.value.rule == rule
    assert message in caught.value.message
    assert len(caught.value.message) < 250


def test_eight_sizes_of_hole_fit() -> None:
    assert len(holes(" + ".join(["1 x 1 mm"] * 8)).groups) == 8

"""A kind of reading: its range, bare numbers, a dynamic viscosity beside a kinematic one."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildlint.files.kind import range_text, shown_number
from buildlint.files.readings import Mistake
from tests.files.asking import NAMES, kind, refusal


def test_a_range_in_words() -> None:
    assert range_text(kind("bore")) == "4 mm to 60 mm"
    assert range_text(kind("volume")) == "more than 0 ml to 200 ml"


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


@pytest.mark.parametrize(
    ("given_", "example"),
    [
        *((6.4, "6.4"), (9.5, "9.5"), (0, "0"), (375, "6.4"), (-1, "6.4"), (1e-7, "6.4")),
        *((math.nan, "6.4"), (math.inf, "6.4"), (10**80, "6.4")),
    ],
)
def test_a_number_without_quotes_is_refused_with_an_example(given_: float, example: str) -> None:
    """Its own number where the field takes it, else the field's: a hold-back is 0 to 150 mm."""
    assert refusal("hold_back", given_) == (
        "file/not-a-reading",
        f'{shown_number(given_)} has no unit and no quotes; write a reading such as "{example} mm"',
    )


@pytest.mark.parametrize(
    ("name", "given_", "example"),
    [
        ("viscosity", "600", "600 cSt"),
        ("viscosity", "0.2", "450 cSt"),
        ("hold_back", "9.5", "9.5 mm"),
        ("hold_back", " 9.5 ", "9.5 mm"),
        ("hold_back", "151", "6.4 mm"),
        ("hold_back", "1e3", "6.4 mm"),
        ("hold_back", "3/8", "6.4 mm"),
        ("hold_back", "6 apples", "6 mm"),
        ("hold_back", "", "6.4 mm"),
        ("hole", "4 x 1.8 mm", "1.6 mm"),
        ("temperature", 16, "16 degC"),
        ("temperature", -61, "20 degC"),
        ("altitude", "5", "5 m"),
        ("volume", "9,8 ml", "9.8 ml"),
        ("volume", "9,8", "9.8 ml"),
        ("volume", "9,8 ml ± 5 %", "9.8 ml ± 5 %"),
        ("volume", "9,8 l", "9 ml"),
        ("volume", "0", "9 ml"),
        ("altitude", "1,850 m", "1900 m"),
        ("density", "0,955 g/cm³", "0.955 g/cm^3"),
        ("viscosity", "445,5 mPa·s", "445.5 mPa.s"),
        ("rebound", "57,5", "57.5 %"),
        ("vtc", "0,61", "0.61"),
        ("expansion", "0.0009", "0.0009 1/K"),
    ],
)
def test_an_example_has_the_builder_s_own_number(
    name: str, given_: float | str, example: str
) -> None:
    """Where the field takes it in that unit, and it is sure which number it is."""
    rule, message = refusal(name, given_)
    assert rule in ("file/not-a-reading", "file/unknown-unit")
    assert message.endswith(f'such as "{example}"')
    assert kind(name).read(example)


def test_an_example_of_another_dimension_is_the_field_s_own() -> None:
    assert refusal("hold_back", "9.5 cSt")[1].endswith('such as "6.4 mm"')


@given(st.sampled_from(NAMES), st.text("0123456789.,+- mcStgl%", max_size=70))
def test_every_example_is_a_reading_that_the_field_takes(name: str, text: str) -> None:
    try:
        kind(name).read(text)
    except Mistake as mistake:
        example = mistake.message.rpartition('such as "')[2]
        if example.endswith('"') and example != mistake.message:
            assert kind(name).read(example.removesuffix('"'))
        assert len(mistake.message) < 250


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

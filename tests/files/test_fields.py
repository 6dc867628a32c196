"""What each field takes: default tolerances and ranges."""

import pytest

from tests.files.asking import NAMES, kind, refusal


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


def test_a_hold_back_is_never_below_zero() -> None:
    assert kind("hold_back").read("0.1 mm")[:3] == pytest.approx((0.0001, 0.0, 0.0004))
    assert kind("hold_back").read("0 mm")[:3] == pytest.approx((0.0, 0.0, 0.0003))
    assert kind("hold_back").read("1 mm ± 5 mm").low == 0.0

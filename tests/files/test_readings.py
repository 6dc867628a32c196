"""The grammar of a reading: every form, every refusal, every unit against pint."""

import math
from fractions import Fraction

import pint
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from buildlint.files.readings import LONGEST, Mistake, Written, read, written
from buildlint.files.unit_sizes import SIZES

REGISTRY: pint.UnitRegistry = pint.UnitRegistry()

# Our names in pint's own, one by one; the SI unit that each dimension comes back in.
PINT = {
    "length": (
        "meter",
        {
            "mm": "millimeter",
            "cm": "centimeter",
            "m": "meter",
            "um": "micrometer",
            "in": "inch",
            '"': "inch",
            "ft": "foot",
            "thou": "thou",
        },
    ),
    "volume": (
        "meter**3",
        {"mm^3": "millimeter**3", "cm^3": "centimeter**3", "ml": "milliliter", "l": "liter"},
    ),
    "viscosity": (
        "meter**2/second",
        {"cSt": "centistokes", "mm^2/s": "millimeter**2/second", "St": "stokes"},
    ),
    "dynamic viscosity": (
        "pascal*second",
        {"cP": "centipoise", "mPa.s": "millipascal*second", "Pa.s": "pascal*second"},
    ),
    "temperature": ("kelvin", {"degC": "degC", "degF": "degF", "K": "kelvin"}),
    "pressure": (
        "pascal",
        {
            "Pa": "pascal",
            "hPa": "hectopascal",
            "kPa": "kilopascal",
            "bar": "bar",
            "mbar": "millibar",
            "psi": "psi",
            "atm": "standard_atmosphere",
            "inHg": "inch_Hg",
        },
    ),
    "spring rate": (
        "newton/meter",
        {
            "N/mm": "newton/millimeter",
            "N/m": "newton/meter",
            "lbf/in": "force_pound/inch",
            "gf/mm": "force_gram/millimeter",
            "kgf/mm": "force_kilogram/millimeter",
            "lb/in": "force_pound/inch",
            "g/mm": "force_gram/millimeter",
        },
    ),
    "mass": ("kilogram", {"g": "gram", "kg": "kilogram", "oz": "ounce", "lb": "pound"}),
    "density": (
        "kilogram/meter**3",
        {
            "g/ml": "gram/milliliter",
            "g/cm^3": "gram/centimeter**3",
            "kg/m^3": "kilogram/meter**3",
        },
    ),
    "time": ("second", {"min": "minute", "h": "hour", "day": "day"}),
}
UNITS = [(dimension, unit) for dimension, (_, units) in PINT.items() for unit in units]
ALL_UNITS = sorted({unit for units in SIZES.values() for unit in units} | {"SUS", ""})


def refusal(text: str, dimension: str = "length") -> tuple[str, str]:
    with pytest.raises(Mistake) as caught:
        read(text, dimension)
    assert str(caught.value) == caught.value.message
    return caught.value.rule, caught.value.message


# --- the grammar ---------------------------------------------------------------------------------


@given(
    st.floats(allow_nan=False, allow_infinity=False),
    st.sampled_from(ALL_UNITS),
    st.none() | st.floats(0.0, 1e300),
    st.booleans(),
)
def test_the_canonical_form_reads_back_as_the_same(
    number: float, unit: str, tolerance: float | None, relative: bool
) -> None:
    tolerance_unit = "" if tolerance is None else "%" if relative else unit
    # a share beside a per cent is refused: it can be read in two ways
    assume(not (tolerance_unit == "%" and unit == ""))
    given_ = Written(number, unit, tolerance, tolerance_unit)
    assume(len(str(given_)) <= LONGEST)
    assert written(str(given_)) == given_


@given(
    st.sampled_from(["", "-", "+"]),
    st.none() | st.integers(0, 9999),
    st.integers(0, 9999),
    st.integers(1, 9999),
    st.sampled_from(ALL_UNITS),
)
def test_a_fraction_and_a_mixed_number_have_their_exact_value(
    sign: str, whole: int | None, above: int, below: int, unit: str
) -> None:
    text = f"{sign}{'' if whole is None else f'{whole} '}{above}/{below} {unit}"
    exact = (whole or 0) + Fraction(above, below)
    got = written(text)
    assert got.number == pytest.approx(float(-exact if sign == "-" else exact), rel=1e-15)
    assert got[1:] == (unit, None, "")


@given(st.decimals(-(10**6), 10**6, allow_nan=False, places=4), st.integers(-20, 20))
def test_decimals_and_exponents_have_their_value(number: object, exponent: int) -> None:
    assert written(f"{number} mm").number == float(str(number))
    if "E" not in str(number):
        for mark in "eE":
            assert written(f"{number}{mark}{exponent:+d} mm").number == float(
                f"{number}e{exponent}"
            )


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("6.4 mm", Written(6.4, "mm")),
        ("6.4mm", Written(6.4, "mm")),
        ("  6.4   mm  ", Written(6.4, "mm")),
        (".5 mm", Written(0.5, "mm")),
        ("5. mm", Written(5.0, "mm")),
        ("+5 mm", Written(5.0, "mm")),
        ("-430 m", Written(-430.0, "m")),
        ("1e-3 m", Written(0.001, "m")),
        ("1E3 um", Written(1000.0, "um")),
        ("1 3/8 in", Written(1.375, "in")),
        ("-1 3/8 in", Written(-1.375, "in")),
        ("3/8 in", Written(0.375, "in")),
        ('1 3/8"', Written(1.375, '"')),
        ("1 3/8″", Written(1.375, '"')),
        ("6.4 ± 0.2 mm", Written(6.4, "mm", 0.2, "mm")),
        ("6.4 mm ± 0.2", Written(6.4, "mm", 0.2, "mm")),
        ("6.4 mm ± 0.2 mm", Written(6.4, "mm", 0.2, "mm")),
        ("(6.4 ± 0.2) mm", Written(6.4, "mm", 0.2, "mm")),
        ("6.4 +/- 0.2 mm", Written(6.4, "mm", 0.2, "mm")),
        ("6.4+-0.2mm", Written(6.4, "mm", 0.2, "mm")),
        ("(6.4 +/- 0.2) mm", Written(6.4, "mm", 0.2, "mm")),
        ("1 3/8 in ± 1/64 in", Written(1.375, "in", 0.015625, "in")),
        ("6.4 mm ± 10 thou", Written(6.4, "mm", 10.0, "thou")),
        ("450 cSt ± 5 %", Written(450.0, "cSt", 5.0, "%")),
        ("60 %", Written(60.0, "%")),
        ("60 % ± 5 %", Written(60.0, "%", 5.0, "%")),
        ("60 ± 5 %", Written(60.0, "", 5.0, "%")),
        ("(60 ± 5) %", Written(60.0, "%", 5.0, "%")),
        ("0.65", Written(0.65, "")),
        ("0.65 ± 0.02", Written(0.65, "", 0.02, "")),
        ("300 mm³", Written(300.0, "mm^3")),
        ("450 mm²/s", Written(450.0, "mm^2/s")),
        ("440 mPa·s", Written(440.0, "mPa.s")),
        ("50 µm", Written(50.0, "um")),  # the micro sign, U+00B5
        ("50 μm", Written(50.0, "um")),  # the Greek letter, U+03BC
        ("20 °C", Written(20.0, "degC")),
        ("20 °C ± 2 K", Written(20.0, "degC", 2.0, "K")),
        ("9.6e-4 1/K", Written(9.6e-4, "1/K")),
        ("9.6e-4 /K", Written(9.6e-4, "/K")),
    ],
)
def test_every_form_is_read(text: str, expected: Written) -> None:
    assert written(text) == expected


# --- sizes ---------------------------------------------------------------------------------------


def test_pints_names_are_given_for_every_unit_of_a_file() -> None:
    # the rest of the table serves rules and rarer fields; test_units compares it as a whole
    others = {"share", "ratio", "expansion", "stiffness", "damping", "speed", "frequency"}
    table = {k: sorted(v) for k, v in SIZES.items() if k not in others}
    assert table == {dimension: sorted(units) for dimension, (_, units) in PINT.items()}


@given(st.sampled_from(UNITS), st.floats(-1e6, 1e6))
def test_a_value_is_pints(where: tuple[str, str], number: float) -> None:
    dimension, unit = where
    base, names = PINT[dimension]
    expected = REGISTRY.Quantity(number, names[unit]).to(base).magnitude
    got = read(f"{number!r} {unit}", dimension)
    # near absolute zero nothing is left of a relative error
    assert got.value == pytest.approx(expected, rel=1e-12, abs=1e-9 if "deg" in unit else 1e-300)
    assert got.low == got.high == got.value
    assert got.unit == unit


@given(st.sampled_from(UNITS), st.floats(0.0, 1e6), st.floats(0.0, 1e6))
def test_a_tolerance_in_the_same_unit_is_pints_difference(
    where: tuple[str, str], number: float, half: float
) -> None:
    dimension, unit = where
    base, names = PINT[dimension]
    low = REGISTRY.Quantity(number - half, names[unit]).to(base).magnitude
    high = REGISTRY.Quantity(number + half, names[unit]).to(base).magnitude
    got = read(f"{number!r} {unit} ± {half!r} {unit}", dimension)
    # among the subnormal numbers nothing is left of a relative error either
    hair = max((abs(high) + abs(low)) * 1e-9, 1e-300)
    assert got.low == pytest.approx(low, rel=1e-9, abs=hair)
    assert got.high == pytest.approx(high, rel=1e-9, abs=hair)


@pytest.mark.parametrize(
    ("text", "dimension", "expected"),
    [
        # 1.375 in * 25.4 mm
        ("1 3/8 in", "length", (0.034925, 0.034925, 0.034925)),
        ("6.4 ± 0.2 mm", "length", (0.0064, 0.0062, 0.0066)),
        # a tolerance in a unit of its own: 10 thou = 0.254 mm
        ("6.4 mm ± 10 thou", "length", (0.0064, 0.006146, 0.006654)),
        # 5 % of 450 = 22.5
        ("450 cSt ± 5 %", "viscosity", (450e-6, 427.5e-6, 472.5e-6)),
        # 5 % of -400 m is 20 m: the width of a tolerance is never below zero
        ("-400 m ± 5 %", "length", (-400.0, -420.0, -380.0)),
        # a share's tolerance in per cent is in points
        ("60 % ± 5 %", "share", (0.60, 0.55, 0.65)),
        ("60 ± 5 %", "share", (0.60, 0.55, 0.65)),
        ("65 % ± 0.5", "share", (0.65, 0.645, 0.655)),
        ("0.65 ± 0.02", "share", (0.65, 0.63, 0.67)),
        # 68 degF = 20 degC = 293.15 K; a difference of 9 degF is 5 K
        ("68 degF ± 9 degF", "temperature", (293.15, 288.15, 298.15)),
        ("20 degC ± 2 K", "temperature", (293.15, 291.15, 295.15)),
        ("20 degC ± 2 degC", "temperature", (293.15, 291.15, 295.15)),
        ("20 degC ± 3.6 degF", "temperature", (293.15, 291.15, 295.15)),
        ("(20 ± 2) °C", "temperature", (293.15, 291.15, 295.15)),
        ("300 K ± 1 degC", "temperature", (300.0, 299.0, 301.0)),
        # SUS keeps its seconds
        ("3000 SUS ± 5 %", "viscosity", (3000.0, 2850.0, 3150.0)),
    ],
)
def test_value_low_and_high(text: str, dimension: str, expected: tuple[float, ...]) -> None:
    got = read(text, dimension)
    assert got[:3] == pytest.approx(expected, rel=1e-12)
    assert got.text == text


def test_a_default_tolerance_counts_only_where_none_is_written() -> None:
    assert read("10 mm", "length", (0.0001, False))[:3] == pytest.approx((0.01, 0.0099, 0.0101))
    assert read("10 mm", "length", (0.05, True))[:3] == pytest.approx((0.01, 0.0095, 0.0105))
    assert read("10 mm ± 0 mm", "length", (0.05, True))[:3] == (0.01, 0.01, 0.01)
    assert read("-10 m", "length", (0.05, True))[:3] == pytest.approx((-10.0, -10.5, -9.5))


@pytest.mark.parametrize("text", ["0.65 ± 2 %", "1 ± 2 %", "-0.65 ± 2 %"])
def test_a_share_with_a_tolerance_in_per_cent_is_refused_as_ambiguous(text: str) -> None:
    rule, message = refusal(text, "share")
    assert rule == "file/not-a-reading"
    assert message == (
        f'"{text}" can be read in two ways: write both as shares (0.65 ± 0.02) or both in per '
        "cent (65 % ± 2 %); a share belongs here"
    )


def test_a_ratios_tolerance_in_per_cent_is_a_share_of_it() -> None:
    # 3 % of 0.65 is 0.0195, of 1.2 it is 0.036
    assert read("0.65 ± 3 %", "ratio")[:3] == pytest.approx((0.65, 0.6305, 0.6695))
    assert read("1.2 ± 3 %", "ratio")[:3] == pytest.approx((1.2, 1.164, 1.236))
    assert read("65 % ± 3 %", "ratio")[:3] == pytest.approx((0.65, 0.6305, 0.6695))


def test_a_minus_sign_of_typography_is_a_minus() -> None:
    assert read("−3 degC", "temperature").value == pytest.approx(270.15)


# --- refusals ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "dimension", "rule", "message"),
    [
        ("", "length", "file/not-a-reading", "nothing is in the quotes; a length"),
        ("   ", "length", "file/not-a-reading", "nothing is in the quotes; a length"),
        ("6.4", "length", "file/not-a-reading", '"6.4" has no unit; a length belongs here'),
        ("375", "viscosity", "file/not-a-reading", '"375" has no unit; '),
        ("mm", "length", "file/not-a-reading", '"mm" is not a number and a unit'),
        ("nan mm", "length", "file/not-a-reading", '"nan mm" is not a number and a unit'),
        ("inf mm", "length", "file/not-a-reading", '"inf mm" is not a number and a unit'),
        ("1e400 mm", "length", "file/not-a-reading", '"1e400 mm" is too large a number'),
        ("6.4 mm ± 1e400 mm", "length", "file/not-a-reading", "is too large a number"),
        ("1e308 kPa", "pressure", "file/not-a-reading", "is too large a number"),
        ("1e308 m ± 1e308 %", "length", "file/not-a-reading", "is too large a number"),
        ("9**9**9 mm", "length", "file/not-a-reading", '"9**9**9 mm" is not a number and a unit'),
        ("1/0 in", "length", "file/not-a-reading", '"1/0 in" divides by zero'),
        ("1 3/0 in", "length", "file/not-a-reading", '"1 3/0 in" divides by zero'),
        ("0/0 in", "length", "file/not-a-reading", "divides by zero"),
        ("6,4 mm", "length", "file/not-a-reading", "has a comma in its number"),
        # a point in some countries, a times in others
        ("6·4 mm", "length", "file/not-a-reading", "has a raised dot in its number"),
        ("6 ⋅ 4 mm", "length", "file/not-a-reading", "has a raised dot in its number"),
        ("·5", "ratio", "file/not-a-reading", "has a raised dot in its number"),
        ("6.4 ± 0·2 mm", "length", "file/not-a-reading", "has a raised dot in its number"),
        ("6.4 mm ± -0.2 mm", "length", "file/not-a-reading", "has a tolerance below zero"),
        ("6.4 mm ±", "length", "file/not-a-reading", "is not a number and a unit"),
        ("6.4 ± 0.2 ± 0.1 mm", "length", "file/not-a-reading", "is not a number and a unit"),
        ("(6.4 ± 0.2 mm", "length", "file/not-a-reading", "is not a number and a unit"),
        ("(6.4 ± 0.2)", "length", "file/not-a-reading", "is not a number and a unit"),
        ("(6.4 mm ± 0.2) mm", "length", "file/not-a-reading", "is not a number and a unit"),
        ("(6.4) mm", "length", "file/not-a-reading", "is not a number and a unit"),
        ("1 3/8 1/8 in", "length", "file/not-a-reading", "is not a number and a unit"),
        ("--3 mm", "length", "file/not-a-reading", "is not a number and a unit"),
        ("0x10 mm", "length", "file/unknown-unit", '"x10 mm" is not a unit known here'),
        ("1_000 mm", "length", "file/not-a-reading", "is not a number and a unit"),
        ("٣ mm", "length", "file/not-a-reading", "is not a number and a unit"),
        ("3٣ mm", "length", "file/not-a-reading", "is not a number and a unit"),
        ("６ mm", "length", "file/not-a-reading", "is not a number and a unit"),
        ("½ in", "length", "file/not-a-reading", "is not a number and a unit"),
        ("20 degC ± 5 %", "temperature", "file/not-a-reading", "a temperature; write it in K"),
        ("375cst", "viscosity", "file/unknown-unit", "did you mean cSt?"),
        ("3 inches", "length", "file/unknown-unit", "did you mean in?"),
        ("6.4 mn", "length", "file/unknown-unit", "did you mean mm?"),
        ("5 cc", "volume", "file/unknown-unit", "did you mean cm^3?"),
        ("6 parsec", "length", "file/unknown-unit", '"parsec" is not a unit known here; a length'),
        ("375 mm", "viscosity", "file/wrong-dimension", '"375 mm" is a length; a kinematic visc'),
        ("375 cSt", "length", "file/wrong-dimension", '"375 cSt" is a kinematic viscosity; a len'),
        ("375 SUS", "length", "file/wrong-dimension", '"375 SUS" is a kinematic viscosity; a len'),
        ("375 cP", "viscosity", "file/wrong-dimension", '"375 cP" is a dynamic viscosity; a kin'),
        ("6.4 mm ± 1 ml", "length", "file/wrong-dimension", " is a volume; a length belongs here"),
        ("5 %", "length", "file/wrong-dimension", '"5 %" is a share; a length belongs here'),
        ("40 wt", "viscosity", "file/bottle-weight", '"40 wt": wt is not a unit'),
        ("40 wt.", "viscosity", "file/bottle-weight", '"40 wt.": wt. is not a unit'),
        ("40 Weight", "viscosity", "file/bottle-weight", '"40 Weight": Weight is not a unit'),
        ("40 WT", "length", "file/bottle-weight", '"40 WT": WT is not a unit'),
    ],
)
def test_what_is_no_reading_is_refused(text: str, dimension: str, rule: str, message: str) -> None:
    got, said = refusal(text, dimension)
    assert got == rule
    assert message in said


def test_a_refusal_ends_with_what_belongs_there() -> None:
    with pytest.raises(Mistake) as caught:
        read("6.4", "length", example="7 mm")
    assert caught.value.message == '"6.4" has no unit; a length belongs here, such as "7 mm"'


def test_the_weight_of_a_bottle_is_told_from_a_viscosity() -> None:
    assert refusal("40 wt", "viscosity")[1] == (
        '"40 wt": wt is not a unit, only a bottler\'s number; write the viscosity in cSt from '
        'the oil\'s data sheet, such as "450 cSt"'
    )
    assert refusal("40 wt", "length")[1] == (
        '"40 wt": wt is not a unit, only a bottler\'s number; a length belongs here'
    )


def test_a_reading_may_have_64_characters_and_no_more() -> None:
    longest = "6." + "4" * (LONGEST - 5) + " mm"
    assert len(longest) == LONGEST == 64
    assert read(longest, "length").value == pytest.approx(0.0064444444)
    rule, message = refusal("4" + longest)
    assert rule == "file/not-a-reading"
    assert "has 65 characters; a reading has at most 64" in message


@pytest.mark.parametrize(
    "text",
    ["9" * 100_000, "(" * 100_000, "1/" * 50_000, " " * 100_000, "±" * 100_000],
    ids=["digits", "brackets", "fractions", "spaces", "signs"],
)
def test_a_text_of_any_length_gets_a_short_message(text: str) -> None:
    rule, message = refusal(text)
    assert rule == "file/not-a-reading"
    assert "has 100,000 characters" in message
    assert len(message) < 200


@pytest.mark.parametrize(
    "text", ["6.4 m\x1b[31mm", "\x00", "6.4 mm\x07", "x\u202eyz", "6\r\n4 mn", "\x9b31m"]
)
def test_nothing_that_a_terminal_obeys_stands_in_a_message(text: str) -> None:
    for dimension in ("length", "share", "viscosity"):
        assert refusal(text, dimension)[1].isprintable()


@given(st.text(max_size=80))
def test_any_text_is_read_or_refused_in_one_short_printable_line(text: str) -> None:
    for dimension in ("length", "viscosity", "share", "temperature"):
        try:
            got = read(text, dimension)
        except Mistake as mistake:
            assert mistake.rule in {
                "file/not-a-reading",
                "file/unknown-unit",
                "file/wrong-dimension",
                "file/bottle-weight",
            }
            assert mistake.message.isprintable()
            assert len(mistake.message) < 600
        else:
            assert math.isfinite(got.low)
            assert math.isfinite(got.high)


@given(
    st.text("0123456789 ./±+-()%eE\"mKgcStlNdFC^,x'*", max_size=24),
    st.sampled_from(sorted(SIZES)),
)
def test_what_looks_like_a_reading_is_read_or_refused(text: str, dimension: str) -> None:
    try:
        got = read(text, dimension)
    except Mistake:
        return
    assert got.low <= got.value <= got.high
    assert math.isfinite(got.low)
    assert math.isfinite(got.high)

"""What must agree within a part: oils, blends, caps."""

from pathlib import Path

import pytest

from tests.files.reading import PARTS, Told, told


def oil(folder: Path, text: str) -> list[Told]:
    return told(folder, f"[oil.a]\n{text}\n", "parts")


def test_a_sealed_cap_needs_its_gas(tmp_path: Path) -> None:
    sealed = PARTS.replace('length = "52 mm"\n', 'length = "52 mm"\ncap = "sealed"\n', 1)
    assert told(tmp_path, sealed, "parts") == [
        (
            "file/missing-key",
            1,
            2,
            11,
            "gas is missing: with a sealed cap, the volume of gas over the bladder, such as "
            '"600 mm^3"',
        )
    ]
    assert told(tmp_path, sealed.replace("[shaft", 'gas = "600 mm^3"\n[shaft', 1), "parts") == []


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


# The same 100 cSt at 25 degC in other units: ASTM D2161 has 100 SUS at 100 degF as 20.515 cSt and
# 700 SUS as 151.09 cSt; a dynamic viscosity is the kinematic one times the density.
THICKER_WHEN_WARMER = [
    ("100 cSt", "25 degC", "120 mm^2/s", "60 degC", "100 and 120"),
    ("100 cSt", "25 degC", "1.2 St", "333.15 K", "100 and 120"),
    ("1 St", "77 degF", "120 cSt", "140 degF", "100 and 120"),
    ("120 cSt", "60 degC", "1 St", "25.0 degC ± 1 degC", "120 and 100"),
    ("100 cSt", "60 degC", "0.8 St", "77 degF", "100 and 80"),
    ("100 cSt", "25 degC", "700 SUS", "100 degF", "100 and 151.09"),
    ("100 SUS", "100 degF", "30 cSt", "60 degC", "20.515 and 30"),
    ("100 SUS", "100 degF", "15 cSt", "60 degC", None),
    ("700 SUS", "100 degF", "100 cSt", "25 degC", "151.09 and 100"),
    ("700 SUS", "100 degF", "155 cSt", "100 degF", "same"),
    ("100 cSt", "25 degC", "97 cP", "60 degC", "100 and 103.36"),
    ("100 cSt", "25 degC", "0.050 Pa.s", "60 degC", None),
    ("97 mPa.s", "25 degC", "101 cSt", "60 degC", "100 and 101"),
    ("97 mPa.s", "25 degC", "100 mPa.s", "60 degC", ""),
    ("97 cP", "25 degC", "90 mPa.s", "60 degC", None),
]


@pytest.mark.parametrize(("one", "at", "other", "warm", "refused"), THICKER_WHEN_WARMER)
def test_whatever_its_units_no_oil_is_thicker_when_warmer(
    tmp_path: Path, one: str, at: str, other: str, warm: str, refused: str | None
) -> None:
    """At 60 degC 0.97 g/ml are 0.97/(1 + 9.6e-4 * 35) = 0.93847, and 97 cP are 103.36 cSt."""
    text = (
        f'viscosity = "{one}"\nat = "{at}"\ndensity = "0.97 g/ml"\n'
        f'expansion = "9.6e-4 1/K"\nsecond = {{ viscosity = "{other}", at = "{warm}" }}'
    )
    if refused is None:
        assert oil(tmp_path, text) == []
        return
    message = f'"{one}" at "{at}", but "{other}" at "{warm}"'
    message += f", {refused} cSt" if refused else ""
    message += ": no oil is thicker when warmer"
    column = 24
    if refused == "same":
        message = f'both viscosities are at the same temperature, "{warm}"'
        column += len(f'"{other}", at = ')
    (found,) = oil(tmp_path, text)
    assert (found[0], found[1], found[2]) == ("file/out-of-range", 6, column)
    assert found[4] == message


def test_no_spring_is_longer_with_its_coils_touching(tmp_path: Path) -> None:
    spring = '[spring.a]\nrate = "0.8 N/mm"\nfree_length = "70 mm"\nsolid_length = "{} mm"\n'
    message = 'the solid length, "71 mm", is more than the free length, "70 mm"'
    assert told(tmp_path, spring.format(71), "parts") == [("file/out-of-range", 4, 16, 23, message)]
    # within the tolerances it may be as long
    assert told(tmp_path, spring.format(70.2), "parts") == []


def test_what_would_give_a_rate_and_is_refused_is_the_one_mistake(tmp_path: Path) -> None:
    text = '[spring.a]\nwire = "1.5 mn"\nmean_diameter = "20 mm"\ncoils = "7"\n'
    assert [t[:2] for t in told(tmp_path, text, "parts")] == [("file/unknown-unit", 2)]
    text = '[oil.a]\nblend = { b = "60 wt" }\n'
    assert [t[:2] for t in told(tmp_path, text, "parts")] == [("file/bottle-weight", 2)]
    text = '[spring.a]\nmean_diameter = "20 mm"\ncoils = "7"\n'
    assert [t[:2] for t in told(tmp_path, text, "parts")] == [("file/missing-key", 1)]


BODY = '[body.a]\nbore = "16 mm"\nstroke = "28 mm"\nlength = "52 mm"\n'


@pytest.mark.parametrize("cap", ["", 'cap = "vented"\n'])
def test_gas_under_a_vented_cap_is_not_read(tmp_path: Path, cap: str) -> None:
    message = 'gas is read only with cap = "sealed": a vented cap lets the outside in'
    assert told(tmp_path, f'{BODY}gas = "600 mm^3"\n{cap}', "parts") == [
        ("file/unread-key", 5, 7, 17, message)
    ]


def test_gas_beside_a_cap_that_was_refused_is_the_one_mistake(tmp_path: Path) -> None:
    for cap, rule in (('cap = "seald"', "not-a-choice"), ('capp = "sealed"', "unknown-key")):
        found = told(tmp_path, f'{BODY}gas = "600 mm^3"\n{cap}\n', "parts")
        assert [t[:2] for t in found] == [(f"file/{rule}", 6)]


# 16 mm across and 52 mm long: pi/4 * 16^2 * 52 = 10455 mm^3. With 0.02 mm and 0.1 mm of tolerance,
# 60 % of the least is 6246 mm^3, 150 % of the most 15752 mm^3.
@pytest.mark.parametrize(
    ("oil", "far"),
    [
        ("0.91 ml", "less"),
        ("6.2 ml ± 0 ml", "less"),
        ("91 ml", "more"),
        ("15.8 ml ± 0 ml", "more"),
        ("6.25 ml ± 0 ml", None),
        ("5.9 ml ± 10 %", None),
        ("15.75 ml ± 0 ml", None),
        ("17 ml ± 10 %", None),
    ],
)
def test_a_body_takes_about_the_oil_that_its_tube_holds(
    tmp_path: Path, oil: str, far: str | None
) -> None:
    found = told(tmp_path, f'{BODY}oil = "{oil}"\n', "parts")
    about = "than bore and length hold, 10.5 ml: 60 % to 150 % of that is believed"
    message = f'"{oil}" of oil is far {far} {about}'
    due = [("file/out-of-range", 5, 7, 9 + len(oil), message)] if far else []
    assert found == due


@pytest.mark.parametrize(
    ("text", "line", "message"),
    [
        (
            'viscosity = "450 cSt"\nvtc = "0.60"\n'
            'second = { viscosity = "190 cSt", at = "60 degC" }',
            3,
            "vtc is not read beside second: both say how the oil thins, so give only one",
        ),
        *(
            (
                f'blend = {{ b = "60 %", c = "40 %" }}\n{key} = {value}',
                3,
                f"{key} is not read without viscosity: a blend has that of its parts",
            )
            for key, value in (
                ("at", '"40 degC"'),
                ("vtc", '"0.60"'),
                ("second", '{ viscosity = "190 cSt", at = "60 degC" }'),
            )
        ),
    ],
)
def test_what_is_not_read_of_an_oil_is_told(
    tmp_path: Path, text: str, line: int, message: str
) -> None:
    assert [(rule, at, said) for rule, at, _, _, said in oil(tmp_path, text)] == [
        ("file/unread-key", line, message)
    ]
    # of the two that do not go together, one alone is sound
    for left_out in ("vtc =", "second =", "at ="):
        rest = [row for row in text.splitlines() if not row.startswith(left_out)]
        if len(rest) < len(text.splitlines()):
            assert oil(tmp_path, "\n".join(rest)) == []


def test_a_blend_whose_viscosity_was_refused_has_that_mistake_alone(tmp_path: Path) -> None:
    text = 'blend = { b = "100 %" }\nviscosity = "40 wt"\nat = "40 degC"\nvtc = "0.60"'
    assert [t[:2] for t in oil(tmp_path, text)] == [("file/bottle-weight", 3)]


@pytest.mark.parametrize(
    ("given", "unread"),
    [
        ("wire", ["wire is not read without mean_diameter and coils"]),
        ("coils", ["coils is not read without wire and mean_diameter"]),
        ("mean_diameter", ["mean_diameter is not read without wire and coils"]),
        (
            "wire mean_diameter",
            ["wire is not read without coils", "mean_diameter is not read without coils"],
        ),
        ("shear_modulus", ["shear_modulus is not read without wire, mean_diameter and coils"]),
        # wire and coils give the solid length, where that is not given
        ("wire coils", []),
        ("wire coils shear_modulus", ["shear_modulus is not read without mean_diameter"]),
        (
            "wire coils solid_length",
            ["wire is not read without mean_diameter", "coils is not read without mean_diameter"],
        ),
        ("wire mean_diameter coils shear_modulus solid_length", []),
    ],
)
def test_what_gives_no_rate_by_itself_is_not_read_of_a_spring(
    tmp_path: Path, given: str, unread: list[str]
) -> None:
    values = {
        "wire": "1.5 mm",
        "mean_diameter": "20 mm",
        "coils": "7",
        "shear_modulus": "80 GPa",
        "solid_length": "24 mm",
    }
    lines = [f'{key} = "{values[key]}"' for key in given.split()]
    text = "\n".join(["[spring.a]", 'rate = "0.8 N/mm"', *lines])
    found = told(tmp_path, text, "parts")
    assert [t[0] for t in found] == ["file/unread-key"] * len(unread)
    assert [t[4] for t in found] == unread
    assert all(f"{t[4].split()[0]} = " in text.splitlines()[t[1] - 1] for t in found)

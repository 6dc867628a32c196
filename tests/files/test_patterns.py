"""The patterns: whatever the grammar reads they take, and what is of no use they refuse."""

from __future__ import annotations

import re
import time
from typing import Any

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from buildlint.files.fields import Quantity
from buildlint.files.holes import PistonHoles
from buildlint.files.kind import Kind
from buildlint.files.patterns import holes_pattern, limit_pattern, reading_pattern
from buildlint.files.readings import Mistake, read
from buildlint.files.units import DIMENSIONS, units_of

WHOLE = st.integers(1, 999).map(str)
SIGN = st.sampled_from(["", "+", "-", "−"])
SPACE = st.sampled_from(["", " ", "  ", "\t", "\u00a0"])
EXPONENT = st.builds("{}{}{}".format, st.sampled_from("eE"), st.sampled_from(["", "+", "-", "−"]),
                     st.integers(0, 9))  # fmt: skip
NUMBER = st.one_of(
    WHOLE,
    st.builds("{}.{}".format, WHOLE, WHOLE),
    WHOLE.map("{}.".format),
    WHOLE.map(".{}".format),
    st.builds("{}{}".format, WHOLE, EXPONENT),
    st.builds("{}.{}{}".format, WHOLE, WHOLE, EXPONENT),
    st.builds("{}/{}".format, WHOLE, WHOLE),
    st.builds("{}{}{}/{}".format, WHOLE, st.sampled_from([" ", "  "]), WHOLE, WHOLE),
)
PLUS_MINUS = st.sampled_from(["±", "+/-", "+-", "+/−", "+−"])

# the other ways to write a unit, by hand
FANCY = {
    "mm^3": ["mm³"],
    "cm^3": ["cm³"],
    "mm^2/s": ["mm²/s"],
    "g/cm^3": ["g/cm³"],
    "kg/m^3": ["kg/m³"],
    "degC": ["°C"],
    "degF": ["°F"],
    "um": ["µm", "μm"],
    '"': ["″"],
    "mPa.s": ["mPa·s", "mPa⋅s"],
    "Pa.s": ["Pa·s", "Pa⋅s"],
}
BARE = ("share", "ratio")


def units(dimension: str) -> list[str]:
    return [way for unit in units_of(dimension) for way in (unit, *FANCY.get(unit, []))]


@st.composite
def readings(draw: Any, dimension: str, sign: st.SearchStrategy[str] = SIGN) -> str:
    space = lambda: draw(SPACE)  # noqa: E731
    unit = draw(st.sampled_from(units(dimension)))
    after = draw(st.sampled_from(units(dimension)))
    number = draw(sign) + draw(NUMBER)
    tolerance = draw(PLUS_MINUS) + space() + draw(NUMBER)
    none = dimension in BARE
    share = "" if dimension == "temperature" else "%"
    form = draw(
        st.sampled_from(
            [
                f"{number}{space()}{unit}",
                f"{number}{space()}{unit}{space()}{tolerance}",
                f"{number}{space()}{tolerance}{space()}{unit}",
                f"{number}{space()}{unit}{space()}{tolerance}{space()}{after}",
                f"{number}{space()}{unit}{space()}{tolerance}{space()}{share}",
                f"({space()}{number}{space()}{tolerance}{space()}){space()}{unit}",
                *([number, f"{number}{space()}{tolerance}"] if none else []),
            ]
        )
    )
    return f"{space()}{form}{space()}"


def reads(text: str, dimension: str) -> bool:
    try:
        read(text, dimension)
    except Mistake:
        return False
    return True


@pytest.mark.parametrize("dimension", DIMENSIONS)
def test_whatever_the_grammar_reads_is_taken(dimension: str) -> None:
    pattern = re.compile(reading_pattern(dimension))
    taken = 0

    @given(readings(dimension))
    def holds(text: str) -> None:
        nonlocal taken
        assume(reads(text, dimension))
        taken += 1
        assert pattern.search(text)

    holds()
    assert taken > 0


@pytest.mark.parametrize("dimension", DIMENSIONS)
def test_above_zero_it_is_taken_where_nothing_is_below(dimension: str) -> None:
    pattern = re.compile(reading_pattern(dimension, below_zero=False))

    @given(readings(dimension, st.sampled_from(["", "+"])))
    def holds(text: str) -> None:
        assume(reads(text, dimension))
        assert pattern.search(text)

    holds()
    unit = units_of(dimension)[0]
    assert not pattern.search(f"-3 {unit}")
    assert not pattern.search(f"(−3 ± 1) {unit}")


@pytest.mark.parametrize("dimension", DIMENSIONS)
def test_other_dimensions_are_refused_by_both(dimension: str) -> None:
    pattern = re.compile(reading_pattern(dimension))
    others = [o for o in DIMENSIONS if not set(units_of(o)) & set(units_of(dimension))]

    @given(st.sampled_from(others).flatmap(readings))
    def holds(text: str) -> None:
        # a share may be a bare number, a length may not
        assume(re.search(r"[A-Za-z%\"°µμ″]", text.replace("e", "").replace("E", "")))
        assert not reads(text, dimension)
        assert not pattern.search(text)

    holds()


@pytest.mark.parametrize("dimension", DIMENSIONS)
@pytest.mark.parametrize(
    "text", ["", " ", "40 wt", "40wt", "450 wt.", "thick", "mm", "6,4 mm", "three mm", "6.4 mn"]
)
def test_what_is_of_no_use_is_refused_by_both(dimension: str, text: str) -> None:
    assert not reads(text, dimension)
    assert not re.search(reading_pattern(dimension), text)
    assert not re.search(reading_pattern(dimension, below_zero=False), text)
    assert not re.search(limit_pattern(dimension), text)


@pytest.mark.parametrize("dimension", [d for d in DIMENSIONS if d not in BARE])
def test_a_unit_is_needed(dimension: str) -> None:
    for text in ("6.4", "1 3/8", "6.4 ± 0.2", "1e3"):
        assert not reads(text, dimension)
        assert not re.search(reading_pattern(dimension), text)


def test_a_field_of_two_dimensions_takes_both() -> None:
    pattern = reading_pattern("viscosity", "dynamic viscosity", below_zero=False)
    for text in ("450 cSt ± 5 %", "440 mPa·s", "2000 SUS"):
        assert re.search(pattern, text)
    assert not re.search(pattern, "40 wt")


@pytest.mark.parametrize("dimension", DIMENSIONS)
def test_a_limit_has_no_tolerance(dimension: str) -> None:
    pattern = limit_pattern(dimension)
    for unit in units(dimension):
        assert re.search(pattern, f"-0.05 {unit}")
        assert not re.search(pattern, f"2 {unit} ± 1 {unit}")
        assert not re.search(pattern, f"(2 ± 1) {unit}")


HOLES = PistonHoles.__metadata__[0]  # type: ignore[attr-defined]


@settings(suppress_health_check=[HealthCheck.filter_too_much])
@given(st.lists(st.tuples(st.integers(1, 999), readings("length")), min_size=1, max_size=3))
def test_holes_that_are_read_are_taken(groups: list[tuple[int, str]]) -> None:
    text = " + ".join(f"{count} x {size}" for count, size in groups)
    try:
        HOLES.read(text)
    except Mistake:
        assume(False)
    assert re.search(holes_pattern(8), text)


@pytest.mark.parametrize(
    "text",
    [
        "4 x 1.8 mm",
        "4x1.8mm",
        "4 × 1.4 mm + 2 × 1.1 mm",
        "2 x 1.5 mm ± 0.02 mm + 2 x 1.2 mm +/- 2 %",
        " + ".join(["2 x 1 mm"] * 8),
    ],
)
def test_holes_are_taken_as_they_are_read(text: str) -> None:
    assert HOLES.read(text).groups
    assert re.search(holes_pattern(8), text)


@pytest.mark.parametrize(
    "text",
    [
        "1.8 mm",
        "4 x",
        "0 x 1.8 mm",
        "4 x 1.8",
        "4 x 1.8 mm + 2",
        "four x 1.8 mm",
        "4 x 1.8 wt",
        "4 x 1.8 cSt",
        "4 x 1.8 mm +",
        " + ".join(["2 x 1 mm"] * 9),
    ],
)
def test_holes_that_are_none_are_refused_by_both(text: str) -> None:
    with pytest.raises(Mistake):
        HOLES.read(text)
    assert not re.search(holes_pattern(8), text)


def kinds() -> dict[str, Kind]:
    made = {name: each for name, each in vars(Quantity).items() if hasattr(each, "__metadata__")}
    return {name: each.__metadata__[0] for name, each in made.items()}


@pytest.mark.parametrize("name", kinds())
def test_a_fields_own_limits_and_example_are_taken(name: str) -> None:
    kind = kinds()[name]
    field = kind.json_schema()
    for text in (kind.example, kind.least, kind.most, *((kind.also.most,) if kind.also else ())):
        assert re.search(field["pattern"], text), text
    assert kind.example in field["examples"]
    # a bare number is one that the field itself takes, up to its ends
    if "number" in field["type"]:
        assert kind.read(field["maximum"])
        least = field.get("minimum", field.get("exclusiveMinimum"))
        for number, good in ((least, "minimum" in field), (least - 0.01, False)):
            try:
                kind.read(number)
                taken = True
            except Mistake:
                taken = False
            assert taken is good
    else:
        with pytest.raises(Mistake):
            kind.read(6.4)


def test_no_text_makes_a_pattern_slow() -> None:
    many = 5_000
    texts = [
        "1" * many,
        "0" * many + "x",
        " " * many,
        "1" + " " * many + "x",
        "1 mm ±" + " " * many + "x",
        "1 mm ± 1 mm" + " " * many + "x",
        "1/" * many,
        "1e" * many,
        "(" * many,
        "1 mm + " * many,
        "4 x 1 mm + " * many,
        "4 x " + "1" * many + "x",
        "4 x 1 mm " + "+1" * many + "x",
    ]
    patterns = [holes_pattern(8)]
    for dimension in DIMENSIONS:
        patterns += [reading_pattern(dimension), limit_pattern(dimension)]
    start = time.process_time()
    for pattern in patterns:
        for text in texts:
            re.search(pattern, text)
    # a pattern that went over the text once for each of its characters would take minutes
    assert time.process_time() - start < 20.0

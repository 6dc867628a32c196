"""The closed list of units, its sizes, and what a misspelt unit is most likely meant to be."""

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest

from buildlint.files import unit_sizes
from buildlint.files.units import DIMENSIONS, dimension_of, near_unit, plain, size


@pytest.fixture(scope="module")
def maker() -> ModuleType:
    path = Path(__file__).with_name("make_unit_sizes.py")
    spec = importlib.util.spec_from_file_location("make_unit_sizes", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_table_of_sizes_is_as_pint_gives_it(maker: ModuleType) -> None:
    made = maker.sizes()
    assert {k: list(v) for k, v in unit_sizes.SIZES.items()} == {
        k: list(v) for k, v in made.items()
    }
    for dimension, units in made.items():
        for unit, pair in units.items():
            assert unit_sizes.SIZES[dimension][unit] == pytest.approx(pair, rel=1e-14), unit


def test_the_module_of_sizes_is_current(maker: ModuleType) -> None:
    assert Path(unit_sizes.__file__).read_text(encoding="utf-8") == maker.text()


@pytest.mark.parametrize(
    ("unit", "dimension", "expected"),
    [
        # exact by definition: inch, pound-force (9.80665 * 0.45359237), standard atmosphere
        ("in", "length", (0.0254, 0.0)),
        ('"', "length", (0.0254, 0.0)),
        ("thou", "length", (0.0000254, 0.0)),
        ("lb/in", "spring rate", (4.4482216152605 / 0.0254, 0.0)),
        ("g/mm", "spring rate", (9.80665, 0.0)),
        ("atm", "pressure", (101325.0, 0.0)),
        ("cSt", "viscosity", (1e-6, 0.0)),
        ("degC", "temperature", (1.0, 273.15)),
        # (T + 459.67) * 5/9
        ("degF", "temperature", (5 / 9, 459.67 * 5 / 9)),
        ("%", "share", (0.01, 0.0)),
        ("day", "time", (86400.0, 0.0)),
    ],
)
def test_sizes_by_definition(unit: str, dimension: str, expected: tuple[float, float]) -> None:
    assert size(unit, dimension) == pytest.approx(expected, rel=1e-13)


def test_the_units_that_are_promised_are_there() -> None:
    promised = {
        "length": 'mm cm m um in ft " thou',
        "volume": "mm^3 cm^3 ml l",
        "viscosity": "cSt mm^2/s St SUS",
        "dynamic viscosity": "cP mPa.s Pa.s",
        "temperature": "degC degF K",
        "pressure": "Pa hPa kPa bar mbar psi atm inHg",
        "spring rate": "N/mm N/m lbf/in gf/mm kgf/mm lb/in g/mm",
        "mass": "g kg oz lb",
        "density": "g/ml g/cm^3 kg/m^3",
        "share": "%",
        "time": "min h day",
    }
    for dimension, units in promised.items():
        for unit in units.split():
            assert dimension in dimension_of(unit), unit
            assert (size(unit, dimension) is None) == (unit == "SUS")


def test_every_dimension_has_words_for_a_message() -> None:
    assert set(DIMENSIONS) == set(unit_sizes.SIZES)


def test_a_unit_has_no_size_in_another_dimension_and_names_keep_their_case() -> None:
    assert size("mm", "viscosity") is None
    assert size("MM", "length") is None
    assert dimension_of("MM") == ()
    assert dimension_of("wt") == ()


@pytest.mark.parametrize(
    ("fancy", "simple"),
    [
        ("mm³", "mm^3"),
        ("mm²/s", "mm^2/s"),
        ("mPa·s", "mPa.s"),
        ("mPa⋅s", "mPa.s"),
        ("µm", "um"),
        ("μm", "um"),
        ("°F", "degF"),
        ("3″", '3"'),
        ("mm", "mm"),
        ("é", "é"),
    ],
)
def test_fancy_letters_are_read_as_their_plain_forms(fancy: str, simple: str) -> None:
    assert plain(fancy) == simple


@pytest.mark.parametrize(
    ("written", "dimension", "near"),
    [
        ("cst", "viscosity", "cSt"),
        ("CST", "viscosity", "cSt"),
        ("sus", "viscosity", "SUS"),
        ("Millimetres", "length", "mm"),
        ("inch", "length", "in"),
        ("mil", "length", "thou"),
        ("mn", "length", "mm"),
        ("cc", "volume", "cm^3"),
        ("mm3", "volume", "mm^3"),
        ("C", "temperature", "degC"),
        ("Fahrenheit", "temperature", "degF"),
        ("k", "temperature", "K"),
        ("lbs/in", "spring rate", "lb/in"),
        ("n/mm", "spring rate", "N/mm"),
        ("Grams", "mass", "g"),
        ("percent", "share", "%"),
        ("hours", "time", "h"),
        # a spelling of another dimension's unit is no help
        ("inch", "viscosity", None),
        ("furlong", "temperature", None),
    ],
)
def test_the_unit_that_was_meant(written: str, dimension: str, near: str | None) -> None:
    assert near_unit(written, dimension) == near

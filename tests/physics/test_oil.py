"""Growth, viscosity, density, units and blends of oil."""

import math

import pytest
from chemicals import viscosity_converter
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st

from buildlint.physics import oil

ZERO = 273.15
CST = 1e-6
FAHRENHEIT_100 = (100 + 459.67) / 1.8

viscosities = st.floats(5e-6, 5e-3)
temperatures = st.floats(253.15, 353.15)


def s800(celsius: float) -> float:
    """Kinematic viscosity of CoolProp's silicone oil, m^2/s."""
    state = ("T", ZERO + celsius, "P", 101325.0, "INCOMP::S800")
    return float(PropsSI("V", *state) / PropsSI("D", *state))


def test_growth_of_9_ml_warmed_by_30_k() -> None:
    # Derived: net of an aluminium body, and gross.
    assert oil.growth(9e-6, 30.0) * 1e9 == pytest.approx(242.784, abs=5e-4)
    assert oil.growth(9e-6, 30.0, body_expansion=0.0) * 1e9 == pytest.approx(261.9, abs=5e-4)


def test_oil_shrinks_when_it_cools() -> None:
    assert oil.growth(9e-6, -30.0) == -oil.growth(9e-6, 30.0) < 0.0


def test_expansion_agrees_with_coolprop_within_its_tolerance() -> None:
    def density(temperature: float) -> float:
        return float(PropsSI("D", "T", temperature, "P", 101325.0, "INCOMP::S800"))

    measured = (density(297.65) - density(298.65)) / density(298.15)
    assert measured == pytest.approx(9.66e-4, abs=5e-7)
    assert oil.SILICONE_EXPANSION_TOLERANCE == 0.6e-4
    assert abs(measured - oil.SILICONE_EXPANSION) < oil.SILICONE_EXPANSION_TOLERANCE


@pytest.mark.parametrize(
    ("fit", "expansion", "density"),
    [
        ((1.0095e-3, 1.0662e-6, -3.6476e-10), 10.1e-4, 965),
        ((1.0056e-3, 1.0003e-6, 1.2039e-11), 9.8e-4, 970),
        ((1.0076e-3, 9.1603e-7, 8.2159e-10), 9.5e-4, 970),
    ],
)
def test_the_defaults_against_a_published_table(
    fit: tuple[float, float, float], expansion: float, density: float
) -> None:
    # Danner & High, table 3B-1: m^3/kg at t degC is a + b t + c t^2.
    def volume(celsius: float) -> float:
        return fit[0] + fit[1] * celsius + fit[2] * celsius**2

    grown = (volume(50) - volume(20)) / 30 / volume(20)
    assert grown == pytest.approx(expansion, abs=5e-6)
    assert 1 / volume(25) == pytest.approx(density, abs=0.5)
    assert abs(1 / volume(25) - oil.SILICONE_DENSITY) < oil.SILICONE_DENSITY_TOLERANCE
    assert abs(grown - oil.SILICONE_EXPANSION) < oil.SILICONE_EXPANSION_TOLERANCE


def test_the_default_slope_is_that_of_two_published_forms() -> None:
    # 763.1 ln 10, and exp[5.892 (25 - t)/(273.15 + t)]: both in published code for silicone.
    assert pytest.approx(763.1 * math.log(10), abs=0.5) == oil.SILICONE_SLOPE
    assert pytest.approx(5.892 * 298.15, abs=0.5) == oil.SILICONE_SLOPE


@pytest.mark.parametrize(
    ("grade", "celsius", "expected"),
    [
        (100, -20, "285.01"),
        (100, 0, "171.47"),
        (100, 10, "136.63"),
        (100, 20, "110.57"),
        (100, 40, "75.41"),
        (100, 60, "53.85"),
        (350, -20, "997.54"),
        (350, 0, "600.16"),
        (350, 10, "478.22"),
        (350, 20, "387.00"),
        (350, 40, "263.94"),
        (350, 60, "188.47"),
        (500, -20, "1425.1"),
        (500, 0, "857.37"),
        (500, 10, "683.17"),
        (500, 20, "552.86"),
        (500, 40, "377.05"),
        (500, 60, "269.24"),
        (1000, -20, "2850.1"),
        (1000, 0, "1714.7"),
        (1000, 10, "1366.3"),
        (1000, 20, "1105.7"),
        (1000, 40, "754.10"),
        (1000, 60, "538.48"),
    ],
)
def test_viscosity_of_silicone_with_temperature(grade: int, celsius: int, expected: str) -> None:
    # Derived, with the slope of the second published form.
    places = len(expected.split(".")[1])
    value = oil.viscosity_at(grade * CST, 298.15, ZERO + celsius, slope=1756.7) / CST
    assert value == pytest.approx(float(expected), abs=0.5 * 10**-places)


@pytest.mark.parametrize(("celsius", "percent"), [(0, 5.8), (10, 3.0), (40, -2.0), (60, -3.7)])
def test_one_point_against_coolprop(celsius: float, percent: float) -> None:
    value = oil.viscosity_at(s800(25), 298.15, ZERO + celsius, slope=1756.7)
    assert (value / s800(celsius) - 1) * 100 == pytest.approx(percent, abs=0.05)


def test_two_points_stay_within_1_3_percent_of_coolprop() -> None:
    slope = oil.slope_from_two_points(s800(0), ZERO, s800(60), ZERO + 60)
    ratios = [oil.viscosity_at(s800(0), ZERO, ZERO + t, slope) / s800(t) - 1 for t in range(61)]
    assert 0.012 < max(abs(ratio) for ratio in ratios) < 0.013


def test_the_petroleum_form_misses_silicone_by_more() -> None:
    # Against CoolProp: 3.25 % between its points, 18.9 % from 40 and 100 degC down to 0.
    ratios = [
        oil.petroleum_viscosity(s800(0), ZERO, s800(60), ZERO + 60, ZERO + t) / s800(t) - 1
        for t in range(61)
    ]
    assert max(abs(ratio) for ratio in ratios) * 100 == pytest.approx(3.25, abs=0.01)
    far = oil.petroleum_viscosity(s800(40), ZERO + 40, s800(100), ZERO + 100, ZERO)
    assert abs(far / s800(0) - 1) * 100 == pytest.approx(18.9, abs=0.05)


@pytest.mark.parametrize(("vtc", "slope"), [(0.59, 1688), (0.60, 1734), (0.61, 1782), (0.62, 1832)])
def test_slope_from_a_viscosity_temperature_coefficient(vtc: float, slope: float) -> None:
    # Derived, with 310.928 and 372.039 K.
    assert oil.slope_from_vtc(vtc) == pytest.approx(slope, abs=0.5)


@given(st.floats(0.05, 0.95))
def test_a_slope_gives_back_its_coefficient(vtc: float) -> None:
    slope = oil.slope_from_vtc(vtc)
    hot = oil.viscosity_at(100 * CST, FAHRENHEIT_100, (210 + 459.67) / 1.8, slope)
    assert 1 - hot / (100 * CST) == pytest.approx(vtc, rel=1e-12)


@given(viscosities, st.floats(0.1, 0.99), temperatures, st.floats(1.0, 60.0))
def test_a_slope_passes_through_both_readings(
    viscosity: float, share: float, at: float, step: float
) -> None:
    slope = oil.slope_from_two_points(viscosity, at, share * viscosity, at + step)
    swapped = oil.slope_from_two_points(share * viscosity, at + step, viscosity, at)
    assert oil.viscosity_at(viscosity, at, at + step, slope) == pytest.approx(
        share * viscosity, rel=1e-12
    )
    assert swapped == pytest.approx(slope, rel=1e-12)


@given(viscosities, temperatures, st.floats(0.01, 50.0))
def test_viscosity_falls_with_temperature(viscosity: float, at: float, step: float) -> None:
    assert oil.viscosity_at(viscosity, at, at) == viscosity
    assert oil.viscosity_at(viscosity, at, at + step) < viscosity
    assert oil.viscosity_at(viscosity, at, at - step) > viscosity


@pytest.mark.parametrize(("celsius", "expected"), [(80, "8.533"), (60, "15.19"), (20, "86.28")])
def test_petroleum_oil_of_32_and_5_4_cst(celsius: float, expected: str) -> None:
    # ASTM D341; a published worked example prints 8.5 at 80 degC.
    value = oil.petroleum_viscosity(32 * CST, ZERO + 40, 5.4 * CST, ZERO + 100, ZERO + celsius)
    places = len(expected.split(".")[1])
    assert value / CST == pytest.approx(float(expected), abs=0.5 * 10**-places)


@given(st.floats(260.0, 360.0), st.floats(0.01, 10.0))
def test_petroleum_viscosity_falls_with_temperature(temperature: float, step: float) -> None:
    def at(kelvin: float) -> float:
        return oil.petroleum_viscosity(32 * CST, ZERO + 40, 5.4 * CST, ZERO + 100, kelvin)

    assert at(temperature + step) < at(temperature)


def test_petroleum_viscosity_passes_through_both_readings() -> None:
    readings = (2 * CST, ZERO + 100, 32 * CST, ZERO + 20)
    assert oil.petroleum_viscosity(*readings, ZERO + 20) == pytest.approx(32 * CST, rel=1e-12)
    assert oil.petroleum_viscosity(*readings, ZERO + 99.9) == pytest.approx(2 * CST, rel=2e-3)


@pytest.mark.parametrize(
    ("cst", "seconds"),
    [
        (2, "32.602"),
        (5, "42.393"),
        (10, "58.837"),
        (20, "97.823"),
        (50, "232.551"),
        (100, "463.463"),
        (500, "2316.21"),
        (1000, "4632.40"),
    ],
)
def test_saybolt_seconds_at_100_fahrenheit(cst: float, seconds: str) -> None:
    # ASTM D2161, and chemicals, which runs it.
    value = oil.saybolt_seconds(cst * CST, FAHRENHEIT_100)
    places = len(seconds.split(".")[1])
    assert value == pytest.approx(float(seconds), abs=0.5 * 10**-places)
    live = viscosity_converter(cst * CST, "kinematic viscosity", "saybolt universal")
    assert value == pytest.approx(live, rel=1e-12)


@pytest.mark.parametrize(("seconds", "cst"), [(100, "20.515"), (700, "151.09"), (2000, "431.74")])
def test_viscosity_from_saybolt_seconds_at_100_fahrenheit(seconds: float, cst: str) -> None:
    # chemicals.viscosity_converter.
    value = oil.viscosity_from_saybolt(seconds, FAHRENHEIT_100)
    places = len(cst.split(".")[1])
    assert value / CST == pytest.approx(float(cst), abs=0.5 * 10**-places)
    live = viscosity_converter(seconds, "saybolt universal", "kinematic viscosity")
    assert value == pytest.approx(live, rel=1e-9)


@given(st.floats(1.9e-6, 0.1), st.floats(255.0, 450.0))
def test_saybolt_there_and_back(viscosity: float, temperature: float) -> None:
    seconds = oil.saybolt_seconds(viscosity, temperature)
    assert oil.viscosity_from_saybolt(seconds, temperature) == pytest.approx(viscosity, rel=1e-12)


def test_saybolt_seconds_at_another_temperature() -> None:
    # ASTM D2161: 0.0061 % more for each degree Fahrenheit above 100.
    hot = oil.saybolt_seconds(20 * CST, (210 + 459.67) / 1.8)
    assert hot == pytest.approx(97.823 * (1 + 0.000061 * 110), abs=5e-4)


def test_density_with_temperature() -> None:
    # Derived: 9 mL warmed by 30 K fill 9.2619 mL.
    assert oil.density_at(968.0, 298.15) == 968.0
    assert oil.density_at(968.0, 328.15) == pytest.approx(968.0 * 9 / 9.2619, rel=1e-12)


def test_the_default_density_stands_inside_its_range() -> None:
    # 0.968 +- 0.005, which holds 0.965 to 0.972 g/cm^3 at 25 degC.
    assert oil.SILICONE_DENSITY_TOLERANCE == 5.0
    low = oil.SILICONE_DENSITY - oil.SILICONE_DENSITY_TOLERANCE
    high = oil.SILICONE_DENSITY + oil.SILICONE_DENSITY_TOLERANCE
    assert low <= 965.0 < 972.0 <= high


def test_dynamic_and_kinematic_viscosity() -> None:
    # By definition: 375 cSt at 0.968 g/cm^3 is 363 mPa s.
    assert oil.dynamic(375 * CST, 968.0) == pytest.approx(0.363, rel=1e-14)
    assert oil.kinematic(0.363, 968.0) == pytest.approx(375 * CST, rel=1e-14)


def test_a_blend_by_the_logarithmic_mixing_law() -> None:
    # By hand: 100^(1/4) 1000^(3/4) = 10^(11/4).
    expected = 10**2.75 * CST
    assert oil.blend_viscosity((1, 3), (100 * CST, 1000 * CST)) == pytest.approx(expected)
    assert oil.blend_viscosity([2.5, 7.5], [100 * CST, 1000 * CST]) == pytest.approx(expected)


@given(
    st.lists(
        st.tuples(st.floats(0.1, 10.0), viscosities, st.floats(1600.0, 1900.0)),
        min_size=1,
        max_size=4,
    ),
    temperatures,
)
def test_blending_and_warming_may_be_swapped(
    parts: list[tuple[float, float, float]], temperature: float
) -> None:
    shares, grades, slopes = (list(column) for column in zip(*parts, strict=True))
    warmed = [
        oil.viscosity_at(grade, 298.15, temperature, slope)
        for grade, slope in zip(grades, slopes, strict=True)
    ]
    blend = oil.blend_viscosity(shares, grades)
    slope = oil.blend_mean(shares, slopes)
    assert oil.viscosity_at(blend, 298.15, temperature, slope) == pytest.approx(
        oil.blend_viscosity(shares, warmed), rel=1e-12
    )


@pytest.mark.parametrize(
    ("thin", "thick", "expected", "other_law"),
    [(450, 600, 0.02, 0.01), (350, 1000, 0.1102, 0.09), (100, 1000, 0.5302, 0.50)],
)
def test_the_tolerance_of_a_blend_covers_a_law_by_molar_mass(
    thin: float, thick: float, expected: float, other_law: float
) -> None:
    # By hand: 0.1 ln(1000/350)^2 = 0.1 * 1.04982^2 and 0.1 ln(10)^2; 2 % at the least. The other
    # law, with an exponent of 1.5, is derived.
    found = oil.blend_tolerance((1, 1), (thin * CST, thick * CST))
    assert found == pytest.approx(expected, abs=5e-5)
    assert found > other_law
    assert oil.blend_tolerance((3, 2, 0), (thick * CST, thin * CST, 9.0)) == pytest.approx(found)


@pytest.mark.parametrize("expansion", [10.1e-4, 9.76e-4, 9.49e-4])
def test_the_default_expansion_covers_the_published_ones(expansion: float) -> None:
    # Tait parameters in Danner & High, Handbook of Polymer Solution Thermodynamics: 100, 350, 1000.
    half = oil.SILICONE_EXPANSION_TOLERANCE
    assert abs(expansion - oil.SILICONE_EXPANSION) < half == 0.6e-4


@pytest.mark.parametrize("density", [965.3, 970.3, 969.9])
def test_the_default_density_covers_the_published_ones(density: float) -> None:
    # The same table.
    assert abs(density - oil.SILICONE_DENSITY) < oil.SILICONE_DENSITY_TOLERANCE == 5.0


def test_a_share_of_zero_adds_nothing() -> None:
    assert oil.blend_viscosity((1, 0), (100 * CST, 1000 * CST)) == pytest.approx(100 * CST)
    assert oil.blend_mean((0, 1), (1700.0, 1750.0)) == 1750.0


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_a_temperature_that_cannot_be_gives_nan(bad: float) -> None:
    assert math.isnan(oil.viscosity_at(100 * CST, 298.15, bad))
    assert math.isnan(oil.viscosity_at(100 * CST, bad, 298.15))
    assert math.isnan(oil.slope_from_two_points(100 * CST, 298.15, 50 * CST, bad))
    assert math.isnan(oil.density_at(968.0, bad))
    assert math.isnan(oil.saybolt_seconds(20 * CST, bad))
    assert math.isnan(oil.viscosity_from_saybolt(100.0, bad))
    assert math.isnan(oil.petroleum_viscosity(32 * CST, 313.15, 5.4 * CST, 373.15, bad))


def test_other_numbers_out_of_range_give_nan() -> None:
    assert math.isnan(oil.viscosity_at(0.0, 298.15, 313.15))
    assert math.isnan(oil.viscosity_at(100 * CST, 298.15, 0.5))
    assert math.isnan(oil.growth(-9e-6, 30.0))
    assert math.isnan(oil.growth(9e-6, math.nan))
    assert math.isnan(oil.density_at(0.0, 298.15))
    assert math.isnan(oil.density_at(968.0, 1.0, expansion=0.01))
    assert math.isnan(oil.kinematic(0.363, -968.0))
    assert math.isnan(oil.kinematic(0.0, 968.0))
    assert math.isnan(oil.dynamic(0.0, 968.0))


def test_readings_that_give_no_slope_give_nan() -> None:
    assert math.isnan(oil.slope_from_two_points(100 * CST, 298.15, 90 * CST, 298.15))
    assert math.isnan(oil.slope_from_two_points(50 * CST, 298.15, 100 * CST, 333.15))
    assert math.isnan(oil.petroleum_viscosity(5.4 * CST, 313.15, 32 * CST, 373.15, 333.15))


@pytest.mark.parametrize("vtc", [0.0, 1.0, -0.1, 60.0, math.nan])
def test_a_coefficient_outside_0_to_1_gives_nan(vtc: float) -> None:
    assert math.isnan(oil.slope_from_vtc(vtc))


def test_the_petroleum_form_gives_nan_below_2_cst() -> None:
    assert math.isnan(oil.petroleum_viscosity(32 * CST, 313.15, 1.9 * CST, 373.15, 333.15))
    assert math.isnan(oil.petroleum_viscosity(32 * CST, 313.15, 5.4 * CST, 373.15, 473.15))
    assert math.isnan(oil.petroleum_viscosity(32 * CST, 313.15, 5.4 * CST, 373.15, 5.0))


def test_saybolt_gives_nan_below_32_seconds() -> None:
    assert math.isnan(oil.saybolt_seconds(1.5 * CST, FAHRENHEIT_100))
    assert math.isnan(oil.viscosity_from_saybolt(31.99, FAHRENHEIT_100))
    assert math.isnan(oil.viscosity_from_saybolt(32.0, 5000.0))
    assert oil.viscosity_from_saybolt(32.0, FAHRENHEIT_100) < 2 * CST


@pytest.mark.parametrize("shares", [(1.0, -1.0), (1.0, math.nan), (0.0, 0.0), (1.0, math.inf)])
def test_shares_that_make_no_blend_give_nan(shares: tuple[float, ...]) -> None:
    assert math.isnan(oil.blend_viscosity(shares, (100 * CST, 1000 * CST)))
    assert math.isnan(oil.blend_mean(shares, (1700.0, 1750.0)))
    assert math.isnan(oil.blend_tolerance(shares, (100 * CST, 1000 * CST)))


@pytest.mark.parametrize("shares", [(), (1.0,), (1.0, 1.0, 1.0)])
def test_a_blend_has_as_many_shares_as_parts(shares: tuple[float, ...]) -> None:
    with pytest.raises(ValueError, match="zip"):
        oil.blend_viscosity(shares, (100 * CST, 1000 * CST))
    with pytest.raises(ValueError, match="zip"):
        oil.blend_mean(shares, (1700.0, 1750.0))
    with pytest.raises(ValueError, match="zip"):
        oil.blend_tolerance(shares, (100 * CST, 1000 * CST))


def test_an_empty_blend_and_bad_parts_give_nan() -> None:
    assert math.isnan(oil.blend_viscosity((), ()))
    assert math.isnan(oil.blend_tolerance((), ()))
    assert math.isnan(oil.blend_tolerance((1, 1), (100 * CST, 0.0)))
    assert math.isnan(oil.blend_viscosity((1, 1), (100 * CST, 0.0)))
    assert math.isnan(oil.blend_mean((1, 1), (1700.0, math.nan)))


def test_the_density_taken_where_none_is_given_is_that_of_the_sheet() -> None:
    # 0.968 +- 0.005 g/cm^3, which reaches over most of the 0.965 to 0.972 that is sold.
    assert (oil.SILICONE_DENSITY, oil.SILICONE_DENSITY_TOLERANCE) == (968.0, 5.0)


def test_two_equal_viscosities_have_no_slope() -> None:
    # B = ln(1)/(1/T1 - 1/T2) = 0.
    assert oil.slope_from_two_points(100 * CST, 298.15, 100 * CST, 313.15) == 0.0


@pytest.mark.parametrize("bad", [0.0, -1e-6, math.nan, math.inf])
def test_a_viscosity_that_cannot_be_gives_nan_wherever_two_are_given(bad: float) -> None:
    for work in (
        lambda *pair: oil.slope_from_two_points(*pair),
        lambda *pair: oil.petroleum_viscosity(*pair, 333.15),
    ):
        assert math.isnan(work(bad, 313.15, 32 * CST, 373.15))
        assert math.isnan(work(32 * CST, 313.15, bad, 373.15))
        assert math.isnan(work(32 * CST, bad, 5.4 * CST, 373.15))
    assert math.isnan(oil.saybolt_seconds(bad, FAHRENHEIT_100))


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_expansions_and_slopes_that_are_no_number_give_nan(bad: float) -> None:
    assert math.isnan(oil.growth(9e-6, bad))
    assert math.isnan(oil.growth(9e-6, 30.0, bad))
    assert math.isnan(oil.growth(9e-6, 30.0, body_expansion=bad))
    assert math.isnan(oil.viscosity_at(100 * CST, 298.15, 313.15, bad))


def test_densities_that_cannot_be_give_nan() -> None:
    assert math.isnan(oil.density_at(968.0, 313.15, expansion=-1e-4))
    # 1 + 1/K * -1 K: nothing at all is left
    assert math.isnan(oil.density_at(968.0, 297.15, expansion=1.0))
    assert math.isnan(oil.dynamic(375 * CST, 0.0))


def test_saybolt_seconds_without_end_give_nan() -> None:
    assert math.isnan(oil.saybolt_seconds(1e303, FAHRENHEIT_100))  # 1e309 cSt
    assert math.isnan(oil.viscosity_from_saybolt(math.inf, FAHRENHEIT_100))


def test_so_hot_that_32_seconds_would_be_no_viscosity_gives_nan() -> None:
    """ASTM D2161: at nu = 0 the form gives 1/(3930.2e-5) = 25.44 s, times 1 + 6.1e-5 (F - 100).

    32 s is 26 times that factor at 3883 degF (2412.7 K), just above; 25 times it at 4690 degF
    (2861.2 K), just below.
    """
    assert 0.0 < oil.viscosity_from_saybolt(32.0, 2412.7) < 2 * CST
    assert math.isnan(oil.viscosity_from_saybolt(32.0, 2861.2))

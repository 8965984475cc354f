"""Air pressure, humidity and wind against the tables and examples of FAO Irrigation and Drainage Paper 56.

Allen, Pereira, Raes, Smith 1998, print edition; pages beside each check; tolerances are the printed digits.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedplan.weather.atmosphere import (
    air_pressure,
    mean_saturation_vapour_pressure,
    psychrometric_constant,
    saturation_vapour_pressure,
    vapour_pressure_from_dew_point,
    vapour_pressure_from_humidity,
    vapour_pressure_from_wet_bulb,
    vapour_pressure_slope,
    wind_at_2_m,
)

# Annex 2, Table 2.2, p. 214: elevation [m], psychrometric constant [kPa/°C].
TABLE_2_2 = [
    (0, 0.067),
    (200, 0.066),
    (500, 0.064),
    (1000, 0.060),
    (1500, 0.056),
    (2000, 0.053),
    (3000, 0.047),
    (4000, 0.041),
]

# Annex 2, Table 2.3, p. 215: temperature [°C], saturation vapour pressure [kPa].
TABLE_2_3 = [
    (1, 0.657),
    (5, 0.872),
    (10, 1.228),
    (15, 1.705),
    (20, 2.338),
    (24.5, 3.075),
    (25, 3.168),
    (30, 4.243),
    (35, 5.623),
    (40, 7.376),
    (45, 9.582),
]

# Annex 2, Table 2.4, p. 216: temperature [°C], slope [kPa/°C].
TABLE_2_4 = [
    (1, 0.047),
    (5, 0.061),
    (10, 0.082),
    (15, 0.110),
    (20, 0.145),
    (25, 0.189),
    (30, 0.243),
    (35, 0.311),
    (40, 0.393),
]

# Annex 2, Table 2.9, p. 222: height of the instrument [m], factor to 2 m.
TABLE_2_9 = [
    (1.0, 1.178),
    (1.6, 1.051),
    (2.0, 1.000),
    (3.0, 0.921),
    (4.0, 0.872),
    (5.0, 0.838),
    (7.0, 0.792),
    (10.0, 0.748),
]


@pytest.mark.parametrize(("elevation_m", "published"), TABLE_2_2)
def test_psychrometric_constant_is_that_of_table_2_2(elevation_m: float, published: float) -> None:
    assert psychrometric_constant(air_pressure(elevation_m)) == pytest.approx(published, abs=0.0006)


def test_psychrometric_constant_at_1800_m_is_that_of_example_2() -> None:
    # Example 2, p. 32: P = 81.8 kPa, 0.054 kPa/°C.
    assert psychrometric_constant(air_pressure(1800)) == pytest.approx(0.054, abs=0.0005)


@pytest.mark.parametrize(("temp_c", "published"), TABLE_2_3)
def test_saturation_vapour_pressure_is_that_of_table_2_3(temp_c: float, published: float) -> None:
    assert saturation_vapour_pressure(temp_c) == pytest.approx(published, abs=0.001)


@pytest.mark.parametrize(("temp_c", "published"), TABLE_2_4)
def test_slope_is_that_of_table_2_4(temp_c: float, published: float) -> None:
    assert vapour_pressure_slope(temp_c) == pytest.approx(published, abs=0.0006)


@given(st.floats(-40, 55))
def test_slope_is_the_derivative_of_the_saturation_curve(temp_c: float) -> None:
    step = 1e-4
    rise = saturation_vapour_pressure(temp_c + step) - saturation_vapour_pressure(temp_c - step)
    # 4098 in Eq. 13 is 17.27 x 237.3 rounded.
    assert vapour_pressure_slope(temp_c) == pytest.approx(rise / (2 * step), rel=2e-4)


def test_mean_saturation_vapour_pressure_is_that_of_example_3_and_above_that_of_the_mean() -> None:
    # Example 3, p. 36: 24.5 and 15.0 °C give 3.075, 1.705 and 2.39 kPa; the mean temperature only 2.30 kPa.
    assert saturation_vapour_pressure(24.5) == pytest.approx(3.075, abs=0.0006)
    assert saturation_vapour_pressure(15.0) == pytest.approx(1.705, abs=0.0006)
    assert mean_saturation_vapour_pressure(15.0, 24.5) == pytest.approx(2.39, abs=0.005)
    assert saturation_vapour_pressure((24.5 + 15.0) / 2) == pytest.approx(2.30, abs=0.005)


def test_wet_bulb_gives_the_vapour_pressure_of_example_4() -> None:
    # Example 4, p. 38: 25.6 and 19.5 °C at 1200 m, ventilated: 1.91 kPa.
    assert vapour_pressure_from_wet_bulb(25.6, 19.5, air_pressure(1200)) == pytest.approx(1.91, abs=0.005)


def test_humidity_gives_the_vapour_pressures_of_example_5() -> None:
    # Example 5, p. 39: 18 to 25 °C, 82 to 54 %: 1.70 kPa by Eq. 17, 1.78 kPa by Eq. 19 from the mean of 68 %.
    both = vapour_pressure_from_humidity(18, 25, max_percent=82, min_percent=54)
    assert both == pytest.approx(1.70, abs=0.005)
    assert vapour_pressure_from_humidity(18, 25, mean_percent=68) == pytest.approx(1.78, abs=0.005)


def test_maximum_humidity_alone_goes_by_the_cool_end_of_the_day() -> None:
    # Eq. 18, by hand: 82 % of e0(18 °C), which Table 2.3 prints as 2.064 kPa.
    assert vapour_pressure_from_humidity(18, 25, max_percent=82) == pytest.approx(0.82 * 2.064, abs=0.001)


def test_unknown_humidity_means_saturated_at_the_minimum() -> None:
    # Eq. 48: the dew point is the minimum temperature; Table 2.3 has 1.705 kPa at 15 °C.
    assert vapour_pressure_from_humidity(15, 24.5) == pytest.approx(1.705, abs=0.001)
    assert vapour_pressure_from_humidity(15, 24.5) == vapour_pressure_from_dew_point(15)


@pytest.mark.parametrize(("height_m", "published"), TABLE_2_9)
def test_wind_factor_is_that_of_table_2_9(height_m: float, published: float) -> None:
    assert wind_at_2_m(1.0, height_m) == pytest.approx(published, abs=0.0008)


def test_wind_at_10_m_comes_down_as_in_example_14() -> None:
    # Example 14, p. 56: 3.2 m/s at 10 m is 2.4 m/s at 2 m.
    assert wind_at_2_m(3.2, 10) == pytest.approx(2.4, abs=0.05)


def test_temperature_below_absolute_zero_is_refused() -> None:
    with pytest.raises(ValueError, match="below absolute zero"):
        saturation_vapour_pressure(-300)


def test_wind_at_ground_level_is_refused() -> None:
    with pytest.raises(ValueError, match="too low"):
        wind_at_2_m(3.0, 0.05)

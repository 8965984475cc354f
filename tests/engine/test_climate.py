"""Weather as known on a day: nothing observed after it, a forecast's length ahead, normals joined without steps."""

from __future__ import annotations

import calendar
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import CubicSpline

from feedplan.engine.answers.warnings import warnings_of
from feedplan.engine.plan import plan_season
from feedplan.load import load_text
from feedplan.load.climate_rows import normals_from_days
from feedplan.model.climate import Climate, ClimateDay, MonthNormal, Normals, Standing, smooth_year
from feedplan.model.warning import DatesOfElsewhere
from feedplan.weather.evapotranspiration import DayWeather
from feedplan.words.warnings import problem_of

TODAY = date(2027, 6, 5)
DAYS_OF_MONTH = [calendar.monthrange(2024, month)[1] for month in range(1, 13)]


def row(
    day: date, tmax_c: float = 20, standing: Standing = Standing.OBSERVED, *, marked: bool = False
) -> ClimateDay:
    return ClimateDay(day, standing, DayWeather(10, tmax_c), 0.0, marked)


def record(*rows: ClimateDay) -> Climate:
    return Climate({each.day: each for each in rows})


def around(days: int) -> Climate:
    """Unmarked rows from ten days before today to so many after."""
    return record(*(row(TODAY + timedelta(days=n)) for n in range(-10, days + 1)))


def test_days_before_today_are_observed_and_the_rest_is_forecast() -> None:
    seen = around(5).as_of(TODAY)
    assert seen.days[TODAY - timedelta(days=1)].standing is Standing.OBSERVED
    assert seen.days[TODAY].standing is Standing.FORECAST
    assert seen.forecast_to == TODAY + timedelta(days=5)
    assert seen.stale_days == 0


def test_of_a_month_of_rows_ahead_sixteen_days_are_the_forecast_and_the_rest_is_left_out() -> None:
    """No public service forecasts single days further ahead: common practice, no source."""
    seen = around(30).as_of(TODAY)
    assert seen.forecast_to == max(seen.days) == TODAY + timedelta(days=16)
    assert seen.too_far is not None
    assert seen.too_far.day == TODAY + timedelta(days=17)
    assert around(16).as_of(TODAY).too_far is None


def test_a_day_marked_observed_is_not_known_before_it_came() -> None:
    tomorrow = TODAY + timedelta(days=1)
    climate = record(
        row(tomorrow, marked=True), row(tomorrow + timedelta(days=1), 30, Standing.FORECAST, marked=True)
    )
    assert list(climate.as_of(TODAY).days) == [tomorrow + timedelta(days=1)]


def test_a_forecast_row_never_replaced_stays_a_forecast_and_the_record_goes_stale() -> None:
    rows = [row(TODAY - timedelta(days=n), 20, Standing.FORECAST, marked=True) for n in range(4)]
    seen = record(row(TODAY - timedelta(days=4)), *rows).as_of(TODAY)
    assert seen.days[TODAY - timedelta(days=2)].standing is Standing.FORECAST
    assert seen.last_observed == TODAY - timedelta(days=4)
    assert seen.stale_days == 3


@given(st.dates(date(2027, 5, 1), date(2027, 7, 30)), st.sets(st.integers(-40, 40)), st.booleans())
def test_nothing_is_known_that_was_observed_after_the_day(
    today: date, offsets: set[int], marked: bool
) -> None:
    rows = [row(TODAY + timedelta(days=n), marked=marked) for n in offsets]
    seen = record(*rows).as_of(today)
    assert all(day <= today for day, found in seen.days.items() if found.standing is Standing.OBSERVED)
    assert all(day <= today + timedelta(days=16) for day in seen.days)
    assert seen.as_of(today) is seen


MEANS = st.lists(st.floats(-30, 40), min_size=12, max_size=12)


@given(MEANS)
def test_a_smoothed_year_keeps_the_mean_of_every_month(means: list[float]) -> None:
    days, first = smooth_year(means), 0
    for mean, length in zip(means, DAYS_OF_MONTH, strict=True):
        assert sum(days[first : first + length]) / length == pytest.approx(mean, abs=1e-9)
        first += length


@given(MEANS)
def test_a_smoothed_year_has_no_steps_not_even_at_new_year(means: list[float]) -> None:
    days = smooth_year(means)
    # Between two middles, about 30 days apart, lie at most twice the difference of the extremes (the bend).
    steepest = 4 * (max(means) - min(means)) / 28
    assert max(abs(a - b) for a, b in zip(days, (*days[1:], days[0]), strict=True)) <= steepest + 1e-9


def test_a_smoothed_year_of_temperatures_follows_an_independent_spline() -> None:
    """scipy's periodic cubic spline of the running sum, whose slope keeps each mean too: at most 0.20 °C apart."""
    means = [3.9, 4.2, 6.0, 8.2, 11.2, 13.9, 15.8, 15.5, 13.2, 9.9, 6.5, 4.2]  # invented, of a maritime shape
    edges, total = [0.0], [0.0]
    overall = sum(m * n for m, n in zip(means, DAYS_OF_MONTH, strict=True)) / 366
    for mean, length in zip(means, DAYS_OF_MONTH, strict=True):
        edges.append(edges[-1] + length)
        total.append(total[-1] + (mean - overall) * length)
    total[-1] = total[0]
    spline = CubicSpline(edges, total, bc_type="periodic")
    theirs = [float(spline(n + 1) - spline(n)) + overall for n in range(366)]
    assert max(abs(a - b) for a, b in zip(smooth_year(means), theirs, strict=True)) < 0.25


def normals(**extra: float) -> Normals:
    months = (MonthNormal(m, DayWeather(m, m + 8, **extra), 31.0 * m) for m in range(1, 13))
    return Normals(tuple(months))


def test_a_normal_day_has_every_measure_that_all_months_have() -> None:
    found = normals(rh_mean_percent=80, wind_m_per_s=4).on(date(2027, 2, 14)).weather
    assert found.rh_mean_percent == pytest.approx(80)
    assert found.wind_m_per_s == pytest.approx(4)
    assert found.sunshine_hours is None


def test_normal_rain_of_a_month_adds_up_to_its_sum() -> None:
    july = [normals().on(date(2027, 7, day)).rain_mm for day in range(1, 32)]
    assert sum(rain for rain in july if rain is not None) == pytest.approx(31.0 * 7)


def test_a_normal_february_has_the_mean_length_of_many_years() -> None:
    """1991 to 2020 held eight leap years: 30 x 28 + 8 days of February, 28.27 each; 97 in 400 years make 28.2425."""
    february = [normals().on(date(2027, 2, day)).rain_mm or 0 for day in range(1, 29)]
    leap_day = normals().on(date(2028, 2, 29)).rain_mm or 0
    mean = (sum(february) + leap_day) / 29
    assert mean == pytest.approx(62 / 28.25, rel=0.001)


def test_rain_normals_made_from_a_record_bring_back_the_daily_rain_of_every_month() -> None:
    """1 mm on each day of four years, one of them a leap year: 1 mm a day in February, too."""
    first = date(2024, 1, 1)
    days = [row(first + timedelta(days=n)) for n in range(4 * 365 + 1)]
    months = normals_from_days(ClimateDay(d.day, d.standing, d.weather, 1.0) for d in days)
    assert months is not None
    year = Normals(months)
    for n in range(366):
        assert year.on(first + timedelta(days=n)).rain_mm == pytest.approx(1.0, abs=1e-9)


def test_the_29th_of_february_has_normals_of_its_own_and_later_days_do_not_move_by_it() -> None:
    year = normals()
    assert year.on(date(2028, 2, 29)).tmin_c > year.on(date(2028, 2, 28)).tmin_c
    assert year.on(date(2027, 7, 1)).weather == year.on(date(2028, 7, 1)).weather


@pytest.mark.parametrize(
    ("latitude", "told"), [(63, "weeks later"), (44, "weeks sooner"), (55, None), (-44, "weeks sooner")]
)
def test_a_place_far_from_where_the_typical_dates_are_of_is_asked_for_normals(
    latitude: int, told: str | None
) -> None:
    """Dates of 50 to 55 degrees (schedules/stages.yaml); that 6 degrees are far is judgement."""
    zone = "Europe/Oslo" if latitude > 0 else "Pacific/Auckland"
    of = load_text(
        f"place: {{name: X, latitude: {latitude}, time_zone: {zone}}}\n"
        "feeds: {powder: {grade: 18-11-18, form: soluble, label_rate: 1 g per L}}\n"
        "groups: {g: {schedule: vigorous, feed: powder}}\n"
        "trees: [{name: A, species: hornbeam, group: g, pot: 9 L}, {name: B, species: elm, group: g, pot: 9 L}]\n"
    )
    season = plan_season(of.collection, of.journal, date(2027, 3, 1))
    found = warnings_of(season, of.collection, of.journal)
    lines = [str(problem_of(each, season.today)) for each in found if isinstance(each.fact, DatesOfElsewhere)]
    assert len(lines) == (told is not None)
    assert told is None or told in lines[0]

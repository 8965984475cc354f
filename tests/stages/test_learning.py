"""What the fit finds: on open observations with a published error, and on dates made from a known sum."""

from __future__ import annotations

from datetime import date, timedelta
from statistics import NormalDist

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedplan.engine.answers import calibration
from feedplan.engine.answers.calibration import Fit, Observed, fit
from feedplan.engine.stages.courses import Count, DailyCounts
from feedplan.model.climate import Climate, ClimateDay, Standing
from feedplan.weather.evapotranspiration import DayWeather
from tests.properties import examples
from tests.stages.open_records import northern_climate, package_folder
from tests.weather.test_thermal_time_on_observations import (
    FLOWERS,
    LEAVES,
    mean_of_all,
    new_year,
    observed,
    temperatures,
)

needs_pyphenology = pytest.mark.skipif(
    package_folder("pyPhenology") is None, reason="pyPhenology is not installed"
)
DAY = timedelta(days=1)


def blueberries(phenophase: str) -> tuple[DailyCounts, list[Observed]]:
    """Harvard Forest, 1990 to 2001: 48 dates in 12 years, and the daily means; warmth counts from day 0."""
    means = {day: mean for rows in temperatures("vaccinium_temperature.csv").values() for day, mean in rows}
    days = {d: ClimateDay(d, Standing.OBSERVED, DayWeather(mean, mean)) for d, mean in means.items()}
    seen = [
        Observed(year, new_year(year) - DAY, tuple(new_year(year) + DAY * (doy - 1) for doy in doys))
        for (_, year), doys in sorted(
            observed("vaccinium_obs.csv", phenophase).items(), key=lambda i: i[0][1]
        )
    ]
    return DailyCounts(Climate(days)), seen


def fitted(phenophase: str) -> Fit:
    found = fit(*blueberries(phenophase), 0.0)
    assert found is not None
    return found


@needs_pyphenology
def test_with_the_base_kept_flowers_are_told_as_well_as_published(monkeypatch: pytest.MonkeyPatch) -> None:
    # Base 0 °C from day 0: sum 448, 3.29 days off, 3.49 in years left out (the same data, other code).
    monkeypatch.setattr(calibration, "SEASONS_FOR_BASE", 99)
    found = fitted(FLOWERS)
    assert found.degree_days == pytest.approx(448, abs=1)
    assert found.error_days == pytest.approx(3.29, abs=0.02)
    assert found.left_out_days <= 3.495


@needs_pyphenology
@pytest.mark.parametrize(("phenophase", "published"), [(FLOWERS, 3.49), (LEAVES, 6.70)])
def test_with_the_base_free_years_left_out_are_told_better_than_published(
    phenophase: str, published: float
) -> None:
    found = fitted(phenophase)
    assert found.left_out_days < published
    assert (found.seasons, found.sightings) == (12, 48)


@needs_pyphenology
@pytest.mark.parametrize(("phenophase", "published"), [(FLOWERS, 6.43), (LEAVES, 7.60)])
def test_the_error_of_the_mean_date_is_that_of_years_left_out(phenophase: str, published: float) -> None:
    assert mean_of_all(phenophase) > 0
    assert fitted(phenophase).mean_date_days == pytest.approx(published, abs=0.02)


def made_dates(base_c: float, needed: float, years: range, off: tuple[int, ...] = (0,)) -> list[Observed]:
    """Dates on which a sum is reached in the record of an upland place, trees some days off it."""
    record = DailyCounts(northern_climate())
    seen = []
    for year in years:
        first = date(year, 2, 1)
        total, day = 0.0, first - DAY
        for value in record.counts(Count("warmth", base_c), first, 200):
            total, day = total + value, day + DAY
            if total >= needed:
                break
        seen.append(Observed(year, first, tuple(day + DAY * n for n in off)))
    return seen


@examples(5)
@given(st.integers(0, 8), st.integers(60, 240))
def test_a_sum_that_dates_were_made_from_is_found_again(base_c: int, needed: int) -> None:
    record = DailyCounts(northern_climate())
    found = fit(record, made_dates(base_c, needed, range(2003, 2015)), 5.0)
    assert found is not None
    assert found.error_days <= 1.0
    assert found.left_out_days <= 2.5


def test_one_slip_of_the_pen_moves_the_sum_little() -> None:
    record = DailyCounts(northern_climate())
    right = made_dates(5.0, 120, range(2003, 2011), (-1, 0, 1))
    slip = [
        Observed(s.season, s.first, (*s.days[:2], s.days[2] + 30 * DAY)) if s.season == 2005 else s
        for s in right
    ]
    before, after = fit(record, right, 5.0), fit(record, slip, 5.0)
    assert before is not None
    assert after is not None
    assert (before.base_c, after.base_c) == (5.0, 5.0)
    assert after.degree_days == pytest.approx(before.degree_days, rel=0.06)


def test_two_or_three_seasons_keep_the_base_and_one_teaches_nothing() -> None:
    record = DailyCounts(northern_climate())
    assert fit(record, made_dates(2.0, 150, range(2003, 2004)), 5.0) is None
    for years in (range(2003, 2005), range(2003, 2006)):
        found = fit(record, made_dates(2.0, 150, years), 5.0)
        assert found is not None
        assert found.base_c == 5.0


def test_four_seasons_are_enough_to_find_the_base() -> None:
    """Judgement: two numbers from two or three years would fit the weather's noise."""
    found = fit(DailyCounts(northern_climate()), made_dates(2.0, 150, range(2003, 2007)), 5.0)
    assert found is not None
    assert abs(found.base_c - 2.0) <= 1.0


def test_a_span_of_misses_reaches_from_the_10_to_the_90_percent_point_of_a_normal_distribution() -> None:
    assert pytest.approx(NormalDist().inv_cdf(0.9), abs=0.005) == calibration.SPAN_OF_MISSES

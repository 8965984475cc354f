"""Stages from warmth, cold and day length: by hand on even weather, and what must hold for any."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from feedplan.engine.stages.courses import Count, Courses, DailyCounts
from feedplan.engine.stages.prediction import (
    PARTS_OF_RANGE,
    Prediction,
    Sightings,
    StageSite,
    predict,
    shortened_on,
)
from feedplan.model.climate import Climate, ClimateDay, MonthNormal, Normals, Standing
from feedplan.model.moment import DayOfYear, Hemisphere
from feedplan.model.stage import Chill, Clock, Counting, DrawnTowards, Measure, StageRule
from feedplan.weather.evapotranspiration import DayWeather
from tests.properties import examples
from tests.stages.open_records import northern_climate, southern_climate

DAY = timedelta(days=1)
FEBRUARY = Counting(5.0, DayOfYear(2, 1))


def warmth(amount: float, unsure: float = 0, **more: object) -> StageRule:
    return StageRule(Measure.WARMTH, amount, unsure, FEBRUARY, **more)  # type: ignore[arg-type]


def record(mean_on: Callable[[date], float], first: str, last: str, *, half_range: float = 4) -> Climate:
    """Days with some means, observed."""
    start, end = date.fromisoformat(first), date.fromisoformat(last)
    days = [start + DAY * i for i in range((end - start).days + 1)]
    return Climate(
        {
            d: ClimateDay(d, Standing.OBSERVED, DayWeather(mean_on(d) - half_range, mean_on(d) + half_range))
            for d in days
        }
    )


def told(
    clock: Clock,
    climate: Climate,
    season: int = 2027,
    seen: Mapping[str, date] | None = None,
    *,
    elsewhere: Mapping[str, Sightings] | None = None,
    hemisphere: Hemisphere = Hemisphere.NORTH,
) -> dict[str, Prediction]:
    courses = Courses(DailyCounts(climate), season, hemisphere)
    latitude = 52.5 if hemisphere is Hemisphere.NORTH else -41.0
    return predict(clock, courses, StageSite(latitude, hemisphere, season, 21), seen or {}, elsewhere or {})


EVEN = record(lambda day: 15.0, "2026-09-01", "2027-12-31")


def test_ten_degree_days_a_day_bring_seventy_five_on_the_eighth_day() -> None:
    # 11 to 19 °C lies above the base, so the sine gives the mean less the base: 10 degree days a day from 1 February.
    assert told({"bud burst": warmth(75)}, EVEN)["bud burst"].day == date(2027, 2, 8)


def test_a_later_stage_counts_from_the_day_after_the_one_before() -> None:
    clock = {"bud burst": warmth(75), "leaves open": warmth(40, after="bud burst")}
    assert told(clock, EVEN)["leaves open"].day == date(2027, 2, 12)


def test_bounds_keep_a_stage_within_so_many_days_of_the_one_before() -> None:
    clock = {
        "bud burst": warmth(75),
        "soon": warmth(20, after="bud burst", at_least_days=10),
        "late": warmth(900, after="bud burst", at_most_days=30),
    }
    found = told(clock, EVEN)
    assert (found["soon"].day, found["late"].day) == (date(2027, 2, 18), date(2027, 3, 10))


def test_a_stage_seen_is_counted_from_and_no_longer_told() -> None:
    clock = {"bud burst": warmth(75), "leaves open": warmth(40, after="bud burst")}
    found = told(clock, EVEN, seen={"bud burst": date(2027, 3, 1)})
    assert "bud burst" not in found
    assert found["leaves open"].day == date(2027, 3, 5)


def test_days_missing_in_a_mild_winter_ask_for_more_warmth() -> None:
    chill = Chill(7.0, DayOfYear(11, 1), days=40, more_each_day_short=0.01)
    counting = Counting(5.0, DayOfYear(2, 1), chill=chill)
    rule = StageRule(Measure.WARMTH, 100, 0, counting)
    cold = record(lambda day: 4.0 if day < date(2027, 1, 1) else 15.0, "2026-09-01", "2027-12-31")
    # Never a cold day: all 40 are missing, 40 % more, 140 degree days at 10 a day. 61 cold days: none is missing.
    assert told({"bud burst": rule}, EVEN)["bud burst"].day == date(2027, 2, 14)
    assert told({"bud burst": rule}, cold)["bud burst"].day == date(2027, 2, 10)


def test_chill_in_hours_counts_the_cold_part_of_each_day() -> None:
    # 7 °C lies in the middle of every day's sine, so each has 12 hours below: 92 days from 1 November are 1104 hours.
    even = record(lambda day: 7.0 if day < date(2027, 2, 1) else 15.0, "2026-09-01", "2027-12-31")
    clock = {
        name: StageRule(
            Measure.WARMTH,
            100,
            0,
            Counting(5.0, DayOfYear(2, 1), chill=Chill(7.0, DayOfYear(11, 1), hours=h)),
        )
        for name, h in (("had", 1100), ("short", 1104 + 24 * 20))
    }
    found = told(clock, even)
    assert (found["had"].day, found["short"].day) == (date(2027, 2, 10), date(2027, 2, 12))


def test_cold_brings_colour_after_the_days_have_shortened() -> None:
    clock = {
        "hardening off": StageRule(Measure.DAY_SHORTENED, 0.27, 0, FEBRUARY),
        "colour": StageRule(Measure.COLD, 100, 0, FEBRUARY, after="hardening off", below_c=20.0),
    }
    found = told(clock, EVEN)
    hardening = found["hardening off"].day
    assert hardening is not None
    # 5 degrees of cold a day from the next day on: 20 days.
    assert found["colour"].day == hardening + 20 * DAY


@pytest.mark.parametrize(
    ("share", "north"), [(0.27, date(2027, 8, 20)), (0.5, date(2027, 9, 22)), (0.61, date(2027, 10, 5))]
)
def test_day_length_falls_by_the_same_share_on_the_same_day_everywhere(share: float, north: date) -> None:
    # Half way between the longest and the shortest day lies the equinox. The others are the calendars' typical dates.
    for latitude in (35.0, 45.0, 52.5, 60.0):
        day = shortened_on(latitude, Hemisphere.NORTH, 2027, share)
        assert day is not None
        assert abs((day - north).days) <= 4
        turned = shortened_on(-latitude, Hemisphere.SOUTH, 2027, share)
        assert turned is not None
        assert abs((turned - (day + timedelta(days=182))).days) <= 6


def test_in_the_south_counting_begins_half_a_year_later() -> None:
    even = record(lambda day: 15.0, "2027-03-01", "2028-07-31")
    clock = {"bud burst": StageRule(Measure.WARMTH, 75, 0, Counting(5.0, DayOfYear(8, 1)))}
    found = told(clock, even, hemisphere=Hemisphere.SOUTH)
    assert found["bud burst"].day == date(2027, 8, 8)


def normals(low: float, high: float) -> Normals:
    return Normals(tuple(MonthNormal(m, DayWeather(low, high)) for m in range(1, 13)))


def test_with_normals_alone_the_span_is_the_calendars_spread() -> None:
    found = told({"bud burst": warmth(75, 25)}, Climate({}, normals(11, 19)))["bud burst"]
    assert (found.day, found.years) == (date(2027, 2, 8), 0)
    assert found.early == date(2027, 2, 8) - 21 * DAY
    assert found.late == date(2027, 2, 8) + 21 * DAY


def test_the_spread_shrinks_as_the_days_counted_come_onto_the_record() -> None:
    clock = {"bud burst": warmth(200)}
    widths = []
    for last in ("2027-02-01", "2027-02-20", "2027-03-10"):
        days = record(lambda day: 10.0, "2026-09-01", last).days
        found = told(clock, Climate(days, normals(6, 14)))["bud burst"]
        assert found.early is not None
        assert found.late is not None
        widths.append((found.late - found.early).days)
    assert widths[0] > widths[1] > widths[2] >= 0


def test_without_normals_only_what_the_record_itself_brings_is_told() -> None:
    short = record(lambda day: 15.0, "2026-09-01", "2027-02-05")
    assert told({"bud burst": warmth(40), "leaves open": warmth(75)}, short).keys() == {"bud burst"}


def test_without_normals_a_record_that_begins_in_summer_tells_nothing_of_spring() -> None:
    """Else the first warm days on record would be taken for those after winter, and buds swell in July."""
    summer = record(lambda day: 15.0, "2027-07-10", "2027-07-30")
    assert told({"bud burst": warmth(75)}, summer) == {}
    assert told({"bud burst": warmth(75)}, Climate(summer.days, normals(11, 19))).keys() == {"bud burst"}


def test_what_never_comes_is_told_without_a_day() -> None:
    assert (
        told({"bud burst": warmth(75)}, record(lambda day: 0.0, "2026-09-01", "2028-01-31"))["bud burst"].day
        is None
    )


def test_rules_that_go_round_in_a_ring_tell_nothing() -> None:
    clock = {"one": warmth(10, after="other"), "other": warmth(10, after="one")}
    assert told(clock, EVEN) == {}


def day_of(prediction: Prediction) -> date:
    assert prediction.day is not None
    return prediction.day


def seen_on(number: int, day: date) -> dict[str, Sightings]:
    return {"bud burst": Sightings((day,) * number, day)}


def test_trees_seen_draw_the_others_towards_them_the_more_the_further() -> None:
    climate, clock = (
        Climate({}, normals(11, 19)),
        {"bud burst": warmth(75, 25), "leaves open": warmth(35, after="bud burst")},
    )
    alone = told(clock, climate)
    there = date(2027, 2, 25)
    days = [day_of(told(clock, climate, elsewhere=seen_on(n, there))["bud burst"]) for n in (1, 2, 5, 50)]
    assert day_of(alone["bud burst"]) < days[0]
    assert days == sorted(days)
    assert days[-1] == there
    # By hand for one tree: the prior is 21 days either way, 42/2.563 = 16.4 days; trees differ by 4 days.
    # The weight of what was seen is (1/16) / (1/16 + 1/16.4**2) = 0.94, of the 17 days between the two.
    assert days[0] == date(2027, 2, 8) + round(0.94 * 17) * DAY
    informed = told(clock, climate, elsewhere=seen_on(1, there))
    assert day_of(informed["leaves open"]) > day_of(alone["leaves open"])
    assert DrawnTowards(1, there) in informed["bud burst"].basis.parts


def test_what_was_seen_on_the_tree_itself_wins_over_others() -> None:
    clock = {"bud burst": warmth(75), "leaves open": warmth(40, after="bud burst")}
    found = told(clock, EVEN, seen={"bud burst": date(2027, 3, 1)}, elsewhere=seen_on(9, date(2027, 2, 10)))
    assert found["leaves open"].day == date(2027, 3, 5)


def test_a_range_is_tried_at_the_middles_of_five_equal_parts() -> None:
    ends = [-1 + 2 * part / 5 for part in range(6)]
    assert list(PARTS_OF_RANGE) == pytest.approx([(one + other) / 2 for one, other in pairwise(ends)])


def test_past_years_give_the_middle_and_the_span_of_a_year_to_come() -> None:
    """Every past year is told by itself; the middle and the 10 and 90 % points are theirs."""
    climate, clock = northern_climate(), {"bud burst": warmth(140)}
    found = told(clock, climate.as_of(date(2016, 1, 1)), 2016)["bud burst"]
    days = []
    for year in range(2002, 2015):
        day = told(clock, climate, year)["bud burst"].day
        assert day is not None
        days.append((day - date(year, 1, 1)).days)
    days.sort()
    assert found.years == 13
    assert found.day is not None
    assert found.early is not None
    assert found.late is not None
    offsets = [(day - date(2016, 1, 1)).days for day in (found.early, found.day, found.late)]
    for offset, share in zip(offsets, (0.1, 0.5, 0.9), strict=True):
        at = round(share * (len(days) - 1))
        assert days[at - 1] - 1 <= offset <= days[at + 1] + 1  # a leap day may come between


@examples(20)
@given(st.integers(2003, 2014), st.integers(40, 300), st.integers(0, 8), st.integers(1, 60))
def test_more_warmth_asked_for_never_comes_sooner(year: int, amount: int, base_c: int, more: int) -> None:
    counting = Counting(float(base_c), DayOfYear(2, 1))
    clock = {
        "less": StageRule(Measure.WARMTH, amount, 0, counting),
        "more": StageRule(Measure.WARMTH, amount + more, 0, counting),
    }
    found = told(clock, northern_climate(), year)
    assert day_of(found["less"]) <= day_of(found["more"])


@examples(12)
@given(st.integers(2003, 2014), st.floats(0.5, 4))
def test_a_warmer_spring_is_never_later(year: int, warmer: float) -> None:
    days = northern_climate().days
    near = {d: day for d, day in days.items() if abs((d - date(year, 6, 1)).days) < 420}
    raised = {
        d: ClimateDay(d, day.standing, DayWeather(day.tmin_c + warmer, day.tmax_c + warmer))
        for d, day in near.items()
    }
    clock = {"bud burst": warmth(120, 20), "leaves open": warmth(40, 10, after="bud burst")}
    cool, warm = told(clock, Climate(near), year), told(clock, Climate(raised), year)
    for stage in clock:
        assert day_of(warm[stage]) <= day_of(cool[stage])


def test_a_record_is_stale_once_its_last_observation_is_older_than_two_days() -> None:
    climate = record(lambda day: 10.0, "2027-05-01", "2027-05-10")
    assert [climate.as_of(date(2027, 5, 11) + DAY * n).is_stale for n in range(4)] == [
        False,
        False,
        False,
        True,
    ]


@pytest.mark.parametrize(
    ("climate", "first", "last", "within"),
    [
        (southern_climate, (8, 1), (9, 30), 0.08),
        (southern_climate, (8, 1), (10, 31), 0.08),
        # At Chicago days differ far more than by the sea: normals fall short by what is allowed here, as measured.
        (northern_climate, (2, 1), (3, 31), 0.45),
        (northern_climate, (2, 1), (4, 30), 0.20),
    ],
)
def test_normals_tell_the_warmth_that_real_springs_bring_on_average(
    climate: Callable[[], Climate], first: tuple[int, int], last: tuple[int, int], within: float
) -> None:
    """Smooth normals alone fall short by more, because a cold day takes nothing back."""
    record = DailyCounts(climate())
    count = Count("warmth", 5.0)
    days = (date(2023, *last) - date(2023, *first)).days + 1
    springs = [sum(record.counts(count, date(year, *first), days)) for year in range(2002, 2015)]
    begins = (date(2024, *first) - date(2024, 1, 1)).days
    expected = sum(record.normal_counts(count)[begins : begins + days])
    assert expected == pytest.approx(sum(springs) / len(springs), rel=within)


def test_a_record_holds_its_first_and_its_last_day_and_none_beyond() -> None:
    counts = DailyCounts(record(lambda day: 10.0, "2027-03-01", "2027-03-31"))
    first, last = date(2027, 3, 1), date(2027, 3, 31)
    assert counts.has(first)
    assert counts.has(last)
    assert not counts.has(first - timedelta(days=1))
    assert not counts.has(last + timedelta(days=1))
    assert counts.share_on_record(first, last) == 1

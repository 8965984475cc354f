"""Root zones and heat waves, day by day: only what is known opens a gate, and only what is cool ends a wave."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from feedplan.engine.outdoors.outdoors import Proxy, Warmth, heat_waves, root_zone_course
from feedplan.model.climate import ClimateDay, Standing
from feedplan.model.hold import HeatBounds
from feedplan.model.source import BUILT_IN
from feedplan.weather.evapotranspiration import DayWeather

DAY = timedelta(days=1)
START = date(2027, 3, 1)
MEANS = st.lists(st.one_of(st.none(), st.floats(-5, 25)), min_size=1, max_size=80)
# Stretches of days alike, so that one wave ends and another begins.
MAXIMA = st.lists(
    st.tuples(st.sampled_from([None, 20.0, 27.9, 28.0, 31.9, 32.0, 36.0]), st.integers(1, 4)),
    min_size=1,
    max_size=20,
).map(lambda stretches: [tmax_c for tmax_c, days in stretches for _ in range(days)])


def by_day(values: list[float | None], half_range: float = 5) -> dict[date, ClimateDay]:
    return {
        START + DAY * i: ClimateDay(
            START + DAY * i, Standing.OBSERVED, DayWeather(mean - half_range, mean + half_range)
        )
        for i, mean in enumerate(values)
        if mean is not None
    }


def warmth(days: dict[date, ClimateDay]) -> Callable[[date], Warmth | None]:
    """Root zones as warm as the air."""
    return lambda day: None if day not in days else Warmth(days[day].tmean_c, BUILT_IN)


@given(MEANS, st.integers(1, 5), st.floats(4, 15))
def test_a_root_zone_turns_only_on_a_run_of_known_days(
    means: list[float | None], run: int, least_c: float
) -> None:
    days = by_day(means)
    course = root_zone_course(least_c, {}, warmth(days), (START, START + DAY * len(means)), Proxy(2.0, run))
    for number, state in enumerate(course.states):
        if state.is_warm is None:
            assert number > 0
            assert not {state.start - DAY * back for back in range(4)} & set(days)
            continue
        assert (asked := days[state.start]).tmean_c is not None
        assert (asked.tmean_c >= least_c + 2) == state.is_warm
        if number == 0:
            assert state.start == min(days)
        elif course.states[number - 1].is_warm is not None:
            assert all(
                (day := days.get(state.start - DAY * back)) is not None
                and (day.tmean_c >= least_c + 2) == state.is_warm
                for back in range(run)
            )
    assert all(before.is_warm != after.is_warm for before, after in pairwise(course.states))


@given(MEANS, st.floats(4, 15), st.data())
def test_forgetting_single_days_never_opens_a_root_zone_sooner(
    means: list[float | None], least_c: float, data: st.DataObject
) -> None:
    days = by_day(means)
    if not days:
        return
    forgotten = data.draw(st.sets(st.sampled_from(sorted(set(days) - {min(days)}) or [START - DAY])))
    span = (START, START + DAY * len(means))
    whole = root_zone_course(least_c, {}, warmth(days), span, Proxy())
    left = sorted(set(days) - forgotten)
    if any(after - before > DAY * 4 for before, after in pairwise([*left, span[1]])):
        return  # what was read too long ago says nothing any more
    holed = root_zone_course(
        least_c, {}, warmth({d: w for d, w in days.items() if d not in forgotten}), span, Proxy()
    )
    first_warm = [next((s.start for s in course.states if s.is_warm), date.max) for course in (whole, holed)]
    assert first_warm[1] >= first_warm[0]


@given(MAXIMA)
def test_a_wave_begins_with_two_hot_days_and_ends_with_the_second_cool_one(
    maxima: list[float | None],
) -> None:
    bounds = HeatBounds()
    days = by_day([None if m is None else m - 5 for m in maxima])
    found = heat_waves(tuple(days.values()), bounds)
    last = max(days, default=START)

    def is_cool(day: date) -> bool:
        return days[day].tmax_c < bounds.over_below_c if day in days else day > last

    for wave in found:
        assert days[wave.start].tmax_c >= 32
        assert days[wave.start + DAY].tmax_c >= 32
        assert is_cool(wave.end)
        assert is_cool(wave.end - DAY)
        between = [wave.start + DAY * n for n in range((wave.end - wave.start).days)]
        assert not any(is_cool(one) and is_cool(other) for one, other in pairwise(between))
        assert wave.peak_c == max(days[d].tmax_c for d in between if d in days)
    assert all(one.end <= other.start for one, other in pairwise(found))
    covered = {wave.start + DAY * n for wave in found for n in range((wave.end - wave.start).days)}
    for day, weather in days.items():
        if weather.tmax_c >= 32 and day + DAY in days and days[day + DAY].tmax_c >= 32:
            assert day in covered

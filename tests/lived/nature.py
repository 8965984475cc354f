"""What really goes on in a garden, apart from any plan: when stages come, when signs show, what the weather does."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from random import Random

from feedplan.model.climate import Climate, ClimateDay, MonthNormal, Normals, Standing
from feedplan.weather.evapotranspiration import DayWeather
from tests.lived.garden import DAY
from tests.lived.told import Awaited, Told

WATCHED = frozenset(
    {
        "leaves open",
        "first flush hardened",
        "leaves colouring",
        "candles extending",
        "needles hardened",
        "flush soft",
        "flush firm",
        "petals fallen",
        "first true leaves",
    }
)
"""The stages a grower looks out for: those from which or up to which shipped schedules feed."""

FORECAST_DAYS = 7


@dataclass(slots=True)
class Nature:
    """Stages and signs. Each tree is early or late in a year by some days of its own, drawn once from the seed."""

    seed: str
    stages: dict[tuple[str, str], date] = field(default_factory=dict)
    shown: dict[tuple[str, str, date], date] = field(default_factory=dict)

    def stages_come(self, told: Told) -> Iterator[tuple[str, str]]:
        """The stages that come today, as (tree, stage). The first day heard for a stage is where its own is drawn."""
        for tree in told.trees:
            for stage in sorted(WATCHED & told.stages[tree].keys()):
                if self._day_of(tree, stage, told.stages[tree][stage]) == told.day:
                    yield tree, stage

    def _day_of(self, tree: str, stage: str, expected: date | None) -> date | None:
        if (tree, stage) not in self.stages and expected is not None:
            shift = Random(f"{self.seed} {tree}").randint(-12, 12)
            shift += Random(f"{self.seed} {tree} {stage}").randint(-2, 2)
            self.stages[tree, stage] = expected + timedelta(days=shift)
        return self.stages.get((tree, stage))

    def signs_show(self, told: Told) -> Iterator[Awaited]:
        """The signs seen today of those that holds wait for; some never show, and one asked for twice shows again."""
        for awaited in told.awaited:
            key = (awaited.tree, awaited.sign, awaited.opened)
            chance = Random(f"{self.seed} {key}")
            if key not in self.shown:
                never = chance.random() < 0.1
                self.shown[key] = (
                    date.max if never else awaited.opened + timedelta(days=chance.randint(15, 75))
                )
            if self.shown[key] <= told.day:
                self.shown[key] = told.day + timedelta(days=6)
                yield awaited


@dataclass(slots=True)
class Sky:
    """Weather drawn around normals from a seed: warm and cold weeks, dry days and a few wet ones.

    outages: days on which no record came, as days from the first. drawn: days worked out before.
    """

    seed: str
    normals: Normals
    first: date
    outages: frozenset[int] = frozenset()
    drawn: dict[date, ClimateDay] = field(default_factory=dict)

    def came_on(self, day: date) -> bool:
        """Whether a record came that morning."""
        return (day - self.first).days not in self.outages

    def known(self, today: date) -> Climate:
        """What the record holds on a morning: observed to the day before it last came, forecast for a week from it."""
        came = today
        while not self.came_on(came):
            came -= DAY
        start = self.first - timedelta(days=90)
        observed = (self.truth(start + n * DAY) for n in range((came - start).days))
        ahead = (self._forecast(came + n * DAY, came) for n in range(FORECAST_DAYS))
        return Climate({row.day: row for row in (*observed, *ahead)}, self.normals)

    def truth(self, day: date) -> ClimateDay:
        """The weather of a day as it was observed."""
        if day not in self.drawn:
            week = Random(f"{self.seed} week {day.toordinal() // 7}").gauss(0, 3.5)
            of_day = Random(f"{self.seed} {day}")
            rain_mm = of_day.expovariate(1 / 7) if of_day.random() < 0.35 else 0.0
            normal, warmer_c = self.normals.on(day), week + of_day.gauss(0, 1.5)
            self.drawn[day] = _row(day, normal.tmin_c + warmer_c, normal.tmax_c + warmer_c, rain_mm)
        return self.drawn[day]

    def _forecast(self, day: date, came: date) -> ClimateDay:
        """A day as it was forecast: the further ahead, the further off."""
        true, doubt = self.truth(day), Random(f"{self.seed} {day} {came}")
        off_c = doubt.gauss(0, 0.6 * (day - came).days)
        rain_mm = max(0.0, (true.rain_mm or 0.0) + doubt.gauss(0, (day - came).days))
        return _row(day, true.tmin_c + off_c, true.tmax_c + off_c, rain_mm, Standing.FORECAST)


def _row(
    day: date, low_c: float, high_c: float, rain_mm: float, standing: Standing = Standing.OBSERVED
) -> ClimateDay:
    weather = DayWeather(round(low_c, 1), round(high_c, 1))
    return ClimateDay(day, standing, weather, round(rain_mm, 1), marked=True)


def outages(seed: str, days: int) -> frozenset[int]:
    """Spells of 2 to 25 days without a record, about one in six weeks."""
    chance, found, day = Random(f"{seed} outages"), set[int](), 20
    while day < days:
        day += chance.randint(10, 70)
        length = chance.randint(2, 25)
        found |= set(range(day, day + length))
        day += length
    return frozenset(found)


def normals_of(months: Mapping[int, tuple[float, float, float]]) -> Normals:
    """Normals from the mean lowest and highest temperature [°C] and the rain [mm] of each month."""
    return Normals(
        tuple(MonthNormal(m, DayWeather(low, high), rain) for m, (low, high, rain) in months.items())
    )

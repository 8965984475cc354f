"""How the solid feeds of a plan give off their nitrogen: by the warmth of the days, or evenly over a label's time."""

from __future__ import annotations

from bisect import bisect_left
from datetime import date, timedelta
from decimal import Decimal
from functools import cached_property
from itertools import accumulate

from feedplan.dose.release import Speed, Store, lag_speed, share_out
from feedplan.engine.growing_year import DAY
from feedplan.model.climate import Climate, Standing
from feedplan.model.collection import Feed

# Dates without weather: a fifth either way, for coatings and places differ (judgement).
_NOMINAL_SPREAD = Decimal("0.2")
_LONGEST = timedelta(days=1200)
_STEP = Decimal("0.0001")


class Release:
    """The course of release for every solid feed of one plan, worked out once per kind.

    Air temperature stands in for that of the mix. A day up to the one looked from counts as it was observed, a later
    one as normal; a forecast is left out, so that plans change by the month and not by the day.
    """

    def __init__(self, climate: Climate | None, first: date, last: date) -> None:
        self._climate = climate
        self._first = first
        self._days = (last + _LONGEST - first).days
        self._sums: dict[Speed, tuple[list[float], list[float]]] = {}

    @property
    def follows_weather(self) -> bool:
        """Whether temperatures are known at all."""
        return self._climate is not None and (bool(self._climate.days) or self._climate.normals is not None)

    def recounts(self, laid: date, today: date) -> tuple[date, ...]:
        """The days on which what a feed gives is worked out anew: each first of a month since it was laid."""
        if not self.follows_weather:
            return ()
        months = range(laid.year * 12 + laid.month, today.year * 12 + today.month)
        return tuple(date(month // 12, month % 12 + 1, 1) for month in months)

    def share(
        self, feed: Feed, laid: date, day: date, seen_from: date, *, on_surface: bool = True
    ) -> Decimal:
        """Share of all it gives that is out before a day [0 to 1]; a feed without a time gives all at once."""
        begins = self._begins(feed, laid, seen_from) if on_surface else laid
        if day <= begins:
            return Decimal(0)
        curve = feed.curve
        if curve is None:
            return Decimal(1)
        if not self.follows_weather:
            return min(Decimal(1), (day - begins).days / _label_days(feed))
        out = curve.share(lambda speed: self._passed(speed, begins, day, seen_from))
        return Decimal(str(out)).quantize(_STEP)

    def spent(
        self, feed: Feed, laid: date, seen_from: date, *, on_surface: bool = True
    ) -> tuple[date, date] | None:
        """The earliest and latest day on which nothing is left of it; None when its label gives no time."""
        curve = feed.curve
        if curve is None or feed.longevity_days is None:
            return None
        begins = self._begins(feed, laid, seen_from) if on_surface else laid
        if not self.follows_weather:
            shortest, longest = feed.longevity_days, feed.longest_days or feed.longevity_days
            early = round(Decimal(shortest) * (1 - _NOMINAL_SPREAD)) if shortest == longest else shortest
            late = round(Decimal(longest) * (1 + _NOMINAL_SPREAD)) if shortest == longest else longest
            return begins + early * DAY, begins + late * DAY
        days = [self._day_out(stores, begins, share, seen_from) for stores, share in curve.spent]
        return min(days), max(days)

    def _begins(self, feed: Feed, laid: date, seen_from: date) -> date:
        """The day on which a feed on the surface begins to give."""
        if not feed.lag_days or not self.follows_weather:
            return laid + feed.lag_days * DAY
        return self._day_passed(lag_speed, laid, feed.lag_days, seen_from)

    def _day_out(self, stores: tuple[Store, ...], begins: date, share: float, seen_from: date) -> date:
        """The first day by which a share of all that some stores give is out."""

        def out(days: int) -> bool:
            day = begins + days * DAY
            return share_out(stores, lambda speed: self._passed(speed, begins, day, seen_from)) >= share

        most = max((self._first - begins).days + self._days, 0)
        return begins + bisect_left(range(most), True, key=out) * DAY

    def _passed(self, speed: Speed, laid: date, day: date, seen_from: date) -> float:
        """Days at a speed of 1 that the days from laying to a day are worth."""
        observed, normal = self._sums_of(speed)
        seen = min(max(seen_from, laid), day)
        return (
            observed[self._at(seen)]
            - observed[self._at(laid)]
            + normal[self._at(day)]
            - normal[self._at(seen)]
        )

    def _day_passed(self, speed: Speed, laid: date, wanted: float, seen_from: date) -> date:
        """The first day by which so many days at a speed of 1 have passed."""
        observed, normal = self._sums_of(speed)
        seen = max(seen_from, laid)
        by_then = observed[self._at(seen)] - observed[self._at(laid)]
        if by_then >= wanted:
            place = bisect_left(observed, observed[self._at(laid)] + wanted)
        else:
            place = bisect_left(normal, normal[self._at(seen)] + wanted - by_then)
        return self._first + min(place, self._days) * DAY

    def _at(self, day: date) -> int:
        return min(max((day - self._first).days, 0), self._days)

    def _sums_of(self, speed: Speed) -> tuple[list[float], list[float]]:
        """Running sums of speed before each day: as observed where that is known, and as normal."""
        if speed not in self._sums:
            speeds = {temp: speed(temp) for temps in self._temps for temp in set(temps)}
            observed, normal = (
                list(accumulate(map(speeds.__getitem__, temps), initial=0.0)) for temps in self._temps
            )
            self._sums[speed] = (observed, normal)
        return self._sums[speed]

    @cached_property
    def _temps(self) -> tuple[list[float], list[float]]:
        """The mean of each day [°C], as observed where that is known, and as normal; 21 °C, which labels mean, else."""
        climate, days = self._climate, [self._first + n * DAY for n in range(self._days)]
        normals = climate.normals if climate is not None else None
        normal = [21.0 if normals is None else normals.tmean_c(day) for day in days]
        found = [climate.days.get(day) if climate is not None else None for day in days]
        observed = [
            row.tmean_c if row is not None and row.standing is Standing.OBSERVED else mean
            for row, mean in zip(found, normal, strict=True)
        ]
        return observed, normal


def _label_days(feed: Feed) -> Decimal:
    """The middle of the label's time [days]."""
    assert feed.longevity_days is not None
    return Decimal(feed.longevity_days + (feed.longest_days or feed.longevity_days)) / 2

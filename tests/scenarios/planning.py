"""What every scenario shares: three plain schedules, and a season reduced to dates and strengths."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import ROUND_HALF_UP, Decimal

from feedplan.engine.answers.explain import left_out, timeline_of
from feedplan.engine.plan import plan_season
from feedplan.engine.season import RoundItem, Season
from feedplan.load.collection import load_text
from feedplan.model.collection import Collection
from feedplan.model.course import Status
from feedplan.words.reasons import fact_words

# Vigorous, refined and recovering feeding in their plainest form: the trade's own numbers, common practice.
SCHEDULES = {
    "V": """
schedule: V
about: Vigorous growth.
written_for: north
stages: middle leafing
budget: 360 mg N per L
feeding:
  spring and summer: {from: leaves open, to: 15 August, every: 10 days, strength: 150 ppm N}
  autumn: {from: 16 August, to: 30 September or leaves colouring, every: 14 days, strength: 50 ppm N}
water:
  leaves open: {shallow: daily, medium: daily, deep: every 2 days, weak: daily}
  first flush hardened: {shallow: twice a day, medium: daily, deep: daily, weak: twice a day}
  dormant: {shallow: twice a week, medium: twice a week, deep: once a week, weak: once a week}
""",
    "F": """
schedule: F
about: Refined trees.
written_for: north
stages: middle leafing
budget: 200 mg N per L
feeding:
  after the first flush: {from: first flush hardened, to: leaves colouring, every: 21 days, strength: 60 ppm N}
water:
  leaves open: {shallow: daily, medium: daily, deep: every 2 days, weak: daily}
  dormant: {shallow: twice a week, medium: twice a week, deep: once a week, weak: once a week}
""",
    "R": """
schedule: R
about: Recovering trees.
written_for: north
stages: middle leafing
budget: 60 mg N per L
feeding:
  gently: {from: first flush hardened, to: 15 August, every: 21 days, strength: 30 ppm N}
water:
  leaves open: {shallow: daily, medium: daily, deep: every 2 days, weak: daily}
  dormant: {shallow: twice a week, medium: twice a week, deep: once a week, weak: once a week}
""",
}

WRENMOOR = "place: {name: Wrenmoor, latitude: 53.4, elevation: 60 m, time_zone: Europe/London}\n"
# A plan that begins as the leaves open: no feed was told before by a typical date.
SINCE_24_APRIL = "since: 2027-04-24\n"
KORORUA_BAY = "place: {name: Kororua Bay, latitude: -41.2, elevation: 10 m, time_zone: Pacific/Auckland}\n"
GROUPS = """
feeds:
  powder: {grade: 20-10-20, form: soluble}
groups:
  V: {schedule: V, feed: powder}
  F: {schedule: F, feed: powder}
  R: {schedule: R, feed: powder}
"""


@dataclass(frozen=True)
class Plan:
    """A season and the collection it was made from, with the questions scenarios ask."""

    season: Season
    collection: Collection

    def feeds(self, tree: str, *, statuses: tuple[Status, ...] = ()) -> list[str]:
        """Each feed of a tree as "2027-06-06 38": the day and the strength in whole ppm N."""
        timeline = timeline_of(self.season, tree)
        assert timeline is not None
        return [
            f"{feed.day} {whole(feed.ppm)}"
            for feed in timeline.feeds
            if (not statuses or feed.status in statuses) and self.season.start <= feed.day <= self.season.end
        ]

    def statuses(self, tree: str) -> list[str]:
        """Each feed as "2027-05-04 missed"."""
        timeline = timeline_of(self.season, tree)
        assert timeline is not None
        return [
            f"{f.day} {f.status}" for f in timeline.feeds if self.season.start <= f.day <= self.season.end
        ]

    def item(self, day: str, tree: str) -> RoundItem:
        """The mix of a day that a tree is in."""
        return next(i for i in self.season.rounds if str(i.day) == day and tree in i.names)

    def not_fed(self, day: str, tree: str) -> list[str]:
        """The reasons a tree is left out of its group's mix on a day."""
        return [
            fact_words(reason.fact, item.day)
            for item in self.season.rounds
            if str(item.day) == day
            for timeline, reasons in left_out(self.season, item.group, item.day)
            if tree in timeline.names
            for reason in reasons
        ]

    def reviews(self, tree: str) -> list[str]:
        """The days on which to look at a tree."""
        return [str(r.day) for r in self.season.reviews if tree in r.timeline.names]


def whole(ppm: Decimal) -> str:
    """A strength in whole ppm, halves up."""
    return f"{ppm.quantize(Decimal(1), ROUND_HALF_UP):f}"


def plan(
    collection: str,
    journal: str = "",
    *,
    today: str,
    days: int = 365,
    schedules: Mapping[str, str] = SCHEDULES,
) -> Plan:
    """The season of a collection written in YAML, from 150 days before `today` to some days after."""
    loaded = load_text(collection, journal, schedules)
    day = date.fromisoformat(today)
    season = plan_season(
        loaded.collection, loaded.journal, day, day - timedelta(days=150), day + timedelta(days=days)
    )
    return Plan(season, loaded.collection)

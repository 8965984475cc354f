"""When feeding is open: all that decides a timeline's feeds, and the first day on which nothing stands in the way."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache

from feedplan.engine.care import Care
from feedplan.engine.feeding.restrictions import Restrictions, reasons_against, reasons_in_trees
from feedplan.engine.feeding.settled import is_about_trees
from feedplan.engine.feeding.windows import Windows
from feedplan.engine.growing_year import DAY, season_end, season_of
from feedplan.engine.holds.ramps import Ramp
from feedplan.engine.stages.stages import Record
from feedplan.model.collection import Habits
from feedplan.model.course import Window
from feedplan.model.history import ToldFeed
from feedplan.model.journal import Entry
from feedplan.model.reason import BeforeAbsence, Reason, Rule, ToFeedingDay, ToMixingDay
from feedplan.model.schedule import FeedingPeriod
from feedplan.model.statement import Statement


@dataclass(frozen=True, slots=True)
class Feeding:
    """All that decides the feeds of one timeline.

    told: the feeds settled before today, and those asked for on today or later as they were last told. first: before it
    nothing is asked for; last: nor after it. reach: how far the feed after the last one is looked for. in_step: the day
    intervals count from while no feed was told, None for the first day that counts. unasked: the records of a group
    fed, by id, that are a feed of all its trees though none was asked for; off_day: those that no tree of it was asked
    for on their day, so that they mean a feed near it. soonest: the first day on which a feed may be asked for: today,
    or tomorrow once today was told without one.
    """

    care: Care
    record: Record
    windows: Windows
    restrictions: Restrictions
    ramps: tuple[Ramp, ...]
    told: tuple[ToldFeed, ...]
    today: date
    first: date
    last: date
    reach: date
    in_step: date | None = None
    unasked: frozenset[str] = frozenset()
    off_day: frozenset[str] = frozenset()
    soonest: date = date.min


def is_of_its_own(feeding: Feeding, log: Entry) -> bool:
    """Whether a record counts though no feed was asked for: it tells of these trees, or its group was fed unasked."""
    is_unasked = log.id in feeding.unasked
    return is_about_trees(log) or (is_unasked and not reasons_in_trees(feeding.restrictions, log.day))


def may_be_near(feeding: Feeding, log: Entry) -> bool:
    """Whether a record may mean a feed of another day; one of a group means the trees asked to be fed on its own."""
    return is_about_trees(log) or log.id in feeding.off_day


def offered_to(feeding: Feeding, missed: ToldFeed) -> date:
    """The last day a missed feed may be given late: in its own growing year, until the next is due at the latest.

    Of several intervals it might be counted by, that is the longest.
    """
    periods = feeding.care.schedule_on(missed.told).periods
    days = [period.every_days for period in periods] + [ramp.step_days for ramp in feeding.ramps]
    days += [limit.hold.rule.feed_every_days or 0 for limit in feeding.restrictions.limits]
    to_a_feeding_day = 6 if feeding.care.collection.habits.feed_on else 0
    due = max(missed.told, missed.counts_from) + timedelta(days=max(days, default=0) + to_a_feeding_day)
    return min(due, season_end(missed.season, feeding.record.hemisphere))


def ramp_ends(feeding: Feeding, ramp: Ramp) -> date:
    """The last day of a growing year with time for a ramp: that of its begin, or where that is too late the next one.

    A tree that took up no liquid feed in it, fed by solids alone or not at all, has grown on its roots for so long that
    nothing is left to take up gently. What the weather alone held is over with its year. Judgement.
    """
    hemisphere = feeding.record.hemisphere
    season = season_of(ramp.begins, hemisphere)
    is_over = all(hold.by_weather for hold in ramp.holds)
    has_time = is_over or any(
        w.season == season and w.last >= ramp.last_step for w in feeding.windows.windows
    )
    return season_end(season if has_time else season + 1, hemisphere)


def first_open(feeding: Feeding, day: date) -> tuple[date | None, tuple[Reason, ...]]:
    """The first day from `day` on which a feed may be given, and what stood in the way of the days passed over."""
    met: dict[tuple[Rule, Statement], Reason] = {}
    while day <= feeding.reach:
        standing = reasons_against(feeding.restrictions, day)
        if not standing:
            if feeding.windows.at(day) is not None:
                return day, tuple(met.values())
            opening = feeding.windows.next_after(day)
            if opening is None:
                break
            day = opening.first
            continue
        met |= {(reason.rule, reason.fact): reason for reason in standing}
        day = _day_to_try(feeding, day, [reason.until for reason in standing])
    return None, tuple(met.values())


def _day_to_try(feeding: Feeding, day: date, ends: Sequence[date | None]) -> date:
    """The next day worth looking at: when the last restriction ends, or an override in between."""
    closed = (
        max((end for end in ends if end is not None), default=day + DAY) if None not in ends else date.max
    )
    allowed = (override for override in feeding.restrictions.overrides if day < override < closed)
    return max(day + DAY, min([closed, *allowed]))


@dataclass(frozen=True, slots=True)
class Slot:
    """A place in the series. due: when the interval asked for it; day: when it can be given.

    in_step: nothing but the choice of a feeding day came between the two, so that intervals go on counting from due.
    """

    due: date
    day: date
    window: Window
    interval: timedelta
    moved_by: tuple[Reason, ...]
    in_step: bool = True

    @property
    def counts_from(self) -> date:
        """The day the next interval counts from: a feed put off starts it anew, one moved to a feeding day does not."""
        return self.due if self.in_step else self.day


def before_leaving(
    feeding: Feeding, due: date, asked: date | None, interval: Callable[[int], timedelta]
) -> Slot | None:
    """The last day before an absence, for a feed due in it; None where none is open and far enough from the last.

    asked: the last feed given or asked for. interval: from one feed to the next as things are, instead of so many days.
    """
    restrictions, habits = feeding.restrictions, feeding.care.collection.habits
    away = next((each for each in restrictions.away if each.start <= due <= each.end), None)
    day = date.min if away is None else away.start - DAY
    while away is not None and day >= max(feeding.soonest, feeding.first):
        window = feeding.windows.at(day)
        if window is None or (asked is not None and day < asked + least_after(window.period, interval)):
            return None
        if day.weekday() in (habits.feed_on or range(7)) and not reasons_against(restrictions, day):
            why = Reason(Rule.AWAY, BeforeAbsence(due, away.start, away.end), away.source)
            return Slot(due, day, window, interval(window.period.every_days), (why,), in_step=False)
        day -= DAY
    return None


def least_after(period: FeedingPeriod, interval: Callable[[int], timedelta]) -> timedelta:
    """The least time after a feed: the period's gap, or what a ramp or a hold left behind asks for."""
    return interval(period.min_gap_days)


def feeding_days_near(feeding: Feeding, due: date, next_due: date) -> list[date]:
    """The feeding days that a due date may be moved to, best first: those of mixing, then any within half a week.

    The days of mixing are those of one weekday: they depend on nothing but the calendar, so that groups which know
    nothing of each other meet on them, and a feed keeps its day whatever becomes of the others.
    """
    habits, away = feeding.care.collection.habits, feeding.restrictions.away
    half_a_week = 3
    most = max(habits.feed_together_days, half_a_week)
    nearest = [due + span for span in _nearest_first(most)]
    together = timedelta(days=habits.feed_together_days)
    mixing = [day for day in nearest if day.weekday() in habits.feed_on[:1] and abs(day - due) <= together]
    others = [d for d in nearest if d.weekday() in habits.feed_on and abs((d - due).days) <= half_a_week]
    # The feed before an absence comes early for it: put off this one, and the two would be too near.
    is_last = any(each.start <= next_due <= each.end for each in away)
    return sorted([*mixing, *others], key=lambda day: is_last and day > due)


@cache
def _nearest_first(most: int) -> tuple[timedelta, ...]:
    """Spans of so many days at most, the shortest first, later days before earlier ones."""
    return tuple(timedelta(days=n) for n in sorted(range(-most, most + 1), key=lambda n: (abs(n), -n)))


def to_feeding_day(due: date, day: date, habits: Habits) -> tuple[Reason, ...]:
    """That a feed was moved to a weekday kept for feeding, and whether it was to mix it with others."""
    later = day - due
    is_to_mix = len(habits.feed_on) > 1 and day.weekday() == habits.feed_on[0]
    if is_to_mix and 0 < abs(later.days) <= habits.feed_together_days:
        return (Reason(Rule.WEEKDAY, ToMixingDay(due, abs(later), later.days < 0)),)
    return () if day == due else (Reason(Rule.WEEKDAY, ToFeedingDay(due, later)),)

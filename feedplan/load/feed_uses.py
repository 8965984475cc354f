"""The feeds that a group or a tree uses: which from when, on which days of each year, and where they set a dose."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, timedelta
from itertools import combinations

from feedplan.dose.strength import LabelShare, PpmN
from feedplan.load.collection_models import FeedUseModel
from feedplan.load.collection_parts import Feeds
from feedplan.load.problems import Passage, either
from feedplan.load.read_words import day_of_year_text
from feedplan.model.collection import FeedUse, used_on
from feedplan.model.forms import DISSOLVING, SOLID, Form
from feedplan.model.moment import AtStage, DayOfYear, DaysOfYear, FirstOf, LastOf, Moment
from feedplan.model.schedule import FeedingPeriod, Schedule
from feedplan.model.source import BUILT_IN, Source
from feedplan.model.stage import StageCalendar

Days = tuple[date, date]
"""A first day, and the first day after the last."""

_DAY = timedelta(days=1)
_ANY_YEAR, _LEAP_YEAR = 2027, 2028
"""Days of the year are compared in the first; any two years of their kinds do."""


def in_use(lists: Iterable[Sequence[FeedUseModel]], day: date) -> list[str]:
    """The feeds that may be in use on a day, each once, by lists of what is used from which day on."""
    found: dict[str, None] = {}
    for models in lists:
        uses = _in_order(models)
        sure = used_on(day, [use for use in uses if not use.when_used_up])
        found |= {} if sure is None else {sure.feed: None}
        if sure is None or sure.every_year is None:
            waits = (use for use in uses if use.when_used_up and (use.start is None or use.start <= day))
            since = date.min if sure is None else sure.start or date.min
            found |= {use.feed: None for use in waits if (use.start or date.min) >= since}
    return list(found)


def feed_uses(
    models: Sequence[FeedUseModel], key: str, owner: str, feeds: Feeds, part: Passage
) -> tuple[FeedUse, ...]:
    """The feeds a group or tree uses, in order of their start. key: feed, or solid_feed for those laid on pots."""
    for index, model in enumerate(models):
        place, feed = part.at(index), feeds.get(model.use)
        if model.use not in feeds:
            place.at("use").unknown("feed", model.use, feeds, f"{key} of {owner}")
        if feed is not None and feed.is_solid and key == "feed":
            place.wrong(
                f"feed of {owner}: '{model.use}' is {feed.form} and laid on the pot, not mixed in a can; "
                f"name {_of_form(DISSOLVING, feeds)}, and record the other as laid"
            )
        if feed is not None and not feed.is_solid and key != "feed":
            place.wrong(f"{key} of {owner}: '{model.use}' is {feed.form}; name {_of_form(SOLID, feeds)}")
        _check_days(model, models, place, f"{key} of {owner}: '{model.use}'")
    uses = _in_order(models, part)
    if len({use.every_year or use.start for use in uses}) < len(uses):
        part.wrong(f"{key} of {owner}: two feeds start on the same day; give each its own from")
    else:
        _check_overlaps(uses, f"{key} of {owner}", part)
    return tuple(uses)


def _of_form(forms: Sequence[Form], feeds: Feeds) -> str:
    """The feeds there are of some forms, or what such a feed is called."""
    fit = [feed.name for feed in feeds.values() if feed is not None and feed.form in forms]
    return either(fit[:3]) if fit else f"a {either(forms)} feed"


def _check_days(model: FeedUseModel, models: Sequence[FeedUseModel], place: Passage, what: str) -> None:
    """Notes a last day that is missing or that belongs to no first day of each year."""
    is_yearly = isinstance(model.start, DayOfYear)
    if isinstance(model.start, DayOfYear) and model.to is None and _next_start(model.start, models) is None:
        first = day_of_year_text(model.start)
        place.key("from").wrong(
            f"{what} is used from {first} of each year, and nothing says until when; add to: 15 November"
        )
    if is_yearly and model.when_used_up:
        place.key("when_used_up").wrong(
            f"{what} is used on the same days of each year, so it waits for no other; remove when_used_up"
        )
    if model.to is not None and not is_yearly:
        ends = f"{what} ends with 'to', which goes with a day of each year"
        place.key("to").wrong(
            f"{ends}; write from: 1 October"
            if model.start is None
            else f"{ends}; remove it, and write the feed that follows with its own from: "
            f"{_after(model.to, model.start)}"
        )


def _after(last: DayOfYear, start: date) -> date:
    """The day after days that begin on a date and end on a day of the year."""
    ends = last.in_year(start.year)
    return (ends if ends >= start else last.in_year(start.year + 1)) + _DAY


def _next_start(first: DayOfYear, models: Sequence[FeedUseModel]) -> DayOfYear | None:
    """The first day of the year after one on which another entry begins; None without any other."""
    starts = {each.start for each in models if isinstance(each.start, DayOfYear)} - {first}
    order = sorted(starts, key=_month_day)
    later = [start for start in order if _month_day(start) > _month_day(first)]
    return next(iter(later or order), None)


def _month_day(day: DayOfYear) -> tuple[int, int]:
    return day.month, day.day


def _every_year(model: FeedUseModel, models: Sequence[FeedUseModel]) -> DaysOfYear | None:
    """On which days of each year an entry holds: to its last day, or to the day before the next entry begins."""
    if not isinstance(model.start, DayOfYear):
        return None
    following = _next_start(model.start, models)
    if model.to is not None or following is None:
        return DaysOfYear(model.start, model.to or model.start)
    last = following.in_year(_LEAP_YEAR) - _DAY  # 29 February before 1 March: it is the 28th in other years
    return DaysOfYear(model.start, DayOfYear(last.month, last.day))


def _in_order(models: Sequence[FeedUseModel], part: Passage | None = None) -> list[FeedUse]:
    """The feeds of a list in the order of their starts, those of each year last. part: where they stand."""
    uses = [
        FeedUse(
            model.use,
            None if isinstance(model.start, DayOfYear) else model.start,
            _source(part, index),
            model.when_used_up,
            _every_year(model, models),
        )
        for index, model in enumerate(models)
    ]
    return sorted(uses, key=lambda use: (use.every_year is not None, use.start or date.min))


def _source(part: Passage | None, index: int) -> Source:
    return BUILT_IN if part is None else part.at(index).source


def _check_overlaps(uses: Sequence[FeedUse], of: str, part: Passage) -> None:
    """Notes two feeds of each year that share days."""
    for one, other in combinations([use for use in uses if use.every_year is not None], 2):
        assert one.every_year is not None
        assert other.every_year is not None
        starts = (one.every_year.first, other.every_year.first)
        days = (start.in_year(_ANY_YEAR) for start in starts)
        shared = next((d for d in days if one.every_year.holds(d) and other.every_year.holds(d)), None)
        if shared is not None:
            day = day_of_year_text(DayOfYear(shared.month, shared.day))
            part.wrong(
                f"{of}: '{one.feed}' and '{other.feed}' are both used on {day}; end one before, with to:"
            )


def strength_slips(
    schedule: Schedule | None, uses: Sequence[FeedUse], feeds: Feeds, calendars: Mapping[str, StageCalendar]
) -> Iterator[str]:
    """Which strengths of a schedule set no dose with a feed in use: it has no nitrogen, or no label rate.

    Of a feed used between two days, only in the periods that may be open between them.
    """
    if schedule is None:
        return
    for use in uses:
        feed, days = feeds.get(use.feed), _days_of(use, uses)
        for period in schedule.periods:
            if feed is None or not _may_be_open(period, days, calendars[schedule.calendar]):
                continue
            of_plan = f"{period.strength} in '{period.name}' sets no dose"
            if isinstance(period.strength, PpmN) and feed.n_mg_per_g == 0:
                goes_on = use.start is not None and days is None
                ends = ", or name what follows it, with its from:" if goes_on else ""
                yield (
                    f"'{feed.name}' holds no nitrogen, so {of_plan}; "
                    f"use another feed, or a share of its label rate{ends}"
                )
            elif isinstance(period.strength, LabelShare) and feed.product.label_rate_per_l is None:
                yield f"'{feed.name}' has no label_rate, so {of_plan}; add for example label_rate: 1 g per L"


def _days_of(use: FeedUse, uses: Sequence[FeedUse]) -> list[Days] | None:
    """The days a feed is used; None for one without a first or without a last day, and nothing used in its place.

    Without a first or a last day, those of each year that no feed of each year takes.
    """
    if use.every_year is not None:
        first, last = use.every_year.begun_in(_ANY_YEAR)
        return [(first, last + _DAY)]
    yearly = [each.every_year for each in uses if each.every_year is not None]
    later = [each.start for each in uses if each.start and each.start > (use.start or date.min)]
    bounds = None if use.start is None or not later else (use.start, min(later))
    if not yearly:
        return None if bounds is None else [bounds]
    first, until = bounds or (date(_ANY_YEAR, 1, 1), date(_ANY_YEAR + 2, 1, 1))
    taken = sorted(
        begun
        for each in yearly
        for year in range(first.year - 1, until.year + 1)
        for begun in (each.begun_in(year),)
    )
    free = []
    for start, last in taken:
        if first < min(start, until):
            free.append((first, min(start, until)))
        first = max(first, last + _DAY)
    return [*free, (first, until)] if first < until else free


def _may_be_open(period: FeedingPeriod, days: Sequence[Days] | None, calendar: StageCalendar) -> bool:
    """Whether a period may be open on one of some days, in an early or a late year, too.

    None for any day: every period is open then in some year. So is one from a stage without a date.
    """
    if days is None:
        return True
    spread = timedelta(days=calendar.spread_days)
    for start, until in days:
        for year in range(start.year - 1, until.year + 1):
            first = _expected(period.start, calendar, date(year, 1, 1), -spread)
            last = None if first is None else _expected(period.stop, calendar, first, spread)
            if first is None or last is None or (first < until and last >= start):
                return True
    return False


def _expected(moment: Moment, calendar: StageCalendar, after: date, spread: timedelta) -> date | None:
    """The typical day of a moment, the first not before another; None without one. spread: added to that of a stage."""
    match moment:
        case DayOfYear():
            day = moment.in_year(after.year)
            return day if day >= after else moment.in_year(after.year + 1)
        case AtStage(stage, offset):
            typical = dict(calendar.dates).get(stage)
            day_of_stage = None if typical is None else _expected(typical, calendar, after, spread)
            return None if day_of_stage is None else day_of_stage + timedelta(days=offset) + spread
        case FirstOf(moments) | LastOf(moments):
            days = [_expected(each, calendar, after, spread) for each in moments]
            found = [day for day in days if day is not None]
            if len(found) < len(days):
                return None
            return min(found) if isinstance(moment, FirstOf) else max(found)

"""The shelf: what each product will still be needed for, what was used of it, when it runs out and what to buy."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from itertools import groupby

from feedplan.engine.feeding.rounds import mixes_of
from feedplan.engine.growing_year import season_end, season_of, season_start
from feedplan.engine.season import RoundItem, Season
from feedplan.engine.sink.can import weighed_for
from feedplan.model.collection import Collection, Feed
from feedplan.model.course import Act, Status
from feedplan.model.journal import Fed
from feedplan.model.measures import USUAL_MEASURES
from feedplan.model.warning import CoarseScale, PlanWarning

# Bought in addition to what trees are poured: for what is left over in the cans, about a tenth of what is mixed, for
# spills, spoons that heap and a tree more (common practice, no source).
SPARE = Decimal("0.15")
# A run-out so near is told in the round and in the calendar.
SOON = timedelta(weeks=4)
# So many days before it the round says so again: once a week, then while a shop can still be reached. On the day itself
# the mix says it. Judgement.
_SAID_BEFORE = frozenset((28, 21, 14, 7, 3, 1))

_COMING = (Status.PLANNED, Status.OVERDUE)


@dataclass(frozen=True, slots=True)
class Use:
    """One use of a product. amount: [g or ml]. group: whose trees."""

    day: date
    amount: Decimal
    status: Status
    group: str


@dataclass(frozen=True, slots=True)
class ShelfLine:
    """One product on a day, amounts in grams, or in millilitres for a liquid.

    recorded, assumed: used since it was counted, by the journal and as far as the plan knows. left: there today, None
    when no stock is told. needed: by the plan, from today to the end of the season. runs_out: the first day on which
    the plan needs more than is left, or on which it is past its keeping time. expires: last day it keeps. buy: what
    is missing for the season, spare included. groups: who uses it. season_use: used and needed in the season.
    first_short: the first day of all since it was counted on which it does not reach, also one that is over.
    """

    feed: Feed
    recorded: Decimal
    assumed: Decimal
    left: Decimal | None
    needed: Decimal
    runs_out: date | None
    buy: Decimal
    groups: tuple[str, ...]
    season_use: Decimal
    is_planned: bool
    first_short: date | None = None

    @property
    def with_spare(self) -> Decimal:
        """What is needed and a spare part on top."""
        return self.needed * (1 + SPARE)

    @property
    def cost(self) -> Decimal | None:
        """What the season's use costs, None without a price."""
        price = self.feed.on_hand.price
        return None if price is None else self.season_use * price

    def is_too_old_on(self, day: date) -> bool:
        """Whether it is past its keeping time on a day, however much is left."""
        best_before = self.feed.on_hand.best_before
        return best_before is not None and day > best_before

    def is_short_soon(self, today: date) -> bool:
        """Whether it runs out within four weeks."""
        return self.runs_out is not None and self.runs_out <= today + SOON

    def is_news_on(self, day: date) -> bool:
        """Whether a round of a day says that it runs out, which it does not every day."""
        return self.runs_out is not None and (self.runs_out - day).days in _SAID_BEFORE

    def is_short_on(self, day: date) -> bool:
        """Whether what is left, or may still be used, is too little for the feeds up to a day."""
        return self.runs_out is not None and self.runs_out <= day


def shelf_of(season: Season, collection: Collection, *, stocked_only: bool = False) -> tuple[ShelfLine, ...]:
    """Every product of the collection in its order; stocked_only: only those whose stock is told."""
    feeds = [f for f in collection.feeds.values() if not stocked_only or f.on_hand.stock is not None]
    if not feeds:
        return ()
    uses = _as_weighed(uses_of(season, collection), collection)
    hemisphere = collection.place.hemisphere
    year = season_of(season.today, hemisphere)
    span = (season_start(year, hemisphere), season_end(year, hemisphere))
    return tuple(_line(feed, uses.get(feed.name, []), season.today, span) for feed in feeds)


def uses_of(season: Season, collection: Collection) -> Mapping[str, list[Use]]:
    """Every use of every product, past and planned, in day order: what trees are poured, or what the journal tells."""
    found: dict[str, list[Use]] = {}
    items = mixes_of(season.timelines)
    shares = _recorded_litres(items)
    for item in items:
        if item.status.is_without_feed:
            continue
        weighed = weighed_for(
            replace(item, poured_litres=shares.get(item.key, item.poured_litres)), collection
        )
        for dose in weighed.doses if weighed is not None else ():
            use = Use(item.day, dose.amount, item.status, item.group)
            found.setdefault(dose.product.name, []).append(use)
    for timeline in season.timelines:
        for event in timeline.solid_events:
            if event.act is Act.LAY and not event.status.is_without_feed:
                use = Use(
                    event.day,
                    event.grams_per_l * timeline.pot_litres_on(event.day),
                    event.status,
                    event.group,
                )
                found.setdefault(event.feed, []).append(use)
    return {name: sorted(uses, key=lambda use: use.day) for name, uses in found.items()}


def _as_weighed(uses: Mapping[str, list[Use]], collection: Collection) -> Mapping[str, list[Use]]:
    """The uses by what is weighed out for them: on a day never less of a product than the scale weighs to within 5 %.

    What of that nobody is poured is left over, and gone from the shelf all the same.
    """
    measures = collection.habits.measures
    if measures.injector is not None:
        return uses
    found = dict(uses)
    for name, feed in collection.feeds.items():
        if name in uses and not feed.form.is_solid:
            least = measures.least_of(feed.form.unit)
            found[name] = [each for of_day in _by_day(uses[name]) for each in _at_least(of_day, least)]
    return found


def _by_day(uses: Iterable[Use]) -> Iterator[list[Use]]:
    """Uses in day order, those of one day together."""
    return (list(of_day) for _, of_day in groupby(uses, key=lambda use: use.day))


def _at_least(uses: Sequence[Use], least: Decimal) -> Iterator[Use]:
    """The uses of one day, all in the same ratio more where they are too little to weigh. least: that is [g or ml]."""
    poured = _sum(uses)
    times = max(Decimal(1), least / poured) if poured else Decimal(1)
    yield from (replace(use, amount=use.amount * times) for use in uses)


def _recorded_litres(items: Sequence[RoundItem]) -> dict[str, Decimal]:
    """Litres mixed as the journal tells them, by key of the mix; where one entry is for several, by what each pours."""
    told: dict[str, tuple[Decimal, list[RoundItem]]] = {}
    for item in items:
        entry = item.events[0].entry
        if entry is not None and isinstance(entry.fact, Fed) and entry.fact.litres is not None:
            told.setdefault(entry.id, (entry.fact.litres, []))[1].append(item)
    found = {}
    for litres, members in told.values():
        poured = sum((item.poured_litres for item in members), Decimal(0))
        for item in members:
            found[item.key] = litres * item.poured_litres / poured if poured else litres
    return found


def _line(feed: Feed, uses: Sequence[Use], today: date, span: tuple[date, date]) -> ShelfLine:
    on_hand, (start, end) = feed.on_hand, span
    counted = on_hand.counted or today
    since = [use for use in uses if use.day >= counted and use.status not in _COMING]
    recorded = _sum(use for use in since if use.status is Status.RECORDED)
    assumed = _sum(use for use in since if use.status is not Status.RECORDED)
    coming = [use for use in uses if use.status in _COMING]
    needed = _sum(use for use in coming if use.day <= end)
    left = None if on_hand.stock is None else max(on_hand.stock - recorded - assumed, Decimal(0))
    usable = _usable(left, on_hand.best_before, coming, end)
    spare = needed * (1 + SPARE)
    return ShelfLine(
        feed=feed,
        recorded=recorded,
        assumed=assumed,
        left=left,
        needed=needed,
        runs_out=None if left is None else _runs_out(left, on_hand.best_before, coming),
        buy=Decimal(0) if left is None else max(spare - usable, Decimal(0)),
        groups=tuple(dict.fromkeys(use.group for use in coming if use.day <= end)),
        season_use=_sum(use for use in uses if start <= use.day <= end),
        is_planned=bool(coming),
        first_short=None
        if on_hand.stock is None
        else _runs_out(on_hand.stock, on_hand.best_before, [*since, *coming]),
    )


def _sum(uses: Iterable[Use]) -> Decimal:
    return sum((use.amount for use in uses), Decimal(0))


def _runs_out(left: Decimal, best_before: date | None, coming: Sequence[Use]) -> date | None:
    """The first day on which more is needed than is left, or it no longer keeps."""
    for use in coming:
        left -= use.amount
        if left < 0 or (best_before is not None and use.day > best_before):
            return use.day
    return None


def _usable(left: Decimal | None, best_before: date | None, coming: Sequence[Use], end: date) -> Decimal:
    """How much of what is left the season can use before it is past its keeping time."""
    if left is None:
        return Decimal(0)
    if best_before is None or best_before >= end:
        return left
    return min(left, _sum(use for use in coming if use.day <= best_before))


def short_soon(season: Season, collection: Collection) -> tuple[ShelfLine, ...]:
    """The products that run out within four weeks."""
    lines = shelf_of(season, collection, stocked_only=True)
    return tuple(line for line in lines if line.is_short_soon(season.today))


MOST_WASTED = Decimal("0.5")
"""A weighing of which a larger part is left over is asked about (judgement)."""


def coarse_scale(season: Season, collection: Collection) -> Iterator[PlanWarning]:
    """A scale of which a finer one, of the usual step, would leave far less over; each feed once."""
    measures = collection.habits.measures
    if measures.injector is not None or measures.scale_g <= USUAL_MEASURES.scale_g:
        return
    for name, uses in uses_of(season, collection).items():
        feed = collection.feeds.get(name)
        if feed is None or feed.form.is_solid or feed.form.unit != "g":
            continue
        coming = _by_day(use for use in uses if use.day >= season.today)
        needed, least = max((_sum(of_day) for of_day in coming), default=Decimal(0)), measures.least_amount
        if 0 < needed < least * (1 - MOST_WASTED):
            yield PlanWarning(
                CoarseScale(name, measures.scale_g, least, needed, USUAL_MEASURES.least_amount), feed.source
            )

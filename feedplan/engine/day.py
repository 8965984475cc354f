"""Everything of one day as one value. Text, `--json`, page and calendar text only render it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal

from feedplan.engine.answers.advice import Advice, advice_on
from feedplan.engine.answers.explain import left_out, nitrogen_by, why_not
from feedplan.engine.answers.prompts import planned_work, reviews_of, waits_for_spring
from feedplan.engine.answers.work import WorkPrompt, work_prompts
from feedplan.engine.feeding.put_off import DeferredFeed, is_whole, put_off_on
from feedplan.engine.feeding.rounds import told_items
from feedplan.engine.growing_year import DAY, season_of
from feedplan.engine.holds.holds import told_of
from feedplan.engine.outdoors.daily_et import EtDay
from feedplan.engine.season import (
    Alert,
    AlertKind,
    ChecksBasis,
    Flush,
    FrostSpell,
    NoteEvent,
    Review,
    RoundItem,
    Season,
    SolidItem,
    StagePrompt,
    Timeline,
)
from feedplan.engine.sink.can import Can
from feedplan.engine.sink.cans import CanPlan
from feedplan.engine.sink.mixing import LabelFill, by_label, cans_of, really_in
from feedplan.engine.sink.pen import PenReading, readings_of
from feedplan.engine.sink.shelf import ShelfLine, short_soon
from feedplan.engine.water.balance import is_hard_frost, is_on_record
from feedplan.engine.water.day_checks import (
    BenchThirst,
    ChecksAt,
    TreeLooks,
    checks_at,
    thirst_on,
    watched_on,
)
from feedplan.engine.water.own_water import OwnWaters, own_waters
from feedplan.model.collection import Away
from feedplan.model.course import Act, Hold, Status
from feedplan.model.hold import Action
from feedplan.model.reason import PlannedWork, Reason, Rule

SHOWN_STATUSES = (Status.PLANNED, Status.OVERDUE, Status.ASSUMED, Status.RECORDED)
"""Feeds that stand in a day's round; a missed one is told by its overdue offer."""
PLANNED_SOON = timedelta(weeks=4)
"""So long ahead a round tells of planned work. Judgement."""
_TOLD_BEFORE = {AlertKind.HEAT: DAY}
"""A heat wave is told the evening before, while pots can be moved into shade and watered through. Judgement."""


@dataclass(frozen=True, slots=True)
class DayMix:
    """One mix of the day. can: what is really in it, None where nothing can be weighed out.

    season_mg_per_l: the season's nitrogen of its trees with this feed, least and most [mg per L of container];
    budget_mg_per_l: likewise what they may get. by_label: its cans where it is measured by its label.
    """

    item: RoundItem
    can: Can | None
    season_mg_per_l: tuple[Decimal, Decimal]
    budget_mg_per_l: tuple[Decimal, Decimal]
    by_label: tuple[LabelFill, ...] = ()


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Trees that get no feed on the day: held back by holds, or left out of their group's mix for reasons."""

    timeline: Timeline
    holds: tuple[Hold, ...] = ()
    reasons: tuple[Reason, ...] = ()


@dataclass(frozen=True, slots=True)
class Day:
    """One day. looks: held trees to look at, those overdue first; mixes: weakest first; cans: how they are made;
    checks: by time of day.

    watched: every tree here, also one that is not looked at that day. running_out: products that do soon. weather: of
    the day, None where it is not on record. hard_frost: that of the coming night, if one is forecast and not here yet.
    record_age_days: how old a weather record is that is too old to foretell anything, else None [days].
    planned: work meant to be done soon, with the names of its trees. work: whose time has come. not_laid: trees for
    which solid feed is due and falls away. own_waters: who must not have the usual water.
    """

    day: date
    today: date
    away: Away | None
    looks: tuple[Review, ...]
    mixes: tuple[DayMix, ...]
    cans: CanPlan
    solids: tuple[SolidItem, ...]
    not_laid: tuple[LeftOut, ...]
    not_fed: tuple[LeftOut, ...]
    flushes: tuple[Flush, ...]
    checks: tuple[ChecksAt, ...]
    watched: tuple[TreeLooks, ...]
    thirst: tuple[BenchThirst, ...]
    own_waters: OwnWaters
    checks_by: ChecksBasis
    prompts: tuple[StagePrompt, ...]
    advice: tuple[Advice, ...]
    work: tuple[WorkPrompt, ...]
    notes: tuple[NoteEvent, ...]
    planned: tuple[tuple[tuple[str, ...], PlannedWork], ...]
    alerts: tuple[Alert, ...]
    frosts: tuple[FrostSpell, ...]
    put_off: tuple[DeferredFeed, ...]
    readings: tuple[PenReading, ...]
    running_out: tuple[ShelfLine, ...]
    weather: EtDay | None
    hard_frost: EtDay | None
    record_age_days: int | None

    @property
    def to_mix(self) -> tuple[DayMix, ...]:
        """The mixes that nobody has recorded as given."""
        return tuple(mix for mix in self.mixes if mix.item.status is not Status.RECORDED)

    @property
    def open_looks(self) -> tuple[Review, ...]:
        """The looks still to be made; of a day gone by all there were."""
        return tuple(look for look in self.looks if not look.is_answered or self.day < self.today)

    @property
    def weighings(self) -> int:
        """How many times something is weighed or measured out for the cans."""
        of_batches = sum(len(batch.weighed) for batch in self.cans.batches)
        return of_batches + sum(len(mix.by_label) for mix in self.to_mix)

    @property
    def is_quiet(self) -> bool:
        """Whether there is nothing to do or to be told on the day; an old weather record alone is not news of a day."""
        found = (
            *(self.looks, self.mixes, self.solids, self.not_laid, self.flushes, self.checks, self.prompts),
            *(self.work, self.notes, self.planned, self.alerts, self.frosts, self.put_off, self.readings),
            *(self.run_outs_to_tell, [advice for advice in self.advice if advice.since == self.day]),
        )
        return self.hard_frost is None and not any(found)

    @property
    def run_outs_to_tell(self) -> tuple[ShelfLine, ...]:
        """The products of which the day's round says that they run out."""
        return tuple(line for line in self.running_out if line.is_news_on(self.day))

    @property
    def held(self) -> tuple[Timeline, ...]:
        """The trees under a hold; what the weather holds back is told by its alert."""
        return tuple(each.timeline for each in self.not_fed if each.holds)

    def gets_solid(self, timeline: Timeline) -> bool:
        """Whether solid feed is laid on these trees that day, so that only liquid feed is kept from them."""
        laid = (each.lineage for item in self.solids if item.act is Act.LAY for each in item.timelines)
        return timeline.lineage in laid

    @property
    def checked_count(self) -> int:
        """How many trees are looked at on the day."""
        return sum(each.tree.count for each in self.watched if each.looks)

    @property
    def thirstiest_count(self) -> int:
        """How many trees are looked at the most often on the day."""
        most = max((each.looks for each in self.watched), default=0)
        return sum(each.tree.count for each in self.watched if most and each.looks == most)


def day_of(season: Season, day: date, *, as_told: bool = False) -> Day:
    """Everything of one day, whatever span of days the season was planned for; the day must lie in it.

    as_told: as it stands in a calendar, the same from whatever day it is seen: only what is to be done on the day, a
    feed that nobody gave on its own day; without weather, shelf, and what stands in entries of its own.
    """
    place = season.collection.place
    daily_et = None if as_told else season.daily_et
    weather = None if daily_et is None else daily_et.on(day)
    items = told_items(season, day) if as_told else _items(season, day)
    cans = _cans(items, season, day)
    mixes = tuple(_mixes(items, cans, season, day))
    watched = () if as_told else tuple(watched_on(season, day))
    thirst = () if as_told else thirst_on(season, day)
    away = next((a for a in season.collection.away if a.start <= day <= a.end), None)
    told_looks = (replace(review, is_answered=False) for review in season.reviews if review.day == day)
    looks = tuple(told_looks) if as_told else _looks(season, day)
    return Day(
        day=day,
        today=day if as_told else season.today,
        away=away,
        looks=looks,
        mixes=mixes,
        cans=cans,
        own_waters=() if as_told else own_waters(season, day),
        solids=tuple(i for i in season.solids if i.day == day and i.status in SHOWN_STATUSES),
        not_laid=tuple(_not_laid(season, day)),
        not_fed=tuple(_barred(_not_fed(season, mixes, day)) if as_told else _not_fed(season, mixes, day)),
        flushes=tuple(flush for flush in season.flushes if flush.day == day),
        checks=tuple(checks_at(season, watched, [bench.name for bench in thirst])),
        watched=watched,
        thirst=thirst,
        checks_by=season.checks_by,
        prompts=tuple(_prompts(season, looks, day)),
        advice=() if as_told else tuple(advice_on(season.timelines, season_of(day, place.hemisphere), day)),
        work=work_prompts(season, (day, day)),
        notes=tuple(note for note in season.notes if note.day == day),
        planned=tuple(_planned(season, day)),
        alerts=_alerts(season, day) if as_told else _alerts(season, day, _TOLD_BEFORE),
        frosts=tuple(spell for spell in season.frosts if spell.start <= day <= spell.end),
        put_off=() if as_told or away is not None else tuple(put_off_on(season, day)),
        readings=tuple(
            r for r in readings_of(season, season.collection) if r.entry.day == day and not r.is_fine
        ),
        running_out=() if as_told or day < season.today else short_soon(season, season.collection),
        weather=weather if weather is not None and is_on_record(weather) else None,
        hard_frost=None if as_told else _hard_frost(season, day),
        record_age_days=daily_et.climate.stale_days
        if daily_et is not None and daily_et.climate.is_stale
        else None,
    )


def told_cans(season: Season, day: date) -> CanPlan:
    """The cans of a day as it stands in a calendar; see `day_of`."""
    return _cans(told_items(season, day), season, day)


def _cans(items: Sequence[RoundItem], season: Season, day: date) -> CanPlan:
    to_mix = [item for item in items if item.status is not Status.RECORDED]
    return cans_of(to_mix, season.collection, season.can_on(day))


def _looks(season: Season, day: date) -> tuple[Review, ...]:
    """The looks due on a day, and before them the last one not answered of each held tree that has none that day."""
    hemisphere = season.collection.place.hemisphere
    found = reviews_of(season.timelines, (date.min, day), season.today, hemisphere)
    due = [review for review in found if review.day == day]
    if day < season.today:
        return tuple(due)
    latest = {f"{review.timeline.lineage}/{review.hold.key}": review for review in found}
    late = (r for r in latest.values() if r.day < day and not r.is_answered and _is_still_asked(r, day))
    return (*late, *due)


def _is_still_asked(review: Review, day: date) -> bool:
    """Whether a look not answered is to be told of later: its hold is, and the trees can show what it asks for."""
    is_told = review.hold in told_of(review.timeline.holds, day)
    if review.carry_to is not None:
        hemisphere = review.timeline.care.collection.place.hemisphere
        return is_told and season_of(day, hemisphere) < review.carry_to
    return is_told and not waits_for_spring(review, day)


def _prompts(season: Season, looks: Sequence[Review], day: date) -> Iterator[StagePrompt]:
    """The stages asked after on a day, each once a group, but of trees whose look asks for a sign that it shows."""
    shown_by = season.collection.vocabulary.shown_by
    asked: dict[str, set[str]] = {}
    for review in looks:
        signs = {met.need.sign for met in review.hold.missing}
        asked.setdefault(review.timeline.lineage, set()).update(signs)
    joined: dict[tuple[str, str], StagePrompt] = {}
    for prompt in season.prompts:
        shown = shown_by(prompt.stage) if prompt.falls_on(day) else frozenset()
        left = tuple(t for t in prompt.timelines if shown.isdisjoint(asked.get(t.lineage, ())))
        if shown and left:
            first = joined.get((prompt.stage, prompt.group), replace(prompt, timelines=()))
            joined[prompt.stage, prompt.group] = replace(first, timelines=(*first.timelines, *left))
    for prompt in joined.values():
        yield replace(prompt, is_of_all=is_whole(season, prompt.group, prompt.timelines, day))


def _items(season: Season, day: date) -> list[RoundItem]:
    return [item for item in season.rounds if item.day == day and item.status in SHOWN_STATUSES]


def _mixes(items: Sequence[RoundItem], cans: CanPlan, season: Season, day: date) -> Iterator[DayMix]:
    """The mixes, weakest first."""
    for item in sorted(items, key=lambda i: (i.ppm, i.group)):
        sums = [nitrogen_by(timeline, day) for timeline in item.timelines]
        budgets = [timeline.care.schedule_on(day).budget_mg_n_per_l for timeline in item.timelines]
        can = really_in(item, cans, season.collection)
        season_mg, budget_mg = (min(sums), max(sums)), (min(budgets), max(budgets))
        yield DayMix(item, can, season_mg, budget_mg, by_label(item, season.collection))


def _not_fed(season: Season, mixes: Sequence[DayMix], day: date) -> Iterator[LeftOut]:
    """The held trees, then those of groups fed that day which get nothing, each with what stands in the way."""
    held = set()
    for timeline in season.timelines:
        open_ones = (h for h in told_of(timeline.holds, day) if not h.by_weather)
        holds = tuple(h for h in open_ones if Action.LIQUID in h.rule.stops)
        if holds and timeline.here(day):
            held.add(timeline.lineage)
            yield LeftOut(timeline, holds)
    for group in sorted({*(mix.item.group for mix in mixes), *_without_a_can(season, day)}):
        for timeline, reasons in left_out(season, group, day):
            if timeline.lineage not in held:
                yield LeftOut(timeline, reasons=reasons)


def _barred(left: Iterator[LeftOut]) -> Iterator[LeftOut]:
    """Those that something stands against: when the others are due moves on with every feed."""
    for out in left:
        reasons = tuple(r for r in out.reasons if r.rule not in (Rule.INTERVAL, Rule.PERIOD))
        if out.holds or reasons:
            yield replace(out, reasons=reasons)


def _without_a_can(season: Season, day: date) -> Iterator[str]:
    """The groups due for a feed that nothing at hand makes."""
    for timeline in season.held_down:
        if timeline.here(day) and any(reason.holds_down for reason in why_not(timeline, day)):
            yield timeline.group_on(day)


def _not_laid(season: Season, day: date) -> Iterator[LeftOut]:
    """The trees for which solid feed is due and falls away, each with what stands in the way."""
    for timeline in season.timelines:
        for dropped in timeline.solid_dropped:
            if dropped.due == day and timeline.here(day):
                yield LeftOut(timeline, reasons=dropped.reasons)


def _alerts(season: Season, day: date, early: Mapping[AlertKind, timedelta] = {}) -> tuple[Alert, ...]:
    """The alerts of a day but that of an old record. early: how long before its first day one of a kind is told."""
    return tuple(
        alert
        for alert in season.alerts
        if alert.kind is not AlertKind.STALE
        and alert.start - early.get(alert.kind, timedelta()) <= day <= alert.end
    )


def _planned(season: Season, day: date) -> Iterator[tuple[tuple[str, ...], PlannedWork]]:
    """The work planned for some trees soon, with their names, until it is done."""
    for timeline in season.timelines:
        for entry, work in planned_work(timeline, day) if timeline.here(day) else ():
            if work.on <= day + PLANNED_SOON:
                yield timeline.names_about(entry.id), work


def _hard_frost(season: Season, day: date) -> EtDay | None:
    """The next day where it brings a hard frost that is not here yet."""
    if season.daily_et is None:
        return None
    coming, now = season.daily_et.on(day + DAY), season.daily_et.on(day)
    is_new = now is None or not is_hard_frost(now)
    return coming if coming is not None and is_hard_frost(coming) and is_new else None

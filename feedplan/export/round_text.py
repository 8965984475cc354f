"""The day's round: one line, what is out of the ordinary, what to mix and for whom, whom not, what to check."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from functools import cached_property
from typing import Any

from feedplan.engine.answers.explain import LeftOut, held_today, left_out, nitrogen_by, schedule_of
from feedplan.engine.answers.prompts import overdue_reviews
from feedplan.engine.growing_year import DAY, season_of
from feedplan.engine.outdoors.skies import Skies
from feedplan.engine.sink.pen import PenReading, readings_of
from feedplan.engine.sink.shelf import ShelfLine, short_soon
from feedplan.engine.water.bench_thirst import BenchThirst, benches_by_thirst
from feedplan.export.can_text import can_facts
from feedplan.export.entries import names_words_of, review_words
from feedplan.export.shelf_text import run_out_line, to_buy
from feedplan.export.sink_text import sink_lines, solid_round_lines
from feedplan.export.solid_text import solid_facts
from feedplan.export.water_text import (
    bench_facts,
    bench_lines,
    flush_lines,
    frost_ahead,
    frost_words,
    sky_words,
)
from feedplan.model.collection import Away, Collection, PotClass, Tree
from feedplan.model.course import Status
from feedplan.model.reason import Rule
from feedplan.model.season import AlertKind, CheckStretch, Review, RoundItem, Season, StagePrompt, Timeline
from feedplan.words.effects import pen_words
from feedplan.words.outdoors import alert_advice, checks_by_words, rate_words
from feedplan.words.reasons import (
    fact_words,
    hold_end_words,
    hold_words,
    reason_words,
    reasons_words,
    sign_words,
)
from feedplan.words.writing import capital, day_words, names_words, ppm_words, tree_words, trees_words

_DRYING_ORDER = (PotClass.SHALLOW, PotClass.MEDIUM, PotClass.DEEP)
_BY_WEATHER = (Rule.RAIN, Rule.HEAT, Rule.ROOT_ZONE)
SHOWN_ON_A_ROUND = (Status.PLANNED, Status.OVERDUE, Status.ASSUMED, Status.RECORDED)


class Round:
    """One day of a season, gathered once for text and `--json`."""

    def __init__(self, season: Season, collection: Collection, day: date) -> None:
        self.season, self.collection, self.day = season, collection, day
        self.items = [i for i in season.rounds if i.day == day and i.status in SHOWN_ON_A_ROUND]
        self.solids = [i for i in season.solids if i.day == day and i.status in SHOWN_ON_A_ROUND]
        today = [c for c in season.checks if c.start <= day <= c.end]
        stood_in_for = {key for c in today for key in c.raises}
        self.checks = sorted(
            (c for c in today if c.key not in stood_in_for),
            key=lambda c: (-c.rate.per_week, c.group, c.key),
        )
        due = [r for r in season.reviews if r.day == day]
        self.reviews: list[Review] = [*overdue_reviews(season, day), *due] if day >= season.today else due
        self.prompts: list[StagePrompt] = [p for p in season.prompts if p.falls_on(day)]
        self.notes = [n for n in season.notes if n.day == day]
        self.held: tuple[Timeline, ...] = held_today(season, day)
        self.away: Away | None = next((a for a in collection.away if a.start <= day <= a.end), None)
        self.left_out: dict[str, LeftOut] = {
            out.timeline.lineage: out for item in self.items for out in left_out(season, collection, item)
        }

    @cached_property
    def skies(self) -> Skies | None:
        """The weather of the season's days; None without any."""
        climate = self.season.climate
        return None if climate is None else Skies(climate, self.collection.place)

    @cached_property
    def short(self) -> tuple[ShelfLine, ...]:
        """The products that run out soon."""
        return short_soon(self.season, self.collection) if self.day >= self.season.today else ()

    @cached_property
    def readings(self) -> list[PenReading]:
        """The pen's readings of the day that ask for something."""
        found = readings_of(self.season, self.collection)
        return [reading for reading in found if reading.entry.day == self.day and not reading.is_fine]

    @cached_property
    def benches(self) -> tuple[BenchThirst, ...]:
        """The benches outdoors in order of thirst; none where the weather is not known."""
        return benches_by_thirst(self.season, self.collection, self.day)

    @property
    def one_line(self) -> str:
        """The line a phone shows: "Sat 24 Apr - check 34, feed 12 @150 ppm N, hold 7"."""
        checked = sum(tree.count for c in self.checks if c.hold is None for tree in c.trees)
        first = sum(
            tree.count
            for c in self.checks
            if c.hold is None and c.rate == self.checks[0].rate
            for tree in c.trees
        )
        parts = [f"check {checked}" + (f" ({first} first)" if 0 < first < checked else "")]
        if self.away is not None:
            parts.append(f"away to {day_words(self.away.end, self.day)}, feed nothing")
        elif self.items:
            parts += _feed_parts([i for i in self.items if i.status is not Status.RECORDED])
            fed = sum(i.head_count for i in self.items if i.status is Status.RECORDED)
            parts += [f"fed {fed}"] if fed else []
        else:
            parts.append("feed none")
        held = sum(t.head_count for t in self.held)
        parts += [f"hold {held}"] if held else []
        parts += [f"look at {len(self.reviews)}"] if self.reviews else []
        parts += sky_words(self.skies, self.day) if self.skies is not None else []
        return f"{day_words(self.day, self.season.today)} - {', '.join(parts)}"


def _feed_parts(items: Sequence[RoundItem]) -> list[str]:
    """Each mix with its trees and strength; from three mixes on all of them in one."""
    if len(items) < 3:
        return [f"feed {item.head_count} @{ppm_words(item.ppm)}" for item in items]
    weakest, strongest = (ppm_words(pick(item.ppm for item in items)) for pick in (min, max))
    strengths = strongest if weakest == strongest else f"{weakest.removesuffix(' ppm N')} to {strongest}"
    return [f"feed {sum(item.head_count for item in items)} in {len(items)} mixes, {strengths}"]


def round_lines(day_round: Round) -> Iterator[str]:
    """The whole round as lines of text."""
    yield day_round.one_line
    yield from _section("Look first", _exceptions(day_round))
    yield from _section("Mix and feed", _feeding(day_round))
    yield from _section("Not these", _not_these(day_round))
    yield from _section("Flush with plain water", _flushes(day_round))
    yield from _section(
        "Thirstiest first", bench_lines(day_round.benches, day_round.collection.habits.can_litres)
    )
    yield from _section("Check water", _checks(day_round))
    yield from _section("Look for", _look_for(day_round))
    yield from _section("Notes", (note.note.say for note in day_round.notes))


def _section(title: str, lines: Iterator[str] | map[str]) -> Iterator[str]:
    listed = list(lines)
    if listed:
        yield ""
        yield title
        yield from (f"  {line}" for line in listed)


def _exceptions(day_round: Round) -> Iterator[str]:
    overdue = {(i.events[0].due, i.group) for i in day_round.items if i.status is Status.OVERDUE}
    for due, group in sorted(overdue):
        yield f"Overdue since {day_words(due, day_round.day)}: {group}. Give it once, never doubled."
    yield from _weather(day_round)
    yield from (
        f"Pen, {day_words(reading.entry.day)}: {pen_words(reading)}." for reading in day_round.readings
    )
    yield from (run_out_line(line, day_round.day) for line in day_round.short)
    for review in day_round.reviews:
        title, lines = review_words(review)
        yield (
            title if review.day == day_round.day else f"{title} (due {day_words(review.day, day_round.day)})"
        )
        yield from (f"  {line}" for line in (*lines, *review.hold.rule.do))


def _put_off(day_round: Round) -> dict[tuple[date, str, str], list[Timeline]]:
    """The timelines whose feed the weather keeps from the day, by the day it moves to, their group and the reason."""
    found: dict[tuple[date, str, str], list[Timeline]] = {}
    for timeline in day_round.season.timelines:
        for dropped in timeline.dropped:
            if dropped.resumed is None or not dropped.due <= day_round.day < dropped.resumed:
                continue
            for reason in dropped.reasons:
                is_today = reason.rule is Rule.ROOT_ZONE or reason.until == day_round.day + DAY
                if reason.rule in _BY_WEATHER and is_today:
                    key = (dropped.resumed, dropped.group, fact_words(reason.fact, day_round.day))
                    found.setdefault(key, []).append(timeline)
    return found


def _weather(day_round: Round) -> Iterator[str]:
    """Feeds that the weather puts off, frozen root balls, hard frost ahead, and a record too old to foretell."""
    day, season = day_round.day, day_round.season
    for (resumed, group, text), timelines in sorted(_put_off(day_round).items(), key=lambda item: item[0]):
        yield f"Put off to {day_words(resumed, day)}: feed for {group} ({names_words(timelines)}). {text}."
    for alert in season.alerts:
        if alert.start <= day <= alert.end and alert.kind is not AlertKind.STALE:
            yield f"{fact_words(alert.fact, day)} ({names_words(alert.timelines)})."
            yield from (f"  {line}" for line in alert_advice(alert))
    yield from (frost_words(spell) for spell in season.frosts if spell.start <= day <= spell.end)
    skies = day_round.skies
    if skies is not None:
        yield from filter(None, [frost_ahead(skies, day)])
        if skies.climate.is_stale:
            yield f"The weather record ends {skies.climate.stale_days} days ago; nothing is foretold from it."


def _feeding(day_round: Round) -> Iterator[str]:
    """What to mix, and what to lay and lift."""
    if day_round.away is not None and not day_round.items:
        yield "Nothing: you are away. A helper waters and never mixes feed."
    yield from sink_lines(day_round.items, day_round.collection)
    yield from solid_round_lines(day_round.solids, day_round.collection)


def _not_these(day_round: Round) -> Iterator[str]:
    day = day_round.day
    for timeline in day_round.held:
        holds = [h for h in timeline.holds if h.covers(day) and not h.by_weather]
        why = "; ".join(f"{hold_words(h, day)}, {hold_end_words(h, day)}" for h in holds)
        yield f"{names_words([timeline])}: {why}"
    held = {timeline.lineage for timeline in day_round.held}
    for lineage, out in day_round.left_out.items():
        if lineage not in held:
            yield f"{names_words([out.timeline])}: {reasons_words(out.reasons, day)}"


def _flushes(day_round: Round) -> Iterator[str]:
    for flush in day_round.season.flushes:
        if flush.day == day_round.day:
            title, *lines = flush_lines(flush, day_round.collection)
            yield title
            yield from (f"  {line}" for line in lines)


def _checks(day_round: Round) -> Iterator[str]:
    yield from (check_line(stretch, day_round.day) for stretch in day_round.checks)
    if day_round.checks and day_round.season.checks_by:
        yield checks_by_words(day_round.season.checks_by)


def check_line(stretch: CheckStretch, day: date) -> str:
    """One group's checks, with the trees that must dry at the surface."""
    pots = (
        f"{stretch.group}, {stretch.pot_class} pots"
        if stretch.hold is None
        else f"as well ({stretch.hold.rule.name})"
    )
    pots += f" ({fact_words(stretch.cause, day)})" if stretch.cause else ""
    dry = f". Let the surface dry: {', '.join(stretch.surface_dry)}" if stretch.surface_dry else ""
    return f"{capital(rate_words(stretch.rate))}: {pots}: {names_words_of(stretch)}{dry}"


def _look_for(day_round: Round) -> Iterator[str]:
    for prompt in day_round.prompts:
        word = day_round.collection.vocabulary.words.get(prompt.stage)
        looks = f" ({word.looks_like.rstrip('.')})" if word is not None and word.looks_like else ""
        yield f"{prompt.stage}{looks} on {prompt.group}: {names_words(prompt.timelines)}"
    yield from _of_the_season(day_round)


def _of_the_season(day_round: Round) -> Iterator[str]:
    """What the schedules say to look for at the stage each group has reached, each sentence once."""
    said: set[str] = set()
    year = season_of(day_round.day, day_round.collection.place.hemisphere)
    for timeline in day_round.season.timelines:
        if not timeline.here(day_round.day):
            continue
        reached = [
            at.stage for at in timeline.stage_dates(year) if at.day is not None and at.day <= day_round.day
        ]
        look_for = schedule_of(timeline, day_round.collection, day_round.day).look_for
        stage = next((stage for stage in reversed(reached) if stage in look_for), None)
        if stage is not None and look_for[stage] not in said:
            said.add(look_for[stage])
            yield f"{timeline.group_on(day_round.day)}, {stage}: {look_for[stage]}"


def round_facts(day_round: Round) -> dict[str, Any]:
    """The same facts for `--json`."""
    return {
        "date": day_round.day.isoformat(),
        "line": day_round.one_line,
        "away": day_round.away is not None,
        "feeds": [_item_facts(item, day_round.collection) for item in day_round.items],
        "solids": [solid_facts(item) for item in day_round.solids],
        "not_these": [
            {
                "trees": list(timeline.names),
                "holds": [hold_words(h, day_round.day) for h in timeline.holds if h.covers(day_round.day)],
                "ends": [hold_end_words(h, day_round.day) for h in timeline.holds if h.covers(day_round.day)],
            }
            for timeline in day_round.held
        ],
        "left_out": [
            {
                "trees": list(out.timeline.names),
                "reasons": [reason_words(r, day_round.day) for r in out.reasons],
            }
            for out in day_round.left_out.values()
        ],
        "reviews": [
            {
                "trees": list(review.timeline.names),
                "asks": [sign_words(met.left) for met in review.hold.missing],
                "day_of_hold": (day_round.day - review.hold.start).days,
                "due": review.day.isoformat(),
            }
            for review in day_round.reviews
        ],
        "flushes": [
            {"group": f.group, "litres": float(f.litres), "trees": [tree.name for tree in f.trees]}
            for f in day_round.season.flushes
            if f.day == day_round.day
        ],
        "alerts": [
            {
                "kind": str(alert.kind),
                "from": alert.start.isoformat(),
                "to": alert.end.isoformat(),
                "text": fact_words(alert.fact, day_round.day),
                "do": list(alert_advice(alert)),
                "trees": [name for timeline in alert.timelines for name in timeline.names],
            }
            for alert in day_round.season.alerts
            if alert.start <= day_round.day <= alert.end
        ],
        "checks_by": checks_by_words(day_round.season.checks_by),
        "benches": [bench_facts(bench) for bench in day_round.benches],
        "checks": [
            {
                "group": c.group,
                "pots": str(c.pot_class),
                "per_week": float(c.rate.per_week),
                "words": rate_words(c.rate),
                "trees": [tree.name for tree in c.trees],
                "surface_dry": list(c.surface_dry),
                "cause": fact_words(c.cause, day_round.day) if c.cause else "",
                "held": c.hold is not None,
            }
            for c in day_round.checks
        ],
        "runs_out": [
            {"feed": line.feed.name, "day": line.runs_out.isoformat(), "buy": float(to_buy(line))}
            for line in day_round.short
            if line.runs_out is not None
        ],
        "pen": [
            {"ms_per_cm": r.ms_per_cm, "expected": r.expected, "words": pen_words(r)}
            for r in day_round.readings
        ],
        "look_for": list(_look_for(day_round)),
        "notes": [note.note.say for note in day_round.notes],
    }


def _item_facts(item: RoundItem, collection: Collection) -> dict[str, Any]:
    facts: dict[str, Any] = {
        "group": item.group,
        "status": str(item.status),
        "trees": list(item.names),
        "count": item.head_count,
        "feed": item.feed,
        "n_mg_per_l": float(item.ppm),
        "planned_n_mg_per_l": float(item.plan_ppm),
        "litres": float(item.litres),
        "poured_litres": float(item.poured_litres),
        "reasons": [
            {
                "trees": list(t.names),
                "rule": str(r.rule),
                "text": reason_words(r, item.day),
                "source": str(r.source),
            }
            for t, event in zip(item.timelines, item.events, strict=True)
            for r in event.reasons
        ],
    }
    sums = [float(round(nitrogen_by(t, item.day, collection), 1)) for t in item.timelines]
    facts["season_n_mg_per_l_of_pot"] = {"least": min(sums), "most": max(sums)}
    return {**facts, **can_facts(item, collection)}


def helper_lines(season: Season, collection: Collection, away: Away) -> Iterator[str]:
    """A sheet for whoever waters during an absence: checks by bench, weak trees marked, and never any feed."""
    days = f"{day_words(away.start, season.today)} to {day_words(away.end, season.today)}"
    yield f"Water checks {days}. Check and water only; mix no feed."
    benches: dict[str, list[tuple[CheckStretch, list[Tree]]]] = {}
    for stretch in season.checks:
        if stretch.hold is None and stretch.start <= away.end and stretch.end >= away.start:
            for bench, trees in _by_bench(stretch, collection).items():
                benches.setdefault(bench, []).append((stretch, trees))
    for bench, parts in sorted(benches.items()):
        yield ""
        yield bench
        for stretch, trees in sorted(parts, key=lambda part: (-part[0].rate.per_week, part[0].start)):
            first, last = max(stretch.start, away.start), min(stretch.end, away.end)
            span = f"{day_words(first, season.today)} to {day_words(last, season.today)}"
            yield f"  {span}, {rate_words(stretch.rate)}: {', '.join(map(tree_words, trees))}"
    dry = sorted({name for t in held_between(season, away) for name in t.names})
    if dry:
        yield ""
        yield f"Let the surface dry before watering: {', '.join(dry)}"
    yield ""
    yield "Water until a little drains. In heat, shade first. A limp tree in wet mix needs shade, not more water."
    yield f"Count: {trees_words(sum(t.head_count for t in season.timelines if t.here(away.start)))}."


def _by_bench(stretch: CheckStretch, collection: Collection) -> dict[str, list[Tree]]:
    """A stretch's trees by the bench each stands on."""
    found: dict[str, list[Tree]] = {}
    for tree in stretch.trees:
        bench = tree.bench or collection.groups[stretch.group].bench or stretch.group
        found.setdefault(bench, []).append(tree)
    return found


def held_between(season: Season, away: Away) -> Iterator[Timeline]:
    """The timelines whose surface must dry at some time during an absence."""
    for timeline in season.timelines:
        weak = any(tree.weak for tree in timeline.trees)
        held = any(
            h.rule.water_surface_dry and h.start <= away.end and (h.end is None or h.end > away.start)
            for h in timeline.holds
        )
        if timeline.here(away.start) and (weak or held):
            yield timeline

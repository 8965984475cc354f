"""The answer to "why": what is planned for a tree on a day, every reason behind it, and where each is written."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

from feedplan.engine.answers.explain import Explanation
from feedplan.engine.answers.previews import planned_work
from feedplan.engine.feeding.solids import budget_of
from feedplan.export.solid_text import solid_why_facts, solid_why_lines
from feedplan.export.water_text import balance_facts, balance_lines, watch_words
from feedplan.model.course import FeedEvent, StageDate, Status
from feedplan.model.journal import Entry
from feedplan.model.reason import PlannedWork, Reason
from feedplan.model.source import BUILT_IN
from feedplan.model.stage import Origin
from feedplan.words.outdoors import checks_by_words, indoors_words
from feedplan.words.reasons import (
    basis_words,
    fact_words,
    hold_end_words,
    hold_words,
    reason_words,
    sign_words,
    value_words,
)
from feedplan.words.stages import origin_words
from feedplan.words.writing import full_day, number, ppm_words


def why_lines(why: Explanation) -> Iterator[str]:
    """The whole answer as lines of text."""
    yield f"{why.tree.name} ({why.tree.species}), {full_day(why.day)}: {_verdict(why)}"
    for reason in why.reasons:
        yield from _reason_lines(reason, why.day)
    yield ""
    bench = f"bench {why.bench}, " if why.bench else ""
    yield f"Group {why.group}, {bench}schedule {why.schedule.name}: {why.schedule.about}"
    for layer in why.schedule.layers:
        changed = "; ".join(f"{key}: {value}" for key, value in layer.changed.items())
        yield f"  {layer.what}, {layer.source}" + (f": {changed}" if changed else "")
    for _, planned in _planned(why):
        yield f"Planned: {fact_words(planned, why.day)}."
    yield from _course(why)
    yield from _water(why)
    yield from _stages(why)
    for hold in why.timeline.holds:
        if hold.start <= why.day:
            yield f"Hold: {hold_words(hold, why.day)}; {hold_end_words(hold, why.day)} ({hold.entry.source})"


def _planned(why: Explanation) -> Iterator[tuple[Entry, PlannedWork]]:
    """The work planned for this very tree."""
    return (
        (entry, work) for entry, work in planned_work(why.timeline, why.day) if entry.is_about(why.tree.name)
    )


def _water(why: Explanation) -> Iterator[str]:
    """How often it is looked at, and its pot's day where the weather is known."""
    rate = why.watch.rate_on(why.day) if why.watch is not None else None
    if why.watch is None or rate is None:
        return
    yield f"Check water {watch_words(why.watch, why.day)}."
    if why.water is not None:
        yield from balance_lines(why.water, why.depletion, rate)
    elif why.checks_by.is_weather:
        yield indoors_words()
    else:
        yield checks_by_words(why.checks_by)


def _verdict(why: Explanation) -> str:
    if why.feed is None:
        return "no feed."
    feed = why.feed
    product = f" of {feed.feed}" if feed.feed else f" mixed {feed.ratio}" if feed.ratio else ""
    words = {
        Status.RECORDED: "fed",
        Status.ASSUMED: "fed, as far as the plan knows (not recorded)",
        Status.MISSED: "a feed was missed",
        Status.OVERDUE: f"feed now; it was due {full_day(feed.due)}",
    }.get(feed.status, "feed")
    return f"{words}, {ppm_words(feed.ppm)}{product}, in '{feed.period}'."


def _reason_lines(reason: Reason, day: date) -> Iterator[str]:
    yield f"  {reason_words(reason, day)}"
    where = [] if reason.source == BUILT_IN else [f"rule: {reason.source}"]
    if reason.entry is not None:
        entry = reason.entry
        late = f", written down {full_day(entry.recorded)}" if entry.recorded != entry.day else ""
        where.append(f"journal: {entry.source}, {full_day(entry.day)}{late}")
    if where:
        yield f"    {'; '.join(where)}"


def _course(why: Explanation) -> Iterator[str]:
    if why.last is not None:
        yield f"Last feed before: {_feed_words(why.last)}"
    if why.next is not None:
        yield f"Next feed after: {_feed_words(why.next)}"
    budget = number(budget_of(why.schedule))
    yield f"Nitrogen this season to that day: {why.n_mg_per_l:.0f} of {budget} mg per litre of pot"
    yield from solid_why_lines(why.timeline, why.tree.name, why.day)


def _feed_words(feed: FeedEvent) -> str:
    return f"{full_day(feed.day)}, {ppm_words(feed.ppm)}" + ("" if feed.feed is None else f" of {feed.feed}")


def _stages(why: Explanation) -> Iterator[str]:
    """The stages around the day: the last one reached, those still awaited, and the next."""
    reached = [at for at in why.stages if at.day is not None and at.day <= why.day]
    coming = [at for at in why.stages if at.day is not None and at.day > why.day]
    awaited = [at for at in why.stages if at.origin is Origin.AWAITED]
    for word, stages in (("Stage", reached[-1:]), ("Waiting for", awaited[:1]), ("Next stage", coming[:1])):
        for at in stages:
            yield f"{word}: {at.stage}, {_stage_words(at, why.day)}"


def _stage_words(at: StageDate, day: date) -> str:
    where = f" ({at.entry.source})" if at.entry is not None else f" ({at.source})"
    if at.day is None:
        return f"not yet on {full_day(at.known)}; typically {full_day(at.typical)}{where}"
    return f"{full_day(at.day)}, {origin_words(at.origin)}{_sureness(at, day)}{where}"


def _sureness(at: StageDate, day: date) -> str:
    """How far off a stage's date may be, and what was counted."""
    span = ""
    if at.early is not None and at.late is not None:
        span = f"; 10 to 90 %: {full_day(at.early)} to {full_day(at.late)}"
    return f"{span}; {basis_words(at.basis, day)}" if at.basis else span


def why_facts(why: Explanation) -> dict[str, Any]:
    """The same facts for `--json`."""
    return {
        "tree": why.tree.name,
        "date": why.day.isoformat(),
        "group": why.group,
        "bench": why.bench,
        "schedule": why.schedule.name,
        "feed": _feed_facts(why.feed),
        "reasons": [_reason_facts(reason, why.day) for reason in why.reasons],
        "last_feed": _feed_facts(why.last),
        "next_feed": _feed_facts(why.next),
        "season_n_mg_per_l_of_pot": float(why.n_mg_per_l),
        "budget_n_mg_per_l_of_pot": float(budget_of(why.schedule)),
        "solid_feed": solid_why_facts(why.timeline, why.day),
        "layers": [
            {"what": layer.what, "source": str(layer.source), "changed": dict(layer.changed)}
            for layer in why.schedule.layers
        ],
        "planned": [
            {
                "work": work.work,
                "on": work.on.isoformat(),
                "rule": work.rule,
                "minimum": work.minimum.isoformat(),
                "about": _iso(work.about),
                "journal": str(entry.source),
            }
            for entry, work in _planned(why)
        ],
        "water": None if why.water is None else balance_facts(why.water, why.depletion),
        "checks_by": checks_by_words(why.checks_by),
        "checks_per_week": _per_week(why),
        "stages": [
            {
                "stage": at.stage,
                "date": _iso(at.day),
                "origin": origin_words(at.origin),
                "typical": at.typical.isoformat(),
                "early_10_percent": _iso(at.early),
                "late_90_percent": _iso(at.late),
                "basis": basis_words(at.basis, why.day),
            }
            for at in why.stages
        ],
        "holds": [
            {
                "rule": hold.rule.name,
                "start": hold.start.isoformat(),
                "minimum": hold.minimum.isoformat(),
                "end": _iso(hold.end),
                "turns": _iso(hold.turned),
                "missing": [sign_words(met.left) for met in hold.missing],
                "journal": str(hold.entry.source),
            }
            for hold in why.timeline.holds
        ],
    }


def _per_week(why: Explanation) -> float | None:
    rate = why.watch.rate_on(why.day) if why.watch is not None else None
    return None if rate is None else float(rate.per_week)


def _iso(day: date | None) -> str | None:
    return None if day is None else day.isoformat()


def _feed_facts(feed: FeedEvent | None) -> dict[str, Any] | None:
    if feed is None:
        return None
    return {
        "date": feed.day.isoformat(),
        "due": feed.due.isoformat(),
        "status": str(feed.status),
        "feed": feed.feed,
        "ratio": str(feed.ratio) if feed.ratio is not None else None,
        "n_mg_per_l": float(feed.ppm),
        "planned_n_mg_per_l": float(feed.plan_ppm),
        "period": feed.period,
    }


def _reason_facts(reason: Reason, day: date) -> dict[str, Any]:
    entry = reason.entry
    return {
        "rule": str(reason.rule),
        "text": reason_words(reason, day),
        "source": str(reason.source),
        "journal": None if entry is None else str(entry.source),
        "journal_date": None if entry is None else entry.day.isoformat(),
        "recorded": None if entry is None else entry.recorded.isoformat(),
        "value": value_words(reason.fact),
        "until": _iso(reason.until),
    }

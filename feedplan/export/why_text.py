"""The answer to "why": what is planned for a tree on a day, every reason behind it, and where each is written."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

from feedplan.engine.answers.explain import Explanation
from feedplan.engine.answers.prompts import planned_work
from feedplan.engine.growing_year import season_of, season_start
from feedplan.export.solid_text import solid_why_facts, solid_why_lines
from feedplan.export.water_text import balance_facts, balance_lines, watch_words
from feedplan.export.work_text import work_facts, work_words
from feedplan.model.course import FeedEvent, StageDate, Status
from feedplan.model.history import Outcome
from feedplan.model.journal import Entry
from feedplan.model.reason import PlannedWork, Reason
from feedplan.model.source import BUILT_IN
from feedplan.model.stage import Origin
from feedplan.words.feeds import became_words, strength_words, told_words
from feedplan.words.language import say
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
from feedplan.words.writing import full_day, number, places, ppm_words

_LAYERS = {"schedule": "schedule {name}", "group": "group {name}", "tree": "tree {name}"}


def why_lines(why: Explanation) -> Iterator[str]:
    """The whole answer as lines of text."""
    yield say(
        "{tree} ({species}), {day}: {verdict}.",
        tree=why.tree.name,
        species=why.tree.species,
        day=full_day(why.day),
        verdict=_verdict(why),
    )
    yield from _told(why)
    for reason in why.reasons:
        yield from _reason_lines(reason, why.day)
    yield ""
    yield say(
        "Group {group}, bench {bench}, schedule {schedule}: {about}"
        if why.bench
        else "Group {group}, schedule {schedule}: {about}",
        group=why.group,
        bench=why.bench,
        schedule=why.schedule.name,
        about=say(why.schedule.about),
    )
    for layer in why.schedule.layers:
        changed = "; ".join(f"{key}: {value}" for key, value in layer.changed.items())
        what = say(_LAYERS[layer.kind], name=layer.name)
        yield f"  {what}, {layer.source}" + (f": {changed}" if changed else "")
    for _, planned in _planned(why):
        yield say("Planned: {what}.", what=fact_words(planned, why.day))
    for work in why.work:
        yield work_words(work, why.day)
        for reason in work.reasons:
            yield from _reason_lines(reason, why.day)
    yield from _course(why)
    yield from _water(why)
    yield from _stages(why)
    hemisphere = why.timeline.care.collection.place.hemisphere
    year = season_start(season_of(why.day, hemisphere), hemisphere)
    for hold in why.timeline.holds:
        if hold.start <= why.day and (hold.until is None or hold.until >= year):
            yield say(
                "Hold: {hold}; {end} ({source})",
                hold=hold_words(hold, why.day),
                end=hold_end_words(hold, why.day),
                source=hold.entry.source,
            )


def _told(why: Explanation) -> Iterator[str]:
    """What was told of the feeds of that day, where an entry says what became of them."""
    for feed in dict.fromkeys(filter(None, [why.feed, why.told])):
        if feed.is_extra:
            yield f"  {became_words(feed)}"
        elif feed.entry is not None:
            told = {"day": full_day(feed.told), "feed": told_words(feed), "became": became_words(feed)}
            yield "  " + say("told for {day}: {feed}; {became}", **told)


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
    yield say("Check water {rate}.", rate=watch_words(why.watch, why.day))
    if why.water is not None:
        yield from balance_lines(why.water, why.depletion, rate)
    elif why.checks_by.is_weather:
        yield indoors_words()
    else:
        yield checks_by_words(why.checks_by)


def _verdict(why: Explanation) -> str:
    if why.feed is None:
        return say("no feed")
    feed = why.feed
    if not feed.period:
        return say("fed, {feed}", feed=_strength_words(feed))
    return say(
        _VERDICTS.get(feed.status, "feed, {feed}, in '{period}'"),
        feed=_strength_words(feed),
        due=full_day(feed.told),
        period=feed.period,
    )


_VERDICTS = {
    Status.RECORDED: "fed, {feed}, in '{period}'",
    Status.ASSUMED: "fed, as far as the plan knows (not recorded), {feed}, in '{period}'",
    Status.MISSED: "a feed was missed, {feed}, in '{period}'",
    Status.NOT_GIVEN: "a feed was not given, {feed}, in '{period}'",
    Status.OVERDUE: "feed now; it was due {due}, {feed}, in '{period}'",
}


def _strength_words(feed: FeedEvent) -> str:
    """A feed's strength and what it is made of."""
    if feed.feed or not feed.ratio:
        return strength_words(feed.ppm, feed.feed or "")
    return say("{ppm} mixed {ratio}", ppm=ppm_words(feed.ppm), ratio=feed.ratio)


def _reason_lines(reason: Reason, day: date) -> Iterator[str]:
    yield f"  {reason_words(reason, day)}"
    where = [] if reason.source == BUILT_IN else [say("rule: {source}", source=reason.source)]
    if reason.entry is not None:
        entry = reason.entry
        where.append(
            say(
                "journal: {source}, {day}"
                if entry.recorded == entry.day
                else "journal: {source}, {day}, written down {recorded}",
                source=entry.source,
                day=full_day(entry.day),
                recorded=full_day(entry.recorded),
            )
        )
    if where:
        yield f"    {'; '.join(where)}"


def _course(why: Explanation) -> Iterator[str]:
    if why.last is not None:
        yield say("Last feed before: {feed}", feed=_feed_words(why.last))
    if why.next is not None:
        yield say("Next feed after: {feed}", feed=_feed_words(why.next))
    yield say(
        "Nitrogen this season to that day: {given} of {budget} mg per litre of pot",
        given=places(why.n_mg_per_l),
        budget=number(why.schedule.budget_mg_n_per_l),
    )
    yield from solid_why_lines(why.timeline, why.tree.name, why.day)


def _feed_words(feed: FeedEvent) -> str:
    return f"{full_day(feed.day)}, {strength_words(feed.ppm, feed.feed or '')}"


def _stages(why: Explanation) -> Iterator[str]:
    """The stages around the day: the last one reached, those still awaited, and the next."""
    reached = [at for at in why.stages if at.day is not None and at.day <= why.day]
    coming = [at for at in why.stages if at.day is not None and at.day > why.day]
    awaited = [at for at in why.stages if at.origin is Origin.AWAITED]
    shown = {
        "Stage: {stage}, {when}": reached[-1:],
        "Waiting for: {stage}, {when}": awaited[:1],
        "Next stage: {stage}, {when}": coming[:1],
    }
    for words, stages in shown.items():
        yield from (say(words, stage=at.stage, when=_stage_words(at, why.day)) for at in stages)


def _stage_words(at: StageDate, day: date) -> str:
    source = at.entry.source if at.entry is not None else at.source
    if at.day is None:
        return say(
            "not yet on {day}; typically {typical} ({source})",
            day=full_day(at.known),
            typical=full_day(at.typical),
            source=source,
        )
    when = f"{full_day(at.day)}, {origin_words(at.origin)}"
    return f"{'; '.join([when, *_sureness(at, day)])} ({source})"


def _sureness(at: StageDate, day: date) -> Iterator[str]:
    """How far off a stage's date may be, and what was counted."""
    if at.early is not None and at.late is not None:
        yield say("10 to 90 %: {early} to {late}", early=full_day(at.early), late=full_day(at.late))
    if at.basis:
        yield basis_words(at.basis, day)


def why_facts(why: Explanation) -> dict[str, Any]:
    """The same facts for `--json`."""
    return {
        "tree": why.tree.name,
        "date": why.day.isoformat(),
        "group": why.group,
        "bench": why.bench,
        "schedule": why.schedule.name,
        "feed": _feed_facts(why.feed),
        "told": _told_facts(why.told),
        "reasons": [_reason_facts(reason, why.day) for reason in why.reasons],
        "last_feed": _feed_facts(why.last),
        "next_feed": _feed_facts(why.next),
        "season_n_mg_per_l_of_pot": float(why.n_mg_per_l),
        "budget_n_mg_per_l_of_pot": float(why.schedule.budget_mg_n_per_l),
        "solid_feed": solid_why_facts(why.timeline, why.day),
        "layers": [
            {
                "what": f"{layer.kind} {layer.name}",
                "source": str(layer.source),
                "changed": dict(layer.changed),
            }
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
        **({"work": [work_facts(work, why.day) for work in why.work]} if _wants_work(why) else {}),
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


def _wants_work(why: Explanation) -> bool:
    return why.timeline.care.collection.habits.work_prompts


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


def _told_facts(feed: FeedEvent | None) -> dict[str, Any] | None:
    """What was told for the day, and what became of it; None where nothing was."""
    if feed is None or feed.is_extra:
        return None
    is_open = feed.outcome is Outcome.ASKED
    return {
        "feed": feed.asked_product or None,
        "n_mg_per_l": float(feed.asked_ppm),
        "outcome": str(feed.outcome),
        "given_on": None if is_open or feed.status.is_without_feed else feed.day.isoformat(),
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

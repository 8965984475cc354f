"""Solid feed in words: laying and lifting for the calendar and the round, grams by pot, and what it adds up to."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from typing import Any

from feedplan.engine.growing_year import season_of
from feedplan.engine.season import SolidItem, Timeline
from feedplan.export.entry import CalendarEntry, Kind, entry_ids
from feedplan.model.collection import Collection, Tree
from feedplan.model.course import Act, Solid, Status
from feedplan.words.dose import one_decimal, three_figures
from feedplan.words.language import say
from feedplan.words.reasons import reason_words, reasons_words
from feedplan.words.writing import (
    capital,
    day_month,
    day_words,
    full_day,
    label_first,
    names_words,
    number,
    places,
    trees_line,
    trees_words,
    typed_trees,
    typed_words,
)

# Up to so many trees each get their own grams; more get them by size of pot.
_EACH_TREE = 6
# What is done, what is to be done, what is to be done late, and what was not done.
_TITLES = {
    Act.LAY: (
        "Laid {feed} on {group}: {grams} g per litre of pot, {trees}",
        "Lay {feed} on {group}: {grams} g per litre of pot, {trees}",
        "Lay {feed} on {group} (due {day}): {grams} g per litre of pot, {trees}",
        "Not laid: {feed} on {group}, {trees}",
    ),
    Act.LIFT: (
        "Lifted {feed} from {group}: {trees}",
        "Lift {feed} from {group}: {trees}",
        "Lift {feed} from {group} (due {day}): {trees}",
        "Lift {feed} from {group}: {trees}",
    ),
}


def solid_title(item: SolidItem) -> str:
    """The line a wet hand needs: "Lay pellets on growing-on: 3 g per litre of pot, 12 trees"."""
    done, now, late, left_out = _TITLES[item.act]
    by_status = {
        Status.RECORDED: done,
        Status.OVERDUE: late,
        Status.MISSED: left_out,
        Status.NOT_GIVEN: left_out,
    }
    return say(
        by_status.get(item.status, now),
        feed=item.feed,
        group=item.group,
        day=day_month(item.events[0].due, item.day),
        grams=number(rounded(item.grams_per_l)),
        trees=trees_words(item.head_count),
    )


def rounded(grams: Decimal) -> Decimal:
    """Grams to a tenth, to a hundredth below one."""
    return grams.quantize(Decimal("0.1") if grams >= 1 else Decimal("0.01"))


def solid_lines(item: SolidItem, collection: Collection) -> Iterator[str]:
    """How much on which pot, what it gives, when it comes off, and what to take care of."""
    trees = [tree for timeline in item.timelines for tree in timeline.trees_on(item.day)]
    if item.act is Act.LAY:
        yield f"{', '.join(grams_by_pot(item.grams_per_l, trees))}."
        lift = item.events[0].lift_on
        yield say(
            "Gives {mg} mg N per litre of pot."
            if lift is None
            else "Gives {mg} mg N per litre of pot; what is left comes off {day}.",
            mg=places(item.events[0].mg_n_per_l),
            day="" if lift is None else day_words(lift, item.day),
        )
        yield from (f"{capital(words)}." for words in _placements(item))
        feed = collection.feeds.get(item.feed)
        if feed is not None and feed.form.draws_animals and item.status is not Status.RECORDED:
            yield say(
                "Meal draws dogs, foxes and mice: press it under the surface or cover it. Keep pets off it."
            )
    else:
        yield trees_line(names_words(item.timelines))
        if item.status is not Status.RECORDED:
            yield say(
                "Take off what still lies there, with the crust under it; use it up on trees in growth."
            )
    yield from _reason_lines(item)


def _placements(item: SolidItem) -> Iterator[str]:
    """How it is laid, in the words of its schedule, each once."""
    found = {
        say(period.placement)
        for timeline, event in zip(item.timelines, item.events, strict=True)
        for period in timeline.care.schedule_on(item.day).solid_periods
        if period.name == event.period and period.placement
    }
    return iter(sorted(found))


def _reason_lines(item: SolidItem) -> Iterator[str]:
    """Why it is done now: said once where it holds for all, else by tree."""
    told: dict[str, list[Timeline]] = {}
    for timeline, event in zip(item.timelines, item.events, strict=True):
        if event.reasons:
            told.setdefault(reasons_words(event.reasons, item.day), []).append(timeline)
    for words, timelines in told.items():
        is_all = len(timelines) == len(item.timelines)
        yield f"{capital(words) if is_all else f'{names_words(timelines)}: {words}'}."


def grams_by_pot(grams_per_l: Decimal, trees: list[Tree]) -> list[str]:
    """Grams for each tree by name, or by size of pot where they are many: "2.7 g on 9 L (5 trees)"."""
    if len(trees) <= _EACH_TREE:
        return [
            say(
                "{tree} {grams} g" if tree.count == 1 else "{tree} ({count}) each {grams} g",
                tree=tree.name,
                count=tree.count,
                grams=one_decimal(grams_per_l * tree.pot.litres),
            )
            for tree in trees
        ]
    sizes: dict[Decimal, int] = {}
    for tree in trees:
        litres = tree.pot.litres.quantize(Decimal("0.1"))
        sizes[litres] = sizes.get(litres, 0) + tree.count
    return [
        say(
            "{grams} g on {litres} L ({trees})",
            grams=one_decimal(grams_per_l * litres),
            litres=three_figures(litres),
            trees=trees_words(count),
        )
        for litres, count in sorted(sizes.items())
    ]


def solid_entry(item: SolidItem, collection: Collection) -> CalendarEntry:
    """One laying or lifting as an all-day entry."""
    lines = list(solid_lines(item, collection))
    if item.status in (Status.PLANNED, Status.OVERDUE, Status.ASSUMED):
        lines += [say("Write it down: {command}", command=record_words(item)), label_first()]
    return CalendarEntry(
        key=item.key,
        kind=Kind.FEEDING,
        start=item.day,
        title=solid_title(item),
        text="\n".join(lines),
        group=item.group,
        told=entry_ids(item.events),
    )


def record_words(item: SolidItem) -> str:
    """The command that writes down that it was done, to those trees alone."""
    feed, trees = typed_words([item.feed]), typed_trees(item.names, item.group, item.others)
    if item.act is Act.LIFT:
        return f"feedplan record lifted {feed} {trees}"
    return f"feedplan record laid {feed} {trees} --rate {number(rounded(item.grams_per_l))}"


def solid_why_lines(timeline: Timeline, name: str, day: date) -> Iterator[str]:
    """What is laid or lifted that day, what lies on a tree's pot, and what comes next or was kept back."""
    for event in timeline.solid_events:
        if event.day == day:
            told = say(
                "On that day: {act} {feed}, {grams} g per litre of pot ({status})"
                if event.grams_per_l
                else "On that day: {act} {feed} ({status})",
                act=say(event.act.value),
                feed=event.feed,
                grams=number(rounded(event.grams_per_l)),
                status=say(event.status.value),
            )
            yield "; ".join([told, *(reason_words(reason, day) for reason in event.reasons)])
    for solid in timeline.solids:
        if solid.laid <= day <= _gone_by(solid):
            yield f"{_lying_words(solid, name, day)} ({solid.source})"
    coming = [e for e in timeline.solid_events if e.day > day and e.status is not Status.RECORDED]
    for event in sorted(coming, key=lambda e: e.day)[:1]:
        yield say(
            "Next: {act} {feed}, {day}", act=say(event.act.value), feed=event.feed, day=full_day(event.day)
        )
    hemisphere = timeline.care.collection.place.hemisphere
    for dropped in timeline.solid_dropped:
        if season_of(dropped.due, hemisphere) == season_of(day, hemisphere):
            yield say(
                "No solid feed laid {due}: {reasons}",
                due=day_words(dropped.due, day),
                reasons=reasons_words(dropped.reasons, day),
            )


def _gone_by(solid: Solid) -> date:
    """The last day on which a solid feed may still give something in its season."""
    ends = [solid.course[-1][0], *(filter(None, [solid.lifted, solid.spent and solid.spent[1]]))]
    return min(ends)


_LAID = {
    Status.ASSUMED: (
        "Solid feed: {feed}, laid {day}, as far as the plan knows: {given} of {whole} mg N per litre of pot given"
    ),
    Status.PLANNED: "Solid feed: {feed}, to lay {day}: {given} of {whole} mg N per litre of pot given by then",
}


def _lying_words(solid: Solid, name: str, day: date) -> str:
    given, whole = places(solid.given_by(day)), places(solid.mg_n_per_l)
    if solid.feed is None:
        return say(
            "Coated feed it is taken to have come with: {whole} mg N per litre of pot this season, {given} so far. "
            "If there is none: feedplan record lifted none there {tree}",
            whole=whole,
            given=given,
            tree=typed_words([name]),
        )
    parts = [
        say(
            _LAID.get(
                solid.status, "Solid feed: {feed}, laid {day}: {given} of {whole} mg N per litre of pot given"
            ),
            feed=solid.feed,
            day=day_words(solid.laid, day),
            given=given,
            whole=whole,
        )
    ]
    if solid.spent is not None:
        first, last = (day_words(each, day) for each in solid.spent)
        parts.append(say("spent between {first} and {last}", first=first, last=last))
    if solid.status is Status.PLANNED:
        return "; ".join(parts)
    return "; ".join([*parts, say("mixed in") if solid.mixed_in else say("can be lifted")])


def _iso(day: date | None) -> str | None:
    return None if day is None else day.isoformat()


def solid_why_facts(timeline: Timeline, day: date) -> list[dict[str, Any]]:
    """What lies on the pot on a day, for `--json`."""
    return [
        {
            "feed": solid.feed,
            "status": str(solid.status),
            "laid": solid.laid.isoformat(),
            "lifted": _iso(solid.lifted),
            "mixed_in": solid.mixed_in,
            "season_n_mg_per_l_of_pot": float(round(solid.mg_n_per_l, 1)),
            "given_n_mg_per_l_of_pot": float(round(solid.given_by(day), 1)),
            "spent": [d.isoformat() for d in solid.spent] if solid.spent is not None else None,
            "source": str(solid.source),
        }
        for solid in timeline.solids
        if solid.laid <= day <= _gone_by(solid)
    ]


def solid_facts(item: SolidItem) -> dict[str, Any]:
    """The same facts for `--json`."""
    return {
        "act": str(item.act),
        "group": item.group,
        "feed": item.feed,
        "status": str(item.status),
        "grams_per_l_of_pot": float(rounded(item.grams_per_l)),
        "n_mg_per_l_of_pot": float(round(item.events[0].mg_n_per_l, 1)),
        "lift_on": _iso(item.events[0].lift_on),
        "trees": [
            {
                "name": tree.name,
                "count": tree.count,
                "grams": float(one_decimal(item.grams_per_l * tree.pot.litres)),
            }
            for timeline in item.timelines
            for tree in timeline.trees
        ],
        "reasons": [reason_words(r, item.day) for event in item.events for r in event.reasons],
    }

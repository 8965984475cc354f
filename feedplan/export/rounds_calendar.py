"""The calendar a month can show: at most one row for a day with something to do, and one for each time of checks."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from datetime import date

from feedplan.engine.answers.work import work_prompts
from feedplan.engine.day import Day, day_of
from feedplan.engine.feeding.rounds import told_items
from feedplan.engine.growing_year import DAY
from feedplan.engine.season import Alert, AlertKind, Season, StagePrompt, Timeline
from feedplan.engine.water.checks import looks_on
from feedplan.export.entry import CalendarEntry, Kind, entry_ids
from feedplan.export.glance_text import glance_blocks
from feedplan.export.round_text import weigh_words
from feedplan.export.water_rows import water_rows
from feedplan.model.collection import Collection, Tree
from feedplan.model.course import Act, FeedEvent, SolidEvent, Status
from feedplan.words.language import say
from feedplan.words.writing import capital, day_words, tree_words


def rounds_entries(season: Season, collection: Collection) -> list[CalendarEntry]:
    """The rows of days and of checks, in order of day and key."""
    rows = [*day_rows(season, collection), *water_rows(season)]
    return sorted(rows, key=lambda entry: (entry.start, entry.key))


def day_rows(season: Season, collection: Collection) -> Iterator[CalendarEntry]:
    """A row for each day on which there is more to do than to check."""
    for on, tasks in sorted(_tasks(season).items()):
        if season.start <= on <= season.end:
            day = day_of(season, on, as_told=True)
            yield CalendarEntry(
                key=f"day/{on}",
                kind=Kind.ROUND,
                start=on,
                title=_title(tasks, day),
                text="\n".join(_lines(day, collection)),
                told=entry_ids(tasks.settled),
            )


def coming_words(season: Season, collection: Collection, after: date) -> tuple[str, ...]:
    """What comes next after a day that the season goes beyond: the first look at pots, the first row but for these."""
    found = []
    days = (after + DAY * n for n in range(1, (season.end - after).days + 1))
    if (on := next((day for day in days if any(_looked_on(season, day))), None)) is not None:
        found.append((on, say("check {checked}", checked=sum(_looked_on(season, on)))))
    if rows := [day for day in _tasks(season) if after < day <= season.end]:
        [row, *_] = day_rows(replace(season, start=min(rows), end=min(rows)), collection)
        found.append((row.start, row.title))
    return tuple(f"{day_words(day, after)}: {words}" for day, words in sorted(found))


def _looked_on(season: Season, day: date) -> Iterator[int]:
    """How many trees each watch has that are looked at on a day."""
    for watch in season.watches:
        if looks_on(watch.rate_on(day), day):
            yield sum(tree.count for tree in watch.trees)


def _lines(day: Day, collection: Collection) -> Iterator[str]:
    """The day's round as `feedplan round` has it, but for its one line; the checks stand in rows of their own."""
    for block in glance_blocks(day, collection):
        yield from (f"{block.label}: {item}" for item in block.items if not block.is_about_more)


@dataclass(slots=True)
class _Tasks:
    """What is to be done on a day, gathered item by item."""

    fed: list[Tree] = field(default_factory=list)
    to_feed: list[Tree] = field(default_factory=list)
    looks: list[Tree] = field(default_factory=list)
    laid: list[Tree] = field(default_factory=list)
    lifted: list[Tree] = field(default_factory=list)
    flushed: list[Tree] = field(default_factory=list)
    prompts: list[StagePrompt] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    alerts: list[Alert] = field(default_factory=list)
    settled: list[FeedEvent | SolidEvent] = field(default_factory=list)


def _tasks(season: Season) -> dict[date, _Tasks]:
    """The days with something to do, as they were told."""
    found: dict[date, _Tasks] = {}

    def on(day: date) -> _Tasks:
        return found.setdefault(day, _Tasks())

    for day in {day for item in season.rounds for day in (item.day, item.events[0].told)}:
        for item in told_items(season, day):
            is_given = item.status is Status.RECORDED
            (on(day).fed if is_given else on(day).to_feed).extend(_trees(item.timelines, day))
            on(day).settled.extend(item.events)
    for laying in season.solids:
        if laying.status is not Status.NOT_GIVEN:
            trees = on(laying.day).laid if laying.act is Act.LAY else on(laying.day).lifted
            trees.extend(_trees(laying.timelines, laying.day))
            on(laying.day).settled.extend(laying.events)
    for flush in season.flushes:
        on(flush.day).flushed.extend(flush.trees)
    for review in season.reviews:
        looks = on(review.day).looks
        looks.extend(tree for tree in review.timeline.trees if tree not in looks)
    for prompt in season.prompts:
        for day in prompt.days:
            on(day).prompts.append(prompt)
    for work in work_prompts(season, (season.start, season.end)):
        on(work.day).notes.append(say(work.say).rstrip("."))
    for note in season.notes:
        on(note.day).notes.append(note.note.say)
    for alert in season.alerts:
        if alert.kind is not AlertKind.STALE:
            on(alert.start).alerts.append(alert)
    return found


def _trees(timelines: Iterable[Timeline], day: date) -> Iterator[Tree]:
    return (tree for timeline in timelines for tree in timeline.trees_on(day))


_ALERTS = {
    AlertKind.FROST: "frost",
    AlertKind.FROSTED: "frost damage",
    AlertKind.HEAT: "heat",
    AlertKind.HOT_ROOTS: "hot pots",
    AlertKind.WIND: "wind",
    AlertKind.SIGHTING: "mend an entry",
}


def _title(tasks: _Tasks, day: Day) -> str:
    """The row's line, what counts most within its first 25 characters: "Feed 16, look at 2, weigh 1"."""
    parts = _named_or_counted(tasks.to_feed, "feed {name}", "feed {count}")
    parts += [say(word) for word in dict.fromkeys(_ALERTS[alert.kind] for alert in tasks.alerts)]
    if len(tasks.looks) > 1:  # names, as the round counts them: a row of cuttings is one look
        parts.append(say("look at {count}", count=len(tasks.looks)))
    else:
        parts += _named_or_counted(tasks.looks, "look at {name}", "")
    if day.weighings:
        parts.append(weigh_words(day))
    parts += _named_or_counted(tasks.laid, "lay feed: {name}", "lay feed on {count}")
    parts += _named_or_counted(tasks.lifted, "lift feed: {name}", "lift feed from {count}")
    parts += _named_or_counted(tasks.flushed, "flush {name}", "flush {count}")
    parts += _named_or_counted(tasks.fed, "fed {name}", "fed {count}")
    parts += _question(tasks.prompts, is_alone=not parts)
    if len(tasks.notes) == 1 or not parts:
        parts += tasks.notes
    elif tasks.notes:
        parts.append(say("{count} notes", count=len(tasks.notes)))
    return capital(", ".join(parts))


def _named_or_counted(trees: list[Tree], one: str, many: str) -> list[str]:
    """A part of the line: the tree by name if it is a single one, else how many there are."""
    if len(trees) == 1:
        return [say(one, name=tree_words(trees[0]))]
    return [say(many, count=sum(tree.count for tree in trees))] if trees else []


def _question(prompts: list[StagePrompt], *, is_alone: bool) -> list[str]:
    """The stages asked after: one by its word, with its trees where nothing else is to be done."""
    stages = list(dict.fromkeys(prompt.stage for prompt in prompts))
    if len(stages) > 1:
        return [say("{count} stages?", count=len(stages))]
    if not stages:
        return []
    trees = [tree for prompt in prompts for timeline in prompt.timelines for tree in timeline.trees]
    if not is_alone:
        return [say("{stage}?", stage=stages[0])]
    more = say(" +{count}", count=len(trees) - 1) if len(trees) > 1 else ""
    return [say("{stage}? {name}{more}", stage=stages[0], name=trees[0].name, more=more)]

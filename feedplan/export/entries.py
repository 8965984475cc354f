"""From a season to calendar entries: one for each mix, each stretch of checks, each hold, look and question."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from feedplan.engine.answers.explain import left_out
from feedplan.engine.answers.work import work_prompts
from feedplan.engine.day import told_cans
from feedplan.engine.feeding.rounds import told_day
from feedplan.engine.growing_year import DAY, season_end, season_of
from feedplan.engine.season import (
    Alert,
    CheckStretch,
    Flush,
    FrostSpell,
    NoteEvent,
    Review,
    RoundItem,
    Season,
    StagePrompt,
    Timeline,
)
from feedplan.engine.sink.cans import CanPlan
from feedplan.engine.sink.mixing import really_in
from feedplan.engine.sink.shelf import short_soon
from feedplan.export.can_text import can_steps, left_over_line
from feedplan.export.entry import CalendarEntry, Kind, Repeat, entry_ids
from feedplan.export.sink_text import mix_notes, run_out_entry
from feedplan.export.solid_text import solid_entry
from feedplan.export.water_text import flush_lines, frost_words, rough_cans
from feedplan.export.work_text import work_entry
from feedplan.model.collection import Collection
from feedplan.model.course import Hold, Status
from feedplan.model.hold import Action
from feedplan.model.reason import Rule
from feedplan.words.feeds import asked_words
from feedplan.words.language import say
from feedplan.words.outdoors import alert_advice
from feedplan.words.reasons import (
    fact_words,
    hold_end_words,
    hold_words,
    missing_words,
    reason_words,
    reasons_words,
    stops_words,
)
from feedplan.words.writing import (
    day_month,
    label_first,
    listed,
    names_words,
    tree_words,
    trees_line,
    trees_words,
    typed_words,
)

HOW_TO_CHECK = "Look first: a finger 1 to 2 cm deep, the weight of the pot, the leaves at dawn."
DAILY = 7
HOW_TO_WATER = "Water only what needs it, until 10 to 20 % drains."


def calendar_entries(season: Season, collection: Collection) -> list[CalendarEntry]:
    """Everything the season has to say, in order of day and key."""
    cans = {day: told_cans(season, day) for day in {told_day(item) for item in season.rounds}}
    entries = [
        *(feeding_entry(item, season, cans[told_day(item)]) for item in season.rounds),
        *(solid_entry(item, collection) for item in season.solids),
        *(check_entry(stretch, collection) for stretch in season.checks),
        *(frost_entry(spell) for spell in season.frosts),
        *(flush_entry(flush, collection) for flush in season.flushes),
        *(hold_entry(t, hold, season) for t, hold in _holds_to_show(season)),
        *(review_entry(review) for review in season.reviews),
        *(prompt_entry(prompt) for prompt in season.prompts),
        *(work_entry(prompt) for prompt in work_prompts(season)),
        *(alert_entry(alert) for alert in season.alerts),
        *(note_entry(event) for event in season.notes),
        *(run_out_entry(line) for line in short_soon(season, collection)),
    ]
    return sorted(entries, key=lambda entry: (entry.start, entry.key))


def feeding_entry(item: RoundItem, season: Season, cans: CanPlan) -> CalendarEntry:
    """One mix. A past feed nobody recorded reads as it did when it was planned. cans: those of the day it was told for.

    One overdue stands from the day it was asked for to the last on which it is offered, the same every day.
    """
    start, days = item.day, 1
    if item.status is Status.OVERDUE:
        start = min(event.told for event in item.events)
        days = max((event.offered_to or item.day) - start for event in item.events).days + 1
    return CalendarEntry(
        key=item.key,
        kind=Kind.FEEDING,
        start=start,
        days=days,
        title=feeding_title(item),
        text="\n".join(feeding_text(item, season, cans)),
        group=item.group,
        told=entry_ids(item.events),
    )


_FEEDING_TITLES = {
    Status.RECORDED: "Fed {group}: {strength}, {trees}",
    Status.MISSED: "Missed: feed {group}: {strength}, {trees}",
    Status.OVERDUE: "Feed {group} (due {day}): {strength}, {trees}",
}


def feeding_title(item: RoundItem) -> str:
    """A mix by group, strength and product: "Feed growing-on: 150 ppm N of spring-24-8-16, 12 trees"."""
    what, ppm = item.feed or item.ratio, asked_words(item)
    return say(
        _FEEDING_TITLES.get(item.status, "Feed {group}: {strength}, {trees}"),
        group=item.group,
        day=day_month(item.events[0].told, item.day),
        strength=ppm if what is None else say("{ppm} of {feed}", ppm=ppm, feed=what),
        trees=trees_words(item.head_count),
    )


def feeding_text(item: RoundItem, season: Season, cans: CanPlan) -> Iterator[str]:
    """How it is mixed, with what shares its can; for which trees, for which not and why."""
    its_cans = cans.serving([item.key])
    yield from (line for steps in can_steps(its_cans) for line in steps)
    yield from left_over_line(its_cans)
    yield from mix_notes(item, really_in(item, cans, season.collection), cans, season.collection)
    yield trees_line(names_words(item.timelines, item.day))
    for timeline, reasons in left_out(season, item.group, item.day):
        # Trees that are merely not due are left unsaid: their dates move on, and would change this text with them.
        barred = [reason_words(r, item.day) for r in reasons if r.rule not in (Rule.INTERVAL, Rule.PERIOD)]
        if barred:
            yield say("Not {names}: {reasons}.", names=names_words([timeline]), reasons="; ".join(barred))
    for timeline, event in zip(item.timelines, item.events, strict=True):
        if event.reasons:
            yield f"{names_words([timeline])}: {reasons_words(event.reasons, item.day)}."
    if item.status in (Status.PLANNED, Status.ASSUMED, Status.OVERDUE):
        yield f"{say('Feed onto moist mix; water a dry one first.')} {label_first()}"


def check_entry(stretch: CheckStretch, collection: Collection) -> CalendarEntry:
    """The looks of one time of day at some trees of a group, as a recurring entry at that time."""
    lines = [
        f"{say(HOW_TO_CHECK)} {say(HOW_TO_WATER)}",
        trees_line(", ".join(map(tree_words, stretch.trees))),
    ]
    if stretch.rise is not None:
        cause = fact_words(stretch.rise.cause, stretch.start)
        lines.append(
            say("More often than usual: {cause}. Shade helps first; damp the floor in heat.", cause=cause)
        )
    lines += _thirst_lines(stretch, collection)
    if stretch.surface_dry:
        names = ", ".join(stretch.surface_dry)
        lines.append(say("Let the surface dry between waterings: {names}.", names=names))
    return CalendarEntry(
        key=stretch.key,
        kind=Kind.WATER,
        start=stretch.start,
        title=_check_title(stretch),
        text="\n".join(lines),
        group=stretch.group,
        at=collection.habits.checks_at[stretch.look],
        repeat=Repeat(until=stretch.end, weekdays=() if len(stretch.weekdays) == DAILY else stretch.weekdays),
    )


def _check_title(stretch: CheckStretch) -> str:
    """The line a phone shows: "Check water: show-bench, 5 trees", "Check again: Lantern, Quill, 3 more"."""
    count = trees_words(sum(tree.count for tree in stretch.trees))
    if stretch.look == 0 and stretch.rise is None:
        return say("Check water: {group}, {trees}", group=stretch.group, trees=count)
    names = [tree_words(tree) for tree in stretch.trees]
    shown = names if len(names) <= 3 else [*names[:2], say("{count} more", count=len(names) - 2)]
    title = say(
        "Check water: {names}" if stretch.look == 0 else "Check again: {names}", names=", ".join(shown)
    )
    if stretch.rise is None:
        return title
    return say("{title} ({cause})", title=title, cause=fact_words(stretch.rise.cause, stretch.start))


def _thirst_lines(stretch: CheckStretch, collection: Collection) -> Iterator[str]:
    """What the weather says of a stretch: what to pour, which pots to look at first, frost."""
    if stretch.litres is not None:
        litres = rough_cans(stretch.litres, collection.habits.can_litres)
        yield say("At a usual look they take about {litres} in all, with what drains.", litres=litres)
        if len(stretch.weekdays) < DAILY:
            yield say("Never water a frozen ball; water before hard frost.")
    if 0 < len(stretch.dries_first) < len(stretch.trees):
        yield say("Dries first: {names}.", names=listed(stretch.dries_first))


def frost_entry(spell: FrostSpell) -> CalendarEntry:
    """Days on which root balls are likely frozen, as a span."""
    return CalendarEntry(
        key=spell.key,
        kind=Kind.WATER,
        start=spell.start,
        title=say("Root balls may be frozen: do not water"),
        text=f"{frost_words(spell)}\n{say('Checks go on: a ball that thaws at noon may be dry.')}",
        days=(spell.end - spell.start).days + 1,
    )


def flush_entry(flush: Flush, collection: Collection) -> CalendarEntry:
    """A day on which a group's pots are washed through."""
    title, *lines = flush_lines(flush, collection)
    return CalendarEntry(
        key=flush.key,
        kind=Kind.WATER,
        start=flush.day,
        title=title,
        text="\n".join(lines),
        group=flush.group,
    )


def _holds_to_show(season: Season) -> Iterator[tuple[Timeline, Hold]]:
    for timeline in season.timelines:
        for hold in timeline.holds:
            if hold.by_weather:
                continue  # one alert stands for all the trees it holds
            is_real = hold.until is None or hold.until > max(hold.start, season.start)
            if is_real and hold.start <= season.end:
                yield timeline, hold


def hold_entry(timeline: Timeline, hold: Hold, season: Season) -> CalendarEntry:
    """A hold as a span of days. One that is still open runs on to the end of the last growing year shown."""
    hemisphere = season.collection.place.hemisphere
    end = hold.until or season_end(season_of(season.end, hemisphere), hemisphere) + DAY
    no_feed = Action.LIQUID in hold.rule.stops
    lines = [
        say("{hold}; {end}.", hold=hold_words(hold, hold.start), end=hold_end_words(hold, hold.start)),
        say("Stops {what}.", what=stops_words(hold.rule.stops)),
        *map(say, hold.rule.do),
    ]
    if hold.rule.water_surface_dry:
        lines.append(say("Check water as often as before, or more; let the surface dry between waterings."))
    return CalendarEntry(
        key=f"hold/{timeline.lineage}/{hold.key}",
        kind=Kind.HOLD,
        start=hold.start,
        title=say(
            "No feed: {names} ({hold})" if no_feed else "Go easy: {names} ({hold})",
            names=names_words([timeline]),
            hold=hold.rule.name,
        ),
        text="\n".join(lines),
        group=timeline.group_on(hold.start),
        days=max(1, (end - hold.start).days),
    )


def review_entry(review: Review) -> CalendarEntry:
    """A look at a held tree, and how to answer."""
    hold = review.hold
    title, lines = review_words(review)
    return CalendarEntry(
        key=review.key,
        kind=Kind.REVIEW,
        start=review.day,
        title=title,
        text="\n".join([*lines, *map(say, hold.rule.do)]),
        group=review.timeline.group_on(review.day),
        answer=say("Answer: {command}", command=_how_to_answer(review)),
    )


def _how_to_answer(review: Review) -> str:
    """The command that answers a look: the sign to see, then the trees."""
    sign = next((met.need.sign for met in review.hold.missing), "limp")
    names = typed_words(review.timeline.names)
    seen = f'feedplan record seen "{sign}" {names}'
    if review.carry_to is None:
        return seen
    return say("{answer}, or {other}", answer=f"feedplan record put-off {names}", other=seen)


def review_words(review: Review) -> tuple[str, list[str]]:
    """A look's title and first lines."""
    hold, names = review.hold, names_words([review.timeline])
    day = (review.day - hold.start).days
    missing = missing_words(hold)
    since = hold_words(hold, review.day)
    if review.carry_to is not None:
        title = say("Put {names} off to spring {year}?", names=names, year=review.carry_to)
        lines = [
            say("Day {day} after {hold}, and not seen: {signs}.", day=day, hold=since, signs=missing),
            say(
                "Feed and root work then wait for spring {year}. Keep every leaf; keep checking water.",
                year=review.carry_to,
            ),
        ]
        return title, lines
    title = say("Look at {names}: {signs}?", names=names, signs=missing)
    end = hold_end_words(hold, review.day)
    return title, [say("Day {day} after {hold}; {end}.", day=day, hold=since, end=end)]


def prompt_entry(prompt: StagePrompt) -> CalendarEntry:
    """A question about a stage, and how to answer."""
    species = listed(sorted({tree.species for t in prompt.timelines for tree in t.trees}))
    lines = [
        expected_words(prompt),
        trees_line(names_words(prompt.timelines)),
    ]
    return CalendarEntry(
        key=prompt.key,
        kind=Kind.STAGE,
        start=prompt.day,
        title=say(
            "Look for {stage} on {group}: {species}", stage=prompt.stage, group=prompt.group, species=species
        ),
        text="\n".join(lines),
        group=prompt.group,
        repeat=None if prompt.asked_until is None else Repeat(until=prompt.asked_until, every_days=7),
        answer=say(
            'Answer: feedplan record seen "{stage}" NAMES, or the earlier stage if not yet.',
            stage=prompt.stage,
        ),
    )


_WAITS = "Feeding waits for the answer."
_GOES_BY_DATE = "Feeding goes by the typical date until you answer."
_GOES_BY_WEATHER = "Feeding goes by the weather until you answer."


def expected_words(prompt: StagePrompt) -> str:
    """When a stage is expected, how far off that may be, and what feeding does meanwhile."""
    expected, goes_by = (
        say("Expected about {day}.", day=day_month(prompt.expected, prompt.day)),
        _GOES_BY_DATE,
    )
    if prompt.early is not None and prompt.late is not None:
        expected = say(
            "Expected about {day}, most likely from {early} to {late} (10 to 90 %).",
            day=day_month(prompt.expected, prompt.day),
            early=day_month(prompt.early, prompt.day),
            late=day_month(prompt.late, prompt.day),
        )
        goes_by = _GOES_BY_WEATHER
    return f"{expected} {say(_WAITS if prompt.awaited else goes_by)}"


def alert_entry(alert: Alert) -> CalendarEntry:
    """What the weather asks for on some days, for the trees named or for all."""
    trees = [trees_line(names_words(alert.timelines))] if alert.timelines else []
    return CalendarEntry(
        key=alert.key,
        kind=Kind.ALERT,
        start=alert.start,
        title=fact_words(alert.fact, alert.start),
        text="\n".join([*alert_advice(alert), *trees]),
        days=(alert.end - alert.start).days + 1,
    )


def note_entry(event: NoteEvent) -> CalendarEntry:
    """A note of the grower's own."""
    return CalendarEntry(key=event.key, kind=Kind.NOTE, start=event.day, title=event.note.say)


def narrowed(
    entries: Iterable[CalendarEntry], groups: Iterable[str] = (), kinds: Iterable[Kind] = ()
) -> list[CalendarEntry]:
    """The entries of some groups and kinds; empty means all. Notes belong to no group and stay."""
    groups, kinds = set(groups), set(kinds)
    return [
        entry
        for entry in entries
        if (not groups or entry.group is None or entry.group in groups) and (not kinds or entry.kind in kinds)
    ]

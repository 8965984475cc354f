"""The day's round as text: the one line, looks, mixes, whom not to feed, checks, and all there is to say of them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from decimal import Decimal

from feedplan.engine.day import Day, DayMix, LeftOut
from feedplan.engine.feeding.put_off import DeferredFeed
from feedplan.engine.season import RoundItem, SolidItem, Timeline
from feedplan.engine.water.day_checks import TreeLooks
from feedplan.export.can_text import can_steps, left_over_line
from feedplan.export.entries import feeding_title, review_words
from feedplan.export.sink_text import mix_notes, run_out_line, short_lines
from feedplan.export.solid_text import record_words, solid_lines, solid_title
from feedplan.export.water_text import (
    bench_lines,
    flush_lines,
    frost_ahead,
    frost_words,
    own_water_sentences,
    weather_words,
)
from feedplan.export.work_text import work_lines
from feedplan.model.collection import Collection, Tree
from feedplan.model.course import Status
from feedplan.model.reason import Rule
from feedplan.words.effects import pen_words
from feedplan.words.feeds import asked_words
from feedplan.words.language import say
from feedplan.words.outdoors import alert_advice, checks_by_words
from feedplan.words.reasons import (
    cause_words,
    fact_words,
    hold_end_words,
    hold_words,
    reasons_words,
)
from feedplan.words.writing import (
    day_words,
    listed,
    names_words,
    number,
    ppm_words,
    tree_words,
    typed_words,
    whole_ppm,
)

_MANY = 10
"""So many names are told by who is left out, where those are fewer. Judgement."""


def one_line(day: Day) -> str:
    """The line a phone shows: "Sat 24 Apr - check 34, feed 12 @150 ppm N, hold 7"."""
    return f"{day_words(day.day, day.today)} - {', '.join(line_parts(day))}"


def line_parts(day: Day) -> Iterator[str]:
    """What the one line says after the day."""
    if day.is_quiet:
        yield say("nothing to do")
        return
    first, checked = day.thirstiest_count, day.checked_count
    if 0 < first < checked:
        yield say("check {checked} ({first} first)", checked=checked, first=first)
    else:
        yield say("check {checked}", checked=checked)
    yield from _feed_parts(day)
    if held := sum(timeline.head_count for timeline in day.held):
        yield say("hold {held}", held=held)
    if looked_at := {name for look in day.open_looks for name in look.timeline.names}:
        yield say("look at {looks}", looks=len(looked_at))
    yield from weather_words(day.weather)


def _feed_parts(day: Day) -> Iterator[str]:
    """Each mix with its trees and strength; from three mixes on all of them in one."""
    items = [mix.item for mix in day.to_mix]
    fed = sum(mix.item.head_count for mix in day.mixes if mix.item.status is Status.RECORDED)
    if day.away is not None:
        yield say("away to {day}, feed nothing", day=day_words(day.away.end, day.day))
    elif not day.mixes:
        yield say("feed none")
    elif len(items) < 3:
        for item in items:
            yield say("feed {count} @{ppm}", count=item.head_count, ppm=asked_words(item))
    else:
        weakest, strongest = (pick(item.ppm for item in items) for pick in (min, max))
        count = sum(item.head_count for item in items)
        strengths = ppm_words(strongest)
        if ppm_words(weakest) != strengths:
            strengths = say("{least} to {most}", least=whole_ppm(weakest), most=strengths)
        yield say("feed {count} @{ppm}", count=count, ppm=strengths)
    if day.weighings:
        yield weigh_words(day)
    if fed:
        yield say("fed {count}", count=fed)


def weigh_words(day: Day) -> str:
    """How often something is weighed out that day: "weigh 2"."""
    return say("weigh {count}", count=day.weighings)


def round_lines(day: Day, collection: Collection) -> Iterator[str]:
    """The whole round as lines of text."""
    yield one_line(day)
    yield from _section(say("Look first"), _exceptions(day))
    yield from _section(say("Mix and feed"), _feeding(day, collection))
    yield from _section(say("Not these"), (not_fed_line(out, day) for out in day.not_fed))
    yield from _section(say("Flush with plain water"), _flushes(day, collection))
    yield from _section(say("Thirstiest first"), bench_lines(day.thirst, collection.habits.can_litres))
    yield from _section(say("Check water"), _checks(day))
    yield from _section(say("Look for"), look_for_lines(day, collection))
    yield from _section(say("Notes"), note_lines(day))


def note_lines(day: Day) -> Iterator[str]:
    """The grower's own notes, and the work planned soon with what it would hold back."""
    yield from (note.note.say for note in day.notes)
    for names, work in day.planned:
        yield say("{names}: {planned}", names=listed(list(names)), planned=fact_words(work, day.day))


def _section(title: str, lines: Iterable[str]) -> Iterator[str]:
    """A heading and what stands under it; a line of several, such as a note, stays under it whole."""
    listed = [part for line in lines for part in line.splitlines()]
    if listed:
        yield ""
        yield title
        yield from (f"  {line}" for line in listed)


def overdue_lines(day: Day) -> Iterator[str]:
    """The feeds that nobody recorded, a line a group."""
    overdue = {(m.item.events[0].told, m.item.group) for m in day.mixes if m.item.status is Status.OVERDUE}
    for due, group in sorted(overdue):
        yield say(
            "Overdue since {day}: {group}. Give it once, never doubled.",
            day=day_words(due, day.day),
            group=group,
        )


def _exceptions(day: Day) -> Iterator[str]:
    yield from overdue_lines(day)
    for line, *under in alert_items(day):
        yield line
        yield from (f"  {each}" for each in under)
    for review in day.open_looks:
        title, lines = review_words(review)
        is_late = review.day < day.day
        yield (
            say("{title} (due {day})", title=title, day=day_words(review.day, day.day)) if is_late else title
        )
        yield from (f"  {line}" for line in (*lines, *map(say, review.hold.rule.do)))


def alert_items(day: Day) -> Iterator[tuple[str, ...]]:
    """What is out of the ordinary but for looks at held trees: a line each, and what belongs under it."""
    yield from outdoor_items(day)
    yield from ((run_out_line(line, day.day),) for line in day.running_out)


def outdoor_items(day: Day) -> Iterator[tuple[str, ...]]:
    """The same without the shelf: weather, its record, and what a pen showed."""
    for alert in day.alerts:
        told = fact_words(alert.fact, day.day)
        yield (f"{told} ({_whom(alert.timelines, day)}).", *alert_advice(alert))
    yield from _put_off_items(day)
    yield from ((frost_words(spell),) for spell in day.frosts)
    if day.hard_frost is not None:
        yield (frost_ahead(day.hard_frost),)
    if day.record_age_days is not None:
        yield (
            say(
                "The weather record ends {days} days ago; nothing is foretold from it.",
                days=day.record_age_days,
            ),
        )
    for reading in day.readings:
        yield (
            say("Pen, {day}: {words}.", day=day_words(reading.entry.day, day.day), words=pen_words(reading)),
        )


def _whom(timelines: Iterable[Timeline], day: Day) -> str:
    """Trees by name; where they are many and most of those here, everybody but the others."""
    timelines = tuple(timelines)
    meant = {name for timeline in timelines for name in timeline.names}
    others = [tree_words(each.tree) for each in day.watched if each.tree.name not in meant]
    if len(meant) < _MANY or not day.watched or len(others) * 2 > len(meant):
        return names_words(timelines)
    return say("all but {names}", names=", ".join(others)) if others else say("all")


def _put_off_items(day: Day) -> Iterator[tuple[str, ...]]:
    """The feeds that the weather puts off, those of one cause and day together; how to find out whether it is right."""
    joined: dict[tuple[date, str], list[DeferredFeed]] = {}
    for put in day.put_off:
        cause = "" if put.is_told else cause_words(put.reason.fact, day.day)
        joined.setdefault((put.resumed or date.max, cause), []).append(put)
    for (resumed, cause), puts in joined.items():
        line = say(
            _PUT_OFF[resumed < date.max, bool(cause)],
            day=day_words(resumed, day.day),
            cause=cause,
            groups=", ".join(dict.fromkeys(map(_put_off_group, puts))),
        )
        rain = any(put.reason.rule is Rule.RAIN for put in puts)
        under = [say("It would wash the feed out; checks go on.")] if rain else []
        if asked := dict.fromkeys(put.group for put in puts if put.asks):
            commands = [
                say("feedplan record root-zone TEMPERATURE --group {group}", group=typed_words([group]))
                for group in asked
            ]
            under.append(
                say(
                    "Look for yourself: hold a thermometer in a pot, and what it says counts before the air: "
                    "{commands}",
                    commands="; ".join(commands),
                )
            )
        yield (line, *under)


_PUT_OFF = {
    (True, True): "Feed put off to {day}, {cause}: {groups}.",
    (True, False): "Feed put off to {day}: {groups}.",
    (False, True): "No day in sight for feed, {cause}: {groups}.",
    (False, False): "No day in sight for feed: {groups}.",
}


def _put_off_group(put: DeferredFeed) -> str:
    """A group, with those of its trees that are meant where not all are."""
    return put.group if put.is_of_all else f"{put.group} ({names_words(put.timelines)})"


def _feeding(day: Day, collection: Collection) -> Iterator[str]:
    """What to mix, and what to lay and lift."""
    if day.away is not None and not day.mixes:
        yield say("Nothing: you are away. A helper waters and never mixes feed.")
    if day.to_mix:
        yield say(
            "The label comes first. Water dry pots first. Half-fill, dissolve fully, top up; use today."
        )
    steps = zip(day.cans.batches, can_steps(day.cans), strict=True)
    for turn, (batch, (first, *then)) in enumerate(steps, 1):
        yield f"{turn}. {first}"
        yield from (f"   {line}" for line in (*then, *short_lines(batch, day.running_out, day.day)))
    yield from left_over_line(day.cans)
    for mix in day.mixes:
        yield feeding_title(mix.item)
        yield from (f"  {line}" for line in _mix_lines(mix, day, collection))
    for item in day.solids:
        title, *lines = solid_item(item, collection)
        yield title
        yield from (f"  {line}" for line in lines)
    yield from (not_laid_line(out, day) for out in day.not_laid)


def not_laid_line(out: LeftOut, day: Day) -> str:
    """Trees for which solid feed is due and falls away, and why."""
    names, reasons = names_words([out.timeline]), reasons_words(out.reasons, day.day)
    return say("No solid feed on {trees}: {reasons}", trees=names, reasons=reasons)


def _mix_lines(mix: DayMix, day: Day, collection: Collection) -> Iterator[str]:
    yield from mix_notes(mix.item, mix.can, day.cans, collection)
    yield say("Trees: {names}", names=names_words(mix.item.timelines, mix.item.day))
    yield season_total(mix)
    for names, reasons in mix_reasons(mix.item):
        yield f"{names}: {reasons}"


def mix_reasons(item: RoundItem) -> Iterator[tuple[str, str]]:
    """The trees of a mix whose feed was moved or weakened, each with why."""
    for timeline, event in zip(item.timelines, item.events, strict=True):
        if event.reasons:
            yield names_words([timeline]), reasons_words(event.reasons, item.day)


def season_total(mix: DayMix) -> str:
    """The season's nitrogen with this feed, of the budget."""
    return say(
        "Season's N with this feed: {given} of {budget} mg per litre of pot",
        given=_span(*(value.quantize(Decimal(1)) for value in mix.season_mg_per_l)),
        budget=_span(*mix.budget_mg_per_l),
    )


def _span(low: Decimal, high: Decimal) -> str:
    least, most = number(low), number(high)
    return least if least == most else say("{least} to {most}", least=least, most=most)


def solid_item(item: SolidItem, collection: Collection) -> Iterator[str]:
    """What is laid or lifted: its title, then how."""
    yield solid_title(item)
    yield from solid_lines(item, collection)
    if item.status is not Status.RECORDED:
        yield say("Write it down: {command}", command=record_words(item))


def not_fed_line(out: LeftOut, day: Day) -> str:
    """Trees that get nothing, and why."""
    return f"{names_words([out.timeline])}: {not_fed_reason(out, day)}"


def not_fed_reason(out: LeftOut, day: Day) -> str:
    """Why some trees get nothing, or no liquid feed where solid feed is laid that day."""
    if out.holds:
        why = "; ".join(f"{hold_words(hold, day.day)}, {hold_end_words(hold, day.day)}" for hold in out.holds)
    else:
        why = reasons_words(out.reasons, day.day)
    return say("no liquid feed: {why}", why=why) if day.gets_solid(out.timeline) else why


def _flushes(day: Day, collection: Collection) -> Iterator[str]:
    for flush in day.flushes:
        title, *lines = flush_lines(flush, collection)
        yield title
        yield from (f"  {line}" for line in lines)


def _checks(day: Day) -> Iterator[str]:
    """The looks by time of day and bench, then which surfaces must dry, and what all that goes by."""
    everybody = by_place(day.watched)
    for checks in day.checks:
        places = "; ".join(place_words(name, trees, everybody[name]) for name, trees in checks.places)
        yield f"{checks.at:%H:%M}  {places}"
    raised: dict[str, list[str]] = {}
    for each in day.watched:
        if each.rise is not None:
            raised.setdefault(fact_words(each.rise.cause_on(day.day), day.day), []).append(
                tree_words(each.tree)
            )
    for cause, names in raised.items():
        yield say("More often than usual, {cause}: {names}", cause=cause, names=", ".join(names))
    if dry := [tree_words(each.tree) for each in day.watched if each.must_dry and each.looks]:
        yield say("Let the surface dry: {names}", names=", ".join(dry))
    if day.checks:
        looked_at = {each.tree.name for each in day.watched if each.looks}
        yield from own_water_sentences(day.own_waters, looked_at)
        yield checks_by_words(day.checks_by)


def by_place(watched: Iterable[TreeLooks]) -> dict[str, int]:
    """How many names stand at each place."""
    found: dict[str, int] = {}
    for each in watched:
        found[each.place] = found.get(each.place, 0) + 1
    return found


def place_words(name: str, trees: Sequence[TreeLooks], everybody: int) -> str:
    """The trees looked at in one place, of so many names there: all of them by the place alone."""
    if len(trees) == everybody and everybody > 1:
        return say("{place}: all {count}", place=name, count=sum(each.tree.count for each in trees))
    names = ", ".join(tree_words(each.tree) for each in trees)
    return say("{place}: {names}", place=name, names=names)


def look_for_lines(day: Day, collection: Collection) -> Iterator[str]:
    """The stages that may have come, the work whose time has come, then what the schedules say to look for."""
    for prompt in day.prompts:
        word = collection.vocabulary.words.get(prompt.stage)
        looks = f" ({say(word.looks_like).rstrip('.')})" if word is not None and word.looks_like else ""
        yield say(
            "{stage}{looks} on {group}: {names}",
            stage=prompt.stage,
            looks=looks,
            group=prompt.group,
            names=names_words(prompt.timelines),
        )
    yield from work_lines(day.work)
    yield from advice_lines(day)


def advice_lines(day: Day) -> Iterator[str]:
    """What the schedules say to look for at the stages reached."""
    yield from (f"{advised(each.groups)}, {each.stage}: {say(each.text)}" for each in day.advice)


def advised(groups: Iterable[tuple[str, tuple[Tree, ...]]]) -> str:
    """Whom an advice is for: groups, with those of their trees that are meant where not all are."""
    return listed([_group_words(name, trees) for name, trees in groups])


def _group_words(name: str, trees: Sequence[Tree]) -> str:
    """A group, with those of its trees that are meant where not all are."""
    return f"{name} ({', '.join(map(tree_words, trees))})" if trees else name

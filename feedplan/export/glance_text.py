"""The day's round on one screen: what cannot wait, what to mix, whom not to feed, when to check, and what is new.

Each tree stands once in each list, and what is the same day after day is left to the whole round behind it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from unicodedata import category, east_asian_width

from feedplan.engine.day import Day, LeftOut
from feedplan.engine.season import Review, Timeline
from feedplan.engine.water.day_checks import ChecksAt
from feedplan.export.can_text import can_steps
from feedplan.export.entries import feeding_title
from feedplan.export.round_text import (
    advised,
    by_place,
    not_laid_line,
    note_lines,
    one_line,
    outdoor_items,
    overdue_lines,
    place_words,
)
from feedplan.export.sink_text import measured_by_label, run_out_line, short_lines, too_little
from feedplan.export.solid_text import solid_title
from feedplan.export.water_text import flush_lines
from feedplan.export.work_text import work_lines
from feedplan.model.collection import Collection
from feedplan.model.reason import NotDue, PeriodAhead
from feedplan.words.language import say
from feedplan.words.reasons import reasons_words, sign_words
from feedplan.words.writing import (
    listed,
    litres_words,
    names_in_short,
    names_words,
)

WIDTH = 80
"""Columns of a screen that need no scrolling sideways."""


@dataclass(frozen=True, slots=True)
class Block:
    """One thing to do. label: what it is, a word; items: a line each, before they are filled to the screen's width.

    is_about_more: it says which commands say more, and is nothing to do.
    """

    label: str
    items: tuple[str, ...]
    is_about_more: bool = False


def glance_lines(
    day: Day,
    collection: Collection,
    width: int = WIDTH,
    *,
    coming: Sequence[str] = (),
    marked: Callable[[str], str] = str,
) -> Iterator[str]:
    """The round on one screen, filled to so many columns. marked: how a block's label is made to stand out.

    coming: what comes next, told on a day with nothing to do as far as it fits beside that.
    """
    yield from filled(_with_next(one_line(day), coming, width), width, after="  ")
    if day.is_quiet and day.record_age_days is None:
        return
    blocks = [block for block in glance_blocks(day, collection) if block.items]
    margin = max((columns(block.label) for block in blocks), default=0) + 2
    for block in blocks:
        head = marked(block.label) + " " * (margin - columns(block.label))
        for part in (part for item in block.items for part in item.splitlines()):
            for line in filled(part, width - margin, after="  "):
                yield head + line
                head = " " * margin


def _with_next(line: str, coming: Sequence[str], width: int) -> str:
    """The one line with as much of what comes next as it has room for."""
    for count in range(len(coming), 0, -1):
        longer = say("{line}. Next {coming}", line=line, coming="; ".join(coming[:count]))
        if columns(longer) <= width:
            return longer
    return line


def glance_blocks(day: Day, collection: Collection) -> Iterator[Block]:
    """What there is to do, in the order in which it is done; a block may be empty."""
    yield Block(say("Look"), tuple(_first_looks(day)))
    yield Block(say("Mix"), tuple(_mixes(day, collection)))
    yield Block(say("Lay"), tuple(_solids(day)))
    yield Block(say("Not"), tuple(_not_fed(day)))
    yield Block(say("Flush"), tuple(next(iter(flush_lines(each, collection))) for each in day.flushes))
    yield Block(say("Water"), tuple(_checks(day)))
    yield Block(say("New"), tuple(_news(day, collection)))
    yield Block(say("More"), (say("feedplan round --all, feedplan why TREE"),), is_about_more=True)


def _first_looks(day: Day) -> Iterator[str]:
    """What is out of the ordinary, a line each; then the held trees to look at, those asked the same together."""
    yield from overdue_lines(day)
    yield from (first for first, *_ in outdoor_items(day))
    of_tree: dict[str, list[Review]] = {}
    for review in day.open_looks:
        of_tree.setdefault(review.timeline.lineage, []).append(review)
    asked: dict[str, list[Timeline]] = {}
    for reviews in of_tree.values():
        asked.setdefault(_questions(reviews), []).append(reviews[0].timeline)
    questions = [
        say("{names}: {question}", names=_bare_names(timelines), question=question)
        for question, timelines in asked.items()
    ]
    yield from [" ".join(questions)] if questions else []


def _questions(reviews: Iterable[Review]) -> str:
    """All that is asked of the same trees: each sign once, then whether to wait for the next spring."""
    springs = {review.carry_to for review in reviews if review.carry_to is not None}
    signs: dict[str, None] = {}
    for review in reviews:
        if review.carry_to is None:
            words = [sign_words(met.left) for met in review.hold.missing]
            signs.update(dict.fromkeys(words or [say("still well")]))
    found = [say("{signs}?", signs=listed(list(signs)))] if signs else []
    return " ".join([*found, *(say("put off to spring {year}?", year=year) for year in sorted(springs))])


def _mixes(day: Day, collection: Collection) -> Iterator[str]:
    """Each weighing with what is poured of it; then feeds that no can here makes, by group."""
    for batch, step in zip(day.cans.batches, can_steps(day.cans, short=True), strict=True):
        yield from step
        yield from short_lines(batch, day.running_out, day.day)
    for mix in day.to_mix:
        item, steps = mix.item, tuple(measured_by_label(mix.by_label))
        names = names_words(item.timelines, item.day)
        if item.can is None or item.key in day.cans.not_made:
            yield say("{title}: {names}.", title=feeding_title(item), names=names)
        if len(steps) == 1:
            poured = say("Pour {litres}: {trees}.", litres=litres_words(item.poured_litres), trees=names)
            steps = (f"{steps[0]} {poured}",)
        yield from steps
        if item.can is not None and item.key in day.cans.not_made:
            yield from too_little(item, collection)
    if day.to_mix:
        yield say("Label first. Wet dry pots first. Nothing into drains or ponds.")


def _solids(day: Day) -> Iterator[str]:
    for item in day.solids:
        yield say("{title}: {names}", title=solid_title(item), names=names_words(item.timelines, item.day))
    yield from (not_laid_line(out, day) for out in day.not_laid)


def _not_fed(day: Day) -> Iterator[str]:
    """Who is not fed though others are: the held first, those whose next feed has a day, then the rest by reason."""
    if not day.to_mix:
        return
    solid_only = [timeline for timeline in day.held if day.gets_solid(timeline)]
    if held := [timeline for timeline in day.held if timeline not in solid_only]:
        yield say("held: {names}", names=_bare_names(held))
    if solid_only:
        yield say("held, no liquid feed: {names}", names=_bare_names(solid_only))
    due: dict[date, list[Timeline]] = {}
    others: dict[str, list[Timeline]] = {}
    for out in day.not_fed:
        if (coming := _next_feed(out)) is not None:
            due.setdefault(coming, []).append(out.timeline)
        elif not out.holds:
            others.setdefault(reasons_words(out.reasons[:1], day.day), []).append(out.timeline)
    if due:
        yield say("due later: {names}", names=_bare_names(t for coming in sorted(due) for t in due[coming]))
    for reason, timelines in others.items():
        yield say("{names}: {reason}", names=_bare_names(timelines), reason=reason)


def _next_feed(out: LeftOut) -> date | None:
    """The day of the next feed of trees that are only not due yet."""
    if out.holds or len(out.reasons) != 1:
        return None
    fact = out.reasons[0].fact
    if isinstance(fact, NotDue):
        return fact.coming
    return fact.opens if isinstance(fact, PeriodAhead) else None


def _bare_names(timelines: Iterable[Timeline]) -> str:
    """Trees by name alone; how many stand under a name is said where something is mixed for them."""
    return ", ".join(name for timeline in timelines for name in timeline.names)


def _checks(day: Day) -> Iterator[str]:
    """The looks by time of day; then which surfaces must dry."""
    for number, checks in enumerate(day.checks):
        names = _looked_at(checks, day, by_bench=number == 0)
        yield say("{time} {names}", time=f"{checks.at:%H:%M}", names=names)
    if dry := [each.tree.name for each in day.watched if each.must_dry and each.looks]:
        yield say("let surfaces dry: {names}", names=", ".join(dry))


def _looked_at(checks: ChecksAt, day: Day, *, by_bench: bool) -> str:
    """Who is looked at: everybody, everybody but a few, or by name; on the first walk bench by bench."""
    looked = [each.tree.name for each in checks.trees]
    others = [each.tree.name for each in day.watched if each.tree.name not in looked]
    if not others and len(looked) > 1:
        return say("all {count}", count=sum(each.tree.count for each in checks.trees))
    if len(others) < len(looked):
        return say("all but {names}", names=", ".join(others)) if others else looked[0]
    if not by_bench or len(looked) == 1:
        return ", ".join(looked)
    everybody = by_place(day.watched)
    return "; ".join(place_words(place, trees, everybody[place]) for place, trees in checks.places)


def _news(day: Day, collection: Collection) -> Iterator[str]:
    """What this day is the first to say: stages that may have come, advice at a stage just reached, notes, shelf."""
    stages: dict[str, list[str]] = {}
    for prompt in day.prompts:
        names = names_in_short([name for timeline in prompt.timelines for name in timeline.names])
        group = prompt.group if prompt.is_of_all else f"{prompt.group} ({names})"
        stages.setdefault(prompt.stage, []).append(group)
    for stage, groups in stages.items():
        yield say("{stage} yet? {groups}", stage=stage, groups=", ".join(dict.fromkeys(groups)))
    yield from (
        say("{groups}: {text}", groups=advised(advice.newly), text=say(advice.text))
        for advice in day.advice
        if advice.since == day.day
    )
    yield from work_lines(day.work)
    yield from note_lines(day)
    yield from (run_out_line(line, day.day) for line in day.run_outs_to_tell)


def columns(text: str) -> int:
    """How many columns of a terminal a text takes: two for a wide character, none for a combining one."""
    return sum(
        0 if category(each) in ("Mn", "Me", "Cf") else 2 if east_asian_width(each) in "WF" else 1
        for each in text
    )


def filled(text: str, width: int, *, after: str = "") -> Iterator[str]:
    """A text broken between words into lines of so many columns. after: what every line but the first begins with."""
    line, used = "", 0
    for word in text.split():
        size = columns(word)
        if line.strip() and used + 1 + size > width:
            yield line
            line, used = after + word, columns(after) + size
        else:
            line, used = (f"{line} {word}", used + 1 + size) if line.strip() else (line + word, used + size)
    yield line

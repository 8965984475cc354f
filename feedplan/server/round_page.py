"""The round of a day as a phone shows it, and its cards: what to look at, mix, leave out, check and look for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from urllib.parse import urlencode

from feedplan.engine.day import SHOWN_STATUSES, Day, DayMix, day_of
from feedplan.engine.season import Season
from feedplan.engine.sink.cans import CanBatch
from feedplan.export.can_text import can_steps, left_over_line
from feedplan.export.entries import review_words
from feedplan.export.round_text import (
    advice_lines,
    alert_items,
    line_parts,
    mix_reasons,
    not_fed_reason,
    not_laid_line,
    note_lines,
    season_total,
    solid_item,
)
from feedplan.export.sink_text import mix_notes
from feedplan.export.water_text import bench_lines, flush_lines
from feedplan.export.work_text import work_lines
from feedplan.model.collection import Collection
from feedplan.model.course import Status
from feedplan.server.bench_rows import BenchRow, bench_rows, checked_on
from feedplan.server.tree_links import TreeLink, TreeLinks
from feedplan.words.feeds import asked_words
from feedplan.words.language import say
from feedplan.words.outdoors import checks_by_words
from feedplan.words.writing import day_words, full_day, long_day

TextItem = tuple[str, tuple[str, ...]]
"""A line of the round as text, and the lines indented under it."""
DAYS_AHEAD = 7


@dataclass(frozen=True, slots=True)
class DayLink:
    """One day of the strip above the round. fed: trees to feed or fed that day."""

    day: date
    href: str
    is_shown: bool
    fed: int


@dataclass(frozen=True, slots=True)
class MixCard:
    """One mix: whom it is for; how it is made is told by the cans of the day.

    sink: the address of the sink for this product, strength and can, "" where no product is named.
    """

    group: str
    status: Status
    due: str
    feed: str
    strength: str
    sink: str
    trees: tuple[TreeLink, ...]
    head_count: int
    reasons: tuple[tuple[str, str], ...]
    lines: tuple[str, ...]

    @property
    def can_be_recorded(self) -> bool:
        """Whether nobody has written down yet that it was given."""
        return self.status is not Status.RECORDED


@dataclass(frozen=True, slots=True)
class LookCard:
    """A held tree to look at. signs: what to tap when seen. spring: the year it may be put off to, None before that.

    is_answered: somebody has looked.
    """

    title: str
    lines: tuple[str, ...]
    do: tuple[str, ...]
    signs: tuple[str, ...]
    trees: tuple[TreeLink, ...]
    spring: int | None = None
    is_answered: bool = False


@dataclass(frozen=True, slots=True)
class Question:
    """What several looks of a day ask alike."""

    signs: tuple[str, ...]
    trees: tuple[TreeLink, ...]


@dataclass(frozen=True, slots=True)
class CanCard:
    """One weighing of a day. steps: what hands do, in order; trees: those to write down as fed when it is poured."""

    steps: tuple[str, ...]
    trees: tuple[TreeLink, ...]


@dataclass(frozen=True, slots=True)
class StageCard:
    """A stage that may have come."""

    stage: str
    looks_like: str
    group: str
    trees: tuple[TreeLink, ...]


@dataclass(frozen=True, slots=True)
class RoundPage:
    """Everything on the page of one day.

    alerts, solids, flushes: a line each, with what belongs to it. left_over: what to do with the rest of all cans.
    thirst: how soon each bench is dry. benches: the trees of the day by bench, those that are to get and be asked the
    same together.
    """

    day: date
    heading: str
    line: str
    days: tuple[DayLink, ...]
    alerts: tuple[TextItem, ...]
    looks: tuple[LookCard, ...]
    cans: tuple[CanCard, ...]
    left_over: tuple[str, ...]
    mixes: tuple[MixCard, ...]
    solids: tuple[TextItem, ...]
    not_these: tuple[tuple[tuple[TreeLink, ...], str], ...]
    flushes: tuple[TextItem, ...]
    thirst: tuple[tuple[str, str], ...]
    benches: tuple[tuple[str, tuple[BenchRow, ...]], ...]
    checks_by: str
    stages: tuple[StageCard, ...]
    look_for: tuple[str, ...]
    notes: tuple[str, ...]
    away: str

    @property
    def contents(self) -> list[tuple[str, str, int]]:
        """The sections with something in them: id of the heading, what is to be done, with how many."""
        trees = [tree for _, rows in self.benches for row in rows if row.rate for tree in row.trees]
        checked = sum(tree.count for tree in trees if not tree.found)
        fed = sum(mix.head_count for mix in self.mixes if mix.can_be_recorded)
        held = sum(tree.count for trees, _ in self.not_these for tree in trees)
        sections = [
            (
                "h-look",
                "to look at",
                len({t.name for look in self.looks if not look.is_answered for t in look.trees}),
            ),
            ("h-feed", "to feed", fed),
            ("h-not", "not", held),
            ("h-water", "to check", checked),
        ]
        is_there = {"h-look": self.looks, "h-feed": self.mixes, "h-not": self.not_these, "h-water": trees}
        return [section for section in sections if is_there[section[0]]]

    @property
    def questions(self) -> list[Question]:
        """What the looks without an answer ask, each question once."""
        found: dict[tuple[str, ...], list[LookCard]] = {}
        for look in self.looks:
            if look.signs and not look.is_answered:
                found.setdefault(look.signs, []).append(look)
        return [
            Question(signs, tuple(tree for look in looks for tree in look.trees))
            for signs, looks in found.items()
        ]


def day_href(day: date, today: date) -> str:
    """The page of a day; today's has the shortest address."""
    return "./" if day == today else f"day-{day}.html"


def round_page(season: Season, collection: Collection, on: date) -> RoundPage:
    """The page of a day."""
    day, links = day_of(season, on), TreeLinks(collection)
    return RoundPage(
        day=on,
        heading=long_day(on),
        line=", ".join(line_parts(day)),
        days=tuple(_days(season, on)),
        alerts=tuple(_text_item(item) for item in alert_items(day)),
        looks=tuple(_looks(day, links)),
        cans=tuple(_cans(day, links)),
        left_over=tuple(left_over_line(day.cans)),
        mixes=tuple(_mix(mix, day, collection, links) for mix in day.mixes),
        solids=(
            *(_text_item(tuple(solid_item(item, collection))) for item in day.solids),
            *(_text_item((not_laid_line(out, day),)) for out in day.not_laid),
        ),
        not_these=tuple(
            (links.of_timelines([out.timeline]), not_fed_reason(out, day)) for out in day.not_fed
        ),
        flushes=tuple(_text_item(tuple(flush_lines(flush, collection))) for flush in day.flushes),
        thirst=tuple(
            (bench.name, line)
            for bench, line in zip(
                day.thirst, bench_lines(day.thirst, collection.habits.can_litres), strict=True
            )
        ),
        benches=tuple(bench_rows(day, collection, links, checked_on(season, on))),
        checks_by=checks_by_words(day.checks_by),
        stages=tuple(_stages(day, collection, links)),
        look_for=(*work_lines(day.work), *advice_lines(day)),
        notes=tuple(note_lines(day)),
        away="" if day.away is None else _away_words(day.away.end),
    )


def _away_words(end: date) -> str:
    return say("Away to {day}: a helper waters and mixes no feed.", day=full_day(end))


def _text_item(lines: tuple[str, ...]) -> TextItem:
    return lines[0], lines[1:]


def strip_days(today: date) -> list[date]:
    """Yesterday, today and the days ahead that are one tap away."""
    return [today + timedelta(days=ahead) for ahead in range(-1, DAYS_AHEAD + 1)]


def _days(season: Season, shown: date) -> Iterator[DayLink]:
    fed: dict[date, int] = {}
    for item in season.rounds:
        if item.status in SHOWN_STATUSES:
            fed[item.day] = fed.get(item.day, 0) + item.head_count
    for day in strip_days(season.today):
        yield DayLink(day, day_href(day, season.today), day == shown, fed.get(day, 0))


def _looks(day: Day, links: TreeLinks) -> Iterator[LookCard]:
    for review in day.looks:
        title, lines = review_words(review)
        if review.day < day.day:
            title = say("{title} (due {day})", title=title, day=day_words(review.day, day.day))
        yield LookCard(
            title=title,
            lines=tuple(lines),
            do=tuple(map(say, review.hold.rule.do)),
            signs=tuple(met.need.sign for met in review.hold.missing),
            trees=links.of_timelines([review.timeline]),
            spring=review.carry_to,
            is_answered=review.is_answered,
        )


def _cans(day: Day, links: TreeLinks) -> Iterator[CanCard]:
    """The cans of a day; a tree poured from several belongs to the last of them."""
    open_mixes = [mix.item for mix in day.mixes if mix.item.status is not Status.RECORDED]
    unfed = {link.name: link for item in open_mixes for link in links.of_timelines(item.timelines)}
    last = {name: number for number, batch in enumerate(day.cans.batches) for name in _poured_from(batch)}
    for number, (batch, steps) in enumerate(zip(day.cans.batches, can_steps(day.cans), strict=True)):
        names = dict.fromkeys(name for name in _poured_from(batch) if last[name] == number and name in unfed)
        yield CanCard(steps, tuple(unfed[name] for name in names))


def _poured_from(batch: CanBatch) -> Iterator[str]:
    return (pour.tree for pour in batch.pours)


def _mix(mix: DayMix, day: Day, collection: Collection, links: TreeLinks) -> MixCard:
    item, can = mix.item, mix.item.can
    due = ""
    if item.status is Status.OVERDUE:
        due = say("Due {day}. Give it once, never doubled.", day=day_words(item.events[0].told, item.day))
    return MixCard(
        group=item.group,
        status=item.status,
        due=due,
        sink=_sink_address(mix, collection),
        feed=item.feed or (str(can.ratio) if can is not None else ""),
        strength=asked_words(item),
        trees=links.of_timelines(item.timelines),
        head_count=item.head_count,
        reasons=tuple(mix_reasons(item)),
        lines=(*mix_notes(item, mix.can, day.cans, collection), season_total(mix)),
    )


def _sink_address(mix: DayMix, collection: Collection) -> str:
    """The sink with what this mix is made of, so that it can be made again or in another can."""
    feed = collection.feeds.get(mix.item.feed or "")
    if feed is None or feed.is_solid:
        return ""
    asked = {"product": feed.name, "strength": "own", "own_ppm": f"{mix.item.ppm.normalize():f}"}
    can = f"{collection.habits.can_litres.normalize():f}"
    return f"sink.html?{urlencode({**asked, 'can': 'own', 'own_can': can})}"


def _stages(day: Day, collection: Collection, links: TreeLinks) -> Iterator[StageCard]:
    for prompt in day.prompts:
        word = collection.vocabulary.words.get(prompt.stage)
        looks_like = say(word.looks_like) if word is not None else ""
        yield StageCard(prompt.stage, looks_like, prompt.group, links.of_timelines(prompt.timelines))

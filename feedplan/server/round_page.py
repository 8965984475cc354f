"""The round of a day as a phone shows it: what to look at, mix, leave out, check and look for."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from decimal import Decimal

from feedplan.engine.sink.can import can_of
from feedplan.export.entries import feeding_title, review_words
from feedplan.export.round_text import SHOWN_ON_A_ROUND, Round, round_facts, round_lines
from feedplan.model.collection import Collection, Tree
from feedplan.model.course import Status
from feedplan.model.journal import Moved
from feedplan.model.season import CheckStretch, Review, RoundItem, Season, Timeline
from feedplan.server.filling import filling
from feedplan.server.round_cards import (
    CheckRow,
    DayLink,
    LookCard,
    MixCard,
    RoundPage,
    StageCard,
    TextItem,
    TreeLink,
    TreeLinks,
    day_href,
)
from feedplan.words.outdoors import checks_by_words, rate_words
from feedplan.words.reasons import fact_words, hold_end_words, hold_words, reasons_words
from feedplan.words.writing import capital, day_words, full_day, names_words, ppm_words

DAYS_AHEAD = 7

# Headings of the round in text whose content has cards of its own on the page.
_IN_CARDS = frozenset(
    ("Look first", "Mix and feed", "Not these", "Thirstiest first", "Check water", "Look for", "Notes")
)
# Lines of a mix that the card shows in its own way, for the can chosen.
_SAID_ELSEWHERE = ("Trees: ", "Fill ", "Water for a can: ", "About ", "Too little to weigh")


def round_page(season: Season, collection: Collection, day: date, can_litres: Decimal) -> RoundPage:
    """The page of a day, amounts for a can of that size [L]."""
    day_round = Round(season, collection, day)
    builder = _Builder(day_round, TreeLinks(collection), can_litres)
    prompts = len(day_round.prompts)
    away = day_round.away
    return RoundPage(
        day=day,
        heading=f"{day:%A} {day.day} {day:%B}",
        line=day_round.one_line.partition(" - ")[2],
        days=tuple(_days(season, day)),
        alerts=tuple(builder.alerts()),
        looks=tuple(builder.looks()),
        mixes=tuple(builder.mixes()),
        solids=tuple(builder.solids()),
        not_these=tuple(builder.not_these()),
        thirst=tuple(line for line, _ in builder.text["Thirstiest first"]),
        benches=tuple(builder.benches()),
        checks_by=checks_by_words(season.checks_by),
        stages=tuple(builder.stages()),
        look_for=tuple(round_facts(day_round)["look_for"][prompts:]),
        others=tuple((head, tuple(said)) for head, said in builder.text.items() if head not in _IN_CARDS),
        notes=tuple(event.note.say for event in day_round.notes),
        away="" if away is None else f"Away to {full_day(away.end)}: a helper waters and mixes no feed.",
    )


def strip_days(today: date) -> list[date]:
    """Yesterday, today and the days ahead that are one tap away."""
    return [today + timedelta(days=ahead) for ahead in range(-1, DAYS_AHEAD + 1)]


def _days(season: Season, shown: date) -> Iterator[DayLink]:
    fed: dict[date, int] = {}
    for item in season.rounds:
        if item.status in SHOWN_ON_A_ROUND:
            fed[item.day] = fed.get(item.day, 0) + item.head_count
    for day in strip_days(season.today):
        yield DayLink(day, day_href(day, season.today), day == shown, fed.get(day, 0))


def bench_of(tree: Tree, timeline: Timeline | None, collection: Collection, day: date) -> str:
    """Where a tree stands on a day: as last moved, as its own entry says, or with its group."""
    group = tree.group
    if timeline is not None:
        moves = [
            entry.fact.bench
            for entry in sorted(timeline.entries, key=lambda entry: entry.day)
            if isinstance(entry.fact, Moved) and entry.fact.bench and entry.day <= day
        ]
        if moves:
            return moves[-1]
        group = timeline.group_on(day)
    return tree.bench or collection.groups[group].bench or group


class _Builder:
    """Puts one day's round into cards."""

    def __init__(self, day_round: Round, links: TreeLinks, can_litres: Decimal) -> None:
        self._round = day_round
        self._collection = day_round.collection
        self._links = links
        self._can = can_litres
        self._timelines = {tree.name: t for t in day_round.season.timelines for tree in t.trees}
        self.text = _sections(day_round)

    def alerts(self) -> Iterator[TextItem]:
        """What else is out of the ordinary, as the round says it."""
        titles = {self._look_title(review) for review in self._round.reviews}
        return (item for item in self.text["Look first"] if item[0] not in titles)

    def _look_title(self, review: Review) -> str:
        title = review_words(review)[0]
        return (
            title
            if review.day == self._round.day
            else f"{title} (due {day_words(review.day, self._round.day)})"
        )

    def looks(self) -> Iterator[LookCard]:
        for review in self._round.reviews:
            lines = review_words(review)[1]
            yield LookCard(
                title=self._look_title(review),
                lines=tuple(lines),
                do=review.hold.rule.do,
                signs=tuple(met.need.sign for met in review.hold.missing),
                trees=self._links.of_timelines([review.timeline]),
            )

    def mixes(self) -> Iterator[MixCard]:
        """The mixes, weakest first, each with what to do to the can before it."""
        said = self.text["Mix and feed"]
        for item in sorted(self._round.items, key=lambda i: (i.ppm, i.group)):
            title = feeding_title(item, self._collection)
            place = next((i for i, (line, _) in enumerate(said) if line == title), None)
            lines = said[place][1] if place is not None else ()
            before = said[place - 1][0] if place and said[place - 1][0].startswith("Rinse") else ""
            yield self._mix(
                item, tuple(line for line in lines if not line.startswith(_SAID_ELSEWHERE)), before
            )

    def _mix(self, item: RoundItem, lines: tuple[str, ...], before: str) -> MixCard:
        can = can_of(item, self._collection)
        overdue = item.status is Status.OVERDUE
        names = {names_words([timeline]) for timeline in item.timelines}
        return MixCard(
            group=item.group,
            status=item.status,
            due=f"Due {day_words(item.events[0].due, item.day)}. Give it once, never doubled."
            if overdue
            else "",
            feed=item.feed or (str(can.ratio) if can is not None else ""),
            strength=ppm_words(item.ppm),
            poured=item.poured_litres,
            now=filling(can.doses, item.poured_litres, self._can) if can is not None else None,
            trees=self._links.of_timelines(item.timelines),
            head_count=item.head_count,
            reasons=tuple(
                (names_words([timeline]), reasons_words(event.reasons, item.day))
                for timeline, event in zip(item.timelines, item.events, strict=True)
                if event.reasons
            ),
            lines=tuple(line for line in lines[1:] if line.partition(": ")[0] not in names),
            before=before,
        )

    def solids(self) -> Iterator[TextItem]:
        """What is laid and lifted, as the round says it."""
        mixes = {feeding_title(item, self._collection) for item in self._round.items}
        for line, under in self.text["Mix and feed"]:
            if line not in mixes and under:
                yield line, under

    def not_these(self) -> Iterator[tuple[tuple[TreeLink, ...], str]]:
        day_round = self._round
        for timeline in day_round.held:
            holds = [h for h in timeline.holds if h.covers(day_round.day) and not h.by_weather]
            day = day_round.day
            why = "; ".join(f"{hold_words(hold, day)}, {hold_end_words(hold, day)}" for hold in holds)
            yield self._links.of_timelines([timeline]), why
        held = {timeline.lineage for timeline in day_round.held}
        for lineage, out in day_round.left_out.items():
            if lineage not in held:
                why = reasons_words(out.reasons, day_round.day)
                yield self._links.of_timelines([out.timeline]), why

    def benches(self) -> Iterator[tuple[str, tuple[CheckRow, ...]]]:
        """Checks by bench, the thirstiest first: by the weather where it is known, else by how often to look."""
        rows: dict[str, list[CheckRow]] = {bench.name: [] for bench in self._round.benches}
        for stretch in self._round.checks:
            for bench, trees in self._by_bench(stretch).items():
                note = fact_words(stretch.cause, self._round.day) if stretch.cause is not None else ""
                note = note if stretch.hold is None else f"as well: {stretch.hold.rule.name}"
                links = tuple(self._links.of(t, self._minding(t, stretch)) for t in trees)
                rows.setdefault(bench, []).append(CheckRow(capital(rate_words(stretch.rate)), note, links))
        for bench, found in rows.items():
            if found:
                yield bench, tuple(_joined(found))

    def _by_bench(self, stretch: CheckStretch) -> dict[str, list[Tree]]:
        found: dict[str, list[Tree]] = {}
        for tree in stretch.trees:
            bench = bench_of(tree, self._timelines.get(tree.name), self._collection, self._round.day)
            found.setdefault(bench, []).append(tree)
        return found

    def _minding(self, tree: Tree, stretch: CheckStretch) -> str:
        return "let the surface dry" if tree.name in stretch.surface_dry else ""

    def stages(self) -> Iterator[StageCard]:
        for prompt in self._round.prompts:
            word = self._collection.vocabulary.words.get(prompt.stage)
            looks_like = word.looks_like if word is not None else ""
            yield StageCard(
                prompt.stage, looks_like, prompt.group, self._links.of_timelines(prompt.timelines)
            )


def _sections(day_round: Round) -> dict[str, list[TextItem]]:
    """The round as text, by heading; nothing for a heading that is not there."""
    found: dict[str, list[tuple[str, list[str]]]] = defaultdict(list)
    heading = ""
    for line in list(round_lines(day_round))[1:]:
        if line and not line.startswith(" "):
            heading = line
        elif line.startswith("    ") and found[heading]:
            found[heading][-1][1].append(line.strip())
        elif line:
            found[heading].append((line.strip(), []))
    return defaultdict(
        list, {h: [(line, tuple(under)) for line, under in items] for h, items in found.items()}
    )


def _joined(rows: Sequence[CheckRow]) -> Iterator[CheckRow]:
    """Rows of one bench, those with the same rate and note made one."""
    trees: dict[tuple[str, str], list[TreeLink]] = {}
    for row in rows:
        trees.setdefault((row.rate, row.note), []).extend(row.trees)
    for (rate, note), links in trees.items():
        yield CheckRow(rate, note, tuple(links))

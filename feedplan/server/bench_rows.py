"""A bench on the page of a day: each tree once, in a row with those that get and are asked the same."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import NamedTuple

from feedplan.engine.day import Day
from feedplan.engine.season import Season
from feedplan.engine.water.day_checks import TreeLooks
from feedplan.model.collection import Collection
from feedplan.model.course import Status
from feedplan.model.journal import Checked
from feedplan.server.tree_links import TreeLink, TreeLinks
from feedplan.words.feeds import asked_words
from feedplan.words.language import say
from feedplan.words.outdoors import rate_words
from feedplan.words.reasons import fact_words, missing_words
from feedplan.words.writing import capital, listed, measured_words


@dataclass(frozen=True, slots=True)
class BenchRow:
    """Trees of a bench for which the day asks the same. feed: how strong, or why none; product: of what.

    look: what to look for, "" for nothing.
    rate: how often to check water, "" where that is not due. note: why more often, and what to mind.
    """

    feed: str
    product: str
    look: str
    rate: str
    note: str
    trees: tuple[TreeLink, ...]


def bench_rows(
    day: Day, collection: Collection, links: TreeLinks, found: Mapping[str, str]
) -> Iterator[tuple[str, tuple[BenchRow, ...]]]:
    """The trees of the day by bench, in the order in which benches dry; in each what is fed first.

    found: the answers to checks that are written down for the day, by tree.
    """
    feeds, looks, left_out = _feeds(day), _looks(day), _left_out(day)
    dry_first = [place for place, _ in day.checks[0].places] if day.checks else []
    named = feeds.keys() | looks.keys()
    asked = [each for each in day.watched if each.looks or each.tree.name in named]

    def linked(each: TreeLooks) -> TreeLink:
        name = each.tree.name
        given, (look, _) = feeds.get(name, _NOTHING), looks.get(name, ("", ""))
        link = links.of(each.tree)
        return replace(
            link, found=found.get(name, ""), gets=given.litres, is_to_feed=given.is_open, look=look
        )

    for place in dict.fromkeys((*dry_first, *(each.place for each in asked))):
        rows: dict[_Key, list[TreeLooks]] = {}
        for each in (each for each in asked if each.place == place):
            name = each.tree.name
            given = feeds.get(name, _Given(left_out.get(name, "")))
            _, look = looks.get(name, ("", ""))
            key = _Key(
                not given.is_open, not look, given.words, given.product, look, -each.looks, _note(each, day)
            )
            rows.setdefault(key, []).append(each)
        yield (
            place,
            tuple(
                BenchRow(
                    key.feed,
                    key.product,
                    key.look,
                    _rate_words(row, collection),
                    key.note,
                    tuple(linked(each) for each in row),
                )
                for key, row in sorted(rows.items())
            ),
        )


class _Key(NamedTuple):
    """What trees of a row have alike; rows with a feed come first, then those to look at, then those checked most."""

    is_without_feed: bool
    is_without_look: bool
    feed: str
    product: str
    look: str
    fewer_checks: int
    note: str


class _Given(NamedTuple):
    """What a tree gets, how much, and of what. is_open: nobody has written down yet that it did."""

    words: str
    litres: str = ""
    product: str = ""
    is_open: bool = False


_NOTHING = _Given("")


def _feeds(day: Day) -> dict[str, _Given]:
    """What each tree of a mix gets."""
    poured: dict[str, Decimal] = {}
    for batch in day.cans.batches:
        for pour in batch.pours:
            poured[pour.tree] = poured.get(pour.tree, Decimal(0)) + pour.litres
    found = {}
    for item in (mix.item for mix in day.mixes):
        for name in item.names:
            is_open, ppm = item.status is not Status.RECORDED, asked_words(item)
            litres = measured_words(poured[name]) if name in poured else ""
            words = say("Feed {ppm}", ppm=ppm) if is_open else say("Fed {ppm}", ppm=ppm)
            found[name] = _Given(words, litres if is_open else "", item.feed or "", is_open)
    return found


def _looks(day: Day) -> dict[str, tuple[str, str]]:
    """The look of the day without an answer that asks about each tree, and what it asks."""
    return {
        name: (review.key, say("Look: {signs}?", signs=missing_words(review.hold)))
        for review in day.looks
        if not review.is_answered
        for name in review.timeline.names
    }


def _left_out(day: Day) -> dict[str, str]:
    """That a tree left out has no feed, after what where a hold says so."""
    found: dict[str, str] = {}
    for out in day.not_fed:
        holds = listed(list(dict.fromkeys(hold.rule.name for hold in out.holds)))
        words = say("No liquid feed") if day.gets_solid(out.timeline) else say("No feed")
        words = say("{words}: {why}", words=words, why=holds) if holds else words
        found |= dict.fromkeys(out.timeline.names, words)
    return found


def _note(each: TreeLooks, day: Day) -> str:
    cause = fact_words(each.rise.cause_on(day.day), day.day) if each.rise is not None else ""
    return ", ".join(filter(None, (cause, say("let the surface dry") if each.must_dry else "")))


def _rate_words(row: Sequence[TreeLooks], collection: Collection) -> str:
    """How often trees looked at alike are looked at, "" where that is not today."""
    times = [f"{at:%H:%M}" for at in collection.habits.checks_at[: row[0].looks]]
    rates = {rate_words(each.rate) for each in row}
    rate = next(iter(rates)) if len(rates) == 1 else say("today")
    return say("{rate}, at {times}", rate=capital(rate), times=", ".join(times)) if times else ""


def checked_on(season: Season, day: date) -> Mapping[str, str]:
    """The last answer to a check that is written down for a day, by tree."""
    return {
        tree.name: entry.fact.answer
        for timeline in season.timelines
        for entry in timeline.entries
        if entry.day == day and isinstance(entry.fact, Checked)
        for tree in timeline.trees
        if entry.is_about(tree.name)
    }

"""The checks of a lived year find what they are for, and nothing in a plan that keeps its word."""

from __future__ import annotations

from collections.abc import Callable, Set
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest

from tests.lived import checks
from tests.lived.asking import History
from tests.lived.garden import Garden
from tests.lived.gardens import SMALL
from tests.lived.growers import GROWERS
from tests.lived.life import Life, live
from tests.lived.plain_plan import asks_plainly, shifted
from tests.lived.told import PastFeed, Told, Why

YARD = SMALL["yard"]().garden.from_to(date(2027, 3, 1), date(2027, 10, 31))
SCRIPT = {
    45: (("repot", 2),),
    72: (("neighbour", 3),),
    91: (("trouble", 4), ("can", 1)),
    131: (("take back", 5),),
    141: (("prune", 6), ("neighbour", 7)),
}


@pytest.mark.parametrize(
    "grower", ["obedient", "writes everything", "writes late", "writes half", "takes back"]
)
@pytest.mark.parametrize("seed", range(2))
def test_a_plan_that_keeps_its_word_is_found_to(grower: str, seed: int) -> None:
    life = live(YARD, GROWERS[grower], seed, ask=asks_plainly)
    assert life.pours > 10
    assert [(v.day, v.tree, v.kind, v.text) for v in life.violations] == []


def test_a_year_lived_again_is_the_same_year() -> None:
    once, twice = (live(YARD, GROWERS["writes everything"], 3, ask=asks_plainly) for _ in range(2))
    assert (once.diary, once.pours, once.asked) == (twice.diary, twice.pours, twice.asked)
    assert once.diary != live(YARD, GROWERS["writes everything"], 4, ask=asks_plainly).diary


def test_a_script_takes_the_place_of_the_growers_own_deeds() -> None:
    life = live(YARD, GROWERS["writes everything"], 0, script=SCRIPT, ask=asks_plainly)
    assert {line[:10] for line in life.diary} <= {str(YARD.first + timedelta(days=day)) for day in SCRIPT}
    assert len(life.diary) >= 4


def broken(change: Callable[[Told], Told], grower: str = "obedient") -> set[str]:
    """The kinds of violation found when every morning's plan is changed in some way."""

    def asks(
        garden: Garden, day: date, history: History, expected: Set[str] = frozenset()
    ) -> tuple[Told, History]:
        told, history = asks_plainly(garden, day, history, expected)
        return change(told), history

    return {v.kind for v in live(YARD, GROWERS[grower], 0, script=SCRIPT, ask=asks).violations}


def test_a_feed_told_again_two_days_later_is_found() -> None:
    def twice(told: Told) -> Told:
        earlier = {tree: past[-1] for tree, past in told.past.items() if past}
        again = [t for t, past in earlier.items() if told.day - past.day == timedelta(days=2)]
        like = [replace(feeds[0], day=told.day) for tree in again if (feeds := told.ahead[tree])]
        return replace(told, today=(*told.today, *like))

    assert checks.TOO_SOON in broken(twice)


def test_a_feed_told_in_a_hold_is_found() -> None:
    def regardless(told: Told) -> Told:
        held = {awaited.tree for awaited in told.awaited}
        like = next((feed for feeds in told.ahead.values() for feed in feeds), None)
        feeds = [replace(like, tree=tree, day=told.day, due=told.day) for tree in held] if like else []
        return replace(told, today=(*told.today, *feeds))

    assert checks.IN_HOLD in broken(regardless, "writes everything")


def test_a_budget_passed_is_found() -> None:
    def small(told: Told) -> Told:
        return replace(told, care={n: replace(care, budget=Decimal(60)) for n, care in told.care.items()})

    assert broken(small) == {checks.OVER_BUDGET}


def test_feeds_that_slide_by_a_day_each_day_are_found() -> None:
    found = broken(lambda told: shifted(told, told.day.toordinal() % 2))
    assert checks.FEED_MOVED in found


def test_an_event_that_changes_its_name_is_found() -> None:
    def renamed(told: Told) -> Told:
        return replace(told, events={f"{key}/{told.day.month}": event for key, event in told.events.items()})

    assert checks.EVENT_MOVED in broken(renamed)


def test_a_feed_of_the_past_that_vanishes_or_changes_is_found() -> None:
    def forgetful(told: Told) -> Told:
        return replace(told, past={tree: past[1:] for tree, past in told.past.items()})

    def weaker(told: Told) -> Told:
        ppm = Decimal(100 - told.day.month)
        return replace(told, past={t: tuple(replace(p, ppm=ppm) for p in ps) for t, ps in told.past.items()})

    assert checks.HISTORY_LOST in broken(forgetful)
    assert {checks.PAST_CHANGED, checks.HISTORY_STRENGTH} <= broken(weaker)


def test_a_feed_of_the_past_that_nobody_told_is_found() -> None:
    def more(told: Told) -> Told:
        early = PastFeed(date(2027, 4, 1), Decimal(100), "powder", given=told.day.month > 6)
        past = {tree: (early, *ps) for tree, ps in told.past.items()} if told.day.month > 5 else told.past
        return replace(told, past=past)

    assert {checks.HISTORY_INVENTED, checks.HISTORY_MISSED, checks.PAST_CHANGED} <= broken(more)


def test_a_mix_of_the_past_that_changes_is_found() -> None:
    def poured_from_another_can(told: Told) -> Told:
        return replace(told, mixed={key: (*event, told.day.month) for key, event in told.mixed.items()})

    assert checks.MIX_CHANGED in broken(poured_from_another_can)


def test_a_tree_left_out_without_a_word_is_found() -> None:
    def silent(told: Told) -> Told:
        return replace(told, withheld=dict.fromkeys(told.withheld, ()))

    def evasive(told: Told) -> Told:
        late = told.day.month > 6
        why = {tree: (Why("interval", "not due"),) for tree in told.care}
        return replace(told, today=(), withheld=why) if late else told

    assert checks.NO_WORD in broken(silent)
    assert {checks.NO_WORD, checks.WAITS} <= broken(evasive)


def test_the_last_word_of_a_day_counts() -> None:
    """Root work written in the morning takes the tree out of that day's feed, which is then not in the book."""
    life: Life = live(
        YARD, GROWERS["writes everything"], 0, script={61: (("repot", 1), ("repot", 2))}, ask=asks_plainly
    )
    assert life.violations == []

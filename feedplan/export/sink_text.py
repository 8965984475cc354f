"""The part of a round that is done at the sink and with solid feed: mixes, weakest first, and what lies on the pots."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from itertools import pairwise

from feedplan.engine.answers.explain import nitrogen_by, schedule_of
from feedplan.engine.feeding.solids import budget_of
from feedplan.engine.sink.can import can_of, needs_rinse
from feedplan.export.can_text import left_over_line, mix_lines
from feedplan.export.entries import feeding_title
from feedplan.export.solid_text import record_words, solid_lines, solid_title
from feedplan.model.collection import Collection
from feedplan.model.course import Status
from feedplan.model.season import RoundItem, SolidItem
from feedplan.words.reasons import reasons_words
from feedplan.words.writing import names_words, number


def sink_lines(items: Sequence[RoundItem], collection: Collection) -> Iterator[str]:
    """The mixes of a day, weakest first, so that a can needs a rinse only where two feeds must not meet."""
    ordered = sorted(items, key=lambda i: (i.ppm, i.group))
    rinses = set(_rinse_before([i for i in ordered if i.status is not Status.RECORDED], collection))
    for item in ordered:
        if item.key in rinses:
            yield "Rinse the can."
        yield feeding_title(item, collection)
        if item.status is not Status.RECORDED:
            yield from (f"  {line}" for line in mix_lines(item, collection))
        yield f"  Trees: {names_words(item.timelines)}"
        yield f"  {running_total(item, collection)}"
        for timeline, event in zip(item.timelines, item.events, strict=True):
            if event.reasons:
                yield f"  {names_words([timeline])}: {reasons_words(event.reasons, item.day)}"
    to_mix = [item for item in ordered if item.status is not Status.RECORDED]
    yield from left_over_line(to_mix)
    if to_mix:
        yield "Half-fill, dissolve fully, top up; use today. Water dry pots first. The label comes first."


def _rinse_before(items: Sequence[RoundItem], collection: Collection) -> Iterator[str]:
    """The keys of the mixes before which the can is rinsed."""
    cans = [(item.key, can) for item in items if (can := can_of(item, collection)) is not None]
    for (_, before), (key, after) in pairwise(cans):
        if needs_rinse(before, after):
            yield key


def running_total(item: RoundItem, collection: Collection) -> str:
    """The season's nitrogen with this feed, of the budget: "Season so far: 45 to 60 of 360 mg N per litre of pot"."""
    sums, budgets = set(), set()
    for timeline in item.timelines:
        sums.add(nitrogen_by(timeline, item.day, collection).quantize(Decimal(1)))
        budgets.add(budget_of(schedule_of(timeline, collection, item.day)))
    return f"Season's N with this feed: {_span(sums)} of {_span(budgets)} mg per litre of pot"


def _span(values: set[Decimal]) -> str:
    low, high = min(values), max(values)
    return number(low) if low == high else f"{number(low)} to {number(high)}"


def solid_round_lines(items: Sequence[SolidItem], collection: Collection) -> Iterator[str]:
    """What is laid and lifted on a day."""
    for item in items:
        yield solid_title(item)
        yield from (f"  {line}" for line in solid_lines(item, collection))
        if item.status is not Status.RECORDED:
            yield f"  Write it down: {record_words(item)}"

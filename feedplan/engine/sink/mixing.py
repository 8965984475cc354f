"""The feeds of a day's round as its cans are planned from them, and what is then really in each."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal

from feedplan.dose.arithmetic import Dose
from feedplan.dose.salts import SALTS
from feedplan.engine.season import RoundItem
from feedplan.engine.sink.can import Can, at_strength, within
from feedplan.engine.sink.cans import CanPlan, FeedToMix, TreePour, as_decimal
from feedplan.engine.sink.day_cans import plan_cans
from feedplan.engine.sink.injector import plan_with_injector
from feedplan.engine.water.own_water import is_usual
from feedplan.model.collection import Collection
from feedplan.model.measures import WORST_ERROR, Measures
from feedplan.model.reason import Rule

_WEAKENED = (Rule.RAMP, Rule.CAP, Rule.SEASON_LIMIT, Rule.LABEL, Rule.CEILING, Rule.BUDGET, Rule.SHELF)
"""Feeds made weaker for a reason are never made stronger than asked for the sake of a mark on the can."""


def cans_of(items: Iterable[RoundItem], collection: Collection, can_l: Decimal | None = None) -> CanPlan:
    """The cans for the mixes of a day; can_l: the can of that day [L].

    One that nothing is known of is left out, and one without nitrogen: it has no strength to top it up by.
    """
    feeds = [_to_mix(item, item.can, collection) for item in items if item.can is not None and item.ppm > 0]
    measures = collection.habits.measures
    if can_l is not None and can_l != measures.largest_can_l:
        measures = replace(measures, marks_l=min(measures.marks_l, can_l), cans_l=(can_l,))
    if measures.injector is None:
        return plan_cans(feeds, measures)
    salts = {feed.name: SALTS[feed.salt] for feed in collection.feeds.values() if feed.salt in SALTS}
    return plan_with_injector(feeds, measures, measures.injector, salts)


def really_in(item: RoundItem, plan: CanPlan, collection: Collection) -> Can | None:
    """What is in the can that a mix is poured from: as asked where it is not mixed any more."""
    ppm = plan.ppm_of(item.key)
    if item.can is None or ppm is None:
        return item.can
    return at_strength(item, item.can, as_decimal(ppm), collection)


@dataclass(frozen=True, slots=True)
class LabelFill:
    """A can of a product without nitrogen: what is measured into its water, who is poured of it, and how
    much in all [L].
    """

    dose: Dose
    pours: tuple[TreePour, ...]
    poured: Decimal


def by_label(item: RoundItem, collection: Collection) -> tuple[LabelFill, ...]:
    """The cans of a mix measured by its label, none for others; each of the least water measured to within 5 %."""
    can, measures = item.can, collection.habits.measures
    if can is None or not item.label_share:
        return ()
    can_l, pours = measures.largest_can_l, tuple(_pours(item, collection.habits.feed_share, measures))
    if item.poured_litres <= can_l:
        return (_label_fill(can, pours, item.poured_litres, measures),)
    fills: list[list[TreePour]] = []
    left = Decimal(0)
    for part in (each for pour in pours for each in _in_cans(pour, can_l)):
        if part.litres > left:
            fills.append([])
            left = can_l
        fills[-1].append(part)
        left -= part.litres
    return tuple(_label_fill(can, tuple(f), sum((p.litres for p in f), Decimal(0)), measures) for f in fills)


def _in_cans(pour: TreePour, can_l: Decimal) -> Iterator[TreePour]:
    """A pour in as many cans as it takes."""
    left = pour.litres
    while left > can_l:
        yield replace(pour, litres=can_l)
        left -= can_l
    yield replace(pour, litres=left)


def _label_fill(can: Can, pours: tuple[TreePour, ...], poured: Decimal, measures: Measures) -> LabelFill:
    least = measures.least_of(can.doses[0].product.unit)
    fit = (m for m in measures.fill_marks_l if m >= poured and can.for_litres(m)[0].amount >= least)
    (dose,) = can.for_litres(next(fit, measures.largest_can_l))
    return LabelFill(replace(dose, scale=measures.scale_for(dose.product.unit)), pours, poured)


def _to_mix(item: RoundItem, can: Can, collection: Collection) -> FeedToMix:
    water = collection.groups[item.group].water
    ceilings = [timeline.care.schedule_on(item.day).ceilings for timeline in item.timelines]
    return FeedToMix(
        key=item.key,
        parts=tuple((dose.product, dose.per_l) for dose in can.doses if dose.per_l),
        water=() if water is None or is_usual(water, collection) else water.shares,
        ppm=item.ppm,
        most_ppm=_most_ppm(item, can, collection),
        pours=tuple(_pours(item, collection.habits.feed_share, collection.habits.measures)),
        most_mg_per_l=(
            ("P", min(each.p_mg_per_l for each in ceilings)),
            ("K", min(each.k_mg_per_l for each in ceilings)),
        ),
    )


def _most_ppm(item: RoundItem, can: Can, collection: Collection) -> Decimal:
    """The strongest a mix may be made: 5 % above what is asked, below every label and ceiling [mg N/L]."""
    if any(reason.rule in _WEAKENED for event in item.events for reason in event.reasons):
        return item.ppm
    most = item.ppm * (1 + WORST_ERROR)
    parts = tuple((dose.product, dose.per_l * (1 + WORST_ERROR)) for dose in can.doses if dose.per_l)
    shares = [product.most_per_l / per_l for product, per_l in parts]
    feeds = [feed for dose in can.doses if (feed := collection.feeds.get(dose.product.name)) is not None]
    for ceilings in {timeline.care.schedule_on(item.day).ceilings for timeline in item.timelines}:
        shares.append(within(parts, feeds, ceilings)[0])
    return most * min([Decimal(1), *shares])


def _pours(item: RoundItem, share: Decimal, measures: Measures) -> Iterator[TreePour]:
    """What each tree gets, as the jug measures it, bench after bench."""
    step = measures.jug_step_l
    placed = [
        (timeline.care.place_of(tree, item.day), tree)
        for timeline in item.timelines
        for tree in timeline.trees_on(item.day)
    ]
    for _, tree in sorted(placed, key=lambda pair: pair[0]):
        steps = (tree.pot.litres * tree.count * share / step).to_integral_value(ROUND_HALF_UP)
        yield TreePour(tree.name, max(Decimal(1), steps) * step, tree.count)

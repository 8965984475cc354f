"""The water of one pot on one day, and from day to day: what leaves it, what rain brings, what to pour.

It ranks pots by thirst and says roughly how many litres; it orders looks, never watering. Rain that reaches the pot is
told, and takes no look away: a crown sheds it, and less than 5 mm rarely wets a pot (common practice, no source).

How much a tree drinks against reference evapotranspiration goes by its leaves and roots: stages carry shares in
stages.yaml, and between two of them use changes evenly, as FAO-56 joins its stages (Eq. 66).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_UP, Decimal
from functools import lru_cache
from itertools import pairwise
from math import inf

from feedplan.engine.growing_year import DAY
from feedplan.engine.outdoors.daily_et import DailyEt, EtDay
from feedplan.engine.season import Season, Timeline
from feedplan.engine.water.thirst import IN_LEAF, Vessel, vessel_of
from feedplan.model.climate import Standing
from feedplan.model.collection import Bench, Collection, Substrate, Tree
from feedplan.model.course import Hold, StageDate
from feedplan.model.journal import Checked, Entry, Fed
from feedplan.model.stage import Vocabulary
from feedplan.weather.container import depletion_next_day, litres_on
from feedplan.weather.water_quality import gross_from_net

UNKNOWN_USE = 1.0
"""For a kind whose stages carry no share at all (judgement)."""

LeafPoints = tuple[tuple[date, float], ...]
LEAST_RAIN_MM = 5.0
"""Rain below this does not reach the mix (common practice, no source)."""
RAIN_UNDER_LEAVES = 0.5
RAIN_ON_BARE = 0.9
"""Share of heavier rain that reaches the mix under a crown in leaf, and under bare twigs (judgement)."""
HOT_C = 28.0
WINDY_M_PER_S = 8.0
"""Days hotter or windier than this ask for one look more (common practice, no source); wind as the record tells it."""
FROZEN_MEAN_C = -1.0
"""A mean so low freezes the root ball of a pot through (judgement)."""


def leaf_points_of(timeline: Timeline, vocabulary: Vocabulary) -> LeafPoints:
    """The stages with a share, in day order. One still awaited counts from its typical date, as checks do.

    Stages that only a group's schedule lends to the kind are left out: a move to that group would change how the tree
    drank before it.
    """
    calendar = vocabulary.calendars.get(timeline.calendar)
    own: Mapping[str, Decimal] = {} if calendar is None else calendar.water_use
    stages = None if calendar is None else {*dict(calendar.dates), *calendar.clock, *own}
    found: dict[date, float] = {}
    for at in _all_stages(timeline):
        if stages is not None and at.stage not in stages:
            continue
        word = vocabulary.words.get(at.stage)
        share = own.get(at.stage, word.water_use if word is not None else None)
        if share is not None:
            day = at.day or at.typical
            found[day] = max(found.get(day, 0.0), float(share))
    return tuple(sorted(found.items()))


def _all_stages(timeline: Timeline) -> Iterable[StageDate]:
    return (at for _, stages in timeline.stages for at in stages)


def leaf_on(leaf_points: LeafPoints, day: date) -> float:
    """The share on one day."""
    return leaf_course(leaf_points, day, 1)[0]


@lru_cache(maxsize=512)
def leaf_course(leaf_points: LeafPoints, first: date, count: int) -> tuple[float, ...]:
    """The share on so many days from `first` on."""
    if not leaf_points:
        return (UNKNOWN_USE,) * count
    end = first + DAY * count
    before = (min(first, leaf_points[0][0]) - DAY, leaf_points[0][1])
    after = (max(end, leaf_points[-1][0]) + DAY, leaf_points[-1][1])
    course: list[float] = []
    for (start, share), (stop, next_share) in pairwise([before, *leaf_points, after]):
        span = (stop - start).days
        steps = range(max(0, (first - start).days), min(span, (end - start).days))
        course += [share + (next_share - share) * step / span for step in steps]
    return tuple(course)


def roots_on(holds: Iterable[Hold], day: date) -> float:
    """What root work and damage leave of a tree's thirst on a day; the strictest hold counts.

    It comes back evenly over the hold. While a hold waits for a sign, half of what was lost is still missing.
    """
    return min((_left_by(hold, day) for hold in holds if hold.covers(day)), default=1.0)


def _left_by(hold: Hold, day: date) -> float:
    if hold.rule.water_use is None:
        return 1.0
    lost = 1.0 - float(hold.rule.water_use)
    start = hold.entry.day  # what was done or met, also where another rule has taken the hold over since
    if hold.end is not None:
        length = max(1, (hold.end - start).days)
        return 1.0 - lost * (1 - (day - start).days / length)
    length = max(1, (hold.minimum - start).days)
    return 1.0 - lost * (1 - 0.5 * min(1.0, (day - start).days / length))


def is_hot(et_day: EtDay) -> bool:
    """Whether a day of the record is hot enough to ask for one look more."""
    return et_day.in_heat_wave or et_day.weather.tmax_c > HOT_C


def is_windy(et_day: EtDay) -> bool:
    """Whether a day of the record is windy enough to ask for one look more."""
    return (et_day.weather.weather.wind_m_per_s or 0.0) > WINDY_M_PER_S


def is_frozen(et_day: EtDay) -> bool:
    """Whether root balls are likely frozen: a mean at or below -1 °C, or a day that never thaws."""
    return et_day.weather.tmean_c <= FROZEN_MEAN_C or et_day.weather.tmax_c <= 0


HARD_FROST_C = -5.0
"""Nights so cold kill roots of some kinds (near -4 to -5 °C: from memory, unchecked); a moist mix guards them best."""


def is_hard_frost(et_day: EtDay) -> bool:
    """Whether a night on record is cold enough to harm roots."""
    return is_on_record(et_day) and et_day.weather.tmin_c <= HARD_FROST_C


def is_on_record(et_day: EtDay) -> bool:
    """Whether the day was observed or is forecast."""
    return et_day.weather.standing is not Standing.NORMAL


@dataclass(frozen=True, slots=True)
class PotDay:
    """One tree's pot on one day.

    leaf, roots: factors on its use. use_l: water that leaves it [L]; allowed_l: what may go before a look is due [L];
    thirst: how many times the one goes into the other. rain_l: rain that reaches the mix [L]. pour_l: to pour for the
    day's use, with what drains through [L]. must_dry: its surface is to dry first.
    """

    tree: Tree
    substrate: Substrate
    bench: Bench
    vessel: Vessel
    et_day: EtDay
    leaf: float
    roots: float
    use_l: float
    allowed_l: float
    thirst: float
    rain_l: float
    pour_l: float
    must_dry: bool = False

    @property
    def hours(self) -> float:
        """How long it lasts once watered [h]."""
        return 24 / self.thirst if self.thirst > 0 else inf


def rain_reaching_l(et_day: EtDay, vessel: Vessel, bench: Bench, leaf: float) -> float:
    """Rain that reaches the mix [L]."""
    rain_mm = et_day.weather.rain_mm or 0.0
    if bench.under_cover or rain_mm < LEAST_RAIN_MM or not is_on_record(et_day):
        return 0.0
    share = RAIN_UNDER_LEAVES if leaf >= IN_LEAF else RAIN_ON_BARE
    return litres_on(rain_mm * share, vessel.size.top_m2)


@dataclass(frozen=True, slots=True)
class Depletion:
    """What a pot lacks at the end of a day. since: the journal entry by which it was last watered; missing_l: [L]."""

    since: Entry
    missing_l: float


def two_figures(litres: float | Decimal) -> Decimal:
    """Litres to two figures, never fewer than there are [L]: no pot is known better."""
    amount = Decimal(str(litres))
    if amount <= 0:
        return Decimal(0)
    return amount.quantize(Decimal(1).scaleb(amount.adjusted() - 1), ROUND_UP)


LOOK_BACK_DAYS = 14


def _is_watering(entry: Entry) -> bool:
    return isinstance(entry.fact, Fed) or entry.fact == Checked("watered")


class Balance:
    """The pots of a collection under their weather."""

    def __init__(self, collection: Collection, daily_et: DailyEt) -> None:
        self.collection = collection
        self.daily_et = daily_et
        self._leaf_points: dict[str, tuple[Timeline, LeafPoints]] = {}

    def leaf_points(self, timeline: Timeline) -> LeafPoints:
        """The stages that set how a timeline's trees drink."""
        known = self._leaf_points.get(timeline.lineage)
        if known is None or known[0] is not timeline:  # another plan's, of which other stages may be known
            known = timeline, leaf_points_of(timeline, self.collection.vocabulary)
            self._leaf_points[timeline.lineage] = known
        return known[1]

    def pot_day(self, timeline: Timeline, tree: Tree, day: date) -> PotDay | None:
        """A tree's pot on a day; None where no weather is known, and indoors, where the weather does not count."""
        bench = timeline.care.bench_on(tree, day)
        et_day = self.daily_et.on(day)
        if et_day is None or bench.indoors:
            return None
        substrate = timeline.care.substrate_of(tree, day)
        vessel = vessel_of(tree, substrate, bench)
        leaf = leaf_on(self.leaf_points(timeline), day)
        roots, dormant = roots_on(timeline.holds, day), leaf < IN_LEAF
        use_l = vessel.use_l(et_day.et0_mm, leaf, roots)
        return PotDay(
            tree=tree,
            substrate=substrate,
            bench=bench,
            vessel=vessel,
            et_day=et_day,
            leaf=leaf,
            roots=roots,
            use_l=use_l,
            allowed_l=vessel.allowed_l(dormant),
            thirst=vessel.thirst(use_l, dormant),
            rain_l=rain_reaching_l(et_day, vessel, bench, leaf),
            pour_l=gross_from_net(use_l, float(self.collection.habits.drain_share)),
            must_dry=tree.weak or timeline.must_dry_on(day),
        )

    def depletion_on(self, timeline: Timeline, tree: Tree, day: date) -> Depletion | None:
        """What a pot lacks by the end of a day, counted from when the journal last had it watered or fed.

        None when that is more than two weeks ago, was never written down, or no weather is known.
        """
        watered = [e for e in timeline.entries if e.day <= day and _is_watering(e) and e.is_about(tree.name)]
        if not watered or (day - watered[-1].day).days > LOOK_BACK_DAYS:
            return None
        missing_l, first = 0.0, watered[-1].day
        for place in range((day - first).days + 1):
            pot = self.pot_day(timeline, tree, first + DAY * place)
            if pot is None:
                return None
            rain_l = pot.rain_l if place else 0.0
            missing_l = depletion_next_day(missing_l, rain_l, pot.use_l, pot.vessel.available_l)
        return Depletion(watered[-1], missing_l)


def balance_of(season: Season) -> Balance | None:
    """The pots of a season under its weather; None where checks do not go by the weather."""
    if season.daily_et is None or not season.checks_by.is_weather:
        return None
    return Balance(season.collection, season.daily_et)

"""What goes into the can for one round: the amounts, what is then in it, and what a conductivity pen should show."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import lru_cache
from typing import Protocol

from feedplan.dose.arithmetic import Dose, Product, work_out_dose
from feedplan.dose.conductivity import ExpectedEc, expected_ec, together
from feedplan.dose.grade import Ratio
from feedplan.dose.mix import Mix, Target, find_mix, target_from_ratio
from feedplan.dose.salts import SALTS, do_clash
from feedplan.dose.strength import PpmN
from feedplan.errors import DoseError
from feedplan.model.collection import Collection, Feed, Group

_HARDNESS_ELEMENTS = ("Ca", "Mg")


@dataclass(frozen=True, slots=True)
class WaterInCan:
    """The water of a can. litres: of each source, by name [L]; empty when nothing is told of the water.

    ec_ms_per_cm: its own conductivity, None when not told [mS/cm]. brings: calcium and magnesium it holds [mg/L].
    """

    litres: tuple[tuple[str, Decimal], ...] = ()
    ec_ms_per_cm: float | None = None
    brings: tuple[tuple[str, Decimal], ...] = ()


@dataclass(frozen=True, slots=True)
class Can:
    """One mix for so many litres.

    doses: a product each. ratio, target [mg/L] and mix: what was asked of the shelf and how close it comes; None when a
    product was named. contents: nutrients of feed and water together [mg/L, as elements]. ec: what the pen should
    show, the water's own part added where it is told; None for a feed that no pen can read.
    """

    litres: Decimal
    doses: tuple[Dose, ...]
    water: WaterInCan
    contents: Mapping[str, Decimal]
    ec: ExpectedEc | None = None
    ratio: Ratio | None = None
    target: Target | None = None
    mix: Mix | None = None

    @property
    def is_told_by_pen(self) -> bool:
        """Whether the expected conductivity is sure enough to catch a doubled dose."""
        return self.ec is not None and self.ec.is_telling

    @property
    def do_products_clash(self) -> bool:
        """Whether its products must meet only when both are dissolved in much water."""
        return any(
            do_clash(one.product, other.product)
            for i, one in enumerate(self.doses)
            for other in self.doses[:i]
        )

    def for_litres(self, litres: Decimal) -> tuple[Dose, ...]:
        """The same mix in another quantity, such as one can of it [L]."""
        return tuple(dose.for_litres(litres) for dose in self.doses)


class MixAsked(Protocol):
    """What must be known of a mix to weigh it out; see RoundItem."""

    @property
    def group(self) -> str:
        """The group it is for."""

    @property
    def feed(self) -> str | None:
        """The product, None when it is mixed from the shelf."""

    @property
    def ppm(self) -> Decimal:
        """Its strength [mg N/L]."""

    @property
    def litres(self) -> Decimal:
        """How much to mix [L]."""

    @property
    def ratio(self) -> Ratio | None:
        """What to mix from the shelf when no product is named."""


@dataclass(frozen=True, slots=True)
class Weighed:
    """What is weighed out for one round: a dose of each product; ratio, target and mix as of a Can."""

    doses: tuple[Dose, ...]
    ratio: Ratio | None = None
    target: Target | None = None
    mix: Mix | None = None


def weighed_for(item: MixAsked, collection: Collection) -> Weighed | None:
    """The products of a round; None without a product or ratio, and where labels give nothing to reckon with."""
    if item.litres <= 0 or item.ppm <= 0:
        return None
    feed = collection.feeds.get(item.feed or "")
    try:
        if feed is not None:
            return Weighed((work_out_dose(feed.product, PpmN(item.ppm), item.litres, cap=True),))
        if item.ratio is None or item.feed is not None:
            return None
        shelf = shelf_of(collection.groups[item.group], collection)
        mix = mixed(shelf, item.ppm, item.ratio, collection.habits.most_products)
    except DoseError:
        return None
    doses = tuple(Dose(product, item.litres, per_l, per_l) for product, per_l in mix.parts)
    target = target_from_ratio(item.ppm, item.ratio.parts, item.ratio.basis)
    return Weighed(doses, item.ratio, target, mix)


def can_of(item: MixAsked, collection: Collection) -> Can | None:
    """The whole mix of a round; None where nothing can be weighed out for it."""
    weighed = weighed_for(item, collection)
    if weighed is None:
        return None
    water = water_of(collection.groups[item.group], collection, item.litres)
    contents = {element: Decimal(0) for dose in weighed.doses for element in dose.nutrients_mg_per_l}
    for element, mg in (
        *(pair for dose in weighed.doses for pair in dose.nutrients_mg_per_l.items()),
        *water.brings,
    ):
        contents[element] = contents.get(element, Decimal(0)) + mg
    ec = _ec(weighed.doses, water, collection)
    return Can(item.litres, weighed.doses, water, contents, ec, weighed.ratio, weighed.target, weighed.mix)


def shelf_of(group: Group, collection: Collection) -> tuple[Product, ...]:
    """The products a group's feed may be mixed of, restricted salts left out."""
    names = group.mix_of or tuple(collection.feeds)
    feeds = [collection.feeds[name] for name in names if name in collection.feeds]
    return tuple(feed.product for feed in feeds if not feed.is_solid and not is_restricted(feed))


def is_restricted(feed: Feed) -> bool:
    """Whether a feed is a salt that many countries restrict."""
    return feed.salt in SALTS and SALTS[feed.salt].is_restricted


@lru_cache(maxsize=256)
def mixed(products: tuple[Product, ...], n_mg_per_l: Decimal, ratio: Ratio, most_products: int) -> Mix:
    """The mix that comes closest to a strength and a ratio, its nitrogen never above what was asked.

    Raises DoseError for an empty shelf.
    """
    target = target_from_ratio(n_mg_per_l, ratio.parts, ratio.basis)
    mix = find_mix(products, target, most_products)
    over = mix.reached["N"] / n_mg_per_l
    if over <= 1:
        return mix
    reached = {nutrient: amount / over for nutrient, amount in mix.reached.items()}
    parts = tuple((product, amount / over) for product, amount in mix.parts)
    return replace(mix, parts=parts, reached=reached)


def _ec(doses: tuple[Dose, ...], water: WaterInCan, collection: Collection) -> ExpectedEc | None:
    """What all products and the water add up to; None where nothing is weighed out."""
    added = [added_ec(dose, collection.feeds.get(dose.product.name)) for dose in doses]
    return together(added, water.ec_ms_per_cm or 0.0) if added else None


def added_ec(dose: Dose, feed: Feed | None) -> ExpectedEc:
    """What a dose adds to the water's conductivity, by what is told of the feed; None for a product that is none."""
    if feed is None:
        return expected_ec(dose)
    own = None if feed.ec_per_100_ppm_n is None else float(feed.ec_per_100_ppm_n)
    return expected_ec(dose, own, dict(feed.nitrogen) if feed.nitrogen or feed.salt else None)


def water_of(group: Group, collection: Collection, litres: Decimal) -> WaterInCan:
    """The water that a group's can is filled with, so many litres of it."""
    use = group.water
    if use is None or not use.shares:
        return WaterInCan()
    waters = [(collection.waters[name], share) for name, share in use.shares]
    ecs = [(water.ec_ms_per_cm, share) for water, share in waters]
    ec = None if any(value is None for value, _ in ecs) else sum((v or 0.0) * share for v, share in ecs)
    brings = []
    for element, field in zip(_HARDNESS_ELEMENTS, ("calcium_mg_per_l", "magnesium_mg_per_l"), strict=True):
        held = [(getattr(water, field), share) for water, share in waters]
        if all(value is not None for value, _ in held):
            brings.append((element, Decimal(str(round(sum(value * share for value, share in held), 3)))))
    each = tuple((water.name, litres * Decimal(str(share))) for water, share in waters)
    return WaterInCan(each, ec, tuple(brings))


def needs_rinse(before: Can, after: Can) -> bool:
    """Whether a can that held one mix must be rinsed before the next: the two would fall out, or the next is weaker."""
    clash = any(do_clash(one.product, other.product) for one in before.doses for other in after.doses)
    return clash or before.contents["N"] > after.contents["N"]

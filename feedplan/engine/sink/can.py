"""What goes into the can for one round: the amounts, what is then in it, and what a conductivity pen should show."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from decimal import ROUND_FLOOR, Decimal
from functools import lru_cache
from typing import Protocol

from feedplan.dose.arithmetic import MOST_PER_L, Dose, Product, work_out_dose
from feedplan.dose.ceilings import Ceilings, Passed, passed, share_within
from feedplan.dose.conductivity import EcLimit, ExpectedEc, expected_ec, together
from feedplan.dose.grade import Ratio
from feedplan.dose.mix import Mix, Target, find_mix, target_from_ratio
from feedplan.dose.salts import SALTS, Salt, do_clash
from feedplan.dose.strength import LabelShare, PpmN
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
    """One mix, for so many litres poured.

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
    def poured_litres(self) -> Decimal:
        """How much of it all trees are poured [L]."""

    @property
    def ratio(self) -> Ratio | None:
        """What to mix from the shelf when no product is named."""

    @property
    def label_share(self) -> Decimal:
        """Of a product without nitrogen, how much of its label rate is meant [0-1]."""


@dataclass(frozen=True, slots=True)
class Weighed:
    """What is weighed out for one round: a dose of each product; ratio, target and mix as of a Can."""

    doses: tuple[Dose, ...]
    ratio: Ratio | None = None
    target: Target | None = None
    mix: Mix | None = None


def weighed_for(item: MixAsked, collection: Collection) -> Weighed | None:
    """The products of a round; None without a product or ratio, and where labels give nothing to reckon with."""
    feed = collection.feeds.get(item.feed or "")
    if item.poured_litres <= 0 or (item.ppm <= 0 and not item.label_share):
        return None
    try:
        if feed is not None:
            strength = LabelShare(item.label_share) if item.label_share else PpmN(item.ppm)
            return Weighed((work_out_dose(feed.product, strength, item.poured_litres, cap=True),))
        if item.ratio is None or item.feed is not None:
            return None
        shelf = shelf_of(collection.groups[item.group], collection)
        mix = mixed(shelf, item.ppm, item.ratio, collection.habits.most_products)
    except DoseError:
        return None
    doses = tuple(Dose(product, item.poured_litres, per_l, per_l) for product, per_l in mix.parts)
    target = target_from_ratio(item.ppm, item.ratio.parts, item.ratio.basis)
    return Weighed(doses, item.ratio, target, mix)


def can_of(item: MixAsked, collection: Collection) -> Can | None:
    """The whole mix of a round; None where nothing can be weighed out for it."""
    weighed = weighed_for(item, collection)
    if weighed is None:
        return None
    return _filled(item, weighed, collection)


def at_strength(item: MixAsked, can: Can, ppm: Decimal, collection: Collection) -> Can:
    """A can as it really is, at another strength than asked for [mg N/L]."""
    share = ppm / item.ppm
    doses = tuple(replace(dose, per_l=dose.per_l * share) for dose in can.doses)
    mix = None if can.mix is None or can.target is None else can.mix.times(share, can.target)
    return _filled(item, Weighed(doses, can.ratio, can.target, mix), collection)


def _filled(item: MixAsked, weighed: Weighed, collection: Collection) -> Can:
    water = water_of(collection.groups[item.group], collection, item.poured_litres)
    fed = [pair for dose in weighed.doses for pair in dose.nutrients_mg_per_l.items()]
    contents: dict[str, Decimal] = {}
    for element, mg in (*fed, *water.brings):
        contents[element] = contents.get(element, Decimal(0)) + mg
    ec = _ec(weighed.doses, water, collection)
    return Can(
        item.poured_litres, weighed.doses, water, contents, ec, weighed.ratio, weighed.target, weighed.mix
    )


def shelf_of(group: Group, collection: Collection) -> tuple[Product, ...]:
    """The products a group's feed may be mixed of, restricted salts left out."""
    return tuple(feed.product for feed in to_mix_from(group, collection))


def to_mix_from(group: Group, collection: Collection) -> tuple[Feed, ...]:
    """The same as they stand on the shelf."""
    names = group.mix_of or tuple(collection.feeds)
    feeds = [collection.feeds[name] for name in names if name in collection.feeds]
    return tuple(feed for feed in feeds if not feed.is_solid and not is_restricted(feed))


def is_restricted(feed: Feed) -> bool:
    """Whether a feed is a salt that many countries restrict."""
    return feed.salt in SALTS and SALTS[feed.salt].is_restricted


@lru_cache(maxsize=256)
def mixed(products: tuple[Product, ...], n_mg_per_l: Decimal, ratio: Ratio, most_products: int) -> Mix:
    """The mix that comes closest to a ratio, at just the strength asked, or as near below it as labels allow.

    Without nitrogen where the products hold none. Raises DoseError for an empty shelf.
    """
    target = target_from_ratio(n_mg_per_l, ratio.parts, ratio.basis)
    mix = find_mix(products, target, most_products)
    n = mix.reached["N"]
    if not n:
        return mix
    factor = _as_far(mix.parts, n_mg_per_l / n).quantize(_FINEST_FACTOR, ROUND_FLOOR)
    return mix.times(factor, target)


_FINEST_FACTOR = Decimal("1e-15")


def _as_far(parts: Parts, factor: Decimal) -> Decimal:
    """How many times as strong a mix may be made: by a factor, or as far as the first label's maximum."""
    return min([factor, *(one.most_per_l / amount for one, amount in parts)]) if factor > 1 else factor


Parts = tuple[tuple[Product, Decimal], ...]
"""Products with what goes into a litre of feed of each [g or ml]."""


@dataclass(frozen=True, slots=True)
class Reach:
    """What a can that is asked for a strength really holds.

    ppm: nitrogen reached, at the most what was asked [mg N/L]. products: what is in it, or what there was to choose
    from where that holds no nitrogen. passed: the ceiling that holds it down, with what it would hold as asked.
    """

    ppm: Decimal
    products: tuple[str, ...] = ()
    passed: Passed | None = None


_FINEST = Decimal("1e-9")
_AS_ASKED = Decimal("0.999999")


@lru_cache(maxsize=1024)
def reach(
    ppm: Decimal, feeds: tuple[Feed, ...], ratio: Ratio | None, most: int, ceilings: Ceilings | None
) -> Reach:
    """What a can asked for so much nitrogen reaches [mg N/L]: as asked where nothing is told of what goes into it.

    feeds: what a ratio is mixed from, so many of them at the most, or the one product used where there is no ratio.
    ceilings: the most it may bring, None for what was poured already.
    """
    if ppm <= 0 or (ratio is None and not feeds):
        return Reach(ppm)
    first: Passed | None = None
    asked, products = ppm, tuple(feed.name for feed in feeds)
    for _ in range(5):  # a weaker mix may be made of other products; it settles at once in all but odd cases
        parts = _parts_for(feeds, ratio, most, asked)
        n = sum((product.mg_per_unit["N"] * amount for product, amount in parts), Decimal(0))
        if not n:
            return Reach(Decimal(0), products)
        share, over = (Decimal(1), None) if ceilings is None else within(parts, feeds, ceilings)
        first = first or over
        if n * share >= asked * _AS_ASKED:
            break
        asked = (n * share).quantize(_FINEST, ROUND_FLOOR)
    return Reach(asked, tuple(product.title for product, _ in parts), first)


def _parts_for(feeds: tuple[Feed, ...], ratio: Ratio | None, most: int, ppm: Decimal) -> Parts:
    products = tuple(feed.product for feed in feeds)
    if ratio is not None:
        try:
            return mixed(products, ppm, ratio, most).parts
        except DoseError:
            return ()
    (product,) = products
    n = product.mg_per_unit["N"]
    return ((product, min(ppm / n, product.most_per_l)),) if n else ()


def within(parts: Parts, feeds: Iterable[Feed], ceilings: Ceilings) -> tuple[Decimal, Passed | None]:
    """The share of its strength at which a mix passes no ceiling [0-1], and the one it passes furthest as it is."""
    by_name = {feed.product: feed for feed in feeds}

    def ec_of(share: Decimal) -> ExpectedEc | None:
        doses = [Dose(one, Decimal(1), amount * share, amount * share) for one, amount in parts if amount]
        return together([added_ec(dose, by_name.get(dose.product)) for dose in doses], 0.0) if doses else None

    held = {
        element: sum((one.mg_per_unit[element] * amount for one, amount in parts), Decimal(0))
        for element in ("P", "K")
    }
    over = passed(held, ec_of(Decimal(1)), ceilings)
    return (share_within(held, ec_of, ceilings), over[0]) if over else (Decimal(1), None)


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


def per_litre_for_ec(
    product: Product, feed: Feed | None, salt: Salt | None, ms_per_cm: Decimal
) -> tuple[Decimal, Decimal] | None:
    """What a litre takes of a product for so much conductivity over the water's own [g or ml], the least and the most.

    They are the same where its label, or its salt, tells how it conducts; elsewhere the forms of its nitrogen decide.
    None for what hardly conducts.
    """

    def added(per_l: Decimal) -> ExpectedEc:
        dose = Dose(product, Decimal(1), per_l, per_l)
        if feed is None and salt is not None:
            return expected_ec(dose, None, forms)
        return added_ec(dose, feed)

    forms = {} if salt is None else salt.nitrogen_percents
    if total := sum(forms.values(), Decimal(0)):  # what is sold holds less of them than the pure salt
        forms = {form: percent * product.grade.n / total for form, percent in forms.items()}
    wanted, is_sure = float(ms_per_cm), EcLimit.FORMS_UNKNOWN not in added(Decimal(1)).limits
    least = _rising_to(lambda per_l: added(per_l).likely if is_sure else added(per_l).high, wanted)
    most = _rising_to(lambda per_l: added(per_l).likely if is_sure else added(per_l).low, wanted)
    return None if least is None else (least, MOST_PER_L if most is None else most)


def _rising_to(conductivity: Callable[[Decimal], float], wanted: float) -> Decimal | None:
    """The amount in a litre at which a conductivity is reached [g or ml], None beyond what is still a feed."""
    low, high = Decimal(0), MOST_PER_L
    if conductivity(high) < wanted:
        return None
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (middle, high) if conductivity(middle) < wanted else (low, middle)
    return high

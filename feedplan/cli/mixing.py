"""`feedplan dose --mix`: which products to mix for a strength and a ratio. Imported only when that is asked for."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import combinations

from feedplan.cli.dose_options import DoseOptions, as_celsius, read_if, read_option, strength_of, volume_of
from feedplan.cli.options import collection_file
from feedplan.cli.words import choices
from feedplan.dose.arithmetic import Dose, Product
from feedplan.dose.ceilings import USUAL, Passed
from feedplan.dose.conductivity import ExpectedEc, expected_ec, together
from feedplan.dose.grade import Ratio, parse_grade, parse_npk_ratio
from feedplan.dose.measures import measured_in
from feedplan.dose.mix import Mix, Target, target_from_ratio
from feedplan.dose.salts import SALTS, Salt, bottles_for, do_clash
from feedplan.dose.strength import PpmN
from feedplan.engine.sink.can import added_ec, is_restricted, mixed, within
from feedplan.errors import DoseError
from feedplan.model.collection import Feed
from feedplan.words.ceilings import short_words
from feedplan.words.dose import (
    asked_words,
    bottles_lines,
    clash_words,
    help_words,
    holds_words,
    long_unit,
    no_closer_words,
    pen_facts,
    pen_lines,
    pen_note,
    salt_caution,
    volume_words,
    weigh_words,
)
from feedplan.words.language import say


@dataclass(frozen=True, slots=True)
class Candidate:
    """A product to choose from. salt: the straight salt it is, if it is one; feed: of the collection, if it is one."""

    product: Product
    salt: Salt | None = None
    feed: Feed | None = None

    def adds(self, dose: Dose) -> ExpectedEc:
        """What a dose of it adds to the water's conductivity."""
        if self.feed is None and self.salt is not None:
            return expected_ec(dose, None, self.salt.nitrogen_percents)
        return added_ec(dose, self.feed)


@dataclass(frozen=True, slots=True)
class Candidates:
    """The products to choose from, with the habits of the collection they are from.

    can_litres: the can mixed in [L]; water_ec: of the water used, None when not told [mS/cm]. units: whose gallons are
    meant, None when not told.
    """

    known: tuple[Candidate, ...]
    most_products: int = 2
    can_litres: Decimal | None = None
    water_ec: float | None = None
    units: str | None = None


@dataclass(frozen=True, slots=True)
class MixRequest:
    """A strength and a ratio to come close to.

    litres, volume: the feed to mix [L], and how to write that. at_c: how warm the water is, for a pen that does not
    correct [°C].
    """

    candidates: Candidates
    n_mg_per_l: Decimal
    ratio: Ratio
    most_products: int
    litres: Decimal
    volume: str
    at_c: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Mixed:
    """The mix found for a request: what was aimed at, what comes closest, a dose of each product in it.

    over: the ceiling for trees in pots that it would pass at the strength asked, and was weakened to.
    """

    request: MixRequest
    target: Target
    mix: Mix
    doses: tuple[Dose, ...]
    over: Passed | None = None

    @property
    def used(self) -> tuple[Candidate, ...]:
        """The products in it, in the order of its doses."""
        by_product = {one.product: one for one in self.request.candidates.known}
        return tuple(by_product[dose.product] for dose in self.doses)


def read_mix(options: DoseOptions) -> MixRequest:
    """The mix asked for. Raises DoseError or ValueError for what cannot be understood or is missing."""
    beside = options.words or options.salt or options.describes_label or options.dilution
    if not options.mix or options.ratio is None or beside:
        raise DoseError(
            say(
                "a mix takes --mix, --ratio and --ppm; name products with --of, such as --of 20-10-20 --of 15.5-0-0"
            )
        )
    ratio = read_option("--ratio", parse_npk_ratio, options.ratio)
    found = candidates(options.mix_of, options.collection)
    strength = strength_of(options)
    if strength is None:
        raise DoseError(say("no strength; give --ppm 100"))
    if not isinstance(strength, PpmN):
        raise DoseError(say("a mix has no one label; give its strength with --ppm"))
    with measured_in(options.measures or found.units):
        litres, volume = _volume(options, found.can_litres)
    at_c = read_if("--at", as_celsius, options.at_c)
    most = options.products or found.most_products
    return MixRequest(found, strength.n_mg_per_l, ratio, most, litres, volume, at_c)


def _volume(options: DoseOptions, can_litres: Decimal | None) -> tuple[Decimal, str]:
    """The feed to mix [L] and how to write it: as told, else one can of the collection's."""
    told = volume_of(options._replace(litres=options.litres or options.can))
    if told is not None:
        return told
    if can_litres is None:
        raise DoseError(say("no amount of feed; add how much to mix, such as --litres 10"))
    return can_litres, volume_words(can_litres)


def candidates(names: Sequence[str], collection: str | None) -> Candidates:
    """The products named, each a grade, a salt or a feed of the collection; all its feeds when none is named.

    Raises DoseError for a name that is none of these, FeedplanError when the collection cannot be read.
    """
    plain = {name: _plain(name) for name in names}
    known = tuple(one for one in plain.values() if one is not None)
    if names and len(known) == len(plain):
        return Candidates(known)
    return _of_collection(plain, collection)


def _plain(name: str) -> Candidate | None:
    """A product that is told by its grade or by the name of a salt."""
    if name in SALTS:
        salt = SALTS[name]
        if salt.is_restricted:
            raise DoseError(say("{name} is restricted in many countries; name another product", name=name))
        return Candidate(Product(salt.grade, name=name), salt)
    try:
        return Candidate(Product(parse_grade(name), name=name))
    except ValueError:
        return None


def _of_collection(plain: Mapping[str, Candidate | None], collection: str | None) -> Candidates:
    """The products named, or all that may be mixed, with the feeds of a collection among them."""
    from feedplan.load.feeds import load_shelf

    shelf = load_shelf(collection_file(collection))
    feeds = {n: feed for n, feed in shelf.feeds.items() if not feed.is_solid and not is_restricted(feed)}
    known = []
    for name, one in (plain or dict.fromkeys(feeds)).items():
        if one is None and name not in feeds:
            raise DoseError(
                say(
                    "{name} is no grade, no salt and no feed that dissolves; {choices}",
                    name=repr(name),
                    choices=choices(name, feeds),
                )
            )
        known.append(one or Candidate(feeds[name].product, SALTS.get(feeds[name].salt), feeds[name]))
    habits = shelf.habits
    return Candidates(
        tuple(known), habits.most_products, habits.can_litres, shelf.water_ec, habits.measures.units
    )


def mix_of(request: MixRequest) -> Mixed:
    """The mix that comes closest, as a round of the plan would mix it. Raises DoseError for an empty shelf."""
    products = tuple(one.product for one in request.candidates.known)
    mix = mixed(products, request.n_mg_per_l, request.ratio, request.most_products)
    feeds = [one.feed for one in request.candidates.known if one.feed is not None]
    share, over = within(mix.parts, feeds, USUAL)
    target = target_from_ratio(request.n_mg_per_l, request.ratio.parts, request.ratio.basis)
    mix = mix.times(share, target)
    doses = tuple(Dose(product, request.litres, per_l, per_l) for product, per_l in mix.parts)
    return Mixed(request, target, mix, doses, over)


def mix_lines(found: Mixed) -> Iterator[str]:
    """The mix in words: what to weigh, what was asked and is reached, what the pen shows, what to take care of."""
    yield weigh_words(found.doses, found.request.volume)
    yield asked_words(found.request.ratio, found.target)
    yield holds_words(found.mix, found.target)
    yield from short_words(found.mix, found.target, found.over)
    if help_words(found.mix):
        yield no_closer_words(found.mix)
    ec = ec_of(found)
    if ec is not None:
        knows_water = found.request.candidates.water_ec is not None
        yield from pen_lines(ec, knows_water, found.request.at_c)
        if ec.limits:
            yield pen_note(ec)
    yield from cautions(found)
    yield from bottles_lines(bottles_for([dose.product for dose in found.doses]))


def ec_of(found: Mixed) -> ExpectedEc | None:
    """What the products and the water add up to; None where nothing is mixed."""
    added = [one.adds(dose) for one, dose in zip(found.used, found.doses, strict=True)]
    return together(added, found.request.candidates.water_ec or 0.0) if added else None


def cautions(found: Mixed) -> list[str]:
    """What not to mix as concentrates, and what these salts ask for."""
    told = [
        clash_words(one, other)
        for one, other in combinations([dose.product for dose in found.doses], 2)
        if do_clash(one, other)
    ]
    own = ((one.product.title, salt_caution(one.salt)) for one in found.used)
    return told + [f"{title}: {caution}" for title, caution in own if caution]


def mix_facts(found: Mixed) -> dict[str, object]:
    """The same facts for JSON."""
    ec, misses = ec_of(found), found.mix.percents_off(found.target)
    return {
        "products": [_dose_facts(dose) for dose in found.doses],
        "litres": float(found.request.litres),
        "ratio": str(found.request.ratio),
        **{f"{name.lower()}_mg_per_l": round(float(mg), 3) for name, mg in found.mix.reached.items()},
        "misses_percent": {name: None if miss is None else round(miss, 2) for name, miss in misses.items()},
        "advice": help_words(found.mix),
        "is_as_asked": not short_words(found.mix, found.target, found.over),
        "ec_at_25_c_ms_per_cm": None if ec is None else pen_facts(ec),
        "with_water": found.request.candidates.water_ec is not None,
        "cautions": cautions(found),
    }


def _dose_facts(dose: Dose) -> dict[str, object]:
    unit = long_unit(dose)
    return {
        "product": dose.product.title,
        unit: round(float(dose.amount), 3),
        f"{unit}_per_litre": round(float(dose.per_l), 5),
    }

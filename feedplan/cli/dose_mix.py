"""`feedplan dose --mix`: which products to mix for a strength and a ratio. Imported only when that is asked for."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import combinations
from typing import TYPE_CHECKING

from feedplan.cli.dose_stock import bottles_words
from feedplan.dose.arithmetic import Dose, Product
from feedplan.dose.bottles import do_clash
from feedplan.dose.conductivity import ec_at
from feedplan.dose.expected_ec import ExpectedEc, expected_ec
from feedplan.dose.grade import parse_grade
from feedplan.dose.mix import Mix, Target, find_mix, target_from_ratio
from feedplan.dose.mix_words import help_words, miss_percents, miss_words
from feedplan.dose.ratio import Ratio
from feedplan.dose.salts import SALTS
from feedplan.dose.wording import amount_words, three_figures
from feedplan.errors import DoseError

if TYPE_CHECKING:
    from feedplan.model.collection import Feed


@dataclass(frozen=True, slots=True)
class Known:
    """What is known of a product beside its label. ec: it adds per 100 ppm N [mS/cm]; nitrogen: forms [percent]."""

    product: Product
    ec: float | None = None
    nitrogen: Mapping[str, Decimal] | None = None
    caution: str = ""


@dataclass(frozen=True, slots=True)
class Shelf:
    """The products to choose from. can_litres: the can mixed in [L]; water_ec: of the water used [mS/cm]."""

    known: tuple[Known, ...]
    most_products: int = 2
    can_litres: Decimal | None = None
    water_ec: float | None = None


@dataclass(frozen=True, slots=True)
class Mixed:
    """The mix found for some litres."""

    ratio: Ratio
    target: Target
    litres: Decimal
    mix: Mix
    shelf: Shelf
    doses: tuple[Dose, ...]


def shelf_from(names: Sequence[str], collection: str | None) -> Shelf:
    """The products named, each a grade, a salt or a feed of the collection; all its feeds when none is named.

    Raises DoseError for a name that is none of these, FeedplanError when the collection cannot be read.
    """
    plain = [_plain(name) for name in names]
    if names and all(one is not None for one in plain):
        return Shelf(tuple(one for one in plain if one is not None))
    return _of_collection(names, plain, collection)


def _plain(name: str) -> Known | None:
    """A product that is told by its grade or by the name of a salt."""
    if name in SALTS:
        salt = SALTS[name]
        if salt.is_restricted:
            raise DoseError(f"{name} is restricted in many countries; name another product")
        return Known(Product(salt.grade, name=name), None, salt.nitrogen_percents, salt.caution)
    try:
        return Known(Product(parse_grade(name), name=name))
    except ValueError:
        return None


def _of_collection(names: Sequence[str], plain: Sequence[Known | None], collection: str | None) -> Shelf:
    from feedplan.cli.dose_shelf import shelf_of
    from feedplan.cli.words import choices
    from feedplan.engine.sink.can import is_restricted

    found = shelf_of(collection)
    feeds = {n: feed for n, feed in found.feeds.items() if not feed.is_solid and not is_restricted(feed)}
    chosen = list(plain) if names else [None] * len(feeds)
    known = []
    for name, one in zip(names or feeds, chosen, strict=True):
        if one is None and name not in feeds:
            raise DoseError(
                f"{name!r} is no grade, no salt and no feed that dissolves; {choices(name, feeds)}"
            )
        known.append(one or _known(feeds[name]))
    return Shelf(tuple(known), found.habits.most_products, found.habits.can_litres, found.water_ec)


def _known(feed: Feed) -> Known:
    """What the collection tells of a feed."""
    ec = None if feed.ec_per_100_ppm_n is None else float(feed.ec_per_100_ppm_n)
    forms = dict(feed.nitrogen) if feed.nitrogen or feed.salt else None
    return Known(feed.product, ec, forms, SALTS[feed.salt].caution if feed.salt else "")


def mix_for(shelf: Shelf, n_mg_per_l: Decimal, ratio: Ratio, most_products: int, litres: Decimal) -> Mixed:
    """The mix that comes closest. Raises DoseError for an empty shelf."""
    target = target_from_ratio(n_mg_per_l, ratio.parts, ratio.basis)
    mix = find_mix([one.product for one in shelf.known], target, most_products)
    doses = tuple(Dose(product, litres, per_l, per_l) for product, per_l in mix.parts)
    return Mixed(ratio, target, litres, mix, shelf, doses)


def mix_text(mixed: Mixed, volume: str, at_c: Decimal | None = None) -> Iterator[str]:
    """The mix in words: what to weigh, what was asked and is reached, what the pen shows, what to take care of."""
    parts = " + ".join(f"{amount_words(dose)} {dose.product.title}" for dose in mixed.doses)
    verb = "Measure" if all(dose.product.unit == "ml" for dose in mixed.doses) else "Weigh"
    yield f"{verb} {parts or 'nothing'} into {volume}."
    reached = ", ".join(f"{three_figures(mg)} {name}" for name, mg in mixed.mix.reached.items())
    wanted = ", ".join(
        f"{three_figures(mg)} {name}"
        for name, mg in zip(mixed.mix.reached, mixed.target.amounts, strict=True)
    )
    yield f"Asked {mixed.ratio}: {wanted} mg per litre, as elements."
    yield f"Holds {reached}: {miss_words(mixed.mix, mixed.target)}."
    if mixed.mix.advice:
        yield f"These products come no closer. {help_words(mixed.mix)}"
    ec = ec_of(mixed)
    if ec is not None:
        over = "" if mixed.shelf.water_ec is not None else " over the water's own"
        yield f"A conductivity pen shows about {ec.likely:.2f} mS/cm at 25 °C ({ec.low:.2f} to {ec.high:.2f}){over}."
        if at_c is not None:
            yield f"Without temperature correction it shows {ec_at(ec.likely, float(at_c)):.2f} at {at_c} °C."
        if ec.note:
            yield ec.note
    yield from cautions(mixed)
    yield from bottles_words([dose.product for dose in mixed.doses])


def ec_of(mixed: Mixed) -> ExpectedEc | None:
    """What the products and the water add up to, each product's part found on its own."""
    by_product = {one.product: one for one in mixed.shelf.known}
    parts = []
    for dose in mixed.doses:
        known = by_product[dose.product]
        part = expected_ec(dose, 0.0, known.ec, known.nitrogen)
        if part is None:
            return None
        parts.append(part)
    if not parts:
        return None
    own = mixed.shelf.water_ec or 0.0
    likely, low, high = (own + sum(getattr(p, name) for p in parts) for name in ("likely", "low", "high"))
    notes = " ".join(dict.fromkeys(part.note for part in parts if part.note))
    return ExpectedEc(likely, low, high, "; ".join(dict.fromkeys(p.method for p in parts)), notes)


def cautions(mixed: Mixed) -> list[str]:
    """What not to mix as concentrates, and what these salts ask for."""
    found = [
        f"{one.product.title} and {other.product.title}: dissolve each apart in half the water, then pour together."
        for one, other in combinations(mixed.doses, 2)
        if do_clash(one.product, other.product)
    ]
    used = {dose.product for dose in mixed.doses}
    found += [
        f"{one.product.title}: {one.caution}"
        for one in mixed.shelf.known
        if one.caution and one.product in used
    ]
    return found


def mix_facts(mixed: Mixed) -> dict[str, object]:
    """The same facts for JSON."""
    ec = ec_of(mixed)
    return {
        "products": [_dose_facts(dose) for dose in mixed.doses],
        "litres": float(mixed.litres),
        "ratio": str(mixed.ratio),
        **{f"{name.lower()}_mg_per_l": round(float(mg), 3) for name, mg in mixed.mix.reached.items()},
        "misses_percent": {
            name: None if miss is None else round(miss, 2)
            for name, miss in miss_percents(mixed.mix, mixed.target).items()
        },
        "advice": help_words(mixed.mix),
        "ec_at_25_c_ms_per_cm": None
        if ec is None
        else {"likely": round(ec.likely, 3), "low": round(ec.low, 3), "high": round(ec.high, 3)},
        "with_water": mixed.shelf.water_ec is not None,
        "cautions": cautions(mixed),
    }


def _dose_facts(dose: Dose) -> dict[str, object]:
    unit = "grams" if dose.product.unit == "g" else "millilitres"
    return {
        "product": dose.product.title,
        unit: round(float(dose.amount), 3),
        f"{unit}_per_litre": round(float(dose.per_l), 5),
    }

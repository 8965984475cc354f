"""What was typed after `feedplan dose`, and the request it makes: one product's dose, or a mix.

A refusal names the option and says what to write. What only some requests need is imported where it is needed, since
whoever stands at the sink waits for the start of this command alone.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, TypeVar

from feedplan.dose.arithmetic import LIQUID, SOLID, Product
from feedplan.dose.grade import (
    ELEMENTAL,
    OXIDE,
    Grade,
    parse_content,
    parse_grade,
    parse_npk_ratio,
    with_nutrients,
)
from feedplan.dose.measures import parse_rate, parse_ratio, parse_volume, read_number
from feedplan.dose.strength import (
    LabelShare,
    NutrientTarget,
    PpmN,
    Strength,
    parse_nutrient_target,
    parse_share,
)
from feedplan.errors import DoseError
from feedplan.words.dose import volume_words
from feedplan.words.language import say

if TYPE_CHECKING:
    from feedplan.cli.mixing import MixRequest
    from feedplan.dose.salts import Salt
    from feedplan.model.collection import Feed

_Read = TypeVar("_Read")

# A frost-free shed on a cold night. Judgement; --coldest gives that of the grower's own place.
COLDEST_C = Decimal(10)

_EXCLUDE = "{one} and {other} exclude each other; give one"


@dataclass(frozen=True, slots=True)
class DoseOptions:
    """What was typed after `feedplan dose`, option by option, not yet understood; None where not given."""

    product: str | None
    collection: str | None
    grade: str | None
    salt: str | None
    elemental: bool
    contains: tuple[str, ...]
    ppm: str | None
    nutrient: str | None
    label_fraction: str | None
    label_rate: str | None
    label_maximum: str | None
    litres: str | None
    gallons_us: str | None
    gallons_imperial: str | None
    density: str | None
    by_volume: bool
    spoon: str | None
    dilution: str | None
    coldest: str | None
    bottle: str | None
    at_c: str | None
    mix: bool
    ratio: str | None
    mix_of: tuple[str, ...]
    products: int | None
    cap: bool
    as_json: bool

    @property
    def is_for_mix(self) -> bool:
        """Whether products are to be chosen, not a dose of one worked out."""
        return bool(self.mix or self.ratio or self.mix_of or self.products)

    @property
    def describes_label(self) -> bool:
        """Whether any option says what a label says, which salts and products of the collection have already."""
        return bool(
            self.grade
            or self.elemental
            or self.label_rate
            or self.label_maximum
            or self.density
            or self.by_volume
            or self.spoon
        )


@dataclass(frozen=True, slots=True)
class StockRequest:
    """A dose that goes through a stock.

    ratio: 1 part in so many of mixed feed. coldest_c: it is kept no colder [°C]. bottle_litres: to print a label for.
    """

    ratio: Decimal
    coldest_c: Decimal
    bottle_litres: Decimal | None


@dataclass(frozen=True, slots=True)
class DoseRequest:
    """One product at one strength, so much of it.

    litres, volume: the feed to mix [L], and how to write that. cap: cut to the label maximum instead of refusing.
    salt: the straight salt it is, if it is one. feed: of the collection, if it is one. water_ec: of the water used
    there, None when not told [mS/cm]. at_c: how warm the water is, for a pen that does not correct [°C].
    """

    product: Product
    strength: Strength | NutrientTarget
    litres: Decimal
    volume: str
    cap: bool = False
    stock: StockRequest | None = None
    salt: Salt | None = None
    feed: Feed | None = None
    water_ec: float | None = None
    at_c: Decimal | None = None


# --- From options to a request ---------------------------------------------------------------------------------


def read_dose(options: DoseOptions) -> DoseRequest:
    """The dose asked for. Raises DoseError or ValueError for what cannot be understood or is missing."""
    at_c = _read_if("--at", _temperature, options.at_c)
    if options.product is None:
        product, salt = _described(options)
        litres, volume = _volume(options, None)
        strength = _strength(options)
        return DoseRequest(product, strength, litres, volume, options.cap, _stock(options), salt, at_c=at_c)
    if options.salt or options.describes_label:
        raise DoseError(
            say(
                "{product} has its label in the collection; leave out --grade and its like",
                product=repr(options.product),
            )
        )
    from feedplan.cli.options import collection_file
    from feedplan.dose.salts import SALTS
    from feedplan.load.feeds import load_shelf

    shelf = load_shelf(collection_file(options.collection))
    feed = _feed_named(options.product, shelf.feeds)
    litres, volume = _volume(options, shelf.habits.can_litres)
    return DoseRequest(
        feed.product,
        _strength(options),
        litres,
        volume,
        options.cap,
        _stock(options),
        SALTS.get(feed.salt),
        feed,
        shelf.water_ec,
        at_c,
    )


def read_mix(options: DoseOptions) -> MixRequest:
    """The mix asked for. Raises DoseError or ValueError for what cannot be understood or is missing."""
    from feedplan.cli.mixing import MixRequest, candidates

    beside = options.product or options.salt or options.describes_label or options.dilution
    if not options.mix or options.ratio is None or beside:
        raise DoseError(
            say(
                "a mix takes --mix, --ratio and --ppm; name products with --of, such as --of 20-10-20 --of 15.5-0-0"
            )
        )
    ratio = _read("--ratio", parse_npk_ratio, options.ratio)
    found = candidates(options.mix_of, options.collection)
    strength = _strength(options)
    if not isinstance(strength, PpmN):
        raise DoseError(say("a mix has no one label; give its strength with --ppm"))
    litres, volume = _volume(options, found.can_litres)
    at_c = _read_if("--at", _temperature, options.at_c)
    most = options.products or found.most_products
    return MixRequest(found, strength.n_mg_per_l, ratio, most, litres, volume, at_c)


def _feed_named(name: str, feeds: Mapping[str, Feed]) -> Feed:
    """A feed that dissolves. Raises DoseError when there is none of that name, or it is laid on the pot."""
    if name not in feeds:
        from feedplan.cli.words import choices

        raise DoseError(
            say("no feed {name} in the collection; {choices}", name=repr(name), choices=choices(name, feeds))
        )
    if feeds[name].is_solid:
        raise DoseError(
            say(
                "{name} is laid on the pot, not mixed into water; name a soluble or liquid feed",
                name=repr(name),
            )
        )
    return feeds[name]


def _described(options: DoseOptions) -> tuple[Product, Salt | None]:
    """The product that the options describe: a straight salt by its name, or what a label says."""
    if options.salt is not None:
        if options.describes_label:
            raise DoseError(
                say("--salt tells the grade by the salt's formula; leave out --grade and its like")
            )
        salt = _salt_named(options.salt)
        return Product(salt.grade, name=salt.name), salt
    if options.grade is None:
        raise DoseError(say("no product; name one of your collection, or give a label: --grade 20-10-20"))
    if options.density is not None and options.by_volume:
        raise DoseError(
            say("--density and --by-volume exclude each other; a label by volume (w/v) needs no density")
        )
    form = LIQUID if options.by_volume or options.density is not None else SOLID
    product = Product(
        grade=_grade(options.grade, options),
        form=form,
        density_kg_per_l=_read_if("--density", _number, options.density),
        by_volume=options.by_volume,
        spoon_g=_read_if("--spoon", _number, options.spoon),
        label_rate_per_l=_rate("--label-rate", options.label_rate, form),
        label_maximum_per_l=_rate("--label-maximum", options.label_maximum, form),
    )
    return product, None


def _salt_named(name: str) -> Salt:
    """The salt of that name. Raises DoseError for another."""
    from feedplan.dose.salts import SALTS

    if name not in SALTS:
        from feedplan.cli.words import choices

        raise DoseError(
            say("no salt is called {name}; {choices}", name=repr(name), choices=choices(name, SALTS))
        )
    return SALTS[name]


def _grade(text: str, options: DoseOptions) -> Grade:
    """The label's numbers, with what it holds beside them."""
    basis = ELEMENTAL if options.elemental else OXIDE
    grade = _read("--grade", lambda written: parse_grade(written, basis), text)
    contents = dict(_read("--contains", parse_content, content) for content in options.contains)
    return with_nutrients(grade, contents) if contents else grade


def _rate(option: str, text: str | None, form: str) -> Decimal | None:
    """A label's rate [g/L or ml/L], refused when it is in the unit of the other form."""
    if text is None:
        return None
    per_l, unit = _read(option, parse_rate, text)
    if unit == "ml" and form == SOLID:
        raise DoseError(
            say(
                "{option} is in ml, so this is a liquid; add --density 1.2 (your label's), or --by-volume",
                option=option,
            )
        )
    if unit == "g" and form == LIQUID:
        raise DoseError(
            say("{option} is in grams, but a liquid is measured in ml; write it in ml/L", option=option)
        )
    return per_l


def _strength(options: DoseOptions) -> Strength | NutrientTarget:
    """The strength from the one option given for it."""
    if options.nutrient is not None:
        if options.ppm is not None or options.label_fraction is not None:
            raise DoseError(say("--nutrient stands in place of --ppm and --label-fraction; give one"))
        return _read("--nutrient", parse_nutrient_target, options.nutrient)
    if options.ppm is not None and options.label_fraction is not None:
        raise DoseError(say(_EXCLUDE, one="--ppm", other="--label-fraction"))
    if options.ppm is not None:
        return _read("--ppm", lambda text: PpmN(_positive(text)), options.ppm)
    if options.label_fraction is not None:
        return LabelShare(_read("--label-fraction", parse_share, options.label_fraction))
    raise DoseError(say("no strength; give --ppm 100, or --label-fraction 1/2 with --label-rate '1 g/L'"))


def _volume(options: DoseOptions, can_litres: Decimal | None) -> tuple[Decimal, str]:
    """The feed to mix [L] and how to write it: from the one option given, else one can of the collection's."""
    choices = (
        ("--litres", options.litres, "L"),
        ("--gallons-us", options.gallons_us, "US gal"),
        ("--gallons-imperial", options.gallons_imperial, "imperial gal"),
    )
    given = [(option, text, unit) for option, text, unit in choices if text is not None]
    if not given and can_litres is not None:
        return can_litres, volume_words(can_litres)
    if not given:
        raise DoseError(say("no amount of feed; add how much to mix, such as --litres 10"))
    if len(given) > 1:
        raise DoseError(say(_EXCLUDE, one=given[0][0], other=given[1][0]))
    option, text, unit = given[0]
    number = _read(option, _positive, text)
    litres = parse_volume(f"{number} {unit}")
    return litres, volume_words(litres) if unit == "L" else volume_words(litres, number, unit)


def _stock(options: DoseOptions) -> StockRequest | None:
    """The stock that the dose goes through, if it does."""
    if options.dilution is None:
        return None
    coldest = _read_if("--coldest", _temperature, options.coldest)
    return StockRequest(
        _read("--dilution", parse_ratio, options.dilution),
        COLDEST_C if coldest is None else coldest,
        _read_if("--bottle", _positive, options.bottle),
    )


# --- Texts of options ------------------------------------------------------------------------------------------


def _temperature(text: str) -> Decimal:
    """A bare number of degrees, below zero allowed."""
    clean = text.strip()
    return -_number(clean[1:]) if clean.startswith("-") else _number(clean)


def _number(text: str) -> Decimal:
    """A bare number. Raises ValueError for anything after it."""
    number, rest = read_number(text, "10")
    if rest:
        raise ValueError(
            say("{text} is more than a number; leave out {rest}", text=repr(text), rest=repr(rest))
        )
    return number


def _positive(text: str) -> Decimal:
    """A bare number above zero."""
    number = _number(text)
    if number == 0:
        raise ValueError(say("0 is nothing to mix; give a number above 0"))
    return number


def _read(option: str, reader: Callable[[str], _Read], text: str) -> _Read:
    """What the reader makes of an option's text; a refusal names the option."""
    try:
        return reader(text)
    except ValueError as refusal:
        raise DoseError(f"{option} {refusal}") from None


def _read_if(option: str, reader: Callable[[str], _Read], text: str | None) -> _Read | None:
    """The same for an option that may be left out."""
    return None if text is None else _read(option, reader, text)

"""The product asked for at the sink, by a label's numbers, a name or the shelf, and the request it begins."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING, NamedTuple

from feedplan.cli.dose_options import (
    DoseOptions,
    StockRequest,
    above_zero,
    as_number,
    as_rate,
    read_if,
    read_option,
)
from feedplan.cli.dose_tokens import SinkWords, measures_of, retyped
from feedplan.dose.arithmetic import LIQUID, SOLID, USUAL_SCALE, Product, Scale
from feedplan.dose.grade import ELEMENTAL, OXIDE, Grade, parse_content, parse_grade, with_nutrients
from feedplan.dose.strength import EcTarget, NutrientTarget, Strength
from feedplan.errors import DoseError
from feedplan.words.language import say

if TYPE_CHECKING:
    from feedplan.dose.names import Sold
    from feedplan.dose.salts import Salt
    from feedplan.load.feeds import Shelf
    from feedplan.model.collection import Feed

# Most liquid feeds weigh 1.05 to 1.40 kg per litre (common practice, no source).
HEAVY_LIQUID = Decimal("1.4")

_NO_PRODUCT = (
    "no product; say its label's three numbers, its name, or one of your collection, such as: "
    "feedplan dose 20-10-20 100 ppm 10 L"
)


class Portion(NamedTuple):  # plain tuples here, since the command at the sink must start at once
    """So much product [g or ml]; low and high differ where a spoonful of powder is all that is known.

    words: as told. spoon, spoons: which spoon it was told in, and how many of them, where it is rough.
    """

    low: Decimal
    high: Decimal
    words: str
    spoon: str = ""
    spoons: Decimal = Decimal(1)


class DoseRequest(NamedTuple):
    """One product, with two of strength, feed and amount, or one of them and a table over the rest.

    litres, volume: the feed to mix [L], and how to write that; None where not told. cap: cut to the label maximum
    instead of refusing. salt: the straight salt it is, if it is one. feed: of the collection. water_ec: of
    the water used there, None when not told [mS/cm]. at_c: how warm the water is, for a pen that does not correct [°C];
    at_is_f: it was told in °F. can_litres: one can of the collection [L]. heavy: the same liquid by weight, where its
    label may be by weight or by volume. pure, sold, name: of a salt as it is sold, the pure salt and what it was
    called. measures: "metric", "us" or "imperial". taken: units that might mean two things. typed: words and options.
    scale: what product is measured with.
    """

    product: Product
    strength: Strength | NutrientTarget | EcTarget | None
    litres: Decimal | None
    volume: str = ""
    cap: bool = False
    stock: StockRequest | None = None
    salt: Salt | None = None
    feed: Feed | None = None
    water_ec: float | None = None
    at_c: Decimal | None = None
    amount: Portion | None = None
    at_is_f: bool = False
    can_litres: Decimal | None = None
    heavy: Product | None = None
    pure: Product | None = None
    sold: Sold | None = None
    name: str = ""
    measures: str = "metric"
    taken: tuple[str, ...] = ()
    typed: tuple[str, str] = ("", "")
    scale: Scale = USUAL_SCALE

    def retyped(self, more: str) -> str:
        """The command as typed, with more words."""
        return retyped(f"{self.typed[0]} {more}", self.typed[1])


def product_told(options: DoseOptions, said: SinkWords, shelf: Shelf | None) -> DoseRequest:
    """A request of which only the product is known yet."""
    measures = options.measures or measures_of(said)
    typed = (" ".join(options.words), options.typed)
    if options.salt or options.grade or (options.describes_label and not said.is_named):
        if said.is_named:
            raise DoseError(say("two products are told; leave out the option, or the name"))
        product, salt = _described(options)
        return DoseRequest(product, None, None, salt=salt, measures=measures, typed=typed)
    if said.feed is not None and shelf is not None:
        from feedplan.dose.salts import SALTS

        if options.describes_label:
            raise DoseError(
                say(
                    "{product} has its label in the collection; leave out --grade and its like",
                    product=repr(said.feed),
                )
            )
        feed = _dissolving(said.feed, shelf.feeds)
        salt = SALTS.get(feed.salt)
        product = feed.product
        if said.spoon_g is not None and product.form == SOLID:
            product = replace(product, spoon_g=said.spoon_g, spoon_ml=None)
        return DoseRequest(
            product,
            None,
            None,
            salt=salt,
            feed=feed,
            water_ec=shelf.water_ec,
            can_litres=shelf.habits.can_litres,
            measures=measures,
            typed=typed,
        )
    if not said.is_named and shelf is not None:
        from feedplan.cli.words import choices

        dissolving = [name for name, feed in shelf.feeds.items() if not feed.is_solid]
        raise DoseError(say("no product; {choices}", choices=choices("", dissolving)))
    if not said.is_named:
        raise DoseError(say(_NO_PRODUCT))
    if said.grade is None and said.name is not None:
        _refuse_for_one_kept(said.name, shelf)
        return _named(options, said, said.name, measures, typed)
    return _labelled(options, said, measures, typed)


def _refuse_for_one_kept(name: str, shelf: Shelf | None) -> None:
    """Raises DoseError for what only its label tells, where the collection has feeds with such a name: those."""
    from feedplan.dose.names import SOLD, spelled

    kept = [] if shelf is None or name in SOLD else [f for f in shelf.feeds if name in spelled(f)]
    if kept:
        from feedplan.cli.words import choices

        raise DoseError(
            say("no feed {name} in the collection; {choices}", name=repr(name), choices=choices(name, kept))
        )


def _labelled(options: DoseOptions, said: SinkWords, measures: str, typed: tuple[str, str]) -> DoseRequest:
    """A product told by its label's numbers, with what else is said of it."""
    basis = ELEMENTAL if options.elemental or said.is_elemental else OXIDE
    grade = _with_contents(parse_grade(said.grade or "", basis), options)
    density = said.density or read_if("--density", as_number, options.density)
    by_volume = said.is_by_volume or options.by_volume
    is_liquid = said.is_liquid or density is not None or by_volume or _is_in_ml(said)
    is_unsure = is_liquid and density is None and not by_volume
    form = LIQUID if is_liquid else SOLID
    name = said.name or ""
    product = Product(
        grade,
        form,
        density_kg_per_l=density,
        by_volume=by_volume or is_unsure,
        spoon_g=None if is_liquid else said.spoon_g or read_if("--spoon", above_zero, options.spoon),
        label_rate_per_l=_label_rate(options, said, form),
        label_maximum_per_l=as_rate("--label-maximum", options.label_maximum, form),
        name=f"{name} {grade}" if name else "",
    )
    heavy = replace(product, by_volume=False, density_kg_per_l=HEAVY_LIQUID) if is_unsure else None
    return DoseRequest(product, None, None, heavy=heavy, measures=measures, typed=typed)


def _is_in_ml(said: SinkWords) -> bool:
    """Whether the product is measured as liquids are: in ml, fluid ounces or capfuls, and nobody says powder."""
    measures = [m for m in (said.amount, said.label and said.label[0]) if m]
    return any(m.kind in ("volume", "cap") for m in measures) and not said.is_powder


def _named(
    options: DoseOptions, said: SinkWords, name: str, measures: str, typed: tuple[str, str]
) -> DoseRequest:
    """A product by the name people say: a salt as it is sold, or a feed that only its label tells."""
    from feedplan.dose.names import SOLD

    if name not in SOLD:
        raise DoseError(
            say(
                "{name} differs from maker to maker; add its label's three numbers, such as: {command}",
                name=name,
                command=retyped(f"{typed[0]} 5-1-1", typed[1]),
            )
        )
    from feedplan.dose.salts import SALTS

    sold, salt = SOLD[name], SALTS[SOLD[name].salt]
    contains = {element: Decimal(percent) for element, percent in sold.contains.items()}
    grade = parse_grade(sold.grade)
    spoon = said.spoon_g or read_if("--spoon", above_zero, options.spoon)
    product = Product(with_nutrients(grade, contains) if contains else grade, spoon_g=spoon, name=name)
    product = replace(product, label_rate_per_l=_label_rate(options, said, SOLID))
    pure = Product(salt.grade, name=salt.name)
    return DoseRequest(
        product, None, None, salt=salt, pure=pure, sold=sold, name=name, measures=measures, typed=typed
    )


def _label_rate(options: DoseOptions, said: SinkWords, form: str) -> Decimal | None:
    """What the label says to use [g or ml in a litre], from the option or the words."""
    if said.label is None:
        return as_rate("--label-rate", options.label_rate, form)
    product, water = said.label
    number = product.total
    if product.kind == "cap":
        number = product.number * cap_ml(options, said)
    elif product.kind == "spoon" and form == SOLID:
        if said.spoon_g is None:
            raise DoseError(
                say(
                    "a spoonful is no weight; weigh one level spoonful, and type its grams: {command}",
                    command=retyped(f"{' '.join(options.words)} spoon 5 g", options.typed),
                )
            )
        number = product.number * said.spoon_g
    elif product.kind != "mass":
        number *= 1000
    return number / water.total


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
        raise DoseError(say(_NO_PRODUCT))
    if options.density is not None and options.by_volume:
        raise DoseError(
            say("--density and --by-volume exclude each other; a label by volume (w/v) needs no density")
        )
    form = LIQUID if options.by_volume or options.density is not None else SOLID
    basis = ELEMENTAL if options.elemental else OXIDE
    grade = read_option("--grade", lambda written: parse_grade(written, basis), options.grade)
    product = Product(
        grade=_with_contents(grade, options),
        form=form,
        density_kg_per_l=read_if("--density", as_number, options.density),
        by_volume=options.by_volume,
        spoon_g=read_if("--spoon", as_number, options.spoon),
        label_rate_per_l=as_rate("--label-rate", options.label_rate, form),
        label_maximum_per_l=as_rate("--label-maximum", options.label_maximum, form),
    )
    return product, None


def _with_contents(grade: Grade, options: DoseOptions) -> Grade:
    """The label's numbers, with what it holds beside them."""
    contents = dict(read_option("--contains", parse_content, content) for content in options.contains)
    return with_nutrients(grade, contents) if contents else grade


def _salt_named(name: str) -> Salt:
    """The salt of that name. Raises DoseError for another."""
    from feedplan.dose.names import SOLD
    from feedplan.dose.salts import SALTS, salt_called

    called = salt_called(name)
    if called is None:
        from feedplan.cli.words import choices

        raise DoseError(
            say(
                "no salt is called {name}; {choices}", name=repr(name), choices=choices(name, [*SALTS, *SOLD])
            )
        )
    return SALTS[called]


def _dissolving(name: str, feeds: Mapping[str, Feed]) -> Feed:
    """A feed that dissolves. Raises DoseError when it is laid on the pot."""
    if feeds[name].is_solid:
        raise DoseError(
            say(
                "{name} is laid on the pot, not mixed into water; name a soluble or liquid feed",
                name=repr(name),
            )
        )
    return feeds[name]


def cap_ml(options: DoseOptions, said: SinkWords) -> Decimal:
    """What a cap holds [ml]. Raises DoseError where nobody measured it."""
    if said.cap_ml is None:
        raise DoseError(
            say(
                "a capful is what its own cap holds; fill it with water, measure that, and type its ml: {command}",
                command=retyped(f"{' '.join(options.words)} cap 7 ml", options.typed),
            )
        )
    return said.cap_ml

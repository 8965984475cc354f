"""What was typed after `feedplan dose`, in words and options, and the request it makes.

What only some requests need is imported where it is needed, since whoever stands at the sink waits for the start of
this command alone.
"""

from __future__ import annotations

import re
from decimal import Decimal
from os.path import isfile
from typing import TYPE_CHECKING

from feedplan.cli.dose_options import (
    DoseOptions,
    as_celsius,
    is_fahrenheit,
    read_if,
    stock_of,
    strength_of,
    volume_of,
)
from feedplan.cli.dose_product import DoseRequest, Portion, cap_ml, product_told
from feedplan.cli.dose_tokens import CHELATED, NUTRIENTS, Measured, SinkWords, retyped
from feedplan.cli.dose_words import UnknownWord, read_words
from feedplan.dose.arithmetic import HEAVY_POWDER, LIGHT_POWDER, LIQUID, USUAL_SCALE
from feedplan.dose.measures import measured_in
from feedplan.dose.names import spelled
from feedplan.dose.strength import EcTarget, LabelShare, NutrientTarget, PpmN, Strength
from feedplan.errors import DoseError
from feedplan.words.dose import three_figures
from feedplan.words.language import say
from feedplan.words.sink import feed_words

if TYPE_CHECKING:
    from feedplan.load.feeds import Shelf


def read_dose(options: DoseOptions) -> DoseRequest:
    """The dose asked for. Raises DoseError or ValueError for what cannot be understood or is missing."""
    at_c = read_if("--at", as_celsius, options.at_c)
    options = options._replace(words=_in_words(options))
    needs_shelf = (
        options.collection is not None or _is_named_here(options.words) or _tells_units_here(options)
    )
    shelf = _shelf(options) if needs_shelf else None
    if shelf is not None:
        options = options._replace(measures=options.measures or shelf.habits.measures.units)
    with measured_in(options.measures):
        return _read(options, shelf, at_c)


def _read(options: DoseOptions, shelf: Shelf | None, at_c: Decimal | None) -> DoseRequest:
    """The same, in the measures of the place. shelf: if read before."""
    said, shelf = _understood(options, shelf)
    told = product_told(options, said, shelf)
    strength, volume = _strength(options, said, told), _volume(options, said, told)
    amount = (
        None if said.amount is None else _as_product(_in_all(said.amount, volume, told), options, said, told)
    )
    if amount is not None and strength is not None and volume is not None:
        raise DoseError(
            say("strength, feed and product are all told: the third follows from two; leave one out")
        )
    return told._replace(
        strength=strength,
        litres=None if volume is None else volume[0],
        volume="" if volume is None else volume[1],
        cap=options.cap,
        stock=stock_of(options, said.ratio),
        at_c=said.at_c if at_c is None else at_c,
        at_is_f=said.at_is_f or is_fahrenheit(options.at_c),
        amount=amount,
        taken=tuple(said.taken) if options.measures is None else (),
        scale=USUAL_SCALE if shelf is None else shelf.habits.measures.scale_for(told.product.unit),
    )


def _in_words(options: DoseOptions) -> tuple[str, ...]:
    """The words, and after them the options that are words with a name."""
    can = () if options.can is None else (f"can {options.can}",)
    amounts = ((options.grams, "g"), (options.ml, "ml"))
    return (
        *options.words,
        *can,
        *(text if text[-1:].isalpha() else f"{text} {unit}" for text, unit in amounts if text is not None),
    )


def _understood(options: DoseOptions, shelf: Shelf | None) -> tuple[SinkWords, Shelf | None]:
    """What the words say, and the shelf of the collection where a product is looked up there. shelf: if read before."""
    feeds = () if shelf is None else tuple(shelf.feeds)
    word = ""
    try:
        said = read_words(options.words, feeds, options.measures, options.typed)
        is_told = said.is_named and (options.describes_label or not _is_kept_here(said))
        if shelf is not None or is_told or options.grade or options.salt or not _is_collection_here():
            return said, shelf  # else a plain word such as "powder" may be a name on the shelf
    except UnknownWord as unknown:
        word = unknown.word
    if word and (options.salt or options.describes_label):
        raise DoseError(
            say(
                "{product} has its label in the collection; leave out --grade and its like",
                product=repr(word),
            )
        )
    shelf = shelf or _shelf(options, word)
    try:
        return read_words(options.words, tuple(shelf.feeds), options.measures, options.typed), shelf
    except UnknownWord as unknown:
        from feedplan.cli.words import choices

        word = unknown.word
        raise DoseError(
            _by_its_content(word, options)
            or say(
                "no feed {name} in the collection; {choices}",
                name=repr(word),
                choices=choices(word, shelf.feeds),
            )
        ) from None


def _shelf(options: DoseOptions, word: str = "") -> Shelf:
    """The shelf of the collection named, or of the one here. Raises DoseError where there is none."""
    from feedplan.cli.options import collection_file
    from feedplan.errors import UsageError
    from feedplan.load.feeds import load_shelf

    try:
        file = collection_file(options.collection)
    except UsageError:
        if options.collection is not None:
            raise
        raise DoseError(_not_understood(word, options)) from None
    return load_shelf(file)


def _not_understood(word: str, options: DoseOptions) -> str:
    """That a word is no product or measure, with the nearest that is."""
    from difflib import get_close_matches

    from feedplan.dose.measures import UNITS
    from feedplan.dose.names import LIQUID_FEEDS, SOLD

    known = [*SOLD, *LIQUID_FEEDS, "label", "half", "quarter", "capful"]
    known += [name for name, unit in UNITS.items() if unit.kind in ("volume", "mass") and len(name) > 3]
    near = get_close_matches(word.lower(), known, 1, 0.75)
    if of_content := _by_its_content(word, options):
        return of_content
    if near:
        words = " ".join(options.words).replace(word, near[0], 1)
        return say(
            "'{word}' is not understood; type: {command}", word=word, command=retyped(words, options.typed)
        )
    return say(
        "'{word}' is no product or measure, and there is no collection.yaml here to look it up in; type the label's "
        "numbers: feedplan dose 20-20-20 100 ppm 10 L",
        word=word,
    )


def _by_its_content(word: str, options: DoseOptions) -> str:
    """How a product said by the nutrient it holds, such as "iron chelate 6 %", is typed; empty for any other word."""
    text, low = " ".join(options.words), word.lower()
    if low not in NUTRIENTS and low not in CHELATED:
        return ""
    name, kind = low if low in NUTRIENTS else "|".join(NUTRIENTS), "|".join(CHELATED)
    of_nutrient = re.search(
        rf"\b(?:(?:{kind}) )*(?P<name>{name})\b(?: ?(?:{kind})\b)*(?: ?(?P<share>\d+(?:\.\d+)?) ?%)?",
        text,
        re.IGNORECASE,
    )
    if of_nutrient is None:
        return ""
    content = f"'{NUTRIENTS[of_nutrient['name'].lower()]} {of_nutrient['share'] or 6} %'"
    rest = f"{text[: of_nutrient.start()]} {text[of_nutrient.end() :]}"
    command = retyped(f"0-0-0 {rest}", " ".join(("--contains", content, options.typed)).strip())
    if of_nutrient["share"]:
        return say("'{word}' alone names no product; type: {command}", word=word, command=command)
    return say(
        "'{word}' alone names no product; type what the label says it holds, such as: {command}",
        word=word,
        command=command,
    )


def _is_collection_here() -> bool:
    return isfile("collection.yaml")  # noqa: PTH113 - pathlib takes long to load


def _is_named_here(words: tuple[str, ...]) -> bool:
    """Whether the collection here names a feed by what reads as a grade: its label then comes before the grade's."""
    grades = [word for word in words if word[:1].isdigit() and word.count("-") > 1]
    text = _text_here() if grades else ""
    return any(f"{word}:" in text or f'{word}"' in text for word in grades)


def _is_kept_here(said: SinkWords) -> bool:
    """Whether the collection here may have a feed by a name of the trade, whose label it then tells."""
    return said.name is not None and said.grade is None and said.name in spelled(_text_here())


def _tells_units_here(options: DoseOptions) -> bool:
    """Whether the collection here may say in which units its grower measures, and no option does."""
    return options.measures is None and "units" in _text_here()


def _text_here() -> str:
    """The collection here as it is written: looked through before it is read, since reading it takes its time."""
    if not _is_collection_here():
        return ""
    with open("collection.yaml", encoding="utf-8", errors="replace") as file:  # noqa: PTH123
        return file.read()


# --- Strength, feed and amount ---------------------------------------------------------------------------------


def _strength(
    options: DoseOptions, said: SinkWords, told: DoseRequest
) -> Strength | NutrientTarget | EcTarget | None:
    """The strength from words or options, None where it is not told."""
    strength: Strength | NutrientTarget | EcTarget | None = strength_of(options)
    if strength is not None and said.strength is not None:
        raise DoseError(say("two strengths are told; leave out the option, or the words"))
    strength = strength or said.strength
    main = told.product.main_nutrient
    if isinstance(strength, PpmN) and strength is said.strength and main not in ("N", None):
        words = told.typed[0].replace("ppm N", "ppm").replace("ppm", f"ppm {main}", 1)
        raise DoseError(
            say(
                "{product} holds no nitrogen; say the ppm of what it holds: {command}",
                product=told.product.title,
                command=retyped(words, told.typed[1]),
            )
        )
    if isinstance(strength, LabelShare) and told.product.label_rate_per_l is None and options.words:
        raise DoseError(
            say(
                "{product} has no label rate here; copy it from the label: {command}",
                product=told.product.title,
                command=told.retyped(f"1 {told.product.unit}/L"),
            )
        )
    return strength


def _volume(options: DoseOptions, said: SinkWords, told: DoseRequest) -> tuple[Decimal, str] | None:
    """The feed to mix [L] and how to write it, None where it is not told."""
    volume = volume_of(options)
    if volume is not None and (said.water is not None or said.cans is not None):
        raise DoseError(say("two amounts of feed are told; leave out the option, or the words"))
    if said.water is not None:
        litres = said.water.total
        return litres, feed_words(litres, said.water.number, said.water.name, told.measures)
    if said.cans is not None:
        litres = said.cans * one_can(told)
        return litres, feed_words(litres, measures=told.measures)
    if volume is None and said.amount is not None and (per := said.amount.per) is not None:
        litres = _litres_of(per, told)
        number = None if per.kind == "can" else per.number
        return litres, feed_words(litres, number, per.name, told.measures)
    return volume


def _litres_of(feed: Measured, told: DoseRequest) -> Decimal:
    """So much feed, told in measures or cans [L]."""
    return feed.number * one_can(told) if feed.kind == "can" else feed.total


def _in_all(amount: Measured, volume: tuple[Decimal, str] | None, told: DoseRequest) -> Measured:
    """An amount told per litre (or can, or gallon) as what goes into all of the feed."""
    if amount.per is None or volume is None:
        return amount
    return amount._replace(number=amount.number * volume[0] / _litres_of(amount.per, told), per=None)


def one_can(told: DoseRequest) -> Decimal:
    """A can [L]: that of the collection, else 10 L, or 2 gallons where those are the measure."""
    if told.can_litres is not None:
        return told.can_litres
    from feedplan.dose.measures import UNITS

    return {"us": 2 * UNITS["us gal"].worth, "imperial": 2 * UNITS["imperial gal"].worth}.get(
        told.measures, Decimal(10)
    )


def _as_product(measure: Measured, options: DoseOptions, said: SinkWords, told: DoseRequest) -> Portion:
    """An amount in what the product is measured in."""
    product, words = told.product, f"{three_figures(measure.number)} {measure.name}"
    if measure.kind == "cap":
        ml = cap_ml(options, said) * measure.number
        return Portion(ml, ml, f"{three_figures(ml)} ml")
    if measure.name == "spoon" and product.spoon_g is None:
        raise DoseError(
            say(
                "a spoon is as big as it is; weigh one level spoonful, and type its grams: {command}",
                command=told.retyped("spoon 5 g"),
            )
        )
    if measure.kind == "mass":
        return _weighed(measure, words, told)
    ml = measure.total * 1000
    if product.form == LIQUID:
        return Portion(ml, ml, words if measure.name == "ml" else f"{words} ({three_figures(ml)} ml)")
    grams = product.levelled_g(ml)
    is_own = measure.name == "spoon" or told.feed is None or said.spoon_g is not None
    if is_own and product.spoon_g is not None and measure.kind == "spoon":
        grams = measure.number * product.spoon_g
    if grams is not None:
        return Portion(grams, grams, f"{words} ({three_figures(grams)} g)")
    words = f"{words} ({three_figures(ml)} ml)"
    return Portion(ml * LIGHT_POWDER, ml * HEAVY_POWDER, words, measure.name, measure.number)


def _weighed(measure: Measured, words: str, told: DoseRequest) -> Portion:
    """A mass of product; a liquid's turned into volume by its density."""
    grams = measure.total
    told_g = words if measure.name == "g" else f"{words} ({three_figures(grams)} g)"
    if told.product.form != LIQUID:
        return Portion(grams, grams, told_g)
    if told.product.density_kg_per_l is None:
        raise DoseError(
            say(
                "{words} of a liquid is a weight; measure it in ml, or type its density: {command}",
                words=words,
                command=told.retyped("density 1.2"),
            )
        )
    ml = grams / told.product.density_kg_per_l
    return Portion(ml, ml, told_g)

"""`feedplan dose`: grams or millilitres for the can, with or without a collection."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from decimal import Decimal
from types import SimpleNamespace
from typing import Any, TypeVar

import click

from feedplan.dose.arithmetic import LIQUID, SOLID, Dose, Product, work_out_dose
from feedplan.dose.grade import ELEMENTAL, OXIDE, Grade, parse_grade, with_nutrients
from feedplan.dose.measures import parse_rate, parse_ratio, parse_volume, read_number
from feedplan.dose.stock import Stock, stock_at
from feedplan.dose.strength import LabelShare, PpmN, Strength, parse_share
from feedplan.dose.wording import dose_facts, dose_lines, three_figures
from feedplan.errors import DoseError

_Read = TypeVar("_Read")

# What a label says, which PRODUCT has in the collection already.
_LABEL_OPTIONS = (
    "grade",
    "salt",
    "elemental",
    "label_rate",
    "label_maximum",
    "density",
    "by_volume",
    "spoon",
)


class _Refusal(click.ClickException):
    """One sentence on stderr and the exit code of wrong usage."""

    exit_code = DoseError.exit_code


@click.command(short_help="Grams or ml of feed for the can.")
@click.argument("product", required=False)
@click.option(
    "-c",
    "--collection",
    metavar="DIR",
    help="Where PRODUCT is looked up; the folder you stand in if not given.",
)
@click.option("--grade", metavar="N-P-K", help="The label's numbers, such as 20-10-20.")
@click.option(
    "--salt", metavar="NAME", help="A straight salt in place of a grade, such as 'potassium nitrate'."
)
@click.option("--elemental", is_flag=True, help="The label gives P and K as elements, not as P2O5 and K2O.")
@click.option(
    "--contains", multiple=True, metavar="CONTENT", help="A further nutrient of the label, such as 'Fe 6 %'."
)
@click.option("--ppm", metavar="N", help="Nitrogen wanted in the feed [mg N per litre].")
@click.option("--nutrient", metavar="TARGET", help="In place of --ppm, another nutrient: '2 mg Fe per L'.")
@click.option("--label-fraction", metavar="SHARE", help="Share of the label rate: 1/2, 0.5 or 50%.")
@click.option(
    "--label-rate", metavar="RATE", help="What the label says to use, such as '1 g/L' or '5 ml per 10 L'."
)
@click.option(
    "--label-maximum", metavar="RATE", help="The most the label allows; the label rate if not given."
)
@click.option("--litres", metavar="L", help="Feed to mix [litres].")
@click.option("--gallons-us", metavar="GAL", help="Feed to mix [US gallons, 3.785 L].")
@click.option("--gallons-imperial", metavar="GAL", help="Feed to mix [imperial gallons, 4.546 L].")
@click.option("--density", metavar="KG_PER_L", help="A liquid whose label is by weight, and its density.")
@click.option("--by-volume", is_flag=True, help="A liquid whose label is by volume (w/v).")
@click.option("--spoon", metavar="G", help="Weight of one level spoonful [g].")
@click.option("--dilution", metavar="1:R", help="Mix through a stock, 1 part in R parts of mixed feed.")
@click.option("--coldest", metavar="C", help="Coldest the stock is kept at [°C]; 10 if not given.")
@click.option("--bottle", metavar="L", help="With --dilution: print a label for a bottle of so many litres.")
@click.option(
    "--at", "at_c", metavar="C", help="How warm the water is [°C], for a pen that does not correct."
)
@click.option(
    "--mix", is_flag=True, help="Mix products to a --ratio: those named with --of, else the shelf's."
)
@click.option("--ratio", metavar="N-P-K", help="With --mix: '3-1-2 oxide' or '100-13-65 elemental'.")
@click.option(
    "--of",
    "mix_of",
    multiple=True,
    metavar="PRODUCT",
    help="With --mix: a grade, salt or feed; again for more.",
)
@click.option("--products", type=click.IntRange(1, 3), help="With --mix: so many at most; 2 if not given.")
@click.option("--cap", is_flag=True, help="Cut to the label maximum instead of refusing.")
@click.option("--json", "as_json", is_flag=True, help="Print the numbers as JSON.")
def dose(**options: Any) -> None:
    """Say how much feed to weigh or measure for a can of water.

    Give a PRODUCT of your collection, or any label's --grade.

    \b
    feedplan dose --grade 20-10-20 --ppm 100 --litres 10
    feedplan dose spring-powder --ppm 100
    feedplan dose --grade 7-3-6 --density 1.15 --ppm 60 --litres 9
    feedplan dose --grade 24-8-16 --label-rate '1 g/L' --label-fraction 1/2 --litres 10
    feedplan dose --grade 20-10-20 --ppm 100 --litres 10 --dilution 1:100
    feedplan dose --grade 0-0-0 --contains 'Fe 6 %' --nutrient '1 mg Fe per L' --litres 10
    feedplan dose --mix --ratio '3-1-2 oxide' --ppm 100 --litres 10 --of 20-10-20 --of 15.5-0-0 --of 0-0-50
    """
    asked = SimpleNamespace(**options)
    if asked.mix or asked.ratio or asked.mix_of or asked.products:
        _mix(asked)
        return
    try:
        product, can_litres = _product_and_can(asked)
        litres, volume = _volume(asked, can_litres)
        mix = _worked_out(asked, product, litres)
        ratio = None if asked.dilution is None else _read("--dilution", parse_ratio, asked.dilution)
        stock = None if ratio is None else stock_at(mix, ratio)
        more = _about_pen(asked, mix)
        more += [] if stock is None else _about_stock(asked, mix, stock)
    except (DoseError, ValueError) as refusal:
        raise _Refusal(str(refusal)) from None
    if asked.as_json:
        import json

        click.echo(json.dumps(dose_facts(mix, stock) | _pen_facts(asked, mix), indent=2))
    else:
        click.echo("\n".join([*dose_lines(mix, stock, ratio, volume), *more]))


def _worked_out(asked: SimpleNamespace, product: Product, litres: Decimal) -> Dose:
    """The mix for a strength, or for a target of another nutrient."""
    if asked.nutrient is None:
        return work_out_dose(product, _strength(asked), litres, asked.cap)
    from feedplan.dose.nutrient import dose_for_nutrient, parse_nutrient_target

    if asked.ppm is not None or asked.label_fraction is not None:
        raise DoseError("--nutrient stands in place of --ppm and --label-fraction; give one")
    return dose_for_nutrient(
        product, _read("--nutrient", parse_nutrient_target, asked.nutrient), litres, asked.cap
    )


def _about_pen(asked: SimpleNamespace, mix: Dose) -> list[str]:
    """What a pen should show of a feed of the collection."""
    feed = getattr(asked, "feed", None)
    if feed is None:
        return []
    from feedplan.cli.dose_shelf import pen_lines

    at_c = None if asked.at_c is None else _read("--at", _temperature, asked.at_c)
    return list(pen_lines(mix, feed, asked.water_ec, at_c))


def _pen_facts(asked: SimpleNamespace, mix: Dose) -> dict[str, object]:
    feed = getattr(asked, "feed", None)
    if feed is None:
        return {}
    from feedplan.cli.dose_shelf import pen_facts

    return pen_facts(mix, feed, asked.water_ec)


def _about_stock(asked: SimpleNamespace, mix: Dose, stock: Stock) -> list[str]:
    """Cautions for a stock and its label, if one is wanted; a stock that would crystallise is refused."""
    from feedplan.cli.dose_stock import check_bottle, label_lines, stock_cautions

    salt = asked.salt or ""
    coldest = None if asked.coldest is None else _read("--coldest", _temperature, asked.coldest)
    check_bottle(stock, salt, coldest)
    label: Iterable[str] = ()
    if asked.bottle is not None:
        label = label_lines(mix, stock, _read("--bottle", _positive, asked.bottle))
    return [*stock_cautions(salt), *label]


def _temperature(text: str) -> Decimal:
    """A bare number of degrees, below zero allowed."""
    clean = text.strip()
    return -_number(clean[1:]) if clean.startswith("-") else _number(clean)


def _mix(asked: SimpleNamespace) -> None:
    """Print which products to mix for a ratio."""
    from feedplan.cli.dose_mix import mix_facts, mix_for, mix_text, shelf_from
    from feedplan.dose.ratio import parse_npk_ratio

    try:
        given = [option for option in ("product", *_LABEL_OPTIONS, "dilution") if getattr(asked, option)]
        if not asked.mix or asked.ratio is None or given:
            raise DoseError(
                "a mix takes --mix, --ratio and --ppm; name products with --of, such as --of 20-10-20 --of 15.5-0-0"
            )
        ratio = _read("--ratio", parse_npk_ratio, asked.ratio)
        shelf = shelf_from(asked.mix_of, asked.collection)
        strength = _strength(asked)
        if not isinstance(strength, PpmN):
            raise DoseError("a mix has no one label; give its strength with --ppm")
        litres, volume = _volume(asked, shelf.can_litres)
        mixed = mix_for(shelf, strength.n_mg_per_l, ratio, asked.products or shelf.most_products, litres)
    except (DoseError, ValueError) as refusal:
        raise _Refusal(str(refusal)) from None
    if asked.as_json:
        import json

        click.echo(json.dumps(mix_facts(mixed), indent=2))
    else:
        at_c = None if asked.at_c is None else _read("--at", _temperature, asked.at_c)
        click.echo("\n".join(mix_text(mixed, volume, at_c)))


def _product_and_can(asked: SimpleNamespace) -> tuple[Product, Decimal | None]:
    """The product meant and the collection's can [L], or what the options say of a label and no can."""
    if asked.product is None:
        return _product_of_label(asked), None
    if any(getattr(asked, option) for option in _LABEL_OPTIONS):
        raise DoseError(f"{asked.product!r} has its label in the collection; leave out --grade and its like")
    from feedplan.cli.dose_shelf import feed_named, shelf_of

    shelf = shelf_of(asked.collection)
    asked.feed = feed_named(shelf, asked.product)
    asked.salt, asked.water_ec = asked.feed.salt, shelf.water_ec
    return asked.feed.product, shelf.habits.can_litres


def _product_of_label(asked: SimpleNamespace) -> Product:
    """The product that the options describe as its label does."""
    if asked.salt is not None:
        return _product_of_salt(asked)
    if asked.grade is None:
        raise DoseError("no product; name one of your collection, or give a label: --grade 20-10-20")
    if asked.density is not None and asked.by_volume:
        raise DoseError(
            "--density and --by-volume exclude each other; a label by volume (w/v) needs no density"
        )
    form = LIQUID if asked.by_volume or asked.density is not None else SOLID
    return Product(
        grade=_grade(asked),
        form=form,
        density_kg_per_l=None if asked.density is None else _read("--density", _number, asked.density),
        by_volume=asked.by_volume,
        spoon_g=None if asked.spoon is None else _read("--spoon", _number, asked.spoon),
        label_rate_per_l=_rate("--label-rate", asked.label_rate, form),
        label_maximum_per_l=_rate("--label-maximum", asked.label_maximum, form),
    )


def _grade(asked: SimpleNamespace) -> Grade:
    """The label's numbers, with what it holds beside them."""
    basis = ELEMENTAL if asked.elemental else OXIDE
    grade = _read("--grade", lambda text: parse_grade(text, basis), asked.grade)
    if not asked.contains:
        return grade
    from feedplan.dose.nutrient import parse_content

    contents = [_read("--contains", parse_content, text) for text in asked.contains]
    return with_nutrients(grade, dict(contents))


def _product_of_salt(asked: SimpleNamespace) -> Product:
    """A straight salt, told by name alone."""
    from feedplan.cli.dose_stock import product_of_salt

    if any(getattr(asked, option) for option in _LABEL_OPTIONS if option != "salt"):
        raise DoseError("--salt tells the grade by the salt's formula; leave out --grade and its like")
    return product_of_salt(asked.salt)


def _rate(option: str, text: str | None, form: str) -> Decimal | None:
    """A label's rate [g/L or ml/L], refused when it is in the unit of the other form."""
    if text is None:
        return None
    per_l, unit = _read(option, parse_rate, text)
    if unit == "ml" and form == SOLID:
        raise DoseError(
            f"{option} is in ml, so this is a liquid; add --density 1.2 (your label's), or --by-volume"
        )
    if unit == "g" and form == LIQUID:
        raise DoseError(f"{option} is in grams, but a liquid is measured in ml; write it in ml/L")
    return per_l


def _strength(asked: SimpleNamespace) -> Strength:
    if asked.ppm is not None and asked.label_fraction is not None:
        raise DoseError("--ppm and --label-fraction exclude each other; give one")
    if asked.ppm is not None:
        return _read("--ppm", lambda text: PpmN(_positive(text)), asked.ppm)
    if asked.label_fraction is not None:
        return LabelShare(_read("--label-fraction", parse_share, asked.label_fraction))
    raise DoseError("no strength; give --ppm 100, or --label-fraction 1/2 with --label-rate '1 g/L'")


def _volume(asked: SimpleNamespace, can_litres: Decimal | None) -> tuple[Decimal, str]:
    """The feed to mix [L] and how to write it: from the one option given, else one can of the collection's."""
    choices = (
        ("--litres", asked.litres, "L"),
        ("--gallons-us", asked.gallons_us, "US gal"),
        ("--gallons-imperial", asked.gallons_imperial, "imperial gal"),
    )
    given = [(option, text, unit) for option, text, unit in choices if text is not None]
    if not given and can_litres is not None:
        return can_litres, f"{three_figures(can_litres)} L"
    if not given:
        raise DoseError("no amount of feed; add how much to mix, such as --litres 10")
    if len(given) > 1:
        raise DoseError(f"{given[0][0]} and {given[1][0]} exclude each other; give one")
    option, text, unit = given[0]
    number = _read(option, _positive, text)
    litres = parse_volume(f"{number} {unit}")
    in_litres = f"{three_figures(litres)} L"
    return litres, in_litres if unit == "L" else f"{three_figures(number)} {unit} ({in_litres})"


def _number(text: str) -> Decimal:
    """A bare number. Raises ValueError for anything after it."""
    number, rest = read_number(text, "10")
    if rest:
        raise ValueError(f"{text!r} is more than a number; leave out {rest!r}")
    return number


def _positive(text: str) -> Decimal:
    """A bare number above zero."""
    number = _number(text)
    if number == 0:
        raise ValueError("0 is nothing to mix; give a number above 0")
    return number


def _read(option: str, reader: Callable[[str], _Read], text: str) -> _Read:
    """What the reader makes of an option's text; a refusal names the option."""
    try:
        return reader(text)
    except ValueError as refusal:
        raise DoseError(f"{option} {refusal}") from None

"""`feedplan dose`: grams or millilitres for the can, with or without a collection.

What was typed becomes a request (dose_request.py), the request an answer, and the answer is printed. With --mix the
request is answered by mixing.py.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import click

from feedplan.cli.dose_request import DoseOptions, DoseRequest, StockRequest, read_dose, read_mix
from feedplan.dose.arithmetic import Dose, Stock, stock_at, work_out_dose
from feedplan.errors import DoseError
from feedplan.words.dose import (
    bottle_label,
    dose_facts,
    dose_lines,
    label_to_stick,
    pen_facts,
    pen_lines,
    stock_cautions,
)

if TYPE_CHECKING:
    from feedplan.dose.salts import Salt


class _Refusal(click.ClickException):
    """One sentence on stderr and the exit code of wrong usage."""

    exit_code = DoseError.exit_code


@dataclass(frozen=True, slots=True)
class DoseAnswer:
    """What is printed: lines for a person, or the same facts for JSON."""

    lines: tuple[str, ...]
    facts: Mapping[str, object]


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
def dose(**typed: Any) -> None:
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
    options = DoseOptions(**typed)
    try:
        if options.is_for_mix:
            from feedplan.cli.mixing import mix_facts, mix_lines, mix_of

            mixed = mix_of(read_mix(options))
            answer = DoseAnswer(tuple(mix_lines(mixed)), mix_facts(mixed))
        else:
            answer = answer_dose(read_dose(options))
    except (DoseError, ValueError) as refusal:
        raise _Refusal(str(refusal)) from None
    if options.as_json:
        import json

        click.echo(json.dumps(answer.facts, indent=2))
    else:
        click.echo("\n".join(answer.lines))


def answer_dose(request: DoseRequest) -> DoseAnswer:
    """The dose, what a pen should show of it, and its stock. Raises DoseError for what must not be mixed."""
    dose = work_out_dose(request.product, request.strength, request.litres, request.cap)
    pen, facts = _about_pen(request, dose)
    if request.stock is None:
        return DoseAnswer((*dose_lines(dose, volume=request.volume), *pen), dose_facts(dose) | facts)
    stock, ratio = stock_at(dose, request.stock.ratio), request.stock.ratio
    more = _about_stock(request.stock, request.salt, dose, stock)
    lines = (*dose_lines(dose, stock, ratio, request.volume), *pen, *more)
    return DoseAnswer(lines, dose_facts(dose, stock) | facts)


def _about_stock(request: StockRequest, salt: Salt | None, dose: Dose, stock: Stock) -> Iterator[str]:
    """Cautions for a stock and its label, if one is wanted; a stock that would crystallise is refused."""
    if salt is not None:
        from feedplan.dose.salts import check_stock

        check_stock(stock, salt, request.coldest_c)
    yield from stock_cautions(salt)
    if request.bottle_litres is not None:
        from datetime import datetime

        made = datetime.now().astimezone().date()
        yield from label_to_stick(bottle_label(dose, stock, made, request.bottle_litres))


def _about_pen(request: DoseRequest, dose: Dose) -> tuple[list[str], dict[str, object]]:
    """What a pen should show of a feed of the collection, where that is sure enough to catch a doubled dose."""
    if request.feed is None:
        return [], {}
    from feedplan.dose.conductivity import together
    from feedplan.engine.sink.can import added_ec

    knows_water = request.water_ec is not None
    ec = together([added_ec(dose, request.feed)], request.water_ec or 0.0)
    if not ec.is_telling:
        return [], {}
    facts = {"ec_at_25_c_ms_per_cm": pen_facts(ec), "with_water": knows_water}
    return list(pen_lines(ec, knows_water, request.at_c)), facts

"""`feedplan dose`: grams or millilitres for the can, with or without a collection, however it is asked.

What was typed becomes a request (dose_words.py, dose_request.py), the request an answer (dose_answer.py), and the
answer is printed. With --mix the request is answered by mixing.py.
"""

from __future__ import annotations

from shlex import quote
from typing import Any

import click
from click.core import ParameterSource

from feedplan.cli.dose_answer import DoseAnswer, answer_dose
from feedplan.cli.dose_options import DoseOptions
from feedplan.cli.dose_request import read_dose
from feedplan.errors import DoseError
from feedplan.words.language import say


class _Refusal(click.ClickException):
    """One sentence on stderr and the exit code of wrong usage."""

    exit_code = DoseError.exit_code


@click.command(short_help="Grams or ml of feed for the can.")
@click.argument("words", nargs=-1, metavar="[WORDS]...")
@click.option(
    "-c",
    "--collection",
    metavar="DIR",
    help="Where a product's name is looked up; the folder you stand in if not given.",
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
@click.option("--can", metavar="SIZE", help="The can to fill: 10 for litres, or '2 gal'.")
@click.option("--grams", metavar="G", help="Product that is in it [g]: says what the can holds.")
@click.option("--ml", metavar="ML", help="The same for a liquid [ml].")
@click.option(
    "--measures",
    metavar="PLACE",
    type=click.Choice(["metric", "us", "imperial"]),
    help="Gallons and spoons are those of us, imperial or metric.",
)
@click.option("--density", metavar="KG_PER_L", help="A liquid whose label is by weight, and its density.")
@click.option("--by-volume", is_flag=True, help="A liquid whose label is by volume (w/v).")
@click.option("--spoon", metavar="G", help="Weight of one level spoonful [g].")
@click.option("--dilution", metavar="1:R", help="Mix through a stock, 1 part in R parts of mixed feed.")
@click.option("--coldest", metavar="C", help="Coldest the stock is kept at [°C, or 40F]; 10 °C if not given.")
@click.option("--bottle", metavar="L", help="With --dilution: print a label for a bottle of so many litres.")
@click.option(
    "--at", "at_c", metavar="C", help="How warm the water is [°C, or 50F], for a pen that does not correct."
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
@click.pass_context
def dose(context: click.Context, /, **typed: Any) -> None:
    """Say how much feed to weigh or measure for a can of water.

    Say a product, a strength and how much, in any words and any order; leave one out for a table. A product is its
    label's numbers, a name (epsom salt, fish emulsion 5-1-1), or one of your collection.

    \b
    feedplan dose 20-20-20 100ppm 10L
    feedplan dose 24-8-16 --can 10
    feedplan dose 20-20-20 5 g 10 L                  what is in it
    feedplan dose 7-3-6 density 1.15 60 ppm 2 gal
    feedplan dose 24-8-16 half label 1 g/L 10 L
    feedplan dose 20-10-20 100 ppm 1:100             through an injector or a stock
    feedplan dose 0-0-0 --contains 'Fe 6 %' 1 ppm Fe 10 L
    feedplan dose --mix --ratio '3-1-2 oxide' --ppm 100 --litres 10 --of 20-10-20 --of 15.5-0-0 --of 0-0-50
    """
    options = DoseOptions(**typed, typed=_options_again(context))
    if not any(value for value in typed.values()):
        words = _asked()
        if not words:
            click.echo(context.get_help())
            return
        options = DoseOptions(**{**typed, "words": words})
    try:
        answer = _answer(options)
    except (DoseError, ValueError) as refusal:
        raise _Refusal(str(refusal)) from None
    if options.as_json:
        import json

        click.echo(json.dumps(answer.facts, indent=2))
    else:
        click.echo("\n".join(answer.lines))


def _answer(options: DoseOptions) -> DoseAnswer:
    """The answer to what was typed. Raises DoseError or ValueError for what cannot be answered."""
    if not options.is_for_mix:
        return answer_dose(read_dose(options))
    from feedplan.cli.mixing import mix_facts, mix_lines, mix_of, read_mix

    mixed = mix_of(read_mix(options))
    return DoseAnswer(tuple(mix_lines(mixed)), mix_facts(mixed))


def _asked() -> tuple[str, ...]:
    """The words to a few questions, where there is a terminal to ask at; none where there is not."""
    import sys

    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        return ()
    return tuple(
        click.prompt(question, default="", show_default=False)
        for question in (
            say("Which feed? Its label's three numbers, or a name"),
            say("How strong? Such as 100 ppm, half label 1 g/L; Enter for a table"),
            say("How much? Such as 10 L, 2 gal; Enter for one can"),
        )
    )


def _options_again(context: click.Context) -> str:
    """The options as they may be typed again, but for those that are read as words."""
    told = []
    for param in context.command.params:
        if not isinstance(param, click.Option) or param.name in (None, "can", "grams", "ml"):
            continue
        if context.get_parameter_source(str(param.name)) is not ParameterSource.COMMANDLINE:
            continue
        value = context.params[str(param.name)]
        if param.is_flag:
            told.append(param.opts[-1])
            continue
        for each in value if param.multiple else (value,):
            told += [param.opts[-1], quote(str(each))]
    return " ".join(told)

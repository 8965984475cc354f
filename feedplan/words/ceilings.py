"""Feeds that pass what a pot bears, or miss the nitrogen asked for, in words."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING

from feedplan.dose.arithmetic import Dose
from feedplan.dose.ceilings import EC, USUAL, Passed, is_surely_within, passed, share_within
from feedplan.words.dose import one_decimal, three_figures
from feedplan.words.language import say

if TYPE_CHECKING:  # the command at the sink must not wait for what only rich feeds and mixes need
    from feedplan.dose.conductivity import ExpectedEc
    from feedplan.dose.mix import Mix, Target


def too_rich_words(dose: Dose) -> list[str]:
    """That one product brings more than trees in pots bear, and how strong it may be; empty where it does not."""
    if is_surely_within(dose.nutrients_mg_per_l, USUAL):
        return []
    from feedplan.dose.conductivity import expected_ec  # noqa: PLC0415 - see above

    def ec_of(share: Decimal) -> ExpectedEc:
        return expected_ec(Dose(dose.product, dose.litres, dose.per_l * share, dose.per_l * share))

    over = passed(dose.nutrients_mg_per_l, ec_of(Decimal(1)), USUAL)
    if not over:
        return []
    share = share_within(dose.nutrients_mg_per_l, ec_of, USUAL)
    return [
        say(
            "Too rich for trees in pots: {words}. Make it {percent} % as strong, {ppm} ppm N; a feed with more N for "
            "its P and K can be stronger."
            if dose.n_mg_per_l
            else "Too rich for trees in pots: {words}. Make it {percent} % as strong.",
            words=", ".join(_over_words(each) for each in over),
            percent=f"{share * 100:.0f}",
            ppm=f"{dose.n_mg_per_l * share:.0f}",
        )
    ]


def _over_words(over: Passed) -> str:
    """One ceiling passed: "1152 mg K per litre, above 300"."""
    return say(
        "{holds} mS/cm over the water's own, above {most}"
        if over.what == EC
        else "{holds} mg {what} per litre, above {most}",
        what=over.what,
        holds=one_decimal(over.holds) if over.what == EC else three_figures(over.holds),
        most=three_figures(over.most),
    )


def short_words(mix: Mix, target: Target, over: Passed | None) -> list[str]:
    """That a mix is not the feed asked for, where its nitrogen is missed by more than 10 %; and what holds it down."""
    from feedplan.dose.mix import CLOSE_ENOUGH  # noqa: PLC0415 - see above

    n = mix.reached["N"]
    if not n:
        return [say("No nitrogen: this is no feed of {asked} ppm N.", asked=round(target.n))]
    if n >= target.n * (1 - Decimal(str(CLOSE_ENOUGH)) / 100):
        return []
    values = {"asked": round(target.n), "ppm": round(n)}
    if over is None:
        return [say("This is a feed of {ppm} ppm N, not of {asked}.", **values)]
    return [
        say(
            "This is a feed of {ppm} ppm N, not of {asked}; that would be too rich for trees in pots: {words}.",
            words=_over_words(over),
            **values,
        )
    ]

"""Stocks: a stronger solution made once, of which a measured part goes into each can."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from feedplan.dose.arithmetic import Dose
from feedplan.errors import DoseError

# A litre of stock with more than this [g] is no longer water with feed in it; most complete feeds do not
# dissolve beyond 200 to 400 g/L in cold water (common practice, no source; the label may say).
MOST_PER_L_STOCK = Decimal(500)

# Millilitres of stock per litre of feed that a grower can measure and multiply in the head, weakest stock first.
_EASY_ML_PER_L = tuple(Decimal(number) for number in ("100", "50", "20", "10", "5", "2", "1"))
_EASY_TO_WEIGH = Decimal(5)  # g: ten times the smallest amount, so a 0.1 g scale is within 1 %


@dataclass(frozen=True, slots=True)
class Stock:
    """A stock and its use: product made up to one litre [g or ml], and stock for the litres wanted [ml]."""

    per_l: Decimal
    use_ml: Decimal


def stock_at(dose: Dose, ratio: Decimal) -> Stock:
    """The stock for a dilution 1:ratio, 1 part of stock in ratio parts of the mixed feed.

    Raises DoseError when a litre cannot hold that much product.
    """
    per_l = dose.per_l * ratio
    if per_l > MOST_PER_L_STOCK:
        most = MOST_PER_L_STOCK / dose.per_l // 1
        raise DoseError(
            f"a 1:{ratio:f} stock would need {per_l:.0f} {dose.product.unit} in each litre; "
            f"use a smaller ratio, 1:{most:f} at most"
        )
    return Stock(per_l, dose.litres * 1000 / ratio)


def stock_for_small(dose: Dose) -> Stock:
    """A stock from which an amount too small to weigh can be measured.

    Chosen as the weakest with at least 5 g (or ml) in the litre that is used by a round number of ml per litre.
    """
    for ml_per_l in _EASY_ML_PER_L:
        per_l = dose.per_l * 1000 / ml_per_l
        if per_l >= _EASY_TO_WEIGH:
            return Stock(per_l, dose.litres * ml_per_l)
    return Stock(_EASY_TO_WEIGH, dose.amount * 1000 / _EASY_TO_WEIGH)

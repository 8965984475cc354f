"""Dilution arithmetic: what a grower writes, what goes into the can, and what is then in the feed."""

from feedplan.dose.arithmetic import (
    LIQUID,
    SOLID,
    Dose,
    Product,
    amount_per_litre,
    cans_needed,
    work_out_dose,
)
from feedplan.dose.grade import ELEMENTAL, OXIDE, Grade, parse_grade, with_nutrients
from feedplan.dose.measures import (
    Size,
    parse_days,
    parse_length,
    parse_mass,
    parse_percent,
    parse_rate,
    parse_ratio,
    parse_size,
    parse_volume,
)
from feedplan.dose.stock import Stock, stock_at, stock_for_small
from feedplan.dose.strength import LabelShare, PpmN, Strength, parse_share, parse_strength

__all__ = [
    "ELEMENTAL",
    "LIQUID",
    "OXIDE",
    "SOLID",
    "Dose",
    "Grade",
    "LabelShare",
    "PpmN",
    "Product",
    "Size",
    "Stock",
    "Strength",
    "amount_per_litre",
    "cans_needed",
    "parse_days",
    "parse_grade",
    "parse_length",
    "parse_mass",
    "parse_percent",
    "parse_rate",
    "parse_ratio",
    "parse_share",
    "parse_size",
    "parse_strength",
    "parse_volume",
    "stock_at",
    "stock_for_small",
    "with_nutrients",
    "work_out_dose",
]

"""From a product and a strength to grams or millilitres, straight or through a stock, and to what is in the feed.

Formulas: a solid gives 10 x percent mg/L of a nutrient for each g/L; a liquid labelled by weight gives that times
its density [kg/L] for each ml/L; a liquid labelled by volume (w/v, g per 100 ml) gives 10 x percent.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import NamedTuple

from feedplan.dose.grade import Grade
from feedplan.dose.strength import LabelShare, NutrientTarget, PpmN, Strength
from feedplan.errors import DoseError

SOLID = "solid"
LIQUID = "liquid"

# A kitchen scale shows 0.1 g, so it may be 0.05 g off: more than 10 % of anything below 0.5 g, five of its steps.
# A 1 ml syringe marked in 0.1 ml is the same story.
SMALLEST_AMOUNT = Decimal("0.5")
_SMALLEST_STEPS = 5

# A litre of feed that takes more product than this [g or ml] is no feed (common practice, no source: strong
# feeds are 1 to 2 g/L, weak organic liquids 10 to 20 ml/L).
MOST_PER_L = Decimal(50)

# Upper end of a constant feed for flower crops, 150 to 250 ppm N (university extension fact sheets); a tree in a
# small pot is fed well below it.
STRONG_PPM_N = Decimal(250)

# A level spoon of dry feed weighs about 1.15 g per ml, each its own by a quarter (common practice, no source).
LIGHT_POWDER, HEAVY_POWDER = Decimal("0.86"), Decimal("1.44")

# Plausible densities of liquid feeds [kg/L]; most are 1.05 to 1.40 (common practice, no source).
LIGHTEST, HEAVIEST = Decimal("0.8"), Decimal("2.0")


class Scale(NamedTuple):
    """What product is measured with: its step [g or ml], and the same in ounces where it shows these [oz]."""

    step: Decimal = Decimal("0.1")
    ounces: Decimal | None = None

    @property
    def smallest(self) -> Decimal:
        """The least it measures to within 10 % [g or ml]."""
        return self.step * _SMALLEST_STEPS

    def nearest(self, amount: Decimal) -> Decimal:
        """What it shows for an amount [g or ml]."""
        return (amount / self.step).quantize(Decimal(1), ROUND_HALF_UP) * self.step


USUAL_SCALE = Scale()
"""A kitchen scale, and a small syringe."""


@dataclass(frozen=True, slots=True)
class Product:
    """One feed on the shelf, as its label describes it.

    form: "solid" (dissolved in water) or "liquid". density_kg_per_l: of a liquid whose grade is by weight.
    by_volume: the grade of a liquid is g per 100 ml. spoon_g: weight of one level spoonful of a solid [g]; spoon_ml:
    what that spoon holds [ml], None where nobody knows which it is.
    label_rate_per_l, label_maximum_per_l: in g/L for a solid, ml/L for a liquid; without a maximum the rate is it.
    Raises ValueError for what cannot be: a liquid by weight without density, a spoon of nothing, and so on.
    """

    grade: Grade
    form: str = SOLID
    density_kg_per_l: Decimal | None = None
    by_volume: bool = False
    spoon_g: Decimal | None = None
    label_rate_per_l: Decimal | None = None
    label_maximum_per_l: Decimal | None = None
    name: str = ""
    spoon_ml: Decimal | None = None

    def __post_init__(self) -> None:
        if self.form not in (SOLID, LIQUID):
            raise ValueError(f"{self.form!r} is not a form of feed; write {SOLID} or {LIQUID}")
        if self.form == SOLID:
            self._check_solid()
        else:
            self._check_liquid()
        for words, number in (
            ("spoon weight", self.spoon_g),
            ("label rate", self.label_rate_per_l),
            ("label maximum", self.label_maximum_per_l),
        ):
            if number is not None and number <= 0:
                raise ValueError(f"the {words} is {number}; write a number above 0, or leave it out")

    def _check_solid(self) -> None:
        if self.by_volume or self.density_kg_per_l is not None:
            raise ValueError("a solid feed is labelled by weight and needs no density; is it a liquid?")

    def _check_liquid(self) -> None:
        if self.spoon_g is not None:
            raise ValueError("a liquid feed is measured in ml, not by spoon weight; leave the spoon out")
        density = self.density_kg_per_l
        if density is None and not self.by_volume:
            raise ValueError(
                "a liquid feed needs its density [kg/L], from the label or by weighing 100 ml; "
                "or say that its grade is by volume (w/v)"
            )
        if density is not None and not LIGHTEST <= density <= HEAVIEST:
            raise ValueError(
                f"density {density} kg/L is outside {LIGHTEST} to {HEAVIEST}; feeds weigh about 1.2 kg/L"
            )

    @property
    def unit(self) -> str:
        """What it is measured in: "g" or "ml"."""
        return "g" if self.form == SOLID else "ml"

    def levelled_g(self, ml: Decimal) -> Decimal | None:
        """What so much of a solid weighs, in level spoons or cups [g]; None where no spoon of it tells."""
        if self.spoon_g is None or self.spoon_ml is None:
            return None
        return ml * self.spoon_g / self.spoon_ml

    @property
    def title(self) -> str:
        """What to call it: its name, else its grade."""
        return self.name or str(self.grade)

    @property
    def mg_per_unit(self) -> dict[str, Decimal]:
        """Nutrients in one gram or millilitre of the product, as elements [mg]."""
        mg = self._mg_of_a_percent
        return {element: percent * mg for element, percent in self.grade.elements.items()}

    @property
    def n_mg_per_unit(self) -> Decimal:
        """Nitrogen in one gram or millilitre of the product [mg]."""
        return self.grade.n * self._mg_of_a_percent

    @property
    def _mg_of_a_percent(self) -> Decimal:
        """What one percent is in one gram or millilitre [mg]."""
        if self.form == LIQUID and not self.by_volume and self.density_kg_per_l is not None:
            return 10 * self.density_kg_per_l
        return Decimal(10)

    @property
    def main_nutrient(self) -> str | None:
        """What it is dosed by: nitrogen where it holds any, else what it holds most of; None for nothing."""
        held = {name: mg for name, mg in self.mg_per_unit.items() if mg and name not in ("S", "Cl")}
        return "N" if "N" in held else max(held, key=held.__getitem__, default=None)

    @property
    def highest_per_l(self) -> Decimal | None:
        """The most of it that may go into a litre [g or ml], or None when the label says nothing."""
        return self.label_rate_per_l if self.label_maximum_per_l is None else self.label_maximum_per_l

    @property
    def most_per_l(self) -> Decimal:
        """The most of it that a litre of feed can be made with [g or ml]: the label's, or what is still a feed."""
        return MOST_PER_L if self.highest_per_l is None else self.highest_per_l


def amount_per_litre(product: Product, strength: Strength | NutrientTarget) -> Decimal:
    """How much of the product a litre of feed of that strength takes [g or ml], label maximum not yet looked at.

    Raises DoseError when the strength says nothing about this product.
    """
    if isinstance(strength, LabelShare):
        if product.label_rate_per_l is None:
            raise DoseError(
                f"{product.title} has no label rate; give it in {product.unit}/L, or ask for ppm N instead"
            )
        return product.label_rate_per_l * strength.share
    element = "N" if isinstance(strength, PpmN) else strength.element
    mg = product.mg_per_unit.get(element, Decimal(0))
    if mg == 0 and isinstance(strength, PpmN):
        raise DoseError(
            f"{product.title} holds no nitrogen, so ppm N sets no dose; use a share of its label rate instead"
        )
    if mg == 0:
        raise DoseError(
            f"{product.title} holds no {element} as far as is told; add --contains '{element} 6 %'"
        )
    return (strength.n_mg_per_l if isinstance(strength, PpmN) else strength.mg_per_l) / mg


@dataclass(frozen=True, slots=True)
class Dose:
    """One mix: how much product goes into how much water, and what is then in the feed.

    per_l: product in a litre of feed [g or ml]; asked_per_l: the same before the label maximum cut it. scale: what the
    product is measured with.
    """

    product: Product
    litres: Decimal
    per_l: Decimal
    asked_per_l: Decimal
    scale: Scale = USUAL_SCALE

    @property
    def amount(self) -> Decimal:
        """Product for all the litres [g or ml]."""
        return self.per_l * self.litres

    @property
    def is_capped(self) -> bool:
        """Whether the label maximum made it weaker than asked."""
        return self.per_l < self.asked_per_l

    @property
    def is_too_small(self) -> bool:
        """Whether the amount is too small to weigh or measure within 10 %."""
        return 0 < self.amount < self.scale.smallest

    @property
    def is_strong(self) -> bool:
        """Whether it holds more nitrogen than the strongest constant feeds for flower crops."""
        return self.n_mg_per_l > STRONG_PPM_N

    @property
    def nutrients_mg_per_l(self) -> dict[str, Decimal]:
        """What a litre of feed holds, as elements [mg/L]; the water's own content comes on top."""
        return {element: mg * self.per_l for element, mg in self.product.mg_per_unit.items()}

    @property
    def n_mg_per_l(self) -> Decimal:
        """Nitrogen in the feed [mg/L]."""
        return self.nutrients_mg_per_l["N"]

    @property
    def spoons(self) -> Decimal | None:
        """Level spoonfuls for all the litres, or None without a spoon weight."""
        spoon_g = self.product.spoon_g
        return None if spoon_g is None else self.amount / spoon_g

    def for_litres(self, litres: Decimal) -> Dose:
        """The same feed in another quantity, such as one can of it [L]."""
        return Dose(self.product, litres, self.per_l, self.asked_per_l, self.scale)


def work_out_dose(
    product: Product, strength: Strength | NutrientTarget, litres: Decimal, cap: bool = False
) -> Dose:
    """The mix for some litres of feed.

    Above the label maximum the dose is cut to it when cap is set, and refused otherwise.
    Raises DoseError for that, for litres not above 0, and for a strength that says nothing about the product.
    """
    if litres <= 0:
        raise DoseError(f"{litres} L of feed is nothing to mix; give litres above 0")
    asked = amount_per_litre(product, strength)
    if asked > MOST_PER_L:
        element = strength.element if isinstance(strength, NutrientTarget) else "N"
        raise DoseError(
            f"{product.title} is too weak for {strength}: that takes {asked:.0f} {product.unit} in each litre; "
            f"use a product with more {element}, or ask for less"
        )
    highest = product.highest_per_l
    if highest is None or asked <= highest:
        return Dose(product, litres, asked, asked)
    if not cap:
        raise DoseError(
            f"{product.title}: {strength} takes {asked:.3g} {product.unit}/L, above the label's "
            f"{highest:.3g} {product.unit}/L; ask for less"
        )
    return Dose(product, litres, highest, asked)


# A litre of stock with more than this [g] is no longer water with feed in it; most complete feeds do not
# dissolve beyond 200 to 400 g/L in cold water (common practice, no source; the label may say).
MOST_PER_L_STOCK = Decimal(500)

# Above this a complete feed may not dissolve in cold water (common practice, no source; the label may say).
STRONG_STOCK_PER_L = Decimal(200)

# A frost-free shed on a cold night, where stocks are kept [°C]. Judgement; --coldest gives that of the grower's own.
COLDEST_C = Decimal(10)

# Millilitres of stock per litre of feed that a grower can measure and multiply in the head, weakest stock first.
_EASY_ML_PER_L = tuple(Decimal(number) for number in ("100", "50", "20", "10", "5", "2", "1"))
_EASY_TO_WEIGH = Decimal(5)  # g: ten times the smallest amount, so a 0.1 g scale is within 1 %


@dataclass(frozen=True, slots=True)
class Stock:
    """A stock, a stronger solution made once, and its use: what of it goes into the can.

    per_l: product made up to one litre [g or ml]. use_ml: stock for the litres wanted [ml].
    """

    per_l: Decimal
    use_ml: Decimal

    @property
    def is_strong(self) -> bool:
        """Whether a complete feed may not dissolve so far in cold water."""
        return self.per_l > STRONG_STOCK_PER_L

    @property
    def is_too_small(self) -> bool:
        """Whether its use is too small to measure within 10 %."""
        return self.use_ml < SMALLEST_AMOUNT


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

    Chosen as the weakest with at least 5 g (or ml) in the litre, on a coarse scale twice the least it measures, that is
    used by a round number of ml per litre.
    """
    easy = max(_EASY_TO_WEIGH, 2 * dose.scale.smallest)
    for ml_per_l in _EASY_ML_PER_L:
        per_l = dose.per_l * 1000 / ml_per_l
        if per_l >= easy:
            return Stock(per_l, dose.litres * ml_per_l)
    return Stock(easy, dose.amount * 1000 / easy)

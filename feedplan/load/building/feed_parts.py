"""The parts of a feed beyond form and rates: what it holds, what it adds to conductivity, what is on the shelf."""

from __future__ import annotations

from decimal import Decimal

from feedplan.dose.arithmetic import Product
from feedplan.dose.grade import Grade, parse_grade, with_nutrients
from feedplan.dose.salts import AMMONIUM, NITRATE, SALTS, UREA
from feedplan.load.findings import Findings, near_miss
from feedplan.load.models.collection_models import FeedModel
from feedplan.load.readers.shelf_measures import Amount
from feedplan.load.text.spots import Spot
from feedplan.model.collection import OnHand

# The forms' percents are rounded on labels, each by up to half of its last digit.
_ROUNDED = Decimal("0.5")


def grade_of(name: str, model: FeedModel, spot: Spot, findings: Findings) -> Grade | None:
    """What the product holds, from its grade or its salt, further nutrients added; None with its problem noted."""
    if model.grade is None and model.salt is None:
        findings.at(spot, f"feed '{name}' has no 'grade'; write for example grade: 24-8-16")
        return None
    if model.grade is not None and model.salt is not None:
        findings.at(spot.key("salt"), f"feed '{name}' has a grade and a salt; write one of them")
        return None
    if model.salt is not None and model.salt not in SALTS:
        hint = near_miss(model.salt, SALTS)
        findings.at(spot.at(("salt",)), f"salt of feed '{name}': no salt is called '{model.salt}'{hint}")
        return None
    try:
        if model.salt is not None:
            return SALTS[model.salt].grade
        grade = parse_grade(model.grade or "", model.basis)
        return with_nutrients(grade, model.contains) if model.contains else grade
    except ValueError as error:
        key = "contains" if "is not a nutrient" in str(error) or "twice" in str(error) else "grade"
        findings.at(spot.at((key,)), f"{key} of feed '{name}': {error}")
        return None


def nitrogen_of(
    name: str, model: FeedModel, grade: Grade, spot: Spot, findings: Findings
) -> tuple[tuple[str, Decimal], ...]:
    """The forms of its nitrogen [percent of the product], as told or as its salt has them; empty when unknown."""
    if model.salt is not None:
        return tuple(SALTS[model.salt].nitrogen_percents.items())
    if model.nitrogen is None:
        return ()
    forms = {form: getattr(model.nitrogen, form) or Decimal(0) for form in (NITRATE, AMMONIUM, UREA)}
    total = sum(forms.values(), Decimal(0))
    if abs(total - grade.n) > _ROUNDED:
        findings.at(
            spot.at(("nitrogen",)),
            f"nitrogen of feed '{name}' adds up to {total.normalize():f} %, its grade has {grade.n.normalize():f} %; "
            "copy nitrate, ammonium and urea from the label",
        )
    return tuple((form, percent) for form, percent in forms.items() if percent)


def ec_of(name: str, model: FeedModel, product: Product, spot: Spot, findings: Findings) -> Decimal | None:
    """The conductivity it adds [mS/cm per 100 mg N/L]; None when not told or not to be reckoned from what is."""
    if model.ec is None:
        return None
    place, n_mg = spot.at(("ec",)), product.mg_per_unit["N"]
    if n_mg == 0:
        findings.at(
            place, f"ec of feed '{name}': it holds no nitrogen, so the figure is of no use; remove it"
        )
        return None
    if model.ec.ppm_n is not None:
        return Decimal(model.ec.ms_per_cm * 100 / model.ec.ppm_n)
    amount, unit = model.ec.rate
    if unit != product.unit:
        findings.at(place, f"ec of feed '{name}' is for {unit}; write it at 1 {product.unit} per L")
        return None
    return Decimal(model.ec.ms_per_cm * 100 / (amount * n_mg))


def on_hand_of(name: str, model: FeedModel, product: Product, spot: Spot, findings: Findings) -> OnHand:
    """What is known of its tub or bottle; a liquid's weight turned into volume where its density is known."""
    stock = _in_unit(name, "stock", model.stock, product=product, spot=spot, findings=findings)
    price = None
    if model.price is not None:
        amount = _in_unit(name, "price", model.price.amount, product=product, spot=spot, findings=findings)
        price = None if amount is None else model.price.cost / amount
    if model.keeps is not None and model.opened is None:
        findings.warn(spot.key("keeps"), f"feed '{name}' keeps {_told(model)}, but from when? add opened:")
    best_before = model.keeps.until(model.opened) if model.keeps and model.opened else None
    return OnHand(
        stock=stock,
        counted=model.counted or model.opened,
        opened=model.opened,
        best_before=best_before,
        price=price,
        currency=model.price.currency if model.price is not None else "",
    )


def _told(model: FeedModel) -> str:
    keeping = model.keeps
    if keeping is None:
        return ""
    return f"{keeping.months} months" if keeping.months else f"{keeping.days} days"


def _in_unit(
    name: str, key: str, amount: Amount | None, *, product: Product, spot: Spot, findings: Findings
) -> Decimal | None:
    """An amount in what the product is measured in [g or ml]; None, with its problem noted, where that cannot be."""
    if amount is None or amount.unit == product.unit:
        return None if amount is None else amount.number
    if product.unit == "ml" and product.density_kg_per_l is not None:
        return amount.number / product.density_kg_per_l
    wanted = "ml or L" if product.unit == "ml" else "g or kg"
    findings.at(spot.at((key,)), f"{key} of feed '{name}' is in {amount.unit}; write it in {wanted}")
    return None

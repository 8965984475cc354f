"""What a conductivity pen should show in the mixed feed, how sure that is, and when it cannot be said."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache

from feedplan.dose.arithmetic import Dose, Product
from feedplan.dose.chemistry import ATOMIC_WEIGHTS
from feedplan.dose.conductivity import IONS, conductivity_ms_cm
from feedplan.dose.salts import AMMONIUM, NITRATE, UREA

# How far the value may be off [share]. Own figure: labels print two digits, for one strength. Ions: the method is
# within 3 % of published single salts at feed strength; technical purity, phosphate and magnesium sulfate add to it.
OWN_FIGURE_SHARE = 0.05
IONS_SHARE = 0.10

OWN_FIGURE = "the product's own conductivity figure"
BY_IONS = "sum over its ions (McCleskey and others, 2012)"
BY_RANGE = "range over the forms its nitrogen may have"

_ION_OF_ELEMENT = {
    "P": "H2PO4-",
    "K": "K+",
    "Ca": "Ca++",
    "Mg": "Mg++",
    "S": "SO4--",
    "Cl": "Cl-",
    "Na": "Na+",
}
_ION_OF_FORM = {NITRATE: "NO3-", AMMONIUM: "NH4+"}

_TELL_FORMS = (
    "The forms of its nitrogen are not known; copy nitrate, ammonium and urea from the label to narrow this."
)
_TOO_WIDE = "Too wide to catch a doubled dose."
_UREA = "Its urea does not conduct: the pen sees less feed than there is."


@dataclass(frozen=True, slots=True)
class ExpectedEc:
    """Conductivity of feed and water together at 25 °C [mS/cm]: most likely, lowest, highest, and how it was found.

    note: what limits its use; empty when it is good enough to catch a doubled dose.
    """

    likely: float
    low: float
    high: float
    method: str
    note: str = ""


def expected_ec(
    dose: Dose,
    water_ms_cm: float,
    ec_per_100_ppm_n: float | None = None,
    nitrogen_percents: Mapping[str, Decimal] | None = None,
    is_organic: bool = False,
) -> ExpectedEc | None:
    """What the mixed feed should read at 25 °C, the water's own conductivity added [mS/cm].

    ec_per_100_ppm_n: the label's figure [mS/cm per 100 mg N/L]; used before anything else.
    nitrogen_percents: nitrate, ammonium and urea N of the product [percent of it].
    Returns None for an organic feed: its nutrients are not salts yet. Raises ValueError for forms of nitrogen that
    do not sum to the grade within half a percent.
    """
    if ec_per_100_ppm_n is not None:
        added = ec_per_100_ppm_n * float(dose.n_mg_per_l) / 100
        return _around(added, OWN_FIGURE_SHARE, water_ms_cm, OWN_FIGURE, "")
    if is_organic:
        return None
    if nitrogen_percents is None:
        return _between(dose, water_ms_cm)
    _check_forms(dose, nitrogen_percents)
    added = conductivity_ms_cm(feed_ions(dose, nitrogen_percents))
    note = _UREA if nitrogen_percents.get(UREA, Decimal(0)) > 0 else ""
    return _around(added, IONS_SHARE, water_ms_cm, BY_IONS, note)


def feed_ions(dose: Dose, nitrogen_percents: Mapping[str, Decimal]) -> dict[str, float]:
    """The ions of a mixed feed [mmol/L], from its elements and the forms of its nitrogen.

    P counts as H2PO4- (feeds are slightly acid). Charge that the label leaves open is filled up with sulfate or
    sodium, the commonest carriers; urea gives none.
    """
    ions: dict[str, float] = {}
    for element, mg in dose.nutrients_mg_per_l.items():
        if element in _ION_OF_ELEMENT and mg:
            ions[_ION_OF_ELEMENT[element]] = float(mg / ATOMIC_WEIGHTS[element])
    for form, ion in _ION_OF_FORM.items():
        percent = nitrogen_percents.get(form, Decimal(0))
        if percent:
            ions[ion] = float(dose.n_mg_per_l * percent / dose.product.grade.n / ATOMIC_WEIGHTS["N"])
    open_charge = sum(amount * IONS[ion].charge for ion, amount in ions.items())
    filler = "SO4--" if open_charge > 0 else "Na+"
    ions[filler] = ions.get(filler, 0.0) + abs(open_charge / IONS[filler].charge)
    return ions


def _between(dose: Dose, water_ms_cm: float) -> ExpectedEc:
    """The estimate when the forms of nitrogen are not known: from all urea to whichever salts conduct best."""
    low, high = _lowest_and_highest(dose.product, dose.per_l)
    notes = [_TELL_FORMS] if dose.product.grade.n else []
    if high > 2 * low:
        notes.append(_TOO_WIDE)
    likely = water_ms_cm + (low + high) / 2
    return ExpectedEc(likely, water_ms_cm + low, water_ms_cm + high, BY_RANGE, " ".join(notes))


@lru_cache(maxsize=1024)
def _lowest_and_highest(product: Product, per_l: Decimal) -> tuple[float, float]:
    """The same two for so much product in a litre [mS/cm], once for all cans of it. per_l: [g or ml]."""
    dose, n = Dose(product, Decimal(1), per_l, per_l), product.grade.n
    salts = ({NITRATE: n}, {AMMONIUM: n}, {NITRATE: n / 2, AMMONIUM: n / 2})
    low = conductivity_ms_cm(feed_ions(dose, {UREA: n})) * (1 - IONS_SHARE)
    high = max(conductivity_ms_cm(feed_ions(dose, forms)) for forms in salts) * (1 + IONS_SHARE)
    return low, high


def _around(added: float, share: float, water_ms_cm: float, method: str, note: str) -> ExpectedEc:
    low, high = added * (1 - share), added * (1 + share)
    return ExpectedEc(water_ms_cm + added, water_ms_cm + low, water_ms_cm + high, method, note)


def _check_forms(dose: Dose, nitrogen_percents: Mapping[str, Decimal]) -> None:
    for form in nitrogen_percents:
        if form not in (NITRATE, AMMONIUM, UREA):
            raise ValueError(f"{form!r} is not a form of nitrogen; write {NITRATE}, {AMMONIUM} or {UREA}")
    total = sum(nitrogen_percents.values(), Decimal(0))
    if abs(total - dose.product.grade.n) > Decimal("0.5"):
        raise ValueError(
            f"the forms of nitrogen sum to {total} %, the grade says {dose.product.grade.n} %; copy all of them"
        )

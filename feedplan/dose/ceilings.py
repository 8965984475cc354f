"""How salty, and how rich in P and K, a mixed feed may be; and how far one must be weakened to stay below that.

What liquid feed has been seen to do, by sources of which excerpts or abstracts were read: woody plants outdoors do best
where 1.0 to 1.5 mS/cm drains from the pot (University of Florida, large containers); irrigation above 1.5 mS/cm can
harm (Clemson Extension). Phosphorus of 10 mg/L is adequate and 20 to 30 high (lantana, Kim and Li 2016, HortScience
51:1001); a normal extract of a mix holds 5 to 15 mg P and 75 to 200 mg K per litre (University of Massachusetts);
Japanese holly grew the same at 85 as at 500 mg P/L, and seedlings in composted bark the same at 0 as at 200 mg K/L. No
figure is known for too much K. So all ceilings are judgement; each schedule has its own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

if TYPE_CHECKING:  # the command at the sink must not wait for it
    from feedplan.dose.conductivity import ExpectedEc

EC = "EC"
_ONE = Decimal(1)


@dataclass(frozen=True, slots=True)
class Ceilings:
    """The most a feed may add to the water.

    ec_ms_per_cm: conductivity at 25 °C [mS/cm]; p_mg_per_l, k_mg_per_l: as elements [mg/L]. The usual ones are for
    strong trees in full growth: a little above what a 20-20-20 brings at 200 ppm N, and half as much again as the top
    of the normal range of K (judgement).
    """

    ec_ms_per_cm: Decimal = Decimal(2)
    p_mg_per_l: Decimal = Decimal(90)
    k_mg_per_l: Decimal = Decimal(300)


USUAL = Ceilings()
"""Those of a schedule that names none."""


@dataclass(frozen=True, slots=True)
class Passed:
    """A ceiling that a feed passes. what: "P", "K" or "EC"; holds, most: [mg/L as element, or mS/cm]."""

    what: str
    holds: Decimal
    most: Decimal


def passed(contents: Mapping[str, Decimal], ec: ExpectedEc | None, ceilings: Ceilings) -> tuple[Passed, ...]:
    """The ceilings passed by a feed, the one passed furthest first. contents: [mg/L]; ec: what it adds to the water."""
    found = [each for each in _against(contents, ec, ceilings) if each.holds > each.most]
    return tuple(sorted(found, key=lambda each: each.most / each.holds))


def _against(contents: Mapping[str, Decimal], ec: ExpectedEc | None, ceilings: Ceilings) -> Iterator[Passed]:
    yield Passed("P", contents.get("P", Decimal(0)), ceilings.p_mg_per_l)
    yield Passed("K", contents.get("K", Decimal(0)), ceilings.k_mg_per_l)
    if ec is not None:
        yield Passed(EC, Decimal(str(round(_sure_ms_per_cm(ec), 6))), ceilings.ec_ms_per_cm)


def _sure_ms_per_cm(ec: ExpectedEc) -> float:
    """What a feed adds for certain: the least it may, where the forms of its nitrogen are not told."""
    from feedplan.dose.conductivity import EcLimit  # noqa: PLC0415 - see above

    return ec.low if EcLimit.FORMS_UNKNOWN in ec.limits else ec.likely


def is_surely_within(contents: Mapping[str, Decimal], ceilings: Ceilings) -> bool:
    """Whether P and K alone tell that a feed passes no ceiling, its conductivity unseen.

    With no nutrient beside N, P and K and no form of nitrogen told, only P, K and what balances their charge conduct
    for certain: 90 mg P and 300 mg K bring half of the usual 2 mS/cm.
    """
    if any(mg for element, mg in contents.items() if element not in ("N", "P", "K")):
        return False
    most_p, most_k = min(ceilings.p_mg_per_l, Decimal(90)), min(ceilings.k_mg_per_l, Decimal(300))
    return contents["P"] <= most_p and contents["K"] <= most_k and ceilings.ec_ms_per_cm >= USUAL.ec_ms_per_cm


def share_within(
    contents: Mapping[str, Decimal], ec_of: Callable[[Decimal], ExpectedEc | None], ceilings: Ceilings
) -> Decimal:
    """The share of its strength at which a feed passes no ceiling [0-1]. ec_of: what it adds at a share of it."""
    share = min([_ONE, *(each.most / each.holds for each in passed(contents, None, ceilings))])
    for _ in range(20):  # conductivity rises a little less than the strength: within 1e-6 after a few rounds
        over = next(iter(passed({}, ec_of(share), ceilings)), None)
        if over is None:
            break
        share *= over.most / over.holds * (_ONE - _CLOSE)
    return share


_CLOSE = Decimal("1e-6")

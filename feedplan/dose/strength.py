"""How strong a feed is meant to be: nitrogen or another nutrient in the mixed feed, or a share of the label's rate."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from typing import NamedTuple

from feedplan.dose.grade import FURTHER_NUTRIENTS
from feedplan.dose.measures import NUMBER, SHARES, parse_percent, plain, quoted, read_number, tidy

# Eight times the strongest constant feed for flower crops (150 to 250 ppm N, university extension fact sheets):
# above it a number is a slip, a stock or another unit. The margin itself is common practice, no source.
STRONGEST_PPM_N = Decimal(2000)

_FRACTION = r"([0-9]{1,3}) ?/ ?([0-9]{1,3})"
_OF_LABEL = (
    r"(?:(?:as|at|by|per) )?(?:on )?(.*?) ?(?:(?:of|on|by) )?(?:the )?label(?:'s)?(?: rate| strength| dose)?"
)
_PPM_N = r"(.+?) ?(?:(?:ppm|mg ?/ ?l|mg per l(?:itre)?)(?: of)? n|mg n ?(?:/|per) ?l(?:itre)?)"
_PPM = r"(.+?) ?(?:ppm|mg ?/ ?l|mg per l(?:itre)?)( .*)?"
_EXAMPLE = "150 ppm N or 1/2 label"
_TARGET = rf"({NUMBER}) ?(?:mg|ppm) ?([A-Za-z]{{1,2}})(?: ?(?:/|per) ?l(?:itre)?)?"
_NUTRIENTS = ("N", "P", "K", *FURTHER_NUTRIENTS)


@dataclass(frozen=True, slots=True)
class PpmN:
    """Nitrogen in the mixed feed [mg/L, which growers call ppm N]. Raises ValueError outside 0 to 2000."""

    n_mg_per_l: Decimal

    def __post_init__(self) -> None:
        if not 0 <= self.n_mg_per_l <= STRONGEST_PPM_N:
            raise ValueError(
                f"{self.n_mg_per_l} ppm N is outside 0 to {STRONGEST_PPM_N} ppm N; feeds for trees are 20 to 200 ppm N"
            )

    def __str__(self) -> str:
        return f"{round(self.n_mg_per_l)} ppm N"


@dataclass(frozen=True, slots=True)
class LabelShare:
    """A share of the label's own rate [0 to 1]. Raises ValueError outside: the label is never exceeded."""

    share: Decimal

    def __post_init__(self) -> None:
        if not 0 <= self.share <= 1:
            raise ValueError(f"{self.share} of the label rate is outside 0 to 1; the label is never exceeded")

    def __str__(self) -> str:
        return f"{round(self.share * 100)} % of the label rate"


Strength = PpmN | LabelShare


def parse_share(text: str) -> Decimal:
    """A share of one: "1/2", "half", "0.5" or "50 %" [0 to 1]. Raises ValueError, also for zero."""
    clean = tidy(text).lower().removeprefix("a ").removeprefix("one ")
    if match := re.fullmatch(_FRACTION, clean):
        top, bottom = Decimal(match[1]), Decimal(match[2])
        share = top / bottom if bottom else Decimal(0)
    elif clean in SHARES:
        share = SHARES[clean]
    elif clean.endswith(("%", "percent", "per cent")):
        share = parse_percent(clean) / 100
    else:
        share, rest = read_number(clean, "1/2")
        if rest:
            raise ValueError(f"{quoted(text)} is not a share; write for example 1/2 or 50 %")
    if not 0 < share <= 1:
        raise ValueError(f"{quoted(text)} is not more than 0 and at most 1; write for example 1/2 or 50 %")
    return share


def parse_strength(text: str) -> Strength:
    """A strength such as "150 ppm N", "1/2 label", "half label rate" or "25 % of label".

    Bare ppm is refused: on a meter it means dissolved salts, on some sheets nitrate. Raises ValueError.
    """
    clean = tidy(text).lower()
    if match := re.fullmatch(_OF_LABEL, clean):
        return LabelShare(parse_share(match[1]) if match[1] else Decimal(1))
    if match := re.fullmatch(_PPM_N, clean):
        return PpmN(_positive(match[1], text))
    if match := re.fullmatch(_PPM, clean):
        raise ValueError(_which_ppm(match[2] or "", match[1], text))
    if clean.endswith(("%", "percent", "per cent")) or re.fullmatch(_FRACTION, clean):
        raise ValueError(f"{quoted(text)} does not say of what; write {clean} label")
    if "ms/cm" in clean or "ds/m" in clean:
        raise ValueError(
            f"{quoted(text)} is a conductivity, and each feed reads differently; write for example {_EXAMPLE}"
        )
    if clean.removeprefix("a ") in SHARES:
        raise ValueError(f"{quoted(text)} does not say of what; write {clean} label")
    if re.fullmatch(NUMBER, clean):
        raise ValueError(f"{quoted(text)} has no unit; write {plain(Decimal(clean))} ppm N")
    raise ValueError(f"{quoted(text)} is not a strength; write for example {_EXAMPLE}")


def _positive(number_text: str, text: str) -> Decimal:
    number, rest = read_number(number_text, "150 ppm N")
    if rest:
        raise ValueError(f"{quoted(text)} is not a strength; write for example {_EXAMPLE}")
    if number == 0:
        raise ValueError(f"{quoted(text)} is no feed; leave the feed out, or write for example 50 ppm N")
    return number


def _which_ppm(rest: str, number: str, text: str) -> str:
    """The advice for ppm of something that is not said to be nitrogen."""
    of = rest.strip().removeprefix("of ")
    if of in ("no3", "nitrate", "no3-"):
        return f"{quoted(text)} counts nitrate, which is 22.6 % N; write the nitrogen, such as 150 ppm N"
    if of in ("tds", "total dissolved solids"):
        return f"{quoted(text)} is a meter's salt reading, not nitrogen; write for example {_EXAMPLE}"
    if of:
        return f"{quoted(text)} is not nitrogen; a strength is set by N, such as 150 ppm N"
    return f"{quoted(text)} does not say ppm of what; write {number} ppm N"


@dataclass(frozen=True, slots=True)
class NutrientTarget:
    """So much of one nutrient, as element, in a litre of feed [mg]: chelated iron, say, is dosed by its iron."""

    element: str
    mg_per_l: Decimal

    def __str__(self) -> str:
        return f"{self.mg_per_l.normalize():f} mg {self.element} per litre"


def parse_nutrient_target(text: str) -> NutrientTarget:
    """A target such as "2 mg Fe per L". Raises ValueError."""
    match = re.fullmatch(_TARGET, tidy(text), re.IGNORECASE)
    element = match[2].capitalize() if match is not None else ""
    if match is None or element not in _NUTRIENTS or Decimal(match[1]) == 0:
        known = ", ".join(_NUTRIENTS)
        raise ValueError(
            f"{quoted(text)} is no target; write for example '2 mg Fe per L', with one of {known}"
        )
    return NutrientTarget(element, Decimal(match[1]))


class EcTarget(NamedTuple):  # a plain tuple: the command at the sink must start at once
    """A conductivity that a pen is to show in the mixed feed at 25 °C [mS/cm]."""

    ms_per_cm: Decimal

    def __str__(self) -> str:
        return f"EC {self.ms_per_cm.normalize():f} mS/cm"

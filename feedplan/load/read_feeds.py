"""Readers for what feeds and the shelf have: strengths, rates, densities, prices, times, conductivity figures."""

from __future__ import annotations

import calendar
import re
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import ROUND_HALF_EVEN, Decimal

from feedplan.dose.measures import (
    AMOUNT,
    NUMBER,
    Rate,
    in_figures,
    parse_days,
    parse_mass,
    parse_percent,
    parse_rate,
    parse_ratio,
    parse_volume,
    quoted,
    read_amount,
    read_number,
    tidy,
    unit_called,
)
from feedplan.dose.strength import LabelShare, parse_share, parse_strength
from feedplan.load.bounds import number_words, within
from feedplan.load.problems import refusal
from feedplan.load.read_site import ec_meant
from feedplan.words.language import say

_MONTHS = re.compile(rf"({NUMBER}) ?(months?|years?)")
_SPAN = re.compile(rf"({NUMBER})(?: ?(?:-|to) ?({NUMBER}))? ?(days?|weeks?|months?)")
_PRICE = re.compile(rf"({NUMBER}) ?([^\W\d_]{{1,8}})? (?:for|per) (?:({NUMBER}) ?)?(\w+)")
_FEED_EC = re.compile(
    rf"({NUMBER}) ?(?:ms ?/ ?cm|ds ?/ ?m) (?:per|at) (?:({NUMBER}) ?(?:ppm n|mg n ?/ ?l|mg n per l)|(.+))"
)
_PARTS = Decimal("0.01")
_DAYS_A_MONTH = Decimal("30.44")
LONGEST_DAYS = 1100

AS_PLANNED = "as planned"
"""How a journal writes that the planned feed was given."""
NO_REASON = "no reason"
NONE_THERE = "none there"
"""How a journal writes that no solid feed lies on a pot."""


@dataclass(frozen=True, slots=True)
class Keeping:
    """How long a product keeps once opened: whole months, or else days."""

    months: int = 0
    days: int = 0

    def __str__(self) -> str:
        return f"{self.months} months" if self.months else f"{self.days} days"

    def until(self, opened: date) -> date:
        """The last day it keeps; a day the month does not have becomes that month's last."""
        year, month = divmod(opened.year * 12 + opened.month - 1 + self.months, 12)
        last = calendar.monthrange(year, month + 1)[1]
        return date(year, month + 1, min(opened.day, last)) + timedelta(days=self.days)


def parse_injector(text: str) -> Decimal:
    """An injector's setting such as "1:100", "1 in 100" or "1 %": 1 part of stock in so many of feed.

    Raises ValueError.
    """
    if not re.search(r"%|per ?cent", text, re.IGNORECASE):
        return parse_ratio(text)
    percent = parse_percent(text)
    if not percent:
        raise ValueError(say("{text} draws no stock; write 1:100 or 1 %", text=quoted(text)))
    return (100 / percent).quantize(_PARTS, ROUND_HALF_EVEN)


def parse_keeping(text: str) -> Keeping:
    """A keeping time such as "24 months", "2 years" or "180 days". Raises ValueError."""
    match = _MONTHS.fullmatch(tidy(text).lower())
    if match is None:
        return Keeping(days=parse_days(text))
    months = Decimal(match[1]) * (12 if match[2].startswith("year") else 1)
    if months != int(months) or not 1 <= months <= 240:
        raise refusal("{text} is no keeping time; write whole months, such as 24 months", text)
    return Keeping(months=int(months))


@dataclass(frozen=True, slots=True)
class Amount:
    """An amount of product as written: grams when unit is "g", millilitres when it is "ml"."""

    number: Decimal
    unit: str


def parse_product_amount(text: str) -> Amount:
    """An amount on the shelf such as "800 g", "1.5 kg", "750 ml" or "1 L"; zero is allowed. Raises ValueError."""
    number, unit_text = read_amount(text, "800 g")
    unit = unit_called(unit_text)
    if unit is None or unit.kind not in ("mass", "volume"):
        if not unit_text:
            raise refusal("{text} has no unit; write {number} g or {number} ml", text, number=number)
        raise refusal("{text} is no amount of a product; write for example 800 g or 750 ml", text)
    if unit.kind == "mass":
        return Amount(number * unit.worth, "g")
    return Amount(number * unit.worth * 1000, "ml")


@dataclass(frozen=True, slots=True)
class Price:
    """What an amount costs. currency: as written, may be empty."""

    cost: Decimal
    currency: str
    amount: Amount


def parse_price(text: str) -> Price:
    """A price such as "14.50 for 1 kg" or "14.50 EUR per kg", in a currency of your own. Raises ValueError."""
    match = _PRICE.fullmatch(tidy(text))
    if match is None and (sign := _CURRENCY.match(tidy(text))):
        raise refusal(
            "{text} starts with a sign; write {meant}", text, meant=_price_meant(tidy(text), sign[0])
        )
    if match is None:
        raise refusal("{text} is not a price; write for example 14.50 for 1 kg", text)
    amount = parse_product_amount(f"{match[3] or 1} {match[4]}")
    if amount.number == 0:
        raise refusal("{text} is a price for nothing; write for example 14.50 for 1 kg", text)
    return Price(Decimal(match[1]), match[2] or "", amount)


_CURRENCY = re.compile("[£€$¥]")
_CURRENCIES = {"£": "GBP", "€": "EUR", "¥": "JPY"}


def _price_meant(clean: str, sign: str) -> str:
    """A price with its sign as a word behind the number, where that word is sure."""
    number, _, rest = clean.removeprefix(sign).strip().replace(",", ".").partition(" ")
    return " ".join(filter(None, (number, _CURRENCIES.get(sign, ""), rest or "for 1 kg")))


@dataclass(frozen=True, slots=True)
class FeedEc:
    """What a feed adds to the water's conductivity [mS/cm], for some ppm N, or for a rate [amount per L and unit]."""

    ms_per_cm: Decimal
    ppm_n: Decimal | None
    rate: tuple[Decimal, str] | None


def parse_feed_ec(text: str) -> FeedEc:
    """A label's conductivity such as "0.65 mS/cm per 100 ppm N" or "1.3 mS/cm at 1 g per L". Raises ValueError."""
    match = _FEED_EC.fullmatch(tidy(text).lower())
    example = "0.65 mS/cm per 100 ppm N or 1.3 mS/cm at 1 g per L"
    if match is None or Decimal(match[1]) > 20:
        raise refusal(
            "{text} is no conductivity of a feed; write for example {example}", text, example=example
        )
    if match[2] is None:
        return FeedEc(Decimal(match[1]), None, parse_rate(match[3])[:2])
    if Decimal(match[2]) == 0:
        raise refusal("{text} is for no nitrogen; write for example {example}", text, example=example)
    return FeedEc(Decimal(match[1]), Decimal(match[2]), None)


def parse_conductivity(text: str) -> Decimal:
    """A pen's reading such as "1.2 mS/cm" or "850 uS/cm" [mS/cm]; zero is allowed. Raises ValueError."""
    number, unit = read_number(text, "1.2 mS/cm")
    unit = unit.lower().replace(" ", "").replace("µ", "u").replace("μ", "u")
    if not unit:
        raise refusal("{text} has no unit; write the unit: {meant}", text, meant=ec_meant(number))
    if unit in ("ppm", "mg/l"):
        raise refusal(
            "{text} depends on the meter's own scale (500, 640 or 700 per mS/cm); switch it to mS/cm", text
        )
    if unit not in ("ms/cm", "ds/m", "us/cm"):
        raise refusal("{text} is no conductivity; write for example 1.2 mS/cm", text)
    reading = number / 1000 if unit == "us/cm" else number
    if reading > 50:
        raise refusal("{text} is beyond any feed; did you mean '{number} µS/cm'?", text, number=number)
    return reading


def parse_label_rate(text: str) -> Rate:
    """A label's rate such as "1 g per L" or "1 tbsp per US gal", within reason. Raises ValueError."""
    amount, unit, spoon = parse_rate(text)
    if (small := re.sub(r"\bkg\b", "g", tidy(text))) != tidy(text) and amount > 50:
        raise refusal("{text} would kill; did you mean '{small}'?", text, small=small)
    within(f"label rate {unit}", Decimal(amount), text)
    return Rate(amount, unit, spoon)


def parse_density(text: str) -> Decimal:
    """The density of a liquid such as "1.15 kg per L" [kg/L]. Raises ValueError."""
    mass, slash, volume = tidy(text).replace(" per ", "/").partition("/")
    if not slash or not volume.strip():
        raise refusal("{text} is not a density; write for example 1.15 kg per L", text)
    volume = volume.strip()
    litres = parse_volume(volume if volume[0].isdigit() else f"1 {volume}")
    grams = parse_mass(mass)
    if not litres or not Decimal("0.8") <= (density := grams / litres / 1000) <= 2:
        raise refusal("{text} is no density of a liquid feed; write 0.8 kg per L to 2 kg per L", text)
    return density


def parse_budget(text: str) -> Decimal:
    """Nitrogen for a season such as "360 mg N per L" of container [mg/L]. Raises ValueError."""
    number, unit = read_number(text, "360 mg N per L")
    if not re.fullmatch(r"mg n ?(?:/|per) ?l(?:itre)?", unit.lower()):
        raise refusal("{text} is not a budget; write for example 360 mg N per L", text)
    if number > 5000:
        raise refusal("{text} is far beyond any tree's need; write 5000 mg N per L at the most", text)
    return number


def parse_nutrient_amount(text: str) -> Decimal:
    """A nutrient in the mixed feed such as "90 mg per L" [mg/L, as element]. Raises ValueError."""
    number, unit = read_number(text, "90 mg per L")
    if unit.lower().replace(" per ", "/").replace(" ", "") not in ("mg/l", "mg/litre", "ppm"):
        raise refusal("{text} is no amount in a feed; write for example 90 mg per L", text)
    if not 0 < number <= 5000:
        raise refusal("{text} is out of range; write more than 0, at most 5000 mg per L", text)
    return number


def parse_ppm_n(text: str) -> Decimal:
    """Nitrogen in the can such as "50 ppm N" [mg/L]; zero is allowed. Raises ValueError."""
    number, unit = read_number(text, "50 ppm N")
    if unit.lower() not in ("ppm n", "mg n per l", "mg n/l", "mg/l n"):
        raise refusal("{text} is not a strength; write {number} ppm N", text, number=number)
    if number > 2000:
        raise refusal("{text} is above 2000 ppm N; feeds for trees are 20 to 200 ppm N", text)
    return number


@dataclass(frozen=True, slots=True)
class MixedRate:
    """Product told in so much water, such as "5 g in 10 L": per litre, in "g" or "ml", and as it was written.

    spoon: the spoon or cup it was told in, else empty.
    """

    per_l: Decimal
    unit: str
    written: str
    spoon: str = ""

    def __str__(self) -> str:
        return self.written


def parse_fed(written: str | bool) -> Decimal | LabelShare | MixedRate | str:
    """A feed given: AS_PLANNED, nitrogen in the can [mg/L], a share of the label rate, or product in so much water.

    Raises ValueError.
    """
    clean = tidy(str(written)).lower()
    if clean in ("true", "yes", "y", "planned"):
        raise ValueError(say("'{text}' tells no strength; write as planned", text=clean))
    if clean in ("false", "no", "n"):
        raise ValueError(say("'{text}' is no feed; write not_fed: no reason", text=clean))
    if clean == AS_PLANNED:
        return AS_PLANNED
    if _OF_LABEL.search(clean):
        strength = parse_strength(str(written))
        assert isinstance(strength, LabelShare)
        return strength
    if share := _share_of_nothing(clean):
        raise refusal(
            "{text} does not say of what; write as planned"
            if share == 1
            else "{text} does not say of what; write fed: as planned, part: {share}, or fed: {share} label "
            '(record: --part "{share}" or --strength "{share} label")',
            str(written),
            share=number_words(share * 100, "%"),
        )
    if (rate := _mixed_rate(tidy(str(written)))) is not None:
        return rate
    if _ASKS_DOSE.search(clean) and not re.search("ppm|mg", clean):
        raise refusal(
            "{text} does not tell the nitrogen; feedplan dose says it: type feedplan dose, the feed and {clean}, "
            "and write what it gives, such as 75 ppm N",
            str(written),
            clean=clean,
        )
    if not clean[:1].isdigit():
        raise refusal("{text} is no strength; write as planned, or for example 50 ppm N", str(written))
    _refuse_amount(tidy(str(written)))
    return parse_ppm_n(str(written))


_OF_LABEL = re.compile(r"label('s)?( rate| strength| dose)?$|(%|percent)( of)? label")
_ASKS_DOSE = re.compile(r" per |/|:|(ms|ec|cans?|caps?|capfuls?|spoons?|spoonfuls?|scoops?)\b")
_MIXED = re.compile(
    rf"({AMOUNT}) ?([^\W\d_][\w ]*?) ?(?:/| (?:per|in|into|to|for) )(?:(?:an?|one|each|the) )? ?(.+)"
)
_BARE_PPM = re.compile(rf"({NUMBER}) ?ppm(?: n\b| nitrogen)?", re.IGNORECASE)
_AMOUNT = re.compile(rf"({NUMBER}) ?([^\W\d_][\w ]*)")


def _mixed_rate(text: str) -> MixedRate | None:
    """The product told in so much water; None for text that tells no measures of both. Raises ValueError."""
    found = _MIXED.fullmatch(in_figures(text).lower())
    unit = unit_called(found[2]) if found is not None else None
    if found is None or unit is None or unit.kind not in ("mass", "volume") or unit.name == "mg":
        return None
    if found[3].split(" ")[-1] in ("can", "cans", "canful", "bucket"):
        return None
    per_l, measured, spoon = parse_rate(f"{found[1]} {found[2]} per {found[3]}")
    return MixedRate(per_l, measured, text, spoon)


def _refuse_amount(text: str) -> None:
    """Raises ValueError for an amount, which is product or feed, with or without a strength beside it."""
    strength = _BARE_PPM.search(text)
    rest = text if strength is None else text[: strength.start()] + text[strength.end() :]
    found = _AMOUNT.fullmatch(rest.strip(" ,"))
    unit = unit_called(found[2]) if found else None
    if found is None or unit is None or unit.kind not in ("mass", "volume"):
        return
    if unit.kind == "volume" and unit.worth >= 1:
        raise refusal(
            "{text} is how much was poured; write fed: {strength}, litres: {litres}",
            text,
            strength=AS_PLANNED if strength is None else f"{strength[1]} ppm N",
            litres=found[0],
        )
    if strength is None:
        raise refusal(
            "{text} does not say in how much water; write for example {amount} in 10 L", text, amount=text
        )


def _share_of_nothing(text: str) -> Decimal | None:
    """The share that "half", "half strength", "1/2", "50 %" or "0.5" tells; None for any other text."""
    bare = re.sub(r",(?=[0-9])", ".", re.sub(r" ?(strength|dose|rate|as planned|of the plan)$", "", text))
    try:
        share = parse_share(bare)
    except ValueError:
        return None
    return share if 0 < share <= 1 else None


def parse_longevity(text: str) -> tuple[int, int]:
    """A label's release time such as "150 days" or "5 to 6 months", shortest and longest [days]. Raises ValueError.

    A month on such a label counts 30.44 days, the mean month of a year.
    """
    match = _SPAN.fullmatch(tidy(text).lower())
    if match is None:
        raise refusal("{text} is no release time; write for example 150 days or 5 to 6 months", text)
    days = {"d": Decimal(1), "w": Decimal(7), "m": _DAYS_A_MONTH}[match[3][0]]
    shortest, longest = (round(Decimal(number) * days) for number in (match[1], match[2] or match[1]))
    if not 1 <= shortest <= longest <= LONGEST_DAYS:
        raise refusal("{text} is no release time; write 1 day to 36 months, the shorter first", text)
    return shortest, longest


@dataclass(frozen=True, slots=True)
class SolidRate:
    """Solid feed per litre of container: product [g/L], nitrogen [mg/L] or level spoons [ml/L]; one is given."""

    grams_per_l: Decimal | None = None
    n_mg_per_l: Decimal | None = None
    spoons_ml_per_l: Decimal | None = None


def parse_solid_rate(text: str) -> SolidRate:
    """Solid feed per litre of container, such as "3 g per L" or "150 mg N per L". Raises ValueError."""
    clean = tidy(text)
    if match := re.fullmatch(rf"({NUMBER}) ?mg n ?(?:/|per) ?l(?:itre)?", clean.lower()):
        if not 0 < Decimal(match[1]) <= 2000:
            raise refusal("{text} is out of range; write more than 0, at most 2000 mg N per L", text)
        return SolidRate(n_mg_per_l=Decimal(match[1]))
    if re.fullmatch(NUMBER, clean):
        raise refusal("{text} has no unit; write {clean} g per L", text, clean=clean)
    amount, unit, spoon = parse_rate(clean)
    if spoon and amount <= 50:
        return SolidRate(spoons_ml_per_l=amount)
    if unit != "g" or amount > 50:
        raise refusal(
            "{text} is no rate of solid feed; write for example 3 g per L of pot, or 150 mg N per L", text
        )
    return SolidRate(grams_per_l=amount)

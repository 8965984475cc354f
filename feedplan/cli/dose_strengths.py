"""Strengths as they are said at the sink: ppm of a nutrient, a share of the label's rate, a conductivity."""

from __future__ import annotations

from decimal import Decimal

from feedplan.cli.dose_tokens import LONGEST_NUMBER, NUTRIENTS, SHARES, TokenReader
from feedplan.dose.grade import OXIDE_FACTORS
from feedplan.dose.strength import EcTarget, LabelShare, NutrientTarget, PpmN
from feedplan.words.language import say


class StrengthReader(TokenReader):
    """Reads strengths, and what is written like one: a dilution, warmth, density."""

    def _is_per_litre(self, at: int) -> bool:
        """Whether "/ L" or "per litre" stands there, with a nutrient before it or not."""
        at += self.word(at) in NUTRIENTS and self.word(at + 1) in ("/", "per", "a")
        return self.word(at) in ("/", "per", "a") and self.word(at + 1) in ("l", "litre", "liter")

    def _end_of_per_litre(self, at: int) -> int:
        at += self.word(at) in NUTRIENTS
        return at + 2

    def _ppm(self, number: Decimal, after: int, start: int) -> int:
        """A strength in mg/L of nitrogen, or of another nutrient that is named."""
        end = after + 1
        nutrient = "N"
        if self.word(after) == "mg":
            if self.word(after + 1) in NUTRIENTS:
                nutrient = NUTRIENTS[self.word(after + 1)]
            end = self._end_of_per_litre(after + 1)
        if self.word(end) == "of" and self.word(end + 1) in NUTRIENTS:
            end += 1
        if self.word(end) in NUTRIENTS:
            nutrient, end = NUTRIENTS[self.word(end)], end + 1
        elif self.word(end) in ("tds", "nitrate", "no", "salt", "salts"):
            end += 2 if self.word(end) == "no" else 1
            raise self.refuse(
                say("'{typed}' is no nitrogen: a strength is set by N", typed=self.typed(start, end)),
                start,
                end,
                "100 ppm N",
            )
        self._nutrient(nutrient, number, start, end)
        return end

    def _nutrient(self, nutrient: str, number: Decimal, start: int, end: int) -> None:
        self.once("strength", start, end)
        if nutrient in ("P2O5", "K2O"):
            nutrient, number = nutrient[0], number * OXIDE_FACTORS[nutrient[0]]
        if number == 0:
            raise self.refuse(
                say("'{typed}' is no feed", typed=self.typed(start, end)), start, end, f"50 ppm {nutrient}"
            )
        try:
            PpmN(number)
        except ValueError as wrong:
            raise self.refuse(str(wrong).partition(";")[0], start, end, "100 ppm N") from None
        self.said.strength = PpmN(number) if nutrient == "N" else NutrientTarget(nutrient, number)

    def _percent(self, number: Decimal, after: int, start: int) -> int:
        """A share of the label's rate, or an injector's setting."""
        end = after + 1
        if self._is_of_label(end) or (self.is_label and number > 5):
            return self._label_share(number / 100, start, end)
        if number and (number <= 5 or self.word(end) in ("injector", "dilution", "stock", "proportioner")):
            self.once("dilution", start, end)
            self.said.ratio = 100 / number
            return end
        raise self.refuse(
            say("'{typed}' does not say of what", typed=self.typed(start, end)),
            start,
            end,
            f"{self.typed(start, end)} label 1 g/L" if 0 < number <= 100 else "half label 1 g/L",
        )

    def _label_share(self, share: Decimal, start: int, at: int) -> int:
        """A share of the label's rate, whatever it is called."""
        while self.word(at) in ("of", "the", "a", "label", "label's", "strength", "rate", "dose"):
            self.is_label = self.is_label or self.word(at).startswith("label")
            at += 1
        self.once("strength", start, at)
        if not 0 < share <= 1:
            raise self.refuse(
                say(
                    "'{typed}' is not up to the label's rate, which is never exceeded",
                    typed=self.typed(start, at),
                ),
                start,
                at,
                "full label",
            )
        self.said.strength = LabelShare(share)
        self.is_label = True
        return at

    def _ec_unit(self, at: int) -> int | None:
        """The token after "mS/cm", "mS", "µS/cm", "dS/m" or "EC"; None when none of them is there."""
        if self.word(at) in ("ms", "ds", "us", "µs", "μs") and self.word(at + 1) == "/":
            at += 3
        elif self.word(at) in ("ms", "ds", "µs", "μs", "ec"):
            return at + 1
        else:
            return None
        return at + 1 if self.word(at) == "ec" else at

    def _ec(self, number: Decimal, start: int, end: int) -> int:
        """A conductivity as strength; the token after it."""
        self.once("strength", start, end)
        if any(self.word(at) in ("us", "µs", "μs") for at in range(start, end)):
            number /= 1000
        if not 0 < number <= 10:
            raise self.refuse(
                say("'{typed}' is no conductivity of a feed", typed=self.typed(start, end)),
                start,
                end,
                "EC 1.2",
            )
        self.said.strength = EcTarget(number)
        return end

    def _warmth(self, number: Decimal, unit: str, start: int, end: int) -> int:
        self.once("temperature", start, end)
        self.said.at_is_f = "f" in unit
        self.said.at_c = (number - 32) * 5 / 9 if self.said.at_is_f else number
        return end

    def _density(self, number: Decimal, start: int, end: int) -> int:
        self.once("density", start, end)
        self.said.density, self.said.is_liquid = number, True
        return end

    def _share_in_words(self, at: int) -> int:
        text, end = self.word(at), at + 1
        if text in ("two", "three"):
            return self._label_share(Decimal(2) / 3 if text == "two" else Decimal(3) / 4, at, at + 2)
        return self._label_share(SHARES[text], at, end)

    def _is_one_in(self, at: int) -> bool:
        """Whether "1 in 200" or "1 to 200" stands there."""
        return (
            self.word(at) == "1"
            and self.word(at + 1) in ("in", "to")
            and self.kind(at + 2) == "number"
            and self._unit(at + 3) is None
        )

    def _ratio(self, at: int) -> int:
        is_one_in = self.kind(at) != "ratio"
        end = at + 3 if is_one_in else at + 1
        text = self.word(at + 2) if is_one_in else self.word(at).partition(":")[2].strip()
        self.once("dilution", at, end)
        if len(text) > LONGEST_NUMBER or Decimal(text) <= 1:
            raise self.refuse(
                say("'{typed}' does not dilute anything", typed=self.typed(at, end)), at, end, "1:100"
            )
        self.said.ratio = Decimal(text)
        return end

"""What is typed after `feedplan dose` in plain words, in any order and with or without quotes: one reader for it all.

The words become tokens, the tokens values: a product, a strength, an amount of product, a volume of feed, a dilution.
A measure that means two things (gallon, teaspoon) is that of the place, and which one was taken is said. Every refusal
ends in what to type instead, made of what was typed, so that it can be pasted.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from decimal import Decimal

from feedplan.cli.dose_strengths import StrengthReader
from feedplan.cli.dose_tokens import (
    CANS,
    CAPS,
    FEED,
    FILLERS,
    LARGE,
    NUMBERS,
    ONE_OF,
    PLACES,
    SHARES,
    SPOONS,
    TINY,
    Measured,
    SinkWords,
)
from feedplan.dose.grade import parse_grade
from feedplan.dose.measures import REFUSED, UNITS
from feedplan.dose.names import LAID_FEEDS, LIQUID_FEEDS, LONGEST_NAME, SOLD, spelled
from feedplan.dose.strength import LabelShare
from feedplan.words.language import say


class UnknownWord(Exception):  # noqa: N818 - not a refusal yet: the collection may know it
    """A word that no reader of measures knows."""

    def __init__(self, word: str) -> None:
        self.word = word
        super().__init__(word)


def read_words(
    words: Sequence[str], feeds: Collection[str] = (), measures: str | None = None, options: str = ""
) -> SinkWords:
    """What the words say.

    feeds: names of the collection, which come before anything else. measures: of the place, where told. options: what
    was typed beside the words, for the command that a refusal ends in. Raises DoseError, with what to type instead, and
    UnknownWord for a word that may be a product of the collection.
    """
    return _Reader(" ".join(words), feeds, measures, options).read()


class _Reader(StrengthReader):
    """Reads everything."""

    def read(self) -> SinkWords:
        """What all the tokens say."""
        at = 0
        while at < len(self.tokens):
            at = self._next(at)
        self._place_measures()
        return self.said

    def _next(self, at: int) -> int:
        """Reads what stands at a token; the token to go on with."""
        kind, text = self.kind(at), self.word(at)
        if kind == "feed":
            self.once("product", at, at + 1)
            self.said.feed = text
            return at + 1
        if kind == "grade" or self._is_spaced_grade(at):
            return self._grade(at)
        if kind == "ratio" or self._is_one_in(at):
            return self._ratio(at)
        if kind == "comma" and self.word(at + 1) == "," and self.kind(at + 2) == "number":
            grade = self.typed(at, at + 3)
            problem = say("'{typed}' has commas; a grade has hyphens", typed=grade)
            raise self.refuse(problem, at, at + 3, grade.replace(",", "-").replace(" ", ""))
        if kind == "comma":
            raise self.refuse(
                say("'{typed}' has a comma; decimals have a point", typed=text),
                at,
                at + 1,
                text.replace(",", "."),
            )
        number = self._number(at)
        if number is not None:
            return self._after_number(*number, at)
        return self._words(at)

    def _is_spaced_grade(self, at: int) -> bool:
        """Whether the label's numbers stand there with nothing but spaces between them."""
        return all(self.kind(at + i) == "number" for i in range(3)) and (
            self.kind(at + 3) in ("", "number", "share", "ratio")
            or self.word(at + 3) in ("of", "in", "at", "half")
        )

    def _grade(self, at: int) -> int:
        end = at + 1 if self.kind(at) == "grade" else at + 3
        text = "-".join(self.word(i) for i in range(at, end))
        if self.said.grade is not None:
            self.once("product", at, end)
        self.first.setdefault("product", (at, end))
        plain = text if ":" in text else text.replace("/", "-")
        try:
            parse_grade(plain)
        except ValueError as wrong:
            raise self.refuse(str(wrong).partition(";")[0], at, end, "24-8-16") from None
        self.said.grade = plain
        return end

    def _after_number(self, number: Decimal, after: int, start: int) -> int:
        """Reads what a number is of."""
        after += self.word(after) in ("level", "flat")
        text = self.word(after)
        if text in ("ppm", "mg") and (text == "ppm" or self._is_per_litre(after + 1)):
            return self._ppm(number, after, start)
        if text == "%":
            return self._percent(number, after, start)
        if (end := self._ec_unit(after)) is not None:
            return self._ec(number, start, end)
        if text[-1:] in ("c", "f") and text.lstrip("°º ") in ("c", "f", "celsius", "fahrenheit"):
            return self._warmth(number, text, start, after + 1)
        if text in ("degrees", "degree", "deg"):
            return self._warmth(number, self.word(after + 1) or "c", start, after + 2)
        if text == "kg" and self._is_per_litre(after + 1):
            return self._density(number, start, self._end_of_per_litre(after + 1))
        if text == "watering" and self.word(after + 1) in CANS:
            after, text = after + 1, self.word(after + 1)
        if text in CANS:
            self.once("volume", start, after + 1)
            self.said.cans = number
            return after + 1
        unit = self._unit(after)
        if unit is not None:
            return self._measure(number, unit, start)
        return self._no_unit(number, after, start)

    def _measure(self, number: Decimal, unit: tuple[str, str, Decimal, int], start: int) -> int:
        """An amount, and the water it goes into where "per" or a slash follows."""
        name, kind, worth, end = unit
        if self.word(end) in ("of", "holds", "weighs", "=") and kind in ("spoon", "cap"):
            weighed = self._weighed(kind, end + 1)
            if weighed is not None:
                end = weighed
        elif kind in ("spoon", "cap") and (weighed := self._weighed(kind, end)) is not None:
            end = weighed
        if number == 0:
            raise self.refuse(
                say("'{typed}' is nothing", typed=self.typed(start, end)),
                start,
                end,
                self.typed(start, end).replace("0", "1", 1),
            )
        before = max(start - 1, 0)
        is_into = start > 0 and self.word(before) in ("in", "into", "for", "make", "makes", "per")
        is_known = kind in ("spoon", "cap") and not worth
        self.measures.append(
            Measured(number, name, kind, Decimal(0) if is_known else worth, (start, end), is_into)
        )
        per = end + (self.word(end) in ("to", "in", "into", "for"))
        if self.word(end) in ("/", "per") or (
            self.word(per) in ("a", "the", "each", "every") and self._unit(per + 1)
        ):
            return self._per(per if self._unit(per + 1) else end, start)
        return end

    def _weighed(self, kind: str, at: int) -> int | None:
        """What a spoon weighs or a cap holds, where that follows; the token after it, None where it does not."""
        number = self._number(at)
        unit = None if number is None else self._unit(number[1])
        if number is None or unit is None:
            return None
        if kind == "spoon" and unit[1] == "mass" and unit[0] == "g":
            self.said.spoon_g = number[0]
        elif kind == "cap" and unit[0] == "ml":
            self.said.cap_ml = number[0]
        else:
            return None
        return unit[3]

    def _per(self, at: int, start: int) -> int:
        """The water after "per": "per gallon", "/ 10 L", "per can"."""
        number = self._number(at + 1) or (Decimal(1), at + 1)
        can = number[1] + (self.word(number[1]) == "watering")
        is_can = self.word(can) in CANS
        unit = ("can", "can", Decimal(0), can + 1) if is_can else self._unit(number[1])
        if unit is None or unit[1] not in ("volume", "can") or not number[0]:
            last = at + 1 if unit is None or number[0] else unit[3]
            raise self.refuse(
                say("'{typed}' does not say into how much water", typed=self.typed(start, last)),
                start,
                last,
                f"{self.typed(start, at)} per 10 L",
            )
        water = Measured(number[0], unit[0], unit[1], unit[2], (at, unit[3]), True)
        self.measures[-1] = self.measures[-1]._replace(per=water, tokens=(start, unit[3]))
        return unit[3]

    def _no_unit(self, number: Decimal, after: int, start: int) -> int:
        """A number that stands alone: refused, with the likeliest unit."""
        text = self.word(after)
        typed = self.typed(start, after)
        if text in ("-", "/") and self.kind(after + 1) == "number":
            wrong = self.typed(start, after + 2)
            raise self.refuse(
                say("'{typed}' is not a grade, which has three numbers", typed=wrong),
                start,
                after + 2,
                "24-8-16",
            )
        if text in ("heaped", "heaping", "rounded"):
            problem = say("'{typed}' is no measure; level it off", typed=self.typed(start, after + 2))
            raise self.refuse(problem, after, after + 1, "level")
        if text in REFUSED:
            problem, instead = REFUSED[text].partition(";")[0], "5 ml" if "ml" in REFUSED[text] else ""
            raise self.refuse(f"'{self.typed(start, after + 1)}': {problem}", start, after + 1, instead)
        if text in UNITS:
            raise self.refuse(
                say(
                    "'{typed}' is a {kind}, which a can does not ask for",
                    typed=self.typed(start, after + 1),
                    kind=UNITS[text].kind,
                ),
                start,
                after + 1,
                "",
            )
        unit = "ppm" if number >= 25 and "strength" not in self.first else "L"
        raise self.refuse(say("'{typed}' has no unit", typed=typed), start, after, f"{typed} {unit}")

    # --- Words ------------------------------------------------------------------------------------------------

    def _words(self, at: int) -> int:
        """Reads words that follow no number."""
        text = self.word(at)
        if (end := self._product(at)) is not None:
            return end
        if (
            text in ("ec", "can", "cans", "ppm", "density", "spoon", "spoonful", "weighs")
            and self.kind(at + 1) == "number"
        ):
            return self._before_number(at)
        if text in CAPS and (end := self._weighed("cap", at + 1)) is not None:
            return end
        if text in ONE_OF:
            unit = self._unit(at)
            assert unit is not None
            return self._measure(Decimal(1), unit, at)
        if text in SHARES or (text in ("two", "three") and self.word(at + 1) in ("thirds", "quarters")):
            return self._share_in_words(at)
        if self.kind(at) == "share":
            return self._label_share(self._share(at), at, at + 1)
        if text in ("label", "label's"):
            self.is_label = True
            self.first.setdefault("label", (at, at + 1))
            return at + 1
        if text in ("recommended", "normal", "standard", "usual") and self._is_of_label(at + 1):
            return self._label_share(Decimal(1), at, at + 1)
        if text in ("by", "w") and (end := self._basis(at)) is not None:
            return end
        if text in ("elemental", "elements") and self.word(at - 1) != "trace":
            self.said.is_elemental = True
            return at + 1
        self.said.is_liquid = self.said.is_liquid or text == "liquid"
        self.said.is_powder = self.said.is_powder or text in ("powder", "soluble", "heaped")
        if text in FILLERS or text in PLACES or text in CANS or text in NUMBERS or text == "oxide":
            return at + 1
        if text in ("n", "nitrogen"):
            return at + 1
        raise UnknownWord(self.text[self.tokens[at].start :].split()[0] if text.isalnum() else text)

    def _before_number(self, at: int) -> int:
        """A word whose number follows it: "EC 1.2", "can 10", "ppm 100", "density 1.15", "spoon 5.5 g"."""
        text = self.word(at)
        number = self._number(at + 1)
        assert number is not None
        value, end = number
        if text == "ec":
            return self._ec(value, at, self._ec_unit(end) or end)
        if text == "density":
            return self._density(
                value, at, self._end_of_per_litre(end + 1) if self.word(end) == "kg" else end
            )
        if text == "ppm":
            self._nutrient("N", value, at, end)
            return end
        if text in ("spoon", "spoonful", "weighs"):
            self.said.spoon_g = value
            return end + 1 if self.word(end) in ("g", "gram", "grams") else end
        unit = self._unit(end)
        if unit is not None and unit[1] == "volume":
            return self._measure(value, unit, at + 1)
        if unit is not None or self.kind(end) in ("word", "sign"):  # "into the can 100 ppm"
            return at + 1
        self.measures.append(Measured(value, "L", "volume", Decimal(1), (at, end), True))
        return end

    def _basis(self, at: int) -> int | None:
        """The token after "by volume", "w/v", "by weight" or "w/w"; None where it is none of these."""
        end = at + (3 if self.word(at) == "w" else 2)
        last = self.word(end - 1)
        if last not in ("volume", "v", "weight", "w"):
            return None
        if last in ("volume", "v"):
            self.said.is_by_volume = self.said.is_liquid = True
        return end

    def _product(self, at: int) -> int | None:
        """A product by the name people say, the longest that fits; the token after it, None where there is none."""
        for length in range(LONGEST_NAME, 0, -1):
            if at + length > len(self.tokens) or any(self.kind(at + i) != "word" for i in range(length)):
                continue
            name = spelled(" ".join(self.word(at + i) for i in range(length)))
            if name in LAID_FEEDS:
                raise self.refuse(
                    say("{name} is laid on the pot, not mixed into water", name=name),
                    at,
                    at + length,
                    "20-20-20",
                )
            if name in SOLD:
                self.once("product", at, at + length)
                self.said.name = name
                return at + length
            if name in LIQUID_FEEDS:
                self.said.name, self.said.is_liquid = self.said.name or name, True
                return at + length
        return None

    # --- Which measure is what --------------------------------------------------------------------------------

    def _place_measures(self) -> None:
        """Sorts the measures into product and feed, or into the label's rate."""
        said, found = self.said, [m for m in self.measures if m.per is None]
        rates = [m for m in self.measures if m.per is not None]
        waters = [m for m in found if m.kind == "volume" and (m.is_into or m.name in FEED)]
        rest = [m for m in found if m not in waters]
        if not waters and said.cans is None and (rates or (said.strength is not None and not self.is_label)):
            waters = [m for m in rest if m.kind == "volume" and m.name in TINY][:1]
            rest = [m for m in rest if m not in waters]
        if len(waters) == 2 and not rest and waters[0].is_into != waters[1].is_into:
            rest = [m for m in waters if not m.is_into]
            waters = [m for m in waters if m.is_into]
        if len(waters) < 2 and len(rest) == 2 and any(m.name in TINY for m in rest):
            rest.sort(key=lambda m: (m.name in TINY, m.total))
            waters, rest = [*waters, rest[1]], rest[:1]
        if self.is_label:
            if rates:
                rate = rates.pop(0)
                assert rate.per is not None
                said.label = (rate, rate.per)
            elif rest and waters:
                said.label = (rest.pop(0), waters.pop(0))
            said.strength = said.strength or LabelShare(Decimal(1))
        rest = [*rates, *rest]
        for what, measures in (("volume", waters), ("amount", rest)):
            for measure in measures:
                self.once(what, *measure.tokens)
        said.water = waters[0] if waters else None
        said.amount = rest[0] if rest else None
        if said.cap_ml is not None and not rest and said.strength is None:
            said.amount = Measured(Decimal(1), "cap", "cap", Decimal(0), (0, 0))
        self._one_follows()
        self._say_taken()

    def _one_follows(self) -> None:
        """Raises DoseError where strength, product and feed are all three told: the third follows from two."""
        said = self.said
        if said.amount is None or said.strength is None:
            return
        is_told = said.water or said.amount.per or said.cans is not None
        if not is_told and not isinstance(said.strength, LabelShare):
            return
        strength = self.first.get("strength") or (said.label[0].tokens if said.label else self.first["label"])
        one, other = self.typed(*strength), self.typed(*said.amount.tokens)
        raise self.refuse(
            say("'{one}' and '{other}': the one follows from the other; leave one out", one=one, other=other),
            *said.amount.tokens,
            "",
        )

    def _say_taken(self) -> None:
        """Notes which gallon or spoon was taken, where two could be meant."""
        amount = self.said.amount
        for measure in (self.said.water, amount, amount and amount.per, *(self.said.label or ())):
            if measure is None:
                continue
            typed = self.typed(*measure.tokens)
            if measure.name in _TAKEN and not any(place in typed.split() for place in PLACES):
                self.said.taken.append(measure.name)


_TAKEN = frozenset(
    unit.name
    for word, unit in UNITS.items()
    if word.split(" ")[-1] in SPOONS or word.split(" ", 1)[-1] in LARGE
)

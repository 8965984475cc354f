"""The pieces of what is typed at the sink: tokens, numbers, units, and how a refusal shows what to type instead."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from decimal import Decimal
from shlex import quote
from typing import NamedTuple

from feedplan.dose.measures import (
    CUP,
    FLUID_OUNCE,
    GALLON,
    PINT,
    QUART,
    TABLESPOON,
    TEASPOON,
    UNITS,
    Unit,
    in_figures,
    unit_called,
)
from feedplan.dose.names import spelled
from feedplan.dose.strength import EcTarget, NutrientTarget, Strength
from feedplan.errors import DoseError
from feedplan.words.language import say

METRIC, US, IMPERIAL = "metric", "us", "imperial"
MEASURES = (METRIC, US, IMPERIAL)
"""Whose gallons, ounces and spoons are meant."""

_N = r"(?:\d+(?:\.\d+)?|\.\d+)"
_TOKEN = re.compile(
    rf"(?P<grade>{_N} ?([-/]) ?{_N} ?\2 ?{_N}(?![\d/])|{_N}:{_N}:{_N}(?: ?\({_N}\))?)"
    r"|(?P<comma>\d+,\d+)"
    rf"|(?P<ratio>1 ?: ?{_N})"
    r"|(?P<share>\d{1,3} ?/ ?\d{1,3})"
    rf"|(?P<number>{_N})"
    r"|(?P<name>[^\W\d_][\w'&.]*(?:[-_][\w'&.]+)+)"
    r"|(?P<word>(?:p2o5|k2o|kno3|k2so4|kh2po4|mgso4)(?!\w)|[°º] ?[cf](?!\w)|[^\W\d_]+(?:'s)?)"
    r"|(?P<sign>[^\s.])"
)
LONGEST_NUMBER = 12

NUMBERS = {
    word: Decimal(number)
    for word, number in (("a", 1), ("an", 1), ("one", 1), ("two", 2), ("three", 3), ("four", 4), ("five", 5))
}
SHARES = {
    "full": Decimal(1),
    "half": Decimal(1) / 2,
    "third": Decimal(1) / 3,
    "quarter": Decimal(1) / 4,
    "double": Decimal(2),
    "twice": Decimal(2),
}
PLACES = {
    "us": US,
    "usa": US,
    "american": US,
    "imperial": IMPERIAL,
    "imp": IMPERIAL,
    "uk": IMPERIAL,
    "british": IMPERIAL,
    "metric": METRIC,
}
OF_THE_PLACE = (*GALLON, *QUART, *PINT, *FLUID_OUNCE, *TEASPOON, *TABLESPOON, *CUP)
_OF_AMERICA = frozenset((*GALLON, *QUART, *PINT, "floz", "fl", "fluid"))
LARGE = frozenset((*GALLON, *QUART, *PINT, *FLUID_OUNCE, *CUP))
SPOONS = frozenset((*TEASPOON, *TABLESPOON))
OWN_SPOON = frozenset({"spoon", "spoons", "spoonful", "spoonfuls", "scoop", "scoops"})
CAPS = frozenset({"cap", "caps", "capful", "capfuls"})
CANS = frozenset({"can", "cans", "canful", "canfuls"})
ONE_OF = frozenset(
    "cap caps capful tsp teaspoon tbsp tablespoon spoonful scoop gallon quart pint".split()  # noqa: SIM905 - shorter
)
"""Measures that stand for one of themselves where no number is before them."""
TINY = frozenset({"ml", "cl", "dl", "US fl oz", "imperial fl oz", "US cup", "metric cup"})
"""Volumes that may be product or feed."""
FEED = frozenset({"L", "US gal", "US quart", "US pint", "imperial gal", "imperial quart", "imperial pint"})
"""Volumes that are feed unless they are put into something."""
NUTRIENTS = {
    name.lower(): name
    for name in ("N", "P", "K", "Ca", "Mg", "S", "Fe", "Mn", "Zn", "Cu", "B", "Mo", "P2O5", "K2O")
}
NUTRIENTS |= {
    "nitrogen": "N",
    "phosphorus": "P",
    "potassium": "K",
    "magnesium": "Mg",
    "calcium": "Ca",
    "iron": "Fe",
    "manganese": "Mn",
    "zinc": "Zn",
    "copper": "Cu",
    "boron": "B",
    "molybdenum": "Mo",
}
CHELATED = ("chelate", "chelated", "sequestered", "eddha", "edta", "dtpa", "hbed")
"""What is said of a product beside the nutrient it holds."""
FILLERS = frozenset(
    """of in into at as for with to the and on make makes making my use using mix mixed water watering feed feeds
    fertiliser fertilizer fertilisers fertilizers powder soluble solution liquid strength rate dose npk n-p-k grade
    injector injectors proportioner dilution stock level heaped each please about bucket te trace elements ppm-n bottle
    every per week weekly daily fortnightly day once + , ; : = ? @ " """.split()  # noqa: SIM905 - a list of them fills a page
)


class Token(NamedTuple):
    """One piece of what was typed. kind: of the pattern above; start, end: where it stands in the text."""

    kind: str
    text: str
    start: int
    end: int


class Measured(NamedTuple):
    """An amount as typed. name: of its unit; kind: "mass", "volume", "spoon" or "cap"; worth: of one unit [g or L].

    tokens: the first of them and the one after its last. is_into: "in" or "into" stands before it. per: the feed that
    each such amount goes into, where "per" or a slash follows.
    """

    number: Decimal
    name: str
    kind: str
    worth: Decimal
    tokens: tuple[int, int]
    is_into: bool = False
    per: Measured | None = None

    @property
    def total(self) -> Decimal:
        """All of it [g or L]."""
        return self.number * self.worth


class SinkWords:
    """What the words say; None where they say nothing.

    grade, name, feed: of the product: its label's numbers, what people call it (of SOLD or LIQUID_FEEDS), its name in
    the collection. amount, water: product and feed. cans: so many of the can one has. spoon_g, cap_ml: what a spoon
    weighs and a cap holds. ratio: 1 part in so many. label: what its rate puts into how much water. measures: of the
    place. taken: units that could mean two things.
    """

    def __init__(self) -> None:
        self.grade: str | None = None
        self.name: str | None = None
        self.feed: str | None = None
        self.strength: Strength | NutrientTarget | EcTarget | None = None
        self.amount: Measured | None = None
        self.water: Measured | None = None
        self.cans: Decimal | None = None
        self.ratio: Decimal | None = None
        self.label: tuple[Measured, Measured] | None = None
        self.density: Decimal | None = None
        self.spoon_g: Decimal | None = None
        self.cap_ml: Decimal | None = None
        self.at_c: Decimal | None = None
        self.at_is_f = False
        self.is_by_volume = False
        self.is_liquid = False
        self.is_powder = False
        self.is_elemental = False
        self.measures: str | None = None
        self.taken: list[str] = []

    @property
    def is_named(self) -> bool:
        """Whether a product is told."""
        return bool(self.grade or self.name or self.feed)


def measures_of(said: SinkWords) -> str:
    """Whose measures the answer is told in: those of the place, of a gallon that was typed, else metric."""
    if said.measures is not None:
        return said.measures
    names: Mapping[str, str] = {"US": US, "imperial": IMPERIAL}
    for measure in (said.water, said.amount, said.amount and said.amount.per):
        if measure is not None and (place := names.get(measure.name.partition(" ")[0])):
            return place
    return METRIC


def retyped(words: str, options: str) -> str:
    """The command to type: words and options."""
    plain = " ".join(quote(word) for word in words.split())
    return " ".join(part for part in ("feedplan dose", plain, options) if part)


def _of_the_place(phrase: str, place: str | None) -> Unit:
    """The unit of a place: metric spoons and cups but in the US, gallons of the US if not told."""
    return unit_called(phrase, place) or UNITS.get(f"metric {phrase}") or UNITS[f"us {phrase}"]


class TokenReader:
    """Tokens with what may be asked of them; each kind of word is read by a class built on it."""

    def __init__(self, text: str, feeds: Collection[str], measures: str | None, options: str) -> None:
        self.text = in_figures(text)
        self.options = options
        self.said = SinkWords()
        self.measures: list[Measured] = []
        self.is_label = False
        self.tokens = list(self._tokens(feeds))
        self.first: dict[str, tuple[int, int]] = {}
        self.said.measures = measures or self._place()

    def _tokens(self, feeds: Collection[str]) -> list[Token]:
        """The pieces of the text, names of the collection whole."""
        found, at, low = [], 0, self.text.lower()
        names = sorted(((spelled(name), name) for name in feeds), key=lambda pair: -len(pair[0]))
        while at < len(low):
            name = next((n for n in names if self._stands(n[0], low, at)), None)
            if name is not None:
                found.append(Token("feed", name[1], at, at + len(name[0])))
                at += len(name[0])
                continue
            match = _TOKEN.match(low, at)
            if match is None or match[0] in "()":
                at += 1
                continue
            kind, at = str(match.lastgroup), match.end()
            pieces = re.split("[-_]", match[0]) if kind == "name" else []
            if pieces and all(piece.isalpha() for piece in pieces) and match[0] not in FILLERS:
                start = match.start()
                for piece in pieces:
                    found.append(Token("word", piece, start, start + len(piece)))
                    start += len(piece) + 1
            else:
                found.append(Token(kind, match[0], match.start(), match.end()))
        return found

    @staticmethod
    def _stands(name: str, text: str, at: int) -> bool:
        """Whether a name stands there as a word of its own."""
        end = at + len(name)
        return (
            bool(name)
            and text.startswith(name, at)
            and (at == 0 or text[at - 1].isspace())
            and (end == len(text) or text[end].isspace() or text[end] in ",;")
        )

    def _place(self) -> str | None:
        """Whose measures are meant, as far as the words tell."""
        for at, token in enumerate(self.tokens):
            if token.text in PLACES and self.word(at + 1) != "/":  # "us/cm" is a conductivity
                return PLACES[token.text]
        return US if any(token.text in _OF_AMERICA for token in self.tokens) else None

    # --- Refusing ---------------------------------------------------------------------------------------------

    def refuse(self, problem: str, first: int, last: int, instead: str) -> DoseError:
        """A refusal, with what was typed but for some tokens, which are written as they should be."""
        start, end = self.tokens[first].start, self.tokens[last - 1].end
        return DoseError(
            say(
                "{problem}; type: {command}",
                problem=problem,
                command=retyped(f"{self.text[:start]} {instead} {self.text[end:]}", self.options),
            )
        )

    def typed(self, first: int, last: int) -> str:
        """Some tokens as they were typed."""
        return self.text[self.tokens[first].start : self.tokens[last - 1].end]

    def once(self, what: str, first: int, last: int) -> None:
        """Raises DoseError for what was said before."""
        if what in self.first:
            before = self.typed(*self.first[what])
            raise self.refuse(
                say("'{one}' and '{other}' are two; give one", one=before, other=self.typed(first, last)),
                first,
                last,
                "",
            )
        self.first[what] = (first, last)

    # --- Numbers and units ------------------------------------------------------------------------------------

    def word(self, at: int) -> str:
        """The text of a token, empty beyond the last."""
        return self.tokens[at].text if 0 <= at < len(self.tokens) else ""

    def kind(self, at: int) -> str:
        """The kind of a token, empty beyond the last."""
        return self.tokens[at].kind if at < len(self.tokens) else ""

    def _number(self, at: int) -> tuple[Decimal, int] | None:
        """A number and the token after it: "2", "1 1/2", "1/2 tsp", "a", "half a"; None when there is none."""
        kind, text = self.kind(at), self.word(at)
        if kind == "number":
            if len(text) > LONGEST_NUMBER:
                raise self.refuse(say("'{typed}' is too long a number", typed=text), at, at + 1, "10")
            if self.kind(at + 1) == "share" and not self._is_of_label(at + 2):
                return Decimal(text) + self._share(at + 1), at + 2
            return Decimal(text), at + 1
        if kind == "share" and self._unit(at + 1) is not None:
            return self._share(at), at + 1
        if text in SHARES or text in NUMBERS:
            after = at + 1
            while self.word(after) in ("a", "an", "of"):
                after += 1
            if self._unit(after) is not None:
                return SHARES.get(text, NUMBERS.get(text, Decimal(1))), after
        return None

    def _share(self, at: int) -> Decimal:
        top, bottom = (Decimal(part.strip()) for part in self.word(at).split("/"))
        if not bottom:
            raise self.refuse(say("'{typed}' is no fraction", typed=self.word(at)), at, at + 1, "1/2")
        return top / bottom

    def _is_of_label(self, at: int) -> bool:
        while self.word(at) in ("of", "the", "a"):
            at += 1
        return self.word(at) in ("label", "label's", "strength", "rate", "dose")

    def _unit(self, at: int) -> tuple[str, str, Decimal, int] | None:
        """A unit of product or feed: its name, kind, worth [g or L] and the token after it; None for none."""
        for length in (4, 3, 2, 1):
            words = [self.word(at + i) for i in range(length)]
            if not all(words):
                continue
            phrase, place = " ".join(words), self.said.measures
            prefix = PLACES.get(words[0])
            if prefix is not None and length > 1:
                phrase, place = " ".join(words[1:]), prefix
            if phrase in OF_THE_PLACE:
                unit = _of_the_place(phrase, place)
                return unit.name, "spoon" if phrase in SPOONS else unit.kind, unit.worth, at + length
            unit_known = UNITS.get(phrase)
            if unit_known is not None and unit_known.kind in ("mass", "volume"):
                is_spoon = phrase.split(" ")[-1] in SPOONS
                return (
                    unit_known.name,
                    "spoon" if is_spoon else unit_known.kind,
                    unit_known.worth,
                    at + length,
                )
        if self.word(at) in OWN_SPOON:
            return "spoon", "spoon", Decimal(0), at + 1
        if self.word(at) in CAPS:
            return "cap", "cap", Decimal(0), at + 1
        return None

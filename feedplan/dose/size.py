"""The inside of a container from its measures: across, wide and deep."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal

from feedplan.dose.measures import NUMBER, REFUSED, UNITS, parse_length, quoted, tidy

_PI = Decimal("3.141592653589793")


@dataclass(frozen=True, slots=True)
class Size:
    """The inside of a container: its shape, "rectangular", "oval" or "round", and its measures [cm]."""

    shape: str
    length_cm: Decimal
    width_cm: Decimal
    depth_cm: Decimal

    @property
    def area_cm2(self) -> Decimal:
        """Open surface [cm²]."""
        box = self.length_cm * self.width_cm
        return box if self.shape == "rectangular" else box * _PI / 4

    @property
    def litres(self) -> Decimal:
        """Content to the rim with upright walls [L]."""
        return self.area_cm2 * self.depth_cm / 1000


_SIZES = {
    "rectangular": "30 x 22 x 7 cm",
    "square": "25 x 25 x 7 cm",
    "oval": "oval 30 x 22 x 7 cm",
    "round": "round 25 x 9 cm",
}
_TIMES = re.compile(r" ?(?:\*|(?<=[0-9a-z\"]) by (?=[0-9])) ?")
_WORD = re.compile(r"[^\W\d_]+(?:-[^\W\d_]+)*\.?")
_SHAPES = {
    word: shape
    for shape, words in {
        "round": "round circular circle ø diameter diam dia cylinder cylindrical drum lotus colander hexagonal "
        "octagonal",
        "oval": "oval elliptical ellipse crescent kidney half-moon mokko lobed freeform",
        "square": "square",
        "rectangular": "rectangular rectangle oblong",
    }.items()
    for word in words.split()
}
_DEPTH = frozenset("deep high tall depth height".split())  # noqa: SIM905 - shorter
_PASSED_OVER = frozenset(
    """pot pots container containers tub tubs tray trays box boxes slab slabs crate crates basket baskets bowl bowls
    bucket buckets planter planters bag bags trough troughs vessel nursery grow growing training plastic clay terracotta
    ceramic mica wood wooden bonsai pond seed cell plug air-pruning air pruning fabric mesh stone glazed unglazed flat
    shallow long wide across inside a an shaped cascade semi-cascade tapered rock antique old new""".split()  # noqa: SIM905 - a list of them fills a page
)
_OF_UNITS = frozenset(piece for name in (*UNITS, *REFUSED) for piece in name.split()) | {"x", "by"}


def measures_and_shape(text: str) -> tuple[str, str]:
    """The measures of a container, and its shape where a word tells it; words that say nothing of its size left out.

    Raises ValueError for a word that is not known where the rest reads well without it.
    """
    clean = tidy(text).replace("\u2300", " ø ")
    words = [found for found in _WORD.finditer(clean) if not _is_measure(found[0])]
    told = [found[0].lower().rstrip(".") for found in words]
    deep = next((found for found, word in zip(words, told, strict=True) if word in _DEPTH), None)
    measures = _without(words, clean)
    if deep is not None and re.search(
        r"[0-9a-z\"] ?x ?[0-9]", _without(words, clean[deep.end() :], deep.end())
    ):
        raise ValueError(
            f"{quoted(text)} has its depth first; write it last, such as {_SIZES['rectangular']}"
        )
    if told and ("ø" in told or "diameter" in told or deep is not None):
        measures = re.sub(r"(?<=[a-wyz\"]) ?,? ?(?=[0-9])", " x ", measures)
    unknown = next((word for word in told if word not in _SHAPES.keys() | _PASSED_OVER | _DEPTH), None)
    shape = next((_SHAPES[word] for word in told if word in _SHAPES), "")
    if unknown is not None and measures[:1].isdigit():
        raise ValueError(
            f"{quoted(text)}: '{unknown}' says nothing of a pot's size; write {f'{shape} {measures}'.strip()}"
        )
    return (measures, shape) if measures and unknown is None else (clean, "")


def _is_measure(word: str) -> bool:
    """Whether a word is a unit, or the sign between two measures, or both run together as in "10cmx20cm"."""
    low = word.lower().rstrip(".")
    return bool({low, low.removeprefix("x"), low.removesuffix("x")} & _OF_UNITS)


def _without(words: list[re.Match[str]], text: str, start: int = 0) -> str:
    """A text, or its end from a place on, without some words of it."""
    for found in reversed(words):
        if found.start() >= start:
            text = f"{text[: found.start() - start]} {text[found.end() - start :]}"
    return tidy(text).strip(" ,")


def parse_size(text: str) -> Size:
    """A container's size: "30 x 22 x 7 cm", "oval 30 x 22 x 7 cm" or "round 25 x 9 cm" (across x deep).

    The unit stands after the last number or after each. Six and eight sides count as round, three measures of a round
    one as an oval's. Raises ValueError, also for a measure of zero.
    """
    measures, shape = measures_and_shape(text)
    if re.search("[0-9],[0-9]", measures):
        point = re.sub("(?<=[0-9]),(?=[0-9])", ".", f"{shape} {measures}".strip())
        raise ValueError(f"{quoted(text)} has a comma; decimals have a point: write {point}")
    shape = shape or "rectangular"
    parts = [part.strip() for part in as_size(measures).lower().split("x")]
    if shape == "round" and len(parts) == 3:
        shape = "oval"
    if shape == "square" and len(parts) == 2:
        parts.insert(0, parts[0])
    if len(parts) == 2 and shape == "rectangular":
        raise ValueError(f"{quoted(text)} has two measures; if it is round, write round {' x '.join(parts)}")
    if len(parts) != (2 if shape == "round" else 3):
        raise ValueError(f"{quoted(text)} is not a size; write for example {_SIZES[shape]}")
    lengths = [parse_length(part) for part in _with_units(parts, text)]
    if not all(lengths):
        raise ValueError(f"{quoted(text)} has a measure of zero; write for example {_SIZES[shape]}")
    outline = "rectangular" if shape == "square" else shape
    return Size(outline, lengths[0], lengths[0] if shape == "round" else lengths[1], lengths[-1])


def as_size(text: str) -> str:
    """A size with the sign x between its measures, also where * or "by" stands there, or slashes in all places."""
    clean = _TIMES.sub(" x ", tidy(text))
    return clean.replace("/", " x ") if re.match(rf"{NUMBER} ?/ ?{NUMBER} ?/ ?{NUMBER}", clean) else clean


def _with_units(parts: list[str], text: str) -> list[str]:
    """The measures of a size, each with its unit; a unit on the last alone goes for all."""
    bare = [re.fullmatch(NUMBER, part) is not None for part in parts]
    if all(bare):
        raise ValueError(f"{quoted(text)} has no unit; write the unit: {' x '.join(parts)} cm")
    if not any(bare):
        return parts
    if bare[-1] or not all(bare[:-1]):
        units = {part.lstrip("0123456789. ") for part in parts} - {""}
        numbers = " x ".join(part.rstrip('abcdefghijklmnopqrstuvwxyz" ') for part in parts)
        instead = f"{numbers} {units.pop()}" if len(units) == 1 else "for example 30 x 22 x 7 cm"
        raise ValueError(f"{quoted(text)} has a unit on some measures only; write {instead}")
    unit = parts[-1].lstrip("0123456789. ")
    return [f"{part} {unit}" for part in parts[:-1]] + [parts[-1]]

"""What a substrate holds in a pot of a given depth: water, air, and how much of the water a tree can draw.

A drained pot is wettest at its floor: at each height the substrate holds what its moisture retention curve gives at
that suction (1 cm of height is 1 cm of water), so a shallow pot holds more water and less air per litre than a deep
one. The curve is van Genuchten's [1]; the mean over the pot's height is its container capacity, as [2] has it.

How well this is known: for pine bark and peat the porosity and the water held by a 7.6 cm laboratory core are
published [3]. For akadama, pumice, lava and the other grains no standard measurement was found (EN 13041 leaves such
coarse material out); their values are ranges from memory or judgement, marked so. How fast capacity falls with height
is published only as a change between two heights ([4], [5]); the curves of bark agree with those within their spread,
and no published curve of a grain mix was found to test against.

[1] van Genuchten, "A closed-form equation for predicting the hydraulic conductivity of unsaturated soils", Soil
    Science Society of America Journal 44, 1980, pp. 892-898, Eq. 3 with m = 1 - 1/n.
[2] Milks, Fonteno, Larson, "Hydrology of horticultural substrates: II. Predicting physical properties of media in
    containers", Journal of the American Society for Horticultural Science 114, 1989, pp. 53-56 (abstract read).
[3] International Journal of Agronomy 2012, 978528, Table 1 (7.6 cm cores).
[4] Owen, Altland, HortScience 43, 2008, pp. 505-508 (abstract read).
[5] Journal of Environmental Horticulture 5(4), 1987, p. 180 (abstract read).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from difflib import get_close_matches
from enum import StrEnum
from functools import lru_cache
from operator import mul

from feedplan.errors import FeedplanError

CORE_HEIGHT_CM = 7.6
"""Height of the laboratory core in which container capacity is measured by the trade ([3], [4])."""
_PANELS = 100


class Evidence(StrEnum):
    """How a default value is known."""

    PUBLISHED = "published"
    MEMORY = "from memory"
    JUDGEMENT = "judgement"
    WEIGHED = "weighed"


@dataclass(frozen=True, slots=True)
class Retention:
    """A moisture retention curve ([1]). saturated, residual: water content [L/L]; alpha_per_cm: [1/cm]; n: above 1."""

    saturated: float
    residual: float
    alpha_per_cm: float
    n: float

    def __post_init__(self) -> None:
        if not (0 <= self.residual < self.saturated <= 1 and self.alpha_per_cm > 0 and self.n > 1):
            raise ValueError(
                f"{self} is no curve; residual below saturated, both shares, alpha above 0, n above 1"
            )

    def water_at_each(self, suctions_cm: Iterable[float]) -> list[float]:
        """Water content at each of some suctions [L/L]. suctions_cm: [cm of water], 0 for saturated."""
        alpha, n, power = self.alpha_per_cm, self.n, 1 / self.n - 1
        residual, span = self.residual, self.saturated - self.residual
        return [residual + span * float((1 + (alpha * suction) ** n) ** power) for suction in suctions_cm]


@lru_cache(maxsize=1024)
def container_capacity(curve: Retention, height_cm: float, taper: float = 1.0) -> float:
    """Water held by a pot that has drained, as a share of its volume ([2]) [L/L].

    height_cm: of the substrate [cm]; taper: width of the floor over that of the top, 1 for straight walls.
    Raises ValueError for a height or taper of 0 or less.
    """
    if height_cm <= 0 or taper <= 0:
        raise ValueError(f"height {height_cm} cm and taper {taper} must be above 0")
    return _mean_water(curve, height_cm, taper)


def _mean_water(curve: Retention, height_cm: float, taper: float) -> float:
    shares_of_height, volumes = _slices(taper)
    waters = curve.water_at_each([share * height_cm for share in shares_of_height])
    water: float = sum(map(mul, volumes, waters))
    return water / sum(volumes)


@lru_cache(maxsize=256)
def _slices(taper: float) -> tuple[list[float], list[float]]:
    """How high each slice of a pot lies, as a share of its height, and their volumes, on a scale of their own."""
    # Simpson's rule over u, height = u^2 x pot height: points crowd near the floor, where coarse grains turn dry.
    heights, volumes = [], []
    for point in range(_PANELS + 1):
        u = point / _PANELS
        weight = 1 if point in {0, _PANELS} else 4 if point % 2 else 2
        heights.append(u * u)
        volumes.append(weight * 2 * u * (taper + (1 - taper) * u * u) ** 2)
    return heights, volumes


@lru_cache(maxsize=256)
def curve_through(
    porosity: float, water: float, residual: float, n: float, height_cm: float = CORE_HEIGHT_CM
) -> Retention:
    """The retention curve of a substrate that holds `water` when a core of a height has drained.

    porosity, water, residual: shares of the volume [L/L]; n: steepness of the curve, about 1.5 for peat, 2 for bark,
    3 for sieved grains (judgement); height_cm: [cm]. Raises ValueError unless residual < water < porosity.
    """
    if not residual < water < porosity:
        raise ValueError(f"water {water} must lie between residual {residual} and porosity {porosity}")
    wet, dry = 1e-6, 1e4
    for _ in range(50):
        middle = (wet * dry) ** 0.5
        held = _mean_water(Retention(porosity, residual, middle, n), height_cm, 1.0)
        wet, dry = (middle, dry) if held > water else (wet, middle)
    return Retention(porosity, residual, (wet * dry) ** 0.5, n)


@dataclass(frozen=True, slots=True)
class Component:
    """One ingredient of a mix, as shares of its volume [L/L].

    porosity: all pores. core_water: held by a drained 7.6 cm core. residual: still held at the suctions of a deep
    drained pot. unavailable: water that counts as out of reach. n: steepness of the curve.
    known: how porosity and core_water are known; the other three are judgement throughout.
    """

    name: str
    porosity: float
    core_water: float
    residual: float
    unavailable: float
    n: float
    known: Evidence
    source: str

    @property
    def curve(self) -> Retention:
        """Its retention curve through the water of the core."""
        return curve_through(self.porosity, self.core_water, self.residual, self.n)


_NO_STANDARD = "middle of a range from memory; no standard measurement found"
_PEAT_LIMIT = "; unavailable set high: peat dried further is hard to wet again"

COMPONENTS: Mapping[str, Component] = {
    component.name: component
    for component in (
        Component("akadama", 0.75, 0.33, 0.25, 0.18, 3.0, Evidence.MEMORY, _NO_STANDARD),
        Component("kanuma", 0.80, 0.42, 0.32, 0.25, 3.0, Evidence.JUDGEMENT, "wetter than akadama"),
        Component("pumice", 0.72, 0.28, 0.22, 0.16, 3.0, Evidence.MEMORY, _NO_STANDARD + "; 2 to 8 mm"),
        Component("lava", 0.62, 0.18, 0.13, 0.10, 3.0, Evidence.MEMORY, _NO_STANDARD + "; 2 to 8 mm"),
        Component("perlite", 0.88, 0.35, 0.25, 0.20, 3.0, Evidence.MEMORY, _NO_STANDARD + "; coarse"),
        Component(
            "fired clay", 0.72, 0.40, 0.32, 0.25, 3.0, Evidence.JUDGEMENT, "between akadama and kanuma"
        ),
        Component("grit", 0.42, 0.10, 0.05, 0.04, 3.0, Evidence.JUDGEMENT, "solid grains hold only films"),
        Component("bark", 0.79, 0.48, 0.25, 0.28, 2.0, Evidence.PUBLISHED, "[3], pine bark"),
        Component(
            "peat", 0.98, 0.87, 0.20, 0.50, 1.6, Evidence.PUBLISHED, "[3], sphagnum peat" + _PEAT_LIMIT
        ),
        Component("coir", 0.94, 0.70, 0.20, 0.38, 1.8, Evidence.JUDGEMENT, "between bark and peat"),
    )
}

NAMED_MIXES: Mapping[str, str] = {
    "mineral": "2 akadama, 1 pumice, 1 lava",
    "mineral and organic": "2 akadama, 1 pumice, 1 bark",
    "peaty": "3 peat, 2 perlite",
}
"""Recipes (judgement) whose available water in a 7.6 cm core lies in the ranges that growers' practice gives, from
memory: coarse mineral 10 to 15 % of the volume, mineral with organic 15 to 20 %, peaty 25 to 30 %."""


@dataclass(frozen=True, slots=True)
class SubstrateMix:
    """A substrate of components by volume; shares add up to 1.

    Components are taken to keep their own pores when mixed; fines that fill the gaps of coarse grains make a real mix
    denser and wetter than this, so sieve, or weigh your own. weighed: what a grower found it to hold against what its
    parts let expect at that depth, None when it was not weighed.
    """

    parts: tuple[tuple[Component, float], ...]
    weighed: float | None = None

    @property
    def least_known(self) -> Evidence:
        """How the least well known of its components is known; what was weighed is known best."""
        if self.weighed is not None:
            return Evidence.WEIGHED
        order = list(Evidence)
        return max((component.known for component, _ in self.parts), key=order.index)

    def water(self, depth_cm: float, taper: float = 1.0) -> float:
        """Water held once drained, as a share of the volume [L/L]. depth_cm: of the substrate [cm]."""
        held = sum(share * container_capacity(part.curve, depth_cm, taper) for part, share in self.parts)
        return held * (self.weighed or 1.0)

    def available(self, depth_cm: float, taper: float = 1.0) -> float:
        """Water that a tree can draw after draining, as a share of the volume [L/L]. depth_cm: [cm]."""
        out_of_reach = sum(share * component.unavailable for component, share in self.parts)
        return max(0.0, self.water(depth_cm, taper) - out_of_reach * (self.weighed or 1.0))


def read_mix(text: str) -> SubstrateMix:
    """The mix that a grower's words name: a named mix, one component, or parts such as "2 akadama, 1 pumice".

    Parts may be told in percent too, before or after their name, and parted by "and" or a plus sign.

    With ", weighed 28 % at 12 cm" after it, what it holds is known: the weight of a pot of that depth once it has
    drained, less its weight bone dry, in grams for each millilitre of the pot.

    Raises FeedplanError with what to write instead.
    """
    words = " ".join(text.casefold().split())
    if match := _WEIGHED.fullmatch(words):
        return _weighed(read_mix(match[1]), float(match[2]) / 100, float(match[3]))
    amounts = [_read_part(part) for part in _BETWEEN.split(NAMED_MIXES.get(words, words))]
    total = sum(amount for amount, _ in amounts)
    return SubstrateMix(tuple((component, amount / total) for amount, component in amounts))


_BETWEEN = re.compile(r" ?, ?(?:and )?| and | ?[&+] ?")
_PERCENT_LAST = re.compile(r"(.+?) ([0-9.]+ ?%)")
_WEIGHED = re.compile(r"(.*), weighed ([0-9]+(?:\.[0-9]+)?) ?% at ([0-9]+(?:\.[0-9]+)?) ?cm")


def _weighed(mix: SubstrateMix, share: float, depth_cm: float) -> SubstrateMix:
    """A mix that was weighed to hold a share of a pot of a depth [cm]. Raises FeedplanError for what no mix holds."""
    pores = sum(part.porosity * of_it for part, of_it in mix.parts)
    if not 0 < share < pores or not 1 <= depth_cm <= 100:
        raise FeedplanError(
            f"{share * 100:g} % of water at {depth_cm:g} cm is not possible: this mix has {pores * 100:.0f} % of "
            f"pores; weigh it drained and bone dry, and write (drained - dry) in g over the pot's ml: "
            "weighed 28 % at 12 cm"
        )
    return replace(mix, weighed=share / mix.water(depth_cm))


def _read_part(part: str) -> tuple[float, Component]:
    if last := _PERCENT_LAST.fullmatch(part):
        part = f"{last[2]} {last[1]}"
    amount, _, name = part.strip().replace(" %", "%").partition(" ")
    if not amount[:1].isdigit():
        amount, name = "1", part.strip()
    if name not in COMPONENTS:
        raise FeedplanError(f"no substrate is called '{name}'; {_did_you_mean(name)}")
    try:
        parts = float(amount.removesuffix("%"))
    except ValueError:
        parts = 0.0
    if not 0 < parts < 1e6:
        raise FeedplanError(f"'{part.strip()}' is no part of a mix; write a number and a name: 2 {name}")
    return parts, COMPONENTS[name]


def _did_you_mean(name: str) -> str:
    near = [each for each in get_close_matches(name, [*COMPONENTS, *NAMED_MIXES], n=1) if each[0] == name[:1]]
    return (
        f"did you mean '{near[0]}'?" if near else f"known ones are {', '.join([*NAMED_MIXES, *COMPONENTS])}"
    )

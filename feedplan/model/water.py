"""What decides thirst apart from pot and tree: bench and substrate; the waters poured, and when salt is flushed out."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from feedplan.model.source import BUILT_IN, Source
from feedplan.weather.substrate import NAMED_MIXES, SubstrateMix, read_mix


class Wind(StrEnum):
    """How a bench stands to the wind, against the open ground of a weather station."""

    SHELTERED = "sheltered"
    OPEN = "open"
    EXPOSED = "exposed"


@dataclass(frozen=True, slots=True)
class Bench:
    """A place where trees stand.

    shade: share of the sun kept off it [0-1]. under_cover: no rain reaches it. indoors: the weather does not count.
    """

    name: str
    shade: Decimal = Decimal(0)
    wind: Wind = Wind.OPEN
    under_cover: bool = False
    indoors: bool = False
    source: Source = BUILT_IN


OPEN_BENCH = Bench("")
"""What is taken when nothing is told of a bench: full sun, open to wind and rain. The thirstiest usual place."""


@dataclass(frozen=True, slots=True)
class Substrate:
    """What a pot is filled with. words: as the grower wrote it."""

    words: str
    mix: SubstrateMix


DEFAULT_SUBSTRATE = Substrate("mineral", read_mix(NAMED_MIXES["mineral"]))
"""What is taken when no mix is told: of the named ones the one that holds least, so that checks err to too many."""


@dataclass(frozen=True, slots=True)
class WaterSource:
    """A water to pour: tap, rain butt, well. Each quantity None where it is not known.

    ec_ms_per_cm: conductivity at 25 °C [mS/cm]. alkalinity_mg_per_l, hardness_mg_per_l: [mg/L CaCO3].
    calcium_mg_per_l, magnesium_mg_per_l, sodium_mg_per_l: [mg/L]. softened: by exchange of calcium for sodium.
    """

    name: str
    ec_ms_per_cm: float | None = None
    alkalinity_mg_per_l: float | None = None
    hardness_mg_per_l: float | None = None
    calcium_mg_per_l: float | None = None
    magnesium_mg_per_l: float | None = None
    sodium_mg_per_l: float | None = None
    softened: bool = False
    source: Source = BUILT_IN


@dataclass(frozen=True, slots=True)
class WaterUse:
    """The water a group gets: one source, or two blended to a target.

    shares: of the volume by name of source, adding up to 1. target: what the blend is for, in words ("alkalinity 60
    mg/L"), empty for one source.
    """

    shares: tuple[tuple[str, float], ...]
    target: str = ""
    source: Source = BUILT_IN


@dataclass(frozen=True, slots=True)
class FlushPace:
    """When pots are flushed with plain water: after so many feeds, or so many days of feeding; both None is never."""

    every_feeds: int | None = None
    every_days: int | None = None

"""A collection: place, habits, benches, substrates, waters, the feeds on the shelf, the groups and the trees."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, time
from decimal import Decimal
from enum import StrEnum

from feedplan.dose.arithmetic import Product
from feedplan.dose.grade import Ratio
from feedplan.dose.release import Curve
from feedplan.model.forms import Form
from feedplan.model.measures import USUAL_MEASURES, Measures
from feedplan.model.moment import DayOfYear, DaysOfYear, Hemisphere
from feedplan.model.schedule import Schedule
from feedplan.model.source import BUILT_IN, Source
from feedplan.model.stage import StageRule, Vocabulary
from feedplan.weather.substrate import NAMED_MIXES, SubstrateMix, read_mix


class Wind(StrEnum):
    """How a bench stands to the wind, against the open ground of a weather station."""

    SHELTERED = "sheltered"
    OPEN = "open"
    EXPOSED = "exposed"


class BenchKind(StrEnum):
    """What keeps a bench warmer than the open air."""

    OPEN = "open"
    WALL = "wall"
    FRAME = "frame"
    GLASS = "glass"


WARMER_BY_C = {BenchKind.OPEN: 0, BenchKind.WALL: 1, BenchKind.FRAME: 3, BenchKind.GLASS: 4}
"""How much warmer root zones are, on the mean of a day, at a wall that takes the sun, in a cold frame, under glass
without heat [°C]: judgement, none is published. `warmer_by` of a bench says better."""
COVER_WARMER_BY_C = 1
"""Likewise under a mere roof, which keeps off cold rain and the night sky [°C]: judgement."""


@dataclass(frozen=True, slots=True)
class Bench:
    """A place where trees stand.

    shade: share of the sun kept off it [0-1]. under_cover: no rain reaches it. indoors: the weather does not count.
    kind: what keeps it warmer than the open; warmer_by_c: by how much, None where it is not told [°C].
    """

    name: str
    shade: Decimal = Decimal(0)
    wind: Wind = Wind.OPEN
    under_cover: bool = False
    indoors: bool = False
    source: Source = BUILT_IN
    kind: BenchKind = BenchKind.OPEN
    warmer_by_c: Decimal | None = None

    @property
    def warmth_c(self) -> float:
        """How much warmer its root zones are than in the open, on the mean of a day [°C]."""
        if self.warmer_by_c is not None:
            return float(self.warmer_by_c)
        is_roof = self.under_cover and self.kind is BenchKind.OPEN
        return float(COVER_WARMER_BY_C if is_roof else WARMER_BY_C[self.kind])


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


@dataclass(frozen=True, slots=True)
class Place:
    """Where the trees stand. latitude: [degrees, north positive]; elevation_m: [m]; time_zone: IANA name."""

    name: str
    latitude: Decimal
    time_zone: str
    elevation_m: Decimal = Decimal(0)

    @property
    def hemisphere(self) -> Hemisphere:
        """The half of the globe; the equator counts as north."""
        return Hemisphere.SOUTH if self.latitude < 0 else Hemisphere.NORTH


class Unlogged(StrEnum):
    """What to make of a planned feed that nobody recorded."""

    GIVEN = "given"
    MISSED = "missed"


class ChecksBy(StrEnum):
    """What sets how often water is checked: the weather, where it is known, or always the schedule's table."""

    WEATHER = "weather"
    SCHEDULE = "schedule"


@dataclass(frozen=True, slots=True)
class Habits:
    """How the grower works.

    feed_on: weekdays kept for feeding (0 is Monday), empty for any; the first is that of mixing. feed_together_days: so
    far a due feed is moved to that [days]. measures: scale, can and jug. feed_share: feed
    poured per tree as a share of the container's volume. checks_at: times of a day's first, second and third water
    check. alarm_at: time of day for alarms, None for none. most_products: products mixed in one can at the most.
    checks_by: what sets how often water is checked. drain_share: of the water poured, what is to run out [0-1]. flush:
    when salt is flushed out, None for what the waters ask. heavy_rain_mm: so much rain in a day puts a liquid feed off
    [mm]. root_zone_air_c, warm_days: a root zone counts as warm enough after so many days running on which air, sun and
    place bring it so much above what it is asked for [°C, days]. reading_days: so long a reading of the air or the root
    zone counts where nothing newer is known, not even normals [days]. frost_alert_c, wind_alert_m_per_s: a night this
    cold or a day this windy is told while growth is soft [°C, m/s]. root_heat_alert_c: root zones that may get this hot
    are told [°C]; at 42 °C for 6 hours a day half of some elms died, and 38 °C was got over (Martin, Ingram and Nell
    1989; HortScience 25(9), 1990, 1080; abstracts read). work_prompts: pruning, wiring and repotting are told of.
    """

    unlogged_feeds: Unlogged = Unlogged.GIVEN
    feed_on: tuple[int, ...] = ()
    measures: Measures = USUAL_MEASURES
    feed_share: Decimal = Decimal("0.1")
    checks_at: tuple[time, time, time] = (time(7), time(15), time(20))
    alarm_at: time | None = None
    most_products: int = 2
    checks_by: ChecksBy = ChecksBy.WEATHER
    drain_share: Decimal = Decimal("0.15")
    flush: FlushPace | None = None
    heavy_rain_mm: Decimal = Decimal(10)
    root_zone_air_c: Decimal = Decimal(0)
    warm_days: int = 3
    reading_days: int = 3
    frost_alert_c: Decimal = Decimal(2)
    root_heat_alert_c: Decimal = Decimal(42)
    wind_alert_m_per_s: Decimal = Decimal(8)
    work_prompts: bool = False
    feed_together_days: int = 0

    @property
    def can_litres(self) -> Decimal:
        """The can mixed in, the largest of several [L]."""
        return self.measures.largest_can_l


@dataclass(frozen=True, slots=True)
class OnHand:
    """What is known of a product's tub or bottle, amounts in grams, or in millilitres for a liquid.

    stock: how much there was on the day it was counted. counted: that day, None for the day of asking. opened,
    best_before: the day it was opened and the last day it keeps. price: of one gram or millilitre, in `currency`.
    """

    stock: Decimal | None = None
    counted: date | None = None
    opened: date | None = None
    best_before: date | None = None
    price: Decimal | None = None
    currency: str = ""


@dataclass(frozen=True, slots=True)
class Feed:
    """A product on the shelf.

    product: what its label says, for the arithmetic. longevity_days to longest_days at longevity_c: nominal release
    time of a solid feed [days, °C]. released: share of its N that comes free in a season [0 to 1].
    lag_days: before it begins to give on the surface, at 15 °C [days].
    ec_per_100_ppm_n: conductivity it adds, by its label [mS/cm per 100 mg N/L]. nitrogen: forms of its N
    [percent of it], empty when not told. salt: the straight salt it is, if it is one.
    """

    name: str
    form: Form
    product: Product
    longevity_days: int | None = None
    longevity_c: Decimal = Decimal(21)
    source: Source = BUILT_IN
    longest_days: int | None = None
    released: Decimal = Decimal(1)
    ec_per_100_ppm_n: Decimal | None = None
    nitrogen: tuple[tuple[str, Decimal], ...] = ()
    salt: str = ""
    on_hand: OnHand = OnHand()
    lag_days: int = 0

    @property
    def is_solid(self) -> bool:
        """Whether it is laid on the pot or mixed in, not dissolved in a can."""
        return self.form.is_solid

    @property
    def curve(self) -> Curve | None:
        """How it gives off its nitrogen where temperatures are known; None for one that dissolves or tells no time."""
        if self.form.curve is None or self.longevity_days is None:
            return None
        longest = self.longest_days or self.longevity_days
        return self.form.curve(self.longevity_days, longest, float(self.longevity_c))

    @property
    def n_mg_per_g(self) -> Decimal:
        """Nitrogen in one gram of it, or one millilitre of a liquid [mg]."""
        return self.product.n_mg_per_unit


class PotColour(StrEnum):
    """How pale a pot is; brown is clay, and what is taken where nothing is told."""

    DARK = "dark"
    BROWN = "brown"
    WHITE = "white"


class PotClass(StrEnum):
    """How fast a pot dries, by its depth and walls: the columns of a schedule's water table."""

    SHALLOW = "shallow"
    MEDIUM = "medium"
    DEEP = "deep"


@dataclass(frozen=True, slots=True)
class Pot:
    """A container. litres: volume [L]; depth_cm: inside depth [cm]; top_cm2: open top [cm2]; None if not told.

    shared: whether all under a name stand in it, so that litres and top are the share of one; None if not told.
    """

    litres: Decimal
    words: str
    depth_cm: Decimal | None = None
    top_cm2: Decimal | None = None
    open_sided: bool = False
    colour: PotColour = PotColour.BROWN
    shared: bool | None = None

    def for_one_of(self, count: int) -> Pot:
        """What one of so many has of it, where they share it."""
        if not self.shared or count == 1:
            return self
        top_cm2 = None if self.top_cm2 is None else self.top_cm2 / count
        return replace(self, litres=self.litres / count, top_cm2=top_cm2)

    @property
    def pot_class(self) -> PotClass:
        """By depth: shallow to 6 cm, medium to 12 cm, deep beyond; by 8 L where no depth is told.

        An open-sided pot counts as deep unless it is shallow. Common practice, no source.
        """
        if self.depth_cm is not None and self.depth_cm <= 6:
            return PotClass.SHALLOW
        is_deep = self.litres >= 8 if self.depth_cm is None else self.depth_cm > 12
        return PotClass.DEEP if is_deep or self.open_sided else PotClass.MEDIUM


@dataclass(frozen=True, slots=True)
class FeedUse:
    """Which product a group uses from a day on; start None means from the beginning.

    when_used_up: not before the product it follows is used up. every_year: used on these days of each year, in place of
    what is used otherwise; without a start then.
    """

    feed: str
    start: date | None = None
    source: Source = BUILT_IN
    when_used_up: bool = False
    every_year: DaysOfYear | None = None


def used_on(day: date, uses: Sequence[FeedUse]) -> FeedUse | None:
    """The product in use on a day, of a list in the order of their starts; None before the first."""
    yearly = [use for use in uses if use.every_year is not None and use.every_year.holds(day)]
    begun = [use for use in uses if use.every_year is None and (use.start is None or use.start <= day)]
    return next(reversed(yearly or begun), None)


@dataclass(frozen=True, slots=True)
class Group:
    """Trees cared for alike. feeds: products in order of their start; empty when none is named.

    solid_feeds: likewise, laid on the pots. ratio: what to mix from the shelf when no product is named; mix_of: the
    products it may be mixed of, empty for all that dissolve. substrate, water: None when not told. flush: its own pace.
    """

    name: str
    schedule: Schedule
    feeds: tuple[FeedUse, ...] = ()
    bench: str = ""
    source: Source = BUILT_IN
    solid_feeds: tuple[FeedUse, ...] = ()
    ratio: Ratio | None = None
    mix_of: tuple[str, ...] = ()
    substrate: Substrate | None = None
    water: WaterUse | None = None
    flush: FlushPace | None = None


@dataclass(frozen=True, slots=True)
class Tree:
    """One tree, or `count` alike ones under one name.

    schedule: its own when it overrides the group's, else None. feeds, solid_feeds: likewise, empty for the group's.
    weak: counts as weak until the grower says otherwise; old: stands less root work, as a weak one does.
    since: the day it joined, None for always.
    canopy_cm2: ground its crown covers [cm2]; substrate, repot_every_years [years]: its own; None when not told.
    """

    name: str
    species: str
    group: str
    pot: Pot
    count: int = 1
    bench: str = ""
    weak: bool = False
    since: date | None = None
    canopy_cm2: Decimal | None = None
    schedule: Schedule | None = None
    feeds: tuple[FeedUse, ...] = ()
    about: str = ""
    source: Source = BUILT_IN
    solid_feeds: tuple[FeedUse, ...] = ()
    substrate: Substrate | None = None
    repot_every_years: int | None = None
    old: bool = False


@dataclass(frozen=True, slots=True)
class Away:
    """Days on which nobody feeds; both ends included. ask: whom a helper asks, with a telephone number."""

    start: date
    end: date
    ask: str | None = None
    source: Source = BUILT_IN


@dataclass(frozen=True, slots=True)
class YearlyNote:
    """Something to be told every year on a day (29 February shows on the 28th in common years), or on one date."""

    on: DayOfYear | date
    say: str
    source: Source = BUILT_IN


@dataclass(frozen=True, slots=True)
class Collection:
    """Everything the grower has written down about the trees, apart from the journal.

    identity: a short string that stays the same for ever, from which calendar identities are made.
    benches, waters: what is told of places and of waters, by name, in the order written.
    learned: what the grower's own sightings taught, by species in small letters and stage.
    """

    identity: str
    place: Place
    habits: Habits
    feeds: Mapping[str, Feed]
    groups: Mapping[str, Group]
    trees: tuple[Tree, ...]
    vocabulary: Vocabulary
    away: tuple[Away, ...] = ()
    notes: tuple[YearlyNote, ...] = ()
    own_dates: Mapping[tuple[str, str], DayOfYear] = field(default_factory=dict)
    since: date | None = None
    source: Source = BUILT_IN
    benches: Mapping[str, Bench] = field(default_factory=dict)
    waters: Mapping[str, WaterSource] = field(default_factory=dict)
    learned: Mapping[tuple[str, str], StageRule] = field(default_factory=dict)
    _called: dict[str, frozenset[str]] = field(default_factory=dict, init=False, compare=False, repr=False)

    def species_called(self, word: str) -> frozenset[str]:
        """The species among the trees that a grower's word stands for, as in "species: maple"."""
        if word not in self._called:
            self._called[word] = self.vocabulary.kinds.meant(word, {tree.species for tree in self.trees})
        return self._called[word]

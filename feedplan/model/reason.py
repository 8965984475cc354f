"""Why something was moved, weakened, held back or dropped, and what the weather asks for: facts, never sentences.

`feedplan.words` says them. A fact holds what differs from case to case, so that two reasons with equal facts are one.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from enum import StrEnum

from feedplan.model.climate import Standing
from feedplan.model.hold import SignLeft
from feedplan.model.journal import Entry
from feedplan.model.moment import DayOfYear, Moment
from feedplan.model.source import BUILT_IN, Source
from feedplan.model.stage import Basis, GiveOrTake, Origin


class Rule(StrEnum):
    """What decided, as a stable word for `--json` and tests."""

    PERIOD = "period"
    STAGE = "stage"
    HOLD = "hold"
    AWAY = "away"
    DRY = "dry root ball"
    RAIN = "heavy rain"
    ROOT_ZONE = "root zone"
    HEAT = "heat"
    RAMP = "ramp"
    CAP = "cap"
    SEASON_LIMIT = "season limit"
    INTERVAL = "interval"
    WEEKDAY = "feeding day"
    BUDGET = "budget"
    OVERDUE = "overdue"
    NOT_HERE = "not here"
    OVERRIDE = "override"
    LABEL = "label maximum"
    TOLD = "told"


class Circumstance(StrEnum):
    """What can be said without figures."""

    DRY_BALL = "dry_ball"
    NO_PERIOD_AHEAD = "no_period_ahead"
    EARLIER_FEED_CHANGED = "earlier_feed_changed"
    NOT_IN_LATER_PLAN = "not_in_later_plan"
    NO_LONGER_PLANNED = "no_longer_planned"
    WEATHER_ON_RECORD = "weather_on_record"
    WEATHER_DIFFERS = "weather_differs"
    FILES_DIFFER = "files_differ"
    TIME_WENT_ON = "time_went_on"


@dataclass(frozen=True, slots=True)
class Held:
    """A hold that is open. rule: its name; min_days: its shortest length [days]."""

    rule: str
    start: date
    min_days: int = field(compare=False)


@dataclass(frozen=True, slots=True)
class SolidStopped:
    """A hold that began while solid feed lay on the pot."""

    rule: str
    start: date


@dataclass(frozen=True, slots=True)
class RampStep:
    """Feeding taken up again after a hold. share: of the plan's strength [0-1]."""

    rule: str
    start: date
    share: Decimal


@dataclass(frozen=True, slots=True)
class WeakFirst:
    """Weak liquid feed comes first after a hold, and solid feed cannot be weakened."""

    rule: str


@dataclass(frozen=True, slots=True)
class CappedAfter:
    """A ceiling for the season of release. cap_ppm: [mg N/L]."""

    rule: str
    cap_ppm: Decimal


@dataclass(frozen=True, slots=True)
class PastLastFeed:
    """A day after the last feed allowed in the season of release."""

    rule: str
    last_feed: DayOfYear


@dataclass(frozen=True, slots=True)
class LiquidOnly:
    """No solid feed in the season of release."""

    rule: str


@dataclass(frozen=True, slots=True)
class LabelMaximum:
    """The label's highest rate. highest: [`unit` per litre]; ppm: what that comes to [mg N/L].

    of_pot: the litre is one of container, not of feed; ppm is None then.
    """

    feed: str
    highest: Decimal
    unit: str
    ppm: Decimal | None = None
    of_pot: bool = False


@dataclass(frozen=True, slots=True)
class OverBudget:
    """A feed trimmed to the season's nitrogen. budget: [mg N per L of container]; ppm: trimmed to [mg N/L]."""

    budget: Decimal
    ppm: Decimal


@dataclass(frozen=True, slots=True)
class NoRoomForSolid:
    """A laying that the season's nitrogen has no room for. total: with it [mg N per L of container]."""

    budget: Decimal
    total: Decimal


@dataclass(frozen=True, slots=True)
class Absence:
    """Days on which nobody feeds, both ends included."""

    start: date
    end: date


@dataclass(frozen=True, slots=True)
class NotHereYet:
    """Trees that come on a day."""

    arrives: date


@dataclass(frozen=True, slots=True)
class GoneSince:
    """Trees that left on a day."""

    left: date


@dataclass(frozen=True, slots=True)
class HeavyRain:
    """Rain that would wash a feed out. rain_mm: whole, as it is told, so that days told alike are told once [mm]."""

    rain_mm: int
    standing: Standing


@dataclass(frozen=True, slots=True)
class HotAir:
    """Air too hot for feed. tmax_c: whole, as it is told; limit_c: the period is for air below it [°C]."""

    tmax_c: int
    standing: Standing
    period: str
    limit_c: Decimal


@dataclass(frozen=True, slots=True)
class ColdRootZone:
    """A root zone colder than it is to be. measured_c: None where the air stands in for it [°C]."""

    least_c: float
    measured_c: float | None = None
    measured_on: date | None = None


@dataclass(frozen=True, slots=True)
class ToFeedingDay:
    """Moved to a weekday kept for feeding. due: the day it was due, None where the plan has no other."""

    due: date | None = None
    days: int = 0


@dataclass(frozen=True, slots=True)
class NotRecorded:
    """Something due that nobody recorded. laid: it was solid feed."""

    due: date
    laid: bool = False


@dataclass(frozen=True, slots=True)
class Overridden:
    """The grower's own word against what holds a feed back."""

    held: tuple[ReasonFact, ...]
    because: str


@dataclass(frozen=True, slots=True)
class FedAlthough:
    """A feed given in spite of something."""

    held: ReasonFact


@dataclass(frozen=True, slots=True)
class NoLonger:
    """Something that stood in the way before."""

    was: ReasonFact


@dataclass(frozen=True, slots=True)
class PeriodAhead:
    """No feeding period is open, and the next one opens on a day. origin: of the stage it starts from."""

    period: str
    opens: date
    start: Moment
    origin: Origin | None = None


@dataclass(frozen=True, slots=True)
class PeriodOver:
    """A period that has ended."""

    period: str
    end: Moment


@dataclass(frozen=True, slots=True)
class WaitsForStage:
    """A period that opens only when a stage is seen."""

    period: str
    stage: str


@dataclass(frozen=True, slots=True)
class NotDue:
    """The interval is not over. last, coming: the feeds around the day, None for none."""

    last: date | None
    coming: date | None


@dataclass(frozen=True, slots=True)
class StageMoved:
    """A stage with another day than before. day, before: None while awaited."""

    stage: str
    origin: Origin
    day: date | None
    before: date | None


@dataclass(frozen=True, slots=True)
class InJournal:
    """Entries behind a difference. is_new: the earlier plan knew none of them."""

    entries: tuple[Entry, ...]
    is_new: bool = False


@dataclass(frozen=True, slots=True)
class Quoted:
    """Words of a calendar written before."""

    text: str


@dataclass(frozen=True, slots=True)
class HeatWave:
    """Hot days on end. peak_c: the hottest [°C]; end: first day after."""

    start: date
    peak_c: float
    end: date


@dataclass(frozen=True, slots=True)
class ColdNight:
    """A night that may harm soft growth [°C]."""

    tmin_c: float


@dataclass(frozen=True, slots=True)
class StrongWind:
    """Wind that may harm soft growth [m/s]."""

    m_per_s: float


@dataclass(frozen=True, slots=True)
class RecordEnds:
    """The last day observed of a weather record too old to foretell from."""

    last: date


@dataclass(frozen=True, slots=True)
class FrozenBalls:
    """Root balls likely frozen. lowest_c: the coldest night [°C]."""

    lowest_c: float


@dataclass(frozen=True, slots=True)
class HotDays:
    """The hottest of some days [°C]."""

    tmax_c: float
    day: date


@dataclass(frozen=True, slots=True)
class WindyDays:
    """The windiest of some days [m/s]."""

    m_per_s: float
    day: date


@dataclass(frozen=True, slots=True)
class DryDays:
    """The day on which most evaporates of some [mm]."""

    et0_mm: float
    day: date


HoldFact = Held | SolidStopped | RampStep | WeakFirst | CappedAfter | PastLastFeed | LiquidOnly
RateFact = LabelMaximum | OverBudget | NoRoomForSolid | ToFeedingDay | NotRecorded
DayFact = HeavyRain | HotAir | ColdRootZone | Absence | NotHereYet | GoneSince
PeriodFact = PeriodAhead | PeriodOver | WaitsForStage | NotDue
ChangeFact = StageMoved | InJournal | Quoted | Basis | GiveOrTake
AlertFact = HeatWave | ColdNight | StrongWind | RecordEnds
ThirstFact = HotDays | WindyDays | DryDays
Wrapped = Overridden | FedAlthough | NoLonger
ReasonFact = (
    Circumstance
    | HoldFact
    | RateFact
    | DayFact
    | PeriodFact
    | ChangeFact
    | AlertFact
    | ThirstFact
    | FrozenBalls
    | Wrapped
)


@dataclass(frozen=True, slots=True)
class HoldEnd:
    """When a hold ends. day: first day free, None while signs are missing; minimum: not before."""

    day: date | None
    minimum: date
    missing: tuple[SignLeft, ...] = ()


@dataclass(frozen=True, slots=True)
class WarmAgain:
    """What opens a cold root zone again: so many days running with such a mean, or a measurement [°C]."""

    days: int
    mean_c: float
    least_c: float


@dataclass(frozen=True, slots=True)
class StageSeen:
    """A stage seen."""

    stage: str


End = HoldEnd | WarmAgain | StageSeen | Basis | GiveOrTake
"""What would end a reason; of a stage that moved, what its date rests on."""


@dataclass(frozen=True, slots=True)
class Reason:
    """Why something was moved, weakened, held back or dropped.

    fact: what decided. source: the line of the rule. entry: the journal entry behind it, if one. until: the first day
    it no longer applies, None while that is open. ends: what would end it.
    """

    rule: Rule
    fact: ReasonFact
    source: Source = BUILT_IN
    entry: Entry | None = None
    until: date | None = None
    ends: End | None = None

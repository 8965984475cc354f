"""Why something was moved, weakened, held back or dropped, and what the weather asks for: statements, not sentences."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from enum import StrEnum

from feedplan.model.climate import Standing
from feedplan.model.hold import Action, SignLeft
from feedplan.model.journal import Entry
from feedplan.model.moment import DayOfYear, Moment
from feedplan.model.source import BUILT_IN, Source
from feedplan.model.stage import Origin
from feedplan.model.statement import Statement


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
    FROST = "frost"
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
    CEILING = "ceiling"
    SHELF = "shelf"
    TOLD = "told"


_HELD_DOWN = (Rule.CEILING, Rule.SHELF)
"""The rules by which a can holds less nitrogen than asked."""


class DryBall(Statement):
    """A root ball found dry."""


class NoPeriodAhead(Statement):
    """No feeding period is open, and none opens in the days looked at."""


class Held(Statement):
    """A hold that is open. rule: its name; at_least: its shortest length.

    worked: where it took over from a lighter one, the day of the work, since when nothing was seen.
    """

    rule: str
    start: date
    at_least: timedelta = field(compare=False)
    worked: date | None = None


class SolidStopped(Statement):
    """A hold that began while solid feed lay on the pot."""

    rule: str
    start: date


class RampStep(Statement):
    """Feeding taken up again after a hold, at so much of the plan's strength [percent]."""

    rule: str
    start: date
    percent: Decimal


class WeakFirst(Statement):
    """Weak liquid feed comes first after a hold, and solid feed cannot be weakened."""

    rule: str


class CappedAfter(Statement):
    """A ceiling for the season of release. cap_ppm: [mg N/L]."""

    rule: str
    cap_ppm: Decimal


class PastLastFeed(Statement):
    """A day after the last feed allowed in the season of release."""

    rule: str
    last_feed: DayOfYear


class LiquidOnly(Statement):
    """No solid feed in the season of release."""

    rule: str


class LabelMaximum(Statement):
    """The label's highest rate. highest: [`unit` per litre]; ppm: what that comes to [mg N/L].

    of_pot: the litre is one of container, not of feed; ppm is None then.
    """

    feed: str
    highest: Decimal
    unit: str
    ppm: Decimal | None = None
    of_pot: bool = False


class OverCeiling(Statement):
    """A feed weakened to what the group's ceiling allows. what: "P", "K" or "EC".

    holds, most: as asked it would bring, and may [mg/L as element, or mS/cm]. asked, ppm: [mg N/L].
    """

    feeds: tuple[str, ...]
    what: str
    holds: Decimal
    most: Decimal
    asked: Decimal
    ppm: Decimal


class LittleNitrogen(Statement):
    """Products that do not reach the nitrogen asked for, whatever is taken of them. asked, ppm: [mg N/L]."""

    feeds: tuple[str, ...]
    asked: Decimal
    ppm: Decimal


class OverBudget(Statement):
    """A feed trimmed to the season's nitrogen, or left out. budget: [mg N per L of container].

    ppm: trimmed to, 0 where too little is left for a feed [mg N/L].
    """

    budget: Decimal
    ppm: Decimal


class NoRoomForSolid(Statement):
    """A laying that the season's nitrogen has no room for. total: with it [mg N per L of container]."""

    budget: Decimal
    total: int


class CutToFit(Statement):
    """A laying cut to what the season's nitrogen has room for. budget: [mg N per L of container].

    laid, asked: [g per L of container].
    """

    budget: Decimal
    laid: Decimal
    asked: Decimal


class OffTooSoon(Statement):
    """A laying that would come off before half of its interval is over. period: its name."""

    period: str
    lift: date
    every: timedelta


class Absence(Statement):
    """Days on which nobody feeds, both ends included."""

    start: date
    end: date


class BeforeAbsence(Statement):
    """A feed due while nobody is there, given before they leave. due: when it was due; start, end: the days away."""

    due: date
    start: date
    end: date


class NotHereYet(Statement):
    """Trees that come on a day."""

    arrives: date


class GoneSince(Statement):
    """Trees that left on a day."""

    left: date


class HeavyRain(Statement):
    """Rain that would wash a feed out. rain_mm: whole, as it is told, so that days told alike are told once [mm]."""

    rain_mm: int
    standing: Standing


class HotAir(Statement):
    """Air too hot for feed. tmax_c: whole, as it is told; limit_c: the period is for air below it [°C]."""

    tmax_c: int
    standing: Standing
    period: str
    limit_c: Decimal


class FrostOnSoftGrowth(Statement):
    """A night of frost while growth is soft. tmin_c: whole, as it is told [°C]."""

    tmin_c: int
    standing: Standing


class ColdRootZone(Statement):
    """A root zone colder than it is to be. measured_c: None where the air stands in for it [°C]."""

    least_c: float
    measured_c: float | None = None
    measured_on: date | None = None


class ToFeedingDay(Statement):
    """Moved to a weekday kept for feeding. due: the day it was due, None where the plan has no other."""

    due: date | None = None
    later: timedelta | None = None


class ToMixingDay(Statement):
    """Moved by so many days to the weekday of mixing. others: the groups fed from its can, empty where nobody asks."""

    due: date
    by: timedelta
    is_early: bool
    others: tuple[str, ...] = ()


class NotRecorded(Statement):
    """Something due that nobody recorded. laid: it was solid feed."""

    due: date
    laid: bool = False


class Overridden(Statement):
    """The grower's own word against what holds a feed back."""

    held: tuple[Statement, ...]
    because: str


class FedAlthough(Statement):
    """A feed given in spite of something."""

    held: Statement


class NoLonger(Statement):
    """Something that stood in the way before."""

    was: Statement


class PeriodAhead(Statement):
    """No feeding period is open, and the next one opens on a day. origin: of the stage it starts from."""

    period: str
    opens: date
    start: Moment
    origin: Origin | None = None


class PeriodOver(Statement):
    """A period that has ended."""

    period: str
    end: Moment


class WaitsForStage(Statement):
    """A period that opens only when a stage is seen."""

    period: str
    stage: str


class NotDue(Statement):
    """The interval is not over. last, coming: the feeds around the day, None for none. is_given: the last one was."""

    last: date | None
    coming: date | None
    is_given: bool = True


class StageMoved(Statement):
    """A stage with another day than before. day, before: None while awaited."""

    stage: str
    origin: Origin
    day: date | None
    before: date | None


class InJournal(Statement):
    """Entries behind a difference. is_new: the earlier plan knew none of them."""

    entries: tuple[Entry, ...]
    is_new: bool = False


class Quoted(Statement):
    """Words of a calendar written before."""

    text: str


class EarlierFeedChanged(Statement):
    """A feed counted from the one before it, which changed."""


class NotInLaterPlan(Statement):
    """A tree that the later of two plans does not have."""


class NoLongerPlanned(Statement):
    """Something that the plan no longer has."""


class WeatherOnRecord(Statement):
    """The weather itself."""


class WeatherDiffers(Statement):
    """Two plans that know different weather."""


class FilesDiffer(Statement):
    """Two plans of different files."""


class TimeWentOn(Statement):
    """Two plans that only the day tells apart."""


class PlannedWork(Statement):
    """Work planned for a day. rule: the hold it would open; minimum: its earliest end; missing: the signs it asks for.

    about: when a stage that shows them is likely, never before the earliest end; None where none is known to.
    """

    work: str
    rule: str
    on: date
    stops: frozenset[Action]
    minimum: date
    missing: tuple[SignLeft, ...]
    about: date | None


class OutOfSeason(Statement):
    """Root work outside the time its kind of tree stands it best. rule: what it counts as; start, stop: that time."""

    work: str
    on: date
    rule: str
    start: Moment
    stop: Moment


class HoldEnd(Statement):
    """When a hold ends. day: first day free, None while signs are missing; minimum: not before.

    turns: the day on which it goes on as `into`, another rule, as no sign was seen by then. spring: the year it was put
    off to.
    """

    day: date | None
    minimum: date
    missing: tuple[SignLeft, ...] = ()
    turns: date | None = None
    into: str = ""
    spring: int | None = None


class WarmAgain(Statement):
    """What opens a cold root zone again: days running that the weather brings it there, or a measurement [°C]."""

    days: timedelta
    least_c: float


@dataclass(frozen=True, slots=True)
class Reason:
    """Why something was moved, weakened, held back or dropped.

    fact: what decided. source: the line of the rule. entry: the journal entry behind it, if one. until: the first day
    it no longer applies, None while that is open. ends: what would end it.
    """

    rule: Rule
    fact: Statement
    source: Source = BUILT_IN
    entry: Entry | None = None
    until: date | None = None
    ends: Statement | None = None

    @property
    def holds_down(self) -> bool:
        """Whether it is that the can holds less nitrogen than asked."""
        return self.rule in _HELD_DOWN

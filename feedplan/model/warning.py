"""What a careful grower would think about twice: each kind of warning with what it is about."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from feedplan.model.hold import SignLeft
from feedplan.model.reason import (
    LabelMaximum,
    LittleNitrogen,
    OutOfSeason,
    OverCeiling,
)
from feedplan.model.source import Source
from feedplan.model.statement import Statement


class MuchNitrogen(Statement):
    """More nitrogen in a season than is wise. total, limit: [mg N per L of container].

    is_budget: the limit is the schedule's own. is_grave: so much that it may kill, and no schedule says it is meant.
    lying: the solid feed on the pot that can be lifted, None for none; left: what it has to give yet [mg N per L].
    brought: what a feed gives that they are only taken to have come with, where that alone is too much [mg N per L].
    """

    trees: tuple[str, ...]
    season: int
    total: int
    limit: Decimal
    is_budget: bool
    is_grave: bool
    lying: str | None = None
    left: int = 0
    brought: int = 0


class LargeBudget(Statement):
    """A schedule's own budget that is more than may be wise. budget: [mg N per L of container]."""

    schedule: str
    budget: Decimal
    limit: Decimal


class NoProduct(Statement):
    """A group that names no feed. periods: those in which its plan asks for some."""

    group: str
    periods: tuple[str, ...]


class NoSolidProduct(Statement):
    """A group that names no solid feed for a period that lays some."""

    group: str
    period: str


class NeverLaid(Statement):
    """A group's solid feed for which its schedule has no period. form: of the feed; kinds: those it has periods for."""

    group: str
    feed: str
    form: str
    schedule: str
    kinds: tuple[str, ...]


class SolidCut(Statement):
    """Solid feed that does not fit its season's nitrogen, and is laid lighter. laid, asked: [g per L of container]."""

    group: str
    period: str
    cut: Statement


class SolidLeftOut(Statement):
    """Solid feed that is due and not laid. why: the first thing that stands in its way."""

    trees: tuple[str, ...]
    due: date
    why: Statement


class LaidTooOften(Statement):
    """Coated feed laid again while the last still gives. lasts: [days]."""

    period: str
    feed: str
    every: timedelta
    lasts: int


class StageNotTheirs(Statement):
    """Periods that start from a stage which the calendars of some species do not have.

    calendars: of the species, in the same order. fallback: the calendar whose date stands in, None where none does and
    the periods open only once it is seen.
    """

    periods: tuple[str, ...]
    group: str
    stage: str
    species: tuple[str, ...]
    calendars: tuple[str, ...]
    fallback: str | None


class UnknownSpecies(Statement):
    """A species that no calendar and no table knows. nearest: known names near to it."""

    species: str
    tree: str
    calendar: str
    nearest: tuple[str, ...]


class WhichKind(Statement):
    """A species word under which some kinds keep their leaves and some do not. calendar: what it is taken for."""

    species: str
    tree: str
    calendar: str


class ManyLargePots(Statement):
    """So many pots under one name that one tray for all is more likely. pot: as written; litres: in all."""

    tree: str
    count: int
    pot: str
    litres: int


class FedWhenHeld(Statement):
    """A feed recorded inside a hold. entry: its id; of_many: it speaks of more trees than those held."""

    trees: tuple[str, ...]
    day: date
    held: Statement
    entry: str
    of_many: bool = False


class LaidWhenHeld(Statement):
    """A solid feed laid inside a hold that stops it, and not lifted."""

    trees: tuple[str, ...]
    feed: str
    day: date
    held: Statement


class AboveLabel(Statement):
    """A period that asks more of a product than its label allows."""

    period: str
    group: str
    maximum: LabelMaximum


class FallsShort(Statement):
    """A period whose nitrogen no can of what is at hand reaches. held: why."""

    period: str
    group: str
    held: OverCeiling | LittleNitrogen


class RichInPhosphorus(Statement):
    """Trees that phosphorus harms, and a feed that brings much of it. p, most: [mg/L, as element]."""

    trees: tuple[str, ...]
    word: str
    feed: str
    p: int
    most: Decimal
    known_from: str


class NeverFeed(Statement):
    """Plants that any feed harms, in a group that is fed."""

    trees: tuple[str, ...]
    word: str
    group: str
    known_from: str


class LongAway(Statement):
    """A long absence in growth."""

    time: timedelta


class RecordStopped(Statement):
    """A weather record too old to tell anything of today. last: its last day observed."""

    last: date


class ForecastTooLong(Statement):
    """Rows of a weather record further ahead than any forecast. first: the first of them; most: days that count."""

    first: date
    most: int


class RootZoneNeverWarm(Statement):
    """A feeding period whose root zone no day of this year is expected to bring. least_c: [°C]."""

    period: str
    group: str
    least_c: float


class WorkOutOfSeason(Statement):
    """Root work done or planned outside its season, while what it holds is open."""

    trees: tuple[str, ...]
    told: OutOfSeason


class NotYet(Statement):
    """An entry dated after today. count: how many more there are."""

    known: date
    count: int
    meant: date | None = None


class SeenFarOff(Statement):
    """A stage seen months from its typical day. meant: a day written almost alike that would fit; entry: its id."""

    stage: str
    day: date
    typical: date
    meant: date | None
    entry: str


class SeenNotTheirs(Statement):
    """A stage seen on trees whose kind does not have it. entry: its id."""

    trees: tuple[str, ...]
    stage: str
    species: str
    entry: str


class FedTwice(Statement):
    """Trees fed twice on one day. entry: the id of the second."""

    trees: tuple[str, ...]
    day: date
    entry: str


class MovedNowhere(Statement):
    """A move to the group and bench where trees stand already. entry: its id."""

    trees: tuple[str, ...]
    group: str
    day: date
    entry: str


class ToldOfAbsent(Statement):
    """Something done to trees on a day they were not there. since: the day they left, or are to come. entry: its id."""

    trees: tuple[str, ...]
    day: date
    since: date
    has_left: bool
    entry: str


class FedAboveLabel(Statement):
    """A feed recorded at more than its label allows. ppm, most: [mg N/L]. entry: its id."""

    trees: tuple[str, ...]
    day: date
    ppm: Decimal
    feed: str
    most: int
    entry: str


class StrongWithoutLabel(Statement):
    """A period stronger than usual feeds, of a product without a label rate. ppm: [mg N/L]."""

    period: str
    group: str
    ppm: int


class SinceAhead(Statement):
    """A first day far ahead. tree: None for the whole collection; meant: the same day in a year that would fit."""

    tree: str | None
    since: date
    meant: date | None


class CountedAhead(Statement):
    """Stock counted or opened on a day still to come. key: "counted" or "opened"."""

    feed: str
    key: str
    day: date
    meant: date | None


class NeverUsed(Statement):
    """Feeds that nothing uses."""

    feeds: tuple[str, ...]


class LongHeld(Statement):
    """A hold of one rule and year that is open for more than a year. signs: those that would end it.

    likely: the year in which they most likely showed.
    """

    trees: tuple[str, ...]
    rule: str
    year: int
    likely: int
    signs: tuple[SignLeft, ...]


class NotSeenLong(Statement):
    """Trees of which the journal says nothing for two years. year: of the last entry."""

    trees: tuple[str, ...]
    year: int


class AwayFromOthers(Statement):
    """An entry dated years from its neighbours in the file. meant: the same day in their year."""

    day: date
    meant: date


class CoarseScale(Statement):
    """A scale whose least weighing is mostly left over. scale, least: its step, and what it weighs at least [g].

    needed: the most of a feed that a day's trees are poured [g]. finer: what a common finer scale weighs at least [g].
    """

    feed: str
    scale: Decimal
    least: Decimal
    needed: Decimal
    finer: Decimal


class DatesOfElsewhere(Statement):
    """No normals are given, and the typical dates are those of another latitude. Both in whole [degrees]."""

    latitude: int
    usual: int


class NormalsOfOtherHalf(Statement):
    """Normals whose warm months are the cold ones of the place."""

    place: str


@dataclass(frozen=True, slots=True)
class PlanWarning:
    """One questionable thing, and where it is written."""

    fact: Statement
    source: Source

"""What to make of a conductivity pen's reading: of the can against its mix, of the drain against what is usual."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from enum import StrEnum

from feedplan.dose.conductivity import ec_at_25
from feedplan.engine.feeding.rounds import mixes_of
from feedplan.engine.season import Season
from feedplan.engine.sink.can import Can, can_of
from feedplan.model.collection import Collection
from feedplan.model.journal import EcRead, Entry
from feedplan.model.statement import Statement

# A reading further off than this from what is expected asks for a look [share]. Pens are good to a few percent and
# labels print two digits, so less says nothing (judgement).
FAR_OFF = 0.20
# A reading belongs to a mix so many days from it at the most: it is taken on the day, or written down a little late.
_NEAR = timedelta(days=2)

# Conductivity of what drains when water is poured through [mS/cm], top of the usual range for woody plants in pots:
# with coated feed alone 0.5, with liquid feed 1.0 (NC State Extension, pour-through for nursery crops; from memory).
# A Florida guide gives 0.8 to 1.5 for woody ornamentals (read in a published copy).
DRAIN_MOST_COATED, DRAIN_MOST_LIQUID = 0.5, 1.0


class Finding(StrEnum):
    """What a reading says."""

    AS_EXPECTED = "as_expected"
    NO_MIX = "no_mix"
    WATER_NOT_TOLD = "water_not_told"
    TOO_WEAK = "too_weak"
    TOO_STRONG = "too_strong"
    DOUBLED = "doubled"
    SALTY_DRAIN = "salty_drain"


class PenReading(Statement):
    """One reading beside what it is compared with.

    ms_per_cm: at 25 °C. expected: the most likely value; None where there is nothing to compare with. most: of a
    drain's, the top of the usual range.
    """

    entry: Entry
    ms_per_cm: float
    expected: float | None
    finding: Finding
    most: float | None = None

    @property
    def is_fine(self) -> bool:
        """Whether nothing is to be said of it."""
        return self.finding is Finding.AS_EXPECTED


def readings_of(season: Season, collection: Collection) -> tuple[PenReading, ...]:
    """Every reading known, each once, in day order."""
    entries = {e.id: e for t in season.timelines for e in t.entries if isinstance(e.fact, EcRead)}
    ordered = sorted(entries.values(), key=lambda e: (e.day, e.id))
    return tuple(_reading(entry, season, collection) for entry in ordered)


def _reading(entry: Entry, season: Season, collection: Collection) -> PenReading:
    fact = entry.fact
    assert isinstance(fact, EcRead)
    value = float(fact.ms_per_cm)
    if fact.temp_c is not None:
        value = ec_at_25(value, float(fact.temp_c))
    if fact.of_drain:
        return _of_drain(entry, value, season)
    can = _can_read(entry, season, collection)
    if can is None or can.ec is None:
        return PenReading(entry, value, None, Finding.NO_MIX)
    if can.water.ec_ms_per_cm is None:
        return PenReading(entry, value, None, Finding.WATER_NOT_TOLD)
    return PenReading(entry, value, can.ec.likely, of_can(value, can))


def of_can(value: float, can: Can) -> Finding:
    """What a reading of a mix at 25 °C [mS/cm] says."""
    if can.ec is None or can.water.ec_ms_per_cm is None:
        return Finding.AS_EXPECTED
    likely, own = can.ec.likely, can.water.ec_ms_per_cm
    low, high = min(can.ec.low, likely * (1 - FAR_OFF)), max(can.ec.high, likely * (1 + FAR_OFF))
    if low <= value <= high:
        return Finding.AS_EXPECTED
    if value < low:
        return Finding.TOO_WEAK
    times = (value - own) / (likely - own) if likely > own else 0.0
    return Finding.DOUBLED if 1.6 <= times <= 2.4 else Finding.TOO_STRONG


def _can_read(entry: Entry, season: Season, collection: Collection) -> Can | None:
    """The mix that a reading of the can is about: the nearest one given to any of its trees."""
    names = {name for t in season.timelines for name in t.names_about(entry.id)}
    near = [
        item
        for item in mixes_of(season.timelines)
        if abs(item.day - entry.day) <= _NEAR and not item.status.is_without_feed and names & set(item.names)
    ]
    nearest = min(near, key=lambda item: (abs(item.day - entry.day), item.day, item.key), default=None)
    return None if nearest is None else can_of(nearest, collection)


def _of_drain(entry: Entry, value: float, season: Season) -> PenReading:
    """A reading of what drained, against the usual range for pots fed as these are."""
    timelines = [t for t in season.timelines if t.names_about(entry.id)]
    liquid = any(not f.status.is_without_feed and f.day <= entry.day for t in timelines for f in t.feeds)
    solid = any(
        s.laid <= entry.day and s.given_by(entry.day) > Decimal(0) for t in timelines for s in t.solids
    )
    most = DRAIN_MOST_COATED if solid and not liquid else DRAIN_MOST_LIQUID
    finding = Finding.AS_EXPECTED if value <= most else Finding.SALTY_DRAIN
    return PenReading(entry, value, None, finding, most)

"""What to make of a conductivity pen's reading: of the can against its mix, of the drain against what is usual."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal

from feedplan.dose.conductivity import ec_at_25
from feedplan.engine.feeding.rounds import mixes_of
from feedplan.engine.season import Season
from feedplan.engine.sink.can import Can, can_of
from feedplan.model.collection import Collection
from feedplan.model.course import Status
from feedplan.model.journal import EcRead, Entry

# A reading further off than this from what is expected asks for a look [share]. Pens are good to a few percent and
# labels print two digits, so less says nothing (judgement).
FAR_OFF = 0.20
# A reading belongs to a mix so many days from it at the most: it is taken on the day, or written down a little late.
_NEAR = timedelta(days=2)

# Conductivity of what drains when water is poured through [mS/cm], top of the usual range for woody plants in pots:
# with coated feed alone 0.5, with liquid feed 1.0 (NC State Extension, pour-through for nursery crops; from memory).
# A Florida guide gives 0.8 to 1.5 for woody ornamentals (read in a published copy).
DRAIN_MOST_COATED, DRAIN_MOST_LIQUID = 0.5, 1.0


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading beside what it is compared with.

    ms_per_cm: at 25 °C. expected: the most likely value; None where there is nothing to compare with. words: what to
    do, empty when all is well.
    """

    entry: Entry
    ms_per_cm: float
    expected: float | None
    words: str


def readings_of(season: Season, collection: Collection) -> tuple[Reading, ...]:
    """Every reading known, each once, in day order."""
    entries = {e.id: e for t in season.timelines for e in t.entries if isinstance(e.fact, EcRead)}
    ordered = sorted(entries.values(), key=lambda e: (e.day, e.id))
    return tuple(_reading(entry, season, collection) for entry in ordered)


def _reading(entry: Entry, season: Season, collection: Collection) -> Reading:
    fact = entry.fact
    assert isinstance(fact, EcRead)
    value = float(fact.ms_per_cm)
    if fact.temp_c is not None:
        value = ec_at_25(value, float(fact.temp_c))
    if fact.of_drain:
        return _of_drain(entry, value, season)
    can = _can_read(entry, season, collection)
    if can is None or can.ec is None:
        return Reading(entry, value, None, "no mix of that day to compare it with")
    if can.water.ec_ms_per_cm is None:
        words = "to compare it, write the water's own conductivity under water: in collection.yaml"
        return Reading(entry, value, None, words)
    return Reading(entry, value, can.ec.likely, of_can(value, can))


def of_can(value: float, can: Can) -> str:
    """What a reading of a mix at 25 °C [mS/cm] asks for; empty when it is as expected."""
    if can.ec is None or can.water.ec_ms_per_cm is None:
        return ""
    likely, own = can.ec.likely, can.water.ec_ms_per_cm
    low, high = min(can.ec.low, likely * (1 - FAR_OFF)), max(can.ec.high, likely * (1 + FAR_OFF))
    if low <= value <= high:
        return ""
    told = f"read {value:.2f}, expected {likely:.2f} mS/cm"
    if value < low:
        return (
            f"{told}: too weak; see that all has dissolved, and check the product, the scale and the litres"
        )
    times = (value - own) / (likely - own) if likely > own else 0.0
    if 1.6 <= times <= 2.4:
        return f"{told}: about twice the feed; was a spoon counted twice? Pour as much water again before feeding"
    return f"{told}: too strong; check the product, the grams and the litres, and thin it with water before feeding"


def _can_read(entry: Entry, season: Season, collection: Collection) -> Can | None:
    """The mix that a reading of the can is about: the nearest one given to any of its trees."""
    names = {name for t in season.timelines if any(e.id == entry.id for e in t.entries) for name in t.names}
    near = [
        item
        for item in mixes_of(season.timelines, collection.habits.can_litres)
        if abs(item.day - entry.day) <= _NEAR and item.status is not Status.MISSED and names & set(item.names)
    ]
    nearest = min(near, key=lambda item: (abs(item.day - entry.day), item.day, item.key), default=None)
    return None if nearest is None else can_of(nearest, collection)


def _of_drain(entry: Entry, value: float, season: Season) -> Reading:
    """A reading of what drained, against the usual range for pots fed as these are."""
    timelines = [t for t in season.timelines if any(e.id == entry.id for e in t.entries)]
    liquid = any(f.status is not Status.MISSED and f.day <= entry.day for t in timelines for f in t.feeds)
    solid = any(
        s.laid <= entry.day and s.given_by(entry.day) > Decimal(0) for t in timelines for s in t.solids
    )
    most = DRAIN_MOST_COATED if solid and not liquid else DRAIN_MOST_LIQUID
    if value <= most:
        return Reading(entry, value, None, "")
    words = (
        f"drain reads {value:.2f}, usual is up to {most:.1f} mS/cm: flush with plain water until 30 to 50 % runs "
        "through; if leaves scorch too, record trouble salt"
    )
    return Reading(entry, value, None, words)

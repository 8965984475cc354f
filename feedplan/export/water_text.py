"""How thirst, litres, frost and one pot's balance are written for a person."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from decimal import Decimal
from typing import Any

from feedplan.engine.day import BenchThirst, TreeLooks
from feedplan.engine.outdoors.skies import SkyDay
from feedplan.engine.season import Flush, FrostSpell, Watch
from feedplan.engine.water.balance import Depletion, PotDay, two_figures
from feedplan.engine.water.checks import litres_for_look, looks_on
from feedplan.engine.water.waters import GroupWater, group_water
from feedplan.model.climate import Standing
from feedplan.model.collection import Collection
from feedplan.model.schedule import CheckRate
from feedplan.words.language import say
from feedplan.words.outdoors import pace_words, rate_words
from feedplan.words.reasons import fact_words
from feedplan.words.writing import full_day, listed, number, tree_words, trees_words

FROZEN_ADVICE = "Do not water a frozen ball; check once it has thawed. Shelter pots from wind, on the ground."
NAMED_FIRST = 3


def rough_litres(litres: float | Decimal) -> str:
    """A volume to pour, to two figures: "1.4 L", "80 ml"."""
    rounded = two_figures(litres)
    if rounded < 1:
        return f"{number(rounded * 1000)} ml"
    return f"{number(rounded)} L"


def rough_cans(litres: float | Decimal, can_litres: Decimal) -> str:
    """The same with the cans it fills, from half a can on: "12 L, 1.2 cans"."""
    cans = Decimal(float(litres)) / can_litres
    words = rough_litres(litres)
    return words if cans < Decimal("0.5") else f"{words}, {cans:.1f} cans"


def bench_lines(benches: Sequence[BenchThirst], can_litres: Decimal) -> Iterator[str]:
    """One line for each bench, thirstiest first."""
    for bench in benches:
        looks = [_first_look(pot) for pot in bench.pots[:NAMED_FIRST]]
        yield f"{bench.name}: {', '.join(looks)}; about {rough_cans(bench.pour_l, can_litres)} for the day"


def _first_look(pot: PotDay) -> str:
    if pot.hours < 48:
        return f"{pot.tree.name} (dry in {max(1, round(pot.hours))} h)"
    return (
        f"{pot.tree.name} ({pot.hours / 24:.0f} days)"
        if pot.hours < 24 * 30
        else f"{pot.tree.name} (at rest)"
    )


def bench_facts(bench: BenchThirst, watched: Iterable[TreeLooks]) -> dict[str, Any]:
    """The same facts for `--json`. watched: says how often each tree is looked at."""
    rates = {each.tree.name: float(each.rate.per_week) for each in watched}
    return {
        "bench": bench.name,
        "pour_litres": round(bench.pour_l, 3),
        "trees": [
            {
                "tree": pot.tree.name,
                "count": pot.tree.count,
                "dries_in_hours": round(pot.hours, 1),
                "use_litres": round(pot.use_l, 3),
                "pour_litres": round(pot.pour_l, 3),
                "checks_per_week": rates[pot.tree.name],
            }
            for pot in bench.pots
        ],
    }


def weather_words(sky: SkyDay | None) -> list[str]:
    """The day's weather in short, where it is on record: "7 to 15 °C", "wind 4 m/s", "rain 1 mm"."""
    if sky is None:
        return []
    found = sky.weather
    words = [f"{found.tmin_c:.0f} to {found.tmax_c:.0f} °C"]
    wind = found.weather.wind_m_per_s
    words += [f"wind {wind:.0f} m/s"] if wind is not None else []
    return words + ([f"rain {found.rain_mm:.0f} mm"] if found.rain_mm is not None else [])


def frost_words(spell: FrostSpell) -> str:
    """A spell of frozen root balls in one line."""
    return f"Root balls may be frozen, down to {spell.lowest_c:.0f} °C. {FROZEN_ADVICE}"


def frost_ahead(coming: SkyDay) -> str:
    """What to do on the day before a hard frost."""
    lowest = f"{coming.weather.tmin_c:.0f} °C"
    return f"Hard frost tomorrow, {lowest}: water dry pots today, a moist ball keeps roots warmer than a dry one."


def flush_lines(flush: Flush, collection: Collection) -> Iterator[str]:
    """A flush: its title, then how it is done."""
    count = sum(tree.count for tree in flush.trees)
    litres = rough_cans(flush.litres, collection.habits.can_litres)
    yield f"Flush {flush.group} with plain water: about {litres}, {trees_words(count)}"
    water = group_water(collection.groups[flush.group], collection.waters)
    of = f" ({blend_words(water, collection.habits.can_litres)})" if water is not None else ""
    pace = pace_words(flush.pace)
    yield f"Plain water{of}, no feed in it, until 30 to 50 % of what you pour has run through: {pace}."
    yield f"Trees: {', '.join(map(tree_words, flush.trees))}."
    yield "Not onto sodden or frozen mix. Keep what runs off away from drains, ponds and ditches."


def blend_words(water: GroupWater, litres: Decimal) -> str:
    """The litres of each water in so many litres: "3.1 L tap and 6.9 L butt in 10 L", or the one water's name."""
    if len(water.use.shares) == 1:
        return water.use.shares[0][0]
    tenth = Decimal("0.1")
    parts = [
        f"{number((Decimal(str(share)) * litres).quantize(tenth))} L {name}"
        for name, share in water.use.shares
    ]
    return f"{listed(parts)} in {number(litres)} L"


def watch_words(watch: Watch, day: date) -> str:
    """How often a tree is looked at on a day, and the weather that asks for more than usual."""
    rate, rise = watch.rate_on(day), watch.rise_on(day)
    if rate is None:
        return ""
    words = rate_words(rate)
    if rise is None or rate == watch.usual_on(day):
        return words
    return say("{rate} ({cause})", rate=words, cause=fact_words(rise.cause, day))


def balance_lines(pot: PotDay, depletion: Depletion | None, rate: CheckRate) -> Iterator[str]:
    """One pot's day as numbers a person can follow. rate: how often it is looked at."""
    yield f"Water: {_use_words(pot)}. {_reach_words(pot)}."
    rain_mm = pot.sky.weather.rain_mm
    if rain_mm is not None and pot.sky.weather.standing is not Standing.NORMAL and rain_mm > 0:
        reach = rough_litres(pot.rain_l) if pot.rain_l else "none"
        yield f"  Rain {rain_mm:g} mm: {reach} of it reaches the mix; checks stay."
    if depletion is not None:
        entry = depletion.since
        gone = rough_litres(depletion.missing_l)
        yield f"  Since {full_day(entry.day)} ({entry.source}) about {gone} is gone by evening."
    if looks_on(rate, pot.sky.weather.day) > 1:
        each, whole = rough_litres(litres_for_look(pot.pour_l, rate)), rough_litres(pot.pour_l)
        yield f"  Pour about {each} at a look, {whole} in the day, until some drains; only if it needs it."
    else:
        yield f"  Pour about {rough_litres(litres_for_look(pot.pour_l, rate))}, until some drains; only if it needs it."
    yield f"  Pot {pot.tree.pot.words}, mix {pot.substrate.words} ({pot.substrate.mix.least_known})."


def _use_words(pot: PotDay) -> str:
    exposed_m2 = max(pot.vessel.size.top_m2, pot.vessel.canopy_m2)
    what = "crown" if pot.vessel.canopy_m2 > pot.vessel.size.top_m2 else "top"
    factors = [
        ("leaf", pot.leaf),
        ("place", pot.vessel.position),
        ("walls", pot.vessel.wall),
        ("roots", pot.roots),
    ]
    product = pot.sky.et0_mm * exposed_m2
    for _, factor in factors:
        product *= factor
    told = [f"{name} {factor:.2f}" for name, factor in factors if name == "leaf" or abs(factor - 1) > 0.005]
    standing = {Standing.NORMAL: "normal", Standing.OBSERVED: "observed", Standing.FORECAST: "forecast"}
    et0 = f"ET0 {pot.sky.et0_mm:.1f} mm ({standing[pot.sky.weather.standing]})"
    if pot.use_l > product * 1.001:
        return f"{et0}; bare mix on {pot.vessel.size.top_m2:.3f} m2 loses {rough_litres(pot.use_l)} a day"
    return f"{et0} x {what} {exposed_m2:.3f} m2 x {' x '.join(told)} = {rough_litres(pot.use_l)} a day"


def _reach_words(pot: PotDay) -> str:
    days = pot.hours / 24
    lasts = f"{pot.hours:.0f} h" if days < 2 else f"{days:.1f} days" if days < 10 else "weeks"
    within = rough_litres(pot.vessel.available_l)
    return f"Of {within} within reach {rough_litres(pot.allowed_l)} may go: {lasts}"


def balance_facts(pot: PotDay, depletion: Depletion | None) -> dict[str, Any]:
    """The same facts for `--json`."""
    return {
        "et0_mm": round(pot.sky.et0_mm, 2),
        "weather": str(pot.sky.weather.standing),
        "exposed_m2": round(max(pot.vessel.size.top_m2, pot.vessel.canopy_m2), 4),
        "leaf_factor": round(pot.leaf, 3),
        "place_factor": round(pot.vessel.position, 3),
        "wall_factor": round(pot.vessel.wall, 3),
        "roots_factor": round(pot.roots, 3),
        "use_litres": round(pot.use_l, 4),
        "available_litres": round(pot.vessel.available_l, 4),
        "allowed_litres": round(pot.allowed_l, 4),
        "dries_in_hours": round(pot.hours, 1),
        "rain_mm": pot.sky.weather.rain_mm,
        "rain_litres": round(pot.rain_l, 4),
        "pour_litres": round(pot.pour_l, 4),
        "missing_litres": None if depletion is None else round(depletion.missing_l, 4),
        "watered": None if depletion is None else depletion.since.day.isoformat(),
    }

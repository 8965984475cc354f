"""How thirst, litres, frost and one pot's balance are written for a person."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Sequence
from datetime import date
from decimal import Decimal
from typing import Any

from feedplan.engine.outdoors.daily_et import EtDay
from feedplan.engine.season import Flush, FrostSpell, Watch
from feedplan.engine.water.balance import LEAST_RAIN_MM, Depletion, PotDay, is_windy, two_figures
from feedplan.engine.water.checks import litres_for_look, looks_on
from feedplan.engine.water.day_checks import BenchThirst, TreeLooks
from feedplan.engine.water.own_water import OwnWaters
from feedplan.engine.water.waters import GroupWater, group_water
from feedplan.model.climate import Standing
from feedplan.model.collection import Collection
from feedplan.model.schedule import CheckRate
from feedplan.words.language import say
from feedplan.words.outdoors import pace_words, rate_words
from feedplan.words.reasons import fact_words
from feedplan.words.writing import (
    capital,
    full_day,
    listed,
    number,
    places,
    tree_words,
    trees_line,
    trees_words,
    water_name,
)

FROZEN_ADVICE = "Do not water a frozen ball; check once it has thawed. Shelter pots from wind, on the ground."
NAMED_FIRST = 3


def rough_litres(litres: float | Decimal) -> str:
    """A volume to pour, to two figures: "1.4 L", "80 ml"."""
    rounded = two_figures(litres)
    if rounded < 1:
        return say("{number} ml", number=number(rounded * 1000))
    return say("{number} L", number=number(rounded))


def rough_cans(litres: float | Decimal, can_litres: Decimal) -> str:
    """The same with the cans it fills, from half a can on: "12 L, 1.2 cans"."""
    cans = Decimal(float(litres)) / can_litres
    words = rough_litres(litres)
    if cans < Decimal("0.5"):
        return words
    return say("{litres}, {cans} cans", litres=words, cans=places(cans, 1))


def own_water_sentences(waters: OwnWaters, among: Container[str] | None = None) -> Iterator[str]:
    """Which trees get a water that is not the usual one, a sentence each; among: only of these trees."""
    for use, trees in waters:
        names = ", ".join(name for name in trees if among is None or name in among)
        if not names:
            continue
        shares = [(name, share) for name, share in use.shares if share > 0]
        if len(shares) == 1:
            yield say("{water} only: {names}", water=capital(water_name(shares[0][0])), names=names)
        else:
            parts = listed(
                [say("{percent} % {water}", percent=round(100 * share), water=name) for name, share in shares]
            )
            yield say("Mixed water only, {parts}: {names}", parts=parts, names=names)


def bench_lines(benches: Sequence[BenchThirst], can_litres: Decimal) -> Iterator[str]:
    """One line for each bench, thirstiest first."""
    for bench in benches:
        yield say(
            "{bench}: {looks}; about {litres} for the day",
            bench=bench.name,
            looks=", ".join(map(_first_look, bench.pots[:NAMED_FIRST])),
            litres=rough_cans(bench.pour_l, can_litres),
        )


def _first_look(pot: PotDay) -> str:
    if pot.must_dry:
        return say("{tree} (let the surface dry)", tree=pot.tree.name)
    if pot.hours < 48:
        return say("{tree} (dry in {hours} h)", tree=pot.tree.name, hours=max(1, round(pot.hours)))
    if pot.hours < 24 * 30:
        return say("{tree} ({days} days)", tree=pot.tree.name, days=places(pot.hours / 24))
    return say("{tree} (at rest)", tree=pot.tree.name)


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


def weather_words(et_day: EtDay | None) -> list[str]:
    """The day's weather in short, where it is on record: "7 to 15 °C", and "wind 8 m/s", "rain 6 mm" if they matter."""
    if et_day is None:
        return []
    found = et_day.weather
    words = [say("{least} to {most} °C", least=places(found.tmin_c), most=places(found.tmax_c))]
    if is_windy(et_day):
        words.append(say("wind {m_per_s} m/s", m_per_s=places(found.weather.wind_m_per_s or 0)))
    rain_mm = found.rain_mm or 0.0
    return words + ([say("rain {mm} mm", mm=places(rain_mm))] if rain_mm >= LEAST_RAIN_MM else [])


def frost_words(spell: FrostSpell) -> str:
    """A spell of frozen root balls in one line."""
    frozen = say("Root balls may be frozen, down to {lowest} °C.", lowest=places(spell.lowest_c))
    return f"{frozen} {say(FROZEN_ADVICE)}"


def frost_ahead(coming: EtDay) -> str:
    """What to do on the day before a hard frost."""
    return say(
        "Hard frost tomorrow, {lowest} °C: water dry pots today, a moist ball keeps roots warmer than a dry one.",
        lowest=places(coming.weather.tmin_c),
    )


def flush_lines(flush: Flush, collection: Collection) -> Iterator[str]:
    """A flush: its title, then how it is done."""
    count = sum(tree.count for tree in flush.trees)
    litres = rough_cans(flush.litres, collection.habits.can_litres)
    yield say(
        "Flush {group} with plain water: about {litres}, {trees}",
        group=flush.group,
        litres=litres,
        trees=trees_words(count),
    )
    water = group_water(collection.groups[flush.group], collection.waters)
    yield say(
        "Plain water, no feed in it, until 30 to 50 % of what you pour has run through: {pace}."
        if water is None
        else "Plain water ({water}), no feed in it, until 30 to 50 % of what you pour has run through: {pace}.",
        water="" if water is None else blend_words(water, collection.habits.can_litres),
        pace=pace_words(flush.pace),
    )
    yield trees_line(", ".join(map(tree_words, flush.trees)))
    yield say("Not onto sodden or frozen mix. Keep what runs off away from drains, ponds and ditches.")


def blend_words(water: GroupWater, litres: Decimal) -> str:
    """The litres of each water in so many litres: "3.1 L tap and 6.9 L butt in 10 L", or the one water's name."""
    if len(water.use.shares) == 1:
        return water.use.shares[0][0]
    tenth = Decimal("0.1")
    parts = [
        say("{number} L {water}", number=number((Decimal(str(share)) * litres).quantize(tenth)), water=name)
        for name, share in water.use.shares
    ]
    return say("{parts} in {litres} L", parts=listed(parts), litres=number(litres))


def watch_words(watch: Watch, day: date) -> str:
    """How often a tree is looked at on a day, and the weather that asks for more than usual."""
    rate, rise = watch.rate_on(day), watch.rise_on(day)
    if rate is None:
        return ""
    words = rate_words(rate)
    if rise is None or rate == watch.usual_on(day):
        return words
    return say("{rate} ({cause})", rate=words, cause=fact_words(rise.cause_on(day), day))


def balance_lines(pot: PotDay, depletion: Depletion | None, rate: CheckRate) -> Iterator[str]:
    """One pot's day as numbers a person can follow. rate: how often it is looked at."""
    yield say("Water: {use}. {reach}.", use=_use_words(pot), reach=_reach_words(pot))
    rain_mm = pot.et_day.weather.rain_mm
    if rain_mm is not None and pot.et_day.weather.standing is not Standing.NORMAL and rain_mm > 0:
        yield "  " + say(
            "Rain {mm} mm: {litres} of it reaches the mix; checks stay."
            if pot.rain_l
            else "Rain {mm} mm: none of it reaches the mix; checks stay.",
            mm=number(rain_mm),
            litres=rough_litres(pot.rain_l),
        )
    if depletion is not None:
        entry = depletion.since
        yield "  " + say(
            "Since {day} ({source}) about {litres} is gone by evening.",
            day=full_day(entry.day),
            source=entry.source,
            litres=rough_litres(depletion.missing_l),
        )
    is_often = looks_on(rate, pot.et_day.weather.day) > 1 and not pot.must_dry
    yield "  " + say(
        "Let the surface dry first; then pour about {whole}, until some drains."
        if pot.must_dry
        else "Pour about {each} at a look, {whole} in the day, until some drains; only if it needs it."
        if is_often
        else "Pour about {each}, until some drains; only if it needs it.",
        each=rough_litres(litres_for_look(pot.pour_l, rate)),
        whole=rough_litres(pot.pour_l),
    )
    yield "  " + say(
        "Pot {pot}, mix {mix} ({known}).",
        pot=pot.tree.pot.words,
        mix=pot.substrate.words,
        known=say(pot.substrate.mix.least_known.value),
    )


_ET0 = {
    Standing.NORMAL: "ET0 {mm} mm (normal)",
    Standing.OBSERVED: "ET0 {mm} mm (observed)",
    Standing.FORECAST: "ET0 {mm} mm (forecast)",
}


def _use_words(pot: PotDay) -> str:
    exposed_m2 = max(pot.vessel.size.top_m2, pot.vessel.canopy_m2)
    factors = {
        "leaf {factor}": pot.leaf,
        "place {factor}": pot.vessel.position,
        "walls {factor}": pot.vessel.wall,
        "roots {factor}": pot.roots,
    }
    product = pot.et_day.et0_mm * exposed_m2
    for factor in factors.values():
        product *= factor
    told = [
        say(words, factor=places(factor, 2))
        for words, factor in factors.items()
        if words.startswith("leaf") or abs(factor - 1) > 0.005
    ]
    values = {
        "et0": say(_ET0[pot.et_day.weather.standing], mm=places(pot.et_day.et0_mm, 1)),
        "litres": rough_litres(pot.use_l),
    }
    if pot.use_l > product * 1.001:
        top = places(pot.vessel.size.top_m2, 3)
        return say("{et0}; bare mix on {top} m2 loses {litres} a day", top=top, **values)
    return say(
        "{et0} x crown {area} m2 x {factors} = {litres} a day"
        if pot.vessel.canopy_m2 > pot.vessel.size.top_m2
        else "{et0} x top {area} m2 (no canopy told) x {factors} = {litres} a day"
        if pot.tree.canopy_cm2 is None
        else "{et0} x top {area} m2 x {factors} = {litres} a day",
        area=places(exposed_m2, 3),
        factors=" x ".join(told),
        **values,
    )


def _reach_words(pot: PotDay) -> str:
    days = pot.hours / 24
    return say(
        "Of {within} within reach {allowed} may go: {hours} h"
        if days < 2
        else "Of {within} within reach {allowed} may go: {days} days"
        if days < 10
        else "Of {within} within reach {allowed} may go: weeks",
        within=rough_litres(pot.vessel.available_l),
        allowed=rough_litres(pot.allowed_l),
        hours=places(pot.hours),
        days=places(days, 1),
    )


def balance_facts(pot: PotDay, depletion: Depletion | None) -> dict[str, Any]:
    """The same facts for `--json`."""
    return {
        "et0_mm": round(pot.et_day.et0_mm, 2),
        "weather": str(pot.et_day.weather.standing),
        "exposed_m2": round(max(pot.vessel.size.top_m2, pot.vessel.canopy_m2), 4),
        "leaf_factor": round(pot.leaf, 3),
        "place_factor": round(pot.vessel.position, 3),
        "wall_factor": round(pot.vessel.wall, 3),
        "roots_factor": round(pot.roots, 3),
        "use_litres": round(pot.use_l, 4),
        "available_litres": round(pot.vessel.available_l, 4),
        "allowed_litres": round(pot.allowed_l, 4),
        "dries_in_hours": round(pot.hours, 1),
        "rain_mm": pot.et_day.weather.rain_mm,
        "rain_litres": round(pot.rain_l, 4),
        "pour_litres": round(pot.pour_l, 4),
        "missing_litres": None if depletion is None else round(depletion.missing_l, 4),
        "watered": None if depletion is None else depletion.since.day.isoformat(),
    }

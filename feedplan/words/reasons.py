"""Reasons and holds in words: what stands in the way of a feed or changed it, and what ends that.

Each kind of statement has one template, or a choice among some; its fields are those of the statement, each written
in the one style of its kind. read_on: the day the words are read for; a day of another year is written with it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Set
from dataclasses import fields
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from feedplan.dose.ceilings import EC
from feedplan.engine.feeding.restrictions import end_of
from feedplan.model import alert, stage
from feedplan.model import reason as facts
from feedplan.model.climate import Standing
from feedplan.model.course import Hold
from feedplan.model.hold import Action, Heavier, SignLeft
from feedplan.model.journal import Caused, Entry
from feedplan.model.moment import AtStage, DayOfYear, FirstOf, LastOf
from feedplan.model.reason import Reason
from feedplan.model.stage import Origin, StageRule
from feedplan.model.statement import Statement
from feedplan.words.entries import entry_words
from feedplan.words.language import say, say_count
from feedplan.words.stages import moment_words, origin_words, rule_words
from feedplan.words.writing import day_month, days_words, listed, number, percent

Template = str | tuple[str, str]
"""A sentence with fields; two where one and many differ, for statements with a count."""

Templates = Mapping[type[Statement], Template | Callable[[Any], Template]]
"""What is said of each kind of statement, or how to choose it from one."""

_OF_CHANGES: Templates = {
    facts.DryBall: "dry root ball: water first, feed once evenly moist",
    facts.NoPeriodAhead: "no feeding period is open, and none opens in the days looked at",
    facts.EarlierFeedChanged: "counted from the feed before it, which changed",
    facts.NotInLaterPlan: "the tree is not in the later plan",
    facts.NoLongerPlanned: "the plan no longer has it",
    facts.WeatherOnRecord: "the weather on record",
    facts.WeatherDiffers: "the weather known by then differs",
    facts.FilesDiffer: "the collection or its schedules differ",
    facts.TimeWentOn: "time went on",
    facts.FedAlthough: "fed although held: {held}",
    facts.NoLonger: "no longer: {was}",
    facts.Overridden: "your own override of '{held}', because: {because}",
    facts.InJournal: lambda fact: "new in the journal: {entries}" if fact.is_new else "{entries}",
    facts.Quoted: "{text}",
    facts.StageMoved: lambda fact: (
        "{stage}: {origin}, before {before}"
        if fact.day is None
        else "{stage}: {origin} {day}, before {before}"
        if fact.before is not None
        else "{stage}: {origin} {day}, before awaited"
    ),
}
_TO_MIX = {
    (False, False): "due {due}, put off {by} to the day of mixing",
    (True, False): "due {due}, brought forward {by} to the day of mixing",
    (False, True): "due {due}, put off {by} to mix with {others}",
    (True, True): "due {due}, brought forward {by} to mix with {others}",
}
_OF_FEEDS: Templates = {
    facts.Held: lambda fact: (
        "{rule} on {start}"
        if fact.worked is None
        else "{rule} from {start}, as what ends it was not seen after the work on {worked}"
    ),
    facts.SolidStopped: "{rule} on {start} stops solid feed",
    facts.RampStep: "taking feed up again after {rule} on {start}: {percent} % of plan",
    facts.WeakFirst: "weak liquid feed first after {rule}; solid feed cannot be weakened",
    facts.CappedAfter: "capped this season after {rule}",
    facts.PastLastFeed: "no feed after {last_feed} in the season it recovered from: {rule}",
    facts.LiquidOnly: "liquid feed only in the season it recovered from: {rule}",
    facts.LabelMaximum: lambda fact: (
        "{feed}: never above the label's {highest} {unit} per litre of pot"
        if fact.of_pot
        else "{feed}: never above the label's {highest} {unit} per litre"
    ),
    facts.OverCeiling: lambda fact: (
        "{feeds}: {asked} ppm N would add {holds} mS/cm to the water, the ceiling is {most}: no more than {ppm} ppm N"
        if fact.what == EC
        else "{feeds}: {asked} ppm N would bring {holds} mg {what} per litre, the ceiling is {most}: no more than "
        "{ppm} ppm N"
    ),
    facts.LittleNitrogen: lambda fact: (
        "{feeds}: reaches {ppm} of the {asked} ppm N asked for"
        if fact.ppm
        else "no nitrogen in {feeds}, so no feed of {asked} ppm N"
    ),
    facts.OverBudget: lambda fact: (
        "season budget {budget} mg N per L of pot: trimmed to {ppm} ppm"
        if fact.ppm
        else "season budget {budget} mg N per L of pot: too little is left"
    ),
    facts.NoRoomForSolid: "season budget {budget} mg N per L of pot: no room for more solid feed",
    facts.CutToFit: "season budget {budget} mg N per L of pot: cut from {asked} to {laid} g per litre of pot",
    facts.OffTooSoon: "'{period}' has it lifted again on {lift}, before half of its {every} are over",
    facts.ToFeedingDay: lambda fact: (
        "due {due}, moved to a feeding day" if fact.due is not None else "moved to a feeding day"
    ),
    facts.ToMixingDay: lambda fact: _TO_MIX[fact.is_early, bool(fact.others)],
    facts.NotRecorded: lambda fact: (
        "due {due}, not recorded as laid"
        if fact.laid
        else "due {due}, not recorded as given: give it once, never doubled"
    ),
    facts.Absence: "away {start} to {end}",
    facts.BeforeAbsence: "due {due}, while away {start} to {end}: given before leaving",
    facts.NotHereYet: "not here before {arrives}",
    facts.GoneSince: "gone since {left}",
    facts.PeriodAhead: "no feeding period is open; '{period}' opens {opens}, from {start}",
    facts.PeriodOver: "'{period}' is over: {end}",
    facts.WaitsForStage: "'{period}' waits for {stage} to be seen",
    facts.NotDue: lambda fact: {
        (True, True): "not fed yet this season; no further feed in the days looked at",
        (True, False): "not fed yet this season; next due {coming}",
        (False, True): "fed {last}; no further feed in the days looked at"
        if fact.is_given
        else "a feed of {last} was not given; no further feed in the days looked at",
        (False, False): "fed {last}; next due {coming}"
        if fact.is_given
        else "a feed of {last} was not given; next due {coming}",
    }[fact.last is None, fact.coming is None],
}
_OF_WEATHER: Templates = {
    facts.HeavyRain: lambda fact: (
        "{rain_mm} mm of rain forecast: it would wash the feed out; checks go on"
        if fact.standing is Standing.FORECAST
        else "{rain_mm} mm of rain fell: it would wash the feed out; checks go on"
    ),
    facts.FrostOnSoftGrowth: lambda fact: (
        "{tmin_c} °C forecast on soft growth: look first, feed another day"
        if fact.standing is Standing.FORECAST
        else "{tmin_c} °C on soft growth: look first, feed another day"
    ),
    facts.HotAir: lambda fact: (
        "{tmax_c} °C forecast: '{period}' is for air below {limit_c} °C"
        if fact.standing is Standing.FORECAST
        else "{tmax_c} °C observed: '{period}' is for air below {limit_c} °C"
    ),
    facts.ColdRootZone: lambda fact: (
        "root zone likely below {least_c} °C"
        if fact.measured_c is None
        else "root zone measured at {measured_c} °C on {measured_on}, below {least_c} °C"
    ),
    alert.HeatWave: "Heat wave from {start}, up to {peak_c} °C: no feed, no work and no spraying before {end}",
    alert.ColdNight: "{tmin_c} °C in the night to {dawn}: frost may reach soft growth",
    alert.FrostyNight: "{tmin_c} °C last night: frost may have hurt soft growth",
    alert.HotRoots: "Roots on the sunny side of these pots may reach {peak_c} °C",
    alert.StrongWind: "Wind {m_per_s} m/s on soft growth",
    alert.RecordEnds: "The weather record ends {last}; its forecast counts for nothing any more",
    alert.FrozenBalls: "{lowest_c} °C",
    alert.SeenAgain: (
        "{stage} seen {first}, and again {day}: which is right? Take the other back: feedplan record --undo {entry}, "
        "or {again}; until then the first counts"
    ),
    alert.SeenOutOfOrder: (
        "{stage} seen {day}, after {later} on {first}: which is right? Take the other back: feedplan record --undo "
        "{entry}, or {again}; until then the first counts"
    ),
    alert.SeenTooEarly: (
        "{stage} seen {day}, and no year brings it before {earliest}: it counts for nothing. Take it back with "
        "feedplan record --undo {entry} and write the right day; or, if your trees are so early, your own date under "
        "stages:"
    ),
    alert.HotDays: "{tmax_c} °C on {day}",
    alert.WindyDays: "wind of {m_per_s} m/s on {day}",
    alert.DryDays: "dry days, {et0_mm} mm evaporate on {day}",
}
_ENDS: Templates = {
    facts.PlannedWork: lambda fact: (
        "{work} planned for {on} (as {rule}): from then on no {stops} before {minimum}"
        if not fact.missing
        else "{work} planned for {on} (as {rule}): from then on no {stops} before {minimum}, and once seen: {missing}"
        if fact.about is None
        else "{work} planned for {on} (as {rule}): from then on no {stops} before {minimum}, and once seen: {missing}, "
        "likely about {about}"
    ),
    facts.OutOfSeason: (
        "{work} on {on} is out of season for its kind, whose time is from {start} to {stop}: counts as {rule}; shade, "
        "shelter, keep every leaf, and do not count on growth this year"
    ),
    facts.HoldEnd: lambda end: (
        "ends {day}"
        if end.day is not None
        else "put off to spring {spring}, and then once seen: {missing}"
        if end.spring is not None
        else "not before {minimum}, and once seen: {missing}; from {turns} as {into}, if nothing is seen"
        if end.turns is not None
        else "not before {minimum}, and once seen: {missing}"
        if end.missing
        else "not before {minimum}"
    ),
    facts.WarmAgain: "{days} running warm enough by air, sun and place, or {least_c} °C measured",
}
_OF_STAGES: Templates = {
    stage.Basis: lambda basis: "{rule}; {parts}" if basis.parts else "{rule}",
    stage.Counted: "{amount} counted by {by}",
    stage.ChillShort: "{time} short of winter cold, so late and uneven: go tree by tree",
    stage.DrawnTowards: (
        "drawn towards {count} tree of its species, seen on average {mean}",
        "drawn towards {count} trees of its species, seen on average {mean}",
    ),
    stage.SpanOfYears: ("span over {count} past year", "span over {count} past years"),
    stage.SpanByNormals: "span by normals and the usual spread",
    stage.GiveOrTake: "give or take {time}",
}
FACTS: Templates = {**_OF_CHANGES, **_OF_FEEDS, **_OF_WEATHER, **_ENDS, **_OF_STAGES}

CAUSES: Templates = {
    facts.HeavyRain: lambda fact: (
        "{rain_mm} mm of rain forecast" if fact.standing is Standing.FORECAST else "{rain_mm} mm of rain fell"
    ),
    facts.FrostOnSoftGrowth: "frost on soft growth",
    facts.HotAir: lambda fact: (
        "{tmax_c} °C forecast" if fact.standing is Standing.FORECAST else "{tmax_c} °C observed"
    ),
}
"""What is said of weather that stands in the way where the rest goes without saying."""

VALUES: Templates = {
    facts.DryBall: "dry",
    facts.Held: "{at_least}",
    facts.RampStep: "{percent} %",
    facts.CappedAfter: "{cap_ppm} ppm N",
    facts.PastLastFeed: "{last_feed}",
    facts.LabelMaximum: lambda fact: "{highest} {unit} per L" if fact.of_pot else "{ppm} ppm N",
    facts.OverCeiling: "{ppm} ppm N",
    facts.LittleNitrogen: "{ppm} ppm N",
    facts.OverBudget: "{budget} mg N per L of pot",
    facts.NoRoomForSolid: "{total} mg N per L",
    facts.CutToFit: "{laid} g per L",
    facts.OffTooSoon: "{lift}",
    facts.ToFeedingDay: lambda fact: (
        "" if fact.later is None else "{later}" if fact.later.days < 0 else "+{later}"
    ),
    facts.ToMixingDay: lambda fact: "-{by}" if fact.is_early else "+{by}",
    facts.HeavyRain: "{rain_mm} mm",
    facts.HotAir: "{tmax_c} °C",
    facts.FrostOnSoftGrowth: "{tmin_c} °C",
    facts.ColdRootZone: "{least_c} °C",
    facts.PeriodAhead: lambda fact: "{start}" if fact.origin is None else "{start}: {origin}",
    facts.WaitsForStage: "{stage}",
}


def reason_words(reason: Reason, read_on: date) -> str:
    """A reason in short: what stands in the way, and what ends it."""
    return with_end(reason.fact, reason.ends, read_on)


def reasons_words(reasons: Iterable[Reason], read_on: date) -> str:
    """Several reasons in one line."""
    return "; ".join(reason_words(reason, read_on) for reason in reasons)


def with_end(fact: Statement, end: Statement | None, read_on: date) -> str:
    """A fact, and after a colon what ends it."""
    words = fact_words(fact, read_on)
    return words if end is None else say("{fact}: {end}", fact=words, end=fact_words(end, read_on))


def fact_words(fact: Statement, read_on: date) -> str:
    """What stands in the way, what changed, what decided or what would end it."""
    return filled(FACTS, fact, read_on)


def cause_words(fact: Statement, read_on: date) -> str:
    """What stands in the way, as short as it can be: "33 °C forecast"."""
    return filled(CAUSES if type(fact) in CAUSES else FACTS, fact, read_on)


def value_words(fact: Statement) -> str:
    """The value that decided, with its unit; empty where none did."""
    if isinstance(fact, facts.FedAlthough):
        return value_words(fact.held)
    return filled(VALUES, fact, date.min) if type(fact) in VALUES else ""


def basis_words(basis: Statement | None, read_on: date) -> str:
    """What a stage's date rests on; empty for one that was seen."""
    return "" if basis is None else fact_words(basis, read_on)


def filled(templates: Templates, statement: Statement, read_on: date, **more: str) -> str:
    """The template of a statement with its fields in it. more: fields that are written otherwise."""
    template = templates[type(statement)]
    chosen = template(statement) if callable(template) else template
    values = {field.name: _written(getattr(statement, field.name), read_on) for field in fields(statement)}
    if isinstance(chosen, str):
        return say(chosen, **{**values, **more})
    return say_count(*chosen, values.pop("count"), **{**values, **more})


def _written(value: Any, read_on: date) -> Any:
    """A field in the style of its kind."""
    if isinstance(value, Statement):
        return fact_words(value, read_on)
    if isinstance(value, tuple):
        parts = [_written(each, read_on) for each in value]
        return "; ".join(parts) if value and isinstance(value[0], Statement | Entry) else listed(parts)
    style = _STYLES.get(type(value))
    return value if style is None else style(value, read_on)


_STYLES: Mapping[type, Callable[[Any, date], str]] = {
    date: day_month,
    timedelta: lambda time, _: days_words(time.days),
    Decimal: lambda value, _: number(value),
    float: lambda value, _: number(value),
    Entry: lambda entry, _: entry_words(entry),
    StageRule: lambda rule, _: rule_words(rule),
    Origin: lambda origin, _: origin_words(origin),
    SignLeft: lambda left, _: sign_words(left),
    frozenset: lambda stops, _: none_of_words(stops),
    **dict.fromkeys((DayOfYear, AtStage, FirstOf, LastOf), lambda moment, _: moment_words(moment)),
}


def sign_words(left: SignLeft) -> str:
    """A sign still to be seen: "hardened", "extension, 2 times", "extension once more"."""
    if left.seen and left.is_last:
        return say("{sign} once more", sign=left.sign)
    if left.times == 1:
        return left.sign
    return say("{sign}, {times} times", sign=left.sign, times=left.times)


def signs_words(left: Iterable[SignLeft]) -> str:
    """Signs still to be seen, in one list: "extension and hardened"."""
    return listed([sign_words(each) for each in left])


def missing_words(hold: Hold) -> str:
    """What is to be seen before a hold ends: its signs not seen yet, or only that the tree is still well."""
    return signs_words(met.left for met in hold.missing) or say("still well")


_HEAVIER = {
    Heavier.BARE_ROOTED: "bare roots",
    Heavier.ITS_KIND: "what such a tree stands",
    Heavier.OUT_OF_SEASON: "the time of year",
}


def hold_words(hold: Hold, read_on: date) -> str:
    """What opened a hold, in short: "repotted, moderate, 30 % of roots, 26 Apr"."""
    what, fact = hold.rule.name, hold.entry.fact
    if isinstance(fact, Caused) and fact.roots is not None:
        what = say("{rule}, {share} of roots", rule=what, share=percent(fact.roots))
    raised_by = hold.heavier if hold.follows is None else ()
    if raised_by:
        why = listed([say(_HEAVIER[each]) for each in raised_by])
        what = say("{what}, counted heavier for {why}", what=what, why=why)
    if hold.follows is not None:
        worked = day_month(hold.entry.day, read_on)
        return say("{what}, as what ends it was not seen after {worked}", what=what, worked=worked)
    return say("{what}, {day}", what=what, day=day_month(hold.start, read_on))


def hold_end_words(hold: Hold, read_on: date) -> str:
    """When a hold ends, in words."""
    return fact_words(end_of(hold), read_on)


_ACTIONS = {
    Action.LIQUID: "liquid feed",
    Action.SOLID: "solid feed",
    Action.FOLIAR: "foliar feed",
    Action.PRUNING: "pruning",
    Action.WIRING: "wiring",
    Action.REPOTTING: "repotting",
    Action.FULL_SUN: "full sun",
}
_FEEDS = {Action.LIQUID, Action.SOLID, Action.FOLIAR}


def stops_words(stops: Set[Action]) -> str:
    """What a hold stops, as a person says it: "all feed, pruning and wiring"."""
    return listed(_actions(stops, say("all feed")))


def none_of_words(stops: Set[Action]) -> str:
    """The same after a no: "feed, pruning or wiring"."""
    return listed(_actions(stops, say("feed")), "or")


def _actions(stops: Set[Action], all_feed: str) -> list[str]:
    """Actions in words, the three kinds of feed as one where all are stopped."""
    words = [all_feed] if stops >= _FEEDS else []
    shown = (action for action in Action if action in stops and not (words and action in _FEEDS))
    return words + [say(_ACTIONS[action]) for action in shown]

"""Reasons and holds in words: what stands in the way of a feed or changed it, and what ends that.

read_on: the day the words are read for; a day of another year is written with it.
"""

from __future__ import annotations

from collections.abc import Iterable, Set
from datetime import date
from decimal import Decimal

from feedplan.engine.feeding.barriers import end_of
from feedplan.model.climate import Standing
from feedplan.model.course import Hold
from feedplan.model.hold import Action, SignLeft
from feedplan.model.journal import Caused
from feedplan.model.reason import (
    Absence,
    AlertFact,
    CappedAfter,
    ChangeFact,
    Circumstance,
    ColdRootZone,
    DayFact,
    End,
    FedAlthough,
    FrozenBalls,
    GoneSince,
    HeavyRain,
    Held,
    HoldEnd,
    HoldFact,
    HotAir,
    InJournal,
    LabelMaximum,
    LiquidOnly,
    NoLonger,
    NoRoomForSolid,
    NotDue,
    NotHereYet,
    NotRecorded,
    OverBudget,
    Overridden,
    PastLastFeed,
    PeriodAhead,
    PeriodFact,
    PeriodOver,
    Quoted,
    RampStep,
    RateFact,
    Reason,
    ReasonFact,
    SolidStopped,
    StageMoved,
    StageSeen,
    ThirstFact,
    ToFeedingDay,
    WaitsForStage,
    WarmAgain,
    WeakFirst,
    Wrapped,
)
from feedplan.model.stage import Basis, GiveOrTake
from feedplan.words.entries import entry_words
from feedplan.words.language import say, say_count
from feedplan.words.outdoors import alert_words, thirst_words
from feedplan.words.stages import basis_words, moment_words, origin_words
from feedplan.words.writing import day_month, days_words, listed, number, percent, places, whole_ppm

_PLAIN = {
    Circumstance.DRY_BALL: "dry root ball: water first, feed once evenly moist",
    Circumstance.NO_PERIOD_AHEAD: "no feeding period is open, and none opens in the days looked at",
    Circumstance.EARLIER_FEED_CHANGED: "counted from the feed before it, which changed",
    Circumstance.NOT_IN_LATER_PLAN: "the tree is not in the later plan",
    Circumstance.NO_LONGER_PLANNED: "the plan no longer has it",
    Circumstance.WEATHER_ON_RECORD: "the weather on record",
    Circumstance.WEATHER_DIFFERS: "the weather known by then differs",
    Circumstance.FILES_DIFFER: "the collection or its schedules differ",
    Circumstance.TIME_WENT_ON: "time went on",
}


def reason_words(reason: Reason, read_on: date) -> str:
    """A reason in short: what stands in the way, and what ends it."""
    return with_end(reason.fact, reason.ends, read_on)


def with_end(fact: ReasonFact, ends: End | None, read_on: date) -> str:
    """A fact, and after a colon what ends it."""
    words = fact_words(fact, read_on)
    return words if ends is None else say("{fact}: {end}", fact=words, end=end_words(ends, read_on))


def reasons_words(reasons: Iterable[Reason], read_on: date) -> str:
    """Several reasons in one line."""
    return "; ".join(reason_words(reason, read_on) for reason in reasons)


def fact_words(fact: ReasonFact, read_on: date) -> str:
    """What stands in the way, what changed or what decided, without what ends it."""
    if isinstance(fact, HoldFact):
        return _of_a_hold(fact, read_on)
    if isinstance(fact, RateFact):
        return _of_a_rate(fact, read_on)
    if isinstance(fact, DayFact):
        return _of_a_day(fact, read_on)
    if isinstance(fact, PeriodFact):
        return _of_a_period(fact, read_on)
    if isinstance(fact, ThirstFact):
        return thirst_words(fact, read_on)
    if isinstance(fact, AlertFact):
        return alert_words(fact, read_on)
    if isinstance(fact, ChangeFact):
        return _of_a_change(fact, read_on)
    return _of_another(fact, read_on)


def _of_a_hold(fact: HoldFact, read_on: date) -> str:
    match fact:
        case Held(rule, start):
            return say("{rule} on {day}", rule=rule, day=day_month(start, read_on))
        case SolidStopped(rule, start):
            return say("{rule} on {day} stops solid feed", rule=rule, day=day_month(start, read_on))
        case RampStep(rule, start, share):
            return say(
                "taking feed up again after {rule} on {day}: {share} of plan",
                rule=rule,
                day=day_month(start, read_on),
                share=percent(share),
            )
        case WeakFirst(rule):
            return say("weak liquid feed first after {rule}; solid feed cannot be weakened", rule=rule)
        case CappedAfter(rule):
            return say("capped this season after {rule}", rule=rule)
        case PastLastFeed(rule, last_feed):
            return say(
                "no feed after {day} in the season it recovered from: {rule}",
                day=moment_words(last_feed),
                rule=rule,
            )
        case LiquidOnly(rule):
            return say("liquid feed only in the season it recovered from: {rule}", rule=rule)


def _of_a_rate(fact: RateFact, read_on: date) -> str:
    match fact:
        case LabelMaximum(feed, highest, unit):
            most = "{feed}: never above the label's {highest} {unit} per litre"
            if fact.of_pot:
                most = "{feed}: never above the label's {highest} {unit} per litre of pot"
            return say(most, feed=feed, highest=number(highest), unit=unit)
        case OverBudget(budget, ppm) if ppm == 0:
            return say("season budget {budget} mg N per L of pot: too little is left", budget=number(budget))
        case OverBudget(budget, ppm):
            return say(
                "season budget {budget} mg N per L of pot: trimmed to {ppm} ppm",
                budget=number(budget),
                ppm=whole_ppm(ppm),
            )
        case NoRoomForSolid(budget):
            return say(
                "season budget {budget} mg N per L of pot: no room for more solid feed", budget=number(budget)
            )
        case ToFeedingDay(None):
            return say("moved to a feeding day")
        case ToFeedingDay(due):
            assert due is not None
            return say("due {day}, moved to a feeding day", day=day_month(due, read_on))
        case NotRecorded(due, laid):
            if laid:
                return say("due {day}, not recorded as laid", day=day_month(due, read_on))
            return say(
                "due {day}, not recorded as given: give it once, never doubled", day=day_month(due, read_on)
            )


def _of_a_day(fact: DayFact, read_on: date) -> str:
    match fact:
        case HeavyRain(rain_mm, Standing.FORECAST):
            return say("{mm} mm of rain forecast: it would wash the feed out; checks go on", mm=rain_mm)
        case HeavyRain(rain_mm):
            return say("{mm} mm of rain fell: it would wash the feed out; checks go on", mm=rain_mm)
        case HotAir(tmax_c, standing, period, limit_c):
            hot = "{temp} °C observed: '{period}' is for air below {limit} °C"
            if standing is Standing.FORECAST:
                hot = "{temp} °C forecast: '{period}' is for air below {limit} °C"
            return say(hot, temp=tmax_c, period=period, limit=number(limit_c))
        case ColdRootZone(least_c, measured_c, measured_on):
            least = number(least_c)
            if measured_c is None or measured_on is None:
                return say("root zone likely below {least} °C", least=least)
            return say(
                "root zone measured at {temp} °C on {day}, below {least} °C",
                temp=number(measured_c),
                day=day_month(measured_on, read_on),
                least=least,
            )
        case Absence(start, end):
            return say("away {start} to {end}", start=day_month(start, read_on), end=day_month(end, read_on))
        case NotHereYet(arrives):
            return say("not here before {day}", day=day_month(arrives, read_on))
        case GoneSince(left):
            return say("gone since {day}", day=day_month(left, read_on))


def _of_a_period(fact: PeriodFact, read_on: date) -> str:
    match fact:
        case PeriodAhead(period, opens, start):
            return say(
                "no feeding period is open; '{period}' opens {day}, from {start}",
                period=period,
                day=day_month(opens, read_on),
                start=moment_words(start),
            )
        case PeriodOver(period, end):
            return say("'{period}' is over: {end}", period=period, end=moment_words(end))
        case WaitsForStage(period, stage):
            return say("'{period}' waits for {stage} to be seen", period=period, stage=stage)
        case NotDue(last, coming):
            fed = say("not fed yet this season")
            if last is not None:
                fed = say("fed {day}", day=day_month(last, read_on))
            if coming is None:
                return say("{fed}; no further feed in the days looked at", fed=fed)
            return say("{fed}; next due {day}", fed=fed, day=day_month(coming, read_on))


def _of_a_change(fact: ChangeFact, read_on: date) -> str:
    match fact:
        case StageMoved(stage, origin, day, before):
            now = origin_words(origin)
            if day is not None:
                now = say("{origin} {day}", origin=now, day=day_month(day, read_on))
            was = say("awaited") if before is None else day_month(before, read_on)
            return say("{stage}: {now}, before {was}", stage=stage, now=now, was=was)
        case InJournal(entries, is_new):
            words = "; ".join(map(entry_words, entries))
            return say("new in the journal: {entries}", entries=words) if is_new else words
        case Quoted(text):
            return text
        case Basis() | GiveOrTake():
            return basis_words(fact, read_on)


def _of_another(fact: Circumstance | FrozenBalls | Wrapped, read_on: date) -> str:
    match fact:
        case Circumstance():
            return say(_PLAIN[fact])
        case FrozenBalls(lowest_c):
            return say("{temp} °C", temp=places(lowest_c))
        case Overridden(held, because):
            words = "; ".join(fact_words(each, read_on) for each in held)
            return say("your own override of '{held}', because: {because}", held=words, because=because)
        case FedAlthough(stood):
            return say("fed although held: {held}", held=fact_words(stood, read_on))
        case NoLonger(was):
            return say("no longer: {reason}", reason=fact_words(was, read_on))


def end_words(ends: End, read_on: date) -> str:
    """What would end something: a day, signs to be seen, warmth."""
    match ends:
        case HoldEnd(day) if day is not None:
            return say("ends {day}", day=day_month(day, read_on))
        case HoldEnd(_, minimum, ()):
            return say("not before {day}", day=day_month(minimum, read_on))
        case HoldEnd(_, minimum, missing):
            return say(
                "not before {day}, and once seen: {signs}",
                day=day_month(minimum, read_on),
                signs=signs_words(missing),
            )
        case WarmAgain(days, mean_c, least_c):
            return say_count(
                "{count} day with a mean of {mean} °C, or {least} °C measured",
                "{count} days running with a mean of {mean} °C, or {least} °C measured",
                days,
                mean=number(mean_c),
                least=number(least_c),
            )
        case StageSeen(stage):
            return say("{stage} seen", stage=stage)
        case _:
            return basis_words(ends, read_on)


def value_words(fact: ReasonFact) -> str:
    """The value that decided, with its unit; empty where none did."""
    match fact:
        case Held(_, _, min_days):
            return days_words(min_days)
        case RampStep(_, _, share):
            return percent(share)
        case CappedAfter(_, ppm) | LabelMaximum(ppm=Decimal() as ppm):
            return say("{number} ppm N", number=number(ppm))
        case PastLastFeed(_, last_feed):
            return moment_words(last_feed)
        case LabelMaximum(_, highest, unit):
            return say("{number} {unit} per L", number=number(highest), unit=unit)
        case OverBudget(budget):
            return say("{number} mg N per L of pot", number=number(budget))
        case NoRoomForSolid(_, total):
            return say("{number} mg N per L", number=places(total))
        case ToFeedingDay(_, days) if days:
            return say_count("{sign}{count} day", "{sign}{count} days", days, sign="+" if days > 0 else "")
        case FedAlthough(inner) | NoLonger(inner):
            return value_words(inner)
        case _:
            return _value_of_a_day(fact)


def _value_of_a_day(fact: ReasonFact) -> str:
    match fact:
        case Circumstance.DRY_BALL:
            return say("dry")
        case HeavyRain(rain_mm):
            return say("{number} mm", number=rain_mm)
        case HotAir(tmax_c):
            return say("{number} °C", number=tmax_c)
        case ColdRootZone(least_c):
            return say("{number} °C", number=number(least_c))
        case PeriodAhead(_, _, start, None):
            return moment_words(start)
        case PeriodAhead(_, _, start, origin):
            assert origin is not None
            return say("{start}: {origin}", start=moment_words(start), origin=origin_words(origin))
        case WaitsForStage(_, stage):
            return stage
        case _:
            return ""


def sign_words(left: SignLeft) -> str:
    """A sign still to be seen: "hardened", "extension, 2 times", "extension once more"."""
    if left.seen and left.times - left.seen == 1:
        return say("{sign} once more", sign=left.sign)
    if left.times == 1:
        return left.sign
    return say("{sign}, {times} times", sign=left.sign, times=left.times)


def signs_words(left: Iterable[SignLeft]) -> str:
    """Signs still to be seen, in one list: "extension and hardened"."""
    return listed([sign_words(each) for each in left])


def hold_words(hold: Hold, read_on: date) -> str:
    """What opened a hold, in short: "repotted, moderate, 30 % of roots, 26 Apr"."""
    what, fact = hold.rule.name, hold.entry.fact
    if isinstance(fact, Caused) and fact.roots is not None:
        what = say("{rule}, {share} of roots", rule=what, share=percent(fact.roots))
    return say("{what}, {day}", what=what, day=day_month(hold.start, read_on))


def hold_end_words(hold: Hold, read_on: date) -> str:
    """When a hold ends, in words."""
    return end_words(end_of(hold), read_on)


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

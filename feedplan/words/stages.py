"""Moments of the year, and where the date of a stage comes from, in words."""

from __future__ import annotations

from datetime import date

from feedplan.engine.answers.lessons import TooFew
from feedplan.model.clock import Measure, StageRule
from feedplan.model.moment import AtStage, DayOfYear, FirstOf, LastOf, Moment
from feedplan.model.stage import Basis, Counted, GiveOrTake, Origin
from feedplan.words.language import say, say_count
from feedplan.words.writing import MONTHS, day_month, days_words, listed, number, places

_ORIGINS = {
    Origin.SEEN: "seen",
    Origin.INFORMED: "predicted, drawn towards trees of its species seen this season",
    Origin.PREDICTED: "predicted from the weather",
    Origin.TYPICAL: "typical date",
    Origin.SHIFTED: "typical date, moved by a late season",
    Origin.AWAITED: "awaited",
}


def origin_words(origin: Origin) -> str:
    """Where a stage's date comes from."""
    return say(_ORIGINS[origin])


def moment_words(moment: Moment) -> str:
    """A moment: "15 August", "leaves open + 10 days", "30 September or leaves colouring"."""
    match moment:
        case DayOfYear(month, day):
            return say("{day} {month}", day=day, month=say(MONTHS[month - 1]))
        case AtStage(stage, offset_days, seen_only):
            words = stage
            if offset_days:
                offset = "{stage} + {days}" if offset_days > 0 else "{stage} - {days}"
                words = say(offset, stage=stage, days=days_words(abs(offset_days)))
            return say("{stage} once seen", stage=words) if seen_only else words
        case FirstOf(moments):
            return listed([moment_words(each) for each in moments], "or")
        case LastOf(moments):
            return listed([moment_words(each) for each in moments])


def rule_words(rule: StageRule) -> str:
    """A rule as a phrase: "75 degree days above 5 °C from 1 February, give or take 25"."""
    start = say("from {moment}", moment=moment_words(rule.counting.count_from))
    if rule.after is not None:
        start = say("after {stage}", stage=rule.after)
    words = say("{what}, give or take {range}", what=_amount(rule, start), range=number(rule.give_or_take))
    if rule.measure is Measure.DAY_SHORTENED:
        words = say(
            "{what}, give or take {range} days", what=_amount(rule, start), range=number(rule.give_or_take)
        )
    how = _how(rule)
    return say("{rule} ({how})", rule=words, how=how) if how else words


def _amount(rule: StageRule, start: str) -> str:
    """What a rule counts, and from when. start: "from 1 February", "after leaves open"."""
    match rule.measure:
        case Measure.WARMTH:
            what, base = "{amount} degree days above {base} °C {start}", rule.counting.base_c
        case Measure.COLD:
            what, base = "{amount} degree days of cold below {base} °C {start}", rule.below_c or 0.0
        case Measure.DAYS:
            return say("{days} {start}", days=days_words(round(rule.amount)), start=start)
        case Measure.DAY_SHORTENED:
            return say(
                "day length {share} % of the way from the longest to the shortest day",
                share=number(rule.amount * 100),
            )
    return say(what, amount=number(rule.amount), base=number(base), start=start)


def _how(rule: StageRule) -> str:
    if rule.own_date:
        return say("what your own date comes to")
    return rule.how or (say("learned from your own sightings") if rule.learned else "")


def basis_words(basis: Basis | GiveOrTake | None, read_on: date) -> str:
    """What a stage's date rests on; empty for one that was seen."""
    if basis is None:
        return ""
    if isinstance(basis, GiveOrTake):
        return say("give or take {days}", days=days_words(basis.days))
    parts = [rule_words(basis.rule)]
    if basis.counted is not None:
        parts += _counted(basis.counted, read_on)
    if basis.seen_on is not None:
        parts.append(
            say_count(
                "drawn towards {count} tree of its species, seen on average {day}",
                "drawn towards {count} trees of its species, seen on average {day}",
                basis.trees_seen,
                day=day_month(basis.seen_on, read_on),
            )
        )
    if basis.span_years:
        parts.append(
            say_count("span over {count} past year", "span over {count} past years", basis.span_years)
        )
    elif basis.span_years is not None:
        parts.append(say("span by normals and the usual spread"))
    return "; ".join(parts)


def _counted(counted: Counted, read_on: date) -> list[str]:
    amount, day = places(counted.amount), day_month(counted.by, read_on)
    parts = [say("{amount} counted by {day}", amount=amount, day=day)]
    if counted.chill_short_days:
        short = days_words(round(counted.chill_short_days))
        parts.append(say("{days} short of winter cold, so late and uneven: go tree by tree", days=short))
    return parts


def too_few_words(few: TooFew) -> str:
    """Why nothing was learned from what was seen."""
    seasons = say_count("seen in {count} season", "seen in {count} seasons", few.seen)
    if few.seen < few.needed:
        return say("{seen}; {needed} are needed", seen=seasons, needed=few.needed)
    return say(
        "{seen}, but the weather of only {known} is on record; {needed} are needed",
        seen=seasons,
        known=few.on_record,
        needed=few.needed,
    )

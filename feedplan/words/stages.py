"""Moments of the year, and where the date of a stage comes from, in words."""

from __future__ import annotations

from feedplan.engine.answers.calibration import TooFew
from feedplan.model.moment import AtStage, DayOfYear, FirstOf, LastOf, Moment
from feedplan.model.stage import Measure, Origin, StageRule
from feedplan.words.language import say, say_count
from feedplan.words.writing import MONTHS, days_words, listed, number

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


_RULES = {
    Measure.WARMTH: "{amount} degree days above {base} °C {start}, give or take {range}",
    Measure.COLD: "{amount} degree days of cold below {below} °C {start}, give or take {range}",
    Measure.DAYS: "{amount} days {start}, give or take {range}",
    Measure.DAY_SHORTENED: (
        "day length {share} % of the way from the longest to the shortest day, give or take {range} days"
    ),
}


def rule_words(rule: StageRule) -> str:
    """A rule as a phrase: "75 degree days above 5 °C from 1 February, give or take 25"."""
    start = say("from {moment}", moment=moment_words(rule.counting.count_from))
    words = say(
        _RULES[rule.measure],
        amount=number(rule.amount),
        base=number(rule.counting.base_c),
        below=number(rule.below_c or 0.0),
        share=number(rule.amount * 100),
        start=start if rule.after is None else say("after {stage}", stage=rule.after),
        range=number(rule.give_or_take),
    )
    how = say("learned from your own sightings") if rule.learned and not rule.how else rule.how
    how = say("what your own date comes to") if rule.own_date else how
    return say("{rule} ({how})", rule=words, how=how) if how else words


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

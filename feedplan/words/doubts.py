"""Doubtful practice in words: what a careful grower would think about twice, and what to write instead."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from feedplan.engine.answers.doubts import (
    AboveLabel,
    Doubt,
    DoubtFact,
    FedWhenHeld,
    LaidTooOften,
    LongAway,
    MuchNitrogen,
    NoProduct,
    NoSolidProduct,
    NotYet,
    StageNotTheirs,
    UnknownSpecies,
)
from feedplan.engine.water.waters import (
    MOST_ALKALINITY_MG_PER_L,
    LimeDoubt,
    SaltDoubt,
    SoftenedDoubt,
    WaterDoubt,
)
from feedplan.errors import Problem
from feedplan.words.language import say, say_count
from feedplan.words.reasons import fact_words, value_words
from feedplan.words.writing import day_month, days_words, listed, number, places


def problem_of(doubt: Doubt, read_on: date) -> Problem:
    """A doubt as a finding with its file and line."""
    source = doubt.source
    return Problem(source.file, source.line, min(source.line, 1), doubt_words(doubt.fact, read_on))


def doubt_words(fact: DoubtFact, read_on: date) -> str:
    """What is doubtful, and what to write instead."""
    match fact:
        case MuchNitrogen():
            return _nitrogen_words(fact)
        case NoProduct(group):
            return say(
                "the group '{group}' names no feed, so the plan gives ppm N and no grams; add feed: and a product",
                group=group,
            )
        case NoSolidProduct(group, period):
            return say(
                "the group '{group}' names no solid feed, so nothing is laid in '{period}'; add solid_feed: and a "
                "coated or organic feed",
                group=group,
                period=period,
            )
        case LaidTooOften(period, feed, every, lasts):
            return say(
                "'{period}' lays '{feed}' every {every}, and it lasts {lasts} by its label; write every: {lasts} "
                "days, or lay less",
                period=period,
                feed=feed,
                every=days_words(every),
                lasts=lasts,
            )
        case StageNotTheirs():
            return _stage_words(fact)
        case UnknownSpecies(species, tree, calendar):
            return say(
                "no calendar knows the species '{species}' ({tree}); its dates are those of '{calendar}'. Record the "
                "stages you see, or write your own dates under stages:",
                species=species,
                tree=tree,
                calendar=calendar,
            )
        case FedWhenHeld() | AboveLabel() | LongAway() | NotYet():
            return _practice_words(fact, read_on)
        case _:
            return _water_words(fact)


def _nitrogen_words(much: MuchNitrogen) -> str:
    above = "above the budget of {limit}" if much.is_budget else "above {limit}"
    words = say(
        "{names}: {total} mg N per litre of pot in {season}, {above}; lay less, feed weaker",
        names=_names(much.trees),
        total=places(much.total),
        season=much.season,
        above=say(above, limit=number(much.limit)),
    )
    if not much.is_refused:
        return words
    return say("{words}; if it is meant, write allow_over: true in the schedule or its changes", words=words)


def _names(trees: Sequence[str]) -> str:
    """Up to three trees by name, of more the first two and how many there are."""
    return listed(trees) if len(trees) <= 3 else listed([*trees[:2], _more(len(trees) - 2)])


def _more(count: int) -> str:
    return say_count("{count} more", "{count} more", count)


def _stage_words(doubt: StageNotTheirs) -> str:
    then = say("it opens only when you record it as seen; choose another schedule or stage")
    if doubt.fallback is not None:
        then = say("its date is that of '{calendar}' until you record it as seen", calendar=doubt.fallback)
    return say(
        "'{period}' of the group '{group}' starts from '{stage}', which {species} ('{calendar}') does not have; {then}",
        period=doubt.period,
        group=doubt.group,
        stage=doubt.stage,
        species=doubt.species,
        calendar=doubt.calendar,
        then=then,
    )


def _practice_words(fact: FedWhenHeld | AboveLabel | LongAway | NotYet, read_on: date) -> str:
    match fact:
        case FedWhenHeld(trees, day, held, entry):
            return say(
                "{names}: fed {day} although held: {held}; if it was not fed, take it back: {undo}, or write but_not:",
                names=_names(trees),
                day=day_month(day, read_on),
                held=fact_words(held, read_on),
                undo=f"feedplan record --undo {entry}",
            )
        case AboveLabel(period, group, maximum):
            return say(
                "'{period}' of the group '{group}' asks more than the label allows: {maximum}; the plan stays at {ppm}",
                period=period,
                group=group,
                maximum=fact_words(maximum, read_on),
                ppm=value_words(maximum),
            )
        case LongAway(days):
            return say(
                "away for {days} in the growing season: no feeds, but every water check stays; ask somebody to do them",
                days=days_words(days),
            )
        case NotYet(known, 0):
            return say("this entry is dated {day}, after today; it counts from that day on", day=known)
        case NotYet(known, others):
            return say_count(
                "this entry is dated {day}, after today ({count} more is too); it counts from that day on",
                "this entry is dated {day}, after today ({count} more are too); it counts from that day on",
                others,
                day=known,
            )


def _water_words(fact: WaterDoubt) -> str:
    match fact:
        case LimeDoubt(group, alkalinity):
            return say(
                "group '{group}' hates lime and gets water of {alkalinity} mg/L CaCO3 alkalinity, above {most}; give "
                "it rain, or {blend}",
                group=group,
                alkalinity=places(alkalinity),
                most=places(MOST_ALKALINITY_MG_PER_L),
                blend="{blend: [TAP, RAIN], alkalinity: 60 mg/L}",
            )
        case SoftenedDoubt(group):
            return say(
                "group '{group}' gets softened water, whose sodium harms trees and mix; give it another",
                group=group,
            )
        case SaltDoubt(group, ec, needed):
            share = say("more than all") if needed is None else say("{number} %", number=places(needed * 100))
            return say(
                "water and feed of group '{group}' hold {ec} mS/cm: {share} would have to drain to keep salt down; "
                "blend it with rain",
                group=group,
                ec=places(ec, 1),
                share=share,
            )

"""Doubtful practice in words: what a careful grower would think about twice, and what to write instead."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from feedplan.engine.answers import doubts as doubt
from feedplan.engine.answers.doubts import Doubt
from feedplan.engine.water import waters
from feedplan.errors import Problem
from feedplan.model.statement import Statement
from feedplan.words.language import say
from feedplan.words.reasons import Templates, filled, value_words
from feedplan.words.writing import listed

_MUCH = "{names}: {total} mg N per litre of pot in {season}, above {limit}; lay less, feed weaker"
_OVER_BUDGET = (
    "{names}: {total} mg N per litre of pot in {season}, above the budget of {limit}; lay less, feed weaker"
)
_REFUSED = "{words}; if it is meant, write allow_over: true in the schedule or its changes"
DOUBTS: Templates = {
    doubt.MuchNitrogen: lambda much: _OVER_BUDGET if much.is_budget else _MUCH,
    doubt.NoProduct: (
        "the group '{group}' names no feed, so the plan gives ppm N and no grams; add feed: and a product"
    ),
    doubt.NoSolidProduct: (
        "the group '{group}' names no solid feed, so nothing is laid in '{period}'; add solid_feed: and a coated or "
        "organic feed"
    ),
    doubt.LaidTooOften: (
        "'{period}' lays '{feed}' every {every}, and it lasts {lasts} by its label; write every: {lasts} days, or lay "
        "less"
    ),
    doubt.StageNotTheirs: lambda stage: (
        "'{period}' of the group '{group}' starts from '{stage}', which {species} ('{calendar}') does not have; it "
        "opens only when you record it as seen; choose another schedule or stage"
        if stage.fallback is None
        else "'{period}' of the group '{group}' starts from '{stage}', which {species} ('{calendar}') does not have; "
        "its date is that of '{fallback}' until you record it as seen"
    ),
    doubt.UnknownSpecies: (
        "no calendar knows the species '{species}' ({tree}); its dates are those of '{calendar}'. Record the stages "
        "you see, or write your own dates under stages:"
    ),
    doubt.FedWhenHeld: (
        "{names}: fed {day} although held: {held}; if it was not fed, take it back: {undo}, or write but_not:"
    ),
    doubt.AboveLabel: (
        "'{period}' of the group '{group}' asks more than the label allows: {maximum}; the plan stays at {ppm}"
    ),
    doubt.LongAway: (
        "away for {time} in the growing season: no feeds, but every water check stays; ask somebody to do them"
    ),
    doubt.WorkOutOfSeason: "{names}: {told}",
    doubt.NotYet: lambda entry: (
        "this entry is dated {known}, after today; it counts from that day on"
        if not entry.count
        else (
            "this entry is dated {known}, after today ({count} more is too); it counts from that day on",
            "this entry is dated {known}, after today ({count} more are too); it counts from that day on",
        )
    ),
    waters.LimeDoubt: (
        "group '{group}' hates lime and gets water of {alkalinity} mg/L CaCO3 alkalinity, above {most}; give it rain, "
        "or {{blend: [TAP, RAIN], alkalinity: 60 mg/L}}"
    ),
    waters.SoftenedDoubt: "group '{group}' gets softened water, whose sodium harms trees and mix; give it another",
    waters.SaltDoubt: lambda salt: (
        "water and feed of group '{group}' hold {ec_ms_per_cm} mS/cm: more than all would have to drain to keep salt "
        "down; blend it with rain"
        if salt.needed is None
        else "water and feed of group '{group}' hold {ec_ms_per_cm} mS/cm: {needed} % would have to drain to keep salt "
        "down; blend it with rain"
    ),
}


def problem_of(found: Doubt, read_on: date) -> Problem:
    """A doubt as a finding with its file and line."""
    source = found.source
    return Problem(source.file, source.line, min(source.line, 1), doubt_words(found.fact, read_on))


def doubt_words(fact: Statement, read_on: date) -> str:
    """What is doubtful, and what to write instead."""
    match fact:
        case doubt.MuchNitrogen():
            words = filled(DOUBTS, fact, read_on, names=_names(fact.trees), season=f"{fact.season}")
            return say(_REFUSED, words=words) if fact.is_refused else words
        case doubt.FedWhenHeld():
            undo = f"feedplan record --undo {fact.entry}"
            return filled(DOUBTS, fact, read_on, names=_names(fact.trees), undo=undo)
        case doubt.WorkOutOfSeason():
            return filled(DOUBTS, fact, read_on, names=_names(fact.trees))
        case doubt.AboveLabel():
            return filled(DOUBTS, fact, read_on, ppm=value_words(fact.maximum))
        case doubt.NotYet():
            return filled(DOUBTS, fact, read_on, known=f"{fact.known}")
        case waters.LimeDoubt():
            return filled(DOUBTS, fact, read_on, most=f"{waters.MOST_ALKALINITY_MG_PER_L:.0f}")
        case _:
            return filled(DOUBTS, fact, read_on)


def _names(trees: Sequence[str]) -> str:
    """Up to three trees by name, of more the first two and how many there are."""
    return listed(trees if len(trees) <= 3 else [*trees[:2], say("{count} more", count=len(trees) - 2)])

"""Doubtful practice in words: what a careful grower would think about twice, and what to write instead."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from feedplan.engine.water import waters
from feedplan.errors import Problem
from feedplan.model import warning
from feedplan.model.reason import LittleNitrogen
from feedplan.model.statement import Statement
from feedplan.model.warning import PlanWarning
from feedplan.words.language import say
from feedplan.words.reasons import Templates, fact_words, filled, value_words
from feedplan.words.writing import listed

_MUCH = "{names}: {total} mg N per litre of pot in {season}, above {limit}; lay less, feed weaker"
_OVER_BUDGET = (
    "{names}: {total} mg N per litre of pot in {season}, above the budget of {limit}; lay less, feed weaker"
)
_WITHOUT_N = (
    "'{period}' of the group '{group}' cannot be fed: {held}; add one with nitrogen to the shelf or to mix_of"
)
_TOO_WEAK = "'{period}' of the group '{group}': {held}; use a feed with more nitrogen, or ask for less"
_TOO_SALTY = (
    "'{period}' of the group '{group}': {held}; use a feed with more N for its P and K, ask for less, or raise the "
    "schedule's ceilings"
)
_GRAVE = (
    "CAUTION, {words}. So much is ordinary only for fast shrubs in a nursery, and salts may kill a tree in a small "
    "pot; if it is meant, write allow_over: true in the schedule or its changes"
)
WARNINGS: Templates = {
    warning.MuchNitrogen: lambda much: _OVER_BUDGET if much.is_budget else _MUCH,
    warning.LargeBudget: (
        "CAUTION, the budget of '{schedule}' is {budget} mg N per litre of pot, above {limit}: ordinary only for "
        "fast shrubs in a nursery, and salts may kill a tree in a small pot; lower it, or write "
        "allow_over: true if it is meant"
    ),
    warning.NoProduct: (
        "the group '{group}' names no feed, so the plan gives ppm N and no grams; add feed: and a product"
    ),
    warning.NoSolidProduct: (
        "the group '{group}' names no solid feed, so nothing is laid in '{period}'; add solid_feed: and a coated or "
        "organic feed"
    ),
    warning.NeverLaid: lambda fact: (
        "the schedule '{schedule}' of the group '{group}' lays no solid feed, so '{feed}' is never laid; take "
        "solid_feed: out, or write a period with solid: under feeding:"
        if not fact.kinds
        else "the schedule '{schedule}' of the group '{group}' has no period for {form} feed, so '{feed}' is never "
        "laid (it has some for {kinds}); write a period with solid: under feeding:"
    ),
    warning.SolidCut: "'{period}' of the group '{group}': {cut}",
    warning.SolidLeftOut: "{trees}, {due}: no solid feed laid; {why}",
    warning.LaidTooOften: (
        "'{period}' lays '{feed}' every {every}, and it lasts {lasts} by its label; write every: {lasts} days, or lay "
        "less"
    ),
    warning.StageNotTheirs: lambda stage: (
        "'{period}' of the group '{group}' starts from '{stage}', which {species} ('{calendar}') does not have; it "
        "opens only when you record it as seen; choose another schedule or stage"
        if stage.fallback is None
        else "'{period}' of the group '{group}' starts from '{stage}', which {species} ('{calendar}') does not have; "
        "its date is that of '{fallback}' until you record it as seen"
    ),
    warning.UnknownSpecies: lambda unknown: (
        "no calendar knows the species '{species}' ({tree}); its dates are those of '{calendar}'. Record the stages "
        "you see, or write your own dates under stages:"
        if not unknown.nearest
        else "no calendar knows the species '{species}' ({tree}); its dates are those of '{calendar}'. If it is "
        "{names}, write that; else record the stages you see, or write your own dates under stages:"
    ),
    warning.WhichKind: (
        "some kinds of {species} ({tree}) keep their leaves in winter and some do not; its dates are those of "
        "'{calendar}'. Write which it is, or list it under species: of a calendar in schedules/stages.yaml"
    ),
    warning.FedWhenHeld: (
        "{names}: fed {day} although held: {held}; if it was not fed, take it back: {undo}, or write but_not:"
    ),
    warning.AboveLabel: (
        "'{period}' of the group '{group}' asks more than the label allows: {maximum}; the plan stays at {ppm}"
    ),
    warning.FallsShort: lambda short: (
        _WITHOUT_N
        if not short.held.ppm
        else _TOO_WEAK
        if isinstance(short.held, LittleNitrogen)
        else _TOO_SALTY
    ),
    warning.RichInPhosphorus: (
        "{names}: '{feed}' brings {p} mg P per litre, and phosphorus harms {word} above about {most} ({known_from}); "
        "use a feed with far less P"
    ),
    warning.NeverFeed: (
        "{names}: {word} is fed with the group '{group}', and feed harms it ({known_from}); move it to a schedule with "
        "feeding: none, which keeps its water checks"
    ),
    warning.LongAway: (
        "away for {time} in the growing season: no feeds, but every water check stays; ask somebody to do them"
    ),
    warning.RecordStopped: (
        "the weather record stops here, {last}, so heat, frost, rain and cold roots go unseen; copy the file anew, "
        "with its forecast"
    ),
    warning.RootZoneNeverWarm: (
        "'{period}' of the group '{group}' asks for a root zone of {least_c} °C, and no day this year is expected to "
        "bring it: no feed comes. Measure one (feedplan record root-zone), or write another root_zone_above under "
        "changes:"
    ),
    warning.WorkOutOfSeason: "{names}: {told}",
    warning.NotYet: lambda entry: (
        "this entry is dated {known}, after today; it counts from that day on"
        if not entry.count
        else (
            "this entry is dated {known}, after today ({count} more is too); it counts from that day on",
            "this entry is dated {known}, after today ({count} more are too); it counts from that day on",
        )
    ),
    waters.LimeWarning: (
        "group '{group}' hates lime and gets water of {alkalinity} mg/L CaCO3 alkalinity, above {most}; give it rain, "
        "or {{blend: [TAP, RAIN], alkalinity: 60 mg/L}}"
    ),
    waters.SoftenedWarning: "group '{group}' gets softened water, whose sodium harms trees and mix; give it another",
    waters.NoLimeWarning: (
        "group '{group}' gets water like rain, and no feed of its tells {missing}: trees run short of it. Give a feed "
        "that has it, or blend in tap water: {{blend: [TAP, RAIN], alkalinity: 60 mg/L}}"
    ),
    waters.SaltWarning: lambda salt: (
        "water and feed of group '{group}' hold {ec_ms_per_cm} mS/cm: more than all would have to drain to keep salt "
        "down; blend it with rain"
        if salt.needed is None
        else "water and feed of group '{group}' hold {ec_ms_per_cm} mS/cm: {needed} % would have to drain to keep salt "
        "down; blend it with rain"
    ),
}


def problem_of(found: PlanWarning, read_on: date) -> Problem:
    """A warning as a finding with its file and line."""
    source = found.source
    return Problem(source.file, source.line, min(source.line, 1), warning_words(found.fact, read_on))


def warning_words(fact: Statement, read_on: date) -> str:
    """What is doubtful, and what to write instead."""
    match fact:
        case warning.MuchNitrogen():
            words = filled(WARNINGS, fact, read_on, names=_names(fact.trees), season=f"{fact.season}")
            return say(_GRAVE, words=words) if fact.is_grave else words
        case warning.RichInPhosphorus() | warning.NeverFeed():
            known_from = say(fact.known_from)
            return filled(WARNINGS, fact, read_on, names=_names(fact.trees), known_from=known_from)
        case warning.UnknownSpecies():
            return filled(WARNINGS, fact, read_on, names=listed([f"'{name}'" for name in fact.nearest], "or"))
        case warning.FedWhenHeld():
            undo = f"feedplan record --undo {fact.entry}"
            return filled(WARNINGS, fact, read_on, names=_names(fact.trees), undo=undo)
        case warning.SolidLeftOut():
            return filled(WARNINGS, fact, read_on, trees=_names(fact.trees))
        case warning.NeverLaid():
            return filled(WARNINGS, fact, read_on, kinds=listed(fact.kinds))
        case warning.WorkOutOfSeason():
            return filled(WARNINGS, fact, read_on, names=_names(fact.trees))
        case warning.AboveLabel():
            return filled(WARNINGS, fact, read_on, ppm=value_words(fact.maximum))
        case warning.NotYet():
            return filled(WARNINGS, fact, read_on, known=f"{fact.known}")
        case waters.NoLimeWarning():
            missing = listed([say(each) for each in fact.missing])
            return filled(WARNINGS, fact, read_on, missing=missing)
        case waters.LimeWarning():
            return filled(WARNINGS, fact, read_on, most=f"{waters.MOST_ALKALINITY_MG_PER_L:.0f}")
        case _:
            return filled(WARNINGS, fact, read_on) if type(fact) in WARNINGS else fact_words(fact, read_on)


def _names(trees: Sequence[str]) -> str:
    """Up to three trees by name, of more the first two and how many there are."""
    return listed(trees if len(trees) <= 3 else [*trees[:2], say("{count} more", count=len(trees) - 2)])

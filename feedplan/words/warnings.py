"""Doubtful practice in words: what a careful grower would think about twice, and what to write instead."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import fields
from datetime import date

from feedplan.engine.water import waters
from feedplan.errors import Problem
from feedplan.model import warning
from feedplan.model.alert import SeenAgain, SeenOutOfOrder, SeenTooEarly
from feedplan.model.reason import LittleNitrogen
from feedplan.model.statement import Statement
from feedplan.model.warning import PlanWarning
from feedplan.words.language import say
from feedplan.words.reasons import Templates, fact_words, filled, signs_words, value_words
from feedplan.words.writing import listed, number, places, typed_words

_MUCH = {
    False: "{names}: {total} mg N per litre of pot in {season}, above {limit}; {remedy}",
    True: "{names}: {total} mg N per litre of pot in {season}, above the budget of {limit}; {remedy}",
}
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
    warning.MuchNitrogen: lambda much: _MUCH[much.is_budget],
    warning.LargeBudget: (
        "CAUTION, the budget of '{schedule}' is {budget} mg N per litre of pot, above {limit}: ordinary only for "
        "fast shrubs in a nursery, and salts may kill a tree in a small pot; lower it, or write "
        "allow_over: true if it is meant"
    ),
    warning.NoProduct: (
        "the group '{group}' names no feed, so the plan gives ppm N and no grams; add feed: and a product; for no "
        "liquid feed write each of {names} as none under changes: and feeding:"
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
        (
            "{periods} of the group '{group}' starts from '{stage}', which {species} does not have; it opens only when "
            "you record it as seen; choose another schedule or stage"
            if stage.fallback is None
            else "{periods} of the group '{group}' starts from '{stage}', which {species} does not have; its date is "
            "that of '{fallback}' until you record it as seen"
        )
        if len(stage.periods) == len(stage.species) == 1
        else (
            "{periods} of the group '{group}': '{stage}' is no stage of {species}, so nothing opens until you record "
            "it as seen; choose another schedule or stage"
            if stage.fallback is None
            else "{periods} of the group '{group}': '{stage}' is no stage of {species}; its date is that of "
            "'{fallback}' until you record it as seen"
        )
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
        "'{calendar}'. Write its whole name, such as English holly or holm oak, or list it under species: of "
        "a calendar in schedules/stages.yaml"
    ),
    warning.ManyLargePots: (
        "{tree}: is each of the {count} in a pot of {pot}, {litres} L in all? If they stand in one, write "
        "pot: {pot} shared; if each has its own, write pot: {pot} each"
    ),
    warning.LaidWhenHeld: "{names}: {feed} laid {day} although held: {held}; lift it, and write: {remedy}",
    warning.FedWhenHeld: lambda fed: (
        "{names}: fed {day} although held: {held}; if it was not fed, write but_not: [{trees}] in that entry"
        if fed.of_many
        else "{names}: fed {day} although held: {held}; if it was not fed, take it back: {undo}"
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
    warning.ForecastTooLong: (
        "rows from {first} on lie more than {most} days ahead, further than any forecast, and are left out; is the "
        "year right?"
    ),
    warning.RootZoneNeverWarm: (
        "'{period}' of the group '{group}' asks for a root zone of {least_c} °C, and no day this year is expected to "
        "bring it: no feed comes. Measure one (feedplan record root-zone), or write another root_zone_above under "
        "changes:"
    ),
    warning.WorkOutOfSeason: "{names}: {told}",
    warning.NotYet: lambda entry: (
        (
            "this entry is dated {known}, after today; it counts from that day on"
            if entry.meant is None
            else "this entry is dated {known}, after today; it counts from that day on; did you mean {meant}?"
        )
        if not entry.count
        else (
            "this entry is dated {known}, after today ({count} more is too); it counts from that day on",
            "this entry is dated {known}, after today ({count} more are too); it counts from that day on",
        )
    ),
    warning.SeenFarOff: lambda seen: (
        "{stage} seen {day}, months from its usual {typical}: is the day right? If not, take it back: {undo}"
        if seen.meant is None
        else "{stage} seen {day}, months from its usual {typical}: did you mean {meant}? Take it back: {undo}"
    ),
    warning.SeenNotTheirs: (
        "{names}: {stage} seen, which {species} does not have: is the tree right? If not, take it back: {undo}"
    ),
    warning.FedTwice: "{names}: fed twice on {day}, a double dose; if one of them was not, take it back: {undo}",
    warning.MovedNowhere: (
        "{names}: moved to '{group}' on {day}, and there already; group: in collection.yaml is where a tree stood at "
        "first: write that group there, or take the move back: {undo}"
    ),
    warning.ToldOfAbsent: lambda told: (
        "{names}: told of on {day}, but it left on {since}: which day is right? Take it back: {undo}"
        if told.has_left
        else "{names}: told of on {day}, but it comes on {since}: which day is right? Take it back: {undo}"
    ),
    warning.FedAboveLabel: (
        "{names}: fed {ppm} ppm N {day}, above the label of '{feed}', at most {most} ppm N; give plain water until it "
        "runs through, or take it back if it is a slip: {undo}"
    ),
    warning.StrongWithoutLabel: (
        "'{period}' of the group '{group}' asks for {ppm} ppm N, more than trees are fed, and its feed tells no label "
        "rate; add label_maximum: to the feed, or ask for less"
    ),
    warning.SinceAhead: lambda ahead: _since_words(ahead),  # noqa: PLW0108 - defined below
    warning.CountedAhead: lambda ahead: _counted_words(ahead),  # noqa: PLW0108 - defined below
    warning.NeverUsed: lambda idle: (
        "no group, tree or entry uses the feed {names}; is a group to name it, or is it used up?"
        if len(idle.feeds) == 1
        else "no group, tree or entry uses the feeds {names}; is a group to name them, or are they used up?"
    ),
    warning.LongHeld: lambda held: (
        "{names}: held by {rule} since {year}, for want of {signs}: seen, perhaps in {likely}? Write, with its day for "
        "DATE: {command}"
        if all(left.is_last for left in held.signs)
        else "{names}: held by {rule} since {year}, for want of {signs}: seen, perhaps in {likely}? Write, a day apart "
        "or more, each with its day for DATE: {command}"
    ),
    warning.NotSeenLong: (
        "{names}: nothing is written of them since {year}: are they still there? If not, write: feedplan record gone "
        "dead {first}"
    ),
    warning.AwayFromOthers: ("this entry is dated {day}, years from those beside it: did you mean {meant}?"),
    warning.CoarseScale: (
        "feed '{feed}': a scale of {scale} g weighs at least {least} g to within 5 %, and a day's trees take {needed} "
        "g at the most; the rest is left over. One of 0.1 g would weigh {finer} g: have you one?"
    ),
    warning.DatesOfElsewhere: lambda far: (
        "dates are those of about {usual}° of latitude; at {latitude}° leaves open weeks later. Twelve lines of "
        "normals in climate/normals.csv move them: is there a station near? feedplan guide dates"
        if far.latitude > far.usual
        else "dates are those of about {usual}° of latitude; at {latitude}° leaves open weeks sooner. Twelve lines of "
        "normals in climate/normals.csv move them: is there a station near? feedplan guide dates"
    ),
    warning.NormalsOfOtherHalf: (
        "the warm months of these normals are the cold ones at {place}: are they of a station on the other half of "
        "the globe?"
    ),
    waters.LimeWarning: lambda lime: (
        "group '{group}' hates lime and gets water of {alkalinity} mg/L CaCO3 alkalinity, above {most}; in the group "
        "write water: {soft}, or water: {{blend: [{limy}, {soft}], alkalinity: 60 mg/L CaCO3}}"
        if lime.soft
        else "group '{group}' hates lime and gets water of {alkalinity} mg/L CaCO3 alkalinity, above {most}; catch "
        "rain, add it under water: as rain: {{alkalinity: 5 mg/L CaCO3}}, and in the group write water: rain"
    ),
    waters.LimeHaters: lambda lime: (
        "hates lime: {names}; group '{group}' gets water of {alkalinity} mg/L CaCO3 alkalinity, above {most}; a group "
        "for it with water: {soft}"
        if lime.soft
        else "hates lime: {names}; group '{group}' gets water of {alkalinity} mg/L CaCO3 alkalinity, above {most}; "
        "catch rain for it"
    ),
    waters.LimeByHardness: (
        "hates lime: {names}; of the water of group '{group}' only the hardness is told, {hardness} mg/L CaCO3, and "
        "hard water is most often alkaline. What is its alkalinity? Write it under water:; rain until then"
    ),
    waters.SoftenedWarning: "group '{group}' gets softened water, whose sodium harms trees and mix; give it another",
    waters.NoLimeWarning: lambda lack: (
        "group '{group}' gets water like rain, and none of its feeds tells {missing}: trees run short of it. Give a "
        "feed that has it, or in the group write water: {{blend: [{limy}, {soft}], alkalinity: 60 mg/L CaCO3}}"
        if lack.limy and lack.soft
        else "group '{group}' gets water like rain, and none of its feeds tells {missing}: trees run short of it. "
        "Give a feed that has it, or some tap water"
    ),
    waters.SaltWarning: lambda salt: (
        "water and feed of group '{group}' hold {ec_ms_per_cm} mS/cm: more than all would have to drain to keep salt "
        "down; blend it with rain"
        if salt.needed is None
        else "water and feed of group '{group}' hold {ec_ms_per_cm} mS/cm: {needed} % would have to drain to keep salt "
        "down; blend it with rain"
    ),
}


def _counted_words(ahead: warning.CountedAhead) -> str:
    if ahead.key == "opened":
        return (
            "feed '{feed}': opened {day} is after today; is the year right?"
            if ahead.meant is None
            else "feed '{feed}': opened {day} is after today; did you mean {meant}?"
        )
    return (
        "feed '{feed}': counted {day} is after today; is the year right?"
        if ahead.meant is None
        else "feed '{feed}': counted {day} is after today; did you mean {meant}?"
    )


def _since_words(ahead: warning.SinceAhead) -> str:
    if ahead.tree is None:
        return (
            "since {since} lies far ahead, and nothing is planned before it: is the year right?"
            if ahead.meant is None
            else "since {since} lies far ahead, and nothing is planned before it: did you mean {meant}?"
        )
    return (
        "tree '{tree}': since {since} lies far ahead, and nothing is planned for it before: is the year right?"
        if ahead.meant is None
        else "tree '{tree}': since {since} lies far ahead, and nothing is planned for it before: did you mean {meant}?"
    )


QUESTIONS = frozenset(
    {
        warning.UnknownSpecies,
        warning.WhichKind,
        warning.ManyLargePots,
        warning.NotYet,
        warning.SeenFarOff,
        warning.SeenNotTheirs,
        warning.MovedNowhere,
        warning.ToldOfAbsent,
        warning.SinceAhead,
        warning.CountedAhead,
        warning.NeverUsed,
        warning.LongHeld,
        warning.NotSeenLong,
        warning.AwayFromOthers,
        warning.CoarseScale,
        warning.DatesOfElsewhere,
        warning.ForecastTooLong,
        warning.NormalsOfOtherHalf,
        waters.LimeByHardness,
        SeenTooEarly,
        SeenAgain,
        SeenOutOfOrder,
    }
)
"""What only the grower can answer; all else is doubtful practice."""


def problem_of(found: PlanWarning, read_on: date) -> Problem:
    """A warning as a finding with its file and line."""
    source = found.source
    return Problem(source.file, source.line, min(source.line, 1), warning_words(found.fact, read_on))


def _less_nitrogen(much: warning.MuchNitrogen) -> str:
    """What to do about too much nitrogen: by where most of it comes from."""
    if much.brought:
        return say(
            "{brought} mg of it from coated feed taken to have come along. If there is none in the pot: feedplan "
            "record lifted none there {trees}",
            brought=much.brought,
            trees=typed_words(much.trees),
        )
    if much.lying is None:
        return say("lay less, feed weaker")
    return say(
        "{left} mg of it is still to come from the {lying} on the pot: lift some",
        left=much.left,
        lying=much.lying,
    )


def warning_words(fact: Statement, read_on: date) -> str:  # noqa: PLR0912 - one case for each kind
    """What is doubtful, and what to write instead."""
    match fact:
        case warning.MuchNitrogen():
            said = {"names": _names(fact.trees), "season": f"{fact.season}", "remedy": _less_nitrogen(fact)}
            words = filled(WARNINGS, fact, read_on, **said)
            return say(_GRAVE, words=words) if fact.is_grave else words
        case warning.RichInPhosphorus() | warning.NeverFeed():
            known_from = say(fact.known_from)
            return filled(WARNINGS, fact, read_on, names=_names(fact.trees), known_from=known_from)
        case warning.UnknownSpecies():
            return filled(WARNINGS, fact, read_on, names=listed([f"'{name}'" for name in fact.nearest], "or"))
        case warning.NoProduct():
            return filled(WARNINGS, fact, read_on, names=listed([f"'{period}'" for period in fact.periods]))
        case warning.LaidWhenHeld():
            remedy = f"feedplan record lifted {typed_words([fact.feed, *fact.trees])}"
            return filled(WARNINGS, fact, read_on, names=_names(fact.trees), remedy=remedy)
        case warning.FedWhenHeld():
            names, all_names = _names(fact.trees), ", ".join(fact.trees)
            return filled(WARNINGS, fact, read_on, names=names, trees=all_names, undo=_undo(fact.entry))
        case warning.SeenFarOff():
            return filled(WARNINGS, fact, read_on, undo=_undo(fact.entry), **_days(fact))
        case warning.MovedNowhere() | warning.ToldOfAbsent() | warning.FedAboveLabel():
            more = {"names": _names(fact.trees), "undo": _undo(fact.entry)}
            return filled(WARNINGS, fact, read_on, **more, **_days(fact))
        case warning.SeenNotTheirs() | warning.FedTwice():
            more = {"names": _names(fact.trees), "undo": _undo(fact.entry)}
            return filled(WARNINGS, fact, read_on, **more, **_days(fact))
        case warning.SinceAhead() | warning.CountedAhead() | warning.AwayFromOthers():
            return filled(WARNINGS, fact, read_on, **_days(fact))
        case warning.StageNotTheirs():
            kinds = [f"{kind} ('{of}')" for kind, of in zip(fact.species, fact.calendars, strict=True)]
            periods = listed([f"'{period}'" for period in fact.periods])
            return filled(WARNINGS, fact, read_on, periods=periods, species=listed(kinds))
        case warning.NeverUsed():
            return filled(WARNINGS, fact, read_on, names=listed([f"'{name}'" for name in fact.feeds]))
        case warning.LongHeld():
            years = {"year": f"{fact.year}", "likely": f"{fact.likely}"}
            more = {"names": _names(fact.trees), "signs": signs_words(fact.signs), **years}
            command = listed(list(_commands_to_end(fact)))
            return filled(WARNINGS, fact, read_on, command=command, **more)
        case warning.NotSeenLong():
            first = typed_words(fact.trees[:1])
            more = {"names": _names(fact.trees), "year": f"{fact.year}", "first": first}
            return filled(WARNINGS, fact, read_on, **more)
        case warning.SolidLeftOut():
            return filled(WARNINGS, fact, read_on, trees=_names(fact.trees))
        case warning.NeverLaid():
            return filled(WARNINGS, fact, read_on, kinds=listed(fact.kinds))
        case warning.WorkOutOfSeason():
            return filled(WARNINGS, fact, read_on, names=_names(fact.trees))
        case warning.AboveLabel():
            return filled(WARNINGS, fact, read_on, ppm=value_words(fact.maximum))
        case warning.NotYet():
            return filled(WARNINGS, fact, read_on, known=f"{fact.known}", meant=f"{fact.meant}")
        case waters.NoLimeWarning():
            missing = listed([say(each) for each in fact.missing])
            return filled(WARNINGS, fact, read_on, missing=missing)
        case waters.LimeWarning():
            most = number(waters.MOST_ALKALINITY_MG_PER_L)
            return filled(WARNINGS, fact, read_on, most=most)
        case warning.CoarseScale():
            amounts = {"scale": fact.scale, "least": fact.least, "needed": fact.needed, "finer": fact.finer}
            grams = {key: places(value, 1) for key, value in amounts.items()}
            return filled(WARNINGS, fact, read_on, **grams)
        case waters.LimeHaters():
            most = number(waters.MOST_ALKALINITY_MG_PER_L)
            return filled(WARNINGS, fact, read_on, names=_names(fact.trees), most=most)
        case waters.LimeByHardness():
            return filled(WARNINGS, fact, read_on, names=_names(fact.trees))
        case _:
            return filled(WARNINGS, fact, read_on) if type(fact) in WARNINGS else fact_words(fact, read_on)


def _undo(entry: str) -> str:
    return f"feedplan record --undo {entry}"


def _days(fact: Statement) -> dict[str, str]:
    """The days of a question as files have them, with their years."""
    return {
        field.name: f"{day}" for field in fields(fact) if isinstance(day := getattr(fact, field.name), date)
    }


def _commands_to_end(held: warning.LongHeld) -> Iterator[str]:
    """What to type for all the signs that a hold waits for: a command for each day on which some are to be seen."""
    for day in range(max(left.times - left.seen for left in held.signs)):
        signs = [left.sign for left in held.signs if left.times - left.seen > day]
        yield f"feedplan record seen {typed_words([', '.join(signs), *held.trees])} --date DATE"


def _names(trees: Sequence[str]) -> str:
    """Up to three trees by name, of more the first two and how many there are."""
    return listed(trees if len(trees) <= 3 else [*trees[:2], say("{count} more", count=len(trees) - 2)])

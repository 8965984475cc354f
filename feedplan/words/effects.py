"""What a journal entry changes and what speaks against it, and what a pen's reading asks for, in sentences."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from feedplan.engine.answers import cautions as caution
from feedplan.engine.answers import effects as effect
from feedplan.engine.answers.effects import Effects
from feedplan.engine.sink.pen import Finding, PenReading
from feedplan.model.journal import Entry
from feedplan.model.reason import DryBall, GoneSince, OutOfSeason, PlannedWork
from feedplan.model.statement import Statement
from feedplan.words.entries import entry_words
from feedplan.words.language import say
from feedplan.words.reasons import Templates, fact_words, filled, with_end
from feedplan.words.writing import capital, day_month, listed, places

EFFECTS: Templates = {
    DryBall: "Water it first; feed once it is evenly moist.",
    effect.HoldOpened: lambda hold: (
        "No {stops} before {day}, and once seen: {missing}." if hold.missing else "No {stops} before {day}."
    ),
    effect.HoldMoved: lambda hold: (
        "The hold '{rule}' still waits for {missing}."
        if hold.day is None
        else "The hold '{rule}' ends {day}."
    ),
    effect.HoldPutOff: (
        "The hold '{rule}' waits for spring {spring}, and nobody looks for {missing} until then. If it grows sooner, "
        "take this back."
    ),
    PlannedWork: lambda work: (
        "Then no {stops} before {minimum}, and once seen: {missing}; nothing is held until it is done."
        if work.missing
        else "Then no {stops} before {minimum}; nothing is held until it is done."
    ),
    effect.SomeLeft: ("{count} is left under this name.", "{count} are left under this name."),
    effect.HoldLifted: "The hold '{rule}' is lifted.",
    effect.NextFeed: lambda feed: (
        "Next feed {day} at {ppm} ppm N, not {day_before}."
        if feed.day_before is not None
        else "Next feed {day} at {ppm} ppm N, not {ppm_before}."
        if feed.ppm_before is not None
        else "Next feed {day} at {ppm} ppm N."
    ),
    effect.FedUnasked: "Counted as a feed of its own, {ppm} ppm N: none was due.",
    effect.NoneAskedFor: "None was asked for on {day}; kept as a note.",
    effect.NoFeedAhead: "No further feed is planned.",
}
FLAGS: Templates = {
    caution.LaidAlthough: "Laid although held: {rule} on {start} stops solid feed.",
    caution.MuchSolid: (
        "Solid feed alone gives {total} mg N per litre of pot this season, above the budget of {budget}."
    ),
    caution.NoHoldToPutOff: (
        "No hold waits for a sign, so nothing is put off; what does not grow is written down as weak first."
    ),
    caution.SpringHasCome: (
        "The spring that '{rule}' could wait for has come, so nothing is put off; look, and write what you see."
    ),
    caution.PutOffBefore: "'{rule}' is put off to spring {spring} already, so nothing changes.",
    caution.SeenWhilePutOff: (
        "'{rule}' is put off to spring {spring}, so this ends nothing. If it grows after all: "
        "feedplan record --undo {entry}."
    ),
    caution.FedTooSoon: lambda feed: (
        "Fed {after} after {last}; {least} is the least between feeds."
        if feed.after
        else "Fed twice that day; {least} is the least between feeds."
    ),
    caution.HeldWhenFed: "Fed although held: {reason}.",
    caution.AboveItsLabel: (
        "Fed {ppm} ppm N, {above} above the label of '{feed}', at most {most} ppm N: flush with plain water at once, "
        "until it runs through."
    ),
    caution.NoneDue: "Counted as not fed, since none was due. If it was fed, record it by name.",
    caution.NotMeant: "Counted as not fed, since held: {reason}. If it was fed, record it by name.",
    OutOfSeason: "{told}.",
    GoneSince: "Gone since {left}, so this changes nothing.",
}
READINGS = {
    Finding.NO_MIX: "no mix of that day to compare it with",
    Finding.WATER_NOT_TOLD: "to compare it, write the water's own conductivity under water: in collection.yaml",
    Finding.TOO_WEAK: (
        "read {read}, expected {expected} mS/cm: too weak; see that all has dissolved, and check the product, the "
        "scale and the litres"
    ),
    Finding.DOUBLED: (
        "read {read}, expected {expected} mS/cm: about twice the feed; was a spoon counted twice? Pour as much water "
        "again before feeding"
    ),
    Finding.TOO_STRONG: (
        "read {read}, expected {expected} mS/cm: too strong; check the product, the grams and the litres, and thin it "
        "with water before feeding"
    ),
    Finding.SALTY_DRAIN: (
        "drain reads {read}, usual is up to {most} mS/cm: flush with plain water until 30 to 50 % runs through; if "
        "leaves scorch too, record trouble salt"
    ),
}


_MANY = 4
"""So many times as many trees as are left out, and those left out are named in their place. Judgement."""


def change_sentences(effects: Effects) -> tuple[str, ...]:
    """What changes from now on, each led by the trees it is true of unless that is all of them."""
    told = ((filled(EFFECTS, each.what, effects.today), each.trees) for each in effects.changes)
    return tuple(_of_trees(sentence, trees, effects.names) for sentence, trees in told)


def question_words(entry: Entry, effects: Effects) -> str:
    """Whether to take an entry back, with what that would change."""
    changes = " ".join(change_sentences(effects)) or say("Nothing else changes.")
    day = day_month(entry.day, effects.today)
    return say("Take back '{entry}' of {day}? {changes}", entry=entry_words(entry), day=day, changes=changes)


def flag_sentences(effects: Effects) -> tuple[str, ...]:
    """What speaks against the entry, likewise."""
    flags = ((flag_words(each.what, effects.today), each.trees) for each in effects.flags)
    return tuple(_of_trees(sentence, trees, effects.names) for sentence, trees in flags)


def _of_trees(sentence: str, trees: Sequence[str], of_all: Sequence[str]) -> str:
    """A sentence led by its trees. of_all: those it could be true of; where few are left out, those are named."""
    if not trees:
        return sentence
    others = [name for name in of_all if name not in trees]
    is_most = len(trees) > _MANY * len(others) > 0
    names = say("All but {names}", names=listed(others)) if is_most else listed(trees)
    return say("{names}: {sentence}", names=names, sentence=sentence[:1].lower() + sentence[1:])


def flag_words(flag: Statement, today: date) -> str:
    """What speaks against an entry, as a sentence."""
    if isinstance(flag, PenReading):
        return say("{reading}.", reading=capital(pen_words(flag)))
    reason = (
        with_end(flag.fact, flag.ends, today)
        if isinstance(flag, caution.HeldWhenFed | caution.NotMeant)
        else ""
    )
    told = capital(fact_words(flag, today)) if isinstance(flag, OutOfSeason) else ""
    return filled(FLAGS, flag, today, reason=reason, told=told)


def pen_words(reading: PenReading) -> str:
    """What a pen's reading asks for; empty when all is well."""
    if reading.is_fine:
        return ""
    return say(
        READINGS[reading.finding],
        read=places(reading.ms_per_cm, 2),
        expected=places(reading.expected or 0.0, 2),
        most=places(reading.most or 0.0, 1),
    )

"""What a journal entry changes and what speaks against it, and what a pen's reading asks for, in sentences."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from feedplan.engine.answers.effects import (
    Effect,
    Effects,
    FedTooSoon,
    Flag,
    HeldWhenFed,
    HoldLifted,
    HoldMoved,
    HoldOpened,
    LaidAlthough,
    MuchSolid,
    NextFeed,
    NoFeedAhead,
)
from feedplan.engine.sink.pen import Finding, PenReading
from feedplan.words.language import say
from feedplan.words.reasons import none_of_words, signs_words, with_end
from feedplan.words.writing import capital, day_month, days_words, listed, places, ppm_words, whole_ppm


def change_sentences(effects: Effects) -> tuple[str, ...]:
    """What changes from now on, each led by the trees it is true of unless that is all of them."""
    return tuple(_of_trees(effect_words(each.what, effects.today), each.trees) for each in effects.changes)


def flag_sentences(effects: Effects) -> tuple[str, ...]:
    """What speaks against the entry, likewise."""
    return tuple(_of_trees(flag_words(each.what, effects.today), each.trees) for each in effects.flags)


def _of_trees(sentence: str, trees: Sequence[str]) -> str:
    if not trees:
        return sentence
    return say("{names}: {sentence}", names=listed(trees), sentence=sentence[:1].lower() + sentence[1:])


def effect_words(effect: Effect, read_on: date) -> str:
    """One change as a sentence: "No feed before 31 May, and once seen: extension and hardened."."""
    match effect:
        case HoldOpened():
            return _hold_words(effect, read_on)
        case HoldMoved(rule, ends) if ends.day is not None:
            return say("The hold '{rule}' ends {day}.", rule=rule, day=day_month(ends.day, read_on))
        case HoldMoved(rule, ends):
            return say(
                "The hold '{rule}' still waits for {signs}.", rule=rule, signs=signs_words(ends.missing)
            )
        case HoldLifted(rule):
            return say("The hold '{rule}' is lifted.", rule=rule)
        case NextFeed(day, ppm, day_before, ppm_before):
            next_feed = say("Next feed {day} at {ppm}", day=day_month(day, read_on), ppm=ppm_words(ppm))
            if day_before is not None:
                return say("{next_feed}, not {day}.", next_feed=next_feed, day=day_month(day_before, read_on))
            if ppm_before is not None:
                return say("{next_feed}, not {ppm}.", next_feed=next_feed, ppm=whole_ppm(ppm_before))
            return say("{next_feed}.", next_feed=next_feed)
        case NoFeedAhead():
            return say("No further feed is planned.")
        case _:
            return say("Water it first; feed once it is evenly moist.")


def _hold_words(hold: HoldOpened, read_on: date) -> str:
    what, ends = none_of_words(hold.stops), hold.ends
    day = day_month(ends.day or ends.minimum, read_on)
    if ends.day is not None or not ends.missing:
        return say("No {what} before {day}.", what=what, day=day)
    signs = signs_words(ends.missing)
    return say("No {what} before {day}, and once seen: {signs}.", what=what, day=day, signs=signs)


def flag_words(flag: Flag, read_on: date) -> str:
    """What speaks against an entry, as a sentence."""
    match flag:
        case LaidAlthough(rule, start):
            day = day_month(start, read_on)
            return say("Laid although held: {rule} on {day} stops solid feed.", rule=rule, day=day)
        case MuchSolid(total, budget):
            return say(
                "Solid feed alone gives {total} mg N per litre of pot this season, above the budget of {budget}.",
                total=places(total),
                budget=places(budget),
            )
        case HeldWhenFed(fact, ends):
            return say("Fed although held: {reason}.", reason=with_end(fact, ends, read_on))
        case FedTooSoon(0, _, least):
            return say("Fed twice that day; {days} is the least between feeds.", days=days_words(least))
        case FedTooSoon(days, last, least):
            return say(
                "Fed {days} after {last}; {least} is the least between feeds.",
                days=days_words(days),
                last=day_month(last, read_on),
                least=days_words(least),
            )
        case PenReading():
            return say("{reading}.", reading=capital(pen_words(flag)))


_ADVICE = {
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


def pen_words(reading: PenReading) -> str:
    """What a pen's reading asks for; empty when all is well."""
    if reading.is_fine:
        return ""
    return say(
        _ADVICE[reading.finding],
        read=places(reading.ms_per_cm, 2),
        expected="" if reading.expected is None else places(reading.expected, 2),
        most="" if reading.most is None else places(reading.most, 1),
    )

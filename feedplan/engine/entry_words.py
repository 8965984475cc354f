"""A journal entry in words, as a person would say it."""

from __future__ import annotations

from feedplan.engine.words import percent
from feedplan.model.journal import (
    Allowed,
    Caused,
    Checked,
    Entry,
    Fact,
    Fed,
    Gone,
    Moved,
    Noted,
    Seen,
    SolidLaid,
    SolidLifted,
    Subject,
)


def listed(words: list[str], last: str = "and") -> str:
    """Words as a person lists them: "a", "a and b", "a, b and c"."""
    return f" {last} ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def entry_words(entry: Entry) -> str:
    """An entry as a phrase: "Brindle repotted, 30 % of roots off"."""
    return f"{subject_words(entry.subject)} {fact_words(entry.fact)}"


def subject_words(subject: Subject) -> str:
    """The trees an entry speaks of, as it names them."""
    if subject.trees:
        return listed(list(subject.trees))
    every = subject.group or subject.species or "all trees"
    left_out = f" but not {listed(sorted(subject.but_not))}" if subject.but_not else ""
    return f"{every}{left_out}"


def fact_words(fact: Fact) -> str:
    """What happened, as a phrase that follows a name."""
    match fact:
        case Seen():
            words = f"seen: {listed(list(fact.words))}"
        case Caused():
            roots = f", {percent(fact.roots)} of roots off" if fact.roots is not None else ""
            words = f"{fact.cause}{roots}{', bare-rooted' if fact.bare_rooted else ''}"
        case Fed():
            given = "as planned" if fact.ppm is None else f"{fact.ppm.normalize():f} ppm N"
            product = f" of {fact.feed}" if fact.feed else ""
            words = f"fed {given}{product}" + (
                f", {fact.litres.normalize():f} L in all" if fact.litres else ""
            )
        case Checked():
            words = f"checked: {fact.answer}"
        case SolidLaid():
            where = "mixed in" if fact.mixed_in else "laid"
            words = f"{where}: {fact.grams.normalize():f} g of {fact.feed} a tree"
        case SolidLifted():
            words = {None: "all solid feed lifted", "none": "no solid feed there"}.get(
                fact.feed, f"{fact.feed} lifted"
            )
        case Moved():
            words = "moved to " + " and ".join(
                filter(None, [fact.group, fact.bench and f"the bench {fact.bench}"])
            )
        case Gone():
            words = "dead" if fact.how == "dead" else fact.how
        case Allowed():
            words = f"may be fed in spite of holds: {fact.because}"
        case Noted():
            words = f"noted: {fact.text}"
    return words

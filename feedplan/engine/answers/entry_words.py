"""A journal entry in words, as a person would say it."""

from __future__ import annotations

from feedplan.engine.words import listed, percent
from feedplan.model.hold import CauseKind
from feedplan.model.journal import (
    Allowed,
    Caused,
    Checked,
    EcRead,
    Entry,
    Fact,
    Fed,
    Gone,
    Moved,
    Noted,
    RootZone,
    Seen,
    SolidLaid,
    SolidLifted,
    Subject,
)


def entry_words(entry: Entry) -> str:
    """An entry as a phrase: "Brindle repotted, 30 % of roots off", "Moth and Kettle: frost"."""
    who = subject_words(entry.subject)
    is_verb = isinstance(entry.fact, Fed | Moved) or (
        isinstance(entry.fact, Caused) and entry.fact.kind is CauseKind.WORK
    )
    return f"{who}{'' if is_verb else ':'} {fact_words(entry.fact)}"


def subject_words(subject: Subject) -> str:
    """The trees an entry speaks of, as it names them."""
    if subject.trees:
        return listed(list(subject.trees))
    every = subject.group or subject.species or "all trees"
    return f"{every} (but not {listed(sorted(subject.but_not))})" if subject.but_not else every


def fact_words(fact: Fact) -> str:
    """What happened, as a phrase that follows a name."""
    match fact:
        case Seen():
            words = f"{listed(list(fact.words))} seen"
        case Caused():
            roots = f", {percent(fact.roots)} of roots off" if fact.roots is not None else ""
            words = f"{fact.cause}{roots}{', bare-rooted' if fact.bare_rooted else ''}"
        case Fed():
            given = "as planned" if fact.ppm is None else f"{fact.ppm.normalize():f} ppm N"
            product = f" of {fact.feed}" if fact.feed else ""
            litres = f", {fact.litres.normalize():f} L in all" if fact.litres else ""
            words = f"fed {given}{product}{litres}"
        case Checked():
            words = f"checked, {fact.answer}"
        case RootZone():
            words = f"root zone measured: {fact.temp_c.normalize():f} °C"
        case EcRead():
            words = f"{'drain' if fact.of_drain else 'can'} read {fact.ms_per_cm.normalize():f} mS/cm"
            words += f" at {fact.temp_c.normalize():f} °C" if fact.temp_c is not None else ""
        case SolidLaid():
            words = f"{_laid_words(fact)}, {'mixed in' if fact.mixed_in else 'laid'}"
        case SolidLifted():
            words = _lifted_words(fact)
        case Moved():
            bench = f"the bench {fact.bench}" if fact.bench else ""
            words = f"moved to {listed([place for place in (fact.group, bench) if place])}"
        case Gone():
            words = fact.how
        case Allowed():
            words = f"feed allowed in spite of holds, because: {fact.because}"
        case Noted():
            words = fact.text
    return words


def _laid_words(fact: SolidLaid) -> str:
    if fact.grams_per_l is None:
        return f"{fact.grams.normalize():f} g of {fact.feed} a tree"
    return f"{round(fact.grams_per_l, 2).normalize():f} g of {fact.feed} per litre of pot"


def _lifted_words(fact: SolidLifted) -> str:
    if fact.feed == "none":
        return "no solid feed there"
    return f"{fact.feed or 'all solid feed'} lifted"

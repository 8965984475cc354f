"""Journal entries as a person would say them."""

from __future__ import annotations

from feedplan.model import journal
from feedplan.model.hold import CauseKind
from feedplan.model.journal import Caused, Entry, Fact, Subject
from feedplan.words.language import say
from feedplan.words.writing import full_day, listed, number, percent


def entry_words(entry: Entry) -> str:
    """An entry as a phrase: "Brindle repotted, 30 % of roots off", "Moth and Kettle: frost"."""
    is_verb = isinstance(entry.fact, journal.Fed | journal.Moved | journal.PutOff) or (
        isinstance(entry.fact, Caused) and entry.fact.kind is CauseKind.WORK
    )
    who, what = subject_words(entry.subject), happened_words(entry.fact)
    return say("{who} {what}" if is_verb else "{who}: {what}", who=who, what=what)


def subject_words(subject: Subject) -> str:
    """The trees an entry speaks of, as it names them."""
    if subject.trees:
        return listed(list(subject.trees))
    every = subject.group or subject.species or say("all trees")
    if not subject.but_not:
        return every
    return say("{every} (but not {names})", every=every, names=listed(sorted(subject.but_not)))


def happened_words(fact: Fact) -> str:
    """What happened, as a phrase that follows a name."""
    match fact:
        case journal.Seen():
            signs = listed(list(fact.words))
            return (
                say("{signs} seen (corrected)", signs=signs)
                if fact.instead
                else say("{signs} seen", signs=signs)
            )
        case Caused() | journal.Planned():
            return _caused_words(fact)
        case journal.Fed():
            return _fed_words(fact)
        case journal.NotFed():
            return (
                say("not fed: {because}", because=_unstopped(fact.because))
                if fact.because
                else say("not fed")
            )
        case journal.Checked():
            return say("checked, {answer}", answer=say(fact.answer))
        case journal.RootZone():
            return say("root zone measured: {temp} °C", temp=number(fact.temp_c))
        case journal.EcRead():
            return _read_words(fact)
        case journal.NotLaid():
            return (
                say("not laid: {because}", because=_unstopped(fact.because))
                if fact.because
                else say("not laid")
            )
        case journal.SolidLaid() | journal.SolidLifted():
            return _solid_words(fact)
        case journal.Moved() | journal.Gone() | journal.PutOff():
            return _place_words(fact)
        case journal.Allowed():
            return say("feed allowed in spite of holds, because: {because}", because=_unstopped(fact.because))
        case journal.Noted():
            return _unstopped(fact.text)


def _unstopped(words: str) -> str:
    """The grower's own words as a part of a sentence: without a full stop, which the sentence has itself."""
    return words.rstrip(".")


def _place_words(fact: journal.Moved | journal.Gone | journal.PutOff) -> str:
    """A change of place, that trees are gone, or that they are put off."""
    if isinstance(fact, journal.PutOff):
        return say("put off to next spring")
    if isinstance(fact, journal.Gone):
        how = say(fact.how)
        return how if fact.count is None else say("{count} {how}", count=fact.count, how=how)
    bench = say("the bench {bench}", bench=fact.bench) if fact.bench else ""
    return say("moved to {places}", places=listed([at for at in (fact.group, bench) if at]))


def _caused_words(fact: Caused | journal.Planned) -> str:
    if isinstance(fact, journal.Planned):
        return say("{work}, planned for {day}", work=_caused_words(fact.work), day=full_day(fact.on))
    words = fact.cause
    if fact.roots is not None:
        words = say("{cause}, {share} of roots off", cause=words, share=percent(fact.roots))
    return say("{cause}, bare-rooted", cause=words) if fact.bare_rooted else words


def _fed_words(fact: journal.Fed) -> str:
    given = say("as planned") if fact.ppm is None else say("{number} ppm N", number=number(fact.ppm))
    if fact.feed:
        given = say("{strength} of {feed}", strength=given, feed=fact.feed)
    if fact.part != 1:
        given = say("{given}, {share} of the usual pour", given=given, share=percent(fact.part))
    if fact.litres:
        return say("fed {given}, {litres} L in all", given=given, litres=number(fact.litres))
    return say("fed {given}", given=given)


def _read_words(fact: journal.EcRead) -> str:
    read = "drain read {ec} mS/cm" if fact.of_drain else "can read {ec} mS/cm"
    words = say(read, ec=number(fact.ms_per_cm))
    return (
        words if fact.temp_c is None else say("{words} at {temp} °C", words=words, temp=number(fact.temp_c))
    )


def _solid_words(fact: journal.SolidLaid | journal.SolidLifted) -> str:
    if isinstance(fact, journal.SolidLaid):
        grams = number(fact.grams if fact.grams_per_l is None else round(fact.grams_per_l, 2))
        rate = (
            "{grams} g of {feed} a tree"
            if fact.grams_per_l is None
            else "{grams} g of {feed} per litre of pot"
        )
        what = say(rate, grams=grams, feed=fact.feed)
        return say("{what}, mixed in", what=what) if fact.mixed_in else say("{what}, laid", what=what)
    if fact.feed == "none":
        return say("no solid feed there")
    return say("{feed} lifted", feed=fact.feed or say("all solid feed"))

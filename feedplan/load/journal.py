"""The journal: entries identified and checked against the collection, each made a fact, those undone left out."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping, Sequence, Set
from dataclasses import replace
from decimal import Decimal

from pydantic import ConfigDict, TypeAdapter

from feedplan.dose.strength import LabelShare
from feedplan.load.collection_models import EntryModel
from feedplan.load.feed_uses import in_use
from feedplan.load.feeds import ppm_of_fed
from feedplan.load.folder import schedule_with_cause
from feedplan.load.journal_ids import ids_of, undone_by
from feedplan.load.journal_names import JournalNames
from feedplan.load.meanings import MOST_ORDINARY, bench_meant, is_ordinary_work, meant_by, nearest_sign
from feedplan.load.problems import Findings, Passage, either, near_miss
from feedplan.load.read_feeds import AS_PLANNED, NO_REASON, NONE_THERE, MixedRate
from feedplan.load.shape import check_shape, sound_part
from feedplan.model import journal as facts
from feedplan.model.forms import DISSOLVING, SOLID, Form
from feedplan.model.hold import CauseKind

SUBJECTS = ("tree", "trees", "group", "species", "everything")
FACTS = ("seen", "work", "planned", "trouble", "arrived", "fed", "not_fed", "check", "ec", "root_zone", "laid",
         "not_laid", "lifted", "moved", "bench", "gone", "put_off", "allow")  # fmt: skip
_BELONG: Mapping[str, tuple[str, ...]] = {
    "seen": ("instead",),
    "work": ("roots", "bare_rooted"),
    "planned": ("on",),
    "fed": ("feed", "litres", "part"),
    "ec": ("of", "read_at"),
    "laid": ("grams", "rate", "mixed_in"),
    "gone": ("count",),
    "allow": ("because",),
}  # keys that say more about one fact, by the fact they belong to
_FACT_OF = {"fed": "as planned", "work": "repotted", "gone": "dead", "allow": "feed"}
"""The usual value of a fact, for one who wrote only what goes with it."""
_ENTRIES = TypeAdapter(list[EntryModel], config=ConfigDict(defer_build=True))

# What tells of all trees under a name, so that some of them first get a name of their own.
_OF_ALL = ("work", "trouble", "moved", "bench")
SET_APART = (
    "{key} tells of all under a name; give the {count} a tree of their own in collection.yaml, with count: {count} and "
    "since: {day}, write gone: set apart, count: {count} here, and then {key} for the new name"
)
_A_NOTE = "anything else is a note: write note: "
NOT_A_LIST = "is not a list; write one entry a line, each starting with - {date: 2027-04-26, ..."
MOST_HINTS = 20
"""So many unknown trees are compared with all that are known; with more, another file is probably meant."""


def read_journal(value: object, file: Passage, names: JournalNames) -> facts.Journal:
    """The journal, its problems noted. names: what the collection holds."""
    if value is None:
        return facts.Journal()
    if not isinstance(value, list):
        file.wrong(NOT_A_LIST)
        return facts.Journal()
    models = _models(value, file)
    ids = ids_of(value, models, file)
    undone = undone_by(models, ids, file)
    stand = {i: model for i, model in models.items() if model.undo is None and ids[i] not in undone}
    gone = (model for model in stand.values() if model.gone and model.count is None)
    departed = {name for model in gone for name in (model.tree, *(model.trees or ())) if name is not None}
    reader = EntryReader(names, departed, [model for model in stand.values() if model.moved])
    entries = (reader.entry(model, ids[i], file.at(i)) for i, model in stand.items())
    stood = tuple(entry for entry in entries if entry is not None)
    return facts.Journal(stood, tuple(_withdrawn(models, ids, undone, names, file)))


def _withdrawn(
    models: Mapping[int, EntryModel],
    ids: Mapping[int, str],
    undone: Set[str],
    names: JournalNames,
    file: Passage,
) -> Iterator[facts.Entry]:
    """The entries taken back, each with the day of that; one that nobody could read any more is left out."""
    since = {m.undo: max(m.date, m.recorded or m.date) for m in models.values() if m.undo in undone}
    reader = EntryReader(names, ())
    for index, model in models.items():
        if model.undo is None and ids[index] in undone:
            entry = reader.entry(model, ids[index], Passage(file.spot, Findings()).at(index))
            if entry is not None:
                yield replace(entry, undone=since[ids[index]])


class EntryReader:
    """Turns entries into facts about known things. departed: trees recorded as gone. moves: entries that tell one."""

    def __init__(
        self, names: JournalNames, departed: Collection[str], moves: Sequence[EntryModel] = ()
    ) -> None:
        self._names = names
        self._moves = moves
        self._departed = departed
        self._hints: dict[str, str] = {}
        self._left: dict[str, int] = {}
        self._causes: dict[str, set[str]] = {kind.value: set() for kind in CauseKind}
        for rule in names.rules.values():
            self._causes[rule.kind.value].add(rule.cause)

    def entry(self, model: EntryModel, entry_id: str, part: Passage) -> facts.Entry | None:
        """One entry, or None when it has problems or speaks of trees long gone alone."""
        given = [key for key in FACTS if key in model.model_fields_set and getattr(model, key) is not None]
        before = part.findings.count
        self._check_keys(model, given, part)
        subject = self._subject(model, part)
        fact = self._fact(model, given, part) if given or model.note else None
        if subject is None or fact is None or part.findings.count > before:
            return None
        note = "" if model.note is None or isinstance(fact, facts.Noted) else model.note
        return facts.Entry(
            entry_id,
            model.date,
            model.recorded or model.date,
            subject,
            fact,
            part.source,
            note,
            is_dated=model.recorded is not None,
        )

    def _check_keys(self, model: EntryModel, given: Sequence[str], part: Passage) -> None:
        """Notes a missing or doubled fact, keys without their fact, and facts without a key they need."""
        told = [key for key in given if not (key == "bench" and "moved" in given)]
        if len(told) > 1:
            both = " and ".join(told)
            part.key(told[1]).wrong(f"an entry tells one thing, this one {both}; write two entries")
        belonging = {key for keys in _BELONG.values() for key in keys} & model.model_fields_set
        if not told and model.note is None and not belonging:
            part.wrong(
                f"says nothing that happened; write what happened under one of {', '.join(FACTS)} and note"
            )
        for fact, keys in _BELONG.items():
            for key in model.model_fields_set.intersection(keys):
                of_all = next((each for each in given if each in _OF_ALL), None)
                if key == "count" and of_all is not None:
                    part.key(key).wrong(SET_APART.format(key=of_all, count=model.count, day=model.date))
                elif fact == "work" and "planned" in given:
                    continue
                elif getattr(model, key) not in (None, False) and fact not in given:
                    example = _FACT_OF.get(fact)
                    add = f"add {fact}: {example}" if example else f"add {fact}:"
                    part.key(key).wrong(f"{key} goes with {fact}; {add} or remove {key}")
        if "planned" in given and model.on is None:
            part.wrong(f"planned has no 'on'; write for example on: {model.date.year + 1}-03-10")
        if "allow" in given and model.because is None:
            part.wrong("allow has no 'because'; write for example because: new leaves are pale")
        if model.recorded is not None and model.recorded < model.date:
            part.wrong(
                f"recorded {model.recorded} is before {model.date}, when it happened; swap them", "recorded"
            )

    def _subject(self, model: EntryModel, part: Passage) -> facts.Subject | None:
        given = [key for key in SUBJECTS if getattr(model, key)]
        if len(given) != 1:
            what = f"speaks of {' and '.join(given)}" if given else "names no tree"
            part.wrong(f"{what}; write exactly one of tree, trees, group, species or everything: true")
            return None
        by_name = given[0] in ("tree", "trees")
        if model.but_not and by_name:
            part.key("but_not").wrong("but_not goes with group, species or everything; remove it")
        trees = self._present(model.trees or ([model.tree] if model.tree else []), part.at(given[0]))
        left_out = self._present(model.but_not or [], part.at("but_not"))
        if by_name and not trees:
            return None
        self._check_group(model.group, part.at("group"))
        if model.species is not None:
            self._check_species(model.species, part.at("species"))
        everything = bool(model.everything)
        return facts.Subject(tuple(trees), model.group, model.species, everything, frozenset(left_out))

    def _present(self, names: Sequence[str], part: Passage) -> list[str]:
        """The names of trees that are in the collection; unknown ones are noted unless they are recorded as gone."""
        found = []
        for index, name in enumerate(names):
            if not self._names.is_whole or name in self._names.trees:
                found.append(name)
            elif name not in self._departed:
                several = [each for each in re.split(r"[,;&+]? +|, *", name) if each]
                if len(several) > 1 and all(each in self._names.trees for each in several):
                    part.wrong(f"no tree is called '{name}'; write trees: [{', '.join(several)}]", index)
                else:
                    part.wrong(f"no tree is called '{name}'{self._tree_hint(name)}", index)
        return found

    def _tree_hint(self, name: str) -> str:
        """What to write instead of an unknown tree; looked for a few times only, since it takes a while."""
        if name not in self._hints:
            self._hints[name] = near_miss(name, self._names.trees) if len(self._hints) < MOST_HINTS else ""
        return self._hints[name]

    def _check_group(self, name: str | None, part: Passage) -> None:
        if name is not None and self._names.is_whole and name not in self._names.groups:
            part.unknown("group", name, self._names.groups)

    def _check_species(self, word: str, part: Passage) -> None:
        known = self._names.species
        if self._names.is_whole and not self._names.kinds.meant(word, known):
            part.wrong(f"no tree is of the species '{word}'{near_miss(word, known)}")

    def _fact(self, model: EntryModel, given: Sequence[str], part: Passage) -> facts.Fact:
        """What the entry tells; what is wrong with it is noted."""
        match given[0] if given else "note":
            case "seen":
                return facts.Seen(self._signs(model.seen or [], part.at("seen")), model.instead)
            case "work" | "trouble" | "arrived" as kind:
                return self._caused(kind, str(getattr(model, kind)), model, part.at(kind))
            case "planned":
                work = self._caused("work", str(model.planned), model, part.at("planned"), "planned")
                return facts.Planned(work, model.on or model.date)
            case "fed":
                self._check_feed(model.feed, "feed", DISSOLVING, part)
                part_poured = Decimal(1) if model.part is None else model.part
                return facts.Fed(self._fed_ppm(model, part), model.feed, model.litres, part_poured)
            case "not_fed" | "not_laid":
                because = str(model.not_fed or model.not_laid)
                fact = facts.NotFed if given[0] == "not_fed" else facts.NotLaid
                return fact("" if because == NO_REASON else because)
            case "check":
                return facts.Checked(str(model.check))
            case "ec":
                return facts.EcRead(Decimal(str(model.ec)), model.of == "drain", model.read_at)
            case "root_zone":
                return facts.RootZone(model.root_zone or Decimal(0))
            case "laid":
                self._check_feed(model.laid, "laid", SOLID, part)
                return self._laid(model, part)
            case "lifted":
                return self._lifted(str(model.lifted), part)
            case "gone":
                return self._gone(model, part)
            case "put_off" | "allow" | "note" as kind:
                return _in_words(kind, model)
        return self._moved(model, part)

    def _fed_ppm(self, model: EntryModel, part: Passage) -> Decimal | None:
        """The nitrogen of a feed given [mg/L]; None for as planned, or with what is missing noted."""
        if isinstance(model.fed, LabelShare | MixedRate):
            own = in_use(self._names.feeds_used(model, self._moves), model.date)
            return ppm_of_fed(model.fed, model.feed, self._names.feeds, part.at("fed"), own)
        return None if model.fed == AS_PLANNED else Decimal(str(model.fed))

    def _moved(self, model: EntryModel, part: Passage) -> facts.Moved:
        """A move; a bench that looks like a slip for another is asked about."""
        self._check_group(model.moved, part.at("moved"))
        if model.bench is not None and (hint := bench_meant(model.bench, self._names.benches)):
            part.ask(f"no tree stands on bench '{model.bench}'; did you mean '{hint}'?", "bench")
        return facts.Moved(model.moved, model.bench)

    def _signs(self, texts: Sequence[str], part: Passage) -> tuple[str, ...]:
        """The stages and signs of a list, or of words with commas or "and" between them."""
        names = [(i, each) for i, text in enumerate(texts) for each in self._names.words.apart(text)]
        is_list = isinstance(part.spot.inner, list)
        return tuple(self._sign(text, part.at(index) if is_list else part) for index, text in names)

    def _sign(self, text: str, part: Passage) -> str:
        """The stage or sign that a text names or means, or the text with its problem noted."""
        words, meant = self._names.words, meant_by(text)
        if words.sign(text) is not None or not self._names.is_whole:
            return words.sign(text) or text
        if meant is not None and meant.key == "seen" and (sign := words.sign(meant.value)):
            return sign
        own = [f"{kind}: {text}" for kind, known in self._causes.items() if text in known]
        told = [str(meant)] if meant is not None and meant.key != "seen" else own
        if told or is_ordinary_work(text) or not near_miss(text, words.spellings, few=0):
            write = f"write {told[0]}" if told else self._sign_or_note(text)
            part.wrong(f"seen: no stage or sign is called '{text}'; {write}")
            return text
        return words.known_sign(text, part, "seen", "stage or sign")

    def _sign_or_note(self, text: str) -> str:
        """What to write for words that are no sign: the sign they are near, or else a note."""
        near = None if is_ordinary_work(text) else nearest_sign(text, self._names.words.names)
        write = f"write note: {text}"
        return (
            f"{_A_NOTE}{text}"
            if near is None
            else f"did you mean 'seen: {near}'? If none of the signs, {write}"
        )

    def _caused(
        self, kind: str, cause: str, model: EntryModel, part: Passage, key: str | None = None
    ) -> facts.Caused:
        """A cause of that kind, written under that key or under one of its own."""
        known, meant = self._causes[kind], meant_by(cause)
        if self._names.rules and cause not in known:
            if meant is not None and meant.key == kind and meant.value in known:
                cause = meant.value
            else:
                part.wrong(
                    f"{key or kind}: no hold knows '{cause}'{self._cause_hint(key or kind, cause, known)}"
                )
        return facts.Caused(CauseKind(kind), cause, model.roots, model.bare_rooted)

    def _cause_hint(self, kind: str, cause: str, known: Set[str]) -> str:
        """What to write for a word that opens no hold: its meaning, a schedule that has it, one like it, or a note."""
        meant = meant_by(cause)
        if (
            meant is not None
            and meant.key != kind
            and meant.value in self._causes.get(meant.key, {meant.value})
        ):
            return f"; write {meant}"
        if sign := self._names.words.sign(cause):
            return f"; write seen: {sign}"
        if is_ordinary_work(cause):
            most = f", or work: {MOST_ORDINARY} if more than a third of the crown went"
            return f"; it stops no feed: write note: {cause}{most if MOST_ORDINARY in self._causes['work'] else ''}"
        schedule = schedule_with_cause(meant.value if meant is not None else cause)
        if schedule:
            return f", which only the schedule {schedule} has; put the tree in a group with it, or write note: {cause}"
        close = near_miss(cause, known, few=0)
        return close or f" (known: {', '.join(sorted(known))}); {self._sign_or_note(cause)}"

    def _gone(self, model: EntryModel, part: Passage) -> facts.Gone:
        """That all or some of the trees under a name left; never more than are there."""
        if model.count is not None:
            if model.tree is None:
                part.key("count").wrong("count goes with one name; write tree: and one entry for each name")
            elif model.tree in self._names.counts:
                left = self._left.get(model.tree, self._names.counts[model.tree])
                if model.count > left:
                    part.key("count").wrong(
                        f"of '{model.tree}' {left} are left; write count: {left}, or fewer"
                    )
                self._left[model.tree] = left - model.count
        return facts.Gone(str(model.gone), model.count)

    def _laid(self, model: EntryModel, part: Passage) -> facts.SolidLaid:
        """A solid feed laid by weight per tree, or by a rate per litre of pot; exactly one is told."""
        if model.grams is None and model.rate is None:
            part.wrong("laid has no 'grams'; write for example grams: 20 g")
        elif model.grams is not None and model.rate is not None:
            part.key("rate").wrong("laid has grams and a rate; write one of them")
        feed = self._names.feeds.get(str(model.laid))
        per_l = model.rate.grams_per_l if model.rate is not None else None
        if model.rate is not None and per_l is None:
            gives = feed.n_mg_per_g * feed.released if feed is not None else Decimal(0)
            per_l = (model.rate.n_mg_per_l or 0) / gives if gives else Decimal(0)
        if model.rate is not None and (ml := model.rate.spoons_ml_per_l) is not None and feed is not None:
            per_l = feed.product.levelled_g(ml)
            if per_l is None:
                part.wrong(
                    f"rate: no spoon of '{feed.name}' is told; write grams, such as rate: 3 g per L", "rate"
                )
        return facts.SolidLaid(str(model.laid), model.grams or Decimal(0), model.mixed_in, per_l)

    def _lifted(self, text: str, part: Passage) -> facts.SolidLifted:
        if text == "all":
            return facts.SolidLifted()
        if text == NONE_THERE:
            return facts.SolidLifted("none")
        self._check_feed(text, "lifted", SOLID, part)
        return facts.SolidLifted(text)

    def _check_feed(self, name: str | None, key: str, forms: Sequence[Form], part: Passage) -> None:
        """Notes a feed that is unknown or none of the forms a key takes."""
        if name is None or not self._names.is_whole:
            return
        feed = self._names.feeds.get(name)
        if name not in self._names.feeds:
            part.at(key).unknown("feed", name, self._names.feeds, key)
        elif feed is not None and feed.form not in forms:
            fit = [
                each.name for each in self._names.feeds.values() if each is not None and each.form in forms
            ]
            such = f"; name {either(fit)}" if fit else f"; name a {either(forms)} feed"
            part.wrong(
                f"{key}: '{name}' is {feed.form}, which is not {_DONE_WITH.get(key, 'mixed in a can')}{such}",
                key,
            )


_DONE_WITH = {"laid": "laid on pots", "lifted": "laid on pots"}


def _in_words(kind: str, model: EntryModel) -> facts.Fact:
    """A decision of the grower's, or free words."""
    if kind == "put_off":
        return facts.PutOff()
    return facts.Allowed(model.because or "") if kind == "allow" else facts.Noted(model.note or "")


def _models(value: list[object], file: Passage) -> dict[int, EntryModel]:
    """Every entry whose shape is right, by its place in the list."""
    models = check_shape(_ENTRIES, value, file)
    if models is not None:
        return dict(enumerate(models))
    found = ((index, sound_part(EntryModel, item)) for index, item in enumerate(value))
    return {index: model for index, model in found if model is not None}

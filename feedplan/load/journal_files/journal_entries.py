"""Journal entries: from what a line says to a fact about trees that are there."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from feedplan.engine.cohorts import is_species
from feedplan.load.building.vocabulary import Words
from feedplan.load.findings import Findings, either, near_miss
from feedplan.load.models.journal_models import AS_PLANNED, FACTS, NO_REASON, NONE_THERE, SUBJECTS, EntryModel
from feedplan.load.text.spots import Spot
from feedplan.model.collection import Feed
from feedplan.model.forms import DISSOLVING, SOLID, Form
from feedplan.model.hold import CauseKind, HoldRule
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
    NotFed,
    RootZone,
    Seen,
    SolidLaid,
    SolidLifted,
    Subject,
)

# Keys that say more about one fact, and the fact each belongs to.
_BELONGS: Mapping[str, str] = {
    "roots": "work",
    "bare_rooted": "work",
    "feed": "fed",
    "litres": "fed",
    "part": "fed",
    "of": "ec",
    "read_at": "ec",
    "grams": "laid",
    "rate": "laid",
    "mixed_in": "laid",
    "because": "allow",
}
_REQUIRED: Mapping[str, tuple[str, str]] = {
    "allow": ("because", "new leaves are pale"),
}

MOST_HINTS = 20
"""So many unknown trees are compared with all that are known; with more, another file is probably meant."""


@dataclass(slots=True)
class Known:
    """What entries may speak of. A feed that is None is there but has problems of its own."""

    trees: Collection[str] = ()
    groups: Collection[str] = ()
    feeds: Mapping[str, Feed | None] = field(default_factory=dict)
    species: Collection[str] = ()
    rules: Mapping[str, HoldRule] = field(default_factory=dict)
    words: Words = field(default_factory=lambda: Words(()))
    is_whole: bool = True


class EntryReader:
    """Turns entries into facts about known things."""

    def __init__(self, known: Known, spot: Spot, findings: Findings, departed: set[str]) -> None:
        self._known = known
        self._spot = spot
        self._findings = findings
        self._departed = departed
        self._hints: dict[str, str] = {}
        self._causes: dict[str, set[str]] = {kind.value: set() for kind in CauseKind}
        for rule in known.rules.values():
            self._causes[rule.kind.value].add(rule.cause)

    def entry(self, index: int, model: EntryModel, entry_id: str) -> Entry | None:
        """One entry, or None when it has problems or speaks of trees long gone alone."""
        spot = self._spot.at((index,))
        given = [key for key in FACTS if key in model.model_fields_set and getattr(model, key) is not None]
        before = self._findings.count
        self._check_keys(model, given, spot)
        subject = self._subject(model, spot)
        fact = self._fact(model, given, spot) if given or model.note else None
        if subject is None or fact is None or self._findings.count > before:
            return None
        note = "" if model.note is None or isinstance(fact, Noted) else model.note
        return Entry(
            entry_id,
            model.date,
            model.recorded or model.date,
            subject,
            fact,
            spot.source,
            note,
            is_dated=model.recorded is not None,
        )

    def _check_keys(self, model: EntryModel, given: list[str], spot: Spot) -> None:
        """Notes a missing or doubled fact, keys without their fact, and facts without a key they need."""
        facts = [key for key in given if not (key == "bench" and "moved" in given)]
        if len(facts) > 1:
            names = " and ".join(facts)
            self._findings.at(
                spot.key(facts[1]), f"an entry tells one thing, this one {names}; write two entries"
            )
        if not facts and model.note is None:
            self._findings.at(spot, f"says nothing that happened; write one of {', '.join(FACTS)} or note")
        for key, fact in _BELONGS.items():
            if (
                key in model.model_fields_set
                and getattr(model, key) not in (None, False)
                and fact not in given
            ):
                self._findings.at(spot.key(key), f"{key} goes with {fact}; add {fact}: or remove {key}")
        for fact, (key, example) in _REQUIRED.items():
            if fact in given and getattr(model, key) is None:
                self._findings.at(spot, f"{fact} has no '{key}'; write for example {key}: {example}")
        if model.recorded is not None and model.recorded < model.date:
            self._findings.at(
                spot.at(("recorded",)),
                f"recorded {model.recorded} is before {model.date}, when it happened; swap them",
            )

    def _subject(self, model: EntryModel, spot: Spot) -> Subject | None:
        given = [key for key in SUBJECTS if getattr(model, key)]
        if len(given) != 1:
            what = f"speaks of {' and '.join(given)}" if given else "names no tree"
            self._findings.at(
                spot, f"{what}; write exactly one of tree, trees, group, species or everything: true"
            )
            return None
        if model.but_not and given[0] in ("tree", "trees"):
            self._findings.at(
                spot.key("but_not"), "but_not goes with group, species or everything; remove it"
            )
        names = self._present(model.trees or ([model.tree] if model.tree else []), spot, given[0])
        left_out = self._present(model.but_not or [], spot, "but_not")
        if given[0] in ("tree", "trees") and not names:
            return None
        self._check_name(model.group, self._known.groups, "group", spot, "group")
        self._check_species(model.species, spot)
        return Subject(tuple(names), model.group, model.species, bool(model.everything), frozenset(left_out))

    def _present(self, names: list[str], spot: Spot, key: str) -> list[str]:
        """The names of trees that are in the collection; unknown ones are noted unless they are recorded as gone."""
        found = []
        for index, name in enumerate(names):
            if not self._known.is_whole or name in self._known.trees:
                found.append(name)
            elif name not in self._departed:
                hint = self._tree_hint(name)
                self._findings.at(spot.at((key, index)), f"no tree is called '{name}'{hint}")
        return found

    def _tree_hint(self, name: str) -> str:
        """What to write instead of an unknown tree; looked for a few times only, since it takes a while."""
        if name not in self._hints:
            self._hints[name] = near_miss(name, self._known.trees) if len(self._hints) < MOST_HINTS else ""
        return self._hints[name]

    def _check_name(self, name: str | None, known: Collection[str], noun: str, spot: Spot, key: str) -> None:
        if name is not None and self._known.is_whole and name not in known:
            self._findings.at(spot.at((key,)), f"no {noun} is called '{name}'{near_miss(name, known)}")

    def _check_species(self, word: str | None, spot: Spot) -> None:
        if word is None or not self._known.is_whole:
            return
        if not any(is_species(word, species) for species in self._known.species):
            hint = near_miss(word, self._known.species)
            self._findings.at(spot.at(("species",)), f"no tree is of the species '{word}'{hint}")

    def _fact(self, model: EntryModel, given: list[str], spot: Spot) -> Fact | None:
        if not given:
            return Noted(model.note or "")
        match given[0]:
            case "seen":
                return Seen(tuple(self._signs(model.seen or [], spot)))
            case "work" | "trouble" | "arrived":
                return self._caused(given[0], model, spot)
            case "fed":
                self._check_feed(model.feed, "feed", DISSOLVING, spot)
                ppm = None if model.fed == AS_PLANNED else Decimal(str(model.fed))
                return Fed(ppm, model.feed, model.litres, Decimal(1) if model.part is None else model.part)
            case "not_fed":
                return NotFed("" if model.not_fed == NO_REASON else str(model.not_fed))
            case "check":
                return Checked(str(model.check))
            case "ec":
                return EcRead(Decimal(str(model.ec)), model.of == "drain", model.read_at)
            case "root_zone":
                return RootZone(model.root_zone or Decimal(0))
            case "laid":
                self._check_feed(model.laid, "laid", SOLID, spot)
                return self._laid(model, spot)
            case "lifted":
                return self._lifted(str(model.lifted), spot)
            case "gone":
                return Gone(str(model.gone))
            case "allow":
                return Allowed(model.because or "")
        self._check_name(model.moved, self._known.groups, "group", spot, "moved")
        return Moved(model.moved, model.bench)

    def _signs(self, texts: Iterable[str], spot: Spot) -> list[str]:
        found = []
        for index, text in enumerate(texts):
            sign = self._known.words.sign(text)
            if sign is None and self._known.is_whole:
                hint = self._known.words.sign_hint(text)
                self._findings.at(
                    spot.at(("seen", index)), f"seen: no stage or sign is called '{text}'{hint}"
                )
            found.append(sign or text)
        return found

    def _caused(self, kind: str, model: EntryModel, spot: Spot) -> Caused:
        cause = str(getattr(model, kind))
        if self._known.rules and cause not in self._causes[kind]:
            hint = near_miss(cause, self._causes[kind])
            self._findings.at(spot.at((kind,)), f"{kind}: no hold knows '{cause}'{hint}")
        return Caused(CauseKind(kind), cause, model.roots, model.bare_rooted)

    def _laid(self, model: EntryModel, spot: Spot) -> SolidLaid:
        """A solid feed laid by weight per tree, or by a rate per litre of pot; exactly one is told."""
        if model.grams is None and model.rate is None:
            self._findings.at(spot, "laid has no 'grams'; write for example grams: 20 g")
        elif model.grams is not None and model.rate is not None:
            self._findings.at(spot.key("rate"), "laid has grams and a rate; write one of them")
        feed = self._known.feeds.get(str(model.laid))
        per_l = model.rate.grams_per_l if model.rate is not None else None
        if model.rate is not None and per_l is None:
            gives = feed.n_mg_per_g * feed.released if feed is not None else Decimal(0)
            per_l = model.rate.n_mg_per_l / gives if gives else Decimal(0)
        return SolidLaid(str(model.laid), model.grams or Decimal(0), model.mixed_in, per_l)

    def _lifted(self, text: str, spot: Spot) -> SolidLifted:
        if text == "all":
            return SolidLifted()
        if text == NONE_THERE:
            return SolidLifted("none")
        self._check_feed(text, "lifted", SOLID, spot)
        return SolidLifted(text)

    def _check_feed(self, name: str | None, key: str, forms: tuple[Form, ...], spot: Spot) -> None:
        if name is None or not self._known.is_whole:
            return
        place = spot.at((key,))
        if name not in self._known.feeds:
            self._findings.at(place, f"{key}: no feed is called '{name}'{near_miss(name, self._known.feeds)}")
            return
        feed = self._known.feeds[name]
        if feed is not None and feed.form not in forms:
            wanted = either(forms)
            self._findings.at(place, f"{key}: '{name}' is {feed.form}; expected a {wanted} feed")

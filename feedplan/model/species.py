"""TreeKinds of trees: the table of names, and the one place that says which kind a grower's species word means."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from enum import Enum
from itertools import chain

# 'Kotobuki' in quotes, (brackets), "var." and the like say nothing of the kind.
_CULTIVAR = re.compile(
    r"(?:^|(?<=\s))['\"‘“][^'\"’”]*['\"’”](?=\s|$)|\([^)]*\)|\b(?:var|subsp|ssp|cv|sp|spp)\."
)
_SAID_AFTER = re.compile(r" (?:of|from|in|on|with|by) ")
_FORMS = frozenset(
    (
        *("bonsai", "clump", "cutting", "cuttings", "forest", "group", "layer", "layers", "penjing", "row"),
        *("sapling", "saplings", "seedling", "seedlings", "slip", "slips", "tree", "trees"),
    )
)
_NEAR_ENOUGH = 0.8
_MOST_NEAR = 5


class FlushHabit(Enum):
    """How a kind grows in a year."""

    SINGLE = "single"
    MULTIPLE = "multiple"
    CONTINUOUS = "continuous"


@dataclass(frozen=True, slots=True)
class TreeKind:
    """One row of the table of species.

    name: botanical; a genus alone stands for all of it that has no row. also: other names. noun: what growers call it
    for short. leaves: leaf habit ("deciduous needle"). year: its stage calendar, "" for that of the schedule it stands
    in. flags: what else sets it apart ("no lime"). ask_which: some kinds of that name keep their leaves in winter and
    some do not. known: how the row is known.
    """

    name: str
    also: tuple[str, ...] = ()
    noun: str = ""
    leaves: str = ""
    flush: FlushHabit = FlushHabit.MULTIPLE
    year: str = ""
    flags: frozenset[str] = frozenset()
    ask_which: bool = False
    known: str = ""

    @property
    def genus(self) -> str:
        """The first word of its botanical name."""
        return self.name.split(maxsplit=1)[0]

    @property
    def hates_lime(self) -> bool:
        """Whether the table marks it so."""
        return "no lime" in self.flags

    @property
    def names(self) -> tuple[str, ...]:
        """Every name it has, the botanical one first."""
        return (self.name, *self.also)


def plain_name(text: str) -> str:
    """A name in small letters without accents, apostrophes, crosses, hyphens, cultivar and brackets."""
    if text.isascii() and text.replace(" ", "").isalpha():
        return " ".join(text.casefold().split())
    bare = _CULTIVAR.sub(" ", text.replace("×", " "))
    letters = unicodedata.normalize("NFKD", bare.casefold())
    kept = "".join(c for c in letters if not unicodedata.combining(c) and c not in "'’‘\"“”`.")
    return " ".join(kept.replace("-", " ").replace(",", " ").split())


class TreeKinds:
    """The table of species, by every name. Each answer is worked out once."""

    def __init__(self, kinds: Iterable[TreeKind] = ()) -> None:
        self.all = tuple(kinds)
        self._named: dict[str, TreeKind] = {}
        self._spelled: dict[str, str] = {}
        self._genera: dict[str, list[TreeKind]] = {}
        self._nouns = {kind.noun for kind in self.all}
        self._found: dict[str, TreeKind | None] = {}
        self._meant: dict[tuple[str, str], bool] = {}
        for kind in self.all:
            self._genera.setdefault(kind.genus.casefold(), []).append(kind)
            for name in kind.names:
                plain = plain_name(name)
                self._named.setdefault(plain, kind)
                self._spelled.setdefault(plain, name)

    def kind_of(self, species: str) -> TreeKind | None:
        """The kind a species word names, None if none does.

        The whole name comes first, then the binomial or genus it begins with, then the longest name it ends with. A
        name in the middle decides nothing, nor one at the front, unless only a cultivar's name follows.
        """
        if species not in self._found:
            self._found[species] = self._looked_up(species)
        return self._found[species]

    def means(self, word: str, species: str) -> bool:
        """Whether a grower's word for trees ("elm", "Ulmus") stands for trees of a species ("Chinese elm").

        A word of the table stands for its own kind under every name, a genus for all of it, and a short name for what
        is called so and is one: "elm" for a cedar elm and for an Ulmus, "cedar" for neither. Where the table does not
        know the word or the species, the word counts wherever it stands in the species.
        """
        if (word, species) not in self._meant:
            self._meant[word, species] = self._is_meant(word, species)
        return self._meant[word, species]

    def meant(self, word: str, among: Collection[str]) -> frozenset[str]:
        """The species of a collection that a word stands for; where there is none, those whose name ends in it.

        So "elm" is not the grey bark elm, a zelkova, beside true elms, and is where there are none.
        """
        of_kind = frozenset(species for species in among if self.means(word, species))
        return of_kind or frozenset(
            species for species in among if self._is_called(plain_name(word), species)
        )

    def nearest(self, species: str) -> tuple[str, ...]:
        """A few known names near to an unknown one: those that end in it, else the one spelled most alike."""
        from difflib import get_close_matches  # noqa: PLC0415 - only needed when something is wrong

        plain = plain_name(species)
        ending = [name for name in self._named if name.endswith(f" {plain}")]
        close = ending or get_close_matches(plain, self._named, 1, _NEAR_ENOUGH)
        shortest = {self._named[name].name: name for name in sorted(close, key=len, reverse=True)}
        return tuple(self._spelled[name] for name in sorted(shortest.values())[:_MOST_NEAR])

    def _looked_up(self, species: str) -> TreeKind | None:
        whole, cut = _forms(plain_name(species)), _forms(_without_origin(species))
        cultivar_of = filter(None, [self._before_cultivar(species)])
        steps = (
            map(self._named.get, whole),
            map(self._by_beginning, whole),
            (
                self._named.get(ending)
                for name in whole
                for ending in _endings(name)
                if _SAID_AFTER.search(ending)
            ),
            map(self._named.get, cut),
            map(self._by_beginning, cut),
            (self._named.get(ending) for name in cut for ending in _endings(name)),
            map(self._named.get, cultivar_of),
        )
        return next(filter(None, chain.from_iterable(steps)), None)

    def _by_beginning(self, name: str) -> TreeKind | None:
        """The kind whose binomial a name begins with; else the genus its first word is, if its kinds agree."""
        words = name.split()
        for length in range(len(words) - 1, 1, -1):
            found = self._named.get(" ".join(words[:length]))
            if found is not None and plain_name(found.genus) == words[0]:
                return found
        genus = self._genera.get(words[0], []) if words else []
        whole = next((kind for kind in genus if kind.name == kind.genus), None)
        alike = {(kind.year, kind.leaves, kind.flush) for kind in genus}
        return whole or (genus[0] if len(alike) == 1 else None)

    def _before_cultivar(self, species: str) -> str | None:
        """The name in "Japanese maple Deshojo": one known, of two words or more, before words with capitals only."""
        words = species.split()
        for length in range(len(words) - 1, 1, -1):
            name = plain_name(" ".join(words[:length]))
            if name in self._named and all(word[:1].isupper() for word in words[length:]):
                return name
        return None

    def _is_meant(self, word: str, species: str) -> bool:
        spoken = next(filter(self._named.__contains__, _forms(plain_name(word))), plain_name(word))
        of_word, of_tree = self._named.get(spoken), self.kind_of(species)
        if of_word is None or of_tree is None:
            return _has_words(word, species)
        if spoken == plain_name(of_tree.genus):
            return True
        is_noun, called = spoken in self._nouns, self._is_called(spoken, species)
        if of_word is of_tree:
            return called or not is_noun or spoken == of_tree.noun
        if called and of_tree.noun == of_word.noun:
            return True
        return spoken == of_tree.noun and (called or of_word.genus == of_tree.genus)

    def _is_called(self, spoken: str, species: str) -> bool:
        """Whether a species is written with a name as its last words, leaving out forms, origins and cultivars."""
        known = filter(None, [self._before_cultivar(species)])
        written = chain(_forms(plain_name(species)), _forms(_without_origin(species)), known)
        return any(f" {name}".endswith(f" {spoken}") for name in written)


def _without_origin(species: str) -> str:
    """A plain name without what follows "from" and the like ("larch from seed")."""
    return _SAID_AFTER.split(plain_name(species), maxsplit=1)[0]


def _endings(name: str) -> Iterator[str]:
    """What a plain name ends with, the longest first: "cedar elm" and "elm" of "old cedar elm"."""
    words = name.split()
    return (" ".join(words[start:]) for start in range(1, len(words)))


def _has_words(word: str, species: str) -> bool:
    """Whether a word stands in a species as a whole word, in any letters."""
    return f" {plain_name(word)} " in f" {plain_name(species)} " or (
        f" {word.casefold()} " in f" {species.casefold().replace('-', ' ')} "
    )


def _forms(name: str) -> tuple[str, ...]:
    """A plain name, its singular, and the same without last words such as "seedlings" or "bonsai"."""
    forms, words = [], name.split()
    while words:
        forms += [" ".join([*words[:-1], last]) for last in (words[-1], *_singular(words[-1]))]
        if words[-1] not in _FORMS:
            break
        words.pop()
    return tuple(forms)


def _singular(word: str) -> Iterator[str]:
    for ending, one in (("ies", "y"), ("es", ""), ("s", "")):
        if word.endswith(ending) and len(word) > len(ending) + 1:
            yield word.removesuffix(ending) + one


def kinds_of_rows(rows: Iterable[Mapping[str, str]]) -> TreeKinds:
    """The table from its rows as text, names and flags parted by |."""
    return TreeKinds(
        TreeKind(
            row["name"],
            tuple(filter(None, row["also"].split("|"))),
            row["noun"],
            row["leaves"],
            FlushHabit(row["flush"]),
            row["year"],
            frozenset(filter(None, row["flags"].split("|"))),
            row["ask"] == "yes",
            row["known"],
        )
        for row in rows
    )

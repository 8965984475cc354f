"""Which group and schedule a tree of the grower's table may belong to: guessed from its species and the words beside.

Nothing here is certain, so each guess says what it was made from. Where words allow two, what feeds less comes first.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import chain, count

from feedplan.load.tree_table import TableRow
from feedplan.model.genus import GenusFlag, Harm, flags_of
from feedplan.model.species import TreeKind, TreeKinds
from feedplan.words.language import say

# Words a grower writes beside a tree, as whole words; a year behind the second to fourth says when.
_WEAK = r"weak|sick|ill|ailing|poor|poorly|struggling|recovering|recovery|dying|yellow|root rot"
_COLLECTED = r"collected|dug|yamadori"
_REPOTTED = r"repotted(?! every)|potted on|roots? (?:cut|pruned)"
_SEEDLING = r"seedlings?|sown"
_CUTTING = r"cuttings?|slips?|struck"
_DECANDLED = r"decandled?|decandling|candles? cut"
_FRUIT = r"flowers?|flowering|fruit|fruiting|blossom|berries"
_REFINED = r"refined?|refinement|ramified|show|shown|exhibition|finished|mature|shohin|mame"
_INDOORS = (
    r"indoors?|inside|window ?sills?|windows?(?! ?box)|house ?plants?|sun ?room|living room|"
    r"grow ?(?:lights?|tent)|under lights|tropicals?"
)
_VERY_OLD = r"very old|ancient"
_NOT = r"(?<!not )(?<!longer )(?<!never )(?<!be )\b"
_END = r"(?![-\w])"
_YEAR = re.compile(r"\b(?:19|20)\d\d\b")

_TROPICAL = "indoor-tropical"
# By the year a kind keeps, and whether it is refined; any other kind stands in the last two.
_BY_YEAR: Mapping[str, tuple[str, str]] = {
    "indoor tropical": (_TROPICAL, _TROPICAL),
    "ericaceous": ("ericaceous", "ericaceous"),
    "needle conifer": ("conifer", "conifer-refined"),
    "scale conifer": ("conifer", "conifer-refined"),
    "broadleaf evergreen": ("broadleaf-evergreen", "broadleaf-evergreen"),
}
_OTHERS = ("vigorous", "refined")
_FOR_A_WHILE = ("recovering", "collected", "newly-repotted", "seedlings", "cuttings")
# Kinds that live without a winter's rest where a grower keeps them on a window; a maple there stands there for a while,
# or is to be asked about (judgement).
_NEVER_BARE = ("semi-evergreen", "evergreen broadleaf", "succulent")
_WOODY = ("deciduous broadleaf", "deciduous needle", "semi-evergreen", "evergreen broadleaf")


@dataclass(frozen=True, slots=True)
class Guess:
    """What was guessed of one tree. why: in words; is_fed: False where ordinary feed harms it."""

    schedule: str
    why: str
    is_fed: bool = True
    is_weak: bool = False
    is_old: bool = False


@dataclass(frozen=True, slots=True)
class PlacedTree:
    """A tree of the table in its group."""

    row: TableRow
    group: str
    guess: Guess


@dataclass(frozen=True, slots=True)
class FirstGroup:
    """A group to write. trees: those in it."""

    name: str
    schedule: str
    is_fed: bool
    trees: tuple[PlacedTree, ...]


@dataclass(frozen=True, slots=True)
class Guesser:
    """Guesses schedules.

    kinds, flags: what is known of species. schedules: those that ship. season_from: the year in which this growing
    year began.
    """

    kinds: TreeKinds
    flags: Sequence[GenusFlag]
    schedules: Collection[str]
    season_from: int
    today: date

    def guess(self, row: TableRow) -> Guess:
        """The schedule of one tree, with what tells it."""
        kind = self.kinds.kind_of(row.species)
        told = row.group.casefold().replace(" ", "-")
        if told in self.schedules:
            guess = Guess(told, say("as you named its group"))
        else:
            spoken, usual = self._by_words(row, kind), self._by_kind(row, kind)
            guess = spoken or usual
            if spoken is not None and usual.schedule == _TROPICAL and spoken.schedule in _FOR_A_WHILE:
                guess = Guess(_TROPICAL, say("{why}, so no feed for now", why=spoken.why), is_fed=False)
        return self._with_harm(row, kind, guess)

    def _with_harm(self, row: TableRow, kind: TreeKind | None, guess: Guess) -> Guess:
        """The guess with what words and genus add to it."""
        words = _words(row)
        harms = {flag.harm for flag in flags_of(row.species, self.flags)}
        flags = kind.flags if kind is not None else frozenset[str]()
        why, is_fed = guess.why, guess.is_fed
        if Harm.ANY_FEED in harms or "never feed" in flags:
            why, is_fed = say("feed harms it, so none is planned"), False
        elif Harm.PHOSPHORUS in harms or "little phosphorus" in flags:
            why, is_fed = (
                say("phosphorus harms it, so no feed is planned until you name one with very little"),
                False,
            )
        weak = _found(_WEAK, words)
        return Guess(guess.schedule, why, is_fed, bool(weak), bool(_found(_VERY_OLD, words)))

    def _by_words(self, row: TableRow, kind: TreeKind | None) -> Guess | None:
        """What the grower's words tell, the most careful first; None where they tell nothing."""
        words = _words(row)
        spoken = f"{words} {row.species.casefold()}"
        is_pine = kind is not None and kind.genus == "Pinus"
        found = (
            ("recovering", _found(_WEAK, words)),
            ("collected", self._lately(_COLLECTED, words, 1)),
            ("newly-repotted", self._lately(_REPOTTED, words)),
            ("seedlings", self._lately(_SEEDLING, spoken)),
            ("cuttings", self._lately(_CUTTING, spoken)),
            (_TROPICAL, _indoors(row, kind)),
            ("conifer-decandled", _found(_DECANDLED, words) if is_pine else ""),
            ("flowering", _found(_FRUIT, words) if kind is not None and kind.year == "flowering" else ""),
        )
        return next(
            (Guess(schedule, say("you wrote '{word}'", word=word)) for schedule, word in found if word), None
        )

    def _by_kind(self, row: TableRow, kind: TreeKind | None) -> Guess:
        """What its kind tells, and whether it is refined."""
        if kind is None:
            return Guess("refined", say("feedplan does not know this species, so little feed"))
        refined = _found(_REFINED, _words(row))
        growing, finished = _BY_YEAR.get(kind.year, _OTHERS)
        if kind.leaves not in _WOODY and (growing, finished) == _OTHERS:
            return Guess(finished, say("no tree ({leaves}), so little feed", leaves=kind.leaves))
        if refined and finished != growing:
            why = say("{leaves}, and you wrote '{word}'", leaves=kind.leaves, word=refined)
            return Guess(finished, why)
        return Guess(growing, kind.leaves if growing != "ericaceous" else say("hates lime"))

    def _lately(self, words: str, spoken: str, years_back: int = 0) -> str:
        """The word found, with the year behind it; "" where that year is longer ago, or not yet begun."""
        first_year = self.season_from - years_back
        for found in re.finditer(rf"{_NOT}(?P<word>{words}){_END}(?P<behind>[^;]{{0,20}})", spoken):
            word, year = found["word"], _YEAR.search(found["behind"])
            if year is None:
                return word
            if first_year <= int(year[0]) <= self.today.year:
                return f"{word} {year[0]}"
        return ""


def _words(row: TableRow) -> str:
    """What the grower wrote beside a tree: its notes, and the words of its group."""
    return f"{row.words}; {row.group.replace('-', ' ')}".casefold()


def is_indoors(bench: str) -> bool:
    """Whether a bench is indoors by its name."""
    return bool(_found(_INDOORS, bench.casefold()))


def _indoors(row: TableRow, kind: TreeKind | None) -> str:
    """The word of its bench, notes or group that says it stands indoors; "" for none, or for one that needs winter."""
    can_stay = kind is None or (kind.leaves in _NEVER_BARE and kind.year != "ericaceous")
    return _found(_INDOORS, f"{row.bench.replace('-', ' ').casefold()}; {_words(row)}") if can_stay else ""


def _found(words: str, spoken: str) -> str:
    """The first of some words that is spoken, "" where none is, or only with "not" before it."""
    found = re.search(rf"{_NOT}(?:{words}){_END}", spoken)
    return found[0] if found is not None else ""


def first_groups(rows: Iterable[TableRow], guesser: Guesser) -> list[FirstGroup]:
    """Every tree in a group of one schedule.

    A group that the grower named keeps its name for most of its trees; the others, which need another schedule, stand
    in one named after both. Trees without a group stand in one named after their schedule.
    """
    members: dict[tuple[str, str, bool], list[tuple[TableRow, Guess]]] = {}
    for row in rows:
        guess = guesser.guess(row)
        group = row.group if row.group != guess.schedule else ""
        members.setdefault((group, guess.schedule, guess.is_fed), []).append((row, guess))
    taken: set[str] = set()
    groups = []
    for group, schedule, is_fed in sorted(members, key=lambda part: _rank(part, len(members[part]))):
        name = _group_name(group, schedule, is_fed, taken)
        taken.add(name)
        trees = tuple(PlacedTree(row, name, guess) for row, guess in members[group, schedule, is_fed])
        groups.append(FirstGroup(name, schedule, is_fed, trees))
    return groups


def _rank(part: tuple[str, str, bool], trees: int) -> tuple[bool, bool, bool, int]:
    """Which of the parts of a group keeps its name: one fed as trees are for years, then the largest."""
    group, schedule, is_fed = part
    return not group, schedule in _FOR_A_WHILE, not is_fed, -trees


def _group_name(group: str, schedule: str, is_fed: bool, taken: Collection[str]) -> str:
    """A name no other group has."""
    both = f"{group[:40]} {schedule}{'' if is_fed else ' unfed'}".strip()
    numbered = (f"{both} {number}" for number in count(2))
    return next(name for name in chain(filter(None, [group]), [both], numbered) if name not in taken)

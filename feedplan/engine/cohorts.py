"""Which trees share one course of events: cost grows with what differs, not with the number of trees."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence, Set
from dataclasses import dataclass, replace
from datetime import date
from operator import attrgetter

from feedplan.engine.care import Care
from feedplan.engine.growing_year import DAY, season_of
from feedplan.model.collection import Collection, Tree
from feedplan.model.course import Stay
from feedplan.model.history import NO_HISTORY, NOTHING_TOLD, History, TreeHistory
from feedplan.model.hold import CauseKind
from feedplan.model.journal import Caused, Entry, Fed, Gone, Journal, Moved, NotFed, NotLaid, Seen, SolidLaid

_IN_ORDER = attrgetter("day", "recorded", "source.line", "id")


@dataclass(frozen=True, slots=True)
class Cohort:
    """Trees with the same past and the same plan; only entries that change nothing may be about some of them.

    lineage: what their events are called for ever. own: some entry is theirs alone. care: what applies to them on any
    day. entries: those that stand, in day order; all_entries: with those taken back. told: the feeds told so far.
    earlier: the days they came and went before they came again. unasked: the records of a whole group fed, by id, that
    answer no feed asked of any of its trees, and so are a feed of them all; off_day: the records of a group that answer
    none of their own day, and so may mean one near it. open_today: they may be asked to be fed on
    the day of the plan, which has not been told without them.
    """

    lineage: str
    own: bool
    care: Care
    entries: tuple[Entry, ...]
    all_entries: tuple[Entry, ...]
    arrives: date | None
    leaves: date | None
    told: TreeHistory = NOTHING_TOLD
    earlier: tuple[tuple[date | None, date], ...] = ()
    unasked: frozenset[str] = frozenset()
    off_day: frozenset[str] = frozenset()
    open_today: bool = True

    @property
    def trees(self) -> tuple[Tree, ...]:
        """The trees, in the collection's order."""
        return self.care.trees

    def meaning_more(self, entry: Entry) -> Cohort:
        """The same, a group's record that answers nothing so far taken to mean a feed near it, then one of its own."""
        if entry.id not in self.off_day:
            return replace(self, off_day=self.off_day | {entry.id})
        return replace(self, unasked=self.unasked | {entry.id})

    def as_of(self, day: date) -> Cohort:
        """The same trees as they were known on an earlier day; that they were not here yet is known all along."""
        entries = _standing(self.all_entries, day, self.care.collection)
        if entries == self.entries:
            return self
        moves = tuple(entry for entry in entries if isinstance(entry.fact, Moved))
        care = Care(self.trees, stays_of(self.trees[0], moves), moves, self.care.collection)
        lead = replace(self.trees[0], count=self.trees[0].count + _went(self.entries))
        arrives, leaves = _presence(lead, entries)
        if not any(_is_arrival(entry) for entry in entries):
            arrives = lead.since if _left_before_it_came(self.entries) else self.arrives
        return replace(self, care=care, entries=entries, arrives=arrives, leaves=leaves)


class _Entries:
    """The journal sorted for quick look-up by tree, entries taken back included."""

    def __init__(self, journal: Journal, today: date, collection: Collection) -> None:
        self._collection = collection
        self.by_tree: dict[str, list[Entry]] = {}
        self.broad: list[Entry] = []
        self.excepted: set[str] = set()
        self._shared: dict[tuple[str, str, date | None], tuple[Entry, ...]] = {}
        self._alike: dict[tuple[str, ...], tuple[Entry, ...]] = {}
        self._weighed: dict[int, bool] = {}
        # An entry taken back on the day it was written never counted, and sets no tree apart.
        withdrawn = (e for e in journal.withdrawn if e.stands_on(e.known))
        known = (e for e in (*journal.entries, *withdrawn) if e.known <= today)
        for entry in sorted(known, key=_IN_ORDER):
            if not entry.subject.trees:
                self.broad.append(entry)
                self.excepted |= frozenset() if entry.is_inert else entry.subject.but_not
            for name in entry.subject.trees:
                self.by_tree.setdefault(name, []).append(entry)

    def is_plain(self, tree: Tree) -> bool:
        """Whether a tree has nothing of its own in the journal that could change its plan."""
        return tree.name not in self.excepted and all(e.is_inert for e in self.by_tree.get(tree.name, ()))

    def shared(self, tree: Tree) -> tuple[Entry, ...]:
        """The entries about a group, a species or everything, for a tree that never moved."""
        key = (tree.group, tree.species, tree.since)
        if key not in self._shared:
            found = tuple(
                e
                for e in self.broad
                if self._speaks_of(e, tree.group, tree.species) and _may_concern(e, tree)
            )
            self._shared[key] = self._alike.setdefault(tuple(e.id for e in found), found)
        return self._shared[key]

    def are_weighed(self, shared: tuple[Entry, ...]) -> bool:
        """Whether some shared entries lay solid feed by weight per tree."""
        if id(shared) not in self._weighed:
            self._weighed[id(shared)] = _is_weighed(shared)
        return self._weighed[id(shared)]

    def of(self, tree: Tree) -> tuple[Entry, ...]:
        """Every entry about one tree, group membership taken as it was on each entry's day."""
        own = self.by_tree.get(tree.name, [])
        stays = stays_of(tree, own)
        spoken = [
            e
            for e in self.broad
            if self._speaks_of(e, _group_at(stays, e.day), tree.species) and _may_concern(e, tree, own)
        ]
        broad = [e for e in spoken if e.is_about(tree.name)]
        # A tree left out when the others were fed was not fed; the same of solid feed laid.
        left_out = (e for e in spoken if not e.is_about(tree.name))
        nothing = (
            replace(e, fact=NotFed() if isinstance(e.fact, Fed) else NotLaid())
            for e in left_out
            if isinstance(e.fact, Fed | SolidLaid)
        )
        return tuple(sorted([*own, *broad, *nothing], key=_IN_ORDER))

    def of_alike(self, trees: Sequence[Tree]) -> tuple[Entry, ...]:
        """What is written about trees that nothing tells apart, with what changes nothing about single ones."""
        lead = trees[0]
        own = [entry for tree in trees for entry in self.by_tree.get(tree.name, ())]
        shared = self.shared(lead)
        return tuple(sorted([*own, *shared], key=_IN_ORDER)) if own else shared

    def of_all(self, trees: Sequence[Tree]) -> tuple[Entry, ...]:
        """What is written about trees with the same past, with what changes nothing about single ones."""
        found = {entry.id: entry for entry in self.of(trees[0])}
        for tree in trees[1:]:
            inert = (entry for entry in self.by_tree.get(tree.name, ()) if entry.is_inert)
            found = {entry.id: entry for entry in inert} | found
        return tuple(sorted(found.values(), key=_IN_ORDER))

    def _speaks_of(self, entry: Entry, group: str, species: str) -> bool:
        subject = entry.subject
        if subject.everything or (subject.group is not None and subject.group == group):
            return True
        return subject.species is not None and species in self._collection.species_called(subject.species)


def _may_concern(entry: Entry, tree: Tree, own: Sequence[Entry] = ()) -> bool:
    """Whether an entry about many may be about this tree too: it stood here that day, or the entry is a sighting.

    own: the entries about the tree alone.
    """
    if isinstance(entry.fact, Seen):
        return True
    arrives, leaves = _presence(tree, [e for e in own if e.stands_on(entry.known) and e.day <= entry.day])
    here = (tree.since is None or entry.day >= tree.since) and (leaves is None or entry.day <= leaves)
    return here and (arrives is None or entry.day >= arrives)


def stays_of(tree: Tree, entries: Iterable[Entry]) -> tuple[Stay, ...]:
    """The groups a tree has stood in. The collection names the first; the journal's moves follow."""
    moves = [(e.day, e.fact.group) for e in entries if isinstance(e.fact, Moved) and e.fact.group]
    starts = [(date.min, tree.group), *moves]
    ends = [*(day for day, _ in moves), None]
    return tuple(Stay(group, start, end) for (start, group), end in zip(starts, ends, strict=True))


def _group_at(stays: Sequence[Stay], day: date) -> str:
    return next((stay.group for stay in reversed(stays) if stay.start <= day), stays[0].group)


def cohorts_of(
    collection: Collection,
    journal: Journal,
    today: date,
    apart: Set[str] = frozenset(),
    history: History = NO_HISTORY,
) -> tuple[Cohort, ...]:
    """The trees sorted into cohorts, in the collection's order. Entries not known by today are left out.

    apart: species that share no cohort with others. history: trees that were told otherwise stand apart too.
    """
    entries = _Entries(journal, today, collection)
    calendars = _CalendarNames(collection)
    of_group: dict[str, TreeHistory] = {}
    for tree in collection.trees:
        if tree.name in history.trees:
            of_group.setdefault(tree.group, history.trees[tree.name])
    sorted_trees: dict[tuple[tuple[object, ...], str, TreeHistory, bool], list[Tree]] = {}
    for tree in collection.trees:
        own = tree.species if tree.species in apart else ""
        told = history.of(tree.name, today, of_group.get(tree.group, NOTHING_TOLD))
        told = told.in_groups(collection.groups, tree.group)
        is_open = history.is_open(tree.name, today)
        sorted_trees.setdefault((_key(tree, entries, calendars), own, told, is_open), []).append(tree)
    known = frozenset(history.entry_ids)
    cohorts = []
    for (*_, told, is_open), trees in sorted_trees.items():
        cohort = _cohort(trees, entries, calendars, collection, today)
        news = _first_news(cohort.all_entries, known, history.told_on, today)
        stands = told if news is None else told.before(news)
        cohorts.append(replace(cohort, told=stands, open_today=is_open))
    return tuple(_with_distinct_lineages(cohorts))


def _first_news(entries: Iterable[Entry], known: Set[str], told_on: date | None, today: date) -> date | None:
    """From when on what was last asked for stands no more, since something was written down before its day came.

    known: the entries of the day it was told on, by id. None where all of it stands.
    """
    if told_on is None:
        return None
    days = [max(e.known, told_on + DAY) for e in entries if e.id not in known and not e.is_inert]
    days += [e.undone for e in entries if e.undone is not None]
    return min((day for day in days if told_on < day < today), default=None)


def species_seen_in_part(collection: Collection, journal: Journal, today: date) -> frozenset[str]:
    """The species of which a stage or sign was seen on some trees, which may tell of the others."""
    names: set[str] = set()
    groups: set[str] = set()
    for entry in journal.entries:
        if isinstance(entry.fact, Seen) and entry.stands_on(today):
            names.update(entry.subject.trees, entry.subject.but_not)
            groups.update(filter(None, [entry.subject.group]))
    return frozenset(t.species for t in collection.trees if t.name in names or t.group in groups)


class _CalendarNames:
    """The stage calendar and own dates of each species in each group, looked up once."""

    def __init__(self, collection: Collection) -> None:
        self._collection = collection
        self._own_words = {word for word, _ in collection.own_dates}
        self._found: dict[tuple[str, str], tuple[str, frozenset[str]]] = {}

    def __call__(self, tree: Tree) -> tuple[str, frozenset[str]]:
        """The calendar's name, and the species words for which the grower has own dates."""
        key = (tree.species, tree.group)
        if key not in self._found:
            fallback = self._collection.groups[tree.group].schedule.calendar
            calendar = self._collection.vocabulary.calendar_for(tree.species, fallback).name
            self._found[key] = (
                calendar,
                frozenset(w for w in self._own_words if tree.species in self._collection.species_called(w)),
            )
        return self._found[key]


def _key(tree: Tree, entries: _Entries, calendars: _CalendarNames) -> tuple[object, ...]:
    calendar, own_words = calendars(tree)
    base = (tree.group, calendar, own_words, id(tree.schedule), tree.feeds, tree.solid_feeds, tree.since)
    if entries.is_plain(tree):
        shared = entries.shared(tree)
        weighed = tree.pot.litres if entries.are_weighed(shared) else None
        return (*base, id(shared), weighed, _is_frail(tree, shared))
    of_tree = entries.of(tree)
    weighed = tree.pot.litres if _is_weighed(of_tree) else None
    # A pot found moist sets no tree apart: its events would be called otherwise from then on.
    return (*base, tuple(e.id for e in of_tree if not e.is_inert), weighed, _is_frail(tree, of_tree))


def _is_frail(tree: Tree, entries: Iterable[Entry]) -> bool:
    """Whether work was done on a weak or old tree, on which root work counts heavier."""
    if not (tree.weak or tree.old):
        return False
    return any(isinstance(e.fact, Caused) and e.fact.kind is CauseKind.WORK for e in entries)


def _is_weighed(entries: Iterable[Entry]) -> bool:
    """Whether solid feed was laid by weight per tree, so that the size of the pot matters."""
    return any(isinstance(e.fact, SolidLaid) and e.fact.grams_per_l is None for e in entries)


def _cohort(
    trees: Sequence[Tree],
    entries: _Entries,
    calendars: _CalendarNames,
    collection: Collection,
    today: date,
) -> Cohort:
    lead = trees[0]
    plain = entries.is_plain(lead)
    found = entries.of_alike(trees) if plain else entries.of_all(trees)
    own = not plain or lead.schedule is not None or bool(lead.feeds) or lead.since is not None
    standing = _standing(found, today, collection)
    arrives, leaves = _presence(lead, standing)
    lineage = f"tree/{lead.name}" if own else f"group/{lead.group}/{calendars(lead)[0]}"
    moves = tuple(e for e in standing if isinstance(e.fact, Moved))
    now = tuple(replace(t, count=_left(t, standing)) for t in trees) if own else tuple(trees)
    care = Care(now, stays_of(lead, moves), moves, collection)
    return Cohort(
        lineage, own, care, standing, found, arrives, leaves, earlier=tuple(_earlier(lead, standing))
    )


def _standing(entries: Iterable[Entry], day: date, collection: Collection) -> tuple[Entry, ...]:
    """What was known on a day, in day order, without the sightings that others stand in place of."""
    standing = tuple(entry for entry in entries if entry.stands_on(day))
    corrections = [e for e in standing if isinstance(e.fact, Seen) and e.fact.instead]
    if not corrections:
        return standing
    left = (_without_replaced(entry, corrections, collection) for entry in standing)
    return tuple(entry for entry in left if entry is not None)


def _without_replaced(entry: Entry, corrections: Iterable[Entry], collection: Collection) -> Entry | None:
    """An entry without the words that were corrected since, of the same season; None when nothing is left of it."""
    if not isinstance(entry.fact, Seen):
        return entry
    hemisphere = collection.place.hemisphere
    season, written = season_of(entry.day, hemisphere), (entry.known, entry.source.line)
    wrong: set[str] = set()
    for each in corrections:
        is_later = (each.known, each.source.line) > written
        if isinstance(each.fact, Seen) and is_later and season_of(each.day, hemisphere) == season:
            wrong.update(each.fact.words)
    words = tuple(word for word in entry.fact.words if word not in wrong)
    return replace(entry, fact=replace(entry.fact, words=words)) if words else None


def _left(tree: Tree, entries: Iterable[Entry]) -> int:
    """How many are left under a name, after those that went one by one."""
    return max(0, tree.count - _went(entries))


def _went(entries: Iterable[Entry]) -> int:
    """How many of those under a name went one by one."""
    return sum(e.fact.count or 0 for e in entries if isinstance(e.fact, Gone))


def _is_arrival(entry: Entry) -> bool:
    return isinstance(entry.fact, Caused) and entry.fact.kind is CauseKind.ARRIVED


def _left_before_it_came(entries: Iterable[Entry]) -> bool:
    """Whether a tree had been here, and had gone, before it first came by the journal."""
    first = next((e for e in entries if _is_arrival(e) or isinstance(e.fact, Gone)), None)
    return first is not None and isinstance(first.fact, Gone)


def _earlier(tree: Tree, entries: Sequence[Entry]) -> Iterator[tuple[date | None, date]]:
    """The days on which a tree came and went, for each time before it came last."""
    came, here = tree.since, tree.since is not None or _left_before_it_came(entries)
    arrivals = [entry.day for entry in entries if _is_arrival(entry)]
    leaving = list(_leaving(tree, entries))
    for day in sorted({*arrivals, *leaving}):
        if here and day in leaving and any(later >= day for later in arrivals):
            yield came, day
            here = False
        if day in arrivals and not here:
            came, here = day, True


def _leaving(tree: Tree, entries: Sequence[Entry]) -> Iterator[date]:
    """The days on which a tree left, or the last of those under its name."""
    left = tree.count
    for entry in entries:
        if isinstance(entry.fact, Gone):
            left -= tree.count if entry.fact.count is None else entry.fact.count
            if entry.fact.count is None or left <= 0:
                yield entry.day


def _presence(tree: Tree, entries: Sequence[Entry]) -> tuple[date | None, date | None]:
    """The days a tree comes and goes, None for always; one that left and came again is here since it came last."""
    arrivals = [entry.day for entry in entries if _is_arrival(entry)]
    arrives = max(filter(None, [tree.since, *arrivals]), default=None)
    leaving = list(_leaving(tree, entries))
    return arrives, min((day for day in leaving if arrives is None or day >= arrives), default=None)


def _with_distinct_lineages(cohorts: Sequence[Cohort]) -> Iterable[Cohort]:
    """The cohorts, those that would share a lineage named apart by their first tree's species."""
    taken: set[str] = set()
    for cohort in cohorts:
        name = cohort.lineage
        if name in taken:
            name = f"{name}/{cohort.trees[0].species}"
        if name in taken:
            name = f"tree/{cohort.trees[0].name}"
        taken.add(name)
        yield replace(cohort, lineage=name)

"""One entry into the journal: completed with Tab, checked against the collection, written, told with its effects."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import click
from click.shell_completion import CompletionItem

from feedplan.cli.options import Asked, Opened, as_day, collection_file, print_json, shared_options
from feedplan.cli.words import Typed, one_of
from feedplan.engine.answers.cautions import NoHoldToPutOff, not_to_put_off
from feedplan.engine.answers.effects import Effects, effects_of, lifts_a_hold
from feedplan.engine.season import Timeline
from feedplan.errors import FeedplanError, UsageError
from feedplan.load.collection import Loaded, load_collection
from feedplan.load.folder import JOURNAL
from feedplan.load.journal_file import append_entry
from feedplan.load.meanings import Meant, values_for
from feedplan.load.yaml_tree import read_yaml
from feedplan.model.collection import Collection
from feedplan.model.hold import CauseKind
from feedplan.model.journal import Entry
from feedplan.words.effects import change_sentences, flag_sentences, flag_words, question_words
from feedplan.words.entries import entry_words
from feedplan.words.language import say
from feedplan.words.writing import typed_words

Fact = dict[str, object]
_CAUSED = frozenset({"work", "trouble", "arrived"})


def as_past_day(text: str) -> date | str:
    """A day as a command line option, or the word "today" or "yesterday"; which day that is depends on today."""
    return text if text in ("today", "yesterday") else as_day(text)


def day_meant(given: date | str | None, today: date) -> date:
    """The day an entry is about. Raises UsageError for one after today."""
    day = today - timedelta(days=1) if given == "yesterday" else given
    if not isinstance(day, date):
        return today
    if day > today:
        raise UsageError(say("{day} is after today, {today}; record what has happened", day=day, today=today))
    return day


@dataclass(frozen=True, slots=True)
class WhichTrees:
    """The options that say which trees an entry speaks of."""

    group: str | None
    species: str | None
    everything: bool
    but_not: tuple[str, ...]


class RecordRequest:
    """A collection open at its journal, and the words still to be read."""

    def __init__(self, opened: Opened, words: Sequence[str]) -> None:
        self.opened = opened
        self.typed = Typed(words)
        self.tree_names = [tree.name for tree in opened.collection.trees]

    @property
    def units(self) -> str | None:
        """Whose gallons, spoons and cups are meant; None where nobody told."""
        return self.opened.collection.habits.measures.units

    def causes(self, *kinds: CauseKind) -> dict[str, CauseKind]:
        """Every word for work, trouble or arrival that some hold knows, with its kind."""
        collection = self.opened.collection
        schedules = [group.schedule for group in collection.groups.values()]
        schedules += [tree.schedule for tree in collection.trees if tree.schedule is not None]
        rules = {id(s.holds): s.holds for s in schedules}.values()
        found = {rule.cause: rule.kind for holds in rules for rule in holds.values() if rule.kind in kinds}
        return dict(sorted(found.items()))

    @property
    def signs(self) -> dict[str, str]:
        """Every way to write a stage or sign, with its name."""
        words = self.opened.collection.vocabulary.words.values()
        return {written: word.name for word in words for written in (word.name, *word.also)} | values_for(
            ["seen"]
        )

    def knows(self, meant: Meant, causes: Mapping[str, CauseKind]) -> bool:
        """Whether what a word means can be written down here. causes: those that some hold knows."""
        return meant.key not in _CAUSED or causes.get(meant.value) == meant.key

    def subject(self, which: WhichTrees) -> dict[str, object]:
        """The subject of the entry as the journal writes it. Raises UsageError unless exactly one is given."""
        collection, names = self.opened.collection, self.typed.left
        given = [bool(names), which.group is not None, which.species is not None, which.everything]
        if sum(given) != 1:
            self._refuse_unquoted(which)
            raise UsageError(
                say(
                    "names and options for trees exclude each other; write tree names, or one of --group, "
                    "--species, --everything"
                )
                if any(given)
                else say("no tree is named; write tree names, or one of --group, --species, --everything")
            )
        if names:
            if which.but_not:
                raise UsageError(
                    say("--but-not goes with --group, --species or --everything; leave out the name instead")
                )
            trees = self.typed.names(self.tree_names, "tree")
            return {"tree": trees[0]} if len(trees) == 1 else {"trees": trees}
        subject: dict[str, object] = {"everything": True}
        if which.group is not None:
            subject = {"group": one_of(which.group, collection.groups, "group")}
        elif which.species is not None:
            if not collection.species_called(which.species):
                one_of(which.species, sorted({tree.species for tree in collection.trees}), "species")
            subject = {"species": which.species}
        if which.but_not:
            subject["but_not"] = Typed(which.but_not).names(self.tree_names, "tree")
        return subject

    def _refuse_unquoted(self, which: WhichTrees) -> None:
        """Raises UsageError where what follows --group, --species or --but-not goes on among the names."""
        collection, left = self.opened.collection, self.typed.left
        for option, word, known in (
            ("--group", which.group, collection.groups),
            ("--species", which.species, {tree.species for tree in collection.trees}),
            ("--but-not", next(reversed(which.but_not), None), self.tree_names),
        ):
            runs = [" ".join([word, *left[:n]]).casefold() for n in range(1, len(left) + 1)] if word else []
            name = next((name for name in known if name.casefold() in runs), None)
            if name is not None:
                raise UsageError(
                    say("put the name in quotes: {option} {name}", option=option, name=typed_words([name]))
                )


def verb(
    *own: Callable[..., Any], says: str = "[TREE]...", name: str | None = None
) -> Callable[[Callable[..., Fact]], click.Command]:
    """Makes a command of a function that reads the fact from the request. own: the options of that verb alone.

    says: what may follow it, for its help.
    """

    def decorate(give: Callable[..., Fact]) -> click.Command:
        def command(
            asked: Asked, words: tuple[str, ...], day: date | str | None, note: str | None, **rest: Any
        ) -> None:
            which = WhichTrees(
                **{key: rest.pop(key) for key in ("group", "species", "everything", "but_not")}
            )
            opened = asked.open()
            request = RecordRequest(opened, words)
            fact = give(request, **rest)
            noted = {"note": note} if note else {}
            write(opened, asked, day_meant(day, opened.today), {**request.subject(which), **fact, **noted})

        command.__doc__ = give.__doc__
        shared = shared_options(command)
        words_typed = click.argument("words", nargs=-1, metavar=says, shell_complete=complete_words)
        for option in (*reversed(own), *_EVERY_VERB, words_typed):
            shared = option(shared)
        made: click.Command = click.command(name or give.__name__)(shared)
        return made

    return decorate


def complete_groups(context: click.Context, param: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """The groups whose names begin like that; none when there is no collection to read."""
    collection = _collection(context)
    return _beginning(incomplete, () if collection is None else collection.groups)


def complete_words(context: click.Context, param: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """The trees, and for `seen` the stages and signs, that begin like that."""
    collection = _collection(context)
    if collection is None:
        return []
    words = collection.vocabulary.words if context.info_name == "seen" else ()
    return _beginning(incomplete, [*words, *(tree.name for tree in collection.trees)])


def _collection(context: click.Context) -> Collection | None:
    place = next((c.params["collection"] for c in _outwards(context) if c.params.get("collection")), None)
    try:
        return load_collection(collection_file(place)).collection
    except (FeedplanError, OSError):
        return None


def _outwards(context: click.Context | None) -> list[click.Context]:
    return [] if context is None else [context, *_outwards(context.parent)]


def _beginning(incomplete: str, names: Iterable[str]) -> list[CompletionItem]:
    folded = incomplete.casefold()
    return [CompletionItem(name) for name in names if name.casefold().startswith(folded)]


_EVERY_VERB = (
    click.option("--note", metavar="WORDS", help="Words of your own beside it."),
    click.option(
        "--date", "day", type=as_past_day, metavar="DATE", help="When: yesterday, or such as 2027-06-14."
    ),
    click.option(
        "--but-not", multiple=True, metavar="TREE", help="All of those but this one; may be given again."
    ),
    click.option("--everything", is_flag=True, help="Every tree."),
    click.option("--species", metavar="WORD", help="Every tree of a species."),
    click.option("--group", metavar="GROUP", shell_complete=complete_groups, help="Every tree of a group."),
)


def write(opened: Opened, asked: Asked, day: date, said: Mapping[str, object]) -> None:
    """Append an entry and tell what it changes. said: subject and fact as the journal writes them."""
    if "put_off" in said:
        _refuse_to_put_off(opened, day, said)
    late = {"recorded": opened.today} if day < opened.today else {}
    entry_id = _append(opened, {"date": day, **late, **said})
    after = _read_again(opened, asked)
    entry = after.journal.entry(entry_id)
    assert entry is not None
    before = opened.plan()
    effects = effects_of(before, after.plan(earlier=before), entry_id, after.collection)
    _tell(asked, entry, effects, "Recorded", f"feedplan record --undo {entry_id}")


def _refuse_to_put_off(opened: Opened, day: date, said: Mapping[str, object]) -> None:
    """Raises UsageError where none of the trees told of can be put off, with what to write instead."""
    timelines = [t for t in opened.plan().timelines if _is_told_of(t, day, said, opened.collection)]
    against = [fact for t in timelines if (fact := not_to_put_off(t, day)) is not None]
    if len(against) < len(timelines) or not timelines:
        return
    names = said.get("trees") or ([said["tree"]] if "tree" in said else ["TREE"])
    assert isinstance(names, list)
    told = say(
        "no hold waits for a sign, so nothing can be put off; if it does not grow, write first: {command}",
        command=f"feedplan record weak {typed_words(names)}",
    )
    other = next((fact for fact in against if not isinstance(fact, NoHoldToPutOff)), None)
    raise UsageError(told if other is None else flag_words(other, opened.today))


def _is_told_of(timeline: Timeline, day: date, said: Mapping[str, object], collection: Collection) -> bool:
    """Whether an entry of such a day, as the journal would have it, speaks of trees of a timeline."""
    match said:
        case {"group": group}:
            return timeline.group_on(day) == group
        case {"species": word}:
            return timeline.trees[0].species in collection.species_called(str(word))
        case {"everything": True}:
            return True
    named = said.get("trees") or [said.get("tree")]
    return isinstance(named, list) and not set(named).isdisjoint(timeline.names)


def _read_again(opened: Opened, asked: Asked) -> Opened:
    """The collection after an entry, seen from the same day; what its plan tells is remembered as before."""
    after = Asked(asked.place, opened.today, asked.as_json).open()
    return replace(after, is_real_day=opened.is_real_day)


def _append(opened: Opened, entry: Mapping[str, object]) -> str:
    return append_entry(opened.file.parent / JOURNAL, entry, opened.file)


def take_back(opened: Opened, asked: Asked, entry_id: str | None, *, is_sure: bool = False) -> None:
    """Append an entry that undoes one: the one named, or the last in the journal. Raises UsageError for none.

    An entry that took another back can be named too; the other then stands again. One whose undoing lifts a hold is
    taken back only on a yes: is_sure, or the answer given at a terminal.
    """
    last = max(opened.journal.entries, key=lambda entry: entry.source.line, default=None)
    wanted = entry_id or (last.id if last else "")
    known = {entry.id for entry in opened.journal.entries} | _ids_of_undos(opened.file.parent / JOURNAL)
    if wanted not in known:
        raise UsageError(_nothing_to_take_back(wanted, last))
    before, without, drafted = opened.plan(), _without(opened, wanted), None
    if not is_sure and lifts_a_hold(before, opened.journal, wanted):
        drafted = without.draft(earlier=before)
        if not _is_agreed(
            opened, asked, wanted, effects_of(before, drafted.season, wanted, opened.collection)
        ):
            click.echo(say("Nothing is taken back."))
            return
    undo_id = _append(opened, {"date": opened.today, "undo": wanted})
    after = _read_again(opened, asked)
    was, now = ({entry.id: entry for entry in o.journal.entries} for o in (opened, after))
    entry = next(((was | now)[key] for key in was.keys() ^ now.keys()), None)
    if entry is None:
        raise UsageError(say("'{wanted}' had been taken back already; nothing changes", wanted=wanted))
    if drafted is not None and _says_the_same(after.loaded, without.loaded):
        after.keep(drafted)
        season = drafted.season
    else:
        season = after.plan(earlier=before)
    effects = effects_of(before, season, entry.id, after.collection)
    verb = "Taken back" if entry.id in was else "Put back"
    _tell(asked, entry, effects, verb, f"feedplan record --undo {undo_id}")


def _without(opened: Opened, entry_id: str) -> Opened:
    """The collection as it would be read after an entry was taken back today."""
    journal = opened.journal.without(entry_id, opened.today)
    return replace(opened, loaded=replace(opened.loaded, journal=journal))


def _says_the_same(read: Loaded, expected: Loaded) -> bool:
    """Whether nobody wrote anything else while the question stood."""
    return (read.collection, read.journal, read.climate) == (
        expected.collection,
        expected.journal,
        expected.climate,
    )


def _nothing_to_take_back(wanted: str, last: Entry | None) -> str:
    if not wanted:
        return say("the journal has no entry to take back")
    if last is None:
        return say("no entry '{wanted}' stands; none does", wanted=wanted)
    return say(
        "no entry '{wanted}' stands; the last is {id}: {entry}, {day}",
        wanted=wanted,
        id=last.id,
        entry=entry_words(last),
        day=last.day,
    )


def _is_agreed(opened: Opened, asked: Asked, entry_id: str, effects: Effects) -> bool:
    """Whether an entry that opened a hold may be taken back. Raises UsageError where nobody can be asked."""
    entry = opened.journal.entry(entry_id)
    assert entry is not None
    question = question_words(entry, effects)
    if asked.as_json or not _can_ask():
        command = f"feedplan record --undo {entry_id} --yes"
        raise UsageError(
            say("{question} Nothing is changed yet; if yes: {command}", question=question, command=command)
        )
    return click.confirm(question)


def _can_ask() -> bool:
    return sys.stdin.isatty()


def _ids_of_undos(journal: Path) -> set[str]:
    """The ids of the entries that took others back, which the journal as read no longer shows."""
    value, _, _ = (
        read_yaml(journal.read_text(encoding="utf-8"), JOURNAL) if journal.exists() else ([], None, [])
    )
    items = value if isinstance(value, list) else []
    return {str(item["id"]) for item in items if isinstance(item, dict) and "undo" in item and "id" in item}


_DONE = {"Recorded": "Recorded: {entry}."}
_DONE_ON = {
    "Recorded": "Recorded: {entry} on {day}.",
    "Taken back": "Taken back: {entry} on {day}.",
    "Put back": "Put back: {entry} on {day}.",
}


def _tell(asked: Asked, entry: Entry, effects: Effects, verb: str, undo: str) -> None:
    """The entry, its flags and what it changes, as text or JSON."""
    if asked.as_json:
        print_json(_facts(entry, effects, verb, undo))
        return
    is_dated = entry.day != entry.recorded or verb != "Recorded"
    done = say(_DONE_ON[verb] if is_dated else _DONE[verb], entry=entry_words(entry), day=entry.day)
    changes = " ".join(change_sentences(effects)) or say("Nothing else changes.")
    click.echo(f"{done} {changes} {say('Undo: {command}', command=undo)}")
    for flag in flag_sentences(effects):
        click.echo(say("Take care: {flag}", flag=flag))
    for line in effects.do:
        click.echo(f"- {say(line)}")


def _facts(entry: Entry, effects: Effects, verb: str, undo: str) -> dict[str, object]:
    return {
        "done": verb.lower(),
        "id": entry.id,
        "date": entry.day,
        "recorded": entry.recorded,
        "entry": entry_words(entry),
        "note": entry.note,
        "trees": list(effects.names),
        "changes": list(change_sentences(effects)),
        "flags": list(flag_sentences(effects)),
        "do": list(map(say, effects.do)),
        "undo": undo,
    }

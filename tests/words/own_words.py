"""What a person reads that is not feedplan's to translate: the grower's own words, and the few that are typed.

1. Names and texts the grower wrote: place, trees, species, groups, benches, feeds, waters, pots and mixes, notes.
2. Words that are typed again and so stay as the files write them: stages, signs, names and causes of holds, verbs of
   `record`, schedules and their periods and work, calendars of stages, mixes, forms of feed, keys with the values
   written for them.
3. Commands to type, names of files, signs of units, of elements, and the x of the picture of the year.

Whole sentences of schedules (about, do, look_for, looks_like, placement) are only read, and are translated.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache

from feedplan.cli.verbs import VERBS
from feedplan.cli.water import EXAMPLE_OF_WATERS
from feedplan.load import Loaded
from feedplan.model import journal
from feedplan.model.forms import FORMS
from feedplan.weather.substrate import COMPONENTS, NAMED_MIXES

SYMBOLS = {"L", "ml", "g", "kg", "mg", "mm", "h", "ppm", "N", "P", "K", "Ca", "Mg", "Na"}
"""Of units and elements, where they stand beside a number without a sentence round them."""

COMMANDS = re.compile(
    r"feedplan (?:record (?:lifted|laid|seen) [^\n]*|record put-off [^\n]*?(?=, \W)|record --undo \w+(?: --yes)?"
    r"|(?:calendar|learn|serve|start)( --?\w+)?|guide \w+|\w+)"
)
_FILES = re.compile(r"[\w./-]+\.(?:yaml|csv|ics|html)\b(?::[0-9]+)*")


def own_words(loaded: Loaded) -> frozenset[str]:
    """All of 1 and 2 that the files of a collection hold."""
    return frozenset(word for word in (*_own(loaded), *_typed(loaded)) if word)


def _own(loaded: Loaded) -> Iterator[str]:
    collection = loaded.collection
    yield from (collection.place.name, *collection.groups, *collection.feeds, *collection.waters)
    yield from (note.say for note in collection.notes)
    yield from (away.ask for away in collection.away if away.ask)
    yield from (group.bench for group in collection.groups.values())
    yield from (feed.on_hand.currency for feed in collection.feeds.values())
    for tree in collection.trees:
        yield from (tree.name, tree.species, tree.bench, tree.about, tree.pot.words)
        yield tree.substrate.words if tree.substrate is not None else ""
    for entry in loaded.journal.entries:
        yield entry.note
        match entry.fact:
            case journal.NotFed(because) | journal.Allowed(because):
                yield from (because, because.rstrip("."))
            case journal.Noted(text):
                yield from (text, text.rstrip("."))
            case journal.Moved():
                yield entry.fact.bench or ""


def _typed(loaded: Loaded) -> Iterator[str]:
    collection = loaded.collection
    yield from (
        *collection.vocabulary.words,
        *NAMED_MIXES,
        *COMPONENTS,
        *map(str, FORMS),
        EXAMPLE_OF_WATERS.strip(),
    )
    yield from (str(verb.name) for verb in VERBS)
    yield from (flag.word for flag in collection.vocabulary.flags)
    yield from (group.water.target for group in collection.groups.values() if group.water is not None)
    schedules = [group.schedule for group in collection.groups.values()]
    schedules += [tree.schedule for tree in collection.trees if tree.schedule is not None]
    for schedule in schedules:
        yield from (schedule.name, schedule.calendar)
        yield from (period.name for period in schedule.periods)
        yield from (period.name for period in schedule.solid_periods)
        yield from (time.name for time in schedule.work)
        for rule in schedule.holds.values():
            yield from (rule.name, rule.cause)
        for layer in schedule.layers:
            yield from (layer.name, *layer.changed, *layer.changed.values())


def left_in_english(text: str, own: frozenset[str]) -> list[str]:
    """The words of a text in the pseudo-language that did not come through the catalogue."""
    text = _FILES.sub(" ", COMMANDS.sub(" ", text))
    text = re.sub(r"\w+\.\.\.", " ", text)  # a row of names that was too long for its column
    text = _any_of(own).sub(" ", text)
    return [word for word in re.findall(r"[A-Za-z]+", text) if word not in SYMBOLS and word.strip("x")]


@lru_cache
def _any_of(own: frozenset[str]) -> re.Pattern[str]:
    """Any of the words where it stands whole, with or without a capital at its beginning."""
    written = {form for word in own for form in (word, word[:1].upper() + word[1:])}
    alone = "|".join(re.escape(word) for word in sorted(written, key=len, reverse=True))
    return re.compile(rf"(?<![A-Za-z])(?:{alone})(?![A-Za-z])")

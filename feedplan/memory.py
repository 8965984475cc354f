"""Plans that keep faith with their past: what was told is read before a plan is made, and written down after it.

It is written by whatever plans as of the real day. Where it may not be written, or for another day, the same plan is
made and nothing is kept.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path

from feedplan.engine.feeding.budget import nitrogen_mg_per_l
from feedplan.engine.growing_year import season_of, season_start
from feedplan.engine.history import told_feed, told_laying
from feedplan.engine.plan import plan_season
from feedplan.engine.season import Season, Timeline
from feedplan.errors import CannotWriteError, UsageError
from feedplan.files import append, locked, reason_of, write_whole
from feedplan.load.collection import Loaded
from feedplan.load.folder import as_typed, text_of_memory
from feedplan.load.history import (
    HISTORY,
    TOLD,
    Memory,
    Remembered,
    last_told,
    new_lines,
    read_history,
    told_text,
    with_todays_columns,
)
from feedplan.load.history_cells import HistoryLine, header_text
from feedplan.model.course import FeedEvent, SolidEvent, Status
from feedplan.model.history import ToldFeed, ToldLaying
from feedplan.model.journal import Entry, Journal
from feedplan.words.language import say
from feedplan.words.reasons import reasons_words


@dataclass(frozen=True, slots=True)
class RememberedPlan:
    """A season, and what there is to say of its memory, one sentence each.

    journal, remembered, first_seen: what it was planned from. is_clock_doubtful: a plan was told on a later day
    already, so that this one is not to be remembered.
    """

    season: Season
    notes: tuple[str, ...]
    journal: Journal
    remembered: Remembered
    first_seen: Mapping[str, date]
    is_clock_doubtful: bool = False

    def keep(self, file: Path) -> tuple[str, ...]:
        """Remember what this plan tells beside a collection.yaml; a sentence where that cannot be written."""
        if self.is_clock_doubtful:
            return ()
        try:
            _keep(file.absolute().parent, self.season, self.journal, self.remembered, self.first_seen)
        except CannotWriteError as refusal:
            return (
                say(
                    "what is told today cannot be remembered, so tomorrow works it out anew: {history} and {told} in "
                    "{folder} cannot be written ({reason}); make them files of yours that may be written",
                    history=HISTORY,
                    told=TOLD,
                    folder=file.absolute().parent,
                    reason=reason_of(refusal),
                ),
            )
        return ()


def plan(
    loaded: Loaded,
    today: date,
    start: date | None = None,
    end: date | None = None,
    *,
    file: Path | None = None,
    keep: bool = False,
    earlier: Season | None = None,
    is_real_day: bool = False,
    trusts_clock: bool = False,
) -> RememberedPlan:
    """The season of a collection, planned after what was told before.

    file: its collection.yaml, beside which the memory lies; None for one that is not on disk. keep: remember what this
    plan tells, which only a plan as of the real day may ask for. earlier: a plan made before, as of `plan_season`.
    is_real_day: today is the clock's own. trusts_clock: also where a plan was told on a later day already.
    Raises UsageError for a day so long after anything known that the clock or the year must be wrong.
    """
    folder = None if file is None else file.absolute().parent
    memory = _memory(loaded, folder)
    _check_is_near(loaded, memory, today)
    hemisphere = loaded.collection.place.hemisphere
    seen_from = min(filter(None, [today, start]))
    since = season_start(season_of(seen_from, hemisphere) - 1, hemisphere)
    is_real_day = is_real_day or keep
    is_doubtful = is_real_day and not trusts_clock and last_told(memory) > today
    is_now = is_real_day and not is_doubtful
    remembered = read_history(memory, since, today if is_now else date.max)
    if is_real_day:  # what was first seen by a clock that ran ahead is known by now
        seen_by_now = {key: min(day, today) for key, day in remembered.first_seen.items()}
        remembered = replace(remembered, first_seen=seen_by_now)
    journal, first_seen = as_first_seen(loaded.journal, remembered, today)
    season = plan_season(
        loaded.collection,
        journal,
        today,
        start,
        end,
        climate=loaded.climate,
        history=remembered.history,
        earlier=earlier,
    )
    notes = list(remembered.notes)
    if remembered.is_lost:
        notes.append(
            say(
                "{history} or {told} is gone; what was told before is worked out anew from the journal",
                history=HISTORY,
                told=TOLD,
            )
        )
    if is_doubtful:
        notes.append(
            say(
                "the clock of this computer says {day}, but a plan was told on {told} already, so nothing is "
                "remembered. Set the clock right; if it is right and ran ahead before, type: rm {file}",
                day=today,
                told=last_told(memory),
                file=TOLD if folder is None else as_typed(folder / TOLD),
            )
        )
    planned = RememberedPlan(season, tuple(notes), journal, remembered, first_seen, is_doubtful)
    if file is not None and keep:
        return replace(planned, notes=(*notes, *planned.keep(file)))
    return planned


LONGEST_AWAY = timedelta(days=3653)
"""So long after anything known a plan still walks through the days between, which takes seconds [judgement]."""


def _check_is_near(loaded: Loaded, memory: Memory, today: date) -> None:
    known = [last_told(memory), *(max(entry.recorded, entry.day) for entry in loaded.journal.entries)]
    last = max([*known, loaded.collection.since or date.min])
    if last > date.min and today - last > LONGEST_AWAY:
        raise UsageError(
            say(
                "{day} is more than 10 years after anything known here, {last}; set the clock or the year right, or "
                "begin anew: write since: {day} in collection.yaml",
                day=today,
                last=last,
            )
        )


def files_of(file: Path) -> tuple[Path, Path]:
    """The two files in which the plans of a collection.yaml are remembered."""
    return file.with_name(HISTORY), file.with_name(TOLD)


def first_on_record(loaded: Loaded, file: Path | None = None) -> date | None:
    """The first day of which anything is known: told, written down, or the first day that counts; None for none.

    file: as of `plan`.
    """
    memory = _memory(loaded, None if file is None else file.absolute().parent)
    told = (feed.told for tree in read_history(memory).history.trees.values() for feed in tree.feeds)
    counts_from = filter(None, [loaded.collection.since])
    return min([*told, *(entry.day for entry in loaded.journal.entries), *counts_from], default=None)


def _memory(loaded: Loaded, folder: Path | None) -> Memory:
    """What is remembered beside a collection on disk, or with one that is not."""
    return (
        loaded.memory
        if folder is None
        else Memory(text_of_memory(folder / HISTORY), text_of_memory(folder / TOLD))
    )


def as_first_seen(
    journal: Journal, remembered: Remembered, today: date
) -> tuple[Journal, Mapping[str, date]]:
    """The journal, entries that were typed in late without saying so known from the day they were first seen.

    Also that day for each of them. What stood there when nothing was remembered yet counts as written on its own day.
    """
    if not remembered.history.entry_ids:
        return journal, {}
    known = set(remembered.history.entry_ids)
    seen = dict(remembered.first_seen)
    for entry in (*journal.entries, *journal.withdrawn):
        if entry.id not in known and not entry.is_dated and entry.day < today:
            seen.setdefault(entry.id, today)

    def as_seen(entry: Entry) -> Entry:
        day = seen.get(entry.id)
        return entry if day is None or day <= entry.recorded else replace(entry, recorded=day)

    found = Journal(tuple(map(as_seen, journal.entries)), tuple(map(as_seen, journal.withdrawn)))
    return found, seen


def _keep(
    folder: Path, season: Season, journal: Journal, remembered: Remembered, first_seen: Mapping[str, date]
) -> None:
    """Write down what this plan tells. Raises CannotWriteError."""
    path, told = folder / HISTORY, remembered.memory.told
    with _lock(folder):
        text = text_of_memory(path)
        # Another may have written since this plan read it; what that one settled is not settled again.
        said = (
            remembered
            if text == remembered.memory.history
            else read_history(Memory(text, told), today=season.today)
        )
        settled, asked = what_to_keep(season, journal, said, first_seen)
        whole = said.sound or text
        if whole is not None and (settled or said.sound) and (whole := with_todays_columns(whole)) != text:
            write_whole(path, whole.encode())
        if settled or text is None:
            append(path, settled.encode(), header_text().encode())
        if asked != told:
            write_whole(folder / TOLD, asked.encode())


def what_to_keep(
    season: Season, journal: Journal, said: Remembered, first_seen: Mapping[str, date]
) -> tuple[str, str]:
    """What a plan adds to history.csv, and the whole text of told.json after it. said: what the files say so far."""
    ids = tuple(entry.id for entry in (*journal.entries, *journal.withdrawn))
    history = replace(season.history, entry_ids=ids)
    settled = new_lines(_settled_lines(season), said)
    lines = (said.sound or said.memory.history or header_text()).count("\n") + settled.count("\n")
    return settled, told_text(history, first_seen, season.today, _asked_to(season), lines)


@contextlib.contextmanager
def _lock(folder: Path) -> Iterator[None]:
    """The folder's lock where the system gives one; without it two writers may say a line twice, which is harmless."""
    with contextlib.ExitStack() as stack:
        with contextlib.suppress(OSError):
            stack.enter_context(locked(folder))
        yield


def _asked_to(season: Season) -> date:
    """The last day for which the plan says what it asks for."""
    return max(
        (tree.asked_to for tree in season.history.trees.values() if tree.asked_to), default=season.today
    )


_RECORDED = (Status.RECORDED, Status.NOT_GIVEN)


def _settled_lines(season: Season) -> Iterator[HistoryLine]:
    """A line for each tree and feed or laying whose day is over, or that is recorded already."""
    for timeline in season.timelines:
        for event in timeline.feeds:
            if event.told < season.today or event.status in _RECORDED:
                told = told_feed(event, timeline.lineage)
                if event.status is Status.OVERDUE:  # offered again, and missed as it was told
                    known = season.history.trees[timeline.names[0]].feeds
                    told = next(f for f in known if (f.told, f.ordinal) == (event.told, event.ordinal))
                yield from _lines_of(timeline, event, told)
        for laying in timeline.solid_events:
            asked = laying.asked
            if asked is not None and (asked.told < season.today or laying.status in _RECORDED):
                yield from _laying_lines_of(timeline, laying, asked)


def _lines_of(timeline: Timeline, event: FeedEvent, told: ToldFeed) -> Iterator[HistoryLine]:
    share = timeline.care.collection.habits.feed_share
    if event.status is Status.OVERDUE:
        event = replace(event, status=Status.MISSED, ppm=told.ppm, feed=told.feed, reasons=told.reasons)
    is_given = not event.status.is_without_feed
    because = reasons_words(event.reasons, event.day)
    for tree in timeline.trees:
        poured_ml = tree.pot.litres * share * 1000 * event.part if is_given else Decimal(0)
        yield HistoryLine(
            tree=tree.name,
            told=told,
            outcome=event.outcome,
            given_on=event.day if is_given else None,
            product=event.product,
            ppm=event.ppm,
            poured_ml=poured_ml,
            n_mg_per_l=nitrogen_mg_per_l(event, share),
            because=because,
            entry=event.entry.id if event.entry is not None else "",
        )


def _laying_lines_of(timeline: Timeline, event: SolidEvent, asked: ToldLaying) -> Iterator[HistoryLine]:
    if event.status is Status.OVERDUE:
        event = replace(event, status=Status.MISSED, feed=asked.feed, reasons=asked.reasons)
    is_given = not event.status.is_without_feed
    told = told_laying(event, asked, timeline.lineage)
    for tree in timeline.trees:
        yield HistoryLine(
            tree=tree.name,
            told=told,
            outcome=event.outcome,
            given_on=event.day if is_given else None,
            product=event.feed,
            ppm=None,
            poured_ml=None,
            n_mg_per_l=event.mg_n_per_l if is_given else Decimal(0),
            because=reasons_words(event.reasons, event.day),
            entry=event.entry.id if event.entry is not None else "",
        )

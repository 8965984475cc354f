"""What a tap writes down: one entry of the journal, once, however often the tap arrives."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path
from urllib.parse import parse_qsl

from feedplan.engine.answers.effects import Effects, effects_of, effects_of_taking_back, lifts_a_hold
from feedplan.engine.plan import plan_season
from feedplan.engine.season import Season
from feedplan.errors import FilesHaveProblems, UsageError
from feedplan.load.journal_file import append_entry, id_from
from feedplan.load.read_feeds import AS_PLANNED, NO_REASON
from feedplan.model.journal import Entry, Fed
from feedplan.server.helpers import Helper
from feedplan.server.snapshots import Snapshot
from feedplan.words.effects import change_sentences, flag_sentences, question_words
from feedplan.words.entries import entry_words
from feedplan.words.language import say
from feedplan.words.writing import day_month

# What a button of a page may say. The rest of a journal's keys need thought, and a keyboard.
_FACTS = frozenset(
    {
        "seen",
        "work",
        "roots",
        "trouble",
        "fed",
        "check",
        "moved",
        "bench",
        "gone",
        "put_off",
        "count",
        "not_fed",
    }
)
# What a helper may say, word for word.
_OF_HELPERS = (
    {"fed": AS_PLANNED},
    {"not_fed": NO_REASON},
    *({"check": answer} for answer in ("moist", "watered", "dry")),
)
_LONGEST_NOTE = 300
_KEY = re.compile(r"[A-Za-z0-9_-]{8,64}")
_LAST_DAYS = timedelta(days=400)


@dataclass(frozen=True, slots=True)
class RecordForm:
    """A form as it came in. fields: every field but the token, in order; lists keep all their values."""

    fields: tuple[tuple[str, str], ...]

    def one(self, name: str) -> str:
        """The last value of a field, "" when it was not sent."""
        return next((value for field, value in reversed(self.fields) if field == name), "")

    def all(self, name: str) -> list[str]:
        """Every value of a field, each once."""
        return list(dict.fromkeys(value for field, value in self.fields if field == name))

    @property
    def id(self) -> str:
        """The entry's id: made from the form's own key and all it says, so that a second arrival makes the same.

        Raises UsageError without a key.
        """
        if not _KEY.fullmatch(self.one("key")):
            raise UsageError(say("the form has no key; load the page again"))
        return id_from("\n".join(f"{name}={value}" for name, value in sorted(self.fields)))


@dataclass(frozen=True, slots=True)
class RecordedEntry:
    """What was just written down, to show with a button to take it back."""

    id: str
    words: str
    changes: tuple[str, ...]
    flags: tuple[str, ...]
    do: tuple[str, ...]


def record(
    form: RecordForm,
    snapshot: Snapshot,
    collection_file: Path,
    journal: Path,
    *,
    may_name_group: bool = True,
    helper: Helper | None = None,
) -> str:
    """Write down what was tapped; gives the id of the entry, new or already there.

    may_name_group: whether all of a group can be told by its name; not while its members may be others by now.
    helper: whose address it came by, None for the grower's.

    Raises UsageError for a form that says nothing, or what no helper may say, FilesHaveProblems for an entry the
    journal cannot hold, and CannotWriteError.
    """
    entry = _entry(form, snapshot, may_name_group=may_name_group, helper=helper)
    fed = _fed_already(form, snapshot, entry)
    if fed and fed.keys() == set(form.all("tree")):
        return next(iter(fed.values()))
    if fed and not form.one("group"):
        # A can for several mixes, of which one is written down already.
        told = {key: value for key, value in entry.items() if key not in ("tree", "trees")}
        entry = told | _these([name for name in form.all("tree") if name not in fed])
    entry_id = _append_once(journal, form.id, entry, collection_file)
    left_out = _left_out_of_the_mix(form) if "fed" in entry and "group" not in entry else []
    if left_out:
        when = {key: value for key, value in entry.items() if key in ("date", "recorded")}
        whose = {"note": helper.note} if helper is not None else {}
        not_fed = when | _these(left_out) | {"not_fed": NO_REASON} | whose
        _append_once(journal, _beside(entry_id), not_fed, collection_file)
    return entry_id


def _fed_already(form: RecordForm, snapshot: Snapshot, entry: Mapping[str, object]) -> dict[str, str]:
    """Those trees of a form that were fed as planned on its day, with the entry that says so: a plan feeds once a day.

    A page from before that was recorded has its button still, and so has the page of another phone.
    """
    if entry.get("fed") != AS_PLANNED:
        return {}
    names = set(form.all("tree"))
    return {
        name: each.id
        for timeline in snapshot.season.timelines
        for each in timeline.entries
        if each.fact == Fed() and each.day == entry["date"]
        for name in names.intersection(timeline.names)
        if each.is_about(name)
    }


def _left_out_of_the_mix(form: RecordForm) -> list[str]:
    """The trees a mix was for that are not ticked: they were not fed."""
    ticked = set(form.all("tree"))
    return [name for name in form.all("of") if name not in ticked]


def _beside(entry_id: str) -> str:
    """The id of the entry about the trees left out that stands beside another."""
    return id_from(f"{entry_id} left out")


def wants_a_yes(form: RecordForm, snapshot: Snapshot) -> bool:
    """Whether a form takes back an entry that lifts a hold, and nobody has said yet that this is meant."""
    return not form.one("sure") and lifts_a_hold(snapshot.season, snapshot.loaded.journal, form.one("id"))


def puts_back(form: RecordForm, snapshot: Snapshot) -> bool:
    """Whether a form takes back an entry that took another back, so that the other stands again."""
    journal = snapshot.loaded.journal
    return form.one("id") not in {entry.id for entry in (*journal.entries, *journal.withdrawn)}


def taking_back(snapshot: Snapshot, entry_id: str) -> str:
    """Whether to take an entry back, with what that changes; empty when it does not stand."""
    loaded = snapshot.loaded
    entry = loaded.journal.entry(entry_id)
    if entry is None:
        return ""
    effects = effects_of_taking_back(snapshot.season, loaded.journal, entry_id, loaded.climate)
    return question_words(entry, effects)


def take_back(form: RecordForm, snapshot: Snapshot, collection_file: Path, journal: Path) -> str:
    """Write down that an entry was wrong, unless it is taken back already, with the one of the trees left out.

    An entry that took another back can itself be taken back; the other then stands again. Raises as `record` does.
    """
    entry_id = form.one("id")
    standing = {entry.id for entry in snapshot.loaded.journal.entries}
    if entry_id not in standing:
        if is_written(journal, entry_id, "undo"):
            return entry_id
        if not is_written(journal, entry_id):
            raise UsageError(say("this entry is not in the journal; load the page again"))
    undone = _append_once(journal, form.id, {"date": snapshot.today, "undo": entry_id}, collection_file)
    if _beside(entry_id) in standing or is_written(journal, _beside(entry_id)):
        undo = {"date": snapshot.today, "undo": _beside(entry_id)}
        _append_once(journal, _beside(form.id), undo, collection_file)
    return undone


def _append_once(journal: Path, entry_id: str, entry: Mapping[str, object], collection_file: Path) -> str:
    if is_written(journal, entry_id):
        return entry_id
    try:
        return append_entry(journal, {**entry, "id": entry_id}, collection_file)
    except FilesHaveProblems:
        # The same tap may have arrived by another way just before: then its id is taken, and all is well.
        if is_written(journal, entry_id):
            return entry_id
        raise


def is_written(journal: Path, entry_id: str, key: str = "id") -> bool:
    """Whether an entry with that id stands in the file, undone or not; with the key "undo", whether it is undone."""
    try:
        text = journal.read_text(encoding="utf-8", errors="replace")
    except OSError:
        return False
    return re.search(rf"\b{key}: *[\"']?{re.escape(entry_id)}\b", text) is not None


def _entry(
    form: RecordForm, snapshot: Snapshot, *, may_name_group: bool, helper: Helper | None
) -> dict[str, object]:
    """The entry as the journal writes it. Raises UsageError."""
    fact: dict[str, object] = {
        name: value for name, value in parse_qsl(form.one("say")) if name in _FACTS and value
    }
    if not fact:
        raise UsageError(say("the form does not say what happened; load the page again"))
    if "count" in fact and str(fact["count"]).isdecimal():
        fact["count"] = int(str(fact["count"]))
    if form.one("bare_rooted") and "work" in fact:
        fact["bare_rooted"] = True
    day = _day(form, snapshot.today)
    if helper is not None:
        _check_helper(helper, fact, day)
    late = {"recorded": snapshot.today} if day < snapshot.today else {}
    note = " ".join(form.one("note").split())[:_LONGEST_NOTE] if helper is None else helper.note
    subject = _subject(form, snapshot.season, day, is_feed="fed" in fact) if may_name_group else _named(form)
    return {"date": day, **late, **subject, **fact, **({"note": note} if note else {})}


def _check_helper(helper: Helper, fact: Mapping[str, object], day: date) -> None:
    """Refuse what a helper may not say, and days before the helper had an address. Raises UsageError."""
    if fact not in _OF_HELPERS:
        raise UsageError(say("this address writes down water and feeds alone; tell the grower"))
    if day < helper.since:
        raise UsageError(say("this address writes down nothing from before {day}", day=helper.since))


def _day(form: RecordForm, today: date) -> date:
    """The day an entry is about: today unless the form says another. Raises UsageError."""
    text, other = form.one("date"), form.one("other_date")
    if other and text not in ("other", other):
        raise UsageError(say("a day is picked, but another is chosen; choose one of them"))
    if text == "other":
        text = other
    if not text:
        return today
    try:
        day = date.fromisoformat(text)
    except ValueError as error:
        raise UsageError(say("'{text}' is no date; choose a day", text=text[:20])) from error
    if day == today + timedelta(days=1):
        return today  # a phone in another time zone, or a tap around midnight
    if not today - _LAST_DAYS <= day <= today:
        raise UsageError(say("{day} is not in the last 400 days; choose another day", day=day))
    return day


def _subject(form: RecordForm, season: Season, day: date, *, is_feed: bool) -> dict[str, object]:
    """The trees an entry speaks of, in the shortest form that says the same. Raises UsageError for none.

    A group fed but for a tree says that this one was not fed, so a mix for part of a group names its trees.
    """
    names, group = form.all("tree"), form.one("group")
    named = _named(form)
    members = [name for t in season.timelines if t.here(day) and t.group_on(day) == group for name in t.names]
    if group and set(names) <= set(members):
        left_out = [name for name in members if name not in set(names)]
        mix = set(form.all("of")) if is_feed else set()
        if mix == set(members) if mix else len(left_out) < len(names):
            return {"group": group, **({"but_not": left_out} if left_out else {})}
    return named


def _named(form: RecordForm) -> dict[str, object]:
    """The trees of a form by name. Raises UsageError for none."""
    if not form.all("tree"):
        raise UsageError(say("no tree is ticked; tick at least one"))
    return _these(form.all("tree"))


def _these(names: Sequence[str]) -> dict[str, object]:
    return {"tree": names[0]} if len(names) == 1 else {"trees": list(names)}


def recorded_entry(snapshot: Snapshot, entry_id: str) -> RecordedEntry | None:
    """What an entry says and changes; None when it does not stand in the plan shown."""
    journal = snapshot.loaded.journal
    entry = journal.entry(entry_id)
    if entry is None:
        return None
    effects = _effects(snapshot, entry_id, [each for each in journal.entries if each.id != entry_id])
    changes, flags = change_sentences(effects), flag_sentences(effects)
    return RecordedEntry(entry.id, _words(entry, snapshot.today), changes, flags, tuple(map(say, effects.do)))


def _effects(snapshot: Snapshot, entry_id: str, others: Iterable[Entry]) -> Effects:
    loaded = snapshot.loaded
    without = plan_season(
        loaded.collection,
        replace(loaded.journal, entries=tuple(others)),
        snapshot.today,
        climate=loaded.climate,
        history=snapshot.season.history,
        earlier=snapshot.season,
    )
    return effects_of(without, snapshot.season, entry_id, loaded.collection)


def _words(entry: Entry, today: date) -> str:
    words = entry_words(entry)
    return words if entry.day == today else f"{words}, {day_month(entry.day, today)}"

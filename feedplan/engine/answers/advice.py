"""What the schedules say to look for at the stages that trees have reached."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from feedplan.engine.growing_year import day_in_season, season_of
from feedplan.engine.season import Timeline
from feedplan.model.collection import Tree
from feedplan.model.journal import Seen
from feedplan.model.schedule import LookFor


@dataclass(frozen=True, slots=True)
class Advice:
    """What schedules say to look for at a stage. groups: whom they say it to, each with the trees meant by name.

    A group of which every tree is meant stands without names. since: the last day on which some of them reached it.
    newly: those that did that day.
    """

    stage: str
    text: str
    groups: tuple[tuple[str, tuple[Tree, ...]], ...]
    since: date
    newly: tuple[tuple[str, tuple[Tree, ...]], ...]


def advice_on(timelines: Iterable[Timeline], year: int, day: date) -> Iterator[Advice]:
    """What the schedules say to look for at the stage each tree has reached, each sentence once a stage."""
    said: dict[tuple[str, str], dict[str, list[tuple[Tree, date]]]] = {}
    present: dict[str, int] = {}
    for timeline in timelines:
        if not timeline.here(day):
            continue
        group = timeline.group_on(day)
        present[group] = present.get(group, 0) + len(timeline.trees)
        for tree, (stage, reached), text in _told_to(timeline, year, day):
            said.setdefault((stage, text), {}).setdefault(group, []).append((tree, reached))
    for (stage, text), groups in said.items():
        since = max(reached for trees in groups.values() for _, reached in trees)
        yield Advice(
            stage, text, _meant(groups, present), since, newly=_meant(groups, present, reached_on=since)
        )


def _meant(
    groups: Mapping[str, Sequence[tuple[Tree, date]]],
    present: Mapping[str, int],
    *,
    reached_on: date | None = None,
) -> tuple[tuple[str, tuple[Tree, ...]], ...]:
    """Groups with those of their trees that are meant where not all are. present: how many of each are here.

    reached_on: only those that reached their stage that day.
    """
    found = {
        name: [tree for tree, reached in trees if reached_on in (None, reached)]
        for name, trees in groups.items()
    }
    return tuple(
        (name, () if len(trees) == present[name] else tuple(trees)) for name, trees in found.items() if trees
    )


def _told_to(timeline: Timeline, year: int, day: date) -> Iterator[tuple[Tree, tuple[str, date], str]]:
    """What each tree of a timeline is told on a day, with the stage and since when it is that; winter's word stands
    until the next stage.
    """
    look_for = timeline.care.schedule_on(day).look_for
    for season in (year, year - 1):
        stages = timeline.stage_dates(season)
        reached = [(at.stage, at.day) for at in stages if at.day is not None and at.day <= day]
        at_stage = next((each for each in reversed(reached) if each[0] in look_for), None)
        if at_stage is not None:
            told = _told_at(timeline, look_for[at_stage[0]], season, day)
            yield from ((tree, at_stage, text) for tree, text in told)
            return


def _told_at(timeline: Timeline, look: LookFor, season: int, day: date) -> Iterator[tuple[Tree, str]]:
    """What of it is meant for the trees of a timeline on a day, by season, kind, health and what was recorded."""
    collection = timeline.care.collection
    kinds, hemisphere = collection.vocabulary.kinds, collection.place.hemisphere
    if look.to is not None and day > day_in_season(look.to, season, hemisphere):
        return
    if look.sound_only and any(hold.covers(day) for hold in timeline.holds):
        return
    if look.until_seen and look.until_seen & _shown(timeline, season, day):
        return
    if look.until_fed and any(
        f.season == season and f.day <= day and not f.status.is_without_feed for f in timeline.feeds
    ):
        return
    for tree in timeline.trees:
        if not (look.sound_only and tree.weak):
            is_other = any(kinds.means(word, tree.species) for word in look.not_for)
            if text := look.otherwise if is_other else look.say:
                yield tree, text


def _shown(timeline: Timeline, season: int, day: date) -> frozenset[str]:
    """The stages and signs recorded of a timeline in a season up to a day, with all that they prove."""
    collection = timeline.care.collection
    return frozenset(
        shown
        for entry in timeline.entries
        if isinstance(entry.fact, Seen)
        and entry.day <= day
        and season_of(entry.day, collection.place.hemisphere) == season
        for word in entry.fact.words
        for shown in collection.vocabulary.shown_by(word)
    )

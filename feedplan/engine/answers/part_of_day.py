"""One day as far as some trees are concerned: one bench, one group, a tree or two."""

from __future__ import annotations

from collections.abc import Iterable, Set
from dataclasses import replace
from datetime import date

from feedplan.engine.day import Day
from feedplan.engine.season import Season, Timeline


def part_of_day(season: Season, day: Day, names: Set[str]) -> Day:
    """The day with only what concerns the trees of those names. A can one of them is poured from stays whole."""

    def concerns(timelines: Iterable[Timeline]) -> bool:
        return any(not names.isdisjoint(timeline.names) for timeline in timelines)

    groups = {t.group_on(day.day) for t in season.timelines if concerns([t])}
    checks = []
    for at in day.checks:
        places = tuple(
            (place, kept)
            for place, trees in at.places
            if (kept := tuple(each for each in trees if each.tree.name in names))
        )
        if places:
            checks.append(replace(at, places=places))
    thirst = []
    for bench in day.thirst:
        pots = tuple(pot for pot in bench.pots if pot.tree.name in names)
        if pots:
            thirst.append(replace(bench, pots=pots))
    mixes = tuple(mix for mix in day.mixes if concerns(mix.item.timelines))
    return replace(
        day,
        looks=tuple(review for review in day.looks if concerns([review.timeline])),
        mixes=mixes,
        cans=day.cans.serving(mix.item.key for mix in mixes),
        solids=tuple(item for item in day.solids if concerns(item.timelines)),
        not_laid=tuple(out for out in day.not_laid if concerns([out.timeline])),
        not_fed=tuple(out for out in day.not_fed if concerns([out.timeline])),
        flushes=tuple(each for each in day.flushes if any(tree.name in names for tree in each.trees)),
        checks=tuple(checks),
        watched=tuple(each for each in day.watched if each.tree.name in names),
        thirst=tuple(thirst),
        prompts=tuple(prompt for prompt in day.prompts if concerns(prompt.timelines)),
        advice=tuple(each for each in day.advice if not groups.isdisjoint(name for name, _ in each.groups)),
        work=tuple(each for each in day.work if any(tree.name in names for tree in each.trees)),
        notes=(),
        planned=tuple(each for each in day.planned if not names.isdisjoint(each[0])),
        alerts=tuple(alert for alert in day.alerts if not alert.timelines or concerns(alert.timelines)),
        put_off=tuple(each for each in day.put_off if concerns(each.timelines)),
        readings=(),
        running_out=(),
    )


def whereabouts(season: Season, day: date) -> dict[str, dict[str, set[str]]]:
    """The names of the trees here on a day: by themselves, by bench and by group, under "tree", "bench", "group"."""
    found: dict[str, dict[str, set[str]]] = {"tree": {}, "bench": {}, "group": {}}
    for timeline in season.timelines:
        for tree in timeline.trees if timeline.here(day) else ():
            found["tree"][tree.name] = {tree.name}
            found["bench"].setdefault(timeline.care.place_of(tree, day), set()).add(tree.name)
            found["group"].setdefault(timeline.group_on(day), set()).add(tree.name)
    return found

"""Root work weighed: in or out of its season, on a tree that stands it well or badly, and how many bands that adds."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from datetime import date, timedelta

from feedplan.engine.growing_year import season_of
from feedplan.engine.stages.moments import moment_day
from feedplan.model.collection import Tree
from feedplan.model.course import Hold, StageDate
from feedplan.model.hold import CauseKind, Heavier
from feedplan.model.journal import Caused
from feedplan.model.moment import Hemisphere, stages_named
from feedplan.model.schedule import Schedule
from feedplan.model.stage import Origin, StageCalendar


def heavier(
    fact: Caused,
    schedule: Schedule,
    trees: Iterable[Tree],
    held: Iterable[Hold] = (),
    *,
    out_of_season: bool = False,
) -> tuple[Heavier, ...]:
    """What makes root work count heavier. held: the holds the trees are under; trees: those worked on.

    A weak or old tree, one of a schedule whose trees stand less, and one held for weakness all count as one reason:
    what the tree itself cannot stand. Common practice, no source; that they do not add up is judgement.
    """
    found = [Heavier.BARE_ROOTED] if fact.bare_rooted else []
    if fact.kind is CauseKind.WORK:
        is_frail = any(tree.weak or tree.old for tree in trees) or any(h.rule.bands_up for h in held)
        found += [Heavier.ITS_KIND] if schedule.bands_up or is_frail else []
        found += [Heavier.OUT_OF_SEASON] if out_of_season else []
    return tuple(found)


def is_out_of_season(
    calendar: StageCalendar,
    stages: Callable[[int], Mapping[str, StageDate]],
    hemisphere: Hemisphere,
    day: date,
) -> bool:
    """Whether root work on a day falls outside the time its kind of tree stands it best.

    stages: the stages of a season. A time that ends at a stage still awaited has not ended, and one that ends at a
    stage nobody saw lasts as much longer as the calendar's dates may be off; kinds without such a time are never out of
    season.
    """
    if calendar.root_work is None:
        return False
    start, stop = calendar.root_work
    season = season_of(day, hemisphere)

    def last_day(year: int) -> date | None:
        last = moment_day(stop, stages(year), year, hemisphere, stopping=True)
        named = (stages(year).get(stage) for stage in stages_named(stop))
        is_seen = all(at is not None and at.origin is Origin.SEEN for at in named)
        return last if last is None or is_seen else last + timedelta(days=calendar.spread_days)

    for year in (season - 1, season):
        first = moment_day(start, stages(year), year, hemisphere)
        if first is None or first > day:
            continue
        last = last_day(year)
        if last is not None and last < first:
            last = last_day(year + 1)
        if last is None or day <= last:
            return False
    return True

"""Work that is planned: what it would hold is told, and nothing is held until it is done."""

from __future__ import annotations

from datetime import date

from feedplan.engine.answers.explain import timeline_of
from feedplan.engine.answers.prompts import planned_work
from feedplan.words.reasons import fact_words
from tests.scenarios.planning import GROUPS, SINCE_24_APRIL, WRENMOOR, Plan, plan

GARDEN = WRENMOOR + SINCE_24_APRIL + GROUPS + "trees: [{name: Moth, species: hornbeam, group: V, pot: 6 L}]\n"
PLANNED = "- {date: 2028-01-20, tree: Moth, planned: repotted, on: 2028-03-10, roots: 30 %}\n"
DONE = "- {date: 2028-03-08, tree: Moth, work: repotted, roots: 30 %}\n"


def told(year: Plan) -> list[str]:
    timeline = timeline_of(year.season, "Moth")
    assert timeline is not None
    return [fact_words(work, year.season.today) for _, work in planned_work(timeline, year.season.today)]


def test_planned_root_work_tells_its_hold_and_opens_none() -> None:
    """35 days from 10 March 2028 are 14 April; a hornbeam's first flush hardens about 10 June."""
    year, plain = (plan(GARDEN, journal, today="2028-01-20") for journal in (PLANNED, ""))
    (words,) = told(year)
    assert words.startswith(
        "repotted planned for 10 Mar (as repotted, moderate): from then on no feed, pruning or wiring before 14 Apr, "
        "and once seen: extension and hardened, likely about "
    )
    assert year.feeds("Moth") == plain.feeds("Moth")
    assert year.season.timelines[0].holds == ()


def test_it_falls_silent_once_the_work_is_done_or_its_day_is_two_weeks_past() -> None:
    assert told(plan(GARDEN, PLANNED + DONE, today="2028-03-08")) == []
    assert len(told(plan(GARDEN, PLANNED, today="2028-03-24"))) == 1
    assert told(plan(GARDEN, PLANNED, today="2028-03-25")) == []


def test_other_work_does_not_silence_it_and_taking_it_back_does() -> None:
    bent = "- {date: 2028-02-10, tree: Moth, work: bent}\n"
    assert len(told(plan(GARDEN, PLANNED + bent, today="2028-02-10"))) == 1
    back = PLANNED.replace("{date", "{id: p1, date") + "- {date: 2028-02-01, undo: p1}\n"
    assert told(plan(GARDEN, back, today="2028-02-01")) == []


def test_unknown_loss_counts_as_moderate() -> None:
    year = plan(GARDEN, PLANNED.replace(", roots: 30 %", ""), today="2028-01-20")
    timeline = timeline_of(year.season, "Moth")
    assert timeline is not None
    [(_, work)] = planned_work(timeline, date(2028, 1, 20))
    assert (work.rule, work.minimum) == ("repotted, moderate", date(2028, 4, 14))

"""When a stage is asked after, and what it does that the grower looked and it had not come."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date, timedelta

from feedplan.engine.growing_year import WEEK
from feedplan.model.course import StageDate
from feedplan.model.journal import Entry, Seen
from feedplan.model.stage import Origin

# How long a stage is asked after when nobody answers; a grower who never records is not asked all summer. Judgement.
ASK_FOR = timedelta(weeks=4)
NOT_YET = "not yet"


def asked_from(at: StageDate) -> date:
    """The first day on which a stage is asked after; one found not to have come by its date a week after that."""
    if at.early is not None:
        # The same weekday as the typical date, so that the question stays put while the prediction moves by a day.
        return at.early - timedelta(days=(at.early.weekday() - at.typical.weekday()) % 7)
    return (at.day or at.known) + (WEEK if at.origin is Origin.AWAITED else timedelta())


def asked_again(at: StageDate, entries: Iterable[Entry], until: date | None = None) -> date | None:
    """The day on which a stage is asked after again, a week after the last "not yet" to it; None where nobody said so.

    A "not yet" while no question about the stage stood says nothing of it; each prolongs the time in which it is asked.
    until: the last day it is asked if nobody answers, None for the usual one.
    """
    if at.day is None or at.origin is Origin.SEEN or at.proved is not None:
        return None
    first, last = asked_from(at), until or (at.late or at.day) + ASK_FOR
    latest = None
    for entry in entries:
        is_answer = isinstance(entry.fact, Seen) and NOT_YET in entry.fact.words
        if is_answer and first <= entry.day <= last:
            latest, last = entry.day, max(last, entry.day + ASK_FOR)
    return None if latest is None else latest + WEEK


def as_answered(at: StageDate, entries: Iterable[Entry]) -> StageDate:
    """A stage's date for what waits for it: not before it is asked after again."""
    again = asked_again(at, entries)
    return at if again is None or at.day is None or at.day >= again else replace(at, day=again)

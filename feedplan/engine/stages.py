"""Stage dates of one timeline and season: what was seen wins; typical dates fill the rest."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

from feedplan.engine.growing_year import DAY, day_in_season, season_of
from feedplan.model.journal import Entry, Seen
from feedplan.model.moment import AtStage, DayOfYear, FirstOf, Hemisphere, LastOf, Moment
from feedplan.model.season import Origin, StageDate
from feedplan.model.stage import StageCalendar, Vocabulary

# A stage seen later than another's typical date says "not yet" only when the two lie this close: "dormant" seen
# in November says nothing of last April's leaves. Judgement.
NOT_YET_WITHIN = timedelta(days=120)

# A sign such as "hardened" reports its stage only this near to the stage's typical date; later it is more likely
# a second flush. Judgement.
SIGN_WITHIN = timedelta(days=60)


@dataclass(frozen=True, slots=True)
class TypicalYear:
    """The typical dates that apply to some trees, in the order of the year, and which of them move together."""

    dates: tuple[tuple[str, DayOfYear], ...]
    spring: frozenset[str]
    calendar: StageCalendar


def typical_year(
    calendar: StageCalendar, fallback: StageCalendar, own_dates: Mapping[str, DayOfYear]
) -> TypicalYear:
    """A species' calendar with the grower's own dates over it, and the fallback's for stages it lacks."""
    known = {**dict(fallback.dates), **dict(calendar.dates), **own_dates}
    return TypicalYear(tuple(known.items()), calendar.spring | fallback.spring, calendar)


@dataclass(frozen=True, slots=True)
class Record:
    """What is known of one timeline: its entries known by today, in day order, and its typical year."""

    entries: tuple[Entry, ...]
    typical: TypicalYear
    vocabulary: Vocabulary
    hemisphere: Hemisphere
    _stages: dict[int, dict[str, StageDate]] = field(default_factory=dict, compare=False, repr=False)

    def stages(self, season: int) -> Mapping[str, StageDate]:
        """Every stage's date in a season, in the order of the year."""
        if season not in self._stages:
            self._stages[season] = _stages_of_season(self, season)
        return self._stages[season]

    def is_adverse(self, entry: Entry) -> bool:
        """Whether an entry says that the tree is not coping."""
        return isinstance(entry.fact, Seen) and any(
            word in self.vocabulary.words and self.vocabulary.words[word].adverse for word in entry.fact.words
        )

    def resolve(self, moment: Moment, season: int) -> date | None:
        """The day a moment falls on in a season, None while a stage it waits for has no date.

        A seen stage counts from the day it was known, so a late record opens nothing in the past.
        """
        return _resolve(moment, self.stages(season), season, self.hemisphere, stopping=False)

    def last_day(self, stop: Moment, season: int) -> date | None:
        """The last day fed by a period that stops at a moment: a calendar day is still fed, a stage's is not."""
        return _resolve(stop, self.stages(season), season, self.hemisphere, stopping=True)


def _stages_of_season(record: Record, season: int) -> dict[str, StageDate]:
    typical, hemisphere = record.typical, record.hemisphere
    priors = sorted(
        ((day_in_season(day, season, hemisphere), stage) for stage, day in typical.dates), key=lambda p: p[0]
    )
    sightings = _first_seen(record, season)
    seen = {
        stage: entry
        for prior, stage in priors
        if (entry := sightings.get(stage)) and abs(entry.day - prior) <= NOT_YET_WITHIN
    }
    delay = max(
        (seen[stage].day - prior for prior, stage in priors if stage in seen and stage in typical.spring),
        default=None,
    )
    dates: dict[str, StageDate] = {}
    for prior, stage in priors:
        source = typical.calendar.source
        if stage in seen:
            entry = seen[stage]
            dates[stage] = StageDate(stage, entry.day, Origin.SEEN, entry.known, prior, entry, entry.source)
        elif any(p > prior and s in seen and seen[s].day >= prior for p, s in priors):
            dates[stage] = StageDate(stage, prior, Origin.TYPICAL, prior, prior, None, source)
        elif not_yet := _says_not_yet(stage, prior, priors, sightings):
            dates[stage] = StageDate(stage, None, Origin.AWAITED, not_yet.known, prior, not_yet, source)
        elif stage in typical.spring and delay is not None and delay > timedelta(0):
            dates[stage] = StageDate(stage, prior + delay, Origin.SHIFTED, prior + delay, prior, None, source)
        else:
            dates[stage] = StageDate(stage, prior, Origin.TYPICAL, prior, prior, None, source)
    return dates


def _first_seen(record: Record, season: int) -> dict[str, Entry]:
    """The first sighting of each stage in the season; a second flush never starts spring again."""
    seen: dict[str, Entry] = {}
    for entry in record.entries:
        if isinstance(entry.fact, Seen) and season_of(entry.day, record.hemisphere) == season:
            for word in entry.fact.words:
                stage = _stage_meant(record, word, entry.day, season)
                if stage is not None:
                    seen.setdefault(stage, entry)
    return seen


def _stage_meant(record: Record, word: str, day: date, season: int) -> str | None:
    """The stage a word reports: itself, or for a sign ("hardened") the first stage of the year that shows it."""
    words = record.vocabulary.words
    if word not in words or words[word].is_stage:
        return word if word in words else None
    for stage, typical in record.typical.dates:
        if stage in words and word in words[stage].shows:
            near = abs(day - day_in_season(typical, season, record.hemisphere)) <= SIGN_WITHIN
            return stage if near else None
    return None


def _says_not_yet(
    stage: str, prior: date, priors: Sequence[tuple[date, str]], sightings: Mapping[str, Entry]
) -> Entry | None:
    """The latest sighting of an earlier stage on or after this stage's typical date."""
    contradicting = [
        entry
        for _, word in _before(stage, prior, priors)
        if (entry := sightings.get(word)) and prior <= entry.day <= prior + NOT_YET_WITHIN
    ]
    return max(contradicting, key=lambda entry: entry.day, default=None)


def _before(stage: str, prior: date, priors: Sequence[tuple[date, str]]) -> list[tuple[date, str]]:
    """The stages that come before one in the year. The year begins in dormancy, so its last stage counts too."""
    before = [pair for pair in priors if pair[0] < prior and pair[1] != stage]
    return [*before, priors[-1]] if priors[-1][1] != stage else before


def _resolve(
    moment: Moment, stages: Mapping[str, StageDate], season: int, hemisphere: Hemisphere, *, stopping: bool
) -> date | None:
    match moment:
        case DayOfYear():
            return day_in_season(moment, season, hemisphere)
        case AtStage(stage, offset):
            at = stages.get(stage)
            if at is None or at.day is None:
                return None
            day = at.day + timedelta(days=offset)
            return day - DAY if stopping else max(day, at.known if at.origin is Origin.SEEN else day)
        case FirstOf(moments) | LastOf(moments):
            days = [_resolve(inner, stages, season, hemisphere, stopping=stopping) for inner in moments]
            known = [day for day in days if day is not None]
            if isinstance(moment, LastOf) and len(known) < len(days):
                return None
            return (max if isinstance(moment, LastOf) else min)(known, default=None)

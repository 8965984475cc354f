"""Stage dates of one timeline and season: what was seen wins; typical dates fill the rest."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

from feedplan.engine.growing_year import day_in_season, season_of
from feedplan.engine.stages import rounds
from feedplan.engine.stages.moments import moment_day
from feedplan.engine.stages.prediction import Prediction
from feedplan.engine.stages.typical import TypicalYear
from feedplan.model.course import StageDate
from feedplan.model.journal import Caused, Entry, Seen
from feedplan.model.moment import Hemisphere, Moment
from feedplan.model.source import BUILT_IN
from feedplan.model.stage import GiveOrTake, Origin, StageCalendar, Vocabulary

# A stage seen later than another's typical date says "not yet" only when the two lie this close: "dormant" seen
# in November says nothing of last April's leaves. Judgement.
NOT_YET_WITHIN = timedelta(days=120)

# A sign such as "hardened" reports its stage only this near to the stage's typical date; later it is more likely
# a second flush. Judgement.
SIGN_WITHIN = timedelta(days=60)

# Codes of the BBCH scale below this are of buds, from it on of leaves (principal growth
# stages 0 and 1 of that scale; from memory).
LEAVES_FROM_BBCH = 10

# Codes of flower buds, flowers and fruit, principal growth stages 5 to 8 of that scale (from memory).
FLOWERS_AND_FRUIT_BBCH = range(50, 90)

# No year is so early that a stage comes longer than this before its typical date: a day and a month were more likely
# written the wrong way round. At one British upland site spruce buds burst within 38 days over 71 years (Cannell and
# Smith 1984, abstract read). Judgement.
EARLIEST_BEFORE = timedelta(days=60)


Foretold = Callable[[int, Mapping[str, date]], Mapping[str, Prediction]]
"""Stages expected in a season by the weather, given those seen; those of which nothing can be said are left out."""


def is_soft(stages: Iterable[StageDate], words: Vocabulary, day: date) -> bool:
    """Whether what has grown by a day is soft, so that frost and wind harm it: by the last stage reached, and shoots by
    the last one of leaves or shoots, since petals fall whether the shoots are firm or not.
    """
    reached = [(at.day, words.words.get(at.stage)) for at in stages if at.day is not None and at.day <= day]
    latest_first = [word for _, word in sorted(reached, key=lambda pair: pair[0], reverse=True) if word]
    shoots = [word for word in latest_first if word.bbch not in FLOWERS_AND_FRUIT_BBCH]
    return any(word.soft for word in (*latest_first[:1], *shoots[:1]))


@dataclass(frozen=True, slots=True)
class Record:
    """What is known of one timeline: its entries known by today, in day order, and its typical year.

    foretold: what the weather says, None without a climate. worked_out: the stages of seasons by what was seen in them,
    shared by the records of one kind of tree within a pass.
    """

    entries: tuple[Entry, ...]
    typical: TypicalYear
    vocabulary: Vocabulary
    hemisphere: Hemisphere
    foretold: Foretold | None = field(default=None, compare=False, repr=False)
    worked_out: dict[tuple[object, ...], dict[str, StageDate]] = field(
        default_factory=dict, compare=False, repr=False
    )
    _stages: dict[int, dict[str, StageDate]] = field(default_factory=dict, compare=False, repr=False)
    _sightings: dict[int, SeasonSightings] = field(default_factory=dict, compare=False, repr=False)

    def stages(self, season: int) -> Mapping[str, StageDate]:
        """Every stage's date in a season, in the order of the year; growth that repeats as one, first day to last."""
        return rounds.as_one(self.rounds(season), self.typical.repeated)

    def rounds(self, season: int) -> tuple[Mapping[str, StageDate], ...]:
        """The stages of a season, once for each time that growth starts in it; once where growth does not repeat."""
        once, repeating = self._stages_once(season), self.typical.repeating
        if repeating is None:
            return (once,)
        return tuple({**once, **each} for each in _growth_of_season(self, season, repeating))

    def round_by(self, day: date, season: int) -> Mapping[str, StageDate]:
        """The stages of a season, of growth that repeats those of the time begun last by a day."""
        return rounds.begun_by(day, self.rounds(season), self.typical.repeated)

    def course(self, season: int) -> tuple[StageDate, ...]:
        """Every stage date of a season in order, each time that growth starts and stops among them."""
        return rounds.in_order(self.rounds(season), self.typical.repeated)

    def _stages_once(self, season: int) -> Mapping[str, StageDate]:
        if season not in self._stages:
            seen = (entry.id for entry, _ in self.seen_in(season))
            key = (season, *seen, None, *(entry.id for entry in self.lasting(season).values()))
            if key not in self.worked_out:
                self.worked_out[key] = _stages_of_season(self, season)
            self._stages[season] = self.worked_out[key]
        return self._stages[season]

    def seen_in(self, season: int) -> Iterator[tuple[Entry, tuple[str, ...]]]:
        """The entries that tell what was seen in a season, each with its words."""
        for entry in self.entries:
            if isinstance(entry.fact, Seen) and season_of(entry.day, self.hemisphere) == season:
                yield entry, entry.fact.words

    def lasting(self, season: int) -> Mapping[str, Entry]:
        """The stages seen in earlier seasons that a tree does not go back behind, each with its first sighting."""
        found: dict[str, Entry] = {}
        words = self.vocabulary.words
        for entry in self.entries:
            if season_of(entry.day, self.hemisphere) >= season:
                break
            if isinstance(entry.fact, Caused):
                found = {
                    stage: e for stage, e in found.items() if words[stage].lasts_until != entry.fact.cause
                }
            for word in entry.fact.words if isinstance(entry.fact, Seen) else ():
                if word in words and words[word].lasts_until:
                    found.setdefault(word, entry)
        return found

    def sightings(self, season: int) -> SeasonSightings:
        """What was seen in a season, sorted out."""
        if season not in self._sightings:
            self._sightings[season] = _sorted_out(self, season)
        return self._sightings[season]

    def is_adverse(self, entry: Entry) -> bool:
        """Whether an entry says that the tree is not coping."""
        return isinstance(entry.fact, Seen) and any(
            word in self.vocabulary.words and self.vocabulary.words[word].adverse for word in entry.fact.words
        )

    def resolve(
        self,
        moment: Moment,
        season: int,
        instead: date | None = None,
        stages: Mapping[str, StageDate] | None = None,
    ) -> date | None:
        """The day a moment falls on in a season, None while a stage it waits for has no date.

        instead: from this day on a stage that must be seen counts as seen. stages: those of one round of growth.

        A seen stage counts from the day it was known, so a late record opens nothing in the past.
        """
        return moment_day(moment, stages or self.stages(season), season, self.hemisphere, instead=instead)

    def last_day(
        self, stop: Moment, season: int, stages: Mapping[str, StageDate] | None = None
    ) -> date | None:
        """The last day fed by a period that stops at a moment: a calendar day is still fed, a stage's is not."""
        return moment_day(stop, stages or self.stages(season), season, self.hemisphere, stopping=True)


def _growth_of_season(record: Record, season: int, calendar: StageCalendar) -> tuple[rounds.Round, ...]:
    """Each time that growth starts and stops in a season, on a calendar that repeats."""
    usual = rounds.usual_growth(calendar, dict(record.typical.dates), season, record.hemisphere)
    priors = {usual.growth: usual.begins, usual.stopped: usual.ends}
    before, seen = (
        [(e, stage) for e, _, stage in _stages_reported(record, year, priors) if stage in priors]
        for year in (season - 1, season)
    )
    return rounds.rounds_of(usual, before, seen)


def _stages_of_season(record: Record, season: int) -> dict[str, StageDate]:
    typical, hemisphere = record.typical, record.hemisphere
    priors = sorted(
        ((day_in_season(day, season, hemisphere), stage) for stage, day in typical.dates), key=lambda p: p[0]
    )
    sightings = record.sightings(season)
    seen = {
        stage: entry
        for prior, stage in priors
        if (entry := sightings.first.get(stage)) and abs(entry.day - prior) <= NOT_YET_WITHIN
    }
    delay = max(
        (seen[stage].day - prior for prior, stage in priors if stage in seen and stage in typical.spring),
        default=None,
    )
    told = _Told(record, season, {stage: entry.day for stage, entry in seen.items()}, priors)
    usual = {stage: prior for prior, stage in priors}
    lasting = record.lasting(season)
    dates: dict[str, StageDate] = {}
    for prior, stage in priors:
        source, spread = typical.calendar.source, GiveOrTake(timedelta(days=typical.calendar.spread_days))
        if stage in seen:
            entry = seen[stage]
            dates[stage] = StageDate(stage, entry.day, Origin.SEEN, entry.known, prior, entry, entry.source)
        elif stage in lasting:
            day = _in_leaf(dates, record.vocabulary) or prior
            dates[stage] = StageDate(
                stage, day, Origin.SEEN, day, prior, lasting[stage], lasting[stage].source
            )
        elif stage in told.predictions:
            dates[stage] = _predicted(told, stage, prior, sightings.latest, priors)
        elif any(usual[s] > prior and entry.day >= prior for s, entry in seen.items()):
            dates[stage] = StageDate(stage, prior, Origin.TYPICAL, prior, prior, None, source, basis=spread)
        elif not_yet := _says_not_yet(stage, prior, priors, sightings.latest):
            dates[stage] = StageDate(stage, None, Origin.AWAITED, not_yet.known, prior, not_yet, source)
        elif stage in typical.spring and delay is not None and delay > timedelta(0):
            late = prior + delay
            dates[stage] = StageDate(stage, late, Origin.SHIFTED, late, prior, None, source, basis=spread)
        else:
            dates[stage] = StageDate(stage, prior, Origin.TYPICAL, prior, prior, None, source, basis=spread)
    return _with_proofs(told.in_order(dates), seen, record.vocabulary)


def _in_leaf(dates: Mapping[str, StageDate], vocabulary: Vocabulary) -> date | None:
    """When the first leaves of a season are open, None where none of its stages tells."""
    for stage, at in dates.items():
        word = vocabulary.words.get(stage)
        if word is not None and (word.bbch or 0) >= LEAVES_FROM_BBCH:
            return at.day
    return None


def _with_proofs(
    dates: dict[str, StageDate], seen: Mapping[str, Entry], vocabulary: Vocabulary
) -> dict[str, StageDate]:
    """The dates, with the day from which a stage that was seen says that one it follows had come."""
    for stage, entry in seen.items():
        word = vocabulary.words.get(stage)
        for earlier in word.follows if word is not None else ():
            if earlier in dates and earlier not in seen:
                before = dates[earlier].proved
                proved = entry.known if before is None else min(before, entry.known)
                dates[earlier] = replace(dates[earlier], proved=proved)
    return dates


class _Told:
    """What the weather says of one season, and what was seen in it."""

    def __init__(
        self, record: Record, season: int, seen: Mapping[str, date], priors: Sequence[tuple[date, str]]
    ) -> None:
        self.clock = record.typical.clock
        self.predictions = {} if record.foretold is None else record.foretold(season, seen)
        self._order = [stage for _, stage in priors]
        self._seen = seen

    def by_then(self, stage: str) -> date | None:
        """The day on which a later stage of the year was seen first: by then this one had come."""
        after = self._order[self._order.index(stage) + 1 :]
        return min((self._seen[later] for later in after if later in self._seen), default=None)

    def in_order(self, dates: dict[str, StageDate]) -> dict[str, StageDate]:
        """The dates, those that no rule tells of moved behind the predicted stages that come before them."""
        latest: date | None = None
        for stage, at in dates.items() if self.predictions else ():
            if at.origin in (Origin.TYPICAL, Origin.SHIFTED) and at.day is not None:
                if latest is not None and at.day < latest:
                    dates[stage] = replace(at, day=latest, origin=Origin.SHIFTED, known=latest)
            elif at.day is not None:
                latest = max(latest or at.day, at.day)
        return dates


def _predicted(
    told: _Told,
    stage: str,
    prior: date,
    latest: Mapping[str, Entry],
    priors: Sequence[tuple[date, str]],
) -> StageDate:
    """A stage the weather tells of. What was seen on the tree itself still says "not yet", or "by then"."""
    found, by_then = told.predictions[stage], told.by_then(stage)
    source = told.clock[stage].source if stage in told.clock else BUILT_IN
    day = found.day if by_then is None or found.day is None else min(found.day, by_then)
    not_yet = None if day is None or by_then is not None else _says_not_yet(stage, day, priors, latest)
    if day is None or not_yet is not None:
        known = prior if not_yet is None else not_yet.known
        return StageDate(stage, None, Origin.AWAITED, known, prior, not_yet, source, basis=found.basis)
    origin, known = Origin.PREDICTED, day
    if found.informed is not None:
        origin, known = Origin.INFORMED, max(day, found.informed.known)
    early, late = (
        at if by_then is None or at is None else min(at, by_then) for at in (found.early, found.late)
    )
    return StageDate(stage, day, origin, known, prior, None, source, early, late, found.basis)


@dataclass(frozen=True, slots=True)
class Contradiction:
    """A sighting that cannot be, and so moves nothing until the grower says more.

    stage: the one written. other, other_stage: the sighting it does not go with; None where it is only far too early,
    before `earliest`.
    """

    entry: Entry
    stage: str
    other: Entry | None = None
    other_stage: str = ""
    earliest: date | None = None


@dataclass(frozen=True, slots=True)
class SeasonSightings:
    """What was seen in a season. first: the first possible sighting of each stage, since a second flush never starts
    spring again; latest: the last, which may say that a stage still lasts; doubtful: the sightings that cannot be.
    """

    first: Mapping[str, Entry]
    latest: Mapping[str, Entry]
    doubtful: tuple[Contradiction, ...]


def _sorted_out(record: Record, season: int) -> SeasonSightings:
    """The sightings of a season. Rest seen before anything else is the end of the last one: it only says "not yet"."""
    priors = {s: day_in_season(day, season, record.hemisphere) for s, day in record.typical.dates}
    rest = max(priors, key=lambda each: priors[each], default="")
    seen: dict[str, Entry] = {}
    latest: dict[str, Entry] = {}
    doubtful = []
    written: set[str] = set()
    for entry, word, stage in _stages_reported(record, season, priors):
        if stage in record.typical.repeated:
            continue
        if stage == rest and not seen and entry.day < priors[rest] - EARLIEST_BEFORE:
            latest[rest] = entry
            continue
        found = _contradiction(entry, stage, priors, seen)
        if found is None:
            seen.setdefault(stage, entry)
            written |= {word}
        elif stage == word and (found.other_stage != stage or stage in written):
            # A sign that stood for the stage before is no slip: of one tree it was seen first, of its group later.
            doubtful.append(found)
        if found is None or found.other_stage == stage:
            latest[stage] = entry
    return SeasonSightings(
        {**({rest: latest[rest]} if rest in latest else {}), **seen}, latest, tuple(doubtful)
    )


def _stages_reported(
    record: Record, season: int, priors: Mapping[str, date]
) -> Iterator[tuple[Entry, str, str]]:
    """Each word seen in a season that stands for a stage, with that stage."""
    for entry, words in record.seen_in(season):
        for word in words:
            stage = _stage_meant(record, word, entry.day, priors)
            if stage is not None:
                yield entry, word, stage


def _contradiction(
    entry: Entry, stage: str, priors: Mapping[str, date], seen: Mapping[str, Entry]
) -> Contradiction | None:
    """What a sighting does not go with: one of the same stage, or of a later one, before it; or the time of year."""
    prior = priors.get(stage)
    if prior is None:
        return None
    too_early = entry.day < prior - EARLIEST_BEFORE
    later = [s for s, each in seen.items() if each.day <= entry.day and priors.get(s, prior) > prior]
    if later or (too_early and seen):
        other = max(later or seen, key=lambda each: seen[each].day)
        return Contradiction(entry, stage, seen[other], other)
    if stage in seen and entry.day > seen[stage].day:
        return Contradiction(entry, stage, seen[stage], stage)
    return Contradiction(entry, stage, earliest=prior - EARLIEST_BEFORE) if too_early else None


def _stage_meant(record: Record, word: str, day: date, priors: Mapping[str, date]) -> str | None:
    """The stage a word reports: itself, or for a sign ("hardened") the first stage of the year that shows it.

    A sign stands for its stage only while that is in season: near its typical date, and not once the next is due. New
    buds on a tree in leaf are no spring, so that a sign of bare twigs stands for nothing from the day leaves are due.
    Growth that repeats is in season whenever it is seen.
    """
    words = record.vocabulary.words
    if word not in words or words[word].is_stage:
        return word if word in words else None
    spread = timedelta(days=record.typical.calendar.spread_days)
    for stage, prior in priors.items():
        if stage in words and word in words[stage].shows:
            if stage in record.typical.repeated:
                return stage
            following = min((day for day in priors.values() if day > prior), default=date.max)
            code = words[stage].bbch
            is_bare = code is not None and code < LEAVES_FROM_BBCH
            is_over = following != date.max and (day >= following if is_bare else day > following + spread)
            return None if abs(day - prior) > SIGN_WITHIN or is_over else stage
    return None


def _says_not_yet(
    stage: str, expected: date, priors: Sequence[tuple[date, str]], latest: Mapping[str, Entry]
) -> Entry | None:
    """The latest sighting of an earlier stage on or after the day this stage was expected."""
    if not latest:
        return None
    contradicting = [
        entry
        for word in _before(stage, priors)
        if (entry := latest.get(word)) and expected <= entry.day <= expected + NOT_YET_WITHIN
    ]
    return max(contradicting, key=lambda entry: entry.day, default=None)


def _before(stage: str, priors: Sequence[tuple[date, str]]) -> list[str]:
    """The stages that come before one in the year. The year begins in dormancy, so its last stage counts too."""
    prior = next(day for day, word in priors if word == stage)
    before = [word for day, word in priors if day < prior]
    return [*before, priors[-1][1]] if priors[-1][1] != stage else before

"""The words for stages and signs and the typical years: the shipped ones with the collection's own over them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from pydantic import TypeAdapter

from feedplan.load.building.clock import ClockReader
from feedplan.load.building.merging import lay_over
from feedplan.load.findings import Findings, near_miss
from feedplan.load.folder import SCHEDULES, SHIPPED, WORDS, Folder, Page, shipped_page
from feedplan.load.models.clock_models import ClockModel
from feedplan.load.models.schedule_models import CalendarModel, VocabularyModel, WordModel
from feedplan.load.models.shape import check_shape
from feedplan.load.text.spots import Spot
from feedplan.model.clock import Clock
from feedplan.model.moment import DayOfYear, Hemisphere
from feedplan.model.stage import StageCalendar, Vocabulary, Word

_ADAPTER = TypeAdapter(VocabularyModel)


class Words:
    """Looks up what a grower writes, in any case and by any of its names."""

    def __init__(self, words: Iterable[Word]) -> None:
        self._words = {word.name: word for word in words}
        self._names = {
            spelling.casefold(): word.name
            for word in self._words.values()
            for spelling in (*word.also, word.name)
        }

    def stage(self, text: str) -> str | None:
        """The stage that a text names, None if none."""
        name = self.sign(text)
        return name if name is not None and self._words[name].is_stage else None

    def sign(self, text: str) -> str | None:
        """The stage or sign that a text names, None if none."""
        return text if text in self._words else self._names.get(text.casefold())

    def stage_hint(self, text: str) -> str:
        """What to write instead of an unknown stage."""
        return near_miss(text, [w.name for w in self._words.values() if w.is_stage])

    def sign_hint(self, text: str) -> str:
        """What to write instead of an unknown stage or sign."""
        return near_miss(text, [s for w in self._words.values() for s in (w.name, *w.also)])


def read_vocabulary(folder: Folder, place: Hemisphere, findings: Findings) -> Vocabulary:
    """The vocabulary, every calendar's days turned to the place."""
    layered = read_layered(_ADAPTER, folder, WORDS, findings)
    if layered is None:
        return Vocabulary()
    model, page = layered
    words = _words(model, page.spot, findings)
    reader = _CalendarReader(place, Words(words.values()), findings)
    calendars = {name: reader.calendar(name, part, page.spot) for name, part in model.calendars.items()}
    return Vocabulary(words, calendars)


def read_layered(
    adapter: TypeAdapter[Any], folder: Folder, name: str, findings: Findings
) -> tuple[Any, Page] | None:
    """A shipped file with the collection's own of that name laid over it: its model, and where all of it stands.

    When the own file is unsound, its problems are noted and the shipped one is used alone.
    """
    base, own = shipped_page(name), folder.page(f"{SCHEDULES}/{name}.yaml")
    if base is None or not isinstance(base.value, dict):
        findings.at(Spot.start_of(f"{SHIPPED}/{name}.yaml"), "is missing; install feedplan again")
        return None
    page = base
    if own is not None:
        findings.add_misread(own.problems)
        if isinstance(own.value, dict):
            page = Page(*lay_over(base.value, base.spot, own.value, own.spot), ())
        elif own.value is not None:
            findings.at(own.spot, "is not a mapping; write keys with values")
    model = check_shape(adapter, page.value, page.spot, findings)
    if model is None and page is not base:
        page = base
        model = check_shape(adapter, page.value, page.spot, findings)
    return None if model is None else (model, page)


def _words(model: VocabularyModel, spot: Spot, findings: Findings) -> dict[str, Word]:
    words: dict[str, Word] = {}
    for section, parts in (("stages", model.stages), ("signs", model.signs)):
        for name, part in parts.items():
            words[name] = _word(name, part, section == "stages", spot.key_at((section, name)))
    taken = {name.casefold(): name for name in words}
    for word in words.values():
        place = spot.at(("stages" if word.is_stage else "signs", word.name))
        for spelling in word.also:
            other = taken.setdefault(spelling.casefold(), word.name)
            if other != word.name:
                findings.at(
                    place.at(("also",)),
                    f"also of '{word.name}': '{spelling}' means '{other}' already; write another word",
                )
        for sign in word.shows - words.keys():
            findings.at(
                place.at(("shows",)),
                f"shows of '{word.name}': no sign is called '{sign}'{near_miss(sign, words)}",
            )
    return words


def _word(name: str, part: WordModel, is_stage: bool, spot: Spot) -> Word:
    return Word(
        name,
        tuple(part.also),
        part.looks_like or "",
        part.bbch,
        frozenset(part.shows),
        part.adverse,
        is_stage,
        spot.source,
        part.water_use,
        part.soft,
    )


class _CalendarReader:
    """Builds typical years for one place."""

    def __init__(self, place: Hemisphere, words: Words, findings: Findings) -> None:
        self._place = place
        self._words = words
        self._findings = findings

    def calendar(self, name: str, part: CalendarModel, whole: Spot) -> StageCalendar:
        """One typical year, its days turned to the place."""
        spot = whole.at(("calendars", name))
        dates, spring = spot.at(("dates",)), spot.at(("spring",))
        if not part.dates:
            self._findings.at(
                dates, f"calendar '{name}' has no dates; write for example leaves open: 24 April"
            )
        return StageCalendar(
            name,
            tuple(part.species),
            tuple(
                (self._stage(text, dates.key(text), name), self._turned(day, dates.at((text,)), part, spot))
                for text, day in part.dates.items()
            ),
            part.spread,
            frozenset(self._stage(text, spring.at((i,)), name) for i, text in enumerate(part.spring)),
            whole.key_at(("calendars", name)).source,
            water_use={
                self._stage(text, spot.at(("water_use",)).key(text), name): share
                for text, share in part.water_use.items()
            },
            clock={} if part.clock is None else self._clock(name, part, part.clock, spot),
        )

    def _clock(self, name: str, part: CalendarModel, clock: ClockModel, spot: Spot) -> Clock:
        """What brings the stages of one calendar."""
        reader = ClockReader(
            lambda text, where: self._stage(text, where, name),
            lambda day, where: self._turned(day, where, part, spot),
            self._findings,
        )
        return reader.clock(clock, spot.at(("clock",)))

    def _stage(self, text: str, where: Spot, calendar: str) -> str:
        found = self._words.stage(text)
        if found is None:
            hint = self._words.stage_hint(text)
            self._findings.at(where, f"calendar '{calendar}' names the unknown stage '{text}'{hint}")
        return found or text

    def _turned(self, day: DayOfYear, where: Spot, part: CalendarModel, spot: Spot) -> DayOfYear:
        """The day as it falls at the place; written_for counts for the days of its own file."""
        meant = self._place
        if part.written_for is not None and spot.key("written_for").file == where.file:
            meant = Hemisphere(part.written_for)
        return day if meant is self._place else day.turned()

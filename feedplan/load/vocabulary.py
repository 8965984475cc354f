"""The words for stages and signs and the typical years: the shipped ones with the collection's own over them."""

from __future__ import annotations

from collections.abc import Iterable

from pydantic import TypeAdapter

from feedplan.load.folder import SCHEDULES, Folder, Page, shipped_page
from feedplan.load.merging import lay_over
from feedplan.load.problems import Findings, check_shape, near_miss
from feedplan.load.schedule_models import CalendarModel, VocabularyModel, WordModel
from feedplan.load.spots import Spot
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
    """The vocabulary, every calendar's days turned to the place. Empty when its files have problems."""
    page = layered_page(folder, "stages", findings)
    model = check_shape(_ADAPTER, page.value, page.spot, findings) if page else None
    if model is None or page is None:
        return Vocabulary()
    words = _words(model, page.spot, findings)
    known = Words(words.values())
    calendars = {
        name: _calendar(name, part, page.spot.at(("calendars", name)), place, known, findings)
        for name, part in model.calendars.items()
    }
    return Vocabulary(words, calendars)


def layered_page(folder: Folder, name: str, findings: Findings) -> Page | None:
    """A shipped file with the collection's own file of that name laid over it."""
    base, own = shipped_page(name), folder.page(f"{SCHEDULES}/{name}.yaml")
    for page in (base, own):
        if page is not None:
            findings.add(*page.problems)
    if base is None or own is None or own.value is None:
        return base or own
    if not isinstance(own.value, dict) or not isinstance(base.value, dict):
        findings.at(own.spot, "is not a mapping; write keys with values")
        return base
    return Page(*lay_over(base.value, base.spot, own.value, own.spot), ())


def _words(model: VocabularyModel, spot: Spot, findings: Findings) -> dict[str, Word]:
    words: dict[str, Word] = {}
    for section, parts in (("stages", model.stages), ("signs", model.signs)):
        for name, part in parts.items():
            words[name] = _word(name, part, section == "stages", spot.at((section, name)))
    taken: dict[str, str] = {}
    for word in words.values():
        place = spot.at(("stages" if word.is_stage else "signs", word.name))
        for spelling in (word.name, *word.also):
            other = taken.setdefault(spelling.casefold(), word.name)
            if other != word.name:
                findings.at(place, f"'{spelling}' already stands for '{other}'; write another word")
        for shown_sign in word.shows - words.keys():
            findings.at(
                place, f"'{word.name}' shows '{shown_sign}', which is not known{near_miss(shown_sign, words)}"
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
    )


def _calendar(
    name: str, part: CalendarModel, spot: Spot, place: Hemisphere, known: Words, findings: Findings
) -> StageCalendar:
    """One typical year, turned to the place."""
    written_in = spot.key("written_for").file if part.written_for else None

    def stage(text: str, where: Spot) -> str:
        found = known.stage(text)
        if found is None:
            findings.at(where, f"calendar '{name}' names the unknown stage '{text}'{known.stage_hint(text)}")
        return found or text

    def turned(day: DayOfYear, where: Spot) -> DayOfYear:
        meant = Hemisphere(part.written_for) if part.written_for and where.file == written_in else place
        return day if meant is place else day.turned()

    dates_spot = spot.child("dates") or spot
    dates = tuple(
        (stage(text, dates_spot.key(text)), turned(day, dates_spot.child(text) or spot))
        for text, day in part.dates.items()
    )
    spring_spot = spot.child("spring") or spot
    spring = frozenset(stage(text, spring_spot.child(i) or spring_spot) for i, text in enumerate(part.spring))
    if not dates:
        findings.at(dates_spot, f"calendar '{name}' has no dates; write for example leaves open: 24 April")
    return StageCalendar(name, tuple(part.species), dates, part.spread, spring, spot.source)

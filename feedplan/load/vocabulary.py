"""Stages and signs, typical years and clocks: the shipped ones, the collection's own and those learned over them.

What was learned stands in learned.yaml, read and written here: the sums fitted to the grower's own sightings.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from datetime import date
from functools import lru_cache

import yaml
from pydantic import TypeAdapter

from feedplan.load import fields as f
from feedplan.load.folder import GENERA, SCHEDULES, WORDS, Folder, TextFolder, read_layered, shipped_kinds
from feedplan.load.meanings import meant_by
from feedplan.load.problems import Findings, Passage, near_miss
from feedplan.load.read_words import day_of_year_text
from feedplan.load.schedule_models import (
    CalendarModel,
    ClockModel,
    GeneraModel,
    StageRuleModel,
    VocabularyModel,
    WordModel,
)
from feedplan.load.shape import check_shape
from feedplan.model.genus import GenusFlag, Harm
from feedplan.model.moment import AtStage, DayOfYear, FirstOf, Hemisphere, LastOf, Moment
from feedplan.model.stage import Chill, Clock, Counting, Measure, StageCalendar, StageRule, Vocabulary, Word

_ADAPTER = TypeAdapter(VocabularyModel)
_GENERA = TypeAdapter(GeneraModel)
LEARNED = "learned.yaml"
"""What `feedplan learn --write` leaves beside the collection: a file of its own, so yours stays as written."""
HEAD = """\
# What your own sightings taught about your trees, written by "feedplan learn --write" on {day}.
# It wins over the clocks that ship with feedplan. Change a number, or take a species out, and the plan follows; the
# next "feedplan learn --write" writes this file anew, comments of yours included.
"""


class StageWords:
    """Looks up what a grower writes, in any case and by any of its names."""

    def __init__(self, words: Iterable[Word] = ()) -> None:
        self._words = {word.name: word for word in words}
        self._names = {
            spelling.casefold(): word.name
            for word in self._words.values()
            for spelling in (*word.also, word.name)
        }
        self.stages = [word.name for word in self._words.values() if word.is_stage]

    def stage(self, text: str) -> str | None:
        """The stage that a text names, None if none."""
        name = self.sign(text)
        return name if name is not None and self._words[name].is_stage else None

    def sign(self, text: str) -> str | None:
        """The stage or sign that a text names, None if none."""
        return text if text in self._words else self._names.get(text.casefold())

    def apart(self, text: str) -> list[str]:
        """What commas keep apart, or "and" between stages and signs that are known; a known one stays whole."""
        if self._is_meant(text):
            return [text]
        found = []
        for each in re.split(", *(?:and +)?", text.strip(", ")):
            joined = re.split(" +and +", each)
            found += joined if all(map(self._is_meant, joined)) else [each]
        return found

    def _is_meant(self, text: str) -> bool:
        meant = meant_by(text)
        return self.sign(text) is not None or (meant is not None and meant.key == "seen")

    def known_stage(self, text: str, part: Passage, of: str) -> str:
        """The stage that a text names, or the text with its problem noted. of: what names it."""
        found = self.stage(text)
        if found is None:
            part.unknown("stage", text, self.stages, of)
        return found or text

    def known_sign(self, text: str, part: Passage, of: str, noun: str = "sign") -> str:
        """The stage or sign that a text names, or the text with its problem noted. of: what names it."""
        found = self.sign(text)
        if found is None:
            part.unknown(noun, text, self.spellings, of)
        return found or text

    @property
    def names(self) -> dict[str, str]:
        """Every way to write a stage or sign, with its name."""
        return {written: word.name for word in self._words.values() for written in (word.name, *word.also)}

    @property
    def spellings(self) -> list[str]:
        """Every way to write a stage or sign."""
        return list(self.names)


def read_vocabulary(folder: Folder, hemisphere: Hemisphere, findings: Findings) -> Vocabulary:
    """The vocabulary, every calendar's days turned to the place."""
    if all(folder.page(f"{SCHEDULES}/{name}.yaml") is None for name in (WORDS, GENERA)):
        return _shipped(hemisphere) or _read(folder, hemisphere, findings)
    return _read(folder, hemisphere, findings)


@lru_cache(maxsize=2)
def _shipped(hemisphere: Hemisphere) -> Vocabulary | None:
    """The vocabulary that ships, read once in the life of the program; None where something is wrong with it."""
    findings = Findings()
    found = _read(TextFolder({}), hemisphere, findings)
    return None if findings.problems else found


def _read(folder: Folder, hemisphere: Hemisphere, findings: Findings) -> Vocabulary:
    layered = read_layered(_ADAPTER, folder, WORDS, findings)
    if layered is None:
        return Vocabulary(kinds=shipped_kinds())
    model, whole = layered
    file = Passage(whole.spot, findings)
    words = _words(model, file)
    finder = StageWords(words.values())
    calendars = {
        name: _CalendarReader(name, part, file, hemisphere, finder).calendar()
        for name, part in model.calendars.items()
    }
    return Vocabulary(words, calendars, _flags(folder, findings), shipped_kinds())


def _flags(folder: Folder, findings: Findings) -> tuple[GenusFlag, ...]:
    """The genera that feed harms."""
    layered = read_layered(_GENERA, folder, GENERA, findings)
    model: GeneraModel | None = None if layered is None else layered[0]
    return tuple(
        GenusFlag(word, Harm(harm), known_from, part.most_phosphorus)
        for harm, part in ({} if model is None else model.genera).items()
        for word, known_from in part.words.items()
    )


def _words(model: VocabularyModel, file: Passage) -> dict[str, Word]:
    words = {
        name: _word(name, part, section == "stages", file.named(section, name))
        for section, parts in (("stages", model.stages), ("signs", model.signs))
        for name, part in parts.items()
    }
    taken = {name.casefold(): name for name in words}
    for word in words.values():
        part = file.at("stages" if word.is_stage else "signs", word.name)
        for spelling in word.also:
            other = taken.setdefault(spelling.casefold(), word.name)
            if other != word.name:
                part.wrong(
                    f"also of '{word.name}': '{spelling}' means '{other}' already; write another word", "also"
                )
        for key, named in (("shows", word.shows), ("follows", word.follows)):
            for other in named - words.keys():
                part.at(key).unknown("sign", other, words, f"{key} of '{word.name}'")
    return words


def _word(name: str, model: WordModel, is_stage: bool, part: Passage) -> Word:
    return Word(
        name,
        tuple(model.also),
        model.looks_like or "",
        model.bbch,
        frozenset(model.shows),
        model.adverse,
        is_stage,
        part.source,
        model.water_use,
        model.soft,
        frozenset(model.follows),
        model.on_leaves,
        model.lasts_until or "",
        tuple(model.do),
    )


class _CalendarReader:
    """Builds one typical year, its days turned to the place. file: the whole of the words."""

    def __init__(
        self, name: str, model: CalendarModel, file: Passage, hemisphere: Hemisphere, words: StageWords
    ) -> None:
        self._name = name
        self._model = model
        self._file = file
        self._part = file.at("calendars", name)
        self._hemisphere = hemisphere
        self._words = words

    def calendar(self) -> StageCalendar:
        """The typical year."""
        model, part = self._model, self._part
        dates, water_use, spring = part.at("dates"), part.at("water_use"), part.at("spring")
        if not model.dates:
            dates.wrong(f"calendar '{self._name}' has no dates; write for example leaves open: 24 April")
        if model.repeats and len(model.dates) != 2:
            what = "needs two dates, of growth and of its stop"
            part.key("repeats").wrong(
                f"calendar '{self._name}' repeats, so it {what}, and has {len(model.dates)}"
            )
        return StageCalendar(
            self._name,
            tuple(model.species),
            tuple(
                (self._stage(text, dates.key(text)), self._turned(day, dates.at(text)))
                for text, day in model.dates.items()
            ),
            model.spread,
            frozenset(self._stage(text, spring.at(i)) for i, text in enumerate(model.spring)),
            self._file.named("calendars", self._name).source,
            water_use={
                self._stage(text, water_use.key(text)): share for text, share in model.water_use.items()
            },
            clock={} if model.clock is None else self._clock(model.clock, part.at("clock")),
            root_work=None
            if model.root_work is None
            else (
                self._moment(model.root_work.start, part.at("root_work", "from")),
                self._moment(model.root_work.stop, part.at("root_work", "to")),
            ),
            repeats=model.repeats,
        )

    def _moment(self, moment: Moment, part: Passage) -> Moment:
        """The moment with its stages as the words call them and its days turned to the place."""
        match moment:
            case DayOfYear():
                return self._turned(moment, part)
            case AtStage(stage, offset, seen_only):
                return AtStage(self._stage(stage, part), offset, seen_only)
            case FirstOf(moments):
                return FirstOf(tuple(self._moment(inner, part) for inner in moments))
            case LastOf(moments):
                return LastOf(tuple(self._moment(inner, part) for inner in moments))

    def _stage(self, text: str, part: Passage) -> str:
        found = self._words.stage(text)
        if found is None:
            hint = near_miss(text, self._words.stages)
            part.wrong(f"calendar '{self._name}' names the unknown stage '{text}'{hint}")
        return found or text

    def _turned(self, day: DayOfYear, part: Passage) -> DayOfYear:
        """The day as it falls at the place; written_for counts for the days of its own file."""
        meant, written_for = self._hemisphere, self._model.written_for
        if written_for is not None and self._part.key("written_for").source.file == part.source.file:
            meant = Hemisphere(written_for)
        return day if meant is self._hemisphere else day.turned()

    def _clock(self, model: ClockModel, part: Passage) -> Clock:
        """What brings the stages where there is weather, by stage; what is wrong with it is noted."""
        counting, place = self._counting(model, part), part.at("stages")
        rules = {
            self._stage(name, place.key(name)): self._rule(name, rule, counting, place)
            for name, rule in model.stages.items()
        }
        for stage, rule in rules.items():
            if rule.after is not None and rule.after not in rules:
                place.wrong(
                    f"'{stage}' counts from '{rule.after}', which has no rule here; give it one",
                    stage,
                    "after",
                )
        return rules

    def _counting(self, model: ClockModel, part: Passage) -> Counting:
        chill = None
        if model.chill is not None:
            need, unit = model.chill.need
            chill = Chill(
                float(model.chill.below),
                self._turned(model.chill.count_from, part.at("chill", "count_from")),
                need if unit == "days" else None,
                need if unit == "hours" else None,
                float(model.chill.each_day_short),
            )
        first = self._turned(model.count_from, part.at("count_from"))
        return Counting(float(model.base), first, None if model.upper is None else float(model.upper), chill)

    def _rule(self, name: str, model: StageRuleModel, counting: Counting, stages: Passage) -> StageRule:
        part, start = stages.at(name), stages.key(name)
        given = [measure for measure in Measure if getattr(model, measure.value) is not None]
        measure = given[0] if given else Measure.DAYS
        if len(given) != 1:
            one = "write exactly one of warmth, cold, days and day_shortened"
            start.wrong(f"what brings '{name}' is not clear; {one}")
        if measure is Measure.COLD and model.below is None:
            part.key("cold").wrong(f"cold of '{name}' has no 'below'; write for example below: 20 °C")
        if measure in (Measure.COLD, Measure.DAYS) and model.after is None:
            start.wrong(f"'{name}' does not say which stage it counts from; write after:")
        return StageRule(
            measure=measure,
            amount=float(getattr(model, measure.value) or 0),
            give_or_take=model.give_or_take,
            counting=counting,
            after=None if model.after is None else self._stage(model.after, part.at("after")),
            below_c=None if model.below is None else float(model.below),
            at_least_days=model.at_least,
            at_most_days=model.at_most,
            source=start.source,
        )


class LearnedStageModel(f.FileModel):
    """What your own sightings say about one stage of one species."""

    base: f.Temperature = f.needed("Warmth counts above it.")
    count_from: f.DayInYear = f.needed("First day warmth counts.", "1 February")
    warmth: f.DegreeDays = f.needed("Degree days above the base until the stage is seen.")
    give_or_take: f.WarmthOrDays = f.needed("Half the range it may be off by.")
    how: f.Words | None = f.optional("From how many sightings, and how far off it was.")


class LearnedModel(f.FileModel):
    """What feedplan learn found, by species and stage; it wins over the shipped clocks."""

    learned: dict[f.Name, dict[f.Name, LearnedStageModel]]


_LEARNED = TypeAdapter(LearnedModel)


def read_learned(
    folder: Folder, words: StageWords, findings: Findings
) -> Mapping[tuple[str, str], StageRule]:
    """What was learned, by species and stage; empty without such a file. Its days are the place's own."""
    page = folder.page(LEARNED)
    if page is None:
        return {}
    findings.add_misread(page.problems)
    file = Passage(page.spot, findings)
    model = check_shape(_LEARNED, page.value, file) if page.value is not None else None
    rules = {}
    for species, stages in model.learned.items() if model is not None else ():
        for text, part in stages.items():
            place = file.at("learned", species).key(text)
            stage = words.known_stage(text, place, f"learned of '{species}'")
            rules[species.casefold(), stage] = _learned_rule(part, place)
    return rules


def _learned_rule(model: LearnedStageModel, part: Passage) -> StageRule:
    return StageRule(
        measure=Measure.WARMTH,
        amount=model.warmth,
        give_or_take=model.give_or_take,
        counting=Counting(float(model.base), model.count_from),
        learned=True,
        how=model.how or "",
        source=part.source,
    )


def learned_text(rules: Mapping[tuple[str, str], StageRule], day: date) -> str:
    """The whole file. rules: by species and stage. day: of writing."""
    lines = [HEAD.format(day=day.isoformat()), "learned:"]
    species_before = None
    for (species, stage), rule in sorted(rules.items()):
        if species != species_before:
            lines.append(f"  {_scalar(species)}:")
            species_before = species
        lines.append(f"    {_scalar(stage)}:")
        lines += [f"      {key}: {value}" for key, value in _values(rule).items()]
    return "\n".join(lines) + "\n"


def _values(rule: StageRule) -> dict[str, str]:
    values = {
        "base": f"{rule.counting.base_c:g} °C",
        "count_from": day_of_year_text(rule.counting.count_from),
        "warmth": f"{rule.amount:g} degree days",
        "give_or_take": f"{rule.give_or_take:g} degree days",
    }
    return values | ({"how": _scalar(rule.how)} if rule.how else {})


def _scalar(text: str) -> str:
    """A text as YAML writes it on one line, in quotes where it needs them."""
    return str(yaml.safe_dump(text, allow_unicode=True, width=1000)).removesuffix("\n").removesuffix("\n...")

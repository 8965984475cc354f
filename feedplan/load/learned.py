"""learned.yaml, read and written: the sums fitted to the grower's own sightings, by species and stage."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

import yaml
from pydantic import TypeAdapter

from feedplan.load import fields as f
from feedplan.load.folder import Folder
from feedplan.load.problems import Findings, Passage
from feedplan.load.read_words import day_of_year_text
from feedplan.load.shape import check_shape
from feedplan.load.vocabulary import StageWords
from feedplan.model.clock import Counting, Measure, StageRule

LEARNED = "learned.yaml"
"""What `feedplan learn --write` leaves beside the collection: a file of its own, so yours stays as written."""

HEAD = """\
# What your own sightings taught about your trees, written by "feedplan learn --write" on {day}.
# It wins over the clocks that ship with feedplan. Change a number, or take a species out, and the plan follows; the
# next "feedplan learn --write" writes this file anew, comments of yours included.
"""


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

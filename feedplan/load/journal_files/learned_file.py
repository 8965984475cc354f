"""learned.yaml: the sums fitted to the grower's own sightings, by species and stage."""

from __future__ import annotations

from collections.abc import Mapping

from pydantic import TypeAdapter

from feedplan.load.building.vocabulary import Words
from feedplan.load.findings import Findings
from feedplan.load.folder import Folder
from feedplan.load.models.clock_models import LearnedModel, LearnedStageModel
from feedplan.load.models.shape import check_shape
from feedplan.load.text.spots import Spot
from feedplan.model.clock import Counting, Measure, StageRule

LEARNED = "learned.yaml"
"""What `feedplan learn --write` leaves beside the collection: a file of its own, so yours stays as written."""

_LEARNED = TypeAdapter(LearnedModel)


def read_learned(folder: Folder, words: Words, findings: Findings) -> Mapping[tuple[str, str], StageRule]:
    """What was learned, by species and stage; empty without such a file. Its days are the place's own."""
    page = folder.page(LEARNED)
    if page is None:
        return {}
    findings.add_misread(page.problems)
    model = check_shape(_LEARNED, page.value, page.spot, findings) if page.value is not None else None
    if model is None:
        return {}
    rules = {}
    for species, stages in model.learned.items():
        for text, part in stages.items():
            place = page.spot.at(("learned", species)).key(text)
            stage = words.stage(text)
            if stage is None:
                findings.at(
                    place, f"learned of '{species}': no stage is called '{text}'{words.stage_hint(text)}"
                )
            rules[species.casefold(), stage or text] = _learned_rule(part, place)
    return rules


def _learned_rule(part: LearnedStageModel, place: Spot) -> StageRule:
    return StageRule(
        measure=Measure.WARMTH,
        amount=part.warmth,
        give_or_take=part.give_or_take,
        counting=Counting(float(part.base), part.count_from),
        learned=True,
        how=part.how or "",
        source=place.source,
    )

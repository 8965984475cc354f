"""Plants that phosphorus, or any feed, harms: warned of by genus, each with where it is known from."""

from __future__ import annotations

from datetime import date

import pytest

from feedplan.engine.answers.warnings import warnings_of
from feedplan.engine.plan import plan_season
from feedplan.load.collection import load_text
from feedplan.model.genus import Harm, flags_of
from feedplan.model.warning import NeverFeed, RichInPhosphorus
from feedplan.words.warnings import warning_words

TODAY = date(2027, 4, 24)
YARD = """\
place: {{name: Skerry Yard, latitude: 52, time_zone: Europe/London}}
since: 2027-01-01
feeds:
  bloom: {{grade: 10-30-20, form: soluble}}
  lean: {{grade: 18-1-10, form: soluble}}
groups:
  g: {{schedule: broadleaf-evergreen, feed: {feed}{more}}}
trees:
  - {{name: Brindle, species: {species}, group: g, pot: 10 L}}
"""


def said(species: str, feed: str, more: str = "") -> list[str]:
    loaded = load_text(YARD.format(species=species, feed=feed, more=more), "")
    season = plan_season(loaded.collection, loaded.journal, TODAY)
    found = warnings_of(season, loaded.collection, loaded.journal)
    return [warning_words(d.fact, TODAY) for d in found if isinstance(d.fact, RichInPhosphorus | NeverFeed)]


# By hand: at 100 ppm N a 10-30-20 would bring 131 mg P, the schedule's ceiling keeps it at 60; an 18-1-10 brings
# 100 / 180 x 10 x 0.4364 = 2.4. Families at risk: Handreck 1997; Banksia and Hakea by name (abstracts).
@pytest.mark.parametrize("species", ["banksia", "Grevillea robusta", "Hakea"])
def test_a_feed_rich_in_phosphorus_is_warned_of_for_genera_it_harms(species: str) -> None:
    (words,) = said(species, "bloom")
    assert "Brindle: 'bloom' brings 60 mg P per litre, and phosphorus harms" in words
    assert "abstract" in words
    assert said(species, "lean") == []


@pytest.mark.parametrize("species", ["camellia", "mossy oak"])
def test_other_plants_are_not(species: str) -> None:
    assert said(species, "bloom") == []


# Wild sundew flowered 98 % less with nitrogen (Stewart and Nilsen, abstract); mosses: common practice, no source.
@pytest.mark.parametrize("species", ["Drosera capensis", "venus flytrap", "cushion moss"])
def test_a_plant_that_feed_harms_is_warned_of_while_it_is_fed(species: str) -> None:
    (words,) = said(species, "lean")
    assert "is fed with the group 'g', and feed harms it" in words
    assert said(species, "lean", ", changes: {feeding: none}") == []


def test_the_flags_of_a_species_are_found_by_its_genus_or_everyday_word() -> None:
    flags = load_text(YARD.format(species="banksia", feed="lean", more="")).collection.vocabulary.flags
    assert [flag.harm for flag in flags_of("Banksia serrata", flags)] == [Harm.PHOSPHORUS]
    assert [flag.word for flag in flags_of("pitcher-plant", flags)] == ["pitcher plant"]
    assert flags_of("Japanese maple", flags) == ()

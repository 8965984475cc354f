"""The season's nitrogen: given and planned, of a budget, beside what such trees usually get and where that is from."""

from __future__ import annotations

from datetime import date

import pytest

from feedplan.engine.plan import plan_season
from feedplan.export.season_text import season_facts, season_lines
from feedplan.load.collection import load_text

YARD = """\
place: {name: Skerry Yard, latitude: 52, time_zone: Europe/London}
since: 2027-01-01
feeds:
  even: {grade: 20-20-20, form: soluble}
groups:
  g: {schedule: vigorous, feed: even}
trees:
  - {name: Brindle, species: hornbeam, group: g, pot: 10 L}
"""


def test_season_parts_what_was_given_from_what_is_planned_and_sets_the_usual_range_beside_both() -> None:
    """150 ppm N every 10 days from 24 April, a tenth of the pot poured: 15 mg per L a feed, three by 20 May."""
    loaded = load_text(YARD, "")
    season = plan_season(loaded.collection, loaded.journal, date(2027, 5, 20), date(2027, 1, 1))
    (course,) = season_facts(season, loaded.collection, 2027)["courses"]
    assert course["given_n_mg_per_l_of_pot"] == 45
    assert course["planned_n_mg_per_l_of_pot"] == course["n_mg_per_l_of_pot"] - 45
    assert course["usual_n_mg_per_l_of_pot"] == [250, 450]  # practice for developing trees (judgement)
    text = "\n".join(season_lines(season, loaded.collection, 2027))
    assert "45 + 150 of 360 (250-450)" in text
    assert "Brindle: less N than usual: liquid feed alone" in text
    assert (
        "Usual for g: 250 to 450 mg N per litre of pot; judgement; pine seedlings did best near 430" in text
    )


@pytest.mark.parametrize(
    ("since", "is_told"), [("2027-11-22", False), ("2027-06-15", False), ("2027-03-01", True)]
)
def test_a_season_of_which_the_plan_knows_a_part_is_not_called_short_of_nitrogen(
    since: str, is_told: bool
) -> None:
    """Hornbeams of this schedule are fed from 24 April on."""
    loaded = load_text(YARD.replace("since: 2027-01-01", f"since: {since}"), "")
    season = plan_season(loaded.collection, loaded.journal, date(2027, 11, 28), date(2027, 1, 1))
    text = "\n".join(season_lines(season, loaded.collection, 2027))
    assert ("less N than usual" in text, "counted from" not in text) == (is_told, is_told)

"""How long feed is taken up again after a hold, for trees that were given none in the meantime.

Practice advances by feeds given and tolerated, not by feeds due (common practice, no source). That a growing year lived
through ends it all the same, and that a hold ending too late in the year leaves it to the next one, is judgement.
"""

from __future__ import annotations

import pytest

from tests.scenarios.planning import KORORUA_BAY, WRENMOOR, plan

GARDEN = """
feeds:
  powder: {grade: 20-10-20, form: soluble}
  coated: {grade: 14-13-13, form: coated, longevity: 6 months}
groups:
  V: {schedule: V, feed: powder}
trees:
  - {name: Anvil, species: hornbeam, group: V, pot: 12 L}
"""
# 3 g of 14 % nitrogen is 420 mg in each litre of pot: more than the whole budget of 360, so no liquid feed is left.
NORTH = """
- {date: 2025-03-29, tree: Anvil, laid: coated, rate: 3 g per L}
- {date: 2025-05-18, tree: Anvil, TROUBLE}
- {date: 2025-07-01, tree: Anvil, seen: SIGN}
- {date: 2025-07-08, tree: Anvil, seen: SIGN}
"""
SOUTH = """
- {date: 2025-09-29, tree: Anvil, laid: coated, rate: 3 g per L}
- {date: 2025-11-18, tree: Anvil, TROUBLE}
- {date: 2026-01-02, tree: Anvil, seen: SIGN}
- {date: 2026-01-09, tree: Anvil, seen: SIGN}
"""
SIGNS = {
    "trouble: aphids": "clean check",
    "work: repotted, roots: 30 %": "hardened",
    "work: bent": "[turgid at dawn, no die-back]",
}


@pytest.mark.parametrize(("work", "sign"), SIGNS.items())
@pytest.mark.parametrize(
    ("place", "journal", "today"), [(WRENMOOR, NORTH, "2026-04-20"), (KORORUA_BAY, SOUTH, "2026-10-20")]
)
def test_a_tree_fed_by_solids_for_a_growing_year_is_not_fed_weakly_in_the_next(
    place: str, journal: str, today: str, work: str, sign: str
) -> None:
    journal = journal.replace("TROUBLE", work).replace("SIGN", sign)
    year = plan(place + GARDEN, journal, today=today)
    first = next(feed for feed in year.feeds("Anvil") if feed >= today)
    assert first.endswith(" 150")


def test_a_hold_that_ends_after_the_last_feed_of_a_year_leaves_the_weak_ones_to_the_next() -> None:
    journal = """
- {date: 2025-09-10, tree: Anvil, trouble: aphids}
- {date: 2025-09-26, tree: Anvil, seen: clean check}
- {date: 2025-10-05, tree: Anvil, seen: clean check}
"""
    year = plan(WRENMOOR + GARDEN, journal, today="2026-04-20")
    assert [feed.split()[1] for feed in year.feeds("Anvil") if feed >= "2026-04"][:3] == ["75", "150", "150"]


def test_weak_feeds_left_to_the_next_year_and_not_given_in_it_end_with_it() -> None:
    journal = """
- {date: 2024-09-10, tree: Anvil, trouble: aphids}
- {date: 2024-09-26, tree: Anvil, seen: clean check}
- {date: 2024-10-05, tree: Anvil, seen: clean check}
- {date: 2025-03-29, tree: Anvil, laid: coated, rate: 3 g per L}
"""
    year = plan(WRENMOOR + GARDEN, journal, today="2026-04-20")
    assert next(feed for feed in year.feeds("Anvil") if feed >= "2026-04").endswith(" 150")

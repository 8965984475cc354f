"""Whole years lived by the plan, in every garden by every kind of grower: no morning may break the plan's word.

FEEDPLAN_LIVED_YEARS: how many years to live. Counts: `python -m tests.lived.report`.
"""

from __future__ import annotations

import os
from datetime import date
from itertools import cycle, islice
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.lived.deeds import DEEDS
from tests.lived.gardens import SMALL
from tests.lived.growers import GROWERS, Deed
from tests.lived.life import Life, Script, live
from tests.lived.report import Job, lived
from tests.properties import times

YEARS = int(os.environ.get("FEEDPLAN_LIVED_YEARS") or times(6, 40))

# The demos are dear to live in, and left to `python -m tests.lived.report`.
# Every grower lives somewhere before any moves on to the next garden.
_GARDENS = list(SMALL)
KINDS = [
    (_GARDENS[(shift + number) % len(_GARDENS)], grower)
    for shift in range(len(_GARDENS))
    for number, grower in enumerate(GROWERS)
]


# Years in which the plan once broke its word, or was said to.
BROKEN_ONCE: list[Job] = [
    ("terrace", "writes late", 3),
    ("frames", "writes half", 1),
    ("yard", "meddles", 3),
    (
        "terrace",
        "writes half",
        10,
    ),  # the check's own fault: trees beside one whose strength fell, told as before
]


def years(count: int) -> list[Job]:
    """So many years: those that went wrong once, then each kind of grower in each garden in turn, with other seeds."""
    rest = islice(cycle(KINDS), max(0, count - len(BROKEN_ONCE)))
    return [*BROKEN_ONCE, *((*kind, number // len(KINDS)) for number, kind in enumerate(rest))][:count]


def told_wrong(life: Life) -> str:
    """What broke the plan's word, the first of it, with what was done until then."""
    first = life.violations[:5]
    lines = [f"{v.day} {v.tree}: {v.kind}: {v.text}" for v in first]
    until = str(first[0].day) if first else ""
    return "\n".join([*lines, "after:", *(line for line in life.diary if line < until)])


@pytest.mark.parametrize(("garden", "grower", "seed"), years(YEARS))
def test_no_morning_of_a_year_breaks_the_plans_word(garden: str, grower: str, seed: int) -> None:
    life = lived(garden, grower, seed)
    assert life.pours > 0
    assert life.violations == [], told_wrong(life)


@st.composite
def scripts(draw: st.DrawFn, days: int) -> Script:
    """A few deeds on some days of a year; fewer, earlier and simpler ones as hypothesis shrinks them."""
    deed: st.SearchStrategy[Deed] = st.tuples(st.sampled_from(DEEDS), st.integers(0, 50))
    on_days = st.dictionaries(st.integers(0, days - 1), st.lists(deed, min_size=1, max_size=2), max_size=6)
    return {day: tuple(deeds) for day, deeds in draw(on_days).items()}


@given(script=scripts(days=150), grower=st.sampled_from(["obedient", "writes everything", "writes half"]))
@settings(max_examples=max(5, YEARS // 20), deadline=None)
def test_no_script_of_deeds_breaks_the_plans_word(script: Script, grower: str) -> None:
    """Two trees of the yard from April to August, since that is where most of a year is decided."""
    yard = SMALL["yard"]().garden.from_to(date(2027, 4, 1), date(2027, 8, 28))
    life = live(yard.edited(_two_trees), GROWERS[grower], 0, script=script)
    assert life.violations == [], told_wrong(life)


def _two_trees(files: dict[str, Any]) -> None:
    files["trees"] = files["trees"][1:3]

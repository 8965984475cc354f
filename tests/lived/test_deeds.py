"""What growers do to their files leaves files that feedplan reads."""

from __future__ import annotations

from collections.abc import Set
from dataclasses import replace
from datetime import date, timedelta

import pytest

from feedplan.load.collection import load_text
from tests.lived.asking import History, line_of
from tests.lived.garden import Garden
from tests.lived.gardens import SMALL
from tests.lived.growers import GROWERS
from tests.lived.life import live
from tests.lived.plain_plan import asks_plainly
from tests.lived.told import Told

MEDDLER = GROWERS["meddles"]
BUSY = replace(MEDDLER, deeds=dict.fromkeys(MEDDLER.deeds, 0.2))


@pytest.mark.parametrize("seed", range(2))
@pytest.mark.parametrize("name", SMALL)
def test_no_meddled_garden_is_refused(name: str, seed: int) -> None:
    garden, read = SMALL[name]().garden, set[tuple[str, str]]()

    def ask(
        garden: Garden, day: date, history: History, expected: Set[str] = frozenset()
    ) -> tuple[Told, History]:
        text = (garden.collection, "".join(map(line_of, garden.journal)))
        if text not in read:
            load_text(*text, dict(garden.schedules))
            read.add(text)
        return asks_plainly(garden, day, history, expected)

    life = live(garden.from_to(garden.first, garden.first + timedelta(days=30)), BUSY, seed, ask=ask)
    assert len(read) > 20
    assert len(life.diary) > 40

"""Every output in a language that marks what it says: nothing English leaks, but for the grower's own words."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import pytest

from feedplan.words.language import speaking
from tests.words.outputs import OUTPUTS, TODAYS, read_page, told
from tests.words.own_words import left_in_english, own_words
from tests.words.pseudo import PSEUDO

COMMANDS = re.compile(r"feedplan (?:record (?:lifted|laid|seen) [^\n]*|record --undo \w+|\w+( --\w+)?)")


@pytest.mark.parametrize("output", OUTPUTS)
@pytest.mark.parametrize(("folder", "today"), TODAYS, ids=str)
def test_nothing_english_is_left(folder: Path, today: date, output: str) -> None:
    plan = told(folder, today)
    with speaking(PSEUDO):
        lines = list(getattr(plan, output)())
    own = own_words(plan.loaded)
    left: dict[str, str] = {}
    for line in lines:
        if words := left_in_english(read_page(line) if output == "pages" else line, own, COMMANDS):
            left.setdefault(" ".join(words), line)
    assert left == {}

"""Spoilt files, words and requests, the same in every run: an answer or a sentence, never a crash.

Many more, and other ones: python -m tests.fuzz --seconds 600 --seed 7
"""

from __future__ import annotations

import pytest

from tests.fuzz.served import Fuzzer
from tests.properties import times

BLOCKS, CASES = 4, times(20, 45)


@pytest.fixture(scope="module")
def fuzzer(tmp_path_factory: pytest.TempPathFactory) -> Fuzzer:
    return Fuzzer(tmp_path_factory.mktemp("fuzz"))


@pytest.mark.parametrize("block", range(BLOCKS))
def test_spoilt_input_is_answered_or_refused_in_sentences(fuzzer: Fuzzer, block: int) -> None:
    found = []
    for number in range(block * CASES, (block + 1) * CASES):
        for trouble in fuzzer.run(number):
            print(f"{trouble.kind}\n{trouble.told}\npython -m tests.fuzz --case {number}")
            found += [] if trouble.kind.startswith("slow") else [trouble.kind]
    assert found == []

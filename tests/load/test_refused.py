"""Every refused input is a file here with the whole messages it must give, places included.

The first line of each says which file of a collection it stands for; the rest of the collection is the sound one.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.load.helpers import HERE, complaints

REFUSED = sorted((HERE / "refused").glob("*.yaml"))


@pytest.mark.parametrize("path", REFUSED, ids=lambda path: path.stem)
def test_a_refused_file_gives_exactly_these_messages(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    lines = text.splitlines()
    file = lines[0].removeprefix("# file: ")
    expected = [line.removeprefix("# expect: ") for line in lines if line.startswith("# expect: ")]
    assert expected, "a refused file says what it must give"
    if file == "collection.yaml":
        found = complaints(collection=text)
    elif file == "journal.yaml":
        found = complaints(journal=text)
    else:
        found = complaints(schedules={Path(file).stem: text})
    assert found == expected

"""The shelf alone: a dose at the sink does not wait until the rest of the files is mended."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from feedplan.errors import FilesHaveProblems
from feedplan.load.feeds import load_shelf

SHELF = "habits: {can: 9 L}\nfeeds: {powder: {grade: 24-8-16, form: soluble}}\n"


def test_slips_elsewhere_do_not_keep_the_shelf_closed(tmp_path: Path) -> None:
    (tmp_path / "collection.yaml").write_text(SHELF + "trees: [{nme: Brindle}]\n", encoding="utf-8")
    (tmp_path / "journal.yaml").write_text("- {", encoding="utf-8")
    shelf = load_shelf(tmp_path)
    assert shelf.feeds["powder"].n_mg_per_g == 240
    assert shelf.habits.can_litres == Decimal(9)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            SHELF.replace("24-8-16", "24-8"),
            ":2:25: grade of feed 'powder': '24-8' is not a grade; write the label's",
        ),
        (SHELF.replace("9 L", "9"), ":1:15: can of habits: '9' has no unit; write the unit: 9 L"),
        ("feeds: {", ":1:8: the { that opens here is not closed"),
    ],
)
def test_slips_on_the_shelf_itself_are_told(tmp_path: Path, text: str, message: str) -> None:
    (tmp_path / "collection.yaml").write_text(text, encoding="utf-8")
    with pytest.raises(FilesHaveProblems) as refused:
        load_shelf(tmp_path)
    assert message in str(refused.value)

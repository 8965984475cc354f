"""A small collection on disk, and the command line run inside it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from feedplan.cli.main import feedplan

TODAY = "2027-06-14"

COLLECTION = """\
place: {name: Mill Bank, latitude: 53.5, time_zone: Europe/London}
id: mill-bank
since: 2027-01-01
feeds:
  powder: {grade: 20-10-20, form: soluble, label_rate: 1 g per L, label_maximum: 2 g per L}
  coated-16: {grade: 16-8-12, form: coated, longevity: 150 days}
groups:
  growing-on: {schedule: vigorous, feed: powder}
  shown: {schedule: refined, feed: powder}
trees:
  - {name: Brindle, species: larch, group: growing-on, pot: 9 L}
  - {name: Moth, species: hornbeam, group: growing-on, pot: 6 L}
  - {name: Old Kelp, species: field maple, group: shown, pot: 3 L}
  - {name: Anvil, species: elm, group: shown, pot: 4 L}
"""

JOURNAL = """\
- {date: 2027-04-26, tree: Brindle, work: repotted, roots: 30 %}
"""

Run = Callable[..., Result]


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with the collection, and standing in it."""
    (tmp_path / "collection.yaml").write_text(COLLECTION)
    (tmp_path / "journal.yaml").write_text(JOURNAL)
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def run() -> Run:
    """Runs the command line as typed; with `today` it is that day."""

    def typed(*words: str, today: str | None = None) -> Result:
        given = [*words, "--today", today] if today else list(words)
        return CliRunner().invoke(feedplan, given, prog_name="feedplan")

    return typed

"""A feed used between two days is measured by the periods that may be open between them, and by no others.

A 0-10-10 for conifers from November on is ordinary practice (common practice, no source); ppm N sets no dose of it.
"""

from __future__ import annotations

import pytest

from feedplan.errors import FilesHaveProblems
from feedplan.load.collection import load_text

GARDEN = """
place: {{name: M, latitude: {latitude}, time_zone: {zone}}}
feeds:
  b: {{grade: 20-20-20, form: soluble, label_rate: 1 g per L}}
  late: {{grade: 0-10-10, form: liquid, measured: by volume, label_rate: 5 ml per L}}
groups:
  g: {{schedule: {schedule}, feed: [b, {{use: late, from: {start}}}{back}]{changes}}}
trees: [{{name: Bor, species: {species}, group: g, pot: 12 L}}]
"""
AUTUMN = ", changes: {feeding: {autumn: {strength: half label rate}}}"
NORTH = {"latitude": "46.6", "zone": "Europe/Ljubljana"}
SOUTH = {"latitude": "-41.2", "zone": "Pacific/Auckland"}
PINE = {"schedule": "conifer", "species": "Scots pine"}
LARCH = {"schedule": "vigorous", "species": "larch"}


def refused(start: str, end: str | None, changes: str, **of: str) -> str:
    """What is wrong with a dated feed, empty for nothing."""
    back = f", {{use: b, from: {end}}}" if end else ""
    try:
        load_text(GARDEN.format(start=start, back=back, changes=changes, **of))
    except FilesHaveProblems as problems:
        return str(problems)
    return ""


@pytest.mark.parametrize(
    ("start", "end", "of"),
    [
        ("2026-11-01", "2027-03-01", NORTH | PINE),  # the autumn period goes on to 15 November
        ("2026-09-01", "2027-03-01", NORTH | PINE),  # it begins the day after the summer feed stops
        ("2026-11-01", "2027-02-01", NORTH | LARCH),
        ("2026-05-01", "2026-09-01", SOUTH | PINE),
    ],
)
def test_a_feed_without_nitrogen_in_autumn_alone_needs_a_label_rate_in_autumn_alone(
    start: str, end: str, of: dict[str, str]
) -> None:
    assert refused(start, end, AUTUMN, **of) == ""


@pytest.mark.parametrize(
    ("start", "end", "changes", "period"),
    [
        ("2026-11-01", "2027-03-01", "", "'autumn'"),
        ("2026-08-31", "2027-03-01", AUTUMN, "'growing'"),  # one day of the summer feed
        ("2026-11-01", "2027-04-10", AUTUMN, "'growing'"),  # candles may be early
        ("2026-11-01", "2027-11-01", AUTUMN, "'growing'"),
        ("2026-11-01", None, AUTUMN, "'growing'"),
    ],
)
def test_a_feed_without_nitrogen_is_refused_for_a_period_that_may_be_open_in_its_days(
    start: str, end: str | None, changes: str, period: str
) -> None:
    assert "'late' holds no nitrogen, so" in refused(start, end, changes, **NORTH, **PINE)
    assert f"in {period} sets no dose" in refused(start, end, changes, **NORTH, **PINE)

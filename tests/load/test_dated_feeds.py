"""A feed used between two days is measured by the periods that may be open between them, and by no others.

A 0-10-10 for conifers from November on is ordinary practice (common practice, no source); ppm N sets no dose of it.
"""

from __future__ import annotations

from datetime import date

import pytest

from feedplan.errors import FilesHaveProblems
from feedplan.load.collection import load_text
from feedplan.model.collection import used_on

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


def garden(feeds: str, changes: str = "") -> str:
    """A garden with a list of feeds, the usual one without a label rate."""
    return f"""
place: {{name: M, latitude: 46.6, time_zone: Europe/Ljubljana}}
feeds:
  b: {{grade: 20-20-20, form: soluble}}
  late: {{grade: 0-10-10, form: liquid, measured: by volume, label_rate: 5 ml per L}}
groups:
  g: {{schedule: vigorous, feed: {feeds}{changes}}}
trees: [{{name: Bor, species: larch, group: g, pot: 12 L}}]
"""


def told(feeds: str, changes: str = "") -> str:
    """What is wrong with a list of feeds, empty for nothing."""
    try:
        load_text(garden(feeds, changes))
    except FilesHaveProblems as problems:
        return str(problems)
    return ""


LATE = ", changes: {feeding: {late: {from: 1 October, to: 15 November, every: 14 days, strength: half label rate}}}"
"""A late feed by its label (common practice, no source)."""
NO_AUTUMN = ", changes: {feeding: {autumn: none}}"


@pytest.mark.parametrize(
    "entry",
    [
        "{use: late, from: 1 October, to: 15 November}",
        "{use: late, from: October 1, to: Nov. 15}",
        "{use: late, from: 1 October}, {use: b, from: 16 November}",
    ],
)
def test_a_feed_by_day_of_the_year_is_used_on_those_days_of_every_year(entry: str) -> None:
    group = load_text(garden(f"[b, {entry}]", LATE)).collection.groups["g"]

    def used(*days: str) -> set[str]:
        uses = (used_on(date.fromisoformat(day), group.feeds) for day in days)
        return {use.feed for use in uses if use is not None}

    assert used("2026-10-01", "2026-11-15", "2031-10-01", "2040-11-15") == {"late"}
    assert used("2026-09-30", "2026-11-16", "2027-01-01", "2040-11-16") == {"b"}


def test_days_of_the_year_may_go_over_new_year_and_stand_beside_dated_feeds() -> None:
    feeds = "[b, {use: late, from: 1 November, to: 1 March}, {use: c, from: 2027-02-01}]"
    text = garden(feeds).replace("  late:", "  c: {grade: 10-10-10, form: soluble}\n  late:")
    uses = load_text(text).collection.groups["g"].feeds
    days = ("2027-01-31", "2027-03-01", "2027-03-02", "2027-11-01", "2026-10-31")
    used = [used_on(date.fromisoformat(day), uses) for day in days]
    assert [use and use.feed for use in used] == ["late", "late", "c", "late", "b"]


def test_the_day_before_the_first_of_march_is_the_last_of_february_in_a_leap_year_too() -> None:
    uses = load_text(garden("[{use: late, from: 1 October}, {use: b, from: 1 March}]", NO_AUTUMN)).collection
    feeds = uses.groups["g"].feeds
    used = [used_on(date.fromisoformat(day), feeds) for day in ("2027-02-28", "2028-02-29", "2028-03-01")]
    assert [use and use.feed for use in used] == ["late", "late", "b"]


def test_a_feed_of_each_year_is_measured_by_the_periods_open_on_its_days_and_the_usual_one_by_the_others() -> (
    None
):
    yearly = "[b, {use: late, from: 1 October, to: 15 November}]"
    assert told(yearly) == ""  # no period is open on those days
    assert told(yearly, LATE) == ""  # and only there is a label's rate asked for, which b does not tell
    assert "'b' has no label_rate" in told("[b]", LATE)
    early = "[b, {use: late, from: 1 August, to: 15 November}]"
    assert "'late' holds no nitrogen, so" in told(early)
    short = "[b, {use: late, from: 1 October, to: 10 November}]"
    assert "'b' has no label_rate" in told(short, LATE)


@pytest.mark.parametrize(
    ("feeds", "said"),
    [
        ("[b, {use: late, from: 1 October}]", "nothing says until when; add to: 15 November"),
        ("[b, {use: late, from: 2027-10-01, to: 15 November}]", "with its own from: 2027-11-16"),
        ("[b, {use: late, to: 15 November}]", "write from: 1 October"),
        ("[b, {use: late, from: 1 October, to: 15 November, when_used_up: true}]", "remove when_used_up"),
        (
            "[b, {use: late, from: 1 October, to: 15 November}, {use: b, from: 1 November, to: 1 December}]",
            "'late' and 'b' are both used on 1 November",
        ),
    ],
)
def test_days_of_the_year_that_do_not_say_when_are_refused_with_what_to_write(feeds: str, said: str) -> None:
    assert said in told(feeds)

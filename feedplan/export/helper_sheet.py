"""The sheet for whoever waters while the grower is away: checks by bench, and never any feed."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import time

from feedplan.engine.water.checks import EVERY_DAY, HelperSheet, weekdays_of
from feedplan.model.schedule import CheckRate
from feedplan.words.language import say
from feedplan.words.outdoors import rate_words
from feedplan.words.writing import WEEKDAYS_SHORT, day_words, listed, tree_words, trees_words


def helper_lines(sheet: HelperSheet) -> Iterator[str]:
    """A sheet for whoever waters during an absence: checks by bench, weak trees marked, and never any feed."""
    start, end = day_words(sheet.away.start), day_words(sheet.away.end)
    yield say("Water checks {start} to {end}. Check and water only; mix no feed.", start=start, end=end)
    for bench, rows in sheet.benches:
        yield ""
        yield bench
        for row in rows:
            yield "  " + say(
                "{start} to {end}, {rate}: {names}",
                start=day_words(row.start),
                end=day_words(row.end),
                rate=rate_words(row.rate),
                names=", ".join(map(tree_words, row.trees)),
            )
    yield ""
    yield say("When to look")
    rates = {row.rate for _, rows in sheet.benches for row in rows}
    for rate in sorted(rates, key=lambda rate: (-rate.per_week, rate.name)):
        yield f"  {rate_words(rate)}: {_when_words(rate, sheet.checks_at)}"
    if sheet.must_dry:
        yield ""
        yield say("Let the surface dry before watering: {names}", names=", ".join(sheet.must_dry))
    yield ""
    yield say(
        "Water until a little drains. In heat, shade first. A limp tree in wet mix needs shade, not more water."
    )
    yield say("Count: {trees}.", trees=trees_words(sheet.head_count))


def _when_words(rate: CheckRate, checks_at: tuple[time, ...]) -> str:
    """The days and times of a rate's looks: "every day at 07:00 and 15:00", "Mon and Thu at 07:00"."""
    times: dict[tuple[int, ...], list[str]] = {}
    for look, at in enumerate(checks_at):
        if weekdays := weekdays_of(rate, look):
            times.setdefault(weekdays, []).append(f"{at:%H:%M}")
    return "; ".join(
        say("{days} at {times}", days=_days_words(weekdays), times=listed(at))
        for weekdays, at in times.items()
    )


def _days_words(weekdays: tuple[int, ...]) -> str:
    if weekdays == EVERY_DAY:
        return say("every day")
    return listed([say(WEEKDAYS_SHORT[day]) for day in weekdays])

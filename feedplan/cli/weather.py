"""`feedplan weather`: what the climate folder holds, what is estimated, and the thirst of the year."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import click

from feedplan.cli.options import Asked, print_json, shared_options
from feedplan.engine.outdoors.daily_et import ClimateSummary, Gap, Known, site_of, summarise
from feedplan.engine.water.watches import checks_basis
from feedplan.model.climate import MEAN_MONTH_DAYS
from feedplan.weather.evapotranspiration import Method
from feedplan.words.language import say, say_count
from feedplan.words.outdoors import checks_by_words
from feedplan.words.writing import MONTHS_SHORT, days_words, full_day, listed

NO_FOLDER = (
    "No weather is known: there is no climate folder beside collection.yaml.",
    "Make climate/normals.csv with a header and 12 lines: month,tmin_c,tmax_c,rain_mm",
    "Add climate/daily.csv to know the days ahead: date,tmin_c,tmax_c,rain_mm",
)
GAPS_TOLD = 5


@click.command(short_help="Say what weather is known, what is estimated, and the year's evaporation.")
@shared_options
def weather(asked: Asked) -> None:
    """Say what weather is known, what is estimated, and the year's evaporation.

    \b
    feedplan weather
    feedplan weather --json
    """
    opened = asked.open()
    climate = opened.loaded.climate
    climate = climate.as_of(opened.today) if climate is not None else None
    checks_by = checks_by_words(checks_basis(opened.collection, climate))
    if climate is None:
        if asked.as_json:
            print_json({"sources": [], "checks_by": checks_by})
        else:
            click.echo("\n".join([*map(say, NO_FOLDER), checks_by]))
        return
    summary = summarise(climate, site_of(opened.collection.place))
    if asked.as_json:
        print_json(weather_facts(summary, checks_by))
    else:
        click.echo("\n".join(weather_lines(summary, checks_by)))


def weather_lines(summary: ClimateSummary, checks_by: str) -> Iterator[str]:
    """The summary as lines. checks_by: what water checks go by, a sentence."""
    yield say("Read: {sources}", sources=", ".join(summary.sources))
    yield from (f"  {note}" for note in summary.notes)
    yield from _record_lines(summary)
    if summary.normals is None:
        yield say("Normals: none. Write climate/normals.csv: month,tmin_c,tmax_c,rain_mm and 12 lines.")
    else:
        is_made = summary.normals_from_record
        yield say("Normals: means of the record.") if is_made else say("Normals: 12 months.")
        yield from _known_lines(summary.normals)
    yield from _months(summary)
    yield checks_by


def _record_lines(summary: ClimateSummary) -> Iterator[str]:
    if summary.first is None or summary.last is None:
        yield say("Record: no day observed.")
    else:
        yield say(
            "Record: {first} to {last}, {days} days observed, {gaps}.",
            first=full_day(summary.first),
            last=full_day(summary.last),
            days=summary.observed_days,
            gaps=_gap_words(summary.gaps),
        )
        yield from ("  " + say("missing: {gap}", gap=_span(gap)) for gap in _longest(summary.gaps))
    if summary.record is not None:
        yield from _known_lines(summary.record)
    if summary.forecast_to is not None:
        yield say("Forecast: to {day}.", day=full_day(summary.forecast_to))
    if summary.stale_days:
        yield say(
            "The last observation is {days} older than yesterday's; copy the record anew.",
            days=days_words(summary.stale_days),
        )


def _gap_words(gaps: Sequence[Gap]) -> str:
    if not gaps:
        return say("no gaps")
    lost = days_words(sum(gap.days for gap in gaps))
    return say_count("{count} gap of {days} in all", "{count} gaps of {days} in all", len(gaps), days=lost)


def _longest(gaps: Sequence[Gap]) -> Sequence[Gap]:
    longest = sorted(gaps, key=lambda gap: (-gap.days, gap.first))[:GAPS_TOLD]
    return sorted(longest, key=lambda gap: gap.first)


def _span(gap: Gap) -> str:
    if gap.days == 1:
        return full_day(gap.first)
    return say(
        "{first} to {last} ({days})",
        first=full_day(gap.first),
        last=full_day(gap.last),
        days=days_words(gap.days),
    )


def _known_lines(known: Known) -> Iterator[str]:
    measured = [_on_days(say(name), share) for name, share in known.measured.items()]
    yield "  " + say("measured: {what}", what=listed([say("temperature"), *measured]))
    methods = {str(method) for method in Method}
    estimated = [_on_days(say(name), share) for name, share in known.estimated.items() if name not in methods]
    if estimated:
        yield "  " + say("estimated: {what}", what=listed(estimated))
    by = [
        _on_days(say(name.title()), known.estimated[name])
        for name in sorted(methods & known.estimated.keys())
    ]
    yield "  " + say("ET0 by {methods} (FAO-56)", methods=listed(by))


def _on_days(what: str, share: float) -> str:
    """What is known, with the share of days in brackets when it is not all of them."""
    if share > 0.995:
        return what
    return say("{what} ({share} % of days)", what=what, share=max(1, round(share * 100)))


def _months(summary: ClimateSummary) -> Iterator[str]:
    rows = {say("normals"): summary.et0_of_normals, say("record"): summary.et0_of_record}
    rows = {name: values for name, values in rows.items() if any(value is not None for value in values)}
    if not rows:
        return
    yield say("Mean reference evapotranspiration (ET0), mm a day:")
    yield f"  {'':8}{''.join(f'{say(name):>5}' for name in MONTHS_SHORT)}  {say('mm a year')}"
    for name, values in rows.items():
        cells = "".join(f"{'-' if value is None else format(value, '.1f'):>5}" for value in values)
        yield f"  {name:8}{cells}{_year_total(values):>11}"


def _year_total(values: Sequence[float | None]) -> str:
    known = [v * MEAN_MONTH_DAYS[m] for m, v in enumerate(values, 1) if v is not None]
    return f"{sum(known):.0f}" if len(known) == 12 else "-"


def weather_facts(summary: ClimateSummary, checks_by: str) -> dict[str, Any]:
    """The same facts for `--json`."""
    return {
        "sources": list(summary.sources),
        "notes": list(summary.notes),
        "first_observed": _iso(summary.first),
        "last_observed": _iso(summary.last),
        "observed_days": summary.observed_days,
        "gaps": [
            {"first": _iso(gap.first), "last": _iso(gap.last), "days": gap.days} for gap in summary.gaps
        ],
        "forecast_to": _iso(summary.forecast_to),
        "stale_days": summary.stale_days,
        "record": _known_facts(summary.record),
        "normals": _known_facts(summary.normals),
        "normals_from_record": summary.normals_from_record,
        "et0_of_normals_mm_per_day": _rounded(summary.et0_of_normals),
        "et0_of_record_mm_per_day": _rounded(summary.et0_of_record),
        "checks_by": checks_by,
    }


def _iso(day: object) -> str | None:
    return None if day is None else str(day)


def _rounded(values: Sequence[float | None]) -> list[float | None]:
    return [None if value is None else round(value, 2) for value in values]


def _known_facts(known: Known | None) -> Mapping[str, Mapping[str, float]] | None:
    if known is None:
        return None
    return {
        "measured_share": {name: round(share, 3) for name, share in known.measured.items()},
        "estimated_share": {name: round(share, 3) for name, share in known.estimated.items()},
    }

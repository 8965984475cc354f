"""The climate folder's figures as text and for `--json`."""

from __future__ import annotations

import calendar
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from feedplan.engine.outdoors.climate_summary import ClimateSummary, Gap, Known
from feedplan.weather.evapotranspiration import Method
from feedplan.words.writing import full_day, listed

GAPS_TOLD = 5


def weather_lines(summary: ClimateSummary, checks_by: str) -> Iterator[str]:
    """The summary as lines. checks_by: what water checks go by, a sentence."""
    yield f"Read: {', '.join(summary.sources)}"
    yield from (f"  {note}" for note in summary.notes)
    yield from _record_lines(summary)
    if summary.normals is None:
        yield "Normals: none. Write climate/normals.csv: month,tmin_c,tmax_c,rain_mm and 12 lines."
    else:
        yield f"Normals: {'means of the record' if summary.normals_from_record else '12 months'}."
        yield from _known_lines(summary.normals)
    yield from _months(summary)
    yield checks_by


def _record_lines(summary: ClimateSummary) -> Iterator[str]:
    if summary.first is None or summary.last is None:
        yield "Record: no day observed."
    else:
        span = f"{full_day(summary.first)} to {full_day(summary.last)}"
        yield f"Record: {span}, {summary.observed_days} days observed, {_gap_words(summary.gaps)}."
        yield from (f"  missing: {_span(gap)}" for gap in _longest(summary.gaps))
    if summary.record is not None:
        yield from _known_lines(summary.record)
    if summary.forecast_to is not None:
        yield f"Forecast: to {full_day(summary.forecast_to)}."
    if summary.stale_days:
        yield f"The last observation is {_days(summary.stale_days)} older than yesterday's; copy the record anew."


def _gap_words(gaps: Sequence[Gap]) -> str:
    if not gaps:
        return "no gaps"
    lost = sum(gap.days for gap in gaps)
    return f"{len(gaps)} {'gap' if len(gaps) == 1 else 'gaps'} of {_days(lost)} in all"


def _longest(gaps: Sequence[Gap]) -> Sequence[Gap]:
    longest = sorted(gaps, key=lambda gap: (-gap.days, gap.first))[:GAPS_TOLD]
    return sorted(longest, key=lambda gap: gap.first)


def _span(gap: Gap) -> str:
    if gap.days == 1:
        return full_day(gap.first)
    return f"{full_day(gap.first)} to {full_day(gap.last)} ({_days(gap.days)})"


def _days(number: int) -> str:
    return f"{number} day" if number == 1 else f"{number} days"


def _known_lines(known: Known) -> Iterator[str]:
    measured = [f"{name}{_share(share)}" for name, share in known.measured.items()]
    yield f"  measured: {listed(['temperature', *measured])}"
    methods = {str(method) for method in Method}
    estimated = [f"{name}{_share(share)}" for name, share in known.estimated.items() if name not in methods]
    if estimated:
        yield f"  estimated: {listed(estimated)}"
    by = [
        f"{name.title()}{_share(known.estimated[name])}" for name in sorted(methods & known.estimated.keys())
    ]
    yield f"  ET0 by {listed(by)} (FAO-56)"


def _share(share: float) -> str:
    """A share in brackets when it is not all of the days."""
    return "" if share > 0.995 else f" ({max(1, round(share * 100))} % of days)"


def _months(summary: ClimateSummary) -> Iterator[str]:
    rows = {"normals": summary.et0_of_normals, "record": summary.et0_of_record}
    rows = {name: values for name, values in rows.items() if any(value is not None for value in values)}
    if not rows:
        return
    yield "Mean reference evapotranspiration (ET0), mm a day:"
    yield f"  {'':8}" + "".join(f"{name:>5}" for name in calendar.month_abbr if name) + "  mm a year"
    for name, values in rows.items():
        cells = "".join(f"{'-' if value is None else format(value, '.1f'):>5}" for value in values)
        yield f"  {name:8}{cells}{_year_total(values):>11}"


def _year_total(values: Sequence[float | None]) -> str:
    known = [v * calendar.monthrange(2023, m)[1] for m, v in enumerate(values, 1) if v is not None]
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

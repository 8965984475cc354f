"""A time zone as a calendar carries it: short, by rule, right in any year (RFC 5545, section 3.6.5).

Calendar libraries tend to list every clock change up to 2037 and stop there. The rule that holds from now on is
the last line of a compiled zone file, so it is written instead. Only where a zone changes its clocks without a
rule in the years asked for (Gaza, by the moon) are the changes of those years listed.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from feedplan.export.zone_file import DAY_S, Clock, ClockChange, Onset, WeekdayOnset, Zone

_WEEKDAYS = ("SU", "MO", "TU", "WE", "TH", "FR", "SA")
# Rules start here, as is usual in calendars: before any entry, and in range of every reader.
_RULES_FROM = 1970
_CALENDAR_CYCLE_YEARS = 28  # the weekdays of the Gregorian calendar come round, leap years included


@dataclass(frozen=True, slots=True)
class _Observance:
    """Clocks going from `before` to `after` when they show `starts`, and each year again if there is a rule."""

    starts: datetime
    before: Clock
    after: Clock
    rule: str = ""


def vtimezone(zone: Zone, first_year: int, last_year: int) -> str:
    """The VTIMEZONE component that is right for wall-clock times of some years, as lines ended by CRLF."""
    observances = _by_rule(zone, first_year) or _dated(zone, first_year, last_year)
    lines = ["BEGIN:VTIMEZONE", f"TZID:{zone.name}"]
    lines += [line for observance in observances for line in _lines(observance)]
    return "".join(f"{line}\r\n" for line in [*lines, "END:VTIMEZONE"])


def _by_rule(zone: Zone, first_year: int) -> list[_Observance]:
    """Observances by yearly rule; empty when the rule does not hold yet or cannot be written plainly."""
    if zone.listed and zone.listed[-1].at >= datetime(first_year, 1, 1, tzinfo=UTC):
        return []
    rule = zone.rule
    if rule.daylight is None or rule.daylight_starts is None or rule.standard_starts is None:
        return [_always(rule.standard)]
    to_daylight = [
        _Observance(at, rule.standard, rule.daylight, by) for at, by in _yearly(rule.daylight_starts)
    ]
    to_standard = [
        _Observance(at, rule.daylight, rule.standard, by) for at, by in _yearly(rule.standard_starts)
    ]
    return to_daylight + to_standard if to_daylight and to_standard else []


def _yearly(onset: Onset) -> list[tuple[datetime, str]]:
    """The recurrence rules that together give an onset, each with its first instance.

    "Last Thursday at 24:00" is a Friday of 26 October to 1 November: one rule for each month.
    """
    if not isinstance(onset, WeekdayOnset):
        return []
    if 0 <= onset.after_midnight_s < DAY_S:
        week = -1 if onset.week == 5 else onset.week
        by_day = f"BYMONTH={onset.month};BYDAY={week}{_WEEKDAYS[onset.weekday]}"
        return [(onset.in_year(_RULES_FROM), f"FREQ=YEARLY;{by_day}")]
    onsets = [onset.in_year(_RULES_FROM + year) for year in range(_CALENDAR_CYCLE_YEARS)]
    days = sorted({(at.month, at.day) for at in onsets})
    if len(days) != 7:  # the end of February lies between: in a leap year the seven days are others
        return []
    return [
        _in_month(month, [at for at in onsets if at.month == month]) for month in sorted({m for m, _ in days})
    ]


def _in_month(month: int, onsets: list[datetime]) -> tuple[datetime, str]:
    """The rule for the onsets that fall in one month, with the first of them."""
    days = ",".join(map(str, sorted({at.day for at in onsets})))
    weekday = _WEEKDAYS[onsets[0].isoweekday() % 7]
    return onsets[0], f"FREQ=YEARLY;BYMONTH={month};BYMONTHDAY={days};BYDAY={weekday}"


def _dated(zone: Zone, first_year: int, last_year: int) -> list[_Observance]:
    """The clock in force as some years begin, then each change of theirs.

    A change late on 31 December may be of the next year by UTC.
    """
    changes = zone.changes_between(first_year, last_year + 1)
    if changes:
        return [_always(changes[0].before), *map(_once, changes)]
    earlier = [change.after for change in zone.listed if change.at.year < first_year]
    return [_always(earlier[-1] if earlier else zone.first)]


def _always(clock: Clock) -> _Observance:
    return _Observance(datetime(_RULES_FROM, 1, 1), clock, clock)  # noqa: DTZ001 - a wall-clock time


def _once(change: ClockChange) -> _Observance:
    shown = (change.at + timedelta(seconds=change.before.offset_s)).replace(tzinfo=None)
    return _Observance(shown, change.before, change.after)


def _lines(observance: _Observance) -> list[str]:
    """One STANDARD or DAYLIGHT part. Clocks put forward are DAYLIGHT, whatever the zone file calls them."""
    is_forward = observance.after.offset_s > observance.before.offset_s
    part = "DAYLIGHT" if is_forward else "STANDARD"
    lines = [
        f"BEGIN:{part}",
        f"DTSTART:{observance.starts:%Y%m%dT%H%M%S}",
        f"TZOFFSETFROM:{_offset(observance.before)}",
        f"TZOFFSETTO:{_offset(observance.after)}",
        f"TZNAME:{observance.after.name}",
    ]
    if observance.rule:
        lines.append(f"RRULE:{observance.rule}")
    return [*lines, f"END:{part}"]


def _offset(clock: Clock) -> str:
    """An offset as "+hhmm", with seconds where it has them."""
    minutes, seconds = divmod(abs(clock.offset_s), 60)
    sign = "-" if clock.offset_s < 0 else "+"
    return f"{sign}{minutes // 60:02}{minutes % 60:02}" + (f"{seconds:02}" if seconds else "")

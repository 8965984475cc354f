"""Readers for a grower's words about time and care: days of the year, moments, check rates, weekdays, names.

Each takes a text and gives a value of the model, or raises ValueError with one sentence that says what to write.
Measures with units are read by feedplan.dose.measures.
"""

from __future__ import annotations

import re
import unicodedata
from datetime import date, time
from decimal import Decimal

from feedplan.dose.measures import parse_days, quoted, tidy
from feedplan.load.problems import is_invisible, near_miss, refusal
from feedplan.model.hold import Action, Need
from feedplan.model.moment import AtStage, DayOfYear, FirstOf, LastOf, Moment
from feedplan.model.schedule import CheckRate
from feedplan.words.language import say

MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
_LAST_DAY = (31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
_DAY_MONTH = re.compile(r"([0-9]{1,2})\.? ([^\W\d_]+)\.?")
_MONTH_DAY = re.compile(r"^([^\W\d_]+)\.? ([0-9]{1,2})$")
_ONCE_SEEN = " once seen"
_OFFSET = re.compile(r"(.*?) ?([+-]) ?([0-9].*)")
_ISO_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")

LONGEST_NAME = 80
LONGEST_WORDS = 2000


def parse_name(text: str) -> str:
    """A name: any writing, up to 80 characters on one line, spaces at its ends dropped. Raises ValueError."""
    name = text.strip()
    if not name:
        raise ValueError(say("a name is missing; write for example Brindle"))
    if len(name) > LONGEST_NAME:
        raise ValueError(
            say(
                "{name} has {count} characters; shorten it to {most}",
                name=quoted(name),
                count=len(name),
                most=LONGEST_NAME,
            )
        )
    if not name.isprintable():
        _refuse_control(name, also_line_breaks=True)
    return name if name.isascii() else unicodedata.normalize("NFC", name)


def parse_words(text: str) -> str:
    """Free words, line breaks allowed, spaces at the ends dropped. Raises ValueError."""
    words = text.strip()
    if not words:
        raise ValueError(say("nothing is written; write a few words"))
    if len(words) > LONGEST_WORDS:
        raise ValueError(
            say(
                "has {count} characters; shorten it to {most}",
                count=len(words),
                most=LONGEST_WORDS,
            )
        )
    if not words.isprintable():
        _refuse_control(words, also_line_breaks=False)
    return words


def _refuse_control(text: str, also_line_breaks: bool) -> None:
    """Raises ValueError for a character that is no letter, digit, sign or space."""
    for sign in text:
        if sign == "\n" and not also_line_breaks:
            continue
        if sign in "\n\u2028\u2029":
            raise refusal("{text} has a line break; write it on one line", text)
        if is_invisible(sign):
            raise refusal(
                "{text} holds the invisible character U+{code}; delete it", text, code=f"{ord(sign):04X}"
            )


def parse_day_of_year(text: str) -> DayOfYear:
    """A day and month such as "15 August", "15 Aug" or "August 15"; 29 February is allowed. Raises ValueError."""
    clean = _MONTH_DAY.sub(r"\2 \1", tidy(text))
    if _ISO_DAY.match(clean):
        raise refusal("{text} names one year; write the day and month alone, such as 15 August", text)
    match = _DAY_MONTH.fullmatch(clean)
    month = _month(match[2]) if match else 0
    if match is None or not month:
        raise refusal("{text} is not a day of the year; write for example 15 August", text)
    day, last = int(match[1]), _LAST_DAY[month - 1]
    if not 1 <= day <= last:
        raise refusal(
            "{text}: {month} has {last} days; write {last} {month} or earlier",
            text,
            month=MONTHS[month - 1],
            last=last,
        )
    return DayOfYear(month, day)


def day_of_year_text(day: DayOfYear) -> str:
    """A day of the year as a grower writes it, such as "15 August"."""
    return f"{day.day} {MONTHS[day.month - 1]}"


def _month(word: str) -> int:
    """The number of a month named in full or by three letters or more, 0 for none."""
    lower = word.casefold()
    if len(lower) < 3:
        return 0
    return next((i for i, name in enumerate(MONTHS, 1) if name.casefold().startswith(lower)), 0)


def parse_moment(text: str) -> Moment:
    """A moment: "leaves open", "15 August", "leaves open + 10 days", "A or B" (first), "A and B" (last).

    "once seen" after a stage means that no typical or predicted date stands in for it. Stage words are not looked up
    here. Raises ValueError.
    """
    clean = tidy(text)
    either, both = clean.split(" or "), clean.split(" and ")
    if len(either) > 1 and len(both) > 1:
        raise refusal("{text} has both 'or' and 'and'; use one of them", text)
    if len(either) > 1:
        return FirstOf(tuple(_simple_moment(part) for part in either))
    if len(both) > 1:
        return LastOf(tuple(_simple_moment(part) for part in both))
    return _simple_moment(clean)


def _simple_moment(text: str) -> DayOfYear | AtStage:
    """A day, or a stage with or without an offset. Raises ValueError."""
    clean = text.strip()
    if not clean:
        raise ValueError(say("a day or a stage is missing; write for example 15 August or leaves open"))
    if clean[0].isdigit() or (_MONTH_DAY.fullmatch(clean) and _month(clean.split(" ")[0].rstrip("."))):
        return parse_day_of_year(clean)
    seen_only = clean.endswith(_ONCE_SEEN)
    clean = clean.removesuffix(_ONCE_SEEN)
    match = _OFFSET.fullmatch(clean)
    if match is None:
        return AtStage(clean, seen_only=seen_only)
    if not match[1]:
        raise refusal(
            "{text} does not say which stage it counts from; write for example leaves open + 10 days", text
        )
    days = parse_days(match[3])
    if days > 366:
        raise refusal("{text} is more than a year away; write at most 366 days", text)
    return AtStage(match[1], days if match[2] == "+" else -days, seen_only)


_YEARS = re.compile(r"([0-9]{1,3}) (years?|y|yrs?)")
MOST_YEARS = 30


def parse_years(text: str) -> int:
    """A time in whole years such as "2 years", up to thirty [years]. Raises ValueError."""
    match = _YEARS.fullmatch(tidy(text).lower())
    if tidy(text).isdecimal():
        raise ValueError(f"{quoted(text)} has no unit; write the unit: {tidy(text)} years")
    if match is None:
        raise ValueError(f"{quoted(text)} is not a number of whole years; write for example 2 years")
    if not 1 <= int(match[1]) <= MOST_YEARS:
        raise ValueError(f"{quoted(text)} is out of range; write 1 year to {MOST_YEARS} years")
    return int(match[1])


def parse_date(text: str) -> date:
    """One day, written year-month-day such as 2027-04-26. Raises ValueError."""
    clean = tidy(text)
    if not _ISO_DAY.fullmatch(clean):
        if _ISO_DAY.match(clean) and re.search(r"[T ][0-9]{1,2}:", clean):
            raise refusal("{text} has a time of day; write only the day: {day}", text, day=clean[:10])
        meant = _date_meant(clean)
        if meant is not None:
            raise refusal("{text} is not a date; write year-month-day: {meant}", text, meant=meant)
        raise refusal("{text} is not a date; write year-month-day, such as 2027-04-26", text)
    try:
        return date.fromisoformat(clean)
    except ValueError:
        raise ValueError(
            say("{clean} is no day of the calendar; write for example 2027-06-30", clean=clean)
        ) from None


_DAY_FIRST = re.compile(
    r"([0-9]{1,2})\. ?([0-9]{1,2})\. ?([0-9]{4})|([0-9]{4})[/.]([0-9]{1,2})[/.]([0-9]{1,2})"
)


def _date_meant(clean: str) -> date | None:
    """The day of 14.6.2027 or 2027/6/14, which can be read in one way only; None for any other text."""
    found = _DAY_FIRST.fullmatch(clean)
    if found is None:
        return None
    day, month, year = found.groups()[:3] if found[1] else found.groups()[:2:-1]
    try:
        return date(int(year), int(month), int(day))
    except ValueError:
        return None


def parse_time(text: str) -> time:
    """A time of day on the 24-hour clock such as "07:00". Raises ValueError."""
    match = re.fullmatch(r"([01]?[0-9]|2[0-3]):([0-5][0-9])", tidy(text))
    if match is None:
        hour = _HOUR.fullmatch(tidy(text).lower())
        if hour is not None and int(hour[1]) < (13 if hour[3] else 24):
            hours = int(hour[1]) % 12 + 12 * (hour[3] == "pm") if hour[3] else int(hour[1])
            meant = f'"{hours:02}:{hour[2] or "00"}"'
            raise refusal("{text} is not a time of day; write {meant}", text, meant=meant)
        raise refusal('{text} is not a time of day; write for example "07:00"', text)
    return time(int(match[1]), int(match[2]))


def parse_weekday(text: str) -> int:
    """The number of a weekday, Monday 0, from its name or its first three letters. Raises ValueError."""
    lower = tidy(text).casefold()
    for number, name in enumerate(WEEKDAYS):
        if lower in (name.casefold(), name[:3].casefold(), name.casefold() + "s"):
            return number
    raise refusal(
        "{text} is not a weekday{hint}",
        text,
        hint=near_miss(tidy(text), WEEKDAYS, 0) or say("; write for example Saturday"),
    )


_HOUR = re.compile(r"([0-9]{1,2})(?:[.h]([0-5][0-9]))? ?(am|pm|h)?")

_TIMES = {"once": 1, "twice": 2}
_A_PERIOD = re.compile(r"(once|twice|([0-9]{1,2}) times) (?:a|per) (day|week)")
_EVERY = re.compile(r"every ([0-9]{1,2}) (days|weeks)")


def parse_check_rate(text: str) -> CheckRate:
    """How often to check water, such as "twice a day" or "every 3 days". Raises ValueError."""
    clean = tidy(text).lower()
    words = {"daily": "once a day", "every day": "once a day", "weekly": "once a week"}.get(clean, clean)
    if match := _A_PERIOD.fullmatch(words):
        times = _TIMES.get(match[1]) or int(match[2])
        per_week = Decimal(times * 7 if match[3] == "day" else times)
    elif match := _EVERY.fullmatch(words):
        days = int(match[1]) * (7 if match[2] == "weeks" else 1)
        per_week = Decimal(7) / days if days else Decimal(0)
    else:
        raise refusal("{text} is not a check rate; write for example twice a day or every 2 days", text)
    if not Decimal("0.5") <= per_week <= 42:
        raise refusal(
            "{text} is out of range; write every 2 weeks at the least, 6 times a day at the most", text
        )
    return CheckRate(per_week, words)


def parse_need(text: str) -> Need:
    """A sign to be seen, with "twice" or "N times" after it when once is not enough. Raises ValueError."""
    clean = tidy(text)
    match = re.fullmatch(r"(.+?) (once|twice|([0-9]{1,2}) times)", clean)
    if match is None:
        return Need(parse_name(clean))
    times = _TIMES.get(match[2]) or int(match[3])
    if times < 1:
        raise refusal("{text} asks for no sighting; write once, twice or 3 times", text)
    return Need(match[1], times)


_FEEDS = (Action.LIQUID, Action.SOLID, Action.FOLIAR)
_WORKS = (Action.PRUNING, Action.WIRING, Action.REPOTTING)


def parse_action(text: str) -> tuple[Action, ...]:
    """The actions a word stands for: one of them, or "all feed", "all work". Raises ValueError."""
    clean = tidy(text).lower()
    if clean == "all feed":
        return _FEEDS
    if clean == "all work":
        return _WORKS
    try:
        return (Action(clean),)
    except ValueError:
        known = ", ".join([*(action.value for action in Action), "all feed", "all work"])
        raise refusal(
            "{text} is not something a hold can stop; write one of {known}", text, known=known
        ) from None

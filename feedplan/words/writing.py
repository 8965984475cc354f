"""How days, numbers, lists, amounts and names are written, everywhere the same.

- A day in running text is "26 Apr", a day to do something on "Sat 24 Apr", a day in an account of the past "24 April
  2027". The first two get their year when it is not that of the day they are read on, which the caller tells: today, or
  for what stands in a calendar the day of the entry, so that its text does not change at New Year.
- Inside a sentence a list is "a, b and c"; names after a colon are only parted by commas.
- A number keeps no trailing zeros, a share is "25 %", a strength "38 ppm N", a volume "13.2 L" or "130 ml".
- One and many differ: "1 tree", "12 trees".
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from shlex import quote

from feedplan.engine.season import Timeline
from feedplan.model.collection import Tree
from feedplan.words.language import say, say_count

_SHELL_SIGNS = frozenset('"$`\\!')
"""What a shell reads inside double quotes."""


def label_first() -> str:
    """What comes before every dose."""
    return say("The product label and local rules come before these numbers.")


MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
MONTHS_SHORT = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
WEEKDAYS_SHORT = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def day_month(day: date, read_on: date) -> str:
    """A day as "26 Apr", or "26 Apr 2028" when it is read in another year."""
    month = say(MONTHS_SHORT[day.month - 1])
    if day.year == read_on.year:
        return say("{day} {month}", day=day.day, month=month)
    return say("{day} {month} {year}", day=day.day, month=month, year=day.year)


def day_words(day: date, read_on: date | None = None) -> str:
    """A day as "Sat 24 Apr", with its year when it is read in another one. read_on: None for the same year."""
    weekday = say(WEEKDAYS_SHORT[day.weekday()])
    return say("{weekday} {day_month}", weekday=weekday, day_month=day_month(day, read_on or day))


def long_day(day: date) -> str:
    """A day as a page's heading: "Saturday 24 April"."""
    weekday, month = say(WEEKDAYS[day.weekday()]), say(MONTHS[day.month - 1])
    return say("{weekday} {day} {month}", weekday=weekday, day=day.day, month=month)


def full_day(day: date) -> str:
    """A day as "24 April 2027"."""
    return say("{day} {month} {year}", day=day.day, month=say(MONTHS[day.month - 1]), year=day.year)


def listed(words: Sequence[str], last: str = "and") -> str:
    """Words as a person lists them: "a", "a and b", "a, b and c". last: "and" or "or"."""
    if len(words) < 2:
        return "".join(words)
    pair = {"and": "{first} and {last}", "or": "{first} or {last}"}[last]
    return say(pair, first=", ".join(words[:-1]), last=words[-1])


def number(value: Decimal | float) -> str:
    """A number as it is read, without trailing zeros or exponent: 10, 7.5; to hundredths, below 1 to three digits."""
    exact = Decimal(value) if isinstance(value, Decimal) else Decimal(repr(value))
    least = max(2, 2 - exact.adjusted()) if exact else 2
    return f"{round(exact, least).normalize():zf}"


def places(value: Decimal | float, count: int = 0) -> str:
    """A number to so many places after the point, none for a whole one."""
    return f"{value:z.{count}f}"


def percent(share: Decimal | float) -> str:
    """A share as "25 %"."""
    return say("{number} %", number=number(share * 100))


def ppm_words(ppm: Decimal) -> str:
    """A strength as "38 ppm N", halves up."""
    return say("{number} ppm N", number=whole_ppm(ppm))


def whole_ppm(ppm: Decimal) -> str:
    """The number of such a strength alone."""
    return f"{ppm.quantize(Decimal(1), ROUND_HALF_UP):f}"


def litres_words(litres: Decimal) -> str:
    """A volume to pour: "13.2 L", or "130 ml" below a litre."""
    if litres < 1:
        return say("{number} ml", number=f"{(litres * 100).quantize(Decimal(1), ROUND_HALF_UP) * 10:f}")
    return say("{number} L", number=number(litres.quantize(Decimal("0.1"), ROUND_HALF_UP)))


def measured_words(litres: Decimal) -> str:
    """A volume as it is measured out: "1.43 L", or "60 ml" below a litre."""
    if litres < 1:
        return say("{number} ml", number=f"{(litres * 1000).quantize(Decimal(1), ROUND_HALF_UP):f}")
    return say("{number} L", number=number(litres.quantize(Decimal("0.01"), ROUND_HALF_UP)))


def water_name(name: str) -> str:
    """A source of water by the name its grower gave it: "rain barrel water", "rain water"."""
    return name if "water" in name.casefold() else say("{name} water", name=name)


def days_words(count: int) -> str:
    """A length of time as "1 day", "35 days"."""
    return say_count("{count} day", "{count} days", count)


def trees_words(count: int) -> str:
    """A count as "1 tree", "12 trees"."""
    return say_count("{count} tree", "{count} trees", count)


def tree_words(tree: Tree) -> str:
    """A tree by name, with its count where the name stands for several."""
    return tree.name if tree.count == 1 else f"{tree.name} ({tree.count})"


def names_words(timelines: Iterable[Timeline], day: date | None = None) -> str:
    """Trees by name in one line, a name that stands for several with its count now, or on a day."""
    trees = (t.trees if day is None else t.trees_on(day) for t in timelines)
    return ", ".join(tree_words(tree) for each in trees for tree in each)


def names_in_short(names: Sequence[str]) -> str:
    """Up to three names, or two and how many more: "Lantern, Quill +3"."""
    if len(names) <= 3:
        return ", ".join(names)
    return say("{names} +{count}", names=", ".join(names[:2]), count=len(names) - 2)


def typed_words(words: Iterable[str]) -> str:
    """Words as they are typed after a command, in double quotes where they need any."""
    return " ".join(
        quote(each) if quote(each) == each or set(each) & _SHELL_SIGNS else f'"{each}"' for each in words
    )


def typed_trees(names: Sequence[str], group: str, others: Sequence[str]) -> str:
    """Exactly some trees of a group as they are typed after `feedplan record`: as the group less the others, or by name
    where that is no longer.

    others: those of the group that are not meant.
    """
    if others and len(names) <= len(others) + 1:
        return typed_words(names)
    return typed_words(["--group", group, *(word for name in others for word in ("--but-not", name))])


def trees_line(names: str) -> str:
    """The line of a calendar text that says which trees it is about. names: as `names_words` has them."""
    return say("Trees: {names}.", names=names)


def capital(sentence: str) -> str:
    """A sentence that begins with a capital."""
    return sentence[:1].upper() + sentence[1:]

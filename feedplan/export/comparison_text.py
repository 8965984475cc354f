"""What differs between two plans, as text and as facts for `--json`."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from typing import Any

from feedplan.engine.answers.differences import Change, Difference, told_in_short
from feedplan.engine.words import listed
from feedplan.export.wording import day_words, ppm_words, reason_words

MOST_NAMES = 6
A_WEEK = timedelta(days=7)


def comparison_lines(found: Sequence[Difference]) -> Iterator[str]:
    """One line for each difference and one for its reason; what only follows is counted, not listed."""
    if not found:
        yield "Nothing differs."
        return
    slight = [each for each in found if each.what == "check" and _is_slight(each)]
    year = found[0].day.year
    for each, along in told_in_short([each for each in found if not _is_slight(each)]):
        noun = each.what if along == 1 else f"{each.what}s"
        more = f" {along} later {noun} follow{'s' if along == 1 else ''}." if along else ""
        yield f"{_what(each)}: {_change(each, year)}.{more}"
        yield from (f"  {reason_words(reason)}" for reason in each.reasons)
    if slight:
        groups = listed(sorted({each.group for each in slight}))
        yield f"Water checks change their pace up to a week sooner or later in {groups}."


def _is_slight(each: Difference) -> bool:
    """Whether a water check changes its pace, or a question comes, only some days sooner or later."""
    if each.what not in ("check", "question") or each.before is None or each.after is None:
        return False
    return each.change is Change.MOVED and abs(each.after - each.before) <= A_WEEK


def _what(each: Difference) -> str:
    names = list(each.trees[:MOST_NAMES])
    left = len(each.trees) - len(names)
    group = "" if each.group in each.words else each.group
    whom = listed([*names, f"{left} more"] if left else names) if names else group
    words = each.words[0].upper() + each.words[1:]
    return f"{words}, {whom}" if whom else words


def _change(each: Difference, year: int) -> str:
    """The change in words: "moved from Fri 30 Apr to Sun 6 Jun, 38 ppm N instead of 150 ppm N"."""
    before, after = (_day(day, year) for day in (each.before, each.after))
    if each.change is Change.MOVED:
        text = f"moved from {before} to {after}"
    elif each.change is Change.APPEARED:
        text = f"new on {after}" if after else "new"
    elif each.change is Change.WENT:
        text = f"no longer on {before}" if before else "gone"
    else:
        text = f"{each.change} on {after}"
    if each.ppm_before is not None and each.ppm_after is not None and each.ppm_before != each.ppm_after:
        text += f", {ppm_words(each.ppm_after)} instead of {ppm_words(each.ppm_before)}"
    return text


def _day(day: date | None, year: int) -> str:
    """A day, with its year when that is another."""
    if day is None:
        return ""
    return day_words(day) if day.year == year else f"{day_words(day)} {day.year}"


def comparison_facts(found: Sequence[Difference]) -> list[dict[str, Any]]:
    """The same for `--json`, every feed listed."""
    return [
        {
            "change": str(each.change),
            "what": each.what,
            "words": each.words,
            "group": each.group or None,
            "trees": list(each.trees),
            "date_before": _iso(each.before),
            "date_after": _iso(each.after),
            "n_mg_per_l_before": None if each.ppm_before is None else float(each.ppm_before),
            "n_mg_per_l_after": None if each.ppm_after is None else float(each.ppm_after),
            "reasons": [
                {
                    "rule": str(reason.rule),
                    "text": reason_words(reason),
                    "source": str(reason.source),
                    "journal": None if reason.entry is None else str(reason.entry.source),
                }
                for reason in each.reasons
            ],
        }
        for each in found
    ]


def _iso(day: date | None) -> str | None:
    return None if day is None else day.isoformat()

"""How days, amounts, names and reasons are written for a person, the same in calendar, round and answers."""

from __future__ import annotations

from collections.abc import Iterable, Set
from datetime import date
from decimal import ROUND_HALF_UP, Decimal

from feedplan.dose.arithmetic import cans_needed
from feedplan.engine.season import RoundItem, Timeline
from feedplan.engine.words import listed
from feedplan.model.collection import Collection, Tree
from feedplan.model.course import Hold
from feedplan.model.hold import Action
from feedplan.model.reason import Reason
from feedplan.words.dose import three_figures

LABEL_FIRST = "The product label and local rules come before these numbers."


def day_words(day: date) -> str:
    """A day as "Sat 24 Apr"."""
    return f"{day:%a} {day.day} {day:%b}"


def full_day(day: date) -> str:
    """A day as "24 April 2027"."""
    return f"{day.day} {day:%B} {day.year}"


def number(value: Decimal) -> str:
    """A number without a trailing zero or exponent: 10, 7.5."""
    return f"{value.normalize():f}"


def ppm_words(ppm: Decimal, *, unit: bool = True) -> str:
    """A strength as "38 ppm N", or as "38" for the lower end of a span, halves up."""
    amount = f"{ppm.quantize(Decimal(1), ROUND_HALF_UP):f}"
    return f"{amount} ppm N" if unit else amount


def trees_words(count: int) -> str:
    """A count as "1 tree", "12 trees"."""
    return f"{count} tree" if count == 1 else f"{count} trees"


def names_words(timelines: Iterable[Timeline]) -> str:
    """Trees by name in one line, a name that stands for several with its count."""
    return ", ".join(tree_words(tree) for timeline in timelines for tree in timeline.trees)


def tree_words(tree: Tree) -> str:
    """A tree by name, with its count where the name stands for several."""
    return tree.name if tree.count == 1 else f"{tree.name} ({tree.count})"


def reason_words(reason: Reason, *, ends: bool = True) -> str:
    """A reason in short: what stands in the way, and what ends it."""
    return f"{reason.text}: {reason.ends}" if reason.ends and ends else reason.text


def hold_words(hold: Hold) -> str:
    """What opened a hold, in short: "repotted, moderate, 30 % of roots, 26 Apr"."""
    roots = getattr(hold.entry.fact, "roots", None)
    share = f", {number(roots * 100)} % of roots" if roots is not None else ""
    return f"{hold.rule.name}{share}, {hold.start.day} {hold.start:%b}"


def stops_words(stops: Set[Action]) -> str:
    """What a hold stops, as a person says it: "all feed, pruning and wiring"."""
    feeds = {Action.LIQUID, Action.SOLID, Action.FOLIAR}
    words = ["all feed"] if feeds <= set(stops) else []
    words += [str(action) for action in Action if action in stops and not (words and action in feeds)]
    return listed(words)


def hold_end_words(hold: Hold) -> str:
    """When a hold ends, in words."""
    if hold.end is not None:
        return f"ends {hold.end.day} {hold.end:%b}"
    missing = listed([str(need) for need in hold.missing])
    return f"not before {hold.minimum.day} {hold.minimum:%b}, and once seen: {missing}"


def can_words(item: RoundItem, collection: Collection) -> str:
    """How many cans the litres fill: "half a can (5 L)", "1.5 cans (15 L)"."""
    cans = cans_needed(item.litres, collection.habits.can_litres)
    words = {Decimal("0.5"): "half a can", Decimal(1): "1 can"}.get(cans, f"{number(cans)} cans")
    return f"{words} ({three_figures(item.litres)} L)"


def litres_words(litres: Decimal) -> str:
    """A volume to pour: "13.2 L", or "130 ml" below a litre."""
    if litres < 1:
        return f"{(litres * 100).quantize(Decimal(1), ROUND_HALF_UP) * 10:f} ml"
    return f"{number(litres.quantize(Decimal('0.1'), ROUND_HALF_UP))} L"

"""The verbs of `feedplan record`: each reads one kind of fact from what was typed."""

from __future__ import annotations

from datetime import date

import click

from feedplan.cli.causes import (
    caused_of,
    refuse_count,
    refuse_near_sign,
    refuse_strength_among_names,
    sign_meant,
    taken_as_meant,
)
from feedplan.cli.options import as_amount, as_day, as_percent, as_reading, as_solid_rate
from feedplan.cli.recording import Fact, RecordRequest, complete_groups, verb
from feedplan.cli.words import one_of
from feedplan.errors import UsageError
from feedplan.load.meanings import bench_meant, values_for
from feedplan.load.read_feeds import AS_PLANNED, NO_REASON, NONE_THERE
from feedplan.model.forms import SOLID
from feedplan.model.hold import CauseKind
from feedplan.words.language import say
from feedplan.words.writing import listed


@verb(
    click.option("--instead", is_flag=True, help="In place of the day you wrote before."),
    says="SIGN... [TREE]...",
)
def seen(request: RecordRequest, instead: bool) -> Fact:
    """Write down a stage or sign you saw.

    \b
    feedplan record seen first flush hardened Brindle Kettle
    feedplan record seen "limp, no extension" Lodestar
    feedplan record seen leaves open Moth --date 2027-04-28 --instead
    """
    meant = taken_as_meant(request, ("trouble", "work", "gone"))
    if meant is not None:
        return {meant.key: meant.value}
    request.typed.open_first(known := request.signs)
    refuse_near_sign(request)
    found = [request.typed.take(known, say("a stage or sign"))]
    signs = list(dict.fromkeys([*found, *request.typed.take_more(known, request.tree_names)]))
    return {"seen": signs[0] if len(signs) == 1 else signs, **({"instead": True} if instead else {})}


_ROOTS = click.option("--roots", metavar="SHARE", help="Share of the roots removed, such as '30 %'.")
_BARE = click.option("--bare-rooted", is_flag=True, help="All soil was removed.")
_COUNT = click.option(
    "--count", type=click.IntRange(1), help="Refused: says what to write when some of a name are meant."
)


@verb(_ROOTS, _BARE, _COUNT, name="what", says="WORD [TREE]...")
def any_cause(request: RecordRequest, roots: str | None, bare_rooted: bool, count: int | None) -> Fact:
    """Write down work done or trouble met."""
    meant = taken_as_meant(request, ("gone", "arrived", "check", "fed", "not_fed"))
    if meant is not None:
        return {meant.key: meant.value} | ({"count": count} if count is not None else {})
    if (sign := sign_meant(request)) is not None:
        return sign
    refuse_count(request, count)
    return caused_of(
        request, (CauseKind.WORK, CauseKind.TROUBLE), roots, bare_rooted, [str(known.name) for known in VERBS]
    )


@verb(_ROOTS, _BARE, _COUNT, says="WORD [TREE]...")
def work(request: RecordRequest, roots: str | None, bare_rooted: bool, count: int | None) -> Fact:
    """Write down work that holds other things back.

    \b
    feedplan record work repotted Brindle --roots "30 %"
    feedplan record work hard pruned Anvil
    """
    if (sign := sign_meant(request)) is not None:
        return sign
    refuse_count(request, count)
    return caused_of(request, (CauseKind.WORK,), roots, bare_rooted)


@verb(
    _ROOTS,
    _BARE,
    click.option("--on", type=as_day, required=True, metavar="DATE", help="The day it is planned for."),
    says="WORD [TREE]...",
)
def planned(request: RecordRequest, roots: str | None, bare_rooted: bool, on: date) -> Fact:
    """Write down work you plan, to see what it would hold back.

    \b
    feedplan record planned repotted Brindle --roots "30 %" --on 2028-03-10
    """
    fact = caused_of(request, (CauseKind.WORK,), roots, bare_rooted)
    return {"planned": fact.pop("work"), "on": on} | fact


@verb(says="WORD [TREE]...")
def trouble(request: RecordRequest) -> Fact:
    """Write down damage met.

    \b
    feedplan record trouble frost Ember
    """
    return sign_meant(request) or caused_of(request, (CauseKind.TROUBLE,), None, False)


@verb(says="HOW [TREE]...")
def arrived(request: RecordRequest) -> Fact:
    """Write down that a tree came: bought, imported, a gift.

    \b
    feedplan record arrived bought "Old Kelp"
    """
    return caused_of(request, (CauseKind.ARRIVED,), None, False)


@verb(name="root-zone", says="TEMPERATURE [TREE]...")
def root_zone(request: RecordRequest) -> Fact:
    """Write down the temperature measured in the root zone.

    \b
    feedplan record root-zone "9 °C" Brindle
    feedplan record root-zone 9 --group growing-on
    """
    from feedplan.load.bounds import within
    from feedplan.load.read_site import parse_temperature

    written = request.typed.take_first(say("a temperature, such as 9 °C"))
    text = written if not written.lstrip("-").replace(".", "", 1).isdecimal() else f"{written} °C"
    try:
        return {"root_zone": f"{within('root zone', parse_temperature(text), text).normalize():f} °C"}
    except ValueError as refusal:
        raise UsageError(str(refusal)) from None


@verb(
    click.option(
        "--ppm", type=click.IntRange(0, 2000), help="Nitrogen in the can, when not as planned [mg N/L]."
    ),
    click.option("--strength", metavar="WORDS", help="The same in words, such as 'half label'."),
    click.option("--feed", metavar="FEED", help="The product, when not the planned one."),
    click.option("--litres", metavar="L", help="How much was poured in all [litres]."),
    click.option("--part", metavar="SHARE", help="How much of the usual pour each tree got, such as '50 %'."),
)
def fed(
    request: RecordRequest,
    *,
    ppm: int | None,
    strength: str | None,
    feed: str | None,
    litres: str | None,
    part: str | None,
) -> Fact:
    """Write down a liquid feed you gave.

    \b
    feedplan record fed --group growing-on --but-not Moth --but-not Kettle
    feedplan record fed Brindle --ppm 100 --litres 6
    """
    refuse_strength_among_names(request)
    if ppm is not None and strength is not None:
        raise UsageError(say("--ppm and --strength say the same; leave one out"))
    fact: Fact = {"fed": strength or (AS_PLANNED if ppm is None else f"{ppm} ppm N")}
    if feed is not None:
        fact["feed"] = one_of(feed, request.opened.collection.feeds, "feed")
    if litres is not None:
        fact["litres"] = as_amount("--litres", litres, "L", request.units)
    if part is not None:
        fact["part"] = as_percent("--part", part)
    return fact


_BECAUSE = click.option("--because", metavar="WORDS", help="Why, for later.")


@verb(_BECAUSE, name="not-fed")
def not_fed(request: RecordRequest, because: str | None) -> Fact:
    """Write down that a feed asked for was not given.

    \b
    feedplan record not-fed Moth Kettle --because "too wet"
    """
    return {"not_fed": because or NO_REASON}


@verb(_BECAUSE, name="not-laid")
def not_laid(request: RecordRequest, because: str | None) -> Fact:
    """Write down that solid feed asked for was not laid.

    \b
    feedplan record not-laid --group growing-on --because "still wet"
    """
    return {"not_laid": because or NO_REASON}


@verb(says="ANSWER [TREE]...")
def check(request: RecordRequest) -> Fact:
    """Write down the answer to a water check: dry, moist or watered.

    \b
    feedplan record check dry Anvil
    """
    return {"check": request.typed.take(values_for(["check"]), say("an answer"))}


@verb(
    click.option("--drain", is_flag=True, help="What drained from the pots was read, not the can."),
    click.option(
        "--at", "at_c", metavar="C", help="How warm it was [°C], when the pen does not correct for it."
    ),
    says="READING [TREE]...",
)
def ec(request: RecordRequest, drain: bool, at_c: str | None) -> Fact:
    """Write down what the conductivity pen read, in mS/cm.

    \b
    feedplan record ec 1.2 --group growing-on
    feedplan record ec 0.9 Anvil --drain
    """
    typed = request.typed.take_first(say("the reading, such as 1.2"))
    if request.typed.left and "/" in request.typed.left[0]:
        typed += f" {request.typed.take_first(say('the unit'))}"
    fact: Fact = {"ec": as_reading(typed)}
    if drain:
        fact["of"] = "drain"
    return fact | ({"read_at": at_c if "C" in at_c else f"{at_c} °C"} if at_c is not None else {})


@verb(
    click.option("--grams", metavar="G", help="How much on each tree [g]."),
    click.option(
        "--rate",
        metavar="RATE",
        help="In place of --grams, how much for each litre of pot [g/L], or such as '0.5 oz per US gal'.",
    ),
    click.option("--mixed-in", is_flag=True, help="Mixed into the soil, so it cannot be lifted again."),
    says="FEED [TREE]...",
)
def laid(request: RecordRequest, grams: str | None, rate: str | None, mixed_in: bool) -> Fact:
    """Write down a coated or organic feed laid on the pot.

    \b
    feedplan record laid coated-16 Anvil --grams 20 --mixed-in
    feedplan record laid pellets --group growing-on --rate 3
    """
    if (grams is None) == (rate is None):
        raise UsageError(say("say how much: --grams for each tree, or --rate for each litre of pot"))
    what, solids = say("a {forms} feed", forms=_solid_forms()), _solids(request)
    if not solids:
        example = "pellets: {grade: 5-3-2, form: organic}"
        raise UsageError(
            say(
                "no solid feed is on the shelf; add it under feeds: first, such as {example}", example=example
            )
        )
    fact: Fact = {"laid": request.typed.take(solids, what)}
    if grams is not None:
        fact["grams"] = as_amount("--grams", grams, "g", request.units)
    else:
        fact["rate"] = as_solid_rate("--rate", rate or "", request.units)
    return fact | ({"mixed_in": True} if mixed_in else {})


@verb(says="FEED [TREE]...")
def lifted(request: RecordRequest) -> Fact:
    """Write down solid feed taken off: one, all, or none there.

    \b
    feedplan record lifted coated-16 Anvil
    feedplan record lifted none there "Old Kelp"
    """
    known = _solids(request) | {"all": "all", NONE_THERE: NONE_THERE}
    what = say("a {forms} feed, all or none there", forms=_solid_forms())
    return {"lifted": request.typed.take(known, what)}


def _solid_forms() -> str:
    return listed([str(form) for form in SOLID], "or")


def _solids(request: RecordRequest) -> dict[str, str]:
    return {feed.name: feed.name for feed in request.opened.collection.feeds.values() if feed.is_solid}


@verb(
    click.option(
        "--to", "group_to", metavar="GROUP", shell_complete=complete_groups, help="The group it is now in."
    ),
    click.option("--bench", metavar="BENCH", help="Where it stands now."),
)
def moved(request: RecordRequest, group_to: str | None, bench: str | None) -> Fact:
    """Write down a move to another group or bench.

    \b
    feedplan record moved Sexton --to refined
    feedplan record moved Sexton --bench "north wall"
    """
    if group_to is None and bench is None:
        raise UsageError(say("say where it moved: --to GROUP, --bench BENCH or both"))
    fact: Fact = {}
    if group_to is not None:
        fact["moved"] = one_of(group_to, request.opened.collection.groups, "group")
    if bench is not None:
        _refuse_slip_of_bench(request, bench)
    return fact | ({"bench": bench} if bench is not None else {})


def _refuse_slip_of_bench(request: RecordRequest, bench: str) -> None:
    """Raises UsageError for a bench that nobody has and that is spelled almost like one there is."""
    collection = request.opened.collection
    used = {group.bench for group in collection.groups.values()} | {tree.bench for tree in collection.trees}
    meant = bench_meant(bench, sorted(used.union(collection.benches) - {""}))
    if meant is not None:
        raise UsageError(
            say(
                "no tree stands on bench '{bench}'; did you mean '{meant}'? A new one stands under benches: first",
                bench=bench,
                meant=meant,
            )
        )


@verb(
    click.option(
        "--count", type=click.IntRange(1), help="How many of those under the name; all if not given."
    ),
    says="HOW [TREE]...",
)
def gone(request: RecordRequest, count: int | None) -> Fact:
    """Write down that a tree is gone: dead, sold, given away, or set apart under a name of its own.

    \b
    feedplan record gone dead Pippin
    feedplan record gone sold Seedlings --count 3
    """
    known = values_for(["gone"]) | {"set apart": "set apart"}
    if request.typed.left and not request.typed.starts_with(known):
        raise UsageError(
            say(
                "'{word}' is not a way to go; write dead, sold, given away or set apart, and more with --note",
                word=request.typed.left[0],
            )
        )
    fact: Fact = {"gone": request.typed.take(known, say("a way to go"))}
    return fact | ({"count": count} if count is not None else {})


@verb(name="put-off")
def put_off(request: RecordRequest) -> Fact:
    """Put a tree that does not recover off to next spring.

    \b
    feedplan record put-off Lodestar
    """
    return {"put_off": "next spring"}


@verb(click.option("--because", required=True, metavar="WORDS", help="Your reason, for later."))
def allow(request: RecordRequest, because: str) -> Fact:
    """Allow a feed on one day in spite of holds.

    \b
    feedplan record allow Pippin --because "roots seen at the drain hole, growing hard"
    """
    return {"allow": "feed", "because": because}


@verb(says="[TREE]... WORDS")
def note(request: RecordRequest) -> Fact:
    """Write down words of your own, in quotes after the trees.

    \b
    feedplan record note Pippin "new leaves smaller than last year"
    """
    return {"note": request.typed.take_last(say("the note"))}


VERBS = (
    seen,
    fed,
    not_fed,
    check,
    ec,
    root_zone,
    work,
    planned,
    trouble,
    moved,
    laid,
    not_laid,
    lifted,
    arrived,
    gone,
    put_off,
    allow,
    note,
)
"""Every verb, the most used first."""

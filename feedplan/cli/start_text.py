"""The words of a new collection and journal: a small invented one, or the grower's own trees with what was guessed."""

from __future__ import annotations

import json
import math
import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import yaml

from feedplan.cli.first_groups import FirstGroup, PlacedTree, is_indoors
from feedplan.load.problems import either
from feedplan.model.forms import FORMS
from feedplan.words.language import say
from feedplan.words.writing import listed


@dataclass(frozen=True, slots=True)
class Start:
    """What is filled in. latitude_note, time_zone_note: where those two come from, empty when the grower said.

    since: the first day that counts, as YYYY-MM-DD.
    """

    name: str
    identity: str
    latitude: str
    latitude_note: str
    time_zone: str
    time_zone_note: str
    since: str


def collection_text(start: Start, groups: Sequence[FirstGroup] = ()) -> str:
    """The text of collection.yaml. groups: those of the grower's table; the invented ones where there is none."""
    if not groups:
        return _filled(_COLLECTION, start, (_INVENTED, _GROUPS, _TREES, ""))
    trees = sorted((tree for group in groups for tree in group.trees), key=lambda tree: tree.row.row)
    return _filled(
        _COLLECTION,
        start,
        (_FROM_TABLE, "\n".join(map(_group, groups)), "\n".join(map(_tree, trees)), _benches(trees)),
    )


def journal_text() -> str:
    """The text of journal.yaml: examples, none of which counts."""
    return _JOURNAL


def _filled(text: str, start: Start, parts: tuple[str, str, str, str]) -> str:
    """The text with its marks replaced. A name is written in double quotes, in which YAML reads it as JSON does."""
    what_stands_here, groups, trees, benches = parts
    marks = {
        "<name>": json.dumps(start.name, ensure_ascii=False),
        "<identity>": start.identity,
        "<latitude>": start.latitude,
        "<latitude_note>": start.latitude_note,
        "<time_zone>": start.time_zone,
        "<time_zone_note>": start.time_zone_note,
        "<since>": start.since,
        "<forms>": either(FORMS),
        "<what_stands_here>": what_stands_here,
        "<groups>": groups,
        "<trees>": trees,
        "<benches>": benches,
    }
    # All marks in one pass, so that a name that looks like a mark stays a name.
    filled = re.sub("|".join(marks), lambda found: marks[found[0]], text)
    return "\n".join(line.rstrip() for line in filled.split("\n") if line != "  # ")


def _group(group: FirstGroup) -> str:
    """A group with its schedule, and how many of its trees asked for it by what."""
    reasons = Counter(tree.guess.why for tree in group.trees).most_common(_MOST_REASONS)
    guessed = say(
        "Guessed for {names}: {reasons}.", names=_names(group), reasons="; ".join(why for why, _ in reasons)
    )
    keys = {"schedule": group.schedule} | ({"feed": "all-round-powder"} if group.is_fed else {})
    below = [
        f"# {guessed}",
        *map(_pair, keys.items()),
        *([] if group.is_fed else ["changes: {feeding: none}"]),
    ]
    return "\n".join([f"  {flow(group.name)}:", *(f"    {line}" for line in below)])


def _pair(pair: tuple[str, str | int]) -> str:
    """A key with its value."""
    return f"{pair[0]}: {flow(pair[1])}"


def _names(group: FirstGroup) -> str:
    names = [tree.row.name for tree in group.trees]
    if len(names) > _MOST_NAMES:
        names[_MOST_NAMES - 1 :] = [say("{count} more", count=len(names) - _MOST_NAMES + 1)]
    return listed(names)


def _tree(tree: PlacedTree) -> str:
    """A tree on a line of its own, and behind it what was guessed."""
    row, guess = tree.row, tree.guess
    keys: dict[str, str | int] = {
        "name": row.name,
        "species": row.species,
        "group": tree.group,
        "pot": row.pot,
    }
    keys |= {"bench": row.bench} if row.bench else {}
    keys |= {"count": row.count} if row.count > 1 else {}
    keys |= {key: True for key, is_so in (("weak", guess.is_weak), ("old", guess.is_old)) if is_so}
    keys |= {"about": row.words} if row.words else {}
    written = ", ".join(map(_pair, keys.items()))
    why = say("guess: {schedule} ({why})", schedule=guess.schedule, why=guess.why)
    return f"  - {{{written}}}   # {why}"


def _benches(trees: Iterable[PlacedTree]) -> str:
    """The benches named in the table, to be told more of."""
    names = dict.fromkeys(tree.row.bench for tree in trees if tree.row.bench)
    if not names:
        return ""
    head = say(
        "Your benches: what keeps sun, wind or rain away. Take the # away and change what is otherwise."
    )
    usual = "{sun: full sun, wind: open, under_cover: false}"
    lines = [f"#   {flow(name)}: {'{sun: indoors}' if is_indoors(name) else usual}" for name in names]
    return "\n".join([f"# {head}", "# benches:", *lines, "", ""])


def flow(value: str | int) -> str:
    """A value as YAML reads it back, to stand within brackets and before a colon."""
    return str(yaml.safe_dump([value], default_flow_style=True, allow_unicode=True, width=math.inf))[1:-2]


_MOST_REASONS = 3
_MOST_NAMES = 4
_INVENTED = "The trees and feeds below are invented: put your own in their place, then type: feedplan check"
_FROM_TABLE = """\
The feeds below are invented: put your own in their place, then type: feedplan check
# Groups, schedules and marks such as weak were guessed from species and from your words. What each was guessed from
# stands beside it: change what is otherwise, then delete those notes."""
_GROUPS = """\
  growing-on:
    schedule: vigorous        # strong feed from open leaves to mid August
    feed: all-round-powder
    # changes:                # what is different for this group
    #   feeding: {spring and summer: {every: 14 days, strength: 100 ppm N}}
  refined:
    schedule: refined         # nothing in spring, little from hardened leaves on
    feed: all-round-powder
  recovering:
    schedule: recovering      # next to nothing, and late
    feed: all-round-powder"""
_TREES = """\
  - {name: Tern, species: larch, group: growing-on, pot: 30 x 22 x 8 cm}
  - {name: Cobble, species: hornbeam, group: growing-on, pot: 9 L}
  - {name: Wicket, species: field maple, group: growing-on, pot: round 25 x 12 cm, bench: south wall}
  - {name: Harrow, species: Japanese maple, group: refined, pot: 36 x 26 x 5 cm}
  - {name: Saltmarsh, species: hawthorn, group: refined, pot: 3 L}
  - {name: Old Fen, species: elm, group: recovering, pot: 12 L, weak: true, about: Roots cut hard two years ago.}"""

_COLLECTION = """\
# yaml-language-server: $schema=schemas/collection.schema.json
#
# Your trees. What stands after a # is a note to you and changes nothing.
# <what_stands_here>

place:
  name: <name>
  # Degrees, south below zero, such as -41.2. <latitude_note>
  latitude: <latitude>
  # <time_zone_note>
  time_zone: <time_zone>
  # elevation: 35 m

# Your phone knows every event by this word. Keep it once you have subscribed, even if you rename the place.
id: <identity>

# The plan counts from this day on, and knows of nothing before it. Without it, feeds of the months before are taken as
# given.
since: <since>

# How you work. These are the defaults; take a # away to change one.
habits:
  unlogged_feeds: given       # a feed nobody recorded counts as given; or: missed
  can: 10 L                   # the can you mix in
  # feed_on: [Saturday]       # feed on these days only
  # checks_at: ["07:00", "15:00", "20:00"]
  # alarm: "07:00"            # ring on the phone
  # work_prompts: true        # tell of pruning, wiring and repotting too, each in its season

# Days on which nobody feeds. Water checks stay in the calendar: ask somebody to do them.
# away:
#   - {from: 2027-08-03, to: 2027-08-16}

# The products on your shelf. Copy grade and rates from the label; it comes before anything feedplan says.
feeds:
  all-round-powder:
    grade: 20-10-20           # the three numbers on the label: N-P-K
    form: soluble             # <forms>
    label_rate: 1 g per L
    label_maximum: 2 g per L  # never exceeded
    spoon: 5 g                # what a level spoon of it weighs; a scale is surer
  # kelp-liquid: {grade: 4-2-6, form: liquid, density: 1.15 kg per L, label_rate: 5 ml per L}
  # coated: {grade: 16-8-12, form: coated, longevity: 150 days}

# Trees cared for alike. "schedule" is one that comes with feedplan: vigorous, refined, recovering,
# newly-repotted, collected, conifer, conifer-refined, conifer-decandled, broadleaf-evergreen, ericaceous, flowering,
# indoor-tropical, seedlings, cuttings; or a file of your own in a folder named schedules.
groups:
<groups>

<benches># One line a tree. The pot: inside length x width x depth, or diameter x depth if it is round, or a volume.
trees:
<trees>

# Notes of your own for the calendar.
# notes:
#   - {on: 1 March, say: "Repot before the buds open: raffia, wire and fresh mix ready?"}
"""

_JOURNAL = """\
# yaml-language-server: $schema=schemas/journal.schema.json
#
# What happened, one entry a line. "feedplan record" writes here; you may too. Nothing is ever deleted: take an
# entry back with "feedplan record --undo". These are examples; without the # they would count:
#
# - {date: 2027-03-20, tree: Old Fen, work: repotted, roots: 30 %}
# - {date: 2027-04-12, tree: Tern, seen: leaves open}
# - {date: 2027-06-14, group: growing-on, fed: as planned, but_not: [Wicket]}
"""

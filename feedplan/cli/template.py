"""What `feedplan start` writes: a small collection with a comment for every key a newcomer needs."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass

from feedplan.load.problems import either
from feedplan.model.forms import FORMS


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


def collection_text(start: Start) -> str:
    """The text of collection.yaml."""
    return _filled(_COLLECTION, start)


def journal_text() -> str:
    """The text of journal.yaml: examples, none of which counts."""
    return _JOURNAL


def _filled(text: str, start: Start) -> str:
    """The text with its marks replaced. A name is written in double quotes, in which YAML reads it as JSON does."""
    marks = {
        "<name>": json.dumps(start.name, ensure_ascii=False),
        "<identity>": start.identity,
        "<latitude>": start.latitude,
        "<latitude_note>": start.latitude_note,
        "<time_zone>": start.time_zone,
        "<time_zone_note>": start.time_zone_note,
        "<since>": start.since,
        "<forms>": either(FORMS),
    }
    # All marks in one pass, so that a name that looks like a mark stays a name.
    filled = re.sub("|".join(marks), lambda found: marks[found[0]], text)
    return "\n".join(line.rstrip() for line in filled.split("\n") if line != "  # ")


_COLLECTION = """\
# yaml-language-server: $schema=schemas/collection.schema.json
#
# Your trees. What stands after a # is a note to you and changes nothing.
# The trees and feeds below are invented: put your own in their place, then type: feedplan check

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
# newly-repotted, collected, conifer, conifer-decandled, broadleaf-evergreen, ericaceous, flowering,
# indoor-tropical, seedlings, cuttings; or a file of your own in a folder named schedules.
groups:
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
    feed: all-round-powder

# One line a tree. The pot: inside length x width x depth, or diameter x depth if it is round, or a volume.
trees:
  - {name: Tern, species: larch, group: growing-on, pot: 30 x 22 x 8 cm}
  - {name: Cobble, species: hornbeam, group: growing-on, pot: 9 L}
  - {name: Wicket, species: field maple, group: growing-on, pot: round 25 x 12 cm, bench: south wall}
  - {name: Harrow, species: Japanese maple, group: refined, pot: 36 x 26 x 5 cm}
  - {name: Saltmarsh, species: hawthorn, group: refined, pot: 3 L}
  - {name: Old Fen, species: elm, group: recovering, pot: 12 L, weak: true, about: Roots cut hard two years ago.}

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

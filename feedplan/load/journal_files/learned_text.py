"""learned.yaml as text: what was learned before with the new lessons in place of the old ones."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

import yaml

from feedplan.load.readers.words import MONTHS
from feedplan.model.clock import StageRule

HEAD = """\
# What your own sightings taught about your trees, written by "feedplan learn --write" on {day}.
# It wins over the clocks that ship with feedplan. Change a number, or take a species out, and the plan follows; the
# next "feedplan learn --write" writes this file anew, comments of yours included.
"""


def learned_text(rules: Mapping[tuple[str, str], StageRule], day: date) -> str:
    """The whole file. rules: by species and stage. day: of writing."""
    lines = [HEAD.format(day=day.isoformat()), "learned:"]
    species_before = None
    for (species, stage), rule in sorted(rules.items()):
        if species != species_before:
            lines.append(f"  {_scalar(species)}:")
            species_before = species
        lines.append(f"    {_scalar(stage)}:")
        lines += [f"      {key}: {value}" for key, value in _values(rule).items()]
    return "\n".join(lines) + "\n"


def _values(rule: StageRule) -> dict[str, str]:
    first = rule.counting.count_from
    values = {
        "base": f"{rule.counting.base_c:g} °C",
        "count_from": f"{first.day} {MONTHS[first.month - 1]}",
        "warmth": f"{rule.amount:g} degree days",
        "give_or_take": f"{rule.give_or_take:g} degree days",
    }
    return values | ({"how": _scalar(rule.how)} if rule.how else {})


def _scalar(text: str) -> str:
    """A text as YAML writes it on one line, in quotes where it needs them."""
    return str(yaml.safe_dump(text, allow_unicode=True, width=1000)).removesuffix("\n").removesuffix("\n...")

"""A garden as its grower has it on one morning: the files, what was written so far, and the weather known."""

from __future__ import annotations

import copy
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from functools import lru_cache
from typing import Any

import yaml

from feedplan.model.climate import Climate

DAY = timedelta(days=1)

NOT_FED: Mapping[str, Any] | None = {"not_fed": "no reason"}
"""How the journal says that a feed told was not given."""


@dataclass(frozen=True, slots=True)
class Written:
    """One entry of the journal. day: when it happened; written: the day it was typed in; says: its other keys.

    about: the trees it speaks of, as groups stood on its day.
    """

    id: str
    day: date
    written: date
    says: Mapping[str, Any]
    about: frozenset[str] = frozenset()

    @property
    def is_of_feed(self) -> bool:
        """Whether it says what became of a feed."""
        return "fed" in self.says or self.is_of_none_given

    @property
    def is_of_none_given(self) -> bool:
        """Whether it says that a feed told was not given."""
        return NOT_FED is not None and NOT_FED.items() <= self.says.items()

    @property
    def undoes(self) -> str | None:
        """The id of the entry that it takes back."""
        return self.says.get("undo")


@dataclass(frozen=True, slots=True)
class Garden:
    """One collection from its first to its last day lived, with everything the plan may know of it today.

    collection: the text of collection.yaml; schedules: own ones by name. sky: the weather as known today.
    """

    name: str
    collection: str
    first: date
    last: date
    schedules: Mapping[str, str] = field(default_factory=dict)
    journal: tuple[Written, ...] = ()
    sky: Climate | None = None

    @property
    def files(self) -> dict[str, Any]:
        """The collection as plain data, a copy of one's own."""
        found: dict[str, Any] = copy.deepcopy(_data(self.collection))
        return found

    def edited(self, change: Callable[[dict[str, Any]], None]) -> Garden:
        """The garden with its collection.yaml changed in place by a function."""
        files = self.files
        change(files)
        return replace(self, collection=yaml.safe_dump(files, sort_keys=False, allow_unicode=True))

    def with_notes(self, notes: tuple[Written, ...]) -> Garden:
        """The garden with more written into its journal."""
        return replace(self, journal=self.journal + notes)

    def from_to(self, first: date, last: date) -> Garden:
        """The garden lived in for another stretch of days."""
        return replace(self, first=first, last=last)

    def days(self) -> list[date]:
        """Every day lived."""
        return [self.first + n * DAY for n in range((self.last - self.first).days + 1)]


@lru_cache(maxsize=16)
def _data(text: str) -> Any:
    return yaml.load(text, _Plain)


class _Plain(yaml.SafeLoader):
    """YAML as feedplan reads it: "on" is a word, and only true and false are yes and no."""


_Plain.yaml_implicit_resolvers = {
    first: [(tag, pattern) for tag, pattern in rules if tag != "tag:yaml.org,2002:bool" or first in "tTfF"]
    for first, rules in yaml.SafeLoader.yaml_implicit_resolvers.items()
}

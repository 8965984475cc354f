"""The names a file may use, each with what it means, for an editor to offer: the shipped ones and the collection's own.

Read from files as they stand, unsound ones too, since an editor is wanted most while something is still wrong.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any
from zoneinfo import available_timezones

from feedplan.load.folder import (
    COLLECTION,
    NO_SCHEDULES,
    RULES,
    SCHEDULES,
    WORDS,
    Folder,
    Page,
    shipped_names,
    shipped_page,
)
from feedplan.load.problems import shown
from feedplan.words.language import say

Names = dict[str, str]
"""Names with what each means."""
_CAUSES = ("work", "trouble", "arrived")


@dataclass(frozen=True, slots=True)
class OwnNames:
    """Names by what they name, such as "tree". also: other spellings of stages and signs.

    is_whole: whether they are all a collection can use; without a collection they are only the shipped ones.
    """

    named: Mapping[str, Names] = field(default_factory=dict)
    also: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    is_whole: bool = False


def own_names(folder: Folder | None = None) -> OwnNames:
    """The names in a collection's folder over those that ship; those that ship alone without one."""
    collection = {} if folder is None else _mapping(_value(folder.page(COLLECTION)))
    schedules = _schedules(folder)
    words = [_mapping(_value(page)) for page in _layers(WORDS, folder)]
    stages = {name: word for layer in words for name, word in _items(layer, "stages")}
    signs = {name: word for layer in words for name, word in _items(layer, "signs")}
    named = {
        "schedule": {name: _text(schedule, "about") for name, schedule in schedules.items()},
        "stage": {name: _text(word, "looks_like") for name, word in stages.items()},
        "sign": {name: _text(word, "looks_like") for name, word in (stages | signs).items()},
        "calendar": {
            name: _text(calendar, "species")
            for layer in words
            for name, calendar in _items(layer, "calendars")
        },
        **_causes(folder, schedules, collection),
        **_own(collection),
        "zone": {} if folder is None else dict.fromkeys(sorted(available_timezones()), ""),
    }
    also = {name: tuple(map(str, word.get("also") or ())) for name, word in (stages | signs).items()}
    return OwnNames(named, also, folder is not None)


def _value(page: Page | None) -> Any:
    return None if page is None else page.value


def _mapping(value: object) -> dict[str, Any]:
    return value if isinstance(value, dict) else {}


def _items(holder: Mapping[str, Any], key: str) -> Iterator[tuple[str, dict[str, Any]]]:
    """The named parts under a key."""
    for name, part in _mapping(holder.get(key)).items():
        yield str(name), _mapping(part)


def _text(part: Mapping[str, Any], key: str) -> str:
    """What stands under a key, on one line."""
    value = part.get(key)
    return "" if value is None else " ".join(shown(value).strip("[]").split())


def _layers(name: str, folder: Folder | None) -> list[Page | None]:
    """The shipped file of a name, and the collection's own."""
    return [shipped_page(name), None if folder is None else folder.page(f"{SCHEDULES}/{name}.yaml")]


def _schedules(folder: Folder | None) -> dict[str, dict[str, Any]]:
    """Every schedule by name, the collection's own over those that ship."""
    found = {name: _mapping(_value(shipped_page(name))) for name in shipped_names()}
    if folder is not None:
        own = set(folder.names()) - set(NO_SCHEDULES)
        found |= {name: _mapping(_value(folder.page(f"{SCHEDULES}/{name}.yaml"))) for name in sorted(own)}
    return found


def _causes(
    folder: Folder | None, schedules: Mapping[str, Mapping[str, Any]], collection: Mapping[str, Any]
) -> dict[str, Names]:
    """The journal words that open holds, and the holds: standing ones, those of schedules, and those in changes."""
    groups = [part for _, part in _items(collection, "groups")]
    trees = [_mapping(tree) for tree in _list(collection.get("trees"))]
    changes = [_mapping(part.get("changes")) for part in (*groups, *trees)]
    standing = [_mapping(_value(page)) for page in _layers(RULES, folder)]
    named: dict[str, Names] = {cause: {} for cause in (*_CAUSES, "hold")}
    for holder in (*standing, *schedules.values(), *changes):
        for name, rule in _items(holder, "holds"):
            named["hold"].setdefault(name, _holds_back(rule))
            for cause in _CAUSES:
                if rule.get(cause) is not None:
                    named[cause].setdefault(str(rule[cause]), _holds_back(rule))
    return named


def _list(value: object) -> list[Any]:
    return value if isinstance(value, list) else []


def _holds_back(rule: Mapping[str, Any]) -> str:
    """What a hold does, in a sentence."""
    stops, at_least, signs = (_text(rule, key) for key in ("stops", "at_least", "until_seen"))
    if not (stops and at_least):
        return ""
    told = say("Stops {stops} for at least {time}.", stops=stops, time=at_least)
    return f"{told} {say('Ends once seen: {signs}.', signs=signs)}" if signs else told


def _own(collection: Mapping[str, Any]) -> dict[str, Names]:
    """Trees, groups, feeds, waters, benches and species of the collection."""
    trees = [tree for tree in map(_mapping, _list(collection.get("trees"))) if "name" in tree]
    groups = dict(_items(collection, "groups"))
    benches = {name: _joined(part, "sun", "wind", "kind") for name, part in _items(collection, "benches")}
    for part in (*groups.values(), *trees):
        if part.get("bench") is not None:
            benches.setdefault(str(part["bench"]), "")
    return {
        "tree": {
            str(tree["name"]).strip(): _joined(tree, "species", "group", "pot", "about") for tree in trees
        },
        "group": {name: _joined(part, "schedule", "feed", "bench") for name, part in groups.items()},
        "feed": {
            name: _joined(part, "grade", "salt", "form", "label_rate")
            for name, part in _items(collection, "feeds")
        },
        "water": {name: _joined(part, "ec", "alkalinity") for name, part in _items(collection, "water")},
        "bench": benches,
        "species": {str(tree["species"]): "" for tree in trees if tree.get("species") is not None},
    }


def _joined(part: Mapping[str, Any], *keys: str) -> str:
    """What stands under some keys, after each other."""
    return ", ".join(filter(None, (_text(part, key) for key in keys)))

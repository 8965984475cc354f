"""What a grower does besides feeding: work, moves, edits of the files, slips taken back. Each is a word and a number.

The number decides which tree, which group and how much, so that a deed can be drawn, written down and done again.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from random import Random
from typing import Any

import yaml

from feedplan.load.folder import shipped_folder
from tests.lived.garden import Garden, Written
from tests.lived.told import Told

Files = dict[str, Any]
LATEST = 8
"""How many of the latest entries a slip may be found among."""


@dataclass(frozen=True, slots=True)
class Done:
    """What came of a deed: the garden with its files edited, what there is to write down, and what it was, in words.

    day: the day it is written about, None for today.
    """

    garden: Garden
    says: Mapping[str, Any] | None = None
    words: str = ""
    day: date | None = None


def do(deed: str, number: int, garden: Garden, told: Told) -> Done:
    """Does one deed on a morning. Says "" when there was nothing to do it to. Raises KeyError for an unknown one."""
    chance = Random(number)
    tree = chance.choice(told.trees) if told.trees else ""
    if not tree:
        return Done(garden)
    if deed in _WORK:
        says = {"tree": tree, **_WORK[deed](chance)}
        return Done(garden, says, f"{tree}: {' '.join(map(str, list(says.values())[1:]))}")
    if deed in _EDITS:
        said: list[str] = []
        edited = garden.edited(lambda files: said.append(_EDITS[deed](files, chance, tree, told.day)))
        return Done(edited if said[0] else garden, None, said[0])
    return _OTHERS[deed](garden, chance, told, tree)


def _move(garden: Garden, chance: Random, told: Told, tree: str) -> Done:
    others = [group for group in garden.files["groups"] if group != told.care[tree].group]
    if not others:
        return Done(garden)
    group = chance.choice(others)
    return Done(garden, {"tree": tree, "moved": group}, f"{tree} moved to {group}")


def _lay(garden: Garden, chance: Random, told: Told, tree: str) -> Done:
    solid = [name for name, feed in garden.files["feeds"].items() if feed["form"] in ("coated", "organic")]
    if not solid:
        return Done(garden)
    grams = chance.choice([4, 8, 15])
    return Done(garden, {"tree": tree, "laid": solid[0], "grams": f"{grams} g"}, f"{tree}: {grams} g laid")


def _lift(garden: Garden, chance: Random, told: Told, tree: str) -> Done:
    laid = sorted(
        {name for note in garden.journal if "laid" in note.says for name in note.about} & set(told.trees)
    )
    if not laid:
        return Done(garden)
    found = chance.choice(laid)
    return Done(garden, {"tree": found, "lifted": "all"}, f"{found}: solid feed lifted")


def _take_back(garden: Garden, chance: Random, told: Told, tree: str) -> Done:
    latest = [note for note in _latest(garden) if "gone" not in note.says]
    if not latest:
        return Done(garden)
    slip: Written = chance.choice(latest)
    return Done(garden, {"undo": slip.id}, f"took back {dict(slip.says)} of {slip.day}")


def _correct(garden: Garden, chance: Random, told: Told, tree: str) -> Done:
    """A stage or sign was seen some days before or after the day that was written."""
    seen = [note for note in _latest(garden) if "seen" in note.says]
    if not seen:
        return Done(garden)
    slip: Written = chance.choice(seen)
    day = min(told.day, slip.day + timedelta(days=chance.choice([-6, -3, -1, 1, 3, 6])))
    return Done(garden, {**slip.says, "instead": True}, f"{dict(slip.says)} of {slip.day} was on {day}", day)


def _latest(garden: Garden) -> list[Written]:
    """The latest entries that stand."""
    gone = {note.undoes for note in garden.journal}
    return [note for note in garden.journal if not note.undoes and note.id not in gone][-LATEST:]


def _every(files: Files, chance: Random, tree: str, today: date) -> str:
    """Another interval for one feeding period of one group."""
    found = _a_period(files, chance)
    if found is None:
        return ""
    group, name, period = found
    least = _days(period.get("min_gap", "7 days"))
    days = max(least, _days(period["every"]) + chance.choice([-3, -2, 2, 4]))
    _change(files, group, name)["every"] = f"{days} days"
    return f"{group}: every {days} days"


def _strength(files: Files, chance: Random, tree: str, today: date) -> str:
    found = _a_period(files, chance)
    if found is None:
        return ""
    group, name, _ = found
    ppm = chance.choice([40, 60, 90, 120])
    _change(files, group, name)["strength"] = f"{ppm} ppm N"
    return f"{group}: {ppm} ppm N"


def _feeding_days(files: Files, chance: Random, tree: str, today: date) -> str:
    days = chance.choice([[], ["Saturday"], ["Sunday"], ["Wednesday", "Saturday"]])
    files.setdefault("habits", {})["feed_on"] = days
    return f"feeding days: {', '.join(days) or 'any'}"


def _can(files: Files, chance: Random, tree: str, today: date) -> str:
    litres = chance.choice([5, 9, 10, 12])
    files.setdefault("habits", {})["can"] = f"{litres} L"
    return f"a can of {litres} L"


def _product(files: Files, chance: Random, tree: str, today: date) -> str:
    """Another product for one group: from now on, or as if it had always been so."""
    group = chance.choice(list(files["groups"]))
    liquid = [name for name, feed in files["feeds"].items() if feed["form"] in ("soluble", "liquid")]
    name = chance.choice(liquid)
    had = files["groups"][group].get("feed", name)
    first = had[0] if isinstance(had, list) else had
    from_now = chance.random() < 0.5
    files["groups"][group]["feed"] = [first, {"use": name, "from": today}] if from_now else name
    return f"{group}: {name}{' from today' if from_now else ''}"


def _budget(files: Files, chance: Random, tree: str, today: date) -> str:
    group = chance.choice(list(files["groups"]))
    budget = chance.choice([60, 120, 250, 400])
    files["groups"][group].setdefault("changes", {})["budget"] = f"{budget} mg N per L"
    return f"{group}: budget {budget} mg N per L"


def _regroup(files: Files, chance: Random, tree: str, today: date) -> str:
    """The group a tree stands in, edited in the file as if it had always stood there."""
    group = chance.choice(list(files["groups"]))
    row = next((row for row in files["trees"] if row["name"] == tree), None)
    if row is None or row["group"] == group:
        return ""
    row["group"] = group
    dropped = _drop_changes_that_fit_no_more(row, files["groups"][group]["schedule"])
    return f"{tree} written into {group}{''.join(f', no change to {name}' for name in dropped)}"


def _one_more(files: Files, chance: Random, tree: str, today: date) -> str:
    name = f"Newcomer {len(files['trees'])}"
    like = next((row for row in files["trees"] if row["name"] == tree), files["trees"][0])
    files["trees"].append({"name": name, "species": like["species"], "group": like["group"], "pot": "5 L"})
    return f"{name} joined {like['group']}"


def _away(files: Files, chance: Random, tree: str, today: date) -> str:
    start = today + timedelta(days=chance.randint(2, 12))
    files.setdefault("away", []).append({"from": start, "to": start + timedelta(days=chance.randint(3, 14))})
    return f"away from {start}"


_WORK: Mapping[str, Callable[[Random], dict[str, Any]]] = {
    "repot": lambda chance: {"work": "repotted", "roots": f"{chance.choice([10, 15, 30, 50])} %"},
    "prune": lambda _: {"work": "hard pruned"},
    "trouble": lambda chance: {"trouble": chance.choice(["frost", "scorch", "drought", "weak"])},
    "neighbour": lambda chance: {"fed": f"{chance.choice([50, 100, 150])} ppm N"},
    "loss": lambda chance: {"gone": chance.choice(["dead", "sold"])},
}
_EDITS: Mapping[str, Callable[[Files, Random, str, date], str]] = {
    "every": _every,
    "strength": _strength,
    "feeding days": _feeding_days,
    "can": _can,
    "product": _product,
    "budget": _budget,
    "regroup": _regroup,
    "one more": _one_more,
    "away": _away,
}
_OTHERS: Mapping[str, Callable[[Garden, Random, Told, str], Done]] = {
    "move": _move,
    "lay": _lay,
    "lift": _lift,
    "take back": _take_back,
    "correct": _correct,
}
DEEDS = (*_WORK, *_EDITS, *_OTHERS)
"""Every deed by its word."""


def _a_period(files: Files, chance: Random) -> tuple[str, str, Mapping[str, Any]] | None:
    """A group of a shipped schedule, the name of one of its periods of liquid feed, and that as shipped."""
    group = chance.choice(list(files["groups"]))
    shipped = _shipped_periods(files["groups"][group]["schedule"])
    periods = {name: period for name, period in shipped.items() if "strength" in period}
    if not periods:
        return None
    name = chance.choice(sorted(periods))
    return group, name, periods[name]


def _drop_changes_that_fit_no_more(row: dict[str, Any], schedule: str) -> list[str]:
    """A tree's own changes without those to feeding periods that its schedule has not; their names."""
    changed = row.get("changes", {}).get("feeding", {})
    gone = sorted(changed.keys() - _shipped_periods(schedule).keys())
    for name in gone:
        del changed[name]
    if not changed:
        row.pop("changes", None)
    return gone


def _change(files: Files, group: str, period: str) -> dict[str, Any]:
    """Where the changes of a group to one feeding period stand."""
    changes = files["groups"][group].setdefault("changes", {}).setdefault("feeding", {})
    found: dict[str, Any] = changes.setdefault(period, {})
    return found


@lru_cache(maxsize=32)
def _shipped_periods(schedule: str) -> dict[str, dict[str, Any]]:
    path = shipped_folder() / f"{schedule}.yaml"
    if not path.is_file():
        return {}
    feeding = yaml.safe_load(path.read_text(encoding="utf-8")).get("feeding")
    return feeding if isinstance(feeding, dict) else {}


def _days(words: str) -> int:
    return int(words.split(maxsplit=1)[0])

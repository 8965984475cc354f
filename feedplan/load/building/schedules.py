"""Schedules: found by name, changed by group and tree, turned to the place; equal ones are one object."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import NamedTuple

from pydantic import TypeAdapter

from feedplan.load.building.hold_rules import HoldReader, check_bands, check_unknown_shares
from feedplan.load.building.merging import Changed, lay_over
from feedplan.load.building.schedule_parts import PartReader
from feedplan.load.building.vocabulary import Words, read_layered
from feedplan.load.findings import Findings, near_miss
from feedplan.load.folder import RULES, SCHEDULES, SHIPPED, WORDS, Folder, Page, shipped_names, shipped_page
from feedplan.load.models.schedule_models import HoldsModel, ScheduleModel
from feedplan.load.models.shape import check_shape
from feedplan.load.text.spots import Spot
from feedplan.model.hold import HoldRule
from feedplan.model.moment import Hemisphere
from feedplan.model.schedule import MOST_N_MG_PER_L, Layer, Schedule
from feedplan.model.stage import Vocabulary

_SCHEDULE = TypeAdapter(ScheduleModel)
_HOLDS = TypeAdapter(HoldsModel)

DEFAULT_WEAKEST_PPM = Decimal(10)
"""A feed trimmed below this is not worth the walk (common practice, no source); key `weakest` of a schedule."""

FIXED = ("schedule", "written_for")
"""Keys of a schedule that say what the file is, so changes cannot hold them."""

_CAUSES = frozenset({"work", "trouble", "arrived"})
_NEEDED = frozenset({"from", "to", "every"})


class Change(NamedTuple):
    """Keys of a schedule that one group or tree wants different."""

    what: str
    value: dict[str, object]
    spot: Spot


class ScheduleBook:
    """Every schedule that is asked for, resolved once. all_rules: every hold rule met in any of them."""

    def __init__(self, folder: Folder, place: Hemisphere, vocabulary: Vocabulary, findings: Findings) -> None:
        self._folder = folder
        self._place = place
        self._calendars = vocabulary.calendars
        self._findings = findings
        self._written_for: dict[str, Hemisphere] = {}
        self._pages: dict[str, Page | None] = {}
        self._resolved: dict[tuple[object, ...], Schedule | None] = {}
        words = Words(vocabulary.words.values())
        self._parts = PartReader(words, place, self._turns, findings)
        self._hold_reader = HoldReader(words, self._turns, findings)
        self._standing: Mapping[str, HoldRule] = {}
        self._raw_holds: dict[str, object] = {}
        self._holds_spot = Spot.start_of("")
        self._read_standing()
        self.all_rules = dict(self._standing)

    def resolve(self, name: str, where: Spot, changes: Sequence[Change] = ()) -> Schedule | None:
        """The schedule of a name with changes laid over it, weakest first; None with its problems noted.

        where: the place that names it. The same name and the very same changes give the same object.
        """
        key = (name, *(id(change.value) for change in changes))
        if key not in self._resolved:
            page = self._page(name, where)
            self._resolved[key] = None if page is None else self._build(page, changes)
        return self._resolved[key]

    def _page(self, name: str, where: Spot) -> Page | None:
        """The file of a schedule, None when it is not there or holds no mapping; unknown names are noted."""
        if name not in self._pages:
            self._pages[name] = self._find(name)
        page = self._pages[name]
        if page is None:
            known = {*shipped_names(), *self._folder.names()} - {RULES, WORDS}
            self._findings.at(where, f"no schedule is called '{name}'{near_miss(name, known)}")
            return None
        return page if isinstance(page.value, dict) else None

    def _find(self, name: str) -> Page | None:
        """A schedule's file: by its path, from the collection's own folder, or shipped. Its own slips are noted."""
        if name.endswith((".yaml", ".yml")):
            page = self._folder.page(name)
        elif "/" in name or name in (RULES, WORDS):
            page = None
        else:
            page = self._folder.page(f"{SCHEDULES}/{name}.yaml") or shipped_page(name)
        if page is None:
            return None
        self._findings.add_misread(page.problems)
        if isinstance(page.value, dict):
            self._check_own(name, page.value, page.spot)
        elif not page.problems:
            self._findings.at(page.spot, "is not a schedule; write keys such as schedule: and feeding:")
        return page

    def _check_own(self, name: str, value: Mapping[str, object], spot: Spot) -> None:
        """Notes whom the file's days are written for, and a name that is not the file's."""
        if value.get("written_for") in ("north", "south"):
            self._written_for[spot.file] = Hemisphere(str(value["written_for"]))
        said, expected = value.get("schedule"), name.rsplit("/", 1)[-1].rsplit(".", 1)[0]
        if isinstance(said, str) and said != expected:
            self._findings.at(
                spot.at(("schedule",)), f"schedule: '{said}' differs from the file's name; write {expected}"
            )

    def _turns(self, spot: Spot) -> bool:
        """Whether days at a place are meant for the other hemisphere: by what its file says; shipped ones north."""
        shipped = Hemisphere.NORTH if spot.file.startswith(SHIPPED) else self._place
        return self._written_for.get(spot.file, shipped) is not self._place

    def _read_standing(self) -> None:
        """Takes over the standing holds, in force wherever a schedule does not change them."""
        layered = read_layered(_HOLDS, self._folder, RULES, self._findings)
        if layered is None:
            return
        model, page = layered
        self._raw_holds, self._holds_spot = page.value["holds"], page.spot.at(("holds",))
        rules = {}
        for name, part in model.holds.items():
            rule = self._hold_reader.rule(
                name, part, self._holds_spot.at((name,)), self._holds_spot.key(name)
            )
            if rule is not None:
                rules[name] = rule
        check_bands(rules, rules, self._holds_spot, self._findings)
        check_unknown_shares(rules, model.holds, self._holds_spot, self._findings)
        self._standing = rules

    def _build(self, page: Page, changes: Sequence[Change]) -> Schedule | None:
        """One schedule from its file and what is laid over it."""
        value, spot = page.value, page.spot
        assert isinstance(value, dict)
        layers = [Layer(f"schedule {value.get('schedule')}", spot.source)]
        for change in changes:
            changed: Changed = {}
            over = self._sound_change(change, value)
            changed_holds = self._changed_holds(over.get("holds"), value.get("holds"))
            value, spot = lay_over(value, spot, over, change.spot, changed=changed)
            told = {key: text for key, text in changed.items() if not key.startswith("holds")}
            layers.append(Layer(change.what, change.spot.source, told | changed_holds))
        model = check_shape(_SCHEDULE, value, spot, self._findings)
        before = self._findings.count
        holds = self._holds(value.get("holds"), spot.at(("holds",)))
        if model is None:
            return None
        schedule = self._schedule(model, spot, holds, tuple(layers))
        return schedule if self._findings.count == before else None

    def _changed_holds(self, over: object, had: object) -> Changed:
        """What a change makes of the holds in force, the standing ones among them."""
        changed: Changed = {}
        if isinstance(over, dict):
            own = had if isinstance(had, dict) else {}
            in_force = {**self._raw_holds, **own}
            for name in own.keys() & self._raw_holds.keys():
                parts = (self._raw_holds[name], own[name])
                in_force[name] = {
                    key: value for part in parts if isinstance(part, dict) for key, value in part.items()
                }
            lay_over(in_force, self._holds_spot, over, self._holds_spot, changed=changed, path=("holds",))
        return changed

    def _schedule(
        self, model: ScheduleModel, spot: Spot, holds: Mapping[str, HoldRule], layers: tuple[Layer, ...]
    ) -> Schedule:
        if model.stages not in self._calendars:
            hint = near_miss(model.stages, self._calendars)
            self._findings.at(spot.at(("stages",)), f"stages: no calendar is called '{model.stages}'{hint}")
        if model.budget > MOST_N_MG_PER_L and not model.allow_over:
            self._findings.at(
                spot.at(("budget",)),
                f"budget {model.budget.normalize():f} mg N per L is above {MOST_N_MG_PER_L}, more than trees use and "
                "enough to harm; lower it, or add allow_over: true if it is meant",
            )
        return Schedule(
            name=model.schedule,
            about=model.about,
            calendar=model.stages,
            periods=self._parts.periods(model, spot),
            water=self._parts.water(model, spot),
            holds=holds,
            budget_mg_n_per_l=model.budget,
            weakest_ppm=DEFAULT_WEAKEST_PPM if model.weakest is None else model.weakest,
            bands_up=1 if model.root_work_counts == "one band up" else 0,
            look_for=self._parts.look_for(model, spot),
            layers=layers,
            source=spot.source,
            solid_periods=self._parts.solid_periods(model, spot),
            allow_over=model.allow_over,
            indoors=model.indoors,
        )

    def _sound_change(self, change: Change, base: Mapping[str, object]) -> dict[str, object]:
        """The change without what cannot be changed and without feeding periods that are not there; both noted."""
        sound = {key: part for key, part in change.value.items() if key not in FIXED}
        for key in FIXED:
            if key in change.value:
                self._findings.at(
                    change.spot.key(key), f"changes of {change.what} cannot hold '{key}'; remove it"
                )
        periods, had = sound.get("feeding"), base.get("feeding")
        if isinstance(periods, dict) and isinstance(had, dict):
            place = change.spot.at(("feeding",))
            kept = {name: part for name, part in periods.items() if name in had or _is_whole(part)}
            for name in periods.keys() - kept.keys():
                hint = near_miss(name, had) or "; a new one needs from, to, every and strength"
                self._findings.at(place.key(name), f"the schedule has no feeding period '{name}'{hint}")
            sound["feeding"] = kept
        return sound

    def _holds(self, changed: object, spot: Spot) -> Mapping[str, HoldRule]:
        """The standing rules, those that a schedule or its changes touch built anew."""
        if not isinstance(changed, dict) or not changed:
            return self._standing
        rules = dict(self._standing)
        for name, over in changed.items():
            if not isinstance(over, dict):
                self._findings.at(spot.key(name), _no_mapping(name, over))
                continue
            rule = self._changed_rule(name, over, spot)
            if rule is not None:
                rules[name] = rule
                self.all_rules.setdefault(name, rule)
        check_bands(rules, changed, spot, self._findings)
        return rules

    def _changed_rule(self, name: str, over: dict[str, object], spot: Spot) -> HoldRule | None:
        """A standing rule with some keys changed, or one of the schedule's own."""
        had, place = self._raw_holds.get(name), spot.at((name,))
        value, where = over, place
        if isinstance(had, dict):
            value, where = lay_over(had, self._holds_spot.at((name,)), over, place)
        elif not _CAUSES & over.keys():
            hint = near_miss(name, self._raw_holds) or "; a new one needs work, trouble or arrived"
            self._findings.at(spot.key(name), f"no standing hold is called '{name}'{hint}")
            return None
        whole = {"holds": {name: value}}
        around = Spot.around(Spot.around(where, name, spot.key(name)), "holds", spot)
        model = check_shape(_HOLDS, whole, around, self._findings)
        return (
            None if model is None else self._hold_reader.rule(name, model.holds[name], where, spot.key(name))
        )


def _is_whole(period: object) -> bool:
    """Whether a feeding period can stand by itself."""
    return (
        isinstance(period, dict) and period.keys() >= _NEEDED and bool({"strength", "solid"} & period.keys())
    )


def _no_mapping(name: str, written: object) -> str:
    if written is None:
        return f"nothing is written for hold '{name}'; inside {{ }} put a name with a comma in quotes"
    return f"hold '{name}' is not a mapping; write keys such as at_least: 14 days"

"""Schedules: found by name, changed by group and tree, turned to the place; equal ones are one object."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import NamedTuple

from pydantic import TypeAdapter

from feedplan.load.folder import SCHEDULES, SHIPPED, Folder, Page, shipped_names, shipped_page
from feedplan.load.hold_rules import hold_rule
from feedplan.load.merging import Changed, lay_over
from feedplan.load.problems import Findings, check_shape, near_miss
from feedplan.load.schedule_models import HoldModel, PeriodModel, ScheduleModel, WaterModel
from feedplan.load.spots import Spot
from feedplan.load.vocabulary import Words, layered_page
from feedplan.model.hold import HoldRule
from feedplan.model.moment import AtStage, DayOfYear, FirstOf, Hemisphere, LastOf, Moment
from feedplan.model.schedule import FeedingPeriod, Layer, Schedule, WaterRow
from feedplan.model.stage import Vocabulary

_SCHEDULE = TypeAdapter(ScheduleModel)
_HOLDS = TypeAdapter(dict[str, HoldModel])
_HOLD = TypeAdapter(HoldModel)

DEFAULT_WEAKEST_PPM = Decimal(10)
FIXED = ("schedule", "written_for")


class Change(NamedTuple):
    """Keys of a schedule that one group or tree wants different."""

    what: str
    value: dict[str, object]
    spot: Spot


class ScheduleBook:
    """Every schedule that is asked for, resolved once."""

    def __init__(self, folder: Folder, place: Hemisphere, vocabulary: Vocabulary, findings: Findings) -> None:
        self._folder = folder
        self._place = place
        self._vocabulary = vocabulary
        self._words = Words(vocabulary.words.values())
        self._findings = findings
        self._written_for: dict[str, Hemisphere] = {}
        self._pages: dict[str, Page | None] = {}
        self._resolved: dict[tuple[object, ...], Schedule | None] = {}
        self._standing_page = layered_page(folder, "holds", findings)
        self._raw_holds, self._holds_spot = _section(self._standing_page, "holds")
        self._standing = self._standing_rules()
        self.all_rules: dict[str, HoldRule] = dict(self._standing)

    def resolve(self, name: str, where: Spot, changes: Sequence[Change] = ()) -> Schedule | None:
        """The schedule of a name with changes laid over it, weakest first; None with its problems noted."""
        key = (name, *(id(change.value) for change in changes))
        if key not in self._resolved:
            page = self._page(name, where)
            self._resolved[key] = self._build(page, changes) if page is not None else None
        return self._resolved[key]

    def _page(self, name: str, where: Spot) -> Page | None:
        """The file of a schedule: the collection's own, else the shipped one."""
        if name not in self._pages:
            self._pages[name] = self._find(name)
        page = self._pages[name]
        if page is None:
            known = [n for n in (*shipped_names(), *self._folder.names()) if n not in ("holds", "stages")]
            self._findings.at(where, f"no schedule is called '{name}'{near_miss(name, known)}")
        elif not isinstance(page.value, dict):
            return None
        return page

    def _find(self, name: str) -> Page | None:
        if name.endswith((".yaml", ".yml")):
            page = self._folder.page(name)
        elif "/" in name or name in ("holds", "stages"):
            page = None
        else:
            page = self._folder.page(f"{SCHEDULES}/{name}.yaml") or shipped_page(name)
        if page is None:
            return None
        self._findings.add(*page.problems)
        if not page.problems and not isinstance(page.value, dict):
            self._findings.at(page.spot, "is not a schedule; write keys such as schedule: and feeding:")
        if isinstance(page.value, dict):
            self._check_own(name, page.value, page.spot)
        return page

    def _check_own(self, name: str, value: dict[str, object], spot: Spot) -> None:
        """Notes whom the file's days are written for, and a name that is not the file's."""
        written = value.get("written_for")
        if written in ("north", "south"):
            self._written_for[spot.file] = Hemisphere(str(written))
        said, expected = value.get("schedule"), name.rsplit("/", 1)[-1].removesuffix(".yaml")
        if isinstance(said, str) and said != expected:
            self._findings.at(
                spot.child("schedule") or spot,
                f"schedule: '{said}' differs from the file's name; write {expected}",
            )

    def written_for(self, file: str) -> Hemisphere:
        """The hemisphere that days in a file are meant for: what it says; shipped ones north; else the place's."""
        if file in self._written_for:
            return self._written_for[file]
        return Hemisphere.NORTH if file.startswith(SHIPPED) else self._place

    def _turns(self, spot: Spot) -> bool:
        return self.written_for(spot.file) is not self._place

    def _standing_rules(self) -> dict[str, HoldRule]:
        """The standing holds, in force wherever a schedule does not change them."""
        models = check_shape(_HOLDS, self._raw_holds, self._holds_spot, self._findings, ("holds",))
        rules = {}
        for name, model in (models or {}).items():
            spot = self._holds_spot.at(("holds", name))
            rule = hold_rule(name, model, spot, self._words, self._turns, self._findings)
            if rule is not None:
                rules[name] = rule
        return rules

    def _build(self, page: Page, changes: Sequence[Change]) -> Schedule | None:
        value, spot = page.value, page.spot
        assert isinstance(value, dict)
        name = str(value.get("schedule"))
        layers = [Layer(f"schedule {name}", spot.source)]
        for change in changes:
            changed: Changed = {}
            self._check_change(change, value)
            value, spot = lay_over(value, spot, change.value, change.spot, changed)
            layers.append(Layer(change.what, change.spot.source, changed))
        model = check_shape(_SCHEDULE, value, spot, self._findings)
        return None if model is None else self._schedule(model, value, spot, tuple(layers))

    def _check_change(self, change: Change, base: Mapping[str, object]) -> None:
        """Notes changes to what cannot be changed, and feeding periods that the schedule does not have."""
        for key in FIXED:
            if key in change.value:
                self._findings.at(
                    change.spot.key(key), f"changes of {change.what} cannot hold '{key}'; remove it"
                )
        periods, had = change.value.get("feeding"), base.get("feeding")
        if not isinstance(periods, dict) or not isinstance(had, dict):
            return
        place = change.spot.child("feeding") or change.spot
        for name, period in periods.items():
            whole = isinstance(period, dict) and {"from", "to", "every", "strength"} <= period.keys()
            if name not in had and not whole:
                hint = near_miss(name, had)
                self._findings.at(place.key(name), f"the schedule has no feeding period '{name}'{hint}")

    def _schedule(
        self, model: ScheduleModel, value: Mapping[str, object], spot: Spot, layers: tuple[Layer, ...]
    ) -> Schedule | None:
        before = len(self._findings.problems)
        periods = self._periods(model, spot)
        water = self._water(model, spot)
        look_for = self._look_for(model, spot)
        holds = self._holds(value.get("holds"), spot.child("holds") or spot)
        if model.stages not in self._vocabulary.calendars and self._vocabulary.calendars:
            hint = near_miss(model.stages, self._vocabulary.calendars)
            self._findings.at(
                spot.child("stages") or spot, f"stages: no calendar is called '{model.stages}'{hint}"
            )
        if len(self._findings.problems) > before:
            return None
        return Schedule(
            name=model.schedule,
            about=model.about,
            calendar=model.stages,
            periods=periods,
            water=water,
            holds=holds,
            budget_mg_n_per_l=model.budget,
            weakest_ppm=DEFAULT_WEAKEST_PPM if model.weakest is None else model.weakest,
            bands_up=1 if model.root_work_counts == "one band up" else 0,
            look_for=look_for,
            layers=layers,
            source=spot.source,
        )

    def _periods(self, model: ScheduleModel, spot: Spot) -> tuple[FeedingPeriod, ...]:
        if isinstance(model.feeding, str):
            return ()
        return tuple(
            self._period(name, part, spot.at(("feeding", name))) for name, part in model.feeding.items()
        )

    def _period(self, name: str, part: PeriodModel, spot: Spot) -> FeedingPeriod:
        start = self._moment(part.start, spot.child("from") or spot, f"from of feeding period '{name}'")
        stop = self._moment(part.stop, spot.child("to") or spot, f"to of feeding period '{name}'")
        gap = part.min_gap or -(-part.every * 7 // 10)
        if gap > part.every:
            every, own = spot.child("every") or spot, spot.child("min_gap") or spot
            self._findings.at(
                every if every.file != own.file else own,
                f"feeding period '{name}': min_gap {gap} days is longer than every {part.every} days; shorten it",
            )
        return FeedingPeriod(
            name,
            start,
            stop,
            part.every,
            gap,
            part.strength,
            part.root_zone_above,
            part.air_below,
            spot.source,
        )

    def _moment(self, moment: Moment, spot: Spot, what: str) -> Moment:
        """The moment with its stages as the vocabulary calls them and its days turned to the place."""
        match moment:
            case DayOfYear():
                return moment.turned() if self._turns(spot) else moment
            case AtStage(stage, offset):
                return AtStage(self._stage(stage, spot, what), offset)
            case FirstOf(moments):
                return FirstOf(tuple(self._moment(inner, spot, what) for inner in moments))
            case LastOf(moments):
                return LastOf(tuple(self._moment(inner, spot, what) for inner in moments))

    def _stage(self, text: str, spot: Spot, what: str) -> str:
        found = self._words.stage(text)
        if found is None and self._vocabulary.words:
            self._findings.at(spot, f"{what}: no stage is called '{text}'{self._words.stage_hint(text)}")
        return found or text

    def _water(self, model: ScheduleModel, spot: Spot) -> tuple[WaterRow, ...]:
        place = spot.child("water") or spot
        if not model.water:
            self._findings.at(
                place, "water has no rows; write for example dormant: {shallow: twice a week, ...}"
            )
        return tuple(
            self._water_row(self._stage(stage, place.key(stage), "water"), part, place.child(stage) or place)
            for stage, part in model.water.items()
        )

    def _water_row(self, stage: str, part: WaterModel, spot: Spot) -> WaterRow:
        return WaterRow(stage, part.shallow, part.medium, part.deep, part.weak, spot.source)

    def _look_for(self, model: ScheduleModel, spot: Spot) -> dict[str, str]:
        place = spot.child("look_for") or spot
        return {
            self._stage(stage, place.key(stage), "look_for"): words for stage, words in model.look_for.items()
        }

    def _holds(self, changed: object, spot: Spot) -> Mapping[str, HoldRule]:
        """The standing rules, those that a schedule or its changes touch built anew."""
        if not isinstance(changed, dict) or not changed:
            return self._standing
        rules = dict(self._standing)
        for name, over in changed.items():
            place = spot.child(name) or spot
            if not isinstance(over, dict):
                self._findings.at(
                    place, f"hold '{name}' is not a mapping; write keys such as at_least: 14 days"
                )
                continue
            rule = self._changed_rule(name, over, place, spot)
            if rule is not None:
                rules[name] = rule
                self.all_rules.setdefault(name, rule)
        return rules

    def _changed_rule(self, name: str, over: dict[str, object], place: Spot, spot: Spot) -> HoldRule | None:
        had = self._raw_holds.get(name)
        value, where = over, place
        if isinstance(had, dict):
            value, where = lay_over(had, self._holds_spot.at(("holds", name)), over, place)
        elif not {"work", "trouble", "arrived"} & over.keys():
            hint = near_miss(name, self._raw_holds)
            self._findings.at(spot.key(name), f"no standing hold is called '{name}'{hint}")
            return None
        whole = Spot(
            where.file,
            where.mark,
            {},
            {"holds": Spot(where.file, where.mark, {name: spot.key(name)}, {name: where})},
        )
        model = check_shape(_HOLD, value, whole, self._findings, ("holds", name))
        if model is None:
            return None
        return hold_rule(name, model, where, self._words, self._turns, self._findings)


def _section(page: Page | None, key: str) -> tuple[dict[str, object], Spot]:
    """The mapping under a key of a file, and the place of the whole file."""
    if page is None:
        return {}, Spot.start_of("")
    value = page.value.get(key) if isinstance(page.value, dict) else None
    return (value if isinstance(value, dict) else {}), page.spot

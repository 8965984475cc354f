"""Schedules: found by name, changed by group and tree, turned to the place; equal ones are one object."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any, NamedTuple

from pydantic import TypeAdapter

from feedplan.dose.ceilings import Ceilings
from feedplan.load.folder import (
    NO_SCHEDULES,
    NONE,
    RULES,
    SCHEDULES,
    Changed,
    Folder,
    Page,
    Written,
    lay_over,
    read_layered,
    shipped_names,
    shipped_page,
)
from feedplan.load.problems import Findings, Passage, Spot, near_miss
from feedplan.load.schedule_models import FIXED, CeilingsModel, HoldsModel, ScheduleModel
from feedplan.load.schedule_parts import (
    HoldReader,
    PartReader,
    check_bands,
    check_turns,
    check_unknown_shares,
)
from feedplan.load.shape import check_shape
from feedplan.load.vocabulary import StageWords
from feedplan.model.hold import CauseKind, HoldRule
from feedplan.model.moment import DayOfYear, Hemisphere
from feedplan.model.schedule import Layer, Schedule, UsualNitrogen
from feedplan.model.source import SHIPPED
from feedplan.model.stage import Vocabulary

_SCHEDULE = TypeAdapter(ScheduleModel)
_HOLDS = TypeAdapter(HoldsModel)

DEFAULT_WEAKEST_PPM = Decimal(10)
# With solid feed on the pots as well, the can is halved: common practice, no source.
DEFAULT_BESIDE_SOLIDS = Decimal("0.5")
# A quarter of a laying is hardly worth the walk: judgement.
DEFAULT_LEAST_LAYING = Decimal("0.25")
"""A feed trimmed below this is not worth the walk (common practice, no source); key `weakest` of a schedule."""

_CAUSES = frozenset({"work", "trouble", "arrived", "seen"})
_NEEDED = frozenset({"from", "to", "every"})


class ScheduleChange(NamedTuple):
    """Keys of a schedule that one group or tree wants different."""

    kind: str
    name: str
    value: dict[str, object]
    part: Passage


class ScheduleBook:
    """Every schedule that is asked for, resolved once. all_rules: every hold rule met in any of them."""

    def __init__(
        self, folder: Folder, hemisphere: Hemisphere, vocabulary: Vocabulary, findings: Findings
    ) -> None:
        self._folder = folder
        self._hemisphere = hemisphere
        self._calendars = vocabulary.calendars
        self._findings = findings
        self._written_for: dict[str, Hemisphere] = {}
        self._pages: dict[str, Page | None] = {}
        self._resolved: dict[tuple[object, ...], Schedule | None] = {}
        words = StageWords(vocabulary.words.values())
        self._parts = PartReader(words, hemisphere, self._turned)
        self._hold_reader = HoldReader(words, self._turned)
        self._holds_written = Written({}, Spot.start_of(""))
        self._standing = self._read_standing()
        self.all_rules = dict(self._standing)

    def resolve(
        self, name: str, named_in: Passage, changes: Sequence[ScheduleChange] = ()
    ) -> Schedule | None:
        """The schedule of a name with changes laid over it, weakest first; None with its problems noted.

        The same name and the very same changes give the same object.
        """
        key = (name, *(id(change.value) for change in changes))
        if key not in self._resolved:
            page = self._page(name, named_in)
            self._resolved[key] = None if page is None else self._build(page, changes)
        return self._resolved[key]

    def _page(self, name: str, named_in: Passage) -> Page | None:
        """The file of a schedule, None when it is not there or holds no mapping; unknown names are noted."""
        if name not in self._pages:
            self._pages[name] = self._find(name)
        page = self._pages[name]
        if page is None:
            named_in.unknown("schedule", name, {*shipped_names(), *self._folder.names()} - set(NO_SCHEDULES))
        return page if page is not None and isinstance(page.value, dict) else None

    def _find(self, name: str) -> Page | None:
        """A schedule's file: by its path, from the collection's own folder, or shipped. Its own slips are noted."""
        if name.endswith((".yaml", ".yml")):
            page = self._folder.page(name)
        elif "/" in name or name in NO_SCHEDULES:
            page = None
        else:
            page = self._folder.page(f"{SCHEDULES}/{name}.yaml") or shipped_page(name)
        if page is None:
            return None
        self._findings.add_misread(page.problems)
        if isinstance(page.value, dict):
            self._check_own(name, page.value, Passage(page.spot, self._findings))
        elif not page.problems:
            self._findings.at(page.spot, "is not a schedule; write keys such as schedule: and feeding:")
        return page

    def _check_own(self, name: str, value: Mapping[str, object], file: Passage) -> None:
        """Notes whom the file's days are written for, and a name that is not the file's."""
        if value.get("written_for") in ("north", "south"):
            self._written_for[file.source.file] = Hemisphere(str(value["written_for"]))
        said, expected = value.get("schedule"), name.rsplit("/", 1)[-1].rsplit(".", 1)[0]
        if isinstance(said, str) and said != expected:
            file.wrong(f"schedule: '{said}' differs from the file's name; write {expected}", "schedule")

    def _turned(self, day: DayOfYear, part: Passage) -> DayOfYear:
        """The day as it falls at the place, by what its file is written for; shipped files are for the north."""
        file = part.source.file
        usual = Hemisphere.NORTH if file.startswith(SHIPPED) else self._hemisphere
        return day if self._written_for.get(file, usual) is self._hemisphere else day.turned()

    def _read_standing(self) -> dict[str, HoldRule]:
        """The standing holds, in force wherever a schedule does not change them."""
        layered = read_layered(_HOLDS, self._folder, RULES, self._findings)
        if layered is None:
            return {}
        model, whole = layered
        self._holds_written = whole.inner("holds")
        holds = Passage(self._holds_written.spot, self._findings)
        found = {
            name: self._hold_reader.rule(name, part, holds.at(name), holds.key(name))
            for name, part in model.holds.items()
        }
        rules = {name: rule for name, rule in found.items() if rule is not None}
        check_bands(rules, rules, holds)
        check_turns(rules, rules, holds)
        check_unknown_shares(rules, model.holds, holds)
        return rules

    def _build(self, page: Page, changes: Sequence[ScheduleChange]) -> Schedule | None:
        """One schedule from its file and what is laid over it."""
        whole = Written(page.value, page.spot)
        layers = [Layer("schedule", str(whole.value.get("schedule")), page.spot.source)]
        for change in changes:
            changed: Changed = {}
            over = self._sound_change(change, whole.value)
            whole = _without_recipes(whole, over)
            changed_holds = self._changed_holds(over.get("holds"), whole.value.get("holds"))
            whole = lay_over(whole, Written(over, change.part.spot), changed)
            told = {key: text for key, text in changed.items() if not key.startswith("holds")}
            layers.append(Layer(change.kind, change.name, change.part.source, told | changed_holds))
        file = Passage(whole.spot, self._findings)
        model = check_shape(_SCHEDULE, whole.value, file)
        before = self._findings.count
        holds = self._holds(whole.value.get("holds"), file.at("holds"))
        if model is None:
            return None
        schedule = self._schedule(model, file, holds, tuple(layers))
        return schedule if self._findings.count == before else None

    def _changed_holds(self, over: object, had: object) -> Changed:
        """What a change makes of the holds in force, the standing ones among them."""
        changed: Changed = {}
        if isinstance(over, dict):
            standing, own = self._holds_written.value, had if isinstance(had, dict) else {}
            in_force = {**standing, **own}
            for name in own.keys() & standing.keys():
                parts = (part for part in (standing[name], own[name]) if isinstance(part, dict))
                in_force[name] = {key: value for part in parts for key, value in part.items()}
            spot = self._holds_written.spot
            lay_over(Written(in_force, spot), Written(over, spot), changed, ("holds",))
        return changed

    def _schedule(
        self, model: ScheduleModel, file: Passage, holds: Mapping[str, HoldRule], layers: tuple[Layer, ...]
    ) -> Schedule:
        if model.stages not in self._calendars:
            file.at("stages").unknown("calendar", model.stages, self._calendars, "stages")
        usual = model.usual
        if usual is not None and usual.least > usual.most:
            file.wrong("usual: the least is more than the most; swap them", "usual")
        periods = self._parts.periods(model, file)
        for period in periods:
            for hold in period.or_after - holds.keys():
                of = f"or_after of feeding period '{period.name}'"
                file.at("feeding", period.name, "or_after").unknown("hold", hold, holds, of)
        return Schedule(
            name=model.schedule,
            about=model.about,
            calendar=model.stages,
            periods=periods,
            water=self._parts.water(model, file),
            holds=holds,
            budget_mg_n_per_l=model.budget,
            weakest_ppm=DEFAULT_WEAKEST_PPM if model.weakest is None else model.weakest,
            ceilings=_ceilings(model.ceilings),
            bands_up=1 if model.root_work_counts == "one band up" else 0,
            look_for=self._parts.look_for(model, file),
            layers=layers,
            source=file.source,
            solid_periods=self._parts.solid_periods(model, file),
            allow_over=model.allow_over,
            indoors=model.indoors,
            weather_only_adds=model.weather_only_adds,
            usual=None if usual is None else UsualNitrogen(usual.least, usual.most, usual.source),
            repot_every_years=model.repot_every,
            beside_solids=DEFAULT_BESIDE_SOLIDS if model.beside_solids is None else model.beside_solids,
            least_laying=DEFAULT_LEAST_LAYING if model.least_laying is None else model.least_laying,
            work=self._parts.work(model, file, _works(holds)),
        )

    def _sound_change(self, change: ScheduleChange, base: Mapping[str, object]) -> dict[str, Any]:
        """The change without what cannot be changed and without feeding periods that are not there; both noted."""
        sound = {key: part for key, part in change.value.items() if key not in FIXED}
        for key in FIXED:
            if key in change.value:
                change.part.key(key).wrong(
                    f"changes of {change.kind} {change.name} cannot hold '{key}'; remove it"
                )
        periods, had = sound.get("feeding"), base.get("feeding")
        if isinstance(periods, dict) and isinstance(had, dict):
            place = change.part.at("feeding")
            kept = {name: part for name, part in periods.items() if name in had or _is_whole(part)}
            for name in periods.keys() - kept.keys():
                hint = near_miss(name, had) or "; a new one needs from, to, every and strength"
                place.key(name).wrong(f"the schedule has no feeding period '{name}'{hint}")
            sound["feeding"] = kept
        return sound

    def _holds(self, changed: object, part: Passage) -> Mapping[str, HoldRule]:
        """The standing rules, those that a schedule or its changes touch built anew."""
        if not isinstance(changed, dict) or not changed:
            return self._standing
        rules = dict(self._standing)
        for name, over in changed.items():
            if not isinstance(over, dict):
                part.key(name).wrong(_no_mapping(name, over))
                continue
            rule = self._changed_rule(name, over, part)
            if rule is not None:
                rules[name] = rule
                self.all_rules.setdefault(name, rule)
        check_bands(rules, changed, part)
        check_turns(rules, changed, part)
        return rules

    def _changed_rule(self, name: str, over: dict[str, object], holds: Passage) -> HoldRule | None:
        """A standing rule with some keys changed, or one of the schedule's own."""
        standing, start = self._holds_written, holds.key(name)
        rule = Written(over, holds.at(name).spot)
        if isinstance(standing.value.get(name), dict):
            rule = lay_over(standing.inner(name), rule)
        elif not _CAUSES & over.keys():
            hint = near_miss(name, standing.value) or "; a new one needs work, trouble, arrived or seen"
            start.wrong(f"no standing hold is called '{name}'{hint}")
            return None
        around = Spot.around(Spot.around(rule.spot, name, start.spot), "holds", holds.spot)
        whole = {"holds": {name: rule.value}}
        model = check_shape(_HOLDS, whole, Passage(around, self._findings))
        part = Passage(rule.spot, self._findings)
        return None if model is None else self._hold_reader.rule(name, model.holds[name], part, start)


def _works(holds: Mapping[str, HoldRule]) -> list[str]:
    """The words that may stand under work in the journal, each once."""
    return list(dict.fromkeys(rule.cause for rule in holds.values() if rule.kind is CauseKind.WORK))


def _ceilings(model: CeilingsModel | None) -> Ceilings:
    """The ceilings as written, each one left out at its usual."""
    told = (
        {}
        if model is None
        else {"ec_ms_per_cm": model.ec, "p_mg_per_l": model.phosphorus, "k_mg_per_l": model.potassium}
    )
    return Ceilings(**{name: most for name, most in told.items() if most})


def _without_recipes(whole: Written, over: Mapping[str, object]) -> Written:
    """A schedule without its solid periods where a change brings its own, which take the place of all of those."""
    feeding, new = whole.value.get("feeding"), over.get("feeding")
    if not isinstance(feeding, dict) or not isinstance(new, dict):
        return whole
    own = [n for n, part in new.items() if n not in feeding and isinstance(part, dict) and "solid" in part]
    if not own:
        return whole
    gone = [n for n, part in feeding.items() if isinstance(part, dict) and "solid" in part and n not in new]
    return lay_over(whole, Written({"feeding": dict.fromkeys(gone, NONE)}, whole.spot))


def _is_whole(period: object) -> bool:
    """Whether a feeding period can stand by itself."""
    return (
        isinstance(period, dict) and period.keys() >= _NEEDED and bool({"strength", "solid"} & period.keys())
    )


def _no_mapping(name: str, written: object) -> str:
    if written is None:
        return f"nothing is written for hold '{name}'; inside {{ }} put a name with a comma in quotes"
    return f"hold '{name}' is not a mapping; write keys such as at_least: 14 days"

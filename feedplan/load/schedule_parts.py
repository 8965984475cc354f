"""The parts of a schedule, each from its model to a frozen value: stages looked up, days turned to the place."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from decimal import Decimal
from itertools import combinations, pairwise

from feedplan.dose.strength import PpmN
from feedplan.load.problems import Passage, near_miss
from feedplan.load.read_words import day_of_year_text
from feedplan.load.schedule_models import HoldModel, LookForModel, PeriodModel, ScheduleModel, WorkTimeModel
from feedplan.load.vocabulary import StageWords
from feedplan.model.hold import Action, CauseKind, HeatBounds, HoldRule, Need
from feedplan.model.moment import AtStage, DayOfYear, FirstOf, Hemisphere, LastOf, Moment
from feedplan.model.schedule import FeedingPeriod, LookFor, SolidPeriod, WaterRow, WorkTime

DEFAULT_RAMP_STEP_DAYS = 10
DEFAULT_REVIEW_EVERY_DAYS = 14

Turn = Callable[[DayOfYear, Passage], DayOfYear]
"""A day as it falls at the place, by what the file it is written in is meant for."""


class PartReader:
    """Builds the parts of schedules for one place."""

    def __init__(self, words: StageWords, hemisphere: Hemisphere, turned: Turn) -> None:
        self._words = words
        self._hemisphere = hemisphere
        self._turned = turned

    def periods(self, model: ScheduleModel, file: Passage) -> tuple[FeedingPeriod, ...]:
        """The feeding periods, in the order written; problems and overlaps are noted."""
        feeding = file.at("feeding")
        periods = tuple(
            self._period(name, part, feeding) for name, part in _periods(model) if part.solid is None
        )
        for earlier, later in combinations(periods, 2):
            if self._overlap(earlier, later):
                feeding.key(later.name).warn(
                    f"feeding period '{later.name}' overlaps '{earlier.name}'; the one written first counts"
                )
        return periods

    def _period(self, name: str, model: PeriodModel, feeding: Passage) -> FeedingPeriod:
        part, owner = feeding.at(name), f"feeding period '{name}'"
        start, stop = self._span(model, owner, part)
        gap = model.min_gap or -(-model.every * 7 // 10)
        if model.strength is None:
            part.wrong(f"{owner} has no 'strength'; write for example strength: 150 ppm N")
        for key in ("lift", "placement", "kinds"):
            if getattr(model, key):
                part.key(key).wrong(f"{key} of {owner} goes with solid; remove it")
        if gap > model.every:
            every, own = part.at("every"), part.at("min_gap")
            (own if every.source.file == own.source.file else every).wrong(
                f"{owner}: min_gap {gap} days is longer than every {model.every} days; shorten it"
            )
        return FeedingPeriod(
            name,
            start,
            stop,
            model.every,
            gap,
            model.strength or PpmN(Decimal(0)),
            model.root_zone_above,
            model.air_below,
            feeding.key(name).source,
            model.ratio,
            frozenset(model.or_after),
        )

    def solid_periods(self, model: ScheduleModel, file: Passage) -> tuple[SolidPeriod, ...]:
        """The periods in which solid feed is laid, in the order written; problems are noted."""
        feeding = file.at("feeding")
        return tuple(
            self._solid_period(name, part, feeding)
            for name, part in _periods(model)
            if part.solid is not None
        )

    def _solid_period(self, name: str, model: PeriodModel, feeding: Passage) -> SolidPeriod:
        part, owner = feeding.at(name), f"feeding period '{name}'"
        for key in ("strength", "ratio", "min_gap", "root_zone_above", "air_below", "or_after"):
            if getattr(model, key) not in (None, []):
                part.key(key).wrong(f"{key} of {owner} goes with liquid feed; remove it or solid")
        start, stop = self._span(model, owner, part)
        lift = None
        if model.lift is not None:
            lift = self._moment(model.lift, part.at("lift"), f"lift of {owner}")
        assert model.solid is not None
        return SolidPeriod(
            name,
            start,
            stop,
            model.every,
            model.solid.grams_per_l,
            model.solid.n_mg_per_l,
            lift,
            feeding.key(name).source,
            tuple(model.kinds),
            model.placement or "",
        )

    def work(self, model: ScheduleModel, file: Passage, causes: Collection[str]) -> tuple[WorkTime, ...]:
        """When which work is told, in the order written. causes: the journal words for work."""
        table = file.at("work")
        return tuple(
            self._work_time(name, told, table.at(name), table.key(name), causes)
            for name, told in model.work.items()
        )

    def _work_time(
        self, name: str, model: WorkTimeModel, part: Passage, key: Passage, causes: Collection[str]
    ) -> WorkTime:
        owner = f"work '{name}'"
        for index, word in enumerate(model.done):
            if word not in causes:
                part.at("done", index).unknown("work", word, causes, f"done of {owner}")
        return WorkTime(
            name=name,
            action=Action(model.work),
            start=self._moment(model.start, part.at("from"), f"from of {owner}"),
            stop=self._moment(model.stop, part.at("to"), f"to of {owner}"),
            say=model.say,
            if_unknown=model.if_unknown or "",
            done=tuple(model.done),
            again_after_years=model.again_after or 1,
            not_for=tuple(model.not_for),
            weak_too=model.weak_too,
            source=key.source,
        )

    def _span(self, model: PeriodModel, owner: str, part: Passage) -> tuple[Moment, Moment]:
        """Where a period begins and ends; days in the wrong order are noted."""
        start = self._moment(model.start, part.at("from"), f"from of {owner}")
        stop = self._moment(model.stop, part.at("to"), f"to of {owner}")
        if not isinstance(start, DayOfYear) or not isinstance(stop, DayOfYear):
            return start, stop
        if self._in_year(start) > self._in_year(stop):
            part.wrong(
                f"to of {owner}: {day_of_year_text(stop)} comes before {day_of_year_text(start)} "
                "in the growing year; swap them, or split the period where the year turns",
                "to",
            )
        return start, stop

    def _days(self, start: Moment, stop: Moment) -> tuple[tuple[int, int], tuple[int, int]] | None:
        """First and last day as places in the growing year, None when a stage decides."""
        if not isinstance(start, DayOfYear) or not isinstance(stop, DayOfYear):
            return None
        return self._in_year(start), self._in_year(stop)

    def _in_year(self, day: DayOfYear) -> tuple[int, int]:
        """A day's place in the growing year, which begins in January in the north and in July in the south."""
        south = self._hemisphere is Hemisphere.SOUTH
        return ((day.month + 5) % 12 if south else day.month - 1), day.day

    def _overlap(self, one: FeedingPeriod, other: FeedingPeriod) -> bool:
        first, second = self._days(one.start, one.stop), self._days(other.start, other.stop)
        return first is not None and second is not None and first[0] <= second[1] and second[0] <= first[1]

    def _moment(self, moment: Moment, part: Passage, of: str) -> Moment:
        """The moment with its stages as the vocabulary calls them and its days turned to the place."""
        match moment:
            case DayOfYear():
                return self._turned(moment, part)
            case AtStage(stage, offset, seen_only):
                return AtStage(self._words.known_stage(stage, part, of), offset, seen_only)
            case FirstOf(moments):
                return FirstOf(tuple(self._moment(inner, part, of) for inner in moments))
            case LastOf(moments):
                return LastOf(tuple(self._moment(inner, part, of) for inner in moments))

    def water(self, model: ScheduleModel, file: Passage) -> tuple[WaterRow, ...]:
        """The water table, in the order written."""
        table = file.at("water")
        if not model.water:
            table.wrong("water has no rows; write for example dormant: {shallow: twice a week, ...}")
        rows = []
        for name, row in model.water.items():
            start = table.key(name)
            stage = self._words.known_stage(name, start, "water")
            if stage != name and stage in model.water:
                start.wrong(f"water: '{name}' means {stage}, which has a row; keep one")
            rows.append(WaterRow(stage, row.shallow, row.medium, row.deep, row.weak, start.source))
        return tuple(rows)

    def look_for(self, model: ScheduleModel, file: Passage) -> dict[str, LookFor]:
        """What to look for, by stage."""
        part = file.at("look_for")
        return {
            self._words.known_stage(name, part.key(name), "look_for"): self._look(told, part.at(name))
            for name, told in model.look_for.items()
        }

    def _look(self, told: LookForModel | str, part: Passage) -> LookFor:
        if isinstance(told, str):
            return LookFor(told)
        to = None if told.to is None else self._turned(told.to, part.at("to"))
        done = frozenset(
            self._words.known_sign(word, part.at("until_seen", index), "until_seen of look_for")
            for index, word in enumerate(told.until_seen)
        )
        return LookFor(
            told.say, to, tuple(told.not_for), told.otherwise or "", told.sound_only, done, told.until_fed
        )


def _periods(model: ScheduleModel) -> Collection[tuple[str, PeriodModel]]:
    return () if isinstance(model.feeding, str) else model.feeding.items()


class HoldReader:
    """Builds hold rules for one place."""

    def __init__(self, words: StageWords, turned: Turn) -> None:
        self._words = words
        self._turned = turned

    def rule(self, name: str, model: HoldModel, part: Passage, start: Passage) -> HoldRule | None:
        """One rule, or None with its problems noted. start: where its name stands."""
        owner = f"hold '{name}'"
        cause = self._cause(owner, model, start)
        release = model.release_at
        if release is not None:
            release = self._words.known_stage(release, part.at("release_at"), f"release_at of {owner}")
        self._check_limits(owner, model, part)
        needs = self._needs("until_seen", owner, model.until_seen, part)
        instead = self._needs("instead_seen", owner, model.instead_seen, part)
        if cause is None:
            return None
        return HoldRule(
            name=name,
            kind=cause[0],
            cause=cause[1],
            stops=frozenset(action for actions in model.stops for action in actions),
            min_days=model.at_least,
            needs=needs,
            instead=instead,
            release_stage=release,
            roots_from=model.roots_from,
            roots_below=model.roots_below,
            band=model.band,
            ramp=tuple(model.ramp) or (Decimal(1),),
            ramp_step_days=model.ramp_step or DEFAULT_RAMP_STEP_DAYS,
            cap_share=model.cap_share,
            cap_ppm=model.cap,
            feed_every_days=model.feed_every,
            last_feed=None
            if model.last_feed is None
            else self._turned(model.last_feed, part.at("last_feed")),
            reviews_days=tuple(model.reviews),
            review_every_days=model.review_every or DEFAULT_REVIEW_EVERY_DAYS,
            carry_days=model.carry_over_after,
            turns_into=model.turns_into,
            turns_days=model.turns_after,
            water_surface_dry=model.let_surface_dry,
            do=tuple(model.do),
            carries_mg_n_per_l=model.carries,
            water_use=model.water_use,
            bands_up=int(model.root_work_counts == "one band up"),
            source=start.source,
            heat=self._heat(owner, model, part),
        )

    def _heat(self, owner: str, model: HoldModel, part: Passage) -> HeatBounds | None:
        """When the weather itself opens and ends the hold, None when it never does."""
        default = HeatBounds()
        if model.hot_from is None:
            for key in ("over_below", "over_days"):
                if getattr(model, key) is not None:
                    part.key(key).wrong(f"{key} of {owner} goes with hot_from; add hot_from: 32 °C")
            return None
        below = default.over_below_c if model.over_below is None else float(model.over_below)
        if below > model.hot_from:
            part.wrong(
                f"{owner} is over below {below:g} °C but begins at {model.hot_from} °C; write a lower one",
                "over_below",
            )
        return HeatBounds(float(model.hot_from), below, model.over_days or default.over_days)

    def _cause(self, owner: str, model: HoldModel, start: Passage) -> tuple[CauseKind, str] | None:
        words = {kind: getattr(model, kind.value) for kind in CauseKind}
        given = [(kind, word) for kind, word in words.items() if word is not None]
        if len(given) == 1 and given[0][0] is CauseKind.SEEN:
            return CauseKind.SEEN, self._words.known_sign(given[0][1], start.at("seen"), f"seen of {owner}")
        if len(given) == 1:
            return given[0]
        count = "no cause" if not given else "more than one cause"
        start.wrong(
            f"{owner} has {count}; write one of work, trouble, arrived or seen, such as trouble: frost"
        )
        return None

    def _needs(self, key: str, owner: str, needs: Sequence[Need], part: Passage) -> tuple[Need, ...]:
        """The needs with their signs as the vocabulary calls them."""
        return tuple(
            Need(self._words.known_sign(need.sign, part.at(key, index), f"{key} of {owner}"), need.times)
            for index, need in enumerate(needs)
        )

    def _check_limits(self, owner: str, model: HoldModel, part: Passage) -> None:
        low, high = model.roots_from, model.roots_below
        if low is not None and high is not None and low >= high:
            part.wrong(f"{owner} fits no share of roots; write roots_below above roots_from", "roots_below")
        if model.ramp != sorted(model.ramp) or 0 in model.ramp:
            part.wrong(f"ramp of {owner}: write rising shares above 0 %, such as [25 %, 50 %, 100 %]", "ramp")
        if bool(model.instead_seen) != (model.release_at is not None):
            part.wrong(f"{owner} needs both instead_seen and release_at, or neither", "instead_seen")
        if (model.turns_into is None) != (model.turns_after is None):
            part.wrong(f"{owner} needs both turns_into and turns_after, or neither", "turns_into")


def check_bands(rules: Mapping[str, HoldRule], written: Collection[str], holds: Passage) -> None:
    """Notes rules of one cause that share a band. written: the names of the rules that stand at this place."""
    for same in _by_cause(rules):
        for lighter, heavier in pairwise(same):
            name = heavier.name if heavier.name in written else lighter.name
            if lighter.band == heavier.band and name in written:
                other = lighter.name if name == heavier.name else heavier.name
                holds.key(name).wrong(
                    f"hold '{name}' has the same cause and band as '{other}'; write another band"
                )


def check_turns(rules: Mapping[str, HoldRule], written: Collection[str], holds: Passage) -> None:
    """Notes rules that turn into one that is not there, or that turns on. written: as in `check_bands`."""
    for name in rules.keys() & set(written):
        into = rules[name].turns_into
        if into is None:
            continue
        part = holds.at(name, "turns_into")
        if into not in rules:
            part.wrong(f"turns_into of hold '{name}': no hold is called '{into}'{near_miss(into, rules)}")
        elif rules[into].turns_into is not None or into == name:
            part.wrong(f"turns_into of hold '{name}': '{into}' turns on itself; name one that does not")


def check_unknown_shares(
    rules: Mapping[str, HoldRule], models: Mapping[str, HoldModel], holds: Passage
) -> None:
    """Notes a rule said to count for an unknown share of roots that is not the middle one of its cause."""
    for same in _by_cause(rules):
        for index, rule in enumerate(same):
            if models[rule.name].when_unknown and index != (len(same) - 1) // 2:
                told = "an unknown share counts as the middle band; remove it here"
                holds.wrong(f"when_unknown of hold '{rule.name}': {told}", rule.name, "when_unknown")


def _by_cause(rules: Mapping[str, HoldRule]) -> Iterator[list[HoldRule]]:
    """The rules of each cause, gentlest first."""
    by_cause: dict[tuple[CauseKind, str], list[HoldRule]] = {}
    for rule in rules.values():
        by_cause.setdefault((rule.kind, rule.cause), []).append(rule)
    for same in by_cause.values():
        yield sorted(same, key=lambda rule: rule.band)

"""Hold rules: from what a file says to the rules in force."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from decimal import Decimal
from itertools import pairwise

from feedplan.load.building.vocabulary import Words
from feedplan.load.findings import Findings
from feedplan.load.models.schedule_models import HoldModel
from feedplan.load.text.spots import Spot
from feedplan.model.hold import CauseKind, HeatBounds, HoldRule, Need
from feedplan.model.moment import DayOfYear

DEFAULT_RAMP_STEP_DAYS = 10
DEFAULT_REVIEW_EVERY_DAYS = 14


class HoldReader:
    """Builds rules. turns: tells whether the days at a place are meant for the other hemisphere."""

    def __init__(self, words: Words, turns: Callable[[Spot], bool], findings: Findings) -> None:
        self._words = words
        self._turns = turns
        self._findings = findings

    def rule(self, name: str, model: HoldModel, spot: Spot, start: Spot) -> HoldRule | None:
        """One rule, or None with its problems noted. start: where its name stands."""
        cause = self._cause(name, model, start)
        needs = self._needs(name, "until_seen", model.until_seen, spot)
        instead = self._needs(name, "instead_seen", model.instead_seen, spot)
        release = self._release(name, model, spot)
        self._check_limits(name, model, spot)
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
            last_feed=self._last_feed(model, spot),
            reviews_days=tuple(model.reviews),
            review_every_days=model.review_every or DEFAULT_REVIEW_EVERY_DAYS,
            carry_days=model.carry_over_after,
            water_surface_dry=model.let_surface_dry,
            do=tuple(model.do),
            carries_mg_n_per_l=model.carries,
            water_use=model.water_use,
            source=start.source,
            heat=self._heat(name, model, spot),
        )

    def _heat(self, name: str, model: HoldModel, spot: Spot) -> HeatBounds | None:
        """When the weather itself opens and ends the hold, None when it never does."""
        default = HeatBounds()
        if model.hot_from is None:
            for key in ("over_below", "over_days"):
                if getattr(model, key) is not None:
                    self._findings.at(
                        spot.key(key), f"{key} of hold '{name}' goes with hot_from; add hot_from: 32 °C"
                    )
            return None
        below = default.over_below_c if model.over_below is None else float(model.over_below)
        if below > model.hot_from:
            self._findings.at(
                spot.at(("over_below",)),
                f"hold '{name}' is over below {below:g} °C but begins at {model.hot_from} °C; write a lower one",
            )
        return HeatBounds(float(model.hot_from), below, model.over_days or default.over_days)

    def _cause(self, name: str, model: HoldModel, start: Spot) -> tuple[CauseKind, str] | None:
        words = {kind: getattr(model, kind.value) for kind in CauseKind}
        given = [(kind, word) for kind, word in words.items() if word is not None]
        if len(given) == 1:
            return given[0]
        count = "no cause" if not given else "more than one cause"
        self._findings.at(
            start, f"hold '{name}' has {count}; write one of work, trouble or arrived, such as trouble: frost"
        )
        return None

    def _needs(self, name: str, key: str, needs: Sequence[Need], spot: Spot) -> tuple[Need, ...]:
        """The needs with their signs as the vocabulary calls them."""
        found = []
        for index, need in enumerate(needs):
            sign = self._words.sign(need.sign)
            if sign is None:
                hint = self._words.sign_hint(need.sign)
                self._findings.at(
                    spot.at((key, index)), f"{key} of hold '{name}': no sign is called '{need.sign}'{hint}"
                )
            else:
                found.append(Need(sign, need.times))
        return tuple(found)

    def _release(self, name: str, model: HoldModel, spot: Spot) -> str | None:
        if model.release_at is None:
            return None
        release = self._words.stage(model.release_at)
        if release is None:
            hint = self._words.stage_hint(model.release_at)
            self._findings.at(
                spot.at(("release_at",)),
                f"release_at of hold '{name}': no stage is called '{model.release_at}'{hint}",
            )
        return release

    def _last_feed(self, model: HoldModel, spot: Spot) -> DayOfYear | None:
        last: DayOfYear | None = model.last_feed
        return last.turned() if last is not None and self._turns(spot.at(("last_feed",))) else last

    def _check_limits(self, name: str, model: HoldModel, spot: Spot) -> None:
        low, high = model.roots_from, model.roots_below
        if low is not None and high is not None and low >= high:
            self._findings.at(
                spot.at(("roots_below",)),
                f"hold '{name}' fits no share of roots; write roots_below above roots_from",
            )
        if model.ramp != sorted(model.ramp) or 0 in model.ramp:
            self._findings.at(
                spot.at(("ramp",)),
                f"ramp of hold '{name}': write rising shares above 0 %, such as [25 %, 50 %, 100 %]",
            )
        if bool(model.instead_seen) != (model.release_at is not None):
            self._findings.at(
                spot.at(("instead_seen",)),
                f"hold '{name}' needs both instead_seen and release_at, or neither",
            )


def check_bands(
    rules: Mapping[str, HoldRule], written: Collection[str], spot: Spot, findings: Findings
) -> None:
    """Notes rules of one cause that share a band. written: the names of the rules that stand at this place."""
    for same in _by_cause(rules):
        for lighter, heavier in pairwise(same):
            name = heavier.name if heavier.name in written else lighter.name
            if lighter.band == heavier.band and name in written:
                other = lighter.name if name == heavier.name else heavier.name
                findings.at(
                    spot.key(name),
                    f"hold '{name}' has the same cause and band as '{other}'; write another band",
                )


def check_unknown_shares(
    rules: Mapping[str, HoldRule], models: Mapping[str, HoldModel], spot: Spot, findings: Findings
) -> None:
    """Notes a rule said to count for an unknown share of roots that is not the middle one of its cause."""
    for same in _by_cause(rules):
        for index, rule in enumerate(same):
            if models[rule.name].when_unknown and index != (len(same) - 1) // 2:
                findings.at(
                    spot.at((rule.name, "when_unknown")),
                    f"when_unknown of hold '{rule.name}': an unknown share counts as the middle band; remove it here",
                )


def _by_cause(rules: Mapping[str, HoldRule]) -> Iterator[list[HoldRule]]:
    """The rules of each cause, gentlest first."""
    by_cause: dict[tuple[CauseKind, str], list[HoldRule]] = {}
    for rule in rules.values():
        by_cause.setdefault((rule.kind, rule.cause), []).append(rule)
    for same in by_cause.values():
        yield sorted(same, key=lambda rule: rule.band)

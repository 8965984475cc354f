"""Hold rules: from what a file says to the rules in force."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

from feedplan.load.problems import Findings
from feedplan.load.schedule_models import HoldModel
from feedplan.load.spots import Spot
from feedplan.load.vocabulary import Words
from feedplan.model.hold import CauseKind, HoldRule, Need
from feedplan.model.moment import Hemisphere

DEFAULT_RAMP_STEP_DAYS = 10
DEFAULT_REVIEW_EVERY_DAYS = 14


def hold_rule(
    name: str,
    model: HoldModel,
    spot: Spot,
    words: Words,
    turns: Callable[[Spot], bool],
    findings: Findings,
) -> HoldRule | None:
    """One rule, or None with its problems noted. turns: whether days at a place are meant for the other half-year."""
    cause = _cause(name, model, spot, findings)
    needs = _needs(name, "until_seen", model.until_seen, spot, words, findings)
    instead = _needs(name, "instead_seen", model.instead_seen, spot, words, findings)
    release = None
    if model.release_at is not None:
        release = words.stage(model.release_at)
        if release is None:
            place = spot.child("release_at") or spot
            hint = words.stage_hint(model.release_at)
            findings.at(place, f"release_at of hold '{name}': no stage is called '{model.release_at}'{hint}")
    _check_limits(name, model, spot, findings)
    if cause is None:
        return None
    last = model.last_feed
    if last is not None and turns(spot.child("last_feed") or spot):
        last = last.turned()
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
        last_feed=last,
        reviews_days=tuple(model.reviews),
        review_every_days=model.review_every or DEFAULT_REVIEW_EVERY_DAYS,
        carry_days=model.carry_over_after,
        water_surface_dry=model.let_surface_dry,
        do=tuple(model.do),
        source=spot.source,
    )


def _cause(name: str, model: HoldModel, spot: Spot, findings: Findings) -> tuple[CauseKind, str] | None:
    given = [
        (kind, word)
        for kind, word in (
            (CauseKind.WORK, model.work),
            (CauseKind.TROUBLE, model.trouble),
            (CauseKind.ARRIVED, model.arrived),
        )
        if word is not None
    ]
    if len(given) == 1:
        return given[0]
    count = "no cause" if not given else "more than one cause"
    findings.at(
        spot, f"hold '{name}' has {count}; write one of work, trouble or arrived, such as trouble: frost"
    )
    return None


def _needs(
    name: str, key: str, needs: list[Need], spot: Spot, words: Words, findings: Findings
) -> tuple[Need, ...]:
    """The needs with their signs as the vocabulary calls them."""
    found = []
    for index, need in enumerate(needs):
        sign = words.sign(need.sign)
        if sign is None:
            place = spot.at((key, index))
            findings.at(
                place, f"{key} of hold '{name}': no sign is called '{need.sign}'{words.sign_hint(need.sign)}"
            )
        else:
            found.append(Need(sign, need.times))
    return tuple(found)


def _check_limits(name: str, model: HoldModel, spot: Spot, findings: Findings) -> None:
    if (
        model.roots_from is not None
        and model.roots_below is not None
        and model.roots_from >= model.roots_below
    ):
        findings.at(
            spot.child("roots_below") or spot, f"hold '{name}' fits no root share; roots_below must be larger"
        )
    if model.ramp != sorted(model.ramp):
        findings.at(spot.child("ramp") or spot, f"ramp of hold '{name}' goes down; write rising shares")
    if any(step == 0 for step in model.ramp):
        findings.at(
            spot.child("ramp") or spot, f"ramp of hold '{name}' starts at nothing; write shares above 0 %"
        )
    if bool(model.instead_seen) != (model.release_at is not None):
        findings.at(spot, f"hold '{name}' needs both instead_seen and release_at, or neither")


def turner(place: Hemisphere, written_for: Callable[[str], Hemisphere]) -> Callable[[Spot], bool]:
    """Tells whether a day written at some place is meant for the other hemisphere, by its file."""
    return lambda spot: written_for(spot.file) is not place

"""The parts of a collection, each from its model to the frozen value feedplan reasons about."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, time
from decimal import Decimal

from feedplan.dose.arithmetic import LIQUID, Product
from feedplan.dose.arithmetic import SOLID as POWDER
from feedplan.dose.strength import LabelShare, PpmN
from feedplan.load.building.feed_parts import (
    ec_of,
    grade_of,
    nitrogen_of,
    on_hand_of,
)
from feedplan.load.findings import Findings, either, near_miss
from feedplan.load.models.collection_models import (
    AwayModel,
    FeedModel,
    FeedUseModel,
    HabitsModel,
    NoteModel,
    PlaceModel,
    PotModel,
)
from feedplan.load.readers.care_measures import shaped_pot
from feedplan.load.text.spots import Spot
from feedplan.model.collection import (
    Away,
    ChecksBy,
    Feed,
    FeedUse,
    Habits,
    Place,
    Pot,
    Unlogged,
    YearlyNote,
)
from feedplan.model.forms import DISSOLVING, FORMS, SOLID, Form
from feedplan.model.schedule import Schedule


def slug(name: str) -> str:
    """A name in small letters, digits and hyphens, any script; "collection" when nothing is left."""
    plain = unicodedata.normalize("NFC", name).casefold()
    return re.sub(r"[\W_]+", "-", plain).strip("-") or "collection"


def place_of(model: PlaceModel) -> Place:
    """The place."""
    return Place(model.name, model.latitude, model.time_zone, model.elevation or Decimal(0))


def habits_of(model: HabitsModel | None) -> Habits:
    """The habits, defaults filled in."""
    default = Habits()
    if model is None:
        return default
    return Habits(
        Unlogged(model.unlogged_feeds),
        tuple(sorted(set(model.feed_on))),
        model.can or default.can_litres,
        model.feed_share or default.feed_share,
        _three(model.checks_at) if model.checks_at else default.checks_at,
        model.alarm,
        model.most_products,
        ChecksBy(model.checks_by),
        model.drain_through or default.drain_share,
        model.flush,
        model.heavy_rain or default.heavy_rain_mm,
        default.root_zone_air_c if model.root_zone_air is None else model.root_zone_air,
        model.warm_days or default.warm_days,
        default.frost_alert_c if model.frost_alert is None else model.frost_alert,
        model.wind_alert or default.wind_alert_m_per_s,
    )


def _three(times: Sequence[time]) -> tuple[time, time, time]:
    return times[0], times[1], times[2]


def feed_of(name: str, model: FeedModel, spot: Spot, findings: Findings) -> Feed | None:
    """A feed, or None with its problems noted."""
    before = findings.count
    form = FORMS[model.form]
    rate = _per_litre(name, "label_rate", model, spot, findings)
    maximum = _per_litre(name, "label_maximum", model, spot, findings)
    if rate is not None and maximum is not None and maximum < rate:
        findings.at(
            spot.at(("label_maximum",)),
            f"label_maximum of feed '{name}' is below its label_rate; look at the label again",
        )
    _check_form(name, model, form, spot, findings)
    grade = grade_of(name, model, spot, findings)
    if grade is None:
        return None
    is_liquid = form.unit == "ml"
    try:
        product = Product(
            grade=grade,
            form=LIQUID if is_liquid else POWDER,
            density_kg_per_l=model.density if is_liquid else None,
            by_volume=is_liquid and model.measured == "by volume",
            spoon_g=None if is_liquid else model.spoon,
            label_rate_per_l=rate,
            label_maximum_per_l=maximum,
            name=name,
        )
    except ValueError as error:
        if findings.count == before:
            findings.at(spot.at(("grade",)), f"grade of feed '{name}': {error}")
        return None
    shortest, longest = model.longevity or (form.usual_days, form.usual_days)
    feed = Feed(
        name,
        form,
        product,
        shortest,
        Decimal(21) if model.longevity_at is None else model.longevity_at,
        spot.source,
        longest_days=longest,
        released=model.released or form.released or Decimal(1),
        ec_per_100_ppm_n=ec_of(name, model, product, spot, findings),
        nitrogen=nitrogen_of(name, model, grade, spot, findings),
        salt=model.salt or "",
        on_hand=on_hand_of(name, model, product, spot, findings),
    )
    return None if findings.count > before else feed


def _check_form(name: str, model: FeedModel, form: Form, spot: Spot, findings: Findings) -> None:
    """Notes keys that do not belong to the form, and a liquid that cannot be measured."""
    is_liquid = form.unit == "ml"
    if is_liquid and model.measured == "by weight" and model.density is None:
        findings.at(
            spot,
            f"feed '{name}' is a liquid measured by weight and has no density; "
            "write density: 1.15 kg per L as its label says, or measured: by volume",
        )
    for key, allowed, of_what in (
        ("density", is_liquid, "liquid"),
        ("measured", is_liquid, "liquid"),
        ("spoon", not is_liquid, "powder or granule"),
        ("longevity", form.is_solid, "coated feed"),
        ("longevity_at", form.is_solid, "coated feed"),
        ("released", form.released is not None, "meal or organic feed"),
    ):
        if key in model.model_fields_set and not allowed and getattr(model, key) is not None:
            findings.at(
                spot.key(key), f"{key} of feed '{name}' belongs to a {of_what}; remove it or mend form"
            )


def _per_litre(name: str, key: str, model: FeedModel, spot: Spot, findings: Findings) -> Decimal | None:
    """A label's rate in what the feed is measured in [g/L or ml/L]."""
    rate = getattr(model, key)
    if rate is None:
        return None
    amount, unit = rate
    wanted = FORMS[model.form].unit
    if unit == wanted:
        return Decimal(amount)
    if wanted == "ml" and model.density is not None:
        return Decimal(amount) / model.density
    what = "liquid; write ml" if wanted == "ml" else f"{model.form} feed; weigh it and write g"
    findings.at(
        spot.at((key,)),
        f"{key} of feed '{name}' is in {unit}, but it is a {what}, such as 1 {wanted} per L",
    )
    return None


def pot_of(part: Pot | PotModel, tree: Spot, owner: str, findings: Findings) -> Pot | None:
    """A pot, or None with its problem noted. tree: the place of its owner."""
    if isinstance(part, Pot):
        return part
    try:
        return shaped_pot(part.size, part.shape, part.volume, part.depth, part.open_sided)
    except ValueError as error:
        findings.at(tree.at(("pot",)), f"pot of {owner}: {error}")
        return None


def feed_uses(
    parts: list[FeedUseModel],
    spot: Spot,
    owner: str,
    feeds: dict[str, Feed | None],
    findings: Findings,
    *,
    key: str = "feed",
) -> tuple[FeedUse, ...]:
    """The feeds a group or tree uses, in order of their start. key: feed, or solid_feed for those laid on pots."""
    uses = []
    for index, part in enumerate(parts):
        place = spot.at((index,))
        if part.use not in feeds:
            findings.at(
                place.at(("use",)),
                f"{key} of {owner}: no feed is called '{part.use}'{near_miss(part.use, feeds)}",
            )
        feed = feeds.get(part.use)
        if feed is not None and feed.is_solid and key == "feed":
            findings.at(
                place,
                f"feed of {owner}: '{part.use}' is {feed.form} and laid on the pot, not mixed in a can; "
                f"name a {either(DISSOLVING)} feed, and record the other as laid",
            )
        if feed is not None and not feed.is_solid and key != "feed":
            findings.at(place, f"{key} of {owner}: '{part.use}' is {feed.form}; name a {either(SOLID)} feed")
        uses.append(FeedUse(part.use, part.start, place.source))
    uses.sort(key=lambda use: use.start or date.min)
    starts = [use.start for use in uses]
    if len(set(starts)) < len(starts):
        findings.at(spot, f"{key} of {owner}: two feeds start on the same day; give each its own from")
    return tuple(uses)


def strength_slips(
    schedule: Schedule | None, uses: Sequence[FeedUse], feeds: Mapping[str, Feed | None]
) -> Iterator[str]:
    """Which strengths of a schedule set no dose with a feed in use: it has no nitrogen, or no label rate."""
    if schedule is None:
        return
    for feed in filter(None, (feeds.get(use.feed) for use in uses)):
        for period in schedule.periods:
            of_plan = f"{period.strength} in '{period.name}' sets no dose"
            if isinstance(period.strength, PpmN) and feed.n_mg_per_g == 0:
                yield f"'{feed.name}' holds no nitrogen, so {of_plan}; use another feed, or a share of its label rate"
            elif isinstance(period.strength, LabelShare) and feed.product.label_rate_per_l is None:
                yield f"'{feed.name}' has no label_rate, so {of_plan}; add for example label_rate: 1 g per L"


def away_of(model: AwayModel, spot: Spot, findings: Findings) -> Away:
    """A stretch of days away."""
    if model.end < model.start:
        findings.at(spot, f"away ends on {model.end}, before it begins on {model.start}; swap from and to")
    return Away(model.start, model.end, spot.source)


def note_of(model: NoteModel, spot: Spot) -> YearlyNote:
    """A note of the grower's own."""
    return YearlyNote(model.on, model.say, spot.source)

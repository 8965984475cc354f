"""What a group asks to be mixed from the shelf, checked against its feeds and its schedule."""

from __future__ import annotations

from collections.abc import Mapping

from feedplan.dose.strength import LabelShare
from feedplan.load.findings import Findings, near_miss
from feedplan.load.models.collection_models import GroupModel
from feedplan.load.text.spots import Spot
from feedplan.model.collection import Feed
from feedplan.model.schedule import Schedule


def check_mix(
    name: str,
    model: GroupModel,
    schedule: Schedule | None,
    feeds: Mapping[str, Feed | None],
    *,
    spot: Spot,
    findings: Findings,
) -> None:
    """Notes a ratio beside a feed, products that cannot be mixed, and strengths that need a product's label."""
    owner = f"group '{name}'"
    if model.ratio is not None and model.feed:
        findings.at(
            spot.key("ratio"),
            f"{owner} names a feed and a ratio; remove one: a ratio is mixed from the shelf",
        )
    for index, feed_name in enumerate(model.mix_of):
        place = spot.at(("mix_of", index))
        if feed_name not in feeds:
            hint = near_miss(feed_name, feeds)
            findings.at(place, f"mix_of of {owner}: no feed is called '{feed_name}'{hint}")
        feed = feeds.get(feed_name)
        if feed is not None and feed.is_solid:
            findings.at(place, f"mix_of of {owner}: '{feed_name}' is {feed.form}; name feeds that dissolve")
    if schedule is None or model.feed:
        return
    if model.mix_of and model.ratio is None and all(period.ratio is None for period in schedule.periods):
        findings.at(spot.key("mix_of"), f"mix_of of {owner} goes with a ratio; add ratio: 3-1-2 oxide")
    for period in schedule.periods:
        if isinstance(period.strength, LabelShare) and (model.ratio or period.ratio):
            findings.at(
                spot.key("ratio"),
                f"{owner}: {period.strength} in '{period.name}' has no one label in a mix; "
                f"change its strength to ppm N",
            )

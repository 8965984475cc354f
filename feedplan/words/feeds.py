"""What was told of a feed and what became of it, in words."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from feedplan.engine.season import RoundItem
from feedplan.model.course import FeedEvent
from feedplan.model.history import Outcome
from feedplan.model.journal import NotFed
from feedplan.words.language import say, say_count
from feedplan.words.writing import percent, ppm_words

_BECAME = {
    Outcome.ASKED: "not answered yet",
    Outcome.GIVEN: "given",
    Outcome.OTHERWISE: "given otherwise",
    Outcome.NOT_GIVEN: "not given",
    Outcome.TAKEN: "nothing written, so taken as given",
    Outcome.MISSED: "nothing written, so taken as missed",
}


def told_words(feed: FeedEvent) -> str:
    """What was told: "150 ppm N of powder"."""
    return strength_words(feed.asked_ppm, feed.asked_product)


def became_words(feed: FeedEvent) -> str:
    """What became of it: "given otherwise: 100 ppm N in place of 150 ppm N, 2 days late"."""
    words = say("given, though none was told") if feed.is_extra else say(_BECAME[feed.outcome])
    details = details_words(feed)
    return say("{became}: {details}", became=words, details=details) if details else words


def details_words(feed: FeedEvent) -> str:
    """How what was given differs from what was told, or why nothing was; empty where no entry says so."""
    return ", ".join(_details(feed)) if feed.entry is not None else ""


def _details(feed: FeedEvent) -> Iterator[str]:
    if feed.entry is not None and isinstance(feed.entry.fact, NotFed) and feed.entry.fact.because:
        yield feed.entry.fact.because
    if (feed.ppm, feed.feed) != (feed.asked_ppm, feed.asked_feed):
        product, asked = ("", "") if feed.feed == feed.asked_feed else (feed.product, feed.asked_product)
        given, told = strength_words(feed.ppm, product), strength_words(feed.asked_ppm, asked)
        yield given if feed.is_extra else say("{given} in place of {told}", given=given, told=told)
    if feed.part != 1:
        yield say("{share} of the usual pour", share=percent(feed.part))
    late = (feed.day - feed.told).days
    if late > 0:
        yield say_count("{count} day late", "{count} days late", late)
    elif late < 0:
        yield say_count("{count} day early", "{count} days early", -late)


def asked_words(item: RoundItem) -> str:
    """How strong a mix is to be: its nitrogen, or of a product without any a share of its label rate."""
    if item.label_share:
        return say("{share} of the label rate", share=percent(item.label_share))
    return ppm_words(item.ppm)


def strength_words(ppm: Decimal, product: str) -> str:
    """A strength and what it is made of: "150 ppm N of powder"; the strength alone for no product."""
    strength = ppm_words(ppm)
    return say("{strength} of {feed}", strength=strength, feed=product) if product else strength

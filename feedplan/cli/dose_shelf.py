"""What `feedplan dose` takes from a collection's shelf: the product, the can, and what a pen should show of the mix."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from feedplan.cli.options import collection_file
from feedplan.cli.words import choices
from feedplan.dose.arithmetic import Dose
from feedplan.dose.conductivity import ec_at
from feedplan.dose.expected_ec import ExpectedEc, expected_ec
from feedplan.errors import DoseError
from feedplan.load.feeds import Shelf, load_shelf
from feedplan.model.collection import Feed

# A range wider than this cannot catch a doubled dose, so it is not printed.
_WIDEST = 1.5


def shelf_of(collection: str | None) -> Shelf:
    """The shelf of a collection. Raises FeedplanError when it cannot be read."""
    return load_shelf(collection_file(collection))


def feed_named(shelf: Shelf, name: str) -> Feed:
    """A feed that dissolves. Raises DoseError when there is none of that name, or it is laid on the pot."""
    if name not in shelf.feeds:
        raise DoseError(f"no feed {name!r} in the collection; {choices(name, shelf.feeds)}")
    feed = shelf.feeds[name]
    if feed.is_solid:
        raise DoseError(f"{name!r} is laid on the pot, not mixed into water; name a soluble or liquid feed")
    return feed


def expected_of(dose: Dose, feed: Feed) -> ExpectedEc | None:
    """What one product's mix adds to the water's conductivity; None where that is not sure enough to be of use."""
    own = None if feed.ec_per_100_ppm_n is None else float(feed.ec_per_100_ppm_n)
    found = expected_ec(dose, 0.0, own, dict(feed.nitrogen) if feed.nitrogen or feed.salt else None)
    return found if found is not None and 0 < found.high <= _WIDEST * found.low else None


def pen_lines(dose: Dose, feed: Feed, water_ec: float | None, at_c: Decimal | None) -> Iterator[str]:
    """What a pen should show of one product's mix, where that is sure enough to catch a doubled dose."""
    found = expected_of(dose, feed)
    if found is None:
        return
    over = " over the water's own" if water_ec is None else ""
    likely, low, high = ((water_ec or 0.0) + value for value in (found.likely, found.low, found.high))
    yield f"A conductivity pen shows about {likely:.2f} mS/cm at 25 °C ({low:.2f} to {high:.2f}){over}."
    yield from at_temperature(likely, at_c)


def pen_facts(dose: Dose, feed: Feed, water_ec: float | None) -> dict[str, object]:
    """The same numbers for JSON; empty where none is sure enough."""
    found = expected_of(dose, feed)
    if found is None:
        return {}
    water = water_ec or 0.0
    numbers = {"likely": found.likely, "low": found.low, "high": found.high}
    told: dict[str, object] = {name: round(water + value, 3) for name, value in numbers.items()}
    return {"ec_at_25_c_ms_per_cm": told, "with_water": water_ec is not None}


def at_temperature(ec25: float, at_c: Decimal | None) -> Iterator[str]:
    """What a pen that does not correct for temperature shows."""
    if at_c is not None:
        yield f"Without temperature correction it shows {ec_at(ec25, float(at_c)):.2f} at {at_c} °C."

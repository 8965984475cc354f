"""What `feedplan dose` adds for stocks: salts by name, how cold they may be kept, bottles apart, a label."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, datetime
from decimal import Decimal

from feedplan.dose.arithmetic import Dose, Product
from feedplan.dose.bottles import bottle_label, bottles_for, check_stock
from feedplan.dose.salts import SALTS, Salt
from feedplan.dose.stock import Stock
from feedplan.errors import DoseError

# A frost-free shed on a cold night. Judgement; give the coldest of your own place.
COLDEST_C = Decimal(10)

HANDS_AND_EYES = "A concentrate: gloves and eye protection; wash up. Nothing of it into drains or ponds."
BACKFLOW = "Through a hose or injector only with the backflow protection your local code asks for."


def salt_named(name: str) -> Salt:
    """The salt of that name. Raises DoseError for another."""
    if name not in SALTS:
        from feedplan.cli.words import choices

        raise DoseError(f"no salt is called {name!r}; {choices(name, SALTS)}")
    return SALTS[name]


def product_of_salt(name: str) -> Product:
    """A salt as a product, from its formula. Raises DoseError for an unknown one."""
    return Product(salt_named(name).grade, name=name)


def check_bottle(stock: Stock, salt: str, coldest_c: Decimal | None) -> None:
    """Raises DoseError for a stock of a salt that would crystallise in the cold, or that is restricted."""
    if salt:
        check_stock(stock, salt_named(salt), COLDEST_C if coldest_c is None else coldest_c)


def stock_cautions(salt: str) -> list[str]:
    """What to take care of with a stock, and with this salt."""
    own = SALTS[salt].caution if salt in SALTS else ""
    return [HANDS_AND_EYES, BACKFLOW, *([own] if own else [])]


def label_lines(dose: Dose, stock: Stock, bottle_litres: Decimal) -> Iterator[str]:
    """The label to stick on a bottle of so many litres of stock."""
    yield ""
    yield "Stick this on the bottle:"
    yield from (f"  {line}" for line in bottle_label(dose, stock, _today(), bottle_litres))


def _today() -> date:
    return datetime.now().astimezone().date()


def bottles_words(products: Sequence[Product]) -> Iterator[str]:
    """Which products may share a stock bottle, where they may not all."""
    bottles = bottles_for(products)
    if len(bottles) > 1:
        named = (
            f"bottle {letter}: {', '.join(product.title for product in bottle)}"
            for letter, bottle in zip("ABC", bottles, strict=False)
        )
        yield f"As stocks keep them apart: {'; '.join(named)}."

"""What the server says when it starts: its addresses, a code for the camera, and how to subscribe."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import segno

from feedplan.server.access import Access
from feedplan.server.addresses import Address, webcal
from feedplan.server.calendars import Offer

EVERYTHING = "everything.ics"

_BLOCKS = {(False, False): " ", (True, False): "▀", (False, True): "▄", (True, True): "█"}
_BLACK_ON_WHITE = "\x1b[38;5;16m\x1b[48;5;231m"  # of the 256 colours, two that no theme changes
_PLAIN = "\x1b[0m"


def welcome_lines(
    address: Address, access: Access, offers: Mapping[str, Offer], *, codes: bool, whole: bool = False
) -> Iterator[str]:
    """The addresses, each with what it is for. codes: draw them for a camera too; whole: list every calendar."""
    everything = address.calendar(access, EVERYTHING)
    yield f"Your page, which records too:  {address.round(access)}"
    yield f"To share, for reading only:    {address.shared(access)}"
    yield f"Calendar of everything:        {everything}"
    if whole:
        for offer in list(offers.values())[1:]:
            yield f"  {offer.title + ':':<29}{address.calendar(access, offer.file)}"
    else:
        yield "  Feeding, water, looks and each group have calendars of their own: see the page, or --show."
    yield "Whoever has such an address gets in: pass it on with care, and change them all with --new-secret."
    if codes:
        yield ""
        yield "Point the phone's camera here to subscribe to the calendar:"
        yield terminal_code(webcal(everything))
        yield "And here to open your page:"
        yield terminal_code(address.round(access))
    yield from how_to(everything)


def how_to(calendar: str) -> Iterator[str]:
    """Two lines on subscribing, for the two common families of phones."""
    yield f"Phones that know webcal: open {webcal(calendar)} and say yes to subscribing."
    yield f"Other phones: in a calendar that can subscribe by address, paste {calendar}"


def facts(address: Address, access: Access, offers: Mapping[str, Offer]) -> dict[str, object]:
    """The same for `--json`."""
    return {
        "page": address.round(access),
        "page_to_share": address.shared(access),
        "calendars": {offer.title: address.calendar(access, file) for file, offer in offers.items()},
    }


def terminal_code(text: str) -> str:
    """A QR code in half-height blocks, black on white whatever the colours of the terminal."""
    rows = [list(row) for row in segno.make(text, error="l", micro=False).matrix_iter(border=2)]
    if len(rows) % 2:
        rows.append([0] * len(rows[0]))
    pairs = zip(rows[::2], rows[1::2], strict=True)
    lines = ("".join(_BLOCKS[top > 0, low > 0] for top, low in zip(*pair, strict=True)) for pair in pairs)
    return "\n".join(f"{_BLACK_ON_WHITE}{line}{_PLAIN}" for line in lines)

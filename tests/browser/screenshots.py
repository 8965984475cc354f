"""Pictures of the pages of the northern demo, as a phone shows them: python -m tests.browser.screenshots FOLDER."""

from __future__ import annotations

import shutil
import sys
import tempfile
from pathlib import Path

from tests.browser.browser import DESK, Browser, browsing, why_not
from tests.server.process import ROOT, serving

DAY = "2027-06-05"
SHOTS = (
    # name, page, window, dark, what to scroll to, or the bench to choose
    ("round", "", (360, 740), False, ""),
    ("mix", "", (360, 740), False, "#h-feed"),
    ("checks", "", (360, 740), True, "#h-water"),
    ("sink", "sink.html", (360, 740), False, ""),
    ("tree", "tree-corbel.html", (360, 740), True, ""),
    ("desk", "", DESK, False, ""),
    ("bench", "", (360, 740), False, "south wall"),  # last: the page keeps to the bench
)


def take(browser: Browser, address: str, folder: Path) -> None:
    """Take every picture and save it as a PNG."""
    for name, page, size, is_dark, target in SHOTS:
        browser.size(*size, dark=is_dark, scale=1 if size == DESK else 1.5)
        browser.open(address + page)
        if target and not target.startswith("#"):
            browser.click(f".benches button[value='{target}']")
        elif target:
            browser.run("document.querySelector(arguments[0]).scrollIntoView({behavior: 'instant'})", target)
        browser.picture(folder / f"{name}.png")


def main() -> None:
    """Serve a copy of the demo and take the pictures."""
    if why_not():
        sys.exit(f"No pictures taken: {why_not()}.")
    folder = Path(sys.argv[1])
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as place:
        copy = Path(place) / "northern"
        shutil.copytree(ROOT / "demo" / "northern", copy)
        with serving(copy, today=DAY) as server, browsing() as browser:
            take(browser, server.page, folder)
    print(f"Saved {len(SHOTS)} pictures in {folder}.")


if __name__ == "__main__":
    main()

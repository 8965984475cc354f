"""A whole morning with 150 trees on a phone: how many taps it takes, and that all of it stands in the journal."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
import yaml

from feedplan.load.collection import load_collection
from feedplan.model.journal import Checked, Fed, Seen
from tests.browser.browser import PHONE, Browser
from tests.browser.conftest import Scene
from tests.browser.garden import garden
from tests.server.within import serving_within

MOST_TAPS = 25
MOST_SCREENS = 2  # of a bench, each 740 px high as on a small phone
LEAST_TARGET = 44  # px, as high as a thumb needs
TODAY = date(2027, 6, 5)
COUNTS = """
return Object.fromEntries([...document.querySelectorAll(".jump a")].map(
  (each) => [each.getAttribute("href").slice(1), Number(each.querySelector("b").textContent)]))
"""


class Thumb:
    """A thumb that counts its taps, and sees after each that what it wrote down was written."""

    def __init__(self, browser: Browser) -> None:
        self.browser = browser
        self.taps = 0

    def tap(self, selector: str) -> None:
        self.browser.click(selector)
        self.taps += 1

    def record(self, selector: str) -> None:
        self.tap(selector)
        self.browser.wait(
            "return !JSON.parse(localStorage.getItem('outbox') || '[]').length"
            " && !document.querySelector('.answer[data-state=kept], .answer[data-state=refused]')"
        )

    def each(self, what: str) -> Iterator[int]:
        yield from range(self.browser.run(f"return document.querySelectorAll({what!r}).length"))


@pytest.fixture
def morning(browser: Browser, tmp_path: Path) -> Iterator[Scene]:
    folder = garden(tmp_path / "croft")
    with serving_within(folder) as server:
        browser.offline(False)
        browser.size(*PHONE)
        yield Scene(folder, server, browser)
        browser.open("about:blank")


def await_none(browser: Browser, part: str) -> None:
    """Wait until nothing of a part of the round is left to do."""
    browser.wait(f"return (() => {{{COUNTS}}})()[{part!r}] === 0")


def mark(browser: Browser, what: str, name: str) -> None:
    """Number the elements found, so that each can be tapped."""
    browser.run(f"document.querySelectorAll({what!r}).forEach((e, n) => e.dataset.mark = {name!r} + n)")


@pytest.mark.parametrize("by", ["mix", "can"])
def test_a_morning_of_150_trees_takes_few_taps(morning: Scene, by: str) -> None:
    browser = morning.open()
    begun = browser.run(COUNTS)
    assert begun["h-water"] == 150
    assert begun["h-look"] >= 25  # trees held for as many reasons
    assert begun["h-feed"] >= 80
    thumb = Thumb(browser)

    # Looks: nothing is there yet, one tap for each question.
    mark(browser, "[data-looks] > button", "look")
    for number in thumb.each("[data-looks] > button"):
        thumb.record(f"[data-mark=look{number}]")
    await_none(browser, "h-look")

    # Feeds: as the mixes or as the cans have them.
    feeds = ".mix > form.fed > button" if by == "mix" else ".can > form.fed > button"
    mark(browser, feeds, "feed")
    for number in thumb.each(feeds):
        thumb.record(f"[data-mark=feed{number}]")
    await_none(browser, "h-feed")

    # Water: all of a bench, and its answer.
    mark(browser, "[data-all]", "bench")
    for number in thumb.each("[data-all]"):
        thumb.tap(f"[data-mark=bench{number}]")
        thumb.record(f".ticked [value='check={'watered' if number % 2 else 'moist'}']")
    await_none(browser, "h-water")

    assert thumb.taps <= MOST_TAPS
    browser = morning.open()
    done = browser.run(COUNTS)
    assert [done.get(part, 0) for part in ("h-look", "h-feed", "h-water")] == [0, 0, 0]
    assert all_written(morning.folder) == {"checked": 150, "fed": begun["h-feed"], "not yet": begun["h-look"]}


def test_a_morning_bench_by_bench_takes_few_taps_and_two_screens_a_bench(morning: Scene) -> None:
    browser = morning.open()
    browser.size(360, 740)
    begun = browser.run(COUNTS)
    thumb = Thumb(browser)
    for bench in browser.texts(".benches button")[1:]:
        thumb.tap(f".benches button[value='{bench}']")
        assert browser.run("return document.documentElement.scrollHeight") <= MOST_SCREENS * 740, bench
        assert browser.run(TOO_LOW, LEAST_TARGET) == []
        for answer in ("check=moist", "fed=", "seen=not+yet"):
            button = f".ticked > .buttons [value^='{answer}']"
            if browser.run(f'return document.querySelector("{button}").checkVisibility()'):
                thumb.record(button)
    assert thumb.taps <= MOST_TAPS
    assert browser.run(COUNTS) == {**begun, "h-water": 0, "h-feed": 0, "h-look": 0}
    assert all_written(morning.folder) == {"checked": 150, "fed": begun["h-feed"], "not yet": begun["h-look"]}


TOO_LOW = """
return [...document.querySelectorAll("button, summary, label, .pages a")].filter((e) => e.checkVisibility())
  .filter((e) => Math.ceil(e.getBoundingClientRect().height) < arguments[0]).map((e) => e.outerHTML.slice(0, 80))
"""


def test_of_a_bench_those_ticked_are_told_each_of_them_once_and_undo_gives_them_back(morning: Scene) -> None:
    browser = morning.open()
    browser.click(".benches button[value='south wall']")
    told = (
        "return [document.querySelector('[data-for]'), ...document.querySelectorAll('[data-also] button')]"
        ".map((e) => e.textContent)"
    )
    assert browser.run(told) == ["For all 30 here:", "Fed: 22", "Not yet: 8"]
    fed = "[data-bench='south wall'] .chips [name=tree][data-fed]"
    held = "[data-bench='south wall'] .chips [name=tree]:not([data-fed])"
    browser.click(fed)
    browser.click(held)
    assert browser.run(told) == ["For the 2 ticked:", "Fed: 1", "Not yet: 1"]
    before = morning.journal
    browser.click("[data-also] [value^='fed=']")
    browser.wait("return document.querySelector('.checks [data-done] [type=button]')")
    (line,) = morning.journal.removeprefix(before).splitlines()
    name = browser.run(f'return document.querySelector("{fed}").value')
    assert f"tree: {name}" in line
    assert "fed: as planned" in line
    assert browser.run(told) == [
        "For the 1 ticked:",
        "Fed: 0",
        "Not yet: 1",
    ]  # one not to be fed stays ticked
    browser.click(held)
    assert browser.run(told)[:2] == ["For all 30 here:", "Fed: 21"]
    shown_by_mix = f"return document.querySelector(\".mix form.fed [name=tree][value='{name}']\").disabled"
    assert browser.run(shown_by_mix) is True
    browser.click(".checks [data-done] [type=button]")
    browser.wait("return document.querySelector('.checks .answer')?.textContent.includes('Taken back')")
    assert browser.run(told)[1] == "Fed: 22"
    assert browser.run(shown_by_mix) is False


def all_written(folder: Path) -> dict[str, int]:
    """For how many trees each thing of the day stands in the journal, no tree twice."""
    loaded = load_collection(folder / "collection.yaml")
    found: dict[str, list[str]] = {"checked": [], "fed": [], "not yet": []}
    for entry in loaded.journal.entries:
        kind = {Checked: "checked", Fed: "fed", Seen: "not yet"}.get(type(entry.fact))
        if entry.day == TODAY and kind is not None:
            found[kind] += [
                t.name
                for t in loaded.collection.trees
                if entry.is_about(t.name) and entry.subject.group in (None, t.group)
            ]
    twice = {kind: [name for name in names if names.count(name) > 1] for kind, names in found.items()}
    assert not any(twice.values()), (twice, (folder / "journal.yaml").read_text())
    return {kind: len(names) for kind, names in found.items()}


def test_what_is_poured_is_ticked_on_the_phone_for_the_day_and_written_down_nowhere(scene: Scene) -> None:
    browser = scene.open()
    before = scene.journal
    browser.click(".can .step")
    ticked = "return [...document.querySelectorAll('.step input')].map((e) => e.checked)"
    assert browser.run(ticked)[0] is True
    browser = scene.open()
    first, *others = browser.run(ticked)
    assert first
    assert others
    assert not any(others)
    assert scene.journal == before


def test_trees_fed_by_the_can_are_not_fed_by_their_mix_again_and_free_again_when_taken_back(
    scene: Scene,
) -> None:
    browser = scene.open()
    before = scene.journal
    open_mixes = "return document.querySelectorAll('.mix form.fed > button:not([aria-disabled=true])').length"
    begun = browser.run(open_mixes)
    browser.click(".mix form.fed > button")  # one mix by itself; then every can
    browser.wait("return document.querySelector('[data-done] [type=button]')")
    browser.run(
        "document.querySelectorAll('.can form.fed > button:not([aria-disabled=true])').forEach((e) => e.click())"
    )
    browser.wait("return !JSON.parse(localStorage.getItem('outbox')).length")
    fed = [line for line in scene.journal.removeprefix(before).splitlines() if "fed: as planned" in line]
    names = [name for line in fed for name in _names(line)]
    assert len(names) == len(set(names))
    assert browser.run(open_mixes) == 0
    browser.click(".mix [data-done] [type=button]")
    browser.wait("return document.querySelector('.mix .answer')?.textContent.includes('Taken back')")
    assert browser.run(open_mixes) == 1 < begun


def _names(line: str) -> list[str]:
    """The trees of an entry that names them, or its group."""
    (entry,) = yaml.safe_load(line)
    return list(entry.get("trees") or [entry.get("tree") or entry["group"]])

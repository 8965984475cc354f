"""The core of a round in Firefox on a phone: it opens, a tap is answered and written, waits out a server, the sink."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

import pytest

from feedplan.words.dose import three_figures
from tests.browser.firefox import Firefox, firefox, why_not
from tests.browser.test_a_tap_finishes import dose_facts, numbers
from tests.browser.test_the_page_in_a_browser import fill_sink, sink_says
from tests.server.process import ROOT
from tests.server.within import serving_within

SIZE = (360, 740)
FEED = "article.mix form.fed > button"
WRITTEN = "return document.querySelector('.mix [data-done]')?.textContent.includes('Recorded: ')"


@pytest.fixture(scope="module")
def phone() -> Iterator[Firefox]:
    if why_not():
        pytest.skip(why_not())
    with firefox() as found:
        found.size(*SIZE)
        yield found


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return Path(shutil.copytree(ROOT / "demo" / "northern", tmp_path / "northern"))


def test_a_tap_is_answered_in_place_and_written_and_nothing_is_complained_of(
    phone: Firefox, folder: Path
) -> None:
    before = (folder / "journal.yaml").read_text(encoding="utf-8")
    with serving_within(folder) as server:
        phone.complaints.clear()
        phone.open(server.page)
        assert phone.run("return document.documentElement.scrollWidth <= innerWidth")
        phone.run("window.same = true")
        phone.tap(FEED)
        phone.wait(WRITTEN)
        assert phone.run("return window.same && !location.hash")  # it went nowhere
        (line,) = (folder / "journal.yaml").read_text(encoding="utf-8").removeprefix(before).splitlines()
        assert "fed: as planned" in line
        phone.open("about:blank")
    assert phone.complaints == []


def test_a_tap_while_the_server_is_away_waits_and_is_written_once_it_is_back(
    phone: Firefox, folder: Path
) -> None:
    journal = folder / "journal.yaml"
    before = journal.read_text(encoding="utf-8")
    with serving_within(folder) as server:
        phone.open(server.page)
    phone.tap(FEED)
    phone.wait("return document.querySelector('.mix .answer')?.textContent.includes('Kept on this phone')")
    assert journal.read_text(encoding="utf-8") == before
    with serving_within(folder, server.port) as back:
        assert back.page == server.page
        phone.run("dispatchEvent(new Event('online'))")
        phone.wait(WRITTEN)
        assert phone.run("return JSON.parse(localStorage.getItem('outbox')).length") == 0
        assert len(journal.read_text(encoding="utf-8").removeprefix(before).splitlines()) == 1
        phone.open("about:blank")


def test_every_number_at_the_sink_is_the_number_of_dose(phone: Firefox, folder: Path) -> None:
    with serving_within(folder) as server:
        phone.open(f"{server.page}sink.html")
        for product, ppm, can in (("spring-24-8-16", "83", "9"), ("even-20-20-20", "18.75", "7")):
            facts = dose_facts(product, ppm, can, folder)
            fill_sink(phone, product=product, own_ppm=ppm, own_can=can)
            amount, lines = sink_says(phone)
            assert amount == f"{facts['grams']:.1f} g"
            assert numbers(lines) == {
                name: Decimal(three_figures(Decimal(str(facts[f"{name.lower()}_mg_per_l"]))))
                for name in "NPK"
            }
        phone.open("about:blank")

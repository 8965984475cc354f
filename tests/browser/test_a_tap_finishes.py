"""A tap from the thumb to the journal: at once, out of order, refused, taken back; and every number at the sink."""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from feedplan.cli.main import feedplan
from feedplan.words.dose import three_figures
from tests.browser.browser import AT_HOME, Browser
from tests.browser.conftest import Scene
from tests.browser.test_the_page_in_a_browser import fill_sink, sink_says

FIRST_ANSWER = """
window.states = {};
new MutationObserver(() => {
  for (const { dataset: { state } } of document.querySelectorAll(".answer[data-state]")) {
    states[state] ??= performance.now() - began;
  }
}).observe(document.body, {subtree: true, childList: true, attributes: true});
const button = document.querySelector(".fed button");
window.began = performance.now();
button.click();
"""


def waiting(browser: Browser) -> int:
    return len(json.loads(browser.run("return localStorage.getItem('outbox')") or "[]"))


def test_a_tap_is_answered_beside_it_within_a_tenth_of_a_second_without_a_connection(scene: Scene) -> None:
    browser = scene.open()
    browser.offline(True)
    browser.run(FIRST_ANSWER)
    assert browser.wait("return states.kept") <= 100
    assert "Kept on this phone" in browser.wait(
        "const said = document.querySelector('.fed .answer')?.textContent; return said?.includes('Kept') && said"
    )
    assert browser.run("return document.querySelector('.fed button').getAttribute('aria-disabled')") == "true"
    browser.open(scene.server.page + "sink.html")  # and it is told on any page that can be opened
    browser.offline(False)


def test_what_a_broken_journal_stands_in_the_way_of_stays_and_lands_when_it_is_mended(scene: Scene) -> None:
    browser = scene.open()
    before = scene.journal
    browser.offline(True)
    browser.run(
        "for (const each of [...document.querySelectorAll('article.mix form.fed > button')].slice(0, 2)) each.click()"
    )
    (scene.folder / "journal.yaml").write_text(before + "- {date: \n", encoding="utf-8")
    browser.offline(False)
    browser.wait("return document.querySelectorAll('.answer[data-state=refused]').length === 2", 60)
    assert "Not recorded: " in browser.text(".answer[data-state=refused]")
    assert waiting(browser) == 2
    (scene.folder / "journal.yaml").write_text(before, encoding="utf-8")
    browser.click(".answer[data-state=refused] button")  # the first is sent again by hand
    browser.wait("return document.querySelectorAll('.answer[data-state=written]').length === 1")
    scene.open()  # the other with the next page
    browser.wait("return !JSON.parse(localStorage.getItem('outbox')).length")
    assert scene.journal.removeprefix(before).count("fed: as planned") == 2


def test_a_refused_tap_is_dropped_by_hand_only_and_the_button_is_free_again(scene: Scene) -> None:
    browser = scene.open("tree-fennel.html")
    browser.run(
        "const date = document.querySelector('[name=other_date]'); date.max = ''; date.value = '2020-01-01';"
        "date.dispatchEvent(new Event('input', {bubbles: true}))"
    )
    browser.click("button[value='check=dry']")
    browser.wait("return document.querySelector('.answer[data-state=refused]')")
    assert "2020-01-01 is not in the last 400 days" in browser.text(".answer")
    scene.open("tree-fennel.html")
    browser.wait("return document.querySelector('.answer[data-state=refused]')")
    assert waiting(browser) == 1
    browser.click(".answer [type=button]:last-child")
    assert waiting(browser) == 0
    assert not browser.run("return document.querySelector('.answer')")
    assert browser.run("return document.querySelector('#outbox').hidden")


def test_a_date_that_is_picked_is_the_date_that_is_written(scene: Scene) -> None:
    browser = scene.open("tree-fennel.html")
    before = scene.journal
    browser.run(
        "const date = document.querySelector('[name=other_date]'); date.value = '2027-05-20';"
        "date.dispatchEvent(new Event('input', {bubbles: true}))"
    )
    browser.run("for (const each of document.querySelectorAll('details')) each.open = true")
    browser.click("button[value='trouble=frost']")
    browser.wait("return document.querySelector('[data-done]')")
    assert (
        "date: 2027-05-20, recorded: 2027-06-05, tree: Fennel, trouble: frost"
        in scene.journal.removeprefix(before)
    )


def test_root_work_is_taken_back_in_place_only_after_a_question(scene: Scene) -> None:
    browser = scene.open("tree-fennel.html")
    browser.run("for (const each of document.querySelectorAll('details')) each.open = true")
    browser.click("button[value^='work=repotted&roots=30']")
    browser.wait("return document.querySelector('[data-done]')")
    browser.click("[data-done] button")
    browser.wait("return document.querySelector('.answer[data-state=asked]')")
    assert "is lifted" in browser.text(".answer")
    assert "undo:" not in scene.journal.splitlines()[-1]
    browser.click(".answer [type=button]")
    browser.wait("return document.querySelector('.answer')?.textContent.includes('Taken back')")
    assert "undo:" in scene.journal.splitlines()[-1]


def test_counts_fall_with_each_tap_and_rise_when_it_is_taken_back(scene: Scene) -> None:
    browser = scene.open()
    count = "return Number(document.querySelector('.jump a[href=\"#h-feed\"] b').textContent)"
    before = browser.run(count)
    browser.click("article.mix form.fed > button")
    browser.wait("return document.querySelector('[data-done] button')")
    fewer = browser.run(count)
    assert fewer < before
    browser.click("[data-done] button")
    browser.wait("return document.querySelector('.answer')?.textContent.includes('Taken back')")
    assert browser.run(count) == before
    scene.open()
    assert browser.run(count) == before


def test_a_phone_that_comes_back_to_an_old_round_sees_what_another_has_written(scene: Scene) -> None:
    browser = scene.open()
    browser.run("window.old = true")
    with (scene.folder / "journal.yaml").open("a", encoding="utf-8") as journal:
        journal.write("- {date: 2027-06-05, tree: Rook, check: dry}\n")
    browser.run("document.querySelector('.checks .chips input').click()")
    browser.run("document.dispatchEvent(new Event('visibilitychange'))")
    browser.wait("return performance.getEntriesByType('resource').some((e) => e.name === location.href)")
    assert browser.run("return window.old")  # a tick is never lost to a new page
    browser.run("document.querySelector('.checks .chips input').click()")
    browser.run("document.dispatchEvent(new Event('visibilitychange'))")
    browser.wait("return !window.old && document.querySelector('h1')")
    assert browser.run(
        "return document.querySelector('.checks input[value=Rook]').parentElement.textContent.includes('✓ Dry')"
    )


def test_one_bench_at_a_time_all_of_it_at_a_tap_and_a_tree_by_its_name(scene: Scene) -> None:
    browser = scene.open()
    benches = browser.texts(".benches button")
    assert benches[0] == "All benches"
    browser.click(f".benches button[value='{benches[2]}']")
    shown = (
        "return [...document.querySelectorAll('[data-bench]')].filter((e) => e.checkVisibility())"
        ".map((e) => e.dataset.bench)"
    )
    assert browser.run(shown) == [benches[2]]
    browser.click(f"[data-bench='{benches[2]}'] [data-all]")
    ticked = browser.run("return document.querySelectorAll('.checks [name=tree]:checked').length")
    assert ticked == browser.run(
        f"return document.querySelectorAll(\"[data-bench='{benches[2]}'] [name=tree]\").length"
    )
    browser.run(
        "const find = document.querySelector('.find [name=q]'); find.value = 'rook'; find.form.requestSubmit()"
    )
    assert browser.run("return document.activeElement.value") == "Rook"
    assert len(browser.run(shown)) == len(benches) - 1


def test_over_plain_http_it_is_said_once_what_does_not_work_and_taps_do(scene: Scene) -> None:
    browser = scene.open()
    is_told = "return document.querySelector('#plain').checkVisibility()"
    assert browser.run(is_told) is False  # a computer trusts itself
    address = scene.server.page.replace("127.0.0.1", AT_HOME)
    browser.open(address)
    assert browser.run("return isSecureContext || 'serviceWorker' in navigator") is False
    assert "does not open without a connection" in browser.text("#plain")
    assert browser.run(is_told) is True
    before = scene.journal
    browser.offline(True)
    browser.click("article.mix form.fed > button")
    browser.wait("return document.querySelector('.mix .answer')?.textContent.includes('Kept on this phone')")
    browser.offline(False)
    browser.run("dispatchEvent(new Event('online'))")
    browser.wait("return document.querySelector('.mix [data-done]')")
    assert "fed: as planned" in scene.journal.removeprefix(before)
    browser.click("#plain button")
    assert browser.run(is_told) is False
    browser.open(f"{address}sink.html")
    assert browser.run(is_told) is False


@pytest.mark.parametrize("product", ["spring-24-8-16", "even-20-20-20"])
def test_every_number_at_the_sink_is_the_number_of_dose(exhibit: Scene, product: str) -> None:
    """Whichever way strength and can were chosen: each nutrient by its name, as `feedplan dose --json` has it."""
    for ppm, can in (("18.75", "7"), ("83", "9"), ("150", "1.5")):
        facts = dose_facts(product, ppm, can, exhibit.folder)
        said = []
        query = f"sink.html?product={product}&strength=own&own_ppm={ppm}&can=own&own_can={can}"
        browser = exhibit.open(query)
        said.append(sink_says(browser))
        browser = exhibit.open("sink.html")
        fill_sink(browser, product=product, own_ppm=ppm, own_can=can)
        said.append(sink_says(browser))
        fill_sink(browser, strength="100")
        fill_sink(browser, own_ppm=ppm)
        said.append(sink_says(browser))
        browser.scripts(False)
        browser = exhibit.open(query)
        amount = browser.driver.find_element("css selector", "[data-amount]").text
        said.append(
            (amount, [p.text for p in browser.driver.find_elements("css selector", "[data-lines] p")])
        )
        browser.scripts(True)
        assert all(each == said[0] for each in said), said
        dose = {
            name: Decimal(three_figures(Decimal(str(facts[f"{name.lower()}_mg_per_l"])))) for name in "NPK"
        }
        assert numbers(said[0][1]) == dose
        assert said[0][0] == f"{facts['grams']:.1f} g"


def dose_facts(product: str, ppm: str, can: str, folder: Path) -> dict[str, Any]:
    """What `feedplan dose --json` says of a product of a collection."""
    words = ["dose", product, "--ppm", ppm, "--litres", can, "--json", "-c", str(folder)]
    done = CliRunner().invoke(feedplan, words, prog_name="feedplan")
    assert done.exit_code == 0, done.output
    facts: dict[str, Any] = json.loads(done.stdout)
    return facts


def numbers(lines: list[str]) -> dict[str, Decimal]:
    """What is said of nutrients, by name."""
    line = next(line for line in lines if line.startswith("Gives "))
    parts = line.removeprefix("Gives ").partition(" (")[0].split(", ")
    return {part.split()[-1].removesuffix("ppm") or "N": Decimal(part.split()[0]) for part in parts}

"""The pages in a real browser: seen, tapped, without script, without a connection, and by an accessibility checker."""

from __future__ import annotations

import json
import re
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from feedplan.dose.arithmetic import LIQUID, SOLID, Product, work_out_dose
from feedplan.dose.grade import Grade
from feedplan.dose.strength import PpmN
from feedplan.words.dose import dose_lines
from tests.browser.browser import DESK, PHONE, Window
from tests.browser.conftest import Scene

AXE = Path(__file__).parent / "js" / "node_modules" / "axe-core" / "axe.min.js"
PAGES = (
    "",
    "sink.html",
    "trees.html",
    "tree-millrace.html",
    "tree-fennel.html",
    "journal.html",
    "calendars.html",
)


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
@pytest.mark.parametrize("page", PAGES)
def test_a_page_fits_its_window_and_complains_of_nothing(
    exhibit: Scene, page: str, size: tuple[int, int]
) -> None:
    exhibit.browser.size(*size)
    browser = exhibit.open(page)
    assert browser.run("return document.documentElement.scrollWidth <= innerWidth")
    assert browser.text("h1")
    browser.run("document.documentElement.style.fontSize = '200%'")
    assert browser.run("return document.documentElement.scrollWidth <= innerWidth"), "letters twice as large"
    assert browser.complaints() == []


# Every rule is tried on everything; only what breaks one is described, which is most of the work.
ASK_AXE = """
const [rules, done] = arguments;
axe.run(document, {...rules, resultTypes: ["violations"]}).then(({ passes, violations }) => done({
  passed: passes.length,
  violated: violations.map(({ id, nodes }) => [id, nodes.map((node) => node.html)]),
}));
"""


@pytest.mark.parametrize("is_dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_the_accessibility_checker_finds_nothing(
    exhibit: Scene, size: tuple[int, int], is_dark: bool
) -> None:
    """axe-core with its rules for WCAG 2.0 to 2.2, A and AA, its best practices, and contrast of AAA: 7 to 1.

    In the dark the same page has other colours, so that its contrasts alone are looked at.
    """
    if not AXE.exists():
        pytest.skip("axe-core is not installed (npm ci --prefix tests/browser/js)")
    exhibit.browser.size(*size, dark=is_dark)
    found: dict[str, Any] = {}
    for page in (*PAGES, "bench"):
        browser = exhibit.open("" if page == "bench" else page)
        if page == "bench":
            browser.click(".benches button[value='south wall']")
        browser.run("for (const each of document.querySelectorAll('details')) each.open = true")
        browser.run(AXE.read_text(encoding="utf-8"))
        rules: dict[str, Any] = {"rules": {"color-contrast-enhanced": {"enabled": True}}}
        if is_dark:
            rules = {"runOnly": ["color-contrast", "color-contrast-enhanced"]}
        report = browser.driver.execute_async_script(ASK_AXE, rules)
        assert report["passed"] > (1 if is_dark else 15)
        for rule, nodes in report["violated"]:
            found[f"{page}: {rule}"] = [html[:120] for html in nodes]
    assert found == {}


def test_one_tap_records_the_next_load_shows_it_and_undo_takes_it_back(scene: Scene) -> None:
    browser = scene.open()
    before = scene.journal
    browser.click("article.mix .fed button")
    browser.wait("return document.querySelector('[data-done]')?.textContent.includes('Recorded: ')")
    said = browser.text("[data-done] strong")
    assert re.match(r"Recorded: .* fed as planned\.", said)
    assert scene.journal.startswith(before)
    assert "fed: as planned" in scene.journal.removeprefix(before)
    assert "?" not in browser.run("return location.href")
    browser.click("[data-done] button")
    browser.wait("return document.querySelector('[data-done]')?.textContent.includes('Taken back')")
    assert "undo:" in scene.journal.removeprefix(before)
    assert browser.complaints() == []


def test_all_but_one(scene: Scene) -> None:
    browser = scene.open()
    before = scene.journal
    browser.run(
        "const forms = [...document.querySelectorAll('article.mix form.fed')];"
        "const form = forms.find((f) => f.querySelectorAll('.chips label').length > 2);"
        "form.id = 'this'; form.querySelector('.chips input').click()"
    )
    left_out = browser.text("#this .chips span")
    browser.click("#this button")
    browser.wait("return document.querySelector('[data-done]')")
    fed, *beside = scene.journal.removeprefix(before).splitlines()
    told, _, but_not = fed.partition("but_not: ")
    assert "fed: as planned" in fed
    assert left_out not in told
    # Where the mix was for part of a group, a line of its own says that the tree was not fed.
    assert left_out in but_not or (left_out in beside[0] and "not_fed: no reason" in beside[0])


def test_ticked_trees_are_recorded_with_one_answer(scene: Scene) -> None:
    browser = scene.open()
    before = scene.journal
    for name in ("Rook", "Quill"):
        browser.run(f"document.querySelector('.checks input[value={name}]').click()")
    browser.click(".checks button[value='check=dry']")
    browser.wait("return document.querySelector('[data-done]')")
    line = scene.journal.removeprefix(before)
    assert "check: dry" in line
    assert "Rook" in line
    assert "Quill" in line


def test_a_double_tap_lands_once(scene: Scene) -> None:
    browser = scene.open()
    before = scene.journal
    browser.run(
        "const b = document.querySelector('article.mix .fed button'); b.click(); b.click(); b.click()"
    )
    browser.wait("return document.querySelector('[data-done]')")
    assert len(scene.journal.removeprefix(before).splitlines()) == 1


def test_a_tap_without_a_connection_is_kept_and_lands_once_when_there_is_one(scene: Scene) -> None:
    browser = scene.open()
    before = scene.journal
    browser.offline(True)
    browser.click("article.mix .fed button")
    browser.wait("return !document.querySelector('#outbox').hidden")
    assert "1 entry is kept on this phone" in browser.text("#outbox")
    assert scene.journal == before
    browser.offline(False)
    browser.wait("return document.querySelector('[data-done]')", 25)
    assert len(scene.journal.removeprefix(before).splitlines()) == 1
    scene.open()
    browser.wait("return document.querySelector('#outbox').hidden")
    assert len(scene.journal.removeprefix(before).splitlines()) == 1


def test_an_answer_for_no_tree_is_told_beside_the_button_and_not_sent(scene: Scene) -> None:
    browser = scene.open()
    before = scene.journal
    browser.click(".checks button[value='check=dry']")
    assert browser.text(".checks .answer") == "Not recorded: no tree is ticked; tick at least one."
    assert browser.run("return localStorage.getItem('outbox')") is None
    assert scene.journal == before


def test_a_tap_stays_on_the_phone_when_the_address_was_replaced(scene: Scene) -> None:
    browser = scene.open()
    before = scene.journal
    (scene.folder / ".feedplan" / "access.json").write_text(
        json.dumps({"format": "feedplan access 1", "read": "r" * 32, "write": "w" * 32, "key": "k" * 32})
    )
    browser.click("article.mix .fed button")
    browser.wait("return !document.querySelector('#outbox').hidden")
    said = browser.text("#outbox")
    assert "this page's address works no more; open the new one" in said
    assert "1 entry is kept on this phone" in said
    assert scene.journal == before


def test_a_phone_that_keeps_nothing_records_all_the_same(scene: Scene) -> None:
    browser = scene.browser
    script = "Storage.prototype.setItem = () => { throw new Error('full') }"
    added = browser.driver.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", {"source": script})
    try:
        scene.open()
        before = scene.journal
        browser.click("article.mix .fed button")
        browser.wait("return document.querySelector('[data-done]')")
        assert len(scene.journal.removeprefix(before).splitlines()) == 1
    finally:
        browser.driver.execute_cdp_cmd("Page.removeScriptToEvaluateOnNewDocument", added)


def test_after_recording_the_page_is_where_it_was(scene: Scene) -> None:
    browser = scene.open()
    browser.run("document.querySelector('.checks .chips input').click()")
    browser.run("document.querySelector('.ticked').scrollIntoView({block: 'center', behavior: 'instant'})")
    top = "return Math.round(document.querySelector('.ticked button').getBoundingClientRect().top)"
    browser.run("window.same = 'same'")
    browser.run("document.querySelector(\".checks button[value='check=moist']\").click()")
    browser.wait("return document.querySelector('[data-done]')?.textContent.includes('Recorded: ')")
    assert browser.run("return window.same") == "same"
    assert 0 <= browser.run(top) <= browser.run("return innerHeight")
    assert browser.run(
        "const box = document.querySelector('[data-done]').getBoundingClientRect();"
        "return box.top >= 0 && box.bottom <= innerHeight"
    )


def test_the_last_round_opens_without_a_connection_and_says_how_old_it_is(scene: Scene) -> None:
    browser = scene.open()
    browser.wait("return navigator.serviceWorker.controller || (location.reload(), false)")
    scene.open()
    heading = browser.text("h1")
    kept = "return caches.keys().then((names) => caches.open(names[0])).then((c) => c.keys()).then((k) => k.length)"
    browser.wait(f"{kept}.then((n) => n >= 16)")
    scene.server.stop()
    scene.open()
    assert browser.text("h1") == heading
    assert browser.text("#age").startswith("No connection. This is the page of 0 minutes ago.")
    for page, title in (
        ("trees.html", "Trees"),
        ("day-2027-06-06.html", "Sunday 6 June"),
        ("tree-fennel.html", "Not on this phone yet"),
        ("journal.html?from=40", "Not on this phone yet"),
    ):
        assert scene.open(page).text("h1") == title
    scene.open("sink.html?product=even-20-20-20&strength=own&own_ppm=18.75&can=own&own_can=7")
    amount, lines = sink_says(browser)
    assert amount == "0.7 g"  # 18.75 mg N per litre, of a powder with a fifth of it, in 7 litres
    assert "Gives 18.8 ppm N" in " ".join(lines)
    assert "in 7 L" in browser.text("[data-vessel]")
    scene.open("sink.html?product=never-seen&strength=100")
    assert "never-seen is not on this page yet" in " ".join(sink_says(browser)[1])
    scene.open("trees.html?q=fenn")
    assert browser.run(
        "return [...document.querySelectorAll('[data-tree]')].filter((e) => e.checkVisibility())"
        ".map((e) => e.dataset.tree)"
    ) == ["Fennel"]


def test_a_page_left_open_shows_its_age_when_it_is_looked_at_again(scene: Scene) -> None:
    """The phone's clock is set on by three hours, as if the page had lain there that long."""
    browser = scene.open()
    assert browser.text("#age") == ""
    scene.server.stop()
    browser.run("const real = Date.now; Date.now = () => real() + 3 * 3600e3")
    browser.run("document.dispatchEvent(new Event('visibilitychange'))")
    browser.wait("return !document.querySelector('#age').hidden")
    assert browser.text("#age").startswith("No connection. This is the page of 3 hours ago.")


def test_everything_can_be_read_and_recorded_without_script(scene: Scene) -> None:
    scene.browser.scripts(False)
    browser = scene.open()
    assert browser.driver.find_element("css selector", "h1").text
    assert browser.driver.find_element("css selector", ".can b").text.startswith("Weigh ")
    before = scene.journal
    browser.driver.find_element("css selector", "article.mix .fed button").send_keys("\n")
    done = browser.found("[data-done]")
    assert "Recorded:" in done.text
    assert "fed: as planned" in scene.journal.removeprefix(before)
    scene.open("sink.html?product=even-20-20-20&strength=50&can=5")
    assert browser.driver.find_element("css selector", "[data-amount]").text == "1.3 g"


def test_a_tree_is_moved_backdated_and_brought_back(scene: Scene) -> None:
    browser = scene.open("tree-fennel.html")
    before = scene.journal
    browser.click("input[name=date][value='2027-06-04']")
    browser.run("for (const each of document.querySelectorAll('details')) each.open = true")
    browser.click("button[value='moved=show-bench']")
    browser.wait("return document.querySelector('[data-done]')")
    assert "date: 2027-06-04, recorded: 2027-06-05, tree: Fennel, moved: show-bench" in scene.journal
    browser.click("[data-done] button")
    browser.wait("return document.querySelector('[data-done]')?.textContent.includes('Taken back')")
    scene.open("tree-fennel.html")
    assert "growing-on" in browser.text(".line")
    assert scene.journal.startswith(before)


def test_what_to_weigh_stands_on_the_first_screen_and_leads_to_its_can(scene: Scene) -> None:
    browser = scene.open("")
    bottom = browser.run(
        "return [...document.querySelectorAll('.weigh a')].at(-1).getBoundingClientRect().bottom"
    )
    assert bottom <= browser.run("return innerHeight")
    weighings = browser.texts(".weigh a")
    assert [text.split(" into")[0][:8] for text in weighings] == ["Weigh 1.", "Weigh 4."]
    for number, text in enumerate(weighings, start=1):
        assert text in browser.text(f"#can-{number}")


def sink_says(browser: Window) -> tuple[str, list[str]]:
    return browser.text("[data-sink] [data-amount]"), browser.texts("[data-lines] p")


def fill_sink(browser: Window, **fields: str) -> None:
    browser.run(f"{FILL_SINK} fill(arguments[0]);", fields)


FILL_SINK = """
function fill(fields) {
  const form = document.querySelector('[data-sink]');
  for (const [name, value] of Object.entries(fields)) {
    const radio = form.querySelector(`[type=radio][name=${name}][value="${value}"]`);
    const field = radio || form.elements[name];
    if (radio) radio.checked = true; else field.value = value;
    field.dispatchEvent(new Event('input', {bubbles: true}));
  }
}
"""
# What `sink_says` reads after each pair of a strength and a can.
ALL_ANSWERS = """
const text = (each) => each.textContent.trim();
return arguments[0].flatMap((own_ppm) => arguments[1].map((own_can) => {
  fill({own_ppm, own_can});
  return [text(document.querySelector('[data-sink] [data-amount]')),
    [...document.querySelectorAll('[data-lines] p')].map(text)];
}));
"""


GRADES = (("20", "10", "20"), ("24", "8", "16"), ("7", "3", "6"), ("1.5", "0.7", "2"), ("46", "0", "0"))
PPMS = ("7", "19", "33.3", "75", "100", "199", "260", "1000")
CANS = ("0.5", "1.5", "4.5", "9", "10", "35")


def _is_tie(product: Product, ppm: str, can: str) -> bool:
    """Whether the amount lies half way between two tenths, where 28 digits of a decimal may round either way."""
    tenths = 10 * Fraction(ppm) * Fraction(can) / Fraction(product.mg_per_unit["N"])
    return tenths % 1 == Fraction(1, 2)


@pytest.mark.parametrize("form", [SOLID, LIQUID])
def test_the_sink_works_out_in_the_page_what_dose_works_out(exhibit: Scene, form: str) -> None:
    """Amounts and every line, for grades, strengths and cans across the range, against the command line's own words."""
    browser = exhibit.open("sink.html")
    density = Decimal("1.18") if form == LIQUID else None
    differences = []
    for grade in GRADES:
        n, p, k = map(Decimal, grade)
        product = Product(Grade(n, p, k), form, density)
        fields = {"n": grade[0], "p": grade[1], "k": grade[2], "form": form, "density": "1.18"}
        fill_sink(browser, product="another label", **fields)
        answers = iter(browser.run(f"{FILL_SINK} {ALL_ANSWERS}", PPMS, CANS))
        for ppm in PPMS:
            for can in CANS:
                amount, lines = next(answers)
                try:
                    expected = dose_lines(work_out_dose(product, PpmN(Decimal(ppm)), Decimal(can)))
                except Exception as refusal:
                    assert amount == ""
                    assert "too weak" in str(refusal)
                    continue
                said = [f"{'Measure' if form == LIQUID else 'Weigh'} {amount} into", *lines]
                if len(lines) > 2 and "in water to make 1 L" in lines[0]:
                    said = lines
                else:
                    expected[0] = expected[0].partition(" into ")[0] + " into"
                if said != expected and not _is_tie(product, ppm, can):
                    differences.append((grade, ppm, can, said, expected))
    assert differences == []
    assert browser.complaints() == []


def test_the_sink_of_the_shelf_keeps_to_the_label(exhibit: Scene) -> None:
    browser = exhibit.open("sink.html")
    fill_sink(browser, product="spring-24-8-16", strength="label 1/2", can="10")
    assert sink_says(browser)[0] == "5.0 g"  # half of 1 g per L
    fill_sink(browser, own_ppm="900")
    amount, lines = sink_says(browser)
    assert amount == "20.0 g"  # the label's 2 g per L
    assert "Cut from 3.75 to 2 g per litre: the label allows no more." in lines


SALTY_SHELF = """\
feeds:
  lime: {grade: 15.5-0-0, form: soluble, contains: {CaO: 26 %}, label_rate: 8 g per L}
  epsom: {grade: 0-0-0, form: soluble, contains: {MgO: 16 %, SO3: 32 %}, label_rate: 8 g per L}
  potash: {grade: 0-0-50, form: soluble, contains: {SO3: 45 %}, label_rate: 2 g per L}
  bloom: {grade: 4-15-37, form: soluble, contains: {MgO: 2 %, CaO: 4 %, SO3: 20 %}, label_rate: 5 g per L}
  salty: {grade: 5-5-5, form: soluble, contains: {Cl: 20 %, Na: 13 %}, label_rate: 3 g per L}
"""


def test_the_sink_says_what_is_too_rich_as_the_server_does(scene: Scene) -> None:
    """Salts beside N, P and K, those that pair up with sulfate, and feeds without nitrogen."""
    file = scene.folder / "collection.yaml"
    file.write_text(file.read_text(encoding="utf-8").replace("feeds:\n", SALTY_SHELF, 1), encoding="utf-8")
    browser = scene.open("sink.html")
    said: dict[tuple[str, str], tuple[list[str], list[str]]] = {}
    for product in ("lime", "epsom", "potash", "bloom", "salty"):
        for strength in ("label 1/4", "label 1", "25", "150"):
            fill_sink(browser, product=product, strength=strength, can="10")
            said[product, strength] = sink_says(browser)[1], []
    browser.scripts(False)
    for product, strength in said:
        browser = scene.open(f"sink.html?product={product}&strength={strength.replace(' ', '+')}&can=10")
        said[product, strength][1].extend(
            p.text for p in browser.driver.find_elements("css selector", "[data-lines] p")
        )
    assert {key: both for key, both in said.items() if both[0] != both[1]} == {}
    rich = {
        key: line
        for key, (lines, _) in said.items()
        for line in lines
        if line.startswith("Too rich for trees")
    }
    for product, strength, ceilings in [
        ("lime", "label 1", ["mS/cm"]),
        ("epsom", "label 1", ["mS/cm"]),
        ("potash", "label 1", ["mg K", "mS/cm"]),
        ("bloom", "150", ["mg K", "mg P", "mS/cm"]),
        ("salty", "150", ["mS/cm"]),
    ]:
        assert [each in rich[product, strength] for each in ("mg K", "mg P", "mS/cm")] == [
            each in ceilings for each in ("mg K", "mg P", "mS/cm")
        ]
    assert len(rich) < len(said)
    assert browser.complaints() == []


def test_names_and_places_are_there_for_a_keyboard_and_a_screen_reader(exhibit: Scene) -> None:
    browser = exhibit.open()
    assert browser.run("return document.documentElement.lang") == "en"
    for landmark in ("header", "main", "footer", "nav[aria-label=Pages]", "nav[aria-label=Days]"):
        assert browser.run("return !!document.querySelector(arguments[0])", landmark)
    from selenium.webdriver.common.action_chains import ActionChains
    from selenium.webdriver.common.keys import Keys

    ActionChains(browser.driver).send_keys(Keys.TAB).perform()
    assert browser.run("return document.activeElement.textContent") == "Skip to the content"
    ActionChains(browser.driver).send_keys(Keys.ENTER).perform()
    assert browser.run("return document.activeElement.id") == "main"


def test_thumbs_find_targets_of_44_pixels(exhibit: Scene) -> None:
    """WCAG 2.2, 2.5.5 (level AAA) for everything that records; links within sentences are exempt there.

    A step of a can is touched anywhere on its label, so that is measured for its box.
    """
    small = """
    const touched = "button, summary, .chips label, .pick, nav a, input:not([type=hidden], .step input), .step, h3 a, "
      + ".rows a, footer a";
    return [...document.querySelectorAll(touched)]
      .filter((e) => e.checkVisibility())
      .map((e) => [e.textContent.trim(), e.getBoundingClientRect()])
      .filter(([, box]) => box.height > 0 && (box.height < 44 || box.width < 44))
      .map(([text, box]) => `${text}: ${box.width} x ${box.height}`)
    """
    for page in ("", "sink.html", "tree-millrace.html", "journal.html", "trees.html", "calendars.html"):
        assert exhibit.open(page).run(small) == []


def test_the_published_pages_work_as_files_of_a_host(scene: Scene, tmp_path: Path) -> None:
    """Served by Python's own file server: read, the can, the sink, another page; nothing to record."""
    import subprocess
    import sys

    from tests.server.process import ROOT

    site = tmp_path / "site"
    words = ["publish", str(site), "-c", str(scene.folder), "--today", "2027-06-05"]
    subprocess.run([sys.executable, "-m", "feedplan", *words], check=True, cwd=ROOT, capture_output=True)
    host = subprocess.Popen(
        [sys.executable, "-u", "-m", "http.server", "0", "--bind", "127.0.0.1", "-d", str(site)],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
    )
    try:
        assert host.stdout is not None
        port = re.search(r"port (\d+)", host.stdout.readline())
        assert port is not None
        browser = scene.browser
        browser.open(f"http://127.0.0.1:{port[1]}/index.html")
        assert browser.text("h1") == "Saturday 5 June"
        assert not browser.run("return document.querySelector('form[method=post]')")
        assert browser.text(".can b").startswith("Weigh ")
        browser.open(f"http://127.0.0.1:{port[1]}/sink.html")
        fill_sink(browser, product="even-20-20-20", strength="50", can="5")
        assert sink_says(browser)[0] == "1.3 g"
        assert "Gives 50 ppm N, 21.8 P, 41.5 K (mg per litre, as elements)." in sink_says(browser)[1]
        browser.open(f"http://127.0.0.1:{port[1]}/calendars.html")
        assert f"http://127.0.0.1:{port[1]}/everything.ics" in browser.texts("code")
        assert browser.complaints() == []
    finally:
        host.kill()
        host.communicate()

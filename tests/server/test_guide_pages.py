"""The guide as the server shows it: every page, every link, every table, and HTML in it as written."""

from __future__ import annotations

import html
import re

import pytest

from feedplan.guide.contents import PAGES, page_text
from feedplan.server.rendering import guide_markup
from tests.server.world import World, make_folder


@pytest.fixture(scope="module")
def world(tmp_path_factory: pytest.TempPathFactory) -> World:
    return World(make_folder(tmp_path_factory.mktemp("guide") / "trees"))


def test_each_page_leads_to_the_list_and_the_list_to_all_pages(world: World) -> None:
    assert 'href="guide.html"' in world.get("").text
    assert re.findall(r'href="guide-(\w+)\.html"', world.get("guide.html").text) == list(PAGES)


@pytest.mark.parametrize("name", PAGES)
def test_a_page_has_its_title_its_examples_and_its_tables_and_its_links_lead_to_pages(
    world: World, name: str
) -> None:
    text, shown = page_text(name), world.get(f"guide-{name}.html").text
    title = re.search(r"<h1>(.*)</h1>", shown)
    assert title is not None
    assert html.unescape(re.sub(r"</?code>", "", title[1])) == text.partition("\n")[0].removeprefix("# ")
    assert shown.count("<pre>") == text.count("\n```") // 2
    assert shown.count("<table>") == len(re.findall(r"^\|( --- \|)+$", text, re.MULTILINE))
    assert set(re.findall(r'href="guide-(\w+)\.html"', shown)) <= set(PAGES)
    assert "<!--" not in shown
    assert not re.findall(r'href="[^"]*\.md', shown)


def test_no_other_page_of_that_kind_is_there(world: World) -> None:
    for name in ("guide-nothing.html", "guide-.html", "guide-__init__.html"):
        assert world.get(name).status_code == 404


def test_what_looks_like_html_in_a_page_is_shown_as_written(monkeypatch: pytest.MonkeyPatch) -> None:
    text = "A <script>alert(1)</script> & `<b>`\n\n<div onclick=x>y</div>\n"
    monkeypatch.setattr("feedplan.server.rendering.page_text", lambda _: text)
    made = str(guide_markup("sink"))
    assert set(re.findall(r"<(\w+)", made)) == {"p", "code"}
    assert "&lt;script&gt;alert(1)&lt;/script&gt; &amp; <code>&lt;b&gt;</code>" in made

"""Nothing a person reads stands in a template or a script: sentences go through the language that is spoken."""

from __future__ import annotations

import re
from gettext import NullTranslations
from importlib import resources
from pathlib import Path

import pytest

from feedplan.server.rendering import Layout
from feedplan.server.sink_page import sink_sentences
from feedplan.words.language import speaking
from tests.server.world import COLLECTION, World, make_folder
from tests.words.outputs import read_page

PACKAGE = Path(str(resources.files("feedplan.server")))
TEMPLATES = sorted((PACKAGE / "templates").glob("*.html"))
SYMBOLS = {"L", "N", "P", "K", "ppm"}
"""Of units and elements, the same in every language."""


class Marked(NullTranslations):
    """A language in which every sentence is the English one between brackets."""

    def gettext(self, message: str) -> str:
        return f"⟦{message}⟧"

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        return f"⟦{msgid1 if n == 1 else msgid2}⟧"


def words_read(page: str) -> set[str]:
    return set(re.findall(r"[A-Za-z]+", read_page(page)))


def unmarked(page: str) -> set[str]:
    """The words of a page that no catalogue has seen."""
    said = read_page(page)
    while "⟦" in said:
        said, before = re.sub(r"⟦[^⟦⟧]*⟧", " ", said), said
        assert said != before
    return set(re.findall(r"[A-Za-z]+", said))


@pytest.mark.parametrize("template", TEMPLATES, ids=lambda path: path.name)
def test_a_template_holds_no_words_of_its_own(template: Path) -> None:
    bare = re.sub(r"\{\{.*?\}\}|\{%.*?%\}|\{#.*?#\}", "", template.read_text(encoding="utf-8"), flags=re.S)
    assert words_read(bare) <= SYMBOLS


def test_a_page_about_files_and_addresses_is_said_whole(world: World) -> None:
    collection = world.snapshots.current().loaded.collection
    data = {*re.findall(r"[A-Za-z]+", f"{collection.place.name} {' '.join(collection.groups)}")}
    data |= {"localhost", "http", "ics", "feeding", "everything", "water", "reviews", "holds", "group"}
    data |= {"rounds", "alerts"}  # names of files, as those before
    data |= set(re.findall(r"[A-Za-z]+", world.secrets.read))
    with speaking(Marked()):
        page = world.get("calendars.html").text
    assert "⟦Subscribe, and the phone fetches changes by itself.⟧" in page
    assert unmarked(page) <= data | {"d", "June"}  # the day is worded elsewhere


def test_links_stay_links_inside_a_sentence_and_names_are_escaped(tmp_path: Path) -> None:
    collection = COLLECTION.replace("name: Teasel", "name: '<b>{x}'")
    world = World(make_folder(tmp_path / "trees", collection=collection))
    with speaking(Marked()):
        page = world.get("day-2027-06-10.html").text
    assert re.search(r"⟦Pour \S+ ⟦?\S* ?ml⟧?: .*\.⟧|⟦Weigh ", page)
    assert "&lt;b&gt;{x}" in page
    assert "<b>{x}" not in page


def test_what_goes_wrong_is_said_too(world: World) -> None:
    with speaking(Marked()):
        assert world.get("nothing.html").text == "⟦There is nothing here.⟧\n"
        assert world.client.post(f"/{world.secrets.read}/x").text == "⟦This address takes no such request.⟧\n"
        sink = world.get("sink.html", query_string={"can": "own", "own_can": "-1"}).text
    assert "⟦⟦Litres of the can⟧: write a number from 0.01 to 1000⟧." in sink


def script() -> str:
    """What the scripts of the pages say in code, without comments."""
    text = "".join(
        (PACKAGE / "static" / name).read_text(encoding="utf-8") for name in ("script.js", "sink.js")
    )
    return re.sub(r"^\s*//.*$", "", text, flags=re.M)


def test_the_script_has_no_sentences_of_its_own() -> None:
    """No text between quotes has two words, but for selectors and what is never shown."""
    literals = re.findall(r"\"([^\"\n]*)\"|`([^`\n]*)`", script())
    plain = [re.sub(r"\$\{[^{}]*\}", "", one or other) for one, other in literals]
    sentences = [text for text in plain if re.search(r"[A-Za-z]{2,} [a-z]{2,}", text)]
    assert sentences == [
        "use strict",
        "use strict",
        "another label",
        "another label",
        "another label",
        "another label",
        "another label",
    ]


def test_the_script_is_given_every_sentence_it_says(world: World) -> None:
    layout = Layout(world.snapshots.current())
    given = {*layout.script_sentences, *sink_sentences()}
    asked = set(re.findall(r'say\(\s*"(\w+)"', script()))
    assert len(asked) > 15
    assert asked <= given

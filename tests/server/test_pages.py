"""What the pages say, against the command line's own words; their size; names that try to break out."""

from __future__ import annotations

import gzip
import html
import re
from datetime import date
from decimal import Decimal
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import parse_qsl, urlsplit

import pytest

from feedplan.dose.arithmetic import SOLID, Product, work_out_dose
from feedplan.dose.grade import Grade
from feedplan.dose.strength import PpmN
from feedplan.engine.day import Day, day_of
from feedplan.export.can_text import can_steps
from feedplan.export.round_text import round_lines
from feedplan.server.addresses import address_part, address_parts
from feedplan.words.dose import dose_lines
from tests.server.world import COLLECTION, JOURNAL, World, make_folder

DEMO = Path(__file__).parents[2] / "demo" / "northern"


def words(page: str) -> str:
    """The text of a page as it is read, spaces made single."""
    main = page[page.index("<main") : page.index("</main>")]
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", main)).split())


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> World:
    """The northern demo, copied, as on the day of the demo."""
    import shutil

    folder = tmp_path_factory.mktemp("demo") / "northern"
    shutil.copytree(DEMO, folder)
    return World(folder, fixed_day=date(2027, 6, 5))


def shown_day(world: World, day: date | None = None) -> Day:
    """The day a world's page shows, today when none is said."""
    snapshot = world.snapshots.current()
    return day_of(snapshot.season, day or snapshot.today)


@pytest.mark.parametrize("day", ["2027-06-05", "2027-06-04", "2027-06-09", "2027-06-12"])
def test_the_round_says_all_that_the_command_line_says(demo: World, day: str) -> None:
    """Mixes and checks are set out anew for the can and the bench; every other line is there, word for word."""
    found = shown_day(demo, date.fromisoformat(day))
    collection = demo.snapshots.current().loaded.collection
    page = words(demo.get("" if day == "2027-06-05" else f"day-{day}.html").text)
    first, *lines = round_lines(found, collection)
    assert first.partition(" - ")[2] in page
    missing, heading = [], ""
    for line in lines:
        if line and not line.startswith(" "):
            heading = line
        said = " ".join(line.split())
        if heading in ("Mix and feed", "Check water"):
            continue
        after_names = said.partition(": ")[2] or said
        if said not in page and after_names not in page and "(The first" not in said:
            missing.append(said)
    assert missing == []


@pytest.mark.parametrize("day", ["2027-06-05", "2027-06-12"])
def test_the_first_line_and_the_numbers_below_it_count_alike(demo: World, day: str) -> None:
    """Trees that share a look are each looked at; what was fed or checked already is not counted below."""
    page = demo.get("" if day == "2027-06-05" else f"day-{day}.html").text
    below = {part: int(count) for part, count in re.findall(r'<a href="#(h-\w+)"><b>(\d+)</b>', page)}
    line = words(page)
    for what, part in (("look at", "h-look"), ("feed", "h-feed")):
        (count,) = re.findall(rf"[,-] {what} (\d+)", line[: line.index("to look at")])
        assert int(count) == below[part]


def test_every_tree_of_the_round_is_on_the_page(demo: World) -> None:
    page = words(demo.get("").text)
    found = shown_day(demo)
    names = [name for mix in found.mixes for name in mix.item.names]
    names += [each.tree.name for checks in found.checks for each in checks.trees]
    assert len(names) > 40
    assert [name for name in names if name not in page] == []


@pytest.mark.parametrize("day", ["2027-06-04", "2027-06-05", "2027-06-12"])
def test_yesterday_and_each_of_the_next_seven_days_are_one_tap_away(demo: World, day: str) -> None:
    page = demo.get(f"day-{day}.html").text
    hrefs = re.findall(r'<li><a href="([^"]+)"[^>]*><span>', page)
    days = ["day-2027-06-04.html", "./", *(f"day-2027-06-{n:02}.html" for n in range(6, 13))]
    assert hrefs == days
    assert all(demo.get(href.removeprefix("./")).status_code == 200 for href in hrefs)


@pytest.mark.parametrize(
    "name",
    ["day-2027-13-01.html", "day-1999-01-01.html", "day-20270605.html", "day-.html", "tree-nobody.html", "x.html",
     "day-2027-06-05", "round.html", "..%2fcollection.yaml", "base.html", "style.css"],
)  # fmt: skip
def test_there_is_no_other_page(demo: World, name: str) -> None:
    assert demo.get(name).status_code == 404


def test_the_page_says_the_same_steps_at_the_sink_as_the_round(demo: World) -> None:
    steps = list(can_steps(day_of(demo.snapshots.current().season, date(2027, 6, 5)).cans))
    assert len(steps) > 1
    page = html.unescape(demo.get("").text)
    for first, *then in steps:
        assert f"<p><b>{first}</b></p>" in page
        assert all(f"<p>{line}</p>" in page for line in then)


def test_checks_are_by_bench_the_thirstiest_first(demo: World) -> None:
    page = demo.get("").text
    benches = re.findall(r'<h3 class="bench">([^<]+)</h3>', page)
    found = shown_day(demo)
    assert benches == [name for name, _ in found.checks[0].places]
    assert len(benches) == len(set(benches)) > 4
    dry_first = [bench.name for bench in found.thirst]
    assert benches[: len(dry_first)] == [name for name in dry_first if name in benches]


def test_a_tree_says_its_year_its_next_feed_and_why_not_now(demo: World) -> None:
    page = words(demo.get("tree-millrace.html").text)
    assert "English oak" in page
    assert "Why not today" in page
    assert "repotted, severe" in page
    assert "mg N per litre of pot" in page
    assert "first flush hardened" in page
    fed = demo.get("tree-fennel.html").text
    assert fed.count('class="planned"') > 3
    assert fed.count('class="given"') > 2


def test_every_tree_has_a_page_and_is_in_the_list(demo: World) -> None:
    listed = demo.get("trees.html").text
    collection = demo.snapshots.current().loaded.collection
    for part, name in address_parts(tree.name for tree in collection.trees).items():
        answer = demo.get(f"tree-{part}.html")
        assert f"<h1>{name}</h1>" in answer.text
        is_here = name != "Wisp"  # which died on 29 May
        assert (f'href="tree-{part}.html"' in listed) is is_here
        assert ("Not in the collection any more" in answer.text) is not is_here


def test_pages_hold_no_style_or_script_of_their_own_and_nothing_from_elsewhere(demo: World) -> None:
    for name in ("", "sink.html", "trees.html", "journal.html", "calendars.html", "tree-fennel.html"):
        page = demo.get(name, write=True).text
        assert not re.search(r"\sstyle=|<style|\son\w+=|javascript:", page)
        assert set(re.findall(r'<script src="([^"]+)"', page)) == set(
            re.findall(r'"((?:script|sink)\.[^"]+js)"', page)
        )
        loaded = re.findall(r'(?:src|action|<link[^>]* href)="([^"]*)"', page)
        assert not [address for address in loaded if "//" in address]


def test_a_page_with_all_it_needs_is_under_30_kb(demo: World) -> None:
    """The largest page of the demo as it is sent, with style, scripts, icon and worker."""
    from feedplan.server.rendering import assets

    def sent(name: str) -> int:
        return len(demo.get(name, write=True, headers={"Accept-Encoding": "gzip"}).data)

    rest = sum(sent(name) for name in assets().by_name)
    names = ["", "sink.html", "trees.html", "journal.html", "calendars.html", "tree-millrace.html"]
    sizes = {name: sent(name) for name in names}
    assert max(sizes.values()) + rest < 30_000, (sizes, rest)


def test_nothing_is_sent_again_while_nothing_has_changed_nor_made_again(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = world.get("", write=True, headers={"Accept-Encoding": "gzip"})
    assert first.headers["Content-Encoding"] == "gzip"
    assert first.headers["Vary"] == "Accept-Encoding"
    asked = {"Accept-Encoding": "gzip", "If-None-Match": first.headers["ETag"]}
    with monkeypatch.context() as patched:
        patched.setattr("feedplan.server.app.page", None)
        world.later(minutes=5)
        again = world.get("", write=True, headers=asked)
    assert (again.status_code, again.data) == (304, b"")
    world.edit("name: Teasel", "name: Yarrow")
    changed = world.get("", write=True, headers=asked)
    assert changed.status_code == 200
    assert b"Yarrow" in gzip.decompress(changed.data)


def test_a_page_of_one_right_is_never_given_to_the_other(world: World) -> None:
    assert 'action="record"' in world.get("", write=True).text
    assert 'action="record"' not in world.get("").text
    assert 'action="record"' in world.get("", write=True).text


def test_what_is_done_is_folded_away_and_counts_no_more(world: World) -> None:
    world.write(
        journal=JOURNAL
        + "- {date: 2027-06-05, trees: [Sorrel, Teasel], check: moist}\n"
        + "- {date: 2027-06-05, tree: Teasel, check: dry}\n"
    )
    page = world.get("", write=True).text
    counts = dict(re.findall(r'<a href="#(h-\w+)"><b>(\d+)</b>', page))
    assert counts["h-water"] == "2"  # Fern Hill and Bracken are left
    assert re.search(r"Sorrel <small>[^<]*<span class=\"mark\">✓ Still moist</span>", page)
    assert re.search(r"Teasel <small>[^<]*<span class=\"mark\">✓ Dry</span>", page)


def test_a_mix_that_was_given_is_folded_away(world: World) -> None:
    day = next(i.day for i in world.snapshots.current().season.rounds if i.group == "growing-on")
    world.write(journal=JOURNAL + f"- {{date: {day}, group: growing-on, fed: as planned}}\n")
    page = world.get(f"day-{day}.html", write=True).text
    assert '<details class="mix finished"><summary>✓ growing-on' in page
    assert '<a href="#h-feed"><b>0</b>' in page


def test_the_sink_of_a_mix_is_opened_with_its_product_strength_and_can(tmp_path: Path) -> None:
    """A weak feed of a tree whose roots were cut, in a can that is not among the usual ones."""
    world = World(make_folder(tmp_path / "trees", collection=COLLECTION.replace("can: 10 L", "can: 7 L")))
    for item in world.snapshots.current().season.rounds[:12]:
        page = world.get(f"day-{item.day}.html").text
        address = re.search(rf"{item.feed} <a class=\"tosink\" href=\"([^\"]+)\"", page)
        assert address is not None
        asked = dict(parse_qsl(urlsplit(html.unescape(address[1])).query))
        assert asked["product"] == item.feed
        assert Decimal(asked["own_can"]) == 7
        assert Decimal(asked["own_ppm"]) in {i.ppm for i in world.snapshots.current().season.rounds}
        assert "in 7 L" in words(world.get(html.unescape(address[1])).text)


def test_a_tree_is_found_by_a_part_of_its_name(world: World) -> None:
    found = world.get("trees.html?q=fern").text
    assert "Fern Hill" in found
    assert "Sorrel" not in found
    assert "No tree has that in its name" in world.get("trees.html?q=%3Cb%3E").text


def test_every_entry_of_the_journal_can_be_reached_each_with_its_year_where_it_is_another(
    world: World,
) -> None:
    days = [f"2026-{month:02}-{day:02}" for month in (4, 5) for day in range(1, 29)]
    lines = [f"- {{date: {day}, tree: Sorrel, check: dry}}\n" for day in days]
    world.write(journal=JOURNAL + "".join(lines))
    seen, page = [], "journal.html"
    while page:
        text = world.get(page).text
        seen += re.findall(r"<li><div><b>([^<]+)</b>", text)
        older = re.search(r'href="(journal.html\?from=\d+)"', text)
        page = older[1] if older else ""
    assert len(seen) == 57
    assert sum(day.endswith(" 2026") for day in seen) == 56


def test_assets_are_kept_for_ever_under_names_that_change(demo: World) -> None:
    page = demo.get("").text
    style = re.search(r'href="(style\.[0-9a-f]{10}\.css)"', page)
    assert style is not None
    answer = demo.get(style[1])
    assert answer.headers["Cache-Control"] == "private, max-age=31536000, immutable"
    assert answer.headers["Content-Type"] == "text/css; charset=utf-8"
    assert demo.get("app.webmanifest").get_json(force=True)["start_url"] == "./"
    worker = demo.get("worker.js").text
    assert style[1] in worker
    assert "{{" not in worker


def test_with_the_read_secret_nothing_can_be_recorded(demo: World) -> None:
    for name in ("", "tree-fennel.html", "journal.html"):
        assert 'method="post"' not in demo.get(name).text
        assert demo.secrets.form_token not in demo.get(name).text
        assert 'method="post"' in demo.get(name, write=True).text


def test_the_future_has_no_buttons(demo: World) -> None:
    assert 'action="record"' not in demo.get("day-2027-06-12.html", write=True).text
    assert 'action="record"' in demo.get("day-2027-06-04.html", write=True).text


def test_the_calendars_page_gives_only_addresses_that_read(demo: World) -> None:
    page = demo.get("calendars.html", write=True, headers={"Host": "trees.local:8377"}).text
    assert demo.secrets.write not in page
    assert f"webcal://trees.local:8377/{demo.secrets.read}/everything.ics" in page


def test_a_strange_host_is_not_repeated(demo: World) -> None:
    page = demo.get("calendars.html", headers={"Host": 'x"><script>alert(1)</script>'})
    assert "<script>alert" not in page.text


def test_a_broken_file_shows_a_bar_on_every_page(world: World) -> None:
    world.get("")
    world.edit("group: shown", "group: shwon")
    for name in ("", "sink.html", "trees.html", "journal.html", "calendars.html", "tree-teasel.html"):
        page = words(world.get(name).text)
        assert "Not up to date since" in page
        assert "Mend collection.yaml line 15" in page
        assert "shwon" in page


NASTY = "</script><img src=x onerror=alert(1)>"


class _Tags(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.seen: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen += [tag, *(name for name, _ in attrs if name.startswith("on"))]


def test_names_cannot_break_out_of_a_page(tmp_path: Path) -> None:
    collection = COLLECTION.replace("name: Teasel", f"name: '{NASTY}'").replace("show bench", "'\"><i>b</i>'")
    world = World(make_folder(tmp_path / "trees", collection=collection))
    part = address_part(NASTY)
    for name in ("", "trees.html", f"tree-{part}.html", "sink.html", "journal.html", "calendars.html"):
        answer = world.get(name, write=True)
        tags = _Tags()
        tags.feed(answer.text)
        assert answer.status_code == 200
        assert "img" not in tags.seen
        assert not [name for name in tags.seen if name.startswith("on")]
        assert tags.seen.count("script") == (2 if name == "sink.html" else 1)


def test_addresses_of_names_are_plain_and_apart() -> None:
    parts = address_parts(["Old Kelp", "old-kelp", "Süd", "Sud", "日本", "!", "?", "a" * 200])
    assert len(parts) == 8
    assert all(re.fullmatch(r"[a-z0-9-]{1,80}", part) for part in parts)
    assert address_parts(["Old Kelp"]) == {"old-kelp": "Old Kelp"}


SINK = [
    ({}, "4.2 g"),
    ({"product": "even", "strength": "50", "can": "5"}, "1.3 g"),
    ({"product": "another label", "n": "20", "p": "10", "k": "20", "strength": "own", "own_ppm": "80", "can": "own",
      "own_can": "7"}, "2.8 g"),
    ({"product": "another label", "n": "7", "p": "3", "k": "6", "form": "liquid", "density": "1.15", "strength": "75",
      "can": "9"}, "8.4 ml"),
    ({"product": "spring", "strength": "label 1/2", "can": "10"}, "5.0 g"),
]  # fmt: skip


@pytest.mark.parametrize(("form", "amount"), SINK)
def test_the_sink_answers_without_script(world: World, form: dict[str, str], amount: str) -> None:
    """Amounts by hand: ppm x litres / (percent x 10), for the liquid also / density; half of 1 g per L."""
    assert f"<strong data-amount>{amount}</strong>" in world.get("sink.html", query_string=form).text


def test_the_sink_says_the_same_lines_as_dose(world: World) -> None:
    form = {"product": "another label", "n": "20", "p": "10", "k": "20", "strength": "150", "can": "10"}
    page = words(world.get("sink.html", query_string=form).text)
    product = Product(Grade(Decimal(20), Decimal(10), Decimal(20)), SOLID)
    for line in dose_lines(work_out_dose(product, PpmN(Decimal(150)), Decimal(10)))[1:]:
        assert line in page


@pytest.mark.parametrize(
    ("form", "said"),
    [
        ({"strength": "own", "own_ppm": "0"}, "Ppm N: write a number from 0.01 to 2000"),
        ({"strength": "own", "own_ppm": "many"}, "Ppm N: write a number"),
        ({"can": "own", "own_can": "-1"}, "Litres of the can: write a number from 0.01 to 1000"),
        ({"product": "another label", "n": "0", "p": "20", "k": "20"}, "holds no nitrogen"),
        ({"product": "another label", "n": "60", "p": "30", "k": "20"}, "sum to 100"),
        ({"product": "even", "strength": "label 1/2"}, "has no label rate"),
        ({"product": "even", "strength": "own", "own_ppm": "400"}, "Strong: above 250 ppm N"),
        ({"product": "spring", "strength": "own", "own_ppm": "1900"}, "the label allows no more"),
        ({"product": "even", "strength": "25", "can": "1.5"}, "too little to weigh"),
        ({"product": "even", "strength": "own", "own_ppm": "nan"}, "Ppm N: write a number"),
    ],
)
def test_the_sink_refuses_or_warns_in_a_sentence(world: World, form: dict[str, str], said: str) -> None:
    answer = world.get("sink.html", query_string=form)
    assert answer.status_code == 200
    assert said in words(answer.text)


def test_the_round_of_a_day_away_says_so(tmp_path: Path) -> None:
    away = COLLECTION + "away:\n  - {from: 2027-06-05, to: 2027-06-12}\n"
    world = World(make_folder(tmp_path / "trees", collection=away))
    assert "Away to 12 June 2027" in words(world.get("").text)


def test_a_thousand_trees_are_served(tmp_path: Path) -> None:
    rows = "".join(
        f"  - {{name: Tree {n}, species: hornbeam, group: growing-on, pot: {1 + n % 15} L}}\n"
        for n in range(1000)
    )
    world = World(make_folder(tmp_path / "trees", collection=COLLECTION + rows))
    assert world.get("everything.ics").status_code == 200
    assert world.get("", write=True).text.count('name="tree"') >= 1000
    assert world.get("trees.html").status_code == 200
    assert world.get("tree-tree-999.html").status_code == 200

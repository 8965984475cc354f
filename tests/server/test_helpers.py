"""A helper's address: what it opens, what it may write down, and everything it may not; its end."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from werkzeug.test import TestResponse

from feedplan.cli.main import feedplan
from tests.server.world import COLLECTION, World, make_folder

TODAY = date(2027, 6, 5)
AWAY = "away: [{from: 2027-06-10, to: 2027-06-24, ask: Sam 0100 555}]\n"


def serve(world: World, *words: str) -> Any:
    place = ["-c", str(world.folder), "--today", "2027-06-05", "--json"]
    done = CliRunner().invoke(feedplan, ["serve", *words, *place])
    assert done.exit_code == 0, done.output
    return json.loads(done.output)["helpers"]


def refused(world: World, *words: str) -> str:
    place = ["-c", str(world.folder), "--today", "2027-06-05"]
    done = CliRunner().invoke(feedplan, ["serve", *words, *place])
    assert done.exit_code != 0
    return done.output


def share(world: World, name: str = "Anna", *words: str) -> str:
    """The path of a new helper's address, as the command tells it."""
    (helper,) = serve(world, "--share", name, "--until", "2027-06-20", *words)
    return "/" + str(helper["address"]).split("/", 3)[3]


@pytest.fixture
def world(tmp_path: Path) -> World:
    return World(make_folder(tmp_path / "trees", collection=COLLECTION + AWAY))


@dataclass(frozen=True)
class Helped:
    """A folder whose two helpers write nothing: one may not, and the other is refused. Tests share it."""

    world: World
    reads: str
    ticks: str


@pytest.fixture(scope="module")
def helped(tmp_path_factory: pytest.TempPathFactory) -> Helped:
    world = World(make_folder(tmp_path_factory.mktemp("helped") / "trees", collection=COLLECTION + AWAY))
    return Helped(world, share(world), share(world, "Ben", "--may-tick"))


def form(world: World, path: str, page: str = "", **values: Any) -> TestResponse:
    """A form as a page of that address would send it, whether or not it has such a button."""
    found = re.search(r'name="key" value="(\w+)"', world.get("", write=True).text)
    assert found
    fields = {"key": found[1], "token": world.secrets.form_token, "back": "", **values}
    return world.client.post(f"{path}{page or 'record'}", data=fields)


def entries(world: World) -> list[dict[str, Any]]:
    import yaml

    return list(yaml.safe_load((world.folder / "journal.yaml").read_text(encoding="utf-8")))


@pytest.mark.parametrize("may", ["reads", "ticks"])
@pytest.mark.parametrize(
    "page",
    ["", "day-2027-06-10.html", "helper.html", "trees.html", "tree-fern-hill.html", "sink.html", "worker.js"],
)
def test_a_helper_reads_what_is_to_do(helped: Helped, may: str, page: str) -> None:
    world, path = helped.world, getattr(helped, may)
    answer = world.client.get(path + page)
    assert answer.status_code == 200
    for secret in (world.secrets.read, world.secrets.write):
        assert secret not in answer.text


@pytest.mark.parametrize("may", ["reads", "ticks"])
@pytest.mark.parametrize(
    "page",
    [
        "journal.html",
        "calendars.html",
        "undo.html?id=a",
        "rounds.ics",
        "everything.ics",
        "water.ics",
        "entry.json?id=a",
        "access.json",
        "undo",
        "record",
        "no-such.html",
        "day-x/y.html",
    ],
)
def test_and_nothing_else(helped: Helped, may: str, page: str) -> None:
    world, path = helped.world, getattr(helped, may)
    answer = world.client.get(path + page)
    if page.startswith("entry.json") and may == "ticks":
        assert answer.get_json() == {}  # what its own tap changed; there is no such entry
    else:
        assert answer.status_code == 404
        assert answer.text == world.get("no-such-page.html").text


def test_health_tells_a_helper_no_more_than_a_stranger(world: World) -> None:
    assert world.client.get(f"{share(world)}health").status_code == 404


def test_a_reader_has_no_button_and_no_form_of_its_making_is_taken(world: World) -> None:
    path = share(world)
    before = (world.folder / "journal.yaml").read_bytes()
    for page in ("", "tree-fern-hill.html"):
        assert 'method="post"' not in world.client.get(path + page).text
    assert form(world, path, say="check=dry", tree="Fern Hill").status_code == 404
    assert form(world, path, "undo", id="x").status_code == 404
    assert (world.folder / "journal.yaml").read_bytes() == before


def test_a_helper_who_may_tick_finds_the_buttons_for_that_and_no_others(world: World) -> None:
    path = share(world, "Anna", "--may-tick")
    world.later(days=4)  # a day with a mix
    said = set()
    for page in ("", *(f"tree-{name}.html" for name in ("fern-hill", "bracken", "teasel"))):
        text = world.client.get(path + page).text
        assert 'action="undo"' not in text
        said |= set(re.findall(r'name="say" value="([^"]*)"', text))
    ticks = {"fed=as%20planned", "not_fed=no%20reason", "check=moist", "check=watered", "check=dry"}
    assert said == ticks


@pytest.mark.parametrize(
    ("say", "fact"),
    [
        ("fed=as%20planned", {"fed": "as planned"}),
        ("not_fed=no%20reason", {"not_fed": "no reason"}),
        ("check=moist", {"check": "moist"}),
        ("check=watered", {"check": "watered"}),
        ("check=dry", {"check": "dry"}),
    ],
)
def test_what_a_helper_ticks_stands_in_the_journal_with_the_name(
    world: World, say: str, fact: dict[str, str]
) -> None:
    path = share(world, "Anna", "--may-tick")
    assert form(world, path, say=say, tree="Fern Hill", note="dig it up").status_code == 303
    written = entries(world)[-1]
    assert written == {
        "date": TODAY,
        "tree": "Fern Hill",
        **fact,
        "note": "by Anna",
        "id": written["id"],
    }
    assert world.snapshots.current().loaded.journal.entries[-1].note == "by Anna"


def test_a_mix_ticked_but_for_a_tree_says_of_both_entries_who_wrote_them(world: World) -> None:
    path = share(world, "Anna", "--may-tick")
    form(world, path, say="fed=as%20planned", tree="Fern Hill", of=["Fern Hill", "Sorrel"])
    fed, left_out = entries(world)[-2:]
    assert (fed["fed"], fed["note"]) == ("as planned", "by Anna")
    assert (left_out["not_fed"], left_out["tree"], left_out["note"]) == ("no reason", "Sorrel", "by Anna")


@pytest.mark.parametrize(
    "say",
    [
        "seen=limp",
        "work=repotted&roots=30",
        "trouble=frost",
        "moved=shown",
        "bench=south+wall",
        "gone=dead",
        "put_off=next+spring",
        "fed=100+ppm+N",
        "not_fed=rain",
        "check=anything",
        "check=dry&seen=limp",
        "fed=as%20planned&count=3",
        "note=hello",
        "undo=x",
        "allow=feed",
        "",
    ],
)
def test_a_helper_writes_down_nothing_else(helped: Helped, say: str) -> None:
    world, path = helped.world, helped.ticks
    before = (world.folder / "journal.yaml").read_bytes()
    answer = form(world, path, say=say, tree="Fern Hill")
    assert answer.status_code == 400
    assert (world.folder / "journal.yaml").read_bytes() == before


def test_nor_of_days_before_the_address_was_given(world: World) -> None:
    path = share(world, "Anna", "--may-tick")
    answer = form(world, path, say="check=dry", tree="Fern Hill", date="2027-06-04")
    assert answer.status_code == 400
    assert "nothing from before 2027-06-05" in answer.text


def test_a_helper_takes_nothing_back(world: World) -> None:
    path = share(world, "Anna", "--may-tick")
    form(world, path, say="check=dry", tree="Fern Hill")
    assert form(world, path, "undo", id=entries(world)[-1]["id"]).status_code == 404
    page = world.client.get(f"{path}?undone={entries(world)[-1]['id']}.1").text
    assert 'action="undo"' not in page


def test_an_address_ends_after_its_last_day_and_says_so(world: World) -> None:
    path = share(world, "Anna", "--may-tick")
    world.later(days=15)
    assert world.client.get(path).status_code == 200
    world.later(days=1)
    for answer in (world.client.get(path), form(world, path, say="check=dry", tree="Fern Hill")):
        assert answer.status_code == 410
        assert answer.text == "This address ended on 20 June 2027. Ask whoever gave it to you for another.\n"
    assert world.client.get(f"{path}rounds.ics").status_code == 410


def test_one_is_taken_back_while_the_server_runs_and_the_other_goes_on(world: World) -> None:
    anna, ben = share(world, "Anna", "--may-tick"), share(world, "Ben")
    assert world.client.get(anna).status_code == 200
    assert serve(world, "--take-back", "Anna") == []
    assert world.client.get(anna).status_code == 410
    assert form(world, anna, say="check=dry", tree="Fern Hill").status_code == 410
    assert "was taken back" in world.client.get(anna).text
    assert world.client.get(ben).status_code == 200
    assert [each["name"] for each in serve(world, "--helpers")] == ["Ben"]
    assert share(world, "Anna") != anna


def test_new_secrets_end_every_helpers_address(world: World) -> None:
    path = share(world)
    world.access.replace()
    assert world.client.get(path).status_code == 404


def test_secrets_lie_in_the_state_folder_alone(world: World) -> None:
    secret = share(world).strip("/")
    holders = [path.name for path in world.folder.rglob("*") if path.is_file() and secret in path.read_text()]
    assert holders == ["access.json"]


def test_helpers_secrets_are_compared_in_constant_time_and_all_of_them(
    monkeypatch: pytest.MonkeyPatch, world: World
) -> None:
    import hmac

    share(world, "Anna")
    share(world, "Ben")
    compared = []
    real = hmac.compare_digest

    def watched(one: bytes, other: bytes) -> bool:
        compared.append((one, other))
        return real(one, other)

    monkeypatch.setattr(hmac, "compare_digest", watched)
    for secret in ("guess", world.secrets.read, world.secrets.helpers[0].secret):
        compared.clear()
        world.secrets.rights_of(secret)
        assert len(compared) == 4


def test_what_cannot_be_shared_is_refused_with_a_reason(world: World) -> None:
    share(world, "Anna")
    assert "Anna has an address already" in refused(world, "--share", "Anna", "--until", "2027-06-20")
    assert "cannot be the last day" in refused(world, "--share", "Ben", "--until", "2027-06-04")
    assert "cannot be the last day" in refused(world, "--share", "Ben", "--until", "2029-06-04")
    assert "--share NAME --until DATE" in refused(world, "--share", "Ben")
    assert "--share NAME --until DATE" in refused(world, "--may-tick")
    assert "Ben has no address" in refused(world, "--take-back", "Ben")
    assert "1 to 40 signs" in refused(world, "--share", " ", "--until", "2027-06-20")


def test_the_sheet_as_a_page_says_what_the_sheet_as_text_says(world: World) -> None:
    page = world.get("helper.html").text
    place = ["-c", str(world.folder), "--today", "2027-06-05", "--json"]
    facts = json.loads(CliRunner().invoke(feedplan, ["round", "--helper", *place]).output)
    read = " ".join(re.sub(r"<[^>]+>", " ", page).split())
    assert " ".join(facts["lines"]).split()[:20] == read[read.index("Water checks") :].split()[:20]
    assert "In doubt, ask Sam 0100 555." in read
    for bench in facts["benches"]:
        assert bench["bench"] in read
        for look in bench["looks"]:
            assert look["at"] in read
            assert all(tree in read for tree in look["trees"])
    boxes = sum(line.count("[ ]") for line in facts["lines"])
    assert page.count('class="box"') == boxes > 15


def test_a_helpers_sheet_is_about_the_days_of_the_helper(world: World, tmp_path: Path) -> None:
    """The grower's absence is another time, or none; a helper with an address to 20 June is there for these days."""
    nowhere = World(make_folder(tmp_path / "others"))
    for place in (world, nowhere):
        page = place.client.get(f"{share(place)}helper.html").text
        assert re.findall("Water checks [^:]*", page) == ["Water checks Sat 5 Jun to Sun 20 Jun"]
        assert len(re.findall(r'<th scope="col">', page)) == 16  # 5 to 20 June


def test_without_days_away_the_sheet_says_so(tmp_path: Path) -> None:
    world = World(make_folder(tmp_path / "trees"))
    page = world.get("helper.html").text
    assert "No days away are written down." in page

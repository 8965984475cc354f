"""A look that found nothing is over for the day, asks again and changes nothing else; a can is fed at one tap."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from pathlib import Path

import yaml

from feedplan.engine.day import day_of
from tests.server.world import World, make_folder

REPOTTED = "- {date: 2027-03-20, tree: Bracken, work: repotted, roots: 30 %}\n"


def key(world: World) -> dict[str, str]:
    found = re.search(r'name="key" value="(\w+)"', world.get("", write=True).text)
    assert found
    return {"key": found[1], "token": world.secrets.form_token}


def tap(world: World, **fields: object) -> None:
    answer = world.client.post(f"/{world.secrets.write}/record", data={**key(world), **fields})
    assert answer.status_code == 303, answer.text


def test_a_look_answered_with_not_yet_asks_again_in_a_week_and_frees_nothing(tmp_path: Path) -> None:
    world = World(make_folder(tmp_path / "trees", REPOTTED.replace("03-20", "04-20")))
    while not (looks := day_of(world.snapshots.current().season, world.now.date()).looks):
        world.later(days=1)
    (look,) = looks
    before = world.snapshots.current().season
    page = world.get("", write=True).text
    assert "Looked, and not yet there: extension, hardened" in page
    assert '<a href="#h-look"><b>1</b>' in page
    tap(world, say="seen=not yet", tree="Bracken")
    after = world.snapshots.current().season
    today = world.now.date()
    (now, then) = (
        [hold for t in season.timelines if "Bracken" in t.names for hold in t.holds]
        for season in (after, before)
    )
    assert [(h.rule, h.start, h.end, h.needs) for h in now] == [
        (h.rule, h.start, h.end, h.needs) for h in then
    ]
    held = next(hold for hold in now if (hold.rule, hold.start) == (look.hold.rule, look.hold.start))
    assert min(day for day in held.reviews if day > today) <= today + timedelta(days=7)
    page = world.get("", write=True).text
    assert "not yet there" not in page
    assert '<a href="#h-look"><b>1</b>' not in page
    assert all(each.is_answered for each in day_of(after, today).looks)
    world.later(days=1)
    assert not day_of(world.snapshots.current().season, world.now.date()).looks


def test_twelve_weeks_of_not_yet_still_make_a_root_cut_a_severe_one(tmp_path: Path) -> None:
    """A root cut that shows nothing for 12 weeks goes on as a severe one: that somebody looked is no sign."""
    looked = "".join(
        f"- {{date: {day}, tree: Bracken, seen: not yet}}\n"
        for day in ("2027-05-01", "2027-05-15", "2027-06-01")
    )
    rules = []
    for name, journal in (("never", REPOTTED), ("looked", REPOTTED + looked)):
        world = World(make_folder(tmp_path / name, journal), now=datetime(2027, 8, 20, 11, tzinfo=UTC))
        season = world.snapshots.current().season
        rules.append(
            [(h.rule.name, h.start) for t in season.timelines if "Bracken" in t.names for h in t.holds]
        )
    assert rules[0] == rules[1]
    assert len(rules[0]) == 2


def in_the_can(world: World) -> list[str]:
    """The trees that one tap on the day's first can writes down as fed."""
    _, _, form = world.get("", write=True).text.partition('class="fed whole"')
    return re.findall(r'name="tree" value="([^"]+)"', form.partition("</form>")[0])


def test_a_can_is_written_down_whole_but_for_what_its_mixes_had_already(tmp_path: Path) -> None:
    world = World(make_folder(tmp_path / "trees", "# Nothing yet.\n"))
    while len(names := in_the_can(world)) < 2:
        world.later(days=1)
    today = world.now.date()
    tap(world, say="fed=as planned", tree=names[0], date=str(today))
    tap(world, say="fed=as planned", tree=names, date=str(today))
    written = yaml.safe_load((world.folder / "journal.yaml").read_text(encoding="utf-8")) or []
    fed = [name for entry in written for name in entry.get("trees") or [entry.get("tree")]]
    assert sorted(fed) == sorted(names)
    assert in_the_can(world) == []

"""Pruning, wiring and repotting are told once in their season, never while held, and only to those who want it.

Stages and the work that goes with them: common practice, no source (buds swell: repot before the leaves open; first
flush hardened: prune, defoliate). Typical dates are those of `middle leafing`: buds swell 20 March, leaves open 24
April, the first flush has hardened 10 June, leaves have fallen 5 November, and half a year on in the south.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date

import pytest

from feedplan.engine.answers.explain import explain
from feedplan.engine.answers.work import work_prompts
from feedplan.engine.day import day_of
from feedplan.export.entries import calendar_entries, narrowed
from feedplan.export.entry import Kind
from feedplan.export.round_facts import round_facts
from feedplan.export.round_text import round_lines
from feedplan.export.why_text import why_facts, why_lines
from feedplan.load.collection import load_text
from feedplan.server.round_page import round_page
from tests.scenarios.planning import KORORUA_BAY, SCHEDULES, WRENMOOR, Plan, plan

WORK = """
work:
  repotting: {work: repotting, from: buds swelling, to: leaves open, say: Repot now., if_unknown: Look at the roots.,
    done: [repotted], again_after: 2 years}
  pruning: {work: pruning, from: first flush hardened, to: 31 July, say: Prune now., done: [hard pruned],
    not_for: [birch]}
"""
OWN = SCHEDULES | {name: text + WORK for name, text in SCHEDULES.items() if name in "VF"}
WANTED = "habits: {work_prompts: true}\n"
GROUPS = """
feeds: {powder: {grade: 20-10-20, form: soluble}}
groups:
  V: {schedule: V, feed: powder}
  F: {schedule: F, feed: powder}
  R: {schedule: R, feed: powder}
  shipped: {schedule: vigorous, feed: powder}
"""
MOTH = "{name: Moth, species: hornbeam, group: V, pot: 6 L}"


def garden(*trees: str, habits: str = WANTED, place: str = WRENMOOR, more: str = "") -> str:
    return f"{place}{habits}{more}{GROUPS}trees: [{', '.join(trees)}]\n"


def told(year: Plan, work: str = "") -> list[str]:
    """What is told from the first day to the last, as "2027-06-10 Prune now. Moth"."""
    return [
        f"{prompt.day} {prompt.say} {' '.join(tree.name for tree in prompt.trees)}"
        for prompt in work_prompts(year.season)
        if work in prompt.work
    ]


def planned(collection: str, journal: str = "", today: str = "2027-03-01", days: int = 300) -> Plan:
    return plan(collection, journal, today=today, days=days, schedules=OWN)


def test_nothing_is_told_to_those_who_want_feed_and_water_only() -> None:
    year = planned(garden(MOTH, habits=""))
    day = day_of(year.season, date(2027, 6, 10))
    why = explain(year.season, year.collection.trees[0], date(2027, 6, 10))
    assert (told(year), day.work, why.work) == ([], (), ())
    assert "work" not in round_facts(day, year.collection)
    assert "work" not in why_facts(why)
    assert not any("rune now" in line for line in [*round_lines(day, year.collection), *why_lines(why)])
    assert not any(e.key.startswith("work/") for e in calendar_entries(year.season, year.collection))


def test_each_kind_of_work_is_told_on_the_first_day_of_its_time() -> None:
    """Roots are looked at as buds swell; a hornbeam is pruned once its first flush has hardened."""
    assert told(planned(garden(MOTH))) == ["2027-03-20 Look at the roots. Moth", "2027-06-10 Prune now. Moth"]


def test_the_shipped_schedule_follows_the_stages() -> None:
    """As above; and branches are wired when they are bare (the other school wires in June)."""
    assert told(planned(garden(MOTH.replace("V", "shipped")), today="2027-04-10")) == [
        "2027-03-20 Look whether roots fill the pot; if so, repot before the leaves open. Moth",
        "2027-06-10 Prune strong trees back. Moth",
        "2027-11-05 Wire bare branches, and take off wire that bites. Moth",
    ]


def test_a_stage_that_was_seen_moves_it_and_one_that_is_over_ends_it() -> None:
    seen = "- {date: 2027-04-02, tree: Moth, seen: buds swelling}\n"
    assert told(planned(garden(MOTH), seen, "2027-04-02"), "repotting") == [
        "2027-04-02 Look at the roots. Moth"
    ]
    late = "- {date: 2027-03-10, recorded: 2027-05-01, tree: Moth, seen: buds swelling}\n"
    late += "- {date: 2027-04-20, recorded: 2027-05-01, tree: Moth, seen: leaves open}\n"
    assert told(planned(garden(MOTH), late, "2027-05-01", days=200), "repotting") == []


REPOTTED = "- {date: 2027-03-13, tree: Moth, work: repotted, roots: 30 %}\n"
GROWN = (
    "- {date: 2027-06-20, tree: Moth, seen: extension}\n- {date: 2027-07-06, tree: Moth, seen: hardened}\n"
)


def test_a_held_tree_is_told_of_on_the_day_it_is_free() -> None:
    """A moderate repot stops pruning for 35 days and until extension and hardened were seen: here to 6 July."""
    trees = MOTH, MOTH.replace("Moth", "Kettle")
    assert told(planned(garden(*trees), REPOTTED, "2027-07-05"), "pruning") == [
        "2027-06-10 Prune now. Kettle"
    ]
    assert told(planned(garden(*trees), REPOTTED + GROWN, "2027-07-06"), "pruning") == [
        "2027-06-10 Prune now. Kettle",
        "2027-07-06 Prune now. Moth",
    ]


def test_a_tree_that_lost_half_its_roots_keeps_its_leaves_in_the_year_it_recovers() -> None:
    """Judgement: it is fed at half strength to the end of that season, so nothing is cut either."""
    severe = REPOTTED.replace("30 %", "50 %") + GROWN
    assert told(planned(garden(MOTH), severe, "2027-07-06"), "pruning") == []
    assert told(planned(garden(MOTH), severe, "2028-06-10"), "pruning") == ["2028-06-10 Prune now. Moth"]


def test_the_last_day_of_its_time_is_still_told_and_a_tree_held_longer_is_not_told_of_this_year() -> None:
    last, late = (GROWN.replace("07-06", day) for day in ("07-31", "08-01"))
    assert told(planned(garden(MOTH), REPOTTED + last, "2027-07-31"), "pruning") == [
        "2027-07-31 Prune now. Moth"
    ]
    assert told(planned(garden(MOTH), REPOTTED + late, "2027-08-01"), "pruning") == []


def test_a_hold_that_stops_other_work_only_stops_nothing_here() -> None:
    """Scorch stops liquid feed; defoliation stops feed and repotting."""
    journal = "- {date: 2027-06-01, tree: Moth, trouble: scorch}\n- {date: 2027-06-02, tree: Moth, work: defoliated}\n"
    assert told(planned(garden(MOTH), journal, "2027-06-02"), "pruning") == ["2027-06-10 Prune now. Moth"]


def test_why_tells_the_hold_that_stops_it_with_its_end_and_its_lines() -> None:
    """Twelve weeks without growth make it a severe one, from 5 June."""
    year = planned(garden(MOTH), REPOTTED, "2027-07-05")
    why = explain(year.season, year.collection.trees[0], date(2027, 7, 5))
    lines = list(why_lines(why))
    at = next(
        number for number, line in enumerate(lines) if line.startswith("Not told, pruning: Prune now (")
    )
    assert lines[at + 1].startswith(
        "  repotted, severe from 5 Jun, as what ends it was not seen after the work on 13 Mar: "
    )
    assert "journal: journal.yaml:1" in lines[at + 2]
    (facts,) = why_facts(why)["work"]
    assert (facts["work"], facts["told"], len(facts["stopped_by"])) == ("pruning", None, 1)
    free = planned(garden(MOTH), REPOTTED + GROWN, "2027-07-10")
    words = list(why_lines(explain(free.season, free.collection.trees[0], date(2027, 7, 10))))
    assert any(line.startswith("Told 6 July 2027, pruning: Prune now (") for line in words)


def test_what_was_done_is_told_no_more_that_season_and_again_the_next() -> None:
    done = "- {date: 2027-06-01, tree: Moth, work: hard pruned}\n- {date: 2027-07-01, tree: Moth, seen: new buds}\n"
    assert told(planned(garden(MOTH), done, "2027-07-01", 400), "pruning") == ["2028-06-10 Prune now. Moth"]


def test_what_was_told_before_it_was_done_stays_as_it_was_told() -> None:
    done = "- {date: 2027-06-12, tree: Moth, work: hard pruned}\n"
    assert told(planned(garden(MOTH), done, "2027-06-13"), "pruning") == ["2027-06-10 Prune now. Moth"]
    late = "- {date: 2027-06-08, recorded: 2027-06-13, tree: Moth, work: hard pruned}\n"
    assert told(planned(garden(MOTH), late, "2027-06-13"), "pruning") == ["2027-06-10 Prune now. Moth"]


@pytest.mark.parametrize(
    ("every", "first"),
    [
        ("", "2028-03-20 Look at the roots. Moth"),
        (", repot_every: 1 year", "2027-03-20 Repot now. Moth"),
        (", repot_every: 2 years", "2028-03-20 Repot now. Moth"),
        (", repot_every: 3 years", "2029-03-20 Repot now. Moth"),
    ],
)
def test_repotting_is_told_of_trees_that_are_due(every: str, first: str) -> None:
    """Repotted in 2026. Where nobody says how often, roots are looked at from the second season on."""
    journal = "- {date: 2026-03-13, tree: Moth, work: repotted, roots: 15 %}\n"
    journal += "- {date: 2026-05-20, tree: Moth, seen: new growth}\n"
    trees = garden(MOTH.replace("pot:", f"pot: 6 L{every}, bench: b, about:").replace("6 L}", "x}"))
    assert told(planned(trees, journal, "2026-12-01", 900), "repotting")[0] == first


def test_only_the_trees_that_are_due_are_named_and_those_of_a_group_together() -> None:
    """Moth is due, Kettle was done last year, of Brand and Tansy nothing is known: two rows for four trees."""
    names = ("Moth", "Kettle", "Brand", "Tansy")
    trees = garden(
        *(MOTH.replace("Moth", name).replace("pot:", "repot_every: 2 years, pot:") for name in names)
    )
    journal = ""
    for year, name in ((2025, "Moth"), (2026, "Kettle")):
        journal += f"- {{date: {year}-03-13, tree: {name}, work: repotted, roots: 15 %}}\n"
        journal += f"- {{date: {year}-05-20, tree: {name}, seen: new growth}}\n"
    assert sorted(told(planned(trees, journal), "repotting")) == [
        "2027-03-20 Look at the roots. Brand Tansy",
        "2027-03-20 Repot now. Moth",
    ]


def test_in_the_south_it_is_half_a_year_on() -> None:
    """31 July is 31 January there: a tree free on 20 January is in time, one free on 1 February is not."""
    year = planned(garden(MOTH, place=KORORUA_BAY), today="2027-08-01")
    assert told(year) == ["2027-09-20 Look at the roots. Moth", "2027-12-10 Prune now. Moth"]
    held = "- {date: 2027-12-01, tree: Moth, trouble: frost}\n"
    held += "- {date: 2028-01-20, tree: Moth, seen: clean new leaves}\n"
    late = planned(garden(MOTH, place=KORORUA_BAY), held, "2028-01-20")
    assert told(late, "pruning")[0] == "2028-01-20 Prune now. Moth"
    late = planned(
        garden(MOTH, place=KORORUA_BAY), held.replace("2028-01-20", "2028-02-01"), "2028-02-01", 200
    )
    assert told(late, "pruning") == []


def test_a_time_that_lasts_over_the_turn_of_the_year_is_told_in_it() -> None:
    """Wire while bare, from fallen leaves to swelling buds; a bad root stopped all work until 10 January."""
    wire = "work:\n  wiring: {work: wiring, from: leaves fallen, to: buds swelling, say: Wire now., done: [bent]}\n"
    sick = "- {date: 2027-10-01, tree: Moth, trouble: root rot}\n"
    sick += "- {date: 2027-12-01, tree: Moth, seen: [clean check, white root tips]}\n"
    sick += "- {date: 2028-01-10, tree: Moth, seen: clean check}\n"
    for journal, day in (("", "2027-11-05"), (sick, "2028-01-10")):
        schedules = {"V": SCHEDULES["V"] + wire, "F": SCHEDULES["F"], "R": SCHEDULES["R"]}
        year = plan(garden(MOTH), journal, today="2028-01-15", days=100, schedules=schedules)
        assert told(year) == [f"{day} Wire now. Moth"]


def test_nobody_is_told_while_away() -> None:
    away = "away: [{from: 2027-06-08, to: 2027-06-20}]\n"
    assert told(planned(garden(MOTH, more=away)), "pruning") == ["2027-06-21 Prune now. Moth"]


def test_weak_trees_and_kinds_it_is_not_for_are_left_alone_unless_the_schedule_says_so() -> None:
    weak = MOTH.replace("Moth", "Wisp").replace("pot:", "weak: true, pot:")
    birch = MOTH.replace("Moth", "Paper").replace("hornbeam", "silver birch")
    recovering = MOTH.replace("Moth", "Cobbler").replace("V", "R")
    assert told(planned(garden(MOTH, weak, birch, recovering)), "pruning") == ["2027-06-10 Prune now. Moth"]
    too = OWN | {"V": OWN["V"].replace("done: [hard pruned]", "done: [hard pruned], weak_too: true")}
    year = plan(garden(MOTH, weak), today="2027-03-01", schedules=too)
    assert told(year, "pruning") == ["2027-06-10 Prune now. Moth Wisp"]


@pytest.mark.parametrize("name", ["recovering", "collected", "newly-repotted", "seedlings", "cuttings"])
def test_schedules_for_trees_that_are_to_be_left_alone_tell_of_no_work(name: str) -> None:
    text = f"{WRENMOOR}groups: {{g: {{schedule: {name}}}}}\ntrees: [{{name: Moth, species: elm, group: g, pot: 1 L}}]\n"
    assert load_text(text, "", {}).collection.groups["g"].schedule.work == ()


def test_a_tree_moved_within_the_time_is_told_of_once() -> None:
    """Both groups prune from 10 June to 31 July."""
    moved = "- {date: 2027-06-20, tree: Moth, moved: F}\n"
    assert told(planned(garden(MOTH), moved, "2027-06-20"), "pruning") == ["2027-06-10 Prune now. Moth"]


def test_a_tree_that_comes_within_the_time_is_told_of_when_it_is_here() -> None:
    bought = garden(MOTH.replace("pot:", "since: 2027-07-01, pot:"))
    assert told(planned(bought), "pruning") == ["2027-07-01 Prune now. Moth"]


def test_a_plan_that_begins_within_the_time_tells_of_it_on_its_first_day() -> None:
    assert told(planned(garden(MOTH, more="since: 2027-06-24\n"), today="2027-06-24"), "pruning") == [
        "2027-06-24 Prune now. Moth"
    ]


def test_a_group_may_have_its_own_days_or_none() -> None:
    own = "changes: {work: {pruning: {to: 20 June, say: Pinch now.}, repotting: none}}"
    text = garden(MOTH).replace("V: {schedule: V,", f"V: {{schedule: V, {own},")
    assert told(planned(text)) == ["2027-06-10 Pinch now. Moth"]


@dataclass(frozen=True)
class Shown:
    """One day with work as it is read in each place."""

    text: list[str]
    facts: Mapping[str, object]
    page: tuple[str, ...]


def test_round_json_page_and_calendar_tell_the_same() -> None:
    year = planned(garden(MOTH, MOTH.replace("Moth", "Kettle").replace("pot:", "count: 3, pot:")))
    on = date(2027, 6, 10)
    day = day_of(year.season, on)
    shown = Shown(
        list(round_lines(day, year.collection)),
        round_facts(day, year.collection),
        round_page(year.season, year.collection, on).look_for,
    )
    line = "V, pruning: Prune now (Moth, Kettle (3))."
    assert f"  {line}" in shown.text
    assert shown.text.index(f"  {line}") > shown.text.index("Look for")
    assert line in shown.page
    assert shown.facts["work"] == [
        {
            "group": "V",
            "work": "pruning",
            "text": "Prune now.",
            "trees": ["Moth", "Kettle"],
            "recorded_as": ["hard pruned"],
        }
    ]
    (entry,) = (
        e for e in calendar_entries(year.season, year.collection) if e.start == on and e.kind is Kind.NOTE
    )
    assert (entry.title, entry.group, entry.days) == ("Prune now: V, 4 trees", "V", 1)
    assert entry.text == "Trees: Moth, Kettle (3).\nIf hard pruned: feedplan record work hard pruned NAMES"
    assert narrowed([entry], groups=["F"]) == []


def test_only_the_days_planned_are_told_and_other_days_of_a_round_are_free_of_it() -> None:
    year = planned(garden(MOTH))
    assert day_of(year.season, date(2027, 6, 11)).work == ()
    shorter = replace(year.season, end=date(2027, 6, 9))
    assert [str(prompt.day) for prompt in work_prompts(shorter)] == ["2027-03-20"]


def test_its_name_in_the_calendar_stays_when_its_day_moves() -> None:
    seen = "- {date: 2027-06-14, group: V, seen: first flush hardened}\n"
    before, after = planned(garden(MOTH)), planned(garden(MOTH), seen, "2027-06-14")
    keys = [[p.key for p in work_prompts(year.season) if p.work == "pruning"] for year in (before, after)]
    assert keys[0] == keys[1]
    assert told(after, "pruning") == ["2027-06-14 Prune now. Moth"]

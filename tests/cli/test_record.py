"""`feedplan record`: each way to say what happened, the line it writes, and what it says back."""

from __future__ import annotations

import json
import re
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from feedplan.cli.main import feedplan
from feedplan.engine.plan import plan_season
from feedplan.engine.season import Season
from feedplan.load.collection import load_collection
from feedplan.memory import plan
from tests.cli.conftest import JOURNAL, TODAY, Run

ID = "[a-z2-9]{5}"


def written(folder: Path) -> list[str]:
    """The lines added to the journal, their ids left out."""
    lines = (folder / "journal.yaml").read_text().removeprefix(JOURNAL).splitlines()
    # An id that reads as a number, such as 29e49, stands in quotes.
    return [re.sub(f', id: "?{ID}"?}}', "}", line) for line in lines]


FORMS = [
    ("seen first flush hardened Moth Anvil", "trees: [Moth, Anvil], seen: first flush hardened"),
    ("seen|limp, no extension|moth", "tree: Moth, seen: [limp, no extension]"),
    ("seen limp no extension Moth", "tree: Moth, seen: [limp, no extension]"),
    ("seen leafed out --species larch", "species: larch, seen: leaves open"),
    ("seen leaves open Moth --instead", "tree: Moth, seen: leaves open, instead: true"),
    ("repotted Moth --roots 30%", "tree: Moth, work: repotted, roots: 30 %"),
    ("work repotted Moth --bare-rooted", "tree: Moth, work: repotted, bare_rooted: true"),
    ("hard pruned Old Kelp", "tree: Old Kelp, work: hard pruned"),
    ("frost Moth", "tree: Moth, trouble: frost"),
    ("trouble frost|Old Kelp", "tree: Old Kelp, trouble: frost"),
    ("limp Moth", "tree: Moth, seen: limp"),
    ("scorched Moth", "tree: Moth, seen: scorched"),
    ("root-pruned Moth", "tree: Moth, work: repotted"),
    ("divided Moth", "tree: Moth, work: repotted"),
    ("fed --group growing-on --but-not Moth", "group: growing-on, but_not: [Moth], fed: as planned"),
    ("fed Moth, Old Kelp --ppm 100 --litres 6", "trees: [Moth, Old Kelp], fed: 100 ppm N, litres: 6 L"),
    ("fed --everything --feed powder", "everything: true, fed: as planned, feed: powder"),
    ("fed Moth --part 50%", "tree: Moth, fed: as planned, part: 50 %"),
    ("not-fed Moth Anvil", "trees: [Moth, Anvil], not_fed: no reason"),
    ("not-fed --group growing-on --because|too wet", "group: growing-on, not_fed: too wet"),
    ("check dry Anvil", "tree: Anvil, check: dry"),
    ("laid coated-16 Anvil --grams 20 --mixed-in", "tree: Anvil, laid: coated-16, grams: 20 g, mixed_in: true"),
    ("laid coated-16 Anvil --grams|0.5 oz", "tree: Anvil, laid: coated-16, grams: 0.5 oz"),
    ("lifted coated-16 Anvil", "tree: Anvil, lifted: coated-16"),
    ("lifted all Anvil", "tree: Anvil, lifted: all"),
    ("lifted none there Anvil", "tree: Anvil, lifted: none there"),
    ("moved Moth --to shown", "tree: Moth, moved: shown"),
    ("moved Moth --bench|north wall", "tree: Moth, bench: north wall"),
    ("moved Moth --to Shown --bench shade", "tree: Moth, moved: shown, bench: shade"),
    ("gone given away Moth", "tree: Moth, gone: given away"),
    ("put-off Brindle", "tree: Brindle, put_off: next spring"),
    ("gone sold Moth --count 1", "tree: Moth, gone: sold, count: 1"),
    ("planned repotted Moth --roots 30% --on 2028-03-10",
     "tree: Moth, planned: repotted, on: 2028-03-10, roots: 30 %"),
    ("arrived bought Old Kelp", "tree: Old Kelp, arrived: bought"),
    ("allow Brindle --because|new roots: seen", 'tree: Brindle, allow: feed, because: "new roots: seen"'),
    ("note Moth|smaller leaves, again", 'tree: Moth, note: "smaller leaves, again"'),
    ("check moist Moth --note|by the tap", "tree: Moth, check: moist, note: by the tap"),
]  # fmt: skip


def argv(form: str) -> list[str]:
    """A form as a shell would split it: at spaces, but what follows a | is one word up to the next |."""
    head, *quoted = form.split("|")
    words = head.split()
    for index, part in enumerate(quoted):
        words += [part] if index % 2 == 0 else part.split()
    return words


@pytest.mark.parametrize(("form", "line"), FORMS)
def test_what_is_said_is_written_as_one_line(form: str, line: str, run: Run, folder: Path) -> None:
    result = run("record", *argv(form), today=TODAY)
    assert (result.exit_code, result.stderr) == (0, "")
    assert written(folder) == [f"- {{date: {TODAY}, {line}}}"]
    assert re.search(f"^Recorded: .* Undo: feedplan record --undo {ID}$", result.stdout.splitlines()[0])
    assert len(load_collection(folder).journal.entries) == 2


def test_root_work_says_what_it_holds_until_when_and_how_to_take_it_back(run: Run, folder: Path) -> None:
    # 30 % of roots in leaf counts a band heavier, as severe: 56 days from 14 June is 9 August, and two signs.
    result = run("record", "repotted", "Moth", "--roots", "30 %", today=TODAY)
    first, *more = result.stdout.splitlines()
    assert first.startswith(
        "Recorded: Moth repotted, 30 % of roots off. No feed, pruning, wiring, repotting or full sun before 9 Aug, and "
        "once seen: extension and hardened. Undo: "
    )
    assert any("Repotted on 14 Jun is out of season for its kind" in line for line in more)
    assert "- Give 30 to 50 % shade and shelter from wind; mist 2 to 4 times a day in dry air." in more


def test_a_sign_says_what_it_frees(run: Run, folder: Path) -> None:
    # Brindle was repotted on 26 April, so 35 days were over on 31 May; the sign was known on 14 June.
    result = run("record", "seen", "hardened", "Brindle", today=TODAY)
    assert "The hold 'repotted, moderate' ends 14 Jun." in result.stdout
    assert "Next feed 14 Jun at 38 ppm N." in result.stdout  # a quarter of 150, rounded


def test_part_of_what_is_asked_leaves_the_hold_open_and_says_so(run: Run, folder: Path) -> None:
    result = run("record", "seen", "extension", "Brindle", today=TODAY)
    assert "The hold 'repotted, moderate' still waits for hardened." in result.stdout


def test_putting_off_says_until_when_and_a_sign_of_this_year_how_to_take_that_back(
    run: Run, folder: Path
) -> None:
    result = run("record", "put-off", "Brindle", today=TODAY)
    told = "The hold 'repotted, moderate' waits for spring 2028, and nobody looks for extension and hardened"
    assert told in result.stdout
    entry = load_collection(folder).journal.entries[-1].id
    seen = run("record", "seen", "hardened", "Brindle", today="2027-06-15")
    assert (
        "Take care: 'repotted, moderate' is put off to spring 2028, so this ends nothing. "
        f"If it grows after all: feedplan record --undo {entry}.\n" in seen.stdout
    )
    back = run("record", "--undo", entry, today="2027-06-15")
    assert "The hold 'repotted, moderate' ends 15 Jun. Next feed 15 Jun at 38 ppm N." in back.stdout


def test_putting_off_a_tree_that_waits_for_nothing_is_refused_and_what_it_says_to_write_first_helps(
    run: Run, folder: Path
) -> None:
    before = (folder / "journal.yaml").read_bytes()
    refused = run("record", "put-off", "Moth", today=TODAY)
    assert (refused.exit_code, (folder / "journal.yaml").read_bytes()) == (2, before)
    remedy = refused.output.rsplit("feedplan ", 1)[1].split()
    assert run(*remedy, today=TODAY).exit_code == 0
    assert "waits for spring 2028" in run("record", "put-off", "Moth", today=TODAY).stdout


def test_not_fed_where_no_feed_was_asked_for_says_at_once_that_it_is_kept_as_a_note(
    run: Run, folder: Path
) -> None:
    """Brindle waits for a sign after its repotting, so that nothing is asked for."""
    answer = run("record", "not-fed", "Brindle", today=TODAY).stdout
    assert "Brindle: not fed. None was asked for on 14 Jun; kept as a note. Undo:" in answer


def test_a_tree_put_off_is_not_put_off_again(run: Run, folder: Path) -> None:
    run("record", "put-off", "Brindle", today=TODAY)
    again = run("record", "put-off", "Brindle", today=TODAY)
    assert again.exit_code == 2
    assert "'repotted, moderate' is put off to spring 2028 already" in again.output


@pytest.mark.parametrize(
    ("which", "code"),
    [("--species hornbeam", 2), ("--species larch", 0), ("--group shown", 2), ("--group growing-on", 0)],
)
def test_trees_are_put_off_together_where_one_of_them_waits_for_a_sign(
    run: Run, folder: Path, which: str, code: int
) -> None:
    assert run("record", "put-off", *which.split(), today=TODAY).exit_code == code


def test_a_strength_is_recorded_in_the_words_of_a_schedule(run: Run, folder: Path) -> None:
    """Half of 1 g of 20-10-20 per litre is 100 mg N per litre."""
    assert (
        "Moth fed 100 ppm N" in run("record", "fed", "Moth", "--strength", "half label", today=TODAY).stdout
    )
    both = run("record", "fed", "Moth", "--strength", "half label", "--ppm", "100", today=TODAY)
    assert both.exit_code == 2


def test_a_share_of_a_label_for_a_group_without_a_feed_asks_which_and_what_it_says_helps(
    run: Run, folder: Path
) -> None:
    file = folder / "collection.yaml"
    two = file.read_text().replace("feeds:\n", "feeds:\n  weed: {grade: 2-0-4, form: soluble}\n")
    file.write_text(two.replace("vigorous, feed: powder", "vigorous"))
    half = ("record", "fed", "Moth", "--strength", "half label")
    refused = run(*half, today=TODAY)
    assert refused.exit_code == 1, refused.output
    (remedy,) = re.findall(r"record: (--feed \w+)", refused.output)
    assert "fed 100 ppm N of powder" in run(*half, *remedy.split(), today=TODAY).stdout
    assert "'weed' tells no label_rate" in run(*half, "--feed", "weed", today=TODAY).output


def test_planned_work_says_what_it_would_hold_and_why_tells_it(run: Run, folder: Path) -> None:
    """35 days from 10 March 2028 are 14 April."""
    said = run("record", "planned", "repotted", "Moth", "--roots", "30 %", "--on", "2028-03-10", today=TODAY)
    hold = "no feed, pruning or wiring before 14 Apr 2028, and once seen: extension and hardened"
    assert f"Then {hold}; nothing is held until it is done." in said.stdout
    assert f"from then on {hold}" in run("why", "Moth", today=TODAY).stdout
    assert "Planned:" not in run("why", "Anvil", today=TODAY).stdout
    told = (
        "Moth: repotted planned for 10 Mar (as repotted, moderate): from then on no feed, pruning or wiring"
    )
    assert told not in run("round", "--all", today="2028-02-10").stdout
    assert told in run("round", "--all", today="2028-02-11").stdout  # four weeks ahead
    facts = json.loads(run("why", "Moth", "--json", today=TODAY).stdout)["planned"]
    assert [(each["work"], each["on"], each["minimum"]) for each in facts] == [
        ("repotted", "2028-03-10", "2028-04-14")
    ]


@pytest.mark.parametrize("verb", [["repotted"], ["work", "repotted"]])
def test_work_on_some_of_those_under_a_name_says_what_to_do(verb: list[str], run: Run, folder: Path) -> None:
    result = run("record", *verb, "Moth", "--count", "1", today=TODAY)
    assert result.exit_code == 2
    assert (
        "write feedplan record gone set apart NAME --count 1, and then the work for the new name"
        in result.stderr
    )
    assert run("record", "gone", "set", "apart", "Moth", "--count", "1", today=TODAY).exit_code == 0


def test_trees_that_fare_differently_are_told_apart(run: Run, folder: Path) -> None:
    result = run("record", "seen", "hardened", "Brindle", "Moth", today=TODAY)
    assert "Brindle: the hold 'repotted, moderate' ends 14 Jun." in result.stdout


def test_a_feed_inside_a_hold_is_written_and_flagged(run: Run, folder: Path) -> None:
    result = run("record", "fed", "Brindle", today=TODAY)
    assert result.exit_code == 0
    assert len(written(folder)) == 1
    assert (
        "Take care: Fed although held: repotted, moderate on 26 Apr: "
        "not before 31 May, and once seen: extension and hardened; from 19 Jul as repotted, severe, if nothing is seen."
        in result.stdout
    )


def test_a_held_tree_of_a_group_fed_as_planned_is_told_to_count_as_not_fed(run: Run, folder: Path) -> None:
    result = run("record", "fed", "--group", "growing-on", today=TODAY)
    assert "Take care: Brindle: counted as not fed, since held: repotted, moderate on 26 Apr" in result.stdout
    assert "no feed" in run("why", "Brindle", TODAY, today=TODAY).stdout
    assert "fed" in run("why", "Moth", TODAY, today=TODAY).stdout.splitlines()[0]


def test_a_feed_given_before_any_period_is_told_by_why_as_one_nobody_asked_for(
    run: Run, folder: Path
) -> None:
    """100 ppm on a tenth of the pot are 10 mg N per litre of pot."""
    run("record", "fed", "Old Kelp", "--ppm", "100", today="2027-03-25")
    told = run("why", "Old Kelp", "2027-03-25", today="2027-03-26").stdout
    assert told.splitlines()[:2] == [
        "Old Kelp (field maple), 25 March 2027: fed, 100 ppm N of powder.",
        "  given, though none was told: 100 ppm N",
    ]
    assert "Nitrogen this season to that day: 10 of 120 mg per litre of pot" in told
    facts = json.loads(run("why", "Old Kelp", "2027-03-25", "--json", today="2027-03-26").stdout)
    assert facts["told"] is None


def test_what_is_written_of_a_tree_that_is_gone_changes_nothing_and_says_so(run: Run, folder: Path) -> None:
    run("record", "gone", "sold", "Moth", today=TODAY)
    alone = run("record", "repotted", "Moth", "--roots", "30 %", today=TODAY).stdout
    assert "Nothing else changes." in alone
    assert "Take care: Gone since 14 Jun, so this changes nothing." in alone
    both = run("record", "weak", "Moth", "Anvil", today=TODAY).stdout
    assert "Moth and Anvil: weak. No feed" in both
    assert "Take care: Moth: gone since 14 Jun, so this changes nothing." in both
    assert "Moth" not in run("record", "frost", "--everything", today=TODAY).stdout


def test_a_feed_that_the_weather_had_put_off_is_recorded_and_remarked(run: Run, folder: Path) -> None:
    (folder / "climate").mkdir()
    days = "2027-06-12,9,18,0\n2027-06-13,9,18,25\n2027-06-14,9,18,0\n"
    (folder / "climate/daily.csv").write_text("date,tmin_c,tmax_c,rain_mm\n" + days)
    said = run("record", "fed", "Moth", today="2027-06-13").stdout
    assert "Take care: Fed although held: 25 mm of rain" in said


def test_a_sign_of_trouble_is_answered_with_what_to_do_about_it(run: Run, folder: Path) -> None:
    """Yellow between green veins is lime or iron, and more nitrogen the usual mistake (common practice, no source)."""
    said = run("record", "yellowing", "Moth", today=TODAY).stdout
    assert "- Yellow between green veins, young leaves first: lime or iron, not hunger;" in said
    assert "\n- " not in run("record", "seen", "leaves open", "Moth", today=TODAY).stdout


def test_a_second_feed_too_soon_is_flagged(run: Run, folder: Path) -> None:
    run("record", "fed", "Moth", "--date", "yesterday", today=TODAY)
    again = run("record", "fed", "Moth", today=TODAY)
    assert "Take care: Fed 1 day after 13 Jun; 7 days is the least between feeds.\n" in again.stdout


@pytest.mark.parametrize(
    ("strength", "care"),
    [
        (
            ("--strength", "3 g per L"),
            "Take care: Fed 600 ppm N, 200 above the label of 'powder', at most 400 ppm N: flush with plain water at "
            "once, until it runs through.\n",
        ),
        (("--ppm", "401"), "Take care: Fed 401 ppm N, 1 above the label of 'powder'"),
        (("--ppm", "400"), ""),
    ],
)
def test_a_feed_above_its_label_is_to_be_flushed_at_once(
    run: Run, folder: Path, strength: tuple[str, str], care: str
) -> None:
    """The label of the powder allows 2 g per L of 20 % N, which is 400 ppm."""
    said = run("record", "fed", "Moth", *strength, today=TODAY).stdout
    assert care in said
    assert ("above the label" in said) is bool(care)


@pytest.mark.parametrize(
    ("typed", "signs"),
    [
        (["extension and hardened", "Moth"], "extension, hardened"),
        (["extension", "and", "hardened", "Moth"], "extension, hardened"),
        (["settled,", "clean", "check", "Moth"], "settled, clean check"),
        (["settled", "and", "clean", "check", "Moth"], "settled, clean check"),
        (["turgid", "at", "dawn,", "no", "die-back", "Moth"], "turgid at dawn, no die-back"),
        (["turgid", "at", "dawn", "and", "no", "die-back", "Moth"], "turgid at dawn, no die-back"),
        (["Turgid at dawn, and no die-back", "Moth"], "turgid at dawn, no die-back"),
    ],
)
def test_signs_are_taken_as_the_program_lists_them(
    run: Run, folder: Path, typed: list[str], signs: str
) -> None:
    assert run("record", "seen", *typed, today=TODAY).exit_code == 0
    assert f"tree: Moth, seen: [{signs}]" in (folder / "journal.yaml").read_text()


def test_of_a_range_of_roots_the_higher_end_is_to_be_written(run: Run, folder: Path) -> None:
    """40 % of the roots off is the longer hold, so it is the careful one (judgement)."""
    said = run("record", "repotted", "Moth", "--roots", "30-40 %", today=TODAY)
    assert (said.exit_code, "write its higher end, 40 %" in said.stderr) == (2, True)


def test_a_dry_ball_is_watered_first(run: Run, folder: Path) -> None:
    assert (
        "Water it first; feed once it is evenly moist."
        in run("record", "check", "dry", "Anvil", today=TODAY).stdout
    )


@pytest.mark.parametrize(
    ("date", "line"),
    [
        ("today", f"- {{date: {TODAY}, tree: Moth, fed: as planned}}"),
        ("yesterday", f"- {{date: 2027-06-13, recorded: {TODAY}, tree: Moth, fed: as planned}}"),
        ("2027-05-01", f"- {{date: 2027-05-01, recorded: {TODAY}, tree: Moth, fed: as planned}}"),
    ],
)
def test_a_late_entry_carries_the_day_it_was_written_down(
    date: str, line: str, run: Run, folder: Path
) -> None:
    run("record", "fed", "Moth", "--date", date, today=TODAY)
    assert written(folder) == [line]


def test_json_says_the_same(run: Run, folder: Path) -> None:
    result = run("record", "fed", "Brindle", "--json", today=TODAY)
    facts = json.loads(result.stdout)
    entry = load_collection(folder).journal.entries[-1]
    assert (facts["done"], facts["id"], facts["date"], facts["trees"]) == (
        "recorded",
        entry.id,
        TODAY,
        ["Brindle"],
    )
    assert facts["undo"] == f"feedplan record --undo {entry.id}"
    assert len(facts["flags"]) == 1


def test_undo_takes_back_the_last_entry_then_the_one_before(run: Run, folder: Path) -> None:
    run("record", "frost", "Moth", today=TODAY)
    run("record", "check", "dry", "Anvil", today=TODAY)
    first = run("record", "--undo", today=TODAY)
    second = run("record", "--undo", "--yes", today=TODAY)
    assert first.stdout.startswith(f"Taken back: Anvil: checked, dry on {TODAY}.")
    assert second.stdout.startswith(f"Taken back: Moth: frost on {TODAY}. The hold 'frost' is lifted. ")
    assert [entry.subject.trees for entry in load_collection(folder).journal.entries] == [("Brindle",)]


def test_undo_by_id_works_from_anywhere_in_the_journal_and_can_itself_be_undone(
    run: Run, folder: Path
) -> None:
    said = run("record", "frost", "Moth", today=TODAY).stdout.splitlines()[0]
    run("record", "check", "dry", "Anvil", today=TODAY)
    undone = run(*said.split("feedplan ")[1].split(), "--yes", today=TODAY).stdout
    assert len(load_collection(folder).journal.entries) == 2
    back = run(*undone.split("feedplan ")[1].split(), today=TODAY).stdout
    assert back.startswith(
        f"Put back: Moth: frost on {TODAY}. No feed, pruning, wiring or repotting before 28 Jun"
    )
    assert len(load_collection(folder).journal.entries) == 3


def test_taking_back_root_work_asks_first_and_says_what_it_lifts(run: Run, folder: Path) -> None:
    """Brindle, repotted on 26 April; without that it is fed as Moth is, whose next feed is on 23 June."""
    entry = load_collection(folder).journal.entries[0].id
    before = (folder / "journal.yaml").read_text()
    asked = run("record", "--undo", entry, today=TODAY)
    question = (
        "Take back 'Brindle repotted, 30 % of roots off' of 26 Apr? The hold 'repotted, moderate' is lifted. "
    )
    assert (asked.exit_code, asked.stdout) == (2, "")
    assert asked.stderr.startswith(f"Error: {question}Next feed ")
    assert asked.stderr.endswith(f"Nothing is changed yet; if yes: feedplan record --undo {entry} --yes\n")
    assert (folder / "journal.yaml").read_text() == before
    done = run(*asked.stderr.split("if yes: feedplan ")[1].split(), today=TODAY)
    assert done.stdout.startswith("Taken back: Brindle repotted, 30 % of roots off on 2027-04-26. ")
    assert done.stdout.split(". ", 1)[1].startswith(asked.stderr.split("? ", 1)[1].split(" Nothing")[0])
    again = run(*done.stdout.split("Undo: feedplan ")[1].split(), today=TODAY)
    assert again.stdout.startswith(
        "Put back: Brindle repotted, 30 % of roots off on 2027-04-26. No feed, pruning"
    )
    assert load_collection(folder).journal.entries[0].id == entry


@pytest.mark.parametrize(("answer", "left"), [("y\n", 0), ("n\n", 1), ("\n", 1)])
def test_at_a_terminal_the_question_is_answered_there(
    answer: str, left: int, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    entry = load_collection(folder).journal.entries[0].id
    monkeypatch.setattr("feedplan.cli.recording._can_ask", lambda: True)
    result = CliRunner().invoke(
        feedplan, ["record", "--undo", entry, "-c", str(folder), "--today", TODAY], input=answer
    )
    assert result.exit_code == 0
    assert "The hold 'repotted, moderate' is lifted." in result.stdout
    assert ("Nothing is taken back." in result.stdout) == bool(left)
    assert len(load_collection(folder).journal.entries) == left


@pytest.fixture
def plans(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """One item for every plan that was made."""
    made: list[str] = []

    def noted(*args: Any, **kwargs: Any) -> Season:
        made.append("plan")
        return plan_season(*args, **kwargs)

    for module in ("memory", "engine.answers.effects"):
        monkeypatch.setattr(f"feedplan.{module}.plan_season", noted)
    return made


@pytest.mark.parametrize("options", [["--yes"], []])
def test_taking_back_plans_once_before_and_once_after(
    options: list[str], folder: Path, plans: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("feedplan.cli.recording._can_ask", lambda: True)
    entry = load_collection(folder).journal.entries[0].id
    words = ["record", "--undo", entry, *options, "--today", TODAY]
    result = CliRunner().invoke(feedplan, words, input="y\n")
    assert "Taken back: Brindle repotted, 30 % of roots off on 2027-04-26. The hold" in result.stdout
    assert len(plans) == 2


def test_what_was_planned_for_the_question_is_what_is_remembered_and_told(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On the clock's own day: told.json is as a plan made afresh after the undoing leaves it."""
    monkeypatch.setattr("feedplan.cli.recording._can_ask", lambda: True)
    monkeypatch.setattr("feedplan.cli.options.today_in", lambda _: date.fromisoformat(TODAY))
    entry = load_collection(folder).journal.entries[0].id
    CliRunner().invoke(feedplan, ["record", "--undo", entry], input="y\n")
    kept = [(folder / name).read_text() for name in ("told.json", "history.csv")]
    plan(load_collection(folder), date.fromisoformat(TODAY), file=folder / "collection.yaml", keep=True)
    assert [(folder / name).read_text() for name in ("told.json", "history.csv")] == kept


def test_an_entry_written_while_the_question_stands_is_planned_with(
    folder: Path, plans: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def asked(question: str) -> bool:
        with (folder / "journal.yaml").open("a") as journal:
            journal.write(f"- {{date: {TODAY}, tree: Brindle, trouble: frost}}\n")
        return True

    monkeypatch.setattr("feedplan.cli.recording._can_ask", lambda: True)
    monkeypatch.setattr("click.confirm", asked)
    entry = load_collection(folder).journal.entries[0].id
    result = CliRunner().invoke(feedplan, ["record", "--undo", entry, "--today", TODAY])
    assert "Next feed 23 Jun" not in result.stdout
    assert len(plans) == 3


def test_yes_goes_with_undo_alone(run: Run) -> None:
    assert run("record", "--yes", "check", "dry", "Anvil", today=TODAY).exit_code == 2


def test_undo_of_an_unknown_id_names_the_last(run: Run, folder: Path) -> None:
    result = run("record", "--undo", "zzzzz", today=TODAY)
    assert result.exit_code == 2
    assert re.match(
        r"Error: no entry 'zzzzz' stands; the last is \w+: Brindle repotted, 30 % of roots off", result.stderr
    )
    assert written(folder) == []


def test_a_journal_that_is_not_there_yet_is_made(run: Run, folder: Path) -> None:
    (folder / "journal.yaml").unlink()
    assert run("record", "frost", "Moth", today=TODAY).exit_code == 0
    assert len(load_collection(folder).journal.entries) == 1
    run("record", "--undo", "--yes", today=TODAY)
    empty = run("record", "--undo", today=TODAY)
    assert (empty.exit_code, empty.stderr) == (2, "Error: the journal has no entry to take back\n")


@pytest.mark.parametrize(
    ("form", "sentence"),
    [
        ("fed Moht", "no tree is called 'Moht'; did you mean Moth?"),
        ("fed Moth Nobody", "no tree is called 'Nobody'; write one of Brindle, Moth, Old Kelp, Anvil"),
        ("seen hardnd Moth", "'hardnd' is not a stage or sign; did you mean hardened?"),
        ("seen", "say which: a stage or sign; write one of dormant, "),
        ("rpotted Moth", "'rpotted' is not a word for work or trouble; did you mean repotted?"),
        ("sen hardened Moth", "'sen' is not a word for work or trouble; did you mean seen?"),
        ("trouble repotted Moth", "'repotted' is not a word for trouble; "),
        ("frost Moth --roots 30%", "--roots and --bare-rooted go with work, not with frost; leave them out"),
        ("repotted Moth --roots 30", "--roots "),
        ("repotted Moth --roots 130%", "--roots "),
        ("fed", "no tree is named; write tree names, or one of --group, --species, --everything"),
        ("fed|", "no tree is named; write tree names, or one of --group, --species, --everything"),
        ("fed Moth --everything", "names and options for trees exclude each other; "),
        ("fed Moth --but-not Anvil", "--but-not goes with --group, --species or --everything; "),
        ("fed --group growing", "no group is called 'growing'; did you mean growing-on?"),
        ("fed --group shown --but-not Kelp", "no tree is called 'Kelp'; did you mean Old Kelp?"),
        ("fed --species oak", "no species is called 'oak'; write one of elm, field maple, hornbeam, larch"),
        ("fed Moth --feed pwder", "no feed is called 'pwder'; did you mean powder?"),
        ("fed Moth --litres 0", "--litres 0 is nothing; write more than 0"),
        ("fed Moth --litres two", "--litres "),
        ("fed Moth --date 2027-06-15", "2027-06-15 is after today, 2027-06-14; record what has happened"),
        ("check blue Moth", "'blue' is not an answer; write one of dry, moist, watered"),
        (
            "laid powder Moth --grams 5",
            "'powder' is not a coated, organic, pellets, cake, manure or compost feed; write one of coated-16",
        ),
        ("moved Moth", "say where it moved: --to GROUP, --bench BENCH or both"),
        ("moved Moth --to show", "no group is called 'show'; did you mean shown?"),
        ("gone fishing Moth", "'fishing' is not a way to go; write dead, sold, given away or set apart"),
        ("gone stolen Moth", "'stolen' is not a way to go; write dead, sold, given away or set apart"),
        ("fed Moth|100 ppm", "'100 ppm' is no tree; write a strength as --ppm 100"),
        ("fed 50% Moth", "'50%' is no tree; write a strength as --ppm 100 or --strength 'half label', and less of the"),
        ("fed half strength Moth", "'half' is no tree; "),
        ("note", "the note is missing; put it last, in quotes"),
        ("", "say what happened, such as: feedplan record seen hardened Brindle"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_with_what_to_write_and_nothing_is_written(
    form: str, sentence: str, run: Run, folder: Path
) -> None:
    result = run("record", *argv(form), today=TODAY)
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr.startswith(f"Error: {sentence}")
    assert len(result.stderr.splitlines()) == 1
    assert written(folder) == []


def test_an_entry_the_loader_refuses_is_not_written(run: Run, folder: Path) -> None:
    result = run("record", "note", "Moth", "bad \x07 bell", today=TODAY)
    assert result.exit_code == 1
    assert written(folder) == []


def test_the_options_may_stand_before_the_verb(
    run: Run, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir("/")
    result = run("record", "-c", str(folder), "--json", "--today", TODAY, "frost", "Moth")
    assert json.loads(result.stdout)["entry"] == "Moth: frost"
    assert len(written(folder)) == 1


def test_hand_edits_and_comments_stay_byte_for_byte(run: Run, folder: Path) -> None:
    own = "# mine\n\n-   {date: 2027-04-26,   tree: Brindle, work: repotted}  # ouch\n# end"
    (folder / "journal.yaml").write_text(own)
    run("record", "frost", "Moth", today=TODAY)
    assert (
        (folder / "journal.yaml")
        .read_text()
        .startswith(f"{own}\n- {{date: {TODAY}, tree: Moth, trouble: frost")
    )


def test_a_repeated_backdated_record_changes_nothing_before_today(run: Run, folder: Path) -> None:
    before = run("round", "--date", "2027-06-01", today="2027-06-01").stdout
    run("record", "seen", "hardened", "Brindle", "--date", "2027-05-31", today=TODAY)
    assert run("round", "--date", "2027-06-01", today="2027-06-01").stdout == before


def test_undo_typed_as_a_word_is_told_how_to_take_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "collection.yaml").write_text(
        "place: {name: X, latitude: 55.6, time_zone: Europe/London}\ngroups: {g: {schedule: vigorous}}\n"
        "trees: [{name: Oak, species: beech, group: g, pot: 9 L}]\n"
    )
    monkeypatch.chdir(tmp_path)
    for words in (["undo"], ["take", "back"]):
        result = CliRunner().invoke(feedplan, ["record", *words])
        assert result.exit_code == 2
        assert result.stderr.rstrip().endswith("type: feedplan record --undo")

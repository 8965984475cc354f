"""`feedplan start`: a collection that passes as it stands, and never writes over one."""

from __future__ import annotations

import json
import re
from decimal import Decimal
from pathlib import Path

import jsonschema
import pytest
import yaml
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from feedplan.cli.start import City, city_of, is_zone, machine_time_zone
from feedplan.cli.start_text import Start, collection_text, journal_text
from feedplan.load.collection import load_collection, load_text
from feedplan.load.folder import DiskFolder
from feedplan.load.json_schema import file_schema
from feedplan.load.own_names import own_names
from tests.cli.conftest import Run

HERE = ("--latitude", "55.6", "--time-zone", "Europe/London")


def test_what_start_makes_passes_check_and_says_what_to_type_next(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    made = run("start", "my trees", *HERE)
    assert made.exit_code == 0
    *_, cd, check, round_, guide = made.stdout.splitlines()
    assert [cd, check, round_] == ["  cd 'my trees'", "  feedplan check", "  feedplan round"]
    assert run(*guide.rsplit("feedplan ", 1)[1].split()).stdout.startswith("# The first Saturday")
    monkeypatch.chdir("my trees")
    assert run("check", today="2027-06-14").stdout == "Fine: 6 trees in 3 groups, 0 journal entries.\n"
    assert run("round", today="2027-06-14").exit_code == 0


def test_the_folder_you_stand_in_may_become_a_collection(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    made = run("start", ".", *HERE)
    assert "cd" not in made.stdout.split()
    assert load_collection(tmp_path).collection.place.name == tmp_path.name


def test_both_files_fit_the_schema_that_lies_beside_them(run: Run, tmp_path: Path) -> None:
    run("start", str(tmp_path / "trees"), *HERE)
    for kind in ("collection", "journal"):
        text = (tmp_path / "trees" / f"{kind}.yaml").read_text()
        first = text.splitlines()[0]
        named = re.fullmatch(r"# yaml-language-server: \$schema=(\S+)", first)
        assert named is not None
        schema = json.loads((tmp_path / "trees" / named[1]).read_text())
        names = own_names(DiskFolder(tmp_path / "trees"))
        assert schema == json.loads(json.dumps(file_schema(kind, names)))
        # To an editor, which reads YAML 1.2, a day is a text.
        plain = json.loads(json.dumps(yaml.safe_load(text) or [], default=str))
        jsonschema.validate(plain, schema)


def test_the_examples_in_the_journal_are_right_once_uncommented(run: Run) -> None:
    start = Start("Yard", "yard-1", "55.6", "", "Europe/London", "", "2027-03-01")
    journal = "".join(
        line.removeprefix("# ") + "\n" for line in journal_text().splitlines() if line.startswith("# - {")
    )
    assert len(load_text(collection_text(start), journal).journal.entries) == 3


def test_a_folder_with_a_collection_is_not_touched(run: Run, folder: Path) -> None:
    before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    result = run("start", ".")
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr == (
        "Error: there is a collection.yaml in . already; nothing was changed. Name another folder\n"
    )
    assert {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()} == before


def test_a_journal_alone_is_not_written_over_either(run: Run, tmp_path: Path) -> None:
    (tmp_path / "journal.yaml").write_text("- mine\n")
    assert run("start", str(tmp_path)).exit_code == 2
    assert [path.name for path in tmp_path.iterdir()] == ["journal.yaml"]


def test_a_file_in_the_way_is_a_sentence(run: Run, tmp_path: Path) -> None:
    (tmp_path / "trees").write_text("")
    result = run("start", str(tmp_path / "trees"))
    assert result.exit_code == 1
    assert result.stderr.startswith(f"Error: cannot make the folder {tmp_path / 'trees'}: ")


@pytest.mark.parametrize(
    ("option", "value", "sentence"),
    [
        (
            "--latitude",
            "95",
            "--latitude '95' is not a latitude; write -90 to 90, south below zero, such as 55.6",
        ),
        (
            "--latitude",
            "N55",
            "--latitude 'N55' is not a latitude; write -90 to 90, south below zero, such as 55.6",
        ),
        (
            "--time-zone",
            "Londn",
            "--time-zone 'Londn' is not a time zone; write its IANA name, such as Europe/London",
        ),
        ("--name", "two\nlines", "--name 'two\\nlines' has a line break; write it on one line"),
    ],
)
def test_a_value_that_cannot_be_is_refused_and_nothing_is_made(
    option: str, value: str, sentence: str, run: Run, tmp_path: Path
) -> None:
    result = run("start", str(tmp_path / "trees"), option, value)
    assert result.exit_code == 2
    assert result.stderr.startswith(f"Error: {sentence}")
    assert list(tmp_path.iterdir()) == []


def test_the_latitude_is_that_of_the_time_zones_city_and_says_so(run: Run, tmp_path: Path) -> None:
    made = run("start", str(tmp_path / "trees"), "--time-zone", "Australia/Hobart")
    assert "Latitude -42.9. That is Hobart, the city of your time zone; write your own.\n" in made.stdout
    assert load_collection(tmp_path / "trees").collection.place.latitude == Decimal("-42.9")


def test_the_machines_time_zone_is_used_and_said(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TZ", ":America/New_York")
    made = run("start", str(tmp_path / "trees"), "--json")
    facts = json.loads(made.stdout)
    assert (facts["time_zone"], facts["latitude"]) == ("America/New_York", 40.7)
    assert facts["next"] == [f"cd {tmp_path / 'trees'}", "feedplan check", "feedplan round"]


def test_without_a_time_zone_the_file_warns(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("feedplan.cli.start.machine_time_zone", lambda: None)
    made = run("start", str(tmp_path / "trees"))
    assert made.stdout.count("WARNING") == 2
    text = (tmp_path / "trees" / "collection.yaml").read_text()
    assert text.count("WARNING") == 2
    assert load_collection(tmp_path / "trees").collection.place.time_zone == "UTC"


def test_two_growers_with_one_name_get_different_identities(run: Run, tmp_path: Path) -> None:
    ids = set()
    for folder in ("a", "b"):
        run("start", str(tmp_path / folder), "--name", "Wéstfield Yard", *HERE)
        ids.add(load_collection(tmp_path / folder).collection.identity)
    assert len(ids) == 2
    assert all(re.fullmatch("westfield-yard-[a-z2-9]{5}", identity) for identity in ids)


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@example(name="<identity>")
@given(
    name=st.text(
        st.characters(exclude_categories=["C", "Z"], include_characters=" "), min_size=1, max_size=60
    )
)
def test_any_name_comes_back_from_the_file_as_it_was_given(name: str) -> None:
    from feedplan.load.read_words import parse_name

    try:
        wanted = parse_name(name)
    except ValueError:
        return
    start = Start(wanted, "yard-1", "55.6", "", "Europe/London", "", "2027-03-01")
    assert load_text(collection_text(start)).collection.place.name == wanted


# Latitudes of the named cities to a tenth of a degree, from an atlas, from memory: London 51.5 N, Sydney 33.9 S,
# Guayaquil 2.2 S, Anchorage 61.2 N.
@pytest.mark.parametrize(
    ("zone", "city"),
    [
        ("Europe/London", City("London", Decimal("51.5"))),
        ("Australia/Sydney", City("Sydney", Decimal("-33.9"))),
        ("America/Guayaquil", City("Guayaquil", Decimal("-2.2"))),
        ("America/Anchorage", City("Anchorage", Decimal("61.2"))),
        ("America/New_York", City("New York", Decimal("40.7"))),
        ("UTC", None),
    ],
)
def test_cities_lie_where_an_atlas_puts_them(zone: str, city: City | None) -> None:
    assert city_of(zone) == city


def test_the_machine_tells_its_zone_by_variable_then_by_link_then_by_file(tmp_path: Path) -> None:
    zone = tmp_path / "zoneinfo" / "Asia" / "Tokyo"
    zone.parent.mkdir(parents=True)
    zone.write_bytes(b"")
    link, name_file = tmp_path / "localtime", tmp_path / "timezone"
    link.symlink_to(zone)
    name_file.write_text("Europe/Paris\n")
    assert machine_time_zone({"TZ": "Europe/Berlin"}, link, name_file) == "Europe/Berlin"
    assert machine_time_zone({"TZ": "nonsense"}, link, name_file) == "Asia/Tokyo"
    assert machine_time_zone({}, tmp_path / "none", name_file) == "Europe/Paris"
    assert machine_time_zone({}, tmp_path / "none", tmp_path / "none") is None


@pytest.mark.parametrize("name", ["", "Europe", "../etc/passwd", "/etc/passwd", "Mars/Base", "a\0b"])
def test_what_is_no_time_zone_is_not_taken_for_one(name: str) -> None:
    assert not is_zone(name)

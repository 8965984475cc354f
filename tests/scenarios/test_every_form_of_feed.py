"""Every form of feed in the table can be kept, laid or dissolved, and is counted: a new row is held to the same."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from feedplan.cli.main import feedplan
from feedplan.engine.feeding.release import Release
from feedplan.engine.plan import plan_season
from feedplan.errors import FilesHaveProblems
from feedplan.load import Loaded, load_text
from feedplan.load.json_schema import file_schema
from feedplan.model.climate import Climate, MonthNormal, Normals
from feedplan.model.forms import DISSOLVING, FORMS, SOLID, Form
from feedplan.weather.evapotranspiration import DayWeather

TODAY = date(2027, 6, 14)
LAID = date(2027, 4, 1)
# Twelve months of 15 °C, so that every curve that follows the warmth has some.
WARM = Climate(normals=Normals(tuple(MonthNormal(month, DayWeather(10, 20), None) for month in range(1, 13))))

Run = Callable[..., Result]


def collection(form: Form, group: str = "") -> str:
    """A collection with one feed of a form, "it", beside a powder, and one tree."""
    extra = ", measured: by volume" if form.unit == "ml" else ", longevity: 150 days" if form.is_solid else ""
    return (
        "place: {name: Mill Bank, latitude: 53.5, time_zone: Europe/London}\n"
        f"feeds: {{powder: {{grade: 20-10-20, form: soluble}}, it: {{grade: 6-4-2, form: {form}{extra}}}}}\n"
        f"groups: {{g: {{schedule: vigorous{group}}}}}\n"
        "trees: [{name: Moth, species: larch, group: g, pot: 9 L}]\n"
    )


def problems(text: str, journal: str = "") -> list[str]:
    try:
        load_text(text, journal)
    except FilesHaveProblems as refusal:
        return [problem.message for problem in refusal.problems]
    return []


def loaded(form: Form, journal: str = "") -> Loaded:
    return load_text(collection(form, ", feed: powder"), journal)


@pytest.fixture
def record(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Runs `feedplan record` in a folder with a feed of a form."""
    monkeypatch.chdir(tmp_path)

    def typed(form: Form, *words: str) -> Result:
        (tmp_path / "collection.yaml").write_text(collection(form, ", feed: powder"))
        return CliRunner().invoke(feedplan, ["record", *words, "--today", str(TODAY)], prog_name="feedplan")

    return typed


def test_an_editor_is_told_every_form() -> None:
    assert file_schema("collection")["$defs"]["FeedModel"]["properties"]["form"]["enum"] == list(FORMS)


@pytest.mark.parametrize("form", FORMS.values(), ids=str)
def test_a_feed_is_measured_in_the_unit_of_its_form(form: Form) -> None:
    feed = loaded(form).collection.feeds["it"]
    assert (feed.form, feed.product.unit, feed.is_solid) == (form, form.unit, form.is_solid)


@pytest.mark.parametrize("form", SOLID, ids=str)
def test_a_solid_feed_is_accepted_recorded_laid_and_lifted(form: Form, record: Run) -> None:
    assert problems(collection(form, ", solid_feed: it")) == []
    assert record(form, "laid", "it", "Moth", "--grams", "20").exit_code == 0
    assert record(form, "lifted", "it", "Moth").exit_code == 0
    journal = Path("journal.yaml").read_text()
    assert problems(collection(form), journal) == []
    assert "laid: it, grams: 20 g" in journal


@pytest.mark.parametrize("form", SOLID, ids=str)
def test_what_a_solid_feed_gives_is_counted_once_and_in_full(form: Form) -> None:
    found = loaded(form, f"- {{date: {LAID}, tree: Moth, laid: it, grams: 90 g, mixed_in: true}}")
    season = plan_season(found.collection, found.journal, TODAY)
    feed = found.collection.feeds["it"]
    # 10 g a litre of 6 % N: 600 mg, of which the form gives a share, in one season or the next.
    counted = sum(solid.mg_n_per_l for solid in season.timelines[0].solids)
    assert counted == pytest.approx(600 * float(form.released or 1), abs=1)
    assert feed.released == (form.released or 1)


@pytest.mark.parametrize("climate", [None, WARM], ids=["without weather", "with weather"])
@pytest.mark.parametrize("form", SOLID, ids=str)
def test_a_solid_feed_gives_off_all_it_has_and_never_takes_any_back(
    form: Form, climate: Climate | None
) -> None:
    feed = loaded(form).collection.feeds["it"]
    release = Release(climate, LAID, date(2029, 1, 1))
    days = [LAID, date(2027, 5, 1), date(2027, 8, 1), date(2028, 4, 1), date(2029, 12, 1)]
    out = [release.share(feed, LAID, day, TODAY) for day in days]
    assert out == sorted(out)
    assert (out[0], out[-1]) == (Decimal(0), Decimal(1))
    assert 0 < out[1] < 1
    spent = release.spent(feed, LAID, TODAY)
    assert spent is not None
    assert LAID < spent[0] < spent[1]
    assert release.share(feed, LAID, spent[1], TODAY) >= Decimal("0.9")


@pytest.mark.parametrize("form", SOLID, ids=str)
def test_a_solid_feed_is_not_mixed_in_a_can(form: Form) -> None:
    assert any("laid on the pot" in message for message in problems(collection(form, ", feed: it")))
    told = problems(collection(form), "- {date: 2027-04-01, tree: Moth, fed: as planned, feed: it}")
    assert told == [f"feed: 'it' is {form}, which is not mixed in a can; name powder"]


@pytest.mark.parametrize("form", DISSOLVING, ids=str)
def test_a_feed_that_dissolves_is_given_in_the_can_and_not_laid(form: Form, record: Run) -> None:
    assert problems(collection(form, ", feed: it")) == []
    assert record(form, "fed", "Moth", "--feed", "it").exit_code == 0
    refused = record(form, "laid", "it", "Moth", "--grams", "20")
    assert refused.exit_code == 2
    assert refused.stderr.startswith("Error: no solid feed is on the shelf")
    assert problems(collection(form, ", feed: powder, solid_feed: it"))

"""feedplan's schemas as an editor uses them: what is offered, what is said of it, what is marked and what is not."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner

from feedplan.cli.main import feedplan
from feedplan.cli.schema import write_schemas
from feedplan.load.folder import TextFolder, shipped_folder
from feedplan.load.json_schema import file_schema
from feedplan.load.own_names import own_names
from tests.editor.server import LanguageServer, needs_language_server
from tests.load.helpers import COLLECTION, HERE, SCHEDULE

pytestmark = needs_language_server
REFUSED = sorted((HERE / "refused").glob("*.yaml"))
DEMO = HERE.parent.parent / "demo"
LEAST_MARKED = 0.8
"""Of the files that feedplan refuses, so many are to be marked in an editor too."""


@pytest.fixture(scope="module")
def garden(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A collection with its schemas."""
    folder = tmp_path_factory.mktemp("garden")
    (folder / "collection.yaml").write_text(COLLECTION, encoding="utf-8")
    (folder / "schedules").mkdir()
    (folder / "schedules" / "mine.yaml").write_text(SCHEDULE, encoding="utf-8")
    write_schemas(folder / "collection.yaml")
    return folder


@pytest.fixture(scope="module")
def server(garden: Path) -> Iterator[LanguageServer]:
    with LanguageServer(garden) as running:
        yield running


def headed(kind: str, text: str) -> str:
    return f"# yaml-language-server: $schema=schemas/{kind}.schema.json\n{text}"


@pytest.mark.parametrize(
    ("kind", "text", "offer"),
    [
        ("collection", "trees:\n  - name: X\n    group: |\n", ("growing-on", "mine, powder")),
        ("collection", "groups:\n  g:\n    schedule: |\n", ("vigorous", "Trees in development")),
        ("collection", "groups:\n  g:\n    schedule: |\n", ("mine", "As short as a schedule can be")),
        ("collection", "groups:\n  g:\n    feed: |\n", ("powder", "24-8-16, soluble")),
        ("collection", "place:\n  time_zone: |\n", ("Europe/London", "")),
        ("journal", "- date: 2027-04-04\n  tree: |\n", ("Brindle", "European larch")),
        ("journal", "- {date: 2027-04-04, trees: [|]}\n", ("Kettle", "hornbeam")),
        ("journal", "- date: 2027-04-04\n  seen: |\n", ("leaves open", "The first leaves are unfolded")),
        ("journal", "- date: 2027-04-04\n  seen:\n    - |\n", ("limp", "Leaves hang or tips droop")),
        ("journal", "- date: 2027-04-04\n  work: |\n", ("repotted", "Stops liquid feed")),
        ("journal", "- date: 2027-04-04\n  trouble: |\n", ("frost", "Stops")),
        ("journal", "- date: 2027-04-04\n  moved: |\n", ("refined", "")),
        ("schedule", "feeding:\n  spring:\n    from: |\n", ("leaves open", "The first leaves are unfolded")),
        ("schedule", "stages: |\n", ("early leafing", "")),
    ],
)
def test_names_are_offered_with_what_they_mean(
    kind: str, text: str, offer: tuple[str, str], garden: Path, server: LanguageServer
) -> None:
    label, meaning = offer
    offered = server.offers(garden / f"{kind}.yaml", headed(kind, text))
    assert meaning in str(offered[label].get("documentation", ""))


KEYS = [
    ("collection", "habits:\n  |\n", "can"),
    ("collection", "place:\n  |\n", "elevation"),
    ("collection", "trees:\n  - name: X\n    |\n", "pot"),
    ("collection", "groups:\n  g:\n    |\n", "water"),
    ("collection", "feeds:\n  f:\n    |\n", "label_rate"),
    ("journal", "- date: 2027-04-04\n  |\n", "roots"),
    ("schedule", "feeding:\n  spring:\n    |\n", "root_zone_above"),
]


@pytest.mark.parametrize(("kind", "text", "key"), KEYS)
def test_keys_are_offered_with_a_colon_and_never_the_word_null(
    kind: str, text: str, key: str, garden: Path, server: LanguageServer
) -> None:
    offered = server.offers(garden / f"{kind}.yaml", headed(kind, text))
    assert offered[key]["insertText"].startswith(f"{key}:")
    assert [label for label, item in offered.items() if "null" in f"{label} {item.get('insertText')}"] == []


@pytest.mark.parametrize(("kind", "text", "key"), KEYS)
def test_behind_a_key_the_word_null_is_not_offered_either(
    kind: str, text: str, key: str, garden: Path, server: LanguageServer
) -> None:
    offered = server.offers(garden / f"{kind}.yaml", headed(kind, text.replace("|", f"{key}: |")))
    assert [label for label, item in offered.items() if "null" in f"{label} {item.get('insertText')}"] == []


@pytest.mark.parametrize(
    ("kind", "text", "words"),
    [
        ("collection", "trees:\n  - po|t: 9 L\n", "Its pot: a volume or a size"),
        ("collection", "groups:\n  g: {schedule: vig|orous}\n", "Trees in development"),
        ("journal", "- {date: 2027-04-04, seen: lim|p}\n", "Leaves hang or tips droop"),
        ("journal", "- {date: 2027-04-04, tree: Brin|dle}\n", "European larch"),
    ],
)
def test_a_word_says_what_it_means(
    kind: str, text: str, words: str, garden: Path, server: LanguageServer
) -> None:
    assert words in server.hover(garden / f"{kind}.yaml", headed(kind, text))


@pytest.mark.parametrize(
    ("kind", "text", "sentence"),
    [
        ("journal", "- {date: 2027-06-31, tree: Brindle, seen: limp}\n", "Write for example 2027-04-26."),
        (
            "journal",
            "- {date: 2027-06-30, tree: Brindel, seen: limp}\n",
            "No tree is called so. If it is new, write it into collection.yaml and type: feedplan schema --write",
        ),
        (
            "journal",
            "- {date: 2027-06-30, tree: Brindle, seen: leafs open}\n",
            "No stage or sign is called so. Write one that is offered.",
        ),
        (
            "journal",
            "- {date: 2027-06-30, tree: Brindle, work: repotted, roots: 30}\n",
            "Write for example 30 %.",
        ),
        ("journal", "- {date: 2027-06-30, tree: Brindle, pot: 9 L}\n", "Property pot is not allowed."),
    ],
)
def test_a_mark_is_a_sentence(
    kind: str, text: str, sentence: str, garden: Path, server: LanguageServer
) -> None:
    assert server.marks(garden / f"{kind}.yaml", headed(kind, text)) == [sentence]


@pytest.mark.parametrize(
    "text",
    [
        "- {date: 2027-06-30, tree: Brindle, seen: Leafed Out, note: }\n",
        "- {date: 2028-02-29, everything: true, seen: [limp, LEAVES OPEN]}\n",
    ],
)
def test_other_spellings_and_keys_left_empty_are_not_marked(
    text: str, garden: Path, server: LanguageServer
) -> None:
    assert server.marks(garden / "journal.yaml", headed("journal", text)) == []


def kind_of(file: str) -> str:
    stem = Path(file).stem
    return stem if stem in ("collection", "journal", "holds", "stages", "genera") else "schedule"


def opened(path: Path, file: str, texts: dict[str, str], garden: Path) -> tuple[Path, str]:
    """One file of a collection as an editor opens it, with the schema that has the collection's names.

    The same schema stands in one file, which the server makes ready once.
    """
    kind, text = kind_of(file), path.read_text(encoding="utf-8")
    schema = json.dumps(file_schema(kind, own_names(TextFolder({**texts, file: text}))))
    name = f"of-{hashlib.sha256(schema.encode()).hexdigest()[:12]}"
    (garden / f"{name}.json").write_text(schema, encoding="utf-8")
    own = text.replace("# yaml-language-server: ", "# not here: ", 1)
    return garden / f"{name}.yaml", f"# yaml-language-server: $schema={name}.json\n{own}"


def test_most_of_what_check_refuses_is_marked(garden: Path, server: LanguageServer) -> None:
    sound = {"collection.yaml": COLLECTION, "schedules/mine.yaml": SCHEDULE}
    files = [path.read_text(encoding="utf-8").splitlines()[0].removeprefix("# file: ") for path in REFUSED]
    texts = [opened(path, file, sound, garden) for path, file in zip(REFUSED, files, strict=True)]
    marks = server.marks_of_each(texts)
    missed = [path.stem for path, found in zip(REFUSED, marks, strict=True) if not found]
    assert len(missed) <= (1 - LEAST_MARKED) * len(REFUSED), (
        f"{len(missed)} of {len(REFUSED)} missed: {missed}"
    )


SOUND = [
    *sorted((HERE / "sound").glob("*.yaml")),
    *sorted(DEMO.glob("*/*.yaml")),
    *sorted(DEMO.glob("*/schedules/*.yaml")),
    *sorted(shipped_folder().glob("*.yaml")),
]


@pytest.mark.parametrize("path", SOUND, ids=lambda path: f"{path.parent.name}/{path.name}")
def test_nothing_is_marked_in_a_file_that_is_fine(path: Path, garden: Path, server: LanguageServer) -> None:
    home = path.parent.parent if path.parent.name == "schedules" and DEMO in path.parents else path.parent
    file = path.relative_to(home).as_posix()
    others = {
        other.relative_to(home).as_posix(): other.read_text(encoding="utf-8")
        for other in (*home.glob("*.yaml"), *home.glob("schedules/*.yaml"))
    }
    if path.parent == HERE / "sound":
        others["schedules/mine.yaml"] = SCHEDULE
    assert server.marks(*opened(path, file, others, garden)) == []


def test_nothing_is_marked_in_what_start_makes(tmp_path: Path, server: LanguageServer) -> None:
    assert CliRunner().invoke(feedplan, ["start", str(tmp_path / "new"), "--time-zone", "UTC"]).exit_code == 0
    for path in (tmp_path / "new").glob("*.yaml"):
        assert server.marks(path, path.read_text(encoding="utf-8")) == []

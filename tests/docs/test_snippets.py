"""Every piece of YAML and every command line that README and the guide show, against the real loader and commands."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

import click
import pytest

from feedplan.errors import FilesHaveProblems
from feedplan.load import Loaded, load_text
from feedplan.load.json_schema import file_schema
from tests.docs.pages import FENCED, FILES, GUIDE, README, every_command

GROWERS = (README, *GUIDE.values())
BROKEN = "typing-errors/collection.yaml"
"""Shown to be refused."""

BASE = """\
place: {name: Hawkers Lane, latitude: 53.5, time_zone: Europe/London}
feeds:
  spring-24-8-16: {grade: 24-8-16, form: soluble, label_rate: 1 g per L}
  late-6-10-12: {grade: 6-10-12, form: soluble}
  coated-16-8-12: {grade: 16-8-12, form: coated, longevity: 5 to 6 months}
benches:
  south wall: {kind: wall}
groups:
  growing-on: {schedule: vigorous, feed: spring-24-8-16}
trees:
  - {name: Ferryman, species: larch, group: growing-on, pot: 30 x 22 x 7 cm}
  - {name: Weaver, species: field maple, group: growing-on, pot: 25 L}
  - {name: Cooper, species: hornbeam, group: growing-on, pot: 9 L}
  - {name: Hurdle row, species: hornbeam, group: growing-on, pot: 6 L, count: 6}
  - {name: Turner, species: Japanese maple, group: growing-on, pot: round 28 x 9 cm}
"""
"""A small collection into which every partial piece fits."""


class Snippet(NamedTuple):
    """A piece of YAML of a page. file: the name its first line gives it, "" for a partial piece."""

    page: str
    file: str
    text: str


def _snippets() -> Iterator[Snippet]:
    for page in GROWERS:
        for language, text in FENCED.findall(page.read_text(encoding="utf-8")):
            if language == "yaml":
                named = re.match(r"# (\S+\.yaml)\n", text)
                yield Snippet(page.stem, named[1] if named else "", text)


SNIPPETS = list(_snippets())
SOUND = [snippet for snippet in SNIPPETS if snippet.file != BROKEN]


def _ids(snippets: list[Snippet]) -> list[str]:
    return [f"{snippet.page}-{at}" for at, snippet in enumerate(snippets)]


def _sections(text: str) -> dict[str, str]:
    """The outermost keys of a YAML text, each with all that belongs to it."""
    parts = re.split(r"^(?=\w)", text, flags=re.MULTILINE)
    return {part.partition(":")[0]: part for part in parts if ":" in part}


def loaded(snippet: Snippet, text: str) -> Loaded:
    """A piece, with the text it has or another, as the grower's files would have it. Raises FilesHaveProblems."""
    folder, _, name = snippet.file.rpartition("/")
    if folder == "schedules":
        mine = name.removesuffix(".yaml")
        uses = (
            BASE.replace("schedule: vigorous", f"schedule: {mine}") if "\nschedule:" in snippet.text else BASE
        )
        return load_text(uses, schedules={name: text})
    if snippet.text.startswith("- {date:") or name == "journal.yaml":
        beside = [each.text for each in SNIPPETS if each.file == f"{folder}/collection.yaml"]
        return load_text(beside[0] if beside else BASE, text)
    return load_text(
        text if name == "collection.yaml" else "".join((_sections(BASE) | _sections(text)).values())
    )


@pytest.mark.parametrize("snippet", SOUND, ids=_ids(SOUND))
def test_every_piece_of_yaml_is_read_without_a_problem(snippet: Snippet) -> None:
    loaded(snippet, snippet.text)


def test_what_is_shown_to_be_refused_is_refused() -> None:
    broken = [snippet for snippet in SNIPPETS if snippet.file == BROKEN]
    assert len(broken) == 1
    with pytest.raises(FilesHaveProblems) as refused:
        load_text(broken[0].text)
    assert len(refused.value.problems) == 3


def _properties(schema: Any) -> Iterator[str]:
    match schema:
        case {"properties": dict(properties)}:
            yield from properties
    if isinstance(schema, Mapping):
        schema = list(schema.values())
    if isinstance(schema, list):
        for inner in schema:
            yield from _properties(inner)


KEYS = {key for kind in FILES for key in _properties(file_schema(kind))} - {"holds", "stages", "signs"}
"""Every key of every kind of file. The last three stand also before a name of the grower's own."""


def _plain(text: str) -> str:
    """The text with what stands in comments made blank, in its old place."""
    return re.sub(r"#.*", lambda found: " " * len(found[0]), text)


@pytest.mark.parametrize("snippet", SOUND, ids=_ids(SOUND))
def test_a_misspelt_key_in_any_piece_is_noticed(snippet: Snippet) -> None:
    """What makes the test above worth having: each key in turn with a letter too many."""
    found = re.finditer(r"(?<![\w-])(\w+):(?=\s)", _plain(snippet.text))
    keys = {key[1]: key for key in found if key[1] in KEYS}
    passed = []
    for key in keys.values():
        try:
            loaded(snippet, f"{snippet.text[: key.end(1)]}q{snippet.text[key.end(1) :]}")
        except FilesHaveProblems:
            continue
        passed.append(key[1])
    assert passed == []
    assert keys or snippet.file.startswith("schedules/stages") or "stages:" in snippet.text


def _spans() -> Iterator[tuple[str, str]]:
    for page in GROWERS:
        prose = FENCED.sub("", page.read_text(encoding="utf-8"))
        for span in re.findall(r"`([^`\n]+)`", prose):
            yield page.stem, span


def test_every_key_named_in_a_sentence_is_one() -> None:
    """`key: value`, also inside braces; a file's own words ("alkalinity: 60 mg/L CaCO3}") are keys, too."""
    named = [
        (page, key)
        for page, span in _spans()
        if not span.startswith(("feedplan", "#", "webcal", "http", "{" + '"'))
        for key in re.findall(r"(?:^|[{,] *)([a-z_ ]+):(?:\s|$)", span)
    ]
    assert len(named) > 40
    own = {"holds", "stages", "signs", "larch", "leaves open", "tbsp"}
    assert [(page, key) for page, key in named if key not in KEYS | own] == []


def _typed() -> Iterator[tuple[str, list[str]]]:
    """Every command line shown, its words; comments left out."""
    for page in GROWERS:
        text = page.read_text(encoding="utf-8")
        lines = [
            line for language, body in FENCED.findall(text) if language == "sh" for line in body.splitlines()
        ]
        lines += [span for name, span in _spans() if name == page.stem]
        for line in lines:
            command = re.match(r"(?:~/.local/feedplan/bin/)?(feedplan [^#|>]*)", line)
            if command and "=" not in line.split()[0]:
                yield page.stem, shlex.split(command[1].replace("...", ""))[1:]


def test_every_command_line_shown_has_a_command_and_options_that_there_are() -> None:
    commands = dict(every_command())
    wrong = []
    for page, words in _typed():
        name, *rest = words
        if name.startswith("-") or name == "COMMAND":
            continue
        command: click.Command | None = commands.get(name)
        if name == "record" and rest and not rest[0].startswith("-"):
            command = commands.get(f"record {rest[0]}", commands["record work"])  # else a word for work
        known = {option for param in command.params for option in param.opts} if command else set()
        unknown = [word for word in rest if word.startswith("--") and word not in known | {"--help"}]
        if command is None or unknown:
            wrong.append((page, " ".join(words)))
    assert wrong == []
    assert len(list(_typed())) > 60

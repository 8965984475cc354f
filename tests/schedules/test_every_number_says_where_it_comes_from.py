"""Comments of the shipped files: a grower can see why each number stands there and whether to trust it."""

from __future__ import annotations

import re

import pytest

from tests.schedules.shipped_files import SCHEDULES, SHARED_FILES, text

ORIGINS = (
    "common practice, no source",
    "judgement",
    "from memory, unchecked",
    "the day after",  # where one period takes over from another
)
CITED = re.compile(r"\b[A-Z][A-Za-zö-]+(?: and others| and [A-Z][A-Za-zö]+|,? Vinson and Dixon)? \d{4}\b")
ADVICE = ("look_for", "do")
FILES = (*SCHEDULES, *SHARED_FILES)


def depth(line: str) -> int:
    return len(line) - len(line.lstrip(" "))


def values_with_comments(name: str) -> list[tuple[int, str, str]]:
    """Line number, value part and every comment that speaks for it: beside it, right above it, or at its parents."""
    found: list[tuple[int, str, str]] = []
    parents: list[tuple[int, str, str]] = []  # depth, key, comment
    above = ""
    for at, line in enumerate(text(name).splitlines(), 1):
        body, _, comment = line.partition("#")
        if not body.strip():
            above = f"{above} {comment.strip()}" if comment else ""
            continue
        while parents and parents[-1][0] >= depth(line):
            parents.pop()
        spoken = " ".join([above, comment.strip()]).strip()
        inherited = " ".join(p[2] for p in parents if p[1] in ("dates", "water", "clock"))
        if not any(p[1] in ADVICE for p in parents) and body.split(":")[0].strip() not in ADVICE:
            found.append((at, body.strip(), f"{spoken} {inherited}"))
        parents.append((depth(line), body.split(":")[0].strip(), spoken))
        above = ""
    return found


def is_number(value: str) -> bool:
    """Whether a line holds a number or a rate of checks that a grower may want to change."""
    said = value.partition(":")[2]
    return bool(re.search(r"\d", said)) and not said.strip().startswith("&")


@pytest.mark.parametrize("name", FILES)
def test_every_number_has_a_comment_that_names_its_origin(name: str) -> None:
    bare = [
        f"{name}.yaml:{at}: {value}"
        for at, value, comment in values_with_comments(name)
        if (is_number(value) or "{shallow:" in value)
        and "band:" not in value
        and not any(origin in comment for origin in ORIGINS)
        and not CITED.search(comment)
    ]
    assert bare == []


@pytest.mark.parametrize("name", SCHEDULES)
def test_a_publication_named_beside_a_number_is_listed_at_the_top(name: str) -> None:
    head, _, body = text(name).partition("\nschedule: ")
    for citation in CITED.findall(body):
        surname, year = citation.split()[0].rstrip(","), citation.split()[-1]
        assert any(surname in line and year in line for line in head.splitlines()), citation


@pytest.mark.parametrize("name", FILES)
def test_the_top_says_what_for_who_not_for_caution_source_licence_and_date(name: str) -> None:
    head = text(name).partition("\n\n")[0]
    assert all(line.startswith("#") for line in head.splitlines())
    for part in ("Not for:", "Caution:", "overrides", "label", "Source", "Licence: MIT"):
        assert part in head, part
    assert re.search(r"Date: \d{4}-\d{2}-\d{2}\.", head)


@pytest.mark.parametrize("name", SCHEDULES)
def test_a_paper_is_never_shown_as_read_in_full(name: str) -> None:
    head = text(name).partition("\n\n")[0]
    if re.search(r"\b(19|20)\d\d,? [A-Z]", head.partition("Date:")[0]):
        assert re.search(r"abstracts? (or summaries )?read|excerpt read|read in others' summaries", head)


@pytest.mark.parametrize("name", FILES)
def test_lines_fit_a_narrow_editor_window(name: str) -> None:
    assert [line for line in text(name).splitlines() if len(line) > 122] == []

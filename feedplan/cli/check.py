"""`feedplan check`: problems first, then what only the grower knows and what a careful one would think about twice."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import click

from feedplan.cli.options import Asked, Opened, collection_file, print_json, shared_options
from feedplan.cli.schema import refresh_schemas
from feedplan.engine.answers.warnings import warnings_of
from feedplan.errors import EXIT_PROBLEMS, FilesHaveProblems, Problem
from feedplan.guide.contents import PAGE_OF_COMMAND
from feedplan.model.statement import Statement
from feedplan.model.warning import NotYet
from feedplan.words.language import say, say_count
from feedplan.words.warnings import QUESTIONS, problem_of
from feedplan.words.writing import trees_words


@click.command()
@shared_options
def check(asked: Asked) -> None:
    """Find problems in your files, then doubtful practice.

    Each finding is one line: file, line and column, what is wrong, what to write instead. A question is for what
    looks odd and only you know. Exit code 1 means problems; questions and warnings alone leave it at 0.

    \b
    feedplan check
    feedplan check -c my-trees --json
    """
    opened: Opened | None = None
    found = Found()
    try:
        opened = asked.open()
        found = findings(opened)
    except FilesHaveProblems as refusal:
        found = Found(problems=list(refusal.problems))
    if asked.as_json:
        print_json(_facts(found, opened))
    else:
        for problem in found.problems:
            click.echo(str(problem))
        for question in found.questions:
            click.echo(_led("question: {message}", question))
        for warning in found.warnings:
            click.echo(_led("warning: {message}", warning))
        click.echo(_summary(found, opened))
        if found.problems:
            click.echo(say("How files are written: feedplan guide {page}", page="files"))
        elif any(found):
            command = f"feedplan guide {PAGE_OF_COMMAND['check']}"
            click.echo(say("What to do about questions and warnings: {command}", command=command))
    refresh_schemas(collection_file(asked.place))
    if found.problems:
        click.get_current_context().exit(EXIT_PROBLEMS)


class Found(NamedTuple):
    """What is wrong, what only the grower knows, and what is doubtful, each in file order."""

    problems: Sequence[Problem] = ()
    questions: Sequence[Problem] = ()
    warnings: Sequence[Problem] = ()


def findings(opened: Opened) -> Found:
    """What is to be asked and what is doubtful in a collection that loads."""
    loaded = opened.loaded
    season = replace(opened, loaded=replace(loaded, copies=())).plan()
    found = [
        each
        for each in warnings_of(season, opened.collection, opened.journal)
        if opened.is_real_day or not _is_of_later(each.fact)
    ]
    told = {True: set(loaded.questions), False: {*loaded.warnings, *loaded.copies}}
    for each in found:
        told[type(each.fact) in QUESTIONS].add(problem_of(each, opened.today))
    return Found((), sorted(told[True]), sorted(told[False]))


def _is_of_later(fact: Statement) -> bool:
    """Whether it tells of several entries after today: no slip, where the plan is asked for as of an earlier day."""
    return isinstance(fact, NotYet) and fact.count > 0


def _led(sentence: str, finding: Problem) -> str:
    """A finding with its kind before its message."""
    return str(replace(finding, message=say(sentence, message=finding.message)))


def _summary(told: Found, opened: Opened | None) -> str:
    """The last line: whether all is well, and how much was looked at."""
    problems, questions, warnings = told
    counts = [
        *([say_count("{count} problem", "{count} problems", len(problems))] if problems else []),
        *([say_count("{count} question", "{count} questions", len(questions))] if questions else []),
        *([say_count("{count} warning", "{count} warnings", len(warnings))] if warnings else []),
    ]
    found = ", ".join(counts)
    if opened is None:
        return say("{found}. Mend the problems first; the rest is looked at after that.", found=found)
    facts = _counts(opened)
    size = say(
        "{trees} in {groups}, {entries}",
        trees=trees_words(facts["trees"]),
        groups=say_count("{count} group", "{count} groups", facts["groups"]),
        entries=say_count("{count} journal entry", "{count} journal entries", facts["journal_entries"]),
    )
    return (
        say("Fine, with {found}: {size}.", found=found, size=size)
        if found
        else say("Fine: {size}.", size=size)
    )


def _counts(opened: Opened) -> dict[str, int]:
    collection = opened.collection
    return {
        "trees": sum(tree.count for tree in collection.trees),
        "groups": len(collection.groups),
        "journal_entries": len(opened.journal.entries),
    }


def _facts(found: Found, opened: Opened | None) -> dict[str, object]:
    return {
        "fine": not found.problems,
        "problems": [_finding(problem) for problem in found.problems],
        "questions": [_finding(question) for question in found.questions],
        "warnings": [_finding(warning) for warning in found.warnings],
        **(_counts(opened) if opened is not None else {}),
    }


def _finding(found: Problem) -> dict[str, object]:
    return {"file": found.file, "line": found.line, "column": found.column, "message": found.message}

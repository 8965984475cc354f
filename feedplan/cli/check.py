"""`feedplan check`: problems first, then what a careful grower would think about twice."""

from __future__ import annotations

from collections.abc import Sequence

import click

from feedplan.cli.options import Asked, Opened, collection_file, print_json, shared_options
from feedplan.cli.schema import refresh_schemas
from feedplan.engine.answers.warnings import warnings_of
from feedplan.errors import EXIT_PROBLEMS, FilesHaveProblems, Problem
from feedplan.words.language import say, say_count
from feedplan.words.warnings import problem_of
from feedplan.words.writing import trees_words


@click.command()
@shared_options
def check(asked: Asked) -> None:
    """Find problems in your files, then doubtful practice.

    Each finding is one line: file, line and column, what is wrong, what to write instead. Exit code 1 means
    problems; warnings alone leave it at 0.

    \b
    feedplan check
    feedplan check -c my-trees --json
    """
    opened: Opened | None = None
    problems: list[Problem] = []
    warnings: list[Problem] = []
    try:
        opened = asked.open()
        warnings = findings(opened)
    except FilesHaveProblems as found:
        problems = list(found.problems)
    if asked.as_json:
        print_json(_facts(problems, warnings, opened))
    else:
        for problem in problems:
            click.echo(str(problem))
        for warning in warnings:
            click.echo(_as_warning(warning))
        click.echo(_summary(problems, warnings, opened))
    refresh_schemas(collection_file(asked.place))
    if problems:
        click.get_current_context().exit(EXIT_PROBLEMS)


def findings(opened: Opened) -> list[Problem]:
    """What is doubtful in a collection that loads, in file order."""
    season = opened.plan()
    found = warnings_of(season, opened.collection, opened.journal)
    return sorted({*opened.loaded.warnings, *(problem_of(warning, opened.today) for warning in found)})


def _as_warning(warning: Problem) -> str:
    message = say("warning: {message}", message=warning.message)
    return str(Problem(warning.file, warning.line, warning.column, message))


def _summary(problems: Sequence[Problem], warnings: Sequence[Problem], opened: Opened | None) -> str:
    """The last line: whether all is well, and how much was looked at."""
    counts = [
        *([say_count("{count} problem", "{count} problems", len(problems))] if problems else []),
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


def _facts(
    problems: Sequence[Problem], warnings: Sequence[Problem], opened: Opened | None
) -> dict[str, object]:
    return {
        "fine": not problems,
        "problems": [_finding(problem) for problem in problems],
        "warnings": [_finding(warning) for warning in warnings],
        **(_counts(opened) if opened is not None else {}),
    }


def _finding(found: Problem) -> dict[str, object]:
    return {"file": found.file, "line": found.line, "column": found.column, "message": found.message}

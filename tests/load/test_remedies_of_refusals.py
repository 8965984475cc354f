"""Each message of the refused files is obeyed: what it tells to write is put where it points, and is then accepted."""

from __future__ import annotations

from pathlib import Path

import pytest

from feedplan.errors import Problem
from tests.load.helpers import HERE, complaints
from tests.load.remedies import put_in, remedy

REFUSED = sorted((HERE / "refused").glob("*.yaml"))


def told(file: str, text: str) -> list[str]:
    if file == "collection.yaml":
        return complaints(collection=text)
    return (
        complaints(journal=text) if file == "journal.yaml" else complaints(schedules={Path(file).stem: text})
    )


def as_problem(message: str) -> Problem:
    file, line, column, said = message.split(":", 3)
    return Problem(file, int(line), int(column), said.strip())


def sayings() -> list[tuple[Path, str]]:
    """Every message that tells something to type, with the file it is for."""
    found = []
    for path in REFUSED:
        for line in path.read_text(encoding="utf-8").splitlines():
            message = line.removeprefix("# expect: ")
            if message != line and message.count(":") > 2 and remedy(as_problem(message).message) is not None:
                found.append((path, message))
    return found


SAYINGS = sayings()


@pytest.mark.parametrize(("path", "message"), SAYINGS, ids=[f"{p.stem}-{m[:60]}" for p, m in SAYINGS])
def test_doing_what_a_message_tells_leaves_nothing_wrong_there(path: Path, message: str) -> None:
    text = path.read_text(encoding="utf-8")
    problem, file = as_problem(message), text.splitlines()[0].removeprefix("# file: ")
    written = remedy(problem.message)
    assert written is not None
    after = told(file, put_in(text, problem, written))
    field = problem.message.partition(":")[0]
    left = [
        p for p in map(as_problem, after) if p.line == problem.line and p.message.partition(":")[0] == field
    ]
    assert message not in after
    assert not left or any(p.message != problem.message and remedy(p.message) for p in left), left


def test_most_messages_tell_something_to_type() -> None:
    every = [
        line
        for path in REFUSED
        for line in path.read_text(encoding="utf-8").splitlines()
        if line.startswith("# expect: ")
    ]
    assert len(SAYINGS) > 0.6 * len(every)

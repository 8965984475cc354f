"""Work whose time has come as text, as facts and as entries of the calendar."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date
from typing import Any

from feedplan.engine.answers.work import WorkOfTree, WorkPrompt
from feedplan.export.entry import CalendarEntry, Kind
from feedplan.words.language import say
from feedplan.words.reasons import reason_words
from feedplan.words.writing import full_day, tree_words, trees_line, trees_words


def work_lines(prompts: Iterable[WorkPrompt]) -> Iterator[str]:
    """Each kind of work with its trees: "growing-on, repotting: Repot before the leaves open (Brindle, Kettle)."."""
    for prompt in prompts:
        yield say(
            "{group}, {work}: {what} ({names}).",
            group=prompt.group,
            work=prompt.work,
            what=_short(prompt.say),
            names=_names(prompt),
        )


def work_prompt_facts(prompts: Iterable[WorkPrompt]) -> list[dict[str, Any]]:
    """The same for `--json`."""
    return [
        {
            "group": prompt.group,
            "work": prompt.work,
            "text": say(prompt.say),
            "trees": [tree.name for tree in prompt.trees],
            "recorded_as": list(prompt.done),
        }
        for prompt in prompts
    ]


def work_entry(prompt: WorkPrompt) -> CalendarEntry:
    """Work on the day it is told, and what to write down: a word that opens a hold is only for what it says."""
    count = trees_words(sum(tree.count for tree in prompt.trees))
    record = [say("If {word}: feedplan record work {word} NAMES", word=word) for word in prompt.done]
    return CalendarEntry(
        key=prompt.key,
        kind=Kind.NOTE,
        start=prompt.day,
        title=say("{what}: {group}, {trees}", what=_short(prompt.say), group=prompt.group, trees=count),
        text="\n".join([trees_line(_names(prompt)), *record]),
        group=prompt.group,
    )


def work_words(work: WorkOfTree, day: date) -> str:
    """What `why` says of work whose time a day lies in."""
    name, what, source = work.time.name, _short(work.say), work.time.source
    if work.reasons:
        return say(
            "Not told, {work}: {what} ({source}); it is stopped by", work=name, what=what, source=source
        )
    told = full_day(work.told or day)
    return say("Told {day}, {work}: {what} ({source})", day=told, work=name, what=what, source=source)


def work_facts(work: WorkOfTree, day: date) -> dict[str, Any]:
    """The same for `--json`."""
    return {
        "work": work.time.name,
        "text": say(work.say),
        "told": None if work.told is None else work.told.isoformat(),
        "stopped_by": [reason_words(reason, day) for reason in work.reasons],
        "source": str(work.time.source),
    }


def _names(prompt: WorkPrompt) -> str:
    return ", ".join(map(tree_words, prompt.trees))


def _short(sentence: str) -> str:
    """A sentence of a schedule without its full stop, to go on in."""
    return say(sentence).rstrip(".")

"""The pages of the guide in the order of a first year, and which of them explains each command."""

from __future__ import annotations

import re
from pathlib import Path

PAGES = {
    "saturday": "The first Saturday: install, write your trees, read a round.",
    "day": "Every day: the round, one line written down, and why.",
    "care": "Care and safety: labels, concentrates, acids, run-off, backflow.",
    "sink": "At the sink: what to weigh, from which tub, with which water.",
    "record": "Write down what happened, and take it back.",
    "phone": "On the phone: the page beside the hose, and the calendar.",
    "publish": "From outside: HTTPS, a service, a folder on a web host.",
    "weather": "Water and weather: how often to look, and what the tables need.",
    "dates": "Dates that follow the trees: stages, warmth, frost and heat.",
    "away": "When you are away: the helper's sheet and what to hand over.",
    "year": "The year: its picture, its book, the shelf, and what changed.",
    "history": "What was told stays told: history.csv and told.json.",
    "words": "Words: holds, stages, signs and what the output calls things.",
    "files": "Files: which there are, and how values are written.",
    "collection": "collection.yaml key by key: place, habits, benches, trees.",
    "feeds": "collection.yaml key by key: feeds, waters and groups.",
    "schedules": "schedules/NAME.yaml key by key, and the shipped ones.",
    "holds": "schedules/holds.yaml key by key: what stops what, and until when.",
    "stages": "schedules/stages.yaml and genera.yaml key by key.",
    "journal": "journal.yaml key by key.",
    "commands": "Commands: every one with its options, and exit codes.",
    "numbers": "Where the numbers come from, and what feedplan is not.",
    "licence": "Licence, and the sources to cite.",
}
"""Every page, each a file of that name beside this one, with the line that stands for it in a list."""

PAGE_OF_COMMAND = {
    "start": "saturday",
    "check": "saturday",
    "round": "day",
    "why": "day",
    "record": "record",
    "dose": "sink",
    "water": "weather",
    "weather": "weather",
    "learn": "dates",
    "calendar": "phone",
    "serve": "phone",
    "publish": "publish",
    "season": "year",
    "compare": "year",
    "shelf": "year",
    "schema": "files",
    "guide": "commands",
}
"""The page to read on, by command: what the last line of its `--help` names."""

_MARKER = re.compile(r"<!--.*?-->\n\n?", re.DOTALL)
_LINK = re.compile(r"\[([^]]+)\]\((\w+)\.md\)")


def page_text(name: str) -> str:
    """A page as Markdown, without the marks of what is generated in it. Raises KeyError for no page's name."""
    if name not in PAGES:
        raise KeyError(name)
    text = Path(__file__).with_name(f"{name}.md").read_text(encoding="utf-8")
    return _MARKER.sub("", text)


def linked(text: str, target: str) -> str:
    """The page with its links to other pages led elsewhere. target: with {words} and {page} in it."""
    return _LINK.sub(lambda found: target.format(words=found[1], page=found[2]), text)

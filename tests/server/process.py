"""A real `feedplan serve` in a process of its own, on a port the system picks."""

from __future__ import annotations

import contextlib
import json
import os
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import IO
from urllib.parse import urlsplit

ROOT = Path(__file__).parents[2]
DAY = "2027-06-05"
PATIENCE_S = 60
"""How long to wait [s] for what must come: long enough for a busy machine, since a quick one never waits."""


@dataclass
class Running:
    """The process and what it said of itself."""

    process: subprocess.Popen[str]
    page: str
    shared: str
    calendars: dict[str, str]

    @property
    def port(self) -> int:
        return urlsplit(self.page).port or 0

    @property
    def log(self) -> IO[str]:
        assert self.process.stderr is not None
        return self.process.stderr


def command(folder: Path, *more: str, today: str = DAY) -> list[str]:
    return [
        sys.executable,
        "-m",
        "feedplan",
        "serve",
        "-c",
        str(folder),
        "--today",
        today,
        "--port",
        "0",
        *more,
    ]


@contextlib.contextmanager
def serving(folder: Path, *more: str, today: str = DAY) -> Iterator[Running]:
    process = subprocess.Popen(
        command(folder, "--json", *more, today=today),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        cwd=ROOT,
        env={name: value for name, value in os.environ.items() if name != "JOURNAL_STREAM"},
    )
    try:
        text = said_until("\n}\n", process)
        if not text.endswith("\n}\n"):
            raise AssertionError(process.communicate(timeout=PATIENCE_S))
        facts = json.loads(text)
        yield Running(process, facts["page"], facts["page_to_share"], facts["calendars"])
    finally:
        process.kill()
        process.communicate()


def said_until(words: str, process: subprocess.Popen[str]) -> str:
    """What a process says until it has said some words; all it says when it ends without them."""
    assert process.stdout is not None
    text = ""
    while words not in text and (line := process.stdout.readline()):
        text += line
    return text


def said_when_ended(process: subprocess.Popen[str]) -> str:
    """Ends a process; what it says until then."""
    assert process.stdout is not None
    with process:
        process.terminate()
        return process.stdout.read()

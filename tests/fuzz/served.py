"""One request to the served pages of a spoilt collection, and every case of the fuzzer by its number."""

from __future__ import annotations

import re
import shutil
import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from html import unescape
from pathlib import Path
from random import Random
from unittest import mock
from urllib.parse import quote, urlencode

from werkzeug.test import TestResponse

from feedplan.errors import FeedplanError
from feedplan.load import load_collection
from tests.fuzz.mutations import junk, spoilt_word
from tests.fuzz.runs import (
    _UNSEEN,
    Case,
    Sandbox,
    Trouble,
    fault,
    shape,
)
from tests.server.world import JOURNAL, World, make_folder

Fields = list[tuple[str, str]]
_HEADERS = (
    "Accept", "Accept-Language", "Accept-Encoding", "If-None-Match", "If-Modified-Since", "Range", "Host",
    "Sec-Fetch-Site", "X-Forwarded-For", "Cookie", "Content-Encoding",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Request:
    """What is asked of the server. fields: of the form or the question."""

    method: str
    page: str
    fields: Fields
    headers: Mapping[str, str]


class ServedSandbox:
    """A served folder that is asked for pages, calendars and answers to forms, spoilt. Every request is one case."""

    def __init__(self, folder: Path, slow_s: float = 5) -> None:
        self.folder = folder / "served"
        self.slow_s = slow_s
        self.faults: list[BaseException] = []
        self._start()
        self.pages, self.forms = self._crawl()

    def _hear(self, _message: str, *, exc_info: BaseException) -> None:
        self.faults.append(exc_info)

    def _start(self) -> None:
        shutil.rmtree(self.folder, ignore_errors=True)
        self.world = World(make_folder(self.folder))

    def _crawl(self) -> tuple[list[str], list[Fields]]:
        """Every page that pages lead to, and every form on them as it would be sent."""
        pages, forms, unread = [""], [], ["", "sink.html", "trees.html"]
        while unread:
            text = self.world.get(unread.pop(), write=True).get_data(as_text=True)
            new = {unescape(href) for href in re.findall(r'(?:href|src)="([^":/#?]+)"', text)} - {*pages}
            pages += sorted(new)
            unread += sorted(page for page in new if page.endswith(".html") and not page.startswith("guide-"))
            for form in re.findall(r"<form.*?</form>", text, re.DOTALL):
                tags = re.findall(r"<(?:input|button|textarea|option)\b[^>]*>", form)
                sent = [dict(re.findall(r'(\w+)="([^"]*)"', tag)) for tag in tags]
                forms.append(
                    [
                        (unescape(each["name"]), unescape(each.get("value", "")))
                        for each in sent
                        if "name" in each
                    ]
                )
        return pages, [form for form in forms if form]

    def request(self, number: int) -> Request:
        """The request of that number."""
        rng = Random(number)
        fields = list(rng.choice(self.forms)) if rng.random() < 0.7 else []
        for _ in range(rng.choice((0, 1, 1, 2, 4))):
            fields = _with_a_slip(fields, rng)
        headers = {name: junk(rng) for name in _HEADERS if rng.random() < 0.04}
        headers = {name: value for name, value in headers.items() if value.isascii() and value.isprintable()}
        if rng.random() < 0.3:
            headers["Accept"] = "application/json"
        if rng.random() < 0.5:
            return Request("POST", rng.choice(("record", "record", "record", "undo")), fields, headers)
        page = rng.choice(self.pages)
        return Request("GET", spoilt_word(page, rng) if rng.random() < 0.3 else page, fields[:8], headers)

    def run(self, asked: Request) -> Iterator[Trouble]:
        """Every trouble that a request makes."""
        self.faults.clear()
        began = time.process_time()
        with mock.patch("feedplan.server.app.log.error", self._hear):
            answer = self._answer(asked)
        took = time.process_time() - began
        kind = f"{asked.method} {shape(asked.page)}"
        yield from map(fault, self.faults)
        if took > self.slow_s:
            yield Trouble(f"slow: {kind}", f"{took:.1f} s of CPU: {asked}")
        if answer.status_code >= 500 and not self.faults:
            yield Trouble(f"status {answer.status_code}: {kind}", answer.get_data(as_text=True)[:500])
        if answer.mimetype in ("text/html", "text/plain", "text/calendar", "application/json"):
            unseen = _UNSEEN.search(re.sub(r"[\r\n\t]", "", answer.get_data(as_text=True)))
            if unseen:
                yield Trouble(f"unseen signs in {kind}", repr(unseen))
        journal = self.folder / "journal.yaml"
        if journal.read_text(encoding="utf-8") != JOURNAL:
            try:
                load_collection(self.folder / "collection.yaml")
            except FeedplanError as error:
                yield Trouble(f"a tap wrote what cannot be read: {shape(str(error))}", f"{error}\n{asked}")
            if asked.method == "GET" or answer.status_code >= 400:
                yield Trouble(f"{kind} changed the journal", f"{answer.status} {asked}")
            self._start()

    def _answer(self, asked: Request) -> TestResponse:
        world, fields = self.world, asked.fields
        if asked.method == "GET":
            page = quote(asked.page, errors="surrogatepass")
            return world.get(
                f"{page}?{urlencode(fields, errors='surrogatepass')}", write=True, headers=asked.headers
            )
        body = urlencode([*fields, ("token", world.secrets.form_token)], errors="surrogatepass")
        kind = "application/x-www-form-urlencoded"
        address = f"/{world.secrets.write}/{asked.page}"
        return world.client.post(address, data=body, headers=asked.headers, content_type=kind)


def _with_a_slip(fields: Fields, rng: Random) -> Fields:
    """The fields with one spoilt, lost, doubled, or one that was not asked for."""
    if not fields or rng.random() < 0.2:
        name = rng.choice(
            (
                "done",
                "undone",
                "back",
                "id",
                "say",
                "date",
                "other_date",
                "note",
                "key",
                "of",
                "sure",
                junk(rng),
            )
        )
        return [*fields, (name, junk(rng))]
    place = rng.randrange(len(fields))
    name, value = fields[place]
    new: Fields = rng.choice(([], [(name, value)] * 2, *[[(name, spoilt_word(value, rng))]] * 4))
    return fields[:place] + new + fields[place + 1 :]


class Fuzzer:
    """Every case by its number: spoilt files, spoilt words and spoilt requests in turn."""

    def __init__(self, folder: Path) -> None:
        self.commands = Sandbox(folder)
        self.server = ServedSandbox(folder)

    def case(self, number: int) -> Case | Request:
        """The case of that number."""
        return self.server.request(number) if number % 3 == 2 else self.commands.case(number)

    def run(self, number: int) -> Iterator[Trouble]:
        """Every trouble that the case of that number makes."""
        case = self.case(number)
        return self.server.run(case) if isinstance(case, Request) else self.commands.run(case)

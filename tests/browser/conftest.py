from __future__ import annotations

import contextlib
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.browser.browser import PHONE, Browser, browsing, why_not
from tests.server.process import ROOT
from tests.server.within import Serving, serving_within


@dataclass
class Scene:
    """A copy of the demo being served, and a phone to look at it with."""

    folder: Path
    server: Serving
    browser: Browser

    @property
    def journal(self) -> str:
        return (self.folder / "journal.yaml").read_text(encoding="utf-8")

    def open(self, name: str = "") -> Browser:
        self.browser.open(self.server.page + name)
        return self.browser


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    if why_not():
        pytest.skip(why_not())
    with browsing() as found:
        yield found


@contextlib.contextmanager
def _on_stage(folder: Path) -> Iterator[Serving]:
    shutil.copytree(ROOT / "demo" / "northern", folder)
    with serving_within(folder) as server:
        yield server


@contextlib.contextmanager
def _watched(browser: Browser) -> Iterator[None]:
    """The browser as a phone on line that has complained about nothing yet, and so again afterwards."""
    browser.offline(False)
    browser.size(*PHONE)
    browser.complaints()
    yield
    browser.offline(False)
    browser.scripts(True)
    browser.open("about:blank")


@pytest.fixture(scope="session")
def _exhibition(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Path, Serving]]:
    folder = tmp_path_factory.mktemp("exhibition") / "northern"
    with _on_stage(folder) as server:
        yield folder, server


@pytest.fixture
def exhibit(browser: Browser, _exhibition: tuple[Path, Serving]) -> Iterator[Scene]:
    """The northern demo, as on 5 June, for looking only: tests share it."""
    with _watched(browser):
        folder, server = _exhibition
        browser.forget(server.page)
        yield Scene(folder, server, browser)


@pytest.fixture
def scene(browser: Browser, tmp_path: Path) -> Iterator[Scene]:
    """A fresh copy of it, to record in; the browser has never seen its address."""
    folder = tmp_path / "northern"
    with _on_stage(folder) as server, _watched(browser):
        yield Scene(folder, server, browser)

"""Debian's chromium, driven by selenium: a phone or a desk of a given size, light or dark, on line or off."""

from __future__ import annotations

import base64
import contextlib
import shutil
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

PHONE = (360, 780)
DESK = (1280, 900)
AT_HOME = "trees.home.arpa"
"""This computer under a name as in a home network, where plain http is not trusted as it is on a computer itself."""
_FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--hide-scrollbars",
    "--no-proxy-server",
    f"--host-resolver-rules=MAP {AT_HOME} 127.0.0.1",
)


def why_not() -> str:
    """Why no browser can be had here, "" when one can."""
    missing = [name for name in ("chromium", "chromedriver") if shutil.which(name) is None]
    if missing:
        return f"{' and '.join(missing)} not installed (Debian: apt-get install chromium chromium-driver)"
    try:
        import selenium  # noqa: F401
    except ImportError:
        return "selenium is not installed (it is in the test extra)"
    return ""


class Window:
    """A page in a browser, whichever it is."""

    def run(self, script: str, *arguments: Any) -> Any:
        """What a piece of script gives in the page."""
        raise NotImplementedError

    def text(self, selector: str) -> str:
        return str(self.run("return document.querySelector(arguments[0]).textContent.trim()", selector))

    def texts(self, selector: str) -> list[str]:
        script = "return [...document.querySelectorAll(arguments[0])].map((e) => e.textContent.trim())"
        return list(self.run(script, selector))

    def wait(self, script: str, seconds: float = 60) -> Any:
        """What a piece of script gives once that is true."""
        last = time.monotonic() + seconds
        while not (found := self.run(script)):
            if time.monotonic() > last:
                raise TimeoutError(script)
            time.sleep(0.05)
        return found


class Browser(Window):
    """One window. Everything it wrote to its console and every error on the way is in `complaints`."""

    def __init__(self, driver: Any) -> None:
        self.driver = driver

    def size(self, width: int, height: int, *, dark: bool = False, scale: float = 2) -> None:
        """Be a window of that size, a phone's when narrow. scale: dots of a picture for each pixel."""
        metrics = {"width": width, "height": height, "deviceScaleFactor": scale, "mobile": width < 600}
        self.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
        scheme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
        self.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [scheme]})

    def offline(self, is_offline: bool) -> None:
        """Cut the connection, or mend it."""
        network = {"offline": is_offline, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1}
        self.driver.execute_cdp_cmd("Network.enable", {})
        self.driver.execute_cdp_cmd("Network.emulateNetworkConditions", network)

    def scripts(self, are_on: bool) -> None:
        """Switch JavaScript off or on for the pages opened from now on."""
        self.driver.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": not are_on})

    def forget(self, address: str) -> None:
        """Drop what the pages of that server keep in the browser."""
        origin = "/".join(address.split("/", 3)[:3])
        self.driver.execute_cdp_cmd(
            "Storage.clearDataForOrigin", {"origin": origin, "storageTypes": "local_storage,session_storage"}
        )

    def open(self, address: str) -> None:
        self.driver.get(address)

    def run(self, script: str, *arguments: Any) -> Any:
        """What a piece of script gives in the page."""
        return self.driver.execute_script(script, *arguments)

    def click(self, selector: str) -> None:
        """Click as a thumb does: on what lies on top there, scrolled further up where something else does."""
        from selenium.common.exceptions import ElementClickInterceptedException
        from selenium.webdriver.common.by import By

        element = self.driver.find_element(By.CSS_SELECTOR, selector)
        self.run("arguments[0].scrollIntoView({block: 'center', behavior: 'instant'})", element)
        try:
            element.click()
        except ElementClickInterceptedException:
            self.run("arguments[0].scrollIntoView({block: 'start', behavior: 'instant'})", element)
            element.click()

    def found(self, selector: str, seconds: float = 60) -> Any:
        """The first such element, waited for without script."""
        from selenium.webdriver.support.ui import WebDriverWait

        return WebDriverWait(self.driver, seconds, 0.05).until(
            lambda driver: (driver.find_elements("css selector", selector) or [None])[0]
        )

    def complaints(self) -> list[str]:
        return [f"{entry['level']}: {entry['message']}" for entry in self.driver.get_log("browser")]

    def picture(self, path: Path, *, whole: bool = False) -> None:
        """A screenshot, of the whole page if asked for."""
        taken = self.driver.execute_cdp_cmd("Page.captureScreenshot", {"captureBeyondViewport": whole})
        path.write_bytes(base64.b64decode(taken["data"]))


@contextlib.contextmanager
def browsing() -> Iterator[Browser]:
    """A browser with a profile of its own, thrown away afterwards."""
    from selenium import webdriver
    from selenium.webdriver.chrome.service import Service

    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as profile:
        options = webdriver.ChromeOptions()
        options.binary_location = shutil.which("chromium") or "chromium"
        for flag in (*_FLAGS, f"--user-data-dir={profile}"):
            options.add_argument(flag)
        options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
        driver = webdriver.Chrome(options=options, service=Service(shutil.which("chromedriver")))
        try:
            yield Browser(driver)
        finally:
            driver.quit()

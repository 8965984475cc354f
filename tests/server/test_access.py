"""Who gets in: secrets, what a stranger sees, headers, prefix, methods."""

from __future__ import annotations

import json
import logging
import stat
from pathlib import Path

import pytest

from feedplan.errors import UsageError
from feedplan.server.addresses import AccessFile, Rights, address_here, is_loopback, read_address, webcal
from feedplan.server.state import FOLDER, StateFolder
from tests.server.world import World, make_folder


def test_the_secrets_are_long_different_and_readable_by_the_owner_alone(world: World) -> None:
    access = world.secrets
    assert len({access.read, access.write, access.key}) == 3
    assert min(len(secret) for secret in (access.read, access.write, access.key)) >= 32
    file = world.folder / FOLDER / "access.json"
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert stat.S_IMODE(file.parent.stat().st_mode) == 0o700


def test_a_file_that_others_can_read_is_closed_again(world: World) -> None:
    file = world.folder / FOLDER / "access.json"
    file.chmod(0o644)
    world.restart()
    assert stat.S_IMODE(file.stat().st_mode) == 0o600


def test_the_state_folder_stays_out_of_a_repository(world: World) -> None:
    assert (world.folder / FOLDER / ".gitignore").read_text() == "*\n"


def test_the_secrets_stay_over_restarts_until_they_are_replaced(world: World) -> None:
    before = world.secrets
    world.restart()
    assert world.secrets == before
    AccessFile(StateFolder(world.folder / FOLDER)).replace()
    assert world.client.get(f"/{before.read}/everything.ics").status_code == 404
    assert world.get("everything.ics").status_code == 200


def test_a_damaged_secret_file_is_told_with_what_to_type(world: World) -> None:
    (world.folder / FOLDER / "access.json").write_text(json.dumps({"read": "short"}))
    with pytest.raises(Exception, match="feedplan serve --new-secret"):
        world.restart()


def test_a_secret_file_damaged_while_serving_keeps_the_secrets(world: World) -> None:
    known = world.secrets
    (world.folder / FOLDER / "access.json").write_text("{")
    assert world.client.get(f"/{known.read}/everything.ics").status_code == 200


def test_secrets_are_compared_in_constant_time(monkeypatch: pytest.MonkeyPatch, world: World) -> None:
    import hmac

    compared = []
    real = hmac.compare_digest

    def watched(one: bytes, other: bytes) -> bool:
        compared.append((one, other))
        return real(one, other)

    monkeypatch.setattr(hmac, "compare_digest", watched)
    access = world.secrets
    assert access.rights_of("guess") is None
    assert access.rights_of(access.read) is Rights.READ
    assert access.rights_of(access.write) is Rights.WRITE
    assert access.rights_of(access.read.swapcase()) is None
    assert len(compared) == 8


_STRANGE = [
    "",
    "/",
    "//",
    "/everything.ics",
    "/x/everything.ics",
    "/%00/everything.ics",
    "/%E2%98%83/everything.ics",
    "/../everything.ics",
    "/health/",
    "/health/x",
    "/" + "a" * 3000,
]


@pytest.fixture(scope="module")
def unchanged(tmp_path_factory: pytest.TempPathFactory) -> World:
    """One server for all the questions that may change nothing."""
    return World(make_folder(tmp_path_factory.mktemp("unchanged") / "trees"))


@pytest.mark.parametrize("path", _STRANGE)
@pytest.mark.parametrize("method", ["GET", "HEAD", "POST", "PUT", "DELETE", "OPTIONS", "PATCH", "TRACE"])
def test_a_stranger_gets_the_same_404_for_everything(unchanged: World, path: str, method: str) -> None:
    expected = unchanged.get("no-such-page.html")
    answer = unchanged.client.open(path or "/", method=method)
    assert answer.status_code == expected.status_code == 404
    assert dict(answer.headers) == dict(expected.headers)
    assert answer.data == (b"" if method == "HEAD" else expected.data)


def test_the_read_secret_in_the_wrong_case_or_cut_short_is_a_strangers(world: World) -> None:
    secret = world.secrets.read
    for wrong in (secret[:-1], secret + "x", secret.swapcase(), f"{secret}%20", f" {secret}"):
        assert world.client.get(f"/{wrong}/everything.ics").status_code == 404


def test_every_answer_carries_the_headers_that_keep_a_browser_safe(world: World) -> None:
    for answer in (
        world.get("everything.ics"),
        world.client.get("/x/"),
        world.get("health"),
        world.client.get("/health"),
    ):
        policy = answer.headers["Content-Security-Policy"]
        assert "default-src 'none'" in policy
        assert "frame-ancestors 'none'" in policy
        assert "unsafe" not in policy
        assert answer.headers["Referrer-Policy"] == "no-referrer"
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
        assert answer.headers["X-Frame-Options"] == "DENY"


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "PATCH", "TRACE", "BREW"])
def test_a_calendar_takes_no_method_but_reading(unchanged: World, method: str) -> None:
    answer = unchanged.client.open(f"/{unchanged.secrets.write}/everything.ics", method=method)
    assert answer.status_code == 405
    assert set(answer.headers["Allow"].split(", ")) == {"GET", "HEAD"}


def test_a_header_that_asks_for_another_method_changes_nothing(world: World) -> None:
    answer = world.get("everything.ics", headers={"X-HTTP-Method-Override": "DELETE"})
    assert answer.status_code == 200


def test_an_address_without_its_last_slash_is_completed(world: World) -> None:
    answer = world.client.get(f"/{world.secrets.read}")
    assert (answer.status_code, answer.headers["Location"]) == (308, f"{world.secrets.read}/")


@pytest.mark.parametrize("prefix", ["/plan", "/my/trees"])
def test_behind_a_proxy_it_answers_with_and_without_the_prefix(tmp_path: Path, prefix: str) -> None:
    """Proxies differ in whether they take the prefix off before they pass a request on."""
    world = World(make_folder(tmp_path / "trees"), prefix=prefix)
    secret = world.secrets.read
    assert world.client.get(f"{prefix}/{secret}/everything.ics").status_code == 200
    assert world.client.get(f"/{secret}/everything.ics").status_code == 200
    assert world.client.get(f"{prefix}x/{secret}/everything.ics").status_code == 404


def test_nothing_in_the_logs_gives_an_address_away(
    world: World, caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(world.calendars, "version", lambda *_: 1 / 0)
    with caplog.at_level(logging.DEBUG):
        answer = world.get("everything.ics")
    assert answer.status_code == 500
    assert "ZeroDivisionError" in caplog.text
    assert "ZeroDivisionError" not in answer.text
    assert world.secrets.read not in caplog.text


@pytest.mark.parametrize(
    ("text", "base", "prefix"),
    [
        ("https://trees.example.org", "https://trees.example.org", ""),
        ("https://trees.example.org/plan/", "https://trees.example.org/plan", "/plan"),
        ("http://[2001:db8::5]:81/a/b", "http://[2001:db8::5]:81/a/b", "/a/b"),
    ],
)
def test_the_address_of_a_proxy_is_taken_apart(text: str, base: str, prefix: str) -> None:
    address = read_address(text)
    assert (address.base, address.prefix) == (base, prefix)


@pytest.mark.parametrize(
    "text", ["trees.example.org", "ftp://x", "https://", "https://u:p@x", "https://x/?a=1"]
)
def test_what_is_no_web_address_is_refused_with_an_example(text: str) -> None:
    with pytest.raises(UsageError, match=r"https://trees\.example\.org/plan"):
        read_address(text)


def test_addresses_of_this_computer() -> None:
    assert address_here("127.0.0.1", 80).base == "http://127.0.0.1:80"
    assert address_here("::1", 80).base == "http://[::1]:80"
    assert "0.0.0.0" not in address_here("0.0.0.0", 80).base
    assert webcal("https://x/a.ics") == webcal("http://x/a.ics") == "webcal://x/a.ics"
    assert is_loopback("127.0.0.1")
    assert not is_loopback("0.0.0.0")

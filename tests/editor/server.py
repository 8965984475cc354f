"""The YAML language server that editors run, spoken to over its standard input and output."""

from __future__ import annotations

import json
import shutil
import subprocess
import threading
from collections.abc import Iterable
from pathlib import Path
from types import TracebackType
from typing import Any

import pytest

JS = Path(__file__).parent / "js"
PROGRAM = JS / "node_modules" / "yaml-language-server" / "bin" / "yaml-language-server"
NODE = shutil.which("node")
needs_language_server = pytest.mark.skipif(
    NODE is None or not PROGRAM.is_file(),
    reason="yaml-language-server is not installed: npm ci --prefix tests/editor/js",
)
PATIENCE_SECONDS = 120
SETTINGS = {"validate": True, "hover": True, "completion": True, "schemaStore": {"enable": False}}


class LanguageServer:
    """One running server; each file is opened once and closed again by what asks about it.

    It looks at a file a fifth of a second after it was opened, so that many are best asked about together.
    """

    def __init__(self, root: Path) -> None:
        self._root = root
        self._number = 0
        self._process = subprocess.Popen(
            [NODE or "node", str(PROGRAM), "--stdio"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
        )

    def __enter__(self) -> LanguageServer:
        can = {"textDocument": {"completion": {"completionItem": {"snippetSupport": True}}}}
        self._ask("initialize", {"processId": None, "rootUri": self._root.as_uri(), "capabilities": can})
        self._tell("initialized", {})
        self._tell("workspace/didChangeConfiguration", {"settings": {"yaml": SETTINGS}})
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._process.kill()
        self._process.communicate()

    def marks(self, path: Path, text: str) -> list[str]:
        """What it marks in a text at that place."""
        (marks,) = self.marks_of_each([(path, text)])
        return marks

    def marks_of_each(self, texts: Iterable[tuple[Path, str]]) -> list[list[str]]:
        """What it marks in each of some texts, by their places."""
        found: dict[str, list[str] | None] = {self._open(path, text): None for path, text in texts}
        while None in found.values():
            said = self._read()
            uri = said["params"]["uri"] if said.get("method") == "textDocument/publishDiagnostics" else ""
            if uri in found and found[uri] is None:
                self._tell("textDocument/didClose", {"textDocument": {"uri": uri}})
                found[uri] = [str(mark["message"]) for mark in said["params"]["diagnostics"]]
        return [marks or [] for marks in found.values()]

    def offers(self, path: Path, text: str) -> dict[str, dict[str, Any]]:
        """What it offers to complete at the mark | in a text, by label."""
        found = self._at_mark("textDocument/completion", path, text)
        return {item["label"]: item for item in (found["items"] if isinstance(found, dict) else found or [])}

    def hover(self, path: Path, text: str) -> str:
        """What it says of the word at the mark | in a text."""
        found = self._at_mark("textDocument/hover", path, text)
        return str(found["contents"]["value"]) if found else ""

    def _at_mark(self, method: str, path: Path, text: str) -> Any:
        before, _, after = text.partition("|")
        lines = before.split("\n")
        place = {"line": len(lines) - 1, "character": len(lines[-1])}
        uri = self._open(path, before + after)
        found = self._ask(method, {"textDocument": {"uri": uri}, "position": place})
        self._tell("textDocument/didClose", {"textDocument": {"uri": uri}})
        return found

    def _open(self, path: Path, text: str) -> str:
        """Open a text, under a name that no other had, since the server says late what it found in those before."""
        self._number += 1
        uri = path.with_name(f"{self._number}-{path.name}").as_uri()
        document = {"uri": uri, "languageId": "yaml", "version": 1, "text": text}
        self._tell("textDocument/didOpen", {"textDocument": document})
        return uri

    def _ask(self, method: str, params: object) -> Any:
        self._number += 1
        self._send({"id": self._number, "method": method, "params": params})
        while True:
            said = self._read()
            if said.get("id") == self._number and "method" not in said:
                return said.get("result")

    def _tell(self, method: str, params: object) -> None:
        self._send({"method": method, "params": params})

    def _send(self, said: dict[str, object]) -> None:
        body = json.dumps({"jsonrpc": "2.0", **said}).encode()
        assert self._process.stdin is not None
        self._process.stdin.write(b"Content-Length: %d\r\n\r\n" % len(body) + body)
        self._process.stdin.flush()

    def _read(self) -> dict[str, Any]:
        """The next message; what the server itself asks is answered with nothing."""
        assert self._process.stdout is not None
        too_long = threading.Timer(PATIENCE_SECONDS, self._process.kill)
        too_long.start()
        length = 0
        while (line := self._process.stdout.readline().strip()) or not length:
            assert line or self._process.poll() is None, "the language server has ended, or took too long"
            if line.lower().startswith(b"content-length:"):
                length = int(line.split(b":")[1])
        said: dict[str, Any] = json.loads(self._process.stdout.read(length))
        too_long.cancel()
        if "method" in said and "id" in said:
            asked = said["params"].get("items", []) if said["method"] == "workspace/configuration" else None
            answer = (
                None
                if asked is None
                else [SETTINGS if one.get("section") == "yaml" else None for one in asked]
            )
            self._send({"id": said["id"], "result": answer})
        return said

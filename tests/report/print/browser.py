"""Chromium without a window, driven over a pipe, so that pages can be looked at as a phone shows them."""

import base64
import fcntl
import json
import os
import select
import shutil
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

DEADLINE_S = 60.0


class Browser:
    """A page at a size; speaks the browser's debugging protocol, one JSON object and a zero byte at a time."""

    def __init__(self, write_to: int, read_from: int) -> None:
        self._write_to = write_to
        self._read_from = read_from
        self._unread = b""
        self._number = 0
        self._session: str | None = None
        target = self.ask("Target.createTarget", url="about:blank")["targetId"]
        self._session = self.ask("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        self.requests: list[str] = []
        self.ask("Page.enable")
        self.ask("Network.enable")

    def ask(self, method: str, **params: Any) -> dict[str, Any]:
        """Send a command and return its result."""
        self._number += 1
        message: dict[str, Any] = {"id": self._number, "method": method, "params": params}
        if self._session:
            message["sessionId"] = self._session
        os.write(self._write_to, json.dumps(message).encode() + b"\0")
        while True:
            answer = self._read()
            if answer.get("method") == "Network.requestWillBeSent":
                self.requests.append(answer["params"]["request"]["url"])
            if answer.get("id") == self._number:
                assert "error" not in answer, answer
                result: dict[str, Any] = answer["result"]
                return result

    def _read(self) -> dict[str, Any]:
        end = time.monotonic() + DEADLINE_S
        while b"\0" not in self._unread:
            ready, _, _ = select.select([self._read_from], [], [], max(0.0, end - time.monotonic()))
            assert ready, "the browser does not answer"
            part = os.read(self._read_from, 1 << 20)
            assert part, "the browser is gone"
            self._unread += part
        line, _, self._unread = self._unread.partition(b"\0")
        found: dict[str, Any] = json.loads(line)
        return found

    def show(self, path: Path, width: int, height: int, dark: bool = False) -> None:
        """Open a file on a screen of so many CSS pixels."""
        self.ask("Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=2, mobile=True)
        scheme = "dark" if dark else "light"
        self.ask("Emulation.setEmulatedMedia", features=[{"name": "prefers-color-scheme", "value": scheme}])
        self.ask("Page.navigate", url=path.as_uri())
        while self.value("document.readyState") != "complete" or self.value("location.href") != path.as_uri():
            pass

    def value(self, expression: str) -> Any:
        """Return what an expression is on the page."""
        return self.ask("Runtime.evaluate", expression=expression, returnByValue=True)["result"].get("value")

    def picture(self) -> bytes:
        """Return what the screen shows, PNG."""
        return base64.b64decode(self.ask("Page.captureScreenshot", format="png")["data"])


@contextmanager
def browser(folder: Path) -> Iterator[Browser]:
    """Start Chromium with a profile of its own and end it; skips where there is none."""
    program = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if program is None:
        pytest.skip("chromium is not installed")
    its_input, we_write = (_high(handle) for handle in os.pipe())
    we_read, its_output = (_high(handle) for handle in os.pipe())

    def take_places() -> None:
        os.dup2(its_input, 3)
        os.dup2(its_output, 4)

    options = ["--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars", "--no-first-run"]
    process = subprocess.Popen(
        [program, *options, f"--user-data-dir={folder}", "--remote-debugging-pipe"],
        pass_fds=(3, 4),
        preexec_fn=take_places,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    os.close(its_input)
    os.close(its_output)
    try:
        yield Browser(we_write, we_read)
    finally:
        process.terminate()
        process.wait(DEADLINE_S)
        os.close(we_write)
        os.close(we_read)


def _high(handle: int) -> int:
    """Return the handle under a number that is not one of those the browser speaks on."""
    moved = fcntl.fcntl(handle, fcntl.F_DUPFD_CLOEXEC, 20)
    os.close(handle)
    return moved

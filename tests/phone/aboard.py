"""`wiremap phone` as a process of its own on a tester somewhere, and a phone of a few lines without a screen."""

import http.client
import json
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Generator, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

PATIENCE_S = 60.0


def free_port() -> int:
    """Return a port of this machine that nobody serves."""
    with socket.create_server(("127.0.0.1", 0)) as line:
        port: int = line.getsockname()[1]
        return port


class Aboard:
    """The program with its folders; it may be killed and started again, on the same port."""

    def __init__(self, folder: Path, tester: str, *more: str, save: bool = True) -> None:
        self.folder = folder
        self.home = folder / "home"
        self.captures = folder / "captures"
        self.captures.mkdir(parents=True, exist_ok=True)
        self.port = free_port()
        where = ["--address", "127.0.0.1", "--port", str(self.port), "--json"]
        where += ["--save", str(self.captures)] if save else []
        self.environment = {
            **os.environ,
            "PYTHONPATH": os.pathsep.join(sys.path),
            "WIREMAP_HOME": str(self.home),
        }
        self.said: dict[str, Any] = {}
        self._words = ["phone", "--tester", tester, "--expect", "straight", *where, *more]
        self.process: subprocess.Popen[str] | None = None

    def start(self) -> str:
        """Start it, and return the address with the secret that it shows; it is served by then."""
        self.process = subprocess.Popen(
            [sys.executable, "-m", "wiremap", *self._words],
            env=self.environment,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
            encoding="utf-8",
        )
        return self.next_url()

    def next_url(self) -> str:
        """Return the next address that it shows."""
        assert self.process is not None
        assert self.process.stdout is not None
        self.said = json.loads(self.process.stdout.readline())
        return str(self.said["url"])

    def stop(self) -> None:
        """Let it stand still: nothing is answered, no line is closed."""
        assert self.process is not None
        self.process.send_signal(signal.SIGSTOP)

    def go_on(self) -> None:
        """Let it go on."""
        assert self.process is not None
        self.process.send_signal(signal.SIGCONT)

    def kill(self) -> None:
        """Kill it as the system does: nothing of it runs any more."""
        assert self.process is not None
        self.process.kill()
        self.process.communicate()


@contextmanager
def aboard(folder: Path, tester: str, *more: str, save: bool = True) -> Iterator[Aboard]:
    """Give the program, not started yet; it ends with the test."""
    found = Aboard(folder, tester, *more, save=save)
    try:
        yield found
    finally:
        if found.process is not None:
            found.kill()


class Pocket:
    """A phone: it comes in once, looks at the newest page, and asks."""

    def __init__(self, port: int) -> None:
        self._port = port
        self._host = f"127.0.0.1:{port}"
        self._cookie = ""

    @contextmanager
    def _sent(self, method: str, path: str, body: Any = None) -> Iterator[http.client.HTTPResponse]:
        line = http.client.HTTPConnection("127.0.0.1", self._port, timeout=PATIENCE_S)
        heads = {"host": self._host, "origin": f"http://{self._host}", "cookie": self._cookie}
        if body is not None:
            heads["content-type"] = "application/json"
        with closing(line):
            line.request(method, path, None if body is None else json.dumps(body), heads)
            with line.getresponse() as answer:
                yield answer

    def enter(self, url: str) -> None:
        """Come in by the address that is shown."""
        with self._sent("POST", "/enter", {"secret": url.partition("#")[2]}) as answer:
            assert answer.status == 204, answer.read()
        self._cookie = str(answer.getheader("set-cookie")).partition(";")[0]

    def pages(self) -> Generator[dict[str, Any], None, None]:
        """Give the newest page, then each change of it."""
        with self._sent("GET", "/live") as answer:
            assert answer.status == 200, answer.read()
            is_page = False
            until_s = time.monotonic() + PATIENCE_S
            while line := answer.readline().decode():
                assert time.monotonic() < until_s, "no such page came"
                if line.startswith("event: "):
                    is_page = line.strip() == "event: page"
                elif is_page and line.startswith("data: "):
                    yield json.loads(line.removeprefix("data: "))

    def page_of(self, test: int) -> dict[str, Any]:
        """Wait for the page of a test of this number or a later one."""
        with closing(self.pages()) as pages:
            return next(page for page in pages if page["test"] >= test and page["phase"] == "shown")

    def ask(self, what: str, test: int, mark: str) -> dict[str, Any] | None:
        """Ask for something and return what became of it, None where the line broke before the answer."""
        try:
            with self._sent("POST", "/do", {"id": mark, "what": what, "test": test, "words": []}) as answer:
                found: dict[str, Any] = json.loads(answer.read())
        except (OSError, http.client.HTTPException, ValueError):
            return None
        return found

"""`wiremap batch` as a process of its own, swept with keys or from a phone, the hands being the same."""

import html
import http.client
import itertools
import json
import os
import re
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any, Protocol

from tests.cli.benches import Bench
from tests.phone.aboard import PATIENCE_S, Pocket
from wiremap.records.lots.ledger import LEDGER

KEYS = {"main": " ", "retest": "r", "skip": "s", "undo": "u", "stop": "q"}
Verdict = tuple[str, str]  # label, verdict
TIMES = ("made_utc", "utc_offset_min", "before", "follows", "capture", "taken_utc", "digest")


class Swept:
    """The command on a bench's tester; everything it says is kept as it comes."""

    def __init__(self, home: Path, address: str, *words: str) -> None:
        self.home = home
        self.folder = home / "lots" / "rack"
        self.said: list[str] = []  # on stderr, in pieces as they came
        self.shown: list[dict[str, Any]] = []
        command = [sys.executable, "-m", "wiremap", "batch", "rack", "--tester", address, "--json", "--key", "none"]
        self.process = subprocess.Popen(
            [*command, *words],
            env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path), "WIREMAP_HOME": str(home)},
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
        )
        self._readers = [threading.Thread(target=read) for read in (self._read_out, self._read_talk)]
        for reader in self._readers:
            reader.start()

    def _read_out(self) -> None:
        assert self.process.stdout is not None
        for line in self.process.stdout:
            self.shown.append(json.loads(line))

    def _read_talk(self) -> None:
        assert self.process.stderr is not None
        while piece := os.read(self.process.stderr.fileno(), 4096):
            self.said.append(piece.decode())

    @property
    def talk(self) -> str:
        """Return all that was said on stderr."""
        return "".join(self.said)

    def until(self, there: Callable[[], object]) -> None:
        """Wait for something that this process does; it must not end before."""
        until_s = time.monotonic() + PATIENCE_S
        while not there():
            assert time.monotonic() < until_s, self.talk
            assert self.process.poll() is None or there(), self.talk
            time.sleep(0.01)

    def until_served(self) -> None:
        """Wait for the address that phones open."""
        self.until_said("#")

    def until_said(self, text: str) -> None:
        """Wait for words on stderr."""
        self.until(lambda: text in self.talk)

    def type(self, text: str) -> None:
        """Type something at the terminal."""
        assert self.process.stdin is not None
        self.process.stdin.write(text.encode())
        self.process.stdin.flush()

    def lines(self) -> int:
        """Return how many lines the ledger has."""
        path = self.folder / LEDGER
        return path.read_bytes().count(b"\n") if path.is_file() else 0

    def end(self, how: signal.Signals | None = None) -> int:
        """Wait for its end, or bring it about; return its exit code, all it said being read."""
        if how is not None:
            self.process.send_signal(how)
        code = self.process.wait(PATIENCE_S)
        for reader in self._readers:
            reader.join()
        for pipe in (self.process.stdin, self.process.stdout, self.process.stderr):
            assert pipe is not None
            with closing(pipe):
                pass
        return code


class Hand(Protocol):
    """Who sweeps the lot. Each call waits for what follows from it."""

    def verdict(self) -> Verdict:
        """Return the next verdict that is shown."""

    def ready(self) -> None:
        """Wait until the next cable may come, or the lot is done."""

    def press(self, what: str) -> None:
        """Press what makes a line in the ledger, or another test."""

    def note(self, text: str) -> None:
        """Note something on the last test."""

    def label(self, label: str) -> None:
        """Give a label."""


class KeyHand:
    """Sweeps with the keys of the terminal."""

    def __init__(self, swept: Swept) -> None:
        self._swept = swept
        self._read = 0
        self._mark = 0

    def verdict(self) -> Verdict:
        """Return the next verdict on stdout."""
        self._swept.until(lambda: len(self._swept.shown) > self._read)
        said = self._swept.shown[self._read]
        self._read += 1
        self._swept.until(lambda: "Take it out." in self._swept.talk[self._mark :])
        self._mark = len(self._swept.talk)
        return said["label"], said["verdict"]

    def ready(self) -> None:
        """Wait for the words that ask for the next cable."""
        words = ("Put the next cable", "Every cable of the lot", "Put the cable in")
        self._swept.until(lambda: any(word in self._swept.talk[self._mark :] for word in words))

    def press(self, what: str) -> None:
        """Press a key; what it enters is waited for."""
        lines = self._swept.lines()
        self._swept.type(KEYS[what])
        if what in ("skip", "undo"):
            self._swept.until(lambda: self._swept.lines() > lines)

    def note(self, text: str) -> None:
        """Press n, and type."""
        lines = self._swept.lines()
        self._asked("n", "Note on ", text)
        self._swept.until(lambda: self._swept.lines() > lines)

    def label(self, label: str) -> None:
        """Press l, and type."""
        self._asked("l", "Label: ", label)
        self._swept.until(lambda: "tested again" in self._swept.talk[self._mark :])

    def _asked(self, key: str, question: str, text: str) -> None:
        mark = len(self._swept.talk)
        self._swept.type(key)
        self._swept.until(lambda: question in self._swept.talk[mark:])
        self._swept.type(f"{text}\n")


class LotPocket(Pocket):
    """A phone that reads the page of a lot, and presses its buttons."""

    marks = itertools.count(1)

    def answer(self, what: str, words: list[str], mark: str = "", age_s: float = 0.0) -> dict[str, Any] | None:
        """Ask for something, and return what became of it, None where the line broke before the answer."""
        wish = {"id": mark or f"pocket-{next(self.marks):04d}", "what": what, "test": 0, "words": words, "age": age_s}
        try:
            with self._sent("POST", "/do", wish) as answer:
                found: dict[str, Any] = json.loads(answer.read())
        except (OSError, http.client.HTTPException, ValueError):
            return None
        return found

    def page(self, there: Callable[[str], object]) -> str:
        """Return the first page from now on of which something is so."""
        with closing(self.pages()) as pages:
            return next(str(page["html"]) for page in pages if there(page["html"]))

    def press(self, what: str, text: str = "") -> dict[str, Any] | None:
        """Press a button when the page has it, and type what it asks for."""
        page = self.page(lambda page: what in buttons(page))
        return self.answer(what, [buttons(page)[what], text])


class PhoneHand:
    """Sweeps from a phone; the terminal is not touched."""

    def __init__(self, swept: Swept, pocket: LotPocket) -> None:
        self._swept = swept
        self._pocket = pocket
        self._last = ""

    def verdict(self) -> Verdict:
        """Return the next verdict on the page."""
        page = self._pocket.page(lambda page: large(page) is not None and last_test(page) != self._last)
        self._last = last_test(page)
        found = large(page)
        assert found is not None
        return found

    def ready(self) -> None:
        """Wait for the words that ask for the next cable."""
        words = ("Put the next cable", "Every cable of the lot", "Put the cable in")
        self._pocket.page(lambda page: any(word in page for word in words))

    def press(self, what: str) -> None:
        """Press a button; its answer comes when it is done."""
        said = self._pocket.press(what)
        assert said is not None
        assert said["ok"], said

    def note(self, text: str) -> None:
        """Type a note."""
        said = self._pocket.press("note", text)
        assert said is not None
        assert said["said"].startswith("Noted on ")

    def label(self, label: str) -> None:
        """Type a label."""
        said = self._pocket.press("label", label)
        assert said is not None
        assert said["ok"], said


def buttons(page: str) -> dict[str, str]:
    """Return what a page's buttons ask for, and what each is meant for."""
    found: dict[str, str] = {}
    for what, words in re.findall(r'data-(?:do|type)="(\w+)" data-words="([^"]*)"', page):
        found.setdefault(what, json.loads(html.unescape(words))[0])
    return found


def large(page: str) -> Verdict | None:
    """Return label and verdict of a page with a verdict large on it, None of any other."""
    found = re.search(r'<header class="(pass|fail|undecided)">.*?<h1>. (\w+)</h1><p class="cable">(.*?)</p>', page)
    if found is None:
        return None
    assert found[1].upper() == found[2]
    return html.unescape(found[3]), found[1]


def last_test(page: str) -> str:
    """Return the number of the test that a page with a verdict is about, "" where it has no button that says."""
    return buttons(page).get("note", "").removeprefix("rack: ")


def sweep_four(bench: Bench, hand: Hand) -> list[Verdict]:
    """Sweep a lot of four with a note, a skip, a label taken back, a test again and one that was mended; stop it."""
    shown: list[Verdict] = []

    def plug(fault: str) -> None:
        hand.ready()
        bench.add(fault)
        shown.append(hand.verdict())

    plug("none")
    bench.seen()
    plug("exchanged")
    hand.note("kinked at the boot")
    bench.seen()
    hand.ready()
    hand.press("skip")
    plug("none")
    hand.press("undo")
    bench.seen()
    plug("short")
    hand.press("main")  # at once, since it is still in
    shown.append(hand.verdict())
    bench.seen()
    hand.ready()
    hand.label("R-002")
    plug("none")
    bench.seen()
    plug("none")
    bench.seen()
    hand.ready()
    hand.press("stop")
    return shown


def timeless(value: Any) -> Any:
    """Return plain values without times, and without the digests that follow from them."""
    if isinstance(value, dict):
        return {key: timeless(one) for key, one in value.items() if key not in TIMES}
    return [timeless(one) for one in value] if isinstance(value, list) else value


def kept(folder: Path) -> tuple[list[Any], dict[str, Any]]:
    """Return what a lot's folder keeps: its ledger's lines, and its captures by name, without times."""
    lines = [timeless(json.loads(line)) for line in (folder / LEDGER).read_bytes().splitlines()]
    captures = {
        path.name: timeless(json.loads(path.read_bytes().splitlines()[0]))
        for path in sorted((folder / "captures").iterdir())
    }
    return lines, captures


@contextmanager
def swept(home: Path, address: str, *words: str) -> Iterator[Swept]:
    """Give the command on a tester; it is killed where it has not ended."""
    found = Swept(home, address, *words)
    try:
        yield found
    finally:
        if found.process.poll() is None:
            found.end(signal.SIGKILL)


def on_phones(port: int) -> list[str]:
    """Return the words that serve a lot on phones at a port of this machine."""
    return ["--phone", "--address", "127.0.0.1", "--port", str(port)]


def let_in(found: Swept, port: int) -> LotPocket:
    """Let a phone in by the newest address on stderr; the next one stands there then."""

    def urls() -> list[str]:
        return re.findall(r"http://\S+#\S+", found.talk)

    found.until(urls)
    pocket, before = LotPocket(port), urls()
    pocket.enter(before[-1])
    found.until(lambda: len(urls()) > len(before))
    return pocket

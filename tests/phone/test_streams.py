"""What phones that look on are sent: the newest page and no queue, to a bounded number, as long as they are known."""

import asyncio
import json
import re
from collections.abc import Callable, Coroutine
from pathlib import Path
from typing import Any

import pytest

from tests.phone.asking import HOST, Boat
from wiremap.bench.handset import LASTING, LATE_S, Handset, Wish
from wiremap.bench.handset_loop import HandsetView
from wiremap.phone.app import MOST_STREAMS, STATIC
from wiremap.phone.doors import COOKIE_S, MOST_PHONES
from wiremap.phone.lot.keys import LASTING_IN_LOT

ENOUGH_S = 5.0  # a stream that ought to end, or to bring something, would hang
Cookie = list[tuple[str, str]]


class Stream:
    """One `/live` of a phone. takes: set = the phone reads what it is sent; cleared = its line is full."""

    def __init__(self, boat: Boat, cookie: Cookie) -> None:
        self.events: list[tuple[str, dict[str, Any]]] = []
        self.status = 0
        self.takes = asyncio.Event()
        self.takes.set()
        self._gone = asyncio.Event()
        heads = [("host", HOST), *cookie]
        scope: dict[str, Any] = {
            "type": "http",
            "asgi": {"version": "3.0", "spec_version": "2.4"},
            "http_version": "1.1",
            "method": "GET",
            "scheme": "http",
            "path": "/live",
            "raw_path": b"/live",
            "query_string": b"",
            "headers": [(name.encode(), value.encode()) for name, value in heads],
            "client": ("192.168.43.20", 40000),
            "server": ("127.0.0.1", 8712),
        }
        self.task = asyncio.create_task(boat.app(scope, self._receive, self._send))

    async def _receive(self) -> dict[str, Any]:
        await self._gone.wait()
        return {"type": "http.disconnect"}

    async def _send(self, message: Any) -> None:
        await self.takes.wait()
        if message["type"] == "http.response.start":
            self.status = message["status"]
            return
        for kind, data in re.findall(r"event: (\w+)\ndata: (.*)\n\n", message.get("body", b"").decode()):
            self.events.append((kind, json.loads(data)))

    @property
    def tests(self) -> list[int]:
        """Return the test numbers of the pages that came."""
        return [said["test"] for kind, said in self.events if kind == "page"]

    @property
    def is_open(self) -> bool:
        """Whether it goes on."""
        return not self.task.done()

    async def close(self) -> None:
        """Go away, as a phone out of the Wi-Fi does."""
        self.task.cancel()
        await asyncio.gather(self.task, return_exceptions=True)


def shows(boat: Boat, count: int) -> None:
    """Let the tester's loop have a newer view."""
    boat.loop.view = HandsetView(boat.loop.view.version + 1, Handset("W-1", "shown", count), None)
    boat.served.streams.changed()


async def until(there: Callable[[], bool]) -> None:
    """Let others run until something is there."""
    async with asyncio.timeout(ENOUGH_S):
        while not there():
            await asyncio.sleep(0)


def played(part: Callable[[Boat], Coroutine[Any, Any, None]], folder: Path) -> None:
    """Play a part on a boat."""
    asyncio.run(part(Boat(folder)))


def test_a_phone_that_comes_back_gets_the_newest_page_and_no_other(tmp_path: Path) -> None:
    """Off the Wi-Fi while fifty tests were made, it is sent the fiftieth, once, and then what changes."""

    async def part(boat: Boat) -> None:
        cookie = boat_cookie(boat)
        first = Stream(boat, cookie)
        await until(lambda: first.tests == [0])
        await first.close()
        for number in range(1, 51):
            shows(boat, number)
        again = Stream(boat, cookie)
        await until(lambda: bool(again.tests))
        shows(boat, 51)
        await until(lambda: len(again.tests) > 1)
        assert again.tests == [50, 51]
        assert again.events[0][0] == "page"
        await again.close()
        assert boat.served.streams.open == []

    played(part, tmp_path)


def test_a_phone_that_does_not_read_makes_no_queue(tmp_path: Path) -> None:
    """With a full line a phone misses what is past; when it reads again it gets the newest page."""

    async def part(boat: Boat) -> None:
        slow = Stream(boat, boat_cookie(boat))
        await until(lambda: slow.tests == [0])
        slow.takes.clear()
        for number in range(1, 1001):
            shows(boat, number)
            await asyncio.sleep(0)
        slow.takes.set()
        await until(lambda: slow.tests[-1] == 1000)
        assert len(slow.tests) <= 3  # what was on its way, and the newest
        await slow.close()

    played(part, tmp_path)


def test_streams_are_bounded(tmp_path: Path) -> None:
    """A phone has at most three streams, the eldest ends for a fourth; another phone's stay."""

    async def part(boat: Boat) -> None:
        one, other = boat_cookie(boat), boat_cookie(boat)
        theirs = Stream(boat, other)
        await until(lambda: theirs.tests == [0])
        mine = []
        for _ in range(MOST_STREAMS + 2):
            mine.append(Stream(boat, one))
            await until(lambda: mine[-1].tests == [0])
        await until(lambda: not mine[1].is_open)
        assert [stream.is_open for stream in mine] == [False] * 2 + [True] * MOST_STREAMS
        assert theirs.is_open
        assert len(boat.served.streams.open) == MOST_STREAMS + 1
        for stream in [*mine, theirs]:
            await stream.close()

    played(part, tmp_path)


def test_a_phone_that_is_known_no_more_sees_no_more(tmp_path: Path) -> None:
    """The ninth phone takes the first one's place: its streams end, too; so do all when their cookies end."""

    async def part(boat: Boat) -> None:
        cookies = []
        for number in range(MOST_PHONES):
            boat.now += 30 * number
            cookies.append(boat_cookie(boat))
        streams = [Stream(boat, cookie) for cookie in cookies]
        await until(lambda: all(stream.tests for stream in streams))
        boat.now += 30
        ninth = Stream(boat, boat_cookie(boat))
        shows(boat, 1)
        await until(lambda: not streams[0].is_open and all(stream.tests == [0, 1] for stream in streams[1:]))
        assert streams[0].tests == [0]
        boat.now += COOKIE_S
        shows(boat, 2)
        await until(lambda: not any(stream.is_open for stream in [*streams, ninth]))
        assert not any(2 in stream.tests for stream in [*streams, ninth])

    played(part, tmp_path)


def test_the_last_page_is_seen(tmp_path: Path) -> None:
    """What is shown when the server ends is sent before the stream ends."""

    async def part(boat: Boat) -> None:
        stream = Stream(boat, boat_cookie(boat))
        await until(lambda: stream.tests == [0])
        boat.served.streams.ending = True
        shows(boat, 7)
        await until(lambda: not stream.is_open)
        assert stream.tests == [0, 7]

    played(part, tmp_path)


@pytest.mark.parametrize(("what", "is_late"), [("again", True), ("did", True), ("keep", False), ("label", False)])
def test_only_what_is_meant_whenever_it_comes_may_come_late(what: Any, is_late: bool) -> None:
    """Eight seconds from the thumb to the tester, wherever they were spent; keep and label wait for ever."""
    assert not Wish("abcdefgh", what, age_s=LATE_S).is_late(0.0)
    assert not Wish("abcdefgh", what).is_late(LATE_S)
    for on_phone_s, here_s in ((LATE_S, 0.1), (0.1, LATE_S), (86400.0, 0.0)):
        assert Wish("abcdefgh", what, age_s=on_phone_s).is_late(here_s) == is_late


def test_the_page_and_the_laptop_agree_what_lasts() -> None:
    """The script drops from its outbox what the laptop would call late, and says how old the rest is."""
    script = (STATIC / "phone.js").read_text(encoding="utf-8")
    assert f"const AGAIN_S = {LATE_S:g};" in script
    lasting = list(dict.fromkeys([*LASTING, *LASTING_IN_LOT]))
    assert f"const LASTING = {json.dumps(lasting)};" in script
    assert "body.age = " in script


def boat_cookie(boat: Boat) -> Cookie:
    """Let a phone in, where a loop runs already."""
    return [("cookie", str(boat.doors.enter(boat.doors.secret())).partition(";")[0])]

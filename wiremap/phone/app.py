"""The routes: the shell, who may come in, the newest page and each change of it, wishes and photos."""

import asyncio
import json
from collections.abc import AsyncIterator, Callable
from concurrent.futures import Future
from pathlib import Path
from typing import Any, Protocol

from msgspec import Struct
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import Response, StreamingResponse
from starlette.routing import Route

from wiremap.bench.handset_loop import WishAnswer
from wiremap.errors import UsageError
from wiremap.phone.doors import Doors, Rates
from wiremap.phone.fragment import event_of
from wiremap.phone.guard import Guard, Here
from wiremap.phone.photos import check_photo
from wiremap.phone.wishes import photo_wish, secret_sent, wish_sent
from wiremap.report.print.phone_page import FAMILY

STATIC = Path(__file__).with_name("static")
BEAT_S = 2.0
ANSWER_S = 60.0  # a wish waits so long for the tester; then the phone asks again, with the same id
MOST_STREAMS = 3  # of one phone
ENTER_EACH, ENTER_ALL, WISHES, PHOTOS, PER_S = 5, 30, 90, 6, 60.0


class PhoneView(Protocol):
    """What phones see."""

    @property
    def version(self) -> int:
        """Return a number that goes up with every change."""


class LookedOn(Protocol):
    """What phones look at and ask: a tester in the hand, or a lot. on_view: called with every change."""

    on_view: Callable[[], None]

    @property
    def view(self) -> PhoneView:
        """Return the newest view."""

    @property
    def alive_s(self) -> float:
        """Return when the tester was heard last, by the clock of what is served."""

    def ask(self, wish: Any, photo: bytes = b"") -> "Future[WishAnswer]":
        """Put a wish in; the future says what became of it."""


class Streams:
    """Who looks on; the eldest of a phone that has too many is ended."""

    def __init__(self) -> None:
        self.open: list[tuple[str, asyncio.Event]] = []
        self.ending = False

    def changed(self) -> None:
        """Wake all."""
        for _, event in self.open:
            event.set()

    def join(self, phone: str) -> asyncio.Event:
        """Take one more, and return what wakes it."""
        own = [entry for entry in self.open if entry[0] == phone]
        for entry in own[: max(0, len(own) - MOST_STREAMS + 1)]:
            self.open.remove(entry)
            entry[1].set()
        event = asyncio.Event()
        self.open.append((phone, event))
        return event

    def holds(self, event: asyncio.Event) -> bool:
        """Whether it is still among them."""
        return not self.ending and any(one is event for _, one in self.open)

    def part(self, event: asyncio.Event) -> None:
        """Let one go."""
        self.open = [entry for entry in self.open if entry[1] is not event]


class Served(Struct):
    """What is served: the loop of the tester, the doors, and who looks on.

    page: makes of a view what phones are sent; wish: reads what they send. takes_photos: whether there may be any.
    """

    loop: LookedOn
    doors: Doors
    rates: Rates
    clock: Callable[[], float]
    streams: Streams
    page: Callable[[Any], dict[str, Any]] = event_of
    wish: Callable[[bytes], Any] = wish_sent
    takes_photos: bool = True

    async def enter(self, request: Request) -> Response:
        """Let in who has the secret."""
        address = request.client.host if request.client else ""
        all_may = self.rates.allows("enter", "", ENTER_ALL, PER_S)
        if not (self.rates.allows("enter", address, ENTER_EACH, PER_S) and all_may):
            return Response("too often: wait a minute", 429)
        cookie = self.doors.enter(secret_sent(await request.body()))
        if cookie is None:
            return Response("this code was used, or is too old: scan the one on the laptop", 403)
        return Response(status_code=204, headers={"set-cookie": cookie})

    async def who(self, _: Request) -> Response:
        """Say that a phone may come in."""
        return Response(status_code=204)

    async def live(self, request: Request) -> Response:
        """Give the newest page, then each change; a beat says how long ago the tester was heard."""
        return StreamingResponse(self._events(request.scope["state"]["phone"]), media_type="text/event-stream")

    async def _events(self, phone: str) -> AsyncIterator[str]:
        woken, shown = self.streams.join(phone), -1
        try:
            while self.doors.knows(phone):
                view = self.loop.view
                if view.version != shown:
                    shown = view.version
                    yield f"event: page\ndata: {json.dumps(self.page(view))}\n\n"
                if not self.streams.holds(woken):  # what was shown last is seen even where the end came with it
                    return
                age = self.clock() - self.loop.alive_s
                yield f"event: beat\ndata: {json.dumps({'age': round(age, 1)})}\n\n"
                woken.clear()
                try:
                    await asyncio.wait_for(woken.wait(), BEAT_S)
                except TimeoutError:
                    continue
        finally:
            self.streams.part(woken)

    async def do(self, request: Request) -> Response:
        """Carry out a wish."""
        if not self.rates.allows("do", request.scope["state"]["phone"], WISHES, PER_S):
            return Response("too often: wait a minute", 429)
        return await _answered(self.loop.ask(self.wish(await request.body())))

    async def photo(self, request: Request) -> Response:
        """Take a photo in."""
        if not self.rates.allows("photo", request.scope["state"]["phone"], PHOTOS, PER_S):
            return Response("too many photos: wait a minute", 429)
        wish = photo_wish(dict(request.query_params))
        content = await request.body()
        await asyncio.to_thread(check_photo, content)
        return await _answered(self.loop.ask(wish, content))


async def _answered(future: Future[WishAnswer]) -> Response:
    try:
        said = await asyncio.wait_for(asyncio.wrap_future(future), ANSWER_S)
    except TimeoutError:
        return Response("the tester is busy: it is asked again", 503)
    return Response(json.dumps({"ok": said.ok, "said": said.text}), media_type="application/json")


async def _nonsense(_: Request, error: Exception) -> Response:
    assert isinstance(error, UsageError)
    return Response(error.said, 400, media_type="text/plain")


async def _broken(_: Request, error: Exception) -> Response:
    return Response(f"wiremap itself failed ({type(error).__name__})", 500, media_type="text/plain")


def _file(content: bytes, kind: str) -> Callable[[Request], Response]:
    def give(_: Request) -> Response:
        return Response(content, media_type=kind)

    return give


def app_of(served: Served, here: Here) -> Guard:
    """Return the whole as ASGI, guarded."""
    style = FAMILY.encode() + (STATIC / "phone.css").read_bytes()
    routes = [
        Route("/", _file((STATIC / "phone.html").read_bytes(), "text/html"), methods=["GET"]),
        Route("/phone.js", _file((STATIC / "phone.js").read_bytes(), "text/javascript"), methods=["GET"]),
        Route("/phone.css", _file(style, "text/css"), methods=["GET"]),
        Route("/enter", served.enter, methods=["POST"]),
        Route("/who", served.who, methods=["GET"]),
        Route("/live", served.live, methods=["GET"]),
        Route("/do", served.do, methods=["POST"]),
    ]
    if served.takes_photos:
        routes.append(Route("/photo", served.photo, methods=["POST"]))
    inner = Starlette(routes=routes, exception_handlers={UsageError: _nonsense, Exception: _broken})
    return Guard(inner, here, served.doors, served.rates)

"""The lines of phones: how many one address may hold, and how long the head of a request may take."""

import asyncio
from collections import Counter
from typing import Any, ClassVar

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

PHONE_MOST_LINES = 12  # of one address; a browser opens six
HEAD_S = 10.0


class BoundedLine(H11Protocol):
    """A line that is closed where its address has too many, or where a request's head does not come to its end."""

    lines: ClassVar[Counter[str]] = Counter()

    def __init__(self, *arguments: Any, **named: Any) -> None:
        super().__init__(*arguments, **named)
        self._address = ""
        self._head: asyncio.TimerHandle | None = None

    def connection_made(self, transport: Any) -> None:
        """Take a line, or close it at once."""
        self._address = (transport.get_extra_info("peername") or ("",))[0]
        self.lines[self._address] += 1
        super().connection_made(transport)
        if self.lines[self._address] > PHONE_MOST_LINES:
            transport.abort()
            return
        self._watch_head()

    def connection_lost(self, exc: Exception | None) -> None:
        """Count the line out."""
        self.lines[self._address] -= 1
        if not self.lines[self._address]:
            del self.lines[self._address]
        self._rest()
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        """Go on; a head that is not whole yet is timed."""
        super().data_received(data)
        if self.conn.their_state is h11.IDLE:
            self._watch_head()
        else:
            self._rest()

    def _watch_head(self) -> None:
        if self._head is None:
            self._head = self.loop.call_later(HEAD_S, self._too_slow)

    def _rest(self) -> None:
        if self._head is not None:
            self._head.cancel()
            self._head = None

    def _too_slow(self) -> None:
        self._head = None
        if self.conn.their_state is h11.IDLE and not self.transport.is_closing():
            self.transport.abort()

"""Watching all contacts at the firmware's own rate: begin, fetch what was latched, end."""

from wiremap.errors import TesterError
from wiremap.tester import answers
from wiremap.tester.answers import Answer, FrameError, LatchedEvent, LatchedEvents
from wiremap.tester.measure import QUICK_S, SCAN_S, OpenTester

IndexPair = tuple[int, int]
MOST_FETCHES = 100


class Watch:
    """A watch on an open tester; contacts are the tester's own, numbered from 0 in matrix order.

    joined: which were joined when it began, pairs (a, b), a < b. lost: events that the tester dropped because they
    were not fetched in time. blind_us: time since the start in which it was too busy to see everything.
    """

    def __init__(self, tester: OpenTester) -> None:
        self._tester = tester
        self._size = len(tester.near_contacts) + len(tester.far_contacts)
        self._seen = 0
        self.lost = 0
        self.blind_us = 0
        self.joined: frozenset[IndexPair] = frozenset()

    def start(self) -> None:
        """Begin; RefusedError when a voltage or equipment is there, as it would be before any measurement."""
        rows = self._tester.ask("WATCh:STARt?", parse=self._rows, timeout_s=SCAN_S)
        self._seen = self.lost = self.blind_us = 0
        self.joined = frozenset((i, j) for i in range(self._size) for j in range(i + 1, self._size) if rows[i][j])

    def stop(self) -> None:
        """End; what was latched can still be fetched."""
        self._tester.ask("WATCh:STOP?", parse=lambda _answer: None, timeout_s=QUICK_S)

    def fetch(self) -> tuple[LatchedEvent, ...]:
        """Return the events since the last fetch, by number; RefusedError when a voltage made the watch stop.

        An event that still lasted when it was fetched comes once more, under a new number, when it is over.
        """
        found: list[LatchedEvent] = []
        for _ in range(MOST_FETCHES):
            got = self._tester.ask("FETCh:EVENt?", self._seen, parse=self._events, timeout_s=QUICK_S)
            if got.newest < self._seen or got.lost < self.lost or got.blind_us < self.blind_us:
                raise TesterError(
                    f"the tester's watch runs backwards, asked 'FETCh:EVENt?': event {got.newest} after {self._seen}, "
                    f"{got.lost} lost after {self.lost}, blind for {got.blind_us} us after {self.blind_us}",
                    "It may have begun anew: look at its power, and watch again.",
                )
            self.lost, self.blind_us = got.lost, got.blind_us
            found += [event for event in got.events if event.number > self._seen]
            self._seen = max(self._seen, *(event.number for event in got.events), 0)
            if self._seen >= got.newest or not got.events:
                return tuple(found)
        raise TesterError(
            "events come faster than they can be fetched", "Fix the cable so that it lies still, or test it first."
        )

    def _rows(self, answer: Answer) -> tuple[tuple[bool, ...], ...]:
        rows = answers.joined_rows(answer)
        if len(rows) != self._size:
            raise FrameError(f"the tester watches {len(rows)} contacts, and has {self._size}", raw=answer.raw)
        return rows

    def _events(self, answer: Answer) -> LatchedEvents:
        got = answers.latched_events(answer)
        if any(max(event.a, event.b) >= self._size for event in got.events):
            raise FrameError("an event names a contact that the tester does not have", raw=answer.raw)
        return got

"""What is joined just now, again and again: by the tester's watch where it has one, else by a scan each time."""

from collections.abc import Iterable
from itertools import combinations

from wiremap.cable.limits import limits
from wiremap.cable.patterns import Pattern
from wiremap.reading.joined import Joined, joined_pairs, nets
from wiremap.reading.reading import Reading
from wiremap.tester.answers import LatchedEvent
from wiremap.tester.measure import WATCH, OpenTester, RefusedError, look, view_of
from wiremap.tester.watching import IndexPair, Watch

MOST_STARTS = 4


class Looker:
    """Looks at what is joined, in the cable's contacts: near, then far, from 0; None = refused, a voltage is there."""

    def __init__(
        self, tester: OpenTester, near_adapter: Pattern | None = None, far_adapter: Pattern | None = None
    ) -> None:
        self._tester = tester
        self._adapters = (near_adapter, far_adapter)
        view = view_of(tester, "tester", near_adapter, far_adapter)
        self._cable = {index: place for place, index in enumerate(view.indices)}
        self._watch: Watch | None = None
        self._lasting: dict[tuple[int, int, str], LatchedEvent] = {}
        self._now: frozenset[IndexPair] = frozenset()

    def look(self) -> Joined:
        """Return every two contacts that are joined now, directly or through others."""
        try:
            if WATCH in self._tester.tester.features:
                return self._watched()
            return closed(look(self._tester, *self._adapters))
        except RefusedError:
            self._watch = None
            return None

    def rest(self) -> None:
        """Leave the tester free to measure; the next look begins anew."""
        if self._watch is not None:
            self._watch.stop()
            self._watch = None

    def _watched(self) -> Joined:
        if self._watch is None:
            return self._begun()
        for event in self._watch.fetch():
            key = (event.a, event.b, event.change)
            if event.for_us is None:
                self._lasting[key] = event
            else:
                self._lasting.pop(key, None)
        if self._watch.lost:
            self.rest()
            return self._begun()
        opened = {(a, b) for a, b, change in self._lasting if change == "OPEN"}
        joined = {(a, b) for a, b, change in self._lasting if change == "JOIN"}
        now = self._in_cable(departed(self._watch.joined, opened, joined))
        if not now and self._watch.joined:
            self.rest()  # with empty sockets to begin with, the next cable's nets are seen exactly
        self._now = now
        return now

    def _begun(self) -> frozenset[IndexPair]:
        """Begin to watch; what a plug that bounces just then shows is seen twice before it is believed."""
        for _ in range(MOST_STARTS):
            watch = Watch(self._tester)
            watch.start()
            self._watch, self._lasting = watch, {}
            before, self._now = self._now, self._in_cable(watch.joined)
            if not self._now or self._now == before:
                break
            watch.stop()
            self._watch = None
        return self._now

    def _in_cable(self, pairs: Iterable[IndexPair]) -> frozenset[IndexPair]:
        both = [(self._cable[a], self._cable[b]) for a, b in pairs if a in self._cable and b in self._cable]
        return closed((min(a, b), max(a, b)) for a, b in both)


def agrees(reading: Reading, joined: Joined) -> bool:
    """Whether a reading saw what a look saw; of what only an expected conductor may have either is right."""
    if joined is None or reading.foreign or reading.far == "equipment":
        return joined is None and bool(reading.foreign or reading.far == "equipment")
    surely, hardly = (
        closed(joined_pairs(reading.resistance_ohm, most_ohm))
        for most_ohm in (limits().joined_ohm, limits().high_resistance_ohm)
    )
    return surely <= joined <= hardly


def closed(pairs: Iterable[IndexPair]) -> frozenset[IndexPair]:
    """Return every two contacts that the pairs join, directly or through others."""
    known = tuple(pairs)
    labels = nets(max((max(pair) + 1 for pair in known), default=0), known)
    return frozenset((a, b) for a, b in combinations(range(len(labels)), 2) if labels[a] == labels[b])


def departed(start: Iterable[IndexPair], opened: Iterable[IndexPair], joined: Iterable[IndexPair]) -> set[IndexPair]:
    """Return what is joined after departures from the start, as the firmware names them.

    opened: (a, b), the lowest contact of a net and the lowest of a piece that came off it; so of each net the pieces
    are known by their lowest contact, and what lies between two of them is not. The contacts of a piece are taken to
    be those that were joined to it when the watch began and have no piece of their own.
    """
    pairs = set(start)
    for _, loose in opened:
        pairs = {pair for pair in pairs if loose not in pair}
    return pairs | set(joined)

"""One more test while the plugs and the cable behind them are moved: what comes and goes is found so.

A tester that can watch watches; any other is made to look at what is joined again and again, which misses what opens
for less than a look.
"""

from collections.abc import Callable, Sequence
from typing import Literal

from msgspec.structs import replace

from wiremap.bench.moving.movement import Moved, MovedSoFar, MovingStoppedError, MovingView, how_moved
from wiremap.bench.watch import Log, Wanted
from wiremap.bench.watcher import Heard, watch
from wiremap.cable.patterns import Pattern
from wiremap.contact import Contact, far_contact, near_contact
from wiremap.errors import TesterError
from wiremap.reading.joined import joined_pairs
from wiremap.reading.parts import Event
from wiremap.reading.reading import Reading
from wiremap.tester.listening import Listener, UnsettledError
from wiremap.tester.looking import closed
from wiremap.tester.measure import OpenTester, RefusedError, look
from wiremap.tester.view import WATCHED_OHM

MOVED_S = 15.0  # so long the cable is watched while it is moved, where nobody says otherwise
SLOWER = "Something comes and goes, or it was moved faster than the tester prints. Move it once more, slowly."
LEAST_LOOKS = 5  # of a tester that cannot watch, however long they take
Sides = tuple[Pattern | None, Pattern | None]


class _Watching:
    """A watch as `watch` wants to show it."""

    def __init__(self, view: MovingView, seconds: float) -> None:
        self._view = view
        self._seconds = seconds
        self.error: TesterError | None = None

    def heard(self, wait_s: float) -> Sequence[Heard]:
        """Hear whether it is to stop."""
        return ("stop",) if self._view.stops(wait_s) else ()

    def page(self, log: Log, watched_s: float, looking_at: tuple[Contact, Contact] | None) -> None:
        """Show how far it is; while the tester looks which end is open nothing moves on."""
        if looking_at is None:
            seen_s = max(watched_s - log.blind_us / 1e6, 0.0)
            self._view.moving(
                MovedSoFar("watched", False, min(seen_s, self._seconds), self._seconds, events=log.events)
            )

    def ring(self) -> None:
        """Ring for an event."""
        self._view.event()

    def trouble(self, error: TesterError) -> None:
        """Keep why the tester is gone."""
        self.error = error


def while_moved(
    device: OpenTester | Listener,
    measure: Callable[[], Reading],
    sides: Sides,
    view: MovingView,
    clock: Callable[[], float],
    seconds: float = MOVED_S,
) -> Moved:
    """Return what the tester sees of a cable at rest, with all that comes and goes while it is moved for so long.

    measure: measures in full. sides: the adapters at either end. clock: in seconds. TesterError where the tester goes
    away, or stops because something feeds the cable; MovingStoppedError where the technician stops it.
    """
    how = "looked" if isinstance(device, Listener) else how_moved(device.tester)
    view.moving(MovedSoFar(how, True, 0.0, seconds))
    reading = measure()
    if isinstance(device, Listener) or how == "looked":
        return _looked(device, reading, sides, view, clock, seconds)
    side = _Watching(view, seconds)
    seen = watch(device, Wanted(seconds, 0), side, clock, lambda: (measure(), ()), *sides)
    if seen.end == "stopped":
        raise MovingStoppedError
    if seen.end == "lost":
        raise side.error or TesterError("the tester went away while the cable was watched", "Plug it in again.")
    if seen.end == "refused":
        raise _fed()
    watched_s = (seen.watched_us - seen.log.blind_us) / 1e6
    return Moved(replace(reading, events=seen.log.events), "watched", watched_s, 0)


def _fed() -> TesterError:
    return TesterError("the tester stopped: there is a voltage on the cable", "Unplug what feeds it, and test again.")


def _looked(
    device: OpenTester | Listener,
    reading: Reading,
    sides: Sides,
    view: MovingView,
    clock: Callable[[], float],
    seconds: float,
) -> Moved:
    """Look at what is joined again and again; what differs from the test at rest came or went."""
    rest = closed(joined_pairs(reading.resistance_ohm, WATCHED_OHM))
    names = (*map(near_contact, reading.near_contacts), *map(far_contact, reading.far_contacts))
    began, looks, gone = clock(), 0, 0.0
    events: tuple[Event, ...] = ()
    while gone < seconds or looks < LEAST_LOOKS:
        view.moving(MovedSoFar("looked", False, min(gone, seconds), seconds, looks, events))
        if view.stops(0.0):
            raise MovingStoppedError
        now = _look(device, sides)
        looks, gone = looks + 1, clock() - began
        more = _events(events, rest, now, names, round(gone * 1e6))
        if len(more) > len(events):
            view.event()
        events = more
    return Moved(replace(reading, events=events), "looked", gone, looks)


def _look(device: OpenTester | Listener, sides: Sides) -> frozenset[tuple[int, int]]:
    """Return what is joined now, directly or through others."""
    if isinstance(device, Listener):
        try:
            return closed(joined_pairs(device.reading("tester", *sides).resistance_ohm, WATCHED_OHM))
        except UnsettledError as error:
            raise TesterError(
                f"while the cable was moved the tester's scans did not agree: {error.what}", SLOWER
            ) from error
    try:
        return closed(look(device, *sides))
    except RefusedError as error:
        raise _fed() from error


def _events(
    known: tuple[Event, ...],
    rest: frozenset[tuple[int, int]],
    now: frozenset[tuple[int, int]],
    names: Sequence[Contact],
    at_us: int,
) -> tuple[Event, ...]:
    """Return the events after one more look: those that last, those that ended, those that are new."""
    differs = {(a, b): "opened" if (a, b) in rest else "joined" for a, b in rest ^ now}
    found: list[Event] = []
    lasting = set()
    for event in known:
        place = names.index(event.a), names.index(event.b)
        if event.for_us is None and differs.get(place) == event.change:
            lasting.add(place)
        elif event.for_us is None:
            event = replace(event, for_us=max(at_us - event.at_us, 0))
        found.append(event)
    for place in sorted(set(differs) - lasting):
        change: Literal["opened", "joined"] = "opened" if place in rest else "joined"
        found.append(Event(len(found) + 1, names[place[0]], names[place[1]], change, at_us, None))
    return tuple(found)

"""What a watch has seen: events put together, by place; pure.

An event is a departure from how the cable was when the watch began: contacts that were joined came apart
("opened"), or others met ("joined"). While it still lasts it is known without its end.
"""

from collections.abc import Collection, Iterable
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from wiremap.contact import Contact
from wiremap.reading.parts import Event
from wiremap.tester.answers import LatchedEvent

CHANGES: dict[str, Literal["opened", "joined"]] = {"OPEN": "opened", "JOIN": "joined"}


class Wanted(Struct, frozen=True):
    """When a watch without an event is enough: so long, and with so many movements that were declared."""

    seconds: float
    movements: int


class Stretch(Struct, frozen=True):
    """One unbroken stretch of watching. start_us: of its beginning, since the watch began.

    opened: contacts (a, b) that had come apart already when it began, so that their joining is the end of that.
    """

    start_us: int = 0
    opened: frozenset[tuple[Contact, Contact]] = frozenset()


class WatchedPlace(Struct, frozen=True):
    """Events between the same two contacts: how many, time in all and the longest (of those that ended), the last.

    lasting: how many of them still last. end: "near" or "far", where it is likeliest; None = not known.
    """

    a: Contact
    b: Contact
    change: Literal["opened", "joined"]
    count: int = 0
    total_us: int = 0
    longest_us: int = 0
    last_us: int = 0
    lasting: int = 0
    end: str | None = None


class Log(Struct, frozen=True):
    """All that was seen.

    events: in order. moved_us: when movements were declared. blind_us: time in which the tester measured, or was too
    busy, and could not watch. lost: events the tester dropped. ends: where a contact that stayed open is likeliest
    open, by its event's place. lasting: which of the events, from 0, still last as far as is known. places: the events
    by place, in the order in which the places came up; kept here, since a page must not cost more the more came before.
    """

    events: tuple[Event, ...] = ()
    moved_us: tuple[int, ...] = ()
    blind_us: int = 0
    lost: int = 0
    ends: tuple[tuple[tuple[Contact, Contact], str], ...] = ()
    stretch: Stretch = Stretch()
    lasting: tuple[int, ...] = ()
    places: tuple[WatchedPlace, ...] = ()


def heard(log: Log, latched: Iterable[LatchedEvent], contacts: dict[int, Contact]) -> tuple[Log, int]:
    """Return the log with what the tester latched, and how many events of it are new.

    contacts: of the tester's contacts that are the cable's; what happens at others is left out. An event that comes
    once more, now with its length, takes the place of what was known of it.
    """
    taken = _Taken(log)
    fresh = 0
    for latch in latched:
        if latch.a not in contacts or latch.b not in contacts:
            continue
        a, b, at_us = contacts[latch.a], contacts[latch.b], log.stretch.start_us + latch.at_us
        if latch.change == "JOIN" and (a, b) in log.stretch.opened:
            for k in taken.still(a, b, "opened"):
                taken.end(k, at_us - taken.events[k].at_us)
            continue
        change = CHANGES[latch.change]
        known = next((k for k in taken.still(a, b, change) if taken.events[k].at_us == at_us), None)
        if known is None:
            fresh += 1
            taken.add(Event(len(taken.events) + 1, a, b, change, at_us, latch.for_us))
        elif latch.for_us is not None:
            taken.end(known, latch.for_us)
    return taken.log(), fresh


class _Taken:
    """A log that is being written on; it costs what comes, not what came before."""

    def __init__(self, log: Log) -> None:
        self._before = log
        self.events = list(log.events)
        self._lasting = list(log.lasting)
        self._places = {(place.a, place.b, place.change): place for place in log.places}

    def still(self, a: Contact, b: Contact, change: str) -> list[int]:
        """Return which events at a place still last, the oldest first."""
        there = (
            k for k in self._lasting if (self.events[k].a, self.events[k].b, self.events[k].change) == (a, b, change)
        )
        return list(there)

    def add(self, event: Event) -> None:
        """Take a new event."""
        key = event.a, event.b, event.change
        place = self._places.get(key) or WatchedPlace(*key)
        last_us = max(place.last_us, event.at_us)
        self._places[key] = replace(place, count=place.count + 1, last_us=last_us, lasting=place.lasting + 1)
        self.events.append(event)
        self._lasting.append(len(self.events) - 1)
        if event.for_us is not None:
            self.end(len(self.events) - 1, event.for_us)

    def end(self, k: int, for_us: int) -> None:
        """Let an event that still lasted have lasted for so long."""
        event = replace(self.events[k], for_us=max(for_us, 0))
        self.events[k] = event
        self._lasting.remove(k)
        key = event.a, event.b, event.change
        place = self._places[key]
        total_us, longest_us = place.total_us + (event.for_us or 0), max(place.longest_us, event.for_us or 0)
        self._places[key] = replace(place, total_us=total_us, longest_us=longest_us, lasting=place.lasting - 1)

    def log(self) -> Log:
        """Return what came out."""
        return replace(
            self._before,
            events=tuple(self.events),
            lasting=tuple(self._lasting),
            places=tuple(self._places.values()),
        )


def moved(log: Log, at_us: int) -> Log:
    """Return the log with a movement that somebody declared."""
    return replace(log, moved_us=(*log.moved_us, at_us))


def open_now(log: Log) -> frozenset[tuple[Contact, Contact]]:
    """Return the contacts that came apart and still are."""
    still = (log.events[k] for k in log.lasting)
    return frozenset((event.a, event.b) for event in still if event.change == "opened")


def with_end(log: Log, place: tuple[Contact, Contact], end: str) -> Log:
    """Return the log with where a contact is likeliest open: "near", "far", or "" where it could not be told."""
    return replace(log, ends=(*log.ends, (place, end)))


def begun_again(log: Log, stopped_us: int, now_us: int, joined: Collection[tuple[Contact, Contact]]) -> Log:
    """Return the log when the watch goes on after the tester was busy from stopped_us to now_us.

    joined: what is joined now. What is open still counts on as open, and its joining will end it; what closed in
    between lasted until now at the longest.
    """
    taken = _Taken(log)
    for k in log.lasting:
        event = log.events[k]
        if event.change == "opened" and (event.a, event.b) in joined:
            taken.end(k, now_us - event.at_us)
    again = replace(taken.log(), blind_us=log.blind_us + now_us - stopped_us)
    start_us = max([now_us, *(event.at_us + (event.for_us or 0) for event in again.events)])
    return replace(again, stretch=Stretch(start_us, open_now(again)))


def places(log: Log) -> tuple[WatchedPlace, ...]:
    """Return the events by place, the most frequent first, each with the end where it is likeliest."""
    ends = dict(log.ends)
    found = sorted(log.places, key=lambda place: (-place.count, place.a, place.b, place.change))
    return tuple(replace(place, end=ends.get((place.a, place.b)) or None) for place in found)


def enough(log: Log, watched_s: float, wanted: Wanted) -> bool:
    """Whether it was watched for as long, and moved as often, as was wanted; time spent blind does not count."""
    return watched_s - log.blind_us / 1e6 >= wanted.seconds and len(log.moved_us) >= wanted.movements

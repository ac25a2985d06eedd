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


class Log(Struct, frozen=True):
    """All that was seen.

    events: in order. moved_us: when movements were declared. blind_us: time in which the tester measured, or was too
    busy, and could not watch. lost: events the tester dropped. ends: where a contact that stayed open is likeliest
    open, by its event's place.
    """

    events: tuple[Event, ...] = ()
    moved_us: tuple[int, ...] = ()
    blind_us: int = 0
    lost: int = 0
    ends: tuple[tuple[tuple[Contact, Contact], str], ...] = ()
    stretch: Stretch = Stretch()


class WatchedPlace(Struct, frozen=True):
    """Events between the same two contacts: how many, time in all and the longest (of those that ended), the last.

    lasting: whether it is so now. end: "near" or "far", where it is likeliest; None = not known.
    """

    a: Contact
    b: Contact
    change: Literal["opened", "joined"]
    count: int
    total_us: int
    longest_us: int
    last_us: int
    lasting: bool
    end: str | None


def heard(log: Log, latched: Iterable[LatchedEvent], contacts: dict[int, Contact]) -> tuple[Log, int]:
    """Return the log with what the tester latched, and how many events of it are new.

    contacts: of the tester's contacts that are the cable's; what happens at others is left out. An event that comes
    once more, now with its length, takes the place of what was known of it.
    """
    events = list(log.events)
    fresh = 0
    for latch in latched:
        if latch.a not in contacts or latch.b not in contacts:
            continue
        a, b, at_us = contacts[latch.a], contacts[latch.b], log.stretch.start_us + latch.at_us
        if latch.change == "JOIN" and (a, b) in log.stretch.opened:
            events = [_ended(event, at_us) if _is(event, a, b, "opened") else event for event in events]
            continue
        known = next((k for k, event in enumerate(events) if _same(event, a, b, latch.change, at_us)), None)
        if known is None:
            fresh += 1
            events.append(Event(len(events) + 1, a, b, CHANGES[latch.change], at_us, latch.for_us))
        else:
            events[known] = replace(events[known], for_us=latch.for_us)
    return replace(log, events=tuple(events)), fresh


def moved(log: Log, at_us: int) -> Log:
    """Return the log with a movement that somebody declared."""
    return replace(log, moved_us=(*log.moved_us, at_us))


def open_now(log: Log) -> frozenset[tuple[Contact, Contact]]:
    """Return the contacts that came apart and still are."""
    return frozenset((event.a, event.b) for event in log.events if event.for_us is None and event.change == "opened")


def with_end(log: Log, place: tuple[Contact, Contact], end: str) -> Log:
    """Return the log with where a contact is likeliest open: "near", "far", or "" where it could not be told."""
    return replace(log, ends=(*log.ends, (place, end)))


def begun_again(log: Log, stopped_us: int, now_us: int, joined: Collection[tuple[Contact, Contact]]) -> Log:
    """Return the log when the watch goes on after the tester was busy from stopped_us to now_us.

    joined: what is joined now. What is open still counts on as open, and its joining will end it; what closed in
    between lasted until now at the longest.
    """
    events = tuple(
        _ended(event, now_us) if _is(event, event.a, event.b, "opened") and (event.a, event.b) in joined else event
        for event in log.events
    )
    again = replace(log, events=events, blind_us=log.blind_us + now_us - stopped_us)
    start_us = max([now_us, *(event.at_us + (event.for_us or 0) for event in events)])
    return replace(again, stretch=Stretch(start_us, open_now(again)))


def places(log: Log) -> tuple[WatchedPlace, ...]:
    """Return the events by place, the most frequent first."""
    ends = dict(log.ends)
    found = []
    for a, b, change in sorted({(event.a, event.b, event.change) for event in log.events}):
        there = [event for event in log.events if (event.a, event.b, event.change) == (a, b, change)]
        lengths = [event.for_us for event in there if event.for_us is not None]
        found.append(
            WatchedPlace(
                a,
                b,
                change,
                len(there),
                sum(lengths),
                max(lengths, default=0),
                max(event.at_us for event in there),
                len(lengths) < len(there),
                ends.get((a, b)) or None,
            )
        )
    return tuple(sorted(found, key=lambda place: -place.count))


def enough(log: Log, watched_s: float, wanted: Wanted) -> bool:
    """Whether it was watched for as long, and moved as often, as was wanted; time spent blind does not count."""
    return watched_s - log.blind_us / 1e6 >= wanted.seconds and len(log.moved_us) >= wanted.movements


def _same(event: Event, a: Contact, b: Contact, change: str, at_us: int) -> bool:
    return _is(event, a, b, CHANGES[change], lasting=False) and event.at_us == at_us


def _is(event: Event, a: Contact, b: Contact, change: str, lasting: bool = True) -> bool:
    return (event.a, event.b, event.change) == (a, b, change) and (event.for_us is None or not lasting)


def _ended(event: Event, at_us: int) -> Event:
    return replace(event, for_us=max(at_us - event.at_us, 0))

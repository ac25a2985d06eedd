"""What a test of a cable that is moved has seen, and how it is said; pure."""

from collections.abc import Sequence
from typing import Literal, Protocol

from msgspec import Struct

from wiremap.reading.parts import Event, Tester
from wiremap.reading.reading import Reading
from wiremap.report.words.faults import listed

WATCHES = "WATCH"
MOST_MOVED_PLACES = 3  # of what came and went are named
How = Literal["watched", "looked"]  # by a watch without a gap, or by looks at what is joined, again and again


class MovedSoFar(Struct, frozen=True):
    """How far a test of a cable that is moved has come. still: it is measured at rest first. looks: how often it was
    looked at, 0 where it is watched without a gap. events: what came and went."""

    how: How
    still: bool
    seconds: float
    of_seconds: float
    looks: int = 0
    events: tuple[Event, ...] = ()


class Moved(Struct, frozen=True):
    """What a tester saw of a cable that was moved. seconds: how long; looks: as in `MovedSoFar`."""

    reading: Reading
    how: How
    seconds: float
    looks: int


class MovingView(Protocol):
    """The technician's side."""

    def stops(self, wait_s: float) -> bool:
        """Wait for so long, and return whether the technician stops it."""

    def moving(self, so_far: MovedSoFar) -> None:
        """Show how far it has come."""

    def event(self) -> None:
        """Ring for what came and went."""


class MovingStoppedError(Exception):
    """The technician stops a test of a cable that is moved: nothing is known by it."""


def how_moved(tester: Tester | None) -> How:
    """Return what such a tester does while a cable is moved."""
    return "watched" if tester is not None and WATCHES in tester.features else "looked"


def moved_words(how: How, seconds: float, looks: int, events: Sequence[Event], of_seconds: float | None = None) -> str:
    """Return what a test of a cable that was moved saw, as a sentence; of_seconds: as long as it is to take."""
    time = f"{seconds:.0f} s" if of_seconds is None else f"{seconds:.0f} of {of_seconds:.0f} s"
    did = f"Watched for {time}" if how == "watched" else f"Looked at {_times(looks)} in {time}"
    if not events:
        return f"{did}: nothing came and went."
    places = list(dict.fromkeys(f"{event.a} - {event.b}" for event in events))
    more = f" and {len(places) - MOST_MOVED_PLACES} more" if len(places) > MOST_MOVED_PLACES else ""
    where = f"{', '.join(places[:MOST_MOVED_PLACES])}{more}" if more else listed(places)
    return f"{did}: {where} came and went, {_times(len(events))}."


def _times(count: int) -> str:
    return "once" if count == 1 else f"{count} times"

"""A guided repair as it stands: what is wanted of the cable, and all that was reported of it, in order; pure.

Nothing else is kept: what to do now follows from these, so a repair that was interrupted goes on where it was.
"""

from collections.abc import Sequence
from typing import Literal

from msgspec import Struct, field
from msgspec.structs import replace

from wiremap.bench.moving.movement import How
from wiremap.contact import End
from wiremap.errors import UsageError
from wiremap.judge.case import JobNames, Requirements
from wiremap.judge.plugs.found import Holds
from wiremap.ranges import check_text
from wiremap.reading.reading import Reading

QuestionKind = Literal[
    "colour", "in-plug", "in-plugs", "reach", "set-up", "expect", "conductors", "card", "piece", "lead", "move-one"
]
Deed = Literal["re-terminate", "clean", "unplug", "again", "open-joint", "swap-lead", "not-moved"]

MOST_EVENTS = 2000  # of one repair; a technician reports some ten


class Asked(Struct, frozen=True):
    """A question. end: the plug it is about, None = the cable or both. contacts: those it is about. fault: of which it
    is asked whether it is to be seen there, "" = of none. kind "card": whether a plug can be made so, "no" = it cannot.
    kinds "piece", "lead" and "move-one" are tests of a part, which a test answers, or "not-now".
    """

    kind: QuestionKind
    end: End | None = None
    contacts: tuple[str, ...] = ()
    fault: str = ""


class Tested(Struct, frozen=True):
    """The cable was measured. moved: its plugs were moved meanwhile; how, seconds, looks: then, as in `Moved`.

    of: the test of a part that it was, None = of the whole cable; where one plug alone was moved it is the whole cable.
    """

    reading: Reading
    moved: bool = False
    how: How | Literal[""] = ""
    seconds: float = 0.0
    looks: int = 0
    of: Asked | None = None


class Answered(Struct, frozen=True):
    """A question was answered: a word of its choices, or a colour; "?" = I do not know. Kept as it was said."""

    asked: Asked
    word: str

    def __post_init__(self) -> None:
        """Check that it is a word; FileError says what is allowed."""
        check_text("answer", self.word)


class FaultAt(Struct, frozen=True):
    """A fault, by its kind and its contacts in both plugs."""

    fault: str
    near: tuple[str, ...]
    far: tuple[str, ...]


class Did(Struct, frozen=True):
    """Something is done. order: what the plug was to get, () = not known by colours. against: the faults it was for.
    place: the joint that was opened."""

    work: Deed
    end: End | None = None
    order: Holds = ()
    against: tuple[FaultAt, ...] = ()
    place: str = ""


class Ticked(Struct, frozen=True):
    """A line of the work list was ticked, or the tick taken away."""

    name: str


class TakenBack(Struct, frozen=True):
    """What was said last is taken back: an answer, a tick, or something done that no test has followed yet."""


MendEvent = Tested | Answered | Did | Ticked | TakenBack


class Mend(Struct, frozen=True):
    """A repair. live: a tester is there to measure the cable again. by_eye: nothing is measured, the plugs are read.

    work: the work list, (name, text). events: all that was reported, oldest first, what was taken back too. leads: ends
    where a lead is between the tester and the cable.
    """

    wanted: Requirements
    names: JobNames = field(default_factory=JobNames)
    live: bool = True
    by_eye: bool = False
    work: tuple[tuple[str, str], ...] = ()
    events: tuple[MendEvent, ...] = ()
    leads: tuple[End, ...] = ()


def reported(mend: Mend, event: MendEvent) -> Mend:
    """Return the repair after something was reported; UsageError where there is too much of it."""
    if len(mend.events) >= MOST_EVENTS:
        raise UsageError(f"this repair has {MOST_EVENTS} events", "Begin a new one.")
    return replace(mend, events=(*mend.events, event))


def what_stands(events: Sequence[MendEvent]) -> tuple[MendEvent, ...]:
    """Return the events that stand, without those taken back and without what took them back."""
    found: list[MendEvent] = []
    for event in events:
        if isinstance(event, TakenBack):
            place = _taken_back(found)
            if place is not None:
                del found[place]
        else:
            found.append(event)
    return tuple(found)


def can_take_back(mend: Mend) -> bool:
    """Whether there is something that can be taken back."""
    return _taken_back(what_stands(mend.events)) is not None


def _taken_back(events: Sequence[MendEvent]) -> int | None:
    """Return which event is taken back: the last answer or tick since the last work, or work that was not tested yet.

    What was measured stays, and so does work that it was measured after: a plug that is cut off is cut off.
    """
    tested = False
    for place in reversed(range(len(events))):
        event = events[place]
        if isinstance(event, Tested):
            tested = True
        elif isinstance(event, Did):
            return None if tested else place
        else:
            return place
    return None

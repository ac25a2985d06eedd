"""What goes into the sweep of a lot and what comes out: settings, events and actions."""

from collections.abc import Sequence
from typing import Literal

from msgspec import Struct

from wiremap.judge.findings import Verdict
from wiremap.reading.joined import Joined

DeskKey = Literal["main", "retest", "note", "skip", "undo", "stop"]
Bell = Literal["pass", "fail", "undecided", "not-seated", "moved"]


class Labels(Struct, frozen=True):
    """How cables are labelled: scanned, or a prefix and a running number of at least so many digits."""

    prefix: str = ""
    digits: int = 3
    first: int = 1
    scanned: bool = False


class Plan(Struct, frozen=True):
    """What the machine must know of a lot.

    count: cables in it, None = no end. sides: see `stable.seat`. reference_every: insertions between tests of the
    reference cord, None = never asked for.
    """

    labels: Labels = Labels()
    count: int | None = None
    sides: Sequence[Sequence[int]] = ()
    reference_every: int | None = 100


class Outcome(Struct, frozen=True):
    """One finished measurement: the verdict, what its scan saw joined, and all that is to be recorded of it."""

    verdict: Verdict
    joined: Joined
    test: object = None


class Last(Struct, frozen=True):
    """The test recorded last: its number in the ledger, its label ("" = the reference cord) and its verdict.

    of: the number of the test it repeated, None = the cable's first.
    """

    number: int
    label: str
    verdict: Verdict
    of: int | None = None


class Looked(Struct, frozen=True):
    """A look at what is joined; None = refused, since a voltage is there."""

    joined: Joined
    at_s: float


class Pressed(Struct, frozen=True):
    """A key."""

    key: DeskKey


class Labelled(Struct, frozen=True):
    """A label, scanned or typed."""

    label: str


class WasMeasured(Struct, frozen=True):
    """The measurement that was asked for is finished."""

    outcome: Outcome


class Recorded(Struct, frozen=True):
    """The test that was to be recorded is on the disk, under this number."""

    number: int


class NoRoom(Struct, frozen=True):
    """The disk takes no more; nothing of the test in hand was kept."""


class Broken(Struct, frozen=True):
    """The program failed at the cable in hand; what was measured is kept aside, and it has no verdict."""


class Lost(Struct, frozen=True):
    """The tester does not answer any more."""


class Back(Struct, frozen=True):
    """The tester answers again."""


SweepEvent = Looked | Pressed | Labelled | WasMeasured | Recorded | NoRoom | Broken | Lost | Back


class Measure(Struct, frozen=True):
    """Measure what is in the sockets; then answer with Measured, with NoRoom, or with Broken."""


class KeepRecord(Struct, frozen=True):
    """Put this on the disk; then answer with Recorded or NoRoom."""

    outcome: Outcome
    label: str
    of: int | None
    reference: bool
    insertion: int
    reference_due: int


class Show(Struct, frozen=True):
    """The verdict is on the disk: show it."""

    last: Last
    outcome: Outcome


class Ring(Struct, frozen=True):
    """Ring a pattern."""

    bell: Bell


class Undo(Struct, frozen=True):
    """Enter that the label of this test was wrong."""

    last: Last


class Skip(Struct, frozen=True):
    """Enter that this label stays unused."""

    label: str


class AskNote(Struct, frozen=True):
    """Ask for a note on this test."""

    last: Last


class Stop(Struct, frozen=True):
    """End the loop."""


SweepAction = Measure | KeepRecord | Show | Ring | Undo | Skip | AskNote | Stop

"""What goes into the sweep of a lot and what comes out: settings, events and actions."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from wiremap.judge.findings import Verdict
from wiremap.reading.joined import Joined

DeskKey = Literal["main", "retest", "note", "skip", "undo", "stop"]
Bell = Literal["pass", "fail", "undecided", "not-seated", "moved"]


@dataclass(frozen=True, slots=True)
class Labels:
    """How cables are labelled: scanned, or a prefix and a running number of at least so many digits."""

    prefix: str = ""
    digits: int = 3
    first: int = 1
    scanned: bool = False


@dataclass(frozen=True, slots=True)
class Plan:
    """What the machine must know of a lot.

    count: cables in it, None = no end. sides: see `stable.seat`. reference_every: insertions between tests of the
    reference cord, None = never asked for.
    """

    labels: Labels = Labels()
    count: int | None = None
    sides: Sequence[Sequence[int]] = ()
    reference_every: int | None = 100


@dataclass(frozen=True, slots=True)
class Outcome:
    """One finished measurement: the verdict, what its scan saw joined, and all that is to be recorded of it."""

    verdict: Verdict
    joined: Joined
    test: object = None


@dataclass(frozen=True, slots=True)
class Last:
    """The test recorded last: its number in the ledger, its label ("" = the reference cord) and its verdict.

    of: the number of the test it repeated, None = the cable's first.
    """

    number: int
    label: str
    verdict: Verdict
    of: int | None = None


@dataclass(frozen=True, slots=True)
class Looked:
    """A look at what is joined; None = refused, since a voltage is there."""

    joined: Joined
    at_s: float


@dataclass(frozen=True, slots=True)
class Pressed:
    """A key."""

    key: DeskKey


@dataclass(frozen=True, slots=True)
class Labelled:
    """A label, scanned or typed."""

    label: str


@dataclass(frozen=True, slots=True)
class WasMeasured:
    """The measurement that was asked for is finished."""

    outcome: Outcome


@dataclass(frozen=True, slots=True)
class Recorded:
    """The test that was to be recorded is on the disk, under this number."""

    number: int


@dataclass(frozen=True, slots=True)
class NoRoom:
    """The disk takes no more; nothing of the test in hand was kept."""


@dataclass(frozen=True, slots=True)
class Lost:
    """The tester does not answer any more."""


@dataclass(frozen=True, slots=True)
class Back:
    """The tester answers again."""


SweepEvent = Looked | Pressed | Labelled | WasMeasured | Recorded | NoRoom | Lost | Back


@dataclass(frozen=True, slots=True)
class Measure:
    """Measure what is in the sockets; then answer with Measured, or NoRoom when it could not be recorded."""


@dataclass(frozen=True, slots=True)
class KeepRecord:
    """Put this on the disk; then answer with Recorded or NoRoom."""

    outcome: Outcome
    label: str
    of: int | None
    reference: bool
    insertion: int
    reference_due: int


@dataclass(frozen=True, slots=True)
class Show:
    """The verdict is on the disk: show it."""

    last: Last
    outcome: Outcome


@dataclass(frozen=True, slots=True)
class Ring:
    """Ring a pattern."""

    bell: Bell


@dataclass(frozen=True, slots=True)
class Undo:
    """Enter that the label of this test was wrong."""

    last: Last


@dataclass(frozen=True, slots=True)
class Skip:
    """Enter that this label stays unused."""

    label: str


@dataclass(frozen=True, slots=True)
class AskNote:
    """Ask for a note on this test."""

    last: Last


@dataclass(frozen=True, slots=True)
class Stop:
    """End the loop."""


SweepAction = Measure | KeepRecord | Show | Ring | Undo | Skip | AskNote | Stop

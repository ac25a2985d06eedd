"""What a guided repair asks or wants done now, as contacts and words that wording knows."""

from typing import Literal

from msgspec import Struct

from wiremap.bench.mend.course.pieces import Piece
from wiremap.bench.mend.events import Asked, Deed, FaultAt
from wiremap.contact import End
from wiremap.judge.case import Case
from wiremap.judge.findings import Finding
from wiremap.judge.remedy.repair import Step

StageKind = Literal["measure", "ask", "card", "do", "move", "part", "passed", "stopped"]
StopReason = Literal[
    "replace",
    "both-well",
    "out-of-reach",
    "other-kind",
    "serves",
    "by-eye",
    "no-better",
    "adapter",
    "piece",
    "socket",
]


class Stage(Struct, frozen=True):
    """Where a repair stands.

    kind: "measure" = the tester measures the cable now; "ask" = asked and choices, words that may be answered, beside
    "?"; "card" = a plug is to be made anew; "do" = other work; "move" = measured once more while it is moved, one plug
    of it alone where that is asked; "part" = a part is put into the tester and measured, asked says which; "passed" and
    "stopped" = it is over, why: says why it stopped.
    case: the cable as it was judged last, None = it was not measured yet. again: the question is asked once more, since
    contradicts, what was said and what was measured, cannot both be. step: of the plan, where the card has an order or
    moves; None = the plug is made in the order that it has. finding: what it is about. paired: that order is to have
    each pair on its own contacts, since pairs could not be measured. faults: what the work is against, for `Did`.
    unbelieved: contacts whose colours were said twice so, and cannot be. piece: of the run that the fault is in.
    assumed: contacts that nobody looked at, taken to hold what is likely.
    """

    kind: StageKind
    case: Case | None = None
    asked: Asked | None = None
    choices: tuple[str, ...] = ()
    again: bool = False
    contradicts: str = ""
    work: Deed | None = None
    end: End | None = None
    step: Step | None = None
    finding: Finding | None = None
    paired: bool = False
    faults: tuple[FaultAt, ...] = ()
    why: StopReason | None = None
    unbelieved: tuple[tuple[End, str], ...] = ()
    piece: Piece | None = None
    assumed: tuple[tuple[End, str], ...] = ()

    @property
    def can_wait(self) -> bool:
        """Whether what is asked for can be left out: it tells more, and nothing has to follow from it."""
        return self.kind in ("move", "part") or self.work == "swap-lead"

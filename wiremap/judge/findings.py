"""What judging says: a Finding is one fault in contacts and numbers, a Diagnosis is all that is said of a cable."""

from dataclasses import dataclass
from typing import Literal

from wiremap.judge.findings_measured import Length, Pairing

Fault = Literal[
    "open",
    "short",
    "reversed-pair",
    "crossed-pairs",
    "miswire",
    "split-pair",
    "high-resistance",
    "resistance-unbalance",
    "screen-open",
    "screen-short",
    "leakage",
    "foreign-voltage",
    "equipment-attached",
    "length-out-of-range",
    "wet-or-wrong-cable",
    "conductor-metal",
    "contact-film",
    "intermittent",
]
Verdict = Literal["pass", "fail", "undecided"]
Place = Literal["near", "far", "run"]
Certainty = Literal["confirmed", "likely"]


@dataclass(frozen=True, slots=True)
class Finding:
    """One fault.

    near, far: contacts concerned; for conductors that arrive wrongly near[i] arrives at far[i], in near order.
    end: where it is, None = not known. at_m: distance from the near end, metres, None = not known.
    polarity_exchanged: for crossed pairs, the pairs ("3-2") whose conductors are exchanged as well.
    value, limit, unit: what was measured, against what; None where the fault has no number.
    """

    fault: Fault
    near: tuple[str, ...] = ()
    far: tuple[str, ...] = ()
    end: Place | None = None
    at_m: float | None = None
    certainty: Certainty = "confirmed"
    polarity_exchanged: tuple[str, ...] = ()
    value: float | None = None
    limit: float | None = None
    unit: str | None = None
    detail: str | None = None


@dataclass(frozen=True, slots=True)
class NotChecked:
    """Something that was not checked, and the reason as a word that wording knows."""

    what: str
    why: str


@dataclass(frozen=True, slots=True)
class Nearest:
    """The pattern that fits best, and how many conductors are away from it."""

    pattern: str
    away: int


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """What is said of a cable.

    expect: the pattern it was judged against, None = none was given. nearest: given when none was, or when a
    known pattern or habit explains the findings. cause: that pattern or habit as a word that wording knows.
    pairs: which conductors are twisted together, None = not seen. lengths: by each method and fused.
    """

    verdict: Verdict
    expect: str | None
    nearest: Nearest | None
    findings: tuple[Finding, ...]
    not_checked: tuple[NotChecked, ...]
    cause: str | None = None
    pairs: Pairing | None = None
    lengths: tuple[Length, ...] = ()

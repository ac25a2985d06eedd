"""What is said of a fault, and of what was not checked: in contacts, numbers and words that wording knows."""

from typing import Literal, get_args

from msgspec import Struct

Fault = Literal[
    "open",
    "short",
    "reversed-pair",
    "crossed-pairs",
    "miswire",
    "split-pair",
    "split-section",
    "high-resistance",
    "resistance-unbalance",
    "screen-open",
    "screen-short",
    "leakage",
    "foreign-voltage",
    "equipment-attached",
    "too-long",
    "too-short",
    "wet-or-wrong-cable",
    "conductor-metal",
    "contact-film",
    "intermittent",
    "terminators",
]
Verdict = Literal["pass", "fail", "undecided"]
Place = Literal["near", "far", "run"]
Certainty = Literal["confirmed", "likely"]
Check = Literal[
    "continuity",
    "opens",
    "shorts",
    "screen",
    "resistance",
    "resistance-unbalance",
    "contact-film",
    "leakage",
    "foreign-voltage",
    "capacitance",
    "split-pairs",
    "length",
    "intermittent",
    "terminators",
]
Reason = Literal[
    "not-asked",
    "not-measured",
    "tester-cannot",
    "no-expectation",
    "far-end-open",
    "far-end-plugged",
    "far-remote",
    "far-joined",
    "far-equipment",
    "remote-unsure",
    "which-end",
    "resolution",
    "no-pairs",
    "too-short",
    "leakage",
    "faults",
    "continuity-only",
    "near-far-only",
    "volts-only",
    "terminated",
    "seen-only",
    "colours-unsure",
    "set-up",
    "unsteady",
]
VERDICTS: tuple[Verdict, ...] = get_args(Verdict)
CHECKS: tuple[Check, ...] = get_args(Check)
ONE_OF = "one-of"  # detail of an open: one of the contacts is, or more, and which is not known
MEANWHILE = "meanwhile"  # detail of an intermittent: it came and went while the cable was measured, nobody watched
MISPLACED: tuple[Fault, ...] = ("reversed-pair", "crossed-pairs", "miswire")


class Finding(Struct, frozen=True):
    """One fault.

    near, far: contacts concerned; for conductors that arrive wrongly near[i] arrives at far[i], in near order.
    end: where it is, None = not known. at_m: distance from the near end, metres, None = not known;
    u_m its standard uncertainty.
    polarity_exchanged: for crossed pairs, the conductors ("3-2") of the pairs whose polarity is exchanged as well.
    value, limit, unit: what was measured, against what; None where the fault has no number. low, high: ends of the
        95 % interval of value, None = not worked out; of a foreign voltage low alone: it is as much or
        more. Of a split section value is metres of it, at_m where it begins.
    detail: a word more: the kind of a foreign voltage, the definition of an unbalance, "asked" where the job says how
    many terminators there must be, MEANWHILE, ONE_OF where it is not known which of the contacts is open.
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
    u_m: float | None = None
    low: float | None = None
    high: float | None = None

    def to_builtins(self) -> dict[str, object]:
        """Return the finding as it stands in JSON; what it does not have is left out, end and at_m are null."""
        plain: dict[str, object] = {
            "fault": self.fault,
            "near": list(self.near),
            "far": list(self.far),
            "end": self.end,
            "at_m": self.at_m,
            "certainty": self.certainty,
        }
        if self.polarity_exchanged:
            plain["polarity_exchanged"] = list(self.polarity_exchanged)
        more = {
            "u_m": self.u_m,
            "value": self.value,
            "low": self.low,
            "high": self.high,
            "limit": self.limit,
            "unit": self.unit,
            "detail": self.detail,
        }
        return plain | {key: value for key, value in more.items() if value is not None}


class NotChecked(Struct, frozen=True):
    """Something that was not checked, and the reason; both are words that wording knows."""

    what: Check
    why: Reason

    def to_builtins(self) -> dict[str, object]:
        """Return it as it stands in JSON."""
        return {"what": self.what, "why": self.why}

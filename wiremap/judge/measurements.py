"""What capacitance, echo and resistance say of a sound cable too: its pairs and its length, and how surely."""

from collections.abc import Sequence
from typing import Literal

from msgspec import Struct

from wiremap.judge.findings import Finding, NotChecked, Reason

PairingVerdict = Literal["confirmed", "likely", "cannot tell"]
PairingMethod = Literal["direct", "two_terminal", "reference", "lengths", "launch", "ratio", "echoes"]
LengthMethod = Literal["echo", "capacitance", "resistance", "fused"]
Shape = Literal["normal", "rectangular"]


class Pairing(Struct, frozen=True):
    """Which conductors are twisted together, over most of the run, and how surely.

    pairs: two near contacts each, in contact order; where the method cannot say which conductors belong
        together ("lengths", "launch", "ratio", "echoes") only the expected pairs that are sound. A conductor
        broken at the near plug, seen by its far end alone, is called by the contact it should come from.
    z: margin over the next best pairing, in standard uncertainties.
    verdict: "confirmed" from z = 4, "likely" from 2, below that "cannot tell".
    method: from grounded groups ("direct"), from two contacts each with the others floating ("two_terminal"),
        by difference from a good cord ("reference"), from the four lengths by capacitance ("lengths") or by
        echo ("echoes"), from the launch impedance ("launch"), from length by capacitance over length by echo
        ("ratio").
    split: expected pairs (near contacts) whose conductors are not twisted together.
    split_z: margin of these pairs over the expected ones, same scale as z; None = no pattern to compare with.
    by_exclusion: pairs that are only what the others left over, or that a short hides.
    hidden_m: a split section up to so many metres may have escaped, None = not known.
    lay: "quad" where four conductors are a star quad, whose pairs lie across from each other; "mixed" where they are
        neither that nor twisted pairs all along.
    """

    pairs: tuple[tuple[str, str], ...]
    z: float
    verdict: PairingVerdict
    method: PairingMethod
    split: tuple[tuple[str, str], ...] = ()
    split_z: float | None = None
    by_exclusion: tuple[tuple[str, str], ...] = ()
    lay: Literal["pairs", "quad", "mixed"] = "pairs"
    hidden_m: float | None = None

    def to_builtins(self) -> dict[str, object]:
        """Return the pairing as it stands in JSON."""
        plain: dict[str, object] = {
            "pairs": [list(pair) for pair in self.pairs],
            "z": round(self.z, 2),
            "verdict": self.verdict,
            "method": self.method,
            "split": [list(pair) for pair in self.split],
            "extent": "whole run",
        }
        if self.split_z is not None:
            plain["split_z"] = round(self.split_z, 2)
        if self.hidden_m is not None:
            plain["hidden_m"] = round(self.hidden_m, 2)
        if self.lay != "pairs":
            plain["lay"] = self.lay
        if self.by_exclusion:
            plain["by_exclusion"] = [list(pair) for pair in self.by_exclusion]
        return plain


class Term(Struct, frozen=True):
    """One term of an uncertainty budget (GUM 4 and 5): its share of the length, as relative standard uncertainty.

    shape: the distribution assigned to it; rectangular ones have half-width sqrt(3) times u_rel. fixed: it is so
    many metres whatever the length (an offset), otherwise it grows with the length (a factor).
    """

    name: str
    u_rel: float
    shape: Shape = "normal"
    fixed: bool = False


class Length(Struct, frozen=True):
    """Length of one pair, or of the cable where `pair` is None, by one method or fused from several.

    u_m: standard uncertainty, k = 1. low_m, high_m: ends of the 95 % interval of the propagated distribution
        (JCGM 101), not length -+ 2 u.
    terms: the budget. fused: chi2 and dof of the methods against each other; excluded: "method" or
        "method: reason" left out.
    """

    pair: tuple[str, str] | None
    method: LengthMethod
    length_m: float
    u_m: float
    low_m: float
    high_m: float
    terms: tuple[Term, ...] = ()
    chi2: float | None = None
    dof: int | None = None
    excluded: tuple[str, ...] = ()

    def to_builtins(self) -> dict[str, object]:
        """Return the length as it stands in JSON; pair null = the cable."""
        plain: dict[str, object] = {
            "pair": None if self.pair is None else list(self.pair),
            "method": self.method,
            "length_m": round(self.length_m, 3),
            "u_m": round(self.u_m, 3),
            "low_m": round(self.low_m, 3),
            "high_m": round(self.high_m, 3),
            "terms": [
                {"name": term.name, "u_rel": round(term.u_rel, 5), "shape": term.shape, "fixed": term.fixed}
                for term in self.terms
            ],
        }
        if self.chi2 is not None and self.dof is not None:
            plain |= {"chi2": round(self.chi2, 2), "dof": self.dof}
        if self.excluded:
            plain["excluded"] = list(self.excluded)
        return plain


KNOWN_CABLE = "calibrated"  # in the place of a kind: the cable that the tester was calibrated with


class LikeKind(Struct, frozen=True):
    """One kind of cable that a cable may be: its name, gauge, whether copper-clad, and how probable it is."""

    name: str
    awg: int
    clad: bool
    probability: float


class KindSeen(Struct, frozen=True):
    """What a cable is like by all that was measured of it.

    likely: kinds by their probability, the likeliest first, as many as hold most of it; told: the kind that somebody
    named, "" = nobody did. nvp: velocity over that of light, with its standard uncertainty. widened: by what every
    uncertainty was multiplied because measurements disagree, 1 = they agree. of: whose figures those of the told kind
    are, "" = those that ship. copper_awg, clad_awg: by its resistance it is like copper of the one gauge, or like
    copper-clad aluminium of the other, which resistance cannot tell apart; None = nothing to remark.
    """

    likely: tuple[LikeKind, ...]
    nvp: float
    nvp_u: float
    widened: float = 1.0
    told: str = ""
    of: str = ""
    copper_awg: int | None = None
    clad_awg: int | None = None

    def to_builtins(self) -> dict[str, object]:
        """Return it as it stands in JSON."""
        plain: dict[str, object] = {
            "likely": [
                {"kind": one.name, "awg": one.awg, "copper_clad": one.clad, "probability": round(one.probability, 3)}
                for one in self.likely
            ],
            "nvp": round(self.nvp, 4),
            "nvp_u": round(self.nvp_u, 4),
            "widened": round(self.widened, 2),
        }
        if self.copper_awg is not None:
            plain |= {"copper_awg": self.copper_awg, "clad_awg": self.clad_awg}
        return plain | {key: word for key, word in (("told", self.told), ("of", self.of)) if word}


class Measured(Struct, frozen=True):
    """What capacitance, echo and resistance say. findings: those given, with place and end, and new ones.

    kind: what kind of cable it is like, None where nothing says.
    """

    pairs: Pairing | None
    lengths: tuple[Length, ...]
    findings: tuple[Finding, ...]
    not_checked: tuple[NotChecked, ...]
    kind: KindSeen | None = None


def nothing_measured(findings: Sequence[Finding], why: Reason) -> Measured:
    """Return that nothing is known of pairs and length, and why; the findings as they are."""
    return Measured(None, (), tuple(findings), (NotChecked("split-pairs", why), NotChecked("length", why)))

"""The length of a cable and of its pairs, and what kind of cable it is like, from everything measured together."""

import math
from collections.abc import Callable, Collection, Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from wiremap.cable.kinds import Kind, Lay
from wiremap.cable.limits import Limits
from wiremap.cable.materials import LIGHT_M_PER_S
from wiremap.judge.measurements import KindSeen, Length, LengthMethod, LikeKind, Term
from wiremap.judge.run.capacitance import Groups
from wiremap.judge.run.length.hypotheses import hypotheses
from wiremap.judge.run.length.observed import (
    Pair,
    PairValues,
    WholePairs,
    bare_cable,
    believable,
    delays,
    impedances,
    listened,
    pair_capacitances,
    resistances,
    rows_of,
    whole_cable,
)
from wiremap.judge.run.length.plugs import WithoutPlugs
from wiremap.judge.run.length.posterior import CableBelief, Hypothesis, Observation, Possible, Quantity, Water, believe
from wiremap.judge.run.length.shape import MatrixShape, shape_of
from wiremap.judge.wiring.laid_reading import LaidReading

MOST_CHANCE = 0.9  # of the kinds that are listed
COVERED = (0.025, 0.975)
TO_95 = 1.96
WET = "wet"  # the kind of cable that is none: one with water in it
LENGTH_METHODS: dict[LengthMethod, Quantity] = {
    "echo": "delay",
    "capacitance": "capacitance",
    "resistance": "resistance",
}


class RunEstimate(Struct, frozen=True):
    """What is known of a run. lengths: of each pair by each method and together, then of the cable, the last fused.

    belief: None where nothing gives a length. shape: what capacitances say of the kind, None = nothing.
    seen: the observations of the cable.
    """

    lengths: tuple[Length, ...]
    belief: CableBelief | None
    shape: MatrixShape | None
    seen: tuple[Observation, ...]

    @property
    def cable(self) -> Length | None:
        """Return the length of the cable, None where there is none."""
        return self.lengths[-1] if self.lengths else None

    @property
    def m_per_s(self) -> float | None:
        """Return how fast the cable is taken to be, None where nothing is known of its length."""
        return None if self.belief is None else math.exp(self.belief.moments(1)[0])

    def kind_seen(self, told: Kind | None, limits: Limits) -> KindSeen | None:
        """Return what the cable is like, the kinds that together have most of the probability; None = nothing says."""
        if self.belief is None:
            return None
        by_chance = sorted(zip(self.belief.weight.tolist(), self.hypotheses, strict=True), key=lambda one: -one[0])
        likely: list[LikeKind] = []
        for chance, one in by_chance:
            if sum(known.probability for known in likely) >= MOST_CHANCE:
                break
            likely.append(LikeKind(one.kind, one.awg, one.clad, chance))
        mean, between, within = self.belief.moments(1)
        nvp = math.exp(mean) / LIGHT_M_PER_S
        u = nvp * math.hypot(between, within)
        if told is not None:
            return KindSeen(tuple(likely), nvp, u, self.belief.widened, told.name, told.of)
        return KindSeen(tuple(likely), nvp, u, self.belief.widened, "", "", *self._like_metal(limits))

    def _like_metal(self, limits: Limits) -> tuple[int | None, int | None]:
        """Return of which gauge it is if of copper, and if copper-clad, where it may be either; else (None, None).

        Installed cable is seldom thinner than the usual gauge: only what is as if it were is worth a remark.
        """
        cable = self.cable
        if self.ohm_per_m is None or cable is None or cable.low_m < limits.metal_from_m:
            return None, None
        likeliest: list[int] = []
        for clad in (False, True):
            chance: dict[int, float] = {}
            for share, one in zip(self.belief.weight.tolist() if self.belief else (), self.hypotheses, strict=True):
                if one.clad is clad and one.kind != WET:
                    chance[one.awg] = chance.get(one.awg, 0.0) + share
            if max(chance.values(), default=0.0) < limits.metal_remark:
                return None, None
            likeliest.append(max(chance, key=lambda awg: chance[awg]))
        copper, clad_awg = likeliest
        return (copper, clad_awg) if copper > limits.materials.conductors.usual_awg else (None, None)

    @property
    def pf_per_m(self) -> float | None:
        """Return a pair's capacitance by the metre, None where it was not measured."""
        return self._per_m("capacitance", 1e12)

    @property
    def ohm_per_m(self) -> float | None:
        """Return a conductor's resistance by the metre, None where it was not measured."""
        return self._per_m("resistance", 1.0)

    def _per_m(self, quantity: Quantity, unit: float) -> float | None:
        values = [one.value for one in self.seen if one.quantity == quantity]
        return unit * values[0] / self.lengths[-1].length_m if values and self.lengths else None

    @property
    def hypotheses(self) -> tuple[Hypothesis, ...]:
        """Return what the cable may be, likely or not."""
        return () if self.belief is None else self.belief.hypotheses

    def chance_of(self, wanted: Callable[[Hypothesis], bool]) -> float:
        """Return the probability that the cable is one of the hypotheses wanted; 0 where nothing is known."""
        if self.belief is None:
            return 0.0
        return sum(float(p) for p, one in zip(self.belief.weight, self.belief.hypotheses, strict=True) if wanted(one))


def estimate_run(
    laid: LaidReading,
    pairs: WholePairs,
    seen: Groups | None,
    poor: Collection[str] = (),
    told: Kind | None = None,
    lay: Lay | None = None,
    wet: bool = False,
) -> RunEstimate:
    """Return lengths of sound pairs and of the cable.

    pairs: near contacts of pairs that are whole, with the far contacts they arrive at (None = not known). seen:
    None where capacitance cannot be used. poor: near contacts whose resistance is not the run's alone. told: the kind
    of cable that somebody named. lay: how the conductors lie, None = not known. wet: whether water was seen in a part
    of it, which makes that part slow.
    Resistance alone gives no length, since it would be that of an assumed gauge.
    """
    reading, limits = laid.reading, laid.limits
    names = [pair for pair, _ in pairs]
    bare = bare_cable(names, seen, limits)
    charged = pair_capacitances(reading, names, seen, bare, limits)
    values: dict[LengthMethod, PairValues] = {
        "echo": believable(delays(reading, names, limits), charged, listened(reading, names), limits),
        "capacitance": charged,
        "resistance": resistances(laid, pairs, poor),
    }
    shape = None if seen is None or bare is None else _shape(names, seen, bare, limits, lay)
    if not values["echo"] and not values["capacitance"]:
        return RunEstimate((), None, shape, ())
    through = 0 if seen is None else sum(bool(near and far) for near, far in zip(seen.near, seen.far, strict=True))
    conductors = max(2 * len(names), through)  # bare contacts of the tester are none
    may_be = hypotheses(told, shape, conductors, reading.calibration, limits)
    if wet:
        may_be = replace(may_be, water=Water(limits.wet_slower, limits.wet_slower_u, limits.wet_fuller))
    by_method = {
        method: shown
        for method, quantity in LENGTH_METHODS.items()
        if (shown := whole_cable(values[method], quantity)) is not None
    }
    observed = [*by_method.values()]
    impedance = whole_cable(impedances(reading, names, limits), "impedance")
    if impedance is not None:
        observed.append(impedance)
    belief = believe(observed, may_be, limits.tolerated_chi2)
    cable = _length(None, "fused", belief)
    alone = {method: _alone(method, shown, impedance, may_be, limits) for method, shown in by_method.items()}
    found: list[Length] = []
    for pair in names:
        found += _of_pair(pair, values, by_method, alone, cable)
    return RunEstimate((*found, *alone.values(), cable), belief, shape, tuple(observed))


def _alone(
    method: LengthMethod,
    shown: Observation,
    impedance: Observation | None,
    may_be: Possible,
    limits: Limits,
) -> Length:
    """Return the length that one method gives alone; capacitance with the impedance where a trace shows it."""
    seen = [shown, impedance] if method == "capacitance" and impedance is not None else [shown]
    return _length(None, method, believe(seen, may_be, limits.tolerated_chi2))


def _shape(
    pairs: Sequence[Pair], seen: Groups, bare: WithoutPlugs, limits: Limits, lay: Lay | None
) -> MatrixShape | None:
    u_pf = math.hypot(float(bare.u_pf.max(initial=0.0)) / 4, seen.direct_sigma_pf / 2)
    rows = tuple(rows_of(pairs, seen).values())
    return shape_of(bare.direct_pf, rows, u_pf, limits.least_of_floating, seen.kind != "UTP", lay)


def _length(pair: Pair | None, method: LengthMethod, belief: CableBelief) -> Length:
    middle, low, high = belief.quantiles((0.5, *COVERED))
    _, between, within = belief.moments()
    terms = (Term("kind of cable", between), Term("within a kind", within))
    fused = method == "fused"
    return Length(
        pair,
        method,
        middle,
        middle * math.hypot(between, within),
        low,
        high,
        terms,
        belief.chi2 if fused else None,
        belief.dof if fused else None,
    )


def _of_pair(
    pair: Pair,
    values: Mapping[LengthMethod, PairValues],
    by_method: Mapping[LengthMethod, Observation],
    alone: Mapping[LengthMethod, Length],
    cable: Length,
) -> list[Length]:
    """Return a pair's length by each method and together: the cable's, as much longer as the pair shows more."""
    found: list[Length] = []
    logs, weights = 0.0, 0.0
    for method, shown in by_method.items():
        mine = values[method].get(pair)
        if mine is not None:
            longer = float(mine.value / shown.value)  # an array's number has no place in a record
            found.append(_scaled(alone[method], pair, longer, mine.own_u))
            if method != "resistance":
                weight = 1 / mine.own_u**2
                logs, weights = logs + weight * math.log(longer), weights + weight
    if weights:
        found.append(_scaled(cable, pair, math.exp(logs / weights), 1 / math.sqrt(weights)))
    return found


def _scaled(cable: Length, pair: Pair, longer: float, u_rel: float) -> Length:
    """Return the cable's length as that of a pair, with what the pair alone is uncertain by on top."""
    below = math.hypot(math.log(cable.length_m / cable.low_m), TO_95 * u_rel)
    above = math.hypot(math.log(cable.high_m / cable.length_m), TO_95 * u_rel)
    length_m = cable.length_m * longer
    u_m = length_m * math.hypot(cable.u_m / cable.length_m, u_rel)
    terms = (*cable.terms, Term("this pair", u_rel))
    return Length(
        pair,
        cable.method,
        length_m,
        u_m,
        length_m * math.exp(-below),
        length_m * math.exp(above),
        terms,
        cable.chi2,
        cable.dof,
    )

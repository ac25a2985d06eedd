"""What a cable may be before its delay, capacitance and resistance are looked at: kinds by gauge, copper or clad."""

import math
from functools import lru_cache

import numpy as np
from msgspec.structs import replace

from wiremap.cable.kinds import Kind
from wiremap.cable.limits import Limits
from wiremap.cable.materials import LIGHT_M_PER_S
from wiremap.calibration import Calibration
from wiremap.judge.measurements import KNOWN_CABLE
from wiremap.judge.run.length.posterior import Hypothesis, Possible, possible
from wiremap.judge.run.length.shape import MatrixShape, log_likelihood
from wiremap.judge.run.network import Array

USUAL_C = 20.0


def hypotheses(
    told: Kind | None, shape: MatrixShape | None, conductors: int, known: Calibration | None, limits: Limits
) -> Possible:
    """Return every kind with each of its gauges, of copper and copper-clad, each with its weight.

    told: the kind that somebody named, None = nobody did; then every kind is possible as the shape allows, and so is
    the cable that the tester was calibrated with, and others of its make.
    """
    if told is not None:
        return _of_kinds((told,), True, limits)[0]
    whole, kind_of = _of_kinds(limits.kinds, False, limits)
    says = np.array([log_likelihood(kind, shape, conductors, limits) for kind in limits.kinds])
    log_weight = whole.log_weight + says[kind_of]
    found = replace(whole, log_weight=log_weight)
    if known is None or known.nvp is None:
        return found
    together = float(np.logaddexp.reduce(log_weight))
    own = possible(
        [
            _known_cable(known, known.nvp, u, together + math.log(share), limits)
            for u, share in ((limits.same_reel_u, limits.same_reel_share), (limits.same_make_u, limits.same_make_share))
        ]
    )
    return Possible(
        found.hypotheses + own.hypotheses,
        np.concatenate([found.mean, own.mean]),
        np.concatenate([found.variance, own.variance]),
        np.concatenate([log_weight, own.log_weight]),
    )


@lru_cache(maxsize=16)
def _of_kinds(kinds: tuple[Kind, ...], told: bool, limits: Limits) -> tuple[Possible, Array]:
    """Return what cables of kinds may be before anything of them is seen, and of which kind each hypothesis is."""
    found: list[Hypothesis] = []
    kind_of: list[int] = []
    for place, kind in enumerate(kinds):
        of_kind = _of_kind(kind, velocity_u(kind, told, limits), 0.0 if told else math.log(kind.weight), limits)
        found += of_kind
        kind_of += [place] * len(of_kind)
    return possible(found), np.array(kind_of)


def velocity_u(kind: Kind, told: bool, limits: Limits) -> float:
    """Return how much the velocity of a kind differs; less where it was named, and the figures are not a user's own."""
    return min(kind.nvp_u, limits.told_nvp_u) if told and not kind.of else kind.nvp_u


def _known_cable(known: Calibration, nvp: float, spread_u: float, log_weight: float, limits: Limits) -> Hypothesis:
    """Return the cable a tester was calibrated with as a kind; spread_u: how much others like it differ."""
    v = nvp * LIGHT_M_PER_S
    v_u = math.hypot((known.nvp_u or 0.0) / nvp, spread_u)
    usual = limits.materials
    impedance, impedance_u = usual.pair.impedance_ohm, limits.impedance_spread_u
    if known.capacitance_pf_per_m is not None:
        impedance = 1e12 / (known.capacitance_pf_per_m * v)
        impedance_u = math.hypot((known.capacitance_u_pf_per_m or 0.0) / known.capacitance_pf_per_m, spread_u)
    ohm = usual.copper.ohm_per_m(usual.conductors.usual_awg) * usual.conductors.lay_factor
    ohm_u = limits.unknown_gauge_u
    if known.ohm_per_m is not None:
        ohm, ohm_u = (
            known.ohm_per_m,
            math.hypot((known.ohm_u_per_m or 0.0) / known.ohm_per_m, spread_u, warm_u(limits)),
        )
    gauge = round(usual.conductors.usual_awg)
    return Hypothesis(KNOWN_CABLE, gauge, False, v, v_u, impedance, impedance_u, ohm, ohm_u, log_weight)


def warm_u(limits: Limits) -> float:
    """Return the relative standard uncertainty of a resistance by what temperature does to it."""
    copper = limits.materials.copper.temperature_coefficient_per_k
    return copper * limits.materials.pair.temperature_half_width_k / math.sqrt(3)


def _of_kind(kind: Kind, nvp_u: float, log_weight: float, limits: Limits) -> list[Hypothesis]:
    gauges = {kind.awg: 1.0}
    if kind.other_awg:
        gauges = {kind.awg: 1.0 - limits.other_gauge}
        gauges |= dict.fromkeys(kind.other_awg, limits.other_gauge / len(kind.other_awg))
    copper = limits.materials.copper
    longer = limits.materials.conductors.lay_factor * (limits.strand_factor if kind.wire == "stranded" else 1.0)
    if kind.ohm_per_100m is not None:
        longer = kind.ohm_per_100m / 100 / copper.ohm_per_m(kind.awg, USUAL_C)
    found = []
    for awg, share in gauges.items():
        solid = copper.ohm_per_m(awg, USUAL_C) * longer
        for clad, part in ((False, 1.0 - limits.clad_share), (True, limits.clad_share)):
            found.append(
                Hypothesis(
                    kind.name,
                    awg,
                    clad,
                    kind.nvp * LIGHT_M_PER_S,
                    nvp_u,
                    kind.impedance_ohm,
                    kind.impedance_u,
                    solid * (limits.clad_factor if clad else 1.0),
                    math.hypot(kind.resistance_u, warm_u(limits)),
                    log_weight + math.log(share * part),
                )
            )
    return found

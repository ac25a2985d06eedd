"""What a cable may be before its delay, capacitance and resistance are looked at: kinds by gauge, copper or clad."""

import math
from collections.abc import Sequence

from wiremap.cable.kinds import Kind
from wiremap.cable.limits import Limits
from wiremap.cable.materials import LIGHT_M_PER_S
from wiremap.calibration import Calibration
from wiremap.judge.measurements import KNOWN_CABLE
from wiremap.judge.run.length.posterior import Hypothesis
from wiremap.judge.run.length.shape import MatrixShape, log_likelihood

USUAL_C = 20.0


def hypotheses(
    told: Kind | None, shape: MatrixShape | None, conductors: int, known: Calibration | None, limits: Limits
) -> tuple[Hypothesis, ...]:
    """Return every kind with each of its gauges, of copper and copper-clad, each with its weight.

    told: the kind that somebody named, None = nobody did; then every kind is possible as the shape allows, and so is
    the cable that the tester was calibrated with, and others of its make.
    """
    found: list[Hypothesis] = []
    for kind in (told,) if told is not None else limits.kinds:
        weight = math.log(kind.weight) if told is None else 0.0
        weight += log_likelihood(kind, shape, conductors, limits) if told is None else 0.0
        found += _of_kind(kind, velocity_u(kind, told is not None, limits), weight, limits)
    if told is None and known is not None and known.nvp is not None:
        whole = math.log(sum(math.exp(one.log_weight) for one in found))
        found += [
            _known_cable(known, known.nvp, u, whole + math.log(share), limits)
            for u, share in ((limits.same_reel_u, limits.same_reel_share), (limits.same_make_u, limits.same_make_share))
        ]
    return tuple(found)


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


def _of_kind(kind: Kind, nvp_u: float, log_weight: float, limits: Limits) -> Sequence[Hypothesis]:
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

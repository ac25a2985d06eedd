"""Weaker witnesses of split pairs, for testers that do not measure all conductors against each other.

Each says of the expected pairs alone whether they are twisted together, and has its own shortest length. Four
lengths that should agree cannot see that all four pairs are split; the ratio of two lengths of one pair can.
"""

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING

from msgspec import Struct

from wiremap.cable.limits import Limits
from wiremap.cable.materials import LIGHT_M_PER_S
from wiremap.contact import near_contact
from wiremap.judge.findings import NotChecked
from wiremap.judge.measurements import Pairing, PairingMethod, PairingVerdict
from wiremap.judge.run.capacitance import Groups
from wiremap.judge.run.echo import reflections
from wiremap.judge.run.length.observed import PairValues, bare_cable, delays, pair_capacitances
from wiremap.judge.run.pairing.pairing import Pairs

if TYPE_CHECKING:
    from wiremap.reading.reading import Reading


class _Witness(Struct, frozen=True):
    """What a method says: how far each pair is below (or above) what is sound, and what a split one would be."""

    method: PairingMethod
    sound: float
    split: float
    u: float
    values: Mapping[tuple[str, str], float]
    blind_to_all: bool
    most: PairingVerdict = "confirmed"


def weaker_pairing(reading: "Reading", expected: Pairs, seen: Groups | None, limits: Limits) -> Pairing | NotChecked:
    """Return what the weaker witnesses say of the expected pairs; the one with the largest margin speaks."""
    if len(expected) < 2 or reading.far not in ("tester", "open"):
        return NotChecked("split-pairs", "not-measured")
    capacitance = pair_capacitances(reading, expected, seen, bare_cable(expected, seen, limits), limits)
    echoes = delays(reading, expected, limits)
    length_m = _about_m(capacitance, echoes, limits)
    witnesses: list[_Witness] = []
    short = False
    if seen is not None and len(capacitance) == len(expected):
        screened = seen.kind != "UTP"
        if length_m is not None and length_m >= limits.lengths_m * (2 if screened else 1):
            witnesses.append(_by_lengths(capacitance, seen, limits))
            if len(echoes) == len(expected):
                witnesses.append(_by_ratio(capacitance, echoes, seen, limits))
        else:
            short = True
    launch = _launches(reading, expected, limits)
    if len(launch) == len(expected):
        u = math.hypot(limits.materials.pair.impedance_u, limits.launch_u) / math.sqrt(2)
        witnesses.append(
            _Witness(
                "launch",
                math.log(limits.sound_impedance_ratio),
                math.log(limits.split_impedance_ratio),
                u,
                launch,
                False,
            )
        )
    if len(echoes) == len(expected):
        if length_m is not None and length_m >= limits.echoes_m:
            witnesses.append(_by_echoes(echoes, limits))
        else:
            short = True
    if not witnesses:
        return NotChecked("split-pairs", "too-short" if short else "not-measured")
    said = [_said(witness, expected, limits) for witness in witnesses]
    return _clearest(said)


def _clearest(said: list[Pairing]) -> Pairing:
    """Return what the clearest witness says; one that cannot see all pairs split gives way to one that saw it."""
    confirmed = [one for one in said if one.split and one.verdict == "confirmed"]
    all_split = [one for one in said if one.split and not one.pairs and one.verdict != "cannot tell"]
    return max(confirmed or all_split or said, key=lambda one: one.z)


def _about_m(capacitance: PairValues, echoes: PairValues, limits: Limits) -> float | None:
    """Return about how long the longest expected pair is, metres, taken as a usual cable; None where nothing says."""
    spread = limits.materials.pair
    per_m = (spread.capacitance_low_pf_per_m + spread.capacitance_high_pf_per_m) / 2
    m_per_s = (spread.nvp_low + spread.nvp_high) / 2 * LIGHT_M_PER_S
    found = [one.value * 1e12 / per_m for one in capacitance.values()] + [
        one.value * m_per_s for one in echoes.values()
    ]
    return max(found, default=None)


def _split_capacitance(seen: Groups, limits: Limits) -> float:
    """Return the most that two conductors of different pairs show, over what a pair shows."""
    if seen.kind == "UTP":
        return limits.split_capacitance_unscreened_tied if seen.screen_tied else limits.split_capacitance_unscreened
    return limits.split_capacitance_screened_tied if seen.screen_tied else limits.split_capacitance_screened


def _by_lengths(found: PairValues, seen: Groups, limits: Limits) -> _Witness:
    most = max(found.values(), key=lambda one: one.value)
    u = math.hypot(most.own_u * math.sqrt(2), limits.offset_u_pf * 1e-12 / most.value)
    values = {pair: -math.log(one.value / most.value) for pair, one in found.items()}
    split = -math.log(_split_capacitance(seen, limits))
    return _Witness("lengths", 0.0, split, u, values, True)


def _by_echoes(found: PairValues, limits: Limits) -> _Witness:
    latest = max(one.value for one in found.values())
    u = limits.materials.pair.largest_delay_u * math.sqrt(2)
    values = {pair: -math.log(one.value / latest) for pair, one in found.items()}
    return _Witness("echoes", 0.0, -math.log(limits.split_time_ratio), u, values, True, most="likely")


def _by_ratio(
    capacitance: PairValues,
    echoes: PairValues,
    seen: Groups,
    limits: Limits,
) -> _Witness:
    usual_ohm = limits.materials.pair.impedance_ohm
    values = {pair: math.log(echoes[pair].value / one.value / usual_ohm) for pair, one in capacitance.items()}
    u = max(
        math.hypot(one.own_u, one.shared_u, echoes[pair].own_u, echoes[pair].shared_u, limits.impedance_spread_u)
        for pair, one in capacitance.items()
    )
    most = limits.split_ratio_unscreened if seen.kind == "UTP" else limits.split_ratio_screened
    return _Witness("ratio", 0.0, -math.log(most), u, values, False)


def _launches(reading: "Reading", expected: Pairs, limits: Limits) -> dict[tuple[str, str], float]:
    """Return how far each pair's launch impedance is above the nominal one; pairs that end too early left out."""
    pair_spread = limits.materials.pair
    found = {}
    for pair in expected:
        for trace in reading.traces:
            if {trace.a, trace.b} == set(map(near_contact, pair)):
                shown = reflections(trace, limits)
                ends_m = None
                if shown.steps:
                    ends_m = shown.steps[0].time_ps * 0.5e-12 * pair_spread.nvp_high * LIGHT_M_PER_S
                if shown.launch_ohm is not None and (ends_m is None or ends_m >= limits.launch_m):
                    found[pair] = math.log(shown.launch_ohm / pair_spread.impedance_ohm)
    return found


def _said(witness: _Witness, expected: Pairs, limits: Limits) -> Pairing:
    """Weigh each pair: is it split, is it sound, or between; one split pair alone is none, it takes two."""
    middle = (witness.sound + witness.split) / 2
    split = tuple(pair for pair in expected if witness.values[pair] > middle)
    if len(split) == 1 or (witness.blind_to_all and len(split) == len(expected)):
        split = ()
    surely_split = [(witness.values[pair] - witness.sound) / witness.u for pair in split]
    surely_sound = [(witness.split - witness.values[pair]) / witness.u for pair in expected if pair not in split]
    z = min(surely_split) if split else min(surely_sound)
    verdict: PairingVerdict = "cannot tell"
    if z >= limits.pairing_confirmed and witness.most == "confirmed" and (split or not witness.blind_to_all):
        verdict = "confirmed"
    elif z >= limits.pairing_likely:
        verdict = "likely"
    pairs = tuple(pair for pair in expected if pair not in split)
    return Pairing(pairs, max(z, 0.0), verdict, witness.method, split, z if split else 0.0)

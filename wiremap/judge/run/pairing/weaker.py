"""Weaker witnesses of split pairs, for testers that do not measure all conductors against each other.

Each says of the expected pairs alone whether they are twisted together, and has its own shortest length. Four
lengths that should agree cannot see that all four pairs are split; the ratio of two lengths of one pair can.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from wiremap.cable.limits import Limits
from wiremap.contact import near_contact
from wiremap.judge.findings import NotChecked
from wiremap.judge.measurements import Length, Pairing, PairingMethod, PairingVerdict
from wiremap.judge.run.capacitance import Groups
from wiremap.judge.run.echo import reflections
from wiremap.judge.run.length.budget import standard_uncertainty
from wiremap.judge.run.length.methods import by_capacitance, by_echo, echo_length_m, pair_arrival
from wiremap.judge.run.pairing.pairing import Pairs

if TYPE_CHECKING:
    from wiremap.reading.reading import Reading


@dataclass(frozen=True, slots=True)
class _Witness:
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
    capacitance = (
        {} if seen is None else _lengths(expected, lambda pair: by_capacitance(seen, pair, reading.calibration, limits))
    )
    echoes = _lengths(expected, lambda pair: _echo(reading, pair, limits))
    length_m = max((one.length_m for one in (*capacitance.values(), *echoes.values())), default=None)
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


def _lengths(expected: Pairs, measure: Callable[[tuple[str, str]], Length | None]) -> dict[tuple[str, str], Length]:
    found = {pair: measure(pair) for pair in expected}
    return {pair: one for pair, one in found.items() if one is not None}


def _echo(reading: "Reading", pair: tuple[str, str], limits: Limits) -> Length | None:
    came = pair_arrival(reading, pair, limits)
    return None if came is None or came[0].polarity < 0 else by_echo(*came, pair, reading.calibration, limits)


def _split_capacitance(seen: Groups, limits: Limits) -> float:
    """Return the most that two conductors of different pairs show, over what a pair shows."""
    if seen.kind == "UTP":
        return limits.split_capacitance_unscreened_tied if seen.screen_tied else limits.split_capacitance_unscreened
    return limits.split_capacitance_screened_tied if seen.screen_tied else limits.split_capacitance_screened


def _by_lengths(found: Mapping[tuple[str, str], Length], seen: Groups, limits: Limits) -> _Witness:
    longest = max(found.values(), key=lambda one: one.length_m)
    offset = next(term.u_rel for term in longest.terms if term.name == "offset")
    u = math.hypot(limits.materials.pair.capacitance_u * math.sqrt(2), offset)
    values = {pair: -math.log(one.length_m / longest.length_m) for pair, one in found.items()}
    split = -math.log(_split_capacitance(seen, limits))
    return _Witness("lengths", 0.0, split, u, values, True)


def _by_echoes(found: Mapping[tuple[str, str], Length], limits: Limits) -> _Witness:
    longest = max(one.length_m for one in found.values())
    u = limits.materials.pair.largest_delay_u * math.sqrt(2)
    values = {pair: -math.log(one.length_m / longest) for pair, one in found.items()}
    return _Witness("echoes", 0.0, -math.log(limits.split_time_ratio), u, values, True, most="likely")


def _by_ratio(
    capacitance: Mapping[tuple[str, str], Length],
    echoes: Mapping[tuple[str, str], Length],
    seen: Groups,
    limits: Limits,
) -> _Witness:
    values = {pair: -math.log(one.length_m / echoes[pair].length_m) for pair, one in capacitance.items()}
    u = max(
        math.hypot(standard_uncertainty(one.terms), standard_uncertainty(echoes[pair].terms))
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
                    ends_m = echo_length_m(shown.steps[0].time_ps, True, pair_spread.nvp_high, limits)
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

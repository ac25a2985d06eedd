"""From readings to what is known of a tester: its zero with empty sockets, its scale with a cable of known length."""

import math
from typing import TYPE_CHECKING

import numpy as np
from msgspec.structs import replace

from wiremap.cable.limits import Limits
from wiremap.cable.materials import LIGHT_M_PER_S
from wiremap.cable.patterns import Pattern
from wiremap.calibration import Calibration
from wiremap.errors import UsageError
from wiremap.judge.run.capacitance import groups
from wiremap.judge.run.examined import measured, whole_pairs
from wiremap.judge.run.length.estimate import estimate_run
from wiremap.judge.wiring.laid_reading import lay_reading

if TYPE_CHECKING:
    from wiremap.reading.parts import Tester
    from wiremap.reading.reading import Reading

MOST_EMPTY_PF = 100.0  # more than this between contacts of empty sockets is a cable
SHORTEST_M = 0.3
MOST_RESISTANCE_U = 0.1  # a short cable's resistance says less of its gauge than the usual gauge does
GAIN_LEFT_U = 0.002  # what is left of the gain's uncertainty once it is part of the calibrated capacitance per metre


def zero_of(reading: "Reading", known: Calibration | None = None) -> Calibration:
    """Return the calibration that empty sockets give; what is known by length is kept. UsageError: not empty."""
    tester, made_utc = _who(reading)
    seen = reading.capacitance
    if seen is None or seen.two_terminal_pf is None:
        raise UsageError(
            "this tester measures no capacitance", "There is nothing in it to calibrate with empty sockets."
        )
    ends = [value for row in reading.resistance_ohm for value in row if value not in (0.0, "open", None)]
    shown = np.array([[math.nan if value is None else value for value in row] for row in seen.two_terminal_pf])
    largest = float(np.nanmax(shown)) if np.isfinite(shown).any() else math.nan
    if ends or not largest < MOST_EMPTY_PF:
        what = f"contacts are joined ({len(ends) // 2} pairs of them)" if ends else f"contacts show {largest:.0f} pF"
        raise UsageError(f"the sockets are not empty: {what}", "Unplug both ends of the cable and calibrate again.")
    upper = shown[np.triu_indices(len(shown), 1)]
    pin_pf = float(np.median(upper[np.isfinite(upper)]))
    base = known or Calibration(tester.serial, made_utc)
    return replace(
        base,
        tester_serial=tester.serial,
        made_utc=made_utc,
        open_pf=seen.two_terminal_pf,
        open_single_pf=seen.single_pf,
        open_double_pf=seen.double_pf,
        open_u_pf=(seen.sd_pf or base.open_u_pf) / math.sqrt(seen.repeats),
        pin_pf=pin_pf,
    )


def scale_of(
    reading: "Reading", pattern: Pattern, length_m: float, length_u_m: float, known: Calibration | None, limits: Limits
) -> Calibration:
    """Return the calibration that a sound cable of known length gives, both its plugs in the tester.

    length_m, length_u_m: of the cable, with its standard uncertainty. UsageError when the cable is not sound.
    """
    tester, made_utc = _who(reading)
    if not length_m >= SHORTEST_M or not 0 < length_u_m < length_m / 4:
        raise UsageError(
            f"a length of {length_m:g} +- {length_u_m:g} m cannot calibrate",
            f"Use a cable of {SHORTEST_M:g} m or more, measured to a few centimetres.",
        )
    base = known or Calibration(tester.serial, made_utc)
    plain = replace(base, nvp=None, capacitance_pf_per_m=None, ohm_per_m=None)
    laid = lay_reading(replace(reading, calibration=plain), pattern, limits)
    seen = measured(laid, ())
    shown = groups(laid)
    whole = whole_pairs(laid, seen.pairs, shown)
    split = seen.pairs is not None and bool(seen.pairs.split)
    if split or len(whole) < len(pattern.conductors) // 2:
        wrong = "pairs are split" if split else f"{len(whole)} of {len(pattern.conductors) // 2} pairs are whole"
        raise UsageError(
            f"the cable is not sound: {wrong}",
            "Calibrate with a cable that passes every check; one of two pairs can teach a kind of its own: "
            "--kind OWN-NAME --like industrial-2x2.",
        )
    found = {one.quantity: one for one in estimate_run(laid, whole, shown).seen}
    share = length_u_m / length_m
    if not found:
        raise UsageError("neither echo nor capacitance was measured", "A known length tells this tester nothing.")
    capacitance = reading.capacitance
    result = replace(
        base,
        tester_serial=tester.serial,
        made_utc=made_utc,
        known_length_m=length_m,
        cord_pf=capacitance.two_terminal_pf if capacitance else None,
        cord_single_pf=capacitance.single_pf if capacitance else None,
        cord_double_pf=capacitance.double_pf if capacitance else None,
    )
    if "delay" in found:
        nvp = length_m / found["delay"].value / LIGHT_M_PER_S
        result = replace(result, nvp=nvp, nvp_u=nvp * math.hypot(share, found["delay"].u_rel))
    if "capacitance" in found:
        per_m = found["capacitance"].value * 1e12 / length_m
        u = per_m * math.hypot(share, found["capacitance"].u_rel)
        result = replace(result, capacitance_pf_per_m=per_m, capacitance_u_pf_per_m=u, capacitance_scale_u=GAIN_LEFT_U)
    if "resistance" in found:
        ohm_per_m = found["resistance"].value / length_m
        u = ohm_per_m * math.hypot(share, found["resistance"].u_rel)
        if u < ohm_per_m * MOST_RESISTANCE_U:
            result = replace(result, ohm_per_m=ohm_per_m, ohm_u_per_m=u)
    return result


def without_length(known: Calibration) -> Calibration:
    """Return a calibration without what a cable of known length gave."""
    fresh = Calibration(known.tester_serial, known.made_utc)
    return replace(
        known,
        capacitance_scale_u=fresh.capacitance_scale_u,
        nvp=None,
        nvp_u=None,
        capacitance_pf_per_m=None,
        capacitance_u_pf_per_m=None,
        ohm_per_m=None,
        ohm_u_per_m=None,
        known_length_m=None,
        cord_pf=None,
        cord_single_pf=None,
        cord_double_pf=None,
    )


def _who(reading: "Reading") -> "tuple[Tester, str]":
    if reading.tester is None or reading.taken_utc is None:
        raise UsageError("the reading does not say which tester made it", "Calibrate with the tester connected.")
    return reading.tester, reading.taken_utc

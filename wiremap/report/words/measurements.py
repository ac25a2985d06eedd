"""Pairs, lengths, kinds of cable and calibrations in sentences and lines."""

import math
from collections.abc import Sequence

from wiremap.cable.kinds import Kind
from wiremap.calibration import Calibration
from wiremap.judge.measurements import KNOWN_CABLE, KindSeen, Length, Pairing
from wiremap.judge.verdict import Diagnosis

METHOD_WORDS = {
    "direct": "capacitance, by grounded groups",
    "two_terminal": "capacitance between contacts",
    "reference": "capacitance, against a good cord of the same kind",
    "lengths": "four lengths by capacitance",
    "launch": "launch impedance",
    "ratio": "length by capacitance over length by echo",
    "echoes": "four lengths by echo",
}
IF_DRY = "if dry; a wet tenth adds up to 13 %"  # what no echo has told: a tenth that is flooded has 2.3 times its pF
MOST_LIKE = 2  # kinds that are named
SPECIAL_KINDS = {KNOWN_CABLE: "the cable it was calibrated with", "wet": "a wet cable"}


def run_sentence(found: Diagnosis) -> str:
    """Return length, kind and pairs of a cable in a sentence or three, "" where neither length nor pairs are known.

    A pair that is only what the others leave over was not seen, and is not named; nor is one that is split in part.
    """
    said, lengths, pairs = [], found.lengths, found.pairs
    cable = cable_length(lengths)
    if cable is not None:
        dry = "" if any(one.method == "echo" and one.pair is None for one in lengths) else f" {IF_DRY}"
        said.append(" ".join(filter(None, (f"Length {length_words(cable)}{dry}.", kind_sentence(found.kind)))))
    split = {contact for one in found.findings if one.fault == "split-section" for contact in one.near}
    seen = () if pairs is None else tuple(pair for pair in pairs.pairs if pair not in pairs.by_exclusion)
    seen = tuple(pair for pair in seen if not split & {*pair})
    if pairs is not None and pairs.verdict != "cannot tell" and seen:
        names = " ".join("-".join(pair) for pair in seen)
        said.append(f"Pairs {names} {pairs.verdict}, as the whole run shows them; {' '.join(hidden_lines(pairs))}.")
    return " ".join(said)


def hidden_lines(found: Pairing) -> tuple[str, ...]:
    """Return which split section can have escaped, in short lines; with its metres where they are known."""
    if found.hidden_m is None:
        return "a short split section", "in a long good run can hide"
    return "a split section under", f"{math.ceil(10 * found.hidden_m) / 10:.1f} m can hide"


def pairing_words(found: Pairing) -> tuple[str, ...]:
    """Return a pairing in short lines: pairs, how surely, how seen, and how far that reaches."""
    lines = ["-".join(pair) + (" (by exclusion)" if pair in found.by_exclusion else "") for pair in found.pairs]
    lines += [f"{'-'.join(pair)} split" for pair in found.split]
    lines += [
        "",
        f"{found.verdict}: margin {found.z:.0f}" if found.z >= 10 else f"{found.verdict}: margin {found.z:.1f}",
        f"by {METHOD_WORDS[found.method]}",
        "as the whole run shows them;",
        *hidden_lines(found),
    ]
    return tuple(lines)


def length_words(found: Length) -> str:
    """Return a length with its 95 % interval, to the centimetre below ten metres: "17.6 m (16.8 to 18.4)"."""
    digits = 2 if found.length_m < 10 else 1
    return f"{found.length_m:.{digits}f} m ({found.low_m:.{digits}f} to {found.high_m:.{digits}f})"


def cable_length(found: Sequence[Length]) -> Length | None:
    """Return the cable's fused length, None where there is none."""
    return next((one for one in found if one.pair is None and one.method == "fused"), None)


def calibration_lines(found: Calibration) -> tuple[str, ...]:
    """Return what is known of a tester."""
    lines = [f"Tester {found.tester_serial}, calibrated {found.made_utc}"]
    if found.open_pf is not None:
        lines.append(f"Empty sockets: {found.pin_pf:.2f} pF a contact, taken off every reading")
    if found.known_length_m is not None:
        kept = ", kept as the good cord for shorter ones" if found.cord_pf is not None else ""
        lines.append(f"Known cable of {found.known_length_m:g} m{kept}:")
    figures = (
        ("velocity factor", found.nvp, found.nvp_u, 1.0, ""),
        ("capacitance", found.capacitance_pf_per_m, found.capacitance_u_pf_per_m, 1.0, " pF/m"),
        ("one conductor", found.ohm_per_m, found.ohm_u_per_m, 100.0, " ohm/100 m"),
    )
    for name, value, u, by, unit in figures:
        if value is not None and u is not None:
            lines.append(f"  {name} {value * by:.4g} +- {u * by:.2g}{unit}")
    return tuple(lines)


def kind_line(one: Kind) -> str:
    """Return what a kind is, with its velocity as 95 of 100 have it, and whose figures they are where a user's own."""
    spread = 1.96 * one.nvp_u * one.nvp
    whose = f"; by {one.of}" if one.of else ""
    return f"{one.title}, NVP {one.nvp:.2f} +- {spread:.2f}{whose}"


def kind_sentence(seen: KindSeen | None) -> str:
    """Return which kind of cable was told and whose figures it was judged by, or what it is like; "" = nothing says.

    Of what it is like as many are named as fit a line; "others" may be it as well.
    """
    if seen is None:
        return ""
    if seen.told:
        return f"Kind told: {seen.told} (by {seen.of})." if seen.of else f"Kind told: {seen.told}."
    names = [SPECIAL_KINDS.get(name, name) for name in dict.fromkeys(one.name for one in seen.likely)]
    shown = names if len(names) <= MOST_LIKE + 1 else [*names[:MOST_LIKE], "others"]
    like = f"Like {', '.join(shown[:-1])}{' or ' if len(shown) > 1 else ''}{shown[-1]}." if shown else ""
    return " ".join(filter(None, (like, metal_remark(seen))))


def metal_remark(seen: KindSeen) -> str:
    """Return of which metal the conductors may be by their resistance, where it may be either; "" = no remark."""
    if seen.copper_awg is None or seen.clad_awg is None:
        return ""
    return f"Resistance like copper of AWG {seen.copper_awg}, or copper-clad of AWG {seen.clad_awg}."


def taught_lines(one: Kind) -> tuple[str, ...]:
    """Return the figures of a kind that was taught, each with its standard uncertainty, and how to use it."""
    lines = [f"{one.name}: {one.title}, by {one.of}"]
    figures = (
        ("velocity factor", one.nvp, one.nvp_u, ""),
        ("impedance", one.impedance_ohm, one.impedance_u, " ohm"),
        ("one conductor at 20 C", one.ohm_per_100m or 0.0, one.resistance_u, " ohm/100 m"),
    )
    lines += [f"  {name} {value:.4g} +- {value * u:.2g}{unit}" for name, value, u, unit in figures]
    return (*lines, f"Say --kind {one.name} when you test a cable like it.")

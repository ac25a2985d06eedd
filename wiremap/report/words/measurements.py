"""Pairs, lengths and calibrations in sentences and lines."""

from collections.abc import Sequence

from wiremap.calibration import Calibration
from wiremap.judge.measurements import Length, Pairing

METHOD_WORDS = {
    "direct": "capacitance, by grounded groups",
    "two_terminal": "capacitance between contacts",
    "reference": "capacitance, against a good cord of the same kind",
    "lengths": "four lengths by capacitance",
    "launch": "launch impedance",
    "ratio": "length by capacitance over length by echo",
    "echoes": "four lengths by echo",
}
WHOLE_RUN_LINES = ("a short split section", "in a long good run can hide")
WHOLE_RUN = " ".join(WHOLE_RUN_LINES)


def run_sentence(pairs: Pairing | None, lengths: Sequence[Length]) -> str:
    """Return length and pairs of a cable in a sentence or two, "" where neither is known.

    A pair that is only what the others leave over was not seen, and is not named.
    """
    said = []
    cable = cable_length(lengths)
    if cable is not None:
        said.append(f"Length {length_words(cable)}.")
    seen = () if pairs is None else tuple(pair for pair in pairs.pairs if pair not in pairs.by_exclusion)
    if pairs is not None and pairs.verdict != "cannot tell" and seen:
        names = " ".join("-".join(pair) for pair in seen)
        said.append(f"Pairs {names} {pairs.verdict}, as the whole run shows them; {WHOLE_RUN}.")
    return " ".join(said)


def pairing_words(found: Pairing) -> tuple[str, ...]:
    """Return a pairing in short lines: pairs, how surely, how seen, and how far that reaches."""
    lines = ["-".join(pair) + (" (by exclusion)" if pair in found.by_exclusion else "") for pair in found.pairs]
    lines += [f"{'-'.join(pair)} split" for pair in found.split]
    lines += [
        "",
        f"{found.verdict}: margin {found.z:.0f}" if found.z >= 10 else f"{found.verdict}: margin {found.z:.1f}",
        f"by {METHOD_WORDS[found.method]}",
        "as the whole run shows them;",
        *WHOLE_RUN_LINES,
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

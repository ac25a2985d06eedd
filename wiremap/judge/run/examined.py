"""A reading examined for pairs and length: what continuity cannot see, and where what it sees lies."""

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from wiremap.cable.limits import Limits
from wiremap.cable.patterns import Pattern
from wiremap.judge.findings import MISPLACED, Fault, Finding, NotChecked
from wiremap.judge.measurements import Length, Measured, Pairing, nothing_measured
from wiremap.judge.run.breaks.by_echo import breaks_by_echo, early_pairs, echo_ends_m
from wiremap.judge.run.breaks.located import broken_at_near_end, located
from wiremap.judge.run.capacitance import Groups, cord_groups, groups
from wiremap.judge.run.length.budget import fuse, standard_uncertainty
from wiremap.judge.run.length.methods import capacitance_terms, disagreement, lengths, resistance_terms
from wiremap.judge.run.pairing.pairing import Pairs, end_of, expected_pairs, pairing_of, split_findings
from wiremap.judge.run.pairing.weaker import weaker_pairing
from wiremap.judge.wiring.laid_reading import LaidReading
from wiremap.reading.joined import is_joined

if TYPE_CHECKING:
    from wiremap.reading.reading import Reading

POOR: tuple[Fault, ...] = ("high-resistance", "resistance-unbalance", "contact-film")
STOPS: tuple[Fault, ...] = ("foreign-voltage", "equipment-attached", "leakage")


def measured(laid: LaidReading, findings: Sequence[Finding]) -> Measured:
    """Return pairs and lengths of a cable judged against a pattern, findings so far completed, and new ones."""
    reading, pattern, limits = laid.reading, laid.layout.pattern, laid.limits
    stops = [finding.fault for finding in findings if finding.fault in STOPS]
    if any(fault != "leakage" for fault in stops):
        return nothing_measured(findings, "faults")
    plugged = reading.far not in ("tester", "open")
    leaking = "leakage" in stops or laid.conducts
    seen = None if leaking or plugged else groups(laid)
    pairs = _pairing(laid, seen, leaking)
    not_checked = [pairs] if isinstance(pairs, NotChecked) else []
    if leaking and reading.capacitance is not None:
        not_checked.append(NotChecked("capacitance", "leakage"))
    known = pairs if isinstance(pairs, Pairing) else None
    if known is not None and known.verdict == "cannot tell":
        not_checked.append(NotChecked("split-pairs", "resolution"))

    whole = whole_pairs(laid, known, seen)
    poor = {contact for one in findings if one.fault in POOR for contact in one.near}
    found = lengths(laid, whole, seen, poor)
    cable = found[-1] if found else None
    if cable is None:
        not_checked.append(NotChecked("length", "leakage" if leaking else "faults" if not whole else "not-measured"))
    completed = located(findings, laid, seen, known, cable, expected_pairs(pattern))
    new: list[Finding] = []
    if seen is not None and known is not None:
        completed = tuple(
            replace(one, end=one.end or end_of(one, known, seen, pattern)) if one.fault in MISPLACED else one
            for one in completed
        )
        new += split_findings(known, seen, pattern, reading.far == "tester")
    if seen is not None and known is not None and reading.far == "open":
        new += broken_at_near_end(seen, known, cable, limits)
    elif seen is None and reading.far == "open":
        new += breaks_by_echo(reading, expected_pairs(pattern), cable, limits)
    new += _of_the_run(pattern, found, reading, limits)
    return Measured(known, found, (*completed, *new), tuple(not_checked))


def _pairing(laid: LaidReading, seen: Groups | None, leaking: bool) -> Pairing | NotChecked:
    reading, pattern, limits = laid.reading, laid.layout.pattern, laid.limits
    if leaking:
        return NotChecked("split-pairs", "leakage")
    if reading.far not in ("tester", "open"):
        return NotChecked("split-pairs", "far-end-plugged")
    if seen is not None and any(near and far and len(near) != len(far) for near, far in _shorts(seen)):
        return NotChecked("split-pairs", "faults")
    strong: Pairing | NotChecked = NotChecked("split-pairs", "not-measured")
    if seen is not None:
        strong = pairing_of(seen, pattern, limits, cord_groups(laid))
    if isinstance(strong, Pairing) and strong.verdict != "cannot tell":
        return strong
    weak = weaker_pairing(reading, expected_pairs(pattern), seen, limits)
    if isinstance(weak, Pairing) and (weak.verdict != "cannot tell" or isinstance(strong, NotChecked)):
        return weak
    if isinstance(strong, NotChecked) and strong.why == "not-measured":
        return weak
    return strong


def _shorts(seen: Groups) -> list[tuple[tuple[str, ...], tuple[str, ...]]]:
    """Return the groups in which more than one conductor hangs together, near and far contacts."""
    return [(near, far) for near, far in zip(seen.near, seen.far, strict=True) if max(len(near), len(far)) > 1]


def whole_pairs(
    laid: LaidReading, pairs: Pairing | None, seen: Groups | None
) -> list[tuple[tuple[str, str], tuple[str, str] | None]]:
    """Return the twisted pairs both of whose conductors are whole, with the far contacts they arrive at.

    Where pairs were not seen, the expected ones are taken.
    """
    reading, limits = laid.reading, laid.limits
    twisted: Pairs = expected_pairs(laid.layout.pattern)
    if pairs is not None and pairs.verdict != "cannot tell":
        twisted = tuple(pair for pair in pairs.pairs if pair not in pairs.by_exclusion)
    arrives = _arrivals(laid)
    found: list[tuple[tuple[str, str], tuple[str, str] | None]] = []
    for pair in twisted:
        if reading.far == "tester":
            far = [arrives.get(contact) for contact in pair]
            if far[0] is not None and far[1] is not None:
                found.append((pair, (far[0], far[1])))
        elif seen is None or all(_alone(contact, seen) for contact in pair):
            found.append((pair, None))
    if reading.far == "tester":
        return found
    if seen is None:
        early = early_pairs(echo_ends_m(reading, [pair for pair, _ in found], limits), limits)
        return [one for one in found if one[0] not in early]
    return _as_long_as_the_others(found, seen, limits)


def _alone(contact: str, seen: Groups) -> bool:
    row = seen.of_near(contact)
    return row is not None and seen.near[row] == (contact,)


def _as_long_as_the_others(
    found: list[tuple[tuple[str, str], tuple[str, str] | None]], seen: Groups, limits: Limits
) -> list[tuple[tuple[str, str], tuple[str, str] | None]]:
    """Leave out pairs that show less than the others, seen from one end: they end early."""
    values = seen.direct_pf or seen.two_terminal_pf
    if values is None or not found:
        return found
    shown = [values[seen.of_near(pair[0]) or 0][seen.of_near(pair[1]) or 0] for pair, _ in found]
    most = max(shown)
    return [one for one, value in zip(found, shown, strict=True) if value >= limits.broken_share * most]


def _arrivals(laid: LaidReading) -> dict[str, str]:
    """Return the far contact of each near contact that is joined to one far contact and no other contact."""
    layout = laid.layout

    def joined(a: int) -> list[int]:
        most_ohm = laid.limits.high_resistance_ohm
        return [b for b, value in enumerate(laid.ohm[a]) if b != a and is_joined(value, most_ohm)]

    found = {}
    for near in layout.near_places:
        there = joined(near)
        if len(there) == 1 and there[0] in layout.far_places and joined(there[0]) == [near]:
            found[layout.names[near]] = layout.names[there[0]]
    return found


def _of_the_run(pattern: Pattern, found: Sequence[Length], reading: "Reading", limits: Limits) -> list[Finding]:
    """Return what the lengths say of the cable as a whole: too long, wet or another kind, thin or clad conductors."""
    cable = {one.method: one for one in found if one.pair is None}
    fused, echo, capacitance = (cable.get(method) for method in ("fused", "echo", "capacitance"))
    new: list[Finding] = []
    if fused is not None and pattern.use == "ethernet" and fused.length_m > limits.longest_m:
        sure = fused.low_m > limits.longest_m
        finding = Finding(
            "too-long",
            value=round(fused.length_m, 2),
            limit=limits.longest_m,
            unit="m",
            u_m=round(fused.u_m, 2),
            detail="channel",
        )
        new.append(finding if sure else replace(finding, certainty="likely"))
    agree = True
    if echo is not None and capacitance is not None and disagreement(echo, capacitance) > limits.disagreement:
        agree = False
        largest = limits.materials.pair.largest_capacitance_pf_per_m
        per_m = capacitance.length_m / echo.length_m * capacitance_terms(reading.calibration, limits)[0]
        finding = Finding("wet-or-wrong-cable", value=round(per_m, 1), limit=largest, unit="pF/m")
        new.append(finding if per_m > largest else replace(finding, certainty="likely"))
    rulers = [one for one in (echo, capacitance if agree else None) if one is not None]
    if rulers and "resistance" in cable:
        new += _metal(cable["resistance"], fuse(rulers), reading, limits)
    return new


def _metal(loop: Length, ruler: Length, reading: "Reading", limits: Limits) -> list[Finding]:
    """Return that the conductors have too much resistance for their length: thin, or copper-clad aluminium."""
    wires = limits.materials.conductors
    per_m = loop.length_m / ruler.length_m * resistance_terms(reading.calibration, limits)[0]
    of_gauge = ("resistance per metre", "resistance per metre, calibrated")
    u = math.hypot(
        standard_uncertainty([term for term in loop.terms if term.name not in of_gauge]), ruler.u_m / ruler.length_m
    )
    if per_m * (1 - limits.disagreement * u) <= wires.largest_ohm_per_m:
        return []
    sure = per_m * (1 - limits.disagreement * u) > wires.largest_patch_ohm_per_m
    return [
        Finding(
            "conductor-metal",
            certainty="confirmed" if sure else "likely",
            value=round(100 * per_m, 2),
            limit=round(100 * (wires.largest_patch_ohm_per_m if sure else wires.largest_ohm_per_m), 2),
            unit="ohm/100 m",
        )
    ]

"""Faults that have a number: resistance, leakage, films, foreign voltage; and equipment that was left attached."""

from collections.abc import Sequence
from itertools import combinations
from math import hypot, inf, sqrt
from typing import TYPE_CHECKING

from wiremap.cable.limits import Limits
from wiremap.contact import ENDS, Contact
from wiremap.judge.findings import MEANWHILE, Fault, Finding, NotChecked
from wiremap.judge.wiring.cells import Cell, joints
from wiremap.judge.wiring.continuity import Wiring
from wiremap.judge.wiring.laid_reading import LaidReading, in_order
from wiremap.judge.wiring.layout import Layout
from wiremap.reading.joined import is_joined, nets

if TYPE_CHECKING:
    from wiremap.reading.parts import Event
    from wiremap.reading.reading import Ohm, Reading

UNBALANCE = "(Rmax - Rmin) / (Rmax + Rmin)"
ConductorOhms = dict[tuple[int, int], float]


def conductor_ohms(laid: LaidReading, seen: Wiring) -> ConductorOhms:
    """Return the ohms of each conductor that arrives, (near, far), where ohms are known."""
    found = {}
    for near, far in seen.arrives.items():
        value = laid.rows[near][far]
        if isinstance(value, int | float):
            found[near, far] = float(value)
    return found


def _uncertainty_ohm(step_ohm: float) -> float:
    """Return the standard uncertainty of a value read in steps: step / sqrt(12) (JCGM 100, 4.3.7)."""
    return step_ohm / sqrt(12)


def _one(fault: Fault, layout: Layout, conductor: tuple[int, int], value: float, limit: float) -> Finding:
    return Finding(fault, layout.near(conductor), layout.far(conductor), value=value, limit=limit, unit="ohm")


def resistance_limit_ohm(conductors: ConductorOhms, limits: Limits, step_ohm: float) -> float:
    """Return what a conductor of this cable may have: well above the median of its own is too much.

    step_ohm: the tester's resolution.
    """
    usual = sorted(ohm for ohm in conductors.values() if is_joined(ohm, limits.joined_ohm))
    if not usual:
        return limits.joined_ohm
    half = len(usual) // 2
    middle = (usual[half] + usual[~half]) / 2
    noise = limits.step_uncertainties * _uncertainty_ohm(step_ohm)
    return min(middle + max(limits.step_ohm, limits.step_ratio * middle, noise), limits.joined_ohm)


def high_resistance(
    conductors: ConductorOhms, seen: Wiring, laid: LaidReading
) -> tuple[list[Finding], list[NotChecked]]:
    """Return the conductors of too much resistance."""
    limits, step_ohm = laid.limits, laid.step_ohm
    limit = resistance_limit_ohm(conductors, limits, step_ohm)
    found = [
        _one("high-resistance", laid.layout, conductor, ohm, limit)
        for conductor, ohm in sorted(conductors.items())
        if ohm > limit
    ]
    if len(conductors) < len(seen.arrives) or laid.reading.joined_only:
        return found, [NotChecked("resistance", "continuity-only")]
    if limits.step_uncertainties * _uncertainty_ohm(step_ohm) > limits.step_ohm:
        return found, [NotChecked("resistance", "resolution")]
    return found, []


def unbalance(conductors: ConductorOhms, seen: Wiring, laid: LaidReading) -> tuple[list[Finding], list[NotChecked]]:
    """Return pairs whose conductors differ: value and limit are Rmax - Rmin, detail names the definition.

    Only pairs of which both conductors arrive where they should, and neither is of high resistance already.
    """
    layout, limits, step_ohm = laid.layout, laid.limits, laid.step_ohm
    most = resistance_limit_ohm(conductors, limits, step_ohm)
    found = []
    missing: dict[NotChecked, None] = {}
    for pair in layout.pairs:
        route = [(contact, layout.partner[contact]) for contact in pair]
        if any(seen.arrives.get(near) != far for near, far in route):
            continue
        if any(conductor not in conductors for conductor in route):
            missing[NotChecked("resistance-unbalance", "continuity-only")] = None
            continue
        low, high = sorted(conductors[conductor] for conductor in route)
        limit = max(limits.unbalance_ratio * (low + high), limits.unbalance_floor_ohm)
        if limit < limits.unbalance_resolutions * step_ohm:
            missing[NotChecked("resistance-unbalance", "resolution")] = None
        elif high - low > limit and high <= most:
            contacts = [contact for conductor in route for contact in conductor]
            found.append(
                Finding(
                    "resistance-unbalance",
                    layout.near(contacts),
                    layout.far(contacts),
                    value=high - low,
                    limit=limit,
                    unit="ohm",
                    detail=UNBALANCE,
                )
            )
    return found, list(missing)


def contact_film(
    conductors: ConductorOhms, low_level: "Sequence[Sequence[Ohm]]", laid: LaidReading
) -> tuple[list[Finding], list[NotChecked]]:
    """Return conductors whose resistance falls when the test current rises.

    conductors: ohms at full current. low_level: the reading's matrix at 20 mV or less. Open there and joined at
    full current is a film too; value is then None. Both readings have their steps; where the tester says how far
    its low level scatters, a fall counts from film_sigmas such deviations on.
    """
    layout, limits = laid.layout, laid.limits
    rows = in_order(low_level, layout.order)
    steps = limits.step_uncertainties * sqrt(2) * _uncertainty_ohm(laid.step_ohm)
    noise = hypot(steps, limits.film_sigmas * laid.low_level_sd_ohm)
    found = []
    missing: list[NotChecked] = []
    for (near, far), ohm in sorted(conductors.items()):
        low = rows[near][far]
        limit = ohm + max(limits.film_ohm, limits.step_ratio * ohm, noise)
        if low == "open":
            found.append(Finding("contact-film", layout.near((near, far)), layout.far((near, far))))
        elif isinstance(low, int | float) and low > limit:
            found.append(_one("contact-film", layout, (near, far), float(low), limit))
        elif low is None:
            missing = [NotChecked("contact-film", "not-measured")]
    return found, missing


def leakage(laid: LaidReading) -> list[Finding]:
    """Return one finding for all contacts that leak into each other, with the lowest resistance between their nets."""
    ohm, net, layout = laid.ohm, laid.net, laid.layout
    leaks = [(a, b) for (a, b), cell in laid.wire_cells.items() if cell == Cell.LEAKAGE and net[a] != net[b]]
    together = nets(len(ohm), [*joints(laid.wire_cells), *leaks])
    lowest: dict[int, float] = {}
    for a, b in leaks:
        lowest[together[a]] = min(ohm[a][b], lowest.get(together[a], inf))
    result = []
    for group, value in sorted(lowest.items()):
        inside = [contact for contact, label in enumerate(together) if label == group]
        near, far = layout.near(inside), layout.far(inside)
        result.append(Finding("leakage", near, far, value=value, limit=laid.limits.leakage_ohm, unit="ohm"))
    return result


def foreign_voltage(reading: "Reading", limits: Limits) -> list[Finding]:
    """Return what was there before the tester drove anything; without a value where the tester has no converter.

    A source that looks for a device and a live port are named however small; a cell, which collapses under load,
    is leakage. What is beyond the tester's range has a low end, and no high one.
    """
    found = []
    highest_mv = reading.tester.highest_mv if reading.tester else None
    for voltage in reading.foreign:
        name = voltage.contact.name
        near, far = ((name,), ()) if voltage.contact.end == "near" else ((), (name,))
        volts = voltage.millivolts / 1000
        if voltage.kind == "cell":
            found.append(Finding("leakage", near, far, value=volts, unit="V", detail="cell"))
        elif voltage.kind in ("probing", "link") or abs(volts) > limits.foreign_voltage_v:
            found.append(
                Finding(
                    "foreign-voltage",
                    near,
                    far,
                    value=None if reading.joined_only else volts,
                    low=abs(volts) if highest_mv is not None and abs(voltage.millivolts) >= highest_mv else None,
                    limit=limits.foreign_voltage_v,
                    unit="V",
                    detail=voltage.kind,
                )
            )
    return found


def equipment_attached(laid: LaidReading) -> list[Finding]:
    """Return a finding when an end shows transformer windings: pairs that are low loops, and nothing low between.

    Two expected pairs or more must be loops; between contacts of different pairs
    the resistance is high, or that of two resistors; and nothing arrives at the other end.
    """
    ohm, layout, limits = laid.ohm, laid.layout, laid.limits
    far_pairs = [(layout.partner[plus], layout.partner[minus]) for plus, minus in layout.pairs]
    through = [value for row in ohm[: layout.near_count] for value in row[layout.near_count :]]
    arrives = any(is_joined(value, limits.joined_ohm) for value in through)
    if len(layout.pairs) < 2 or arrives:
        return []
    for pairs in (layout.pairs, far_pairs):
        loops = [(a, b) for a, b in pairs if is_joined(ohm[a][b], limits.equipment_loop_ohm)]
        between = [ohm[a][b] for one, other in combinations(pairs, 2) for a in one for b in other]
        if len(loops) >= 2 and all(value >= limits.equipment_between_ohm for value in between):
            contacts = {contact for pair in loops for contact in pair}
            return [Finding("equipment-attached", layout.near(contacts), layout.far(contacts))]
    return []


def joined_at_low_level(laid: LaidReading) -> list[tuple[str, str]]:
    """Return the conductors, near and far contact, that are open at full current and joined at 20 mV, measured after.

    No film does that, which the greater voltage would break; a contact came back meanwhile.
    """
    layout, limits = laid.layout, laid.limits
    if laid.reading.low_level_ohm is None:
        return []
    low = in_order(laid.reading.low_level_ohm, layout.order)
    return [
        (layout.names[near], layout.names[far])
        for near, far in layout.conductors
        if laid.rows[near][far] == "open" and is_joined(low[near][far], limits.joined_ohm)
    ]


def came_and_went(findings: Sequence[Finding], conductors: Sequence[tuple[str, str]]) -> list[Finding]:
    """Return the findings with these conductors, near and far contact, said to have come and gone in place of open."""
    near, far = ({contacts[end] for contacts in conductors} for end in (0, 1))
    kept = [one for one in findings if one.fault != "open" or not (set(one.near) <= near and set(one.far) <= far)]
    new = [Finding("intermittent", (one,), (other,), detail=MEANWHILE) for one, other in conductors]
    return [*kept, *(one for one in new if one not in kept)]


def intermittent(events: "Sequence[Event]") -> list[Finding]:
    """Return the contacts whose joint came or went while it was watched, one finding for each two contacts."""
    counts: dict[tuple[Contact, Contact], int] = {}
    for event in events:
        counts[event.a, event.b] = counts.get((event.a, event.b), 0) + 1
    found = []
    for contacts, count in counts.items():
        near, far = (tuple(one.name for one in contacts if one.end == end) for end in ENDS)
        found.append(Finding("intermittent", near, far, value=float(count), unit="events"))
    return found

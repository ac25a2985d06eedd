"""A reading examined with a pattern: wiring, faults that continuity and resistance show, what was not checked."""

import math
from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from wiremap.cable.patterns import ScreenRule
from wiremap.judge.findings import Check, Finding, NotChecked, Reason
from wiremap.judge.wiring import electrical
from wiremap.judge.wiring.by_eye import by_colours
from wiremap.judge.wiring.cells import Ohms
from wiremap.judge.wiring.continuity import Wiring, continuity, screen, wiring
from wiremap.judge.wiring.laid_reading import LaidReading, near_end_only
from wiremap.judge.wiring.layout import NONE, Layout
from wiremap.judge.wiring.terminators import Bus, Terminators, counted, wrong_terminators

if TYPE_CHECKING:
    from wiremap.reading.reading import Reading

OF_CONDUCTORS: tuple[Check, ...] = ("continuity", "resistance", "resistance-unbalance", "contact-film")


class Examined(Struct, frozen=True):
    """What continuity and resistance say. wiring: None where nothing can be said of the conductors."""

    wiring: Wiring | None
    findings: tuple[Finding, ...]
    not_checked: tuple[NotChecked, ...]
    terminators: Terminators | None = None


def examine(laid: LaidReading, rule: ScreenRule, terminators: int | None = None) -> Examined:
    """Return what a reading says of the pattern it is laid on; rule: what the screen must do.

    terminators: how many must be on a bus, None = as many as its pattern allows.

    The order of conductors is judged when both plugs are in the tester, or the pattern has one plug. With the far
    end open only what is joined or leaks at the near end is.
    """
    reading, layout = laid.reading, laid.layout
    before = electrical.foreign_voltage(reading, laid.limits)
    refused = _nothing_measured(laid.ohm, range(len(laid.ohm)))
    if refused and reading.far == "equipment" and not before:
        before = [Finding("equipment-attached")]
    elif reading.far in ("tester", "open"):
        before += electrical.equipment_attached(laid)
    events = electrical.intermittent(reading.events)
    foreign = foreign_check(reading)
    stops = any(finding.fault in ("foreign-voltage", "equipment-attached") for finding in before)
    one_plug = layout.pattern.far_connector is None
    unseen_shorts = _unseen_shorts(laid.ohm, layout, one_plug or reading.far == "open")
    if stops or refused or not (one_plug or reading.far in ("tester", "open")):
        why: Reason = "faults" if before else "not-measured"
        checks: tuple[Check, ...] = (*OF_CONDUCTORS, "shorts", "screen")
        not_checked = (*(NotChecked(check, why) for check in checks), *foreign)
        return Examined(None, (*before, *events), not_checked)
    wires = None
    if one_plug or reading.far == "tester":
        wires, findings, missing = _both_ends(laid, rule)
        if reading.origin == "eyes":
            findings = by_colours(findings, reading.twisted, wires, layout)
    else:
        laid = near_end_only(laid)
        findings, missing = _near_end(laid)
    if laid.layout.bus is not None and laid.reading.joined_only:
        findings, hidden = _without_bus_shorts(findings, laid.layout, laid.layout.bus)
        missing += hidden
    ends = _terminators(laid)
    if ends is not None:
        findings += wrong_terminators(ends, layout.bus, layout.names, terminators)
    elif layout.bus is not None:
        missing.append(NotChecked("terminators", "not-measured"))
    if reading.joined_only:
        missing.append(NotChecked("leakage", "continuity-only"))
    not_checked = (*missing, *unseen_shorts, *foreign)
    return Examined(wires, (*before, *findings, *events), not_checked, ends)


def _without_bus_shorts(
    findings: Sequence[Finding], layout: Layout, bus: Bus
) -> tuple[list[Finding], list[NotChecked]]:
    """Return the findings without shorts of a bus's two conductors, which without ohms may be its terminators.

    Where there is one, it is not known either which conductor of the bus arrives where.
    """
    near, far = {*layout.near(bus.near)}, {*layout.far(bus.far)}
    kept = [one for one in findings if one.fault != "short" or not ({*one.near} <= near and {*one.far} <= far)]
    hidden: tuple[Check, ...] = ("continuity", "shorts") if len(kept) < len(findings) else ()
    return kept, [NotChecked(check, "terminated") for check in hidden]


def _terminators(laid: LaidReading) -> Terminators | None:
    """Return the terminators of a bus; None where the pattern is none, or its contacts were not measured in ohms."""
    bus = laid.layout.bus
    if bus is None:
        return None
    far_open = laid.reading.far == "open"
    ends = [laid.rows[a][b] for a, b in ((bus.near,) if far_open else (bus.near, bus.far))]
    if any(value is None or value == "joined" for value in ends):
        return None
    found = counted(laid.ohm, laid.links, bus, laid.layout.near_count, laid.step_ohm)
    return replace(found, near=None, far=None) if far_open else found


def foreign_check(reading: "Reading") -> tuple[NotChecked, ...]:
    """Return that foreign voltages were not looked for, or only those that a pin without a converter sees."""
    lacking = _lacking(reading, "FOREIGN", "foreign-voltage")
    coarse = reading.tester is not None and reading.joined_only and not reading.foreign
    return lacking or ((NotChecked("foreign-voltage", "volts-only"),) if coarse else ())


def _lacking(reading: "Reading", feature: str, check: Check) -> tuple[NotChecked, ...]:
    """Return that a check was not made, and why, unless the tester has the feature for it."""
    if reading.tester is None:
        return (NotChecked(check, "not-measured"),)
    return () if feature in reading.tester.features else (NotChecked(check, "tester-cannot"),)


def _both_ends(laid: LaidReading, rule: ScreenRule) -> tuple[Wiring, list[Finding], list[NotChecked]]:
    layout = laid.layout
    wires = wiring(laid.net, layout)
    unsure = _unsure(laid.ohm, layout)
    findings = list(continuity(wires, layout, unsure))
    missing = [NotChecked("continuity", "not-measured")] if unsure else []
    near_screen, far_screen = layout.screens
    screen_measured = NONE not in layout.screens and not math.isnan(laid.ohm[near_screen][far_screen])
    conductors = electrical.conductor_ohms(laid, wires)
    for found, lacking in (
        screen(wires, layout, rule, screen_measured),
        electrical.high_resistance(conductors, wires, laid),
        electrical.unbalance(conductors, wires, laid),
        electrical.contact_film(conductors, laid.reading.low_level_ohm, laid)
        if laid.reading.low_level_ohm is not None
        else ([], list(_lacking(laid.reading, "LOW", "contact-film"))),
    ):
        findings += found
        missing += lacking
    findings += electrical.leakage(laid)
    return wires, electrical.came_and_went(findings, electrical.joined_at_low_level(laid)), missing


def _near_end(laid: LaidReading) -> tuple[list[Finding], list[NotChecked]]:
    """Return what the near end alone shows: contacts joined there that should not be, and leakage."""
    seen = continuity(wiring(laid.net, laid.layout), laid.layout)
    findings = [finding for finding in seen if finding.fault in ("short", "screen-short")]
    findings += electrical.leakage(laid)
    return findings, [NotChecked(check, "far-end-open") for check in (*OF_CONDUCTORS, "screen")]


def _unsure(ohm: Ohms, layout: Layout) -> set[int]:
    """Return the conductors' contacts of which not every cell that could show an arrival was measured."""
    conductors = [contact for contact in range(len(ohm)) if contact not in layout.screens]
    near = [contact for contact in conductors if contact < layout.near_count]
    other = near if layout.pattern.far_connector is None else [c for c in conductors if c >= layout.near_count]
    return {contact for a in near for b in other if math.isnan(ohm[a][b]) for contact in (a, b)}


def _unseen_shorts(ohm: Ohms, layout: Layout, near_only: bool) -> list[NotChecked]:
    """Return that shorts between contacts of one end were not looked for, where they were not all measured."""
    ends = [range(layout.near_count)]
    if not near_only:
        ends.append(range(layout.near_count, len(ohm)))
    if not any(math.isnan(ohm[a][b]) for end in ends for a in end for b in end):
        return []
    nothing = all(_nothing_measured(ohm, end) for end in ends)
    return [NotChecked("shorts", "near-far-only" if nothing else "not-measured")]


def _nothing_measured(ohm: Ohms, contacts: Collection[int]) -> bool:
    """Whether no two of these contacts were measured against each other."""
    return all(a == b or math.isnan(ohm[a][b]) for a in contacts for b in contacts)

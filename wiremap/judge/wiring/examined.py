"""A reading examined with a pattern: wiring, faults that continuity and resistance show, what was not checked."""

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from wiremap.cable.limits import Limits
from wiremap.cable.patterns import ScreenRule
from wiremap.contact import Contact
from wiremap.judge.findings import Check, Finding, NotChecked, Reason
from wiremap.judge.wiring import electrical
from wiremap.judge.wiring.continuity import NONE, Fit, Wiring, continuity, screen, wiring
from wiremap.judge.wiring.nets import Cells, Ohms, cells, joints, without_resistors
from wiremap.judge.wiring.terminators import Link, Terminators, counted, without_terminators, wrong_terminators
from wiremap.reading.joined import nets, ohms

if TYPE_CHECKING:
    from wiremap.reading.reading import Reading

OF_CONDUCTORS: tuple[Check, ...] = ("continuity", "resistance", "resistance-unbalance", "contact-film")


@dataclass(frozen=True, slots=True)
class Examined:
    """What continuity and resistance say. wiring: None where nothing can be said of the conductors."""

    wiring: Wiring | None
    findings: tuple[Finding, ...]
    not_checked: tuple[NotChecked, ...]
    terminators: Terminators | None = None


@dataclass(frozen=True, slots=True, eq=False)
class _Cells:
    """A reading in the order of Fit: ohm and what it means, and each contact's net."""

    ohm: Ohms
    found: Cells
    labels: list[int]
    links: tuple[Link, ...] = ()


def wirings(reading: "Reading", laid: Sequence[Fit], limits: Limits) -> tuple[Wiring, ...]:
    """Return the wiring that a reading shows with each of several patterns laid on it."""
    return tuple(wiring(_cells(_in_order(reading, one), one, limits).labels, one) for one in laid)


def examine(
    reading: "Reading", laid: Fit, rule: ScreenRule, limits: Limits, terminators: int | None = None
) -> Examined:
    """Return what a reading says with a pattern laid on it; rule: what the screen must do.

    terminators: how many must be on a bus, None = as many as its pattern allows.

    The order of conductors is judged when both plugs are in the tester, or the pattern has one plug. With the far
    end open only what is joined or leaks at the near end is.
    """
    ohm = _in_order(reading, laid)
    before = electrical.foreign_voltage(reading.foreign, limits)
    refused = _nothing_measured(ohm, range(len(ohm)))
    if refused and reading.far == "equipment" and not before:
        before = [Finding("equipment-attached")]
    elif reading.far in ("tester", "open"):
        before += electrical.equipment_attached(ohm, laid, limits)
    events = electrical.intermittent(reading.events)
    foreign_check = _lacking(reading, "FOREIGN", "foreign-voltage")
    stops = any(finding.fault in ("foreign-voltage", "equipment-attached") for finding in before)
    one_plug = laid.pattern.far_connector is None
    unseen_shorts = _unseen_shorts(ohm, laid, one_plug or reading.far == "open")
    if stops or refused or not (one_plug or reading.far in ("tester", "open")):
        why: Reason = "faults" if before else "not-measured"
        checks: tuple[Check, ...] = (*OF_CONDUCTORS, "shorts", "screen")
        not_checked = (*(NotChecked(check, why) for check in checks), *foreign_check)
        return Examined(None, (*before, *events), not_checked)
    if one_plug or reading.far == "tester":
        seen = _cells(ohm, laid, limits)
        wires, findings, missing = _both_ends(reading, seen, laid, rule, limits)
    else:
        near = range(laid.near_count)
        ohm = [
            [value if i in near and j in near else math.inf for j, value in enumerate(row)] for i, row in enumerate(ohm)
        ]
        wires = None
        seen = _cells(ohm, laid, limits)
        findings, missing = _near_end(seen, laid, limits)
    ends = _terminators(reading, seen, laid, limits)
    if ends is not None:
        findings += wrong_terminators(ends, laid.bus, laid.names, terminators)
    elif laid.bus is not None:
        missing.append(NotChecked("terminators", "not-measured"))
    not_checked = (*missing, *unseen_shorts, *foreign_check)
    return Examined(wires, (*before, *findings, *events), not_checked, ends)


def _terminators(reading: "Reading", seen: _Cells, laid: Fit, limits: Limits) -> Terminators | None:
    """Return the terminators of a bus; None where the pattern is none, or its contacts were not measured in ohms."""
    if laid.bus is None:
        return None
    rows = reading.resistance_ohm
    ends = [rows[laid.order[a]][laid.order[b]] for a, b in (laid.bus.near, laid.bus.far)]
    if reading.far == "open":
        ends = ends[:1]
    if any(value is None or value == "joined" for value in ends):
        return None
    step_ohm = electrical.resolution_ohm(reading.tester, limits)
    found = counted(seen.ohm, seen.links, laid.bus, laid.near_count, step_ohm)
    return replace(found, near=None, far=None) if reading.far == "open" else found


def joined_contacts(reading: "Reading", laid: Fit, limits: Limits) -> tuple[frozenset[Contact], ...]:
    """Return the contacts of a reading that are joined, one group a net."""
    labels = _cells(_in_order(reading, laid), laid, limits).labels
    groups: dict[int, set[Contact]] = {}
    for place, label in zip(laid.order, labels, strict=True):
        groups.setdefault(label, set()).add(reading.contacts[place])
    return tuple(map(frozenset, groups.values()))


def _in_order(reading: "Reading", laid: Fit) -> Ohms:
    """Return the ohms of a reading in the order of Fit; NaN = not measured, inf = open."""
    ohm = ohms(reading.resistance_ohm)
    return [[ohm[i][j] for j in laid.order] for i in laid.order]


def _cells(ohm: Ohms, laid: Fit, limits: Limits) -> _Cells:
    found = cells(ohm, laid.partner, limits)
    links: tuple[Link, ...] = ()
    if laid.resistors:
        found = without_resistors(ohm, found, laid.resistors)
    elif laid.bus is not None:
        found, links = without_terminators(ohm, found, laid.partner, laid.bus, laid.near_count, limits)
    return _Cells(ohm, found, nets(len(ohm), joints(found)), links)


def _lacking(reading: "Reading", feature: str, check: Check) -> tuple[NotChecked, ...]:
    """Return that a check was not made, and why, unless the tester has the feature for it."""
    if reading.tester is None:
        return (NotChecked(check, "not-measured"),)
    return () if feature in reading.tester.features else (NotChecked(check, "tester-cannot"),)


def _both_ends(
    reading: "Reading", seen: _Cells, laid: Fit, rule: ScreenRule, limits: Limits
) -> tuple[Wiring, list[Finding], list[NotChecked]]:
    wires = wiring(seen.labels, laid)
    unsure = _unsure(seen.ohm, laid)
    findings = list(continuity(wires, laid, unsure))
    missing = [NotChecked("continuity", "not-measured")] if unsure else []
    near_screen, far_screen = laid.screens
    screen_measured = NONE not in laid.screens and not math.isnan(seen.ohm[near_screen][far_screen])
    step_ohm = electrical.resolution_ohm(reading.tester, limits)
    conductors = electrical.conductor_ohms(reading.resistance_ohm, wires, laid)
    for found, lacking in (
        screen(wires, laid, rule, screen_measured),
        electrical.high_resistance(conductors, wires, laid, limits, step_ohm),
        electrical.unbalance(conductors, wires, laid, limits, step_ohm),
        electrical.contact_film(conductors, reading.low_level_ohm, laid, limits, step_ohm)
        if reading.low_level_ohm is not None
        else ([], list(_lacking(reading, "LOW", "contact-film"))),
    ):
        findings += found
        missing += lacking
    findings += electrical.leakage(seen.ohm, seen.found, laid, limits)
    return wires, findings, missing


def _near_end(seen: _Cells, laid: Fit, limits: Limits) -> tuple[list[Finding], list[NotChecked]]:
    """Return what the near end alone shows: contacts joined there that should not be, and leakage."""
    findings = [
        finding for finding in continuity(wiring(seen.labels, laid), laid) if finding.fault in ("short", "screen-short")
    ]
    findings += electrical.leakage(seen.ohm, seen.found, laid, limits)
    return findings, [NotChecked(check, "far-end-open") for check in (*OF_CONDUCTORS, "screen")]


def _unsure(ohm: Ohms, laid: Fit) -> set[int]:
    """Return the conductors' contacts of which not every cell that could show an arrival was measured."""
    conductors = [contact for contact in range(len(ohm)) if contact not in laid.screens]
    near = [contact for contact in conductors if contact < laid.near_count]
    other = near if laid.pattern.far_connector is None else [c for c in conductors if c >= laid.near_count]
    return {contact for a in near for b in other if math.isnan(ohm[a][b]) for contact in (a, b)}


def _unseen_shorts(ohm: Ohms, laid: Fit, near_only: bool) -> list[NotChecked]:
    """Return that shorts between contacts of one end were not looked for, where they were not all measured."""
    ends = [range(laid.near_count)]
    if not near_only:
        ends.append(range(laid.near_count, len(ohm)))
    if not any(math.isnan(ohm[a][b]) for end in ends for a in end for b in end):
        return []
    nothing = all(_nothing_measured(ohm, end) for end in ends)
    return [NotChecked("shorts", "near-far-only" if nothing else "not-measured")]


def _nothing_measured(ohm: Ohms, contacts: Collection[int]) -> bool:
    """Whether no two of these contacts were measured against each other."""
    return all(a == b or math.isnan(ohm[a][b]) for a in contacts for b in contacts)

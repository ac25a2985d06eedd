"""The cable that services are judged on, from a reading and what was found of it."""

from typing import TYPE_CHECKING

from wiremap.cable.limits import Limits
from wiremap.cable.patterns import Pattern
from wiremap.contact import Contact
from wiremap.judge.findings import Check, Fault
from wiremap.judge.remedy.service import Cable, Net, Reason
from wiremap.judge.verdict import Diagnosis
from wiremap.judge.wiring.continuity import fit
from wiremap.judge.wiring.electrical import resolution_ohm
from wiremap.judge.wiring.examined import joined_contacts

if TYPE_CHECKING:
    from wiremap.reading.reading import Reading

DOUBTS: dict[Fault, Reason] = {
    "wet-or-wrong-cable": "wet",
    "leakage": "leakage",
    "high-resistance": "unsound-contact",
    "contact-film": "unsound-contact",
    "intermittent": "unsound-contact",
    "conductor-metal": "wire",
    "screen-open": "screen-open",
}
UNMEASURED: dict[Check, Reason] = {"shorts": "shorts-not-measured", "split-pairs": "pairs-not-measured"}


def cable_seen(reading: "Reading", pattern: Pattern, diagnosis: Diagnosis, limits: Limits) -> Cable:
    """Return what services are judged on; both plugs must have been seen."""
    nets = _nets(reading, pattern, limits)
    ohm = []
    for net in nets:
        if net.is_conductor:
            row = reading.resistance_ohm[reading.near_contacts.index(net.near[0])]
            value = row[len(reading.near_contacts) + reading.far_contacts.index(net.far[0])]
            if isinstance(value, int | float):
                ohm.append((net.near[0], float(value)))
    pairs = diagnosis.pairs
    split = pairs.split if pairs is not None and pairs.verdict != "cannot tell" else ()
    whole = [length for length in diagnosis.lengths if length.pair is None]
    screen = pattern.near_screen
    doubts: dict[tuple[Reason, tuple[str, ...]], None] = {}
    for finding in diagnosis.findings:
        if finding.fault in DOUBTS:
            doubts[DOUBTS[finding.fault], tuple(contact for contact in finding.near if contact != screen)] = None
    missing = {item.what for item in diagnosis.not_checked}
    return Cable(
        nets,
        split,
        tuple(ohm),
        resolution_ohm(reading.tester, limits),
        whole[-1].length_m if whole else None,
        tuple(doubts),
        tuple(reason for check, reason in UNMEASURED.items() if check in missing),
    )


def _nets(reading: "Reading", pattern: Pattern, limits: Limits) -> tuple[Net, ...]:
    """Return what is joined in a reading, with whether a screen is in it."""
    laid = fit(pattern, reading.near_contacts, reading.far_contacts)
    screens = {Contact("near", pattern.near_screen or ""), Contact("far", pattern.far_screen or "")}
    found = []
    for joined in joined_contacts(reading, laid, limits):
        kept = joined - screens
        near = tuple(name for name in reading.near_contacts if Contact("near", name) in kept)
        far = tuple(name for name in reading.far_contacts if Contact("far", name) in kept)
        on_screen = bool(joined & screens)
        if len(kept) > 1 or (on_screen and kept):
            found.append(Net(near, far, on_screen))
    return tuple(found)

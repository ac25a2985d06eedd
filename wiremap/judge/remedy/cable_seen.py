"""The cable that services are judged on, from a reading and what was found of it."""

from collections.abc import Sequence

from wiremap.cable.kinds import Kind
from wiremap.judge.findings import Check, Fault, Finding
from wiremap.judge.remedy.service import Cable, Net, ServiceReason
from wiremap.judge.verdict import Diagnosis
from wiremap.judge.wiring.by_eye import not_twisted
from wiremap.judge.wiring.laid_reading import LaidReading

DOUBTS: dict[Fault, ServiceReason] = {
    "wet-or-wrong-cable": "wet",
    "leakage": "leakage",
    "high-resistance": "unsound-contact",
    "contact-film": "unsound-contact",
    "intermittent": "unsound-contact",
    "conductor-metal": "wire",
    "screen-open": "screen-open",
}
UNMEASURED_REASONS: dict[Check, ServiceReason] = {
    "opens": "opens-not-measured",
    "shorts": "shorts-not-measured",
    "split-pairs": "pairs-not-measured",
}


def cable_seen(laid: LaidReading, diagnosis: Diagnosis, kind: Kind | None = None) -> Cable:
    """Return what services are judged on; both plugs must have been seen. kind: of cable, None = nobody named one."""
    layout = laid.layout
    nets = _nets(laid)
    ohm = []
    for net in nets:
        if net.is_conductor:
            value = laid.rows[layout.near_place(net.near[0])][layout.far_place(net.far[0])]
            if isinstance(value, int | float):
                ohm.append((net.near[0], float(value)))
    pairs = diagnosis.pairs
    split = not_twisted(laid.reading.twisted, layout.pattern.near_pairs)
    if pairs is not None and pairs.verdict != "cannot tell":
        split = pairs.split
    split = (*split, *_split_along(diagnosis.findings, layout.pattern.near_pairs, split))
    whole = [length for length in diagnosis.lengths if length.pair is None]
    screen = layout.pattern.near_screen
    doubts: dict[tuple[ServiceReason, tuple[str, ...]], None] = {}
    for finding in diagnosis.findings:
        if finding.fault in DOUBTS:
            doubts[DOUBTS[finding.fault], tuple(contact for contact in finding.near if contact != screen)] = None
    missing = {item.what for item in diagnosis.not_checked}
    return Cable(
        nets,
        split,
        tuple(ohm),
        laid.step_ohm,
        whole[-1].length_m if whole else None,
        tuple(doubts),
        tuple(reason for check, reason in UNMEASURED_REASONS.items() if check in missing),
        whole[-1].low_m if whole else None,
        whole[-1].high_m if whole else None,
        None if kind is None or kind.category == "unknown" else kind.category,
    )


def _split_along(
    findings: Sequence[Finding], pairs: Sequence[tuple[str, str]], known: Sequence[tuple[str, str]]
) -> tuple[tuple[str, str], ...]:
    """Return the pairs that a section of the run splits, those that are known already left out."""
    parts = {contact for finding in findings if finding.fault == "split-section" for contact in finding.near}
    already = {frozenset(pair) for pair in known}
    return tuple(pair for pair in pairs if set(pair) <= parts and frozenset(pair) not in already)


def _nets(laid: LaidReading) -> tuple[Net, ...]:
    """Return what is joined in a reading, with whether a screen is in it."""
    layout = laid.layout
    found = []
    for group in laid.groups:
        kept = [place for place in group if place not in layout.screens]
        on_screen = len(kept) < len(group)
        if len(kept) > 1 or (on_screen and kept):
            found.append(Net(layout.near(kept), layout.far(kept), on_screen))
    return tuple(found)

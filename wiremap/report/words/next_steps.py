"""What to do next, once for every fault: which plug to look at, what to re-terminate, when to replace.

The advice of a cable is that of its most urgent finding; the rest is easier to see after that.
"""

from collections.abc import Sequence

from msgspec.structs import replace

from wiremap.cable.patterns import Pattern
from wiremap.judge.findings import MEANWHILE, MISPLACED, ONE_OF, Fault, Finding, NotChecked, Reason
from wiremap.judge.verdict import Diagnosis
from wiremap.judge.wiring.terminators import Terminators
from wiremap.report.words.faults import (
    CAUSES,
    CHECK_WORDS,
    Ends,
    capital,
    contacts_named,
    nothing_arrives,
    urgent_first,
)
from wiremap.report.words.terminators import terminators_moved, terminators_next

NEXT: dict[Fault, tuple[str, str, str]] = {
    # fault: what to do when the plug is known, when it is the cable itself, when nobody knows
    "open": (
        "At {end}: see that {contacts} is home in the plug and crimped; else re-terminate that plug{paired}.",
        "Replace the cable, or cut it at the place and join it there.",
        "See in which plug {contacts} {is_are} not home and crimped{that_one}",
    ),
    "short": (
        "At {end}: look for a strand or an offcut between {contacts}; else re-terminate that plug{paired}.",
        "Replace the cable: it is crushed or cut into between its ends.",
        "See in which plug a strand or an offcut joins {contacts}{that_one}",
    ),
    "screen-short": (
        "At {end}: cut the screen back so that it cannot touch {contacts}, then re-terminate that plug{paired}.",
        "Replace the cable: the screen touches a conductor between its ends.",
        "See in which plug the screen touches {contacts}{that_one}",
    ),
    "miswire": (
        "Re-terminate {end}.",
        "Open the joint between the ends and put its order right.",
        "Read the colours through both plugs; re-terminate the end where {contacts} {is_are} out of order.",
    ),
    "high-resistance": (
        "Clean and re-crimp {contacts} at {end}.",
        "Replace the cable.",
        "See in which plug {contacts} {is_are} dirty or badly crimped{that_one}",
    ),
    "contact-film": (
        "Clean the contacts at {end}, or replace the plug.",
        "Replace the cable.",
        "Clean the contacts of both plugs, or replace them; then test again.",
    ),
    "split-pair": (
        "Re-terminate {end} in the colour order.",
        "Open the joint between the ends: the pairs are mixed up there.",
        "Read the colours through both plugs; re-terminate both ends if both have the same wrong order.",
    ),
    "split-section": (
        "Test each piece of the run alone; re-terminate {end} in the colour order, or replace the piece that is split.",
        "Test each piece of the run alone: replace the one that is split, or put the order right at its joints.",
        "Test each piece of the run alone: replace the one that is split, or put the order right at its joints.",
    ),
    "screen-open": (
        "At {end}: see that the screen is clamped in the plug's shell; else re-terminate that plug.",
        "Replace the cable.",
        "See in which plug the screen is not clamped{that_one}",
    ),
    "leakage": (
        "Dry and clean {end}, then test again.",
        "Replace the cable: there is water in it.",
        "Dry and clean both plugs, then test again; if it stays, replace the cable.",
    ),
    "foreign-voltage": (
        "Unplug {end} from whatever feeds it, power off, then test again.",
        "Find what feeds the cable between its ends and switch it off, then test again.",
        "Power off and unplug both ends from all equipment, then test again.",
    ),
    "equipment-attached": (
        "Unplug {end} from the equipment, then test again.",
        "Unplug whatever is joined to the cable between its ends, then test again.",
        "Unplug both ends from all equipment, then test again.",
    ),
    "intermittent": (
        "Re-terminate {end}.",
        "Replace the cable.",
        "Move one plug, then the other, and re-terminate the one that does it.",
    ),
    "wet-or-wrong-cable": (
        "Look for water at {end}; replace the cable if it is wet.",
        "Replace the cable if it is wet; else tell which kind it is.",
        "Look for water at both plugs; replace the cable if it is wet, else tell which kind it is.",
    ),
    "conductor-metal": (
        "",
        "",
        "Read the print on the sheath; replace the cable if it is not copper of the right size.",
    ),
    "resistance-unbalance": (
        "Re-terminate {end} with care for the crimp, then test again.",
        "Replace the cable.",
        "See in which plug {contacts} are dirty or badly crimped{that_one}",
    ),
    "too-long": ("", "", "See that this is the right cable and label; shorten it, or put a switch between."),
    "too-short": ("", "", "See that this is the right cable and label; a cable cannot be made longer, so replace it."),
}
HOLD_STILL = (
    "Hold the cable still and test again. If it stays so, watch it while one plug, then the other, is moved, and "
    "re-terminate the one that does it."
)
THAT_ONE = ", and re-terminate that one{card}; if neither, replace the cable."
PAIRED = ", each pair on its own contacts"
FOUND_BY_EYE: tuple[Fault, ...] = (
    "open",
    "short",
    "screen-short",
    "high-resistance",
    "screen-open",
    "resistance-unbalance",
)
DANGEROUS_FAULTS: frozenset[Fault] = frozenset(("foreign-voltage", "equipment-attached"))
FAR_HIDES: tuple[Reason, ...] = ("far-end-open", "far-joined", "far-equipment")  # why the order was not seen
SAME_ADVICE: dict[Fault, Fault] = {"crossed-pairs": "miswire", "reversed-pair": "miswire"}


def next_step(
    diagnosis: Diagnosis,
    ends: Ends,
    pattern: Pattern | None,
    required: Sequence[str] = (),
) -> str:
    """Return what to do with this cable now, in one or two sentences.

    required: checks that were asked for (`--require`).
    """
    nearest = diagnosis.nearest
    if diagnosis.findings:
        if nothing_arrives(diagnosis, pattern):
            return (
                "Push both plugs home in the tester and test again; if nothing arrives then, every conductor is "
                "broken: replace the cable."
            )
        in_run = [one for one in urgent_first(diagnosis.findings) if one.end == "run"]
        if in_run and not DANGEROUS_FAULTS & {one.fault for one in diagnosis.findings}:
            return _for_finding(in_run[0], ends)
        if diagnosis.cause in CAUSES and diagnosis.cause != "straight":
            return "Read the colours through both plugs; re-terminate the one that is out of order."
        if diagnosis.expect is not None and nearest is not None and nearest.away == 0:
            return f"Re-terminate one end, or use it where {nearest.pattern} is wanted."
        if few := too_few_sentence(diagnosis, pattern):
            return few
        dangerous = any(finding.fault in DANGEROUS_FAULTS for finding in diagnosis.findings)
        if diagnosis.expect is not None or diagnosis.verdict == "fail" or dangerous:
            paired = PAIRED if pairs_are_hidden(diagnosis, pattern) else ""
            return _for_finding(urgent_together(diagnosis.findings), ends, paired=paired, seen=diagnosis.terminators)
    if diagnosis.verdict == "pass":
        moved = terminators_moved(diagnosis.terminators, (ends.near, ends.far)) if diagnosis.terminators else ""
        return f"{moved} Then label it and use it." if moved else "Label it and use it."
    if diagnosis.expect is None:
        if nearest is not None and nearest.away == 0:
            return f"Judge it as {nearest.pattern} if that is what the job needs (--expect {nearest.pattern})."
        return "Say what the cable should be (--expect NAME)."
    wanted = [CHECK_WORDS[item.what] for item in diagnosis.not_checked if item.what in required]
    if wanted:
        return (
            f"Required but not checked: {', '.join(wanted)}. Use a tester that can, or do not ask for it (--require)."
        )
    if NotChecked("continuity", "terminated") in diagnosis.not_checked:
        return "Take the terminators out of the bus and test again, or use a tester that tells ohms."
    if any(item.what == "continuity" and item.why in FAR_HIDES for item in diagnosis.not_checked):
        if NotChecked("leakage", "continuity-only") in diagnosis.not_checked:  # it tells no ohms, and remotes are ohms
            return "Put the far plug into the tester to see the wire map."
        return (
            "Put the far plug into the tester, or a remote onto it (which is never plugged into equipment), to see the "
            "wire map."
        )
    return "Test again."


def too_few_sentence(diagnosis: Diagnosis, pattern: Pattern | None) -> str:
    """Return what to see where about four contacts are open at both ends: a cable may have no conductors for them."""
    if pattern is None or len(pattern.conductors) < 8:
        return ""
    opens = [one for one in diagnosis.findings if one.fault == "open" and one.end != "run"]
    near, far = sum(len(one.near) for one in opens), sum(len(one.far) for one in opens)
    if max(near, far) < 4 or min(near, far) < 3 or max(near, far) > 6:
        return ""
    return (
        f"See whether the cable has all {len(pattern.conductors)} conductors; if it has not, replace it, "
        "or use it where fewer pairs are enough; if it has, re-terminate the plug where they are not home."
    )


def find_sentence(diagnosis: Diagnosis, ends: Ends) -> str:
    """Return how to see in which plug the most urgent fault is whose end is not known, that plug having a card."""
    unknown = [one for one in urgent_first(diagnosis.findings) if one.end is None and one.fault in FOUND_BY_EYE]
    return _for_finding(urgent_together(unknown), ends, " by its card") if unknown else ""


def urgent_together(findings: Sequence[Finding]) -> Finding:
    """Return the most urgent finding; an open with all others at the same end, for whoever looks sees them together."""
    first, *others = urgent_first(findings)
    if first.fault != "open":
        return first
    alike = [
        first,
        *(one for one in others if (one.fault, one.end, one.detail) == (first.fault, first.end, first.detail)),
    ]
    near = tuple(sorted({contact for one in alike for contact in one.near}))
    far = tuple(sorted({contact for one in alike for contact in one.far}))
    return replace(first, near=near, far=far)


def pairs_are_hidden(diagnosis: Diagnosis, pattern: Pattern | None) -> bool:
    """Whether pairs were measured, but not all: what is open or shorted hides whether the others are split."""
    if diagnosis.pairs is None or pattern is None:
        return False
    seen = {frozenset(pair) for pair in diagnosis.pairs.pairs}
    return any(frozenset(pair) not in seen for pair in pattern.near_pairs)


def _for_finding(
    finding: Finding, ends: Ends, card: str = "", paired: str = "", seen: Terminators | None = None
) -> str:
    if finding.fault == "terminators":
        return terminators_next(finding, seen, (ends.near, ends.far))
    if finding.detail == MEANWHILE:
        return HOLD_STILL
    known, run, unknown = NEXT[SAME_ADVICE.get(finding.fault, finding.fault)]
    near = [contact for contact in finding.near if contact != ends.near_screen]
    far = [contact for contact in finding.far if contact != ends.far_screen]
    if finding.end in ("near", "far"):
        near = far = near if finding.end == "near" else far
    elif finding.fault in MISPLACED:
        near = far = near if set(near) == set(far) else []
    which = contacts_named(near, far, ends) or "the contacts"
    single = len(set(near) | set(far)) == 1 or finding.detail == ONE_OF
    which = which.replace(" and ", " or ") if finding.detail == ONE_OF else which
    text = {"near": known, "far": known, "run": run, None: unknown}[finding.end] or unknown
    end = (
        f"the {ends.near if finding.end == 'near' else ends.far} end" if finding.end in ("near", "far") else "both ends"
    )
    that_one = THAT_ONE.format(card=card or paired)
    are = "is" if single else "are"
    return capital(text.format(end=end, contacts=which, is_are=are, that_one=that_one, paired=paired))

"""Where a fault lies: opens by capacitance, shorts by echo and resistance, an open screen by what each end shows.

With both plugs in the tester a broken conductor is seen from both its ends, and the two parts tell its place
without any velocity factor. From one end alone it is compared with the sound conductors.
"""

import math
from collections.abc import Collection, Sequence

import numpy as np
from msgspec.structs import replace

from wiremap.cable.limits import Limits
from wiremap.judge.findings import ONE_OF, Finding, Place
from wiremap.judge.measurements import Length, Pairing
from wiremap.judge.run.breaks.by_capacitance import cut_by_two_terminal, share_by_two_terminal
from wiremap.judge.run.breaks.by_echo import at_echo, open_by_echo
from wiremap.judge.run.breaks.by_single import cut_short, cut_without_pairs, shown_alone
from wiremap.judge.run.breaks.position import Cut, placed
from wiremap.judge.run.capacitance import Groups
from wiremap.judge.run.length.estimate import RunEstimate
from wiremap.judge.run.length.observed import delay_s, pair_arrival
from wiremap.judge.wiring.laid_reading import LaidReading
from wiremap.reading.joined import is_joined


def located(
    findings: Sequence[Finding],
    laid: LaidReading,
    seen: Groups | None,
    pairs: Pairing | None,
    run: RunEstimate,
    expected: Sequence[tuple[str, str]],
) -> tuple[Finding, ...]:
    """Return the findings with distance and end filled in where they are known.

    seen, pairs: None where capacitance or pairing is not known. expected: near contacts of pairs.
    """
    reading, limits = laid.reading, laid.limits
    found: list[Finding] = []
    cable = run.cable
    for finding in findings:
        if finding.fault == "open" and seen is not None and cable is not None and reading.far == "tester":
            found += _open_seen_from_both_ends(finding, seen, pairs, cable, limits)
            continue
        if finding.fault == "open" and seen is None and cable is not None:
            finding = open_by_echo(finding, reading, expected, run, limits)
        elif finding.fault == "short" and cable is not None:
            finding = _short(finding, laid, run, cable)
        elif finding.fault == "screen-open" and seen is not None and reading.far == "tester":
            finding = replace(finding, end=finding.end or _screen_end(seen, limits))
        found.append(finding)
    return tuple(found)


def cuts_from_near(seen: Groups, pairs: Pairing | None, contacts: Collection[str], limits: Limits) -> tuple[Cut, ...]:
    """Return the conductors that end early, seen from the near end alone with the far end open.

    pairs: None where they are not known. contacts: near contacts that hold conductors.
    """
    if pairs is None or (pairs.split and seen.direct_pf is not None):  # breaks can make pairs look split
        return cut_without_pairs(seen, contacts, limits)
    return cut_short(seen, pairs, limits) if seen.direct_pf is not None else cut_by_two_terminal(seen, pairs, limits)


def opens_of(cuts: Sequence[Cut], cable: Length | None, limits: Limits) -> tuple[Finding, ...]:
    """Return a finding for each cut, with its place where the cable's length is known."""
    found = []
    for cut in cuts:
        detail = ONE_OF if len(cut.contacts) > 1 else None
        finding = Finding("open", cut.contacts, (), certainty=cut.certainty, detail=detail)
        found.append(finding if cable is None else placed(finding, cut.share, cut.u_share, cable, limits))
    return tuple(found)


def _open_seen_from_both_ends(
    finding: Finding, seen: Groups, pairs: Pairing | None, cable: Length, limits: Limits
) -> tuple[Finding, ...]:
    """Place a break by its two parts.

    Two parts that are not one conductor's length together are of two conductors, each broken or missing somewhere of
    its own: then there is a finding for each.
    """
    near = seen.of_near(finding.near[0]) if len(finding.near) == 1 else None
    far = seen.of_far(finding.far[0]) if len(finding.far) == 1 else None
    whole = [row for row, names in enumerate(seen.near) if len(names) == 1 and len(seen.far[row]) == 1]
    if not whole or (near is None and far is None):
        return (finding,)
    shown = shown_alone(seen, pairs, limits)
    if shown is None:
        found = None if pairs is None else share_by_two_terminal(seen, pairs, near, far, whole, limits)
        return (finding if found is None else placed(finding, *found, cable, limits),)
    usual_pf = float(np.median(shown.pf[whole]))
    if not usual_pf > 0 or any(len(seen.places[row]) != 1 for row in (near, far) if row is not None):
        return (finding,)
    u = limits.break_plug_pf / usual_pf
    shares = [None if row is None else max(float(shown.pf[row]) / usual_pf, 0.0) for row in (near, far)]
    if shares[0] is None or shares[1] is None:
        one = next(value for value in shares if value is not None)
        share = one if near is not None else 1 - one
        return (placed(finding, share, math.hypot(limits.conductors_u * one, u), cable, limits),)
    together = shares[0] + shares[1]
    if together < 4 * u:
        return (finding,)
    if abs(together - 1.0) > limits.break_sigmas * math.hypot(limits.conductors_u, 1.4 * u):
        apart = (
            (replace(finding, far=()), shares[0], shares[0]),
            (replace(finding, near=()), 1 - shares[1], shares[1]),
        )
        return tuple(
            _at_a_plug_or_nowhere(placed(part, share, math.hypot(limits.conductors_u * shown_share, u), cable, limits))
            for part, share, shown_share in apart
        )
    share = shares[0] / together
    own_u = math.hypot(u / together * math.hypot(share, 1 - share), limits.halves_u * min(1.0, 4 * share * (1 - share)))
    return (placed(finding, share, own_u, cable, limits),)


def _at_a_plug_or_nowhere(finding: Finding) -> Finding:
    """Return an open of one of two parts without a place in the run.

    A conductor whose partner is in no plug shows less than it is long, as one does that ends in the run.
    """
    return replace(finding, end=None, at_m=None, u_m=None) if finding.end == "run" else finding


def _short(finding: Finding, laid: LaidReading, run: RunEstimate, cable: Length) -> Finding:
    """Place a short of two conductors: by its echo, or by what each end reads through it.

    Near and far loop differ by the run's own resistance alone: at / length = 1/2 + (R near - R far) / (4 R of one
    conductor); what the short itself has falls out.
    """
    reading, layout, limits = laid.reading, laid.layout, laid.limits
    if len(finding.near) == 2:
        came = pair_arrival(reading, (finding.near[0], finding.near[1]), limits)
        if came is not None and came[0].polarity < 0:
            return at_echo(finding, delay_s(*came, limits), run, limits)
    if len(finding.near) != 2 or len(finding.far) != 2 or reading.far != "tester":
        return finding
    near = [layout.near_place(contact) for contact in finding.near]
    far = [layout.far_place(contact) for contact in finding.far]
    rows = laid.rows
    loops = [rows[near[0]][near[1]], rows[far[0]][far[1]]]
    through = [rows[a][b] for a in layout.near_places if a not in near for b in layout.far_places]
    sound = [
        float(value) for value in through if isinstance(value, int | float) and is_joined(value, limits.joined_ohm)
    ]
    if not sound or not all(isinstance(value, int | float) for value in loops):
        return finding
    one = float(np.median(sound))
    if one < laid.step_ohm:
        return finding
    near_ohm, far_ohm = (float(value) for value in loops if isinstance(value, int | float))
    if near_ohm + far_ohm < limits.short_whole_loop * 2 * one:
        return finding  # less than the run itself: there is a short at each end
    share = 0.5 + (near_ohm - far_ohm) / (4 * one)
    u_ohm = math.hypot(
        math.sqrt(2 / 12) * laid.step_ohm,
        limits.short_contacts_u_ohm,
        limits.short_conductors_u * abs(near_ohm - far_ohm),
    )
    return placed(finding, share, u_ohm / (4 * one), cable, limits)


def _screen_end(seen: Groups, limits: Limits) -> Place | None:
    """Return the end at which the screen is open: there its contact shows nothing, at the other the whole cable.

    Where neither shows more than a plug does, it is open at both.
    """
    near, far = (max(value, 0.0) for value in seen.screen_pf)
    if not near + far > 2 * limits.break_plug_pf:
        return None
    share = near / (near + far)
    if share < limits.screen_share:
        return "near"
    return "far" if share > 1 - limits.screen_share else "run"

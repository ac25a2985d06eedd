"""A reading examined for pairs and length: what continuity cannot see, and where what it sees lies."""

from collections.abc import Sequence

from msgspec.structs import replace

from wiremap.cable.kinds import Kind, Lay
from wiremap.cable.limits import Limits
from wiremap.cable.patterns import Pattern
from wiremap.judge.findings import MEANWHILE, MISPLACED, Fault, Finding, NotChecked
from wiremap.judge.measurements import Length, Measured, Pairing, nothing_measured
from wiremap.judge.run.breaks.by_echo import breaks_by_echo, early_pairs, echo_ends_s
from wiremap.judge.run.breaks.located import cuts_from_near, located, opens_of
from wiremap.judge.run.breaks.position import Cut
from wiremap.judge.run.breaks.wet import wet_finding, wet_from
from wiremap.judge.run.capacitance import Groups, cord_groups, groups, joined_later, unsteady_pf
from wiremap.judge.run.length.estimate import WET, RunEstimate, estimate_run
from wiremap.judge.run.pairing.pairing import Pairs, end_of, expected_pairs, pairing_of, split_findings
from wiremap.judge.run.pairing.sections import SplitShares, as_unsplit, section_findings, split_shares
from wiremap.judge.run.pairing.weaker import weaker_pairing
from wiremap.judge.wiring.electrical import came_and_went
from wiremap.judge.wiring.laid_reading import LaidReading
from wiremap.reading.joined import joined_pairs

POOR: tuple[Fault, ...] = ("high-resistance", "resistance-unbalance", "contact-film")
STOPS: tuple[Fault, ...] = ("foreign-voltage", "equipment-attached", "leakage")


def measured(laid: LaidReading, findings: Sequence[Finding], told: Kind | None = None) -> Measured:
    """Return pairs and lengths of a cable judged against a pattern, findings so far completed, and new ones.

    told: the kind of cable that somebody named, None = nobody did.
    """
    reading, pattern, limits = laid.reading, laid.layout.pattern, laid.limits
    stops = [finding.fault for finding in findings if finding.fault in STOPS]
    if any(fault != "leakage" for fault in stops):
        return nothing_measured(findings, "faults")
    plugged = reading.far not in ("tester", "open")
    leaking = "leakage" in stops or laid.conducts
    later, apart_pf = ((), None) if leaking or plugged else (joined_later(laid), unsteady_pf(laid))
    if later or apart_pf is not None or any(one.detail == MEANWHILE for one in findings):
        return _unsteady(findings, later, apart_pf)
    seen = None if leaking or plugged else groups(laid)
    pairs = _pairing(laid, seen, leaking)
    not_checked = [pairs] if isinstance(pairs, NotChecked) else []
    if leaking and reading.capacitance is not None:
        not_checked.append(NotChecked("capacitance", "leakage"))
    known = pairs if isinstance(pairs, Pairing) else None

    cuts: tuple[Cut, ...] = ()
    if seen is not None and reading.far == "open":
        cuts = cuts_from_near(seen, known, [near for near, _ in pattern.conductors], limits)
    broken = {contact for cut in cuts for contact in cut.contacts}
    if broken and known is not None and known.split:
        pairs, known = NotChecked("split-pairs", "faults"), None
        not_checked.append(pairs)
    # What floats beyond a break, or comes and goes as it is moved, looks like a split section.
    shares = None if broken or any(one.fault == "intermittent" for one in findings) else _shares(laid, known, seen)
    whole = [pair for pair in whole_pairs(laid, known, seen) if not broken & set(pair[0])]
    poor = {contact for one in findings if one.fault in POOR for contact in one.near}
    fall = wet_from(reading, [pair for pair, _ in whole], limits)
    run = estimate_run(laid, whole, as_unsplit(seen, shares), poor, told, _lay(pairs), fall is not None)
    cable = run.cable
    if cable is None:
        not_checked.append(NotChecked("length", "leakage" if leaking else "faults" if not whole else "not-measured"))
    completed = located(findings, laid, seen, known, run, expected_pairs(pattern))
    new: list[Finding] = []
    if seen is not None and known is not None:
        completed = tuple(
            replace(one, end=one.end or end_of(one, known, seen, pattern)) if one.fault in MISPLACED else one
            for one in completed
        )
        split = split_findings(known, seen, pattern, reading.far == "tester")
        sections = section_findings(shares, cable, pattern, reading.far == "tester", limits) if shares and cable else ()
        parts = [one.near for one in sections]
        new += [*(one for one in split if one.near not in parts), *sections]
    if known is not None and known.verdict == "cannot tell" and not new:
        not_checked.append(NotChecked("split-pairs", "resolution"))
    if known is not None and cable is not None:
        known = replace(known, hidden_m=_hidden_m(known, shares, cable, limits))
    new += opens_of(cuts, cable, limits)
    if seen is None and reading.far == "open":
        new += breaks_by_echo(reading, expected_pairs(pattern), run, limits)
    new += _of_the_run(pattern, run, told, limits)
    if fall is not None:
        new = [*(one for one in new if one.fault != "wet-or-wrong-cable"), wet_finding(fall, run, limits)]
    return Measured(known, run.lengths, (*completed, *new), tuple(not_checked), run.kind_seen(told, limits))


def _unsteady(findings: Sequence[Finding], later: Sequence[tuple[str, str]], apart_pf: float | None) -> Measured:
    """Return that nothing measured of the run can be believed, since a contact was not joined all the while.

    later: conductors that were open at first and joined then, which are said so in place of open.
    """
    found = came_and_went(findings, later)
    if not any(one.fault == "intermittent" for one in found):
        found.append(Finding("intermittent", certainty="likely", value=apart_pf, unit="pF", detail=MEANWHILE))
    return nothing_measured(found, "unsteady")


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
    if strong.why == "no-pairs" if isinstance(strong, NotChecked) else _speaks(strong):
        return strong
    weak = weaker_pairing(reading, expected_pairs(pattern), seen, limits)
    if isinstance(weak, Pairing) and (weak.verdict != "cannot tell" or isinstance(strong, NotChecked)):
        return weak
    if isinstance(strong, NotChecked) and strong.why == "not-measured":
        return weak
    return strong


def _speaks(strong: Pairing) -> bool:
    """Whether no weaker witness is asked: direct capacitances that cannot tell, of a long cable, show halves split."""
    return strong.verdict != "cannot tell" or strong.method == "direct"


def _shares(laid: LaidReading, known: Pairing | None, seen: Groups | None) -> SplitShares | None:
    """Return how much of the run is split, of pairs both of whose conductors are whole; None where that is not seen."""
    if known is None or seen is None or known.method != "direct" or known.lay == "quad":
        return None
    ends = {names[0]: far for names, far in zip(seen.near, seen.far, strict=True) if len(names) == 1}
    whole = [name for name, far in ends.items() if len(far) == 1 or laid.reading.far == "open"]
    twisted = [pair for pair in known.pairs if pair not in known.by_exclusion and set(pair) <= set(whole)]
    return split_shares(laid.reading, seen, twisted, laid.limits)


def _hidden_m(known: Pairing, shares: SplitShares | None, cable: Length, limits: Limits) -> float | None:
    """Return up to how many metres a split section may have escaped; None where nothing says."""
    if known.verdict == "cannot tell":
        return None
    if shares is not None:
        return shares.hidden * cable.length_m
    return limits.quad_hidden * cable.high_m if known.lay == "quad" else None


def _lay(pairs: Pairing | NotChecked) -> Lay | None:
    """Return how the conductors lie, None where that was not seen."""
    if isinstance(pairs, NotChecked):
        return "row" if pairs.why == "no-pairs" else None
    if pairs.method != "direct" or pairs.verdict == "cannot tell":
        return None
    return None if pairs.lay == "mixed" else pairs.lay


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
        early = early_pairs(echo_ends_s(reading, [pair for pair, _ in found], limits), limits)
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

    beside: dict[int, list[int]] = {place: [] for place in range(len(laid.ohm))}
    for a, b in joined_pairs(laid.ohm, laid.limits.high_resistance_ohm):
        beside[a].append(b)
        beside[b].append(a)
    found = {}
    for near in layout.near_places:
        there = beside.get(near, [])
        if len(there) == 1 and there[0] in layout.far_places and beside[there[0]] == [near]:
            found[layout.names[near]] = layout.names[there[0]]
    return found


def _of_the_run(pattern: Pattern, run: RunEstimate, told: Kind | None, limits: Limits) -> list[Finding]:
    """Return what the run says of the cable as a whole: too long, wet or another kind, thin or clad conductors."""
    cable = run.cable
    if cable is None or run.belief is None:
        return []
    new: list[Finding] = []
    if pattern.use == "ethernet" and cable.length_m > limits.longest_m:
        finding = Finding(
            "too-long",
            value=round(cable.length_m, 2),
            limit=limits.longest_m,
            unit="m",
            u_m=round(cable.u_m, 2),
            detail="channel",
        )
        new.append(finding if cable.low_m > limits.longest_m else replace(finding, certainty="likely"))
    return [*new, *_wet(run, limits), *_metal(run, told, limits)]


def _wet(run: RunEstimate, limits: Limits) -> list[Finding]:
    """Return that a cable is slower, and has more capacitance for its delay, than any dry one.

    Capacitance alone says nothing of water: it is what the length is read from.
    """
    cable, per_m = run.cable, run.pf_per_m
    chance = run.chance_of(lambda one: one.kind == WET)
    if cable is None or per_m is None or len(run.seen) < 2 or chance < limits.wet_likely:
        return []
    finding = Finding(
        "wet-or-wrong-cable",
        value=round(per_m, 1),
        limit=limits.materials.pair.largest_capacitance_pf_per_m,
        unit="pF/m",
    )
    return [finding if chance >= limits.wet_confirmed else replace(finding, certainty="likely")]


def _metal(run: RunEstimate, told: Kind | None, limits: Limits) -> list[Finding]:
    """Return that conductors have more resistance than those of the kind that was named: thin, or copper-clad.

    Without a kind resistance says nothing: copper-clad AWG 24 and copper AWG 26 are alike to it.
    """
    per_m = run.ohm_per_m
    if told is None or per_m is None or run.cable is None or run.cable.low_m < limits.metal_from_m:
        return []
    chance = run.chance_of(lambda one: one.clad or one.awg > told.awg)
    if chance < limits.metal_likely:
        return []
    copper = [one.ohm_per_m for one in run.hypotheses if not one.clad and one.awg == told.awg]
    return [
        Finding(
            "conductor-metal",
            certainty="confirmed" if chance >= limits.metal_confirmed else "likely",
            value=round(100 * per_m, 2),
            limit=round(100 * max(copper, default=0.0), 2),
            unit="ohm/100 m",
        )
    ]

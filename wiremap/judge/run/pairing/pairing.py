"""Which conductors are twisted together, seen by capacitance, and which expected pairs are split.

With the far end open a conductor shows its true partner about twice what it shows any other, and continuity
cannot see that. It is what most of the run says: a short split section in a long good run leaves it unchanged.
"""

import math
from itertools import combinations

import numpy as np
from msgspec.structs import replace

from wiremap.cable.limits import Limits
from wiremap.cable.patterns import Pattern
from wiremap.judge.findings import Finding, NotChecked, Place
from wiremap.judge.measurements import Pairing, PairingMethod, PairingVerdict
from wiremap.judge.run.capacitance import Groups
from wiremap.judge.run.length.plugs import without_plugs
from wiremap.judge.run.network import Array
from wiremap.judge.run.pairing.evidence import PairEvidence, pair_evidence
from wiremap.judge.run.pairing.lay import FourLay, diagonals, in_a_row, quad_lay
from wiremap.judge.run.pairing.matching import matchings, memberships

Pairs = tuple[tuple[str, str], ...]
TIE_PF = 1e-9
METHODS: tuple[PairingMethod, ...] = ("direct", "two_terminal")


def pairing_of(seen: Groups, pattern: Pattern, limits: Limits, cord: Groups | None = None) -> Pairing | NotChecked:
    """Return the pairing of what the groups of contacts show; by grounded groups where they were measured.

    cord: what a good cord of the same kind shows; where a cable is too short, or its pairs stand out too little,
    it is compared with that.
    """
    expected = expected_pairs(pattern)
    nothing = False
    for method in METHODS:
        shown = pair_evidence(seen, method, pattern, limits)
        if shown is None:
            nothing = nothing or _measured(seen, method)
            continue
        if method == "direct" and in_a_row(seen, pattern, limits):
            return NotChecked("split-pairs", "no-pairs" if shown.length_m >= limits.row_m else "too-short")
        found = None
        if method == "direct":
            found = _direct(shown, seen, pattern, limits)
        elif shown.length_m >= shortest_m(seen, limits):
            found = _best(shown, method, expected, limits)
        if found is not None and found.verdict == "confirmed":
            return found
        if cord is not None and shown.length_m >= limits.pairing_reference_m:
            compared = _against(shown, pair_evidence(cord, method, pattern, limits), seen, pattern, limits)
            if compared is not None and (found is None or compared.z > found.z):
                return compared
        return found or NotChecked("split-pairs", "too-short")
    return NotChecked("split-pairs", "too-short" if nothing else "not-measured")


def _direct(shown: PairEvidence, seen: Groups, pattern: Pattern, limits: Limits) -> Pairing | None:
    """Return the pairing by direct capacitances, None where the cable is too short for them.

    Where what plugs usually add leaves it likely only, the plugs are measured in this cable, paired so, and taken off.
    """
    expected = expected_pairs(pattern)
    found = _best(shown, "direct", expected, limits)
    if limits.pairing_refined <= found.z < limits.pairing_confirmed and not found.by_exclusion:
        rows = [(seen.of_near(a), seen.of_near(b)) for a, b in found.pairs]
        pairs = [(a, b) for a, b in rows if a is not None and b is not None]
        plugs = without_plugs(seen, pairs, limits).plugs
        again = pair_evidence(seen, "direct", pattern, limits, plugs)
        better = None if again is None else _best(again, "direct", expected, limits)
        if better is not None and better.pairs == found.pairs:
            found = better
    partners = [shown.weight[column] for column in shown.columns_of(found.pairs)]
    if found.lay == "pairs" and min(partners, default=0.0) < limits.pairing_least_pf:
        return None
    short = shown.length_m < limits.pairing_likely_m and found.verdict != "confirmed"
    return None if short and not _half_and_half(shown, limits) else found


def _half_and_half(shown: PairEvidence, limits: Limits) -> bool:
    """Whether two pairings are alike that differ in two pairs, and both stand out from all others.

    So it is where about half of the run is split, and not where a cable is too short. All conductors must be there.
    """
    if len(shown.column) != len(shown.weight):
        return False
    observed = _observed(shown)
    sums = observed @ shown.weight
    best, rival = np.argsort(sums)[::-1][:2].tolist()
    edges = matchings(len(shown.contacts))
    if len(edges) < 4 or len(set(edges[best]) - set(edges[rival])) != 2:
        return False
    others = np.flatnonzero(~np.isin(np.arange(len(sums)), (best, rival)))
    margins = (sums[rival] - sums[others]) / shown.doubt_pf(observed[others] - observed[rival])
    return bool(margins.min() >= limits.pairing_confirmed)


def _observed(shown: PairEvidence) -> Array:
    """Return [matching, observation] how often each pairing holds each observation."""
    holds = memberships(len(shown.contacts))
    observed = np.zeros((len(holds), len(shown.weight)))
    for edge, column in enumerate(shown.column.tolist()):
        if column >= 0:
            observed[:, column] += holds[:, edge]
    return observed


def _measured(seen: Groups, method: PairingMethod) -> bool:
    """Whether conductors were measured against each other throughout, so that seeing nothing means a short cable."""
    values = seen.direct_pf if method == "direct" else seen.two_terminal_pf
    return values is not None and len(values) > 1 and not np.isnan(values).any()


def _against(
    shown: PairEvidence, good: PairEvidence | None, seen: Groups, pattern: Pattern, limits: Limits
) -> Pairing | None:
    """Return the pairing by difference from a good cord: what plugs and sockets add is the same in both.

    The difference, with the good cord's own pairs put back in as they stand out in it, is weighed like a reading.
    None where the two cannot be compared.
    """
    expected = expected_pairs(pattern)
    first, second = np.triu_indices(len(shown.contacts), 1)
    every = len(shown.column) == len(shown.weight)
    if (
        good is None
        or not expected
        or not every
        or good.contacts != shown.contacts
        or len(good.weight) != len(shown.weight)
    ):
        return None
    pairs = {frozenset(pair) for pair in expected}
    partners = np.array(
        [frozenset((shown.contacts[i], shown.contacts[j])) in pairs for i, j in zip(first, second, strict=True)]
    )
    if not partners.any() or partners.all():
        return None
    longer = float(shown.weight.sum() / good.weight.sum())
    if not 1 / limits.pairing_cord_longer < longer < limits.pairing_cord_longer:
        return None
    apart_pf = longer * float(good.weight[partners].mean() - good.weight[~partners].mean())
    weight = shown.weight - longer * good.weight + np.where(partners, apart_pf, 0.0)
    u_pf = np.full(len(weight), max(seen.noise_pf * math.sqrt(2), limits.pairing_cord_floor_pf))
    compared = replace(shown, weight=weight, level_pf=apart_pf, u_pf=u_pf, shared_pf=np.zeros((2, len(weight))))
    return _best(compared, "reference", expected, limits)


def shortest_m(seen: Groups, limits: Limits) -> float:
    """Return the length below which two-terminal values say nothing; direct capacitances say by their margin."""
    shortest = limits.pairing_two_terminal_m if seen.kind == "UTP" else limits.pairing_two_terminal_screened_m
    large = max(seen.pin_pf, default=0.0) > limits.pairing_large_pins_pf
    return shortest * (limits.pairing_large_pins_factor if large else 1.0)


def expected_pairs(pattern: Pattern) -> Pairs:
    """Return the near pairs that a pattern carries to the far end as pairs, in contact order."""
    route = dict(pattern.conductors)
    far = {frozenset(pair) for pair in pattern.far_pairs}
    order = {contact: place for place, contact in enumerate(pattern.near_contacts)}
    kept = []
    for plus, minus in pattern.near_pairs:
        if plus in route and minus in route and frozenset((route[plus], route[minus])) in far:
            kept.append((plus, minus) if order[plus] < order[minus] else (minus, plus))
    return tuple(sorted(kept, key=lambda pair: order[pair[0]]))


def _best(shown: PairEvidence, method: PairingMethod, expected: Pairs, limits: Limits) -> Pairing:
    every = matchings(len(shown.contacts))
    observed = _observed(shown)
    sums = observed @ shown.weight
    wanted = {pair for pair in expected if set(pair) <= set(shown.contacts)}
    holds = memberships(len(shown.contacts))
    agrees = holds @ np.array([edge in wanted for edge in combinations(shown.contacts, 2)], dtype=np.int64)
    top = float(sums.max())
    best = int(np.where(sums > top - TIE_PF, agrees, -1).argmax())
    moved = observed - observed[best]
    away = np.sqrt(((moved * shown.reach) ** 2).sum(axis=1))
    others = np.flatnonzero(away)
    margins = np.zeros(len(every))
    margins[others] = (top - sums[others]) / shown.doubt_pf(moved[others])
    z = float(margins[others].min()) if others.size else 0.0
    apart_pf = float(((top - sums[others]) / away[others] ** 2).min()) * 2 if others.size else 0.0
    contrast = limits.pairing_direct_contrast if method == "direct" else limits.pairing_contrast
    stands_out = apart_pf >= contrast * shown.level_pf
    lay: FourLay | None = "pairs"
    if len(shown.contacts) == 4 and len(shown.weight) == 6:
        lay = quad_lay(shown, observed, method, limits)
        if lay == "quad":
            best, z = diagonals(shown, observed)
            margins[:] = z
        stands_out = lay in ("pairs", "quad")
    pairs = _names(shown, every[best])
    as_expected = int(agrees.argmax()) if wanted else best
    return Pairing(
        pairs=pairs,
        z=z,
        verdict=_verdict(z if stands_out else 0.0, limits),
        method=method,
        split=tuple(pair for pair in expected if pair in wanted.difference(pairs)),
        split_z=float(margins[as_expected]) if wanted and agrees[as_expected] == len(wanted) else None,
        by_exclusion=tuple(pair for pair, edge in zip(pairs, every[best], strict=True) if not shown.seen_alone(edge)),
        lay=lay or "pairs",
    )


def _names(shown: PairEvidence, edges: tuple[tuple[int, int], ...]) -> Pairs:
    return tuple((shown.contacts[i], shown.contacts[j]) for i, j in edges)


def _verdict(z: float, limits: Limits) -> PairingVerdict:
    if z >= limits.pairing_confirmed:
        return "confirmed"
    return "likely" if z >= limits.pairing_likely else "cannot tell"


def split_findings(found: Pairing, seen: Groups, pattern: Pattern, whole: bool) -> tuple[Finding, ...]:
    """Return one finding for each closed group of expected pairs that are right by continuity and yet split.

    whole: both plugs are in the tester, so that continuity counts; else only the near plug was seen, and is what does
    not go with the pairs. In a group with a conductor that is not right
    the pairs tell which end is wrong (`end_of`), and there is no finding of its own.
    """
    route = dict(pattern.conductors)
    expected = expected_pairs(pattern)
    if found.lay == "mixed" and all(_right(contact, route, seen, whole) for contact in route):
        near = tuple(contact for contact in route if any(contact in pair for pair in expected))
        far = tuple(route[contact] for contact in near) if whole else ()
        end: Place = "run"
        return (Finding("split-pair", near, far, end, certainty="likely", detail=found.method),)
    if found.verdict == "cannot tell":
        return ()
    findings = []
    for contacts in _closed_groups((*expected, *found.pairs)):
        inside = [pair for pair in expected if set(pair) <= contacts]
        if not any(pair in found.split for pair in inside):
            continue
        ordered = tuple(contact for contact in route if contact in contacts)
        if not all(_right(contact, route, seen, whole) for contact in ordered):
            continue
        sure = found.verdict == "confirmed" and not any(set(pair) <= contacts for pair in found.by_exclusion)
        findings.append(
            Finding(
                "split-pair",
                ordered,
                tuple(route[contact] for contact in ordered) if whole else (),
                end=None if whole else "near",
                certainty="confirmed" if sure else "likely",
                detail=found.method,
            )
        )
    return tuple(findings)


def _right(contact: str, route: dict[str, str], seen: Groups, whole: bool) -> bool:
    group = seen.of_near(contact)
    return group is not None and seen.near[group] == (contact,) and (not whole or seen.far[group] == (route[contact],))


def end_of(finding: Finding, found: Pairing, seen: Groups, pattern: Pattern) -> Place | None:
    """Return at which end the contacts of a finding break the pairs that are twisted together, None = not known.

    Where one plug has these pairs as the pattern wants them and the other has not, the other is wrong.
    """
    if found.verdict != "confirmed":
        return None
    near = {frozenset(pair) for pair in found.pairs if pair not in found.by_exclusion}
    arrives = {names[0]: seen.far[place] for place, names in enumerate(seen.near) if len(names) == 1}
    far = {
        frozenset((*arrives[a], *arrives[b]))
        for a, b in map(tuple, near)
        if len(arrives.get(a, ())) == 1 and len(arrives.get(b, ())) == 1
    }
    near_right = _as_wanted(finding.near, pattern.near_pairs, near)
    far_right = _as_wanted(finding.far, pattern.far_pairs, far)
    if near_right is None or far_right is None or near_right == far_right:
        return None
    return "far" if near_right else "near"


def _as_wanted(contacts: tuple[str, ...], pairs: Pairs, twisted: set[frozenset[str]]) -> bool | None:
    """Whether the pairs these contacts belong to are twisted pairs; None where a contact's partner is not known."""
    known = frozenset().union(*twisted)
    touched = [frozenset(pair) for pair in pairs if set(pair) & set(contacts)]
    if not touched or not all(pair <= known for pair in touched):
        return None
    return all(pair in twisted for pair in touched)


def _closed_groups(pairs: Pairs) -> list[set[str]]:
    """Return the groups of contacts that hang together by any of the pairs."""
    found: list[set[str]] = []
    for pair in pairs:
        touched = [group for group in found if group & set(pair)]
        found = [group for group in found if not group & set(pair)] + [set(pair).union(*touched)]
    return found

"""What a tester's contacts see of a cable at rest: its pieces of metal, the capacitances between them, what joins them.

Slow against the cable: every piece has one potential. Nodes are pieces of conductors (more than one where one is
broken), contacts that hold nothing, and the reference: the screen, or what an unscreened cable lies on.
"""

from dataclasses import dataclass

import numpy as np

from tests.world.analog.cable import Cable
from tests.world.analog.panels import Array


@dataclass(frozen=True)
class Network:
    """pf: [n, n] direct capacitances between nodes, diagonal 0. of_contact: [18] the node of each contact, near 1 to 8
    and S, then far. reference: the node of the screen or the surroundings.
    """

    pf: Array
    of_contact: tuple[int, ...]
    reference: int


def pieces(cable: Cable) -> tuple[list[list[float]], list[int]]:
    """Return where each conductor is parted, ends included, and the number of each conductor's first piece."""
    bounds, first, number = [], [], 0
    for conductor in range(cable.kind.conductors):
        cuts = sorted(at for one, at in cable.breaks if one == conductor)
        bounds.append([-1.0, *cuts, cable.length_m + 1.0])
        first.append(number)
        number += len(cuts) + 1
    return bounds, first


def network(cable: Cable) -> Network:
    """Return a cable's network with both its plugs."""
    bounds, first = pieces(cable)
    count = sum(len(one) - 1 for one in bounds)
    of_contact: list[int] = []
    extra = count
    reference = extra
    extra += 1
    for plug, last in ((cable.near, False), (cable.far, True)):
        for held in plug.holds:
            if held is None:
                of_contact.append(extra)
                extra += 1
            else:
                of_contact.append(first[held] + (len(bounds[held]) - 2 if last else 0))
        of_contact.append(reference if plug.screened else extra)
        extra += 0 if plug.screened else 1
    pf = np.zeros((extra, extra))
    for section in cable.sections:
        middle = section.start_m + section.length_m / 2
        nodes = [first[c] + sum(cut < middle for cut in bounds[c][1:-1]) for c in range(len(bounds))]
        _put(pf, nodes, section.pf)
        for node, value in zip(nodes, section.to_reference_pf.tolist(), strict=True):
            pf[node, reference] += value
            pf[reference, node] += value
    for joint in cable.joints:
        nodes = [first[c] + sum(cut <= joint.at_m for cut in bounds[c][1:-1]) for c in range(len(bounds))]
        _put(pf, nodes, joint.pf)
    for plug, begin in ((cable.near, 0), (cable.far, 9)):
        nodes = list(of_contact[begin : begin + 8])
        _put(pf, nodes, plug.pf)
        for node, value in zip(nodes, plug.screen_pf.tolist(), strict=True):
            pf[node, reference] += value
            pf[reference, node] += value
    np.fill_diagonal(pf, 0.0)
    return Network(pf, tuple(of_contact), reference)


def _put(pf: Array, nodes: list[int], between: Array) -> None:
    """Add direct capacitances between nodes, each of which stands there once."""
    place = np.ix_(nodes, nodes)
    pf[place] += between


@dataclass(frozen=True)
class Values:
    """True capacitances over the contacts used, pF: [n, n], [n], [n, n]; NaN between contacts of one node."""

    two_terminal: Array
    single: Array
    double: Array


def values(seen: Network, used: range, pins_pf: Array, stray_pf: float) -> Values:
    """Return what a tester measures over the contacts used, whose own capacitances to its ground are pins_pf [18].

    used: all 18, or the first nine where the far plug hangs free. stray_pf: from the reference to the tester's ground.
    single and double: all other contacts used are on ground, but those joined to what is driven; two_terminal: the
    second contact is on ground, all others float.
    """
    size = len(seen.pf)
    own = np.full(size, 1e-6)
    own[seen.reference] += stray_pf
    for contact in used:
        own[seen.of_contact[contact]] += pins_pf[contact]
    whole = np.diag(seen.pf.sum(axis=1) + own) - seen.pf
    nodes = np.array([seen.of_contact[contact] for contact in used])
    held = np.unique(nodes)
    floating = np.setdiff1d(np.arange(size), held)
    grounded = whole[np.ix_(held, held)]
    if len(floating):
        across = whole[np.ix_(held, floating)]
        grounded = grounded - across @ np.linalg.solve(whole[np.ix_(floating, floating)], across.T)
    place = np.searchsorted(held, nodes)
    alone = np.diag(grounded)[place]
    mutual = grounded[np.ix_(place, place)]
    same = nodes[:, None] == nodes[None, :]
    double = np.where(same, alone[:, None], alone[:, None] + alone[None, :] + 2 * mutual)
    elastance = np.linalg.inv(whole)[np.ix_(nodes, nodes)]
    diagonal = np.diag(elastance)
    apart = np.where(same, np.nan, diagonal[:, None] - elastance**2 / diagonal[None, :])
    two = 1 / apart
    lower = np.tril_indices(len(nodes), -1)
    two[lower] = two.T[lower]  # of two contacts the first in order is driven
    np.fill_diagonal(double, np.nan)
    return Values(two, alone, double)


def ohms(cable: Cable) -> Array:
    """Return the ohms between every two of the 18 contacts, inf where nothing joins them, 0 on the diagonal."""
    found = np.full((18, 18), np.inf)
    np.fill_diagonal(found, 0.0)
    broken = {conductor for conductor, _ in cable.breaks}
    for near, held in enumerate(cable.near.holds):
        if held is None or held in broken or held not in cable.far.holds:
            continue
        far = cable.far.holds.index(held)
        ohm = cable.ohm[held] + cable.near.ohm[near] + cable.far.ohm[far]
        ohm += sum(joint.ohm[held] for joint in cable.joints)
        found[near, 9 + far] = found[9 + far, near] = ohm
    if cable.near.screened and cable.far.screened:
        ohm = cable.screen_ohm + cable.near.screen_ohm + cable.far.screen_ohm
        found[8, 17] = found[17, 8] = ohm
    return found

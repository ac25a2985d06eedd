"""Draws one cable of a kind: its maker's tolerances, its own unevenness, plugs, joints, faults, the weather."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from tests.world.analog.cable import CONTACTS, Break, Cable, Joint, Plug, Section, Split, Wet
from tests.world.analog.kinds import Kind, kinds
from tests.world.analog.matrices import Matrices, matrices
from tests.world.analog.panels import EPSILON_0, MU_0, Array
from tests.world.analog.wires import Wire
from wiremap.contact import Contact

Random = np.random.Generator
# Where each contact of a plug finds its conductor: T568A or B (the same pairs), four wires on 1 2 3 6, a row in order.
ORDERS = {8: (0, 1, 2, 4, 5, 3, 6, 7), 4: (0, 1, 2, None, None, 3, None, None)}
IN_ORDER = (0, 1, 2, 3, 4, 5, 6, 7)
# Standard deviations, all assumed: of makers (in the steps of sections.changed) and from pair to pair.
MAKER = {"permittivity": 1.0, "coat": 0.45, "clear": 0.5}
FOAM, FOAM_MORE = 2.0, 1.8  # below this permittivity insulation is foamed, and how much gas is in it differs more
LAY = 0.15
PAIR_PERMITTIVITY, PARTNER, OTHERS, TO_SCREEN = 0.007, 0.02, 0.08, 0.03
WIRE, WIRE_EACH = 0.008, 0.003  # diameter
Z0_FROM_KIND = 0.08  # makers throw away what is farther from what they sell
STEP_PF = 5.0  # direct capacitance per metre from which unevenness is the full figure; less has less in proportion
NEXT_PF, SECOND_PF, PLUG_SCATTER, SHELL_PF = 1.2, 0.35, 0.35, 0.5
CROWDED_BY_STRANDS = 0.12
ROUGH_PIECES = 6


@dataclass(frozen=True)
class Reel:
    """A make as it came out: direct capacitances per metre with and without insulation, its wire.

    longer: [n] each conductor's length over that of its kind, thick: [n] its diameter over the wire's.
    """

    pf: Array
    to_reference_pf: Array
    bare_pf: Array
    bare_to_reference_pf: Array
    wire: Wire
    thick: Array
    longer: Array

    def nh(self, tight: Array) -> Array:
        """Return external inductances, nH/m, where conductors' capacitances are `tight` times as large [n]."""
        both = np.sqrt(np.outer(tight, tight))
        bare = maxwell(self.bare_pf * both, self.bare_to_reference_pf * tight)
        inverse = MU_0 * EPSILON_0 * 1e21 * np.linalg.inv(bare)
        return np.asarray(inverse * np.sqrt(np.outer(self.longer, self.longer)))


def _direct(maxwell: Array) -> tuple[Array, Array]:
    """Return direct capacitances between conductors [n, n] and to the reference [n] of Maxwell's matrix."""
    between = -maxwell.copy()
    np.fill_diagonal(between, 0.0)
    return np.maximum(between, 0.0), np.maximum(maxwell.sum(axis=1), 1e-6)


def maxwell(between: Array, to_reference: Array) -> Array:
    """Return Maxwell's matrix of direct capacitances."""
    return np.asarray(np.diag(between.sum(axis=1) + to_reference) - between)


def _symmetric(size: int, sd: float, rng: Random) -> Array:
    drawn = np.triu(rng.normal(0.0, sd, (size, size)), 1)
    return np.asarray(drawn + drawn.T)


def _uneven(kind: Kind, quad: float, rng: Random) -> tuple[Array, Array]:
    """Return logarithms by which geometry differs: between conductors [n, n], to the reference [n]; quad: of a quad."""
    size = kind.conductors
    if kind.layout in ("row", "quad"):
        return _symmetric(size, quad if kind.layout == "quad" else PARTNER, rng), rng.normal(0.0, TO_SCREEN, size)
    pairs = size // 2
    blocks = _symmetric(pairs, OTHERS, rng) + np.diag(rng.normal(0.0, PARTNER, pairs))
    return np.kron(blocks, np.ones((2, 2))), np.repeat(rng.normal(0.0, TO_SCREEN, pairs), 2)


def _factor(was: Array, other: Array, steps: float) -> Array:
    """Return by what was is moved in so many steps of that which moves it to other, in proportion; 1 where it is 0."""
    safe = (was > 1e-4) & (other > 1e-4)
    return np.asarray((np.where(safe, other, 1.0) / np.where(safe, was, 1.0)) ** steps)


def _reel(kind: Kind, known: Matrices, metal: str, rng: Random, spread: float, quad: float) -> Reel:
    """Draw a make; geometry moves capacitance with and without insulation alike, so that speed stays what it is."""
    vacuum = {word: MU_0 * EPSILON_0 * 1e21 * np.linalg.inv(nh) for word, nh in known.nh.items()}
    pf, to_reference = _direct(known.pf["base"])
    bare, bare_to = _direct(vacuum["base"])
    for word, usual in MAKER.items():
        sd = usual * spread
        steps = float(np.clip(rng.normal(0.0, sd), -2 * sd, 2 * sd))
        if word == "permittivity" and kind.coat < FOAM:
            steps *= FOAM_MORE
        if word == "clear":
            steps = max(steps, -0.5 * kind.clear_mm / 0.05)
        for whole, base, kept in ((known.pf, pf, to_reference), (vacuum, bare, bare_to)):
            was, other = _direct(whole["base"]), _direct(whole[word])
            base *= _factor(was[0], other[0], steps)
            kept *= _factor(was[1], other[1], steps)
    between, outward = (spread * one for one in _uneven(kind, quad, rng))
    colour = np.exp(np.repeat(rng.normal(0.0, spread * PAIR_PERMITTIVITY, kind.conductors // 2), 2))
    thickness = math.exp(rng.normal(0.0, spread * WIRE))
    core = float(rng.uniform(0.92, 0.95)) if metal == "clad" else 0.0
    turns = np.array(kind.turns)
    each = 2 if kind.layout.startswith("pairs") else kind.conductors
    longer = (1 + (turns - 1) * np.exp(np.repeat(rng.normal(0.0, LAY, kind.conductors // each), each))) / turns
    more = colour * longer
    return Reel(
        pf * np.exp(between) * np.sqrt(np.outer(more, more)),
        to_reference * np.exp(outward) * more,
        bare * np.exp(between),
        bare_to * np.exp(outward),
        Wire(kind.strands, kind.strand_mm * 1e-3 * thickness, core),
        np.exp(rng.normal(0.0, WIRE_EACH, kind.conductors)),
        longer,
    )


def mode(pf: Array, nh: Array, one: int, other: int) -> tuple[float, float, float]:
    """Return pF/m, speed over light's and impedance of two conductors, all others floating without current.

    pf: Maxwell's matrix.
    """
    elastance = np.linalg.inv(pf)
    farad = 1e-12 / float(elastance[one, one] + elastance[other, other] - 2 * elastance[one, other])
    henry = 1e-9 * float(nh[one, one] + nh[other, other] - 2 * nh[one, other])
    return farad * 1e12, 1 / math.sqrt(farad * henry) / 299_792_458.0, math.sqrt(henry / farad)


def line(cable: Cable, one: str, other: str, section: int | None = None) -> tuple[float, float, float]:
    """Return what `mode` does, of what two near contacts hold: a pair's truth, of a section or of the whole run."""
    chosen = cable.sections if section is None else cable.sections[section : section + 1]
    length = sum(piece.length_m for piece in chosen)
    pf = np.sum([maxwell(piece.pf, piece.to_reference_pf) for piece in chosen], axis=0) / length
    nh = np.sum([piece.nh_per_m * piece.length_m for piece in chosen], axis=0) / length
    return mode(pf, nh, _conductor(cable.near.holds, one), _conductor(cable.near.holds, other))


def measured_pairs(kind: Kind) -> tuple[tuple[int, int], ...]:
    """Return the conductors that are pairs; of a row those that lie where a plug has pairs."""
    return tuple((k, k + 1) for k in range(0, kind.conductors, 2)) if kind.layout != "row" else ((0, 1), (3, 4), (6, 7))


def reel(kind: Kind, metal: str, rng: Random, spread: float = 1.0, quad: float = PARTNER) -> Reel:
    """Draw makes until one has every pair's impedance within Z0_FROM_KIND of the kind's; metal: "copper" or "clad".

    spread: by so many times as much as usual makes differ, and keep to their kind's impedance. quad: the asymmetry of a
    star quad, the relative standard deviation of its six direct capacitances, the same along the whole run.
    """
    if metal not in ("copper", "clad"):
        raise ValueError(f"metal is 'copper' or 'clad', not {metal!r}")
    known = matrices()[kind.name]
    pairs = measured_pairs(kind)
    sold = [mode(known.pf["base"], known.nh["base"], *pair)[2] for pair in pairs]
    even = np.ones(kind.conductors)
    while True:
        found = _reel(kind, known, metal, rng, spread, quad)
        ohms = [mode(maxwell(found.pf, found.to_reference_pf), found.nh(even), *pair)[2] for pair in pairs]
        if all(abs(ohm / usual - 1) < spread * Z0_FROM_KIND for ohm, usual in zip(ohms, sold, strict=True)):
            return found


def _plug(holds: tuple[int | None, ...], screened: bool, poor: Sequence[tuple[Contact, float]], rng: Random) -> Plug:
    pf = np.zeros((8, 8))
    for apart, mean in ((1, NEXT_PF), (2, SECOND_PF)):
        for a in range(8 - apart):
            pf[a, a + apart] = pf[a + apart, a] = mean * max(0.2, 1 + PLUG_SCATTER * rng.normal())
    shell = SHELL_PF * np.maximum(0.2, 1 + PLUG_SCATTER * rng.normal(size=8)) if screened else np.zeros(8)
    ohm = 0.012 * np.exp(rng.normal(0.0, 0.4, 8))
    for contact, more in poor:
        ohm[CONTACTS.index(contact.name)] += more
    return Plug(holds, pf, shell, tuple(ohm.tolist()), screened, float(rng.uniform(0.005, 0.03)))


def _section(
    found: Reel, start: float, stop: float, order: Sequence[int], wet: float, uneven: float, rough: float, rng: Random
) -> Section:
    """Return a piece of the run; order: which place of the cross-section each conductor takes there.

    wet: factor of capacitance alone. uneven, rough: as `draw` has them.
    """
    length = stop - start
    size = len(order)
    each = math.sqrt(0.5) * rough  # half of it all pairs have alike
    tight = np.exp(rng.normal(0.0, each) + np.repeat(rng.normal(0.0, each, size // 2), 2))
    both = np.sqrt(np.outer(tight, tight))
    between, outward = found.pf * both * length, found.to_reference_pf * tight * length
    # A random walk along the run; what is short against a turn of the pairs has not walked yet.
    walk = uneven * math.sqrt(length) * length / (length + 0.05)
    off = _symmetric(size, walk, rng) * np.clip(found.pf / STEP_PF, 0.0, 1.0)
    off_outward = rng.normal(0.0, walk, size) * np.clip(found.to_reference_pf / STEP_PF, 0.0, 1.0)
    between = between + np.clip(off, -0.6 * between, 0.6 * between)
    outward = outward + np.clip(off_outward, -0.6 * outward, 0.6 * outward)
    nh = found.nh(tight)
    places = np.ix_(order, order)
    return Section(start, length, between[places] * wet, outward[list(order)] * wet, nh[places])


def _joint(at_m: float, size: int, rng: Random) -> Joint:
    pf = np.zeros((size, size))
    for a in range(size - 1):
        pf[a, a + 1] = pf[a + 1, a] = NEXT_PF * max(0.2, 1 + PLUG_SCATTER * rng.normal())
    return Joint(at_m, tuple(float(value) for value in 0.02 * np.exp(rng.normal(0.0, 0.5, size))), pf)


def draw(
    kind: Kind | str,
    length_m: float,
    rng: Random,
    *,
    splits: Sequence[Split] = (),
    breaks: Sequence[Break] = (),
    wet: Wet | None = None,
    joints: Sequence[float] = (),
    poor: Sequence[tuple[Contact, float]] = (),
    asymmetry_pf: float = 0.5,
    quad_asymmetry: float = PARTNER,
    roughness: float = 0.01,
    metal: str = "copper",
    temperature_c: float | None = None,
    screen_at: tuple[bool, bool] = (True, True),
    of: Reel | None = None,
) -> Cable:
    """Draw a cable with both its plugs; every number of it stands in what is returned.

    kind: or its name. splits, breaks, wet, joints (metres from the near plug): faults, any number; conductors are named
    by their near contacts. poor: contacts of plugs with so many ohms more. asymmetry_pf: how far direct capacitances
    walk at random in a metre; they do so by the root of the length. quad_asymmetry: of a star quad, as `reel` has it;
    of any other kind nothing (the make's where `of` is given). roughness: relative deviation of impedance from
    piece to piece of ROUGH_PIECES, each a metre at least, with the speed unchanged (1 % is assumed).
    metal: "copper" or "clad". temperature_c: None = -10 to 60, evenly. screen_at: whether a screen is taken to the near
    plug and to the far one. of: the make it is cut from (metal is then the make's), None = any.
    ValueError where a fault lies outside the cable or names a contact without a conductor.
    """
    kind = kinds()[kind] if isinstance(kind, str) else kind
    found = of or reel(kind, metal, rng, quad=quad_asymmetry)
    warm = float(rng.uniform(-10.0, 60.0)) if temperature_c is None else temperature_c
    holds = IN_ORDER if kind.layout == "row" else ORDERS[kind.conductors]
    sections = []
    faults_at = (*joints, *(one.at_m for one in breaks))
    for start, stop in pairwise(_cuts(length_m, faults_at, (*splits, *((wet,) if wet else ())), roughness)):
        middle, order = (start + stop) / 2, list(range(kind.conductors))
        for one in splits:
            if one.start_m < middle < one.start_m + one.length_m:
                a, b = (_conductor(holds, contact) for contact in one.exchanged)
                order[a], order[b] = order[b], order[a]
        factor = wet.factor if wet and wet.start_m < middle < wet.start_m + wet.length_m else 1.0
        sections.append(_section(found, start, stop, order, factor, asymmetry_pf, roughness, rng))
    turned = np.array(kind.turns) * found.longer * length_m / found.thick**2
    screened = kind.screen != "none"
    return Cable(
        kind=kind,
        length_m=length_m,
        temperature_c=warm,
        wire=found.wire,
        crowding=matrices()[kind.name].crowding * (1 + CROWDED_BY_STRANDS * float(rng.uniform()) * (kind.strands > 1)),
        sections=tuple(sections),
        ohm=tuple(float(ohm) for ohm in found.wire.ohm_per_m(warm) * turned),
        near=_plug(holds, screened and screen_at[0], [one for one in poor if one[0].end == "near"], rng),
        far=_plug(holds, screened and screen_at[1], [one for one in poor if one[0].end == "far"], rng),
        joints=tuple(_joint(at, kind.conductors, rng) for at in joints),
        breaks=tuple((_conductor(holds, one.contact), min(one.at_m, length_m)) for one in breaks),
        screen_ohm=float(rng.uniform(0.008, 0.025)) * length_m if screened else 0.0,
    )


def _cuts(length_m: float, faults_at: Sequence[float], spans: Sequence[Split | Wet], roughness: float) -> list[float]:
    """Return where one section ends and the next begins, metres, both ends of the cable among them."""
    cuts = {0.0, length_m, *faults_at}
    for span in spans:
        cuts |= {span.start_m, span.start_m + span.length_m}
    if min(cuts) < 0 or max(cuts) > length_m + 1e-9:
        raise ValueError(f"a fault lies outside the cable of {length_m} m")
    count = max(1, min(ROUGH_PIECES, int(length_m))) if roughness > 0 else 1
    cuts |= {length_m * piece / count for piece in range(1, count)}
    return sorted({min(cut, length_m) for cut in cuts})


def _conductor(holds: Sequence[int | None], contact: str) -> int:
    found = holds[CONTACTS.index(contact)]
    if found is None:
        raise ValueError(f"contact {contact} holds no conductor")
    return found

"""From a Reading to what the conductors show: zero taken off, contacts that are joined brought together.

A group is what hangs together as metal: a conductor with its near and far contact, what is left of a broken one
at one end, or several conductors shorted.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from wiremap.cable.limits import Limits
from wiremap.cable.materials import CableKind
from wiremap.cable.patterns import Pattern
from wiremap.judge.run.network import Array, direct, pair_capacitance
from wiremap.judge.wiring.continuity import fit
from wiremap.judge.wiring.nets import Cell, Two, cells, joints, without_resistors
from wiremap.judge.wiring.terminators import without_terminators
from wiremap.reading.joined import nets, ohms

if TYPE_CHECKING:
    from wiremap.reading.reading import Reading

Matrix = tuple[tuple[float, ...], ...]
Screens = tuple[int | None, int | None]
LENGTHS_M = np.geomspace(0.02, 2000.0, 241)


@dataclass(frozen=True, slots=True)
class Groups:
    """Capacitances between groups, picofarads; NaN where nothing was measured, 0 on the diagonal.

    near, far: contacts of each group at either end; the screen is in none. places: where they stand in the
        reading's order; of two contacts the first in order is driven.
    two_terminal_pf: [i][j] with all others floating, the tester's own taken off. direct_pf: [i][j] by grounded
        groups. single_pf: [i] against all others on ground. None = not measured.
    pin_pf: what the tester's contacts add to each group; it stays in the network while the group floats.
    noise_pf: standard deviation of one value by repeats. sigma_pf: of a two-terminal value, plugs included.
        direct_sigma_pf: of what a direct value contributes to the difference between two pairings (its single
        parts are the same in every one).
    screen_pf: what the near and the far screen contact show to a conductor (by two-terminal values: beyond what a
        bare contact does), NaN = not measured.
    screen_tied: the screen was on ground. kind: the cable that a screen, or none, suggests.
    """

    near: tuple[tuple[str, ...], ...]
    far: tuple[tuple[str, ...], ...]
    places: tuple[tuple[int, ...], ...]
    two_terminal_pf: Matrix | None
    direct_pf: Matrix | None
    single_pf: tuple[float, ...] | None
    pin_pf: tuple[float, ...]
    noise_pf: float
    sigma_pf: float
    direct_sigma_pf: float
    screen_pf: tuple[float, float]
    screen_tied: bool
    kind: str

    def of_near(self, contact: str) -> int | None:
        """Return the number of the group a near contact is in."""
        return next((number for number, names in enumerate(self.near) if contact in names), None)

    def of_far(self, contact: str) -> int | None:
        """Return the number of the group a far contact is in."""
        return next((number for number, names in enumerate(self.far) if contact in names), None)


def conducts(reading: "Reading", pattern: Pattern | None, limits: Limits) -> bool:
    """Whether anything leaks, or a resistor sits, between contacts; capacitance cannot be believed meanwhile."""
    found = _cells(reading, pattern, limits)
    if Cell.LEAKAGE in found.values():
        return True
    if pattern is None or (not pattern.resistances and pattern.terminators is None):
        return False
    laid = fit(pattern, reading.near_contacts, reading.far_contacts)
    read = ohms(reading.resistance_ohm)
    ohm = [[read[i][j] for j in laid.order] for i in laid.order]
    plain = cells(ohm, laid.partner, limits)
    if laid.bus is not None:
        return bool(without_terminators(ohm, plain, laid.partner, laid.bus, laid.near_count, limits)[1])
    return without_resistors(ohm, plain, laid.resistors) != plain


def groups(reading: "Reading", pattern: Pattern | None, limits: Limits) -> Groups | None:
    """Return what each group of contacts shows to the others; None where no capacitance was measured."""
    seen = reading.capacitance
    if seen is None or (seen.two_terminal_pf is None and (seen.single_pf is None or seen.double_pf is None)):
        return None
    count = len(reading.near_contacts)
    labels = nets(len(reading.contacts), joints(_cells(reading, pattern, limits)))
    screens = _screens(reading, pattern)
    screen_nets = {labels[place] for place in screens if place is not None}
    used = range(len(labels) if reading.far == "tester" else count)
    members: dict[int, list[int]] = {}
    for place in used:
        if labels[place] not in screen_nets:
            members.setdefault(labels[place], []).append(place)
    inside = list(members.values())
    pin, jack, jack_direct = _empty_sockets(reading)
    pins = np.array([sum(pin[place] for place in group) for group in inside])
    scale = reading.calibration.capacitance_scale if reading.calibration else 1.0

    two = between = single = None
    screen_pf = (math.nan, math.nan)
    if seen.two_terminal_pf is not None:
        own = pin.copy()
        for group, pin_pf in zip(inside, pins.tolist(), strict=True):
            own[group] = pin_pf
        raw = _floats(seen.two_terminal_pf) - _driven(own)
        two = (_between(raw, inside) - _summed(jack, inside)) * scale
        screen_pf = _screen_two_terminal_pf(raw, two, screens, inside)
    if seen.single_pf is not None and seen.double_pf is not None:
        alone = np.array([math.nan if value is None else value for value in seen.single_pf])
        single = np.array([_mean(alone[group]) for group in inside])
        double = _floats(seen.double_pf)
        screen_pf = _screen_direct_pf(alone, double, screens, inside)
        shown = direct(single, _between(double, inside))
        between = (shown - _summed(jack_direct, inside)) * scale
        single = (single - pins) * scale
    through = None not in screens and labels[screens[0] or 0] == labels[screens[1] or 0]
    screened = through or any(value > limits.screened_pf for value in screen_pf)
    sd = (seen.sd_pf or 0.0) / math.sqrt(seen.repeats) / _averaged(inside)
    return Groups(
        near=tuple(tuple(reading.near_contacts[p] for p in group if p < count) for group in inside),
        far=tuple(tuple(reading.far_contacts[p - count] for p in group if p >= count) for group in inside),
        places=tuple(map(tuple, inside)),
        two_terminal_pf=None if two is None else _tuples(two),
        direct_pf=None if between is None else _tuples(between),
        single_pf=None if single is None else tuple(single.tolist()),
        pin_pf=tuple(pins.tolist()),
        noise_pf=sd,
        sigma_pf=max(sd, limits.pairing_floor_pf),
        direct_sigma_pf=max(sd / 2, limits.pairing_floor_pf),
        screen_pf=screen_pf,
        screen_tied=seen.screen_tied,
        kind="F/UTP" if screened else "UTP",
    )


def cord_groups(reading: "Reading", pattern: Pattern | None, limits: Limits) -> Groups | None:
    """Return what the good cord kept with the calibration shows, contact by contact as this cable; None = none kept."""
    known, seen = reading.calibration, reading.capacitance
    if known is None or seen is None or known.cord_pf is None:
        return None
    cord = replace(seen, two_terminal_pf=known.cord_pf, single_pf=known.cord_single_pf, double_pf=known.cord_double_pf)
    return groups(replace(reading, capacitance=cord), pattern, limits)


def pair_length_m(seen_pf: Array, kind: str, pin_pf: float, screen_tied: bool, per_m: float, limits: Limits) -> Array:
    """Return the length at which a pair, in a network with the tester's pins, shows each of `seen_pf` [m].

    kind: its name, which gives the shape of the network; it is scaled so that a pair has `per_m` picofarads in a metre.
    """
    curve, mutual = _curve(limits.materials.kind(kind), round(pin_pf, 1), screen_tied, limits.stray_pf)
    scaled: Array = np.interp(seen_pf, curve, LENGTHS_M * mutual) / per_m
    return scaled


@lru_cache(maxsize=256)
def _curve(kind: CableKind, pin_pf: float, screen_tied: bool, stray_pf: float) -> tuple[Array, float]:
    """Return what a pair shows at LENGTHS_M, and picofarads of a metre of it alone."""
    mutual = float(pair_capacitance(kind, np.ones(1), 0.0, False, stray_pf=0.0)[0])
    return pair_capacitance(kind, LENGTHS_M, pin_pf, screen_tied, stray_pf), mutual


def _cells(reading: "Reading", pattern: Pattern | None, limits: Limits) -> dict[Two, Cell]:
    """Return what each two contacts are to each other, in the reading's order."""
    partner = [-1] * len(reading.contacts)
    for near, far in pattern.conductors if pattern else ():
        if near in reading.near_contacts and far in reading.far_contacts:
            partner[reading.near_contacts.index(near)] = len(reading.near_contacts) + reading.far_contacts.index(far)
    return cells(ohms(reading.resistance_ohm), partner, limits)


def _screens(reading: "Reading", pattern: Pattern | None) -> Screens:
    """Return where the near and far screen contacts stand; "S" where no pattern says."""
    names = (pattern.near_screen, pattern.far_screen) if pattern else ("S", "S")
    count = len(reading.near_contacts)
    near = reading.near_contacts.index(names[0]) if names[0] in reading.near_contacts else None
    far = count + reading.far_contacts.index(names[1]) if names[1] in reading.far_contacts else None
    return near, far


def _empty_sockets(reading: "Reading") -> tuple[Array, Array, Array]:
    """Return each contact's own [n] and what empty sockets have between contacts, two-terminal and direct [n, n]."""
    size = len(reading.contacts)
    known = reading.calibration
    seen = reading.capacitance
    nothing = np.zeros((size, size))
    if known is None or known.open_pf is None:
        reported = seen.pin_pf if seen is not None else None
        pin_pf = reported if reported is not None else known.pin_pf if known is not None else 0.0
        return np.full(size, pin_pf), nothing, nothing
    shown = _floats(known.open_pf)
    shown[np.tril_indices(size)] = math.nan
    pin = np.array([_median(row) for row in shown])
    pin[pin == 0.0] = _median(pin[pin > 0.0])  # the last contact is never driven in a pair
    jack = shown - pin[:, None]
    jack = np.where(np.isfinite(jack), jack, 0.0)
    jack += jack.T
    if known.open_single_pf is None or known.open_double_pf is None:
        return pin, jack, jack
    alone = np.array([math.nan if value is None else value for value in known.open_single_pf])
    between = direct(alone, _floats(known.open_double_pf))
    return pin, jack, np.where(np.isfinite(between), between, 0.0)


def _driven(own: Array) -> Array:
    """Return [i, j] what the driven one of two contacts has of its own: of two, the first in order is driven."""
    places = np.arange(len(own))
    driven: Array = own[np.minimum(places[:, None], places[None, :])]
    return driven


def _screen_direct_pf(alone: Array, double: Array, screens: Screens, inside: list[list[int]]) -> tuple[float, float]:
    """Return the mean direct capacitance of each screen contact to the conductors, by grounded groups."""
    places = [place for group in inside for place in group]
    found = []
    for screen in screens:
        values = [] if screen is None else (alone[screen] + alone[places] - double[screen, places]) / 2
        found.append(_mean(np.asarray(values, dtype=np.float64)))
    return found[0], found[1]


def _screen_two_terminal_pf(
    raw: Array, between: Array, screens: Screens, inside: list[list[int]]
) -> tuple[float, float]:
    """Return by how much conductors show each screen contact more than they show any other conductor.

    A contact with nothing in it still shows what comes round through the others to the tester's ground, and that
    is less than any conductor shows.
    """
    least = np.where(np.eye(len(inside), dtype=bool), math.nan, between)
    found = []
    for screen in screens:
        values = [math.nan]
        if screen is not None and len(inside) > 1:
            values = [_mean(raw[screen, group]) - _least(row) for group, row in zip(inside, least, strict=True)]
        found.append(_median_or_nan(np.array(values)))
    return found[0], found[1]


def _averaged(inside: list[list[int]]) -> float:
    """Return by how much averaging over a conductor's contacts narrows a value: two contacts each, four readings."""
    return float(np.median([len(group) for group in inside])) if inside else 1.0


def _floats(rows: Sequence[Sequence[float | None]]) -> Array:
    return np.array([[math.nan if value is None else value for value in row] for row in rows])


def _tuples(values: Array) -> Matrix:
    return tuple(tuple(row) for row in values.tolist())


def _mean(values: Array) -> float:
    finite = values[np.isfinite(values)]
    return float(finite.mean()) if finite.size else math.nan


def _least(values: Array) -> float:
    finite = values[np.isfinite(values)]
    return float(finite.min()) if finite.size else math.nan


def _median_or_nan(values: Array) -> float:
    finite = values[np.isfinite(values)]
    return float(np.median(finite)) if finite.size else math.nan


def _median(values: Array) -> float:
    finite = values[np.isfinite(values)]
    return float(np.median(finite)) if finite.size else 0.0


def _between(raw: Array, inside: list[list[int]]) -> Array:
    """Return the mean over all contacts of each two groups."""
    result = np.zeros((len(inside), len(inside)))
    for i, one in enumerate(inside):
        for j in range(i):
            result[i, j] = result[j, i] = _mean(raw[np.ix_(one, inside[j])])
    return result


def _summed(jack: Array, inside: list[list[int]]) -> Array:
    """Return what the sockets alone have between each two groups: all their contacts side by side."""
    result = np.zeros((len(inside), len(inside)))
    for i, one in enumerate(inside):
        for j in range(i):
            result[i, j] = result[j, i] = float(jack[np.ix_(one, inside[j])].sum())
    return result

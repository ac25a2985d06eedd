"""From a Reading to what the conductors show: zero taken off, contacts that are joined brought together.

A group is what hangs together as metal: a conductor with its near and far contact, what is left of a broken one
at one end, or several conductors shorted.
"""

import math
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from wiremap.cable.limits import Limits
from wiremap.cable.materials import KindMatrices, Matrix
from wiremap.judge.run.network import Array, direct, pair_capacitance
from wiremap.judge.wiring.cells import Two
from wiremap.judge.wiring.laid_reading import LaidReading, in_order
from wiremap.judge.wiring.layout import NONE, Layout

CURVE_LENGTHS_M = np.geomspace(0.02, 2000.0, 241)


class Groups(Struct, frozen=True):
    """Capacitances between groups, picofarads; NaN where nothing was measured, 0 on the diagonal.

    near, far: contacts of each group at either end; the screen is in none. places: their indices in the layout; of
        two contacts the first in order is driven.
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


def groups(laid: LaidReading) -> Groups | None:
    """Return what each group of contacts shows to the others; None where no capacitance was measured."""
    reading, layout, limits = laid.reading, laid.layout, laid.limits
    seen = reading.capacitance
    if seen is None or (seen.two_terminal_pf is None and (seen.single_pf is None or seen.double_pf is None)):
        return None
    screens = layout.screens
    screen_nets = {laid.net[place] for place in screens if place != NONE}
    used = range(len(laid.net)) if reading.far == "tester" else layout.near_places
    of_conductors = [group for group in laid.groups if laid.net[group[0]] not in screen_nets]
    inside = [kept for group in of_conductors if (kept := [place for place in group if place in used])]
    pin, jack, jack_direct = _empty_sockets(laid)
    pins = np.array([sum(pin[place] for place in group) for group in inside])
    scale = reading.calibration.capacitance_scale if reading.calibration else 1.0

    two = between = single = None
    screen_pf = (math.nan, math.nan)
    if seen.two_terminal_pf is not None:
        own = pin.copy()
        for group, pin_pf in zip(inside, pins.tolist(), strict=True):
            own[group] = pin_pf
        raw = _floats(seen.two_terminal_pf, layout) - _driven(own)
        two = (_between(raw, inside) - _summed(jack, inside)) * scale
        screen_pf = _screen_two_terminal_pf(raw, two, screens, inside)
    if seen.single_pf is not None and seen.double_pf is not None:
        alone = _row(seen.single_pf, layout)
        single = _of_groups(alone, _members(inside, len(alone)))
        double = _floats(seen.double_pf, layout)
        screen_pf = _screen_direct_pf(alone, double, screens, inside)
        shown = direct(single, _between(double, inside))
        between = (shown - _summed(jack_direct, inside)) * scale
        single = (single - pins) * scale
    through = NONE not in screens and laid.net[screens[0]] == laid.net[screens[1]]
    screened = through or any(value > limits.screened_pf for value in screen_pf)
    sd = (seen.sd_pf or 0.0) / math.sqrt(seen.repeats) / _averaged(inside)
    return Groups(
        near=tuple(map(layout.near, inside)),
        far=tuple(map(layout.far, inside)),
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


def unsteady_pf(laid: LaidReading) -> float | None:
    """Return by how much joined contacts differ at most in what they show, pF; None where that is no more than may be.

    Joined contacts are one conductor to a capacitance, measured at each of them one after the other: what differs was
    not joined while one of them was measured. One end alone, or one contact of a conductor, says nothing. Two-terminal
    values are compared where the same conductor is driven: each shows its own way to the tester's ground.
    """
    seen, limits = laid.reading.capacitance, laid.limits
    joined = [group for group in laid.groups if len(group) > 1]
    if seen is None or len(joined) < 2:
        return None
    ends = np.array([(group[0], group[-1]) for group in joined]).T
    worst = 0.0
    for rows, driven_first in ((seen.two_terminal_pf, True), (seen.double_pf, False)):
        if rows is None:
            continue
        values = _floats(rows, laid.layout)
        if driven_first:
            values[np.tril_indices(len(values))] = math.nan
        shown = np.stack([values[np.ix_(one, other)] for one in ends for other in ends])
        known = np.isfinite(shown) & ~np.eye(len(joined), dtype=bool)
        most = np.where(known, shown, -math.inf).max(axis=0)
        apart = np.where(known.any(axis=0), most - np.where(known, shown, math.inf).min(axis=0), 0.0)
        may_be = limits.unsteady_pf + limits.unsteady_share * np.where(known.any(axis=0), most, 0.0)
        worst = max(worst, float(apart[apart > may_be].max(initial=0.0)))
    return round(worst, 1) or None


def joined_later(laid: LaidReading) -> tuple[tuple[str, str], ...]:
    """Return the conductors, near and far contact, that are open by their ohms and were whole when capacitances were.

    By grounded groups two parts of a broken conductor show together what both show. One conductor shows the same at
    either end and no more at both; or nothing at one end, while the tester holds the other, taken for another, down.
    """
    seen, layout, limits = laid.reading.capacitance, laid.layout, laid.limits
    if seen is None or seen.single_pf is None or seen.double_pf is None or laid.reading.far != "tester":
        return ()
    alone, double = _row(seen.single_pf, layout), _floats(seen.double_pf, layout)
    unjoined = {group[0] for group in laid.groups if len(group) == 1}
    found = []
    for a, b in layout.conductors:
        if not {a, b} <= unjoined or not np.isfinite(double[a, b]):
            continue
        if np.isnan(alone[[a, b]]).all() and np.isfinite(alone).any():
            found.append((layout.names[a], layout.names[b]))
        may_be = limits.unsteady_pf + limits.unsteady_share * alone[a]
        is_one = abs(alone[a] - alone[b]) <= may_be and abs(double[a, b] - alone[a]) <= may_be
        if is_one and alone[a] > 2 * may_be:  # with less, one conductor and two bare contacts show the same
            found.append((layout.names[a], layout.names[b]))
    return tuple(found)


def cord_groups(laid: LaidReading) -> Groups | None:
    """Return what the good cord kept with the calibration shows, contact by contact as this cable; None = none kept."""
    known, seen = laid.reading.calibration, laid.reading.capacitance
    if known is None or seen is None or known.cord_pf is None:
        return None
    cord = replace(seen, two_terminal_pf=known.cord_pf, single_pf=known.cord_single_pf, double_pf=known.cord_double_pf)
    return groups(replace(laid, reading=replace(laid.reading, capacitance=cord)))


def pair_mutual_pf(shown_pf: float, kind: str, pin_pf: float, screen_tied: bool, limits: Limits) -> float:
    """Return the capacitance of a pair alone, all else floating, that shows so much in a network with the pins."""
    curve, mutual_pf = _curve(limits.materials.kind(kind), round(pin_pf, 1), screen_tied, limits.stray_pf)
    return float(np.interp(shown_pf, curve, CURVE_LENGTHS_M * mutual_pf))


def pair_length_m(seen_pf: Array, kind: str, pin_pf: float, screen_tied: bool, per_m: float, limits: Limits) -> Array:
    """Return the length at which a pair, in a network with the tester's pins, shows each of `seen_pf` [m].

    kind: its name, which gives the shape of the network; it is scaled so that a pair has `per_m` picofarads in a metre.
    """
    curve, mutual = _curve(limits.materials.kind(kind), round(pin_pf, 1), screen_tied, limits.stray_pf)
    scaled: Array = np.interp(seen_pf, curve, CURVE_LENGTHS_M * mutual) / per_m
    return scaled


@lru_cache(maxsize=256)
def _curve(kind: KindMatrices, pin_pf: float, screen_tied: bool, stray_pf: float) -> tuple[Array, float]:
    """Return what a pair shows at LENGTHS_M, and picofarads of a metre of it alone."""
    mutual = float(pair_capacitance(kind, np.ones(1), 0.0, False, stray_pf=0.0)[0])
    return pair_capacitance(kind, CURVE_LENGTHS_M, pin_pf, screen_tied, stray_pf), mutual


def _empty_sockets(laid: LaidReading) -> tuple[Array, Array, Array]:
    """Return each contact's own [n] and what empty sockets have between contacts, two-terminal and direct [n, n]."""
    size = len(laid.net)
    known, seen = laid.reading.calibration, laid.reading.capacitance
    nothing = np.zeros((size, size))
    if known is None or known.open_pf is None:
        reported = seen.pin_pf if seen is not None else None
        pin_pf = reported if reported is not None else known.pin_pf if known is not None else 0.0
        return np.full(size, pin_pf), nothing, nothing
    shown = _floats(known.open_pf, laid.layout)
    shown[np.tril_indices(size)] = math.nan
    pin = _medians(shown)
    pin = np.where(pin > 0.0, pin, _medians(pin[pin > 0.0]))  # the last contact is never driven in a pair
    jack = shown - pin[:, None]
    jack = np.where(np.isfinite(jack), jack, 0.0)
    jack += jack.T
    if known.open_single_pf is None or known.open_double_pf is None:
        return pin, jack, jack
    alone = _row(known.open_single_pf, laid.layout)
    between = direct(alone, _floats(known.open_double_pf, laid.layout))
    return pin, jack, np.where(np.isfinite(between), between, 0.0)


def _driven(own: Array) -> Array:
    """Return [i, j] what the driven one of two contacts has of its own: of two, the first in order is driven."""
    places = np.arange(len(own))
    driven: Array = own[np.minimum(places[:, None], places[None, :])]
    return driven


def _screen_direct_pf(alone: Array, double: Array, screens: Two, inside: list[list[int]]) -> tuple[float, float]:
    """Return the mean direct capacitance of each screen contact to the conductors, by grounded groups."""
    places = [place for group in inside for place in group]
    found = []
    for screen in screens:
        values = [] if screen == NONE else (alone[screen] + alone[places] - double[screen, places]) / 2
        found.append(_mean(np.asarray(values, dtype=np.float64)))
    return found[0], found[1]


def _screen_two_terminal_pf(raw: Array, between: Array, screens: Two, inside: list[list[int]]) -> tuple[float, float]:
    """Return by how much conductors show each screen contact more than they show any other conductor.

    A contact with nothing in it still shows what comes round through the others to the tester's ground, and that
    is less than any conductor shows.
    """
    if len(inside) < 2:
        return math.nan, math.nan
    least = np.where(np.eye(len(inside), dtype=bool) | np.isnan(between), math.inf, between).min(axis=1)
    members = _members(inside, len(raw))
    found = [
        math.nan if screen == NONE else float(_medians(_of_groups(raw[screen], members) - least)) for screen in screens
    ]
    return found[0], found[1]


def _averaged(inside: list[list[int]]) -> float:
    """Return by how much averaging over a conductor's contacts narrows a value: two contacts each, four readings."""
    return float(_medians(np.array([len(group) for group in inside]))) if inside else 1.0


def _floats(rows: Sequence[Sequence[float | None]], layout: Layout) -> Array:
    """Return a matrix over the reading's contacts by index; NaN where nothing was measured."""
    return np.array([[math.nan if value is None else value for value in row] for row in in_order(rows, layout.order)])


def _row(values: Sequence[float | None], layout: Layout) -> Array:
    """Return a value of each of the reading's contacts by index; NaN where nothing was measured."""
    return np.array([math.nan if values[place] is None else values[place] for place in layout.order], dtype=np.float64)


def _tuples(values: Array) -> Matrix:
    return tuple(tuple(row) for row in values.tolist())


def _mean(values: Array) -> float:
    finite = values[np.isfinite(values)]
    return float(finite.mean()) if finite.size else math.nan


def _medians(values: Array) -> Array:
    """Return the median of the finite values of each row, or of all of one row; NaN where there are none."""
    ordered = np.sort(np.where(np.isfinite(values), values, math.nan), axis=-1)
    count = np.isfinite(ordered).sum(axis=-1, keepdims=True)
    middle = np.stack([np.maximum(count - 1, 0) // 2, np.minimum(count // 2, ordered.shape[-1] - 1)])
    if not ordered.shape[-1]:
        return np.full(ordered.shape[:-1], math.nan)
    return np.asarray(sum(np.take_along_axis(ordered, part, axis=-1)[..., 0] for part in middle) / 2)


def _of_groups(values: Array, members: Array) -> Array:
    """Return the mean over the contacts of each group of what was measured; NaN where nothing was."""
    known = np.isfinite(values)
    count = members @ known
    mean: Array = np.divide(
        members @ np.where(known, values, 0.0), count, out=np.full(count.shape, math.nan), where=count > 0
    )
    return mean


def _between(raw: Array, inside: list[list[int]]) -> Array:
    """Return the mean over all contacts of each two groups, of what was measured."""
    members = _members(inside, len(raw))
    known = np.isfinite(raw)
    count = members @ known @ members.T
    total = members @ np.where(known, raw, 0.0) @ members.T
    mean: Array = np.divide(total, count, out=np.full(total.shape, math.nan), where=count > 0)
    np.fill_diagonal(mean, 0.0)
    return mean


def _summed(jack: Array, inside: list[list[int]]) -> Array:
    """Return what the sockets alone have between each two groups: all their contacts side by side."""
    members = _members(inside, len(jack))
    total: Array = members @ jack @ members.T
    np.fill_diagonal(total, 0.0)
    return total


def _members(inside: list[list[int]], size: int) -> Array:
    """Return [group, contact] 1 where a contact is in a group, else 0."""
    members = np.zeros((len(inside), size))
    for number, group in enumerate(inside):
        members[number, group] = 1.0
    return members

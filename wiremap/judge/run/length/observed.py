"""What was measured of each whole pair: the delay of its end's echo, its capacitance, its conductors' resistance.

Each value comes with two relative standard uncertainties: its own, which the mean over pairs narrows, and what all
pairs of the reading share, which it does not.
"""

import math
from collections.abc import Collection, Mapping, Sequence
from datetime import datetime
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from wiremap.cable.limits import Limits
from wiremap.calibration import Calibration
from wiremap.contact import near_contact
from wiremap.judge.run.capacitance import Groups, pair_mutual_pf
from wiremap.judge.run.echo import Arrival, Reflections, arrival, deepest_fall, reflections
from wiremap.judge.run.echo_shape import phase_delay_ratio, slowness, usual_pair
from wiremap.judge.run.length.mutual import mutual
from wiremap.judge.run.length.plugs import WithoutPlugs, contacts_side_by_side, without_plugs
from wiremap.judge.run.length.posterior import Observation, Quantity
from wiremap.judge.wiring.laid_reading import LaidReading
from wiremap.reading.joined import is_joined

if TYPE_CHECKING:
    from wiremap.reading.reading import Ohm, Reading

Pair = tuple[str, str]
WholePairs = Sequence[tuple[Pair, Pair | None]]
SECONDS_PER_YEAR = 365.25 * 24 * 3600
UNCALIBRATED = Calibration("", "2000-01-01T00:00:00Z")  # nobody's: the usual values alone count
END_SIGNS = {"tester": (0, 1), "open": (0, 1), "joined": (0, -1)}  # what the echo of a whole pair's end is


class PairValue(Struct, frozen=True):
    """One value of one pair, in SI units, with its own and the shared relative standard uncertainty."""

    value: float
    own_u: float
    shared_u: float


PairValues = Mapping[Pair, PairValue]


def whole_cable(values: PairValues, quantity: Quantity) -> Observation | None:
    """Return what pairs show together: the mean of logarithms weighted by their own uncertainties; None without any."""
    if not values:
        return None
    weight = np.array([1 / max(one.own_u, 1e-6) ** 2 for one in values.values()])
    logs = np.log([one.value for one in values.values()])
    shared = max(one.shared_u for one in values.values())
    value = math.exp(float(weight @ logs / weight.sum()))
    return Observation(quantity, value, math.hypot(1 / math.sqrt(float(weight.sum())), shared))


def pin_pf(reading: "Reading") -> float:
    """Return a contact's own capacitance, as calibrated or as the tester says."""
    if reading.calibration is not None:
        return reading.calibration.pin_pf
    seen = reading.capacitance
    return seen.pin_pf if seen is not None and seen.pin_pf is not None else 0.0


def echo_zero_ps(reading: "Reading", limits: Limits) -> float:
    """Return what the tester and its contacts add to every echo's time in a trace."""
    known = reading.calibration
    pins_ohm = limits.near_pin_ohm + (limits.far_pin_ohm if reading.far == "tester" else 0.0)
    return (known.echo_zero_ps if known is not None else 0.0) + pin_pf(reading) * pins_ohm


def usual_conductor_ohm(reading: "Reading", limits: Limits) -> float | None:
    """Return the median resistance of what is joined from end to end, ohms; None where it was not measured."""
    count = len(reading.near_contacts)
    through = [value for row in reading.resistance_ohm[:count] for value in row[count:]]
    joined = [float(v) for v in through if isinstance(v, int | float) and v > 0 and is_joined(v, limits.joined_ohm)]
    return float(np.median(joined)) if joined and reading.far == "tester" else None


def pair_arrival(reading: "Reading", pair: Pair, limits: Limits) -> tuple[Arrival, bool] | None:
    """Return the first echo of a near pair, and whether its time is that of a lossless one (from a trace).

    None where there is none, or where the pair's trace shows that its end answered within the launch. A time that
    was counted holds the comparator's own delay, which only a calibration knows well.
    """
    zero_ps = echo_zero_ps(reading, limits)
    for shown in _shown(reading, pair, limits):
        if shown.within_launch:
            return None
        if shown.steps:
            step = shown.steps[0]
            return Arrival(step.time_ps - zero_ps, step.u_ps, 1 if step.height > 0 else -1), True
    return _counted(reading, pair, limits)


def _counted(reading: "Reading", pair: Pair, limits: Limits) -> tuple[Arrival, bool] | None:
    """Return the echo of a near pair by its counts; None where there is none, or one that may as well come at once."""
    ends = set(map(near_contact, pair))
    zero_ps = echo_zero_ps(reading, limits)
    late_u_ps = 0.0 if reading.calibration is not None else limits.comparator_u_ps
    for echo in reading.echoes:
        if {echo.a, echo.b} == ends:
            came = arrival(echo, zero_ps)
            if came is not None:
                came = replace(came, u_ps=math.hypot(came.u_ps, late_u_ps))
                if came.time_ps < limits.earliest_count_sigmas * came.u_ps:
                    return None
                return came, False
    return None


def end_arrival(reading: "Reading", pair: Pair, limits: Limits) -> tuple[Arrival, bool] | None:
    """Return the echo of a pair's end, as `pair_arrival`; what comes from within the cable is passed over.

    None where nothing came back that an end sends.
    """
    signs = END_SIGNS.get(reading.far, ())
    first = pair_arrival(reading, pair, limits)
    if first is None or first[0].polarity in signs:
        return first
    zero_ps = echo_zero_ps(reading, limits)
    for shown in _shown(reading, pair, limits):
        for step in shown.steps[1:]:
            if (1 if step.height > 0 else -1) in signs:
                return Arrival(step.time_ps - zero_ps, step.u_ps, 1 if step.height > 0 else -1), True
    counted = _counted(reading, pair, limits)
    return counted if counted is not None and counted[0].polarity in signs else None


def falls(reading: "Reading", pairs: Sequence[Pair], limits: Limits) -> dict[Pair, tuple[float, float]]:
    """Return for each pair when its trace first falls below its launch, picoseconds, and by which part of the drive.

    Pairs that rise before, or never fall, are left out.
    """
    zero_ps = echo_zero_ps(reading, limits)
    found = {}
    for pair in pairs:
        ends = set(map(near_contact, pair))
        for trace in reading.traces:
            fall = deepest_fall(trace, limits) if {trace.a, trace.b} == ends else None
            if fall is not None and fall[0] > zero_ps:
                found[pair] = (fall[0] - zero_ps, fall[1])
    return found


def _shown(reading: "Reading", pair: Pair, limits: Limits) -> list[Reflections]:
    """Return what each trace of a near pair shows."""
    ends = set(map(near_contact, pair))
    mine = [trace for trace in reading.traces if {trace.a, trace.b} == ends]
    ohm = usual_conductor_ohm(reading, limits) if mine else None
    return [reflections(trace, limits, ohm) for trace in mine]


def delay_s(came: Arrival, lossless: bool, limits: Limits) -> float:
    """Return the one-way delay, without loss, of the line whose echo came at this time.

    A counted echo is timed where it passes half of its first plateau, which loss makes late by a factor that depends on
    the length; a usual pair's is taken.
    """
    way_s = max(came.time_ps, 1.0) * 1e-12 / 2
    if lossless:
        return way_s
    line = usual_pair(limits.materials)
    found = way_s
    for _ in range(3):
        found = way_s / (float(slowness(line, np.array([found / line.second_per_m]))[0]) * phase_delay_ratio(line))
    return found


def age_u(known: Calibration | None, taken_utc: str | None, limits: Limits) -> float:
    """Return the relative standard uncertainty by a calibration's age; 0 where nobody knows the times."""
    if known is None or taken_utc is None:
        return 0.0
    try:
        age = datetime.fromisoformat(taken_utc) - datetime.fromisoformat(known.made_utc)
    except (ValueError, TypeError):
        return 0.0
    return limits.drift_u_per_year * max(age.total_seconds(), 0.0) / SECONDS_PER_YEAR


def delays(reading: "Reading", pairs: Sequence[Pair], limits: Limits) -> dict[Pair, PairValue]:
    """Return the delay of each pair whose end answered as the end of a whole pair does, seconds."""
    zero_u_ps = (reading.calibration or UNCALIBRATED).echo_zero_u_ps
    aged = age_u(reading.calibration, reading.taken_utc, limits)
    found = {}
    for pair in pairs:
        came = end_arrival(reading, pair, limits)
        if came is not None and came[0].polarity in END_SIGNS.get(reading.far, ()):
            time_ps = max(came[0].time_ps, 1.0)
            own = math.hypot(limits.materials.pair.delay_u, came[0].u_ps / time_ps)
            shared = math.hypot(limits.echo_shape_u, zero_u_ps / time_ps, aged)
            found[pair] = PairValue(delay_s(*came, limits), own, shared)
    return found


def believable(came: PairValues, charged: PairValues, tried: int, limits: Limits) -> dict[Pair, PairValue]:
    """Return the delays if they are those of the ends; {} where an echo was lost in noise and something else was taken.

    came: delays; charged: capacitances of the same pairs, where known; tried: how many pairs were listened to. A delay
    is the capacitance times an impedance, which no cable has far from the usual one. Where one pair's end was not heard
    the others' cannot be trusted either.
    """
    usual_ohm, most = limits.materials.pair.impedance_ohm, math.log(limits.echo_impedance_ratio)
    latest = max((one.value for one in came.values()), default=0.0)
    found = {}
    for pair, one in came.items():
        against = charged[pair].value * usual_ohm if pair in charged else latest
        own = math.hypot(one.own_u, charged[pair].shared_u if pair in charged else 0.0)
        if abs(math.log(one.value / against)) < most + 2 * own:
            found[pair] = one
    return found if len(found) == tried else {}


def listened(reading: "Reading", pairs: Sequence[Pair]) -> int:
    """Return how many pairs have a trace or counted echoes."""
    heard = {frozenset((one.a, one.b)) for one in reading.traces}
    heard |= {frozenset((one.a, one.b)) for one in reading.echoes}
    return sum(frozenset(map(near_contact, pair)) in heard for pair in pairs)


def impedances(reading: "Reading", pairs: Sequence[Pair], limits: Limits) -> dict[Pair, PairValue]:
    """Return the launch impedance of each pair whose trace shows one, ohms."""
    found = {}
    for trace in reading.traces:
        for pair in pairs:
            if {trace.a, trace.b} == set(map(near_contact, pair)):
                launch_ohm = reflections(trace, limits).launch_ohm
                if launch_ohm is not None:
                    found[pair] = PairValue(launch_ohm, limits.materials.pair.impedance_u, limits.launch_u)
    return found


def rows_of(pairs: Sequence[Pair], seen: Groups) -> dict[Pair, tuple[int, int]]:
    """Return the groups that each pair's near contacts are in, of those that are in two of them."""
    rows = {pair: (seen.of_near(pair[0]), seen.of_near(pair[1])) for pair in pairs}
    return {pair: (a, b) for pair, (a, b) in rows.items() if a is not None and b is not None and a != b}


def bare_cable(pairs: Sequence[Pair], seen: Groups | None, limits: Limits) -> WithoutPlugs | None:
    """Return the direct capacitances without the plugs; None where not all conductors were measured in groups."""
    if seen is None or not seen.direct_pf or seen.single_pf is None or np.isnan(np.array(seen.direct_pf)).any():
        return None
    return without_plugs(seen, tuple(rows_of(pairs, seen).values()), limits)


def pair_capacitances(
    reading: "Reading", pairs: Sequence[Pair], seen: Groups | None, bare: WithoutPlugs | None, limits: Limits
) -> dict[Pair, PairValue]:
    """Return the capacitance of each pair, everything else in the cable floating, plugs taken off, farads.

    bare: as `bare_cable`.
    """
    if seen is None:
        return {}
    known = rows_of(pairs, seen)
    shown = _between_contacts(known, seen, limits) if bare is None else _by_grounded_groups(known, seen, bare, limits)
    gain_u = math.hypot(
        (reading.calibration or UNCALIBRATED).capacitance_scale_u, age_u(reading.calibration, reading.taken_utc, limits)
    )
    return {
        pair: PairValue(
            value.value * 1e-12,
            math.hypot(limits.materials.pair.capacitance_u, value.own_u),
            math.hypot(gain_u, limits.neighbours_u, value.shared_u),
        )
        for pair, value in shown.items()
        if value.value > 0 and max(value.own_u, value.shared_u) < limits.coarsest_capacitance_u
    }


def _by_grounded_groups(
    rows: Mapping[Pair, tuple[int, int]], seen: Groups, bare: WithoutPlugs, limits: Limits
) -> dict[Pair, PairValue]:
    between = np.where(np.eye(len(bare.direct_pf), dtype=bool), 0.0, np.array(seen.direct_pf))
    own_pf = np.array(seen.single_pf) - between.sum(axis=1)
    found: dict[Pair, PairValue] = {}
    if not rows:
        return found
    values, shares = mutual(bare.direct_pf, own_pf, tuple(rows.values()))
    for pair, value, share in zip(rows, values.tolist(), shares, strict=True):
        own, shared = bare.doubt_pf(share[:-1, :-1], limits.plug_scatter)
        if value > 0:
            own_u, shared_u = math.hypot(own, seen.direct_sigma_pf), math.hypot(shared, limits.offset_u_pf)
            found[pair] = PairValue(value, own_u / value, shared_u / value)
    return found


def _between_contacts(rows: Mapping[Pair, tuple[int, int]], seen: Groups, limits: Limits) -> dict[Pair, PairValue]:
    """Convert what two contacts show, the others floating, through a usual cable's network with the tester's pins."""
    if seen.two_terminal_pf is None:
        return {}
    neighbours, seconds = contacts_side_by_side(seen)
    found = {}
    for pair, (a, b) in rows.items():
        shown = seen.two_terminal_pf[a][b]
        if math.isnan(shown):
            continue
        own_pf = (seen.pin_pf[a] + seen.pin_pf[b]) / 2
        plugs = limits.plug_next_pf * neighbours[a, b] + limits.plug_second_pf * seconds[a, b]
        doubt = limits.plug_next_u_pf * neighbours[a, b] + limits.plug_second_u_pf * seconds[a, b]
        value = pair_mutual_pf(shown, seen.kind, own_pf, seen.screen_tied, limits) - plugs
        if value > 0:
            shared = math.hypot(doubt, limits.offset_u_pf) / value
            found[pair] = PairValue(value, seen.sigma_pf / value, math.hypot(shared, limits.two_terminal_u))
    return found


def loop_ohm(laid: LaidReading, pair: Pair, far: Pair | None) -> tuple[float, int] | None:
    """Return the loop resistance of a pair and of how many readings it is the sum; None where it was not measured.

    Both plugs in the tester: of each conductor end to end. Far end joined: from one contact to the other.
    """
    near = [laid.layout.near_place(contact) for contact in pair]
    values: list[Ohm] = []
    if laid.reading.far == "tester" and far is not None:
        values = [laid.rows[a][laid.layout.far_place(name)] for a, name in zip(near, far, strict=True)]
    elif laid.reading.far == "joined":
        values = [laid.rows[near[0]][near[1]]]
    numbers = [float(value) for value in values if isinstance(value, int | float)]
    return (sum(numbers), len(numbers)) if values and len(numbers) == len(values) else None


def resistances(laid: LaidReading, pairs: WholePairs, poor: Collection[str] = ()) -> dict[Pair, PairValue]:
    """Return the resistance of one conductor of each pair, the contacts' own taken off, ohms.

    poor: near contacts whose resistance is not the run's alone. Pairs that the tester resolves too little are left out.
    """
    limits = laid.limits
    spread = limits.materials.pair
    found = {}
    for pair, far in pairs:
        loop = loop_ohm(laid, pair, far)
        if loop is None or set(pair) & set(poor):
            continue
        run_ohm = loop[0] - 4 * spread.contact_ohm
        reading_u = laid.step_ohm * loop[1] / math.sqrt(12)  # of a cable: conductors much alike err alike
        if run_ohm <= 0 or reading_u / run_ohm > limits.coarsest_loop_u:
            continue
        contacts_u = 2 * spread.contact_half_width_ohm / math.sqrt(3) / run_ohm
        found[pair] = PairValue(
            run_ohm / 2, limits.materials.conductors.lay_factor_u, math.hypot(contacts_u, reading_u / run_ohm)
        )
    return found

"""Length of each pair and of the cable by echo, capacitance and resistance, with budgets, and fused.

Only pairs that are twisted together and sound at both ends are lengths; a split or open pair would read short.
"""

import math
from collections.abc import Collection, Sequence
from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING

import numpy as np

from wiremap.cable.limits import Limits
from wiremap.cable.materials import LIGHT_M_PER_S
from wiremap.calibration import Calibration
from wiremap.contact import near_contact
from wiremap.judge.measurements import Length, LengthMethod, Term
from wiremap.judge.run.capacitance import Groups, pair_length_m
from wiremap.judge.run.echo import Arrival, arrival, reflections
from wiremap.judge.run.echo_shape import phase_delay_ratio, slowness, usual_pair
from wiremap.judge.run.length.budget import at_length, estimate, fuse, standard_uncertainty
from wiremap.judge.run.network import maxwell_of, two_terminal
from wiremap.judge.wiring.laid_reading import LaidReading

if TYPE_CHECKING:
    from wiremap.reading.reading import Ohm, Reading

Pair = tuple[str, str]
SECONDS_PER_YEAR = 365.25 * 24 * 3600
SQRT3 = math.sqrt(3)
UNCALIBRATED = Calibration("", "2000-01-01T00:00:00Z")  # nobody's: the usual values alone count
END_SIGNS = {"tester": (0, 1), "open": (0, 1), "joined": (0, -1)}  # what the echo of a whole pair's end is
OF_ONE_PAIR = ("pair's delay", "pair's capacitance", "neighbours", "pair's lay", "arrival")


def velocity_terms(known: Calibration | None, limits: Limits) -> tuple[float, Term]:
    """Return the velocity factor to use and the budget's term for it."""
    if known is not None and known.nvp is not None:
        return known.nvp, Term("velocity factor, calibrated", (known.nvp_u or 0.0) / known.nvp)
    pair = limits.materials.pair
    middle, u_rel = _evenly_between(pair.nvp_low, pair.nvp_high)
    return middle, Term("velocity factor", u_rel, "rectangular")


def capacitance_terms(known: Calibration | None, limits: Limits) -> tuple[float, Term]:
    """Return a pair's capacitance per metre to use and the budget's term for it."""
    if known is not None and known.capacitance_pf_per_m is not None:
        u = (known.capacitance_u_pf_per_m or 0.0) / known.capacitance_pf_per_m
        return known.capacitance_pf_per_m, Term("capacitance per metre, calibrated", u)
    pair = limits.materials.pair
    middle, u_rel = _evenly_between(pair.capacitance_low_pf_per_m, pair.capacitance_high_pf_per_m)
    return middle, Term("capacitance per metre", u_rel, "rectangular")


def resistance_terms(known: Calibration | None, limits: Limits) -> tuple[float, tuple[Term, ...]]:
    """Return a conductor's ohms per metre of sheath to use and the budget's terms for it, temperature included."""
    copper, spread = limits.materials.copper, limits.materials.pair
    warmth = spread.temperature_half_width_k * copper.temperature_coefficient_per_k
    mild, warm_u = _evenly_between(1 - warmth, 1 + warmth)
    warm = Term("temperature", warm_u, "rectangular")
    if known is not None and known.ohm_per_m is not None:
        u_rel = (known.ohm_u_per_m or 0.0) / known.ohm_per_m
        return known.ohm_per_m, (Term("resistance per metre, calibrated", u_rel), warm)
    wires = limits.materials.conductors
    usual, usual_u = _evenly_between(1 - spread.resistance_half_width, 1 + spread.resistance_half_width)
    per_m = copper.ohm_per_m(wires.usual_awg) * wires.lay_factor * usual * mild
    return per_m, (Term("resistance per metre", usual_u, "rectangular"), warm)


def _evenly_between(low: float, high: float) -> tuple[float, float]:
    """Return the middle of a range in proportion, and the relative standard uncertainty of lying evenly in it.

    Lengths go as one over these figures; the middle of the logarithms leaves as much on either side.
    """
    return math.sqrt(low * high), math.log(high / low) / 2 / SQRT3


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


def pair_arrival(reading: "Reading", pair: Pair, limits: Limits) -> tuple[Arrival, bool] | None:
    """Return the first echo of a near pair, and whether its time is that of a lossless one (from a trace).

    None where there is none, or where the pair's trace shows that its end answered within the launch. A time that
    was counted holds the comparator's own delay, which only a calibration knows well.
    """
    ends = set(map(near_contact, pair))
    zero_ps = echo_zero_ps(reading, limits)
    for trace in reading.traces:
        if {trace.a, trace.b} == ends:
            shown = reflections(trace, limits)
            if shown.within_launch:
                return None
            if shown.steps:
                step = shown.steps[0]
                return Arrival(step.time_ps - zero_ps, step.u_ps, 1 if step.height > 0 else -1), True
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


def echo_length_m(time_ps: float, lossless: bool, nvp: float, limits: Limits) -> float:
    """Return the length from which an echo comes back at this time."""
    line = usual_pair(limits.materials)
    way_m = max(time_ps, 0.0) * 1e-12 * nvp * LIGHT_M_PER_S / 2
    if lossless:
        return way_m * phase_delay_ratio(line)
    guess = way_m
    for _ in range(3):
        guess = way_m / float(slowness(line, np.array([guess]))[0])
    return guess


def age_terms(known: Calibration | None, taken_utc: str | None, limits: Limits) -> tuple[Term, ...]:
    """Return the term for the time since a tester was calibrated; none where it was not, or nobody knows the times."""
    if known is None or taken_utc is None:
        return ()
    try:
        age = datetime.fromisoformat(taken_utc) - datetime.fromisoformat(known.made_utc)
    except (ValueError, TypeError):
        return ()
    years = max(age.total_seconds(), 0.0) / SECONDS_PER_YEAR
    return (Term("calibration's age", limits.drift_u_per_year * years),) if years > 0 else ()


def by_echo(
    came: Arrival,
    lossless: bool,
    pair: Pair,
    known: Calibration | None,
    limits: Limits,
    aged: tuple[Term, ...] = (),
) -> Length:
    """Return the length of a pair by the time of its echo; lossless: the time is that of an undisturbed one.

    aged: as `age_terms`.
    """
    nvp, velocity = velocity_terms(known, limits)
    zero_u_ps = (known or UNCALIBRATED).echo_zero_u_ps
    time_ps = max(came.time_ps, 1.0)
    terms = (
        velocity,
        Term("pair's delay", limits.materials.pair.delay_u),
        Term("loss and rise", limits.echo_shape_u),
        Term("arrival", came.u_ps / time_ps, fixed=True),
        Term("tester's zero", zero_u_ps / time_ps, fixed=True),
        *aged,
    )
    return estimate(pair, "echo", echo_length_m(time_ps, lossless, nvp, limits), terms)


def by_capacitance(
    seen: Groups, pair: Pair, known: Calibration | None, limits: Limits, aged: tuple[Term, ...] = ()
) -> Length | None:
    """Return the length of a pair by its capacitance, converted through the network it is part of."""
    i, j = seen.of_near(pair[0]), seen.of_near(pair[1])
    if i is None or j is None:
        return None
    per_m, per_metre = capacitance_terms(known, limits)
    if seen.direct_pf is not None and seen.single_pf is not None and not np.isnan(seen.direct_pf).any():
        between = np.array(seen.direct_pf)
        own = np.maximum(np.array(seen.single_pf) - between.sum(axis=1), 0.0)
        mutual_pf = float(two_terminal(maxwell_of(between, own), 0.0, False, stray_pf=0.0)[i, j])
        length_m = mutual_pf / per_m
    elif seen.two_terminal_pf is not None and not math.isnan(seen.two_terminal_pf[i][j]):
        shown = np.array([seen.two_terminal_pf[i][j]])
        own_pf = (seen.pin_pf[i] + seen.pin_pf[j]) / 2
        length_m = float(pair_length_m(shown, seen.kind, own_pf, seen.screen_tied, per_m, limits)[0])
    else:
        return None
    plugs_pf, plugs_u_pf = plug_capacitance_pf(seen, i, j, limits)
    length_m -= plugs_pf / per_m
    if not length_m > 0:
        return None
    pair_u = limits.materials.pair.capacitance_u
    gain_u = (known or UNCALIBRATED).capacitance_scale_u
    offset_pf = math.hypot(limits.offset_u_pf, plugs_u_pf, seen.sigma_pf)
    terms = (
        per_metre,
        Term("tester's gain", gain_u),
        Term("pair's capacitance", pair_u),
        Term("neighbours", limits.neighbours_u),
        Term("offset", offset_pf / (per_m * length_m), fixed=True),
        *aged,
    )
    return estimate(pair, "capacitance", length_m, terms)


def plug_capacitance_pf(seen: Groups, i: int, j: int, limits: Limits) -> tuple[float, float]:
    """Return what plugs add between two groups of contacts, and its standard uncertainty.

    Plugs of one make err alike, so that the doubts of their contacts add up.
    """
    between = {
        1: (limits.plug_next_pf, limits.plug_next_u_pf),
        2: (limits.plug_second_pf, limits.plug_second_u_pf),
    }
    added = doubt = 0.0
    for end in (0, 1):
        for a in _places_at(seen, i, end):
            for b in _places_at(seen, j, end):
                mean, u = between.get(abs(a - b), (0.0, 0.0))
                added, doubt = added + mean, doubt + u
    return added, doubt


def _places_at(seen: Groups, group: int, end: int) -> tuple[int, ...]:
    near = len(seen.near[group])
    return seen.places[group][near:] if end else seen.places[group][:near]


def by_resistance(
    loop_ohm: float, conductors: int, step_ohm: float, pair: Pair, known: Calibration | None, limits: Limits
) -> Length | None:
    """Return the length of a pair by the resistance of both its conductors, taken for the usual gauge.

    conductors: how many readings in steps of step_ohm the loop is the sum of. None where the tester resolves too
    little of it for a length.
    """
    per_m, grown = resistance_terms(known, limits)
    spread = limits.materials.pair
    run_ohm = loop_ohm - 4 * spread.contact_ohm
    if run_ohm <= 0:
        return None
    reading_u = step_ohm * conductors / math.sqrt(12)  # of a cable: conductors much alike err alike
    terms = (
        *grown,
        Term("pair's lay", limits.materials.conductors.lay_factor_u),
        Term("contacts", 2 * spread.contact_half_width_ohm / SQRT3 / run_ohm, fixed=True),
        Term("reading", reading_u / run_ohm, "rectangular", fixed=True),
    )
    if terms[-1].u_rel > limits.coarsest_loop_u:
        return None
    return estimate(pair, "resistance", run_ohm / (2 * per_m), terms)


def loop_ohm(laid: LaidReading, pair: Pair, far: tuple[str, str] | None) -> tuple[float, int] | None:
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


def lengths(
    laid: LaidReading,
    pairs: Sequence[tuple[Pair, Pair | None]],
    seen: Groups | None,
    poor: Collection[str] = (),
) -> tuple[Length, ...]:
    """Return the length of each sound pair by each method, fused, and at the end that of the cable.

    pairs: near contacts of pairs that are whole, with the far contacts they arrive at (None = not known). seen:
    None where capacitance cannot be used. poor: near contacts whose resistance is not the run's alone.
    Resistance alone gives no length, since it would be that of an assumed gauge.
    """
    reading, limits = laid.reading, laid.limits
    known = reading.calibration
    aged = age_terms(known, reading.taken_utc, limits)
    found: list[Length] = []
    by_method: dict[LengthMethod, list[Length]] = {}
    for pair, far in pairs:
        mine: list[Length] = []
        came = pair_arrival(reading, pair, limits)
        if came is not None and came[0].polarity in END_SIGNS.get(reading.far, ()):
            mine.append(by_echo(*came, pair, known, limits, aged))
        if seen is not None:
            capacitance = by_capacitance(seen, pair, known, limits, aged)
            mine += [] if capacitance is None else [capacitance]
        loop = loop_ohm(laid, pair, far)
        if mine and loop is not None and not set(pair) & set(poor):
            resistance = by_resistance(*loop, laid.step_ohm, pair, known, limits)
            mine += [] if resistance is None else [resistance]
        for one in mine:
            by_method.setdefault(one.method, []).append(one)
        if mine:
            found += [*mine, fused_with_check(mine, limits)]
    if not by_method:
        return ()
    whole = [mean_of_pairs(some) for some in by_method.values()]
    return (*found, *whole, fused_with_check(whole, limits))


def mean_of_pairs(some: Sequence[Length]) -> Length:
    """Return the cable's length by one method: the mean of its pairs; only what is each pair's own averages out."""
    count = len(some)
    length_m = sum(one.length_m for one in some) / count
    terms = []
    for number, term in enumerate(some[0].terms):
        u_m = math.sqrt(sum((one.terms[number].u_rel * one.length_m) ** 2 for one in some) / count)
        narrower = math.sqrt(count) if term.name in OF_ONE_PAIR else 1.0
        terms.append(Term(term.name, u_m / narrower / length_m, term.shape, term.fixed))
    return estimate(None, some[0].method, length_m, terms)


def fused_with_check(found: Sequence[Length], limits: Limits) -> Length:
    """Return the fused length; a method that disagrees with the surest beyond limits.disagreement is left out.

    Resistance is weighed against what echo and capacitance say together: it is a check of gauge and metal first.
    """
    rulers = [one for one in found if one.method != "resistance"]
    kept, excluded = list(found), []
    if len(rulers) == 2 and disagreement(rulers[0], rulers[1]) > limits.disagreement:
        kept = [one for one in kept if one.method != "capacitance"]
        excluded.append("capacitance")
    sure = [one for one in kept if one.method != "resistance"]
    loops = [one for one in kept if one.method == "resistance"]
    if sure and loops and disagreement(loops[0], fuse(sure)) > limits.disagreement:
        kept = sure
        excluded.append("resistance")
    return fuse(kept, excluded)


def disagreement(one: Length, other: Length) -> float:
    """Return by how many standard uncertainties of their difference two lengths are apart."""
    reference = min(one, other, key=lambda item: item.u_m)
    u_m = math.hypot(
        *(reference.length_m * standard_uncertainty(_terms_at(item, reference.length_m)) for item in (one, other))
    )
    return abs(one.length_m - other.length_m) / u_m


def _terms_at(found: Length, length_m: float) -> tuple[Term, ...]:
    return at_length(found, length_m) if found.method != "fused" else (Term("", found.u_m / found.length_m),)

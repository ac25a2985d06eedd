"""What a sound cable of known length teaches of its reel, its make or its kind: a kind with a name of its own.

A cable differs from what its kind has in the middle by what kinds, makes and reels differ by, and along a reel; each of
velocity, impedance and resistance is a sum of such differences, in logarithms, normal and independent. One cable shows
the sum. Of a reel, a make or a kind it teaches the share that cables of it have in common: with S the variance they
share and T that of one cable, the middle moves by S / T of what the cable showed, and T - S^2 / T is not known of
another one (regression of one normal value on another). So a make is widened beyond a reel, and a kind beyond a make.
"""

import math
from typing import TYPE_CHECKING, Literal, get_args

from msgspec.structs import replace

from wiremap.cable.kinds import Kind
from wiremap.cable.limits import Limits
from wiremap.cable.materials import LIGHT_M_PER_S
from wiremap.cable.patterns import Pattern, pattern
from wiremap.errors import UsageError
from wiremap.judge.run.calibrated import without_length
from wiremap.judge.run.capacitance import groups
from wiremap.judge.run.examined import whole_pairs
from wiremap.judge.run.length.estimate import RunEstimate, estimate_run
from wiremap.judge.run.length.hypotheses import USUAL_C, hypotheses, velocity_u, warm_u
from wiremap.judge.run.length.posterior import CableBelief, Hypothesis, Observation, believe, possible
from wiremap.judge.verdict import Diagnosis, Options, judged

if TYPE_CHECKING:
    from wiremap.reading.reading import Reading

Level = Literal["reel", "make", "kind"]
LEVELS: tuple[Level, ...] = get_args(Level)
MOST_SIGMAS = 3.0  # from the length that was given to the one that its kind has
LEAST_TAUGHT_M, MOST_LENGTH_U = 1.0, 0.1
TEMPERATURE_U_K = 3.0  # a thermometer beside a cable
LEAST_WEIGHT = 0.02  # of a gauge that is kept in mind
OF_THE_KIND = ("conductor-metal", "wet-or-wrong-cable")  # what another kind than was told looks like


def kind_taught(
    reading: "Reading",
    name: str,
    length_m: float,
    length_u_m: float,
    level: Level,
    like: Kind | None,
    celsius: float | None,
    limits: Limits,
) -> Kind:
    """Return the kind that a sound cable teaches, both its plugs in the tester.

    length_m, length_u_m: of the cable, with its standard uncertainty. like: a kind that it is said to be of, None =
    taken for the likeliest one, and of no category that anybody promised. celsius: the cable's temperature, None = not
    known. UsageError when the cable is not sound, or not as long as its kind has it.
    """
    if not length_m >= LEAST_TAUGHT_M or not 0 < length_u_m < MOST_LENGTH_U * length_m:
        raise UsageError(
            f"a length of {length_m:g} +- {length_u_m:g} m teaches nothing of a cable",
            f"Use {LEAST_TAUGHT_M:g} m or more, better 10 m, measured to one or two percent.",
        )
    plain = replace(reading, calibration=reading.calibration and without_length(reading.calibration))
    wanted = pattern("straight-2pair" if like is not None and like.pairs == 2 else "straight")
    run = _sound_run(plain, wanted, like, limits)
    belief = run.belief
    if belief is None or not any(one.quantity == "delay" for one in run.seen):
        raise UsageError("this tester heard no echo of the cable", "Only a tester that hears echoes can teach a kind.")
    share = length_u_m / length_m
    _check_length(belief, run, length_m, share, like)
    base = like or _likeliest(belief, length_m, share, limits)
    seen = [_at_usual(one, celsius, limits) for one in run.seen]
    seen.append(Observation("length", length_m, share))
    one_cable = [_of_levels(one, base, limits) for one in hypotheses(base, None, 0, None, limits).hypotheses]
    learned = believe(seen, possible(one_cable), limits.tolerated_chi2)
    return replace(
        _predicted(learned, base, level, limits),
        name=name,
        title=f"like {base.title}",
        category="unknown" if like is None else base.category,
        of=_whose(reading, length_m, level),
    )


def _whose(reading: "Reading", length_m: float, level: Level) -> str:
    """Return whose figures those of a kind that was taught are."""
    when = f" of {reading.taken_utc[:10]}" if reading.taken_utc else ""
    who = f" by tester {reading.tester.serial}" if reading.tester else ""
    simulated = "a simulated " if reading.origin == "simulator" else ""
    return f"the calibration{when}{who} with {simulated}{length_m:g} m, for its {level}"


def _sound_run(reading: "Reading", wanted: Pattern, like: Kind | None, limits: Limits) -> RunEstimate:
    found = judged(reading, wanted, Options(limits=limits, kind=like))
    faults = _faults(found.diagnosis)
    if faults or found.laid is None:
        raise UsageError(
            f"the cable is not sound: {', '.join(faults) or 'other plugs'}",
            "Teach with a cable that passes every check; one with two pairs needs --like, as --like industrial-2x2.",
        )
    shown = groups(found.laid)
    return estimate_run(found.laid, whole_pairs(found.laid, found.diagnosis.pairs, shown), shown, (), like)


def _faults(diagnosis: Diagnosis) -> tuple[str, ...]:
    """Return what is wrong with a cable; what another kind looks like shows in its length."""
    found = [one.fault for one in diagnosis.findings if one.fault not in OF_THE_KIND]
    if diagnosis.pairs is None or diagnosis.pairs.verdict == "cannot tell":
        found.append("split-pair")
    return tuple(dict.fromkeys(found))


def _check_length(belief: CableBelief, run: RunEstimate, length_m: float, share: float, like: Kind | None) -> None:
    mean, between, within = belief.moments()
    sigmas = (math.log(length_m) - mean) / math.hypot(between, within, share)
    if abs(sigmas) <= MOST_SIGMAS or run.cable is None:
        return
    shown = run.cable
    raise UsageError(
        f"{length_m:g} m was given, and as {like.name if like else 'any kind'} the cable measures "
        f"{shown.length_m:.2f} m ({shown.low_m:.2f} to {shown.high_m:.2f}), "
        f"{abs(sigmas):.1f} standard uncertainties away",
        "Measure the cable again, or say what kind it is (--like; `wiremap kinds` lists them).",
    )


def _likeliest(belief: CableBelief, length_m: float, share: float, limits: Limits) -> Kind:
    """Return the kind that is likeliest now that the length is known as well."""
    dry = [kind for kind in limits.kinds if kind.lay != "wet"]
    chance = dict.fromkeys((kind.name for kind in dry), 0.0)
    for weight, mean, u, one in zip(belief.weight, belief.mean[:, 0], belief.u[:, 0], belief.hypotheses, strict=True):
        spread = math.hypot(float(u), share)
        off = (math.log(length_m) - float(mean)) / spread
        if one.kind in chance:
            chance[one.kind] += float(weight) * math.exp(-0.5 * off**2) / spread
    return max(dry, key=lambda kind: chance[kind.name])


def _at_usual(one: Observation, celsius: float | None, limits: Limits) -> Observation:
    """Return a resistance as it is at 20 degrees C, with what is not known of the temperature; all else as it is."""
    if one.quantity != "resistance":
        return one
    copper = limits.materials.copper.temperature_coefficient_per_k
    if celsius is None:
        return replace(one, u_rel=math.hypot(one.u_rel, warm_u(limits)))
    warmer = 1 + copper * (celsius - USUAL_C)
    return replace(one, value=one.value / warmer, u_rel=math.hypot(one.u_rel, copper * TEMPERATURE_U_K))


def _spreads(base: Kind, limits: Limits) -> tuple[tuple[float, float, float], ...]:
    """Return how much velocity, impedance and resistance differ from kind to kind, make to make, reel to reel.

    What a kind differs by more than the three together is its makes'.
    """
    found = []
    for whole, of_kind, of_make, of_reel in (
        (
            velocity_u(base, True, limits),
            limits.velocity_of_kinds_u,
            limits.velocity_of_makes_u,
            limits.velocity_of_reels_u,
        ),
        (base.impedance_u, limits.impedance_of_kinds_u, limits.impedance_of_makes_u, limits.impedance_of_reels_u),
        (base.resistance_u, limits.resistance_of_kinds_u, limits.resistance_of_makes_u, limits.resistance_of_reels_u),
    ):
        rest = max(whole**2 - of_kind**2 - of_reel**2, of_make**2)
        found.append((of_kind, math.sqrt(rest), of_reel))
    return tuple(found)


def _of_levels(one: Hypothesis, base: Kind, limits: Limits) -> Hypothesis:
    """Return what one cable of a kind may be, its temperature left out."""
    v_u, impedance_u, ohm_u = (math.hypot(*levels, limits.same_reel_u) for levels in _spreads(base, limits))
    return replace(one, v_u=v_u, impedance_u=impedance_u, ohm_u=ohm_u)


def _predicted(learned: CableBelief, base: Kind, level: Level, limits: Limits) -> Kind:
    """Return what another cable of the reel, the make or the kind is, by what is believed of the one that was seen."""
    best = int(learned.weight.argmax())
    middle = learned.hypotheses[best]
    values = []
    for column, prior, levels in zip(
        (1, 2, 3), (middle.v, middle.impedance_ohm, middle.ohm_per_m), _spreads(base, limits), strict=True
    ):
        shared = sum(u**2 for u in levels[: {"kind": 1, "make": 2, "reel": 3}[level]])
        whole = sum(u**2 for u in levels) + limits.same_reel_u**2
        k = shared / whole
        moved = math.log(prior) + k * (float(learned.mean[best, column]) - math.log(prior))
        u = math.sqrt(k**2 * float(learned.u[best, column]) ** 2 + whole - shared * k)
        values.append((math.exp(moved), u))
    (v, v_u), (impedance, impedance_u), (ohm_per_m, ohm_u) = values
    return replace(
        base,
        awg=middle.awg,
        other_awg=_other_gauges(learned, middle.awg),
        nvp=round(v / LIGHT_M_PER_S, 5),
        nvp_u=round(v_u, 5),
        impedance_ohm=round(impedance, 3),
        impedance_u=round(impedance_u, 5),
        resistance_u=round(ohm_u, 5),
        ohm_per_100m=round(100 * ohm_per_m, 4),
    )


def _other_gauges(learned: CableBelief, awg: int) -> tuple[int, ...]:
    chance: dict[int, float] = {}
    for weight, one in zip(learned.weight, learned.hypotheses, strict=True):
        chance[one.awg] = chance.get(one.awg, 0.0) + float(weight)
    return tuple(gauge for gauge in sorted(chance) if gauge != awg and chance[gauge] >= LEAST_WEIGHT)

"""False alarms on sound cables, those of high skew included; weaker witnesses; short cords against a good one."""

import math

import numpy as np
from msgspec.structs import replace

from tests.firmware_sim.cable_model.population import Cables, Spread, draw, grounded_groups_pf, jack_pf
from tests.judge.run.length_checks import COARSE
from tests.judge.run.stacked import best_matchings
from tests.judge.simulated import CONTACTS, PAIRS, USUAL_ORDER, described, lot, measured_reading
from wiremap.cable.limits import limits
from wiremap.cable.patterns import pattern
from wiremap.contact import near_contact
from wiremap.judge.measurements import Pairing
from wiremap.judge.run.capacitance import groups
from wiremap.judge.run.network import Array, two_terminal
from wiremap.judge.run.pairing.matching import matchings
from wiremap.judge.run.pairing.pairing import expected_pairs
from wiremap.judge.run.pairing.weaker import weaker_pairing
from wiremap.judge.wiring.laid_reading import lay_reading
from wiremap.reading.parts import Capacitance, Trace
from wiremap.reading.reading import Reading

STRAIGHT = pattern("straight")
HIGH_SKEW = Spread(pair_delay_sd=0.025)
SOUND = matchings(8).index(((0, 1), (2, 5), (3, 4), (6, 7)))
STEP_UV = 3_300_000


def false_alarms(seed: int, count: int) -> str:
    """Check that on sound cables of high skew, 0.3 to 100 m, at most 1 in 1000 confirmed pairings is wrong."""
    rng = np.random.default_rng(seed)
    said = []
    for kind in ("UTP", "F/UTP"):
        for method, shortest_m in (("direct", 0.3), ("two_terminal", 1.0)):
            length_m = np.exp(rng.uniform(math.log(shortest_m), math.log(100.0), count))
            cables = draw(kind, length_m, seed, HIGH_SKEW)
            at = np.argsort(USUAL_ORDER)
            maxwell = np.asarray(cables.maxwell_pf[:, at[:, None], at[None, :]], dtype=np.float64)
            jacks = jack_pf(count, seed + 1)
            maxwell = maxwell + jacks.sum(axis=2)[..., None] * np.eye(8) - jacks
            noise = np.triu(1.0 * rng.standard_normal((count, 8, 8)), 1)
            noise = noise + noise.swapaxes(1, 2)
            if method == "direct":
                _, double = grounded_groups_pf(Cables(**{**vars(cables), "maxwell_pf": maxwell}), 10.0)
                best, z = best_matchings(np.asarray(-(double + noise) / 2, dtype=np.float64), 0.5)
            else:
                shown = two_terminal(maxwell, 10.0, False, 20.0)
                best, z = best_matchings((shown + shown.swapaxes(1, 2)) / 2 + noise, 1.0)
            sure = z >= limits().pairing_confirmed
            wrong = int((sure & (best != SOUND)).sum())
            assert wrong <= sure.sum() / 1000
            here = int(sure.sum())
            said.append(f"{kind} {method}: {wrong} of {here} confirmed wrong, {count - here} not sure")
    return "; ".join(said)


def _only(reading: Reading, capacitance: bool, echoes: bool, traces: tuple[Trace, ...] = ()) -> Reading:
    """Return a reading in which only the four pinned pairs were measured, by these means."""
    seen = reading.capacitance
    assert seen is not None
    assert seen.two_terminal_pf is not None
    places = {frozenset((CONTACTS.index(a), CONTACTS.index(b))) for a, b in PAIRS}
    pinned = tuple(
        tuple(value if frozenset((i, j)) in places else None for j, value in enumerate(row))
        for i, row in enumerate(seen.two_terminal_pf)
    )
    few = Capacitance(pinned, None, None, seen.pin_pf, False, 1, seen.sd_pf)
    return replace(
        reading, capacitance=few if capacitance else None, echoes=reading.echoes if echoes else (), traces=traces
    )


def _launch_trace(pair: tuple[str, str], ohm: float) -> Trace:
    level = ohm / (ohm + 100.0)
    volts = [0.0] * 4 + [level] * 60 + [1.0] * 60
    return Trace(
        near_contact(pair[0]), near_contact(pair[1]), -3000.0, 1000.0, tuple(round(v * STEP_UV) for v in volts), STEP_UV
    )


def weaker_witnesses(seed: int, count: int) -> str:
    """Check that each weaker witness confirms a split on at most 1 in 1000 sound cables of high skew."""
    rng = np.random.default_rng(seed)
    length_m = np.exp(rng.uniform(math.log(2.2), math.log(95.0), count))
    tally: dict[str, dict[str, int]] = {}
    for start in range(0, count, 250):
        kind = ("UTP", "F/UTP")[(start // 250) % 2]
        made = lot(kind, length_m[start : start + 250], seed + start, HIGH_SKEW, COARSE)
        for reading in made.readings:
            ohms = 100.0 * (1 + 0.03 * rng.standard_normal(4)) * (1 + 0.03 * rng.standard_normal())
            traces = tuple(_launch_trace(pair, ohm) for pair, ohm in zip(PAIRS, ohms.tolist(), strict=True))
            for name, one in (
                ("capacitance", _only(reading, True, False)),
                ("echo", _only(reading, False, True)),
                ("capacitance and echo", _only(reading, True, True)),
                ("launch", _only(reading, False, False, traces)),
            ):
                seen = groups(lay_reading(one, STRAIGHT, limits()))
                found = weaker_pairing(one, expected_pairs(STRAIGHT), seen, limits())
                word = (
                    found.why
                    if not isinstance(found, Pairing)
                    else f"{'split' if found.split else 'sound'} {found.verdict}"
                )
                tally.setdefault(name, {}).setdefault(word, 0)
                tally[name][word] += 1
    for name, words in tally.items():
        assert words.get("split confirmed", 0) <= max(1.0, count / 1000), (name, words)
    return "; ".join(f"{name}: {words}" for name, words in tally.items())


def _cord(length_m: float, count: int, seed: int, split: bool, rng: np.random.Generator) -> Array:
    """Return grounded-group values [count, 8, 8] of short cords, plugs and jacks included, 1 pF noise, in contacts."""
    cables = draw("UTP", np.full(count, length_m), seed)
    order = (0, 1, 2, 3, 4, 5, 6, 7) if split else USUAL_ORDER
    at = np.argsort(order)
    maxwell = np.asarray(cables.maxwell_pf[:, at[:, None], at[None, :]], dtype=np.float64)
    jacks = jack_pf(count, seed + 1)
    maxwell = maxwell + jacks.sum(axis=2)[..., None] * np.eye(8) - jacks
    _, double = grounded_groups_pf(Cables(**{**vars(cables), "maxwell_pf": maxwell}), 10.0)
    noise = np.triu(rng.standard_normal((count, 8, 8)), 1)
    return np.asarray(double + noise + noise.swapaxes(1, 2), dtype=np.float64)


def short_cords(seed: int, count: int) -> str:
    """Check that cords from 0.2 m, against a good one of their kind, are paired rightly wherever it is confirmed."""
    rng = np.random.default_rng(seed)
    said = []
    first, second = np.triu_indices(8, 1)
    partners = np.array(
        [(i, j) in ((0, 1), (2, 5), (3, 4), (6, 7)) for i, j in zip(first.tolist(), second.tolist(), strict=True)]
    )
    for length_m in (0.1, 0.2, 0.3):
        good = -_cord(length_m, count, seed + 10, False, rng)[:, first, second] / 2
        for split in (False, True):
            cord = -_cord(length_m, count, seed + 20 + split, split, rng)[:, first, second] / 2
            apart = good[:, partners].mean(axis=1) - good[:, ~partners].mean(axis=1)
            weight = cord - good + np.where(partners, apart[:, None], 0.0)
            square = np.zeros((count, 8, 8))
            square[:, first, second] = weight
            best, z = best_matchings(square, math.sqrt(2) / 2)
            true = matchings(8).index(((0, 1), (2, 3), (4, 5), (6, 7))) if split else SOUND
            sure = z >= limits().pairing_confirmed
            wrong = int((sure & (best != true)).sum())
            assert wrong <= max(1.0, float(sure.sum()) / 1000)
            share = float((best == true).mean())
            what = "split" if split else "sound"
            sure_part = float(sure.mean())
            said.append(f"{length_m} m {what}: {share:.4f} right, {sure_part:.3f} sure, {wrong} of those wrong")
    return "; ".join(said)


def detected(length_m: float, kind: str, means: str, near: str | tuple[str, ...] = "in-sequence") -> Pairing | None:
    """Return what one witness says of a described cable, of pairs 3-6 and 4-5 split as a rule; None = not checked."""
    reading = measured_reading(described(length_m, near=near, kind=kind), grouped=False)
    one = _only(
        reading,
        means in ("lengths", "ratio"),
        means in ("echoes", "ratio"),
        reading.traces if means == "launch" else (),
    )
    found = weaker_pairing(one, expected_pairs(STRAIGHT), groups(lay_reading(one, STRAIGHT, limits())), limits())
    return found if isinstance(found, Pairing) else None

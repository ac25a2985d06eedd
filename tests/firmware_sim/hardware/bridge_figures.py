"""Figures of the capacitance bridge: the known capacitor, a pedestal, and a neighbour that is stepped."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from firmware_sim.hardware.bench import bench
from firmware_sim.hardware.deck import Assumed, Held, deck
from tests.firmware_sim.hardware.cables import FOIL, SAID_FOIL, SAID_UTP, UTP, Sort, cable, direct
from tests.firmware_sim.hardware.measuring_figures import COUNT_V, low_but
from tests.firmware_sim.hardware.spice import Figure, measured, run

BENCH = bench()
KNOWN_PF = 220.0
LET_GO_S, PEDESTAL_S, FIRST_S = 1e-5, 1.5e-5, 2e-5
JUMPS_AT, JUMP = (512, 1536, 2560, 3584), 8  # of the RP2040's converter, counts (from memory)
OTHERS = {"mate": "2", "nearer": "3", "opposite": "4"}


@dataclass(frozen=True)
class Steps:
    """The levels of one bridge, volts at the common: pedestal, known capacitor, a wait, the neighbour's step."""

    pedestal: float
    known: float
    waited: float
    stepped: float

    def picofarads(self) -> float:
        """Return the direct capacitance to the neighbour; drift is taken off."""
        drift = self.waited - self.known
        return KNOWN_PF * (self.stepped - self.waited - drift) / (self.known - self.pedestal - drift)


def bridged(
    sort: Sort,
    metres: float,
    other: str,
    step_s: float = 1e-4,
    around: str = "0",
    world: str = "",
    assumed: Assumed | None = None,
    factors: Mapping[str, float] | None = None,
) -> Steps:
    """Return the levels with net 1 floating and the net of another conductor stepped; all others low."""
    known, stepped = (FIRST_S + step_s * place for place in (1, 3))
    let_go: Held = ((0.0, "low"), (LET_GO_S, "float"))
    up: Held = ((0.0, "low"), (stepped, "high"))
    held: dict[str, Held] = {"N1_P": let_go, "F1_P": let_go, f"N{other}_P": up, f"F{other}_P": up}
    held |= {"PED_A": ((0.0, "low"), (PEDESTAL_S, "high")), "STEP_A": ((0.0, "low"), (known, "high"))}
    names = ("pedestal", "known", "waited", "stepped")
    read = {name: ("v(com_a)", f"{FIRST_S + step_s * place - 1e-6:.9g}") for place, name in enumerate(names, 1)}
    asked = measured(f"{FIRST_S + 4 * step_s:g}", "0.5u", **read)
    text = cable(sort, metres, around) + "\n" + world
    found = run(deck(BENCH, low_but(0, 15, **held), assumed or Assumed(limited=True), text, asked, factors))
    return Steps(*(found[name] for name in names))


def read_by_the_chip(steps: Steps, rng: np.random.Generator, repeats: int = 4, taken_out: bool = True) -> float:
    """Return the mean of some bridges as the chip's converter reads them: 8 readings each, noise 1.2 counts r.m.s.

    taken_out: a program's table has exactly the converter's jumps, the best case; without one it is the worst.
    """
    levels = np.array([steps.pedestal, steps.known, steps.waited, steps.stepped]) / COUNT_V
    slope = (4096 - len(JUMPS_AT) * JUMP) / 4096
    values = []
    for _ in range(repeats):
        ideal = (levels[:, np.newaxis] + 3 + rng.normal(0, 1.2, (4, 8))) * slope
        codes = np.rint(ideal + JUMP * (ideal[..., np.newaxis] > np.array(JUMPS_AT)).sum(axis=-1)).clip(0, 4095)
        if taken_out:
            table = np.array(JUMPS_AT) + JUMP * (np.arange(len(JUMPS_AT)) + 0.5)
            codes = (codes - JUMP * (codes[..., np.newaxis] > table).sum(axis=-1)) / slope
        values.append(Steps(*codes.mean(axis=1).tolist()).picofarads())
    return float(np.mean(values))


def lengths(
    unscreened: tuple[float, ...], foiled: tuple[float, ...], draws: int = 200, seed: int = 4
) -> Iterator[Figure]:
    """Give what 95 of 100 readings err by at most, over (1 pF + 2 %): the worst of mate, nearer, opposite."""
    rng = np.random.default_rng(seed)
    said = {0.001: 0.058, 0.3: 0.06, 1.0: 0.017, 2.0: 0.2, 20.0: 0.1, 90.0: 0.13}
    said_foil = {0.3: 0.12, 1.0: 0.16, 20.0: 0.2, 90.0: 0.72}
    for name, sort, around, chosen, of in (
        ("UTP", SAID_UTP, "0", unscreened, said),
        ("F/UTP", SAID_FOIL, "NS", foiled, said_foil),
    ):
        for metres in chosen:
            step_s = 5e-4 if name == "F/UTP" and metres > 30 else 1e-4 if metres < 30 else 2e-4
            zero = {other: bridged(sort, 1e-4, other) for other in OTHERS.values()} if metres < 5 else {}
            worst, exact = 0.0, 0.0
            for other in OTHERS.values():
                world = "r_foil NS FS 1m" if around == "NS" else ""
                steps = bridged(sort, metres, other, step_s, around, world)
                empty = zero[other].picofarads() if other in zero else 0.0
                true = direct(sort, "1", other) * metres
                read = [read_by_the_chip(steps, rng) - empty - true for _ in range(draws)]
                worst = max(worst, float(np.quantile(np.abs(read), 0.95)) / (1 + 0.02 * true))
                exact = max(exact, abs(steps.picofarads() - empty - true) / (1 + 0.02 * true))
            why = f"the circuit alone {exact:.3f}; {step_s * 1e6:.0f} us a step"
            yield Figure(
                f"bridge, {name} {metres:g} m: 95 % of errors over (1 pF + 2 %)", "", of[metres], worst, 0, 1, why
            )


def noise(seed: int = 5) -> Iterator[Figure]:
    """Give the scatter of one value, and what the converter's jumps cost where no table takes them out."""
    rng = np.random.default_rng(seed)
    near, long = bridged(SAID_UTP, 1, "3"), bridged(SAID_UTP, 90, "2", 2e-4)
    scatter = float(np.std([read_by_the_chip(near, rng) for _ in range(200)], ddof=1))
    yield Figure("bridge: scatter at 1 m, 4 repeats", "pF", 0.0585, scatter, 0, 0.5)
    many = [read_by_the_chip(long, rng) for _ in range(200)]
    yield Figure(
        "bridge: scatter at 90 m, 4 repeats", "%", 0.327, float(100 * np.std(many, ddof=1) / np.mean(many)), 0, 1
    )
    for metres, said, steps, most in ((1, -0.30, bridged(SAID_UTP, 1, "2"), 1.0), (90, 14.0, long, 60.0)):
        off = np.mean([read_by_the_chip(steps, rng, 4, taken_out=False) for _ in range(50)]) - steps.picofarads()
        yield Figure(f"bridge: jumps not taken out, {metres} m: off by", "pF", said, float(off), -most, most)


def disturbed() -> Iterator[Figure]:
    """Give what parts and leaks do to the mate's value."""
    true = {metres: SAID_UTP.mate * metres for metres in (1, 20)}
    cases: dict[str, tuple[Assumed, str, dict[int, float], float]] = {
        "40 pF a contact": (Assumed(limited=True, contact_f=15e-12), "", {1: 0.06, 20: 0.27}, 1.0),
        "100 pF a contact": (Assumed(limited=True, contact_f=75e-12), "", {1: -0.1, 20: -0.24}, 1.0),
        "multiplexer 150 ohm": (Assumed(limited=True, channel_ohm={"COM_A": 150.0}), "", {1: -0.06, 20: 0.1}, 1.0),
        "100 nA into the net": (Assumed(limited=True), "i_leak 0 N1 100n", {1: -0.04, 20: -0.17}, 1.0),
        "1 uA into the net": (Assumed(limited=True), "i_leak 0 N1 1u", {1: -0.01, 20: -2.1}, 5.0),
        "10 Mohm to ground": (Assumed(limited=True), "r_leak N1 0 10meg", {1: -0.57, 20: -3.93}, 6.0),
        "1 Mohm to ground": (Assumed(limited=True), "r_leak N1 0 1meg", {20: -37.6}, 60.0),
    }
    for name, (assumed, world, said, most) in cases.items():
        for metres, before in said.items():
            found = bridged(SAID_UTP, metres, "2", world=world, assumed=assumed)
            off = found.picofarads() - true[metres]
            why = "such a net is marked, its capacitance not judged" if name.startswith("1 M") else ""
            yield Figure(f"bridge, {metres} m, {name}: mate off by", "pF", before, off, -most, most, why)


def levels_and_kick() -> Iterator[Figure]:
    """Give the pedestal's level at 90 m, and what a falling STEP does to the multiplexer."""
    long = bridged(SAID_UTP, 90, "2", 2e-4)
    yield Figure(
        "bridge: pedestal's level at 90 m", "mV", 53, long.pedestal * 1e3, 40, 70, "an output need not reach 0 V"
    )
    for text, ohm, said, most in (("22 kohm in series", 22e3, None, 0.6), ("none in series", 22.0, 1.0, 1.3)):
        falls: Held = ((0.0, "high"), (1e-5, "low"))
        asked = ".tran 10n 60u 0 5n\n.measure tran least min v(com_a)\n"
        asked += ".measure tran most max par('abs(v(step_a)-v(step_a_c))')"
        program = low_but(0, 15, STEP_A=falls)
        found = run(deck(BENCH, program, Assumed(limited=True), cable(SAID_UTP, 2, "0"), asked, {"R45": ohm / 22e3}))
        name = f"bridge: a falling STEP, {text}"
        why = "short of what a protection diode takes" if said is None else "why there is a resistor"
        yield Figure(f"{name}: common goes under ground by", "V", said, -found["least"], 0, most, why)
        current, limit = (None, 0.2) if said is None else (18, 30)
        yield Figure(f"{name}: greatest current", "mA", current, found["most"] / ohm * 1e3, 0, limit, why)


def surroundings() -> Iterator[Figure]:
    """Give what floating surroundings add: C_i x C_j over the sum of all, by hand 0.43 pF/m unscreened."""
    for name, sort, world, said in (
        ("UTP", UTP, "r_room room 0 1e12", {"2": None, "3": None, "4": 1.22}),
        ("F/UTP", FOIL, "r_room room 0 1e12", {"2": 31.1, "3": 7.2, "4": 4.0}),
    ):
        for other, before in said.items():
            floating = bridged(sort, 10, other, 2e-4, "room", world).picofarads() / 10
            by_hand = direct(sort, "1", other) + sort.around / 8
            text = f"bridge, {name}, surroundings floating, to {other}: a metre"
            yield Figure(text, "pF", before, floating, by_hand * 0.95 - 0.05, by_hand * 1.05 + 0.05)

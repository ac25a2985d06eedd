"""Figures of what the bench board measures with direct current: ohms, films, leaks, foreign voltage."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace

import numpy as np

from firmware_sim.hardware.bench import CONTACTS, bench
from firmware_sim.hardware.deck import Assumed, Held, Program, deck
from firmware_sim.hardware.values import bench_values
from tests.firmware_sim.hardware.cables import SAID_UTP, cable
from tests.firmware_sim.hardware.spice import AT_REST, Figure, measured, run

BENCH = bench()
VALUES = bench_values(BENCH)
STEPS = ("STEP_A", "STEP_B", "PED_A", "PED_B")
ALL_LOW: dict[str, Held] = dict.fromkeys(("GATE", *STEPS, *(f"{contact}_P" for contact in CONTACTS)), "low")
LIFT_PIN_OHM = 40
COUNT_V = 3.3 / 4096  # of the chip's converter: its reference is the supply
UP_SHARE = VALUES.up_ohm / (VALUES.up_ohm + VALUES.sense_ohm + 100)  # of a contact's change that its common shows
DRIVE_OHM = VALUES.drive_ohm + VALUES.port_series_ohm + 60


def low_but(channel_a: int = 15, channel_b: int = 15, **held: Held) -> Program:
    """Return every contact low but what is said otherwise, and where the multiplexers look."""
    return Program(ALL_LOW | held, {"COM_A": channel_a, "COM_B": channel_b})


def nodes(
    program: Program, assumed: Assumed, world: str, factors: Mapping[str, float] | None = None
) -> dict[str, float]:
    """Return the board's voltages at rest."""
    return run(deck(BENCH, program, assumed, world, AT_REST, factors))


class Converter:
    """The 16-bit converter: its finest range that holds the value, its noise, its counts; the mean of some readings."""

    def __init__(self, seed: int | None) -> None:
        """Begin a repeatable run of noise; None: neither noise nor counts."""
        self.rng = None if seed is None else np.random.default_rng(seed)

    def reading(self, volt: float, count: int = 4, extra_noise_v: float = 0.0) -> float:
        """Return the mean of some conversions, volts. Noise: 8 uV or 0.8 count r.m.s., assumed."""
        if self.rng is None:
            return volt
        full = next(full for full in (0.256, 0.512, 1.024, 2.048, 4.096) if abs(volt) < 0.95 * full or full > 4)
        step = full / 32_768
        noise = math.hypot(max(8e-6, 0.8 * step), extra_noise_v)
        counts = np.rint((volt + self.rng.normal(0.0, noise, count)) / step)
        return float(np.clip(counts, -32_768, 32_767).mean() * step)


def corner(rng: np.random.Generator, sense: float = 0.01) -> tuple[Assumed, dict[str, float]]:
    """Return a corner of all parts: each at one end of its tolerance, or of what is assumed of it."""
    ends = {f"R{number}": 0.01 for number in range(1, 19)} | {f"R{number}": sense for number in range(21, 39)}
    ends |= {"R43": 1e-3, "R48": 1e-3, "R56": 1e-3, "R57": 1e-3, "R58": 1e-3, "R53": 0.01, "R54": 0.01, "R55": 0.01}
    ends |= {"RN1": 0.02, "RN2": 0.02}
    factors = {reference: 1 + end * rng.choice((-1, 1)) for reference, end in ends.items()}
    assumed = Assumed(
        supply_v=float(rng.choice((3.135, 3.465))),
        high_ohm={f"{contact}_P": float(rng.choice((50, 150))) for contact in CONTACTS},
        low_ohm={f"{contact}_P": float(rng.choice((30, 100))) for contact in CONTACTS},
        channel_ohm={common: float(rng.choice((40, 150))) for common in ("COM_A", "COM_B")},
        offset_v={out: float(rng.choice((-4.5e-3, 4.5e-3))) for out in ("BUF_A", "BUF_B", "X11_A", "X11_B")},
    )
    return assumed, factors


def _differing(found: Mapping[str, float]) -> float:
    return found["x11_a"] - found["x11_b"]


def four_wire(
    ohm: float,
    assumed: Assumed,
    factors: Mapping[str, float] | None,
    seed: int | None,
    change: bool = False,
) -> float:
    """Return what a program would say of a conductor of some ohms: the formulas of the design, on this board's nodes.

    The current is the mean of both ways, each through its own contact's drive, since no two pins of a port are alike.
    change: the voltage at that drive is what a reading with UP on rises by when the other contact goes from low to
    high, so that the offset of the buffer goes out, and the sense resistor with it.
    """
    converter = Converter(seed)
    world = f"r_run N1 F1 {ohm}"
    noise = 2e-6 * VALUES.gain_thousandths / 1000 / 2  # amplifier and sense resistors, r.m.s. of four readings
    at_known = nodes(low_but(9, 9), assumed, world, factors)
    at_link = nodes(low_but(10, 10), assumed, world, factors)
    zero = converter.reading(_differing(at_link), 4, noise)
    scale = (converter.reading(_differing(at_known), 4, noise) - zero) / converter.reading(at_known["buf_b"])
    rail = converter.reading(at_known["buf_a"]) * (
        1 + VALUES.known_top_ohm / (VALUES.known_ohm + VALUES.known_bottom_ohm)
    )

    def drive(floats: str, side: str, other: str) -> float:
        """Return what holds a contact low, ohm: a current through UP of the other side, seen on this one."""
        seen = {}
        for state in ("high", "float"):
            held: dict[str, Held] = {f"{floats}_P": "float", f"UP_{other}": state, f"UP_{side}": "high"}
            found = nodes(low_but(0, 0, **held), assumed, world, factors)
            seen[state] = [converter.reading(found[f"buf_{one}".lower()]) for one in (other, side)]
        change = seen["high"][1] - seen["float"][1]
        return change / UP_SHARE / ((rail - seen["high"][0] - change) / VALUES.up_ohm)

    plus = nodes(low_but(0, 0, N1_P="high"), assumed, world, factors)
    minus = nodes(low_but(0, 0, F1_P="high"), assumed, world, factors)
    across = (converter.reading(_differing(plus), 4, noise) - converter.reading(_differing(minus), 4, noise)) / 2

    def at_drive(high: str, side: str) -> float:
        """Return the voltage at the low contact's drive while the other is high."""
        if not change:
            return converter.reading((plus if high == "N1" else minus)[f"buf_{side}".lower()])
        rise = 0.0
        for level, sign in (("high", 1), ("low", -1)):
            found = nodes(low_but(0, 0, **{f"{high}_P": level, f"UP_{side}": "high"}), assumed, world, factors)
            rise += sign * converter.reading(found[f"buf_{side}".lower()])
        loaded = 1 + DRIVE_OHM / 2 / (VALUES.up_ohm + VALUES.sense_ohm + 100)
        return rise / UP_SHARE * loaded

    forth = at_drive("N1", "B") / drive("N1", "B", "A")
    back = at_drive("F1", "A") / drive("F1", "A", "B")
    return across * VALUES.known_ohm / VALUES.known_bottom_ohm / scale / ((forth + back) / 2)


def ohms(corners: int, values: tuple[float, ...] = (0.02, 0.2, 1.0, 10.0, 40.0), seed: int = 1) -> Iterator[Figure]:
    """Give the greatest error of four-wire ohms over what is allowed, 20 mohm + 1 %, in corners of all parts."""
    rng = np.random.default_rng(seed)
    drawn = [(Assumed(), dict[str, float]()), *(corner(rng) for _ in range(corners))]
    for ohm in values:
        errors = [
            four_wire(ohm, assumed, factors, seed + place) - ohm for place, (assumed, factors) in enumerate(drawn)
        ]
        worst = max(map(abs, errors)) / (0.02 + 0.01 * ohm)
        said = 0.67 if ohm == 40 else None
        why = f"errors {min(errors):+.4f} to {max(errors):+.4f} ohm"
        yield Figure(f"ohms: {ohm:g} ohm, {len(drawn)} corners: error over (20 mohm + 1 %)", "", said, worst, 0, 1, why)


def ohms_at_worst(ohm: float = 40.0) -> Iterator[Figure]:
    """Give the sum of what every part does alone, each at its worse end: no corner is worse."""
    parts = [f"R{number}" for number in (1, 10, 53, 54, 55)] + ["R21", "R30"]
    ends: list[tuple[Assumed, dict[str, float]]] = [(Assumed(), {part: 1.01}) for part in parts]
    ends += [(Assumed(), {part: 1.001}) for part in ("R43", "R48", "R56", "R57", "R58")]
    ends += [(Assumed(offset_v={out: 4.5e-3}), {}) for out in ("BUF_A", "BUF_B", "X11_A", "X11_B")]
    ends += [(Assumed(channel_ohm={common: 40.0}), {}) for common in ("COM_A", "COM_B")]
    ends += [
        (Assumed(high_ohm={f"{contact}_P": 150.0}, low_ohm={f"{contact}_P": 30.0}), {}) for contact in ("N1", "F1")
    ]
    for change, said, most, how, why in (
        (False, 0.67, 1.25, "current by voltage", "offsets of 4.5 mV in both buffers are half of it"),
        (True, None, 1.0, "current by change", "offsets and sense resistors go out"),
    ):
        at_best = four_wire(ohm, Assumed(), None, None, change)
        worst = sum(abs(four_wire(ohm, *end, None, change) - at_best) for end in ends) + abs(at_best - ohm)
        name = f"ohms: {ohm:g} ohm, all parts at their worse ends, {how}: error over (20 mohm + 1 %)"
        yield Figure(name, "", said, worst / (0.02 + 0.01 * ohm), 0, most, why)


def ohms_where_they_bite(seed: int = 2) -> Iterator[Figure]:
    """Give what leakage, sense resistors of 2 % and an output that does not reach ground cost."""
    for nano, said in ((1, -0.001), (10, -0.002), (100, -0.019), (1000, -0.184)):
        assumed = Assumed(common_leak_a=0.0, leak_a=0.0)
        world = f"r_run N1 F1 0.2\nr_leaky VC COM_A {3.3 / (nano * 1e-9):g}"
        factors = {"R1": 0.99, "R10": 1.01}
        plus = nodes(low_but(0, 0, N1_P="high"), assumed, world, factors)
        minus = nodes(low_but(0, 0, F1_P="high"), assumed, world, factors)
        across = (plus["com_a"] - plus["com_b"] - minus["com_a"] + minus["com_b"]) / 2
        error = across / (plus["f1"] / (DRIVE_OHM + 30)) - 0.2
        limit = 0.022 if nano <= 100 else 0.25
        yield Figure(
            f"ohms: {nano} nA that follows the voltage on one common: error", "ohm", said, error, -limit, limit
        )
    for least, said in ((0.002, 0.0), (0.025, 0.0)):
        got = four_wire(10.0, Assumed(limited=True, floor_v=least), None, seed)
        name = f"ohms: outputs reach ground to {least * 1e3:g} mV only, UP_B on in both readings: error at 10 ohm"
        yield Figure(name, "ohm", said, got - 10.0, -0.12, 0.12, "with UP_B off it would be -7 % and -28 %")


def low_level(seed: int = 3) -> Iterator[Figure]:
    """Give the voltage across an open film, and what is read of films."""
    states: dict[str, dict[str, Held]] = {
        "lifted": {"UP_A": "high", "UP_B": "high", "LIFT": "high"},
        "not": {"UP_A": "high", "UP_B": "high", "LIFT": "low"},
    }
    across = [
        abs(found["n1"] - found["f1"])
        for near, far in ((60, 60), (30, 100), (100, 30))
        for supply, skew in ((3.3, 0.0), (3.465, 0.01), (3.465, -0.01))
        for held in states.values()
        for found in [
            nodes(
                low_but(0, 0, **held),
                Assumed(supply_v=supply, low_ohm={"N1_P": near, "F1_P": far}, pico_ohm=25),
                "",
                {"R1": 1 - skew, "R10": 1 + skew, "R42": 0.99, "R41": 1.01},
            )
        ]
    ]
    yield Figure(
        "low level: greatest open-circuit voltage, all parts at their ends", "mV", 19.2, max(across) * 1e3, 0, 20
    )
    nominal = nodes(low_but(0, 0, **states["lifted"]), Assumed(), "")
    yield Figure("low level: open-circuit voltage", "mV", 13.58, (nominal["n1"] - nominal["f1"]) * 1e3, 12, 15)
    rng = np.random.default_rng(seed)
    for ohm, said in ((0.5, 0.44), (5.0, 5.1), (50.0, 49.83), (500.0, 498.16)):
        found = {name: nodes(low_but(0, 0, **held), Assumed(), f"r_film N1 F1 {ohm}") for name, held in states.items()}
        lifted, not_ = (found[name]["x11_a"] - found[name]["x11_b"] for name in states)
        readings = []
        for _ in range(40):
            converter = Converter(int(rng.integers(1 << 30)))
            noise = 2e-6 * 11
            change = (converter.reading(lifted, 8, noise) - converter.reading(not_, 8, noise)) / 11 / UP_SHARE
            whole = 3.3 * VALUES.ground_lead_ohm / (VALUES.ground_lead_ohm + VALUES.lift_ohm + LIFT_PIN_OHM)
            readings.append(2 * DRIVE_OHM * change / (whole - change))
        mean, deviation = float(np.mean(readings)), float(np.std(readings, ddof=1))
        yield Figure(f"low level: a film of {ohm:g} ohm reads", "ohm", said, mean, 0.98 * ohm - 1, 1.02 * ohm + 1)
        if ohm == 5:
            yield Figure("low level: three deviations at 5 ohm", "ohm", 2.09, 3 * deviation, 0, 5)
    film = nodes(low_but(0, 15, N1_P="float", UP_A="high"), Assumed(), "r_film N1 F1 1g")
    why = "so the low level comes before any look with UP"
    yield Figure("look with UP: across an open film", "V", 3.29, film["n1"] - film["f1"], 3.2, 3.3, why)


def low_level_steps(chosen: tuple[float, ...] = (0.0, 5e-7, 1e-6, 1e-5)) -> Iterator[Figure]:
    """Give the greatest voltage across an open film while UP and LIFT come on."""
    after: Held = ((0.0, "low"), (2.1e-4, "high"))
    apart = "what keeps STEP and PED from kicking (22 kohm each) leaves the common quicker: both UP in one write"
    for text, late, said, most, why in (
        ("together", 0.0, 18.3, 20.0, ""),
        ("0.5 us apart", 5e-7, None, 20.0, ""),
        ("1 us apart", 1e-6, 13.6, 30.0, apart),
        ("10 us apart", 1e-5, 66.4, 90.0, apart),
    ):
        if late not in chosen:
            continue
        held: dict[str, Held] = {"UP_A": ((0.0, "low"), (1e-5, "high")), "UP_B": ((0.0, "low"), (1e-5 + late, "high"))}
        factors = {"R43": 0.99, "R48": 1.01, "R1": 1.02, "R10": 0.98} if late == 0 else None
        skew = "c_more COM_B 0 30p\n" if late == 0 else ""
        asked = ".tran 0.1u 400u 0 0.1u\n.measure tran most max par('abs(v(n1)-v(f1))')"
        program = low_but(0, 0, **held, LIFT=after)
        found = run(deck(BENCH, program, Assumed(limited=True), f"{skew}r_film N1 F1 1g", asked, factors))
        yield Figure(
            f"low level: UP_A and UP_B come on {text}: greatest across a film",
            "mV",
            said,
            found["most"] * 1e3,
            0,
            most,
            why,
        )


def leaks(lengths: tuple[float, ...] = (0.0, 2.0, 90.0)) -> Iterator[Figure]:
    """Give counts of the chip's converter that a leak to the mate makes, and what is read of it."""
    for metres in lengths:
        counts: dict[float, float] = {}
        wait = 60e-6 + 10 * 3.39e3 * 62.8e-12 * metres
        for ohm in (1e12, 1e6, 50e3):
            levels = []
            for level in ("high", "low"):
                held: dict[str, Held] = {
                    "N1_P": ((0.0, "low"), (1e-5, level)),
                    "F1_P": "float",
                    "F2_P": "low",
                    "N2_P": "float",
                }
                program = low_but(15, 1, **held, UP_B="high")
                world = cable(SAID_UTP, max(metres, 1e-3), "0") + f"\nr_leak N1 N2 {ohm}"
                asked = measured(f"{wait + 2e-5:g}", "1u", seen=("v(adc_b)", f"{1e-5 + wait:g}"))
                levels.append(run(deck(BENCH, program, Assumed(limited=True), world, asked))["seen"] / COUNT_V)
            counts[ohm] = levels[0] - levels[1]
        read = {
            ohm: 3.3 * UP_SHARE * DRIVE_OHM / (max(count, 0.01) * COUNT_V) - 2 * DRIVE_OHM
            for ohm, count in counts.items()
        }
        said_open, said_net = {0.0: (0.0, 11.2), 2.0: (0.0, 11.5), 90.0: (0.76, 10.3)}[metres]
        yield Figure(f"leak, {metres:g} m: counts of an open neighbour", "count", said_open, counts[1e12], -0.8, 0.8)
        net = counts[1e6] - counts[1e12]
        yield Figure(
            f"leak, {metres:g} m: 1 Mohm less open", "count", said_net, net, 5, 20, "said with noise, found without"
        )
        yield Figure(f"leak, {metres:g} m: 50 kohm reads", "kohm", 51.5, read[50e3] / 1e3, 47, 53)


def foreign() -> Iterator[Figure]:
    """Give what the look sees of voltages from outside."""

    def seen(
        volt: float, source_ohm: float, pull: dict[str, Held], iso: str = "1g", near: Mapping[str, float] | None = None
    ) -> float:
        world = f"v_foreign outer N3 {volt}\nr_foreign outer N1 {source_ohm}\nr_iso N3 0 {iso}"
        assumed = Assumed(limited=True)
        return nodes(low_but(0, 15, N1_P="float", **pull), assumed, world, near)["adc_a"]

    down: dict[str, Held] = {"DN_A": "low"}
    up: dict[str, Held] = {"UP_A": "high"}
    share = VALUES.dn_ohm / (VALUES.dn_ohm + VALUES.sense_ohm + 100)
    yield Figure("look: 0.3 V d.c., isolated, in DN", "count", 297, seen(0.3, 1, down) / COUNT_V, 200, 400)
    yield Figure("look: 0.3 V d.c. against ground, in DN", "count", 305, seen(0.3, 1, down, "1m") / COUNT_V, 200, 400)
    yield Figure("look: 0.5 V behind 10 kohm (wet plug)", "V", 0.45, seen(0.5, 10e3, down) / share, 0.4, 0.5)
    joined = seen(0.0, 1, up)
    shifted = abs(seen(0.0, 1, up, near={"R43": 1.01, "R21": 0.98}) - joined) / share
    yield Figure("look: what resistors 1 % and 2 % off make of the zero in UP", "V", 0.0176, shifted, 0, 0.05)
    below = (seen(-0.3, 1, up) - joined) / share
    yield Figure("look: -0.3 V, isolated, in UP", "V", -0.29, below, -0.36, -0.24)
    for volt, said in ((12.0, 4.75), (57.0, 4.84)):
        high = seen(volt, 1, down) / share
        why = "said without the buffer, which stops at the rail: 4.0 V is all that the converter sees"
        yield Figure(f"look: {volt:g} V, isolated, reads", "V", said, high, 3.5, 5.0, why)
    yield Figure("look: current from a source of 0.3 V", "uA", 2, 1e6 * seen(0.3, 1, down) / 100e3, 0, 5)


def looked_after(volt: float = 4.8) -> Iterator[Figure]:
    """Give what the neighbour's voltage leaves on an open contact 60 us after the multiplexer was turned."""
    world = f".ic v(com_a)={volt * 0.8125}"
    for contact_low, said, most in ((False, 0.77, 1.0), (True, 0.0, 0.1)):
        let_go: Held = ((0.0, "low"), (4e-5, "float")) if contact_low else "float"
        program = low_but(0, 15, N1_P=let_go, DN_A="low")
        asked = ".tran 0.5u 120u uic\n" + f".measure tran left find v(adc_a) at={'100u' if contact_low else '60u'}"
        found = run(deck(BENCH, replace(program), Assumed(limited=True), world, asked))
        text = "turned while the contact is low" if contact_low else "turned to a floating contact"
        yield Figure(
            f"look: a neighbour of {volt:g} V, {text}: left after 60 us", "V", said, found["left"], -0.01, most
        )


def gate_and_rail() -> Iterator[Figure]:
    """Give what the switch of VC does in a reset, behind its lines, and what the shunt comes to."""
    for factor, said, least, most in ((1.0, 0.0, -0.1, 0.1), (10 / 2.2, 3.29, 0.3, 3.4)):
        assumed = Assumed(reset_pull_ohm=50e3, fet_threshold_v=-0.4)
        found = nodes(Program(), assumed, "", {"R59": factor})
        why = "" if factor == 1 else "as it was drawn first: the pull-down of a reset Pico leaves the FET on"
        yield Figure(
            f"reset: VC with {2.2 * factor:g} kohm at the gate, FET at -0.4 V", "V", said, found["vc"], least, most, why
        )
    found = nodes(Program({"SCK": "high"}), Assumed(), "")
    yield Figure(
        "VC off, one line held high: VC", "V", 2.4, found["vc"], 1.0, 3.0, "so lines go low before VC goes off"
    )
    for grade, said in ((0.005, 3.59), (0.01, 3.65)):
        spread = 0.001 if grade == 0.005 else 0.01
        world = (
            "\n".join(f"r_{side}{contact} p {side}{contact} 1m" for side in "NF" for contact in ("1", "2"))
            + "\nv_fault p 0 57"
        )
        assumed = Assumed(shunt_reference_v=2.495 * (1 + grade), powered=True)
        found = run(deck(BENCH, Program(), assumed, world, AT_REST, {"R60": 1 + spread, "R61": 1 - spread}))
        why = "" if grade == 0.005 else "why the grade of 0.5 % and resistors of 0.1 % are on the list"
        limit = 3.63 if grade == 0.005 else 3.7
        yield Figure(
            f"57 V against ground, shunt of {grade:.1%} at its end: VC", "V", said, found["vc"], 3.4, limit, why
        )


def gain_zero() -> Iterator[Figure]:
    """Give how far the difference at the link may be from zero in a sound board."""
    signs = {"BUF_A": 0.0, "BUF_B": 0.0, "X11_A": 4.5e-3, "X11_B": -4.5e-3}
    found = nodes(low_but(10, 10), Assumed(offset_v=signs), "")
    zero = abs(found["x11_a"] - found["x11_b"]) * 1e3
    yield Figure(
        "self-test: difference at the link, offsets of 4.5 mV", "mV", None, zero, 0, 200, "limit of the self-test"
    )

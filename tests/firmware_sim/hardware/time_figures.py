"""Figures of time that need no circuit: hum that readings cancel, and how long a scan takes by estimate."""

import cmath
import math
from collections.abc import Iterator

from tests.firmware_sim.hardware.spice import Figure

CONVERSION_S, AVERAGES_S = 1.45e-3, 1.16e-3
WRITE_US, READ_US, TURN_US = 35.0, 8.0, 8.0  # in MicroPython, assumed; nobody has measured them
MICROAMPERE = 490.0  # through what is measured
UTP_PF_A_METRE = 62.8  # of a conductor against all else


def left_over(hertz: float, frame_s: float, count: int) -> float:
    """Return what is left of a sine of 1 when readings with signs + - + - stand a frame apart: its size for any phase.

    The sum over n of (-1)^n exp(i w n T), over the count, times what the converter's own averaging leaves.
    """
    turn = 2j * math.pi * hertz * frame_s
    signs = abs(sum((1 - 2 * (n % 2)) * cmath.exp(turn * n) for n in range(count))) / count
    phase = math.pi * hertz * AVERAGES_S
    return signs * math.sin(phase) / phase


def hum() -> Iterator[Figure]:
    """Give what is left of 100 uV r.m.s. in frames of 12.5 ms, of 33.3 ms, and of those that must not be used."""
    for hertz in (50, 60):
        left = left_over(hertz, 12.5e-3, 8) * 100
        yield Figure(f"hum: {hertz} Hz in eight frames of 12.5 ms, of 100 uV", "uV", 0.0, left, 0, 0.01)
        at_once = left_over(hertz, 1.45e-3, 8) * 141
        yield Figure(
            f"hum: {hertz} Hz, eight readings at once, of 100 uV", "uV", 17.4 if hertz == 50 else 14.8, at_once, 5, 30
        )
    for hertz in (50, 60, 100, 120, 150, 180, 400):
        left = left_over(hertz, 1 / 30, 6) * 100
        yield Figure(f"hum: {hertz} Hz in six frames of 33.3 ms, of 100 uV", "uV", 0.0, left, 0, 0.01)
    why = "so eight frames of 12.5 ms are for 50 and 60 Hz alone"
    yield Figure(
        "hum: 120 Hz in eight frames of 12.5 ms, of 100 uV", "uV", None, left_over(120, 12.5e-3, 8) * 100, 50, 100, why
    )
    bad = left_over(60, 25e-3, 4) * 141 / MICROAMPERE * 1e3
    yield Figure(
        "hum: 60 Hz in four frames of 25 ms, of 100 uV r.m.s.: peak", "mohm", 285, bad, 200, 320, "never 25 ms"
    )


def frames() -> Iterator[Figure]:
    """Give how long eight conductors take in one frame."""
    for metres, said in ((2, 12.4), (90, 13.9)):
        settles = 20 + 10 * 3.39e-3 * UTP_PF_A_METRE * metres
        frame = 8 * (CONVERSION_S * 1e3 + (2 * WRITE_US + settles) / 1e3)
        why = "fits 33.3 ms" + ("" if frame < 12.5 else ", not 12.5 ms")
        yield Figure(f"four-wire: eight conductors in a frame, {metres} m", "ms", said, frame, 10, 33.3, why)


def scans() -> Iterator[Figure]:
    """Give the sums of a scan, by the estimate of the design."""
    for metres, nets, said in ((2, 9, 353), (90, 9, 373), (90, 18, 358)):
        drive = 20 + 10 * 3.39e-3 * UTP_PF_A_METRE * metres
        wait = 80 + 6 * 1.7e-3 * UTP_PF_A_METRE * metres
        look, readings = 60.0, 8 * READ_US
        settled = TURN_US + look + readings
        straight = nets == 9
        parts = {
            "self-test": 8 * settled + 4 * CONVERSION_S * 1e6,
            "look": 100_000,
            "joined": 18 * (2 * WRITE_US + drive + 17 * settled) + 18 * settled,
            "four-wire": 100_000 + 8 * (CONVERSION_S * 1e6 + 2 * WRITE_US + 50) if straight else 0,
            "currents": 18 * (CONVERSION_S * 1e6 + 2 * WRITE_US + drive) if straight else 0,
            "capacitance": 2
            * nets
            * (2 * WRITE_US + 10 * 1.7e-3 * UTP_PF_A_METRE * metres + 100 + (2 + nets) * (WRITE_US + wait + readings)),
            "looks": 18 * (2 * WRITE_US + look + 4 * READ_US),
            "arithmetic": 20_000,
        }
        total = sum(parts.values()) / 1e3
        yield Figure(f"scan, {metres} m, {nets} nets, eight frames of 12.5 ms", "ms", said, total, said - 3, 600)
        if straight:
            longer = total + 6 * 33.3 - 100
            yield Figure(
                f"scan, {metres} m, six frames of 33.3 ms", "ms", None, longer, 400, 600, "what fits at any length"
            )

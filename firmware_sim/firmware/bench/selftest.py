"""Whether the bench board itself is sound, found at channels that lead to no contact; and what it knows of itself."""

import time

import analog
import converter
import pins

RAIL = 1  # the rail is not there
BUS = 2  # the 16-bit converter does not answer
BAD_LINK = 4  # both commons at one point, and the difference is not nothing
BAD_KNOWN = 8  # the known resistor is not what it should be
BAD_STEP = 16  # a common does not step as its capacitors let it
NEAR_PORT = 32  # a port does not answer
FAR_PORT = 64
BAD_PULL = 128  # UP or DN does not reach its common

TOP_OHM, KNOWN_OHM, BOTTOM_OHM = 3000, 33, 3300
ZERO_NV = 250_000_000  # of the difference times eleven: 4.5 mV for each of two amplifiers, and the known part's drop
KNOWN_PPM = (90_000, 130_000)  # of eleven times the known resistor against the voltage below it
SUPPLY_COUNTS = (2000, 2270)  # where the known resistor lies: 3300 of 6333
STEP_FF, PEDESTAL_FF = 220_000, 100_000
COMMON_FF = (25_000, 200_000)
DRAIN_US = 400


class Known:
    """What the last self-test found: the scale of the difference, the rail, and what each common holds by itself."""

    def __init__(self) -> None:
        self.mask = 255
        self.zero_nv = 0  # of the difference
        self.times_nv = 1  # the known resistor's voltage as the difference shows it
        self.below_nv = 1  # what stands below the known resistor
        self.common_ff = [0, 0]  # STEP's and PED's capacitors included

    def across_nv(self, difference_nv: int) -> int:
        """Return the voltage that makes the difference show so much, zero taken off already."""
        return difference_nv * KNOWN_OHM * self.below_nv // (BOTTOM_OHM * self.times_nv)

    def rail_nv(self) -> int:
        """Return the rail's voltage."""
        return self.below_nv * (TOP_OHM + KNOWN_OHM + BOTTOM_OHM) // BOTTOM_OHM


known = Known()


def run() -> int:
    """Return a bit mask of what is wrong, 0 = sound."""
    pins.power()  # a part that came back is a part that starts anew
    pins.release()
    mask = 0
    for port, bit in ((0, NEAR_PORT), (1, FAR_PORT)):
        if not pins.port_answers(port):
            mask |= bit
    pins.look_at(pins.LINK, pins.LINK)
    time.sleep_us(2 * analog.SETTLE_US)
    for side in range(2):
        if not SUPPLY_COUNTS[0] < analog.mean(side, 4) // 256 < SUPPLY_COUNTS[1]:
            mask |= RAIL
    if converter.answers():
        mask |= _scale()
    else:
        mask |= BUS
    for side in range(2):
        mask |= _common(side)
    pins.release()
    known.mask = mask
    return mask


def _scale() -> int:
    """Measure the zero and the scale of the difference."""
    zero = converter.nanovolts(converter.DIFFERENCE, converter.HALF_VOLT)
    zero += converter.nanovolts(converter.DIFFERENCE, converter.HALF_VOLT)
    pins.look_at(pins.KNOWN, pins.KNOWN)
    time.sleep_us(2 * analog.SETTLE_US)
    shown = converter.nanovolts(converter.DIFFERENCE, converter.HALF_VOLT)
    shown += converter.nanovolts(converter.DIFFERENCE, converter.HALF_VOLT)
    known.zero_nv = zero // 2
    known.times_nv = max(1, (shown - zero) // 2)
    known.below_nv = max(1, converter.nanovolts(converter.ONCE_B, converter.TWO_VOLT))
    mask = 0
    if not -ZERO_NV < known.zero_nv < ZERO_NV:
        mask |= BAD_LINK
    if not KNOWN_PPM[0] < known.times_nv * 1_000_000 // known.below_nv < KNOWN_PPM[1]:
        mask |= BAD_KNOWN
    return mask


def _common(side: int) -> int:
    """Step a common that leads nowhere: what it holds, and whether its pulls reach it."""
    mask = 0
    shift = 2 * side
    pins.look_at(pins.PARK, pins.PARK)
    pins.pull(pins.DOWNS[side])
    time.sleep_us(DRAIN_US)
    drained = analog.mean(side, 4) // 256
    pins.pull(0)
    pins.step(pins.PEDESTAL << shift)
    time.sleep_us(analog.SETTLE_US)
    before = analog.mean(side, 8)
    pins.step((pins.PEDESTAL | pins.STEP) << shift)
    time.sleep_us(analog.SETTLE_US)
    stepped = analog.mean(side, 8) - before
    pins.step(0)
    if stepped <= 0:
        return mask | BAD_STEP
    known.common_ff[side] = STEP_FF * analog.FULL_SCALE * 256 // stepped
    if not COMMON_FF[0] < known.common_ff[side] - STEP_FF - PEDESTAL_FF < COMMON_FF[1]:
        mask |= BAD_STEP
    pins.pull(pins.UPS[side])
    time.sleep_us(DRAIN_US)
    if analog.mean(side, 4) // 256 < 3900 or drained > 100:
        mask |= BAD_PULL
    pins.pull(pins.DOWNS[side])
    time.sleep_us(DRAIN_US)
    pins.pull(0)
    return mask

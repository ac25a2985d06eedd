"""Joints at no more than 20 mV, so that a film on a contact stays whole; near against far contacts only.

Every contact is held low, and the near port's ground is lifted by 14 mV: through a joint two microamperes pass, and
half of it stands at either end. It is looked where each near contact arrives, at its own number first of all, then at
what stands across. UP lifts both commons to where the amplifiers work; it is off while a multiplexer turns, and both
come on in one write.
"""

import time

import analog
import converter
import pins
import selftest
import watchdog

LEAD_OHM, LIFT_OHM = 10, 2400  # in the near port's ground, and from LIFT to it
HELD_MILLIOHM = 3_390_000  # of a contact held low
SEEN_PPM = 815_000  # of what stands at a contact, behind 22 kohm and UP's 100
ARRIVES = 2 * 256  # 256ths of a count; a joint of no resistance shows seven counts
LIFT_READINGS = 16
FRAMES, FRAME_US = 6, 33_333  # whole periods of 50 and 60 Hz in three of them, up and down in turn
CONVERSIONS = 2  # in a place of a frame
MOST_PAIRS = 9  # places in a frame; at the slowest 28 ms
LIFT_US = 120
LARGEST_MILLIOHM = 20_000_000
DEVIATION_MILLIOHM = 600  # of a conductor's value from the true one, boards of worst parts included


def run() -> "dict[tuple[int, int], int]":
    """Return milliohm for every near contact and the first far one that it is joined to at low level."""
    pairs = []
    pins.release()
    for near in range(pins.SIDE):
        pins.hold(1 << near | pins.ALL >> pins.SIDE << pins.SIDE, 0)
        for far in [near] + [other for other in range(pins.SIDE) if other != near]:
            if _arrives(far) > ARRIVES:
                pairs.append((near, far))
                break
        watchdog.alive()
    found: "dict[tuple[int, int], int]" = {}
    for start in range(0, len(pairs), MOST_PAIRS):
        found.update(_across(pairs[start : start + MOST_PAIRS]))
    pins.release()
    return found


def _look_at(a: int, b: int) -> None:
    pins.pull(0)
    pins.look_at(a, b)
    pins.pull(pins.UP_A | pins.UP_B)
    time.sleep_us(LIFT_US)


def _arrives(far: int) -> int:
    _look_at(pins.PARK, far)
    without = analog.mean(1, LIFT_READINGS)
    pins.lift(True)
    time.sleep_us(LIFT_US)
    lifted = analog.mean(1, LIFT_READINGS)
    pins.lift(False)
    return lifted - without


def _across(pairs: "list[tuple[int, int]]") -> "dict[tuple[int, int], int]":
    """Measure what stands across joints: each in its place in every frame, lifted in every second one."""
    totals = [[0, 0] for _ in pairs]  # lifted, and not
    pins.hold(pins.ALL, 0)
    begun = time.ticks_us()
    for frame in range(FRAMES):
        pins.lift(frame & 1 == 0)
        for place, (near, far) in enumerate(pairs):
            _look_at(near, far)
            for _ in range(CONVERSIONS):
                totals[place][frame & 1] += converter.nanovolts(converter.DIFFERENCE, converter.HALF_VOLT)
        watchdog.alive()
        left = (frame + 1) * FRAME_US - time.ticks_diff(time.ticks_us(), begun)
        if left > 0:
            time.sleep_us(left)
    pins.lift(False)
    pins.pull(0)
    whole_nv = selftest.known.rail_nv() * LEAD_OHM // (LEAD_OHM + LIFT_OHM)
    found: "dict[tuple[int, int], int]" = {}
    for place, (near, far) in enumerate(pairs):
        lifted, without = (selftest.known.across_nv(total * 2 // (FRAMES * CONVERSIONS)) for total in totals[place])
        # What looks at the two ends is not quite alike: UP shows by how much, and so much of the lift comes of it.
        unlike = without - selftest.known.across_nv(selftest.known.zero_nv)
        across_nv = lifted - without + whole_nv // 2 * unlike // selftest.known.rail_nv()
        across_nv = across_nv * 1_000_000 // SEEN_PPM
        if across_nv < whole_nv:
            milliohm = 2 * HELD_MILLIOHM * across_nv // (whole_nv - across_nv)
            if milliohm < LARGEST_MILLIOHM:
                found[(near, far + pins.SIDE)] = milliohm if milliohm > 0 else 0
    return found

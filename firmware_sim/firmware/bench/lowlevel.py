"""Joints at no more than 20 mV, so that a film on a contact stays whole; near against far contacts only.

Every contact is held low, and the near port's ground is lifted by 14 mV: through a joint two microamperes pass, and
half of it stands at either end. It is looked where each near contact arrives, at its own number first of all, then at
what stands across. UP lifts both commons to where the amplifiers work; it is off while a multiplexer turns, and both
come on in one write. By how much the two ends are seen unlike is measured afterwards, with half the supply at both.
"""

import time

import analog
import converter
import micropython
import pins
import selftest
import watchdog

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Callable

HELD_MILLIOHM = 3_390_000  # of a contact held low
SEEN_PPM = 815_000  # of what stands at a contact, behind 22 kohm and UP's 100
ARRIVES = 2 * 256  # 256ths of a count; a joint of no resistance shows seven counts
LIFT_READINGS = 16
FRAMES, FRAME_US = 6, 33_333  # whole periods of 50 and 60 Hz in three of them, up and down in turn
QUARTER_NV = 240_000_000  # of what is converted at the finer range
PLACE_US, CONVERSION_US, MOST_CONVERSIONS = 300, 310, 12  # to turn to a joint; to begin and take what is converted
DOUBTFUL_MILLIOHM = 1200
LIFT_US = 120
LIFT_TURNS = 4
FED_US = 200
RISE_READINGS = 8
LARGEST_MILLIOHM = 20_000_000
DEVIATION_MILLIOHM = 400  # of a conductor's value from the true one, boards of worst parts included


_lift_ppm = [0]  # of the rail, what LIFT raises the near ground by; 0 = not measured yet


class Joint:
    """A near and a far contact that are joined at low level, and what was seen across them, lifted and not."""

    def __init__(self, near: int, far: int) -> None:
        self.near = near
        self.far = far
        self.totals = [0, 0]
        self.conversions = 0  # in each

    def across_nv(self, lifted: bool) -> int:
        """Return the mean of what stood across, nanovolts, the amplifier's own zero in it."""
        return selftest.known.across_nv(self.totals[lifted] // self.conversions)

    def milliohm(self, unlike_ppm: int) -> int:
        """Return its resistance; unlike_ppm: by how much more near ends show than far ones."""
        lift_nv = selftest.known.rail_nv() // 1000 * _lift_ppm[0] // 1000
        across_nv = (self.across_nv(True) - self.across_nv(False)) * 1_000_000 // SEEN_PPM
        across_nv -= lift_nv // 2 * unlike_ppm // 1_000_000
        if across_nv >= lift_nv:
            return LARGEST_MILLIOHM
        return 2 * HELD_MILLIOHM * across_nv // (lift_nv - across_nv)


def run() -> "list[Joint]":
    """Look at every near contact and the first far one that it is joined to."""
    joints = []
    pins.release()
    for near in range(pins.SIDE):
        pins.hold(1 << near | pins.ALL >> pins.SIDE << pins.SIDE, 0)
        for far in [near] + [other for other in range(pins.SIDE) if other != near]:
            if _arrives(far) > ARRIVES:
                joints.append(Joint(near, far))
                break
        watchdog.alive()
    if joints and not _lift_ppm[0]:
        _lift_ppm[0] = _lift_by(joints[0])
    _across(joints)
    _across(_doubtful(joints))
    pins.release()
    return joints


def hanging_together(joints: "list[Joint]") -> "list[list[int]]":
    """Return the contacts that hang together at low level, each far one with the near ones that arrive at it."""
    found: "dict[int, list[int]]" = {}
    for joint in joints:
        found.setdefault(joint.far, [joint.far + pins.SIDE]).append(joint.near)
    return list(found.values())


def _doubtful(joints: "list[Joint]") -> "list[Joint]":
    """Return the joints that stand above the middle one by more than what scatters: they are looked at once more.

    What UP shows of how unlike their ends are seen is wrong by what leaks at a common, for all of them alike.
    """
    seen_uv = selftest.known.rail_nv() // 1000 * SEEN_PPM // 1_000_000
    zero_nv = selftest.known.across_nv(selftest.known.zero_nv)
    rough = [joint.milliohm((zero_nv - joint.across_nv(False)) * 1000 // seen_uv) for joint in joints]
    limit = sorted(rough)[len(rough) // 2] + DOUBTFUL_MILLIOHM if rough else 0
    return [joint for joint, value in zip(joints, rough) if value > limit]


@micropython.native
def _look_at(a: int, b: int) -> None:
    pins.pull(0)
    pins.look_at(a, b)
    pins.pull(pins.UP_A | pins.UP_B)
    time.sleep_us(LIFT_US)


@micropython.native
def _arrives(far: int) -> int:
    _look_at(pins.PARK, far)
    without = analog.mean(1, LIFT_READINGS)
    pins.lift(True)
    time.sleep_us(LIFT_US)
    lifted = analog.mean(1, LIFT_READINGS)
    pins.lift(False)
    return lifted - without


def _lift_by(joint: Joint) -> int:
    """Measure once by how much LIFT raises the near ground, millionths of the rail: what both ends rise by together."""
    total = 0
    pins.hold(pins.ALL, 0)
    for turn in range(2 * LIFT_TURNS):
        pins.lift(turn & 1 == 0)
        _look_at(joint.near, joint.far)
        both = sum([converter.nanovolts(end, converter.ONE_VOLT) for end in converter.ONCE])
        total += both if turn & 1 == 0 else -both
    watchdog.alive()
    return total // LIFT_TURNS * 1000 // SEEN_PPM * 1_000_000 // (selftest.known.rail_nv() // 1000)


@micropython.native
def _across(joints: "list[Joint]") -> None:
    """Look across joints: each in its place in every frame, lifted in every second one."""
    if not joints:
        return
    conversions = (FRAME_US // len(joints) - PLACE_US) // (converter.lasts_us() + CONVERSION_US)
    conversions = max(1, min(MOST_CONVERSIONS, conversions))
    gains = [[converter.HALF_VOLT, converter.HALF_VOLT] for _ in joints]
    pins.hold(pins.ALL, 0)
    begun = time.ticks_us()
    for frame in range(FRAMES):
        lifted = 1 - (frame & 1)
        pins.lift(lifted == 1)
        for joint, gain in zip(joints, gains):
            _look_at(joint.near, joint.far)
            for _ in range(conversions):
                shown = converter.nanovolts(converter.DIFFERENCE, gain[lifted])
                joint.totals[lifted] += shown
                gain[lifted] = converter.QUARTER_VOLT if -QUARTER_NV < shown < QUARTER_NV else converter.HALF_VOLT
        watchdog.alive()
        left = (frame + 1) * FRAME_US - time.ticks_diff(time.ticks_us(), begun)
        if left > 0:
            time.sleep_us(left)
    for joint in joints:
        joint.conversions += FRAMES // 2 * conversions
    pins.lift(False)
    pins.pull(0)


def looks(
    joints: "list[Joint]", seen_nets: "list[list[int]]", found: "dict[tuple[int, int], int]"
) -> "list[Callable[[], None]]":
    """Return what is left to be looked at, a few milliseconds for each joint, once more may pass through them.

    found takes the milliohm of joints by near and far contact. What looks at the two ends is not quite alike, and so
    much of the lift comes of it: half the supply at both ends shows how much.
    """

    def step(joint: Joint) -> "Callable[[], None]":
        def look() -> None:
            value = joint.milliohm(_unlike_ppm(joint, seen_nets))
            if value < LARGEST_MILLIOHM:
                found[(joint.near, joint.far + pins.SIDE)] = value if value > 0 else 0

        return look

    return [step(joint) for joint in joints]


@micropython.native
def _unlike_ppm(joint: Joint, seen_nets: "list[list[int]]") -> int:
    """Return by how much more of a voltage at both ends shows at common A than at B, with UP on, millionths."""
    near, far = 1 << joint.near, 1 << joint.far + pins.SIDE
    net = near | far
    for one in seen_nets:
        if joint.near in one:
            net |= sum([1 << contact for contact in one])
    apart_nv = -2 * joint.across_nv(False)
    rise = 0
    for high, low in ((near, far), (far, near), (0, net)):
        pins.hold(pins.ALL & ~net | low, high)
        _look_at(joint.near, joint.far)
        time.sleep_us(FED_US)
        shown = analog.mean(0, RISE_READINGS) + analog.mean(1, RISE_READINGS)
        if high:
            apart_nv += selftest.known.across_nv(converter.nanovolts(converter.DIFFERENCE, converter.TWO_VOLT))
            rise += shown
        else:
            rise -= 2 * shown
    rise_uv = rise * (selftest.known.rail_nv() // 1000) // (4 * 256 * analog.FULL_SCALE)
    return apart_nv * 1000 // 2 // rise_uv if rise_uv > 0 else 0

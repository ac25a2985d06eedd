"""What a net moved by without what drifted meanwhile: from levels there and back, each with its time.

Levels are 256ths of a count. A list of them has one more than there are moves; that of the way back is in the order of
the way there, so that the same place is the same state.
"""

import time

import analog
import micropython

TYPE_CHECKING = False
if TYPE_CHECKING:
    from _mpy_shed.time_mp import _TicksUs

SMOOTH = 16  # how much more a move counts in which no code jumps: it is wrong by a few counts there
SPREAD = 4000  # counts squared: levels that lie no further apart tell nothing of how a drift hangs on them


@micropython.native
def moves(up: "list[tuple[int, _TicksUs]]", back: "list[tuple[int, _TicksUs]]") -> "list[tuple[int, bool]]":
    """Return each move, 256ths of a count: shown with what drifted on the way there, and without on the way back."""
    found = []
    level, at = up[0]
    level_back, at_back = back[0]
    for (then, at_then), (then_back, at_then_back) in zip(up[1:], back[1:]):
        there, again = time.ticks_diff(at_then, at), time.ticks_diff(at_back, at_then_back)
        found.append((((then - level) * again + (then_back - level_back) * there) // (there + again), True))
        level, at, level_back, at_back = then, at_then, then_back, at_then_back
    return found


class Pass:
    """One pass over all changes of a mask, in the order of the way there: a value for each.

    by: the move with what drifted on the way there, or without that on the way back, 256ths of a count; us: how long
    that lasted; at: the level meanwhile, counts; jumps: which of the code are in between.
    """

    def __init__(self, before: "list[tuple[int, _TicksUs]]", after: "list[tuple[int, _TicksUs]]", back: bool) -> None:
        self.by = [two[0] - one[0] for one, two in zip(before, after)]
        self.us = [time.ticks_diff(two[1], one[1]) for one, two in zip(before, after)]
        self.at = [level >> 8 for level, _ in (before if back else after)]
        self.jumps = [analog.jumps_between(one[0], two[0]) for one, two in zip(before, after)]
        if back:
            self.us = [-us for us in self.us]


def _line(there: Pass, again: Pass) -> "tuple[int, int, int, int]":
    """Return how fast a net drifts: 256ths of a count in a millisecond at so many counts, and its slope as a fraction.

    A move shows with what drifted on the way there and without on the way back. Of a leak that hangs on the voltage the
    speed is another one at another level: a straight line by least squares. A place where the code jumps on one of the
    ways alone hardly counts.
    """
    weights = [SMOOTH if one == other else 1 for one, other in zip(there.jumps, again.jumps)]
    places = range(len(weights))
    speeds = [(again.by[place] - there.by[place]) * 1000 // (there.us[place] + again.us[place]) for place in places]
    levels = [(there.at[place] + again.at[place]) >> 1 for place in places]
    whole = sum(weights)
    level = sum([at * weight for at, weight in zip(levels, weights)]) // whole
    speed = sum([one * weight for one, weight in zip(speeds, weights)]) // whole
    spread = SPREAD * SMOOTH + sum([(at - level) * (at - level) * weight for at, weight in zip(levels, weights)])
    faster = sum([(levels[place] - level) * (speeds[place] - speed) * weights[place] for place in places])
    return speed, level, faster, spread


def fine_moves(up: "list[tuple[int, _TicksUs]]", back: "list[tuple[int, _TicksUs]]") -> "list[tuple[int, bool]]":
    """Return each move of a net that holds much, and whether no jump of the code is in it.

    A picofarad is a small part of a count then, so that what drifts counts at the level where it did.
    """
    there, again = Pass(up, up[1:], False), Pass(back, back[1:], True)
    speed, level, faster, spread = _line(there, again)
    found = []
    for place in range(len(there.by)):
        one = there.by[place] + (speed + (there.at[place] - level) * faster // spread) * there.us[place] // 1000
        other = again.by[place] - (speed + (again.at[place] - level) * faster // spread) * again.us[place] // 1000
        if there.jumps[place] and again.jumps[place]:
            found.append(((one + other) // 2, False))
        elif there.jumps[place]:
            found.append((other, True))
        elif again.jumps[place]:
            found.append((one, True))
        else:
            found.append(((one + other) // 2, True))
    return found

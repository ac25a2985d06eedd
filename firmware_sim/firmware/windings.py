"""Windings of attached equipment, told from a triangle of resistances, milliohm, None = open."""

import pins

LOOP_MILLIOHM = 100_000
TIED_MILLIOHM = 250_000


def windings(seen: "list[int | None]") -> "list[tuple[int, int]]":
    """Return the pairs that are transformer windings of attached equipment, [] for a cable.

    seen: the probe's triangle. Equipment shows two or more pairs of one plug as low loops with nothing low
    between them (4+5 and 7+8 may be tied through 100 to 200 ohm), and no way from near to far.
    """
    size = pins.CONTACTS
    near = len(pins.NEAR)

    def milliohm(a: int, b: int) -> int:
        value = seen[a * (2 * size - a - 1) // 2 + b - a - 1]
        return 1 << 60 if value is None else value

    for a in range(near):
        for b in range(near, size):
            if milliohm(a, b) < TIED_MILLIOHM:
                return []
    found = []
    for first in (0, near):
        loops = [(first + a, first + b) for a, b in pins.PLUG_PAIRS if milliohm(first + a, first + b) < LOOP_MILLIOHM]
        if len(loops) < 2:
            continue
        for a in range(first, first + near):
            for b in range(a + 1, first + near):
                if (a, b) not in loops and milliohm(a, b) < TIED_MILLIOHM:
                    tied = a - first in (3, 4) and b - first in (6, 7)
                    if not tied or milliohm(a, b) < LOOP_MILLIOHM * 3 // 4:
                        return []
        found.extend(loops)
    return found

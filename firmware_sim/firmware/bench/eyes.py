"""How the bench board watches: one contact of each net is high in turn, all others are low.

Alone it stands at the supply, joined to one other at half of it, to two at a third: so one reading a net tells opens
and joins alike. How long a net is given to settle is tried out at the start.
"""

import time

import analog
import answer
import guard
import look
import pins
import scan
import windings
from machine import mem32

PERIOD_US = 1000
NET_US = 185  # to move a port and the multiplexers, to read and to compare (an estimate, as all of a turn)
WAITS_US = (40, 55, 70, 90, 140, 220, 330, 500)
PATIENT_US = 2000
# Readings are 65536 for the whole supply.
STEADY = 128  # from what a net shows after a long wait; what is usual was read no later than what is compared
FAR_OFF = 160  # about eight times the noise of a reading
APART = 36_970  # what a high contact shows when a kilohm and another's drive lead to ground
TOUCHING_MILLIOHM = 1_000_000


class Eyes:
    """What the watch sees with."""

    def __init__(self) -> None:
        self.period_us = PERIOD_US
        self._watched: "list[int]" = []  # the first contact of each net
        self._masks: "list[int]" = []  # the contacts of each net
        self._usual: "list[int]" = []  # what each net showed at the start
        self._last: "list[int]" = []  # what it showed the last time
        self._turns: "list[tuple[int, list[bytes]]]" = []
        self._readers = (analog.reader(0), analog.reader(1))
        self._first = 0  # place of the net that is read first
        self._wait_us = WAITS_US[0]
        self._place = 0  # of the net that is looked at next
        self._up = False

    def begin(self) -> "list[int]":
        """Pass every look; return which contacts are joined, a bit each, a row for each contact."""
        guard.pass_gently()
        guard.pass_rest()
        seen = scan.run()
        guard.look_at_nets(seen.nets)
        if windings.windings(seen.milliohm):
            raise answer.Refused("EQUIPMENT", [])
        rows = [0] * pins.CONTACTS
        for a in range(pins.CONTACTS):
            for b in range(a + 1, pins.CONTACTS):
                value = seen.milliohm[scan.place(a, b)]
                if value is not None and value < TOUCHING_MILLIOHM:
                    rows[a] |= 1 << b
                    rows[b] |= 1 << a
        return rows

    def settle(self, nets: "list[list[int]]") -> None:
        """Find how long nets take to settle, and note what each shows, from which a change will be told."""
        self._watched = [net[0] for net in nets]
        self._masks = [sum([1 << contact for contact in net]) for net in nets]
        self._place = self._first = 0
        self._up = False
        self.feed()
        self._turns = pins.turns(self._watched)
        patient = self._shown(PATIENT_US)
        for wait_us in WAITS_US:
            self._shown(wait_us)
            self._usual = self._shown(wait_us)
            if max([abs(a - b) for a, b in zip(self._usual, patient)]) <= STEADY:
                break
        self._last = list(self._usual)
        self.period_us = max(PERIOD_US, len(nets) * (self._wait_us + NET_US))

    def _shown(self, wait_us: int) -> "list[int]":
        self._wait_us = wait_us
        self._first = 0
        self.feed()
        found = [self._see(place) for place in range(len(self._watched))]
        pins.end_turns(self._watched[-1])
        return found

    def _see(self, place: int) -> int:
        """Go on to a net from the one before and return what it shows. Most of a turn goes here: no call too many."""
        xor, messages = self._turns[place]
        mem32[pins.OUT_XOR] = xor
        select, write = pins.select.value, pins.bus.write
        for message in messages:
            select(0)
            write(message)
            select(1)
        time.sleep_us(self._wait_us)
        return self._readers[self._watched[place] >= pins.SIDE]()

    def feed(self) -> None:
        """Bring the board to where nets can be read in turn: all low, and the one before the next is looked at."""
        pins.pull(0)
        pins.step(0)
        pins.hold(pins.ALL, 0)
        pins.see(self._watched[self._first - 1])

    def far_off(self) -> "list[int]":
        """Return the first contacts of the nets that do not show what is usual.

        It ends early where one changed just now, so that it is measured while it lasts; the next turn begins behind it.
        """
        changed = []
        see, usual, last = self._see, self._usual, self._last
        count = len(usual)
        place = self._first
        for _ in usual:
            now = see(place)
            here = place
            place = place + 1 if place + 1 < count else 0
            if not -FAR_OFF <= now - usual[here] <= FAR_OFF:
                changed.append(self._watched[here])
                if not -FAR_OFF <= now - last[here] <= FAR_OFF:
                    last[here] = now
                    break
            last[here] = now
        self._first = place
        pins.end_turns(self._watched[place - 1])
        return changed

    def part(self) -> None:
        """Bring the board to where contacts can be measured two by two: nothing is to be done for it."""

    def are_joined(self, a: int, b: int) -> bool:
        """Return whether less than a kilohm joins two contacts; all others float."""
        side = pins.see(a)
        pins.hold(1 << b, 1 << a)
        time.sleep_us(2 * self._wait_us)
        return analog.plain(side) < APART

    def look(self) -> "list[tuple[int, int, str]]":
        """Look at the next net for a foreign voltage; return all voltages if there seems to be one."""
        place, up = self._place, self._up
        self._place = (place + 1) % len(self._watched)
        if self._place == 0:
            self._up = not up
        level = look.one(self._watched[place], up, self._masks[place])
        return guard.voltages(guard.LIMIT_MV, True) if abs(level) > guard.LIMIT_MV else []

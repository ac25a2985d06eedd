"""Watching a cable while it is moved: every contact a thousand times a second, changes latched and numbered.

All contacts are tied low through 1 kohm each; one after the other is fed through 10 kohm. What it then shows is
how many contacts its net has, so one reading a contact tells opens and joins alike. Where a reading leaves what
it was at the start, the contacts concerned are measured two by two, and only that makes an event.
"""

import time

import analog
import answer
import guard
import look
import nets
import pins
import safety
import scan
import trust
import windings
from machine import mem32

PERIOD_US = 1000
WATCH_SETTLE_US = 10
LOOK_EVERY = 4  # turns; every pair of contacts is looked at within 0.7 s
FAR_OFF = 7  # counts; about five times the noise of one reading
LONGEST_LIST = 64
MOST_AT_ONCE = 40


class Event:
    """A departure from how the cable was at the start: a and b opened or joined, since when, for how long."""

    def __init__(self, number: int, a: int, b: int, change: str, at_us: int) -> None:
        self.number = number
        self.a = a
        self.b = b
        self.change = change
        self.at_us = at_us
        self.for_us = -1  # it still lasts
        self.shown = False  # to the host, while it lasted

    def fields(self) -> "list[str]":
        """Return the event as fields of an answer."""
        lasted = answer.NOT_MEASURED if self.for_us < 0 else "%d" % self.for_us
        return [
            "%d" % self.number,
            "%d" % (self.a + 1),
            "%d" % (self.b + 1),
            self.change,
            "%d" % self.at_us,
            lasted,
        ]


class Watch:
    """The state of the watch; there is one."""

    def __init__(self) -> None:
        self.running = False
        self.voltages: "list[tuple[int, int, str]]" = []  # what made it stop
        self._events: "list[Event]" = []
        self._lasting: "dict[tuple[int, int, str], Event]" = {}
        self._newest = 0
        self._seen = 0
        self._lost = 0
        self._joined: "list[int]" = []  # a bit for each contact that one is joined to, now
        self._nets: "list[list[int]]" = []
        self._usual = [0] * pins.CONTACTS  # what each contact read at the start
        self._xors = pins.steps_through(pins.ADDRESS)
        self._reader = analog.high_bus_reader()
        self._now_us = 0
        self._ticks = time.ticks_us()
        self._due_us = 0
        self._read_us = 0  # when the contacts were last read
        self._blind_us = 0
        self._pair = (0, 1)
        self._turns = 0
        self._zero = 0

    def start(self) -> "list[int]":
        """Begin: return which contacts are joined, a bit each, a row for each contact."""
        guard.pass_all()
        seen = scan.probe()
        if windings.windings(seen):
            raise answer.Refused("EQUIPMENT", [])
        rows = [0] * pins.CONTACTS
        at = 0
        for a in range(pins.CONTACTS):
            for b in range(a + 1, pins.CONTACTS):
                value = seen[at]
                if value is not None and value < scan.JOINED_MILLIOHM:
                    rows[a] |= 1 << b
                    rows[b] |= 1 << a
                at += 1
        self._joined = list(rows)
        self._nets = nets.nets(rows)
        self._events = []
        self._lasting = {}
        self._newest = self._seen = self._lost = 0
        self._zero = look.begin()
        self._pair = (0, 1)
        self.voltages = []
        self._feed()
        for contact in range(pins.CONTACTS):
            pins.select(pins.ADDRESS[contact], pins.OPEN)
            time.sleep_us(WATCH_SETTLE_US)
            self._usual[contact] = analog.high_bus_x16() // 16
        pins.select(pins.OPEN, pins.OPEN)
        self._now_us = self._due_us = self._read_us = self._blind_us = 0
        self._ticks = time.ticks_us()
        self.running = True
        return rows

    def stop(self) -> None:
        """End; the events stay to be fetched."""
        self.running = False
        safety.let_go()

    def sweep(self) -> None:
        """Read every contact once, at the next whole millisecond; latch what has changed."""
        left_us = self._due_us - self._time()
        if left_us > 0:
            time.sleep_us(left_us)
        elif left_us < -PERIOD_US:
            self._due_us -= left_us
        self._due_us += PERIOD_US
        now_us = self._time()
        if now_us - self._read_us > 2 * PERIOD_US:  # what lasted no longer may have come and gone
            self._blind_us += now_us - self._read_us - PERIOD_US
        self._read_us = now_us
        changed = self._far_off()
        if changed or self._lasting:
            self._resolve(changed)
            self._feed()
        self._turns += 1
        if self._turns % LOOK_EVERY == 0:
            self._look()

    def fetch(self, seen: int) -> "list[str]":
        """Return newest number, how many were lost, the events after the last that the host has seen, and blind us."""
        if self.voltages:
            trust.refuse(self.voltages)
        self._seen = max(self._seen, min(seen, self._newest))
        self._events = [event for event in self._events if event.number > self._seen]
        shown = self._events[:MOST_AT_ONCE]
        fields = ["%d" % self._newest, "%d" % self._lost, "%d" % len(shown)]
        for event in shown:
            fields.extend(event.fields())
            event.shown = True
        fields.append("%d" % self._blind_us)
        return fields

    def _time(self) -> int:
        ticks = time.ticks_us()
        self._now_us += time.ticks_diff(ticks, self._ticks)
        self._ticks = ticks
        return self._now_us

    def _feed(self) -> None:
        pins.range_to(pins.PROBE)
        pins.select(pins.OPEN, pins.OPEN)
        pins.DISCHARGE.value(1)
        pins.FORCE.value(1)
        pins.SOURCE.value(1)

    def _far_off(self) -> "list[int]":
        """Return the contacts whose readings are not as usual. Most of the millisecond goes here: no call too many."""
        changed = []
        xors, usual = self._xors, self._usual
        settle, read, registers, low, high = time.sleep_us, self._reader, mem32, -FAR_OFF, FAR_OFF
        for contact in range(pins.CONTACTS):
            registers[pins.GPIO_OUT_XOR] = xors[contact]
            settle(WATCH_SETTLE_US)
            if not low <= (read() >> 4) - usual[contact] <= high:
                changed.append(contact)
        registers[pins.GPIO_OUT_XOR] = xors[pins.CONTACTS]
        return changed

    def _resolve(self, changed: "list[int]") -> None:
        """Measure the contacts concerned two by two, and latch how the cable now departs from the start."""
        concerned = 0
        for contact in changed:
            concerned |= 1 << contact | self._joined[contact]
        for a, b, _ in self._lasting:
            concerned |= 1 << a | 1 << b | self._joined[a] | self._joined[b]
        for net in self._nets:
            for contact in net:
                if concerned >> contact & 1:
                    for other in net:
                        concerned |= 1 << other
        contacts = [contact for contact in range(pins.CONTACTS) if concerned >> contact & 1]
        pins.DISCHARGE.value(0)
        for a in contacts:
            for b in contacts:
                if b > a:
                    if self._is_joined(a, b):
                        self._joined[a] |= 1 << b
                        self._joined[b] |= 1 << a
                    else:
                        self._joined[a] &= ~(1 << b)
                        self._joined[b] &= ~(1 << a)
        self._latch()

    def _is_joined(self, a: int, b: int) -> bool:
        pins.select(pins.ADDRESS[a], pins.ADDRESS[b])
        time.sleep_us(WATCH_SETTLE_US)
        return analog.high_bus() < (scan.PATH_OHM + 1000) * analog.FULL_SCALE // (scan.PATH_OHM + 11_000)

    def _latch(self) -> None:
        now_us = self._time()
        there = nets.departures(self._nets, nets.nets(self._joined))
        for key in there:
            if key not in self._lasting:
                event = Event(0, key[0], key[1], key[2], now_us)
                self._lasting[key] = event
                self._number(event)
        for key in list(self._lasting):
            if key not in there:
                event = self._lasting.pop(key)
                event.for_us = now_us - event.at_us
                # What the host was shown while it lasted comes again, with its length, under a new number: whether
                # its acknowledgement or the end comes first, the end is told.
                if event.shown or event not in self._events:
                    if event in self._events:
                        self._events.remove(event)
                    self._number(event)

    def _number(self, event: Event) -> None:
        self._newest += 1
        event.number = self._newest
        self._events.append(event)
        if len(self._events) > LONGEST_LIST:
            self._events.pop(0)
            self._lost += 1

    def _look(self) -> None:
        """Look at one pair of contacts for a foreign voltage, another one each time, and go on watching."""
        a, b = self._pair
        pins.release()
        pins.SENSE.value(1)
        time.sleep_us(pins.SETTLE_US)
        value = look.quick(a, b, self._zero)
        if abs(value) > guard.LIMIT_MV:
            self.voltages = guard.voltages(guard.LIMIT_MV)
            if self.voltages:
                self.stop()
                return
        self._feed()
        b += 1
        if b == pins.CONTACTS:
            a += 1
            b = a + 1
        self._pair = (a, b) if b < pins.CONTACTS else (0, 1)

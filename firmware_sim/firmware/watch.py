"""Watching a cable while it is moved: every net a thousand times a second or nearly, changes latched and numbered.

How a board sees is its `eyes`: they say which contacts do not read as at the start. Those concerned are then measured
two by two, and only that makes an event.
"""

import time

import answer
import eyes
import nets
import pins
import safety
import scpi
import trust

LOOK_EVERY = 4  # turns; every contact is looked at for a voltage within 0.7 s
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
        self._eyes = eyes.Eyes()
        self._now_us = 0
        self._ticks = time.ticks_us()
        self._due_us = 0
        self._read_us = 0  # when the contacts were last read
        self._blind_us = 0
        self._turns = 0

    def start(self) -> "list[int]":
        """Begin: return which contacts are joined, a bit each, a row for each contact."""
        rows = self._eyes.begin()
        self._joined = list(rows)
        self._nets = nets.nets(rows)
        self._events = []
        self._lasting = {}
        self._newest = self._seen = self._lost = 0
        self.voltages = []
        self._eyes.settle(self._nets)
        self._now_us = self._due_us = self._read_us = self._blind_us = 0
        self._ticks = time.ticks_us()
        self.running = True
        return rows

    def stop(self) -> None:
        """End; the events stay to be fetched."""
        self.running = False
        safety.let_go()

    def sweep(self) -> None:
        """Read every net once, when its turn is due; latch what has changed."""
        period_us = self._eyes.period_us
        left_us = self._due_us - self._time()
        if left_us > 0:
            time.sleep_us(left_us)
        elif left_us < -period_us:
            self._due_us -= left_us
        self._due_us += period_us
        now_us = self._time()
        if now_us - self._read_us > 2 * period_us:  # what lasted no longer may have come and gone
            self._blind_us += now_us - self._read_us - period_us
        self._read_us = now_us
        changed = self._eyes.far_off()
        if changed or self._lasting:
            self._resolve(changed)
            self._eyes.feed()
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
        self._eyes.part()
        for a in contacts:
            for b in contacts:
                if b > a:
                    if self._eyes.are_joined(a, b):
                        self._joined[a] |= 1 << b
                        self._joined[b] |= 1 << a
                    else:
                        self._joined[a] &= ~(1 << b)
                        self._joined[b] &= ~(1 << a)
        self._latch()

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
        """Look at one place for a foreign voltage, another one each time, and go on watching."""
        self.voltages = self._eyes.look()
        if self.voltages:
            self.stop()
        else:
            self._eyes.feed()


watching = Watch()


def start(_given: "list[str]") -> "list[str]":
    """Begin to watch."""
    return ["%d" % pins.CONTACTS] + ["%d" % row for row in watching.start()]


def stop(_given: "list[str]") -> "list[str]":
    """Stop watching; the events stay to be fetched."""
    watching.stop()
    return []


def events(given: "list[str]") -> "list[str]":
    """Give the events after the last one that the host has seen."""
    return watching.fetch(scpi.integer(given[0], 0, 1 << 30))


def go_on() -> None:
    """Go on with it, if it runs."""
    if watching.running:
        watching.sweep()


# Each query: what parameters it has beside the tag, least and most, and whether it drives.
QUERIES = (
    ("WATCh:STARt?", start, 0, 0, True),
    ("WATCh:STOP?", stop, 0, 0, False),
    ("FETCh:EVENt?", events, 1, 1, False),
)

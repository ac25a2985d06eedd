"""Watches a cable: fetches events, hears keys, and looks for the end of a contact that stays open."""

from collections.abc import Callable, Sequence
from typing import Literal, Protocol

from msgspec import Struct
from msgspec.structs import replace

from wiremap.bench.watch import Log, Wanted, begun_again, enough, heard, moved, open_now, with_end
from wiremap.cable.patterns import Pattern
from wiremap.contact import Contact, far_contact, near_contact
from wiremap.errors import TesterError
from wiremap.judge.findings import Finding
from wiremap.reading.reading import Reading
from wiremap.tester.looking import closed
from wiremap.tester.measure import WATCH, OpenTester, RefusedError, view_of
from wiremap.tester.watching import Watch

POLL_S = 0.05
MOST_WATCHED = 10_000  # more say nothing new, and a capture of them would be too large to be read
LOCATE_AFTER_US = 700_000  # a contact that stays open for so long is likely to stay for the measurement, too
REPEAT_INSTEAD = "`wiremap test --repeat` tests again and again while somebody moves the cable."
Heard = Literal["moved", "stop"]
WatchEnd = Literal["stopped", "enough", "full", "refused", "lost"]


class WatchView(Protocol):
    """The technician's side of a watch."""

    def heard(self, wait_s: float) -> Sequence[Heard]:
        """Return what was pressed, after waiting for it for at most so long."""

    def page(self, log: Log, watched_s: float, looking_at: tuple[Contact, Contact] | None) -> None:
        """Show how the watch stands."""

    def ring(self) -> None:
        """Ring for an event."""

    def trouble(self, error: TesterError) -> None:
        """Say that the tester is gone."""


class Watched(Struct, frozen=True):
    """A watch that is over: what was seen, for how long, and why it ended.

    full: MOST_WATCHED were seen; refused: a voltage came up, and the tester stopped; lost: the tester went away.
    """

    log: Log
    watched_us: int
    end: WatchEnd


def watch(
    tester: OpenTester,
    wanted: Wanted,
    desk: WatchView,
    clock: Callable[[], float],
    look_closer: Callable[[], tuple[Reading, Sequence[Finding]]],
    near_adapter: Pattern | None = None,
    far_adapter: Pattern | None = None,
) -> Watched:
    """Watch until enough was seen or somebody stops it; clock in seconds.

    look_closer: measures the cable as it is now and returns the reading and its findings. TesterError when the tester
    cannot watch at all.
    """
    if WATCH not in tester.tester.features:
        raise TesterError("this tester cannot watch: short openings escape it", REPEAT_INSTEAD)
    loop = _Loop(tester, wanted, desk, clock, look_closer, near_adapter, far_adapter)
    try:
        end: WatchEnd = loop.run()
    except RefusedError:
        end = "refused"
    except TesterError as error:
        desk.trouble(error)
        end = "lost"
    last_us = max((event.at_us + (event.for_us or 0) for event in loop.log.events), default=0)
    return Watched(loop.log, max(loop.now_us(), last_us), end)


class _Loop:
    def __init__(
        self,
        tester: OpenTester,
        wanted: Wanted,
        desk: WatchView,
        clock: Callable[[], float],
        look_closer: Callable[[], tuple[Reading, Sequence[Finding]]],
        near_adapter: Pattern | None,
        far_adapter: Pattern | None,
    ) -> None:
        view = view_of(tester, "tester", near_adapter, far_adapter)
        self._contacts = {
            index: name for index, name in zip(view.indices, view.contacts, strict=True) if index is not None
        }
        self._watch = Watch(tester)
        self._can_locate = "CAP" in tester.tester.features
        self._wanted = wanted
        self._desk = desk
        self._clock = clock
        self._look_closer = look_closer
        self._began_s = clock()
        self._open_since: dict[tuple[Contact, Contact], int] = {}
        self.log = Log()

    def now_us(self) -> int:
        """Return the time since the watch began, microseconds."""
        return round((self._clock() - self._began_s) * 1e6)

    def run(self) -> WatchEnd:
        """Watch; return why it ended."""
        self._watch.start()
        self._began_s = self._clock()
        while True:
            for key in self._desk.heard(POLL_S):
                if key == "stop":
                    self._fetch()
                    self._watch.stop()
                    return "stopped"
                self.log = moved(self.log, self.now_us())
            self._fetch()
            self._desk.page(self.log, self.now_us() / 1e6, None)
            place = self._to_locate()
            if place is not None:
                self._locate(place)
            if len(self.log.events) >= MOST_WATCHED:
                self._watch.stop()
                return "full"
            if self._over():
                self._watch.stop()
                return "enough"

    def _over(self) -> bool:
        watched_s = self.now_us() / 1e6
        if self.log.events:
            return 0 < self._wanted.seconds <= watched_s
        return self._wanted.seconds > 0 and enough(self.log, watched_s, self._wanted)

    def _fetch(self) -> None:
        lost_before, blind_before_us = self._watch.lost, self._watch.blind_us
        latched = self._watch.fetch()
        self.log, fresh = heard(self.log, latched, self._contacts)
        if self._watch.lost > lost_before:
            self.log = replace(self.log, lost=self.log.lost + self._watch.lost - lost_before)
        if self._watch.blind_us > blind_before_us:
            self.log = replace(self.log, blind_us=self.log.blind_us + self._watch.blind_us - blind_before_us)
        if fresh:
            self._desk.page(self.log, self.now_us() / 1e6, None)
            self._desk.ring()

    def _to_locate(self) -> tuple[Contact, Contact] | None:
        """Return contacts that have stayed apart for long enough, and where nobody looked yet; else None."""
        now_us, there = self.now_us(), open_now(self.log)
        self._open_since = {place: self._open_since.get(place, now_us) for place in sorted(there)}
        looked = {place for place, _ in self.log.ends}
        long_enough = (
            place
            for place, since_us in self._open_since.items()
            if place not in looked and now_us - since_us >= LOCATE_AFTER_US
        )
        return next(long_enough, None) if self._can_locate else None

    def _locate(self, place: tuple[Contact, Contact]) -> None:
        """Leave the watch for as long as a measurement takes, and see at which end the contact is open."""
        self._desk.page(self.log, self.now_us() / 1e6, place)
        stopped_us = self.now_us()
        self._watch.stop()
        _, findings = self._look_closer()
        self.log = with_end(self.log, place, _end_of(place, findings))
        self._watch.start()
        joined = {
            (self._contacts[a], self._contacts[b])
            for a, b in closed(self._watch.joined)
            if a in self._contacts and b in self._contacts
        }
        self.log = begun_again(self.log, stopped_us, self.now_us(), joined)


def _end_of(place: tuple[Contact, Contact], findings: Sequence[Finding]) -> str:
    """Return the end at which a finding says that this place is open, "" where none does."""
    for finding in findings:
        if finding.fault == "open" and finding.end in ("near", "far"):
            named = {*map(near_contact, finding.near), *map(far_contact, finding.far)}
            if named & set(place):
                return finding.end
    return ""

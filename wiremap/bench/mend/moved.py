"""One more test while the plugs and the cable behind them are moved: what comes and goes is found so."""

import time
from collections.abc import Callable

from msgspec.structs import replace

from wiremap.bench.watch import Wanted
from wiremap.bench.watcher import watch
from wiremap.cable.patterns import Pattern
from wiremap.errors import TesterError
from wiremap.reading.joined import joined_pairs
from wiremap.reading.reading import Reading
from wiremap.tester.listening import Listener
from wiremap.tester.measure import WATCH, OpenTester
from wiremap.tester.view import WATCHED_OHM

MOVED_S = 15.0  # so long the cable is watched while it is moved
TESTS_MOVED = 5  # or tested so often, with a tester that cannot watch
BETWEEN_TESTS_S = 2.0
Sides = tuple[Pattern | None, Pattern | None]


class Quiet:
    """The technician's side of a watch that shows nothing: the hands are at the plug."""

    def __init__(self) -> None:
        self.error: TesterError | None = None

    def heard(self, wait_s: float) -> tuple[()]:
        """Hear nothing."""
        time.sleep(wait_s)
        return ()

    def page(self, *_: object) -> None:
        """Show nothing."""

    def ring(self) -> None:
        """Ring for nothing: the test's own bell follows."""

    def trouble(self, error: TesterError) -> None:
        """Keep why the tester is gone."""
        self.error = error


def while_moved(device: OpenTester | Listener, measure: Callable[[], Reading], sides: Sides) -> Reading:
    """Return what the tester sees while the cable is moved: the events of a watch, or the worst of a few tests.

    measure: measures in full. sides: the adapters at either end. TesterError where the tester goes away.
    """
    if isinstance(device, Listener) or WATCH not in device.tester.features:
        return _often(measure)
    reading = measure()
    quiet = Quiet()
    seen = watch(device, Wanted(MOVED_S, 0), quiet, time.monotonic, lambda: (measure(), ()), *sides)
    if seen.end == "lost":
        raise quiet.error or TesterError("the tester went away while the cable was watched", "Plug it in again.")
    return replace(reading, events=seen.log.events)


def _often(measure: Callable[[], Reading]) -> Reading:
    first = measure()
    was = joined_pairs(first.resistance_ohm, WATCHED_OHM)
    for _ in range(TESTS_MOVED - 1):
        time.sleep(BETWEEN_TESTS_S)
        seen = measure()
        now = joined_pairs(seen.resistance_ohm, WATCHED_OHM)
        if now != was:
            return seen
    return first

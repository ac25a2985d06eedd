"""The board's own time, microseconds from power-up. Fast: sleeps and conversions advance it. Real: they last, too."""

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Protocol

    class Wall(Protocol):
        """The computer's own time."""

        def ticks_us(self) -> int:
            """Return microseconds that go on."""

        def ticks_diff(self, later: int, earlier: int) -> int:
            """Return later - earlier."""

        def sleep_us(self, us: int) -> None:
            """Wait."""


class Clock:
    """Counts what the firmware waited for; with a wall clock it keeps step with that, without one it is fast."""

    def __init__(self, wall: "Wall | None" = None) -> None:
        self.now_us = 0
        self._wall = wall
        self._begun_us = wall.ticks_us() if wall else 0

    def advance(self, us: int) -> None:
        """Let time pass."""
        self.now_us += us
        if self._wall:
            ahead = self.now_us - self._passed_us(self._wall)
            if ahead > 1000:
                self._wall.sleep_us(ahead)

    def idle(self) -> None:
        """Catch up with the wall after a wait for input, which in fast pace is no time at all."""
        if self._wall:
            self.now_us = max(self.now_us, self._passed_us(self._wall))

    def _passed_us(self, wall: "Wall") -> int:
        return wall.ticks_diff(wall.ticks_us(), self._begun_us)


class WatchdogReset(SystemExit):
    """The loop stopped feeding the watchdog: the chip resets and every pin is an input again."""


class Watched:
    """A board whose chip has a watchdog; `reset` says what a reset does to its pins."""

    def __init__(self, clock: Clock) -> None:
        self.clock = clock
        self._watchdog_us = 0
        self._reset_at_us = 0  # when the watchdog strikes, 0 = not armed

    def reset(self) -> None:
        """Make every pin of the chip an input; what hangs on its buses stays as it is."""

    def advance(self, us: int) -> None:
        """Let time pass; a watchdog that was not fed resets the chip."""
        self.clock.advance(us)
        if self._reset_at_us and self.clock.now_us > self._reset_at_us:
            self.reset()
            raise WatchdogReset

    def start_watchdog(self, us: int) -> None:
        """Reset the chip unless the watchdog is fed at least so often."""
        self._watchdog_us = us
        self.feed_watchdog()

    def feed_watchdog(self) -> None:
        """Put the reset off."""
        self.clock.idle()
        self._reset_at_us = self.clock.now_us + self._watchdog_us

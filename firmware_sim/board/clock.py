"""The board's own time, microseconds from power-up. Fast: sleeps and conversions advance it. Real: they last, too."""

import utime

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable


class Clock:
    """Counts what the firmware waited for; in real pace it keeps step with the wall."""

    def __init__(self, real: bool) -> None:
        self.now_us = 0
        self.real = real
        self.reset_at_us = 0  # when the watchdog strikes, 0 = not armed
        self.watchdog_us = 0
        self.on_reset: "list[Callable[[], None]]" = []
        self._begun_us: int = utime.ticks_us()

    def advance(self, us: int) -> None:
        """Let time pass; the watchdog resets the board when it was not fed."""
        self.now_us += us
        if self.reset_at_us and self.now_us > self.reset_at_us:
            for happens in self.on_reset:
                happens()
            raise WatchdogReset
        if self.real:
            ahead = self.now_us - self._wall_us()
            if ahead > 1000:
                utime.sleep_us(ahead)

    def idle(self) -> None:
        """Catch up with the wall after a wait for input, which in real pace is time and in fast pace is none."""
        if self.real:
            wall = self._wall_us()
            if wall > self.now_us:
                self.now_us = wall

    def _wall_us(self) -> int:
        passed: int = utime.ticks_diff(utime.ticks_us(), self._begun_us)
        return passed


class WatchdogReset(SystemExit):
    """The loop stopped feeding the watchdog: the chip resets and every pin is an input again."""

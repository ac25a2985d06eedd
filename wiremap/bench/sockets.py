"""The tester as the sweep of a lot sees it: look, measure, open again after it was unplugged."""

import time
from collections.abc import Callable
from contextlib import ExitStack
from types import TracebackType
from typing import Self

from wiremap.bench.moving.movement import Moved, MovingView
from wiremap.bench.sweep_events import Outcome
from wiremap.cable.patterns import Pattern
from wiremap.calibration import Calibration
from wiremap.errors import TesterError
from wiremap.judge.findings import Verdict
from wiremap.reading.joined import Joined, joined_pairs
from wiremap.reading.reading import Far, Reading
from wiremap.reading.talk.language import Language
from wiremap.records.broken import keeping
from wiremap.records.calibrations import calibration_of
from wiremap.records.commissions import refuse_failed
from wiremap.tester.listening import Listener, open_any
from wiremap.tester.looking import Looker, agrees, closed
from wiremap.tester.measure import OpenTester, measure
from wiremap.tester.view import WATCHED_OHM


class TesterSockets:
    """An open tester whose line may break; `judge` turns a Reading into a verdict and what is to be kept."""

    def __init__(
        self,
        address: str | None,
        judge: Callable[[Reading], tuple[Verdict, object]],
        near_adapter: Pattern | None = None,
        far_adapter: Pattern | None = None,
        language: Language | None = None,
    ) -> None:
        self._address = address
        self._judge = judge
        self._adapters = (near_adapter, far_adapter)
        self._language = language
        self._closing = ExitStack()
        self._tester: OpenTester | Listener | None = None
        self._looker: Looker | None = None
        self._known: Calibration | None = None
        self._seen: Joined = frozenset()
        self._serial: str | None = None

    def __enter__(self) -> Self:
        """Connect; TesterError when the tester is not there."""
        self.reopen()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Close the line."""
        self._closing.close()

    @property
    def serial(self) -> str | None:
        """Return the tester's serial number, None before it was ever open."""
        return self._serial

    @property
    def address(self) -> str:
        """Return where the tester is, or was."""
        return self._tester.line.address if self._tester else self._address or ""

    def reopen(self) -> None:
        """Connect again, to the same tester as before."""
        self._closing.close()
        self._tester = None
        with ExitStack() as opening:
            tester = opening.enter_context(open_any(self._address, self._language))
            if self._serial not in (None, tester.tester.serial):
                raise TesterError(
                    f"the tester {tester.tester.serial} was plugged in for {self._serial}",
                    "Go on with the tester the lot began with, or stop and begin again with this one.",
                )
            self._tester = tester
            if not isinstance(tester, Listener):
                refuse_failed(tester.tester)
                self._known = calibration_of(tester.tester)
                self._looker = Looker(tester, *self._adapters)
            self._serial = tester.tester.serial
            self._closing = opening.pop_all()

    def look(self) -> Joined:
        """Return what is joined now."""
        tester = self._open()
        if isinstance(tester, Listener):
            self._seen = tester.look(self._seen, *self._adapters)
        elif self._looker is not None:
            self._seen = self._looker.look()
        return self._seen

    def measure(self) -> Outcome:
        """Measure and judge what is in the sockets; its scan saw what the last look saw, or else what it says.

        ProgramError when the program fails at it; what was measured is kept.
        """
        reading = self.read()
        with keeping(reading):
            verdict, test = self._judge(reading)
        joined = (
            self._seen if agrees(reading, self._seen) else closed(joined_pairs(reading.resistance_ohm, WATCHED_OHM))
        )
        return Outcome(verdict, joined, test)

    def read(self, far_is: Far = "tester") -> Reading:
        """Return what the tester sees now, the far plug being in what was said, unjudged."""
        tester = self._open()
        near, far = self._adapters
        if isinstance(tester, Listener):
            return tester.reading(far_is, near, far)
        if self._looker is not None:
            self._looker.rest()
        return measure(tester, far_is, near_adapter=near, far_adapter=far, calibration=self._known)

    def moved(self, view: MovingView) -> Moved:
        """Return what the tester sees while the cable is moved; view: who looks on."""
        from wiremap.bench.moving.moved import while_moved

        if self._looker is not None:
            self._looker.rest()
        return while_moved(self._open(), self.read, self._adapters, view, time.monotonic)

    def _open(self) -> OpenTester | Listener:
        if self._tester is None:
            raise TesterError("the tester is not connected", "Plug it in.")
        return self._tester


def sides(pattern: Pattern | None) -> tuple[tuple[int, ...], ...]:
    """Return, for each plug, the contacts that something should be joined to, in plug order.

    Contacts are numbered as in a Reading: near, then far.
    """
    if pattern is None:
        return ()
    joined = [contact for end, contacts in pattern.joins if end == "near" for contact in contacts]
    near = {contact for contact, _ in pattern.conductors} | set(joined)
    far = {contact for _, contact in pattern.conductors}
    offset = len(pattern.near_contacts)
    both = (
        tuple(index for index, contact in enumerate(pattern.near_contacts) if contact in near),
        tuple(index + offset for index, contact in enumerate(pattern.far_contacts) if contact in far),
    )
    return tuple(side for side in both if side)

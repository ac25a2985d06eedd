"""Carries out what the sweep of a lot asks for: looks, measures, records, shows, rings; and hears keys."""

from collections.abc import Callable, Sequence
from typing import Protocol

from wiremap.bench.sweep import Sweep, step
from wiremap.bench.sweep_events import (
    AskNote,
    Back,
    Bell,
    Broken,
    KeepRecord,
    Labelled,
    Last,
    Looked,
    Lost,
    Measure,
    NoRoom,
    Outcome,
    Pressed,
    Recorded,
    Ring,
    Show,
    Skip,
    Stop,
    SweepAction,
    SweepEvent,
    Undo,
    WasMeasured,
)
from wiremap.errors import FileError, ProgramError, TesterError, WiremapError
from wiremap.reading.joined import Joined
from wiremap.records.broken import keeping

LOOK_EVERY_S = 0.03
RETRY_S = 1.0


class Sockets(Protocol):
    """The tester's side. Every call may raise TesterError when the tester is gone."""

    def look(self) -> Joined:
        """Return what is joined now."""

    def measure(self) -> Outcome:
        """Measure and judge what is in the sockets; ProgramError when the program fails at it."""

    def reopen(self) -> None:
        """Connect again."""


class Book(Protocol):
    """Where the lot is kept. Every call may raise FileError; what it was to keep is then not kept."""

    def check_room(self) -> None:
        """Raise FileError when the disk has no room for another test."""

    def record(self, wanted: KeepRecord) -> int:
        """Keep a test and return its number; when this returns, it is on the disk."""

    def undo(self, last: Last) -> None:
        """Enter that a label was wrong."""

    def skip(self, label: str) -> None:
        """Enter that a label stays unused."""

    def note(self, last: Last, text: str) -> None:
        """Enter a note on a test."""


class Desk(Protocol):
    """The technician's side."""

    def heard(self, wait_s: float) -> Sequence[Pressed | Labelled]:
        """Return what was pressed or scanned, after waiting for it for at most so long."""

    def page(self, sweep: Sweep) -> None:
        """Show where the lot stands."""

    def verdict(self, shown: Show, sweep: Sweep) -> None:
        """Show a verdict, large."""

    def ring(self, bell: Bell) -> None:
        """Ring a pattern."""

    def ask_note(self, last: Last) -> str:
        """Ask for a note; "" = none."""

    def trouble(self, error: WiremapError) -> None:
        """Say what went wrong and what to do."""


def run_sweep(sweep: Sweep, sockets: Sockets, book: Book, desk: Desk, clock: Callable[[], float]) -> Sweep:
    """Sweep the lot until it is stopped and return where it stands; clock in seconds."""
    loop = _Loop(sweep, sockets, book, desk)
    while True:
        desk.page(loop.sweep)
        for event in desk.heard(RETRY_S if loop.sweep.phase in ("lost", "full") else LOOK_EVERY_S):
            if not loop.take(event):
                return loop.sweep
        if not loop.take(loop.next_event(clock)):
            return loop.sweep


class _Loop:
    """The state of the lot, and what is done with it."""

    def __init__(self, sweep: Sweep, sockets: Sockets, book: Book, desk: Desk) -> None:
        self.sweep = sweep
        self._sockets = sockets
        self._book = book
        self._desk = desk

    def next_event(self, clock: Callable[[], float]) -> SweepEvent | None:
        """Return what the tester says next, None when nothing is asked of it now."""
        if self.sweep.phase == "full":
            return None
        try:
            if self.sweep.phase == "lost":
                self._sockets.reopen()
                return Back()
            return Looked(self._sockets.look(), clock())
        except TesterError as error:
            if self.sweep.phase == "lost":
                return None
            self._desk.trouble(error)
            return Lost()

    def take(self, event: SweepEvent | None) -> bool:
        """Go on with an event and all that follows from it; False = stop."""
        waiting = [] if event is None else [event]
        while waiting:
            before = self.sweep
            self.sweep, actions = step(before, waiting.pop(0))
            for action in actions:
                if isinstance(action, Stop):
                    return False
                follows = self._do(action, before)
                if follows is not None:
                    waiting.append(follows)
        return True

    def _do(self, action: SweepAction, before: Sweep) -> SweepEvent | None:
        try:
            with keeping():
                return self._perform(action)
        except TesterError as error:
            self._desk.trouble(error)
            return Lost()
        except FileError as error:
            self._desk.trouble(error)
            if isinstance(action, Measure | KeepRecord):
                return NoRoom()
            self.sweep = before  # what could not be entered has not happened
            return None
        except ProgramError as error:
            self._desk.trouble(error)
            return Broken() if isinstance(action, Measure | KeepRecord) else None

    def _perform(self, action: SweepAction) -> SweepEvent | None:
        match action:
            case Measure():
                self._book.check_room()
                self._desk.page(self.sweep)
                return WasMeasured(self._sockets.measure())
            case KeepRecord():
                return Recorded(self._book.record(action))
            case Show():
                self._desk.verdict(action, self.sweep)
            case Ring(bell):
                self._desk.ring(bell)
            case Undo(last):
                self._book.undo(last)
            case Skip(label):
                self._book.skip(label)
            case AskNote(last):
                text = self._desk.ask_note(last)
                if text:
                    self._book.note(last, text)
        return None
